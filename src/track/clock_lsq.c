/*
 * clock_lsq.c - least squares for the clock, and its drift if asked for.
 *
 * separation(t - clock - drift (t - at)) against the measured ones. The errors of the circles of
 * one camera are alike in part, for they come from the same tone curve, glare and blur: that part
 * is a parameter of the fit, in units of each frame's sigma, with a prior of one. Before and after
 * maximum it moves the clock to opposite sides; a series on one side only has to bear it.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

/* The unit of each parameter, so that the fit's steps are of order one. */
static const double CLOCK_UNIT_S = 10.0, DRIFT_UNIT = 1e-4;
enum { CLOCK, COMMON, DRIFT, PARAMETERS };

typedef struct row {
    const tl_track_obs *obs;
    double sigma_sr;  /* what the frame does not share */
    double common_sr; /* what it does */
} row;

typedef struct problem {
    const tl_track_eclipse *eclipse;
    row *row;
    size_t count;
    double start_s, at_s;
    bool with_drift;
} problem;

static double moved_clock(const problem *pb, const gsl_vector *x, const tl_track_obs *obs) {
    double drift = pb->with_drift ? DRIFT_UNIT * gsl_vector_get(x, DRIFT) : 0.0;
    return pb->start_s + CLOCK_UNIT_S * gsl_vector_get(x, CLOCK) + drift * (obs->t_s - pb->at_s);
}

static int residuals(const gsl_vector *x, void *context, gsl_vector *f) {
    const problem *pb = context;
    double common = gsl_vector_get(x, COMMON);
    for (size_t i = 0; i < pb->count; i++) {
        const row *r = &pb->row[i];
        tl_track_sight at = tl_track_look(r->obs, pb->eclipse, moved_clock(pb, x, r->obs));
        double off = at.seen ? at.off_sr : 0.0;
        gsl_vector_set(f, i, (off - common * r->common_sr) / r->sigma_sr);
    }
    gsl_vector_set(f, pb->count, common);
    return GSL_SUCCESS;
}

static int jacobian(const gsl_vector *x, void *context, gsl_matrix *jac) {
    const problem *pb = context;
    gsl_matrix_set_zero(jac);
    for (size_t i = 0; i < pb->count; i++) {
        const row *r = &pb->row[i];
        tl_track_sight at = tl_track_look(r->obs, pb->eclipse, moved_clock(pb, x, r->obs));
        double slope = at.rate / r->sigma_sr;
        gsl_matrix_set(jac, i, CLOCK, CLOCK_UNIT_S * slope);
        gsl_matrix_set(jac, i, COMMON, -r->common_sr / r->sigma_sr);
        if (pb->with_drift) {
            gsl_matrix_set(jac, i, DRIFT, DRIFT_UNIT * slope * (r->obs->t_s - pb->at_s));
        }
    }
    gsl_matrix_set(jac, pb->count, COMMON, 1.0);
    return GSL_SUCCESS;
}

/* The frames in the fit; their errors hold at the start while the fit runs. */
static void set_rows(const tl_track_obs *obs, size_t count, double level,
                     const tl_track_solution *start, problem *pb) {
    for (size_t i = 0; i < count; i++) {
        double clock_s = start->clock_s + start->drift * (obs[i].t_s - pb->at_s);
        tl_track_sight at = tl_track_look(&obs[i], pb->eclipse, clock_s);
        if (at.seen && !obs[i].dropped) {
            double own = sqrt(1.0 - TL_TRACK_COMMON_SHARE) * obs[i].s_sigma;
            pb->row[pb->count++] =
                (row){.obs = &obs[i],
                      .sigma_sr = level * hypot(own, at.rate * obs[i].t_sigma_s),
                      .common_sr = level * sqrt(TL_TRACK_COMMON_SHARE) * obs[i].s_sigma};
        }
    }
}

tl_status tl_track_clock_lsq(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                             double level, double at_s, bool with_drift,
                             tl_track_solution *solution) {
    problem pb = {
        .eclipse = eclipse, .start_s = solution->clock_s, .at_s = at_s, .with_drift = with_drift};
    pb.row = calloc(count + 1, sizeof *pb.row);
    if (pb.row == NULL) {
        return TL_ERR_MEMORY;
    }
    set_rows(obs, count, level, solution, &pb);
    size_t p = with_drift ? PARAMETERS : DRIFT;
    double x[PARAMETERS] = {0.0, 0.0, solution->drift / DRIFT_UNIT};
    double covariance[PARAMETERS * PARAMETERS];
    gsl_multifit_nlinear_fdf fdf = {
        .f = residuals, .df = jacobian, .n = pb.count + 1, .p = p, .params = &pb};
    tl_status status = pb.count > 0 ? tl_track_least_squares(&fdf, x, covariance) : TL_ERR_TOO_FEW;
    free(pb.row);
    if (status == TL_OK) {
        solution->clock_s += CLOCK_UNIT_S * x[CLOCK];
        solution->sigma_s = CLOCK_UNIT_S * sqrt(covariance[0]);
        solution->drift = with_drift ? DRIFT_UNIT * x[DRIFT] : 0.0;
        solution->drift_sigma = with_drift ? DRIFT_UNIT * sqrt(covariance[p * p - 1]) : 0.0;
    }
    return status;
}
