/* The nearest other day with an eclipse to be seen: new moons outwards in time. */
#include "sky/sky_internal.h"

#include <math.h>

static const double furthest_s = 20.0 * 365.25 * TL_DAY_S;

static double day_of(double t_utc_s) {
    return floor(t_utc_s / TL_DAY_S) * TL_DAY_S;
}

tl_status tl_sky_nearest_eclipse(const tl_site *site, double day_utc_s,
                                 const tl_sky_options *options, double *found_day_utc_s) {
    double tt_s = 0.0;
    if (!tl_sky_site_valid(site) || tl_sky_tt(day_utc_s, &tt_s) != TL_OK)
        return TL_ERR_RANGE;
    double asked_s = day_of(day_utc_s), best_s = furthest_s, best_day_s = 0.0;
    long middle = tl_sky_lunation(day_utc_s);
    double month_s = tl_sky_new_moon(middle + 1) - tl_sky_new_moon(middle);
    /* One and a half months further out nothing nearer than the best so far can follow. */
    for (long ring = 0; ((double)ring - 1.5) * month_s < best_s; ring++)
        for (int side = 0; side < (ring == 0 ? 1 : 2); side++) {
            tl_circumstances eclipse;
            long lunation = side == 0 ? middle - ring : middle + ring;
            tl_status status = tl_sky_circumstances_of(site, lunation, options, true, &eclipse);
            if (status == TL_ERR_NO_ECLIPSE || status == TL_ERR_RANGE)
                continue;
            if (status != TL_OK)
                return status;
            double day_s = day_of(eclipse.contact[TL_MAX].t_utc_s);
            double away_s = fabs(day_s - asked_s);
            if (day_s != asked_s && away_s < best_s) {
                best_s = away_s;
                best_day_s = day_s;
            }
        }
    if (best_s >= furthest_s)
        return TL_ERR_NO_ECLIPSE;
    *found_day_utc_s = best_day_s;
    return TL_OK;
}
