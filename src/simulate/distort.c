/*
 * distort.c - a lens that is not true: points move along rays from the picture's middle.
 *
 * The first term of every lens's radial distortion (Brown 1971, Photogrammetric Engineering 37,
 * 855): a point at q from the middle is seen at q (1 + k |q|^2).
 */
#include <math.h>

#include "simulate/simulate_internal.h"

enum { LIMB_POINTS = 360, FIT_ROUNDS = 8, NEWTON_ROUNDS = 30 };
#define INVERSE_EXACT 1e-14 /* relative */

void tl_simulate_distort(const tl_simulate_place *place, double *x, double *y) {
    double dx = *x - place->middle_x, dy = *y - place->middle_y;
    double factor = 1.0 + place->distortion_px2 * (dx * dx + dy * dy);
    *x = place->middle_x + factor * dx;
    *y = place->middle_y + factor * dy;
}

void tl_simulate_undistort(const tl_simulate_place *place, double *x, double *y) {
    if (place->distortion_px2 == 0.0)
        return;
    double dx = *x - place->middle_x, dy = *y - place->middle_y;
    /* s = |q| / |seen| from s + k |seen|^2 s^3 = 1, by Newton's method */
    double k = place->distortion_px2 * (dx * dx + dy * dy), s = 1.0;
    for (int i = 0; i < NEWTON_ROUNDS; i++) {
        double change = (s + k * s * s * s - 1.0) / (1.0 + 3.0 * k * s * s);
        s -= change;
        if (fabs(change) < INVERSE_EXACT)
            break;
    }
    *x = place->middle_x + s * dx;
    *y = place->middle_y + s * dy;
}

/* The circle nearest to points that lie almost evenly round one: Gauss-Newton, whose normal
 * equations are diagonal for even points. */
static void nearest_circle(double (*point)[2], double c[3]) {
    for (int round = 0; round < FIT_ROUNDS; round++) {
        double along_x = 0.0, along_y = 0.0, mean = 0.0;
        for (int i = 0; i < LIMB_POINTS; i++) {
            double dx = point[i][0] - c[0], dy = point[i][1] - c[1], d = hypot(dx, dy);
            mean += d / LIMB_POINTS;
            along_x += 2.0 * (d - c[2]) * dx / d / LIMB_POINTS;
            along_y += 2.0 * (d - c[2]) * dy / d / LIMB_POINTS;
        }
        c[0] += along_x;
        c[1] += along_y;
        c[2] = mean;
    }
}

/* A picture of pixel centres at whole numbers has its edge at -0.5, and so has its copy. */
static double in_copy(const tl_simulate_settings *settings, double along_px) {
    double scale = tl_simulate_copy_scale(settings);
    return scale == 1.0 ? along_px : (along_px + 0.5) * scale - 0.5;
}

/* Flattening and tilt put on an offset: the inverse of `round`. */
static void unround(const tl_simulate_place *place, double u, double v, double *dx, double *dy) {
    const double(*m)[2] = place->round;
    double det = m[0][0] * m[1][1] - m[0][1] * m[1][0];
    *dx = (m[1][1] * u - m[0][1] * v) / det;
    *dy = (m[0][0] * v - m[1][0] * u) / det;
}

void tl_simulate_place_point(const tl_simulate_settings *settings, const tl_simulate_place *place,
                             double east_sr, double north_sr, double *x_px, double *y_px) {
    double u, v, x, y;
    tl_frame_from_sky(place->up_pa_rad, place->mirrored, east_sr * place->sun_r,
                      north_sr * place->sun_r, &u, &v);
    unround(place, u, v, &x, &y);
    x += place->sun_x;
    y += place->sun_y;
    tl_simulate_distort(place, &x, &y);
    *x_px = in_copy(settings, x);
    *y_px = in_copy(settings, y);
}

/* How the lens changes a limb (an ellipse where air or card flatten it): the circle nearest to
 * it after less the one before. */
static void seen_circle(const tl_simulate_place *place, double cx, double cy, double r,
                        double out[3]) {
    double before[LIMB_POINTS][2], after[LIMB_POINTS][2];
    for (int i = 0; i < LIMB_POINTS; i++) {
        double u = r * cos(2.0 * TL_PI * i / LIMB_POINTS),
               v = r * sin(2.0 * TL_PI * i / LIMB_POINTS);
        unround(place, u, v, &before[i][0], &before[i][1]);
        before[i][0] += cx;
        before[i][1] += cy;
        after[i][0] = before[i][0];
        after[i][1] = before[i][1];
        tl_simulate_distort(place, &after[i][0], &after[i][1]);
    }
    double from[3] = {cx, cy, r}, to[3] = {cx, cy, r};
    nearest_circle(before, from);
    nearest_circle(after, to);
    out[0] = cx + to[0] - from[0];
    out[1] = cy + to[1] - from[1];
    out[2] = r * to[2] / from[2];
}

void tl_simulate_place_seen(const tl_simulate_settings *settings, const tl_simulate_place *place,
                            double circle[6]) {
    double made[6] = {place->sun_x,  place->sun_y,  place->sun_r,
                      place->moon_x, place->moon_y, place->moon_r};
    if (place->distortion_px2 != 0.0) {
        seen_circle(place, place->sun_x, place->sun_y, place->sun_r, made);
        seen_circle(place, place->moon_x, place->moon_y, place->moon_r, made + 3);
    }
    for (int i = 0; i < 6; i++) {
        bool radius = i % 3 == 2;
        circle[i] =
            radius ? made[i] * tl_simulate_copy_scale(settings) : in_copy(settings, made[i]);
    }
}
