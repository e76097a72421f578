/*
 * robust.c - median, noise level, outliers.
 */
#include <math.h>

#include <gsl/gsl_sort_double.h>
#include <gsl/gsl_statistics_double.h>

#include "track/track_internal.h"

/* More than this share of bad frames is no longer a series with outliers: the rest would look
 * better than it is. */
static const double DROP_SHARE_MAX = 0.25;
/* Standard deviation of a Gaussian over the median of its absolute values: 1 / 0.6745. */
static const double MEDIAN_TO_SIGMA = 1.4826;

/* The errors given count as much as so many residuals: a handful of frames cannot tell a larger
 * noise from chance (a conjugate prior for the variance; the number is our choice). */
static const double TRUST_FRAMES = 4.0;

double tl_track_median(double *value, size_t count) {
    gsl_sort(value, 1, count);
    return gsl_stats_median_from_sorted_data(value, 1, count);
}

double tl_track_noise_level(const double *residual, size_t count, double *scratch) {
    if (count == 0) {
        return 1.0;
    }
    for (size_t i = 0; i < count; i++) {
        scratch[i] = fabs(residual[i]);
    }
    return fmax(1.0, MEDIAN_TO_SIGMA * tl_track_median(scratch, count));
}

double tl_track_noise_scale(double chi2, double freedom) {
    return sqrt(fmax(1.0, (chi2 + TRUST_FRAMES) / (fmax(0.0, freedom) + TRUST_FRAMES)));
}

/* How many of the residuals are larger than that of `i`; of equal ones the earlier leads. */
static size_t rank_of(const double *residual, size_t count, size_t i) {
    size_t larger = 0;
    for (size_t j = 0; j < count; j++) {
        double difference = fabs(residual[j]) - fabs(residual[i]);
        larger += difference > 0.0 || (!(difference < 0.0) && j < i) ? 1 : 0;
    }
    return larger;
}

bool tl_track_mark_outliers(tl_track_obs *obs, const double *residual, size_t count, double level,
                            size_t keep_at_least) {
    size_t by_share = (size_t)floor(DROP_SHARE_MAX * (double)count);
    size_t by_count = count > keep_at_least ? count - keep_at_least : 0;
    size_t most = by_share < by_count ? by_share : by_count;
    bool changed = false;
    for (size_t i = 0; i < count; i++) {
        bool dropped = fabs(residual[i]) > TL_TRACK_OUTLIER_SIGMAS * level &&
                       rank_of(residual, count, i) < most;
        changed = changed || dropped != obs[i].dropped;
        obs[i].dropped = dropped;
    }
    return changed;
}
