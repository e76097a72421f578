/* The nearest other day with an eclipse to be seen: new moons outwards in time. */
#include "sky/sky_internal.h"

#include <math.h>

static const double furthest_s = 20.0 * 365.25 * TL_DAY_S;
/* While an eclipse lasts the Sun climbs less than this above where it is at maximum. */
static const double deepest_rad = -40.0 * TL_DEG;

static double day_of(double t_utc_s) {
    return floor(t_utc_s / TL_DAY_S) * TL_DAY_S;
}

/* Whether any part of it happens with the Sun up. */
static bool can_be_seen(const tl_circumstances *eclipse) {
    if (eclipse->has_sunrise || eclipse->has_sunset)
        return true;
    return eclipse->contact[TL_C1].sun_up || eclipse->contact[TL_C4].sun_up;
}

/*
 * The day of the eclipse at that new moon, if one can be seen. TL_ERR_NO_ECLIPSE
 * if not, also where the new moon lies outside the years of the tables.
 */
static tl_status eclipse_of_lunation(const tl_site *site, long lunation,
                                     const tl_sky_options *options, double *day_s) {
    if (!tl_sky_near_node(lunation))
        return TL_ERR_NO_ECLIPSE;
    tl_sky closest;
    tl_status status = tl_sky_closest_approach(site, lunation, options, &closest);
    if (status == TL_ERR_RANGE)
        return TL_ERR_NO_ECLIPSE;
    if (status != TL_OK)
        return status;
    if (!tl_sky_discs_may_touch(&closest) || closest.sun_altitude_rad < deepest_rad)
        return TL_ERR_NO_ECLIPSE;
    tl_circumstances eclipse;
    status = tl_sky_circumstances_around(site, closest.t_utc_s, options, &eclipse);
    if (status == TL_ERR_RANGE || (status == TL_OK && !can_be_seen(&eclipse)))
        return TL_ERR_NO_ECLIPSE;
    if (status == TL_OK)
        *day_s = day_of(eclipse.contact[TL_MAX].t_utc_s);
    return status;
}

tl_status tl_sky_nearest_eclipse(const tl_site *site, double day_utc_s,
                                 const tl_sky_options *options, double *found_day_utc_s) {
    double tt_s = 0.0;
    if (!tl_sky_site_valid(site) || tl_sky_tt(day_utc_s, &tt_s) != TL_OK)
        return TL_ERR_RANGE;
    double asked_s = day_of(day_utc_s), best_s = furthest_s, best_day_s = 0.0;
    long middle = tl_sky_lunation(day_utc_s);
    /* A month further out nothing nearer than the best so far can follow. */
    double month_s = tl_sky_mean_new_moon(1) - tl_sky_mean_new_moon(0);
    for (long ring = 0; ((double)ring - 1.5) * month_s < best_s; ring++)
        for (int side = 0; side < (ring == 0 ? 1 : 2); side++) {
            double day_s = 0.0;
            long lunation = side == 0 ? middle - ring : middle + ring;
            tl_status status = eclipse_of_lunation(site, lunation, options, &day_s);
            if (status != TL_OK && status != TL_ERR_NO_ECLIPSE)
                return status;
            double away_s = fabs(day_s - asked_s);
            if (status == TL_OK && day_s != asked_s && away_s < best_s) {
                best_s = away_s;
                best_day_s = day_s;
            }
        }
    if (best_s >= furthest_s)
        return TL_ERR_NO_ECLIPSE;
    *found_day_utc_s = best_day_s;
    return TL_OK;
}
