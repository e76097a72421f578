/* Time scales: UTC to TT by the leap seconds, TT to UT1 by a table of Delta-T. */
#include "sky/sky_internal.h"

#include <erfa.h>
#include <math.h>

static const double tt_minus_tai_s = 32.184; /* IAU 1991 recommendation IV */

tl_status tl_sky_tt(double t_utc_s, double *tt_s) {
    if (!tl_base_in_span(t_utc_s))
        return TL_ERR_RANGE;
    int year = 0, month = 0, day = 0;
    double fraction = 0.0;
    eraJd2cal(TL_SKY_JD_1970, floor(t_utc_s / TL_DAY_S), &year, &month, &day, &fraction);
    /* UTC began in 1960; before, the clock is taken to have shown UT1. */
    if (year < 1960) {
        *tt_s = t_utc_s + tl_sky_deltat(t_utc_s);
        return TL_OK;
    }
    double tai_minus_utc_s = 0.0;
    eraDat(year, month, day, (t_utc_s / TL_DAY_S) - floor(t_utc_s / TL_DAY_S), &tai_minus_utc_s);
    *tt_s = t_utc_s + tai_minus_utc_s + tt_minus_tai_s;
    return TL_OK;
}

/* The table's argument is UTC; the minute between it and TT moves Delta-T by 1e-6 s. */
double tl_sky_deltat(double tt_s) {
    const tl_sky_deltat_row *row = tl_sky_deltat_table;
    double mjd = tt_s / TL_DAY_S + 40587.0;
    size_t last = tl_sky_deltat_count - 1;
    if (mjd <= row[0].mjd)
        return row[0].deltat_s;
    if (mjd >= row[last].mjd)
        return row[last].deltat_s;
    size_t low = 0, high = last;
    while (high - low > 1) {
        size_t middle = (low + high) / 2;
        if (row[middle].mjd <= mjd)
            low = middle;
        else
            high = middle;
    }
    double part = (mjd - row[low].mjd) / (row[high].mjd - row[low].mjd);
    return row[low].deltat_s + part * (row[high].deltat_s - row[low].deltat_s);
}
