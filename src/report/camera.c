/*
 * camera.c - which camera took a picture, and what follows for that picture.
 */
#include <math.h>

#include "report/report_internal.h"

/* Pictures further than this from the middle one of their camera are of another day: what the track
 * leaves out for it. */
static const double OTHER_DAY_S = 0.5 * TL_DAY_S;

const tl_track_camera *tl_report_camera_of(const tl_sequence *sequence, size_t i) {
    static const tl_track_camera nothing;
    const size_t camera = sequence->frame[i].camera;
    return camera < TL_CAMERAS_MAX ? &sequence->track.camera[camera] : &nothing;
}

void tl_report_camera_name(const tl_sequence *sequence, size_t k, tl_report_text *text) {
    if (k < sequence->camera_count)
        tl_report_text_add(text, sequence->camera[k].name);
    else if (k < TL_CAMERAS_MAX)
        tl_report_text_addf(text, "camera %zu", k + 1);
    else
        tl_report_text_add(text, "a further camera");
}

bool tl_report_has_camera(const tl_sequence *sequence, size_t i) {
    return sequence->frame[i].camera < TL_CAMERAS_MAX || tl_sequence_shows_sun(sequence, i);
}

bool tl_report_has_stamps(const tl_sequence *sequence, size_t k) {
    for (size_t i = 0; i < sequence->count; i++)
        if (sequence->frame[i].camera == k && tl_sequence_shows_sun(sequence, i) &&
            sequence->frame[i].info.time.source != TL_TIME_NONE)
            return true;
    return false;
}

double tl_report_clock_total(const tl_clock *clock, double t_utc_s) {
    const double drift = clock->has_drift ? clock->drift_ppm * 1e-6 : 0.0;
    return clock->zone_minutes * 60.0 + clock->day_shift_s + clock->offset_s +
           drift * (t_utc_s - clock->at_utc_s);
}

/* A zone given by the user stands for what EXIF says of it. */
static bool states_zone(const tl_sequence *sequence, size_t i, size_t camera) {
    const tl_camera_time *time = &sequence->frame[i].info.time;
    const bool exif = time->source == TL_TIME_EXIF || time->source == TL_TIME_EXIF_SUBSEC;
    const bool stated = time->source != TL_TIME_NONE && time->zone_known;
    return sequence->frame[i].camera == camera && stated && !(exif && sequence->options.zone_given);
}

static bool is_measured(const tl_sequence *sequence, size_t i) {
    return sequence->frame[i].limb.status == TL_LIMB_MEASURED && !sequence->frame[i].excluded;
}

/* Whether a picture has a say in the zone of that camera. */
static bool has_say(const tl_sequence *sequence, size_t i, size_t camera, bool measured_only) {
    return states_zone(sequence, i, camera) && (is_measured(sequence, i) || !measured_only);
}

/* The zone most measured pictures of a camera state, if none does most of all, the first of
 * equals: to that one the track brought those that state another. False if none states one. */
static bool common_zone(const tl_sequence *sequence, size_t camera, int *minutes) {
    size_t best = 0;
    bool measured_only = false;
    for (size_t i = 0; i < sequence->count; i++)
        measured_only = measured_only || has_say(sequence, i, camera, true);
    for (size_t i = 0; i < sequence->count; i++) {
        const int zone = sequence->frame[i].info.time.zone_minutes;
        size_t votes = 0;
        for (size_t k = 0; has_say(sequence, i, camera, measured_only) && k < sequence->count; k++)
            votes += has_say(sequence, k, camera, measured_only) &&
                     sequence->frame[k].info.time.zone_minutes == zone;
        if (votes > best) {
            best = votes;
            *minutes = zone;
        }
    }
    return best > 0;
}

bool tl_report_late(const tl_sequence *sequence, size_t i, double *late_s) {
    const tl_clock *clock = &tl_report_camera_of(sequence, i)->clock;
    const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
    const tl_sequence_frame *frame = &sequence->frame[i];
    const tl_camera_time *time = &frame->info.time;
    const bool fitted = frame->limb.status == TL_LIMB_MEASURED && !frame->excluded;
    if (!clock->solved || clock->stamps != TL_STAMPS_LATE || !tracked->has_true || !fitted ||
        time->source == TL_TIME_NONE)
        return false;
    int common = sequence->options.zone_minutes;
    double moved_s = 0.0;
    if (states_zone(sequence, i, frame->camera) &&
        (sequence->options.zone_given || common_zone(sequence, frame->camera, &common)))
        moved_s = 60.0 * (time->zone_minutes - common);
    *late_s = time->t_camera_s - moved_s - tracked->true_utc_s -
              tl_report_clock_total(clock, tracked->true_utc_s);
    return true;
}

static bool counts(const tl_sequence *sequence, size_t i, size_t camera) {
    const tl_sequence_frame *frame = &sequence->frame[i];
    return frame->camera == camera && is_measured(sequence, i) &&
           frame->info.time.source != TL_TIME_NONE;
}

/* The middle one, number all / 2 in order of time, is more than half a day before this picture if
 * more than that many are; and as far behind it if no more than that many are not. */
bool tl_report_other_day(const tl_sequence *sequence, size_t i) {
    const tl_sequence_frame *frame = &sequence->frame[i];
    const double own_s = frame->info.time.t_camera_s;
    size_t all = 0, before = 0, behind = 0;
    if (frame->info.time.source == TL_TIME_NONE ||
        !(frame->excluded || tl_report_is_outlier(sequence, i)))
        return false;
    for (size_t k = 0; k < sequence->count; k++) {
        const double other_s = sequence->frame[k].info.time.t_camera_s;
        if (!counts(sequence, k, frame->camera))
            continue;
        all++;
        before += own_s - other_s > OTHER_DAY_S;
        behind += other_s - own_s > OTHER_DAY_S;
    }
    return all > 0 && (before > all / 2 || all - behind <= all / 2);
}
