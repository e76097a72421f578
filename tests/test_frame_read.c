/*
 * test_frame_read.c - JPEG to linear light: values, orientation, and files that are not what they
 * seem.
 */
#include "scratch_folder.h"

#include <math.h>

/* Write the bytes, read them as a picture. On failure the outputs must be as they were. */
static tl_status read_bytes(const void *bytes, size_t size, tl_image *image) {
    char path[PATH_SIZE];
    tl_frame_info info = {.orientation = -7};
    scratch_path(&folder, "picture.jpg", path);
    write_file(path, bytes, size);
    *image = (tl_image){.width = -7};
    const tl_status status = tl_frame_read(path, image, &info);
    if (status != TL_OK) {
        assert_int_equal(image->width, -7);
        assert_null(image->code);
        assert_int_equal(info.orientation, -7);
    }
    return status;
}

/* IEC 61966-2-1:1999, equations 5 and 6, written anew. */
static double iec_linear(double code) {
    const double c = code / 255.0;
    if (c <= 0.04045)
        return c / 12.92;
    return exp(2.4 * log((c + 0.055) / 1.055));
}

static void samples_are_linear_light(void **state) {
    (void)state;
    /* One flat 8x8 block per code; quality 100 stores a flat block without loss. */
    enum { SIDE = 16 * 8 };
    static uint8_t samples[SIDE * SIDE];
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++)
            samples[y * SIDE + x] = (uint8_t)(y / 8 * 16 + x / 8);
    const jpeg_style style = {.space = JCS_GRAYSCALE};
    blob jpeg = jpeg_make(&style, samples, SIDE, SIDE);
    tl_image image;
    assert_int_equal(read_bytes(jpeg.bytes, jpeg.size, &image), TL_OK);
    assert_int_equal(image.channels, 1);
    assert_int_equal(image.width, SIDE);
    assert_int_equal(image.height, SIDE);
    for (int code = 0; code < 256; code++) {
        const uint16_t got = tl_image_light(&image, code % 16 * 8 + 3, code / 16 * 8 + 3, 0);
        if (fabs(got - 65535.0 * iec_linear(code)) > 0.501) /* rounded to a whole number */
            fail_msg("code %d gives %d, not %.2f", code, got, 65535.0 * iec_linear(code));
    }
    assert_int_equal(tl_image_light(&image, 0, 0, 0), 0);
    assert_int_equal(tl_image_light(&image, SIDE - 1, SIDE - 1, 0), 65535);
    tl_image_free(&image);
    assert_null(image.sample);
    tl_image_free(&image);
    free(jpeg.bytes);
}

/* Flat red, green and blue thirds of a wide picture: channels in that order, interleaved. */
static void colours_are_interleaved(void **state) {
    (void)state;
    enum { W = 48, H = 16 };
    static uint8_t samples[W * H * 3];
    memset(samples, 0, sizeof samples);
    for (int y = 0; y < H; y++)
        for (int x = 0; x < W; x++)
            samples[(y * W + x) * 3 + x / 16] = 255;
    for (int progressive = 0; progressive < 2; progressive++) {
        const jpeg_style style = {.space = JCS_RGB, .progressive = progressive};
        blob jpeg = jpeg_make(&style, samples, W, H);
        tl_image image;
        assert_int_equal(read_bytes(jpeg.bytes, jpeg.size, &image), TL_OK);
        assert_int_equal(image.channels, 3);
        for (int third = 0; third < 3; third++)
            for (int c = 0; c < 3; c++) {
                const uint16_t got = tl_image_light(&image, third * 16 + 8, 8, c);
                /* YCbCr and back rounds by two codes at most: 255 -> 253, 0 -> 2. */
                if (c == third)
                    assert_in_range(got, 65535 * iec_linear(253), 65535);
                else
                    assert_in_range(got, 0, 65535 * iec_linear(2));
            }
        tl_image_free(&image);
        free(jpeg.bytes);
    }
}

enum { BLOCK_W = 8, BLOCK_H = 24 }; /* higher than the rows that are decoded at a time */
static uint8_t level_of(char letter) {
    return (uint8_t)(40 * (letter - 'A') + 10);
}

/* The stored picture of shown_letters. */
static void orientation_turns_the_picture_upright(void **state) {
    (void)state;
    enum { W = 3 * BLOCK_W, H = 2 * BLOCK_H };
    for (int channels = 1; channels <= 3; channels += 2) {
        static uint8_t samples[W * H * 3];
        for (int i = 0; i < W * H * channels; i++) {
            const int x = i / channels % W, y = i / channels / W;
            samples[i] = level_of((char)('A' + y / BLOCK_H * 3 + x / BLOCK_W));
        }
        for (int orientation = 1; orientation <= 8; orientation++) {
            blob jpeg =
                jpeg_turned(channels == 1 ? JCS_GRAYSCALE : JCS_RGB, samples, W, H, orientation);
            tl_image image;
            assert_int_equal(read_bytes(jpeg.bytes, jpeg.size, &image), TL_OK);
            const bool lying = orientation >= 5;
            const int wide = lying ? BLOCK_H : BLOCK_W, high = lying ? BLOCK_W : BLOCK_H;
            assert_int_equal(image.width, lying ? H : W);
            assert_int_equal(image.height, lying ? W : H);
            assert_int_equal(image.channels, channels);
            /* Every pixel, so that a shift by one shows too. */
            for (int y = 0; y < image.height; y++)
                for (int x = 0; x < image.width; x++) {
                    const char letter = shown_letters[orientation][y / high][x / wide];
                    const double expected = 65535.0 * iec_linear(level_of(letter));
                    const uint16_t got = tl_image_light(&image, x, y, channels - 1);
                    if (fabs(got - expected) >
                        0.03 * expected) /* a code or so of colour rounding */
                        fail_msg("orientation %d: pixel %d,%d is %d, not %.0f", orientation, x, y,
                                 got, expected);
                }
            tl_image_free(&image);
            free(jpeg.bytes);
        }
    }
}

static void what_is_no_picture_is_refused(void **state) {
    (void)state;
    tl_image image;
    tl_frame_info info;
    char path[PATH_SIZE];
    static const char text[] = "Dear diary, today the Moon went before the Sun.\n";
    assert_int_equal(read_bytes("", 0, &image), TL_ERR_EMPTY_FILE);
    assert_int_equal(read_bytes(text, sizeof text - 1, &image), TL_ERR_NOT_PICTURE);
    assert_int_equal(read_bytes("\xff\xd8", 2, &image), TL_ERR_NOT_PICTURE);
    assert_int_equal(read_bytes("\xff\xd8\xff", 3, &image), TL_ERR_BROKEN);
    assert_int_equal(read_bytes("\xff\xd8\xff\xd9", 4, &image), TL_ERR_BROKEN);
    scratch_path(&folder, "not-there.jpg", path);
    assert_int_equal(tl_frame_read(path, &image, &info), TL_ERR_OPEN);
    assert_int_equal(tl_frame_read(folder.folder, &image, &info), TL_ERR_OPEN);
    scratch_path(&folder, "pipe.jpg", path);
    assert_int_equal(mkfifo(path, 0600), 0);
    assert_int_equal(tl_frame_read(path, &image, &info), TL_ERR_OPEN); /* and does not wait */
}

/* A picture with some structure, so that it has bytes to lose. */
static blob textured(bool progressive) {
    enum { W = 64, H = 48 };
    static uint8_t samples[W * H * 3];
    uint32_t random = 1;
    for (size_t i = 0; i < sizeof samples; i++) {
        random = random * 1664525U + 1013904223U; /* Numerical Recipes' generator */
        samples[i] = (uint8_t)(random >> 24);
    }
    const jpeg_style style = {.space = JCS_RGB, .progressive = progressive};
    return jpeg_make(&style, samples, W, H);
}

/* The start-of-frame marker: FF C0 (baseline) or FF C2, length 2, precision 1, height 2, width 2.
 */
static unsigned char *frame_header(const blob *jpeg) {
    for (size_t i = 0; i + 9 < jpeg->size; i++)
        if (jpeg->bytes[i] == 0xff && (jpeg->bytes[i + 1] == 0xc0 || jpeg->bytes[i + 1] == 0xc2))
            return jpeg->bytes + i;
    fail_msg("no start of frame");
    return NULL;
}

static tl_status read_with_size(blob *jpeg, unsigned width, unsigned height) {
    tl_image image;
    unsigned char *header = frame_header(jpeg);
    header[5] = (unsigned char)(height >> 8);
    header[6] = (unsigned char)height;
    header[7] = (unsigned char)(width >> 8);
    header[8] = (unsigned char)width;
    return read_bytes(jpeg->bytes, jpeg->size, &image);
}

static void a_header_that_lies_is_refused(void **state) {
    (void)state;
    for (int progressive = 0; progressive < 2; progressive++) {
        blob jpeg = textured(progressive);
        assert_int_equal(read_with_size(&jpeg, 65500, 65500), TL_ERR_TOO_LARGE);
        assert_int_equal(read_with_size(&jpeg, 65535, 65535), TL_ERR_TOO_LARGE);
        assert_int_equal(read_with_size(&jpeg, 29999, 29999), TL_ERR_TOO_LARGE); /* 900 Mpx */
        assert_int_equal(read_with_size(&jpeg, 30001, 8), TL_ERR_TOO_LARGE);
        assert_int_equal(read_with_size(&jpeg, 8, 30001), TL_ERR_TOO_LARGE);
        assert_int_equal(read_with_size(&jpeg, 3000, 3000), TL_ERR_BROKEN);
        assert_int_equal(read_with_size(&jpeg, 0, 48), TL_ERR_BROKEN);
        free(jpeg.bytes);
    }
}

/* Bytes overwritten at random: any status, but an answer, and a whole picture if it says so. */
static void damage_never_crashes(void **state) {
    (void)state;
    uint32_t random = 99;
    size_t refused = 0;
    for (int round = 0; round < 400; round++) {
        blob jpeg = textured(round % 2 == 1);
        for (int hits = 0; hits < 3; hits++) {
            random = random * 1664525U + 1013904223U;
            jpeg.bytes[2 + (random >> 8) % (jpeg.size - 2)] = (unsigned char)(random >> 24);
        }
        tl_image image;
        const tl_status status = read_bytes(jpeg.bytes, jpeg.size, &image);
        if (status == TL_OK) {
            const size_t last = (size_t)image.width * (size_t)image.height - 1;
            assert_in_range(image.code[last * (size_t)image.channels], 0, 255); /* is there */
            tl_image_free(&image);
        } else {
            refused++;
        }
        free(jpeg.bytes);
    }
    assert_in_range(refused, 50, 400); /* the damage was real */
}

static void originals_are_left_alone(void **state) {
    (void)state;
    char path[PATH_SIZE];
    struct stat before, after;
    tl_image image;
    tl_frame_info info;
    blob jpeg = textured(false);
    scratch_path(&folder, "kept.jpg", path);
    write_file(path, jpeg.bytes, jpeg.size);
    assert_int_equal(chmod(path, 0400), 0);
    assert_int_equal(stat(path, &before), 0);
    assert_int_equal(tl_frame_read(path, &image, &info), TL_OK);
    assert_int_equal(stat(path, &after), 0);
    assert_int_equal(after.st_size, jpeg.size);
    assert_int_equal(after.st_mtim.tv_sec, before.st_mtim.tv_sec);
    assert_int_equal(after.st_mtim.tv_nsec, before.st_mtim.tv_nsec);
    tl_image_free(&image);
    free(jpeg.bytes);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(samples_are_linear_light),
        cmocka_unit_test(colours_are_interleaved),
        cmocka_unit_test(orientation_turns_the_picture_upright),
        cmocka_unit_test(what_is_no_picture_is_refused),
        cmocka_unit_test(a_header_that_lies_is_refused),
        cmocka_unit_test(damage_never_crashes),
        cmocka_unit_test(originals_are_left_alone),
    };
    return cmocka_run_group_tests_name("frame_read", tests, folder_setup, folder_teardown);
}
