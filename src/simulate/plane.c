/*
 * plane.c - planes of linear light: Gaussian blur, coarse copies, smooth random fields.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>

#include "simulate/simulate_internal.h"

#define KERNEL_REACH 5.0 /* sigmas; erfc(5 / sqrt 2) = 6e-7 of the light lies beyond */

enum { CLOUD_OCTAVES = 4 };

tl_status tl_simulate_plane_make(int x0, int y0, int width, int height, tl_simulate_plane *plane) {
    float *v = calloc((size_t)width * (size_t)height, sizeof *v);
    if (v == NULL)
        return TL_ERR_MEMORY;
    *plane = (tl_simulate_plane){.x0 = x0, .y0 = y0, .width = width, .height = height, .v = v};
    return TL_OK;
}

void tl_simulate_plane_free(tl_simulate_plane *plane) {
    free(plane->v);
    *plane = (tl_simulate_plane){0};
}

/* Weights for offsets -reach..reach, sum 1; NULL: no memory. The caller frees. */
static float *kernel_make(double sigma_px, int *reach) {
    int r = (int)ceil(KERNEL_REACH * sigma_px);
    float *weight = calloc(2 * (size_t)r + 1, sizeof *weight);
    if (weight == NULL)
        return NULL;
    double sum = 0.0;
    for (int i = -r; i <= r; i++)
        sum += exp(-0.5 * i * i / (sigma_px * sigma_px));
    for (int i = -r; i <= r; i++)
        weight[i + r] = (float)(exp(-0.5 * i * i / (sigma_px * sigma_px)) / sum);
    *reach = r;
    return weight;
}

/* out[i] = sum of weight[k] in[i + k - reach], dark beyond the ends. */
static void blur_row(const float *in, int n, const float *weight, int reach, float *out) {
    memset(out, 0, (size_t)n * sizeof *out);
    for (int k = -reach; k <= reach; k++) {
        float w = weight[k + reach];
        int from = k < 0 ? -k : 0, to = k > 0 ? n - k : n;
        for (int i = from; i < to; i++)
            out[i] += w * in[i + k];
    }
}

static void blur_rows(const tl_simulate_plane *plane, const float *weight, int reach, float *out) {
    for (int y = 0; y < plane->height; y++) {
        size_t row = (size_t)y * (size_t)plane->width;
        blur_row(plane->v + row, plane->width, weight, reach, out + row);
    }
}

static void blur_columns(const float *in, int width, int height, const float *weight, int reach,
                         float *out) {
    memset(out, 0, (size_t)width * (size_t)height * sizeof *out);
    for (int y = 0; y < height; y++) {
        float *to = out + (size_t)y * (size_t)width;
        int first = y - reach < 0 ? 0 : y - reach;
        int last = y + reach >= height ? height - 1 : y + reach;
        for (int j = first; j <= last; j++) {
            float w = weight[j - y + reach];
            const float *from = in + (size_t)j * (size_t)width;
            for (int x = 0; x < width; x++)
                to[x] += w * from[x];
        }
    }
}

tl_status tl_simulate_plane_blur(tl_simulate_plane *plane, double sigma_px) {
    if (sigma_px <= 0.0)
        return TL_OK;
    int reach = 0;
    float *weight = kernel_make(sigma_px, &reach);
    float *between = calloc((size_t)plane->width * (size_t)plane->height + 1, sizeof *between);
    tl_status status = weight != NULL && between != NULL ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK) {
        blur_rows(plane, weight, reach, between);
        blur_columns(between, plane->width, plane->height, weight, reach, plane->v);
    }
    free(weight);
    free(between);
    return status;
}

double tl_simulate_blur_variance(double sigma_px) {
    if (sigma_px <= 0.0)
        return 1.0;
    int reach = (int)ceil(KERNEL_REACH * sigma_px);
    double sum = 0.0, squares = 0.0;
    for (int i = -reach; i <= reach; i++) {
        double w = exp(-0.5 * i * i / (sigma_px * sigma_px));
        sum += w;
        squares += w * w;
    }
    double along_one_axis = squares / (sum * sum);
    return along_one_axis * along_one_axis;
}

tl_status tl_simulate_plane_grain(gsl_rng *random, double grain_px, tl_simulate_plane *plane) {
    size_t n = (size_t)plane->width * (size_t)plane->height;
    for (size_t i = 0; i < n; i++)
        plane->v[i] = (float)gsl_ran_gaussian_ziggurat(random, 1.0);
    tl_status status = tl_simulate_plane_blur(plane, grain_px);
    float scale = (float)(1.0 / sqrt(tl_simulate_blur_variance(grain_px)));
    for (size_t i = 0; status == TL_OK && i < n; i++)
        plane->v[i] *= scale;
    return status;
}

/* Floor of a / b for b > 0. */
static int floor_div(int a, int b) {
    return a >= 0 ? a / b : -((-a + b - 1) / b);
}

tl_status tl_simulate_coarse_make(const tl_simulate_plane *plane, int step, int width, int height,
                                  tl_simulate_coarse *coarse) {
    int left = plane->x0 < 0 ? plane->x0 : 0, top = plane->y0 < 0 ? plane->y0 : 0;
    int right = plane->x0 + plane->width > width ? plane->x0 + plane->width : width;
    int bottom = plane->y0 + plane->height > height ? plane->y0 + plane->height : height;
    int c0 = floor_div(left, step) - 1, c1 = floor_div(right, step) + 2;
    int r0 = floor_div(top, step) - 1, r1 = floor_div(bottom, step) + 2;
    tl_simulate_plane cell;
    tl_status status = tl_simulate_plane_make(c0 * step, r0 * step, c1 - c0, r1 - r0, &cell);
    if (status != TL_OK)
        return status;
    float share = 1.0f / ((float)step * (float)step);
    for (int y = 0; y < plane->height; y++) {
        const float *from = plane->v + (size_t)y * (size_t)plane->width;
        int row = floor_div(plane->y0 + y, step) - r0;
        float *to = cell.v + (size_t)row * (size_t)cell.width;
        for (int x = 0; x < plane->width; x++)
            to[floor_div(plane->x0 + x, step) - c0] += from[x] * share;
    }
    *coarse = (tl_simulate_coarse){.cell = cell, .step = step};
    return TL_OK;
}

double tl_simulate_coarse_at(const tl_simulate_coarse *coarse, double x, double y) {
    const tl_simulate_plane *cell = &coarse->cell;
    /* The first cell's pixels run from x0 to x0 + step - 1: its centre is half of that on. */
    double u = (x - cell->x0 - 0.5 * (coarse->step - 1)) / coarse->step;
    double v = (y - cell->y0 - 0.5 * (coarse->step - 1)) / coarse->step;
    if (!(u >= 0.0 && v >= 0.0 && u < cell->width - 1 && v < cell->height - 1))
        return 0.0;
    int i = (int)u, j = (int)v;
    double a = u - i, b = v - j;
    const float *p = cell->v + (size_t)j * (size_t)cell->width + i;
    const float *q = p + cell->width;
    return (1.0 - b) * ((1.0 - a) * (double)p[0] + a * (double)p[1]) +
           b * ((1.0 - a) * (double)q[0] + a * (double)q[1]);
}

/* The four weights of the uniform cubic B-spline at 0 <= t < 1. */
static void spline_weights(double t, double w[4]) {
    double s = 1.0 - t;
    w[0] = s * s * s / 6.0;
    w[1] = (3.0 * t * t * t - 6.0 * t * t + 4.0) / 6.0;
    w[2] = (3.0 * s * s * s - 6.0 * s * s + 4.0) / 6.0;
    w[3] = t * t * t / 6.0;
}

/* Add amplitude times a spline through a random lattice to the plane. */
static tl_status add_octave(gsl_rng *random, double spacing_px, double amplitude,
                            tl_simulate_plane *plane) {
    size_t columns = (size_t)(plane->width / spacing_px) + 5;
    size_t rows = (size_t)(plane->height / spacing_px) + 5;
    double *lattice = malloc(columns * rows * sizeof *lattice);
    if (lattice == NULL)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < columns * rows; i++)
        lattice[i] = gsl_rng_uniform(random);
    for (int y = 0; y < plane->height; y++) {
        size_t row = (size_t)(y / spacing_px);
        double wy[4], wx[4];
        spline_weights(y / spacing_px - (double)row, wy);
        float *to = plane->v + (size_t)y * (size_t)plane->width;
        for (int x = 0; x < plane->width; x++) {
            size_t column = (size_t)(x / spacing_px);
            spline_weights(x / spacing_px - (double)column, wx);
            double sum = 0.0;
            for (size_t j = 0; j < 4; j++) {
                const double *p = lattice + (row + j) * columns + column;
                sum += wy[j] * (wx[0] * p[0] + wx[1] * p[1] + wx[2] * p[2] + wx[3] * p[3]);
            }
            to[x] += (float)(amplitude * sum);
        }
    }
    free(lattice);
    return TL_OK;
}

tl_status tl_simulate_plane_clouds(gsl_rng *random, double scale_px, tl_simulate_plane *plane) {
    double amplitude = 1.0, total = 0.0;
    tl_status status = TL_OK;
    size_t n = (size_t)plane->width * (size_t)plane->height;
    memset(plane->v, 0, n * sizeof *plane->v);
    for (int octave = 0; octave < CLOUD_OCTAVES && status == TL_OK; octave++) {
        double spacing = fmax(scale_px / (1 << octave), 2.0);
        status = add_octave(random, spacing, amplitude, plane);
        total += amplitude;
        amplitude *= 0.5;
    }
    for (size_t i = 0; status == TL_OK && i < n; i++)
        plane->v[i] = (float)((double)plane->v[i] / total);
    return status;
}
