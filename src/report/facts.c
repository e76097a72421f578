/*
 * facts.c - what the words, the page and the drawing all ask of a series.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/report_internal.h"

const tl_track_frame *tl_report_track_frame(const tl_sequence *sequence, size_t i) {
    static const tl_track_frame nothing;
    const tl_track *track = &sequence->track;
    return track->frame && i < track->frame_count ? &track->frame[i] : &nothing;
}

const char *tl_report_base_name(const char *path) {
    const char *slash = strrchr(path, '/');
    return slash && slash[1] ? slash + 1 : path;
}

/* A whole camera roll goes over weeks: what else it holds says nothing of the eclipse. */
static bool is_of_it(const tl_sequence *sequence, size_t i, bool any_sun) {
    return sequence->frame[i].info.time.source != TL_TIME_NONE &&
           (!any_sun || tl_sequence_shows_sun(sequence, i));
}

static bool find_zone(const tl_sequence *sequence, int *minutes) {
    if (tl_report_clock_unset(sequence, &tl_track_main(&sequence->track)->clock))
        return false;
    if (tl_track_main(&sequence->track)->clock.solved) {
        *minutes = tl_track_main(&sequence->track)->clock.zone_minutes;
        return true;
    }
    if (sequence->options.zone_given) {
        *minutes = sequence->options.zone_minutes;
        return true;
    }
    const bool any_sun = tl_sequence_any_sun(sequence);
    bool found = false;
    int agreed = 0;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_camera_time *time = &sequence->frame[i].info.time;
        if (!is_of_it(sequence, i, any_sun) || !time->zone_known)
            continue;
        if (found && time->zone_minutes != agreed)
            return false;
        agreed = time->zone_minutes;
        found = true;
    }
    if (found)
        *minutes = agreed;
    return found;
}

static void find_day(const tl_sequence *sequence, tl_report_facts *facts) {
    const tl_track *track = &sequence->track;
    double t_s;
    if (track->has_circumstances) {
        t_s = track->circumstances.contact[TL_MAX].t_utc_s;
    } else if (sequence->options.date_given) {
        t_s = sequence->options.date_utc_s;
    } else if (facts->timed > 0) {
        t_s = facts->first_camera_s - (facts->has_zone ? facts->zone_minutes * 60.0 : 0.0);
        facts->day_from_camera = true;
    } else {
        return;
    }
    facts->has_day = true;
    facts->day_s = floor(t_s / TL_DAY_S) * TL_DAY_S;
}

/* From when to when pictures were taken; false if none of them has a time. */
static bool find_span(const tl_sequence *sequence, bool main_only, tl_report_facts *facts) {
    const bool any_sun = tl_sequence_any_sun(sequence);
    bool any = false;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_sequence_frame *frame = &sequence->frame[i];
        const double t_s = frame->info.time.t_camera_s;
        if (!is_of_it(sequence, i, any_sun) ||
            (main_only && frame->camera != sequence->track.main_camera))
            continue;
        facts->first_camera_s = any ? fmin(facts->first_camera_s, t_s) : t_s;
        facts->last_camera_s = any ? fmax(facts->last_camera_s, t_s) : t_s;
        any = true;
    }
    return any;
}

tl_report_facts tl_report_facts_of(const tl_sequence *sequence) {
    const bool any_sun = tl_sequence_any_sun(sequence);
    tl_report_facts facts = {0};
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_sequence_frame *frame = &sequence->frame[i];
        const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
        facts.with_status[frame->limb.status]++;
        facts.timed_true += tracked->has_true;
        facts.outliers += tl_report_is_outlier(sequence, i);
        facts.timed += is_of_it(sequence, i, any_sun);
    }
    if (!find_span(sequence, true, &facts))
        find_span(sequence, false, &facts);
    facts.has_zone = find_zone(sequence, &facts.zone_minutes);
    find_day(sequence, &facts);
    return facts;
}

/*
 * The one turn that all frames of a camera share: the mean over them of their up_pa, on an
 * alt-azimuth mount counted from the zenith. A frame's own turn would not do to measure with: it
 * follows the almanac's direction as far as the frame shows one, but where its sunspots tell it.
 */
static bool shared_turn(const tl_sequence *sequence, const tl_track_camera *camera,
                        double *up_rad) {
    const bool from_zenith = camera->holding == TL_HOLDING_ALTAZ;
    if (!from_zenith && camera->holding != TL_HOLDING_FIXED)
        return false;
    if (camera->turn_jitter_rad > TL_REPORT_STEADY_RAD)
        return false;
    double x = 0.0, y = 0.0;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_track_frame *frame = tl_report_track_frame(sequence, i);
        const double up = frame->up_pa_rad - (from_zenith ? frame->sky.parallactic_rad : 0.0);
        if (!frame->has_turn || !frame->has_true || tl_report_camera_of(sequence, i) != camera)
            continue;
        x += cos(up);
        y += sin(up);
    }
    *up_rad = atan2(y, x);
    return x != 0.0 || y != 0.0;
}

bool tl_report_measured_pa(const tl_sequence *sequence, size_t i, double *pa_rad) {
    const tl_track_camera *camera = tl_report_camera_of(sequence, i);
    const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
    const tl_limb *limb = &sequence->frame[i].limb;
    double up = tracked->spots_up_rad, east, north;
    if (!tracked->has_turn || !tracked->has_true || limb->status != TL_LIMB_MEASURED)
        return false;
    const bool by_rule = camera->mirrored != TL_MIRROR_AUTO && shared_turn(sequence, camera, &up);
    if (!by_rule && !tracked->has_spots_up)
        return false;
    if (by_rule && camera->holding == TL_HOLDING_ALTAZ)
        up += tracked->sky.parallactic_rad;
    const bool mirrored = by_rule ? camera->mirrored == TL_MIRROR_YES : tracked->mirrored;
    tl_sky_from_frame(up, mirrored, limb->offset_x_sr, limb->offset_y_sr, &east, &north);
    *pa_rad = tl_angle_positive(atan2(east, north));
    return true;
}

bool tl_report_has_residual(const tl_sequence *sequence, size_t i) {
    const tl_sequence_frame *frame = &sequence->frame[i];
    const tl_track *track = &sequence->track;
    const bool on_path = track->free_solved && !tl_track_main(track)->clock.solved &&
                         frame->camera == track->main_camera && !frame->excluded;
    return frame->limb.status == TL_LIMB_MEASURED && frame->info.time.source != TL_TIME_NONE &&
           (tl_report_track_frame(sequence, i)->has_true || on_path) &&
           !tl_report_other_day(sequence, i);
}

double tl_report_sun_radius_arcsec(const tl_sequence *sequence, size_t i) {
    const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
    for (size_t k = 0; k < sequence->count && !tracked->has_true; k++)
        tracked = tl_report_track_frame(sequence, k);
    return tracked->has_true ? tracked->sky.sun_radius_rad / TL_ARCSEC : 0.0;
}

bool tl_report_any_contact(const tl_track *track) {
    bool any = false;
    for (int which = 0; which < TL_CONTACTS; which++)
        any = any || track->contact[which].measured;
    return any;
}

double tl_report_contact_sigma(const tl_track *track, int which) {
    const tl_track_contact *contact = &track->contact[which];
    return tl_track_main(track)->clock.solved && contact->utc_sigma_s > 0.0 ? contact->utc_sigma_s
                                                                            : contact->sigma_s;
}

double tl_report_contact_error(const tl_track *track, int which) {
    return hypot(tl_report_contact_sigma(track, which), track->contact[which].floor_s);
}

static bool same_group(const tl_report_group *group, const tl_limb *limb) {
    return group->status == limb->status && strcmp(group->reason, limb->reason) == 0;
}

/* How many frames share the verdict of frame i; 0 if an earlier one has been counted for it. */
static size_t count_alike(const tl_sequence *sequence, size_t i) {
    const tl_limb *limb = &sequence->frame[i].limb;
    const tl_report_group verdict = {limb->status, limb->reason, 0};
    size_t count = 0;
    for (size_t k = 0; k < sequence->count; k++) {
        if (!same_group(&verdict, &sequence->frame[k].limb))
            continue;
        if (k < i)
            return 0;
        count++;
    }
    return count;
}

size_t tl_report_refusals(const tl_sequence *sequence, size_t max, tl_report_group *group) {
    size_t filled = 0;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_limb *limb = &sequence->frame[i].limb;
        if (limb->status == TL_LIMB_MEASURED || sequence->frame[i].is_copy)
            continue;
        const size_t count = count_alike(sequence, i);
        size_t place = filled;
        while (place > 0 && group[place - 1].count < count)
            place--;
        if (count == 0 || place == max)
            continue;
        const size_t kept = filled < max ? filled : max - 1;
        memmove(group + place + 1, group + place, (kept - place) * sizeof *group);
        group[place] = (tl_report_group){limb->status, limb->reason, count};
        filled = kept + 1;
    }
    return filled;
}
