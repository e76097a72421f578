/*
 * What limb darkening does to edges. Coefficients: H. Neckel & D. Labs, Solar Physics 153 (1994)
 * 91, I(mu)/I(1) = sum A_i mu^i, at wavelengths that stand for a camera's three colours. What a
 * film filter passes of each colour is not known, so all this is good to some 15 %.
 */
#include <math.h>

#include "limb/limb_internal.h"

static const double COEFFICIENT[3][6] = {
    {.33644, 1.30590, -1.79238, 2.45040, -1.89979, .59943}, /* red: 640.97 nm */
    {.26073, 1.27428, -1.30352, 1.47085, -.96618, .26384},  /* green: 541.76 nm */
    {.16220, 1.24893, -.92165, .89978, -.50148, .11220},    /* blue: 443.885 nm */
};

double tl_limb_darkening_slope(const double light[3], double rho) {
    static const double MU_MIN = 0.08; /* closer to the limb no edge is measured */
    double mu = fmax(MU_MIN, sqrt(fmax(0, 1 - rho * rho)));
    double value = 0, derivative = 0;
    for (int c = 0; c < 3; c++) {
        for (int i = 5; i >= 0; i--)
            value += light[c] * COEFFICIENT[c][i] * pow(mu, i);
        for (int i = 5; i >= 1; i--)
            derivative += light[c] * i * COEFFICIENT[c][i] * pow(mu, i - 1);
    }
    return value > 0 ? -derivative / value * rho / mu : 0;
}

/*
 * Computed by numerical integration of the profile above, blurred by Gaussians of FWHM 1 to 48
 * arcsec on a disc of radius 960 arcsec: at 542 nm .0273, .0736, .194, .4975, 1.234, 2.062, 2.943,
 * 4.800 arcsec for FWHM 1, 2, 4, 8, 16, 24, 32, 48; at 641 nm .785 times, at 444 nm 1.48 times as
 * much. The parabola below in the logarithms follows them within 1 %, the factors within 5 %.
 */
double tl_limb_darkening_shift(const double light[3], double radius_px, double edge_sigma_px) {
    static const double FACTOR[3] = {0.785, 1, 1.48};
    if (edge_sigma_px <= 0)
        return 0;
    double px_arcsec = radius_px / 960;
    double l = log(TL_LIMB_FWHM * edge_sigma_px / px_arcsec);
    double shift_arcsec = exp(-3.6009 + 1.4668 * l - 0.0339 * l * l);
    return (FACTOR[0] * light[0] + FACTOR[1] * light[1] + FACTOR[2] * light[2]) * shift_arcsec *
           px_arcsec;
}
