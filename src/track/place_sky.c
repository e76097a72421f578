/*
 * place_sky.c - the sky of a frame at any place.
 */
#include "track/place_internal.h"

/* Refracted altitude below which nobody photographs the Sun; the best place may lie a little
 * beyond where it can, so not 0. */
static const double ALTITUDE_MIN_RAD = -1.0 * TL_DEG;

bool tl_place_sky(const tl_place_problem *problem, size_t i, const tl_site *site, double offset_s,
                  tl_sky *sky) {
    double t_utc_s = problem->obs[i].t_s - problem->clock_s - offset_s;
    return tl_sky_table_at_site(problem->table, site, t_utc_s, sky) == TL_OK;
}

bool tl_place_sun_up(const tl_place_problem *problem, const tl_site *site) {
    for (size_t i = 0; i < problem->count; i++) {
        tl_sky sky;
        if (!problem->obs[i].dropped &&
            (!tl_place_sky(problem, i, site, 0.0, &sky) ||
             sky.sun_altitude_rad + sky.refraction_rad < ALTITUDE_MIN_RAD)) {
            return false;
        }
    }
    return true;
}
