/*
 * json.c - sequence.json: everything that is known of the series. docs/output.md
 * is its schema.
 *
 * Numbers are written with the digits they deserve (raw JSON), null where not known.
 * cJSON returns NULL when memory runs out and passes a NULL object on harmlessly;
 * `writer.failed` keeps it in mind until the end.
 */
#include <math.h>
#include <string.h>

#include <cjson/cJSON.h>

#include "report/report_internal.h"

typedef struct writer {
    tl_report_text scratch; /* one value at a time */
    bool failed;
} writer;

static void keep(writer *w, const void *added) {
    w->failed = w->failed || !added;
}

static cJSON *add_object(writer *w, cJSON *parent, const char *name) {
    cJSON *object = cJSON_AddObjectToObject(parent, name);
    keep(w, object);
    return object;
}

static cJSON *add_array(writer *w, cJSON *parent, const char *name) {
    cJSON *array = cJSON_AddArrayToObject(parent, name);
    keep(w, array);
    return array;
}

static void add_null(writer *w, cJSON *parent, const char *name) {
    keep(w, cJSON_AddNullToObject(parent, name));
}

static void add_flag(writer *w, cJSON *parent, const char *name, bool value) {
    keep(w, cJSON_AddBoolToObject(parent, name, value));
}

static void clear(writer *w) {
    w->scratch.length = 0;
    tl_report_text_bytes(&w->scratch, "", 0);
}

static const char *scratch(writer *w) {
    w->failed = w->failed || w->scratch.failed;
    return tl_report_text_string(&w->scratch);
}

static void add_string(writer *w, cJSON *parent, const char *name, const char *value) {
    clear(w);
    tl_report_add_utf8(&w->scratch, value);
    keep(w, cJSON_AddStringToObject(parent, name, scratch(w)));
}

static void add_number(writer *w, cJSON *parent, const char *name, bool known, double value,
                       int decimals) {
    if (!known || !isfinite(value)) {
        add_null(w, parent, name);
        return;
    }
    clear(w);
    tl_report_add_fixed(&w->scratch, value, decimals);
    keep(w, cJSON_AddRawToObject(parent, name, scratch(w)));
}

static void add_sigma(writer *w, cJSON *parent, const char *name, bool known, double value) {
    if (!known || !isfinite(value)) {
        add_null(w, parent, name);
        return;
    }
    clear(w);
    tl_report_add_significant(&w->scratch, value, 2);
    keep(w, cJSON_AddRawToObject(parent, name, scratch(w)));
}

static void add_time(writer *w, cJSON *parent, const char *name, bool known, double t_s,
                     int decimals, const char *suffix) {
    char iso[TL_TIME_TEXT_SIZE];
    if (!known || !isfinite(t_s)) {
        add_null(w, parent, name);
        return;
    }
    tl_time_text(t_s, decimals, suffix, iso);
    keep(w, cJSON_AddStringToObject(parent, name, iso));
}

static void add_mirrored(writer *w, cJSON *parent, const char *name, tl_mirror mirror) {
    if (mirror == TL_MIRROR_AUTO)
        add_null(w, parent, name);
    else
        add_flag(w, parent, name, mirror == TL_MIRROR_YES);
}

static void add_place(writer *w, cJSON *site_object, const tl_site *site) {
    const bool known = site->source != TL_SITE_NONE;
    add_number(w, site_object, "lat_deg", known, site->lat_rad / TL_DEG, 6);
    add_number(w, site_object, "lon_deg", known, site->lon_rad / TL_DEG, 6);
    add_number(w, site_object, "height_m", known, site->height_m, 1);
}

static void add_options(writer *w, cJSON *root, const tl_track_options *options) {
    static const char *const mirror[] = {"auto", "yes", "no"};
    cJSON *object = add_object(w, root, "options");
    const bool site_given = options->site.source == TL_SITE_GIVEN;
    if (site_given)
        add_place(w, add_object(w, object, "site"), &options->site);
    else
        add_null(w, object, "site");
    add_flag(w, object, "find_site", options->find_site);
    add_number(w, object, "zone_minutes", options->zone_given, options->zone_minutes, 0);
    char iso[TL_TIME_TEXT_SIZE];
    tl_time_text(options->date_utc_s, 0, "", iso);
    iso[strcspn(iso, "T")] = '\0';
    if (options->date_given)
        add_string(w, object, "date", iso);
    else
        add_null(w, object, "date");
    add_string(w, object, "holding", tl_holding_name[options->holding]);
    add_string(w, object, "mirror", mirror[options->mirror]);
    add_number(w, object, "sun_radius_arcsec", true, options->sky.sun_radius_arcsec, 3);
    add_number(w, object, "moon_k", true, options->sky.moon_k, 7);
    add_number(w, object, "deltat_s", options->sky.deltat_given, options->sky.deltat_s, 3);
    add_number(w, object, "pressure_hpa", true, options->sky.pressure_hpa, 2);
    add_number(w, object, "temperature_c", true, options->sky.temperature_c, 1);
}

static void add_counts(writer *w, cJSON *root, const tl_sequence *sequence) {
    cJSON *object = add_object(w, root, "counts");
    add_number(w, object, "files", true, (double)sequence->count, 0);
    for (int status = 0; status < TL_LIMB_STATUS_COUNT; status++) {
        const size_t count = tl_sequence_count(sequence, (tl_limb_status)status);
        add_number(w, object, tl_limb_status_name((tl_limb_status)status), true, (double)count, 0);
    }
    add_number(w, object, "used_for_path", true, (double)sequence->track.used_count, 0);
}

static void add_site(writer *w, cJSON *root, const tl_site *site) {
    static const char *const source[] = {"none", "given", "exif"};
    cJSON *object = add_object(w, root, "site");
    add_place(w, object, site);
    add_string(w, object, "source", source[site->source]);
}

/* One place of the estimate: its size on the ground, and the line through it. */
static void add_estimate(writer *w, cJSON *list, const tl_track_place *place) {
    cJSON *entry = cJSON_CreateObject();
    keep(w, entry);
    add_number(w, entry, "lat_deg", true, place->lat_rad / TL_DEG, 4);
    add_number(w, entry, "lon_deg", true, place->lon_rad / TL_DEG, 4);
    add_number(w, entry, "along_km", true, place->along_m / 1000.0, 2);
    add_number(w, entry, "across_km", true, place->across_m / 1000.0, 2);
    add_number(w, entry, "long_axis_deg", true, place->long_axis_rad / TL_DEG, 1);
    add_number(w, entry, "km_per_clock_s", true, place->m_per_clock_s / 1000.0, 2);
    add_number(w, entry, "delta_chi2", true, place->chi2, 2);
    cJSON *line = add_array(w, entry, "line");
    for (size_t i = 0; i < place->point_count; i++) {
        clear(w);
        tl_report_text_add(&w->scratch, "[");
        tl_report_add_fixed(&w->scratch, place->point[i].lat_rad / TL_DEG, 4);
        tl_report_text_add(&w->scratch, ",");
        tl_report_add_fixed(&w->scratch, place->point[i].lon_rad / TL_DEG, 4);
        tl_report_text_add(&w->scratch, "]");
        cJSON *point = cJSON_CreateRaw(scratch(w));
        keep(w, point);
        if (!cJSON_AddItemToArray(line, point)) {
            w->failed = true;
            cJSON_Delete(point);
        }
    }
    if (!cJSON_AddItemToArray(list, entry)) {
        w->failed = true;
        cJSON_Delete(entry);
    }
}

static void add_estimates(writer *w, cJSON *root, const tl_track *track) {
    cJSON *list = add_array(w, root, "place");
    for (size_t i = 0; i < track->place_count; i++)
        add_estimate(w, list, &track->place[i]);
}

static void add_clock(writer *w, cJSON *root, const tl_clock *clock) {
    cJSON *object = add_object(w, root, "clock");
    add_flag(w, object, "solved", clock->solved);
    add_number(w, object, "offset_s", clock->solved, clock->offset_s,
               tl_report_decimals(clock->sigma_s, 3));
    add_sigma(w, object, "sigma_s", clock->solved, clock->sigma_s);
    add_sigma(w, object, "floor_s", clock->solved, clock->floor_s);
    add_number(w, object, "misfit", clock->solved, clock->misfit, 1);
    add_null(w, object, "drift_ppm"); /* the track stage fits no drift */
    add_number(w, object, "zone_minutes", clock->solved, clock->zone_minutes, 0);
    add_flag(w, object, "zone_corrected", clock->solved && clock->zone_corrected);
    add_number(w, object, "day_shift_s", clock->solved, clock->day_shift_s, 0);
    cJSON *list = add_array(w, object, "alternatives");
    for (size_t i = 0; i < clock->alternative_count; i++) {
        cJSON *entry = cJSON_CreateObject();
        keep(w, entry);
        add_number(w, entry, "offset_s", true, clock->alternative[i].offset_s,
                   tl_report_decimals(clock->alternative[i].sigma_s, 3));
        add_sigma(w, entry, "sigma_s", true, clock->alternative[i].sigma_s);
        add_number(w, entry, "zone_minutes", true, clock->alternative[i].zone_minutes, 0);
        add_number(w, entry, "delta_chi2", true, clock->alternative[i].delta_chi2, 2);
        if (!cJSON_AddItemToArray(list, entry)) {
            w->failed = true;
            cJSON_Delete(entry);
        }
    }
}

static void add_holding(writer *w, cJSON *root, const tl_track *track) {
    cJSON *object = add_object(w, root, "holding");
    if (tl_track_main(track)->holding == TL_HOLDING_AUTO)
        add_null(w, object, "mode");
    else
        add_string(w, object, "mode", tl_holding_name[tl_track_main(track)->holding]);
    add_flag(w, object, "given", tl_track_main(track)->holding_given);
    add_number(w, object, "turn_scatter_deg", tl_track_main(track)->turn_jitter_rad > 0.0,
               tl_track_main(track)->turn_jitter_rad / TL_DEG, 1);
    add_mirrored(w, object, "mirrored", tl_track_main(track)->mirrored);
    add_flag(w, object, "mirror_given", tl_track_main(track)->mirror_given);
}

static void add_contact(writer *w, cJSON *contacts, const tl_track *track, int which) {
    const tl_track_contact *contact = &track->contact[which];
    const bool always = which == TL_C1 || which == TL_MAX || which == TL_C4;
    if (!always && !contact->measured && !contact->predicted) {
        add_null(w, contacts, tl_contact_name[which]);
        return;
    }
    const bool utc = contact->measured && tl_track_main(track)->clock.solved;
    const double sigma_s = tl_report_contact_sigma(track, which);
    const int decimals = tl_report_decimals(sigma_s, 3);
    const tl_contact *almanac = &track->circumstances.contact[which];
    const bool predicted = contact->predicted;
    const bool placed = predicted && track->has_circumstances && almanac->occurs;
    cJSON *object = add_object(w, contacts, tl_contact_name[which]);
    add_time(w, object, "measured_utc", utc, contact->measured_utc_s, decimals, "Z");
    add_time(w, object, "measured_camera", contact->measured, contact->measured_camera_s, decimals,
             "");
    add_sigma(w, object, "measured_sigma_s", contact->measured, sigma_s);
    add_sigma(w, object, "measured_camera_sigma_s", contact->measured, contact->sigma_s);
    add_sigma(w, object, "floor_s", contact->measured, contact->floor_s);
    add_time(w, object, "predicted_utc", predicted, contact->predicted_utc_s, 3, "Z");
    add_number(w, object, "o_minus_c_s", utc && predicted,
               contact->measured_utc_s - contact->predicted_utc_s, decimals);
    add_number(w, object, "predicted_altitude_deg", placed, almanac->altitude_rad / TL_DEG, 2);
    add_number(w, object, "predicted_azimuth_deg", placed, almanac->azimuth_rad / TL_DEG, 2);
    add_number(w, object, "predicted_pa_deg", placed, almanac->pa_rad / TL_DEG, 2);
    add_number(w, object, "predicted_vertex_deg", placed, almanac->vertex_rad / TL_DEG, 2);
}

static void add_contacts(writer *w, cJSON *root, const tl_track *track) {
    cJSON *object = add_object(w, root, "contacts");
    for (int which = 0; which < TL_CONTACTS; which++)
        add_contact(w, object, track, which);
}

static void add_circumstances(writer *w, cJSON *root, const tl_track *track) {
    const tl_circumstances *c = &track->circumstances;
    const bool known = track->has_circumstances;
    cJSON *object = add_object(w, root, "predicted");
    if (known)
        add_string(w, object, "kind", tl_eclipse_kind_name[c->kind]);
    else
        add_null(w, object, "kind");
    add_number(w, object, "magnitude", known, c->magnitude, 4);
    add_number(w, object, "obscuration", known, c->obscuration, 4);
    add_time(w, object, "sunrise_utc", known && c->has_sunrise, c->sunrise_utc_s, 0, "Z");
    add_time(w, object, "sunset_utc", known && c->has_sunset, c->sunset_utc_s, 0, "Z");
    add_number(w, object, "deltat_s", known, c->deltat_s, 3);
}

static void add_path(writer *w, cJSON *root, const tl_track *track) {
    const bool known = track->has_circumstances;
    cJSON *smallest = add_object(w, root, "smallest_separation");
    add_number(w, smallest, "measured_sr", track->has_smallest, track->smallest_sr, 5);
    add_sigma(w, smallest, "sigma_sr", track->has_smallest, track->smallest_sigma_sr);
    add_number(w, smallest, "predicted_sr", known, track->smallest_predicted_sr, 5);
    cJSON *speed = add_object(w, root, "speed");
    const bool moving = track->has_smallest && track->speed_sr_per_h > 0.0;
    add_number(w, speed, "measured_sr_per_h", moving, track->speed_sr_per_h, 4);
    add_sigma(w, speed, "sigma_sr_per_h", moving, track->speed_sigma_sr_per_h);
    add_number(w, speed, "predicted_sr_per_h", known && track->speed_predicted_sr_per_h > 0.0,
               track->speed_predicted_sr_per_h, 4);
    cJSON *ratio = add_object(w, root, "ratio");
    const bool measured = track->ratio_measured > 0.0;
    add_number(w, ratio, "measured", measured, track->ratio_measured, 5);
    add_sigma(w, ratio, "sigma", measured, track->ratio_measured_sigma);
    add_number(w, ratio, "predicted", known, track->circumstances.ratio, 5);
}

static void add_frame(writer *w, cJSON *list, const tl_sequence *sequence, size_t i) {
    cJSON *object = cJSON_CreateObject();
    keep(w, object);
    tl_report_text value = {0};
    for (size_t field = 0; field < tl_report_field_count; field++) {
        const char *name = tl_report_field_name(field);
        value.length = 0;
        tl_report_text_bytes(&value, "", 0);
        tl_report_field_add(sequence, i, field, &value);
        w->failed = w->failed || value.failed;
        if (value.length == 0)
            add_null(w, object, name);
        else if (tl_report_field_kind(field) == TL_REPORT_STRING)
            add_string(w, object, name, tl_report_text_string(&value));
        else
            keep(w, cJSON_AddRawToObject(object, name, tl_report_text_string(&value)));
    }
    tl_report_text_free(&value);
    if (!cJSON_AddItemToArray(list, object)) {
        w->failed = true;
        cJSON_Delete(object);
    }
}

static cJSON *make_tree(writer *w, const tl_sequence *sequence) {
    cJSON *root = cJSON_CreateObject();
    const tl_track *track = &sequence->track;
    keep(w, root);
    add_string(w, root, "program", TL_REPORT_PROGRAM);
    add_string(w, root, "version", TL_VERSION);
    add_options(w, root, &sequence->options);
    add_counts(w, root, sequence);
    if (track->note[0])
        add_string(w, root, "note", track->note);
    else
        add_null(w, root, "note");
    add_site(w, root, &sequence->options.site);
    add_estimates(w, root, track);
    add_clock(w, root, &tl_track_main(track)->clock);
    add_holding(w, root, track);
    add_contacts(w, root, track);
    add_circumstances(w, root, track);
    add_path(w, root, track);
    add_array(w, root, "spots"); /* sunspots are not looked for yet */
    cJSON *frames = add_array(w, root, "frames");
    for (size_t i = 0; i < sequence->count; i++)
        add_frame(w, frames, sequence, i);
    return root;
}

tl_status tl_report_json(const tl_sequence *sequence, tl_report_text *text) {
    writer w = {0};
    cJSON *root = make_tree(&w, sequence);
    char *printed = w.failed ? NULL : cJSON_Print(root);
    if (printed) {
        tl_report_text_add(text, printed);
        tl_report_text_add(text, "\n");
    }
    const bool failed = !printed || text->failed;
    cJSON_free(printed);
    cJSON_Delete(root);
    tl_report_text_free(&w.scratch);
    return failed ? TL_ERR_MEMORY : TL_OK;
}
