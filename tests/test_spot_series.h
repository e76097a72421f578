/*
 * test_spot_series.h - invented series of marks on an invented Sun, with the truth: no pictures.
 *
 * The marks are put on the disc by vectors of the test's own (no code shared with src/spot): a
 * place at latitude b, longitude l west of the central meridian is the vector (west, north, near) =
 * (cos b sin l, sin b cos B0 - cos b cos l sin B0, sin b sin B0 + cos b cos l cos B0), turned by P
 * (Meeus, Astronomical Algorithms, 2nd ed., ch. 29, his formulas as vectors); seen from 1 / sin S
 * solar radii away. Rotation: Howard, Harvey & Forgach 1990, from ../shared check values:
 * A 2.894, B -0.428, C -0.370 microrad/s sidereal. Sun and Moon: the library's own sky.
 */
#ifndef TEST_SPOT_SERIES_H
#define TEST_SPOT_SERIES_H

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>

#include "twolimb/spot.h"

enum { SPOT_FRAMES_MAX = 40, SPOT_TRUE_MAX = 12 };

typedef struct true_spot {
    double latitude_rad, longitude_rad; /* west of the central meridian at maximum */
    double radius_sr;
} true_spot;

/* What to draw; start from usual_series(). */
typedef struct series_plan {
    tl_site site;
    double day_utc_s;
    size_t frames;
    double from, to; /* of the eclipse: 0 C1, 1 C4 */
    size_t cameras;
    bool mirrored[2];      /* by camera */
    bool fixed;            /* the Sun stays where it is in the frame, one turn, ... */
    double drift_px;       /* ... but for this much from first to last frame */
    double mark_px;        /* error of a mark, each way */
    double moon_sr;        /* error of the Moon's offset, each way */
    double moon_off_sr[2]; /* east and north, the same in all frames: the observer's place is off */
    double chance;         /* chance marks a frame, mean */
    double missed;         /* share of spots not found */
    size_t dust;           /* specks that stay put in the frame */
    size_t undated;        /* of the frames, so many ... */
    size_t undated_from;   /* ... from this one on */
    size_t whole;          /* more frames, before first contact: no Moon */
    tl_mirror said;        /* what the track says */
    true_spot spot[SPOT_TRUE_MAX];
    size_t spots;
} series_plan;

typedef struct spot_series {
    tl_circumstances circumstances;
    tl_sky at_max;
    tl_spot_frame_in in[SPOT_FRAMES_MAX];
    tl_limb limb[SPOT_FRAMES_MAX];
    tl_spot_marks marks[SPOT_FRAMES_MAX];
    tl_spot_mark mark[SPOT_FRAMES_MAX][TL_SPOT_MARKS_MAX];
    int truth[SPOT_FRAMES_MAX][TL_SPOT_MARKS_MAX]; /* spot drawn; -1 chance; -2 dust */
    double up_rad[SPOT_FRAMES_MAX];
    bool mirrored[SPOT_FRAMES_MAX];
    int side[SPOT_FRAMES_MAX];
    size_t count;
    tl_spot_options options;
} spot_series;

static inline series_plan usual_series(void) {
    series_plan plan = {.site = {TL_SITE_GIVEN, 62.0 * TL_DEG, -6.8 * TL_DEG, 60.0},
                        .frames = 12,
                        .from = 0.02,
                        .to = 0.98,
                        .cameras = 1,
                        .mark_px = 0.4,
                        .moon_sr = 0.002,
                        .said = TL_MIRROR_AUTO};
    tl_date_parse("2026-08-12", &plan.day_utc_s);
    return plan;
}

/* Where a true spot stands, sr east and north; false on the far side. */
static inline bool true_place(const spot_series *s, const true_spot *spot, const tl_sky *sky,
                              double *east, double *north) {
    const double s2 = pow(sin(spot->latitude_rad), 2.0);
    const double sidereal = (2.894 - 0.428 * s2 - 0.370 * s2 * s2) * 1e-6;
    const double carrington = 14.1844 * TL_DEG / TL_DAY_S; /* check values, section 8 */
    const double b = spot->latitude_rad;
    const double l = spot->longitude_rad + tl_angle_signed(s->at_max.l0_rad - sky->l0_rad) +
                     (sidereal - carrington) * (sky->t_utc_s - s->at_max.t_utc_s);
    const double w = cos(b) * sin(l);
    const double n = sin(b) * cos(sky->b0_rad) - cos(b) * cos(l) * sin(sky->b0_rad);
    const double near = sin(b) * sin(sky->b0_rad) + cos(b) * cos(l) * cos(sky->b0_rad);
    const double far = 1.0 / sin(sky->sun_radius_rad);
    if (near <= 1.0 / far)
        return false;
    /* an angle over the Sun's own angle */
    const double scale =
        atan(hypot(w, n) / (far - near)) / sky->sun_radius_rad / fmax(hypot(w, n), 1e-12);
    const double e = n * sin(sky->p_rad) - w * cos(sky->p_rad);
    *north = scale * (n * cos(sky->p_rad) + w * sin(sky->p_rad));
    *east = scale * e;
    return true;
}

static inline void put_mark(spot_series *s, size_t i, double x_px, double y_px, double sigma_px,
                            double radius_px, int truth) {
    tl_spot_marks *m = &s->marks[i];
    if (m->count == TL_SPOT_MARKS_MAX)
        return;
    s->truth[i][m->count] = truth;
    m->mark[m->count++] = (tl_spot_mark){.x_px = x_px,
                                         .y_px = y_px,
                                         .sigma_px = sigma_px,
                                         .area_px2 = TL_PI * radius_px * radius_px,
                                         .umbra_px2 = 0.18 * TL_PI * radius_px * radius_px,
                                         .missing_px2 = 0.29 * TL_PI * radius_px * radius_px,
                                         .contrast = 0.4,
                                         .significance = 40.0,
                                         .blur_px = 1.5};
}

static inline void draw_frame(const series_plan *plan, gsl_rng *random, double t_utc_s, size_t i,
                              spot_series *s) {
    const size_t camera = i % plan->cameras;
    const bool mirrored = plan->mirrored[camera];
    const double r_px = plan->fixed ? 400.0 : 300.0 + 200.0 * gsl_rng_uniform(random);
    const double drift_px = plan->drift_px * (double)i / (double)plan->frames;
    const double x0 = plan->fixed ? 800.0 + drift_px : 600.0 + 400.0 * gsl_rng_uniform(random);
    const double y0 = plan->fixed ? 800.0 : 600.0 + 400.0 * gsl_rng_uniform(random);
    const double up = plan->fixed ? 0.3 : 2.0 * TL_PI * gsl_rng_uniform(random);
    tl_sky sky;
    tl_sky_at(&plan->site, t_utc_s, NULL, &sky);
    tl_limb *limb = &s->limb[i];
    *limb = (tl_limb){.status = sky.magnitude > 0.0 ? TL_LIMB_MEASURED : TL_LIMB_SUN_ONLY,
                      .circle = {x0, y0, r_px},
                      .flattening = 1.0,
                      .flat_y = 1.0,
                      .blur_px = 1.5};
    limb->covariance[TL_SUN_X][TL_SUN_X] = limb->covariance[TL_SUN_Y][TL_SUN_Y] = 0.01;
    double x, y;
    tl_frame_from_sky(up, mirrored, sky.east_sr + plan->moon_off_sr[0],
                      sky.north_sr + plan->moon_off_sr[1], &x, &y);
    limb->offset_x_sr = x + gsl_ran_gaussian(random, plan->moon_sr);
    limb->offset_y_sr = y + gsl_ran_gaussian(random, plan->moon_sr);
    limb->offset_xx = limb->offset_yy = plan->moon_sr * plan->moon_sr;
    s->up_rad[i] = up;
    s->mirrored[i] = mirrored;
    s->marks[i] =
        (tl_spot_marks){.searched = true, .noise = 0.004, .depth_scale = 1.0, .mark = s->mark[i]};
    s->in[i] = (tl_spot_frame_in){.camera = camera,
                                  .width = 1600,
                                  .height = 1600,
                                  .limb = limb,
                                  .marks = &s->marks[i],
                                  .in_track = limb->status == TL_LIMB_MEASURED,
                                  .sky_count = 1,
                                  .sky = {sky},
                                  .mirror = plan->said};
    for (size_t k = 0; k < plan->spots; k++) {
        double e, n;
        if (!true_place(s, &plan->spot[k], &sky, &e, &n) ||
            hypot(e - sky.east_sr, n - sky.north_sr) < sky.ratio + plan->spot[k].radius_sr + 0.01 ||
            hypot(e, n) > 0.97 || gsl_rng_uniform(random) < plan->missed)
            continue;
        tl_frame_from_sky(up, mirrored, e, n, &x, &y);
        put_mark(s, i, x0 + r_px * x + gsl_ran_gaussian(random, plan->mark_px),
                 y0 + r_px * y + gsl_ran_gaussian(random, plan->mark_px), plan->mark_px,
                 plan->spot[k].radius_sr * r_px, (int)k);
    }
    for (unsigned int k = gsl_ran_poisson(random, plan->chance); k > 0; k--) {
        const double r = sqrt(gsl_rng_uniform(random)) * 0.95;
        const double a = 2.0 * TL_PI * gsl_rng_uniform(random);
        put_mark(s, i, x0 + r_px * r * cos(a), y0 + r_px * r * sin(a), plan->mark_px,
                 r_px * (0.006 + 0.01 * gsl_rng_uniform(random)), -1);
    }
    for (size_t k = 0; k < plan->dust; k++) {
        const double dx = 760.0 + 90.0 * (double)k, dy = 840.0 - 60.0 * (double)k;
        if (hypot(dx - x0, dy - y0) < 0.95 * r_px)
            put_mark(s, i, dx, dy, plan->mark_px, 5.0, -2);
    }
}

/* Where one second before or after maximum the separation is the same. */
static inline void make_undated(const series_plan *plan, size_t i, spot_series *s) {
    const double max_s = s->circumstances.contact[TL_MAX].t_utc_s;
    const double t_s = s->in[i].sky[0].t_utc_s, separation = s->in[i].sky[0].separation_sr;
    double low = 0.0, high = 2.0 * fabs(t_s - max_s) + 600.0;
    tl_sky sky;
    const double away = t_s < max_s ? 1.0 : -1.0; /* the other side */
    for (int step = 0; step < 50; step++) {
        const double mid = 0.5 * (low + high);
        tl_sky_at(&plan->site, max_s + away * mid, NULL, &sky);
        if (sky.separation_sr < separation)
            low = mid;
        else
            high = mid;
    }
    tl_sky_at(&plan->site, max_s + away * low, NULL, &sky);
    s->side[i] = away > 0.0 ? 0 : 1;
    s->in[i].sky_count = 2;
    if (s->side[i] == 0) {
        s->in[i].sky[1] = sky;
    } else {
        s->in[i].sky[1] = s->in[i].sky[0];
        s->in[i].sky[0] = sky;
    }
}

/* `s` is large: keep it off the stack. */
static inline void draw_series(const series_plan *plan, unsigned long seed, spot_series *s) {
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, seed);
    memset(s, 0, sizeof *s);
    tl_sky_circumstances(&plan->site, plan->day_utc_s, NULL, &s->circumstances);
    const double c1 = s->circumstances.contact[TL_C1].t_utc_s;
    const double c4 = s->circumstances.contact[TL_C4].t_utc_s;
    const double max_s = s->circumstances.contact[TL_MAX].t_utc_s;
    tl_sky_at(&plan->site, max_s, NULL, &s->at_max);
    s->options = (tl_spot_options){.epoch_utc_s = max_s, .epoch_sky = s->at_max};
    for (size_t i = 0; i < plan->frames + plan->whole; i++) {
        const double share = plan->frames > 1 ? (double)i / (double)(plan->frames - 1) : 0.0;
        const double at = plan->from + (plan->to - plan->from) * share;
        const double t_s =
            i < plan->frames ? c1 + at * (c4 - c1) : c1 - 120.0 * (double)(i - plan->frames + 1);
        draw_frame(plan, random, t_s, i, s);
        if (i >= plan->undated_from && i < plan->undated_from + plan->undated)
            make_undated(plan, i, s);
    }
    s->count = plan->frames + plan->whole;
    gsl_rng_free(random);
}

/* Spots over the visible disc, apart from each other. */
static inline void random_spots(series_plan *plan, size_t count, unsigned long seed) {
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, seed);
    plan->spots = 0;
    while (plan->spots < count) {
        true_spot spot = {.latitude_rad = (gsl_rng_uniform(random) < 0.5 ? -1.0 : 1.0) *
                                          (5.0 + 30.0 * gsl_rng_uniform(random)) * TL_DEG,
                          .longitude_rad = (120.0 * gsl_rng_uniform(random) - 60.0) * TL_DEG,
                          .radius_sr = 0.006 + 0.018 * gsl_rng_uniform(random)};
        bool apart = true;
        for (size_t k = 0; k < plan->spots; k++)
            apart = apart && hypot(spot.latitude_rad - plan->spot[k].latitude_rad,
                                   spot.longitude_rad - plan->spot[k].longitude_rad) > 6.0 * TL_DEG;
        if (apart)
            plan->spot[plan->spots++] = spot;
    }
    gsl_rng_free(random);
}

/* The found spot nearest to a true one, and how far in latitude and longitude; NULL if none within
 * 3 degrees. */
static inline const tl_spot *found_near(const tl_spots *spots, const spot_series *s,
                                        const true_spot *spot, double *dlat_rad, double *dlon_rad) {
    const tl_spot *best = NULL;
    double nearest = 3.0 * TL_DEG;
    for (size_t k = 0; k < spots->count; k++) {
        const tl_spot *found = &spots->spot[k];
        const double dlat = found->latitude_rad - spot->latitude_rad;
        const double dlon =
            tl_angle_signed(found->carrington_rad - spot->longitude_rad - s->at_max.l0_rad);
        if (hypot(dlat, dlon) < nearest) {
            nearest = hypot(dlat, dlon);
            best = found;
            *dlat_rad = dlat;
            *dlon_rad = dlon;
        }
    }
    return best;
}

#endif
