/*
 * clock_fit.c - one clock total to its full accuracy, from a start within some 20 s.
 *
 * Least squares of separation(camera time - clock) against the measured ones. Exact to the
 * ephemeris; a frame that is off is left out and does not move the clock.
 *
 * The directions stay out, also for a camera on a mount: near maximum they turn almost evenly
 * with time, so that a clock error looks like another common turn, which is unknown. Used, they
 * took 2 % off the sigma of a whole eclipse and 1 % near maximum, at the price of believing that
 * the mount stood still.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "track/track_internal.h"

enum { MEDIAN_ROUNDS = 6, ROUNDS_MAX = 10 };
/* From five frames on, one that disagrees with the others can be named; of fewer, the ones left
 * over agree too easily by chance, and the disagreement belongs into sigma. */
enum { FRAMES_TO_JUDGE = 5 };
/* Frames that have to agree, counted by weight, before others are called wrong. */
static const double WITNESSES_MIN = 3.5;
/* The start is good to a step of the search; no round moves the clock by more than this. */
static const double MOVE_MAX_S = 60.0;
/* The clock has settled: a thousandth of the best sigma to be had. */
static const double SETTLED_S = 1e-4;
/* Reach and resolution (a factor) of the search for the valley's sides. */
static const double VALLEY_MAX_S = 3600.0, VALLEY_STEP = 1.1;
/* d separation / d time below which a frame says nothing about the clock, sr per s. */
static const double RATE_MIN = 1e-7;

tl_track_sight tl_track_look(const tl_track_obs *obs, const tl_track_eclipse *eclipse,
                             double clock_s) {
    tl_track_sight at = {0};
    double s;
    at.seen = tl_track_eclipse_separation(eclipse, obs->t_s - clock_s, &s, &at.rate);
    if (at.seen) {
        at.off_sr = obs->s - s;
        at.sigma_sr = hypot(obs->s_sigma, at.rate * obs->t_sigma_s);
    }
    return at;
}

/* ---- start: the clock that halves the frames, each weighted with what it says about it ---- */

typedef struct vote {
    double clock_s, weight;
} vote;

static int by_clock(const void *a, const void *b) {
    double x = ((const vote *)a)->clock_s, y = ((const vote *)b)->clock_s;
    return (x > y) - (x < y);
}

/* Weighted median: the minimum of the sum of |residual|/sigma, linearised. */
static double median_clock(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                           double clock_s, vote *votes) {
    size_t n = 0;
    double total = 0.0;
    for (size_t i = 0; i < count; i++) {
        tl_track_sight at = tl_track_look(&obs[i], eclipse, clock_s);
        if (at.seen && fabs(at.rate) > RATE_MIN) {
            double move = fmin(fmax(-at.off_sr / at.rate, -MOVE_MAX_S), MOVE_MAX_S);
            votes[n] = (vote){clock_s + move, fabs(at.rate) / at.sigma_sr};
            total += votes[n++].weight;
        }
    }
    qsort(votes, n, sizeof *votes, by_clock);
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += votes[i].weight;
        if (sum >= 0.5 * total) {
            return votes[i].clock_s;
        }
    }
    return clock_s;
}

static tl_status start_clock(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                             double *clock_s) {
    vote *votes = calloc(count, sizeof *votes);
    if (votes == NULL) {
        return TL_ERR_MEMORY;
    }
    for (int round = 0; round < MEDIAN_ROUNDS; round++) {
        *clock_s = median_clock(obs, count, eclipse, *clock_s, votes);
    }
    free(votes);
    return TL_OK;
}

/* ---- least squares ---- */

typedef struct problem {
    tl_track_obs *obs; /* outliers are marked in it */
    double *scratch;   /* as many */
    size_t count;
    const tl_track_eclipse *eclipse;
} problem;

/* Weighted sum of squares over the frames kept. */
static double chi_square(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                         double clock_s) {
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        tl_track_sight at = tl_track_look(&obs[i], eclipse, clock_s);
        double r = at.seen ? at.off_sr / at.sigma_sr : HUGE_VAL;
        double limit = TL_TRACK_OUTLIER_SIGMAS * TL_TRACK_OUTLIER_SIGMAS;
        sum += obs[i].dropped ? limit : r * r;
    }
    return sum;
}

/*
 * Half the width of the valley of chi^2 where it has risen by one: the sigma where the covariance
 * has none to give, with all frames so near maximum that the separation stands still.
 */
static double valley_sigma(const problem *pb, double level, double clock_s) {
    double rise = level * level, width = 0.0;
    double floor = chi_square(pb->obs, pb->count, pb->eclipse, clock_s);
    for (int side = -1; side <= 1; side += 2) {
        double step = 1.0;
        while (step < VALLEY_MAX_S &&
               chi_square(pb->obs, pb->count, pb->eclipse, clock_s + side * step) < floor + rise) {
            step *= VALLEY_STEP;
        }
        width += step;
    }
    return 0.5 * width;
}

/* One fit with the outliers as marked; `level` multiplies every sigma. */
static tl_status fit_once(const problem *pb, double level, double *clock_s, double *sigma_s) {
    tl_track_solution found = {.clock_s = *clock_s};
    tl_status status =
        tl_track_clock_lsq(pb->obs, pb->count, pb->eclipse, level, 0.0, false, &found);
    if (status == TL_OK) {
        *clock_s += fmin(fmax(found.clock_s - *clock_s, -MOVE_MAX_S), MOVE_MAX_S);
        *sigma_s = found.sigma_s;
    } else if (status == TL_ERR_NO_FIT) {
        *sigma_s = valley_sigma(pb, level, *clock_s);
        status = TL_OK;
    }
    return status;
}

/* Residuals of every frame in units of its sigma; one off the table counts as hopeless. */
static void set_residuals(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                          double clock_s, double *residual) {
    for (size_t i = 0; i < count; i++) {
        tl_track_sight at = tl_track_look(&obs[i], eclipse, clock_s);
        residual[i] = at.seen ? at.off_sr / at.sigma_sr : HUGE_VAL;
    }
}

/* From chi^2 of the separations over their degrees of freedom. */
static double chi_level(const tl_track_obs *obs, const double *residual, size_t count) {
    double chi2 = 0.0;
    size_t kept = 0;
    for (size_t i = 0; i < count; i++) {
        chi2 += obs[i].dropped ? 0.0 : residual[i] * residual[i];
        kept += obs[i].dropped ? 0 : 1;
    }
    return tl_track_noise_scale(chi2, (double)kept - 1.0);
}

/* How many frames with equal weights would be as uneven as those kept (Kish 1965). */
static double witnesses(const tl_track_obs *obs, size_t count) {
    double sum = 0.0, squares = 0.0;
    for (size_t i = 0; i < count; i++) {
        double weight = obs[i].dropped ? 0.0 : 1.0 / obs[i].s_sigma;
        sum += weight;
        squares += weight * weight;
    }
    return squares > 0.0 ? sum * sum / squares : 0.0;
}

/* The outlier that is least far off; NULL if there is none. */
static tl_track_obs *nearest_dropped(tl_track_obs *obs, const double *residual, size_t count) {
    size_t best = count;
    for (size_t i = 0; i < count; i++) {
        bool nearer = best == count || fabs(residual[i]) < fabs(residual[best]);
        best = obs[i].dropped && nearer ? i : best;
    }
    return best < count ? &obs[best] : NULL;
}

/*
 * Mark the outliers, unless too few frames are left to bear witness: of two good frames that
 * disagree among poor ones neither is known to be the wrong one, and the scatter goes into sigma.
 */
static bool judge(const problem *pb, const double *residual) {
    tl_track_obs *obs = pb->obs;
    bool changed = tl_track_mark_outliers(obs, residual, pb->count,
                                          tl_track_noise_level(residual, pb->count, pb->scratch),
                                          FRAMES_TO_JUDGE - 1);
    tl_track_obs *back;
    while (witnesses(obs, pb->count) < WITNESSES_MIN &&
           (back = nearest_dropped(obs, residual, pb->count)) != NULL) {
        back->dropped = false;
    }
    return changed;
}

/* Start, then fit and judge in turns until neither changes. */
static tl_status fit_robust(const problem *pb, double *residual, double *clock_s, double *level,
                            double *sigma_s) {
    const tl_track_obs *obs = pb->obs;
    tl_status status = start_clock(obs, pb->count, pb->eclipse, clock_s);
    *level = 1.0;
    for (int round = 0; status == TL_OK && round < ROUNDS_MAX; round++) {
        double before = *clock_s;
        set_residuals(obs, pb->count, pb->eclipse, *clock_s, residual);
        bool changed = judge(pb, residual);
        *level = chi_level(obs, residual, pb->count);
        status = fit_once(pb, *level, clock_s, sigma_s);
        if (round > 0 && !changed && fabs(*clock_s - before) < SETTLED_S) {
            break;
        }
    }
    return status;
}

static void describe(const problem *pb, double level, tl_track_clock_fit *fit) {
    const tl_track_obs *obs = pb->obs;
    double sum = 0.0;
    for (size_t i = 0; i < pb->count; i++) {
        tl_track_sight at = tl_track_look(&obs[i], pb->eclipse, fit->clock_s);
        fit->dropped[i] = obs[i].dropped || !at.seen;
        if (!fit->dropped[i]) {
            fit->used++;
            sum += at.off_sr * at.off_sr;
        }
    }
    fit->rms_sr = fit->used > 0 ? sqrt(sum / (double)fit->used) : 0.0;
    fit->noise_level = level;
    fit->chi2 = chi_square(obs, pb->count, pb->eclipse, fit->clock_s);
}

tl_status tl_track_clock_fit_make(const tl_track_obs *obs, size_t count,
                                  const tl_track_eclipse *eclipse, double start_s,
                                  tl_track_clock_fit *fit) {
    tl_track_clock_fit made = {.clock_s = start_s};
    tl_track_obs *mine = calloc(count, sizeof *mine);
    double *residual = calloc(count, sizeof *residual);
    double *scratch = calloc(count, sizeof *scratch);
    problem pb = {.obs = mine, .scratch = scratch, .count = count, .eclipse = eclipse};
    made.dropped = calloc(count, sizeof *made.dropped);
    tl_status status = TL_ERR_MEMORY;
    if (mine != NULL && residual != NULL && scratch != NULL && made.dropped != NULL) {
        memcpy(mine, obs, count * sizeof *mine);
        for (size_t i = 0; i < count; i++) {
            mine[i].dropped = false;
        }
        double level;
        status = fit_robust(&pb, residual, &made.clock_s, &level, &made.sigma_s);
        if (status == TL_OK) {
            describe(&pb, level, &made);
            status = made.used > 0 ? TL_OK : TL_ERR_NO_FIT;
        }
    }
    free(mine);
    free(residual);
    free(scratch);
    if (status == TL_OK) {
        *fit = made;
    } else {
        tl_track_clock_fit_free(&made);
    }
    return status;
}

void tl_track_clock_fit_free(tl_track_clock_fit *fit) {
    free(fit->dropped);
    free(fit->utc_s);
    free(fit->utc_sigma_s);
    *fit = (tl_track_clock_fit){0};
}
