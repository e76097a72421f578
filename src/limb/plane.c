/* Planes of linear light cut out of a picture. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "limb/limb_internal.h"

/* From this factor on every second row makes the mean: reading a large picture is what costs. */
enum { SPARSE_FACTOR = 3 };

const double tl_limb_luma[3] = {0.2126, 0.7152, 0.0722};

static double plane_sample(const uint16_t *sample, int channels, tl_plane_kind kind) {
    if (channels == 1)
        return sample[0];
    switch (kind) {
    case TL_PLANE_RED:
        return sample[0];
    case TL_PLANE_GREEN:
        return sample[1];
    case TL_PLANE_BLUE:
        return sample[2];
    case TL_PLANE_WARM:
        return sample[0] > sample[2] ? sample[0] - sample[2] : 0;
    case TL_PLANE_COOL:
        return sample[2] > sample[0] ? sample[2] - sample[0] : 0;
    default:
        return tl_limb_luma[0] * sample[0] + tl_limb_luma[1] * sample[1] +
               tl_limb_luma[2] * sample[2];
    }
}

/* A limb in a mixed plane is as badly drawn as its worst colour. */
static bool sample_clipped(const uint16_t *sample, int channels, tl_plane_kind kind) {
    const double limit = TL_LIMB_CLIPPED * 65535;
    if (channels == 1)
        return sample[0] >= limit;
    if (kind >= TL_PLANE_RED && kind <= TL_PLANE_BLUE)
        return sample[kind - TL_PLANE_RED] >= limit;
    return sample[0] >= limit || sample[1] >= limit || sample[2] >= limit;
}

static int clamp_int(double value, int low, int high) {
    if (!(value > low))
        return low;
    return value < high ? (int)value : high;
}

/* The rows of a large picture are what costs: blocks of a fixed size become vector instructions. */
static void add_row(const uint16_t *restrict in, size_t count, uint32_t *restrict sum) {
    enum { BLOCK = 16 };
    size_t i = 0;
    for (; i + BLOCK <= count; i += BLOCK)
        for (size_t k = 0; k < BLOCK; k++)
            sum[i + k] += in[i + k];
    for (; i < count; i++)
        sum[i] += in[i];
}

/* Means over `factor` neighbours of sums over `rows`; a factor of 256 keeps them in 32 bits. */
static void reduce_row(const uint32_t *sum, int width, int factor, int rows, size_t channels,
                       uint16_t *reduced) {
    uint32_t area = (uint32_t)(factor * rows);
    for (int x = 0; x < width; x++, reduced += channels) {
        uint32_t total[3] = {0};
        for (int u = 0; u < factor; u++, sum += channels)
            for (size_t c = 0; c < channels; c++)
                total[c] += sum[c];
        for (size_t c = 0; c < channels; c++)
            reduced[c] = (uint16_t)((total[c] + area / 2) / area);
    }
}

tl_status tl_limb_cut(const tl_image *image, double x0, double y0, double x1, double y1, int factor,
                      tl_cutout *cutout) {
    int left = clamp_int(floor(x0), 0, image->width - 1);
    int top = clamp_int(floor(y0), 0, image->height - 1);
    int right = clamp_int(ceil(x1), left, image->width - 1);
    int bottom = clamp_int(ceil(y1), top, image->height - 1);
    int width = (right - left + 1) / factor, height = (bottom - top + 1) / factor;
    size_t channels = (size_t)image->channels, row = (size_t)width * channels;
    if (width < 1 || height < 1)
        return TL_ERR_ARGUMENT;
    int step = factor < SPARSE_FACTOR ? 1 : 2, rows = (factor + step - 1) / step;
    uint16_t *sample = malloc((size_t)height * row * sizeof *sample);
    uint32_t *sum = malloc(row * (size_t)factor * sizeof *sum);
    if (!sample || !sum) {
        free(sample);
        free(sum);
        return TL_ERR_MEMORY;
    }
    for (int y = 0; y < height; y++) {
        size_t first = (size_t)(top + y * factor) * (size_t)image->width + (size_t)left;
        const uint16_t *in = image->sample + first * channels;
        uint16_t *reduced = sample + (size_t)y * row;
        if (factor == 1) {
            memcpy(reduced, in, row * sizeof *reduced);
            continue;
        }
        memset(sum, 0, row * (size_t)factor * sizeof *sum);
        for (int v = 0; v < rows; v++, in += (size_t)(step * image->width) * channels)
            add_row(in, row * (size_t)factor, sum);
        reduce_row(sum, width, factor, rows, channels, reduced);
    }
    free(sum);
    *cutout = (tl_cutout){.image = {width, height, image->channels, sample},
                          .scale = factor,
                          .x0 = left + 0.5 * (factor - 1),
                          .y0 = top + 0.5 * step * (rows - 1)};
    return TL_OK;
}

void tl_limb_cutout_free(tl_cutout *cutout) {
    free(cutout->image.sample);
    *cutout = (tl_cutout){0};
}

tl_status tl_limb_plane_make(const tl_cutout *cutout, tl_plane_kind kind, tl_plane *plane) {
    const tl_image *image = &cutout->image;
    size_t pixels = (size_t)image->width * (size_t)image->height;
    float *value = malloc(pixels * sizeof *value);
    unsigned char *clipped = malloc(pixels);
    if (!value || !clipped) {
        free(value);
        free(clipped);
        return TL_ERR_MEMORY;
    }
    const uint16_t *sample = image->sample;
    for (size_t i = 0; i < pixels; i++, sample += image->channels) {
        value[i] = (float)(plane_sample(sample, image->channels, kind) / 65535);
        clipped[i] = sample_clipped(sample, image->channels, kind);
    }
    *plane = (tl_plane){.width = image->width,
                        .height = image->height,
                        .scale = cutout->scale,
                        .x0 = cutout->x0,
                        .y0 = cutout->y0,
                        .value = value,
                        .clipped = clipped};
    return TL_OK;
}

void tl_limb_plane_free(tl_plane *plane) {
    free(plane->value);
    free(plane->clipped);
    *plane = (tl_plane){0};
}

/* Catmull-Rom weights for a position t of 0..1 between the second and third of four samples. */
static void cubic_weights(double t, double w[4]) {
    w[0] = t * (-0.5 + t * (1.0 - 0.5 * t));
    w[1] = 1.0 + t * t * (-2.5 + 1.5 * t);
    w[2] = t * (0.5 + t * (2.0 - 1.5 * t));
    w[3] = t * t * (-0.5 + 0.5 * t);
}

double tl_limb_plane_cubic(const tl_plane *plane, double x, double y) {
    double fx = floor(x), fy = floor(y), wx[4], wy[4], sum = 0;
    cubic_weights(x - fx, wx);
    cubic_weights(y - fy, wy);
    const float *p = plane->value + (ptrdiff_t)(fy - 1) * plane->width + (ptrdiff_t)(fx - 1);
    for (int v = 0; v < 4; v++, p += plane->width)
        sum += wy[v] * (wx[0] * (double)p[0] + wx[1] * (double)p[1] + wx[2] * (double)p[2] +
                        wx[3] * (double)p[3]);
    return sum;
}

double tl_limb_plane_linear(const tl_plane *plane, double x, double y) {
    x = fmin(fmax(x, 0), plane->width - 1.0);
    y = fmin(fmax(y, 0), plane->height - 1.0);
    int ix = (int)fmin(x, fmax(plane->width - 2, 0)), iy = (int)fmin(y, fmax(plane->height - 2, 0));
    int dx = plane->width > 1, dy = plane->height > 1 ? plane->width : 0;
    double u = x - ix, v = y - iy;
    const float *p = plane->value + (ptrdiff_t)iy * plane->width + ix;
    return (1 - v) * ((1 - u) * (double)p[0] + u * (double)p[dx]) +
           v * ((1 - u) * (double)p[dy] + u * (double)p[dx + dy]);
}

double tl_limb_plane_brightest(const tl_plane *plane) {
    float max = 0;
    /* mean of 2 x 2 neighbours, so that a hot pixel does not count */
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

bool tl_limb_plane_clipped(const tl_plane *plane, double x, double y) {
    long ix = lround(x), iy = lround(y);
    if (ix < 0 || iy < 0 || ix >= plane->width || iy >= plane->height)
        return false;
    return plane->clipped[iy * plane->width + ix] != 0;
}
