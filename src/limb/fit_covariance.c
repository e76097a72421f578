/*
 * The joint fit, part 2: how well the circles are known, from the scatter along the limbs.
 *
 * Three kinds of error are told apart. Neighbouring edge points scatter about their local mean, and
 * may share errors (seeing, JPEG blocks). The local means may swing slowly along a limb (a lens
 * that distorts, cloud, mountains of the Moon): a smooth random deformation whose size is found
 * from what of it the circles could not swallow. And no model of an edge is perfect, which swings
 * alike but need not show. With R the response of the fit to a deformation of each stretch of limb,
 *     covariance = (J^T W J)^-1 + R K R^T.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>

#include "limb/fit_internal.h"

enum { LAG_MAX = 24, STRETCHES_MIN = 12, STRETCHES_MAX = 36, POINTS_PER_STRETCH = 8 };
/* Deformations are correlated over these angles, half of their variance each: a distorted lens
 * makes long ones, cloud and seeing shorter ones. Our own choice. */
static const double CORRELATED_RAD[2] = {20 * TL_DEG, 60 * TL_DEG};

/* One limb in stretches of equal angle. */
typedef struct stretch {
    double count, mean, angle;          /* used edge points, their mean residual, its place */
    double jacobian[TL_FIT_PARAMS_MAX]; /* mean */
    double response[TL_FIT_PARAMS_MAX]; /* of the parameters to 1 px outwards */
} stretch;

typedef struct stretches {
    stretch at[2][STRETCHES_MAX];
    int count[2];
    double
        variance[2]; /* of one edge point about its stretch, neighbours' shared errors included */
} stretches;

static int stretch_of(const tl_fit_data *d, const stretches *s, size_t i, const double *p) {
    int limb = d->edge[i].limb;
    size_t at = limb == TL_LIMB_MOON ? TL_MOON_X : TL_SUN_X;
    double angle = atan2(d->v[i] - p[at + 1], d->u[i] - p[at]) + TL_PI;
    int k = (int)(angle / (2 * TL_PI) * s->count[limb]);
    return k < s->count[limb] ? k : s->count[limb] - 1;
}

static void cut_stretches(const tl_fit_data *d, const double *p, const gsl_matrix *jacobian,
                          stretches *s) {
    size_t n = tl_limb_fit_params(d);
    double points[2] = {0};
    for (size_t i = 0; i < d->count; i++)
        points[d->edge[i].limb]++;
    for (int limb = 0; limb < 2; limb++) {
        double wanted = points[limb] / POINTS_PER_STRETCH;
        s->count[limb] = (int)fmin(fmax(wanted, STRETCHES_MIN), STRETCHES_MAX);
        for (int k = 0; k < s->count[limb]; k++)
            s->at[limb][k].angle = 2 * TL_PI * (k + 0.5) / s->count[limb];
    }
    for (size_t i = 0; i < d->count; i++) {
        if (d->weight[i] <= 0)
            continue;
        stretch *at = &s->at[d->edge[i].limb][stretch_of(d, s, i, p)];
        at->count++;
        at->mean += d->residual[i];
        for (size_t j = 0; j < n; j++)
            at->jacobian[j] += gsl_matrix_get(jacobian, i, j);
    }
    for (int limb = 0; limb < 2; limb++) {
        for (int k = 0; k < s->count[limb]; k++) {
            stretch *at = &s->at[limb][k];
            double share = at->count > 0 ? 1 / at->count : 0;
            at->mean *= share;
            for (size_t j = 0; j < n; j++)
                at->jacobian[j] *= share;
        }
    }
}

/*
 * Variance of one edge point about its stretch, in units of the weights', times 1 + 2 * sum of the
 * autocorrelation: how much less than independent points neighbours are worth together.
 */
static double point_variance(const tl_fit_data *d, const stretches *s, const double *p, int limb) {
    double power = 0, points = 0, freedom = 0, sum = 0;
    double *rest = d->scratch;
    for (size_t i = 0; i < d->count; i++) {
        rest[i] = 0;
        if (d->edge[i].limb != limb || d->weight[i] <= 0)
            continue;
        double scale = d->scale[limb] * d->edge[i].sigma_relative;
        rest[i] = (d->residual[i] - s->at[limb][stretch_of(d, s, i, p)].mean) / scale;
        power += rest[i] * rest[i];
        points++;
    }
    for (int k = 0; k < s->count[limb]; k++)
        freedom += fmax(0, s->at[limb][k].count - 1);
    if (freedom < 8 || power <= 0)
        return 1;
    for (size_t lag = 1; lag < LAG_MAX && (double)lag < points / 3; lag++) {
        double product = 0;
        for (size_t i = 0; i + lag < d->count; i++)
            product += rest[i] * rest[i + lag];
        double correlation = product / power;
        if (correlation < 0.05)
            break;
        sum += correlation;
    }
    return power / freedom * (1 + 2 * sum);
}

static double correlation(double angle) {
    angle = fabs(tl_angle_signed(angle));
    double sum = 0;
    for (int i = 0; i < 2; i++) {
        double u = angle / CORRELATED_RAD[i];
        sum += 0.5 * exp(-0.5 * u * u);
    }
    return sum;
}

/* Inverse of the normal matrix, each limb's weights lessened by its variance. */
static tl_status invert_normal(const tl_fit_data *d, const stretches *s, const gsl_matrix *jacobian,
                               gsl_matrix *normal) {
    size_t n = normal->size1;
    gsl_matrix_set_zero(normal);
    for (size_t i = 0; i < jacobian->size1; i++) {
        double weight = d->weight[i] / (i < d->count ? s->variance[d->edge[i].limb] : 1);
        gsl_vector_const_view row = gsl_matrix_const_row(jacobian, i);
        gsl_blas_dsyr(CblasLower, weight, &row.vector, normal);
    }
    if (gsl_linalg_cholesky_decomp1(normal) != GSL_SUCCESS ||
        gsl_linalg_cholesky_invert(normal) != GSL_SUCCESS)
        return TL_ERR_NO_FIT;
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            if (!isfinite(gsl_matrix_get(normal, i, j)))
                return TL_ERR_NO_FIT;
    return TL_OK;
}

/* What 1 px of deformation of each stretch does to the parameters. */
static void find_responses(const tl_fit_data *d, const double *p, const gsl_matrix *jacobian,
                           const gsl_matrix *inverse, stretches *s) {
    size_t n = inverse->size1;
    double pull[2][STRETCHES_MAX][TL_FIT_PARAMS_MAX] = {{{0}}};
    for (size_t i = 0; i < d->count; i++) {
        if (d->weight[i] <= 0)
            continue;
        int limb = d->edge[i].limb, k = stretch_of(d, s, i, p);
        for (size_t j = 0; j < n; j++)
            pull[limb][k][j] += d->weight[i] / s->variance[limb] * gsl_matrix_get(jacobian, i, j);
    }
    for (int limb = 0; limb < 2; limb++)
        for (int k = 0; k < s->count[limb]; k++)
            for (size_t i = 0; i < n; i++)
                for (size_t j = 0; j < n; j++)
                    s->at[limb][k].response[i] -= gsl_matrix_get(inverse, i, j) * pull[limb][k][j];
}

/* What is left of a deformation of stretch `from` in the residual of stretch `to`. */
static double left_over(const stretches *s, size_t n, int limb_to, int to, int limb_from,
                        int from) {
    double sum = limb_to == limb_from && to == from;
    for (size_t j = 0; j < n; j++)
        sum += s->at[limb_to][to].jacobian[j] * s->at[limb_from][from].response[j];
    return sum;
}

/* Matrices over the stretches of both limbs that carry edge points. */
typedef struct swing {
    size_t count;
    gsl_vector *mean;   /* residuals seen */
    gsl_matrix *shared; /* K: correlation of a deformation */
    gsl_matrix *left;   /* P: residuals left of a deformation */
    gsl_matrix *chance; /* V: variance of the means by chance */
    gsl_matrix *work[2];
} swing;

static void swing_free(swing *w) {
    gsl_vector_free(w->mean);
    gsl_matrix_free(w->shared);
    gsl_matrix_free(w->left);
    gsl_matrix_free(w->chance);
    gsl_matrix_free(w->work[0]);
    gsl_matrix_free(w->work[1]);
}

/* TL_ERR_TOO_FEW: of no stretch; TL_ERR_MEMORY. */
static tl_status swing_make(const tl_fit_data *d, const stretches *s, swing *w) {
    const stretch *at[2 * STRETCHES_MAX];
    int limb[2 * STRETCHES_MAX], place[2 * STRETCHES_MAX];
    size_t n = 0;
    for (int l = 0; l < 2; l++) {
        for (int k = 0; k < s->count[l]; k++) {
            if (s->at[l][k].count <= 0)
                continue;
            at[n] = &s->at[l][k];
            limb[n] = l;
            place[n++] = k;
        }
    }
    *w = (swing){.count = n};
    if (n == 0)
        return TL_ERR_TOO_FEW;
    w->mean = gsl_vector_alloc(n);
    w->shared = gsl_matrix_alloc(n, n);
    w->left = gsl_matrix_alloc(n, n);
    w->chance = gsl_matrix_calloc(n, n);
    w->work[0] = gsl_matrix_alloc(n, n);
    w->work[1] = gsl_matrix_alloc(n, n);
    if (!w->mean || !w->shared || !w->left || !w->chance || !w->work[0] || !w->work[1])
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < n; i++) {
        double one = s->variance[limb[i]] * d->scale[limb[i]] * d->scale[limb[i]];
        gsl_vector_set(w->mean, i, at[i]->mean);
        gsl_matrix_set(w->chance, i, i, one / at[i]->count);
        for (size_t j = 0; j < n; j++) {
            bool same = limb[i] == limb[j];
            gsl_matrix_set(w->shared, i, j, same ? correlation(at[i]->angle - at[j]->angle) : 0);
            gsl_matrix_set(
                w->left, i, j,
                left_over(s, tl_limb_fit_params(d), limb[i], place[i], limb[j], place[j]));
        }
    }
    return TL_OK;
}

/* Trace of K P X P^T, and, if wanted, of its square. */
static double smooth_part(const swing *w, const gsl_matrix *x, double *square) {
    double trace = 0;
    gsl_blas_dgemm(CblasNoTrans, CblasNoTrans, 1, w->left, x, 0, w->work[0]);
    gsl_blas_dgemm(CblasNoTrans, CblasTrans, 1, w->work[0], w->left, 0, w->work[1]);
    gsl_blas_dgemm(CblasNoTrans, CblasNoTrans, 1, w->shared, w->work[1], 0, w->work[0]);
    for (size_t i = 0; i < w->count; i++) {
        trace += gsl_matrix_get(w->work[0], i, i);
        for (size_t j = 0; square && j < w->count; j++)
            *square += gsl_matrix_get(w->work[0], i, j) * gsl_matrix_get(w->work[0], j, i);
    }
    return trace;
}

/*
 * Variance of the smooth deformation: the smooth part m^T K m of the mean residuals, less what
 * chance puts there, over what a deformation of variance 1 would (method of moments). What chance
 * may well have put there counts as none: on short arcs it would be blown up.
 */
static tl_status deformation_variance(const tl_fit_data *d, const stretches *s, double *variance) {
    swing w;
    *variance = 0;
    const tl_status status = swing_make(d, s, &w);
    if (status == TL_OK) {
        double seen = 0;
        for (size_t i = 0; i < w.count; i++)
            for (size_t j = 0; j < w.count; j++)
                seen += gsl_vector_get(w.mean, i) * gsl_matrix_get(w.shared, i, j) *
                        gsl_vector_get(w.mean, j);
        static const double SIGNIFICANT = 2.5; /* sigma, of a distribution with a tail */
        double square = 0, chance = smooth_part(&w, w.chance, &square);
        double expected = smooth_part(&w, w.shared, NULL);
        if (expected > 0 && seen - chance > SIGNIFICANT * sqrt(2 * square))
            *variance = (seen - chance) / expected;
    }
    swing_free(&w);
    return status == TL_ERR_MEMORY ? status : TL_OK;
}

static void add_deformation(const stretches *s, double variance, size_t n,
                            double covariance[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX]) {
    for (int limb = 0; limb < 2; limb++) {
        for (int a = 0; a < s->count[limb]; a++) {
            for (int b = 0; b < s->count[limb]; b++) {
                const stretch *x = &s->at[limb][a], *y = &s->at[limb][b];
                double shared = variance * correlation(x->angle - y->angle);
                for (size_t i = 0; i < n; i++)
                    for (size_t j = 0; j < n; j++)
                        covariance[i][j] += shared * x->response[i] * y->response[j];
            }
        }
    }
}

tl_status tl_limb_fit_covariance(tl_fit_data *d, double p[TL_FIT_PARAMS_MAX],
                                 double covariance[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX]) {
    size_t rows = tl_limb_fit_rows(d), n = tl_limb_fit_params(d);
    gsl_matrix *jacobian = gsl_matrix_alloc(rows, n), *inverse = gsl_matrix_alloc(n, n);
    stretches *s = calloc(1, sizeof *s);
    tl_status status = TL_ERR_MEMORY;
    if (!jacobian || !inverse || !s)
        goto end;
    tl_limb_fit_jacobian(d, p, jacobian);
    cut_stretches(d, p, jacobian, s);
    for (int limb = 0; limb < 2; limb++)
        s->variance[limb] = point_variance(d, s, p, limb);
    status = invert_normal(d, s, jacobian, inverse);
    if (status != TL_OK)
        goto end;
    find_responses(d, p, jacobian, inverse, s);
    double variance;
    status = deformation_variance(d, s, &variance);
    if (status != TL_OK)
        goto end;
    memset(covariance, 0, sizeof(double[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX]));
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            covariance[i][j] = gsl_matrix_get(inverse, i, j);
    double model = d->model_error_px * d->model_error_px;
    add_deformation(s, variance + model, n, covariance);
end:
    gsl_matrix_free(jacobian);
    gsl_matrix_free(inverse);
    free(s);
    return status;
}
