/*
 * untimed.c - times of measured frames whose camera time is not known.
 *
 * Each separation happens twice, before and after maximum. The frames come in the order of
 * their file names, taken to be that of time: up to some frame they are before maximum, from
 * there on after. Where every such division that keeps the order says the same of a frame, its
 * time is known; elsewhere it stays open.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

static const double ROOT_EXACT_S = 1e-3;
/* Two frames are out of order when they are by more than this. */
static const double ORDER_SIGMAS = 3.0, ORDER_SLACK_S = 1.0;

enum { BEFORE, AFTER };

/* One frame in the order; a frame with a camera time has the same time on both sides. */
typedef struct entry {
    size_t index;
    bool open; /* its side is asked for */
    double t_utc_s[2], sigma_s[2];
    bool can_be[2]; /* among the divisions that keep the order */
} entry;

static double separation_at(const tl_track_eclipse *eclipse, double t_utc_s) {
    tl_sky sky;
    return tl_sky_table_at(eclipse->table, t_utc_s, &sky) == TL_OK ? sky.separation_sr : HUGE_VAL;
}

/* When the separation is `s` on one side; at the ends of that side if it never is. */
static double time_of(const tl_track_eclipse *eclipse, double s, int side) {
    const tl_contact *contact = eclipse->circumstances.contact;
    double inner = contact[TL_MAX].t_utc_s;
    double outer = contact[side == BEFORE ? TL_C1 : TL_C4].t_utc_s;
    while (fabs(outer - inner) > ROOT_EXACT_S) {
        double middle = 0.5 * (inner + outer);
        *(separation_at(eclipse, middle) < s ? &inner : &outer) = middle;
    }
    return 0.5 * (inner + outer);
}

static entry open_entry(const tl_track_eclipse *eclipse, const tl_track_frame_in *f, size_t index) {
    entry e = {.index = index, .open = true};
    for (int side = BEFORE; side <= AFTER; side++) {
        double s = f->separation_sr, sigma = f->separation_sigma_sr;
        e.t_utc_s[side] = time_of(eclipse, s, side);
        /* Not by the slope, which vanishes at maximum. */
        double span = time_of(eclipse, s + sigma, side) - time_of(eclipse, s - sigma, side);
        e.sigma_s[side] = fmax(0.5 * fabs(span), ROOT_EXACT_S);
    }
    return e;
}

static size_t list_entries(const tl_track_series *series, const tl_track_eclipse *eclipse,
                           const tl_track *track, entry *list) {
    size_t count = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        const tl_track_frame *frame = &track->frame[i];
        if (f->measured && !f->timed) {
            list[count++] = open_entry(eclipse, f, i);
        } else if (frame->has_true && !frame->outlier) {
            list[count++] = (entry){.index = i,
                                    .t_utc_s = {frame->true_utc_s, frame->true_utc_s},
                                    .sigma_s = {frame->true_sigma_s, frame->true_sigma_s}};
        }
    }
    return count;
}

/* Pairs of neighbours out of order if the frames from `split` on are after maximum. */
static size_t disorder(const entry *list, size_t count, size_t split) {
    size_t wrong = 0;
    for (size_t i = 1; i < count; i++) {
        const entry *a = &list[i - 1], *b = &list[i];
        int side_a = i - 1 < split ? BEFORE : AFTER, side_b = i < split ? BEFORE : AFTER;
        double slack = ORDER_SLACK_S + ORDER_SIGMAS * hypot(a->sigma_s[side_a], b->sigma_s[side_b]);
        bool late = a->t_utc_s[side_a] > b->t_utc_s[side_b] + slack;
        wrong += late && (a->open || b->open) ? 1 : 0;
    }
    return wrong;
}

static void try_divisions(entry *list, size_t count) {
    for (size_t split = 0; split <= count; split++) {
        if (disorder(list, count, split) == 0) {
            for (size_t i = 0; i < count; i++) {
                list[i].can_be[i < split ? BEFORE : AFTER] = true;
            }
        }
    }
}

tl_status tl_track_untimed(const tl_track_series *series, const tl_track_eclipse *eclipse,
                           tl_track *track) {
    entry *list = calloc(series->frame_count + 1, sizeof *list);
    if (list == NULL) {
        return TL_ERR_MEMORY;
    }
    size_t count = list_entries(series, eclipse, track, list);
    try_divisions(list, count);
    tl_status status = TL_OK;
    for (size_t i = 0; status == TL_OK && i < count; i++) {
        const entry *e = &list[i];
        if (e->open && e->can_be[BEFORE] != e->can_be[AFTER]) {
            int side = e->can_be[BEFORE] ? BEFORE : AFTER;
            status = tl_track_frame_set_time(e->t_utc_s[side], e->sigma_s[side], eclipse,
                                             &track->frame[e->index]);
        }
    }
    free(list);
    return status;
}
