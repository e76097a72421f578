/*
 * plate_pixels.c - a photograph resampled: the disc round, upright, at the scale asked for.
 */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "frame/frame_internal.h" /* the sRGB curve */
#include "report/draw_internal.h"
#include "report/plate_internal.h"

/* Pixels of the small picture under one of the plate, along each side, are averaged up to this. */
enum { SAMPLES_MAX = 4 };

/* The soft edge of the round field, as shares of the way from the middle to a side. */
#define FIELD_INNER 0.955F
#define FIELD_OUTER 1.0F

/* Discs are brought to this linear light in their brightest colour: bright, and not clipped where
 * a disc is brighter in its middle. Our own choice. */
#define EVEN_LEVEL 0.78
#define EVEN_SHARE 0.8     /* of the disc's pixels are darker than its level */
enum { LEVEL_SIDE = 200 }; /* that many rows and columns of a plate tell it well enough */
#define GAIN_MOST 4.0
#define GAIN_LEAST (1.0 / 6.0)

enum { FULL_LIGHT = 65535 }; /* as the tables of the curve have it */

/* A pixel of the plate to one of the small picture: x = at[0] + per_u[0] u + per_v[0] v. */
typedef struct affine {
    double at[2], per_u[2], per_v[2];
} affine;

static void small_place(const tl_report_source *source, const tl_report_plate *plate,
                        const tl_report_plate_look *look, double u, double v, double place[2]) {
    const double sr_per_px = 2.0 * look->reach_sr / look->side_px;
    const double middle = 0.5 * (look->side_px - 1);
    tl_report_plate_to_preview(source->sequence, plate, look->up, (u - middle) * sr_per_px,
                               (v - middle) * sr_per_px, &place[0], &place[1]);
    place[0] -= 0.5; /* the centre of the first pixel lies half a pixel from the corner */
    place[1] -= 0.5;
}

/* Turning, mirroring, scaling and flattening are all linear. */
static affine affine_of(const tl_report_source *source, const tl_report_plate *plate,
                        const tl_report_plate_look *look) {
    affine a = {0};
    small_place(source, plate, look, 0.0, 0.0, a.at);
    small_place(source, plate, look, 1.0, 0.0, a.per_u);
    small_place(source, plate, look, 0.0, 1.0, a.per_v);
    for (int k = 0; k < 2; k++) {
        a.per_u[k] -= a.at[k];
        a.per_v[k] -= a.at[k];
    }
    return a;
}

/* Add the light between four pixels; nothing outside the picture. */
static void add_light(const unsigned char *rgb, int width, int height, const uint16_t linear[256],
                      float x, float y, float light[3]) {
    if (!(x >= 0.0F && y >= 0.0F && x < (float)(width - 1) && y < (float)(height - 1)))
        return;
    const int column = (int)x, row = (int)y;
    const float right = x - (float)column, down = y - (float)row;
    const float share[4] = {(1.0F - down) * (1.0F - right), (1.0F - down) * right,
                            down * (1.0F - right), down * right};
    const unsigned char *p = rgb + 3 * ((size_t)row * (size_t)width + (size_t)column);
    const unsigned char *q = p + 3 * (size_t)width;
    for (int c = 0; c < 3; c++)
        light[c] += share[0] * linear[p[c]] + share[1] * linear[p[c + 3]] +
                    share[2] * linear[q[c]] + share[3] * linear[q[c + 3]];
}

float tl_report_plate_field(int side, int u, int v) {
    const float x = (float)(2 * u + 1 - side) / (float)side;
    const float y = (float)(2 * v + 1 - side) / (float)side, squared = x * x + y * y;
    if (squared <= FIELD_INNER * FIELD_INNER)
        return 1.0F;
    return squared >= FIELD_OUTER * FIELD_OUTER
               ? 0.0F
               : (FIELD_OUTER - sqrtf(squared)) / (FIELD_OUTER - FIELD_INNER);
}

/* Linear light of the plate, 0..FULL_LIGHT, 3 values a pixel. */
static void resample(const unsigned char *rgb, const tl_preview *small, const affine *a, int side,
                     float *light) {
    uint16_t linear[256];
    tl_frame_linear_table(linear);
    const int fine = (int)ceil(hypot(a->per_u[0], a->per_u[1]) - 0.2);
    const int samples = fine < 1 ? 1 : fine > SAMPLES_MAX ? SAMPLES_MAX : fine;
    const float share = 1.0F / (float)(samples * samples);
    float off[SAMPLES_MAX * SAMPLES_MAX][2]; /* of the samples, px of the small picture */
    for (int k = 0; k < samples * samples; k++) {
        const double du = (k % samples + 0.5) / samples - 0.5;
        const double dv = (k / samples + 0.5) / samples - 0.5;
        for (int axis = 0; axis < 2; axis++)
            off[k][axis] = (float)(a->per_u[axis] * du + a->per_v[axis] * dv);
    }
    for (int v = 0; v < side; v++)
        for (int u = 0; u < side; u++) {
            const float x = (float)(a->at[0] + a->per_u[0] * u + a->per_v[0] * v);
            const float y = (float)(a->at[1] + a->per_u[1] * u + a->per_v[1] * v);
            float sum[3] = {0.0F};
            for (int k = 0; k < samples * samples && tl_report_plate_field(side, u, v) > 0.0F; k++)
                add_light(rgb, small->width, small->height, linear, x + off[k][0], y + off[k][1],
                          sum);
            for (int c = 0; c < 3; c++)
                *light++ = share * sum[c];
        }
}

static int by_value(const void *a, const void *b) {
    const float p = *(const float *)a, q = *(const float *)b;
    return (p > q) - (p < q);
}

/* The factor that brings the part of the disc that is seen to the common brightness. */
static tl_status even_gain(const tl_report_source *source, const tl_report_plate *plate,
                           const tl_report_plate_look *look, const float *light, double *gain) {
    const int side = look->side_px;
    const double sr_per_px = 2.0 * look->reach_sr / side, middle = 0.5 * (side - 1);
    double moon_x = 0.0, moon_y = 0.0, ratio = 0.0;
    const bool moon = tl_report_plate_moon(source, plate, look->up, &moon_x, &moon_y, &ratio);
    const int step = side / LEVEL_SIDE + 1;
    float *bright = malloc((size_t)side * (size_t)side * sizeof *bright);
    size_t count = 0;
    if (!bright)
        return TL_ERR_MEMORY;
    for (int v = step / 2; v < side; v += step)
        for (int u = step / 2; u < side; u += step) {
            const double x = (u - middle) * sr_per_px, y = (v - middle) * sr_per_px;
            const float *p = light + 3 * ((size_t)v * (size_t)side + (size_t)u);
            if (x * x + y * y < 0.97 * 0.97 &&
                !(moon && hypot(x - moon_x, y - moon_y) < ratio + 0.02))
                bright[count++] = fmaxf(p[0], fmaxf(p[1], p[2]));
        }
    *gain = 1.0;
    if (count > 0) {
        qsort(bright, count, sizeof *bright, by_value);
        const double level = bright[(size_t)(EVEN_SHARE * (double)(count - 1))];
        *gain = fmin(fmax(EVEN_LEVEL * FULL_LIGHT / fmax(level, 1.0), GAIN_LEAST), GAIN_MOST);
    }
    free(bright);
    return TL_OK;
}

static void finish(const float *light, int side, double gain, unsigned char *rgb) {
    uint8_t code[FULL_LIGHT + 1];
    tl_frame_code_table(code);
    for (int v = 0; v < side; v++)
        for (int u = 0; u < side; u++) {
            const float factor = (float)gain * tl_report_plate_field(side, u, v);
            for (int c = 0; c < 3; c++) {
                const float value = factor * *light++;
                *rgb++ = code[value < FULL_LIGHT ? (int)value : FULL_LIGHT];
            }
        }
}

tl_status tl_report_plate_pixels(const tl_report_source *source, const tl_report_plate *plate,
                                 const tl_report_plate_look *look, unsigned char **rgb) {
    const tl_preview *small = &source->sequence->frame[plate->frame].preview;
    const size_t pixels = (size_t)look->side_px * (size_t)look->side_px;
    unsigned char *from = NULL;
    double gain = 1.0;
    tl_status status = tl_preview_pixels(small, &from);
    if (status != TL_OK)
        return status;
    float *light = malloc(3 * pixels * sizeof *light);
    unsigned char *made = malloc(3 * pixels);
    status = light && made ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK) {
        const affine a = affine_of(source, plate, look);
        resample(from, small, &a, look->side_px, light);
        if (!look->as_exposed)
            status = even_gain(source, plate, look, light, &gain);
    }
    if (status == TL_OK) {
        finish(light, look->side_px, gain, made);
        *rgb = made;
    } else {
        free(made);
    }
    free(light);
    free(from);
    return status;
}

tl_status tl_report_plate_surface(const tl_report_source *source, const tl_report_plate *plate,
                                  const tl_report_plate_look *look, bool jpeg,
                                  cairo_surface_t **surface) {
    unsigned char *rgb = NULL;
    const tl_status status = tl_report_plate_pixels(source, plate, look, &rgb);
    if (status != TL_OK)
        return status;
    cairo_surface_t *made = tl_report_surface_of(rgb, look->side_px, look->side_px, jpeg);
    free(rgb);
    if (!made)
        return TL_ERR_MEMORY;
    *surface = made;
    return TL_OK;
}
