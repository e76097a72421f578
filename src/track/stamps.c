/*
 * stamps.c - do the stamps of single frames scatter about the clock?
 *
 * A picture that went through a chat carries the time at which it was saved, seconds or half a
 * minute late, each by its own amount. Such scatter grows with the Moon's motion along the line of
 * centres, the errors of circles do not. Explanations, see stamps_internal.h:
 *
 *   sound      errors of the circles, up to a factor, and of reading the clock
 *   scattered  a Gaussian scatter of the stamps besides
 *   late       a lateness of each stamp besides (late.c)
 *
 * Stamps that scatter may well be late all the same: the error of the clock then holds the scatter.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>

#include "track/stamps_internal.h"

/* Factors from 1 to 4.8, without poor frames and with some. */
static const double LEVEL_STEP = 1.25, POOR_SHARE[2] = {0.0, 0.15};
enum { LEVELS = TL_TRACK_CIRCLES / 2 };
static const double LEVEL_SCATTER = 0.5; /* of the natural logarithm */

/* Late stamps are the exception, 2 ln 100; stamps that scatter to both sides are rarer still, as
 * nothing makes them early (common practice, no source). */
static const double LATE_COST = 9.2, SCATTERED_COST = 13.8;
/* Under these nothing asks for an explanation. */
static const double LEVEL_ASKS = 1.25;
enum { DROPPED_ASKS = 2 };
/* Lateness less likely than this is no matter; else the error of a sound clock holds it. */
static const double DOUBT_MIN = 0.02;
/* Fewer frames than this, counted by weight, can only disagree, not show a law. */
static const double FRAMES_MIN = 3.0;
/* Scatters tried reach to those of pictures saved some time later: 260 s. */
static const double SCATTER_STEP = 1.25;
enum { SCATTERS = 21 };
enum { CLOCK_ROUNDS = 4 };

tl_track_circles tl_track_circles_of(size_t i) {
    return (tl_track_circles){.level = pow(LEVEL_STEP, (double)(i % LEVELS)),
                              .poor_share = POOR_SHARE[i / LEVELS]};
}

double tl_track_circles_cost(const tl_track_circles *circles) {
    double off = log(circles->level) / LEVEL_SCATTER;
    return off * off;
}

double tl_track_frame_cost(const tl_track_circles *circles, double usual, double poor) {
    double good = (1.0 - circles->poor_share) * usual + circles->poor_share * poor;
    return -2.0 *
           log((1.0 - TL_TRACK_WRONG_SHARE) * good + TL_TRACK_WRONG_SHARE * TL_TRACK_WRONG_DENSITY);
}

/* Error of a frame's separation with this factor and scatter of the stamps. */
static double sigma_of(const tl_track_obs *obs, double rate, double level, double scatter_s) {
    return hypot(level * obs->s_sigma, rate * hypot(obs->t_sigma_s, scatter_s));
}

/* Cost of a Gaussian scatter at one clock, and a better clock by the frames that are not wrong. */
static double gauss_cost(const tl_track_stamp_view *v, const tl_track_clock_fit *clock,
                         const tl_track_circles *circles, double scatter_s, double *better_s) {
    double cost = 0.0, sum = 0.0, weights = 0.0;
    for (size_t i = 0; i < v->count; i++) {
        const tl_track_obs *obs = &v->obs[i];
        double total_s = obs->t_s - tl_track_clock_utc(clock, obs->t_s);
        tl_track_sight at = tl_track_look(obs, v->eclipse, total_s);
        double usual = 0.0, poor = 0.0;
        if (at.seen) {
            double sigma = sigma_of(obs, at.rate, circles->level, scatter_s);
            double wide = sigma_of(obs, at.rate, TL_TRACK_POOR_FACTOR * circles->level, scatter_s);
            usual = gsl_ran_gaussian_pdf(at.off_sr, sigma);
            poor = gsl_ran_gaussian_pdf(at.off_sr, wide);
            double density = exp(-0.5 * tl_track_frame_cost(circles, usual, poor));
            double weight = (1.0 - TL_TRACK_WRONG_SHARE) *
                            ((1.0 - circles->poor_share) * usual / (sigma * sigma) +
                             circles->poor_share * poor / (wide * wide)) /
                            density;
            sum -= weight * at.rate * at.off_sr;
            weights += weight * at.rate * at.rate;
        }
        cost += tl_track_frame_cost(circles, usual, poor);
    }
    *better_s = clock->clock_s + (weights > 0.0 ? sum / weights : 0.0);
    return cost + tl_track_circles_cost(circles);
}

/* The least cost for such circles and this scatter; the clock moves to it. */
static double settle(const tl_track_stamp_view *v, const tl_track_circles *circles,
                     double scatter_s, tl_track_clock_fit *clock) {
    double better_s, cost = gauss_cost(v, clock, circles, scatter_s, &better_s);
    for (int round = 0; round < CLOCK_ROUNDS; round++) {
        tl_track_clock_fit moved = *clock;
        moved.clock_s = better_s;
        double lower = gauss_cost(v, &moved, circles, scatter_s, &better_s);
        if (!(lower < cost)) {
            break;
        }
        *clock = moved;
        cost = lower;
    }
    return cost;
}

/* The best explanation with this scatter; 0: sound. */
static double least_cost(const tl_track_stamp_view *v, const tl_track_clock_fit *start,
                         double scatter_s, double *clock_s) {
    double least = HUGE_VAL;
    for (size_t i = 0; i < TL_TRACK_CIRCLES; i++) {
        const tl_track_circles circles = tl_track_circles_of(i);
        tl_track_clock_fit clock = *start;
        double cost = settle(v, &circles, scatter_s, &clock);
        if (cost < least) {
            least = cost;
            *clock_s = clock.clock_s;
        }
    }
    return least;
}

typedef struct scattered {
    double scatter_s, sigma_s, clock_s, cost;
} scattered;

/* Best scatter; its sigma from where the cost is higher by one. */
static scattered find_scatter(const tl_track_stamp_view *v, const tl_track_clock_fit *fit) {
    tl_track_clock_fit start = {.clock_s = fit->clock_s, .at_s = fit->at_s}; /* no drift */
    scattered best = {.cost = HUGE_VAL};
    double cost[SCATTERS], low = 0.0, high = 0.0, scatter_s = TL_TRACK_SCATTER_MIN_S;
    for (size_t i = 0; i < SCATTERS; i++, scatter_s *= SCATTER_STEP) {
        double clock_s;
        cost[i] = least_cost(v, &start, scatter_s, &clock_s);
        if (cost[i] < best.cost) {
            best = (scattered){scatter_s, 0.0, clock_s, cost[i]};
        }
    }
    scatter_s = TL_TRACK_SCATTER_MIN_S;
    for (size_t i = 0; i < SCATTERS; i++, scatter_s *= SCATTER_STEP) {
        if (cost[i] < best.cost + 1.0) {
            low = low > 0.0 ? low : scatter_s;
            high = scatter_s;
        }
    }
    best.sigma_s = fmax(0.5 * (high - low), 0.5 * (SCATTER_STEP - 1.0) * best.scatter_s);
    best.cost += SCATTERED_COST;
    return best;
}

/* True times from the stamp and the frame's own separation, each by its error. */
static tl_status set_times(const tl_track_stamp_view *v, tl_track_clock_fit *fit) {
    fit->utc_s = calloc(v->count + 1, sizeof *fit->utc_s);
    fit->utc_sigma_s = calloc(v->count + 1, sizeof *fit->utc_sigma_s);
    if (fit->utc_s == NULL || fit->utc_sigma_s == NULL) {
        return TL_ERR_MEMORY;
    }
    for (size_t i = 0; i < v->count; i++) {
        const tl_track_obs *obs = &v->obs[i];
        double stamp_sigma = hypot(obs->t_sigma_s, fit->scatter_s), gain = 0.0, move = 0.0;
        tl_track_sight at = tl_track_look(obs, v->eclipse, fit->clock_s);
        if (at.seen && !fit->dropped[i]) {
            double by_stamp = stamp_sigma * at.rate, by_circles = fit->noise_level * obs->s_sigma;
            gain = by_stamp * by_stamp / (by_stamp * by_stamp + by_circles * by_circles);
            move = gain > 0.0 ? gain * at.off_sr / at.rate : 0.0;
        }
        fit->utc_s[i] = obs->t_s - fit->clock_s + move;
        fit->utc_sigma_s[i] = hypot(sqrt(1.0 - gain) * stamp_sigma, (1.0 - gain) * fit->sigma_s);
    }
    return TL_OK;
}

/* No explanation but the sound one has a drift of its own: what may be there unseen takes its
 * place. */
static void without_drift(const tl_track_clock_fit *sound, tl_track_clock_fit *fit) {
    fit->at_s = sound->at_s;
    fit->drift_sigma = sound->has_drift ? TL_TRACK_DRIFT_USUAL : sound->drift_sigma;
}

static tl_status fit_scattered(const tl_track_stamp_view *v, const scattered *found,
                               tl_track_clock_fit *fit) {
    tl_track_obs *wide = calloc(v->count + 1, sizeof *wide);
    if (wide == NULL) {
        return TL_ERR_MEMORY;
    }
    memcpy(wide, v->obs, v->count * sizeof *wide);
    for (size_t i = 0; i < v->count; i++) {
        wide[i].t_sigma_s = hypot(wide[i].t_sigma_s, found->scatter_s);
    }
    tl_track_clock_fit made;
    tl_status status = tl_track_clock_fit_make(wide, v->count, v->eclipse, found->clock_s, &made);
    free(wide);
    if (status != TL_OK) {
        return status;
    }
    made.stamps = TL_STAMPS_SCATTERED;
    made.scatter_s = made.stamp_sigma_s = found->scatter_s;
    made.scatter_sigma_s = found->sigma_s;
    made.sigma_s = hypot(made.sigma_s, made.scatter_s);
    status = set_times(v, &made);
    if (status == TL_OK) {
        *fit = made;
    } else {
        tl_track_clock_fit_free(&made);
    }
    return status;
}

/* Frames that say something about the clock: the number of equal weights that would be as uneven
 * (Kish 1965, effective sample size). */
static double telling_frames(const tl_track_stamp_view *v, double clock_s) {
    double sum = 0.0, squares = 0.0;
    for (size_t i = 0; i < v->count; i++) {
        tl_track_sight at = tl_track_look(&v->obs[i], v->eclipse, clock_s);
        double weight = at.seen ? fabs(at.rate) / at.sigma_sr : 0.0;
        sum += weight;
        squares += weight * weight;
    }
    return squares > 0.0 ? sum * sum / squares : 0.0;
}

static size_t dropped_count(const tl_track_clock_fit *fit, size_t count) {
    size_t dropped = 0;
    for (size_t i = 0; i < count; i++) {
        dropped += fit->dropped[i] ? 1 : 0;
    }
    return dropped;
}

/* Widen the sigma of a sound clock by what it would be off by were the stamps late after all. */
static void hold_doubt(const tl_track_clock_fit *late, double cost_more,
                       tl_track_clock_fit *sound) {
    double share = 1.0 / (1.0 + exp(0.5 * cost_more)); /* of the two, by their likelihoods */
    if (share > DOUBT_MIN) {
        double off_s = hypot(late->clock_s - sound->clock_s, late->sigma_s);
        sound->sigma_s = hypot(sound->sigma_s, sqrt(share) * off_s);
    }
}

tl_status tl_track_stamps(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                          tl_track_clock_fit *fit) {
    const tl_track_stamp_view v = {obs, count, eclipse};
    if (telling_frames(&v, fit->clock_s) < FRAMES_MIN ||
        (fit->noise_level < LEVEL_ASKS && dropped_count(fit, count) < DROPPED_ASKS)) {
        return TL_OK;
    }
    double unused_s, sound_cost = least_cost(&v, fit, 0.0, &unused_s);
    scattered found = find_scatter(&v, fit);
    tl_track_clock_fit late = {0}, made = {0};
    double late_cost;
    tl_status status = tl_track_late(&v, found.clock_s, found.scatter_s, &late, &late_cost);
    if (status != TL_OK) {
        return status;
    }
    /* Wrong frames only are no explanation. */
    late_cost = late.used > 0 ? late_cost + LATE_COST : HUGE_VAL;
    if (sound_cost <= fmin(found.cost, late_cost)) {
        hold_doubt(&late, late_cost - sound_cost, fit);
        tl_track_clock_fit_free(&late);
        return TL_OK;
    }
    if (late_cost < found.cost) {
        made = late;
    } else {
        tl_track_clock_fit_free(&late);
        status = fit_scattered(&v, &found, &made);
    }
    if (status == TL_OK) {
        without_drift(fit, &made);
        tl_track_clock_fit_free(fit);
        *fit = made;
    }
    return status == TL_ERR_MEMORY ? status : TL_OK; /* else the sound explanation stands */
}
