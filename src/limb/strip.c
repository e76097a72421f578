/*
 * The limbs measured: every pixel within a few blurs of a limb is compared with what a blurred,
 * darkened disc shows there. The strip along a limb is cut into sectors. In each of them least
 * squares give two levels of light and how far outside its circle the limb lies; in a second turn
 * the levels, which change slowly along the limb, are those of the neighbours as well, so that all
 * that a sector knows goes into the place of its limb. Each pixel is used once, by its exact
 * distance from the circle, and nothing is interpolated: sectors have errors of their own, close
 * to the Cramer-Rao bound, sum of A^2 T'^2 / noise^2 over the pixels.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_multifit.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include "limb/limb_internal.h"

enum { SECTORS_MIN = 60, SECTORS_MAX = 720, PIXELS_MIN = 8, STEPS = 4 };
static const double STACK_FROM = -8, STACK_STEP = 0.25; /* of the mean profile, blurs */
static const double SECTOR_PX = 3;                      /* along the limb */
static const double STRIP_BLURS = 5;                    /* half width of the strip */
static const double STRIP_MIN_PX = 4;                   /* so that both levels show */
static const int NEIGHBOURS = 4, WIDE_NEIGHBOURS = 20;  /* either side, for the levels */
static const double WEAK_EDGE = 0.2;   /* of the typical step: thin cloud takes two thirds */
static const double SHIFT_MAX = 0.6;   /* of the strip: beyond it the edge is another one */
static const double NOISE_MIN = 2e-4;  /* rounding to 8 bits at the dark end, linear light */
static const double NOISE_SHARE = 0.2; /* least noise of the sky, over that of the disc: a model
                                          of the edge's foot is not to be trusted more closely */

typedef struct strip_pixel {
    float outside; /* of its own limb, px, curvature of the edge allowed for */
    float value;
    float disc;  /* the Sun's strip: share that the Moon's limb lets through; the Moon's: the
                    disc's light behind */
    float slope; /* the Moon's strip: change of that light across the limb in a blur */
    float bend;  /* and half the change of that */
    int sector;
} strip_pixel;

typedef struct sector {
    size_t first, count; /* of its pixels */
    size_t window;       /* how many of them place the limb */
    double low, step;    /* sky, and disc less sky as at the Sun's centre */
    double shift_px, sigma_px;
    double level_weight; /* of its own levels */
    double angle;        /* of its limb's middle, in the round picture */
    bool found;
} sector;

/* One limb's strip. */
typedef struct strip {
    const tl_edge_model *model;
    const tl_circle *circle, *other;
    int limb, sectors;
    double half_px;
    strip_pixel *pixel; /* owned */
    size_t count, room;
    sector *sector; /* owned */
} strip;

/* What the model says at a pixel for a step of one, and its changes. */
typedef struct model_at {
    double light;
    double by_shift; /* per px that the limb lies further out */
    double by_blur;  /* per px of blur */
} model_at;

static model_at model_of(const strip *s, const strip_pixel *p, double shift_px) {
    double b = s->model->spread.blur_px, d = (double)p->outside - shift_px;
    if (s->limb == TL_LIMB_SUN) {
        tl_spread_at at = tl_limb_spread_at(&s->model->spread, d);
        double open = (double)p->disc;
        return (model_at){open * at.value, -open * at.slope, open * b * at.bend};
    }
    /* a disc that changes along the normal, behind a straight edge, up to second order; L blurred:
     * L Phi(z) + L' b phi(z) - L'' b^2 z phi(z) / 2 */
    double z = d / b, bell = exp(-0.5 * z * z) / sqrt(2 * TL_PI), whole = 0.5 * erfc(-z / sqrt(2));
    double light = (double)p->disc, slope = (double)p->slope, bend = (double)p->bend;
    return (model_at){light * whole + (slope - bend * z) * bell,
                      (slope * z - light + bend * (1 - z * z)) * bell / b,
                      (slope * (1 + z * z) - light * z - bend * z * (1 + z * z)) * bell / b};
}

static double noise_variance(const strip *s, double light) {
    return s->model->noise_sky + s->model->noise_light * fmax(0, light);
}

/* Distance from a circle in picture px; the unit normal in the round picture. */
static double outside_px(const tl_flat *flat, const tl_circle *c, double x, double y, double *nx,
                         double *ny) {
    double dx = x - c->x, dy = y - c->y, length = hypot(dx, dy);
    *nx = length > 0 ? dx / length : 1;
    *ny = length > 0 ? dy / length : 0;
    double gx = *nx, gy = *ny; /* the map is symmetric: the gradient of the distance */
    tl_limb_flat_round(flat, &gx, &gy);
    return (length - c->r) / hypot(gx, gy);
}

static bool add_pixel(strip *s, const strip_pixel *pixel) {
    if (s->count == s->room) {
        size_t room = s->room ? 2 * s->room : 4096;
        strip_pixel *more = realloc(s->pixel, room * sizeof *more);
        if (!more)
            return false;
        s->pixel = more;
        s->room = room;
    }
    s->pixel[s->count++] = *pixel;
    return true;
}

static int sector_of(const strip *s, double nx, double ny) {
    int i = (int)((atan2(ny, nx) + TL_PI) / (2 * TL_PI) * s->sectors);
    return i < s->sectors ? i : s->sectors - 1;
}

/* One pixel of the plane, if it lies in the strip and is open to view. */
static bool take_pixel(strip *s, const tl_plane *plane, int ix, int iy, double x, double y) {
    const tl_edge_model *m = s->model;
    double nx, ny, own = outside_px(&m->flat, s->circle, x, y, &nx, &ny);
    double b = m->spread.blur_px, deep = s->limb == TL_LIMB_SUN ? STACK_FROM * b : -s->half_px;
    if (own > s->half_px || own < fmin(deep, -s->half_px))
        return true;
    strip_pixel pixel = {.outside = (float)(own + b * b / (2 * s->circle->r)),
                         .value = plane->value[(size_t)iy * (size_t)plane->width + (size_t)ix],
                         .disc = 1,
                         .sector = sector_of(s, nx, ny)};
    if (s->other->r > 0) {
        double ox, oy, far = outside_px(&m->flat, s->other, x, y, &ox, &oy);
        if (s->limb == TL_LIMB_SUN) {
            if (far < m->cusp_px)
                return true;
            pixel.disc = (float)(0.5 * erfc(-(far + b * b / (2 * s->other->r)) / (b * sqrt(2))));
        } else {
            if (far > -m->cusp_px)
                return true;
            tl_spread_at at = tl_limb_spread_at(&m->spread, far + b * b / (2 * s->other->r));
            pixel.disc = (float)at.value;
            double along = nx * ox + ny * oy, across = 1 - along * along;
            pixel.slope = (float)(at.slope * along * b);
            pixel.bend =
                (float)(0.5 * b * b * (at.bend * along * along + at.slope * across / s->other->r));
        }
    }
    return add_pixel(s, &pixel);
}

/* The stack reaches further into the disc than what places the limb. */
static bool in_window(const strip *s, const strip_pixel *p) {
    return fabs((double)p->outside) <= s->half_px;
}

/* Bring the pixels into the order of their sectors, in each as they came. */
static tl_status sort_pixels(strip *s) {
    strip_pixel *sorted = malloc((s->count + 1) * sizeof *sorted);
    if (!sorted)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < s->count; i++) {
        s->sector[s->pixel[i].sector].count++;
        s->sector[s->pixel[i].sector].window += in_window(s, &s->pixel[i]);
    }
    for (int i = 1; i < s->sectors; i++)
        s->sector[i].first = s->sector[i - 1].first + s->sector[i - 1].count;
    for (int i = 0; i < s->sectors; i++)
        s->sector[i].count = 0;
    for (size_t i = 0; i < s->count; i++) {
        sector *at = &s->sector[s->pixel[i].sector];
        sorted[at->first + at->count++] = s->pixel[i];
    }
    free(s->pixel);
    s->pixel = sorted;
    s->room = s->count;
    return TL_OK;
}

/* The pixels of one row between two distances from the circle's centre. */
static bool gather_row(strip *s, const tl_plane *plane, int iy, const tl_circle *ring,
                       double inner) {
    double dy = plane->y0 + iy - ring->y, half = ring->r * ring->r - dy * dy;
    if (half < 0)
        return true;
    double gap = inner * inner - dy * dy, skip = gap > 0 ? sqrt(gap) : 0;
    half = sqrt(half);
    int from = (int)fmax(0, ceil(ring->x - half - plane->x0));
    int to = (int)fmin(plane->width - 1, floor(ring->x + half - plane->x0));
    for (int ix = from; ix <= to; ix++) {
        double x = plane->x0 + ix, y = plane->y0 + iy;
        if (fabs(x - ring->x) < skip) { /* the ring's hole: on to its far side */
            ix = (int)fmax(ix, ceil(ring->x + skip - plane->x0) - 1);
            continue;
        }
        tl_limb_flat_round(&s->model->flat, &x, &y);
        if (!take_pixel(s, plane, ix, iy, x, y))
            return false;
    }
    return true;
}

/* Gather the strip's pixels, ordered by sector. */
static tl_status gather(strip *s, const tl_plane *plane) {
    const tl_flat *flat = &s->model->flat;
    double reach = fmax(s->half_px, -STACK_FROM * s->model->spread.blur_px) + 1;
    /* a flattened circle lies between two round ones in the picture */
    tl_circle ring = {s->circle->x, s->circle->y, s->circle->r + reach};
    double inner = fmax(0, s->circle->r * flat->flattening - reach);
    tl_limb_flat_picture(flat, &ring.x, &ring.y);
    s->sector = calloc((size_t)s->sectors, sizeof *s->sector);
    if (!s->sector)
        return TL_ERR_MEMORY;
    for (int iy = 0; iy < plane->height; iy++)
        if (!gather_row(s, plane, iy, &ring, inner))
            return TL_ERR_MEMORY;
    for (int i = 0; i < s->sectors; i++)
        s->sector[i].angle = 2 * TL_PI * (i + 0.5) / s->sectors - TL_PI;
    return sort_pixels(s);
}

/* Normal equations of (low, step, shift), upper triangle, and their right side. */
typedef struct normal {
    double m[3][3], v[3];
    double chi2, count;
} normal;

static normal sum_sector(const strip *s, const sector *at) {
    normal n = {0};
    for (size_t i = at->first; i < at->first + at->count; i++) {
        const strip_pixel *p = &s->pixel[i];
        if (!in_window(s, p))
            continue;
        model_at m = model_of(s, p, at->shift_px);
        double rest = (double)p->value - at->low - at->step * m.light;
        double w = 1 / noise_variance(s, m.light);
        const double g[3] = {1, m.light, at->step * m.by_shift};
        for (int j = 0; j < 3; j++) {
            for (int k = 0; k < 3; k++)
                n.m[j][k] += w * g[j] * g[k];
            n.v[j] += w * g[j] * rest;
        }
        n.chi2 += w * rest * rest;
        n.count++;
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

static void start_levels(const strip *s, sector *at) {
    double low = 1, high = 0;
    for (size_t i = at->first; i < at->first + at->count; i++) {
        low = fmin(low, (double)s->pixel[i].value);
        high = fmax(high, (double)s->pixel[i].value);
    }
    at->low = low;
    at->step = fmax(high - low, 1e-4) / 0.5; /* about half of the central light shows here */
}

static double clamp(double value, double limit) {
    return fmax(-limit, fmin(limit, value));
}

/* First turn: levels and shift of one sector alone. */
static void fit_alone(const strip *s, sector *at) {
    double b = s->model->spread.blur_px, x[3], variance[3] = {0};
    at->found = at->window >= PIXELS_MIN;
    if (at->found)
        start_levels(s, at);
    for (int step = 0; step < STEPS && at->found; step++) {
        normal n = sum_sector(s, at);
        at->found = solve3(&n, x, variance);
        if (!at->found)
            break;
        at->low += x[0];
        at->step = fmax(at->step + x[1], 1e-4);
        at->shift_px += clamp(x[2], b);
    }
    at->level_weight = at->found && variance[1] > 0 ? 1 / variance[1] : 0;
    at->found = at->found && fabs(at->shift_px) < SHIFT_MAX * s->half_px;
}

/* Levels of each sector as the mean of those up to `reach` sectors away, weighted by how well each
 * knows its own. */
static void average_levels(const strip *s, int reach, double low[], double step[]) {
    for (int i = 0; i < s->sectors; i++) {
        double sum = 0, lows = 0, steps = 0;
        for (int j = i - reach; j <= i + reach; j++) {
            const sector *at = &s->sector[(j + s->sectors) % s->sectors];
            if (!at->found)
                continue;
            sum += at->level_weight;
            lows += at->level_weight * at->low;
            steps += at->level_weight * at->step;
        }
        low[i] = sum > 0 ? lows / sum : s->sector[i].low;
        step[i] = sum > 0 ? steps / sum : s->sector[i].step;
    }
}

/* Do the levels scatter about their means no more than from one sector to the next? */
static bool levels_are_even(const strip *s, const double low[], const double step[]) {
    static const double EVEN = 1.3;
    double about[2] = {0}, next[2] = {0};
    for (int i = 0; i < s->sectors; i++) {
        const sector *at = &s->sector[i], *after = &s->sector[(i + 1) % s->sectors];
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
static void share_levels(strip *s) {
    double low[SECTORS_MAX], step[SECTORS_MAX];
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
static void fit_shift(const strip *s, sector *at) {
    double b = s->model->spread.blur_px;
    for (int step = 0; step < STEPS && at->found; step++) {
        normal n = sum_sector(s, at);
        at->found = n.m[2][2] > 0;
        if (!at->found)
            break;
        at->shift_px += clamp(n.v[2] / n.m[2][2], b);
        at->sigma_px = sqrt(fmax(1, n.chi2 / fmax(1, n.count - 1)) / n.m[2][2]);
    }
    at->found = at->found && fabs(at->shift_px) < SHIFT_MAX * s->half_px;
}

static double median(double *value, size_t count) {
    gsl_sort(value, 1, count);
    return count > 0 ? gsl_stats_median_from_sorted_data(value, 1, count) : 0;
}

/* A typical step of light; sectors far weaker are no limb, those far less certain no help. */
static double keep_strong(strip *s) {
    static const double VAGUE = 4;
    double value[SECTORS_MAX];
    size_t n = 0;
    for (int i = 0; i < s->sectors; i++)
        if (s->sector[i].found)
            value[n++] = s->sector[i].step;
    double typical = median(value, n);
    n = 0;
    for (int i = 0; i < s->sectors; i++) {
        sector *at = &s->sector[i];
        at->found = at->found && at->step > WEAK_EDGE * typical;
        if (at->found)
            value[n++] = at->sigma_px;
    }
    double sigma = median(value, n);
    for (int i = 0; i < s->sectors; i++)
        s->sector[i].found = s->sector[i].found && s->sector[i].sigma_px < VAGUE * sigma;
    return typical;
}

/* The mean profile of the solar limb over all good sectors, in bins of its width. */
enum { STACK_BINS = 52 };
typedef struct mean_profile {
    double sum[STACK_BINS], square[STACK_BINS], place[STACK_BINS], count[STACK_BINS];
} mean_profile;

/* Sums over the good sectors of one strip. */
typedef struct strip_sums {
    mean_profile profile;
    double blur_up, blur_down; /* the blur's correction as a quotient */
    double *sky, *disc;        /* |rest| of dark and bright pixels; room for all of them */
    size_t sky_count, disc_count;
    double disc_light;
} strip_sums;

static void stack_pixel(const strip *s, const sector *at, const strip_pixel *p,
                        mean_profile *profile) {
    static const double OPEN = 0.999; /* the other limb does not reach it */
    double d = (double)p->outside - at->shift_px;
    int bin = (int)floor((d / s->model->spread.blur_px - STACK_FROM) / STACK_STEP);
    if (s->limb != TL_LIMB_SUN || bin < 0 || bin >= STACK_BINS || (double)p->disc < OPEN)
        return;
    double value = ((double)p->value - at->low) / at->step;
    profile->sum[bin] += value;
    profile->square[bin] += value * value;
    profile->place[bin] += d;
    profile->count[bin]++;
}

static void sum_strip(const strip *s, strip_sums *sums) {
    static const double DARK = 0.03, BRIGHT_BLURS = 2;
    double b = s->model->spread.blur_px;
    for (int k = 0; k < s->sectors; k++) {
        const sector *at = &s->sector[k];
        for (size_t i = at->first; at->found && i < at->first + at->count; i++) {
            const strip_pixel *p = &s->pixel[i];
            stack_pixel(s, at, p, &sums->profile);
            if (!in_window(s, p))
                continue;
            model_at m = model_of(s, p, at->shift_px);
            double rest = (double)p->value - at->low - at->step * m.light;
            double w = 1 / noise_variance(s, m.light), g = at->step * m.by_blur;
            double inside = s->limb == TL_LIMB_SUN ? -(double)p->outside : (double)p->outside;
            sums->blur_up += w * g * rest;
            sums->blur_down += w * g * g;
            if (m.light < DARK) {
                sums->sky[sums->sky_count++] = fabs(rest);
            } else if (inside > BRIGHT_BLURS * b) {
                sums->disc[sums->disc_count++] = fabs(rest);
                sums->disc_light += m.light;
            }
        }
    }
}

static void strip_free(strip *s) {
    free(s->pixel);
    free(s->sector);
}

static int sectors_for(double radius_px) {
    return (int)fmin(fmax(2 * TL_PI * radius_px / SECTOR_PX, SECTORS_MIN), SECTORS_MAX);
}

static void add_edges(const strip *s, const tl_plane *plane, double typical, tl_edge_set *set,
                      size_t *clipped) {
    const tl_edge_model *m = s->model;
    double sigma[SECTORS_MAX];
    size_t n = 0;
    for (int i = 0; i < s->sectors; i++)
        if (s->sector[i].found)
            sigma[n++] = s->sector[i].sigma_px;
    double usual = median(sigma, n);
    for (int i = 0; i < s->sectors; i++) {
        const sector *at = &s->sector[i];
        set->expected[s->limb] += at->window >= PIXELS_MIN;
        if (!at->found)
            continue;
        double ux = cos(at->angle), uy = sin(at->angle), gx = ux, gy = uy;
        tl_limb_flat_round(&m->flat, &gx, &gy);
        double d = s->circle->r + at->shift_px * hypot(gx, gy);
        double inner = (s->limb == TL_LIMB_SUN ? -1 : 1) * fmax(2, 2.5 * m->spread.blur_px);
        double x = s->circle->x + d * ux, y = s->circle->y + d * uy;
        double ix = s->circle->x + (d + inner) * ux, iy = s->circle->y + (d + inner) * uy;
        tl_limb_flat_picture(&m->flat, &x, &y);
        tl_limb_flat_picture(&m->flat, &ix, &iy);
        *clipped += tl_limb_plane_clipped(plane, ix - plane->x0, iy - plane->y0);
        set->edge[set->count++] =
            (tl_limb_edge){.x_px = x,
                           .y_px = y,
                           .sigma_relative = fmin(fmax(at->sigma_px / usual, 0.5), 4),
                           .limb = (uint8_t)s->limb,
                           .used = true};
    }
    double light = 0;
    for (size_t i = 0; i < s->count; i++)
        light += (double)s->pixel[i].disc / (double)s->count;
    if (s->limb == TL_LIMB_SUN)
        light *= tl_limb_spread_at(&m->spread, -2.5 * m->spread.blur_px).value;
    set->sigma_px[s->limb] = usual;
    set->step[s->limb] = typical * light;
}

/*
 * What the mean profile of the solar limb tells of the model: least squares of sky, step, place,
 * blur and darkening, one Gauss-Newton step. False: too little of it is seen.
 */
static bool fit_stack(const tl_edge_model *model, const mean_profile *profile, double *blur_up,
                      double *power_up, double *misfit) {
    enum { TERMS = 5, BINS_MIN = 24, PER_BIN_MIN = 5 };
    static const double POWER_SIGMA = 0.15;  /* of a filter's colour and a camera's tone curve */
    static const double POWER_STEP = 0.05;   /* for the quotient of differences */
    static const double MODEL_ERROR = 0.002; /* of the disc's light: no profile is truer */
    const tl_spread *now = &model->spread;
    tl_darkening other = now->darkening;
    other.power += POWER_STEP;
    tl_spread *moved = malloc(sizeof *moved);
    gsl_matrix *a = gsl_matrix_calloc(STACK_BINS + 1, TERMS), *cov = gsl_matrix_alloc(TERMS, TERMS);
    gsl_vector *y = gsl_vector_calloc(STACK_BINS + 1), *w = gsl_vector_calloc(STACK_BINS + 1);
    gsl_vector *x = gsl_vector_alloc(TERMS);
    gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(STACK_BINS + 1, TERMS);
    bool done = false;
    size_t bins = 0;
    double chi2 = 0;
    if (!moved || !a || !cov || !y || !w || !x || !work)
        goto end;
    tl_limb_spread_make(&other, now->radius_px, now->blur_px, moved);
    for (size_t i = 0; i < STACK_BINS; i++) {
        double n = profile->count[i];
        if (n < PER_BIN_MIN)
            continue;
        double value = profile->sum[i] / n, d = profile->place[i] / n;
        double variance = fmax(0, profile->square[i] / n - value * value) / n;
        tl_spread_at at = tl_limb_spread_at(now, d);
        double by_power = (tl_limb_spread_at(moved, d).value - at.value) / POWER_STEP;
        const double row[TERMS] = {1, at.value, -at.slope, now->blur_px * at.bend, by_power};
        for (size_t j = 0; j < TERMS; j++)
            gsl_matrix_set(a, i, j, row[j]);
        gsl_vector_set(y, i, value - at.value);
        gsl_vector_set(w, i, 1 / (variance + MODEL_ERROR * MODEL_ERROR));
        bins++;
    }
    gsl_matrix_set(a, STACK_BINS, TERMS - 1, 1);
    gsl_vector_set(y, STACK_BINS, 1 - now->darkening.power);
    gsl_vector_set(w, STACK_BINS, 1 / (POWER_SIGMA * POWER_SIGMA));
    if (bins < BINS_MIN || gsl_multifit_wlinear(a, w, y, x, cov, &chi2, work) != GSL_SUCCESS)
        goto end;
    *blur_up = gsl_vector_get(x, 3);
    *power_up = gsl_vector_get(x, 4);
    *misfit = MODEL_ERROR * sqrt(fmax(0, chi2 / (double)(bins - TERMS + 1) - 1));
    done = true;
end:
    free(moved);
    gsl_matrix_free(a);
    gsl_matrix_free(cov);
    gsl_vector_free(y);
    gsl_vector_free(w);
    gsl_vector_free(x);
    gsl_multifit_linear_free(work);
    return done;
}

/* New blur, darkening and noise from what the strips left over. */
static void learn(tl_edge_model *model, const strip_sums sums[2], tl_edge_set *set) {
    static const double MAD_TO_SIGMA = 1.4826, BLUR_MIN_PX = 0.35; /* a pixel's own: 1/sqrt(12) */
    static const double POWER_MIN = 0.4, POWER_MAX = 2, BLUR_UP = 1, BLUR_DOWN = 0.4;
    double b = model->spread.blur_px, blur_up[2] = {0}, power_up = 0, weight = 0, sum = 0;
    for (int limb = 0; limb < 2; limb++)
        if (sums[limb].blur_down > 0)
            blur_up[limb] = sums[limb].blur_up / sums[limb].blur_down;
    if (fit_stack(model, &sums[TL_LIMB_SUN].profile, &blur_up[TL_LIMB_SUN], &power_up,
                  &set->misfit))
        model->power = fmax(POWER_MIN, fmin(POWER_MAX, model->power + clamp(power_up, 0.3)));
    for (int limb = 0; limb < 2; limb++) {
        if (sums[limb].blur_down <= 0)
            continue;
        set->blur_limb_px[limb] =
            fmax(BLUR_MIN_PX, b + fmax(-BLUR_DOWN * b, fmin(BLUR_UP * b, blur_up[limb])));
        weight += sums[limb].blur_down;
        sum += sums[limb].blur_down * set->blur_limb_px[limb];
    }
    set->blur_px = weight > 0 ? sum / weight : b;
    double sky = MAD_TO_SIGMA * median(sums[0].sky, sums[0].sky_count);
    double disc = MAD_TO_SIGMA * median(sums[0].disc, sums[0].disc_count);
    double light = sums[0].disc_count > 0 ? sums[0].disc_light / (double)sums[0].disc_count : 0.5;
    disc = fmax(disc, NOISE_MIN);
    sky = fmax(fmax(sky, NOISE_MIN), NOISE_SHARE * disc);
    model->noise_sky = sky * sky;
    model->noise_light = fmax(0, disc * disc - sky * sky) / light;
}

static tl_status measure_strip(strip *s, const tl_plane *plane, tl_edge_set *set, strip_sums *sums,
                               size_t *clipped) {
    tl_status status = gather(s, plane);
    if (status != TL_OK)
        return status;
    sums->sky = malloc((s->count + 1) * sizeof *sums->sky);
    sums->disc = malloc((s->count + 1) * sizeof *sums->disc);
    if (!sums->sky || !sums->disc)
        return TL_ERR_MEMORY;
    for (int i = 0; i < s->sectors; i++)
        fit_alone(s, &s->sector[i]);
    share_levels(s);
    for (int i = 0; i < s->sectors; i++)
        fit_shift(s, &s->sector[i]);
    double typical = keep_strong(s);
    sum_strip(s, sums);
    add_edges(s, plane, typical, set, clipped);
    return TL_OK;
}

tl_status tl_limb_strip_measure(const tl_plane *plane, const tl_circle *sun, const tl_circle *moon,
                                tl_edge_model *model, tl_edge_set *out) {
    tl_edge_set set = {.edge = malloc(2 * SECTORS_MAX * sizeof *set.edge)};
    strip_sums sums[2] = {0};
    size_t clipped = 0;
    tl_status status = set.edge ? TL_OK : TL_ERR_MEMORY;
    for (int limb = TL_LIMB_SUN; limb <= TL_LIMB_MOON && status == TL_OK; limb++) {
        bool is_sun = limb == TL_LIMB_SUN;
        strip s = {.model = model,
                   .circle = is_sun ? sun : moon,
                   .other = is_sun ? moon : sun,
                   .limb = limb,
                   .half_px = fmax(STRIP_MIN_PX, STRIP_BLURS * model->spread.blur_px)};
        if (s.circle->r <= 0)
            continue;
        s.sectors = sectors_for(s.circle->r);
        status = measure_strip(&s, plane, &set, &sums[limb], &clipped);
        strip_free(&s);
    }
    if (status == TL_OK) {
        learn(model, sums, &set);
        set.clipped_edge = set.count > 0 ? (double)clipped / (double)set.count : 0;
        *out = set;
    } else {
        free(set.edge);
    }
    for (int limb = 0; limb < 2; limb++) {
        free(sums[limb].sky);
        free(sums[limb].disc);
    }
    return status;
}
