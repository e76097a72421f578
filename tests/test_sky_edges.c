/*
 * test_sky_edges.c - hard places and days: poles, date line, midnight, mountains, years beyond the
 * tables, every kind of eclipse; how well a contact is known; what practitioners say they saw.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <string.h>

#include "check.h"
#include "sky/sky_internal.h"

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

static double clock_s(int hour, int minute, double second) {
    return hour * 3600.0 + minute * 60.0 + second;
}

static tl_circumstances circumstances_of(const tl_site *site, double day_s,
                                         const tl_sky_options *options) {
    tl_circumstances result;
    assert_int_equal(tl_sky_circumstances(site, day_s, options, &result), TL_OK);
    return result;
}

/* ---- fixtures/reference/de431_chosen.csv ---- */

typedef struct chosen {
    double lat_deg, lon_deg, height_m, jd, contact_s[TL_CONTACTS]; /* TT; NaN: does not occur */
    char why[64];
} chosen;

enum { CHOSEN = 17 };

static void read_chosen(chosen list[CHOSEN]) {
    FILE *file = fopen("fixtures/reference/de431_chosen.csv", "r");
    assert_non_null(file);
    char line[256];
    assert_non_null(fgets(line, sizeof line, file));
    for (int i = 0; i < CHOSEN; i++) {
        chosen *c = &list[i];
        double *t = c->contact_s;
        assert_non_null(fgets(line, sizeof line, file));
        assert_int_equal(sscanf(line, "%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf,%63[^\r\n]", &c->lat_deg,
                                &c->lon_deg, &c->height_m, &c->jd, &t[TL_C1], &t[TL_C2], &t[TL_MAX],
                                &t[TL_C3], &t[TL_C4], c->why),
                         10);
    }
    assert_null(fgets(line, sizeof line, file));
    fclose(file);
}

static tl_circumstances ours(const chosen *c) {
    const tl_site site = site_of(c->lat_deg, c->lon_deg, c->height_m);
    tl_sky_options options = tl_sky_options_default();
    options.deltat_given = true; /* as the reference has it */
    options.deltat_s = 65.0;
    return circumstances_of(&site, (c->jd - TL_SKY_JD_1970) * TL_DAY_S, &options);
}

static void chosen_of_de431(void **state) {
    (void)state;
    const double tolerance_s = 0.2; /* the figure in the design */
    static chosen list[CHOSEN];
    read_chosen(list);
    for (int i = 0; i < CHOSEN; i++) {
        tl_circumstances found = ours(&list[i]);
        for (int k = 0; k < TL_CONTACTS; k++) {
            assert_int_equal(found.contact[k].occurs, !isnan(list[i].contact_s[k]));
            if (!found.contact[k].occurs)
                continue;
            double tt_s = 0.0;
            assert_int_equal(tl_sky_tt(found.contact[k].t_utc_s, &tt_s), TL_OK);
            check_near(tt_s - (list[i].jd - TL_SKY_JD_1970) * TL_DAY_S, list[i].contact_s[k],
                       tolerance_s);
            check_near(found.contact[k].sigma_s, 0.0, 0.0); /* Delta-T was given */
        }
        /* What the eclipse was chosen for. */
        bool annular = strstr(list[i].why, "annular") != NULL;
        if (annular || strstr(list[i].why, "total") != NULL)
            assert_int_equal(found.kind, annular ? TL_ECLIPSE_ANNULAR : TL_ECLIPSE_TOTAL);
    }
}

/* A pole has no longitude, and the two names of the date line are one place. */
static void one_place_two_names(void **state) {
    (void)state;
    const double rounding_s = 1e-3; /* the settling of the search for the maximum */
    static const struct {
        double lat_deg, lon_deg[2];
        int year, month, day;
    } row[] = {{90.0, {0.0, 123.0}, 2021, 6, 10},
               {-90.0, {0.0, -77.0}, 2021, 12, 4},
               {20.0, {180.0, -180.0}, 2009, 7, 22}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        tl_circumstances found[2];
        for (int k = 0; k < 2; k++) {
            const tl_site site = site_of(row[i].lat_deg, row[i].lon_deg[k], 0.0);
            found[k] = circumstances_of(&site, day_of(row[i].year, row[i].month, row[i].day), NULL);
        }
        for (int k = 0; k < TL_CONTACTS; k++) {
            check_near(found[0].contact[k].t_utc_s, found[1].contact[k].t_utc_s, rounding_s);
            check_near(tl_angle_signed(found[0].contact[k].pa_rad - found[1].contact[k].pa_rad),
                       0.0, 1e-6);
        }
        check_near(found[0].magnitude, found[1].magnitude, 1e-9);
    }
}

/* 2012-05-20: C1 before, C4 after midnight UT; one eclipse, whichever of the two days is asked. */
static void across_midnight(void **state) {
    (void)state;
    const tl_site site = site_of(50.0, -175.0, 0.0);
    const double day_s = day_of(2012, 5, 20);
    tl_circumstances a = circumstances_of(&site, day_s, NULL);
    tl_circumstances b = circumstances_of(&site, day_s + TL_DAY_S, NULL);
    assert_true(a.contact[TL_C1].t_utc_s < day_s + TL_DAY_S);
    assert_true(a.contact[TL_C4].t_utc_s > day_s + TL_DAY_S);
    for (int k = 0; k < TL_CONTACTS; k++)
        check_near(a.contact[k].t_utc_s, b.contact[k].t_utc_s, 0.0);
}

/* ---- how well TT - UT1 is known ---- */

/* P. J. Huber (2006), as sky.h says: closed form, N years after the table's end (2026.0). */
static double huber_s(double years) {
    return 365.25 * years * sqrt(years * 0.058 / 3.0 * (1.0 + years / 2500.0)) / 1000.0;
}

static void deltat_uncertainty(void **state) {
    (void)state;
    const double table_s = 0.04; /* of the last rows, in quadrature */
    static const int year[] = {2031, 2036, 2050, 2100};
    for (size_t i = 0; i < sizeof year / sizeof year[0]; i++) {
        double expected = hypot(table_s, huber_s(year[i] - 2026));
        check_near(tl_sky_deltat_sigma(day_of(year[i], 1, 1)), expected, 0.002 * expected);
    }
    /* Worked by hand for 75 years: 27394 x 1.2221 / 1000. */
    check_near(tl_sky_deltat_sigma(day_of(2101, 1, 1)), 33.5, 0.2);
    check_near(tl_sky_deltat_sigma(day_of(1952, 1, 1)), 0.1, 0.0);
    assert_true(tl_sky_deltat_sigma(day_of(1965, 1, 1)) < 0.05);
    assert_true(tl_sky_deltat_sigma(day_of(2000, 1, 1)) < 0.01);
    assert_true(tl_sky_deltat_sigma(day_of(2026, 8, 12)) < 0.1);
}

/* The table's rows before 1973 are within their sigma of Meeus, table 10.A (from memory), which is
 * printed to 0.1 s. */
static void deltat_before_1973(void **state) {
    (void)state;
    static const struct {
        int year;
        double deltat_s;
    } row[] = {{1950, 29.1}, {1954, 30.6}, {1958, 32.2}, {1962, 34.0},
               {1966, 36.5}, {1970, 40.2}, {1972, 42.2}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        double t = day_of(row[i].year, 1, 1);
        check_near(tl_sky_deltat(t), row[i].deltat_s, 0.05 + tl_sky_deltat_sigma(t));
    }
}

/*
 * sigma_s against what it stands for: the contacts computed again with TT - UT1 one sigma larger.
 * In UTC tied to TT they move by the one number, in UTC tied to UT1 by the other.
 */
static void contact_sigma_is_the_shift(void **state) {
    (void)state;
    static const struct {
        double lat_deg, lon_deg;
        int year, month, day;
    } row[] = {{38.0, -98.0, 2045, 8, 12}, {47.0, 8.0, 2081, 9, 3}, {-70.0, 100.0, 2039, 12, 15}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        const tl_site site = site_of(row[i].lat_deg, row[i].lon_deg, 0.0);
        const double day_s = day_of(row[i].year, row[i].month, row[i].day);
        tl_circumstances plain = circumstances_of(&site, day_s, NULL);
        tl_sky_options options = tl_sky_options_default();
        options.deltat_given = true;
        options.deltat_s = plain.deltat_s + plain.deltat_sigma_s;
        tl_circumstances turned = circumstances_of(&site, day_s, &options);
        assert_true(plain.deltat_sigma_s > 2.0);
        for (int k = 0; k < TL_CONTACTS; k++) {
            if (!plain.contact[k].occurs || !turned.contact[k].occurs)
                continue;
            double slip = turned.contact[k].t_utc_s - plain.contact[k].t_utc_s;
            double expected = fmax(fabs(slip), fabs(plain.deltat_sigma_s - slip));
            check_near(plain.contact[k].sigma_s, expected, 0.005 * expected); /* curvature */
        }
    }
}

/* ---- common practice, no source ---- */

/* At 42.4 N 83.4 W the partial phase of 2024-04-08 ran from about two o'clock to about half past
 * four, daylight time (UTC-4). */
static void afternoon_of_2024(void **state) {
    (void)state;
    const double about_s = 300.0;
    const tl_site site = site_of(42.4, -83.4, 250.0);
    const double local_s = day_of(2024, 4, 8) + 4.0 * 3600.0;
    tl_circumstances found = circumstances_of(&site, day_of(2024, 4, 8), NULL);
    check_near(found.contact[TL_C1].t_utc_s - local_s, clock_s(14, 0, 0), about_s);
    check_near(found.contact[TL_C4].t_utc_s - local_s, clock_s(16, 30, 0), about_s);
    assert_int_equal(found.kind, TL_ECLIPSE_PARTIAL);
}

static double totality_s(double lat_deg, double lon_deg, const tl_sky_options *options) {
    const tl_site site = site_of(lat_deg, lon_deg, 200.0);
    tl_circumstances found = circumstances_of(&site, day_of(2024, 4, 8), options);
    assert_int_equal(found.kind, TL_ECLIPSE_TOTAL);
    return found.contact[TL_C3].t_utc_s - found.contact[TL_C2].t_utc_s;
}

/*
 * Three minutes and some forty seconds on the centre line near 43.2 N 77.6 W; three minutes and
 * something ten miles off it near 39.0 N 86.5 W. For a smooth limb of the valleys' radius.
 */
static void totality_of_2024(void **state) {
    (void)state;
    tl_sky_options options = tl_sky_options_default();
    options.moon_k = 0.272281;
    check_near(totality_s(43.2, -77.6, &options), clock_s(0, 3, 40), 10.0);
    double off = totality_s(39.0, -86.5, &options);
    assert_true(off >= clock_s(0, 3, 0) && off < clock_s(0, 4, 0));
}

/* An observer who timed the beads by the older solar radius missed them by a second or two, and had
 * them with the newer one: totality begins later and ends earlier. */
static void beads_and_the_solar_radius(void **state) {
    (void)state;
    const double least_s = 0.5, most_s = 2.0;
    tl_sky_options newer = tl_sky_options_default();
    newer.sun_radius_arcsec = 959.95;
    const tl_site site = site_of(43.2, -77.6, 200.0);
    tl_circumstances before = circumstances_of(&site, day_of(2024, 4, 8), NULL);
    tl_circumstances after = circumstances_of(&site, day_of(2024, 4, 8), &newer);
    double later_s = after.contact[TL_C2].t_utc_s - before.contact[TL_C2].t_utc_s;
    double earlier_s = before.contact[TL_C3].t_utc_s - after.contact[TL_C3].t_utc_s;
    assert_true(later_s > least_s && later_s < most_s);
    assert_true(earlier_s > least_s && earlier_s < most_s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(chosen_of_de431),
        cmocka_unit_test(one_place_two_names),
        cmocka_unit_test(across_midnight),
        cmocka_unit_test(deltat_uncertainty),
        cmocka_unit_test(deltat_before_1973),
        cmocka_unit_test(contact_sigma_is_the_shift),
        cmocka_unit_test(afternoon_of_2024),
        cmocka_unit_test(totality_of_2024),
        cmocka_unit_test(beads_and_the_solar_radius),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
