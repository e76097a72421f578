/*
 * test_frame_tiff.c - TIFF to linear light. The pictures are written by libtiff.
 *
 * The rules come from TIFF, revision 6.0, Aldus 1992.
 */
#include "scratch_folder.h"
#include "formats.h"

#include <tiffio.h>

typedef struct tiff_style {
    uint16_t bits, samples, format, photometric, compression;
    bool separate, tiled;
    uint32_t rows_per_strip; /* 0: all in one */
    uint16_t orientation;    /* 0: not said */
    uint16_t alpha;          /* EXTRASAMPLE_... of the last sample, with `has_alpha` */
    bool has_alpha;
} tiff_style;

enum { W = 37, H = 29, TILE = 16 };

static void put_fields(TIFF *tiff, const tiff_style *s, int width, int height) {
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, width);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, height);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, s->bits);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, s->samples);
    TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, s->format ? s->format : SAMPLEFORMAT_UINT);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, s->photometric);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, s->compression ? s->compression : COMPRESSION_NONE);
    TIFFSetField(tiff, TIFFTAG_PLANARCONFIG,
                 s->separate ? PLANARCONFIG_SEPARATE : PLANARCONFIG_CONTIG);
    if (s->has_alpha)
        TIFFSetField(tiff, TIFFTAG_EXTRASAMPLES, 1, &s->alpha);
    if (s->orientation)
        TIFFSetField(tiff, TIFFTAG_ORIENTATION, s->orientation);
    if (s->tiled) {
        TIFFSetField(tiff, TIFFTAG_TILEWIDTH, TILE);
        TIFFSetField(tiff, TIFFTAG_TILELENGTH, TILE);
    } else {
        TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP,
                     s->rows_per_strip ? s->rows_per_strip : (uint32_t)height);
    }
}

/* `pixels` holds the samples interleaved, of bits / 8 bytes each. */
static void put_pixels(TIFF *tiff, const tiff_style *s, const unsigned char *pixels, int width,
                       int height) {
    const size_t unit = s->bits / 8, planes = s->separate ? s->samples : 1;
    const size_t pixel = unit * s->samples, part = s->separate ? unit : pixel;
    const int wide = s->tiled ? TILE : width, high = s->tiled ? TILE : 1;
    unsigned char *block = malloc((size_t)wide * (size_t)high * pixel);
    for (uint16_t p = 0; p < planes; p++)
        for (int y0 = 0; y0 < height; y0 += high)
            for (int x0 = 0; x0 < width; x0 += wide) {
                memset(block, 0xa5, (size_t)wide * (size_t)high * part); /* beyond the edge */
                for (int y = y0; y < y0 + high && y < height; y++)
                    for (int x = x0; x < x0 + wide && x < width; x++)
                        memcpy(block + ((size_t)(y - y0) * (size_t)wide + (size_t)(x - x0)) * part,
                               pixels + ((size_t)y * (size_t)width + (size_t)x) * pixel + p * unit,
                               part);
                if (s->tiled)
                    assert_true(TIFFWriteTile(tiff, block, (uint32_t)x0, (uint32_t)y0, 0, p) > 0);
                else
                    assert_int_equal(TIFFWriteScanline(tiff, block, (uint32_t)y0, p), 1);
            }
    free(block);
}

static void write_tiff(const char *path, const tiff_style *s, const void *pixels, int width,
                       int height) {
    TIFF *tiff = TIFFOpen(path, "w");
    assert_non_null(tiff);
    put_fields(tiff, s, width, height);
    put_pixels(tiff, s, pixels, width, height);
    TIFFClose(tiff);
}

static tl_status read_path(const char *path, tl_image *image, tl_frame_info *info) {
    *image = (tl_image){0};
    return tl_frame_read(path, image, info);
}

static tl_image read_back(const tiff_style *s, const void *pixels, int width, int height) {
    char path[PATH_SIZE];
    tl_image image;
    tl_frame_info info;
    scratch_path(&folder, "picture.tif", path);
    write_tiff(path, s, pixels, width, height);
    assert_int_equal(read_path(path, &image, &info), TL_OK);
    assert_int_equal(image.width, width);
    assert_int_equal(image.height, height);
    return image;
}

/* A code 0..1 for every sample of a test picture, and none like its neighbours. */
static double code_of(int i) {
    return (double)(i * 7919 % 65521) / 65520;
}

/* Samples of this kind that hold code_of; what they hold exactly is left in `held`. */
static unsigned char *samples_of(const tiff_style *s, int count, double *held) {
    unsigned char *bytes = malloc((size_t)count * s->bits / 8);
    for (int i = 0; i < count; i++) {
        unsigned char *at = bytes + (size_t)i * s->bits / 8;
        if (s->format == SAMPLEFORMAT_IEEEFP && s->bits == 32) {
            const float value = (float)code_of(i);
            memcpy(at, &value, sizeof value);
            held[i] = (double)value;
        } else if (s->format == SAMPLEFORMAT_IEEEFP) {
            held[i] = code_of(i);
            memcpy(at, &held[i], sizeof held[i]);
        } else if (s->bits == 8) {
            *at = (unsigned char)lround(255 * code_of(i));
            held[i] = *at / 255.0;
        } else if (s->bits == 16) {
            const uint16_t value = (uint16_t)lround(65535 * code_of(i));
            memcpy(at, &value, sizeof value);
            held[i] = value / 65535.0;
        } else {
            const uint32_t value = (uint32_t)lround(4294967295.0 * code_of(i));
            memcpy(at, &value, sizeof value);
            held[i] = (value >> 16) / 65535.0; /* the bits that are kept */
        }
    }
    return bytes;
}

/* Whole numbers are coded as sRGB, floating-point ones linear. */
static void check_kind(const tiff_style *s) {
    static double held[W * H * 4];
    unsigned char *bytes = samples_of(s, W * H * s->samples, held);
    tl_image image = read_back(s, bytes, W, H);
    const int channels = s->photometric == PHOTOMETRIC_RGB ? 3 : 1;
    assert_int_equal(image.channels, channels);
    for (int i = 0; i < W * H; i++)
        for (int c = 0; c < channels; c++) {
            double code = held[i * s->samples + c];
            if (s->photometric == PHOTOMETRIC_MINISWHITE)
                code = 1 - code;
            const double light = s->format == SAMPLEFORMAT_IEEEFP ? code : iec_linear(code);
            const double got = light_at(&image, i % W, i / W, c);
            if (fabs(got - 65535 * light) > rounding)
                fail_msg("%d bits, format %d, compression %d, %s %s: sample %d,%d is %.0f, not "
                         "%.1f",
                         s->bits, s->format, s->compression, s->separate ? "separate" : "together",
                         s->tiled ? "tiles" : "strips", i, c, got, 65535 * light);
        }
    tl_image_free(&image);
    free(bytes);
}

static void every_way_of_storing_reads_the_same(void **state) {
    (void)state;
    static const struct {
        uint16_t bits, format;
    } kinds[] = {{8, SAMPLEFORMAT_UINT},
                 {16, SAMPLEFORMAT_UINT},
                 {32, SAMPLEFORMAT_UINT},
                 {32, SAMPLEFORMAT_IEEEFP},
                 {64, SAMPLEFORMAT_IEEEFP}};
    static const uint16_t colours[] = {PHOTOMETRIC_MINISBLACK, PHOTOMETRIC_MINISWHITE,
                                       PHOTOMETRIC_RGB};
    static const uint16_t compressions[] = {COMPRESSION_NONE, COMPRESSION_LZW,
                                            COMPRESSION_ADOBE_DEFLATE, COMPRESSION_PACKBITS};
    for (size_t k = 0; k < sizeof kinds / sizeof kinds[0]; k++)
        for (size_t p = 0; p < 3; p++)
            for (size_t c = 0; c < 4; c++)
                for (int way = 0; way < 6; way++) {
                    if (colours[p] == PHOTOMETRIC_MINISWHITE && kinds[k].format != 1)
                        continue; /* nobody writes it */
                    tiff_style s = {.bits = kinds[k].bits,
                                    .samples = colours[p] == PHOTOMETRIC_RGB ? 3 : 1,
                                    .format = kinds[k].format,
                                    .photometric = colours[p],
                                    .compression = compressions[c],
                                    .separate = way % 2 == 1,
                                    .tiled = way / 2 == 1,
                                    .rows_per_strip = way / 2 == 2 ? 7 : 0};
                    check_kind(&s);
                }
}

static void floating_point_is_scaled_to_its_greatest(void **state) {
    (void)state;
    const float row[6] = {0, 500, 1000, 250, -3, NAN};
    const double expected[6] = {0, 0.5, 1, 0.25, 0, 0};
    const tiff_style s = {.bits = 32,
                          .samples = 1,
                          .format = SAMPLEFORMAT_IEEEFP,
                          .photometric = PHOTOMETRIC_MINISBLACK};
    tl_image image = read_back(&s, row, 6, 1);
    for (int x = 0; x < 6; x++)
        check_near(light_at(&image, x, 0, 0), 65535 * expected[x], rounding);
    tl_image_free(&image);
    const float endless[2] = {INFINITY, 0.5F}; /* burnt out; the others keep their scale */
    image = read_back(&s, endless, 2, 1);
    check_near(light_at(&image, 0, 0, 0), 65535, 0);
    check_near(light_at(&image, 1, 0, 0), 32768, 0);
    tl_image_free(&image);
}

/* IEEE 754-2008, 3.6: sign, 5 bits of exponent (bias 15), 10 of fraction. */
static void half_precision_is_read(void **state) {
    (void)state;
    const uint16_t row[6] = {0x0000, 0x3c00, 0x3800, 0x3555, 0x0400, 0xbc00};
    const double expected[6] = {0, 1, 0.5, 1365.0 / 4096, 1.0 / 16384, 0};
    const tiff_style s = {.bits = 16,
                          .samples = 1,
                          .format = SAMPLEFORMAT_IEEEFP,
                          .photometric = PHOTOMETRIC_MINISBLACK};
    tl_image image = read_back(&s, row, 6, 1);
    for (int x = 0; x < 6; x++)
        check_near(light_at(&image, x, 0, 0), 65535 * expected[x], rounding);
    tl_image_free(&image);
}

static void alpha_lies_over_black(void **state) {
    (void)state;
    const uint8_t row[8] = {200, 100, 50, 128, 200, 100, 50, 0};
    tiff_style s = {.bits = 8,
                    .samples = 4,
                    .photometric = PHOTOMETRIC_RGB,
                    .has_alpha = true,
                    .alpha = EXTRASAMPLE_UNASSALPHA};
    tl_image image = read_back(&s, row, 2, 1);
    check_near(light_at(&image, 0, 0, 0), 65535 * 128 / 255.0 * iec_linear(200 / 255.0),
               2 * rounding);
    check_near(light_at(&image, 1, 0, 2), 0, 0);
    tl_image_free(&image);
    s.alpha = EXTRASAMPLE_UNSPECIFIED; /* whatever it is, it is not alpha */
    image = read_back(&s, row, 2, 1);
    check_near(light_at(&image, 1, 0, 2), 65535 * iec_linear(50 / 255.0), rounding);
    tl_image_free(&image);
}

/* Kinds that the library itself turns into 8-bit colour. */
static void rarer_kinds_are_read(void **state) {
    (void)state;
    char path[PATH_SIZE];
    tl_image image;
    tl_frame_info info;
    scratch_path(&folder, "rare.tif", path);
    uint16_t red[256], green[256], blue[256];
    for (int i = 0; i < 256; i++) {
        red[i] = (uint16_t)(257 * i);
        green[i] = (uint16_t)(257 * (255 - i));
        blue[i] = 257 * 7;
    }
    const tiff_style of_palette = {.bits = 8, .samples = 1, .photometric = PHOTOMETRIC_PALETTE};
    TIFF *tiff = TIFFOpen(path, "w");
    put_fields(tiff, &of_palette, 2, 1);
    TIFFSetField(tiff, TIFFTAG_COLORMAP, red, green, blue);
    put_pixels(tiff, &of_palette, (const unsigned char[]){40, 250}, 2, 1);
    TIFFClose(tiff);
    assert_int_equal(read_path(path, &image, &info), TL_OK);
    assert_int_equal(image.channels, 3);
    check_near(light_at(&image, 0, 0, 0), 65535 * iec_linear(40 / 255.0), rounding);
    check_near(light_at(&image, 1, 0, 1), 65535 * iec_linear(5 / 255.0), rounding);
    check_near(light_at(&image, 1, 0, 2), 65535 * iec_linear(7 / 255.0), rounding);
    tl_image_free(&image);

    const tiff_style of_bits = {.bits = 1,
                                .samples = 1,
                                .photometric = PHOTOMETRIC_MINISWHITE,
                                .orientation = ORIENTATION_BOTLEFT};
    tiff = TIFFOpen(path, "w");
    put_fields(tiff, &of_bits, 8, 2);
    unsigned char first = 0x0f, second = 0xff;
    TIFFWriteScanline(tiff, &first, 0, 0);
    TIFFWriteScanline(tiff, &second, 1, 0);
    TIFFClose(tiff);
    assert_int_equal(read_path(path, &image, &info), TL_OK);
    assert_int_equal(image.channels, 1);
    check_near(light_at(&image, 3, 1, 0), 65535, 0); /* stored row 0 is at the bottom */
    check_near(light_at(&image, 4, 1, 0), 0, 0);
    check_near(light_at(&image, 3, 0, 0), 0, 0);
    tl_image_free(&image);

    const tiff_style of_inks = {.bits = 8, .samples = 4, .photometric = PHOTOMETRIC_SEPARATED};
    const unsigned char inks[8] = {0, 0, 0, 0, 0, 255, 0, 0};
    write_tiff(path, &of_inks, inks, 2, 1);
    assert_int_equal(read_path(path, &image, &info), TL_OK);
    check_near(light_at(&image, 0, 0, 1), 65535, 0); /* paper */
    check_near(light_at(&image, 1, 0, 0), 65535, 0); /* magenta takes green */
    check_near(light_at(&image, 1, 0, 1), 0, 0);
    tl_image_free(&image);
}

static void orientation_turns_the_picture_upright(void **state) {
    (void)state;
    enum { WIDE = 3 * SQUARE, HIGH = 2 * SQUARE };
    static unsigned char codes[WIDE * HIGH * 3];
    for (uint16_t orientation = 1; orientation <= 8; orientation++)
        for (int way = 0; way < 4; way++) {
            const tiff_style s = {.bits = 8,
                                  .samples = way % 2 ? 3 : 1,
                                  .photometric = way % 2 ? PHOTOMETRIC_RGB : PHOTOMETRIC_MINISBLACK,
                                  .tiled = way / 2,
                                  .orientation = orientation};
            for (int i = 0; i < WIDE * HIGH; i++)
                memset(codes + i * s.samples, stored_letter_code(i % WIDE, i / WIDE), s.samples);
            char path[PATH_SIZE];
            tl_image image;
            tl_frame_info info;
            scratch_path(&folder, "turned.tif", path);
            write_tiff(path, &s, codes, WIDE, HIGH);
            assert_int_equal(read_path(path, &image, &info), TL_OK);
            assert_int_equal(info.orientation, orientation);
            check_letters(&image, orientation, 0);
            tl_image_free(&image);
        }
}

/* As cameras and converters write it: directories of their own, here behind 100 kB of pixels. */
static void exif_is_read(void **state) {
    (void)state;
    char path[PATH_SIZE];
    static unsigned char pixels[320 * 320];
    const tiff_style s = {.bits = 8, .samples = 1, .photometric = PHOTOMETRIC_MINISBLACK};
    scratch_path(&folder, "exif.tif", path);
    for (int big = 0; big < 2; big++) { /* both byte orders */
        TIFF *tiff = TIFFOpen(path, big ? "wb" : "wl");
        put_fields(tiff, &s, 320, 320);
        TIFFSetField(tiff, TIFFTAG_MAKE, "Invented Optics");
        put_pixels(tiff, &s, pixels, 320, 320);
        assert_int_equal(TIFFWriteDirectory(tiff), 1);
        uint64_t exif_at, gps_at;
        assert_int_equal(TIFFCreateEXIFDirectory(tiff), 0);
        TIFFSetField(tiff, EXIFTAG_DATETIMEORIGINAL, BLOCK_STAMP);
        TIFFSetField(tiff, EXIFTAG_SUBSECTIMEORIGINAL, "25");
        TIFFSetField(tiff, EXIFTAG_EXPOSURETIME, 0.5);
        assert_int_equal(TIFFWriteCustomDirectory(tiff, &exif_at), 1);
        TIFFFreeDirectory(tiff); /* which the next call forgets */
        assert_int_equal(TIFFCreateGPSDirectory(tiff), 0);
        TIFFSetField(tiff, GPSTAG_LATITUDEREF, "S");
        TIFFSetField(tiff, GPSTAG_LONGITUDEREF, "W");
        TIFFSetField(tiff, GPSTAG_LATITUDE, (const double[]){49, 50, 24});
        TIFFSetField(tiff, GPSTAG_LONGITUDE, (const double[]){7, 52, 12});
        assert_int_equal(TIFFWriteCustomDirectory(tiff, &gps_at), 1);
        assert_int_equal(TIFFSetDirectory(tiff, 0), 1);
        TIFFSetField(tiff, TIFFTAG_EXIFIFD, exif_at);
        TIFFSetField(tiff, TIFFTAG_GPSIFD, gps_at);
        assert_int_equal(TIFFRewriteDirectory(tiff), 1);
        TIFFClose(tiff);
        tl_image image;
        tl_frame_info info;
        assert_int_equal(read_path(path, &image, &info), TL_OK);
        assert_int_equal(info.time.source, TL_TIME_EXIF_SUBSEC);
        check_near(info.time.t_camera_s, BLOCK_STAMP_S + 0.25 + 0.25, 1e-6);
        assert_string_equal(info.make, "Invented Optics");
        assert_int_equal(info.site.source, TL_SITE_EXIF);
        check_near(info.site.lat_rad, -(49.0 + 50.0 / 60.0 + 24.0 / 3600.0) * TL_DEG, 1e-9);
        check_near(info.site.lon_rad, -(7.0 + 52.0 / 60.0 + 12.0 / 3600.0) * TL_DEG, 1e-9);
        tl_image_free(&image);
    }
}

static void the_first_that_is_no_thumbnail_is_read(void **state) {
    (void)state;
    char path[PATH_SIZE];
    tl_image image;
    tl_frame_info info;
    const tiff_style s = {.bits = 8, .samples = 1, .photometric = PHOTOMETRIC_MINISBLACK};
    scratch_path(&folder, "pages.tif", path);
    TIFF *tiff = TIFFOpen(path, "w");
    static const struct {
        uint32_t type;
        unsigned char code;
        int width;
    } pages[] = {{FILETYPE_REDUCEDIMAGE, 10, 2}, {0, 77, 5}, {0, 200, 9}};
    for (int i = 0; i < 3; i++) {
        unsigned char row[9];
        memset(row, pages[i].code, sizeof row);
        put_fields(tiff, &s, pages[i].width, 1);
        TIFFSetField(tiff, TIFFTAG_SUBFILETYPE, pages[i].type);
        TIFFWriteScanline(tiff, row, 0, 0);
        TIFFWriteDirectory(tiff);
    }
    TIFFClose(tiff);
    assert_int_equal(read_path(path, &image, &info), TL_OK);
    assert_int_equal(image.width, 5);
    check_near(light_at(&image, 0, 0, 0), 65535 * iec_linear(77 / 255.0), rounding);
    tl_image_free(&image);
}

/* Raw files are TIFF files of a kind: samples of a sensor, or nothing but a thumbnail on top. */
static void raw_files_are_named(void **state) {
    (void)state;
    char path[PATH_SIZE];
    tl_image image;
    tl_frame_info info;
    unsigned char row[4] = {1, 2, 3, 4};
    scratch_path(&folder, "raw.tif", path);
    for (int kind = 0; kind < 3; kind++) {
        const tiff_style s = {
            .bits = 8, .samples = 1, .photometric = kind == 0 ? 32803 : PHOTOMETRIC_MINISBLACK};
        TIFF *tiff = TIFFOpen(path, "w");
        put_fields(tiff, &s, 4, 1);
        if (kind == 1)
            TIFFSetField(tiff, TIFFTAG_DNGVERSION, "\1\4\0\0");
        if (kind == 2)
            TIFFSetField(tiff, TIFFTAG_SUBFILETYPE, FILETYPE_REDUCEDIMAGE);
        TIFFWriteScanline(tiff, row, 0, 0);
        TIFFClose(tiff);
        assert_int_equal(read_path(path, &image, &info), TL_ERR_RAW);
    }
    assert_int_equal(status_of_blob("II*\0\x10\0\0\0CR\2\0 and more of it", 24), TL_ERR_RAW);
}

static blob file_of(const tiff_style *s, const void *pixels) {
    char path[PATH_SIZE];
    scratch_path(&folder, "bytes.tif", path);
    write_tiff(path, s, pixels, W, H);
    FILE *file = fopen(path, "rb");
    blob b = {malloc(1 << 20), 0};
    b.size = fread(b.bytes, 1, 1 << 20, file);
    fclose(file);
    return b;
}

static const uint16_t compressions[] = {COMPRESSION_NONE, COMPRESSION_LZW,
                                        COMPRESSION_ADOBE_DEFLATE, COMPRESSION_PACKBITS,
                                        COMPRESSION_JPEG};

static blob textured(size_t compression, int way) {
    static unsigned char pixels[W * H * 3];
    uint32_t random = 5;
    for (size_t i = 0; i < sizeof pixels; i++)
        pixels[i] = (unsigned char)(next_random(&random) >> 24);
    const tiff_style s = {.bits = 8,
                          .samples = 3,
                          .photometric = PHOTOMETRIC_RGB,
                          .compression = compressions[compression],
                          .tiled = way % 2 == 1,
                          .separate = way / 2 == 1,
                          .rows_per_strip = 16};
    return file_of(&s, pixels);
}

static void a_file_cut_short_is_broken(void **state) {
    (void)state;
    for (size_t c = 0; c < 5; c++) {
        blob b = textured(c, 0); /* its directory is at the end */
        assert_int_equal(status_of_blob(b.bytes, b.size), TL_OK);
        for (size_t size = 8; size < b.size - 64; size += 301)
            assert_int_equal(status_of_blob(b.bytes, size), TL_ERR_BROKEN);
        free(b.bytes);
    }
}

static void damage_never_crashes(void **state) {
    (void)state;
    for (size_t c = 0; c < 5; c++)
        for (int way = 0; way < 4; way++) {
            blob b = textured(c, way);
            check_damage(&b, 40, 3);
            /* the directory, where the damage tells most */
            uint32_t random = 31, at;
            memcpy(&at, b.bytes + 4, sizeof at);
            unsigned char *bytes = malloc(b.size);
            for (int round = 0; round < 60; round++) {
                memcpy(bytes, b.bytes, b.size);
                for (int i = 0; i < 2; i++)
                    bytes[at + (next_random(&random) >> 4) % (b.size - at)] =
                        (unsigned char)(next_random(&random) >> 24);
                status_of_blob(bytes, b.size);
            }
            free(bytes);
            free(b.bytes);
        }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_way_of_storing_reads_the_same),
        cmocka_unit_test(floating_point_is_scaled_to_its_greatest),
        cmocka_unit_test(half_precision_is_read),
        cmocka_unit_test(alpha_lies_over_black),
        cmocka_unit_test(rarer_kinds_are_read),
        cmocka_unit_test(orientation_turns_the_picture_upright),
        cmocka_unit_test(exif_is_read),
        cmocka_unit_test(the_first_that_is_no_thumbnail_is_read),
        cmocka_unit_test(raw_files_are_named),
        cmocka_unit_test(a_file_cut_short_is_broken),
        cmocka_unit_test(damage_never_crashes),
    };
    return cmocka_run_group_tests_name("frame_tiff", tests, folder_setup, folder_teardown);
}
