/*
 * timeline_internal.h - the series in time: distance, covered share, residuals and edge blur over
 * one axis of time.
 *
 * timeline (what is known, collected once) -> timeline_scale (ranges and steps of the axes) ->
 * timeline_layout (where panels and letters stand) -> timeline_draw, timeline_marks (into any
 * rectangle of a drawing) -> timeline_svg (timeline.svg: with title and legend).
 */
#ifndef TWOLIMB_REPORT_TIMELINE_INTERNAL_H
#define TWOLIMB_REPORT_TIMELINE_INTERNAL_H

#include <cairo.h>

#include "report/report_internal.h"

/* ---- timeline.c: what is known ------------------------------------------------------------- */

typedef enum tl_report_panel {
    TL_REPORT_PANEL_SEPARATION, /* of the centres, solar radii */
    TL_REPORT_PANEL_COVERED,    /* magnitude and obscuration */
    TL_REPORT_PANEL_RESIDUAL,   /* separation measured less that of the line */
    TL_REPORT_PANEL_BLUR,       /* width of the Sun's edge */
    TL_REPORT_PANELS
} tl_report_panel;
/* A set of panels is a sum of these. */
#define TL_REPORT_PANEL_BIT(panel) (1u << (panel))
#define TL_REPORT_ALL_PANELS (TL_REPORT_PANEL_BIT(TL_REPORT_PANELS) - 1u)

/* Of the almanac's path or the free one. */
typedef struct tl_report_time_sample {
    double t_s, separation_sr;
    double magnitude, obscuration; /* NAN: no ratio is known */
} tl_report_time_sample;

/* One picture. A value that is not known, or not finite, is NAN; so is an error that is not above
 * 0. */
typedef struct tl_report_time_point {
    size_t frame;
    double t_s;
    bool doubtful;     /* left out of the fits, or excluded: hollow */
    bool from_itself;  /* no time of its own: it has the one at which the line has its separation,
                          and so lies on it, whatever its error */
    bool other_camera; /* than the main one */
    double separation_sr, separation_sigma_sr;
    double magnitude, obscuration;
    /* With utc arcsec, else sr. The error is of the circles and of reading the clock, at the rate
     * at which the Moon moves. */
    double residual, residual_sigma;
    double blur; /* with utc arcsec, else per cent of the solar radius */
} tl_report_time_point;

/* The Moon's limb on the centre of a spot. */
typedef struct tl_report_time_crossing {
    const tl_spot *spot; /* of the sequence */
    double t_s;
    bool uncovering;
} tl_report_time_crossing;

/*
 * How the edge blur of the main camera's pictures goes with time: a straight line through its
 * logarithm, every picture with the same weight (for none has an error of its own). Its sigma is
 * from their scatter about the line; where neighbours err alike there are fewer of them than it
 * seems (Santer et al. 2000, J. Geophys. Res. 105, 7337, equations 4 to 6).
 */
typedef struct tl_report_blur_trend {
    size_t count;       /* pictures of the main camera with a blur and a time */
    size_t first, last; /* points: the first and the last of these; valid if count > 0 */
    bool fitted;        /* at least 4 pictures, and not at one instant */
    double growth_per_h, growth_sigma_per_h; /* of the natural logarithm; sigma from the scatter */
    double mean_t_s, mean_log;               /* a point on the line: log of the blur */
    bool significant; /* as improbable by chance as 3 sigma of a Gaussian, by Student's t for the
                         pictures there are */
} tl_report_blur_trend;

typedef struct tl_report_timeline {
    bool utc; /* times are true UTC and the line is the almanac's; else they are those of the main
                 camera's clock, and the line is the free path */
    bool has_zone;
    int zone_minutes;            /* local less UTC; only with utc */
    double from_s, to_s;         /* the axis; from_s < to_s if panels is not 0 */
    unsigned panels;             /* those in which anything is known */
    tl_report_time_sample *line; /* owned; in order of time */
    size_t line_count;
    tl_report_time_point *point; /* owned; in order of time */
    size_t point_count;
    size_t unplaced_count; /* pictures with a solar circle that have no place on the axis */
    bool has_contact[TL_CONTACTS];
    double contact_s[TL_CONTACTS];
    tl_report_time_crossing crossing[2 * TL_REPORT_CROSSING_SPOTS]; /* in order of time */
    size_t crossing_count;
    double floor; /* TL_TRACK_FLOOR_SR, in the unit of the residuals */
    tl_report_blur_trend trend;
} tl_report_timeline;

/* The sequence must outlive it. TL_ERR_MEMORY, else TL_OK with whatever is known; `panels` 0:
 * nothing. Some 10 ms. */
tl_status tl_report_timeline_make(const tl_sequence *sequence, const tl_report_facts *facts,
                                  tl_report_timeline *timeline);
void tl_report_timeline_free(tl_report_timeline *timeline);

/* timeline_trend.c: from the points; see above. */
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
    double strip_y;                /* of the marks of the sunspots */
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

#endif
