/* Planes of linear light: copies of cut-outs, and views of a picture. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base_internal.h"
#include "limb/limb_internal.h"

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

static bool sample_clipped(const uint16_t *sample, int channels, tl_plane_kind kind) {
    const double limit = TL_LIMB_CLIPPED * 65535;
    if (channels == 1)
        return sample[0] >= limit;
    if (kind >= TL_PLANE_RED && kind <= TL_PLANE_BLUE)
        return sample[kind - TL_PLANE_RED] >= limit;
    return sample[0] >= limit || sample[1] >= limit || sample[2] >= limit;
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

static int least_clipped(const uint16_t light[256]) {
    int code = 0;
    while (code < 256 && light[code] < TL_LIMB_CLIPPED * 65535)
        code++;
    return code;
}

tl_plane tl_limb_plane_view(const tl_image *image, tl_plane_kind kind, double x0, double y0,
                            double x1, double y1) {
    const int left = tl_base_clamp(floor(x0), 0, image->width - 1);
    const int top = tl_base_clamp(floor(y0), 0, image->height - 1);
    const size_t channels = (size_t)image->channels;
    const bool mixed = channels == 3 && kind == TL_PLANE_LUMA;
    const size_t colour = channels == 3 && !mixed ? (size_t)(kind - TL_PLANE_RED) : 0;
    tl_plane plane = {.width = tl_base_clamp(ceil(x1), left, image->width - 1) - left + 1,
                      .height = tl_base_clamp(ceil(y1), top, image->height - 1) - top + 1,
                      .scale = 1,
                      .x0 = left,
                      .y0 = top,
                      .row = (size_t)image->width * channels,
                      .step = channels,
                      .mixed = mixed};
    const size_t first = (size_t)top * plane.row + (size_t)left * channels + colour;
    if (image->code != NULL)
        plane.code = image->code + first;
    else
        plane.sample = image->sample + first;
    for (int c = 0; c < (mixed ? 3 : 1); c++) {
        plane.weight[c] = (float)((mixed ? tl_limb_luma[c] : 1) / 65535);
        plane.clipped_from[c] = least_clipped(image->light);
        for (int i = 0; image->code != NULL && i < 256; i++)
            plane.table[c][i] = plane.weight[c] * image->light[i];
    }
    return plane;
}

double tl_limb_plane_linear(const tl_plane *plane, double x, double y) {
    x = x > 0 ? x < plane->width - 1 ? x : plane->width - 1 : 0;
    y = y > 0 ? y < plane->height - 1 ? y : plane->height - 1 : 0;
    int ix = (int)x, iy = (int)y;
    ix -= ix > 0 && ix == plane->width - 1;
    iy -= iy > 0 && iy == plane->height - 1;
    const int right = ix + (plane->width > 1), below = iy + (plane->height > 1);
    const double u = x - ix, v = y - iy;
    return (1 - v) * ((1 - u) * tl_limb_plane_value(plane, ix, iy) +
                      u * tl_limb_plane_value(plane, right, iy)) +
           v * ((1 - u) * tl_limb_plane_value(plane, ix, below) +
                u * tl_limb_plane_value(plane, right, below));
}

double tl_limb_plane_brightest(const tl_plane *plane) {
    float max = 0;
    /* mean of 2 x 2 neighbours, so that a hot pixel does not count */
    for (int y = 0; y + 1 < plane->height; y++) {
        const float *p = plane->value + (size_t)y * (size_t)plane->width;
        for (int x = 0; x + 1 < plane->width; x++) {
            float mean = 0.25F * (p[x] + p[x + 1] + p[x + plane->width] + p[x + plane->width + 1]);
            max = mean > max ? mean : max;
        }
    }
    return (double)max;
}

/* A limb in a mixed plane is as badly drawn as its worst colour. */
bool tl_limb_plane_clipped(const tl_plane *plane, double x, double y) {
    const long ix = lround(x), iy = lround(y);
    if (ix < 0 || iy < 0 || ix >= plane->width || iy >= plane->height)
        return false;
    const size_t at = (size_t)iy * plane->row + (size_t)ix * plane->step;
    bool clipped = false;
    for (int c = 0; c < (plane->mixed ? 3 : 1); c++)
        clipped = clipped ||
                  (plane->code != NULL ? plane->code[at + (size_t)c] >= plane->clipped_from[c]
                                       : plane->sample[at + (size_t)c] >= TL_LIMB_CLIPPED * 65535);
    return clipped;
}
