/*
 * test_frame_same_sun.c - one drawn eclipse through files of every kind: the circles that are found
 * must be those of the drawing.
 */
#include <png.h>
#include <tiffio.h>

#include "drawn_sun.h"
#include "heif_make.h"

/* px. The drawing has a blur of 1.5 px and a noise of 0.004 of the full scale; eight bits, and what
 * a JPEG of best quality drops, are less than that. The last is for HEIC without loss. */
static const double fine_tolerance = 0.02, coded_tolerance = 0.04;

static uint16_t code_of(uint16_t light, double most) {
    const double l = light / 65535.0;
    /* IEC 61966-2-1:1999, equations 8 and 9 */
    const double code = l <= 0.0031308 ? 12.92 * l : 1.055 * pow(l, 1 / 2.4) - 0.055;
    return (uint16_t)lround(most * code);
}

static size_t count_of(const tl_image *image) {
    return (size_t)image->width * (size_t)image->height;
}

static blob slurp(const char *path) {
    FILE *file = fopen(path, "rb");
    blob b = {malloc(1 << 22), 0};
    b.size = fread(b.bytes, 1, 1 << 22, file);
    fclose(file);
    return b;
}

static blob as_jpeg(const tl_image *image) {
    uint8_t *code = malloc(count_of(image));
    for (size_t i = 0; i < count_of(image); i++)
        code[i] = (uint8_t)code_of(image->sample[i], 255);
    const jpeg_style style = {.space = JCS_GRAYSCALE};
    blob b = jpeg_make(&style, code, image->width, image->height);
    free(code);
    return b;
}

/* By libpng's own writer of whole pictures (8 bits), or row by row (16). */
static blob as_png(const tl_image *image, int bits, const char *path) {
    FILE *file = fopen(path, "wb");
    png_structp png = png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, NULL, NULL);
    png_infop info = png_create_info_struct(png);
    png_init_io(png, file);
    png_set_IHDR(png, info, (png_uint_32)image->width, (png_uint_32)image->height, bits,
                 PNG_COLOR_TYPE_GRAY, PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT,
                 PNG_FILTER_TYPE_DEFAULT);
    png_write_info(png, info);
    uint8_t *row = malloc(2 * (size_t)image->width);
    for (int y = 0; y < image->height; y++) {
        for (int x = 0; x < image->width; x++) {
            const uint16_t light = image->sample[y * image->width + x];
            const uint16_t code = code_of(light, bits == 8 ? 255 : 65535);
            if (bits == 8) {
                row[x] = (uint8_t)code;
            } else {
                row[2 * x] = (uint8_t)(code >> 8);
                row[2 * x + 1] = (uint8_t)code;
            }
        }
        png_write_row(png, row);
    }
    png_write_end(png, NULL);
    png_destroy_write_struct(&png, &info);
    fclose(file);
    free(row);
    return slurp(path);
}

static blob as_tiff(const tl_image *image, bool real, const char *path) {
    TIFF *tiff = TIFFOpen(path, "w");
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, image->width);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, image->height);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, real ? 32 : 16);
    TIFFSetField(tiff, TIFFTAG_SAMPLEFORMAT, real ? SAMPLEFORMAT_IEEEFP : SAMPLEFORMAT_UINT);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
    TIFFSetField(tiff, TIFFTAG_COMPRESSION, COMPRESSION_ADOBE_DEFLATE);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 50);
    uint16_t *whole = malloc((size_t)image->width * sizeof *whole);
    float *linear = malloc((size_t)image->width * sizeof *linear);
    for (int y = 0; y < image->height; y++) {
        for (int x = 0; x < image->width; x++) {
            const uint16_t light = image->sample[y * image->width + x];
            whole[x] = code_of(light, 65535);
            linear[x] = 1000.0F * (float)light / 65535.0F; /* electrons, say */
        }
        TIFFWriteScanline(tiff, real ? (void *)linear : (void *)whole, (uint32_t)y, 0);
    }
    free(whole);
    free(linear);
    TIFFClose(tiff);
    return slurp(path);
}

static blob as_heif(const tl_image *image, enum heif_compression_format format, int bits) {
    uint16_t *code = malloc(3 * count_of(image) * sizeof *code);
    for (size_t i = 0; i < 3 * count_of(image); i++)
        code[i] = code_of(image->sample[i / 3], (1 << bits) - 1);
    const heif_style style = {.format = format, .bits = bits};
    blob b = {NULL, 0};
    if (!heif_make(&style, code, image->width, image->height, &b))
        print_message("passed over: no encoder\n");
    free(code);
    return b;
}

static void check_circles(blob file, const scene *s, const char *what, double tolerance) {
    tl_image image;
    tl_frame_info info;
    tl_limb limb = {0};
    const tl_limb_prior none = {0};
    if (file.size == 0)
        return;
    assert_int_equal(read_blob(file.bytes, file.size, &image, &info), TL_OK);
    assert_int_equal(tl_limb_find(&image, &none, &limb), TL_OK);
    if (limb.status != TL_LIMB_MEASURED)
        fail_msg("%s: %s", what, limb.reason);
    const double truth[TL_LIMB_PARAMS] = {s->sun.x,  s->sun.y,  s->sun.r,
                                          s->moon.x, s->moon.y, s->moon.r};
    tl_image drawn = draw(s);
    tl_limb direct = {0};
    assert_int_equal(tl_limb_find(&drawn, &none, &direct), TL_OK);
    for (int i = 0; i < TL_LIMB_PARAMS; i++) {
        if (fabs(limb.circle[i] - direct.circle[i]) > tolerance)
            fail_msg("%s: parameter %d is %.4f, %.4f without a file", what, i, limb.circle[i],
                     direct.circle[i]);
        check_near(limb.circle[i], truth[i], 0.3); /* the finder's own, see test_limb.c */
    }
    tl_image_free(&drawn);
    tl_limb_free(&direct);
    tl_limb_free(&limb);
    tl_image_free(&image);
    free(file.bytes);
}

static void every_kind_gives_the_same_circles(void **state) {
    (void)state;
    const scene s = partial_scene();
    tl_image image = draw(&s);
    scratch folder;
    char path[PATH_SIZE];
    scratch_make(&folder);
    scratch_path(&folder, "sun", path);
    check_circles(as_png(&image, 16, path), &s, "PNG of 16 bits", fine_tolerance);
    check_circles(as_tiff(&image, false, path), &s, "TIFF of 16 bits", fine_tolerance);
    check_circles(as_tiff(&image, true, path), &s, "TIFF of floating point", fine_tolerance);
    check_circles(as_png(&image, 8, path), &s, "PNG of 8 bits", coded_tolerance);
    check_circles(as_jpeg(&image), &s, "JPEG", coded_tolerance);
    check_circles(as_heif(&image, heif_compression_HEVC, 8), &s, "HEIC", coded_tolerance);
    check_circles(as_heif(&image, heif_compression_HEVC, 10), &s, "HEIC of 10 bits",
                  coded_tolerance);
    check_circles(as_heif(&image, heif_compression_AV1, 8), &s, "AVIF", coded_tolerance);
    remove_tree(folder.folder);
    tl_image_free(&image);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_gives_the_same_circles),
    };
    return cmocka_run_group_tests_name("frame_same_sun", tests, NULL, NULL);
}
