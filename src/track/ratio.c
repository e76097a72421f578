/*
 * ratio.c - the Moon's radius over the Sun's, as the frames show it.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

/* Beyond this many times the scatter a ratio is left out of the mean. */
static const double SCATTER_MAX = TL_TRACK_OUTLIER_SIGMAS;

static bool frame_counts(const tl_track_series *series, size_t i, const bool *dropped) {
    const tl_track_frame_in *f = &series->frame[i];
    return f->measured && f->ratio_raw > 0.0 && !dropped[i];
}

/* Frames whose ratio is far from the middle one, in units of its sigma and of the scatter. */
static void drop_far(const tl_track_series *series, bool *dropped, double *off, double *scratch) {
    size_t n = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        if (frame_counts(series, i, dropped)) {
            scratch[n++] = series->frame[i].ratio_raw;
        }
    }
    if (n < 3) {
        return;
    }
    double middle = tl_track_median(scratch, n);
    n = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        if (frame_counts(series, i, dropped)) {
            const tl_track_frame_in *f = &series->frame[i];
            off[n++] = (f->ratio_raw - middle) / f->ratio_raw_sigma;
        }
    }
    double level = tl_track_noise_level(off, n, scratch);
    n = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        if (frame_counts(series, i, dropped)) {
            dropped[i] = fabs(off[n++]) > SCATTER_MAX * level;
        }
    }
}

tl_status tl_track_ratio_mean(const tl_track_series *series, double *ratio, double *ratio_sigma) {
    bool *dropped = calloc(series->frame_count + 1, sizeof *dropped);
    double *off = calloc(series->frame_count + 1, sizeof *off);
    double *scratch = calloc(series->frame_count + 1, sizeof *scratch);
    if (dropped == NULL || off == NULL || scratch == NULL) {
        free(dropped);
        free(off);
        free(scratch);
        return TL_ERR_MEMORY;
    }
    for (size_t i = 0; i < series->obs_count; i++) {
        dropped[series->obs[i].index] = series->obs[i].dropped;
    }
    drop_far(series, dropped, off, scratch);
    free(off);
    free(scratch);
    double weights = 0.0, mean = 0.0, chi2 = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        if (frame_counts(series, i, dropped)) {
            /* Mean and sum of squares in one pass (West 1979). */
            double weight = 1.0 / (f->ratio_raw_sigma * f->ratio_raw_sigma);
            double more = f->ratio_raw - mean;
            chi2 += weight * weights / (weights + weight) * more * more;
            weights += weight;
            mean += more * weight / weights;
            n++;
        }
    }
    free(dropped);
    *ratio = mean;
    *ratio_sigma = n > 0 ? sqrt((n > 1 ? fmax(1.0, chi2 / (double)(n - 1)) : 1.0) / weights) : 0.0;
    return TL_OK;
}
