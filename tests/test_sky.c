/*
 * test_sky.c - places of Sun and Moon, time scales, horizon, refraction, the Sun's disc.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include <erfa.h>

#include "check.h"
#include "sky/sky_internal.h"

/* Rounding in a chain of some twenty operations on numbers near 1. */
static const double rounding_rad = 1e-12;

static const tl_site greenwich = {TL_SITE_GIVEN, 51.4769 * TL_DEG, 0.0, 46.0};

static double utc_of(int year, int month, int day, double second_of_day) {
    const tl_calendar calendar = {year, month, day, 0, 0, 0.0};
    double t = 0.0;
    assert_int_equal(tl_time_from_calendar(&calendar, &t), TL_OK);
    return t + second_of_day;
}

/* The UTC of a Julian date in TT. */
static double utc_of_jde(double jde) {
    double tt_s = (jde - TL_SKY_JD_1970) * TL_DAY_S, there = 0.0;
    assert_int_equal(tl_sky_tt(tt_s - 60.0, &there), TL_OK);
    return tt_s - (there - (tt_s - 60.0));
}

/*
 * The geocentric Sun: mean of the vectors of two observers at opposite points,
 * which also cancels the aberration of their own motion.
 */
static void geocentric_sun(double t_utc_s, double *ra, double *dec, double *au) {
    const tl_site here = {TL_SITE_GIVEN, 30.0 * TL_DEG, 40.0 * TL_DEG, 0.0};
    const tl_site there = {TL_SITE_GIVEN, -30.0 * TL_DEG, -140.0 * TL_DEG, 0.0};
    tl_sky a, b;
    assert_int_equal(tl_sky_at(&here, t_utc_s, NULL, &a), TL_OK);
    assert_int_equal(tl_sky_at(&there, t_utc_s, NULL, &b), TL_OK);
    double va[3], vb[3], sum[3];
    eraS2p(a.sun_ra_rad, a.sun_dec_rad, a.sun_distance_au / 2.0, va);
    eraS2p(b.sun_ra_rad, b.sun_dec_rad, b.sun_distance_au / 2.0, vb);
    eraPpp(va, vb, sum);
    eraP2s(sum, ra, dec, au);
    *ra = eraAnp(*ra);
}

/* Meeus, Astronomical Algorithms, 2nd ed., example 47.a: mean equinox of date. */
static void moon_of_meeus_47a(void **state) {
    (void)state;
    const double longitude_tolerance_deg = 10.0 / 3600.0; /* accuracy he states: 10 arcsec */
    const double latitude_tolerance_deg = 4.0 / 3600.0;   /* the same: 4 arcsec */
    const double distance_tolerance_km = 20.0; /* half of the 31 km that 4 arcsec in his parallax
                                                  formula would make; none is stated */
    const double light_s = 368409.7 / TL_SKY_LIGHT_KM_S; /* his theory has light time in it */
    const double jde = 2448724.5;
    double icrs[3], rate[3], of_date[3], matrix[3][3], r = 0.0, ra = 0.0, dec = 0.0;
    tl_sky_moon_geocentric((jde - TL_SKY_JD_1970) * TL_DAY_S - light_s, icrs, rate);
    eraPmat06(jde, 0.0, matrix);
    eraRxp(matrix, icrs, of_date);
    double obliquity = eraObl06(jde, 0.0);
    const double ecliptic[3] = {of_date[0],
                                cos(obliquity) * of_date[1] + sin(obliquity) * of_date[2],
                                cos(obliquity) * of_date[2] - sin(obliquity) * of_date[1]};
    double copy[3];
    memcpy(copy, ecliptic, sizeof copy);
    eraP2s(copy, &ra, &dec, &r);
    check_near(ra / TL_DEG, 133.162655, longitude_tolerance_deg);
    check_near(dec / TL_DEG, -3.229126, latitude_tolerance_deg);
    check_near(r, 368409.7, distance_tolerance_km);
}

/* fixtures/reference/de431_places.csv: JPL DE431 through another program. */
static void moon_of_de431(void **state) {
    (void)state;
    const double tolerance_rad = 0.06 * TL_ARCSEC; /* the figure in the design */
    const double tolerance_km = 1.0;               /* 0.009 arcsec of parallax, 0.003 of radius */
    FILE *file = fopen("fixtures/reference/de431_places.csv", "r");
    assert_non_null(file);
    char line[256];
    int count = 0;
    assert_non_null(fgets(line, sizeof line, file));
    while (fgets(line, sizeof line, file) != NULL) {
        double jd, expected[3], found[3], rate[3];
        assert_int_equal(
            sscanf(line, "%lf,%lf,%lf,%lf", &jd, &expected[0], &expected[1], &expected[2]), 4);
        tl_sky_moon_geocentric((jd - TL_SKY_JD_1970) * TL_DAY_S, found, rate);
        check_near(eraSepp(found, expected), 0.0, tolerance_rad);
        check_near(eraPm(found), eraPm(expected), tolerance_km);
        count++;
    }
    fclose(file);
    assert_int_equal(count, 200);
}

/* Meeus, example 25.b: 1992-10-13 0h TD, apparent geocentric, from the whole VSOP87. */
static void sun_of_meeus_25b(void **state) {
    (void)state;
    /* Printed to 0.015 and 0.01 arcsec; the IAU 1976 and 1980 models he uses put the equinox of
     * 1992 some 0.05 arcsec off. */
    const double tolerance_rad = 0.08 * TL_ARCSEC;
    double ra, dec, au;
    geocentric_sun(utc_of_jde(2448908.5), &ra, &dec, &au);
    check_near(ra, (13.0 + 13.0 / 60.0 + 30.749 / 3600.0) * 15.0 * TL_DEG, tolerance_rad);
    check_near(dec, -(7.0 + 47.0 / 60.0 + 1.74 / 3600.0) * TL_DEG, tolerance_rad);
}

/* Astronomical Almanac 2013, distances at 0h TT (as in the tests of SunPy). */
static void sun_distance_of_almanac(void **state) {
    (void)state;
    const double tolerance_au = 2e-7; /* printed to 1e-7 */
    double ra, dec, au;
    geocentric_sun(utc_of_jde(2456383.5), &ra, &dec, &au); /* 2013-04-01 */
    check_near(au, 0.9992311, tolerance_au);
    geocentric_sun(utc_of_jde(2456627.5), &ra, &dec, &au); /* 2013-12-01 */
    check_near(au, 0.9861362, tolerance_au);
}

static void check_sun_disc(double jde, double p_deg, double b0_deg, double l0_deg,
                           double l0_tolerance_deg) {
    const double tolerance_rad = 0.01 * TL_DEG; /* printed to 0.01; parallax 0.002 */
    tl_sky sky;
    assert_int_equal(tl_sky_at(&greenwich, utc_of_jde(jde), NULL, &sky), TL_OK);
    check_near(sky.p_rad, p_deg * TL_DEG, tolerance_rad);
    check_near(sky.b0_rad, b0_deg * TL_DEG, tolerance_rad);
    check_near(sky.l0_rad, l0_deg * TL_DEG, l0_tolerance_deg * TL_DEG);
}

static void sun_disc_of_meeus_and_almanac(void **state) {
    (void)state;
    /* Astronomical Almanac 2013, 04-01 and 12-01 (as in the tests of SunPy), to 0.01. */
    check_sun_disc(2456383.5, -26.15, -6.54, 221.44, 0.01);
    check_sun_disc(2456627.5, 16.05, 0.88, 237.83, 0.01);
    /* Meeus, example 29.a: 0.01, and 0.005 for its last digit. */
    check_sun_disc(2448908.50068, 26.27, 5.99, 238.63, 0.015);
}

/* L0 is 0 when a Carrington rotation begins. */
static void carrington_rotations(void **state) {
    (void)state;
    const double rate = 13.2 * TL_DEG; /* of L0 in a day */
    tl_sky sky;
    /* Meeus, chapter 29: rotation 1699, by a formula with a single sine. */
    assert_int_equal(tl_sky_at(&greenwich, utc_of_jde(2444480.7230), NULL, &sky), TL_OK);
    check_near(tl_angle_signed(sky.l0_rad), 0.0, 0.015 * TL_DEG);
    /* Astronomical Almanac 2013: rotation 2136 begins 2013-04-17.78, to 0.01 d. */
    assert_int_equal(tl_sky_at(&greenwich, utc_of(2013, 4, 17, 0.78 * TL_DAY_S), NULL, &sky),
                     TL_OK);
    check_near(tl_angle_signed(sky.l0_rad), 0.0, 0.006 * rate);
}

/* The airless altitude of a ray seen at an altitude. */
static double airless(double seen_rad, const tl_sky_options *options) {
    double altitude = seen_rad;
    for (int i = 0; i < 60; i++)
        altitude = seen_rad - tl_sky_refraction(altitude, options);
    return altitude;
}

static tl_sky_options meeus_air(void) {
    tl_sky_options options = tl_sky_options_default();
    options.pressure_hpa = 1010.0;
    options.temperature_c = 10.0;
    return options;
}

/* Meeus, example 16.a, with the accuracy that he states for each formula. */
static void refraction_of_meeus_16a(void **state) {
    (void)state;
    const double bennett_arcmin = 0.07, saemundsson_arcmin = 0.1;
    const tl_sky_options air = meeus_air();
    double seen = 0.5 * TL_DEG;
    check_near((seen - airless(seen, &air)) / TL_DEG * 60.0, 28.754, bennett_arcmin);
    check_near(tl_sky_refraction(33.246 / 60.0 * TL_DEG, &air) / TL_DEG * 60.0, 24.618,
               saemundsson_arcmin);
    check_near(tl_sky_refraction(TL_PI / 2.0, &air), 0.0, 0.0);
}

/*
 * The refraction integral through a dry atmosphere of 1010 hPa and 10 C: 6.5 K/km up to 11 km (ICAO
 * standard atmosphere), the same temperature above; n - 1 = 77.6e-6 (1 + 0.00752 / lambda^2) P / T
 * at 0.57 micrometres (Edlen). dR = -(dn/dh) / n tan(zenith distance) dh with n r sin(zenith
 * distance) constant. `seen_rad` from 0.5 degree up.
 */
static double integrated_refraction(double seen_rad) {
    const double t0 = 283.15, lapse = 0.0065, top = 11000.0, earth = 6371000.0;
    const double exponent = 9.80665 / (287.053 * lapse);
    const double n0 = 77.6e-6 * (1.0 + 0.00752 / (0.57 * 0.57)) * 1010.0 / t0;
    const double t_top = t0 - lapse * top, n_top = n0 * pow(t_top / t0, exponent - 1.0);
    const double constant = (1.0 + n0) * earth * cos(seen_rad);
    const double end = sqrt(90000.0);
    enum { STEPS = 6000 };
    double sum = 0.0, step = end / STEPS;
    for (int i = 0; i < STEPS; i++) {
        double u = (i + 0.5) * step, h = u * u; /* close steps near the ground */
        double n = 0.0, slope = 0.0;
        if (h < top) {
            n = n0 * pow(1.0 - lapse * h / t0, exponent - 1.0);
            slope = -n * (exponent - 1.0) * lapse / (t0 - lapse * h);
        } else {
            n = n_top * exp(-9.80665 * (h - top) / (287.053 * t_top));
            slope = -n * 9.80665 / (287.053 * t_top);
        }
        double sine = constant / ((1.0 + n) * (earth + h));
        sum -= slope / (1.0 + n) * sine / sqrt(1.0 - sine * sine) * 2.0 * u * step;
    }
    return sum;
}

/* The altitude at which a ray is seen, by the integral. */
static double integrated_seen(double altitude_rad) {
    double seen = altitude_rad;
    for (int i = 0; i < 15; i++)
        seen = altitude_rad + integrated_refraction(seen);
    return seen;
}

static void refraction_of_the_integral(void **state) {
    (void)state;
    const tl_sky_options air = meeus_air();
    const double radius = 16.0 / 60.0 * TL_DEG;
    /* Altitude seen; how far the formula is off the integral there, as refraction.c says. */
    static const struct {
        double seen_deg, lift_arcsec, loss_arcsec;
    } row[] = {{1.0, 8.0, 4.0},  {2.0, 3.0, 2.0},  {5.0, 1.0, 0.2},
               {10.0, 1.0, 0.2}, {30.0, 1.0, 0.1}, {60.0, 1.0, 0.1}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        double seen = row[i].seen_deg * TL_DEG, lift = integrated_refraction(seen);
        double centre = seen - lift;
        check_near(tl_sky_refraction(centre, &air) / TL_ARCSEC, lift / TL_ARCSEC,
                   row[i].lift_arcsec);
        double loss =
            2.0 * radius - integrated_seen(centre + radius) + integrated_seen(centre - radius);
        double found =
            tl_sky_refraction(centre - radius, &air) - tl_sky_refraction(centre + radius, &air);
        check_near(found / TL_ARCSEC, loss / TL_ARCSEC, row[i].loss_arcsec);
    }
}

/*
 * The field itself: Sun at 10 degrees seen. ERFA's eraRefco (1013.25 hPa, 10 C, dry, 0.57
 * micrometres) takes 15.9 arcsec off the vertical diameter of 32'; the level diameter loses 0.5
 * arcsec at every altitude.
 */
static void flattening_field(void **state) {
    (void)state;
    const double tolerance = 0.4 / 1920.0; /* 0.3 arcsec between the models, 0.1 for the second */
    double low_s = utc_of(2026, 3, 21, 6.0 * 3600.0), high_s = low_s + 3.0 * 3600.0;
    tl_sky sky = {0};
    for (int i = 0; i < 40; i++) {
        double t = (low_s + high_s) / 2.0;
        assert_int_equal(tl_sky_at(&greenwich, t, NULL, &sky), TL_OK);
        if (sky.sun_altitude_rad + sky.refraction_rad < 10.0 * TL_DEG)
            low_s = t;
        else
            high_s = t;
    }
    check_near(sky.flattening, (1920.0 - 15.9) / (1920.0 - 0.5), tolerance);
    tl_sky_options no_air = tl_sky_options_default();
    no_air.pressure_hpa = 0.0;
    assert_int_equal(tl_sky_at(&greenwich, low_s, &no_air, &sky), TL_OK);
    check_near(sky.refraction_rad, 0.0, 0.0);
    check_near(sky.flattening, 1.0, rounding_rad);
}

/* TAI - UTC: IERS Bulletin C 16 (1999), 52 (2017); TT - TAI 32.184 s by definition. */
static void leap_seconds(void **state) {
    (void)state;
    const double tolerance_s = 1e-6; /* a double near 1e9 */
    static const struct {
        int year, month, day;
        double second, expected;
    } row[] = {{1999, 8, 11, 40000.0, 64.184},
               {2016, 12, 31, 86399.0, 68.184},
               {2017, 1, 1, 0.0, 69.184},
               {2026, 8, 12, 60000.0, 69.184}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        double utc = utc_of(row[i].year, row[i].month, row[i].day, row[i].second), tt = 0.0;
        assert_int_equal(tl_sky_tt(utc, &tt), TL_OK);
        check_near(tt - utc, row[i].expected, tolerance_s);
    }
}

/* Meeus, table 10.A (values from memory), to 0.1 s. */
static void deltat_of_meeus(void **state) {
    (void)state;
    const double tolerance_s = 0.1;
    static const double row[][2] = {{1950, 29.1}, {1960, 33.1}, {1970, 40.2},
                                    {1980, 50.5}, {1990, 56.9}, {1998, 63.0}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++)
        check_near(tl_sky_deltat(utc_of((int)row[i][0], 1, 1, 0.0)), row[i][1], tolerance_s);
    /* Flat where nobody knows. */
    check_near(tl_sky_deltat(utc_of(2060, 1, 1, 0.0)), tl_sky_deltat(utc_of(2100, 1, 1, 0.0)), 0.0);
}

/* Separation, position angle, altitude, azimuth, parallactic angle by ERFA's own routines. */
static void derived_angles_agree_with_erfa(void **state) {
    (void)state;
    static const struct {
        double lat_deg, lon_deg;
    } place[] = {{51.5, 0.0}, {-33.9, 151.2}, {0.0, -179.9}, {78.2, 15.6}, {-89.9, 12.0}};
    for (size_t i = 0; i < sizeof place / sizeof place[0]; i++) {
        const tl_site site = {TL_SITE_GIVEN, place[i].lat_deg * TL_DEG, place[i].lon_deg * TL_DEG,
                              100.0};
        double utc = utc_of(2024, 4, 8, 3000.0 + 17000.0 * (double)i), tt = 0.0;
        tl_sky sky;
        assert_int_equal(tl_sky_at(&site, utc, NULL, &sky), TL_OK);
        check_near(sky.separation_rad,
                   eraSeps(sky.sun_ra_rad, sky.sun_dec_rad, sky.moon_ra_rad, sky.moon_dec_rad),
                   rounding_rad);
        check_near(
            sky.pa_rad,
            eraAnp(eraPas(sky.sun_ra_rad, sky.sun_dec_rad, sky.moon_ra_rad, sky.moon_dec_rad)),
            rounding_rad);
        check_near(hypot(sky.east_sr, sky.north_sr), sky.separation_rad / sky.sun_radius_rad,
                   rounding_rad);
        check_near(eraAnp(atan2(sky.east_sr, sky.north_sr)), sky.pa_rad, rounding_rad);
        assert_int_equal(tl_sky_tt(utc, &tt), TL_OK);
        double sidereal = eraGst06a(TL_SKY_JD_1970, (tt - sky.deltat_s) / TL_DAY_S, TL_SKY_JD_1970,
                                    tt / TL_DAY_S);
        double hour_angle = sidereal + site.lon_rad - sky.sun_ra_rad;
        double azimuth = 0.0, altitude = 0.0;
        eraHd2ae(hour_angle, sky.sun_dec_rad, site.lat_rad, &azimuth, &altitude);
        check_near(sky.sun_altitude_rad, altitude, rounding_rad);
        check_near(tl_angle_signed(sky.sun_azimuth_rad - azimuth), 0.0, 1e3 * rounding_rad);
        check_near(sky.parallactic_rad, eraHd2pa(hour_angle, sky.sun_dec_rad, site.lat_rad),
                   1e3 * rounding_rad);
    }
}

/* At a pole altitude is declination; both names of the date line are one place. */
static void poles_and_date_line(void **state) {
    (void)state;
    const double utc = utc_of(2021, 12, 4, 28000.0);
    for (int sign = -1; sign <= 1; sign += 2) {
        const tl_site pole = {TL_SITE_GIVEN, sign * TL_PI / 2.0, 0.3, 2800.0};
        tl_sky sky;
        assert_int_equal(tl_sky_at(&pole, utc, NULL, &sky), TL_OK);
        check_near(sky.sun_altitude_rad, sign * sky.sun_dec_rad, rounding_rad);
        check_near(cos(sky.parallactic_rad), sign, rounding_rad);
    }
    const tl_site west = {TL_SITE_GIVEN, -17.0 * TL_DEG, -TL_PI, 0.0};
    const tl_site east = {TL_SITE_GIVEN, -17.0 * TL_DEG, TL_PI, 0.0};
    tl_sky a, b;
    assert_int_equal(tl_sky_at(&west, utc, NULL, &a), TL_OK);
    assert_int_equal(tl_sky_at(&east, utc, NULL, &b), TL_OK);
    check_near(a.separation_rad, b.separation_rad, rounding_rad);
    check_near(a.sun_azimuth_rad, b.sun_azimuth_rad, rounding_rad);
    check_near(a.pa_rad, b.pa_rad, 1e3 * rounding_rad);
}

/* 959.63 arcsec at 1 au; k of the Earth's equatorial radius: closed forms. */
static void radii_follow_the_options(void **state) {
    (void)state;
    const double tolerance_arcsec = 1e-4; /* between asin(sin a / R) and a / R */
    tl_sky sky;
    tl_sky_options options = tl_sky_options_default();
    for (int i = 0; i < 2; i++) {
        assert_int_equal(tl_sky_at(&greenwich, utc_of(2017, 8, 21, 66000.0), &options, &sky),
                         TL_OK);
        double sun = options.sun_radius_arcsec, k = options.moon_k;
        check_near(sky.sun_radius_rad / TL_ARCSEC, sun / sky.sun_distance_au, tolerance_arcsec);
        check_near(sin(sky.moon_radius_rad) * sky.moon_distance_km, k * 6378.137, 1e-6);
        check_near(sky.ratio, sky.moon_radius_rad / sky.sun_radius_rad, rounding_rad);
        options.sun_radius_arcsec = 959.95;
        options.moon_k = 0.272281;
        options.deltat_given = true;
        options.deltat_s = 12.0;
    }
    check_near(sky.deltat_s, 12.0, 0.0);
}

static void refusals(void **state) {
    (void)state;
    tl_sky sky = {.ratio = 7.0};
    assert_int_equal(tl_sky_at(&greenwich, utc_of(1949, 12, 31, 86399.0), NULL, &sky),
                     TL_ERR_RANGE);
    assert_int_equal(tl_sky_at(&greenwich, utc_of(2101, 1, 1, 0.0), NULL, &sky), TL_ERR_RANGE);
    assert_int_equal(tl_sky_at(&greenwich, NAN, NULL, &sky), TL_ERR_RANGE);
    const tl_site nowhere = {TL_SITE_NONE, 0.0, 0.0, 0.0};
    const tl_site beyond = {TL_SITE_GIVEN, 91.0 * TL_DEG, 0.0, 0.0};
    const tl_site high = {TL_SITE_GIVEN, 0.0, 0.0, 9001.0};
    const tl_site unknown = {TL_SITE_GIVEN, NAN, 0.0, 0.0};
    const double utc = utc_of(2024, 4, 8, 0.0);
    assert_int_equal(tl_sky_at(&nowhere, utc, NULL, &sky), TL_ERR_RANGE);
    assert_int_equal(tl_sky_at(&beyond, utc, NULL, &sky), TL_ERR_RANGE);
    assert_int_equal(tl_sky_at(&high, utc, NULL, &sky), TL_ERR_RANGE);
    assert_int_equal(tl_sky_at(&unknown, utc, NULL, &sky), TL_ERR_RANGE);
    check_near(sky.ratio, 7.0, 0.0); /* untouched */
    assert_int_equal(tl_sky_at(&greenwich, utc_of(1950, 1, 1, 0.0), NULL, &sky), TL_OK);
    assert_int_equal(tl_sky_at(&greenwich, utc_of(2100, 12, 31, 86399.0), NULL, &sky), TL_OK);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(moon_of_meeus_47a),
        cmocka_unit_test(moon_of_de431),
        cmocka_unit_test(sun_of_meeus_25b),
        cmocka_unit_test(sun_distance_of_almanac),
        cmocka_unit_test(sun_disc_of_meeus_and_almanac),
        cmocka_unit_test(carrington_rotations),
        cmocka_unit_test(refraction_of_meeus_16a),
        cmocka_unit_test(refraction_of_the_integral),
        cmocka_unit_test(flattening_field),
        cmocka_unit_test(leap_seconds),
        cmocka_unit_test(deltat_of_meeus),
        cmocka_unit_test(derived_angles_agree_with_erfa),
        cmocka_unit_test(poles_and_date_line),
        cmocka_unit_test(radii_follow_the_options),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
