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

/* Factors tried on the errors of the circles, and how widely such factors scatter (natural
 * logarithm): the limb stage's own errors hold to a factor of two nearly always. */
enum { TL_TRACK_LEVELS = 4 };
extern const double tl_track_level[TL_TRACK_LEVELS];
double tl_track_level_cost(double level);

/* What a frame costs when good frames have this density at its residual. */
double tl_track_frame_cost(double density);

typedef struct tl_track_stamp_view {
    const tl_track_obs *obs;
    size_t count;
    const tl_track_eclipse *eclipse;
} tl_track_stamp_view;

/* Late stamps: fit and cost. `start_s` and `scatter_s` from the symmetric explanation. */
tl_status tl_track_late(const tl_track_stamp_view *view, double start_s, double scatter_s,
                        tl_track_clock_fit *fit, double *cost);

#endif
