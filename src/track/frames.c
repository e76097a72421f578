/*
 * frames.c - what the solution says of each frame.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

/* A separation met as nearly as this is met. */
static const double SAME_SR = 1e-4;

tl_status tl_track_frame_set_time(double t_utc_s, double sigma_s, const tl_track_eclipse *eclipse,
                                  tl_track_frame *frame) {
    tl_sky sky;
    tl_status status = tl_track_eclipse_sky(eclipse, t_utc_s, &sky);
    if (status != TL_OK) {
        return status == TL_ERR_MEMORY ? status : TL_OK;
    }
    frame->sky = sky;
    frame->has_true = true;
    frame->true_utc_s = t_utc_s;
    frame->true_sigma_s = sigma_s;
    frame->moon_pa_rad = sky.pa_rad;
    frame->altitude_rad = sky.sun_altitude_rad + sky.refraction_rad;
    return TL_OK;
}

void tl_track_clock_time(const tl_track_series *series, size_t i, const tl_track_tied *tied,
                         double *utc_s, double *sigma_s) {
    const tl_track_frame_in *f = &series->frame[i];
    const tl_track_clock_fit *fit = &tied->fit;
    if (series->obs_of[i] != NULL && fit->utc_s != NULL) {
        size_t k = (size_t)(series->obs_of[i] - series->obs) - series->camera[f->camera].first_obs;
        *utc_s = fit->utc_s[k];
        *sigma_s = fit->utc_sigma_s[k];
        return;
    }
    double late_s = fit->stamps == TL_STAMPS_LATE ? fit->scatter_s : 0.0;
    *utc_s = tl_track_clock_utc(fit, f->t_camera_s) - late_s;
    *sigma_s =
        tl_track_clock_utc_sigma(fit, f->t_camera_s, hypot(f->t_sigma_s, fit->stamp_sigma_s));
}

/* How far an outlier's stamp is from the nearer time at which the almanac has its separation. 0
 * where that never is: the circles are wrong for sure. */
static void set_off(const tl_track_frame_in *f, const tl_track_eclipse *eclipse,
                    tl_track_frame *frame) {
    const tl_contact *contact = eclipse->circumstances.contact;
    double before_s = tl_track_eclipse_when(eclipse, f->separation_sr, TL_TRACK_BEFORE);
    double after_s = tl_track_eclipse_when(eclipse, f->separation_sr, TL_TRACK_AFTER);
    double off_s = fmin(fabs(before_s - frame->true_utc_s), fabs(after_s - frame->true_utc_s));
    double s, rate;
    bool ever = tl_track_eclipse_separation(eclipse, before_s, &s, &rate) &&
                fabs(s - f->separation_sr) < SAME_SR;
    frame->off_s = ever ? off_s : 0.0;
    /* Circles or time are wrong, and it may be the time. */
    double most = 0.5 * (contact[TL_C4].t_utc_s - contact[TL_C1].t_utc_s);
    frame->true_sigma_s = hypot(frame->true_sigma_s, ever ? off_s : most);
}

static tl_status time_frame(const tl_track_series *series, size_t i,
                            const tl_track_eclipse *eclipse, const tl_track_tied *tied,
                            tl_track_frame *frame) {
    const tl_track_frame_in *f = &series->frame[i];
    double utc_s, sigma_s;
    tl_track_clock_time(series, i, tied, &utc_s, &sigma_s);
    tl_status status = tl_track_frame_set_time(utc_s, sigma_s, eclipse, frame);
    if (status == TL_OK && frame->has_true) {
        if (series->obs_of[i] != NULL) {
            frame->residual_sr = f->separation_sr - frame->sky.separation_sr;
            if (frame->outlier) {
                set_off(f, eclipse, frame);
            }
        }
    }
    return status;
}

/* Against the free path where there is nothing better. */
static void path_residuals(const tl_track_series *series, const tl_track_path *path,
                           tl_track *track) {
    const tl_track_slice *main = &series->camera[track->main_camera];
    for (size_t i = 0; i < main->obs_count; i++) {
        const tl_track_obs *obs = &series->obs[main->first_obs + i];
        double tau = (obs->t_s - path->origin_s) / TL_TRACK_HOUR_S;
        double fitted = sqrt(fmax(0.0, tl_track_path_value(path->parameter, tau)));
        track->frame[obs->index].residual_sr = obs->s - fitted;
    }
}

static double frame_ratio(const tl_track_frame_in *f, const tl_track_frame *frame,
                          const tl_track *track) {
    if (frame->has_true) {
        return frame->sky.ratio;
    }
    return track->ratio > 0.0 ? track->ratio : f->ratio_raw;
}

/* Undated frames; where no dated one ties the compasses, those whose side the order of the names
 * tells do, and then the compasses are asked as well. */
static tl_status time_undated(const tl_track_series *series, const tl_track_eclipse *eclipse,
                              const tl_track_tied *tied, const tl_track_options *options,
                              tl_track_compasses *compasses, tl_track *track) {
    tl_status status = tl_track_untimed(series, eclipse, tied, options, compasses, track);
    if (status == TL_OK && compasses->told.state == TL_COMPASS_UNTIED) {
        tl_track_compasses_free(compasses);
        status = tl_track_compasses_make(series, eclipse, tied, options, track, compasses);
        if (status == TL_OK && compasses->told.state == TL_COMPASS_USED) {
            status = tl_track_untimed(series, eclipse, tied, options, compasses, track);
        }
    }
    return status;
}

tl_status tl_track_frames(const tl_track_series *series, const tl_track_eclipse *eclipse,
                          const tl_track_tied *tied, const tl_track_path *path,
                          const tl_track_options *options, tl_track_compasses *compasses,
                          tl_track *track) {
    tl_status status = TL_OK;
    for (size_t i = 0; status == TL_OK && i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        const tl_track_obs *obs = series->obs_of[i];
        tl_track_frame *frame = &track->frame[i];
        frame->outlier = obs != NULL ? obs->dropped : f->timed && f->measured;
        if (f->timed && tied[f->camera].solved) {
            status = time_frame(series, i, eclipse, &tied[f->camera], frame);
        }
    }
    if (path != NULL && !tied[track->main_camera].solved) {
        path_residuals(series, path, track);
    }
    if (status == TL_OK && eclipse != NULL) {
        status = time_undated(series, eclipse, tied, options, compasses, track);
    }
    if (status != TL_OK) {
        return status;
    }
    for (size_t k = 0; k < series->camera_count; k++) {
        tl_track_compass_mirror(series, compasses, k, &track->camera[k]);
    }
    tl_track_frame_turns(series, eclipse, tied, compasses, track);
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        double ratio = frame_ratio(f, &track->frame[i], track);
        if (f->measured && ratio > 0.0) {
            track->frame[i].magnitude = tl_magnitude(f->separation_sr, ratio);
            track->frame[i].obscuration = tl_obscuration(f->separation_sr, ratio);
        }
    }
    return TL_OK;
}
