/*
 * cut.c - rectangles cut out of a picture and reduced.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base_internal.h"
#include "frame/frame_internal.h"

/* One cut being made. */
typedef struct cutter {
    const tl_image *image;
    int left, top, factor;
    size_t width;  /* samples of a row of the cut-out */
    uint32_t *sum; /* of one row of it */
} cutter;

/* Add one row to the sums of its blocks. */
static void add_row(const cutter *c, int y) {
    const tl_image *image = c->image;
    const size_t channels = (size_t)image->channels, block = (size_t)c->factor * channels;
    size_t at = ((size_t)y * (size_t)image->width + (size_t)c->left) * channels;
    for (size_t x = 0; x < c->width; x += channels, at += block) {
        for (size_t k = 0; k < channels; k++) {
            uint32_t sum = c->sum[x + k];
            for (size_t u = 0; u < block; u += channels)
                /* NOLINTBEGIN(clang-analyzer-core.NullDereference): one of the two is there */
                sum += image->sample != NULL ? image->sample[at + k + u]
                                             : image->light[image->code[at + k + u]];
            /* NOLINTEND(clang-analyzer-core.NullDereference) */
            c->sum[x + k] = sum;
        }
    }
}

static void copy_row(const cutter *c, int y, uint16_t *out) {
    const tl_image *image = c->image;
    const size_t at =
        ((size_t)y * (size_t)image->width + (size_t)c->left) * (size_t)image->channels;
    if (image->sample != NULL) {
        memcpy(out, image->sample + at, c->width * sizeof *out);
        return;
    }
    for (size_t i = 0; i < c->width; i++) /* NOLINTNEXTLINE(clang-analyzer-core.NullDereference) */
        out[i] = image->light[image->code[at + i]]; /* codes are there where samples are not */
}

/* Means of the blocks, whose sums a factor of 256 keeps in 32 bits. */
static void fill(const cutter *c, int height, uint16_t *sample) {
    const uint32_t area = (uint32_t)(c->factor * c->factor);
    for (int y = 0; y < height; y++) {
        uint16_t *out = sample + (size_t)y * c->width;
        const int first = c->top + y * c->factor;
        if (c->factor == 1) {
            copy_row(c, first, out);
            continue;
        }
        memset(c->sum, 0, c->width * sizeof *c->sum);
        for (int v = 0; v < c->factor; v++)
            add_row(c, first + v);
        for (size_t x = 0; x < c->width; x++)
            out[x] = (uint16_t)((c->sum[x] + area / 2) / area);
    }
}

tl_status tl_image_cut(const tl_image *image, double file_x0, double file_y0, double file_x1,
                       double file_y1, int factor, tl_cutout *cutout) {
    const double x0 = tl_image_from_file(image, image->left, file_x0);
    const double y0 = tl_image_from_file(image, image->top, file_y0);
    const double x1 = tl_image_from_file(image, image->left, file_x1);
    const double y1 = tl_image_from_file(image, image->top, file_y1);
    const int left = tl_base_clamp(floor(x0), 0, image->width - 1);
    const int top = tl_base_clamp(floor(y0), 0, image->height - 1);
    const int right = tl_base_clamp(ceil(x1), left, image->width - 1);
    const int bottom = tl_base_clamp(ceil(y1), top, image->height - 1);
    const int width = (right - left + 1) / factor, height = (bottom - top + 1) / factor;
    if (width < 1 || height < 1)
        return TL_ERR_ARGUMENT;
    cutter c = {.image = image,
                .left = left,
                .top = top,
                .factor = factor,
                .width = (size_t)width * (size_t)image->channels};
    uint16_t *sample = malloc((size_t)height * c.width * sizeof *sample);
    c.sum = malloc(c.width * sizeof *c.sum);
    if (sample == NULL || c.sum == NULL) {
        free(sample);
        free(c.sum);
        return TL_ERR_MEMORY;
    }
    fill(&c, height, sample);
    free(c.sum);
    const double middle = 0.5 * (factor - 1);
    *cutout = (tl_cutout){
        .image = {.width = width, .height = height, .channels = image->channels, .sample = sample},
        .scale = factor * tl_image_scale(image),
        .x0 = tl_image_to_file(image, image->left, left + middle),
        .y0 = tl_image_to_file(image, image->top, top + middle)};
    return TL_OK;
}

void tl_cutout_free(tl_cutout *cutout) {
    tl_image_free(&cutout->image);
    *cutout = (tl_cutout){0};
}
