/*
 * path_svg.c - path.svg: the Sun's disc north up, and the Moon's way across it.
 */
#include <math.h>

#include <cairo-svg.h>

#include "report/draw_internal.h"
#include "report/path_internal.h"

/* px */
enum {
    WIDTH = 900,
    MAX_PLOT_HEIGHT = 680,
    MAX_SCALE = 170,
    MARGIN = 26,
    TITLE_TEXT = 22,
    TITLE_HEIGHT = 64
};

/* What the plot must show, in solar radii: x to the right, y down. */
typedef struct box {
    double x0, y0, x1, y1;
} box;

static void stretch(box *b, double east_sr, double north_sr, double radius) {
    b->x0 = fmin(b->x0, -east_sr - radius);
    b->x1 = fmax(b->x1, -east_sr + radius);
    b->y0 = fmin(b->y0, -north_sr - radius);
    b->y1 = fmax(b->y1, -north_sr + radius);
}

static box plot_box(const tl_report_path *path) {
    const double compass = 1.25, zenith = 1.66, dot = 0.1;
    box b = {0};
    stretch(&b, 0.0, 0.0, compass);
    if (path->has_zenith)
        stretch(&b, zenith * sin(path->zenith_pa_rad), zenith * cos(path->zenith_pa_rad), dot);
    for (int which = 0; which < TL_CONTACTS; which++)
        if (path->has_contact[which])
            stretch(&b, path->contact[which].east_sr, path->contact[which].north_sr,
                    path->ratio + dot);
    for (size_t i = 0; i < path->measured_count; i++)
        stretch(&b, path->measured[i].east_sr, path->measured[i].north_sr, dot);
    return b;
}

static tl_report_view fit_view(const box *b, double *plot_height) {
    tl_report_view view;
    view.scale = fmin((WIDTH - 2 * MARGIN) / (b->x1 - b->x0), MAX_PLOT_HEIGHT / (b->y1 - b->y0));
    view.scale = fmin(view.scale, MAX_SCALE);
    view.x0 = WIDTH / 2.0 - view.scale * (b->x0 + b->x1) / 2.0;
    view.y0 = TITLE_HEIGHT - view.scale * b->y0;
    *plot_height = view.scale * (b->y1 - b->y0);
    return view;
}

/* The whole plot, its title and its legend. */
typedef struct plot {
    const tl_report_path *path;
    const char *title;
    tl_report_view view;
    tl_report_legend legend;
} plot;

static tl_status draw(cairo_t *cr, const void *context) {
    const plot *p = context;
    tl_report_set_colour(cr, TL_REPORT_PAPER, 1.0);
    cairo_paint(cr);
    tl_report_set_colour(cr, TL_REPORT_INK, 1.0);
    tl_report_draw_text(cr, p->title, TITLE_TEXT, MARGIN + 4, TITLE_HEIGHT / 2.0, 0.0);
    tl_report_draw_sun(cr, &p->view);
    tl_report_draw_spots(cr, &p->view, p->path);
    tl_report_draw_moon(cr, &p->view, p->path);
    tl_report_draw_path(cr, &p->view, p->path);
    tl_report_draw_crossings(cr, &p->view, p->path);
    tl_report_draw_legend(cr, p->path, &p->legend);
    return TL_OK;
}

/* The surface needs its height from the start; the legend's is known once it has been set. */
static double legend_end(const tl_report_path *path, const tl_report_legend *legend) {
    cairo_surface_t *scratch = cairo_svg_surface_create(NULL, WIDTH, 1.0);
    cairo_t *cr = cairo_create(scratch);
    const double end = tl_report_draw_legend(cr, path, legend);
    cairo_destroy(cr);
    cairo_surface_destroy(scratch);
    return end;
}

static tl_status draw_svg(const tl_report_path *path, const char *title, tl_report_text *text) {
    const box b = plot_box(path);
    double plot_height;
    plot p = {.path = path, .title = title, .view = fit_view(&b, &plot_height)};
    p.legend = (tl_report_legend){.top = TITLE_HEIGHT + plot_height + 34.0,
                                  .width = WIDTH,
                                  .tick_minutes = tl_report_tick_minutes(&p.view, path)};
    const double height = ceil(legend_end(path, &p.legend) + 4.0);
    p.legend.draw = true;
    const tl_report_drawing drawing = {WIDTH, height, draw, &p};
    return tl_report_draw_svg(&drawing, text);
}

tl_status tl_report_path_svg(const tl_report_facts *facts, const tl_report_path *path,
                             tl_report_text *text) {
    tl_report_text title = {0};
    tl_report_text_add(&title, "The Moon\u2019s path across the Sun");
    if (facts->has_day) {
        tl_report_text_add(&title, ", ");
        tl_report_add_date(&title, facts->day_s);
    }
    const tl_status status = draw_svg(path, tl_report_text_string(&title), text);
    tl_report_text_free(&title);
    return status;
}
