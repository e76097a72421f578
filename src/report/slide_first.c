/*
 * slide_first.c - first contact: what it is, and that it is measured without being seen.
 */
#include <math.h>

#include "report/talk_internal.h"

static const double SIDE = 600.0, LEFT = 150.0, RIGHT = 1170.0;

static bool possible(const tl_report_source *source) {
    return tl_report_plate_first(source) != NULL;
}

static void headline(const tl_report_source *source, tl_report_text *words) {
    if (source->sequence->track.contact[TL_C1].measured)
        tl_report_text_add(words, "First contact is not seen; later pictures tell when it was");
    else
        tl_report_text_add(words, "First contact: the Moon\u2019s edge touches the Sun\u2019s from "
                                  "outside");
}

static void note(const tl_report_source *source, tl_report_text *words) {
    tl_report_text_add(words, "At first contact, C1, the two edges only touch: there is nothing to "
                              "see until the bite is large enough. ");
    if (source->sequence->track.contact[TL_C1].measured)
        tl_report_text_add(words, "The distances of the centres in the later pictures, followed "
                                  "back to where they equal the sum of the two radii, give its "
                                  "time.");
}

/* Direction of the Moon from the Sun at the contact, as drawn (x right, y down). */
static void contact_direction(const tl_report_source *source, double *x, double *y) {
    const tl_report_path *path = &source->path;
    *x = 1.0;
    *y = 0.0;
    if (path->has_contact[TL_C1]) {
        const tl_report_point *at = &path->contact[TL_C1];
        const double distance = hypot(at->east_sr, at->north_sr);
        *x = distance > 0.0 ? -at->east_sr / distance : *x;
        *y = distance > 0.0 ? -at->north_sr / distance : *y;
    }
}

static void draw_diagram(tl_report_slide_pen *pen) {
    static const tl_report_type name = {34.0, 34.0, 0.5, 0.5, TL_REPORT_INK_TEXT};
    const double ratio =
        pen->source->sequence->track.ratio > 0.0 ? pen->source->sequence->track.ratio : 1.0;
    const double radius = 0.235 * SIDE;
    double ux, uy;
    contact_direction(pen->source, &ux, &uy);
    const double apart = radius * (1.0 + ratio);
    const double x = LEFT + 0.5 * SIDE - 0.5 * apart * ux;
    const double y = TL_REPORT_SLIDE_TOP + 0.5 * SIDE - 0.5 * apart * uy;
    tl_report_draw_pair(pen->cr, x, y, radius, apart * ux, apart * uy, ratio);
    tl_report_set_ink(pen->cr, TL_REPORT_INK_SUN);
    cairo_new_path(pen->cr);
    tl_report_add_circle(pen->cr, x + radius * ux, y + radius * uy, 13.0);
    cairo_set_line_width(pen->cr, 4.0);
    cairo_stroke(pen->cr);
    tl_report_set_line_string(pen, &name, "Moon", x + apart * ux, y + apart * uy);
    cairo_set_source_rgb(pen->cr, 0.0, 0.0, 0.0);
    tl_report_set_line_string(pen, &(tl_report_type){34.0, 34.0, 0.5, 0.5, TL_REPORT_INK_PANEL},
                              "Sun", x, y);
}

static void set_diagram_words(tl_report_slide_pen *pen) {
    static const tl_report_type main = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_TEXT};
    static const tl_report_type other = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_LABEL};
    const tl_report_rect box = {LEFT - 60.0, TL_REPORT_SLIDE_TOP + SIDE + 30.0, SIDE + 120.0, 50.0};
    const tl_report_rect below = {box.left, box.top + 62.0, box.width, 50.0};
    tl_report_text measured = {0}, almanac = {0};
    tl_report_text_add(&measured, "C1: ");
    const bool known = tl_report_add_contact(pen->source, TL_C1, true, &measured);
    if (known)
        tl_report_set_words(pen, &main, &measured, box);
    tl_report_text_add(&almanac, known ? "almanac: " : "C1 by the almanac: ");
    if (tl_report_add_almanac(pen->source, TL_C1, &almanac))
        tl_report_set_words(pen, &other, &almanac, known ? below : box);
    else if (!known)
        tl_report_set_string(pen, &other, "C1: the first of the contacts", box);
    tl_report_text_free(&measured);
    tl_report_text_free(&almanac);
}

/* How long after (or before) the contact; nothing if that is not known. */
static void add_since(const tl_report_source *source, const tl_report_plate *plate,
                      tl_report_text *words) {
    const tl_track_contact *contact = &source->sequence->track.contact[TL_C1];
    const bool utc = source->plates.utc;
    const double contact_s = !utc                 ? contact->measured_camera_s
                             : contact->measured  ? contact->measured_utc_s
                             : contact->predicted ? contact->predicted_utc_s
                                                  : 0.0;
    const double after_s = plate->t_s - contact_s;
    if (!plate->timed || !(utc ? contact->measured || contact->predicted : contact->measured) ||
        !(after_s > 0.0))
        return;
    tl_report_add_duration(after_s, words);
    tl_report_text_add(words, " after first contact");
}

static void set_picture_words(tl_report_slide_pen *pen, const tl_report_plate *plate) {
    static const tl_report_type main = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_TEXT};
    static const tl_report_type other = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_LABEL};
    const tl_report_rect box = {RIGHT - 60.0, TL_REPORT_SLIDE_TOP + SIDE + 30.0, SIDE + 120.0,
                                50.0};
    const tl_report_rect below = {box.left, box.top + 62.0, box.width, 50.0};
    tl_report_text when = {0}, since = {0};
    tl_report_text_add(&when, "Moon first caught");
    if (plate->timed) {
        tl_report_text_add(&when, ": ");
        tl_report_add_plate_time(pen->source, plate, &when);
    }
    tl_report_set_words(pen, &main, &when, box);
    add_since(pen->source, plate, &since);
    tl_report_set_words(pen, &other, &since, below);
}

static void draw(tl_report_slide_pen *pen) {
    const tl_report_plate *plate = tl_report_plate_first(pen->source);
    draw_diagram(pen);
    set_diagram_words(pen);
    tl_report_slide_plate(pen, plate, TL_REPORT_NORTH_UP, 1.16, RIGHT, TL_REPORT_SLIDE_TOP, SIDE);
    set_picture_words(pen, plate);
}

const tl_report_slide tl_report_slide_first = {"first-contact", possible, headline, note, draw};
