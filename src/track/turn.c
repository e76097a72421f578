/*
 * turn.c - how the camera was held, and whether the picture is mirrored.
 *
 * Each frame's own direction to the Moon and the almanac's position angle give its up_pa. Were
 * they one (equatorial mount), one plus the parallactic angle (alt-azimuth), or without rule?
 * Mirrored frames turn the other way, so a rule that holds for one hand fails for the other.
 *
 * The models are compared by AICc (Akaike 1974; Hurvich & Tsai 1989): -2 ln L + 2 k plus the
 * correction for few frames. Without a rule every direction is as likely: L = (1 / 2 pi)^n.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

/* Turns of single frames about the rule: from the polar misalignment of a mount put up by day to
 * a phone held level by eye (common practice, no source). */
static const double JITTER_MIN_RAD = 0.2 * TL_DEG, JITTER_MAX_RAD = 20.0 * TL_DEG;
static const double JITTER_STEP = 1.15; /* factor; the likelihood is flat on this scale */
static const double MODEL_PARAMETERS = 2.0;
/* Differences of the criterion that decide: "very strong" on the scale of Kass & Raftery (1995),
 * Journal of the American Statistical Association 90:773. */
static const double DECIDES = 10.0;
/* ... and that tell the two ways of mounting apart, "strong" there: both share the turn. */
static const double HOLDING_DECIDES = 6.0;
/* Four rules are tried (two ways of holding, mirrored or not): 2 ln 4 for the choice. */
static const double CHOICE = 2.77;

/* The up_pa each frame would have, and its error. */
typedef struct turns {
    double *up_rad, *sigma_rad;
    size_t count;
} turns;

static double up_of(const tl_track_obs *obs, const tl_sky *sky, tl_holding holding, bool mirrored) {
    double up = sky->pa_rad - (mirrored ? -obs->direction_rad : obs->direction_rad);
    return holding == TL_HOLDING_ALTAZ ? up - sky->parallactic_rad : up;
}

double tl_track_turn_residual(const tl_track_obs *obs, const tl_sky *sky, tl_holding holding,
                              bool mirrored, double up_rad) {
    return tl_angle_signed(up_of(obs, sky, holding, mirrored) - up_rad);
}

double tl_track_turn_rule(const tl_track_turn *turn, const tl_sky *sky) {
    return turn->up_rad + (turn->holding == TL_HOLDING_ALTAZ ? sky->parallactic_rad : 0.0);
}

bool tl_track_turn_shared(const tl_track_turn *turn) {
    return (turn->holding == TL_HOLDING_FIXED || turn->holding == TL_HOLDING_ALTAZ) &&
           turn->jitter_rad > 0.0 && turn->mirrored != TL_MIRROR_AUTO;
}

static void collect(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                    double clock_s, tl_holding holding, bool mirrored, turns *t) {
    t->count = 0;
    for (size_t i = 0; i < count; i++) {
        tl_sky sky;
        if (obs[i].has_direction && !obs[i].dropped &&
            tl_sky_table_at(eclipse->table, obs[i].t_s - clock_s, &sky) == TL_OK) {
            t->up_rad[t->count] = up_of(&obs[i], &sky, holding, mirrored);
            t->sigma_rad[t->count++] = obs[i].direction_sigma_rad;
        }
    }
}

/* The weighted mean direction for a given jitter, and -2 ln L about it. */
static double misfit(const turns *t, double jitter, double *up) {
    double east = 0.0, north = 0.0, sum = 0.0;
    for (size_t i = 0; i < t->count; i++) {
        double weight = 1.0 / (t->sigma_rad[i] * t->sigma_rad[i] + jitter * jitter);
        east += weight * sin(t->up_rad[i]);
        north += weight * cos(t->up_rad[i]);
    }
    *up = atan2(east, north);
    for (size_t i = 0; i < t->count; i++) {
        double variance = t->sigma_rad[i] * t->sigma_rad[i] + jitter * jitter;
        double off = tl_angle_signed(t->up_rad[i] - *up);
        sum += off * off / variance + log(2.0 * TL_PI * variance);
    }
    return sum;
}

/* Best jitter for one rule. With too few frames for the correction the rule is not chosen by
 * the data; asked for, it is still fitted. */
static tl_track_turn fit_rule(const turns *t, tl_holding holding, bool mirrored, bool asked) {
    tl_track_turn best = {.holding = holding,
                          .mirrored = mirrored ? TL_MIRROR_YES : TL_MIRROR_NO,
                          .criterion = HUGE_VAL};
    double n = (double)t->count, k = MODEL_PARAMETERS, price = 2.0 * k;
    if (n > k + 1.0) {
        price += 2.0 * k * (k + 1.0) / (n - k - 1.0);
    } else if (!asked || t->count == 0) {
        return best;
    }
    for (double jitter = JITTER_MIN_RAD; jitter < JITTER_MAX_RAD; jitter *= JITTER_STEP) {
        double up, criterion = price + misfit(t, jitter, &up);
        if (criterion < best.criterion) {
            best.criterion = criterion;
            best.up_rad = up;
            best.jitter_rad = jitter;
        }
    }
    return best;
}

/* The better rule; mirrored or not stays open unless the other hand is clearly worse. */
static tl_track_turn compare(const tl_track_turn rule[2][2], tl_track_turn without,
                             const tl_track_options *options) {
    tl_track_turn best = rule[0][0];
    for (size_t i = 0; i < 4; i++) {
        const tl_track_turn *r = &rule[i / 2][i % 2];
        best = r->criterion < best.criterion ? *r : best;
    }
    bool asked = options->holding == TL_HOLDING_FIXED || options->holding == TL_HOLDING_ALTAZ;
    if (!isfinite(best.criterion) ||
        (!asked && best.criterion > without.criterion - DECIDES - CHOICE)) {
        without.holding = asked ? options->holding : TL_HOLDING_FREE;
        return without;
    }
    size_t row = best.holding == TL_HOLDING_ALTAZ ? 1 : 0;
    double other = fmin(rule[1 - row][0].criterion, rule[1 - row][1].criterion);
    best.open = !asked && other < best.criterion + HOLDING_DECIDES;
    int hand = best.mirrored == TL_MIRROR_YES ? 0 : 1; /* the other one */
    double apart = fmin(rule[0][hand].criterion, rule[1][hand].criterion) - best.criterion;
    if (options->mirror == TL_MIRROR_AUTO && apart < DECIDES) {
        best.mirrored = TL_MIRROR_AUTO;
    }
    if (!asked && best.jitter_rad > TL_TRACK_STEADY_RAD) {
        best.holding = TL_HOLDING_FREE;
        best.open = false;
        best.jitter_rad = 0.0;
    }
    return best;
}

tl_status tl_track_turn_decide(const tl_track_obs *obs, size_t count,
                               const tl_track_eclipse *eclipse, double clock_s,
                               const tl_track_options *options, tl_track_turn *turn) {
    static const tl_holding RULE[2] = {TL_HOLDING_FIXED, TL_HOLDING_ALTAZ};
    turns t = {0};
    t.up_rad = calloc(count + 1, sizeof *t.up_rad);
    t.sigma_rad = calloc(count + 1, sizeof *t.sigma_rad);
    if (t.up_rad == NULL || t.sigma_rad == NULL) {
        free(t.up_rad);
        free(t.sigma_rad);
        return TL_ERR_MEMORY;
    }
    tl_track_turn rule[2][2];
    for (size_t i = 0; i < 4; i++) {
        tl_holding holding = RULE[i / 2];
        bool mirrored = i % 2 == 1, asked = options->holding == holding;
        bool allowed = (asked || options->holding == TL_HOLDING_AUTO) &&
                       options->mirror != (mirrored ? TL_MIRROR_NO : TL_MIRROR_YES);
        collect(obs, count, eclipse, clock_s, holding, mirrored, &t);
        rule[i / 2][i % 2] = allowed ? fit_rule(&t, holding, mirrored, asked)
                                     : (tl_track_turn){.holding = holding, .criterion = HUGE_VAL};
    }
    tl_track_turn without = {.holding = TL_HOLDING_FREE,
                             .mirrored = options->mirror,
                             .criterion = 2.0 * log(2.0 * TL_PI) * (double)t.count};
    *turn = compare((const tl_track_turn(*)[2])rule, without, options);
    turn->criterion -= without.criterion; /* so that it does not grow with the frames kept */
    free(t.up_rad);
    free(t.sigma_rad);
    return TL_OK;
}
