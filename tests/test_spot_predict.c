/*
 * test_spot_predict.c - `twolimb predict --spots` as a user or a program meets it.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>

#include <cJSON.h>

#include "check.h"
#include "picture.h"
#include "predict_run.h"
#include "twolimb/spot.h"

#define MADRID "--site 40.4,-3.7,650 --date 2026-08-12 "
#define INVENTED "--spots fixtures/spots/invented.csv "

/* The same with a list written for it. */
static int run_list(const char *arguments, const char *list, char output[OUTPUT_SIZE]) {
    scratch s;
    char path[PATH_SIZE], all[COMMAND_SIZE];
    scratch_make(&s);
    scratch_path(&s, "spots.csv", path);
    write_text(path, list);
    snprintf(all, sizeof all, "%s --spots %s", arguments, path);
    const int status = run(all, output);
    remove_tree(s.folder);
    return status;
}

static const cJSON *item(const cJSON *object, const char *name) {
    return cJSON_GetObjectItemCaseSensitive(object, name);
}

static double number(const cJSON *object, const char *name) {
    assert_true(cJSON_IsNumber(item(object, name)));
    return item(object, name)->valuedouble;
}

static const char *text(const cJSON *object, const char *name) {
    assert_true(cJSON_IsString(item(object, name)));
    return item(object, name)->valuestring;
}

/* "2026-08-12T17:45:47.123Z" to seconds. */
static double seconds_of(const cJSON *object, const char *name) {
    tl_calendar when;
    double t;
    assert_int_equal(sscanf(text(object, name), "%d-%d-%dT%d:%d:%lfZ", &when.year, &when.month,
                            &when.day, &when.hour, &when.minute, &when.second),
                     6);
    assert_int_equal(tl_time_from_calendar(&when, &t), TL_OK);
    return t;
}

/*
 * What is printed says it all: a spot at this latitude and Carrington longitude, looked at with
 * tl_sky_at at the instant printed, has its centre on the Moon's edge, or its own edge.
 */
static void check_instant(const tl_site *site, const cJSON *json, const cJSON *spot,
                          const char *passage, const char *touch, double radii) {
    const double tolerance_sr = 5e-5; /* 0.001 degrees of each as printed */
    const double t = seconds_of(item(spot, passage), touch);
    const double max_s = seconds_of(item(item(json, "contacts"), "max"), "utc");
    const double latitude = number(spot, "latitude_deg") * TL_DEG;
    const double carrington =
        number(spot, "carrington_deg") * TL_DEG + tl_spot_drift_rad(latitude, t - max_s);
    tl_sky sky;
    double east, north;
    assert_int_equal(tl_sky_at(site, t, NULL, &sky), TL_OK);
    assert_true(tl_spot_project(&sky, latitude, carrington, &east, &north));
    /* A round spot seen at a slant is an ellipse of the area said, its axes as cos rho : 1 (closed
     * form); how far it reaches along the line to the Moon's centre is its support there. */
    const double from_moon = hypot(east - sky.east_sr, north - sky.north_sr);
    double east_max, north_max; /* where the radius said holds */
    tl_sky max;
    assert_int_equal(tl_sky_at(site, max_s, NULL, &max), TL_OK);
    assert_true(tl_spot_project(&max, latitude, number(spot, "carrington_deg") * TL_DEG, &east_max,
                                &north_max));
    const double mu_max = sqrt(1.0 - east_max * east_max - north_max * north_max);
    const double r = hypot(east, north), mu = sqrt(1.0 - r * r);
    const double inward =
        (east * (east - sky.east_sr) + north * (north - sky.north_sr)) / (r * from_moon);
    const double reach = number(spot, "radius_sr") / sqrt(mu_max) *
                         sqrt(mu * mu * inward * inward + 1.0 - inward * inward);
    check_near(from_moon - sky.ratio, radii * reach, tolerance_sr);
}

static void json_of_an_invented_list(void **state) {
    (void)state;
    char output[OUTPUT_SIZE];
    tl_site site;
    assert_int_equal(tl_site_parse("40.4,-3.7,650", &site), TL_OK);
    assert_int_equal(run(MADRID INVENTED "--json", output), 0);
    cJSON *json = cJSON_Parse(output);
    const cJSON *spots = item(json, "spots");
    /* Of two rows of one name the one nearer in time. */
    static const char *const name[] = {"North pair", "Small one", "Old giant", "Far side",
                                       "Southern"};
    assert_int_equal(cJSON_GetArraySize(spots), 5);
    for (int i = 0; i < 5; i++) {
        const cJSON *spot = cJSON_GetArrayItem(spots, i);
        assert_string_equal(text(spot, "name"), name[i]);
        assert_int_equal(cJSON_IsTrue(item(spot, "on_disc")), i != 3);
        if (i == 3) {
            assert_null(item(spot, "covered"));
            continue;
        }
        assert_true(cJSON_IsFalse(item(spot, "unsure")));
        check_instant(&site, json, spot, "covered", "first_utc", 1.0);
        check_instant(&site, json, spot, "covered", "centre_utc", 0.0);
        check_instant(&site, json, spot, "covered", "last_utc", -1.0);
        check_instant(&site, json, spot, "uncovered", "first_utc", -1.0);
        check_instant(&site, json, spot, "uncovered", "centre_utc", 0.0);
        check_instant(&site, json, spot, "uncovered", "last_utc", 1.0);
        assert_true(seconds_of(item(spot, "covered"), "last_utc") <
                    seconds_of(item(spot, "uncovered"), "first_utc"));
        assert_true(cJSON_IsTrue(item(item(spot, "covered"), "sun_up")));
        assert_true(number(item(spot, "covered"), "touch_sigma_s") >
                    number(item(spot, "covered"), "sigma_s"));
    }
    const cJSON *giant = cJSON_GetArrayItem(spots, 2);
    assert_string_equal(text(giant, "listed_utc"), "2026-08-10T00:00:00.000Z");
    /* Two days and 18.5 h at 13.2 degrees, and a little less for its latitude of 21.5. */
    check_near(number(giant, "longitude_deg"), 38.0 + 2.77 * (13.2 - 0.1), 0.7);
    check_near(number(giant, "latitude_sigma_deg"), hypot(0.3, 0.15 * 2.77), 0.002);
    check_near(number(giant, "longitude_sigma_deg"), hypot(0.3, 0.5 * 2.77), 0.002);
    cJSON_Delete(json);
    /* No list, no name; no eclipse, an empty one. */
    assert_int_equal(run(MADRID "--json", output), 0);
    assert_null(strstr(output, "spots"));
    assert_int_equal(run("--site 31,-90 --date 2026-08-12 --json " INVENTED, output), 2);
    json = cJSON_Parse(output);
    assert_int_equal(cJSON_GetArraySize(item(json, "spots")), 0);
    assert_true(cJSON_IsArray(item(json, "spots")));
    cJSON_Delete(json);
}

/* Columns of the longest line from the table's head to the empty line that ends it. */
static size_t widest(const char *output) {
    size_t most = 0;
    const char *at = strstr(output, "\nSunspots");
    assert_non_null(at);
    for (at++; *at != '\n' && *at != '\0';) {
        const size_t length = strcspn(at, "\n");
        most = length > most ? length : most;
        at += length + (at[length] == '\n');
    }
    return most;
}

static void table_for_people(void **state) {
    (void)state;
    char output[OUTPUT_SIZE];
    assert_int_equal(run(MADRID INVENTED "--zone +02:00", output), 0);
    assert_in_range(widest(output), 60, 80);
    assert_non_null(strstr(strstr(output, "Sunspots"), "UTC+02:00"));
    assert_non_null(strstr(output, "Far side        +12.0 +115.4"));
    assert_non_null(strstr(output, "beyond the limb that day\n"));
    assert_non_null(strstr(output, "  19:45:2")); /* 17:45 UTC */
    assert_null(strstr(output, "Sun is down then"));
    assert_null(strstr(output, "days old"));
    assert_non_null(strstr(output, "0.15 degrees a day"));
    /* Sunset is at 19:16 UTC; a spot in the east is uncovered after that. */
    assert_int_equal(
        run_list(MADRID, "name,time,place\nA,2026-08-12T18:00,S20E60\nB,2026-08-12T18:00,S20E91\n",
                 output),
        0);
    assert_non_null(strstr(output, "uncovered  Sun is down then"));
    assert_non_null(strstr(output, "beyond the limb that day, or just on it"));
    assert_null(strstr(output, "0 h UTC"));
    /* Half a degree a day: after 100 days a spot's longitude is lost. */
    assert_int_equal(run_list(MADRID,
                              "name,time,place\nLost,2026-05-04,N10E10\nKept,2026-08-12,N10E10\n",
                              output),
                     0);
    assert_in_range(widest(output), 60, 84);
    assert_non_null(strstr(output, "not known: the list is too far from that day"));
    assert_non_null(strstr(strstr(output, "Kept"), "  covered"));
    assert_non_null(strstr(output, "taken as 0 h UTC"));
    assert_int_equal(run_list(MADRID, "name,time,place\n", output), 0);
    assert_non_null(strstr(output, "the list has none"));
}

/* Where a partial eclipse leaves a spot alone, and where the edge of the Moon runs over one. */
static void not_covered(void **state) {
    (void)state;
    static const char *const oslo = "--site 59.92,10.75,94 --date 1999-08-11";
    char output[OUTPUT_SIZE];
    assert_int_equal(run_list(oslo, "name,time,place\nA,1999-08-11T10:35,N40E10\n", output), 0);
    assert_non_null(strstr(output, "not covered from here\n"));
    /* By trial the latitude that is grazed: 0.5 degrees are 0.009 solar radii. */
    bool grazes = false, just = false;
    for (int latitude = 10; latitude < 40; latitude++) {
        char list[128];
        snprintf(list, sizeof list, "name,time,place\nA,1999-08-11T10:35,N%02dW00\n", latitude);
        assert_int_equal(run_list(oslo, list, output), 0);
        grazes = grazes || strstr(output, "not sure") != NULL;
        just = just || strstr(output, "not covered from here, but only just") != NULL;
        assert_in_range(widest(output), 60, 80);
    }
    assert_true(grazes && just);
}

/* How old the list is, is in the errors and, where it matters, in words. */
static void age_of_the_list(void **state) {
    (void)state;
    char output[OUTPUT_SIZE];
    assert_int_equal(run_list(MADRID, "name,time,place\nA,2026-07-31,N10E90\n", output), 0);
    assert_non_null(strstr(output, "up to 13 days old"));
    assert_non_null(strstr(output, "may be gone"));
    assert_in_range(widest(output), 60, 80);
    assert_int_equal(run_list(MADRID, "name,time,place\nA,2026-08-14T18:32,N10W30\n", output), 0);
    assert_non_null(strstr(output, "up to 2.0 days after the eclipse"));
    assert_null(strstr(output, "days old"));
    assert_in_range(widest(output), 60, 80);
}

static void wrong_use(void **state) {
    (void)state;
    char output[OUTPUT_SIZE];
    assert_int_equal(run(MADRID "--spots nowhere.csv", output), 66);
    assert_non_null(strstr(output, "nowhere.csv"));
    assert_int_equal(
        run_list(MADRID, "name,time,place\nA,2026-08-11,N01W01\nB,2026-08-11,here\n", output), 65);
    assert_non_null(strstr(output, "line 3"));
    assert_non_null(strstr(output, "N14W24"));
    assert_int_equal(run_list(MADRID, "name,day,place\n", output), 65);
    assert_non_null(strstr(output, "line 1"));
    assert_non_null(strstr(output, "\"time\""));
    assert_int_equal(run_list(MADRID, "name,time,place\nA,1911-08-11,N01W01\n", output), 64);
    assert_non_null(strstr(output, "1950"));
    assert_int_equal(run("--site 40,-4 --next " INVENTED, output), 64);
    assert_non_null(strstr(output, "--next"));
    assert_int_equal(run("--help", output), 0);
    assert_non_null(strstr(output, "--spots FILE.csv"));
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_of_an_invented_list),
        cmocka_unit_test(table_for_people),
        cmocka_unit_test(not_covered),
        cmocka_unit_test(age_of_the_list),
        cmocka_unit_test(wrong_use),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
