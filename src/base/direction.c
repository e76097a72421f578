/*
 * direction.c - sky to frame and back, and angles brought into one turn.
 *
 * With s, c = r sin, cos of (PA - up_pa), that is s = east cos(up) - north sin(up) and
 * c = north cos(up) + east sin(up): x = -s (mirrored +s), y = -c. See base.h.
 */
#include <math.h>

#include "twolimb/base.h"

void tl_frame_from_sky(double up_pa_rad, bool mirrored, double east, double north, double *x,
                       double *y) {
    const double sin_up = sin(up_pa_rad), cos_up = cos(up_pa_rad);
    const double s = east * cos_up - north * sin_up;
    *x = mirrored ? s : -s;
    *y = -(north * cos_up + east * sin_up);
}

void tl_sky_from_frame(double up_pa_rad, bool mirrored, double x, double y, double *east,
                       double *north) {
    const double sin_up = sin(up_pa_rad), cos_up = cos(up_pa_rad);
    const double s = mirrored ? x : -x;
    const double c = -y;
    *east = s * cos_up + c * sin_up;
    *north = c * cos_up - s * sin_up;
}

double tl_angle_positive(double rad) {
    const double rest = fmod(rad, 2.0 * TL_PI);
    const double turned = rest < 0.0 ? rest + 2.0 * TL_PI : rest;
    return turned < 2.0 * TL_PI ? turned : 0.0; /* a hair below 0 rounds up to a full turn */
}

double tl_angle_signed(double rad) {
    const double rest = remainder(rad, 2.0 * TL_PI);
    return rest > -TL_PI ? rest : TL_PI;
}
