/*
 * From the geocentric state to the topocentric directions of Sun and Moon: both
 * with full light time, in barycentric vectors, and with the same aberration, that
 * of the observer's own velocity (Earth's motion and rotation).
 *
 * Bending of light by the Sun is left out: below 0.0001 arcsec for the Moon in
 * front of it.
 */
#include "sky/sky_internal.h"

#include <erfa.h>
#include <math.h>

static const double light_au_day = TL_SKY_LIGHT_KM_S * TL_DAY_S / TL_SKY_AU_KM;

void tl_sky_observer_at(const tl_site *site, double sidereal_rad, const double icrs_to_date[3][3],
                        tl_sky_observer *observer) {
    double of_date[2][3]; /* m, m/s */
    eraPvtob(site->lon_rad, site->lat_rad, site->height_m, 0.0, 0.0, 0.0, sidereal_rad, of_date);
    double(*matrix)[3] = (double(*)[3])icrs_to_date; /* ERFA reads it only */
    eraTrxp(matrix, of_date[0], observer->au);
    eraTrxp(matrix, of_date[1], observer->au_day);
    for (int i = 0; i < 3; i++) {
        observer->au[i] *= 1e-3 / TL_SKY_AU_KM;
        observer->au_day[i] *= 1e-3 * TL_DAY_S / TL_SKY_AU_KM;
    }
}

/*
 * Vector from the observer now to the Moon when the light left it. Moon and Earth
 * are carried back along their velocities: their accelerations count 2 and 5 mm
 * over 1.3 s.
 */
static void moon_with_light_time(const tl_sky_geocentric *now, const tl_sky_observer *observer,
                                 double vector[3]) {
    double light_s = 0.0;
    for (int pass = 0; pass < 3; pass++) {
        for (int i = 0; i < 3; i++)
            vector[i] = (now->moon_km[i] - now->moon_km_s[i] * light_s) / TL_SKY_AU_KM -
                        observer->au[i] - now->earth_au_day[i] * light_s / TL_DAY_S;
        light_s = eraPm(vector) / light_au_day * TL_DAY_S;
    }
}

/* The same for the Sun, carried back along its own barycentric velocity. */
static void sun_with_light_time(const tl_sky_geocentric *now, const tl_sky_observer *observer,
                                double vector[3]) {
    double light_day = 0.0;
    for (int pass = 0; pass < 2; pass++) {
        for (int i = 0; i < 3; i++)
            vector[i] = -now->earth_au[i] - observer->au[i] - now->sun_au_day[i] * light_day;
        light_day = eraPm(vector) / light_au_day;
    }
}

/* Unit vector of date of a natural direction, aberrated; returns the length. */
static double apparent(const tl_sky_geocentric *now, const tl_sky_observer *observer,
                       double vector[3], double unit_of_date[3]) {
    double natural[3], velocity[3], proper[3], length = 0.0, earth[3];
    eraPn(vector, &length, natural);
    for (int i = 0; i < 3; i++) {
        velocity[i] = (now->earth_au_day[i] + observer->au_day[i]) / light_au_day;
        earth[i] = now->earth_au[i];
    }
    double lorentz_reciprocal = sqrt(1.0 - eraPdp(velocity, velocity));
    eraAb(natural, velocity, eraPm(earth), lorentz_reciprocal, proper);
    eraRxp((double(*)[3])now->icrs_to_date, proper, unit_of_date);
    return length;
}

void tl_sky_apparent(const tl_sky_geocentric *now, const tl_sky_observer *observer,
                     tl_sky_places *places) {
    double sun[3], moon[3];
    sun_with_light_time(now, observer, sun);
    moon_with_light_time(now, observer, moon);
    places->sun_au = apparent(now, observer, sun, places->sun);
    places->moon_km = apparent(now, observer, moon, places->moon) * TL_SKY_AU_KM;
}

/* All of the places but the observer. */
static void turn(double tt_s, double deltat_s, const tl_sky_geocentric *now,
                 tl_sky_places *places) {
    double rotation = eraEra00(TL_SKY_JD_1970, (tt_s - deltat_s) / TL_DAY_S);
    places->sidereal_rad = rotation - now->origins_rad;
    places->deltat_s = deltat_s;
    double pole[3], node[3];
    tl_sky_sun_axes(pole, node);
    eraRxp((double(*)[3])now->icrs_to_date, pole, places->sun_pole);
    eraRxp((double(*)[3])now->icrs_to_date, node, places->sun_node);
}

void tl_sky_topocentric(const tl_site *site, double tt_s, double deltat_s,
                        const tl_sky_geocentric *now, tl_sky_places *places) {
    turn(tt_s, deltat_s, now, places);
    tl_sky_observer observer;
    tl_sky_observer_at(site, places->sidereal_rad, now->icrs_to_date, &observer);
    tl_sky_apparent(now, &observer, places);
}

void tl_sky_from_centre(double tt_s, double deltat_s, const tl_sky_geocentric *now,
                        tl_sky_places *places) {
    static const tl_sky_observer centre = {{0.0}, {0.0}};
    turn(tt_s, deltat_s, now, places);
    tl_sky_apparent(now, &centre, places);
}
