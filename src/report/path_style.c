/*
 * path_style.c - colours, strokes and text of the drawing.
 *
 * Sun, Moon and measurement differ in lightness and in line style as well as in hue,
 * so that they stay apart for colour-blind readers and in print (hues after Okabe &
 * Ito, "Color universal design", 2008).
 */
#include <math.h>

#include "report/draw_internal.h"
#include "report/path_internal.h"

typedef const double palette[TL_REPORT_COLOURS][3];

static palette light = {
    [TL_REPORT_PAPER] = {0.992, 0.988, 0.973}, [TL_REPORT_INK] = {0.13, 0.15, 0.18},
    [TL_REPORT_QUIET] = {0.40, 0.41, 0.43},    [TL_REPORT_SUN_FILL] = {1.0, 0.918, 0.690},
    [TL_REPORT_SUN_EDGE] = {0.72, 0.52, 0.04}, [TL_REPORT_MOON] = {0.0, 0.32, 0.55},
    [TL_REPORT_DOT] = {0.80, 0.31, 0.0},       [TL_REPORT_SPOT] = {0.17, 0.11, 0.05},
};
static palette dark = {
    [TL_REPORT_PAPER] = {0.0, 0.0, 0.0},       [TL_REPORT_INK] = {0.95, 0.95, 0.93},
    [TL_REPORT_QUIET] = {0.68, 0.70, 0.72},    [TL_REPORT_SUN_FILL] = {0.36, 0.25, 0.04},
    [TL_REPORT_SUN_EDGE] = {0.95, 0.68, 0.16}, [TL_REPORT_MOON] = {0.34, 0.71, 0.91},
    [TL_REPORT_DOT] = {0.94, 0.89, 0.26},      [TL_REPORT_SPOT] = {0.95, 0.86, 0.72},
};

static const cairo_user_data_key_t on_dark;

/* Only whether there is something matters: any pointer would do. */
void tl_report_set_dark(cairo_t *cr) {
    cairo_set_user_data(cr, &on_dark, (void *)&on_dark, NULL);
}

void tl_report_set_colour(cairo_t *cr, tl_report_colour colour, double alpha) {
    const double *rgb = cairo_get_user_data(cr, &on_dark) ? dark[colour] : light[colour];
    cairo_set_source_rgba(cr, rgb[0], rgb[1], rgb[2], alpha);
}

/* Letters that are not fitted to the pixels have the same widths wherever they are measured and
 * drawn, as shapes or as pixels. Left open, they depend on what else is drawn at the time. */
static void choose_font(cairo_t *cr, double size) {
    cairo_font_options_t *options = cairo_font_options_create();
    cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
    cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
    cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
    cairo_set_font_options(cr, options);
    cairo_font_options_destroy(options);
    cairo_select_font_face(cr, "sans-serif", CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_NORMAL);
    cairo_set_font_size(cr, size);
}

double tl_report_text_width(cairo_t *cr, const char *string, double size) {
    cairo_text_extents_t extents;
    choose_font(cr, size);
    cairo_text_extents(cr, string, &extents);
    return extents.x_advance;
}

void tl_report_draw_text(cairo_t *cr, const char *string, double size, double x, double y,
                         double align) {
    cairo_text_extents_t capital;
    const double width = tl_report_text_width(cr, string, size);
    cairo_text_extents(cr, "H", &capital);
    cairo_move_to(cr, x - align * width, y + capital.height / 2.0);
    cairo_show_text(cr, string);
    cairo_new_path(cr); /* the text's end would be the start of the next line */
}

void tl_report_paint_mark(cairo_t *cr, tl_report_colour colour, bool hollow, double rim) {
    tl_report_set_colour(cr, hollow ? TL_REPORT_PAPER : colour, 1.0);
    cairo_fill_preserve(cr);
    tl_report_set_colour(cr, hollow ? colour : TL_REPORT_PAPER, 1.0);
    cairo_set_line_width(cr, rim);
    cairo_stroke(cr);
}

void tl_report_draw_dot(cairo_t *cr, double x, double y, bool outlier) {
    const double radius = 5.0;
    cairo_new_sub_path(cr);
    tl_report_add_circle(cr, x, y, radius);
    tl_report_paint_mark(cr, TL_REPORT_DOT, outlier, outlier ? 2.0 : 1.3);
}

void tl_report_draw_arrow(cairo_t *cr, double x0, double y0, double x1, double y1) {
    const double head = 10.0, opening = 0.42;
    const double back = atan2(y0 - y1, x0 - x1);
    cairo_move_to(cr, x0, y0);
    cairo_line_to(cr, x1, y1);
    for (int side = -1; side <= 1; side += 2) {
        cairo_move_to(cr, x1, y1);
        cairo_line_to(cr, x1 + head * cos(back + side * opening),
                      y1 + head * sin(back + side * opening));
    }
    cairo_set_line_width(cr, 1.8);
    cairo_stroke(cr);
}

void tl_report_stroke_moon(cairo_t *cr, int contact) {
    static const double dashed[] = {9.0, 5.0}, dotted[] = {1.0, 5.0};
    tl_report_set_colour(cr, TL_REPORT_MOON, 1.0);
    cairo_set_line_width(cr, 2.0);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_ROUND);
    if (contact == TL_C1)
        cairo_set_dash(cr, dashed, 2, 0.0);
    if (contact == TL_C4)
        cairo_set_dash(cr, dotted, 2, 0.0);
    cairo_stroke(cr);
    cairo_set_dash(cr, NULL, 0, 0.0);
    cairo_set_line_cap(cr, CAIRO_LINE_CAP_BUTT);
}
