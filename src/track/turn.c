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

double tl_track_turn_residual(const tl_track_obs *obs, const tl_sky *sky, tl_holding holding,
                              bool mirrored, double up_rad) {
    double up = sky->pa_rad - (mirrored ? -obs->direction_rad : obs->direction_rad);
    up -= holding == TL_HOLDING_ALTAZ ? sky->parallactic_rad : 0.0;
    return tl_angle_signed(up - up_rad);
}

tl_track_turn_row tl_track_turn_row_of(const tl_track_obs *obs, const tl_sky *sky) {
    return (tl_track_turn_row){
        .up_rad = {sky->pa_rad - obs->direction_rad, sky->pa_rad + obs->direction_rad},
        .parallactic_rad = sky->parallactic_rad,
        .sigma_rad = obs->direction_sigma_rad};
}

double tl_track_turn_rule(const tl_track_turn *turn, const tl_sky *sky) {
    return turn->up_rad + (turn->holding == TL_HOLDING_ALTAZ ? sky->parallactic_rad : 0.0);
}

bool tl_track_turn_shared(const tl_track_turn *turn) {
    return (turn->holding == TL_HOLDING_FIXED || turn->holding == TL_HOLDING_ALTAZ) &&
           turn->jitter_rad > 0.0 && turn->mirrored != TL_MIRROR_AUTO;
}

/* The rows under one rule. */
typedef struct ruled {
    const tl_track_turn_row *row;
    size_t count;
    tl_holding holding;
    bool mirrored;
} ruled;

static double up_of(const ruled *r, size_t i) {
    double up = r->row[i].up_rad[r->mirrored ? 1 : 0];
    return r->holding == TL_HOLDING_ALTAZ ? up - r->row[i].parallactic_rad : up;
}

/* The weighted mean direction for a given jitter, and -2 ln L about it. */
static double misfit(const ruled *r, double jitter, double *up) {
    double east = 0.0, north = 0.0, sum = 0.0;
    for (size_t i = 0; i < r->count; i++) {
        double sigma = r->row[i].sigma_rad, weight = 1.0 / (sigma * sigma + jitter * jitter);
        east += weight * sin(up_of(r, i));
        north += weight * cos(up_of(r, i));
    }
    *up = atan2(east, north);
    for (size_t i = 0; i < r->count; i++) {
        double variance = r->row[i].sigma_rad * r->row[i].sigma_rad + jitter * jitter;
        double off = tl_angle_signed(up_of(r, i) - *up);
        sum += off * off / variance + log(2.0 * TL_PI * variance);
    }
    return sum;
}

/* Error of the mean direction. */
static double mean_sigma(const ruled *r, double jitter) {
    double weight = 0.0;
    for (size_t i = 0; i < r->count; i++) {
        weight += 1.0 / (r->row[i].sigma_rad * r->row[i].sigma_rad + jitter * jitter);
    }
    return 1.0 / sqrt(weight);
}

/* Best jitter for one rule. With too few frames for the correction the rule is not chosen by
 * the data; asked for, it is still fitted. */
static tl_track_turn fit_rule(const ruled *r, bool asked) {
    tl_track_turn best = {.holding = r->holding,
                          .mirrored = r->mirrored ? TL_MIRROR_YES : TL_MIRROR_NO,
                          .criterion = HUGE_VAL};
    double n = (double)r->count, k = MODEL_PARAMETERS, price = 2.0 * k;
    if (n > k + 1.0) {
        price += 2.0 * k * (k + 1.0) / (n - k - 1.0);
    } else if (!asked || r->count == 0) {
        return best;
    }
    for (double jitter = JITTER_MIN_RAD; jitter < JITTER_MAX_RAD; jitter *= JITTER_STEP) {
        double up, criterion = price + misfit(r, jitter, &up);
        if (criterion < best.criterion) {
            best.criterion = criterion;
            best.up_rad = up;
            best.jitter_rad = jitter;
        }
    }
    best.up_sigma_rad = mean_sigma(r, best.jitter_rad);
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

tl_track_turn tl_track_turn_decide_rows(const tl_track_turn_row *row, size_t count,
                                        const tl_track_options *options) {
    static const tl_holding RULE[2] = {TL_HOLDING_FIXED, TL_HOLDING_ALTAZ};
    tl_track_turn rule[2][2];
    for (size_t i = 0; i < 4; i++) {
        ruled r = {.row = row, .count = count, .holding = RULE[i / 2], .mirrored = i % 2 == 1};
        bool asked = options->holding == r.holding;
        bool allowed = (asked || options->holding == TL_HOLDING_AUTO) &&
                       options->mirror != (r.mirrored ? TL_MIRROR_NO : TL_MIRROR_YES);
        rule[i / 2][i % 2] = allowed ? fit_rule(&r, asked)
                                     : (tl_track_turn){.holding = r.holding, .criterion = HUGE_VAL};
    }
    tl_track_turn without = {.holding = TL_HOLDING_FREE,
                             .mirrored = options->mirror,
                             .criterion = 2.0 * log(2.0 * TL_PI) * (double)count};
    tl_track_turn turn = compare((const tl_track_turn(*)[2])rule, without, options);
    turn.criterion -= without.criterion; /* so that it does not grow with the frames kept */
    return turn;
}

tl_status tl_track_turn_decide(const tl_track_obs *obs, size_t count,
                               const tl_track_eclipse *eclipse, double clock_s,
                               const tl_track_options *options, tl_track_turn *turn) {
    tl_track_turn_row *row = calloc(count + 1, sizeof *row);
    size_t rows = 0;
    if (row == NULL) {
        return TL_ERR_MEMORY;
    }
    for (size_t i = 0; i < count; i++) {
        tl_sky sky;
        if (obs[i].has_direction && !obs[i].dropped &&
            tl_sky_table_at(eclipse->table, obs[i].t_s - clock_s, &sky) == TL_OK) {
            row[rows++] = tl_track_turn_row_of(&obs[i], &sky);
        }
    }
    *turn = tl_track_turn_decide_rows(row, rows, options);
    free(row);
    return TL_OK;
}
