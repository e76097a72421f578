/*
 * Which new moons can bring an eclipse, and when the topocentric Moon then comes
 * closest to the Sun.
 */
#include "sky/sky_internal.h"

#include <math.h>

/* J. Meeus, Astronomical Algorithms, 2nd ed., formulas 49.1 and 49.2. */
static const double first_new_moon_jde = 2451550.09766;
static const double month_day = 29.530588861;

long tl_sky_lunation(double t_utc_s) {
    double jde = TL_SKY_JD_1970 + t_utc_s / TL_DAY_S; /* Delta-T does not count here */
    return lround((jde - first_new_moon_jde) / month_day);
}

double tl_sky_mean_new_moon(long lunation) {
    double jde = first_new_moon_jde + month_day * (double)lunation;
    return (jde - TL_SKY_JD_1970) * TL_DAY_S;
}

/* Meeus, chapter 54: beyond |sin F| = 0.36 no place on Earth sees an eclipse. */
bool tl_sky_near_node(long lunation) {
    double k = (double)lunation, t = k / 1236.85;
    double argument_deg = 160.7108 + 390.67050284 * k - 0.0016118 * t * t; /* 49.6 */
    return fabs(sin(argument_deg * TL_DEG)) <= 0.36;
}

/*
 * Newton's steps to the smallest separation: at each, the Moon is taken to run on
 * along its present line. From the mean new moon, up to 15 h off, five settle it
 * to a second or two.
 */
tl_status tl_sky_closest_approach(const tl_site *site, long lunation, const tl_sky_options *options,
                                  tl_sky *closest) {
    enum { STEPS = 5 };
    const double half_step_s = 300.0;
    double t = tl_sky_mean_new_moon(lunation);
    for (int i = 0; i < STEPS; i++) {
        tl_sky before, after;
        tl_status status = tl_sky_at(site, t - half_step_s, options, &before);
        if (status == TL_OK)
            status = tl_sky_at(site, t + half_step_s, options, &after);
        if (status != TL_OK)
            return status;
        double east = (before.east_sr + after.east_sr) / 2.0;
        double north = (before.north_sr + after.north_sr) / 2.0;
        double east_rate = (after.east_sr - before.east_sr) / (2.0 * half_step_s);
        double north_rate = (after.north_sr - before.north_sr) / (2.0 * half_step_s);
        t -= (east * east_rate + north * north_rate) /
             (east_rate * east_rate + north_rate * north_rate);
    }
    return tl_sky_at(site, t, options, closest);
}

bool tl_sky_discs_may_touch(const tl_sky *closest) {
    /* Ten seconds off the true minimum the separation is 0.02 arcsec too large at most. */
    static const double margin = 1.0 * TL_ARCSEC;
    return closest->separation_rad < closest->sun_radius_rad + closest->moon_radius_rad + margin;
}
