/*
 * spots.c - sunspots: where they stand on the disc at a frame's time, how dark they are.
 */
#include <math.h>
#include <string.h>

#include <gsl/gsl_randist.h>

#include "simulate/simulate_internal.h"

/* Sidereal rotation by latitude in microrad/s: Howard, Harvey & Forgach 1990, Solar Physics 130,
 * 295: A + B sin^2 + C sin^4. */
#define ROTATION_A 2.894
#define ROTATION_B (-0.428)
#define ROTATION_C (-0.370)
/* Rotation that Carrington longitudes follow: 14.1844 deg a day, sidereal (Almanac). */
#define CARRINGTON_DEG_PER_DAY 14.1844

/* Brightness in the visible relative to the photosphere; common practice: umbra .2-.4,
 * penumbra .75-.85. */
#define UMBRA 0.30
#define PENUMBRA 0.80

#define EDGE_SHARE 0.12 /* width of a border over its radius: invented, soft as seeing has it */
#define WAVE_SHARE 0.10 /* how ragged the borders are: invented */
#define REACH_SHARE 1.6 /* no spot is wider than this many of its radii */
#define FIRST_WAVE 2

static double drift_rad_per_s(double latitude_rad) {
    double s2 = sin(latitude_rad) * sin(latitude_rad);
    double sidereal = (ROTATION_A + ROTATION_B * s2 + ROTATION_C * s2 * s2) * 1e-6;
    return sidereal - CARRINGTON_DEG_PER_DAY * TL_DEG / TL_DAY_S;
}

/* Unit vector (east, north, towards the observer) of a place on the Sun: the solar axis stands
 * at PA P, tipped by B0; longitudes grow to the west (Meeus, Astronomical Algorithms, ch. 29). */
static void surface_vector(const tl_sky *sky, double latitude, double longitude, double v[3]) {
    double west = cos(latitude) * sin(longitude);
    double north =
        sin(latitude) * cos(sky->b0_rad) - cos(latitude) * cos(longitude) * sin(sky->b0_rad);
    double near =
        sin(latitude) * sin(sky->b0_rad) + cos(latitude) * cos(longitude) * cos(sky->b0_rad);
    double s = sin(sky->p_rad), c = cos(sky->p_rad);
    v[0] = north * s - west * c;
    v[1] = north * c + west * s;
    v[2] = near;
}

bool tl_simulate_spot_seen(double sun_radius_rad, const double v[3], double *east_sr,
                           double *north_sr) {
    /* The observer stands 1 / sin S solar radii away; S the Sun's apparent radius. */
    double sine = sin(sun_radius_rad);
    if (v[2] <= sine)
        return false;
    double across = hypot(v[0], v[1]);
    double scale = 1.0;
    if (across > 0.0)
        scale = atan(across * sine / (1.0 - v[2] * sine)) / (sun_radius_rad * across);
    *east_sr = v[0] * scale;
    *north_sr = v[1] * scale;
    return true;
}

bool tl_simulate_spot_project(const tl_sky *sky, double latitude_rad, double longitude_rad,
                              double *east_sr, double *north_sr) {
    double v[3];
    surface_vector(sky, latitude_rad, longitude_rad, v);
    return tl_simulate_spot_seen(sky->sun_radius_rad, v, east_sr, north_sr);
}

static void cross(const double a[3], const double b[3], double out[3]) {
    out[0] = a[1] * b[2] - a[2] * b[1];
    out[1] = a[2] * b[0] - a[0] * b[2];
    out[2] = a[0] * b[1] - a[1] * b[0];
}

static double dot(const double a[3], const double b[3]) {
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/* Tangent directions at the spot, to solar north and along the parallel. */
static void spot_axes(const tl_sky *sky, tl_simulate_spot_place *place) {
    double pole[3];
    surface_vector(sky, TL_PI / 2.0, 0.0, pole);
    cross(pole, place->centre, place->along_east);
    double length = sqrt(dot(place->along_east, place->along_east));
    for (int i = 0; i < 3; i++)
        place->along_east[i] /= length;
    cross(place->centre, place->along_east, place->along_north);
}

static void spot_waves(gsl_rng *random, tl_simulate_spot_place *place) {
    for (int i = 0; i < TL_SIMULATE_SPOT_WAVES; i++) {
        double sigma = WAVE_SHARE / sqrt(1.0 + i);
        place->wave_cos[i] = gsl_ran_gaussian_ziggurat(random, sigma);
        place->wave_sin[i] = gsl_ran_gaussian_ziggurat(random, sigma);
    }
}

tl_status tl_simulate_spots_place(const tl_simulate_scene *scene, const tl_sky *at_max,
                                  const tl_sky *now, tl_simulate_spots *spots) {
    tl_simulate_spots placed = {.count = scene->spot_count, .sun_radius_rad = now->sun_radius_rad};
    gsl_rng *random = tl_simulate_random(scene->seed, 0, TL_STREAM_SPOTS);
    if (random == NULL)
        return TL_ERR_MEMORY;
    for (int i = 0; i < scene->spot_count; i++) {
        const tl_simulate_spot *spot = &scene->spot[i];
        tl_simulate_spot_place *place = &placed.spot[i];
        double latitude = spot->latitude_deg * TL_DEG;
        double longitude = spot->longitude_deg * TL_DEG +
                           tl_angle_signed(at_max->l0_rad - now->l0_rad) +
                           drift_rad_per_s(latitude) * (now->t_utc_s - at_max->t_utc_s);
        surface_vector(now, latitude, longitude, place->centre);
        spot_axes(now, place);
        place->radius_rad = spot->radius_deg * TL_DEG;
        place->umbra = spot->umbra;
        spot_waves(random, place);
    }
    gsl_rng_free(random);
    *spots = placed;
    return TL_OK;
}

/* 1 well inside a border at radius 1, 0 well outside. */
static double inside(double radius) {
    double t = (1.0 - radius) / EDGE_SHARE + 0.5;
    if (t <= 0.0 || t >= 1.0)
        return t <= 0.0 ? 0.0 : 1.0;
    return t * t * (3.0 - 2.0 * t);
}

double tl_simulate_spot_border(const tl_simulate_spot_place *spot, double around_rad) {
    double ragged = 1.0;
    for (int i = 0; i < TL_SIMULATE_SPOT_WAVES; i++)
        ragged += spot->wave_cos[i] * cos((i + FIRST_WAVE) * around_rad) +
                  spot->wave_sin[i] * sin((i + FIRST_WAVE) * around_rad);
    return fmax(ragged, 0.5);
}

static double spot_brightness(const tl_simulate_spot_place *spot, const double v[3]) {
    double x = dot(spot->along_east, v), y = dot(spot->along_north, v);
    double distance = atan2(hypot(x, y), dot(spot->centre, v)) / spot->radius_rad;
    distance /= tl_simulate_spot_border(spot, atan2(y, x));
    double brightness = 1.0 - (1.0 - PENUMBRA) * inside(distance);
    if (spot->umbra > 0.0)
        brightness -= (PENUMBRA - UMBRA) * inside(distance / spot->umbra);
    return brightness;
}

double tl_simulate_spots_at(const tl_simulate_spots *spots, double east_sr, double north_sr) {
    double r = hypot(east_sr, north_sr), v[3] = {0.0, 0.0, 1.0};
    if (r > 0.0) {
        /* Angle at the Sun's centre: asin(sin s / sin S) - s (Meeus, ch. 29, rearranged). */
        double s = r * spots->sun_radius_rad;
        double rho = asin(fmin(sin(s) / sin(spots->sun_radius_rad), 1.0)) - s;
        v[0] = sin(rho) * east_sr / r;
        v[1] = sin(rho) * north_sr / r;
        v[2] = cos(rho);
    }
    double brightness = 1.0;
    for (int i = 0; i < spots->count; i++) {
        const tl_simulate_spot_place *spot = &spots->spot[i];
        if (dot(spot->centre, v) > cos(REACH_SHARE * spot->radius_rad))
            brightness *= spot_brightness(spot, v);
    }
    return brightness;
}
