/*
 * The solar limb as a blurred picture shows it: the darkened disc folded with a Gaussian along the
 * normal. Blur in two dimensions shifts a curved edge by a further sigma^2 / (2 r), which whoever
 * uses the table adds to the distance (closed form, first order).
 */
#include <math.h>

#include "limb/limb_internal.h"

/* The table's steps; at its inner end blur changes the disc by less than 3e-4. */
static const double INNER_END = -16, STEP = 1.0 / 6; /* blurs */
enum { NODES = 64 };                                 /* of the integral over the disc */
static const double KERNEL_END = 6;                  /* blurs: the Gaussian's tail is 1e-9 there */

/* Hermite's cubic between two steps, `h` apart. */
static void set_piece(double piece[4], double a, double b, double slope_a, double slope_b,
                      double h) {
    const double p = slope_a * h, q = slope_b * h;
    piece[0] = a;
    piece[1] = p;
    piece[2] = 3 * (b - a) - 2 * p - q;
    piece[3] = 2 * (a - b) + p + q;
}

/* The disc's light over s = sqrt(depth), in which the darkened disc, steep at the limb as a square
 * root, is smooth. */
typedef struct node {
    double place, weight; /* blurs, < 0 inside; light times its share of the integral */
} node;

static void make_nodes(const tl_darkening *darkening, double radius_px, double blur_px,
                       node nodes[NODES + 1]) {
    const double ds = sqrt(KERNEL_END - INNER_END) / NODES, norm = 1 / sqrt(2 * TL_PI);
    double slope;
    for (int k = 0; k < NODES; k++) {
        const double s = (k + 0.5) * ds, place = -s * s;
        const double rho = fabs(1 + place * blur_px / radius_px);
        nodes[k] = (node){place, 2 * s * ds * norm * tl_limb_darkening(darkening, rho, &slope)};
    }
    /* what the midpoint rule leaves out at the end s = 0: - h^2 / 24 times the slope there (Euler
     * and Maclaurin) */
    nodes[NODES] = (node){0, -ds * ds / 12 * norm * tl_limb_darkening(darkening, 1, &slope)};
}

/* value(x) = integral over t < 0 of G(x - t) L(t) dt, and its derivatives per blur. */
static tl_spread_at fold(const node nodes[NODES + 1], double x) {
    tl_spread_at at = {0};
    for (int k = 0; k <= NODES; k++) {
        const double z = x - nodes[k].place;
        if (fabs(z) > KERNEL_END)
            continue;
        const double g = nodes[k].weight * exp(-0.5 * z * z);
        at.value += g;
        at.slope -= g * z;
        at.bend += g * (z * z - 1);
    }
    return at;
}

static void make_deep(const tl_darkening *darkening, double radius_px, tl_spread *spread) {
    const double h = -spread->from_px < radius_px
                         ? (radius_px + spread->from_px) / (TL_SPREAD_DEEP - 2)
                         : radius_px;
    double slope = 0, before = tl_limb_darkening(darkening, 0, &slope);
    spread->deep_per_px = 1 / h;
    for (int i = 0; i < TL_SPREAD_DEEP; i++) {
        const double rho = fmin((i + 1) * h / radius_px, 1);
        double slope_after, after = tl_limb_darkening(darkening, rho, &slope_after);
        set_piece(spread->deep[i], before, after, slope / radius_px, slope_after / radius_px, h);
        before = after;
        slope = slope_after;
    }
}

static void make_plain(tl_spread *spread) {
    const double h = 2 * TL_SPREAD_PLAIN_END / (TL_SPREAD_PLAIN - 1), norm = 1 / sqrt(2 * TL_PI);
    double z = -TL_SPREAD_PLAIN_END, before = 0.5 * erfc(z / sqrt(2));
    double slope = -norm * exp(-0.5 * z * z);
    for (int i = 0; i < TL_SPREAD_PLAIN; i++) {
        z = -TL_SPREAD_PLAIN_END + (i + 1) * h;
        const double after = 0.5 * erfc(z / sqrt(2)), slope_after = -norm * exp(-0.5 * z * z);
        set_piece(spread->plain[i], before, after, slope, slope_after, h);
        before = after;
        slope = slope_after;
    }
}

void tl_limb_spread_make(const tl_darkening *darkening, double radius_px, double blur_px,
                         tl_spread *spread) {
    node nodes[NODES + 1];
    make_nodes(darkening, radius_px, blur_px, nodes);
    *spread = (tl_spread){.darkening = *darkening,
                          .radius_px = radius_px,
                          .blur_px = blur_px,
                          .from_px = INNER_END * blur_px,
                          .per_px = 1 / (STEP * blur_px)};
    tl_spread_at before = fold(nodes, INNER_END);
    for (int i = 0; i < TL_SPREAD_STEPS; i++) {
        const tl_spread_at after = fold(nodes, INNER_END + (i + 1) * STEP);
        set_piece(spread->piece[i], before.value, after.value, before.slope, after.slope, STEP);
        spread->bend[i] = before.bend / (blur_px * blur_px);
        before = after;
    }
    make_deep(darkening, radius_px, spread);
    make_plain(spread);
}

tl_spread_at tl_limb_spread_at(const tl_spread *spread, double outside_px) {
    tl_spread_at at = {0};
    at.value = tl_limb_spread_light(spread, outside_px, &at.slope);
    const double u = (outside_px - spread->from_px) * spread->per_px;
    if (u >= 0 && u < TL_SPREAD_STEPS - 1) {
        const int i = (int)u;
        at.bend = spread->bend[i] + (u - i) * (spread->bend[i + 1] - spread->bend[i]);
    }
    return at;
}
