/*
 * late_law.c - the laws of lateness: density of a frame's residual, and what the stamp is behind
 * by.
 *
 * A residual q (toward "late") is rate * lateness plus a Gaussian error of circles and reading.
 *   exponential  q has an exponentially modified Gaussian law (Grushka 1972, Analytical Chemistry
 *                44:1733); given q the lateness is Gaussian, cut off at zero
 *   uniform      from zero to twice the mean; given q a Gaussian, cut off at both ends
 */
#include <math.h>

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_sf_erf.h>

#include "track/stamps_internal.h"

/* With a lateness below this share of the Gaussian error the law is that Gaussian, moved. */
static const double GAUSSIAN_BELOW = 0.05;
/* Below this a Gaussian between two bounds sits at the nearer one. */
static const double NOTHING_BETWEEN = 1e-12;

static double exponential_density(double q, double sigma, double z) {
    double over = sigma / z, x = (over - q / sigma) / M_SQRT2;
    return exp(0.5 * over * over - q / z + gsl_sf_log_erfc(x) - M_LN2) / z;
}

static double uniform_density(double q, double sigma, double z) {
    double width = 2.0 * z;
    return (gsl_cdf_ugaussian_P(q / sigma) - gsl_cdf_ugaussian_P((q - width) / sigma)) / width;
}

double tl_track_late_density(tl_track_late_law law, const tl_track_late_sight *at, int poor,
                             double mean_s) {
    double q = at->q_sr, sigma = at->sigma_sr[poor], z = at->rate * mean_s;
    if (!at->seen) {
        return 0.0;
    }
    if (z < GAUSSIAN_BELOW * sigma) {
        return gsl_ran_gaussian_pdf(q - z, sigma);
    }
    return law == TL_TRACK_LATE_UNIFORM ? uniform_density(q, sigma, z)
                                        : exponential_density(q, sigma, z);
}

/* Mean and variance of a Gaussian cut off below 0. */
static void cut_below(double peak, double sigma, double *mean, double *variance) {
    double cut = -peak / sigma, hazard = gsl_sf_hazard(cut);
    *mean = peak + sigma * hazard;
    *variance = sigma * sigma * fmax(0.0, 1.0 - hazard * (hazard - cut));
}

/* ... and above `width`. */
static void cut_both(double peak, double sigma, double width, double *mean, double *variance) {
    double a = -peak / sigma, b = (width - peak) / sigma;
    double between = a > 0.0 ? gsl_cdf_ugaussian_Q(a) - gsl_cdf_ugaussian_Q(b)
                             : gsl_cdf_ugaussian_P(b) - gsl_cdf_ugaussian_P(a);
    if (between < NOTHING_BETWEEN) {
        *mean = peak < 0.0 ? 0.0 : width;
        *variance = 0.0;
        return;
    }
    double at_a = gsl_ran_ugaussian_pdf(a), at_b = gsl_ran_ugaussian_pdf(b);
    double shift = (at_a - at_b) / between;
    *mean = peak + sigma * shift;
    *variance = sigma * sigma * fmax(0.0, 1.0 + (a * at_a - b * at_b) / between - shift * shift);
}

void tl_track_late_behind(tl_track_late_law law, const tl_track_late_sight *at, int poor,
                          double mean_s, double t_sigma_s, double *expected_s, double *variance) {
    double z = at->rate * mean_s, read2 = t_sigma_s * t_sigma_s, sigma_sr = at->sigma_sr[poor];
    if (!at->seen || z < GAUSSIAN_BELOW * sigma_sr) { /* the frame does not tell */
        *expected_s = mean_s;
        *variance = mean_s * mean_s + read2;
        return;
    }
    double sigma_s = sigma_sr / at->rate, q_s = at->q_sr / at->rate, late_s, late2;
    if (law == TL_TRACK_LATE_UNIFORM) {
        cut_both(q_s, sigma_s, 2.0 * mean_s, &late_s, &late2);
    } else {
        cut_below(q_s - sigma_s * sigma_sr / z, sigma_s, &late_s, &late2);
    }
    /* Of what the lateness leaves over, the error of reading takes its part. */
    double gain = read2 / (sigma_s * sigma_s), rest = 1.0 - gain;
    *expected_s = rest * late_s + gain * q_s;
    *variance = rest * rest * late2 + rest * read2;
}
