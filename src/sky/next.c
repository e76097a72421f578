/* The next eclipse to be seen from a place: new moons forwards in time. */
#include "sky/sky_internal.h"

tl_status tl_sky_next_eclipse(const tl_site *site, double t_utc_s, const tl_sky_options *options,
                              tl_circumstances *circumstances) {
    double tt_s = 0.0;
    if (!tl_sky_site_valid(site) || tl_sky_tt(t_utc_s, &tt_s) != TL_OK)
        return TL_ERR_RANGE;
    /* The new moon before may still bring its maximum after the instant. */
    long first = tl_sky_lunation(t_utc_s) - 1;
    for (long lunation = first;
         lunation <= first + 2 || tl_sky_tt(tl_sky_new_moon(lunation), &tt_s) == TL_OK;
         lunation++) {
        tl_circumstances eclipse;
        tl_status status = tl_sky_circumstances_of(site, lunation, options, true, &eclipse);
        if (status == TL_ERR_NO_ECLIPSE || status == TL_ERR_RANGE)
            continue;
        if (status != TL_OK)
            return status;
        if (eclipse.contact[TL_MAX].t_utc_s > t_utc_s) {
            *circumstances = eclipse;
            return TL_OK;
        }
    }
    return TL_ERR_NO_ECLIPSE;
}
