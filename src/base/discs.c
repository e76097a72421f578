/*
 * discs.c - how much of the Sun a Moon of given size and distance covers.
 */
#include <math.h>

#include "twolimb/base.h"

double tl_magnitude(double separation_sr, double ratio) {
    const double d = fabs(separation_sr);
    if (ratio <= 0.0 || d >= 1.0 + ratio)
        return 0.0;
    if (d <= fabs(1.0 - ratio))
        return ratio;
    return 0.5 * (1.0 + ratio - d);
}

/*
 * Area common to the two circles over that of the Sun: S = (k^2 A + B - k sin C) / pi with A, B
 * the angles at the Moon's and the Sun's centre between the line of centres and a horn, C the third
 * angle of that triangle (Explanatory Supplement to the Astronomical Ephemeris, 1961, section 9,
 * obscuration; quoted from memory). The sides of the triangle are 1, k and d. Half-angle tangents
 * and Heron's product keep it exact where the discs only just touch and cosines lose half their
 * digits.
 */
double tl_obscuration(double separation_sr, double ratio) {
    const double d = fabs(separation_sr);
    if (ratio <= 0.0 || d >= 1.0 + ratio)
        return 0.0;
    if (d <= fabs(1.0 - ratio))
        return fmin(1.0, ratio * ratio);
    const double p = 1.0 + ratio + d;
    const double q = 1.0 + ratio - d; /* the Sun's covered diameter, twice the magnitude */
    const double sun = d + (1.0 - ratio);
    const double moon = d - (1.0 - ratio);
    const double a = 2.0 * atan2(sqrt(q * sun), sqrt(p * moon));
    const double b = 2.0 * atan2(sqrt(q * moon), sqrt(p * sun));
    const double k_sin_c = 0.5 * sqrt(p * q * sun * moon);
    return fmin(1.0, fmax(0.0, (ratio * ratio * a + b - k_sin_c) / TL_PI));
}
