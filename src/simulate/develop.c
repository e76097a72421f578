/*
 * develop.c - what a phone does to its picture: a tone curve and sharpening. A reader who undoes
 * the sRGB curve has these left.
 */
#include <math.h>
#include <string.h>

#include "simulate/simulate_internal.h"

/* Light above the knee creeps up to full scale instead of being cut there. */
static double soft_knee(double light, double knee) {
    if (light <= knee || knee >= 1.0)
        return light;
    return 1.0 - (1.0 - knee) * exp(-(light - knee) / (1.0 - knee));
}

/* Linear light to coded values, by the tone curve. */
static void apply_tone(const tl_simulate_tone *tone, tl_simulate_plane *picture) {
    size_t n = (size_t)picture->width * (size_t)picture->height;
    double knee = tone->on ? tone->knee : 1.0;
    for (size_t i = 0; i < n; i++) {
        double light = soft_knee((double)picture->v[i], knee);
        double code = tl_simulate_srgb(fmin(fmax(light, 0.0), 1.0));
        if (tone->on) {
            code += tone->contrast * (code * code * (3.0 - 2.0 * code) - code);
            code = pow(code, tone->gamma);
        }
        picture->v[i] = (float)code;
    }
}

/* An unsharp mask on coded values. */
static tl_status sharpen(const tl_simulate_sharpen *settings, tl_simulate_plane *picture) {
    if (!settings->on)
        return TL_OK;
    tl_simulate_plane soft;
    size_t n = (size_t)picture->width * (size_t)picture->height;
    tl_status status = tl_simulate_plane_make(0, 0, picture->width, picture->height, &soft);
    if (status != TL_OK)
        return status;
    memcpy(soft.v, picture->v, n * sizeof *soft.v);
    status = tl_simulate_plane_blur(&soft, settings->radius_px);
    for (size_t i = 0; status == TL_OK && i < n; i++)
        picture->v[i] += (float)settings->amount * (picture->v[i] - soft.v[i]);
    tl_simulate_plane_free(&soft);
    return status;
}

tl_status tl_simulate_develop(const tl_simulate_settings *settings, int channel,
                              tl_simulate_plane *picture, unsigned char *rgb) {
    if (!settings->tone.on && !settings->sharpen.on)
        return tl_simulate_encode(picture, channel, rgb);
    apply_tone(&settings->tone, picture);
    tl_status status = sharpen(&settings->sharpen, picture);
    size_t n = (size_t)picture->width * (size_t)picture->height;
    for (size_t i = 0; status == TL_OK && i < n; i++) {
        float code = fminf(fmaxf(picture->v[i], 0.0f), 1.0f);
        rgb[TL_SIMULATE_CHANNELS * i + (size_t)channel] = (unsigned char)lroundf(255.0f * code);
    }
    return status;
}
