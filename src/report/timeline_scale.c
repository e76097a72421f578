/*
 * timeline_scale.c - ranges and steps of the axes, and labels moved apart.
 */
#include <math.h>

#include "report/timeline_internal.h"

double tl_report_nice_step(double span, double most) {
    const double least = span / most, exact = 1.0 - 1e-9; /* 1 in 10 parts is 0.1 */
    const double decade = pow(10.0, floor(log10(least) + 1e-9));
    static const double nice[] = {1.0, 2.0, 5.0};
    for (int i = 0; i < 3; i++)
        if (nice[i] * decade >= least * exact)
            return nice[i] * decade;
    return 10.0 * decade;
}

int tl_report_step_decimals(double step) {
    const double digits = -floor(log10(step) + 1e-9);
    return digits > 0.0 ? (int)digits : 0;
}

int tl_report_minute_step(double span_s, double most) {
    static const int choice[] = {5, 10, 15, 30, 60, 120, 240, 360, 720};
    enum { CHOICES = sizeof choice / sizeof *choice };
    int i = 0;
    while (i < CHOICES - 1 && 60.0 * choice[i] * most < span_s)
        i++;
    return choice[i];
}

/* Largest of what is finite; 0 if nothing is. */
static double larger(double a, double b) {
    return isfinite(b) && b > a ? b : a;
}

double tl_report_time_value(const tl_report_time_point *point, tl_report_panel panel) {
    switch (panel) {
    case TL_REPORT_PANEL_SEPARATION:
        return point->separation_sr;
    case TL_REPORT_PANEL_COVERED:
        return point->magnitude;
    case TL_REPORT_PANEL_RESIDUAL:
        return point->residual;
    default:
        return point->blur;
    }
}

/* How far from zero a point reaches, with its bar among the residuals. */
static double reach(const tl_report_time_point *point, tl_report_panel panel) {
    const double value = fabs(tl_report_time_value(point, panel));
    if (panel == TL_REPORT_PANEL_COVERED)
        return larger(larger(0.0, value), point->obscuration);
    if (panel == TL_REPORT_PANEL_RESIDUAL && isfinite(point->residual_sigma))
        return value + point->residual_sigma;
    return value;
}

/* The highest value of the points that are sound, or, if none is, of all. */
static double highest(const tl_report_timeline *timeline, tl_report_panel panel) {
    double sound = 0.0, all = 0.0;
    for (size_t i = 0; i < timeline->point_count; i++) {
        const double value = reach(&timeline->point[i], panel);
        all = larger(all, value);
        if (!timeline->point[i].doubtful)
            sound = larger(sound, value);
    }
    return sound > 0.0 ? sound : all;
}

tl_report_range tl_report_panel_range(const tl_report_timeline *timeline, tl_report_panel panel) {
    const double free_above = 1.08, least_floors = 2.0;
    double most = highest(timeline, panel);
    if (panel == TL_REPORT_PANEL_RESIDUAL) {
        most = free_above * fmax(most, least_floors * timeline->floor);
        return (tl_report_range){-most, most};
    }
    for (size_t i = 0; panel == TL_REPORT_PANEL_SEPARATION && i < timeline->line_count; i++)
        most = larger(most, timeline->line[i].separation_sr);
    for (size_t i = 0; panel == TL_REPORT_PANEL_COVERED && i < timeline->line_count; i++)
        most = larger(most, timeline->line[i].magnitude);
    return (tl_report_range){0.0, most > 0.0 ? free_above * most : 1.0};
}

/* A run of labels that touch, and stand side by side about the mean of where they should be. */
typedef struct run {
    double sum, width; /* of (wanted middle - place in the run); of the run, gaps included */
    size_t first, count;
} run;

static double run_start(const run *r, double low, double high) {
    return fmax(low, fmin(high - r->width, r->sum / (double)r->count));
}

static void join(run *a, const run *b) {
    a->sum += b->sum - (double)b->count * a->width;
    a->width += b->width;
    a->count += b->count;
}

bool tl_report_spread(double *middle, const double *half_width, size_t count, double gap,
                      double low, double high) {
    run list[TL_REPORT_SPREAD_MAX];
    size_t runs = 0;
    double all = 0.0;
    const double from = low - 0.5 * gap, to = high + 0.5 * gap;
    for (size_t i = 0; i < count; i++)
        all += 2.0 * half_width[i] + gap;
    if (count > TL_REPORT_SPREAD_MAX || all > to - from)
        return false;
    for (size_t i = 0; i < count; i++) {
        const double width = 2.0 * half_width[i] + gap;
        list[runs++] = (run){middle[i] - 0.5 * width, width, i, 1};
        while (runs > 1 && run_start(&list[runs - 2], from, to) + list[runs - 2].width >
                               run_start(&list[runs - 1], from, to)) {
            join(&list[runs - 2], &list[runs - 1]);
            runs--;
        }
    }
    for (size_t k = 0; k < runs; k++) {
        double at = run_start(&list[k], from, to);
        for (size_t i = list[k].first; i < list[k].first + list[k].count; i++) {
            middle[i] = at + 0.5 * gap + half_width[i];
            at += 2.0 * half_width[i] + gap;
        }
    }
    return true;
}
