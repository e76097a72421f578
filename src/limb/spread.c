/*
 * The solar limb as a blurred picture shows it: the darkened disc folded with a Gaussian along the
 * normal. Blur in two dimensions shifts a curved edge by a further sigma^2 / (2 r), which whoever
 * uses the table adds to the distance (closed form, first order).
 */
#include <math.h>

#include "limb/limb_internal.h"

/* The table's steps; at its inner end blur changes the disc by less than 3e-4. */
static const double INNER_END = -16, STEP = 1.0 / 6; /* blurs */
enum { NODES = 240 };                                /* of the integral over the disc */
static const double KERNEL_END = 6;                  /* blurs: the Gaussian's tail is 1e-9 there */

/*
 * value(x) = integral over t < 0 of G(x - t) L(t) dt, by the midpoint rule in s = sqrt(-t), in
 * which the darkened disc, steep at the limb as a square root, is smooth.
 */
void tl_limb_spread_make(const tl_darkening *darkening, double radius_px, double blur_px,
                         tl_spread *spread) {
    double light[NODES], place[NODES], weight[NODES];
    double s_end = sqrt((KERNEL_END - INNER_END) * blur_px), ds = s_end / NODES, slope;
    for (int k = 0; k < NODES; k++) {
        double s = (k + 0.5) * ds;
        place[k] = -s * s;
        light[k] = tl_limb_darkening(darkening, fabs(1 + place[k] / radius_px), &slope);
        weight[k] = 2 * s * ds / (sqrt(2 * TL_PI) * blur_px);
    }
    *spread = (tl_spread){.darkening = *darkening, .radius_px = radius_px, .blur_px = blur_px};
    for (int i = 0; i < TL_SPREAD_STEPS; i++) {
        double x = (INNER_END + i * STEP) * blur_px, sum = 0, sum1 = 0, sum2 = 0;
        for (int k = 0; k < NODES; k++) {
            double z = (x - place[k]) / blur_px;
            if (fabs(z) > KERNEL_END)
                continue;
            double g = weight[k] * light[k] * exp(-0.5 * z * z);
            sum += g;
            sum1 -= g * z;
            sum2 += g * (z * z - 1);
        }
        spread->value[i] = sum;
        spread->slope[i] = sum1 / blur_px;
        spread->bend[i] = sum2 / (blur_px * blur_px);
    }
}

tl_spread_at tl_limb_spread_at(const tl_spread *spread, double outside_px) {
    double u = (outside_px / spread->blur_px - INNER_END) / STEP;
    if (u < 0) {
        tl_spread_at deep = {0};
        double rho = fabs(1 + outside_px / spread->radius_px);
        deep.value = tl_limb_darkening(&spread->darkening, rho, &deep.slope);
        deep.slope /= spread->radius_px;
        return deep;
    }
    if (u >= TL_SPREAD_STEPS - 1)
        return (tl_spread_at){0};
    int i = (int)u;
    double t = u - i, h = STEP * spread->blur_px;
    double a = spread->value[i], b = spread->value[i + 1];
    double p = spread->slope[i] * h, q = spread->slope[i + 1] * h;
    double c2 = 3 * (b - a) - 2 * p - q, c3 = 2 * (a - b) + p + q; /* Hermite's cubic */
    return (tl_spread_at){.value = a + t * (p + t * (c2 + t * c3)),
                          .slope = (p + t * (2 * c2 + 3 * t * c3)) / h,
                          .bend = (1 - t) * spread->bend[i] + t * spread->bend[i + 1]};
}
