/*
 * drift.c - a clock that runs fast or slow.
 *
 * Over an eclipse a quartz clock gains or loses some tenths of a second: seen only in long series
 * of sharp pictures. The drift is fitted beside the clock and kept where it differs from nil beyond
 * chance; a drift that nobody needs would only widen every other error.
 */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_cdf.h>

#include "track/track_internal.h"

/* A drift is believed when chance makes one as large in one series of a thousand. */
static const double CHANCE = 0.001;
/* Two more frames than parameters, or the scatter is not known. */
enum { FRAMES_MIN = 5 };
/* The worst a camera's quartz does, left in the Sun: some 40 s a day; beyond it place or circles
 * are wrong rather than the clock (common practice, no source). */
static const double DRIFT_MAX = 500e-6;
/* Units of the fit, so that its steps are of order one. */
static const double CLOCK_UNIT_S = 10.0, DRIFT_UNIT = 1e-4;
/* Fit, then judge the outliers anew with the drift taken out; the second time changes little. */
enum { ROUNDS = 3, PARAMETERS = 2 };

typedef struct problem {
    const tl_track_obs *obs;
    size_t count;
    const tl_track_eclipse *eclipse;
    const tl_track_clock_fit *fit; /* start, outliers and noise level */
    double at_s;
} problem;

static double clock_at(const problem *pb, double clock_s, double drift, double t_s) {
    return clock_s + drift * (t_s - pb->at_s);
}

static int residuals(const gsl_vector *x, void *context, gsl_vector *f) {
    const problem *pb = context;
    double clock_s = pb->fit->clock_s + CLOCK_UNIT_S * gsl_vector_get(x, 0);
    double drift = DRIFT_UNIT * gsl_vector_get(x, 1);
    size_t row = 0;
    for (size_t i = 0; i < pb->count; i++) {
        if (!pb->fit->dropped[i]) {
            const tl_track_obs *obs = &pb->obs[i];
            tl_track_sight at =
                tl_track_look(obs, pb->eclipse, clock_at(pb, clock_s, drift, obs->t_s));
            gsl_vector_set(f, row++,
                           at.seen ? at.off_sr / (pb->fit->noise_level * at.sigma_sr) : 0.0);
        }
    }
    return GSL_SUCCESS;
}

static int jacobian(const gsl_vector *x, void *context, gsl_matrix *jac) {
    const problem *pb = context;
    double clock_s = pb->fit->clock_s + CLOCK_UNIT_S * gsl_vector_get(x, 0);
    double drift = DRIFT_UNIT * gsl_vector_get(x, 1);
    size_t row = 0;
    for (size_t i = 0; i < pb->count; i++) {
        if (!pb->fit->dropped[i]) {
            const tl_track_obs *obs = &pb->obs[i];
            tl_track_sight at =
                tl_track_look(obs, pb->eclipse, clock_at(pb, clock_s, drift, obs->t_s));
            double slope = at.seen ? at.rate / (pb->fit->noise_level * at.sigma_sr) : 0.0;
            gsl_matrix_set(jac, row, 0, CLOCK_UNIT_S * slope);
            gsl_matrix_set(jac, row++, 1, DRIFT_UNIT * slope * (obs->t_s - pb->at_s));
        }
    }
    return GSL_SUCCESS;
}

/* Camera time about which offset and drift are independent: the mean of the frames, weighted with
 * what they say about the clock. */
static double middle(const problem *pb) {
    double sum = 0.0, weights = 0.0;
    for (size_t i = 0; i < pb->count; i++) {
        tl_track_sight at = tl_track_look(&pb->obs[i], pb->eclipse, pb->fit->clock_s);
        if (!pb->fit->dropped[i] && at.seen) {
            double weight = at.rate * at.rate / (at.sigma_sr * at.sigma_sr);
            sum += weight * (pb->obs[i].t_s - pb->obs[0].t_s);
            weights += weight;
        }
    }
    return pb->obs[0].t_s + (weights > 0.0 ? sum / weights : 0.0);
}

/* The stamps as a clock without this drift would have written them. */
static void take_out(const problem *pb, double drift, tl_track_obs *steady) {
    for (size_t i = 0; i < pb->count; i++) {
        steady[i] = pb->obs[i];
        steady[i].t_s -= drift * (pb->obs[i].t_s - pb->at_s);
    }
}

/* One fit of both from the state in `fit`, which then has the drift. */
static tl_status fit_both(problem *pb, tl_track_obs *steady, tl_track_clock_fit *fit) {
    double x[PARAMETERS] = {0.0, fit->drift / DRIFT_UNIT}, covariance[PARAMETERS * PARAMETERS];
    pb->fit = fit;
    gsl_multifit_nlinear_fdf fdf = {
        .f = residuals, .df = jacobian, .n = fit->used, .p = PARAMETERS, .params = pb};
    tl_status status = tl_track_least_squares(&fdf, x, covariance);
    if (status != TL_OK) {
        return status;
    }
    tl_track_clock_fit made;
    double drift = DRIFT_UNIT * x[1];
    take_out(pb, drift, steady);
    status = tl_track_clock_fit_make(steady, pb->count, pb->eclipse,
                                     fit->clock_s + CLOCK_UNIT_S * x[0], &made);
    if (status == TL_OK) {
        made.has_drift = true;
        made.drift = drift;
        made.drift_sigma = DRIFT_UNIT * sqrt(covariance[3]) * made.noise_level / fit->noise_level;
        made.at_s = pb->at_s;
        tl_track_clock_fit_free(fit);
        *fit = made;
    }
    return status;
}

static bool demanded(const tl_track_clock_fit *fit) {
    double limit = gsl_cdf_tdist_Qinv(0.5 * CHANCE, (double)(fit->used - PARAMETERS));
    return fit->used >= FRAMES_MIN && fabs(fit->drift) < DRIFT_MAX &&
           fabs(fit->drift) > limit * fit->drift_sigma;
}

tl_status tl_track_drift(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                         tl_track_clock_fit *fit) {
    problem pb = {.obs = obs, .count = count, .eclipse = eclipse, .fit = fit};
    pb.at_s = fit->at_s = middle(&pb);
    if (fit->used < FRAMES_MIN) {
        return TL_OK;
    }
    tl_track_obs *steady = calloc(count, sizeof *steady);
    if (steady == NULL) {
        return TL_ERR_MEMORY;
    }
    tl_track_clock_fit with;
    tl_status status = tl_track_clock_fit_make(obs, count, eclipse, fit->clock_s, &with);
    if (status == TL_OK) {
        for (int round = 0; status == TL_OK && round < ROUNDS; round++) {
            status = with.used >= FRAMES_MIN ? fit_both(&pb, steady, &with) : TL_ERR_TOO_FEW;
        }
        bool better = status == TL_OK && demanded(&with);
        tl_track_clock_fit_free(better ? fit : &with);
        if (better) {
            *fit = with;
        }
    }
    free(steady);
    return status == TL_ERR_MEMORY ? status : TL_OK;
}

double tl_track_clock_utc(const tl_track_clock_fit *fit, double t_s) {
    return t_s - fit->clock_s - fit->drift * (t_s - fit->at_s);
}

double tl_track_clock_utc_sigma(const tl_track_clock_fit *fit, double t_s, double t_sigma_s) {
    return hypot(hypot(t_sigma_s, fit->sigma_s), fit->drift_sigma * (t_s - fit->at_s));
}
