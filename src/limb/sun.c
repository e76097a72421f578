/*
 * Which curves could be the Sun's limb. Curves are cut where they stop being arcs of circles; each
 * arc with the bright side inside gives a circle, which then gathers all outlines along it and
 * settles, if need be as an oval.
 */
#include <math.h>

#include "limb/limb_internal.h"

enum { ARC_POINTS_MIN = 10, ARCS_MAX = 32 };
/* An arc's points scatter about its circle by this much, px and share of the radius; a circle that
 * is an oval on the card scatters more over a long arc. */
static const double ARC_SCATTER_PX = 0.5, ARC_SCATTER = 0.015, OVAL_SCATTER = 0.07;
static const double ARC_MIN_RAD = 25 * TL_DEG, OVAL_ARC_RAD = 120 * TL_DEG;
static const double RADIUS_MIN_PX = 4;   /* plane px; smaller ones have no shape */
static const double RADIUS_MAX_SIDE = 2; /* over the plane's longer side */
/* Tolerances of the rounds in which a circle settles, share of the radius. */
static const double ROUND[] = {0.12, 0.08, 0.05, 0.035};
enum {
    ROUNDS = sizeof ROUND / sizeof ROUND[0],
    KNOWN_FROM = 1
}; /* a disc seen before needs less */

/* A disc known from elsewhere is taken for what it is when outlines lie close to so much of it; the
 * Moon may hide some. */
static const double KNOWN_WELL = 0.5;

/* Arcs with less than this of the heaviest one's rises are no limb. */
static const double FAINT_ARC = 0.04;

typedef struct arc {
    tl_circle circle;
    double weight; /* sum of rises */
} arc;
typedef struct arc_list {
    const tl_outline *outline;
    double r_max;
    arc arc[ARCS_MAX]; /* the heaviest, unsorted */
    size_t count;
} arc_list;

static bool same_circle(const tl_circle *a, const tl_circle *b, double share) {
    double r = fmax(a->r, b->r);
    return hypot(a->x - b->x, a->y - b->y) < share * r && fabs(a->r - b->r) < share * r;
}

static void keep_arc(arc_list *list, const arc *new) {
    size_t lightest = 0;
    for (size_t i = 0; i < list->count; i++) {
        if (same_circle(&list->arc[i].circle, &new->circle, 0.06)) {
            if (new->weight > list->arc[i].weight)
                list->arc[i] = *new;
            return;
        }
        if (list->arc[i].weight < list->arc[lightest].weight)
            lightest = i;
    }
    if (list->count < ARCS_MAX)
        list->arc[list->count++] = *new;
    else if (new->weight > list->arc[lightest].weight)
        list->arc[lightest] = *new;
}

/* One stretch of a curve against a circle: scatter, the worst point, and whether it is bright
 * inside. */
typedef struct arc_fit {
    tl_circle circle;
    double scatter, turn_rad, weight;
    size_t worst;
    bool bright_inside;
} arc_fit;

static bool fit_arc(const tl_outline *o, size_t first, size_t end, arc_fit *fit) {
    double sum2 = 0, inward = 0, worst = -1;
    fit->weight = 0;
    if (!tl_limb_circle_fit(o->point + first, end - first, NULL, &fit->circle))
        return false;
    const tl_circle *c = &fit->circle;
    for (size_t i = first; i < end; i++) {
        const tl_border_point *p = &o->point[i];
        double dx = p->x - c->x, dy = p->y - c->y, d = hypot(dx, dy) - c->r;
        sum2 += d * d;
        inward -= (dx * p->nx + dy * p->ny) / c->r;
        fit->weight += (double)o->rise[i];
        if (fabs(d) > worst) {
            worst = fabs(d);
            fit->worst = i;
        }
    }
    double n = (double)(end - first);
    fit->scatter = sqrt(sum2 / n);
    fit->turn_rad = n / c->r;
    fit->bright_inside = inward > 0.8 * n;
    return true;
}

/* Split a stretch of a curve into arcs. */
static void split(arc_list *list, size_t first, size_t end, int depth) {
    arc_fit fit;
    if (end - first < ARC_POINTS_MIN || !fit_arc(list->outline, first, end, &fit))
        return;
    double r = fit.circle.r;
    bool is_arc = fit.scatter <= fmax(ARC_SCATTER_PX, ARC_SCATTER * r);
    bool is_oval = fit.scatter <= OVAL_SCATTER * r && fit.turn_rad > OVAL_ARC_RAD;
    if ((is_arc || is_oval) && fit.bright_inside && fit.turn_rad > ARC_MIN_RAD &&
        r > RADIUS_MIN_PX && r < list->r_max)
        keep_arc(list, &(arc){fit.circle, fit.weight});
    if (is_arc || depth == 0)
        return;
    size_t margin = (end - first) / 8, middle = (first + end) / 2;
    bool inside = fit.worst > first + margin && fit.worst < end - margin;
    size_t at = inside ? fit.worst : middle;
    split(list, first, at, depth - 1);
    split(list, at, end, depth - 1);
}

/* Keep the best, sorted; of two that are the same disc the better one. */
static void keep_pair(tl_pair *pair, size_t *count, const tl_pair *new) {
    double merit = tl_limb_pair_merit(new);
    for (size_t i = 0; i < *count; i++) {
        if (!same_circle(&pair[i].oval.sun, &new->oval.sun, 0.1))
            continue;
        if (tl_limb_pair_merit(&pair[i]) >= merit)
            return;
        for (size_t k = i + 1; k < *count; k++)
            pair[k - 1] = pair[k];
        --*count;
        break;
    }
    size_t at = *count;
    while (at > 0 && tl_limb_pair_merit(&pair[at - 1]) < merit)
        at--;
    if (at == TL_SUNS_MAX)
        return;
    if (*count < TL_SUNS_MAX)
        ++*count;
    for (size_t k = *count - 1; k > at; k--)
        pair[k] = pair[k - 1];
    pair[at] = *new;
}

void tl_limb_suns_find(const tl_plane *plane, const tl_outline *outline, const tl_oval *known,
                       tl_pair *pair, size_t *count) {
    arc_list list = {.outline = outline,
                     .r_max = RADIUS_MAX_SIDE * fmax(plane->width, plane->height)};
    *count = 0;
    if (known) {
        tl_pair new = {.oval = {.sun = known->sun, .p = known->p, .q = known->q}};
        if (tl_limb_pair_settle_both(plane, outline, ROUND + KNOWN_FROM, ROUNDS - KNOWN_FROM, &new))
            keep_pair(pair, count, &new);
        const tl_support *s = &new.support;
        if (*count > 0 && s->close >= KNOWN_WELL * s->expected[TL_LIMB_SUN])
            return; /* this is it */
    }
    for (size_t i = 0; i < outline->curves; i++)
        split(&list, outline->curve[i], outline->curve[i + 1], 8);
    double heaviest = 0;
    for (size_t i = 0; i < list.count; i++)
        heaviest = fmax(heaviest, list.arc[i].weight);
    for (size_t i = 0; i < list.count; i++) {
        if (list.arc[i].weight < FAINT_ARC * heaviest)
            continue;
        tl_pair new = {.oval.sun = list.arc[i].circle};
        if (tl_limb_pair_settle_both(plane, outline, ROUND, ROUNDS, &new))
            keep_pair(pair, count, &new);
    }
}
