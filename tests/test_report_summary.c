/*
 * The summary for the terminal: a screenful for every kind of series.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <sys/stat.h>
#include <unistd.h>

#include "report/report_internal.h"
#include "test_report_spot_series.h"

enum { LINES = 23, COLUMNS = 80 }; /* of a screen of 24 lines one is the prompt's */

/* What the summary prints; the caller frees. */
static char *printed(const tl_sequence *s, const char *folder, bool emphasis) {
    FILE *file = tmpfile();
    assert_non_null(file);
    tl_report_summary(s, folder, emphasis, file);
    const long size = ftell(file);
    rewind(file);
    char *text = calloc((size_t)size + 1, 1);
    assert_non_null(text);
    assert_int_equal(fread(text, 1, (size_t)size, file), size);
    fclose(file);
    return text;
}

static char *summary_of(const tl_sequence *s, const char *folder) {
    return printed(s, folder, false);
}

static void assert_fits(const char *text) {
    size_t lines = 0;
    while (*text) {
        size_t columns = 0;
        for (; *text && *text != '\n'; text++) {
            const unsigned char byte = (unsigned char)*text;
            assert_true(byte >= 0x20 && byte != 0x7F); /* nothing that steers a terminal */
            columns += (byte & 0xC0) != 0x80;          /* characters, not bytes */
        }
        assert_int_equal(*text, '\n');
        if (columns > COLUMNS)
            fail_msg("line %zu has %zu columns", lines + 1, columns);
        text++;
        lines++;
    }
    assert_true(lines > 0 && lines <= LINES);
}

static void assert_says(const char *text, const char *const *told, size_t count) {
    for (size_t i = 0; i < count; i++)
        if (!strstr(text, told[i]))
            fail_msg("not told: %s\n%s", told[i], text);
}

static void solved_series_is_told_in_full(void **state) {
    (void)state;
    static const char *const told[] = {
        "Partial solar eclipse of 2 August 2027\n",
        "45.0000 deg N, 10.0000 deg E, 120 m",
        "12, of them 9 measured",
        "1 not readable: The picture is cut short.\n",
        "37.4 +- 0.3 s fast in zone UTC+02:00",
        "0.6781 +- 0.0013 solar radii (almanac 0.6784)",
        "Magnitude  0.6988 +- 0.0007 (almanac 0.6987); 63.58 +- 0.08 % covered\n",
        "IMG_0011.JPG left out: 0.031 solar radii (62 s) off\n",
        "Held       as on an alt-azimuth mount, turned 41 deg anticlockwise; mirrored\n",
        "C1              08:02:29     2    08:02:26.7      +2  agrees (0.7 sigma)\n",
        "max           09:09:06.9   1.3    09:09:10.0    -3.1  agrees (1.6 sigma)\n",
        "C4              10:19:25     3    10:19:15.6      +9  differs (3.2 sigma)\n",
        "\nPage       some/folder/report.html\nFolder     some/folder/\n"};
    tl_sequence s = series_solved();
    char *text = summary_of(&s, "some/folder");
    assert_fits(text);
    assert_says(text, told, sizeof told / sizeof *told);
    assert_null(strstr(text, "drift")); /* nothing on what was not seen */
    assert_null(strstr(text, "stamps"));
    assert_null(strstr(text, "Undated"));
    free(text);
    tl_sequence_free(&s);
}

/* Both cameras and how they were held, where there is room. */
static void two_cameras_are_told(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    s.camera_count = s.track.camera_count = 2;
    strcpy(s.camera[1].name, "camera 2");
    s.track.camera[1] = s.track.camera[0];
    s.track.camera[1].holding = TL_HOLDING_FIXED;
    s.track.camera[1].mirrored = TL_MIRROR_NO;
    s.track.camera[1].has_rotation = false;
    char *text = summary_of(&s, "out");
    assert_fits(text);
    assert_non_null(strstr(text, "mirrored\n           camera 2: one turn, as on an equatorial "
                                 "mount; not mirrored\n"));
    free(text);
    tl_sequence_free(&s);
}

/* Two cameras, late stamps, a drift, a wrong year, pictures without a time: all on one screen. */
static void odd_series_is_told_in_full(void **state) {
    (void)state;
    static const char *const told[] = {
        "12, of them 9 measured; 2 cameras\n",
        "IMG_0002.JPG left out: of another day\n",
        "IMG_0011.JPG left out: 0.031 solar radii (62 s) off\n",
        "Undated    2 with two possible times each: 1 settled by the order of the names,\n",
        "Clock      camera 1: 37.4 +- 0.3 s fast in zone UTC+02:00, gains 12 +- 3 s a day\n",
        "           stamps are late: saved on average 14 s after the picture\n",
        "           camera 2: 12 +- 2 s slow in zone UTC+00:00; its year is wrong\n"};
    tl_sequence s = series_odd();
    char *text = summary_of(&s, "out");
    assert_fits(text);
    assert_says(text, told, sizeof told / sizeof *told);
    free(text);
    /* Of a note each sentence stays whole or goes; the first one weighs most. */
    strcpy(s.track.note, "The first one. A second one that is long enough for more than the one "
                         "line that it would have to go into. A third one.");
    text = summary_of(&s, "out");
    assert_fits(text);
    assert_non_null(strstr(text, "Notes      The first one.\n"));
    assert_null(strstr(text, "..."));
    free(text);
    s.track.note[0] = '\0';
    static const char *const alone[] = {
        "Undated    1 with two possible times: settled by the Moon's direction\n"};
    s.track.frame[SERIES_OPEN].has_sides = false;
    s.track.frame[SERIES_ORDERED].side_by = TL_SIDE_BY_TURN;
    text = summary_of(&s, "out");
    assert_says(text, alone, 1);
    free(text);
    tl_sequence_free(&s);
}

static void wrong_year_is_told(void **state) {
    (void)state;
    static const char *const told[] = {
        "stamps scatter by 6.2 s more than reading errors and circles allow\n",
        ("Date       No eclipse is seen at this place on the day the camera says (2 August\n"
         "           2026); the series fits the one of 2 August 2027: the camera's year is\n"
         "           wrong, 365 days behind.\n"),
        "or 12.3 +- 0.5 s slow in zone UTC+01:00, which fits about as well\n",
        ("or 103 +- 2 s fast in zone UTC+02:00 in the eclipse of 21 June 2001,\n"
         "           which fits about as well\n")};
    tl_sequence s = series_solved();
    tl_clock *clock = &s.track.camera[0].clock;
    s.track.day_found = true;
    clock->day_shift_s = -365.0 * TL_DAY_S;
    clock->stamps = TL_STAMPS_SCATTERED;
    clock->stamp_scatter_s = 6.2;
    clock->alternative_count = 2;
    clock->alternative[0].zone_minutes = 60;
    clock->alternative[0].offset_s = -12.3;
    clock->alternative[0].sigma_s = 0.5;
    clock->alternative[0].day_shift_s = clock->day_shift_s;
    clock->alternative[1].zone_minutes = 120;
    clock->alternative[1].offset_s = 103.0;
    clock->alternative[1].sigma_s = 2.4;
    /* 2001-06-21 to 2026-08-02 are 9173 days (`date -u`, GNU coreutils) */
    clock->alternative[1].day_shift_s = 9173.0 * TL_DAY_S;
    char *text = summary_of(&s, "out");
    assert_fits(text);
    assert_says(text, told, sizeof told / sizeof *told);
    free(text);
    /* 2026-08-12, 355 days before: there was a partial eclipse over all of Europe. */
    static const char *const other[] = {
        "Date       The series does not fit the eclipse of the day the camera says (12\n"
        "           August 2026); it fits the one of 2 August 2027: the camera's date is\n"
        "           wrong, 355 days behind.\n"};
    clock->day_shift_s = -355.0 * TL_DAY_S;
    text = summary_of(&s, "out");
    assert_says(text, other, 1);
    free(text);
    /* 2024-04-08, 1211 days before: an eclipse over America, while it was night here. */
    static const char *const night[] = {
        "Date       No eclipse is seen at this place on the day the camera says (8 April\n"};
    clock->day_shift_s = -1211.0 * TL_DAY_S;
    text = summary_of(&s, "out");
    assert_says(text, night, 1);
    free(text);
    tl_sequence_free(&s);
}

/* More cameras and more pictures left out than there are lines. */
static void many_of_a_kind_are_counted(void **state) {
    (void)state;
    static const char *const told[] = {"camera 4: no times in the pictures\n",
                                       "12 more cameras: see the page\n", "IMG_0001.JPG left out",
                                       "C4 "};
    tl_sequence s = series_odd();
    s.track.camera_count = TL_CAMERAS_MAX;
    for (size_t i = 0; i < s.count; i++)
        s.track.frame[i].outlier = true;
    char *text = summary_of(&s, "out");
    assert_fits(text);
    assert_says(text, told, sizeof told / sizeof *told);
    free(text);
    s.track.camera_count = 1;
    text = summary_of(&s, "out");
    assert_fits(text);
    assert_non_null(strstr(text, "8 more left out: see the page\n"));
    free(text);
    tl_sequence_free(&s);
}

/* Old fixes in one line; a cause for a look at place and day told to its end. */
static void gps_times_that_disagree_are_told(void **state) {
    (void)state;
    static const char *const old[] = {
        "           GPS times in 10 pictures: 4.0 min before the true ones; old fixes?\n"};
    static const char *const early[] = {
        "           GPS times in 10 pictures: 4.0 min after the true ones: check --site\n"
        "           and --date\n"};
    tl_sequence s = series_solved();
    for (size_t i = 0; i < s.count; i++) {
        s.frame[i].info.has_gps_time = true;
        s.frame[i].info.gps_t_utc_s = s.track.frame[i].true_utc_s - 240.0;
    }
    char *text = summary_of(&s, "out");
    assert_fits(text);
    assert_says(text, old, 1);
    free(text);
    for (size_t i = 0; i < s.count; i++)
        s.frame[i].info.gps_t_utc_s += 480.0;
    text = summary_of(&s, "out");
    assert_fits(text);
    assert_says(text, early, 1);
    free(text);
    tl_sequence_free(&s);
}

/* Too few pictures for contacts: the almanac's stand alone, without empty columns. */
static void almanac_alone_has_one_column(void **state) {
    (void)state;
    static const char *const told[] = {
        "\n             almanac UTC\nC1            08:02:26.7\nmax   "
        "        09:09:10.0\nC4            10:19:15.6\n"};
    tl_sequence s = series_solved();
    for (int which = 0; which < TL_CONTACTS; which++)
        s.track.contact[which].measured = false;
    s.track.has_smallest = false;
    char *text = summary_of(&s, "out");
    assert_fits(text);
    assert_says(text, told, 1);
    assert_null(strstr(text, "O-C"));
    free(text);
    tl_sequence_free(&s);
}

static void missing_place_is_asked_for(void **state) {
    (void)state;
    static const char *const told[] = {
        "(the camera's date)",  "place not known", "not checked against the sky",
        "camera clock  +- s\n", "10:03:06",        "mirrored or not",
        "--site LAT,LON"};
    const size_t count = sizeof told / sizeof *told;
    tl_sequence s = series_no_site();
    char *text = summary_of(&s, "out");
    assert_fits(text);
    assert_says(text, told, count);
    assert_null(strstr(text, "sigma"));
    s.track.note[0] = '\0'; /* the place is asked for even if the track says nothing */
    free(text);
    text = summary_of(&s, "out");
    assert_fits(text);
    assert_says(text, told, count);
    free(text);
    tl_sequence_free(&s);
}

static void nothing_measured_says_what_to_do(void **state) {
    (void)state;
    static const char *const told[] = {
        "12, of them 0 measured", "not measured: 6 without the Sun, 6 not usable\n",
        "10 more refused", "No picture could be measured", "whole Sun"};
    tl_sequence s = series_nothing();
    char *text = summary_of(&s, "out");
    assert_fits(text);
    assert_says(text, told, sizeof told / sizeof *told);
    free(text);
    tl_sequence_free(&s);
    tl_sequence none = {0};
    text = summary_of(&none, "out");
    assert_fits(text);
    free(text);
}

/* Takes the escape sequences out of a text; every line must end as it began, plain. */
static void strip(char *text) {
    bool plain = true;
    char *to = text;
    for (const char *from = text; *from;) {
        if (*from != '\033') {
            assert_true(plain || *from != '\n');
            *to++ = *from++;
            continue;
        }
        assert_true(from[1] == '[' && strchr("012", from[2]) && from[3] == 'm');
        assert_true(plain == (from[2] != '0')); /* strong or faint, and back */
        plain = !plain;
        from += 4;
    }
    *to = '\0';
    assert_true(plain);
}

static tl_sequence series_thirty_spots(void) {
    return series_many_spots(30);
}

/* With emphasis the same words stand at the same places; without it nothing steers the terminal. */
static void emphasis_changes_no_word(void **state) {
    (void)state;
    static tl_sequence (*const make[])(void) = {series_solved,  series_odd,   series_no_site,
                                                series_nothing, series_spots, series_thirty_spots};
    for (size_t k = 0; k < sizeof make / sizeof *make; k++) {
        tl_sequence s = make[k]();
        char *plain = printed(&s, "out", false), *strong = printed(&s, "out", true);
        assert_fits(plain);
        assert_non_null(strstr(strong, "\033[2mPictures\033[0m   12, of them"));
        assert_memory_equal(strong, "\033[1m", 4); /* the headline */
        /* what could not be done stands out, advice does not */
        assert_true((strstr(strong, "\033[2mNotes\033[0m      \033[1m") != NULL) ==
                    (s.track.note[0] != '\0'));
        strip(strong);
        assert_string_equal(strong, plain);
        free(plain);
        free(strong);
        tl_sequence_free(&s);
    }
}

/* The pages to open, the folder, and what else is in it: only what is there. */
static void files_that_are_there_are_named(void **state) {
    (void)state;
    char folder[] = "/tmp/twolimb-test-XXXXXX", path[128], *text;
    tl_sequence s = series_solved();
    memset(s.track.contact, 0, sizeof s.track.contact); /* room on the screen */
    assert_non_null(mkdtemp(folder));
    for (size_t i = 0; i < tl_report_output_count; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, tl_report_outputs[i].name);
        assert_int_equal(mkdir(path, 0700), 0); /* whatever it is, it is there */
    }
    text = summary_of(&s, folder);
    assert_fits(text);
    assert_null(strstr(text, "..."));
    snprintf(path, sizeof path, "\nPage       %s/report.html\n", folder);
    assert_non_null(strstr(text, path));
    snprintf(path, sizeof path, "\nFolder     %s/\n", folder);
    assert_non_null(strstr(text, path));
    for (size_t i = 0; i < tl_report_output_count; i++) {
        const char *name = tl_report_outputs[i].name;
        if (!strchr(name, '-') || !strcmp(name, "contact-sheet.jpg")) /* one of each kind */
            assert_non_null(strstr(text, name));
        snprintf(path, sizeof path, "%s/%s", folder, name);
        assert_int_equal(rmdir(path), 0);
    }
    assert_null(strstr(text, "-zenith"));
    free(text);
    text = summary_of(&s, folder);
    snprintf(path, sizeof path, "\nFolder     %s/\n", folder);
    assert_string_equal(strstr(text, "\nFolder"), path); /* the end */
    free(text);
    rmdir(folder);
    tl_sequence_free(&s);
}

/* Where tables alone are written there is no page to send anybody to. */
static void no_page_is_named_beside_tables_alone(void **state) {
    (void)state;
    char folder[] = "/tmp/twolimb-test-XXXXXX", path[128], *text;
    static const char *const told[] = {"more left out: see frames.csv\n",
                                       "more cameras: see sequence.json\n"};
    assert_non_null(mkdtemp(folder));
    snprintf(path, sizeof path, "%s/frames.csv", folder);
    assert_int_equal(mkdir(path, 0700), 0);
    tl_sequence s = series_odd();
    for (size_t i = 0; i < s.count; i++)
        s.track.frame[i].outlier = true;
    for (int k = 0; k < 2; k++) {
        s.track.camera_count = k == 0 ? 1 : TL_CAMERAS_MAX;
        text = summary_of(&s, folder);
        assert_fits(text);
        assert_says(text, &told[k], 1);
        assert_null(strstr(text, "Page"));
        assert_null(strstr(text, " page"));
        free(text);
    }
    tl_sequence_free(&s);
    s = series_many_spots(30);
    text = summary_of(&s, folder);
    assert_non_null(strstr(text, "28 more in spots.csv\n"));
    assert_non_null(strstr(text, "           frames.csv\n"));
    free(text);
    tl_sequence_free(&s);
    assert_int_equal(rmdir(path), 0);
    assert_int_equal(rmdir(folder), 0);
}

/* Everything at its longest: a total eclipse, other clocks, a wrong date, every reason another, a
 * long folder of many-byte letters. */
static void worst_case_still_fits(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    tl_track *track = &s.track;
    char folder[800] = "";
    for (int i = 0; i < 100; i++)
        strcat(folder, "/\xC3\xBC\xE2\x82\xAC\x1B");
    for (size_t i = 0; i < 4; i++) {
        track->camera[0].clock.alternative[i].zone_minutes = -570;
        track->camera[0].clock.alternative[i].offset_s = 12345.678;
        track->camera[0].clock.alternative[i].sigma_s = 0.01;
    }
    track->camera[0].clock.alternative_count = 4;
    track->camera[0].clock.zone_corrected = true;
    track->camera[0].clock.day_shift_s = -7305.0 * TL_DAY_S;
    track->day_found = true;
    track->camera_count = TL_CAMERAS_MAX;
    track->camera[0].turn_jitter_rad = 4.0 * TL_DEG;
    track->circumstances.kind = TL_ECLIPSE_TOTAL;
    series_contact(track, TL_C2, 32900.0, -8000.0, 0.05);
    series_contact(track, TL_C3, 33000.0, 70000.0, 2000.0);
    memset(track->note, 'w', sizeof track->note - 1);
    for (size_t i = 0; i < 6; i++) {
        memset(s.frame[i].limb.reason, 'a' + (int)i, TL_LIMB_REASON_SIZE - 1);
        s.frame[i].limb.status = TL_LIMB_UNUSABLE;
    }
    char *text = summary_of(&s, folder);
    assert_fits(text);
    assert_non_null(strstr(text, "report.html"));
    assert_non_null(strstr(text, "C3"));
    char *strong = printed(&s, folder, true);
    strip(strong);
    assert_string_equal(strong, text);
    free(strong);
    free(text);
    tl_sequence_free(&s);
}

/* However little room there is: what was refused is counted in full, and copies apart. */
static void numbers_add_up(void **state) {
    (void)state;
    static const char *const told[] = {
        "12, of them 7 measured, 1 a copy of another",
        "not measured: 1 with the Sun alone, 2 not usable, 1 not readable\n"};
    tl_sequence s = series_odd();
    series_refuse(&s.frame[0].limb, TL_LIMB_UNUSABLE, "one reason");
    series_refuse(&s.frame[SERIES_OTHER_DAY].limb, TL_LIMB_UNUSABLE, "a copy");
    s.frame[SERIES_OTHER_DAY].is_copy = true;
    char *text = summary_of(&s, "out");
    assert_fits(text);
    assert_says(text, told, sizeof told / sizeof *told);
    free(text);
    tl_sequence_free(&s);
}

/* Folders may hold pictures of the eclipse, and so come first: the end of the list may be cut. */
static void folders_come_first_of_what_was_passed_over(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    for (int kind = 0; kind < TL_PASSED_KINDS; kind++)
        s.passed[kind] = (tl_passed){3, series_copy("roll/a name of twenty")};
    char *text = summary_of(&s, "out");
    assert_fits(text);
    assert_non_null(strstr(text, "passed over: 3 folders (a name of twenty ...): look into them"));
    free(text);
    tl_sequence_free(&s);
}

/* Frames of the same verdict are counted together, the most frequent first. */
static void refusals_are_grouped(void **state) {
    (void)state;
    tl_sequence s = series_nothing();
    tl_report_group group[3];
    for (size_t i = 0; i < s.count; i++) {
        s.frame[i].limb.status = i < 2 ? TL_LIMB_NO_SUN : TL_LIMB_UNUSABLE;
        strcpy(s.frame[i].limb.reason, i < 2 ? "none" : i == 5 ? "blur" : "cloud");
    }
    assert_int_equal(tl_report_refusals(&s, 3, group), 3);
    assert_int_equal(group[0].count, 9);
    assert_string_equal(group[0].reason, "cloud");
    assert_int_equal(group[1].count, 2);
    assert_int_equal(group[1].status, TL_LIMB_NO_SUN);
    assert_int_equal(group[2].count, 1);
    assert_int_equal(tl_report_refusals(&s, 2, group), 2);
    assert_string_equal(group[1].reason, "none");
    s.frame[0].limb.status = TL_LIMB_MEASURED;
    assert_int_equal(tl_report_refusals(&s, 3, group), 3);
    assert_int_equal(tl_sequence_count(&s, TL_LIMB_NO_SUN), 1);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(solved_series_is_told_in_full),
        cmocka_unit_test(two_cameras_are_told),
        cmocka_unit_test(odd_series_is_told_in_full),
        cmocka_unit_test(wrong_year_is_told),
        cmocka_unit_test(many_of_a_kind_are_counted),
        cmocka_unit_test(almanac_alone_has_one_column),
        cmocka_unit_test(gps_times_that_disagree_are_told),
        cmocka_unit_test(missing_place_is_asked_for),
        cmocka_unit_test(nothing_measured_says_what_to_do),
        cmocka_unit_test(emphasis_changes_no_word),
        cmocka_unit_test(files_that_are_there_are_named),
        cmocka_unit_test(no_page_is_named_beside_tables_alone),
        cmocka_unit_test(worst_case_still_fits),
        cmocka_unit_test(numbers_add_up),
        cmocka_unit_test(folders_come_first_of_what_was_passed_over),
        cmocka_unit_test(refusals_are_grouped),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
