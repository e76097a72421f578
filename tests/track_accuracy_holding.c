/*
 * track_accuracy_holding.c - how the camera was held, and mirrored or not.
 */
#include <stdio.h>
#include <stdlib.h>

#include "track_accuracy.h"

enum { FRAMES = 16 };
static const double CLOCK_SIGMA_S = 60.0;
static const double JITTER_MIN_RAD = 0.2 * TL_DEG, JITTER_MAX_RAD = 4.0 * TL_DEG;
static const double RIGHT_LEAST = 0.98;
static const tl_holding HOLDING[] = {TL_HOLDING_FREE, TL_HOLDING_FIXED, TL_HOLDING_ALTAZ};
enum { HOLDINGS = sizeof HOLDING / sizeof HOLDING[0] };

typedef struct run {
    track_accuracy *a;
    tl_holding held[TRIALS], found[TRIALS];
    bool mirrored[TRIALS];
    tl_mirror mirror_found[TRIALS];
} run;

static void one(void *context, size_t i) {
    run *r = context;
    trial t;
    tl_track track;
    gsl_rng *rng = trial_rng("holding", i);
    manner how = {.count = FRAMES,
                  .from = 0.03,
                  .to = 0.97,
                  .draw = r->a->draw,
                  .pool = &r->a->pool[POOL_HAND],
                  .whole_seconds = true,
                  .holding = HOLDING[gsl_rng_uniform_int(rng, HOLDINGS)]};
    how.jitter_rad = JITTER_MIN_RAD + (JITTER_MAX_RAD - JITTER_MIN_RAD) * gsl_rng_uniform(rng);
    trial_set_camera(&r->a->scene[i], CLOCK_SIGMA_S, rng, &how);
    trial_make(&r->a->scene[i], &how, rng, &t);
    gsl_rng_free(rng);
    r->held[i] = how.holding;
    r->mirrored[i] = how.mirrored;
    if (trial_solve(r->a, "holding", i, &t, &track)) {
        const tl_track_camera *camera = tl_track_main(&track);
        r->found[i] = camera->holding_open ? TL_HOLDING_AUTO : camera->holding;
        r->mirror_found[i] = tl_track_main(&track)->mirrored;
        tl_track_free(&track);
    }
}

static bool mirror_right(const run *r, size_t i) {
    return r->mirror_found[i] == (r->mirrored[i] ? TL_MIRROR_YES : TL_MIRROR_NO);
}

/* Series held one way (ALL: any), those whose way and mirror were decided, and decided right. */
typedef struct counts {
    size_t series, free, fixed, altaz, open, mirror_decided, mirror_right;
} counts;

static counts count(const run *r, tl_holding held) {
    counts c = {0};
    for (size_t i = 0; i < TRIALS; i++) {
        if (r->held[i] == held) {
            c.series++;
            c.free += r->found[i] == TL_HOLDING_FREE ? 1 : 0;
            c.fixed += r->found[i] == TL_HOLDING_FIXED ? 1 : 0;
            c.altaz += r->found[i] == TL_HOLDING_ALTAZ ? 1 : 0;
            c.open += r->found[i] == TL_HOLDING_AUTO ? 1 : 0;
            c.mirror_decided += r->mirror_found[i] != TL_MIRROR_AUTO ? 1 : 0;
            c.mirror_right += mirror_right(r, i) ? 1 : 0;
        }
    }
    return c;
}

/* A way of holding counts as determined when it is called fixed or altaz and the other one does not
 * fit about equally well. */
static void print_figures(const run *r) {
    size_t decided = 0, right = 0, mirror_decided = 0, mirror = 0;
    printf("  wrong:");
    for (size_t i = 0; i < TRIALS; i++) {
        bool rule = r->found[i] == TL_HOLDING_FIXED || r->found[i] == TL_HOLDING_ALTAZ;
        bool sided = r->mirror_found[i] != TL_MIRROR_AUTO;
        decided += rule ? 1 : 0;
        right += rule && r->found[i] == r->held[i] ? 1 : 0;
        mirror_decided += sided ? 1 : 0;
        mirror += sided && mirror_right(r, i) ? 1 : 0;
        if ((rule && r->found[i] != r->held[i]) || (sided && !mirror_right(r, i))) {
            printf(" holding/%zu", i);
        }
    }
    printf("\n\n");
    figure_print("holding right where it is determined, 98 %",
                 (double)right >= RIGHT_LEAST * (double)decided, "%zu of %zu", right, decided);
    figure_print("mirror right where it is determined, 98 %",
                 (double)mirror >= RIGHT_LEAST * (double)mirror_decided, "%zu of %zu", mirror,
                 mirror_decided);
}

static void print_table(const run *r) {
    printf("\nHolding and mirror, 16 frames, jitter of 0.2 to 4 degrees\n%-24s %8s %12s %6s %6s "
           "%9s %16s %14s\n",
           "  held", "series", "called free", "fixed", "altaz", "either", "mirror decided",
           "of it right");
    for (size_t k = 0; k < HOLDINGS; k++) {
        counts c = count(r, HOLDING[k]);
        printf("  %-22s %8zu %12zu %6zu %6zu %9zu %16zu %14zu\n", tl_holding_name[HOLDING[k]],
               c.series, c.free, c.fixed, c.altaz, c.open, c.mirror_decided, c.mirror_right);
    }
}

void track_accuracy_holding(track_accuracy *a) {
    run *r = calloc(1, sizeof *r);
    if (r == NULL) {
        a->failed = true;
        return;
    }
    r->a = a;
    if (trials_run(a, "holding", one, r)) {
        print_table(r);
        print_figures(r);
    }
    free(r);
}
