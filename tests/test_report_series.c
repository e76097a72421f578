/*
 * The series on the page: each photograph put right by an affine map, used and not copied; and a
 * page of many pictures.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "report/html_internal.h"
#include "report/plate_internal.h"
#include "test_report_pages.h"
#include "test_report_series.h"

/* A hundredth of a solar radius is the drawing's unit; the map is written to 4 decimals, and px of
 * the small picture go to 480. */
#define TOLERANCE_UNITS 0.06

static pages make_section(const tl_sequence *s) {
    pages p = {0};
    assert_int_equal(tl_report_source_make(s, &p.source), TL_OK);
    const tl_report_page page = tl_report_page_of(&p.source, &p.html);
    tl_report_html_series(&page);
    assert_false(p.html.failed);
    return p;
}

/* The map of picture 1, from the page. */
static void map_of_first(const char *html, double m[6]) {
    const char *use = strstr(html, "<use href=\"#image-1\" transform=\"matrix(");
    assert_non_null(use);
    assert_int_equal(sscanf(strchr(use, '('), "(%lf %lf %lf %lf %lf %lf)", &m[0], &m[1], &m[2],
                            &m[3], &m[4], &m[5]),
                     6);
}

/* Where a place of the disc, by its direction in the picture and its distance in solar radii, lies
 * on the plate. Closed form of the picture: circle, flattening along one axis, corner, scale. */
static void plate_place(const tl_sequence *s, const double m[6], double x_sr, double y_sr,
                        double *x, double *y) {
    const tl_limb *limb = &s->frame[0].limb;
    const tl_preview *small = &s->frame[0].preview;
    const double flat = limb->flattening > 0.0 ? limb->flattening : 1.0;
    const double along = x_sr * limb->flat_x + y_sr * limb->flat_y;
    const double px = limb->circle[TL_SUN_X] +
                      limb->circle[TL_SUN_R] * (x_sr + (flat - 1.0) * along * limb->flat_x);
    const double py = limb->circle[TL_SUN_Y] +
                      limb->circle[TL_SUN_R] * (y_sr + (flat - 1.0) * along * limb->flat_y);
    const double u = (px - small->x0_px) * small->scale, v = (py - small->y0_px) * small->scale;
    *x = m[0] * u + m[2] * v + m[4];
    *y = m[1] * u + m[3] * v + m[5];
}

/* North comes to the top and east to the left, at 100 units, however the camera was held: turned,
 * mirrored, with a flattened disc. */
static void north_is_up_and_east_left(void **state) {
    (void)state;
    for (int k = 0; k < 4; k++) {
        tl_sequence s = series_solved();
        const double up = (25.0 + 80.0 * k) * TL_DEG, flat = 40.0 * TL_DEG;
        const bool mirrored = k % 2 == 1;
        s.track.camera[0].mirrored = mirrored ? TL_MIRROR_YES : TL_MIRROR_NO;
        s.track.frame[0].up_pa_rad = up;
        if (k >= 2) {
            s.frame[0].limb.flattening = 0.95;
            s.frame[0].limb.flat_x = cos(flat);
            s.frame[0].limb.flat_y = sin(flat);
        }
        pages p = make_section(&s);
        double m[6], x, y;
        map_of_first(p.html.data, m);
        /* base.h: PA q lies at x = -sin(q - up), y = -cos(q - up); mirrored, x has the other sign
         */
        const double hand = mirrored ? -1.0 : 1.0;
        plate_place(&s, m, hand * sin(up), -cos(up), &x, &y);
        assert_close(x, 0.0, TOLERANCE_UNITS);
        assert_close(y, -100.0, TOLERANCE_UNITS);
        plate_place(&s, m, -hand * cos(up), -sin(up), &x, &y);
        assert_close(x, -100.0, TOLERANCE_UNITS);
        assert_close(y, 0.0, TOLERANCE_UNITS);
        plate_place(&s, m, 0.0, 0.0, &x, &y);
        assert_close(hypot(x, y), 0.0, TOLERANCE_UNITS);
        free_pages(&p);
        tl_sequence_free(&s);
    }
}

/* The style turns clockwise by --zenith; the zenith, at PA q from the top to the left, comes to the
 * top then. */
static void zenith_comes_to_the_top(void **state) {
    (void)state;
    const double half_digit_deg = 0.0051;
    tl_sequence s = series_solved();
    pages p = make_section(&s);
    const char *style = strstr(p.html.data, "style=\"--zenith:");
    assert_non_null(style);
    const double turn = strtod(style + strlen("style=\"--zenith:"), NULL);
    const double q = s.track.frame[0].sky.parallactic_rad;
    assert_close(remainder(turn - q / TL_DEG, 360.0), 0.0, half_digit_deg);
    const double x = -sin(q), y = -cos(q), c = cos(turn * TL_DEG), n = sin(turn * TL_DEG);
    assert_close(x * c - y * n, 0.0, 1e-3);
    assert_close(x * n + y * c, -1.0, 1e-3);
    assert_int_equal(count(p.html.data, "type=\"radio\""), 2);
    assert_int_equal(count(p.html.data, "id=\"up-north\" checked=\"checked\""), 1);
    free_pages(&p);
    tl_sequence_free(&s);
}

static void pictures_are_in_order_of_time_with_what_is_covered(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_section(&s);
    assert_non_null(strstr(p.html.data, " 2 pictures without a disc that could be measured are "
                                        "left out."));
    assert_int_equal(count(p.html.data, "<li>"), 10); /* 9 measured, 1 Sun only */
    double last = -1.0;
    for (const char *b = p.html.data; (b = strstr(b, "<b>")) != NULL; b++) {
        int h, min, sec;
        assert_int_equal(sscanf(b, "<b>%d:%d:%d", &h, &min, &sec), 3);
        assert_true(3600.0 * h + 60.0 * min + sec > last);
        last = 3600.0 * h + 60.0 * min + sec;
    }
    assert_close(last, 8 * 3600.0 + 600.0 + 660.0 * 11.0, 0.5); /* the last picture */
    assert_int_equal(count(p.html.data, "no Moon seen"), 1);
    assert_int_equal(count(p.html.data, "left out of the fits"), 1);
    /* Two unit circles a unit apart share this much of one of them: 39.1 %. */
    s.track.frame[0].obscuration = (2.0 * acos(0.5) - 0.5 * sqrt(3.0)) / TL_PI;
    free_pages(&p);
    p = make_section(&s);
    assert_non_null(strstr(p.html.data, "<b>08:10:00</b><span>39.1\u00a0% covered</span>"));
    free_pages(&p);
    tl_sequence_free(&s);
}

/* What is not known is said, and not drawn. */
static void unknown_directions_are_told(void **state) {
    (void)state;
    tl_sequence s = series_no_site();
    pages p = make_section(&s);
    assert_non_null(strstr(p.html.data, "turned as the camera was: north is not known. Times are "
                                        "those of the camera\u2019s clock."));
    assert_int_equal(count(p.html.data, "type=\"radio\""), 0);
    assert_int_equal(count(p.html.data, "class=\"north\""), 0);
    assert_int_equal(count(p.html.data, "contact-sheet-zenith.jpg"), 0);
    assert_int_equal(count(p.html.data, "href=\"contact-sheet.jpg\""), 1);
    free_pages(&p);
    tl_sequence_free(&s);
    s = series_solved();
    s.track.camera[0].mirrored = TL_MIRROR_AUTO;
    p = make_section(&s);
    assert_non_null(strstr(p.html.data, "Whether the pictures are mirrored is not known"));
    free_pages(&p);
    tl_sequence_free(&s);
    s = series_nothing();
    p = make_section(&s);
    assert_int_equal(p.html.length, 0);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* A disc that is no disc draws no picture, and breaks nothing. */
static void broken_circles_are_left_undrawn(void **state) {
    (void)state;
    const double bad[] = {NAN, INFINITY, 1e-320};
    for (size_t k = 0; k < 3; k++) {
        tl_sequence s = series_solved();
        s.frame[0].limb.circle[TL_SUN_X] = k < 2 ? bad[k] : 0.0;
        s.frame[0].limb.circle[TL_SUN_R] = k < 2 ? 300.0 : bad[k];
        pages p = make_section(&s);
        assert_null(strstr(p.html.data, "nan"));
        assert_null(strstr(p.html.data, "inf"));
        assert_null(strstr(p.html.data, "matrix( "));
        assert_well_formed(p.html.data);
        free_pages(&p);
        tl_sequence_free(&s);
    }
}

/* ---- many pictures -------------------------------------------------------------------------- */

enum { MANY = 500, EDGES = 400 };

static void *copy_of(const void *from, size_t size) {
    void *copy = malloc(size);
    if (!copy)
        abort();
    return memcpy(copy, from, size);
}

/* The first, measured pictures over and over, a second apart; each with a picture of its own and as
 * many edge points as real ones have. */
static tl_sequence series_many(void) {
    tl_sequence s = series_solved();
    tl_sequence many = s;
    many.count = many.track.frame_count = MANY;
    many.frame = calloc(MANY, sizeof *many.frame);
    many.track.frame = calloc(MANY, sizeof *many.track.frame);
    if (!many.frame || !many.track.frame)
        abort();
    for (size_t i = 0; i < MANY; i++) {
        const size_t like = i % SERIES_HOSTILE; /* measured, all of them */
        many.frame[i] = s.frame[like];
        many.track.frame[i] = s.track.frame[like];
        many.frame[i].path = series_copy("pictures/IMG_20270802_091653.JPG");
        many.frame[i].preview.jpeg =
            copy_of(s.frame[like].preview.jpeg, s.frame[like].preview.size);
        many.track.frame[i].true_utc_s = series_utc(0) + 14.0 * (double)i;
        tl_limb *limb = &many.frame[i].limb;
        limb->edge = calloc(EDGES, sizeof *limb->edge);
        if (!limb->edge)
            abort();
        limb->edge_count = EDGES;
        for (size_t k = 0; k < EDGES; k++) {
            const double *c = &limb->circle[k % 2 ? TL_SUN_X : TL_MOON_X];
            const double turn = 0.0157 * (double)k;
            limb->edge[k] = (tl_limb_edge){.x_px = c[0] + c[2] * cos(turn),
                                           .y_px = c[1] + c[2] * sin(turn),
                                           .limb = k % 2 ? TL_LIMB_SUN : TL_LIMB_MOON,
                                           .used = k % 5 != 0};
        }
    }
    s.track = (tl_track){.frame = s.track.frame, .frame_count = s.track.frame_count};
    tl_sequence_free(&s);
    return many;
}

/* The budget: 10 KB a picture beside its pixels. With 12 MB of pixels at most, 16 MB in base64, a
 * page of 500 stays under 25 MB. */
static void many_pictures_stay_within_the_budget(void **state) {
    (void)state;
    const size_t budget = 10000;
    tl_sequence s = series_many();
    pages p = {0};
    assert_int_equal(tl_report_source_make(&s, &p.source), TL_OK);
    assert_int_equal(tl_report_html(&p.source, &p.html), TL_OK);
    assert_true(p.html.length < MANY * budget);
    assert_int_equal(count(p.html.data, "<figure><div") + count(p.html.data, "<figure>\n<div"),
                     MANY);
    assert_int_equal(count(p.html.data, "data:image/jpeg;base64,"), MANY); /* each of them once */
    const char *section = strstr(p.html.data, "<section id=\"series\">");
    assert_non_null(section);
    assert_non_null(strstr(section, "Of 500, 60 are shown, evenly spread"));
    tl_report_text alone = {0};
    const tl_report_page page = tl_report_page_of(&p.source, &alone);
    tl_report_html_series(&page);
    assert_int_equal(count(alone.data, "<li>"), 60);
    assert_non_null(strstr(alone.data, "#image-1\""));   /* the first */
    assert_non_null(strstr(alone.data, "#image-500\"")); /* and the last */
    tl_report_text_free(&alone);
    free_pages(&p);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(north_is_up_and_east_left),
        cmocka_unit_test(zenith_comes_to_the_top),
        cmocka_unit_test(pictures_are_in_order_of_time_with_what_is_covered),
        cmocka_unit_test(unknown_directions_are_told),
        cmocka_unit_test(broken_circles_are_left_undrawn),
        cmocka_unit_test(many_pictures_stay_within_the_budget),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
