/*
 * copy.c - a picture that went through a messenger: reduced, and compressed a second time.
 */
#include <math.h>
#include <stdlib.h>

#include "simulate/simulate_internal.h"

double tl_simulate_copy_scale(const tl_simulate_settings *settings) {
    int longer = settings->width > settings->height ? settings->width : settings->height;
    if (!settings->copy.on || longer <= settings->copy.long_side_px)
        return 1.0;
    return (double)settings->copy.long_side_px / longer;
}

/* Where the cells of a reduced line lie on the old one: first pixel and the shares of the pixels
 * from there on, which sum to 1. */
typedef struct cell {
    int first, count;
    double share[2]; /* of the first and the last pixel; those between have `whole` */
    double whole;
} cell;

static cell cell_at(int i, double scale, int old_size) {
    double from = i / scale, to = fmin((i + 1) / scale, old_size);
    int first = (int)floor(from), last = (int)ceil(to) - 1;
    cell c = {first, last - first + 1, {0.0, 0.0}, 1.0 / (to - from)};
    c.share[0] = (fmin(to, first + 1.0) - from) * c.whole;
    c.share[1] = (to - fmax(from, last)) * c.whole;
    return c;
}

static double share_of(const cell *c, int k) {
    return k == 0 ? c->share[0] : k == c->count - 1 ? c->share[1] : c->whole;
}

static void reduce_pixel(const unsigned char *rgb, int width, const cell *across, const cell *down,
                         unsigned char *out) {
    double sum[TL_SIMULATE_CHANNELS] = {0.0};
    for (int j = 0; j < down->count; j++) {
        for (int i = 0; i < across->count; i++) {
            double share = share_of(across, i) * share_of(down, j);
            const unsigned char *p =
                rgb + TL_SIMULATE_CHANNELS *
                          ((size_t)(down->first + j) * (size_t)width + (size_t)(across->first + i));
            for (int c = 0; c < TL_SIMULATE_CHANNELS; c++)
                sum[c] += share * p[c];
        }
    }
    for (int c = 0; c < TL_SIMULATE_CHANNELS; c++)
        out[c] = (unsigned char)lround(fmin(sum[c], 255.0));
}

/* The picture made smaller; sizes change. What does not fill a last row or column is lost: both
 * axes have the same scale. */
static tl_status reduce(const unsigned char *rgb, double scale, int *width, int *height,
                        unsigned char **reduced) {
    /* the longer side is a whole number but for rounding */
    int w = (int)floor(*width * scale + 1e-6), h = (int)floor(*height * scale + 1e-6);
    w = w > 0 ? w : 1;
    h = h > 0 ? h : 1;
    unsigned char *made = malloc((size_t)w * (size_t)h * TL_SIMULATE_CHANNELS);
    if (made == NULL)
        return TL_ERR_MEMORY;
    for (int y = 0; y < h; y++) {
        cell down = cell_at(y, scale, *height);
        for (int x = 0; x < w; x++) {
            cell across = cell_at(x, scale, *width);
            reduce_pixel(rgb, *width, &across, &down,
                         made + TL_SIMULATE_CHANNELS * ((size_t)y * (size_t)w + (size_t)x));
        }
    }
    *width = w;
    *height = h;
    *reduced = made;
    return TL_OK;
}

tl_status tl_simulate_copy_make(const tl_simulate_settings *settings, const unsigned char *rgb,
                                unsigned char **jpeg, size_t *size) {
    unsigned char *first = NULL, *decoded = NULL, *reduced = NULL, *out = NULL;
    size_t first_size = 0, out_size = 0;
    int width = 0, height = 0;
    tl_status status =
        tl_simulate_jpeg(rgb, settings->width, settings->height, settings->quality,
                         (tl_simulate_chroma)settings->chroma, NULL, 0, &first, &first_size);
    if (status == TL_OK)
        status = tl_simulate_jpeg_decode(first, first_size, &decoded, &width, &height);
    if (status == TL_OK)
        status = reduce(decoded, tl_simulate_copy_scale(settings), &width, &height, &reduced);
    if (status == TL_OK)
        status = tl_simulate_jpeg(reduced, width, height, settings->copy.quality, TL_CHROMA_HALF,
                                  NULL, 0, &out, &out_size);
    free(first);
    free(decoded);
    free(reduced);
    if (status == TL_OK) {
        *jpeg = out;
        *size = out_size;
    }
    return status;
}
