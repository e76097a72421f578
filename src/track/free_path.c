/*
 * free_path.c - the free solution: the Moon's path from the lengths alone.
 *
 * Weighted least squares of s^2 for the parameters of path_model.c. Nothing of this
 * eclipse's ephemeris enters, only what holds for every eclipse seen from any place: the prior
 * below. A good series over the whole eclipse hardly feels it; a short one gets from it the honest
 * error of carrying a path on beyond its frames, and no degree of a polynomial has to be chosen.
 *
 * The path is in the time of the main camera. The frames of others help with its shape: each of
 * those cameras has a shift in time of its own in the fit, which starts from the clocks of the tied
 * solution and is free, so that nothing of the ephemeris gets in by it. A drift or a lateness of
 * the stamps, where one was found, is the almanac's and stays.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "track/track_internal.h"

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

/* The weights hang on the path and the path on the weights: rounds until neither moves. */
enum { PRIOR_ROWS = 7, ROUNDS_MIN = 4, ROUNDS_MAX = 12 };
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

/* Hardly a prior: keeps the fit upright for a camera whose frames do not tell its shift. */
static const double PRIOR_SHIFT_SIGMA_H = 0.2;
/* After the path's own: what the errors of the circles have in common (clock_lsq.c), then a shift
 * of each camera beside the main one. */
enum { COMMON = TL_PATH_PARAMS, FIRST_SHIFT, PARAMS_MAX = FIRST_SHIFT + TL_CAMERAS_MAX - 1 };

/* What the callbacks of the fit see; rows belong to the frames kept. */
typedef struct rows {
    size_t count;  /* rows of data */
    size_t shifts; /* cameras beside the main one */
    size_t *obs;   /* which obs */
    size_t *shift; /* which parameter is the shift of its camera; 0 for the main one */
    double *t_h, *s, *weight;
    double *common; /* change of s^2 by what the errors have in common */
} rows;

static size_t row_total(const rows *r) {
    return r->count + PRIOR_ROWS + r->shifts;
}

/* Hours since the smallest separation by the path `p`, the camera's shift taken out. */
static double row_tau(const rows *r, size_t i, const double *p) {
    return r->t_h[i] - p[TL_PATH_T0] - (r->shift[i] > 0 ? p[r->shift[i]] : 0.0);
}

static void read_parameters(const rows *r, const gsl_vector *x, double *p) {
    for (size_t k = 0; k < FIRST_SHIFT + r->shifts; k++) {
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
    const rows *r = context;
    double p[PARAMS_MAX];
    read_parameters(r, x, p);
    for (size_t i = 0; i < r->count; i++) {
        double fitted = tl_track_path_value(p, row_tau(r, i, p));
        double off = fitted + p[COMMON] * r->common[i] - r->s[i] * r->s[i];
        gsl_vector_set(f, i, off * r->weight[i]);
    }
    gsl_vector_set(f, r->count, (p[TL_PATH_C0] - PRIOR_C0) / PRIOR_C0_SIGMA);
    gsl_vector_set(f, r->count + 1, (p[TL_PATH_V] - PRIOR_V) / PRIOR_V_SIGMA);
    gsl_vector_set(f, r->count + 2, p[TL_PATH_BEND] / PRIOR_BEND_SIGMA);
    gsl_vector_set(f, r->count + 3, (p[TL_PATH_C4] - c4_of(p)) / PRIOR_C4_SIGMA);
    gsl_vector_set(f, r->count + 4, (p[TL_PATH_C5] - c5_of(p)) / PRIOR_C5_SIGMA);
    gsl_vector_set(f, r->count + 5, (p[TL_PATH_C6] - c6_of(p)) / PRIOR_C6_SIGMA);
    gsl_vector_set(f, r->count + 6, p[COMMON]);
    for (size_t k = 0; k < r->shifts; k++) {
        gsl_vector_set(f, r->count + PRIOR_ROWS + k, p[FIRST_SHIFT + k] / PRIOR_SHIFT_SIGMA_H);
    }
    return GSL_SUCCESS;
}

static int jacobian(const gsl_vector *x, void *context, gsl_matrix *jac) {
    const rows *r = context;
    double p[PARAMS_MAX], gradient[TL_PATH_PARAMS];
    read_parameters(r, x, p);
    gsl_matrix_set_zero(jac);
    for (size_t i = 0; i < r->count; i++) {
        tl_track_path_gradient(p, row_tau(r, i, p), gradient);
        for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
            gsl_matrix_set(jac, i, k, gradient[k] * r->weight[i]);
        }
        gsl_matrix_set(jac, i, COMMON, r->common[i] * r->weight[i]);
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
    gsl_matrix_set(jac, r->count + 6, COMMON, 1.0);
    for (size_t k = 0; k < r->shifts; k++) {
        gsl_matrix_set(jac, r->count + PRIOR_ROWS + k, FIRST_SHIFT + k, 1.0 / PRIOR_SHIFT_SIGMA_H);
    }
    return GSL_SUCCESS;
}

/* Everything a fit needs to go round. */
typedef struct work {
    tl_track_obs *all; /* in the main camera's time */
    size_t count;
    size_t *shift; /* of each obs, see rows */
    double zero_s;
    rows rows;
    double *residual; /* of all obs, in units of their sigma */
    double *scratch;  /* one for each obs */
    double parameter[PARAMS_MAX];
    double covariance[TL_PATH_PARAMS * TL_PATH_PARAMS]; /* the shifts being unknown */
    double level;
} work;

static void work_free(work *w) {
    free(w->all);
    free(w->shift);
    free(w->rows.obs);
    free(w->rows.shift);
    free(w->rows.t_h);
    free(w->rows.s);
    free(w->rows.weight);
    free(w->rows.common);
    free(w->residual);
    free(w->scratch);
}

static tl_status work_alloc(size_t count, work *w) {
    *w = (work){.level = 1.0};
    w->all = calloc(count + 1, sizeof *w->all);
    w->shift = calloc(count + 1, sizeof *w->shift);
    w->rows.obs = calloc(count + 1, sizeof *w->rows.obs);
    w->rows.shift = calloc(count + 1, sizeof *w->rows.shift);
    w->rows.t_h = calloc(count + 1, sizeof *w->rows.t_h);
    w->rows.s = calloc(count + 1, sizeof *w->rows.s);
    w->rows.weight = calloc(count + 1, sizeof *w->rows.weight);
    w->rows.common = calloc(count + 1, sizeof *w->rows.common);
    w->residual = calloc(count + 1, sizeof *w->residual);
    w->scratch = calloc(count + 1, sizeof *w->scratch);
    if (w->all == NULL || w->shift == NULL || w->rows.obs == NULL || w->rows.shift == NULL ||
        w->rows.t_h == NULL || w->rows.s == NULL || w->rows.weight == NULL ||
        w->rows.common == NULL || w->residual == NULL || w->scratch == NULL) {
        work_free(w);
        return TL_ERR_MEMORY;
    }
    return TL_OK;
}

/* A frame of a camera with a known clock, in the main camera's time had that run evenly; errors
 * enlarged as that camera's clock fit found them. */
static tl_track_obs in_main_time(const tl_track_obs *obs, const tl_track_clock_fit *own,
                                 const tl_track_clock_fit *main) {
    tl_track_obs moved = *obs;
    double late_s = own->stamps == TL_STAMPS_LATE ? own->scatter_s : 0.0;
    moved.t_s = tl_track_clock_utc(own, obs->t_s) - late_s + main->clock_s;
    moved.s_sigma *= own->noise_level;
    moved.t_sigma_s = hypot(moved.t_sigma_s * own->noise_level, own->stamp_sigma_s);
    return moved;
}

/* The main camera's frames, and those of others that have a clock if it has one. */
static void work_fill(const tl_track_series *series, const tl_track_tied *tied, size_t main,
                      work *w) {
    for (size_t k = 0; k < series->camera_count; k++) {
        const tl_track_slice *slice = &series->camera[k];
        bool known = tied[main].solved && tied[k].solved;
        if (!(k == main || known) || slice->obs_count == 0) {
            continue;
        }
        size_t shift = k == main ? 0 : FIRST_SHIFT + w->rows.shifts++;
        for (size_t i = 0; i < slice->obs_count; i++) {
            const tl_track_obs *obs = &series->obs[slice->first_obs + i];
            w->all[w->count] = known ? in_main_time(obs, &tied[k].fit, &tied[main].fit) : *obs;
            w->shift[w->count++] = shift;
        }
    }
    double sum = 0.0;
    for (size_t i = 0; i < w->count; i++) {
        sum += (w->all[i].t_s - w->all[0].t_s) / (double)w->count;
    }
    w->zero_s = w->count > 0 ? w->all[0].t_s + sum : 0.0;
}

/* Error of s^2: 2 s sigma, its second-order term, and the path's motion during the error of the
 * time. With the fitted s, so that noise does not choose its own weight, but no less than the
 * measured one allows, so that a path gone wrong does not give a frame a weight without end.
 * `share`: of the variance of the circles. */
static double square_sigma(const tl_track_obs *obs, const double p[TL_PATH_PARAMS], double tau,
                           double share) {
    double least = fmax(0.0, obs->s - TL_TRACK_OUTLIER_SIGMAS * obs->s_sigma);
    double s2 = fmax(tl_track_path_value(p, tau), least * least);
    double moved = tl_track_path_slope(p, tau) * obs->t_sigma_s / TL_TRACK_HOUR_S;
    double variance = share * obs->s_sigma * obs->s_sigma;
    return sqrt(4.0 * s2 * variance + 2.0 * variance * variance + moved * moved);
}

/* Hours since the smallest separation, the camera's shift taken out. */
static double obs_tau(const work *w, size_t i) {
    double t_h = (w->all[i].t_s - w->zero_s) / TL_TRACK_HOUR_S;
    double shift_h = w->shift[i] > 0 ? w->parameter[w->shift[i]] : 0.0;
    return t_h - w->parameter[TL_PATH_T0] - shift_h;
}

static void set_residuals(work *w) {
    for (size_t i = 0; i < w->count; i++) {
        double tau = obs_tau(w, i), s = w->all[i].s;
        w->residual[i] = (s * s - tl_track_path_value(w->parameter, tau)) /
                         square_sigma(&w->all[i], w->parameter, tau, 1.0);
    }
}

/* `soft` > 0: weights by Geman and McClure's function of that width, in noise levels. */
static void set_rows(work *w, double soft) {
    rows *r = &w->rows;
    r->count = 0;
    for (size_t i = 0; i < w->count; i++) {
        const tl_track_obs *obs = &w->all[i];
        if (obs->dropped) {
            continue;
        }
        double off = soft > 0.0 ? w->residual[i] / (soft * w->level) : 0.0;
        double tau = obs_tau(w, i), s = sqrt(fmax(0.0, tl_track_path_value(w->parameter, tau)));
        double sigma = square_sigma(obs, w->parameter, tau, 1.0 - TL_TRACK_COMMON_SHARE);
        r->common[r->count] = 2.0 * s * sqrt(TL_TRACK_COMMON_SHARE) * obs->s_sigma * w->level;
        r->obs[r->count] = i;
        r->shift[r->count] = w->shift[i];
        r->t_h[r->count] = (obs->t_s - w->zero_s) / TL_TRACK_HOUR_S;
        r->s[r->count] = obs->s;
        r->weight[r->count++] = 1.0 / (sigma * w->level * (1.0 + off * off));
    }
}

static tl_status fit_once(work *w, double soft) {
    double parameter[PARAMS_MAX], covariance[PARAMS_MAX * PARAMS_MAX];
    set_residuals(w);
    set_rows(w, soft);
    size_t p = FIRST_SHIFT + w->rows.shifts;
    gsl_multifit_nlinear_fdf fdf = {
        .f = residuals, .df = jacobian, .n = row_total(&w->rows), .p = p, .params = &w->rows};
    for (size_t k = 0; k < p; k++) {
        parameter[k] = w->parameter[k];
    }
    tl_status status = tl_track_least_squares(&fdf, parameter, covariance);
    if (status != TL_OK) {
        return status;
    }
    for (size_t k = 0; k < p; k++) {
        w->parameter[k] = parameter[k];
    }
    for (size_t k = 0; k < TL_PATH_PARAMS * TL_PATH_PARAMS; k++) {
        w->covariance[k] = covariance[k / TL_PATH_PARAMS * p + k % TL_PATH_PARAMS];
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
        tl_track_path_gradient(w->parameter, row_tau(&w->rows, i, w->parameter), gradient);
        double weight = w->rows.weight[i];
        chi2 += residual * residual;
        freedom += 1.0 - weight * weight * quadratic(w->covariance, gradient);
    }
    return tl_track_noise_scale(chi2, freedom);
}

/* `known`: outliers and errors are those of the clock fits, which have more frames to spare; with
 * stamps that scatter they do not know what the circles near maximum are worth. */
static tl_status fit_robust(work *w, bool known) {
    tl_status status = TL_OK;
    bool may_drop = !known && w->count >= FRAMES_TO_JUDGE;
    for (int round = 0; may_drop && status == TL_OK && round < ROUNDS_MAX; round++) {
        set_residuals(w);
        w->level = tl_track_noise_level(w->residual, w->count, w->scratch);
        status = fit_once(w, TL_TRACK_OUTLIER_SIGMAS);
    }
    if (may_drop && status == TL_OK) {
        w->level = tl_track_noise_level(w->residual, w->count, w->scratch);
        tl_track_mark_outliers(w->all, w->residual, w->count, w->level, FRAMES_TO_JUDGE - 1);
    }
    w->level = 1.0;
    for (int round = 0; status == TL_OK && round < ROUNDS_MAX; round++) {
        status = fit_once(w, 0.0);
        double level = known ? 1.0 : chi_level(w);
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

/* Sigma of a mere shift in time of the main camera, the path's shape being what it is. */
static double shift_sigma_s(const work *w) {
    double shift2 = 0.0, both = 0.0, common2 = 1.0; /* of the normal equations; 1 by the prior */
    for (size_t i = 0; i < w->rows.count; i++) {
        double tau = row_tau(&w->rows, i, w->parameter);
        double per_h = w->rows.weight[i] * tl_track_path_slope(w->parameter, tau);
        double common = w->rows.weight[i] * w->rows.common[i];
        if (w->rows.shift[i] == 0) {
            shift2 += per_h * per_h;
            both += per_h * common;
            common2 += common * common;
        }
    }
    return TL_TRACK_HOUR_S / sqrt(shift2 - both * both / common2);
}

/* c2 = v^2, c3 = b v; in the covariance the origin takes the place of c1. */
static void set_coefficients(const work *w, tl_track_path *path) {
    const double *p = w->parameter;
    double v = p[TL_PATH_V], jac[TL_FREE_POWERS][TL_PATH_PARAMS] = {{0}};
    const double coefficient[TL_FREE_POWERS] = {p[TL_PATH_C0],       0.0,           v * v,
                                                p[TL_PATH_BEND] * v, p[TL_PATH_C4], p[TL_PATH_C5],
                                                p[TL_PATH_C6]};
    memcpy(path->coefficient, coefficient, sizeof coefficient);
    jac[0][TL_PATH_C0] = jac[1][TL_PATH_T0] = jac[4][TL_PATH_C4] = 1.0;
    jac[5][TL_PATH_C5] = jac[6][TL_PATH_C6] = 1.0;
    jac[2][TL_PATH_V] = 2.0 * v;
    jac[3][TL_PATH_V] = p[TL_PATH_BEND];
    jac[3][TL_PATH_BEND] = v;
    for (size_t i = 0; i < TL_FREE_POWERS; i++) {
        for (size_t j = 0; j < TL_FREE_POWERS; j++) {
            double sum = 0.0;
            for (size_t k = 0; k < TL_PATH_PARAMS * TL_PATH_PARAMS; k++) {
                sum += jac[i][k / TL_PATH_PARAMS] * w->covariance[k] * jac[j][k % TL_PATH_PARAMS];
            }
            path->coefficient_covariance[i][j] = sum;
        }
    }
}

static void describe(const work *w, tl_track_path *path) {
    const double *p = w->parameter;
    path->origin_s = w->zero_s + p[TL_PATH_T0] * TL_TRACK_HOUR_S;
    double sum = 0.0;
    for (size_t i = 0; i < w->rows.count; i++) {
        double fitted = tl_track_path_value(p, row_tau(&w->rows, i, p));
        double off = w->rows.s[i] - sqrt(fmax(0.0, fitted));
        sum += off * off;
        path->before = path->before || row_tau(&w->rows, i, p) < 0.0;
        path->after = path->after || row_tau(&w->rows, i, p) > 0.0;
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
    set_coefficients(w, path);
    bool bend = sqrt(path->covariance[TL_PATH_BEND][TL_PATH_BEND]) < DECIDED * PRIOR_BEND_SIGMA;
    bool fourth = sqrt(path->covariance[TL_PATH_C4][TL_PATH_C4]) < DECIDED * PRIOR_C4_SIGMA;
    path->degree = !bend ? 2 : !fourth ? 3 : 4;
}

/* Different times among the main camera's frames kept, three being as good as any. */
static size_t different_times(const work *w) {
    size_t different = 0;
    for (size_t i = 0; i < w->count; i++) {
        bool is_new = !w->all[i].dropped && w->shift[i] == 0;
        for (size_t j = 0; is_new && j < i; j++) {
            is_new = w->all[j].dropped || w->shift[j] > 0 ||
                     fabs(w->all[j].t_s - w->all[i].t_s) >= SAME_TIME_S;
        }
        different += is_new ? 1 : 0;
    }
    return different;
}

static tl_status solve(work *w, bool known) {
    if (different_times(w) < DIFFERENT_TIMES_MIN) {
        return TL_ERR_TOO_FEW;
    }
    w->parameter[TL_PATH_V] = PRIOR_V;
    tl_track_path_start(w->all, w->count, w->zero_s, w->scratch, w->parameter);
    w->parameter[TL_PATH_C4] = c4_of(w->parameter);
    w->parameter[TL_PATH_C6] = c6_of(w->parameter);
    tl_status status = fit_robust(w, known);
    return status == TL_OK && !plausible(w) ? TL_ERR_NO_FIT : status;
}

tl_status tl_track_path_fit(tl_track_series *series, const tl_track_tied *tied, size_t main,
                            tl_track_path *path) {
    work w;
    tl_status status = work_alloc(series->obs_count, &w);
    if (status != TL_OK) {
        return status;
    }
    work_fill(series, tied, main, &w);
    status = solve(&w, tied[main].solved && tied[main].fit.stamps == TL_STAMPS_SOUND);
    if (status == TL_OK) {
        describe(&w, path);
        for (size_t i = 0; i < w.count; i++) {
            series->obs_of[w.all[i].index]->dropped = w.all[i].dropped;
        }
    }
    work_free(&w);
    return status;
}
