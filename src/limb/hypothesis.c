/*
 * From the whole picture to one pair of Sun and Moon.
 *
 * The picture is looked at in a small copy, in every colour; where that shows no clear disc, in a
 * larger one. The disc with the steepest limbs wins: field stops, eyecups, clouds and cards are
 * all less steep along their outline, or not round. It is looked at again, closer.
 */
#include <math.h>
#include <stdlib.h>

#include "limb/limb_internal.h"

enum {
    LARGE_SIDE = 800,  /* longer side of the larger copy, px: a disc of 100 px in a picture of 6000
                          px is 13 px wide */
    SMALL_FACTOR = 3,  /* from the larger to the small copy */
    FINE_RADIUS = 130, /* solar radius of the closer look, px: 1 px is 0.8 % of it */
};
/* Darkest maximum worth a look: below it a plane holds noise only (sRGB code 13 of 255). */
static const double PLANE_MAX_MIN = 0.004;
/* A disc in the small copy is clear from this radius on, px, with this share of its limbs backed;
 * else the larger copy is asked as well. */
static const double CLEAR_RADIUS = 9, CLEAR_BACKED = 0.75;
/* Another disc of about this size and with this share of the steepness is a rival. */
static const double RIVAL_SIZE = 0.75, RIVAL_SCORE = 0.3;
/* A disc seen closer is the same if it has moved and grown by no more than this, in radii; a thin
 * crescent's radius is wrong by a pixel of the copy, which is taken on top. */
static const double SAME_CENTRE = 0.3, SAME_RADIUS = 0.2;
static const double RADIUS_MIN_PX = 10;     /* smallest disc worth naming the Sun, picture px */

/* What one plane of a copy shows. */
typedef struct sight {
    tl_pair pair[TL_SUNS_MAX]; /* the best first */
    size_t count;
    tl_plane_kind kind;
    double scale, x0, y0; /* of the copy */
    bool dark_centre;
} sight;

static void best_first(sight *s) {
    for (size_t i = 1; i < s->count; i++) {
        for (size_t k = i; k > 0 && s->pair[k].score > s->pair[k - 1].score; k--) {
            tl_pair swap = s->pair[k];
            s->pair[k] = s->pair[k - 1];
            s->pair[k - 1] = swap;
        }
    }
}

/* Everything in one plane of a copy that could be the Sun. */
static tl_status look(const tl_cutout *cutout, tl_plane_kind kind, sight *out) {
    sight s = {.kind = kind, .scale = cutout->scale, .x0 = cutout->x0, .y0 = cutout->y0};
    tl_plane plane;
    tl_outline outline = {0};
    tl_status status = tl_limb_plane_make(cutout, kind, &plane);
    if (status != TL_OK)
        return status;
    if (tl_limb_plane_brightest(&plane) >= PLANE_MAX_MIN) {
        status = tl_limb_outline_make(&plane, &outline);
        if (status == TL_OK)
            tl_limb_suns_find(&plane, &outline, s.pair, &s.count);
        for (size_t i = 0; i < s.count && status == TL_OK; i++)
            status = tl_limb_moon_find(&plane, &outline, &s.pair[i]);
        best_first(&s);
        if (status == TL_OK && kind == TL_PLANE_LUMA)
            s.dark_centre = tl_limb_dark_disc(&plane, &outline);
    }
    tl_limb_outline_free(&outline);
    tl_limb_plane_free(&plane);
    if (status == TL_OK)
        *out = s;
    return status;
}

/* Every colour of a copy; `best` keeps the best of all, and learns of a dark centre. */
static tl_status look_at_all(const tl_cutout *cutout, sight *best) {
    int kinds = cutout->image.channels == 1 ? 1 : TL_PLANE_KINDS;
    for (int kind = 0; kind < kinds; kind++) {
        sight here;
        tl_status status = look(cutout, (tl_plane_kind)kind, &here);
        if (status != TL_OK)
            return status;
        bool dark_centre = best->dark_centre || here.dark_centre;
        if (here.count > 0 && (best->count == 0 || here.pair[0].score > best->pair[0].score))
            *best = here;
        best->dark_centre = dark_centre;
    }
    return TL_OK;
}

static double backed_share(const tl_support *s) {
    int expected = s->expected[TL_LIMB_SUN] + s->expected[TL_LIMB_MOON];
    return expected > 0 ? (double)(s->backed[TL_LIMB_SUN] + s->backed[TL_LIMB_MOON]) / expected : 0;
}

static bool is_clear(const sight *s) {
    return s->count > 0 && s->pair[0].oval.sun.r >= CLEAR_RADIUS &&
           backed_share(&s->pair[0].support) >= CLEAR_BACKED;
}

/* Other discs that would pass for the same Sun elsewhere in the picture. */
static int count_rivals(const sight *s) {
    const tl_circle *best = &s->pair[0].oval.sun;
    int count = 0;
    for (size_t i = 1; i < s->count; i++) {
        const tl_circle *other = &s->pair[i].oval.sun;
        double size = fmin(other->r, best->r) / fmax(other->r, best->r);
        bool apart = hypot(other->x - best->x, other->y - best->y) > best->r;
        count += apart && size > RIVAL_SIZE && s->pair[i].score > RIVAL_SCORE * s->pair[0].score;
    }
    return count;
}

static tl_circle to_picture(const sight *s, const tl_oval *oval, const tl_circle *c) {
    return (tl_circle){s->x0 + s->scale * c->x, s->y0 + s->scale * c->y,
                       s->scale * tl_limb_oval_longer(oval, c->r)};
}

static double share(int part, int whole) {
    return whole > 0 ? (double)part / whole : 0;
}

static void describe(const sight *s, const tl_pair *pair, tl_hypothesis *h) {
    const tl_oval *o = &pair->oval;
    const tl_support *support = &pair->support;
    double off2 = (support->off2[TL_LIMB_SUN] + support->off2[TL_LIMB_MOON]) /
                  fmax(1, (double)support->count);
    h->sun = to_picture(s, o, &o->sun);
    h->moon = o->moon.r > 0 ? to_picture(s, o, &o->moon) : (tl_circle){0};
    h->flattening = tl_limb_oval_flattening(o);
    double turn = 0.5 * atan2(o->q, o->p); /* where M stretches most the disc is shortest */
    h->flat_x = h->flattening < 1 ? cos(turn) : 0;
    h->flat_y = h->flattening < 1 ? sin(turn) : 1;
    h->outline_px = s->scale * fmax(1, sqrt(off2));
    h->plane = s->kind;
    h->backed_sun = share(support->backed[TL_LIMB_SUN], support->expected[TL_LIMB_SUN]);
    h->backed_moon = share(support->backed[TL_LIMB_MOON], support->expected[TL_LIMB_MOON]);
}

/* Look again, closer, round the disc found in a copy. */
static tl_status look_closer(const tl_image *image, const sight *coarse, tl_hypothesis *h) {
    double reach = 1.35 * h->sun.r + 6 * coarse->scale;
    int factor = (int)fmax(1, floor(h->sun.r / FINE_RADIUS));
    if (factor >= coarse->scale)
        return TL_OK;
    tl_cutout cutout;
    sight fine;
    tl_status status = tl_limb_cut(image, h->sun.x - reach, h->sun.y - reach, h->sun.x + reach,
                                   h->sun.y + reach, factor, &cutout);
    if (status != TL_OK)
        return status;
    status = look(&cutout, coarse->kind, &fine);
    tl_limb_cutout_free(&cutout);
    for (size_t i = 0; i < fine.count && status == TL_OK; i++) {
        tl_circle sun = to_picture(&fine, &fine.pair[i].oval, &fine.pair[i].oval.sun);
        double moved = hypot(sun.x - h->sun.x, sun.y - h->sun.y);
        double grown = fabs(sun.r - h->sun.r);
        if (moved > SAME_CENTRE * h->sun.r + 2 * coarse->scale ||
            grown > SAME_RADIUS * h->sun.r + 2 * coarse->scale)
            continue;
        describe(&fine, &fine.pair[i], h);
        break;
    }
    return status;
}

tl_status tl_limb_hypothesis_find(const tl_image *image, bool *found, tl_hypothesis *hypothesis) {
    int longer = image->width > image->height ? image->width : image->height;
    int factor = (longer + LARGE_SIDE - 1) / LARGE_SIDE;
    if (image->width < factor || image->height < factor) { /* thinner than a reduced pixel */
        *hypothesis = (tl_hypothesis){0};
        *found = false;
        return TL_OK;
    }
    tl_cutout large = {0}, small = {0};
    sight best = {0};
    tl_status status = tl_limb_cut(image, 0, 0, image->width, image->height, factor, &large);
    if (status != TL_OK)
        return status;
    if (large.image.width >= SMALL_FACTOR && large.image.height >= SMALL_FACTOR) {
        status = tl_limb_cut(&large.image, 0, 0, large.image.width, large.image.height,
                             SMALL_FACTOR, &small);
        small.x0 = large.x0 + large.scale * small.x0;
        small.y0 = large.y0 + large.scale * small.y0;
        small.scale *= large.scale;
        if (status == TL_OK)
            status = look_at_all(&small, &best);
    }
    if (status == TL_OK && !is_clear(&best))
        status = look_at_all(&large, &best);
    tl_limb_cutout_free(&small);
    tl_limb_cutout_free(&large);
    tl_hypothesis result = {.dark_centre = best.dark_centre};
    if (status == TL_OK && best.count > 0) {
        describe(&best, &best.pair[0], &result);
        result.rivals = count_rivals(&best);
        status = look_closer(image, &best, &result);
    }
    if (status != TL_OK)
        return status;
    *found = best.count > 0 && result.sun.r >= RADIUS_MIN_PX;
    *hypothesis = result;
    return TL_OK;
}
