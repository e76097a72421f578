/*
 * Both circles together: geometric least squares (Levenberg-Marquardt) with Tukey's
 * biweight, and a covariance that follows from the scatter seen along the limb.
 *
 * The residual of an edge point is its distance from its circle, in the round picture. What is
 * known of the radii enters as one more residual: clipping, glare and a tone curve move the edges
 * as observed, the solar one outwards by a shift d and the lunar one inwards by the same, so that
 *     r_moon,edge - k r_sun,edge = -(1 + k) d,       r_sun = (r_sun,edge + r_moon,edge) / (1 + k).
 * One mild affine map, shared by both circles, makes the discs round: refraction's is known, that
 * of a tilted card is fitted.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "base/base_internal.h"
#include "limb/fit_internal.h"

enum { EDGES_MIN = 12, ARC_BINS = 72 };
static const double REST_PX = 1e-4; /* circles that move by less are at rest */
/* Moon/Sun ratio where no almanac is asked: topocentric values run from 0.90 to 1.08. */
static const double RATIO_ANY = 1.0, RATIO_ANY_SIGMA = 0.035;
/* For the raw ratio: so weak that only a degenerate arc feels it. */
static const double RATIO_RAW_SIGMA = 0.5;
/* A-priori size of the edge shift: a share of the blur, more where the bright side is clipped, and
 * where the limb darkening is not the published one: a tone curve is at work. Our own choice,
 * checked by the simulated frames. */
static const double SHIFT_PER_BLUR = 0.15, SHIFT_PER_BLUR_CLIPPED = 1.5, SHIFT_MIN_PX = 0.02;
static const double SHIFT_PER_BLUR_STRANGE = 0.6; /* times the darkening's power less 1 */

/* A picture held reduced holds means of coded values, whose light is not the mean light: edges move
 * by this share of a pixel held if they are sharp (drawn frames of blur 1 px held at a quarter). */
static const double SHIFT_PER_PIXEL = 0.08;

/* The two edges of a thin blurred crescent draw each other; what is left of it grows steeply as
 * they close up. Our own choice, after drawn crescents of 3 to 10 edge widths. */
static const double OVERLAP_SHARE = 1.5, OVERLAP_WIDTHS = 3;

/* Where nearly all edges are clipped the blur no longer shows: glare may have moved them by this
 * share of the solar radius (drawn frames, up to 60 times over-exposed). */
static const double ALL_CLIPPED = 0.9, BURNT_GLARE = 0.015;

/* The oval: held at what refraction makes of it, or, of a card, not known at all. */
static const double OVAL_KNOWN = 1e-7, OVAL_FREE = 0.3;

/*
 * The raw ratio may disagree with the known one by more than scatter and edge shift explain: then
 * the picture's geometry is off (a lens that distorts, a disc cut by the eyepiece), and no shift
 * of the edges. The almanac is right and the lunar circle gets its size. What is unexplained goes
 * into the separation's error: another radius moves the middle of an arc of half angle a by 1 - cos
 * a of the difference (closed form). By our own choice 2.2 times that, half of the difference at
 * most: about what distorted arcs of 60 degrees show.
 */
static const double TENSION_TOLERATED = 3, TENSION_SHARE = 2.2, TENSION_SHARE_MAX = 0.5;

/* The map of fit_internal.h as (q1, q2), from and to the axes of a disc. */
static void oval_to_map(double flattening, double flat_x, double flat_y, double q[2]) {
    double size = 2 * (1 - flattening) / (1 + flattening);
    q[0] = size * (flat_x * flat_x - flat_y * flat_y);
    q[1] = size * 2 * flat_x * flat_y;
}

static void map_to_oval(const double q[2], tl_limb *limb) {
    double half = 0.5 * hypot(q[0], q[1]), angle = 0.5 * atan2(q[1], q[0]);
    limb->flattening = (1 - half) / (1 + half);
    limb->flat_x = half > 0 ? cos(angle) : 0;
    limb->flat_y = half > 0 ? sin(angle) : 1;
}

/* The inverse of the map. */
static void map_back(const double q[2], double m[2][2]) {
    double det = 1 - 0.25 * (q[0] * q[0] + q[1] * q[1]);
    m[0][0] = (1 - 0.5 * q[0]) / det;
    m[1][1] = (1 + 0.5 * q[0]) / det;
    m[0][1] = m[1][0] = -0.5 * q[1] / det;
}

static double unexplained_ratio(const tl_fit_data *d, const double raw[TL_FIT_PARAMS_MAX],
                                double raw_sigma) {
    double off = fabs(raw[TL_MOON_R] / raw[TL_SUN_R] - d->k);
    double explained = hypot(raw_sigma, d->prior_sigma / raw[TL_SUN_R]);
    return off > TENSION_TOLERATED * explained ? off : 0;
}

/* Without an almanac's ratio nothing vouches for the picture's geometry; lenses distort by up to
 * some 1 % at the rim (common practice, no source), which shows as half of that or less. */
static const double GEOMETRY_UNKNOWN = 0.005;

/*
 * What moves both edges by the same amount in the picture of the model moves them by different ones
 * in pictures with a tone curve, and unevenly behind a lens that distorts: the separation is then
 * off by about as much (drawn frames of such kinds).
 */
static const double UNEVEN_SHARE = 0.6;

/*
 * Shifts of the edges that differ along the limb move a centre, and no ratio tells: clipping moves
 * the lunar edge further where the disc behind is brighter, and two edges close to each other.
 * Together, px.
 */
static double uneven_sigma_px(const tl_limb *limb, double crescent_px) {
    double width = limb->blur_px;
    double glare = limb->clipped_edge > ALL_CLIPPED ? BURNT_GLARE * limb->circle[TL_SUN_R] : 0;
    double clipped = SHIFT_PER_BLUR_CLIPPED * limb->clipped_edge * fmax(limb->blur_px, glare);
    double closeness = OVERLAP_WIDTHS * width / fmax(crescent_px, width);
    double overlap = OVERLAP_SHARE * width * pow(closeness, 4);
    return hypot(clipped, overlap);
}

/*
 * How far the limb may lie from where the model of its edge has it: a share of the blur, and more
 * where the profile seen is not the model's. A profile wrong by m of the disc's light moves the
 * edge of a step of half that light by up to m / 0.5 * sqrt(pi) blurs (a misfit that looks like a
 * shift). Both shares are our own choice, after drawn frames.
 */
static const double MODEL_SHARE = 0.002, MISFIT_SHARE = 1.5;

static double model_error_px(const tl_limb *limb) {
    return limb->blur_px * hypot(MODEL_SHARE, MISFIT_SHARE * limb->profile_misfit);
}

static double shift_sigma_px(const tl_limb *limb) {
    double strange = limb->darkening > 0 ? fabs(limb->darkening - 1) : 0;
    double per_blur = SHIFT_PER_BLUR + SHIFT_PER_BLUR_STRANGE * strange +
                      SHIFT_PER_BLUR_CLIPPED * limb->clipped_edge;
    return SHIFT_MIN_PX + per_blur * limb->blur_px + SHIFT_PER_PIXEL * limb->reduced_px;
}

/* The result's radii: from edges to limbs. */
typedef struct true_radii {
    double sun, moon, shift, by_sun, by_moon; /* the Sun's, and its change with either edge's */
} true_radii;

static true_radii solve_radii(const double p[TL_FIT_PARAMS_MAX], double k) {
    if (k <= 0)
        return (true_radii){.sun = p[TL_SUN_R], .moon = p[TL_MOON_R], .by_sun = 1};
    double r = (p[TL_SUN_R] + p[TL_MOON_R]) / (1 + k);
    return (true_radii){r, k * r, p[TL_SUN_R] - r, 1 / (1 + k), 1 / (1 + k)};
}

/* Offset and separation with their errors. */
static void fill_offset(tl_limb *limb, const tl_fit_data *d, const tl_limb_prior *prior,
                        const double p[TL_FIT_PARAMS_MAX],
                        double covariance[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX],
                        const true_radii *radii, double unexplained) {
    double r = radii->sun;
    double ox = (p[TL_MOON_X] - p[TL_SUN_X]) / r, oy = (p[TL_MOON_Y] - p[TL_SUN_Y]) / r;
    double jx[TL_FIT_BOTH] = {-1 / r, 0, -ox * radii->by_sun / r,
                              1 / r,  0, -ox * radii->by_moon / r};
    double jy[TL_FIT_BOTH] = {0, -1 / r, -oy * radii->by_sun / r,
                              0, 1 / r,  -oy * radii->by_moon / r};
    double xx = 0, xy = 0, yy = 0;
    for (int i = 0; i < TL_FIT_BOTH; i++) {
        for (int j = 0; j < TL_FIT_BOTH; j++) {
            xx += jx[i] * covariance[i][j] * jx[j];
            xy += jx[i] * covariance[i][j] * jy[j];
            yy += jy[i] * covariance[i][j] * jy[j];
        }
    }
    /* the radius itself: from the ratio's error, or, with no almanac, from an unknown shift */
    double r_sigma = prior->ratio > 0 ? r * prior->ratio_sigma / (1 + prior->ratio)
                                      : fmin(d->prior_sigma / (1 + d->k), shift_sigma_px(limb));
    double s = hypot(ox, oy), ux = s > 0 ? ox / s : 1, uy = s > 0 ? oy / s : 0;
    double crescent = p[TL_SUN_R] + s * r - p[TL_MOON_R];
    double share = fmin(TENSION_SHARE_MAX, TENSION_SHARE * (1 - cos(0.5 * limb->arc_moon_rad)));
    double along = hypot(s * r_sigma / r, share * unexplained);
    if (prior->ratio <= 0)
        along = hypot(along, GEOMETRY_UNKNOWN);
    /* less of the shift than chance makes of it on a short arc */
    double chance = limb->ratio_raw_sigma * r / (1 + d->k);
    double shift = sqrt(fmax(0, radii->shift * radii->shift - chance * chance));
    along = hypot(along, hypot(uneven_sigma_px(limb, crescent), UNEVEN_SHARE * shift) / r);
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

/* Circles and covariance in the picture, radii along the longer axis. */
static void fill_circles(tl_limb *limb, const tl_fit_data *d, const double reference[2],
                         const double p[TL_FIT_PARAMS_MAX],
                         double covariance[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX],
                         const true_radii *radii) {
    const double *q = p + d->circles;
    double back[2][2], to[TL_FIT_BOTH][TL_FIT_BOTH] = {{0}}, longer = 1 - 0.5 * hypot(q[0], q[1]);
    map_back(q, back);
    map_to_oval(q, limb);
    memset(limb->circle, 0, sizeof limb->circle);
    memset(limb->covariance, 0, sizeof limb->covariance);
    for (size_t at = 0; at < d->circles; at += 3) {
        for (size_t i = 0; i < 2; i++) {
            limb->circle[at + i] = reference[i] + back[i][0] * p[at] + back[i][1] * p[at + 1];
            for (size_t j = 0; j < 2; j++)
                to[at + i][at + j] = back[i][j];
        }
        limb->circle[at + 2] = (at == 0 ? radii->sun : radii->moon) / longer;
        to[at + 2][at + 2] = 1 / longer;
    }
    for (size_t i = 0; i < d->circles; i++)
        for (size_t j = 0; j < d->circles; j++)
            for (size_t k = 0; k < d->circles; k++)
                for (size_t l = 0; l < d->circles; l++)
                    limb->covariance[i][j] += to[i][k] * covariance[k][l] * to[j][l];
}

/* Residuals, used points, arcs into the edge list and the frame's numbers. */
static void fill_edges(tl_limb *limb, const tl_fit_data *d) {
    bool hit[2][ARC_BINS] = {{false}};
    double sum = 0;
    size_t used = 0;
    for (size_t i = 0; i < d->count; i++) {
        tl_limb_edge *e = &limb->edge[i];
        e->residual_px = d->residual[i];
        e->used = d->weight[i] > 0;
        if (!e->used)
            continue;
        size_t at = e->limb == TL_LIMB_MOON ? TL_MOON_X : TL_SUN_X;
        double angle = atan2(e->y_px - limb->circle[at + 1], e->x_px - limb->circle[at]) + TL_PI;
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

static void fit_data_free(tl_fit_data *d) {
    free(d->u);
    free(d->v);
    free(d->weight);
    free(d->residual);
    free(d->scratch);
}

/* Edge points, priors of the oval, and room to work; the start in `p`. */
static tl_status fit_data_make(const tl_limb *limb, const tl_limb_prior *prior, tl_fit_data *d,
                               double p[TL_FIT_PARAMS_MAX]) {
    size_t count = limb->edge_count, per_limb[2] = {0}, rows = count + 3;
    const double *c = limb->circle;
    *d = (tl_fit_data){.edge = limb->edge,
                       .count = count,
                       .circles = c[TL_MOON_R] > 0 ? TL_FIT_BOTH : TL_FIT_SUN_ONLY,
                       .oval_sigma = limb->flattening_fitted ? OVAL_FREE : OVAL_KNOWN,
                       .model_error_px = model_error_px(limb)};
    for (size_t i = 0; i < count; i++)
        per_limb[limb->edge[i].limb]++;
    if (per_limb[TL_LIMB_SUN] < EDGES_MIN ||
        (d->circles == TL_FIT_BOTH && per_limb[TL_LIMB_MOON] < EDGES_MIN))
        return TL_ERR_TOO_FEW;
    d->u = malloc(rows * sizeof(double));
    d->v = malloc(rows * sizeof(double));
    d->weight = calloc(rows, sizeof(double));
    d->residual = calloc(rows, sizeof(double));
    d->scratch = malloc(rows * sizeof(double));
    if (!d->u || !d->v || !d->weight || !d->residual || !d->scratch) {
        fit_data_free(d);
        return TL_ERR_MEMORY;
    }
    for (size_t i = 0; i < count; i++) {
        d->u[i] = limb->edge[i].x_px - c[TL_SUN_X];
        d->v[i] = limb->edge[i].y_px - c[TL_SUN_Y];
    }
    double *q = p + d->circles;
    if (prior->flattening > 0)
        oval_to_map(prior->flattening, prior->zenith_x, prior->zenith_y, d->oval);
    memcpy(q, d->oval, sizeof d->oval);
    if (limb->flattening_fitted)
        oval_to_map(limb->flattening, limb->flat_x, limb->flat_y, q);
    for (size_t at = 0; at < d->circles; at += 3) {
        double u = c[at] - c[TL_SUN_X], v = c[at + 1] - c[TL_SUN_Y];
        p[at] = u + 0.5 * (q[0] * u + q[1] * v);
        p[at + 1] = v + 0.5 * (q[1] * u - q[0] * v);
        p[at + 2] = c[at + 2] * (1 - 0.5 * hypot(q[0], q[1]));
    }
    return TL_OK;
}

/* The ratio as the edges show it; `p` becomes the fit without an almanac. */
static tl_status fit_raw(tl_fit_data *d, double p[TL_FIT_PARAMS_MAX], double *ratio,
                         double *ratio_sigma) {
    double c[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX];
    d->k = RATIO_ANY;
    d->prior_sigma = RATIO_RAW_SIGMA * p[TL_SUN_R];
    tl_status status = tl_limb_fit_robust(d, REST_PX, p);
    if (status == TL_OK)
        status = tl_limb_fit_covariance(d, p, c);
    if (status != TL_OK)
        return status;
    double k = p[TL_MOON_R] / p[TL_SUN_R];
    double variance =
        c[TL_MOON_R][TL_MOON_R] - 2 * k * c[TL_SUN_R][TL_MOON_R] + k * k * c[TL_SUN_R][TL_SUN_R];
    *ratio = k;
    *ratio_sigma = sqrt(fmax(variance, 0)) / p[TL_SUN_R];
    return TL_OK;
}

/* The joint fit proper, from the raw one. */
static tl_status fit_final(tl_fit_data *d, const tl_limb *limb, const tl_limb_prior *prior,
                           double raw_sigma, double p[TL_FIT_PARAMS_MAX], double *unexplained,
                           double covariance[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX]) {
    bool known = prior->ratio > 0;
    double ratio_sigma = known ? prior->ratio_sigma : RATIO_ANY_SIGMA;
    d->k = known ? prior->ratio : RATIO_ANY;
    d->prior_sigma = hypot(ratio_sigma * p[TL_SUN_R], (1 + d->k) * shift_sigma_px(limb));
    *unexplained = known && d->circles == TL_FIT_BOTH ? unexplained_ratio(d, p, raw_sigma) : 0;
    if (*unexplained > 0) /* no compromise between the two: a tenth lets the almanac win */
        d->prior_sigma = 0.1 * fmin(d->prior_sigma, raw_sigma * p[TL_SUN_R]);
    tl_status status = tl_limb_fit_robust(d, REST_PX, p);
    return status == TL_OK ? tl_limb_fit_covariance(d, p, covariance) : status;
}

tl_status tl_limb_fit_circles(tl_limb *limb, const tl_limb_prior *prior) {
    static const double REST_BLURS = 0.01;
    double p[TL_FIT_PARAMS_MAX], nothing[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX] = {{0}};
    const double reference[2] = {limb->circle[TL_SUN_X], limb->circle[TL_SUN_Y]};
    tl_fit_data d;
    tl_base_quiet_libraries();
    tl_status status = fit_data_make(limb, prior, &d, p);
    if (status != TL_OK)
        return status;
    d.k = RATIO_ANY;
    d.prior_sigma = hypot(RATIO_ANY_SIGMA * p[TL_SUN_R], (1 + d.k) * shift_sigma_px(limb));
    status = tl_limb_fit_robust(&d, fmax(REST_PX, REST_BLURS * limb->blur_px), p);
    if (status == TL_OK) {
        const true_radii radii = solve_radii(p, 0);
        fill_circles(limb, &d, reference, p, nothing, &radii);
        fill_edges(limb, &d);
    }
    fit_data_free(&d);
    return status;
}

tl_status tl_limb_fit(tl_limb *limb, const tl_limb_prior *prior) {
    double p[TL_FIT_PARAMS_MAX], covariance[TL_FIT_PARAMS_MAX][TL_FIT_PARAMS_MAX];
    double ratio = 0, ratio_sigma = 0, unexplained = 0;
    const double reference[2] = {limb->circle[TL_SUN_X], limb->circle[TL_SUN_Y]};
    tl_fit_data d;
    tl_base_quiet_libraries();
    tl_status status = fit_data_make(limb, prior, &d, p);
    if (status != TL_OK)
        return status;
    bool both = d.circles == TL_FIT_BOTH;
    if (both)
        status = fit_raw(&d, p, &ratio, &ratio_sigma);
    if (status == TL_OK)
        status = fit_final(&d, limb, prior, ratio_sigma, p, &unexplained, covariance);
    if (status == TL_OK) {
        true_radii radii = solve_radii(p, both ? prior->ratio : 0);
        limb->ratio_raw = ratio;
        limb->ratio_raw_sigma = ratio_sigma;
        limb->edge_shift_px = radii.shift;
        fill_circles(limb, &d, reference, p, covariance, &radii);
        fill_edges(limb, &d);
        if (both)
            fill_offset(limb, &d, prior, p, covariance, &radii, unexplained);
    }
    fit_data_free(&d);
    return status;
}
