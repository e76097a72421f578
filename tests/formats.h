/*
 * formats.h - what the tests of the readers share: pictures written by the libraries, read back as
 * files, and transfer curves written anew from their standards.
 */
#ifndef TWOLIMB_TESTS_FORMATS_H
#define TWOLIMB_TESTS_FORMATS_H

#include "check.h"
#include "picture.h"

/* A value rounded to a whole number of 65535. */
static const double rounding = 0.501;

/* IEC 61966-2-1:1999, equations 5 and 6, written anew; code and light 0..1. */
static inline double iec_linear(double code) {
    return code <= 0.04045 ? code / 12.92 : exp(2.4 * log((code + 0.055) / 1.055));
}

/* Write the bytes, read them as a picture. On failure the outputs must be as they were. The name's
 * ending tells nothing. */
static inline tl_status read_blob(const void *bytes, size_t size, tl_image *image,
                                  tl_frame_info *info) {
    scratch s;
    char path[PATH_SIZE];
    scratch_make(&s);
    scratch_path(&s, "picture", path);
    write_file(path, bytes, size);
    *image = (tl_image){.width = -7};
    *info = (tl_frame_info){.orientation = -7};
    const tl_status status = tl_frame_read(path, image, info);
    if (status != TL_OK) {
        assert_int_equal(image->width, -7);
        assert_null(image->sample);
        assert_null(image->code);
        assert_int_equal(info->orientation, -7);
    }
    remove_tree(s.folder);
    return status;
}

static inline tl_status status_of_blob(const void *bytes, size_t size) {
    tl_image image;
    tl_frame_info info;
    const tl_status status = read_blob(bytes, size, &image, &info);
    if (status == TL_OK)
        tl_image_free(&image);
    return status;
}

/* Linear light 0..65535 of a channel of pixel (x, y). */
static inline double light_at(const tl_image *image, int x, int y, int channel) {
    return tl_image_light(image, x, y, channel);
}

/* The stored picture of shown_letters, each letter a square of SQUARE px. */
enum { SQUARE = 16 };
static inline uint8_t letter_code(char letter) {
    return (uint8_t)(40 * (letter - 'A') + 10);
}
static inline uint8_t stored_letter_code(int x, int y) {
    return letter_code((char)('A' + y / SQUARE * 3 + x / SQUARE));
}

/* Every pixel of the upright picture; `tolerance` in 8-bit codes. */
static inline void check_letters(const tl_image *image, int orientation, double tolerance) {
    const bool lying = orientation >= 5;
    assert_int_equal(image->width, lying ? 2 * SQUARE : 3 * SQUARE);
    assert_int_equal(image->height, lying ? 3 * SQUARE : 2 * SQUARE);
    for (int y = 0; y < image->height; y++)
        for (int x = 0; x < image->width; x++)
            for (int c = 0; c < image->channels; c++) {
                const double code = letter_code(shown_letters[orientation][y / SQUARE][x / SQUARE]);
                const double light = light_at(image, x, y, c);
                if (light < 65535 * iec_linear((code - tolerance) / 255) - rounding ||
                    light > 65535 * iec_linear((code + tolerance) / 255) + rounding)
                    fail_msg("orientation %d: pixel %d,%d has light %.0f, not that of code %.0f",
                             orientation, x, y, light, code);
            }
}

/* A block of EXIF with a time, a place and an Orientation. 2026-08-12 19:47:03 is
 * date -u -d '2026-08-12 19:47:03' +%s (GNU coreutils). */
#define BLOCK_STAMP "2026:08:12 19:47:03"
#define BLOCK_STAMP_S 1786564023.0
static inline blob exif_block(int orientation, ExifByteOrder order) {
    static const uint32_t lat[] = {49, 1, 50, 1, 24, 1}, lon[] = {7, 1, 52, 1, 1230, 100};
    ExifData *exif = exif_start(order);
    exif_put_short(exif, EXIF_IFD_0, EXIF_TAG_ORIENTATION, orientation);
    exif_put_text(exif, EXIF_IFD_0, EXIF_TAG_MAKE, "Invented Optics");
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, BLOCK_STAMP);
    exif_put_text(exif, EXIF_IFD_EXIF, EXIF_TAG_SUB_SEC_TIME_ORIGINAL, "25");
    exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE, 3, lat);
    exif_put_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE, 3, lon);
    exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LATITUDE_REF, "N");
    exif_put_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_LONGITUDE_REF, "E");
    return exif_finish(exif);
}

static inline void check_exif_block(const tl_frame_info *info) {
    assert_int_equal(info->time.source, TL_TIME_EXIF_SUBSEC);
    check_near(info->time.t_camera_s, BLOCK_STAMP_S + 0.25, 1e-6); /* doubles near 2e9 */
    assert_string_equal(info->make, "Invented Optics");
    assert_int_equal(info->site.source, TL_SITE_EXIF);
    check_near(info->site.lat_rad, (49.0 + 50.0 / 60.0 + 24.0 / 3600.0) * TL_DEG, 1e-12);
    check_near(info->site.lon_rad, (7.0 + 52.0 / 60.0 + 12.3 / 3600.0) * TL_DEG, 1e-12);
}

/* Numerical Recipes' generator. */
static inline uint32_t next_random(uint32_t *random) {
    return *random = *random * 1664525U + 1013904223U;
}

/* Bytes overwritten at random: any status, but an answer, and a whole picture if it says so. */
static inline void check_damage(const blob *whole, int rounds, int hits) {
    uint32_t random = 4711;
    unsigned char *bytes = malloc(whole->size);
    for (int round = 0; round < rounds; round++) {
        memcpy(bytes, whole->bytes, whole->size);
        for (int i = 0; i < hits; i++) {
            const size_t at =
                (next_random(&random) >> 4) % (whole->size < 4096 || i % 2 ? whole->size : 1024);
            bytes[at] = (unsigned char)(next_random(&random) >> 24);
        }
        tl_image image;
        tl_frame_info info;
        if (read_blob(bytes, whole->size, &image, &info) == TL_OK) {
            assert_in_range(light_at(&image, image.width - 1, image.height - 1, 0), 0, 65535);
            tl_image_free(&image);
        }
    }
    free(bytes);
}

#endif
