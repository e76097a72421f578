/*
 * What the user said stands in the report as said, and what became of each picture for it.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <cjson/cJSON.h>

#include "report/report_internal.h"
#include "test_report_series.h"

enum { UNTIMED = 4, EXCLUDED = 6 };

/* The series with all that can be said; two pictures excluded, one without a time. */
static tl_sequence series_given(void) {
    tl_sequence s = series_solved();
    s.options.zone_given = true;
    s.options.zone_minutes = SERIES_ZONE_MINUTES;
    s.options.date_given = true;
    s.options.date_utc_s = SERIES_DAY_S;
    s.options.holding = TL_HOLDING_ALTAZ;
    s.options.mirror = TL_MIRROR_YES;
    s.times_name = series_copy("ti<mes.csv");
    s.frame[0].info.time.source = TL_TIME_TABLE;
    s.frame[1].info.time.source = TL_TIME_TABLE;
    s.frame[SERIES_HOSTILE].excluded = true;
    s.frame[EXCLUDED].excluded = true;
    s.frame[UNTIMED].info.time.source = TL_TIME_NONE;
    return s;
}

/* Nothing said: the place is from the pictures. */
static tl_sequence series_silent(void) {
    tl_sequence s = series_solved();
    s.options.site.source = TL_SITE_EXIF;
    return s;
}

/* The table has a row for one of two files of the same bytes, of which the other has its time. */
static void times_are_counted_by_picture(void **state) {
    (void)state;
    tl_sequence s = series_given();
    tl_report_text text = {0};
    tl_sequence_frame *copy = &s.frame[2];
    copy->is_copy = true;
    copy->copy_of = 0;
    copy->info.time.source = TL_TIME_TABLE;
    tl_report_words_times(&s, &text);
    assert_string_equal(tl_report_text_string(&text), "of 2 pictures from ti<mes.csv");
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

static char *page_of(const tl_sequence *s) {
    tl_report_source source;
    tl_report_text html = {0};
    assert_int_equal(tl_report_source_make(s, &source), TL_OK);
    assert_int_equal(tl_report_html(&source, &html), TL_OK);
    tl_report_source_free(&source);
    return html.data;
}

/* Nothing is wrong with a copy: the page does not call it unusable. */
static void a_copy_is_called_one(void **state) {
    (void)state;
    tl_sequence s = series_given();
    tl_sequence_frame *copy = &s.frame[2];
    tl_limb_free(&copy->limb);
    copy->limb = (tl_limb){.status = TL_LIMB_UNUSABLE};
    strcpy(copy->limb.reason, "A copy of x.jpg, which is used.");
    char *html = page_of(&s);
    assert_non_null(strstr(html, "not usable<small>A copy of"));
    free(html);
    copy->is_copy = true;
    copy->copy_of = 0;
    html = page_of(&s);
    assert_null(strstr(html, "not usable<small>A copy of"));
    assert_non_null(strstr(html, "<td class=\"state\">copy<small>A copy of x.jpg"));
    assert_non_null(strstr(html, "<span class=\"status\">copy</span>"));
    free(html);
    tl_sequence_free(&s);
}

static char *summary_of(const tl_sequence *s) {
    char *text = NULL;
    size_t size = 0;
    FILE *file = open_memstream(&text, &size);
    assert_non_null(file);
    tl_report_summary(s, "out", false, file);
    assert_int_equal(fclose(file), 0);
    return text;
}

static cJSON *json_of(const tl_sequence *s) {
    tl_report_text text = {0};
    assert_int_equal(tl_report_json(s, &text), TL_OK);
    cJSON *root = cJSON_Parse(tl_report_text_string(&text));
    assert_non_null(root);
    tl_report_text_free(&text);
    return root;
}

static void items_are_what_was_said(void **state) {
    (void)state;
    static const char *const expected[] = {
        "Place: 45.0000\u00b0 N, 10.0000\u00b0 E, 120 m",
        "Zone of the camera\u2019s clock: UTC+02:00",
        "Day: 2 August 2027",
        "Held: on an alt-azimuth mount, turning with the sky",
        "Mirrored: yes",
        "Times: of 2 pictures from ti<mes.csv",
        "Excluded: " SERIES_HOSTILE_NAME ", IMG_0007.JPG",
    };
    enum { ITEMS = sizeof expected / sizeof *expected };
    tl_sequence s = series_given();
    tl_report_text item = {0};
    for (size_t n = 0; n < ITEMS; n++) {
        assert_true(tl_report_words_given(&s, n, &item));
        assert_string_equal(tl_report_text_string(&item), expected[n]);
        tl_report_text_free(&item);
    }
    assert_false(tl_report_words_given(&s, ITEMS, &item));
    tl_sequence_free(&s);
    s = series_silent();
    assert_false(tl_report_words_given(&s, 0, &item));
    assert_int_equal(item.length, 0);
    s.options.mirror = TL_MIRROR_NO; /* alone, and so the first */
    assert_true(tl_report_words_given(&s, 0, &item));
    assert_string_equal(tl_report_text_string(&item), "Mirrored: no");
    assert_false(tl_report_words_given(&s, 1, &item));
    tl_report_text_free(&item);
    tl_sequence_free(&s);
}

static void page_lists_them(void **state) {
    (void)state;
    tl_sequence s = series_given();
    char *html = page_of(&s);
    const char *list = strstr(html, "<h3>Given by you</h3>");
    assert_non_null(list);
    assert_non_null(strstr(list, "<li>Mirrored: yes</li>"));
    assert_non_null(strstr(list, "from ti&lt;mes.csv</li>"));
    assert_non_null(strstr(list, "&lt;script&gt;"));
    /* Once in the gallery and once in the table for each of two. */
    size_t told = 0;
    for (const char *p = html; (p = strstr(p, "excluded by --exclude")) != NULL; p++)
        told++;
    assert_int_equal(told, 4);
    assert_non_null(strstr(html, "<td class=\"state\">measured, excluded by --exclude</td>"));
    /* The gallery marks the times from the table. */
    assert_non_null(strstr(html, "<dt>camera</dt><dd>10:10:37.4 (given)</dd>"));
    free(html);
    tl_sequence_free(&s);
    s = series_silent();
    html = page_of(&s);
    assert_null(strstr(html, "Given by you"));
    assert_null(strstr(html, "(given)"));
    assert_null(strstr(html, "excluded"));
    free(html);
    tl_sequence_free(&s);
}

static void json_holds_only_what_was_said(void **state) {
    (void)state;
    tl_sequence s = series_given();
    cJSON *root = json_of(&s);
    const cJSON *given = cJSON_GetObjectItem(root, "given");
    assert_int_equal(cJSON_GetArraySize(given), 7);
    const cJSON *site = cJSON_GetObjectItem(given, "site");
    assert_close(cJSON_GetObjectItem(site, "lat_deg")->valuedouble, 45.0, 1e-12);
    assert_close(cJSON_GetObjectItem(site, "lon_deg")->valuedouble, 10.0, 1e-12);
    assert_close(cJSON_GetObjectItem(site, "height_m")->valuedouble, 120.0, 1e-12);
    assert_int_equal(cJSON_GetObjectItem(given, "zone_minutes")->valueint, 120);
    assert_string_equal(cJSON_GetObjectItem(given, "date")->valuestring, "2027-08-02");
    assert_string_equal(cJSON_GetObjectItem(given, "holding")->valuestring, "altaz");
    assert_string_equal(cJSON_GetObjectItem(given, "mirror")->valuestring, "yes");
    assert_string_equal(cJSON_GetObjectItem(given, "times")->valuestring, "ti<mes.csv");
    const cJSON *exclude = cJSON_GetObjectItem(given, "exclude");
    assert_int_equal(cJSON_GetArraySize(exclude), 2);
    assert_string_equal(cJSON_GetArrayItem(exclude, 0)->valuestring, SERIES_HOSTILE_NAME);
    cJSON_Delete(root);
    tl_sequence_free(&s);
    s = series_silent();
    root = json_of(&s);
    given = cJSON_GetObjectItem(root, "given");
    assert_true(cJSON_IsObject(given));
    assert_int_equal(cJSON_GetArraySize(given), 0);
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

static void summary_marks_them(void **state) {
    (void)state;
    static const char *const told[] = {
        "2 August 2027 (given)\n",
        "120 m (given)\n",
        ", 2 excluded (given)\n",
        "of 2 pictures from ti<mes.csv (given)\n",
        "fast in zone UTC+02:00 (given); +- 1.4 s in all alike\n",
        "alt-azimuth mount (given)",
        "mirrored (given)\n",
    };
    tl_sequence s = series_given();
    char *text = summary_of(&s);
    for (size_t i = 0; i < sizeof told / sizeof *told; i++)
        if (!strstr(text, told[i]))
            fail_msg("not told: %s\n%s", told[i], text);
    free(text);
    /* A zone that the sky contradicts is not the one given. */
    s.track.camera[0].clock.zone_corrected = true;
    text = summary_of(&s);
    assert_null(strstr(text, "UTC+02:00 (given)"));
    free(text);
    /* Nor can the sky confirm it without a clock. */
    s.track.camera[0].clock = (tl_clock){0};
    text = summary_of(&s);
    assert_non_null(strstr(text, "not checked against the sky, in zone UTC+02:00 (given)\n"));
    free(text);
    tl_sequence_free(&s);
    s = series_silent();
    text = summary_of(&s);
    assert_null(strstr(text, "given"));
    assert_null(strstr(text, "excluded"));
    free(text);
    tl_sequence_free(&s);
}

static void every_picture_has_its_part(void **state) {
    (void)state;
    tl_sequence s = series_given();
    assert_string_equal(tl_report_used(&s, 0), "yes");
    assert_string_equal(tl_report_used(&s, SERIES_OUTLIER), "left out");
    assert_string_equal(tl_report_used(&s, EXCLUDED), "excluded");
    assert_string_equal(tl_report_used(&s, UNTIMED), "not timed");
    assert_string_equal(tl_report_used(&s, SERIES_REFUSED), "");
    assert_string_equal(tl_report_used(&s, SERIES_SUN_ONLY), "");
    s.frame[0].camera = TL_CAMERAS_MAX;
    assert_string_equal(tl_report_used(&s, 0), "not timed");
    /* A camera without a clock, when the path is in the time of another. */
    s.frame[0].camera = 1;
    assert_string_equal(tl_report_used(&s, 0), "");
    s.track.main_camera = 1;
    assert_string_equal(tl_report_used(&s, 0), "yes");
    /* No path and no clock: nothing was used for anything. */
    s.track.main_camera = s.frame[0].camera = 0;
    s.track.free_solved = false;
    s.track.camera[0].clock.solved = false;
    assert_string_equal(tl_report_used(&s, 0), "");
    tl_sequence_free(&s);
}

/* An excluded picture is not judged by a path that it was kept from. */
static void an_excluded_picture_is_no_outlier(void **state) {
    (void)state;
    tl_sequence s = series_given();
    cJSON *root = json_of(&s);
    const cJSON *frame = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "frames"), EXCLUDED);
    assert_string_equal(cJSON_GetObjectItem(frame, "used")->valuestring, "excluded");
    assert_true(cJSON_IsNull(cJSON_GetObjectItem(frame, "outlier")));
    assert_true(cJSON_IsNumber(cJSON_GetObjectItem(frame, "separation_residual_sr")));
    cJSON_Delete(root);
    const tl_report_facts facts = tl_report_facts_of(&s);
    tl_report_path path;
    assert_int_equal(tl_report_path_make(&s, &facts, &path), TL_OK);
    for (size_t i = 0; i < path.measured_count; i++)
        assert_int_equal(path.measured[i].outlier, path.measured[i].frame == SERIES_HOSTILE ||
                                                       path.measured[i].frame == EXCLUDED ||
                                                       path.measured[i].frame == SERIES_OUTLIER);
    tl_report_path_free(&path);
    tl_sequence_free(&s);
    s = series_no_site();
    s.frame[EXCLUDED].excluded = true;
    root = json_of(&s);
    frame = cJSON_GetArrayItem(cJSON_GetObjectItem(root, "frames"), EXCLUDED);
    assert_true(cJSON_IsNull(cJSON_GetObjectItem(frame, "separation_residual_sr")));
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

static void too_many_cameras_are_told(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    tl_report_text words = {0};
    tl_report_words_unlisted(&s, &words);
    assert_int_equal(words.length, 0);
    s.frame[2].camera = s.frame[3].camera = TL_CAMERAS_MAX;
    s.frame[SERIES_REFUSED].camera = TL_CAMERAS_MAX; /* no Sun: of no interest */
    char *html = page_of(&s);
    assert_non_null(strstr(html, "There are pictures of the Sun by more than 16 cameras."));
    assert_non_null(strstr(html, "2 pictures of the others are treated as without a time"));
    free(html);
    tl_report_text_free(&words);
    tl_sequence_free(&s);
}

/* A name in the table that is misspelt is told on page and terminal. */
static void stray_rows_are_told(void **state) {
    (void)state;
    tl_sequence s = series_given();
    s.times_stray = series_copy("a<b.jpg");
    s.times_stray_count = 1;
    char *html = page_of(&s), *text = summary_of(&s);
    assert_non_null(strstr(html, "from ti&lt;mes.csv; 1 of its rows names none of the pictures: "
                                 "a&lt;b.jpg</li>"));
    assert_non_null(strstr(text, "ti<mes.csv (given)\n           1 of its rows names none of the "
                                 "pictures: a<b.jpg\n"));
    free(html);
    free(text);
    s.times_stray_count = 3;
    text = summary_of(&s);
    assert_non_null(strstr(text, "3 of its rows name none of the pictures: a<b.jpg and others\n"));
    free(text);
    tl_sequence_free(&s);
}

/* The eclipse's day by UTC need not be the local day that was given: the mark tells the latter. */
static void day_given_is_the_one_said(void **state) {
    (void)state;
    tl_sequence s = series_given();
    s.options.date_utc_s = SERIES_DAY_S + TL_DAY_S;
    char *text = summary_of(&s);
    assert_non_null(strstr(text, "eclipse of 2 August 2027 (given: 3 August 2027)\n"));
    free(text);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(times_are_counted_by_picture),
        cmocka_unit_test(a_copy_is_called_one),
        cmocka_unit_test(items_are_what_was_said),
        cmocka_unit_test(page_lists_them),
        cmocka_unit_test(json_holds_only_what_was_said),
        cmocka_unit_test(summary_marks_them),
        cmocka_unit_test(every_picture_has_its_part),
        cmocka_unit_test(an_excluded_picture_is_no_outlier),
        cmocka_unit_test(too_many_cameras_are_told),
        cmocka_unit_test(stray_rows_are_told),
        cmocka_unit_test(day_given_is_the_one_said),
    };
    return cmocka_run_group_tests_name("report_given", tests, NULL, NULL);
}
