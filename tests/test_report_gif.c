/*
 * Animated GIFs: what is written comes back with giflib's own reader.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <math.h>

#include "test_report_gif_read.h"

/* ---- allocations of the library that fail (the linker's --wrap, see the Makefile) ---- */

static long allocations_left = -1; /* < 0: none fails */
static bool any_failed;

void *__real_malloc(size_t size);
void *__real_calloc(size_t count, size_t size);
void *__real_realloc(void *old, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t count, size_t size);
void *__wrap_realloc(void *old, size_t size);

static bool refused(void) {
    if (allocations_left == 0)
        return any_failed = true;
    allocations_left -= allocations_left > 0;
    return false;
}

void *__wrap_malloc(size_t size) {
    return refused() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t count, size_t size) {
    return refused() ? NULL : __real_calloc(count, size);
}

void *__wrap_realloc(void *old, size_t size) {
    return refused() ? NULL : __real_realloc(old, size);
}

/* ---- films ---- */

typedef struct scene {
    void (*pixel)(size_t k, int x, int y, unsigned char rgb[3]);
    int width, height;
    size_t fails_at; /* this frame cannot be had */
} scene;

enum { NEVER = 1000, FIRST_HOLD = 7, MOST = 1 << 24 };

static tl_status frame(void *context, size_t k, unsigned char *rgb) {
    const scene *s = context;
    if (k == s->fails_at)
        return TL_ERR_BROKEN;
    for (int y = 0; y < s->height; y++)
        for (int x = 0; x < s->width; x++)
            s->pixel(k, x, y, rgb + 3 * (y * s->width + x));
    return TL_OK;
}

static int hold_cs(void *context, size_t k) {
    (void)context;
    return FIRST_HOLD + 100 * (int)k;
}

static tl_report_film film_of(scene *s, size_t count) {
    return (tl_report_film){s->width, s->height, count, frame, hold_cs, s};
}

static tl_report_text written(scene *s, size_t count) {
    const tl_report_film film = film_of(s, count);
    tl_report_palette palette;
    tl_report_text gif = {0};
    assert_int_equal(tl_report_palette_make(&film, &palette), TL_OK);
    assert_in_range(palette.count, 1, TL_REPORT_PALETTE_MOST);
    assert_int_equal(tl_report_gif(&film, &palette, MOST, &gif), TL_OK);
    return gif;
}

/* An orange disc that darkens to its limb, noisy by a code or two, and a shadow that moves over it.
 */
static void sun(size_t k, int x, int y, unsigned char rgb[3]) {
    const double r = hypot(x - 60.0, y - 50.0) / 45.0;
    const double mu = sqrt(fmax(1.0 - r * r, 0.0));
    const bool dark = r > 1.0 || hypot(x - 10.0 - 12.0 * (double)k, y - 50.0) < 40.0;
    rgb[0] = (unsigned char)(dark ? 0 : 250 - 90 * (1.0 - mu) + (x * 7 + y * 13) % 3);
    rgb[1] = (unsigned char)(dark ? 0 : 150 - 75 * (1.0 - mu) + (x * 5 + y * 11) % 3);
    rgb[2] = (unsigned char)(dark ? 0 : 40 - 30 * (1.0 - mu));
}

static void two(size_t k, int x, int y, unsigned char rgb[3]) {
    const bool in = x >= 5 + 9 * (int)k && x < 15 + 9 * (int)k && y >= 8 && y < 15;
    memcpy(rgb, in ? (unsigned char[3]){255, 255, 255} : (unsigned char[3]){0, 0, 0}, 3);
}

static unsigned noise_at(size_t k, int x, int y, unsigned c) {
    unsigned v = ((unsigned)k * 977u + (unsigned)y) * 1009u + (unsigned)x * 3u + c;
    v = (v ^ v >> 16) * 0x7feb352du; /* an integer hash: C. Wellons, "Hash Prospector", 2018 */
    v = (v ^ v >> 15) * 0x846ca68bu;
    return v ^ v >> 16;
}

static void noise(size_t k, int x, int y, unsigned char rgb[3]) {
    for (unsigned c = 0; c < 3; c++)
        rgb[c] = (unsigned char)(noise_at(k, x, y, c) >> 24);
}

/* Noise that stays, and a pixel in each of two corners that does not. */
static void corners(size_t k, int x, int y, unsigned char rgb[3]) {
    noise(0, x, y, rgb);
    if ((x == 0 && y == 0) || (x == 119 && y == 89))
        memset(rgb, k % 2 ? 255 : 0, 3);
}

static void grey(size_t k, int x, int y, unsigned char rgb[3]) {
    (void)k;
    (void)y;
    memset(rgb, x / 4 * 4, 3); /* the same over 4 pixels, as the patterns are wide */
}

/* ---- tests ---- */

/* Size, times, repetition (an extension known by its name, then sub-block 1 with 0 for "for ever"),
 * and that nothing is taken away between frames. */
static void frames_times_and_loop_come_back(void **state) {
    (void)state;
    scene s = {sun, 120, 100, NEVER};
    tl_report_text bytes = written(&s, 5);
    gif_source source;
    GifFileType *gif = gif_read(&source, &bytes);
    assert_memory_equal(bytes.data, "GIF89a", 6);
    assert_int_equal(gif->ImageCount, 5);
    assert_int_equal(gif->SWidth, 120);
    assert_int_equal(gif->SHeight, 100);
    for (int k = 0; k < 5; k++) {
        assert_int_equal(gif_control(gif, k).DelayTime, FIRST_HOLD + 100 * k);
        assert_int_equal(gif_control(gif, k).DisposalMode, DISPOSE_DO_NOT);
    }
    const ExtensionBlock *loop = gif->SavedImages[0].ExtensionBlocks;
    assert_int_equal(loop[0].Function, APPLICATION_EXT_FUNC_CODE);
    assert_int_equal(loop[0].ByteCount, 11);
    assert_memory_equal(loop[0].Bytes, "NETSCAPE2.0", 11);
    assert_int_equal(loop[1].Function, CONTINUE_EXT_FUNC_CODE);
    assert_int_equal(loop[1].ByteCount, 3);
    assert_memory_equal(loop[1].Bytes, ((unsigned char[]){1, 0, 0}), 3);
    gif_close(gif);
    tl_report_text_free(&bytes);
}

/* 255 colours for some 2,000: a pixel within 10 codes of 255, the mean of 4 x 4 within 2. */
static void pixels_come_back(void **state) {
    (void)state;
    const int most = 10;
    const double most_mean = 2.0;
    scene s = {sun, 120, 100, NEVER};
    tl_report_text bytes = written(&s, 5);
    gif_source source;
    GifFileType *gif = gif_read(&source, &bytes);
    unsigned char seen[3 * 120 * 100], put[3 * 120 * 100];
    memset(seen, 77, sizeof seen); /* the first frame must leave none of it */
    for (int k = 0; k < 5; k++) {
        gif_compose(gif, k, seen);
        assert_int_equal(frame(&s, (size_t)k, put), TL_OK);
        for (size_t i = 0; i < sizeof seen; i++)
            assert_in_range(seen[i] - put[i] + most, 0, 2 * most);
        for (int y = 0; y < 100; y += 4)
            for (int x = 0; x < 3 * 120; x++) {
                double sum = 0.0;
                for (int i = 0; i < 16 && x % 12 < 3; i++) {
                    const int at = (y + i / 4) * 3 * 120 + x + 3 * (i % 4);
                    sum += seen[at] - put[at];
                }
                assert_true(fabs(sum / 16.0) <= most_mean);
            }
    }
    gif_close(gif);
    tl_report_text_free(&bytes);
}

/* Between two palette colours 128 apart the mean of a pattern is off by less than a sixteenth of
 * that and what is left over from the pixel before, another one. */
static void gradients_are_mixed(void **state) {
    (void)state;
    const tl_report_palette palette = {.count = 2, .rgb = {{0, 0, 0}, {128, 128, 128}}};
    scene s = {grey, 128, 4, NEVER};
    const tl_report_film film = film_of(&s, 1);
    tl_report_text bytes = {0};
    assert_int_equal(tl_report_gif(&film, &palette, MOST, &bytes), TL_OK);
    gif_source source;
    GifFileType *gif = gif_read(&source, &bytes);
    for (int x = 0; x < 128; x += 4) {
        double sum = 0.0;
        for (int i = 0; i < 16; i++)
            sum += 128.0 * gif->SavedImages[0].RasterBits[i / 4 * 128 + x + i % 4];
        assert_true(fabs(sum / 16.0 - x) <= 16.0);
    }
    gif_close(gif);
    tl_report_text_free(&bytes);
}

/* A white box of 10 x 7 moves right by 9: what changes lies from its old left to its new right. */
static void only_what_changes_is_stored(void **state) {
    (void)state;
    scene s = {two, 60, 20, NEVER};
    tl_report_text bytes = written(&s, 3);
    gif_source source;
    GifFileType *gif = gif_read(&source, &bytes);
    unsigned char seen[3 * 60 * 20], put[3 * 60 * 20];
    for (int k = 0; k < 3; k++) {
        const GifImageDesc *place = &gif->SavedImages[k].ImageDesc;
        assert_int_equal(place->Left, k == 0 ? 0 : 5 + 9 * (k - 1));
        assert_int_equal(place->Top, k == 0 ? 0 : 8);
        assert_int_equal(place->Width, k == 0 ? 60 : 19);
        assert_int_equal(place->Height, k == 0 ? 20 : 7);
        assert_int_equal(gif_control(gif, k).TransparentColor, k == 0 ? NO_TRANSPARENT_COLOR : 2);
        gif_compose(gif, k, seen);
        assert_int_equal(frame(&s, (size_t)k, put), TL_OK);
        assert_memory_equal(seen, put, sizeof seen); /* two colours: exactly */
    }
    gif_close(gif);
    tl_report_text_free(&bytes);
}

static void unchanged_frame_is_one_pixel(void **state) {
    (void)state;
    scene s = {grey, 30, 8, NEVER};
    tl_report_text bytes = written(&s, 2);
    gif_source source;
    GifFileType *gif = gif_read(&source, &bytes);
    assert_int_equal(gif->ImageCount, 2);
    assert_int_equal(gif->SavedImages[1].ImageDesc.Width, 1);
    assert_int_equal(gif->SavedImages[1].ImageDesc.Height, 1);
    gif_close(gif);
    tl_report_text_free(&bytes);
}

/* Where the rectangle is everything, what stays as it is costs next to nothing. */
static void unchanged_pixels_are_passed_over(void **state) {
    (void)state;
    scene s = {corners, 120, 90, NEVER};
    tl_report_text one = written(&s, 1), four = written(&s, 4);
    assert_true(one.length > 120 * 90 / 2); /* noise */
    assert_true(four.length < one.length + 3 * 500);
    tl_report_text_free(&one);
    tl_report_text_free(&four);
}

static void one_pixel(void **state) {
    (void)state;
    scene s = {noise, 1, 1, NEVER};
    tl_report_text bytes = written(&s, 2);
    gif_source source;
    GifFileType *gif = gif_read(&source, &bytes);
    unsigned char seen[3], put[3];
    for (int k = 0; k < 2; k++) {
        gif_compose(gif, k, seen);
        assert_int_equal(frame(&s, (size_t)k, put), TL_OK);
        assert_memory_equal(seen, put, sizeof seen);
    }
    gif_close(gif);
    tl_report_text_free(&bytes);
}

/* At worst every pixel takes a code of 12 bits (GIF89a, appendix F), and every 255 bytes one more.
 */
static void noise_is_bounded(void **state) {
    (void)state;
    scene s = {noise, 120, 90, NEVER};
    tl_report_text bytes = written(&s, 4);
    const size_t head = 900, pixels = 4 * 120 * 90;
    assert_true(bytes.length < head + pixels * 12 / 8 * 256 / 255 + 4 * 100);
    tl_report_text_free(&bytes);
}

static void too_large_gives_nothing(void **state) {
    (void)state;
    scene s = {noise, 120, 90, NEVER};
    const tl_report_film film = film_of(&s, 4);
    tl_report_text bytes = written(&s, 4), again = {0};
    const size_t size = bytes.length;
    tl_report_palette palette;
    assert_int_equal(tl_report_palette_make(&film, &palette), TL_OK);
    assert_int_equal(tl_report_gif(&film, &palette, size - 1, &again), TL_ERR_TOO_LARGE);
    assert_int_equal(again.length, 0);
    assert_int_equal(tl_report_gif(&film, &palette, size, &again), TL_OK);
    assert_int_equal(again.length, size);
    tl_report_text_free(&bytes);
    tl_report_text_free(&again);
}

static void what_cannot_be_is_refused(void **state) {
    (void)state;
    scene s = {sun, 120, 100, NEVER};
    tl_report_palette palette, none = {0};
    tl_report_text bytes = {0};
    tl_report_film film = film_of(&s, 2);
    assert_int_equal(tl_report_palette_make(&film, &palette), TL_OK);
    assert_int_equal(tl_report_gif(&film, &none, MOST, &bytes), TL_ERR_ARGUMENT);
    film.width = 65536;
    assert_int_equal(tl_report_gif(&film, &palette, MOST, &bytes), TL_ERR_ARGUMENT);
    film = film_of(&s, 657); /* the last one for 7 + 65600 hundredths of a second */
    assert_int_equal(tl_report_gif(&film, &palette, MOST, &bytes), TL_ERR_ARGUMENT);
    film = film_of(&s, 0);
    assert_int_equal(tl_report_gif(&film, &palette, MOST, &bytes), TL_ERR_ARGUMENT);
    s.fails_at = 1;
    film = film_of(&s, 2);
    assert_int_equal(tl_report_palette_make(&film, &palette), TL_ERR_BROKEN);
    assert_int_equal(tl_report_gif(&film, &palette, MOST, &bytes), TL_ERR_BROKEN);
    assert_int_equal(bytes.length, 0);
    tl_report_text_free(&bytes);
}

/* Every allocation of ours fails in turn; the sanitizer sees what is not freed then. */
static void no_memory_is_told(void **state) {
    (void)state;
    scene s = {sun, 120, 100, NEVER};
    const tl_report_film film = film_of(&s, 3);
    int failures = 0;
    for (long n = 0;; n++) {
        tl_report_palette palette;
        tl_report_text bytes = {0};
        allocations_left = n;
        any_failed = false;
        tl_status status = tl_report_palette_make(&film, &palette);
        if (status == TL_OK)
            status = tl_report_gif(&film, &palette, MOST, &bytes);
        allocations_left = -1;
        assert_int_equal(status, any_failed ? TL_ERR_MEMORY : TL_OK);
        assert_true(!any_failed || bytes.length == 0);
        tl_report_text_free(&bytes);
        if (!any_failed)
            break;
        failures++;
    }
    assert_true(failures >= 9); /* three for the palette, five for the writer, the bytes */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(frames_times_and_loop_come_back),
        cmocka_unit_test(pixels_come_back),
        cmocka_unit_test(gradients_are_mixed),
        cmocka_unit_test(only_what_changes_is_stored),
        cmocka_unit_test(unchanged_frame_is_one_pixel),
        cmocka_unit_test(unchanged_pixels_are_passed_over),
        cmocka_unit_test(one_pixel),
        cmocka_unit_test(noise_is_bounded),
        cmocka_unit_test(too_large_gives_nothing),
        cmocka_unit_test(what_cannot_be_is_refused),
        cmocka_unit_test(no_memory_is_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
