/*
 * least_squares.c - Levenberg-Marquardt by GSL, with the memory looked after.
 */
#include <math.h>

#include "track/track_internal.h"

enum { ITERATIONS_MAX = 60 };
/* Relative step and gradient at which the fit has settled: far below any sigma here. */
static const double SETTLED = 1e-10;

static tl_status take_result(gsl_multifit_nlinear_workspace *work, size_t p, double *parameter,
                             double *covariance) {
    gsl_matrix_view c = gsl_matrix_view_array(covariance, p, p);
    if (gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(work), 0.0, &c.matrix) != GSL_SUCCESS) {
        return TL_ERR_NO_FIT;
    }
    for (size_t i = 0; i < p; i++) {
        parameter[i] = gsl_vector_get(gsl_multifit_nlinear_position(work), i);
        if (!isfinite(parameter[i]) || !(covariance[i * p + i] > 0.0)) {
            return TL_ERR_NO_FIT;
        }
    }
    return TL_OK;
}

tl_status tl_track_least_squares(gsl_multifit_nlinear_fdf *fdf, double *parameter,
                                 double *covariance) {
    if (fdf->n < fdf->p) {
        return TL_ERR_TOO_FEW;
    }
    gsl_multifit_nlinear_parameters settings = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &settings, fdf->n, fdf->p);
    if (work == NULL) {
        return TL_ERR_MEMORY;
    }
    tl_status status = TL_ERR_NO_FIT;
    gsl_vector_view start = gsl_vector_view_array(parameter, fdf->p);
    if (gsl_multifit_nlinear_init(&start.vector, fdf, work) == GSL_SUCCESS) {
        /* "No progress" is what GSL says when it starts at the minimum: not a failure. */
        int info = 0;
        gsl_multifit_nlinear_driver(ITERATIONS_MAX, SETTLED, SETTLED, 0.0, NULL, NULL, &info, work);
        status = take_result(work, fdf->p, parameter, covariance);
    }
    gsl_multifit_nlinear_free(work);
    return status;
}
