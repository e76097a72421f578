/*
 * test_frame_times.c - camera times from file names and from a user's table.
 */
#define _GNU_SOURCE /* realpath */

#include <limits.h>
#include <sys/stat.h>
#include <unistd.h>

#include "check.h"
#include "picture.h"

/* A double near 2e9 s is exact to 2.4e-7 s. */
static const double time_tolerance_s = 1e-6;
/* Standard deviation of a uniform second: 1 / sqrt(12). */
#define UNIFORM_SIGMA 0.28867513459481288
/* 2023-05-26 20:01:22 and 22:01:22: date -u -d '2023-05-26 20:01:22' +%s (GNU coreutils) */
#define AT_2001_S 1685131282.0
#define AT_2201_S 1685138482.0

/* What phones and their programs write (common practice, no source). */
static void names_give_times(void **state) {
    (void)state;
    static const struct {
        const char *name;
        double t_s, sigma_s;
        bool utc;
    } known[] = {
        {"PXL_20230526_200122948.jpg", AT_2001_S + 0.948, UNIFORM_SIGMA / 1000, true},
        {"PXL_20230526_200122948.MP.jpg", AT_2001_S + 0.948, UNIFORM_SIGMA / 1000, true},
        {"/photos/20010101_000000/PXL_20230526_200122948.jpg", AT_2001_S + 0.948,
         UNIFORM_SIGMA / 1000, true},
        {"IMG_20230526_220122.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"IMG_20230526_220122948.jpg", AT_2201_S + 0.948, UNIFORM_SIGMA / 1000, false},
        {"IMG_20230526_220122_1.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"IMG_20230526_220122(2).jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"VID_20230526_220122.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"20230526_220122.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"20230526220122.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"20230526T220122.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"signal-2023-05-26-220122.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"signal-2023-05-26-22-01-22-123.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"2023-05-26_22-01-22.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"2023-05-26 22.01.22.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"2023_05_26_22_01_22 eclipse.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"2023-05-26T22:01:22", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
        {"007_20230526_220122.jpg", AT_2201_S + 0.5, UNIFORM_SIGMA, false},
    };
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        tl_camera_time time = {.zone_minutes = -7};
        if (!tl_frame_time_from_name(known[i].name, &time))
            fail_msg("no time in %s", known[i].name);
        assert_int_equal(time.source, TL_TIME_NAME);
        check_near(time.t_camera_s, known[i].t_s, time_tolerance_s);
        check_near(time.sigma_s, known[i].sigma_s, 1e-12);
        assert_int_equal(time.zone_known, known[i].utc);
        assert_int_equal(time.zone_minutes, 0);
    }
}

static void other_names_give_none(void **state) {
    (void)state;
    static const char *const names[] = {
        "",
        "IMG-20230526-WA0001.jpg",
        "IMG_5758.JPG",
        "DSC_0069.JPG",
        "20230526.jpg",
        "2023-05-26.jpg",
        "IMG_20230526.jpg",
        "IMG_20231326_220122.jpg",
        "IMG_20230230_220122.jpg",
        "IMG_20230526_240122.jpg",
        "IMG_20230526_226122.jpg",
        "IMG_20230526_2201.jpg",
        "IMG_20230526_2201229.jpg",
        "IMG_20230526_22012294.jpg",
        "IMG_19000526_220122.jpg",
        "IMG_21000526_220122.jpg",
        "120230526_220122.jpg",
        "2023-05-26_22-01.jpg",
        "2023-05-26_22-01-2.jpg",
        "2023-05-26_22-01-222.jpg",
        "2023-05-26__22-01-22.jpg",
        "20230526_220122.d/eclipse.jpg",
        "99999999999999999999999.jpg",
    };
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        tl_camera_time time = {.sigma_s = -7.0};
        if (tl_frame_time_from_name(names[i], &time))
            fail_msg("a time in %s", names[i]);
        assert_true(time.sigma_s == -7.0);
    }
}

static tl_status read_table(const char *text, int *line, tl_times **times) {
    scratch s;
    char path[PATH_SIZE];
    scratch_make(&s);
    scratch_path(&s, "times.csv", path);
    write_text(path, text);
    const tl_status status = tl_times_read(path, line, times);
    remove_tree(s.folder);
    return status;
}

static void table_gives_times_as_written(void **state) {
    (void)state;
    int line = -7;
    tl_times *times;
    assert_int_equal(
        read_table("\xef\xbb\xbf# times by the invented observatory clock\r\n"
                   "\r\n"
                   " file , note,time,sigma_s,zone\r\n"
                   "a.jpg,first,2023-05-26T22:01:22,,\r\n"
                   "# b was lost\r\n"
                   "\"with, comma.jpg\",\"said \"\"now\"\"\",2023-05-26T22:01:22.25,,\r\n"
                   "folder/c.jpg,,2023-05-26 22:01:22.5,1.5,+02:00\r\n"
                   "d.jpg,,2023-05-26T20:01:22Z\r\n"
                   "e.jpg,,2023-05-26T22:01:22.125+02:00,0.01,+02:00\r\n"
                   "f.jpg,no time,,,\r\n"
                   "g.jpg,last,2023-05-26T22:01:22",
                   &line, &times),
        TL_OK);
    assert_int_equal(line, -7);
    static const struct {
        const char *name;
        double t_s, sigma_s;
        bool zone_known;
        int zone_minutes;
    } known[] = {
        {"a.jpg", AT_2201_S, UNIFORM_SIGMA, false, 0},
        {"somewhere/else/a.jpg", AT_2201_S, UNIFORM_SIGMA, false, 0},
        {"with, comma.jpg", AT_2201_S + 0.25, UNIFORM_SIGMA / 100, false, 0},
        {"folder/c.jpg", AT_2201_S + 0.5, 1.5, true, 120},
        {"in/a/folder/c.jpg", AT_2201_S + 0.5, 1.5, true, 120},
        {"d.jpg", AT_2001_S, UNIFORM_SIGMA, true, 0},
        {"e.jpg", AT_2201_S + 0.125, 0.01, true, 120},
        {"g.jpg", AT_2201_S, UNIFORM_SIGMA, false, 0},
    };
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        tl_camera_time time;
        if (!tl_times_find(times, known[i].name, &time))
            fail_msg("no time for %s", known[i].name);
        assert_int_equal(time.source, TL_TIME_TABLE);
        check_near(time.t_camera_s, known[i].t_s, time_tolerance_s);
        check_near(time.sigma_s, known[i].sigma_s, 1e-12);
        assert_int_equal(time.zone_known, known[i].zone_known);
        assert_int_equal(time.zone_minutes, known[i].zone_minutes);
    }
    tl_camera_time time = {.sigma_s = -7.0};
    assert_false(tl_times_find(times, "f.jpg", &time));
    assert_false(tl_times_find(times, "A.jpg", &time));
    assert_false(tl_times_find(times, "note", &time));
    assert_false(tl_times_find(times, "c.jpg", &time));
    assert_false(tl_times_find(times, "myfolder/c.jpg", &time));
    assert_false(tl_times_find(times, "folder/d/c.jpg", &time));
    assert_true(time.sigma_s == -7.0);
    tl_times_free(times);
    tl_times_free(NULL);
}

/* Cameras number alike, so that the folder tells whose picture it is: the row with the most of the
 * path counts, in whatever order they stand. */
static void folders_tell_names_apart(void **state) {
    (void)state;
    int line;
    tl_times *times;
    assert_int_equal(read_table("file,time\n"
                                "./left/1.jpg,2023-05-26T22:01:20\n"
                                "1.jpg,2023-05-26T22:01:21\n"
                                "day/left/1.jpg,2023-05-26T22:01:22\n"
                                "right/1.jpg,2023-05-26T22:01:23\n"
                                "/top/2.jpg,2023-05-26T22:01:24\n",
                                &line, &times),
                     TL_OK);
    static const struct {
        const char *path;
        double late_s;
    } known[] = {{"left/1.jpg", -2.0},       {"./left/1.jpg", -2.0},
                 {"/a/left/1.jpg", -2.0},    {"1.jpg", -1.0},
                 {"up/1.jpg", -1.0},         {"/left/x/1.jpg", -1.0},
                 {"aleft/1.jpg", -1.0},      {"day/left/1.jpg", 0.0},
                 {"../day/left/1.jpg", 0.0}, {"birthday/left/1.jpg", -2.0},
                 {"right/1.jpg", 1.0},       {"/top/2.jpg", 2.0}};
    tl_camera_time time;
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        assert_true(tl_times_find(times, known[i].path, &time));
        if (fabs(time.t_camera_s - AT_2201_S - known[i].late_s) > time_tolerance_s)
            fail_msg("%s: %.1f s", known[i].path, time.t_camera_s - AT_2201_S);
    }
    assert_false(tl_times_find(times, "2.jpg", &time));
    assert_false(tl_times_find(times, "a/top/2.jpg", &time));
    assert_false(tl_times_find(times, "a1.jpg", &time));
    assert_string_equal(tl_times_name(times, 0), "left/1.jpg");
    tl_times_free(times);
}

/* The folder need not be typed, and the table may have all of the path. */
static void the_whole_path_counts(void **state) {
    (void)state;
    scratch s;
    char path[PATH_SIZE], text[PATH_MAX + 100], real[PATH_MAX], before[PATH_MAX];
    int line;
    tl_times *times;
    tl_camera_time time;
    scratch_make(&s);
    scratch_path(&s, "left", path);
    assert_int_equal(mkdir(path, 0700), 0);
    assert_non_null(getcwd(before, sizeof before));
    assert_int_equal(chdir(path), 0);
    assert_non_null(realpath(".", real));
    write_text("1.jpg", "one");
    write_text("2.jpg", "two");
    snprintf(text, sizeof text, "file,time\nleft/1.jpg,2023-05-26T22:01:22\n%s/2.jpg,%s\n", real,
             "2023-05-26T22:01:23");
    scratch_path(&s, "times.csv", path);
    write_text(path, text);
    assert_int_equal(tl_times_read(path, &line, &times), TL_OK);
    static const char *const typed[] = {"1.jpg", "./1.jpg", "../left/1.jpg", "2.jpg", "./2.jpg"};
    for (size_t i = 0; i < sizeof typed / sizeof typed[0]; i++) {
        assert_true(tl_times_find(times, typed[i], &time));
        check_near(time.t_camera_s, AT_2201_S + (i < 3 ? 0.0 : 1.0), time_tolerance_s);
    }
    assert_false(tl_times_find(times, "../1.jpg", &time));
    assert_int_equal(chdir(before), 0);
    assert_false(tl_times_find(times, "1.jpg", &time));
    tl_times_free(times);
    remove_tree(s.folder);
}

/* As spreadsheets write them where the comma is the decimal sign, or as text: the same times. */
static void separators_are_those_of_the_heading(void **state) {
    (void)state;
    static const char *const tables[] = {"\xef\xbb\xbf"
                                         "File;Note;Time;Sigma_s;Zone\r\n"
                                         "a.jpg;;2023-05-26 22:01:22,5;1,5;+02:00\r\n"
                                         "\"1;2,3.jpg\";\"x\" ;2023-05-26 22:01:22,25;;\r\n",
                                         "file\tnote\ttime\tsigma_s\tzone\n"
                                         "a.jpg\t\t2023-05-26T22:01:22.5\t1.5\t+02:00\n"
                                         "\"1;2,3.jpg\" \t \t2023-05-26T22:01:22.25\t\t\n",
                                         "file,\"a;note\",time,sigma_s,zone\n"
                                         "a.jpg,,2023-05-26T22:01:22.5,1.5,+02:00\n"
                                         "\"1;2,3.jpg\",,2023-05-26T22:01:22.25\n"};
    for (size_t i = 0; i < sizeof tables / sizeof *tables; i++) {
        int line;
        tl_times *times;
        tl_camera_time time;
        assert_int_equal(read_table(tables[i], &line, &times), TL_OK);
        assert_true(tl_times_find(times, "a.jpg", &time));
        check_near(time.t_camera_s, AT_2201_S + 0.5, time_tolerance_s);
        check_near(time.sigma_s, 1.5, 1e-12);
        assert_true(time.zone_known);
        assert_int_equal(time.zone_minutes, 120);
        assert_true(tl_times_find(times, "1;2,3.jpg", &time));
        check_near(time.t_camera_s, AT_2201_S + 0.25, time_tolerance_s);
        check_near(time.sigma_s, UNIFORM_SIGMA / 100, 1e-12);
        tl_times_free(times);
    }
}

/* More digits than any clock has: they would make the error of a time nothing at all. */
static void endless_fractions_keep_an_error(void **state) {
    (void)state;
    scratch s;
    char path[PATH_SIZE], text[600] = "file,time\na.jpg,2023-05-26T22:01:22.5";
    tl_times *times;
    tl_camera_time time;
    int line;
    const size_t start = strlen(text);
    memset(text + start, '0', 400); /* 10^-400 is no double */
    strcpy(text + start + 400, "7\n");
    scratch_make(&s);
    scratch_path(&s, "times.csv", path);
    write_text(path, text);
    assert_int_equal(tl_times_read(path, &line, &times), TL_OK);
    assert_true(tl_times_find(times, "a.jpg", &time));
    check_near(time.t_camera_s, AT_2201_S + 0.5, time_tolerance_s);
    check_near(time.sigma_s, UNIFORM_SIGMA * 1e-9, 1e-20);
    tl_times_free(times);
    remove_tree(s.folder);
}

static void bad_tables_name_the_line(void **state) {
    (void)state;
    static const struct {
        const char *text;
        int line;
    } bad[] = {
        {"# nothing but words\n", 1},
        {"\n\n", 2},
        {"name,time\na.jpg,2023-05-26T22:01:22\n", 1},
        {"file,when\n", 1},
        {"file|time\n", 1},
        {"file;time;sigma_s\na.jpg;2023-05-26T22:01:22;1,\n", 2},
        {"file;time\na.jpg;26.05.2023 22:01:22\n", 2},
        {"file,time,time\n", 1},
        {"\n# c\nfile,time\n\na.jpg,noon\n", 5},
        {"file,time\na.jpg,2023-05-26\n", 2},
        {"file,time\na.jpg,2023-05-26T22:01\n", 2},
        {"file,time\na.jpg,2023-02-30T22:01:22\n", 2},
        {"file,time\na.jpg,2023-05-26T22:01:60\n", 2},
        {"file,time\na.jpg,2023-05-26T22:01:22.\n", 2},
        {"file,time\na.jpg,2023-05-26T22:01:22,5\nb.jpg,2023-05-26T22:01:22x\n", 3},
        {"file,time\na.jpg,2023-05-26T22:01:22 +02:00\n", 2},
        {"file,time\na.jpg,2023-05-26T22:01:22\na.jpg,2023-05-26T22:01:23\n", 3},
        {"file,time\na.jpg,2023-05-26T22:01:22\n././a.jpg,2023-05-26T22:01:23\n", 3},
        {"file,time\nb/a.jpg,2023-05-26T22:01:22\nb/a.jpg,2023-05-26T22:01:23\n", 3},
        {"file,time\na/,2023-05-26T22:01:22\n", 2},
        {"file,time\n,2023-05-26T22:01:22\n", 2},
        {"file,time,sigma_s\na.jpg,2023-05-26T22:01:22,0\n", 2},
        {"file,time,sigma_s\na.jpg,2023-05-26T22:01:22,-1\n", 2},
        {"file,time,sigma_s\na.jpg,2023-05-26T22:01:22,1s\n", 2},
        {"file,time,zone\na.jpg,2023-05-26T22:01:22,2\n", 2},
        {"file,time,zone\na.jpg,2023-05-26T22:01:22Z,+02:00\n", 2},
        {"file,time\n\"a.jpg,2023-05-26T22:01:22\n", 2},
        {"file,time\n\"a\"b.jpg,2023-05-26T22:01:22\n", 2},
        {"file,time\n,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,,\n", 2},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        int line = -7;
        tl_times *times = NULL;
        const tl_status status = read_table(bad[i].text, &line, &times);
        if (status != TL_ERR_FORMAT || line != bad[i].line)
            fail_msg("table %zu: status %d, line %d", i, status, line);
        assert_null(times);
    }
}

static void missing_tables_are_no_format_errors(void **state) {
    (void)state;
    scratch s;
    char path[PATH_SIZE];
    int line = -7;
    tl_times *times = NULL;
    scratch_make(&s);
    scratch_path(&s, "none.csv", path);
    assert_int_equal(tl_times_read(path, &line, &times), TL_ERR_OPEN);
    assert_int_equal(tl_times_read(s.folder, &line, &times), TL_ERR_OPEN);
    assert_int_equal(read_table("", &line, &times), TL_ERR_EMPTY_FILE);
    assert_int_equal(line, -7);
    assert_null(times);
    remove_tree(s.folder);
}

/* A table longer than any of the rooms it grows through. */
static void long_tables_are_read_whole(void **state) {
    (void)state;
    enum { ROWS = 1000, ROW_SIZE = 64 };
    char *text = malloc(ROWS * ROW_SIZE);
    size_t used = (size_t)snprintf(text, ROW_SIZE, "file,time\n");
    for (int i = 0; i < ROWS; i++)
        used += (size_t)snprintf(text + used, ROW_SIZE, "%d.jpg,2023-05-26T22:%02d:%02d\n", i,
                                 i / 60, i % 60);
    int line;
    tl_times *times;
    tl_camera_time time;
    assert_int_equal(read_table(text, &line, &times), TL_OK);
    assert_true(tl_times_find(times, "999.jpg", &time));
    check_near(time.t_camera_s, AT_2201_S - 82.0 + 999.0, time_tolerance_s);
    tl_times_free(times);
    free(text);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(names_give_times),
        cmocka_unit_test(other_names_give_none),
        cmocka_unit_test(table_gives_times_as_written),
        cmocka_unit_test(folders_tell_names_apart),
        cmocka_unit_test(the_whole_path_counts),
        cmocka_unit_test(separators_are_those_of_the_heading),
        cmocka_unit_test(endless_fractions_keep_an_error),
        cmocka_unit_test(bad_tables_name_the_line),
        cmocka_unit_test(missing_tables_are_no_format_errors),
        cmocka_unit_test(long_tables_are_read_whole),
    };
    return cmocka_run_group_tests_name("frame_times", tests, NULL, NULL);
}
