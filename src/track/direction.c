/*
 * direction.c - the position angle in which the Moon moves at maximum.
 *
 * Measured by the frames with a compass or a shared turn: their offsets, put on the sky by it, make
 * a path whose two coordinates are polynomials of the second degree in time. The compasses' zero
 * and the rule itself come from the almanac's position angles: like the clock, they take a mean
 * difference away, and what is left shows how far shape and direction of the path fit together.
 */
#include <math.h>

#include <gsl/gsl_multifit.h>

#include "track/track_internal.h"

/* Half the span of the difference quotient, see predict.c. */
static const double STEP_S = 300.0;
enum { POWERS = 3, FRAMES_MIN = 5 };
/* Beyond this a direction says next to nothing. The velocity must be known as well in comparison
 * with the almanac's, for one that is all error may be long. */
static const double SIGMA_MAX_RAD = 0.5;

static double predicted(const tl_track_eclipse *eclipse) {
    tl_sky before, after;
    double t = eclipse->circumstances.contact[TL_MAX].t_utc_s;
    if (tl_sky_table_at(eclipse->table, t - STEP_S, &before) != TL_OK ||
        tl_sky_table_at(eclipse->table, t + STEP_S, &after) != TL_OK) {
        return 0.0;
    }
    return tl_angle_positive(
        atan2(after.east_sr - before.east_sr, after.north_sr - before.north_sr));
}

/* The frames that tell, as rows of the fit: time, place on the sky, weight. */
typedef struct table {
    gsl_matrix *power;
    gsl_vector *east, *north, *weight;
    size_t rows;
    double turn_weight; /* sum over frames of (separation / sigma)^2: what they say of a turn */
} table;

static void table_free(table *t) {
    gsl_matrix_free(t->power);
    gsl_vector_free(t->east);
    gsl_vector_free(t->north);
    gsl_vector_free(t->weight);
}

/* How a frame is put on the sky. */
typedef struct laid {
    double up_rad, scatter_rad; /* the frame's own error about the common zero or rule */
    double turn_weight;         /* what it says of that */
    bool mirrored;
} laid;

static laid laid_by_rule(const tl_track_obs *obs, const tl_track_turn *turn, const tl_sky *sky) {
    double jitter = turn->jitter_rad, own = obs->direction_sigma_rad;
    return (laid){.up_rad = tl_track_turn_rule(turn, sky),
                  .scatter_rad = jitter,
                  .turn_weight = 1.0 / (jitter * jitter + own * own),
                  .mirrored = turn->mirrored == TL_MIRROR_YES};
}

static laid laid_by_compass(const tl_track_obs *obs, const tl_track_bearing *bearing) {
    double up = bearing->sigma_rad, own = obs->direction_sigma_rad;
    return (laid){.up_rad = bearing->up_rad,
                  .scatter_rad = up,
                  .turn_weight = 1.0 / (up * up + own * own),
                  .mirrored = bearing->mirrored};
}

static void add_row(const tl_track_frame_in *f, const tl_track_obs *obs, const laid *how,
                    double hours, table *t) {
    double east, north;
    tl_sky_from_frame(how->up_rad, how->mirrored, f->offset_x_sr, f->offset_y_sr, &east, &north);
    double sigma = hypot(obs->s_sigma, obs->s * how->scatter_rad);
    double power = 1.0;
    for (size_t k = 0; k < POWERS; k++) {
        gsl_matrix_set(t->power, t->rows, k, power);
        power *= hours;
    }
    gsl_vector_set(t->east, t->rows, east);
    gsl_vector_set(t->north, t->rows, north);
    gsl_vector_set(t->weight, t->rows, 1.0 / (sigma * sigma));
    t->turn_weight += how->turn_weight;
    t->rows++;
}

static bool tells(const tl_track_obs *obs, const tl_track_tied *tied,
                  const tl_track_compasses *compasses) {
    return !obs->dropped && obs->has_direction && tied[obs->camera].solved &&
           (compasses->frame[obs->index].known || tl_track_turn_shared(&tied[obs->camera].turn));
}

static void fill(const tl_track_series *series, const tl_track_eclipse *eclipse,
                 const tl_track_tied *tied, const tl_track_compasses *compasses, table *t) {
    double max_s = eclipse->circumstances.contact[TL_MAX].t_utc_s;
    for (size_t i = 0; i < series->obs_count; i++) {
        const tl_track_obs *obs = &series->obs[i];
        tl_sky sky;
        double utc_s = tl_track_clock_utc(&tied[obs->camera].fit, obs->t_s);
        if (tells(obs, tied, compasses) && tl_sky_table_at(eclipse->table, utc_s, &sky) == TL_OK) {
            const tl_track_bearing *bearing = &compasses->frame[obs->index];
            laid how = bearing->known ? laid_by_compass(obs, bearing)
                                      : laid_by_rule(obs, &tied[obs->camera].turn, &sky);
            add_row(&series->frame[obs->index], obs, &how, (utc_s - max_s) / TL_TRACK_HOUR_S, t);
        }
    }
}

/* Velocity of one coordinate at maximum and its variance, scaled by the scatter where that is
 * larger than the errors given. TL_ERR_NO_FIT if the times of the frames do not tell it;
 * TL_ERR_MEMORY. */
static tl_status velocity(const table *t, gsl_vector *place, double *value, double *variance) {
    gsl_vector *c = gsl_vector_calloc(POWERS);
    gsl_matrix *covariance = gsl_matrix_calloc(POWERS, POWERS);
    gsl_multifit_linear_workspace *work = gsl_multifit_linear_alloc(t->power->size1, POWERS);
    double chi2 = 0.0;
    size_t rank = 0;
    tl_status status = c != NULL && covariance != NULL && work != NULL ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK &&
        (gsl_multifit_wlinear_tsvd(t->power, t->weight, place, GSL_DBL_EPSILON, c, covariance,
                                   &chi2, &rank, work) != GSL_SUCCESS ||
         rank < POWERS)) {
        status = TL_ERR_NO_FIT;
    }
    if (status == TL_OK) {
        double scale = tl_track_noise_scale(chi2, (double)t->rows - POWERS);
        *value = gsl_vector_get(c, 1);
        *variance = scale * scale * gsl_matrix_get(covariance, 1, 1);
    }
    gsl_vector_free(c);
    gsl_matrix_free(covariance);
    if (work != NULL) {
        gsl_multifit_linear_free(work);
    }
    return status;
}

static tl_status measure(const table *t, tl_track *track) {
    double east, north, east2, north2;
    if (t->rows < FRAMES_MIN) {
        return TL_OK;
    }
    tl_status status = velocity(t, t->east, &east, &east2);
    if (status == TL_OK) {
        status = velocity(t, t->north, &north, &north2);
    }
    if (status != TL_OK) {
        return status == TL_ERR_MEMORY ? status : TL_OK;
    }
    double speed2 = east * east + north * north;
    double across2 = (north * north * east2 + east * east * north2) / (speed2 * speed2);
    double sigma = sqrt(across2 + 1.0 / t->turn_weight);
    if (sigma <= SIGMA_MAX_RAD && /* false for a velocity of nil, too */
        sqrt(east2 + north2) <= SIGMA_MAX_RAD * track->speed_predicted_sr_per_h) {
        track->has_direction = true;
        track->direction_pa_rad = tl_angle_positive(atan2(east, north));
        track->direction_sigma_rad = sigma;
    }
    return TL_OK;
}

tl_status tl_track_direction(const tl_track_series *series, const tl_track_eclipse *eclipse,
                             const tl_track_tied *tied, const tl_track_compasses *compasses,
                             tl_track *track) {
    track->direction_predicted_rad = predicted(eclipse);
    size_t frames = 0;
    for (size_t i = 0; i < series->obs_count; i++) {
        frames += tells(&series->obs[i], tied, compasses) ? 1 : 0;
    }
    if (frames < FRAMES_MIN) {
        return TL_OK;
    }
    table t = {.power = gsl_matrix_calloc(frames, POWERS),
               .east = gsl_vector_calloc(frames),
               .north = gsl_vector_calloc(frames),
               .weight = gsl_vector_calloc(frames)};
    tl_status status = t.power != NULL && t.east != NULL && t.north != NULL && t.weight != NULL
                           ? TL_OK
                           : TL_ERR_MEMORY;
    if (status == TL_OK) {
        fill(series, eclipse, tied, compasses, &t);
        status = measure(&t, track);
    }
    table_free(&t);
    return status;
}
