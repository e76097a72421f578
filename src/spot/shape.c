/*
 * shape.c - what cannot be a spot.
 */
#include <math.h>

#include "spot/spot_internal.h"

/* No spot is wider: radius over the Sun's; 60 arcsec across is 0.03, groups are wider. */
#define RADIUS_MAX_SR 0.08
/* Narrower than this over its length is a line, a stroke, a limb; groups are up to 1:3 (common
 * practice, no source), less so when blurred. What is hardly larger than the blur is drawn round by
 * it, unless it is an edge's ringing or a block's border (measured on drawn spots: 0.65 and more).
 */
#define ROUNDNESS_MIN 0.3
#define ROUNDNESS_SMALL 0.55
#define SMALL_BLURS 3.0
#define FAINT_SIGMAS 8.0
/* A dead pixel is narrower than what the optics can draw. Share of the area that a point of light
 * fills, below which a mark is refused: the blur is known to some 20 %. */
#define POINT_AREA_SHARE 0.45
/* An edge less steep is a cloud's; steepness over that of a step (measured on drawn spots: 0.4 and
 * more; cloud: below 0.2). */
#define SHARPNESS_MIN 0.28
/* An umbra lets a fifth of the light through at the least; a tone curve and sharpening make it
 * darker. What is darker still is a letter. */
#define DEPTH_MAX 0.93
/* What is about as bright beside a mark as it is dark, is drawn, a ghost, or an edge that rings;
 * sharpening leaves a tenth or two. */
#define BESIDE_SHARE 0.5
#define BESIDE_SIGMAS 4.0
/* A mark that is still so deep, over its deepest, where the undisturbed disc ends, is cut; what it
 * must then have to be kept. */
#define CUT_DEPTH 0.2
#define CUT_RIM_MAX 0.6
#define CUT_SIGMAS 8.0
#define CUT_CONTRAST 0.1
#define CLIPPED_RIM_MAX 0.15

bool tl_spot_shape_cut(const tl_spot_measure *m) {
    return m->edge_depth > CUT_DEPTH * m->peak;
}

static bool wide_enough(const tl_spot_field *f, const tl_spot_measure *m) {
    const double point = 2 * TL_PI * f->blur * f->blur;
    return m->deepest <= 0 || m->missing / m->deepest > POINT_AREA_SHARE * point;
}

static bool round_enough(const tl_spot_field *f, const tl_spot_measure *m) {
    const bool doubtful = m->major < SMALL_BLURS * f->blur && m->peak < FAINT_SIGMAS * m->noise;
    return m->roundness > (doubtful ? ROUNDNESS_SMALL : ROUNDNESS_MIN);
}

static bool plain_beside(const tl_spot_measure *m) {
    return m->brightest_beside < fmax(BESIDE_SHARE * m->peak, BESIDE_SIGMAS * m->noise);
}

bool tl_spot_shape_fits(const tl_spot_field *f, const tl_spot_measure *m) {
    if (tl_spot_shape_cut(m) &&
        (m->edge_share > CUT_RIM_MAX || m->peak < CUT_SIGMAS * m->noise || m->peak < CUT_CONTRAST))
        return false;
    return wide_enough(f, m) && m->major < RADIUS_MAX_SR * f->radius + 2 * f->blur &&
           round_enough(f, m) && m->sharpness > SHARPNESS_MIN &&
           fmax(m->peak, m->deepest) < DEPTH_MAX && m->clipped_share < CLIPPED_RIM_MAX &&
           plain_beside(m);
}
