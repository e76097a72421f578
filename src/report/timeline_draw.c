/*
 * timeline_draw.c - the time line into a rectangle of any drawing.
 */
#include <math.h>
#include <stdlib.h>

#include "report/path_internal.h"
#include "report/timeline_internal.h"

typedef struct stage {
    cairo_t *cr;
    const tl_report_timeline *timeline;
    const tl_report_time_layout *layout;
} stage;

static double x_at(const stage *s, double t_s) {
    return tl_report_time_x(s->timeline, s->layout, t_s);
}

/* ---- ground of a panel ---- */

/* A line at the middle of a pixel of the drawing at its own size. */
static void level(const stage *s, double y) {
    cairo_move_to(s->cr, s->layout->left, floor(y) + 0.5);
    cairo_line_to(s->cr, s->layout->right, floor(y) + 0.5);
}

static void upright(const stage *s, double x, double top, double bottom) {
    cairo_move_to(s->cr, floor(x) + 0.5, top);
    cairo_line_to(s->cr, floor(x) + 0.5, bottom);
}

static void draw_band(const stage *s, const tl_report_time_plot *plot) {
    const double top = tl_report_time_y(plot, s->timeline->floor);
    const double bottom = tl_report_time_y(plot, -s->timeline->floor);
    cairo_rectangle(s->cr, s->layout->left, top, s->layout->right - s->layout->left, bottom - top);
    tl_report_set_colour(s->cr, TL_REPORT_MOON, 0.14);
    cairo_fill(s->cr);
}

static void draw_ground(const stage *s, const tl_report_time_plot *plot) {
    const double step_s = 60.0 * s->layout->step_minutes;
    cairo_set_line_width(s->cr, 1.0);
    tl_report_set_colour(s->cr, TL_REPORT_QUIET, 0.22);
    for (double k = ceil(plot->range.low / plot->step); k * plot->step <= plot->range.high; k++)
        level(s, tl_report_time_y(plot, k * plot->step));
    for (double k = ceil(s->timeline->from_s / step_s); k * step_s <= s->timeline->to_s; k++)
        upright(s, x_at(s, k * step_s), plot->top, plot->bottom);
    cairo_stroke(s->cr);
    if (plot->panel == TL_REPORT_PANEL_RESIDUAL) {
        draw_band(s, plot);
        level(s, tl_report_time_y(plot, 0.0));
        tl_report_set_colour(s->cr, TL_REPORT_INK, 1.0);
        cairo_set_line_width(s->cr, 1.5);
        cairo_stroke(s->cr);
    }
    cairo_rectangle(s->cr, floor(s->layout->left) + 0.5, floor(plot->top) + 0.5,
                    floor(s->layout->right - s->layout->left), floor(plot->bottom - plot->top));
    tl_report_set_colour(s->cr, TL_REPORT_QUIET, 0.8);
    cairo_set_line_width(s->cr, 1.0);
    cairo_stroke(s->cr);
}

/* ---- along the time ---- */

static void draw_contacts(const stage *s) {
    const tl_report_time_layout *layout = s->layout;
    for (int which = 0; which < TL_CONTACTS; which++) {
        const double x = x_at(s, s->timeline->contact_s[which]);
        if (!s->timeline->has_contact[which] || x < layout->left || x > layout->right)
            continue;
        if (isfinite(layout->contact_x[which])) {
            cairo_move_to(s->cr, layout->contact_x[which], layout->names_y);
            cairo_line_to(s->cr, x, layout->names_y + 10.0);
            cairo_line_to(s->cr, x, layout->plot[0].top);
        }
        for (size_t k = 0; k < layout->plot_count; k++) {
            cairo_move_to(s->cr, x, layout->plot[k].top);
            cairo_line_to(s->cr, x, layout->plot[k].bottom);
        }
        tl_report_time_stroke_contact(s->cr);
    }
}

static void draw_crossings(const stage *s) {
    for (size_t k = 0; s->layout->strip_y > 0.0 && k < s->timeline->crossing_count; k++)
        tl_report_draw_crossing(s->cr, x_at(s, s->timeline->crossing[k].t_s), s->layout->strip_y,
                                s->timeline->crossing[k].uncovering);
}

static void draw_ticks(const stage *s) {
    const double step_s = 60.0 * s->layout->step_minutes;
    const double bottom = s->layout->plot[s->layout->plot_count - 1].bottom;
    for (double k = ceil(s->timeline->from_s / step_s); k * step_s <= s->timeline->to_s; k++)
        upright(s, x_at(s, k * step_s), bottom, bottom + 6.0);
    tl_report_set_colour(s->cr, TL_REPORT_INK, 1.0);
    cairo_set_line_width(s->cr, 1.5);
    cairo_stroke(s->cr);
}

/* ---- values ---- */

static double sample_value(const tl_report_time_sample *sample, tl_report_panel panel,
                           bool obscuration) {
    return panel == TL_REPORT_PANEL_SEPARATION ? sample->separation_sr
           : obscuration                       ? sample->obscuration
                                               : sample->magnitude;
}

/* The line as the current path; it breaks where nothing is known. */
static void trace(const stage *s, const tl_report_time_plot *plot, bool obscuration) {
    bool drawing = false;
    for (size_t i = 0; i < s->timeline->line_count; i++) {
        const tl_report_time_sample *sample = &s->timeline->line[i];
        const double value = sample_value(sample, plot->panel, obscuration);
        if (isfinite(value) && drawing)
            cairo_line_to(s->cr, x_at(s, sample->t_s), tl_report_time_y(plot, value));
        else if (isfinite(value))
            cairo_move_to(s->cr, x_at(s, sample->t_s), tl_report_time_y(plot, value));
        drawing = isfinite(value);
    }
}

static void draw_trend(const stage *s, const tl_report_time_plot *plot) {
    enum { SAMPLES = 48 };
    const tl_report_blur_trend *trend = &s->timeline->trend;
    if (!trend->significant)
        return;
    const double from_s = s->timeline->point[trend->first].t_s;
    const double to_s = s->timeline->point[trend->last].t_s;
    for (int i = 0; i < SAMPLES; i++) {
        const double t_s = from_s + (to_s - from_s) * i / (SAMPLES - 1);
        const double value =
            exp(trend->mean_log + trend->growth_per_h * (t_s - trend->mean_t_s) / 3600.0);
        cairo_line_to(s->cr, x_at(s, t_s), tl_report_time_y(plot, value));
    }
    tl_report_time_stroke_trend(s->cr);
}

static void draw_line(const stage *s, const tl_report_time_plot *plot) {
    if (plot->panel == TL_REPORT_PANEL_BLUR) {
        draw_trend(s, plot);
        return;
    }
    if (plot->panel == TL_REPORT_PANEL_RESIDUAL)
        return; /* its line is at zero */
    trace(s, plot, false);
    tl_report_set_colour(s->cr, TL_REPORT_INK, 1.0);
    cairo_set_line_width(s->cr, 1.5);
    cairo_stroke(s->cr);
    if (plot->panel == TL_REPORT_PANEL_COVERED) {
        trace(s, plot, true);
        tl_report_time_stroke_obscuration(s->cr);
    }
}

static void draw_bar(const stage *s, const tl_report_time_plot *plot, double x, double value,
                     double sigma) {
    if (!isfinite(sigma))
        return;
    const double high = fmin(value + sigma, plot->range.high);
    const double low = fmax(value - sigma, plot->range.low);
    cairo_move_to(s->cr, x, tl_report_time_y(plot, high));
    cairo_line_to(s->cr, x, tl_report_time_y(plot, low));
    tl_report_set_colour(s->cr, TL_REPORT_DOT, 1.0);
    cairo_set_line_width(s->cr, 1.6);
    cairo_stroke(s->cr);
}

static void draw_value(const stage *s, const tl_report_time_plot *plot,
                       const tl_report_time_point *point) {
    const double x = x_at(s, point->t_s), value = tl_report_time_value(point, plot->panel);
    const double sigma = plot->panel == TL_REPORT_PANEL_SEPARATION ? point->separation_sigma_sr
                         : plot->panel == TL_REPORT_PANEL_RESIDUAL ? point->residual_sigma
                                                                   : NAN;
    if (!isfinite(value))
        return;
    if (value > plot->range.high || value < plot->range.low) {
        const bool upwards = value > plot->range.high;
        tl_report_time_draw_beyond(s->cr, x, upwards ? plot->top + 2.0 : plot->bottom - 2.0,
                                   upwards);
        return;
    }
    draw_bar(s, plot, x, value, sigma);
    tl_report_time_draw_mark(s->cr,
                             plot->panel == TL_REPORT_PANEL_COVERED ? TL_REPORT_MARK_DOT
                                                                    : tl_report_time_mark_of(point),
                             point->doubtful, x, tl_report_time_y(plot, value));
}

static void draw_points(const stage *s, const tl_report_time_plot *plot) {
    for (size_t i = 0; i < s->timeline->point_count; i++) {
        const tl_report_time_point *point = &s->timeline->point[i];
        if (plot->panel == TL_REPORT_PANEL_COVERED && isfinite(point->obscuration))
            tl_report_time_draw_mark(s->cr, TL_REPORT_MARK_TRIANGLE, point->doubtful,
                                     x_at(s, point->t_s),
                                     tl_report_time_y(plot, point->obscuration));
        draw_value(s, plot, point);
    }
}

/* ---- all of it ---- */

static void draw_keys(const stage *s) {
    const double length = 34.0, y = s->layout->key_y;
    for (int k = 0; k < 2 && y > 0.0; k++) {
        const double x = s->layout->key_x[k];
        cairo_move_to(s->cr, x, y);
        cairo_line_to(s->cr, x + length, y);
        if (k == 0) {
            tl_report_set_colour(s->cr, TL_REPORT_INK, 1.0);
            cairo_set_line_width(s->cr, 1.5);
            cairo_stroke(s->cr);
        } else {
            tl_report_time_stroke_obscuration(s->cr);
        }
        tl_report_time_draw_mark(s->cr, k == 0 ? TL_REPORT_MARK_DOT : TL_REPORT_MARK_TRIANGLE,
                                 false, x + 0.5 * length, y);
    }
}

static void draw_labels(const stage *s) {
    for (size_t k = 0; k < s->layout->label_count; k++) {
        const tl_report_time_label *label = &s->layout->label[k];
        tl_report_set_colour(s->cr, (tl_report_colour)label->colour, 1.0);
        tl_report_draw_text(s->cr, label->text, TL_REPORT_TIME_TEXT, label->x, label->y, 0.5);
    }
}

static void draw_all(const stage *s) {
    for (size_t k = 0; k < s->layout->plot_count; k++)
        draw_ground(s, &s->layout->plot[k]);
    draw_contacts(s);
    draw_crossings(s);
    draw_ticks(s);
    for (size_t k = 0; k < s->layout->plot_count; k++) {
        draw_line(s, &s->layout->plot[k]);
        draw_points(s, &s->layout->plot[k]);
    }
    draw_keys(s);
    draw_labels(s);
}

tl_status tl_report_draw_timeline(cairo_t *cr, const tl_report_timeline *timeline,
                                  const tl_report_timeline_look *look) {
    const double scale = look->text_px / TL_REPORT_TIME_TEXT;
    tl_report_time_layout *layout = malloc(sizeof *layout);
    if (!layout)
        return TL_ERR_MEMORY;
    cairo_save(cr);
    cairo_translate(cr, look->left, look->top);
    cairo_scale(cr, scale, scale);
    tl_report_time_lay_out(cr, timeline, look->panels, look->width / scale, look->height / scale,
                           layout);
    const stage s = {cr, timeline, layout};
    if (layout->plot_count > 0)
        draw_all(&s);
    cairo_restore(cr);
    free(layout);
    return TL_OK;
}
