/*
 * place_fit.c - the place to its full accuracy, from a start within some 200 km.
 *
 * Least squares of the separations over the place on the ground and over what all frames share
 * and is known but for an error, each with its prior: the clock of each camera, the floor
 * (the lunar limb and the Moon's centre of figure: a shift of the Moon's circle against the
 * almanac's Moon), and the height. So the size of the place holds them too.
 */
#include <math.h>
#include <stdlib.h>

#include "track/place_internal.h"

/* A phone's or computer's clock set by the network; a camera's set by hand with care. Common
 * practice, no source. */
static const double CLOCK_SIGMA_S = 2.0;
/* Stamps that are late by chance are late on the mean by as much as they scatter (an exponential
 * law); twice that, for the scatter is seen in few frames, of which the latest are left out. */
static const double LATENESS_PER_SCATTER = 2.0;
/* Half of mankind lives within some 200 m of the sea's level (Cohen & Small 1998, PNAS 95, 14009;
 * from memory). */
static const double HEIGHT_SIGMA_M = 300.0;

/* The place's unit in the fit, so that its steps are of order one. */
static const double GROUND_UNIT_M = 1.0e5;
/* Half the span of the difference quotients on the ground and in time: the separation's second
 * derivatives are below 1 sr in 1000 km and 1 sr in 1000 s but within a minute of a central
 * maximum. */
static const double GROUND_STEP_M = 500.0, TIME_STEP_S = 2.0;
/* A metre is a thousandth of the best sigma to be had. */
static const double SETTLED_M = 1.0;
enum { START_ROUNDS = 6, SETTLE_ROUNDS = 8, WEIGHT_ROUNDS = 8 };
/* From six frames on, one that disagrees with the others can be named (as in clock_fit.c). */
enum { FRAMES_TO_JUDGE = 6 };
/* A frame off the table, or under the Earth's other side: as bad as can be, but finite. */
static const double HOPELESS_SIGMAS = 1e3;

typedef struct state {
    const tl_place_problem *problem;
    const tl_place_weights *weights;
    tl_site base;
    double axis_rad;
    size_t first;     /* the unknowns before it are held at 0 */
    double *sigma_sr; /* of each frame, fixed while the fit runs; 0: not in the fit */
    double *doubt;    /* a factor for it, while outliers are not yet known; else 1 */
    double *off;      /* in units of sigma */
    double *scratch;  /* one per frame */
    double known[TL_PLACE_UNKNOWNS];
} state;

static void state_free(state *st) {
    free(st->sigma_sr);
    free(st->doubt);
    free(st->off);
    free(st->scratch);
}

static tl_status state_make(const tl_place_problem *problem, const tl_place_weights *weights,
                            const tl_site *base, state *st) {
    state made = {.problem = problem, .weights = weights, .base = *base};
    made.sigma_sr = calloc(problem->count, sizeof *made.sigma_sr);
    made.doubt = calloc(problem->count, sizeof *made.doubt);
    made.off = calloc(problem->count, sizeof *made.off);
    made.scratch = calloc(problem->count, sizeof *made.scratch);
    if (made.sigma_sr == NULL || made.doubt == NULL || made.off == NULL || made.scratch == NULL) {
        state_free(&made);
        return TL_ERR_MEMORY;
    }
    for (size_t i = 0; i < problem->count; i++) {
        made.doubt[i] = 1.0;
    }
    *st = made;
    return TL_OK;
}

static size_t unknowns(const tl_place_problem *problem) {
    return TL_PLACE_OFFSET + problem->camera_count;
}

/* Separation of a frame at a place moved by so much on the ground, with the errors in `x`. */
static bool separation(const state *st, size_t i, const double x[TL_PLACE_UNKNOWNS], double more_s,
                       tl_sky *sky, double *s) {
    double along = GROUND_UNIT_M * x[TL_PLACE_ALONG], across = GROUND_UNIT_M * x[TL_PLACE_ACROSS];
    tl_site site =
        tl_place_move(&st->base, st->axis_rad + atan2(across, along), hypot(along, across));
    site.height_m = fmin(fmax(HEIGHT_SIGMA_M * x[TL_PLACE_HEIGHT], -500.0), 9000.0);
    double offset_s =
        st->weights->clock_sigma_s * x[TL_PLACE_OFFSET + st->problem->camera[i]] + more_s;
    if (!tl_place_sky(st->problem, i, &site, offset_s, sky)) {
        return false;
    }
    *s = hypot(sky->east_sr + TL_TRACK_FLOOR_SR * x[TL_PLACE_EAST],
               sky->north_sr + TL_TRACK_FLOOR_SR * x[TL_PLACE_NORTH]);
    return true;
}

/* Change of a frame's separation with its true time, sr per s. */
static double rate(const state *st, size_t i, const double x[TL_PLACE_UNKNOWNS]) {
    tl_sky sky;
    double before, after;
    return separation(st, i, x, TIME_STEP_S, &sky, &before) &&
                   separation(st, i, x, -TIME_STEP_S, &sky, &after)
               ? (after - before) / (2.0 * TIME_STEP_S)
               : 0.0;
}

static double slope(const state *st, size_t i, const double x[TL_PLACE_UNKNOWNS], size_t which,
                    double step) {
    tl_sky sky;
    double ahead[TL_PLACE_UNKNOWNS] = {0.0}, behind[TL_PLACE_UNKNOWNS] = {0.0}, s[2];
    for (size_t k = 0; k < unknowns(st->problem); k++) {
        ahead[k] = x[k] + (k == which ? step : 0.0);
        behind[k] = x[k] - (k == which ? step : 0.0);
    }
    return separation(st, i, ahead, 0.0, &sky, &s[0]) && separation(st, i, behind, 0.0, &sky, &s[1])
               ? (s[0] - s[1]) / (2.0 * step)
               : 0.0;
}

/* ---- least squares ---- */

static void unpack(const state *st, const gsl_vector *free_x, double x[TL_PLACE_UNKNOWNS]) {
    for (size_t k = 0; k < unknowns(st->problem); k++) {
        x[k] = k < st->first ? 0.0 : gsl_vector_get(free_x, k - st->first);
    }
}

/* Frames first, then what is known: each error over its sigma. */
static int residuals(const gsl_vector *free_x, void *context, gsl_vector *f) {
    const state *st = context;
    double x[TL_PLACE_UNKNOWNS] = {0.0};
    size_t row = 0;
    unpack(st, free_x, x);
    for (size_t i = 0; i < st->problem->count; i++) {
        if (st->sigma_sr[i] > 0.0) {
            tl_sky sky;
            double s;
            gsl_vector_set(f, row++,
                           separation(st, i, x, 0.0, &sky, &s)
                               ? (s - st->problem->obs[i].s) / st->sigma_sr[i]
                               : HOPELESS_SIGMAS);
        }
    }
    for (size_t k = TL_PLACE_EAST; k < unknowns(st->problem); k++) {
        gsl_vector_set(f, row++, x[k]);
    }
    return GSL_SUCCESS;
}

static void frame_row(const state *st, size_t i, const double x[TL_PLACE_UNKNOWNS], size_t row,
                      gsl_matrix *jac) {
    double over_sigma = 1.0 / st->sigma_sr[i], s;
    tl_sky sky;
    if (!separation(st, i, x, 0.0, &sky, &s)) {
        return;
    }
    double d[TL_PLACE_UNKNOWNS] = {0.0};
    d[TL_PLACE_ALONG] = slope(st, i, x, TL_PLACE_ALONG, GROUND_STEP_M / GROUND_UNIT_M);
    d[TL_PLACE_ACROSS] = slope(st, i, x, TL_PLACE_ACROSS, GROUND_STEP_M / GROUND_UNIT_M);
    d[TL_PLACE_EAST] = TL_TRACK_FLOOR_SR * sin(sky.pa_rad);
    d[TL_PLACE_NORTH] = TL_TRACK_FLOOR_SR * cos(sky.pa_rad);
    d[TL_PLACE_HEIGHT] = slope(st, i, x, TL_PLACE_HEIGHT, 0.5);
    d[TL_PLACE_OFFSET + st->problem->camera[i]] = -rate(st, i, x) * st->weights->clock_sigma_s;
    for (size_t k = st->first; k < unknowns(st->problem); k++) {
        gsl_matrix_set(jac, row, k - st->first, over_sigma * d[k]);
    }
}

static int jacobian(const gsl_vector *free_x, void *context, gsl_matrix *jac) {
    const state *st = context;
    double x[TL_PLACE_UNKNOWNS] = {0.0};
    size_t row = 0;
    unpack(st, free_x, x);
    gsl_matrix_set_zero(jac);
    for (size_t i = 0; i < st->problem->count; i++) {
        if (st->sigma_sr[i] > 0.0) {
            frame_row(st, i, x, row++, jac);
        }
    }
    for (size_t k = TL_PLACE_EAST; k < unknowns(st->problem); k++) {
        gsl_matrix_set(jac, row++, k - st->first, 1.0);
    }
    return GSL_SUCCESS;
}

/* Errors of the frames at the place the state stands on, level 1. */
static void set_sigmas(state *st) {
    for (size_t i = 0; i < st->problem->count; i++) {
        const tl_track_obs *obs = &st->problem->obs[i];
        st->sigma_sr[i] = hypot(obs->s_sigma, rate(st, i, st->known) * obs->t_sigma_s);
    }
}

/* Off in units of sigma, level 1; needs set_sigmas. */
static double off_sigmas(const state *st, size_t i) {
    tl_sky sky;
    double s;
    return separation(st, i, st->known, 0.0, &sky, &s)
               ? (st->problem->obs[i].s - s) / st->sigma_sr[i]
               : HOPELESS_SIGMAS;
}

/* chi^2 with the level in it, the known things' own included. */
static double cost_of(state *st) {
    const double limit = TL_TRACK_OUTLIER_SIGMAS * TL_TRACK_OUTLIER_SIGMAS;
    double sum = 0.0;
    set_sigmas(st);
    for (size_t i = 0; i < st->problem->count; i++) {
        double r = off_sigmas(st, i) / st->weights->level;
        sum += st->problem->obs[i].dropped ? limit : r * r;
    }
    for (size_t k = TL_PLACE_EAST; k < unknowns(st->problem); k++) {
        sum += st->known[k] * st->known[k];
    }
    return sum;
}

/* One fit; moves the base to where it ends. `covariance`: of the free unknowns, row by row. */
static tl_status fit_once(state *st, double *covariance, double *moved_m) {
    size_t p = unknowns(st->problem) - st->first, rows = p - (TL_PLACE_EAST - st->first);
    double x[TL_PLACE_UNKNOWNS] = {0.0};
    set_sigmas(st);
    for (size_t i = 0; i < st->problem->count; i++) {
        bool dropped = st->problem->obs[i].dropped;
        st->sigma_sr[i] = dropped ? 0.0 : st->weights->level * st->doubt[i] * st->sigma_sr[i];
        rows += dropped ? 0 : 1;
    }
    for (size_t k = 0; k < p; k++) {
        x[k] = st->known[k + st->first];
    }
    gsl_multifit_nlinear_fdf fdf = {
        .f = residuals, .df = jacobian, .n = rows, .p = p, .params = st};
    tl_status status = tl_track_least_squares(&fdf, x, covariance);
    if (status != TL_OK) {
        return status == TL_ERR_MEMORY ? status : TL_ERR_NO_FIT;
    }
    double along = st->first == 0 ? GROUND_UNIT_M * x[0] : 0.0;
    double across = GROUND_UNIT_M * x[TL_PLACE_ACROSS - st->first];
    *moved_m = hypot(along, across);
    st->base = tl_place_move(&st->base, st->axis_rad + atan2(across, along), *moved_m);
    for (size_t k = TL_PLACE_EAST; k < unknowns(st->problem); k++) {
        st->known[k] = x[k - st->first];
    }
    return TL_OK;
}

static tl_status settle(state *st, double *covariance) {
    double moved = HUGE_VAL;
    tl_status status = TL_OK;
    for (int round = 0; status == TL_OK && round < SETTLE_ROUNDS && moved > SETTLED_M; round++) {
        status = fit_once(st, covariance, &moved);
    }
    return status;
}

/* Half-axes and direction of the ellipse with covariance (a, b; b, c) on axes north and east. */
static void set_ellipse(double a, double b, double c, tl_place_fit *fit) {
    double mean = 0.5 * (a + c), half = hypot(0.5 * (a - c), b);
    double axis = 0.5 * atan2(2.0 * b, a - c);
    fit->along_m = GROUND_UNIT_M * sqrt(mean + half);
    fit->across_m = GROUND_UNIT_M * sqrt(fmax(0.0, mean - half));
    fit->axis_rad = axis < 0.0 ? axis + TL_PI : axis;
}

static void take(state *st, const double *covariance, tl_place_fit *fit) {
    size_t p = unknowns(st->problem);
    fit->site = st->base;
    fit->weights = *st->weights;
    for (size_t k = 0; k < p; k++) {
        fit->known[k] = st->known[k];
    }
    fit->cost = cost_of(st);
    if (st->first == 0) {
        set_ellipse(covariance[0], covariance[1], covariance[p + 1], fit);
    }
}

/* ---- weights by what is left over ---- */

/*
 * Where the frames scatter by more than their errors and chance allow, their stamps may be the
 * reason (pictures saved late, table written by hand). Such a clock is trusted no better than it
 * scatters: the time that would explain the excess joins the prior of the offset.
 */
static double stamp_scatter(const state *st, double level) {
    double sum = 0.0, count = 0.0;
    for (size_t i = 0; i < st->problem->count; i++) {
        if (!st->problem->obs[i].dropped) {
            double per_s = rate(st, i, st->known) / st->sigma_sr[i];
            sum += per_s * per_s;
            count += 1.0;
        }
    }
    const double chance_sigmas = 2.0; /* of chi^2 over its degrees of freedom, sqrt(2 / n) */
    double excess = level * level - 1.0 - chance_sigmas * sqrt(2.0 / count);
    return excess > 0.0 && sum > 0.0 ? sqrt(excess * count / sum) : 0.0;
}

static void set_offs(state *st) {
    set_sigmas(st);
    for (size_t i = 0; i < st->problem->count; i++) {
        st->off[i] = off_sigmas(st, i);
    }
}

/* The least sum of absolute residuals, by weights that fall with them: a few bad frames, of which
 * nobody knows yet, have little say. */
static tl_status start_fit(state *st, double *covariance) {
    double moved;
    tl_status status = TL_OK;
    for (int round = 0; status == TL_OK && round < START_ROUNDS; round++) {
        status = fit_once(st, covariance, &moved);
        set_offs(st);
        for (size_t i = 0; i < st->problem->count; i++) {
            st->doubt[i] = sqrt(fmax(1.0, fabs(st->off[i])));
        }
    }
    for (size_t i = 0; i < st->problem->count; i++) {
        st->doubt[i] = 1.0;
    }
    return status;
}

/* True if the outliers have changed. */
static bool weigh(state *st, tl_place_problem *problem, tl_place_weights *weights) {
    double chi2 = 0.0, kept = 0.0, *off = st->off;
    set_offs(st);
    bool changed = tl_track_mark_outliers(problem->obs, off, problem->count,
                                          tl_track_noise_level(off, problem->count, st->scratch),
                                          FRAMES_TO_JUDGE - 1);
    for (size_t i = 0; i < problem->count; i++) {
        chi2 += problem->obs[i].dropped ? 0.0 : off[i] * off[i];
        kept += problem->obs[i].dropped ? 0.0 : 1.0;
    }
    double offset_unit = weights->clock_sigma_s;
    weights->level = tl_track_noise_scale(chi2, kept - 2.0);
    weights->clock_sigma_s =
        hypot(CLOCK_SIGMA_S, LATENESS_PER_SCATTER * stamp_scatter(st, weights->level));
    for (size_t k = TL_PLACE_OFFSET; k < unknowns(problem); k++) {
        st->known[k] *= offset_unit / weights->clock_sigma_s;
    }
    return changed;
}

static void clear_marks(tl_place_problem *problem) {
    for (size_t i = 0; i < problem->count; i++) {
        problem->obs[i].dropped = false;
    }
}

static tl_status near(state *st, tl_place_problem *problem, tl_place_weights *weights,
                      tl_place_fit *fit) {
    double covariance[TL_PLACE_UNKNOWNS * TL_PLACE_UNKNOWNS];
    clear_marks(problem);
    tl_status status = start_fit(st, covariance);
    bool changed = true;
    for (int round = 0; status == TL_OK && changed && round < WEIGHT_ROUNDS; round++) {
        tl_site before = st->base;
        changed = weigh(st, problem, weights);
        status = settle(st, covariance);
        changed = changed || tl_place_distance(&before, &st->base, NULL) > SETTLED_M;
    }
    if (status == TL_OK) {
        take(st, covariance, fit);
    }
    return status;
}

tl_status tl_place_fit_near(tl_place_problem *problem, const tl_site *start, tl_place_fit *fit) {
    tl_place_weights weights = {.level = 1.0, .clock_sigma_s = CLOCK_SIGMA_S};
    state st;
    tl_status status = state_make(problem, &weights, start, &st);
    if (status == TL_OK) {
        status = near(&st, problem, &weights, fit);
        state_free(&st);
    }
    return status;
}

tl_status tl_place_fit_weighted(tl_place_problem *problem, const tl_site *start,
                                const tl_place_weights *weights, tl_place_fit *fit) {
    double covariance[TL_PLACE_UNKNOWNS * TL_PLACE_UNKNOWNS];
    tl_place_weights own = *weights;
    state st;
    tl_status status = state_make(problem, &own, start, &st);
    if (status != TL_OK) {
        return status;
    }
    clear_marks(problem);
    weigh(&st, problem, &own);
    own = *weights;
    status = settle(&st, covariance);
    if (status == TL_OK) {
        take(&st, covariance, fit);
    }
    state_free(&st);
    return status;
}

tl_status tl_place_fit_across(const tl_place_problem *problem, tl_place_fit *fit) {
    double covariance[TL_PLACE_UNKNOWNS * TL_PLACE_UNKNOWNS], moved;
    state st;
    tl_status status = state_make(problem, &fit->weights, &fit->site, &st);
    if (status != TL_OK) {
        return status;
    }
    st.axis_rad = fit->axis_rad;
    st.first = TL_PLACE_ACROSS;
    for (size_t k = TL_PLACE_EAST; k < unknowns(problem); k++) {
        st.known[k] = fit->known[k];
    }
    status = fit_once(&st, covariance, &moved);
    if (status == TL_OK) {
        take(&st, covariance, fit);
    }
    state_free(&st);
    return status;
}
