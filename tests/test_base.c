/*
 * test_base.c - conventions, calendar, parsing, directions, magnitude and obscuration.
 */
#define _DEFAULT_SOURCE /* timegm */
#include <stdatomic.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include "check.h"
#include "twolimb/limb.h"

/* A double near 7e9 s (the year 2199) is exact to half of 2^-20 s. */
static const double time_tolerance_s = 0.5e-6;
/* A few roundings of numbers near 1. */
static const double rounding = 4e-16;
/* The same where a square root or an angle near pi enters. */
static const double rounding_angle = 4e-15;

/* One sentence, what happened and then what to do; short enough to be a frame's reason. */
static void status_texts_say_what_to_do(void **state) {
    (void)state;
    for (int a = 0; a < TL_STATUS_COUNT; a++) {
        const char *text = tl_status_text((tl_status)a);
        const size_t length = strlen(text);
        assert_in_range(length, 20, TL_LIMB_REASON_SIZE - 1);
        assert_int_equal(text[length - 1], '.');
        assert_null(strstr(text, ". "));
        assert_non_null(strstr(text, "; "));
        for (int b = 0; b < a; b++)
            assert_string_not_equal(text, tl_status_text((tl_status)b));
    }
    assert_non_null(tl_status_text(TL_STATUS_COUNT));
}

static void expect_calendar(double t_s, int year, int month, int day, int hour, int minute,
                            double second) {
    const tl_calendar c = tl_time_to_calendar(t_s);
    assert_int_equal(c.year, year);
    assert_int_equal(c.month, month);
    assert_int_equal(c.day, day);
    assert_int_equal(c.hour, hour);
    assert_int_equal(c.minute, minute);
    check_near(c.second, second, time_tolerance_s);
    double back;
    assert_int_equal(tl_time_from_calendar(&c, &back), TL_OK);
    check_near(back, t_s, time_tolerance_s);
}

/* Every day from 1900 to 2199 against the C library's timegm and gmtime_r. */
static void calendar_agrees_with_c_library(void **state) {
    (void)state;
    struct tm first = {.tm_year = 0, .tm_mday = 1},
              last = {.tm_year = 299, .tm_mon = 11, .tm_mday = 31};
    const time_t from = timegm(&first), to = timegm(&last);
    size_t days = 0;
    for (time_t day = from; day <= to; day += 86400, days++) {
        /* A moment of the day that changes from day to day, and its last microsecond. */
        const time_t moment = day + (time_t)(days * 7919 % 86400);
        struct tm m;
        gmtime_r(&moment, &m);
        expect_calendar((double)moment + 0.25, m.tm_year + 1900, m.tm_mon + 1, m.tm_mday, m.tm_hour,
                        m.tm_min, m.tm_sec + 0.25);
        gmtime_r(&day, &m);
        expect_calendar((double)day + 86399.999999, m.tm_year + 1900, m.tm_mon + 1, m.tm_mday, 23,
                        59, 59.999999);
    }
    assert_int_equal(days, 109573); /* 300 years of 365 days, and 73 leap days */
}

static void calendar_refuses_what_does_not_exist(void **state) {
    (void)state;
    static const tl_calendar bad[] = {
        {2026, 6, 31, 0, 0, 0}, {2025, 2, 29, 0, 0, 0},   {2100, 2, 29, 0, 0, 0},
        {2026, 0, 1, 0, 0, 0},  {2026, 13, 1, 0, 0, 0},   {2026, 1, 0, 0, 0, 0},
        {2026, 1, 1, 24, 0, 0}, {2026, 1, 1, -1, 0, 0},   {2026, 1, 1, 0, 60, 0},
        {2026, 1, 1, 0, 0, 60}, {2026, 1, 1, 0, 0, -0.1}, {2026, 1, 1, 0, 0, NAN},
        {0, 1, 1, 0, 0, 0},     {10000, 1, 1, 0, 0, 0},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        double t = -7.0;
        assert_int_equal(tl_time_from_calendar(&bad[i], &t), TL_ERR_ARGUMENT);
        assert_true(t == -7.0);
    }
    const tl_calendar leap = {2000, 2, 29, 23, 59, 59.5};
    double t;
    assert_int_equal(tl_time_from_calendar(&leap, &t), TL_OK);
    assert_true(t == 951868799.5); /* date -u -d '2000-02-29 23:59:59' +%s (GNU coreutils) */
}

static void calendar_never_shows_second_60(void **state) {
    (void)state;
    static const double edge[] = {-1e-17, -1e-16, -1e-10, 59.999999999999993, 1e9 - 1e-7, 0.0};
    for (size_t i = 0; i < sizeof edge / sizeof edge[0]; i++) {
        const tl_calendar c = tl_time_to_calendar(edge[i]);
        assert_true(c.second >= 0.0 && c.second < 60.0);
    }
    assert_int_equal(tl_time_to_calendar(-1e300).year, 1);
    assert_int_equal(tl_time_to_calendar(1e300).year, 9999);
    assert_int_equal(tl_time_to_calendar(NAN).year, 1);
}

static void expect_text(double t_s, int decimals, const char *suffix, const char *expected) {
    char text[TL_TIME_TEXT_SIZE];
    memset(text, '#', sizeof text);
    tl_time_text(t_s, decimals, suffix, text);
    assert_string_equal(text, expected);
}

static void time_text_rounds_and_carries(void **state) {
    (void)state;
    /* 1786556823 s: date -u -d '2026-08-12 17:47:03' +%s (GNU coreutils) */
    expect_text(1786556823.25, 3, "Z", "2026-08-12T17:47:03.250Z");
    expect_text(1786556823.25, 1, "", "2026-08-12T17:47:03.3");
    expect_text(1786556823.25, 0, "Z", "2026-08-12T17:47:03Z");
    expect_text(59.9996, 3, "Z", "1970-01-01T00:01:00.000Z");
    expect_text(59.9994, 3, "Z", "1970-01-01T00:00:59.999Z");
    expect_text(59.96, 1, "", "1970-01-01T00:01:00.0");
    expect_text(-0.001, 3, "Z", "1969-12-31T23:59:59.999Z");
    expect_text(-0.0001, 3, "Z", "1970-01-01T00:00:00.000Z");
    /* One tick before midnight at the end of a leap day, and of a year. */
    expect_text(951868799.9999, 3, "Z", "2000-03-01T00:00:00.000Z");
    expect_text(1767225599.5, 0, "Z", "2026-01-01T00:00:00Z");
    /* Out of range, and a suffix too long: still within the buffer. */
    expect_text(1e300, 3, "", "9999-12-31T23:59:59.000");
    expect_text(0.0, 9, "a long suffix", "1970-01-01T00:00:00.000a long");
    expect_text(0.0, -1, "", "1970-01-01T00:00:00");
}

static void dates_and_zones_are_read_strictly(void **state) {
    (void)state;
    double t = -7.0;
    int minutes = -7;
    assert_int_equal(tl_date_parse("2026-08-12", &t), TL_OK);
    assert_true(t == 1786492800.0); /* date -u -d 2026-08-12 +%s (GNU coreutils) */
    static const char *const bad_date[] = {"",           "2026-8-12",  "2026-08-12 ", "2026/08/12",
                                           "20260812",   "2026-02-29", "2026-08-12T", " 2026-08-12",
                                           "0000-01-01", "+026-08-12", "2026-08-1x"};
    t = -7.0;
    for (size_t i = 0; i < sizeof bad_date / sizeof bad_date[0]; i++)
        assert_int_equal(tl_date_parse(bad_date[i], &t), TL_ERR_ARGUMENT);
    assert_true(t == -7.0);

    static const struct {
        const char *text;
        int minutes;
    } good[] = {{"Z", 0},         {"+00:00", 0},   {"-00:00", 0},   {"+02:00", 120},
                {"-03:30", -210}, {"+05:45", 345}, {"+14:00", 840}, {"-12:00", -720}};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        assert_int_equal(tl_zone_parse(good[i].text, &minutes), TL_OK);
        assert_int_equal(minutes, good[i].minutes);
    }
    static const char *const bad_zone[] = {"",        "02:00",  "+2:00", "+02:60", "+14:01",
                                           "+02:00 ", "+0200",  "z",     "Z+",     "+02:0",
                                           " +02:00", "+-2:00", "-99:99"};
    minutes = -7;
    for (size_t i = 0; i < sizeof bad_zone / sizeof bad_zone[0]; i++)
        assert_int_equal(tl_zone_parse(bad_zone[i], &minutes), TL_ERR_ARGUMENT);
    assert_int_equal(minutes, -7);
}

static void sites_are_read_strictly(void **state) {
    (void)state;
    tl_site site = {0};
    assert_int_equal(tl_site_parse("41.0,-83.4,250", &site), TL_OK);
    assert_int_equal(site.source, TL_SITE_GIVEN);
    check_near(site.lat_rad, 41.0 * TL_DEG, rounding);
    check_near(site.lon_rad, -83.4 * TL_DEG, rounding);
    assert_true(site.height_m == 250.0);
    assert_int_equal(tl_site_parse(" +49.84 , 7.87 ", &site), TL_OK);
    check_near(site.lat_rad, 49.84 * TL_DEG, rounding);
    assert_true(site.height_m == 0.0);
    /* The poles and the date line are exactly pi/2 and pi. */
    assert_int_equal(tl_site_parse("-90,180,-500", &site), TL_OK);
    assert_true(site.lat_rad == -TL_PI / 2 && site.lon_rad == TL_PI && site.height_m == -500.0);
    assert_int_equal(tl_site_parse("90,-180,9000", &site), TL_OK);
    assert_true(site.lat_rad == TL_PI / 2 && site.lon_rad == -TL_PI);
    /* More digits than a double holds are no error; fifteen count. */
    assert_int_equal(tl_site_parse("0.12345678901234567890123,1", &site), TL_OK);
    check_near(site.lat_rad, 0.12345678901234567890 * TL_DEG, 1e-16);

    static const char *const bad[] = {"",
                                      "41",
                                      "41,",
                                      "41,-83,",
                                      "41,-83,250,1",
                                      "41;-83",
                                      "41,-83x",
                                      "90.0001,0",
                                      "0,180.01",
                                      "0,0,9001",
                                      "0,0,-501",
                                      "nan,0",
                                      "inf,0",
                                      "0x10,0",
                                      "1e1,0",
                                      "41 N,83 W",
                                      "--1,0",
                                      ".5,0",
                                      "5.,0",
                                      "41,-83,250m",
                                      "41, ,2",
                                      "1000000000000000000000,0"};
    tl_site untouched = {.height_m = -7.0};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_int_equal(tl_site_parse(bad[i], &untouched), TL_ERR_ARGUMENT);
    assert_true(untouched.height_m == -7.0 && untouched.source == TL_SITE_NONE);
}

/* The words of base.h, at the four quarters. */
static void frame_axes_are_as_stated(void **state) {
    (void)state;
    static const struct {
        double up_deg;
        bool mirrored;
        double east, north, x, y;
    } known[] = {
        {0, false, 0, 1, 0, -1},                            /* north up */
        {0, false, 1, 0, -1, 0},                            /* east LEFT */
        {0, true, 1, 0, 1, 0},                              /* mirrored: east right */
        {90, false, 1, 0, 0, -1},                           /* east up */
        {90, false, 0, 1, 1, 0},                            /* then north is right */
        {90, true, 0, 1, -1, 0},  {180, false, 0, 1, 0, 1}, /* upside down */
    };
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        double x, y;
        tl_frame_from_sky(known[i].up_deg * TL_DEG, known[i].mirrored, known[i].east,
                          known[i].north, &x, &y);
        check_near(x, known[i].x, rounding);
        check_near(y, known[i].y, rounding);
    }
}

static void directions_go_there_and_back(void **state) {
    (void)state;
    static const double up_deg[] = {0,   1e-9,       45,  90,  179.999999, 180,
                                    270, 359.999999, 360, -90, 1234};
    static const double pa_deg[] = {0, 0.001, 89.99, 90, 135, 180, 270, 359.999};
    for (size_t u = 0; u < sizeof up_deg / sizeof up_deg[0]; u++)
        for (size_t p = 0; p < sizeof pa_deg / sizeof pa_deg[0]; p++)
            for (int mirrored = 0; mirrored < 2; mirrored++) {
                const double up = up_deg[u] * TL_DEG, pa = pa_deg[p] * TL_DEG, r = 0.7;
                double x, y, east, north;
                tl_frame_from_sky(up, mirrored, r * sin(pa), r * cos(pa), &x, &y);
                /* The definition in base.h, from the angle itself. */
                check_near(x, (mirrored ? 1 : -1) * r * sin(pa - up), rounding_angle);
                check_near(y, -r * cos(pa - up), rounding_angle);
                tl_sky_from_frame(up, mirrored, x, y, &east, &north);
                check_near(east, r * sin(pa), rounding);
                check_near(north, r * cos(pa), rounding);
            }
}

static void angles_come_into_one_turn(void **state) {
    (void)state;
    assert_true(tl_angle_positive(0.0) == 0.0);
    assert_true(tl_angle_positive(2.0 * TL_PI) == 0.0);
    assert_true(tl_angle_positive(-1e-20) == 0.0);
    check_near(tl_angle_positive(-0.5), 2.0 * TL_PI - 0.5, rounding_angle);
    check_near(tl_angle_positive(13.0), 13.0 - 4.0 * TL_PI, rounding_angle);
    assert_true(tl_angle_signed(TL_PI) == TL_PI);
    assert_true(tl_angle_signed(-TL_PI) == TL_PI);
    assert_true(tl_angle_signed(-1e-20) == -1e-20);
    check_near(tl_angle_signed(3.5), 3.5 - 2.0 * TL_PI, rounding_angle);
    check_near(tl_angle_signed(-3.5), 2.0 * TL_PI - 3.5, rounding_angle);
    for (double a = -20.0; a < 20.0; a += 0.37) {
        assert_true(tl_angle_positive(a) >= 0.0 && tl_angle_positive(a) < 2.0 * TL_PI);
        assert_true(tl_angle_signed(a) > -TL_PI && tl_angle_signed(a) <= TL_PI);
        check_near(sin(tl_angle_positive(a)), sin(a), rounding_angle);
        check_near(cos(tl_angle_signed(a)), cos(a), rounding_angle);
    }
}

static void magnitude_is_the_covered_diameter(void **state) {
    (void)state;
    check_near(tl_magnitude(1.0, 1.0), 0.5, rounding);
    check_near(tl_magnitude(0.5, 1.03), 0.765, rounding); /* (1 + 1.03 - 0.5) / 2 */
    assert_true(tl_magnitude(2.0, 1.0) == 0.0);
    assert_true(tl_magnitude(2.5, 1.0) == 0.0);
    check_near(tl_magnitude(2.029, 1.03), 0.0005, rounding);
    /* Total and annular: the ratio of the diameters. */
    assert_true(tl_magnitude(0.0, 1.03) == 1.03);
    assert_true(tl_magnitude(0.02, 1.03) == 1.03);
    assert_true(tl_magnitude(0.0, 0.95) == 0.95);
    assert_true(tl_magnitude(0.0, 1.0) == 1.0);
    check_near(tl_magnitude(0.0500001, 0.95), 0.95, 1e-7);
    assert_true(tl_magnitude(0.5, 0.0) == 0.0);
}

/* Covered share of the Sun by adding up thin slices, half a million of them. */
static double sliced_obscuration(double d, double k) {
    const int n = 500000;
    double area = 0.0;
    for (int i = 0; i < n; i++) {
        const double x = -1.0 + (i + 0.5) * 2.0 / n;
        const double sun = sqrt(1.0 - x * x);
        const double moon_2 = k * k - (x - d) * (x - d);
        if (moon_2 > 0.0)
            area += 2.0 * fmin(sun, sqrt(moon_2)) * 2.0 / n;
    }
    return area / TL_PI;
}

static void obscuration_is_the_covered_area(void **state) {
    (void)state;
    /* Closed forms for equal discs: 2/pi acos(d/2) - d/(2 pi) sqrt(4 - d^2). */
    check_near(tl_obscuration(1.0, 1.0), 2.0 / 3.0 - sqrt(3.0) / (2.0 * TL_PI), rounding);
    check_near(tl_obscuration(sqrt(2.0), 1.0), 0.5 - 1.0 / TL_PI, rounding);
    /* Slices err by their width to the power 3/2 where an edge is steep: below 1e-7. */
    const double slice_tolerance = 1e-7;
    static const double d[] = {0.01, 0.06, 0.3, 0.9, 1.0, 1.5, 1.9};
    static const double k[] = {0.3, 0.95, 1.0, 1.05, 1.7};
    for (size_t i = 0; i < sizeof d / sizeof d[0]; i++)
        for (size_t j = 0; j < sizeof k / sizeof k[0]; j++)
            check_near(tl_obscuration(d[i], k[j]), sliced_obscuration(d[i], k[j]), slice_tolerance);
}

/* A share within a sigma of the separation on either side lies within some two sigmas of its own;
 * by the slope alone that of a Moon right in front of the Sun would be nothing. */
static void shares_are_as_uncertain_as_their_separation(void **state) {
    (void)state;
    static const double k[] = {0.95, 1.0, 1.04}, sigma[] = {1e-4, 0.01, 0.3, 0.8};
    for (size_t i = 0; i < sizeof k / sizeof k[0]; i++)
        for (size_t j = 0; j < sizeof sigma / sizeof sigma[0]; j++)
            for (double d = 0.0; d < 1.0 + k[i]; d += 0.01)
                for (int side = -1; side <= 1; side += 2) {
                    const double there = fabs(d + side * sigma[j]);
                    const double m = tl_magnitude_sigma(d, sigma[j], k[i], 1e-5);
                    const double o = tl_obscuration_sigma(d, sigma[j], k[i], 1e-5);
                    if (fabs(tl_magnitude(there, k[i]) - tl_magnitude(d, k[i])) > 2.0 * m + 1e-9 ||
                        fabs(tl_obscuration(there, k[i]) - tl_obscuration(d, k[i])) >
                            2.0 * o + 1e-9)
                        fail_msg("d %.2f +- %g, ratio %g: %g, %g", d, sigma[j], k[i], m, o);
                }
    check_near(tl_magnitude_sigma(0.5, 0.006, 1.0, 0.008), 0.005, rounding); /* half of 3-4-5 */
    check_near(tl_magnitude_sigma(0.0, 0.001, 1.04, 0.002), 0.002, rounding);
    check_near(tl_obscuration_sigma(0.0, 0.001, 0.95, 0.002), 0.0038, rounding);
    assert_true(tl_obscuration_sigma(0.0, 0.001, 1.04, 0.002) == 0.0);
    /* Drawn: the spread of the shares of many discs, for a Moon of which little is known. */
    static const double drawn[][4] = {
        {0.386, 0.0057, 1.023, 0.022}, {1.2, 0.02, 0.95, 0.03}, {0.8, 0.001, 1.05, 0.01}};
    for (size_t i = 0; i < sizeof drawn / sizeof drawn[0]; i++) {
        enum { DRAWS = 40000 };
        const double *p = drawn[i];
        double sum[2] = {0.0, 0.0}, square[2] = {0.0, 0.0};
        uint32_t random = 1;
        for (int n = 0; n < DRAWS; n++) {
            double normal[2] = {-6.0, -6.0}; /* of twelve even ones: variance 1 */
            for (int e = 0; e < 24; e++)
                normal[e % 2] += (random = random * 1664525u + 1013904223u) / 4294967296.0;
            const double d = p[0] + p[1] * normal[0], ratio = p[2] + p[3] * normal[1];
            const double share[2] = {tl_magnitude(d, ratio), tl_obscuration(d, ratio)};
            for (int w = 0; w < 2; w++) {
                sum[w] += share[w] / DRAWS;
                square[w] += share[w] * share[w] / DRAWS;
            }
        }
        const double m = sqrt(square[0] - sum[0] * sum[0]), o = sqrt(square[1] - sum[1] * sum[1]);
        check_near(tl_magnitude_sigma(p[0], p[1], p[2], p[3]), m, 0.03 * m);
        check_near(tl_obscuration_sigma(p[0], p[1], p[2], p[3]), o, 0.03 * o);
    }
}

static void obscuration_is_sound_where_discs_touch(void **state) {
    (void)state;
    assert_true(tl_obscuration(0.0, 1.0) == 1.0);
    assert_true(tl_obscuration(0.0, 1.05) == 1.0);
    check_near(tl_obscuration(0.0, 0.95), 0.9025, rounding);
    assert_true(tl_obscuration(2.0, 1.0) == 0.0);
    assert_true(tl_obscuration(9.0, 1.0) == 0.0);
    assert_true(tl_obscuration(0.5, 0.0) == 0.0);
    static const double k[] = {0.2, 0.95, 1.0, 1.05, 3.0};
    for (size_t i = 0; i < sizeof k / sizeof k[0]; i++) {
        /* Near outer contact, with q = 1 + k - d small, the lens is two parabola segments:
         * area = (4/3) q^(3/2) sqrt(2 k / (1 + k)), up to terms of q^(5/2). */
        const double q = 1e-6;
        const double lens = 4.0 / 3.0 * pow(q, 1.5) * sqrt(2.0 * k[i] / (1.0 + k[i])) / TL_PI;
        check_near(tl_obscuration(1.0 + k[i] - q, k[i]), lens, 1e-4 * lens);
        /* A hair from inner contact: no jump, no NaN, never above 1. */
        const double inner = fabs(1.0 - k[i]), full = fmin(1.0, k[i] * k[i]);
        check_near(tl_obscuration(inner + 1e-12, k[i]), full, 1e-11);
        assert_true(tl_obscuration(inner + 1e-12, k[i]) <= 1.0);
        for (double d = 1e-3; d < 1.0 + k[i]; d += 1e-3)
            assert_true(tl_obscuration(d, k[i]) <= tl_obscuration(d - 1e-3, k[i]));
    }
}

/* Maximum at eight places on 1999-08-11: NASA RP 1398 (Espenak & Anderson 1997), table 21. */
static void obscuration_agrees_with_published_table(void **state) {
    (void)state;
    static const struct {
        double magnitude, obscuration;
    } place[] = {{.722, .656}, {.718, .651}, {.756, .698}, {.637, .553},
                 {.822, .781}, {.931, .920}, {.905, .887}, {.818, .776}};
    /* Printed to three digits each, so 0.0005 of either, the first enters 1.3 times (the slope);
     * the ratio, not printed for a place, is near 1.027 there and moves this by less than 0.0003.
     */
    const double ratio = 1.027, tolerance = 0.0005 + 1.3 * 0.0005 + 0.0003;
    for (size_t i = 0; i < sizeof place / sizeof place[0]; i++) {
        const double separation = 1.0 + ratio - 2.0 * place[i].magnitude;
        check_near(tl_magnitude(separation, ratio), place[i].magnitude, rounding);
        check_near(tl_obscuration(separation, ratio), place[i].obscuration, tolerance);
    }
}

enum { JOBS = 1000 };
typedef struct tally {
    atomic_int runs[JOBS];
} tally;

static void count_run(void *context, size_t i) {
    tally *t = context;
    atomic_fetch_add(&t->runs[i], 1);
}

static void parallel_runs_each_job_once(void **state) {
    (void)state;
    static const int threads[] = {0, 1, 2, 7, 500, -1};
    static const size_t counts[] = {0, 1, 3, JOBS};
    for (size_t t = 0; t < sizeof threads / sizeof threads[0]; t++)
        for (size_t c = 0; c < sizeof counts / sizeof counts[0]; c++) {
            tally sum;
            for (size_t i = 0; i < JOBS; i++)
                atomic_init(&sum.runs[i], 0);
            tl_parallel(counts[c], threads[t], count_run, &sum);
            for (size_t i = 0; i < JOBS; i++)
                assert_int_equal(atomic_load(&sum.runs[i]), i < counts[c] ? 1 : 0);
        }
}

/* Two jobs that wait for each other can only end when they run at the same time. */
static void meet(void *context, size_t i) {
    atomic_int *arrived = context;
    (void)i;
    atomic_fetch_add(arrived, 1);
    const struct timespec nap = {0, 1000000};
    for (int tries = 0; tries < 10000 && atomic_load(arrived) < 2; tries++)
        nanosleep(&nap, NULL);
    if (atomic_load(arrived) < 2)
        atomic_fetch_add(arrived, 100);
}

static void parallel_runs_at_the_same_time(void **state) {
    (void)state;
    atomic_int arrived;
    atomic_init(&arrived, 0);
    tl_parallel(2, 2, meet, &arrived);
    assert_int_equal(atomic_load(&arrived), 2);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(status_texts_say_what_to_do),
        cmocka_unit_test(calendar_agrees_with_c_library),
        cmocka_unit_test(calendar_refuses_what_does_not_exist),
        cmocka_unit_test(calendar_never_shows_second_60),
        cmocka_unit_test(time_text_rounds_and_carries),
        cmocka_unit_test(dates_and_zones_are_read_strictly),
        cmocka_unit_test(sites_are_read_strictly),
        cmocka_unit_test(frame_axes_are_as_stated),
        cmocka_unit_test(directions_go_there_and_back),
        cmocka_unit_test(angles_come_into_one_turn),
        cmocka_unit_test(magnitude_is_the_covered_diameter),
        cmocka_unit_test(obscuration_is_the_covered_area),
        cmocka_unit_test(shares_are_as_uncertain_as_their_separation),
        cmocka_unit_test(obscuration_is_sound_where_discs_touch),
        cmocka_unit_test(obscuration_agrees_with_published_table),
        cmocka_unit_test(parallel_runs_each_job_once),
        cmocka_unit_test(parallel_runs_at_the_same_time),
    };
    return cmocka_run_group_tests_name("base", tests, NULL, NULL);
}
