/*
 * twolimb/limb.h - stage 2: the solar and the lunar circle in one frame.
 *
 * A wrong circle reported as measured is the worst this stage can do; a refusal
 * with a reason is not.
 */
#ifndef TWOLIMB_LIMB_H
#define TWOLIMB_LIMB_H

#include <stdint.h>

#include "twolimb/frame.h"

typedef enum tl_limb_status {
    TL_LIMB_MEASURED,   /* both circles */
    TL_LIMB_SUN_ONLY,   /* a whole disc, no Moon seen on it */
    TL_LIMB_NO_SUN,     /* nothing that could be the Sun */
    TL_LIMB_UNUSABLE,   /* the Sun, but not to be measured; see reason */
    TL_LIMB_UNREADABLE, /* the file could not be read; see reason */
    TL_LIMB_STATUS_COUNT
} tl_limb_status;

/* "measured", "sun-only", "no-sun", "unusable", "unreadable". */
const char *tl_limb_status_name(tl_limb_status status);

enum { TL_LIMB_SUN, TL_LIMB_MOON }; /* which limb an edge point lies on */

/* One sub-pixel edge point. */
typedef struct tl_limb_edge {
    double x_px, y_px;     /* position, picture px */
    double sigma_relative; /* its error over the typical one of its limb, from the contrast */
    double residual_px;    /* distance outside (+) or inside (-) its fitted circle */
    uint8_t limb;          /* TL_LIMB_SUN or TL_LIMB_MOON */
    bool used;             /* false: dropped by the robust fit or close to a cusp */
} tl_limb_edge;

enum { TL_LIMB_REASON_SIZE = 256 };
enum { TL_SUN_X, TL_SUN_Y, TL_SUN_R, TL_MOON_X, TL_MOON_Y, TL_MOON_R, TL_LIMB_PARAMS };

/*
 * What is known from elsewhere when the circles are fitted. All zero: nothing.
 */
typedef struct tl_limb_prior {
    double ratio;              /* Moon/Sun radius from an almanac; 0: not known */
    double ratio_sigma;        /* its error, > 0 if ratio is given */
    double flattening;         /* vertical over horizontal diameter of the refracted disc
                                  (1: round); 0: not known, taken as 1 */
    double zenith_x, zenith_y; /* unit vector to the zenith in the frame (x right, y down) */
} tl_limb_prior;

/* One frame's circles. Lengths in picture px unless named; fields are 0 when not known. */
typedef struct tl_limb {
    tl_limb_status status;
    char reason[TL_LIMB_REASON_SIZE]; /* empty when measured, unless the file is cut short */
    double circle[TL_LIMB_PARAMS];    /* indexed by TL_SUN_X ...; of a disc that is not round the
                                         radii are those of its longer axis */
    double flattening;                /* shorter over longer axis of both discs, as refraction and
                                         a tilted card make it; 1: round */
    double flat_x, flat_y;            /* unit vector of the shorter axis in the frame */
    bool flattening_fitted;           /* from the edges, not from a prior */
    double covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS]; /* px^2 */
    double offset_x_sr, offset_y_sr;        /* Moon - Sun in frame axes, flattening taken out */
    double offset_xx, offset_xy, offset_yy; /* its covariance, sr^2 */
    double separation_sr, separation_sigma_sr;
    double ratio_raw, ratio_raw_sigma; /* Moon/Sun as the edges show it, no prior, no shift */
    double edge_shift_px;  /* how far outwards blur and clipping moved the solar edge (and
                              inwards the lunar one); 0 unless solved from a known ratio */
    double reduced_px;     /* side of a pixel that it was measured in, of a picture held reduced; 0:
                              at full scale */
    double blur_px;        /* edge width: Gaussian sigma of the edge spread */
    double darkening;      /* power of the published limb darkening that fits the solar limb: 1 with
                              the filter and tone curve that it was taken for; 0: not measured */
    double profile_misfit; /* of the solar limb's mean profile against a blurred, darkened disc: rms
                              over the disc's light; 0: not seen */
    double clipped_edge;   /* share of the edge points whose bright side is clipped, 0..1 */
    double residual_px;    /* rms of the used edge points */
    double arc_sun_rad, arc_moon_rad; /* share of each limb that carries used points */
    double sky_level, disc_level;     /* linear light in the channel used, 0..1 */
    double clipped_share;             /* share of the disc's pixels at full scale, 0..1 */
    char channel[8];                  /* which plane was measured: "red", "green", "blue", "luma" */
    tl_limb_edge *edge;               /* owned; released by tl_limb_free */
    size_t edge_count;
} tl_limb;

/*
 * Find and fit both circles. Returns TL_OK whenever a verdict was reached, also
 * a refusal (see status and reason); TL_ERR_MEMORY, TL_ERR_ARGUMENT otherwise.
 */
tl_status tl_limb_find(const tl_image *image, const tl_limb_prior *prior, tl_limb *limb);

/*
 * Fit again from the edge points of a measured frame, with another prior; cheap,
 * needs no picture. A frame that is not measured is left as it is (TL_OK); one that turns out to
 * be burnt out is refused.
 */
tl_status tl_limb_refit(tl_limb *limb, const tl_limb_prior *prior);

/* A verdict without circles: for files that could not be read. */
void tl_limb_set_unreadable(tl_limb *limb, const char *reason);

/* Release the edge points; safe on a zeroed struct. */
void tl_limb_free(tl_limb *limb);

#endif
