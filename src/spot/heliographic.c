/*
 * heliographic.c - places on the Sun's sphere and on its disc.
 *
 * The Sun's radius is 1, the observer at the distance 1 / sin S from its centre, S being the
 * angular radius of the disc. A place rho from the point below the observer is seen s from the
 * disc's centre; sin(rho + s) = sin s / sin S (law of sines), rho + s being the angle between the
 * vertical and the line of sight. J. Meeus, Astronomical Algorithms, 2nd ed., chapter 29.
 */
#include <math.h>

#include "spot/place_internal.h"

/* R. F. Howard, J. W. Harvey & S. Forgach 1990, Solar Physics 130, 295, small magnetic features:
 * sidereal rotation A + B sin^2 + C sin^4 of the latitude, rad/s. */
static const double rotation_a = 2.894e-6, rotation_b = -0.428e-6, rotation_c = -0.370e-6;
/* Carrington's grid: Archinal et al. 2011, table 1, as L0 of tl_sky. */
static const double carrington_rad_s = 14.1844 * TL_DEG / TL_DAY_S;

/* Motions of a spot's own, beyond the law of rotation: common practice, no source. */
static const double own_latitude_rad_s = 0.15 * TL_DEG / TL_DAY_S;
static const double own_longitude_rad_s = 0.5 * TL_DEG / TL_DAY_S;

/* Nearer to the limb than this (6 degrees) a spot's outline is that of its depth and its faculae:
 * its area is no longer scaled by the foreshortening. Common practice, no source. */
static const double foreshortening_least = 0.1;

bool tl_spot_point(const tl_sky *sky, double latitude_rad, double carrington_rad, double *east_sr,
                   double *north_sr) {
    const double l = carrington_rad - sky->l0_rad, sin_s = sin(sky->sun_radius_rad);
    const double sin_b = sin(latitude_rad), cos_b = cos(latitude_rad);
    const double sin_b0 = sin(sky->b0_rad), cos_b0 = cos(sky->b0_rad);
    const double west = cos_b * sin(l);
    const double north = sin_b * cos_b0 - cos_b * cos(l) * sin_b0;
    const double near = sin_b * sin_b0 + cos_b * cos(l) * cos_b0;
    const double s = atan2(hypot(west, north) * sin_s, 1.0 - near * sin_s);
    const double pa = sky->p_rad + atan2(-west, north);
    *east_sr = s / sky->sun_radius_rad * sin(pa);
    *north_sr = s / sky->sun_radius_rad * cos(pa);
    return near > sin_s;
}

bool tl_spot_project(const tl_sky *sky, double latitude_rad, double carrington_rad, double *east_sr,
                     double *north_sr) {
    double east, north;
    if (!tl_spot_point(sky, latitude_rad, carrington_rad, &east, &north))
        return false;
    *east_sr = east;
    *north_sr = north;
    return true;
}

/* Sine of the angle between vertical and line of sight; above 1 beyond the limb. */
static double slant(const tl_sky *sky, double radius_sr) {
    return sin(radius_sr * sky->sun_radius_rad) / sin(sky->sun_radius_rad);
}

bool tl_spot_unproject(const tl_sky *sky, double east_sr, double north_sr, double *latitude_rad,
                       double *carrington_rad) {
    const double radius_sr = hypot(east_sr, north_sr);
    if (!(radius_sr <= 1.0))
        return false;
    const double rho = asin(fmin(slant(sky, radius_sr), 1.0)) - radius_sr * sky->sun_radius_rad;
    const double turn = sky->p_rad - atan2(east_sr, north_sr);
    const double sin_b0 = sin(sky->b0_rad), cos_b0 = cos(sky->b0_rad);
    const double west = sin(rho) * sin(turn), north = sin(rho) * cos(turn);
    /* atan2 keeps its digits at the poles, where Meeus's arcsine does not. */
    const double meridian = cos(rho) * cos_b0 - north * sin_b0;
    *latitude_rad = atan2(cos(rho) * sin_b0 + north * cos_b0, hypot(west, meridian));
    *carrington_rad = tl_angle_positive(sky->l0_rad + atan2(west, meridian));
    return true;
}

double tl_spot_foreshortening(const tl_sky *sky, double radius_sr) {
    const double sine = slant(sky, radius_sr);
    return radius_sr < 1.0 ? sqrt(fmax(1.0 - sine * sine, 0.0)) : 0.0;
}

double tl_spot_drift_rad(double latitude_rad, double dt_s) {
    const double sin2 = sin(latitude_rad) * sin(latitude_rad);
    return (rotation_a + (rotation_b + rotation_c * sin2) * sin2 - carrington_rad_s) * dt_s;
}

double tl_spot_hemisphere_ppm(double apparent_radius_sr, double foreshortening) {
    /* pi r^2 over the foreshortening and the hemisphere's 2 pi */
    return foreshortening > 0.0
               ? 1e6 * apparent_radius_sr * apparent_radius_sr / (2.0 * foreshortening)
               : 0.0;
}

/*
 * Errors on the disc from those in latitude and longitude: how far the point goes for one sigma
 * either way, rms. Not derivatives, which vanish on the limb across it.
 */
static void disc_errors(const tl_sky *sky, tl_spot *spot) {
    const double step[4][2] = {{spot->latitude_sigma_rad, 0.0},
                               {-spot->latitude_sigma_rad, 0.0},
                               {0.0, spot->longitude_sigma_rad},
                               {0.0, -spot->longitude_sigma_rad}};
    double east2 = 0.0, north2 = 0.0;
    for (int i = 0; i < 4; i++) {
        double east, north;
        tl_spot_point(sky, spot->latitude_rad + step[i][0], spot->carrington_rad + step[i][1],
                      &east, &north);
        east2 += (east - spot->east_sr) * (east - spot->east_sr) / 2.0;
        north2 += (north - spot->north_sr) * (north - spot->north_sr) / 2.0;
    }
    spot->east_sigma_sr = sqrt(east2);
    spot->north_sigma_sr = sqrt(north2);
}

void tl_spot_at(const tl_spot *spot, double t_utc_s, const tl_sky *sky, tl_spot *then) {
    const double dt_s = t_utc_s - spot->epoch_utc_s;
    tl_spot moved = *spot;
    moved.epoch_utc_s = t_utc_s;
    moved.carrington_rad =
        tl_angle_positive(spot->carrington_rad + tl_spot_drift_rad(spot->latitude_rad, dt_s));
    moved.longitude_rad = tl_angle_signed(moved.carrington_rad - sky->l0_rad);
    moved.latitude_sigma_rad = hypot(spot->latitude_sigma_rad, own_latitude_rad_s * dt_s);
    moved.longitude_sigma_rad = hypot(spot->longitude_sigma_rad, own_longitude_rad_s * dt_s);
    tl_spot_point(sky, moved.latitude_rad, moved.carrington_rad, &moved.east_sr, &moved.north_sr);
    disc_errors(sky, &moved);
    /* The same spot, seen at another slant. */
    const double before = tl_spot_foreshortening(sky, hypot(spot->east_sr, spot->north_sr));
    const double after = tl_spot_foreshortening(sky, hypot(moved.east_sr, moved.north_sr));
    const double scale =
        sqrt(fmax(after, foreshortening_least) / fmax(before, foreshortening_least));
    moved.radius_sr *= scale;
    moved.radius_sigma_sr *= scale;
    moved.umbra_radius_sr *= scale;
    *then = moved;
}
