/* From the places to every field of tl_sky: plain vector geometry. */
#include "sky/sky_internal.h"

#include <math.h>

static void normalise(double v[3]) {
    double length = sqrt(tl_sky_dot(v, v));
    for (int i = 0; i < 3; i++)
        v[i] /= length;
}

static void derive_bodies(const double sun[3], const double moon[3], const tl_sky_options *options,
                          tl_sky *sky) {
    sky->sun_ra_rad = tl_angle_positive(atan2(sun[1], sun[0]));
    sky->sun_dec_rad = atan2(sun[2], hypot(sun[0], sun[1]));
    sky->moon_ra_rad = tl_angle_positive(atan2(moon[1], moon[0]));
    sky->moon_dec_rad = atan2(moon[2], hypot(moon[0], moon[1]));
    sky->sun_radius_rad = asin(sin(options->sun_radius_arcsec * TL_ARCSEC) / sky->sun_distance_au);
    sky->moon_radius_rad = asin(options->moon_k * TL_SKY_EARTH_RADIUS_KM / sky->moon_distance_km);
    sky->ratio = sky->moon_radius_rad / sky->sun_radius_rad;
}

static void derive_separation(const double sun[3], const double moon[3], tl_sky *sky) {
    double east[3], north[3];
    tl_sky_axes(sun, east, north);
    double moon_east = tl_sky_dot(moon, east), moon_north = tl_sky_dot(moon, north);
    /* The two components are the sine's: exact down to no separation at all. */
    sky->separation_rad = atan2(hypot(moon_east, moon_north), tl_sky_dot(sun, moon));
    sky->pa_rad = tl_angle_positive(atan2(moon_east, moon_north));
    sky->separation_sr = sky->separation_rad / sky->sun_radius_rad;
    sky->east_sr = sky->separation_sr * sin(sky->pa_rad);
    sky->north_sr = sky->separation_sr * cos(sky->pa_rad);
    sky->magnitude = tl_magnitude(sky->separation_sr, sky->ratio);
    sky->obscuration = tl_obscuration(sky->separation_sr, sky->ratio);
}

static void derive_horizon(const tl_site *site, double sidereal, const double sun[3],
                           const tl_sky_options *options, tl_sky *sky) {
    double s = sin(sidereal + site->lon_rad), c = cos(sidereal + site->lon_rad);
    double sin_lat = sin(site->lat_rad), cos_lat = cos(site->lat_rad);
    const double zenith[3] = {cos_lat * c, cos_lat * s, sin_lat};
    const double horizon_north[3] = {-sin_lat * c, -sin_lat * s, cos_lat};
    const double horizon_east[3] = {-s, c, 0.0};
    double to_north = tl_sky_dot(sun, horizon_north), to_east = tl_sky_dot(sun, horizon_east);
    sky->sun_altitude_rad = atan2(tl_sky_dot(sun, zenith), hypot(to_north, to_east));
    sky->sun_azimuth_rad = tl_angle_positive(atan2(to_east, to_north));
    double east[3], north[3];
    tl_sky_axes(sun, east, north);
    sky->parallactic_rad = atan2(tl_sky_dot(zenith, east), tl_sky_dot(zenith, north));

    sky->refraction_rad = tl_sky_refraction(sky->sun_altitude_rad, options);
    double radius = sky->sun_radius_rad;
    double lift_top = tl_sky_refraction(sky->sun_altitude_rad + radius, options);
    double lift_bottom = tl_sky_refraction(sky->sun_altitude_rad - radius, options);
    double vertical = 2.0 * radius + lift_top - lift_bottom;
    /* A level chord keeps its azimuths and moves to where they lie closer. */
    double horizontal = 2.0 * radius * cos(sky->sun_altitude_rad + sky->refraction_rad) /
                        cos(sky->sun_altitude_rad);
    sky->flattening = fmin(1.0, vertical / horizontal);
}

static void no_horizon(tl_sky *sky) {
    sky->sun_altitude_rad = sky->sun_azimuth_rad = 0.0;
    sky->refraction_rad = sky->parallactic_rad = 0.0;
    sky->flattening = 1.0;
}

void tl_sky_derive(const tl_site *site, double t_utc_s, double tt_s, const tl_sky_options *options,
                   const tl_sky_places *places, tl_sky *sky) {
    double sun[3], moon[3];
    for (int i = 0; i < 3; i++) {
        sun[i] = places->sun[i];
        moon[i] = places->moon[i];
    }
    normalise(sun);
    normalise(moon);
    sky->t_utc_s = t_utc_s;
    sky->deltat_s = places->deltat_s;
    sky->sun_distance_au = places->sun_au;
    sky->moon_distance_km = places->moon_km;
    derive_bodies(sun, moon, options, sky);
    derive_separation(sun, moon, sky);
    if (site != NULL)
        derive_horizon(site, places->sidereal_rad, sun, options, sky);
    else
        no_horizon(sky);
    tl_sky_sun_disc(sun, places->sun_pole, places->sun_node, tt_s, sky->sun_distance_au,
                    &sky->p_rad, &sky->b0_rad, &sky->l0_rad);
}
