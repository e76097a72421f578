/*
 * place_internal.h - what the files of the place estimate share.
 *
 * A place is a tl_site at height 0 here. Shifts on the ground are those of a sphere: lengths are
 * right to 0.5 %, the places themselves are exact.
 */
#ifndef TWOLIMB_TRACK_PLACE_INTERNAL_H
#define TWOLIMB_TRACK_PLACE_INTERNAL_H

#include "track/track_internal.h"

/* The series and the sky of its hours. */
typedef struct tl_place_problem {
    tl_track_obs *obs; /* owned; at the UTC their stamps mean, in order of time; `dropped` is told
                          anew for each place tried */
    size_t count;
    size_t *camera; /* owned; whose clock, of each obs: 0 .. camera_count - 1 */
    size_t camera_count;
    double clock_s;      /* what is still to be taken out: days, by the date given */
    tl_sky_table *table; /* owned */
} tl_place_problem;

/* How much is believed of frames and clocks. */
typedef struct tl_place_weights {
    double level;         /* factor for the errors of the frames, >= 1 */
    double clock_sigma_s; /* of each camera's clock */
} tl_place_weights;

/*
 * Unknowns of the fit, in order: on the ground along and across an axis; then what is known but for
 * an error: two components of the floor, height, and the clock of each camera.
 */
enum { TL_PLACE_ALONG, TL_PLACE_ACROSS, TL_PLACE_EAST, TL_PLACE_NORTH, TL_PLACE_HEIGHT };
enum { TL_PLACE_OFFSET = TL_PLACE_HEIGHT + 1 };
enum { TL_PLACE_UNKNOWNS = TL_PLACE_OFFSET + TL_CAMERAS_MAX };

typedef struct tl_place_fit {
    tl_site site;
    double known[TL_PLACE_UNKNOWNS]; /* the errors of what is known, in units of their sigmas */
    tl_place_weights weights;
    double along_m, across_m, axis_rad; /* one sigma, and the azimuth of the longer one, 0..pi */
    double cost;                        /* chi^2, a frame counting at most as an outlier */
} tl_place_fit;

/* ---- place_ground.c ---- */

tl_site tl_place_move(const tl_site *from, double azimuth_rad, double distance_m);
/* Along the great circle, m; `azimuth_rad` (may be NULL) is that at `from`. */
double tl_place_distance(const tl_site *from, const tl_site *to, double *azimuth_rad);

/* ---- place_sky.c ---- */

/* A frame's sky at a place, `offset_s` taken out of its time; false outside the table. */
bool tl_place_sky(const tl_place_problem *problem, size_t i, const tl_site *site, double offset_s,
                  tl_sky *sky);
/* The Sun is up at all frames that are not dropped. */
bool tl_place_sun_up(const tl_place_problem *problem, const tl_site *site);

/* ---- place_scan.c ---- */

enum { TL_PLACE_STARTS = 6 };
/* Places to start from, some 200 km from each valley or nearer. TL_ERR_NO_ECLIPSE when nobody on
 * Earth saw one at the time of the middle frame; TL_ERR_NO_FIT; TL_ERR_MEMORY. */
tl_status tl_place_scan(const tl_place_problem *problem, tl_site start[TL_PLACE_STARTS],
                        size_t *count);

/* ---- place_fit.c ---- */

/* The valley's bottom near `start`, weights and outliers by the residuals there. TL_ERR_NO_FIT. */
tl_status tl_place_fit_near(tl_place_problem *problem, const tl_site *start, tl_place_fit *fit);
/* The same with the weights given: what is to be compared must be weighted alike. */
tl_status tl_place_fit_weighted(tl_place_problem *problem, const tl_site *start,
                                const tl_place_weights *weights, tl_place_fit *fit);
/* The best place on the line through `fit`'s site at right angles to its axis; only site, known
 * and cost of `fit` are set anew. Outliers as they are marked. */
tl_status tl_place_fit_across(const tl_place_problem *problem, tl_place_fit *fit);

/* ---- place_line.c ---- */

/* Follow the valley from the best place to where chi^2 has risen by one, both ways. */
tl_status tl_place_line(const tl_place_problem *problem, const tl_place_fit *fit,
                        tl_track_place *place);

#endif
