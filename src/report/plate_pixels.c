/*
 * plate_pixels.c - a photograph resampled: the disc round, upright, at the scale asked for.
 */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "report/draw_internal.h"
#include "report/plate_internal.h"

/* Pixels of the small picture under one of the plate, along each side, are averaged up to this. */
enum { SAMPLES_MAX = 4 };

/* The soft edge of the round field, as shares of the way from the middle to a side. */
#define FIELD_INNER 0.955
#define FIELD_OUTER 1.0

/* Discs are brought to this linear light in their brightest colour: bright, and not clipped where
 * a disc is brighter in its middle. Our own choice. */
#define EVEN_LEVEL 0.78
#define EVEN_SHARE 0.8 /* of the disc's pixels are darker than its level */
#define GAIN_MOST 4.0
#define GAIN_LEAST (1.0 / 6.0)

/* A pixel of the plate to one of the small picture: x = at[0] + per_u[0] u + per_v[0] v. */
typedef struct affine {
    double at[2], per_u[2], per_v[2];
} affine;

static void small_place(const tl_report_source *source, const tl_report_plate *plate,
                        const tl_report_plate_look *look, double u, double v, double place[2]) {
    const tl_sequence_frame *frame = &source->sequence->frame[plate->frame];
    const double sr_per_px = 2.0 * look->reach_sr / look->side_px;
    const double middle = 0.5 * (look->side_px - 1);
    double x, y;
    tl_report_plate_to_frame(plate, look->up, (u - middle) * sr_per_px, (v - middle) * sr_per_px,
                             &x, &y);
    tl_spot_picture_from_disc(&frame->limb, x, y, &place[0], &place[1]);
    /* the corner of the small picture is half a pixel before the centre of its first */
    place[0] = (place[0] - frame->preview.x0_px) * frame->preview.scale - 0.5;
    place[1] = (place[1] - frame->preview.y0_px) * frame->preview.scale - 0.5;
}

/* Turning, mirroring, scaling and flattening are all linear. */
static affine affine_of(const tl_report_source *source, const tl_report_plate *plate,
                        const tl_report_plate_look *look) {
    affine a;
    small_place(source, plate, look, 0.0, 0.0, a.at);
    small_place(source, plate, look, 1.0, 0.0, a.per_u);
    small_place(source, plate, look, 0.0, 1.0, a.per_v);
    for (int k = 0; k < 2; k++) {
        a.per_u[k] -= a.at[k];
        a.per_v[k] -= a.at[k];
    }
    return a;
}

static double linear_of(unsigned char code) { /* IEC 61966-2-1:1999, section 5.2 */
    const double c = code / 255.0;
    return c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

static unsigned char code_of(double linear) {
    const double v = fmin(fmax(linear, 0.0), 1.0);
    const double c = v <= 0.0031308 ? 12.92 * v : 1.055 * pow(v, 1.0 / 2.4) - 0.055;
    return (unsigned char)lround(255.0 * c);
}

/* A power for every value of a large plate would take longer than all the rest. The steps are a
 * fifth of a code where they matter most, in the dark. */
enum { LIGHT_STEPS = 16384 };

static size_t light_step(double linear) {
    return (size_t)(fmin(fmax(linear, 0.0), 1.0) * (LIGHT_STEPS - 1) + 0.5);
}

/* Add the light between four pixels; nothing outside the picture. */
static void add_light(const unsigned char *rgb, int width, int height, const double linear[256],
                      double x, double y, double light[3]) {
    if (!(x >= 0.0 && y >= 0.0 && x < width - 1 && y < height - 1))
        return;
    const size_t whole_x = (size_t)x, whole_y = (size_t)y;
    const double right = x - (double)whole_x, down = y - (double)whole_y;
    const unsigned char *p = rgb + 3 * (whole_y * (size_t)width + whole_x);
    const unsigned char *q = p + 3 * (size_t)width;
    for (int c = 0; c < 3; c++)
        light[c] += (1.0 - down) * ((1.0 - right) * linear[p[c]] + right * linear[p[c + 3]]) +
                    down * ((1.0 - right) * linear[q[c]] + right * linear[q[c + 3]]);
}

/* Linear light of the plate, 3 values a pixel; none outside its round field. */
static void resample(const unsigned char *rgb, const tl_preview *small, const affine *a, int side,
                     float *light) {
    double linear[256];
    for (int code = 0; code < 256; code++)
        linear[code] = linear_of((unsigned char)code);
    const int fine = (int)ceil(hypot(a->per_u[0], a->per_u[1]) - 0.2);
    const int samples = fine < 1 ? 1 : fine > SAMPLES_MAX ? SAMPLES_MAX : fine;
    const double share = 1.0 / (samples * samples), middle = 0.5 * (side - 1);
    for (int v = 0; v < side; v++)
        for (int u = 0; u < side; u++) {
            const double out_u = u - middle, out_v = v - middle;
            const bool inside = out_u * out_u + out_v * out_v < 0.25 * side * side;
            double sum[3] = {0.0};
            for (int n = 0; inside && n < samples; n++)
                for (int m = 0; m < samples; m++) {
                    const double du = u + (m + 0.5) / samples - 0.5;
                    const double dv = v + (n + 0.5) / samples - 0.5;
                    add_light(rgb, small->width, small->height, linear,
                              a->at[0] + a->per_u[0] * du + a->per_v[0] * dv,
                              a->at[1] + a->per_u[1] * du + a->per_v[1] * dv, sum);
                }
            for (int c = 0; c < 3; c++)
                *light++ = (float)(share * sum[c]);
        }
}

/* The light than which this share of the values counted is darker. */
static double level_of(const size_t counted[LIGHT_STEPS], size_t count, double share) {
    const size_t wanted = (size_t)(share * (double)(count - 1));
    size_t below = 0, step = 0;
    while (step + 1 < LIGHT_STEPS && below + counted[step] <= wanted)
        below += counted[step++];
    return (double)step / (LIGHT_STEPS - 1);
}

/* The factor that brings the part of the disc that is seen to the common brightness. */
static tl_status even_gain(const tl_report_source *source, const tl_report_plate *plate,
                           const tl_report_plate_look *look, const float *light, double *gain) {
    const int side = look->side_px;
    const double sr_per_px = 2.0 * look->reach_sr / side, middle = 0.5 * (side - 1);
    double moon_x = 0.0, moon_y = 0.0, ratio = 0.0;
    const bool moon = tl_report_plate_moon(source, plate, look->up, &moon_x, &moon_y, &ratio);
    size_t *counted = calloc(LIGHT_STEPS, sizeof *counted), count = 0;
    if (!counted)
        return TL_ERR_MEMORY;
    for (int v = 0; v < side; v++)
        for (int u = 0; u < side; u++, light += 3) {
            const double x = (u - middle) * sr_per_px, y = (v - middle) * sr_per_px;
            const double from_moon_x = x - moon_x, from_moon_y = y - moon_y;
            const double dark = ratio + 0.02;
            if (x * x + y * y >= 0.97 * 0.97 ||
                (moon && from_moon_x * from_moon_x + from_moon_y * from_moon_y < dark * dark))
                continue;
            counted[light_step(fmaxf(light[0], fmaxf(light[1], light[2])))]++;
            count++;
        }
    *gain = 1.0;
    if (count > 0) {
        const double level = level_of(counted, count, EVEN_SHARE);
        *gain = fmin(fmax(EVEN_LEVEL / fmax(level, 1e-6), GAIN_LEAST), GAIN_MOST);
    }
    free(counted);
    return TL_OK;
}

/* 1 within the round field, 0 outside it; the root is only needed on its soft edge. */
static double field_at(int side, int u, int v) {
    const double middle = 0.5 * (side - 1), x = (u - middle) / (0.5 * side);
    const double y = (v - middle) / (0.5 * side), square = x * x + y * y;
    return square <= FIELD_INNER * FIELD_INNER ? 1.0
           : square >= FIELD_OUTER * FIELD_OUTER
               ? 0.0
               : (FIELD_OUTER - sqrt(square)) / (FIELD_OUTER - FIELD_INNER);
}

static tl_status finish(const float *light, int side, double gain, unsigned char *rgb) {
    unsigned char *code = malloc(LIGHT_STEPS);
    if (!code)
        return TL_ERR_MEMORY;
    for (size_t k = 0; k < LIGHT_STEPS; k++)
        code[k] = code_of((double)k / (LIGHT_STEPS - 1));
    for (int v = 0; v < side; v++)
        for (int u = 0; u < side; u++) {
            const double factor = gain * field_at(side, u, v);
            for (int c = 0; c < 3; c++)
                *rgb++ = code[light_step(factor * *light++)];
        }
    free(code);
    return TL_OK;
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
    if (status == TL_OK)
        status = finish(light, look->side_px, gain, made);
    if (status == TL_OK)
        *rgb = made;
    else
        free(made);
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
