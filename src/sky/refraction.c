/*
 * Atmospheric refraction: G. G. Bennett, Journal of Navigation 35, 255 (1982),
 * formula and improvement as in J. Meeus, Astronomical Algorithms, 2nd ed.,
 * chapter 16, with the factor for pressure and temperature given there.
 *
 * Against an integration through a standard atmosphere the lift is right to 1
 * arcsec and the loss of the Sun's vertical diameter to 0.2 arcsec from 5 degrees
 * up; at 1 degree to 7 and 4 arcsec. The real air differs by far more down there.
 */
#include "sky/sky_internal.h"

#include <math.h>

/*
 * No ray from further down gets through to a sea-level horizon, and the formula
 * runs towards a pole at -4.4 deg: the lift is held.
 */
static const double lowest_altitude_deg = -1.0;

/* In arcmin, for the altitude as seen, 1010 hPa and 10 C. */
static double lift_of_seen(double seen_deg) {
    double plain = 1.0 / tan((seen_deg + 7.31 / (seen_deg + 4.4)) * TL_DEG);
    double better = plain - 0.06 * sin((14.7 * plain + 13.0) * TL_DEG);
    return fmax(better, 0.0); /* the improvement overshoots in the zenith by 0.9 arcsec */
}

double tl_sky_refraction(double altitude_rad, const tl_sky_options *options) {
    enum { MAX_STEPS = 30 };
    const double settled_arcmin = 1e-6;
    double h = fmax(altitude_rad / TL_DEG, lowest_altitude_deg);
    double air = options->pressure_hpa / 1010.0 * 283.0 / (273.0 + options->temperature_c);
    double lift = 0.0, change = 1.0;
    /* Each step takes the error down by a factor of 5 on the horizon, 50 at 5 degrees. */
    for (int i = 0; i < MAX_STEPS && change > settled_arcmin; i++) {
        double next = air * lift_of_seen(h + lift / 60.0);
        change = fabs(next - lift);
        lift = next;
    }
    return lift / 60.0 * TL_DEG;
}
