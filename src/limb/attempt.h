/*
 * attempt.h - one plane of a picture tried: from a hypothesis to circles and a verdict.
 */
#ifndef TWOLIMB_LIMB_ATTEMPT_H
#define TWOLIMB_LIMB_ATTEMPT_H

#include "limb/limb_internal.h"

/* What is special about the pixels. */
typedef struct tl_manner {
    bool large;   /* a part of them will do: so many lie along the limbs that their errors are below
                     those of a limb's own (its mountains, 1.5 arcsec) */
    bool reduced; /* the picture is held reduced */
} tl_manner;

/* What is under way in one plane. */
typedef struct tl_attempt {
    tl_plane plane;
    double light[3];
    tl_limb limb;
    tl_edge_model model;
    tl_edge_set set;
    double look_px[2]; /* blur of either limb at a first look, which no model guided */
    double circle[TL_LIMB_PARAMS], flattening, flat_x, flat_y; /* where the edges are; an almanac's
                                                                  ratio moves the limb's own */
    tl_manner how;
    bool failed;
} tl_attempt;

/* From a rough place of the circles, known to `wide` px, to edges to a fraction of a pixel, in two
 * looks; a bite that was overlooked is found. `set`: what the last look says of the edges. Errors
 * of the fit, TL_ERR_MEMORY. */
tl_status tl_limb_close_in(tl_limb *limb, const tl_plane *plane, double wide,
                           const tl_limb_prior *shape, tl_edge_set *set);
/* The frame's circles in the round picture, and how that was made. */
tl_flat tl_limb_get_circles(const tl_limb *limb, tl_circle *sun, tl_circle *moon);
void tl_limb_set_circles(tl_limb *limb, const tl_circle *sun, const tl_circle *moon);
/* The edges become the frame's own. */
void tl_limb_take_edges(tl_limb *limb, tl_edge_set *set);

/* One plane up to circles and a rough verdict, or, if it is the `only` one, to the last. Where no
 * circles come out the attempt has failed, which is a verdict as well. TL_ERR_MEMORY. */
tl_status tl_limb_attempt(tl_attempt *a, const tl_hypothesis *hypothesis,
                          const tl_limb_prior *prior, bool only);
/* The last measurement of one that has not failed, and the verdict; likewise. */
tl_status tl_limb_attempt_finish(tl_attempt *a, const tl_hypothesis *hypothesis,
                                 const tl_limb_prior *prior);

/* Try the planes of a picture, and measure in the one to believe. TL_ERR_MEMORY. */
tl_status tl_limb_measure_planes(const tl_image *image, const tl_hypothesis *hypothesis,
                                 const tl_limb_prior *prior, tl_manner how, tl_limb *limb);

#endif
