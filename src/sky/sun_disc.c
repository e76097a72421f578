/*
 * How the Sun's globe is turned: the IAU elements, B. A. Archinal et al.,
 * Celestial Mechanics 109, 101 (2011), table 1 (pole 286.13, 63.87 deg; prime
 * meridian W = 84.176 + 14.1844 d), the meridian taken when the light left.
 */
#include "sky/sky_internal.h"

#include <math.h>

static const double pole_ra = 286.13 * TL_DEG, pole_dec = 63.87 * TL_DEG;
static const double meridian_j2000_deg = 84.176, meridian_rate_deg = 14.1844; /* a day */
static const double j2000_day = 2451545.0 - TL_SKY_JD_1970;

void tl_sky_sun_axes(double pole[3], double node[3]) {
    pole[0] = cos(pole_dec) * cos(pole_ra);
    pole[1] = cos(pole_dec) * sin(pole_ra);
    pole[2] = sin(pole_dec);
    node[0] = -sin(pole_ra);
    node[1] = cos(pole_ra);
    node[2] = 0.0;
}

void tl_sky_sun_disc(const double sun[3], const double pole[3], const double node[3], double tt_s,
                     double distance_au, double *p, double *b0, double *l0) {
    const double quarter[3] = {pole[1] * node[2] - pole[2] * node[1],
                               pole[2] * node[0] - pole[0] * node[2],
                               pole[0] * node[1] - pole[1] * node[0]};
    double east[3], north[3];
    tl_sky_axes(sun, east, north);
    *p = atan2(tl_sky_dot(pole, east), tl_sky_dot(pole, north));
    *b0 = asin(-tl_sky_dot(pole, sun));
    double light_day = distance_au * TL_SKY_AU_KM / TL_SKY_LIGHT_KM_S / TL_DAY_S;
    double days = tt_s / TL_DAY_S - j2000_day - light_day;
    double meridian_deg = fmod(meridian_j2000_deg + meridian_rate_deg * days, 360.0);
    double towards_earth = atan2(-tl_sky_dot(quarter, sun), -tl_sky_dot(node, sun));
    *l0 = tl_angle_positive(towards_earth - meridian_deg * TL_DEG);
}
