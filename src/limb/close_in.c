/*
 * The first look for the limbs: coarse to fine along normals, and for a bite that was overlooked.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "limb/attempt.h"

enum { LOOKS = 2 };
enum { LOOK_NORMALS = 240, LOOK_ARC_NORMALS = 60 }; /* of a look: at least, on an arc */

void tl_limb_set_circles(tl_limb *limb, const tl_circle *sun, const tl_circle *moon) {
    const double c[TL_LIMB_PARAMS] = {sun->x, sun->y, sun->r, moon->x, moon->y, moon->r};
    memcpy(limb->circle, c, sizeof c);
}

/* The circles in the round picture. */
tl_flat tl_limb_get_circles(const tl_limb *limb, tl_circle *sun, tl_circle *moon) {
    const double *c = limb->circle;
    tl_flat flat = {limb->flattening, limb->flat_x, limb->flat_y};
    *sun = (tl_circle){c[TL_SUN_X], c[TL_SUN_Y], c[TL_SUN_R]};
    *moon = (tl_circle){c[TL_MOON_X], c[TL_MOON_Y], c[TL_MOON_R]};
    tl_limb_flat_round(&flat, &sun->x, &sun->y);
    tl_limb_flat_round(&flat, &moon->x, &moon->y);
    return flat;
}

/*
 * A small bite is lost in the reduced picture. Along the normals of a Sun fitted alone it shows
 * as edges well inside the circle: they lie on the lunar limb.
 */
static tl_status find_bite(const tl_limb *limb, const tl_plane *plane, tl_circle *moon) {
    enum { BITE_EDGES_MIN = 8 };
    const double depth_min = fmax(1.0, 5 * limb->residual_px);
    tl_border_point *point = malloc((limb->edge_count + 1) * sizeof *point);
    unsigned char *inlier = malloc(limb->edge_count + 1);
    *moon = (tl_circle){0};
    if (!point || !inlier) {
        free(point);
        free(inlier);
        return TL_ERR_MEMORY;
    }
    size_t count = 0;
    for (size_t i = 0; i < limb->edge_count; i++) {
        const tl_limb_edge *e = &limb->edge[i];
        if (e->used || e->residual_px > -depth_min)
            continue;
        double x = e->x_px - plane->x0, y = e->y_px - plane->y0;
        double gx = tl_limb_plane_linear(plane, x + 2, y) - tl_limb_plane_linear(plane, x - 2, y);
        double gy = tl_limb_plane_linear(plane, x, y + 2) - tl_limb_plane_linear(plane, x, y - 2);
        double length = hypot(gx, gy);
        if (length > 0)
            point[count++] = (tl_border_point){e->x_px, e->y_px, gx / length, gy / length};
    }
    tl_circle sun = {limb->circle[TL_SUN_X], limb->circle[TL_SUN_Y], limb->circle[TL_SUN_R]};
    tl_circle found = {0};
    tl_circle_search search = {.inside_sign = -1,
                               .r_min = 0.9 * sun.r,
                               .r_max = 1.1 * sun.r,
                               .tolerance = fmax(0.8, 0.005 * sun.r),
                               .within = sun};
    size_t n = 0;
    tl_status status = TL_OK;
    if (count >= BITE_EDGES_MIN)
        status = tl_limb_circle_search(point, count, NULL, &search, &found, inlier, &n);
    if (n >= BITE_EDGES_MIN && 2 * n > count)
        *moon = found;
    free(point);
    free(inlier);
    return status;
}

/* The edges become the frame's own. */
void tl_limb_take_edges(tl_limb *limb, tl_edge_set *set) {
    free(limb->edge);
    limb->edge = set->edge;
    limb->edge_count = set->count;
    limb->blur_px = set->blur_px;
    limb->clipped_edge = set->clipped_edge;
    limb->profile_misfit = set->misfit;
    set->edge = NULL;
}

/* A first look for edges about the present circles. */
static tl_status look_pass(tl_limb *limb, const tl_plane *plane, const tl_edge_search *search,
                           const tl_limb_prior *prior, tl_edge_set *set) {
    tl_circle sun, moon;
    tl_flat flat = tl_limb_get_circles(limb, &sun, &moon);
    tl_status status = tl_limb_edges_find(plane, &flat, &sun, &moon, search, set);
    if (status != TL_OK)
        return status;
    tl_limb_take_edges(limb, set);
    return tl_limb_fit_circles(limb, prior);
}

/* Enough for the shorter of the arcs; a bite too small to have been found is a few normals wide. */
static int look_normals(const double c[TL_LIMB_PARAMS]) {
    const tl_circle sun = {c[TL_SUN_X], c[TL_SUN_Y], c[TL_SUN_R]};
    const tl_circle moon = {c[TL_MOON_X], c[TL_MOON_Y], c[TL_MOON_R]};
    if (moon.r <= 0)
        return TL_EDGE_NORMALS_MAX;
    const double arc = fmax(tl_limb_half_arc(&moon, &sun), 1e-3);
    return (int)fmin(fmax(LOOK_NORMALS, LOOK_ARC_NORMALS * TL_PI / arc), TL_EDGE_NORMALS_MAX);
}

/* Where the circles are known only to `wide` px: a wide window, a coarse filter. */
static tl_edge_search first_search(const tl_limb *limb, double wide) {
    const double *c = limb->circle;
    double cusp = wide;
    if (c[TL_MOON_R] > 0) { /* a small bite or a thin crescent must keep points in its middle */
        double bite = c[TL_SUN_R] + c[TL_MOON_R] - tl_limb_apart_px(c);
        cusp = fmin(wide, 0.35 * fmin(bite, tl_limb_crescent_px(c)));
    }
    return (tl_edge_search){.half_width_px = wide,
                            .filter_px = fmax(1.2, 0.12 * wide),
                            .cusp_px = fmax(cusp, 1),
                            .normals = look_normals(c)};
}

/*
 * A filter as wide as the blur is the best detector (Canny 1986); three widths away the other
 * limb moves an edge by less than 0.04 widths (slope of a Gaussian's tail there).
 */
static tl_edge_search next_search(const tl_limb *limb) {
    const double *c = limb->circle;
    double filter = fmax(0.8, limb->blur_px);
    if (c[TL_MOON_R] > 0) /* a wide filter would mix the two edges of a thin crescent */
        filter = fmax(0.8, fmin(filter, tl_limb_crescent_px(c) / 12));
    double width = hypot(filter, limb->blur_px);
    return (tl_edge_search){.half_width_px = fmax(5, 4 * width),
                            .filter_px = filter,
                            .cusp_px = fmax(2.5, 3 * width),
                            .normals = look_normals(c)};
}

/* Coarse to fine in one plane, up to the edges that count. */
tl_status tl_limb_close_in(tl_limb *limb, const tl_plane *plane, double wide,
                           const tl_limb_prior *shape, tl_edge_set *set) {
    tl_status status = TL_OK;
    for (int look = 0; look < LOOKS && status == TL_OK; look++) {
        tl_edge_search search = look == 0 ? first_search(limb, wide) : next_search(limb);
        status = look_pass(limb, plane, &search, shape, set);
        if (status == TL_OK && look == 0 && limb->circle[TL_MOON_R] <= 0) {
            tl_circle moon;
            status = find_bite(limb, plane, &moon);
            limb->circle[TL_MOON_X] = moon.x;
            limb->circle[TL_MOON_Y] = moon.y;
            limb->circle[TL_MOON_R] = moon.r;
        }
    }
    return status;
}
