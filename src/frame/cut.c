/*
 * cut.c - rectangles cut out of a picture and reduced.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "frame/frame_internal.h"

/* Rows of a block that a glance looks at, at most: reading a large picture is what costs. */
enum { GLANCE_ROWS = 3 };
/* Fractional bits of a mean code. */
enum { FINE_BITS = 6 };

/* One cut being made. */
typedef struct cutter {
    const tl_image *image;
    int left, top, factor;
    int rows, step; /* of a block: how many are added up, and how far they are apart */
    bool coded;     /* codes are added up, not light */
    size_t width;   /* samples of a row of the cut-out */
    uint32_t *sum;  /* width * factor */
} cutter;

static int clamp_int(double value, int low, int high) {
    if (!(value > low))
        return low;
    return value < high ? (int)value : high;
}

/* Blocks of a fixed size become vector instructions. */
enum { BLOCK = 16 };

static void add_samples(const uint16_t *restrict in, size_t count, uint32_t *restrict sum) {
    size_t i = 0;
    for (; i + BLOCK <= count; i += BLOCK)
        for (size_t k = 0; k < BLOCK; k++)
            sum[i + k] += in[i + k];
    for (; i < count; i++)
        sum[i] += in[i];
}

static void add_codes(const uint8_t *restrict in, size_t count, uint32_t *restrict sum) {
    size_t i = 0;
    for (; i + BLOCK <= count; i += BLOCK)
        for (size_t k = 0; k < BLOCK; k++)
            sum[i + k] += in[i + k];
    for (; i < count; i++)
        sum[i] += in[i];
}

static void add_light(const uint8_t *restrict in, const uint16_t *light, size_t count,
                      uint32_t *restrict sum) {
    for (size_t i = 0; i < count; i++)
        sum[i] += light[in[i]];
}

static void add_row(const cutter *c, int y) {
    const tl_image *image = c->image;
    const size_t at =
        ((size_t)y * (size_t)image->width + (size_t)c->left) * (size_t)image->channels;
    const size_t count = c->width * (size_t)c->factor;
    if (image->sample != NULL)
        add_samples(image->sample + at, count, c->sum);
    else if (c->coded)
        add_codes(image->code + at, count, c->sum);
    else
        add_light(image->code + at, image->light, count, c->sum);
}

/* Of a mean code with its fraction, the curve taken as straight from one code to the next. */
static uint16_t light_of(const uint16_t light[256], uint32_t fine) {
    const uint32_t code = fine >> FINE_BITS, rest = fine & ((1U << FINE_BITS) - 1);
    if (code >= 255)
        return light[255];
    const int rise = light[code + 1] - light[code];
    return (uint16_t)(light[code] + rise * (int)rest / (1 << FINE_BITS));
}

/* Means over `factor` neighbours of the sums; a factor of 256 keeps them in 32 bits. */
static void finish_row(const cutter *c, uint16_t *out) {
    const size_t channels = (size_t)c->image->channels;
    const uint32_t area = (uint32_t)(c->factor * c->rows);
    const uint32_t *sum = c->sum;
    for (size_t x = 0; x < c->width; x += channels) {
        uint32_t total[3] = {0};
        for (int u = 0; u < c->factor; u++, sum += channels)
            for (size_t k = 0; k < channels; k++)
                total[k] += sum[k];
        for (size_t k = 0; k < channels; k++)
            out[x + k] = c->coded ? light_of(c->image->light, (total[k] << FINE_BITS) / area)
                                  : (uint16_t)((total[k] + area / 2) / area);
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
    for (size_t i = 0; i < c->width; i++)
        out[i] = image->light[image->code[at + i]];
}

static void fill(const cutter *c, int height, uint16_t *sample) {
    for (int y = 0; y < height; y++) {
        uint16_t *out = sample + (size_t)y * c->width;
        const int first = c->top + y * c->factor;
        if (c->factor == 1) {
            copy_row(c, first, out);
            continue;
        }
        memset(c->sum, 0, c->width * (size_t)c->factor * sizeof *c->sum);
        for (int v = 0; v < c->rows; v++)
            add_row(c, first + v * c->step);
        finish_row(c, out);
    }
}

static tl_status cut(const tl_image *image, const double corner[4], int factor, bool glance,
                     tl_cutout *cutout) {
    const double x0 = tl_image_from_file(image, image->left, corner[0]);
    const double y0 = tl_image_from_file(image, image->top, corner[1]);
    const double x1 = tl_image_from_file(image, image->left, corner[2]);
    const double y1 = tl_image_from_file(image, image->top, corner[3]);
    const int left = clamp_int(floor(x0), 0, image->width - 1);
    const int top = clamp_int(floor(y0), 0, image->height - 1);
    const int right = clamp_int(ceil(x1), left, image->width - 1);
    const int bottom = clamp_int(ceil(y1), top, image->height - 1);
    const int width = (right - left + 1) / factor, height = (bottom - top + 1) / factor;
    if (width < 1 || height < 1)
        return TL_ERR_ARGUMENT;
    const int step = glance ? (factor + GLANCE_ROWS - 1) / GLANCE_ROWS : 1;
    cutter c = {.image = image,
                .left = left,
                .top = top,
                .factor = factor,
                .rows = (factor + step - 1) / step,
                .step = step,
                .coded = glance && image->code != NULL,
                .width = (size_t)width * (size_t)image->channels};
    uint16_t *sample = malloc((size_t)height * c.width * sizeof *sample);
    c.sum = malloc(c.width * (size_t)factor * sizeof *c.sum);
    if (sample == NULL || c.sum == NULL) {
        free(sample);
        free(c.sum);
        return TL_ERR_MEMORY;
    }
    fill(&c, height, sample);
    free(c.sum);
    *cutout = (tl_cutout){
        .image = {.width = width, .height = height, .channels = image->channels, .sample = sample},
        .scale = factor * tl_image_scale(image),
        .x0 = tl_image_to_file(image, image->left, left + 0.5 * (factor - 1)),
        .y0 = tl_image_to_file(image, image->top, top + 0.5 * c.step * (c.rows - 1))};
    return TL_OK;
}

tl_status tl_image_cut(const tl_image *image, double x0, double y0, double x1, double y1,
                       int factor, tl_cutout *cutout) {
    return cut(image, (const double[4]){x0, y0, x1, y1}, factor, false, cutout);
}

tl_status tl_image_glance(const tl_image *image, double x0, double y0, double x1, double y1,
                          int factor, tl_cutout *cutout) {
    return cut(image, (const double[4]){x0, y0, x1, y1}, factor, true, cutout);
}

void tl_cutout_free(tl_cutout *cutout) {
    tl_image_free(&cutout->image);
    *cutout = (tl_cutout){0};
}
