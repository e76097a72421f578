/* Sun and Moon at one instant. */
#include "sky/sky_internal.h"

/* `site` NULL: the Earth's centre. */
static tl_status at(const tl_site *site, double t_utc_s, const tl_sky_options *options,
                    tl_sky *sky) {
    const tl_sky_options fallback = tl_sky_options_default();
    if (options == NULL)
        options = &fallback;
    double tt_s = 0.0;
    tl_status status = tl_sky_tt(t_utc_s, &tt_s);
    if (status != TL_OK)
        return status;
    const double deltat_s = options->deltat_given ? options->deltat_s : tl_sky_deltat(tt_s);
    tl_sky_geocentric state;
    tl_sky_geocentric_at(tt_s, &state);
    tl_sky_places places;
    if (site != NULL)
        tl_sky_topocentric(site, tt_s, deltat_s, &state, &places);
    else
        tl_sky_from_centre(tt_s, deltat_s, &state, &places);
    tl_sky_derive(site, t_utc_s, tt_s, options, &places, sky);
    return TL_OK;
}

tl_status tl_sky_at(const tl_site *site, double t_utc_s, const tl_sky_options *options,
                    tl_sky *sky) {
    return tl_sky_site_valid(site) ? at(site, t_utc_s, options, sky) : TL_ERR_RANGE;
}

tl_status tl_sky_at_geocentre(double t_utc_s, const tl_sky_options *options, tl_sky *sky) {
    return at(NULL, t_utc_s, options, sky);
}
