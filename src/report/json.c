/*
 * json.c - sequence.json: everything that is known of the series. docs/output.md
 * says what it means, docs/sequence.schema.json is its schema.
 */
#include "report/json_internal.h"

static void add_options(tl_report_writer *w, cJSON *root, const tl_track_options *options) {
    static const char *const mirror[] = {"auto", "yes", "no"};
    cJSON *object = tl_report_json_object(w, root, "options");
    const bool site_given = options->site.source == TL_SITE_GIVEN;
    if (site_given)
        tl_report_json_place(w, tl_report_json_object(w, object, "site"), &options->site);
    else
        tl_report_json_null(w, object, "site");
    tl_report_json_flag(w, object, "find_site", options->find_site);
    tl_report_json_number(w, object, "zone_minutes", options->zone_given, options->zone_minutes, 0);
    tl_report_json_date(w, object, "date", options->date_given, options->date_utc_s);
    tl_report_json_string(w, object, "holding", tl_holding_name[options->holding]);
    tl_report_json_string(w, object, "mirror", mirror[options->mirror]);
    tl_report_json_number(w, object, "sun_radius_arcsec", true, options->sky.sun_radius_arcsec, 3);
    tl_report_json_number(w, object, "moon_k", true, options->sky.moon_k, 7);
    tl_report_json_number(w, object, "deltat_s", options->sky.deltat_given, options->sky.deltat_s,
                          3);
    tl_report_json_number(w, object, "pressure_hpa", true, options->sky.pressure_hpa, 2);
    tl_report_json_number(w, object, "temperature_c", true, options->sky.temperature_c, 1);
}

static void add_counts(tl_report_writer *w, cJSON *root, const tl_sequence *sequence) {
    cJSON *object = tl_report_json_object(w, root, "counts");
    tl_report_json_number(w, object, "files", true, (double)sequence->count, 0);
    for (int status = 0; status < TL_LIMB_STATUS_COUNT; status++) {
        const size_t count = tl_sequence_count(sequence, (tl_limb_status)status);
        tl_report_json_number(w, object, tl_limb_status_name((tl_limb_status)status), true,
                              (double)count, 0);
    }
    tl_report_json_number(w, object, "copies", true, (double)tl_sequence_copies(sequence), 0);
    tl_report_json_number(w, object, "used_for_path", true, (double)sequence->track.used_count, 0);
}

static void add_passed(tl_report_writer *w, cJSON *root, const tl_sequence *sequence) {
    cJSON *list = tl_report_json_array(w, root, "passed_over");
    for (int kind = 0; kind < TL_PASSED_KINDS; kind++) {
        const tl_passed *passed = &sequence->passed[kind];
        if (passed->count == 0)
            continue;
        cJSON *object = tl_report_json_entry(w, list);
        tl_report_json_string(w, object, "kind", tl_report_passed_name[kind]);
        tl_report_json_number(w, object, "count", true, (double)passed->count, 0);
        tl_report_json_string(w, object, "first", passed->first);
    }
}

static void add_site(tl_report_writer *w, cJSON *root, const tl_site *site) {
    static const char *const source[] = {"none", "given", "exif"};
    cJSON *object = tl_report_json_object(w, root, "site");
    tl_report_json_place(w, object, site);
    tl_report_json_string(w, object, "source", source[site->source]);
}

static void add_contact(tl_report_writer *w, cJSON *contacts, const tl_track *track, int which) {
    const tl_track_contact *contact = &track->contact[which];
    const bool always = which == TL_C1 || which == TL_MAX || which == TL_C4;
    if (!always && !contact->measured && !contact->predicted) {
        tl_report_json_null(w, contacts, tl_contact_name[which]);
        return;
    }
    const bool utc = contact->measured && tl_track_main(track)->clock.solved;
    const double sigma_s = tl_report_contact_sigma(track, which);
    const int decimals = tl_report_decimals(sigma_s, 3);
    const tl_contact *almanac = &track->circumstances.contact[which];
    const bool predicted = contact->predicted;
    const bool placed = predicted && track->has_circumstances && almanac->occurs;
    cJSON *object = tl_report_json_object(w, contacts, tl_contact_name[which]);
    tl_report_json_time(w, object, "measured_utc", utc, contact->measured_utc_s, decimals, "Z");
    tl_report_json_time(w, object, "measured_camera", contact->measured, contact->measured_camera_s,
                        decimals, "");
    tl_report_json_sigma(w, object, "measured_sigma_s", contact->measured, sigma_s);
    tl_report_json_sigma(w, object, "measured_camera_sigma_s", contact->measured, contact->sigma_s);
    tl_report_json_sigma(w, object, "floor_s", contact->measured, contact->floor_s);
    tl_report_json_time(w, object, "predicted_utc", predicted, contact->predicted_utc_s, 3, "Z");
    tl_report_json_number(w, object, "o_minus_c_s", utc && predicted,
                          contact->measured_utc_s - contact->predicted_utc_s, decimals);
    tl_report_json_number(w, object, "predicted_altitude_deg", placed,
                          almanac->altitude_rad / TL_DEG, 2);
    tl_report_json_number(w, object, "predicted_azimuth_deg", placed, almanac->azimuth_rad / TL_DEG,
                          2);
    tl_report_json_number(w, object, "predicted_pa_deg", placed, almanac->pa_rad / TL_DEG, 2);
    tl_report_json_number(w, object, "predicted_vertex_deg", placed, almanac->vertex_rad / TL_DEG,
                          2);
}

static void add_contacts(tl_report_writer *w, cJSON *root, const tl_track *track) {
    cJSON *object = tl_report_json_object(w, root, "contacts");
    for (int which = 0; which < TL_CONTACTS; which++)
        add_contact(w, object, track, which);
}

static void add_circumstances(tl_report_writer *w, cJSON *root, const tl_track *track) {
    const tl_circumstances *c = &track->circumstances;
    const bool known = track->has_circumstances;
    cJSON *object = tl_report_json_object(w, root, "predicted");
    tl_report_json_string(w, object, "kind", known ? tl_eclipse_kind_name[c->kind] : NULL);
    tl_report_json_number(w, object, "magnitude", known, c->magnitude, 4);
    tl_report_json_number(w, object, "obscuration", known, c->obscuration, 4);
    tl_report_json_time(w, object, "sunrise_utc", known && c->has_sunrise, c->sunrise_utc_s, 0,
                        "Z");
    tl_report_json_time(w, object, "sunset_utc", known && c->has_sunset, c->sunset_utc_s, 0, "Z");
    tl_report_json_number(w, object, "deltat_s", known, c->deltat_s, 3);
}

static void add_path(tl_report_writer *w, cJSON *root, const tl_track *track) {
    const bool known = track->has_circumstances;
    cJSON *smallest = tl_report_json_object(w, root, "smallest_separation");
    tl_report_json_number(w, smallest, "measured_sr", track->has_smallest, track->smallest_sr, 5);
    tl_report_json_sigma(w, smallest, "sigma_sr", track->has_smallest, track->smallest_sigma_sr);
    tl_report_json_number(w, smallest, "predicted_sr", known, track->smallest_predicted_sr, 5);
    cJSON *magnitude = tl_report_json_object(w, root, "magnitude");
    const bool deep = track->has_smallest && track->magnitude > 0.0;
    tl_report_json_number(w, magnitude, "measured", deep, track->magnitude, 5);
    tl_report_json_sigma(w, magnitude, "sigma", deep, track->magnitude_sigma);
    tl_report_json_number(w, magnitude, "predicted", known, track->circumstances.magnitude, 5);
    cJSON *speed = tl_report_json_object(w, root, "speed");
    const bool moving = track->has_smallest && track->speed_sr_per_h > 0.0;
    tl_report_json_number(w, speed, "measured_sr_per_h", moving, track->speed_sr_per_h, 4);
    tl_report_json_sigma(w, speed, "sigma_sr_per_h", moving, track->speed_sigma_sr_per_h);
    tl_report_json_number(w, speed, "predicted_sr_per_h",
                          known && track->speed_predicted_sr_per_h > 0.0,
                          track->speed_predicted_sr_per_h, 4);
    cJSON *direction = tl_report_json_object(w, root, "direction");
    tl_report_json_number(w, direction, "measured_pa_deg", track->has_direction,
                          tl_angle_positive(track->direction_pa_rad) / TL_DEG, 2);
    tl_report_json_sigma(w, direction, "sigma_deg", track->has_direction,
                         track->direction_sigma_rad / TL_DEG);
    tl_report_json_number(w, direction, "predicted_pa_deg", known,
                          tl_angle_positive(track->direction_predicted_rad) / TL_DEG, 2);
    cJSON *ratio = tl_report_json_object(w, root, "ratio");
    const bool measured = track->ratio_measured > 0.0;
    tl_report_json_number(w, ratio, "measured", measured, track->ratio_measured, 5);
    tl_report_json_sigma(w, ratio, "sigma", measured, track->ratio_measured_sigma);
    tl_report_json_number(w, ratio, "predicted", known, track->circumstances.ratio, 5);
}

static void add_frame(tl_report_writer *w, cJSON *list, const tl_sequence *sequence, size_t i) {
    cJSON *object = tl_report_json_entry(w, list);
    tl_report_text value = {0};
    for (size_t field = 0; field < tl_report_field_count(); field++) {
        const char *name = tl_report_field_name(field);
        value.length = 0;
        tl_report_text_bytes(&value, "", 0);
        tl_report_field_add(sequence, i, field, &value);
        w->failed = w->failed || value.failed;
        if (value.length == 0)
            tl_report_json_null(w, object, name);
        else if (tl_report_field_kind(field) == TL_REPORT_STRING)
            tl_report_json_string(w, object, name, tl_report_text_string(&value));
        else
            tl_report_json_keep(w,
                                cJSON_AddRawToObject(object, name, tl_report_text_string(&value)));
    }
    tl_report_text_free(&value);
}

static cJSON *make_tree(tl_report_writer *w, const tl_sequence *sequence) {
    cJSON *root = cJSON_CreateObject();
    const tl_track *track = &sequence->track;
    tl_report_json_keep(w, root);
    tl_report_json_string(w, root, "program", TL_REPORT_PROGRAM);
    tl_report_json_string(w, root, "version", TL_VERSION);
    add_options(w, root, &sequence->options);
    tl_report_json_given(w, root, sequence);
    add_counts(w, root, sequence);
    add_passed(w, root, sequence);
    tl_report_json_string(w, root, "note", track->note[0] ? track->note : NULL);
    add_site(w, root, &sequence->options.site);
    tl_report_json_places(w, root, track);
    tl_report_json_clock(w, root, &tl_track_main(track)->clock);
    tl_report_json_gps(w, root, sequence, track->main_camera);
    tl_report_json_flag(w, root, "day_found", track->day_found);
    tl_report_json_holding(w, root, tl_track_main(track));
    tl_report_json_cameras(w, root, sequence);
    add_contacts(w, root, track);
    add_circumstances(w, root, track);
    add_path(w, root, track);
    tl_report_json_free_path(w, root, track);
    tl_report_json_spots(w, root, sequence);
    cJSON *frames = tl_report_json_array(w, root, "frames");
    for (size_t i = 0; i < sequence->count; i++)
        add_frame(w, frames, sequence, i);
    return root;
}

tl_status tl_report_json(const tl_sequence *sequence, tl_report_text *text) {
    tl_report_writer w = {0};
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
