/*
 * csv_spots.c - spots.csv: one row per spot, in the form that a list of spots is read in, so that
 * it can be taken to the next place. Columns beyond those are for readers.
 */
#include <math.h>

#include "report/spots_internal.h"

static void add_number(tl_report_text *text, bool known, double value, int decimals) {
    tl_report_text_add(text, ",");
    if (known)
        tl_report_add_fixed(text, value, decimals);
}

static void add_time(tl_report_text *text, bool known, double t_s, double sigma_s,
                     const char *suffix) {
    char iso[TL_TIME_TEXT_SIZE];
    tl_time_text(t_s, tl_report_decimals(sigma_s, 1), suffix, iso);
    tl_report_text_addf(text, ",%s", known ? iso : "");
}

static void add_sigma(tl_report_text *text, bool known, double value) {
    tl_report_text_add(text, ",");
    if (known)
        tl_report_add_significant(text, value, 2);
}

/* One sigma for both ways, as a list has it: the larger one, longitude counted on the ground. */
static double place_sigma(const tl_spot *spot) {
    return fmax(spot->latitude_sigma_rad, spot->longitude_sigma_rad * cos(spot->latitude_rad));
}

static void add_passage(tl_report_text *text, const tl_sequence *sequence, const tl_spot *spot,
                        const tl_spot_passage *passage) {
    const double t_s = passage->t_utc_s[TL_SPOT_CENTRE];
    const bool known = spot->has_passages && passage->occurs;
    double camera_s = 0.0, camera_sigma_s = 0.0;
    const bool camera =
        known && tl_report_spot_camera(sequence, t_s, passage->sigma_s, &camera_s, &camera_sigma_s);
    add_time(text, known, t_s, passage->sigma_s, "Z");
    add_sigma(text, known, passage->sigma_s);
    add_time(text, camera, camera_s, camera_sigma_s, "");
    add_sigma(text, camera, camera_sigma_s);
}

static void add_spot(tl_report_text *text, const tl_sequence *sequence, const tl_spot *spot,
                     double sun_arcsec) {
    char iso[TL_TIME_TEXT_SIZE];
    tl_report_add_csv(text, spot->name);
    tl_time_text(spot->epoch_utc_s, 0, "Z", iso);
    tl_report_text_addf(text, ",%s", iso);
    add_number(text, true, spot->latitude_rad / TL_DEG, 3);
    add_number(text, true, tl_angle_positive(spot->carrington_rad) / TL_DEG, 3);
    add_number(text, sun_arcsec > 0.0, spot->radius_sr * sun_arcsec, 2);
    add_sigma(text, true, place_sigma(spot) / TL_DEG);
    add_number(text, true, spot->longitude_rad / TL_DEG, 3);
    add_number(text, spot->area_ppm > 0.0, spot->area_ppm,
               tl_report_decimals(spot->area_sigma_ppm, 1));
    add_sigma(text, spot->area_ppm > 0.0, spot->area_sigma_ppm);
    tl_report_text_addf(text, ",%zu,%s,", spot->seen_count, spot->could_be_dust ? "true" : "false");
    tl_report_add_csv(text, tl_report_spot_fate_name[tl_report_spot_fate_of(spot)]);
    add_passage(text, sequence, spot, &spot->covered);
    add_passage(text, sequence, spot, &spot->uncovered);
    add_sigma(text, spot->covered.occurs, spot->covered.floor_s);
    add_sigma(text, spot->uncovered.occurs, spot->uncovered.floor_s);
    tl_report_text_add(text, "\r\n");
}

tl_status tl_report_spots_csv(const tl_sequence *sequence, tl_report_text *text) {
    tl_sky sky;
    const double sun_arcsec =
        tl_report_spot_sky(sequence, &sky) ? sky.sun_radius_rad / TL_ARCSEC : 0.0;
    tl_report_text_add(text, "name,time,latitude_deg,carrington_deg,radius_arcsec,sigma_deg,"
                             "from_meridian_deg,area_ppm,area_sigma_ppm,seen_count,could_be_dust,"
                             "status,covered_utc,covered_sigma_s,covered_camera,"
                             "covered_camera_sigma_s,uncovered_utc,uncovered_sigma_s,"
                             "uncovered_camera,uncovered_camera_sigma_s,covered_floor_s,"
                             "uncovered_floor_s\r\n");
    for (size_t s = 0; s < sequence->spots.count; s++)
        add_spot(text, sequence, &sequence->spots.spot[s], sun_arcsec);
    return text->failed ? TL_ERR_MEMORY : TL_OK;
}
