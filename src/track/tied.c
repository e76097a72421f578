/*
 * tied.c - the tied solution: search, refine, and choose among what fits; one eclipse for all
 * cameras, one clock for each.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "track/track_internal.h"

/* Solutions whose chi^2 differs by less fit about equally well: 3 sigma for one parameter. */
static const double ALIKE_CHI2 = 9.0;
/* Circles that are off by 50 arcsec rms are not circles, or it is another eclipse or place. */
static const double FIT_RMS_MAX_SR = 0.05;
/* What a frame costs that no clock explains, as in the search. */
static const double MISSED_FRAME_COST = 9.0;
/* Starts that the search leaves so far behind the best are not refined: refining is within a step
 * of the search, and takes away no more than the frames' own scatter. */
static const double HOPELESS_COST = 40.0;
/* Two starts that end closer than this, or half a sigma, have ended in the same minimum. */
static const double SAME_S = 1.0;

typedef struct candidate {
    size_t eclipse; /* of the list */
    tl_track_clock_fit fit;
    tl_track_turn turn;
    tl_track_zone zone;
    double chi2; /* separations and directions, in units of the common noise */
    double cost; /* chi2 and how unlikely such a clock is */
    bool listed; /* as an alternative */
} candidate;

/* Of one camera. */
typedef struct candidate_list {
    candidate *item; /* owned; room for TL_TRACK_CANDIDATES of every eclipse */
    size_t count;
    double lowest; /* chi2 */
} candidate_list;

static void list_free(candidate_list *list) {
    for (size_t i = 0; i < list->count; i++) {
        tl_track_clock_fit_free(&list->item[i].fit);
    }
    free(list->item);
    *list = (candidate_list){0};
}

static void set_dropped(tl_track_obs *obs, size_t count, const tl_track_clock_fit *fit) {
    for (size_t i = 0; i < count; i++) {
        obs[i].dropped = fit != NULL && fit->dropped[i];
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

/* What a camera's series is compared with. */
typedef struct view {
    tl_track_obs *obs;
    size_t count;
    const tl_track_slice *slice;
    const tl_track_eclipses *eclipses;
    const tl_track_options *options;
} view;

static view view_of(tl_track_series *series, size_t camera, const tl_track_eclipses *eclipses,
                    const tl_track_options *options) {
    const tl_track_slice *slice = &series->camera[camera];
    return (view){series->obs + slice->first_obs, slice->obs_count, slice, eclipses, options};
}

/* Refine one start. What does not fit is passed over: that is TL_OK too. */
static tl_status add(const view *v, size_t which, double start_s, candidate_list *list) {
    const tl_track_eclipse *eclipse = &v->eclipses->item[which];
    candidate c = {.eclipse = which};
    tl_status status = tl_track_clock_fit_make(v->obs, v->count, eclipse, start_s, &c.fit);
    if (status != TL_OK) {
        return status == TL_ERR_MEMORY ? status : TL_OK;
    }
    if (c.fit.rms_sr > FIT_RMS_MAX_SR || !isfinite(c.fit.chi2) || listed(list, &c.fit)) {
        tl_track_clock_fit_free(&c.fit);
        return TL_OK;
    }
    set_dropped(v->obs, v->count, &c.fit);
    status = tl_track_turn_decide(v->obs, v->count, eclipse, c.fit.clock_s, v->options, &c.turn);
    if (status != TL_OK) {
        tl_track_clock_fit_free(&c.fit);
        return status;
    }
    c.zone = tl_track_zone_split(c.fit.clock_s, v->slice->zone_said, v->slice->zone_minutes,
                                 eclipse->site.lon_rad);
    list->item[list->count++] = c;
    return TL_OK;
}

/* Bring all to one noise level, that of the one that fits best. */
static void weigh(candidate_list *list) {
    double level = HUGE_VAL;
    list->lowest = HUGE_VAL;
    for (size_t i = 0; i < list->count; i++) {
        level = fmin(level, list->item[i].fit.noise_level);
    }
    for (size_t i = 0; i < list->count; i++) {
        candidate *c = &list->item[i];
        c->chi2 = c->fit.chi2 / (level * level) + c->turn.criterion;
        c->cost = c->chi2 + tl_track_zone_penalty(&c->zone);
        list->lowest = fmin(list->lowest, c->chi2);
    }
}

/* A start of the refinement. */
typedef struct origin {
    size_t eclipse;
    tl_track_start start;
} origin;

/* All starts of all eclipses; `*lowest` is the cost of the best. */
static tl_status search(const view *v, origin *list, size_t *count, double *lowest) {
    tl_status status = TL_OK;
    *count = 0;
    *lowest = HUGE_VAL;
    for (size_t e = 0; status == TL_OK && v->count > 0 && e < v->eclipses->count; e++) {
        tl_track_start start[TL_TRACK_CANDIDATES];
        size_t found;
        status = tl_track_clock_search(v->obs, v->count, &v->eclipses->item[e], start, &found);
        for (size_t i = 0; status == TL_OK && i < found; i++) {
            list[(*count)++] = (origin){e, start[i]};
            *lowest = fmin(*lowest, start[i].cost);
        }
    }
    return status;
}

static tl_status collect(const view *v, candidate_list *list) {
    size_t room = v->eclipses->count * TL_TRACK_CANDIDATES + 1, starts;
    double lowest;
    origin *from = calloc(room, sizeof *from);
    list->item = calloc(room, sizeof *list->item);
    tl_status status =
        from == NULL || list->item == NULL ? TL_ERR_MEMORY : search(v, from, &starts, &lowest);
    for (size_t i = 0; status == TL_OK && i < starts; i++) {
        if (from[i].start.cost < lowest + HOPELESS_COST) {
            status = add(v, from[i].eclipse, from[i].start.clock_s, list);
        }
    }
    free(from);
    set_dropped(v->obs, v->count, NULL);
    weigh(list);
    return status;
}

/* The likeliest of an eclipse; NULL if none fits it. */
static const candidate *best_of(const candidate_list *list, size_t eclipse) {
    const candidate *best = NULL;
    for (size_t i = 0; i < list->count; i++) {
        const candidate *c = &list->item[i];
        if (c->eclipse == eclipse && (best == NULL || c->cost < best->cost)) {
            best = c;
        }
    }
    return best;
}

/* The eclipse that all cameras together speak for. A camera that has no clock for it counts as one
 * none of whose frames fits. */
static size_t choose_eclipse(const candidate_list *list, const tl_track_series *series,
                             size_t eclipses) {
    size_t chosen = 0;
    double lowest = HUGE_VAL;
    for (size_t e = 0; e < eclipses; e++) {
        double cost = 0.0;
        bool any = false;
        for (size_t k = 0; k < series->camera_count; k++) {
            const candidate *best = best_of(&list[k], e);
            double nothing = MISSED_FRAME_COST * (double)series->camera[k].obs_count;
            cost += best != NULL ? fmin(best->cost, nothing) : nothing;
            any = any || best != NULL;
        }
        if (any && cost < lowest) {
            lowest = cost;
            chosen = e;
        }
    }
    return chosen;
}

/* What fits about equally well, the likeliest first. */
static void list_alternatives(const candidate_list *list, const candidate *chosen,
                              tl_track_tied *tied) {
    while (tied->alternative_count < TL_CLOCK_ALTERNATIVES) {
        candidate *next = NULL;
        for (size_t i = 0; i < list->count; i++) {
            candidate *c = &list->item[i];
            bool alike = c->chi2 < list->lowest + ALIKE_CHI2 || c->cost < chosen->cost + ALIKE_CHI2;
            if (c != chosen && alike && !c->listed && (next == NULL || c->cost < next->cost)) {
                next = c;
            }
        }
        if (next == NULL) {
            break;
        }
        next->listed = true;
        size_t n = tied->alternative_count++;
        tied->alternative[n].clock_s = next->fit.clock_s;
        tied->alternative[n].sigma_s = next->fit.sigma_s;
        tied->alternative[n].delta_chi2 = next->chi2 - chosen->chi2;
        tied->alternative[n].zone = next->zone;
    }
}

/* The total taken may also be read as another zone, at no cost to the fit: in the first place of
 * the alternatives. */
static void list_reading(const view *v, const tl_track_eclipse *eclipse, tl_track_tied *tied) {
    tl_track_zone other;
    if (!tl_track_zone_other(&tied->zone, tied->fit.clock_s, v->slice->zone_said,
                             v->slice->zone_minutes, eclipse->site.lon_rad, &other)) {
        return;
    }
    size_t kept = tied->alternative_count < TL_CLOCK_ALTERNATIVES ? tied->alternative_count
                                                                  : TL_CLOCK_ALTERNATIVES - 1;
    memmove(&tied->alternative[1], &tied->alternative[0], kept * sizeof tied->alternative[0]);
    tied->alternative_count = kept + 1;
    tied->alternative[0].clock_s = tied->fit.clock_s;
    tied->alternative[0].sigma_s = tied->fit.sigma_s;
    tied->alternative[0].delta_chi2 = 0.0;
    tied->alternative[0].zone = other;
    tied->alternative[0].same_clock = true;
}

bool tl_track_holding_contradicted(const tl_track_options *options, const tl_track_turn *found,
                                   const tl_track_turn *turn) {
    bool rule = options->holding == TL_HOLDING_FIXED || options->holding == TL_HOLDING_ALTAZ;
    bool decided = found->holding == TL_HOLDING_FIXED || found->holding == TL_HOLDING_ALTAZ;
    bool other = decided ? found->holding != options->holding && !found->open
                         : turn->jitter_rad > TL_TRACK_STEADY_RAD;
    return rule && other;
}

/* Do the directions, left to themselves, say something else than what was given? */
static tl_status check_given(const view *v, const tl_track_eclipse *eclipse, tl_track_tied *tied) {
    const tl_track_options *options = v->options;
    tl_track_options open = *options;
    tl_track_turn found;
    if (options->mirror == TL_MIRROR_AUTO && options->holding == TL_HOLDING_AUTO) {
        return TL_OK;
    }
    open.mirror = TL_MIRROR_AUTO;
    open.holding = TL_HOLDING_AUTO;
    tl_status status =
        tl_track_turn_decide(v->obs, v->count, eclipse, tied->fit.clock_s, &open, &found);
    if (status != TL_OK) {
        return status;
    }
    tied->mirror_contradicted = options->mirror != TL_MIRROR_AUTO &&
                                found.mirrored != TL_MIRROR_AUTO &&
                                found.mirrored != options->mirror;
    tied->holding_contradicted = tl_track_holding_contradicted(options, &found, &tied->turn);
    return TL_OK;
}

/* The camera's clock for the eclipse chosen, with drift and stamps looked into. */
static tl_status settle(const view *v, const candidate_list *list, size_t eclipse,
                        tl_track_tied *tied) {
    const candidate *best = best_of(list, eclipse);
    if (best == NULL) {
        return TL_OK;
    }
    const tl_track_eclipse *e = &v->eclipses->item[eclipse];
    tl_track_tied made = {.solved = true, .turn = best->turn};
    list_alternatives(list, best, &made);
    tl_status status = tl_track_clock_fit_make(v->obs, v->count, e, best->fit.clock_s, &made.fit);
    if (status == TL_OK) {
        status = tl_track_drift(v->obs, v->count, e, &made.fit);
    }
    if (status == TL_OK) {
        status = tl_track_stamps(v->obs, v->count, e, &made.fit);
    }
    if (status == TL_OK) {
        set_dropped(v->obs, v->count, &made.fit);
        made.zone = tl_track_zone_split(made.fit.clock_s, v->slice->zone_said,
                                        v->slice->zone_minutes, e->site.lon_rad);
        list_reading(v, e, &made);
        status = check_given(v, e, &made);
    }
    if (status == TL_OK) {
        *tied = made;
    } else {
        tl_track_tied_free(&made);
    }
    return status == TL_ERR_MEMORY ? status : TL_OK; /* else the last fit found no frame of use */
}

tl_status tl_track_tied_solve(tl_track_series *series, const tl_track_eclipses *eclipses,
                              const tl_track_options *options, tl_track_tied tied[TL_CAMERAS_MAX],
                              size_t *chosen) {
    candidate_list list[TL_CAMERAS_MAX] = {{0}};
    const size_t cameras = series->camera_count;
    tl_status status = TL_OK;
    for (size_t k = 0; k < cameras; k++) {
        tied[k] = (tl_track_tied){0};
    }
    for (size_t k = 0; status == TL_OK && k < cameras; k++) {
        view v = view_of(series, k, eclipses, options);
        status = collect(&v, &list[k]);
    }
    if (status == TL_OK) {
        *chosen = choose_eclipse(list, series, eclipses->count);
    }
    for (size_t k = 0; status == TL_OK && k < cameras; k++) {
        view v = view_of(series, k, eclipses, options);
        status = settle(&v, &list[k], *chosen, &tied[k]);
    }
    for (size_t k = 0; k < cameras; k++) {
        list_free(&list[k]);
        if (status != TL_OK) {
            tl_track_tied_free(&tied[k]);
        }
    }
    return status;
}

void tl_track_tied_free(tl_track_tied *tied) {
    tl_track_clock_fit_free(&tied->fit);
    *tied = (tl_track_tied){0};
}
