/*
 * disc.c - the Sun's disc less the Moon's, as means over pixel areas.
 */
#include <math.h>

#include "simulate/simulate_internal.h"

enum {
    NEAR_EDGE_SAMPLES = 8, /* along each side of a pixel close to a limb */
    INNER_SAMPLES = 2      /* elsewhere on the disc, where only sunspots change fast */
};
#define EDGE_ZONE_PX 2.5  /* pixels this close to a limb are sampled finely */
#define NEAR_LIMB_PX 10.0 /* safely beyond it, also when a tilt halves or doubles lengths */

/* Neckel & Labs 1994, Solar Physics 153, 91, table 1: I(mu)/I(1) = sum A_i mu^i at 640.97,
 * 541.76 and 443.885 nm, which stand for a camera's red, green and blue. */
enum { DARKENING_TERMS = 6 };
static const double darkening[TL_SIMULATE_CHANNELS][DARKENING_TERMS] = {
    {0.33644, 1.30590, -1.79238, 2.45040, -1.89979, 0.59943},
    {0.26073, 1.27428, -1.30352, 1.47085, -0.96618, 0.26384},
    {0.16220, 1.24893, -0.92165, 0.89978, -0.50148, 0.11220},
};

double tl_simulate_limb_darkening(int channel, double mu) {
    double sum = 0.0;
    for (int i = DARKENING_TERMS - 1; i >= 0; i--)
        sum = sum * mu + darkening[channel][i];
    return sum;
}

/* Brightness of the corona (K + F) at r solar radii over that at the limb, from memory: Baumbach
 * 1937, Astron. Nachr. 263, 121, as in Allen's Astrophysical Quantities, 3rd ed., sec. 83: 0.0532
 * r^-2.5 + 1.425 r^-7 + 2.565 r^-17 (in 1e-6 of the disc's centre). */
static double corona(double r) {
    double at_limb = 0.0532 + 1.425 + 2.565;
    return (0.0532 * pow(r, -2.5) + 1.425 * pow(r, -7.0) + 2.565 * pow(r, -17.0)) / at_limb;
}

/* A circle of the frame seen from a point: distance in its radii, and px per radius there. */
typedef struct circle_view {
    double ux, uy;      /* offset over the radius, flattening and tilt taken out */
    double distance;    /* its length: 1 on the limb */
    double px_per_unit; /* px in the picture for a unit of `distance`, there; far from the limb,
                           where only its size matters, the radius */
} circle_view;

static circle_view view_circle(const tl_simulate_place *place, double cx, double cy, double r,
                               double x, double y) {
    const double(*m)[2] = place->round;
    tl_simulate_undistort(place, &x, &y);
    double dx = x - cx, dy = y - cy;
    double ux = (m[0][0] * dx + m[0][1] * dy) / r, uy = (m[1][0] * dx + m[1][1] * dy) / r;
    double distance = hypot(ux, uy), px_per_unit = r;
    if (distance > 0.0 && fabs(distance - 1.0) * r < NEAR_LIMB_PX) {
        double nx = ux / distance, ny = uy / distance;
        px_per_unit = r / hypot(m[0][0] * nx + m[1][0] * ny, m[0][1] * nx + m[1][1] * ny);
    }
    return (circle_view){ux, uy, distance, px_per_unit};
}

static circle_view view_sun(const tl_simulate_place *place, double x, double y) {
    return view_circle(place, place->sun_x, place->sun_y, place->sun_r, x, y);
}

static circle_view view_moon(const tl_simulate_place *place, double x, double y) {
    return view_circle(place, place->moon_x, place->moon_y, place->moon_r, x, y);
}

/* Share of a sample of `size` px that lies within the circle: the limb as a straight line
 * across the sample. Errors of single samples cancel along and across the limb. */
static double covered(const circle_view *view, double size) {
    double outside_px = (view->distance - 1.0) * view->px_per_unit;
    return fmin(fmax(0.5 - outside_px / size, 0.0), 1.0);
}

/* Where in the covered part of a sample the brightness is taken: its middle, in solar radii. */
static double covered_middle(const circle_view *sun, double share, double size) {
    if (share >= 1.0)
        return fmin(sun->distance, 1.0);
    return 1.0 - 0.5 * share * size / sun->px_per_unit;
}

/* Add one sample of `size` px and its weight to the light of the three channels. */
static void add_sample(const tl_simulate_settings *settings, const tl_simulate_place *place,
                       const tl_simulate_spots *spots, double x, double y, double size,
                       double light[TL_SIMULATE_CHANNELS]) {
    circle_view sun = view_sun(place, x, y), moon = view_moon(place, x, y);
    double on_sun = covered(&sun, size), bare = 1.0 - covered(&moon, size);
    if (bare <= 0.0)
        return;
    double spot = 1.0, mu = 1.0;
    if (on_sun > 0.0) {
        double r = covered_middle(&sun, on_sun, size), east, north;
        mu = sqrt(fmax(1.0 - r * r, 0.0));
        if (spots->count > 0 && sun.distance < 1.0) {
            tl_sky_from_frame(place->up_pa_rad, place->mirrored, sun.ux, sun.uy, &east, &north);
            spot = tl_simulate_spots_at(spots, east, north);
        }
    }
    double outer = on_sun < 1.0 && settings->corona > 0.0
                       ? (1.0 - on_sun) * settings->corona * corona(fmax(sun.distance, 1.0))
                       : 0.0;
    for (int c = 0; c < TL_SIMULATE_CHANNELS; c++) {
        double disc = settings->limb_darkening ? tl_simulate_limb_darkening(c, mu) : 1.0;
        light[c] += size * size * bare * (on_sun * disc * spot + outer);
    }
}

/* Samples along a side of this pixel; 0: no light there. */
static int samples_for(const tl_simulate_settings *settings, const tl_simulate_place *place,
                       double x, double y) {
    circle_view sun = view_sun(place, x, y), moon = view_moon(place, x, y);
    double from_sun = (sun.distance - 1.0) * sun.px_per_unit;
    double from_moon = (moon.distance - 1.0) * moon.px_per_unit;
    if (from_moon < -EDGE_ZONE_PX || (from_sun > EDGE_ZONE_PX && settings->corona <= 0.0))
        return 0;
    if (fabs(from_sun) < EDGE_ZONE_PX || from_moon < EDGE_ZONE_PX)
        return NEAR_EDGE_SAMPLES;
    return INNER_SAMPLES;
}

static void draw_pixel(const tl_simulate_settings *settings, const tl_simulate_place *place,
                       const tl_simulate_spots *spots, int x, int y,
                       double light[TL_SIMULATE_CHANNELS]) {
    int n = samples_for(settings, place, x, y);
    double size = n > 0 ? 1.0 / n : 0.0;
    for (int j = 0; j < n; j++)
        for (int i = 0; i < n; i++)
            add_sample(settings, place, spots, x - 0.5 + (i + 0.5) * size,
                       y - 0.5 + (j + 0.5) * size, size, light);
}

/* Half the side of the square that holds all the light. */
static int reach_px(const tl_simulate_settings *settings, const tl_simulate_place *place) {
    double stretch = settings->tilt.on ? fmax(settings->tilt.stretch, 1.0) : 1.0;
    double corona_reach = settings->corona > 0.0 ? 3.0 : 1.0;
    double reach = place->sun_r * stretch * corona_reach;
    double off = hypot(place->sun_x - place->middle_x, place->sun_y - place->middle_y) + reach;
    return (int)ceil(reach + fabs(place->distortion_px2) * off * off * off + EDGE_ZONE_PX);
}

tl_status tl_simulate_disc_draw(const tl_simulate_settings *settings,
                                const tl_simulate_place *place, const tl_simulate_spots *spots,
                                int margin_px, tl_simulate_plane plane[TL_SIMULATE_CHANNELS]) {
    int reach = reach_px(settings, place) + margin_px;
    int x0 = (int)floor(place->sun_x) - reach, y0 = (int)floor(place->sun_y) - reach;
    int side = 2 * reach + 2;
    tl_simulate_plane drawn[TL_SIMULATE_CHANNELS] = {0};
    tl_status status = TL_OK;
    for (int c = 0; c < TL_SIMULATE_CHANNELS && status == TL_OK; c++)
        status = tl_simulate_plane_make(x0, y0, side, side, &drawn[c]);
    if (status != TL_OK) {
        for (int c = 0; c < TL_SIMULATE_CHANNELS; c++)
            tl_simulate_plane_free(&drawn[c]);
        return status;
    }
    for (int j = 0; j < side; j++) {
        for (int i = 0; i < side; i++) {
            double light[TL_SIMULATE_CHANNELS] = {0.0};
            draw_pixel(settings, place, spots, x0 + i, y0 + j, light);
            for (int c = 0; c < TL_SIMULATE_CHANNELS; c++)
                drawn[c].v[(size_t)j * (size_t)side + (size_t)i] = (float)light[c];
        }
    }
    for (int c = 0; c < TL_SIMULATE_CHANNELS; c++)
        plane[c] = drawn[c];
    return TL_OK;
}
