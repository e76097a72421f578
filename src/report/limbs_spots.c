/*
 * limbs_spots.c - the dark marks found on the disc, each in a sign of its own: a spot in a ring
 * with its letter, dust in a square, one that could not be placed in a dotted ring.
 */
#include <math.h>

#include "report/draw_internal.h"
#include "report/limbs_internal.h"
#include "report/spots_internal.h"

static const double LETTERS = 18.0, CLEAR = 5.0; /* sheet px */

double tl_report_mark_reach(const tl_spot_mark *mark) {
    const double wider = 1.6; /* than a round mark of this area: our own choice */
    return wider * sqrt(fmax(mark->area_px2, 0.0) / TL_PI);
}

static void draw_sign(cairo_t *cr, const tl_spot_mark *mark, double x, double y, double reach) {
    static const double dotted[] = {1.0, 4.0};
    cairo_new_path(cr);
    if (mark->kind == TL_MARK_DUST)
        cairo_rectangle(cr, x - reach, y - reach, 2.0 * reach, 2.0 * reach);
    else
        tl_report_add_circle(cr, x, y, reach);
    if (mark->kind == TL_MARK_UNPLACED)
        cairo_set_dash(cr, dotted, 2, 0.0);
    tl_report_stroke_rimmed(cr, TL_REPORT_INK_TEXT, 1.5);
    cairo_set_dash(cr, NULL, 0, 0.0);
}

static void draw_letter(cairo_t *cr, const char *letter, const tl_report_label *label) {
    cairo_rectangle(cr, label->box.x - label->box.half_width - 2.0,
                    label->box.y - label->box.half_height - 1.0, 2.0 * label->box.half_width + 4.0,
                    2.0 * label->box.half_height + 2.0);
    cairo_set_source_rgba(cr, 0.0, 0.0, 0.0, 0.55);
    cairo_fill(cr);
    tl_report_set_ink(cr, TL_REPORT_INK_TEXT);
    tl_report_draw_text(cr, letter, LETTERS, label->box.x, label->box.y, 0.5);
}

void tl_report_draw_dark_marks(cairo_t *cr, const tl_report_window *window,
                               const tl_sequence *sequence, size_t i) {
    const tl_spot_marks *marks = &sequence->frame[i].marks;
    const tl_spots *spots = &sequence->spots;
    tl_report_label label[TL_SPOT_MARKS_MAX];
    size_t of[TL_SPOT_MARKS_MAX], count = 0;
    cairo_save(cr);
    cairo_rectangle(cr, window->left, window->top, window->width, window->height);
    cairo_clip(cr);
    for (size_t k = 0; k < marks->count && k < TL_SPOT_MARKS_MAX; k++) {
        const tl_spot_mark *mark = &marks->mark[k];
        const double x = tl_report_window_x(window, mark->x_px);
        const double y = tl_report_window_y(window, mark->y_px);
        const double reach = tl_report_mark_reach(mark) * window->zoom + CLEAR;
        draw_sign(cr, mark, x, y, reach);
        if (mark->kind != TL_MARK_SPOT || mark->spot >= spots->count)
            continue;
        tl_report_text letter = {0};
        tl_report_add_spot_letter(&letter, &spots->spot[mark->spot]);
        const double width = tl_report_text_width(cr, tl_report_text_string(&letter), LETTERS);
        label[count] = (tl_report_label){
            .x = x, .y = y, .radius = reach, .box = {x, y, 0.5 * width, 0.4 * LETTERS}};
        of[count++] = mark->spot;
        tl_report_text_free(&letter);
    }
    tl_report_place_labels(label, count, NULL, 0);
    for (size_t k = 0; k < count; k++) {
        tl_report_text letter = {0};
        tl_report_add_spot_letter(&letter, &spots->spot[of[k]]);
        draw_letter(cr, tl_report_text_string(&letter), &label[k]);
        tl_report_text_free(&letter);
    }
    cairo_restore(cr);
}
