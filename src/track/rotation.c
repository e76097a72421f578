/*
 * rotation.c - how far the pictures of a camera turned against the sky over the series.
 */
#include <math.h>

#include "track/track_internal.h"

/* From the first to the last frame used, in the order of time; by the rule, in steps small enough
 * not to lose a turn. */
static double turned(const tl_track_slice *slice, const tl_track_obs *obs,
                     const tl_track_eclipse *eclipse, const tl_track_tied *tied) {
    enum { STEPS = 64 };
    double first = HUGE_VAL, last = -HUGE_VAL, sum = 0.0, before = 0.0;
    bool any = false;
    for (size_t i = 0; i < slice->obs_count; i++) {
        double t = tl_track_clock_utc(&tied->fit, obs[i].t_s);
        first = obs[i].dropped ? first : fmin(first, t);
        last = obs[i].dropped ? last : fmax(last, t);
    }
    for (int i = 0; i <= STEPS; i++) {
        tl_sky sky;
        double t = first + (last - first) * i / STEPS;
        if (tl_sky_table_at(eclipse->table, t, &sky) == TL_OK) {
            double up = tl_track_turn_rule(&tied->turn, &sky);
            sum += any ? tl_angle_signed(up - before) : 0.0;
            before = up;
            any = true;
        }
    }
    return sum;
}

void tl_track_rotation(const tl_track_series *series, const tl_track_eclipse *eclipse,
                       const tl_track_tied *tied, tl_track *track) {
    for (size_t k = 0; k < series->camera_count; k++) {
        tl_track_camera *camera = &track->camera[k];
        const tl_track_slice *slice = &series->camera[k];
        camera->has_rotation = tied[k].solved && tl_track_turn_shared(&tied[k].turn);
        if (camera->has_rotation) {
            camera->rotation_rad = turned(slice, series->obs + slice->first_obs, eclipse, &tied[k]);
        }
    }
}
