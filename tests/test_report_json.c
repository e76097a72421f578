/*
 * sequence.json holds what the series holds, under the promised names.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "test_report_read.h"

/* Numbers are those the series was made with, rounded to what their errors deserve. */
static void json_holds_the_solution(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    cJSON *root = json_of(&s);
    assert_string(root, "program", "twolimb");
    assert_string(root, "version", TL_VERSION);
    assert_number(root, "site.lat_deg", 45.0);
    assert_number(root, "site.lon_deg", 10.0);
    assert_number(root, "site.height_m", 120.0);
    assert_string(root, "site.source", "given");
    assert_number(root, "clock.offset_s", 37.4);
    assert_number(root, "clock.sigma_s", 0.31);
    assert_number(root, "clock.zone_minutes", 120.0);
    assert_true(cJSON_IsNull(at(root, "clock.drift_ppm")));
    assert_int_equal(cJSON_GetArraySize(at(root, "clock.alternatives")), 0);
    assert_string(root, "holding.mode", "altaz");
    assert_true(cJSON_IsTrue(at(root, "holding.mirrored")));
    assert_string(root, "contacts.C1.measured_utc", "2027-08-02T08:02:29Z");
    assert_string(root, "contacts.C1.measured_camera", "2027-08-02T10:03:06");
    assert_number(root, "contacts.C1.measured_sigma_s", 2.4);
    assert_string(root, "contacts.C1.predicted_utc", "2027-08-02T08:02:26.700Z");
    assert_number(root, "contacts.max.o_minus_c_s", -3.1);
    assert_number(root, "contacts.C4.o_minus_c_s", 9.0);
    assert_true(cJSON_IsNull(at(root, "contacts.C2")));
    assert_true(cJSON_IsNull(at(root, "contacts.C3")));
    assert_number(root, "smallest_separation.measured_sr", 0.6781);
    assert_number(root, "smallest_separation.sigma_sr", 0.0013);
    assert_number(root, "smallest_separation.predicted_sr", 0.67838);
    assert_number(root, "magnitude.measured", 0.6988);
    assert_number(root, "magnitude.sigma", 0.0007);
    assert_number(root, "magnitude.predicted", 0.6987);
    assert_number(root, "direction.measured_pa_deg", 114.62);
    assert_number(root, "direction.sigma_deg", 0.13);
    assert_number(root, "direction.predicted_pa_deg", 114.71);
    assert_string(root, "clock.stamps", "sound");
    assert_number(root, "clock_gps_check.count", 0.0);
    assert_true(cJSON_IsNull(at(root, "clock_gps_check.median_s")));
    assert_true(cJSON_IsNull(at(root, "clock.stamp_scatter_s")));
    assert_int_equal(cJSON_GetArraySize(at(root, "cameras")), 1);
    assert_number(root, "ratio.measured", 1.0742);
    assert_number(root, "ratio.sigma", 0.0011);
    assert_number(root, "ratio.predicted", 1.07581);
    assert_true(cJSON_IsArray(at(root, "spots")));
    assert_number(root, "counts.files", SERIES_FRAMES);
    assert_number(root, "counts.measured", 9);
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

/* Each camera's clock and mounting under its own entry, the main one's at the top as well. */
static void json_holds_every_camera(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    for (size_t i = 0; i < 2; i++) { /* of the second camera: 40 s and 43 s old */
        const size_t second = SERIES_SECOND + 2 * i;
        s.frame[second].info.has_gps_time = true;
        s.frame[second].info.gps_t_utc_s =
            s.track.frame[second].true_utc_s - 40.0 - 3.0 * (double)i;
    }
    cJSON *root = json_of(&s);
    assert_number(root, "clock_gps_check.count", 0.0);
    assert_number(cJSON_GetArrayItem(at(root, "cameras"), 1), "clock_gps_check.count", 2.0);
    assert_number(cJSON_GetArrayItem(at(root, "cameras"), 1), "clock_gps_check.median_s", -41.5);
    assert_number(root, "clock.drift_ppm", 139.0);
    assert_number(root, "clock.drift_sigma_ppm", 35.0);
    assert_string(root, "clock.at_utc", "2027-08-02T09:09:10Z");
    assert_string(root, "clock.stamps", "late");
    assert_number(root, "clock.stamp_scatter_s", 14.0);
    assert_number(root, "clock.stamp_scatter_sigma_s", 2.0);
    assert_true(cJSON_IsFalse(at(root, "day_found")));
    assert_number(root, "holding.rotation_deg", 41.2);
    assert_true(cJSON_IsNull(at(root, "holding.jitter_deg")));
    const cJSON *cameras = at(root, "cameras");
    assert_int_equal(cJSON_GetArraySize(cameras), 2);
    const cJSON *first = cJSON_GetArrayItem(cameras, 0), *second = cJSON_GetArrayItem(cameras, 1);
    assert_true(cJSON_IsTrue(at(first, "main")));
    assert_string(first, "holding.mode", "altaz");
    assert_number(first, "frames", 10.0);
    assert_number(first, "used", 6.0);
    assert_true(cJSON_Compare(at(root, "clock"), at(first, "clock"), true));
    assert_true(cJSON_Compare(at(root, "holding"), at(first, "holding"), true));
    assert_true(cJSON_IsFalse(at(second, "main")));
    assert_number(second, "frames", 2.0);
    assert_number(second, "clock.offset_s", -12.0); /* sigma 2.1: no decimals */
    assert_number(second, "clock.day_shift_s", -31536000.0);
    assert_true(cJSON_IsNull(at(second, "clock.drift_ppm")));
    assert_true(cJSON_IsNull(at(second, "clock.drift_sigma_ppm")));
    assert_string(second, "clock.stamps", "scattered");
    assert_number(second, "clock.stamp_scatter_s", 6.0); /* sigma 2.2 */
    assert_string(second, "holding.mode", "free");
    assert_true(cJSON_IsFalse(at(second, "holding.mirrored")));
    assert_true(cJSON_IsTrue(at(second, "holding.mirror_given")));
    assert_true(cJSON_IsNull(at(second, "holding.rotation_deg")));
    cJSON_Delete(root);
    s.track.main_camera = 1;
    root = json_of(&s);
    assert_string(root, "clock.stamps", "scattered");
    assert_string(root, "holding.mode", "free");
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

/* The polynomial in the file gives the separations that the library gives, to the digits that the
 * origin has: 0.5 ms of time, 2.4e-7 solar radii. */
static void json_holds_the_free_path(void **state) {
    (void)state;
    const double tolerance_sr = 1e-6;
    tl_sequence s = series_no_site();
    tl_track *track = &s.track;
    track->free_covariance[1][2] = -1.2345678e-11;
    track->free_origin_camera_s += 0.25;
    cJSON *root = json_of(&s);
    assert_string(root, "free.origin", "2027-08-02T02:00:37.650");
    const cJSON *coefficients = at(root, "free.coefficients");
    assert_int_equal(cJSON_GetArraySize(coefficients), TL_FREE_POWERS);
    const double hours = 9.7;
    double squared = 0.0, power = 1.0, expected;
    for (int i = 0; i < TL_FREE_POWERS; i++, power *= hours)
        squared += cJSON_GetArrayItem(coefficients, i)->valuedouble * power;
    assert_true(
        tl_track_free_separation(track, track->free_origin_camera_s + 3600.0 * hours, &expected));
    assert_close(sqrt(squared), expected, tolerance_sr);
    const cJSON *covariance = at(root, "free.covariance");
    assert_int_equal(cJSON_GetArraySize(covariance), TL_FREE_POWERS);
    const cJSON *row = cJSON_GetArrayItem(covariance, 1);
    assert_int_equal(cJSON_GetArraySize(row), TL_FREE_POWERS);
    assert_close(cJSON_GetArrayItem(row, 2)->valuedouble, -1.234568e-11, 1e-20);
    cJSON_Delete(root);
    track->free_solved = false;
    root = json_of(&s);
    assert_true(cJSON_IsNull(at(root, "free.origin")));
    assert_int_equal(cJSON_GetArraySize(at(root, "free.coefficients")), 0);
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

static void json_frames_are_the_csv_rows(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    cJSON *root = json_of(&s);
    table t = csv_of(&s);
    const cJSON *frames = at(root, "frames");
    assert_int_equal(cJSON_GetArraySize(frames), SERIES_FRAMES);
    for (int i = 0; i < SERIES_FRAMES; i++) {
        const cJSON *frame = cJSON_GetArrayItem(frames, i);
        assert_int_equal(cJSON_GetArraySize(frame), t.columns[0]);
        for (size_t c = 0; c < t.columns[0]; c++) {
            const cJSON *item = at(frame, t.cell[0][c]);
            const char *text = t.cell[i + 1][c];
            assert_non_null(text);
            if (cJSON_IsString(item))
                assert_string_equal(item->valuestring, text);
            else if (cJSON_IsNumber(item))
                assert_close(item->valuedouble, strtod(text, NULL), 1e-12);
            else if (cJSON_IsBool(item))
                assert_string_equal(cJSON_IsTrue(item) ? "true" : "false", text);
            else
                assert_string_equal(text, "");
        }
    }
    free_table(&t);
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

static void json_has_null_for_what_is_not_known(void **state) {
    (void)state;
    static const char *const null[] = {"site.lat_deg",
                                       "clock.offset_s",
                                       "clock.zone_minutes",
                                       "clock.drift_ppm",
                                       "clock.stamps",
                                       "clock.at_utc",
                                       "direction.measured_pa_deg",
                                       "magnitude.predicted",
                                       "holding.mirrored",
                                       "contacts.C1.measured_utc",
                                       "contacts.C1.predicted_utc",
                                       "contacts.C1.o_minus_c_s",
                                       "smallest_separation.predicted_sr",
                                       "ratio.predicted"};
    tl_sequence s = series_no_site();
    cJSON *root = json_of(&s);
    assert_string(root, "site.source", "none");
    for (size_t i = 0; i < sizeof null / sizeof *null; i++)
        if (!cJSON_IsNull(at(root, null[i])))
            fail_msg("%s is not null", null[i]);
    assert_string(root, "contacts.C1.measured_camera", "2027-08-02T10:03:06");
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

static void json_lists_alternatives(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    tl_clock *clock = &s.track.camera[0].clock;
    clock->alternative_count = 2;
    clock->alternative[1].zone_minutes = 60;
    clock->alternative[1].offset_s = -12.345;
    clock->alternative[1].sigma_s = 0.4;
    clock->alternative[1].delta_chi2 = 1.25;
    clock->alternative[1].day_shift_s = 86400.0;
    cJSON *root = json_of(&s);
    assert_int_equal(cJSON_GetArraySize(at(root, "clock.alternatives")), 2);
    const cJSON *second = cJSON_GetArrayItem(at(root, "clock.alternatives"), 1);
    assert_number(second, "zone_minutes", 60.0);
    assert_number(second, "offset_s", -12.3);
    assert_number(second, "delta_chi2", 1.25);
    assert_number(second, "day_shift_s", 86400.0);
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

/* No value carries the digits of a binary fraction (37.399999999999999). */
static void json_numbers_are_short(void **state) {
    (void)state;
    enum { LONGEST = 10 }; /* file sizes and times of day in strings included */
    tl_sequence s = series_solved();
    tl_report_text text = {0};
    assert_int_equal(tl_report_json(&s, &text), TL_OK);
    for (const char *p = tl_report_text_string(&text); *p; p++) {
        const size_t digits = strspn(p, "0123456789");
        assert_true(digits <= LONGEST);
        p += digits > 0 ? digits - 1 : 0;
    }
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

/* ---- out of memory ------------------------------------------------------------------------ */

static size_t allocations, failing;

static void *scarce_malloc(size_t size) {
    return ++allocations == failing ? NULL : malloc(size);
}

/* Whichever one allocation of the JSON library fails, the answer is TL_ERR_MEMORY (and nothing
 * leaks: run under AddressSanitizer). */
static void json_reports_every_failed_allocation(void **state) {
    (void)state;
    enum { STEP = 7 };
    cJSON_Hooks hooks = {scarce_malloc, free};
    tl_sequence s = series_solved();
    for (failing = 1, allocations = 1; failing <= allocations; failing += STEP) {
        tl_report_text text = {0};
        allocations = 0;
        cJSON_InitHooks(&hooks);
        const tl_status status = tl_report_json(&s, &text);
        cJSON_InitHooks(NULL);
        assert_int_equal(status, failing <= allocations ? TL_ERR_MEMORY : TL_OK);
        tl_report_text_free(&text);
    }
    assert_true(failing > 1000);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_holds_the_solution),
        cmocka_unit_test(json_holds_every_camera),
        cmocka_unit_test(json_holds_the_free_path),
        cmocka_unit_test(json_frames_are_the_csv_rows),
        cmocka_unit_test(json_has_null_for_what_is_not_known),
        cmocka_unit_test(json_lists_alternatives),
        cmocka_unit_test(json_numbers_are_short),
        cmocka_unit_test(json_reports_every_failed_allocation),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
