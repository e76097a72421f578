/*
 * slide_deepest.c - the deepest photograph with its two circles, and the maximum.
 */
#include <math.h>

#include "report/talk_internal.h"

static const double SIDE = 790.0, REACH = 1.5, COLUMN = 1010.0, COLUMN_WIDTH = 814.0;

static bool possible(const tl_report_source *source) {
    return tl_report_plate_deepest(source) != NULL;
}

static void headline(const tl_report_source *source, tl_report_text *words) {
    tl_report_depth depth;
    const tl_track *track = &source->sequence->track;
    if (track->has_smallest && track->contact[TL_MAX].measured)
        tl_report_text_add(words, "Maximum: the centres of Sun and Moon at their closest");
    else if (tl_report_depth_of(source, &depth) &&
             tl_obscuration(depth.separation_sr, depth.ratio) < 1.0)
        tl_report_text_add(words, "The deepest picture, with both edges fitted");
    else
        tl_report_text_add(words, "Two circles say how deep it is");
}

static void note(const tl_report_source *source, tl_report_text *words) {
    tl_report_text_add(words, "The two circles are fitted to the edges that this picture shows. ");
    tl_report_words_deepest(source->sequence, words);
}

static void draw_circles(tl_report_slide_pen *pen, const tl_report_plate *plate, double left,
                         double top) {
    const double scale = 0.5 * SIDE / REACH, x0 = left + 0.5 * SIDE, y0 = top + 0.5 * SIDE;
    double x, y, ratio;
    cairo_save(pen->cr);
    cairo_rectangle(pen->cr, left, top, SIDE, SIDE);
    cairo_clip(pen->cr);
    cairo_new_path(pen->cr);
    tl_report_add_circle(pen->cr, x0, y0, scale);
    tl_report_stroke_rimmed(pen->cr, TL_REPORT_INK_SUN, 3.5);
    cairo_new_path(pen->cr);
    if (tl_report_plate_moon(pen->source, plate, TL_REPORT_NORTH_UP, &x, &y, &ratio)) {
        static const double dashed[] = {16.0, 10.0};
        tl_report_add_circle(pen->cr, x0 + scale * x, y0 + scale * y, scale * ratio);
        cairo_set_dash(pen->cr, dashed, 2, 0.0);
        tl_report_stroke_rimmed(pen->cr, TL_REPORT_INK_MOON, 3.5);
        cairo_set_dash(pen->cr, NULL, 0, 0.0);
        cairo_new_path(pen->cr);
        tl_report_draw_mark(pen->cr, TL_REPORT_MARK_MOON, x0 + scale * x, y0 + scale * y, 8.0);
    }
    tl_report_draw_mark(pen->cr, TL_REPORT_MARK_SUN, x0, y0, 8.0);
    cairo_restore(pen->cr);
    cairo_new_path(pen->cr);
}

static void draw_key(tl_report_slide_pen *pen, double y, tl_report_ink ink, const char *words) {
    static const tl_report_type type = {34.0, 34.0, 0.0, 0.5, TL_REPORT_INK_LABEL};
    static const double dashed[] = {16.0, 10.0};
    if (ink == TL_REPORT_INK_MOON)
        cairo_set_dash(pen->cr, dashed, 2, 0.0);
    cairo_move_to(pen->cr, COLUMN, y);
    cairo_line_to(pen->cr, COLUMN + 68.0, y);
    tl_report_set_ink(pen->cr, ink);
    cairo_set_line_width(pen->cr, 4.0);
    cairo_stroke(pen->cr);
    cairo_set_dash(pen->cr, NULL, 0, 0.0);
    tl_report_set_line_string(pen, &type, words, COLUMN + 92.0, y);
}

static double set_maximum(tl_report_slide_pen *pen, double y) {
    const tl_track *track = &pen->source->sequence->track;
    tl_report_text when = {0}, apart = {0};
    if (tl_report_add_contact(pen->source, TL_MAX, true, &when))
        y = tl_report_set_fact(pen, "Maximum, measured", &when, COLUMN, y, COLUMN_WIDTH) + 40.0;
    tl_report_text_free(&when);
    if (track->has_smallest) {
        tl_report_add_measure(&apart, fabs(track->smallest_sr), track->smallest_sigma_sr, 4,
                              "solar radii");
        y = tl_report_set_fact(pen, "Centres apart at maximum", &apart, COLUMN, y, COLUMN_WIDTH) +
            40.0;
    }
    return y;
}

static double set_picture(tl_report_slide_pen *pen, const tl_report_plate *plate, double y) {
    const tl_limb *limb = &pen->source->sequence->frame[plate->frame].limb;
    tl_report_text words = {0};
    tl_report_add_fixed(&words, limb->separation_sr,
                        tl_report_decimals(limb->separation_sigma_sr, 4));
    tl_report_text_add(&words, "\u00a0solar radii");
    if (plate->timed) {
        tl_report_text_add(&words, " at ");
        tl_report_add_plate_time(pen->source, plate, &words);
    }
    return tl_report_set_fact(pen, "In this picture", &words, COLUMN, y, COLUMN_WIDTH) + 40.0;
}

static void draw(tl_report_slide_pen *pen) {
    const tl_report_plate *plate = tl_report_plate_deepest(pen->source);
    const double left = TL_REPORT_SLIDE_MARGIN, top = TL_REPORT_SLIDE_TOP - 10.0;
    tl_report_slide_plate(pen, plate, TL_REPORT_NORTH_UP, REACH, left, top, SIDE);
    draw_circles(pen, plate, left, top);
    double y = set_maximum(pen, TL_REPORT_SLIDE_TOP + 60.0);
    y = set_picture(pen, plate, y) + 30.0;
    draw_key(pen, y, TL_REPORT_INK_SUN, "the Sun\u2019s edge, a circle fitted");
    draw_key(pen, y + 60.0, TL_REPORT_INK_MOON, "the Moon\u2019s");
}

const tl_report_slide tl_report_slide_deepest = {"maximum", possible, headline, note, draw};
