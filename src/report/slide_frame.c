/*
 * slide_frame.c - what every slide has: ground, headline, foot; and discs drawn, not photographed.
 */
#include <math.h>

#include "report/path_internal.h"
#include "report/talk_internal.h"

void tl_report_set_tone(cairo_t *cr, tl_report_tone tone) {
    /* Hues after Okabe & Ito, "Color universal design", 2008: orange, greys, vermilion. */
    static const double rgb[TL_REPORT_TONES][3] = {
        [TL_REPORT_TONE_SUN] = {0.95, 0.68, 0.16},
        [TL_REPORT_TONE_MOON] = {0.13, 0.14, 0.17},
        [TL_REPORT_TONE_RIM] = {0.60, 0.63, 0.68},
        [TL_REPORT_TONE_SHARE] = {0.34, 0.71, 0.91},
    };
    cairo_set_source_rgb(cr, rgb[tone][0], rgb[tone][1], rgb[tone][2]);
}

void tl_report_draw_disc(cairo_t *cr, tl_report_tone tone, double x, double y, double radius) {
    cairo_new_path(cr);
    tl_report_add_circle(cr, x, y, radius);
    tl_report_set_tone(cr, tone);
    cairo_fill(cr);
}

void tl_report_draw_pair(cairo_t *cr, double x, double y, double radius, double dx, double dy,
                         double ratio) {
    tl_report_draw_disc(cr, TL_REPORT_TONE_SUN, x, y, radius);
    tl_report_draw_disc(cr, TL_REPORT_TONE_MOON, x + dx, y + dy, radius * ratio);
    tl_report_add_circle(cr, x + dx, y + dy, radius * ratio);
    tl_report_set_tone(cr, TL_REPORT_TONE_RIM);
    cairo_set_line_width(cr, 3.0);
    cairo_stroke(cr);
}

/*
 * The position in the talk: one small Sun for each slide, the Moon going over it from first to last
 * contact as it did in this eclipse, the present one lit.
 */
static void draw_phase(cairo_t *cr, double x, double y, double radius, const double moon[3],
                       bool lit) {
    cairo_save(cr);
    tl_report_add_circle(cr, x, y, radius);
    cairo_clip(cr);
    if (lit)
        tl_report_set_tone(cr, TL_REPORT_TONE_SUN);
    else
        tl_report_set_ink(cr, TL_REPORT_INK_LINE);
    cairo_paint(cr);
    cairo_set_source_rgb(cr, 0.0, 0.0, 0.0);
    tl_report_add_circle(cr, x + radius * moon[0], y + radius * moon[1], radius * moon[2]);
    cairo_fill(cr);
    cairo_restore(cr);
    cairo_new_path(cr);
    tl_report_add_circle(cr, x, y, radius);
    if (lit)
        tl_report_set_tone(cr, TL_REPORT_TONE_SUN);
    else
        tl_report_set_ink(cr, TL_REPORT_INK_LINE);
    cairo_set_line_width(cr, lit ? 2.5 : 1.5);
    cairo_stroke(cr);
}

static void draw_position(const tl_report_slide_pen *pen) {
    const double radius = 11.0, lit_radius = 15.0, step = 36.0;
    const double right = TL_REPORT_SLIDE_WIDTH - TL_REPORT_SLIDE_MARGIN, y = 1036.0;
    const double least = 0.4; /* a thinner crescent could not be seen here */
    tl_report_depth depth = {.separation_sr = least, .ratio = 1.0};
    tl_report_depth_of(pen->source, &depth);
    const double closest = fmin(fmax(depth.separation_sr, least), 1.0);
    const double most = sqrt(fmax(pow(1.0 + depth.ratio, 2.0) - closest * closest, 0.0));
    for (size_t k = 0; k < pen->slides; k++) {
        const double way =
            pen->slides < 2 ? 0.0 : 2.0 * (double)k / (double)(pen->slides - 1) - 1.0;
        const double moon[3] = {way * most, closest, depth.ratio};
        const bool here = k == pen->slide;
        draw_phase(pen->cr, right - lit_radius - step * (double)(pen->slides - 1 - k), y,
                   here ? lit_radius : radius, moon, here);
    }
}

void tl_report_slide_ground(tl_report_slide_pen *pen) {
    /* As the rims of the photographs: they have no border then. */
    cairo_set_source_rgb(pen->cr, 0.0, 0.0, 0.0);
    cairo_paint(pen->cr);
    draw_position(pen);
}

/* On one line if that leaves it large enough, else on two. */
static void set_headline(tl_report_slide_pen *pen, tl_report_text *headline) {
    const double width = TL_REPORT_SLIDE_WIDTH - 2.0 * TL_REPORT_SLIDE_MARGIN;
    const double one_line = 62.0, two_lines = 144.0;
    const bool one = tl_report_string_fits(pen, tl_report_text_string(headline), 50.0, width);
    const tl_report_type type = {TL_REPORT_SLIDE_HEADLINE, one ? 46.0 : 40.0, 0.0, 0.5,
                                 TL_REPORT_INK_TEXT};
    const double height = one ? one_line : two_lines;
    tl_report_set_words(
        pen, &type, headline,
        (tl_report_rect){TL_REPORT_SLIDE_MARGIN, 118.0 - 0.5 * height, width, height});
}

void tl_report_slide_frame(tl_report_slide_pen *pen, tl_report_text *headline) {
    static const tl_report_type foot = {TL_REPORT_SLIDE_LEAST, TL_REPORT_SLIDE_LEAST, 0.0, 0.5,
                                        TL_REPORT_INK_LABEL};
    const double width = 1200.0; /* the rest is the position's */
    tl_report_text words = {0};
    tl_report_slide_ground(pen);
    set_headline(pen, headline);
    tl_report_words_title(pen->source->sequence, &pen->source->facts, &words);
    tl_report_set_words(pen, &foot, &words,
                        (tl_report_rect){TL_REPORT_SLIDE_MARGIN, 1022.0, width, 28.0});
}
