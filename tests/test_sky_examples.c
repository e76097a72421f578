/*
 * test_sky_examples.c - worked examples from books, besides those of test_sky.c.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <erfa.h>

#include "check.h"
#include "sky/sky_internal.h"

static double hours_rad(double hour, double minute, double second) {
    return (hour + minute / 60.0 + second / 3600.0) * 15.0 * TL_DEG;
}

static double degrees_rad(int sign, double degree, double minute, double second) {
    return sign * (degree + minute / 60.0 + second / 3600.0) * TL_DEG;
}

/* Meeus, Astronomical Algorithms, 2nd ed., example 25.a: the Sun by his short series. */
static void sun_of_meeus_25a(void **state) {
    (void)state;
    static const tl_sky_observer geocentre = {{0.0}, {0.0}};
    const double tolerance_rad = 0.01 * TL_DEG; /* the accuracy that he states */
    /* His full theory, in 25.b, gives 0.99760775. */
    const double tolerance_au = 6e-5;
    const double tt_s = (2448908.5 - TL_SKY_JD_1970) * TL_DAY_S;
    tl_sky_geocentric now;
    tl_sky_places places;
    tl_sky_geocentric_at(tt_s, &now);
    tl_sky_apparent(&now, &geocentre, &places);
    double ra = 0.0, dec = 0.0, lon = 0.0, lat = 0.0;
    eraC2s(places.sun, &ra, &dec);
    check_near(eraAnp(ra), hours_rad(13, 13, 31.4), tolerance_rad);
    check_near(dec, degrees_rad(-1, 7, 47, 6), tolerance_rad);
    check_near(places.sun_au, 0.99766, tolerance_au);
    /* His true longitude is geometric, from the mean equinox of date. */
    double matrix[3][3], sun[3], of_date[3];
    for (int i = 0; i < 3; i++)
        sun[i] = -now.earth_au[i];
    eraEcm06(2448908.5, 0.0, matrix);
    eraRxp(matrix, sun, of_date);
    eraC2s(of_date, &lon, &lat);
    check_near(eraAnp(lon) / TL_DEG, 199.90987, 0.01);
}

/*
 * Meeus, example 40.a (and 11.a for the observer): Mars from Palomar, 2003-08-28 3:17 UT. Diurnal
 * parallax by our observer's vector. He takes the IAU 1976 ellipsoid; 137 m of height per 2e-5.
 */
static void parallax_of_meeus_40a(void **state) {
    (void)state;
    const double tolerance_radii = 2e-6;           /* printed to 1e-6 */
    const double tolerance_rad = 0.15 * TL_ARCSEC; /* printed to 0.15 and 0.1 arcsec */
    static const double none[3][3] = {{1.0, 0.0, 0.0}, {0.0, 1.0, 0.0}, {0.0, 0.0, 1.0}};
    const tl_site palomar = {TL_SITE_GIVEN, degrees_rad(1, 33, 21, 22), -hours_rad(7, 47, 27),
                             1706.0};
    const double ra = 339.530208 * TL_DEG, dec = -15.771083 * TL_DEG, au = 0.37276;
    /* Apparent sidereal time at Greenwich, by his chapter 12. */
    const double day = 2452879.5 + (3.0 + 17.0 / 60.0) / 24.0, deltat_day = 64.0 / TL_DAY_S;
    const double sidereal = eraGst06a(day, 0.0, day, deltat_day);
    tl_sky_observer observer;
    tl_sky_observer_at(&palomar, sidereal, none, &observer);
    const double radii = TL_SKY_AU_KM / TL_SKY_EARTH_RADIUS_KM;
    check_near(observer.au[2] * radii, 0.546861, tolerance_radii);
    check_near(hypot(observer.au[0], observer.au[1]) * radii, 0.836339, tolerance_radii);
    double mars[3], seen_ra = 0.0, seen_dec = 0.0;
    eraS2p(ra, dec, au, mars);
    for (int i = 0; i < 3; i++)
        mars[i] -= observer.au[i];
    eraC2s(mars, &seen_ra, &seen_dec);
    check_near(eraAnp(seen_ra), hours_rad(22, 38, 8.54), tolerance_rad);
    check_near(seen_dec, degrees_rad(-1, 15, 46, 30.0), tolerance_rad);
}

/*
 * P. Duffett-Smith, Practical Astronomy (by way of another program's tests): a spot at position
 * angle 220 degrees, 10.5 arcmin from the disc's centre, 1988-05-01 0h. The formulas of the disc
 * are his; P, B0, L0 are ours.
 */
static void spot_of_duffett_smith(void **state) {
    (void)state;
    /* His mean elements are good to 0.05 degrees; 2.5 days of his day numbers cost no more. */
    const double tolerance_deg = 0.1;
    const tl_site site = {TL_SITE_GIVEN, 51.5 * TL_DEG, 0.0, 0.0};
    const tl_calendar calendar = {1988, 5, 1, 0, 0, 0.0};
    double t = 0.0;
    tl_sky sky;
    assert_int_equal(tl_time_from_calendar(&calendar, &t), TL_OK);
    assert_int_equal(tl_sky_at(&site, t, NULL, &sky), TL_OK);
    double s = 10.5 / 60.0 * TL_DEG, radius = 0.2666 * TL_DEG / sky.sun_distance_au;
    double rho = asin(s / radius) - s, turn = sky.p_rad - 220.0 * TL_DEG;
    double latitude = asin(sin(sky.b0_rad) * cos(rho) + cos(sky.b0_rad) * sin(rho) * cos(turn));
    double longitude = tl_angle_positive(asin(sin(rho) * sin(turn) / cos(latitude)) + sky.l0_rad);
    check_near(latitude / TL_DEG, -19.94, tolerance_deg);
    check_near(longitude / TL_DEG, 142.59, tolerance_deg);
}

/* The Moon's velocity is the change of its place: differences over two minutes, closed form. */
static void moon_velocity(void **state) {
    (void)state;
    const double half_step_s = 60.0;
    /* 1e-5 of 1 km/s: over the 1.3 s of light time 0.01 m. */
    const double tolerance_km_s = 1e-5;
    for (int i = 0; i < 20; i++) {
        double tt_s = -6e8 + 2.3e8 * i, before[3], after[3], now[3], rate[3], unused[3];
        tl_sky_moon_geocentric(tt_s - half_step_s, before, unused);
        tl_sky_moon_geocentric(tt_s + half_step_s, after, unused);
        tl_sky_moon_geocentric(tt_s, now, rate);
        for (int k = 0; k < 3; k++)
            check_near(rate[k], (after[k] - before[k]) / (2.0 * half_step_s), tolerance_km_s);
    }
}

/* New moons of Meeus, example 49.a (1977-02-18 3:37:42 TD), and of two eclipses: it must be near
 * enough for the search, 15 min. */
static void new_moons(void **state) {
    (void)state;
    const double tolerance_s = 900.0;
    static const double jde[] = {2443192.65118, /* Meeus 49.a */
                                 2451401.9643,  /* 1999-08-11, conjunction 11:08, from memory */
                                 2460409.2643}; /* 2024-04-08 18:21, from memory */
    for (size_t i = 0; i < sizeof jde / sizeof jde[0]; i++) {
        double t = (jde[i] - TL_SKY_JD_1970) * TL_DAY_S;
        long lunation = tl_sky_lunation(t);
        check_near(tl_sky_new_moon(lunation), t, tolerance_s);
        assert_int_equal(tl_sky_near_node(lunation), i > 0);
    }
    /* Meeus 49.a: k = -283 is that of February 1977. */
    assert_int_equal(tl_sky_lunation((jde[0] - TL_SKY_JD_1970) * TL_DAY_S), -283);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sun_of_meeus_25a),
        cmocka_unit_test(parallax_of_meeus_40a),
        cmocka_unit_test(spot_of_duffett_smith),
        cmocka_unit_test(moon_velocity),
        cmocka_unit_test(new_moons),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
