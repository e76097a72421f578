/*
 * How well TT - UT1 is known, and what that leaves open of the time of a contact:
 * with Earth turned a little further the observer meets the shadow elsewhere.
 */
#include "sky/sky_internal.h"

#include <math.h>

/* Modified Julian dates at which the table of Delta-T changes its kind. */
static const double atomic_mjd = 35289.0;   /* July 1955: the first caesium clock */
static const double monthly_mjd = 41714.0;  /* February 1973 */
static const double recalled_mjd = 60065.0; /* May 2023: after it, yearly values from memory */

/* L. V. Morrison, F. R. Stephenson, J. Hist. Astron. 35, 327 (2004), table 1, for 1950; from
 * memory. */
static const double before_atomic_s = 0.1;
/* Straight lines between half-yearly values: rms error of every sixth of the monthly rows 1973-2023
 * against the others. */
static const double half_yearly_s = 0.021;
/* The same between months: the monthly and fortnightly tides in UT1. */
static const double monthly_s = 0.002;
/* What deltat_table.c says of those values (0.03 s), and straight lines between years (0.023 s, as
 * above). */
static const double recalled_s = 0.04;

/*
 * Extrapolation over so many years with the length of day as a random walk: P. J.
 * Huber, J. Geodesy 80, 283 (2006), in the form and with the constants that F.
 * Espenak and J. Meeus give with their canon of eclipses (NASA/TP-2006-214141);
 * from memory. 1.6 s in 10 years, 34 s in 75.
 */
static double extrapolation_s(double years) {
    static const double q_ms2_per_year = 0.058, calibration_years = 2500.0;
    double lod_ms = sqrt(years * q_ms2_per_year / 3.0 * (1.0 + years / calibration_years));
    return 365.25 * years * lod_ms / 1000.0;
}

double tl_sky_deltat_sigma(double tt_s) {
    double mjd = tt_s / TL_DAY_S + 40587.0;
    double last_mjd = tl_sky_deltat_table[tl_sky_deltat_count - 1].mjd;
    if (mjd < atomic_mjd)
        return before_atomic_s;
    if (mjd < monthly_mjd)
        return half_yearly_s;
    if (mjd < recalled_mjd)
        return monthly_s;
    double years = fmax(mjd - last_mjd, 0.0) / 365.25;
    return hypot(recalled_s, extrapolation_s(years));
}

/* The value whose root is meant: the one given, or for a minimum its slope. */
static double root_value(const tl_sky_table *table, double (*value)(const tl_sky *), bool minimum,
                         double t_utc_s, double more_deltat_s) {
    const double half_step_s = minimum ? 30.0 : 0.0;
    tl_sky before = {0}, after = {0};
    tl_sky_table_turned(table, t_utc_s + half_step_s, more_deltat_s, &after);
    if (!minimum)
        return value(&after);
    tl_sky_table_turned(table, t_utc_s - half_step_s, more_deltat_s, &before);
    return value(&after) - value(&before);
}

double tl_sky_contact_sigma(const tl_sky_table *table, double (*value)(const tl_sky *),
                            bool minimum, double t_utc_s, double deltat_sigma_s) {
    const double time_step_s = 10.0, deltat_step_s = 1.0;
    double by_time = (root_value(table, value, minimum, t_utc_s + time_step_s, 0.0) -
                      root_value(table, value, minimum, t_utc_s - time_step_s, 0.0)) /
                     (2.0 * time_step_s);
    double by_deltat = (root_value(table, value, minimum, t_utc_s, deltat_step_s) -
                        root_value(table, value, minimum, t_utc_s, -deltat_step_s)) /
                       (2.0 * deltat_step_s);
    double slip = -by_deltat / by_time;
    return deltat_sigma_s * fmax(fabs(slip), fabs(1.0 - slip));
}
