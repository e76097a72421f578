/*
 * What does not depend on the observer: the Moon, the Earth on its orbit and the
 * Earth's orientation. All of it changes slowly, so a table of it may have wide steps.
 *
 * Earth orientation: IAU 2006 precession, IAU 2000A nutation (ERFA). Polar
 * motion is left out: 0.6 arcsec at most, 20 m on the ground, 0.01 arcsec at the
 * Moon.
 */
#include "sky/sky_internal.h"

#include <erfa.h>

/* The equation of the origins: sidereal time is the Earth rotation angle less this. */
static double origins(double tt_day, double icrs_to_date[3][3]) {
    double x = 0.0, y = 0.0;
    eraBpn2xy(icrs_to_date, &x, &y);
    return eraEors(icrs_to_date, eraS06(TL_SKY_JD_1970, tt_day, x, y));
}

void tl_sky_geocentric_at(double tt_s, tl_sky_geocentric *now) {
    double day = tt_s / TL_DAY_S, heliocentric[2][3], barycentric[2][3];
    tl_sky_moon_geocentric(tt_s, now->moon_km, now->moon_km_s);
    eraEpv00(TL_SKY_JD_1970, day, heliocentric, barycentric);
    for (int i = 0; i < 3; i++) {
        now->earth_au[i] = heliocentric[0][i];
        now->earth_au_day[i] = barycentric[1][i];
        now->sun_au_day[i] = barycentric[1][i] - heliocentric[1][i];
    }
    eraPnm06a(TL_SKY_JD_1970, day, now->icrs_to_date);
    now->origins_rad = origins(day, now->icrs_to_date);
}
