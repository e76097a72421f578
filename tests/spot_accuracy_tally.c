/*
 * spot_accuracy_tally.c - lists of errors, sums over series, figures.
 */
#include <math.h>

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include "spot_accuracy.h"

void spot_errors_add(spot_tally *tally, int which, double error, double sigma) {
    spot_errors *e = &tally->errors[which];
    if (e->count == e->room) {
        size_t room = e->room > 0 ? 2 * e->room : 64;
        double *grown = realloc(e->error, room * sizeof *grown);
        if (grown != NULL)
            e->error = grown;
        double *more = realloc(e->sigma, room * sizeof *more);
        if (more != NULL)
            e->sigma = more;
        if (grown == NULL || more == NULL) {
            tally->no_memory = true;
            return;
        }
        e->room = room;
    }
    e->error[e->count] = error;
    e->sigma[e->count++] = sigma;
}

/* The counts of a tally, in the order of the struct. */
static void add_counts(const size_t *from, size_t *to, size_t count) {
    for (size_t i = 0; i < count; i++)
        to[i] += from[i];
}

void spot_tally_add(const spot_tally *from, spot_tally *to) {
    enum { COUNTS = offsetof(spot_tally, errors) / sizeof(size_t) };
    /* everything before the errors is a count */
    add_counts((const size_t *)(const void *)from, (size_t *)(void *)to, COUNTS);
    for (int k = 0; k < SPOT_ERRORS; k++)
        for (size_t i = 0; i < from->errors[k].count; i++)
            spot_errors_add(to, k, from->errors[k].error[i], from->errors[k].sigma[i]);
    to->no_memory = to->no_memory || from->no_memory;
}

void spot_tally_free(spot_tally *tally) {
    for (int k = 0; k < SPOT_ERRORS; k++) {
        free(tally->errors[k].error);
        free(tally->errors[k].sigma);
    }
    *tally = (spot_tally){0};
}

double spot_errors_share(const spot_errors *errors, double within) {
    size_t inside = 0;
    for (size_t i = 0; i < errors->count; i++)
        inside += fabs(errors->error[i]) <= within ? 1 : 0;
    return errors->count > 0 ? (double)inside / (double)errors->count : 0.0;
}

spot_figures spot_errors_figures(const spot_errors *errors) {
    spot_figures f = {.count = errors->count};
    double *absolute = malloc((errors->count + 1) * sizeof *absolute), squares = 0.0;
    size_t one = 0, three = 0;
    if (absolute == NULL || errors->count == 0) {
        free(absolute);
        return f;
    }
    for (size_t i = 0; i < errors->count; i++) {
        absolute[i] = fabs(errors->error[i]);
        squares += absolute[i] * absolute[i];
        if (errors->sigma[i] > 0.0) {
            f.with_sigma++;
            one += absolute[i] < errors->sigma[i] ? 1 : 0;
            three += absolute[i] < 3.0 * errors->sigma[i] ? 1 : 0;
        }
    }
    gsl_sort(absolute, 1, errors->count);
    f.rms = sqrt(squares / (double)errors->count);
    f.median = gsl_stats_median_from_sorted_data(absolute, 1, errors->count);
    f.p95 = gsl_stats_quantile_from_sorted_data(absolute, 1, errors->count, 0.95);
    f.most = absolute[errors->count - 1];
    if (f.with_sigma > 0) {
        f.one_sigma = (double)one / (double)f.with_sigma;
        f.three_sigma = (double)three / (double)f.with_sigma;
    }
    free(absolute);
    return f;
}
