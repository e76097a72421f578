/*
 * frames.csv holds what the series holds, under the promised names.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "test_report_read.h"

/* The names programs rely on, in their order. */
static const char *const promised[] = {"file",          "status",
                                       "reason",        "camera_time",
                                       "true_utc",      "true_sigma_s",
                                       "sun_x_px",      "sun_y_px",
                                       "sun_r_px",      "moon_x_px",
                                       "moon_y_px",     "moon_r_px",
                                       "separation_sr", "separation_sigma_sr",
                                       "moon_pa_deg",   "up_pa_deg",
                                       "magnitude",     "obscuration",
                                       "blur_px",       "altitude_deg"};
enum { PROMISED = sizeof promised / sizeof *promised };

#define TOLERANCE_SR 5.01e-6  /* solar radii: five decimals are written */
#define TOLERANCE_PX 5.01e-4  /* px: three decimals */
#define TOLERANCE_DEG 5.01e-3 /* degrees: two decimals */

static void csv_has_the_promised_columns_first(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    table t = csv_of(&s);
    assert_int_equal(t.rows, SERIES_FRAMES + 1);
    for (size_t c = 0; c < PROMISED; c++)
        assert_string_equal(t.cell[0][c], promised[c]);
    for (size_t r = 1; r < t.rows; r++)
        assert_int_equal(t.columns[r], t.columns[0]);
    free_table(&t);
    tl_sequence_free(&s);
}

/* Expected values are those the series was made with. */
static void csv_row_says_what_was_measured(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    table t = csv_of(&s);
    assert_string_equal(cell(&t, 0, "file"), "IMG_0001.JPG");
    assert_string_equal(cell(&t, 0, "path"), "pictures/IMG_0001.JPG");
    assert_string_equal(cell(&t, 0, "status"), "measured");
    assert_string_equal(cell(&t, 0, "reason"), "");
    assert_string_equal(cell(&t, 0, "camera_time"), "2027-08-02T10:10:37.4");
    assert_string_equal(cell(&t, 0, "true_utc"), "2027-08-02T08:10:00.0Z");
    assert_string_equal(cell(&t, 0, "true_sigma_s"), "0.42");
    assert_string_equal(cell(&t, 0, "sun_x_px"), "800.250");
    assert_string_equal(cell(&t, 0, "sun_y_px"), "600.500");
    assert_string_equal(cell(&t, 0, "sun_r_px"), "300.125");
    assert_string_equal(cell(&t, 0, "separation_sigma_sr"), "0.0021");
    assert_string_equal(cell(&t, 0, "blur_px"), "1.84");
    assert_string_equal(cell(&t, 0, "camera_model"), "Invented, model 1");
    assert_string_equal(cell(&t, 0, "exposure_s"), "0.002000");
    assert_string_equal(cell(&t, 0, "outlier"), "false");
    assert_string_equal(cell(&t, SERIES_OUTLIER, "outlier"), "true");
    assert_string_equal(cell(&t, 0, "edge_points"), "6");
    const tl_sequence_frame *frame = &s.frame[0];
    const tl_track_frame *tracked = &s.track.frame[0];
    assert_close(number(&t, 0, "moon_x_px"), frame->limb.circle[TL_MOON_X], TOLERANCE_PX);
    assert_close(number(&t, 0, "moon_r_px"), frame->limb.circle[TL_MOON_R], TOLERANCE_PX);
    assert_close(number(&t, 0, "separation_sr"), frame->limb.separation_sr, TOLERANCE_SR);
    assert_close(number(&t, 0, "magnitude"), tracked->magnitude, 5.01e-5);
    assert_close(number(&t, 0, "moon_pa_deg"), tracked->sky.pa_rad / TL_DEG, TOLERANCE_DEG);
    assert_close(number(&t, 0, "altitude_deg"), tracked->altitude_rad / TL_DEG, TOLERANCE_DEG);
    /* The frame was laid out with the almanac's direction: read back through the turn it is that.
     */
    assert_close(number(&t, 0, "moon_pa_measured_deg"), tracked->sky.pa_rad / TL_DEG,
                 TOLERANCE_DEG);
    free_table(&t);
    tl_sequence_free(&s);
}

/* One picture of a shared turn was tilted by 2 degrees, and its own turn says so. By the turn all
 * share, the mean of 11, its direction is off by 2 - 2/11 degrees (closed form). */
static void direction_is_measured_by_the_shared_turn(void **state) {
    (void)state;
    const double tilt = 2.0 * TL_DEG;
    tl_sequence s = series_solved();
    tl_track_frame *tracked = &s.track.frame[0];
    tl_limb *limb = &s.frame[0].limb;
    double x, y;
    tracked->up_pa_rad += tilt;
    tl_frame_from_sky(tracked->up_pa_rad, true, sin(tracked->sky.pa_rad), cos(tracked->sky.pa_rad),
                      &x, &y);
    limb->offset_x_sr = limb->separation_sr * x;
    limb->offset_y_sr = limb->separation_sr * y;
    table t = csv_of(&s);
    assert_close(number(&t, 0, "moon_pa_measured_deg"),
                 tracked->sky.pa_rad / TL_DEG - 2.0 * 10.0 / 11.0, 2.0 * TOLERANCE_DEG);
    free_table(&t);
    s.track.camera[0].holding = TL_HOLDING_FREE;
    t = csv_of(&s);
    assert_string_equal(cell(&t, 0, "moon_pa_measured_deg"), "");
    free_table(&t);
    /* By its sunspots, which turn it by 1.5 degrees less. */
    tracked->has_spots_up = tracked->mirrored = tracked->mirror_known = true;
    tracked->spots_up_rad = tracked->up_pa_rad - 1.5 * TL_DEG;
    t = csv_of(&s);
    assert_close(number(&t, 0, "moon_pa_measured_deg"), tracked->sky.pa_rad / TL_DEG - 1.5,
                 2.0 * TOLERANCE_DEG);
    free_table(&t);
    tl_sequence_free(&s);
}

/* Two measured pictures state the zone of the eclipse, three others that of another journey: a
 * stamp is as late as it was. */
static void lateness_is_in_the_zone_of_what_was_measured(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    for (size_t i = 3; i < s.count; i += 2) {
        s.frame[i].info.time.zone_known = true;
        s.frame[i].info.time.zone_minutes = i == 3 ? SERIES_ZONE_MINUTES : 0;
        if (i > 3)
            s.frame[i].limb.status = TL_LIMB_NO_SUN;
    }
    table t = csv_of(&s);
    assert_string_equal(cell(&t, 3, "late_s"), "8.0");
    free_table(&t);
    tl_sequence_free(&s);
}

/* Expected values are those the series was made with. */
static void csv_tells_what_is_odd(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    s.track.frame[0].off_s = 0.3; /* it is no outlier */
    s.camera_count = 2;
    strcpy(s.camera[1].name, "Invented, model 2");
    s.frame[0].camera = s.frame[SERIES_REFUSED].camera = TL_CAMERAS_MAX;
    table t = csv_of(&s);
    assert_string_equal(cell(&t, 0, "side_by"), "");
    assert_string_equal(cell(&t, 0, "before_utc"), "");
    assert_string_equal(cell(&t, 0, "late_s"), "");
    assert_string_equal(cell(&t, 0, "camera"), "a further camera");
    assert_string_equal(cell(&t, SERIES_REFUSED, "camera"), "");
    assert_string_equal(cell(&t, SERIES_SECOND, "camera"), "Invented, model 2");
    assert_string_equal(cell(&t, 3, "late_s"), "8.0");
    assert_string_equal(cell(&t, SERIES_SECOND, "late_s"), "");
    assert_string_equal(cell(&t, SERIES_SECOND, "camera_time"), "2026-08-02T08:53:47.6");
    assert_string_equal(cell(&t, SERIES_OPEN, "side_by"), "open");
    assert_string_equal(cell(&t, SERIES_OPEN, "true_utc"), "");
    assert_string_equal(cell(&t, SERIES_OPEN, "before_utc"), "2027-08-02T08:32:00Z");
    assert_string_equal(cell(&t, SERIES_OPEN, "before_sigma_s"), "4.2");
    assert_string_equal(cell(&t, SERIES_OPEN, "after_utc"), "2027-08-02T09:46:20Z");
    assert_string_equal(cell(&t, SERIES_OPEN, "after_sigma_s"), "4.4");
    assert_string_equal(cell(&t, SERIES_ORDERED, "side_by"), "order");
    assert_string_equal(cell(&t, SERIES_ORDERED, "true_utc"), "2027-08-02T09:38:00.0Z");
    assert_string_equal(cell(&t, SERIES_ORDERED, "after_utc"), "2027-08-02T09:38:00Z");
    assert_string_equal(cell(&t, SERIES_OUTLIER, "outlier_off_s"), "62");
    assert_string_equal(cell(&t, 0, "outlier_off_s"), "");
    assert_string_equal(cell(&t, SERIES_OTHER_DAY, "outlier"), "true");
    assert_string_equal(cell(&t, SERIES_OTHER_DAY, "outlier_off_s"), "");
    assert_string_equal(cell(&t, SERIES_OTHER_DAY, "separation_residual_sr"), "");
    s.track.frame[SERIES_ORDERED].side_by = TL_SIDE_BY_TURN;
    free_table(&t);
    t = csv_of(&s);
    assert_string_equal(cell(&t, SERIES_ORDERED, "side_by"), "turn");
    free_table(&t);
    s.track.frame[SERIES_ORDERED].side_by = TL_SIDE_BY_SPOTS;
    t = csv_of(&s);
    assert_string_equal(cell(&t, SERIES_ORDERED, "side_by"), "spots");
    free_table(&t);
    tl_sequence_free(&s);
}

/* A camera held in the hand among pictures of a mount: its turns are no part of the shared one. */
static void shared_turn_is_that_of_one_camera(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    s.track.frame[SERIES_SECOND].up_pa_rad += 90.0 * TL_DEG;
    table t = csv_of(&s);
    assert_close(number(&t, 0, "moon_pa_measured_deg"), s.track.frame[0].sky.pa_rad / TL_DEG,
                 TOLERANCE_DEG);
    assert_string_equal(cell(&t, SERIES_SECOND, "moon_pa_measured_deg"), "");
    free_table(&t);
    tl_sequence_free(&s);
}

static void csv_leaves_empty_what_is_not_known(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    table t = csv_of(&s);
    for (size_t c = 3; c < PROMISED; c++)
        assert_string_equal(cell(&t, SERIES_BROKEN, promised[c]), "");
    assert_string_equal(cell(&t, SERIES_REFUSED, "reason"), SERIES_REFUSED_REASON);
    assert_string_equal(cell(&t, SERIES_REFUSED, "true_utc"), "2027-08-02T09:27:00.0Z");
    assert_string_equal(cell(&t, SERIES_REFUSED, "sun_x_px"), "");
    assert_string_equal(cell(&t, SERIES_REFUSED, "separation_sr"), "");
    assert_string_equal(cell(&t, SERIES_REFUSED, "magnitude"), "");
    assert_string_equal(cell(&t, SERIES_SUN_ONLY, "sun_y_px"), "600.500");
    assert_string_equal(cell(&t, SERIES_SUN_ONLY, "moon_x_px"), "");
    assert_string_equal(cell(&t, SERIES_SUN_ONLY, "separation_sr"), "");
    free_table(&t);
    tl_sequence_free(&s);
    s = series_no_site();
    t = csv_of(&s);
    assert_string_equal(cell(&t, 0, "true_utc"), "");
    assert_string_equal(cell(&t, 0, "moon_pa_deg"), "");
    assert_string_equal(cell(&t, 0, "up_pa_deg"), "");
    assert_string_equal(cell(&t, 0, "altitude_deg"), "");
    assert_close(number(&t, 0, "separation_residual_sr"), 0.0012, TOLERANCE_SR);
    free_table(&t);
    tl_sequence_free(&s);
}

/* The free path is in the main camera's time: it says nothing of another camera's pictures. */
static void free_path_is_that_of_one_camera(void **state) {
    (void)state;
    tl_sequence s = series_no_site();
    s.track.camera_count = 2;
    s.frame[SERIES_SECOND].camera = 1;
    s.track.frame[SERIES_SECOND].residual_sr = 0.0; /* as the track leaves it */
    table t = csv_of(&s);
    assert_string_equal(cell(&t, SERIES_SECOND, "separation_residual_sr"), "");
    assert_string_equal(cell(&t, SERIES_SECOND, "outlier"), "");
    assert_close(number(&t, 0, "separation_residual_sr"), 0.0012, TOLERANCE_SR);
    free_table(&t);
    tl_sequence_free(&s);
}

static void csv_survives_hostile_names(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    table t = csv_of(&s);
    assert_string_equal(cell(&t, SERIES_HOSTILE, "file"), SERIES_HOSTILE_NAME);
    assert_string_equal(cell(&t, SERIES_LATIN1, "file"), "caf\xEF\xBF\xBD.jpg");
    free_table(&t);
    tl_sequence_free(&s);
}

/* docs/output.md explains every column. */
static void every_column_is_documented(void **state) {
    (void)state;
    tl_report_text doc = {0};
    char block[4096];
    FILE *file = fopen("docs/output.md", "rb"); /* tests run in the project's folder */
    assert_non_null(file);
    for (size_t n; (n = fread(block, 1, sizeof block, file)) > 0;)
        tl_report_text_bytes(&doc, block, n);
    fclose(file);
    for (size_t field = 0; field < tl_report_field_count(); field++) {
        char quoted[64];
        snprintf(quoted, sizeof quoted, "`%s`", tl_report_field_name(field));
        if (!strstr(tl_report_text_string(&doc), quoted))
            fail_msg("%s is not in docs/output.md", quoted);
    }
    tl_report_text_free(&doc);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(csv_has_the_promised_columns_first),
        cmocka_unit_test(csv_row_says_what_was_measured),
        cmocka_unit_test(direction_is_measured_by_the_shared_turn),
        cmocka_unit_test(csv_tells_what_is_odd),
        cmocka_unit_test(lateness_is_in_the_zone_of_what_was_measured),
        cmocka_unit_test(shared_turn_is_that_of_one_camera),
        cmocka_unit_test(csv_leaves_empty_what_is_not_known),
        cmocka_unit_test(free_path_is_that_of_one_camera),
        cmocka_unit_test(csv_survives_hostile_names),
        cmocka_unit_test(every_column_is_documented),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
