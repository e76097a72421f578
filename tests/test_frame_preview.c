/*
 * test_frame_preview.c - small pictures for the report: where they lie and how bright they are.
 */
#include "picture.h"

#include <math.h>

#include "frame/frame_internal.h"

/* JPEG at quality 85 leaves a flat area within a few codes. */
static const int code_tolerance = 3;

/* The samples of a preview as 8-bit codes, by libjpeg alone. */
static uint8_t *decode(const tl_preview *preview, int channels) {
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr error;
    jpeg.err = jpeg_std_error(&error);
    jpeg_create_decompress(&jpeg);
    jpeg_mem_src(&jpeg, preview->jpeg, (unsigned long)preview->size);
    jpeg_read_header(&jpeg, TRUE);
    jpeg_start_decompress(&jpeg);
    assert_int_equal(jpeg.output_width, preview->width);
    assert_int_equal(jpeg.output_height, preview->height);
    assert_int_equal(jpeg.output_components, channels);
    const size_t row = (size_t)preview->width * (size_t)channels;
    uint8_t *samples = calloc(row, (size_t)preview->height);
    while (jpeg.output_scanline < jpeg.output_height) {
        JSAMPROW line = samples + jpeg.output_scanline * row;
        jpeg_read_scanlines(&jpeg, &line, 1);
    }
    jpeg_finish_decompress(&jpeg);
    jpeg_destroy_decompress(&jpeg);
    return samples;
}

static tl_image blank(int width, int height, int channels) {
    const size_t count = (size_t)width * (size_t)height * (size_t)channels;
    tl_image image = {.width = width,
                      .height = height,
                      .channels = channels,
                      .sample = calloc(count, sizeof(uint16_t))};
    assert_non_null(image.sample);
    return image;
}

static void fill(tl_image *image, int x0, int y0, int x1, int y1, int channel, uint16_t value) {
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++)
            image->sample[(y * image->width + x) * image->channels + channel] = value;
}

/* Centre of the light in small-picture pixels (centre of the first pixel at 0). */
static void centre_of_light(const uint8_t *samples, const tl_preview *p, double *x, double *y) {
    double sum = 0.0, sum_x = 0.0, sum_y = 0.0;
    for (int j = 0; j < p->height; j++)
        for (int i = 0; i < p->width; i++) {
            const double code = samples[j * p->width + i] / 255.0;
            /* IEC 61966-2-1; below 0.1 lie the ripples of the compression. */
            const double light = code < 0.1 ? 0.0 : pow((code + 0.055) / 1.055, 2.4);
            sum += light;
            sum_x += light * i;
            sum_y += light * j;
        }
    assert_true(sum > 0.0);
    *x = sum_x / sum;
    *y = sum_y / sum;
}

/* A bright square whose centre is known must lie where scale and corner say. */
static void expect_in_place(double x0, double y0, double x1, double y1, int max_side) {
    tl_image image = blank(301, 203, 1);
    fill(&image, 120, 60, 161, 101, 0, 65535); /* pixels 120..160 and 60..100: centre (140, 80) */
    tl_preview p = {0};
    assert_int_equal(tl_preview_make(&image, x0, y0, x1, y1, max_side, &p), TL_OK);
    uint8_t *samples = decode(&p, 1);
    double x, y;
    centre_of_light(samples, &p, &x, &y);
    /* From the header: (x_px - x0_px) * scale is measured from the edge, half a pixel before the
     * centre of the first small pixel. A twentieth of a small pixel is what the compression and the
     * eight bits leave. */
    const double tolerance_px = 0.05;
    if (fabs(x + 0.5 - (140.0 - p.x0_px) * p.scale) > tolerance_px ||
        fabs(y + 0.5 - (80.0 - p.y0_px) * p.scale) > tolerance_px)
        fail_msg("light at %.3f, %.3f (corner %.1f, %.1f, scale %.4f)", x, y, p.x0_px, p.y0_px,
                 p.scale);
    free(samples);
    tl_preview_free(&p);
    tl_image_free(&image);
}

static void what_is_shown_lies_where_it_should(void **state) {
    (void)state;
    expect_in_place(0, 0, 301, 203, 1000);
    expect_in_place(0, 0, 301, 203, 150);
    expect_in_place(0, 0, 301, 203, 97);
    expect_in_place(100, 40, 200, 120, 900);
    expect_in_place(99.4, 40.7, 201.3, 120.2, 77);
    expect_in_place(-1e9, -50, 200, 1e9, 120);
}

static void cut_is_clamped_and_sized(void **state) {
    (void)state;
    tl_image image = blank(300, 200, 3);
    tl_preview p = {0};
    assert_int_equal(tl_preview_make(&image, 0, 0, 300, 200, 900, &p), TL_OK);
    assert_true(p.width == 300 && p.height == 200 && p.scale == 1.0);
    assert_true(p.x0_px == -0.5 && p.y0_px == -0.5);
    tl_preview_free(&p);
    assert_null(p.jpeg);
    tl_preview_free(&p);

    assert_int_equal(tl_preview_make(&image, -40.0, 10.0, 260.0, 9999.0, 100, &p), TL_OK);
    assert_int_equal(p.width, 100); /* 260 x 190 px at a scale of 100/260 */
    assert_int_equal(p.height, 74);
    assert_true(p.scale == 100.0 / 260.0);
    assert_true(p.x0_px == -0.5 && p.y0_px == 9.5);
    tl_preview_free(&p);

    /* Pixels whose centres lie in [x0, x1): 100 to 201 and 41 to 120. */
    assert_int_equal(tl_preview_make(&image, 99.4, 40.7, 201.3, 121.0, 900, &p), TL_OK);
    assert_true(p.width == 102 && p.height == 80);
    assert_true(p.x0_px == 99.5 && p.y0_px == 40.5);
    tl_preview_free(&p);

    assert_int_equal(tl_preview_make(&image, 0, 0, 300, 200, 1, &p), TL_OK);
    assert_true(p.width == 1 && p.height == 1);
    tl_preview_free(&p);

    tl_preview untouched = {.width = -7};
    assert_int_equal(tl_preview_make(&image, 10, 10, 10, 20, 100, &untouched), TL_ERR_ARGUMENT);
    assert_int_equal(tl_preview_make(&image, 300, 0, 400, 20, 100, &untouched), TL_ERR_ARGUMENT);
    assert_int_equal(tl_preview_make(&image, 20, 0, 10, 20, 100, &untouched), TL_ERR_ARGUMENT);
    assert_int_equal(tl_preview_make(&image, NAN, 0, NAN, 20, 100, &untouched), TL_ERR_ARGUMENT);
    assert_int_equal(tl_preview_make(&image, 0, 0, 300, 200, 0, &untouched), TL_ERR_ARGUMENT);
    assert_int_equal(untouched.width, -7);
    tl_image_free(&image);
}

/* Half the pixels white, half black: half the light, which sRGB codes as 188 (IEC 61966-2-1:
 * 255 (1.055 0.5^(1/2.4) - 0.055) = 187.5), not the 128 of averaged codes. */
static void shrinking_keeps_the_light(void **state) {
    (void)state;
    tl_image image = blank(400, 300, 1);
    for (int i = 0; i < 400 * 300; i++)
        image.sample[i] = (i % 400 + i / 400) % 2 == 0 ? 65535 : 0;
    static const int side[] = {200, 100, 50};
    for (size_t s = 0; s < sizeof side / sizeof side[0]; s++) {
        tl_preview p = {0};
        assert_int_equal(tl_preview_make(&image, 0, 0, 400, 300, side[s], &p), TL_OK);
        uint8_t *samples = decode(&p, 1);
        for (int i = 0; i < p.width * p.height; i++)
            assert_in_range(samples[i], 188 - code_tolerance, 188 + code_tolerance);
        free(samples);
        tl_preview_free(&p);
    }
    tl_image_free(&image);
}

/* Full scale everywhere stays full scale, in the last, narrower row and column too. */
static void white_stays_white(void **state) {
    (void)state;
    tl_image image = blank(1009, 757, 3);
    for (int c = 0; c < 3; c++)
        fill(&image, 0, 0, 1009, 757, c, 65535);
    static const int side[] = {900, 333, 7};
    for (size_t s = 0; s < sizeof side / sizeof side[0]; s++) {
        tl_preview p = {0};
        assert_int_equal(tl_preview_make(&image, 0, 0, 1009, 757, side[s], &p), TL_OK);
        uint8_t *samples = decode(&p, 3);
        for (int i = 0; i < p.width * p.height * 3; i++)
            assert_in_range(samples[i], 255 - code_tolerance, 255);
        free(samples);
        tl_preview_free(&p);
    }
    tl_image_free(&image);
}

/* Every linear value against the nearest code by the formula of IEC 61966-2-1 (its inverse). */
static void codes_are_the_nearest(void **state) {
    (void)state;
    uint8_t *table = malloc(65536);
    tl_frame_code_table(table);
    for (int v = 0; v < 65536; v++) {
        const double light = v / 65535.0;
        const double code =
            255.0 * (light <= 0.0031308 ? 12.92 * light : 1.055 * pow(light, 1 / 2.4) - 0.055);
        /* Nearest within a hair: the two published branches do not quite meet, by 2e-6 of a code.
         */
        if (fabs(table[v] - code) > 0.5001)
            fail_msg("%d gets code %d, not %.3f", v, table[v], code);
    }
    free(table);
}

static void colours_stay_apart(void **state) {
    (void)state;
    tl_image image = blank(64, 64, 3);
    fill(&image, 0, 0, 64, 64, 0, 65535); /* red */
    tl_preview p = {0};
    assert_int_equal(tl_preview_make(&image, 0, 0, 64, 64, 32, &p), TL_OK);
    uint8_t *samples = decode(&p, 3);
    assert_in_range(samples[0], 255 - code_tolerance, 255);
    assert_in_range(samples[1], 0, code_tolerance);
    assert_in_range(samples[2], 0, code_tolerance);
    free(samples);
    tl_preview_free(&p);
    tl_image_free(&image);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_shown_lies_where_it_should),
        cmocka_unit_test(cut_is_clamped_and_sized),
        cmocka_unit_test(shrinking_keeps_the_light),
        cmocka_unit_test(white_stays_white),
        cmocka_unit_test(codes_are_the_nearest),
        cmocka_unit_test(colours_stay_apart),
    };
    return cmocka_run_group_tests_name("frame_preview", tests, NULL, NULL);
}
