/*
 * The drawing of the series in time: letters within it and apart, panels left out, the page.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cairo-svg.h>
#include <cmocka.h>

#include "report/draw_internal.h"
#include "report/timeline_internal.h"
#include "test_report_pages.h"
#include "test_report_series.h"
#include "test_report_spot_series.h"

/* What measures letters and is drawn into. */
typedef struct board {
    cairo_surface_t *surface;
    cairo_t *cr;
} board;

static board make_board(void) {
    board b = {.surface = cairo_svg_surface_create(NULL, 10.0, 10.0)};
    b.cr = cairo_create(b.surface);
    return b;
}

static void free_board(board *b) {
    cairo_destroy(b->cr);
    cairo_surface_destroy(b->surface);
}

static tl_report_timeline timeline_of(const tl_sequence *s) {
    const tl_report_facts facts = tl_report_facts_of(s);
    tl_report_timeline timeline;
    assert_int_equal(tl_report_timeline_make(s, &facts, &timeline), TL_OK);
    return timeline;
}

static tl_report_time_layout layout_of(const tl_report_timeline *timeline, unsigned panels,
                                       double width, double height) {
    static tl_report_time_layout layout; /* large */
    board b = make_board();
    tl_report_time_lay_out(b.cr, timeline, panels, width, height, &layout);
    free_board(&b);
    return layout;
}

static const tl_report_time_label *find(const tl_report_time_layout *layout, const char *text) {
    for (size_t k = 0; k < layout->label_count; k++)
        if (strcmp(layout->label[k].text, text) == 0)
            return &layout->label[k];
    return NULL;
}

static void assert_letters_in_order(const tl_report_time_layout *layout) {
    const double rounding = 1e-6;
    for (size_t i = 0; i < layout->label_count; i++) {
        const tl_report_time_label *a = &layout->label[i];
        assert_true(a->x - a->half_width >= -rounding && a->y - a->half_height >= -rounding);
        assert_true(a->x + a->half_width <= layout->width + rounding);
        assert_true(a->y + a->half_height <= layout->height + rounding);
        for (size_t k = 0; k < i; k++) {
            const tl_report_time_label *b = &layout->label[k];
            if (fabs(a->x - b->x) < a->half_width + b->half_width - rounding &&
                fabs(a->y - b->y) < a->half_height + b->half_height - rounding)
                fail_msg("\"%s\" lies on \"%s\"", a->text, b->text);
        }
    }
}

/* ---- kinds of series ---- */

/* A central eclipse over midnight of UTC: 20 May 2012, seen from 50 N 175 W; its C2, maximum and
 * C3 lie six minutes apart. */
static tl_sequence series_midnight(void) {
    const double day_s = 1337472000.0; /* 2012-05-20T00:00:00Z */
    tl_sequence s = series_solved();
    s.options.site = (tl_site){TL_SITE_GIVEN, 50.0 * TL_DEG, -175.0 * TL_DEG, 0.0};
    s.track.camera[0].clock.zone_minutes = -600;
    if (tl_sky_circumstances(&s.options.site, day_s, &s.options.sky, &s.track.circumstances) !=
        TL_OK)
        abort();
    for (size_t i = 0; i < s.count; i++)
        s.track.frame[i].true_utc_s +=
            s.track.circumstances.contact[TL_C1].t_utc_s - SERIES_DAY_S - 8.0 * 3600.0;
    return s;
}

static tl_sequence series_many(void) {
    return series_many_spots(12);
}

static tl_sequence series_pictures_alone(void) {
    tl_sequence s = series_no_site();
    s.track.free_solved = false;
    return s;
}

/* Many far off, next to each other. */
static tl_sequence series_far(void) {
    tl_sequence s = series_solved();
    for (size_t i = 2; i < s.count; i++) {
        s.track.frame[i].true_utc_s = series_utc(2) + 40.0 * (double)i;
        s.track.frame[i].outlier = true;
        s.track.frame[i].residual_sr = (i % 3 ? -0.05 : 0.3) * (double)i;
        s.frame[i].limb.blur_px = 30.0 * (double)i;
    }
    return s;
}

static tl_sequence series_not_finite(void) {
    tl_sequence s = series_solved();
    for (size_t i = 0; i < s.count; i++) {
        s.frame[i].limb.separation_sr = i % 2 ? NAN : INFINITY;
        s.frame[i].limb.separation_sigma_sr = NAN;
        s.frame[i].limb.blur_px = i % 3 ? -INFINITY : NAN;
        s.track.frame[i].residual_sr = NAN;
        s.track.frame[i].magnitude = i % 2 ? INFINITY : NAN;
    }
    return s;
}

static tl_sequence (*const kinds[])(void) = {
    series_solved, series_odd, series_no_site,        series_nothing,  series_spots,
    series_many,   series_far, series_pictures_alone, series_midnight, series_not_finite};
enum { KINDS = sizeof kinds / sizeof *kinds };

/* ---- tests ---- */

static void letters_lie_within_and_apart(void **state) {
    (void)state;
    static const double size[][2] = {{876, 900}, {876, 500},  {1029, 578}, {964, 482},
                                     {500, 400}, {1600, 300}, {390, 700},  {200, 200}};
    for (size_t i = 0; i < KINDS; i++) {
        tl_sequence s = kinds[i]();
        tl_report_timeline t = timeline_of(&s);
        for (unsigned panels = 1; panels <= TL_REPORT_ALL_PANELS; panels++)
            for (size_t k = 0; k < sizeof size / sizeof *size; k++) {
                const tl_report_time_layout layout = layout_of(&t, panels, size[k][0], size[k][1]);
                assert_letters_in_order(&layout);
                for (size_t n = 0; n < layout.plot_count; n++) /* a number beside 0 */
                    assert_true(layout.plot[n].step <= layout.plot[n].range.high);
            }
        tl_report_timeline_free(&t);
        tl_sequence_free(&s);
    }
}

static void drawings_are_well_formed(void **state) {
    (void)state;
    for (size_t i = 0; i < KINDS; i++) {
        tl_sequence s = kinds[i]();
        const tl_report_facts facts = tl_report_facts_of(&s);
        tl_report_timeline t = timeline_of(&s);
        tl_report_text svg = {0};
        assert_int_equal(tl_report_timeline_svg(&facts, &t, &svg), TL_OK);
        assert_int_equal(svg.length > 0, t.panels != 0);
        assert_int_equal(svg.length > 0, kinds[i] != series_nothing);
        assert_well_formed(tl_report_text_string(&svg));
        assert_int_equal(count(tl_report_text_string(&svg), "nan"), 0);
        assert_int_equal(count(tl_report_text_string(&svg), "inf"), 0);
        tl_report_text_free(&svg);
        tl_report_timeline_free(&t);
        tl_sequence_free(&s);
    }
}

/* Orange are the marks of what is known: none but those of the two keys, in the title of a panel
 * and in the legend. */
static void what_is_not_finite_is_not_drawn(void **state) {
    (void)state;
    tl_sequence s = series_not_finite();
    const tl_report_facts facts = tl_report_facts_of(&s);
    tl_report_timeline t = timeline_of(&s);
    tl_report_text svg = {0};
    assert_int_equal(tl_report_timeline_svg(&facts, &t, &svg), TL_OK);
    assert_int_equal(count(svg.data, "fill:rgb(80%,31%,0%)"), 2);
    assert_int_equal(count(svg.data, "stroke:rgb(80%,31%,0%)"), 1); /* a hollow one in the legend */
    tl_report_text_free(&svg);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

/* The axis begins 2.5 % of the line's length before C1 and ends as much after C4. */
static void time_and_value_have_their_place(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    tl_report_timeline t = timeline_of(&s);
    const tl_report_time_layout layout = layout_of(&t, TL_REPORT_ALL_PANELS, 876.0, 900.0);
    const double wide = layout.right - layout.left;
    assert_int_equal(layout.plot_count, TL_REPORT_PANELS);
    assert_close(tl_report_time_x(&t, &layout, t.contact_s[TL_C1]),
                 layout.left + wide * 0.025 / 1.05, 1e-6);
    assert_close(tl_report_time_x(&t, &layout, t.contact_s[TL_C4]),
                 layout.right - wide * 0.025 / 1.05, 1e-6);
    for (size_t k = 0; k < layout.plot_count; k++) {
        const tl_report_time_plot *plot = &layout.plot[k];
        assert_close(tl_report_time_y(plot, plot->range.low), plot->bottom, 1e-9);
        assert_close(tl_report_time_y(plot, plot->range.high), plot->top, 1e-9);
        assert_true(plot->step <= plot->range.high);
    }
    const tl_report_time_label *nine = find(&layout, "09:00"), *eleven = find(&layout, "11:00");
    assert_non_null(nine);
    assert_non_null(eleven); /* the local clock, two hours on, below it */
    assert_close(nine->x, tl_report_time_x(&t, &layout, SERIES_DAY_S + 32400.0), 1e-6);
    assert_close(eleven->x, nine->x, 1e-6);
    assert_true(eleven->y > nine->y);
    assert_non_null(find(&layout, "UTC"));
    assert_non_null(find(&layout, "UTC+02:00"));
    assert_null(find(&layout, "2 August 2027")); /* of one day the title tells the date */
    assert_non_null(find(&layout, "C1"));
    assert_non_null(find(&layout, "09:09")); /* of maximum, 09:09:10 */
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

static void dates_stand_below_their_part(void **state) {
    (void)state;
    tl_sequence s = series_midnight();
    tl_report_timeline t = timeline_of(&s);
    const tl_report_time_layout layout = layout_of(&t, TL_REPORT_ALL_PANELS, 876.0, 900.0);
    const double midnight = tl_report_time_x(&t, &layout, 1337472000.0 + TL_DAY_S);
    const tl_report_time_label *zero = find(&layout, "00:00"),
                               *before = find(&layout, "20 May 2012");
    const tl_report_time_label *after = find(&layout, "21 May 2012");
    assert_non_null(zero);
    assert_non_null(before);
    assert_non_null(after);
    assert_close(zero->x, midnight, 1e-6);
    assert_true(before->x < midnight && after->x > midnight);
    assert_close(before->y, after->y, 1e-9);
    const tl_report_time_label *names[] = {find(&layout, "C2"), find(&layout, "max"),
                                           find(&layout, "C3")};
    assert_true(names[0] && names[1] && names[2]);
    assert_true(names[0]->x < names[1]->x && names[1]->x < names[2]->x);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

/* 0.0312 solar radii of 945.6 arcsec: 29.5, and the axis has whole seconds. */
static void far_point_is_told_by_an_arrow(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    tl_report_timeline t = timeline_of(&s);
    const tl_report_time_layout layout = layout_of(&t, TL_REPORT_ALL_PANELS, 876.0, 900.0);
    const tl_report_time_label *value = find(&layout, "+30");
    assert_non_null(value);
    assert_true(value->y > layout.plot[2].top && value->y < layout.plot[2].top + 30.0);
    assert_close(value->x, tl_report_time_x(&t, &layout, series_utc(SERIES_OUTLIER)), 60.0);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

static void panels_are_chosen_and_left_out(void **state) {
    (void)state;
    tl_sequence s = series_pictures_alone();
    tl_report_timeline t = timeline_of(&s);
    tl_report_time_layout layout = layout_of(&t, TL_REPORT_ALL_PANELS, 876.0, 900.0);
    assert_int_equal(layout.plot_count, 3); /* no residuals */
    layout = layout_of(&t, TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_RESIDUAL), 876.0, 900.0);
    assert_int_equal(layout.plot_count, 0);
    layout = layout_of(&t, TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_BLUR), 876.0, 900.0);
    assert_int_equal(layout.plot_count, 1);
    assert_int_equal(layout.plot[0].panel, TL_REPORT_PANEL_BLUR);
    layout = layout_of(&t, TL_REPORT_ALL_PANELS, 876.0, 60.0);
    assert_int_equal(layout.plot_count, 0); /* no room */
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

static void drawing_keeps_to_its_rectangle(void **state) {
    (void)state;
    enum { SIDE = 400, LEFT = 100, TOP = 60, WIDE = 280, HIGH = 300 };
    tl_sequence s = series_spots();
    tl_report_timeline t = timeline_of(&s);
    const tl_report_timeline_look look = {
        TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_SEPARATION), LEFT, TOP, WIDE, HIGH, 8.0};
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_A8, SIDE, SIDE);
    cairo_t *cr = cairo_create(surface);
    assert_int_equal(tl_report_draw_timeline(cr, &t, &look), TL_OK);
    cairo_destroy(cr);
    cairo_surface_flush(surface);
    const unsigned char *data = cairo_image_surface_get_data(surface);
    const int stride = cairo_image_surface_get_stride(surface);
    size_t inside = 0;
    for (int y = 0; y < SIDE; y++)
        for (int x = 0; x < SIDE; x++) {
            const bool within = x >= LEFT && x < LEFT + WIDE && y >= TOP && y < TOP + HIGH;
            inside += within && data[y * stride + x] > 0;
            assert_true(within || data[y * stride + x] == 0);
        }
    assert_true(inside > 1000);
    cairo_surface_destroy(surface);
    tl_report_timeline_free(&t);
    tl_sequence_free(&s);
}

/* ---- the page ---- */

static pages make_pages(const tl_sequence *s) {
    pages p = {0};
    assert_int_equal(tl_report_source_make(s, &p.source), TL_OK);
    assert_int_equal(tl_report_html(&p.source, &p.html), TL_OK);
    return p;
}

static void page_has_both_sections_or_none(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    assert_int_equal(count(p.html.data, "id=\"timeline\""), 1);
    assert_int_equal(count(p.html.data, "href=\"#timeline\""), 1);
    assert_int_equal(count(p.html.data, "id=\"focus\""), 1);
    assert_int_equal(count(p.html.data, "href=\"#focus\""), 1);
    free_pages(&p);
    tl_sequence_free(&s);
    s = series_nothing();
    p = make_pages(&s);
    assert_int_equal(count(p.html.data, "#timeline"), 0);
    assert_int_equal(count(p.html.data, "id=\"timeline\""), 0);
    assert_int_equal(count(p.html.data, "#focus"), 0);
    assert_int_equal(count(p.html.data, "id=\"focus\""), 0);
    free_pages(&p);
    tl_sequence_free(&s);
}

/* The invented errors of the eight pictures in the fit: rms 0.00140, largest 0.0025, of a radius of
 * 945.7 arcsec: 1.3 and 2.4. */
static void page_tells_what_is_seen(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    pages p = make_pages(&s);
    assert_non_null(strstr(p.html.data, "the 8 distances used scatter by 1.3\u2033 (rms)"));
    assert_non_null(
        strstr(p.html.data, "the one farthest off, by 2.4\u2033, is that of 08:43 UTC"));
    assert_non_null(strstr(p.html.data, "1 picture left out of the fit is hollow."));
    assert_non_null(strstr(p.html.data, "so no trend is claimed"));
    assert_null(strstr(p.html.data, "focus again"));
    free_pages(&p);
    for (size_t i = 0; i < s.count; i++) /* twice as wide after an hour */
        s.frame[i].limb.blur_px = 1.84 * exp2((series_utc(i) - series_utc(0)) / 3600.0);
    p = make_pages(&s);
    assert_non_null(strstr(p.html.data, "Over the series it gets wider by 100\u00a0\u00b1\u00a0"));
    assert_non_null(strstr(p.html.data, "focus again"));
    free_pages(&p);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(letters_lie_within_and_apart),
        cmocka_unit_test(drawings_are_well_formed),
        cmocka_unit_test(what_is_not_finite_is_not_drawn),
        cmocka_unit_test(time_and_value_have_their_place),
        cmocka_unit_test(dates_stand_below_their_part),
        cmocka_unit_test(far_point_is_told_by_an_arrow),
        cmocka_unit_test(panels_are_chosen_and_left_out),
        cmocka_unit_test(drawing_keeps_to_its_rectangle),
        cmocka_unit_test(page_has_both_sections_or_none),
        cmocka_unit_test(page_tells_what_is_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
