/*
 * track_accuracy.h - what the files of tool_track_accuracy share: simulated series whose circles
 * have the errors that the limb stage made on drawn pictures.
 */
#ifndef TWOLIMB_TESTS_TRACK_ACCURACY_H
#define TWOLIMB_TESTS_TRACK_ACCURACY_H

#include "test_track_series.h"

/* So many series of each kind, each at a place and an eclipse of its own. */
enum { TRIALS = 200 };

/* ---- errors of real circles ---- */

/* Whose pictures: by hand with large discs, and with all; of the demo; on a mount; small discs. */
typedef enum pool_name {
    POOL_HAND,
    POOL_ALL_HAND,
    POOL_DEMO,
    POOL_MOUNT,
    POOL_SMALL,
    POOLS
} pool_name;
enum { POOL_SIZE = 1000 };
typedef struct error_pool {
    size_t count;
    struct {
        double error_sr, sigma_sr; /* of a separation, as the limb stage left them */
    } frame[POOL_SIZE];
} error_pool;

/* From what tool_accuracy --frames wrote; false if it cannot be read, or a pool is empty. */
bool pools_read(const char *path, error_pool pool[POOLS]);
void pools_print(const error_pool pool[POOLS]);
/* For manner.draw: the error of one frame along the line of centres; across it that frame's
 * sigma with the error over sigma of another one. */
circle_error pool_draw(const void *pool, gsl_rng *rng);
/* The same sigmas, but errors that follow from them by Gauss's law. */
circle_error pool_draw_gaussian(const void *pool, gsl_rng *rng);

/* ---- series ---- */

typedef struct track_accuracy {
    error_pool pool[POOLS];
    circle_error (*draw)(const void *pool, gsl_rng *rng);
    scene scene[TRIALS];
    const char *only; /* NULL, or the only kind to run */
    bool show_one;    /* and of that only one series, printed whole */
    size_t show;
    bool failed; /* out of memory */
} track_accuracy;

/* Places and eclipses for all kinds; false if there is no memory. */
bool scenes_make(scene scenes[TRIALS]);
void scenes_free(scene scenes[TRIALS]);

/* A series of one kind, and what is true of it. */
enum { TRIAL_CAMERAS = 3 };
typedef struct trial {
    const scene *scene;
    tl_track_options options;
    size_t count, camera_count;
    manner how[TRIAL_CAMERAS]; /* of each camera, with its clock */
    tl_track_frame_in frame[SERIES_MAX];
    double true_utc_s[SERIES_MAX], up_rad[SERIES_MAX];
    bool wrong[SERIES_MAX]; /* spoilt on purpose */
} trial;

/* Series `i` of a kind: its own random numbers, whoever runs it and when. */
gsl_rng *trial_rng(const char *kind, size_t i);
/* The zone that clocks show at a place: that of the Sun, or an hour more in half of them. */
int trial_zone(const scene *s, gsl_rng *rng);
/* Clock near to the zone, zone said or not, mirrored or not, a turn: all at random. */
void trial_set_camera(const scene *s, double clock_sigma_s, gsl_rng *rng, manner *how);
/* A series with one camera. */
void trial_make(const scene *s, const manner *how, gsl_rng *rng, trial *t);
/* The frames of one more camera. */
void trial_add_camera(const manner *how, gsl_rng *rng, trial *t);
/* Run all series of a kind, job(run, i), on every processor. False when there is no table to print:
 * another kind is asked for, or a single series of this one, which has been run then. */
bool trials_run(track_accuracy *a, const char *kind, void (*job)(void *run, size_t i), void *run);
/* Solved; printed whole if asked for. tl_track_free. */
bool trial_solve(track_accuracy *a, const char *kind, size_t i, const trial *t, tl_track *track);

/* The clock total put into a camera, at a true time; and found. */
double trial_clock(const trial *t, size_t camera, double t_utc_s);
double clock_total_of(const tl_clock *clock);

/* ---- errors over their sigmas ---- */

typedef struct score {
    bool valid;
    double error, sigma;
} score;

void score_legend(const char *of);
/* One row; of `count` only the valid ones; `each` of them belong to one series. */
void score_print(const char *kind, const char *quantity, const score *list, size_t count,
                 size_t each);
double score_rms(const score *list, size_t count);
/* Inside one sigma in 60 to 76 %, inside three in 98.5 %. */
bool score_honest(const score *list, size_t count);
/* "met" or "NOT MET", a figure, what it should be. */
void figure_print(const char *name, bool met, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

/* ---- the steps ---- */

void track_accuracy_clock(track_accuracy *a);   /* clock, contacts, path; drift, late stamps */
void track_accuracy_zone(track_accuracy *a);    /* zone, day, am/pm, year */
void track_accuracy_holding(track_accuracy *a); /* mirror and holding */
void track_accuracy_compass(track_accuracy *a); /* turns by sunspots */
void track_accuracy_undated(track_accuracy *a); /* times by the separation */
void track_accuracy_wrong(track_accuracy *a);   /* bad frames among good ones */

#endif
