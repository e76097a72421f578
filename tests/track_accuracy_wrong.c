/*
 * track_accuracy_wrong.c - a few bad frames among good ones: which are named.
 */
#include <stdio.h>
#include <stdlib.h>

#include "track_accuracy.h"

enum { FRAMES = 16, BAD = 3 };
static const double CLOCK_SIGMA_S = 60.0;
/* Circles off by so much along the line of centres, either way; stamps by so much. */
static const double OFF_LEAST_SR = 0.02, OFF_MOST_SR = 0.2;
static const double LATE_LEAST_S = 120.0, LATE_MOST_S = 1800.0;
/* A frame whose separation and stamp fit to this is as good as the good ones. */
static const double HARMFUL_SR = 0.02;

typedef struct run {
    track_accuracy *a;
    score clock[TRIALS], first[TRIALS], last[TRIALS];
    size_t bad_circle[TRIALS], bad_circle_named[TRIALS];
    size_t bad_stamp[TRIALS], bad_stamp_named[TRIALS];
    size_t harmful[TRIALS], harmful_named[TRIALS], good_named[TRIALS];
} run;

static double between(double least, double most, gsl_rng *rng) {
    return least + (most - least) * gsl_rng_uniform(rng);
}

/* Returns how far the frame's separation is then off that of its stamp. */
static double spoil(const trial *t, size_t k, bool circle, gsl_rng *rng, tl_track_frame_in *f) {
    double side = gsl_rng_uniform(rng) < 0.5 ? -1.0 : 1.0;
    if (circle) {
        double old = f->separation_sr, off = side * between(OFF_LEAST_SR, OFF_MOST_SR, rng);
        f->separation_sr = fabs(old + off);
        f->offset_x_sr *= f->separation_sr / old;
        f->offset_y_sr *= f->separation_sr / old;
        return fabs(f->separation_sr - old);
    }
    double late_s = side * round(between(LATE_LEAST_S, LATE_MOST_S, rng));
    f->t_camera_s += late_s;
    tl_sky sky = {0};
    double stamp_s = t->true_utc_s[k] + late_s;
    if (tl_sky_at(&t->scene->site, stamp_s, NULL, &sky) != TL_OK) {
        return 0.0;
    }
    return fabs(f->separation_sr - sky.separation_sr);
}

static void score_frames(const trial *t, const tl_track *track, const bool circle[SERIES_MAX],
                         const double off_sr[SERIES_MAX], size_t i, run *r) {
    for (size_t k = 0; k < t->count; k++) {
        bool named = track->frame[k].outlier;
        if (!t->wrong[k]) {
            r->good_named[i] += named ? 1 : 0;
            continue;
        }
        r->bad_circle[i] += circle[k] ? 1 : 0;
        r->bad_circle_named[i] += circle[k] && named ? 1 : 0;
        r->bad_stamp[i] += circle[k] ? 0 : 1;
        r->bad_stamp_named[i] += !circle[k] && named ? 1 : 0;
        r->harmful[i] += off_sr[k] > HARMFUL_SR ? 1 : 0;
        r->harmful_named[i] += off_sr[k] > HARMFUL_SR && named ? 1 : 0;
    }
}

static void one(void *context, size_t i) {
    run *r = context;
    trial t;
    tl_track track;
    bool circle[SERIES_MAX] = {false};
    double off_sr[SERIES_MAX] = {0.0};
    gsl_rng *rng = trial_rng("bad", i);
    manner how = {.count = FRAMES,
                  .from = 0.03,
                  .to = 0.97,
                  .draw = r->a->draw,
                  .pool = &r->a->pool[POOL_HAND],
                  .whole_seconds = true,
                  .holding = TL_HOLDING_FREE};
    trial_set_camera(&r->a->scene[i], CLOCK_SIGMA_S, rng, &how);
    trial_make(&r->a->scene[i], &how, rng, &t);
    for (size_t spoilt = 0; spoilt < BAD;) {
        size_t k = gsl_rng_uniform_int(rng, FRAMES);
        if (!t.wrong[k]) {
            t.wrong[k] = true;
            circle[k] = gsl_rng_uniform(rng) < 0.5;
            off_sr[k] = spoil(&t, k, circle[k], rng, &t.frame[k]);
            spoilt++;
        }
    }
    gsl_rng_free(rng);
    if (!trial_solve(r->a, "bad", i, &t, &track)) {
        return;
    }
    score_frames(&t, &track, circle, off_sr, i, r);
    const tl_clock *clock = &tl_track_main(&track)->clock;
    if (clock->solved) {
        const tl_contact *truth = t.scene->circumstances.contact;
        const tl_track_contact *c1 = &track.contact[TL_C1], *c4 = &track.contact[TL_C4];
        r->clock[i] = (score){true, clock_total_of(clock) - t.how[0].clock_s, clock->sigma_s};
        r->first[i] =
            (score){c1->measured, c1->measured_utc_s - truth[TL_C1].t_utc_s, c1->utc_sigma_s};
        r->last[i] =
            (score){c4->measured, c4->measured_utc_s - truth[TL_C4].t_utc_s, c4->utc_sigma_s};
    }
    tl_track_free(&track);
}

static size_t sum(const size_t count[TRIALS]) {
    size_t total = 0;
    for (size_t i = 0; i < TRIALS; i++) {
        total += count[i];
    }
    return total;
}

static void print_share(const char *name, size_t part, size_t whole) {
    printf("    %-60s %5zu of %5zu  %5.1f %%\n", name, part, whole,
           100.0 * (double)part / (double)whole);
}

static void print_table(const run *r) {
    score_legend("Bad frames");
    score_print("16 by hand, 3 of them bad", "clock, s", r->clock, TRIALS, 1);
    score_print("", "C1 UTC, s", r->first, TRIALS, 1);
    score_print("", "C4 UTC, s", r->last, TRIALS, 1);
    print_share("circles off by 0.02 to 0.2 sr, named", sum(r->bad_circle_named),
                sum(r->bad_circle));
    print_share("stamps off by 2 to 30 min, named", sum(r->bad_stamp_named), sum(r->bad_stamp));
    print_share("of both those that do not fit, by 0.02 sr or more, named", sum(r->harmful_named),
                sum(r->harmful));
    print_share("good ones named", sum(r->good_named), (size_t)TRIALS * (FRAMES - BAD));
    printf("    not solved:");
    for (size_t i = 0; i < TRIALS; i++) {
        if (!r->clock[i].valid) {
            printf(" bad/%zu", i);
        }
    }
    printf("\n    harmful ones not named:");
    for (size_t i = 0; i < TRIALS; i++) {
        if (r->harmful_named[i] < r->harmful[i]) {
            printf(" bad/%zu", i);
        }
    }
    printf("\n");
}

void track_accuracy_wrong(track_accuracy *a) {
    run *r = calloc(1, sizeof *r);
    if (r == NULL) {
        a->failed = true;
        return;
    }
    r->a = a;
    if (trials_run(a, "bad", one, r)) {
        print_table(r);
    }
    free(r);
}
