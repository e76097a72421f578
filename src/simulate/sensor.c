/*
 * sensor.c - from linear light to the 8-bit numbers of a camera's picture.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>

#include "simulate/simulate_internal.h"

/* Light above full scale spills over: a share of the excess comes back, spread by a Gaussian. */
static tl_status add_bloom(const tl_simulate_bloom *bloom, tl_simulate_plane *picture) {
    if (!bloom->on || bloom->share <= 0.0)
        return TL_OK;
    tl_simulate_plane excess;
    tl_status status = tl_simulate_plane_make(0, 0, picture->width, picture->height, &excess);
    if (status != TL_OK)
        return status;
    size_t n = (size_t)picture->width * (size_t)picture->height;
    bool any = false;
    for (size_t i = 0; i < n; i++) {
        excess.v[i] = picture->v[i] > 1.0f ? picture->v[i] - 1.0f : 0.0f;
        any = any || picture->v[i] > 1.0f;
    }
    if (any)
        status = tl_simulate_plane_blur(&excess, bloom->radius_px);
    for (size_t i = 0; any && status == TL_OK && i < n; i++)
        picture->v[i] += (float)bloom->share * excess.v[i];
    tl_simulate_plane_free(&excess);
    return status;
}

static tl_status add_hot_pixels(const tl_simulate_scene *scene, size_t index, int channel,
                                tl_simulate_plane *picture) {
    const tl_simulate_hot_pixels *hot = &scene->frame[index].settings.hot_pixels;
    if (!hot->on)
        return TL_OK;
    gsl_rng *random =
        tl_simulate_random(scene->seed, scene->frame[index].set, TL_STREAM_HOT_PIXELS);
    if (random == NULL)
        return TL_ERR_MEMORY;
    for (int i = 0; i < hot->count; i++) {
        size_t x = gsl_rng_uniform_int(random, (unsigned long)picture->width);
        size_t y = gsl_rng_uniform_int(random, (unsigned long)picture->height);
        int of = (int)gsl_rng_uniform_int(random, TL_SIMULATE_CHANNELS);
        double level = hot->level * gsl_rng_uniform(random);
        if (of == channel)
            picture->v[y * (size_t)picture->width + x] += (float)level;
    }
    gsl_rng_free(random);
    return TL_OK;
}

/* Pixels that give too little, at places that a set's frames share. */
static tl_status add_dead_pixels(const tl_simulate_scene *scene, size_t index, int channel,
                                 tl_simulate_plane *picture) {
    const tl_simulate_dead_pixels *dead = &scene->frame[index].settings.dead_pixels;
    if (!dead->on)
        return TL_OK;
    gsl_rng *random =
        tl_simulate_random(scene->seed, scene->frame[index].set, TL_STREAM_DEAD_PIXELS);
    if (random == NULL)
        return TL_ERR_MEMORY;
    for (int i = 0; i < dead->count; i++) {
        size_t x = gsl_rng_uniform_int(random, (unsigned long)picture->width);
        size_t y = gsl_rng_uniform_int(random, (unsigned long)picture->height);
        int of = (int)gsl_rng_uniform_int(random, TL_SIMULATE_CHANNELS);
        double lost = dead->depth * gsl_rng_uniform(random);
        if (of == channel)
            picture->v[y * (size_t)picture->width + x] *= (float)(1.0 - lost);
    }
    gsl_rng_free(random);
    return TL_OK;
}

/* Photon noise (Poisson, as its Gaussian limit) and read noise; full_well_e electrons make
 * full scale, where the counting stops. */
static tl_status add_noise(const tl_simulate_scene *scene, size_t index, int channel,
                           tl_simulate_plane *picture) {
    const tl_simulate_noise *noise = &scene->frame[index].settings.noise;
    if (!noise->on)
        return TL_OK;
    gsl_rng *random = tl_simulate_random(
        scene->seed, index * TL_SIMULATE_CHANNELS + (size_t)channel, TL_STREAM_NOISE);
    tl_simulate_plane grain = {0};
    tl_status status = random != NULL ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK)
        status = tl_simulate_plane_make(0, 0, picture->width, picture->height, &grain);
    if (status == TL_OK)
        status = tl_simulate_plane_grain(random, noise->grain_px, &grain);
    double read = noise->read_e / noise->full_well_e;
    size_t n = (size_t)picture->width * (size_t)picture->height;
    for (size_t i = 0; status == TL_OK && i < n; i++) {
        double light = fmax((double)picture->v[i], 0.0);
        picture->v[i] += (float)sqrt(light / noise->full_well_e + read * read) * grain.v[i];
    }
    tl_simulate_plane_free(&grain);
    if (random != NULL)
        gsl_rng_free(random);
    return status;
}

tl_status tl_simulate_sensor(const tl_simulate_scene *scene, size_t index, int channel,
                             tl_simulate_plane *picture) {
    tl_status status = add_bloom(&scene->frame[index].settings.bloom, picture);
    if (status == TL_OK)
        status = add_dead_pixels(scene, index, channel, picture);
    if (status == TL_OK)
        status = add_hot_pixels(scene, index, channel, picture);
    if (status == TL_OK)
        status = add_noise(scene, index, channel, picture);
    return status;
}

double tl_simulate_srgb(double linear) {
    return linear <= 0.0031308 ? 12.92 * linear : 1.055 * pow(linear, 1.0 / 2.4) - 0.055;
}

/* Steps of the table: at the steepest place of the curve a step is 0.05 of an 8-bit code. */
enum { CURVE_STEPS = 65536 };

tl_status tl_simulate_encode(const tl_simulate_plane *picture, int channel, unsigned char *rgb) {
    unsigned char *curve = malloc(CURVE_STEPS + 1);
    if (curve == NULL)
        return TL_ERR_MEMORY;
    for (int i = 0; i <= CURVE_STEPS; i++)
        curve[i] = (unsigned char)lround(255.0 * tl_simulate_srgb((double)i / CURVE_STEPS));
    size_t n = (size_t)picture->width * (size_t)picture->height;
    for (size_t i = 0; i < n; i++) {
        float light = fminf(fmaxf(picture->v[i], 0.0f), 1.0f);
        rgb[TL_SIMULATE_CHANNELS * i + (size_t)channel] =
            curve[(size_t)(light * (float)CURVE_STEPS + 0.5f)];
    }
    free(curve);
    return TL_OK;
}

/* The upright pixel that the stored pixel (x, y) shows; sizes are the upright picture's.
 * EXIF 2.32, tag 274: where the stored row 0 and column 0 are in the upright picture. */
static size_t upright_pixel(int orientation, int width, int height, int x, int y) {
    int across = orientation >= 5 ? y : x, down = orientation >= 5 ? x : y;
    if (orientation == 2 || orientation == 3 || orientation == 6 || orientation == 7)
        across = width - 1 - across;
    if (orientation == 3 || orientation == 4 || orientation == 7 || orientation == 8)
        down = height - 1 - down;
    return (size_t)down * (size_t)width + (size_t)across;
}

tl_status tl_simulate_turn(const unsigned char *rgb, int orientation, int *width, int *height,
                           unsigned char **turned) {
    int w = orientation >= 5 ? *height : *width, h = orientation >= 5 ? *width : *height;
    unsigned char *stored = malloc((size_t)w * (size_t)h * TL_SIMULATE_CHANNELS);
    if (stored == NULL)
        return TL_ERR_MEMORY;
    for (int y = 0; y < h; y++)
        for (int x = 0; x < w; x++)
            memcpy(stored + TL_SIMULATE_CHANNELS * ((size_t)y * (size_t)w + (size_t)x),
                   rgb + TL_SIMULATE_CHANNELS * upright_pixel(orientation, *width, *height, x, y),
                   TL_SIMULATE_CHANNELS);
    *width = w;
    *height = h;
    *turned = stored;
    return TL_OK;
}
