/*
 * slide_turned.c - how the pictures were turned: the zenith swinging about north, or where north
 * was in the pictures as they were taken.
 */
#include <math.h>

#include "report/talk_internal.h"

enum { DISCS = 3 };
static const double SIDE = 500.0, FIELD = 1.12, TOP = 300.0;
/* Less than that nobody sees. Our own choice. */
static const double TOLD_RAD = 5.0 * TL_DEG;

/* The plates shown: with a zenith each, or else turned each. */
typedef struct choice {
    const tl_report_plate *plate[DISCS];
    size_t count;
} choice;

static choice with_zenith(const tl_report_source *source) {
    size_t chosen[DISCS];
    choice c = {.count =
                    tl_report_plates_spread(&source->plates, TL_REPORT_ZENITH_UP, DISCS, chosen)};
    for (size_t n = 0; n < c.count; n++)
        c.plate[n] = &source->plates.item[chosen[n]];
    return c;
}

/* First, middle and last of those that are turned. */
static choice turned(const tl_report_source *source) {
    choice c = {.count = 0};
    size_t able = 0, met = 0;
    for (size_t k = 0; k < source->plates.count; k++)
        able += source->plates.item[k].turned != TL_REPORT_AS_TAKEN;
    for (size_t k = 0; k < source->plates.count && able > 0; k++) {
        if (source->plates.item[k].turned == TL_REPORT_AS_TAKEN)
            continue;
        const size_t wanted = c.count * (able - 1) / (DISCS - 1);
        if (c.count < DISCS && met == wanted)
            c.plate[c.count++] = &source->plates.item[k];
        met++;
    }
    return c;
}

/* How far the zenith went round from the first to the last of these. */
static double swing_of(const choice *c) {
    double sum = 0.0;
    for (size_t n = 1; n < c->count; n++)
        sum += tl_angle_signed(c->plate[n]->zenith_pa_rad - c->plate[n - 1]->zenith_pa_rad);
    return fabs(sum);
}

/* The largest difference between the ways in which two of these were turned. */
static double spread_of(const choice *c) {
    double most = 0.0;
    for (size_t n = 1; n < c->count; n++)
        most = fmax(most, fabs(tl_angle_signed(c->plate[n]->up_pa_rad - c->plate[0]->up_pa_rad)));
    return most;
}

static bool shows_zenith(const tl_report_source *source) {
    const choice zenith = with_zenith(source);
    return zenith.count > 1 && swing_of(&zenith) >= TOLD_RAD;
}

static bool possible(const tl_report_source *source) {
    return shows_zenith(source) || turned(source).count > 1;
}

static void headline(const tl_report_source *source, tl_report_text *words) {
    const choice zenith = with_zenith(source), as_taken = turned(source);
    if (shows_zenith(source))
        tl_report_text_addf(words,
                            "The zenith swung by %.0f\u00b0 about north: the Sun seemed to turn",
                            swing_of(&zenith) / TL_DEG);
    else if (spread_of(&as_taken) >= TOLD_RAD)
        tl_report_text_add(words, "As taken, north pointed another way in each picture");
    else
        tl_report_text_add(words, "North stayed where it was in the pictures");
}

static void note(const tl_report_source *source, tl_report_text *words) {
    tl_report_text_add(words, shows_zenith(source)
                                  ? "N points to the celestial pole, Z to the point overhead. As "
                                    "the sky turns the angle between them changes. "
                                  : "Three of the pictures as they were taken, with celestial "
                                    "north and east as the measurement found them. ");
    const choice c = shows_zenith(source) ? with_zenith(source) : turned(source);
    bool open = false;
    for (size_t n = 0; n < c.count; n++)
        open = open || c.plate[n]->turned == TL_REPORT_HAND_OPEN;
    if (open)
        tl_report_text_add(words, "Whether the pictures are mirrored is not known. ");
    tl_report_words_holding(tl_track_main(&source->sequence->track), words);
}

/* From the disc's edge outwards, along a unit vector (x right, y down); its letter so far aside,
 * clockwise positive. */
static void draw_pointer(tl_report_slide_pen *pen, double x, double y, double radius, double dx,
                         double dy, const char *letter, double aside_rad, tl_report_ink ink) {
    const tl_report_type type = {44.0, 44.0, 0.5, 0.5, ink};
    const double from = radius + 8.0, to = radius + 58.0;
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
    const double way = atan2(dy, dx) + aside_rad;
    tl_report_set_line_string(pen, &type, letter, x + (to + 32.0) * cos(way),
                              y + (to + 32.0) * sin(way));
}

/* The angle from N to Z, between the letters. */
static void draw_angle(tl_report_slide_pen *pen, double x, double y, double radius, double pa_rad) {
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

static void set_captions(tl_report_slide_pen *pen, const tl_report_plate *plate, double x,
                         tl_report_text *words) {
    static const tl_report_type when = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_TEXT};
    static const tl_report_type what = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_LABEL};
    const double across = 540.0, left = x - 0.5 * across;
    tl_report_text time = {0};
    tl_report_add_plate_time(pen->source, plate, &time);
    tl_report_set_words(pen, &when, &time, (tl_report_rect){left, TOP + SIDE + 54.0, across, 44.0});
    tl_report_set_words(pen, &what, words,
                        (tl_report_rect){left, TOP + SIDE + 108.0, across, 44.0});
}

static void draw_with_zenith(tl_report_slide_pen *pen, const tl_report_plate *plate, double x) {
    const double side = 0.8 * SIDE, y = TOP + 0.5 * SIDE, radius = 0.5 * side / FIELD;
    const double zenith = tl_angle_signed(plate->zenith_pa_rad);
    tl_report_text words = {0};
    tl_report_slide_plate(pen, plate, TL_REPORT_NORTH_UP, FIELD, x - 0.5 * side, y - 0.5 * side,
                          side);
    draw_angle(pen, x, y, radius, zenith);
    /* Two letters need some 10 degrees between them. */
    const double apart = 10.0 * TL_DEG, lacking = fmax(0.5 * (apart - fabs(zenith)), 0.0);
    const double aside = zenith < 0.0 ? lacking : -lacking;
    draw_pointer(pen, x, y, radius, 0.0, -1.0, "N", -aside, TL_REPORT_INK_SUN);
    draw_pointer(pen, x, y, radius, -sin(zenith), -cos(zenith), "Z", aside, TL_REPORT_INK_MOON);
    tl_report_text_addf(&words, "zenith %.0f\u00b0 %s of north", fabs(zenith) / TL_DEG,
                        zenith < 0.0 ? "west" : "east");
    set_captions(pen, plate, x, &words);
}

static void draw_as_taken(tl_report_slide_pen *pen, const tl_report_plate *plate, double x) {
    const double side = 0.8 * SIDE, y = TOP + 0.5 * SIDE, radius = 0.5 * side / FIELD;
    tl_report_plate as_taken = *plate;
    tl_report_text words = {0};
    double dx, dy;
    as_taken.turned = TL_REPORT_AS_TAKEN;
    tl_report_slide_plate(pen, &as_taken, TL_REPORT_NORTH_UP, FIELD, x - 0.5 * side, y - 0.5 * side,
                          side);
    tl_frame_from_sky(plate->up_pa_rad, plate->mirrored, 0.0, 1.0, &dx, &dy);
    draw_pointer(pen, x, y, radius, dx, dy, "N", 0.0, TL_REPORT_INK_SUN);
    const double off = atan2(dx, -dy); /* from up, clockwise */
    if (plate->turned == TL_REPORT_TURNED) {
        tl_frame_from_sky(plate->up_pa_rad, plate->mirrored, 1.0, 0.0, &dx, &dy);
        draw_pointer(pen, x, y, radius, dx, dy, "E", 0.0, TL_REPORT_INK_LABEL);
    }
    tl_report_text_addf(&words, "north %.0f\u00b0 %s of up%s", fabs(off) / TL_DEG,
                        off < 0.0 ? "left" : "right",
                        plate->turned == TL_REPORT_TURNED && plate->mirrored ? ", mirrored" : "");
    set_captions(pen, plate, x, &words);
}

static void draw(tl_report_slide_pen *pen) {
    const bool zenith = shows_zenith(pen->source);
    const choice c = zenith ? with_zenith(pen->source) : turned(pen->source);
    const double step = (TL_REPORT_SLIDE_WIDTH - 2.0 * TL_REPORT_SLIDE_MARGIN) / (double)c.count;
    for (size_t n = 0; n < c.count; n++) {
        const double x = TL_REPORT_SLIDE_MARGIN + step * ((double)n + 0.5);
        if (zenith)
            draw_with_zenith(pen, c.plate[n], x);
        else
            draw_as_taken(pen, c.plate[n], x);
    }
}

const tl_report_slide tl_report_slide_turned = {"turned", possible, headline, note, draw};
