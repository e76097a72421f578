/*
 * Where the Moon is before a Sun. The ratio of the radii is nearly known, so one point of the
 * lunar limb with its direction gives the centre; the centre that explains most outlines inside
 * the Sun is refined together with the Sun.
 */
#include <math.h>
#include <stdlib.h>

#include "limb/limb_internal.h"

enum { POINTS_MAX = 240, SEEDS = 4 };
static const double RATIO_SEED = 1.02; /* middle of the ratios of total and annular eclipses */
/* Allowed ratios: topocentric ones run from 0.90 to 1.08; glare makes the Sun larger and the Moon
 * smaller, short arcs leave some error. */
static const double RATIO_MIN = 0.80, RATIO_MAX = 1.16;
/* Points of the lunar limb lie inside the solar one by more than this, px and share of r. */
static const double INSIDE_PX = 1.3, INSIDE = 0.012;
/* A seed's tolerances: the direction of an outline point is good to some 5 degrees. */
static const double SEED_TOLERANCE = 0.05, SEED_NORMAL_COS = 0.9;
static const double ROUND[] = {0.08, 0.05, 0.035, 0.03};
enum { ROUNDS = sizeof ROUND / sizeof ROUND[0] };
/* Least share of the lunar limb before the Sun that outlines back, and of a ring's. */
static const double BACKED_MIN = 0.5, RING_BACKED_MIN = 0.6;
enum { BACKED_SPOKES_MIN = 3 };
static const double ARC_MIN_DEG = 9;
/* With this share of both limbs close to the circles no other place needs a try. */
static const double CERTAIN = 0.85;
/* Mean step of light at the lunar limb over that at the solar one: cloud may dim it. */
static const double STEP_MIN = 0.15;
/* Where the Moon is there is no solar limb: steps found there over those of the open limb. */
static const double HIDDEN_MAX = 0.35;

/* An outline point inside the Sun, the stretch taken out, from the Sun's centre. */
typedef struct inner_point {
    double u, v, nu, nv, weight;
} inner_point;

static size_t inner_points(const tl_outline *outline, const tl_oval *oval, inner_point *inner) {
    double inside = fmax(INSIDE_PX, INSIDE * oval->sun.r);
    double reach = tl_limb_oval_longer(oval, oval->sun.r);
    size_t count = 0, all = 0;
    for (int pass = 0; pass < 2; pass++) { /* count, then take evenly */
        size_t seen = 0;
        count = 0;
        for (size_t i = 0; i < outline->count; i++) {
            const tl_border_point *p = &outline->point[i];
            if (fabs(p->x - oval->sun.x) > reach || fabs(p->y - oval->sun.y) > reach ||
                tl_limb_oval_distance(oval, TL_LIMB_SUN, p->x, p->y) > -inside)
                continue;
            if (pass == 0) {
                all++;
                continue;
            }
            size_t want = (all < POINTS_MAX ? all : POINTS_MAX);
            /* NOLINTNEXTLINE(clang-analyzer-core.DivideZero): the first pass counted this point */
            if (seen++ * want / all < count || count == POINTS_MAX)
                continue;
            inner_point *q = &inner[count++];
            double nu, nv;
            tl_limb_oval_stretch(oval, p->x - oval->sun.x, p->y - oval->sun.y, &q->u, &q->v);
            tl_limb_oval_unstretch(oval, p->nx, p->ny, &nu, &nv);
            double length = hypot(nu, nv);
            q->nu = nu / length;
            q->nv = nv / length;
            q->weight = fmin((double)outline->rise[i], 0.1);
        }
    }
    return count;
}

/* How much lies on a circle, dark inside. */
static double seed_weight(const inner_point *inner, size_t count, double u, double v, double r,
                          double tolerance) {
    double sum = 0;
    for (size_t i = 0; i < count; i++) {
        double du = inner[i].u - u, dv = inner[i].v - v, d2 = du * du + dv * dv;
        if (d2 > (r + tolerance) * (r + tolerance) || d2 < (r - tolerance) * (r - tolerance))
            continue;
        if (du * inner[i].nu + dv * inner[i].nv > SEED_NORMAL_COS * sqrt(d2))
            sum += inner[i].weight;
    }
    return sum;
}

typedef struct seed {
    double u, v, weight;
} seed;

/* The heaviest seeds, a tenth of a radius apart. */
static size_t find_seeds(const inner_point *inner, size_t count, double sun_r, seed *best) {
    double r = RATIO_SEED * sun_r, tolerance = fmax(1, SEED_TOLERANCE * sun_r);
    size_t found = 0;
    for (size_t i = 0; i < count; i++) {
        seed s = {inner[i].u - r * inner[i].nu, inner[i].v - r * inner[i].nv, 0};
        s.weight = seed_weight(inner, count, s.u, s.v, r, tolerance);
        size_t at = found;
        for (size_t k = 0; k < found; k++)
            if (hypot(best[k].u - s.u, best[k].v - s.v) < 0.1 * sun_r)
                at = k;
        if (at < found) { /* near another one: the heavier of the two */
            if (s.weight > best[at].weight)
                best[at] = s;
            continue;
        }
        if (found < SEEDS) {
            best[found++] = s;
            continue;
        }
        at = 0;
        for (size_t k = 1; k < SEEDS; k++)
            if (best[k].weight < best[at].weight)
                at = k;
        if (s.weight > best[at].weight)
            best[at] = s;
    }
    return found;
}

static bool has_moon(const tl_pair *pair) {
    const tl_support *s = &pair->support;
    const tl_oval *o = &pair->oval;
    double ratio = o->moon.r / o->sun.r;
    double apart = hypot(o->moon.x - o->sun.x, o->moon.y - o->sun.y);
    int backed = s->backed[TL_LIMB_MOON];
    if (ratio < RATIO_MIN || ratio > RATIO_MAX || backed < BACKED_SPOKES_MIN ||
        360.0 * backed < ARC_MIN_DEG * s->spokes || s->backed[TL_LIMB_SUN] < 1)
        return false;
    bool ring = apart + o->moon.r < o->sun.r;
    if (backed < (ring ? RING_BACKED_MIN : BACKED_MIN) * s->expected[TL_LIMB_MOON])
        return false;
    double solar = s->rise[TL_LIMB_SUN] / s->backed[TL_LIMB_SUN];
    if (s->rise[TL_LIMB_MOON] < STEP_MIN * solar * backed)
        return false;
    return s->hidden_rise <= HIDDEN_MAX * solar * s->hidden;
}

static int spokes(const tl_support *s) {
    return s->expected[TL_LIMB_SUN] + s->expected[TL_LIMB_MOON];
}

static int heavier_first(const void *a, const void *b) {
    const seed *s = a, *t = b;
    return (s->weight < t->weight) - (s->weight > t->weight);
}

tl_status tl_limb_moon_find(const tl_plane *plane, const tl_outline *outline, tl_pair *pair) {
    inner_point *inner = malloc(POINTS_MAX * sizeof *inner);
    if (!inner)
        return TL_ERR_MEMORY;
    seed best[SEEDS];
    double r = pair->oval.sun.r;
    size_t count = inner_points(outline, &pair->oval, inner);
    size_t seeds = find_seeds(inner, count, r, best);
    qsort(best, seeds, sizeof *best, heavier_first);
    tl_pair without = *pair;
    for (size_t i = 0; i < seeds; i++) {
        tl_pair with = without;
        double dx, dy;
        tl_limb_oval_unstretch(&without.oval, best[i].u, best[i].v, &dx, &dy);
        with.oval.moon =
            (tl_circle){without.oval.sun.x + dx, without.oval.sun.y + dy, RATIO_SEED * r};
        if (tl_limb_pair_settle_both(plane, outline, ROUND, ROUNDS, &with) && has_moon(&with) &&
            with.score > pair->score) {
            *pair = with;
            if (with.support.close > CERTAIN * spokes(&with.support))
                break;
        }
    }
    free(inner);
    return TL_OK;
}
