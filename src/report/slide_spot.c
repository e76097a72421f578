/*
 * slide_spot.c - the moments at which the Moon's edge passed a sunspot, close up.
 */
#include <math.h>
#include <stdlib.h>

#include "report/spots_internal.h"
#include "report/talk_internal.h"

enum { SHOWN_MOST = 4 };
static const double GAP = 36.0, SIDE_MOST = 470.0, TOP = 274.0;
static const double FAR_S = 1800.0; /* a picture further off tells nothing of it. Our own choice */

static bool is_whole(const tl_sequence *sequence, const tl_closeup *closeup) {
    return closeup->spot < sequence->spots.count && closeup->frame < sequence->count &&
           closeup->size > 0 && closeup->side > 0 && closeup->side_sr > 0.0;
}

/* The last close-up before, and the first after, the limb stood on the spot's centre; NULL where
 * there is none. */
static const tl_closeup *nearest(const tl_sequence *sequence, size_t spot, bool uncovering,
                                 bool after) {
    const tl_spot *of = &sequence->spots.spot[spot];
    const double t_s = (uncovering ? of->uncovered : of->covered).t_utc_s[TL_SPOT_CENTRE];
    const tl_closeup *best = NULL;
    double best_s = 0.0;
    for (size_t k = 0; k < sequence->closeup_count; k++) {
        const tl_closeup *closeup = &sequence->closeup[k];
        if (!is_whole(sequence, closeup) || closeup->spot != spot ||
            closeup->uncovering != uncovering)
            continue;
        const double off_s = tl_report_track_frame(sequence, closeup->frame)->true_utc_s - t_s;
        if ((off_s > 0.0) == after && fabs(off_s) <= FAR_S && (!best || fabs(off_s) < best_s)) {
            best = closeup;
            best_s = fabs(off_s);
        }
    }
    return best;
}

static size_t choose(const tl_sequence *sequence, size_t spot,
                     const tl_closeup *chosen[SHOWN_MOST]) {
    const tl_spot *of = &sequence->spots.spot[spot];
    size_t count = 0;
    for (int uncovering = 0; uncovering < 2; uncovering++) {
        const tl_spot_passage *passage = uncovering ? &of->uncovered : &of->covered;
        const tl_closeup *before = nearest(sequence, spot, uncovering, false);
        const tl_closeup *after = nearest(sequence, spot, uncovering, true);
        if (!of->has_passages || !passage->occurs || !passage->sun_up || !before || !after)
            continue;
        chosen[count++] = before;
        chosen[count++] = after;
    }
    return count;
}

/* The spot with pictures before and after both moments, else one of them, the first in the order in
 * which they are told; the number of spots if there is none. */
static size_t choose_spot(const tl_sequence *sequence) {
    const tl_closeup *chosen[SHOWN_MOST];
    size_t best = sequence->spots.count, most = 0;
    for (size_t k = 0; k < sequence->spots.count; k++) {
        const size_t spot = tl_report_spot_told(sequence, k);
        const size_t count = choose(sequence, spot, chosen);
        if (tl_report_spot_fate_of(&sequence->spots.spot[spot]) == TL_REPORT_SPOT_COVERED &&
            count > most) {
            best = spot;
            most = count;
        }
    }
    return best;
}

static bool possible(const tl_report_source *source) {
    return choose_spot(source->sequence) < source->sequence->spots.count;
}

static void add_moment(const tl_report_source *source, const tl_spot *spot, bool uncovering,
                       tl_report_text *words) {
    const tl_spot_passage *passage = uncovering ? &spot->uncovered : &spot->covered;
    tl_report_add_clock(words, passage->t_utc_s[TL_SPOT_CENTRE], tl_report_spot_decimals(spot),
                        source->facts.day_s);
}

static bool shown(const tl_report_source *source, bool uncovering) {
    const tl_closeup *chosen[SHOWN_MOST];
    const size_t count = choose(source->sequence, choose_spot(source->sequence), chosen);
    bool any = false;
    for (size_t n = 0; n < count; n++)
        any = any || chosen[n]->uncovering == uncovering;
    return any;
}

static void headline(const tl_report_source *source, tl_report_text *words) {
    const tl_spot *spot = &source->sequence->spots.spot[choose_spot(source->sequence)];
    const bool covered = shown(source, false), uncovered = shown(source, true);
    tl_report_text_add(words, "Sunspot ");
    tl_report_add_spot_name(words, spot);
    tl_report_text_add(words, covered ? " was covered at " : " was uncovered at ");
    add_moment(source, spot, !covered, words);
    if (covered && uncovered) {
        tl_report_text_add(words, ", uncovered at ");
        add_moment(source, spot, true, words);
    }
    tl_report_text_add(words, "\u00a0UTC");
}

static void note(const tl_report_source *source, tl_report_text *words) {
    tl_report_words_spot(source->sequence, &source->facts, choose_spot(source->sequence), words);
}

static void draw_closeup(tl_report_slide_pen *pen, const tl_closeup *closeup, double left,
                         double side) {
    tl_preview picture = {.jpeg = closeup->jpeg,
                          .size = closeup->size,
                          .width = closeup->side,
                          .height = closeup->side};
    unsigned char *rgb = NULL;
    cairo_surface_t *surface = NULL;
    const tl_status status = tl_preview_pixels(&picture, &rgb);
    if (status == TL_OK)
        surface = tl_report_surface_of(rgb, closeup->side, closeup->side, true);
    pen->failed = pen->failed || status == TL_ERR_MEMORY || (status == TL_OK && !surface);
    free(rgb);
    if (surface) {
        tl_report_draw_surface(pen->cr, surface, CAIRO_FILTER_GOOD, left, TOP, side, side);
        cairo_surface_destroy(surface);
    } else {
        tl_report_set_ink(pen->cr, TL_REPORT_INK_SHEET);
        cairo_rectangle(pen->cr, left, TOP, side, side);
        cairo_fill(pen->cr);
    }
    tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE); /* else a dark one has no edge on the slide */
    cairo_set_line_width(pen->cr, 2.0);
    cairo_rectangle(pen->cr, left, TOP, side, side);
    cairo_stroke(pen->cr);
    const double x = left + 0.5 * side, y = TOP + 0.5 * side;
    const tl_spot *spot = &pen->source->sequence->spots.spot[closeup->spot];
    const double radius = fmax(1.9 * spot->radius_sr / closeup->side_sr * side, 24.0);
    const bool hidden =
        tl_report_sight(pen->source->sequence, closeup->spot, closeup->frame)->state ==
        TL_SPOT_COVERED;
    static const double dashed[] = {12.0, 8.0};
    cairo_new_path(pen->cr);
    tl_report_add_circle(pen->cr, x, y, radius);
    if (hidden)
        cairo_set_dash(pen->cr, dashed, 2, 0.0);
    tl_report_stroke_rimmed(pen->cr, hidden ? TL_REPORT_INK_LABEL : TL_REPORT_INK_MOON, 3.0);
    cairo_set_dash(pen->cr, NULL, 0, 0.0);
    cairo_new_path(pen->cr);
}

static void set_caption(tl_report_slide_pen *pen, const tl_closeup *closeup, double left,
                        double side) {
    static const tl_report_type when = {34.0, 26.0, 0.5, 0.0, TL_REPORT_INK_TEXT};
    static const tl_report_type apart = {34.0, 26.0, 0.5, 0.0, TL_REPORT_INK_LABEL};
    const tl_spot *spot = &pen->source->sequence->spots.spot[closeup->spot];
    const tl_spot_passage *passage = closeup->uncovering ? &spot->uncovered : &spot->covered;
    const double t_s = tl_report_track_frame(pen->source->sequence, closeup->frame)->true_utc_s;
    const double off_s = t_s - passage->t_utc_s[TL_SPOT_CENTRE];
    tl_report_text time = {0}, words = {0};
    tl_report_add_clock(&time, t_s, 0, pen->source->facts.day_s);
    tl_report_add_duration(fabs(off_s), &words);
    tl_report_text_addf(&words, " %s it was %s", off_s < 0.0 ? "before" : "after",
                        closeup->uncovering ? "uncovered" : "covered");
    const double top = TOP + side + 30.0;
    tl_report_set_words(pen, &when, &time, (tl_report_rect){left, top, side, 40.0});
    tl_report_set_words(pen, &apart, &words, (tl_report_rect){left, top + 50.0, side, 84.0});
}

static void draw(tl_report_slide_pen *pen) {
    static const tl_report_type key = {TL_REPORT_SLIDE_SMALL, 26.0, 0.5, 0.0, TL_REPORT_INK_LABEL};
    const tl_closeup *chosen[SHOWN_MOST];
    const double room = TL_REPORT_SLIDE_WIDTH - 2.0 * TL_REPORT_SLIDE_MARGIN;
    const size_t count = choose(pen->source->sequence, choose_spot(pen->source->sequence), chosen);
    const double side = fmin((room - GAP * (double)(count - 1)) / (double)count, SIDE_MOST);
    const double wide = side * (double)count + GAP * (double)(count - 1);
    for (size_t n = 0; n < count; n++) {
        const double left = 0.5 * (TL_REPORT_SLIDE_WIDTH - wide) + (side + GAP) * (double)n;
        draw_closeup(pen, chosen[n], left, side);
        set_caption(pen, chosen[n], left, side);
    }
    tl_report_set_string(pen, &key, "North up. Ring: the spot; dashed: the Moon hides it.",
                         (tl_report_rect){TL_REPORT_SLIDE_MARGIN, 948.0, room, 36.0});
}

const tl_report_slide tl_report_slide_spot = {"sunspot", possible, headline, note, draw};
