/*
 * timeline_marks.c - dots and strokes of the time line, told apart by shape as well as by colour.
 */
#include <math.h>

#include "report/path_internal.h"
#include "report/timeline_internal.h"

tl_report_time_mark tl_report_time_mark_of(const tl_report_time_point *point) {
    return point->from_itself    ? TL_REPORT_MARK_CROSS
           : point->other_camera ? TL_REPORT_MARK_SQUARE
                                 : TL_REPORT_MARK_DOT;
}

static void draw_cross(cairo_t *cr, double x, double y) {
    const double reach = 5.0;
    cairo_move_to(cr, x - reach, y - reach);
    cairo_line_to(cr, x + reach, y + reach);
    cairo_move_to(cr, x - reach, y + reach);
    cairo_line_to(cr, x + reach, y - reach);
    tl_report_set_colour(cr, TL_REPORT_DOT, 1.0);
    cairo_set_line_width(cr, 2.2);
    cairo_stroke(cr);
}

void tl_report_time_draw_mark(cairo_t *cr, tl_report_time_mark mark, bool doubtful, double x,
                              double y) {
    const double square = 4.6, triangle = 6.4;
    const tl_report_colour colour =
        mark == TL_REPORT_MARK_TRIANGLE ? TL_REPORT_MOON : TL_REPORT_DOT;
    if (mark == TL_REPORT_MARK_DOT) {
        tl_report_draw_dot(cr, x, y, doubtful);
        return;
    }
    if (mark == TL_REPORT_MARK_CROSS) {
        draw_cross(cr, x, y);
        return;
    }
    cairo_new_path(cr);
    if (mark == TL_REPORT_MARK_SQUARE) {
        cairo_rectangle(cr, x - square, y - square, 2.0 * square, 2.0 * square);
    } else {
        cairo_move_to(cr, x, y - triangle);
        cairo_line_to(cr, x + triangle, y + 0.8 * triangle);
        cairo_line_to(cr, x - triangle, y + 0.8 * triangle);
        cairo_close_path(cr);
    }
    tl_report_paint_mark(cr, colour, doubtful, doubtful ? 2.0 : 1.3);
}

static void stroke_dashed(cairo_t *cr, tl_report_colour colour, double width,
                          const double dash[2]) {
    tl_report_set_colour(cr, colour, 1.0);
    cairo_set_line_width(cr, width);
    cairo_set_dash(cr, dash, 2, 0.0);
    cairo_stroke(cr);
    cairo_set_dash(cr, NULL, 0, 0.0);
}

void tl_report_time_stroke_obscuration(cairo_t *cr) {
    static const double dash[] = {8.0, 4.0};
    stroke_dashed(cr, TL_REPORT_MOON, 1.7, dash);
}

void tl_report_time_stroke_trend(cairo_t *cr) {
    static const double dash[] = {6.0, 5.0};
    stroke_dashed(cr, TL_REPORT_INK, 1.5, dash);
}

void tl_report_time_stroke_contact(cairo_t *cr) {
    static const double dash[] = {3.0, 3.0};
    stroke_dashed(cr, TL_REPORT_MOON, 1.2, dash);
}

void tl_report_time_draw_beyond(cairo_t *cr, double x, double y, bool upwards) {
    const double length = 18.0;
    tl_report_set_colour(cr, TL_REPORT_DOT, 1.0);
    tl_report_draw_arrow(cr, x, upwards ? y + length : y - length, x, y);
}
