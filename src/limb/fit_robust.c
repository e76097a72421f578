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
static const double SCALE_MIN_PX = 0.002;  /* 8 bits leave no less */

size_t tl_limb_fit_params(const tl_fit_data *d) {
    return d->circles + TL_FIT_OVAL;
}

size_t tl_limb_fit_rows(const tl_fit_data *d) {
    return d->count + (d->circles == TL_FIT_BOTH) + TL_FIT_OVAL;
}

/* One edge point from the centre of its circle in the round picture. */
typedef struct place {
    double dx, dy, length, r;
    size_t at; /* its circle's first parameter */
} place;

static place place_of(const tl_fit_data *d, size_t i, const double *p) {
    const double *q = p + d->circles;
    double u = d->u[i], v = d->v[i];
    place w = {.at = d->edge[i].limb == TL_LIMB_MOON ? TL_MOON_X : TL_SUN_X};
    w.dx = u + 0.5 * (q[0] * u + q[1] * v) - p[w.at];
    w.dy = v + 0.5 * (q[1] * u - q[0] * v) - p[w.at + 1];
    w.length = fmax(hypot(w.dx, w.dy), 1e-9);
    w.r = p[w.at + 2];
    return w;
}

static int fit_residual(const gsl_vector *params, void *context, gsl_vector *f) {
    const tl_fit_data *d = context;
    double p[TL_FIT_PARAMS_MAX];
    size_t row = d->count;
    for (size_t i = 0; i < tl_limb_fit_params(d); i++)
        p[i] = gsl_vector_get(params, i);
    for (size_t i = 0; i < d->count; i++) {
        place w = place_of(d, i, p);
        gsl_vector_set(f, i, w.length - w.r);
    }
    if (d->circles == TL_FIT_BOTH)
        gsl_vector_set(f, row++, p[TL_MOON_R] - d->k * p[TL_SUN_R]);
    for (size_t j = 0; j < TL_FIT_OVAL; j++)
        gsl_vector_set(f, row++, p[d->circles + j] - d->oval[j]);
    return GSL_SUCCESS;
}

int tl_limb_fit_jacobian(const gsl_vector *params, void *context, gsl_matrix *jacobian) {
    const tl_fit_data *d = context;
    double p[TL_FIT_PARAMS_MAX];
    size_t row = d->count, q = d->circles;
    for (size_t i = 0; i < tl_limb_fit_params(d); i++)
        p[i] = gsl_vector_get(params, i);
    gsl_matrix_set_zero(jacobian);
    for (size_t i = 0; i < d->count; i++) {
        place w = place_of(d, i, p);
        double nx = w.dx / w.length, ny = w.dy / w.length;
        gsl_matrix_set(jacobian, i, w.at, -nx);
        gsl_matrix_set(jacobian, i, w.at + 1, -ny);
        gsl_matrix_set(jacobian, i, w.at + 2, -1);
        gsl_matrix_set(jacobian, i, q, 0.5 * (nx * d->u[i] - ny * d->v[i]));
        gsl_matrix_set(jacobian, i, q + 1, 0.5 * (nx * d->v[i] + ny * d->u[i]));
    }
    if (d->circles == TL_FIT_BOTH) {
        gsl_matrix_set(jacobian, row, TL_MOON_R, 1);
        gsl_matrix_set(jacobian, row++, TL_SUN_R, -d->k);
    }
    for (size_t j = 0; j < TL_FIT_OVAL; j++)
        gsl_matrix_set(jacobian, row++, q + j, 1);
    return GSL_SUCCESS;
}

/* One weighted fit from `circle`, which is updated. */
static tl_status fit_once(tl_fit_data *d, double p[TL_FIT_PARAMS_MAX]) {
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_fdf fdf = {.f = fit_residual,
                                    .df = tl_limb_fit_jacobian,
                                    .n = tl_limb_fit_rows(d),
                                    .p = tl_limb_fit_params(d),
                                    .params = d};
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, fdf.n, fdf.p);
    if (!work)
        return TL_ERR_MEMORY;
    gsl_vector_view start = gsl_vector_view_array(p, fdf.p);
    gsl_vector_view weight = gsl_vector_view_array(d->weight, fdf.n);
    int info;
    tl_status status = TL_ERR_NO_FIT;
    if (gsl_multifit_nlinear_winit(&start.vector, &weight.vector, &fdf, work) == GSL_SUCCESS) {
        gsl_multifit_nlinear_driver(STEPS_MAX, 1e-9, 1e-9, 0, NULL, NULL, &info, work);
        const gsl_vector *found = gsl_multifit_nlinear_position(work);
        bool finite = true;
        for (size_t i = 0; i < fdf.p; i++)
            finite = finite && isfinite(gsl_vector_get(found, i));
        if (finite && gsl_vector_get(found, 2) > 0) {
            for (size_t i = 0; i < fdf.p; i++)
                p[i] = gsl_vector_get(found, i);
            status = TL_OK;
        }
    }
    gsl_multifit_nlinear_free(work);
    return status;
}

/* Residuals at `p`; the robust scatter of each limb, in units of the relative errors. */
static void measure_scatter(tl_fit_data *d, const double p[TL_FIT_PARAMS_MAX]) {
    double *scratch = d->scratch;
    for (size_t i = 0; i < d->count; i++) {
        place w = place_of(d, i, p);
        d->residual[i] = w.length - w.r;
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
    size_t row = d->count;
    for (size_t i = 0; i < d->count; i++) {
        double sigma = d->scale[d->edge[i].limb] * d->edge[i].sigma_relative;
        double u = d->residual[i] / (TUKEY * sigma), w = 1 - u * u;
        d->weight[i] = fabs(u) < 1 ? w * w / (sigma * sigma) : 0;
    }
    if (d->circles == TL_FIT_BOTH)
        d->weight[row++] = 1 / (d->prior_sigma * d->prior_sigma);
    for (size_t j = 0; j < TL_FIT_OVAL; j++)
        d->weight[row++] = 1 / (d->oval_sigma * d->oval_sigma);
}

/* Iterate weights and fit until the circles rest. */
tl_status tl_limb_fit_robust(tl_fit_data *d, double p[TL_FIT_PARAMS_MAX]) {
    for (int round = 0; round < ROBUST_ROUNDS; round++) {
        double before[TL_FIT_PARAMS_MAX], moved = 0;
        memcpy(before, p, sizeof before);
        measure_scatter(d, p);
        set_weights(d);
        tl_status status = fit_once(d, p);
        if (status != TL_OK)
            return status;
        for (size_t i = 0; i < d->circles; i++)
            moved = fmax(moved, fabs(p[i] - before[i]));
        if (moved < 1e-4)
            break;
    }
    measure_scatter(d, p);
    set_weights(d);
    return TL_OK;
}
