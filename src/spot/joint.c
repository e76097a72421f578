/*
 * joint.c - places of the spots and turns of the frames together, by least squares.
 *
 * Unknown are latitude and longitude of each spot and a correction to the turn of each frame; the
 * frame's own Moon holds its turn as well as it can. Each mark joins one spot with one frame, so
 * the frames' part of the normal equations is diagonal and goes out by Schur's complement: what is
 * left has two rows for each spot, however long the series.
 */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_linalg.h>

#include "base/base_internal.h"
#include "spot/follow_internal.h"

enum { STEPS = 6 };
/* For derivatives; the disc is flat on this scale. */
#define STEP_RAD 1e-4
/* Beyond this many sigmas a mark pulls no harder (Huber 1964, Annals of Mathematical Statistics
 * 35:73). */
#define HUBER 2.0
/* Few marks say little of their own scatter: so many are thought to be there that have the errors
 * given. */
#define PRIOR_FREEDOM 4.0
/* The marks' own errors are cautious; many that agree better say so, down to here (our choice). */
#define SCATTER_LEAST 0.5
/* A frame that only its spots turn: as good as free. */
#define FREE_TURN_RAD 10.0
/* A place that its marks do not tell is good to a quarter of the hemisphere: far too little to move
 * one that they do tell, enough for the equations to have a solution. */
#define FREE_PLACE_RAD 1.0
/* Share of the variance of the Moons' directions that all frames have in common, as of the
 * circles' other errors (track: TL_TRACK_COMMON_SHARE). */
#define COMMON_SHARE 0.25

/* One mark: off by (x, y), with derivatives to latitude, longitude and turn. */
typedef struct row {
    double x, y, sigma, weight;
    double to_place[2][2]; /* [x, y][latitude, longitude] */
    double to_up[2];
} row;

static bool row_make(const tl_views *views, const tl_model *model, size_t frame, size_t j,
                     row *out) {
    const tl_view *view = &views->view[frame];
    const tl_view_mark *mark = &view->mark[j];
    const size_t s = model->taken[(size_t)(view->mark - views->store) + j];
    if (s >= model->spots || mark->cut)
        return false;
    const tl_follow_spot *spot = &model->spot[s];
    double x, y, xb, yb, xl, yl;
    if (!tl_model_place(model, view, frame, spot->latitude_rad, spot->carrington_rad, &x, &y) ||
        !tl_model_place(model, view, frame, spot->latitude_rad + STEP_RAD, spot->carrington_rad,
                        &xb, &yb) ||
        !tl_model_place(model, view, frame, spot->latitude_rad, spot->carrington_rad + STEP_RAD,
                        &xl, &yl))
        return false;
    out->x = mark->x - x;
    out->y = mark->y - y;
    out->sigma = mark->sigma;
    const double off = hypot(out->x, out->y) / (mark->sigma * model->level);
    out->weight = (off > HUBER ? HUBER / off : 1.0) / (mark->sigma * mark->sigma);
    out->to_place[0][0] = (xb - x) / STEP_RAD;
    out->to_place[1][0] = (yb - y) / STEP_RAD;
    out->to_place[0][1] = (xl - x) / STEP_RAD;
    out->to_place[1][1] = (yl - y) / STEP_RAD;
    /* base.h: x = -+s, y = -c with s, c = r sin, cos of (PA - up_pa) */
    out->to_up[0] = model->mirrored[frame] ? y : -y;
    out->to_up[1] = model->mirrored[frame] ? -x : x;
    return true;
}

/* The turn that a frame's own Moon tells, and its weight; weight 0 without one. */
static double moon_pull(const tl_view *view, const tl_model *model, size_t frame, double *weight) {
    if (!view->has_moon) {
        *weight = 1.0 / (FREE_TURN_RAD * FREE_TURN_RAD);
        return 0.0;
    }
    *weight = 1.0 / (view->direction_sigma_rad * view->direction_sigma_rad);
    return tl_angle_signed(tl_view_up(view, &view->sky, model->mirrored[frame]) -
                           model->up_rad[frame]);
}

/* The normal equations of one frame. */
typedef struct frame_part {
    double curvature, slope;               /* of its turn */
    double couple[TL_FOLLOW_SPOTS_MAX][2]; /* of its turn with the places */
} frame_part;

typedef struct normal {
    gsl_matrix *a; /* 2 spots x 2 spots */
    gsl_vector *b;
    double chi2;
    size_t values; /* coordinates and Moons */
} normal;

static void add_frame(const tl_views *views, const tl_model *model, size_t frame, normal *n,
                      frame_part *part) {
    const tl_view *view = &views->view[frame];
    *part = (frame_part){0};
    double pull = moon_pull(view, model, frame, &part->curvature);
    part->slope = part->curvature * pull;
    if (view->has_moon) {
        n->chi2 += part->curvature * pull * pull;
        n->values++;
    }
    for (size_t j = 0; j < view->count; j++) {
        row r;
        if (!row_make(views, model, frame, j, &r))
            continue;
        const size_t s = model->taken[(size_t)(view->mark - views->store) + j];
        const double off[2] = {r.x, r.y};
        for (size_t k = 0; k < 2; k++) {
            part->curvature += r.weight * r.to_up[k] * r.to_up[k];
            part->slope += r.weight * r.to_up[k] * off[k];
            for (size_t p = 0; p < 2; p++) {
                part->couple[s][p] += r.weight * r.to_up[k] * r.to_place[k][p];
                *gsl_vector_ptr(n->b, 2 * s + p) += r.weight * r.to_place[k][p] * off[k];
                for (size_t q = 0; q < 2; q++)
                    *gsl_matrix_ptr(n->a, 2 * s + p, 2 * s + q) +=
                        r.weight * r.to_place[k][p] * r.to_place[k][q];
            }
            n->chi2 += r.weight * off[k] * off[k];
        }
        n->values += 2;
    }
    for (size_t s = 0; s < 2 * model->spots; s++) {
        const double cs = part->couple[s / 2][s % 2];
        *gsl_vector_ptr(n->b, s) -= cs * part->slope / part->curvature;
        for (size_t q = 0; q < 2 * model->spots; q++)
            *gsl_matrix_ptr(n->a, s, q) -= cs * part->couple[q / 2][q % 2] / part->curvature;
    }
}

/* One step; leaves the inverse of the reduced matrix in `n->a`. `part` has room for all frames. */
static bool step(const tl_views *views, tl_model *model, normal *n, frame_part *part) {
    gsl_matrix_set_identity(n->a);
    gsl_matrix_scale(n->a, 1.0 / (FREE_PLACE_RAD * FREE_PLACE_RAD));
    gsl_vector_set_zero(n->b);
    n->chi2 = 0.0;
    n->values = 0;
    size_t used = 0;
    for (size_t i = 0; i < views->count; i++)
        if (model->has_up[i]) {
            add_frame(views, model, i, n, &part[i]);
            used++;
        }
    if (gsl_linalg_cholesky_decomp1(n->a) != GSL_SUCCESS ||
        gsl_linalg_cholesky_svx(n->a, n->b) != GSL_SUCCESS ||
        gsl_linalg_cholesky_invert(n->a) != GSL_SUCCESS)
        return false;
    for (size_t i = 0; i < views->count; i++) {
        if (!model->has_up[i])
            continue;
        double slope = part[i].slope;
        for (size_t s = 0; s < 2 * model->spots; s++)
            slope -= part[i].couple[s / 2][s % 2] * gsl_vector_get(n->b, s);
        model->up_rad[i] += slope / part[i].curvature;
        double variance = 1.0 / part[i].curvature;
        for (size_t s = 0; s < 2 * model->spots; s++)
            for (size_t q = 0; q < 2 * model->spots; q++)
                variance += part[i].couple[s / 2][s % 2] * part[i].couple[q / 2][q % 2] *
                            gsl_matrix_get(n->a, s, q) / (part[i].curvature * part[i].curvature);
        model->up_sigma_rad[i] = model->scatter * sqrt(variance);
    }
    for (size_t s = 0; s < model->spots; s++) {
        model->spot[s].latitude_rad += gsl_vector_get(n->b, 2 * s);
        model->spot[s].carrington_rad += gsl_vector_get(n->b, 2 * s + 1);
    }
    const double freedom = (double)n->values - 2.0 * (double)model->spots - (double)used;
    model->scatter =
        fmax(sqrt((n->chi2 + PRIOR_FREEDOM) / (fmax(freedom, 0.0) + PRIOR_FREEDOM)), SCATTER_LEAST);
    model->level = fmax(model->scatter, 1.0);
    return true;
}

/* What the lengths in the frames that show a spot have in common, sr. */
static double common_length_sr(const tl_views *views, const tl_model *model, size_t s) {
    double sum = 0.0, count = 0.0;
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        const size_t *owner = model->taken + (view->mark - views->store);
        for (size_t j = 0; j < view->count; j++)
            if (owner[j] == s) {
                sum += view->bent_sr * view->bent_sr;
                count += 1.0;
            }
    }
    return count > 0.0 ? sqrt(COMMON_SHARE * sum / count) : 0.0;
}

/* What all the frames' directions have in common turns all places together. */
static double common_turn_rad(const tl_views *views, const tl_model *model) {
    double weight = 0.0, square = 0.0;
    for (size_t i = 0; i < views->count; i++)
        if (model->has_up[i] && views->view[i].has_moon) {
            const double v =
                views->view[i].direction_sigma_rad * views->view[i].direction_sigma_rad;
            weight += 1.0 / v;
            square += 1.0;
        }
    return weight > 0.0 ? sqrt(COMMON_SHARE * square / weight) : 0.0;
}

/* The middle of a ragged spot's missing light lies off the middle of the spot, in all frames alike:
 * share of its radius (measured on simulated spots whose borders wave by a tenth). */
#define SHAPE_COMMON 0.010

static void set_errors(const tl_views *views, const normal *n, tl_model *model) {
    const double common = common_turn_rad(views, model), scatter2 = model->scatter * model->scatter;
    for (size_t s = 0; s < model->spots; s++) {
        tl_follow_spot *spot = &model->spot[s];
        const double c = fmax(cos(spot->latitude_rad), 0.1);
        const double on_disc =
            hypot(SHAPE_COMMON * spot->radius_sr, common_length_sr(views, model, s));
        const double shared[2] = {common * common + on_disc * on_disc,
                                  (common * common + on_disc * on_disc) / (c * c)};
        for (size_t p = 0; p < 2; p++)
            for (size_t q = 0; q < 2; q++)
                spot->covariance[p][q] = scatter2 * gsl_matrix_get(n->a, 2 * s + p, 2 * s + q) +
                                         (p == q ? shared[p] : 0.0);
        spot->sigma_sr = sqrt(0.5 * (spot->covariance[0][0] + c * c * spot->covariance[1][1]));
    }
}

/* Without errors a place is not known: nothing is. */
static void forget(tl_model *model) {
    model->spots = 0;
    for (size_t i = 0; i < model->marks; i++)
        model->taken[i] = TL_FOLLOW_NONE;
}

tl_status tl_joint_fit(const tl_views *views, tl_model *model) {
    if (model->spots == 0)
        return TL_OK;
    tl_base_quiet_libraries();
    const size_t rows = 2 * model->spots;
    frame_part *part = calloc(views->count + 1, sizeof *part);
    double *store = malloc(rows * (rows + 1) * sizeof *store);
    if (part == NULL || store == NULL) {
        free(part);
        free(store);
        return TL_ERR_MEMORY;
    }
    gsl_matrix_view a = gsl_matrix_view_array(store, rows, rows);
    gsl_vector_view b = gsl_vector_view_array(store + rows * rows, rows);
    normal n = {.a = &a.matrix, .b = &b.vector};
    bool settled = true;
    for (int i = 0; i < STEPS && settled; i++)
        settled = step(views, model, &n, part);
    if (settled)
        set_errors(views, &n, model);
    else
        forget(model);
    free(store);
    free(part);
    return TL_OK;
}

bool tl_joint_turn(const tl_views *views, const tl_model *model, size_t frame, double *up_rad,
                   double *sigma_rad, size_t *used) {
    const tl_view *view = &views->view[frame];
    double curvature = 0.0, slope = 0.0;
    *used = 0;
    for (size_t j = 0; j < view->count; j++) {
        row r;
        if (!row_make(views, model, frame, j, &r))
            continue;
        /* the place's own error counts as well */
        const size_t s = model->taken[(size_t)(view->mark - views->store) + j];
        const double own = model->spot[s].sigma_sr / model->scatter;
        const double weight = r.weight / (1.0 + own * own / (r.sigma * r.sigma));
        for (size_t k = 0; k < 2; k++) {
            curvature += weight * r.to_up[k] * r.to_up[k];
            slope += weight * r.to_up[k] * (k == 0 ? r.x : r.y);
        }
        (*used)++;
    }
    if (*used == 0 || !(curvature > 0.0))
        return false;
    *up_rad = model->up_rad[frame] + slope / curvature;
    *sigma_rad = model->scatter / sqrt(curvature);
    return true;
}
