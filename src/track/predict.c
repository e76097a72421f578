/*
 * predict.c - what the almanac says of the same things.
 */
#include <math.h>

#include "track/track_internal.h"

/* Half the span of the second difference: long enough for the rounding, short enough for the
 * fourth power of the path (0.03 sr^2/h^4 changes the result by 1e-4 of it). */
static const double SPEED_STEP_S = 300.0;

static bool square_at(const tl_track_eclipse *eclipse, double t_utc_s, double *s2) {
    tl_sky sky;
    if (tl_sky_table_at(eclipse->table, t_utc_s, &sky) != TL_OK) {
        return false;
    }
    *s2 = sky.separation_sr * sky.separation_sr;
    return true;
}

void tl_track_predict(const tl_track_eclipse *eclipse, tl_track *track) {
    const tl_circumstances *c = &eclipse->circumstances;
    track->has_circumstances = true;
    track->circumstances = *c;
    for (size_t i = 0; i < TL_CONTACTS; i++) {
        track->contact[i].predicted = c->contact[i].occurs;
        track->contact[i].predicted_utc_s = c->contact[i].t_utc_s;
    }
    double at = c->contact[TL_MAX].t_utc_s, before, middle, after;
    if (square_at(eclipse, at - SPEED_STEP_S, &before) && square_at(eclipse, at, &middle) &&
        square_at(eclipse, at + SPEED_STEP_S, &after)) {
        double step_h = SPEED_STEP_S / TL_TRACK_HOUR_S;
        track->smallest_predicted_sr = sqrt(middle);
        track->speed_predicted_sr_per_h =
            sqrt(fmax(0.0, (after - 2.0 * middle + before) / (2.0 * step_h * step_h)));
    }
}
