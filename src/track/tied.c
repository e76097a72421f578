/*
 * tied.c - the tied solution: search, refine, and choose among what fits.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

/* Solutions whose chi^2 differs by less fit about equally well: 3 sigma for one parameter. */
static const double ALIKE_CHI2 = 9.0;
/* Circles that are off by 50 arcsec rms are not circles, or it is another eclipse or place. */
static const double FIT_RMS_MAX_SR = 0.05;
/* Two starts that end closer than this, or half a sigma, have ended in the same minimum. */
static const double SAME_S = 1.0;

typedef struct candidate {
    tl_track_clock_fit fit;
    tl_track_turn turn;
    tl_track_zone zone;
    double chi2; /* separations and directions, in units of the common noise */
} candidate;

typedef struct candidate_list {
    candidate item[TL_TRACK_CANDIDATES];
    size_t count;
} candidate_list;

static void list_free(candidate_list *list) {
    for (size_t i = 0; i < list->count; i++) {
        tl_track_clock_fit_free(&list->item[i].fit);
    }
    list->count = 0;
}

static void set_dropped(tl_track_series *series, const tl_track_clock_fit *fit) {
    for (size_t i = 0; i < series->obs_count; i++) {
        series->obs[i].dropped = fit->dropped[i];
    }
}

static bool listed(const candidate_list *list, const tl_track_clock_fit *fit) {
    for (size_t i = 0; i < list->count; i++) {
        const tl_track_clock_fit *other = &list->item[i].fit;
        if (fabs(other->clock_s - fit->clock_s) < fmax(SAME_S, 0.5 * other->sigma_s)) {
            return true;
        }
    }
    return false;
}

/* Refine one start. What does not fit is passed over: that is TL_OK too. */
static tl_status add(tl_track_series *series, const tl_track_eclipse *eclipse,
                     const tl_track_options *options, double start_s, candidate_list *list) {
    candidate c = {0};
    tl_status status =
        tl_track_clock_fit_make(series->obs, series->obs_count, eclipse, start_s, &c.fit);
    if (status != TL_OK) {
        return status == TL_ERR_MEMORY ? status : TL_OK;
    }
    if (c.fit.rms_sr > FIT_RMS_MAX_SR || listed(list, &c.fit)) {
        tl_track_clock_fit_free(&c.fit);
        return TL_OK;
    }
    set_dropped(series, &c.fit);
    status = tl_track_turn_decide(series->obs, series->obs_count, eclipse, c.fit.clock_s, options,
                                  &c.turn);
    if (status != TL_OK) {
        tl_track_clock_fit_free(&c.fit);
        return status;
    }
    c.zone = tl_track_zone_split(c.fit.clock_s, series->zone_said, series->zone_minutes,
                                 eclipse->site.lon_rad);
    list->item[list->count++] = c;
    return TL_OK;
}

/* Bring all to one noise level, that of the one that fits best; returns the lowest chi^2. */
static double weigh(candidate_list *list) {
    double level = HUGE_VAL, lowest = HUGE_VAL;
    for (size_t i = 0; i < list->count; i++) {
        level = fmin(level, list->item[i].fit.noise_level);
    }
    for (size_t i = 0; i < list->count; i++) {
        candidate *c = &list->item[i];
        c->chi2 = c->fit.chi2 / (level * level) + c->turn.criterion;
        lowest = fmin(lowest, c->chi2);
    }
    return lowest;
}

/* Among those that fit about equally well, the one whose clock is the most believable. */
static size_t choose(const candidate_list *list, double lowest) {
    size_t best = 0;
    double best_cost = HUGE_VAL;
    for (size_t i = 0; i < list->count; i++) {
        const candidate *c = &list->item[i];
        double cost = c->chi2 + tl_track_zone_penalty(&c->zone);
        if (c->chi2 < lowest + ALIKE_CHI2 && cost < best_cost) {
            best_cost = cost;
            best = i;
        }
    }
    return best;
}

static void list_alternatives(const candidate_list *list, size_t chosen, double lowest,
                              tl_track_tied *tied) {
    for (size_t i = 0; i < list->count; i++) {
        const candidate *c = &list->item[i];
        if (i != chosen && c->chi2 < lowest + ALIKE_CHI2 &&
            tied->alternative_count < TL_CLOCK_ALTERNATIVES) {
            size_t k = tied->alternative_count++;
            tied->alternative_clock_s[k] = c->fit.clock_s;
            tied->alternative_sigma_s[k] = c->fit.sigma_s;
            tied->alternative_delta_chi2[k] = c->chi2 - list->item[chosen].chi2;
        }
    }
}

/* Do the directions, left to themselves, say something else than what was given? */
static tl_status check_given(const tl_track_series *series, const tl_track_eclipse *eclipse,
                             const tl_track_options *options, tl_track_tied *tied) {
    tl_track_options open = *options;
    tl_track_turn found;
    if (options->mirror == TL_MIRROR_AUTO && options->holding == TL_HOLDING_AUTO) {
        return TL_OK;
    }
    open.mirror = TL_MIRROR_AUTO;
    open.holding = TL_HOLDING_AUTO;
    tl_status status = tl_track_turn_decide(series->obs, series->obs_count, eclipse,
                                            tied->fit.clock_s, &open, &found);
    if (status != TL_OK) {
        return status;
    }
    bool rule = options->holding == TL_HOLDING_FIXED || options->holding == TL_HOLDING_ALTAZ;
    bool decided = found.holding == TL_HOLDING_FIXED || found.holding == TL_HOLDING_ALTAZ;
    tied->mirror_contradicted = options->mirror != TL_MIRROR_AUTO &&
                                found.mirrored != TL_MIRROR_AUTO &&
                                found.mirrored != options->mirror;
    tied->holding_contradicted = rule && (decided ? found.holding != options->holding
                                                  : tied->turn.jitter_rad > TL_TRACK_STEADY_RAD);
    return TL_OK;
}

static tl_status collect(tl_track_series *series, const tl_track_eclipse *eclipse,
                         const tl_track_options *options, candidate_list *list) {
    double start_s[TL_TRACK_CANDIDATES];
    size_t starts;
    tl_status status =
        tl_track_clock_search(series->obs, series->obs_count, eclipse, start_s, &starts);
    for (size_t i = 0; status == TL_OK && i < starts; i++) {
        status = add(series, eclipse, options, start_s[i], list);
    }
    return status;
}

tl_status tl_track_tied_solve(tl_track_series *series, const tl_track_eclipse *eclipse,
                              const tl_track_options *options, tl_track_tied *tied) {
    tl_track_tied made = {0};
    candidate_list list = {.count = 0};
    tl_status status = series->obs_count > 0 ? collect(series, eclipse, options, &list) : TL_OK;
    for (size_t i = 0; i < series->obs_count; i++) {
        series->obs[i].dropped = false;
    }
    if (status == TL_OK && list.count > 0) {
        double lowest = weigh(&list);
        size_t chosen = choose(&list, lowest);
        list_alternatives(&list, chosen, lowest, &made);
        made.solved = true;
        made.fit = list.item[chosen].fit;
        list.item[chosen].fit = (tl_track_clock_fit){0}; /* now owned by `made` */
        made.turn = list.item[chosen].turn;
        set_dropped(series, &made.fit);
        made.zone = list.item[chosen].zone;
        status = check_given(series, eclipse, options, &made);
    }
    list_free(&list);
    if (status == TL_OK) {
        *tied = made;
    } else {
        tl_track_tied_free(&made);
    }
    return status;
}

void tl_track_tied_free(tl_track_tied *tied) {
    tl_track_clock_fit_free(&tied->fit);
    *tied = (tl_track_tied){0};
}
