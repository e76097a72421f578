/*
 * limbs_internal.h - the picture below limbs/ that shows what the limb stage decided on a frame.
 *
 * cut (while the picture is in memory) -> shape (lines and points of a tl_limb) -> marks, graph,
 * words -> sheet (all of it as one JPEG); name says what the file is called.
 */
#ifndef TWOLIMB_REPORT_LIMBS_INTERNAL_H
#define TWOLIMB_REPORT_LIMBS_INTERNAL_H

#include "report/path_internal.h"

/* ---- limbs_shape.c --------------------------------------------------------------------------- */

/* One limb as fitted: a circle, or the ellipse that a flattened disc shows. Angles along it are
 * those of the circle before it was flattened, in the frame: 0 right, pi/2 down. */
typedef struct tl_report_outline {
    double x, y, r;        /* px of the picture; r along the longer axis */
    double ratio;          /* shorter over longer axis, > 0 */
    double flat_x, flat_y; /* unit vector of the shorter axis */
} tl_report_outline;

/* False, and untouched, where there is no such circle. Also for refused frames. */
bool tl_report_outline_of(const tl_limb *limb, int which, tl_report_outline *outline);
void tl_report_outline_point(const tl_report_outline *outline, double angle_rad, double *x,
                             double *y);
/* 0..2 pi */
double tl_report_outline_angle(const tl_report_outline *outline, double x, double y);

/* Where both limbs meet: 0 or 2 points, px of the picture. Closed form. */
size_t tl_report_cusps(const tl_limb *limb, double xy[2][2]);

/* A stretch of a limb from one angle to a larger one, at most 2 pi further. */
typedef struct tl_report_arc {
    double from_rad, to_rad;
} tl_report_arc;
enum { TL_REPORT_ARC_BINS = 72, TL_REPORT_ARCS_MAX = TL_REPORT_ARC_BINS / 2 };
/* Where a limb is seen: stretches with edge points kept, in steps like those of arc_sun_rad. */
size_t tl_report_arcs(const tl_limb *limb, int which, tl_report_arc arc[TL_REPORT_ARCS_MAX]);

/* ---- limbs_marks.c --------------------------------------------------------------------------- */

/* The colours of a dark sheet. Sun, Moon and what was dropped differ in lightness too, and each has
 * a shape of its own (hues after Okabe & Ito, "Color universal design", 2008). */
typedef enum tl_report_ink {
    TL_REPORT_INK_SUN,
    TL_REPORT_INK_MOON,
    TL_REPORT_INK_DROPPED,
    TL_REPORT_INK_TEXT,
    TL_REPORT_INK_LABEL,
    TL_REPORT_INK_LINE,  /* of a graph's frame */
    TL_REPORT_INK_PANEL, /* under a picture or a graph */
    TL_REPORT_INK_SHEET,
    TL_REPORT_INKS
} tl_report_ink;
void tl_report_set_ink(cairo_t *cr, tl_report_ink ink);

typedef enum tl_report_mark {
    TL_REPORT_MARK_SUN,     /* ring */
    TL_REPORT_MARK_MOON,    /* diamond */
    TL_REPORT_MARK_DROPPED, /* cross */
    TL_REPORT_MARK_CUSP,    /* square */
    TL_REPORT_MARKS
} tl_report_mark;
tl_report_mark tl_report_mark_of(const tl_limb_edge *edge);
/* `reach` px from its middle. */
void tl_report_draw_mark(cairo_t *cr, tl_report_mark mark, double x, double y, double reach);
/* Stroke the current path as that limb, where it is seen or where it is only continued. */
void tl_report_stroke_limb(cairo_t *cr, int which, bool seen);

/* A piece of the picture on the sheet: what is at (x0_px, y0_px) goes to (left, top). */
typedef struct tl_report_window {
    double left, top, width, height; /* sheet px */
    double x0_px, y0_px;             /* picture px */
    double zoom;                     /* sheet px per picture px */
} tl_report_window;
/* The limbs, the edge points at least `apart` sheet px from each other, and the cusps. */
void tl_report_draw_limbs(cairo_t *cr, const tl_report_window *window, const tl_limb *limb,
                          double apart);

/* ---- limbs_spots.c --------------------------------------------------------------------------- */

/* A ring round every dark mark of frame i, a spot with its letter, dust as a square. */
void tl_report_draw_dark_marks(cairo_t *cr, const tl_report_window *window,
                               const tl_sequence *sequence, size_t i);
/* How far from the middle of a mark its ring runs, px of the picture, so that it hides nothing. */
double tl_report_mark_reach(const tl_spot_mark *mark);
double tl_report_window_x(const tl_report_window *window, double x_px);
double tl_report_window_y(const tl_report_window *window, double y_px);
/* As tl_report_stroke_limb: the current path on a dark rim. */
void tl_report_stroke_rimmed(cairo_t *cr, tl_report_ink ink, double width);

/* ---- limbs_graph.c --------------------------------------------------------------------------- */

/* Half the height of the graphs, px: four robust sigmas of the points kept, rounded up to 1, 2 or 5
 * of a decimal; 0 if there are none. */
tl_status tl_report_graph_range(const tl_limb *limb, double *range_px);
/* Distance of one limb's edge points from its line, against the angle along it. */
void tl_report_draw_graph(cairo_t *cr, const tl_limb *limb, int which, double range_px, double left,
                          double top, double width, double height);

/* ---- limbs_words.c --------------------------------------------------------------------------- */

/* Row n (0, 1, ...) of what was found on frame i, plain text; NULL when there are no more. A row of
 * which nothing is known stays empty. */
const char *tl_report_limbs_row(const tl_sequence *sequence, size_t i, size_t n,
                                tl_report_text *text);

/* ---- limbs_name.c -----------------------------------------------------------------------------
 */

/* "003-IMG_5761.jpg": of letters, digits, '.', '_' and '-' alone, in order, never twice. */
void tl_report_limbs_name(const tl_sequence *sequence, size_t i, tl_report_text *text);

/* ---- limbs_sheet.c ----------------------------------------------------------------------------
 */

enum { TL_REPORT_SHEET_WIDTH = 1600, TL_REPORT_SHEET_HEIGHT = 1000 };
/* The sheet of frame i, a JPEG file, is added to `jpeg`. TL_ERR_MEMORY. */
tl_status tl_report_limbs_sheet(const tl_sequence *sequence, size_t i, tl_report_text *jpeg);

#endif
