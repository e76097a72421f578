/*
 * Photographs put right: where what is in a picture lands on its plate, which follows from the
 * conventions of base.h (docs/conventions.md) by hand, and the sheets and drawings made of them.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>

#include <cmocka.h>

#include "report/draw_internal.h"
#include "report/plate_internal.h"
#include "test_report_series.h"

enum { PICTURE = 800 };
#define MARK_PA_RAD (57.0 * TL_DEG)
#define MARK_SR 0.6
#define SUN_LIGHT 20000

/* In a frame with `up` up: x right, y down, as base.h writes it down. */
static void frame_place(double up_rad, bool mirrored, double pa_rad, double r, double *x,
                        double *y) {
    const double s = r * sin(pa_rad - up_rad), c = r * cos(pa_rad - up_rad);
    *x = mirrored ? s : -s;
    *y = -c;
}

/* The frame's picture is drawn anew: a disc, the Moon's of the limb in front, a dark mark; seen
 * flattened by `flat` along y. */
static void draw_picture(tl_sequence *s, size_t i, double light, double flat) {
    tl_sequence_frame *frame = &s->frame[i];
    const tl_track_frame *tracked = &s->track.frame[i];
    const double cx = 390.0, cy = 410.0, r = 260.0;
    double mark_x, mark_y;
    frame_place(tracked->up_pa_rad, true, MARK_PA_RAD, MARK_SR, &mark_x, &mark_y);
    tl_image image = {.width = PICTURE,
                      .height = PICTURE,
                      .channels = 3,
                      .sample = calloc(3 * PICTURE * PICTURE, sizeof(uint16_t))};
    assert_non_null(image.sample);
    for (int y = 0; y < PICTURE; y++)
        for (int x = 0; x < PICTURE; x++) {
            const double u = (x - cx) / r, v = (y - cy) / (r * flat);
            const bool sun = hypot(u, v) < 1.0 && hypot(u - mark_x, v - mark_y) > 0.06;
            const bool moon =
                frame->limb.status == TL_LIMB_MEASURED &&
                hypot(u - frame->limb.offset_x_sr, v - frame->limb.offset_y_sr) < SERIES_RATIO;
            uint16_t *rgb = image.sample + 3 * (y * PICTURE + x);
            if (sun && !moon) {
                rgb[0] = (uint16_t)(light * SUN_LIGHT);
                rgb[1] = (uint16_t)(0.4 * light * SUN_LIGHT);
            }
        }
    frame->limb.circle[TL_SUN_X] = cx;
    frame->limb.circle[TL_SUN_Y] = cy;
    frame->limb.circle[TL_SUN_R] = r;
    frame->limb.flattening = flat;
    frame->limb.flat_x = 0.0;
    frame->limb.flat_y = 1.0;
    tl_preview_free(&frame->preview);
    assert_int_equal(tl_preview_make(&image, 0, 0, PICTURE, PICTURE, 640, &frame->preview), TL_OK);
    tl_image_free(&image);
}

static tl_sequence series_drawn(void) {
    tl_sequence s = series_solved();
    for (size_t i = 0; i < s.count; i++)
        if (s.frame[i].preview.size > 0)
            draw_picture(&s, i, 1.0, 1.0);
    return s;
}

enum { SIDE = 240 };
#define REACH 1.2
#define PX_PER_SR (SIDE / (2.0 * REACH))

/* Brightness of red where (x, y), in solar radii from the middle, lands. */
static int red_at(const unsigned char *rgb, double x, double y) {
    const int u = (int)lround(0.5 * (SIDE - 1) + x * PX_PER_SR);
    const int v = (int)lround(0.5 * (SIDE - 1) + y * PX_PER_SR);
    return rgb[3 * (v * SIDE + u)];
}

static const tl_report_plate *plate_of(const tl_report_source *source, size_t frame) {
    for (size_t k = 0; k < source->plates.count; k++)
        if (source->plates.item[k].frame == frame)
            return &source->plates.item[k];
    fail_msg("frame %zu has no plate", frame);
    return NULL;
}

/* The mark stands at its position angle, and the disc reaches to its limb all round. */
static void assert_upright(const tl_report_source *source, size_t frame, tl_report_up up,
                           double up_pa_rad) {
    const tl_report_plate_look look = {up, SIDE, REACH, false};
    unsigned char *rgb = NULL;
    double x, y;
    assert_int_equal(tl_report_plate_pixels(source, plate_of(source, frame), &look, &rgb), TL_OK);
    frame_place(up_pa_rad, false, MARK_PA_RAD, MARK_SR, &x, &y);
    assert_true(red_at(rgb, x, y) < 60);
    assert_true(red_at(rgb, -x, y) > 180); /* where it would be if it were mirrored */
    int lit = 0;
    for (int k = 0; k < 360; k += 10) {
        const double a = k * TL_DEG;
        lit += red_at(rgb, 0.97 * cos(a), 0.97 * sin(a)) > 150;
        assert_true(red_at(rgb, 1.03 * cos(a), 1.03 * sin(a)) < 100);
    }
    assert_true(lit >= 20); /* of 36: the Moon hides less than half of the limb */
    free(rgb);
}

static void pictures_are_turned_north_up_and_unmirrored(void **state) {
    (void)state;
    tl_sequence s = series_drawn();
    tl_report_source source;
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    assert_upright(&source, 0, TL_REPORT_NORTH_UP, 0.0);
    assert_upright(&source, SERIES_SUN_ONLY, TL_REPORT_NORTH_UP, 0.0);
    /* up on the plate is then the zenith, whose position angle is the parallactic angle */
    assert_upright(&source, 0, TL_REPORT_ZENITH_UP, s.track.frame[0].sky.parallactic_rad);
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

static void flattening_is_taken_out(void **state) {
    (void)state;
    tl_sequence s = series_drawn();
    tl_report_source source;
    draw_picture(&s, 0, 1.0, 0.93);
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    assert_upright(&source, 0, TL_REPORT_NORTH_UP, 0.0);
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

/* A picture with two thirds of the light comes out as bright, unless it is wanted as it was
 * exposed. */
static void discs_are_brought_to_one_brightness(void **state) {
    (void)state;
    const int tolerance = 6; /* codes of 255: JPEG and rounding */
    tl_sequence s = series_drawn();
    tl_report_source source;
    draw_picture(&s, 1, 2.0 / 3.0, 1.0);
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    for (int as_exposed = 0; as_exposed < 2; as_exposed++) {
        const tl_report_plate_look look = {TL_REPORT_NORTH_UP, SIDE, REACH, as_exposed == 1};
        int red[2];
        for (size_t i = 0; i < 2; i++) {
            unsigned char *rgb = NULL;
            double x, y;
            assert_int_equal(tl_report_plate_pixels(&source, plate_of(&source, i), &look, &rgb),
                             TL_OK);
            frame_place(0.0, false, MARK_PA_RAD, 0.3, &x, &y); /* off the mark and the Moon */
            red[i] = red_at(rgb, x, y);
            free(rgb);
        }
        if (as_exposed) /* the sRGB codes of 20000 / 65535, and of two thirds of it */
            assert_true(abs(red[0] - 150) < tolerance && abs(red[1] - 125) < tolerance);
        else /* EVEN_LEVEL, 0.78: code 228 */
            assert_true(abs(red[0] - 228) < tolerance && abs(red[1] - 228) < tolerance);
    }
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

/* The Moon's centre as measured stands at the almanac's position angle: the invented series is
 * made so. */
static void moon_stands_where_it_was_measured(void **state) {
    (void)state;
    tl_sequence s = series_drawn();
    tl_report_source source;
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    for (int up = 0; up < TL_REPORT_UPS; up++) {
        const tl_sky *sky = &s.track.frame[2].sky;
        const double zenith = up == TL_REPORT_ZENITH_UP ? sky->parallactic_rad : 0.0;
        double x, y, ratio, expected_x, expected_y;
        frame_place(zenith, false, sky->pa_rad, s.frame[2].limb.separation_sr, &expected_x,
                    &expected_y);
        assert_true(
            tl_report_plate_moon(&source, plate_of(&source, 2), (tl_report_up)up, &x, &y, &ratio));
        assert_close(x, expected_x, 1e-9);
        assert_close(y, expected_y, 1e-9);
        assert_close(ratio, SERIES_RATIO, 1e-9);
    }
    double x, y, ratio;
    assert_false(tl_report_plate_moon(&source, plate_of(&source, SERIES_SUN_ONLY),
                                      TL_REPORT_NORTH_UP, &x, &y, &ratio));
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

static void plates_are_in_order_of_time(void **state) {
    (void)state;
    tl_sequence s = series_drawn();
    tl_report_source source;
    s.track.frame[0].true_utc_s += 5000.0; /* taken later than its name says */
    s.track.frame[4].has_true = false;
    s.frame[6].excluded = true;
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    const tl_report_plates *plates = &source.plates;
    assert_true(plates->utc);
    assert_int_equal(plates->count, SERIES_FRAMES - 2); /* one refused, one broken */
    for (size_t k = 1; k + 1 < plates->count; k++)
        assert_true(plates->item[k - 1].t_s < plates->item[k].t_s);
    assert_int_equal(plates->item[plates->count - 1].frame, 4); /* without a time */
    assert_false(plates->item[plates->count - 1].timed);
    assert_true(plate_of(&source, SERIES_OUTLIER)->doubtful);
    assert_true(plate_of(&source, 6)->doubtful);
    assert_false(plate_of(&source, 1)->doubtful);
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

static void spread_keeps_first_and_last(void **state) {
    (void)state;
    tl_sequence s = series_drawn();
    tl_report_source source;
    size_t chosen[SERIES_FRAMES];
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    const size_t all = source.plates.count;
    assert_int_equal(tl_report_plates_spread(&source.plates, TL_REPORT_NORTH_UP, 50, chosen), all);
    assert_int_equal(tl_report_plates_spread(&source.plates, TL_REPORT_NORTH_UP, 4, chosen), 4);
    assert_int_equal(chosen[0], 0);
    assert_int_equal(chosen[3], all - 1);
    assert_true(chosen[0] < chosen[1] && chosen[1] < chosen[2] && chosen[2] < chosen[3]);
    for (size_t k = 0; k < all; k++)
        source.plates.item[k].has_zenith = false;
    assert_int_equal(tl_report_plates_spread(&source.plates, TL_REPORT_ZENITH_UP, 4, chosen), 0);
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

/* ---- the sheet ---- */

static void sheet_shows_every_plate(void **state) {
    (void)state;
    tl_sequence s = series_drawn();
    tl_report_source source;
    tl_report_text jpeg = {0};
    unsigned char *rgb = NULL;
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    assert_int_equal(tl_report_contact_sheet(&source, TL_REPORT_NORTH_UP, &jpeg), TL_OK);
    /* A frame header (ITU T.81, B.2.2) tells the size. */
    tl_preview sheet = {.jpeg = (unsigned char *)jpeg.data, .size = jpeg.length};
    size_t at = 2;
    while (at + 9 < jpeg.length && sheet.jpeg[at + 1] != 0xC0)
        at += 2 + (size_t)sheet.jpeg[at + 2] * 256 + sheet.jpeg[at + 3];
    assert_true(at + 9 < jpeg.length);
    sheet.height = 256 * sheet.jpeg[at + 5] + sheet.jpeg[at + 6];
    sheet.width = 256 * sheet.jpeg[at + 7] + sheet.jpeg[at + 8];
    assert_int_equal(sheet.width, 4 * 460 + 96);
    assert_int_equal(tl_preview_pixels(&sheet, &rgb), TL_OK);
    /* ten plates in four columns; stretches of orange along the middles of the rows */
    size_t discs = 0;
    const double tile = 460.0;
    for (int row = 0; row < 3; row++) {
        const int y = (int)(150.0 + tile / 2.0 + row * (tile + 2.4 * 1.35 * 26.0));
        bool inside = false;
        for (int x = 0; x < sheet.width && y < sheet.height; x++) {
            const unsigned char *p = rgb + 3 * ((size_t)y * (size_t)sheet.width + (size_t)x);
            const bool orange = p[0] > 150 && p[2] < 90;
            discs += orange && !inside;
            inside = orange;
        }
    }
    assert_true(discs >= 8); /* the deepest two have the Moon over their middle */
    free(rgb);
    tl_report_text_free(&jpeg);
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

static void no_plates_no_sheet(void **state) {
    (void)state;
    tl_sequence s = series_nothing();
    tl_report_source source;
    tl_report_text jpeg = {0};
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    assert_int_equal(tl_report_contact_sheet(&source, TL_REPORT_NORTH_UP, &jpeg), TL_OK);
    assert_int_equal(jpeg.length, 0);
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

/* ---- drawings ---- */

/* A square of one colour in a corner, and a plate. */
static tl_status draw_corner(cairo_t *cr, const void *context) {
    const tl_report_source *source = context;
    const tl_report_plate_look look = {TL_REPORT_NORTH_UP, 64, REACH, false};
    cairo_set_source_rgb(cr, 0.0, 0.0, 1.0);
    cairo_rectangle(cr, 10.0, 20.0, 10.0, 10.0);
    cairo_fill(cr);
    cairo_surface_t *plate;
    const tl_status status =
        tl_report_plate_surface(source, &source->plates.item[0], &look, true, &plate);
    if (status != TL_OK)
        return status;
    tl_report_draw_surface(cr, plate, CAIRO_FILTER_GOOD, 40.0, 0.0, 32.0, 32.0);
    cairo_surface_destroy(plate);
    return TL_OK;
}

static void one_drawing_for_all_formats(void **state) {
    (void)state;
    tl_sequence s = series_drawn();
    tl_report_source source;
    tl_report_text svg = {0}, png = {0};
    unsigned char *rgb = NULL;
    assert_int_equal(tl_report_source_make(&s, &source), TL_OK);
    const tl_report_drawing drawing = {100.0, 50.0, draw_corner, &source};
    assert_int_equal(tl_report_draw_pixels(&drawing, 2.0, &rgb), TL_OK);
    const unsigned char blue[] = {0, 0, 255}, black[] = {0, 0, 0};
    assert_memory_equal(rgb + 3 * (42 * 200 + 22), blue, 3); /* (11, 21) twice as large */
    assert_memory_equal(rgb + 3 * (42 * 200 + 18), black, 3);
    assert_int_equal(tl_report_draw_png(&drawing, 2.0, &png), TL_OK);
    /* signature, and width and height of the header (PNG third edition, 5.2 and 11.2.1) */
    assert_memory_equal(png.data, "\x89PNG\r\n\x1A\n", 8);
    assert_memory_equal(png.data + 16, "\0\0\0\xC8\0\0\0\x64", 8);
    assert_int_equal(tl_report_draw_svg(&drawing, &svg), TL_OK);
    assert_non_null(strstr(svg.data, "width=\"100px\" height=\"50px\""));
    assert_non_null(strstr(svg.data, "data:image/jpeg;base64,")); /* not its pixels one by one */
    assert_true(svg.length < 12000);
    free(rgb);
    tl_report_text_free(&svg);
    tl_report_text_free(&png);
    tl_report_source_free(&source);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(pictures_are_turned_north_up_and_unmirrored),
        cmocka_unit_test(flattening_is_taken_out),
        cmocka_unit_test(discs_are_brought_to_one_brightness),
        cmocka_unit_test(moon_stands_where_it_was_measured),
        cmocka_unit_test(plates_are_in_order_of_time),
        cmocka_unit_test(spread_keeps_first_and_last),
        cmocka_unit_test(sheet_shows_every_plate),
        cmocka_unit_test(no_plates_no_sheet),
        cmocka_unit_test(one_drawing_for_all_formats),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
