/*
 * track_accuracy_compass.c - what frames whose sunspots tell their turn add: with and without.
 *
 * By hand, every fourth frame undated and the order of the names lost, every fifth a whole Sun, one
 * in five without a compass; in every fifth series somebody turned the diagonal half way. The
 * compasses have a common zero that is off, errors of their own and, for a quarter of the variance,
 * one that grows evenly with time, as wrong places of spots on the turning Sun make it.
 */
#include <stdio.h>
#include <stdlib.h>

#include "track_accuracy.h"

enum { FRAMES = 20, MIXED_EVERY = 5, UNDATED_EVERY = 4, WHOLE_EVERY = 5 };
static const double CLOCK_SIGMA_S = 60.0, ZERO_SIGMA_RAD = 2.0 * TL_DEG;
static const double SIGMA_MIN_RAD = 0.2 * TL_DEG, SIGMA_MAX_RAD = 1.0 * TL_DEG;
static const double COMPASS_SHARE = 0.8, SHARED_VARIANCE = 0.25;
static const double RIGHT_LEAST = 0.98;

/* Right, wrong, open. */
typedef struct tally {
    size_t right, wrong, open;
} tally;

enum { WITHOUT, WITH, RUNS };
typedef struct run {
    track_accuracy *a;
    score spots[TRIALS * FRAMES], moon[TRIALS * FRAMES]; /* up_pa, deg, of the same frames */
    score best[TRIALS * FRAMES];                         /* of all that have one */
    score direction[TRIALS], clock[RUNS][TRIALS];
    tally mirror[RUNS][TRIALS], side[RUNS][TRIALS];
    bool used[TRIALS], refused[TRIALS];
} run;

static bool mirrored_at(const trial *t, size_t i, size_t k) {
    bool turned =
        i % MIXED_EVERY == 0 && t->true_utc_s[k] > time_of_part(&t->scene->circumstances, 0.5);
    return t->how[0].mirrored != turned;
}

/* The frames in an order that is not that of time. */
static void shuffle(trial *t, gsl_rng *rng) {
    for (size_t k = t->count - 1; k > 0; k--) {
        size_t j = gsl_rng_uniform_int(rng, k + 1);
        tl_track_frame_in frame = t->frame[k];
        double utc_s = t->true_utc_s[k], up = t->up_rad[k];
        t->frame[k] = t->frame[j];
        t->true_utc_s[k] = t->true_utc_s[j];
        t->up_rad[k] = t->up_rad[j];
        t->frame[j] = frame;
        t->true_utc_s[j] = utc_s;
        t->up_rad[j] = up;
    }
}

static void give_compasses(trial *t, size_t i, gsl_rng *rng) {
    double zero = gsl_ran_gaussian(rng, ZERO_SIGMA_RAD);
    double sigma = SIGMA_MIN_RAD + (SIGMA_MAX_RAD - SIGMA_MIN_RAD) * gsl_rng_uniform(rng);
    double tilt = gsl_ran_gaussian(rng, sqrt(SHARED_VARIANCE) * sigma);
    const tl_contact *contact = t->scene->circumstances.contact;
    for (size_t k = 0; k < t->count; k++) {
        tl_track_frame_in *f = &t->frame[k];
        /* From -sqrt(3) to sqrt(3): rms 1 over the eclipse. */
        double part = (t->true_utc_s[k] - contact[TL_C1].t_utc_s) /
                      (contact[TL_C4].t_utc_s - contact[TL_C1].t_utc_s);
        double own = gsl_ran_gaussian(rng, sqrt(1.0 - SHARED_VARIANCE) * sigma);
        f->has_compass = gsl_rng_uniform(rng) < COMPASS_SHARE;
        f->compass_mirrored = mirrored_at(t, i, k);
        f->compass_up_rad = t->up_rad[k] - zero + own + sqrt(3.0) * (2.0 * part - 1.0) * tilt;
        f->compass_sigma_rad = sigma;
        if (f->compass_mirrored != t->how[0].mirrored) {
            f->offset_x_sr = -f->offset_x_sr;
        }
    }
}

static void make(const run *r, size_t i, trial *t) {
    gsl_rng *rng = trial_rng("compass", i);
    manner how = {.count = FRAMES,
                  .from = 0.03,
                  .to = 0.97,
                  .draw = r->a->draw,
                  .pool = &r->a->pool[POOL_HAND],
                  .whole_seconds = true,
                  .holding = TL_HOLDING_FREE};
    trial_set_camera(&r->a->scene[i], CLOCK_SIGMA_S, rng, &how);
    trial_make(&r->a->scene[i], &how, rng, t);
    shuffle(t, rng);
    give_compasses(t, i, rng);
    for (size_t k = 0; k < t->count; k++) {
        t->frame[k].timed = k % UNDATED_EVERY != 0;
        t->frame[k].measured = k % WHOLE_EVERY != 1;
    }
    gsl_rng_free(rng);
}

static void judge_frame(const trial *t, size_t i, size_t k, const tl_track_frame *f, tally *mirror,
                        tally *side) {
    mirror->open += f->mirror_known ? 0 : 1;
    mirror->right += f->mirror_known && f->mirrored == mirrored_at(t, i, k) ? 1 : 0;
    mirror->wrong += f->mirror_known && f->mirrored != mirrored_at(t, i, k) ? 1 : 0;
    if (!t->frame[k].timed && t->frame[k].measured) {
        double maximum_s = t->scene->circumstances.contact[TL_MAX].t_utc_s;
        bool alike = (f->true_utc_s < maximum_s) == (t->true_utc_s[k] < maximum_s) ||
                     fabs(f->true_utc_s - t->true_utc_s[k]) < 4.0 * f->true_sigma_s;
        side->open += f->has_true ? 0 : 1;
        side->right += f->has_true && alike ? 1 : 0;
        side->wrong += f->has_true && !alike ? 1 : 0;
    }
}

static score up_score(double up_rad, double sigma_rad, double true_rad) {
    return (score){true, tl_angle_signed(up_rad - true_rad) / TL_DEG, sigma_rad / TL_DEG};
}

static void judge(const trial *t, size_t i, const tl_track *track, int which, run *r) {
    const tl_clock *clock = &tl_track_main(track)->clock;
    for (size_t k = 0; k < t->count; k++) {
        judge_frame(t, i, k, &track->frame[k], &r->mirror[which][i], &r->side[which][i]);
    }
    if (clock->solved) {
        double maximum_s = t->scene->circumstances.contact[TL_MAX].t_utc_s;
        r->clock[which][i] =
            (score){true, clock_total_of(clock) - trial_clock(t, 0, maximum_s), clock->sigma_s};
    }
}

/* With the mirror said, for the Moons alone do not tell it. */
static void judge_moons(trial *t, size_t i, const tl_track *with, run *r) {
    tl_track track;
    t->options.mirror = t->how[0].mirrored ? TL_MIRROR_YES : TL_MIRROR_NO;
    if (i % MIXED_EVERY == 0 || !trial_solve(r->a, "compass", i, t, &track)) {
        return;
    }
    for (size_t k = 0; k < t->count; k++) {
        const tl_track_frame *f = &track.frame[k];
        if (f->turn_by == TL_TURN_BY_MOON && with->frame[k].has_spots_up) {
            r->moon[i * FRAMES + k] = up_score(f->up_pa_rad, f->up_sigma_rad, t->up_rad[k]);
        }
    }
    tl_track_free(&track);
}

static void one(void *context, size_t i) {
    run *r = context;
    trial t;
    tl_track with, without;
    make(r, i, &t);
    if (!trial_solve(r->a, "compass", i, &t, &with)) {
        return;
    }
    judge(&t, i, &with, WITH, r);
    r->used[i] = with.compass.state == TL_COMPASS_USED;
    r->refused[i] = with.compass.state == TL_COMPASS_REFUSED;
    if (with.has_direction) {
        r->direction[i] = (score){
            true, tl_angle_signed(with.direction_pa_rad - with.direction_predicted_rad) / TL_DEG,
            with.direction_sigma_rad / TL_DEG};
    }
    for (size_t k = 0; k < t.count; k++) {
        const tl_track_frame *f = &with.frame[k];
        if (f->has_spots_up) {
            r->spots[i * FRAMES + k] =
                up_score(f->spots_up_rad, f->spots_up_sigma_rad, t.up_rad[k]);
        }
        if (f->has_turn && f->mirror_known) {
            r->best[i * FRAMES + k] = up_score(f->up_pa_rad, f->up_sigma_rad, t.up_rad[k]);
        }
        t.frame[k].has_compass = false;
    }
    if (trial_solve(r->a, "compass", i, &t, &without)) {
        judge(&t, i, &without, WITHOUT, r);
        tl_track_free(&without);
        judge_moons(&t, i, &with, r);
    }
    tl_track_free(&with);
}

static tally sum(const tally list[TRIALS]) {
    tally all = {0};
    for (size_t i = 0; i < TRIALS; i++) {
        all.right += list[i].right;
        all.wrong += list[i].wrong;
        all.open += list[i].open;
    }
    return all;
}

static void print_tally(const char *what, const tally list[RUNS][TRIALS]) {
    tally a = sum(list[WITHOUT]), b = sum(list[WITH]);
    printf("  %-28s %8zu %6zu %6zu      %8zu %6zu %6zu\n", what, a.right, a.wrong, a.open, b.right,
           b.wrong, b.open);
}

static void print_run(const run *r) {
    size_t used = 0, refused = 0;
    for (size_t i = 0; i < TRIALS; i++) {
        used += r->used[i] ? 1 : 0;
        refused += r->refused[i] ? 1 : 0;
    }
    score_legend("Turned by sunspots");
    score_print("by their spots", "up_pa, deg", r->spots, (size_t)TRIALS * FRAMES, FRAMES);
    score_print("by Moons, mirror said", "up_pa, deg", r->moon, (size_t)TRIALS * FRAMES, FRAMES);
    score_print("by the better of both", "up_pa, deg", r->best, (size_t)TRIALS * FRAMES, FRAMES);
    score_print("Moon\'s way at maximum", "deg", r->direction, TRIALS, 1);
    score_print("without", "clock, s", r->clock[WITHOUT], TRIALS, 1);
    score_print("with", "clock, s", r->clock[WITH], TRIALS, 1);
    printf("    compasses used in %zu series, refused in %zu, of %d\n\n", used, refused, TRIALS);
    printf("  %-28s %8s %6s %6s      %8s %6s %6s\n", "20 frames, by hand", "without:", "", "",
           "with:", "", "");
    printf("  %-28s %8s %6s %6s      %8s %6s %6s\n", "", "right", "wrong", "open", "right", "wrong",
           "open");
    print_tally("mirrored or not, frames", r->mirror);
    print_tally("side of maximum, undated", r->side);
}

static void print_figures(const run *r) {
    tally mirror = sum(r->mirror[WITH]), side = sum(r->side[WITH]);
    printf("\n");
    figure_print("sunspots: honest errors of the turn",
                 score_honest(r->spots, (size_t)TRIALS * FRAMES), "%s", "");
    figure_print("sunspots: mirror right where it is told, 98 %",
                 (double)mirror.right >= RIGHT_LEAST * (double)(mirror.right + mirror.wrong),
                 "%zu of %zu", mirror.right, mirror.right + mirror.wrong);
    figure_print("sunspots: side right where it is told, 98 %",
                 (double)side.right >= RIGHT_LEAST * (double)(side.right + side.wrong),
                 "%zu of %zu", side.right, side.right + side.wrong);
}

void track_accuracy_compass(track_accuracy *a) {
    run *r = calloc(1, sizeof *r);
    if (r == NULL) {
        a->failed = true;
        return;
    }
    r->a = a;
    if (trials_run(a, "compass", one, r)) {
        print_run(r);
        print_figures(r);
    }
    free(r);
}
