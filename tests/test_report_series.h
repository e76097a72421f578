/*
 * test_report_series.h - an invented series of pictures for the tests of the report.
 *
 * Place and pictures are invented: 45 N 10 E, 120 m, the eclipse of 2027-08-02, a
 * camera 37.4 s fast on UTC+02:00, held on an alt-azimuth mount behind a star diagonal.
 * Contact times are those of the almanac for that place, to a tenth of a second.
 */
#ifndef TWOLIMB_TEST_REPORT_SERIES_H
#define TWOLIMB_TEST_REPORT_SERIES_H

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "twolimb/report.h"

#define SERIES_DAY_S 1817164800.0 /* 2027-08-02T00:00:00Z */
#define SERIES_ZONE_MINUTES 120
#define SERIES_OFFSET_S 37.4
#define SERIES_CLOCK_SIGMA_S 0.31
#define SERIES_FLOOR_S 1.4
#define SERIES_SIGMA_SR 0.0021
#define SERIES_RATIO 1.0758
#define SERIES_OFF_S 62.0

/* fontconfig, which finds the drawing's font, keeps a few hundred bytes to the process's end. */
const char *__lsan_default_suppressions(void);
const char *__lsan_default_suppressions(void) {
    return "leak:libfontconfig";
}

/* cmocka's own compares in single precision. */
#define assert_close(value, expected, tolerance)                                                   \
    assert_true(fabs((value) - (expected)) <= (tolerance))

enum {
    SERIES_FRAMES = 12,
    SERIES_HOSTILE = 3,  /* its name would break a page, a table and a terminal */
    SERIES_LATIN1 = 5,   /* its name is not UTF-8 */
    SERIES_REFUSED = 7,  /* a cloud */
    SERIES_BROKEN = 9,   /* unreadable */
    SERIES_OUTLIER = 10, /* measured, but left out of the fit */
    SERIES_SUN_ONLY = 11
};

#define SERIES_HOSTILE_NAME "a\"<script>&%\n.jpg"
#define SERIES_LATIN1_NAME "caf\xE9.jpg"
#define SERIES_REFUSED_REASON "A cloud covers most of the \"limb\" <here>."
#define SERIES_BROKEN_REASON "The picture is cut short."

static char *series_copy(const char *string) {
    char *copy = malloc(strlen(string) + 1);
    if (!copy)
        abort();
    return strcpy(copy, string);
}

static char *series_path(size_t i) {
    char name[64];
    snprintf(name, sizeof name, "pictures/IMG_%04zu.JPG", i + 1);
    return series_copy(i == SERIES_HOSTILE  ? "pictures/" SERIES_HOSTILE_NAME
                       : i == SERIES_LATIN1 ? "pictures/" SERIES_LATIN1_NAME
                                            : name);
}

static double series_utc(size_t i) {
    return SERIES_DAY_S + 8 * 3600.0 + 600.0 + 660.0 * (double)i; /* from 08:10, every 11 min */
}

/* Four points on each limb, one of them dropped. */
static void series_edges(tl_limb *limb) {
    limb->edge = calloc(8, sizeof *limb->edge);
    if (!limb->edge)
        abort();
    limb->edge_count = 8;
    for (size_t k = 0; k < 8; k++) {
        const double *c = &limb->circle[k < 4 ? TL_SUN_X : TL_MOON_X];
        const double turn = 1.3 * (double)(k % 4);
        limb->edge[k] = (tl_limb_edge){.x_px = c[0] + c[2] * cos(turn),
                                       .y_px = c[1] + c[2] * sin(turn),
                                       .limb = k < 4 ? TL_LIMB_SUN : TL_LIMB_MOON,
                                       .used = k % 4 != 3};
    }
}

static void series_measure(tl_sequence_frame *frame, tl_track_frame *tracked, size_t i) {
    /* Invented errors of the separation, sr. */
    static const double error[] = {0.0012,  -0.0018, 0.0004, 0.0025, -0.0011, 0.0009,
                                   -0.0005, 0.0,     0.0016, 0.0,    0.0312,  0.0};
    tl_limb *limb = &frame->limb;
    double x, y;
    limb->status = TL_LIMB_MEASURED;
    limb->separation_sr = tracked->sky.separation_sr + error[i];
    limb->separation_sigma_sr = SERIES_SIGMA_SR;
    tracked->residual_sr = error[i];
    tl_frame_from_sky(tracked->up_pa_rad, true, sin(tracked->sky.pa_rad), cos(tracked->sky.pa_rad),
                      &x, &y);
    limb->offset_x_sr = limb->separation_sr * x;
    limb->offset_y_sr = limb->separation_sr * y;
    limb->circle[TL_SUN_X] = 800.25 + 10.0 * (double)i;
    limb->circle[TL_SUN_Y] = 600.5;
    limb->circle[TL_SUN_R] = 300.125;
    limb->circle[TL_MOON_X] = limb->circle[TL_SUN_X] + 300.125 * limb->offset_x_sr;
    limb->circle[TL_MOON_Y] = limb->circle[TL_SUN_Y] + 300.125 * limb->offset_y_sr;
    limb->circle[TL_MOON_R] = 300.125 * SERIES_RATIO;
    limb->ratio_raw = 1.0742;
    limb->ratio_raw_sigma = 0.0031;
    limb->blur_px = 1.84;
    limb->residual_px = 0.213;
    limb->arc_sun_rad = 4.2;
    limb->arc_moon_rad = 1.9;
    limb->sky_level = 0.002;
    limb->disc_level = 0.61;
    strcpy(limb->channel, "red");
    series_edges(limb);
    tracked->magnitude = tl_magnitude(limb->separation_sr, SERIES_RATIO);
    tracked->obscuration = tl_obscuration(limb->separation_sr, SERIES_RATIO);
}

static void series_refuse(tl_limb *limb, tl_limb_status status, const char *reason) {
    limb->status = status;
    strcpy(limb->reason, reason);
}

static void series_frame(tl_sequence *s, size_t i) {
    static const unsigned char jpeg[] = {0xFF, 0xD8, 0xFF, 0xD9}; /* start and end, no picture */
    tl_sequence_frame *frame = &s->frame[i];
    tl_track_frame *tracked = &s->track.frame[i];
    frame->path = series_path(i);
    if (i == SERIES_BROKEN) {
        series_refuse(&frame->limb, TL_LIMB_UNREADABLE, SERIES_BROKEN_REASON);
        return;
    }
    frame->info.width = 1600;
    frame->info.height = 1200;
    frame->info.time =
        (tl_camera_time){.source = TL_TIME_EXIF,
                         .t_camera_s = series_utc(i) + SERIES_ZONE_MINUTES * 60.0 + SERIES_OFFSET_S,
                         .sigma_s = 0.29};
    frame->info.exposure_s = 1.0 / 500.0;
    frame->info.iso = 100.0;
    strcpy(frame->info.model, "Invented, model 1");
    frame->preview = (tl_preview){.jpeg = malloc(sizeof jpeg),
                                  .size = sizeof jpeg,
                                  .width = 480,
                                  .height = 480,
                                  .scale = 0.5,
                                  .x0_px = 319.5,
                                  .y0_px = 119.5};
    if (!frame->preview.jpeg)
        abort();
    memcpy(frame->preview.jpeg, jpeg, sizeof jpeg);
    tracked->has_true = true;
    tracked->true_utc_s = series_utc(i);
    tracked->true_sigma_s = 0.42;
    if (tl_sky_at(&s->options.site, series_utc(i), &s->options.sky, &tracked->sky) != TL_OK)
        abort();
    tracked->moon_pa_rad = tracked->sky.pa_rad;
    tracked->altitude_rad = tracked->sky.sun_altitude_rad + tracked->sky.refraction_rad;
    tracked->has_turn = true;
    tracked->up_pa_rad = tracked->sky.parallactic_rad + 3.0 * TL_DEG;
    if (i == SERIES_REFUSED) {
        series_refuse(&frame->limb, TL_LIMB_UNUSABLE, SERIES_REFUSED_REASON);
        return;
    }
    series_measure(frame, tracked, i);
    tracked->outlier = i == SERIES_OUTLIER;
    tracked->off_s = tracked->outlier ? SERIES_OFF_S : 0.0;
    if (i == SERIES_SUN_ONLY) {
        series_refuse(&frame->limb, TL_LIMB_SUN_ONLY, "No Moon on the disc.");
        memset(&frame->limb.circle[TL_MOON_X], 0, 3 * sizeof(double));
    }
}

static void series_contact(tl_track *track, int which, double utc_s, double o_minus_c_s,
                           double sigma_s) {
    const double utc = SERIES_DAY_S + utc_s;
    track->contact[which] = (tl_track_contact){
        .measured = true,
        .measured_camera_s = utc + o_minus_c_s + SERIES_ZONE_MINUTES * 60.0 + SERIES_OFFSET_S,
        .measured_utc_s = utc + o_minus_c_s,
        .sigma_s = hypot(sigma_s, SERIES_CLOCK_SIGMA_S),
        .utc_sigma_s = sigma_s,
        .floor_s = SERIES_FLOOR_S,
        .predicted = true,
        .predicted_utc_s = utc};
    track->circumstances.contact[which] =
        (tl_contact){.occurs = true, .sun_up = true, .t_utc_s = utc};
}

static void series_circumstances(tl_track *track) {
    tl_circumstances *c = &track->circumstances;
    track->has_circumstances = true;
    series_contact(track, TL_C1, 28946.7, 1.9, 2.4);
    series_contact(track, TL_MAX, 32950.0, -3.1, 1.3);
    series_contact(track, TL_C4, 37155.6, 9.4, 2.6);
    c->kind = TL_ECLIPSE_PARTIAL;
    c->magnitude = 0.6987;
    c->obscuration = 0.6356;
    c->ratio = 1.07581;
    c->deltat_s = 69.2;
    c->contact[TL_MAX].pa_rad = 204.636 * TL_DEG;
    c->contact[TL_MAX].vertex_rad = (204.636 + 38.822) * TL_DEG;
    c->contact[TL_MAX].altitude_rad = 50.55 * TL_DEG;
}

/* Everything known. Freed by tl_sequence_free. */
static inline tl_sequence series_solved(void) {
    tl_sequence s = {0};
    s.count = SERIES_FRAMES;
    s.frame = calloc(SERIES_FRAMES, sizeof *s.frame);
    s.track.frame = calloc(SERIES_FRAMES, sizeof *s.track.frame);
    if (!s.frame || !s.track.frame)
        abort();
    s.track.frame_count = SERIES_FRAMES;
    s.options.site = (tl_site){TL_SITE_GIVEN, 45.0 * TL_DEG, 10.0 * TL_DEG, 120.0};
    s.options.sky = tl_sky_options_default();
    for (size_t i = 0; i < SERIES_FRAMES; i++)
        series_frame(&s, i);
    tl_track *track = &s.track;
    track->used_count = 8;
    track->free_solved = true;
    track->free_degree = 2;
    track->ratio = 1.0758;
    track->ratio_measured = 1.0742;
    track->ratio_measured_sigma = 0.0011;
    track->camera[0].clock = (tl_clock){.solved = true,
                                        .zone_minutes = SERIES_ZONE_MINUTES,
                                        .offset_s = SERIES_OFFSET_S,
                                        .sigma_s = SERIES_CLOCK_SIGMA_S,
                                        .floor_s = SERIES_FLOOR_S};
    series_circumstances(track);
    track->has_smallest = true;
    track->smallest_sr = 0.6781;
    track->smallest_sigma_sr = 0.0013;
    track->smallest_predicted_sr = 0.67838;
    track->magnitude = 0.6988; /* (1 + ratio - smallest) / 2 */
    track->magnitude_sigma = 0.0007;
    track->has_direction = true;
    track->direction_pa_rad = 114.62 * TL_DEG;
    track->direction_sigma_rad = 0.13 * TL_DEG;
    track->direction_predicted_rad = 114.71 * TL_DEG;
    track->speed_sr_per_h = 1.7093;
    track->speed_sigma_sr_per_h = 0.0034;
    track->speed_predicted_sr_per_h = 1.7119;
    track->camera[0].clock.at_utc_s = SERIES_DAY_S + 32950.0;
    track->camera[0].clock.misfit = 1.0;
    track->camera_count = 1;
    track->camera[0].frame_count = SERIES_FRAMES;
    track->camera[0].used_count = track->used_count;
    track->camera[0].holding = TL_HOLDING_ALTAZ;
    track->camera[0].mirrored = TL_MIRROR_YES;
    track->camera[0].has_rotation = true;
    track->camera[0].rotation_rad = 41.2 * TL_DEG;
    return s;
}

/* ---- the same with everything that can be odd ---- */

enum {
    SERIES_OTHER_DAY = 1, /* its stamp is of two days later */
    SERIES_OPEN = 2,      /* no time, and nothing tells which of two */
    SERIES_SECOND = 4,    /* of the second camera, and so is the one two further on */
    SERIES_ORDERED = 8    /* no time, told by the order of names */
};
#define SERIES_SECOND_OFFSET_S (-12.4)
#define SERIES_LATENESS_S 14.0

static void series_undate(tl_sequence *s, size_t i, tl_side_by by) {
    tl_track_frame *tracked = &s->track.frame[i];
    const double maximum_s = SERIES_DAY_S + 32950.0;
    const double before_s = maximum_s - fabs(series_utc(i) - maximum_s);
    s->frame[i].info.time = (tl_camera_time){0};
    tracked->has_sides = true;
    tracked->side_by = by;
    tracked->side_utc_s[0] = before_s;
    tracked->side_utc_s[1] = 2.0 * maximum_s - before_s;
    tracked->side_sigma_s[0] = 4.2;
    tracked->side_sigma_s[1] = 4.4;
    tracked->has_true = by != TL_SIDE_OPEN;
    tracked->has_turn = by != TL_SIDE_OPEN;
}

/* The second camera: held in the hand, its year wrong, its stamps scattering. */
static void series_second_camera(tl_sequence *s) {
    tl_track *track = &s->track;
    track->camera_count = 2;
    track->camera[1] = (tl_track_camera){.frame_count = 2, .used_count = 2};
    track->camera[1].holding = TL_HOLDING_FREE;
    track->camera[1].mirrored = TL_MIRROR_NO;
    track->camera[1].mirror_given = true;
    track->camera[1].clock = (tl_clock){.solved = true,
                                        .offset_s = SERIES_SECOND_OFFSET_S,
                                        .sigma_s = 2.1,
                                        .floor_s = SERIES_FLOOR_S,
                                        .misfit = 1.0,
                                        .at_utc_s = SERIES_DAY_S + 32950.0,
                                        .stamps = TL_STAMPS_SCATTERED,
                                        .stamp_scatter_s = 6.1,
                                        .stamp_scatter_sigma_s = 2.2,
                                        .day_shift_s = -365.0 * TL_DAY_S};
    for (size_t i = SERIES_SECOND; i <= SERIES_SECOND + 2; i += 2) {
        s->frame[i].camera = 1;
        s->frame[i].info.time.t_camera_s =
            series_utc(i) + SERIES_SECOND_OFFSET_S - 365.0 * TL_DAY_S;
    }
}

/* Two cameras; late stamps and a drift in the first, a wrong year in the second; pictures without
 * a time, one of another day, one left out. */
static inline tl_sequence series_odd(void) {
    tl_sequence s = series_solved();
    tl_clock *clock = &s.track.camera[0].clock;
    s.track.camera[0].frame_count -= 2;
    s.track.camera[0].used_count -= 2;
    clock->has_drift = true;
    clock->drift_ppm = 139.0; /* 139e-6 * 86400 s = 12.0 s a day */
    clock->drift_sigma_ppm = 35.0;
    clock->stamps = TL_STAMPS_LATE;
    clock->stamp_scatter_s = SERIES_LATENESS_S;
    clock->stamp_scatter_sigma_s = 2.0;
    for (size_t i = 0; i < s.count; i++) /* later and later: 5, 6, 7 ... s */
        if (s.frame[i].info.time.source != TL_TIME_NONE)
            s.frame[i].info.time.t_camera_s +=
                5.0 + (double)i + 139e-6 * (series_utc(i) - clock->at_utc_s);
    series_second_camera(&s);
    series_undate(&s, SERIES_OPEN, TL_SIDE_OPEN);
    series_undate(&s, SERIES_ORDERED, TL_SIDE_BY_ORDER);
    s.frame[SERIES_OTHER_DAY].info.time.t_camera_s += 2.0 * TL_DAY_S;
    s.track.frame[SERIES_OTHER_DAY].outlier = true;
    s.track.frame[SERIES_OTHER_DAY].has_true = false;
    s.track.frame[SERIES_OTHER_DAY].has_turn = false;
    s.track.frame[SERIES_OTHER_DAY].residual_sr = 0.0;
    return s;
}

/* The same pictures without a place: only the free solution. */
static inline tl_sequence series_no_site(void) {
    tl_sequence s = series_solved();
    tl_track *track = &s.track;
    const double hours_at_max = 32950.0 / 3600.0;
    s.options.site = (tl_site){0};
    for (size_t i = 0; i < s.count; i++)
        track->frame[i] = (tl_track_frame){.residual_sr = track->frame[i].residual_sr,
                                           .magnitude = track->frame[i].magnitude,
                                           .obscuration = track->frame[i].obscuration,
                                           .outlier = track->frame[i].outlier};
    track->camera[0].clock = (tl_clock){0};
    track->has_circumstances = false;
    for (int which = 0; which < TL_CONTACTS; which++)
        track->contact[which].predicted = false;
    /* s^2 = smallest^2 + speed^2 (t - max)^2 about the camera's time of maximum */
    track->free_degree = 2;
    track->free_origin_camera_s = SERIES_DAY_S + SERIES_ZONE_MINUTES * 60.0 + SERIES_OFFSET_S;
    track->free_coefficient[0] = 0.6781 * 0.6781 + 1.7093 * 1.7093 * hours_at_max * hours_at_max;
    track->free_coefficient[1] = -2.0 * 1.7093 * 1.7093 * hours_at_max;
    track->free_coefficient[2] = 1.7093 * 1.7093;
    track->camera[0].holding = TL_HOLDING_FREE;
    track->camera[0].mirrored = TL_MIRROR_AUTO;
    track->camera[0].has_rotation = false;
    track->has_direction = false;
    strcpy(track->note, "The place is not known, so clock, true times and almanac are missing: "
                        "give it with --site LAT,LON.");
    return s;
}

/* Every picture refused, for a reason of its own. */
static inline tl_sequence series_nothing(void) {
    tl_sequence s = series_no_site();
    for (size_t i = 0; i < s.count; i++) {
        char reason[TL_LIMB_REASON_SIZE];
        snprintf(reason, sizeof reason,
                 "Reason %zu: the disc is cut by the frame's edge, and the words go on for so long "
                 "that no line of a terminal would hold them.",
                 i);
        tl_limb_free(&s.frame[i].limb);
        s.frame[i].limb = (tl_limb){0};
        series_refuse(&s.frame[i].limb, i % 2 ? TL_LIMB_NO_SUN : TL_LIMB_UNUSABLE, reason);
        s.frame[i].info.time = (tl_camera_time){0};
        s.track.frame[i] = (tl_track_frame){0};
    }
    tl_track_frame *frame = s.track.frame;
    s.track = (tl_track){.frame = frame, .frame_count = s.count, .camera_count = 1};
    strcpy(s.track.note, "No picture could be measured, so there is nothing to time.");
    return s;
}

#endif
