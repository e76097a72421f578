/*
 * trail.c - a Sun that moves while the shutter is open.
 */
#include <math.h>
#include <string.h>

#include "simulate/simulate_internal.h"

#define STEP_PX 0.5 /* far below the width of any edge that pixels show */

/* sum += weight * plane shifted by (dx, dy), bilinear; dark beyond the borders. */
static void add_shifted(const tl_simulate_plane *plane, double dx, double dy, double weight,
                        tl_simulate_plane *sum) {
    int i = (int)floor(dx), j = (int)floor(dy), w = plane->width, h = plane->height;
    double a = dx - i, b = dy - j;
    double share[4] = {(1.0 - a) * (1.0 - b), a * (1.0 - b), (1.0 - a) * b, a * b};
    for (int k = 0; k < 4; k++) {
        int right = i + k % 2, down = j + k / 2;
        float factor = (float)(weight * share[k]);
        int x0 = right > 0 ? right : 0, x1 = right < 0 ? w + right : w;
        int y0 = down > 0 ? down : 0, y1 = down < 0 ? h + down : h;
        for (int y = y0; y < y1; y++) {
            const float *from = plane->v + (ptrdiff_t)(y - down) * w - right;
            float *to = sum->v + (ptrdiff_t)y * w;
            for (int x = x0; x < x1; x++)
                to[x] += factor * from[x];
        }
    }
}

tl_status tl_simulate_plane_trail(double length_px, double direction_rad,
                                  tl_simulate_plane *plane) {
    if (length_px <= 0.0)
        return TL_OK;
    tl_simulate_plane sum;
    tl_status status =
        tl_simulate_plane_make(plane->x0, plane->y0, plane->width, plane->height, &sum);
    if (status != TL_OK)
        return status;
    int steps = (int)ceil(length_px / STEP_PX);
    for (int s = 0; s < steps; s++) {
        double along = length_px * ((s + 0.5) / steps - 0.5);
        add_shifted(plane, along * cos(direction_rad), along * sin(direction_rad), 1.0 / steps,
                    &sum);
    }
    tl_simulate_plane_free(plane);
    *plane = sum;
    return TL_OK;
}
