/* The limb stage's entry points: find, refine in the best colour, judge, fit again. */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_statistics_double.h>

#include "limb/limb_internal.h"

static const char *const PLANE_NAME[TL_PLANE_MEASURABLE] = {"luma", "red", "green", "blue"};
enum {
    LOOKS = 2,
    ROUGH_PASSES = 2,
    ROUGH_PASSES_LARGE = 1
};                                                  /* of edge.c, then of strip.c before the last */
enum { LOOK_NORMALS = 240, LOOK_ARC_NORMALS = 60 }; /* of a round of edge.c: at least, on an arc */
/* The cut-out reaches this far from the Sun's centre, in solar radii: sky for the levels. */
static const double REACH = 1.3;

const char *tl_limb_status_name(tl_limb_status status) {
    static const char *const NAME[TL_LIMB_STATUS_COUNT] = {"measured", "sun-only", "no-sun",
                                                           "unusable", "unreadable"};
    return (unsigned)status < TL_LIMB_STATUS_COUNT ? NAME[status] : "unusable";
}

void tl_limb_free(tl_limb *limb) {
    free(limb->edge);
    limb->edge = NULL;
    limb->edge_count = 0;
}

void tl_limb_set_unreadable(tl_limb *limb, const char *reason) {
    *limb = (tl_limb){0};
    tl_limb_refuse(limb, TL_LIMB_UNREADABLE, reason);
}

double tl_limb_median(double *value, size_t count) {
    return count > 0 ? gsl_stats_median(value, 1, count) : 0;
}

double tl_limb_apart_px(const double c[TL_LIMB_PARAMS]) {
    return hypot(c[TL_MOON_X] - c[TL_SUN_X], c[TL_MOON_Y] - c[TL_SUN_Y]);
}

double tl_limb_crescent_px(const double c[TL_LIMB_PARAMS]) {
    return c[TL_SUN_R] - c[TL_MOON_R] + tl_limb_apart_px(c);
}

static void set_circles(tl_limb *limb, const tl_circle *sun, const tl_circle *moon) {
    const double c[TL_LIMB_PARAMS] = {sun->x, sun->y, sun->r, moon->x, moon->y, moon->r};
    memcpy(limb->circle, c, sizeof c);
}

/* The circles in the round picture. */
static tl_flat get_circles(const tl_limb *limb, tl_circle *sun, tl_circle *moon) {
    const double *c = limb->circle;
    tl_flat flat = {limb->flattening, limb->flat_x, limb->flat_y};
    *sun = (tl_circle){c[TL_SUN_X], c[TL_SUN_Y], c[TL_SUN_R]};
    *moon = (tl_circle){c[TL_MOON_X], c[TL_MOON_Y], c[TL_MOON_R]};
    tl_limb_flat_round(&flat, &sun->x, &sun->y);
    tl_limb_flat_round(&flat, &moon->x, &moon->y);
    return flat;
}

/*
 * A small bite is lost in the reduced picture. Along the normals of a Sun fitted alone it shows
 * as edges well inside the circle: they lie on the lunar limb.
 */
static tl_status find_bite(const tl_limb *limb, const tl_plane *plane, tl_circle *moon) {
    enum { BITE_EDGES_MIN = 8 };
    const double depth_min = fmax(1.0, 5 * limb->residual_px);
    tl_border_point *point = malloc((limb->edge_count + 1) * sizeof *point);
    unsigned char *inlier = malloc(limb->edge_count + 1);
    *moon = (tl_circle){0};
    if (!point || !inlier) {
        free(point);
        free(inlier);
        return TL_ERR_MEMORY;
    }
    size_t count = 0;
    for (size_t i = 0; i < limb->edge_count; i++) {
        const tl_limb_edge *e = &limb->edge[i];
        if (e->used || e->residual_px > -depth_min)
            continue;
        double x = e->x_px - plane->x0, y = e->y_px - plane->y0;
        double gx = tl_limb_plane_linear(plane, x + 2, y) - tl_limb_plane_linear(plane, x - 2, y);
        double gy = tl_limb_plane_linear(plane, x, y + 2) - tl_limb_plane_linear(plane, x, y - 2);
        double length = hypot(gx, gy);
        if (length > 0)
            point[count++] = (tl_border_point){e->x_px, e->y_px, gx / length, gy / length};
    }
    tl_circle sun = {limb->circle[TL_SUN_X], limb->circle[TL_SUN_Y], limb->circle[TL_SUN_R]}, found;
    tl_circle_search search = {.inside_sign = -1,
                               .r_min = 0.9 * sun.r,
                               .r_max = 1.1 * sun.r,
                               .tolerance = fmax(0.8, 0.005 * sun.r),
                               .within = sun};
    size_t n = 0;
    tl_status status = TL_OK;
    if (count >= BITE_EDGES_MIN)
        status = tl_limb_circle_search(point, count, NULL, &search, &found, inlier, &n);
    if (n >= BITE_EDGES_MIN && 2 * n > count)
        *moon = found;
    free(point);
    free(inlier);
    return status;
}

/* The edges become the frame's own. */
static void take_edges(tl_limb *limb, tl_edge_set *set) {
    free(limb->edge);
    limb->edge = set->edge;
    limb->edge_count = set->count;
    limb->blur_px = set->blur_px;
    limb->clipped_edge = set->clipped_edge;
    limb->profile_misfit = set->misfit;
    set->edge = NULL;
}

/* A first look for edges about the present circles. */
static tl_status look_pass(tl_limb *limb, const tl_plane *plane, const tl_edge_search *search,
                           const tl_limb_prior *prior, tl_edge_set *set) {
    tl_circle sun, moon;
    tl_flat flat = get_circles(limb, &sun, &moon);
    tl_status status = tl_limb_edges_find(plane, &flat, &sun, &moon, search, set);
    if (status != TL_OK)
        return status;
    take_edges(limb, set);
    return tl_limb_fit_circles(limb, prior);
}

/* Three blurs away the other limb takes 0.1 % of the light; a thin crescent cannot do without
 * places that are closer. */
static double strip_cusp_px(const tl_limb *limb) {
    const double *c = limb->circle;
    double room = c[TL_MOON_R] > 0 ? tl_limb_crescent_px(c) / 3 : HUGE_VAL;
    return fmax(1.5 * limb->blur_px, fmin(3 * limb->blur_px, room)) + 0.5;
}

/* What is special about the pixels. */
typedef struct manner {
    bool large;   /* a part of them will do: so many lie along the limbs that their errors are below
                     those of a limb's own (its mountains, 1.5 arcsec) */
    bool reduced; /* the picture is held reduced */
} manner;

/* What is under way in one plane. */
typedef struct attempt {
    tl_plane plane;
    double light[3];
    tl_limb limb;
    tl_edge_model model;
    tl_edge_set set;
    double look_px[2]; /* blur of either limb at a first look, which no model guided */
    double circle[TL_LIMB_PARAMS], flattening, flat_x, flat_y; /* where the edges are; an almanac's
                                                                  ratio moves the limb's own */
    manner how;
    bool failed;
} attempt;

/* The limbs measured about the present circles: on a part of the pixels, or on all. */
static tl_status strip_pass(attempt *a, bool rough) {
    tl_limb *limb = &a->limb;
    tl_circle sun, moon;
    double blur = fmax(limb->blur_px, TL_LIMB_BLUR_MIN_PX);
    a->model.flat = get_circles(limb, &sun, &moon);
    a->model.rough = rough;
    a->model.cusp_px = strip_cusp_px(limb);
    const tl_darkening darkening = {.light = {a->light[0], a->light[1], a->light[2]},
                                    .power = a->model.power};
    tl_limb_spread_make(&darkening, sun.r, blur, &a->model.spread);
    tl_status status = tl_limb_strip_measure(&a->plane, &sun, &moon, &a->model, &a->set);
    limb->darkening = a->model.power;
    if (status == TL_OK)
        take_edges(limb, &a->set);
    return status;
}

/*
 * Discs may be oval for more reasons than are known beforehand. The map is fitted when enough of
 * the Sun is seen and the edges then lie clearly closer to their circles.
 */
static tl_status try_oval(tl_limb *limb, const tl_limb_prior *prior) {
    static const double ARC_MIN = 150 * TL_DEG, BETTER = 0.9, FLATTENING_MAX = 0.998;
    if (limb->flattening_fitted || limb->arc_sun_rad < ARC_MIN)
        return TL_OK;
    tl_limb round = *limb;
    tl_limb_edge *edge = malloc((limb->edge_count + 1) * sizeof *edge);
    if (!edge)
        return TL_ERR_MEMORY;
    memcpy(edge, limb->edge, limb->edge_count * sizeof *edge);
    limb->flattening_fitted = true;
    tl_status status = tl_limb_fit_circles(limb, prior);
    if (status == TL_OK && limb->residual_px < BETTER * round.residual_px &&
        limb->flattening < FLATTENING_MAX) {
        free(edge);
        return TL_OK;
    }
    memcpy(limb->edge, edge, limb->edge_count * sizeof *edge);
    free(edge);
    *limb = round;
    return status == TL_ERR_MEMORY ? status : TL_OK;
}

/* Enough for the shorter of the arcs; a bite too small to have been found is a few normals wide. */
static int look_normals(const double c[TL_LIMB_PARAMS]) {
    const tl_circle sun = {c[TL_SUN_X], c[TL_SUN_Y], c[TL_SUN_R]};
    const tl_circle moon = {c[TL_MOON_X], c[TL_MOON_Y], c[TL_MOON_R]};
    if (moon.r <= 0)
        return TL_EDGE_NORMALS_MAX;
    const double arc = fmax(tl_limb_half_arc(&moon, &sun), 1e-3);
    return (int)fmin(fmax(LOOK_NORMALS, LOOK_ARC_NORMALS * TL_PI / arc), TL_EDGE_NORMALS_MAX);
}

/* Where the circles are known only to `wide` px: a wide window, a coarse filter. */
static tl_edge_search first_search(const tl_limb *limb, double wide) {
    const double *c = limb->circle;
    double cusp = wide;
    if (c[TL_MOON_R] > 0) { /* a small bite or a thin crescent must keep points in its middle */
        double bite = c[TL_SUN_R] + c[TL_MOON_R] - tl_limb_apart_px(c);
        cusp = fmin(wide, 0.35 * fmin(bite, tl_limb_crescent_px(c)));
    }
    return (tl_edge_search){.half_width_px = wide,
                            .filter_px = fmax(1.2, 0.12 * wide),
                            .cusp_px = fmax(cusp, 1),
                            .normals = look_normals(c)};
}

/*
 * A filter as wide as the blur is the best detector (Canny 1986); three widths away the other
 * limb moves an edge by less than 0.04 widths (slope of a Gaussian's tail there).
 */
static tl_edge_search next_search(const tl_limb *limb) {
    const double *c = limb->circle;
    double filter = fmax(0.8, limb->blur_px);
    if (c[TL_MOON_R] > 0) /* a wide filter would mix the two edges of a thin crescent */
        filter = fmax(0.8, fmin(filter, tl_limb_crescent_px(c) / 12));
    double width = hypot(filter, limb->blur_px);
    return (tl_edge_search){.half_width_px = fmax(5, 4 * width),
                            .filter_px = filter,
                            .cusp_px = fmax(2.5, 3 * width),
                            .normals = look_normals(c)};
}

/* Coarse to fine in one plane, up to the edges that count. */
static tl_status close_in(tl_limb *limb, const tl_plane *plane, double wide,
                          const tl_limb_prior *shape, tl_edge_set *set) {
    tl_status status = TL_OK;
    for (int look = 0; look < LOOKS && status == TL_OK; look++) {
        tl_edge_search search = look == 0 ? first_search(limb, wide) : next_search(limb);
        status = look_pass(limb, plane, &search, shape, set);
        if (status == TL_OK && look == 0 && limb->circle[TL_MOON_R] <= 0) {
            tl_circle moon;
            status = find_bite(limb, plane, &moon);
            limb->circle[TL_MOON_X] = moon.x;
            limb->circle[TL_MOON_Y] = moon.y;
            limb->circle[TL_MOON_R] = moon.r;
        }
    }
    return status;
}

/* Edges are looked for where they are, not where an almanac would have them. */
static tl_limb_prior shape_of(const tl_limb_prior *prior) {
    return (tl_limb_prior){
        .flattening = prior->flattening, .zenith_x = prior->zenith_x, .zenith_y = prior->zenith_y};
}

/* From a hypothesis to circles along the limbs of one plane, measured roughly. */
static tl_status approach(attempt *a, const tl_hypothesis *hypothesis, const tl_circle *first_moon,
                          const tl_limb_prior *prior) {
    static const double OVAL = 0.97; /* flatter discs cannot be taken for round ones */
    const tl_limb_prior shape = shape_of(prior);
    a->limb = (tl_limb){.flattening = hypothesis->flattening,
                        .flat_x = hypothesis->flat_x,
                        .flat_y = hypothesis->flat_y,
                        .flattening_fitted = hypothesis->flattening < OVAL,
                        .reduced_px = a->how.reduced};
    a->model = (tl_edge_model){.power = 1, .noise_sky = 1};
    a->set = (tl_edge_set){0};
    double wide = fmax(3 * hypothesis->outline_px + 3, 0.05 * hypothesis->sun.r);
    set_circles(&a->limb, &hypothesis->sun, first_moon);
    tl_status status = close_in(&a->limb, &a->plane, wide, &shape, &a->set);
    memcpy(a->look_px, a->set.blur_limb_px, sizeof a->look_px);
    const int passes = a->how.large ? ROUGH_PASSES_LARGE : ROUGH_PASSES;
    for (int pass = 0; pass < passes && status == TL_OK; pass++) {
        status = strip_pass(a, true);
        if (status == TL_OK)
            status = tl_limb_fit_circles(&a->limb, &shape);
        if (status == TL_OK && pass == 0)
            status = try_oval(&a->limb, &shape);
    }
    memcpy(a->circle, a->limb.circle, sizeof a->circle);
    a->flattening = a->limb.flattening;
    a->flat_x = a->limb.flat_x;
    a->flat_y = a->limb.flat_y;
    return status;
}

/* The circles of the edges at hand, and the verdict on them. */
static tl_status conclude(attempt *a, const tl_hypothesis *hypothesis, const tl_limb_prior *prior) {
    tl_status status = tl_limb_fit(&a->limb, prior);
    if (status != TL_OK)
        return status;
    memcpy(a->set.look_limb_px, a->look_px, sizeof a->look_px);
    tl_limb_judge(&a->limb, hypothesis, &a->set, &a->plane);
    return TL_OK;
}

/* The last measurement: on all pixels, unless a part of them will do. */
static tl_status finish(attempt *a, const tl_hypothesis *hypothesis, const tl_limb_prior *prior) {
    memcpy(a->limb.circle, a->circle, sizeof a->circle);
    a->limb.flattening = a->flattening;
    a->limb.flat_x = a->flat_x;
    a->limb.flat_y = a->flat_y;
    tl_status status = strip_pass(a, a->how.large);
    return status == TL_OK ? conclude(a, hypothesis, prior) : status;
}

static bool is_failure(tl_status status) {
    return status == TL_ERR_TOO_FEW || status == TL_ERR_NO_FIT;
}

static bool shows_a_ring(const tl_hypothesis *hypothesis) {
    const tl_circle *sun = &hypothesis->sun, *moon = &hypothesis->moon;
    return moon->r > 0 && hypot(moon->x - sun->x, moon->y - sun->y) + moon->r < sun->r;
}

/* No circles came out. */
static void give_up(attempt *a, const tl_hypothesis *hypothesis) {
    const tl_circle no_moon = {0};
    tl_limb_free(&a->limb);
    a->limb = (tl_limb){0};
    a->failed = true;
    set_circles(&a->limb, &hypothesis->sun, &no_moon);
    tl_limb_refuse(
        &a->limb, TL_LIMB_UNUSABLE,
        shows_a_ring(hypothesis)
            ? "a dark disc in a ring of light, which is too thin or too blurred to measure"
            : "too little of the limb is sharp enough to measure");
}

/* One plane up to circles, and `only` one, or also to a rough verdict; a Moon that the first look
 * imagined is given up for a second try. */
static tl_status try_plane(attempt *a, const tl_hypothesis *hypothesis, const tl_limb_prior *prior,
                           bool only) {
    const tl_circle *moons[] = {&hypothesis->moon, &(tl_circle){0}};
    const int tries = hypothesis->moon.r > 0 && !shows_a_ring(hypothesis) ? 2 : 1;
    tl_status status = TL_ERR_NO_FIT;
    for (int i = 0; i < tries && is_failure(status); i++) {
        tl_limb_free(&a->limb);
        status = approach(a, hypothesis, moons[i], prior);
        if (status == TL_OK)
            status = only ? finish(a, hypothesis, prior) : conclude(a, hypothesis, prior);
    }
    if (!is_failure(status))
        return status;
    give_up(a, hypothesis);
    return TL_OK;
}

/*
 * Which colour to believe. A plane that shows the disc much fainter than another one is out. If
 * most of the rest are measured, the one with the roundest limbs among those, roundness being
 * dearer where limbs are clipped; else the roundest of all has the word, be it a refusal.
 */
static const double FAINT_SHARE = 0.25; /* of the strongest step of light between sky and disc */
static const double CLIPPED_COST = 4;   /* a wholly clipped limb costs as much as one five times
                                           as rough; our own choice */

static double light_step(const tl_limb *limb) {
    return limb->disc_level - limb->sky_level;
}

static double plane_cost(const tl_limb *limb) {
    return limb->residual_px * (1 + CLIPPED_COST * limb->clipped_edge);
}

/* The plane to believe; the worst clipping along the limb among those not too faint. */
static int choose_plane(const attempt *tried, int count, double *clipped_edge_worst) {
    double strongest = 0, worst = 0;
    int roundest = -1, measured = -1, votes = 0, voters = 0;
    for (int i = 0; i < count; i++)
        strongest = fmax(strongest, light_step(&tried[i].limb));
    for (int i = 0; i < count; i++) {
        if (light_step(&tried[i].limb) < FAINT_SHARE * strongest)
            continue;
        worst = fmax(worst, tried[i].limb.clipped_edge);
        if (tried[i].limb.edge_count == 0)
            continue;
        voters++;
        if (roundest < 0 || plane_cost(&tried[i].limb) < plane_cost(&tried[roundest].limb))
            roundest = i;
        if (tried[i].limb.status != TL_LIMB_MEASURED)
            continue;
        votes++;
        if (measured < 0 || plane_cost(&tried[i].limb) < plane_cost(&tried[measured].limb))
            measured = i;
    }
    *clipped_edge_worst = worst;
    if (roundest < 0)
        return 0;
    return 2 * votes > voters ? measured : roundest;
}

/* How much of the disc's light in a plane is red, green and blue; grey pictures count as green. */
static void light_shares(const tl_image *image, const tl_hypothesis *hypothesis, tl_plane_kind kind,
                         double light[3]) {
    enum { GRID = 40 };
    double sum[3] = {0}, total = 0;
    for (int i = 0; image->channels == 3 && i < GRID * GRID; i++) {
        double u = (i % GRID + 0.5) / GRID * 2 - 1, v = (i / GRID + 0.5) / GRID * 2 - 1;
        double x = hypothesis->sun.x + u * hypothesis->sun.r;
        double y = hypothesis->sun.y + v * hypothesis->sun.r;
        const tl_circle *moon = &hypothesis->moon;
        if (hypot(u, v) > 0.95 || hypot(x - moon->x, y - moon->y) < moon->r)
            continue;
        if (x < 0 || y < 0 || x > image->width - 1 || y > image->height - 1)
            continue;
        for (int c = 0; c < 3; c++)
            sum[c] += tl_limb_luma[c] * tl_image_light(image, (int)lround(x), (int)lround(y), c);
    }
    for (int c = 0; c < 3; c++) {
        if (kind != TL_PLANE_LUMA)
            sum[c] = kind - TL_PLANE_RED == (tl_plane_kind)c;
        total += sum[c];
    }
    for (int c = 0; c < 3; c++)
        light[c] = total > 0 ? sum[c] / total : c == 1;
}

/*
 * Two colours that are both measured, with no limb clipped and the same circles, need no third one
 * to vote. The first is the luminance, which has the most light and, in a JPEG, the finest detail.
 */
static bool agree(const attempt *one, const attempt *other) {
    static const double UNCLIPPED = 0.02; /* share of the edges: a hot pixel is no clipping */
    static const double APART = 0.004;    /* solar radii: lateral colour, coarsely drawn colours */
    const double *a = one->limb.circle, *b = other->limb.circle;
    for (int i = 0; i < TL_LIMB_PARAMS; i++)
        if (fabs(a[i] - b[i]) > fmax(APART * a[TL_SUN_R], 0.5))
            return false;
    return one->limb.status == TL_LIMB_MEASURED && other->limb.status == TL_LIMB_MEASURED &&
           fmax(one->limb.clipped_edge, other->limb.clipped_edge) <= UNCLIPPED;
}

/* Luminance, then the colours, the one with the most light on the disc first. */
static void order_planes(const double light[3], tl_plane_kind order[TL_PLANE_MEASURABLE]) {
    order[0] = TL_PLANE_LUMA;
    for (int c = 0; c < 3; c++) {
        int rank = 1;
        for (int other = 0; other < 3; other++)
            rank += light[other] > light[c] || (light[other] == light[c] && other < c);
        order[rank] = (tl_plane_kind)(TL_PLANE_RED + c);
    }
}

/* One plane made ready and tried. */
static tl_status try_kind(const tl_image *image, const tl_hypothesis *hypothesis,
                          const tl_limb_prior *prior, tl_plane_kind kind, bool only, attempt *a) {
    const tl_circle *sun = &hypothesis->sun;
    const double reach = REACH * sun->r + 8;
    a->plane = tl_limb_plane_view(image, kind, sun->x - reach, sun->y - reach, sun->x + reach,
                                  sun->y + reach);
    light_shares(image, hypothesis, kind, a->light);
    return try_plane(a, hypothesis, prior, only);
}

/* Try the planes, and measure in the one to believe. */
static tl_status measure_planes(const tl_image *image, const tl_hypothesis *hypothesis,
                                const tl_limb_prior *prior, manner how, tl_limb *out) {
    const int most = hypothesis->grey ? 1 : TL_PLANE_MEASURABLE;
    tl_plane_kind order[TL_PLANE_MEASURABLE];
    double light[3];
    light_shares(image, hypothesis, TL_PLANE_LUMA, light);
    for (int c = 0; c < 3; c++)
        light[c] /= tl_limb_luma[c];
    order_planes(light, order);
    attempt *tried = calloc((size_t)most, sizeof *tried);
    tl_status status = tried ? TL_OK : TL_ERR_MEMORY;
    int count = 0;
    while (count < most && status == TL_OK && !(count == 2 && agree(&tried[0], &tried[1]))) {
        tried[count].how = how;
        status = try_kind(image, hypothesis, prior, order[count], most == 1, &tried[count]);
        count++;
    }
    double clipped_edge_worst = 0;
    const int best = status == TL_OK ? choose_plane(tried, count, &clipped_edge_worst) : 0;
    if (status == TL_OK && most > 1 && !tried[best].failed) {
        status = finish(&tried[best], hypothesis, prior);
        if (is_failure(status)) {
            give_up(&tried[best], hypothesis);
            status = TL_OK;
        }
    }
    for (int i = 0; i < count && tried; i++)
        if (i != best || status != TL_OK)
            tl_limb_free(&tried[i].limb);
    if (status == TL_OK) {
        tl_limb *limb = &tried[best].limb;
        snprintf(limb->channel, sizeof limb->channel, "%s", PLANE_NAME[order[best]]);
        tl_limb_judge_again(limb, clipped_edge_worst);
        *out = *limb;
    }
    free(tried);
    return status;
}

/* From the pixels held to those of the file. */
static void to_file(const tl_image *image, tl_limb *limb) {
    const double scale = tl_image_scale(image);
    for (int i = 0; i < TL_LIMB_PARAMS; i++) {
        const int axis = i % 3; /* x, y, r */
        if (axis == 2)
            limb->circle[i] *= scale;
        else if (limb->circle[i - axis + 2] > 0)
            limb->circle[i] =
                tl_image_to_file(image, axis == 0 ? image->left : image->top, limb->circle[i]);
        for (int j = 0; j < TL_LIMB_PARAMS; j++)
            limb->covariance[i][j] *= scale * scale;
    }
    limb->edge_shift_px *= scale;
    limb->reduced_px *= scale;
    limb->blur_px *= scale;
    limb->residual_px *= scale;
    for (size_t i = 0; i < limb->edge_count; i++) {
        tl_limb_edge *edge = &limb->edge[i];
        edge->x_px = tl_image_to_file(image, image->left, edge->x_px);
        edge->y_px = tl_image_to_file(image, image->top, edge->y_px);
        edge->residual_px *= scale;
    }
}

/* The pixels of a picture as if they were the file's. */
static bool as_held(const tl_image *image, tl_image *held) {
    if (!image || (!image->sample && !image->code) || image->width < 1 || image->height < 1)
        return false;
    *held = *image; /* shares the pixels */
    held->halvings = held->left = held->top = 0;
    return true;
}

/* A circle's place and size, by a change of pixels; none stays none. */
static void circle_to(double (*place)(const tl_image *, int, double), const tl_image *image,
                      double zoom, tl_circle *circle) {
    if (circle->r > 0)
        *circle = (tl_circle){place(image, image->left, circle->x),
                              place(image, image->top, circle->y), zoom * circle->r};
}

tl_status tl_limb_look(const tl_image *image, tl_sight *sight) {
    tl_image held;
    tl_sight s = {0};
    if (!as_held(image, &held))
        return TL_ERR_ARGUMENT;
    const tl_status status = tl_limb_hypothesis_find(&held, &s.found, &s.seen);
    if (status != TL_OK)
        return status;
    const double scale = tl_image_scale(image);
    circle_to(tl_image_to_file, image, scale, &s.seen.sun);
    circle_to(tl_image_to_file, image, scale, &s.seen.moon);
    s.seen.outline_px *= scale;
    *sight = s;
    return TL_OK;
}

tl_status tl_limb_measure(const tl_image *image, const tl_sight *sight, const tl_limb_prior *prior,
                          bool large, tl_limb *out) {
    const tl_limb_prior nothing = {0};
    tl_image held;
    tl_limb limb = {0};
    if (!as_held(image, &held))
        return TL_ERR_ARGUMENT;
    if (sight->found) {
        const manner how = {.large = large, .reduced = image->halvings > 0};
        const double scale = tl_image_scale(image);
        tl_hypothesis seen = sight->seen;
        circle_to(tl_image_from_file, image, 1 / scale, &seen.sun);
        circle_to(tl_image_from_file, image, 1 / scale, &seen.moon);
        seen.outline_px /= scale;
        const tl_status status = measure_planes(&held, &seen, prior ? prior : &nothing, how, &limb);
        if (status != TL_OK)
            return status;
        to_file(image, &limb);
    } else if (sight->seen.dark_centre) {
        tl_limb_refuse(&limb, TL_LIMB_UNUSABLE, "a dark disc in a ring of light: the total phase");
    } else {
        tl_limb_refuse(&limb, TL_LIMB_NO_SUN, "nothing in the picture looks like the Sun's disc");
    }
    *out = limb;
    return TL_OK;
}

tl_status tl_limb_find(const tl_image *image, const tl_limb_prior *prior, tl_limb *out) {
    tl_sight sight;
    const tl_status status = tl_limb_look(image, &sight);
    return status == TL_OK ? tl_limb_measure(image, &sight, prior, image->halvings > 0, out)
                           : status;
}

tl_status tl_limb_refit(tl_limb *limb, const tl_limb_prior *prior) {
    if (limb->status != TL_LIMB_MEASURED)
        return TL_OK;
    tl_status status = tl_limb_fit(limb, prior);
    if (status == TL_OK) /* the ratio may tell only now how far glare has moved the edges */
        tl_limb_judge_again(limb, limb->clipped_edge);
    return status == TL_ERR_MEMORY ? status : TL_OK; /* no better fit: the first one stands */
}
