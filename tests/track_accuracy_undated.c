/*
 * track_accuracy_undated.c - frames without a camera time: when, by their separation.
 */
#include <stdio.h>
#include <stdlib.h>

#include "track_accuracy.h"

enum { FRAMES = 16 };
static const double CLOCK_SIGMA_S = 60.0, JITTER_RAD = 1.0 * TL_DEG;
/* Steep is where the separation changes at more than this share of its fastest. */
static const double STEEP_SHARE = 0.5, RATE_STEP_S = 10.0;
static const double WRONG_SIGMAS = 4.0, WRONG_S = 1.0;
static const double RMS_MOST_S = 5.0, AMONG_LEAST = 0.985;

typedef struct kind {
    const char *name, *what;
    double undated_share;
    tl_holding holding;
} kind;
static const kind KIND[] = {
    {"undated", "none dated, by hand", 1.0, TL_HOLDING_FREE},
    {"some", "half dated, by hand", 0.5, TL_HOLDING_FREE},
    {"turned", "half dated, on a mount", 0.5, TL_HOLDING_FIXED},
};
enum { KINDS = sizeof KIND / sizeof KIND[0] };

typedef struct run {
    track_accuracy *a;
    const kind *kind;
    score steep[TRIALS * FRAMES], flat[TRIALS * FRAMES]; /* has_true */
    size_t undated[TRIALS], decided[TRIALS], wrong[TRIALS];
    size_t sides[TRIALS], among[TRIALS];
} run;

static void make(const run *r, size_t i, trial *t) {
    gsl_rng *rng = trial_rng(r->kind->name, i);
    const scene *s = &r->a->scene[i];
    manner how = {.count = FRAMES,
                  .from = 0.03,
                  .to = 0.97,
                  .draw = r->a->draw,
                  .pool = &r->a->pool[POOL_SMALL],
                  .whole_seconds = true,
                  .jitter_rad = JITTER_RAD,
                  .holding = r->kind->holding};
    trial_set_camera(s, CLOCK_SIGMA_S, rng, &how);
    trial_make(s, &how, rng, t);
    series_add_floor(s, t->true_utc_s, rng, t->frame, t->count); /* in these errors, see track.h */
    for (size_t k = 0; k < t->count; k++) {
        t->frame[k].timed = !(gsl_rng_uniform(rng) < r->kind->undated_share);
    }
    t->options.date_given = true;
    t->options.date_utc_s = s->day_utc_s;
    gsl_rng_free(rng);
}

static double rate_at(const scene *s, double t_utc_s) {
    tl_sky before = {0}, after = {0};
    if (tl_sky_table_at(s->table, t_utc_s - RATE_STEP_S, &before) != TL_OK ||
        tl_sky_table_at(s->table, t_utc_s + RATE_STEP_S, &after) != TL_OK) {
        return 0.0;
    }
    return fabs(after.separation_sr - before.separation_sr) / (2.0 * RATE_STEP_S);
}

/* The fastest change: at one of the outer contacts, where it points straight at the Sun. */
static double fastest(const scene *s) {
    return fmax(rate_at(s, s->circumstances.contact[TL_C1].t_utc_s),
                rate_at(s, s->circumstances.contact[TL_C4].t_utc_s));
}

static bool agrees(double t_utc_s, double truth_s, double sigma_s) {
    return fabs(t_utc_s - truth_s) < WRONG_SIGMAS * sigma_s + WRONG_S;
}

static void judge_frame(const trial *t, const tl_track_frame *f, size_t k, size_t i, run *r) {
    double truth_s = t->true_utc_s[k], maximum_s = t->scene->circumstances.contact[TL_MAX].t_utc_s;
    r->undated[i]++;
    if (f->has_true) {
        bool steep = rate_at(t->scene, truth_s) > STEEP_SHARE * fastest(t->scene);
        score *list = steep ? r->steep : r->flat;
        list[i * FRAMES + k] = (score){true, f->true_utc_s - truth_s, f->true_sigma_s};
        r->decided[i]++;
        bool other_side = (f->true_utc_s < maximum_s) != (truth_s < maximum_s);
        r->wrong[i] += other_side && !agrees(f->true_utc_s, truth_s, f->true_sigma_s) ? 1 : 0;
    }
    if (f->has_sides) {
        r->sides[i]++;
        r->among[i] += agrees(f->side_utc_s[0], truth_s, f->side_sigma_s[0]) ||
                               agrees(f->side_utc_s[1], truth_s, f->side_sigma_s[1])
                           ? 1
                           : 0;
    }
}

static void one(void *context, size_t i) {
    run *r = context;
    trial t;
    tl_track track;
    make(r, i, &t);
    if (!trial_solve(r->a, r->kind->name, i, &t, &track)) {
        return;
    }
    for (size_t k = 0; k < t.count; k++) {
        if (!t.frame[k].timed) {
            judge_frame(&t, &track.frame[k], k, i, r);
        }
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

static void print_run(const run *r) {
    size_t undated = sum(r->undated), decided = sum(r->decided), wrong = sum(r->wrong);
    score_print(r->kind->what, "steep, s", r->steep, (size_t)TRIALS * FRAMES, FRAMES);
    score_print("", "flat, s", r->flat, (size_t)TRIALS * FRAMES, FRAMES);
    printf(
        "    of %zu undated frames the side is decided in %.1f %%, wrong in %.2f %% of those; of "
        "%zu with both times given %.1f %% contain the true one\n",
        undated, 100.0 * (double)decided / (double)undated,
        decided > 0 ? 100.0 * (double)wrong / (double)decided : 0.0, sum(r->sides),
        sum(r->sides) > 0 ? 100.0 * (double)sum(r->among) / (double)sum(r->sides) : 0.0);
    if (wrong > 0) {
        printf("    wrong side:");
        for (size_t i = 0; i < TRIALS; i++) {
            if (r->wrong[i] > 0) {
                printf(" %s/%zu", r->kind->name, i);
            }
        }
        printf("\n");
    }
}

static void print_figures(const run *r) {
    const size_t rows = (size_t)TRIALS * FRAMES, sides = sum(r->sides), among = sum(r->among);
    const double rms = score_rms(r->steep, rows);
    char name[80];
    snprintf(name, sizeof name, "%s: steep part, rms at most %g s", r->kind->what, RMS_MOST_S);
    figure_print(name, rms <= RMS_MOST_S, "%.2f", rms);
    snprintf(name, sizeof name, "%s: honest errors", r->kind->what);
    figure_print(name, score_honest(r->steep, rows), "%s", "");
    snprintf(name, sizeof name, "%s: true time among the two", r->kind->what);
    figure_print(name, sides > 0 && (double)among >= AMONG_LEAST * (double)sides, "%zu of %zu",
                 among, sides);
}

void track_accuracy_undated(track_accuracy *a) {
    run *runs = calloc(KINDS, sizeof *runs);
    if (runs == NULL) {
        a->failed = true;
        return;
    }
    bool headed = false;
    for (size_t k = 0; k < KINDS; k++) {
        runs[k].a = a;
        runs[k].kind = &KIND[k];
        if (trials_run(a, KIND[k].name, one, &runs[k])) {
            if (!headed) {
                score_legend("Undated frames");
                headed = true;
            }
            print_run(&runs[k]);
        }
    }
    for (size_t k = 0; a->only == NULL && k < KINDS; k++) {
        print_figures(&runs[k]);
    }
    free(runs);
}
