/*
 * picture.h - files for the tests of the frame stage: folders that go away, JPEG by libjpeg, EXIF
 * by libexif.
 */
#ifndef TWOLIMB_TESTS_PICTURE_H
#define TWOLIMB_TESTS_PICTURE_H

#include <dirent.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cmocka.h>

#include <jpeglib.h>
#include <libexif/exif-data.h>

#include "twolimb/frame.h"

/* --- a folder for one test --- */

enum { PATH_SIZE = 512 };
typedef struct scratch {
    char folder[PATH_SIZE / 2];
} scratch;

static inline void scratch_make(scratch *s) {
    const char *base = getenv("TMPDIR");
    snprintf(s->folder, sizeof s->folder, "%s/twolimb-XXXXXX", base != NULL ? base : "/tmp");
    assert_non_null(mkdtemp(s->folder));
}

static inline void path_join(const char *folder, const char *name, char path[PATH_SIZE]) {
    const int length = snprintf(path, PATH_SIZE, "%s/%s", folder, name);
    if (length < 0 || length >= PATH_SIZE)
        fail_msg("the path %s/%s is too long for these tests", folder, name);
}

static inline void scratch_path(const scratch *s, const char *name, char path[PATH_SIZE]) {
    path_join(s->folder, name, path);
}

static inline void remove_tree(const char *folder) {
    DIR *directory = opendir(folder);
    assert_non_null(directory);
    for (struct dirent *e = readdir(directory); e != NULL; e = readdir(directory)) {
        char path[PATH_SIZE];
        struct stat about;
        if (strcmp(e->d_name, ".") == 0 || strcmp(e->d_name, "..") == 0)
            continue;
        path_join(folder, e->d_name, path);
        if (lstat(path, &about) == 0 && S_ISDIR(about.st_mode))
            remove_tree(path);
        else
            unlink(path);
    }
    closedir(directory);
    rmdir(folder);
}

static inline void write_file(const char *path, const void *bytes, size_t size) {
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(bytes, 1, size, file), size);
    assert_int_equal(fclose(file), 0);
}

static inline void write_text(const char *path, const char *text) {
    write_file(path, text, strlen(text));
}

/* --- bytes that own themselves --- */

typedef struct blob {
    unsigned char *bytes; /* free() */
    size_t size;
} blob;

/* --- JPEG --- */

/* A stored picture of six fields, ABC over DEF. What each Orientation shows: EXIF 2.32, tag 0x0112,
 * which names the side of the scene that stored row 0 and column 0 are; read off by hand. */
static const char *const shown_letters[9][4] = {
    {NULL},
    {"ABC", "DEF"},     /* row 0 top, column 0 left */
    {"CBA", "FED"},     /* top, right */
    {"FED", "CBA"},     /* bottom, right */
    {"DEF", "ABC"},     /* bottom, left */
    {"AD", "BE", "CF"}, /* left, top */
    {"DA", "EB", "FC"}, /* right, top */
    {"FC", "EB", "DA"}, /* right, bottom */
    {"CF", "BE", "AD"}, /* left, bottom */
};

typedef struct jpeg_style {
    J_COLOR_SPACE space; /* of the samples given: JCS_GRAYSCALE, JCS_RGB, JCS_CMYK */
    bool progressive;
    const unsigned char *marker[2]; /* payloads of APP1 markers, in this order; may be NULL */
    size_t marker_size[2];
} jpeg_style;

/* Quality 100 and no colour subsampling: flat 8x8 blocks of grey come back exactly. */
static inline blob jpeg_make(const jpeg_style *style, const uint8_t *samples, int width,
                             int height) {
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr error;
    unsigned char *bytes = NULL;
    unsigned long size = 0;
    jpeg.err = jpeg_std_error(&error);
    jpeg_create_compress(&jpeg);
    jpeg_mem_dest(&jpeg, &bytes, &size);
    jpeg.image_width = (JDIMENSION)width;
    jpeg.image_height = (JDIMENSION)height;
    jpeg.in_color_space = style->space;
    jpeg.input_components = style->space == JCS_GRAYSCALE ? 1 : style->space == JCS_CMYK ? 4 : 3;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, 100, TRUE);
    jpeg.comp_info[0].h_samp_factor = jpeg.comp_info[0].v_samp_factor = 1;
    if (style->progressive)
        jpeg_simple_progression(&jpeg);
    jpeg_start_compress(&jpeg, TRUE);
    for (int i = 0; i < 2; i++)
        if (style->marker[i] != NULL)
            jpeg_write_marker(&jpeg, JPEG_APP0 + 1, style->marker[i],
                              (unsigned)style->marker_size[i]);
    const int row = width * jpeg.input_components;
    for (int y = 0; y < height; y++) {
        JSAMPROW line = (JSAMPROW)(uintptr_t)(samples + (size_t)y * (size_t)row);
        jpeg_write_scanlines(&jpeg, &line, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    return (blob){bytes, size};
}

/* A grey square of one level with an EXIF block (or none). */
static inline blob jpeg_flat(uint8_t level, const blob *exif) {
    uint8_t samples[16 * 16];
    jpeg_style style = {.space = JCS_GRAYSCALE};
    memset(samples, level, sizeof samples);
    if (exif != NULL) {
        style.marker[0] = exif->bytes;
        style.marker_size[0] = exif->size;
    }
    return jpeg_make(&style, samples, 16, 16);
}

/* Brightness 0..1 of pixel (x, y): an evenly bright Sun with a Moon before it (x, y, radius), by
 * 8 x 8 samples a pixel. */
static inline double drawn_eclipse(int x, int y, const double sun[3], const double moon[3]) {
    int lit = 0;
    for (int i = 0; i < 64; i++) {
        const double px = x - 0.5 + (i % 8 + 0.5) / 8, py = y - 0.5 + (i / 8 + 0.5) / 8;
        lit +=
            hypot(px - sun[0], py - sun[1]) < sun[2] && hypot(px - moon[0], py - moon[1]) > moon[2];
    }
    return lit / 64.0;
}

/* A grey picture of it, 600 x 500. */
static inline blob jpeg_eclipse(const double sun[3], const double moon[3]) {
    enum { W = 600, H = 500 };
    static uint8_t samples[W * H];
    for (int y = 0; y < H; y++)
        for (int x = 0; x < W; x++)
            samples[y * W + x] = (uint8_t)(20.0 + 180.0 * drawn_eclipse(x, y, sun, moon));
    const jpeg_style style = {.space = JCS_GRAYSCALE};
    return jpeg_make(&style, samples, W, H);
}

/* --- EXIF --- */

static inline ExifData *exif_start(ExifByteOrder order) {
    ExifData *exif = exif_data_new();
    assert_non_null(exif);
    exif_data_unset_option(exif, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
    exif_data_set_byte_order(exif, order);
    return exif;
}

static inline void exif_put(ExifData *exif, ExifIfd ifd, unsigned tag, ExifFormat format,
                            size_t components, const void *bytes, size_t size) {
    ExifMem *mem = exif_mem_new_default();
    ExifEntry *entry = exif_entry_new_mem(mem);
    entry->tag = (ExifTag)tag;
    entry->format = format;
    entry->components = components;
    entry->size = (unsigned)size;
    entry->data = exif_mem_alloc(mem, (ExifLong)size);
    memcpy(entry->data, bytes, size);
    exif_content_add_entry(exif->ifd[ifd], entry);
    exif_entry_unref(entry);
    exif_mem_unref(mem);
}

static inline void exif_put_text(ExifData *exif, ExifIfd ifd, unsigned tag, const char *text) {
    exif_put(exif, ifd, tag, EXIF_FORMAT_ASCII, strlen(text) + 1, text, strlen(text) + 1);
}

static inline void exif_put_byte(ExifData *exif, ExifIfd ifd, unsigned tag, uint8_t value) {
    exif_put(exif, ifd, tag, EXIF_FORMAT_BYTE, 1, &value, 1);
}

static inline void exif_put_short(ExifData *exif, ExifIfd ifd, unsigned tag, int value) {
    unsigned char bytes[2];
    exif_set_short(bytes, exif_data_get_byte_order(exif), (ExifShort)value);
    exif_put(exif, ifd, tag, EXIF_FORMAT_SHORT, 1, bytes, sizeof bytes);
}

/* `count` pairs of numerator and denominator. */
static inline void exif_put_rationals(ExifData *exif, ExifIfd ifd, unsigned tag, size_t count,
                                      const uint32_t *pairs) {
    unsigned char bytes[64];
    assert_in_range(count, 1, sizeof bytes / 8);
    for (size_t i = 0; i < count; i++)
        exif_set_rational(bytes + 8 * i, exif_data_get_byte_order(exif),
                          (ExifRational){pairs[2 * i], pairs[2 * i + 1]});
    exif_put(exif, ifd, tag, EXIF_FORMAT_RATIONAL, count, bytes, 8 * count);
}

/* The block as it goes into an APP1 marker; ends `exif`. */
static inline blob exif_finish(ExifData *exif) {
    blob b = {NULL, 0};
    unsigned size = 0;
    exif_data_save_data(exif, &b.bytes, &size);
    b.size = size;
    exif_data_unref(exif);
    assert_non_null(b.bytes);
    return b;
}

/* A picture in a file that says how it is to be turned. */
static inline blob jpeg_turned(J_COLOR_SPACE space, const uint8_t *samples, int width, int height,
                               int orientation) {
    ExifData *exif = exif_start(EXIF_BYTE_ORDER_INTEL);
    exif_put_short(exif, EXIF_IFD_0, EXIF_TAG_ORIENTATION, orientation);
    blob block = exif_finish(exif);
    const jpeg_style style = {.space = space, .marker = {block.bytes}, .marker_size = {block.size}};
    const blob jpeg = jpeg_make(&style, samples, width, height);
    free(block.bytes);
    return jpeg;
}

#endif
