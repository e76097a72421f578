/*
 * track_accuracy_clock.c - clock, contacts, path: errors, and whether their sigmas are true.
 */
#include <stdio.h>
#include <stdlib.h>

#include "track_accuracy.h"

/* FRAMES: the true times of all frames that have a camera time. */
enum { CLOCK, DRIFT, C1_CAMERA, C4_CAMERA, C1_UTC, C4_UTC, MAXIMUM, SMALLEST, FRAMES, QUANTITIES };
static const char *const QUANTITY[QUANTITIES] = {"clock, s",     "drift, ppm",   "C1 camera, s",
                                                 "C4 camera, s", "C1 UTC, s",    "C4 UTC, s",
                                                 "maximum, s",   "smallest, sr", "frame, s"};
/* Every camera has a clock. */
static size_t each_of(size_t quantity) {
    return quantity == CLOCK || quantity == DRIFT ? TRIAL_CAMERAS : 1;
}

static size_t rows_of(size_t quantity) {
    return TRIALS * each_of(quantity);
}

static const double CLOCK_SIGMA_S = 60.0, DRIFT_SIGMA_PPM = 50.0;
/* In a shallow eclipse the Moon hardly comes nearer, and separations say little of the time. */
static const double DEEP_MAGNITUDE = 0.5;
/* Every so many of the drifting clocks do not drift. */
enum { STEADY_EVERY = 5 };

#define BY_HAND .whole_seconds = true, .holding = TL_HOLDING_FREE
#define MOUNTED .time_sigma_s = 0.01, .holding = TL_HOLDING_FIXED, .jitter_rad = 0.003
#define WHOLE .from = 0.03, .to = 0.97

/* One camera, or several. */
typedef struct kind {
    const char *name, *what;
    bool drifts;
    size_t cameras;
    struct {
        pool_name pool;
        manner how;
    } camera[TRIAL_CAMERAS];
} kind;

static const kind KIND[] = {
    {"hand", "16 by hand", false, 1, {{POOL_HAND, {.count = 16, WHOLE, BY_HAND}}}},
    {"allhand", "16 by hand, any disc", false, 1, {{POOL_ALL_HAND, {.count = 16, WHOLE, BY_HAND}}}},
    {"demo", "16 by hand, as the demo", false, 1, {{POOL_DEMO, {.count = 16, WHOLE, BY_HAND}}}},
    {"mount", "40 on a mount", false, 1, {{POOL_MOUNT, {.count = 40, WHOLE, MOUNTED}}}},
    {"before",
     "8 before maximum",
     false,
     1,
     {{POOL_HAND, {.count = 8, .from = 0.05, .to = 0.47, BY_HAND}}}},
    {"after",
     "5 after maximum",
     false,
     1,
     {{POOL_HAND, {.count = 5, .from = 0.55, .to = 0.93, BY_HAND}}}},
    {"drift", "40, drifting clock", true, 1, {{POOL_MOUNT, {.count = 40, WHOLE, MOUNTED}}}},
    {"late16",
     "16 late, exponential",
     false,
     1,
     {{POOL_HAND, {.count = 16, WHOLE, BY_HAND, .late = LATE_EXPONENTIAL, .late_s = 10.0}}}},
    {"even16",
     "16 late, 0 to 30 s",
     false,
     1,
     {{POOL_HAND, {.count = 16, WHOLE, BY_HAND, .late = LATE_UNIFORM, .late_s = 30.0}}}},
    {"late5",
     "5 late, exponential",
     false,
     1,
     {{POOL_HAND, {.count = 5, WHOLE, BY_HAND, .late = LATE_EXPONENTIAL, .late_s = 10.0}}}},
    {"even5",
     "5 late, 0 to 30 s",
     false,
     1,
     {{POOL_HAND, {.count = 5, WHOLE, BY_HAND, .late = LATE_UNIFORM, .late_s = 30.0}}}},
    {"cameras",
     "2 phones and a mount",
     false,
     3,
     {{POOL_HAND, {.count = 8, WHOLE, BY_HAND}},
      {POOL_HAND, {.count = 7, WHOLE, BY_HAND}},
      {POOL_MOUNT, {.count = 12, WHOLE, MOUNTED}}}},
};
enum { KINDS = sizeof KIND / sizeof KIND[0] };

typedef struct run {
    track_accuracy *a;
    const kind *kind;
    score score[QUANTITIES][TRIALS * TRIAL_CAMERAS];
    bool solved[TRIALS]; /* clock and path */
    bool drifts[TRIALS], drift_found[TRIALS];
    tl_stamps stamps[TRIALS];
    bool deep[TRIALS]; /* the eclipse */
} run;

static void make(const run *r, size_t i, trial *t) {
    gsl_rng *rng = trial_rng(r->kind->name, i);
    const scene *s = &r->a->scene[i];
    *t = (trial){.scene = s, .options = options_for(s)};
    for (size_t k = 0; k < r->kind->cameras; k++) {
        manner how = r->kind->camera[k].how;
        how.draw = r->a->draw;
        how.pool = &r->a->pool[r->kind->camera[k].pool];
        trial_set_camera(s, CLOCK_SIGMA_S, rng, &how);
        if (r->kind->drifts && i % STEADY_EVERY != 0) {
            how.drift_ppm = gsl_ran_gaussian(rng, DRIFT_SIGMA_PPM);
        }
        trial_add_camera(&how, rng, t);
    }
    gsl_rng_free(rng);
}

static void score_clock(const trial *t, const tl_track *track, size_t i, run *r) {
    double maximum_s = t->scene->circumstances.contact[TL_MAX].t_utc_s;
    for (size_t k = 0; k < t->camera_count; k++) {
        const tl_clock *c = &track->camera[k].clock;
        if (!c->solved) {
            continue;
        }
        size_t row = i * TRIAL_CAMERAS + k;
        double at_s = c->has_drift ? c->at_utc_s : maximum_s;
        r->score[CLOCK][row] =
            (score){true, clock_total_of(c) - trial_clock(t, k, at_s), c->sigma_s};
        if (c->has_drift) {
            r->score[DRIFT][row] =
                (score){true, c->drift_ppm - t->how[k].drift_ppm, c->drift_sigma_ppm};
        }
    }
}

static void score_contacts(const trial *t, const tl_track *track, size_t i, run *r) {
    static const struct {
        size_t contact;
        int utc, camera;
    } CONTACT[] = {{TL_C1, C1_UTC, C1_CAMERA}, {TL_C4, C4_UTC, C4_CAMERA}, {TL_MAX, MAXIMUM, -1}};
    for (size_t k = 0; k < sizeof CONTACT / sizeof CONTACT[0]; k++) {
        const tl_track_contact *c = &track->contact[CONTACT[k].contact];
        double true_utc_s = t->scene->circumstances.contact[CONTACT[k].contact].t_utc_s;
        double camera_s = true_utc_s + trial_clock(t, track->main_camera, true_utc_s);
        if (!c->measured) {
            continue;
        }
        r->score[CONTACT[k].utc][i] = (score){true, c->measured_utc_s - true_utc_s, c->utc_sigma_s};
        if (CONTACT[k].camera >= 0) {
            r->score[CONTACT[k].camera][i] =
                (score){true, c->measured_camera_s - camera_s, c->sigma_s};
        }
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
    const tl_clock *clock = &tl_track_main(&track)->clock;
    r->deep[i] = t.scene->circumstances.magnitude >= DEEP_MAGNITUDE;
    r->solved[i] = clock->solved && track.free_solved;
    r->drifts[i] = t.how[0].drift_ppm != 0.0;
    r->drift_found[i] = clock->has_drift;
    r->stamps[i] = clock->stamps;
    score_clock(&t, &track, i, r);
    if (clock->solved) {
        score_contacts(&t, &track, i, r);
    }
    if (track.has_smallest) {
        r->score[SMALLEST][i] =
            (score){true, track.smallest_sr - track.smallest_predicted_sr, track.smallest_sigma_sr};
    }
    size_t k = i % t.count; /* one frame, or the clock would count as often as there are frames */
    if (track.frame[k].has_true) {
        r->score[FRAMES][i] =
            (score){true, track.frame[k].true_utc_s - t.true_utc_s[k], track.frame[k].true_sigma_s};
    }
    tl_track_free(&track);
}

/* Rms over the deep eclipses. */
static double deep_rms(const run *r, size_t quantity) {
    double sum = 0.0;
    size_t each = each_of(quantity), count = 0;
    for (size_t i = 0; i < rows_of(quantity); i++) {
        const score *s = &r->score[quantity][i];
        if (s->valid && r->deep[i / each]) {
            sum += s->error * s->error;
            count++;
        }
    }
    return count > 0 ? sqrt(sum / (double)count) : 0.0;
}

static size_t count_true(const bool flag[TRIALS]) {
    size_t count = 0;
    for (size_t i = 0; i < TRIALS; i++) {
        count += flag[i] ? 1 : 0;
    }
    return count;
}

static void print_run(const run *r) {
    for (size_t q = 0; q < QUANTITIES; q++) {
        if (q != DRIFT || r->kind->drifts) {
            score_print(q == 0 ? r->kind->what : "", QUANTITY[q], r->score[q], rows_of(q),
                        each_of(q));
        }
    }
    size_t late = 0, scattered = 0, missed = 0, invented = 0;
    for (size_t i = 0; i < TRIALS; i++) {
        late += r->stamps[i] == TL_STAMPS_LATE ? 1 : 0;
        scattered += r->stamps[i] == TL_STAMPS_SCATTERED ? 1 : 0;
        missed += r->drifts[i] && !r->drift_found[i] ? 1 : 0;
        invented += !r->drifts[i] && r->drift_found[i] ? 1 : 0;
    }
    printf("    solved %zu; stamps called late in %zu, scattered in %zu; ", count_true(r->solved),
           late, scattered);
    printf("drift found where there is none in %zu, not found where there is one in %zu\n",
           invented, missed);
    printf("    of magnitude %.1f and more: rms of the clock %.3f, C1 UTC %.2f, C4 UTC %.2f s\n",
           DEEP_MAGNITUDE, deep_rms(r, CLOCK), deep_rms(r, C1_UTC), deep_rms(r, C4_UTC));
}

/* Quantities whose errors have to be honest, by name. */
static void print_honesty(const run *r) {
    char text[200] = "";
    bool honest = true;
    for (size_t q = 0; q < QUANTITIES; q++) {
        if ((q != DRIFT || r->kind->drifts) && !score_honest(r->score[q], rows_of(q))) {
            honest = false;
            size_t length = strlen(text);
            snprintf(text + length, sizeof text - length, "%s%.*s", length > 0 ? ", " : "",
                     (int)strcspn(QUANTITY[q], ","), QUANTITY[q]);
        }
    }
    char name[80];
    snprintf(name, sizeof name, "%s: honest errors", r->kind->what);
    figure_print(name, honest, "%s", text);
}

static void print_rms(const run *r, size_t q, double most) {
    char name[80];
    double rms = score_rms(r->score[q], rows_of(q));
    snprintf(name, sizeof name, "%s: %s, rms at most %g", r->kind->what, QUANTITY[q], most);
    figure_print(name, rms <= most, "%.3f", rms);
}

static void print_figures(const run *runs) {
    static const double HAND_CLOCK_S = 0.15, HAND_CONTACT_S = 1.0, MOUNT_CLOCK_S = 0.05;
    printf("\n");
    for (size_t k = 0; k < KINDS; k++) {
        if (strcmp(KIND[k].name, "hand") == 0) {
            print_rms(&runs[k], CLOCK, HAND_CLOCK_S);
            print_rms(&runs[k], C1_UTC, HAND_CONTACT_S);
            print_rms(&runs[k], C4_UTC, HAND_CONTACT_S);
        } else if (strcmp(KIND[k].name, "mount") == 0) {
            print_rms(&runs[k], CLOCK, MOUNT_CLOCK_S);
        }
    }
    for (size_t k = 0; k < KINDS; k++) {
        print_honesty(&runs[k]);
    }
}

void track_accuracy_clock(track_accuracy *a) {
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
                score_legend("Clock, contacts, path");
                headed = true;
            }
            print_run(&runs[k]);
        }
    }
    if (a->only == NULL) {
        print_figures(runs);
    }
    free(runs);
}
