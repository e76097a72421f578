/*
 * json_place.c - where the pictures may have been taken.
 */
#include "report/json_internal.h"

static void add_point(tl_report_writer *w, cJSON *line, double lat_rad, double lon_rad) {
    cJSON *point = tl_report_json_row(w, line);
    enum { DIGITS = 6 }; /* 1e-4 of a degree, ten metres */
    tl_report_json_item(w, point, lat_rad / TL_DEG, DIGITS);
    tl_report_json_item(w, point, lon_rad / TL_DEG, DIGITS);
}

/* One place of the estimate: its size on the ground, and the line through it. */
static void add_place(tl_report_writer *w, cJSON *list, const tl_track_place *place) {
    cJSON *entry = tl_report_json_entry(w, list);
    tl_report_json_number(w, entry, "lat_deg", true, place->lat_rad / TL_DEG, 4);
    tl_report_json_number(w, entry, "lon_deg", true, place->lon_rad / TL_DEG, 4);
    tl_report_json_number(w, entry, "along_km", true, place->along_m / 1000.0, 2);
    tl_report_json_number(w, entry, "across_km", true, place->across_m / 1000.0, 2);
    tl_report_json_number(w, entry, "long_axis_deg", true, place->long_axis_rad / TL_DEG, 1);
    tl_report_json_number(w, entry, "km_per_clock_s", true, place->m_per_clock_s / 1000.0, 2);
    tl_report_json_number(w, entry, "delta_chi2", true, place->chi2, 2);
    cJSON *line = tl_report_json_array(w, entry, "line");
    for (size_t i = 0; i < place->point_count; i++)
        add_point(w, line, place->point[i].lat_rad, place->point[i].lon_rad);
}

void tl_report_json_places(tl_report_writer *w, cJSON *root, const tl_track *track) {
    cJSON *list = tl_report_json_array(w, root, "place");
    for (size_t i = 0; i < track->place_count; i++)
        add_place(w, list, &track->place[i]);
}
