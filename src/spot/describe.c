/*
 * describe.c - the spots of a model as the result: places, sizes, names, and what happened to each
 * in each frame.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <gsl/gsl_sort.h>

#include "limb/limb_internal.h"
#include "spot/follow_internal.h"

/* Errors of a radius, relative: of a single mark; and common to a series, in sharp pictures and by
 * how much more with a blur as wide as the spot (measured on simulated spots, docs/accuracy.md). */
#define RADIUS_SCATTER 0.04
#define RADIUS_COMMON 0.015
#define RADIUS_BLURRED 0.16

/* A, B, ... Z, AA, AB, ... */
static void set_name(size_t number, char name[TL_SPOT_NAME_SIZE]) {
    if (number < 26)
        snprintf(name, TL_SPOT_NAME_SIZE, "%c", (char)('A' + number));
    else
        snprintf(name, TL_SPOT_NAME_SIZE, "%c%c", (char)('A' + (number / 26 - 1) % 26),
                 (char)('A' + number % 26));
}

static void describe_one(const tl_follow_spot *from, const tl_spot_options *options, tl_spot *to) {
    const tl_sky *sky = &options->epoch_sky;
    *to = (tl_spot){.in_pictures = true,
                    .seen_count = from->seen,
                    .epoch_utc_s = options->epoch_utc_s,
                    .latitude_rad = from->latitude_rad,
                    .carrington_rad = tl_angle_positive(from->carrington_rad),
                    .longitude_rad = tl_angle_signed(from->carrington_rad - sky->l0_rad),
                    .latitude_sigma_rad = sqrt(fmax(from->covariance[0][0], 0.0)),
                    .longitude_sigma_rad = sqrt(fmax(from->covariance[1][1], 0.0)),
                    .radius_sr = from->radius_sr};
    static const double STEP = 1e-4; /* rad; the disc is flat on this scale */
    double e, n, eb, nb, el, nl;
    if (tl_spot_project(sky, from->latitude_rad, from->carrington_rad, &e, &n)) {
        to->east_sr = e;
        to->north_sr = n;
        to->east_sigma_sr = to->north_sigma_sr = from->sigma_sr;
        if (tl_spot_project(sky, from->latitude_rad + STEP, from->carrington_rad, &eb, &nb) &&
            tl_spot_project(sky, from->latitude_rad, from->carrington_rad + STEP, &el, &nl)) {
            const double je[2] = {(eb - e) / STEP, (el - e) / STEP};
            const double jn[2] = {(nb - n) / STEP, (nl - n) / STEP};
            double ve = 0.0, vn = 0.0;
            for (size_t p = 0; p < 2; p++)
                for (size_t q = 0; q < 2; q++) {
                    ve += je[p] * je[q] * from->covariance[p][q];
                    vn += jn[p] * jn[q] * from->covariance[p][q];
                }
            to->east_sigma_sr = sqrt(fmax(ve, 0.0));
            to->north_sigma_sr = sqrt(fmax(vn, 0.0));
        }
    }
    const double seen = fmax((double)from->seen, 1.0);
    const double blurred = RADIUS_BLURRED * fmin(from->blur_sr / fmax(from->radius_sr, 1e-9), 1.0);
    to->radius_sigma_sr =
        from->radius_sr * hypot(RADIUS_SCATTER / sqrt(seen), hypot(RADIUS_COMMON, blurred));
    const double mu = tl_spot_foreshortening(sky, hypot(to->east_sr, to->north_sr));
    to->area_ppm = mu > 0.0 ? tl_spot_hemisphere_ppm(from->radius_sr, mu) : 0.0;
    to->area_sigma_ppm = 2.0 * to->area_ppm * to->radius_sigma_sr / fmax(from->radius_sr, 1e-9);
}

static double umbra_radius(const tl_views *views, const tl_model *model, size_t s,
                           double *scratch) {
    size_t n = 0;
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        const size_t *owner = model->taken + (view->mark - views->store);
        for (size_t j = 0; j < view->count; j++) {
            const tl_spot_mark *mark = &view->in->marks->mark[view->mark[j].mark];
            if (owner[j] == s && !mark->cut)
                scratch[n++] = sqrt(mark->umbra_px2 / TL_PI) / view->in->limb->circle[TL_SUN_R];
        }
    }
    return tl_limb_median(scratch, n);
}

static void see_spot(const tl_views *views, const tl_model *model, size_t s, size_t frame,
                     size_t number, tl_spot_sight *sight) {
    const tl_view *view = &views->view[frame];
    const tl_follow_spot *spot = &model->spot[s];
    *sight = (tl_spot_sight){.state = TL_SPOT_UNKNOWN};
    if (!model->has_up[frame] || !tl_model_place(model, view, frame, spot->latitude_rad,
                                                 spot->carrington_rad, &sight->x_sr, &sight->y_sr))
        return;
    sight->has_place = true;
    sight->state = tl_model_expect(view, spot, sight->x_sr, sight->y_sr);
    const size_t *owner = model->taken + (view->mark - views->store);
    for (size_t j = 0; j < view->count; j++) {
        if (owner[j] != s)
            continue;
        tl_spot_mark *mark = &view->in->marks->mark[view->mark[j].mark];
        mark->kind = TL_MARK_SPOT;
        mark->spot = number;
        if (sight->state != TL_SPOT_ON_LIMB)
            sight->state = view->mark[j].cut ? TL_SPOT_ON_LIMB : TL_SPOT_VISIBLE;
        return;
    }
    if (sight->state == TL_SPOT_VISIBLE)
        sight->state = TL_SPOT_MISSED;
}

/* The model's spots, those that cover most of the Sun first. */
static void order_by_area(const tl_model *model, const tl_spot_options *options,
                          size_t order[TL_FOLLOW_SPOTS_MAX]) {
    double minus_area[TL_FOLLOW_SPOTS_MAX] = {0.0};
    for (size_t s = 0; s < model->spots; s++) {
        tl_spot spot;
        describe_one(&model->spot[s], options, &spot);
        minus_area[s] = -spot.area_ppm;
    }
    gsl_sort_index(order, minus_area, 1, model->spots);
}

tl_status tl_describe(const tl_views *views, const tl_model *model, const tl_spot_options *options,
                      const bool could_be[TL_FOLLOW_SPOTS_MAX], tl_spots *spots) {
    const size_t n = model->spots;
    size_t order[TL_FOLLOW_SPOTS_MAX];
    spots->spot = calloc(n + 1, sizeof *spots->spot);
    spots->sight = calloc(n * views->count + 1, sizeof *spots->sight);
    double *scratch = malloc((views->marks + 1) * sizeof *scratch);
    if (spots->spot == NULL || spots->sight == NULL || scratch == NULL) {
        free(scratch);
        return TL_ERR_MEMORY;
    }
    order_by_area(model, options, order);
    for (size_t number = 0; number < n; number++) {
        const size_t s = order[number];
        tl_spot *spot = &spots->spot[number];
        describe_one(&model->spot[s], options, spot);
        set_name(number, spot->name);
        spot->umbra_radius_sr = umbra_radius(views, model, s, scratch);
        spot->could_be_dust = could_be[s];
        for (size_t i = 0; i < views->count; i++)
            see_spot(views, model, s, i, number, &spots->sight[number * views->count + i]);
    }
    free(scratch);
    spots->count = n;
    return TL_OK;
}
