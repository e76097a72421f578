/* The joint fit, part 2: how well the circles are known, from the scatter along the limbs. */
#include <math.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>

#include "limb/fit_internal.h"

enum { LAG_MAX = 80 };

/*
 * How many neighbouring edge points share one error (seeing, JPEG blocks, a limb that is not
 * quite a circle): 1 + 2 * sum of the autocorrelation of the residuals along the limb.
 */
static double correlation_length(const tl_fit_data *d, int limb) {
    double sum = 0, power = 0;
    size_t n = 0;
    for (size_t i = 0; i < d->count; i++) {
        if (d->edge[i].limb != limb || d->weight[i] <= 0)
            continue;
        power += d->residual[i] * d->residual[i];
        n++;
    }
    if (n < 8 || power <= 0)
        return 1;
    for (size_t lag = 1; lag < LAG_MAX && lag < n / 3; lag++) {
        double product = 0;
        for (size_t i = 0; i + lag < d->count; i++) {
            size_t j = i + lag;
            if (d->edge[i].limb != limb || d->edge[j].limb != limb)
                continue;
            if (d->weight[i] <= 0 || d->weight[j] <= 0)
                continue;
            product += d->residual[i] * d->residual[j];
        }
        double correlation = product / power;
        if (correlation < 0.05)
            break;
        sum += correlation;
    }
    return 1 + 2 * sum;
}

/*
 * By how much the variance of a limb's mean exceeds what independent points with the robust
 * scatter would give: neighbours share errors, and the points kept may scatter more widely than
 * their middle half.
 */
static double variance_factor(const tl_fit_data *d, int limb) {
    double sum = 0, weight = 0;
    for (size_t i = 0; i < d->count; i++) {
        if (d->edge[i].limb != limb || d->weight[i] <= 0)
            continue;
        double u = d->residual[i] / (d->scale[limb] * d->edge[i].sigma_relative);
        sum += u * u;
        weight += 1;
    }
    double tails = weight > 0 ? fmax(1, sum / weight) : 1;
    return tails * correlation_length(d, limb);
}

/* Covariance of the circles: inverse of the weighted normal matrix, neighbours' errors shared. */
tl_status tl_limb_fit_covariance(tl_fit_data *d, double circle[TL_LIMB_PARAMS],
                                 double covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS]) {
    size_t rows = tl_limb_fit_rows(d), n = d->params;
    gsl_matrix *jacobian = gsl_matrix_alloc(rows, n), *normal = gsl_matrix_alloc(n, n);
    tl_status status = TL_ERR_MEMORY;
    if (!jacobian || !normal)
        goto end;
    gsl_vector_view at = gsl_vector_view_array(circle, n);
    tl_limb_fit_jacobian(&at.vector, d, jacobian);
    double spread[2] = {variance_factor(d, TL_LIMB_SUN), variance_factor(d, TL_LIMB_MOON)};
    for (size_t i = 0; i < rows; i++) {
        double weight = d->weight[i];
        if (i < d->count)
            weight /= spread[d->edge[i].limb];
        gsl_vector_view row = gsl_matrix_row(jacobian, i);
        gsl_vector_scale(&row.vector, sqrt(weight));
    }
    gsl_blas_dsyrk(CblasLower, CblasTrans, 1, jacobian, 0, normal);
    status = TL_ERR_NO_FIT;
    if (gsl_linalg_cholesky_decomp1(normal) != GSL_SUCCESS)
        goto end;
    if (gsl_linalg_cholesky_invert(normal) != GSL_SUCCESS)
        goto end;
    memset(covariance, 0, sizeof(double[TL_LIMB_PARAMS][TL_LIMB_PARAMS]));
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            covariance[i][j] = gsl_matrix_get(normal, i, j);
    status = TL_OK;
end:
    gsl_matrix_free(jacobian);
    gsl_matrix_free(normal);
    return status;
}
