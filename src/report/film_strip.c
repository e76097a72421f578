/*
 * film_strip.c - the words and the time bar under every picture of an animation.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/draw_internal.h"
#include "report/film_internal.h"
#include "report/limbs_internal.h"

/* All px at a width of 720; other widths scale them. */
#define WIDTH 720.0
#define HEIGHT 136.0
#define MARGIN 26.0
#define LARGE 31.0
#define SMALL 18.5
#define LINE_1 26.0 /* the middles of the lines */
#define LINE_2 61.0
#define BAR 91.0
#define NAMES 115.0
#define TICK 7.0 /* half of one */
#define DOT 6.5  /* radius of the one that says where we are */

/* Marks closer together than their names are wide: the first ones keep theirs. */
#define NAME_GAP 14.0

/* What is drawn. */
typedef struct scene {
    const tl_report_strip *strip;
    const tl_report_strip_words *words;
} scene;

int tl_report_strip_height(int side_px) {
    return (int)lround(HEIGHT * side_px / WIDTH);
}

static void stretch(tl_report_strip *strip, double t_s) {
    strip->from_s = strip->has_bar ? fmin(strip->from_s, t_s) : t_s;
    strip->to_s = strip->has_bar ? fmax(strip->to_s, t_s) : t_s;
    strip->has_bar = true;
}

tl_report_strip tl_report_strip_make(const tl_report_source *source, int side_px,
                                     const tl_report_plates *plates) {
    const tl_report_path *path = &source->path;
    tl_report_strip made = {.source = source,
                            .side_px = side_px,
                            .utc = plates->utc,
                            .contacts = path->on_sky == plates->utc};
    for (int which = 0; which < TL_CONTACTS && made.contacts; which++)
        if (path->has_contact[which])
            stretch(&made, path->contact[which].t_s);
    for (size_t k = 0; k < plates->count; k++)
        if (plates->item[k].timed)
            stretch(&made, plates->item[k].t_s);
    made.has_bar = made.has_bar && made.to_s > made.from_s;
    return made;
}

tl_report_strip_words tl_report_strip_words_of(const tl_report_source *source,
                                               const tl_report_plate *plate) {
    const tl_sequence *sequence = source->sequence;
    const size_t i = plate->frame;
    tl_report_strip_words made = {.timed = plate->timed,
                                  .t_s = plate->t_s,
                                  .whole = sequence->frame[i].limb.status == TL_LIMB_SUN_ONLY,
                                  .has_covered = tl_report_has_share(sequence, i),
                                  .obscuration = tl_report_track_frame(sequence, i)->obscuration};
    if (made.has_covered)
        made.sigma = tl_report_obscuration_sigma(sequence, i);
    return made;
}

static void put(cairo_t *cr, tl_report_ink ink, const char *string, double size, double x, double y,
                double align) {
    tl_report_set_ink(cr, ink);
    tl_report_draw_text(cr, string, size, x, y, align);
}

static void put_clock(cairo_t *cr, tl_report_ink ink, double t_s, const char *behind, double size,
                      double y) {
    tl_report_text text = {0};
    tl_report_add_time_of_day(&text, t_s);
    tl_report_text_add(&text, behind);
    put(cr, ink, tl_report_text_string(&text), size, MARGIN, y, 0.0);
    tl_report_text_free(&text);
}

static void draw_time(cairo_t *cr, const scene *s) {
    const tl_report_facts *facts = &s->strip->source->facts;
    if (!s->words->timed)
        return;
    if (!s->strip->utc) {
        put_clock(cr, TL_REPORT_INK_TEXT, s->words->t_s, "", LARGE, LINE_1);
        put(cr, TL_REPORT_INK_LABEL, "by the camera\u2019s clock", SMALL, MARGIN, LINE_2, 0.0);
        return;
    }
    put_clock(cr, TL_REPORT_INK_TEXT, s->words->t_s, " UTC", LARGE, LINE_1);
    if (facts->has_zone && facts->zone_minutes != 0)
        put_clock(cr, TL_REPORT_INK_LABEL, s->words->t_s + facts->zone_minutes * 60.0,
                  " local time", SMALL, LINE_2);
}

static void draw_covered(cairo_t *cr, const scene *s) {
    const double x = WIDTH - MARGIN;
    if (s->words->whole) {
        put(cr, TL_REPORT_INK_TEXT, "whole", LARGE, x, LINE_1, 1.0);
        put(cr, TL_REPORT_INK_LABEL, "no Moon seen", SMALL, x, LINE_2, 1.0);
    } else if (s->words->has_covered) {
        tl_report_text text = {0};
        tl_report_add_fixed(&text, 100.0 * s->words->obscuration,
                            tl_report_decimals(100.0 * s->words->sigma, 1));
        tl_report_text_add(&text, "\u00a0%");
        put(cr, TL_REPORT_INK_TEXT, tl_report_text_string(&text), LARGE, x, LINE_1, 1.0);
        put(cr, TL_REPORT_INK_LABEL, "of the Sun covered", SMALL, x, LINE_2, 1.0);
        tl_report_text_free(&text);
    }
}

static void draw_kind(cairo_t *cr, const scene *s) {
    if (s->strip->up)
        put(cr, TL_REPORT_INK_LABEL, s->strip->up, SMALL, WIDTH / 2.0, LINE_1, 0.5);
    if (s->words->kind)
        put(cr, TL_REPORT_INK_LABEL, s->words->kind, SMALL, WIDTH / 2.0, LINE_2, 0.5);
}

static double bar_x(const tl_report_strip *strip, double t_s) {
    const double share = (t_s - strip->from_s) / (strip->to_s - strip->from_s);
    return MARGIN + DOT + (WIDTH - 2.0 * (MARGIN + DOT)) * fmin(fmax(share, 0.0), 1.0);
}

static void draw_line(cairo_t *cr, double x0, double y0, double x1, double y1, double width) {
    cairo_move_to(cr, x0, y0);
    cairo_line_to(cr, x1, y1);
    cairo_set_line_width(cr, width);
    cairo_stroke(cr);
}

/* "max 17:54" under its mark, kept within the strip. */
static void draw_name(cairo_t *cr, const tl_report_strip *strip, const char *name, double t_s,
                      double taken[][2], size_t *taken_count) {
    char iso[TL_TIME_TEXT_SIZE];
    tl_report_text text = {0};
    tl_time_text(round(t_s / 60.0) * 60.0, 0, "", iso);
    tl_report_text_addf(&text, "%s%s%.5s", name, *name ? " " : "", iso + 11);
    const double half = 0.5 * tl_report_text_width(cr, tl_report_text_string(&text), SMALL);
    const double x = fmin(fmax(bar_x(strip, t_s), MARGIN + half), WIDTH - MARGIN - half);
    bool free_place = true;
    for (size_t k = 0; k < *taken_count; k++)
        free_place = free_place && fabs(x - taken[k][0]) >= half + taken[k][1] + NAME_GAP;
    if (free_place) {
        put(cr, TL_REPORT_INK_LABEL, tl_report_text_string(&text), SMALL, x, NAMES, 0.5);
        taken[*taken_count][0] = x;
        taken[(*taken_count)++][1] = half;
    }
    tl_report_text_free(&text);
}

static void draw_names(cairo_t *cr, const tl_report_strip *strip) {
    static const int shown[] = {TL_MAX, TL_C1, TL_C4};
    const tl_report_path *path = &strip->source->path;
    double taken[TL_CONTACTS + 2][2];
    size_t taken_count = 0;
    tl_report_set_ink(cr, TL_REPORT_INK_LABEL);
    for (int i = 0; i < 3 && strip->contacts; i++) {
        const double t_s = path->contact[shown[i]].t_s;
        if (!path->has_contact[shown[i]])
            continue;
        draw_line(cr, bar_x(strip, t_s), BAR - TICK, bar_x(strip, t_s), BAR + TICK, 2.0);
        draw_name(cr, strip, tl_contact_name[shown[i]], t_s, taken, &taken_count);
    }
    draw_name(cr, strip, "", strip->from_s, taken, &taken_count);
    draw_name(cr, strip, "", strip->to_s, taken, &taken_count);
}

static void draw_bar(cairo_t *cr, const scene *s) {
    const tl_report_strip *strip = s->strip;
    const double left = bar_x(strip, strip->from_s), right = bar_x(strip, strip->to_s);
    tl_report_set_ink(cr, TL_REPORT_INK_LINE);
    draw_line(cr, left, BAR, right, BAR, 3.0);
    for (size_t k = 0; k < strip->tick_count; k++)
        draw_line(cr, bar_x(strip, strip->tick_s[k]), BAR - 0.6 * TICK,
                  bar_x(strip, strip->tick_s[k]), BAR + 0.6 * TICK, 3.0);
    draw_names(cr, strip);
    if (!s->words->timed)
        return;
    const double here = bar_x(strip, s->words->t_s);
    tl_report_set_ink(cr, TL_REPORT_INK_TEXT);
    draw_line(cr, left, BAR, here, BAR, 3.0);
    tl_report_add_circle(cr, here, BAR, DOT);
    cairo_fill(cr);
}

static tl_status draw(cairo_t *cr, const void *context) {
    const scene *s = context;
    cairo_set_source_rgb(cr, 0.0, 0.0, 0.0); /* as the rims of the pictures */
    cairo_paint(cr);
    draw_time(cr, s);
    draw_covered(cr, s);
    draw_kind(cr, s);
    if (s->strip->has_bar)
        draw_bar(cr, s);
    return TL_OK;
}

tl_status tl_report_strip_pixels(const tl_report_strip *strip, const tl_report_strip_words *words,
                                 unsigned char *rgb) {
    const scene s = {strip, words};
    const double scale = strip->side_px / WIDTH;
    const int height = tl_report_strip_height(strip->side_px);
    const tl_report_drawing drawing = {WIDTH, height / scale, draw, &s};
    unsigned char *made = NULL;
    const tl_status status = tl_report_draw_pixels(&drawing, scale, &made);
    if (status != TL_OK)
        return status;
    memcpy(rgb, made, 3 * (size_t)strip->side_px * (size_t)height);
    free(made);
    return TL_OK;
}
