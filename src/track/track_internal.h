/*
 * track_internal.h - what the files of src/track/ share.
 *
 * The stage works with "camera seconds": what the camera's clock showed, all
 * frames brought to one zone, no day, zone or offset taken out. One number, the
 * clock total = camera - UTC, ties them to the sky; zone.c splits it at the end.
 */
#ifndef TWOLIMB_TRACK_INTERNAL_H
#define TWOLIMB_TRACK_INTERNAL_H

#include <gsl/gsl_multifit_nlinear.h>

#include "twolimb/track.h"

#define TL_TRACK_HOUR_S 3600.0

/* Beyond this many times the noise level a frame is an outlier. A Gaussian error does that once
 * in 16,000; with the level itself estimated from few frames, some ten times as often. */
#define TL_TRACK_OUTLIER_SIGMAS 4.0

/* Up to this scatter the frames share a turn; beyond it a hand held the camera, more or less
 * upright: enough to tell the mirror, not enough to call it a way of mounting. Our own choice. */
#define TL_TRACK_STEADY_RAD (5.0 * TL_DEG)

/* A timed and measured frame, checked. */
typedef struct tl_track_obs {
    size_t index; /* of the frame */
    double t_s, t_sigma_s;
    double s, s_sigma; /* separation, sr */
    bool has_direction;
    double direction_rad; /* PA of the Moon less up_pa if not mirrored; minus that if mirrored */
    double direction_sigma_rad;
    bool dropped; /* an outlier */
} tl_track_obs;

/* The frames as given, cleaned: garbage has lost its flag, times are in one zone. */
typedef struct tl_track_series {
    tl_track_frame_in *frame; /* owned */
    size_t frame_count;
    tl_track_obs *obs; /* owned; the timed and measured frames of one day, in order of frames */
    size_t obs_count;
    bool zone_said; /* by the user or by the frames */
    int zone_minutes;
} tl_track_series;

tl_status tl_track_series_make(const tl_track_frame_in *in, size_t count,
                               const tl_track_options *options, tl_track_series *series);
void tl_track_series_free(tl_track_series *series);

/* Least squares by GSL from a start; `fdf` carries n, p and the callbacks. `covariance` (p x p,
 * row by row) is that of unit-weight residuals. TL_ERR_NO_FIT, TL_ERR_MEMORY. */
tl_status tl_track_least_squares(gsl_multifit_nlinear_fdf *fdf, double *parameter,
                                 double *covariance);

/* Robust statistics; `value` is put in order by the first. */
double tl_track_median(double *value, size_t count);
/* Noise level of residuals in units of their sigma: 1.4826 times the median of |r| (the Gaussian
 * ratio; Hampel 1974), never below 1. 1 if there is no memory. */
double tl_track_noise_level(const double *residual, size_t count);
/* Factor for the errors given, from chi^2 and its degrees of freedom, never below 1. */
double tl_track_noise_scale(double chi2, double freedom);
/* Mark what lies beyond the limit, the worst first, and at most as many as `keep_at_least` and
 * a 40 % share allow. True if the marks have changed. */
bool tl_track_mark_outliers(tl_track_obs *obs, const double *residual, size_t count, double level,
                            size_t keep_at_least);

/* ---- free solution ---- */

/* Parameters of the free path, see free_path.c. */
enum { TL_PATH_T0, TL_PATH_C0, TL_PATH_V, TL_PATH_BEND, TL_PATH_C4, TL_PATH_PARAMS };

typedef struct tl_track_path {
    double origin_s; /* camera time of the smallest separation */
    double parameter[TL_PATH_PARAMS];
    double covariance[TL_PATH_PARAMS][TL_PATH_PARAMS];
    double coefficient[5]; /* s^2 = sum c_i tau^i, tau = hours from the origin */
    double shift_sigma_s;  /* of a mere shift of the whole path */
    double rms_sr;
    int degree; /* highest power decided by the data rather than by the prior */
    size_t used;
} tl_track_path;

/*
 * `known_level` > 0: the factor for the errors given, from a fit that has more frames to spare; the
 * outliers are then those marked in `obs`. 0: factor and outliers from the path itself, marked in
 * `obs`. TL_ERR_TOO_FEW: under three different times; TL_ERR_NO_FIT; TL_ERR_MEMORY.
 */
tl_status tl_track_path_fit(tl_track_obs *obs, size_t count, double known_level,
                            tl_track_path *path);

/* Start of the path fit: t0, c0, v by a robust scan; hours from `zero_s`. */
void tl_track_path_start(const tl_track_obs *obs, size_t count, double zero_s,
                         double parameter[TL_PATH_PARAMS]);
/* s^2 and its time derivative (per hour) of the path at tau hours from its smallest separation. */
double tl_track_path_value(const double parameter[TL_PATH_PARAMS], double tau);
double tl_track_path_slope(const double parameter[TL_PATH_PARAMS], double tau);
/* d s^2 / d parameter at tau. */
void tl_track_path_gradient(const double parameter[TL_PATH_PARAMS], double tau,
                            double gradient[TL_PATH_PARAMS]);
/* Where the path meets separation `s` before (side < 0) or after (side > 0) its smallest one. */
bool tl_track_path_reach(const double parameter[TL_PATH_PARAMS], double s, int side, double *tau);

/* ---- tied solution ---- */

/* The eclipse the series is compared with. */
typedef struct tl_track_eclipse {
    tl_site site;
    tl_sky_options sky;
    tl_circumstances circumstances;
    tl_sky_table *table; /* owned; covers from_s..to_s UTC */
    double from_s, to_s;
} tl_track_eclipse;
/* TL_ERR_NO_ECLIPSE if none can be seen there within a day or so of `day_utc_s`. */
tl_status tl_track_eclipse_make(const tl_track_options *options, double day_utc_s,
                                tl_track_eclipse *eclipse);
void tl_track_eclipse_free(tl_track_eclipse *eclipse);
/* Sun and Moon at any time; fast within the table. Statuses as tl_sky_at. */
tl_status tl_track_eclipse_sky(const tl_track_eclipse *eclipse, double t_utc_s, tl_sky *sky);
/* Separation and its change per second; false outside the table. */
bool tl_track_eclipse_separation(const tl_track_eclipse *eclipse, double t_utc_s, double *s,
                                 double *s_per_s);

enum { TL_TRACK_CANDIDATES = 12 };
/* Clock totals at which the series may fall on the eclipse, best first. Returns how many. */
tl_status tl_track_clock_search(const tl_track_obs *obs, size_t count,
                                const tl_track_eclipse *eclipse,
                                double candidate_s[TL_TRACK_CANDIDATES], size_t *found);

/* How the directions of the frames hang together, for one clock total. */
typedef struct tl_track_turn {
    tl_holding holding; /* FREE, FIXED or ALTAZ */
    tl_mirror mirrored; /* AUTO: not determined */
    double up_rad;      /* FIXED: up_pa; ALTAZ: up_pa less the parallactic angle */
    double jitter_rad;  /* of single frames about it */
    double criterion;   /* AICc of the directions; lower is better */
} tl_track_turn;
tl_status tl_track_turn_decide(const tl_track_obs *obs, size_t count,
                               const tl_track_eclipse *eclipse, double clock_s,
                               const tl_track_options *options, tl_track_turn *turn);
/* Difference, observed less modelled, of a frame's up_pa; sky at its true time. */
double tl_track_turn_residual(const tl_track_obs *obs, const tl_sky *sky, tl_holding holding,
                              bool mirrored, double up_rad);

typedef struct tl_track_clock_fit {
    double clock_s, sigma_s;
    double chi2; /* with the sigmas given; outliers count as the limit */
    double noise_level;
    double rms_sr;
    size_t used;
    bool *dropped; /* owned, one per obs */
} tl_track_clock_fit;
/* Refine from a start; outliers are judged anew, those marked in `obs` do not count. */
tl_status tl_track_clock_fit_make(const tl_track_obs *obs, size_t count,
                                  const tl_track_eclipse *eclipse, double start_s,
                                  tl_track_clock_fit *fit);
void tl_track_clock_fit_free(tl_track_clock_fit *fit);

/* The clock total as whole days + zone + offset. */
typedef struct tl_track_zone {
    double day_shift_s;
    int zone_minutes;
    bool corrected;   /* not the zone that was said */
    bool half_day;    /* the offset holds twelve hours: morning and afternoon mixed up */
    bool long_offset; /* no zone in use comes within a quarter of an hour */
    double offset_s;
} tl_track_zone;
tl_track_zone tl_track_zone_split(double clock_s, bool said, int said_minutes, double lon_rad);
/* How unlikely such a split is, in units of chi^2. */
double tl_track_zone_penalty(const tl_track_zone *zone);

/* Everything the tied solution found. */
typedef struct tl_track_tied {
    bool solved;
    tl_track_clock_fit fit;
    tl_track_turn turn;
    tl_track_zone zone;
    bool mirror_contradicted, holding_contradicted;
    size_t alternative_count;
    double alternative_clock_s[TL_CLOCK_ALTERNATIVES];
    double alternative_sigma_s[TL_CLOCK_ALTERNATIVES];
    double alternative_delta_chi2[TL_CLOCK_ALTERNATIVES];
} tl_track_tied;
/* TL_OK with solved false when nothing fits; marks outliers in the series. */
tl_status tl_track_tied_solve(tl_track_series *series, const tl_track_eclipse *eclipse,
                              const tl_track_options *options, tl_track_tied *tied);
void tl_track_tied_free(tl_track_tied *tied);

/* ---- place ---- */

/* Fill track->place[] and place_status where the place is asked for; the zone must be that said.
 * TL_ERR_MEMORY is the only failure. */
tl_status tl_track_place_find(const tl_track_series *series, const tl_track_options *options,
                              tl_track *track);

/* ---- results ---- */

/* How far the solution came, for the note. */
typedef struct tl_track_situation {
    bool has_day;
    double day_utc_s;  /* 0 h of the day asked for */
    tl_status eclipse; /* of finding the eclipse */
    bool has_nearest;  /* after TL_ERR_NO_ECLIPSE */
    double nearest_utc_s;
    tl_status path; /* of the free solution */
    bool half_day, long_offset;
    bool mirror_contradicted, holding_contradicted; /* what was given against what the data say */
    double misfit;     /* scatter about the almanac over the errors given, >= 1 */
    size_t other_days; /* measured frames too far in time from the rest to be of the series */
    size_t by_order;   /* frames without a time whose separation and order gave one */
} tl_track_situation;

/* Contacts, smallest separation and speed from the free path, in camera time. `eclipse` may be
 * NULL: the ratio is then the measured one. */
void tl_track_contacts(const tl_track_series *series, const tl_track_path *path,
                       const tl_track_eclipse *eclipse, tl_track *track);
/* The solved clock taken out of them. */
void tl_track_contacts_utc(const tl_track_path *path, double clock_s, tl_track *track);
/* Weighted mean of the raw ratios; 0 and 0 if no frame has one. */
tl_status tl_track_ratio_mean(const tl_track_series *series, double *ratio, double *ratio_sigma);
/* What the almanac says: contacts, smallest separation, speed. */
void tl_track_predict(const tl_track_eclipse *eclipse, tl_track *track);
/* True times, turns, almanac values, magnitudes of the frames. */
tl_status tl_track_frames(const tl_track_series *series, const tl_track_eclipse *eclipse,
                          const tl_track_tied *tied, const tl_track_path *path, tl_track *track);
/* Put a frame to a true time: almanac, altitude, PA. Left without one outside 1950-2100. */
tl_status tl_track_frame_set_time(double t_utc_s, double sigma_s, const tl_track_eclipse *eclipse,
                                  tl_track_frame *frame);
/* True times of measured frames without camera time, where the order decides the side. */
tl_status tl_track_untimed(const tl_track_series *series, const tl_track_eclipse *eclipse,
                           tl_track *track);

/* One plain sentence on the most important thing that is missing or odd. */
void tl_track_write_note(const tl_track_series *series, const tl_track_options *options,
                         const tl_track_situation *situation, tl_track *track);

/* Free and tied solution of a series and all that follows but the note; `eclipse` NULL: free only.
 * `track->frame` is there already, zeroed. */
tl_status tl_track_solve_series(tl_track_series *series, const tl_track_options *options,
                                const tl_track_eclipse *eclipse, tl_track_situation *situation,
                                tl_track *track);

#endif
