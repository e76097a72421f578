/*
 * One plane: looked at, measured roughly, measured, judged.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "limb/attempt.h"

/* Rough passes before the last; large Suns need but one. */
enum { ROUGH_PASSES = 2, ROUGH_PASSES_LARGE = 1 };

/* Three blurs away the other limb takes 0.1 % of the light; a thin crescent cannot do without
 * places that are closer. */
static double strip_cusp_px(const tl_limb *limb) {
    const double *c = limb->circle;
    double room = c[TL_MOON_R] > 0 ? tl_limb_crescent_px(c) / 3 : HUGE_VAL;
    return fmax(1.5 * limb->blur_px, fmin(3 * limb->blur_px, room)) + 0.5;
}

/* The limbs measured about the present circles: on a part of the pixels, or on all. */
static tl_status strip_pass(tl_attempt *a, bool rough) {
    tl_limb *limb = &a->limb;
    tl_circle sun, moon;
    double blur = fmax(limb->blur_px, TL_LIMB_BLUR_MIN_PX);
    a->model.flat = tl_limb_get_circles(limb, &sun, &moon);
    a->model.rough = rough;
    a->model.cusp_px = strip_cusp_px(limb);
    const tl_darkening darkening = {.light = {a->light[0], a->light[1], a->light[2]},
                                    .power = a->model.power};
    tl_limb_spread_make(&darkening, sun.r, blur, &a->model.spread);
    tl_status status = tl_limb_strip_measure(&a->plane, &sun, &moon, &a->model, &a->set);
    limb->darkening = a->model.power;
    if (status == TL_OK)
        tl_limb_take_edges(limb, &a->set);
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

/* Edges are looked for where they are, not where an almanac would have them. */
static tl_limb_prior shape_of(const tl_limb_prior *prior) {
    return (tl_limb_prior){
        .flattening = prior->flattening, .zenith_x = prior->zenith_x, .zenith_y = prior->zenith_y};
}

/* From a hypothesis to circles along the limbs of one plane, measured roughly. */
static tl_status approach(tl_attempt *a, const tl_hypothesis *hypothesis,
                          const tl_circle *first_moon, const tl_limb_prior *prior) {
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
    tl_limb_set_circles(&a->limb, &hypothesis->sun, first_moon);
    tl_status status = tl_limb_close_in(&a->limb, &a->plane, wide, &shape, &a->set);
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
static tl_status conclude(tl_attempt *a, const tl_hypothesis *hypothesis,
                          const tl_limb_prior *prior) {
    tl_status status = tl_limb_fit(&a->limb, prior);
    if (status != TL_OK)
        return status;
    memcpy(a->set.look_limb_px, a->look_px, sizeof a->look_px);
    tl_limb_judge(&a->limb, hypothesis, &a->set, &a->plane);
    return TL_OK;
}

/* The last measurement: on all pixels, unless a part of them will do. */
static tl_status finish(tl_attempt *a, const tl_hypothesis *hypothesis,
                        const tl_limb_prior *prior) {
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
static void give_up(tl_attempt *a, const tl_hypothesis *hypothesis) {
    const tl_circle no_moon = {0};
    tl_limb_free(&a->limb);
    a->limb = (tl_limb){0};
    a->failed = true;
    tl_limb_set_circles(&a->limb, &hypothesis->sun, &no_moon);
    tl_limb_refuse(
        &a->limb, TL_LIMB_UNUSABLE,
        shows_a_ring(hypothesis)
            ? "a dark disc in a ring of light, which is too thin or too blurred to measure"
            : "too little of the limb is sharp enough to measure");
}

/* One plane up to circles, and `only` one, or also to a rough verdict; a Moon that the first look
 * imagined is given up for a second try. */
tl_status tl_limb_attempt(tl_attempt *a, const tl_hypothesis *hypothesis,
                          const tl_limb_prior *prior, bool only) {
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

tl_status tl_limb_attempt_finish(tl_attempt *a, const tl_hypothesis *hypothesis,
                                 const tl_limb_prior *prior) {
    const tl_status status = finish(a, hypothesis, prior);
    if (!is_failure(status))
        return status;
    give_up(a, hypothesis);
    return TL_OK;
}
