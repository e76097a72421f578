/*
 * test_track_series.h - invented series with known truth for the tests of the track stage.
 *
 * Two sources of truth: Besselian elements as NASA printed them, evaluated here (no code shared
 * with the library), and the library's own sky at known times for what tests the clock, where
 * the truth is the clock error put in.
 */
#ifndef TEST_TRACK_SERIES_H
#define TEST_TRACK_SERIES_H

#include <math.h>
#include <string.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "twolimb/track.h"

enum { SERIES_MAX = 64 };
/* A stamp cut to whole seconds, half a second added: uniform, 1/sqrt(12) s. */
#define WHOLE_SECOND_SIGMA_S 0.288675

/* ---- Besselian elements ---- */

/* NASA RP 1398 (Espenak & Anderson 1997), table 1: total eclipse of 1999 August 11. */
typedef struct elements {
    double t0_h, deltat_s, x[4], y[4], d_deg[3], l1[3], l2[3], mu_deg[3], tan_f1, tan_f2;
} elements;
static const elements ELEMENTS_1999 = {.t0_h = 11.0,
                                       .deltat_s = 64.6,
                                       .x = {.0700559, .5443045, -.0000406, -.0000081},
                                       .y = {.5028388, -.1184931, -.0001158, .0000017},
                                       .d_deg = {15.3273401, -.0120348, -.0000033},
                                       .l1 = {.5424893, .0001168, -.0000117},
                                       .l2 = {-.0036496, .0001163, -.0000116},
                                       .mu_deg = {343.690308, 15.002983, .000002},
                                       .tan_f1 = .0046129,
                                       .tan_f2 = .0045900};

static inline double polynomial(const double *c, size_t count, double t) {
    double sum = 0.0;
    while (count-- > 0) {
        sum = sum * t + c[count];
    }
    return sum;
}

/*
 * Separation in solar radii and the ratio of the discs for a place at sea level, t_h hours TD
 * from t0. Explanatory Supplement (1992), chapter 8.3: m / ((L1 + L2) / 2), (L1 - L2) / (L1 + L2).
 */
static inline double besselian_separation(const elements *e, double lat_deg, double lon_deg,
                                          double height_m, double t_h, double *ratio) {
    double d = polynomial(e->d_deg, 3, t_h) * TL_DEG;
    /* Ephemeris longitude: the Earth turns 1.0027379 * 15 arcsec in a second of UT. */
    double mu = polynomial(e->mu_deg, 3, t_h) - 1.0027379 * 15.0 / 3600.0 * e->deltat_s;
    double hour = (mu + lon_deg) * TL_DEG, lat = lat_deg * TL_DEG;
    double flat = 1.0 - 1.0 / 298.257, u = atan(flat * tan(lat)), high = height_m / 6378137.0;
    double rho_sin = flat * sin(u) + high * sin(lat), rho_cos = cos(u) + high * cos(lat);
    double xi = rho_cos * sin(hour);
    double eta = rho_sin * cos(d) - rho_cos * cos(hour) * sin(d);
    double zeta = rho_sin * sin(d) + rho_cos * cos(hour) * cos(d);
    double l1 = polynomial(e->l1, 3, t_h) - zeta * e->tan_f1;
    double l2 = polynomial(e->l2, 3, t_h) - zeta * e->tan_f2;
    double m = hypot(polynomial(e->x, 4, t_h) - xi, polynomial(e->y, 4, t_h) - eta);
    *ratio = (l1 - l2) / (l1 + l2);
    return 2.0 * m / (l1 + l2);
}

/* ---- series on the library's sky ---- */

/* A place and an eclipse with the Sun well up from first to last contact. */
typedef struct scene {
    tl_site site;
    double day_utc_s;
    tl_circumstances circumstances;
    tl_sky_table *table;
} scene;

static inline tl_site site_of(double lat_deg, double lon_deg) {
    return (tl_site){
        .source = TL_SITE_GIVEN, .lat_rad = lat_deg * TL_DEG, .lon_rad = lon_deg * TL_DEG};
}

static inline bool well_seen(const tl_circumstances *c) {
    const double least_magnitude = 0.15, least_altitude = 3.0 * TL_DEG;
    return c->magnitude > least_magnitude && c->contact[TL_C1].altitude_rad > least_altitude &&
           c->contact[TL_C4].altitude_rad > least_altitude;
}

/* False if no eclipse of some depth is well seen there. */
static inline bool scene_make(tl_site site, double day_utc_s, scene *s) {
    *s = (scene){.site = site, .day_utc_s = day_utc_s};
    tl_circumstances *c = &s->circumstances;
    return tl_sky_circumstances(&site, day_utc_s, NULL, c) == TL_OK && well_seen(c) &&
           tl_sky_table_make(&site, c->contact[TL_C1].t_utc_s - 600.0,
                             c->contact[TL_C4].t_utc_s + 600.0, NULL, &s->table) == TL_OK;
}

static inline void scene_free(scene *s) {
    tl_sky_table_free(s->table);
    s->table = NULL;
}

/* Greatest eclipse, seconds UTC since 1970 to some minutes, of 1998-02-26, 1999-08-11, 2001-06-21,
 * 2006-03-29, 2012-05-20, 2014-10-23, 2017-08-21, 2023-10-14, 2024-04-08, 2026-08-12 (NASA eclipse
 * bulletins and the five-millennium canon). */
static const double GREATEST_S[] = {
    10283 * TL_DAY_S + 17.48 * 3600.0, 10814 * TL_DAY_S + 11.05 * 3600.0,
    11494 * TL_DAY_S + 12.06 * 3600.0, 13236 * TL_DAY_S + 10.19 * 3600.0,
    15480 * TL_DAY_S + 23.88 * 3600.0, 16366 * TL_DAY_S + 21.74 * 3600.0,
    17399 * TL_DAY_S + 18.42 * 3600.0, 19644 * TL_DAY_S + 18.00 * 3600.0,
    19821 * TL_DAY_S + 18.29 * 3600.0, 20677 * TL_DAY_S + 17.77 * 3600.0};
enum { ECLIPSES = sizeof GREATEST_S / sizeof GREATEST_S[0] };

/* A random place that sees a random eclipse at a random moment of it. */
static inline tl_site random_site(gsl_rng *rng, double *greatest_s) {
    const double half_span_s = 1.5 * 3600.0, least_altitude = 10.0 * TL_DEG;
    for (;;) {
        tl_site site = {.source = TL_SITE_GIVEN,
                        .lat_rad = asin(2.0 * gsl_rng_uniform(rng) - 1.0),
                        .lon_rad = TL_PI * (2.0 * gsl_rng_uniform(rng) - 1.0)};
        *greatest_s = GREATEST_S[gsl_rng_uniform_int(rng, ECLIPSES)];
        double t = *greatest_s + half_span_s * (2.0 * gsl_rng_uniform(rng) - 1.0);
        tl_sky sky;
        if (tl_sky_at(&site, t, NULL, &sky) == TL_OK && sky.sun_altitude_rad > least_altitude &&
            sky.magnitude > 0.1) {
            return site;
        }
    }
}

/* Errors of one offset, along the line of centres and across it, and the sigma claimed for both. */
typedef struct circle_error {
    double along_sr, across_sr, sigma_sr;
} circle_error;

/* By how much each stamp is late. */
typedef enum lateness { LATE_NEVER, LATE_EXPONENTIAL, LATE_UNIFORM } lateness;

/* How a series was taken; parts of the eclipse: 0 first contact, 0.5 maximum, 1 last contact. */
typedef struct manner {
    size_t count, camera;
    double from, to;
    double sigma_sr;     /* of each component of the offset; ignored with `draw` */
    double common_share; /* of the variance of the separations: the same error in all frames */
    double common_sr;    /* that error, drawn by series_make */
    circle_error (*draw)(const void *pool, gsl_rng *rng); /* NULL: Gaussian errors */
    const void *pool;
    double time_sigma_s; /* of a sub-second clock; ignored with whole seconds */
    bool whole_seconds;
    double clock_s;   /* camera - UTC put in, at maximum */
    double drift_ppm; /* of it */
    lateness late;
    double late_s;      /* EXPONENTIAL: mean; UNIFORM: most */
    tl_holding holding; /* FREE: any turn */
    double up_rad, jitter_rad;
    bool mirrored;
    bool zone_known;
    int zone_minutes;
} manner;

static inline double time_of_part(const tl_circumstances *c, double part) {
    double a = c->contact[TL_C1].t_utc_s, b = c->contact[TL_MAX].t_utc_s;
    double d = c->contact[TL_C4].t_utc_s;
    return part < 0.5 ? a + (b - a) * 2.0 * part : b + (d - b) * (2.0 * part - 1.0);
}

static inline circle_error circle_error_of(const manner *m, gsl_rng *rng) {
    if (m->draw != NULL) {
        return m->draw(m->pool, rng);
    }
    circle_error e = {.sigma_sr = m->sigma_sr};
    e.along_sr = m->common_sr + gsl_ran_gaussian(rng, m->sigma_sr * sqrt(1.0 - m->common_share));
    e.across_sr = gsl_ran_gaussian(rng, m->sigma_sr);
    return e;
}

/* What the camera writes, and the error it is known to have. */
static inline double stamp_of(const scene *s, const manner *m, double t_utc_s, gsl_rng *rng,
                              double *sigma_s) {
    double since_s = t_utc_s - s->circumstances.contact[TL_MAX].t_utc_s;
    double camera = t_utc_s + m->clock_s + 1e-6 * m->drift_ppm * since_s;
    if (m->late == LATE_EXPONENTIAL) {
        camera += gsl_ran_exponential(rng, m->late_s);
    } else if (m->late == LATE_UNIFORM) {
        camera += m->late_s * gsl_rng_uniform(rng);
    }
    *sigma_s = m->whole_seconds ? WHOLE_SECOND_SIGMA_S : m->time_sigma_s;
    return m->whole_seconds ? floor(camera) + 0.5 : camera + gsl_ran_gaussian(rng, m->time_sigma_s);
}

/* One frame at a true time. */
static inline tl_track_frame_in frame_make(const scene *s, const manner *m, double t_utc_s,
                                           gsl_rng *rng, double *up_rad) {
    tl_sky sky;
    memset(&sky, 0, sizeof sky);
    (void)tl_sky_table_at(s->table, t_utc_s, &sky);
    *up_rad = m->up_rad + gsl_ran_gaussian(rng, m->jitter_rad);
    if (m->holding == TL_HOLDING_FREE) {
        *up_rad = 2.0 * TL_PI * gsl_rng_uniform(rng);
    } else if (m->holding == TL_HOLDING_ALTAZ) {
        *up_rad += sky.parallactic_rad;
    }
    circle_error e = circle_error_of(m, rng);
    /* Along the line of centres and across it: rotated with the Moon's position angle. */
    double north = cos(sky.pa_rad), east = sin(sky.pa_rad), x, y;
    tl_frame_from_sky(*up_rad, m->mirrored, sky.east_sr + e.along_sr * east + e.across_sr * north,
                      sky.north_sr + e.along_sr * north - e.across_sr * east, &x, &y);
    tl_track_frame_in frame = {.camera = m->camera,
                               .timed = true,
                               .zone_known = m->zone_known,
                               .zone_minutes = m->zone_minutes,
                               .measured = true,
                               .separation_sr = hypot(x, y),
                               .separation_sigma_sr = e.sigma_sr,
                               .offset_x_sr = x,
                               .offset_y_sr = y,
                               .offset_xx = e.sigma_sr * e.sigma_sr,
                               .offset_yy = e.sigma_sr * e.sigma_sr,
                               .ratio_raw = sky.ratio,
                               .ratio_raw_sigma = 0.002};
    frame.t_camera_s = stamp_of(s, m, t_utc_s, rng, &frame.t_sigma_s);
    return frame;
}

/* A whole series, at somewhat uneven times; `true_utc_s` and `up_rad` may be NULL. */
static inline void series_make(const scene *s, const manner *m, gsl_rng *rng,
                               tl_track_frame_in *frame, double *true_utc_s, double *up_rad) {
    const double unevenness = 0.8; /* of a step */
    manner alike = *m;
    alike.common_sr = gsl_ran_gaussian(rng, m->sigma_sr * sqrt(m->common_share));
    for (size_t i = 0; i < m->count; i++) {
        double place = (double)i + 0.5 + unevenness * (gsl_rng_uniform(rng) - 0.5);
        double part = m->from + (m->to - m->from) * place / (double)m->count;
        double t = time_of_part(&s->circumstances, part), up;
        frame[i] = frame_make(s, &alike, t, rng, &up);
        if (true_utc_s != NULL) {
            true_utc_s[i] = t;
        }
        if (up_rad != NULL) {
            up_rad[i] = up;
        }
    }
}

/* Every separation shifted as by one error of the Moon's place. */
static inline void series_add_floor(const scene *s, const double *true_utc_s, gsl_rng *rng,
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

static inline tl_track_options options_for(const scene *s) {
    return (tl_track_options){.site = s->site, .sky = tl_sky_options_default()};
}

/* The clock total the track found: camera - UTC. */
static inline double clock_total(const tl_track *track) {
    return tl_track_main(track)->clock.day_shift_s +
           60.0 * tl_track_main(track)->clock.zone_minutes + tl_track_main(track)->clock.offset_s;
}

#endif
