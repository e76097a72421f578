/*
 * slide_share.c - magnitude is not obscuration: the share of the diameter, and that of the area.
 */
#include <math.h>

#include "report/talk_internal.h"

static const double RADIUS_MOST = 240.0, WIDTH = 800.0, RIGHT_X = 1390.0, LEFT_X = 530.0, Y = 490.0;

/* The pair of discs, level, as large as there is room for: the Moon on the left. */
typedef struct pair {
    double radius, dx, sun_off; /* px; of the Sun; the Moon's centre from it, it from the middle */
    double ratio;
} pair;

static pair pair_of(const tl_report_depth *depth) {
    const double left = fmax(1.0, depth->separation_sr + depth->ratio);
    const double right = fmax(1.0, depth->ratio - depth->separation_sr);
    const double radius = fmin(RADIUS_MOST, WIDTH / (left + right));
    return (pair){radius, -radius * depth->separation_sr, 0.5 * radius * (left - right),
                  depth->ratio};
}

static bool possible(const tl_report_source *source) {
    tl_report_depth depth;
    return tl_report_depth_of(source, &depth);
}

static void headline(const tl_report_source *source, tl_report_text *words) {
    (void)source;
    tl_report_text_add(words, "Magnitude counts the diameter, obscuration the area");
}

/* The covered part of the diameter that runs through both centres, within 0..1. */
static double covered_diameter(const tl_report_depth *depth) {
    return fmin(fmax(0.5 * (1.0 + depth->ratio - depth->separation_sr), 0.0), 1.0);
}

static void note(const tl_report_source *source, tl_report_text *words) {
    tl_report_depth depth = {0};
    tl_report_depth_of(source, &depth);
    tl_report_text_add(words, depth.of_picture ? "In the deepest picture " : "At maximum ");
    tl_report_add_share(&depth, covered_diameter(&depth), words);
    tl_report_text_add(words, " of the Sun\u2019s diameter were covered, but ");
    tl_report_add_share(&depth, tl_obscuration(depth.separation_sr, depth.ratio), words);
    tl_report_text_add(words, " of its area. Newspapers mix them up; ask which one is meant.");
}

static void draw_disc(tl_report_slide_pen *pen, const pair *p, double x, bool area) {
    tl_report_draw_pair(pen->cr, x, Y, p->radius, p->dx, 0.0, p->ratio);
    cairo_save(pen->cr);
    tl_report_add_circle(pen->cr, x, Y, p->radius);
    cairo_clip(pen->cr);
    if (area)
        tl_report_draw_disc(pen->cr, TL_REPORT_TONE_SHARE, x + p->dx, Y, p->radius * p->ratio);
    cairo_restore(pen->cr);
    cairo_new_path(pen->cr);
    tl_report_add_circle(pen->cr, x, Y, p->radius);
    tl_report_set_tone(pen->cr, TL_REPORT_TONE_SUN);
    cairo_set_line_width(pen->cr, 3.0);
    cairo_stroke(pen->cr);
}

/* The covered part of it in the colour of the numbers, the rest dark on the Sun. */
static void draw_diameter(tl_report_slide_pen *pen, const pair *p, double x, double covered) {
    const double from = x - p->radius, to = from + 2.0 * p->radius * covered;
    cairo_move_to(pen->cr, to, Y);
    cairo_line_to(pen->cr, x + p->radius, Y);
    cairo_set_source_rgb(pen->cr, 0.0, 0.0, 0.0);
    cairo_set_line_width(pen->cr, 4.0);
    cairo_stroke(pen->cr);
    cairo_move_to(pen->cr, from, Y);
    cairo_line_to(pen->cr, to, Y);
    tl_report_set_tone(pen->cr, TL_REPORT_TONE_SHARE);
    cairo_set_line_width(pen->cr, 12.0);
    cairo_stroke(pen->cr);
}

static void set_under(tl_report_slide_pen *pen, const tl_report_depth *depth, double x,
                      double share, const char *of, tl_report_text *name) {
    static const tl_report_type large = {84.0, 60.0, 0.5, 0.0, TL_REPORT_INK_SUN};
    static const tl_report_type body = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_TEXT};
    static const tl_report_type other = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_LABEL};
    const double width = 760.0, left = x - 0.5 * width, top = 774.0;
    tl_report_text number = {0};
    tl_report_add_share(depth, share, &number);
    tl_report_set_words(pen, &large, &number, (tl_report_rect){left, top, width, 90.0});
    tl_report_set_string(pen, &body, of, (tl_report_rect){left, top + 112.0, width, 44.0});
    tl_report_set_words(pen, &other, name, (tl_report_rect){left, top + 164.0, width, 44.0});
}

static void draw(tl_report_slide_pen *pen) {
    tl_report_depth depth = {0};
    tl_report_text magnitude = {0}, obscuration = {0};
    tl_report_depth_of(pen->source, &depth);
    const pair p = pair_of(&depth);
    const double covered = covered_diameter(&depth);
    const double area = tl_obscuration(depth.separation_sr, depth.ratio);
    const char *where = depth.of_picture ? ", in the deepest picture" : "";
    draw_disc(pen, &p, LEFT_X + p.sun_off, false);
    draw_diameter(pen, &p, LEFT_X + p.sun_off, covered);
    draw_disc(pen, &p, RIGHT_X + p.sun_off, true);
    tl_report_text_add(&magnitude, "magnitude ");
    if (depth.of_picture)
        tl_report_add_fixed(&magnitude, covered,
                            2 + tl_report_decimals(50.0 * depth.separation_sigma_sr, 1));
    else
        tl_report_words_magnitude(&pen->source->sequence->track, &magnitude);
    tl_report_text_add(&magnitude, where);
    tl_report_text_add(&obscuration, "obscuration ");
    tl_report_add_fixed(&obscuration, area,
                        2 + tl_report_decimals(50.0 * depth.separation_sigma_sr, 1));
    tl_report_text_add(&obscuration, where);
    set_under(pen, &depth, LEFT_X, covered, "of the diameter", &magnitude);
    set_under(pen, &depth, RIGHT_X, area, "of the area", &obscuration);
}

const tl_report_slide tl_report_slide_share = {"magnitude", possible, headline, note, draw};
