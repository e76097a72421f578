/*
 * The series in time: what is known of it, the steps and ranges of its axes, the trend of the blur.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/timeline_internal.h"
#include "test_report_series.h"
#include "test_report_spot_series.h"

static tl_report_timeline timeline_of(const tl_sequence *s) {
    const tl_report_facts facts = tl_report_facts_of(s);
    tl_report_timeline timeline;
    assert_int_equal(tl_report_timeline_make(s, &facts, &timeline), TL_OK);
    return timeline;
}

static const tl_report_time_point *point_of(const tl_report_timeline *timeline, size_t frame) {
    for (size_t i = 0; i < timeline->point_count; i++)
        if (timeline->point[i].frame == frame)
            return &timeline->point[i];
    return NULL;
}

/* ---- axes ---- */

/* The definition: 1, 2 or 5 times a power of ten, and the smallest that does. */
static void steps_are_1_2_5(void **state) {
    (void)state;
    static const struct {
        double span, most, step;
        int decimals;
    } known[] = {{2.2, 5, 0.5, 1},      {1, 10, 0.1, 1},    {9, 3, 5, 0},       {100, 4, 50, 0},
                 {0.0094, 4, 0.005, 3}, {1000, 1, 1000, 0}, {6e-3, 3, 2e-3, 3}, {21, 10, 5, 0}};
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        const double step = tl_report_nice_step(known[i].span, known[i].most);
        assert_close(step, known[i].step, 1e-12 * known[i].step);
        assert_int_equal(tl_report_step_decimals(step), known[i].decimals);
    }
    assert_int_equal(tl_report_minute_step(8219.0, 12.0), 15); /* 137 min / 12 = 11.4 min */
    assert_int_equal(tl_report_minute_step(1800.0, 12.0), 5);
    assert_int_equal(tl_report_minute_step(3600.0, 6.0), 10);
    assert_int_equal(tl_report_minute_step(7200.0, 4.0), 30);
    assert_int_equal(tl_report_minute_step(86400.0, 12.0), 120);
}

/* Half widths of 10 and a gap of 4: neighbours that touch stand 24 apart about their mean. */
static void labels_are_moved_as_little_as_needed(void **state) {
    (void)state;
    const double half[] = {10.0, 10.0, 10.0, 10.0};
    double free[] = {20.0, 100.0}, three[] = {99.0, 101.0, 103.0, 400.0};
    double edge[] = {3.0, 6.0}, end[] = {497.0, 499.0};
    assert_true(tl_report_spread(free, half, 2, 4.0, 0.0, 500.0));
    assert_close(free[0], 20.0, 1e-9);
    assert_close(free[1], 100.0, 1e-9);
    assert_true(tl_report_spread(three, half, 4, 4.0, 0.0, 500.0));
    assert_close(three[0], 77.0, 1e-9);
    assert_close(three[1], 101.0, 1e-9);
    assert_close(three[2], 125.0, 1e-9);
    assert_close(three[3], 400.0, 1e-9);
    assert_true(tl_report_spread(edge, half, 2, 4.0, 0.0, 500.0));
    assert_close(edge[0], 10.0, 1e-9);
    assert_close(edge[1], 34.0, 1e-9);
    assert_true(tl_report_spread(end, half, 2, 4.0, 0.0, 500.0));
    assert_close(end[1], 490.0, 1e-9);
    assert_false(tl_report_spread(edge, half, 2, 4.0, 0.0, 43.0)); /* 2 * 20 + 4 */
    assert_true(tl_report_spread(edge, half, 2, 4.0, 0.0, 44.0));
}

/* ---- with an almanac ---- */

/* At C1 and C4 the centres are 1 + ratio apart, at maximum as far as the almanac has them; the
 * invented errors of the series are its residuals. */
static void almanac_line_and_points(void **state) {
    (void)state;
    const double tolerance_sr = 5e-3; /* as in test_report_path.c: the ratio is that of maximum */
    tl_sequence s = series_solved();
    tl_report_timeline t = timeline_of(&s);
    double least = INFINITY;
    assert_true(t.utc && t.has_zone);
    assert_int_equal(t.zone_minutes, SERIES_ZONE_MINUTES);
    assert_int_equal(t.panels, TL_REPORT_ALL_PANELS);
    assert_close(t.line[0].separation_sr, 1.0 + 1.07581, tolerance_sr);
    assert_close(t.line[t.line_count - 1].separation_sr, 1.0 + 1.07581, tolerance_sr);
    for (size_t i = 0; i < t.line_count; i++)
        least = fmin(least, t.line[i].separation_sr);
    assert_close(least, 0.67838, 1e-4);
    assert_close(t.contact_s[TL_MAX], SERIES_DAY_S + 32950.0, 1e-6);
    assert_true(t.has_contact[TL_C1] && !t.has_contact[TL_C2]);
    assert_true(t.from_s < t.contact_s[TL_C1] && t.to_s > t.contact_s[TL_C4]);
    assert_int_equal(t.point_count, 10); /* 9 measured and one whole disc */
    for (size_t i = 1; i < t.point_count; i++)
        assert_true(t.point[i].t_s > t.point[i - 1].t_s);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

static void values_of_a_picture(void **state) {
    (void)state;
    const size_t frame = 3;
    tl_sequence s = series_solved();
    tl_report_timeline t = timeline_of(&s);
    const tl_report_time_point *point = point_of(&t, frame);
    const double radius = s.track.frame[frame].sky.sun_radius_rad / TL_ARCSEC;
    tl_sky before, after;
    assert_non_null(point);
    assert_int_equal(tl_sky_at(&s.options.site, series_utc(frame) - 30.0, NULL, &before), TL_OK);
    assert_int_equal(tl_sky_at(&s.options.site, series_utc(frame) + 30.0, NULL, &after), TL_OK);
    const double stamp_sr = 0.29 * (after.separation_sr - before.separation_sr) / 60.0;
    assert_close(point->residual, 0.0025 * radius, 1e-9);
    assert_close(point->residual_sigma, radius * hypot(SERIES_SIGMA_SR, stamp_sr), 1e-6);
    assert_close(point->blur, 1.84 / 300.125 * radius, 1e-9);
    assert_close(point->magnitude, 0.5 * (1.0 + SERIES_RATIO - point->separation_sr), 1e-12);
    assert_close(t.floor, 0.64, 0.01); /* arcsec, as TL_TRACK_FLOOR_SR is explained */
    assert_false(point->doubtful || point->from_itself || point->other_camera);
    assert_true(point_of(&t, SERIES_OUTLIER)->doubtful);
    assert_true(isnan(point_of(&t, SERIES_SUN_ONLY)->separation_sr));
    assert_true(isnan(point_of(&t, SERIES_SUN_ONLY)->residual));
    assert_close(point_of(&t, SERIES_SUN_ONLY)->blur, 1.84 / 300.125 * radius, 0.01);
    assert_null(point_of(&t, SERIES_REFUSED));
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

/* A second camera; a picture with the time that its own separation gives; one of another day. */
static void odd_pictures_are_told_apart(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    s.frame[0].excluded = true;
    s.track.frame[3].true_utc_s += 4.0 * 3600.0; /* more than an hour after last contact */
    tl_report_timeline t = timeline_of(&s);
    assert_true(point_of(&t, SERIES_SECOND)->other_camera);
    assert_true(point_of(&t, SERIES_ORDERED)->from_itself);
    assert_true(isnan(point_of(&t, SERIES_ORDERED)->residual));
    assert_true(point_of(&t, 0)->doubtful);
    assert_null(point_of(&t, SERIES_OTHER_DAY));
    assert_null(point_of(&t, SERIES_OPEN));
    assert_null(point_of(&t, 3));
    assert_int_equal(t.unplaced_count, 3);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

static void spots_in_order_of_time(void **state) {
    (void)state;
    tl_sequence s = series_many_spots(5);
    tl_report_timeline t = timeline_of(&s);
    assert_int_equal(t.crossing_count, 6); /* of every second spot: A, C, E */
    assert_true(t.crossing[0].t_s < t.crossing[1].t_s && t.crossing[4].t_s < t.crossing[5].t_s);
    assert_string_equal(t.crossing[0].spot->name, "A");
    assert_false(t.crossing[2].uncovering);
    assert_true(t.crossing[3].uncovering);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

/* ---- without one ---- */

/* s^2 = smallest^2 + speed^2 (t - max)^2: how the series without a place is made. */
static void free_path_in_camera_time(void **state) {
    (void)state;
    tl_sequence s = series_no_site();
    tl_report_timeline t = timeline_of(&s);
    const double max_s = SERIES_DAY_S + 32950.0 + SERIES_ZONE_MINUTES * 60.0 + SERIES_OFFSET_S;
    assert_false(t.utc || t.has_zone);
    assert_int_equal(t.panels, TL_REPORT_ALL_PANELS);
    for (size_t i = 0; i < t.line_count; i++) {
        const double hours = (t.line[i].t_s - max_s) / 3600.0;
        const double separation = hypot(0.6781, 1.7093 * hours);
        assert_close(t.line[i].separation_sr, separation, 1e-9);
        assert_close(t.line[i].magnitude, tl_magnitude(separation, 1.0758), 1e-9);
    }
    const tl_report_time_point *point = point_of(&t, 3);
    assert_close(point->t_s, series_utc(3) + SERIES_ZONE_MINUTES * 60.0 + SERIES_OFFSET_S, 1e-6);
    assert_close(point->residual, 0.0025, 1e-12);
    assert_close(point->blur, 100.0 * 1.84 / 300.125, 1e-9);
    assert_close(t.floor, TL_TRACK_FLOOR_SR, 1e-12);
    tl_report_timeline_free(&t);
    s.track.free_solved = false; /* the pictures alone */
    t = timeline_of(&s);
    assert_int_equal(t.line_count, 0);
    assert_int_equal(t.point_count, 10);
    assert_int_equal(t.panels,
                     TL_REPORT_ALL_PANELS - TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_RESIDUAL));
    s.frame[0].camera = 1; /* its clock is another one */
    tl_report_timeline_free(&t);
    t = timeline_of(&s);
    assert_int_equal(t.point_count, 9);
    assert_int_equal(t.unplaced_count, 1);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

static void nothing_known_and_one_picture(void **state) {
    (void)state;
    tl_sequence s = series_nothing();
    tl_report_timeline t = timeline_of(&s);
    assert_int_equal(t.panels, 0);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
    s = series_solved(); /* the clock is set by the one picture, so its residual says nothing */
    s.count = 1;
    t = timeline_of(&s);
    assert_int_equal(t.panels,
                     TL_REPORT_ALL_PANELS - TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_RESIDUAL));
    tl_report_timeline_free(&t);
    s.count = SERIES_FRAMES;
    tl_sequence_free(&s);
    s = series_no_site();
    s.track.free_solved = false;
    s.count = 1;
    t = timeline_of(&s);
    assert_int_equal(t.point_count, 1);
    assert_close(t.to_s - t.from_s, 1800.0, 1e-6);
    assert_close(t.from_s + 900.0, t.point[0].t_s, 1e-6);
    tl_report_timeline_free(&t);
    s.count = SERIES_FRAMES;
    tl_sequence_free(&s);
}

static void what_is_not_finite_is_not_known(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    s.frame[0].limb.separation_sr = NAN;
    s.frame[1].limb.separation_sigma_sr = INFINITY;
    s.frame[2].limb.blur_px = INFINITY;
    s.frame[3].limb.circle[TL_SUN_R] = 0.0;
    s.track.frame[4].true_utc_s = NAN;
    s.track.frame[5].residual_sr = -INFINITY;
    s.track.frame[6].magnitude = INFINITY;
    s.track.circumstances.contact[TL_MAX].t_utc_s = NAN;
    tl_report_timeline t = timeline_of(&s);
    assert_true(isnan(point_of(&t, 0)->separation_sr));
    assert_true(isnan(point_of(&t, 1)->separation_sigma_sr));
    assert_true(isnan(point_of(&t, 1)->residual_sigma));
    assert_true(isnan(point_of(&t, 2)->blur));
    assert_true(isnan(point_of(&t, 3)->blur));
    assert_null(point_of(&t, 4));
    assert_true(isnan(point_of(&t, 5)->residual));
    assert_true(isnan(point_of(&t, 6)->magnitude));
    assert_false(t.has_contact[TL_MAX]);
    assert_int_equal(t.unplaced_count, 1);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

/* The range is that of the sound points; one that is left out does not squeeze them. */
static void outliers_do_not_set_the_range(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    tl_report_timeline t = timeline_of(&s);
    const tl_report_range range = tl_report_panel_range(&t, TL_REPORT_PANEL_RESIDUAL);
    const tl_report_time_point *most = point_of(&t, 3); /* 0.0025 sr, the largest */
    assert_close(range.high, 1.08 * (most->residual + most->residual_sigma), 1e-9);
    assert_close(range.low, -range.high, 1e-12);
    assert_true(point_of(&t, SERIES_OUTLIER)->residual > 2.0 * range.high);
    assert_close(tl_report_panel_range(&t, TL_REPORT_PANEL_SEPARATION).low, 0.0, 1e-12);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

/* ---- the trend ---- */

enum { TREND_POINTS = 8 };

/* Pictures every 15 minutes whose log of the blur is growth * hours + error. */
static tl_report_blur_trend trend_of(const double *error, size_t count, double growth) {
    tl_report_time_point point[64] = {{0}};
    assert_true(count <= 64);
    for (size_t i = 0; i < count; i++) {
        const double hours = 0.25 * (double)i;
        point[i].t_s = SERIES_DAY_S + 3600.0 * hours;
        point[i].blur = exp(1.5 + growth * hours + error[i]);
    }
    const tl_report_timeline timeline = {.point = point, .point_count = count};
    return tl_report_blur_trend_of(&timeline);
}

/* Errors + - - + + - - + are orthogonal to a constant and to time, and their neighbours are not
 * alike (the products of neighbours sum to -1): so the slope is exact, and its sigma is that of a
 * straight line, sqrt(SSE / (n - 2) / sum (t - mean)^2), times a third of Student's 99.73 % point
 * for 6 degrees of freedom: 4.90 (JCGM 100:2008, GUM, table G.2). */
static void trend_and_its_sigma(void **state) {
    (void)state;
    const double e = 0.1, tt = 42.0 / 16.0; /* sum of (i - 3.5)^2, in quarters of an hour */
    const double error[TREND_POINTS] = {e, -e, -e, e, e, -e, -e, e};
    const double sigma = 4.90 / 3.0 * sqrt(8.0 * e * e / 6.0 / tt);
    const tl_report_blur_trend flat = trend_of(error, TREND_POINTS, 0.9 * 3.0 * sigma);
    assert_true(flat.fitted && !flat.significant);
    assert_close(flat.growth_per_h, 0.9 * 3.0 * sigma, 1e-9);
    assert_close(flat.growth_sigma_per_h, sigma, 2e-3 * sigma); /* three digits of the table */
    assert_true(trend_of(error, TREND_POINTS, 1.1 * 3.0 * sigma).significant);
    assert_true(trend_of(error, TREND_POINTS, -1.1 * 3.0 * sigma).significant);
}

/* Errors that come in runs are fewer than they seem: ++++ ---- of a line taken out, repeated. */
static void errors_alike_count_less(void **state) {
    (void)state;
    const double e = 0.1;
    double runs[32], mixed[32];
    for (size_t i = 0; i < 32; i++) {
        runs[i] = (i / 4) % 2 ? -e : e;
        mixed[i] = i % 2 ? -e : e;
    }
    const double apart = trend_of(mixed, 32, 0.0).growth_sigma_per_h;
    /* In runs of four, three of four neighbours agree: r is about 0.5, and 3 times fewer count. */
    assert_true(trend_of(runs, 32, 0.0).growth_sigma_per_h > 1.6 * apart);
    assert_true(trend_of(runs, 32, 0.0).growth_sigma_per_h < 3.0 * apart);
    for (size_t i = 0; i < 32; i++) { /* what only rounding leaves */
        runs[i] *= 1e-12;
        mixed[i] *= 1e-12;
    }
    assert_close(trend_of(runs, 32, 0.0).growth_sigma_per_h,
                 trend_of(mixed, 32, 0.0).growth_sigma_per_h, 1e-9);
}

/* Without a trend one is told about as often as beyond 3 sigma of a Gaussian: in 0.27 % of series,
 * 11 of 4,000. */
static void trend_is_rarely_told_by_chance(void **state) {
    (void)state;
    enum { SERIES = 4000, POINTS = 12, UNIFORMS = 12 };
    uint64_t seed = 1;
    size_t told = 0;
    for (size_t k = 0; k < SERIES; k++) {
        double error[POINTS];
        for (size_t i = 0; i < POINTS; i++) {
            double sum = 0.0; /* of twelve uniform numbers: a Gaussian, nearly */
            for (int u = 0; u < UNIFORMS; u++) {
                seed = seed * 6364136223846793005u + 1442695040888963407u;
                sum += (double)(seed >> 11) / 9007199254740992.0;
            }
            error[i] = 0.2 * (sum - 6.0);
        }
        told += trend_of(error, POINTS, 0.0).significant;
    }
    assert_true(told > 0 && told <= 21); /* 3 sigma of 11 above it */
}

static void trend_needs_pictures_and_time(void **state) {
    (void)state;
    const double error[4] = {0.0};
    assert_false(trend_of(error, 3, 1.0).fitted);
    assert_int_equal(trend_of(error, 3, 1.0).count, 3);
    assert_true(trend_of(error, 4, 1.0).fitted);
    assert_true(trend_of(error, 4, 1.0).significant);
    assert_false(trend_of(error, 4, 0.0).significant);
    assert_int_equal(trend_of(error, 0, 0.0).count, 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steps_are_1_2_5),
        cmocka_unit_test(labels_are_moved_as_little_as_needed),
        cmocka_unit_test(almanac_line_and_points),
        cmocka_unit_test(values_of_a_picture),
        cmocka_unit_test(odd_pictures_are_told_apart),
        cmocka_unit_test(spots_in_order_of_time),
        cmocka_unit_test(free_path_in_camera_time),
        cmocka_unit_test(nothing_known_and_one_picture),
        cmocka_unit_test(what_is_not_finite_is_not_known),
        cmocka_unit_test(outliers_do_not_set_the_range),
        cmocka_unit_test(trend_and_its_sigma),
        cmocka_unit_test(errors_alike_count_less),
        cmocka_unit_test(trend_is_rarely_told_by_chance),
        cmocka_unit_test(trend_needs_pictures_and_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
