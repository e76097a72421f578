/*
 * late.c - stamps that are late, each by its own amount.
 *
 * Clock and mean lateness pull each other, and the law of lateness is not known: so both are had
 * from the whole posterior on a grid (flat in the clock and in the logarithm of the mean, the two
 * laws of late_law.c alike), not from its peak.
 */
#include <math.h>
#include <stdlib.h>

#include "track/stamps_internal.h"

/* The grid: clocks in units of the scatter about the start, means by factors of it. */
static const double CLOCK_BELOW = 5.0, CLOCK_ABOVE = 3.0;
static const double MEAN_LOW = 0.4, MEAN_HIGH = 4.0;
enum { CLOCKS = 500, MEANS = 14, COLUMNS = MEANS * TL_TRACK_LATE_LAWS };
/* The errors of the circles are chosen on every so many-th clock. */
enum { COARSE = 5 };
/* Posterior weights that much below the peak's logarithm add nothing. */
static const double LOG_NEGLIGIBLE = 20.0;
/* A frame that is wrong more likely than not is named an outlier. */
static const double WRONG = 0.5;

typedef struct grid {
    double clock_s[CLOCKS], mean_s[MEANS];
    double (*weight)[COLUMNS];  /* CLOCKS rows */
    tl_track_late_sight *sight; /* CLOCKS rows of the frames */
    size_t frames;
    tl_track_circles circles;
    double cost; /* the least */
} grid;

static double column_mean(const grid *g, size_t column) {
    return g->mean_s[column % MEANS];
}

static tl_track_late_law column_law(size_t column) {
    return column < MEANS ? TL_TRACK_LATE_EXPONENTIAL : TL_TRACK_LATE_UNIFORM;
}

static tl_status grid_make(const tl_track_stamp_view *v, double start_s, double scatter_s,
                           grid *g) {
    g->frames = v->count;
    g->weight = calloc(CLOCKS, sizeof *g->weight);
    g->sight = calloc(CLOCKS * v->count, sizeof *g->sight);
    if (g->weight == NULL || g->sight == NULL) {
        return TL_ERR_MEMORY;
    }
    double from_s = start_s - CLOCK_BELOW * scatter_s, to_s = start_s + CLOCK_ABOVE * scatter_s;
    for (size_t c = 0; c < CLOCKS; c++) {
        g->clock_s[c] = from_s + (to_s - from_s) * (double)c / (CLOCKS - 1);
        for (size_t i = 0; i < v->count; i++) {
            tl_track_sight at = tl_track_look(&v->obs[i], v->eclipse, g->clock_s[c]);
            /* The sky at a late stamp is later than the picture: observed - almanac is
             * -rate * lateness. */
            g->sight[c * v->count + i] =
                (tl_track_late_sight){.seen = at.seen,
                                      .q_sr = -copysign(1.0, at.rate) * at.off_sr,
                                      .rate = fabs(at.rate)};
        }
    }
    double low_s = fmax(MEAN_LOW * scatter_s, TL_TRACK_SCATTER_MIN_S);
    for (size_t m = 0; m < MEANS; m++) {
        double part = (double)m / (MEANS - 1);
        g->mean_s[m] = low_s * pow(MEAN_HIGH / MEAN_LOW, part);
    }
    return TL_OK;
}

static void set_circles(const tl_track_stamp_view *v, tl_track_circles circles, grid *g) {
    const double level = circles.level;
    g->circles = circles;
    for (size_t k = 0; k < CLOCKS * g->frames; k++) {
        const tl_track_obs *obs = &v->obs[k % g->frames];
        tl_track_late_sight *at = &g->sight[k];
        double read_sr = at->rate * obs->t_sigma_s;
        at->sigma_sr[0] = hypot(level * obs->s_sigma, read_sr);
        at->sigma_sr[1] = hypot(TL_TRACK_POOR_FACTOR * level * obs->s_sigma, read_sr);
    }
}

/* Costs of every `stride`-th clock into `weight`; the least of them. */
static double scan(grid *g, size_t stride) {
    double least = HUGE_VAL;
    for (size_t c = 0; c < CLOCKS; c += stride) {
        const tl_track_late_sight *row = &g->sight[c * g->frames];
        for (size_t m = 0; m < COLUMNS; m++) {
            double cost = tl_track_circles_cost(&g->circles), mean_s = column_mean(g, m);
            for (size_t i = 0; i < g->frames; i++) {
                cost += tl_track_frame_cost(
                    &g->circles, tl_track_late_density(column_law(m), &row[i], 0, mean_s),
                    tl_track_late_density(column_law(m), &row[i], 1, mean_s));
            }
            g->weight[c][m] = cost;
            least = fmin(least, cost);
        }
    }
    return least;
}

/* The circles' errors that explain the series best; then the whole grid with the best that have
 * poor frames among them, for what is said of single frames should not hang on a law without tails.
 * The cost is the least of all. */
static double choose_circles(const tl_track_stamp_view *v, grid *g) {
    size_t best = 0;
    double least = HUGE_VAL, least_poor = HUGE_VAL;
    for (size_t i = 0; i < TL_TRACK_CIRCLES; i++) {
        const tl_track_circles circles = tl_track_circles_of(i);
        set_circles(v, circles, g);
        double cost = scan(g, COARSE);
        least = fmin(least, cost);
        if (circles.poor_share > 0.0 && cost < least_poor) {
            least_poor = cost;
            best = i;
        }
    }
    set_circles(v, tl_track_circles_of(best), g);
    g->cost = scan(g, 1);
    return fmin(least, g->cost);
}

static void to_weights(grid *g) {
    double sum = 0.0;
    for (size_t k = 0; k < (size_t)CLOCKS * COLUMNS; k++) {
        double *w = &g->weight[k / COLUMNS][k % COLUMNS], off = 0.5 * (*w - g->cost);
        *w = off < LOG_NEGLIGIBLE ? exp(-off) : 0.0;
        sum += *w;
    }
    for (size_t k = 0; k < (size_t)CLOCKS * COLUMNS; k++) {
        g->weight[k / COLUMNS][k % COLUMNS] /= sum;
    }
}

/* Mean and standard deviation of a quantity over the posterior, summed up. */
typedef struct moments {
    double weight, first, second;
} moments;

static void moments_add(moments *m, double weight, double value, double variance) {
    m->weight += weight;
    m->first += weight * value;
    m->second += weight * (value * value + variance);
}

static double moments_mean(const moments *m) {
    return m->weight > 0.0 ? m->first / m->weight : 0.0;
}

static double moments_sigma(const moments *m) {
    double mean = moments_mean(m);
    return m->weight > 0.0 ? sqrt(fmax(0.0, m->second / m->weight - mean * mean)) : 0.0;
}

static void set_clock(const grid *g, tl_track_clock_fit *fit) {
    moments clock = {0}, mean = {0};
    double variance = 0.0; /* of the lateness, by its law */
    double step_s = g->clock_s[1] - g->clock_s[0], cell = step_s * step_s / 12.0;
    for (size_t k = 0; k < (size_t)CLOCKS * COLUMNS; k++) {
        double weight = g->weight[k / COLUMNS][k % COLUMNS];
        moments_add(&clock, weight, g->clock_s[k / COLUMNS] - g->clock_s[0], cell);
        double mean_s = column_mean(g, k % COLUMNS);
        bool even = column_law(k % COLUMNS) == TL_TRACK_LATE_UNIFORM;
        moments_add(&mean, weight, mean_s, 0.0);
        variance += weight * mean_s * mean_s / (even ? 3.0 : 1.0);
    }
    fit->clock_s = g->clock_s[0] + moments_mean(&clock);
    fit->sigma_s = moments_sigma(&clock);
    fit->stamps = TL_STAMPS_LATE;
    fit->scatter_s = moments_mean(&mean);
    fit->scatter_sigma_s = moments_sigma(&mean);
    fit->stamp_sigma_s = sqrt(variance);
    fit->noise_level = g->circles.level;
}

/* What the stamp of frame `i` is behind true time by, clock and lateness together, and the
 * probability that the frame is wrong. */
static double frame_moments(const tl_track_stamp_view *v, const grid *g, size_t i,
                            moments *behind) {
    double wrong = 0.0;
    for (size_t k = 0; k < (size_t)CLOCKS * COLUMNS; k++) {
        double weight = g->weight[k / COLUMNS][k % COLUMNS];
        if (!(weight > 0.0)) {
            continue;
        }
        const tl_track_late_sight *at = &g->sight[k / COLUMNS * g->frames + i];
        tl_track_late_law law = column_law(k % COLUMNS);
        double mean_s = column_mean(g, k % COLUMNS), share[2];
        share[0] = (1.0 - g->circles.poor_share) * tl_track_late_density(law, at, 0, mean_s);
        share[1] = g->circles.poor_share * tl_track_late_density(law, at, 1, mean_s);
        double good = (1.0 - TL_TRACK_WRONG_SHARE) * (share[0] + share[1]);
        double bad = TL_TRACK_WRONG_SHARE * TL_TRACK_WRONG_DENSITY;
        wrong += weight * bad / (good + bad);
        for (int poor = 0; poor < 2 && good > 0.0; poor++) {
            double late_s, variance;
            tl_track_late_behind(law, at, poor, mean_s, v->obs[i].t_sigma_s, &late_s, &variance);
            moments_add(behind, weight * share[poor] / (share[0] + share[1]),
                        g->clock_s[k / COLUMNS] - g->clock_s[0] + late_s, variance);
        }
    }
    return wrong;
}

static void set_frame(const tl_track_stamp_view *v, const grid *g, size_t i,
                      tl_track_clock_fit *fit) {
    const tl_track_obs *obs = &v->obs[i];
    moments behind = {0};
    fit->dropped[i] = frame_moments(v, g, i, &behind) > WRONG;
    fit->utc_s[i] = obs->t_s - g->clock_s[0] - moments_mean(&behind);
    fit->utc_sigma_s[i] = moments_sigma(&behind);
    if (fit->dropped[i]) {
        fit->utc_s[i] = obs->t_s - fit->clock_s - fit->scatter_s;
        fit->utc_sigma_s[i] = hypot(hypot(fit->stamp_sigma_s, fit->sigma_s), obs->t_sigma_s);
    }
}

static void describe(const tl_track_stamp_view *v, const grid *g, tl_track_clock_fit *fit) {
    double sum = 0.0;
    set_clock(g, fit);
    for (size_t i = 0; i < v->count; i++) {
        set_frame(v, g, i, fit);
        if (!fit->dropped[i]) {
            const tl_track_obs *obs = &v->obs[i];
            double off = tl_track_look(obs, v->eclipse, obs->t_s - fit->utc_s[i]).off_sr;
            sum += off * off;
            fit->used++;
        }
    }
    fit->rms_sr = fit->used > 0 ? sqrt(sum / (double)fit->used) : 0.0;
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
        *cost = choose_circles(v, g);
        to_weights(g);
        describe(v, g, &made);
        *fit = made;
    } else {
        tl_track_clock_fit_free(&made);
    }
    if (g != NULL) {
        free(g->weight);
        free(g->sight);
    }
    free(g);
    return status;
}
