/*
 * test_sky_circumstances.c - contacts, maximum, kind, horizon, nearest eclipse.
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

enum { LINE_SIZE = 256 };

static double day_of(int year, int month, int day) {
    const tl_calendar calendar = {year, month, day, 0, 0, 0.0};
    double t = 0.0;
    assert_int_equal(tl_time_from_calendar(&calendar, &t), TL_OK);
    return t;
}

static tl_site site_of(double lat_deg, double lon_deg, double height_m) {
    const tl_site site = {TL_SITE_GIVEN, lat_deg * TL_DEG, lon_deg * TL_DEG, height_m};
    return site;
}

static tl_circumstances circumstances_of(const tl_site *site, double day_s,
                                         const tl_sky_options *options) {
    tl_circumstances result;
    assert_int_equal(tl_sky_circumstances(site, day_s, options, &result), TL_OK);
    return result;
}

static FILE *open_reference(const char *path) {
    FILE *file = fopen(path, "r");
    char header[LINE_SIZE];
    assert_non_null(file);
    assert_non_null(fgets(header, sizeof header, file));
    return file;
}

static double clock_s(int hour, int minute, double second) {
    return hour * 3600.0 + minute * 60.0 + second;
}

/*
 * NASA RP 1398 (F. Espenak, J. Anderson 1997), table 21, 1999-08-11: Universal Time with Delta-T
 * 64.6 s, so UT1; airless altitudes.
 */
typedef struct table_21_contact {
    int hour, minute;
    double second, p_deg, v_deg, altitude_deg;
} table_21_contact;
typedef struct table_21_row {
    double lat_deg, lat_min, lon_deg, lon_min, height_m;
    table_21_contact c1, max;
    double azimuth_deg;
    table_21_contact c4;
    double magnitude, obscuration;
} table_21_row;

static const table_21_row table_21[] = {
    /* Bergen */
    {60,
     23,
     5,
     20,
     43,
     {9, 19, 41.7, 267, 289, 38},
     {10, 29, 34.5, 194, 207, 43},
     155,
     {11, 41, 1.6, 122, 122, 45},
     .722,
     .656},
    /* Oslo */
    {59,
     55,
     10,
     45,
     94,
     {9, 24, 38.1, 267, 286, 41},
     {10, 35, 29.3, 195, 203, 45},
     164,
     {11, 47, 14.0, 123, 118, 45},
     .718,
     .651},
    /* Stavanger */
    {58,
     58,
     5,
     45,
     0,
     {9, 18, 17.2, 269, 292, 39},
     {10, 29, 41.7, 194, 208, 44},
     155,
     {11, 42, 46.7, 120, 120, 46},
     .756,
     .698},
    /* Trondheim */
    {63,
     25,
     10,
     25,
     127,
     {9, 28, 29.4, 262, 278, 38},
     {10, 35, 17.5, 195, 202, 41},
     164,
     {11, 42, 50.1, 127, 124, 42},
     .637,
     .553},
    /* Bialystok */
    {53,
     9,
     23,
     9,
     0,
     {9, 35, 51.1, 276, 289, 51},
     {10, 53, 57.7, 198, 192, 52},
     188,
     {12, 10, 34.7, 119, 97, 48},
     .822,
     .781},
    /* Bielsko-Biala */
    {49,
     49,
     19,
     2,
     0,
     {9, 28, 29.2, 282, 303, 52},
     {10, 50, 1.0, 198, 197, 56},
     180,
     {12, 10, 38.9, 113, 92, 52},
     .931,
     .920},
    /* Czestochowa */
    {50,
     49,
     19,
     6,
     0,
     {9, 28, 52.1, 280, 300, 51},
     {10, 49, 29.3, 197, 197, 55},
     180,
     {12, 9, 17.0, 114, 94, 51},
     .905,
     .887},
    /* Gdansk */
    {54,
     23,
     18,
     40,
     11,
     {9, 29, 46.7, 275, 292, 48},
     {10, 46, 50.9, 197, 198, 51},
     179,
     {12, 3, 27.7, 119, 103, 48},
     .818,
     .776},
};

static void check_table_21_contact(const tl_contact *found, const table_21_contact *printed,
                                   double day_s) {
    /* Printed to 0.1 s; another ephemeris: 0.2 s at the most in the rows above. */
    const double tolerance_s = 0.3;
    const double tolerance_deg = 0.6; /* printed to 1 */
    const double ut1_minus_utc_s = 64.184 - 64.6;
    assert_true(found->occurs);
    assert_true(found->sun_up);
    check_near(found->t_utc_s - day_s + ut1_minus_utc_s,
               clock_s(printed->hour, printed->minute, printed->second), tolerance_s);
    check_near(found->pa_rad / TL_DEG, printed->p_deg, tolerance_deg);
    check_near(found->vertex_rad / TL_DEG, printed->v_deg, tolerance_deg);
    check_near(found->altitude_rad / TL_DEG, printed->altitude_deg, tolerance_deg);
}

static void table_21_of_rp_1398(void **state) {
    (void)state;
    /* Printed to 0.001; obscurations there are partly cut, not rounded. */
    const double tolerance_magnitude = 0.0006, tolerance_obscuration = 0.001;
    tl_sky_options options = tl_sky_options_default();
    options.deltat_given = true;
    options.deltat_s = 64.6;
    const double day_s = day_of(1999, 8, 11);
    for (size_t i = 0; i < sizeof table_21 / sizeof table_21[0]; i++) {
        const table_21_row *row = &table_21[i];
        const tl_site site = site_of(row->lat_deg + row->lat_min / 60.0,
                                     row->lon_deg + row->lon_min / 60.0, row->height_m);
        tl_circumstances found = circumstances_of(&site, day_s, &options);
        assert_int_equal(found.kind, TL_ECLIPSE_PARTIAL);
        check_table_21_contact(&found.contact[TL_C1], &row->c1, day_s);
        check_table_21_contact(&found.contact[TL_MAX], &row->max, day_s);
        check_table_21_contact(&found.contact[TL_C4], &row->c4, day_s);
        check_near(found.contact[TL_MAX].azimuth_rad / TL_DEG, row->azimuth_deg, 0.6);
        check_near(found.magnitude, row->magnitude, tolerance_magnitude);
        check_near(found.obscuration, row->obscuration, tolerance_obscuration);
        assert_false(found.contact[TL_C2].occurs);
        assert_false(found.contact[TL_C3].occurs);
        check_near(found.deltat_s, 64.6, 1e-9); /* s; rounding */
    }
}

/* The radii that JPL Horizons uses: 695700 and 1737.4 km. */
static tl_sky_options horizons_radii(void) {
    tl_sky_options options = tl_sky_options_default();
    options.sun_radius_arcsec = asin(695700.0 / 149597870.7) / TL_ARCSEC;
    options.moon_k = 1737.4 / 6378.137;
    return options;
}

/* fixtures/reference/jpl_horizons_2024-04-08.csv: separation, distances, diameters. */
static void separations_of_horizons(void **state) {
    (void)state;
    /* RA is printed to 0.15 arcsec, Dec to 0.1: 0.2 for one row, 0.006 for the mean of 101. */
    const double tolerance_row_arcsec = 0.2, tolerance_mean_arcsec = 0.03;
    const double tolerance_moon_km = 1.0;           /* the figure of the Moon's series */
    const double tolerance_sun_km = 20.0;           /* that of ERFA's eraEpv00 */
    const double tolerance_diameter_arcsec = 0.007; /* what those amount to, and the printing */
    const tl_site site = site_of(35.0887, -92.4421, 99.0);
    const tl_sky_options options = horizons_radii();
    const double day_s = day_of(2024, 4, 8);
    FILE *file = open_reference("fixtures/reference/jpl_horizons_2024-04-08.csv");
    char line[LINE_SIZE];
    double sum = 0.0;
    int count = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        double t, m[4], s[4];
        assert_int_equal(sscanf(line, "%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf", &t, &m[0], &m[1],
                                &m[2], &m[3], &s[0], &s[1], &s[2], &s[3]),
                         9);
        tl_sky sky;
        assert_int_equal(tl_sky_at(&site, day_s + t, &options, &sky), TL_OK);
        double printed =
            eraSeps(m[0] * TL_DEG, m[1] * TL_DEG, s[0] * TL_DEG, s[1] * TL_DEG) / TL_ARCSEC;
        double difference = sky.separation_rad / TL_ARCSEC - printed;
        check_near(difference, 0.0, tolerance_row_arcsec);
        check_near(sky.moon_distance_km, m[3] * TL_SKY_AU_KM, tolerance_moon_km);
        check_near(sky.sun_distance_au * TL_SKY_AU_KM, s[3] * TL_SKY_AU_KM, tolerance_sun_km);
        check_near(2.0 * sky.moon_radius_rad / TL_ARCSEC, m[2], tolerance_diameter_arcsec);
        check_near(2.0 * sky.sun_radius_rad / TL_ARCSEC, s[2], tolerance_diameter_arcsec);
        sum += difference;
        count++;
    }
    fclose(file);
    assert_int_equal(count, 101);
    check_near(sum / count, 0.0, tolerance_mean_arcsec);
}

/* Contacts interpolated in the full table of JPL Horizons (a row every 7.2 s). */
static void contacts_of_horizons(void **state) {
    (void)state;
    const double tolerance_s = 0.3; /* 0.15 arcsec of printed RA at 0.5 arcsec a second */
    const tl_site site = site_of(35.0887, -92.4421, 99.0);
    const tl_sky_options options = horizons_radii();
    const double day_s = day_of(2024, 4, 8);
    tl_circumstances found = circumstances_of(&site, day_s, &options);
    assert_int_equal(found.kind, TL_ECLIPSE_TOTAL);
    check_near(found.contact[TL_C1].t_utc_s - day_s, clock_s(17, 33, 54.6), tolerance_s);
    check_near(found.contact[TL_C2].t_utc_s - day_s, clock_s(18, 51, 5.3), tolerance_s);
    check_near(found.contact[TL_C3].t_utc_s - day_s, clock_s(18, 55, 2.1), tolerance_s);
    check_near(found.contact[TL_C4].t_utc_s - day_s, clock_s(20, 11, 37.1), tolerance_s);
}

/* fixtures/reference/de431_contacts.csv: random observers and eclipses, 1950-2100. */
static void contacts_of_de431(void **state) {
    (void)state;
    const double tolerance_arcsec = 0.06; /* the figure in the design, and for contacts: */
    const double tolerance_s = 0.2;
    const double tolerance_ratio = 5e-6; /* 1 km in the Moon's distance, 20 in the Sun's */
    tl_sky_options options = tl_sky_options_default();
    options.deltat_given = true;
    options.deltat_s = 65.0;
    FILE *file = open_reference("fixtures/reference/de431_contacts.csv");
    char line[LINE_SIZE];
    int count = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        double lat, lon, height, jd, c1, max, c4, smallest, ratio;
        assert_int_equal(sscanf(line, "%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf", &lat, &lon, &height,
                                &jd, &c1, &max, &c4, &smallest, &ratio),
                         9);
        const tl_site site = site_of(lat, lon, height);
        double day_s = (jd - TL_SKY_JD_1970) * TL_DAY_S, tt_s = 0.0;
        tl_circumstances found = circumstances_of(&site, day_s, &options);
        assert_int_equal(tl_sky_tt(found.contact[TL_MAX].t_utc_s, &tt_s), TL_OK);
        double tt_minus_utc_s = tt_s - found.contact[TL_MAX].t_utc_s;
        double from_s = day_s - tt_minus_utc_s;
        check_near(found.contact[TL_C1].t_utc_s - from_s, c1, tolerance_s);
        check_near(found.contact[TL_MAX].t_utc_s - from_s, max, tolerance_s);
        check_near(found.contact[TL_C4].t_utc_s - from_s, c4, tolerance_s);
        check_near(found.ratio, ratio, tolerance_ratio);
        tl_sky sky;
        assert_int_equal(tl_sky_at(&site, found.contact[TL_MAX].t_utc_s, &options, &sky), TL_OK);
        check_near(sky.separation_rad / TL_ARCSEC, smallest, tolerance_arcsec);
        count++;
    }
    fclose(file);
    assert_int_equal(count, 120);
}

static double seconds_in(const char *text) {
    int hour = 0, minute = 0, second = 0;
    assert_int_equal(sscanf(text, "%2d:%2d:%2d", &hour, &minute, &second), 3);
    return clock_s(hour, minute, second);
}

/*
 * fixtures/reference/nasa_svs.csv. C2 and C3 there follow the true limb, ours a smooth one. C1 and
 * C4 are the first and last of frames 10 s apart that show a bite, so late and early; "max" of a
 * partial eclipse is such a frame too.
 */
static void cities_of_nasa_svs(void **state) {
    (void)state;
    const double limb_s = 5.0;          /* mountains and valleys of 2 arcsec */
    const double frame_s = 10.0;        /* and a bite too small to be seen: */
    const double unseen_first_s = 12.0; /* our C1 is earlier by up to both */
    tl_sky_options options = tl_sky_options_default();
    options.moon_k = 0.272281; /* umbral, for C2 and C3; C1 and C4 move by 2 s */
    FILE *file = open_reference("fixtures/reference/nasa_svs.csv");
    char line[LINE_SIZE];
    int count = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        char *field[11], *rest = line;
        for (int i = 0; i < 11; i++) {
            field[i] = rest;
            rest = strpbrk(rest, ",\r\n");
            assert_non_null(rest);
            *rest++ = '\0';
        }
        double day_s = 0.0, lat = 0.0, lon = 0.0;
        assert_int_equal(tl_date_parse(field[0], &day_s), TL_OK);
        assert_int_equal(sscanf(field[3], "%lf", &lat), 1);
        assert_int_equal(sscanf(field[4], "%lf", &lon), 1);
        const tl_site site = site_of(lat, lon, 0.0);
        tl_circumstances found = circumstances_of(&site, day_s, &options);
        double late_s = seconds_in(field[5]) - (found.contact[TL_C1].t_utc_s - day_s);
        assert_true(late_s > -1.0 && late_s < frame_s + unseen_first_s);
        double early_s = found.contact[TL_C4].t_utc_s - day_s - seconds_in(field[10]);
        assert_true(early_s > -5.0 && early_s < frame_s);
        bool total = field[8][0] != '\0';
        assert_int_equal(found.kind, total ? TL_ECLIPSE_TOTAL : TL_ECLIPSE_PARTIAL);
        if (total) {
            check_near(found.contact[TL_C2].t_utc_s - day_s, seconds_in(field[7]), limb_s);
            check_near(found.contact[TL_C3].t_utc_s - day_s, seconds_in(field[8]), limb_s);
        } else {
            check_near(found.contact[TL_MAX].t_utc_s - day_s, seconds_in(field[7]), frame_s);
        }
        count++;
    }
    fclose(file);
    assert_int_equal(count, 14);
}

/*
 * Central eclipses at the place of greatest eclipse, F. Espenak's bulletins and canon (2023 and
 * 2026 from memory): k 0.272281. Places are printed to 0.1 degree, hence the tolerances.
 */
static void central_eclipses_of_the_canon(void **state) {
    (void)state;
    const double tolerance_magnitude = 0.0006, tolerance_duration_s = 1.5;
    static const struct {
        int year, month, day;
        double lat_deg, lon_deg, magnitude, duration_s;
        tl_eclipse_kind kind;
    } row[] = {
        {2006, 3, 29, 23.15, 16.75, 1.0515, 247.0, TL_ECLIPSE_TOTAL}, /* duration from memory */
        {2023, 10, 14, 11.4, -83.1, 0.952, 317.0, TL_ECLIPSE_ANNULAR},
        {2024, 4, 8, 25.3, -104.1, 1.0566, 268.0, TL_ECLIPSE_TOTAL}, /* place from memory */
        {2026, 8, 12, 65.2, -25.2, 1.0386, 138.0, TL_ECLIPSE_TOTAL},
    };
    tl_sky_options options = tl_sky_options_default();
    options.moon_k = 0.272281;
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        const tl_site site = site_of(row[i].lat_deg, row[i].lon_deg, 0.0);
        tl_circumstances found =
            circumstances_of(&site, day_of(row[i].year, row[i].month, row[i].day), &options);
        assert_int_equal(found.kind, row[i].kind);
        check_near(found.magnitude, row[i].magnitude, tolerance_magnitude);
        check_near(found.contact[TL_C3].t_utc_s - found.contact[TL_C2].t_utc_s, row[i].duration_s,
                   tolerance_duration_s);
        for (int k = 1; k < TL_CONTACTS; k++)
            assert_true(found.contact[k].t_utc_s > found.contact[k - 1].t_utc_s);
    }
}

/*
 * Where the limbs touch: in front of the Moon for C1, and for a ring; on the far side of the Sun
 * when the Moon is the larger disc. Geometry of two circles.
 */
static void contact_points(void **state) {
    (void)state;
    const double tolerance_rad = 1e-4; /* contact times to a millisecond, turn of some 0.05 rad/s */
    static const struct {
        int year, month, day;
        double lat_deg, lon_deg, turn;
    } row[] = {{2024, 4, 8, 35.0887, -92.4421, TL_PI}, {2023, 10, 14, 11.4, -83.1, 0.0}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        const tl_site site = site_of(row[i].lat_deg, row[i].lon_deg, 0.0);
        tl_circumstances found =
            circumstances_of(&site, day_of(row[i].year, row[i].month, row[i].day), NULL);
        for (int k = 0; k < TL_CONTACTS; k++) {
            const tl_contact *contact = &found.contact[k];
            tl_sky sky;
            assert_int_equal(tl_sky_at(&site, contact->t_utc_s, NULL, &sky), TL_OK);
            double turn = k == TL_C2 || k == TL_C3 ? row[i].turn : 0.0;
            if (k == TL_MAX)
                continue;
            check_near(tl_angle_signed(contact->pa_rad - sky.pa_rad - turn), 0.0, tolerance_rad);
            check_near(tl_angle_signed(contact->vertex_rad - contact->pa_rad + sky.parallactic_rad),
                       0.0, tolerance_rad);
        }
    }
}

/* Sunrise and sunset: 34 arcmin of refraction and the Sun's radius, the almanacs' convention. */
static void eclipses_on_the_horizon(void **state) {
    (void)state;
    const double tolerance_rad = 0.01 * TL_ARCSEC; /* a millisecond */
    const tl_site evening = site_of(40.0, -4.0, 0.0), morning = site_of(60.0, 170.0, 0.0);
    tl_circumstances found = circumstances_of(&evening, day_of(2026, 8, 12), NULL);
    assert_true(found.has_sunset && !found.has_sunrise);
    assert_true(found.contact[TL_MAX].sun_up && !found.contact[TL_C4].sun_up);
    tl_sky sky;
    assert_int_equal(tl_sky_at(&evening, found.sunset_utc_s, NULL, &sky), TL_OK);
    check_near(sky.sun_altitude_rad + sky.sun_radius_rad, -34.0 / 60.0 * TL_DEG, tolerance_rad);
    found = circumstances_of(&morning, day_of(2026, 8, 12), NULL);
    assert_true(found.has_sunrise && !found.has_sunset);
    assert_true(!found.contact[TL_MAX].sun_up && found.contact[TL_C4].sun_up);
    assert_int_equal(tl_sky_at(&morning, found.sunrise_utc_s, NULL, &sky), TL_OK);
    check_near(sky.sun_altitude_rad + sky.sun_radius_rad, -34.0 / 60.0 * TL_DEG, tolerance_rad);
}

/* The eclipse of 2009-07-22, total east of Japan about 2:30 UT, from the days around it. */
static void the_day_may_be_local(void **state) {
    (void)state;
    const tl_site site = site_of(24.2, 144.1, 0.0); /* greatest eclipse, canon, from memory */
    const double day_s = day_of(2009, 7, 22);
    tl_circumstances there = circumstances_of(&site, day_s, NULL);
    assert_int_equal(there.kind, TL_ECLIPSE_TOTAL);
    tl_circumstances before = circumstances_of(&site, day_s - TL_DAY_S, NULL);
    check_near(before.contact[TL_MAX].t_utc_s, there.contact[TL_MAX].t_utc_s, 0.0);
    tl_circumstances untouched = {.magnitude = 7.0};
    for (int days = -3; days <= 3; days++) {
        tl_status status = tl_sky_circumstances(&site, day_s + days * TL_DAY_S, NULL, &untouched);
        /* Maximum at 2:30: noon of the 22nd is 9.5 h off, of the 21st 14.5, the 23rd 33.5. */
        assert_int_equal(status, days >= -1 && days <= 1 ? TL_OK : TL_ERR_NO_ECLIPSE);
        if (status != TL_OK)
            check_near(untouched.magnitude, 7.0, 0.0);
        untouched.magnitude = 7.0;
    }
}

static void refusals(void **state) {
    (void)state;
    tl_circumstances untouched = {.magnitude = 7.0};
    const tl_site dublin = site_of(53.35, -6.26, 0.0), sydney = site_of(-33.9, 151.2, 0.0);
    const tl_site nowhere = {TL_SITE_NONE, 0.0, 0.0, 0.0};
    /* No new moon; a new moon far from a node; an eclipse on the other side of the Earth. */
    assert_int_equal(tl_sky_circumstances(&dublin, day_of(2024, 5, 1), NULL, &untouched),
                     TL_ERR_NO_ECLIPSE);
    assert_int_equal(tl_sky_circumstances(&dublin, day_of(2024, 6, 6), NULL, &untouched),
                     TL_ERR_NO_ECLIPSE);
    assert_int_equal(tl_sky_circumstances(&sydney, day_of(2026, 8, 12), NULL, &untouched),
                     TL_ERR_NO_ECLIPSE);
    assert_int_equal(tl_sky_circumstances(&nowhere, day_of(2026, 8, 12), NULL, &untouched),
                     TL_ERR_RANGE);
    assert_int_equal(tl_sky_circumstances(&dublin, day_of(2101, 8, 12), NULL, &untouched),
                     TL_ERR_RANGE);
    check_near(untouched.magnitude, 7.0, 0.0);
}

/*
 * F. Espenak's canon of eclipses: in the Netherlands partial ones were to be seen on 2022-10-25,
 * 2025-03-29 and 2026-08-12, none in between; that of 2024-04-08 had set.
 */
static void nearest_eclipse(void **state) {
    (void)state;
    const tl_site site = site_of(52.0, 5.0, 0.0);
    double day_s = 0.0;
    assert_int_equal(tl_sky_nearest_eclipse(&site, day_of(2024, 4, 8), NULL, &day_s), TL_OK);
    check_near(day_s, day_of(2025, 3, 29), 0.0);
    /* That day itself is left out: 501 days on, 886 back. */
    assert_int_equal(tl_sky_nearest_eclipse(&site, day_of(2025, 3, 29), NULL, &day_s), TL_OK);
    check_near(day_s, day_of(2026, 8, 12), 0.0);
    assert_int_equal(tl_sky_nearest_eclipse(&site, day_of(2023, 12, 1), NULL, &day_s), TL_OK);
    check_near(day_s, day_of(2022, 10, 25), 0.0);
    /* At both ends of the years it can compute. */
    assert_int_equal(tl_sky_nearest_eclipse(&site, day_of(1950, 1, 1), NULL, &day_s), TL_OK);
    assert_int_equal(tl_sky_nearest_eclipse(&site, day_of(2100, 12, 31), NULL, &day_s), TL_OK);
    assert_int_equal(tl_sky_nearest_eclipse(&site, day_of(1949, 1, 1), NULL, &day_s), TL_ERR_RANGE);
}

static void names(void **state) {
    (void)state;
    assert_string_equal(tl_contact_name[TL_C1], "C1");
    assert_string_equal(tl_contact_name[TL_C2], "C2");
    assert_string_equal(tl_contact_name[TL_MAX], "max");
    assert_string_equal(tl_contact_name[TL_C3], "C3");
    assert_string_equal(tl_contact_name[TL_C4], "C4");
    assert_string_equal(tl_eclipse_kind_name[TL_ECLIPSE_NONE], "none");
    assert_string_equal(tl_eclipse_kind_name[TL_ECLIPSE_PARTIAL], "partial");
    assert_string_equal(tl_eclipse_kind_name[TL_ECLIPSE_ANNULAR], "annular");
    assert_string_equal(tl_eclipse_kind_name[TL_ECLIPSE_TOTAL], "total");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(table_21_of_rp_1398),  cmocka_unit_test(separations_of_horizons),
        cmocka_unit_test(contacts_of_horizons), cmocka_unit_test(contacts_of_de431),
        cmocka_unit_test(cities_of_nasa_svs),   cmocka_unit_test(central_eclipses_of_the_canon),
        cmocka_unit_test(contact_points),       cmocka_unit_test(eclipses_on_the_horizon),
        cmocka_unit_test(the_day_may_be_local), cmocka_unit_test(refusals),
        cmocka_unit_test(nearest_eclipse),      cmocka_unit_test(names),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
