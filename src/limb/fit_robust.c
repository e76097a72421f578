/* The joint fit, part 1: weighted geometric least squares of both circles, made robust. */
#include <math.h>
#include <string.h>

#include <gsl/gsl_multifit_nlinear.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include "limb/fit_internal.h"

enum { ROBUST_ROUNDS = 12, STEPS_MAX = 60 };
/* Tukey's biweight keeps 95 % efficiency for Gaussian errors with this constant: P. J. Huber &
 * E. M. Ronchetti, Robust Statistics, 2nd ed. (2009), section 4.8. */
static const double TUKEY = 4.685;
static const double MAD_TO_SIGMA = 1.4826; /* for a Gaussian: 1 / Phi^-1(3/4) */
static const double SCALE_MIN_PX = 0.005;  /* JPEG and 8 bits leave no less */

static int fit_residual(const gsl_vector *p, void *context, gsl_vector *f) {
    const tl_fit_data *d = context;
    for (size_t i = 0; i < d->count; i++) {
        size_t at = d->edge[i].limb == TL_LIMB_MOON ? 3 : 0;
        double dx = d->x[i] - gsl_vector_get(p, at), dy = d->y[i] - gsl_vector_get(p, at + 1);
        gsl_vector_set(f, i, hypot(dx, dy) - gsl_vector_get(p, at + 2));
    }
    if (d->params == 6) {
        double off = gsl_vector_get(p, TL_MOON_R) - d->k * gsl_vector_get(p, TL_SUN_R);
        gsl_vector_set(f, d->count, off + d->prior_const);
    }
    return GSL_SUCCESS;
}

int tl_limb_fit_jacobian(const gsl_vector *p, void *context, gsl_matrix *jacobian) {
    const tl_fit_data *d = context;
    gsl_matrix_set_zero(jacobian);
    for (size_t i = 0; i < d->count; i++) {
        size_t at = d->edge[i].limb == TL_LIMB_MOON ? 3 : 0;
        double dx = d->x[i] - gsl_vector_get(p, at), dy = d->y[i] - gsl_vector_get(p, at + 1);
        double length = fmax(hypot(dx, dy), 1e-9);
        gsl_matrix_set(jacobian, i, at, -dx / length);
        gsl_matrix_set(jacobian, i, at + 1, -dy / length);
        gsl_matrix_set(jacobian, i, at + 2, -1);
    }
    if (d->params == 6) {
        gsl_matrix_set(jacobian, d->count, TL_MOON_R, 1);
        gsl_matrix_set(jacobian, d->count, TL_SUN_R, -d->k);
    }
    return GSL_SUCCESS;
}

size_t tl_limb_fit_rows(const tl_fit_data *d) {
    return d->count + (d->params == 6);
}

/* One weighted fit from `circle`, which is updated. */
static tl_status fit_once(tl_fit_data *d, double circle[TL_LIMB_PARAMS]) {
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_fdf fdf = {.f = fit_residual,
                                    .df = tl_limb_fit_jacobian,
                                    .n = tl_limb_fit_rows(d),
                                    .p = d->params,
                                    .params = d};
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, fdf.n, fdf.p);
    if (!work)
        return TL_ERR_MEMORY;
    gsl_vector_view start = gsl_vector_view_array(circle, d->params);
    gsl_vector_view weight = gsl_vector_view_array(d->weight, fdf.n);
    int info;
    tl_status status = TL_ERR_NO_FIT;
    if (gsl_multifit_nlinear_winit(&start.vector, &weight.vector, &fdf, work) == GSL_SUCCESS) {
        gsl_multifit_nlinear_driver(STEPS_MAX, 1e-9, 1e-9, 0, NULL, NULL, &info, work);
        const gsl_vector *found = gsl_multifit_nlinear_position(work);
        bool finite = true;
        for (size_t i = 0; i < d->params; i++)
            finite = finite && isfinite(gsl_vector_get(found, i));
        if (finite && gsl_vector_get(found, 2) > 0) {
            for (size_t i = 0; i < d->params; i++)
                circle[i] = gsl_vector_get(found, i);
            status = TL_OK;
        }
    }
    gsl_multifit_nlinear_free(work);
    return status;
}

/* Residuals at `circle`; the robust scatter of each limb, in units of the relative errors. */
static void measure_scatter(tl_fit_data *d, const double circle[TL_LIMB_PARAMS]) {
    double *scratch = d->scratch;
    for (size_t i = 0; i < d->count; i++) {
        size_t at = d->edge[i].limb == TL_LIMB_MOON ? 3 : 0;
        d->residual[i] = hypot(d->x[i] - circle[at], d->y[i] - circle[at + 1]) - circle[at + 2];
    }
    for (int limb = 0; limb < 2; limb++) {
        size_t n = 0;
        for (size_t i = 0; i < d->count; i++)
            if (d->edge[i].limb == limb)
                scratch[n++] = fabs(d->residual[i]) / d->edge[i].sigma_relative;
        gsl_sort(scratch, 1, n);
        double mad = n > 0 ? gsl_stats_median_from_sorted_data(scratch, 1, n) : 0;
        d->scale[limb] = fmax(MAD_TO_SIGMA * mad, SCALE_MIN_PX);
    }
}

static void set_weights(tl_fit_data *d) {
    for (size_t i = 0; i < d->count; i++) {
        double sigma = d->scale[d->edge[i].limb] * d->edge[i].sigma_relative;
        double u = d->residual[i] / (TUKEY * sigma), w = 1 - u * u;
        d->weight[i] = fabs(u) < 1 ? w * w / (sigma * sigma) : 0;
    }
    d->weight[d->count] = 1 / (d->prior_sigma * d->prior_sigma);
}

/* Iterate weights and fit until the circles rest. */
tl_status tl_limb_fit_robust(tl_fit_data *d, double circle[TL_LIMB_PARAMS]) {
    for (int round = 0; round < ROBUST_ROUNDS; round++) {
        double before[TL_LIMB_PARAMS], moved = 0;
        memcpy(before, circle, sizeof before);
        measure_scatter(d, circle);
        set_weights(d);
        tl_status status = fit_once(d, circle);
        if (status != TL_OK)
            return status;
        for (size_t i = 0; i < d->params; i++)
            moved = fmax(moved, fabs(circle[i] - before[i]));
        if (moved < 1e-4)
            break;
    }
    measure_scatter(d, circle);
    set_weights(d);
    return TL_OK;
}
