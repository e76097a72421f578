/* The joint fit, part 1: weighted geometric least squares of both circles, made robust. */
#include <math.h>
#include <string.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_statistics_double.h>

#include "limb/fit_internal.h"

enum { ROBUST_ROUNDS = 12 };
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
    w.length = sqrt(w.dx * w.dx + w.dy * w.dy) + 1e-9;
    w.r = p[w.at + 2];
    return w;
}

void tl_limb_fit_jacobian(const tl_fit_data *d, const double p[TL_FIT_PARAMS_MAX],
                          gsl_matrix *jacobian) {
    size_t row = d->count, q = d->circles;
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
}

/* Sum of the weighted squares at `p`; with `normal` and `pull` also J^T W J and -J^T W f. Of the
 * latter each limb has its circle's three parameters and the oval's two. */
static double weigh(const tl_fit_data *d, const double p[TL_FIT_PARAMS_MAX],
                    double normal[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX],
                    double pull[TL_FIT_PARAMS_MAX]) {
    enum { OWN = 3, TERMS = OWN + TL_FIT_OVAL };
    double m[2][TERMS][TERMS] = {{{0}}}, v[2][TERMS] = {{0}}, cost = 0;
    const size_t n = tl_limb_fit_params(d), q = d->circles;
    for (size_t i = 0; i < d->count; i++) {
        const double weight = d->weight[i];
        if (!(weight > 0))
            continue;
        const place w = place_of(d, i, p);
        const double rest = w.length - w.r;
        cost += weight * rest * rest;
        if (normal == NULL)
            continue;
        const double nx = w.dx / w.length, ny = w.dy / w.length;
        const double g[TERMS] = {-nx, -ny, -1, 0.5 * (nx * d->u[i] - ny * d->v[i]),
                                 0.5 * (nx * d->v[i] + ny * d->u[i])};
        const int limb = d->edge[i].limb;
        for (int j = 0; j < TERMS; j++) {
            for (int k = 0; k <= j; k++)
                m[limb][j][k] += weight * g[j] * g[k];
            v[limb][j] -= weight * g[j] * rest;
        }
    }
    size_t row = d->count;
    if (normal != NULL) {
        memset(normal, 0, n * sizeof normal[0]);
        memset(pull, 0, n * sizeof pull[0]);
        for (size_t limb = 0; limb < q / OWN; limb++) {
            for (size_t j = 0; j < TERMS; j++) {
                const size_t a = j < OWN ? OWN * limb + j : q + j - OWN;
                pull[a] += v[limb][j];
                for (size_t k = 0; k <= j; k++)
                    normal[a][k < OWN ? OWN * limb + k : q + k - OWN] += m[limb][j][k];
            }
        }
    }
    if (q == TL_FIT_BOTH) {
        const double weight = d->weight[row++], rest = p[TL_MOON_R] - d->k * p[TL_SUN_R];
        cost += weight * rest * rest;
        if (normal != NULL) {
            normal[TL_MOON_R][TL_MOON_R] += weight;
            normal[TL_MOON_R][TL_SUN_R] -= weight * d->k;
            normal[TL_SUN_R][TL_SUN_R] += weight * d->k * d->k;
            pull[TL_MOON_R] -= weight * rest;
            pull[TL_SUN_R] += weight * d->k * rest;
        }
    }
    for (size_t j = 0; j < TL_FIT_OVAL; j++) {
        const double weight = d->weight[row++], rest = p[q + j] - d->oval[j];
        cost += weight * rest * rest;
        if (normal != NULL) {
            normal[q + j][q + j] += weight;
            pull[q + j] -= weight * rest;
        }
    }
    return cost;
}

/* The step for a damping of the normal equations' diagonal (Levenberg & Marquardt). */
static bool solve_step(double normal[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX],
                       const double pull[TL_FIT_PARAMS_MAX], size_t n, double damping,
                       double step[TL_FIT_PARAMS_MAX]) {
    double room[TL_FIT_PARAMS_MAX * TL_FIT_PARAMS_MAX];
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            room[i * n + j] = (j <= i ? normal[i][j] : normal[j][i]) * (i == j ? 1 + damping : 1);
    gsl_matrix_view matrix = gsl_matrix_view_array(room, n, n);
    gsl_vector_const_view right = gsl_vector_const_view_array(pull, n);
    gsl_vector_view solution = gsl_vector_view_array(step, n);
    if (gsl_linalg_cholesky_decomp1(&matrix.matrix) != GSL_SUCCESS ||
        gsl_linalg_cholesky_solve(&matrix.matrix, &right.vector, &solution.vector) != GSL_SUCCESS)
        return false;
    for (size_t i = 0; i < n; i++)
        if (!isfinite(step[i]))
            return false;
    return true;
}

/* One weighted fit from `p`, which is updated: Gauss-Newton steps, damped where they lead uphill.
 */
static tl_status fit_once(const tl_fit_data *d, double p[TL_FIT_PARAMS_MAX]) {
    enum { STEPS_MAX = 30 };
    static const double DAMPING_FIRST = 1e-3, DAMPING_MOST = 1e6, SMALL_PX = 1e-5;
    double normal[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX], pull[TL_FIT_PARAMS_MAX];
    const size_t n = tl_limb_fit_params(d);
    double damping = 0, cost = weigh(d, p, normal, pull);
    for (int step = 0; step < STEPS_MAX; step++) {
        double by[TL_FIT_PARAMS_MAX], next[TL_FIT_PARAMS_MAX], moved = 0;
        const bool solved = solve_step(normal, pull, n, damping, by);
        for (size_t i = 0; solved && i < n; i++) {
            next[i] = p[i] + by[i];
            moved = fmax(moved, i < d->circles ? fabs(by[i]) : fabs(by[i]) * p[TL_SUN_R]);
        }
        const double after = solved ? weigh(d, next, NULL, NULL) : HUGE_VAL;
        if (!(after <= cost * (1 + 1e-12))) {
            if (moved < SMALL_PX && solved)
                break;
            damping = damping > 0 ? 10 * damping : DAMPING_FIRST;
            if (damping > DAMPING_MOST)
                return TL_ERR_NO_FIT;
            continue;
        }
        memcpy(p, next, n * sizeof *p);
        if (moved < SMALL_PX)
            break;
        damping = damping > DAMPING_FIRST ? 0.1 * damping : 0;
        cost = weigh(d, p, normal, pull);
    }
    return p[TL_SUN_R] > 0 ? TL_OK : TL_ERR_NO_FIT;
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
        double mad = n > 0 ? gsl_stats_median(scratch, 1, n) : 0;
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
tl_status tl_limb_fit_robust(tl_fit_data *d, double rest_px, double p[TL_FIT_PARAMS_MAX]) {
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
        if (moved < rest_px)
            break;
    }
    measure_scatter(d, p);
    set_weights(d);
    return TL_OK;
}
