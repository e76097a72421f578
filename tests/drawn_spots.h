/*
 * A disc with spots, drawn sharp with sub-pixels, blurred by a Gaussian, with noise: for the tests
 * of what finds spots. Nothing of it is shared with the library.
 */
#ifndef TWOLIMB_TESTS_DRAWN_SPOTS_H
#define TWOLIMB_TESTS_DRAWN_SPOTS_H

#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "check.h"
#include "twolimb/spot.h"

/* Depths below the photosphere: umbra .2-.4, penumbra .75-.85 of its light (common practice, no
 * source). */
#define DRAWN_PENUMBRA 0.2
#define DRAWN_UMBRA 0.7

typedef struct drawn_spot {
    double x, y, radius, umbra; /* px; umbra: its radius */
} drawn_spot;

typedef struct drawn_circle {
    double x, y, r;
} drawn_circle;

enum { DRAWN_SPOTS_MAX = 8 };
typedef struct drawn_disc {
    int width, height;
    drawn_circle sun, moon; /* moon.r 0: none */
    double flattening;      /* vertical over horizontal diameter; 0: round */
    double blur_px, noise;  /* sigmas; noise in linear light */
    double light, veil;     /* at the disc's centre; added everywhere */
    unsigned long seed;
    drawn_spot spot[DRAWN_SPOTS_MAX];
    int spots;
} drawn_disc;

/* A picture being drawn: light, width * height. */
typedef struct drawn_plane {
    int width, height;
    double *light; /* owned */
} drawn_plane;

static inline bool drawn_moon_covers(const drawn_disc *d, double x, double y) {
    return d->moon.r > 0 && hypot(x - d->moon.x, y - d->moon.y) < d->moon.r;
}

static inline double drawn_light_at(const drawn_disc *d, double x, double y) {
    const double stretch = d->flattening > 0 ? d->flattening : 1;
    const double u = (x - d->sun.x) / d->sun.r, v = (y - d->sun.y) / stretch / d->sun.r;
    const double rho2 = u * u + v * v;
    if (rho2 >= 1 || drawn_moon_covers(d, x, y))
        return 0;
    /* limb darkening at 541.76 nm, I(mu)/I(1) = sum A_i mu^i: H. Neckel & D. Labs, Solar Physics
     * 153 (1994) 91 */
    static const double A[6] = {.26073, 1.27428, -1.30352, 1.47085, -.96618, .26384};
    const double mu = sqrt(1 - rho2);
    double light = 0;
    for (int i = 5; i >= 0; i--)
        light = light * mu + A[i];
    for (int i = 0; i < d->spots; i++) {
        const double r = hypot(x - d->spot[i].x, y - d->spot[i].y);
        if (r < d->spot[i].umbra)
            return d->light * light * (1 - DRAWN_UMBRA);
        if (r < d->spot[i].radius)
            return d->light * light * (1 - DRAWN_PENUMBRA);
    }
    return d->light * light;
}

static inline void drawn_blur_line(double *line, double *room, int count, int step,
                                   const double *kernel, int reach) {
    for (int i = 0; i < count; i++) {
        double sum = 0;
        for (int k = -reach; k <= reach; k++) {
            const int at = i + k < 0 ? 0 : i + k >= count ? count - 1 : i + k;
            sum += kernel[k + reach] * line[(size_t)at * (size_t)step];
        }
        room[i] = sum;
    }
    for (int i = 0; i < count; i++)
        line[(size_t)i * (size_t)step] = room[i];
}

static inline void drawn_blur(drawn_plane *p, double sigma) {
    enum { REACH_MAX = 64 };
    double kernel[2 * REACH_MAX + 1], sum = 0;
    const int reach = (int)ceil(4 * sigma);
    assert_true(reach <= REACH_MAX);
    for (int k = -reach; k <= reach; k++)
        sum += kernel[k + reach] = exp(-0.5 * k * k / (sigma * sigma));
    for (int k = 0; k <= 2 * reach; k++)
        kernel[k] /= sum;
    double *room = malloc((size_t)(p->width > p->height ? p->width : p->height) * sizeof *room);
    assert_non_null(room);
    for (int y = 0; y < p->height; y++)
        drawn_blur_line(p->light + (size_t)y * (size_t)p->width, room, p->width, 1, kernel, reach);
    for (int x = 0; x < p->width; x++)
        drawn_blur_line(p->light + x, room, p->height, p->width, kernel, reach);
    free(room);
}

/* The blurred light, without veil and noise; free p.light. */
static inline drawn_plane drawn_light(const drawn_disc *d) {
    const int sub = d->sun.r > 600 ? 1 : 4; /* a large disc is reduced before it is looked at */
    drawn_plane p = {d->width, d->height,
                     malloc((size_t)d->width * (size_t)d->height * sizeof(double))};
    assert_non_null(p.light);
    for (int y = 0; y < d->height; y++) {
        for (int x = 0; x < d->width; x++) {
            double sum = 0;
            for (int j = 0; j < sub; j++)
                for (int i = 0; i < sub; i++)
                    sum += drawn_light_at(d, x + (i + 0.5) / sub - 0.5, y + (j + 0.5) / sub - 0.5);
            p.light[(size_t)y * (size_t)d->width + (size_t)x] = sum / (sub * sub);
        }
    }
    if (d->blur_px > 0)
        drawn_blur(&p, d->blur_px);
    return p;
}

/* Veil and noise on it, as a grey picture; frees the plane. */
static inline tl_image drawn_picture(const drawn_disc *d, drawn_plane *p) {
    const size_t pixels = (size_t)p->width * (size_t)p->height;
    tl_image image = {.width = p->width,
                      .height = p->height,
                      .channels = 1,
                      .sample = malloc(pixels * sizeof(uint16_t))};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    assert_non_null(image.sample);
    assert_non_null(random);
    gsl_rng_set(random, d->seed);
    for (size_t i = 0; i < pixels; i++) {
        double light = p->light[i] + d->veil;
        if (d->noise > 0)
            light += gsl_ran_gaussian_ziggurat(random, d->noise);
        image.sample[i] = (uint16_t)lround(65535 * fmin(fmax(light, 0), 1));
    }
    gsl_rng_free(random);
    free(p->light);
    p->light = NULL;
    return image;
}

/* The circles as drawn: what is tested is not the limb. */
static inline tl_limb drawn_limb(const drawn_disc *d) {
    tl_limb limb = {.status = d->moon.r > 0 ? TL_LIMB_MEASURED : TL_LIMB_SUN_ONLY,
                    .circle = {d->sun.x, d->sun.y, d->sun.r, d->moon.x, d->moon.y, d->moon.r},
                    .flattening = d->flattening > 0 ? d->flattening : 1,
                    .flat_y = 1,
                    .blur_px = d->blur_px};
    return limb;
}

static inline tl_spot_marks drawn_find(const drawn_disc *d) {
    drawn_plane plane = drawn_light(d);
    tl_image image = drawn_picture(d, &plane);
    const tl_limb limb = drawn_limb(d);
    tl_spot_marks marks = {0};
    assert_int_equal(tl_spot_find(&image, &limb, &marks), TL_OK);
    tl_image_free(&image);
    return marks;
}

/* The mark nearest to a place, at most `reach` px off; NULL: none. */
static inline const tl_spot_mark *drawn_nearest(const tl_spot_marks *marks, double x, double y,
                                                double reach) {
    const tl_spot_mark *best = NULL;
    for (size_t i = 0; i < marks->count; i++) {
        const double off = hypot(marks->mark[i].x_px - x, marks->mark[i].y_px - y);
        if (off < reach) {
            reach = off;
            best = &marks->mark[i];
        }
    }
    return best;
}

static inline drawn_disc plain_disc(void) {
    return (drawn_disc){.width = 560,
                        .height = 540,
                        .sun = {281.3, 268.6, 240},
                        .moon = {470.2, 130.4, 246},
                        .blur_px = 1.4,
                        .noise = 0.006,
                        .light = 0.6,
                        .veil = 0.01,
                        .seed = 1};
}

#endif
