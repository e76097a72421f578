/*
 * contact_sheet.c - all photographs on one sheet: the same scale, upright, in order of time.
 */
#include <math.h>
#include <stdlib.h>

#include "report/draw_internal.h"
#include "report/limbs_internal.h"
#include "report/plate_internal.h"

/* px */
#define WIDTH_MOST 2400.0
#define WIDTH_LEAST 1500.0 /* the words over it fit */
#define MARGIN 48.0
#define TITLE 44.0
#define SMALL 26.0
#define HEAD 150.0
#define FOOT 84.0
#define TILE_MOST 460.0
#define TILE_REACH 1.22 /* solar radii: the disc and a rim of sky */
#define WIDE 1.6        /* columns per row of a sheet that a screen shows well */

typedef struct sheet {
    const tl_report_source *source;
    tl_report_up up;
    size_t *plate; /* owned; indices of those shown */
    size_t count, columns, rows;
    double width, tile, line; /* of the sheet; side of a tile; height of a line of its caption */
} sheet;

static double text_size(const sheet *s) {
    return fmin(SMALL, 0.13 * s->tile);
}

/* Whether "61.2 % covered" is narrower than a tile; else the words over the sheet say it. */
static bool has_room(const sheet *s) {
    const double letters = 9.0; /* of its width in sizes of the text */
    return s->tile > letters * text_size(s);
}

static bool lay_out(const tl_report_source *source, tl_report_up up, sheet *s) {
    const tl_report_plates *plates = &source->plates;
    *s = (sheet){.source = source, .up = up};
    s->plate = calloc(plates->count + 1, sizeof *s->plate);
    if (!s->plate)
        return false;
    s->count = tl_report_plates_spread(plates, up, plates->count, s->plate);
    s->columns = (size_t)ceil(sqrt(WIDE * (double)s->count));
    s->columns = s->columns < 1 ? 1 : s->columns;
    s->rows = (s->count + s->columns - 1) / s->columns;
    s->tile = fmin((WIDTH_MOST - 2.0 * MARGIN) / (double)s->columns, TILE_MOST);
    s->width = fmax(ceil(s->tile * (double)s->columns + 2.0 * MARGIN), WIDTH_LEAST);
    s->line = 1.35 * text_size(s);
    return true;
}

static void add_title(const sheet *s, tl_report_text *words) {
    tl_report_words_title(s->source->sequence, &s->source->facts, words);
}

static void add_subtitle(const sheet *s, tl_report_text *words) {
    const tl_report_plates *plates = &s->source->plates;
    tl_report_text_add(words, "All discs at one scale and of one brightness. ");
    if (s->up == TL_REPORT_ZENITH_UP)
        tl_report_text_add(words, "The zenith is up: as the Sun stood in the sky. ");
    else if (plates->turned_count > 0)
        tl_report_text_add(words, "Celestial north is up, east is left. ");
    else
        tl_report_text_add(words, "Turned as the camera was: north is not known. ");
    if (plates->count > 0 && plates->item[0].timed) /* those with a time come first */
        tl_report_text_add(words,
                           plates->utc ? "Times are UTC. " : "Times are the camera\u2019s. ");
    if (!has_room(s))
        tl_report_text_add(words, "Per cent: the share of the disc that is covered.");
}

static void add_foot(const sheet *s, tl_report_text *words) {
    const size_t left = s->source->sequence->count - s->count;
    tl_report_words_plates(&s->source->plates, s->plate, s->count, words);
    if (left > 0)
        tl_report_text_addf(
            words, "%zu picture%s of the series not shown: no measured Sun, or of another day%s.",
            left, left == 1 ? "" : "s",
            s->up == TL_REPORT_ZENITH_UP ? ", or the turn is not known" : "");
}

static void add_time(const sheet *s, const tl_report_plate *plate, tl_report_text *words) {
    if (plate->timed)
        tl_report_add_time_of_day(words, plate->t_s);
    else
        tl_report_text_add(words, "no time");
    tl_report_add_plate_marks(&s->source->plates, plate, words);
}

static void add_covered(const sheet *s, const tl_report_plate *plate, tl_report_text *words) {
    const tl_limb *limb = &s->source->sequence->frame[plate->frame].limb;
    if (limb->status == TL_LIMB_SUN_ONLY) {
        tl_report_text_add(words, "whole");
    } else if (tl_report_has_share(s->source->sequence, plate->frame)) {
        tl_report_add_percent(s->source->sequence, plate->frame, 1, words);
        tl_report_text_add(words, has_room(s) ? "\u00a0% covered" : "\u00a0%");
    }
}

static void draw_words(cairo_t *cr, tl_report_ink ink, tl_report_text *words, double size, double x,
                       double y, double align) {
    tl_report_set_ink(cr, ink);
    tl_report_draw_text(cr, tl_report_text_string(words), size, x, y, align);
    tl_report_text_free(words);
}

static tl_status draw_tile(cairo_t *cr, const sheet *s, size_t n) {
    const tl_report_plate *plate = &s->source->plates.item[s->plate[n]];
    const double left = MARGIN + s->tile * (double)(n % s->columns);
    const double top = HEAD + (s->tile + 2.4 * s->line) * (double)(n / s->columns);
    const tl_report_plate_look look = {s->up, (int)s->tile, TILE_REACH, false};
    tl_report_text words = {0};
    unsigned char *rgb = NULL;
    const tl_status status = tl_report_plate_pixels(s->source, plate, &look, &rgb);
    if (status == TL_ERR_MEMORY)
        return status;
    if (status == TL_OK) { /* a small picture that is broken leaves its place empty */
        cairo_surface_t *surface = tl_report_surface_of(rgb, look.side_px, look.side_px, false);
        free(rgb);
        if (!surface)
            return TL_ERR_MEMORY;
        tl_report_draw_surface(cr, surface, CAIRO_FILTER_FAST, floor(left), floor(top),
                               look.side_px, look.side_px);
        cairo_surface_destroy(surface);
    }
    const double x = left + s->tile / 2.0, y = top + s->tile + 0.35 * s->line;
    add_time(s, plate, &words);
    draw_words(cr, TL_REPORT_INK_TEXT, &words, text_size(s), x, y, 0.5);
    add_covered(s, plate, &words);
    draw_words(cr, TL_REPORT_INK_LABEL, &words, text_size(s), x, y + s->line, 0.5);
    return TL_OK;
}

static double height_of(const sheet *s) {
    return HEAD + (s->tile + 2.4 * s->line) * (double)s->rows + FOOT;
}

static tl_status draw(cairo_t *cr, const void *context) {
    const sheet *s = context;
    tl_report_text words = {0};
    cairo_set_source_rgb(cr, 0.0, 0.0, 0.0); /* as the rims of the tiles */
    cairo_paint(cr);
    add_title(s, &words);
    draw_words(cr, TL_REPORT_INK_TEXT, &words, TITLE, MARGIN, 56.0, 0.0);
    add_subtitle(s, &words);
    draw_words(cr, TL_REPORT_INK_LABEL, &words, SMALL, MARGIN, 108.0, 0.0);
    tl_status status = TL_OK;
    for (size_t n = 0; n < s->count && status == TL_OK; n++)
        status = draw_tile(cr, s, n);
    add_foot(s, &words);
    draw_words(cr, TL_REPORT_INK_LABEL, &words, SMALL, MARGIN, height_of(s) - FOOT / 2.0, 0.0);
    return status;
}

tl_status tl_report_contact_sheet(const tl_report_source *source, tl_report_up up,
                                  tl_report_text *jpeg) {
    sheet s;
    tl_status status = TL_OK;
    if (!lay_out(source, up, &s))
        return TL_ERR_MEMORY;
    if (s.count > 0) {
        const tl_report_drawing drawing = {s.width, height_of(&s), draw, &s};
        status = tl_report_draw_jpeg(&drawing, 1.0, jpeg);
    }
    free(s.plate);
    return status;
}
