/*
 * preview.c - a small picture of a part of a frame, for the report.
 */
#include <math.h>
#include <stdlib.h>

#include "frame/frame_internal.h"

/* Whole pixels held of the picture: [x0, x1) x [y0, y1). */
typedef struct cut {
    int x0, y0, x1, y1;
} cut;

/* Averages linear light row by row. One row of small pixels is being filled. */
typedef struct shrinker {
    const tl_image *image;
    cut cut;
    double scale;      /* small px per pixel held */
    int width, height; /* of the small picture */
    float *sum;        /* light times area, one row of small pixels */
    uint8_t *code;     /* 65536: linear to sRGB */
    uint8_t *rows;     /* the small picture */
} shrinker;

/* The first whole pixel whose centre is at or after `x`, within 0..side. */
static int first_pixel(double x, int side) {
    return !(x > 0.0) ? 0 : x >= side ? side : (int)ceil(x);
}

/* The stretch of picture px, from the cut's edge, that small pixel `k` covers. */
typedef struct stretch {
    double from, to;
} stretch;

static stretch stretch_of(double scale, int k, int count) {
    const double to = (k + 1) / scale;
    return (stretch){k / scale, to < count ? to : count};
}

/* How much of picture pixel `i` lies within. */
static double overlap(stretch s, int i) {
    const double from = i > s.from ? i : s.from;
    const double to = i + 1.0 < s.to ? i + 1.0 : s.to;
    return to - from;
}

/* Add `weight` of one row held to the row of small pixels. */
static void add_row(shrinker *s, int y, double weight) {
    const int channels = s->image->channels, count = s->cut.x1 - s->cut.x0;
    for (int k = 0; k < s->width; k++) {
        const stretch x = stretch_of(s->scale, k, count);
        for (int i = (int)x.from; i < x.to; i++) {
            const float area = (float)(weight * overlap(x, i));
            for (int c = 0; c < channels; c++)
                s->sum[k * channels + c] += area * tl_image_light(s->image, s->cut.x0 + i, y, c);
        }
    }
}

/* Light over area to codes, for the finished small row `k`; the sums start again. */
static void finish_row(shrinker *s, int k, double height) {
    const int channels = s->image->channels, count = s->cut.x1 - s->cut.x0;
    uint8_t *to = s->rows + (size_t)k * (size_t)s->width * (size_t)channels;
    for (int j = 0; j < s->width; j++) {
        const stretch x = stretch_of(s->scale, j, count);
        const float per_area = (float)(1.0 / (height * (x.to - x.from)));
        for (int c = 0; c < channels; c++) {
            float *sum = &s->sum[j * channels + c];
            const float mean = *sum * per_area + 0.5F;
            to[j * channels + c] = s->code[mean < 65535.0F ? (int)mean : 65535];
            *sum = 0.0F;
        }
    }
}

static void shrink(shrinker *s) {
    for (int k = 0; k < s->height; k++) {
        const stretch y = stretch_of(s->scale, k, s->cut.y1 - s->cut.y0);
        for (int i = (int)y.from; i < y.to; i++)
            add_row(s, s->cut.y0 + i, overlap(y, i));
        finish_row(s, k, y.to - y.from);
    }
}

/* Small pixels for `count` picture px; a rest too thin to be more than a rounding error is none. */
static int small_side(int count, double scale) {
    return (int)ceil(count * scale - 1e-6);
}

static tl_status encode(shrinker *s, tl_preview *preview) {
    const size_t row = (size_t)s->width * (size_t)s->image->channels;
    s->sum = calloc(row, sizeof *s->sum);
    s->code = malloc(65536);
    s->rows = malloc(row * (size_t)s->height);
    if (s->sum == NULL || s->code == NULL || s->rows == NULL)
        return TL_ERR_MEMORY;
    tl_frame_code_table(s->code);
    shrink(s);
    return tl_frame_jpeg_encode(s->rows, s->width, s->height, s->image->channels, false,
                                &preview->jpeg, &preview->size);
}

tl_status tl_preview_make(const tl_image *image, double x0, double y0, double x1, double y1,
                          int max_side, tl_preview *preview) {
    const cut c = {first_pixel(tl_image_from_file(image, image->left, x0), image->width),
                   first_pixel(tl_image_from_file(image, image->top, y0), image->height),
                   first_pixel(tl_image_from_file(image, image->left, x1), image->width),
                   first_pixel(tl_image_from_file(image, image->top, y1), image->height)};
    const int wide = c.x1 - c.x0, high = c.y1 - c.y0, longer = wide > high ? wide : high;
    if (wide <= 0 || high <= 0 || max_side <= 0)
        return TL_ERR_ARGUMENT;
    shrinker s = {.image = image, .cut = c};
    s.scale = longer > max_side ? (double)max_side / longer : 1.0;
    s.width = small_side(wide, s.scale);
    s.height = small_side(high, s.scale);
    tl_preview made = {
        .width = s.width, .height = s.height, .scale = s.scale / tl_image_scale(image)};
    /* The corner of a pixel is half a pixel before its centre. */
    made.x0_px = tl_image_to_file(image, image->left, c.x0 - 0.5);
    made.y0_px = tl_image_to_file(image, image->top, c.y0 - 0.5);
    const tl_status status = encode(&s, &made);
    free(s.sum);
    free(s.code);
    free(s.rows);
    if (status == TL_OK)
        *preview = made;
    return status;
}

void tl_preview_free(tl_preview *preview) {
    free(preview->jpeg);
    *preview = (tl_preview){0};
}

tl_status tl_preview_pixels(const tl_preview *preview, unsigned char **rgb) {
    const tl_frame_how how = {.orientation = 1};
    tl_image image = {0};
    int width, height;
    tl_status status =
        tl_frame_jpeg_decode(preview->jpeg, preview->size, &how, &width, &height, NULL, &image);
    if (status != TL_OK)
        return status;
    const size_t count = (size_t)width * (size_t)height;
    unsigned char *made = NULL;
    if (width != preview->width || height != preview->height)
        status = TL_ERR_BROKEN;
    else if ((made = malloc(3 * count)) == NULL)
        status = TL_ERR_MEMORY;
    for (size_t i = 0; made != NULL && i < count; i++)
        for (size_t c = 0; c < 3; c++)
            made[3 * i + c] = image.code[image.channels == 1 ? i : 3 * i + c];
    tl_image_free(&image);
    if (status == TL_OK)
        *rgb = made;
    return status;
}

tl_status tl_drawing_jpeg(const unsigned char *rgb, int width, int height, unsigned char **jpeg,
                          size_t *size) {
    if (width < 1 || height < 1 || width > TL_IMAGE_MAX_SIDE || height > TL_IMAGE_MAX_SIDE)
        return TL_ERR_ARGUMENT;
    return tl_frame_jpeg_encode(rgb, width, height, 3, true, jpeg, size);
}
