/*
 * slide_graph.c - distance of the centres against time: axes, the path as a curve, points.
 */
#include <math.h>

#include "report/talk_internal.h"

double tl_report_graph_x(const tl_report_graph *g, double t_s) {
    return g->box.left + g->box.width * (t_s - g->from_s) / (g->to_s - g->from_s);
}

double tl_report_graph_y(const tl_report_graph *g, double separation) {
    return g->box.top + g->box.height * (g->high - separation) / (g->high - g->low);
}

static double separation_of(const tl_report_point *point) {
    return hypot(point->east_sr, point->north_sr);
}

tl_report_graph tl_report_graph_of(const tl_report_path *path, tl_report_rect box) {
    tl_report_graph g = {.box = box, .from_s = path->line[0].t_s, .low = 9.0};
    g.to_s = path->line[path->line_count - 1].t_s;
    for (size_t k = 0; k < path->line_count; k++) {
        g.low = fmin(g.low, separation_of(&path->line[k]));
        g.high = fmax(g.high, separation_of(&path->line[k]));
    }
    const double margin = 0.06 * (g.high - g.low);
    const double pause_s = 0.03 * (g.to_s - g.from_s);
    g.low = fmax(g.low - margin, 0.0);
    g.high += margin;
    g.from_s -= pause_s;
    g.to_s += pause_s;
    return g;
}

static void draw_time_axis(tl_report_slide_pen *pen, const tl_report_graph *g) {
    static const tl_report_type tick = {26.0, 26.0, 0.5, 0.5, TL_REPORT_INK_LABEL};
    const double bottom = g->box.top + g->box.height;
    const double step_s = g->to_s - g->from_s > 2.5 * 3600.0 ? 1800.0 : 900.0;
    for (double t_s = ceil(g->from_s / step_s) * step_s; t_s < g->to_s; t_s += step_s) {
        const double x = tl_report_graph_x(g, t_s);
        char iso[TL_TIME_TEXT_SIZE];
        tl_report_text label = {0};
        tl_time_text(t_s, 0, "", iso);
        tl_report_text_addf(&label, "%.5s", iso + 11);
        cairo_move_to(pen->cr, x, bottom);
        cairo_line_to(pen->cr, x, bottom + 10.0);
        tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE);
        cairo_stroke(pen->cr);
        tl_report_set_line(pen, &tick, &label, x, bottom + 34.0);
    }
    tl_report_set_line_string(pen, &tick, "UTC", g->box.left + 0.5 * g->box.width, bottom + 76.0);
}

void tl_report_graph_axes(tl_report_slide_pen *pen, const tl_report_graph *g) {
    static const tl_report_type tick = {26.0, 26.0, 1.0, 0.5, TL_REPORT_INK_LABEL};
    static const tl_report_type name = {26.0, 26.0, 0.0, 0.5, TL_REPORT_INK_LABEL};
    const double step = g->high - g->low > 0.6 ? 0.5 : 0.1;
    tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE);
    cairo_set_line_width(pen->cr, 2.0);
    cairo_rectangle(pen->cr, g->box.left, g->box.top, g->box.width, g->box.height);
    cairo_stroke(pen->cr);
    for (double s = ceil(g->low / step) * step; s < g->high; s += step) {
        tl_report_text label = {0};
        tl_report_add_fixed(&label, s, 1);
        tl_report_set_line(pen, &tick, &label, g->box.left - 16.0, tl_report_graph_y(g, s));
        tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE);
        cairo_move_to(pen->cr, g->box.left, tl_report_graph_y(g, s));
        cairo_line_to(pen->cr, g->box.left + 10.0, tl_report_graph_y(g, s));
        cairo_stroke(pen->cr);
    }
    tl_report_set_line_string(pen, &name, "Distance of the centres, solar radii",
                              TL_REPORT_SLIDE_MARGIN, g->box.top - 26.0);
    draw_time_axis(pen, g);
}

void tl_report_graph_curve(tl_report_slide_pen *pen, const tl_report_graph *g, double width) {
    const tl_report_path *path = &pen->source->path;
    cairo_save(pen->cr);
    cairo_rectangle(pen->cr, g->box.left, g->box.top, g->box.width, g->box.height);
    cairo_clip(pen->cr);
    cairo_new_path(pen->cr);
    for (size_t k = 0; k < path->line_count; k++)
        cairo_line_to(pen->cr, tl_report_graph_x(g, path->line[k].t_s),
                      tl_report_graph_y(g, separation_of(&path->line[k])));
    tl_report_set_ink(pen->cr, TL_REPORT_INK_TEXT);
    cairo_set_line_width(pen->cr, width);
    cairo_stroke(pen->cr);
    cairo_restore(pen->cr);
}

void tl_report_graph_point(cairo_t *cr, double x, double y, double radius, bool hollow) {
    cairo_new_path(cr);
    tl_report_add_circle(cr, x, y, radius);
    if (hollow)
        cairo_set_source_rgb(cr, 0.0, 0.0, 0.0);
    else
        tl_report_set_ink(cr, TL_REPORT_INK_SUN);
    cairo_fill_preserve(cr);
    tl_report_set_ink(cr, hollow ? TL_REPORT_INK_MOON : TL_REPORT_INK_SUN);
    cairo_set_line_width(cr, 3.0);
    cairo_stroke(cr);
}

double tl_report_graph_slope(const tl_report_path *path, double t_s) {
    size_t k = 1;
    while (k + 1 < path->line_count && path->line[k].t_s < t_s)
        k++;
    return (separation_of(&path->line[k]) - separation_of(&path->line[k - 1])) /
           (path->line[k].t_s - path->line[k - 1].t_s);
}
