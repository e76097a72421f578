/*
 * test_analyse_given.c - what the user says: pictures left out of the track, the table of times.
 *
 * An invented camera 37.4 s fast on UTC+01:00, at an invented place, on 2026-08-12.
 */
#include <sys/stat.h>
#include <unistd.h>

#include "analyse_steps.h"
#include "check.h"
#include "picture.h"

#include "twolimb/simulate.h"

#define OFFSET_S 37.4
enum { ZONE_MINUTES = 60, FRAMES = 7 };
/* A double near 2e9 s is exact to 2.4e-7 s. */
static const double TIME_TOLERANCE_S = 1e-6;

static scratch folder;

/* Seven pictures; what the fifth is said to show was seen ten minutes later. */
static const char scene[] =
    "{\"site\": {\"lat_deg\": 62.0, \"lon_deg\": -6.8}, \"day\": \"2026-08-12\","
    " \"defaults\": {\"width\": 400, \"height\": 360, \"sun_r_px\": 120, \"blur_px\": 1.2,"
    " \"clock\": {\"offset_s\": 37.4, \"zone\": \"+01:00\"}},"
    " \"sets\": [{\"frames\": ["
    "{\"file\": \"a1.jpg\", \"time\": \"max-2700\"}, {\"file\": \"a2.jpg\", \"time\": "
    "\"max-1900\"},"
    "{\"file\": \"a3.jpg\", \"time\": \"max-1100\"}, {\"file\": \"a4.jpg\", \"time\": \"max-300\"},"
    "{\"file\": \"wrong.jpg\", \"time\": \"max+1100\", \"clock\": {\"offset_s\": -562.6}},"
    "{\"file\": \"a6.jpg\", \"time\": \"max+1300\"},"
    "{\"file\": \"a7.jpg\", \"time\": \"max+2100\"}]}]}";

static int setup(void **state) {
    char path[PATH_SIZE], out[PATH_SIZE], message[TL_SIMULATE_MESSAGE_SIZE] = "";
    (void)state;
    scratch_make(&folder);
    scratch_path(&folder, "scene.json", path);
    scratch_path(&folder, "all", out);
    write_text(path, scene);
    if (tl_simulate(path, out, message) != TL_OK)
        fail_msg("%s", message);
    return 0;
}

static int teardown(void **state) {
    (void)state;
    remove_tree(folder.folder);
    return 0;
}

static tl_analyse_options defaults(void) {
    tl_analyse_options options = {.track.sky = tl_sky_options_default()};
    options.track.site = (tl_site){TL_SITE_GIVEN, 62.0 * TL_DEG, -6.8 * TL_DEG, 0.0};
    return options;
}

/* In the order of names: a1 a2 a3 a4 a6 a7 wrong. The caller frees. */
static tl_sequence analyse(const tl_analyse_options *options, size_t keep) {
    char path[PATH_SIZE];
    const char *argument = path, *bad = NULL;
    tl_file_list files;
    tl_sequence s;
    scratch_path(&folder, "all", path);
    assert_int_equal(tl_file_list_make(&argument, 1, &bad, &files), TL_OK);
    assert_int_equal(files.count, FRAMES);
    const tl_file_list kept = {.path = files.path, .count = keep};
    assert_int_equal(tl_analyse(&kept, options, &s), TL_OK);
    tl_file_list_free(&files);
    return s;
}

/* The track with a picture excluded is to the last bit that of a run without it; and yet the
 * picture is measured, and has the time that its camera's clock gives it. */
static void an_excluded_picture_has_no_say(void **state) {
    (void)state;
    static const char *const exclude[] = {"wrong.jpg"};
    tl_analyse_options options = defaults();
    tl_sequence without = analyse(&options, FRAMES - 1);
    options.exclude = exclude;
    options.exclude_count = 1;
    tl_sequence s = analyse(&options, FRAMES);
    const tl_clock *clock = &s.track.camera[0].clock;
    const size_t last = FRAMES - 1;
    assert_true(clock->solved);
    assert_int_equal(clock->zone_minutes, ZONE_MINUTES);
    check_near(clock->offset_s, OFFSET_S, 4.0 * clock->sigma_s);
    assert_true(clock->offset_s == without.track.camera[0].clock.offset_s);
    assert_true(s.track.smallest_sr == without.track.smallest_sr);
    assert_int_equal(s.track.used_count, FRAMES - 1);
    for (size_t i = 0; i < FRAMES; i++)
        assert_int_equal(s.frame[i].excluded, i == last);

    const tl_sequence_frame *frame = &s.frame[last];
    const tl_track_frame *tracked = &s.track.frame[last];
    assert_int_equal(frame->limb.status, TL_LIMB_MEASURED);
    assert_true(tracked->has_true && !tracked->outlier);
    check_near(tracked->true_utc_s,
               frame->info.time.t_camera_s - 60.0 * ZONE_MINUTES - clock->offset_s,
               TIME_TOLERANCE_S);
    /* It shows a later Moon than at that time: the residual says by how much. */
    check_near(tracked->residual_sr, frame->limb.separation_sr - tracked->sky.separation_sr, 1e-12);
    assert_true(tracked->residual_sr > 0.1);
    check_near(tracked->magnitude, tl_magnitude(frame->limb.separation_sr, tracked->sky.ratio),
               1e-12);
    check_near(tracked->obscuration, tl_obscuration(frame->limb.separation_sr, tracked->sky.ratio),
               1e-12);
    tl_sequence_free(&without);
    tl_sequence_free(&s);
}

static void names_and_paths_are_understood(void **state) {
    (void)state;
    char path[PATH_SIZE], other[PATH_SIZE], link_path[PATH_SIZE];
    scratch_path(&folder, "all/a1.jpg", path);
    scratch_path(&folder, "all/../all/./a1.jpg", other);
    scratch_path(&folder, "link.jpg", link_path);
    assert_int_equal(symlink(path, link_path), 0);
    assert_true(tl_analyse_names("a1.jpg", path));
    assert_true(tl_analyse_names(path, path));
    assert_true(tl_analyse_names(other, path));
    assert_true(tl_analyse_names(link_path, path));
    assert_false(tl_analyse_names("A1.jpg", path));
    assert_false(tl_analyse_names("a1", path));
    assert_false(tl_analyse_names("1.jpg", path));
    assert_false(tl_analyse_names("", path));
    assert_false(tl_analyse_names("./a1.jpg", path)); /* another folder's */
    scratch_path(&folder, "all/a2.jpg", other);
    assert_false(tl_analyse_names(other, path));
    assert_true(tl_analyse_names("gone.jpg", "nowhere/gone.jpg"));
    assert_false(tl_analyse_names("no/gone.jpg", "nowhere/gone.jpg"));
}

/*
 * The table gives the true times, in UTC; the zone given is that of the camera. So the clock is
 * right, whatever EXIF says, and nothing has to be put right in the zone.
 */
static void a_zone_in_the_table_stands(void **state) {
    (void)state;
    char path[PATH_SIZE], text[2048] = "file,time\n";
    static const char *const name[] = {"a1", "a2", "a3", "a4", "a6", "a7"};
    tl_analyse_options options = defaults();
    tl_sequence s = analyse(&options, FRAMES - 1);
    for (size_t i = 0; i < FRAMES - 1; i++) {
        char iso[TL_TIME_TEXT_SIZE];
        const double utc_s = s.frame[i].info.time.t_camera_s - 60.0 * ZONE_MINUTES - OFFSET_S;
        tl_time_text(utc_s, 1, "Z", iso);
        snprintf(text + strlen(text), sizeof text - strlen(text), "%s.jpg,%s\n", name[i], iso);
    }
    tl_sequence_free(&s);
    strcat(text,
           "A1.jpg,2026-08-12T17:00:00Z\nb.jpg,2026-08-12T17:00:00Z\n"); /* no such pictures */
    scratch_path(&folder, "times.csv", path);
    write_text(path, text);
    int line;
    tl_times *times;
    assert_int_equal(tl_times_read(path, &line, &times), TL_OK);
    options.times = times;
    options.times_name = path;
    options.track.zone_given = true;
    options.track.zone_minutes = 120;
    s = analyse(&options, FRAMES - 1);
    const tl_clock *clock = &s.track.camera[0].clock;
    assert_string_equal(s.times_name, "times.csv");
    assert_int_equal(s.times_stray_count, 2);
    assert_string_equal(s.times_stray, "A1.jpg");
    assert_true(clock->solved && !clock->zone_corrected);
    assert_int_equal(clock->zone_minutes, 120);
    /* EXIF's half second of cutting, 0.29 s, is in each time of the table. */
    check_near(clock->offset_s, 0.0, 4.0 * hypot(clock->sigma_s, 0.29 / sqrt(FRAMES - 1)));
    tl_sequence_free(&s);
    tl_times_free(times);
}

/* Two cameras that number alike: a row for both would give one of them the other's times. */
static void a_row_for_two_pictures_is_found(void **state) {
    (void)state;
    static const char *const name[] = {"two/left/1.jpg", "two/right/1.jpg", "two/right/2.jpg"};
    static const char heading[] = "file,time\n";
    static const struct {
        const char *rows, *shared[2];
    } table[] = {{"1.jpg,2026-08-12T17:00:00\n", {"two/left/1.jpg", "two/right/1.jpg"}},
                 {"1.jpg,2026-08-12T17:00:00\nright/1.jpg,2026-08-12T17:00:00\n", {NULL}},
                 {"right/1.jpg,2026-08-12T17:00:00\n2.jpg,2026-08-12T17:00:00\n", {NULL}},
                 {"3.jpg,2026-08-12T17:00:00\n", {NULL}}};
    char path[PATH_SIZE], text[256], paths[3][PATH_SIZE];
    char *list[3];
    assert_int_equal(mkdir((scratch_path(&folder, "two", path), path), 0700), 0);
    assert_int_equal(mkdir((scratch_path(&folder, "two/left", path), path), 0700), 0);
    assert_int_equal(mkdir((scratch_path(&folder, "two/right", path), path), 0700), 0);
    for (size_t i = 0; i < 3; i++) {
        scratch_path(&folder, name[i], paths[i]);
        write_text(paths[i], i < 2 ? name[i] : name[0]);
        list[i] = paths[i];
    }
    const tl_file_list files = {.path = list, .count = 3};
    scratch_path(&folder, "two.csv", path);
    for (size_t i = 0; i < sizeof table / sizeof table[0]; i++) {
        tl_times *times;
        tl_analyse_options options = {0};
        const char *shared[2];
        int line;
        snprintf(text, sizeof text, "%s%s", heading, table[i].rows);
        write_text(path, text);
        assert_int_equal(tl_times_read(path, &line, &times), TL_OK);
        options.times = times;
        assert_int_equal(tl_analyse_shared_row(&options, &files, shared), TL_OK);
        assert_int_equal(shared[0] != NULL, table[i].shared[0] != NULL);
        if (shared[0] != NULL) {
            assert_string_equal(shared[0], paths[0]);
            assert_string_equal(shared[1], paths[1]);
        }
        tl_times_free(times);
    }
    /* One that is excluded, empty, no file at all or the same picture has no time of its own. */
    tl_analyse_options options = {0};
    tl_times *times;
    const char *shared[2], *right = paths[1];
    int line;
    write_text(path, "file,time\n1.jpg,2026-08-12T17:00:00\n");
    assert_int_equal(tl_times_read(path, &line, &times), TL_OK);
    options.times = times;
    for (int kind = 0; kind < 4; kind++) {
        options.exclude = &right;
        options.exclude_count = kind == 0;
        if (kind == 1) {
            write_text(paths[1], "");
        } else if (kind == 2) {
            assert_int_equal(unlink(paths[1]), 0);
            assert_int_equal(mkfifo(paths[1], 0600), 0);
        } else if (kind == 3) {
            assert_int_equal(unlink(paths[1]), 0);
            write_text(paths[1], name[0]);
        }
        assert_int_equal(tl_analyse_shared_row(&options, &files, shared), TL_OK);
        assert_null(shared[0]);
        assert_null(shared[1]);
    }
    tl_times_free(times);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_excluded_picture_has_no_say),
        cmocka_unit_test(names_and_paths_are_understood),
        cmocka_unit_test(a_zone_in_the_table_stands),
        cmocka_unit_test(a_row_for_two_pictures_is_found),
    };
    return cmocka_run_group_tests_name("analyse_given", tests, setup, teardown);
}
