/*
 * The pictures below limbs/: limbs and cusps in the right place, safe names, one for every frame.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/limbs_internal.h"
#include "test_report_series.h"

#define EXACT_PX 1e-9 /* rounding of closed forms with numbers below 1000 */

/* An ellipse of semi-axes 100 and 50 about (200, 300), the short one along (0.6, 0.8). */
static tl_limb tilted(void) {
    return (tl_limb){.status = TL_LIMB_MEASURED,
                     .circle = {200.0, 300.0, 100.0, 0.0, 0.0, 0.0},
                     .flattening = 0.5,
                     .flat_x = 0.6,
                     .flat_y = 0.8};
}

/* Closed form: an ellipse ends at centre + semi-axis * unit vector of the axis. */
static void ellipse_ends_where_its_axes_do(void **state) {
    (void)state;
    const tl_limb limb = tilted();
    tl_report_outline outline;
    double x, y;
    assert_true(tl_report_outline_of(&limb, TL_LIMB_SUN, &outline));
    tl_report_outline_point(&outline, atan2(0.8, 0.6), &x, &y);
    assert_close(x, 200.0 + 50.0 * 0.6, EXACT_PX);
    assert_close(y, 300.0 + 50.0 * 0.8, EXACT_PX);
    tl_report_outline_point(&outline, atan2(-0.6, 0.8), &x, &y);
    assert_close(x, 200.0 + 100.0 * 0.8, EXACT_PX);
    assert_close(y, 300.0 - 100.0 * 0.6, EXACT_PX);
    assert_false(tl_report_outline_of(&limb, TL_LIMB_MOON, &outline));
}

/* Every point satisfies (u / 100)^2 + (v / 50)^2 = 1 along the axes, and gives its angle back. */
static void ellipse_satisfies_its_equation(void **state) {
    (void)state;
    const tl_limb limb = tilted();
    tl_report_outline outline;
    assert_true(tl_report_outline_of(&limb, TL_LIMB_SUN, &outline));
    for (int k = 0; k < 24; k++) {
        const double angle = 2.0 * TL_PI * k / 24.0 + 0.01;
        double x, y;
        tl_report_outline_point(&outline, angle, &x, &y);
        const double v = (x - 200.0) * 0.6 + (y - 300.0) * 0.8;
        const double u = (x - 200.0) * 0.8 - (y - 300.0) * 0.6;
        assert_close(u * u / 1e4 + v * v / 2500.0, 1.0, EXACT_PX);
        assert_close(tl_report_outline_angle(&outline, x, y), angle, EXACT_PX);
    }
}

/* Closed form: circles of 5 px about (0, 0) and (6, 0) meet at (3, +-4), the 3-4-5 triangle. */
static void cusps_are_where_circles_meet(void **state) {
    (void)state;
    tl_limb limb = {.circle = {10.0, 20.0, 5.0, 16.0, 20.0, 5.0}, .flattening = 1.0};
    double xy[2][2];
    assert_int_equal(tl_report_cusps(&limb, xy), 2);
    assert_close(xy[0][0], 13.0, EXACT_PX);
    assert_close(xy[1][0], 13.0, EXACT_PX);
    assert_close(xy[0][1], 16.0, EXACT_PX);
    assert_close(xy[1][1], 24.0, EXACT_PX);
    limb.circle[TL_MOON_X] = 20.5; /* apart */
    assert_int_equal(tl_report_cusps(&limb, xy), 0);
    limb.circle[TL_MOON_X] = 10.5; /* one within the other */
    limb.circle[TL_MOON_R] = 4.0;
    assert_int_equal(tl_report_cusps(&limb, xy), 0);
    limb.circle[TL_MOON_R] = 0.0; /* no Moon */
    assert_int_equal(tl_report_cusps(&limb, xy), 0);
}

/* The same pressed to half its height: y - 20 halves, with both ellipses. */
static void cusps_are_flattened_with_the_discs(void **state) {
    (void)state;
    const tl_limb limb = {.circle = {10.0, 20.0, 5.0, 16.0, 20.0, 5.0},
                          .flattening = 0.5,
                          .flat_x = 0.0,
                          .flat_y = 1.0};
    double xy[2][2];
    assert_int_equal(tl_report_cusps(&limb, xy), 2);
    assert_close(xy[0][0], 13.0, EXACT_PX);
    assert_close(xy[0][1], 18.0, EXACT_PX);
    assert_close(xy[1][1], 22.0, EXACT_PX);
}

/* Points kept every degree from 350 to 370 degrees, one dropped at 90: a single stretch through 0.
 */
static void limb_is_seen_where_points_were_kept(void **state) {
    (void)state;
    tl_limb_edge edge[22];
    tl_limb limb = {.circle = {0.0, 0.0, 100.0}, .edge = edge, .edge_count = 22};
    for (int k = 0; k < 22; k++) {
        const double angle = (k < 21 ? 350.0 + k : 90.0) * TL_DEG;
        edge[k] =
            (tl_limb_edge){.x_px = 100.0 * cos(angle), .y_px = 100.0 * sin(angle), .used = k < 21};
    }
    tl_report_arc arc[TL_REPORT_ARCS_MAX];
    assert_int_equal(tl_report_arcs(&limb, TL_LIMB_SUN, arc), 1);
    assert_close(arc[0].from_rad, 350.0 * TL_DEG, EXACT_PX);
    assert_close(arc[0].to_rad, 370.0 * TL_DEG, EXACT_PX);
}

static void names_are_safe_and_in_order(void **state) {
    (void)state;
    static const struct {
        const char *path, *name;
    } expected[] = {
        {"/far/IMG_5761.JPG", "001-IMG_5761.jpg"},
        {"a b;$(rm -r)|'\"\\.jpg", "002-a_b___rm_-r_____.jpg"},
        {"caf\xC3\xA9\n\x01.jpeg", "003-caf____.jpg"},
        {"..", "004-..jpg"},
        {".hidden", "005-.hidden.jpg"},
        {"%s%n", "006-_s_n.jpg"},
    };
    enum { COUNT = sizeof expected / sizeof *expected };
    tl_sequence_frame frame[COUNT] = {{0}};
    char path[COUNT][64];
    const tl_sequence s = {.frame = frame, .count = COUNT};
    for (size_t i = 0; i < COUNT; i++) {
        strcpy(path[i], expected[i].path);
        frame[i].path = path[i];
    }
    for (size_t i = 0; i < COUNT; i++) {
        tl_report_text name = {0};
        tl_report_limbs_name(&s, i, &name);
        assert_string_equal(tl_report_text_string(&name), expected[i].name);
        assert_true(tl_report_is_limbs_name(name.data));
        tl_report_text_free(&name);
    }
    static const char *const foreign[] = {"",          "001.jpg",     "IMG_5761.jpg", "01-a.jpg",
                                          "001-a.png", "001-a b.jpg", "001-.txt",     "001-jpg"};
    for (size_t i = 0; i < sizeof foreign / sizeof *foreign; i++)
        assert_false(tl_report_is_limbs_name(foreign[i]));
}

/* As long as a name can be, all of it hostile: cut, so that no file system refuses it. */
static void long_names_are_cut(void **state) {
    (void)state;
    char path[300];
    memset(path, '~', sizeof path - 1);
    path[sizeof path - 1] = '\0';
    tl_sequence_frame frame = {.path = path};
    const tl_sequence s = {.frame = &frame, .count = 1};
    tl_report_text name = {0};
    tl_report_limbs_name(&s, 0, &name);
    assert_true(name.length < 100);
    assert_true(tl_report_is_limbs_name(name.data));
    tl_report_text_free(&name);
}

/* A picture of one colour with 16-bit light, as the finder would have got it. */
static tl_image plain(int side, uint16_t light) {
    tl_image image = {.width = side,
                      .height = side,
                      .channels = 1,
                      .sample = malloc((size_t)side * (size_t)side * sizeof(uint16_t))};
    assert_non_null(image.sample);
    for (int i = 0; i < side * side; i++)
        image.sample[i] = light;
    return image;
}

/* Half the picture is lit, so that the detail must show the step where the picture has it. */
static void details_are_cut_from_their_place(void **state) {
    (void)state;
    enum { SIDE = 400, STEP = 230 };
    tl_image image = plain(SIDE, 0);
    for (int i = 0; i < SIDE * SIDE; i++)
        image.sample[i] = i % SIDE < STEP ? 20000 : 0;
    /* The 3-4-5 triangle again, twenty times as large: cusps at (240, 120) and (240, 280). */
    tl_limb limb = {.status = TL_LIMB_MEASURED,
                    .circle = {180.0, 200.0, 100.0, 300.0, 200.0, 100.0},
                    .flattening = 1.0,
                    .channel = "luma"};
    tl_detail detail[TL_DETAILS] = {{0}};
    assert_int_equal(tl_details_make(&image, &limb, detail), TL_OK);
    const tl_detail *d = &detail[TL_DETAIL_CUSP];
    assert_true(d->width > 40 && d->height > 40);
    assert_true(d->x0 < 240 && d->x0 + d->width > 240);
    assert_true((d->y0 < 120 && d->y0 + d->height > 120) || (d->y0 < 280 && d->y0 > 200));
    assert_int_equal(d->light[STEP - 1 - (int)d->x0], 255);
    assert_int_equal(d->light[STEP - (int)d->x0], 0);
    assert_int_equal(detail[TL_DETAIL_LIMB].width, 0); /* no edge points */
    tl_details_free(detail);
    tl_image_free(&image);
}

static void assert_is_sheet(const tl_sequence *s, size_t i) {
    tl_report_text jpeg = {0};
    unsigned char *rgb = NULL;
    assert_int_equal(tl_report_limbs_sheet(s, i, &jpeg), TL_OK);
    const tl_preview again = {.jpeg = (unsigned char *)jpeg.data,
                              .size = jpeg.length,
                              .width = TL_REPORT_SHEET_WIDTH,
                              .height = TL_REPORT_SHEET_HEIGHT};
    assert_int_equal(tl_preview_pixels(&again, &rgb), TL_OK); /* a whole JPEG of that size */
    free(rgb);
    tl_report_text_free(&jpeg);
}

/* Measured, refused, unreadable, with hostile names: all have one. */
static void every_frame_has_its_sheet(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    for (size_t i = 0; i < s.count; i++)
        assert_is_sheet(&s, i);
    tl_sequence_free(&s);
    s = series_nothing();
    assert_is_sheet(&s, 0);
    tl_sequence_free(&s);
}

/* The preview's grey is where the preview is said to be, and the solar limb's blue on it. */
static void sheet_shows_picture_and_limb(void **state) {
    (void)state;
    enum { SIDE = 480 };
    tl_sequence s = series_solved();
    tl_sequence_frame *frame = &s.frame[0];
    tl_image image = plain(SIDE, 14000);
    tl_preview_free(&frame->preview);
    assert_int_equal(tl_preview_make(&image, 0, 0, SIDE, SIDE, SIDE, &frame->preview), TL_OK);
    frame->limb.circle[TL_SUN_X] = frame->limb.circle[TL_SUN_Y] = 239.5;
    frame->limb.circle[TL_SUN_R] = 120.0;
    frame->limb.circle[TL_MOON_R] = 0.0;
    frame->limb.edge_count = 0;
    tl_report_text jpeg = {0};
    unsigned char *rgb = NULL;
    assert_int_equal(tl_report_limbs_sheet(&s, 0, &jpeg), TL_OK);
    const tl_preview again = {.jpeg = (unsigned char *)jpeg.data,
                              .size = jpeg.length,
                              .width = TL_REPORT_SHEET_WIDTH,
                              .height = TL_REPORT_SHEET_HEIGHT};
    assert_int_equal(tl_preview_pixels(&again, &rgb), TL_OK);
    /* Where nothing is measured the picture has the whole width; its middle is the sheet's. */
    const size_t cx = TL_REPORT_SHEET_WIDTH / 2, cy = 404;
    const unsigned char *middle = rgb + 3 * (cy * TL_REPORT_SHEET_WIDTH + cx);
    assert_true(abs(middle[0] - middle[2]) < 8 && middle[0] > 100); /* grey */
    int blue = 0;
    const double r = 120.0 * 680.0 / SIDE; /* the picture fills the plate's 680 px */
    for (int k = 0; k < 360; k++) {
        const size_t x = (size_t)lround(800.0 + r * cos(k * TL_DEG));
        const size_t y = (size_t)lround(404.0 + r * sin(k * TL_DEG));
        const unsigned char *at = rgb + 3 * (y * TL_REPORT_SHEET_WIDTH + x);
        blue += at[2] > at[0] + 60;
    }
    assert_true(blue > 120 && blue < 300); /* dashed 8 on, 7 off */
    free(rgb);
    tl_report_text_free(&jpeg);
    tl_image_free(&image);
    tl_sequence_free(&s);
}

static void words_leave_nothing_out(void **state) {
    (void)state;
    static const char *const told[] = {"1.074\u00a0\u00b1\u00a00.003",
                                       "almanac 1.0",
                                       "1.84 px",
                                       "0.21 px",
                                       "Sun 241\u00b0",
                                       "Moon 109\u00b0",
                                       "red",
                                       "measured"};
    tl_sequence s = series_solved();
    tl_report_text all = {0};
    for (size_t n = 0; tl_report_limbs_row(&s, 0, n, &all) != NULL; n++)
        tl_report_text_add(&all, "\n");
    for (size_t i = 0; i < sizeof told / sizeof *told; i++)
        if (!strstr(tl_report_text_string(&all), told[i]))
            fail_msg("not told: %s", told[i]);
    tl_report_text_free(&all);
    assert_string_equal(tl_report_limbs_row(&s, SERIES_REFUSED, 0, &all), "Verdict");
    assert_non_null(strstr(all.data, SERIES_REFUSED_REASON));
    tl_report_text_free(&all);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ellipse_ends_where_its_axes_do),
        cmocka_unit_test(ellipse_satisfies_its_equation),
        cmocka_unit_test(cusps_are_where_circles_meet),
        cmocka_unit_test(cusps_are_flattened_with_the_discs),
        cmocka_unit_test(limb_is_seen_where_points_were_kept),
        cmocka_unit_test(names_are_safe_and_in_order),
        cmocka_unit_test(long_names_are_cut),
        cmocka_unit_test(details_are_cut_from_their_place),
        cmocka_unit_test(every_frame_has_its_sheet),
        cmocka_unit_test(sheet_shows_picture_and_limb),
        cmocka_unit_test(words_leave_nothing_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
