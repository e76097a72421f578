/*
 * The joint fit's parts; not installed, only for the fit_*.c files.
 */
#ifndef TWOLIMB_LIMB_FIT_INTERNAL_H
#define TWOLIMB_LIMB_FIT_INTERNAL_H

#include <gsl/gsl_matrix.h>

#include "limb/limb_internal.h"

/*
 * What is fitted: the circles, and the map that makes the discs round,
 *     X = u + (q1 u + q2 v) / 2,   Y = v + (q2 u - q1 v) / 2,
 * with (u, v) the place in the picture from a point close to the Sun's centre. q = hypot(q1, q2)
 * is the relative difference of the axes, half the direction of (q1, q2) that of the shorter one.
 */
enum { TL_FIT_SUN_ONLY = 3, TL_FIT_BOTH = 6, TL_FIT_OVAL = 2, TL_FIT_PARAMS_MAX = 8 };

/* Edge points ready for the fit, and room to work. */
typedef struct tl_fit_data {
    const tl_limb_edge *edge;
    double *u, *v;    /* edge points, from the reference point, px */
    double *weight;   /* 1/variance per edge, 0 = left out; then the priors' */
    double *residual; /* distance outside the circle, px */
    double *scratch;
    size_t count;
    size_t circles;             /* TL_FIT_BOTH, or TL_FIT_SUN_ONLY */
    double k, prior_sigma;      /* prior residual: (moon radius - k sun radius) / sigma */
    double oval[2], oval_sigma; /* q1, q2 as known before */
    double scale[2];            /* robust scatter per limb, px */
    double model_error_px;      /* how far a limb may lie beside its edge, unseen */
} tl_fit_data;

/* Parameters and residuals: the edges', the ratio's if there is a Moon, two of the oval. */
size_t tl_limb_fit_params(const tl_fit_data *d);
size_t tl_limb_fit_rows(const tl_fit_data *d);

/*
 * Geometric least squares with Tukey's biweight from `p` (circles, then q1, q2), which is updated
 * until it moves by less than `rest_px`; weights, residuals and scatter in `d` are those of the
 * result. TL_ERR_NO_FIT.
 */
tl_status tl_limb_fit_robust(tl_fit_data *d, double rest_px, double p[TL_FIT_PARAMS_MAX]);

/* Covariance of the result, px^2, from the scatter seen and how far neighbours share it. */
tl_status tl_limb_fit_covariance(tl_fit_data *d, double p[TL_FIT_PARAMS_MAX],
                                 double covariance[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX]);

/* The jacobian of the residuals. */
void tl_limb_fit_jacobian(const tl_fit_data *d, const double p[TL_FIT_PARAMS_MAX],
                          gsl_matrix *jacobian);

#endif
