/*
 * test_analyse.c - the glue between the stages: one row for every file, which clock and which place
 * are believed, progress, previews.
 */
#include "check.h"
#include "scratch_folder.h"

#include "twolimb/analyse.h"
#include "twolimb/simulate.h"

/* A double near 2e9 s is exact to 2.4e-7 s. */
static const double TIME_TOLERANCE_S = 1e-6;
/* 2023-05-26 20:01:22: date -u -d '2023-05-26 20:01:22' +%s (GNU coreutils) */
#define AT_2001_S 1685131282.0
#define EXIF_STAMP "2023:05:26 20:02:22"  /* a minute later */
#define TABLE_STAMP "2023-05-26T20:03:22" /* two minutes later */

static void put(const char *name, const void *bytes, size_t size) {
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    write_file(path, bytes, size);
}

/* A grey picture, with the time and place that are not NULL. */
static void put_grey(const char *name, const char *stamp, const tl_site *site) {
    ExifData *exif = exif_start(EXIF_BYTE_ORDER_INTEL);
    if (stamp != NULL)
        exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, stamp);
    if (site != NULL) {
        const double lat_deg = site->lat_rad / TL_DEG, lon_deg = site->lon_rad / TL_DEG;
        const uint32_t lat[] = {(uint32_t)(fabs(lat_deg) * 1e6), 1000000, 0, 1, 0, 1};
        const uint32_t lon[] = {(uint32_t)(fabs(lon_deg) * 1e6), 1000000, 0, 1, 0, 1};
        const uint32_t height[] = {(uint32_t)site->height_m, 1};
        exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE, 3, lat);
        exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE, 3, lon);
        exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE, 1, height);
        exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE_REF, lat_deg < 0 ? "S" : "N");
        exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE_REF, lon_deg < 0 ? "W" : "E");
    }
    blob block = exif_finish(exif);
    blob jpeg = jpeg_flat(90, &block);
    put(name, jpeg.bytes, jpeg.size);
    free(jpeg.bytes);
    free(block.bytes);
}

/* Analyse one folder of the scratch folder. The caller frees the sequence. */
static void analyse(const char *name, const tl_analyse_options *options, tl_sequence *sequence) {
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    const char *argument = path, *bad = NULL;
    tl_file_list files;
    assert_int_equal(tl_file_list_make(&argument, 1, &bad, &files), TL_OK);
    assert_int_equal(tl_analyse(&files, options, sequence), TL_OK);
    assert_int_equal(sequence->count, files.count);
    for (size_t i = 0; i < files.count; i++)
        assert_string_equal(sequence->frame[i].path, files.path[i]);
    tl_file_list_free(&files);
}

static tl_analyse_options defaults(void) {
    return (tl_analyse_options){.track.sky = tl_sky_options_default()};
}

static void make_folder(const char *name) {
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    assert_int_equal(mkdir(path, 0700), 0);
}

static void every_file_gets_a_row(void **state) {
    (void)state;
    make_folder("rows");
    put_grey("rows/a.jpg", NULL, NULL);
    put("rows/b_20230526_200122.jpg", "", 0);
    put("rows/c.jpg", "no picture", 10);
    const tl_analyse_options options = defaults();
    tl_sequence s;
    analyse("rows", &options, &s);
    assert_int_equal(s.count, 3);
    assert_int_equal(s.frame[0].limb.status, TL_LIMB_NO_SUN);
    assert_int_equal(s.frame[0].info.width, 16);
    assert_int_equal(s.frame[1].limb.status, TL_LIMB_UNREADABLE);
    assert_string_equal(s.frame[1].limb.reason, tl_status_text(TL_ERR_EMPTY_FILE));
    assert_int_equal(s.frame[2].limb.status, TL_LIMB_UNREADABLE);
    assert_string_equal(s.frame[2].limb.reason, tl_status_text(TL_ERR_NOT_PICTURE));
    assert_int_equal(s.frame[2].info.width, 0);
    /* What the name says holds for a file without pixels too. */
    assert_int_equal(s.frame[1].info.time.source, TL_TIME_NAME);
    assert_int_equal(s.track.frame_count, 3);
    tl_sequence_free(&s);
}

static void clocks_are_believed_in_order(void **state) {
    (void)state;
    make_folder("clocks");
    put_grey("clocks/1_20230526_200122.jpg", EXIF_STAMP, NULL);
    put_grey("clocks/2_20230526_200122.jpg", EXIF_STAMP, NULL);
    put_grey("clocks/3_20230526_200122.jpg", NULL, NULL);
    put_grey("clocks/4.jpg", NULL, NULL);
    static const char table[] = "file,time\n1_20230526_200122.jpg," TABLE_STAMP "\n";
    put("clocks/times.csv", table, sizeof table - 1);
    char path[PATH_SIZE];
    int line;
    tl_times *times;
    scratch_path(&folder, "clocks/times.csv", path);
    assert_int_equal(tl_times_read(path, &line, &times), TL_OK);
    tl_analyse_options options = defaults();
    options.times = times;
    options.keep_copies = true; /* two files of the same bytes */
    tl_sequence s;
    analyse("clocks", &options, &s);
    static const tl_time_source source[] = {TL_TIME_TABLE, TL_TIME_EXIF, TL_TIME_NAME,
                                            TL_TIME_NONE};
    static const double t_s[] = {AT_2001_S + 120.0, AT_2001_S + 60.5, AT_2001_S + 0.5, 0.0};
    assert_int_equal(s.count, 4);
    for (size_t i = 0; i < 4; i++) {
        assert_int_equal(s.frame[i].info.time.source, source[i]);
        check_near(s.frame[i].info.time.t_camera_s, t_s[i], TIME_TOLERANCE_S);
    }
    tl_sequence_free(&s);
    tl_times_free(times);
}

static tl_site place(double lat_deg, double lon_deg, double height_m) {
    return (tl_site){TL_SITE_EXIF, lat_deg * TL_DEG, lon_deg * TL_DEG, height_m};
}

/* The middle one of three, by hand: the wild fix in the last picture has no say. */
static void the_middle_place_is_taken(void **state) {
    (void)state;
    const tl_site fix[] = {place(-17.0, 179.9, 10), place(-17.2, -179.9, 40),
                           place(-17.1, 179.95, 20), place(60.0, 10.0, 300)};
    /* A millionth of a degree, as the pictures hold it, and rounding. */
    const double tolerance_rad = 1.1e-6 * TL_DEG;
    make_folder("places");
    put_grey("places/0.jpg", NULL, NULL);
    put_grey("places/1.jpg", NULL, &fix[0]);
    put_grey("places/2.jpg", NULL, &fix[1]);
    put_grey("places/3.jpg", NULL, &fix[2]);
    tl_analyse_options options = defaults();
    tl_sequence s;
    analyse("places", &options, &s);
    /* Over the date line: 179.9, 179.95, 180.1 (that is -179.9). */
    assert_int_equal(s.options.site.source, TL_SITE_EXIF);
    check_near(s.options.site.lat_rad, -17.1 * TL_DEG, tolerance_rad);
    check_near(s.options.site.lon_rad, 179.95 * TL_DEG, tolerance_rad);
    check_near(s.options.site.height_m, 20.0, 1e-9);
    tl_sequence_free(&s);

    /* Two middle ones: their mean; 179.95 and 180.1 give 180.025, that is -179.975. */
    put_grey("places/4.jpg", NULL, &fix[3]);
    put_grey("places/1.jpg", NULL, &fix[2]);
    put_grey("places/3.jpg", NULL, &fix[1]);
    analyse("places", &options, &s);
    check_near(s.options.site.lat_rad, -17.15 * TL_DEG, tolerance_rad);
    check_near(s.options.site.lon_rad, -179.975 * TL_DEG, tolerance_rad);
    tl_sequence_free(&s);

    /* A given place is never replaced. */
    options.track.site = (tl_site){TL_SITE_GIVEN, 0.5, 0.25, 0.0};
    analyse("places", &options, &s);
    assert_int_equal(s.options.site.source, TL_SITE_GIVEN);
    assert_true(s.options.site.lat_rad == 0.5 && s.options.site.lon_rad == 0.25);
    tl_sequence_free(&s);
}

/* Of a whole camera roll most pictures were taken elsewhere. The place is that of the Sun's: the
 * one in the scene, written to less than 1e-4 degrees. */
static void the_place_is_that_of_the_pictures_of_the_sun(void **state) {
    (void)state;
    char scene[PATH_SIZE], target[PATH_SIZE], message[TL_SIMULATE_MESSAGE_SIZE] = "";
    const tl_site home = place(48.2, 16.4, 170);
    scratch_path(&folder, "scene.json", scene);
    scratch_path(&folder, "roll", target);
    const char *text = "{\"site\": {\"lat_deg\": 62.0, \"lon_deg\": -6.8}, \"day\": \"2026-08-12\","
                       " \"defaults\": {\"width\": 400, \"height\": 360, \"sun_r_px\": 120,"
                       " \"blur_px\": 1.2, \"gps\": {}},"
                       " \"sets\": [{\"start\": \"max\", \"stop\": \"max\", \"count\": 1}]}";
    write_file(scene, text, strlen(text));
    if (tl_simulate(scene, target, message) != TL_OK)
        fail_msg("%s", message);
    put_grey("roll/home_1.jpg", EXIF_STAMP, &home);
    put_grey("roll/home_2.jpg", EXIF_STAMP, &home);
    const tl_analyse_options options = defaults();
    tl_sequence s;
    analyse("roll", &options, &s);
    assert_int_equal(tl_sequence_count(&s, TL_LIMB_MEASURED), 1);
    assert_int_equal(s.options.site.source, TL_SITE_EXIF);
    check_near(s.options.site.lat_rad, 62.0 * TL_DEG, 1e-4 * TL_DEG);
    check_near(s.options.site.lon_rad, -6.8 * TL_DEG, 1e-4 * TL_DEG);
    tl_sequence_free(&s);
}

static void no_place_is_no_place(void **state) {
    (void)state;
    make_folder("nowhere");
    put_grey("nowhere/1.jpg", EXIF_STAMP, NULL);
    const tl_analyse_options options = defaults();
    tl_sequence s;
    analyse("nowhere", &options, &s);
    assert_int_equal(s.options.site.source, TL_SITE_NONE);
    tl_sequence_free(&s);
}

typedef struct tally {
    size_t calls, last_done;
    bool inside, overlapped;
} tally;

static void count_call(void *context, size_t done, size_t total, const char *path) {
    tally *t = context;
    t->overlapped = t->overlapped || t->inside;
    t->inside = true;
    t->calls++;
    t->last_done = done;
    if (total != 12 || path == NULL || done != t->calls)
        t->overlapped = true;
    t->inside = false;
}

static void progress_is_told_once_a_picture(void **state) {
    (void)state;
    make_folder("many");
    for (int i = 0; i < 12; i++) {
        char name[32];
        snprintf(name, sizeof name, "many/%d.jpg", i);
        put_grey(name, EXIF_STAMP, NULL);
    }
    tally t = {0};
    tl_analyse_options options = defaults();
    options.jobs = 3;
    options.progress = count_call;
    options.progress_context = &t;
    tl_sequence s;
    analyse("many", &options, &s);
    assert_int_equal(t.calls, 12);
    assert_int_equal(t.last_done, 12);
    assert_false(t.overlapped);
    tl_sequence_free(&s);
}

static void previews_show_the_sun(void **state) {
    (void)state;
    const double sun[] = {230.3, 260.7, 110.0}, moon[] = {300.1, 200.2, 112.0};
    blob jpeg = jpeg_eclipse(sun, moon);
    make_folder("sun");
    put("sun/0.jpg", jpeg.bytes, jpeg.size);
    put_grey("sun/1.jpg", NULL, NULL);
    free(jpeg.bytes);
    const tl_analyse_options options = defaults();
    tl_sequence s;
    analyse("sun", &options, &s);
    assert_int_equal(s.frame[0].limb.status, TL_LIMB_MEASURED);
    /* A square of 1.6 radii either side, the Sun in its middle; a pixel for the edge of the cut. */
    const tl_preview *p = &s.frame[0].preview;
    check_near((sun[0] - p->x0_px) * p->scale, p->width / 2.0, 1.0);
    check_near((sun[1] - p->y0_px) * p->scale, p->height / 2.0, 1.0);
    check_near(p->width / p->scale, 2.0 * 1.6 * sun[2], 2.0);
    /* Without a Sun the whole picture. */
    p = &s.frame[1].preview;
    assert_true(p->width == 16 && p->height == 16 && p->x0_px == -0.5 && p->size > 0);
    tl_sequence_free(&s);
}

static void no_files_are_no_rows(void **state) {
    (void)state;
    const tl_analyse_options options = defaults();
    const tl_file_list files = {0};
    tl_sequence s;
    assert_int_equal(tl_analyse(&files, &options, &s), TL_OK);
    assert_int_equal(s.count, 0);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_file_gets_a_row),
        cmocka_unit_test(clocks_are_believed_in_order),
        cmocka_unit_test(the_middle_place_is_taken),
        cmocka_unit_test(the_place_is_that_of_the_pictures_of_the_sun),
        cmocka_unit_test(no_place_is_no_place),
        cmocka_unit_test(progress_is_told_once_a_picture),
        cmocka_unit_test(previews_show_the_sun),
        cmocka_unit_test(no_files_are_no_rows),
    };
    return cmocka_run_group_tests_name("analyse", tests, folder_setup, folder_teardown);
}
