/*
 * slide_turned.c - why the picture turned: north against the zenith at the first, a middle and the
 * last photograph.
 */
#include <math.h>

#include "report/talk_internal.h"

enum { DISCS = 3 };
static const double SIDE = 500.0, FIELD = 1.12, TOP = 300.0;
static const double TOLD_RAD = 2.0 * TL_DEG; /* less than that nobody sees. Our own choice */

static size_t choose(const tl_report_source *source, size_t chosen[DISCS]) {
    return tl_report_plates_spread(&source->plates, TL_REPORT_ZENITH_UP, DISCS, chosen);
}

/* How far the zenith went round from the first to the last of these, anticlockwise positive (north
 * through east). */
static double swing(const tl_report_source *source) {
    size_t chosen[DISCS];
    const size_t count = choose(source, chosen);
    double sum = 0.0;
    for (size_t n = 1; n < count; n++)
        sum += tl_angle_signed(source->plates.item[chosen[n]].zenith_pa_rad -
                               source->plates.item[chosen[n - 1]].zenith_pa_rad);
    return sum;
}

static bool possible(const tl_report_source *source) {
    size_t chosen[DISCS];
    return choose(source, chosen) > 1;
}

static void headline(const tl_report_source *source, tl_report_text *words) {
    const double turned = fabs(swing(source));
    if (turned < TOLD_RAD) {
        tl_report_text_add(words, "Up in the sky was the same way all along");
        return;
    }
    tl_report_text_addf(words,
                        "Up in the sky swung by %.0f\u00b0 against north: the Sun seemed to "
                        "turn",
                        turned / TL_DEG);
}

static void note(const tl_report_source *source, tl_report_text *words) {
    tl_report_text_add(words, "N points to the celestial pole, Z to the point overhead. As the "
                              "sky turns the angle between them changes. ");
    tl_report_words_holding(tl_track_main(&source->sequence->track), words);
}

/* From the disc's edge outwards, at this position angle, north up. */
static void draw_pointer(tl_report_pen *pen, double x, double y, double radius, double pa_rad,
                         const char *letter, tl_report_ink ink) {
    const tl_report_type type = {44.0, 44.0, 0.5, 0.5, ink};
    const double dx = -sin(pa_rad), dy = -cos(pa_rad), from = radius + 8.0, to = radius + 58.0;
    const double head = 18.0, back = atan2(-dy, -dx), opening = 0.45;
    cairo_new_path(pen->cr);
    cairo_move_to(pen->cr, x + from * dx, y + from * dy);
    cairo_line_to(pen->cr, x + to * dx, y + to * dy);
    for (int side = -1; side <= 1; side += 2) {
        cairo_move_to(pen->cr, x + to * dx, y + to * dy);
        cairo_line_to(pen->cr, x + to * dx + head * cos(back + side * opening),
                      y + to * dy + head * sin(back + side * opening));
    }
    tl_report_set_ink(pen->cr, ink);
    cairo_set_line_width(pen->cr, 5.0);
    cairo_stroke(pen->cr);
    tl_report_set_line_string(pen, &type, letter, x + (to + 32.0) * dx, y + (to + 32.0) * dy);
}

/* The angle from N to Z, between the letters. */
static void draw_angle(tl_report_pen *pen, double x, double y, double radius, double pa_rad) {
    const double from = -0.5 * TL_PI, to = from - pa_rad;
    cairo_new_path(pen->cr);
    if (pa_rad > 0.0)
        cairo_arc_negative(pen->cr, x, y, radius + 30.0, from, to);
    else
        cairo_arc(pen->cr, x, y, radius + 30.0, from, to);
    tl_report_set_ink(pen->cr, TL_REPORT_INK_LABEL);
    cairo_set_line_width(pen->cr, 2.5);
    cairo_stroke(pen->cr);
}

static void draw_one(tl_report_pen *pen, const tl_report_plate *plate, double x) {
    static const tl_report_type when = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_TEXT};
    static const tl_report_type angle = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_LABEL};
    const double side = 0.8 * SIDE, y = TOP + 0.5 * SIDE, radius = 0.5 * side / FIELD;
    const double zenith = tl_angle_signed(plate->zenith_pa_rad), across = 540.0;
    tl_report_text time = {0}, words = {0};
    tl_report_slide_plate(pen, plate, TL_REPORT_NORTH_UP, FIELD, x - 0.5 * side, y - 0.5 * side,
                          side);
    draw_angle(pen, x, y, radius, zenith);
    draw_pointer(pen, x, y, radius, zenith, "Z", TL_REPORT_INK_MOON);
    if (fabs(zenith) > 14.0 * TL_DEG) /* else the letters would lie on each other */
        draw_pointer(pen, x, y, radius, 0.0, "N", TL_REPORT_INK_SUN);
    tl_report_add_plate_time(pen->source, plate, &time);
    tl_report_set_words(pen, &when, &time,
                        (tl_report_rect){x - 0.5 * across, TOP + SIDE + 44.0, across, 44.0});
    tl_report_text_addf(&words, "zenith %.0f\u00b0 %s of north", fabs(zenith) / TL_DEG,
                        zenith < 0.0 ? "west" : "east");
    tl_report_set_words(pen, &angle, &words,
                        (tl_report_rect){x - 0.5 * across, TOP + SIDE + 98.0, across, 44.0});
}

static void draw(tl_report_pen *pen) {
    size_t chosen[DISCS];
    const size_t count = choose(pen->source, chosen);
    const double step = (TL_REPORT_SLIDE_WIDTH - 2.0 * TL_REPORT_SLIDE_MARGIN) / (double)count;
    for (size_t n = 0; n < count; n++)
        draw_one(pen, &pen->source->plates.item[chosen[n]],
                 TL_REPORT_SLIDE_MARGIN + step * ((double)n + 0.5));
}

const tl_report_slide tl_report_slide_turned = {"turned", possible, headline, note, draw};
