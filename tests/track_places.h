/*
 * track_places.h - invented series whose place is to be estimated: the truth is the place put in.
 *
 * Everything the estimate says it allows for is drawn at random: circles, reading errors, the
 * clock, the floor (as one shift of the Moon against the almanac's) and the height.
 */
#ifndef TRACK_PLACES_H
#define TRACK_PLACES_H

#include "test_track_series.h"
#include "track/place_internal.h"

/* Greatest eclipse, days since 1970 and hours UTC, of 1998-02-26, 1999-08-11, 2001-06-21,
 * 2006-03-29, 2012-05-20, 2014-10-23, 2017-08-21, 2023-10-14, 2024-04-08, 2026-08-12 (NASA eclipse
 * bulletins and the five-millennium canon). */
static const double PLACES_GREATEST[][2] = {
    {10283, 17.48}, {10814, 11.05}, {11494, 12.06}, {13236, 10.19}, {15480, 23.88},
    {16366, 21.74}, {17399, 18.42}, {19644, 18.00}, {19821, 18.29}, {20677, 17.77}};
enum { PLACES_ECLIPSES = sizeof PLACES_GREATEST / sizeof PLACES_GREATEST[0] };

/* What came of many series. Deviations from the truth in units of the estimate's own sigmas; of two
 * places the nearer one counts. */
typedef struct places_tally {
    size_t series, found, two;
    size_t along_one, across_one, ellipse_one; /* inside one sigma */
    size_t along_three, across_three;          /* inside three */
    double log_along_m, log_across_m;          /* sums of logarithms */
} places_tally;

/* A random place that sees a random eclipse well. */
static inline void places_scene(gsl_rng *rng, scene *s) {
    const double height_sigma_m = 300.0;
    for (;;) {
        tl_site site = {.source = TL_SITE_GIVEN,
                        .lat_rad = asin(2.0 * gsl_rng_uniform(rng) - 1.0),
                        .lon_rad = TL_PI * (2.0 * gsl_rng_uniform(rng) - 1.0),
                        .height_m = fabs(gsl_ran_gaussian(rng, height_sigma_m))};
        size_t which = gsl_rng_uniform_int(rng, PLACES_ECLIPSES);
        if (scene_make(site, PLACES_GREATEST[which][0] * TL_DAY_S, s)) {
            return;
        }
        scene_free(s);
    }
}

/* Every separation shifted as by one error of the Moon's place. */
static inline void places_add_floor(const scene *s, const double *true_utc_s, gsl_rng *rng,
                                    tl_track_frame_in *frame, size_t count) {
    double east = gsl_ran_gaussian(rng, TL_TRACK_FLOOR_SR);
    double north = gsl_ran_gaussian(rng, TL_TRACK_FLOOR_SR);
    for (size_t i = 0; i < count; i++) {
        tl_sky sky;
        memset(&sky, 0, sizeof sky);
        (void)tl_sky_table_at(s->table, true_utc_s[i], &sky);
        frame[i].separation_sr += east * sin(sky.pa_rad) + north * cos(sky.pa_rad);
    }
}

/* The estimate alone: what tl_track_solve does besides takes time. */
static inline tl_status places_find(const tl_track_frame_in *frame, size_t count,
                                    const tl_track_options *options, tl_track *track) {
    tl_track_series series;
    tl_status status = tl_track_series_make(frame, count, options, &series);
    if (status == TL_OK) {
        status = tl_track_place_find(&series, options, track);
        tl_track_series_free(&series);
    }
    return status;
}

/* How far the truth is from an estimate, in sigmas along and across. */
static inline void places_off(const tl_track_place *place, const tl_site *truth, double *along,
                              double *across) {
    const tl_site at = {
        .source = TL_SITE_GIVEN, .lat_rad = place->lat_rad, .lon_rad = place->lon_rad};
    double azimuth, distance = tl_place_distance(&at, truth, &azimuth);
    *along = fabs(distance * cos(azimuth - place->long_axis_rad)) / place->along_m;
    *across = fabs(distance * sin(azimuth - place->long_axis_rad)) / place->across_m;
}

static inline void places_score(const tl_track *track, const tl_site *truth, places_tally *t) {
    double along = HUGE_VAL, across = HUGE_VAL;
    t->series++;
    for (size_t i = 0; i < track->place_count; i++) {
        double a, c;
        places_off(&track->place[i], truth, &a, &c);
        if (hypot(a, c) < hypot(along, across)) {
            along = a;
            across = c;
        }
    }
    if (track->place_count == 0) {
        return;
    }
    t->found++;
    t->two += track->place_count > 1 ? 1 : 0;
    t->along_one += along < 1.0 ? 1 : 0;
    t->across_one += across < 1.0 ? 1 : 0;
    t->ellipse_one += hypot(along, across) < 1.0 ? 1 : 0;
    t->along_three += along < 3.0 ? 1 : 0;
    t->across_three += across < 3.0 ? 1 : 0;
    t->log_along_m += log(track->place[0].along_m);
    t->log_across_m += log(track->place[0].across_m);
}

/* `count` series of 8 to 16 frames (or `frames` if not 0) over the parts from..to of the eclipse,
 * circles good to 3e-4 .. 3e-3 sr, added to the tally. TL_OK, or what the estimate failed with. */
static inline tl_status places_measure(size_t count, size_t frames, double from, double to,
                                       unsigned long seed, places_tally *tally) {
    const double clock_sigma_s = 2.0, best_sigma_sr = 3e-4, time_sigma_s = 0.1;
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus);
    tl_status status = TL_OK;
    gsl_rng_set(rng, seed);
    for (size_t i = 0; status == TL_OK && i < count; i++) {
        tl_track_frame_in frame[SERIES_MAX];
        double true_utc_s[SERIES_MAX];
        scene s;
        places_scene(rng, &s);
        manner how = {.count = frames > 0 ? frames : 8 + gsl_rng_uniform_int(rng, 9),
                      .from = from,
                      .to = to,
                      .sigma_sr = best_sigma_sr * pow(10.0, gsl_rng_uniform(rng)),
                      .time_sigma_s = time_sigma_s,
                      .clock_s = gsl_ran_gaussian(rng, clock_sigma_s),
                      .zone_known = true};
        series_make(&s, &how, rng, frame, true_utc_s, NULL);
        places_add_floor(&s, true_utc_s, rng, frame, how.count);
        tl_track_options options = {.find_site = true, .sky = tl_sky_options_default()};
        tl_track track = {.frame_count = 0};
        status = places_find(frame, how.count, &options, &track);
        places_score(&track, &s.site, tally);
        scene_free(&s);
    }
    gsl_rng_free(rng);
    return status;
}

#endif
