/*
 * talk_internal.h - the talk: a handful of slides, as pictures and in one page that plays them.
 *
 * slide_text, slide_frame, slide_photo (what all slides are drawn with) -> slide_*.c (one or two
 * slides each) -> slides.c (which are possible, their order, their names) -> talk.c (the page).
 */
#ifndef TWOLIMB_REPORT_TALK_INTERNAL_H
#define TWOLIMB_REPORT_TALK_INTERNAL_H

#include "report/draw_internal.h"
#include "report/limbs_internal.h"
#include "report/plate_internal.h"

#define TL_REPORT_SLIDES_FOLDER "slides"

enum {
    TL_REPORT_SLIDE_WIDTH = 1920,
    TL_REPORT_SLIDE_HEIGHT = 1080,
    TL_REPORT_SLIDES_LEAST = 8,
    TL_REPORT_SLIDES_MOST = 12
};

typedef struct tl_report_rect {
    double left, top, width, height;
} tl_report_rect;

/* What stands on every slide at the same place, px. */
#define TL_REPORT_SLIDE_MARGIN 96.0
#define TL_REPORT_SLIDE_TOP 214.0    /* below the headline */
#define TL_REPORT_SLIDE_BOTTOM 984.0 /* above the foot */

/* Sizes of text, px of 1080. Nothing is smaller than the last one: the back row has to read it. */
#define TL_REPORT_SLIDE_HEADLINE 58.0
#define TL_REPORT_SLIDE_BODY 38.0
#define TL_REPORT_SLIDE_SMALL 30.0
#define TL_REPORT_SLIDE_LEAST 24.0

/* ---- slide_text.c: words in boxes -------------------------------------------------------------
 */

/* Hears every word that is set: for the page's readers who do not see it, and for tests. `fits`:
 * nothing had to be cut. */
typedef struct tl_report_ear {
    void (*hear)(void *context, const char *words, const tl_report_rect *box, bool fits);
    void *context;
} tl_report_ear;

/* What a slide is drawn with. */
typedef struct tl_report_slide_pen {
    cairo_t *cr;
    const tl_report_source *source;
    const tl_report_ear *ear; /* or NULL */
    size_t slide, slides;     /* this one, 0 the first, of so many */
    bool failed;              /* no memory for a text or a picture */
} tl_report_slide_pen;

typedef struct tl_report_type {
    double size, least;     /* px; it shrinks down to `least` to fit */
    double across, upright; /* where in the box: 0 left or top, 0.5 middle, 1 right or bottom */
    tl_report_ink ink;
} tl_report_type;

/* Set `words` in the box, wrapped, shrunk if need be, and cut with three dots if even that does not
 * help. Bytes that are not UTF-8 and control characters are replaced. Frees `words`. Returns the y
 * at which they end. */
double tl_report_set_words(tl_report_slide_pen *pen, const tl_report_type *type,
                           tl_report_text *words, tl_report_rect box);
double tl_report_set_string(tl_report_slide_pen *pen, const tl_report_type *type,
                            const char *string, tl_report_rect box);
/* Whether it stands on one line of this width at this size. */
bool tl_report_string_fits(tl_report_slide_pen *pen, const char *string, double size, double width);
/* One line about a point; `y` is the middle of the capitals. Frees `words`. */
void tl_report_set_line(tl_report_slide_pen *pen, const tl_report_type *type, tl_report_text *words,
                        double x, double y);
void tl_report_set_line_string(tl_report_slide_pen *pen, const tl_report_type *type,
                               const char *string, double x, double y);
/* A small heading and below it what it is about, in the box's width; returns where it ends. */
double tl_report_set_fact(tl_report_slide_pen *pen, const char *heading, tl_report_text *words,
                          double left, double top, double width);

/* ---- slide_frame.c: what every slide has, and drawn discs -------------------------------------
 */

/* The dark ground, the headline (its words are freed), and the foot: which eclipse, which slide. */
void tl_report_slide_frame(tl_report_slide_pen *pen, tl_report_text *headline);
/* The same without a headline: for the title. */
void tl_report_slide_ground(tl_report_slide_pen *pen);

typedef enum tl_report_tone {
    TL_REPORT_TONE_SUN,
    TL_REPORT_TONE_MOON,
    TL_REPORT_TONE_RIM, /* of a drawn Moon */
    TL_REPORT_TONE_SHARE,
    TL_REPORT_TONES
} tl_report_tone;
void tl_report_set_tone(cairo_t *cr, tl_report_tone tone);
void tl_report_draw_disc(cairo_t *cr, tl_report_tone tone, double x, double y, double radius);
/* Sun and Moon, the Moon's outline alone where it is off the Sun; the Moon's centre at (dx, dy) px
 * from the Sun's, radii in px. */
void tl_report_draw_pair(cairo_t *cr, double x, double y, double radius, double dx, double dy,
                         double ratio);

/* ---- slide_photo.c: photographs on a slide ----------------------------------------------------
 */

/* A plate in a square, `reach_sr` from its middle to a side. Where the small picture is broken both
 * discs are drawn instead. */
void tl_report_slide_plate(tl_report_slide_pen *pen, const tl_report_plate *plate, tl_report_up up,
                           double reach_sr, double left, double top, double side);
/* The plate with the least distance of the centres, those in the fits first; NULL if none shows the
 * Moon. */
const tl_report_plate *tl_report_plate_deepest(const tl_report_source *source);
/* The first in time that shows the Moon; NULL if none does. */
const tl_report_plate *tl_report_plate_first(const tl_report_source *source);
/* "17:54:53" with the zone of the talk's times: " UTC", or nothing; "no time" without one. */
void tl_report_add_plate_time(const tl_report_source *source, const tl_report_plate *plate,
                              tl_report_text *words);

/* ---- slide_graph.c: distance of the centres against time ---------------------------------------
 */

/* What its sides mean, and where it stands. */
typedef struct tl_report_graph {
    tl_report_rect box;
    double from_s, to_s, low, high;
} tl_report_graph;

double tl_report_graph_x(const tl_report_graph *graph, double t_s);
double tl_report_graph_y(const tl_report_graph *graph, double separation_sr);
/* Wide enough for the whole path, which must have two points. */
tl_report_graph tl_report_graph_of(const tl_report_path *path, tl_report_rect box);
/* Frame, ticks and their names, which stand outside its box; the path is in UTC. */
void tl_report_graph_axes(tl_report_slide_pen *pen, const tl_report_graph *graph);
void tl_report_graph_curve(tl_report_slide_pen *pen, const tl_report_graph *graph, double width);
void tl_report_graph_point(cairo_t *cr, double x, double y, double radius, bool hollow);
/* Of the path's distance at an instant, solar radii a second. */
double tl_report_graph_slope(const tl_report_path *path, double t_s);

/* ---- what the slides say of the numbers -------------------------------------------------------
 */

/* Distance of the centres and ratio of the radii at the deepest: of the path measured, or of the
 * deepest picture where there is none, or where the eclipse is total or annular: magnitude and
 * covered share of the diameter are not the same thing then. False if none is known. */
typedef struct tl_report_depth {
    double separation_sr, separation_sigma_sr, ratio;
    bool of_picture;
} tl_report_depth;
bool tl_report_depth_of(const tl_report_source *source, tl_report_depth *depth);
/* "91.2 %" of the diameter or the area, with the digits that the separation's error deserves. */
void tl_report_add_share(const tl_report_depth *depth, double share, tl_report_text *words);
/* "16:56:32.6 +- 0.5", and with `unit` " s UTC" or that it is by the camera's clock; false if it
 * was not measured. */
bool tl_report_add_contact(const tl_report_source *source, int which, bool unit,
                           tl_report_text *words);
/* "16:56:32.7 UTC"; false if there is no almanac. */
bool tl_report_add_almanac(const tl_report_source *source, int which, tl_report_text *words);

/* ---- slides.c ---------------------------------------------------------------------------------
 */

typedef struct tl_report_slide {
    const char *name; /* in its file's name */
    /* Whether this series has anything for it. */
    bool (*possible)(const tl_report_source *source);
    void (*headline)(const tl_report_source *source, tl_report_text *words);
    /* What to say with it: a sentence or two. */
    void (*note)(const tl_report_source *source, tl_report_text *words);
    /* Draws all but the ground and the headline. */
    void (*draw)(tl_report_slide_pen *pen);
} tl_report_slide;

extern const tl_report_slide tl_report_slide_title, tl_report_slide_north, tl_report_slide_zenith,
    tl_report_slide_first, tl_report_slide_deepest, tl_report_slide_share, tl_report_slide_path,
    tl_report_slide_light, tl_report_slide_turned, tl_report_slide_spot, tl_report_slide_clock,
    tl_report_slide_edges, tl_report_slide_size, tl_report_slide_more, tl_report_slide_sure;

/* The slides of this talk, in order: none if no picture is measured, else 8 to 12. */
size_t tl_report_talk_slides(const tl_report_source *source,
                             const tl_report_slide *chosen[TL_REPORT_SLIDES_MOST]);

/* One slide as a drawing. */
typedef struct tl_report_slide_drawing {
    const tl_report_source *source;
    const tl_report_slide *slide;
    size_t k, count;
    const tl_report_ear *ear; /* or NULL */
} tl_report_slide_drawing;
tl_report_drawing tl_report_drawing_of_slide(const tl_report_slide_drawing *slide);

/* The files below slides/; see tl_report_output. */
size_t tl_report_count_slides(const tl_report_source *source);
void tl_report_slide_name(const tl_report_source *source, size_t k, tl_report_text *name);
bool tl_report_is_slide_name(const char *name);
tl_status tl_report_slide_png(const tl_report_source *source, size_t k, tl_report_text *png);

/* ---- talk.c -----------------------------------------------------------------------------------
 */

/* talk.html; nothing if there are no slides. TL_ERR_MEMORY. */
tl_status tl_report_talk(const tl_report_source *source, tl_report_text *html);

#endif
