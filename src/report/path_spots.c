/*
 * path_spots.c - sunspots on the disc, and where on its path the Moon's limb crosses them.
 */
#include <math.h>
#include <stdlib.h>

#include "report/draw_internal.h"
#include "report/path_internal.h"
#include "report/spots_internal.h"

enum { LETTER_TEXT = 15 };              /* px */
static const double LEAST_RADIUS = 3.0; /* a spot must be seen, px */
static const double MARK_REACH = 6.0, DOT_REACH = 6.0;

static double shown_radius(const tl_report_view *view, const tl_report_path_spot *spot) {
    return fmax(LEAST_RADIUS, view->scale * spot->radius_sr);
}

void tl_report_draw_spot(cairo_t *cr, double x, double y, double radius, bool listed) {
    static const double dashed[] = {2.5, 2.0};
    cairo_new_path(cr);
    tl_report_add_circle(cr, x, y, radius);
    tl_report_set_colour(cr, TL_REPORT_SPOT, 1.0);
    if (listed) {
        cairo_set_dash(cr, dashed, 2, 0.0);
        cairo_set_line_width(cr, 1.2);
        cairo_stroke(cr);
        cairo_set_dash(cr, NULL, 0, 0.0);
    } else {
        cairo_fill(cr);
    }
}

void tl_report_draw_spots(cairo_t *cr, const tl_report_view *view, const tl_report_path *path) {
    for (size_t k = 0; k < path->spot_count; k++) {
        const tl_report_path_spot *spot = &path->spot[k];
        tl_report_draw_spot(cr, tl_report_view_x(view, spot->east_sr),
                            tl_report_view_y(view, spot->north_sr), shown_radius(view, spot),
                            !spot->spot->in_pictures);
    }
}

void tl_report_draw_crossing(cairo_t *cr, double x, double y, bool uncovering) {
    cairo_new_path(cr);
    cairo_move_to(cr, x - MARK_REACH, y);
    cairo_line_to(cr, x, y - MARK_REACH);
    cairo_line_to(cr, x + MARK_REACH, y);
    cairo_line_to(cr, x, y + MARK_REACH);
    cairo_close_path(cr);
    tl_report_paint_mark(cr, TL_REPORT_SPOT, uncovering, uncovering ? 1.8 : 1.2);
}

/* Two letters at most on the path's scale: a name from a list is cut there, the page has it all. */
static void letter_of(const tl_spot *spot, tl_report_text *text) {
    enum { MOST = 6 };
    tl_report_text whole = {0};
    tl_report_add_spot_letter(&whole, spot);
    const char *from = tl_report_text_string(&whole);
    uint32_t code;
    size_t characters = 0;
    while (*from && characters++ < MOST) {
        const size_t step = tl_report_utf8_step(from, &code);
        tl_report_text_bytes(text, from, step);
        from += step;
    }
    if (*from)
        tl_report_text_add(text, "\u2026");
    text->failed = text->failed || whole.failed;
    tl_report_text_free(&whole);
}

static tl_report_label label_at(cairo_t *cr, const tl_spot *spot, double x, double y,
                                double radius) {
    tl_report_text letter = {0};
    letter_of(spot, &letter);
    const double width = tl_report_text_width(cr, tl_report_text_string(&letter), LETTER_TEXT);
    tl_report_text_free(&letter);
    return (tl_report_label){
        .x = x, .y = y, .radius = radius, .box = {x, y, 0.5 * width, 0.4 * LETTER_TEXT}};
}

/* What letters must keep off: ticks, names of the Moon, measured points. The caller frees. */
static tl_report_box *taken_places(cairo_t *cr, const tl_report_view *view,
                                   const tl_report_path *path, size_t *count) {
    tl_report_tick tick[TL_REPORT_TICKS_MAX];
    const size_t ticks = tl_report_ticks(cr, view, path, tick);
    tl_report_box *box =
        calloc(ticks + path->measured_count + TL_CONTACTS + TL_REPORT_WINDS, sizeof *box);
    size_t n = 0;
    for (size_t k = 0; box && k < ticks; k++)
        box[n++] = (tl_report_box){tick[k].label_x, tick[k].label_y, tick[k].half_width,
                                   tick[k].half_height};
    for (size_t k = 0; box && k < path->measured_count; k++)
        box[n++] = (tl_report_box){tl_report_view_x(view, path->measured[k].east_sr),
                                   tl_report_view_y(view, path->measured[k].north_sr), DOT_REACH,
                                   DOT_REACH};
    for (int which = 0; box && which < TL_CONTACTS; which++) {
        if (!path->has_contact[which] || which == TL_C2 || which == TL_C3)
            continue;
        box[n] = (tl_report_box){.half_width = 26.0, .half_height = 22.0};
        tl_report_moon_name_place(view, path, which, &box[n].x, &box[n].y);
        n++;
    }
    for (int wind = 0; box && wind < TL_REPORT_WINDS; wind++) {
        box[n] = (tl_report_box){.half_width = 9.0, .half_height = 9.0};
        tl_report_compass_place(view, wind, &box[n].x, &box[n].y);
        n++;
    }
    *count = n;
    return box;
}

/* A rim of paper keeps the letter apart from lines below it. */
static void draw_letter(cairo_t *cr, const tl_spot *spot, const tl_report_label *label) {
    tl_report_text letter = {0};
    letter_of(spot, &letter);
    if (label->far) {
        tl_report_set_colour(cr, TL_REPORT_SPOT, 0.7);
        cairo_set_line_width(cr, 0.8);
        cairo_move_to(cr, label->x, label->y);
        cairo_line_to(cr, label->box.x, label->box.y);
        cairo_stroke(cr);
    }
    tl_report_set_colour(cr, TL_REPORT_PAPER, 0.45);
    cairo_rectangle(cr, label->box.x - label->box.half_width - 1.0,
                    label->box.y - label->box.half_height - 0.5, 2.0 * label->box.half_width + 2.0,
                    2.0 * label->box.half_height + 1.0);
    cairo_fill(cr);
    tl_report_set_colour(cr, TL_REPORT_SPOT, 1.0);
    tl_report_draw_text(cr, tl_report_text_string(&letter), LETTER_TEXT, label->box.x, label->box.y,
                        0.5);
    tl_report_text_free(&letter);
}

void tl_report_draw_crossings(cairo_t *cr, const tl_report_view *view, const tl_report_path *path) {
    const size_t spots = path->spot_count, count = spots + path->crossing_count;
    size_t taken_count = 0;
    tl_report_label *label = calloc(count + 1, sizeof *label);
    tl_report_box *taken = taken_places(cr, view, path, &taken_count);
    for (size_t k = 0; label && k < path->crossing_count; k++) {
        const tl_report_crossing *crossing = &path->crossing[k];
        const double x = tl_report_view_x(view, crossing->moon.east_sr);
        const double y = tl_report_view_y(view, crossing->moon.north_sr);
        tl_report_draw_crossing(cr, x, y, crossing->uncovering);
        label[spots + k] = label_at(cr, crossing->spot, x, y, MARK_REACH);
    }
    for (size_t k = 0; label && k < spots; k++)
        label[k] = label_at(cr, path->spot[k].spot, tl_report_view_x(view, path->spot[k].east_sr),
                            tl_report_view_y(view, path->spot[k].north_sr),
                            shown_radius(view, &path->spot[k]));
    if (label && taken)
        tl_report_place_labels(label, count, taken, taken_count);
    for (size_t k = 0; label && taken && k < count; k++)
        draw_letter(cr, k < spots ? path->spot[k].spot : path->crossing[k - spots].spot, &label[k]);
    free(label);
    free(taken);
}
