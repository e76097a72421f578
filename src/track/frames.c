/*
 * frames.c - what the solution says of each frame.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

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

/* The rule's up_pa at a frame's time. */
static double rule_up(const tl_track_turn *turn, const tl_sky *sky) {
    return turn->up_rad + (turn->holding == TL_HOLDING_ALTAZ ? sky->parallactic_rad : 0.0);
}

/*
 * A frame's own direction, drawn towards the rule by their variances: near maximum, with the
 * discs almost concentric, the rule knows better.
 */
static void set_turn(const tl_track_obs *obs, const tl_track_turn *turn, tl_track_frame *frame) {
    bool shared = (turn->holding == TL_HOLDING_FIXED || turn->holding == TL_HOLDING_ALTAZ) &&
                  turn->jitter_rad > 0.0 && turn->mirrored != TL_MIRROR_AUTO;
    bool own = obs != NULL && obs->has_direction;
    if (!own && !shared) {
        return;
    }
    frame->has_turn = true;
    frame->up_pa_rad = shared ? rule_up(turn, &frame->sky) : 0.0;
    if (own) {
        double part = 1.0;
        if (shared) {
            double jitter2 = turn->jitter_rad * turn->jitter_rad;
            part = jitter2 / (jitter2 + obs->direction_sigma_rad * obs->direction_sigma_rad);
        }
        frame->up_pa_rad +=
            part * tl_track_turn_residual(obs, &frame->sky, TL_HOLDING_FREE,
                                          turn->mirrored == TL_MIRROR_YES, frame->up_pa_rad);
    }
    frame->up_pa_rad = tl_angle_positive(frame->up_pa_rad);
}

/* How far a frame's separation lies from the almanac's in time: by its own rate, or half the
 * eclipse where that says nothing. */
static double time_off(const tl_track_frame_in *f, const tl_track_tied *tied,
                       const tl_track_eclipse *eclipse) {
    const tl_contact *contact = eclipse->circumstances.contact;
    double most = 0.5 * (contact[TL_C4].t_utc_s - contact[TL_C1].t_utc_s), s, rate;
    if (!tl_track_eclipse_separation(eclipse, f->t_camera_s - tied->fit.clock_s, &s, &rate) ||
        !(fabs(rate) * most > fabs(f->separation_sr - s))) {
        return most;
    }
    return fabs((f->separation_sr - s) / rate);
}

static tl_status time_frames(const tl_track_series *series, const tl_track_eclipse *eclipse,
                             const tl_track_tied *tied, tl_track *track) {
    size_t next = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_obs *obs = NULL;
        if (next < series->obs_count && series->obs[next].index == i) {
            obs = &series->obs[next++];
        }
        const tl_track_frame_in *f = &series->frame[i];
        if (!f->timed) {
            continue;
        }
        tl_track_frame *frame = &track->frame[i];
        tl_status status =
            tl_track_frame_set_time(f->t_camera_s - tied->fit.clock_s,
                                    hypot(f->t_sigma_s, tied->fit.sigma_s), eclipse, frame);
        if (status != TL_OK) {
            return status;
        }
        if (frame->has_true) {
            set_turn(obs, &tied->turn, frame);
        }
        if (frame->has_true && obs != NULL) {
            frame->residual_sr = f->separation_sr - frame->sky.separation_sr;
            if (frame->outlier) { /* circles or time are wrong, and it may be the time */
                frame->true_sigma_s = hypot(frame->true_sigma_s, time_off(f, tied, eclipse));
            }
        }
    }
    return TL_OK;
}

/* Against the free path where there is nothing better. */
static void path_residuals(const tl_track_series *series, const tl_track_path *path,
                           tl_track *track) {
    for (size_t i = 0; i < series->obs_count; i++) {
        const tl_track_obs *obs = &series->obs[i];
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

tl_status tl_track_frames(const tl_track_series *series, const tl_track_eclipse *eclipse,
                          const tl_track_tied *tied, const tl_track_path *path, tl_track *track) {
    tl_status status = TL_OK;
    for (size_t i = 0; i < series->frame_count; i++) { /* unless taken up into the series */
        track->frame[i].outlier = series->frame[i].timed && series->frame[i].measured;
    }
    for (size_t i = 0; i < series->obs_count; i++) {
        track->frame[series->obs[i].index].outlier = series->obs[i].dropped;
    }
    if (tied->solved) {
        status = time_frames(series, eclipse, tied, track);
    } else if (path != NULL) {
        path_residuals(series, path, track);
    }
    if (status == TL_OK && eclipse != NULL) {
        status = tl_track_untimed(series, eclipse, track);
    }
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        double ratio = frame_ratio(f, &track->frame[i], track);
        if (f->measured && ratio > 0.0) {
            track->frame[i].magnitude = tl_magnitude(f->separation_sr, ratio);
            track->frame[i].obscuration = tl_obscuration(f->separation_sr, ratio);
        }
    }
    return status;
}
