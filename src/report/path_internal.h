/*
 * path_internal.h - the drawing of the Moon's path, in parts.
 */
#ifndef TWOLIMB_REPORT_PATH_INTERNAL_H
#define TWOLIMB_REPORT_PATH_INTERNAL_H

#include <cairo.h>

#include "report/report_internal.h"

/* ---- path_style.c: colours, strokes, text -------------------------------------------------- */

typedef enum tl_report_colour {
    TL_REPORT_PAPER,
    TL_REPORT_INK,
    TL_REPORT_QUIET,
    TL_REPORT_SUN_FILL,
    TL_REPORT_SUN_EDGE,
    TL_REPORT_MOON,
    TL_REPORT_DOT,
    TL_REPORT_SPOT,
    TL_REPORT_COLOURS
} tl_report_colour;

/* From now on the colours are those for a black ground, as on a slide. */
void tl_report_set_dark(cairo_t *cr);
void tl_report_set_colour(cairo_t *cr, tl_report_colour colour, double alpha);
/* `y` is the middle of the capitals; `align` 0: x is the text's left end, 0.5: its middle. */
void tl_report_draw_text(cairo_t *cr, const char *string, double size, double x, double y,
                         double align);
double tl_report_text_width(cairo_t *cr, const char *string, double size);
/* Fill the current path in this colour with a rim of paper, or the other way round. */
void tl_report_paint_mark(cairo_t *cr, tl_report_colour colour, bool hollow, double rim);
void tl_report_draw_dot(cairo_t *cr, double x, double y, bool outlier);
void tl_report_draw_arrow(cairo_t *cr, double x0, double y0, double x1, double y1);
/* Stroke the current path as the Moon's outline at this contact. */
void tl_report_stroke_moon(cairo_t *cr, int contact);

/* ---- path_extent.c ----------------------------------------------------------------------------
 */

/* What the plot must show, in solar radii: x to the right, y down, the Sun's centre at (0, 0). */
typedef struct tl_report_extent {
    double x0, y0, x1, y1;
} tl_report_extent;
tl_report_extent tl_report_path_extent(const tl_report_path *path);

/* ---- path_marks.c: what is drawn in solar radii -------------------------------------------- */

/* x = x0 - scale * east, y = y0 - scale * north: north up, east left. */
typedef struct tl_report_view {
    double x0, y0, scale;
} tl_report_view;

/* Minutes between two ticks of the path, so that their labels do not touch: 5, 10, 15, 30, 60. */
int tl_report_tick_minutes(const tl_report_view *view, const tl_report_path *path);
void tl_report_draw_sun(cairo_t *cr, const tl_report_view *view);
void tl_report_draw_moon(cairo_t *cr, const tl_report_view *view, const tl_report_path *path);
void tl_report_draw_path(cairo_t *cr, const tl_report_view *view, const tl_report_path *path);

/* A tick of the path and its label. */
typedef struct tl_report_tick {
    double x, y, across_x, across_y; /* of the path; a unit vector towards the label */
    double label_x, label_y, half_width, half_height;
    char label[8];
} tl_report_tick;
enum { TL_REPORT_TICKS_MAX = 64 };
size_t tl_report_ticks(cairo_t *cr, const tl_report_view *view, const tl_report_path *path,
                       tl_report_tick tick[TL_REPORT_TICKS_MAX]);
/* The middle of what is written beside an outline of the Moon. */
void tl_report_moon_name_place(const tl_report_view *view, const tl_report_path *path, int contact,
                               double *x, double *y);
enum { TL_REPORT_WINDS = 4 };
/* The middle of a letter of the compass, N E S W. */
void tl_report_compass_place(const tl_report_view *view, int wind, double *x, double *y);
double tl_report_view_x(const tl_report_view *view, double east_sr);
double tl_report_view_y(const tl_report_view *view, double north_sr);

/* ---- path_spots.c --------------------------------------------------------------------------- */

void tl_report_draw_spots(cairo_t *cr, const tl_report_view *view, const tl_report_path *path);
/* Where on the path the Moon's limb crosses spots, and the letters of these and of the spots. */
void tl_report_draw_crossings(cairo_t *cr, const tl_report_view *view, const tl_report_path *path);
void tl_report_draw_spot(cairo_t *cr, double x, double y, double radius, bool listed);
void tl_report_draw_crossing(cairo_t *cr, double x, double y, bool uncovering);

/* ---- path_pen.c: lines of a legend --------------------------------------------------------- */

/* Where the next line goes, px. */
typedef struct tl_report_pen {
    cairo_t *cr;
    double y, width;
    bool draw; /* false: only measure */
} tl_report_pen;
enum { TL_REPORT_PEN_MARGIN = 30 }; /* from either side of the width */
void tl_report_pen_line(tl_report_pen *p, const char *string, double indent);
/* Broken at blanks so that every line fits. */
void tl_report_pen_wrapped(tl_report_pen *p, const char *string, double indent);

/* ---- path_legend.c -------------------------------------------------------------------------- */

typedef struct tl_report_legend {
    double top, width;
    int tick_minutes;
    bool draw; /* false: only measure */
} tl_report_legend;
/* The legend and the caption; returns the y where they end. */
double tl_report_draw_legend(cairo_t *cr, const tl_report_path *path,
                             const tl_report_legend *legend);

#endif
