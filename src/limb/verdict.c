/*
 * Accept or refuse. Each test asks what a person would ask before believing the circles; the
 * first that fails gives the reason. Limits are our own choice, kept away from what good frames
 * show (noted beside each); they are not fitted to any one picture.
 */
#include <math.h>
#include <stdio.h>
#include <string.h>

#include "limb/limb_internal.h"

/* Places per side looked at inside the cut-out; more for what is thinner than this, of the radius.
 */
enum { GRID = 100, FINE_GRID = 240 };
static const double THIN_PART = 0.2;
static const double RADIUS_MIN_PX = 12;    /* below it a limb is all blur */
static const double BLUR_MAX = 0.09;       /* blur over solar radius; sharp frames: 0.001-0.02 */
static const double RESIDUAL_MAX = 0.008;  /* residual rms over solar radius; good: < 0.003 */
static const double RESIDUAL_MIN_PX = 0.6; /* small discs: half a pixel is no fault */
static const double USED_MIN = 0.5;        /* share of the expected edge points; good: > 0.9 */
static const double SUN_ARC_MIN = 60 * TL_DEG;
static const double MOON_ARC_MIN = 10 * TL_DEG;
static const double SUN_ONLY_ARC_MIN = 300 * TL_DEG;
static const double RATIO_LOW = 0.88, RATIO_HIGH = 1.12; /* possible 0.90-1.08, glare allowed for */
/* One picture, one blur: edge widths of both limbs, either over the other; good: 0.75-1.22. */
static const double WIDTH_RATIO_MAX = 1.5, BLUR_SLACK_PX = 0.5;
/* Roughness of the lunar limb over that of the solar one; good: 0.3-2, more where an enforced
 * ratio bends the lunar circle. */
static const double SCATTER_RATIO_MAX = 4, SCATTER_SLACK_PX = 0.3, SCATTER_SLACK = 0.004;
static const double RATIO_TELLING = 0.05; /* a larger error says nothing about sizes */
static const double SIGMA_MAX_SR = 0.04;  /* 0.04 solar radii: about 80 s of time */
static const double CONTRAST_MIN = 0.25;  /* (disc - surroundings) / disc; paper: 0.3 */

void tl_limb_refuse(tl_limb *limb, tl_limb_status status, const char *reason) {
    limb->status = status;
    snprintf(limb->reason, sizeof limb->reason, "%s", reason);
}

/* Mean light of the three areas that the circles part. */
typedef struct levels {
    double disc, sky, moon;
    size_t disc_count, sky_count, moon_count, clipped;
} levels;

static levels measure_levels(const tl_limb *limb, const tl_plane *plane) {
    levels l = {0};
    const double *c = limb->circle;
    double crescent = c[TL_MOON_R] > 0 ? tl_limb_crescent_px(c) / c[TL_SUN_R] : 1;
    double margin = fmin(0.04, 0.25 * crescent); /* of the radius: keep off blurred limbs */
    tl_flat flat = {limb->flattening, limb->flat_x, limb->flat_y};
    double sx = c[TL_SUN_X], sy = c[TL_SUN_Y], mx = c[TL_MOON_X], my = c[TL_MOON_Y];
    tl_limb_flat_round(&flat, &sx, &sy);
    tl_limb_flat_round(&flat, &mx, &my);
    const int grid = crescent < THIN_PART ? FINE_GRID : GRID;
    for (int v = 0; v < grid; v++) {
        for (int u = 0; u < grid; u++) {
            int ix = (int)((u + 0.5) * plane->width / grid);
            int iy = (int)((v + 0.5) * plane->height / grid);
            double value = tl_limb_plane_value(plane, ix, iy);
            double x = plane->x0 + ix * plane->scale, y = plane->y0 + iy * plane->scale;
            tl_limb_flat_round(&flat, &x, &y);
            double sun = sqrt((x - sx) * (x - sx) + (y - sy) * (y - sy)) / c[TL_SUN_R];
            double moon = c[TL_MOON_R] > 0
                              ? sqrt((x - mx) * (x - mx) + (y - my) * (y - my)) / c[TL_MOON_R]
                              : 9;
            if (sun < 1 - margin && moon > 1 + margin) {
                l.disc += value;
                l.clipped += tl_limb_plane_clipped(plane, ix, iy);
                l.disc_count++;
            } else if (sun < 0.96 && moon < 1 - margin) {
                l.moon += value;
                l.moon_count++;
            } else if (sun > 1.06 && sun < 1.25) {
                l.sky += value;
                l.sky_count++;
            }
        }
    }
    if (l.disc_count)
        l.disc /= (double)l.disc_count;
    if (l.sky_count)
        l.sky /= (double)l.sky_count;
    if (l.moon_count)
        l.moon /= (double)l.moon_count;
    return l;
}

static void used_share(const tl_limb *limb, const tl_edge_set *set, double share[2]) {
    size_t used[2] = {0};
    for (size_t i = 0; i < limb->edge_count; i++)
        used[limb->edge[i].limb] += limb->edge[i].used;
    for (int i = 0; i < 2; i++)
        share[i] = set->expected[i] > 0 ? (double)used[i] / (double)set->expected[i] : 0;
}

/* Reasons that hold for the Sun with and without a Moon; NULL when there is none. */
static const char *fault_of_sun(const tl_limb *limb, const levels *l, double used) {
    double r = limb->circle[TL_SUN_R];
    if (r < RADIUS_MIN_PX)
        return "what is seen of the Sun is too small to measure";
    if (limb->blur_px > BLUR_MAX * r)
        return "too blurred: no sharp limb to measure";
    if (l->disc_count == 0 || l->disc - l->sky < CONTRAST_MIN * l->disc)
        return "the disc does not stand out from its surroundings (cloud or haze)";
    if (limb->residual_px > fmax(RESIDUAL_MAX * r, RESIDUAL_MIN_PX))
        return "no clean round outline (cloud, trail, or a tilted screen)";
    if (used < USED_MIN)
        return "too little of the solar limb is seen (cloud, or cut off)";
    if (limb->arc_sun_rad < SUN_ARC_MIN)
        return "too short an arc of the solar limb is seen";
    return NULL;
}

/* Rms residual of the used points of one limb, px. */
static double limb_scatter(const tl_limb *limb, int which) {
    double sum = 0;
    size_t n = 0;
    for (size_t i = 0; i < limb->edge_count; i++) {
        const tl_limb_edge *e = &limb->edge[i];
        if (e->used && e->limb == which) {
            sum += e->residual_px * e->residual_px;
            n++;
        }
    }
    return n > 0 ? sqrt(sum / (double)n) : 0;
}

/* Are the edges of the two limbs unlike each other in sharpness? */
static bool differ(const double blur_px[2]) {
    double lunar = blur_px[TL_LIMB_MOON], solar = blur_px[TL_LIMB_SUN];
    return fmax(lunar, solar) > WIDTH_RATIO_MAX * fmin(lunar, solar) + BLUR_SLACK_PX;
}

static const char *fault_of_moon(const tl_limb *limb, const levels *l, const tl_edge_set *set,
                                 double used) {
    if (differ(set->blur_limb_px) || differ(set->look_limb_px))
        return "the two edges are not equally sharp: not the limbs of Sun and Moon";
    double slack_px = fmax(SCATTER_SLACK_PX, SCATTER_SLACK * limb->circle[TL_SUN_R]);
    if (limb_scatter(limb, TL_LIMB_MOON) >
        SCATTER_RATIO_MAX * limb_scatter(limb, TL_LIMB_SUN) + slack_px)
        return "the edge of the dark part is not a circle (dust, cloud or another object)";
    if (l->moon_count > 0 && l->disc - l->moon < CONTRAST_MIN * l->disc)
        return "the dark part is not dark enough to be the Moon (cloud or haze)";
    if (used < USED_MIN)
        return "too little of the lunar limb is seen";
    if (limb->arc_moon_rad < MOON_ARC_MIN)
        return "too short an arc of the lunar limb is seen";
    double slack = 4 * limb->ratio_raw_sigma; /* a short arc cannot tell */
    if (limb->ratio_raw_sigma < RATIO_TELLING &&
        (limb->ratio_raw + slack < RATIO_LOW || limb->ratio_raw - slack > RATIO_HIGH))
        return "the two circles do not have the sizes of Sun and Moon";
    if (!(limb->separation_sigma_sr < SIGMA_MAX_SR))
        return "the circles are too uncertain (short arcs, blur or noise)";
    return NULL;
}

static bool has_second_edge(const tl_limb *limb, const tl_edge_set *set, const tl_plane *plane) {
    static const double THIN_MIN = 0.25; /* solar radii */
    static const double SHARE_MAX = 0.3; /* of the visible limb; good: below 0.1, cloud 0.25 */
    const double *c = limb->circle;
    tl_circle sun = {c[TL_SUN_X], c[TL_SUN_Y], c[TL_SUN_R]};
    tl_circle moon = {c[TL_MOON_X], c[TL_MOON_Y], c[TL_MOON_R]};
    tl_flat flat = {limb->flattening, limb->flat_x, limb->flat_y};
    tl_limb_flat_round(&flat, &sun.x, &sun.y);
    tl_limb_flat_round(&flat, &moon.x, &moon.y);
    if (moon.r > 0 && tl_limb_crescent_px(c) < THIN_MIN * sun.r)
        return false; /* where a second outline would lie, the crescent's other limb does */
    double solar = tl_limb_second_edge_share(plane, &flat, &sun, &moon, set, TL_LIMB_SUN);
    double lunar =
        moon.r > 0 ? tl_limb_second_edge_share(plane, &flat, &sun, &moon, set, TL_LIMB_MOON) : 0;
    return fmax(solar, lunar) > SHARE_MAX;
}

/* No darkening towards the limb, and not for being burnt out. */
static bool is_evenly_lit(const tl_limb *limb) {
    static const double DARKENING_MIN = 0.5, CLIPPED = 0.1; /* Suns: 0.7 to 1.7 */
    return limb->darkening < DARKENING_MIN && limb->clipped_edge < CLIPPED &&
           limb->clipped_share < CLIPPED;
}

/* The lunar circle wholly inside the solar one. */
static bool is_ring(const double c[TL_LIMB_PARAMS]) {
    return c[TL_MOON_R] > 0 && tl_limb_apart_px(c) + c[TL_MOON_R] < c[TL_SUN_R];
}

/*
 * A ring of light round a complete dark disc: the annular phase, or the corona (or an eyepiece's
 * field of view) round the Moon in the total one. In the annular phase the Moon is the smaller
 * disc, the ring's outer edge is a sharp circle, and the sky outside is as dark as the Moon.
 */
static bool is_annular(const tl_limb *limb, const levels *l) {
    static const double SKY_OVER_MOON = 0.2, SHARP_RESIDUAL = 0.004;
    static const double RING_MIN = 0.03; /* thinner rings are eyepiece rims, and beads */
    bool as_dark = l->sky - l->moon < SKY_OVER_MOON * (l->disc - l->moon);
    return limb->ratio_raw < 1 - RING_MIN && as_dark &&
           limb->residual_px < fmax(SHARP_RESIDUAL * limb->circle[TL_SUN_R], 0.4);
}

void tl_limb_judge(tl_limb *limb, const tl_hypothesis *hypothesis, const tl_edge_set *set,
                   const tl_plane *plane) {
    levels l = measure_levels(limb, plane);
    double used[2];
    used_share(limb, set, used);
    limb->disc_level = l.disc;
    limb->sky_level = l.sky;
    limb->clipped_share = l.disc_count ? (double)l.clipped / (double)l.disc_count : 0;
    bool has_moon = limb->circle[TL_MOON_R] > 0;
    if (hypothesis->rivals > 0) {
        tl_limb_refuse(limb, TL_LIMB_UNUSABLE,
                       "several Suns in one picture (a collage or a multiple exposure)");
        return;
    }
    const char *fault = fault_of_sun(limb, &l, used[TL_LIMB_SUN]);
    if (!fault && has_second_edge(limb, set, plane))
        fault = "a second outline beside the limb (a double exposure, or a reflection)";
    if (!fault && has_moon)
        fault = fault_of_moon(limb, &l, set, used[TL_LIMB_MOON]);
    if (!fault && !has_moon && is_evenly_lit(limb))
        fault = "an evenly lit disc: a field of view, not the Sun";
    if (!fault && !has_moon && limb->arc_sun_rad < SUN_ONLY_ARC_MIN)
        fault = "part of a disc, but neither a whole Sun nor a lunar limb";
    if (hypothesis->dark_centre && (fault || !has_moon || !is_annular(limb, &l)))
        fault = "a dark disc in a ring of light: the total phase";
    else if (!fault && is_ring(limb->circle) && !is_annular(limb, &l))
        fault = "a dark disc in a ring of light, but no annular eclipse";
    if (fault) {
        tl_limb_refuse(limb, TL_LIMB_UNUSABLE, fault);
    } else if (has_moon) {
        limb->status = TL_LIMB_MEASURED;
    } else {
        tl_limb_refuse(limb, TL_LIMB_SUN_ONLY, "a whole disc, no Moon seen on it");
    }
}

/*
 * Glare widens a burnt-out crescent on both sides by an unknown few hundredths of the radius; of
 * a thin one that is a large part, in the colours that are not clipped as well.
 */
static void judge_burnt(tl_limb *limb, double clipped_edge_worst) {
    static const double BURNT_EDGE = 0.5, THIN = 0.15; /* share of the edges; solar radii */
    static const double BURNT_SHIFT = 2; /* shift of the edges over the blur: glare, not blur */
    if (limb->status != TL_LIMB_MEASURED || clipped_edge_worst < BURNT_EDGE)
        return;
    if (limb->clipped_edge > BURNT_EDGE && fabs(limb->edge_shift_px) > BURNT_SHIFT * limb->blur_px)
        tl_limb_refuse(limb, TL_LIMB_UNUSABLE,
                       "burnt out: glare has moved the edges too far to be trusted");
    double ratio = limb->circle[TL_MOON_R] / limb->circle[TL_SUN_R];
    if (1 + limb->separation_sr - ratio < THIN)
        tl_limb_refuse(limb, TL_LIMB_UNUSABLE,
                       "a thin crescent, burnt out: its width cannot be trusted");
}

/* A crescent whose two edges have not the almanac's ratio of radii, by a good part of its own
 * width: blur, movement or glare has reshaped it, and circles of the right size leave its edges. */
static void judge_reshaped(tl_limb *limb) {
    static const double SHARE_MAX = 0.25, SIGNIFICANT = 3; /* of the width; sigma */
    double ratio = limb->circle[TL_MOON_R] / limb->circle[TL_SUN_R];
    double off = fabs(limb->ratio_raw - ratio), width = 1 + limb->separation_sr - ratio;
    if (limb->status == TL_LIMB_MEASURED && off > SHARE_MAX * width &&
        off > SIGNIFICANT * limb->ratio_raw_sigma)
        tl_limb_refuse(limb, TL_LIMB_UNUSABLE,
                       "a thin crescent whose edges do not fit the sizes of Sun and Moon");
}

void tl_limb_judge_again(tl_limb *limb, double clipped_edge_worst) {
    judge_burnt(limb, clipped_edge_worst);
    judge_reshaped(limb);
}
