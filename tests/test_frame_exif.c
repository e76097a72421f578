/*
 * test_frame_exif.c - what a picture says about itself: times, zones, places, camera.
 *
 * The rules come from the EXIF standard (JEITA CP-3451, version 2.32); entries are written by
 * libexif.
 */
#include "check.h"
#include "picture.h"

/* A double near 2e9 s is exact to 2.4e-7 s. */
static const double time_tolerance_s = 1e-6;
/* Three rationals added up, in radians. */
static const double angle_tolerance_rad = 1e-15;
/* Standard deviation of a uniform second: 1 / sqrt(12). */
#define UNIFORM_SIGMA 0.28867513459481288
/* BodySerialNumber: the standard, table 8 */
enum { TAG_BODY_SERIAL_NUMBER = 0xA431 };
/* 2026-08-12 19:47:03: date -u -d '2026-08-12 19:47:03' +%s (GNU coreutils) */
#define STAMP "2026:08:12 19:47:03"
#define STAMP_S 1786564023.0

/* Read a grey picture that carries this EXIF block. Ends `exif`. */
static tl_frame_info read_with(ExifData *exif) {
    scratch s;
    char path[PATH_SIZE];
    tl_image image = {0};
    tl_frame_info info;
    scratch_make(&s);
    scratch_path(&s, "picture.jpg", path);
    blob block = exif_finish(exif);
    blob jpeg = jpeg_flat(100, &block);
    write_file(path, jpeg.bytes, jpeg.size);
    assert_int_equal(tl_frame_read(path, &image, &info), TL_OK);
    tl_image_free(&image);
    free(jpeg.bytes);
    free(block.bytes);
    remove_tree(s.folder);
    return info;
}

/* The times of a camera; NULL leaves an entry out. */
static tl_frame_info read_times(const char *stamp, const char *subsec, const char *zone) {
    ExifData *exif = exif_start(EXIF_BYTE_ORDER_INTEL);
    if (stamp != NULL)
        exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, stamp);
    if (subsec != NULL)
        exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_SUB_SEC_TIME_ORIGINAL, subsec);
    if (zone != NULL)
        exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_OFFSET_TIME_ORIGINAL, zone);
    return read_with(exif);
}

static void nothing_said_is_nothing_known(void **state) {
    (void)state;
    const tl_frame_info info = read_with(exif_start(EXIF_BYTE_ORDER_INTEL));
    assert_int_equal(info.time.source, TL_TIME_NONE);
    assert_int_equal(info.site.source, TL_SITE_NONE);
    assert_false(info.has_gps_time);
    assert_false(info.time.zone_known);
    assert_int_equal(info.orientation, 1);
    assert_string_equal(info.make, "");
    assert_string_equal(info.model, "");
    assert_string_equal(info.serial, "");
    assert_true(info.f_number == 0.0 && info.exposure_s == 0.0 && info.iso == 0.0 &&
                info.focal_length_mm == 0.0);
}

static void whole_second_is_taken_as_cut(void **state) {
    (void)state;
    const tl_frame_info info = read_times(STAMP, NULL, NULL);
    assert_int_equal(info.time.source, TL_TIME_EXIF);
    check_near(info.time.t_camera_s, STAMP_S + 0.5, time_tolerance_s);
    check_near(info.time.sigma_s, UNIFORM_SIGMA, 1e-12);
    assert_false(info.time.zone_known);
}

static void subsec_is_digits_after_the_point(void **state) {
    (void)state;
    static const struct {
        const char *text;
        double fraction_s, unit_s;
    } good[] = {{"130", 0.130, 1e-3}, {"1301", 0.1301, 1e-4}, {"5", 0.5, 0.1},
                {"05", 0.05, 1e-2},   {"71 ", 0.71, 1e-2},    {"000000", 0.0, 1e-6}};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        const tl_camera_time time = read_times(STAMP, good[i].text, NULL).time;
        assert_int_equal(time.source, TL_TIME_EXIF_SUBSEC);
        check_near(time.t_camera_s, STAMP_S + good[i].fraction_s, time_tolerance_s);
        check_near(time.sigma_s, UNIFORM_SIGMA * good[i].unit_s, 1e-12);
    }
    static const char *const bad[] = {"", "   ", "ab", "1a", "-5", "1 2", ".5"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        const tl_camera_time time = read_times(STAMP, bad[i], NULL).time;
        assert_int_equal(time.source, TL_TIME_EXIF);
        check_near(time.t_camera_s, STAMP_S + 0.5, time_tolerance_s);
    }
}

static void stamps_are_read_strictly(void **state) {
    (void)state;
    static const char *const bad[] = {
        "",
        "    :  :     :  :  ",
        "0000:00:00 00:00:00",
        "2026:02:29 10:00:00",
        "2026:08:12",
        "2026:08:12 24:00:00",
        "2026:08:12 10:60:00",
        "2026:08:12 10:00:60",
        "2026-08-12 10:00:00",
        "2026:08:12T10:00:00",
        "2026:08:12 10:00:00Z",
        "2026:08:12 10:00:00.5",
        " 2026:08:12 10:00:00",
        "2026:8:12 10:00:00",
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_int_equal(read_times(bad[i], "50", "+02:00").time.source, TL_TIME_NONE);
    assert_int_equal(read_times(NULL, "50", "+02:00").time.source, TL_TIME_NONE);
    assert_int_equal(read_times(STAMP "  ", NULL, NULL).time.source, TL_TIME_EXIF);
    assert_int_equal(read_times("2024:02:29 23:59:59", NULL, NULL).time.source, TL_TIME_EXIF);
}

static void zone_is_that_of_the_original(void **state) {
    (void)state;
    static const struct {
        const char *text;
        int minutes;
    } good[] = {{"+02:00", 120}, {"-05:00", -300}, {"+05:45", 345}, {"Z", 0}, {"-03:30 ", -210}};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        const tl_camera_time time = read_times(STAMP, NULL, good[i].text).time;
        assert_true(time.zone_known);
        assert_int_equal(time.zone_minutes, good[i].minutes);
        check_near(time.t_camera_s, STAMP_S + 0.5, time_tolerance_s); /* no zone taken out */
    }
    static const char *const bad[] = {"", "   :  ", "+2:00", "0200", "+25:00", "+02:00x"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        const tl_camera_time time = read_times(STAMP, NULL, bad[i]).time;
        assert_int_equal(time.source, TL_TIME_EXIF);
        assert_false(time.zone_known);
        assert_int_equal(time.zone_minutes, 0);
    }
    /* OffsetTime belongs to the time of the last change, which an editor makes at its own desk. */
    ExifData *exif = exif_start(EXIF_BYTE_ORDER_INTEL);
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, STAMP);
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_OFFSET_TIME, "-04:00");
    exif_put_text(exif, EXIF_IFD_0, EXIF_TAG_DATE_TIME, "2026:08:20 10:00:00");
    const tl_frame_info info = read_with(exif);
    assert_false(info.time.zone_known);
    check_near(info.time.t_camera_s, STAMP_S + 0.5, time_tolerance_s);
}

static tl_frame_info read_exposed(uint32_t numerator, uint32_t denominator) {
    const uint32_t exposure[] = {numerator, denominator};
    ExifData *exif = exif_start(EXIF_BYTE_ORDER_INTEL);
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, STAMP);
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_SUB_SEC_TIME_ORIGINAL, "250");
    exif_put_rationals(exif, EXIF_IFD_EXIF, EXIF_TAG_EXPOSURE_TIME, 1, exposure);
    return read_with(exif);
}

static void time_is_that_of_mid_exposure(void **state) {
    (void)state;
    check_near(read_exposed(1, 8).time.t_camera_s, STAMP_S + 0.25 + 0.0625, time_tolerance_s);
    check_near(read_exposed(4, 1).time.t_camera_s, STAMP_S + 0.25 + 2.0, time_tolerance_s);
    check_near(read_exposed(0, 1).time.t_camera_s, STAMP_S + 0.25, time_tolerance_s);
    check_near(read_exposed(1, 0).time.t_camera_s, STAMP_S + 0.25, time_tolerance_s);
    check_near(read_exposed(0, 0).time.t_camera_s, STAMP_S + 0.25, time_tolerance_s);
    assert_true(read_exposed(1, 0).exposure_s == 0.0); /* no number at all */
    check_near(read_exposed(4000000000U, 1).time.t_camera_s, STAMP_S + 0.25, time_tolerance_s);
}

static void both_byte_orders_read_the_same(void **state) {
    (void)state;
    static const uint32_t exposure[] = {1, 125}, aperture[] = {63, 10}, focal[] = {300, 1};
    for (int order = 0; order < 2; order++) {
        ExifData *exif = exif_start(order == 0 ? EXIF_BYTE_ORDER_INTEL : EXIF_BYTE_ORDER_MOTOROLA);
        exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, STAMP);
        exif_put_text(exif, EXIF_IFD_0, EXIF_TAG_MAKE, "Invented Optics");
        exif_put_text(exif, EXIF_IFD_0, EXIF_TAG_MODEL, "Model 1");
        exif_put_text(exif, EXIF_IFD_EXIF, TAG_BODY_SERIAL_NUMBER, "000123456");
        exif_put_short(exif, EXIF_IFD_0, EXIF_TAG_ORIENTATION, 6);
        exif_put_short(exif, EXIF_IFD_EXIF, EXIF_TAG_ISO_SPEED_RATINGS, 800);
        exif_put_rationals(exif, EXIF_IFD_EXIF, EXIF_TAG_EXPOSURE_TIME, 1, exposure);
        exif_put_rationals(exif, EXIF_IFD_EXIF, EXIF_TAG_FNUMBER, 1, aperture);
        exif_put_rationals(exif, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH, 1, focal);
        const tl_frame_info info = read_with(exif);
        assert_string_equal(info.make, "Invented Optics");
        assert_string_equal(info.model, "Model 1");
        assert_string_equal(info.serial, "000123456");
        assert_int_equal(info.orientation, 6);
        check_near(info.iso, 800.0, 0.0);
        check_near(info.exposure_s, 0.008, 1e-12);
        check_near(info.f_number, 6.3, 1e-12);
        check_near(info.focal_length_mm, 300.0, 0.0);
    }
}

static void camera_names_are_printable(void **state) {
    (void)state;
    ExifData *exif = exif_start(EXIF_BYTE_ORDER_INTEL);
    exif_put_text(exif, EXIF_IFD_0, EXIF_TAG_MAKE, "A\x1b[31mB\xc3\xa9  ");
    /* No NUL at its end, and longer than there is room. */
    char endless[200];
    memset(endless, 'm', sizeof endless);
    exif_put(exif, EXIF_IFD_0, EXIF_TAG_MODEL, EXIF_FORMAT_ASCII, sizeof endless, endless,
             sizeof endless);
    exif_put_text(exif, EXIF_IFD_EXIF, TAG_BODY_SERIAL_NUMBER, "12\t34 ");
    const tl_frame_info info = read_with(exif);
    assert_string_equal(info.make, "A?[31mB??");
    assert_string_equal(info.serial, "12?34");
    assert_int_equal(strlen(info.model), TL_CAMERA_TEXT_SIZE - 1);
}

static void orientation_out_of_range_is_one(void **state) {
    (void)state;
    static const int value[] = {0, 9, 65535, 8, 1};
    static const int expected[] = {1, 1, 1, 8, 1};
    for (size_t i = 0; i < sizeof value / sizeof value[0]; i++) {
        ExifData *exif = exif_start(EXIF_BYTE_ORDER_MOTOROLA);
        exif_put_short(exif, EXIF_IFD_0, EXIF_TAG_ORIENTATION, value[i]);
        assert_int_equal(read_with(exif).orientation, expected[i]);
    }
}

static void entries_of_another_type_are_passed_over(void **state) {
    (void)state;
    ExifData *exif = exif_start(EXIF_BYTE_ORDER_INTEL);
    exif_put_short(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, 7);
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_EXPOSURE_TIME, "1/125");
    exif_put_text(exif, EXIF_IFD_0, EXIF_TAG_ORIENTATION, "3");
    exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE, "49");
    exif_put_short(exif, EXIF_IFD_EXIF, TAG_BODY_SERIAL_NUMBER, 7);
    const tl_frame_info info = read_with(exif);
    assert_int_equal(info.time.source, TL_TIME_NONE);
    assert_true(info.exposure_s == 0.0);
    assert_int_equal(info.orientation, 1);
    assert_int_equal(info.site.source, TL_SITE_NONE);
    assert_string_equal(info.serial, "");
}

/* A place; a ref of NULL is left out. */
typedef struct fix {
    uint32_t lat[6], lon[6];
    const char *lat_ref, *lon_ref, *status;
} fix;

static const fix good_fix = {{49, 1, 50, 1, 24, 1}, {7, 1, 52, 1, 1230, 100}, "N", "E", NULL};

static ExifData *exif_with_fix(const fix *f) {
    ExifData *exif = exif_start(EXIF_BYTE_ORDER_MOTOROLA);
    exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE, 3, f->lat);
    exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE, 3, f->lon);
    if (f->lat_ref != NULL)
        exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE_REF, f->lat_ref);
    if (f->lon_ref != NULL)
        exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE_REF, f->lon_ref);
    if (f->status != NULL)
        exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_STATUS, f->status);
    return exif;
}

static void place_has_the_sign_of_its_refs(void **state) {
    (void)state;
    fix f = good_fix;
    tl_site site = read_with(exif_with_fix(&f)).site;
    assert_int_equal(site.source, TL_SITE_EXIF);
    check_near(site.lat_rad, (49.0 + 50.0 / 60.0 + 24.0 / 3600.0) * TL_DEG, angle_tolerance_rad);
    check_near(site.lon_rad, (7.0 + 52.0 / 60.0 + 12.3 / 3600.0) * TL_DEG, angle_tolerance_rad);
    assert_true(site.height_m == 0.0);
    f.lat_ref = "S";
    f.lon_ref = "W";
    f.status = "A";
    site = read_with(exif_with_fix(&f)).site;
    assert_true(site.lat_rad < 0.0 && site.lon_rad < 0.0);
    /* Decimal degrees or minutes with zeros behind them are as good. */
    const fix decimal = {{498400, 10000, 0, 1, 0, 1}, {7, 1, 522050, 10000, 0, 1}, "N", "E", NULL};
    site = read_with(exif_with_fix(&decimal)).site;
    check_near(site.lat_rad, 49.84 * TL_DEG, angle_tolerance_rad);
    check_near(site.lon_rad, (7.0 + 52.205 / 60.0) * TL_DEG, angle_tolerance_rad);
}

static void impossible_places_are_no_places(void **state) {
    (void)state;
    fix bad[10];
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        bad[i] = good_fix;
    bad[0].lat_ref = NULL;
    bad[1].lon_ref = NULL;
    bad[2].lat_ref = "E";
    bad[3].lon_ref = "";
    bad[4].lat[1] = 0; /* 49/0 degrees */
    bad[5].lat[0] = 91;
    bad[6].lon[0] = 181;
    bad[7].lon[2] = 61;                       /* minutes */
    bad[8].status = "V";                      /* void */
    memset(bad[9].lat, 0, sizeof bad[9].lat); /* 0/0 throughout */
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_int_equal(read_with(exif_with_fix(&bad[i])).site.source, TL_SITE_NONE);
    fix sixty = good_fix; /* 47' 60" is how some programs round 48' */
    sixty.lon[4] = 60 * sixty.lon[5];
    assert_int_equal(read_with(exif_with_fix(&sixty)).site.source, TL_SITE_EXIF);
    const fix nowhere = {{0, 1, 0, 1, 0, 1}, {0, 1, 0, 1, 0, 1}, "N", "E", NULL};
    assert_int_equal(read_with(exif_with_fix(&nowhere)).site.source, TL_SITE_NONE);
    const fix equator = {{0, 1, 0, 1, 0, 1}, {9, 1, 0, 1, 0, 1}, "N", "E", NULL};
    assert_int_equal(read_with(exif_with_fix(&equator)).site.source, TL_SITE_EXIF);
}

static double height_of(uint32_t numerator, uint32_t denominator, int ref) {
    const uint32_t height[] = {numerator, denominator};
    ExifData *exif = exif_with_fix(&good_fix);
    exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE, 1, height);
    if (ref >= 0)
        exif_put_byte(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE_REF, (uint8_t)ref);
    const tl_site site = read_with(exif).site;
    assert_int_equal(site.source, TL_SITE_EXIF);
    return site.height_m;
}

static void height_is_signed_and_sane(void **state) {
    (void)state;
    check_near(height_of(2505, 10, -1), 250.5, 1e-12);
    check_near(height_of(2505, 10, 0), 250.5, 1e-12);
    check_near(height_of(100, 1, 1), -100.0, 1e-12);
    check_near(height_of(100, 1, 3), -100.0, 1e-12);
    /* A wild height is dropped, the place stays. */
    assert_true(height_of(100000, 1, 0) == 0.0);
    assert_true(height_of(501, 1, 1) == 0.0);
    assert_true(height_of(7, 0, 0) == 0.0);
}

static bool gps_time_of(const char *date, const uint32_t hms[6], double *t_s) {
    ExifData *exif = exif_start(EXIF_BYTE_ORDER_INTEL);
    exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_DATE_STAMP, date);
    exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_TIME_STAMP, 3, hms);
    const tl_frame_info info = read_with(exif);
    *t_s = info.gps_t_utc_s;
    assert_int_equal(info.time.source, TL_TIME_NONE); /* a check, never the time */
    return info.has_gps_time;
}

static void gps_time_is_kept_apart(void **state) {
    (void)state;
    double t;
    const uint32_t good[] = {19, 1, 47, 1, 350, 100};
    assert_true(gps_time_of("2026:08:12", good, &t));
    check_near(t, STAMP_S + 0.5, time_tolerance_s);
    const uint32_t hour[] = {24, 1, 0, 1, 0, 1}, second[] = {1, 1, 0, 1, 60, 1},
                   nothing[] = {1, 0, 0, 1, 0, 1};
    assert_false(gps_time_of("2026:08:12", hour, &t));
    assert_false(gps_time_of("2026:08:12", second, &t));
    assert_false(gps_time_of("2026:08:12", nothing, &t));
    assert_false(gps_time_of("2026:13:12", good, &t));
    assert_false(gps_time_of("", good, &t));
}

/* Editors put their own APP1 marker in front. */
static void exif_is_found_behind_another_block(void **state) {
    (void)state;
    static const char xmp[] = "http://ns.adobe.com/xap/1.0/\0<x:xmpmeta xmlns:x='adobe:ns:meta/'/>";
    scratch s;
    char path[PATH_SIZE];
    uint8_t samples[64];
    tl_image image = {0};
    tl_frame_info info;
    memset(samples, 50, sizeof samples);
    ExifData *exif = exif_start(EXIF_BYTE_ORDER_INTEL);
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, STAMP);
    blob block = exif_finish(exif);
    const jpeg_style style = {.space = JCS_GRAYSCALE,
                              .marker = {(const unsigned char *)xmp, block.bytes},
                              .marker_size = {sizeof xmp - 1, block.size}};
    blob jpeg = jpeg_make(&style, samples, 8, 8);
    scratch_make(&s);
    scratch_path(&s, "edited.jpg", path);
    write_file(path, jpeg.bytes, jpeg.size);
    assert_int_equal(tl_frame_read(path, &image, &info), TL_OK);
    assert_int_equal(info.time.source, TL_TIME_EXIF);
    tl_image_free(&image);
    free(jpeg.bytes);
    free(block.bytes);
    remove_tree(s.folder);
}

/* Blocks cut short, overwritten, or pointing at themselves: the picture is read all the same. */
static void broken_exif_never_stops_the_picture(void **state) {
    (void)state;
    scratch s;
    char path[PATH_SIZE];
    scratch_make(&s);
    scratch_path(&s, "broken.jpg", path);
    ExifData *exif = exif_with_fix(&good_fix);
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, STAMP);
    exif_put_text(exif, EXIF_IFD_0, EXIF_TAG_MAKE, "Invented Optics");
    const blob whole = exif_finish(exif);
    uint32_t random = 12345;
    for (int round = 0; round < 400; round++) {
        blob block = {malloc(whole.size), whole.size};
        memcpy(block.bytes, whole.bytes, whole.size);
        if (round % 2 == 0)
            block.size = 6 + (size_t)round * (whole.size - 6) / 400;
        for (int hits = 0; round % 2 == 1 && hits < 8; hits++) {
            random = random * 1664525U + 1013904223U; /* Numerical Recipes' generator */
            block.bytes[6 + (random >> 8) % (block.size - 6)] = (unsigned char)(random >> 24);
        }
        blob jpeg = jpeg_flat(100, &block);
        write_file(path, jpeg.bytes, jpeg.size);
        tl_image image = {0};
        tl_frame_info info;
        assert_int_equal(tl_frame_read(path, &image, &info), TL_OK);
        assert_in_range(info.orientation, 1, 8);
        assert_true(fabs(info.site.lat_rad) <= TL_PI / 2 && fabs(info.site.lon_rad) <= TL_PI);
        assert_true(isfinite(info.time.t_camera_s) && isfinite(info.exposure_s));
        tl_image_free(&image);
        free(jpeg.bytes);
        free(block.bytes);
    }
    free(whole.bytes);
    remove_tree(s.folder);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_said_is_nothing_known),
        cmocka_unit_test(whole_second_is_taken_as_cut),
        cmocka_unit_test(subsec_is_digits_after_the_point),
        cmocka_unit_test(stamps_are_read_strictly),
        cmocka_unit_test(zone_is_that_of_the_original),
        cmocka_unit_test(time_is_that_of_mid_exposure),
        cmocka_unit_test(both_byte_orders_read_the_same),
        cmocka_unit_test(camera_names_are_printable),
        cmocka_unit_test(orientation_out_of_range_is_one),
        cmocka_unit_test(entries_of_another_type_are_passed_over),
        cmocka_unit_test(place_has_the_sign_of_its_refs),
        cmocka_unit_test(impossible_places_are_no_places),
        cmocka_unit_test(height_is_signed_and_sane),
        cmocka_unit_test(gps_time_is_kept_apart),
        cmocka_unit_test(exif_is_found_behind_another_block),
        cmocka_unit_test(broken_exif_never_stops_the_picture),
    };
    return cmocka_run_group_tests_name("frame_exif", tests, NULL, NULL);
}
