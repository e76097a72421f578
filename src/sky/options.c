/* Defaults, names and the check of the place. */
#include "sky/sky_internal.h"

#include <math.h>

const char *const tl_contact_name[TL_CONTACTS] = {"C1", "C2", "max", "C3", "C4"};
const char *const tl_eclipse_kind_name[4] = {"none", "partial", "annular", "total"};

tl_sky_options tl_sky_options_default(void) {
    tl_sky_options options = {
        .sun_radius_arcsec = 959.63, /* A. Auwers, Astron. Nachr. 128, 361 (1891) */
        .moon_k = 0.2725076,         /* IAU General Assembly 1982: mean limb */
        .deltat_given = false,
        .deltat_s = 0.0,
        .pressure_hpa = 1013.25, /* ICAO standard atmosphere, sea level */
        .temperature_c = 10.0,   /* the refraction formula's reference */
    };
    return options;
}

bool tl_sky_site_valid(const tl_site *site) {
    return site->source != TL_SITE_NONE && fabs(site->lat_rad) <= TL_PI / 2.0 + 1e-12 &&
           fabs(site->lon_rad) <= TL_PI + 1e-12 && site->height_m >= -500.0 &&
           site->height_m <= 9000.0;
}
