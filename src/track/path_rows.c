/*
 * path_rows.c - residuals of the free path, and what is known of any eclipse beforehand.
 */
#include <math.h>

#include "track/path_internal.h"

/*
 * The population of eclipses: mean and standard deviation of the parameters over 1,200 random
 * places and eclipses, 1950 to 2100, with the Sun up at maximum; fits of degree six to the
 * ephemeris from first to last contact. The bend is never beyond 0.253. c4 and c6 go with the speed
 * and c5 with the bend (all come from the turning Earth): see the functions below. c5 and c6 by the
 * 1,018 with c0 below 2.5: of grazing eclipses they say nothing.
 */
static const double PRIOR_C0 = 1.13, PRIOR_C0_SIGMA = 1.07;
static const double PRIOR_V = 1.62, PRIOR_V_SIGMA = 0.337;
static const double PRIOR_BEND_SIGMA = 0.136;
static const double PRIOR_C4[3] = {-0.0073, 0.0439, -0.0179}, PRIOR_C4_SIGMA = 0.0063;
static const double PRIOR_C5[2] = {0.0117, -0.0110}, PRIOR_C5_SIGMA = 0.00029;
static const double PRIOR_C6[3] = {0.00037, -0.00049, 0.00012}, PRIOR_C6_SIGMA = 0.00011;

enum { PRIOR_ROWS = 7 };
/* Hardly a prior: keeps the fit upright for a camera whose frames do not tell its shift. */
static const double PRIOR_SHIFT_SIGMA_H = 0.2;
/* A power counts as decided by the data when they halve the prior's error. */
static const double DECIDED = 0.5;

static size_t row_total(const tl_track_path_rows *r) {
    return r->count + PRIOR_ROWS + r->shifts;
}

double tl_track_path_tau(const tl_track_path_rows *r, size_t i, const double *p) {
    return r->t_h[i] - p[TL_PATH_T0] - (r->shift[i] > 0 ? p[r->shift[i]] : 0.0);
}

static void read_parameters(const tl_track_path_rows *r, const gsl_vector *x, double *p) {
    for (size_t k = 0; k < TL_PATH_FIRST_SHIFT + r->shifts; k++) {
        p[k] = gsl_vector_get(x, k);
    }
}

/* What the small terms are in an eclipse of this speed and bend. */
static double c4_of(const double *p) {
    return PRIOR_C4[0] + p[TL_PATH_V] * (PRIOR_C4[1] + p[TL_PATH_V] * PRIOR_C4[2]);
}

static double c5_of(const double *p) {
    return (PRIOR_C5[0] + PRIOR_C5[1] * p[TL_PATH_V]) * p[TL_PATH_BEND];
}

static double c6_of(const double *p) {
    return PRIOR_C6[0] + p[TL_PATH_V] * (PRIOR_C6[1] + p[TL_PATH_V] * PRIOR_C6[2]);
}

static int residuals(const gsl_vector *x, void *context, gsl_vector *f) {
    const tl_track_path_rows *r = context;
    double p[TL_PATH_PARAMS_MAX] = {0.0};
    read_parameters(r, x, p);
    for (size_t i = 0; i < r->count; i++) {
        double fitted = tl_track_path_value(p, tl_track_path_tau(r, i, p));
        double off = fitted + p[TL_PATH_COMMON] * r->common[i] - r->s[i] * r->s[i];
        gsl_vector_set(f, i, off * r->weight[i]);
    }
    gsl_vector_set(f, r->count, (p[TL_PATH_C0] - PRIOR_C0) / PRIOR_C0_SIGMA);
    gsl_vector_set(f, r->count + 1, (p[TL_PATH_V] - PRIOR_V) / PRIOR_V_SIGMA);
    gsl_vector_set(f, r->count + 2, p[TL_PATH_BEND] / PRIOR_BEND_SIGMA);
    gsl_vector_set(f, r->count + 3, (p[TL_PATH_C4] - c4_of(p)) / PRIOR_C4_SIGMA);
    gsl_vector_set(f, r->count + 4, (p[TL_PATH_C5] - c5_of(p)) / PRIOR_C5_SIGMA);
    gsl_vector_set(f, r->count + 5, (p[TL_PATH_C6] - c6_of(p)) / PRIOR_C6_SIGMA);
    gsl_vector_set(f, r->count + 6, p[TL_PATH_COMMON]);
    for (size_t k = 0; k < r->shifts; k++) {
        gsl_vector_set(f, r->count + PRIOR_ROWS + k,
                       p[TL_PATH_FIRST_SHIFT + k] / PRIOR_SHIFT_SIGMA_H);
    }
    return GSL_SUCCESS;
}

static int jacobian(const gsl_vector *x, void *context, gsl_matrix *jac) {
    const tl_track_path_rows *r = context;
    double p[TL_PATH_PARAMS_MAX] = {0.0}, gradient[TL_PATH_PARAMS] = {0.0};
    read_parameters(r, x, p);
    gsl_matrix_set_zero(jac);
    for (size_t i = 0; i < r->count; i++) {
        tl_track_path_gradient(p, tl_track_path_tau(r, i, p), gradient);
        for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
            gsl_matrix_set(jac, i, k, gradient[k] * r->weight[i]);
        }
        gsl_matrix_set(jac, i, TL_PATH_COMMON, r->common[i] * r->weight[i]);
        if (r->shift[i] > 0) {
            gsl_matrix_set(jac, i, r->shift[i], gradient[TL_PATH_T0] * r->weight[i]);
        }
    }
    gsl_matrix_set(jac, r->count, TL_PATH_C0, 1.0 / PRIOR_C0_SIGMA);
    gsl_matrix_set(jac, r->count + 1, TL_PATH_V, 1.0 / PRIOR_V_SIGMA);
    gsl_matrix_set(jac, r->count + 2, TL_PATH_BEND, 1.0 / PRIOR_BEND_SIGMA);
    double v = p[TL_PATH_V];
    gsl_matrix_set(jac, r->count + 3, TL_PATH_V,
                   -(PRIOR_C4[1] + 2.0 * PRIOR_C4[2] * v) / PRIOR_C4_SIGMA);
    gsl_matrix_set(jac, r->count + 3, TL_PATH_C4, 1.0 / PRIOR_C4_SIGMA);
    gsl_matrix_set(jac, r->count + 4, TL_PATH_V, -PRIOR_C5[1] * p[TL_PATH_BEND] / PRIOR_C5_SIGMA);
    gsl_matrix_set(jac, r->count + 4, TL_PATH_BEND,
                   -(PRIOR_C5[0] + PRIOR_C5[1] * v) / PRIOR_C5_SIGMA);
    gsl_matrix_set(jac, r->count + 4, TL_PATH_C5, 1.0 / PRIOR_C5_SIGMA);
    gsl_matrix_set(jac, r->count + 5, TL_PATH_V,
                   -(PRIOR_C6[1] + 2.0 * PRIOR_C6[2] * v) / PRIOR_C6_SIGMA);
    gsl_matrix_set(jac, r->count + 5, TL_PATH_C6, 1.0 / PRIOR_C6_SIGMA);
    gsl_matrix_set(jac, r->count + 6, TL_PATH_COMMON, 1.0);
    for (size_t k = 0; k < r->shifts; k++) {
        gsl_matrix_set(jac, r->count + PRIOR_ROWS + k, TL_PATH_FIRST_SHIFT + k,
                       1.0 / PRIOR_SHIFT_SIGMA_H);
    }
    return GSL_SUCCESS;
}

gsl_multifit_nlinear_fdf tl_track_path_problem(tl_track_path_rows *rows) {
    return (gsl_multifit_nlinear_fdf){.f = residuals,
                                      .df = jacobian,
                                      .n = row_total(rows),
                                      .p = TL_PATH_FIRST_SHIFT + rows->shifts,
                                      .params = rows};
}

void tl_track_path_usual(double p[TL_PATH_PARAMS]) {
    p[TL_PATH_V] = p[TL_PATH_V] > 0.0 ? p[TL_PATH_V] : PRIOR_V;
    p[TL_PATH_C4] = c4_of(p);
    p[TL_PATH_C6] = c6_of(p);
}

int tl_track_path_decided(const double covariance[TL_PATH_PARAMS][TL_PATH_PARAMS]) {
    bool bend = sqrt(covariance[TL_PATH_BEND][TL_PATH_BEND]) < DECIDED * PRIOR_BEND_SIGMA;
    bool fourth = sqrt(covariance[TL_PATH_C4][TL_PATH_C4]) < DECIDED * PRIOR_C4_SIGMA;
    return !bend ? 2 : !fourth ? 3 : 4;
}
