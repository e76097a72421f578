/*
 * seen.c - which pixels show undisturbed disc, and how much light lies over it as a veil.
 */
#include <math.h>
#include <stdlib.h>

#include "spot/spot_internal.h"

/* Distances kept from the limbs. Beyond 2.5 sigma a blurred edge is complete to 1 %; sharpening and
 * the glare of the disc reach further at the Moon (measured on drawn phone pictures). */
#define SUN_MARGIN_BLURS 2.5
#define SUN_MARGIN_SR 0.02
#define MOON_MARGIN_BLURS 3.5
#define MOON_MARGIN_SR 0.012
/* Where the veil is measured: this far from the lunar limb, to either side. */
#define VEIL_NEAR_SR 0.03
#define VEIL_FAR_SR 0.12
enum { VEIL_PIXELS_MIN = 30 };

typedef struct veil {
    double in, out; /* sums of light inside the Moon and beside it */
    size_t in_count, out_count;
} veil;

static void veil_add(veil *v, double outside_moon, double blur_sr, double light) {
    const double distance = fabs(outside_moon);
    if (distance < VEIL_NEAR_SR + MOON_MARGIN_BLURS * blur_sr || distance > VEIL_FAR_SR)
        return;
    if (outside_moon < 0) {
        v->in += light;
        v->in_count++;
    } else {
        v->out += light;
        v->out_count++;
    }
}

/* A veil adds the same light to spot and disc; what is seen inside the Moon is all veil. */
static double depth_scale(const veil *v) {
    if (v->in_count < VEIL_PIXELS_MIN || v->out_count < VEIL_PIXELS_MIN || !(v->out > 0))
        return 1;
    const double in = v->in / (double)v->in_count, out = v->out / (double)v->out_count;
    return fmin(fmax(1 - in / out, 0), 1);
}

tl_status tl_spot_seen_take(tl_spot_field *f) {
    const int width = f->light.width, height = f->light.height;
    const double blur_sr = f->blur / f->radius;
    const double sun = 1 - fmax(SUN_MARGIN_BLURS * blur_sr, SUN_MARGIN_SR);
    const double moon = fmax(MOON_MARGIN_BLURS * blur_sr, MOON_MARGIN_SR);
    const double sun2 = sun > 0 ? sun * sun : 0;
    size_t clipped = 0, disc = 0;
    veil v = {0};
    unsigned char *state = malloc((size_t)width * (size_t)height);
    if (state == NULL)
        return TL_ERR_MEMORY;
    for (int y = 0; y < height; y++) {
        const size_t row = (size_t)y * (size_t)width;
        for (int x = 0; x < width; x++) {
            double u, w;
            tl_spot_field_disc(f, x, y, &u, &w);
            state[row + (size_t)x] = TL_SPOT_PX_OUTSIDE;
            if (u * u + w * w > sun2)
                continue;
            double beyond = 1e9;
            if (f->moon_r > 0) {
                const double mx = u - f->moon_x, my = w - f->moon_y;
                beyond = sqrt(mx * mx + my * my) - f->moon_r;
            }
            veil_add(&v, beyond, blur_sr, (double)f->light.value[row + (size_t)x]);
            if (beyond < moon) {
                state[row + (size_t)x] = TL_SPOT_PX_MOON;
            } else if (f->light.clipped[row + (size_t)x]) {
                state[row + (size_t)x] = TL_SPOT_PX_CLIPPED;
                clipped++;
            } else {
                state[row + (size_t)x] = TL_SPOT_PX_DISC;
                disc++;
            }
        }
    }
    f->state = state;
    f->disc_count = disc;
    f->clipped_share = clipped + disc > 0 ? (double)clipped / (double)(clipped + disc) : 0;
    f->depth_scale = depth_scale(&v);
    return TL_OK;
}
