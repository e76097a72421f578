/* Which new moons can bring an eclipse, and when they are. */
#include "sky/sky_internal.h"

#include <math.h>

/* J. Meeus, Astronomical Algorithms, 2nd ed., formulas 49.1 to 49.6. */
static const double first_new_moon_jde = 2451550.09766;
static const double month_day = 29.530588861;

long tl_sky_lunation(double t_utc_s) {
    double jde = TL_SKY_JD_1970 + t_utc_s / TL_DAY_S; /* Delta-T does not count here */
    return lround((jde - first_new_moon_jde) / month_day);
}

static double latitude_argument(double k) {
    return (160.7108 + 390.67050284 * k) * TL_DEG;
}

/* The same chapter's sum, cut at 0.005 day: with M and M' the mean anomalies of Sun and Moon. */
double tl_sky_new_moon(long lunation) {
    double k = (double)lunation;
    double sun = (2.5534 + 29.10535670 * k) * TL_DEG;
    double moon = (201.5643 + 385.81693528 * k) * TL_DEG;
    double day = first_new_moon_jde + month_day * k - TL_SKY_JD_1970;
    day += -0.40720 * sin(moon) + 0.17241 * sin(sun) + 0.01608 * sin(2.0 * moon) +
           0.01039 * sin(2.0 * latitude_argument(k)) + 0.00739 * sin(moon - sun) -
           0.00514 * sin(moon + sun);
    return day * TL_DAY_S;
}

/* Meeus, chapter 54: beyond |sin F| = 0.36 no place on Earth sees an eclipse. */
bool tl_sky_near_node(long lunation) {
    return fabs(sin(latitude_argument((double)lunation))) <= 0.36;
}
