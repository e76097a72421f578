/*
 * late.c - stamps that are late, each by its own amount.
 *
 * Lateness has an exponential law: none is early, half of them are late by less than 0.7 of the
 * mean. With Gaussian errors of circles and reading a frame's residual then has an exponentially
 * modified Gaussian law (Grushka 1972, Analytical Chemistry 44:1733). Clock and mean lateness pull
 * each other, so both are had from the whole posterior on a grid (flat in the clock and in the
 * logarithm of the mean), not from its peak.
 */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_sf_erf.h>

#include "track/stamps_internal.h"

/* The grid: clocks in units of the scatter about the start, means by factors of it. */
static const double CLOCK_BELOW = 5.0, CLOCK_ABOVE = 3.0, CLOCK_SLACK_S = 2.0;
static const double MEAN_LOW = 0.3, MEAN_HIGH = 5.0;
enum { CLOCKS = 600, MEANS = 16 };
/* With a lateness below this share of the Gaussian error the law is that Gaussian, moved. */
static const double GAUSSIAN_BELOW = 0.05;
/* Posterior weights below this share of the peak's add nothing. */
static const double LOG_NEGLIGIBLE = 30.0;
/* A frame that is wrong more likely than not is named an outlier. */
static const double WRONG = 0.5;

/* A frame at one clock: what lateness would explain, q = lateness * |rate| + error. */
typedef struct late_sight {
    bool seen;
    double q_sr, rate, sigma_sr; /* rate: its size */
} late_sight;

/* Density of q for a mean lateness that moves the Moon by z. */
static double density(const late_sight *at, double z) {
    if (z < GAUSSIAN_BELOW * at->sigma_sr) {
        return gsl_ran_gaussian_pdf(at->q_sr - z, at->sigma_sr);
    }
    double over = at->sigma_sr / z, x = (over - at->q_sr / at->sigma_sr) / M_SQRT2;
    return exp(0.5 * over * over - at->q_sr / z + gsl_sf_log_erfc(x) - M_LN2) / z;
}

/* Mean and variance of what a stamp is behind by: its lateness, given the residual a Gaussian cut
 * off at zero, and the part of what is left over that the error of reading takes. */
static void behind(const late_sight *at, double t_sigma_s, double mean_s, double *expected_s,
                   double *variance) {
    double z = at->rate * mean_s, read2 = t_sigma_s * t_sigma_s;
    if (!at->seen || z < GAUSSIAN_BELOW * at->sigma_sr) { /* the frame does not tell */
        *expected_s = mean_s;
        *variance = mean_s * mean_s + read2;
        return;
    }
    double sigma_s = at->sigma_sr / at->rate, q_s = at->q_sr / at->rate;
    double peak_s = q_s - sigma_s * at->sigma_sr / z;
    double cut = -peak_s / sigma_s, hazard = gsl_sf_hazard(cut);
    double late_s = peak_s + sigma_s * hazard;
    double late2 = sigma_s * sigma_s * fmax(0.0, 1.0 - hazard * (hazard - cut));
    double gain = read2 / (sigma_s * sigma_s), rest = 1.0 - gain;
    *expected_s = rest * late_s + gain * q_s;
    *variance = rest * rest * late2 + rest * read2;
}

typedef struct grid {
    double clock_s[CLOCKS], mean_s[MEANS];
    double (*weight)[MEANS]; /* CLOCKS rows */
    late_sight *sight;       /* CLOCKS rows of the frames */
    size_t frames;
    double cost; /* the least */
    double level;
} grid;

static void grid_free(grid *g) {
    free(g->weight);
    free(g->sight);
}

static tl_status grid_make(const tl_track_stamp_view *v, double start_s, double scatter_s,
                           grid *g) {
    g->frames = v->count;
    g->weight = calloc(CLOCKS, sizeof *g->weight);
    g->sight = calloc(CLOCKS * v->count, sizeof *g->sight);
    if (g->weight == NULL || g->sight == NULL) {
        return TL_ERR_MEMORY;
    }
    double from_s = start_s - CLOCK_BELOW * scatter_s - CLOCK_SLACK_S;
    double to_s = start_s + CLOCK_ABOVE * scatter_s + CLOCK_SLACK_S;
    for (size_t c = 0; c < CLOCKS; c++) {
        g->clock_s[c] = from_s + (to_s - from_s) * (double)c / (CLOCKS - 1);
        for (size_t i = 0; i < v->count; i++) {
            tl_track_sight at = tl_track_look(&v->obs[i], v->eclipse, g->clock_s[c]);
            /* The sky at a late stamp is later than the picture: observed - almanac is
             * -rate * lateness. */
            g->sight[c * v->count + i] =
                (late_sight){at.seen, -copysign(1.0, at.rate) * at.off_sr, fabs(at.rate), 0.0};
        }
    }
    for (size_t m = 0; m < MEANS; m++) {
        double part = (double)m / (MEANS - 1);
        g->mean_s[m] = scatter_s * MEAN_LOW * pow(MEAN_HIGH / MEAN_LOW, part);
    }
    return TL_OK;
}

static void set_level(const tl_track_stamp_view *v, double level, grid *g) {
    g->level = level;
    for (size_t k = 0; k < CLOCKS * g->frames; k++) {
        const tl_track_obs *obs = &v->obs[k % g->frames];
        late_sight *at = &g->sight[k];
        at->sigma_sr = hypot(level * obs->s_sigma, at->rate * obs->t_sigma_s);
    }
}

static double frame_density(const late_sight *at, double mean_s) {
    return at->seen ? density(at, at->rate * mean_s) : 0.0;
}

/* Costs of the whole grid into `weight`; the least of them is returned. */
static double scan(grid *g) {
    double least = HUGE_VAL;
    for (size_t c = 0; c < CLOCKS; c++) {
        const late_sight *row = &g->sight[c * g->frames];
        for (size_t m = 0; m < MEANS; m++) {
            double cost = tl_track_level_cost(g->level);
            for (size_t i = 0; i < g->frames; i++) {
                cost += tl_track_frame_cost(frame_density(&row[i], g->mean_s[m]));
            }
            g->weight[c][m] = cost;
            least = fmin(least, cost);
        }
    }
    return least;
}

static void to_weights(grid *g) {
    double sum = 0.0;
    for (size_t k = 0; k < CLOCKS * MEANS; k++) {
        double *w = &g->weight[k / MEANS][k % MEANS], off = 0.5 * (*w - g->cost);
        *w = off < LOG_NEGLIGIBLE ? exp(-off) : 0.0;
        sum += *w;
    }
    for (size_t k = 0; k < CLOCKS * MEANS; k++) {
        g->weight[k / MEANS][k % MEANS] /= sum;
    }
}

/* Mean and standard deviation of a quantity over the posterior, summed up. */
typedef struct moments {
    double first, second;
} moments;

static void moments_add(moments *m, double weight, double value, double variance) {
    m->first += weight * value;
    m->second += weight * (value * value + variance);
}

static double moments_sigma(const moments *m) {
    return sqrt(fmax(0.0, m->second - m->first * m->first));
}

/* Clock, mean lateness, and each frame's true time. */
static void describe(const tl_track_stamp_view *v, const grid *g, tl_track_clock_fit *fit) {
    moments clock = {0}, mean = {0};
    double zero_s = g->clock_s[0], sum2 = 0.0;
    for (size_t k = 0; k < CLOCKS * MEANS; k++) {
        double weight = g->weight[k / MEANS][k % MEANS];
        moments_add(&clock, weight, g->clock_s[k / MEANS] - zero_s, 0.0);
        moments_add(&mean, weight, g->mean_s[k % MEANS], 0.0);
    }
    fit->clock_s = zero_s + clock.first;
    fit->sigma_s = moments_sigma(&clock);
    fit->stamps = TL_STAMPS_LATE;
    fit->scatter_s = mean.first;
    fit->scatter_sigma_s = moments_sigma(&mean);
    fit->noise_level = g->level;
    for (size_t i = 0; i < v->count; i++) {
        moments before = {0}; /* of the stamp: clock and lateness */
        double wrong = 0.0;
        for (size_t k = 0; k < CLOCKS * MEANS; k++) {
            double weight = g->weight[k / MEANS][k % MEANS], mean_s = g->mean_s[k % MEANS];
            if (weight > 0.0) {
                const late_sight *at = &g->sight[k / MEANS * g->frames + i];
                double behind_s, variance;
                behind(at, v->obs[i].t_sigma_s, mean_s, &behind_s, &variance);
                moments_add(&before, weight, g->clock_s[k / MEANS] - zero_s + behind_s, variance);
                double good = (1.0 - TL_TRACK_WRONG_SHARE) * frame_density(at, mean_s);
                double bad = TL_TRACK_WRONG_SHARE * TL_TRACK_WRONG_DENSITY;
                wrong += weight * bad / (good + bad);
            }
        }
        const tl_track_obs *obs = &v->obs[i];
        fit->dropped[i] = wrong > WRONG;
        fit->utc_s[i] = obs->t_s - zero_s - before.first;
        fit->utc_sigma_s[i] = moments_sigma(&before);
        if (fit->dropped[i]) {
            fit->utc_s[i] = obs->t_s - fit->clock_s - fit->scatter_s;
            fit->utc_sigma_s[i] = hypot(hypot(fit->scatter_s, fit->sigma_s), obs->t_sigma_s);
        } else {
            tl_track_sight at = tl_track_look(obs, v->eclipse, obs->t_s - fit->utc_s[i]);
            sum2 += at.off_sr * at.off_sr;
            fit->used++;
        }
    }
    fit->rms_sr = fit->used > 0 ? sqrt(sum2 / (double)fit->used) : 0.0;
}

/* The factor on the circles' errors that explains the series best. */
static void choose_level(const tl_track_stamp_view *v, grid *g) {
    double best = tl_track_level[0];
    g->cost = HUGE_VAL;
    for (size_t i = 0; i < TL_TRACK_LEVELS; i++) {
        set_level(v, tl_track_level[i], g);
        double cost = scan(g);
        if (cost < g->cost) {
            g->cost = cost;
            best = tl_track_level[i];
        }
    }
    set_level(v, best, g);
    scan(g);
}

tl_status tl_track_late(const tl_track_stamp_view *v, double start_s, double scatter_s,
                        tl_track_clock_fit *fit, double *cost) {
    tl_track_clock_fit made = {0};
    made.dropped = calloc(v->count + 1, sizeof *made.dropped);
    made.utc_s = calloc(v->count + 1, sizeof *made.utc_s);
    made.utc_sigma_s = calloc(v->count + 1, sizeof *made.utc_sigma_s);
    grid *g = calloc(1, sizeof *g);
    tl_status status = TL_ERR_MEMORY;
    if (made.dropped != NULL && made.utc_s != NULL && made.utc_sigma_s != NULL && g != NULL) {
        status = grid_make(v, start_s, scatter_s, g);
    }
    if (status == TL_OK) {
        choose_level(v, g);
        to_weights(g);
        describe(v, g, &made);
        *cost = g->cost;
        *fit = made;
    } else {
        tl_track_clock_fit_free(&made);
    }
    if (g != NULL) {
        grid_free(g);
    }
    free(g);
    return status;
}
