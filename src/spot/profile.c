/*
 * profile.c - the disc's own light over the radius, divided out.
 */
#include <math.h>
#include <stdlib.h>

#include "spot/spot_internal.h"

enum { RINGS = TL_SPOT_RINGS, LEVELS = 1024, RING_PIXELS_MIN = 20 };

/*
 * Mean of the middle half of a histogram: as firm against spots as a median, and not caught by the
 * steps of an 8-bit file. -1 of next to none.
 */
static double middle_mean(const unsigned *histogram) {
    unsigned long total = 0, below = 0, taken = 0;
    double sum = 0;
    for (int i = 0; i < LEVELS; i++)
        total += histogram[i];
    if (total < RING_PIXELS_MIN)
        return -1;
    const unsigned long from = total / 4, to = total - total / 4;
    for (int i = 0; i < LEVELS; i++) {
        const unsigned long first = below > from ? below : from;
        below += histogram[i];
        const unsigned long last = below < to ? below : to;
        if (last > first) {
            taken += last - first;
            sum += (double)(last - first) * (i + 0.5);
        }
    }
    return sum / (double)taken / LEVELS;
}

/* Rings without light take their neighbour's. False: there is none at all. */
static bool fill_gaps(double ring[RINGS]) {
    for (int i = 1; i < RINGS; i++)
        if (ring[i] <= 0)
            ring[i] = ring[i - 1];
    for (int i = RINGS - 2; i >= 0; i--)
        if (ring[i] <= 0)
            ring[i] = ring[i + 1];
    return ring[0] > 0;
}

static double ring_at(const double ring[RINGS], double radius2) {
    const double at = fmin(fmax(radius2 * RINGS - 0.5, 0), RINGS - 1.001);
    const int i = (int)at;
    return ring[i] + (at - i) * (ring[i + 1] - ring[i]);
}

tl_status tl_spot_profile_divide(tl_spot_field *f) {
    const int width = f->light.width, height = f->light.height;
    unsigned *histogram = calloc((size_t)RINGS * LEVELS, sizeof *histogram);
    double ring[RINGS];
    float *value = f->light.value;
    if (histogram == NULL)
        return TL_ERR_MEMORY;
    const double scale = LEVELS / fmax(tl_limb_plane_brightest(&f->light), 1e-9);
    for (int y = 0; y < height; y++) {
        const unsigned char *state = f->state + (size_t)y * (size_t)width;
        for (int x = 0; x < width; x++) {
            if (state[x] != TL_SPOT_PX_DISC)
                continue;
            double u, v;
            tl_spot_field_disc(f, x, y, &u, &v);
            const int i = (int)((u * u + v * v) * RINGS);
            /* a lone pixel may outshine what counts as the brightest */
            const int level = (int)fmin((double)value[y * width + x] * scale, LEVELS - 1);
            histogram[(i < RINGS ? i : RINGS - 1) * LEVELS + level]++;
        }
    }
    for (int i = 0; i < RINGS; i++)
        ring[i] = middle_mean(histogram + i * LEVELS) * LEVELS / scale;
    free(histogram);
    if (!fill_gaps(ring)) {
        f->disc_count = 0;
        return TL_OK;
    }
    for (int y = 0; y < height; y++) {
        const unsigned char *state = f->state + (size_t)y * (size_t)width;
        for (int x = 0; x < width; x++) {
            double u, v;
            tl_spot_field_disc(f, x, y, &u, &v);
            float *at = &value[y * width + x];
            *at = state[x] == TL_SPOT_PX_DISC ? (float)((double)*at / ring_at(ring, u * u + v * v))
                                              : 0;
        }
    }
    return TL_OK;
}
