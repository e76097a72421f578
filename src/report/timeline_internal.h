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
    double residual, residual_sigma; /* arcsec, or sr: see residual_arcsec; of the circles and of
                                        reading the clock, at the rate at which the Moon moves */
    double blur;                     /* arcsec, or per cent of the solar radius: see blur_arcsec */
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
    bool utc; /* times are true UTC; else those of the main camera's clock */
    bool has_zone;
    int zone_minutes;            /* local less UTC; only with utc */
    double from_s, to_s;         /* the axis; from_s < to_s if panels is not 0 */
    unsigned panels;             /* those in which anything is known */
    bool almanac;                /* the line is the almanac's; else the free path */
    tl_report_time_sample *line; /* owned; in order of time */
    size_t line_count;
    tl_report_time_point *point; /* owned; in order of time */
    size_t point_count;
    size_t untimed_count; /* pictures with circles that have no place on the axis */
    bool has_contact[TL_CONTACTS];
    double contact_s[TL_CONTACTS];
    tl_report_time_crossing crossing[2 * TL_REPORT_CROSSING_SPOTS];
    size_t crossing_count;
    bool residual_arcsec; /* else solar radii */
    double floor;         /* TL_TRACK_FLOOR_SR in the unit of the residuals */
    bool blur_arcsec;     /* else per cent of the solar radius */
    tl_report_blur_trend trend;
} tl_report_timeline;

/* The sequence must outlive it. TL_ERR_MEMORY, else TL_OK with whatever is known; `panels` 0:
 * nothing. Some 10 ms. */
tl_status tl_report_timeline_make(const tl_sequence *sequence, const tl_report_facts *facts,
                                  tl_report_timeline *timeline);
void tl_report_timeline_free(tl_report_timeline *timeline);

/* timeline_trend.c: from the points; see above. */
tl_report_blur_trend tl_report_blur_trend_of(const tl_report_timeline *timeline);

/* ---- timeline_draw.c: into a rectangle ------------------------------------------------------ */

typedef struct tl_report_timeline_look {
    unsigned panels; /* wanted; those in which nothing is known are left out, the others share the
                        height */
    double left, top, width, height; /* of everything, names and numbers of the axes included */
    double text_px; /* of the letters; dots and strokes go with it. 15 for a width of 900, 28 for
                       one of 1,800; a panel needs a height of some 8 times this, the axis and the
                       names of the contacts together 6 times */
} tl_report_timeline_look;

/* The ground, which the caller has painted, is that of TL_REPORT_PAPER. Nothing is drawn where none
 * of the panels is known, or there is no room. TL_ERR_MEMORY. */
tl_status tl_report_draw_timeline(cairo_t *cr, const tl_report_timeline *timeline,
                                  const tl_report_timeline_look *look);

/* ---- timeline_svg.c ------------------------------------------------------------------------- */

/* timeline.svg: all panels under a title, with a legend. No bytes where nothing is known. */
tl_status tl_report_timeline_svg(const tl_report_facts *facts, const tl_report_timeline *timeline,
                                 tl_report_text *svg);

#endif
