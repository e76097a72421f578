/*
 * test_simulate_files.c - scene files in, folders of pictures out: what is drawn and written
 * against the truth table and libexif, the same again byte for byte, refusals that say why.
 */
#include "scratch_folder.h"

#include "check.h"
#include "simulate/simulate_internal.h"
#include "truth.h"
#include "twolimb/simulate.h"

static char message[TL_SIMULATE_MESSAGE_SIZE];

/* Write a scene and draw it into the folder `out` of the scratch folder. */
static tl_status simulate(const char *scene, const char *out) {
    char scene_path[PATH_SIZE], out_path[PATH_SIZE];
    scratch_path(&folder, "scene.json", scene_path);
    scratch_path(&folder, out, out_path);
    write_text(scene_path, scene);
    return tl_simulate(scene_path, out_path, message);
}

static void must_simulate(const char *scene, const char *out) {
    if (simulate(scene, out) != TL_OK)
        fail_msg("%s", message);
}

static blob read_file(const char *out, const char *name) {
    char path[PATH_SIZE], full[PATH_SIZE];
    scratch_path(&folder, out, path);
    path_join(path, name, full);
    FILE *file = fopen(full, "rb");
    if (file == NULL)
        fail_msg("there is no %s", full);
    blob b = {malloc(1 << 22), 0};
    assert_non_null(b.bytes);
    b.size = fread(b.bytes, 1, 1 << 22, file);
    fclose(file);
    return b;
}

/* --- what is drawn --- */

/* A picture decoded by libjpeg; red green blue, to be freed. */
static unsigned char *decode(const blob *jpeg, int *width, int *height) {
    struct jpeg_decompress_struct info;
    struct jpeg_error_mgr error;
    info.err = jpeg_std_error(&error);
    jpeg_create_decompress(&info);
    jpeg_mem_src(&info, jpeg->bytes, jpeg->size);
    jpeg_read_header(&info, TRUE);
    info.out_color_space = JCS_RGB;
    jpeg_start_decompress(&info);
    *width = (int)info.output_width;
    *height = (int)info.output_height;
    size_t stride = (size_t)*width * 3;
    unsigned char *rgb = calloc(stride * (size_t)*height, 1);
    assert_non_null(rgb);
    while (info.output_scanline < info.output_height) {
        JSAMPROW row = rgb + stride * info.output_scanline;
        jpeg_read_scanlines(&info, &row, 1);
    }
    jpeg_finish_decompress(&info);
    jpeg_destroy_decompress(&info);
    return rgb;
}

/* Light of the green channel and its centre; the sRGB curve undone as IEC 61966-2-1 says. */
static void light_of(const unsigned char *rgb, int width, int height, double sum[3]) {
    sum[0] = sum[1] = sum[2] = 0;
    for (int y = 0; y < height; y++) {
        for (int x = 0; x < width; x++) {
            double code = rgb[3 * (y * width + x) + 1] / 255.0;
            double v = code <= 0.04045 ? code / 12.92 : pow((code + 0.055) / 1.055, 2.4);
            sum[0] += v;
            sum[1] += v * x;
            sum[2] += v * y;
        }
    }
    sum[1] /= sum[0];
    sum[2] /= sum[0];
}

#define DAY "\"site\": {\"lat_deg\": 62, \"lon_deg\": -6.8}, \"day\": \"2026-08-12\""

/* The light of a uniform crescent has its centre opposite to the Moon; how far, and how much light
 * there is, follows from two circular segments (closed forms). The direction is worked out from
 * the PA of the Moon and of "up" by hand: x = -+ sin(PA - up), y = -cos(PA - up). */
static void pictures_show_what_truth_says(void **state) {
    (void)state;
    must_simulate("{" DAY
                  ", \"sets\": [{\"prefix\": \"a\", \"start\": \"C1+600\", \"stop\": \"C4-600\","
                  " \"count\": 5, \"width\": 320, \"height\": 300, \"quality\": 100,"
                  " \"sun_r_px\": 100, \"vary\": {\"centre_px\": 8, \"scale\": 0.1},"
                  " \"limb_darkening\": false, \"refraction\": false, \"holding\": \"free\","
                  " \"blur_px\": 1.2, \"mirrored\": true},"
                  "{\"prefix\": \"b\", \"start\": \"max-1800\", \"stop\": \"max+1800\","
                  " \"count\": 3, \"width\": 320, \"height\": 300, \"quality\": 100,"
                  " \"sun_r_px\": 100, \"limb_darkening\": false, \"refraction\": false,"
                  " \"holding\": \"altaz\", \"up_pa_deg\": 10}]}",
                  "out");
    const double LEVEL = 0.7, CODED = 0.005; /* a step of 8 bits there is 1 % of the light */
    const double CENTRE_PX = 0.05;           /* JPEG and 8 bits: far below a pixel */
    static truth_row truth[TRUTH_ROWS_MAX];
    char out[PATH_SIZE];
    scratch_path(&folder, "out", out);
    assert_int_equal(truth_read(out, truth), 8);
    for (int i = 0; i < 8; i++) {
        const truth_row *t = &truth[i];
        blob jpeg = read_file("out", t->file);
        int width, height;
        double light[3], s = t->separation_sr, k = t->prior.ratio, r = t->circle[TL_SUN_R];
        unsigned char *rgb = decode(&jpeg, &width, &height);
        light_of(rgb, width, height, light);
        free(rgb);
        free(jpeg.bytes);
        double chord = (s * s + 1 - k * k) / (2 * s), other = s - chord;
        double lens = acos(chord) - chord * sqrt(1 - chord * chord) + k * k * acos(other / k) -
                      other * sqrt(k * k - other * other);
        double lens_moment = 2.0 / 3 * pow(1 - chord * chord, 1.5) +
                             s * (k * k * acos(other / k) - other * sqrt(k * k - other * other)) -
                             2.0 / 3 * pow(k * k - other * other, 1.5);
        check_near(light[0] / (LEVEL * r * r), TL_PI - lens, TL_PI * 2 * CODED);
        double away = r * lens_moment / (TL_PI - lens);
        double from_up = (t->moon_pa_deg - t->up_pa_deg) * TL_DEG;
        double x = (t->mirrored ? 1 : -1) * sin(from_up), y = -cos(from_up);
        check_near(light[1], t->circle[TL_SUN_X] - away * x, CENTRE_PX);
        check_near(light[2], t->circle[TL_SUN_Y] - away * y, CENTRE_PX);
        check_near(t->circle[TL_MOON_X], t->circle[TL_SUN_X] + s * r * x, 1e-3);
        check_near(t->circle[TL_MOON_Y], t->circle[TL_SUN_Y] + s * r * y, 1e-3);
        assert_true(t->mirrored == (t->file[0] == 'a'));
        assert_string_equal(t->expected, "measured");
    }
    /* altaz: up stays 10 deg east of the zenith, so the zenith is west of up: to the right */
    for (int i = 5; i < 8; i++) {
        check_near(truth[i].prior.zenith_x, sin(10 * TL_DEG), 2e-6);
        check_near(truth[i].prior.zenith_y, -cos(10 * TL_DEG), 2e-6);
    }
}

/* At first and last contact the discs touch: separation 1 + ratio, by definition; before and after
 * there is no Moon on the Sun. Contacts are good to 0.2 s, in which the Moon moves 1e-4. */
static void contacts_name_moments(void **state) {
    (void)state;
    must_simulate("{" DAY
                  ", \"sets\": [{\"width\": 64, \"height\": 64, \"sun_r_px\": 20, \"frames\":"
                  "[{\"time\": \"C1\"}, {\"time\": \"C4\"}, {\"time\": \"C1-60\"},"
                  "{\"time\": \"C4+60\"}, {\"time\": \"max\"}, {\"subject\": \"nothing\","
                  "\"time\": \"2026-08-12T17:47:03.250Z\"}]}]}",
                  "out");
    static truth_row truth[TRUTH_ROWS_MAX];
    char out[PATH_SIZE];
    scratch_path(&folder, "out", out);
    assert_int_equal(truth_read(out, truth), 6);
    for (int i = 0; i < 2; i++)
        check_near(truth[i].separation_sr, 1 + truth[i].prior.ratio, 2e-4);
    assert_string_equal(truth[2].expected, "sun-only");
    assert_string_equal(truth[3].expected, "sun-only");
    assert_string_equal(truth[4].expected, "measured");
    assert_string_equal(truth[5].expected, "refused");
    /* 2026-08-12 17:47:03.25 UTC is day 20677 after 1970-01-01 (POSIX) */
    check_near(truth[5].true_utc_s, 20677 * 86400.0 + 17 * 3600 + 47 * 60 + 3.25, 1e-6);
    check_near(truth[5].circle[TL_SUN_R], 0, 0); /* no Sun, no circles */
}

/* Inside totality the Moon hides the Sun: to be refused; with a corona there is light, all of it
 * outside the Moon's disc. Near the centre line in Iceland's far west. */
static void total_phase_is_dark_but_for_the_corona(void **state) {
    (void)state;
    must_simulate("{\"site\": {\"lat_deg\": 65.2, \"lon_deg\": -25.2}, \"day\": \"2026-08-12\","
                  "\"sets\": [{\"width\": 200, \"height\": 200, \"sun_r_px\": 40, \"frames\":"
                  "[{\"time\": \"max\"}, {\"time\": \"max\", \"corona\": 0.8}]}]}",
                  "out");
    static truth_row truth[TRUTH_ROWS_MAX];
    char out[PATH_SIZE];
    scratch_path(&folder, "out", out);
    assert_int_equal(truth_read(out, truth), 2);
    for (int i = 0; i < 2; i++) {
        blob jpeg = read_file("out", truth[i].file);
        int width, height, brightest = 0;
        unsigned char *rgb = decode(&jpeg, &width, &height);
        for (int p = 0; p < 3 * width * height; p++)
            brightest = rgb[p] > brightest ? rgb[p] : brightest;
        assert_string_equal(truth[i].expected, "refused");
        assert_int_equal(rgb[3 * (100 * 200 + 100)], 0);
        if (i == 0)
            assert_int_equal(brightest, 0);
        else
            assert_in_range(brightest, 150, 255);
        free(rgb);
        free(jpeg.bytes);
    }
}

/* --- what the camera writes --- */

static const ExifEntry *entry(ExifData *exif, ExifIfd ifd, int tag) {
    return exif_content_get_entry(exif->ifd[ifd], (ExifTag)tag);
}

static void expect_text(ExifData *exif, ExifIfd ifd, int tag, const char *text) {
    const ExifEntry *e = entry(exif, ifd, tag);
    if (e == NULL)
        fail_msg("there is no tag %#x", (unsigned)tag);
    assert_int_equal(e->format, EXIF_FORMAT_ASCII);
    assert_string_equal((const char *)e->data, text);
}

static double rational(ExifData *exif, ExifIfd ifd, int tag, unsigned place) {
    const ExifEntry *e = entry(exif, ifd, tag);
    if (e == NULL || e->format != EXIF_FORMAT_RATIONAL || e->components <= place)
        fail_msg("there is no rational %u in tag %#x", place, (unsigned)tag);
    ExifRational r = exif_get_rational(e->data + 8 * place, exif_data_get_byte_order(exif));
    return (double)r.numerator / r.denominator;
}

static ExifData *exif_of(const char *out, const char *name) {
    blob jpeg = read_file(out, name);
    ExifData *exif = exif_data_new_from_data(jpeg.bytes, (unsigned)jpeg.size);
    free(jpeg.bytes);
    assert_non_null(exif);
    return exif;
}

/* Camera time = true UTC + zone + offset, cut to the second: 17:00:00.250 + 1 h + 37.4 s is
 * 18:00:37.650. In the second frame zone +14:00 takes 23:59:59 into the next day. */
static void exif_has_the_camera_clock(void **state) {
    (void)state;
    must_simulate(
        "{" DAY ", \"defaults\": {\"width\": 32, \"height\": 32, \"sun_r_px\": 10},"
        "\"sets\": [{\"clock\": {\"offset_s\": 37.4, \"zone\": \"+01:00\"}, \"frames\": ["
        "{\"file\": \"plain.jpg\", \"time\": \"2026-08-12T17:00:00.250Z\"},"
        "{\"file\": \"full.jpg\", \"time\": \"2026-08-12T17:00:00.250Z\","
        " \"clock\": {\"write_subsec\": true, \"write_zone\": true},"
        " \"gps\": {\"lag_s\": 3}, \"camera\": {\"make\": \"Invented\","
        " \"model\": \"Box 1\", \"serial\": \"0042\", \"f_number\": 8, \"exposure_s\": 0.004,"
        " \"focal_mm\": 420, \"iso\": 200}},"
        "{\"file\": \"late.jpg\", \"time\": \"2026-08-12T23:59:59Z\","
        " \"clock\": {\"zone\": \"-02:30\", \"offset_s\": 5400.05, \"write_zone\": true,"
        " \"write_subsec\": true}},"
        "{\"file\": \"none.jpg\", \"time\": \"C1\", \"clock\": {\"write_time\": false}}"
        "]}]}",
        "out");
    ExifData *exif = exif_of("out", "plain.jpg");
    expect_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, "2026:08:12 18:00:37");
    assert_null(entry(exif, EXIF_IFD_EXIF, EXIF_TAG_SUB_SEC_TIME_ORIGINAL));
    assert_null(entry(exif, EXIF_IFD_EXIF, EXIF_TAG_OFFSET_TIME_ORIGINAL));
    assert_null(entry(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE));
    assert_null(entry(exif, EXIF_IFD_0, EXIF_TAG_MAKE));
    const ExifEntry *wide = entry(exif, EXIF_IFD_EXIF, EXIF_TAG_PIXEL_X_DIMENSION);
    assert_non_null(wide);
    assert_int_equal(exif_get_short(wide->data, exif_data_get_byte_order(exif)), 32);
    exif_data_unref(exif);

    exif = exif_of("out", "full.jpg");
    expect_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, "2026:08:12 18:00:37");
    expect_text(exif, EXIF_IFD_EXIF, EXIF_TAG_SUB_SEC_TIME_ORIGINAL, "650");
    expect_text(exif, EXIF_IFD_EXIF, EXIF_TAG_OFFSET_TIME_ORIGINAL, "+01:00");
    expect_text(exif, EXIF_IFD_0, EXIF_TAG_MAKE, "Invented");
    expect_text(exif, EXIF_IFD_0, EXIF_TAG_MODEL, "Box 1");
    expect_text(exif, EXIF_IFD_EXIF, 0xA431, "0042"); /* BodySerialNumber, EXIF 2.32 table 8 */
    check_near(rational(exif, EXIF_IFD_EXIF, EXIF_TAG_FNUMBER, 0), 8, 1e-9);
    check_near(rational(exif, EXIF_IFD_EXIF, EXIF_TAG_EXPOSURE_TIME, 0), 0.004, 1e-9);
    check_near(rational(exif, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH, 0), 420, 1e-9);
    expect_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE_REF, "N");
    expect_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE_REF, "W");
    double lon = rational(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE, 0) +
                 rational(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE, 1) / 60 +
                 rational(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE, 2) / 3600;
    check_near(lon, 6.8, 1e-6);
    expect_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_DATE_STAMP, "2026:08:12");
    check_near(rational(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_TIME_STAMP, 0), 16, 0);
    check_near(rational(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_TIME_STAMP, 1), 59, 0);
    check_near(rational(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_TIME_STAMP, 2), 57, 0);
    exif_data_unref(exif);

    exif = exif_of("out", "late.jpg"); /* 23:59:59 - 2:30 + 1:30:00.05 */
    expect_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, "2026:08:12 22:59:59");
    expect_text(exif, EXIF_IFD_EXIF, EXIF_TAG_SUB_SEC_TIME_ORIGINAL, "050");
    expect_text(exif, EXIF_IFD_EXIF, EXIF_TAG_OFFSET_TIME_ORIGINAL, "-02:30");
    exif_data_unref(exif);

    exif = exif_of("out", "none.jpg");
    assert_null(entry(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL));
    exif_data_unref(exif);
}

/* Stored turned and tagged: a reader that heeds the tag, written by somebody else, sees the same
 * picture whatever the orientation. */
static void orientation_is_undone_by_a_reader(void **state) {
    (void)state;
    char scene[1024], out[16], path[PATH_SIZE], full[PATH_SIZE];
    tl_image first = {0};
    for (int o = 1; o <= 8; o++) {
        snprintf(scene, sizeof scene,
                 "{" DAY ", \"sets\": [{\"width\": 96, \"height\": 64, \"quality\": 100,"
                 "\"sun_r_px\": 25, \"sun_x_px\": 40, \"orientation\": %d, \"frames\":"
                 "[{\"time\": \"C1+1500\", \"file\": \"p.jpg\"}]}]}",
                 o);
        snprintf(out, sizeof out, "o%d", o);
        must_simulate(scene, out);
        ExifData *exif = exif_of(out, "p.jpg");
        const ExifEntry *e = entry(exif, EXIF_IFD_0, EXIF_TAG_ORIENTATION);
        assert_non_null(e);
        assert_int_equal(exif_get_short(e->data, exif_data_get_byte_order(exif)), o);
        exif_data_unref(exif);
        tl_image image = {0};
        tl_frame_info info;
        scratch_path(&folder, out, path);
        path_join(path, "p.jpg", full);
        assert_int_equal(tl_frame_read(full, &image, &info), TL_OK);
        assert_int_equal(image.width, 96);
        assert_int_equal(image.height, 64);
        if (o == 1)
            first = image;
        /* JPEG blocks fall otherwise on the turned picture: compare the means of rows, columns */
        double worst = 0;
        for (int x = 0; x < 96; x++) {
            double a = 0, b = 0;
            for (int y = 0; y < 64; y++) {
                a += tl_image_light(&first, x, y, 0) / 65535.0 / 64;
                b += tl_image_light(&image, x, y, 0) / 65535.0 / 64;
            }
            worst = fmax(worst, fabs(a - b));
        }
        for (int y = 0; y < 64; y++) {
            double a = 0, b = 0;
            for (int x = 0; x < 96; x++) {
                a += tl_image_light(&first, x, y, 0) / 65535.0 / 96;
                b += tl_image_light(&image, x, y, 0) / 65535.0 / 96;
            }
            worst = fmax(worst, fabs(a - b));
        }
        check_near(worst, 0, 0.005);
        if (o > 1)
            tl_image_free(&image);
    }
    tl_image_free(&first);
}

/* --- the same again --- */

static bool same_file(const char *out_a, const char *out_b, const char *name) {
    blob a = read_file(out_a, name), b = read_file(out_b, name);
    bool same = a.size == b.size && memcmp(a.bytes, b.bytes, a.size) == 0;
    free(a.bytes);
    free(b.bytes);
    return same;
}

static const char lively[] =
    "{" DAY ", \"seed\": %d, \"spots\": [{\"latitude_deg\": 10, \"longitude_deg\": 5,"
    "\"radius_deg\": 3, \"umbra\": 0.4}], \"sets\": [{\"prefix\": \"f\", \"start\": \"C1\","
    "\"stop\": \"C4\", \"count\": 2, \"jitter_s\": 30, \"width\": 120, \"height\": 90,"
    "\"sun_r_px\": 25, \"holding\": \"free\", \"noise\": true, \"haze\": true, \"halo\": true,"
    "\"eyepiece\": true, \"bloom\": true, \"hot_pixels\": {\"count\": 9}, \"exposure\": 1.3,"
    "\"dead_pixels\": {\"count\": 9}, \"granulation\": true,"
    "\"ghosts\": [{\"x_sr\": 1, \"share\": 0.1, \"blur_sr\": 0.1}],"
    "\"reflections\": [{\"long_sr\": 1, \"short_sr\": 0.3, \"softness\": 1, \"light\": 0.1}],"
    "\"shade\": true, \"vary\": {\"centre_px\": 5}, \"dust\": [{\"x_px\": 60, \"y_px\": 45,"
    "\"radius_px\": 4, \"depth\": 0.5}], \"frames\": [{}, {\"quality\": %d}]}]}";

/* The same scene gives the same bytes, another seed others; what one frame asks for does not
 * change its neighbour. */
static void scenes_are_repeatable(void **state) {
    (void)state;
    char scene[2048];
    snprintf(scene, sizeof scene, lively, 1, 90);
    must_simulate(scene, "one");
    must_simulate(scene, "again");
    snprintf(scene, sizeof scene, lively, 2, 90);
    must_simulate(scene, "other");
    snprintf(scene, sizeof scene, lively, 1, 60);
    must_simulate(scene, "neighbour");
    static const char *const file[] = {"f01.jpg", "f02.jpg", "truth.csv", "truth_spots.csv",
                                       "truth.json"};
    for (int i = 0; i < 5; i++)
        assert_true(same_file("one", "again", file[i]));
    assert_false(same_file("one", "other", "f01.jpg"));
    assert_false(same_file("one", "other", "truth.csv"));
    assert_true(same_file("one", "neighbour", "f01.jpg"));
    assert_false(same_file("one", "neighbour", "f02.jpg"));
}

/* The pictures in fixtures/demo are those that its scene draws: checked on the first two, by
 * codes after decoding, so that another version of libjpeg may differ by its rounding. */
static void demo_is_what_its_scene_draws(void **state) {
    (void)state;
    const double ROUNDING_CODES = 0.5;
    const double CIRCLE_PX = 0.02; /* the almanac may improve by this much before a redraw is due */
    cJSON *scene = truth_json("fixtures/demo/scene.json");
    assert_non_null(scene);
    cJSON *frames =
        cJSON_GetObjectItem(cJSON_GetArrayItem(cJSON_GetObjectItem(scene, "sets"), 0), "frames");
    while (cJSON_GetArraySize(frames) > 2)
        cJSON_DeleteItemFromArray(frames, 2);
    char *text = cJSON_Print(scene);
    must_simulate(text, "out");
    cJSON_Delete(scene);
    free(text);
    static truth_row drawn[TRUTH_ROWS_MAX], stated[TRUTH_ROWS_MAX];
    char out[PATH_SIZE];
    scratch_path(&folder, "out", out);
    assert_int_equal(truth_read(out, drawn), 2);
    assert_in_range(truth_read("fixtures/demo", stated), 14, 30);
    static const char *const file[] = {"evening_01.jpg", "evening_02.jpg"};
    for (int f = 0; f < 2; f++) {
        char path[PATH_SIZE];
        for (int c = 0; c < TL_LIMB_PARAMS; c++)
            check_near(stated[f].circle[c], drawn[f].circle[c], CIRCLE_PX);
        check_near(stated[f].separation_sr, drawn[f].separation_sr, CIRCLE_PX / 250);
        path_join("fixtures/demo", file[f], path);
        blob now = read_file("out", file[f]), kept = {malloc(1 << 22), 0};
        FILE *stored = fopen(path, "rb");
        assert_non_null(stored);
        kept.size = fread(kept.bytes, 1, 1 << 22, stored);
        fclose(stored);
        int w, h, kept_w, kept_h;
        unsigned char *a = decode(&now, &w, &h), *b = decode(&kept, &kept_w, &kept_h);
        assert_int_equal(w, kept_w);
        assert_int_equal(h, kept_h);
        double sum = 0;
        for (int i = 0; i < 3 * w * h; i++)
            sum += abs(a[i] - b[i]);
        check_near(sum / (3.0 * w * h), 0, ROUNDING_CODES);
        free(a);
        free(b);
        free(now.bytes);
        free(kept.bytes);
    }
}

/* A messenger's copy: 200 px of 800, so that a point x is found at (x + 0.5) / 4 - 0.5 and a radius
 * is a quarter; light and its centre as of a uniform disc. Nothing is left of the EXIF. What the
 * Sun leaves of a frame of ghosts has no circles, and both may say what is expected of them. */
static void copies_have_the_truth_of_their_own_pixels(void **state) {
    (void)state;
    must_simulate("{" DAY ", \"defaults\": {\"width\": 800, \"height\": 600, \"sun_r_px\": 201,"
                  " \"sun_x_px\": 377.2, \"sun_y_px\": 291.7, \"limb_darkening\": false,"
                  " \"refraction\": false, \"blur_px\": 2, \"clock\": true,"
                  " \"copy\": {\"long_side_px\": 200, \"quality\": 95}}, \"sets\": [{\"frames\":"
                  " [{\"time\": \"C1-900\", \"expected\": \"either\"},"
                  " {\"time\": \"C1-900\", \"subject\": \"ghosts\"}]}]}",
                  "out");
    static truth_row truth[TRUTH_ROWS_MAX];
    char out[PATH_SIZE];
    scratch_path(&folder, "out", out);
    assert_int_equal(truth_read(out, truth), 2);
    check_near(truth[0].circle[TL_SUN_X], (377.2 + 0.5) / 4 - 0.5, 1e-4);
    check_near(truth[0].circle[TL_SUN_Y], (291.7 + 0.5) / 4 - 0.5, 1e-4);
    check_near(truth[0].circle[TL_SUN_R], 201.0 / 4, 1e-4);
    check_near(truth[0].blur_px, 0.5, 1e-4);
    assert_string_equal(truth[0].expected, "either");
    assert_string_equal(truth[1].expected, "refused");
    check_near(truth[1].circle[TL_SUN_R], 0, 0);
    blob jpeg = read_file("out", truth[0].file);
    ExifData *exif = exif_data_new_from_data(jpeg.bytes, (unsigned)jpeg.size);
    assert_null(exif_data_get_entry(exif, EXIF_TAG_DATE_TIME_ORIGINAL));
    exif_data_unref(exif);
    int width, height;
    unsigned char *rgb = decode(&jpeg, &width, &height);
    assert_int_equal(width, 200);
    assert_int_equal(height, 150);
    double light[3];
    light_of(rgb, width, height, light);
    /* a step of 8 bits is 1 % of the light; cells on the limb are averaged in code, not in light */
    check_near(light[0] / (0.7 * TL_PI * 201 * 201 / 16), 1, 0.02);
    check_near(light[1], truth[0].circle[TL_SUN_X], 0.02);
    check_near(light[2], truth[0].circle[TL_SUN_Y], 0.02);
    free(rgb);
    free(jpeg.bytes);
}

/* --- refusals --- */

static size_t entries(const char *path) {
    size_t n = 0;
    DIR *dir = opendir(path);
    assert_non_null(dir);
    while (readdir(dir) != NULL)
        n++;
    closedir(dir);
    return n - 2;
}

#define SET                                                                                        \
    "\"sets\": [{\"width\": 32, \"height\": 32, \"sun_r_px\": 9, \"frames\": [{\"time\": "         \
    "\"C1\"}]}]"

/* Each mistake is named by its field, in one sentence, and leaves no folder, whole or in part. */
static void bad_scenes_are_refused_by_name(void **state) {
    (void)state;
    static const struct {
        const char *scene, *words;
    } bad[] = {
        {"", "empty"},
        {"[1, 2]", "object"},
        {"{\"day\": \"2026-08-12\",\n\"site\": {\"lat_deg\": 62,,}}", "line 2"},
        {"{\"day\": \"2026-08-12\", " SET "}", "site"},
        {"{\"site\": {\"lat_deg\": 91, \"lon_deg\": 0}, " SET "}", "site.lat_deg"},
        {"{\"site\": {\"lat_deg\": 62, \"lon_deg\": 0}, \"day\": \"12.8.2026\", " SET "}", "day"},
        {"{\"site\": {\"lat_deg\": 62, \"lon_deg\": 0}, \"day\": \"2026-07-12\", " SET "}", "day"},
        {"{\"site\": {\"lat_deg\": 62, \"lon_deg\": 0}, \"day\": \"2226-07-12\", " SET "}", "day"},
        {"{" DAY ", \"colour\": 3, " SET "}", "colour"},
        {"{" DAY "}", "sets"},
        {"{" DAY ", \"seed\": 1.5, " SET "}", "seed"},
        {"{" DAY ", \"spots\": [{\"latitude_deg\": 3}], " SET "}", "spots[0].radius_deg"},
        {"{" DAY ", \"spots\": [{\"radius_deg\": 1, \"name\": \"a,b\"}], " SET "}",
         "spots[0].name"},
        {"{" DAY ", \"spots\": [{\"radius_deg\": 1}, {\"radius_deg\": 1, \"name\": \"S1\"}], " SET
         "}",
         "spots[1].name"},
        {"{" DAY ", \"defaults\": {\"halo\": {\"shine\": 3}}, " SET "}", "defaults.halo.shine"},
        {"{" DAY ", \"defaults\": {\"colour\": [1, 2]}, " SET "}", "defaults.colour"},
        {"{" DAY ", \"defaults\": {\"holding\": \"loose\"}, " SET "}", "defaults.holding"},
        {"{" DAY ", \"defaults\": {\"mirrored\": 1}, " SET "}", "defaults.mirrored"},
        {"{" DAY ", \"defaults\": {\"blur_px\": 0.3}, " SET "}", "blur_px"},
        {"{" DAY ", \"defaults\": {\"orientation\": 9}, " SET "}", "defaults.orientation"},
        {"{" DAY ", \"defaults\": {\"clock\": {\"zone\": \"CET\"}}, " SET "}", "clock.zone"},
        {"{" DAY ", \"defaults\": {\"dust\": [{\"x_px\": 3}]}, " SET "}", "dust"},
        {"{" DAY ", \"defaults\": {\"more_suns\": [{\"x_sr\": 3}]}, " SET "}", "more_suns"},
        {"{" DAY ", \"defaults\": {\"shadows\": [{\"depth\": 1}]}, " SET "}", "shadows"},
        {"{" DAY ", \"defaults\": {\"captions\": [{\"size_sr\": 1}]}, " SET "}", "captions"},
        {"{" DAY ", \"defaults\": {\"arrows\": [{\"x_sr\": 1}]}, " SET "}", "arrows"},
        {"{" DAY ", \"defaults\": {\"copy\": {\"quality\": 0}}, " SET "}", "copy.quality"},
        {"{" DAY ", \"defaults\": {\"sharpen\": {\"radius_px\": 0}}, " SET "}",
         "sharpen.radius_px"},
        {"{" DAY ", \"sets\": [{\"frames\": [{\"time\": \"C1\"}]}]}", "sets[0].frames[0].sun_r_px"},
        {"{" DAY ", \"sets\": [{\"sun_r_px\": 9, \"frames\": [{}]}]}", "sets[0].frames[0].time"},
        {"{" DAY ", \"sets\": [{\"sun_r_px\": 9, \"frames\": [{\"time\": \"noon\"}]}]}", "time"},
        {"{" DAY ", \"sets\": [{\"sun_r_px\": 9, \"frames\": [{\"time\": \"C1*9\"}]}]}", "time"},
        {"{" DAY ", \"sets\": [{\"sun_r_px\": 9, \"frames\": [{\"time\":"
         " \"2026-08-12T25:00:00Z\"}]}]}",
         "time"},
        {"{" DAY ", \"sets\": [{\"sun_r_px\": 9, \"start\": \"C1\", \"count\": 2}]}", "stop"},
        {"{" DAY ", \"sets\": [{\"sun_r_px\": 9, \"start\": \"C1\", \"stop\": \"C4\"}]}", "count"},
        {"{" DAY ", \"sets\": [{\"sun_r_px\": 9, \"prefix\": \"a/x\", \"frames\":"
         "[{\"time\": \"C1\"}]}]}",
         "prefix"},
        {"{" DAY ", \"sets\": [{\"sun_r_px\": 9, \"frames\": [{\"time\": \"C1\","
         " \"file\": \"a.png\"}]}]}",
         "file"},
        {"{" DAY ", \"sets\": [{\"sun_r_px\": 9, \"frames\": [{\"time\": \"C1\", \"file\":"
         " \"a.jpg\"}, {\"time\": \"C1\", \"file\": \"a.jpg\"}]}]}",
         "a.jpg"},
        {"{" DAY ", \"sets\": [{\"sun_r_px\": 9, \"frames\": [{\"time\": \"C2+5\", \"file\":"
         " \"b.jpg\"}]}]}",
         "b.jpg: there is no C2"},
    };
    size_t before = 0;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        tl_status status = simulate(bad[i].scene, "out");
        before = before == 0 ? entries(folder.folder) : before;
        if (status == TL_OK || strstr(message, bad[i].words) == NULL)
            fail_msg("scene %s\nwanted a message with \"%s\", got \"%s\"", bad[i].scene,
                     bad[i].words, message);
        assert_true(status == TL_ERR_FORMAT || status == TL_ERR_EMPTY_FILE ||
                    status == TL_ERR_NO_ECLIPSE || status == TL_ERR_RANGE);
        assert_int_equal(message[strlen(message) - 1], '.');
        assert_int_equal(entries(folder.folder), before); /* the scene alone */
    }
    assert_int_equal(tl_simulate("nowhere.json", "out", message), TL_ERR_OPEN);
    assert_non_null(strstr(message, "nowhere.json"));
}

static void a_folder_with_something_in_it_is_left_alone(void **state) {
    (void)state;
    char out[PATH_SIZE], mine[PATH_SIZE];
    scratch_path(&folder, "out", out);
    assert_int_equal(mkdir(out, 0777), 0);
    must_simulate("{" DAY ", " SET "}", "out"); /* empty: taken */
    assert_int_equal(entries(out), 4);
    path_join(out, "mine.txt", mine);
    write_text(mine, "keep me");
    assert_int_equal(simulate("{" DAY ", " SET "}", "out"), TL_ERR_ARGUMENT);
    assert_non_null(strstr(message, "something"));
    assert_int_equal(entries(out), 5);
    assert_int_equal(simulate("{" DAY ", " SET "}", "no/such/out"), TL_ERR_WRITE);
    assert_int_equal(entries(folder.folder), 2); /* the scene and out */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(pictures_show_what_truth_says, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(contacts_name_moments, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(total_phase_is_dark_but_for_the_corona, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(exif_has_the_camera_clock, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(orientation_is_undone_by_a_reader, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(scenes_are_repeatable, folder_setup, folder_teardown),
        cmocka_unit_test_setup_teardown(demo_is_what_its_scene_draws, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(copies_have_the_truth_of_their_own_pixels, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(bad_scenes_are_refused_by_name, folder_setup,
                                        folder_teardown),
        cmocka_unit_test_setup_teardown(a_folder_with_something_in_it_is_left_alone, folder_setup,
                                        folder_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
