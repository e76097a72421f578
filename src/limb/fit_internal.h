/*
 * The joint fit's parts; not installed, only for the fit_*.c files.
 */
#ifndef TWOLIMB_LIMB_FIT_INTERNAL_H
#define TWOLIMB_LIMB_FIT_INTERNAL_H

#include <gsl/gsl_matrix.h>

#include "limb/limb_internal.h"

/* Edge points ready for the fit, and room to work. */
typedef struct tl_fit_data {
    const tl_limb_edge *edge;
    double *x, *y;  /* edge points with the known shifts and the flattening taken out */
    double *weight; /* 1/variance per edge, 0 = left out; one more for the prior */
    double *residual, *scratch;
    double *angle;         /* of each edge point on its limb, -pi..pi, in order along the limb */
    double lunar_shift_px; /* mean size of the darkening shift taken out of the lunar edge */
    size_t count;
    size_t params;         /* 6, or 3 without a Moon */
    double k, prior_sigma; /* prior residual: (moon radius - k sun radius + const) / sigma */
    double prior_const;
    double scale[2]; /* robust scatter per limb, px */
} tl_fit_data;

/*
 * Geometric least squares with Tukey's biweight from `circle`, which is updated; weights,
 * residuals and scatter in `d` are those of the result. TL_ERR_NO_FIT, TL_ERR_MEMORY.
 */
tl_status tl_limb_fit_robust(tl_fit_data *d, double circle[TL_LIMB_PARAMS]);

/* Covariance of the result, px^2, from the scatter seen and how far neighbours share it. */
tl_status tl_limb_fit_covariance(tl_fit_data *d, double circle[TL_LIMB_PARAMS],
                                 double covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS]);

/* The jacobian of the residuals (GSL's callback), rows = tl_limb_fit_rows. */
int tl_limb_fit_jacobian(const gsl_vector *p, void *context, gsl_matrix *jacobian);
size_t tl_limb_fit_rows(const tl_fit_data *d);

#endif
