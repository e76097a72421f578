/* What the strips leave over teaches the model: blur, limb darkening, noise. */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_multifit.h>

#include "limb/strip_internal.h"

static const double NOISE_MIN = 2e-4;  /* rounding to 8 bits at the dark end, linear light */
static const double NOISE_SHARE = 0.2; /* least noise of the sky, over that of the disc: a model
                                          of the edge's foot is not to be trusted more closely */

static void stack_pixel(const tl_strip *s, const tl_strip_sector *at, const tl_strip_pixel *p,
                        tl_strip_profile *profile) {
    static const double OPEN = 0.999; /* the other limb does not reach it */
    double d = (double)p->outside - at->shift_px;
    int bin = (int)floor((d / s->model->spread.blur_px - TL_STRIP_FROM) / TL_STRIP_STEP);
    if (s->limb != TL_LIMB_SUN || bin < 0 || bin >= TL_STRIP_BINS || (double)p->disc < OPEN)
        return;
    double value = ((double)p->value - at->low) / at->step;
    profile->sum[bin] += value;
    profile->square[bin] += value * value;
    profile->place[bin] += d;
    profile->count[bin]++;
}

void tl_limb_strip_sum(const tl_strip *s, tl_strip_sums *sums) {
    static const double DARK = 0.03, BRIGHT_BLURS = 2;
    double b = s->model->spread.blur_px;
    for (int k = 0; k < s->sectors; k++) {
        const tl_strip_sector *at = &s->sector[k];
        for (size_t i = at->first; at->found && i < at->first + at->count; i++) {
            const tl_strip_pixel *p = &s->pixel[i];
            stack_pixel(s, at, p, &sums->profile);
            if (i >= at->first + at->window)
                continue;
            double by_shift, light = tl_limb_strip_light(s, p, at->shift_px, &by_shift);
            double rest = (double)p->value - at->low - at->step * light;
            double w = 1 / tl_limb_strip_noise(s, light);
            double g = at->step * tl_limb_strip_by_blur(s, p, at->shift_px);
            double inside = s->limb == TL_LIMB_SUN ? -(double)p->outside : (double)p->outside;
            sums->blur_up += w * g * rest;
            sums->blur_down += w * g * g;
            if (light < DARK) {
                sums->sky[sums->sky_count++] = fabs(rest);
            } else if (inside > BRIGHT_BLURS * b) {
                sums->disc[sums->disc_count++] = fabs(rest);
                sums->disc_light += light;
            }
        }
    }
}

/*
 * What the mean profile of the solar limb tells of the model: least squares of sky, step, place,
 * blur and darkening, one Gauss-Newton step. TL_ERR_NO_FIT: too little of it is seen;
 * TL_ERR_MEMORY.
 */
static tl_status fit_stack(const tl_edge_model *model, const tl_strip_profile *profile,
                           double *blur_up, double *power_up, double *misfit) {
    enum { TERMS = 5, BINS_MIN = 24, PER_BIN_MIN = 5 };
    static const double POWER_SIGMA = 0.15;  /* of a filter's colour and a camera's tone curve */
    static const double POWER_STEP = 0.05;   /* for the quotient of differences */
    static const double MODEL_ERROR = 0.002; /* of the disc's light: no profile is truer */
    const tl_spread *now = &model->spread;
    tl_darkening other = now->darkening;
    other.power += POWER_STEP;
    tl_spread *moved = malloc(sizeof *moved);
    gsl_matrix *a = gsl_matrix_calloc(TL_STRIP_BINS + 1, TERMS),
               *cov = gsl_matrix_alloc(TERMS, TERMS);
    gsl_vector *y = gsl_vector_calloc(TL_STRIP_BINS + 1), *w = gsl_vector_calloc(TL_STRIP_BINS + 1);
    gsl_vector *x = gsl_vector_alloc(TERMS);
    gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(TL_STRIP_BINS + 1, TERMS);
    tl_status status = TL_ERR_MEMORY;
    size_t bins = 0;
    double chi2 = 0;
    if (!moved || !a || !cov || !y || !w || !x || !work)
        goto end;
    tl_limb_spread_make(&other, now->radius_px, now->blur_px, moved);
    for (size_t i = 0; i < TL_STRIP_BINS; i++) {
        double n = profile->count[i];
        if (n < PER_BIN_MIN)
            continue;
        double value = profile->sum[i] / n, d = profile->place[i] / n;
        double variance = fmax(0, profile->square[i] / n - value * value) / n;
        tl_spread_at at = tl_limb_spread_at(now, d);
        double by_power = (tl_limb_spread_at(moved, d).value - at.value) / POWER_STEP;
        const double row[TERMS] = {1, at.value, -at.slope, now->blur_px * at.bend, by_power};
        for (size_t j = 0; j < TERMS; j++)
            gsl_matrix_set(a, i, j, row[j]);
        gsl_vector_set(y, i, value - at.value);
        gsl_vector_set(w, i, 1 / (variance + MODEL_ERROR * MODEL_ERROR));
        bins++;
    }
    gsl_matrix_set(a, TL_STRIP_BINS, TERMS - 1, 1);
    gsl_vector_set(y, TL_STRIP_BINS, 1 - now->darkening.power);
    gsl_vector_set(w, TL_STRIP_BINS, 1 / (POWER_SIGMA * POWER_SIGMA));
    status = TL_ERR_NO_FIT;
    if (bins < BINS_MIN || gsl_multifit_wlinear(a, w, y, x, cov, &chi2, work) != GSL_SUCCESS)
        goto end;
    *blur_up = gsl_vector_get(x, 3);
    *power_up = gsl_vector_get(x, 4);
    *misfit = MODEL_ERROR * sqrt(fmax(0, chi2 / (double)(bins - TERMS + 1) - 1));
    status = TL_OK;
end:
    free(moved);
    gsl_matrix_free(a);
    gsl_matrix_free(cov);
    gsl_vector_free(y);
    gsl_vector_free(w);
    gsl_vector_free(x);
    gsl_multifit_linear_free(work);
    return status;
}

tl_status tl_limb_strip_learn(tl_edge_model *model, const tl_strip_sums sums[2], tl_edge_set *set) {
    static const double MAD_TO_SIGMA = 1.4826;
    static const double POWER_MIN = 0.4, POWER_MAX = 2, BLUR_UP = 1, BLUR_DOWN = 0.4;
    double b = model->spread.blur_px, blur_up[2] = {0}, power_up = 0, weight = 0, sum = 0;
    for (int limb = 0; limb < 2; limb++)
        if (sums[limb].blur_down > 0)
            blur_up[limb] = sums[limb].blur_up / sums[limb].blur_down;
    const tl_status status = fit_stack(model, &sums[TL_LIMB_SUN].profile, &blur_up[TL_LIMB_SUN],
                                       &power_up, &set->misfit);
    if (status == TL_ERR_MEMORY)
        return status;
    if (status == TL_OK)
        model->power =
            fmax(POWER_MIN, fmin(POWER_MAX, model->power + tl_limb_strip_clamp(power_up, 0.3)));
    for (int limb = 0; limb < 2; limb++) {
        if (sums[limb].blur_down <= 0)
            continue;
        set->blur_limb_px[limb] =
            fmax(TL_LIMB_BLUR_MIN_PX, b + fmax(-BLUR_DOWN * b, fmin(BLUR_UP * b, blur_up[limb])));
        weight += sums[limb].blur_down;
        sum += sums[limb].blur_down * set->blur_limb_px[limb];
    }
    set->blur_px = weight > 0 ? sum / weight : b;
    double sky = MAD_TO_SIGMA * tl_limb_median(sums[0].sky, sums[0].sky_count);
    double disc = MAD_TO_SIGMA * tl_limb_median(sums[0].disc, sums[0].disc_count);
    double light = sums[0].disc_count > 0 ? sums[0].disc_light / (double)sums[0].disc_count : 0.5;
    disc = fmax(disc, NOISE_MIN);
    sky = fmax(fmax(sky, NOISE_MIN), NOISE_SHARE * disc);
    model->noise_sky = sky * sky;
    model->noise_light = fmax(0, disc * disc - sky * sky) / light;
    return TL_OK;
}
