/*
 * Which bright region is the Sun, and where does the Moon bite it?
 *
 * Every plane is cut at a ladder of thresholds. A region is a candidate when most of its area
 * is that of a disc, or of a disc less another disc of about the same size. Among the candidates
 * the one with the steepest rise of light along its whole outline wins: field stops, eyecups,
 * clouds and the contours inside a darkened limb are all less steep than the limb itself.
 */
#include <math.h>
#include <stdlib.h>

#include "limb/limb_internal.h"

enum {
    COARSE_SIDE = 800,   /* longer side of the first look, px: a disc of 100 px in a picture of
                            6000 px is still 13 px wide */
    FINE_RADIUS = 160,   /* solar radius of the second look, px: 1 px is 0.6 % of it */
    BORDER_POINTS = 600, /* border points kept per region: one per 0.6 degree */
    AREA_MIN = 12,       /* plane px */
    OUTLINE_POINTS = 180,
    ARC_BINS = 36
};
/* Thresholds as a share of the brightest reduced pixel, linear light. */
static const double LADDER[] = {0.90, 0.80, 0.70, 0.60, 0.50,  0.40, 0.30,
                                0.22, 0.16, 0.11, 0.07, 0.045, 0.03};
enum { LADDER_STEPS = sizeof LADDER / sizeof LADDER[0] };
/* Darkest maximum worth a look: below it a plane holds noise only (sRGB code 13 of 255). */
static const double PLANE_MAX_MIN = 0.004;
/* Topocentric Moon/Sun ratios run from 0.90 to 1.08; glare makes the Sun larger and the Moon
 * smaller, so the first look allows more. */
static const double RATIO_MIN = 0.80, RATIO_MAX = 1.14;
/* Least intersection over union of region and model; broken cloud and veils cost some 0.2. */
static const double OVERLAP_MIN = 0.72;
/* Least share of a region's border that lies on the two circles: a square card comes to 0.3. */
static const double ON_CIRCLES_MIN = 0.5;
/* Least share of the solar limb, in bins of 10 degrees, that border points must lie on. */
enum { ARC_BINS_MIN = 7 };
/* A rival Sun of a collage may show any phase; a ghost image in the eyepiece is much fainter. */
static const double RIVAL_AREA_MIN = 0.1, RIVAL_SCORE_MIN = 0.3; /* area over r^2 */
/* Smallest disc worth naming the Sun, px of the picture. */
static const double RADIUS_MIN_PX = 10;

typedef struct candidate {
    tl_circle sun, moon; /* plane px */
    double score, overlap;
    double threshold;
    bool valid;
} candidate;

static bool in_circle(const tl_circle *c, double x, double y) {
    double dx = x - c->x, dy = y - c->y;
    return dx * dx + dy * dy <= c->r * c->r;
}

/* Region and model: area common to both over area of either. */
static double overlap(const tl_plane *plane, const tl_region_map *map, const tl_region *region,
                      const tl_circle *sun, const tl_circle *moon) {
    int left = (int)fmax(0, fmin(region->left, floor(sun->x - sun->r)));
    int top = (int)fmax(0, fmin(region->top, floor(sun->y - sun->r)));
    int right = (int)fmin(plane->width - 1, fmax(region->right, ceil(sun->x + sun->r)));
    int bottom = (int)fmin(plane->height - 1, fmax(region->bottom, ceil(sun->y + sun->r)));
    size_t both = 0, either = 0;
    for (int y = top; y <= bottom; y++) {
        for (int x = left; x <= right; x++) {
            bool bright = map->label[(size_t)y * (size_t)plane->width + (size_t)x] == region->label;
            bool model = in_circle(sun, x, y) && !(moon->r > 0 && in_circle(moon, x, y));
            both += bright && model;
            either += bright || model;
        }
    }
    return either > 0 ? (double)both / (double)either : 0;
}

/* Sum of the rise of light across one circle's visible outline; counts the points looked at. */
static double outline_rise(const tl_plane *plane, const tl_circle *circle, double bright_inside,
                           const tl_circle *other, bool inside_other, int *looked) {
    double sum = 0;
    for (int i = 0; i < OUTLINE_POINTS; i++) {
        double angle = 2 * TL_PI * i / OUTLINE_POINTS, ux = cos(angle), uy = sin(angle);
        double x = circle->x + circle->r * ux, y = circle->y + circle->r * uy;
        if (other->r > 0 && in_circle(other, x, y) != inside_other)
            continue;
        if (x < 2 || y < 2 || x > plane->width - 3 || y > plane->height - 3)
            continue;
        double in = tl_limb_plane_linear(plane, x - 1.5 * ux, y - 1.5 * uy);
        double out = tl_limb_plane_linear(plane, x + 1.5 * ux, y + 1.5 * uy);
        sum += fmax(0, bright_inside * (in - out)) / 3;
        ++*looked;
    }
    return sum;
}

static double steepness(const tl_plane *plane, const tl_circle *sun, const tl_circle *moon) {
    int looked = 0;
    double sum = outline_rise(plane, sun, 1, moon, false, &looked);
    if (moon->r > 0)
        sum += outline_rise(plane, moon, -1, sun, true, &looked);
    return looked > 0 ? sum / looked : 0;
}

static int arc_bins(const tl_border_point *point, size_t count, const unsigned char *inlier,
                    const tl_circle *circle) {
    bool hit[ARC_BINS] = {false};
    int bins = 0;
    for (size_t i = 0; i < count; i++) {
        if (!inlier[i])
            continue;
        double angle = atan2(point[i].y - circle->y, point[i].x - circle->x) + TL_PI;
        hit[(int)(angle / (2 * TL_PI) * ARC_BINS) % ARC_BINS] = true;
    }
    for (int i = 0; i < ARC_BINS; i++)
        bins += hit[i];
    return bins;
}

/* A Moon before the Sun just found: taken up if the model then covers the region better. */
static tl_status try_moon(const tl_plane *plane, const tl_region_map *map, const tl_region *region,
                          const tl_border_point *point, size_t count, const unsigned char *on_sun,
                          double tolerance, candidate *found, size_t *on_circles) {
    unsigned char on_moon[BORDER_POINTS];
    tl_circle moon = {0};
    size_t lunar = 0;
    tl_circle_search search = {.inside_sign = -1,
                               .r_min = RATIO_MIN * found->sun.r,
                               .r_max = RATIO_MAX * found->sun.r,
                               .tolerance = tolerance,
                               .within = found->sun};
    tl_status status = tl_limb_circle_search(point, count, on_sun, &search, &moon, on_moon, &lunar);
    if (status != TL_OK || lunar < 4)
        return status;
    double with_moon = overlap(plane, map, region, &found->sun, &moon);
    if (with_moon > found->overlap) {
        found->moon = moon;
        found->overlap = with_moon;
        *on_circles += lunar;
    }
    return TL_OK;
}

/* Fit Sun and Moon to one region; the candidate is not valid when the region is not Sun-like. */
static tl_status try_region(const tl_plane *plane, const tl_region_map *map, size_t index,
                            double threshold, candidate *out) {
    const tl_region *region = &map->region[index];
    tl_border_point point[BORDER_POINTS];
    unsigned char on_sun[BORDER_POINTS] = {0};
    size_t count = 0, on_circles = 0;
    double size = 1 + fmax(region->right - region->left, region->bottom - region->top);
    tl_circle_search search = {.inside_sign = 1,
                               .r_min = fmax(2.5, 0.4 * size),
                               .r_max = 1.5 * size,
                               .tolerance = fmax(0.8, 0.01 * size)};
    candidate found = {.threshold = threshold};
    *out = found;
    tl_status status =
        tl_limb_region_border(plane, map, index, threshold, BORDER_POINTS, point, &count);
    if (status == TL_OK)
        status =
            tl_limb_circle_search(point, count, NULL, &search, &found.sun, on_sun, &on_circles);
    if (status != TL_OK || on_circles < 5)
        return status;
    if (found.sun.r * plane->scale < RADIUS_MIN_PX ||
        arc_bins(point, count, on_sun, &found.sun) < ARC_BINS_MIN)
        return TL_OK;
    found.overlap = overlap(plane, map, region, &found.sun, &found.moon);
    status =
        try_moon(plane, map, region, point, count, on_sun, search.tolerance, &found, &on_circles);
    if (status != TL_OK || (double)on_circles < ON_CIRCLES_MIN * (double)count ||
        found.overlap < OVERLAP_MIN)
        return status;
    found.score = steepness(plane, &found.sun, &found.moon) * found.overlap;
    found.valid = true;
    *out = found;
    return TL_OK;
}

static double brightest(const tl_plane *plane) {
    float max = 0;
    /* mean of 2 x 2 neighbours, so that a hot pixel does not set the ladder */
    for (int y = 0; y + 1 < plane->height; y++) {
        const float *p = plane->value + (size_t)y * (size_t)plane->width;
        for (int x = 0; x + 1 < plane->width; x++) {
            float mean = 0.25F * (p[x] + p[x + 1] + p[x + plane->width] + p[x + plane->width + 1]);
            if (mean > max)
                max = mean;
        }
    }
    return (double)max;
}

/* The best candidate of a plane over the whole ladder. */
static tl_status search_plane(const tl_plane *plane, candidate *best) {
    double max = brightest(plane);
    *best = (candidate){0};
    if (max < PLANE_MAX_MIN)
        return TL_OK;
    for (int step = 0; step < LADDER_STEPS; step++) {
        double threshold = max * LADDER[step];
        tl_region_map map;
        tl_status status = tl_limb_regions_find(plane, threshold, AREA_MIN, &map);
        if (status != TL_OK)
            return status;
        for (size_t i = 0; i < map.count && status == TL_OK; i++) {
            candidate found;
            status = try_region(plane, &map, i, threshold, &found);
            if (status == TL_OK && found.valid && found.score > best->score)
                *best = found;
        }
        tl_limb_regions_free(&map);
        if (status != TL_OK)
            return status;
    }
    return TL_OK;
}

/* Other regions that would pass for the same Sun elsewhere in the picture. */
static tl_status count_rivals(const tl_plane *plane, const candidate *best, int *rivals) {
    tl_region_map map;
    tl_status status = tl_limb_regions_find(plane, best->threshold, AREA_MIN, &map);
    if (status != TL_OK)
        return status;
    int count = 0;
    for (size_t i = 0; i < map.count && status == TL_OK; i++) {
        if ((double)map.region[i].area < RIVAL_AREA_MIN * best->sun.r * best->sun.r)
            continue;
        candidate other;
        status = try_region(plane, &map, i, best->threshold, &other);
        if (status != TL_OK || !other.valid)
            continue;
        double apart = hypot(other.sun.x - best->sun.x, other.sun.y - best->sun.y);
        if (apart < best->sun.r)
            continue; /* the Sun itself */
        double size = other.sun.r / best->sun.r;
        count += size > 0.8 && size < 1.25 && other.score > RIVAL_SCORE_MIN * best->score;
    }
    tl_limb_regions_free(&map);
    if (status == TL_OK)
        *rivals = count;
    return status;
}

static tl_circle to_picture(const tl_plane *plane, const tl_circle *c) {
    return (tl_circle){plane->x0 + plane->scale * c->x, plane->y0 + plane->scale * c->y,
                       plane->scale * c->r};
}

static void describe(const tl_plane *plane, const candidate *found, tl_hypothesis *hypothesis) {
    hypothesis->sun = to_picture(plane, &found->sun);
    hypothesis->moon = found->moon.r > 0 ? to_picture(plane, &found->moon) : (tl_circle){0};
    hypothesis->flattening = 1;
    hypothesis->flat_x = 0;
    hypothesis->flat_y = 1;
    hypothesis->outline_px = plane->scale;
}

/* Look again, closer, round a Sun found in the reduced picture. */
static tl_status look_closer(const tl_image *image, tl_plane_kind kind, tl_hypothesis *h) {
    double reach = 1.35 * h->sun.r;
    int factor = (int)fmax(1, floor(h->sun.r / FINE_RADIUS));
    if (factor >= h->outline_px)
        return TL_OK;
    tl_cutout cutout;
    tl_plane plane;
    tl_status status = tl_limb_cut(image, h->sun.x - reach, h->sun.y - reach, h->sun.x + reach,
                                   h->sun.y + reach, factor, &cutout);
    if (status != TL_OK)
        return status;
    status = tl_limb_plane_make(&cutout, kind, &plane);
    tl_limb_cutout_free(&cutout);
    if (status != TL_OK)
        return status;
    candidate best;
    status = search_plane(&plane, &best);
    if (status == TL_OK && best.valid) {
        tl_circle sun = to_picture(&plane, &best.sun);
        bool same = hypot(sun.x - h->sun.x, sun.y - h->sun.y) < 0.3 * h->sun.r &&
                    fabs(sun.r / h->sun.r - 1) < 0.2;
        if (same)
            describe(&plane, &best, h);
    }
    tl_limb_plane_free(&plane);
    return status;
}

/* Mean light on a ring about a circle, at `share` of its radius. */
static double ring_light(const tl_plane *plane, const tl_circle *c, double share) {
    double sum = 0;
    for (int i = 0; i < OUTLINE_POINTS; i++) {
        double angle = 2 * TL_PI * i / OUTLINE_POINTS;
        sum += tl_limb_plane_linear(plane, c->x + share * c->r * cos(angle),
                                    c->y + share * c->r * sin(angle));
    }
    return sum / OUTLINE_POINTS;
}

/* The corona, and the ring of an annular eclipse, are brightest at the Moon's limb; the rim of an
 * eyepiece, the other bright ring about a dark disc, is not. */
static bool light_falls_outwards(const tl_plane *plane, const tl_circle *hole) {
    double inside = ring_light(plane, hole, 0.8), near = ring_light(plane, hole, 1.1);
    return inside < 0.3 * near && near > ring_light(plane, hole, 1.5);
}

/* Is there a complete dark disc in this region, with light that falls off all round it? */
static tl_status has_dark_disc(const tl_plane *plane, const tl_region_map *map, size_t index,
                               double threshold, bool *found) {
    const tl_region *region = &map->region[index];
    tl_border_point point[BORDER_POINTS];
    unsigned char inlier[BORDER_POINTS];
    size_t count = 0, inliers = 0;
    tl_circle hole = {0};
    double size = 1 + fmax(region->right - region->left, region->bottom - region->top);
    tl_circle_search search = {.inside_sign = -1,
                               .r_min = fmax(4, 0.1 * size),
                               .r_max = 0.5 * size,
                               .tolerance = fmax(0.8, 0.01 * size)};
    tl_status status =
        tl_limb_region_border(plane, map, index, threshold, BORDER_POINTS, point, &count);
    if (status == TL_OK)
        status = tl_limb_circle_search(point, count, NULL, &search, &hole, inlier, &inliers);
    *found = status == TL_OK && inliers >= 20 &&
             arc_bins(point, count, inlier, &hole) >= ARC_BINS - 4 &&
             light_falls_outwards(plane, &hole);
    return status;
}

/* A dark disc with light all round it and no limb of the Sun: the total phase. */
static tl_status find_dark_centre(const tl_plane *plane, bool *dark_centre) {
    double max = brightest(plane);
    bool found = false;
    for (int step = 4; step < LADDER_STEPS && !found; step += 2) {
        double threshold = max * LADDER[step];
        tl_region_map map;
        tl_status status = tl_limb_regions_find(plane, threshold, AREA_MIN, &map);
        if (status != TL_OK)
            return status;
        for (size_t i = 0; i < map.count && !found && status == TL_OK; i++)
            status = has_dark_disc(plane, &map, i, threshold, &found);
        tl_limb_regions_free(&map);
        if (status != TL_OK)
            return status;
    }
    *dark_centre = found;
    return TL_OK;
}

tl_status tl_limb_hypothesis_find(const tl_image *image, bool *found, tl_hypothesis *hypothesis) {
    int longer = image->width > image->height ? image->width : image->height;
    int factor = (longer + COARSE_SIDE - 1) / COARSE_SIDE;
    if (image->width < factor || image->height < factor) { /* thinner than a reduced pixel */
        *hypothesis = (tl_hypothesis){0};
        *found = false;
        return TL_OK;
    }
    int kinds = image->channels == 1 ? 1 : TL_PLANE_KINDS;
    candidate best = {0};
    tl_plane best_plane = {0};
    tl_plane_kind best_kind = TL_PLANE_LUMA;
    bool dark_centre = false;
    tl_cutout cutout;
    tl_status status = tl_limb_cut(image, 0, 0, image->width, image->height, factor, &cutout);
    if (status != TL_OK)
        return status;
    for (int kind = 0; kind < kinds && status == TL_OK; kind++) {
        tl_plane plane;
        candidate here = {0};
        status = tl_limb_plane_make(&cutout, (tl_plane_kind)kind, &plane);
        if (status != TL_OK)
            break;
        status = search_plane(&plane, &here);
        if (status == TL_OK && kind == TL_PLANE_LUMA)
            status = find_dark_centre(&plane, &dark_centre);
        if (status == TL_OK && here.valid && here.score > best.score) {
            tl_limb_plane_free(&best_plane);
            best = here;
            best_plane = plane;
            best_kind = (tl_plane_kind)kind;
        } else {
            tl_limb_plane_free(&plane);
        }
    }
    tl_limb_cutout_free(&cutout);
    tl_hypothesis result = {.dark_centre = dark_centre};
    if (status == TL_OK && best.valid) {
        describe(&best_plane, &best, &result);
        status = count_rivals(&best_plane, &best, &result.rivals);
        if (status == TL_OK)
            status = look_closer(image, best_kind, &result);
    }
    tl_limb_plane_free(&best_plane);
    if (status != TL_OK)
        return status;
    *found = best.valid;
    *hypothesis = result;
    return TL_OK;
}
