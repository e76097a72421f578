/*
 * Shared by the files of the limb stage; not installed.
 *
 * The order of work:  plane.c    planes of the picture, whole or cut out
 *                     outline.c  bright regions and their borders
 *                     circle.c   circles through border points
 *                     hypothesis.c  which region could be the Sun, and where the Moon is
 *                     oval.c     discs that are not round
 *                     edge.c     a first look for edge points along the normals
 *                     darkening.c, spread.c  what the limb looks like, sharp and blurred
 *                     strip.c    the limbs measured
 *                     fit.c      both circles together: known shifts, priors, the result
 *                     fit_robust.c, fit_covariance.c  its least squares and its errors
 *                     verdict.c  measured, or refused with a reason
 *                     limb.c     the stage's entry points
 */
#ifndef TWOLIMB_LIMB_INTERNAL_H
#define TWOLIMB_LIMB_INTERNAL_H

#include "twolimb/limb.h"

/* The planes a Sun may be looked for in. Those up to TL_PLANE_BLUE may be measured in. */
typedef enum tl_plane_kind {
    TL_PLANE_LUMA,
    TL_PLANE_RED,
    TL_PLANE_GREEN,
    TL_PLANE_BLUE,
    TL_PLANE_WARM, /* red - blue, >= 0: an orange or yellow Sun apart from grey surroundings */
    TL_PLANE_COOL, /* blue - red, >= 0: the same for the blue Sun of some film filters */
    TL_PLANE_KINDS
} tl_plane_kind;
enum { TL_PLANE_MEASURABLE = TL_PLANE_BLUE + 1 };

/* A rectangle of the picture, possibly reduced. */
typedef struct tl_cutout {
    tl_image image; /* owned; tl_limb_cutout_free */
    double scale;   /* picture px per cut-out px, >= 1 */
    double x0, y0;  /* picture position of the cut-out's pixel (0, 0) centre */
} tl_cutout;

/*
 * Cut [x0, x1] x [y0, y1] (picture px, clamped) out of the picture and reduce it by the whole
 * number `factor` by averaging. A reduced pixel's centre is the mean of its picture pixels.
 */
tl_status tl_limb_cut(const tl_image *image, double x0, double y0, double x1, double y1, int factor,
                      tl_cutout *cutout);
void tl_limb_cutout_free(tl_cutout *cutout);

/* One plane of a cut-out as linear light, 0..1; scale and place are the cut-out's. */
typedef struct tl_plane {
    int width, height;
    double scale, x0, y0;
    float *value;           /* owned; tl_limb_plane_free */
    unsigned char *clipped; /* owned; 1 where a colour that the plane is made of is clipped */
} tl_plane;
tl_status tl_limb_plane_make(const tl_cutout *cutout, tl_plane_kind kind, tl_plane *plane);
void tl_limb_plane_free(tl_plane *plane);
/* Value at a plane position by Catmull-Rom interpolation; the caller keeps 2 px off the border. */
double tl_limb_plane_cubic(const tl_plane *plane, double x, double y);
/* Value at a plane position by linear interpolation, the border repeated outside. */
double tl_limb_plane_linear(const tl_plane *plane, double x, double y);
/* Is the pixel nearest to a plane position clipped? False outside. */
bool tl_limb_plane_clipped(const tl_plane *plane, double x, double y);
/* Share of full scale from which a sample counts as clipped: sRGB code 252 of 255. Codes just
 * under 255 are counted as well because JPEG's colour transform rounds. */
#define TL_LIMB_CLIPPED 0.973

/* Luminance of linear sRGB primaries: IEC 61966-2-1 / ITU-R BT.709. */
extern const double tl_limb_luma[3];

/* Full width at half maximum of a Gaussian of sigma 1: 2 sqrt(2 ln 2). */
#define TL_LIMB_FWHM 2.354820045

/* Of a frame's circles (indexed by TL_SUN_X ...): distance of the centres, and the largest width of
 * the part of the Sun that the Moon leaves, px. */
double tl_limb_apart_px(const double circle[TL_LIMB_PARAMS]);
double tl_limb_crescent_px(const double circle[TL_LIMB_PARAMS]);

typedef struct tl_circle {
    double x, y, r;
} tl_circle;

/* A point where a region's border crosses the threshold, with the direction of rising light. */
typedef struct tl_border_point {
    double x, y;   /* plane px */
    double nx, ny; /* unit vector towards the bright side */
} tl_border_point;

/* One connected bright region at one threshold. */
typedef struct tl_region {
    int label;                    /* its number in the map */
    size_t area;                  /* plane px */
    int left, top, right, bottom; /* bounding box, inclusive */
} tl_region;

/* Connected regions (4-neighbours) brighter than a threshold. */
typedef struct tl_region_map {
    int *label; /* owned; width*height, 0 = dark, else region number + 1 */
    tl_region *region;
    size_t count;
} tl_region_map;
tl_status tl_limb_regions_find(const tl_plane *plane, double threshold, size_t area_min,
                               tl_region_map *map);
void tl_limb_regions_free(tl_region_map *map);

/* Up to `max` border points of one region, evenly thinned; the picture's own edge is no border. */
tl_status tl_limb_region_border(const tl_plane *plane, const tl_region_map *map, size_t region,
                                double threshold, size_t max, tl_border_point *point,
                                size_t *count);

/* What a search for a circle among border points may expect. */
typedef struct tl_circle_search {
    double inside_sign; /* +1: bright inside (Sun), -1: dark inside (Moon) */
    double r_min, r_max;
    double tolerance; /* distance of an inlier from the circle, plane px */
    tl_circle within; /* if r > 0: an inlier lies inside this circle by more than the tolerance */
} tl_circle_search;
/*
 * The circle with most inliers (random sampling with a fixed seed, then Taubin's algebraic fit
 * to the inliers: G. Taubin, IEEE Trans. PAMI 13 (1991) 1115). taken[i] != 0 keeps a point out.
 * Counts the inliers (0: none found, circle untouched) and marks them in `inlier`.
 */
tl_status tl_limb_circle_search(const tl_border_point *point, size_t count,
                                const unsigned char *taken, const tl_circle_search *search,
                                tl_circle *circle, unsigned char *inlier, size_t *inliers);

/* Where the Sun may be: circles in picture px. moon.r == 0: no Moon seen. */
typedef struct tl_hypothesis {
    tl_circle sun, moon;   /* of an oval disc the radii are those of its longer axis */
    double flattening;     /* shorter over longer axis of an oval disc; 1: round */
    double flat_x, flat_y; /* unit vector of the shorter axis; (0, 1) where round */
    double outline_px;     /* uncertainty of the circles: one plane px in picture px */
    int rivals;            /* other regions as large and as bright: a collage */
    bool dark_centre;      /* a bright ring round a dark disc: total phase */
} tl_hypothesis;
/* `found` false when there is nothing that could be the Sun (still TL_OK). */
tl_status tl_limb_hypothesis_find(const tl_image *image, bool *found, tl_hypothesis *hypothesis);

/* The map between the picture and one in which the discs are round, about the picture's origin. */
typedef struct tl_oval {
    double flattening; /* shorter over longer axis, 0 < f <= 1 */
    double flat_x, flat_y;
} tl_oval;
void tl_limb_oval_round(const tl_oval *oval, double *x, double *y);
void tl_limb_oval_picture(const tl_oval *oval, double *x, double *y);

/* Limb darkening in the plane measured: a mix of colours, to a power. */
typedef struct tl_darkening {
    double light[3]; /* share of red, green and blue, sum 1 */
    double power;    /* 1: as published */
} tl_darkening;
/* Light at rho solar radii from the disc's centre (there 1; rho > 1: as at the limb), and its
 * slope d/d rho, which is cut off close to the limb. */
double tl_limb_darkening(const tl_darkening *darkening, double rho, double *slope);
/* The solar limb blurred, tabulated along the normal. */
enum { TL_SPREAD_STEPS = 133 };
typedef struct tl_spread {
    tl_darkening darkening;
    double radius_px, blur_px;
    double value[TL_SPREAD_STEPS], slope[TL_SPREAD_STEPS], bend[TL_SPREAD_STEPS];
} tl_spread;
typedef struct tl_spread_at {
    double value, slope, bend; /* light (1: the disc's centre) and its derivatives per px */
} tl_spread_at;
void tl_limb_spread_make(const tl_darkening *darkening, double radius_px, double blur_px,
                         tl_spread *spread);
/* `outside_px` < 0: within the limb. Good to 3e-4 of the central light up
 * to a blur of a 70th of the radius. */
tl_spread_at tl_limb_spread_at(const tl_spread *spread, double outside_px);

/* Edge points of both limbs in order along each limb (Sun first), and what was seen there. */
typedef struct tl_edge_set {
    tl_limb_edge *edge; /* owned */
    size_t count;
    size_t expected[2];     /* places that should have shown a limb, per limb */
    double blur_limb_px[2]; /* Gaussian sigma of each limb's edge spread */
    double blur_px;         /* the same of both */
    double step[2];         /* typical light of the disc less that of the sky, at each limb */
    double sigma_px[2];     /* typical error of an edge point, from the noise of the pixels */
    double misfit;          /* of the solar limb's mean profile against the model, rms over the
                               disc's light; 0: not seen */
    double clipped_edge;    /* share of edges whose bright side is clipped */
} tl_edge_set;

typedef struct tl_edge_search {
    double half_width_px; /* how far to look either side of the circle */
    double filter_px;     /* Gaussian sigma of the derivative filter */
    double cusp_px;       /* keep this far from the other limb */
} tl_edge_search;
/*
 * The steepest places along the normals: a first look, good to a few tenths of a blur. `plane` must
 * not be reduced (scale 1). Circles in the round picture, px; moon->r == 0: none.
 */
tl_status tl_limb_edges_find(const tl_plane *plane, const tl_oval *oval, const tl_circle *sun,
                             const tl_circle *moon, const tl_edge_search *search, tl_edge_set *set);
/* Share of one visible limb that has another steep edge beside it: a double exposure. */
double tl_limb_second_edge_share(const tl_plane *plane, const tl_oval *oval, const tl_circle *sun,
                                 const tl_circle *moon, const tl_edge_set *set, int limb);

/* What a limb should look like in a picture; noise is learnt as the work goes on. */
typedef struct tl_edge_model {
    tl_oval oval;
    tl_spread spread;
    double power;                  /* of the darkening, for the next turn */
    double cusp_px;                /* keep this far from the other limb */
    double noise_sky, noise_light; /* variance of a pixel: the first + the second * its light, where
                                      1 is the disc's centre */
} tl_edge_model;
/*
 * Edge points as the model fits them to the pixels: the limbs themselves, with what blur and limb
 * darkening do to them taken out. As tl_limb_edges_find; the circles must be right to a blur or
 * two. The model's noise and darkening become those which were seen.
 */
tl_status tl_limb_strip_measure(const tl_plane *plane, const tl_circle *sun, const tl_circle *moon,
                                tl_edge_model *model, tl_edge_set *set);

/*
 * The joint fit: fills circles, covariance, offset, separation, ratio, shift and residuals of
 * `limb` from limb->edge, blur_px, clipped_edge and the prior; starts from limb->circle (radius of
 * the Moon 0: Sun only) and its flattening. TL_ERR_TOO_FEW, TL_ERR_NO_FIT: limb untouched.
 */
tl_status tl_limb_fit(tl_limb *limb, const tl_limb_prior *prior);

/* Accept or refuse: sets limb->status and limb->reason. */
void tl_limb_judge(tl_limb *limb, const tl_hypothesis *hypothesis, const tl_edge_set *set,
                   const tl_plane *plane);
/* Refuse a measured frame whose crescent is thin and burnt out in its most exposed colour. */
void tl_limb_judge_burnt(tl_limb *limb, double clipped_edge_worst);
/* Write a reason that fits into limb->reason. */
void tl_limb_refuse(tl_limb *limb, tl_limb_status status, const char *reason);

#endif
