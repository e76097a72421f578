/*
 * passage.c - when the Moon's limb passes over the spots: distances sampled through the eclipse,
 * and the root wherever one changes its sign.
 */
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_roots.h>

#include "base/base_internal.h"
#include "simulate/simulate_internal.h"

/* The Moon moves by 15 arcsec in it; what is covered for a shorter time lies within 15^2 / (8 R) =
 * 0.03 arcsec of its limb. */
#define STEP_S 30.0
#define ROOT_EXACT_S 1e-4 /* the truth is written to the millisecond */
enum { ROOT_ROUNDS = 60 };

/* All that a distance of a spot from the Moon's limb depends on. */
typedef struct question {
    const tl_simulate_scene *scene;
    const tl_sky *at_max;
    int spot, which;  /* TL_PASSAGE_FIRST: border's nearest point, _CENTRE, _LAST: its farthest */
    tl_status status; /* of the last failure to tell a distance */
} question;

static tl_status look_at(const tl_simulate_scene *scene, const tl_sky *at_max, double t_utc_s,
                         tl_simulate_spots *spots, tl_sky *now) {
    tl_status status = tl_sky_at(&scene->site, t_utc_s, &scene->sky, now);
    return status == TL_OK ? tl_simulate_spots_place(scene, at_max, now, spots) : status;
}

/* Not a number where the spot is beyond the Sun's limb. */
static double distance_of(const tl_simulate_spots *spots, int spot, int which, const tl_sky *now) {
    tl_simulate_spot_view view = tl_simulate_spot_look(spots, spot, now);
    if (view.state == TL_SPOT_STATE_BEHIND)
        return NAN;
    return which == TL_PASSAGE_FIRST    ? view.nearest_sr
           : which == TL_PASSAGE_CENTRE ? view.from_moon_sr
                                        : view.farthest_sr;
}

static double distance_at(double t_utc_s, void *context) {
    question *q = context;
    tl_simulate_spots spots;
    tl_sky now;
    const tl_status status = look_at(q->scene, q->at_max, t_utc_s, &spots, &now);
    if (status != TL_OK) {
        q->status = status;
        return NAN;
    }
    return distance_of(&spots, q->spot, q->which, &now);
}

/* Brent's method between two instants at which the distance has different signs. */
static tl_status find_root(question *q, double from_s, double to_s, double *t_utc_s) {
    tl_base_quiet_libraries();
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    if (solver == NULL)
        return TL_ERR_MEMORY;
    gsl_function f = {distance_at, q};
    q->status = TL_ERR_NO_FIT;
    int state = gsl_root_fsolver_set(solver, &f, from_s, to_s);
    double width = to_s - from_s;
    for (int i = 0; i < ROOT_ROUNDS && state == GSL_SUCCESS && width > ROOT_EXACT_S; i++) {
        state = gsl_root_fsolver_iterate(solver);
        width = gsl_root_fsolver_x_upper(solver) - gsl_root_fsolver_x_lower(solver);
    }
    double root = gsl_root_fsolver_root(solver);
    gsl_root_fsolver_free(solver);
    if (state != GSL_SUCCESS)
        return q->status;
    *t_utc_s = root;
    return TL_OK;
}

/* The spot is covered from its first to its last point; uncovered from its last covered distance
 * on: then the farthest point comes out first. */
static double *slot(tl_simulate_passage *passage, int which, bool covering) {
    return covering ? &passage->covered_utc_s[which]
                    : &passage->uncovered_utc_s[TL_PASSAGE_LAST - which];
}

/* Where the signs of one distance differ between two samples, its instant. */
static tl_status settle(question *q, const double t_s[2], const double distance[2],
                        tl_simulate_passage *passage) {
    bool covering = distance[0] > 0.0 && distance[1] <= 0.0;
    bool uncovering = distance[0] <= 0.0 && distance[1] > 0.0;
    if (!covering && !uncovering)
        return TL_OK;
    return find_root(q, t_s[0], t_s[1], slot(passage, q->which, covering));
}

static tl_status settle_spots(const tl_simulate_scene *scene, const tl_sky *at_max,
                              const double t_s[2],
                              double distance[TL_SIMULATE_SPOTS_MAX][TL_PASSAGE_TIMES][2],
                              tl_simulate_passage *passage) {
    tl_status status = TL_OK;
    for (int i = 0; i < scene->spot_count; i++) {
        for (int k = 0; k < TL_PASSAGE_TIMES && status == TL_OK; k++) {
            question q = {.scene = scene, .at_max = at_max, .spot = i, .which = k};
            status = settle(&q, t_s, distance[i][k], &passage[i]);
        }
    }
    return status;
}

tl_status tl_simulate_passages(const tl_simulate_scene *scene,
                               const tl_circumstances *circumstances, const tl_sky *at_max,
                               tl_simulate_passage passage[TL_SIMULATE_SPOTS_MAX]) {
    double distance[TL_SIMULATE_SPOTS_MAX][TL_PASSAGE_TIMES][2] = {0};
    double start_s = circumstances->contact[TL_C1].t_utc_s;
    double span_s = circumstances->contact[TL_C4].t_utc_s - start_s;
    int steps = scene->spot_count > 0 ? (int)ceil(span_s / STEP_S) : -1;
    for (int i = 0; i < scene->spot_count; i++)
        for (int k = 0; k < TL_PASSAGE_TIMES; k++)
            passage[i].covered_utc_s[k] = passage[i].uncovered_utc_s[k] = NAN;
    tl_status status = TL_OK;
    double t_s[2] = {start_s, start_s};
    for (int step = 0; step <= steps && status == TL_OK; step++) {
        tl_simulate_spots spots;
        tl_sky now;
        t_s[1] = start_s + span_s * step / steps;
        status = look_at(scene, at_max, t_s[1], &spots, &now);
        for (int i = 0; i < scene->spot_count && status == TL_OK; i++)
            for (int k = 0; k < TL_PASSAGE_TIMES; k++)
                distance[i][k][1] = distance_of(&spots, i, k, &now);
        if (status == TL_OK && step > 0)
            status = settle_spots(scene, at_max, t_s, distance, passage);
        for (int i = 0; i < scene->spot_count; i++)
            for (int k = 0; k < TL_PASSAGE_TIMES; k++)
                distance[i][k][0] = distance[i][k][1];
        t_s[0] = t_s[1];
    }
    return status;
}
