/*
 * timeline_trend.c - whether the edge blur rises or falls, and how sure that is.
 */
#include <math.h>

#include <gsl/gsl_cdf.h>

#include "report/timeline_internal.h"

static const double HOUR_S = 3600.0;
enum { LEAST = 4, PARAMETERS = 2 };
/* Our own choices: focus does not drift in less time; and no width of an edge is known better than
 * to this share of itself, however little the pictures happen to scatter. */
static const double SHORTEST_S = 900.0, LEAST_SCATTER = 0.02;
static const double SIGMAS = 3.0; /* from here on a trend is told */

static bool counts(const tl_report_time_point *point) {
    return isfinite(point->blur) && point->blur > 0.0 && !point->doubtful && !point->other_camera;
}

/* The line; returns the sum of the squares of the times about their mean, h^2. */
static double fit_line(const tl_report_timeline *timeline, tl_report_blur_trend *trend) {
    const double n = (double)trend->count;
    double sum_t = 0.0, sum_y = 0.0, tt = 0.0, ty = 0.0;
    const double start_s = timeline->point[trend->first].t_s;
    for (size_t i = trend->first; i <= trend->last; i++) {
        if (!counts(&timeline->point[i]))
            continue;
        sum_t += (timeline->point[i].t_s - start_s) / HOUR_S;
        sum_y += log(timeline->point[i].blur);
    }
    for (size_t i = trend->first; i <= trend->last; i++) {
        if (!counts(&timeline->point[i]))
            continue;
        const double t = (timeline->point[i].t_s - start_s) / HOUR_S - sum_t / n;
        tt += t * t;
        ty += t * (log(timeline->point[i].blur) - sum_y / n);
    }
    trend->mean_t_s = start_s + sum_t / n * HOUR_S;
    trend->mean_log = sum_y / n;
    trend->growth_per_h = ty / tt;
    return tt;
}

/* Sum of the squares of the residuals, and of the products of neighbours. */
static void sum_residuals(const tl_report_timeline *timeline, const tl_report_blur_trend *trend,
                          double *squares, double *products) {
    double before = 0.0;
    *squares = *products = 0.0;
    for (size_t i = trend->first; i <= trend->last; i++) {
        const tl_report_time_point *point = &timeline->point[i];
        if (!counts(point))
            continue;
        const double off = log(point->blur) - trend->mean_log -
                           trend->growth_per_h * (point->t_s - trend->mean_t_s) / HOUR_S;
        *squares += off * off;
        *products += off * before;
        before = off;
    }
}

static void judge(const tl_report_timeline *timeline, double tt, tl_report_blur_trend *trend) {
    double squares, products;
    sum_residuals(timeline, trend, &squares, &products);
    /* What is below the least scatter is no scatter, and neighbours cannot be alike in it. */
    const bool scatters = squares > (double)trend->count * LEAST_SCATTER * LEAST_SCATTER;
    const double alike = scatters ? fmax(products / squares, 0.0) : 0.0;
    const double alone = (double)trend->count * (1.0 - alike) / (1.0 + alike);
    const double freedom = fmax(alone - PARAMETERS, 1.0);
    const double scatter = fmax(sqrt(squares / freedom), LEAST_SCATTER);
    const double chance = gsl_cdf_ugaussian_Q(SIGMAS);
    const double of_few = gsl_cdf_tdist_Qinv(chance, freedom) / SIGMAS;
    trend->growth_sigma_per_h = of_few * scatter / sqrt(tt);
    trend->significant = fabs(trend->growth_per_h) > SIGMAS * trend->growth_sigma_per_h;
}

tl_report_blur_trend tl_report_blur_trend_of(const tl_report_timeline *timeline) {
    tl_report_blur_trend trend = {0};
    for (size_t i = 0; i < timeline->point_count; i++) {
        if (!counts(&timeline->point[i]))
            continue;
        if (trend.count == 0)
            trend.first = i;
        trend.last = i;
        trend.count++;
    }
    trend.fitted = trend.count >= LEAST &&
                   timeline->point[trend.last].t_s - timeline->point[trend.first].t_s >= SHORTEST_S;
    if (trend.fitted)
        judge(timeline, fit_line(timeline, &trend), &trend);
    return trend;
}
