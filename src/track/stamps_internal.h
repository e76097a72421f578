/*
 * stamps_internal.h - what stamps.c and late.c share.
 *
 * Three explanations of how the stamps of a camera lie about its clock are compared by -2 ln of
 * their likelihood, plus -2 ln of how rare they are. In each a frame is either good or, rarely,
 * anything at all: so a few bad frames decide nothing.
 */
#ifndef TWOLIMB_STAMPS_INTERNAL_H
#define TWOLIMB_STAMPS_INTERNAL_H

#include "track/track_internal.h"

/* Share of frames that are wrong for no reason modelled, and their density: any separation from 0
 * to 2 (common practice, no source). */
#define TL_TRACK_WRONG_SHARE 0.02
#define TL_TRACK_WRONG_DENSITY 0.5

/*
 * How the errors of the circles may differ from those given: a factor on all of them, and a share
 * of frames that is worse again. Frames drawn with the limb stage's worst cases in them (eyepieces,
 * tone curves) lie inside 3 sigma in 91 % (docs/accuracy.md): 15 % worse by four. A series of one
 * camera may as well have no such frames. Both are tried, and the factors so closely that in some
 * hundred frames none is far from the best: else scatter of stamps would make up for the shape of a
 * law that the circles do not have, the more surely the longer the series.
 */
typedef struct tl_track_circles {
    double level, poor_share;
} tl_track_circles;
#define TL_TRACK_POOR_FACTOR 4.0
enum { TL_TRACK_CIRCLES = 16 };
tl_track_circles tl_track_circles_of(size_t i);
/* -2 ln of how widely such factors scatter: the limb stage's own errors hold to a factor of two
 * nearly always. */
double tl_track_circles_cost(const tl_track_circles *circles);

/* What a frame costs whose residual has this density if its circles are usual ones, and this one
 * if they are poor. */
double tl_track_frame_cost(const tl_track_circles *circles, double usual, double poor);

/* Shortest mean lateness or scatter that is called so: shorter ones are a matter of circles. */
#define TL_TRACK_SCATTER_MIN_S 3.0

typedef struct tl_track_stamp_view {
    const tl_track_obs *obs;
    size_t count;
    const tl_track_eclipse *eclipse;
} tl_track_stamp_view;

typedef enum tl_track_late_law {
    TL_TRACK_LATE_EXPONENTIAL,
    TL_TRACK_LATE_UNIFORM,
    TL_TRACK_LATE_LAWS
} tl_track_late_law;

/* A frame at one clock: q = lateness * rate + error. */
typedef struct tl_track_late_sight {
    bool seen;
    double q_sr, rate;  /* rate: its size, sr per s */
    double sigma_sr[2]; /* with usual and with poor circles */
} tl_track_late_sight;

/* Density of the residual; `poor`: 0 or 1, which sigma. */
double tl_track_late_density(tl_track_late_law law, const tl_track_late_sight *at, int poor,
                             double mean_s);
/* Mean and variance of lateness and reading error together, given the residual. */
void tl_track_late_behind(tl_track_late_law law, const tl_track_late_sight *at, int poor,
                          double mean_s, double t_sigma_s, double *expected_s, double *variance);

/* Late stamps: fit and cost. `start_s` and `scatter_s` from the symmetric explanation. */
tl_status tl_track_late(const tl_track_stamp_view *view, double start_s, double scatter_s,
                        tl_track_clock_fit *fit, double *cost);

#endif
