/*
 * frames.csv and sequence.json hold what the series holds, under the promised names.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <cjson/cJSON.h>

#include "report/report_internal.h"
#include "test_report_series.h"

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

/* ---- a reader for CSV as RFC 4180 has it, apart from the writer --------------------------- */

enum { MAX_ROWS = 20, MAX_COLUMNS = 80 };
typedef struct table {
    char *cell[MAX_ROWS][MAX_COLUMNS];
    size_t columns[MAX_ROWS], rows;
} table;

static void read_csv(const char *text, table *t) {
    memset(t, 0, sizeof *t);
    char buffer[4096];
    size_t length = 0;
    bool quoted = false;
    for (const char *p = text; *p; p++) {
        if (quoted && p[0] == '"' && p[1] == '"') {
            buffer[length++] = *++p;
        } else if (*p == '"') {
            quoted = !quoted;
        } else if (!quoted && (*p == ',' || (p[0] == '\r' && p[1] == '\n'))) {
            buffer[length] = '\0';
            t->cell[t->rows][t->columns[t->rows]++] = series_copy(buffer);
            length = 0;
            if (*p == '\r') {
                p++;
                t->rows++;
            }
        } else {
            buffer[length++] = *p;
        }
        assert_true(length < sizeof buffer && t->rows < MAX_ROWS);
    }
    assert_false(quoted);
    assert_int_equal(length, 0);
}

static void free_table(table *t) {
    for (size_t r = 0; r < t->rows; r++)
        for (size_t c = 0; c < t->columns[r]; c++)
            free(t->cell[r][c]);
}

static const char *cell(const table *t, size_t frame, const char *name) {
    for (size_t c = 0; c < t->columns[0]; c++)
        if (strcmp(t->cell[0][c], name) == 0)
            return t->cell[frame + 1][c];
    fail_msg("no column %s", name);
    return NULL;
}

static double number(const table *t, size_t frame, const char *name) {
    char *end;
    const char *text = cell(t, frame, name);
    const double value = strtod(text, &end);
    assert_true(end != text && *end == '\0');
    return value;
}

static table csv_of(const tl_sequence *s) {
    tl_report_text text = {0};
    table t;
    assert_int_equal(tl_report_csv(s, &text), TL_OK);
    read_csv(tl_report_text_string(&text), &t);
    tl_report_text_free(&text);
    return t;
}

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

static void csv_survives_hostile_names(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    table t = csv_of(&s);
    assert_string_equal(cell(&t, SERIES_HOSTILE, "file"), SERIES_HOSTILE_NAME);
    assert_string_equal(cell(&t, SERIES_LATIN1, "file"), "caf\xEF\xBF\xBD.jpg");
    free_table(&t);
    tl_sequence_free(&s);
}

/* ---- sequence.json ------------------------------------------------------------------------ */

static cJSON *json_of(const tl_sequence *s) {
    tl_report_text text = {0};
    assert_int_equal(tl_report_json(s, &text), TL_OK);
    cJSON *root = cJSON_Parse(tl_report_text_string(&text));
    assert_non_null(root);
    tl_report_text_free(&text);
    return root;
}

/* The item at "a.b.c"; the test fails if it is not there. */
static const cJSON *at(const cJSON *root, const char *path) {
    char name[64];
    const cJSON *item = root;
    while (*path) {
        const size_t length = strcspn(path, ".");
        snprintf(name, sizeof name, "%.*s", (int)length, path);
        item = cJSON_GetObjectItemCaseSensitive(item, name);
        if (!item)
            fail_msg("no key %s", name);
        path += length + (path[length] == '.');
    }
    return item;
}

static void assert_number(const cJSON *root, const char *path, double expected) {
    const cJSON *item = at(root, path);
    assert_true(cJSON_IsNumber(item));
    /* decimal texts read back: equal to the nearest double */
    assert_close(item->valuedouble, expected, 1e-12);
}

static void assert_string(const cJSON *root, const char *path, const char *expected) {
    assert_true(cJSON_IsString(at(root, path)));
    assert_string_equal(at(root, path)->valuestring, expected);
}

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
    assert_number(root, "ratio.measured", 1.0742);
    assert_number(root, "ratio.sigma", 0.0011);
    assert_number(root, "ratio.predicted", 1.07581);
    assert_true(cJSON_IsArray(at(root, "spots")));
    assert_number(root, "counts.files", SERIES_FRAMES);
    assert_number(root, "counts.measured", 9);
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

static void json_frames_are_the_csv_rows(void **state) {
    (void)state;
    tl_sequence s = series_solved();
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
    cJSON *root = json_of(&s);
    assert_int_equal(cJSON_GetArraySize(at(root, "clock.alternatives")), 2);
    const cJSON *second = cJSON_GetArrayItem(at(root, "clock.alternatives"), 1);
    assert_number(second, "zone_minutes", 60.0);
    assert_number(second, "offset_s", -12.3);
    assert_number(second, "delta_chi2", 1.25);
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
    for (size_t field = 0; field < tl_report_field_count; field++) {
        char quoted[64];
        snprintf(quoted, sizeof quoted, "`%s`", tl_report_field_name(field));
        if (!strstr(tl_report_text_string(&doc), quoted))
            fail_msg("%s is not in docs/output.md", quoted);
    }
    tl_report_text_free(&doc);
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
        cmocka_unit_test(csv_has_the_promised_columns_first),
        cmocka_unit_test(csv_row_says_what_was_measured),
        cmocka_unit_test(direction_is_measured_by_the_shared_turn),
        cmocka_unit_test(csv_leaves_empty_what_is_not_known),
        cmocka_unit_test(csv_survives_hostile_names),
        cmocka_unit_test(json_holds_the_solution),
        cmocka_unit_test(json_frames_are_the_csv_rows),
        cmocka_unit_test(json_has_null_for_what_is_not_known),
        cmocka_unit_test(json_lists_alternatives),
        cmocka_unit_test(json_numbers_are_short),
        cmocka_unit_test(every_column_is_documented),
        cmocka_unit_test(json_reports_every_failed_allocation),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
