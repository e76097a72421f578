/*
 * film_sun.c - the eclipse as a drawing: a plain disc in the colours of the series, its spots, and
 * the Moon.
 */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "frame/frame_internal.h" /* the sRGB curve */
#include "report/film_internal.h"

enum { FULL_LIGHT = 65535, LIGHTS = FULL_LIGHT + 1 };

/* A spot's light over that of the disc around it (common practice, no source). */
#define PENUMBRA 0.75
#define UMBRA 0.3

/* The Moon, so that it is seen to come and looks drawn: a dark grey, codes of 255. */
static const unsigned char moon_code[3] = {30, 32, 36};

static double px_per_sr(int side_px) {
    return side_px / (2.0 * TL_REPORT_FILM_REACH);
}

/* How much of a pixel lies inside an edge that is `inside` px away. */
static double cover(double inside) {
    return fmin(fmax(0.5 + inside, 0.0), 1.0);
}

static void draw_disc(const tl_report_sun_look *look, tl_report_sun *sun) {
    const double middle = 0.5 * (sun->side_px - 1), scale = px_per_sr(sun->side_px);
    unsigned char *to = sun->disc;
    for (int v = 0; v < sun->side_px; v++)
        for (int u = 0; u < sun->side_px; u++) {
            const double r = hypot(u - middle, v - middle) / scale;
            const double mu = sqrt(fmax(1.0 - r * r, 0.0)), share = cover((1.0 - r) * scale);
            for (int c = 0; c < 3; c++) {
                const double light = look->centre[c] * (1.0 - look->darkening * (1.0 - mu));
                *to++ = sun->code[(int)(FULL_LIGHT * share * light)];
            }
        }
}

static void draw_moon_layer(tl_report_sun *sun) {
    unsigned char *to = sun->moon;
    for (int v = 0; v < sun->side_px; v++)
        for (int u = 0; u < sun->side_px; u++) {
            const double field = (double)tl_report_plate_field(sun->side_px, u, v);
            for (int c = 0; c < 3; c++)
                *to++ = sun->code[(int)(field * sun->light[moon_code[c]])];
        }
}

tl_status tl_report_sun_make(const tl_report_sun_look *look, int side_px, tl_report_sun *sun) {
    const size_t bytes = 3 * (size_t)side_px * (size_t)side_px;
    tl_report_sun made = {
        .side_px = side_px, .disc = malloc(bytes), .moon = malloc(bytes), .code = malloc(LIGHTS)};
    if (!made.disc || !made.moon || !made.code) {
        tl_report_sun_free(&made);
        return TL_ERR_MEMORY;
    }
    tl_frame_linear_table(made.light);
    tl_frame_code_table(made.code);
    draw_disc(look, &made);
    draw_moon_layer(&made);
    *sun = made;
    return TL_OK;
}

void tl_report_sun_free(tl_report_sun *sun) {
    free(sun->disc);
    free(sun->moon);
    free(sun->code);
    *sun = (tl_report_sun){0};
}

/* A round thing on the drawing, px. */
typedef struct disc {
    double x, y, r;
} disc;

/* The pixels of a row that it can touch: from .. to - 1, and those that lie wholly inside. */
typedef struct span {
    int from, inner_from, inner_to, to;
} span;

static int clamped(double x, int side) {
    return x < 0.0 ? 0 : x > side ? side : (int)x;
}

static span span_of(const disc *d, int v, int side) {
    const double dy = fabs(v - d->y), outer = d->r + 1.0, inner = d->r - 1.0;
    span s = {0};
    if (dy >= outer)
        return s;
    const double wide = sqrt(outer * outer - dy * dy);
    s.from = clamped(floor(d->x - wide), side);
    s.to = clamped(ceil(d->x + wide) + 1.0, side);
    s.inner_from = s.inner_to = s.to;
    if (dy < inner) {
        const double narrow = sqrt(inner * inner - dy * dy);
        s.inner_from = clamped(ceil(d->x - narrow), side);
        s.inner_to = clamped(floor(d->x + narrow) + 1.0, side);
    }
    return s;
}

static double share_at(const disc *d, int u, int v) {
    const double x = u - d->x, y = v - d->y;
    return cover(d->r - sqrt(x * x + y * y));
}

static void mix(const tl_report_sun *sun, unsigned char *rgb, double share,
                const unsigned char with[3]) {
    for (int c = 0; c < 3; c++)
        rgb[c] = sun->code[(int)((1.0 - share) * sun->light[rgb[c]] + share * sun->light[with[c]])];
}

static void draw_moon(const tl_report_sun *sun, const disc *d, unsigned char *rgb) {
    for (int v = 0; v < sun->side_px; v++) {
        const span s = span_of(d, v, sun->side_px);
        const size_t row = 3 * (size_t)v * (size_t)sun->side_px;
        for (int u = s.from; u < s.to; u++) {
            if (u == s.inner_from && s.inner_to > u) {
                const size_t at = row + 3 * (size_t)u;
                memcpy(rgb + at, sun->moon + at, 3 * (size_t)(s.inner_to - u));
                u = s.inner_to - 1;
            } else {
                const size_t at = row + 3 * (size_t)u;
                mix(sun, rgb + at, share_at(d, u, v), sun->moon + at);
            }
        }
    }
}

/* Leaves so much of the light. */
static void darken(const tl_report_sun *sun, const disc *d, double left, unsigned char *rgb) {
    const int top = clamped(d->y - d->r - 1.0, sun->side_px);
    const int bottom = clamped(d->y + d->r + 2.0, sun->side_px);
    for (int v = top; v < bottom; v++) {
        const span s = span_of(d, v, sun->side_px);
        for (int u = s.from; u < s.to; u++) {
            unsigned char *p = rgb + 3 * ((size_t)v * (size_t)sun->side_px + (size_t)u);
            const double factor = 1.0 - (1.0 - left) * share_at(d, u, v);
            for (int c = 0; c < 3; c++)
                p[c] = sun->code[(int)(factor * sun->light[p[c]])];
        }
    }
}

static disc disc_at(const tl_report_sun *sun, double east_sr, double north_sr, double r_sr) {
    const double middle = 0.5 * (sun->side_px - 1), scale = px_per_sr(sun->side_px);
    return (disc){middle - scale * east_sr, middle - scale * north_sr, scale * r_sr};
}

static void draw_spot(const tl_report_sun *sun, const tl_spot *spot, const tl_sky *sky,
                      unsigned char *rgb) {
    tl_spot then;
    double east_sr, north_sr;
    tl_spot_at(spot, sky->t_utc_s, sky, &then);
    if (!tl_spot_project(sky, then.latitude_rad, then.carrington_rad, &east_sr, &north_sr))
        return;
    const disc whole = disc_at(sun, then.east_sr, then.north_sr, then.radius_sr);
    darken(sun, &whole, PENUMBRA, rgb);
    if (then.umbra_radius_sr > 0.0) {
        const disc umbra = disc_at(sun, then.east_sr, then.north_sr, then.umbra_radius_sr);
        darken(sun, &umbra, UMBRA / PENUMBRA, rgb);
    }
}

void tl_report_sun_draw(const tl_report_sun *sun, const tl_report_path *path,
                        const tl_report_moon *moon, unsigned char *rgb) {
    const disc over = disc_at(sun, moon->east_sr, moon->north_sr, moon->ratio);
    memcpy(rgb, sun->disc, 3 * (size_t)sun->side_px * (size_t)sun->side_px);
    for (size_t s = 0; s < path->spot_count && moon->has_sky; s++)
        draw_spot(sun, path->spot[s].spot, &moon->sky, rgb);
    draw_moon(sun, &over, rgb);
}
