/*
 * test_sky_table.c - the tabulated sky against the sky computed for the instant.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <erfa.h>

#include "check.h"
#include "twolimb/sky.h"

/* The figure promised in sky.h. */
static const double tolerance_rad = 0.001 * TL_ARCSEC;
/* What 0.001 arcsec of parallax or of radius amounts to. */
static const double tolerance_km = 0.1;
static const double tolerance_au = 1e-9;

static double utc_of(int year, int month, int day, double second_of_day) {
    const tl_calendar calendar = {year, month, day, 0, 0, 0.0};
    double t = 0.0;
    assert_int_equal(tl_time_from_calendar(&calendar, &t), TL_OK);
    return t + second_of_day;
}

static void check_same(const tl_sky *a, const tl_sky *b) {
    check_near(eraSeps(a->sun_ra_rad, a->sun_dec_rad, b->sun_ra_rad, b->sun_dec_rad), 0.0,
               tolerance_rad);
    check_near(eraSeps(a->moon_ra_rad, a->moon_dec_rad, b->moon_ra_rad, b->moon_dec_rad), 0.0,
               tolerance_rad);
    check_near(a->separation_rad, b->separation_rad, tolerance_rad);
    check_near(a->sun_radius_rad, b->sun_radius_rad, tolerance_rad);
    check_near(a->moon_radius_rad, b->moon_radius_rad, tolerance_rad);
    check_near(a->moon_distance_km, b->moon_distance_km, tolerance_km);
    check_near(a->sun_distance_au, b->sun_distance_au, tolerance_au);
    check_near(a->sun_altitude_rad, b->sun_altitude_rad, tolerance_rad);
    check_near(tl_angle_signed(a->sun_azimuth_rad - b->sun_azimuth_rad), 0.0, tolerance_rad);
    check_near(tl_angle_signed(a->parallactic_rad - b->parallactic_rad), 0.0, tolerance_rad);
    check_near(a->p_rad, b->p_rad, tolerance_rad);
    check_near(a->b0_rad, b->b0_rad, tolerance_rad);
    check_near(tl_angle_signed(a->l0_rad - b->l0_rad), 0.0, tolerance_rad);
    check_near(a->deltat_s, b->deltat_s, 1e-6); /* s; its table is linear between months */
    check_near(a->magnitude, b->magnitude, 1e-6);
    check_near(a->t_utc_s, b->t_utc_s, 0.0);
}

/* Sites that are hard on an interpolation, and a span with a leap second in it. */
static void table_equals_the_instant(void **state) {
    (void)state;
    static const struct {
        double lat_deg, lon_deg;
        int year, month, day;
    } row[] = {{0.0, 179.99, 2017, 1, 1}, {-89.0, 0.0, 2021, 12, 4}, {35.1, -92.4, 2024, 4, 8}};
    enum { INSTANTS = 61 };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        const tl_site site = {TL_SITE_GIVEN, row[i].lat_deg * TL_DEG, row[i].lon_deg * TL_DEG, 0.0};
        double middle = utc_of(row[i].year, row[i].month, row[i].day, 0.0);
        double from = middle - 2.0 * 3600.0, to = middle + 2.5 * 3600.0 + 11.0;
        tl_sky_table *table = NULL;
        assert_int_equal(tl_sky_table_make(&site, from, to, NULL, &table), TL_OK);
        for (int k = 0; k < INSTANTS; k++) {
            double t = from + (to - from) * k / (INSTANTS - 1);
            tl_sky whole, quick;
            assert_int_equal(tl_sky_at(&site, t, NULL, &whole), TL_OK);
            assert_int_equal(tl_sky_table_at(table, t, &quick), TL_OK);
            check_same(&whole, &quick);
        }
        tl_sky_table_free(table);
    }
}

/* What is tabulated belongs to no place: one table serves them all. */
static void table_serves_other_sites(void **state) {
    (void)state;
    const tl_site made_for = {TL_SITE_GIVEN, 0.5, 1.0, 0.0};
    const tl_site other = {TL_SITE_GIVEN, -1.2, -3.1, 2400.0};
    const tl_site impossible = {TL_SITE_GIVEN, 2.0, 0.0, 0.0};
    double t = utc_of(2024, 4, 8, 65000.0);
    tl_sky_table *table = NULL;
    tl_sky whole, quick;
    assert_int_equal(tl_sky_table_make(&made_for, t - 3600.0, t + 3600.0, NULL, &table), TL_OK);
    assert_int_equal(tl_sky_table_at_site(table, &other, t, &quick), TL_OK);
    assert_int_equal(tl_sky_at(&other, t, NULL, &whole), TL_OK);
    check_same(&whole, &quick);
    assert_int_equal(tl_sky_table_at_site(table, &impossible, t, &quick), TL_ERR_RANGE);
    assert_int_equal(tl_sky_table_at_site(table, &other, t + 3601.0, &quick), TL_ERR_RANGE);
    tl_sky_table_free(table);
}

static void table_keeps_its_options(void **state) {
    (void)state;
    const tl_site site = {TL_SITE_GIVEN, 0.5, 1.0, 0.0};
    tl_sky_options options = tl_sky_options_default();
    options.moon_k = 0.272281;
    options.deltat_given = true;
    options.deltat_s = 60.0;
    options.pressure_hpa = 0.0;
    double t = utc_of(2010, 1, 15, 20000.0);
    tl_sky_table *table = NULL;
    tl_sky whole, quick;
    assert_int_equal(tl_sky_table_make(&site, t, t, &options, &table), TL_OK);
    assert_int_equal(tl_sky_table_at(table, t, &quick), TL_OK);
    assert_int_equal(tl_sky_at(&site, t, &options, &whole), TL_OK);
    check_same(&whole, &quick);
    check_near(quick.refraction_rad, 0.0, 0.0);
    tl_sky_table_free(table);
}

static void refusals(void **state) {
    (void)state;
    const tl_site site = {TL_SITE_GIVEN, 0.5, 1.0, 0.0};
    const tl_site nowhere = {TL_SITE_NONE, 0.0, 0.0, 0.0};
    double t = utc_of(2024, 4, 8, 0.0);
    tl_sky_table *table = NULL;
    tl_sky sky = {.ratio = 7.0};
    assert_int_equal(tl_sky_table_make(&site, t, t - 1.0, NULL, &table), TL_ERR_ARGUMENT);
    assert_int_equal(tl_sky_table_make(&site, t, NAN, NULL, &table), TL_ERR_ARGUMENT);
    assert_int_equal(tl_sky_table_make(&site, t, utc_of(2102, 1, 1, 0.0), NULL, &table),
                     TL_ERR_RANGE);
    assert_int_equal(tl_sky_table_make(&nowhere, t, t, NULL, &table), TL_ERR_RANGE);
    assert_null(table);
    assert_int_equal(tl_sky_table_make(&site, t, t + 600.0, NULL, &table), TL_OK);
    assert_int_equal(tl_sky_table_at(table, t - 0.001, &sky), TL_ERR_RANGE);
    assert_int_equal(tl_sky_table_at(table, t + 600.001, &sky), TL_ERR_RANGE);
    assert_int_equal(tl_sky_table_at(table, NAN, &sky), TL_ERR_RANGE);
    check_near(sky.ratio, 7.0, 0.0); /* untouched */
    tl_sky_table_free(table);
    tl_sky_table_free(NULL);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(table_equals_the_instant),
        cmocka_unit_test(table_serves_other_sites),
        cmocka_unit_test(table_keeps_its_options),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
