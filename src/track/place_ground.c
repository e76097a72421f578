/*
 * place_ground.c - shifts and distances on a sphere.
 */
#include <math.h>

#include "track/place_internal.h"

/* Mean radius of the WGS84 ellipsoid, (2a + b) / 3. */
static const double EARTH_RADIUS_M = 6371008.8;

/* Direct and inverse problem on the sphere: Meeus, Astronomical Algorithms, 2nd ed., chapters 13
 * and 17 (a change of axes), in the form with atan2, good for any distance. */
tl_site tl_place_move(const tl_site *from, double azimuth_rad, double distance_m) {
    double angle = distance_m / EARTH_RADIUS_M, lat = from->lat_rad;
    double north = cos(angle) * cos(lat) - sin(angle) * cos(azimuth_rad) * sin(lat);
    double east = sin(angle) * sin(azimuth_rad);
    double up = cos(angle) * sin(lat) + sin(angle) * cos(azimuth_rad) * cos(lat);
    return (tl_site){.source = TL_SITE_GIVEN,
                     .lat_rad = atan2(up, hypot(north, east)),
                     .lon_rad = tl_angle_signed(from->lon_rad + atan2(east, north))};
}

double tl_place_distance(const tl_site *from, const tl_site *to, double *azimuth_rad) {
    double turn = to->lon_rad - from->lon_rad;
    double east = cos(to->lat_rad) * sin(turn);
    double north =
        cos(from->lat_rad) * sin(to->lat_rad) - sin(from->lat_rad) * cos(to->lat_rad) * cos(turn);
    double up =
        sin(from->lat_rad) * sin(to->lat_rad) + cos(from->lat_rad) * cos(to->lat_rad) * cos(turn);
    if (azimuth_rad != NULL) {
        *azimuth_rad = atan2(east, north);
    }
    return EARTH_RADIUS_M * atan2(hypot(east, north), up);
}
