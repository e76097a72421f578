/*
 * Both circles together: geometric least squares (GSL, Levenberg-Marquardt) with Tukey's
 * biweight, and a covariance that follows from the scatter seen along the limb.
 *
 * The residual of an edge point is its distance from its circle. What is known of the radii
 * enters as one more residual: the edges as observed are moved by blur and clipping, the solar
 * one outwards by a shift d and the lunar one inwards by the same, so that
 *     r_moon,edge - k r_sun,edge = -(1 + k) d,       r_sun = (r_sun,edge + r_moon,edge) / (1 + k).
 * Three more shifts are known and taken out first: limb darkening draws the steepest place of a
 * blurred solar limb inwards, and that of the lunar limb towards the disc's brighter side, and
 * blur draws every curved edge towards its centre.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit_nlinear.h>
#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include "base/base_internal.h"
#include "limb/limb_internal.h"

enum { ROBUST_ROUNDS = 12, STEPS_MAX = 60, EDGES_MIN = 12, LAG_MAX = 80, ARC_BINS = 72 };
/* Tukey's biweight keeps 95 % efficiency for Gaussian errors with this constant: P. J. Huber &
 * E. M. Ronchetti, Robust Statistics, 2nd ed. (2009), section 4.8. */
static const double TUKEY = 4.685;
static const double MAD_TO_SIGMA = 1.4826; /* for a Gaussian: 1 / Phi^-1(3/4) */
static const double SCALE_MIN_PX = 0.005;  /* JPEG and 8 bits leave no less */
/* Moon/Sun ratio where no almanac is asked: topocentric values run from 0.90 to 1.08. */
static const double RATIO_ANY = 1.0, RATIO_ANY_SIGMA = 0.035;
/* For the raw ratio: so weak that only a degenerate arc feels it. */
static const double RATIO_RAW_SIGMA = 0.5;
/* A-priori size of the edge shift: a share of the blur, more where the bright side is clipped.
 * Our own choice, checked by the simulated frames. */
static const double SHIFT_PER_BLUR = 0.15, SHIFT_PER_BLUR_CLIPPED = 1.5, SHIFT_MIN_PX = 0.02;

static const double DARKENING_ERROR = 0.15; /* of the shift taken out, see darkening.c */

typedef struct fit_data {
    const tl_limb_edge *edge;
    double *x, *y;  /* edge points with the flattening taken out */
    double *weight; /* 1/variance per edge, 0 = left out; one more for the prior */
    double *residual, *scratch;
    size_t count;
    size_t params;         /* 6, or 3 without a Moon */
    double k, prior_sigma; /* prior residual: (moon radius - k sun radius + const) / sigma */
    double prior_const;
    double scale[2]; /* robust scatter per limb, px */
} fit_data;

/* What is known of how far edges and limbs lie apart, px: add to the edges' radii. */
typedef struct known_shifts {
    double darkening; /* part of sun_in that comes from limb darkening */
    double sun_in, moon_in;
    double sigma; /* a-priori size of the shift that is not known */
} known_shifts;

static int fit_residual(const gsl_vector *p, void *context, gsl_vector *f) {
    const fit_data *d = context;
    for (size_t i = 0; i < d->count; i++) {
        size_t at = d->edge[i].limb == TL_LIMB_MOON ? 3 : 0;
        double dx = d->x[i] - gsl_vector_get(p, at), dy = d->y[i] - gsl_vector_get(p, at + 1);
        gsl_vector_set(f, i, hypot(dx, dy) - gsl_vector_get(p, at + 2));
    }
    if (d->params == 6) {
        double off = gsl_vector_get(p, TL_MOON_R) - d->k * gsl_vector_get(p, TL_SUN_R);
        gsl_vector_set(f, d->count, off + d->prior_const);
    }
    return GSL_SUCCESS;
}

static int fit_jacobian(const gsl_vector *p, void *context, gsl_matrix *jacobian) {
    const fit_data *d = context;
    gsl_matrix_set_zero(jacobian);
    for (size_t i = 0; i < d->count; i++) {
        size_t at = d->edge[i].limb == TL_LIMB_MOON ? 3 : 0;
        double dx = d->x[i] - gsl_vector_get(p, at), dy = d->y[i] - gsl_vector_get(p, at + 1);
        double length = fmax(hypot(dx, dy), 1e-9);
        gsl_matrix_set(jacobian, i, at, -dx / length);
        gsl_matrix_set(jacobian, i, at + 1, -dy / length);
        gsl_matrix_set(jacobian, i, at + 2, -1);
    }
    if (d->params == 6) {
        gsl_matrix_set(jacobian, d->count, TL_MOON_R, 1);
        gsl_matrix_set(jacobian, d->count, TL_SUN_R, -d->k);
    }
    return GSL_SUCCESS;
}

static size_t fit_rows(const fit_data *d) {
    return d->count + (d->params == 6);
}

/* One weighted fit from `circle`, which is updated. */
static tl_status fit_once(fit_data *d, double circle[TL_LIMB_PARAMS]) {
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    gsl_multifit_nlinear_fdf fdf = {
        .f = fit_residual, .df = fit_jacobian, .n = fit_rows(d), .p = d->params, .params = d};
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, fdf.n, fdf.p);
    if (!work)
        return TL_ERR_MEMORY;
    gsl_vector_view start = gsl_vector_view_array(circle, d->params);
    gsl_vector_view weight = gsl_vector_view_array(d->weight, fdf.n);
    int info;
    tl_status status = TL_ERR_NO_FIT;
    if (gsl_multifit_nlinear_winit(&start.vector, &weight.vector, &fdf, work) == GSL_SUCCESS) {
        gsl_multifit_nlinear_driver(STEPS_MAX, 1e-9, 1e-9, 0, NULL, NULL, &info, work);
        const gsl_vector *found = gsl_multifit_nlinear_position(work);
        bool finite = true;
        for (size_t i = 0; i < d->params; i++)
            finite = finite && isfinite(gsl_vector_get(found, i));
        if (finite && gsl_vector_get(found, 2) > 0) {
            for (size_t i = 0; i < d->params; i++)
                circle[i] = gsl_vector_get(found, i);
            status = TL_OK;
        }
    }
    gsl_multifit_nlinear_free(work);
    return status;
}

/* Residuals at `circle`; the robust scatter of each limb, in units of the relative errors. */
static void measure_scatter(fit_data *d, const double circle[TL_LIMB_PARAMS]) {
    double *scratch = d->scratch;
    for (size_t i = 0; i < d->count; i++) {
        size_t at = d->edge[i].limb == TL_LIMB_MOON ? 3 : 0;
        d->residual[i] = hypot(d->x[i] - circle[at], d->y[i] - circle[at + 1]) - circle[at + 2];
    }
    for (int limb = 0; limb < 2; limb++) {
        size_t n = 0;
        for (size_t i = 0; i < d->count; i++)
            if (d->edge[i].limb == limb)
                scratch[n++] = fabs(d->residual[i]) / d->edge[i].sigma_relative;
        gsl_sort(scratch, 1, n);
        double mad = n > 0 ? gsl_stats_median_from_sorted_data(scratch, 1, n) : 0;
        d->scale[limb] = fmax(MAD_TO_SIGMA * mad, SCALE_MIN_PX);
    }
}

static void set_weights(fit_data *d) {
    for (size_t i = 0; i < d->count; i++) {
        double sigma = d->scale[d->edge[i].limb] * d->edge[i].sigma_relative;
        double u = d->residual[i] / (TUKEY * sigma), w = 1 - u * u;
        d->weight[i] = fabs(u) < 1 ? w * w / (sigma * sigma) : 0;
    }
    d->weight[d->count] = 1 / (d->prior_sigma * d->prior_sigma);
}

/* Iterate weights and fit until the circles rest. */
static tl_status fit_robust(fit_data *d, double circle[TL_LIMB_PARAMS]) {
    for (int round = 0; round < ROBUST_ROUNDS; round++) {
        double before[TL_LIMB_PARAMS], moved = 0;
        memcpy(before, circle, sizeof before);
        measure_scatter(d, circle);
        set_weights(d);
        tl_status status = fit_once(d, circle);
        if (status != TL_OK)
            return status;
        for (size_t i = 0; i < d->params; i++)
            moved = fmax(moved, fabs(circle[i] - before[i]));
        if (moved < 1e-4)
            break;
    }
    measure_scatter(d, circle);
    set_weights(d);
    return TL_OK;
}

/*
 * How many neighbouring edge points share one error (seeing, JPEG blocks, a limb that is not
 * quite a circle): 1 + 2 * sum of the autocorrelation of the residuals along the limb.
 */
static double correlation_length(const fit_data *d, int limb) {
    double sum = 0, power = 0;
    size_t n = 0;
    for (size_t i = 0; i < d->count; i++) {
        if (d->edge[i].limb != limb || d->weight[i] <= 0)
            continue;
        power += d->residual[i] * d->residual[i];
        n++;
    }
    if (n < 8 || power <= 0)
        return 1;
    for (size_t lag = 1; lag < LAG_MAX && lag < n / 3; lag++) {
        double product = 0;
        for (size_t i = 0; i + lag < d->count; i++) {
            size_t j = i + lag;
            if (d->edge[i].limb != limb || d->edge[j].limb != limb)
                continue;
            if (d->weight[i] <= 0 || d->weight[j] <= 0)
                continue;
            product += d->residual[i] * d->residual[j];
        }
        double correlation = product / power;
        if (correlation < 0.05)
            break;
        sum += correlation;
    }
    return 1 + 2 * sum;
}

/*
 * By how much the variance of a limb's mean exceeds what independent points with the robust
 * scatter would give: neighbours share errors, and the points kept may scatter more widely than
 * their middle half.
 */
static double variance_factor(const fit_data *d, int limb) {
    double sum = 0, weight = 0;
    for (size_t i = 0; i < d->count; i++) {
        if (d->edge[i].limb != limb || d->weight[i] <= 0)
            continue;
        double u = d->residual[i] / (d->scale[limb] * d->edge[i].sigma_relative);
        sum += u * u;
        weight += 1;
    }
    double tails = weight > 0 ? fmax(1, sum / weight) : 1;
    return tails * correlation_length(d, limb);
}

/* Covariance of the circles: inverse of the weighted normal matrix, neighbours' errors shared. */
static tl_status fit_covariance(const fit_data *d, double circle[TL_LIMB_PARAMS],
                                double covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS]) {
    size_t rows = fit_rows(d), n = d->params;
    gsl_matrix *jacobian = gsl_matrix_alloc(rows, n), *normal = gsl_matrix_alloc(n, n);
    tl_status status = TL_ERR_MEMORY;
    if (!jacobian || !normal)
        goto end;
    gsl_vector_view at = gsl_vector_view_array(circle, n);
    fit_jacobian(&at.vector, (void *)(uintptr_t)d, jacobian);
    double spread[2] = {variance_factor(d, TL_LIMB_SUN), variance_factor(d, TL_LIMB_MOON)};
    for (size_t i = 0; i < rows; i++) {
        double weight = d->weight[i];
        if (i < d->count)
            weight /= spread[d->edge[i].limb];
        gsl_vector_view row = gsl_matrix_row(jacobian, i);
        gsl_vector_scale(&row.vector, sqrt(weight));
    }
    gsl_blas_dsyrk(CblasLower, CblasTrans, 1, jacobian, 0, normal);
    status = TL_ERR_NO_FIT;
    if (gsl_linalg_cholesky_decomp1(normal) != GSL_SUCCESS)
        goto end;
    if (gsl_linalg_cholesky_invert(normal) != GSL_SUCCESS)
        goto end;
    memset(covariance, 0, sizeof(double[TL_LIMB_PARAMS][TL_LIMB_PARAMS]));
    for (size_t i = 0; i < n; i++)
        for (size_t j = 0; j < n; j++)
            covariance[i][j] = gsl_matrix_get(normal, i, j);
    status = TL_OK;
end:
    gsl_matrix_free(jacobian);
    gsl_matrix_free(normal);
    return status;
}

/* A blurred disc is steepest at about r - sigma^2 / (2 r): closed form, first order. */
static double curvature_shift(double radius_px, double blur_px) {
    return blur_px * blur_px / (2 * radius_px);
}

/* The mild affine map that refraction makes, taken out of or put back into a point. */
static void flatten_point(const tl_limb_prior *prior, bool back, double *x, double *y) {
    if (prior->flattening <= 0)
        return;
    double up = *x * prior->zenith_x + *y * prior->zenith_y;
    double stretch = (back ? prior->flattening : 1 / prior->flattening) - 1;
    *x += stretch * up * prior->zenith_x;
    *y += stretch * up * prior->zenith_y;
}

/*
 * The raw ratio may disagree with the known one by more than scatter and edge shift explain: then
 * the picture's geometry is off (a lens that distorts, a disc cut by the eyepiece), and no shift
 * of the edges. The almanac is right and the lunar circle gets its size; what is unexplained goes
 * into the separation's error, 0.3 of it by our own choice: about what distorted arcs of 60
 * degrees show.
 */
static const double TENSION_TOLERATED = 3, TENSION_SHARE = 0.3;

static double unexplained_ratio(const fit_data *d, const double raw[TL_LIMB_PARAMS],
                                double raw_sigma, const known_shifts *shifts) {
    double sun_r = raw[TL_SUN_R] + shifts->sun_in;
    double off = fabs((raw[TL_MOON_R] + shifts->moon_in) / sun_r - d->k);
    double explained = hypot(raw_sigma, d->prior_sigma / sun_r);
    return fmax(0, off - TENSION_TOLERATED * explained);
}

/*
 * The lunar limb stands before a disc that darkens outwards: its steepest place is drawn towards
 * the brighter side by sigma^2 times the slope of ln I along the normal (closed form for a blurred
 * step on a sloping plateau, first order). A burnt-out disc shows no slope.
 */
static void undo_lunar_shift(const tl_limb *limb, fit_data *d) {
    const double *c = limb->circle;
    double variance = limb->blur_px * limb->blur_px + limb->filter_px * limb->filter_px;
    for (size_t i = 0; i < d->count; i++) {
        if (d->edge[i].limb != TL_LIMB_MOON)
            continue;
        double sx = d->x[i] - c[TL_SUN_X], sy = d->y[i] - c[TL_SUN_Y], from_sun = hypot(sx, sy);
        double mx = d->x[i] - c[TL_MOON_X], my = d->y[i] - c[TL_MOON_Y], from_moon = hypot(mx, my);
        if (from_sun <= 0 || from_moon <= 0)
            continue;
        double slope = tl_limb_darkening_slope(limb->light, from_sun / c[TL_SUN_R]) / c[TL_SUN_R];
        double along = (sx * mx + sy * my) / (from_sun * from_moon);
        double shift = variance * slope * along * (1 - limb->clipped_edge);
        double most = 0.5 * sqrt(variance); /* beyond that the first order fails */
        shift = fmax(-most, fmin(most, shift));
        d->x[i] -= shift * mx / from_moon;
        d->y[i] -= shift * my / from_moon;
    }
}

/* Offset, separation, their errors and the circles' final radii, from edges to limbs. */
static void fill_result(tl_limb *limb, const fit_data *d, const tl_limb_prior *prior,
                        const double circle[TL_LIMB_PARAMS],
                        double covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS],
                        const known_shifts *shifts, double unexplained) {
    bool known = prior->ratio > 0 && d->params == 6;
    double sun_r = circle[TL_SUN_R] + shifts->sun_in, moon_r = circle[TL_MOON_R] + shifts->moon_in;
    double k = prior->ratio, r = sun_r;
    limb->edge_shift_px = 0;
    if (known) {
        r = (sun_r + moon_r) / (1 + k);
        limb->edge_shift_px = sun_r - r;
        moon_r = k * r;
    }
    memcpy(limb->circle, circle, sizeof limb->circle);
    memcpy(limb->covariance, covariance, sizeof limb->covariance);
    limb->circle[TL_SUN_R] = r;
    flatten_point(prior, true, &limb->circle[TL_SUN_X], &limb->circle[TL_SUN_Y]);
    if (d->params < 6)
        return;
    limb->circle[TL_MOON_R] = moon_r;
    flatten_point(prior, true, &limb->circle[TL_MOON_X], &limb->circle[TL_MOON_Y]);

    double ox = (circle[TL_MOON_X] - circle[TL_SUN_X]) / r;
    double oy = (circle[TL_MOON_Y] - circle[TL_SUN_Y]) / r;
    double by_sun = known ? 1 / (1 + k) : 1, by_moon = known ? 1 / (1 + k) : 0;
    double jx[TL_LIMB_PARAMS] = {-1 / r, 0, -ox * by_sun / r, 1 / r, 0, -ox * by_moon / r};
    double jy[TL_LIMB_PARAMS] = {0, -1 / r, -oy * by_sun / r, 0, 1 / r, -oy * by_moon / r};
    double xx = 0, xy = 0, yy = 0;
    for (int i = 0; i < TL_LIMB_PARAMS; i++) {
        for (int j = 0; j < TL_LIMB_PARAMS; j++) {
            xx += jx[i] * covariance[i][j] * jx[j];
            xy += jx[i] * covariance[i][j] * jy[j];
            yy += jy[i] * covariance[i][j] * jy[j];
        }
    }
    /* the radius itself: from the ratio's error, or, with no almanac, from an unknown shift */
    double r_sigma = known ? r * prior->ratio_sigma / (1 + k) : d->prior_sigma / (1 + d->k);
    if (!known)
        r_sigma = fmin(r_sigma, SHIFT_MIN_PX + SHIFT_PER_BLUR * limb->blur_px +
                                    SHIFT_PER_BLUR_CLIPPED * limb->clipped_edge * limb->blur_px);
    r_sigma = hypot(r_sigma, DARKENING_ERROR * shifts->darkening * by_sun);
    double s = hypot(ox, oy), ux = s > 0 ? ox / s : 1, uy = s > 0 ? oy / s : 0;
    double along = hypot(s * r_sigma / r, TENSION_SHARE * unexplained);
    xx += ux * ux * along * along;
    xy += ux * uy * along * along;
    yy += uy * uy * along * along;
    limb->offset_x_sr = ox;
    limb->offset_y_sr = oy;
    limb->offset_xx = xx;
    limb->offset_xy = xy;
    limb->offset_yy = yy;
    limb->separation_sr = s;
    limb->separation_sigma_sr = sqrt(fmax(0, ux * ux * xx + 2 * ux * uy * xy + uy * uy * yy));
}

/* Residuals, used points, arcs into the edge list and the frame's numbers. */
static void fill_edges(tl_limb *limb, const fit_data *d, const double circle[TL_LIMB_PARAMS]) {
    bool hit[2][ARC_BINS] = {{false}};
    double sum = 0;
    size_t used = 0;
    for (size_t i = 0; i < d->count; i++) {
        tl_limb_edge *e = &limb->edge[i];
        e->residual_px = d->residual[i];
        e->used = d->weight[i] > 0;
        if (!e->used)
            continue;
        size_t at = e->limb == TL_LIMB_MOON ? 3 : 0;
        double angle = atan2(d->y[i] - circle[at + 1], d->x[i] - circle[at]) + TL_PI;
        hit[e->limb][(int)(angle / (2 * TL_PI) * ARC_BINS) % ARC_BINS] = true;
        sum += e->residual_px * e->residual_px;
        used++;
    }
    limb->residual_px = used > 0 ? sqrt(sum / (double)used) : 0;
    int bins[2] = {0};
    for (int i = 0; i < ARC_BINS; i++)
        for (int l = 0; l < 2; l++)
            bins[l] += hit[l][i];
    limb->arc_sun_rad = 2 * TL_PI * bins[TL_LIMB_SUN] / ARC_BINS;
    limb->arc_moon_rad = 2 * TL_PI * bins[TL_LIMB_MOON] / ARC_BINS;
}

static void set_prior(fit_data *d, double k, double sigma, double shift_sigma_px, double r) {
    d->k = k;
    d->prior_sigma = hypot(sigma * r, (1 + k) * shift_sigma_px);
    d->prior_const = 0;
}

static known_shifts find_shifts(const tl_limb *limb, double r, bool has_moon) {
    double edge_sigma = hypot(limb->blur_px, limb->filter_px);
    double curvature = curvature_shift(r, limb->blur_px), unclipped = 1 - limb->clipped_edge;
    double darkening = tl_limb_darkening_shift(limb->light, r, edge_sigma) * unclipped;
    double per_blur = SHIFT_PER_BLUR + SHIFT_PER_BLUR_CLIPPED * limb->clipped_edge;
    return (known_shifts){.darkening = darkening,
                          .sun_in = darkening + curvature,
                          .moon_in = has_moon ? curvature : 0,
                          .sigma = SHIFT_MIN_PX + per_blur * limb->blur_px};
}

static void fit_data_free(fit_data *d) {
    free(d->x);
    free(d->y);
    free(d->weight);
    free(d->residual);
    free(d->scratch);
}

/* Edge points with the lunar shift and the flattening taken out, and room to work. */
static tl_status fit_data_make(const tl_limb *limb, const tl_limb_prior *prior, fit_data *d) {
    size_t count = limb->edge_count, per_limb[2] = {0};
    *d = (fit_data){
        .edge = limb->edge, .count = count, .params = limb->circle[TL_MOON_R] > 0 ? 6 : 3};
    for (size_t i = 0; i < count; i++)
        per_limb[limb->edge[i].limb]++;
    if (per_limb[TL_LIMB_SUN] < EDGES_MIN || (d->params == 6 && per_limb[TL_LIMB_MOON] < EDGES_MIN))
        return TL_ERR_TOO_FEW;
    d->x = malloc((count + 1) * sizeof(double));
    d->y = malloc((count + 1) * sizeof(double));
    d->weight = calloc(count + 1, sizeof(double));
    d->residual = calloc(count + 1, sizeof(double));
    d->scratch = malloc((count + 1) * sizeof(double));
    if (!d->x || !d->y || !d->weight || !d->residual || !d->scratch) {
        fit_data_free(d);
        return TL_ERR_MEMORY;
    }
    for (size_t i = 0; i < count; i++) {
        d->x[i] = limb->edge[i].x_px;
        d->y[i] = limb->edge[i].y_px;
    }
    if (d->params == 6)
        undo_lunar_shift(limb, d);
    for (size_t i = 0; i < count; i++)
        flatten_point(prior, false, &d->x[i], &d->y[i]);
    return TL_OK;
}

/* The ratio as the edges show it; `circle` becomes the fit without an almanac. */
static tl_status fit_raw(fit_data *d, double circle[TL_LIMB_PARAMS], double *ratio,
                         double *ratio_sigma) {
    double covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS];
    set_prior(d, RATIO_ANY, RATIO_RAW_SIGMA, 0, circle[TL_SUN_R]);
    tl_status status = fit_robust(d, circle);
    if (status == TL_OK)
        status = fit_covariance(d, circle, covariance);
    if (status != TL_OK)
        return status;
    double k = circle[TL_MOON_R] / circle[TL_SUN_R];
    double variance = covariance[TL_MOON_R][TL_MOON_R] - 2 * k * covariance[TL_SUN_R][TL_MOON_R] +
                      k * k * covariance[TL_SUN_R][TL_SUN_R];
    *ratio = k;
    *ratio_sigma = sqrt(fmax(variance, 0)) / circle[TL_SUN_R];
    return TL_OK;
}

/* The joint fit proper, from the raw one. */
static tl_status fit_final(fit_data *d, const tl_limb_prior *prior, const known_shifts *shifts,
                           double raw_sigma, double circle[TL_LIMB_PARAMS], double *unexplained,
                           double covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS]) {
    bool known = prior->ratio > 0;
    set_prior(d, known ? prior->ratio : RATIO_ANY, known ? prior->ratio_sigma : RATIO_ANY_SIGMA,
              shifts->sigma, circle[TL_SUN_R]);
    d->prior_const = shifts->moon_in - d->k * shifts->sun_in;
    *unexplained = known && d->params == 6 ? unexplained_ratio(d, circle, raw_sigma, shifts) : 0;
    if (*unexplained > 0) /* no compromise between the two: a tenth lets the almanac win */
        d->prior_sigma = 0.1 * fmin(d->prior_sigma, raw_sigma * circle[TL_SUN_R]);
    tl_status status = fit_robust(d, circle);
    return status == TL_OK ? fit_covariance(d, circle, covariance) : status;
}

tl_status tl_limb_fit(tl_limb *limb, const tl_limb_prior *prior) {
    double circle[TL_LIMB_PARAMS], covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS];
    double ratio = 0, ratio_sigma = 0, unexplained = 0;
    fit_data d;
    tl_base_quiet_libraries();
    tl_status status = fit_data_make(limb, prior, &d);
    if (status != TL_OK)
        return status;
    memcpy(circle, limb->circle, sizeof circle);
    flatten_point(prior, false, &circle[TL_SUN_X], &circle[TL_SUN_Y]);
    flatten_point(prior, false, &circle[TL_MOON_X], &circle[TL_MOON_Y]);
    known_shifts shifts = find_shifts(limb, circle[TL_SUN_R], d.params == 6);
    if (d.params == 6)
        status = fit_raw(&d, circle, &ratio, &ratio_sigma);
    if (status == TL_OK)
        status = fit_final(&d, prior, &shifts, ratio_sigma, circle, &unexplained, covariance);
    if (status == TL_OK) {
        limb->ratio_raw = ratio;
        limb->ratio_raw_sigma = ratio_sigma;
        fill_edges(limb, &d, circle);
        fill_result(limb, &d, prior, circle, covariance, &shifts, unexplained);
    }
    fit_data_free(&d);
    return status;
}
