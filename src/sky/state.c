/*
 * From an instant to the topocentric directions of Sun and Moon: both with full
 * light time, in barycentric vectors, and with the same aberration, that of the
 * observer's own velocity (Earth's motion and rotation).
 *
 * Earth orientation: IAU 2006 precession, IAU 2000A nutation (ERFA). Polar
 * motion is left out: 0.6 arcsec at most, 20 m on the ground, 0.01 arcsec at the
 * Moon. Bending of light by the Sun is left out: below 0.0001 arcsec for the
 * Moon in front of it.
 */
#include "sky/sky_internal.h"

#include <erfa.h>
#include <math.h>

static const double light_au_day = TL_SKY_LIGHT_KM_S * TL_DAY_S / TL_SKY_AU_KM;

/* Earth and observer at the instant; ICRS axes unless named, au and au/day. */
typedef struct situation {
    double tt_s;
    double icrs_to_date[3][3];
    double earth_heliocentric[2][3];
    double earth_barycentric[2][3];
    double observer[2][3]; /* from the geocentre */
} situation;

static void orient_earth(double tt_s, double deltat_s, situation *now, double state[TL_SKY_STATE]) {
    double day = tt_s / TL_DAY_S;
    eraPnm06a(TL_SKY_JD_1970, day, now->icrs_to_date);
    double ut1_day = (tt_s - deltat_s) / TL_DAY_S;
    state[TL_SKY_SIDEREAL] =
        eraGst06(TL_SKY_JD_1970, ut1_day, TL_SKY_JD_1970, day, now->icrs_to_date);
    state[TL_SKY_DELTAT] = deltat_s;
    double pole[3], node[3];
    tl_sky_sun_axes(pole, node);
    eraRxp(now->icrs_to_date, pole, &state[TL_SKY_POLE_X]);
    eraRxp(now->icrs_to_date, node, &state[TL_SKY_NODE_X]);
}

static void place_observer(const tl_site *site, double sidereal, situation *now) {
    double of_date[2][3]; /* m, m/s */
    eraPvtob(site->lon_rad, site->lat_rad, site->height_m, 0.0, 0.0, 0.0, sidereal, of_date);
    eraTrxp(now->icrs_to_date, of_date[0], now->observer[0]);
    eraTrxp(now->icrs_to_date, of_date[1], now->observer[1]);
    for (int i = 0; i < 3; i++) {
        now->observer[0][i] *= 1e-3 / TL_SKY_AU_KM;
        now->observer[1][i] *= 1e-3 * TL_DAY_S / TL_SKY_AU_KM;
    }
}

/*
 * Vector from the observer now to the Moon when the light left it. Earth is
 * carried back along its velocity (its acceleration counts 5 mm over 1.3 s).
 */
static void moon_with_light_time(const situation *now, double vector[3]) {
    double light_s = 0.0;
    for (int pass = 0; pass < 2; pass++) {
        double moon_km[3];
        tl_sky_moon_geocentric(now->tt_s - light_s, moon_km);
        for (int i = 0; i < 3; i++)
            vector[i] = moon_km[i] / TL_SKY_AU_KM - now->observer[0][i] -
                        now->earth_barycentric[1][i] * light_s / TL_DAY_S;
        light_s = eraPm(vector) / light_au_day * TL_DAY_S;
    }
}

/* The same for the Sun, carried back along its own barycentric velocity. */
static void sun_with_light_time(const situation *now, double vector[3]) {
    double light_day = 0.0;
    for (int pass = 0; pass < 2; pass++) {
        for (int i = 0; i < 3; i++) {
            double sun_velocity = now->earth_barycentric[1][i] - now->earth_heliocentric[1][i];
            vector[i] =
                -now->earth_heliocentric[0][i] - now->observer[0][i] - sun_velocity * light_day;
        }
        light_day = eraPm(vector) / light_au_day;
    }
}

/* Unit vector of date of a natural direction, aberrated; returns the length. */
static double apparent(const situation *now, const double vector[3], double unit_of_date[3]) {
    double natural[3], length = 0.0;
    double copy[3] = {vector[0], vector[1], vector[2]};
    eraPn(copy, &length, natural);
    double velocity[3];
    for (int i = 0; i < 3; i++)
        velocity[i] = (now->earth_barycentric[1][i] + now->observer[1][i]) / light_au_day;
    double lorentz_reciprocal = sqrt(1.0 - eraPdp(velocity, velocity));
    double sun_distance = eraPm((double *)now->earth_heliocentric[0]);
    double proper[3];
    eraAb(natural, velocity, sun_distance, lorentz_reciprocal, proper);
    eraRxp((double(*)[3])now->icrs_to_date, proper, unit_of_date);
    return length;
}

void tl_sky_state_at(const tl_site *site, double tt_s, const tl_sky_options *options,
                     double state[TL_SKY_STATE]) {
    situation now = {.tt_s = tt_s};
    orient_earth(tt_s, options->deltat_given ? options->deltat_s : tl_sky_deltat(tt_s), &now,
                 state);
    place_observer(site, state[TL_SKY_SIDEREAL], &now);
    eraEpv00(TL_SKY_JD_1970, tt_s / TL_DAY_S, now.earth_heliocentric, now.earth_barycentric);
    double sun[3], moon[3];
    sun_with_light_time(&now, sun);
    moon_with_light_time(&now, moon);
    state[TL_SKY_SUN_AU] = apparent(&now, sun, &state[TL_SKY_SUN_X]);
    state[TL_SKY_MOON_KM] = apparent(&now, moon, &state[TL_SKY_MOON_X]) * TL_SKY_AU_KM;
}
