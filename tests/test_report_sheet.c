/*
 * series.csv, the table for spreadsheets.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "test_report_read.h"

static char *text_of(const tl_sequence *s) {
    tl_report_source source;
    tl_report_text text = {0};
    assert_int_equal(tl_report_source_make(s, &source), TL_OK);
    assert_int_equal(tl_report_series_csv(&source, &text), TL_OK);
    tl_report_source_free(&source);
    return text.data;
}

static table sheet_of(const tl_sequence *s) {
    char *text = text_of(s);
    table t;
    assert_memory_equal(text, "\xEF\xBB\xBF", 3); /* the byte order mark, once */
    read_csv(text + 3, &t);
    free(text);
    for (size_t r = 0; r < t.rows; r++)
        assert_int_equal(t.columns[r], t.columns[0]);
    return t;
}

static void assert_cell(const table *t, size_t row, const char *heading, const char *expected) {
    assert_string_equal(cell(t, row, heading), expected);
}

/* Times and numbers are those the series was made with, rounded to what their errors deserve. */
static void a_row_holds_what_was_measured_beside_the_almanac(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    const tl_sky *sky = &s.track.frame[4].sky;
    const double sun_arcsec = sky->sun_radius_rad / TL_ARCSEC;
    const double separation_sr = sky->separation_sr - 0.0011;
    /* Two circles overlap the less by the chord between the cusps, for each unit they part. */
    const double x =
        (separation_sr * separation_sr + 1.0 - SERIES_RATIO * SERIES_RATIO) / (2.0 * separation_sr);
    const double obscuration_sigma =
        100.0 * SERIES_SIGMA_SR * 2.0 * sqrt(1.0 - x * x) / TL_PI; /* percent */
    table t = sheet_of(&s);
    assert_int_equal(t.rows, 1 + 10); /* two of the twelve have no solar circle */
    assert_cell(&t, 4, "True time [UTC]", "2027-08-02 08:54:00.0"); /* 08:10 + 4 * 11 min */
    assert_cell(&t, 4, "Sigma of the true time [s]", "0.42");
    assert_cell(&t, 4, "Camera's time [its own clock]", "2027-08-02 10:54:37.4");
    assert_close(number(&t, 4, "Separation [solar radii]"), separation_sr, 0.5e-3 + 1e-9);
    assert_cell(&t, 4, "Sigma of the separation [solar radii]", "0.0021");
    assert_close(number(&t, 4, "Separation, almanac [solar radii]"), sky->separation_sr,
                 0.5e-3 + 1e-9);
    assert_close(number(&t, 4, "Measured less almanac [arcsec]"), -0.0011 * sun_arcsec, 0.5);
    assert_close(number(&t, 4, "Sigma of measured less almanac [arcsec]"),
                 SERIES_SIGMA_SR * sun_arcsec, 0.05 + 1e-9);
    assert_close(number(&t, 4, "Magnitude"), (1.0 + SERIES_RATIO - separation_sr) / 2.0,
                 0.5e-4 + 1e-9);
    assert_close(number(&t, 4, "Sigma of the magnitude"), SERIES_SIGMA_SR / 2.0, 0.5e-4 + 1e-9);
    assert_close(number(&t, 4, "Magnitude, almanac"), sky->magnitude, 0.5e-4 + 1e-9);
    assert_close(number(&t, 4, "Obscuration [%]"),
                 100.0 * tl_obscuration(separation_sr, SERIES_RATIO), 0.05 + 1e-9);
    assert_close(number(&t, 4, "Sigma of the obscuration [%]"), obscuration_sigma, 0.005 + 1e-9);
    assert_close(number(&t, 4, "Obscuration, almanac [%]"), 100.0 * sky->obscuration, 0.05 + 1e-9);
    assert_close(number(&t, 4, "Moon's PA, almanac [deg]"), sky->pa_rad / TL_DEG, 0.05 + 1e-9);
    assert_close(number(&t, 4, "Sun's altitude [deg]"),
                 (sky->sun_altitude_rad + sky->refraction_rad) / TL_DEG, 0.005 + 1e-9);
    assert_close(number(&t, 4, "Zenith PA [deg]"), tl_angle_positive(sky->parallactic_rad) / TL_DEG,
                 0.05 + 1e-9);
    assert_close(number(&t, 4, "Up PA of the picture [deg]"),
                 tl_angle_positive(sky->parallactic_rad) / TL_DEG + 3.0, 0.05 + 1e-9);
    assert_cell(&t, 4, "Blur [px]", "1.84");
    assert_close(number(&t, 4, "Blur [arcsec]"), 1.84 / 300.125 * sun_arcsec, 0.05 + 1e-9);
    assert_cell(&t, 4, "In the fits", "yes");
    assert_cell(&t, 4, "File", "IMG_0005.JPG");
    assert_cell(&t, 8, "File", "IMG_0011.JPG");
    assert_cell(&t, 8, "In the fits", "left out");
    assert_cell(&t, 9, "Separation [solar radii]", ""); /* no Moon */
    assert_cell(&t, 9, "In the fits", "");
    assert_true(number(&t, 9, "Separation, almanac [solar radii]") > 0.0);
    free_table(&t);
    tl_sequence_free(&s);
}

/* A better circle shows with more digits, a worse one with fewer. */
static void digits_follow_the_errors(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    s.frame[0].limb.separation_sigma_sr = 0.00021;
    s.frame[1].limb.separation_sigma_sr = 0.034;
    s.frame[0].limb.separation_sr = s.frame[1].limb.separation_sr = 1.234567;
    s.track.frame[0].true_sigma_s = 0.11;
    s.track.frame[1].true_sigma_s = 4.0;
    table t = sheet_of(&s);
    assert_cell(&t, 0, "Separation [solar radii]", "1.2346");
    assert_cell(&t, 1, "Separation [solar radii]", "1.23");
    assert_int_equal(strlen(cell(&t, 1, "Separation, almanac [solar radii]")), strlen("1.23"));
    assert_cell(&t, 0, "True time [UTC]", "2027-08-02 08:10:00.00");
    assert_cell(&t, 1, "True time [UTC]", "2027-08-02 08:21:00");
    free_table(&t);
    tl_sequence_free(&s);
}

/* Whatever the order of the files: the times rise, and those without one, or of another day, come
 * last. */
static void rows_are_in_order_of_time(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    const tl_track_frame first = s.track.frame[0];
    s.track.frame[0] = s.track.frame[8]; /* 08 has no camera time, but a true one */
    s.track.frame[8] = first;
    table t = sheet_of(&s);
    size_t timed = 0;
    assert_int_equal(t.rows, 1 + 10);
    for (size_t row = 0; row + 1 < t.rows; row++) {
        const char *time = cell(&t, row, "True time [UTC]");
        if (row > 0 && *time) {
            assert_int_equal(timed, row);
            assert_true(strcmp(cell(&t, row - 1, "True time [UTC]"), time) < 0);
        }
        timed += *time != '\0';
    }
    assert_int_equal(timed, 8);
    assert_cell(&t, 0, "File", "IMG_0009.JPG");
    assert_cell(&t, 8, "File", "IMG_0003.JPG");
    assert_cell(&t, 9, "File", "IMG_0002.JPG");
    assert_cell(&t, 9, "Measured less almanac [arcsec]", "");
    free_table(&t);
    tl_sequence_free(&s);
}

/* A spreadsheet runs what begins like a formula; numbers stay numbers. */
static void texts_are_no_formulas(void **state) {
    (void)state;
    static const char *const given[] = {"=HYPERLINK(\"x\")", "+1", "-2+3", "@sum", "\tx", "\rx",
                                        "\xEF\xBC\x9Dx",     "a=b"};
    static const char *const told[] = {
        "'=HYPERLINK(\"x\")", "'+1", "'-2+3", "'@sum", "'\tx", "'\rx", "'\xEF\xBC\x9Dx", "a=b"};
    enum { GIVEN = sizeof given / sizeof *given };
    tl_sequence s = series_solved();
    size_t i = 0;
    s.camera_count = 1;
    strcpy(s.camera[0].name, "=cmd|' /C calc'!A0");
    for (size_t k = 0; k < GIVEN; k++, i += i == SERIES_REFUSED - 1 ? 2 : 1) {
        free(s.frame[i].path);
        s.frame[i].path = series_copy(given[k]);
    }
    table t = sheet_of(&s);
    for (size_t k = 0; k < GIVEN; k++) {
        assert_cell(&t, k, "File", told[k]);
        assert_cell(&t, k, "Camera", "'=cmd|' /C calc'!A0");
    }
    assert_cell(&t, 1, "Measured less almanac [arcsec]", "-2"); /* -0.0018 of 946 arcsec */
    free_table(&t);
    tl_sequence_free(&s);
}

/* Without a clock the camera's times are all there are, and the almanac says nothing. */
static void what_is_not_known_is_empty(void **state) {
    (void)state;
    static const char *const unknown[] = {"True time [UTC]",
                                          "Sigma of the true time [s]",
                                          "Separation, almanac [solar radii]",
                                          "Magnitude, almanac",
                                          "Obscuration, almanac [%]",
                                          "Measured less almanac [arcsec]",
                                          "Moon's PA [deg]",
                                          "Moon's PA, almanac [deg]",
                                          "Sun's altitude [deg]",
                                          "Sun's azimuth [deg]",
                                          "Zenith PA [deg]",
                                          "Up PA of the picture [deg]",
                                          "Blur [arcsec]"};
    tl_sequence s = series_no_site();
    table t = sheet_of(&s);
    assert_int_equal(t.rows, 1 + 10);
    for (size_t k = 0; k < sizeof unknown / sizeof *unknown; k++)
        assert_cell(&t, 3, unknown[k], "");
    assert_cell(&t, 3, "Camera's time [its own clock]", "2027-08-02 10:43:37.4");
    assert_cell(&t, 3, "File", SERIES_HOSTILE_NAME);
    assert_true(number(&t, 3, "Magnitude") > 0.0);
    free_table(&t);
    tl_sequence_free(&s);
    s = series_nothing();
    t = sheet_of(&s);
    assert_int_equal(t.rows, 1);
    free_table(&t);
    tl_sequence_free(&s);
}

static void what_is_no_number_is_empty(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    tl_limb *limb = &s.frame[0].limb;
    tl_track_frame *tracked = &s.track.frame[0];
    limb->separation_sr = limb->separation_sigma_sr = limb->blur_px = NAN;
    limb->circle[TL_SUN_R] = tracked->residual_sr = tracked->up_sigma_rad = INFINITY;
    tracked->magnitude = tracked->obscuration = tracked->up_pa_rad = NAN;
    tracked->sky.separation_sr = tracked->moon_pa_rad = tracked->altitude_rad = -INFINITY;
    char *text = text_of(&s);
    assert_null(strstr(text, "nan"));
    assert_null(strstr(text, "inf"));
    free(text);
    tl_sequence_free(&s);
}

/* The smaller disc within the larger: the magnitude is the ratio of the radii (the almanacs'
 * convention), whatever the error of the separation; the area of a ring is its square's. */
static void a_central_phase_has_the_error_of_the_ratio(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    s.frame[0].limb.separation_sr = 0.02;
    s.track.ratio = s.track.frame[0].magnitude = 0.9412;
    s.track.frame[0].obscuration = 0.9412 * 0.9412;
    s.track.ratio_sigma = 0.0011;
    table t = sheet_of(&s);
    assert_cell(&t, 0, "Magnitude", "0.9412");
    assert_cell(&t, 0, "Sigma of the magnitude", "0.0011");
    assert_cell(&t, 0, "Obscuration [%]", "88.6");              /* 88.5857 */
    assert_cell(&t, 0, "Sigma of the obscuration [%]", "0.21"); /* 2 * 0.9412 * 0.11 */
    free_table(&t);
    s.track.ratio_sigma = 0.0; /* the almanac's */
    t = sheet_of(&s);
    assert_cell(&t, 0, "Sigma of the magnitude", "");
    assert_cell(&t, 0, "Sigma of the obscuration [%]", "");
    free_table(&t);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_row_holds_what_was_measured_beside_the_almanac),
        cmocka_unit_test(digits_follow_the_errors),
        cmocka_unit_test(rows_are_in_order_of_time),
        cmocka_unit_test(texts_are_no_formulas),
        cmocka_unit_test(what_is_not_known_is_empty),
        cmocka_unit_test(what_is_no_number_is_empty),
        cmocka_unit_test(a_central_phase_has_the_error_of_the_ratio),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
