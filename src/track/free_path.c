/*
 * free_path.c - the free solution: the Moon's path from the lengths alone.
 *
 * Weighted least squares of s^2 for the five parameters of path_model.c. Nothing of this
 * eclipse's ephemeris enters, only what holds for every eclipse seen from any place: the prior
 * below. A good series over the whole eclipse hardly feels it; a short one gets from it the honest
 * error of carrying a path on beyond its frames, and no degree of a polynomial has to be chosen.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

/*
 * The population of eclipses: mean and standard deviation of the parameters over 1,200 random
 * places and eclipses, 1950 to 2100, with the Sun up at maximum; fits of degree six to the
 * ephemeris from first to last contact. The bend is never beyond 0.241. c4 goes with the speed
 * (both come from the turning Earth): its mean is C4_0 + C4_1 v + C4_2 v^2.
 */
static const double PRIOR_C0 = 1.25, PRIOR_C0_SIGMA = 1.21;
static const double PRIOR_V = 1.62, PRIOR_V_SIGMA = 0.333;
static const double PRIOR_BEND_SIGMA = 0.133;
static const double PRIOR_C4_0 = -0.0052, PRIOR_C4_1 = 0.0420, PRIOR_C4_2 = -0.0176;
static const double PRIOR_C4_SIGMA = 0.0063;

/* The weights hang on the path and the path on the weights: rounds until neither moves. */
enum { PRIOR_ROWS = 4, ROUNDS_MIN = 4, ROUNDS_MAX = 12 };
static const double LEVEL_SETTLED = 1e-3;
/* Outliers can be told from a path with its three well-determined parameters only with some
 * frames to spare. */
enum { FRAMES_TO_JUDGE = 6 };
enum { DIFFERENT_TIMES_MIN = 3 };
/* Times closer than this are one moment: the Moon moves 0.0004 solar radii in it. */
static const double SAME_TIME_S = 1.0;
/* A maximum known no better than this is not known; the fit is then refused. */
static const double ORIGIN_SIGMA_MAX_H = 0.75;
/* Where s^2 would be negative by more than so many sigma the path is not a path. */
static const double NEGATIVE_SIGMAS = 4.0;
/* A power counts as decided by the data when they halve the prior's error. */
static const double DECIDED = 0.5;

/* What the callbacks of the fit see; rows belong to the frames kept. */
typedef struct rows {
    size_t count; /* rows of data */
    size_t *obs;  /* which obs */
    double *t_h, *s, *weight;
} rows;

static int residuals(const gsl_vector *x, void *context, gsl_vector *f) {
    const rows *r = context;
    double p[TL_PATH_PARAMS];
    for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
        p[k] = gsl_vector_get(x, k);
    }
    for (size_t i = 0; i < r->count; i++) {
        double fitted = tl_track_path_value(p, r->t_h[i] - p[TL_PATH_T0]);
        gsl_vector_set(f, i, (fitted - r->s[i] * r->s[i]) * r->weight[i]);
    }
    double v = p[TL_PATH_V];
    double c4 = PRIOR_C4_0 + v * (PRIOR_C4_1 + v * PRIOR_C4_2);
    gsl_vector_set(f, r->count, (p[TL_PATH_C0] - PRIOR_C0) / PRIOR_C0_SIGMA);
    gsl_vector_set(f, r->count + 1, (v - PRIOR_V) / PRIOR_V_SIGMA);
    gsl_vector_set(f, r->count + 2, p[TL_PATH_BEND] / PRIOR_BEND_SIGMA);
    gsl_vector_set(f, r->count + 3, (p[TL_PATH_C4] - c4) / PRIOR_C4_SIGMA);
    return GSL_SUCCESS;
}

static int jacobian(const gsl_vector *x, void *context, gsl_matrix *jac) {
    const rows *r = context;
    double p[TL_PATH_PARAMS], gradient[TL_PATH_PARAMS];
    for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
        p[k] = gsl_vector_get(x, k);
    }
    for (size_t i = 0; i < r->count; i++) {
        tl_track_path_gradient(p, r->t_h[i] - p[TL_PATH_T0], gradient);
        for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
            gsl_matrix_set(jac, i, k, gradient[k] * r->weight[i]);
        }
    }
    for (size_t i = r->count; i < r->count + PRIOR_ROWS; i++) {
        for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
            gsl_matrix_set(jac, i, k, 0.0);
        }
    }
    gsl_matrix_set(jac, r->count, TL_PATH_C0, 1.0 / PRIOR_C0_SIGMA);
    gsl_matrix_set(jac, r->count + 1, TL_PATH_V, 1.0 / PRIOR_V_SIGMA);
    gsl_matrix_set(jac, r->count + 2, TL_PATH_BEND, 1.0 / PRIOR_BEND_SIGMA);
    gsl_matrix_set(jac, r->count + 3, TL_PATH_V,
                   -(PRIOR_C4_1 + 2.0 * PRIOR_C4_2 * p[TL_PATH_V]) / PRIOR_C4_SIGMA);
    gsl_matrix_set(jac, r->count + 3, TL_PATH_C4, 1.0 / PRIOR_C4_SIGMA);
    return GSL_SUCCESS;
}

/* Everything a fit needs to go round. */
typedef struct work {
    tl_track_obs *all;
    size_t count;
    double zero_s;
    rows rows;
    double *residual; /* of all obs, in units of their sigma */
    double parameter[TL_PATH_PARAMS];
    double covariance[TL_PATH_PARAMS * TL_PATH_PARAMS];
    double level;
} work;

static void work_free(work *w) {
    free(w->rows.obs);
    free(w->rows.t_h);
    free(w->rows.s);
    free(w->rows.weight);
    free(w->residual);
}

static tl_status work_make(tl_track_obs *obs, size_t count, work *w) {
    *w = (work){.all = obs, .count = count, .level = 1.0};
    w->rows.obs = calloc(count, sizeof *w->rows.obs);
    w->rows.t_h = calloc(count, sizeof *w->rows.t_h);
    w->rows.s = calloc(count, sizeof *w->rows.s);
    w->rows.weight = calloc(count, sizeof *w->rows.weight);
    w->residual = calloc(count, sizeof *w->residual);
    if (w->rows.obs == NULL || w->rows.t_h == NULL || w->rows.s == NULL || w->rows.weight == NULL ||
        w->residual == NULL) {
        work_free(w);
        return TL_ERR_MEMORY;
    }
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += (obs[i].t_s - obs[0].t_s) / (double)count;
    }
    w->zero_s = obs[0].t_s + sum;
    return TL_OK;
}

/* Error of s^2: 2 s sigma, its second-order term, and the path's motion during the error of the
 * time. With the fitted s, so that noise does not choose its own weight, but no less than the
 * measured one allows, so that a path gone wrong does not give a frame a weight without end. */
static double square_sigma(const tl_track_obs *obs, const double p[TL_PATH_PARAMS], double tau) {
    double least = fmax(0.0, obs->s - TL_TRACK_OUTLIER_SIGMAS * obs->s_sigma);
    double s2 = fmax(tl_track_path_value(p, tau), least * least);
    double moved = tl_track_path_slope(p, tau) * obs->t_sigma_s / TL_TRACK_HOUR_S;
    double variance = obs->s_sigma * obs->s_sigma;
    return sqrt(4.0 * s2 * variance + 2.0 * variance * variance + moved * moved);
}

static double hours(const work *w, const tl_track_obs *obs) {
    return (obs->t_s - w->zero_s) / TL_TRACK_HOUR_S;
}

static void set_residuals(work *w) {
    for (size_t i = 0; i < w->count; i++) {
        double tau = hours(w, &w->all[i]) - w->parameter[TL_PATH_T0];
        double s = w->all[i].s;
        w->residual[i] = (s * s - tl_track_path_value(w->parameter, tau)) /
                         square_sigma(&w->all[i], w->parameter, tau);
    }
}

/* One fit. `soft` > 0: weights by Geman and McClure's function of that width, in noise levels. */
static tl_status fit_once(work *w, double soft) {
    set_residuals(w);
    rows *r = &w->rows;
    r->count = 0;
    for (size_t i = 0; i < w->count; i++) {
        const tl_track_obs *obs = &w->all[i];
        if (obs->dropped) {
            continue;
        }
        double t_h = hours(w, obs), off = soft > 0.0 ? w->residual[i] / (soft * w->level) : 0.0;
        double sigma = square_sigma(obs, w->parameter, t_h - w->parameter[TL_PATH_T0]);
        r->obs[r->count] = i;
        r->t_h[r->count] = t_h;
        r->s[r->count] = obs->s;
        r->weight[r->count++] = 1.0 / (sigma * w->level * (1.0 + off * off));
    }
    gsl_multifit_nlinear_fdf fdf = {.f = residuals,
                                    .df = jacobian,
                                    .n = r->count + PRIOR_ROWS,
                                    .p = TL_PATH_PARAMS,
                                    .params = r};
    double parameter[TL_PATH_PARAMS];
    for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
        parameter[k] = w->parameter[k];
    }
    tl_status status = tl_track_least_squares(&fdf, parameter, w->covariance);
    if (status != TL_OK) {
        return status;
    }
    for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
        w->parameter[k] = parameter[k];
    }
    set_residuals(w);
    return TL_OK;
}

/* gradient . covariance . gradient */
static double quadratic(const double *covariance, const double gradient[TL_PATH_PARAMS]) {
    double sum = 0.0;
    for (size_t j = 0; j < TL_PATH_PARAMS; j++) {
        for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
            sum += gradient[j] * covariance[j * TL_PATH_PARAMS + k] * gradient[k];
        }
    }
    return sum;
}

/* Noise level from chi^2 over the degrees of freedom, where a frame takes as many as its
 * leverage; the prior takes the rest. */
static double chi_level(const work *w) {
    double chi2 = 0.0, freedom = 0.0;
    for (size_t i = 0; i < w->rows.count; i++) {
        double gradient[TL_PATH_PARAMS], residual = w->residual[w->rows.obs[i]];
        tl_track_path_gradient(w->parameter, w->rows.t_h[i] - w->parameter[TL_PATH_T0], gradient);
        double weight = w->rows.weight[i];
        chi2 += residual * residual;
        freedom += 1.0 - weight * weight * quadratic(w->covariance, gradient);
    }
    return tl_track_noise_scale(chi2, freedom);
}

static tl_status fit_robust(work *w, double known_level) {
    tl_status status = TL_OK;
    bool may_drop = !(known_level > 0.0) && w->count >= FRAMES_TO_JUDGE;
    for (int round = 0; may_drop && status == TL_OK && round < ROUNDS_MAX; round++) {
        set_residuals(w);
        w->level = tl_track_noise_level(w->residual, w->count);
        status = fit_once(w, TL_TRACK_OUTLIER_SIGMAS);
    }
    if (may_drop && status == TL_OK) {
        w->level = tl_track_noise_level(w->residual, w->count);
        tl_track_mark_outliers(w->all, w->residual, w->count, w->level, FRAMES_TO_JUDGE - 1);
    }
    w->level = known_level > 0.0 ? known_level : 1.0;
    for (int round = 0; status == TL_OK && round < ROUNDS_MAX; round++) {
        status = fit_once(w, 0.0);
        double level = known_level > 0.0 ? known_level : chi_level(w);
        bool settled = round + 1 >= ROUNDS_MIN && fabs(level - w->level) < LEVEL_SETTLED * level;
        w->level = level;
        if (settled) {
            break;
        }
    }
    return status;
}

static bool plausible(const work *w) {
    const double *p = w->parameter, *c = w->covariance;
    double c0_sigma = sqrt(c[TL_PATH_C0 * TL_PATH_PARAMS + TL_PATH_C0]);
    double t0_sigma = sqrt(c[TL_PATH_T0 * TL_PATH_PARAMS + TL_PATH_T0]);
    return p[TL_PATH_V] > 0.0 && t0_sigma < ORIGIN_SIGMA_MAX_H &&
           p[TL_PATH_C0] > -NEGATIVE_SIGMAS * c0_sigma;
}

/* Sigma of a mere shift in time of the path, its shape being what it is. */
static double shift_sigma_s(const work *w) {
    double information = 0.0;
    for (size_t i = 0; i < w->rows.count; i++) {
        double tau = w->rows.t_h[i] - w->parameter[TL_PATH_T0];
        double per_h = w->rows.weight[i] * tl_track_path_slope(w->parameter, tau);
        information += per_h * per_h;
    }
    return TL_TRACK_HOUR_S / sqrt(information);
}

static void describe(const work *w, tl_track_path *path) {
    const double *p = w->parameter;
    path->origin_s = w->zero_s + p[TL_PATH_T0] * TL_TRACK_HOUR_S;
    double sum = 0.0;
    for (size_t i = 0; i < w->rows.count; i++) {
        double fitted = tl_track_path_value(p, w->rows.t_h[i] - p[TL_PATH_T0]);
        double off = w->rows.s[i] - sqrt(fmax(0.0, fitted));
        sum += off * off;
    }
    path->used = w->rows.count;
    path->rms_sr = sqrt(sum / (double)w->rows.count);
    path->shift_sigma_s = shift_sigma_s(w);
    for (size_t j = 0; j < TL_PATH_PARAMS; j++) {
        path->parameter[j] = p[j];
        for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
            path->covariance[j][k] = w->covariance[j * TL_PATH_PARAMS + k];
        }
    }
    path->coefficient[0] = p[TL_PATH_C0];
    path->coefficient[1] = 0.0;
    path->coefficient[2] = p[TL_PATH_V] * p[TL_PATH_V];
    path->coefficient[3] = p[TL_PATH_BEND] * p[TL_PATH_V];
    path->coefficient[4] = p[TL_PATH_C4];
    bool bend = sqrt(path->covariance[TL_PATH_BEND][TL_PATH_BEND]) < DECIDED * PRIOR_BEND_SIGMA;
    bool fourth = sqrt(path->covariance[TL_PATH_C4][TL_PATH_C4]) < DECIDED * PRIOR_C4_SIGMA;
    path->degree = !bend ? 2 : !fourth ? 3 : 4;
}

/* Different times among the frames kept, three being as good as any. */
static size_t different_times(const tl_track_obs *obs, size_t count) {
    size_t different = 0;
    for (size_t i = 0; i < count; i++) {
        bool is_new = !obs[i].dropped;
        for (size_t j = 0; is_new && j < i; j++) {
            is_new = obs[j].dropped || fabs(obs[j].t_s - obs[i].t_s) >= SAME_TIME_S;
        }
        different += is_new ? 1 : 0;
    }
    return different;
}

tl_status tl_track_path_fit(tl_track_obs *obs, size_t count, double known_level,
                            tl_track_path *path) {
    if (different_times(obs, count) < DIFFERENT_TIMES_MIN) {
        return TL_ERR_TOO_FEW;
    }
    work w;
    tl_status status = work_make(obs, count, &w);
    if (status != TL_OK) {
        return status;
    }
    w.parameter[TL_PATH_V] = PRIOR_V;
    tl_track_path_start(obs, count, w.zero_s, w.parameter);
    w.parameter[TL_PATH_C4] = PRIOR_C4_0 + PRIOR_V * (PRIOR_C4_1 + PRIOR_V * PRIOR_C4_2);
    status = fit_robust(&w, known_level);
    if (status == TL_OK && !plausible(&w)) {
        status = TL_ERR_NO_FIT;
    }
    if (status == TL_OK) {
        describe(&w, path);
    }
    work_free(&w);
    return status;
}
