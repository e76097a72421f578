/*
 * series.c - the frames as given, checked, camera by camera, each in one zone.
 */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_sort_double.h>

#include "track/track_internal.h"

/* Years 1900 to 2200, like the calendar functions of base.h. */
static const double TIME_MIN_S = -70.0 * 365.25 * TL_DAY_S, TIME_MAX_S = 230.0 * 365.25 * TL_DAY_S;
/* A time known worse than this does not time a frame of an eclipse that lasts some two hours. */
static const double TIME_SIGMA_MAX_S = 3600.0;
/* The discs touch up to a separation of 1 + 1.08 (largest ratio there is); some slack for noise. */
static const double SEPARATION_MAX_SR = 2.3;
static const double SEPARATION_SIGMA_MAX_SR = 0.5;
/* 0.005 arcsec: the sharpest drawn frames are measured to twice that (docs/accuracy.md); keeps one
 * frame that claims more from outweighing the rest. */
static const double SEPARATION_SIGMA_MIN_SR = 5e-6;
/* The same for the ratio, which is the Moon's radius in solar radii. */
static const double RATIO_SIGMA_MIN = 5e-6;
/* Beyond this a direction says next to nothing (a uniform one has a sigma of 1.8 rad). */
static const double DIRECTION_SIGMA_MAX_RAD = 0.5;
/* The same for a compass; and 0.006 deg, which no spots tell. */
static const double COMPASS_SIGMA_MAX_RAD = 0.5, COMPASS_SIGMA_MIN_RAD = 1e-4;
/* Frames further than this from the middle one are of another day. */
static const double SERIES_SPAN_S = 12.0 * TL_TRACK_HOUR_S;
/* Zones are whole minutes within a day, whatever a broken file says. */
enum { ZONE_MAX_MINUTES = 24 * 60 };

static bool within(double value, double low, double high) {
    return isfinite(value) && value >= low && value <= high;
}

static void clean(tl_track_frame_in *f) {
    f->timed = f->timed && f->camera < TL_CAMERAS_MAX &&
               within(f->t_camera_s, TIME_MIN_S, TIME_MAX_S) &&
               within(f->t_sigma_s, 0.0, TIME_SIGMA_MAX_S);
    f->zone_known = f->zone_known && f->timed && f->zone_minutes >= -ZONE_MAX_MINUTES &&
                    f->zone_minutes <= ZONE_MAX_MINUTES;
    f->measured = f->measured && within(f->separation_sr, 0.0, SEPARATION_MAX_SR) &&
                  within(f->separation_sigma_sr, 0.0, SEPARATION_SIGMA_MAX_SR) &&
                  f->separation_sigma_sr > 0.0;
    f->has_compass = f->has_compass && f->camera < TL_CAMERAS_MAX && isfinite(f->compass_up_rad) &&
                     within(f->compass_sigma_rad, 0.0, COMPASS_SIGMA_MAX_RAD) &&
                     f->compass_sigma_rad > 0.0;
    f->compass_sigma_rad = f->has_compass ? fmax(f->compass_sigma_rad, COMPASS_SIGMA_MIN_RAD) : 0.0;
    if (!within(f->ratio_raw, 0.5, 2.0) || !within(f->ratio_raw_sigma, 0.0, 1.0) ||
        f->ratio_raw_sigma <= 0.0) {
        f->ratio_raw = f->ratio_raw_sigma = 0.0;
    } else {
        f->ratio_raw_sigma = fmax(f->ratio_raw_sigma, RATIO_SIGMA_MIN);
    }
}

/* Whether a frame has a say in the zone of its camera. */
static bool claims(const tl_track_frame_in *f, size_t camera, bool measured_only) {
    return f->zone_known && f->camera == camera && (f->measured || !measured_only);
}

/* The zone most frames of a camera claim; the first of equals. False if none claims one. What was
 * not measured counts only if nothing measured claims: it may have been taken on another journey.
 */
static bool common_zone(const tl_track_series *series, size_t camera, int *minutes) {
    const tl_track_frame_in *frame = series->frame;
    size_t best = 0;
    bool measured_only = false;
    for (size_t i = 0; i < series->frame_count; i++) {
        measured_only = measured_only || claims(&frame[i], camera, true);
    }
    for (size_t i = 0; i < series->frame_count; i++) {
        size_t votes = 0;
        for (size_t j = 0; claims(&frame[i], camera, measured_only) && j < series->frame_count;
             j++) {
            votes += claims(&frame[j], camera, measured_only) &&
                     frame[j].zone_minutes == frame[i].zone_minutes;
        }
        if (votes > best) {
            best = votes;
            *minutes = frame[i].zone_minutes;
        }
    }
    return best > 0;
}

/* All frames of a camera are brought to the zone given, else to the one most of them claim.
 * Frames that claim another (a file name in UTC among EXIF local times) are moved; those without a
 * claim are taken to be in it. */
static void to_one_zone(tl_track_series *series, size_t camera, const tl_track_options *options) {
    tl_track_slice *slice = &series->camera[camera];
    int common = options->zone_given ? options->zone_minutes : 0;
    bool claimed = !options->zone_given && common_zone(series, camera, &common);
    for (size_t i = 0; i < series->frame_count; i++) {
        tl_track_frame_in *f = &series->frame[i];
        if (f->camera == camera) {
            int own = f->zone_known ? f->zone_minutes : common;
            f->t_camera_s -= 60.0 * own - 60.0 * common;
            slice->frame_count++;
        }
    }
    slice->zone_said = options->zone_given || claimed;
    slice->zone_minutes = common;
}

/* Across the offset: the error of the direction is that of the tangential component. */
static void set_direction(const tl_track_frame_in *f, tl_track_obs *obs) {
    double x = f->offset_x_sr, y = f->offset_y_sr, r2 = x * x + y * y;
    double across = y * y * f->offset_xx - 2.0 * x * y * f->offset_xy + x * x * f->offset_yy;
    double sigma = sqrt(across) / r2; /* sqrt(across / r2) is the length, over r the angle */
    if (within(hypot(x, y), 0.0, SEPARATION_MAX_SR) && isfinite(sigma) && sigma > 0.0 &&
        sigma <= DIRECTION_SIGMA_MAX_RAD) {
        obs->has_direction = true;
        obs->direction_rad = atan2(-x, -y); /* base.h: x = -r sin, y = -r cos of PA - up_pa */
        obs->direction_sigma_rad = sigma;
    }
}

static bool counts(const tl_track_frame_in *f, size_t camera) {
    return f->timed && f->measured && f->camera == camera;
}

/* Camera time of the middle frame that counts; a frame's, not the gap between two days. `scratch`
 * holds one per frame. */
static double middle_time(const tl_track_series *series, size_t camera, double *scratch) {
    size_t n = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        if (counts(&series->frame[i], camera)) {
            scratch[n++] = series->frame[i].t_camera_s;
        }
    }
    gsl_sort(scratch, 1, n);
    return scratch[n / 2];
}

tl_track_obs tl_track_obs_of(const tl_track_frame_in *f, double t_s) {
    tl_track_obs obs = {.camera = f->camera,
                        .t_s = t_s,
                        .t_sigma_s = f->t_sigma_s,
                        .s = f->separation_sr,
                        .s_sigma = fmax(f->separation_sigma_sr, SEPARATION_SIGMA_MIN_SR)};
    set_direction(f, &obs);
    return obs;
}

static void collect(tl_track_series *series, size_t camera, double *scratch) {
    tl_track_slice *slice = &series->camera[camera];
    slice->first_obs = series->obs_count;
    double middle_s = middle_time(series, camera, scratch);
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        if (!counts(f, camera) || fabs(f->t_camera_s - middle_s) > SERIES_SPAN_S) {
            continue;
        }
        tl_track_obs *obs = &series->obs[series->obs_count++];
        *obs = tl_track_obs_of(f, f->t_camera_s);
        obs->index = i;
        series->obs_of[i] = obs;
    }
    slice->obs_count = series->obs_count - slice->first_obs;
}

tl_status tl_track_series_make(const tl_track_frame_in *in, size_t count,
                               const tl_track_options *options, tl_track_series *series) {
    tl_track_series made = {.frame_count = count, .camera_count = 1};
    made.frame = calloc(count + 1, sizeof *made.frame);
    made.obs = calloc(count + 1, sizeof *made.obs);
    made.obs_of = calloc(count + 1, sizeof(tl_track_obs *));
    double *scratch = calloc(count + 1, sizeof *scratch);
    if (made.frame == NULL || made.obs == NULL || made.obs_of == NULL || scratch == NULL) {
        free(scratch);
        tl_track_series_free(&made);
        return TL_ERR_MEMORY;
    }
    for (size_t i = 0; i < count; i++) {
        made.frame[i] = in[i];
        clean(&made.frame[i]);
        if (in[i].camera < TL_CAMERAS_MAX && in[i].camera >= made.camera_count) {
            made.camera_count = in[i].camera + 1;
        }
    }
    for (size_t k = 0; k < made.camera_count; k++) {
        to_one_zone(&made, k, options);
        collect(&made, k, scratch);
    }
    free(scratch);
    *series = made;
    return TL_OK;
}

void tl_track_series_free(tl_track_series *series) {
    free(series->frame);
    free(series->obs);
    free(series->obs_of);
    *series = (tl_track_series){0};
}
