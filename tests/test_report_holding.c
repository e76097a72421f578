/*
 * How the camera was held and turned, on the page: words, drawing, table.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include <cmocka.h>

#include "report/html_internal.h"
#include "test_report_pages.h"
#include "test_report_series.h"

static pages make_section(const tl_sequence *s) {
    pages p = {0};
    assert_int_equal(tl_report_source_make(s, &p.source), TL_OK);
    const tl_report_page page = tl_report_page_of(&p.source, &p.html);
    tl_report_html_holding(&page);
    assert_false(p.html.failed);
    if (p.html.data)
        assert_well_formed(p.html.data);
    return p;
}

static void assert_has(const pages *p, const char *what) {
    if (!strstr(p->html.data, what))
        fail_msg("not there: %s\n%s", what, p->html.data);
}

static void section_tells_how_and_why(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_section(&s);
    assert_has(&p, "The camera was held level, as on an alt-azimuth mount.");
    assert_has(&p, "turned by 41\u00b0 anticlockwise in the picture");
    assert_has(&p, "That is known by the way in which the Moon went through the pictures");
    assert_int_equal(count(p.html.data, "Why a picture turns"), 1);
    free_pages(&p);
    s.track.camera[0].holding = TL_HOLDING_FIXED;
    s.track.camera[0].mirror_by_spots = true;
    p = make_section(&s);
    assert_has(&p, "That is known by the sunspots");
    assert_int_equal(count(p.html.data, "Why a picture turns"), 0);
    free_pages(&p);
    tl_sequence_free(&s);
    s = series_odd();
    p = make_section(&s);
    assert_has(&p, "<h3>camera 2</h3>");
    assert_has(&p, "(given). That is what you said.");
    free_pages(&p);
    tl_sequence_free(&s);
    s = series_nothing();
    p = make_section(&s);
    assert_int_equal(p.html.length, 0);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* The places of the marks by the Moon, in the drawing's units. */
static size_t marks(const char *html, double *x, double *y, size_t most) {
    size_t n = 0;
    const char *end = strstr(html, "<figcaption");
    for (const char *m = html; (m = strstr(m, "<path class=\"by-moon\" d=\"M")) != NULL && m < end;
         m++, n++) {
        assert_true(n < most);
        assert_int_equal(sscanf(m, "<path class=\"by-moon\" d=\"M%lf %lf", &x[n], &y[n]), 2);
    }
    return n;
}

/* Pictures come every 11 minutes and, here, turn by 3 degrees from one to the next, through north:
 * equal steps on the drawing, both ways, without a jump at 360. */
static void drawing_is_straight_through_north(void **state) {
    (void)state;
    const double tolerance = 0.11; /* two values to one decimal */
    double x[SERIES_FRAMES], y[SERIES_FRAMES];
    tl_sequence s = series_solved();
    for (size_t i = 0; i < s.count; i++)
        s.track.frame[i].up_pa_rad = tl_angle_positive((345.0 + 3.0 * (double)i) * TL_DEG);
    pages p = make_section(&s);
    const size_t n = marks(p.html.data, x, y, SERIES_FRAMES);
    assert_int_equal(n, 11); /* all but the unreadable one, which has no time */
    for (size_t k = 2; k < 9; k++) {
        assert_close(x[k] - x[k - 1], x[1] - x[0], tolerance);
        assert_close(y[k] - y[k - 1], y[1] - y[0], tolerance);
    }
    assert_true(x[1] > x[0] && y[1] < y[0]); /* later to the right, larger up */
    assert_has(&p, ">0\u00b0</text>");
    free_pages(&p);
    tl_sequence_free(&s);
}

/* The error of a turn is drawn where it is larger than its mark, to both sides alike. */
static void errors_are_drawn(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_section(&s);
    assert_int_equal(count(p.html.data, "class=\"error\""), 0);
    free_pages(&p);
    s.track.frame[0].up_sigma_rad = 20.0 * TL_DEG;
    p = make_section(&s);
    assert_int_equal(count(p.html.data, "class=\"error\""), 1);
    double x[SERIES_FRAMES], y[SERIES_FRAMES], low, high;
    assert_true(marks(p.html.data, x, y, SERIES_FRAMES) > 0);
    const char *error = strstr(p.html.data, "class=\"error\" d=\"M");
    assert_int_equal(sscanf(error, "class=\"error\" d=\"M%*f %lfL%*f %lf", &low, &high), 2);
    assert_close(0.5 * (low + high), y[0], 0.11);
    assert_true(low > high);
    free_pages(&p);
    tl_sequence_free(&s);
}

static void kinds_have_shapes_of_their_own(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    s.track.frame[0].turn_by = TL_TURN_BY_RULE;
    for (size_t i = 1; i <= 2; i++) {
        s.track.frame[i].turn_by = TL_TURN_BY_SPOTS;
        s.track.frame[i].has_spots_up = true;
        s.track.frame[i].spots_up_rad = s.track.frame[i].up_pa_rad;
    }
    pages p = make_section(&s);
    assert_int_equal(count(p.html.data, "class=\"by-rule\""), 2); /* and in the legend */
    assert_int_equal(count(p.html.data, "class=\"by-spots\""), 2 + 1);
    assert_int_equal(count(p.html.data, "class=\"by-moon\""), 8 + 1);
    assert_has(&p, "<td>the mount\u2019s rule</td>");
    assert_has(&p, "<td>its sunspots</td>");
    free_pages(&p);
    tl_sequence_free(&s);
}

/* What is not finite is not drawn. */
static void broken_turns_are_left_out(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    for (size_t i = 0; i < s.count; i++) {
        s.track.frame[i].up_pa_rad = i == 0 ? INFINITY : NAN;
        s.track.frame[i].up_sigma_rad = NAN;
    }
    pages p = make_section(&s);
    assert_null(strstr(p.html.data, "nan"));
    assert_int_equal(count(p.html.data, "<svg"), 0);
    free_pages(&p);
    s.track.frame[0].up_pa_rad = s.track.frame[1].up_pa_rad = 1.0;
    s.track.frame[0].up_sigma_rad = INFINITY;
    p = make_section(&s);
    assert_null(strstr(p.html.data, "nan"));
    assert_null(strstr(p.html.data, "inf"));
    free_pages(&p);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(section_tells_how_and_why),
        cmocka_unit_test(drawing_is_straight_through_north),
        cmocka_unit_test(errors_are_drawn),
        cmocka_unit_test(kinds_have_shapes_of_their_own),
        cmocka_unit_test(broken_turns_are_left_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
