/* The limb stage's entry points: find, in two halves, and fit again. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_statistics_double.h>

#include "limb/attempt.h"

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
        const tl_manner how = {.large = large, .reduced = image->halvings > 0};
        const double scale = tl_image_scale(image);
        tl_hypothesis seen = sight->seen;
        circle_to(tl_image_from_file, image, 1 / scale, &seen.sun);
        circle_to(tl_image_from_file, image, 1 / scale, &seen.moon);
        seen.outline_px /= scale;
        const tl_status status =
            tl_limb_measure_planes(&held, &seen, prior ? prior : &nothing, how, &limb);
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
