/*
 * Pictures of a Sun and a Moon drawn from profiles, for the tests of the limb stage: a step
 * blurred by a Gaussian is an error function; the darkened solar limb is blurred by integrating
 * along the radius.
 */
#ifndef TWOLIMB_TESTS_DRAWN_SUN_H
#define TWOLIMB_TESTS_DRAWN_SUN_H

#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "check.h"
#include "limb/limb_internal.h"

/* Limb darkening at 541.76 nm, I(mu)/I(1) = sum A_i mu^i: H. Neckel & D. Labs, Solar Physics 153
 * (1994) 91. */
static inline double darkened(double rho) {
    static const double A[6] = {.26073, 1.27428, -1.30352, 1.47085, -.96618, .26384};
    double mu = sqrt(fmax(0, 1 - rho * rho)), sum = 0;
    for (int i = 5; i >= 0; i--)
        sum = sum * mu + A[i];
    return rho < 1 ? sum : 0;
}

enum { PROFILE_STEPS = 4000 };

/* The disc's light at r = i * step, blurred along the radius (its curvature is left out: it moves
 * the edge by blur^2 / (2 r), 0.01 px here). */
static inline void blurred_profile(double r_px, double blur_px, double step, double *profile) {
    for (int i = 0; i < PROFILE_STEPS; i++) {
        double r = i * step, sum = 0, norm = 0;
        for (int k = -100; k <= 100; k++) {
            double u = 0.05 * k, weight = exp(-0.5 * u * u);
            sum += weight * darkened(fabs(r - u * blur_px) / r_px);
            norm += weight;
        }
        profile[i] = sum / norm;
    }
}

typedef struct scene {
    int width, height, channels;
    tl_circle sun, moon; /* r 0: none */
    double blur_px;
    double disc[3], sky[3]; /* linear light per channel, at the disc's centre */
    double noise;           /* Gaussian sigma, linear light */
} scene;

static inline double edge(double inside_px, double blur_px) {
    return 0.5 * erfc(-inside_px / (blur_px * sqrt(2)));
}

static inline tl_image draw(const scene *s) {
    static double profile[PROFILE_STEPS];
    tl_image image = {.width = s->width, .height = s->height, .channels = s->channels};
    size_t samples = (size_t)s->width * (size_t)s->height * (size_t)s->channels;
    image.sample = malloc(samples * sizeof *image.sample);
    assert_non_null(image.sample);
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    uint16_t *at = image.sample;
    double step = 1.5 * s->sun.r / PROFILE_STEPS;
    if (s->sun.r > 0)
        blurred_profile(s->sun.r, s->blur_px, step, profile);
    for (int y = 0; y < s->height; y++) {
        for (int x = 0; x < s->width; x++) {
            double r = hypot(x - s->sun.x, y - s->sun.y), light = 0;
            if (s->sun.r > 0 && r < (PROFILE_STEPS - 2) * step) {
                double at_step = r / step;
                int i = (int)at_step;
                light = profile[i] + (at_step - i) * (profile[i + 1] - profile[i]);
            }
            if (s->moon.r > 0)
                light *= edge(hypot(x - s->moon.x, y - s->moon.y) - s->moon.r, s->blur_px);
            for (int c = 0; c < s->channels; c++) {
                double v = s->sky[c] + (s->disc[c] - s->sky[c]) * light;
                v += s->noise > 0 ? gsl_ran_gaussian(random, s->noise) : 0;
                *at++ = (uint16_t)lround(65535 * fmin(fmax(v, 0), 1));
            }
        }
    }
    gsl_rng_free(random);
    return image;
}

static inline scene partial_scene(void) {
    return (scene){.width = 500,
                   .height = 400,
                   .channels = 1,
                   .sun = {240.3, 195.8, 120},
                   .moon = {310.7, 150.2, 126},
                   .blur_px = 1.5,
                   .disc = {0.6},
                   .sky = {0.01},
                   .noise = 0.004};
}

static inline tl_limb find(const scene *s, const tl_limb_prior *prior) {
    tl_image image = draw(s);
    tl_limb limb = {0};
    assert_int_equal(tl_limb_find(&image, prior, &limb), TL_OK);
    tl_image_free(&image);
    return limb;
}

#endif
