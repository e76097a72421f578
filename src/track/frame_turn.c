/*
 * frame_turn.c - how each frame was turned, by what is known best: its sunspots; its own Moon,
 * drawn towards the rule of the mount; the rule alone.
 */
#include <math.h>

#include "track/track_internal.h"

static void by_compass(const tl_track_bearing *bearing, tl_track_frame *frame) {
    frame->has_turn = true;
    frame->turn_by = TL_TURN_BY_SPOTS;
    frame->up_pa_rad = bearing->up_rad;
    frame->up_sigma_rad = bearing->sigma_rad;
    frame->mirror_known = true;
    frame->mirrored = bearing->mirrored;
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
        frame->up_pa_rad +=
            part * tl_track_turn_residual(obs, &frame->sky, TL_HOLDING_FREE,
                                          turn->mirrored == TL_MIRROR_YES, frame->up_pa_rad);
        frame->up_sigma_rad = part * hypot(obs->direction_sigma_rad, pa_sigma_rad);
    }
    frame->up_pa_rad = tl_angle_positive(frame->up_pa_rad);
    if (shared) {
        frame->up_sigma_rad =
            hypot(frame->up_sigma_rad, (1.0 - part) * hypot(turn->jitter_rad, turn->up_sigma_rad));
    }
    frame->turn_by = part < 0.5 ? TL_TURN_BY_RULE : TL_TURN_BY_MOON;
    frame->mirror_known = turn->mirrored != TL_MIRROR_AUTO;
    frame->mirrored = turn->mirrored == TL_MIRROR_YES;
}

void tl_track_frame_turns(const tl_track_series *series, const tl_track_eclipse *eclipse,
                          const tl_track_tied *tied, const tl_track_compasses *compasses,
                          tl_track *track) {
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        tl_track_frame *frame = &track->frame[i];
        if (compasses->frame[i].known) {
            by_compass(&compasses->frame[i], frame);
        } else if (f->timed && frame->has_true) {
            by_moon(series->obs_of[i], &tied[f->camera].turn,
                    tl_track_pa_sigma(eclipse, frame->true_utc_s, frame->true_sigma_s), frame);
        }
    }
}
