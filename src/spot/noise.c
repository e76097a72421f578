/*
 * noise.c - contrast smoothed to about the blur, and how much it scatters where there is no spot.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "spot/spot_internal.h"

/* Side of a noise block over the Sun's radius, and over the blur: grain, haze and clouds differ
 * from place to place, yet a spot must be a small part of a block. */
#define BLOCK_SR 0.125
#define BLOCK_BLURS 12.0
enum { BLOCK_PX_MIN = 8, BLOCK_PIXELS_MIN = 40, CLIP_ROUNDS = 4, RING_STEP = 2 };
#define CLIP_SIGMAS 2.5
/* What clipping a Gaussian at 2.5 sigma leaves of its rms, closed form:
 * sqrt(1 - 2 k phi(k) / (2 Phi(k) - 1)). */
#define CLIP_LEAVES 0.9546
/* Measured on drawn haze: dark dapples scatter up to half as much again as bright ones. */
#define DARK_EXCESS 1.6
/* A block that is calmer than the disc is thought calm by luck: its pixels are few and
 * correlated. */
#define CALM_SHARE 0.8
/* An 8-bit file in sRGB has steps of 0.9 % at half light; dithered by noise or not, an average over
 * a blur cannot be trusted below this. */
#define NOISE_MIN 0.001

/* Blocks of a fixed size become vector instructions. */
static void add_weighted(float *restrict sum, const float *restrict in, float weight,
                         size_t count) {
    enum { BLOCK = 16 };
    size_t i = 0;
    for (; i + BLOCK <= count; i += BLOCK)
        for (size_t k = 0; k < BLOCK; k++)
            sum[i + k] += weight * in[i + k];
    for (; i < count; i++)
        sum[i] += weight * in[i];
}

static float triangle(int box, int k) {
    return (float)(box - abs(k)) / (float)(box * box);
}

/* Smooth by a triangle along rows into `room`, then down columns back into `plane`. Beyond the
 * border all is zero. `padded` has room for a row and a box at either end. */
static void smooth_plane(float *plane, float *room, float *padded, int width, int height, int box) {
    const size_t row = (size_t)width;
    memset(padded, 0, (row + 2 * (size_t)box) * sizeof *padded);
    memset(room, 0, row * (size_t)height * sizeof *room);
    for (int y = 0; y < height; y++) {
        memcpy(padded + box, plane + (size_t)y * row, row * sizeof *padded);
        for (int k = 1 - box; k < box; k++)
            add_weighted(room + (size_t)y * row, padded + box + k, triangle(box, k), row);
    }
    memset(plane, 0, row * (size_t)height * sizeof *plane);
    for (int y = 0; y < height; y++)
        for (int k = 1 - box; k < box; k++)
            if (y + k >= 0 && y + k < height)
                add_weighted(plane + (size_t)y * row, room + (size_t)(y + k) * row,
                             triangle(box, k), row);
}

/* The triangle is two boxes, one after the other: its variance is (box^2 - 1) / 6. */
static void choose_kernel(tl_spot_field *f) {
    f->box = 2 * (int)lround((sqrt(6 * f->blur * f->blur + 1) - 1) / 2) + 1;
    if (f->box < 3)
        f->box = 3;
    double sum2 = 0;
    for (int i = -f->box; i <= f->box; i++) {
        const double weight = (f->box - abs(i)) / (double)(f->box * f->box);
        sum2 += weight * weight;
    }
    f->kernel_sum2 = sum2 * sum2;
    f->kernel_sigma = sqrt((f->box * f->box - 1) / 6.0);
}

static tl_status smooth(tl_spot_field *f) {
    const int width = f->light.width, height = f->light.height;
    const size_t pixels = (size_t)width * (size_t)height;
    float *value = malloc(pixels * sizeof *value), *share = malloc(pixels * sizeof *share);
    float *room = malloc(pixels * sizeof *room),
          *padded = malloc(((size_t)width + 2 * (size_t)f->box) * sizeof *padded);
    const bool enough = value && share && room && padded;
    if (enough) {
        memcpy(value, f->light.value, pixels * sizeof *value);
        for (size_t i = 0; i < pixels; i++)
            share[i] = f->state[i] == TL_SPOT_PX_DISC;
        smooth_plane(value, room, padded, width, height, f->box);
        smooth_plane(share, room, padded, width, height, f->box);
        for (size_t i = 0; i < pixels; i++)
            value[i] = f->state[i] == TL_SPOT_PX_DISC && share[i] > 0 ? value[i] / share[i] : 0;
        f->smooth = value;
    } else {
        free(value);
    }
    free(share);
    free(room);
    free(padded);
    return enough ? TL_OK : TL_ERR_MEMORY;
}

/* What scatters to either side of the background. */
typedef struct scatter {
    double limit; /* what is beyond it is no noise */
    double dark2, bright2;
    size_t dark, bright;
} scatter;

static void scatter_add(scatter *s, double contrast) {
    if (fabs(contrast) > s->limit)
        return;
    if (contrast > 0) {
        s->dark2 += contrast * contrast;
        s->dark++;
    } else {
        s->bright2 += contrast * contrast;
        s->bright++;
    }
}

/*
 * rms, of which spots can make no more than DARK_EXCESS times that of the bright side, which knows
 * nothing of them; haze is darker than bright, too, but not as much. Sets the limit for the next
 * round. 0 of too few pixels.
 */
static double scatter_end(scatter *s, size_t least, bool clipped) {
    double rms = 0;
    if (s->dark + s->bright >= least && s->bright > 0)
        rms = fmin(sqrt((s->dark2 + s->bright2) / (double)(s->dark + s->bright)),
                   DARK_EXCESS * sqrt(s->bright2 / (double)s->bright)) /
              (clipped ? CLIP_LEAVES : 1);
    *s = (scatter){.limit = CLIP_SIGMAS * rms};
    return rms;
}

static double block_noise(const tl_spot_field *f, int i, int j) {
    /* of a large block neighbours tell the same */
    const int step = f->block > 2 * BLOCK_PX_MIN ? 2 : 1;
    scatter s = {.limit = INFINITY};
    double rms = 0;
    for (int round = 0; round < CLIP_ROUNDS; round++) {
        for (int y = j * f->block; y < (j + 1) * f->block && y < f->light.height; y += step) {
            const size_t row = (size_t)y * (size_t)f->light.width;
            for (int x = i * f->block; x < (i + 1) * f->block && x < f->light.width; x += step)
                if (f->state[row + (size_t)x] == TL_SPOT_PX_DISC)
                    scatter_add(&s, (double)f->smooth[row + (size_t)x]);
        }
        rms = scatter_end(&s, BLOCK_PIXELS_MIN / (size_t)(step * step), round > 0);
        if (rms <= 0)
            break;
    }
    return rms;
}

static int ring_of(const tl_spot_field *f, int x, int y) {
    double u, v;
    tl_spot_field_disc(f, x, y, &u, &v);
    const int ring = (int)((u * u + v * v) * TL_SPOT_RINGS);
    return ring < TL_SPOT_RINGS ? ring : TL_SPOT_RINGS - 1;
}

/* Where the light falls off to the limb noise grows within a few px, too fast for the blocks. */
static tl_status measure_rings(tl_spot_field *f) {
    scatter s[TL_SPOT_RINGS];
    f->noise_ring = calloc(TL_SPOT_RINGS, sizeof *f->noise_ring);
    if (f->noise_ring == NULL)
        return TL_ERR_MEMORY;
    for (int i = 0; i < TL_SPOT_RINGS; i++)
        s[i] = (scatter){.limit = INFINITY};
    for (int round = 0; round < CLIP_ROUNDS; round++) {
        for (int y = 0; y < f->light.height; y += RING_STEP) {
            const size_t row = (size_t)y * (size_t)f->light.width;
            for (int x = 0; x < f->light.width; x += RING_STEP)
                if (f->state[row + (size_t)x] == TL_SPOT_PX_DISC)
                    scatter_add(&s[ring_of(f, x, y)], (double)f->smooth[row + (size_t)x]);
        }
        for (int i = 0; i < TL_SPOT_RINGS; i++)
            f->noise_ring[i] = (float)scatter_end(&s[i], BLOCK_PIXELS_MIN, round > 0);
    }
    return TL_OK;
}

static tl_status measure_blocks(tl_spot_field *f) {
    const double blur = hypot(f->blur, f->kernel_sigma);
    f->block = (int)fmax(BLOCK_PX_MIN, round(fmax(BLOCK_SR * f->radius, BLOCK_BLURS * blur)));
    f->blocks_x = (f->light.width + f->block - 1) / f->block;
    f->blocks_y = (f->light.height + f->block - 1) / f->block;
    const size_t blocks = (size_t)f->blocks_x * (size_t)f->blocks_y;
    f->noise = calloc(blocks, sizeof *f->noise);
    double *known = malloc(blocks * sizeof *known);
    if (!f->noise || !known) {
        free(known);
        return TL_ERR_MEMORY;
    }
    size_t count = 0;
    for (int j = 0; j < f->blocks_y; j++) {
        for (int i = 0; i < f->blocks_x; i++) {
            const double noise = block_noise(f, i, j);
            f->noise[j * f->blocks_x + i] = (float)noise;
            if (noise > 0)
                known[count++] = noise;
        }
    }
    f->noise_typical = fmax(tl_limb_median(known, count), NOISE_MIN);
    free(known);
    for (size_t i = 0; i < blocks; i++) {
        const double noise = (double)f->noise[i];
        f->noise[i] =
            (float)(noise > 0 ? fmax(noise, CALM_SHARE * f->noise_typical) : f->noise_typical);
    }
    return TL_OK;
}

double tl_spot_noise_at(const tl_spot_field *f, int x, int y) {
    const double gx = fmin(fmax((x + 0.5) / f->block - 0.5, 0), f->blocks_x - 1.0);
    const double gy = fmin(fmax((y + 0.5) / f->block - 0.5, 0), f->blocks_y - 1.0);
    const int i = (int)gx, j = (int)gy;
    const int right = i + 1 < f->blocks_x, down = j + 1 < f->blocks_y ? f->blocks_x : 0;
    const float *p = f->noise + j * f->blocks_x + i;
    const double u = gx - i, v = gy - j;
    const double block = (1 - v) * ((1 - u) * (double)p[0] + u * (double)p[right]) +
                         v * ((1 - u) * (double)p[down] + u * (double)p[down + right]);
    return fmax(block, (double)f->noise_ring[ring_of(f, x, y)]);
}

tl_status tl_spot_noise_take(tl_spot_field *f) {
    choose_kernel(f);
    tl_status status = smooth(f);
    if (status == TL_OK)
        status = measure_blocks(f);
    return status == TL_OK ? measure_rings(f) : status;
}
