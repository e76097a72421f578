/* Planes of linear light: reduced copies, and views of a picture. */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base_internal.h"
#include "limb/limb_internal.h"

const double tl_limb_luma[3] = {0.2126, 0.7152, 0.0722};

/* What each colour adds to a plane; of warm and cool ones the negative counts as none. */
static void weights_of(tl_plane_kind kind, int channels, float weight[3]) {
    static const float SINGLE[TL_PLANE_KINDS][3] = {
        [TL_PLANE_RED] = {1, 0, 0},   [TL_PLANE_GREEN] = {0, 1, 0}, [TL_PLANE_BLUE] = {0, 0, 1},
        [TL_PLANE_WARM] = {1, 0, -1}, [TL_PLANE_COOL] = {-1, 0, 1},
    };
    for (int c = 0; c < 3; c++) {
        weight[c] = kind == TL_PLANE_LUMA ? (float)tl_limb_luma[c] : SINGLE[kind][c];
        if (channels == 1)
            weight[c] = c == 0 && kind <= TL_PLANE_BLUE;
    }
}

/* How blocks are looked at. */
typedef struct glance {
    size_t taken;             /* pixels of a block's side that are looked at */
    size_t right, down, next; /* samples from one of them, and from one block, to the next */
    int step;                 /* from one of them to the next, px */
    bool grey;
    float table[3][256]; /* coded: what a code of a colour adds */
    float weight[3];     /* else: what a unit of light does */
} glance;

static inline float coded_light(const glance *g, const uint8_t *c) {
    return g->grey ? g->table[0][c[0]] : g->table[0][c[0]] + g->table[1][c[1]] + g->table[2][c[2]];
}

static float coded_block(const glance *g, const uint8_t *code) {
    if (g->taken == 1)
        return coded_light(g, code);
    if (g->taken == 2)
        return coded_light(g, code) + coded_light(g, code + g->right) +
               coded_light(g, code + g->down) + coded_light(g, code + g->down + g->right);
    float sum = 0; /* three */
    for (size_t v = 0; v < g->taken; v++, code += g->down)
        sum += coded_light(g, code) + coded_light(g, code + g->right) +
               coded_light(g, code + 2 * g->right);
    return sum;
}

static float block(const glance *g, const uint16_t *sample) {
    float sum = 0;
    for (size_t v = 0; v < g->taken; v++, sample += g->down) {
        for (size_t u = 0; u < g->taken; u++) {
            const uint16_t *s = sample + u * g->right;
            sum += g->grey ? g->weight[0] * s[0]
                           : g->weight[0] * s[0] + g->weight[1] * s[1] + g->weight[2] * s[2];
        }
    }
    return sum;
}

/* Of a block's side three pixels are looked at, at most: reading a picture is what costs. */
static glance glance_make(const tl_image *image, tl_plane_kind kind, int factor) {
    enum { SIDE = 3 };
    const int step = (factor + SIDE - 1) / SIDE;
    const int taken = (factor + step - 1) / step;
    const size_t channels = (size_t)image->channels;
    glance g = {.taken = (size_t)taken,
                .right = (size_t)step * channels,
                .down = (size_t)step * channels * (size_t)image->width,
                .next = (size_t)factor * channels,
                .step = step,
                .grey = channels == 1};
    weights_of(kind, image->channels, g.weight);
    for (int c = 0; c < 3; c++) {
        g.weight[c] /= 65535 * (float)(taken * taken);
        for (int i = 0; i < 256; i++)
            g.table[c][i] = g.weight[c] * image->light[i];
    }
    return g;
}

tl_status tl_limb_plane_glance(const tl_image *image, tl_plane_kind kind, double x0, double y0,
                               double x1, double y1, int factor, tl_plane *plane) {
    const int left = tl_base_clamp(floor(x0), 0, image->width - 1);
    const int top = tl_base_clamp(floor(y0), 0, image->height - 1);
    const int width = (tl_base_clamp(ceil(x1), left, image->width - 1) - left + 1) / factor;
    const int height = (tl_base_clamp(ceil(y1), top, image->height - 1) - top + 1) / factor;
    if (width < 1 || height < 1)
        return TL_ERR_ARGUMENT;
    float *value = malloc((size_t)width * (size_t)height * sizeof *value);
    if (!value)
        return TL_ERR_MEMORY;
    const glance g = glance_make(image, kind, factor);
    for (int y = 0; y < height; y++) {
        const size_t row = (size_t)(top + y * factor) * (size_t)image->width + (size_t)left;
        size_t at = row * (size_t)image->channels;
        float *out = value + (size_t)y * (size_t)width;
        for (int x = 0; x < width; x++, at += g.next) {
            const float light = image->code != NULL ? coded_block(&g, image->code + at)
                                                    : block(&g, image->sample + at);
            out[x] = light > 0 ? light : 0;
        }
    }
    const double middle = 0.5 * g.step * (int)(g.taken - 1);
    *plane = (tl_plane){.width = width,
                        .height = height,
                        .scale = factor,
                        .x0 = left + middle,
                        .y0 = top + middle,
                        .row = (size_t)width,
                        .step = 1,
                        .value = value};
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

/* The values of a pixel and its neighbours `right` and `below`, blended. */
static inline double blend(const float v[4], double across, double down) {
    const double above = (double)v[0] + across * (double)(v[1] - v[0]);
    const double under = (double)v[2] + across * (double)(v[3] - v[2]);
    return above + down * (under - above);
}

double tl_limb_plane_linear(const tl_plane *plane, double x, double y) {
    x = x > 0 ? x < plane->width - 1 ? x : plane->width - 1 : 0;
    y = y > 0 ? y < plane->height - 1 ? y : plane->height - 1 : 0;
    int ix = (int)x, iy = (int)y;
    ix -= ix > 0 && ix == plane->width - 1;
    iy -= iy > 0 && iy == plane->height - 1;
    const size_t right = plane->width > 1 ? plane->step : 0;
    const size_t below = plane->height > 1 ? plane->row : 0;
    const size_t at = (size_t)iy * plane->row + (size_t)ix * plane->step;
    const float v[4] = {tl_limb_plane_at(plane, at), tl_limb_plane_at(plane, at + right),
                        tl_limb_plane_at(plane, at + below),
                        tl_limb_plane_at(plane, at + below + right)};
    return blend(v, x - ix, y - iy);
}

/* Of a view of codes of three colours: most of what is looked at. */
static void mixed_profile(const tl_plane *plane, double x, double y, double dx, double dy,
                          int count, double *value) {
    const float *red = plane->table[0], *green = plane->table[1], *blue = plane->table[2];
    for (int k = 0; k < count; k++, x += dx, y += dy) {
        const int ix = (int)x, iy = (int)y;
        const uint8_t *c = plane->code + (size_t)iy * plane->row + (size_t)ix * 3;
        const uint8_t *d = c + plane->row;
        const float v[4] = {
            red[c[0]] + green[c[1]] + blue[c[2]], red[c[3]] + green[c[4]] + blue[c[5]],
            red[d[0]] + green[d[1]] + blue[d[2]], red[d[3]] + green[d[4]] + blue[d[5]]};
        value[k] = blend(v, x - ix, y - iy);
    }
}

void tl_limb_plane_profile(const tl_plane *plane, double x, double y, double dx, double dy,
                           int count, double *value) {
    if (plane->code != NULL && plane->mixed) {
        mixed_profile(plane, x, y, dx, dy, count, value);
        return;
    }
    for (int k = 0; k < count; k++)
        value[k] = tl_limb_plane_linear(plane, x + k * dx, y + k * dy);
}

double tl_limb_plane_brightest(const tl_plane *plane) {
    float max = 0;
    for (int y = 0; y + 1 < plane->height; y += 2) {
        const float *p = plane->value + (size_t)y * (size_t)plane->width;
        for (int x = 0; x + 1 < plane->width; x += 2) {
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
