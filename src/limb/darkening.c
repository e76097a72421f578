/*
 * The Sun's disc as it would look without blur. Coefficients: H. Neckel & D. Labs, Solar Physics
 * 153 (1994) 91, I(mu)/I(1) = sum A_i mu^i, at wavelengths that stand for a camera's three colours.
 * What a film filter passes of each colour, and what a camera's tone curve makes of it, is not
 * known; both act much like a power of the profile (red^1.55 is blue within 4 % of its logarithm).
 */
#include <math.h>

#include "limb/limb_internal.h"

static const double COEFFICIENT[3][6] = {
    {.33644, 1.30590, -1.79238, 2.45040, -1.89979, .59943}, /* red: 640.97 nm */
    {.26073, 1.27428, -1.30352, 1.47085, -.96618, .26384},  /* green: 541.76 nm */
    {.16220, 1.24893, -.92165, .89978, -.50148, .11220},    /* blue: 443.885 nm */
};

double tl_limb_darkening(const tl_darkening *darkening, double rho, double *slope) {
    static const double MU_MIN = 1e-3; /* the slope has a pole at the limb */
    double mu = fmax(MU_MIN, sqrt(fmax(0, 1 - rho * rho)));
    double value = 0, derivative = 0;
    for (int c = 0; c < 3; c++) {
        double v = 0, d = 0;
        for (int i = 5; i >= 0; i--) {
            d = d * mu + v;
            v = v * mu + COEFFICIENT[c][i];
        }
        value += darkening->light[c] * v;
        derivative += darkening->light[c] * d;
    }
    double powered = pow(value, darkening->power);
    *slope = -darkening->power * powered / value * derivative * rho / mu;
    return powered;
}
