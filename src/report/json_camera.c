/*
 * json_camera.c - sequence.json: the cameras' clocks and mountings, and the free path, which is in
 * the time of the main camera's clock.
 */
#include "report/json_internal.h"

/* Enough for a separation to 1e-6 solar radii four hours from the origin, and for a covariance
 * that stays one. */
enum { PATH_DIGITS = 9, COVARIANCE_DIGITS = 7 };

static void add_alternatives(tl_report_writer *w, cJSON *object, const tl_clock *clock) {
    cJSON *list = tl_report_json_array(w, object, "alternatives");
    for (size_t i = 0; i < clock->alternative_count; i++) {
        cJSON *entry = tl_report_json_entry(w, list);
        tl_report_json_number(w, entry, "offset_s", true, clock->alternative[i].offset_s,
                              tl_report_decimals(clock->alternative[i].sigma_s, 3));
        tl_report_json_sigma(w, entry, "sigma_s", true, clock->alternative[i].sigma_s);
        tl_report_json_number(w, entry, "zone_minutes", true, clock->alternative[i].zone_minutes,
                              0);
        tl_report_json_number(w, entry, "day_shift_s", true, clock->alternative[i].day_shift_s, 0);
        tl_report_json_number(w, entry, "delta_chi2", true, clock->alternative[i].delta_chi2, 2);
        tl_report_json_flag(w, entry, "same_clock", clock->alternative[i].same_clock);
    }
}

static void add_drift(tl_report_writer *w, cJSON *object, const tl_clock *clock) {
    const bool drift = clock->solved && clock->has_drift;
    tl_report_json_number(w, object, "drift_ppm", drift, clock->drift_ppm,
                          tl_report_decimals(clock->drift_sigma_ppm, 3));
    tl_report_json_sigma(w, object, "drift_sigma_ppm", drift, clock->drift_sigma_ppm);
    tl_report_json_time(w, object, "at_utc", clock->solved, clock->at_utc_s, 0, "Z");
}

static void add_stamps(tl_report_writer *w, cJSON *object, const tl_clock *clock) {
    static const char *const name[] = {[TL_STAMPS_SOUND] = "sound",
                                       [TL_STAMPS_SCATTERED] = "scattered",
                                       [TL_STAMPS_LATE] = "late"};
    const bool scatter = clock->solved && clock->stamps != TL_STAMPS_SOUND;
    tl_report_json_string(w, object, "stamps", clock->solved ? name[clock->stamps] : NULL);
    tl_report_json_number(w, object, "stamp_scatter_s", scatter, clock->stamp_scatter_s,
                          tl_report_decimals(clock->stamp_scatter_sigma_s, 3));
    tl_report_json_sigma(w, object, "stamp_scatter_sigma_s",
                         scatter && clock->stamp_scatter_sigma_s > 0.0,
                         clock->stamp_scatter_sigma_s);
}

void tl_report_json_clock(tl_report_writer *w, cJSON *parent, const tl_clock *clock) {
    cJSON *object = tl_report_json_object(w, parent, "clock");
    tl_report_json_flag(w, object, "solved", clock->solved);
    tl_report_json_number(w, object, "offset_s", clock->solved, clock->offset_s,
                          tl_report_decimals(clock->sigma_s, 3));
    tl_report_json_sigma(w, object, "sigma_s", clock->solved, clock->sigma_s);
    tl_report_json_sigma(w, object, "floor_s", clock->solved, clock->floor_s);
    tl_report_json_number(w, object, "misfit", clock->solved, clock->misfit, 1);
    add_drift(w, object, clock);
    add_stamps(w, object, clock);
    tl_report_json_number(w, object, "zone_minutes", clock->solved, clock->zone_minutes, 0);
    tl_report_json_flag(w, object, "zone_given", clock->zone_given);
    tl_report_json_flag(w, object, "zone_corrected", clock->solved && clock->zone_corrected);
    tl_report_json_number(w, object, "day_shift_s", clock->solved, clock->day_shift_s, 0);
    add_alternatives(w, object, clock);
}

void tl_report_json_gps(tl_report_writer *w, cJSON *parent, const tl_sequence *sequence, size_t k) {
    tl_report_gps check = {0};
    cJSON *object = tl_report_json_object(w, parent, "clock_gps_check");
    w->failed = w->failed || !tl_report_gps_check(sequence, k, &check);
    tl_report_json_number(w, object, "count", true, (double)check.count, 0);
    tl_report_json_number(w, object, "median_s", check.count > 0, check.median_s, 1);
}

void tl_report_json_holding(tl_report_writer *w, cJSON *parent, const tl_track_camera *camera) {
    cJSON *object = tl_report_json_object(w, parent, "holding");
    tl_report_json_string(w, object, "mode",
                          camera->holding == TL_HOLDING_AUTO ? NULL
                                                             : tl_holding_name[camera->holding]);
    tl_report_json_flag(w, object, "given", camera->holding_given);
    tl_report_json_flag(w, object, "open", camera->holding_open);
    tl_report_json_number(w, object, "jitter_deg", camera->turn_jitter_rad > 0.0,
                          camera->turn_jitter_rad / TL_DEG, 1);
    tl_report_json_number(w, object, "rotation_deg", camera->has_rotation,
                          camera->rotation_rad / TL_DEG, 1);
    if (camera->mirrored == TL_MIRROR_AUTO)
        tl_report_json_null(w, object, "mirrored");
    else
        tl_report_json_flag(w, object, "mirrored", camera->mirrored == TL_MIRROR_YES);
    tl_report_json_flag(w, object, "mirror_given", camera->mirror_given);
}

void tl_report_json_cameras(tl_report_writer *w, cJSON *root, const tl_sequence *sequence) {
    cJSON *list = tl_report_json_array(w, root, "cameras");
    for (size_t k = 0; k < sequence->track.camera_count; k++) {
        const tl_track_camera *camera = &sequence->track.camera[k];
        tl_report_text name = {0};
        tl_report_camera_name(sequence, k, &name);
        w->failed = w->failed || name.failed;
        cJSON *entry = tl_report_json_entry(w, list);
        tl_report_json_string(w, entry, "name", tl_report_text_string(&name));
        tl_report_json_flag(w, entry, "main", k == sequence->track.main_camera);
        tl_report_json_number(w, entry, "frames", true, (double)camera->frame_count, 0);
        tl_report_json_number(w, entry, "used", true, (double)camera->used_count, 0);
        tl_report_json_clock(w, entry, &camera->clock);
        tl_report_json_gps(w, entry, sequence, k);
        tl_report_json_holding(w, entry, camera);
        tl_report_text_free(&name);
    }
}

void tl_report_json_free_path(tl_report_writer *w, cJSON *root, const tl_track *track) {
    const bool known = track->free_solved;
    cJSON *object = tl_report_json_object(w, root, "free");
    tl_report_json_time(w, object, "origin", known, track->free_origin_camera_s, 3, "");
    tl_report_json_number(w, object, "degree", known, track->free_degree, 0);
    tl_report_json_sigma(w, object, "rms_sr", known, track->free_rms_sr);
    cJSON *coefficients = tl_report_json_array(w, object, "coefficients");
    cJSON *covariance = tl_report_json_array(w, object, "covariance");
    for (size_t i = 0; known && i < TL_FREE_POWERS; i++) {
        tl_report_json_item(w, coefficients, track->free_coefficient[i], PATH_DIGITS);
        cJSON *row = tl_report_json_row(w, covariance);
        for (size_t k = 0; k < TL_FREE_POWERS; k++)
            tl_report_json_item(w, row, track->free_covariance[i][k], COVARIANCE_DIGITS);
    }
}
