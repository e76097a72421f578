/* Two pieces of vector algebra that several files need. */
#include "sky/sky_internal.h"

#include <math.h>

double tl_sky_dot(const double a[3], const double b[3]) {
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

void tl_sky_axes(const double at[3], double east[3], double north[3]) {
    double across = hypot(at[0], at[1]);
    east[0] = -at[1] / across;
    east[1] = at[0] / across;
    east[2] = 0.0;
    north[0] = -at[2] * east[1];
    north[1] = at[2] * east[0];
    north[2] = across;
}
