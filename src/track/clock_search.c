/*
 * clock_search.c - every clock total at which the series may fall on the eclipse.
 *
 * A scan, not a descent: the cost of each clock total from one with the last frame at first
 * contact to one with the first frame at last contact, whatever zone, day or year that means.
 * Each frame's share of the cost is limited, so a minority of wrong frames or times does not
 * hide the answer.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

/* The Moon moves 0.005 solar radii in a step; STEP_SIGMA_SR covers that, and circles that are
 * worse than they claim (10 arcsec), so that no minimum falls between two steps. */
static const double STEP_S = 10.0, STEP_SIGMA_SR = 0.01;
/* A frame that does not fit at all costs as much as one three sigma off. */
static const double COST_MAX = 9.0;
/* Other minima are kept up to this much above the best (3 sigma for one parameter). */
static const double KEEP_WITHIN = 9.0;
/* The eclipse is not seen with the Sun's centre lower than this (its radius, and a high horizon
 * dip, below the refracted horizon). */
static const double ALTITUDE_MIN_RAD = -1.0 * TL_DEG;

/* Separations on the grid of steps, first to last contact; HUGE_VAL with the Sun down. */
typedef struct grid {
    double from_s, *s;
    size_t count;
} grid;

static tl_status grid_make(const tl_track_eclipse *eclipse, grid *g) {
    double from = eclipse->circumstances.contact[TL_C1].t_utc_s;
    double to = eclipse->circumstances.contact[TL_C4].t_utc_s;
    g->from_s = from;
    g->count = (size_t)ceil((to - from) / STEP_S) + 1;
    g->s = calloc(g->count, sizeof *g->s);
    if (g->s == NULL) {
        return TL_ERR_MEMORY;
    }
    for (size_t i = 0; i < g->count; i++) {
        tl_sky sky;
        tl_status status = tl_sky_table_at(eclipse->table, from + STEP_S * (double)i, &sky);
        bool seen = status == TL_OK && sky.sun_altitude_rad + sky.refraction_rad > ALTITUDE_MIN_RAD;
        g->s[i] = seen ? sky.separation_sr : HUGE_VAL;
    }
    return TL_OK;
}

static double cost_at(const tl_track_obs *obs, size_t count, const grid *g, double clock_s) {
    double cost = 0.0;
    for (size_t i = 0; i < count; i++) {
        double place = (obs[i].t_s - clock_s - g->from_s) / STEP_S, share = COST_MAX;
        if (place >= 0.0 && place < (double)(g->count - 1)) {
            size_t k = (size_t)place;
            double part = place - (double)k;
            double off = obs[i].s - (g->s[k] + part * (g->s[k + 1] - g->s[k]));
            double moved = obs[i].t_sigma_s * fabs(g->s[k + 1] - g->s[k]) / STEP_S;
            double variance =
                obs[i].s_sigma * obs[i].s_sigma + STEP_SIGMA_SR * STEP_SIGMA_SR + moved * moved;
            share = off * off / variance;
            share = share < COST_MAX ? share : COST_MAX; /* also where the Sun is down */
        }
        cost += share;
    }
    return cost;
}

/* Put a minimum into the short list, best first; the worst falls off the end. */
static void keep(tl_track_start list[TL_TRACK_CANDIDATES], size_t *found, tl_track_start one) {
    size_t place = *found;
    while (place > 0 && list[place - 1].cost > one.cost) {
        place--;
    }
    if (place == TL_TRACK_CANDIDATES) {
        return;
    }
    size_t last = *found < TL_TRACK_CANDIDATES ? *found : TL_TRACK_CANDIDATES - 1;
    for (size_t i = last; i > place; i--) {
        list[i] = list[i - 1];
    }
    list[place] = one;
    *found = last + 1;
}

tl_status tl_track_clock_search(const tl_track_obs *obs, size_t count,
                                const tl_track_eclipse *eclipse,
                                tl_track_start start[TL_TRACK_CANDIDATES], size_t *found) {
    grid g;
    tl_status status = grid_make(eclipse, &g);
    if (status != TL_OK) {
        return status;
    }
    double first = HUGE_VAL, last = -HUGE_VAL;
    for (size_t i = 0; i < count; i++) {
        first = fmin(first, obs[i].t_s);
        last = fmax(last, obs[i].t_s);
    }
    double from = first - (g.from_s + STEP_S * (double)(g.count - 1)), to = last - g.from_s;
    tl_track_start list[TL_TRACK_CANDIDATES];
    size_t listed = 0;
    double nothing = COST_MAX * (double)count, before = nothing;
    double here = cost_at(obs, count, &g, from);
    for (double clock = from; clock <= to + STEP_S; clock += STEP_S) {
        double after = cost_at(obs, count, &g, clock + STEP_S);
        if (here <= before && here <= after && here < nothing) {
            keep(list, &listed, (tl_track_start){clock, here});
        }
        before = here;
        here = after;
    }
    free(g.s);
    *found = 0;
    while (*found < listed && list[*found].cost <= list[0].cost + KEEP_WITHIN) {
        start[*found] = list[*found];
        (*found)++;
    }
    return TL_OK;
}
