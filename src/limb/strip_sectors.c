/* Least squares in each sector of a strip: two levels of light, and where the limb lies. */
#include <math.h>

#include "limb/strip_internal.h"

enum { STEPS = 4 };
/* Steps that move a limb by less, in blurs, are the last: those of the levels, and those of the
 * place. */
static const double ABOUT = 0.03, RESTS = 0.005;
static const int NEIGHBOURS = 4, WIDE_NEIGHBOURS = 20; /* either side, for the levels */
static const double WEAK_EDGE = 0.2; /* of the typical step: thin cloud takes two thirds */
static const double SHIFT_MAX = 0.6; /* of the strip: beyond it the edge is another one */

/* Normal equations of (low, step, shift), and their right side. */
typedef struct normal {
    double m[3][3], v[3];
} normal;

static normal sum_sector(const tl_strip *s, const tl_strip_sector *at) {
    normal n = {0};
    for (size_t i = at->first; i < at->first + at->window; i++) {
        const tl_strip_pixel *p = &s->pixel[i];
        double by_shift, light = tl_limb_strip_light(s, p, at->shift_px, &by_shift);
        const double rest = (double)p->value - at->low - at->step * light;
        const double w = 1 / tl_limb_strip_noise(s, light), g = at->step * by_shift;
        const double wl = w * light, wg = w * g;
        n.m[0][0] += w;
        n.m[0][1] += wl;
        n.m[0][2] += wg;
        n.m[1][1] += wl * light;
        n.m[1][2] += wl * g;
        n.m[2][2] += wg * g;
        n.v[0] += w * rest;
        n.v[1] += wl * rest;
        n.v[2] += wg * rest;
    }
    n.m[1][0] = n.m[0][1];
    n.m[2][0] = n.m[0][2];
    n.m[2][1] = n.m[1][2];
    return n;
}

/* Of the shift alone: weight, pull, and the sum of squares. */
typedef struct shift_sum {
    double m, v, chi2;
} shift_sum;

static shift_sum sum_shift(const tl_strip *s, const tl_strip_sector *at) {
    shift_sum n = {0};
    for (size_t i = at->first; i < at->first + at->window; i++) {
        const tl_strip_pixel *p = &s->pixel[i];
        double by_shift, light = tl_limb_strip_light(s, p, at->shift_px, &by_shift);
        const double rest = (double)p->value - at->low - at->step * light;
        const double w = 1 / tl_limb_strip_noise(s, light), g = at->step * by_shift;
        n.m += w * g * g;
        n.v += w * g * rest;
        n.chi2 += w * rest * rest;
    }
    return n;
}

/* Solve a symmetric 3 x 3 system by Cramer's rule; the diagonal of the inverse in `variance`. */
static bool solve3(const normal *n, double x[3], double variance[3]) {
    const double(*m)[3] = n->m;
    double cofactor[3][3];
    for (int i = 0; i < 3; i++) {
        for (int j = 0; j < 3; j++) {
            int a = (i + 1) % 3, b = (i + 2) % 3, c = (j + 1) % 3, d = (j + 2) % 3;
            cofactor[i][j] = m[a][c] * m[b][d] - m[a][d] * m[b][c];
        }
    }
    double det = m[0][0] * cofactor[0][0] + m[0][1] * cofactor[0][1] + m[0][2] * cofactor[0][2];
    if (!(det > 1e-9 * m[0][0] * m[1][1] * m[2][2]))
        return false;
    for (int i = 0; i < 3; i++) {
        variance[i] = cofactor[i][i] / det;
        x[i] =
            (cofactor[i][0] * n->v[0] + cofactor[i][1] * n->v[1] + cofactor[i][2] * n->v[2]) / det;
    }
    return true;
}

static void start_levels(const tl_strip *s, tl_strip_sector *at) {
    double low = 1, high = 0;
    for (size_t i = at->first; i < at->first + at->count; i++) {
        const double value = (double)s->pixel[i].value;
        low = value < low ? value : low;
        high = value > high ? value : high;
    }
    at->low = low;
    at->step = fmax(high - low, 1e-4) / 0.5; /* about half of the central light shows here */
}

double tl_limb_strip_clamp(double value, double limit) {
    return fmax(-limit, fmin(limit, value));
}

/* First turn: levels and shift of one sector alone. */
static void fit_alone(const tl_strip *s, tl_strip_sector *at) {
    double b = s->model->spread.blur_px, x[3], variance[3] = {0};
    at->found = at->window >= TL_STRIP_PIXELS_MIN;
    if (at->found)
        start_levels(s, at);
    for (int step = 0; step < STEPS && at->found; step++) {
        normal n = sum_sector(s, at);
        at->found = solve3(&n, x, variance);
        if (!at->found)
            break;
        at->low += x[0];
        at->step = fmax(at->step + x[1], 1e-4);
        at->shift_px += tl_limb_strip_clamp(x[2], b);
        if (step > 0 && fabs(x[2]) < ABOUT * b)
            break;
    }
    at->level_weight = at->found && variance[1] > 0 ? 1 / variance[1] : 0;
    at->found = at->found && fabs(at->shift_px) < SHIFT_MAX * s->half_px;
}

/* Levels of each sector as the mean of those up to `reach` sectors away, weighted by how well each
 * knows its own. Sums up to each sector, all round once more, make it one difference. */
static void average_levels(const tl_strip *s, int reach, double low[], double step[]) {
    double weight[3 * TL_STRIP_SECTORS_MAX + 1] = {0}, lows[3 * TL_STRIP_SECTORS_MAX + 1] = {0};
    double steps[3 * TL_STRIP_SECTORS_MAX + 1] = {0};
    for (int i = 0; i < 3 * s->sectors; i++) {
        const tl_strip_sector *at = &s->sector[i % s->sectors];
        const double w = at->found ? at->level_weight : 0;
        weight[i + 1] = weight[i] + w;
        lows[i + 1] = lows[i] + w * at->low;
        steps[i + 1] = steps[i] + w * at->step;
    }
    for (int i = 0; i < s->sectors; i++) {
        const int from = i + s->sectors - reach, to = i + s->sectors + reach + 1;
        const double sum = weight[to] - weight[from];
        low[i] = sum > 0 ? (lows[to] - lows[from]) / sum : s->sector[i].low;
        step[i] = sum > 0 ? (steps[to] - steps[from]) / sum : s->sector[i].step;
    }
}

/* Do the levels scatter about their means no more than from one sector to the next? */
static bool levels_are_even(const tl_strip *s, const double low[], const double step[]) {
    static const double EVEN = 1.3;
    double about[2] = {0}, next[2] = {0};
    for (int i = 0; i < s->sectors; i++) {
        const tl_strip_sector *at = &s->sector[i], *after = &s->sector[(i + 1) % s->sectors];
        if (!at->found || !after->found)
            continue;
        double w = at->level_weight, dl = at->low - after->low, ds = at->step - after->step;
        about[0] += w * (at->low - low[i]) * (at->low - low[i]);
        about[1] += w * (at->step - step[i]) * (at->step - step[i]);
        next[0] += 0.5 * w * dl * dl;
        next[1] += 0.5 * w * ds * ds;
    }
    return about[0] < EVEN * next[0] && about[1] < EVEN * next[1];
}

/* Levels shared along the limb, as far as the picture allows: levels of its own cost each sector a
 * quarter of its accuracy, and a wide mean is wrong where cloud or vignetting make them uneven.
 * Behind the Moon's limb the disc's light varies, and the model of it is not that true: no mean of
 * all. */
static void share_levels(tl_strip *s) {
    double low[TL_STRIP_SECTORS_MAX], step[TL_STRIP_SECTORS_MAX];
    const int reach[] = {s->sectors / 2, WIDE_NEIGHBOURS, NEIGHBOURS};
    for (size_t k = s->limb == TL_LIMB_SUN ? 0 : 1; k < sizeof reach / sizeof reach[0]; k++) {
        average_levels(s, reach[k], low, step);
        if (levels_are_even(s, low, step))
            break;
    }
    for (int i = 0; i < s->sectors; i++) {
        s->sector[i].low = low[i];
        s->sector[i].step = step[i];
    }
}

/* Second turn: the shift alone. */
static void fit_shift(const tl_strip *s, tl_strip_sector *at) {
    double b = s->model->spread.blur_px;
    for (int step = 0; step < STEPS && at->found; step++) {
        const shift_sum n = sum_shift(s, at);
        at->found = n.m > 0;
        if (!at->found)
            break;
        const double by = tl_limb_strip_clamp(n.v / n.m, b);
        at->shift_px += by;
        at->sigma_px = sqrt(fmax(1, n.chi2 / fmax(1, (double)at->window - 1)) / n.m);
        if (fabs(by) < RESTS * b)
            break;
    }
    at->found = at->found && fabs(at->shift_px) < SHIFT_MAX * s->half_px;
}

/* A typical step of light; sectors far weaker are no limb, those far less certain no help. */
static double keep_strong(tl_strip *s) {
    static const double VAGUE = 4;
    double value[TL_STRIP_SECTORS_MAX];
    size_t n = 0;
    for (int i = 0; i < s->sectors; i++)
        if (s->sector[i].found)
            value[n++] = s->sector[i].step;
    double typical = tl_limb_median(value, n);
    n = 0;
    for (int i = 0; i < s->sectors; i++) {
        tl_strip_sector *at = &s->sector[i];
        at->found = at->found && at->step > WEAK_EDGE * typical;
        if (at->found)
            value[n++] = at->sigma_px;
    }
    double sigma = tl_limb_median(value, n);
    for (int i = 0; i < s->sectors; i++)
        s->sector[i].found = s->sector[i].found && s->sector[i].sigma_px < VAGUE * sigma;
    return typical;
}

double tl_limb_strip_place(tl_strip *s) {
    for (int i = 0; i < s->sectors; i++)
        fit_alone(s, &s->sector[i]);
    share_levels(s);
    for (int i = 0; i < s->sectors; i++)
        fit_shift(s, &s->sector[i]);
    return keep_strong(s);
}
