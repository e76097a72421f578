/* Which points of the outlines back a pair of limbs. */
#include <math.h>

#include "limb/limb_internal.h"

/* cos of the largest angle between the rise of light and the limb's normal, 32 degrees: the noise
 * of small discs; borders that cross a limb are kept out. */
static const double NORMAL_COS = 0.85;
/* Outlines this close to a limb speak for its shape, px and share of the radius. */
static const double CLOSE_PX = 1, CLOSE = 0.012;
/* Least tolerance of any round, and the smallest disc that has a shape, plane px. */
static const double ROUND_MIN_PX = 1.6, RADIUS_MIN_PX = 4;
/* Tolerance at a small bite, share of its depth, and the least px an outline is certain to. */
static const double BITE_TOLERANCE = 0.35, BITE_MIN_PX = 1;
/* Least share of the solar limb in the plane, and of the whole, that outlines must back: a third
 * of it is what a thin crescent keeps, some of that may be lost to cloud. */
static const double BACKED_MIN = 0.17, ARC_BACKED_MIN = 0.13;
enum { MOON_BACKED_MIN = 3 };
/* Circles that this share of outlines lies close to need no oval; an oval must be backed by this
 * much more, and by an arc that can tell. Less flattening is within the error of a first look. */
static const double ROUND_ENOUGH = 0.85, OVAL_BETTER = 1.1, OVAL_CLOSE_MIN = 0.75;
static const double OVAL_BACKED_MIN = 0.3;
static const double FLATTENING_ROUND = 0.98;
static const double SPOKE_STEP_PX = 0.5;
static const double SPOKE_APART_PX = 2; /* nearer ones would find the same outlines */
enum { SPOKES_MIN = 90 };
static const double STEP_REACH_PX = 2; /* a step of light is taken this far either side */

/* Places on a line in pixels, in 1/65536 so that a step is an addition. */
enum { FRACTION = 16 };
static int fixed(double px) {
    return (int)(px * (1 << FRACTION));
}

/* The steepest outline along a spoke that rises outwards (bright 1) or inwards (-1), nearer ones
 * preferred; its number + 1, 0: none. The point (x, y) lies in the plane. */
static int along_spoke(const tl_outline *outline, double x, double y, double nx, double ny,
                       double bright, double tolerance) {
    const int steps = (int)ceil(tolerance / SPOKE_STEP_PX);
    const double reach = steps * SPOKE_STEP_PX;
    const int dx = fixed(SPOKE_STEP_PX * nx), dy = fixed(SPOKE_STEP_PX * ny);
    int px = fixed(x - reach * nx + 0.5), py = fixed(y - reach * ny + 0.5), best = 0;
    double best_value = 0;
    for (int k = -steps; k <= steps; k++, px += dx, py += dy) {
        const int ix = px >> FRACTION, iy = py >> FRACTION;
        if ((unsigned)ix >= (unsigned)outline->width || (unsigned)iy >= (unsigned)outline->height)
            continue;
        const int id = outline->at[(size_t)iy * (size_t)outline->width + (size_t)ix];
        if (id == 0)
            continue;
        const tl_border_point *p = &outline->point[id - 1];
        if (bright * (p->nx * nx + p->ny * ny) < NORMAL_COS)
            continue;
        const double off = fabs(k * SPOKE_STEP_PX);
        double value = (double)outline->rise[id - 1] * (1 - 0.5 * off / (tolerance + 1));
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

/* Does light rise towards the Sun's centre here? There an outline could be either limb's, while in
 * a crescent the limbs that lie close to each other are told apart by the sense of their rise. */
static bool bites_here(const tl_oval *oval, double x, double y, double nx, double ny) {
    return (x - oval->sun.x) * nx + (y - oval->sun.y) * ny < 0;
}

/* Spokes of one limb; the other one may hide some. */
static void support_limb(const tl_plane *plane, const tl_outline *outline, const tl_oval *oval,
                         int limb, double tolerance, tl_support *s) {
    const double margin = 3; /* px along the plane's border: no outlines there */
    const double bright = limb == TL_LIMB_SUN ? -1 : 1;
    for (int i = 0; i < s->spokes; i++) {
        double x, y, nx, ny;
        tl_limb_oval_point(oval, limb, 2 * TL_PI * i / s->spokes, &x, &y, &nx, &ny);
        if (x < margin || y < margin || x > plane->width - 1 - margin ||
            y > plane->height - 1 - margin)
            continue;
        double from_other = oval->moon.r > 0 ? tl_limb_oval_distance(oval, 1 - limb, x, y) : 0;
        bool hidden = limb == TL_LIMB_SUN && oval->moon.r > 0 && from_other < 0;
        if (hidden && from_other > -1.5 * tolerance)
            continue;
        if (limb == TL_LIMB_MOON && from_other > (bites_here(oval, x, y, nx, ny) ? -tolerance : 0))
            continue;
        int id = along_spoke(outline, x, y, nx, ny, bright, tolerance);
        const tl_border_point *p = id > 0 ? &outline->point[id - 1] : NULL;
        if (hidden) {
            s->hidden++;
            s->hidden_rise += p ? light_step(plane, p) : 0;
            continue;
        }
        s->expected[limb]++;
        if (!p)
            continue;
        double off = tl_limb_oval_distance(oval, limb, p->x, p->y);
        s->backed[limb]++;
        s->close += fabs(off) <= fmax(CLOSE_PX, CLOSE * oval->sun.r);
        s->off2[limb] += off * off;
        s->rise[limb] += light_step(plane, p);
        s->point[s->count++] = (tl_limb_point){p->x, p->y, limb};
    }
}

void tl_limb_support(const tl_plane *plane, const tl_outline *outline, const tl_oval *oval,
                     double tolerance, tl_support *support) {
    double around = 2 * TL_PI * oval->sun.r / SPOKE_APART_PX;
    support->spokes = (int)fmin(fmax(around, SPOKES_MIN), TL_SUPPORT_SPOKES_MAX);
    support->count = 0;
    support->hidden = support->close = 0;
    support->hidden_rise = 0;
    for (int limb = TL_LIMB_SUN; limb <= TL_LIMB_MOON; limb++) {
        support->expected[limb] = support->backed[limb] = 0;
        support->rise[limb] = support->off2[limb] = 0;
        if (limb == TL_LIMB_SUN || oval->moon.r > 0)
            support_limb(plane, outline, oval, limb, tolerance, support);
    }
}

/* How deep the Moon reaches into the Sun, as measured by M. */
static double bite_depth(const tl_oval *o) {
    double u, v;
    tl_limb_oval_stretch(o, o->moon.x - o->sun.x, o->moon.y - o->sun.y, &u, &v);
    return o->sun.r + o->moon.r - hypot(u, v);
}

/* In a small bite the limbs are close to each other: neither may take the other's outlines. */
static double round_tolerance(double share, const tl_pair *pair) {
    const tl_oval *o = &pair->oval;
    double tolerance = fmax(ROUND_MIN_PX, share * o->sun.r);
    if (o->moon.r > 0)
        tolerance = fmin(tolerance, fmax(BITE_MIN_PX, BITE_TOLERANCE * bite_depth(o)));
    return tolerance;
}

/* Share of the spokes that should show a limb whose outline lies close to it. */
static double close_share(const tl_support *s) {
    int expected = s->expected[TL_LIMB_SUN] + s->expected[TL_LIMB_MOON];
    return expected > 0 ? (double)s->close / expected : 0;
}

double tl_limb_pair_merit(const tl_pair *pair) {
    return pair->score * sqrt(pair->oval.sun.r);
}

bool tl_limb_pair_settle(const tl_plane *plane, const tl_outline *outline, const double *round,
                         int rounds, bool oval, tl_pair *pair) {
    tl_support *s = &pair->support;
    for (int i = 0; i < rounds; i++) {
        tl_limb_support(plane, outline, &pair->oval, round_tolerance(round[i], pair), s);
        int backed = s->backed[TL_LIMB_SUN];
        if (backed < BACKED_MIN * s->expected[TL_LIMB_SUN] || backed < ARC_BACKED_MIN * s->spokes ||
            (pair->oval.moon.r > 0 && s->backed[TL_LIMB_MOON] < MOON_BACKED_MIN))
            return false;
        if (!tl_limb_oval_fit(s->point, s->count, oval, &pair->oval) ||
            pair->oval.sun.r < RADIUS_MIN_PX)
            return false;
    }
    tl_limb_support(plane, outline, &pair->oval, round_tolerance(round[rounds - 1], pair), s);
    int expected = s->expected[TL_LIMB_SUN] + s->expected[TL_LIMB_MOON];
    double rise = s->rise[TL_LIMB_SUN] + s->rise[TL_LIMB_MOON];
    pair->score = expected > 0 ? rise / expected * close_share(s) : 0;
    return expected > 0;
}

bool tl_limb_pair_settle_both(const tl_plane *plane, const tl_outline *outline, const double *round,
                              int rounds, tl_pair *pair) {
    tl_pair circles = *pair, ovals = *pair;
    circles.oval.p = circles.oval.q = 0;
    bool round_found = tl_limb_pair_settle(plane, outline, round, rounds, false, &circles);
    double round_share = round_found ? close_share(&circles.support) : 0;
    bool oval_found = round_share < ROUND_ENOUGH &&
                      tl_limb_pair_settle(plane, outline, round, rounds, true, &ovals) &&
                      ovals.support.backed[TL_LIMB_SUN] > OVAL_BACKED_MIN * ovals.support.spokes &&
                      tl_limb_oval_flattening(&ovals.oval) < FLATTENING_ROUND &&
                      close_share(&ovals.support) > fmax(OVAL_CLOSE_MIN, OVAL_BETTER * round_share);
    if (!round_found && !oval_found)
        return false;
    *pair = oval_found ? ovals : circles;
    return true;
}
