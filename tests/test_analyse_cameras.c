/*
 * test_analyse_cameras.c - which camera took which picture, and what that does to the clocks.
 *
 * Makes, models and numbers are invented. What belongs together is stated by hand in each test.
 */
#include "analyse_steps.h"
#include "check.h"
#include "scratch_folder.h"

#include "twolimb/simulate.h"

/* One picture as the cameras are told apart by it. */
typedef struct shot {
    const char *path, *make, *model, *serial;
    enum { NO_TIME, NO_ZONE, WITH_ZONE } time;
    size_t camera; /* expected */
} shot;

static tl_sequence sequence_of(const shot *shots, size_t count) {
    tl_sequence s = {.count = count};
    s.frame = calloc(count + 1, sizeof *s.frame);
    assert_non_null(s.frame);
    for (size_t i = 0; i < count; i++) {
        tl_frame_info *info = &s.frame[i].info;
        s.frame[i].path = strdup(shots[i].path);
        s.frame[i].info.width = s.frame[i].info.height = 16;
        snprintf(info->make, sizeof info->make, "%s", shots[i].make);
        snprintf(info->model, sizeof info->model, "%s", shots[i].model);
        snprintf(info->serial, sizeof info->serial, "%s", shots[i].serial);
        info->time.source = shots[i].time == NO_TIME ? TL_TIME_NONE : TL_TIME_EXIF;
        info->time.zone_known = shots[i].time == WITH_ZONE;
    }
    return s;
}

/* Group the shots, which must come out as they say, under these names. */
static void expect_cameras(const shot *shots, size_t count, const tl_track_options *options,
                           const char *const *names, size_t cameras) {
    tl_sequence s = sequence_of(shots, count);
    size_t pictures[TL_CAMERAS_MAX] = {0};
    if (options != NULL)
        s.options = *options;
    assert_int_equal(tl_analyse_cameras(&s), TL_OK);
    assert_int_equal(s.camera_count, cameras);
    for (size_t i = 0; i < count; i++) {
        if (s.frame[i].camera != shots[i].camera)
            fail_msg("%s went to camera %zu, not %zu", shots[i].path, s.frame[i].camera,
                     shots[i].camera);
        pictures[shots[i].camera]++;
    }
    for (size_t k = 0; k < cameras; k++) {
        assert_string_equal(s.camera[k].name, names[k]);
        assert_int_equal(s.camera[k].count, pictures[k]);
    }
    tl_sequence_free(&s);
}

#define EXPECT(shots, ...)                                                                         \
    do {                                                                                           \
        static const char *const names[] = {__VA_ARGS__};                                          \
        expect_cameras(shots, sizeof shots / sizeof *shots, NULL, names,                           \
                       sizeof names / sizeof *names);                                              \
    } while (0)

static const char UNNAMED[] = "an unnamed camera";

static void one_camera_is_one(void **state) {
    (void)state;
    static const shot named[] = {{"a/IMG_1.jpg", "Invented", "Box 1", "", NO_ZONE, 0},
                                 {"b/DSC_1.jpg", "Invented", "Box 1", "", NO_ZONE, 0}};
    EXPECT(named, "Invented Box 1");
    static const shot none[] = {{"a/IMG_1.jpg", "", "", "", NO_ZONE, 0},
                                {"a/scan.jpg", "", "", "", NO_TIME, 0}};
    EXPECT(none, "an unnamed camera");
    tl_sequence empty = sequence_of(NULL, 0);
    assert_int_equal(tl_analyse_cameras(&empty), TL_OK);
    assert_int_equal(empty.camera_count, 0);
    tl_sequence_free(&empty);
}

/* Two models, and the one with more pictures first wherever its files stand. */
static void models_are_told_apart(void **state) {
    (void)state;
    static const shot shots[] = {{"IMG_1.jpg", "Invented", "Box 1", "", NO_ZONE, 1},
                                 {"IMG_2.jpg", "Invented", "Box 2", "", NO_ZONE, 0},
                                 {"IMG_3.jpg", "Invented", "Box 2", "", NO_TIME, 0}};
    EXPECT(shots, "Invented Box 2", "Invented Box 1");
}

static void names_are_tidy(void **state) {
    (void)state;
    static const struct {
        const char *make, *model, *name;
    } known[] = {
        {"Invented", "Box 1", "Invented Box 1"},
        {"INVENTED CORPORATION", "Invented B100", "Invented B100"},
        {"invented", "INVENTED-B100", "INVENTED-B100"},
        {"Works Invented", "Invented 3", "Invented 3"},
        {"Inventedly", "Invented 3", "Inventedly Invented 3"},
        {"  Invented   Works ", " Box  1", "Invented Works Box 1"},
        {"Invented", "", "Invented"},
        {"", "Box 1", "Box 1"},
        {"Invented", "*ist", "Invented *ist"},
    };
    for (size_t i = 0; i < sizeof known / sizeof *known; i++) {
        const shot one = {"a.jpg", known[i].make, known[i].model, "12345", NO_ZONE, 0};
        expect_cameras(&one, 1, NULL, &known[i].name, 1);
    }
}

/* The number is shown only where it tells something, and as much of it as that takes. */
static void bodies_of_one_model_are_told_apart(void **state) {
    (void)state;
    static const shot shots[] = {{"IMG_1.jpg", "Invented", "Box 1", "00081234", NO_ZONE, 0},
                                 {"IMG_2.jpg", "Invented", "Box 1", "00085678", NO_ZONE, 1},
                                 {"IMG_3.jpg", "Invented", "Box 1", "00081234", NO_ZONE, 0},
                                 {"IMG_4.jpg", "Invented", "Box 2", "77", NO_ZONE, 2}};
    EXPECT(shots, "Invented Box 1, serial ...1234", "Invented Box 1, serial ...5678",
           "Invented Box 2");
    static const shot alike[] = {{"IMG_1.jpg", "Invented", "Box 1", "1001234", NO_ZONE, 0},
                                 {"IMG_2.jpg", "Invented", "Box 1", "2001234", NO_ZONE, 1}};
    EXPECT(alike, "Invented Box 1, serial ...1001234", "Invented Box 1, serial ...2001234");
}

/* A picture whose number was lost is of the only body there is; of two, of neither. */
static void a_lost_number_is_no_other_body(void **state) {
    (void)state;
    static const shot one[] = {{"IMG_1.jpg", "Invented", "Box 1", "", NO_ZONE, 0},
                               {"IMG_2.jpg", "Invented", "Box 1", "1234", NO_ZONE, 0}};
    EXPECT(one, "Invented Box 1");
    static const shot two[] = {{"IMG_1.jpg", "Invented", "Box 1", "", NO_ZONE, 0},
                               {"IMG_2.jpg", "Invented", "Box 1", "1234", NO_ZONE, 1},
                               {"IMG_3.jpg", "Invented", "Box 1", "5678", NO_ZONE, 2},
                               {"IMG_4.jpg", "Invented", "Box 1", "", NO_ZONE, 0}};
    EXPECT(two, "Invented Box 1, serial not given", "Invented Box 1, serial ...1234",
           "Invented Box 1, serial ...5678");
}

static void cropped_copies_go_by_their_names(void **state) {
    (void)state;
    static const shot shots[] = {{"a/DSC_7.jpg", "Invented", "Box 2", "", NO_ZONE, 2},
                                 {"a/IMG_1.jpg", "Invented", "Box 1", "", NO_ZONE, 0},
                                 {"a/IMG_2.jpg", "Invented", "Box 1", "", NO_ZONE, 0},
                                 {"b/IMG_3-cropped.jpg", "", "", "", NO_TIME, 0},
                                 {"b/IMAG_3.jpg", "", "", "", NO_TIME, 1},
                                 {"b/IMG.jpg", "", "", "", NO_TIME, 1}};
    EXPECT(shots, "Invented Box 1", "an unnamed camera", "Invented Box 2");
    /* Both cameras write IMG_. */
    static const shot doubtful[] = {{"IMG_1.jpg", "Invented", "Box 1", "", NO_ZONE, 0},
                                    {"IMG_2.jpg", "Invented", "Box 2", "", NO_ZONE, 1},
                                    {"IMG_3.jpg", "", "", "", NO_TIME, 2}};
    EXPECT(doubtful, "Invented Box 1", "Invented Box 2", "an unnamed camera");
    /* A bare number is anybody's. */
    static const shot bare[] = {{"20260812_190000.jpg", "Invented", "Box 1", "", NO_ZONE, 0},
                                {"3.jpg", "", "", "", NO_TIME, 1}};
    EXPECT(bare, "Invented Box 1", "an unnamed camera");
}

/* What is no picture does not make a camera. */
static void broken_files_are_no_camera(void **state) {
    (void)state;
    static const shot shots[] = {{"broken.jpg", "", "", "", NO_TIME, 0},
                                 {"IMG_2.jpg", "Invented", "Box 1", "", NO_ZONE, 0}};
    tl_sequence s = sequence_of(shots, 2);
    s.frame[0].info.width = s.frame[0].info.height = 0;
    s.frame[0].limb.status = TL_LIMB_UNREADABLE;
    assert_int_equal(tl_analyse_cameras(&s), TL_OK);
    assert_int_equal(s.camera_count, 1);
    assert_string_equal(s.camera[0].name, "Invented Box 1");
    assert_int_equal(s.camera[0].count, 1);
    assert_int_equal(s.frame[0].camera, TL_CAMERAS_MAX);
    tl_sequence_free(&s);
    s = sequence_of(shots, 1);
    s.frame[0].info.width = s.frame[0].info.height = 0;
    s.frame[0].limb.status = TL_LIMB_UNREADABLE;
    assert_int_equal(tl_analyse_cameras(&s), TL_OK);
    assert_int_equal(s.camera_count, 1);
    assert_string_equal(s.camera[0].name, UNNAMED);
    tl_sequence_free(&s);
}

/* Of a whole camera roll: those who took no picture of the Sun are not listed, however many other
 * pictures they took, and a screenshot is no camera. A copy counts as the picture it is of. */
static void pictures_without_the_sun_are_of_no_camera(void **state) {
    (void)state;
    enum { HOLIDAY, HOLIDAY_2, HOLIDAY_3, SCREEN, SUN, COPY, CLOUD, SUN_ONLY, COUNT };
    static const shot shots[COUNT] = {
        [HOLIDAY] = {"DSC_1.jpg", "Invented", "Box 3", "", WITH_ZONE, TL_CAMERAS_MAX},
        [HOLIDAY_2] = {"DSC_2.jpg", "Invented", "Box 3", "", WITH_ZONE, TL_CAMERAS_MAX},
        [HOLIDAY_3] = {"DSC_3.jpg", "Invented", "Box 3", "", WITH_ZONE, TL_CAMERAS_MAX},
        [SCREEN] = {"Screenshot_1.png", "", "", "", NO_ZONE, TL_CAMERAS_MAX},
        [SUN] = {"IMG_1.jpg", "Invented", "Box 1", "", NO_ZONE, 0},
        [COPY] = {"copy.jpg", "Invented", "Box 1", "", NO_ZONE, 0},
        [CLOUD] = {"IMG_2.jpg", "Invented", "Box 1", "", NO_ZONE, 0},
        [SUN_ONLY] = {"A_1.jpg", "Invented", "Box 2", "", NO_ZONE, 1}};
    tl_sequence s = sequence_of(shots, COUNT);
    for (size_t i = 0; i < COUNT; i++)
        s.frame[i].limb.status = TL_LIMB_NO_SUN;
    s.frame[SUN].limb.status = TL_LIMB_MEASURED;
    s.frame[COPY].is_copy = true;
    s.frame[COPY].copy_of = SUN;
    s.frame[SUN_ONLY].limb.status = TL_LIMB_SUN_ONLY;
    assert_int_equal(tl_analyse_cameras(&s), TL_OK);
    assert_int_equal(s.camera_count, 2);
    for (size_t i = 0; i < COUNT; i++)
        assert_int_equal(s.frame[i].camera, shots[i].camera);
    assert_string_equal(s.camera[0].name, "Invented Box 1");
    assert_int_equal(s.camera[0].count, 3);
    assert_string_equal(s.camera[1].name, "Invented Box 2");
    tl_sequence_free(&s);
}

static const shot two_readings[] = {{"IMG_1.jpg", "Invented", "Box 1", "", NO_ZONE, 1},
                                    {"IMG_2.jpg", "Invented", "Box 1", "", NO_TIME, 0},
                                    {"PXL_3.jpg", "Invented", "Box 1", "", WITH_ZONE, 0},
                                    {"PXL_4.jpg", "Invented", "Box 1", "", WITH_ZONE, 0},
                                    {"DSC_5.jpg", "Invented", "Box 2", "", NO_ZONE, 2}};

static void two_readings_of_a_camera_are_two_clocks(void **state) {
    (void)state;
    EXPECT(two_readings, "Invented Box 1 (times with a zone)", "Invented Box 1 (times without)",
           "Invented Box 2");
    static const shot unnamed[] = {{"IMG_1.jpg", "", "", "", NO_ZONE, 1},
                                   {"PXL_2.jpg", "", "", "", WITH_ZONE, 0}};
    EXPECT(unnamed, "an unnamed camera (times with a zone)", "an unnamed camera (times without)");
}

/* With --zone the times without a zone are in that one. */
static void a_zone_given_makes_them_one(void **state) {
    (void)state;
    static const char *const names[] = {"Invented Box 1", "Invented Box 2"};
    const tl_track_options options = {.zone_given = true, .zone_minutes = 120};
    shot shots[5];
    memcpy(shots, two_readings, sizeof shots);
    shots[0].camera = 0;
    shots[4].camera = 1;
    expect_cameras(shots, 5, &options, names, 2);
}

/* The first of the list are those with most pictures; what is beyond it is marked. */
static void a_long_list_is_cut_at_its_end(void **state) {
    (void)state;
    enum { CAMERAS = TL_CAMERAS_MAX + 2 };
    char path[2 * CAMERAS][32], model[CAMERAS][32];
    shot shots[2 * CAMERAS];
    for (size_t i = 0; i < CAMERAS; i++) { /* of camera i there are two pictures if i is not 3 */
        snprintf(model[i], sizeof model[i], "Box %zu", i);
        for (size_t k = 0; k < 2; k++) {
            snprintf(path[2 * i + k], sizeof path[0], "IMG_%zu.jpg", 2 * i + k);
            shots[2 * i + k] = (shot){path[2 * i + k], "Invented", model[i], "", NO_ZONE, 0};
        }
    }
    shots[2 * 3 + 1].model = model[4];
    tl_sequence s = sequence_of(shots, 2 * CAMERAS);
    assert_int_equal(tl_analyse_cameras(&s), TL_OK);
    assert_int_equal(s.camera_count, TL_CAMERAS_MAX);
    assert_string_equal(s.camera[0].name, "Invented Box 4");
    assert_int_equal(s.camera[0].count, 3);
    assert_int_equal(s.frame[2 * 3].camera, TL_CAMERAS_MAX);           /* one picture */
    assert_int_equal(s.frame[2 * CAMERAS - 1].camera, TL_CAMERAS_MAX); /* the last of equals */
    assert_int_equal(s.frame[2 * CAMERAS - 3].camera, TL_CAMERAS_MAX - 1);
    tl_sequence_free(&s);
}

/* ---- from the files ----------------------------------------------------------------------- */

/* Draw a scene into a folder of the scratch folder. */
static void draw(const char *scene, const char *out) {
    char path[PATH_SIZE], target[PATH_SIZE], message[TL_SIMULATE_MESSAGE_SIZE] = "";
    scratch_path(&folder, "scene.json", path);
    scratch_path(&folder, out, target);
    write_text(path, scene);
    if (tl_simulate(path, target, message) != TL_OK)
        fail_msg("%s", message);
}

/* Analyse folders of the scratch folder; the caller frees. */
static tl_sequence analyse(const char *const *names, size_t count,
                           const tl_analyse_options *options) {
    char path[4][PATH_SIZE];
    const char *argument[4], *bad = NULL;
    tl_file_list files;
    tl_sequence s;
    assert_in_range(count, 1, 4);
    for (size_t i = 0; i < count; i++) {
        scratch_path(&folder, names[i], path[i]);
        argument[i] = path[i];
    }
    assert_int_equal(tl_file_list_make(argument, count, &bad, &files), TL_OK);
    assert_int_equal(tl_analyse(&files, options, &s), TL_OK);
    tl_file_list_free(&files);
    return s;
}

#define PLACE "\"site\": {\"lat_deg\": 62.0, \"lon_deg\": -6.8}, \"day\": \"2026-08-12\""
#define SMALL "\"width\": 400, \"height\": 360, \"sun_r_px\": 120, \"blur_px\": 1.2"

static tl_analyse_options at_place(void) {
    tl_analyse_options options = {.track.sky = tl_sky_options_default()};
    options.track.site = (tl_site){TL_SITE_GIVEN, 62.0 * TL_DEG, -6.8 * TL_DEG, 0.0};
    return options;
}

/* Make, model and number go from the scene through the file into the list. */
static void cameras_are_read_from_the_files(void **state) {
    (void)state;
    static const char *const names[] = {"bodies"};
    draw("{" PLACE ", \"defaults\": {" SMALL "}, \"sets\": ["
         "{\"prefix\": \"IMG_\", \"camera\": {\"make\": \"Invented\", \"model\": \"Box 1\","
         " \"serial\": \"00081234\"}, \"start\": \"max\", \"stop\": \"max\", \"count\": 1},"
         "{\"prefix\": \"DSC_\", \"camera\": {\"make\": \"Invented\", \"model\": \"Box 1\","
         " \"serial\": \"00085678\"}, \"start\": \"max\", \"stop\": \"max\", \"count\": 1}]}",
         "bodies");
    const tl_analyse_options options = at_place();
    tl_sequence s = analyse(names, 1, &options);
    assert_int_equal(s.camera_count, 2);
    assert_string_equal(s.camera[0].name, "Invented Box 1, serial ...5678"); /* DSC_ comes first */
    assert_string_equal(s.camera[1].name, "Invented Box 1, serial ...1234");
    tl_sequence_free(&s);
}

/* A frame of a camera beyond the list is measured, and has no say in the path. */
static void a_camera_beyond_the_list_has_no_clock(void **state) {
    (void)state;
    static const char *const names[] = {"long"};
    draw("{" PLACE ", \"defaults\": {" SMALL "}, \"sets\": [{\"start\": \"C1+600\", "
         "\"stop\": \"C4-600\", \"count\": 5}]}",
         "long");
    const tl_analyse_options options = at_place();
    tl_sequence s = analyse(names, 1, &options);
    assert_int_equal(s.track.used_count, 5);
    s.frame[1].camera = TL_CAMERAS_MAX;
    assert_int_equal(tl_analyse_solve(&s), TL_OK);
    assert_int_equal(s.frame[1].limb.status, TL_LIMB_MEASURED);
    assert_int_equal(s.track.used_count, 4);
    tl_sequence_free(&s);
}

/* Two cameras at one place, each with a clock and a mounting of its own: both come out as the
 * scenes set them. */
static void two_cameras_have_two_clocks(void **state) {
    (void)state;
    static const struct {
        double offset_s;
        int zone_minutes;
    } truth[] = {{37.4, 60}, {-73.2, 0}};
    static const char *const names[] = {"phone", "lens"};
    draw("{" PLACE ", \"defaults\": {" SMALL ", \"clock\": {\"offset_s\": 37.4, \"zone\": "
         "\"+01:00\"}, \"camera\": {\"make\": \"Invented\", \"model\": \"Box 1\"}}, \"sets\": ["
         "{\"prefix\": \"IMG_\", \"start\": \"C1+600\", \"stop\": \"C4-600\", \"count\": 9}]}",
         "phone");
    draw("{" PLACE ", \"seed\": 7, \"defaults\": {" SMALL ", \"mirrored\": true, \"clock\": "
         "{\"offset_s\": -73.2, \"zone\": \"+00:00\"}, \"camera\": {\"make\": \"Invented\", "
         "\"model\": \"Box 2\"}}, \"sets\": ["
         "{\"prefix\": \"DSC_\", \"start\": \"C1+700\", \"stop\": \"C4-900\", \"count\": 7}]}",
         "lens");
    const tl_analyse_options options = at_place();
    tl_sequence s = analyse(names, 2, &options);
    assert_int_equal(tl_sequence_count(&s, TL_LIMB_MEASURED), 16);
    assert_int_equal(s.camera_count, 2);
    assert_string_equal(s.camera[0].name, "Invented Box 1");
    assert_string_equal(s.camera[1].name, "Invented Box 2");
    assert_int_equal(s.track.camera_count, 2);
    for (size_t k = 0; k < 2; k++) {
        const tl_clock *clock = &s.track.camera[k].clock;
        assert_int_equal(s.track.camera[k].frame_count, s.camera[k].count);
        assert_true(clock->solved);
        assert_int_equal(clock->zone_minutes, truth[k].zone_minutes);
        /* Four sigma of the fit: a chance of 6e-5 if the errors are what they say. */
        check_near(clock->offset_s, truth[k].offset_s, 4.0 * clock->sigma_s);
        /* A reading error of 0.29 s in each of 7 frames, and circles good to 1 s each. */
        assert_true(clock->sigma_s < 1.0);
    }
    assert_int_equal(s.track.camera[0].mirrored, TL_MIRROR_NO);
    assert_int_equal(s.track.camera[1].mirrored, TL_MIRROR_YES);
    tl_sequence_free(&s);
}

/*
 * One camera, 37.4 s fast, that names some files in UTC and others in local time, UTC+01:00: two
 * entries, one clock found twice. The names are the scene's times plus 37.4 s, and an hour.
 */
static void both_readings_of_a_camera_find_its_clock(void **state) {
    (void)state;
    static const char *const names[] = {"readings"};
    static const int zone_minutes[] = {0, 60};
    draw("{" PLACE ", \"defaults\": {" SMALL ", \"clock\": {\"write_time\": false}, \"camera\": "
         "{\"make\": \"Invented\", \"model\": \"Box 1\"}}, \"sets\": [{\"frames\": ["
         "{\"file\": \"PXL_20260812_171037400.jpg\", \"time\": \"2026-08-12T17:10:00Z\"},"
         "{\"file\": \"PXL_20260812_172037400.jpg\", \"time\": \"2026-08-12T17:20:00Z\"},"
         "{\"file\": \"PXL_20260812_173037400.jpg\", \"time\": \"2026-08-12T17:30:00Z\"},"
         "{\"file\": \"PXL_20260812_181037400.jpg\", \"time\": \"2026-08-12T18:10:00Z\"},"
         "{\"file\": \"PXL_20260812_183037400.jpg\", \"time\": \"2026-08-12T18:30:00Z\"},"
         "{\"file\": \"IMG_20260812_181537400.jpg\", \"time\": \"2026-08-12T17:15:00Z\"},"
         "{\"file\": \"IMG_20260812_182537400.jpg\", \"time\": \"2026-08-12T17:25:00Z\"},"
         "{\"file\": \"IMG_20260812_192037400.jpg\", \"time\": \"2026-08-12T18:20:00Z\"},"
         "{\"file\": \"IMG_20260812_193537400.jpg\", \"time\": \"2026-08-12T18:35:00Z\"}]}]}",
         "readings");
    const tl_analyse_options options = at_place();
    tl_sequence s = analyse(names, 1, &options);
    assert_int_equal(tl_sequence_count(&s, TL_LIMB_MEASURED), 9);
    assert_int_equal(s.camera_count, 2);
    assert_string_equal(s.camera[0].name, "Invented Box 1 (times with a zone)");
    for (size_t k = 0; k < 2; k++) {
        const tl_clock *clock = &s.track.camera[k].clock;
        assert_true(clock->solved);
        assert_int_equal(clock->zone_minutes, zone_minutes[k]);
        check_near(clock->offset_s, 37.4, 4.0 * clock->sigma_s);
        assert_true(clock->sigma_s < 1.0); /* the names have milliseconds; circles good to 1 s */
    }
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_camera_is_one),
        cmocka_unit_test(models_are_told_apart),
        cmocka_unit_test(names_are_tidy),
        cmocka_unit_test(bodies_of_one_model_are_told_apart),
        cmocka_unit_test(a_lost_number_is_no_other_body),
        cmocka_unit_test(cropped_copies_go_by_their_names),
        cmocka_unit_test(broken_files_are_no_camera),
        cmocka_unit_test(pictures_without_the_sun_are_of_no_camera),
        cmocka_unit_test(two_readings_of_a_camera_are_two_clocks),
        cmocka_unit_test(a_zone_given_makes_them_one),
        cmocka_unit_test(a_long_list_is_cut_at_its_end),
        cmocka_unit_test(cameras_are_read_from_the_files),
        cmocka_unit_test(a_camera_beyond_the_list_has_no_clock),
        cmocka_unit_test(two_cameras_have_two_clocks),
        cmocka_unit_test(both_readings_of_a_camera_find_its_clock),
    };
    return cmocka_run_group_tests_name("analyse_cameras", tests, folder_setup, folder_teardown);
}
