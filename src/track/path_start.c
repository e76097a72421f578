/*
 * path_start.c - where the fit of the free path begins.
 *
 * A scan over the time of the smallest separation and the speed. For each pair the smallest
 * separation follows as a median, and the sum of absolute residuals judges: a third of the
 * frames may be wrong without harm.
 */
#include <math.h>

#include "track/track_internal.h"

/* Speeds of the Moon past the Sun as seen from the ground, solar radii an hour (the population
 * named in free_path.c: 0.80 to 2.59). */
static const double SPEED_SLOW = 0.8, SPEED_FAST = 2.6, SPEED_STEP = 0.2;
/* A series may lie wholly on one side of the smallest separation; no eclipse reaches further. */
static const double BEYOND_H = 2.3, TIME_STEP_H = 0.05;

/* Sum of |residual of s| with the best c0 for this time and speed; `scratch` holds count. */
static double misfit(const tl_track_obs *obs, size_t count, double zero_s, double t0, double v,
                     double *scratch, double *c0) {
    size_t n = 0;
    for (size_t i = 0; i < count; i++) {
        double tau = (obs[i].t_s - zero_s) / TL_TRACK_HOUR_S - t0;
        if (!obs[i].dropped) {
            scratch[n++] = obs[i].s * obs[i].s - v * v * tau * tau;
        }
    }
    *c0 = fmax(0.0, tl_track_median(scratch, n));
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        double tau = (obs[i].t_s - zero_s) / TL_TRACK_HOUR_S - t0;
        sum += obs[i].dropped ? 0.0 : fabs(obs[i].s - sqrt(*c0 + v * v * tau * tau));
    }
    return sum;
}

void tl_track_path_start(const tl_track_obs *obs, size_t count, double zero_s, double *scratch,
                         double p[TL_PATH_PARAMS]) {
    double first = HUGE_VAL, last = -HUGE_VAL, best = HUGE_VAL;
    for (size_t i = 0; i < count; i++) {
        double t = (obs[i].t_s - zero_s) / TL_TRACK_HOUR_S;
        first = obs[i].dropped ? first : fmin(first, t);
        last = obs[i].dropped ? last : fmax(last, t);
    }
    for (double t0 = first - BEYOND_H; t0 < last + BEYOND_H; t0 += TIME_STEP_H) {
        for (double v = SPEED_SLOW; v <= SPEED_FAST; v += SPEED_STEP) {
            double c0, cost = misfit(obs, count, zero_s, t0, v, scratch, &c0);
            if (cost < best) {
                best = cost;
                p[TL_PATH_T0] = t0;
                p[TL_PATH_C0] = c0;
                p[TL_PATH_V] = v;
            }
        }
    }
}
