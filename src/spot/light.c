/*
 * light.c - the Sun's box, reduced, in the colour that shows most of the disc.
 */
#include <math.h>
#include <stdlib.h>

#include "spot/spot_internal.h"

/* The disc is reduced to this at most: an umbra of 5 arcsec is then still 2.8 px. */
#define DISC_WIDEST_PX 1100.0
/* A blurred picture is reduced until its blur is below twice this: nothing finer is in it. */
#define BLUR_KEPT_PX 1.6
#define FACTOR_MAX 256.0 /* of tl_image_cut */
#define MARGIN_PX 3.0
/* Sampling of the choice, over the disc's diameter. */
#define CHOICE_STEPS 150.0
/* Another plane than luminance must show so much more of the disc (a few grains at full scale do
 * not count): JPEG's colour is coarse, so that single colours are drawn worse than the luminance.
 */
#define CHOICE_GAIN 0.002
/* A plane darker than this shows codes rather than light: the lowest ten of 255 in sRGB. */
#define CHOICE_DARKEST 0.003

static double sample_of(const uint16_t *s, int channels, tl_plane_kind kind) {
    if (channels == 1)
        return s[0] / 65535.0;
    if (kind == TL_PLANE_LUMA)
        return (tl_limb_luma[0] * s[0] + tl_limb_luma[1] * s[1] + tl_limb_luma[2] * s[2]) / 65535.0;
    return s[kind - TL_PLANE_RED] / 65535.0;
}

static bool clipped_of(const uint16_t *s, int channels, tl_plane_kind kind) {
    const double limit = TL_LIMB_CLIPPED * 65535;
    if (channels == 1 || kind != TL_PLANE_LUMA)
        return s[channels == 1 ? 0 : kind - TL_PLANE_RED] >= limit;
    return s[0] >= limit || s[1] >= limit || s[2] >= limit;
}

typedef struct plane_merit {
    double clipped; /* share of the disc */
    double light;   /* mean of the rest */
} plane_merit;

static plane_merit merit_of(const tl_spot_field *f, const tl_image *image, tl_plane_kind kind) {
    const int step = (int)fmax(1.0, 2.0 * f->radius / CHOICE_STEPS);
    size_t count = 0, clipped = 0;
    double sum = 0;
    for (int y = step / 2; y < image->height; y += step) {
        for (int x = step / 2; x < image->width; x += step) {
            double u, v;
            tl_spot_field_disc(f, x, y, &u, &v);
            if (u * u + v * v > 1 || hypot(u - f->moon_x, v - f->moon_y) < f->moon_r)
                continue;
            const uint16_t *s = image->sample + ((size_t)y * (size_t)image->width + (size_t)x) *
                                                    (size_t)image->channels;
            count++;
            if (clipped_of(s, image->channels, kind))
                clipped++;
            else
                sum += sample_of(s, image->channels, kind);
        }
    }
    if (count == 0)
        return (plane_merit){1, 0};
    return (plane_merit){(double)clipped / (double)count,
                         count > clipped ? sum / (double)(count - clipped) : 0};
}

/* Of the planes that show most of the disc: luminance, else the brightest. */
static tl_plane_kind choose(const tl_spot_field *f, const tl_image *image) {
    if (image->channels == 1)
        return TL_PLANE_LUMA;
    tl_plane_kind best = TL_PLANE_LUMA;
    plane_merit chosen = merit_of(f, image, TL_PLANE_LUMA);
    for (tl_plane_kind kind = TL_PLANE_RED; kind <= TL_PLANE_BLUE; kind++) {
        plane_merit merit = merit_of(f, image, kind);
        const double gain = chosen.clipped - merit.clipped;
        if (merit.light < CHOICE_DARKEST)
            continue;
        if (gain > CHOICE_GAIN || chosen.light < CHOICE_DARKEST ||
            (best != TL_PLANE_LUMA && gain > -CHOICE_GAIN && merit.light > chosen.light)) {
            best = kind;
            chosen = merit;
        }
    }
    return best;
}

void tl_spot_field_disc(const tl_spot_field *f, double x, double y, double *x_sr, double *y_sr) {
    x -= f->sun_x;
    y -= f->sun_y;
    *x_sr = f->map_xx * x + f->map_xy * y;
    *y_sr = f->map_xy * x + f->map_yy * y;
}

static void place_circles(const tl_limb *limb, const tl_cutout *cutout, tl_spot_field *f) {
    const double scale = cutout->scale, stretch = 1.0 / limb->flattening - 1.0;
    const double pixel2 = 1.0 / 12.0; /* variance of a pixel's own width */
    f->radius = limb->circle[TL_SUN_R] / scale;
    f->sun_x = (limb->circle[TL_SUN_X] - cutout->x0) / scale;
    f->sun_y = (limb->circle[TL_SUN_Y] - cutout->y0) / scale;
    f->map_xx = (1.0 + stretch * limb->flat_x * limb->flat_x) / f->radius;
    f->map_xy = stretch * limb->flat_x * limb->flat_y / f->radius;
    f->map_yy = (1.0 + stretch * limb->flat_y * limb->flat_y) / f->radius;
    f->blur = sqrt(pow(limb->blur_px / scale, 2) + pixel2);
    if (limb->status == TL_LIMB_MEASURED) {
        tl_spot_disc_from_picture(limb, limb->circle[TL_MOON_X], limb->circle[TL_MOON_Y],
                                  &f->moon_x, &f->moon_y);
        f->moon_r = limb->circle[TL_MOON_R] / limb->circle[TL_SUN_R];
    }
}

/* The whole cut-out in one plane. */
static tl_status make_plane(const tl_cutout *cutout, tl_plane_kind kind, tl_plane *plane) {
    const tl_image *image = &cutout->image;
    const size_t pixels = (size_t)image->width * (size_t)image->height;
    float *value = malloc(pixels * sizeof *value);
    unsigned char *clipped = malloc(pixels);
    if (!value || !clipped) {
        free(value);
        free(clipped);
        return TL_ERR_MEMORY;
    }
    const uint16_t *sample = image->sample;
    for (size_t i = 0; i < pixels; i++, sample += image->channels) {
        value[i] = (float)sample_of(sample, image->channels, kind);
        clipped[i] = clipped_of(sample, image->channels, kind);
    }
    *plane = (tl_plane){.width = image->width,
                        .height = image->height,
                        .scale = cutout->scale,
                        .x0 = cutout->x0,
                        .y0 = cutout->y0,
                        .row = (size_t)image->width,
                        .step = 1,
                        .value = value,
                        .clipped = clipped};
    return TL_OK;
}

double tl_spot_pixel(const tl_limb *limb) {
    return fmax(1, fmax(ceil(2.0 * limb->circle[TL_SUN_R] / DISC_WIDEST_PX),
                        floor(limb->blur_px / BLUR_KEPT_PX)));
}

tl_status tl_spot_light_take(const tl_image *image, const tl_limb *limb, tl_spot_field *field) {
    const double x = limb->circle[TL_SUN_X], y = limb->circle[TL_SUN_Y];
    const double reach = limb->circle[TL_SUN_R] + MARGIN_PX;
    if (x + reach < tl_image_to_file(image, image->left, 0) ||
        y + reach < tl_image_to_file(image, image->top, 0) ||
        x - reach > tl_image_to_file(image, image->left, image->width - 1) ||
        y - reach > tl_image_to_file(image, image->top, image->height - 1))
        return TL_ERR_ARGUMENT;
    tl_cutout cutout;
    tl_status status = tl_image_cut(
        image, x - reach, y - reach, x + reach, y + reach,
        (int)fmin(ceil(tl_spot_pixel(limb) / tl_image_scale(image)), FACTOR_MAX), &cutout);
    if (status != TL_OK)
        return status;
    tl_spot_field f = {.limb = limb};
    place_circles(limb, &cutout, &f);
    status = make_plane(&cutout, choose(&f, &cutout.image), &f.light);
    tl_cutout_free(&cutout);
    if (status == TL_OK)
        *field = f;
    return status;
}

void tl_spot_field_free(tl_spot_field *field) {
    tl_limb_plane_free(&field->light);
    free(field->state);
    free(field->smooth);
    free(field->noise);
    free(field->noise_ring);
    *field = (tl_spot_field){0};
}
