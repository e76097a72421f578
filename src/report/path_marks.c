/*
 * path_marks.c - Sun, Moon, path, ticks and measured points.
 */
#include <math.h>

#include "report/draw_internal.h"
#include "report/path_internal.h"

enum { TICK_TEXT = 15, NAME_TEXT = 17 }; /* px */
/* From the path to the middle of a Moon's name: so that the labels of the path have room, and where
 * it has none, px. */
static const double NAME_CLEAR = 70.0, NAME_NEAR = 50.0;
/* From the middle of a Moon's name to its rim, px. */
static const double NAME_HALF = 28.0;

double tl_report_view_x(const tl_report_view *view, double east_sr) {
    return view->x0 - view->scale * east_sr;
}

double tl_report_view_y(const tl_report_view *view, double north_sr) {
    return view->y0 - view->scale * north_sr;
}

static void circle(cairo_t *cr, double x, double y, double radius) {
    cairo_new_path(cr);
    tl_report_add_circle(cr, x, y, radius);
}

/* Text that outlines of the Moon may run through: they stop at its rim of paper. */
static void draw_rimmed(cairo_t *cr, tl_report_colour colour, const char *string, double size,
                        double x, double y) {
    const double rim = 5.0;
    cairo_text_extents_t capital;
    const double width = tl_report_text_width(cr, string, size); /* chooses the font */
    cairo_text_extents(cr, "H", &capital);
    cairo_move_to(cr, x - 0.5 * width, y + capital.height / 2.0);
    cairo_text_path(cr, string);
    tl_report_set_colour(cr, TL_REPORT_PAPER, 1.0);
    cairo_set_line_width(cr, rim);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_ROUND);
    cairo_stroke(cr);
    cairo_set_line_join(cr, CAIRO_LINE_JOIN_MITER);
    tl_report_set_colour(cr, colour, 1.0);
    tl_report_draw_text(cr, string, size, x, y, 0.5);
}

static const struct {
    const char *letter;
    double east, north;
} compass[TL_REPORT_WINDS] = {{"N", 0, 1}, {"E", 1, 0}, {"S", 0, -1}, {"W", -1, 0}};
/* From the Sun's edge to the middle of a letter. */
static const double COMPASS_OUT = 19.0;

void tl_report_compass_place(const tl_report_view *view, int wind, double *x, double *y) {
    *x = view->x0 - (view->scale + COMPASS_OUT) * compass[wind].east;
    *y = view->y0 - (view->scale + COMPASS_OUT) * compass[wind].north;
}

/* Over the outlines of the Moon. */
static void draw_compass(cairo_t *cr, const tl_report_view *view) {
    const double r0 = view->scale, r1 = r0 + 7.0;
    for (int i = 0; i < TL_REPORT_WINDS; i++) {
        tl_report_set_colour(cr, TL_REPORT_INK, 1.0);
        cairo_set_line_width(cr, 1.5);
        const double dx = -compass[i].east, dy = -compass[i].north;
        cairo_move_to(cr, view->x0 + dx * r0, view->y0 + dy * r0);
        cairo_line_to(cr, view->x0 + dx * r1, view->y0 + dy * r1);
        cairo_stroke(cr);
        double x, y;
        tl_report_compass_place(view, i, &x, &y);
        draw_rimmed(cr, TL_REPORT_INK, compass[i].letter, NAME_TEXT, x, y);
    }
}

void tl_report_draw_sun(cairo_t *cr, const tl_report_view *view) {
    circle(cr, view->x0, view->y0, view->scale);
    tl_report_set_colour(cr, TL_REPORT_SUN_FILL, 1.0);
    cairo_fill_preserve(cr);
    tl_report_set_colour(cr, TL_REPORT_SUN_EDGE, 1.0);
    cairo_set_line_width(cr, 2.0);
    cairo_stroke(cr);
}

void tl_report_moon_name_place(const tl_report_view *view, const tl_report_path *path, int contact,
                               double *x, double *y) {
    const tl_report_point *moon = &path->contact[contact];
    const double distance = hypot(moon->east_sr, moon->north_sr);
    /* A Moon in the middle of the Sun is named below its centre. */
    const double east = distance > 0.0 ? moon->east_sr / distance : 0.0;
    const double north = distance > 0.0 ? moon->north_sr / distance : -1.0;
    const double clear = contact == TL_MAX ? NAME_CLEAR : NAME_NEAR;
    double out = fmax(0.58 * path->ratio, clear / view->scale);
    /* A name that would lie on the Sun's edge goes to the other side of the path. */
    if (contact == TL_MAX && fabs(distance + out - 1.0) < NAME_HALF / view->scale)
        out = -NAME_NEAR / view->scale;
    *x = tl_report_view_x(view, moon->east_sr + out * east);
    *y = tl_report_view_y(view, moon->north_sr + out * north);
}

/* Name and time beside the middle of an outline, on its side away from the Sun. */
static void draw_moon_name(cairo_t *cr, const tl_report_view *view, const tl_report_path *path,
                           int contact) {
    const tl_report_point *moon = &path->contact[contact];
    double x, y;
    tl_report_moon_name_place(view, path, contact, &x, &y);
    tl_report_text time = {0};
    const double minute = round(moon->t_s / 60.0) * 60.0;
    char iso[TL_TIME_TEXT_SIZE];
    tl_time_text(minute, 0, "", iso);
    tl_report_text_addf(&time, "%.5s", iso + 11);
    tl_report_set_colour(cr, TL_REPORT_MOON, 1.0);
    tl_report_draw_text(cr, tl_contact_name[contact], NAME_TEXT, x, y - 10.0, 0.5);
    tl_report_draw_text(cr, tl_report_text_string(&time), NAME_TEXT, x, y + 11.0, 0.5);
    tl_report_text_free(&time);
}

void tl_report_draw_moon(cairo_t *cr, const tl_report_view *view, const tl_report_path *path) {
    static const int shown[] = {TL_C1, TL_C4, TL_MAX};
    for (int i = 0; i < 3; i++) {
        const int contact = shown[i];
        const tl_report_point *moon = &path->contact[contact];
        if (!path->has_contact[contact] || !(path->ratio > 0.0))
            continue;
        circle(cr, tl_report_view_x(view, moon->east_sr), tl_report_view_y(view, moon->north_sr),
               view->scale * path->ratio);
        if (contact == TL_MAX) {
            tl_report_set_colour(cr, TL_REPORT_MOON, 0.12);
            cairo_fill_preserve(cr);
        }
        tl_report_stroke_moon(cr, contact);
        draw_moon_name(cr, view, path, contact);
    }
    if (path->on_sky)
        draw_compass(cr, view);
}

/* How far apart on the path labels must be so as not to touch, px: either beside or above each
 * other, whichever comes first. */
static double label_distance(double dx, double dy) {
    const double width = 52.0, height = 24.0, length = hypot(dx, dy);
    return length * fmin(width / fmax(fabs(dx), 1e-9), height / fmax(fabs(dy), 1e-9));
}

int tl_report_tick_minutes(const tl_report_view *view, const tl_report_path *path) {
    static const int choice[] = {5, 10, 15, 30, 60};
    if (path->line_count < 2)
        return choice[4];
    const tl_report_point *first = &path->line[0], *last = &path->line[path->line_count - 1];
    const double dx = view->scale * (last->east_sr - first->east_sr);
    const double dy = view->scale * (last->north_sr - first->north_sr);
    const double minutes = (last->t_s - first->t_s) / 60.0;
    int i = 0;
    while (i < 4 && choice[i] / minutes * hypot(dx, dy) < label_distance(dx, dy))
        i++;
    return choice[i];
}

/* Tick labels lie away from the Sun's centre, or below a path through it: +1 if that is to the
 * right of the Moon's way as drawn, else -1. */
static double label_side(const tl_report_path *path) {
    const double central = 0.02;
    const tl_report_point *first = &path->line[0], *last = &path->line[path->line_count - 1];
    const tl_report_point *closest = first;
    for (size_t i = 1; i < path->line_count; i++)
        if (hypot(path->line[i].east_sr, path->line[i].north_sr) <
            hypot(closest->east_sr, closest->north_sr))
            closest = &path->line[i];
    const bool through = hypot(closest->east_sr, closest->north_sr) < central;
    const double x = through ? 0.0 : -closest->east_sr, y = through ? 1.0 : -closest->north_sr;
    const double vx = first->east_sr - last->east_sr, vy = first->north_sr - last->north_sr;
    return vy * x - vx * y > 0.0 ? 1.0 : -1.0;
}

/* Would a label of this half width lie on a letter of the compass? */
static bool on_letter(const tl_report_view *view, double x, double y, double half_width) {
    const double letter_half = 0.5 * NAME_TEXT;
    bool touches = false;
    for (int i = 0; i < TL_REPORT_WINDS; i++) {
        double letter_x, letter_y;
        tl_report_compass_place(view, i, &letter_x, &letter_y);
        const double dx = fabs(x - letter_x), dy = fabs(y - letter_y);
        touches = touches ||
                  (dx < half_width + letter_half + 2.0 && dy < 0.5 * TICK_TEXT + letter_half + 2.0);
    }
    return touches;
}

static bool make_tick(cairo_t *cr, const tl_report_view *view, const tl_report_point *before,
                      const tl_report_point *after, double t_s, double side, tl_report_tick *tick) {
    const double share = (t_s - before->t_s) / (after->t_s - before->t_s);
    const double x =
        tl_report_view_x(view, before->east_sr + share * (after->east_sr - before->east_sr));
    const double y =
        tl_report_view_y(view, before->north_sr + share * (after->north_sr - before->north_sr));
    const double vx = before->east_sr - after->east_sr, vy = before->north_sr - after->north_sr;
    const double speed = hypot(vx, vy);
    if (!(speed > 0.0))
        return false;
    const double nx = side * vy / speed, ny = -side * vx / speed;
    char iso[TL_TIME_TEXT_SIZE];
    *tick = (tl_report_tick){.x = x, .y = y, .across_x = nx, .across_y = ny};
    tl_time_text(t_s, 0, "", iso);
    snprintf(tick->label, sizeof tick->label, "%.5s", iso + 11);
    tick->half_width = tl_report_text_width(cr, tick->label, TICK_TEXT) / 2.0;
    tick->half_height = TICK_TEXT / 2.0;
    const double reach = 13.0 + fabs(nx) * tick->half_width + fabs(ny) * TICK_TEXT / 2.0;
    const double turn =
        on_letter(view, x + reach * nx, y + reach * ny, tick->half_width) ? -1.0 : 1.0;
    tick->label_x = x + turn * reach * nx;
    tick->label_y = y + turn * reach * ny;
    return true;
}

size_t tl_report_ticks(cairo_t *cr, const tl_report_view *view, const tl_report_path *path,
                       tl_report_tick tick[TL_REPORT_TICKS_MAX]) {
    if (path->line_count < 2)
        return 0;
    const double step = 60.0 * tl_report_tick_minutes(view, path);
    const double side = label_side(path);
    size_t i = 1, count = 0;
    for (double t = ceil(path->line[0].t_s / step) * step; i < path->line_count; t += step) {
        while (i < path->line_count && path->line[i].t_s < t)
            i++;
        if (i < path->line_count && count < TL_REPORT_TICKS_MAX)
            count += make_tick(cr, view, &path->line[i - 1], &path->line[i], t, side, &tick[count]);
    }
    return count;
}

static void draw_ticks(cairo_t *cr, const tl_report_view *view, const tl_report_path *path) {
    tl_report_tick tick[TL_REPORT_TICKS_MAX];
    const size_t count = tl_report_ticks(cr, view, path, tick);
    tl_report_set_colour(cr, TL_REPORT_INK, 1.0);
    cairo_set_line_width(cr, 1.5);
    for (size_t k = 0; k < count; k++) {
        const tl_report_tick *at = &tick[k];
        cairo_move_to(cr, at->x - 6.0 * at->across_x, at->y - 6.0 * at->across_y);
        cairo_line_to(cr, at->x + 9.0 * at->across_x, at->y + 9.0 * at->across_y);
        cairo_stroke(cr);
        tl_report_draw_text(cr, at->label, TICK_TEXT, at->label_x, at->label_y, 0.5);
    }
}

static void draw_zenith(cairo_t *cr, const tl_report_view *view, const tl_report_path *path) {
    const double dx = -sin(path->zenith_pa_rad), dy = -cos(path->zenith_pa_rad);
    const double r0 = view->scale + 30.0, r1 = r0 + 48.0;
    tl_report_set_colour(cr, TL_REPORT_QUIET, 1.0);
    tl_report_draw_arrow(cr, view->x0 + r0 * dx, view->y0 + r0 * dy, view->x0 + r1 * dx,
                         view->y0 + r1 * dy);
    const double reach = 10.0 + fabs(dx) * tl_report_text_width(cr, "zenith", TICK_TEXT) / 2.0 +
                         fabs(dy) * TICK_TEXT / 2.0;
    draw_rimmed(cr, TL_REPORT_QUIET, "zenith", TICK_TEXT, view->x0 + (r1 + reach) * dx,
                view->y0 + (r1 + reach) * dy);
}

/* The way the Moon goes, at the end of its path. */
static void draw_heading(cairo_t *cr, const tl_report_view *view, const tl_report_path *path) {
    const tl_report_point *before = &path->line[path->line_count - 2];
    const tl_report_point *end = &path->line[path->line_count - 1];
    tl_report_set_colour(cr, TL_REPORT_INK, 1.0);
    tl_report_draw_arrow(
        cr, tl_report_view_x(view, before->east_sr), tl_report_view_y(view, before->north_sr),
        tl_report_view_x(view, end->east_sr), tl_report_view_y(view, end->north_sr));
}

void tl_report_draw_path(cairo_t *cr, const tl_report_view *view, const tl_report_path *path) {
    for (size_t i = 0; i < path->line_count; i++)
        cairo_line_to(cr, tl_report_view_x(view, path->line[i].east_sr),
                      tl_report_view_y(view, path->line[i].north_sr));
    tl_report_set_colour(cr, TL_REPORT_INK, 1.0);
    cairo_set_line_width(cr, 1.5);
    cairo_stroke(cr);
    if (path->line_count > 1) {
        draw_ticks(cr, view, path);
        draw_heading(cr, view, path);
    }
    if (path->has_zenith)
        draw_zenith(cr, view, path);
    for (size_t i = 0; i < path->measured_count; i++)
        tl_report_draw_dot(cr, tl_report_view_x(view, path->measured[i].east_sr),
                           tl_report_view_y(view, path->measured[i].north_sr),
                           path->measured[i].outlier);
}
