/*
 * series.c - the frames as given, checked and brought to one zone.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_sort_double.h>

#include "track/track_internal.h"

/* Years 1900 to 2200, like the calendar functions of base.h. */
static const double TIME_MIN_S = -70.0 * 365.25 * TL_DAY_S, TIME_MAX_S = 230.0 * 365.25 * TL_DAY_S;
/* A time known worse than this does not time a frame of an eclipse that lasts some two hours. */
static const double TIME_SIGMA_MAX_S = 3600.0;
/* The discs touch up to a separation of 1 + 1.08 (largest ratio there is); some slack for noise. */
static const double SEPARATION_MAX_SR = 2.3;
static const double SEPARATION_SIGMA_MAX_SR = 0.5;
/* 0.1 arcsec: no picture through the air places a limb better; keeps one frame that claims more
 * from outweighing the rest. */
static const double SEPARATION_SIGMA_MIN_SR = 1e-4;
/* Beyond this a direction says next to nothing (a uniform one has a sigma of 1.8 rad). */
static const double DIRECTION_SIGMA_MAX_RAD = 0.5;
/* Frames further than this from the middle one are of another day. */
static const double SERIES_SPAN_S = 12.0 * TL_TRACK_HOUR_S;
/* Zones are whole minutes within a day, whatever a broken file says. */
enum { ZONE_MAX_MINUTES = 24 * 60 };

static bool within(double value, double low, double high) {
    return isfinite(value) && value >= low && value <= high;
}

static void clean(tl_track_frame_in *f) {
    f->timed = f->timed && within(f->t_camera_s, TIME_MIN_S, TIME_MAX_S) &&
               within(f->t_sigma_s, 0.0, TIME_SIGMA_MAX_S);
    f->zone_known = f->zone_known && f->timed && f->zone_minutes >= -ZONE_MAX_MINUTES &&
                    f->zone_minutes <= ZONE_MAX_MINUTES;
    f->measured = f->measured && within(f->separation_sr, 0.0, SEPARATION_MAX_SR) &&
                  within(f->separation_sigma_sr, 0.0, SEPARATION_SIGMA_MAX_SR) &&
                  f->separation_sigma_sr > 0.0;
    if (!within(f->ratio_raw, 0.5, 2.0) || !within(f->ratio_raw_sigma, 0.0, 1.0) ||
        f->ratio_raw_sigma <= 0.0) {
        f->ratio_raw = f->ratio_raw_sigma = 0.0;
    }
}

/* The zone most frames claim; the first of equals. False if none claims one. */
static bool common_zone(const tl_track_frame_in *frame, size_t count, int *minutes) {
    size_t best = 0;
    for (size_t i = 0; i < count; i++) {
        size_t votes = 0;
        for (size_t j = 0; frame[i].zone_known && j < count; j++) {
            votes += frame[j].zone_known && frame[j].zone_minutes == frame[i].zone_minutes ? 1 : 0;
        }
        if (votes > best) {
            best = votes;
            *minutes = frame[i].zone_minutes;
        }
    }
    return best > 0;
}

/* All frames are brought to the zone given, else to the one most of them claim. Frames that claim
 * another (a file name in UTC among EXIF local times) are moved; those without a claim are taken
 * to be in it. */
static void to_one_zone(tl_track_series *series, const tl_track_options *options) {
    int common = options->zone_given ? options->zone_minutes : 0;
    bool claimed = !options->zone_given && common_zone(series->frame, series->frame_count, &common);
    for (size_t i = 0; i < series->frame_count; i++) {
        tl_track_frame_in *f = &series->frame[i];
        int own = f->zone_known ? f->zone_minutes : common;
        f->t_camera_s -= 60.0 * own - 60.0 * common;
    }
    series->zone_said = options->zone_given || claimed;
    series->zone_minutes = common;
}

/* Across the offset: the error of the direction is that of the tangential component. */
static void set_direction(const tl_track_frame_in *f, tl_track_obs *obs) {
    double x = f->offset_x_sr, y = f->offset_y_sr, r2 = x * x + y * y;
    double across = y * y * f->offset_xx - 2.0 * x * y * f->offset_xy + x * x * f->offset_yy;
    double sigma = sqrt(across) / r2; /* sqrt(across / r2) is the length, over r the angle */
    if (isfinite(sigma) && sigma > 0.0 && sigma <= DIRECTION_SIGMA_MAX_RAD) {
        obs->has_direction = true;
        obs->direction_rad = atan2(-x, -y); /* base.h: x = -r sin, y = -r cos of PA - up_pa */
        obs->direction_sigma_rad = sigma;
    }
}

static bool counts(const tl_track_frame_in *f) {
    return f->timed && f->measured;
}

/* Camera time of the middle frame that counts; a frame's, not the gap between two days. */
static tl_status middle_time(const tl_track_series *series, double *middle_s) {
    double *t = calloc(series->frame_count + 1, sizeof *t);
    if (t == NULL) {
        return TL_ERR_MEMORY;
    }
    size_t n = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        if (counts(&series->frame[i])) {
            t[n++] = series->frame[i].t_camera_s;
        }
    }
    gsl_sort(t, 1, n);
    *middle_s = t[n / 2];
    free(t);
    return TL_OK;
}

static tl_status collect(tl_track_series *series) {
    double middle_s;
    tl_status status = middle_time(series, &middle_s);
    for (size_t i = 0; status == TL_OK && i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        if (!counts(f) || fabs(f->t_camera_s - middle_s) > SERIES_SPAN_S) {
            continue;
        }
        tl_track_obs *obs = &series->obs[series->obs_count++];
        *obs = (tl_track_obs){.index = i,
                              .t_s = f->t_camera_s,
                              .t_sigma_s = f->t_sigma_s,
                              .s = f->separation_sr,
                              .s_sigma = fmax(f->separation_sigma_sr, SEPARATION_SIGMA_MIN_SR)};
        set_direction(f, obs);
    }
    return status;
}

tl_status tl_track_series_make(const tl_track_frame_in *in, size_t count,
                               const tl_track_options *options, tl_track_series *series) {
    tl_track_series made = {.frame_count = count};
    made.frame = calloc(count + 1, sizeof *made.frame);
    made.obs = calloc(count + 1, sizeof *made.obs);
    if (made.frame == NULL || made.obs == NULL) {
        tl_track_series_free(&made);
        return TL_ERR_MEMORY;
    }
    if (count > 0) {
        memcpy(made.frame, in, count * sizeof *in);
    }
    for (size_t i = 0; i < count; i++) {
        clean(&made.frame[i]);
    }
    to_one_zone(&made, options);
    tl_status status = collect(&made);
    if (status == TL_OK) {
        *series = made;
    } else {
        tl_track_series_free(&made);
    }
    return status;
}

void tl_track_series_free(tl_track_series *series) {
    free(series->frame);
    free(series->obs);
    *series = (tl_track_series){0};
}
