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

#include "base/base_internal.h"
#include "limb/fit_internal.h"

enum { EDGES_MIN = 12, ARC_BINS = 72 };
/* Moon/Sun ratio where no almanac is asked: topocentric values run from 0.90 to 1.08. */
static const double RATIO_ANY = 1.0, RATIO_ANY_SIGMA = 0.035;
/* For the raw ratio: so weak that only a degenerate arc feels it. */
static const double RATIO_RAW_SIGMA = 0.5;
/* A-priori size of the edge shift: a share of the blur, more where the bright side is clipped.
 * Our own choice, checked by the simulated frames. */
static const double SHIFT_PER_BLUR = 0.15, SHIFT_PER_BLUR_CLIPPED = 1.5, SHIFT_MIN_PX = 0.02;

/* Of the shifts taken out, see darkening.c; beyond 48 arcsec of edge width, where the formula for
 * the solar limb is carried on, in proportion more. */
static const double DARKENING_ERROR = 0.15, DARKENING_FWHM_MAX_ARCSEC = 48;

/* The two edges of a thin blurred crescent draw each other; what is left of it grows steeply as
 * they close up. Our own choice, after drawn crescents of 3 to 10 edge widths. */
static const double OVERLAP_SHARE = 1.5, OVERLAP_WIDTHS = 3;

/* Where nearly all edges are clipped the blur no longer shows: glare may have moved them by this
 * share of the solar radius (drawn frames, up to 60 times over-exposed). */
static const double ALL_CLIPPED = 0.9, BURNT_GLARE = 0.015;

/* A lens that distorts leaves residuals that swing slowly along the limb; the separation is then
 * off by some 2 to 5 times their rms (drawn frames, 0.5 to 2 % of distortion). */
static const double SWING_SHARE = 3, SWING_WINDOW_RAD = 10 * TL_DEG;

/* What is known of how far edges and limbs lie apart, px: add to the edges' radii. */
typedef struct known_shifts {
    double darkening_error; /* of what comes from limb darkening */
    double sun_in, moon_in;
    double sigma; /* a-priori size of the shift that is not known */
} known_shifts;

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

static double unexplained_ratio(const tl_fit_data *d, const double raw[TL_LIMB_PARAMS],
                                double raw_sigma, const known_shifts *shifts) {
    double sun_r = raw[TL_SUN_R] + shifts->sun_in;
    double off = fabs((raw[TL_MOON_R] + shifts->moon_in) / sun_r - d->k);
    double explained = hypot(raw_sigma, d->prior_sigma / sun_r);
    return off > TENSION_TOLERATED * explained ? off : 0;
}

/*
 * The lunar limb stands before a disc that darkens outwards: its steepest place is drawn towards
 * the brighter side by sigma^2 times the slope of ln I along the normal (closed form for a blurred
 * step on a sloping plateau, first order). A burnt-out disc shows no slope.
 */
static void undo_lunar_shift(const tl_limb *limb, tl_fit_data *d) {
    const double *c = limb->circle;
    double sum = 0, count = 0;
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
        sum += fabs(shift);
        count++;
        d->x[i] -= shift * mx / from_moon;
        d->y[i] -= shift * my / from_moon;
    }
    d->lunar_shift_px = count > 0 ? sum / count : 0;
}

/*
 * Rms of what is smooth in the residuals of one limb: means over windows of 10 degrees, less what
 * chance leaves in such a mean.
 */
static double swing_px(const tl_fit_data *d, int limb) {
    double sum = 0, windows = 0;
    for (size_t first = 0; first < d->count;) {
        size_t i = first;
        double mean = 0, square = 0, n = 0;
        double from = d->angle[first];
        for (; i < d->count && fabs(d->angle[i] - from) < SWING_WINDOW_RAD; i++) {
            if (d->edge[i].limb != limb || d->weight[i] <= 0)
                continue;
            mean += d->residual[i];
            square += d->residual[i] * d->residual[i];
            n++;
        }
        if (n > 3) {
            mean /= n;
            sum += mean * mean - (square / n - mean * mean) / (n - 1);
            windows++;
        }
        first = i;
    }
    return windows > 0 ? sqrt(fmax(0, sum / windows)) : 0;
}

/*
 * Shifts of the edges that differ along the limb move a centre, and no ratio tells: clipping moves
 * the lunar edge further where the disc behind is brighter, darkening likewise, two edges close to
 * each other, and a lens that distorts. Together, px.
 */
static double uneven_sigma_px(const tl_limb *limb, const tl_fit_data *d, double crescent_px) {
    double width = hypot(limb->blur_px, limb->filter_px);
    double glare = limb->clipped_edge > ALL_CLIPPED ? BURNT_GLARE * limb->circle[TL_SUN_R] : 0;
    double clipped = SHIFT_PER_BLUR_CLIPPED * limb->clipped_edge * fmax(limb->blur_px, glare);
    double darkened = DARKENING_ERROR * d->lunar_shift_px;
    double closeness = OVERLAP_WIDTHS * width / fmax(crescent_px, width);
    double overlap = OVERLAP_SHARE * width * pow(closeness, 4);
    double swing = SWING_SHARE * hypot(swing_px(d, TL_LIMB_SUN), swing_px(d, TL_LIMB_MOON));
    return hypot(hypot(clipped, darkened), hypot(overlap, swing));
}

/* Offset, separation, their errors and the circles' final radii, from edges to limbs. */
static void fill_result(tl_limb *limb, const tl_fit_data *d, const tl_limb_prior *prior,
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
    limb->flattening = prior->flattening > 0 ? prior->flattening : 1;
    limb->flat_x = prior->flattening > 0 ? prior->zenith_x : 0;
    limb->flat_y = prior->flattening > 0 ? prior->zenith_y : 1;
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
        r_sigma = fmin(r_sigma, shifts->sigma);
    r_sigma = hypot(r_sigma, shifts->darkening_error * by_sun);
    double s = hypot(ox, oy), ux = s > 0 ? ox / s : 1, uy = s > 0 ? oy / s : 0;
    double crescent = sun_r * (1 + s) - moon_r;
    double along = hypot(s * r_sigma / r, TENSION_SHARE * unexplained);
    along = hypot(along, uneven_sigma_px(limb, d, crescent) / r);
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
static void fill_edges(tl_limb *limb, const tl_fit_data *d, const double circle[TL_LIMB_PARAMS]) {
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

static void set_prior(tl_fit_data *d, double k, double sigma, double shift_sigma_px, double r) {
    d->k = k;
    d->prior_sigma = hypot(sigma * r, (1 + k) * shift_sigma_px);
    d->prior_const = 0;
}

static known_shifts find_shifts(const tl_limb *limb, double r, bool has_moon) {
    double edge_sigma = hypot(limb->blur_px, limb->filter_px);
    double curvature = curvature_shift(r, limb->blur_px), unclipped = 1 - limb->clipped_edge;
    double darkening = tl_limb_darkening_shift(limb->light, r, edge_sigma) * unclipped;
    double fwhm_arcsec = TL_LIMB_FWHM * edge_sigma * 960 / r;
    double doubt = DARKENING_ERROR * fmax(1, fwhm_arcsec / DARKENING_FWHM_MAX_ARCSEC);
    double per_blur = SHIFT_PER_BLUR + SHIFT_PER_BLUR_CLIPPED * limb->clipped_edge;
    return (known_shifts){.darkening_error = doubt * darkening,
                          .sun_in = darkening + curvature,
                          .moon_in = has_moon ? curvature : 0,
                          .sigma = SHIFT_MIN_PX + per_blur * limb->blur_px};
}

static void fit_data_free(tl_fit_data *d) {
    free(d->x);
    free(d->y);
    free(d->weight);
    free(d->residual);
    free(d->scratch);
    free(d->angle);
}

/* Edge points with the lunar shift and the flattening taken out, and room to work. */
static tl_status fit_data_make(const tl_limb *limb, const tl_limb_prior *prior, tl_fit_data *d) {
    size_t count = limb->edge_count, per_limb[2] = {0};
    *d = (tl_fit_data){
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
    d->angle = malloc((count + 1) * sizeof(double));
    if (!d->angle || !d->x || !d->y || !d->weight || !d->residual || !d->scratch) {
        fit_data_free(d);
        return TL_ERR_MEMORY;
    }
    for (size_t i = 0; i < count; i++) {
        d->x[i] = limb->edge[i].x_px;
        d->y[i] = limb->edge[i].y_px;
    }
    if (d->params == 6)
        undo_lunar_shift(limb, d);
    for (size_t i = 0; i < count; i++) {
        const double *c =
            limb->circle + (limb->edge[i].limb == TL_LIMB_MOON ? TL_MOON_X : TL_SUN_X);
        d->angle[i] = atan2(d->y[i] - c[1], d->x[i] - c[0]);
        flatten_point(prior, false, &d->x[i], &d->y[i]);
    }
    return TL_OK;
}

/* The ratio as the edges show it; `circle` becomes the fit without an almanac. */
static tl_status fit_raw(tl_fit_data *d, double circle[TL_LIMB_PARAMS], double *ratio,
                         double *ratio_sigma) {
    double covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS];
    set_prior(d, RATIO_ANY, RATIO_RAW_SIGMA, 0, circle[TL_SUN_R]);
    tl_status status = tl_limb_fit_robust(d, circle);
    if (status == TL_OK)
        status = tl_limb_fit_covariance(d, circle, covariance);
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
static tl_status fit_final(tl_fit_data *d, const tl_limb_prior *prior, const known_shifts *shifts,
                           double raw_sigma, double circle[TL_LIMB_PARAMS], double *unexplained,
                           double covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS]) {
    bool known = prior->ratio > 0;
    set_prior(d, known ? prior->ratio : RATIO_ANY, known ? prior->ratio_sigma : RATIO_ANY_SIGMA,
              shifts->sigma, circle[TL_SUN_R]);
    d->prior_const = shifts->moon_in - d->k * shifts->sun_in;
    *unexplained = known && d->params == 6 ? unexplained_ratio(d, circle, raw_sigma, shifts) : 0;
    if (*unexplained > 0) /* no compromise between the two: a tenth lets the almanac win */
        d->prior_sigma = 0.1 * fmin(d->prior_sigma, raw_sigma * circle[TL_SUN_R]);
    tl_status status = tl_limb_fit_robust(d, circle);
    return status == TL_OK ? tl_limb_fit_covariance(d, circle, covariance) : status;
}

tl_status tl_limb_fit(tl_limb *limb, const tl_limb_prior *prior) {
    double circle[TL_LIMB_PARAMS], covariance[TL_LIMB_PARAMS][TL_LIMB_PARAMS];
    double ratio = 0, ratio_sigma = 0, unexplained = 0;
    tl_fit_data d;
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
