/*
 * The parts of strip.c; not installed, only for the strip_*.c files.
 */
#ifndef TWOLIMB_LIMB_STRIP_INTERNAL_H
#define TWOLIMB_LIMB_STRIP_INTERNAL_H

#include "limb/limb_internal.h"

enum { TL_STRIP_SECTORS_MAX = 720, TL_STRIP_PIXELS_MIN = 8, TL_STRIP_BINS = 52 };
#define TL_STRIP_FROM (-8.0) /* of the mean profile, blurs outside the limb */
#define TL_STRIP_STEP 0.25

typedef struct tl_strip_pixel {
    float outside; /* of its own limb, px, curvature of the edge allowed for */
    float value;
    float disc;  /* the Sun's strip: share that the Moon's limb lets through; the Moon's: the
                    disc's light behind */
    float slope; /* the Moon's strip: change of that light across the limb in a blur */
    float bend;  /* and half the change of that */
    int sector;
} tl_strip_pixel;

typedef struct tl_strip_sector {
    size_t first, count; /* of its pixels */
    size_t window;       /* how many of them, the first ones, place the limb */
    double low, step;    /* sky, and disc less sky as at the Sun's centre */
    double shift_px, sigma_px;
    double level_weight; /* of its own levels */
    double angle;        /* of its limb's middle, in the round picture */
    bool found;
} tl_strip_sector;

/* One limb's strip. */
typedef struct tl_strip {
    const tl_edge_model *model;
    const tl_circle *circle, *other;
    int limb, sectors;
    int thin; /* of every so many pixels and rows one is taken */
    double half_px;
    double other_inner2, other_outer2; /* squared distances from the other's centre, in the round
                                          picture, that pixels open to view keep */
    tl_strip_pixel *pixel;             /* owned */
    size_t count, room;
    tl_strip_sector *sector; /* owned */
} tl_strip;

/* Light that the model has at a pixel for a step of one, and its change per px that the limb lies
 * further out. */
static inline double tl_limb_strip_light(const tl_strip *s, const tl_strip_pixel *p,
                                         double shift_px, double *by_shift) {
    const tl_spread *spread = &s->model->spread;
    const double d = (double)p->outside - shift_px;
    if (s->limb == TL_LIMB_SUN) {
        const double open = (double)p->disc;
        double slope, value = tl_limb_spread_light(spread, d, &slope);
        *by_shift = -open * slope;
        return open * value;
    }
    /* a disc that changes along the normal, behind a straight edge, up to second order; L blurred:
     * L Phi(z) + L' b phi(z) - L'' b^2 z phi(z) / 2, Phi the share of light outside z */
    const double z = -d / spread->blur_px, light = (double)p->disc;
    const double slope = (double)p->slope, bend = (double)p->bend;
    double bell, whole = tl_limb_spread_plain(spread, z, &bell);
    *by_shift = (-slope * z - light + bend * (1 - z * z)) * bell / spread->blur_px;
    return light * whole + (slope + bend * z) * bell;
}
/* Its change per px of blur. */
double tl_limb_strip_by_blur(const tl_strip *s, const tl_strip_pixel *p, double shift_px);
/* Variance of a pixel of that light. */
static inline double tl_limb_strip_noise(const tl_strip *s, double light) {
    return s->model->noise_sky + s->model->noise_light * (light > 0 ? light : 0);
}
double tl_limb_strip_clamp(double value, double limit);

/* strip_pixels.c: gather the strip's pixels, ordered by sector. */
tl_status tl_limb_strip_gather(tl_strip *s, const tl_plane *plane);

/* strip_sectors.c: place the limb in each sector; a typical step of light of those that did. */
double tl_limb_strip_place(tl_strip *s);

/* The mean profile of the solar limb over all good sectors, in bins of its width. */
typedef struct tl_strip_profile {
    double sum[TL_STRIP_BINS], square[TL_STRIP_BINS], place[TL_STRIP_BINS], count[TL_STRIP_BINS];
} tl_strip_profile;

/* Sums over the good sectors of one strip. */
typedef struct tl_strip_sums {
    tl_strip_profile profile;
    double blur_up, blur_down; /* the blur's correction as a quotient */
    double *sky, *disc;        /* |rest| of dark and bright pixels; room for all of them */
    size_t sky_count, disc_count;
    double disc_light;
} tl_strip_sums;

/* strip_learn.c: what the good sectors leave over, and what the model learns from it. */
void tl_limb_strip_sum(const tl_strip *s, tl_strip_sums *sums);
/* New blur, darkening and noise; TL_ERR_MEMORY. */
tl_status tl_limb_strip_learn(tl_edge_model *model, const tl_strip_sums sums[2], tl_edge_set *set);

#endif
