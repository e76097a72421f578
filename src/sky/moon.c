/*
 * The Moon from ELP/MPP02, fit to DE405: J. Chapront, G. Francou, A&A 404, 735
 * (2003), and the note that goes with the files ("LUNAR SOLUTION ELP, version
 * ELP/MPP02", 2002). Coefficients in elp_table.c.
 */
#include "sky/sky_internal.h"

#include <erfa.h>
#include <math.h>

static const double century_s = 36525.0 * TL_DAY_S;
static const double j2000_s = (2451545.0 - TL_SKY_JD_1970) * TL_DAY_S;

static double polynomial(const double *coefficient, int count, double t) {
    double sum = 0.0;
    for (int i = count - 1; i >= 0; i--)
        sum = sum * t + coefficient[i];
    return sum;
}

/* The sum of a series, and its rate per century: that of the sines, next to which that of the
 * powers of T does not count. */
static double series_sum(const tl_sky_elp_series series[TL_SKY_ELP_POWERS], double t,
                         double *rate) {
    double sum[TL_SKY_ELP_POWERS] = {0.0}, sum_rate[TL_SKY_ELP_POWERS] = {0.0};
    for (int power = 0; power < TL_SKY_ELP_POWERS; power++)
        /* Backwards: small terms first keeps the rounding small. */
        for (size_t i = series[power].count; i-- > 0;) {
            const tl_sky_elp_term *term = &series[power].term[i];
            double phase = polynomial(term->phase, TL_SKY_ELP_PHASE, t);
            sum[power] += term->amplitude * sin(phase);
            sum_rate[power] += term->amplitude * term->phase[1] * cos(phase);
        }
    *rate = polynomial(sum_rate, TL_SKY_ELP_POWERS, t);
    return polynomial(sum, TL_SKY_ELP_POWERS, t);
}

/*
 * Mean ecliptic of date, counted from the departure point of the J2000 equinox,
 * to the inertial mean ecliptic and equinox of J2000: Laskar's series P, Q
 * (J. Laskar, A&A 157, 59, 1986) in the ELP note, section "rectangular
 * coordinates".
 */
static void ecliptic_of_date_to_j2000(double t, const double of_date[3], double j2000[3]) {
    static const double p_series[] = {0.0,           0.10180391e-4,  0.47020439e-6,
                                      -0.5417367e-9, -0.2507948e-11, 0.463486e-14};
    static const double q_series[] = {0.0,           -0.113469002e-3, 0.12372674e-6,
                                      0.12654170e-8, -0.1371808e-11,  -0.320334e-14};
    double p = polynomial(p_series, 6, t);
    double q = polynomial(q_series, 6, t);
    double root = 2.0 * sqrt(1.0 - p * p - q * q);
    double x = of_date[0], y = of_date[1], z = of_date[2];
    j2000[0] = (1.0 - 2.0 * p * p) * x + 2.0 * p * q * y + p * root * z;
    j2000[1] = 2.0 * p * q * x + (1.0 - 2.0 * q * q) * y - q * root * z;
    j2000[2] = -p * root * x + q * root * y + (1.0 - 2.0 * p * p - 2.0 * q * q) * z;
}

/*
 * Inertial mean ecliptic of J2000 to the axes of DE405, which are those of the
 * ICRS: obliquity, and angle from the equinox to the origin of right ascension.
 */
static void ecliptic_j2000_to_icrs(const double ecliptic[3], double icrs[3]) {
    /* Chapront, Chapront-Touze, Francou, A&A 387, 700 (2002): the values for DE405. */
    static const double obliquity = (23.0 * 3600.0 + 26.0 * 60.0 + 21.40960) * TL_ARCSEC;
    static const double origin = -0.05028 * TL_ARCSEC;
    double y = cos(obliquity) * ecliptic[1] - sin(obliquity) * ecliptic[2];
    double z = sin(obliquity) * ecliptic[1] + cos(obliquity) * ecliptic[2];
    icrs[0] = cos(origin) * ecliptic[0] - sin(origin) * y;
    icrs[1] = sin(origin) * ecliptic[0] + cos(origin) * y;
    icrs[2] = z;
}

/*
 * DE405's Moon has drifted from that of later ephemerides: minus the difference in
 * longitude of the whole, uncut series to DE431, a straight line fitted to its means over
 * 20 spans of 8 years (400 instants each, 1940-2105); arcsec, and arcsec a century.
 * What is left of the difference is below 0.005 arcsec.
 */
static const double drift[] = {0.0032, 0.0134};

void tl_sky_moon_geocentric(double tt_s, double icrs_km[3], double icrs_km_s[3]) {
    /* TT stands for TDB: 1.7 ms at most, 0.001 arcsec. */
    double t = (tt_s - j2000_s) / century_s;
    double longitude_rate = 0.0, latitude_rate = 0.0, distance_rate = 0.0;
    double longitude = series_sum(tl_sky_elp_longitude, t, &longitude_rate) * TL_ARCSEC;
    longitude += fmod(polynomial(tl_sky_elp_w1, TL_SKY_ELP_PHASE, t), 2.0 * TL_PI) +
                 polynomial(drift, 2, t) * TL_ARCSEC;
    longitude_rate = longitude_rate * TL_ARCSEC + tl_sky_elp_w1[1];
    double latitude = series_sum(tl_sky_elp_latitude, t, &latitude_rate) * TL_ARCSEC;
    latitude_rate *= TL_ARCSEC;
    double distance = series_sum(tl_sky_elp_distance, t, &distance_rate);
    double of_date[2][3];
    eraS2pv(longitude, latitude, distance, longitude_rate / century_s, latitude_rate / century_s,
            distance_rate / century_s, of_date);
    double *icrs[2] = {icrs_km, icrs_km_s};
    for (int i = 0; i < 2; i++) { /* The turning of the ecliptic, 1e-13 rad/s, does not count. */
        double j2000[3];
        ecliptic_of_date_to_j2000(t, of_date[i], j2000);
        ecliptic_j2000_to_icrs(j2000, icrs[i]);
    }
}
