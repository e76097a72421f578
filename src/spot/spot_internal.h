/*
 * Shared by the files of tl_spot_find; not installed.
 *
 * The order of work:  light.c       the Sun's box, reduced, in the colour that shows most
 *                     seen.c        which of its pixels are undisturbed disc; the veil over it
 *                     profile.c     its light over the radius, divided out
 *                     background.c  what is left, smooth, divided out: contrast
 *                     noise.c       contrast smoothed to the blur, and how much it scatters where
 *                     segments.c    dark places, each from its deepest pixel outwards
 *                     measure.c     centre, areas, errors of one
 *                     shape.c       what cannot be a spot
 *                     find.c        the stage's entry point
 */
#ifndef TWOLIMB_SPOT_INTERNAL_H
#define TWOLIMB_SPOT_INTERNAL_H

#include "limb/limb_internal.h"
#include "twolimb/spot.h"

/* What a pixel of the box shows. */
enum {
    TL_SPOT_PX_OUTSIDE, /* beyond the solar limb or too close to it */
    TL_SPOT_PX_MOON,    /* the Moon, or too close to its limb */
    TL_SPOT_PX_CLIPPED,
    TL_SPOT_PX_DISC
};

/* Rings of the same area: wide where the light hardly changes, narrow at the limb. */
enum { TL_SPOT_RINGS = 64 };

/* The Sun's box, reduced. Lengths in its px, which are the plane's, unless named. */
typedef struct tl_spot_field {
    tl_plane light; /* owned; light.value becomes the contrast */
    const tl_limb *limb;
    unsigned char *state;          /* owned: TL_SPOT_PX_... */
    float *smooth;                 /* owned: contrast smoothed */
    double radius, blur;           /* the Sun's; the picture's, a pixel's own width in it */
    double sun_x, sun_y;           /* its centre */
    double map_xx, map_xy, map_yy; /* from px off the centre to solar radii */
    double moon_x, moon_y, moon_r; /* on the disc, sr; moon_r 0: none */
    int box;                       /* `smooth` is made by a triangle this wide at half height */
    double kernel_sum2;            /* sum of the squared weights of that filter */
    double kernel_sigma;           /* its width as a Gaussian's */
    int block;                     /* side of a noise block */
    int blocks_x, blocks_y;
    float *noise;      /* owned: of `smooth`, per block */
    float *noise_ring; /* owned: the same per ring of equal area, TL_SPOT_RINGS of them */
    double noise_typical;
    double depth_scale, clipped_share;
    size_t disc_count; /* of TL_SPOT_PX_DISC */
} tl_spot_field;

/* TL_ERR_ARGUMENT when nothing of the Sun is in the picture. */
tl_status tl_spot_light_take(const tl_image *image, const tl_limb *limb, tl_spot_field *field);
tl_status tl_spot_seen_take(tl_spot_field *field);
tl_status tl_spot_profile_divide(tl_spot_field *field);
tl_status tl_spot_background_divide(tl_spot_field *field);
tl_status tl_spot_noise_take(tl_spot_field *field);
void tl_spot_field_free(tl_spot_field *field);

/* A pixel's place on the disc, sr. */
void tl_spot_field_disc(const tl_spot_field *field, double x, double y, double *x_sr, double *y_sr);
/* Of `smooth` there. */
double tl_spot_noise_at(const tl_spot_field *field, int x, int y);

/* A dark place: the pixels index[first .. first + count), deepest first. */
typedef struct tl_spot_segment {
    size_t first, count;
    int peak; /* index of its deepest pixel */
} tl_spot_segment;
typedef struct tl_spot_segments {
    int *label;               /* owned: per pixel, number of its segment + 1; 0: none */
    int *index;               /* owned */
    tl_spot_segment *segment; /* owned */
    size_t count;
} tl_spot_segments;
/* Those that stand out. */
tl_status tl_spot_segments_make(const tl_spot_field *field, tl_spot_segments *segments);
void tl_spot_segments_free(tl_spot_segments *segments);

/* What is measured of one; px are the box's. */
typedef struct tl_spot_measure {
    double x, y, sigma;
    double missing; /* sum of the contrast */
    double area, umbra;
    double peak;      /* deepest, smoothed */
    double deepest;   /* one pixel, less its noise */
    double noise;     /* of `smooth` */
    double major;     /* 2 sigma of its spread along its longer axis, in the disc's middle */
    double roundness; /* shorter over longer axis, 0..1 */
    double sharpness; /* steepness of its edge over that of a step as blurred as the picture */
    double brightest_beside; /* highest light beside it, as contrast > 0 */
    double edge_depth;       /* contrast, smoothed, where it borders on no undisturbed disc */
    double edge_share;       /* share of its rim that is no undisturbed disc */
    double clipped_share;    /* share of its rim that is clipped */
    double foreshortening;
} tl_spot_measure;
/* Takes free pixels round it into its segment. False: nothing left to measure. */
bool tl_spot_measure_take(const tl_spot_field *field, tl_spot_segments *segments, size_t i,
                          tl_spot_measure *measure);
bool tl_spot_shape_fits(const tl_spot_field *field, const tl_spot_measure *measure);
bool tl_spot_shape_cut(const tl_spot_measure *measure);

#endif
