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
    cairo_arc(cr, x, y, radius, 0.0, 2.0 * TL_PI);
    tl_report_set_tone(cr, tone);
    cairo_fill(cr);
}

void tl_report_draw_pair(cairo_t *cr, double x, double y, double radius, double dx, double dy,
                         double ratio) {
    tl_report_draw_disc(cr, TL_REPORT_TONE_SUN, x, y, radius);
    tl_report_draw_disc(cr, TL_REPORT_TONE_MOON, x + dx, y + dy, radius * ratio);
    cairo_arc(cr, x + dx, y + dy, radius * ratio, 0.0, 2.0 * TL_PI);
    tl_report_set_tone(cr, TL_REPORT_TONE_RIM);
    cairo_set_line_width(cr, 3.0);
    cairo_stroke(cr);
}

/*
 * The position in the talk: one small Sun for each slide, the Moon going over it from first to last
 * contact as it did in this eclipse, the present one lit.
 */
static void draw_position(const tl_report_pen *pen) {
    const double radius = 11.0, step = 34.0;
    const double right = TL_REPORT_SLIDE_WIDTH - TL_REPORT_SLIDE_MARGIN, y = 1036.0;
    tl_report_depth depth = {.separation_sr = 0.4, .ratio = 1.0};
    tl_report_depth_of(pen->source, &depth);
    const double closest = fmin(fabs(depth.separation_sr), 1.0);
    const double most = sqrt(fmax(pow(1.0 + depth.ratio, 2.0) - closest * closest, 0.0));
    for (size_t k = 0; k < pen->slides; k++) {
        const double share =
            pen->slides < 2 ? 0.0 : 2.0 * (double)k / (double)(pen->slides - 1) - 1.0;
        const double x = right - radius - step * (double)(pen->slides - 1 - k);
        const bool here = k == pen->slide;
        cairo_save(pen->cr);
        cairo_arc(pen->cr, x, y, radius, 0.0, 2.0 * TL_PI);
        cairo_clip(pen->cr);
        cairo_push_group(pen->cr);
        if (here)
            tl_report_set_tone(pen->cr, TL_REPORT_TONE_SUN);
        else
            tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE);
        cairo_paint(pen->cr);
        cairo_set_source_rgb(pen->cr, 0.0, 0.0, 0.0);
        cairo_arc(pen->cr, x + radius * share * most, y + radius * closest, radius * depth.ratio,
                  0.0, 2.0 * TL_PI);
        cairo_fill(pen->cr);
        cairo_pop_group_to_source(pen->cr);
        cairo_paint(pen->cr);
        cairo_restore(pen->cr);
        cairo_new_path(pen->cr);
        cairo_arc(pen->cr, x, y, radius, 0.0, 2.0 * TL_PI);
        if (here)
            tl_report_set_tone(pen->cr, TL_REPORT_TONE_SUN);
        else
            tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE);
        cairo_set_line_width(pen->cr, 1.5);
        cairo_stroke(pen->cr);
    }
}

void tl_report_slide_ground(tl_report_pen *pen) {
    /* As the rims of the photographs: they have no border then. */
    cairo_set_source_rgb(pen->cr, 0.0, 0.0, 0.0);
    cairo_paint(pen->cr);
    draw_position(pen);
}

void tl_report_slide_frame(tl_report_pen *pen, tl_report_text *headline) {
    static const tl_report_type head = {TL_REPORT_SLIDE_HEADLINE, 40.0, 0.0, 0.5,
                                        TL_REPORT_INK_TEXT};
    static const tl_report_type foot = {TL_REPORT_SLIDE_LEAST, TL_REPORT_SLIDE_LEAST, 0.0, 0.5,
                                        TL_REPORT_INK_LABEL};
    const double width = TL_REPORT_SLIDE_WIDTH - 2.0 * TL_REPORT_SLIDE_MARGIN;
    tl_report_text words = {0};
    tl_report_slide_ground(pen);
    tl_report_set_words(pen, &head, headline,
                        (tl_report_rect){TL_REPORT_SLIDE_MARGIN, 48.0, width, 140.0});
    tl_report_words_title(pen->source->sequence, &pen->source->facts, &words);
    tl_report_set_words(pen, &foot, &words,
                        (tl_report_rect){TL_REPORT_SLIDE_MARGIN, 1022.0, 0.7 * width, 28.0});
}
