/*
 * timeline_svg.c - timeline.svg: the panels under a title, with a legend; and one panel alone.
 */
#include <math.h>

#include <cairo-svg.h>

#include "report/draw_internal.h"
#include "report/path_internal.h"
#include "report/timeline_internal.h"

/* px */
#define WIDTH 900.0
#define MARGIN 12.0
#define TITLE_TEXT 22.0
#define TITLE_HEIGHT 58.0
#define TITLE_LEFT 30.0
#define PLOT 150.0
#define KEY_WIDTH 44.0

typedef struct sheet {
    const tl_report_timeline *timeline;
    const char *title; /* NULL: none, and no legend */
    tl_report_timeline_look look;
    double legend_top;
} sheet;

/* ---- legend ---- */

static bool shows(const sheet *s, tl_report_panel panel) {
    return s->timeline->panels & s->look.panels & TL_REPORT_PANEL_BIT(panel);
}

static void add_mark(tl_report_pen *p, tl_report_time_mark mark, bool doubtful, const char *words) {
    if (p->draw)
        tl_report_time_draw_mark(p->cr, mark, doubtful, TL_REPORT_PEN_MARGIN + 15.0, p->y);
    tl_report_pen_wrapped(p, words, KEY_WIDTH);
}

static void add_line(const sheet *s, tl_report_pen *p) {
    if (s->timeline->line_count < 2)
        return;
    if (p->draw) {
        cairo_move_to(p->cr, TL_REPORT_PEN_MARGIN, p->y);
        cairo_line_to(p->cr, TL_REPORT_PEN_MARGIN + 30.0, p->y);
        tl_report_set_colour(p->cr, TL_REPORT_INK, 1.0);
        cairo_set_line_width(p->cr, 1.5);
        cairo_stroke(p->cr);
    }
    tl_report_pen_wrapped(
        p, s->timeline->utc ? "the almanac, for your place" : "the path fitted to your pictures",
        KEY_WIDTH);
}

static void add_points(const sheet *s, tl_report_pen *p) {
    size_t doubtful = 0, itself = 0, others = 0, sound = 0;
    for (size_t i = 0; i < s->timeline->point_count; i++) {
        const tl_report_time_point *point = &s->timeline->point[i];
        doubtful += point->doubtful;
        itself += point->from_itself;
        others += point->other_camera && !point->from_itself;
        sound += !point->doubtful && !point->from_itself && !point->other_camera;
    }
    if (sound > 0)
        add_mark(p, TL_REPORT_MARK_DOT, false,
                 "measured in one of your pictures; the bar is one sigma, where it is longer than "
                 "the dot");
    if (others > 0)
        add_mark(p, TL_REPORT_MARK_SQUARE, false, "the same, of another camera");
    if (itself > 0)
        add_mark(p, TL_REPORT_MARK_CROSS, false,
                 "a picture without a time of its own: it stands where the almanac has its "
                 "separation, so it cannot test it");
    if (doubtful > 0)
        add_mark(p, TL_REPORT_MARK_DOT, true,
                 "measured, but left out of the fit; an arrow with its value where it lies beyond "
                 "the panel");
}

static void add_crossings(const sheet *s, tl_report_pen *p) {
    if (s->timeline->crossing_count == 0)
        return;
    if (p->draw) {
        tl_report_draw_crossing(p->cr, TL_REPORT_PEN_MARGIN + 7.0, p->y, false);
        tl_report_draw_crossing(p->cr, TL_REPORT_PEN_MARGIN + 24.0, p->y, true);
    }
    tl_report_pen_wrapped(p,
                          "the Moon\u2019s limb reaches the sunspot of that letter (filled) and "
                          "lets it go (hollow)",
                          KEY_WIDTH);
}

static void add_contacts(const sheet *s, tl_report_pen *p) {
    bool any = false;
    for (int which = 0; which < TL_CONTACTS; which++)
        any = any || s->timeline->has_contact[which];
    if (!any)
        return;
    if (p->draw) {
        cairo_move_to(p->cr, TL_REPORT_PEN_MARGIN + 15.0, p->y - 10.0);
        cairo_line_to(p->cr, TL_REPORT_PEN_MARGIN + 15.0, p->y + 10.0);
        tl_report_time_stroke_contact(p->cr);
    }
    tl_report_pen_wrapped(p,
                          s->timeline->utc
                              ? "contacts and maximum by the almanac, to the nearest minute of UTC"
                              : "contacts and maximum as measured, by the camera\u2019s clock",
                          KEY_WIDTH);
}

static void add_residual_words(const sheet *s, tl_report_pen *p) {
    tl_report_text words = {0};
    if (!shows(s, TL_REPORT_PANEL_RESIDUAL))
        return;
    tl_report_text_add(&words, s->timeline->utc
                                   ? "Above the zero line Sun and Moon are farther apart in the "
                                     "picture than in the almanac. The band (\u00b1"
                                   : "Above the zero line Sun and Moon are farther apart in the "
                                     "picture than on the path. The band (\u00b1");
    tl_report_add_fixed(&words, s->timeline->floor, s->timeline->utc ? 2 : 4);
    tl_report_text_add(&words, s->timeline->utc ? "\u2033" : " solar radii");
    tl_report_text_add(&words,
                       ") is what the mountains at the Moon\u2019s edge and its uneven mass "
                       "leave open in all pictures alike: a difference within it means nothing, "
                       "however small its bar.");
    tl_report_pen_wrapped(p, tl_report_text_string(&words), 0.0);
    tl_report_text_free(&words);
}

/* Returns the y where it ends. */
static double legend(cairo_t *cr, const sheet *s, bool draw) {
    tl_report_pen p = {cr, s->legend_top, WIDTH, draw};
    add_points(s, &p);
    add_line(s, &p);
    add_contacts(s, &p);
    add_crossings(s, &p);
    p.y += 8.0;
    add_residual_words(s, &p);
    return p.y;
}

/* ---- the drawing ---- */

static tl_status draw(cairo_t *cr, const void *context) {
    const sheet *s = context;
    tl_report_set_colour(cr, TL_REPORT_PAPER, 1.0);
    cairo_paint(cr);
    if (s->title) {
        tl_report_set_colour(cr, TL_REPORT_INK, 1.0);
        tl_report_draw_text(cr, s->title, TITLE_TEXT, TITLE_LEFT, 0.5 * TITLE_HEIGHT, 0.0);
        legend(cr, s, true);
    }
    return tl_report_draw_timeline(cr, s->timeline, &s->look);
}

/* The surface needs its height from the start; the legend's is known once it has been set. */
static tl_status legend_end(const sheet *s, double *y) {
    cairo_surface_t *scratch = cairo_svg_surface_create(NULL, WIDTH, 1.0);
    cairo_t *cr = cairo_create(scratch);
    const double end = legend(cr, s, false);
    const bool set = cairo_status(cr) == CAIRO_STATUS_SUCCESS;
    cairo_destroy(cr);
    cairo_surface_destroy(scratch);
    if (!set)
        return TL_ERR_MEMORY;
    *y = end;
    return TL_OK;
}

static tl_status draw_sheet(const tl_report_timeline *timeline, const char *title, unsigned panels,
                            tl_report_text *svg) {
    const double top = title ? TITLE_HEIGHT : MARGIN;
    sheet s = {.timeline = timeline, .title = title};
    s.look = (tl_report_timeline_look){panels,
                                       MARGIN,
                                       top,
                                       WIDTH - 2.0 * MARGIN,
                                       tl_report_time_height(timeline, panels, PLOT),
                                       TL_REPORT_TIME_TEXT};
    s.legend_top = top + s.look.height + 34.0;
    double end = top + s.look.height + MARGIN;
    if (title) {
        const tl_status status = legend_end(&s, &end);
        if (status != TL_OK)
            return status;
        end += 4.0;
    }
    const double height = ceil(end);
    const tl_report_drawing drawing = {WIDTH, height, draw, &s};
    return tl_report_draw_svg(&drawing, svg);
}

tl_status tl_report_timeline_svg(const tl_report_facts *facts, const tl_report_timeline *timeline,
                                 tl_report_text *svg) {
    tl_report_text title = {0};
    if (timeline->panels == 0)
        return TL_OK;
    tl_report_text_add(&title, "The series in time");
    if (facts->has_day) {
        tl_report_text_add(&title, ", ");
        tl_report_add_date(&title, facts->day_s);
    }
    const tl_status status =
        draw_sheet(timeline, tl_report_text_string(&title), TL_REPORT_ALL_PANELS, svg);
    tl_report_text_free(&title);
    return status;
}

tl_status tl_report_timeline_panel_svg(const tl_report_timeline *timeline, tl_report_panel panel,
                                       tl_report_text *svg) {
    if (!(timeline->panels & TL_REPORT_PANEL_BIT(panel)))
        return TL_OK;
    return draw_sheet(timeline, NULL, TL_REPORT_PANEL_BIT(panel), svg);
}
