/*
 * Where the drawing puts the path and the measured points.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/draw_internal.h"
#include "test_report_spot_series.h"

/* At C1 and C4 the centres are 1 + ratio apart (definition of the contacts), at maximum the
 * smallest separation; C1 lies west of the Sun and C4 east (the Moon overtakes the Sun eastwards).
 */
static void path_runs_over_the_contacts(void **state) {
    (void)state;
    const double tolerance_sr = 2e-3; /* the series keeps its contact times to 0.1 s: 5e-5 sr; and
                                         its ratio is that of maximum: up to 1.6e-3 off */
    tl_sequence s = series_solved();
    const tl_report_facts facts = tl_report_facts_of(&s);
    tl_report_path path;
    assert_int_equal(tl_report_path_make(&s, &facts, &path), TL_OK);
    assert_true(path.on_sky && path.direction_measured);
    const tl_report_point *c1 = &path.contact[TL_C1], *c4 = &path.contact[TL_C4];
    const tl_report_point *max = &path.contact[TL_MAX];
    assert_close(hypot(c1->east_sr, c1->north_sr), 1.0 + 1.07581, 2.5 * tolerance_sr);
    assert_close(hypot(c4->east_sr, c4->north_sr), 1.0 + 1.07581, 2.5 * tolerance_sr);
    assert_close(hypot(max->east_sr, max->north_sr), 0.67838, tolerance_sr);
    assert_true(c1->east_sr < 0.0 && c4->east_sr > 0.0);
    assert_close(path.zenith_pa_rad, -38.822 * TL_DEG, 1e-9);
    assert_int_equal(path.measured_count, 9);
    for (size_t i = 0; i < path.measured_count; i++) {
        const size_t frame = path.measured[i].frame;
        const tl_sky *sky = &s.track.frame[frame].sky;
        const double separation = s.frame[frame].limb.separation_sr;
        assert_close(path.measured[i].east_sr, separation * sin(sky->pa_rad), 1e-9);
        assert_close(path.measured[i].north_sr, separation * cos(sky->pa_rad), 1e-9);
    }
    tl_report_path_free(&path);
    tl_sequence_free(&s);
}

/* Without a place: a straight path below the centre, right to left. */
static void flat_path_keeps_the_separations(void **state) {
    (void)state;
    tl_sequence s = series_no_site();
    const tl_report_facts facts = tl_report_facts_of(&s);
    tl_report_path path;
    assert_int_equal(tl_report_path_make(&s, &facts, &path), TL_OK);
    assert_false(path.on_sky);
    assert_int_equal(path.measured_count, 9);
    for (size_t i = 0; i < path.measured_count; i++) {
        const tl_report_point *point = &path.measured[i];
        const double separation = s.frame[point->frame].limb.separation_sr;
        const bool after = series_utc(point->frame) > SERIES_DAY_S + 32950.0 - 3.1;
        assert_close(point->north_sr, -0.6781, 1e-12);
        if (separation > 0.6781)
            assert_close(hypot(point->east_sr, point->north_sr), separation, 1e-12);
        assert_true(after ? point->east_sr >= 0.0 : point->east_sr <= 0.0);
    }
    assert_true(path.line[0].east_sr < -1.5);
    assert_true(path.line[path.line_count - 1].east_sr > 1.5);
    tl_report_path_free(&path);
    s.frame[0].camera = 1; /* its clock is another one, so it has no place on this path */
    assert_int_equal(tl_report_path_make(&s, &facts, &path), TL_OK);
    assert_int_equal(path.measured_count, 8);
    tl_report_path_free(&path);
    tl_sequence_free(&s);
}

/* A place that is no number, or far from all that an eclipse shows, would leave the drawing no
 * size; and a circle of that size takes for ever. */
static void what_cannot_be_drawn_is_left_out(void **state) {
    (void)state;
    tl_sequence s = series_spots();
    const tl_report_facts facts = tl_report_facts_of(&s);
    tl_report_path path;
    assert_int_equal(tl_report_path_make(&s, &facts, &path), TL_OK);
    const size_t measured = path.measured_count, spots = path.spot_count;
    tl_report_path_free(&path);
    s.frame[0].limb.separation_sr = INFINITY;
    s.frame[1].limb.separation_sr = NAN;
    s.frame[2].limb.separation_sr = 1e300;
    s.spots.spot[SPOT_A].radius_sr = INFINITY;
    s.track.circumstances.ratio = INFINITY;
    assert_int_equal(tl_report_path_make(&s, &facts, &path), TL_OK);
    assert_int_equal(path.measured_count, measured - 3);
    assert_int_equal(path.spot_count, spots - 1);
    assert_true(path.ratio < 5.0);
    tl_report_path_free(&path);
    tl_sequence_free(&s);
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, 8, 8);
    cairo_t *cr = cairo_create(surface);
    tl_report_add_circle(cr, 4.0, 4.0, INFINITY);
    tl_report_add_circle(cr, NAN, 4.0, 2.0);
    tl_report_add_circle(cr, 4.0, 4.0, 1e300);
    assert_false(cairo_has_current_point(cr));
    tl_report_add_circle(cr, 4.0, 4.0, 2.0);
    assert_true(cairo_has_current_point(cr));
    cairo_destroy(cr);
    cairo_surface_destroy(surface);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(path_runs_over_the_contacts),
        cmocka_unit_test(flat_path_keeps_the_separations),
        cmocka_unit_test(what_cannot_be_drawn_is_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
