/*
 * cut.c - rectangles cut out of a picture and reduced.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base_internal.h"
#include "frame/frame_internal.h"

/* Rows and columns of a block that a glance looks at, at most: reading a large picture is what
 * costs. */
enum { GLANCE_SIDE = 3 };
/* Fractional bits of a mean code. */
enum { FINE_BITS = 6 };

/* One cut being made. */
typedef struct cutter {
    const tl_image *image;
    int left, top, factor;
    int taken, step; /* rows and columns of a block that are added up, and how far they are apart */
    bool coded;      /* codes are added up, not light */
    size_t width;    /* samples of a row of the cut-out */
    uint32_t *sum;   /* of one row of it */
    uint16_t *down;  /* coded: sums of codes down the columns, of one row of blocks */
} cutter;

/* Add what is taken of one row. */
static void add_row(const cutter *c, int y) {
    const tl_image *image = c->image;
    const size_t channels = (size_t)image->channels, block = (size_t)c->factor * channels;
    const size_t step = (size_t)c->step * channels, end = (size_t)c->taken * step;
    size_t at = ((size_t)y * (size_t)image->width + (size_t)c->left) * channels;
    for (size_t x = 0; x < c->width; x += channels, at += block) {
        for (size_t k = 0; k < channels; k++) {
            uint32_t sum = c->sum[x + k];
            for (size_t u = 0; u < end; u += step)
                /* NOLINTBEGIN(clang-analyzer-core.NullDereference): one of the two is there */
                sum += image->sample != NULL ? image->sample[at + k + u]
                                             : image->light[image->code[at + k + u]];
            /* NOLINTEND(clang-analyzer-core.NullDereference) */
            c->sum[x + k] = sum;
        }
    }
}

/* Blocks of a fixed size become vector instructions. */
static void add_codes(const uint8_t *restrict in, size_t count, uint16_t *restrict sum) {
    enum { BLOCK = 16 };
    size_t i = 0;
    for (; i + BLOCK <= count; i += BLOCK)
        for (size_t k = 0; k < BLOCK; k++)
            sum[i + k] = (uint16_t)(sum[i + k] + in[i + k]);
    for (; i < count; i++)
        sum[i] = (uint16_t)(sum[i] + in[i]);
}

/* The same for the codes of a whole row of blocks: down the columns first. */
static void add_coded_rows(const cutter *c, int first) {
    const tl_image *image = c->image;
    const size_t channels = (size_t)image->channels, block = (size_t)c->factor * channels;
    const size_t step = (size_t)c->step * channels, end = (size_t)c->taken * step;
    const size_t count = c->width * (size_t)c->factor;
    memset(c->down, 0, count * sizeof *c->down);
    for (int v = 0; v < c->taken; v++) {
        const size_t y = (size_t)(first + v * c->step);
        add_codes(image->code + (y * (size_t)image->width + (size_t)c->left) * channels, count,
                  c->down);
    }
    const uint16_t *at = c->down;
    for (size_t x = 0; x < c->width; x += channels, at += block) {
        for (size_t k = 0; k < channels; k++) {
            uint32_t sum = 0;
            for (size_t u = 0; u < end; u += step)
                sum += at[k + u];
            c->sum[x + k] = sum;
        }
    }
}

/* Of a mean code with its fraction, the curve taken as straight from one code to the next. */
static inline uint16_t light_of(const uint16_t light[256], uint32_t fine) {
    const uint32_t code = fine >> FINE_BITS, rest = fine & ((1U << FINE_BITS) - 1);
    if (code >= 255)
        return light[255];
    const uint32_t from = light[code], to = light[code + 1];
    return (uint16_t)(((from << FINE_BITS) - from * rest + to * rest) >> FINE_BITS);
}

/* Means of the sums, which a factor of 256 keeps in 32 bits. */
static void finish_row(const cutter *c, uint16_t *out) {
    const uint32_t area = (uint32_t)(c->taken * c->taken);
    if (c->coded) { /* the sums of a glance are small enough for a factor instead of a quotient */
        const uint32_t each = ((1U << (16 + FINE_BITS)) + area - 1) / area;
        for (size_t x = 0; x < c->width; x++)
            out[x] = light_of(c->image->light, (c->sum[x] * each) >> 16);
        return;
    }
    for (size_t x = 0; x < c->width; x++)
        out[x] = (uint16_t)((c->sum[x] + area / 2) / area);
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

static void fill(const cutter *c, int height, uint16_t *sample) {
    for (int y = 0; y < height; y++) {
        uint16_t *out = sample + (size_t)y * c->width;
        const int first = c->top + y * c->factor;
        if (c->factor == 1) {
            copy_row(c, first, out);
            continue;
        }
        memset(c->sum, 0, c->width * sizeof *c->sum);
        for (int v = 0; v < c->taken && !c->coded; v++)
            add_row(c, first + v * c->step);
        if (c->coded)
            add_coded_rows(c, first);
        finish_row(c, out);
    }
}

static tl_status cut(const tl_image *image, const double corner[4], int factor, bool glance,
                     tl_cutout *cutout) {
    const double x0 = tl_image_from_file(image, image->left, corner[0]);
    const double y0 = tl_image_from_file(image, image->top, corner[1]);
    const double x1 = tl_image_from_file(image, image->left, corner[2]);
    const double y1 = tl_image_from_file(image, image->top, corner[3]);
    const int left = tl_base_clamp(floor(x0), 0, image->width - 1);
    const int top = tl_base_clamp(floor(y0), 0, image->height - 1);
    const int right = tl_base_clamp(ceil(x1), left, image->width - 1);
    const int bottom = tl_base_clamp(ceil(y1), top, image->height - 1);
    const int width = (right - left + 1) / factor, height = (bottom - top + 1) / factor;
    if (width < 1 || height < 1)
        return TL_ERR_ARGUMENT;
    const int step = glance ? (factor + GLANCE_SIDE - 1) / GLANCE_SIDE : 1;
    cutter c = {.image = image,
                .left = left,
                .top = top,
                .factor = factor,
                .taken = (factor + step - 1) / step,
                .step = step,
                .coded = glance && image->code != NULL,
                .width = (size_t)width * (size_t)image->channels};
    uint16_t *sample = malloc((size_t)height * c.width * sizeof *sample);
    c.sum = malloc(c.width * sizeof *c.sum);
    c.down = malloc(c.width * (size_t)factor * sizeof *c.down);
    if (sample == NULL || c.sum == NULL || c.down == NULL) {
        free(sample);
        free(c.sum);
        free(c.down);
        return TL_ERR_MEMORY;
    }
    fill(&c, height, sample);
    const double middle = 0.5 * c.step * (c.taken - 1);
    free(c.sum);
    free(c.down);
    *cutout = (tl_cutout){
        .image = {.width = width, .height = height, .channels = image->channels, .sample = sample},
        .scale = factor * tl_image_scale(image),
        .x0 = tl_image_to_file(image, image->left, left + middle),
        .y0 = tl_image_to_file(image, image->top, top + middle)};
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
