/*
 * place.c - where the pictures were taken, from the separations and a trusted clock.
 *
 * A frame says: at this moment the Moon stood so far from the Sun. Over the Earth that is true on a
 * curve, which runs with the shadow; the frames' curves cross where the camera was. With the clock
 * trusted to seconds the moment of maximum places the camera along the shadow's way and the
 * smallest separation across it, both to a few km; frames from a short part of the eclipse leave a
 * line.
 */
#include <math.h>
#include <stdlib.h>

#include "track/place_internal.h"

/* Fewer can be met by a place almost anywhere along the path. */
enum { TIMES_NEEDED = 3 };
/* Frames within a minute count as one time. */
static const double SEPARATE_S = 60.0;
/* Room in the table for the clocks, which are known to seconds. */
static const double MARGIN_S = 1800.0;
/* Frames further than this from the middle one are of a camera with another date, or of another
 * day (as in series.c). */
static const double SPAN_S = 12.0 * TL_TRACK_HOUR_S;
/* Beyond this many times the errors of the frames it is not this eclipse, or not this clock. */
static const double MISFIT_MAX = 8.0;
/* A second place must fit about as well: chi^2 of 3 sigma. */
static const double SECOND_CHI2 = 9.0;
/* Two fits this close, in sigmas or on the ground, are one. */
static const double SAME_SIGMAS = 1.0, SAME_M = 1000.0;

static int by_time(const void *a, const void *b) {
    double x = ((const tl_track_obs *)a)->t_s, y = ((const tl_track_obs *)b)->t_s;
    return (x > y) - (x < y);
}

/* Keep those of the middle one's day, of a list in order of time. */
static size_t of_one_day(tl_track_obs *list, size_t count) {
    size_t kept = 0;
    double middle_s = count > 0 ? list[count / 2].t_s : 0.0;
    for (size_t i = 0; i < count; i++) {
        if (fabs(list[i].t_s - middle_s) <= SPAN_S) {
            list[kept++] = list[i];
        }
    }
    return kept;
}

/* The frames of cameras whose zone was said, at the UTC that their stamps mean, in order of time;
 * those of the day that most of them have. */
static tl_track_obs *frames_in_utc(const tl_track_series *series, size_t *count) {
    tl_track_obs *list = calloc(series->obs_count + 1, sizeof *list);
    *count = 0;
    for (size_t i = 0; list != NULL && i < series->obs_count; i++) {
        const tl_track_slice *slice = &series->camera[series->obs[i].camera];
        if (slice->zone_said) {
            list[*count] = series->obs[i];
            list[*count].dropped = false;
            list[(*count)++].t_s -= 60.0 * slice->zone_minutes;
        }
    }
    if (list != NULL) {
        qsort(list, *count, sizeof *list, by_time);
        *count = of_one_day(list, *count);
    }
    return list;
}

static size_t count_times(const tl_track_obs *obs, size_t count) {
    size_t times = count > 0 ? 1 : 0;
    double last = count > 0 ? obs[0].t_s : 0.0;
    for (size_t i = 1; i < count; i++) {
        if (obs[i].t_s - last >= SEPARATE_S) {
            times++;
            last = obs[i].t_s;
        }
    }
    return times;
}

/* Each obs gets the number of its camera among those that have any. */
static void number_cameras(tl_place_problem *problem) {
    size_t number[TL_CAMERAS_MAX], next = 0;
    bool numbered[TL_CAMERAS_MAX] = {false};
    for (size_t i = 0; i < problem->count; i++) {
        size_t camera = problem->obs[i].camera;
        if (!numbered[camera]) {
            numbered[camera] = true;
            number[camera] = next++;
        }
        problem->camera[i] = number[camera];
    }
    problem->camera_count = next;
}

static void problem_free(tl_place_problem *problem) {
    free(problem->obs);
    free(problem->camera);
    tl_sky_table_free(problem->table);
}

/* Days that the camera's date is ahead of the one given. */
static double days_ahead_s(const tl_track_series *series, const tl_track_options *options,
                           const tl_track_obs *middle) {
    double local_s = middle->t_s + 60.0 * series->camera[middle->camera].zone_minutes;
    return options->date_given ? floor(local_s / TL_DAY_S) * TL_DAY_S - options->date_utc_s : 0.0;
}

/* Takes over `obs`. */
static tl_status problem_make(const tl_track_series *series, const tl_track_options *options,
                              tl_track_obs *obs, size_t count, tl_place_problem *problem) {
    *problem = (tl_place_problem){.obs = obs, .count = count};
    problem->camera = calloc(count + 1, sizeof *problem->camera);
    if (problem->camera == NULL) {
        return TL_ERR_MEMORY;
    }
    const tl_site anywhere = {.source = TL_SITE_GIVEN};
    number_cameras(problem);
    problem->clock_s = days_ahead_s(series, options, &obs[count / 2]);
    return tl_sky_table_make(&anywhere, obs[0].t_s - problem->clock_s - MARGIN_S,
                             obs[count - 1].t_s - problem->clock_s + MARGIN_S, &options->sky,
                             &problem->table);
}

/* Distance of a place from a fit in units of the fit's ellipse. */
static double sigmas_apart(const tl_place_fit *fit, const tl_site *site) {
    double azimuth, distance = tl_place_distance(&fit->site, site, &azimuth);
    return hypot(distance * cos(azimuth - fit->axis_rad) / fit->along_m,
                 distance * sin(azimuth - fit->axis_rad) / fit->across_m);
}

static bool same(const tl_place_fit *fit, const tl_site *site) {
    return tl_place_distance(&fit->site, site, NULL) < SAME_M ||
           sigmas_apart(fit, site) < SAME_SIGMAS;
}

/* The best of the fits from all starts; their sites in `tried`. TL_ERR_NO_FIT if none is good. */
static tl_status find_best(tl_place_problem *problem, const tl_site *start, size_t start_count,
                           tl_place_fit *best, tl_site *tried, size_t *tried_count) {
    bool found = false;
    for (size_t i = 0; i < start_count; i++) {
        tl_place_fit fit;
        tl_status status = tl_place_fit_near(problem, &start[i], &fit);
        if (status == TL_ERR_MEMORY) {
            return status;
        }
        if (status != TL_OK || !tl_place_sun_up(problem, &fit.site)) {
            continue;
        }
        tried[(*tried_count)++] = fit.site;
        /* Weights differ: compare by what would have to be believed of frames and clock. */
        double doubt = fit.cost * fit.weights.level * fit.weights.level;
        if (!found || doubt < best->cost * best->weights.level * best->weights.level) {
            *best = fit;
            found = true;
        }
    }
    return found && best->weights.level < MISFIT_MAX ? TL_OK : TL_ERR_NO_FIT;
}

/* How far the place moves with the clock. Where it cannot be fitted with another one: 0. */
static tl_status find_clock_leverage(tl_place_problem *problem, const tl_place_fit *fit,
                                     tl_track_place *place) {
    const double step_s = 10.0;
    tl_place_fit moved;
    problem->clock_s += step_s;
    tl_status status = tl_place_fit_weighted(problem, &fit->site, &fit->weights, &moved);
    problem->clock_s -= step_s;
    if (status == TL_OK) {
        place->m_per_clock_s = tl_place_distance(&fit->site, &moved.site, NULL) / step_s;
    }
    return status == TL_ERR_MEMORY ? status : TL_OK;
}

static tl_status add_place(tl_place_problem *problem, const tl_place_fit *fit, double best_cost,
                           tl_track *track) {
    tl_track_place place = {.lat_rad = fit->site.lat_rad,
                            .lon_rad = fit->site.lon_rad,
                            .across_m = fit->across_m,
                            .long_axis_rad = fit->axis_rad,
                            .chi2 = fit->cost - best_cost};
    tl_status status = tl_place_line(problem, fit, &place);
    if (status == TL_OK) {
        status = find_clock_leverage(problem, fit, &place);
    }
    if (status == TL_OK) {
        track->place[track->place_count++] = place;
    }
    return status;
}

/* The best place with its line, then the best of the others if it fits about as well. */
static tl_status add_places(tl_place_problem *problem, const tl_place_fit *best,
                            const tl_site *tried, size_t tried_count, tl_track *track) {
    tl_place_fit first, second = {.cost = HUGE_VAL};
    tl_status status = tl_place_fit_weighted(problem, &best->site, &best->weights, &first);
    if (status == TL_OK) {
        status = add_place(problem, &first, first.cost, track);
    }
    for (size_t i = 0; status == TL_OK && i < tried_count; i++) {
        tl_place_fit fit;
        if (same(&first, &tried[i])) {
            continue;
        }
        tl_status fitted = tl_place_fit_weighted(problem, &tried[i], &best->weights, &fit);
        if (fitted == TL_ERR_MEMORY) {
            return fitted;
        }
        if (fitted == TL_OK && !same(&first, &fit.site) && fit.cost < second.cost) {
            second = fit;
        }
    }
    if (status == TL_OK && second.cost < first.cost + SECOND_CHI2) {
        /* Once more, for the marks of its own outliers. */
        tl_site site = second.site;
        status = tl_place_fit_weighted(problem, &site, &best->weights, &second);
        if (status == TL_OK) {
            status = add_place(problem, &second, first.cost, track);
        }
    }
    return status;
}

static tl_status solve(tl_place_problem *problem, tl_track *track) {
    tl_site start[TL_PLACE_STARTS], tried[TL_PLACE_STARTS];
    size_t start_count = 0, tried_count = 0;
    tl_place_fit best;
    tl_status status = tl_place_scan(problem, start, &start_count);
    if (status == TL_OK) {
        status = find_best(problem, start, start_count, &best, tried, &tried_count);
    }
    return status == TL_OK ? add_places(problem, &best, tried, tried_count, track) : status;
}

tl_status tl_track_place_find(const tl_track_series *series, const tl_track_options *options,
                              tl_track *track) {
    if (!options->find_site || options->site.source != TL_SITE_NONE) {
        return TL_OK;
    }
    tl_place_problem problem = {0};
    size_t count;
    tl_track_obs *obs = frames_in_utc(series, &count);
    if (obs == NULL) {
        return TL_ERR_MEMORY;
    }
    if (count == 0 && series->obs_count >= TIMES_NEEDED) { /* times without a zone */
        track->place_status = TL_ERR_ARGUMENT;
        free(obs);
    } else if (count_times(obs, count) < TIMES_NEEDED) {
        track->place_status = TL_ERR_TOO_FEW;
        free(obs);
    } else {
        track->place_status = problem_make(series, options, obs, count, &problem);
        if (track->place_status == TL_OK) {
            track->place_status = solve(&problem, track);
        }
        problem_free(&problem);
    }
    return track->place_status == TL_ERR_MEMORY ? TL_ERR_MEMORY : TL_OK;
}
