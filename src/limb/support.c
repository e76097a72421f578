/* Which points of the outlines back a pair of limbs. */
#include <math.h>

#include "limb/limb_internal.h"

/* cos of the largest angle between the rise of light and the limb's normal, 32 degrees: the noise
 * of small discs; borders that cross a limb are kept out. */
static const double NORMAL_COS = 0.85;
static const double SPOKE_STEP_PX = 0.5;
static const double STEP_REACH_PX = 2; /* a step of light is taken this far either side */

/* The steepest outline along a spoke that rises towards `inwards`; nearer ones are preferred. */
static int along_spoke(const tl_outline *outline, double x, double y, double nx, double ny,
                       double bright, double tolerance) {
    int steps = (int)ceil(tolerance / SPOKE_STEP_PX), best = 0;
    double best_value = 0;
    for (int k = -steps; k <= steps; k++) {
        double d = k * SPOKE_STEP_PX, px = x + d * nx, py = y + d * ny;
        if (!(px >= 0 && py >= 0 && px < outline->width - 0.5 && py < outline->height - 0.5))
            continue;
        int id = outline->at[(size_t)(py + 0.5) * (size_t)outline->width + (size_t)(px + 0.5)];
        if (id == 0)
            continue;
        const tl_border_point *p = &outline->point[id - 1];
        if (bright * (p->nx * nx + p->ny * ny) < NORMAL_COS)
            continue;
        double value = (double)outline->rise[id - 1] * (1 - 0.5 * fabs(d) / (tolerance + 1));
        if (value > best_value) {
            best_value = value;
            best = id;
        }
    }
    return best;
}

/* Step of light across an outline's point. */
static double light_step(const tl_plane *plane, const tl_border_point *p) {
    double rx = STEP_REACH_PX * p->nx, ry = STEP_REACH_PX * p->ny;
    return fmax(0, tl_limb_plane_linear(plane, p->x + rx, p->y + ry) -
                       tl_limb_plane_linear(plane, p->x - rx, p->y - ry));
}

/* Spokes of one limb; the other one may hide some. */
static void support_limb(const tl_plane *plane, const tl_outline *outline, const tl_oval *oval,
                         int limb, double tolerance, tl_support *s) {
    const double margin = 3; /* px along the plane's border: no outlines there */
    const double bright = limb == TL_LIMB_SUN ? -1 : 1;
    int gap = 0, seen_gap = 0;
    for (int i = 0; i < TL_SUPPORT_SPOKES; i++) {
        double x, y, nx, ny;
        tl_limb_oval_point(oval, limb, 2 * TL_PI * i / TL_SUPPORT_SPOKES, &x, &y, &nx, &ny);
        if (x < margin || y < margin || x > plane->width - 1 - margin ||
            y > plane->height - 1 - margin)
            continue;
        double from_other = oval->moon.r > 0 ? tl_limb_oval_distance(oval, 1 - limb, x, y) : 0;
        bool hidden = oval->moon.r > 0 && (limb == TL_LIMB_SUN ? from_other < 0 : from_other > 0);
        if (hidden && (limb == TL_LIMB_MOON || from_other > -1.5 * tolerance))
            continue;
        int id = along_spoke(outline, x, y, nx, ny, bright, tolerance);
        const tl_border_point *p = id > 0 ? &outline->point[id - 1] : NULL;
        if (hidden) {
            s->hidden++;
            s->hidden_rise += p ? light_step(plane, p) : 0;
            continue;
        }
        s->expected[limb]++;
        gap = p ? 0 : gap + 1;
        if (limb == TL_LIMB_SUN && gap > seen_gap)
            seen_gap = gap;
        if (!p)
            continue;
        double off = tl_limb_oval_distance(oval, limb, p->x, p->y);
        s->backed[limb]++;
        s->off2[limb] += off * off;
        s->rise[limb] += light_step(plane, p);
        s->point[s->count++] = (tl_limb_point){p->x, p->y, limb};
    }
    if (limb == TL_LIMB_SUN)
        s->longest_gap = seen_gap;
}

void tl_limb_support(const tl_plane *plane, const tl_outline *outline, const tl_oval *oval,
                     double tolerance, tl_support *support) {
    support->count = 0;
    support->hidden = support->longest_gap = 0;
    support->hidden_rise = 0;
    for (int limb = TL_LIMB_SUN; limb <= TL_LIMB_MOON; limb++) {
        support->expected[limb] = support->backed[limb] = 0;
        support->rise[limb] = support->off2[limb] = 0;
        if (limb == TL_LIMB_SUN || oval->moon.r > 0)
            support_limb(plane, outline, oval, limb, tolerance, support);
    }
}

void tl_limb_pair_score(const tl_plane *plane, const tl_outline *outline, double tolerance,
                        tl_pair *pair) {
    tl_support *s = &pair->support;
    tl_limb_support(plane, outline, &pair->oval, tolerance, s);
    int expected = s->expected[TL_LIMB_SUN] + s->expected[TL_LIMB_MOON];
    pair->score =
        expected > 0 ? (s->rise[TL_LIMB_SUN] + s->rise[TL_LIMB_MOON]) / expected : 0;
}
