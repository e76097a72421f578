/* A complete dark disc in a ring of light: the total phase (or an annular one). */
#include <math.h>

#include "limb/limb_internal.h"

enum { RING_POINTS = 90, CURVE_POINTS_MIN = 20, BINS = 36, EMPTY_BINS_MAX = 4 };
static const double RADIUS_MIN_PX = 4, TOLERANCE = 0.04, TOLERANCE_PX = 1.5;

/* Mean light on a ring about a circle, at `share` of its radius. */
static double ring_light(const tl_plane *plane, const tl_circle *c, double share) {
    double sum = 0;
    for (int i = 0; i < RING_POINTS; i++) {
        double angle = 2 * TL_PI * i / RING_POINTS;
        sum += tl_limb_plane_linear(plane, c->x + share * c->r * cos(angle),
                                    c->y + share * c->r * sin(angle));
    }
    return sum / RING_POINTS;
}

/* The corona, and the ring of an annular eclipse, are brightest at the Moon's limb; the rim of an
 * eyepiece, the other bright ring about a dark disc, is not. */
static bool light_falls_outwards(const tl_plane *plane, const tl_circle *hole) {
    double inside = ring_light(plane, hole, 0.8), near = ring_light(plane, hole, 1.1);
    return inside < 0.3 * near && near > ring_light(plane, hole, 1.5);
}

/* Do outlines with the dark side inside run nearly all round? */
static bool is_complete(const tl_outline *outline, const tl_circle *c) {
    bool hit[BINS] = {false};
    int empty = BINS;
    double tolerance = fmax(TOLERANCE_PX, TOLERANCE * c->r);
    for (size_t i = 0; i < outline->count; i++) {
        const tl_border_point *p = &outline->point[i];
        double dx = p->x - c->x, dy = p->y - c->y, d = hypot(dx, dy);
        if (fabs(d - c->r) > tolerance || dx * p->nx + dy * p->ny < 0.8 * d)
            continue;
        bool *bin = &hit[(int)((atan2(dy, dx) + TL_PI) / (2 * TL_PI) * BINS) % BINS];
        empty -= !*bin;
        *bin = true;
    }
    return empty <= EMPTY_BINS_MAX;
}

bool tl_limb_dark_disc(const tl_plane *plane, const tl_outline *outline) {
    for (size_t i = 0; i < outline->curves; i++) {
        size_t first = outline->curve[i], count = outline->curve[i + 1] - first;
        tl_circle c;
        if (count < CURVE_POINTS_MIN ||
            !tl_limb_circle_fit(outline->point + first, count, NULL, &c) || c.r < RADIUS_MIN_PX ||
            (double)count < c.r)
            continue;
        if (is_complete(outline, &c) && light_falls_outwards(plane, &c))
            return true;
    }
    return false;
}
