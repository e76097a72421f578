/*
 * frame_turn.c - how each frame was turned, by what is known best: its own Moon, drawn towards the
 * rule of the mount; the rule alone; its sunspots.
 *
 * A sharp Moon tells the turn to some hundredths of a degree, spots to some tenths; but it tells it
 * by the almanac, needs a true time, and nothing where it stands before the middle of the Sun.
 */
#include <math.h>

#include "track/track_internal.h"

/* How well a turn is known, the errors that all frames share included. */
static double whole_sigma(const tl_track_frame *frame) {
    double floor = frame->turn_by == TL_TURN_BY_SPOTS || frame->sky.separation_sr <= 0.0
                       ? 0.0
                       : TL_TRACK_FLOOR_SR / frame->sky.separation_sr;
    return hypot(frame->up_sigma_rad, floor);
}

/* The compass, unless the frame has something better. */
static void by_compass(const tl_track_bearing *bearing, tl_track_frame *frame) {
    frame->has_spots_up = true;
    frame->spots_up_rad = bearing->up_rad;
    frame->spots_up_sigma_rad = bearing->sigma_rad;
    if (!frame->has_turn || bearing->sigma_rad < whole_sigma(frame)) {
        frame->has_turn = true;
        frame->turn_by = TL_TURN_BY_SPOTS;
        frame->up_pa_rad = bearing->up_rad;
        frame->up_sigma_rad = bearing->sigma_rad;
    }
}

/*
 * A frame's own direction, drawn towards the rule by their variances: near maximum, with the
 * discs almost concentric, the rule knows better.
 */
static void by_moon(const tl_track_obs *obs, const tl_track_turn *turn, double pa_sigma_rad,
                    tl_track_frame *frame) {
    bool shared = tl_track_turn_shared(turn);
    bool own = obs != NULL && obs->has_direction;
    if (!own && !shared) {
        return;
    }
    double part = own ? 1.0 : 0.0;
    frame->has_turn = true;
    frame->up_pa_rad = shared ? tl_track_turn_rule(turn, &frame->sky) : 0.0;
    if (own) {
        double sigma2 = obs->direction_sigma_rad * obs->direction_sigma_rad;
        if (shared) {
            double jitter2 = turn->jitter_rad * turn->jitter_rad;
            part = jitter2 / (jitter2 + sigma2);
        }
        frame->up_pa_rad += part * tl_track_turn_residual(obs, &frame->sky, TL_HOLDING_FREE,
                                                          frame->mirrored, frame->up_pa_rad);
        frame->up_sigma_rad = part * hypot(obs->direction_sigma_rad, pa_sigma_rad);
    }
    frame->up_pa_rad = tl_angle_positive(frame->up_pa_rad);
    if (shared) {
        frame->up_sigma_rad =
            hypot(frame->up_sigma_rad, (1.0 - part) * hypot(turn->jitter_rad, turn->up_sigma_rad));
    }
    frame->turn_by = part < 0.5 ? TL_TURN_BY_RULE : TL_TURN_BY_MOON;
}

/* By its own spots, else its camera's. */
static void set_mirror(const tl_track_bearing *bearing, const tl_track_camera *camera,
                       tl_track_frame *frame) {
    bool camera_known = camera != NULL && camera->mirrored != TL_MIRROR_AUTO;
    frame->mirror_known = bearing->known || camera_known;
    frame->mirrored =
        bearing->known ? bearing->mirrored : camera_known && camera->mirrored == TL_MIRROR_YES;
}

void tl_track_frame_turns(const tl_track_series *series, const tl_track_eclipse *eclipse,
                          const tl_track_tied *tied, const tl_track_compasses *compasses,
                          tl_track *track) {
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        const tl_track_bearing *bearing = &compasses->frame[i];
        tl_track_frame *frame = &track->frame[i];
        bool of_camera = f->camera < series->camera_count;
        set_mirror(bearing, of_camera ? &track->camera[f->camera] : NULL, frame);
        /* An undated frame has a direction to tell only where its spots vouch for its side. */
        bool undated = !f->timed && f->measured && bearing->known;
        tl_track_obs obs = undated ? tl_track_obs_of(f, 0.0) : (tl_track_obs){0};
        if (frame->has_true && (f->timed || undated)) {
            by_moon(undated ? &obs : series->obs_of[i], &tied[f->camera].turn,
                    tl_track_pa_sigma(eclipse, frame->true_utc_s, frame->true_sigma_s), frame);
        }
        if (bearing->known) {
            by_compass(bearing, frame);
        }
    }
}
