/*
 * timeline_internal.h - the series in time: distance, covered share, residuals and edge blur over
 * one axis of time.
 *
 * timeline (what is known, collected once: report_internal.h) -> timeline_scale (ranges and steps
 * of the axes) -> timeline_layout (where panels and letters stand) -> timeline_draw, timeline_marks
 * (into any rectangle of a drawing) -> timeline_svg (timeline.svg: with title and legend).
 */
#ifndef TWOLIMB_REPORT_TIMELINE_INTERNAL_H
#define TWOLIMB_REPORT_TIMELINE_INTERNAL_H

#include <cairo.h>

#include "report/report_internal.h"

/* ---- timeline_trend.c ----------------------------------------------------------------------- */

/* From the points: see report_internal.h. */
tl_report_blur_trend tl_report_blur_trend_of(const tl_report_timeline *timeline);

/* ---- timeline_scale.c: ranges and steps of axes --------------------------------------------- */

/* 1, 2 or 5 times a power of ten: the smallest such step that divides `span` into at most `most`
 * parts. `span` and `most` above 0. */
double tl_report_nice_step(double span, double most);
/* The decimals that its multiples need. */
int tl_report_step_decimals(double step);
/* The same for time: 5, 10, 15, 30, 60, 120, 240, 360 or 720 minutes. */
int tl_report_minute_step(double span_s, double most);
/* What an axis of a panel spans; a point beyond it is shown by an arrow at its edge. */
typedef struct tl_report_range {
    double low, high;
} tl_report_range;
/* Of a point in a panel: magnitude in that of the covered share; NAN if it is not known. */
double tl_report_time_value(const tl_report_time_point *point, tl_report_panel panel);
tl_report_range tl_report_panel_range(const tl_report_timeline *timeline, tl_report_panel panel);
/*
 * Move the middles of `count` labels, in ascending order, as little as needed so that those of
 * neighbours are at least half of both widths and `gap` apart and all lie within `low` to `high`.
 * False, and the middles are of no use, if there is no room for all of them. TL_REPORT_SPREAD_MAX
 * at most.
 */
enum { TL_REPORT_SPREAD_MAX = 16 };
bool tl_report_spread(double *middle, const double *half_width, size_t count, double gap,
                      double low, double high);

/* ---- timeline_draw.c: into a rectangle ------------------------------------------------------ */

typedef struct tl_report_timeline_look {
    unsigned panels; /* wanted; those in which nothing is known are left out, the others share the
                        height */
    double left, top, width, height; /* of everything, names and numbers of the axes included */
    double text_px; /* of the letters; dots and strokes go with it. 15 for a width of 900, 28 for
                       one of 1,800; a panel needs a height of some 8 times this, the axis and the
                       names of the contacts together 8 times */
} tl_report_timeline_look;

/* The ground, which the caller has painted, is that of TL_REPORT_PAPER. Nothing is drawn where none
 * of the panels is known, or there is no room. TL_ERR_MEMORY. */
tl_status tl_report_draw_timeline(cairo_t *cr, const tl_report_timeline *timeline,
                                  const tl_report_timeline_look *look);

/* ---- timeline_layout.c, timeline_labels.c: where everything stands -------------------------- */

/* Everything below is in units in which letters are TL_REPORT_TIME_TEXT high, from the left top of
 * the rectangle. */
#define TL_REPORT_TIME_TEXT 15.0
enum { TL_REPORT_TIME_LABELS_MAX = 256, TL_REPORT_TIME_LABEL_SIZE = 96 };

typedef struct tl_report_time_label {
    char text[TL_REPORT_TIME_LABEL_SIZE];
    double x, y, half_width, half_height; /* of its middle, and the box around it */
    int colour;                           /* tl_report_colour */
} tl_report_time_label;

typedef struct tl_report_time_plot {
    tl_report_panel panel;
    double top, bottom; /* of the plot itself */
    tl_report_range range;
    double step; /* of its ticks */
} tl_report_time_plot;

typedef struct tl_report_time_layout {
    double width, height;
    double left, right; /* of the plots */
    tl_report_time_plot plot[TL_REPORT_PANELS];
    size_t plot_count; /* 0: there is no room */
    int step_minutes;
    double names_y;                /* where the lines of the contacts leave their names */
    double contact_x[TL_CONTACTS]; /* middles of these names */
    double strip_y;                /* of the marks of the sunspots; 0: not shown */
    double key_x[2], key_y;        /* of magnitude and obscuration; 0: no room */
    size_t label_count;
    tl_report_time_label label[TL_REPORT_TIME_LABELS_MAX];
} tl_report_time_layout;

/* `cr` measures letters. */
void tl_report_time_lay_out(cairo_t *cr, const tl_report_timeline *timeline, unsigned panels,
                            double width, double height, tl_report_time_layout *layout);
double tl_report_time_x(const tl_report_timeline *timeline, const tl_report_time_layout *layout,
                        double t_s);
double tl_report_time_y(const tl_report_time_plot *plot, double value);
/* The least height in which this many panels of `plot` px each have room. */
double tl_report_time_height(const tl_report_timeline *timeline, unsigned panels, double plot);

/* timeline_labels.c: letters beside what they name. Where there is no room they are left out. */

/* One more label, its middle there; NULL if there are too many. */
tl_report_time_label *tl_report_time_label_add(cairo_t *cr, tl_report_time_layout *layout,
                                               const char *text, double x, double y);
/* The same, but only where it touches none and stays within the drawing. */
bool tl_report_time_label_try(cairo_t *cr, tl_report_time_layout *layout, const char *text,
                              double x, double y, int colour);
void tl_report_time_titles(cairo_t *cr, const tl_report_timeline *timeline,
                           tl_report_time_layout *layout);
void tl_report_time_curves(cairo_t *cr, const tl_report_timeline *timeline,
                           tl_report_time_layout *layout);
/* What stands for points beyond the edge of a panel. */
void tl_report_time_values(cairo_t *cr, const tl_report_timeline *timeline,
                           tl_report_time_layout *layout);
/* timeline_axis.c */
void tl_report_time_contacts(cairo_t *cr, const tl_report_timeline *timeline,
                             tl_report_time_layout *layout);
void tl_report_time_spots(cairo_t *cr, const tl_report_timeline *timeline,
                          tl_report_time_layout *layout);
void tl_report_time_axis(cairo_t *cr, const tl_report_timeline *timeline,
                         tl_report_time_layout *layout, double top);
/* Rows below the plots: the clock's times, and its dates where they change or differ. */
size_t tl_report_time_rows(const tl_report_timeline *timeline);
double tl_report_time_row_names(cairo_t *cr, const tl_report_timeline *timeline);

/* timeline_marks.c */
typedef enum tl_report_time_mark {
    TL_REPORT_MARK_DOT,
    TL_REPORT_MARK_SQUARE,   /* of another camera */
    TL_REPORT_MARK_CROSS,    /* its time is from its separation */
    TL_REPORT_MARK_TRIANGLE, /* obscuration */
} tl_report_time_mark;
tl_report_time_mark tl_report_time_mark_of(const tl_report_time_point *point);
void tl_report_time_draw_mark(cairo_t *cr, tl_report_time_mark mark, bool doubtful, double x,
                              double y);
/* Stroke the current path as the line of obscuration, or as that of a trend. */
void tl_report_time_stroke_obscuration(cairo_t *cr);
void tl_report_time_stroke_trend(cairo_t *cr);
void tl_report_time_stroke_contact(cairo_t *cr);
/* An arrow that leaves the panel upwards or downwards; its tip is at y. */
void tl_report_time_draw_beyond(cairo_t *cr, double x, double y, bool upwards);

/* ---- timeline_svg.c ------------------------------------------------------------------------- */

/* timeline.svg: all panels under a title, with a legend. No bytes where nothing is known. */
tl_status tl_report_timeline_svg(const tl_report_facts *facts, const tl_report_timeline *timeline,
                                 tl_report_text *svg);
/* One panel alone, without a title and a legend. No bytes where nothing is known of it. */
tl_status tl_report_timeline_panel_svg(const tl_report_timeline *timeline, tl_report_panel panel,
                                       tl_report_text *svg);

/* ---- words_timeline.c: plain sentences ------------------------------------------------------ */

/* What is seen: distances, scatter, what is missing. */
void tl_report_words_timeline(const tl_report_timeline *timeline, tl_report_text *text);
/* What the drawing of these panels shows, for those who cannot see it. */
void tl_report_words_timeline_drawing(const tl_report_timeline *timeline, unsigned panels,
                                      tl_report_text *text);
/* How wide the edge was first and last; nothing if that is not known. */
void tl_report_words_blur(const tl_report_timeline *timeline, tl_report_text *text);
/* Whether it rises or falls; one is told only where it is significant. */
void tl_report_words_blur_trend(const tl_report_timeline *timeline, tl_report_text *text);

#endif
