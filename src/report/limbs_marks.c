/*
 * limbs_marks.c - the limbs as lines and the edge points as marks, on a piece of the picture.
 */
#include <math.h>

#include "report/draw_internal.h"
#include "report/limbs_internal.h"

void tl_report_set_ink(cairo_t *cr, tl_report_ink ink) {
    static const double rgb[TL_REPORT_INKS][3] = {
        [TL_REPORT_INK_SUN] = {0.34, 0.71, 0.91},     [TL_REPORT_INK_MOON] = {0.94, 0.89, 0.26},
        [TL_REPORT_INK_DROPPED] = {0.93, 0.42, 0.13}, [TL_REPORT_INK_TEXT] = {0.95, 0.95, 0.93},
        [TL_REPORT_INK_LABEL] = {0.68, 0.70, 0.72},   [TL_REPORT_INK_LINE] = {0.36, 0.38, 0.41},
        [TL_REPORT_INK_PANEL] = {0.03, 0.03, 0.04},   [TL_REPORT_INK_SHEET] = {0.10, 0.11, 0.13},
    };
    cairo_set_source_rgb(cr, rgb[ink][0], rgb[ink][1], rgb[ink][2]);
}

tl_report_mark tl_report_mark_of(const tl_limb_edge *edge) {
    return !edge->used                 ? TL_REPORT_MARK_DROPPED
           : edge->limb == TL_LIMB_SUN ? TL_REPORT_MARK_SUN
                                       : TL_REPORT_MARK_MOON;
}

static void mark_path(cairo_t *cr, tl_report_mark mark, double x, double y, double reach) {
    switch (mark) {
    case TL_REPORT_MARK_SUN:
        cairo_new_sub_path(cr);
        tl_report_add_circle(cr, x, y, reach);
        break;
    case TL_REPORT_MARK_MOON:
        cairo_move_to(cr, x - 1.2 * reach, y);
        cairo_line_to(cr, x, y - 1.2 * reach);
        cairo_line_to(cr, x + 1.2 * reach, y);
        cairo_line_to(cr, x, y + 1.2 * reach);
        cairo_close_path(cr);
        break;
    case TL_REPORT_MARK_DROPPED:
        cairo_move_to(cr, x - reach, y - reach);
        cairo_line_to(cr, x + reach, y + reach);
        cairo_move_to(cr, x - reach, y + reach);
        cairo_line_to(cr, x + reach, y - reach);
        break;
    default:
        cairo_rectangle(cr, x - reach, y - reach, 2.0 * reach, 2.0 * reach);
    }
}

/* On a dark rim, so that it stands out from the bright disc as well. */
void tl_report_stroke_rimmed(cairo_t *cr, tl_report_ink ink, double width) {
    cairo_set_source_rgba(cr, 0.0, 0.0, 0.0, 0.6);
    cairo_set_line_width(cr, width + 1.8);
    cairo_stroke_preserve(cr);
    tl_report_set_ink(cr, ink);
    cairo_set_line_width(cr, width);
    cairo_stroke(cr);
}

void tl_report_draw_mark(cairo_t *cr, tl_report_mark mark, double x, double y, double reach) {
    static const tl_report_ink ink[TL_REPORT_MARKS] = {[TL_REPORT_MARK_SUN] = TL_REPORT_INK_SUN,
                                                       [TL_REPORT_MARK_MOON] = TL_REPORT_INK_MOON,
                                                       [TL_REPORT_MARK_DROPPED] =
                                                           TL_REPORT_INK_DROPPED,
                                                       [TL_REPORT_MARK_CUSP] = TL_REPORT_INK_TEXT};
    mark_path(cr, mark, x, y, reach);
    tl_report_stroke_rimmed(cr, ink[mark], 1.8);
}

void tl_report_stroke_limb(cairo_t *cr, int which, bool seen) {
    static const double dashed[] = {8.0, 7.0};
    if (!seen)
        cairo_set_dash(cr, dashed, 2, 0.0);
    tl_report_stroke_rimmed(cr, which == TL_LIMB_SUN ? TL_REPORT_INK_SUN : TL_REPORT_INK_MOON,
                            seen ? 2.2 : 1.7);
    cairo_set_dash(cr, NULL, 0, 0.0);
}

double tl_report_window_x(const tl_report_window *w, double x_px) {
    return w->left + (x_px - w->x0_px) * w->zoom;
}

double tl_report_window_y(const tl_report_window *w, double y_px) {
    return w->top + (y_px - w->y0_px) * w->zoom;
}

static void stroke_stretch(cairo_t *cr, const tl_report_window *window,
                           const tl_report_outline *outline, int which, double from_rad,
                           double to_rad, bool seen) {
    const double step_rad = 0.3 * TL_DEG; /* off the curve by r / 300 000 */
    const int steps = (int)ceil((to_rad - from_rad) / step_rad);
    for (int k = 0; k <= steps; k++) {
        double x, y;
        tl_report_outline_point(outline, from_rad + (to_rad - from_rad) * k / fmax(steps, 1), &x,
                                &y);
        cairo_line_to(cr, tl_report_window_x(window, x), tl_report_window_y(window, y));
    }
    tl_report_stroke_limb(cr, which, seen);
}

static void draw_line(cairo_t *cr, const tl_report_window *window, const tl_limb *limb, int which) {
    tl_report_outline outline;
    tl_report_arc arc[TL_REPORT_ARCS_MAX];
    if (!tl_report_outline_of(limb, which, &outline))
        return;
    const size_t count = tl_report_arcs(limb, which, arc);
    if (count == 0)
        stroke_stretch(cr, window, &outline, which, 0.0, 2.0 * TL_PI, false);
    for (size_t k = 0; k < count; k++) { /* from the end of one to the start of the next */
        const double next = k + 1 < count ? arc[k + 1].from_rad : arc[0].from_rad + 2.0 * TL_PI;
        stroke_stretch(cr, window, &outline, which, arc[k].to_rad, next, false);
    }
    for (size_t k = 0; k < count; k++)
        stroke_stretch(cr, window, &outline, which, arc[k].from_rad, arc[k].to_rad, true);
}

static void draw_points(cairo_t *cr, const tl_report_window *window, const tl_limb *limb,
                        double apart) {
    double last[TL_REPORT_MARKS][2];
    for (int k = 0; k < TL_REPORT_MARKS; k++)
        last[k][0] = last[k][1] = -1e9; /* far off the sheet */
    for (size_t i = 0; i < limb->edge_count; i++) {
        const tl_report_mark mark = tl_report_mark_of(&limb->edge[i]);
        const double x = tl_report_window_x(window, limb->edge[i].x_px);
        const double y = tl_report_window_y(window, limb->edge[i].y_px);
        if (hypot(x - last[mark][0], y - last[mark][1]) < apart)
            continue;
        last[mark][0] = x;
        last[mark][1] = y;
        tl_report_draw_mark(cr, mark, x, y, 3.4);
    }
}

void tl_report_draw_limbs(cairo_t *cr, const tl_report_window *window, const tl_limb *limb,
                          double apart) {
    double cusp[2][2];
    const size_t cusps = tl_report_cusps(limb, cusp);
    cairo_save(cr);
    cairo_rectangle(cr, window->left, window->top, window->width, window->height);
    cairo_clip(cr);
    draw_line(cr, window, limb, TL_LIMB_SUN);
    draw_line(cr, window, limb, TL_LIMB_MOON);
    draw_points(cr, window, limb, apart);
    for (size_t k = 0; k < cusps; k++)
        tl_report_draw_mark(cr, TL_REPORT_MARK_CUSP, tl_report_window_x(window, cusp[k][0]),
                            tl_report_window_y(window, cusp[k][1]), 9.0);
    cairo_restore(cr);
}
