/*
 * track_accuracy_score.c - rows of errors and of errors over their sigmas; figures met or not.
 */
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include "track_accuracy.h"

/* The median of |z| of a Gaussian of width 1: tables of the normal distribution. */
#define MEDIAN_OF_UNIT_GAUSSIAN 0.67449
/* Beyond it an error counts as this many sigmas in the rms, or one series would be the row. */
#define Z_CLIP 5.0
/* What honest errors are (a Gaussian: 68.3 and 99.7 %). */
static const double ONE_SIGMA_LEAST = 0.60, ONE_SIGMA_MOST = 0.76, THREE_SIGMA_LEAST = 0.985;

typedef struct sums {
    size_t count, within_one, within_three, worst;
    double error2, z2;
} sums;

static sums sum_up(const score *list, size_t count) {
    sums s = {0};
    for (size_t i = 0; i < count; i++) {
        if (!list[i].valid) {
            continue;
        }
        double z = fabs(list[i].error) / list[i].sigma;
        s.within_one += z < 1.0 ? 1 : 0;
        s.within_three += z < 3.0 ? 1 : 0;
        s.error2 += list[i].error * list[i].error;
        s.z2 += fmin(z, Z_CLIP) * fmin(z, Z_CLIP);
        if (s.count++ == 0 || z > fabs(list[s.worst].error) / list[s.worst].sigma) {
            s.worst = i;
        }
    }
    return s;
}

/* Medians of |error| and |z|. */
static bool medians(const score *list, size_t count, double *error, double *z) {
    double *values = malloc(2 * count * sizeof *values);
    size_t n = 0;
    for (size_t i = 0; values != NULL && i < count; i++) {
        if (list[i].valid) {
            values[n] = fabs(list[i].error);
            values[count + n++] = fabs(list[i].error) / list[i].sigma;
        }
    }
    if (values != NULL) {
        gsl_sort(values, 1, n);
        gsl_sort(values + count, 1, n);
        *error = gsl_stats_median_from_sorted_data(values, 1, n);
        *z = gsl_stats_median_from_sorted_data(values + count, 1, n);
    }
    free(values);
    return values != NULL;
}

void score_legend(const char *of) {
    printf("\n%-24s %-12s %5s  %9s %9s  %5s %5s  %5s %5s  %s\n", of, "", "n", "rms", "median",
           "width", "rms", "<1", "<3", "worst (series)");
}

void score_print(const char *kind, const char *quantity, const score *list, size_t count,
                 size_t each) {
    sums s = sum_up(list, count);
    double error, z, n = (double)s.count;
    printf("%-24s %-12s %5zu", kind, quantity, s.count);
    if (s.count > 0 && medians(list, count, &error, &z)) {
        printf("  %9.2e %9.2e  %5.2f %5.2f  %5.1f %5.1f  %+.2e, %.1f sigma (%zu)%s",
               sqrt(s.error2 / n), error, z / MEDIAN_OF_UNIT_GAUSSIAN, sqrt(s.z2 / n),
               100.0 * (double)s.within_one / n, 100.0 * (double)s.within_three / n,
               list[s.worst].error, fabs(list[s.worst].error) / list[s.worst].sigma, s.worst / each,
               score_honest(list, count) ? "" : "  <-");
    }
    printf("\n");
}

double score_rms(const score *list, size_t count) {
    sums s = sum_up(list, count);
    return s.count > 0 ? sqrt(s.error2 / (double)s.count) : HUGE_VAL;
}

bool score_honest(const score *list, size_t count) {
    sums s = sum_up(list, count);
    double n = (double)s.count, one = (double)s.within_one / n;
    return s.count > 0 && one >= ONE_SIGMA_LEAST && one <= ONE_SIGMA_MOST &&
           (double)s.within_three / n >= THREE_SIGMA_LEAST;
}

void figure_print(const char *name, bool met, const char *format, ...) {
    va_list values;
    printf("  %-8s %-52s ", met ? "met" : "NOT MET", name);
    va_start(values, format);
    vprintf(format, values);
    va_end(values);
    printf("\n");
}
