/*
 * test_report_place.c - the estimated place in sequence.json, on the page and on the terminal.
 * Place and line are invented; they lie on the date line, where a map can break.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cJSON.h>
#include <cmocka.h>

#include "report/html_internal.h"
#include "test_report_series.h"

static tl_track_place invented(void) {
    tl_track_place p = {.lat_rad = -41.25 * TL_DEG,
                        .lon_rad = 179.95 * TL_DEG,
                        .along_m = 42.4e3,
                        .across_m = 2340.0,
                        .long_axis_rad = 100.0 * TL_DEG,
                        .m_per_clock_s = 870.0,
                        .point_count = 3};
    for (size_t i = 0; i < 3; i++) {
        p.point[i].lat_rad = (-41.25 - 0.1 * ((double)i - 1.0)) * TL_DEG;
        p.point[i].lon_rad = tl_angle_signed((179.95 + 0.5 * ((double)i - 1.0)) * TL_DEG);
    }
    return p;
}

static tl_sequence placed(size_t places) {
    tl_sequence s = series_no_site();
    s.options.find_site = true;
    s.track.place_count = places;
    for (size_t i = 0; i < places; i++)
        s.track.place[i] = invented();
    return s;
}

static double number(const cJSON *object, const char *name) {
    const cJSON *item = cJSON_GetObjectItem(object, name);
    assert_true(cJSON_IsNumber(item));
    return item->valuedouble;
}

static void json_has_the_place(void **state) {
    (void)state;
    tl_sequence s = placed(1);
    tl_report_text text = {0};
    assert_int_equal(tl_report_json(&s, &text), TL_OK);
    cJSON *root = cJSON_Parse(tl_report_text_string(&text));
    const cJSON *list = cJSON_GetObjectItem(root, "place");
    assert_int_equal(cJSON_GetArraySize(list), 1);
    const cJSON *place = cJSON_GetArrayItem(list, 0);
    const double degree = 1e-4, km = 0.01; /* last digits written */
    assert_close(number(place, "lat_deg"), -41.25, degree);
    assert_close(number(place, "lon_deg"), 179.95, degree);
    assert_close(number(place, "along_km"), 42.4, km);
    assert_close(number(place, "across_km"), 2.34, km);
    assert_close(number(place, "long_axis_deg"), 100.0, 0.1);
    assert_close(number(place, "km_per_clock_s"), 0.87, km);
    const cJSON *line = cJSON_GetObjectItem(place, "line");
    assert_int_equal(cJSON_GetArraySize(line), 3);
    const cJSON *last = cJSON_GetArrayItem(line, 2);
    assert_close(cJSON_GetArrayItem(last, 0)->valuedouble, -41.35, degree);
    assert_close(cJSON_GetArrayItem(last, 1)->valuedouble, -179.55, degree);
    cJSON_Delete(root);
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

/* The page's section; the caller frees. */
static tl_report_text section(tl_sequence *s) {
    tl_report_text html = {0};
    const tl_report_page page = {.sequence = s, .html = &html};
    tl_report_html_place(&page);
    assert_false(html.failed);
    return html;
}

static size_t times_in(const char *text, const char *word) {
    size_t count = 0;
    for (; (text = strstr(text, word)) != NULL; text++)
        count++;
    return count;
}

static void page_shows_it(void **state) {
    (void)state;
    tl_sequence s = placed(1);
    tl_report_text html = section(&s);
    const char *text = tl_report_text_string(&html);
    assert_non_null(strstr(text, "41.25\u00b0\u00a0S, 179.95\u00b0\u00a0E"));
    assert_non_null(strstr(text, "\u00b1 42\u00a0km along 100\u00b0, 2.3\u00a0km across"));
    assert_non_null(strstr(text, "0.9\u00a0km"));
    assert_non_null(strstr(text, "\u00b0 E</text>")); /* both sides of the date line have names */
    assert_non_null(strstr(text, "\u00b0 W</text>"));
    assert_int_equal(times_in(text, "<svg"), 1);
    assert_null(strstr(text, "Two places"));
    tl_report_text_free(&html);
    tl_sequence_free(&s);
}

/* Every point of the line lies on the map, 720 by 480. */
static void line_is_on_the_map(void **state) {
    (void)state;
    tl_sequence s = placed(1);
    tl_report_text html = section(&s);
    const char *at = strstr(tl_report_text_string(&html), "points=\"");
    assert_non_null(at);
    at += strlen("points=\"");
    double last_x = 0.0;
    for (size_t i = 0; i < 3; i++) {
        char *end;
        const double x = strtod(at, &end), y = strtod(end + 1, &end);
        assert_true(x > last_x && x < 720.0 && y > 0.0 && y < 480.0);
        last_x = x; /* eastwards is to the right */
        at = end;
    }
    tl_report_text_free(&html);
    tl_sequence_free(&s);
}

static void two_places_or_none(void **state) {
    (void)state;
    tl_sequence s = placed(2);
    tl_report_text html = section(&s);
    assert_non_null(strstr(tl_report_text_string(&html), "Two places"));
    assert_int_equal(times_in(tl_report_text_string(&html), "<svg"), 2);
    tl_report_text_free(&html);
    s.track.place_count = 0;
    html = section(&s);
    assert_int_equal(html.length, 0);
    tl_report_text_free(&html);
    tl_sequence_free(&s);
}

static void terminal_says_it(void **state) {
    (void)state;
    tl_sequence s = placed(2);
    char text[4096];
    FILE *file = tmpfile();
    assert_non_null(file);
    tl_report_summary(&s, "out", false, file);
    rewind(file);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    assert_non_null(strstr(text, "\nTaken at   41.25 deg S, 179.95 deg E, +- 42 km along 100 deg"));
    assert_non_null(strstr(text, "\n           or 41.25 deg S"));
    assert_non_null(
        strstr(text, "\n           moves by 0.9 km for every second that the clock is off\n"));
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_has_the_place), cmocka_unit_test(page_shows_it),
        cmocka_unit_test(line_is_on_the_map), cmocka_unit_test(two_places_or_none),
        cmocka_unit_test(terminal_says_it),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
