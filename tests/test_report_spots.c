/*
 * Sunspots in the tables, in sequence.json, in words and on the terminal.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <stdlib.h>
#include <unistd.h>

#include "report/spots_internal.h"
#include "test_report_read.h"
#include "test_report_spot_series.h"

#define EXACT 1e-9 /* rounding of closed forms with numbers below 1000 */

static const cJSON *json_spot(const cJSON *root, int s) {
    return cJSON_GetArrayItem(at(root, "spots"), s);
}

static void json_has_every_spot(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    s.spots_name = series_copy("regions.csv");
    s.spots.spot[SPOT_A].area_ppm = SPOT_AREA_PPM + 0.4; /* its sigma, 60, deserves no decimal */
    cJSON *root = json_of(&s);
    assert_int_equal(cJSON_GetArraySize(at(root, "spots")), SPOT_COUNT);
    const cJSON *a = json_spot(root, SPOT_A);
    assert_string(a, "id", "A");
    assert_string(a, "status", "covered");
    assert_number(a, "latitude_deg", 14.25);
    assert_number(a, "longitude_deg", -23.5);
    assert_number(a, "carrington_deg", 201.125);
    assert_number(a, "latitude_sigma_deg", 0.21);
    assert_number(a, "radius_sr", 0.02);
    assert_number(a, "area_ppm", SPOT_AREA_PPM);
    assert_string(a, "epoch_utc", "2027-08-02T09:09:10Z"); /* 32950 s after 0 h */
    /* A sigma of 3.2 s deserves whole seconds: 30000.25 s is 8 h 20 min 0.25 s, 34000.75 s
     * 9 h 26 min 40.75 s. */
    assert_string(a, "covered_utc", "2027-08-02T08:20:00Z");
    assert_string(a, "uncovered_utc", "2027-08-02T09:26:41Z");
    assert_number(a, "covered_sigma_s", SPOT_SIGMA_S);
    /* The camera is 37.4 s fast on UTC+02:00: 8 h 20 min 0.25 s + 2 h + 37.4 s. */
    assert_string(a, "covered_camera", "2027-08-02T10:20:38");
    /* hypot(3.2, 0.31) = 3.215 */
    assert_number(a, "covered_camera_sigma_s", 3.2);
    assert_string(a, "covered_first_utc", "2027-08-02T08:19:20Z");
    assert_string(a, "covered_last_utc", "2027-08-02T08:20:40Z");
    assert_string(a, "uncovered_frame_before", "IMG_0007.JPG");
    assert_true(cJSON_IsTrue(at(a, "covered_sun_up")));
    const cJSON *b = json_spot(root, SPOT_B);
    assert_string(b, "status", "not covered from here");
    assert_true(cJSON_IsNull(at(b, "covered_utc")));
    assert_true(cJSON_IsNull(at(b, "covered_camera")));
    assert_true(cJSON_IsNull(at(b, "covered_sun_up")));
    assert_number(b, "clearance_sr", 0.125);
    assert_string(json_spot(root, SPOT_C), "status", "not sure");
    assert_true(cJSON_IsTrue(at(json_spot(root, SPOT_C), "could_be_dust")));
    assert_number(root, "spot_search.searched", 9.0);
    assert_number(root, "spot_search.dust_count", 1.0);
    assert_string(root, "spot_search.list", "regions.csv");
    assert_string(root, "given.spots", "regions.csv");
    assert_true(cJSON_IsNull(at(root, "spot_search.note")));
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

/* A clock with a large error and a drift: hypot(3.2, 4, 100e-6 * 10000 s = 1). */
static void camera_time_holds_the_clocks_error(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    tl_clock *clock = &s.track.camera[0].clock;
    double camera_s = 0.0, sigma_s = 0.0;
    clock->sigma_s = 4.0;
    clock->has_drift = true;
    clock->drift_ppm = 200.0;
    clock->drift_sigma_ppm = 100.0;
    const double t_s = clock->at_utc_s + 10000.0;
    assert_true(tl_report_spot_camera(&s, t_s, 3.2, &camera_s, &sigma_s));
    assert_close(camera_s, t_s + 7200.0 + SERIES_OFFSET_S + 2.0, 1e-6); /* double's at 1.8e9 s */
    assert_close(sigma_s, sqrt(3.2 * 3.2 + 16.0 + 1.0), EXACT);
    clock->solved = false;
    assert_false(tl_report_spot_camera(&s, t_s, 3.2, &camera_s, &sigma_s));
    cJSON *root = json_of(&s);
    assert_string(json_spot(root, SPOT_A), "covered_utc", "2027-08-02T08:20:00Z");
    assert_true(cJSON_IsNull(at(json_spot(root, SPOT_A), "covered_camera")));
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

/* Without a place there are no passages: places on the Sun stay, times are null. */
static void no_place_no_times(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    for (size_t k = 0; k < SPOT_COUNT; k++)
        s.spots.spot[k].has_passages = false;
    cJSON *root = json_of(&s);
    const cJSON *a = json_spot(root, SPOT_A);
    assert_string(a, "status", "times not known");
    assert_number(a, "latitude_deg", 14.25);
    assert_true(cJSON_IsNull(at(a, "covered_utc")));
    assert_true(cJSON_IsNull(at(a, "covered_first_utc")));
    assert_true(cJSON_IsNull(at(a, "clearance_sr")));
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

static void no_spots_leave_empty_lists(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    cJSON *root = json_of(&s);
    assert_int_equal(cJSON_GetArraySize(at(root, "spots")), 0);
    assert_number(root, "spot_search.searched", 0.0);
    assert_true(cJSON_IsNull(at(root, "spot_search.turn_rms_deg")));
    cJSON_Delete(root);
    tl_report_text text = {0};
    table t;
    assert_int_equal(tl_report_spots_csv(&s, &text), TL_OK);
    read_csv(tl_report_text_string(&text), &t);
    assert_int_equal(t.rows, 1);
    free_table(&t);
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

/* What a list of spots needs (twolimb/spot.h), one row for each. */
static void spots_csv_is_a_list_of_spots(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    tl_report_text text = {0};
    table t;
    assert_int_equal(tl_report_spots_csv(&s, &text), TL_OK);
    read_csv(tl_report_text_string(&text), &t);
    assert_int_equal(t.rows, 1 + SPOT_COUNT);
    assert_string_equal(cell(&t, SPOT_A, "name"), "A");
    assert_string_equal(cell(&t, SPOT_A, "time"), "2027-08-02T09:09:10Z");
    assert_close(number(&t, SPOT_A, "latitude_deg"), 14.25, EXACT);
    assert_close(number(&t, SPOT_A, "carrington_deg"), 201.125, EXACT);
    /* The Sun's radius on 2 August is 945.5 arcsec (The Astronomical Almanac, from memory); 0.02 of
     * it, to two decimals and the almanac's last digit. */
    assert_close(number(&t, SPOT_A, "radius_arcsec"), 0.02 * 945.5, 0.02);
    /* The larger of 0.21 and 0.32 cos 14.25 = 0.310. */
    assert_close(number(&t, SPOT_A, "sigma_deg"), 0.31, EXACT);
    assert_string_equal(cell(&t, SPOT_A, "covered_utc"), "2027-08-02T08:20:00Z");
    assert_string_equal(cell(&t, SPOT_B, "covered_utc"), "");
    assert_string_equal(cell(&t, SPOT_C, "could_be_dust"), "true");
    for (size_t c = 0; c < t.columns[0]; c++) /* beside carrington_deg it would be a second place */
        assert_string_not_equal(t.cell[0][c], "longitude_deg");
    free_table(&t);
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

/* Read by what reads a user's list: the same spots. */
static void spots_csv_can_be_given(void **state) {
    (void)state;
    char path[] = "/tmp/twolimb-spots-XXXXXX";
    tl_sequence s = series_spots();
    tl_report_text text = {0};
    tl_spot_list list;
    int line = 0;
    strcpy(s.spots.spot[SPOT_B].name, "north, \"2\"");
    assert_int_equal(tl_report_spots_csv(&s, &text), TL_OK);
    const int file = mkstemp(path);
    assert_true(file >= 0);
    assert_int_equal(write(file, text.data, text.length), text.length);
    close(file);
    assert_int_equal(tl_spot_list_read(path, &line, &list), TL_OK);
    unlink(path);
    assert_int_equal(list.count, SPOT_COUNT);
    assert_string_equal(list.spot[SPOT_B].name, "north, \"2\"");
    const tl_spot *a = &list.spot[SPOT_A];
    assert_close(a->epoch_utc_s, SPOT_EPOCH_S, 0.5); /* whole seconds are written */
    assert_close(a->latitude_rad / TL_DEG, 14.25, 0.0005);
    assert_close(a->carrington_rad / TL_DEG, 201.125, 0.0005);
    assert_close(a->latitude_sigma_rad / TL_DEG, 0.31, 0.005);
    /* A list's arcsec are taken at the Sun's mean distance: 1.7 % at most. */
    assert_close(a->radius_sr, 0.02, 0.017 * 0.02);
    tl_spot_list_free(&list);
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

static void hostile_names_stay_names(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    strcpy(s.spots.spot[SPOT_A].name, "a\",\"b\r\n<i>\xE9;"); /* 12 bytes */
    memcpy(s.spots.spot[SPOT_B].name, "<script>\"&'\xE9\xE9\xE9\xE9", 15);
    tl_report_text text = {0};
    table t;
    assert_int_equal(tl_report_spots_csv(&s, &text), TL_OK);
    read_csv(tl_report_text_string(&text), &t);
    assert_int_equal(t.rows, 1 + SPOT_COUNT);
    assert_string_equal(cell(&t, SPOT_A, "name"), "a\",\"b\r\n<i>\xEF\xBF\xBD;");
    free_table(&t);
    tl_report_text_free(&text);
    cJSON *root = json_of(&s);
    assert_string(json_spot(root, SPOT_B), "id",
                  "<script>\"&'\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD");
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

static void frames_say_what_they_show(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    s.spots.sight[SPOT_A * SERIES_FRAMES].state = TL_SPOT_VISIBLE;
    s.spots.sight[SPOT_B * SERIES_FRAMES].state = TL_SPOT_ON_LIMB;
    s.spots.sight[SPOT_C * SERIES_FRAMES].state = TL_SPOT_UNKNOWN;
    s.spots.sight[SPOT_A * SERIES_FRAMES + 1].state = TL_SPOT_COVERED;
    s.spots.sight[SPOT_B * SERIES_FRAMES + 1].state = TL_SPOT_MISSED;
    s.spots.sight[SPOT_C * SERIES_FRAMES + 1].state = TL_SPOT_COVERED;
    table t = csv_of(&s);
    assert_string_equal(cell(&t, 0, "spots"), "A visible; B on limb");
    assert_string_equal(cell(&t, 1, "spots"), "A covered; B missed; C covered");
    assert_string_equal(cell(&t, SERIES_BROKEN, "spots"), "");
    assert_string_equal(cell(&t, SERIES_BROKEN, "dark_marks"), "");
    assert_string_equal(cell(&t, 0, "dust_marks"), "1");
    assert_close(number(&t, 0, "spot_up_sigma_deg"), SPOT_TURN_SIGMA_DEG, EXACT);
    assert_string_equal(cell(&t, 0, "spot_turn_count"), "2");
    assert_string_equal(cell(&t, 0, "spot_mirrored"), "true");
    s.spots.mirror_decided = false;
    free_table(&t);
    t = csv_of(&s);
    assert_string_equal(cell(&t, 0, "spot_mirrored"), "");
    free_table(&t);
    tl_sequence_free(&s);
}

/* In the series the Moon stands where the almanac has it for the turn of its frame; the turns by
 * spots are off by a quarter of a degree, both ways. Closed form. */
static void turns_are_compared_with_the_moons(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    for (int mirrored = 0; mirrored < 2; mirrored++) {
        double up, sigma;
        tl_limb *limb = &s.frame[0].limb;
        s.spots.turn[0].mirrored = mirrored;
        /* The same Moon in a picture that is not mirrored, and back. */
        limb->offset_x_sr = -limb->offset_x_sr;
        assert_true(tl_report_moon_turn(&s, 0, &up, &sigma));
        assert_close(tl_angle_signed(up - s.track.frame[0].up_pa_rad), 0.0, EXACT);
    }
    /* Across the direction of the Moon at (0, 0.5): sqrt(4e-6) / 0.5. */
    double up, sigma;
    s.frame[2].limb.offset_x_sr = 0.0;
    s.frame[2].limb.offset_y_sr = 0.5;
    s.frame[2].limb.offset_xx = 4e-6;
    s.frame[2].limb.offset_yy = 9e-4;
    assert_true(tl_report_moon_turn(&s, 2, &up, &sigma));
    assert_close(sigma, 0.004, EXACT);
    s.frame[2].limb.status = TL_LIMB_SUN_ONLY;
    assert_false(tl_report_moon_turn(&s, 2, &up, &sigma));
    const tl_report_turns turns = tl_report_compare_turns(&s);
    assert_int_equal(turns.count, 8);
    assert_close(turns.rms_rad / TL_DEG, SPOT_TURN_ERROR_DEG, 1e-6);
    assert_close(turns.expected_rad / TL_DEG, SPOT_TURN_SIGMA_DEG, 1e-6);
    tl_sequence_free(&s);
}

/* A hemisphere is 1e6 millionths and as wide as a round spot of r = sqrt(2) R; the Sun is 109.08
 * Earths wide (IAU 2015 Resolution B3). */
static void size_in_earths(void **state) {
    (void)state;
    const tl_spot spot = {.area_ppm = 1e6};
    assert_close(tl_report_spot_earths(&spot), sqrt(2.0) * 109.08, 0.01);
}

static void covered_spots_are_told_first(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    s.spots.spot[SPOT_A].area_ppm = 1.0; /* the smallest, but covered */
    assert_int_equal(tl_report_spot_told(&s, 0), SPOT_A);
    assert_int_equal(tl_report_spot_told(&s, 1), SPOT_C);
    assert_int_equal(tl_report_spot_told(&s, 2), SPOT_B);
    tl_sequence_free(&s);
}

/* The sentence on a spot; the caller frees. */
static tl_report_text sentence(const tl_sequence *s, size_t spot) {
    const tl_report_facts facts = tl_report_facts_of(s);
    tl_report_text text = {0};
    tl_report_words_spot(s, &facts, spot, &text);
    assert_false(text.failed);
    return text;
}

static void assert_sentence(const tl_sequence *s, size_t spot, const char *words) {
    tl_report_text text = sentence(s, spot);
    if (!strstr(tl_report_text_string(&text), words))
        fail_msg("not said: %s\n%s", words, tl_report_text_string(&text));
    tl_report_text_free(&text);
}

static void sentences_say_what_happened(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    tl_spot *a = &s.spots.spot[SPOT_A];
    assert_sentence(&s, SPOT_A,
                    "The Moon\u2019s limb reached the centre of spot A at "
                    "08:20:00\u00a0UTC\u00a0\u00b1\u00a03\u00a0s (10:20:38 by the camera\u2019s "
                    "clock) and let it "
                    "go at 09:26:41\u00a0UTC\u00a0\u00b1\u00a03\u00a0s (11:27:18 by");
    assert_sentence(&s, SPOT_B,
                    "Spot B was not covered from here: the Moon\u2019s edge missed its "
                    "centre by 0.125\u00a0\u00b1\u00a00.004\u00a0solar radii.");
    assert_sentence(&s, SPOT_C,
                    "Whether the Moon covered the centre of spot C is not sure: at its "
                    "closest it lay inside the Moon\u2019s edge");
    s.spots.spot[SPOT_B].touched = true;
    assert_sentence(&s, SPOT_B, "reached it, but missed its centre");
    a->uncovered.sun_up = false;
    assert_sentence(&s, SPOT_A, "the Sun being down.");
    assert_int_equal(tl_report_spot_fate_of(a), TL_REPORT_SPOT_COVERED);
    a->covered.sun_up = false;
    assert_int_equal(tl_report_spot_fate_of(a), TL_REPORT_SPOT_DOWN);
    a->has_passages = false;
    assert_sentence(&s, SPOT_A, "cannot be said: the place or the true time is not known.");
    tl_sequence_free(&s);
}

/* The camera meant is the one that gave the most pictures. */
static void several_cameras_are_told_apart(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    s.track.camera_count = 2;
    s.track.main_camera = 1;
    s.track.camera[1] = s.track.camera[0];
    s.track.camera[1].clock.offset_s += 100.0;
    s.camera_count = 2;
    strcpy(s.camera[0].name, "First");
    strcpy(s.camera[1].name, "Second & best");
    assert_sentence(&s, SPOT_A, "(10:22:18 by the clock of Second & best) and let");
    cJSON *root = json_of(&s);
    assert_string(json_spot(root, SPOT_A), "covered_camera", "2027-08-02T10:22:18");
    cJSON_Delete(root);
    tl_sequence_free(&s);
}

static void places_in_words(void **state) {
    (void)state;
    static const struct {
        double east, north;
        const char *words;
    } known[] = {{0.3, 0.4, "north-east, 0.50 of the way to the edge"},
                 {-0.8, 0.0, "west, 0.80 of the way to the edge"},
                 {0.0, -0.6, "south, 0.60 of the way to the edge"},
                 {0.01, 0.01, "at the disc\u2019s centre"},
                 {-0.01, 0.9, "north, 0.90 of the way to the edge"}};
    for (size_t k = 0; k < sizeof known / sizeof *known; k++) {
        const tl_spot spot = {.east_sr = known[k].east, .north_sr = known[k].north};
        tl_report_text text = {0};
        tl_report_words_spot_disc(&spot, &text);
        assert_string_equal(tl_report_text_string(&text), known[k].words);
        tl_report_text_free(&text);
    }
    const tl_spot spot = spot_at("A", 0.0, 0.0, 1.0);
    tl_report_text text = {0};
    tl_report_words_spot_place(&spot, &text);
    assert_string_equal(tl_report_text_string(&text), "14.2\u00b0\u00a0N, 23.5\u00b0\u00a0E");
    tl_report_text_free(&text);
}

static void overall_words(void **state) {
    (void)state;
    static const char mirror[] = "The mirror is open.";
    tl_sequence s = series_solved();
    tl_report_text text = {0};
    tl_report_words_spots(&s, &text);
    assert_non_null(strstr(tl_report_text_string(&text), "There was no picture in which"));
    for (size_t i = 0; i < 5; i++)
        s.frame[i].marks.searched = true;
    strcpy(s.spots.note, mirror);
    text.length = 0;
    tl_report_words_spots(&s, &text);
    assert_string_equal(tl_report_text_string(&text),
                        "No sunspot was found in the 5 pictures searched. The mirror is open.");
    tl_report_text_free(&text);
    tl_sequence_free(&s);
    s = series_spots();
    s.spots.spot[SPOT_B].in_pictures = false;
    s.spots.spot[SPOT_B].from_list = true;
    tl_report_words_spots(&s, &text);
    assert_string_equal(tl_report_text_string(&text), "2 sunspots were followed through 9 "
                                                      "pictures. 1 is from your list alone.");
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

static void doubts_are_told(void **state) {
    (void)state;
    static const char *const told[] = {
        "Spots A and C could be dust: ", "Spot C: seen in one picture only",
        "Spot B: in your list, but not found", "1 dark mark stayed put in the frame",
        "Whether the pictures are mirrored is open: the spots"};
    tl_sequence s = series_spots();
    s.spots.spot[SPOT_A].could_be_dust = true;
    s.spots.spot[SPOT_B].in_pictures = false;
    s.spots.spot[SPOT_B].from_list = true;
    s.spots.spot[SPOT_C].from_list = true; /* but found */
    s.spots.mirror_decided = false;
    s.track.camera[0].mirrored = TL_MIRROR_AUTO; /* else the Moon has decided it */
    for (size_t n = 0; n < sizeof told / sizeof *told; n++) {
        tl_report_text text = {0};
        assert_true(tl_report_words_spot_doubt(&s, n, &text));
        if (strstr(tl_report_text_string(&text), told[n]) != text.data)
            fail_msg("%s\n%s", told[n], text.data);
        tl_report_text_free(&text);
    }
    tl_report_text text = {0};
    assert_false(tl_report_words_spot_doubt(&s, 5, &text));
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

/* ---- the terminal --------------------------------------------------------------------------- */

static void summary_of(const tl_sequence *s, char text[8192]) {
    FILE *file = tmpfile();
    assert_non_null(file);
    tl_report_summary(s, "out", false, file);
    rewind(file);
    text[fread(text, 1, 8191, file)] = '\0';
    fclose(file);
    size_t lines = 0;
    for (const char *line = text; *line; line += strcspn(line, "\n") + 1, lines++)
        assert_true(strcspn(line, "\n") <= 80); /* bytes; the text is ASCII */
    assert_true(lines <= 24);
}

static void terminal_tells_the_weightiest(void **state) {
    (void)state;
    char text[8192];
    tl_sequence s = series_spots();
    summary_of(&s, text);
    assert_non_null(strstr(
        text, "\nSpots      3: A covered 08:20:00 +- 3 s, uncovered 09:26:41 +- 3 s; C not sure\n"
              "           (or dust); B not covered from here\n"));
    for (size_t k = 0; k < SPOT_COUNT; k++)
        s.spots.spot[k].has_passages = false;
    summary_of(&s, text);
    assert_non_null(strstr(text, "\nSpots      3; when the Moon covered them: place"));
    tl_sequence_free(&s);
    s = series_many_spots(30);
    summary_of(&s, text);
    assert_non_null(strstr(text, "\nSpots      30: A covered 08:20:00"));
    assert_non_null(strstr(text, "28 more in report.html\n"));
    tl_sequence_free(&s);
    s = series_solved();
    s.frame[0].marks.searched = true;
    summary_of(&s, text);
    assert_non_null(strstr(text, "\nSpots      none found in the 1 picture searched\n"));
    tl_sequence_free(&s);
}

static void terminal_is_safe(void **state) {
    (void)state;
    char text[8192];
    tl_sequence s = series_spots();
    memcpy(s.spots.spot[SPOT_A].name, "\x1B[2J\n\x9B\xE2\x80\xAE\xE9", 10);
    summary_of(&s, text);
    assert_null(strchr(text, '\x1B'));
    assert_null(strchr(text, 0xE9));
    assert_null(strstr(text, "\xE2\x80\xAE")); /* right to left */
    assert_non_null(strstr(text, "3: ?[2J???? covered"));
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(json_has_every_spot),
        cmocka_unit_test(camera_time_holds_the_clocks_error),
        cmocka_unit_test(no_place_no_times),
        cmocka_unit_test(no_spots_leave_empty_lists),
        cmocka_unit_test(spots_csv_is_a_list_of_spots),
        cmocka_unit_test(spots_csv_can_be_given),
        cmocka_unit_test(hostile_names_stay_names),
        cmocka_unit_test(frames_say_what_they_show),
        cmocka_unit_test(turns_are_compared_with_the_moons),
        cmocka_unit_test(size_in_earths),
        cmocka_unit_test(covered_spots_are_told_first),
        cmocka_unit_test(sentences_say_what_happened),
        cmocka_unit_test(several_cameras_are_told_apart),
        cmocka_unit_test(places_in_words),
        cmocka_unit_test(overall_words),
        cmocka_unit_test(doubts_are_told),
        cmocka_unit_test(terminal_tells_the_weightiest),
        cmocka_unit_test(terminal_is_safe),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
