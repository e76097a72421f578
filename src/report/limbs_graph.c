/*
 * limbs_graph.c - how far the edge points of one limb lie from its line.
 */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include "report/draw_internal.h"
#include "report/limbs_internal.h"

static const double SHOWN_SIGMAS = 4.0;
/* A normal distribution's sigma over the median of its absolute values. */
static const double SIGMA_PER_MEDIAN = 1.4826;
static const double LETTERS = 18.0; /* sheet px */

static double rounded_up(double value) {
    const double decade = pow(10.0, floor(log10(value)));
    const double share = value / decade;
    return decade * (share <= 1.0 ? 1.0 : share <= 2.0 ? 2.0 : share <= 5.0 ? 5.0 : 10.0);
}

tl_status tl_report_graph_range(const tl_limb *limb, double *range_px) {
    const double least_px = 0.1;
    double *size = malloc((limb->edge_count + 1) * sizeof *size);
    size_t count = 0;
    if (!size)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < limb->edge_count; i++)
        if (limb->edge[i].used)
            size[count++] = fabs(limb->edge[i].residual_px);
    double median = 0.0;
    if (count > 0) {
        gsl_sort(size, 1, count);
        median = gsl_stats_median_from_sorted_data(size, 1, count);
    }
    free(size);
    *range_px =
        count > 0 ? rounded_up(fmax(least_px, SHOWN_SIGMAS * SIGMA_PER_MEDIAN * median)) : 0.0;
    return TL_OK;
}

typedef struct graph {
    cairo_t *cr;
    double left, top, width, height;
    double range_px;
} graph;

static double graph_y(const graph *g, double residual_px) {
    return g->top + 0.5 * g->height * (1.0 - residual_px / g->range_px);
}

static void add_line(const graph *g, double x0, double y0, double x1, double y1) {
    cairo_move_to(g->cr, floor(x0) + 0.5, floor(y0) + 0.5);
    cairo_line_to(g->cr, floor(x1) + 0.5, floor(y1) + 0.5);
}

/* Four parts each way. */
static void draw_frame(const graph *g) {
    cairo_rectangle(g->cr, g->left, g->top, g->width, g->height);
    tl_report_set_ink(g->cr, TL_REPORT_INK_PANEL);
    cairo_fill(g->cr);
    for (int k = 0; k <= 4; k++) {
        const double x = g->left + 0.25 * k * g->width, y = g->top + 0.25 * k * g->height;
        add_line(g, x, g->top, x, g->top + g->height);
        add_line(g, g->left, y, g->left + g->width, y);
    }
    cairo_set_line_width(g->cr, 1.0);
    tl_report_set_ink(g->cr, TL_REPORT_INK_LINE);
    cairo_stroke(g->cr);
}

static void draw_labels(const graph *g) {
    static const char *const place[] = {"up", "right", "down", "left", "up"};
    tl_report_set_ink(g->cr, TL_REPORT_INK_LABEL);
    for (int k = 0; k <= 4; k++)
        tl_report_draw_text(g->cr, place[k], LETTERS, g->left + 0.25 * k * g->width,
                            g->top + g->height + 15.0, 0.25 * k);
    for (int k = -1; k <= 1; k++) {
        tl_report_text label = {0};
        if (k == 0)
            tl_report_text_add(&label, "0");
        else
            tl_report_add_signed(&label, k * g->range_px, g->range_px < 1.0 ? 1 : 0);
        tl_report_draw_text(g->cr, tl_report_text_string(&label), LETTERS, g->left - 7.0,
                            graph_y(g, k * g->range_px), 1.0);
        tl_report_text_free(&label);
    }
}

/* At the border, pointing to where the point would be. */
static void draw_beyond(const graph *g, double x, bool above) {
    const double y = above ? g->top + 2.0 : g->top + g->height - 2.0;
    const double back = above ? 9.0 : -9.0;
    cairo_move_to(g->cr, x, y);
    cairo_line_to(g->cr, x - 5.0, y + back);
    cairo_line_to(g->cr, x + 5.0, y + back);
    cairo_close_path(g->cr);
    cairo_fill(g->cr);
}

static void draw_point(const graph *g, const tl_limb_edge *edge, double x) {
    const double y = graph_y(g, edge->residual_px);
    tl_report_set_ink(g->cr, !edge->used                 ? TL_REPORT_INK_DROPPED
                             : edge->limb == TL_LIMB_SUN ? TL_REPORT_INK_SUN
                                                         : TL_REPORT_INK_MOON);
    if (fabs(edge->residual_px) > g->range_px) {
        draw_beyond(g, x, edge->residual_px > 0.0);
    } else if (edge->used) {
        tl_report_add_circle(g->cr, x, y, 1.9);
        cairo_fill(g->cr);
    } else {
        cairo_move_to(g->cr, x - 3.0, y - 3.0);
        cairo_line_to(g->cr, x + 3.0, y + 3.0);
        cairo_move_to(g->cr, x - 3.0, y + 3.0);
        cairo_line_to(g->cr, x + 3.0, y - 3.0);
        cairo_set_line_width(g->cr, 1.4);
        cairo_stroke(g->cr);
    }
}

void tl_report_draw_graph(cairo_t *cr, const tl_limb *limb, int which, double range_px, double left,
                          double top, double width, double height) {
    const double margin = 56.0; /* for the numbers at the left */
    const graph g = {cr, left + margin, top + 34.0, width - margin, height - 60.0, range_px};
    tl_report_outline outline;
    if (!tl_report_outline_of(limb, which, &outline))
        return;
    tl_report_set_ink(cr, TL_REPORT_INK_TEXT);
    tl_report_draw_text(cr,
                        which == TL_LIMB_SUN ? "Residuals along the solar limb, px"
                                             : "Residuals along the lunar limb, px",
                        LETTERS, left, top + 10.0, 0.0);
    draw_frame(&g);
    draw_labels(&g);
    for (size_t i = 0; i < limb->edge_count; i++) {
        const tl_limb_edge *edge = &limb->edge[i];
        if (edge->limb != which)
            continue;
        const double angle = tl_report_outline_angle(&outline, edge->x_px, edge->y_px);
        const double from_up = tl_angle_positive(angle + 0.5 * TL_PI);
        draw_point(&g, edge, g.left + g.width * from_up / (2.0 * TL_PI));
    }
}
