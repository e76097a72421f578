/*
 * untimed.c - times of measured frames whose camera time is not known.
 *
 * Each separation happens twice, before and after maximum. The frames of a camera come in the
 * order of their file names, taken to be that of time unless its dated frames contradict it: up to
 * some frame they are before maximum, from there on after. Each such division that keeps the order
 * puts the undated frames at definite times, at which the directions to the Moon do or do not hang
 * together (turn.c). Where all divisions that are left say the same of a frame, its side is known.
 * Without a trusted order each frame has only its own direction, against the turn that the dated
 * frames of the camera share. A frame whose own sunspots tell how it was turned needs neither order
 * nor others, and an order that goes against it is not that of time.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

static const double SIGMA_MIN_S = 1e-3;
/* Two frames are out of order when they are by more than this. */
static const double ORDER_SIGMAS = 3.0, ORDER_SLACK_S = 1.0;

/* Differences of the turns' criterion that rule a division out, as in turn.c. */
static const double TURN_DECIDES = 10.0;

enum { BEFORE = TL_TRACK_BEFORE, AFTER = TL_TRACK_AFTER };

/* One frame in the order; a frame with a camera time has the same time on both sides. */
typedef struct entry {
    size_t index;
    bool open; /* its side is asked for */
    double t_utc_s[2], sigma_s[2];
    bool by_order[2]; /* can be on this side: among the divisions that keep the order */
    bool by_turn[2];  /* and, of these, those that the turns allow */
    bool by_spots[2]; /* what its own sunspots allow; both where they do not tell */
} entry;

/* The frames of one camera. */
typedef struct camera_list {
    entry *item; /* owned */
    size_t count;
    tl_track_obs *obs; /* owned; as many, to try a division with */
} camera_list;

static entry open_entry(const tl_track_eclipse *eclipse, const tl_track_frame_in *f, size_t index) {
    entry e = {.index = index, .open = true};
    for (int side = BEFORE; side <= AFTER; side++) {
        /* Without a clock the floor is an error of each time. */
        double sigma = hypot(f->separation_sigma_sr, TL_TRACK_FLOOR_SR), s = f->separation_sr, rate;
        e.t_utc_s[side] = tl_track_eclipse_when(eclipse, s, side);
        if (tl_track_eclipse_separation(eclipse, e.t_utc_s[side], &s, &rate)) {
            /* One that the eclipse never has is off by what is missing, at least. */
            sigma = fmax(sigma, fabs(f->separation_sr - s));
        }
        /* Not by the slope, which vanishes at maximum. */
        double span = tl_track_eclipse_when(eclipse, s + sigma, side) -
                      tl_track_eclipse_when(eclipse, s - sigma, side);
        e.sigma_s[side] = fmax(0.5 * fabs(span), SIGMA_MIN_S);
    }
    return e;
}

/* Squared error of a frame's direction on one side of maximum; false if that cannot be said. */
static bool spots_cost(const tl_track_eclipse *eclipse, const tl_track_frame_in *f,
                       const tl_track_bearing *bearing, const entry *e, int side, double *cost) {
    tl_sky sky;
    tl_track_obs obs = tl_track_obs_of(f, e->t_utc_s[side]);
    if (!obs.has_direction || tl_sky_table_at(eclipse->table, e->t_utc_s[side], &sky) != TL_OK) {
        return false;
    }
    double off =
        tl_track_turn_residual(&obs, &sky, TL_HOLDING_FREE, bearing->mirrored, bearing->up_rad);
    double pa_sigma = hypot(tl_track_pa_sigma(eclipse, e->t_utc_s[side], e->sigma_s[side]),
                            TL_TRACK_FLOOR_SR / sky.separation_sr);
    double sigma = hypot(hypot(obs.direction_sigma_rad, bearing->sigma_rad), pa_sigma);
    *cost = off * off / (sigma * sigma);
    return true;
}

/* The side that a frame's sunspots tell, if one fits and the other clearly does not. */
static void ask_spots(const tl_track_eclipse *eclipse, const tl_track_frame_in *f,
                      const tl_track_bearing *bearing, entry *e) {
    const double fits = TL_TRACK_OUTLIER_SIGMAS * TL_TRACK_OUTLIER_SIGMAS;
    double cost[2];
    e->by_spots[BEFORE] = e->by_spots[AFTER] = true;
    if (!bearing->known || !spots_cost(eclipse, f, bearing, e, BEFORE, &cost[BEFORE]) ||
        !spots_cost(eclipse, f, bearing, e, AFTER, &cost[AFTER]) ||
        fmin(cost[BEFORE], cost[AFTER]) > fits) {
        return;
    }
    e->by_spots[BEFORE] = cost[BEFORE] < cost[AFTER] + TURN_DECIDES;
    e->by_spots[AFTER] = cost[AFTER] < cost[BEFORE] + TURN_DECIDES;
}

static bool told_by_spots(const entry *e) {
    return e->open && e->by_spots[BEFORE] != e->by_spots[AFTER];
}

static void list_entries(const tl_track_series *series, size_t camera,
                         const tl_track_eclipse *eclipse, const tl_track_compasses *compasses,
                         const tl_track *track, camera_list *list) {
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        const tl_track_frame *frame = &track->frame[i];
        if (f->camera == camera && f->measured && !f->timed) {
            entry e = open_entry(eclipse, f, i);
            ask_spots(eclipse, f, &compasses->frame[i], &e);
            list->item[list->count++] = e;
        } else if (f->camera == camera && frame->has_true && !frame->outlier) {
            list->item[list->count++] =
                (entry){.index = i,
                        .t_utc_s = {frame->true_utc_s, frame->true_utc_s},
                        .sigma_s = {frame->true_sigma_s, frame->true_sigma_s}};
        }
    }
}

/* Pairs of neighbours out of order if the frames from `split` on are after maximum, and frames that
 * would be on another side than their sunspots say. */
static size_t disorder(const camera_list *list, size_t split) {
    size_t wrong = 0;
    for (size_t i = 0; i < list->count; i++) {
        const entry *e = &list->item[i];
        wrong += e->open && !e->by_spots[i < split ? BEFORE : AFTER] ? 1 : 0;
    }
    for (size_t i = 1; i < list->count; i++) {
        const entry *a = &list->item[i - 1], *b = &list->item[i];
        int side_a = i - 1 < split ? BEFORE : AFTER, side_b = i < split ? BEFORE : AFTER;
        double slack = ORDER_SLACK_S + ORDER_SIGMAS * hypot(a->sigma_s[side_a], b->sigma_s[side_b]);
        wrong += a->t_utc_s[side_a] > b->t_utc_s[side_b] + slack ? 1 : 0;
    }
    return wrong;
}

/* What a division means for the directions: lower is better, see turn.c. */
static tl_status turn_criterion(const tl_track_series *series, const tl_track_eclipse *eclipse,
                                const tl_track_options *options, camera_list *list, size_t split,
                                double *criterion) {
    size_t count = 0;
    for (size_t i = 0; i < list->count; i++) {
        const entry *e = &list->item[i];
        const tl_track_frame_in *f = &series->frame[e->index];
        if (f->measured) {
            list->obs[count++] = tl_track_obs_of(f, e->t_utc_s[i < split ? BEFORE : AFTER]);
        }
    }
    tl_track_turn turn;
    tl_status status = tl_track_turn_decide(list->obs, count, eclipse, 0.0, options, &turn);
    *criterion = status == TL_OK ? turn.criterion : 0.0;
    return status;
}

/* Note what the divisions that keep the order allow, and what the turns leave of that. */
static tl_status try_divisions(const tl_track_series *series, const tl_track_eclipse *eclipse,
                               const tl_track_options *options, camera_list *list) {
    double *criterion = calloc(list->count + 1, sizeof *criterion);
    if (criterion == NULL) {
        return TL_ERR_MEMORY;
    }
    double lowest = HUGE_VAL;
    tl_status status = TL_OK;
    for (size_t split = 0; status == TL_OK && split <= list->count; split++) {
        criterion[split] = HUGE_VAL;
        if (disorder(list, split) == 0) {
            status = turn_criterion(series, eclipse, options, list, split, &criterion[split]);
            lowest = fmin(lowest, criterion[split]);
        }
    }
    for (size_t split = 0; status == TL_OK && split <= list->count; split++) {
        for (size_t i = 0; i < list->count && criterion[split] < HUGE_VAL; i++) {
            int side = i < split ? BEFORE : AFTER;
            list->item[i].by_order[side] = true;
            list->item[i].by_turn[side] =
                list->item[i].by_turn[side] || criterion[split] < lowest + TURN_DECIDES;
        }
    }
    free(criterion);
    return status;
}

/* A frame by itself against the turn that the camera's dated frames share. */
static void try_rule(const tl_track_series *series, const tl_track_eclipse *eclipse,
                     const tl_track_turn *turn, entry *e) {
    double cost[2] = {0.0, 0.0};
    for (int side = BEFORE; side <= AFTER; side++) {
        tl_sky sky;
        tl_track_obs obs = tl_track_obs_of(&series->frame[e->index], e->t_utc_s[side]);
        if (!obs.has_direction ||
            tl_sky_table_at(eclipse->table, e->t_utc_s[side], &sky) != TL_OK) {
            return;
        }
        double off = tl_track_turn_residual(&obs, &sky, turn->holding,
                                            turn->mirrored == TL_MIRROR_YES, turn->up_rad);
        cost[side] = off * off /
                     (turn->jitter_rad * turn->jitter_rad +
                      obs.direction_sigma_rad * obs.direction_sigma_rad);
    }
    e->by_turn[BEFORE] = cost[BEFORE] < cost[AFTER] + TURN_DECIDES;
    e->by_turn[AFTER] = cost[AFTER] < cost[BEFORE] + TURN_DECIDES;
}

static tl_status report(const entry *e, const tl_track_eclipse *eclipse, tl_track_frame *frame) {
    *frame = (tl_track_frame){.has_sides = true}; /* whatever it was without the sunspots */
    for (int side = BEFORE; side <= AFTER; side++) {
        frame->side_utc_s[side] = e->t_utc_s[side];
        frame->side_sigma_s[side] = e->sigma_s[side];
    }
    bool order = e->by_order[BEFORE] != e->by_order[AFTER];
    const bool *by = told_by_spots(e) ? e->by_spots : order ? e->by_order : e->by_turn;
    if (by[BEFORE] == by[AFTER]) {
        return TL_OK;
    }
    frame->side_by = by == e->by_spots ? TL_SIDE_BY_SPOTS
                     : order           ? TL_SIDE_BY_ORDER
                                       : TL_SIDE_BY_TURN;
    int side = by[BEFORE] ? BEFORE : AFTER;
    return tl_track_frame_set_time(e->t_utc_s[side], e->sigma_s[side], eclipse, frame);
}

static tl_status solve_camera(const tl_track_series *series, size_t camera,
                              const tl_track_eclipse *eclipse, const tl_track_tied *tied,
                              const tl_track_options *options, const tl_track_compasses *compasses,
                              camera_list *list, tl_track *track) {
    list->count = 0;
    list_entries(series, camera, eclipse, compasses, track, list);
    tl_status status = try_divisions(series, eclipse, options, list);
    for (size_t i = 0; status == TL_OK && i < list->count; i++) {
        entry *e = &list->item[i];
        if (!e->open) {
            continue;
        }
        bool order_kept = e->by_order[BEFORE] || e->by_order[AFTER];
        if (!order_kept && tied->solved && tl_track_turn_shared(&tied->turn)) {
            try_rule(series, eclipse, &tied->turn, e);
        }
        status = report(e, eclipse, &track->frame[e->index]);
    }
    return status;
}

static bool any_undated(const tl_track_series *series, size_t camera) {
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        if (f->camera == camera && f->measured && !f->timed) {
            return true;
        }
    }
    return false;
}

tl_status tl_track_untimed(const tl_track_series *series, const tl_track_eclipse *eclipse,
                           const tl_track_tied *tied, const tl_track_options *options,
                           const tl_track_compasses *compasses, tl_track *track) {
    camera_list list = {.item = calloc(series->frame_count + 1, sizeof *list.item),
                        .obs = calloc(series->frame_count + 1, sizeof *list.obs)};
    tl_status status = list.item != NULL && list.obs != NULL ? TL_OK : TL_ERR_MEMORY;
    for (size_t k = 0; status == TL_OK && k < series->camera_count; k++) {
        if (any_undated(series, k)) {
            status = solve_camera(series, k, eclipse, &tied[k], options, compasses, &list, track);
        }
    }
    free(list.item);
    free(list.obs);
    return status;
}
