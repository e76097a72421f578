/*
 * test_sky_predict.c - the command `twolimb predict` as a user or a program meets it.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include <cJSON.h>

#include "check.h"
#include "predict_run.h"
#include "twolimb/base.h"

static cJSON *run_json(const char *arguments, int expected_status) {
    char output[OUTPUT_SIZE];
    assert_int_equal(run(arguments, output), expected_status);
    cJSON *json = cJSON_Parse(output);
    assert_non_null(json);
    return json;
}

static double number(const cJSON *object, const char *name) {
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    assert_true(cJSON_IsNumber(item));
    return item->valuedouble;
}

static const char *text(const cJSON *object, const char *name) {
    const cJSON *item = cJSON_GetObjectItemCaseSensitive(object, name);
    assert_true(cJSON_IsString(item));
    return item->valuestring;
}

static const cJSON *contact(const cJSON *json, const char *name) {
    return cJSON_GetObjectItemCaseSensitive(cJSON_GetObjectItemCaseSensitive(json, "contacts"),
                                            name);
}

/* "2024-04-08T18:57:32.123Z" to the second of the day. */
static double second_of(const cJSON *event) {
    int hour = 0, minute = 0, length = 0;
    double second = 0.0;
    const char *utc = text(event, "utc");
    assert_int_equal(
        sscanf(utc, "%*4d-%*2d-%*2dT%2d:%2d:%6lfZ%n", &hour, &minute, &second, &length), 3);
    assert_int_equal(length, 24);
    assert_int_equal(strlen(utc), 24);
    return hour * 3600.0 + minute * 60.0 + second;
}

/* NASA RP 1398, table 21, Bergen: see test_sky_circumstances.c; UT1 there, UTC here. */
static void json_of_bergen_1999(void **state) {
    (void)state;
    /* The table's Delta-T was a prediction, 0.9 s off; 0.2 s for its ephemeris. */
    const double tolerance_s = 1.5, tolerance_deg = 0.6;
    cJSON *json = run_json("--site 60.383333,5.333333,43 --date 1999-08-11 --json", 0);
    const cJSON *site = cJSON_GetObjectItemCaseSensitive(json, "site");
    check_near(number(site, "lat_deg"), 60.383333, 1e-9);
    check_near(number(site, "lon_deg"), 5.333333, 1e-9);
    check_near(number(site, "height_m"), 43.0, 1e-9);
    assert_string_equal(text(site, "source"), "given");
    assert_string_equal(text(json, "date"), "1999-08-11");
    assert_string_equal(text(json, "kind"), "partial");
    check_near(number(json, "magnitude"), .722, 0.0006);
    check_near(number(json, "obscuration"), .656, 0.0006);
    /* USNO: 63.7 s (Delta-T of mid 1999, from memory). */
    check_near(number(json, "deltat_s"), 63.7, 0.1);
    check_near(number(json, "ratio"), 1.03, 0.01);
    check_near(second_of(contact(json, "C1")), 9 * 3600 + 19 * 60 + 41.7, tolerance_s);
    check_near(second_of(contact(json, "max")), 10 * 3600 + 29 * 60 + 34.5, tolerance_s);
    check_near(second_of(contact(json, "C4")), 11 * 3600 + 41 * 60 + 1.6, tolerance_s);
    check_near(number(contact(json, "max"), "altitude_deg"), 43, tolerance_deg);
    check_near(number(contact(json, "max"), "azimuth_deg"), 155, tolerance_deg);
    check_near(number(contact(json, "C1"), "pa_deg"), 267, tolerance_deg);
    check_near(number(contact(json, "C1"), "vertex_deg"), 289, tolerance_deg);
    assert_null(contact(json, "C2"));
    assert_null(contact(json, "C3"));
    cJSON_Delete(json);
}

/* Signs of latitude and longitude, and a central phase: NASA's durations at greatest eclipse. */
static void json_of_central_phases(void **state) {
    (void)state;
    /* Printed for k 0.272281; ours 0.2725076 takes 5.4 s off a ring and adds 3 s to totality. */
    const double tolerance_s = 8.0;
    cJSON *json = run_json("--json --site 11.4,-83.1 --date 2023-10-14", 0);
    assert_string_equal(text(json, "kind"), "annular");
    check_near(second_of(contact(json, "C3")) - second_of(contact(json, "C2")), 317.0, tolerance_s);
    cJSON_Delete(json);
    json = run_json("--json --site=65.2,-25.2 --date=2026-08-12", 0);
    assert_string_equal(text(json, "kind"), "total");
    check_near(second_of(contact(json, "C3")) - second_of(contact(json, "C2")), 138.0, tolerance_s);
    cJSON_Delete(json);
}

/* The same names with nothing in them, and the nearest day of the canon. */
static void json_without_an_eclipse(void **state) {
    (void)state;
    cJSON *json = run_json("--site 52,5 --date 2024-05-01 --json", 2);
    assert_string_equal(text(json, "kind"), "none");
    assert_string_equal(text(json, "nearest_date"), "2025-03-29");
    check_near(number(json, "magnitude"), 0.0, 0.0);
    check_near(number(json, "obscuration"), 0.0, 0.0);
    assert_true(cJSON_IsNull(cJSON_GetObjectItemCaseSensitive(json, "ratio")));
    assert_null(contact(json, "C1"));
    cJSON_Delete(json);
}

static void sentences(void **state) {
    (void)state;
    char output[OUTPUT_SIZE];
    assert_int_equal(run("--site 60.3833,5.3333,43 --date 1999-08-11 --zone +02:00", output), 0);
    assert_non_null(strstr(output, "partial"));
    assert_non_null(strstr(output, "72.2 %"));
    assert_non_null(strstr(output, "UTC+02:00"));
    assert_non_null(strstr(output, "1999-08-11 09:19:4"));
    assert_non_null(strstr(output, "11:19:4"));
    assert_int_equal(run("--site 52,5 --date 2024-05-01", output), 2);
    assert_non_null(strstr(output, "No eclipse here on that day."));
    assert_non_null(strstr(output, "2025-03-29"));
    /* Seen from Europe the eclipse of 2024-04-08 came after sunset. */
    assert_int_equal(run("--site 52,5 --date 2024-04-08", output), 2);
    assert_non_null(strstr(output, "2025-03-29"));
    assert_int_equal(run("--site 40,-4 --date 2026-08-12", output), 0);
    assert_non_null(strstr(output, "sunset"));
    assert_non_null(strstr(output, "Sun down"));
}

/*
 * The day is the user's: 2009-07-22, maximum at 2:30 UTC, is still the 21st in Hawaii, by clock
 * and by the Sun, and so is the 22nd where no zone says otherwise.
 */
static void days_of_the_date_line(void **state) {
    (void)state;
    char output[OUTPUT_SIZE];
    const char *const hawaii = "--site 21.3,-157.9 --date 2009-07-2";
    char arguments[128];
    static const struct {
        const char *rest;
        int status;
    } row[] = {{"1 --zone -10:00", 0}, {"2 --zone -10:00", 2}, {"1", 0}, {"2", 0}, {"3", 2}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        snprintf(arguments, sizeof arguments, "%s%s", hawaii, row[i].rest);
        assert_int_equal(run(arguments, output), row[i].status);
    }
    /* The day named as the nearest is one that finds it. */
    assert_int_equal(run("--site 21.3,-157.9 --date 2009-07-22 --zone -10:00", output), 2);
    assert_non_null(strstr(output, "2009-07-21"));
}

/*
 * Days of F. Espenak's canon on which an eclipse is to be seen in the Netherlands (from memory), in
 * order; what is said of the first is what the day itself says.
 */
static void next_eclipses(void **state) {
    (void)state;
    static const char *const day[] = {"2027-08-02", "2028-01-26", "2029-06-12", "2030-06-01",
                                      "2034-03-20"};
    enum { DAYS = sizeof day / sizeof day[0] };
    cJSON *json = run_json("--site 52,5 --date 2026-08-13 --next --json", 0);
    assert_string_equal(text(json, "from"), "2026-08-13");
    const cJSON *list = cJSON_GetObjectItemCaseSensitive(json, "eclipses");
    assert_int_equal(cJSON_GetArraySize(list), DAYS);
    for (int i = 0; i < DAYS; i++)
        assert_string_equal(text(cJSON_GetArrayItem(list, i), "date"), day[i]);
    cJSON *one = run_json("--site 52,5 --date 2027-08-02 --json", 0);
    const cJSON *first = cJSON_GetArrayItem(list, 0);
    assert_string_equal(text(contact(first, "max"), "utc"), text(contact(one, "max"), "utc"));
    check_near(number(first, "magnitude"), number(one, "magnitude"), 0.0);
    assert_string_equal(text(first, "kind"), "partial");
    cJSON_Delete(one);
    /* Maximum after sunset, as the canon's maps show. */
    const cJSON *second = cJSON_GetArrayItem(list, 1);
    assert_true(cJSON_IsFalse(cJSON_GetObjectItemCaseSensitive(contact(second, "max"), "sun_up")));
    const cJSON *seen = cJSON_GetObjectItemCaseSensitive(second, "greatest_seen");
    assert_true(number(seen, "magnitude") < number(second, "magnitude"));
    assert_string_equal(text(seen, "utc"), text(second, "sunset_utc"));
    cJSON_Delete(json);
}

static size_t lines_with(const char *output, const char *start) {
    size_t count = 0;
    for (const char *at = output; at != NULL; at = strchr(at, '\n')) {
        at += *at == '\n';
        count += strncmp(at, start, strlen(start)) == 0;
    }
    return count;
}

static void next_as_text(void **state) {
    (void)state;
    char output[OUTPUT_SIZE];
    /* The day asked for counts, and is the local one: 2009-07-21 in Hawaii. */
    assert_int_equal(run("--site 21.3,-157.9 --next 1 --date 2009-07-21 --zone -10:00", output), 0);
    assert_int_equal(lines_with(output, "2009-07-21"), 1);
    assert_int_equal(run("--site 21.3,-157.9 --next=1 --date 2009-07-22 --zone -10:00", output), 0);
    assert_int_equal(lines_with(output, "2009-07-2"), 0);
    assert_int_equal(lines_with(output, "20"), 1);
    assert_int_equal(run("--next 2 --site 52,5 --date 2027-09-01", output), 0);
    assert_int_equal(lines_with(output, "20"), 2);
    assert_non_null(strstr(output, "Sun down"));
    /* Without a day: from today, which no list can name here. */
    assert_int_equal(run("--site 52,5 --next", output), 0);
    assert_int_equal(lines_with(output, "20"), 5);
    /* After the last one within the years. */
    assert_int_equal(run("--site 52,5 --next --date 2100-12-31", output), 2);
    assert_non_null(strstr(output, "no more"));
}

/*
 * The sum of the radii grows by 0.32 arcsec with the Sun's and shrinks by 0.83 with the Moon's, at
 * 0.40 to 0.43 arcsec a second: 0.75 to 0.81 s outwards and 1.9 to 2.05 s inwards, as computed
 * elsewhere for C1 and C4 of many eclipses.
 */
static void radii_from_the_command_line(void **state) {
    (void)state;
    cJSON *plain = run_json("--json --site 41,-83 --date 2024-04-08", 0);
    cJSON *sun = run_json("--json --site 41,-83 --date 2024-04-08 --sun-radius 959.95", 0);
    cJSON *moon = run_json("--json --site 41,-83 --date 2024-04-08 --moon-k 0.272281", 0);
    double sun_s = second_of(contact(sun, "C1")) - second_of(contact(plain, "C1"));
    double moon_s = second_of(contact(moon, "C1")) - second_of(contact(plain, "C1"));
    check_near(sun_s, -0.78, 0.032); /* milliseconds are printed */
    check_near(moon_s, 1.975, 0.075);
    check_near(number(plain, "sun_radius_arcsec"), 959.63, 1e-9);
    check_near(number(sun, "sun_radius_arcsec"), 959.95, 1e-9);
    check_near(number(moon, "moon_k"), 0.272281, 1e-12);
    cJSON_Delete(plain);
    cJSON_Delete(sun);
    cJSON_Delete(moon);
}

/* How well a year's TT - UT1 is known is told where it counts. */
static void uncertainty_is_told(void **state) {
    (void)state;
    char output[OUTPUT_SIZE];
    cJSON *json = run_json("--json --site 30,31 --date 2027-08-02", 0);
    check_near(number(contact(json, "C1"), "sigma_s"), 0.15, 0.1);
    cJSON_Delete(json);
    assert_int_equal(run("--site 30,31 --date 2027-08-02", output), 0);
    assert_null(strstr(output, "not known better"));
    assert_int_equal(run("--site 35,138 --date 2035-09-02", output), 0);
    assert_non_null(strstr(output, "not known better"));
    assert_non_null(strstr(output, "+- 1.5 s")); /* Huber's formula for 9.7 years: 1.52 s */
}

static void wrong_use(void **state) {
    (void)state;
    static const struct {
        const char *arguments, *says;
    } row[] = {
        {"--date 2026-08-12", "--site"},
        {"--site 52,5", "--date"},
        {"--site 95,5 --date 2026-08-12", "latitude"},
        {"--site north --date 2026-08-12", "latitude"},
        {"--site 52,5 --date 2026-02-30", "YYYY-MM-DD"},
        {"--site 52,5 --date 12.8.2026", "YYYY-MM-DD"},
        {"--site 52,5 --date 2026-08-12 --zone CET", "+02:00"},
        {"--site 52,5 --date 2026-08-12 extra", "extra"},
        {"--site 52,5 --date 2026-08-12 --height 3", "--help"},
        {"--site 52,5 --date", "value"},
        {"--site 52,5 --next 0", "--next"},
        {"--site 52,5 --next many", "--next"},
        {"--site 52,5 --next 1000", "999"},
        {"--site 52,5 --date 2026-08-12 --sun-radius 16", "959.63"},
        {"--site 52,5 --date 2026-08-12 --moon-k 0.2725x", "0.272281"},
        {"--site 52,5 --date 1949-08-12", "1950"},
        {"--site 52,5 --next --date 1949-08-12", "1950"},
        {"--site 52,5 --date 2101-01-02", "2100"},
    };
    char output[OUTPUT_SIZE];
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        assert_int_equal(run(row[i].arguments, output), 64);
        assert_non_null(strstr(output, row[i].says));
        assert_ptr_equal(strstr(output, "twolimb: "), output);
    }
}

static void help_has_the_cautions(void **state) {
    (void)state;
    char output[OUTPUT_SIZE];
    assert_int_equal(run("--help", output), 0);
    assert_non_null(strstr(output, "FRONT"));
    assert_non_null(strstr(output, "ISO 12312-2"));
    assert_non_null(strstr(output, "eyepiece"));
    assert_non_null(strstr(output, "projecting"));
    assert_non_null(strstr(output, "totality"));
    assert_non_null(strstr(output, "advice"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_of_bergen_1999),
        cmocka_unit_test(json_of_central_phases),
        cmocka_unit_test(json_without_an_eclipse),
        cmocka_unit_test(sentences),
        cmocka_unit_test(days_of_the_date_line),
        cmocka_unit_test(next_eclipses),
        cmocka_unit_test(next_as_text),
        cmocka_unit_test(radii_from_the_command_line),
        cmocka_unit_test(uncertainty_is_told),
        cmocka_unit_test(wrong_use),
        cmocka_unit_test(help_has_the_cautions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
