/*
 * From the whole picture to one pair of Sun and Moon.
 *
 * The picture is looked at in a small copy, in every colour; where that shows no clear disc, in a
 * larger one. The disc with the steepest limbs wins: field stops, eyecups, clouds and cards are
 * all less steep along their outline, or not round. It is looked at again, closer.
 */
#include <math.h>

#include "limb/limb_internal.h"

enum {
    LARGE_SIDE = 800, /* longer side of the larger copy, px: a disc of 100 px in a picture of 6000
                         px is 13 px wide */
    SMALL_FACTOR = 3, /* from the larger to the small copy */
    CLEAR_ENOUGH_RADIUS = 50, /* solar radius in a copy from which no closer look is needed, if it
                                 is clearly round and its parts are wide, px */
    CLOSER_RADIUS = 100,      /* largest solar radius of the closer look, px */
    FINE_RADIUS = 130, /* the same at its closest, where thin parts need it: 1 px is 0.8 % of it */
    CERTAIN_PX = 4,    /* least width of the parts of a pair that leaves no doubt, px of the copy */
    WIDE_PX = 10,      /* parts of a pair that are not thin, px of the closer look */
};
/* Darkest maximum worth a look: below it a plane holds noise only (sRGB code 13 of 255). */
static const double PLANE_MAX_MIN = 0.004;
/* A disc in the small copy is clear from this radius on, px, with this share of its limbs backed;
 * else the larger copy is asked as well. */
static const double CLEAR_RADIUS = 9, CLEAR_BACKED = 0.6;
/* A rival is about as large (with a Moon before it not that much), about as steep, and crisp; a
 * reflection is much fainter. */
static const double RIVAL_SIZE = 0.75, PAIR_SIZE = 0.4, RIVAL_STEEPNESS = 0.3;
/* Crisp: of what outlines back this share lies close to the circles. With its Moon a rival shows
 * half of both limbs, without it an arc as long as a crescent's. */
static const double CRISP = 0.9, PAIR_CLOSE = 0.45, LONE_ARC_DEG = 140;
static const double OVERLAPPING_SCORE = 0.6;
/* Two discs are the same if they have moved and grown by no more than this, in radii; a thin
 * crescent's radius is wrong by a pixel of the copy, which is taken on top. */
static const double SAME_CENTRE = 0.3, SAME_RADIUS = 0.2;
/* The closer look must back about as much of the limbs as the first one. */
static const double CLOSER_BACKED = 0.8;
/* A disc is clearly round if this share of its limbs lies close to the circles. */
static const double CLOSER_CLOSE = 0.96;
/* How far about a disc the closer look reaches, in its radii. */
static const double LOOK_REACH = 1.25;
static const double RADIUS_MIN_PX = 10; /* smallest disc worth naming the Sun, picture px */
/* What must be seen of a Sun: its limb nearly all round, or less of it and the Moon's. Degrees of
 * limb backed by outlines, and their share of what should be seen. */
static const double ALONE_ARC_DEG = 150, ALONE_BACKED = 0.55;
static const double SUN_ARC_DEG = 50, SUN_BACKED = 0.35;
static const double CLOSE_MIN = 0.35; /* share of it close to the circles: not a card's corners */
/* A disc without a Moon counts less: there is nothing to be measured in it. */
static const double ALONE = 0.35;
/* Discs down to this share of the best score are looked at closer. */
static const double WORTH_A_LOOK = 0.3;
/* Least step of light at a limb, share of the brightest: a tenth of what the verdict asks for. */
static const double STEP_MIN = 0.025;
/* How much less a disc counts in a copy if it falls short of that: the closer look may see more. */
static const double DOUBTFUL = 0.3;

/* A copy of the picture, or of a part of it, in one plane. */
typedef struct view {
    tl_plane_kind kind;
    double scale, x0, y0;
} view;

/* A disc seen in a view. */
typedef struct sighting {
    view view;
    tl_pair pair;
    tl_circle sun; /* picture px */
    double score;  /* light across the whole of its limbs, less if doubtful */
} sighting;

/* The best discs of all views, the best first; no disc twice. */
enum { SIGHTINGS_MAX = 6 };
typedef struct sightings {
    sighting best[SIGHTINGS_MAX];
    size_t count;
    double brightest; /* of the picture's luminance */
    bool grey;        /* it has no colours worth looking at */
    bool dark_centre;
} sightings;

static double share(int part, int whole) {
    return whole > 0 ? (double)part / whole : 0;
}

static double close_share(const tl_support *s) {
    return share(s->close, s->expected[TL_LIMB_SUN] + s->expected[TL_LIMB_MOON]);
}

static bool is_plausible(const tl_pair *pair) {
    const tl_support *s = &pair->support;
    double degrees = 360.0 * s->backed[TL_LIMB_SUN] / s->spokes;
    double solar = share(s->backed[TL_LIMB_SUN], s->expected[TL_LIMB_SUN]);
    if (close_share(s) < CLOSE_MIN)
        return false;
    if (pair->oval.moon.r > 0)
        return degrees >= SUN_ARC_DEG && solar >= SUN_BACKED;
    return degrees >= ALONE_ARC_DEG && solar >= ALONE_BACKED;
}

static tl_circle to_picture(const view *v, const tl_oval *oval, const tl_circle *c) {
    return (tl_circle){v->x0 + v->scale * c->x, v->y0 + v->scale * c->y,
                       v->scale * tl_limb_oval_longer(oval, c->r)};
}

static bool same_disc(const tl_circle *a, const tl_circle *b, double slack_px) {
    return hypot(a->x - b->x, a->y - b->y) <= SAME_CENTRE * a->r + slack_px &&
           fabs(a->r - b->r) <= SAME_RADIUS * a->r + slack_px;
}

/* Into the list at its place; of the same disc in several views the best stays. */
static void keep_sighting(sightings *list, const sighting *new) {
    for (size_t i = 0; i < list->count; i++) {
        if (!same_disc(&list->best[i].sun, &new->sun, 0))
            continue;
        if (list->best[i].score >= new->score)
            return;
        for (size_t k = i + 1; k < list->count; k++)
            list->best[k - 1] = list->best[k];
        list->count--;
        break;
    }
    size_t at = list->count;
    while (at > 0 && list->best[at - 1].score < new->score)
        at--;
    if (at == SIGHTINGS_MAX)
        return;
    if (list->count < SIGHTINGS_MAX)
        list->count++;
    for (size_t k = list->count - 1; k > at; k--)
        list->best[k] = list->best[k - 1];
    list->best[at] = *new;
}

/* Comparable between copies of different scale. */
static double merit(const sighting *s) {
    return tl_limb_pair_merit(&s->pair) * sqrt(s->view.scale) *
           (is_plausible(&s->pair) ? 1 : DOUBTFUL);
}

/* The step of light is that of the copy: closer, it depends on how sharp the limb is. */
static double closer_merit(const sighting *seen, const sighting *closer) {
    return tl_limb_pair_merit(&seen->pair) * sqrt(seen->view.scale) *
           close_share(&closer->pair.support) * (closer->pair.oval.moon.r > 0 ? 1 : ALONE);
}

/* A disc seen in one view as it would lie in another. */
static tl_oval seen_from(const sighting *s, const view *v) {
    const tl_oval *o = &s->pair.oval;
    double zoom = s->view.scale / v->scale;
    return (tl_oval){
        .sun = {(s->sun.x - v->x0) / v->scale, (s->sun.y - v->y0) / v->scale, zoom * o->sun.r},
        .p = o->p,
        .q = o->q};
}

/* Everything in a plane that could be the Sun; or only the disc `known`, if not NULL. */
static tl_status look(const tl_plane *plane, tl_plane_kind kind, const sighting *known,
                      sightings *list) {
    sighting s = {.view = {kind, plane->scale, plane->x0, plane->y0}};
    tl_outline outline = {0};
    tl_pair pair[TL_SUNS_MAX];
    size_t count = 0;
    tl_oval start = known ? seen_from(known, &s.view) : (tl_oval){0};
    tl_status status = TL_OK;
    double brightest = tl_limb_plane_brightest(plane); /* no step of light is larger */
    if (kind == TL_PLANE_LUMA)
        list->brightest = fmax(brightest, list->brightest);
    if (brightest >= fmax(PLANE_MAX_MIN, STEP_MIN * list->brightest)) {
        status = tl_limb_outline_make(plane, brightest, &outline);
        if (status == TL_OK)
            tl_limb_suns_find(plane, &outline, known ? &start : NULL, pair, &count);
        if (status == TL_OK && kind == TL_PLANE_LUMA && !known && !list->dark_centre)
            list->dark_centre = tl_limb_dark_disc(plane, &outline);
    }
    for (size_t i = 0; i < count && status == TL_OK; i++) {
        s.sun = to_picture(&s.view, &pair[i].oval, &pair[i].oval.sun);
        if (known && !same_disc(&known->sun, &s.sun, 2 * known->view.scale))
            continue;
        status = tl_limb_moon_find(plane, &outline, &pair[i]);
        s.pair = pair[i];
        s.sun = to_picture(&s.view, &s.pair.oval, &s.pair.oval.sun);
        s.score = merit(&s);
        if (status == TL_OK && s.sun.r >= RADIUS_MIN_PX &&
            s.pair.score >= STEP_MIN * list->brightest)
            keep_sighting(list, &s);
    }
    tl_limb_outline_free(&outline);
    return status;
}

static int light_of(const tl_image *image, int x, int y, int channel) {
    const size_t at = ((size_t)y * (size_t)image->width + (size_t)x) * 3 + (size_t)channel;
    return image->code != NULL ? image->light[image->code[at]] : image->sample[at];
}

static int larger(int a, int b) {
    return a > b ? a : b;
}

/*
 * Are red, green and blue alike wherever there is light, and nothing clipped? Then the luminance
 * tells all there is. The Sun's limb is always redder than its middle: its blue light is 0.4 of
 * what its red light is there (Neckel & Labs 1994), and over the whole disc 0.87. One pixel in
 * `step` along each side is looked at.
 */
static bool is_grey(const tl_image *image, int step) {
    static const double BRIGHT = 0.1;   /* of the brightest; darker colours are noise */
    static const double ALIKE = 0.35;   /* of the strongest colour, on the whole: white balance; of
                                           film filters that are called coloured 0.6 and more */
    static const double STRANGE = 0.65; /* the same at one pixel */
    static const double EXCEPTED =
        0.02; /* share of the bright pixels that may be strange, clipped */
    if (image->channels == 1)
        return true;
    double sum[3] = {0};
    size_t bright = 0, strange = 0, clipped = 0;
    int brightest = 0;
    for (int y = 0; y < image->height; y += step)
        for (int x = 0; x < image->width; x += step)
            brightest = larger(brightest, light_of(image, x, y, 1));
    for (int y = 0; y < image->height; y += step) {
        for (int x = 0; x < image->width; x += step) {
            const int rgb[3] = {light_of(image, x, y, 0), light_of(image, x, y, 1),
                                light_of(image, x, y, 2)};
            const int most = larger(rgb[0], larger(rgb[1], rgb[2]));
            const int least = -larger(-rgb[0], larger(-rgb[1], -rgb[2]));
            if (most < BRIGHT * brightest)
                continue;
            bright++;
            strange += most - least > STRANGE * most;
            clipped += most > TL_LIMB_CLIPPED * 65535;
            for (int c = 0; c < 3; c++)
                sum[c] += rgb[c];
        }
    }
    const double most = fmax(sum[0], fmax(sum[1], sum[2]));
    const double least = fmin(sum[0], fmin(sum[1], sum[2]));
    return most - least <= ALIKE * most && (double)strange <= EXCEPTED * (double)bright &&
           (double)clipped <= EXCEPTED * (double)bright;
}

static double backed_share(const tl_support *s) {
    return share(s->backed[TL_LIMB_SUN] + s->backed[TL_LIMB_MOON],
                 s->expected[TL_LIMB_SUN] + s->expected[TL_LIMB_MOON]);
}

static bool is_clear(const sightings *list) {
    const tl_pair *best = &list->best[0].pair;
    return list->count > 0 && best->oval.sun.r >= CLEAR_RADIUS && is_plausible(best) &&
           backed_share(&best->support) >= CLEAR_BACKED;
}

/* Mean step of light where outlines back the limbs. */
static double steepness(const tl_support *s) {
    int backed = s->backed[TL_LIMB_SUN] + s->backed[TL_LIMB_MOON];
    return (s->rise[TL_LIMB_SUN] + s->rise[TL_LIMB_MOON]) / fmax(1, backed);
}

/* Would this pass for a Sun, if only as a crescent whose Moon is not made out in the copy? */
static bool is_sunlike(const tl_pair *pair) {
    const tl_support *s = &pair->support;
    if (s->close < CRISP * (s->backed[TL_LIMB_SUN] + s->backed[TL_LIMB_MOON]))
        return false;
    if (pair->oval.moon.r > 0)
        return close_share(s) >= PAIR_CLOSE;
    return 360.0 * s->backed[TL_LIMB_SUN] / s->spokes >= LONE_ARC_DEG;
}

static bool is_rival(const sighting *other, const sighting *sun) {
    double size = fmin(other->sun.r, sun->sun.r) / fmax(other->sun.r, sun->sun.r);
    double apart = hypot(other->sun.x - sun->sun.x, other->sun.y - sun->sun.y) / sun->sun.r;
    if (apart <= SAME_CENTRE || size < (other->pair.oval.moon.r > 0 ? PAIR_SIZE : RIVAL_SIZE))
        return false;
    if (apart <= 1) /* some of the limb may be the same */
        return other->score > OVERLAPPING_SCORE * sun->score;
    double steep = steepness(&other->pair.support) / steepness(&sun->pair.support);
    return steep > RIVAL_STEEPNESS && is_sunlike(&other->pair);
}

/* Other discs of the picture that would pass for this Sun. */
static int count_rivals(const sightings *list, const sighting *sun) {
    int count = 0;
    for (size_t i = 0; i < list->count; i++)
        count += is_rival(&list->best[i], sun);
    return count;
}

static tl_hypothesis describe(const sighting *s) {
    const tl_oval *o = &s->pair.oval;
    const tl_support *support = &s->pair.support;
    double off2 = (support->off2[TL_LIMB_SUN] + support->off2[TL_LIMB_MOON]) /
                  fmax(1, (double)support->count);
    double turn = 0.5 * atan2(o->q, o->p); /* where M stretches most the disc is shortest */
    bool oval = hypot(o->p, o->q) > 0;
    return (tl_hypothesis){
        .sun = s->sun,
        .moon = o->moon.r > 0 ? to_picture(&s->view, o, &o->moon) : (tl_circle){0},
        .flattening = tl_limb_oval_flattening(o),
        .flat_x = oval ? cos(turn) : 0,
        .flat_y = oval ? sin(turn) : 1,
        .outline_px = s->view.scale * fmax(1, sqrt(off2)),
        .plane = s->view.kind,
        .backed_sun = share(support->backed[TL_LIMB_SUN], support->expected[TL_LIMB_SUN]),
        .backed_moon = share(support->backed[TL_LIMB_MOON], support->expected[TL_LIMB_MOON]),
    };
}

/* The disc cut out and reduced by `factor`. */
static tl_status look_at(const tl_image *image, const sighting *seen, int factor, sightings *fine) {
    const tl_circle *sun = &seen->sun;
    double reach = LOOK_REACH * sun->r + 6 * seen->view.scale;
    tl_plane plane;
    tl_status status = tl_limb_plane_glance(image, seen->view.kind, sun->x - reach, sun->y - reach,
                                            sun->x + reach, sun->y + reach, factor, &plane);
    if (status != TL_OK)
        return status;
    status = look(&plane, seen->view.kind, seen, fine);
    tl_limb_plane_free(&plane);
    return status;
}

/* The thinner of the bite and of what is left of the Sun, px of the view; 0 without a Moon. */
static double thinner_part(const tl_pair *pair) {
    const tl_circle *sun = &pair->oval.sun, *moon = &pair->oval.moon;
    const double apart = hypot(moon->x - sun->x, moon->y - sun->y);
    return moon->r > 0 ? fmin(sun->r + moon->r - apart, sun->r - moon->r + apart) : 0;
}

/* Sun and Moon, with outlines close to their limbs nearly all round? */
static bool is_certain(const tl_pair *pair) {
    return close_share(&pair->support) >= CLOSER_CLOSE && thinner_part(pair) >= CERTAIN_PX;
}

/* And are both the bite and what is left of the Sun wide? */
static bool is_wide(const tl_pair *pair) {
    return is_certain(pair) && thinner_part(pair) >= WIDE_PX;
}

/* `seen` looked at in a copy reduced by `factor`; it stays as it is if nothing better comes out. */
static tl_status look_once(const tl_image *image, int factor, bool only_wide, sighting *seen,
                           bool *done) {
    sightings fine = {0};
    tl_status status = look_at(image, seen, factor, &fine);
    if (status != TL_OK)
        return status;
    const sighting *best = &fine.best[0];
    if (fine.count == 0 || (is_plausible(&seen->pair) && !is_plausible(&best->pair)) ||
        backed_share(&best->pair.support) < CLOSER_BACKED * backed_share(&seen->pair.support) ||
        (only_wide && !is_wide(&best->pair)))
        return TL_OK;
    *seen = *best;
    *done = true;
    return TL_OK;
}

/* Look again, closer, round a disc found in a copy: as close as its parts are thin, less close
 * where noise, blur or writing hide it. */
static tl_status look_closer(const tl_image *image, sighting *seen) {
    if (seen->pair.oval.sun.r >= CLEAR_ENOUGH_RADIUS && is_wide(&seen->pair))
        return TL_OK;
    const int near = (int)ceil(seen->sun.r / CLOSER_RADIUS);
    const int nearest = (int)fmax(1, floor(seen->sun.r / FINE_RADIUS));
    tl_status status = TL_OK;
    bool done = false;
    const double thinner = thinner_part(&seen->pair) * seen->view.scale / near;
    if (near > nearest && near < seen->view.scale && thinner >= WIDE_PX)
        status = look_once(image, near, true, seen, &done);
    for (int factor = nearest; status == TL_OK && !done && factor < seen->view.scale; factor *= 2)
        status = look_once(image, factor, false, seen, &done);
    return status;
}

/* Every colour of a copy; the luminance alone where it leaves no doubt. */
static tl_status look_at_all(const tl_image *image, int factor, sightings *list) {
    tl_status status = TL_OK;
    for (int kind = 0; kind < TL_PLANE_KINDS && status == TL_OK; kind++) {
        tl_plane plane;
        status = tl_limb_plane_glance(image, (tl_plane_kind)kind, 0, 0, image->width, image->height,
                                      factor, &plane);
        if (status != TL_OK)
            break;
        status = look(&plane, (tl_plane_kind)kind, NULL, list);
        tl_limb_plane_free(&plane);
        if (list->grey || (is_clear(list) && is_certain(&list->best[0].pair)))
            break;
    }
    return status;
}

/* The picture in a small copy, and in a larger one if that shows no clear disc. */
static tl_status look_round(const tl_image *image, int factor, sightings *list) {
    const int factors[] = {SMALL_FACTOR * factor, factor};
    for (int i = 0; i < 2; i++) {
        if (image->width < factors[i] || image->height < factors[i])
            continue; /* thinner than a reduced pixel */
        list->grey = is_grey(image, 2 * factors[i]);
        const tl_status status = look_at_all(image, factors[i], list);
        if (status != TL_OK || is_clear(list))
            return status;
    }
    return TL_OK;
}

tl_status tl_limb_hypothesis_find(const tl_image *image, bool *found, tl_hypothesis *hypothesis) {
    int longer = image->width > image->height ? image->width : image->height;
    const int factor = (int)fmax(1, round((double)longer / LARGE_SIDE));
    sightings list = {0};
    tl_hypothesis result = {.flattening = 1, .flat_y = 1};
    double best_score = 0;
    tl_status status = look_round(image, factor, &list);
    for (size_t i = 0; i < list.count && status == TL_OK; i++) {
        if (list.best[i].score < WORTH_A_LOOK * list.best[0].score)
            break;
        sighting sun = list.best[i];
        status = look_closer(image, &sun);
        double score = closer_merit(&list.best[i], &sun);
        if (status != TL_OK || !is_plausible(&sun.pair) || score <= best_score)
            continue;
        best_score = score;
        result = describe(&sun);
        result.rivals = count_rivals(&list, &list.best[i]);
    }
    if (status != TL_OK)
        return status;
    result.dark_centre = list.dark_centre;
    result.grey = list.grey;
    *found = best_score > 0;
    *hypothesis = result;
    return TL_OK;
}
