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

/* What a share of the Sun changes by within a sigma of the separation: the fall on the side away
 * from the centre, where all of them fall, or the mean of both sides where that is more. A slope
 * alone would be nothing for a Moon right in front of the Sun, however badly known its place. */
static double fall(double (*share)(double, double), double d, double sigma, double ratio) {
    const double there = share(d, ratio), farther = share(d + sigma, ratio);
    return fmax(there - farther, 0.5 * (share(fmax(d - sigma, 0.0), ratio) - farther));
}

/* The same of the ratio, with which all of them grow. */
static double growth(double (*share)(double, double), double d, double ratio, double sigma) {
    return 0.5 * (share(d, ratio + sigma) - share(d, fmax(ratio - sigma, 0.0)));
}

static double share_sigma(double (*share)(double, double), double separation_sr, double sigma_sr,
                          double ratio, double ratio_sigma) {
    const double d = fabs(separation_sr);
    return hypot(fall(share, d, sigma_sr, ratio), growth(share, d, ratio, ratio_sigma));
}

double tl_magnitude_sigma(double separation_sr, double sigma_sr, double ratio, double ratio_sigma) {
    return share_sigma(tl_magnitude, separation_sr, sigma_sr, ratio, ratio_sigma);
}

double tl_obscuration_sigma(double separation_sr, double sigma_sr, double ratio,
                            double ratio_sigma) {
    return share_sigma(tl_obscuration, separation_sr, sigma_sr, ratio, ratio_sigma);
}
