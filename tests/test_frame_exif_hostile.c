/*
 * test_frame_exif_hostile.c - EXIF made to do harm, or damaged: it is read to its end, and nothing
 * that cannot be is believed.
 *
 * The blocks are written byte by byte, for no library would: TIFF 6.0, section 2 (header,
 * directories, entries) and CIPA DC-008 (tags).
 */
#include "check.h"
#include "picture.h"

/* Types, as TIFF 6.0 and CIPA DC-008 number them. */
enum { BYTE = 1, ASCII = 2, SHORT = 3, LONG = 4, RATIONAL = 5, SRATIONAL = 10 };
/* Where the directories of these tests lie, in bytes from the TIFF header; values from VALUES on.
 */
enum { IFD_0 = 8, IFD_EXIF = 200, IFD_GPS = 600, VALUES = 1000, SIZE = 1400, TIFF = 6 };
enum { NO_TAG = 0, TAG_ORIENTATION = 0x0112, TAG_EXIF = 0x8769, TAG_GPS = 0x8825 };
enum { TAG_EXPOSURE = 0x829A, TAG_F_NUMBER = 0x829D, TAG_ISO = 0x8827, TAG_ORIGINAL = 0x9003 };
enum { TAG_FOCAL = 0x920A, TAG_MAKE = 0x010F };
enum { LAT_REF = 1, LAT = 2, LON_REF = 3, LON = 4, GPS_CLOCK = 7, GPS_DATE = 29 };
/* 2026-08-12 19:47:03: date -u -d '2026-08-12 19:47:03' +%s (GNU coreutils) */
#define STAMP "2026:08:12 19:47:03"
#define STAMP_S 1786564023.0

/* A block being written. */
typedef struct raw {
    unsigned char bytes[TIFF + SIZE];
    bool big;        /* byte order MM */
    unsigned values; /* end of the values so far */
} raw;

static void put16(raw *r, unsigned at, unsigned value) {
    r->bytes[TIFF + at + (r->big ? 1 : 0)] = (unsigned char)(value & 0xff);
    r->bytes[TIFF + at + (r->big ? 0 : 1)] = (unsigned char)(value >> 8 & 0xff);
}

static void put32(raw *r, unsigned at, uint32_t value) {
    put16(r, at + (r->big ? 2 : 0), value & 0xffff);
    put16(r, at + (r->big ? 0 : 2), value >> 16);
}

/* One more entry at the end of a directory. */
static void add(raw *r, unsigned ifd, unsigned tag, unsigned type, uint32_t count, uint32_t value) {
    const unsigned low = r->bytes[TIFF + ifd + (r->big ? 1 : 0)];
    const unsigned at = ifd + 2 + 12 * low;
    put16(r, at, tag);
    put16(r, at + 2, type);
    put32(r, at + 4, count);
    if (type == SHORT && count == 1)
        put16(r, at + 8, value);
    else
        put32(r, at + 8, value);
    put16(r, ifd, low + 1);
}

/* An offset to these bytes. */
static uint32_t keep(raw *r, const void *bytes, size_t size) {
    const unsigned at = r->values;
    assert_true(at + size <= SIZE);
    memcpy(r->bytes + TIFF + at, bytes, size);
    r->values += (unsigned)size;
    return at;
}

static void add_text(raw *r, unsigned ifd, unsigned tag, const char *text, uint32_t count) {
    add(r, ifd, tag, ASCII, count, keep(r, text, strlen(text) + 1));
}

static void add_pairs(raw *r, unsigned ifd, unsigned tag, unsigned type, uint32_t count,
                      const uint32_t *pairs) {
    const unsigned at = r->values;
    assert_true(at + 8 * count <= SIZE);
    for (unsigned i = 0; i < 2 * count; i++)
        put32(r, at + 4 * i, pairs[i]);
    r->values += 8 * count;
    add(r, ifd, tag, type, count, at);
}

static raw raw_start(bool big) {
    raw r = {.big = big, .values = VALUES};
    memcpy(r.bytes, "Exif\0\0", TIFF);
    memcpy(r.bytes + TIFF, big ? "MM" : "II", 2);
    put16(&r, 2, 42);
    put32(&r, 4, IFD_0);
    return r;
}

/* Upright after a quarter turn, EXIF and GPS directories empty. */
static raw raw_usual(bool big) {
    raw r = raw_start(big);
    add(&r, IFD_0, TAG_ORIENTATION, SHORT, 1, 6);
    add(&r, IFD_0, TAG_EXIF, LONG, 1, IFD_EXIF);
    add(&r, IFD_0, TAG_GPS, LONG, 1, IFD_GPS);
    return r;
}

static tl_frame_info read_jpeg(const blob *jpeg) {
    scratch s;
    char path[PATH_SIZE];
    tl_image image = {0};
    tl_frame_info info;
    scratch_make(&s);
    scratch_path(&s, "picture.jpg", path);
    write_file(path, jpeg->bytes, jpeg->size);
    assert_int_equal(tl_frame_read(path, &image, &info), TL_OK);
    tl_image_free(&image);
    remove_tree(s.folder);
    return info;
}

static tl_frame_info read_raw(const raw *r) {
    const blob block = {(unsigned char *)(uintptr_t)r->bytes, sizeof r->bytes};
    blob jpeg = jpeg_flat(100, &block);
    const tl_frame_info info = read_jpeg(&jpeg);
    free(jpeg.bytes);
    return info;
}

/* What the blocks of these tests would be if nothing in them were wrong. */
static void a_block_written_by_hand_is_read(void **state) {
    (void)state;
    static const uint32_t exposure[] = {1, 8}, lat[] = {49, 1, 30, 1, 0, 1},
                          lon[] = {7, 1, 45, 1, 0, 1};
    for (int order = 0; order < 2; order++) {
        raw r = raw_usual(order == 1);
        add_text(&r, IFD_EXIF, TAG_ORIGINAL, STAMP, 20);
        add_pairs(&r, IFD_EXIF, TAG_EXPOSURE, RATIONAL, 1, exposure);
        add(&r, IFD_GPS, LAT_REF, ASCII, 2, order == 1 ? (uint32_t)'S' << 24 : 'S');
        add_pairs(&r, IFD_GPS, LAT, RATIONAL, 3, lat);
        add(&r, IFD_GPS, LON_REF, ASCII, 2, order == 1 ? (uint32_t)'E' << 24 : 'E');
        add_pairs(&r, IFD_GPS, LON, RATIONAL, 3, lon);
        const tl_frame_info info = read_raw(&r);
        assert_int_equal(info.orientation, 6);
        check_near(info.time.t_camera_s, STAMP_S + 0.5 + 0.0625, 1e-6); /* of a double near 2e9 */
        check_near(info.site.lat_rad, -49.5 * TL_DEG, 1e-15);
        check_near(info.site.lon_rad, 7.75 * TL_DEG, 1e-15);
    }
}

/* Directories that lead back to themselves or each other; what stands before the loop is read. */
static void directories_that_go_round_come_to_an_end(void **state) {
    (void)state;
    enum { LOOPS = 6 };
    for (int loop = 0; loop < LOOPS; loop++) {
        raw r = raw_start(false);
        add(&r, IFD_0, TAG_ORIENTATION, SHORT, 1, 6);
        if (loop == 0) /* the next directory is the first one again */
            put32(&r, IFD_0 + 2 + 12, IFD_0);
        if (loop == 1)
            add(&r, IFD_0, TAG_EXIF, LONG, 1, IFD_0);
        if (loop == 2) {
            add(&r, IFD_0, TAG_EXIF, LONG, 1, IFD_EXIF);
            add(&r, IFD_EXIF, TAG_EXIF, LONG, 1, IFD_EXIF);
        }
        if (loop == 3) {
            add(&r, IFD_0, TAG_EXIF, LONG, 1, IFD_EXIF);
            add(&r, IFD_EXIF, TAG_GPS, LONG, 1, IFD_0);
        }
        if (loop == 4) {
            add(&r, IFD_0, TAG_GPS, LONG, 1, IFD_GPS);
            add(&r, IFD_GPS, TAG_GPS, LONG, 1, IFD_GPS);
        }
        for (int i = 0; loop == 5 && i < 20; i++) /* each entry doubles the work of the last */
            add(&r, i < 10 ? IFD_0 : IFD_EXIF, TAG_EXIF, LONG, 1, i < 10 ? IFD_EXIF : IFD_0);
        const tl_frame_info info = read_raw(&r);
        assert_int_equal(info.orientation, 6);
        assert_int_equal(info.time.source, TL_TIME_NONE);
        assert_int_equal(info.site.source, TL_SITE_NONE);
    }
}

/* A value that would lie beyond the block is absent; the entries beside it count. */
static void counts_and_offsets_beyond_the_block_are_passed_over(void **state) {
    (void)state;
    static const struct {
        uint32_t count, offset;
    } bad[] = {{0xffffffff, VALUES}, {0x80000000, VALUES},
               {20, 0xffffffff},     {20, 0xfffffff0},
               {20, SIZE},           {20, SIZE - 19},
               {0, VALUES},          {0xffff, VALUES},
               {20, 0x80000000},     {0xffffffff - VALUES, VALUES}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        raw r = raw_usual(i % 2 == 1);
        keep(&r, STAMP, sizeof STAMP);
        add(&r, IFD_EXIF, TAG_ORIGINAL, ASCII, bad[i].count, bad[i].offset);
        add(&r, IFD_EXIF, TAG_ISO, SHORT, 1, 200);
        const tl_frame_info info = read_raw(&r);
        assert_int_equal(info.time.source, TL_TIME_NONE);
        assert_int_equal(info.orientation, 6);
        check_near(info.iso, 200.0, 0.0);
    }
    raw r = raw_usual(false); /* a directory of 65535 entries, most of them beyond the end */
    add(&r, IFD_EXIF, TAG_ISO, SHORT, 1, 200);
    put16(&r, IFD_EXIF, 0xffff);
    assert_int_equal(read_raw(&r).orientation, 6);
    r = raw_start(false); /* the first directory beyond the end */
    put32(&r, 4, SIZE + 100);
    assert_int_equal(read_raw(&r).orientation, 1);
}

/* Strings need no NUL to be read, and are not read beyond their count. */
static void strings_end_where_their_count_says(void **state) {
    (void)state;
    raw r = raw_usual(false);
    add_text(&r, IFD_EXIF, TAG_ORIGINAL, STAMP "9999", 19);
    assert_int_equal(read_raw(&r).time.source, TL_TIME_EXIF);
    r = raw_usual(false);
    add_text(&r, IFD_EXIF, TAG_ORIGINAL, STAMP, 18);
    assert_int_equal(read_raw(&r).time.source, TL_TIME_NONE);
    r = raw_usual(false);
    add_text(&r, IFD_0, TAG_MAKE, "Invented optics", 8);
    assert_string_equal(read_raw(&r).make, "Invented");
}

static void a_wrong_byte_order_says_nothing(void **state) {
    (void)state;
    for (int order = 0; order < 3; order++) {
        raw r = raw_usual(order == 1);
        add_text(&r, IFD_EXIF, TAG_ORIGINAL, STAMP, 20);
        memcpy(r.bytes + TIFF, order == 0 ? "MM" : order == 1 ? "II" : "XX", 2);
        const tl_frame_info info = read_raw(&r);
        assert_int_equal(info.time.source, TL_TIME_NONE);
        assert_int_equal(info.orientation, 1);
    }
}

/* Clocks that were never set, and dates there are not. Outside 1950-2100 no almanac is at hand. */
static void dates_that_cannot_be_are_no_dates(void **state) {
    (void)state;
    static const char *const bad[] = {"0000:00:00 00:00:00", "2024:13:45 10:00:00",
                                      "9999:12:31 23:59:59", "1949:12:31 23:59:59",
                                      "2101:01:01 00:00:00", "0001:01:01 00:00:00"};
    static const char *const good[] = {"1950:01:01 00:00:00", "2100:12:31 23:59:59"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        raw r = raw_usual(false);
        add_text(&r, IFD_EXIF, TAG_ORIGINAL, bad[i], 20);
        assert_int_equal(read_raw(&r).time.source, TL_TIME_NONE);
    }
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        raw r = raw_usual(false);
        add_text(&r, IFD_EXIF, TAG_ORIGINAL, good[i], 20);
        assert_int_equal(read_raw(&r).time.source, TL_TIME_EXIF);
    }
    static const uint32_t noon[] = {12, 1, 0, 1, 0, 1};
    static const char *const day[] = {"9999:01:01", "1949:12:31", "2026:08:12"};
    for (size_t i = 0; i < sizeof day / sizeof day[0]; i++) {
        raw r = raw_usual(false);
        add_text(&r, IFD_GPS, GPS_DATE, day[i], 11);
        add_pairs(&r, IFD_GPS, GPS_CLOCK, RATIONAL, 3, noon);
        assert_int_equal(read_raw(&r).has_gps_time, i == 2);
    }
}

static tl_frame_info read_numbers(unsigned type, uint32_t numerator, uint32_t denominator) {
    const uint32_t pair[] = {numerator, denominator};
    raw r = raw_usual(true);
    add_pairs(&r, IFD_EXIF, TAG_EXPOSURE, type, 1, pair);
    add_pairs(&r, IFD_EXIF, TAG_F_NUMBER, type, 1, pair);
    add_pairs(&r, IFD_EXIF, TAG_FOCAL, type, 1, pair);
    add_text(&r, IFD_EXIF, TAG_ORIGINAL, STAMP, 20);
    return read_raw(&r);
}

static void numbers_that_cannot_be_are_not_said(void **state) {
    (void)state;
    static const struct {
        unsigned type;
        uint32_t pair[2];
    } bad[] = {{RATIONAL, {0, 0}},          {RATIONAL, {1, 0}}, {RATIONAL, {0xffffffff, 0}},
               {RATIONAL, {0xffffffff, 1}}, {RATIONAL, {0, 1}}, {SRATIONAL, {0xffffffff, 100}},
               {SRATIONAL, {1, 0xffffffff}}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        const tl_frame_info info = read_numbers(bad[i].type, bad[i].pair[0], bad[i].pair[1]);
        assert_true(info.exposure_s == 0.0 && info.f_number == 0.0 && info.focal_length_mm == 0.0);
        check_near(info.time.t_camera_s, STAMP_S + 0.5, 1e-6);
    }
    const tl_frame_info least = read_numbers(RATIONAL, 1, 0xffffffff);
    check_near(least.exposure_s, 1.0 / 4294967295.0, 1e-20);
    raw r = raw_usual(false); /* "see elsewhere" of CIPA DC-008, tag 0x8827: no speed */
    add(&r, IFD_EXIF, TAG_ISO, SHORT, 1, 65535);
    assert_true(read_raw(&r).iso == 0.0);
}

/* The entries of a place, each in turn spoilt. */
static void places_that_cannot_be_are_no_places(void **state) {
    (void)state;
    static const struct {
        uint32_t lat[6], lon[6];
        const char *lat_ref, *lon_ref;
        unsigned type, lat_count;
        bool place;
    } cases[] = {
        {{49, 1, 30, 1, 0, 1}, {7, 1, 45, 1, 0, 1}, "N", "W", RATIONAL, 3, true},
        {{90, 1, 0, 1, 0, 1}, {180, 1, 0, 1, 0, 1}, "S", "W", RATIONAL, 3, true},
        {{90, 1, 0, 1, 1, 1}, {7, 1, 45, 1, 0, 1}, "N", "E", RATIONAL, 3, false},
        {{49, 1, 30, 1, 0, 1}, {180, 1, 0, 1, 1, 1}, "N", "E", RATIONAL, 3, false},
        {{49, 1, 99, 1, 0, 1}, {7, 1, 45, 1, 0, 1}, "N", "E", RATIONAL, 3, false},
        {{49, 1, 30, 1, 99, 1}, {7, 1, 45, 1, 0, 1}, "N", "E", RATIONAL, 3, false},
        {{0xffffffcf, 1, 30, 1, 0, 1}, {7, 1, 45, 1, 0, 1}, "N", "E", RATIONAL, 3, false},
        {{0xffffffcf, 1, 30, 1, 0, 1}, {7, 1, 45, 1, 0, 1}, "N", "E", SRATIONAL, 3, false},
        {{0xffffffff, 0xffffffff, 0, 0, 0, 1}, {7, 1, 45, 1, 0, 1}, "N", "E", RATIONAL, 3, false},
        {{49, 1, 30, 1, 0, 1}, {7, 1, 45, 1, 0, 1}, "N", "E", RATIONAL, 2, false},
        {{49, 1, 30, 1, 0, 1}, {7, 1, 45, 1, 0, 1}, "X", "E", RATIONAL, 3, false},
        {{49, 1, 30, 1, 0, 1}, {7, 1, 45, 1, 0, 1}, "N", "N", RATIONAL, 3, false},
        {{49, 1, 30, 1, 0, 1}, {7, 1, 45, 1, 0, 1}, " N", "E", RATIONAL, 3, false},
        {{49, 1, 30, 1, 0, 1}, {7, 1, 45, 1, 0, 1}, "North", "East", RATIONAL, 3, true},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        raw r = raw_usual(false);
        /* Long enough to be kept apart from the entry, so that all are written the same way. */
        char lat_ref[8] = "", lon_ref[8] = "";
        strcpy(lat_ref, cases[i].lat_ref);
        strcpy(lon_ref, cases[i].lon_ref);
        add(&r, IFD_GPS, LAT_REF, ASCII, 8, keep(&r, lat_ref, 8));
        add(&r, IFD_GPS, LON_REF, ASCII, 8, keep(&r, lon_ref, 8));
        add_pairs(&r, IFD_GPS, LAT, cases[i].type, cases[i].lat_count, cases[i].lat);
        add_pairs(&r, IFD_GPS, LON, cases[i].type, 3, cases[i].lon);
        const tl_site site = read_raw(&r).site;
        assert_int_equal(site.source, cases[i].place ? TL_SITE_EXIF : TL_SITE_NONE);
        if (!cases[i].place)
            assert_true(site.lat_rad == 0.0 && site.lon_rad == 0.0 && site.height_m == 0.0);
    }
}

/* CIPA DC-008 allows one block; of two the first counts, whatever the second says. */
static void of_two_blocks_the_first_counts(void **state) {
    (void)state;
    uint8_t samples[64];
    memset(samples, 50, sizeof samples);
    raw first = raw_usual(false), second = raw_usual(true);
    add_text(&first, IFD_EXIF, TAG_ORIGINAL, STAMP, 20);
    add_text(&second, IFD_EXIF, TAG_ORIGINAL, "2001:01:01 00:00:00", 20);
    add(&second, IFD_EXIF, TAG_ISO, SHORT, 1, 200);
    const jpeg_style style = {.space = JCS_GRAYSCALE,
                              .marker = {first.bytes, second.bytes},
                              .marker_size = {sizeof first.bytes, sizeof second.bytes}};
    blob jpeg = jpeg_make(&style, samples, 8, 8);
    const tl_frame_info info = read_jpeg(&jpeg);
    check_near(info.time.t_camera_s, STAMP_S + 0.5, 1e-6);
    assert_true(info.iso == 0.0);
    free(jpeg.bytes);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_block_written_by_hand_is_read),
        cmocka_unit_test(directories_that_go_round_come_to_an_end),
        cmocka_unit_test(counts_and_offsets_beyond_the_block_are_passed_over),
        cmocka_unit_test(strings_end_where_their_count_says),
        cmocka_unit_test(a_wrong_byte_order_says_nothing),
        cmocka_unit_test(dates_that_cannot_be_are_no_dates),
        cmocka_unit_test(numbers_that_cannot_be_are_not_said),
        cmocka_unit_test(places_that_cannot_be_are_no_places),
        cmocka_unit_test(of_two_blocks_the_first_counts),
    };
    return cmocka_run_group_tests_name("frame_exif_hostile", tests, NULL, NULL);
}
