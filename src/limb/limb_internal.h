/*
 * Shared by the files of the limb stage; not installed.
 *
 * The order of work:  plane.c    planes of the picture, whole or cut out
 *                     outline.c  where light rises most steeply, linked to curves
 *                     circle.c   circles through such points
 *                     oval.c     Sun and Moon as the image of two circles, fitted together
 *                     support.c  which points of the outlines back such a pair
 *                     sun.c      which curves could be the Sun's limb
 *                     moon.c     where the Moon is before it
 *                     dark_disc.c  the total phase
 *                     hypothesis.c  from the whole picture to one pair
 *                     flat.c     discs that are not round, and the round picture
 *                     edge.c     a first look for edge points along the normals
 *                     darkening.c, spread.c  what the limb looks like, sharp and blurred
 *                     strip.c    the limbs measured, by strip_pixels.c, strip_sectors.c,
 * strip_learn.c fit.c      both circles together: priors, the result fit_robust.c, fit_covariance.c
 * its least squares and its errors verdict.c  measured, or refused with a reason limb.c     the
 * stage's entry points
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

/*
 * One plane of a picture as linear light, 0..1: a copy made from a cut-out, or a view of a part of
 * the picture itself, of which only what is asked for is worked out.
 */
typedef struct tl_plane {
    int width, height;
    double scale, x0, y0; /* picture px per pixel, and picture position of the first one's centre */
    float *value;         /* copy: owned, tl_limb_plane_free; view: NULL */
    unsigned char *clipped; /* copy made for sunspots: owned; 1 where a colour is clipped */
    const uint8_t *code;    /* view of coded values: the first pixel's, or that of one colour */
    const uint16_t *sample; /* view of light */
    size_t row, step;       /* from one row, and one pixel, to the next */
    bool mixed;             /* view: of all three colours */
    float table[3][256];    /* view of coded values: light of the plane by code */
    float weight[3];        /* view of light */
    int clipped_from[3];    /* view of coded values: the least code that counts as clipped */
} tl_plane;
/* A copy of [x0, x1] x [y0, y1] (pixels held, clamped), reduced by `factor` >= 1; of a block only
 * some pixels are looked at. TL_ERR_ARGUMENT if nothing is left, TL_ERR_MEMORY. */
tl_status tl_limb_plane_glance(const tl_image *image, tl_plane_kind kind, double x0, double y0,
                               double x1, double y1, int factor, tl_plane *plane);
void tl_limb_plane_free(tl_plane *plane);
/* A view of [x0, x1] x [y0, y1] (pixels held, clamped), one of the measurable planes; lives no
 * longer than the image. Positions are in pixels held. */
tl_plane tl_limb_plane_view(const tl_image *image, tl_plane_kind kind, double x0, double y0,
                            double x1, double y1);
/* Value of the pixel whose first sample is number `at`. */
static inline float tl_limb_plane_at(const tl_plane *p, size_t at) {
    if (p->code != NULL) {
        const uint8_t *c = p->code + at;
        return p->mixed ? p->table[0][c[0]] + p->table[1][c[1]] + p->table[2][c[2]]
                        : p->table[0][c[0]];
    }
    if (p->value != NULL)
        return p->value[at];
    const uint16_t *s = p->sample + at;
    return p->mixed ? p->weight[0] * s[0] + p->weight[1] * s[1] + p->weight[2] * s[2]
                    : p->weight[0] * s[0];
}
/* Value of a pixel. */
static inline double tl_limb_plane_value(const tl_plane *p, int x, int y) {
    return (double)tl_limb_plane_at(p, (size_t)y * p->row + (size_t)x * p->step);
}
/* Value at a plane position by linear interpolation, the border repeated outside. */
double tl_limb_plane_linear(const tl_plane *plane, double x, double y);
/* The same along a line of `count` places from (x, y), (dx, dy) apart, all of which lie a pixel or
 * more inside the plane. */
void tl_limb_plane_profile(const tl_plane *plane, double x, double y, double dx, double dy,
                           int count, double *value);
/* Is the pixel nearest to a plane position clipped, in a view? False outside. */
bool tl_limb_plane_clipped(const tl_plane *plane, double x, double y);
/* The brightest place, a mean of 2 x 2 px, so that a hot pixel does not count. */
double tl_limb_plane_brightest(const tl_plane *plane);
/* Share of full scale from which a sample counts as clipped: sRGB code 252 of 255. Codes just
 * under 255 are counted as well because JPEG's colour transform rounds. */
#define TL_LIMB_CLIPPED 0.973

/* Luminance of linear sRGB primaries: IEC 61966-2-1 / ITU-R BT.709. */
extern const double tl_limb_luma[3];

/* Brings `value` into another order; 0 of none. */
double tl_limb_median(double *value, size_t count);

/* Smallest edge spread taken for true, px: a pixel's own is 1 / sqrt(12). */
#define TL_LIMB_BLUR_MIN_PX 0.35

/* Full width at half maximum of a Gaussian of sigma 1: 2 sqrt(2 ln 2). */
#define TL_LIMB_FWHM 2.354820045

/* Of a frame's circles (indexed by TL_SUN_X ...): distance of the centres, and the largest width of
 * the part of the Sun that the Moon leaves, px. */
double tl_limb_apart_px(const double circle[TL_LIMB_PARAMS]);
double tl_limb_crescent_px(const double circle[TL_LIMB_PARAMS]);

typedef struct tl_circle {
    double x, y, r;
} tl_circle;

/* Half the arc of the Moon's limb that lies on the Sun, rad; pi: all of it. */
double tl_limb_half_arc(const tl_circle *moon, const tl_circle *sun);

/* A point of an outline, with the direction of rising light. */
typedef struct tl_border_point {
    double x, y;   /* plane px */
    double nx, ny; /* unit vector towards the bright side */
} tl_border_point;

/*
 * Where the light of a plane rises most steeply. Points that follow each other without a sharp
 * turn are neighbours in the list: curve i holds curve[i] up to, without, curve[i + 1].
 */
typedef struct tl_outline {
    int width, height;      /* of the plane */
    tl_border_point *point; /* owned */
    float *rise;            /* owned: per point, root light per px */
    size_t count;
    size_t *curve; /* owned: curves + 1 */
    size_t curves;
    int *at; /* owned: width*height, number of the pixel's point + 1, 0: none */
} tl_outline;
/* `brightest`: as tl_limb_plane_brightest has it. */
tl_status tl_limb_outline_make(const tl_plane *plane, double brightest, tl_outline *outline);
void tl_limb_outline_free(tl_outline *outline);

/* Taubin's algebraic fit (G. Taubin, IEEE Trans. PAMI 13 (1991) 1115) to the points, or to those
 * marked in `inlier`; false when they do not make a circle. */
bool tl_limb_circle_fit(const tl_border_point *point, size_t count, const unsigned char *inlier,
                        tl_circle *circle);

/* What a search for a circle among border points may expect. */
typedef struct tl_circle_search {
    double inside_sign; /* +1: bright inside (Sun), -1: dark inside (Moon) */
    double r_min, r_max;
    double tolerance; /* distance of an inlier from the circle, plane px */
    tl_circle within; /* if r > 0: an inlier lies inside this circle by more than the tolerance */
} tl_circle_search;
/*
 * The circle with most inliers (random sampling with a fixed seed, then Taubin's algebraic fit to
 * the inliers). taken[i] != 0 keeps a point out.
 * Counts the inliers (0: none found, circle untouched) and marks them in `inlier`.
 */
tl_status tl_limb_circle_search(const tl_border_point *point, size_t count,
                                const unsigned char *taken, const tl_circle_search *search,
                                tl_circle *circle, unsigned char *inlier, size_t *inliers);

/*
 * Both discs as a tilted card or refraction shows them: circles under one stretch. A point x is on
 * the Sun's limb when |M (x - centre)| = r with M = [1 + p, q; q, 1 - p]. Plane px; p = q = 0:
 * round; moon.r == 0: no Moon.
 */
typedef struct tl_oval {
    tl_circle sun, moon; /* centres in the plane, radii as measured by M */
    double p, q;
} tl_oval;
/* Distance from one limb as measured by M, > 0 outside. */
double tl_limb_oval_distance(const tl_oval *oval, int limb, double x, double y);
/* The limb's point at an angle of the unstretched circle, and its outward unit normal. */
void tl_limb_oval_point(const tl_oval *oval, int limb, double angle, double *x, double *y,
                        double *nx, double *ny);
/* M applied to a vector, and its inverse. */
void tl_limb_oval_stretch(const tl_oval *oval, double dx, double dy, double *u, double *v);
void tl_limb_oval_unstretch(const tl_oval *oval, double u, double v, double *dx, double *dy);
/* Shorter over longer axis (1: round) and the longer half-axis of a circle of radius r. */
double tl_limb_oval_flattening(const tl_oval *oval);
double tl_limb_oval_longer(const tl_oval *oval, double r);

/* A point for the fit. */
typedef struct tl_limb_point {
    double x, y;
    int limb; /* TL_LIMB_SUN or TL_LIMB_MOON */
} tl_limb_point;
/*
 * Least squares on the distances of the points, a few steps from where `oval` stands. The stretch
 * is fitted when `free_stretch`. Weak priors (no stretch, a Moon about as large as the Sun) hold
 * what short arcs leave open. False, `oval` untouched: no solution.
 */
bool tl_limb_oval_fit(const tl_limb_point *point, size_t count, bool free_stretch, tl_oval *oval);

enum { TL_SUPPORT_SPOKES_MAX = 180 }; /* every 2 degrees */
/* What the outlines of a plane say for a pair. */
typedef struct tl_support {
    int spokes;         /* places looked at round the whole of a limb, evenly in angle */
    int expected[2];    /* spokes whose limb is in the plane and not behind the other limb's disc */
    int backed[2];      /* of those, with an outline along them */
    double rise[2];     /* sum over backed spokes of the step of light across the limb */
    double off2[2];     /* sum of their squared distances from the limb, px^2 */
    int hidden;         /* spokes of the solar limb behind the Moon */
    double hidden_rise; /* sum of steps found on them */
    int close;          /* backed spokes, both limbs, whose outline is within a hundredth of r */
    size_t count;
    tl_limb_point point[2 * TL_SUPPORT_SPOKES_MAX];
} tl_support;
/* Outlines within `tolerance` px of either limb that rise to the right side. */
void tl_limb_support(const tl_plane *plane, const tl_outline *outline, const tl_oval *oval,
                     double tolerance, tl_support *support);

/* A pair found in a plane. */
typedef struct tl_pair {
    tl_oval oval;
    tl_support support;
    double score; /* mean step of light over all that should be seen of both limbs, times the
                     share of it that lies close to the circles */
} tl_pair;
enum { TL_SUNS_MAX = 8 };
/* Up to TL_SUNS_MAX discs, bright inside, no Moons yet, the best first. `known`: a disc seen
 * before, plane px, to be tried too; or NULL. */
void tl_limb_suns_find(const tl_plane *plane, const tl_outline *outline, const tl_oval *known,
                       tl_pair *pair, size_t *count);
/* Look for the Moon before a Sun; the pair is refitted, or left without a Moon. */
tl_status tl_limb_moon_find(const tl_plane *plane, const tl_outline *outline, tl_pair *pair);
/* Of two discs the larger is the Sun, unless its limb is much the fainter, as a field stop's is. */
double tl_limb_pair_merit(const tl_pair *pair);
/*
 * Let the circles settle: gather outlines along them and fit, with less tolerance in each of
 * `rounds` (shares of the solar radius); sets support and score. The stretch is fitted if `oval`.
 * False when too little backs them.
 */
bool tl_limb_pair_settle(const tl_plane *plane, const tl_outline *outline, const double *round,
                         int rounds, bool oval, tl_pair *pair);
/* The same for a round and for an oval Sun; the oval one is taken if clearly more backs it. */
bool tl_limb_pair_settle_both(const tl_plane *plane, const tl_outline *outline, const double *round,
                              int rounds, tl_pair *pair);

/* Is there a complete dark disc with light about it that falls off outwards? */
bool tl_limb_dark_disc(const tl_plane *plane, const tl_outline *outline);

/* Where the Sun may be: circles in picture px. moon.r == 0: no Moon seen. */
typedef struct tl_hypothesis {
    tl_circle sun, moon;   /* of an oval disc the radii are those of its longer axis */
    double flattening;     /* shorter over longer axis of an oval disc; 1: round */
    double flat_x, flat_y; /* unit vector of the shorter axis; (0, 1) where round */
    double outline_px;     /* uncertainty of the circles along the limbs, picture px: the scatter of
                              the outlines about them, at least one px of the plane */
    int rivals;            /* other discs as large and about as bright: a collage, or a multiple
                              exposure (then less than a diameter away) */
    bool grey;             /* the picture has no colours worth measuring apart */
    bool dark_centre;      /* a bright ring round a dark disc: total phase */
    tl_plane_kind plane;   /* where the Sun stands out best */
    double backed_sun, backed_moon; /* share of the visible limb that shows an edge, 0..1 */
} tl_hypothesis;
/* `found` false when there is nothing that could be the Sun (still TL_OK). */
tl_status tl_limb_hypothesis_find(const tl_image *image, bool *found, tl_hypothesis *hypothesis);

/*
 * The two halves of tl_limb_find, between which a picture that is held reduced may be exchanged for
 * a finer part of its file. A sight is in px of the file, whatever picture it was had from.
 */
typedef struct tl_sight {
    bool found; /* else only `dark_centre` of the rest is filled */
    tl_hypothesis seen;
} tl_sight;
/* TL_ERR_ARGUMENT, TL_ERR_MEMORY as tl_limb_find. */
tl_status tl_limb_look(const tl_image *image, tl_sight *sight);
/* The circles of what was seen, measured in `image`, and the verdict; errors likewise. `large`: a
 * part of the pixels along the limbs will do. */
tl_status tl_limb_measure(const tl_image *image, const tl_sight *sight, const tl_limb_prior *prior,
                          bool large, tl_limb *limb);

/* The map between the picture and one in which the discs are round, about the picture's origin. */
typedef struct tl_flat {
    double flattening; /* shorter over longer axis, 0 < f <= 1 */
    double flat_x, flat_y;
} tl_flat;
void tl_limb_flat_round(const tl_flat *flat, double *x, double *y);
void tl_limb_flat_picture(const tl_flat *flat, double *x, double *y);

/* Limb darkening in the plane measured: a mix of colours, to a power. */
typedef struct tl_darkening {
    double light[3]; /* share of red, green and blue, sum 1 */
    double power;    /* 1: as published */
} tl_darkening;
/* Light at rho solar radii from the disc's centre (there 1; rho > 1: as at the limb), and its
 * slope d/d rho, which is cut off close to the limb. */
double tl_limb_darkening(const tl_darkening *darkening, double rho, double *slope);
/* The solar limb blurred, and a plain step, tabulated along the normal as cubic pieces. */
enum { TL_SPREAD_STEPS = 133, TL_SPREAD_DEEP = 193, TL_SPREAD_PLAIN = 129 };
typedef struct tl_spread {
    tl_darkening darkening;
    double radius_px, blur_px;
    double from_px, per_px;           /* the limb's pieces: inner end, steps per px */
    double piece[TL_SPREAD_STEPS][4]; /* light: powers of the place within the step */
    double bend[TL_SPREAD_STEPS];     /* at the steps */
    double deep_per_px;               /* deeper, from the centre outwards, there is no blur */
    double deep[TL_SPREAD_DEEP][4];   /* light */
    double plain[TL_SPREAD_PLAIN][4]; /* share of a plain step's light, over blurs */
} tl_spread;
typedef struct tl_spread_at {
    double value, slope, bend; /* light (1: the disc's centre) and its derivatives per px */
} tl_spread_at;
void tl_limb_spread_make(const tl_darkening *darkening, double radius_px, double blur_px,
                         tl_spread *spread);
/* `outside_px` < 0: within the limb. Good to 3e-4 of the central light up
 * to a blur of a 70th of the radius. */
tl_spread_at tl_limb_spread_at(const tl_spread *spread, double outside_px);
/* The same without the bend: what is asked for at every pixel of a limb. */
static inline double tl_limb_spread_light(const tl_spread *s, double outside_px, double *slope) {
    double u = (outside_px - s->from_px) * s->per_px, per_px = s->per_px;
    const double(*table)[4] = s->piece;
    if (u >= TL_SPREAD_STEPS - 1) {
        *slope = 0;
        return 0;
    }
    if (u < 0) {
        u = (outside_px + s->radius_px) * s->deep_per_px;
        u = u > 0 ? u < TL_SPREAD_DEEP - 1 ? u : TL_SPREAD_DEEP - 1 : 0;
        table = s->deep;
        per_px = s->deep_per_px;
    }
    const int i = (int)u;
    const double t = u - i, *c = table[i];
    *slope = (c[1] + t * (2 * c[2] + 3 * t * c[3])) * per_px;
    return c[0] + t * (c[1] + t * (c[2] + t * c[3]));
}
/* Share of a plain step's light `z` blurs outside it, and its fall there per blur (the Gaussian).
 */
#define TL_SPREAD_PLAIN_END 6.0
static inline double tl_limb_spread_plain(const tl_spread *s, double z, double *bell) {
    const double per_blur = (TL_SPREAD_PLAIN - 1) / (2 * TL_SPREAD_PLAIN_END);
    const double u = (z + TL_SPREAD_PLAIN_END) * per_blur;
    *bell = 0;
    if (u <= 0)
        return 1;
    if (u >= TL_SPREAD_PLAIN - 1)
        return 0;
    const int i = (int)u;
    const double t = u - i, *c = s->plain[i];
    *bell = -(c[1] + t * (2 * c[2] + 3 * t * c[3])) * per_blur;
    return c[0] + t * (c[1] + t * (c[2] + t * c[3]));
}

/* Edge points of both limbs in order along each limb (Sun first), and what was seen there. */
typedef struct tl_edge_set {
    tl_limb_edge *edge; /* owned */
    size_t count;
    size_t expected[2];     /* places that should have shown a limb, per limb */
    double blur_limb_px[2]; /* Gaussian sigma of each limb's edge spread */
    double look_limb_px[2]; /* the same as the first look had it, which no model guided */
    double blur_px;         /* of both limbs */
    double step[2];         /* typical light of the disc less that of the sky, at each limb */
    double misfit;          /* of the solar limb's mean profile against the model, rms over the
                               disc's light; 0: not seen */
    double clipped_edge;    /* share of edges whose bright side is clipped */
} tl_edge_set;

typedef struct tl_edge_search {
    double half_width_px; /* how far to look either side of the circle */
    double filter_px;     /* Gaussian sigma of the derivative filter */
    double cusp_px;       /* keep this far from the other limb */
    int normals;          /* round a limb, at most TL_EDGE_NORMALS_MAX */
} tl_edge_search;
enum { TL_EDGE_NORMALS_MAX = 600 };
/*
 * The steepest places along the normals: a first look, good to a few tenths of a blur. `plane` must
 * not be reduced (scale 1). Circles in the round picture, px; moon->r == 0: none.
 */
tl_status tl_limb_edges_find(const tl_plane *plane, const tl_flat *flat, const tl_circle *sun,
                             const tl_circle *moon, const tl_edge_search *search, tl_edge_set *set);
/* Share of one visible limb that has another steep edge beside it: a double exposure. */
double tl_limb_second_edge_share(const tl_plane *plane, const tl_flat *flat, const tl_circle *sun,
                                 const tl_circle *moon, const tl_edge_set *set, int limb);

/* What a limb should look like in a picture; noise is learnt as the work goes on. */
typedef struct tl_edge_model {
    tl_flat flat;
    tl_spread spread;
    double power;                  /* of the darkening, for the next turn */
    double cusp_px;                /* keep this far from the other limb */
    bool rough;                    /* a part of the pixels will do */
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
/* The same for circles that will be measured again: circles, residuals and arcs alone, no almanac's
 * ratio, no errors. */
tl_status tl_limb_fit_circles(tl_limb *limb, const tl_limb_prior *shape);

/* Accept or refuse: sets limb->status and limb->reason. */
void tl_limb_judge(tl_limb *limb, const tl_hypothesis *hypothesis, const tl_edge_set *set,
                   const tl_plane *plane);
/*
 * After the choice of a colour, and when a fit with a better prior tells more: refuse a measured
 * frame whose crescent is burnt out (`clipped_edge_worst`: in its most exposed colour) or reshaped.
 */
void tl_limb_judge_again(tl_limb *limb, double clipped_edge_worst);
/* Write a reason that fits into limb->reason. */
void tl_limb_refuse(tl_limb *limb, tl_limb_status status, const char *reason);

#endif
