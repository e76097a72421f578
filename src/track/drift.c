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
/* Fit, then judge the outliers anew with the drift taken out; the second time changes little. */
enum { ROUNDS = 3, PARAMETERS = 2 }; /* that which the errors share has a prior of its own */

typedef struct problem {
    const tl_track_obs *obs;
    size_t count;
    const tl_track_eclipse *eclipse;
    double at_s;
    tl_track_obs *scratch; /* as many */
} problem;

/* Camera time about which offset and drift are independent: the mean of the frames, weighted with
 * what they say about the clock. */
static double middle(const problem *pb, const tl_track_clock_fit *fit) {
    double sum = 0.0, weights = 0.0;
    for (size_t i = 0; i < pb->count; i++) {
        tl_track_sight at = tl_track_look(&pb->obs[i], pb->eclipse, fit->clock_s);
        if (!fit->dropped[i] && at.seen) {
            double weight = at.rate * at.rate / (at.sigma_sr * at.sigma_sr);
            sum += weight * (pb->obs[i].t_s - pb->obs[0].t_s);
            weights += weight;
        }
    }
    return pb->obs[0].t_s + (weights > 0.0 ? sum / weights : 0.0);
}

/* The stamps as a clock without this drift would have written them, outliers marked. */
static void take_out(const problem *pb, double drift, const bool *dropped) {
    for (size_t i = 0; i < pb->count; i++) {
        pb->scratch[i] = pb->obs[i];
        pb->scratch[i].t_s -= drift * (pb->obs[i].t_s - pb->at_s);
        pb->scratch[i].dropped = dropped[i];
    }
}

/* One fit of both from the state in `fit`, which then has the drift. */
static tl_status fit_both(const problem *pb, tl_track_clock_fit *fit) {
    tl_track_solution found = {.clock_s = fit->clock_s, .drift = fit->drift};
    take_out(pb, 0.0, fit->dropped);
    tl_status status = tl_track_clock_lsq(pb->scratch, pb->count, pb->eclipse, fit->noise_level,
                                          pb->at_s, true, &found);
    if (status != TL_OK) {
        return status;
    }
    tl_track_clock_fit made;
    take_out(pb, found.drift, fit->dropped);
    status = tl_track_clock_fit_make(pb->scratch, pb->count, pb->eclipse, found.clock_s, &made);
    if (status == TL_OK) {
        made.has_drift = true;
        made.drift = found.drift;
        made.drift_sigma = found.drift_sigma * made.noise_level / fit->noise_level;
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

/* What a drift too small to be called one may be: the mean of its square, by the fit and by what is
 * usual. */
static double unseen(const tl_track_clock_fit *fit) {
    double usual2 = TL_TRACK_DRIFT_USUAL * TL_TRACK_DRIFT_USUAL,
           fit2 = fit->drift_sigma * fit->drift_sigma;
    double likely = fit->drift * usual2 / (usual2 + fit2);
    return hypot(likely, sqrt(usual2 * fit2 / (usual2 + fit2)));
}

tl_status tl_track_drift(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                         tl_track_clock_fit *fit) {
    problem pb = {.obs = obs, .count = count, .eclipse = eclipse};
    pb.at_s = fit->at_s = middle(&pb, fit);
    fit->drift_sigma = TL_TRACK_DRIFT_USUAL;
    if (fit->used < FRAMES_MIN) {
        return TL_OK;
    }
    pb.scratch = calloc(count, sizeof *pb.scratch);
    if (pb.scratch == NULL) {
        return TL_ERR_MEMORY;
    }
    tl_track_clock_fit with;
    tl_status status = tl_track_clock_fit_make(obs, count, eclipse, fit->clock_s, &with);
    if (status == TL_OK) {
        for (int round = 0; status == TL_OK && round < ROUNDS; round++) {
            status = with.used >= FRAMES_MIN ? fit_both(&pb, &with) : TL_ERR_TOO_FEW;
        }
        bool better = status == TL_OK && demanded(&with);
        fit->drift_sigma = status == TL_OK ? unseen(&with) : TL_TRACK_DRIFT_USUAL;
        tl_track_clock_fit_free(better ? fit : &with);
        if (better) {
            *fit = with;
        }
    }
    free(pb.scratch);
    return status == TL_ERR_MEMORY ? status : TL_OK;
}

double tl_track_clock_utc(const tl_track_clock_fit *fit, double t_s) {
    return t_s - fit->clock_s - fit->drift * (t_s - fit->at_s);
}

double tl_track_clock_utc_sigma(const tl_track_clock_fit *fit, double t_s, double t_sigma_s) {
    return hypot(hypot(t_sigma_s, fit->sigma_s), fit->drift_sigma * (t_s - fit->at_s));
}
