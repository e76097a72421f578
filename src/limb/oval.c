/* Sun and Moon as the image of two circles under one stretch. */
#include <math.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>

#include "base/base_internal.h"
#include "limb/limb_internal.h"

enum { STRETCH_P = TL_LIMB_PARAMS, STRETCH_Q, PARAMS, STEPS = 6 };
/* Error of an outline point: a third of a pixel by noise, and by what is no circle about the limb,
 * as a share of the radius. Neighbours share it: no more than some 60 points count. */
static const double POINT_PX = 0.3, POINT_SHARE = 0.003;
static const double INDEPENDENT = 60;
/* Spread of (a - b) / (a + b): a card tilted by 37 degrees has 0.11. */
static const double STRETCH_SIGMA = 0.06;
/* Topocentric Moon/Sun ratios run from 0.90 to 1.08. */
static const double RATIO = 1.0, RATIO_SIGMA = 0.04;
static const double STEP_ENOUGH_PX = 0.02;
static const double STRETCH_MAX = 0.2; /* flattening 0.67 */

static const tl_circle *limb_circle(const tl_oval *o, int limb) {
    return limb == TL_LIMB_SUN ? &o->sun : &o->moon;
}

void tl_limb_oval_stretch(const tl_oval *o, double dx, double dy, double *u, double *v) {
    *u = (1 + o->p) * dx + o->q * dy;
    *v = o->q * dx + (1 - o->p) * dy;
}

void tl_limb_oval_unstretch(const tl_oval *o, double u, double v, double *dx, double *dy) {
    double det = 1 - o->p * o->p - o->q * o->q;
    *dx = ((1 - o->p) * u - o->q * v) / det;
    *dy = (-o->q * u + (1 + o->p) * v) / det;
}

double tl_limb_oval_distance(const tl_oval *o, int limb, double x, double y) {
    const tl_circle *c = limb_circle(o, limb);
    double u, v;
    tl_limb_oval_stretch(o, x - c->x, y - c->y, &u, &v);
    return sqrt(u * u + v * v) - c->r; /* hypot guards against overflow, at a price */
}

void tl_limb_oval_point(const tl_oval *o, int limb, double angle, double *x, double *y, double *nx,
                        double *ny) {
    const tl_circle *c = limb_circle(o, limb);
    double ux = cos(angle), uy = sin(angle), dx, dy, gx, gy;
    tl_limb_oval_unstretch(o, c->r * ux, c->r * uy, &dx, &dy);
    tl_limb_oval_stretch(o, ux, uy, &gx, &gy); /* M is symmetric */
    double length = sqrt(gx * gx + gy * gy);
    *x = c->x + dx;
    *y = c->y + dy;
    *nx = gx / length;
    *ny = gy / length;
}

double tl_limb_oval_flattening(const tl_oval *o) {
    double e = hypot(o->p, o->q);
    return (1 - e) / (1 + e);
}

double tl_limb_oval_longer(const tl_oval *o, double r) {
    return r / (1 - hypot(o->p, o->q));
}

/* Derivatives of one point's distance by the place and size of its circle and the stretch; `at`:
 * which parameters these are. */
enum { SLOPES = 5, STRETCHED = 3 };
static double distance_slopes(const tl_oval *o, const tl_limb_point *point, double slope[SLOPES],
                              int at[SLOPES]) {
    const tl_circle *c = limb_circle(o, point->limb);
    double dx = point->x - c->x, dy = point->y - c->y, u, v, gx, gy;
    tl_limb_oval_stretch(o, dx, dy, &u, &v);
    double length = fmax(sqrt(u * u + v * v), 1e-9);
    u /= length;
    v /= length;
    tl_limb_oval_stretch(o, u, v, &gx, &gy);
    slope[0] = -gx;
    slope[1] = -gy;
    slope[2] = -1;
    slope[STRETCHED] = u * dx - v * dy;
    slope[STRETCHED + 1] = u * dy + v * dx;
    for (int i = 0; i < STRETCHED; i++)
        at[i] = (point->limb == TL_LIMB_SUN ? TL_SUN_X : TL_MOON_X) + i;
    at[STRETCHED] = STRETCH_P;
    at[STRETCHED + 1] = STRETCH_Q;
    return length - c->r;
}

/* Normal equations of one step: the points, then the priors. */
static void normal_equations(const tl_limb_point *point, size_t count, bool free_stretch,
                             const tl_oval *o, double a[PARAMS * PARAMS], double b[PARAMS]) {
    double sigma = fmax(POINT_PX, POINT_SHARE * o->sun.r);
    double weight = fmin(1, INDEPENDENT / (double)count) / (sigma * sigma);
    for (int i = 0; i < PARAMS * PARAMS; i++)
        a[i] = 0;
    for (int i = 0; i < PARAMS; i++)
        b[i] = 0;
    for (size_t k = 0; k < count; k++) {
        double slope[SLOPES];
        int at[SLOPES];
        const double d = distance_slopes(o, &point[k], slope, at);
        for (int i = 0; i < (free_stretch ? SLOPES : STRETCHED); i++) {
            b[at[i]] -= weight * slope[i] * d;
            for (int j = 0; j < (free_stretch ? SLOPES : STRETCHED); j++)
                a[at[i] * PARAMS + at[j]] += weight * slope[i] * slope[j];
        }
    }
    const double fixed = 1e12;
    double stretch = free_stretch ? 1 / (STRETCH_SIGMA * STRETCH_SIGMA) : fixed;
    a[STRETCH_P * (PARAMS + 1)] += stretch;
    a[STRETCH_Q * (PARAMS + 1)] += stretch;
    b[STRETCH_P] -= free_stretch ? stretch * o->p : 0;
    b[STRETCH_Q] -= free_stretch ? stretch * o->q : 0;
    if (o->moon.r > 0) {
        double spread = RATIO_SIGMA * o->sun.r, w = 1 / (spread * spread);
        double d = o->moon.r - RATIO * o->sun.r;
        a[TL_MOON_R * (PARAMS + 1)] += w;
        a[TL_SUN_R * (PARAMS + 1)] += w * RATIO * RATIO;
        a[TL_MOON_R * PARAMS + TL_SUN_R] -= w * RATIO;
        a[TL_SUN_R * PARAMS + TL_MOON_R] -= w * RATIO;
        b[TL_MOON_R] -= w * d;
        b[TL_SUN_R] += w * RATIO * d;
    } else {
        for (int i = TL_MOON_X; i <= TL_MOON_R; i++)
            a[i * (PARAMS + 1)] += fixed;
    }
    double hold = 1e-4 / (o->sun.r * o->sun.r); /* what nothing else holds stays where it is */
    for (int i = 0; i < PARAMS; i++)
        a[i * (PARAMS + 1)] += hold;
}

bool tl_limb_oval_fit(const tl_limb_point *point, size_t count, bool free_stretch, tl_oval *oval) {
    tl_oval o = *oval;
    tl_base_quiet_libraries();
    for (int step = 0; step < STEPS; step++) {
        double a[PARAMS * PARAMS], b[PARAMS];
        normal_equations(point, count, free_stretch, &o, a, b);
        gsl_matrix_view matrix = gsl_matrix_view_array(a, PARAMS, PARAMS);
        gsl_vector_view vector = gsl_vector_view_array(b, PARAMS);
        if (gsl_linalg_cholesky_decomp1(&matrix.matrix) != 0 ||
            gsl_linalg_cholesky_svx(&matrix.matrix, &vector.vector) != 0)
            return false;
        o.sun.x += b[TL_SUN_X], o.sun.y += b[TL_SUN_Y], o.sun.r += b[TL_SUN_R];
        o.moon.x += b[TL_MOON_X], o.moon.y += b[TL_MOON_Y], o.moon.r += b[TL_MOON_R];
        o.p += b[STRETCH_P], o.q += b[STRETCH_Q];
        bool possible = o.sun.r > 0 && o.moon.r >= 0 && hypot(o.p, o.q) < STRETCH_MAX &&
                        isfinite(o.sun.x + o.sun.y + o.sun.r + o.moon.x + o.moon.y + o.moon.r);
        if (!possible)
            return false;
        if (gsl_blas_dnrm2(&vector.vector) < STEP_ENOUGH_PX)
            break;
    }
    if (!free_stretch) { /* the step left a trace of rounding */
        o.p = oval->p;
        o.q = oval->q;
    }
    *oval = o;
    return true;
}
