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

static tl_report_view fit_view(const tl_report_extent *b, double *plot_height) {
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
static tl_status legend_end(const tl_report_path *path, const tl_report_legend *legend, double *y) {
    cairo_surface_t *scratch = cairo_svg_surface_create(NULL, WIDTH, 1.0);
    cairo_t *cr = cairo_create(scratch);
    const double end = tl_report_draw_legend(cr, path, legend);
    const bool set = cairo_status(cr) == CAIRO_STATUS_SUCCESS;
    cairo_destroy(cr);
    cairo_surface_destroy(scratch);
    if (!set)
        return TL_ERR_MEMORY;
    *y = end;
    return TL_OK;
}

static tl_status draw_svg(const tl_report_path *path, const char *title, tl_report_text *text) {
    const tl_report_extent b = tl_report_path_extent(path);
    double plot_height;
    plot p = {.path = path, .title = title, .view = fit_view(&b, &plot_height)};
    p.legend = (tl_report_legend){.top = TITLE_HEIGHT + plot_height + 34.0,
                                  .width = WIDTH,
                                  .tick_minutes = tl_report_tick_minutes(&p.view, path)};
    double end;
    const tl_status status = legend_end(path, &p.legend, &end);
    if (status != TL_OK)
        return status;
    const double height = ceil(end + 4.0);
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
