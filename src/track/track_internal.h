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
#include <gsl/gsl_spline.h>

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
    size_t camera;
    double t_s, t_sigma_s;
    double s, s_sigma; /* separation, sr */
    bool has_direction;
    double direction_rad; /* PA of the Moon less up_pa if not mirrored; minus that if mirrored */
    double direction_sigma_rad;
    bool dropped; /* an outlier */
} tl_track_obs;

/* What one camera gave. */
typedef struct tl_track_slice {
    size_t frame_count;
    size_t first_obs, obs_count; /* a stretch of series.obs */
    bool zone_said;              /* by the user or by the frames */
    int zone_minutes;
} tl_track_slice;

/* The frames as given, cleaned: garbage has lost its flag, the times of a camera are in one zone.
 */
typedef struct tl_track_series {
    tl_track_frame_in *frame; /* owned */
    size_t frame_count;
    tl_track_obs *obs; /* owned; the timed and measured frames, of one day for each camera: camera
                          by camera, each in order of frames */
    size_t obs_count;
    tl_track_obs **obs_of; /* owned; one per frame, NULL if it is not among them */
    tl_track_slice camera[TL_CAMERAS_MAX];
    size_t camera_count; /* at least 1 */
} tl_track_series;

tl_status tl_track_series_make(const tl_track_frame_in *in, size_t count,
                               const tl_track_options *options, tl_track_series *series);
void tl_track_series_free(tl_track_series *series);
/* What a measured frame tells, at a time that may be another than its own; the index is left 0. */
tl_track_obs tl_track_obs_of(const tl_track_frame_in *f, double t_s);

/* Least squares by GSL from a start; `fdf` carries n, p and the callbacks. `covariance` (p x p,
 * row by row) is that of unit-weight residuals. TL_ERR_NO_FIT, TL_ERR_MEMORY. */
tl_status tl_track_least_squares(gsl_multifit_nlinear_fdf *fdf, double *parameter,
                                 double *covariance);

/* Robust statistics; `value` is put in order by the first. */
double tl_track_median(double *value, size_t count);
/* Noise level of residuals in units of their sigma: 1.4826 times the median of |r| (the Gaussian
 * ratio; Hampel 1974), never below 1. `scratch` holds as many. */
double tl_track_noise_level(const double *residual, size_t count, double *scratch);
/* Factor for the errors given, from chi^2 and its degrees of freedom, never below 1. */
double tl_track_noise_scale(double chi2, double freedom);
/* Mark what lies beyond the limit, the worst first, and at most as many as `keep_at_least` and
 * a 40 % share allow. True if the marks have changed. */
bool tl_track_mark_outliers(tl_track_obs *obs, const double *residual, size_t count, double level,
                            size_t keep_at_least);

/* ---- free solution ---- */

/* Parameters of the free path, see free_path.c. */
enum {
    TL_PATH_T0,
    TL_PATH_C0,
    TL_PATH_V,
    TL_PATH_BEND,
    TL_PATH_C4,
    TL_PATH_C5,
    TL_PATH_C6,
    TL_PATH_PARAMS
};

typedef struct tl_track_path {
    double origin_s; /* time of the smallest separation, main camera */
    double parameter[TL_PATH_PARAMS];
    double covariance[TL_PATH_PARAMS][TL_PATH_PARAMS];
    double coefficient[TL_FREE_POWERS];
    double coefficient_covariance[TL_FREE_POWERS][TL_FREE_POWERS]; /* both as in tl_track */
    double shift_sigma_s; /* of a mere shift of the whole path */
    double rms_sr;
    bool before, after; /* frames on this side of the smallest separation */
    int degree;         /* highest power decided by the data rather than by the prior */
    size_t used;
} tl_track_path;

/* Start of the path fit: t0, c0, v by a robust scan; hours from `zero_s`. `scratch` holds one per
 * obs. */
void tl_track_path_start(const tl_track_obs *obs, size_t count, double zero_s, double *scratch,
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
    gsl_spline *square;  /* owned; separation^2, hours from from_s */
    double from_s, to_s;
} tl_track_eclipse;
/* TL_ERR_NO_ECLIPSE if none can be seen there within a day or so of `day_utc_s`. */
tl_status tl_track_eclipse_make(const tl_track_options *options, double day_utc_s,
                                tl_track_eclipse *eclipse);
void tl_track_eclipse_free(tl_track_eclipse *eclipse);

/* Those it may be. */
typedef struct tl_track_eclipses {
    tl_track_eclipse *item; /* owned */
    size_t count;
} tl_track_eclipses;
void tl_track_eclipses_free(tl_track_eclipses *list);
/* Add the one of that day, unless it is in the list; statuses as tl_track_eclipse_make. */
tl_status tl_track_eclipses_add(const tl_track_options *options, double day_utc_s,
                                tl_track_eclipses *list);
/* Add all that could be seen at the place within a camera's working life of that day. */
tl_status tl_track_eclipses_search(const tl_track_options *options, double day_utc_s,
                                   tl_track_eclipses *list);

/* Sun and Moon at any time; fast within the table. Statuses as tl_sky_at. */
tl_status tl_track_eclipse_sky(const tl_track_eclipse *eclipse, double t_utc_s, tl_sky *sky);
/* Separation and its change per second; false outside the table. */
bool tl_track_eclipse_separation(const tl_track_eclipse *eclipse, double t_utc_s, double *s,
                                 double *s_per_s);

enum { TL_TRACK_BEFORE, TL_TRACK_AFTER }; /* maximum */
/* When the separation is `s` on one side of maximum; the end of that side if it never is. */
double tl_track_eclipse_when(const tl_track_eclipse *eclipse, double s, int side);

/* ---- of one camera: `obs` and `count` are its stretch of the series ---- */

enum { TL_TRACK_CANDIDATES = 12 };
typedef struct tl_track_start {
    double clock_s, cost; /* chi^2, each frame's share limited */
} tl_track_start;
/* Clock totals at which the series may fall on the eclipse, best first; `*found` of them. */
tl_status tl_track_clock_search(const tl_track_obs *obs, size_t count,
                                const tl_track_eclipse *eclipse,
                                tl_track_start start[TL_TRACK_CANDIDATES], size_t *found);

/* How the directions of the frames hang together, for one clock total. */
typedef struct tl_track_turn {
    tl_holding holding; /* FREE, FIXED or ALTAZ */
    bool open;          /* FIXED and ALTAZ fit about equally well */
    tl_mirror mirrored; /* AUTO: not determined */
    double up_rad;      /* FIXED: up_pa; ALTAZ: up_pa less the parallactic angle */
    double up_sigma_rad;
    double jitter_rad; /* of single frames about it */
    double criterion;  /* AICc of the directions; lower is better */
} tl_track_turn;
/* The up_pa that a frame has if it is not mirrored and if it is, its error, and what of it an
 * alt-azimuth mount turns. */
typedef struct tl_track_turn_row {
    double up_rad[2], sigma_rad, parallactic_rad;
} tl_track_turn_row;
tl_track_turn_row tl_track_turn_row_of(const tl_track_obs *obs, const tl_sky *sky);
tl_track_turn tl_track_turn_decide_rows(const tl_track_turn_row *row, size_t count,
                                        const tl_track_options *options);
tl_status tl_track_turn_decide(const tl_track_obs *obs, size_t count,
                               const tl_track_eclipse *eclipse, double clock_s,
                               const tl_track_options *options, tl_track_turn *turn);
/* Difference, observed less modelled, of a frame's up_pa; sky at its true time. */
double tl_track_turn_residual(const tl_track_obs *obs, const tl_sky *sky, tl_holding holding,
                              bool mirrored, double up_rad);

/* A frame against the sky at one clock total. */
typedef struct tl_track_sight {
    bool seen;     /* within the table; else the rest is 0 */
    double off_sr; /* observed - almanac */
    double rate;   /* of the separation, sr per s */
    double sigma_sr;
} tl_track_sight;
tl_track_sight tl_track_look(const tl_track_obs *obs, const tl_track_eclipse *eclipse,
                             double clock_s);

/* Share of the variance of a camera's circle errors that all of them have in common. Of frames
 * drawn at random from those measured for docs/accuracy.md the mean error is about half the rms, by
 * hand, on a mount and of small discs alike. */
#define TL_TRACK_COMMON_SHARE 0.25

typedef struct tl_track_solution {
    double clock_s, sigma_s; /* at at_s */
    double drift, drift_sigma;
} tl_track_solution;
/*
 * Least squares of the frames that are not dropped, from the state in `solution`; `level`
 * multiplies every sigma. TL_ERR_TOO_FEW: none of them; TL_ERR_NO_FIT: they do not tell the clock;
 * TL_ERR_MEMORY.
 */
tl_status tl_track_clock_lsq(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                             double level, double at_s, bool with_drift,
                             tl_track_solution *solution);

/* How the stamps of a camera relate to true time, UTC = t - clock - drift (t - at) [- lateness]. */
typedef struct tl_track_clock_fit {
    double clock_s, sigma_s; /* holds at at_s; covariance with the drift is nil there */
    bool has_drift;
    double drift, drift_sigma; /* seconds per second; without a drift: what one may be, rms */
    double at_s;               /* camera time */
    tl_stamps stamps;
    double scatter_s, scatter_sigma_s; /* see tl_clock.stamp_scatter_s */
    double stamp_sigma_s; /* standard deviation of single stamps beyond their reading errors */
    double chi2;          /* with the sigmas given; outliers count as the limit */
    double noise_level;
    double rms_sr;
    size_t used;
    bool *dropped;               /* owned, one per obs */
    double *utc_s, *utc_sigma_s; /* owned, one per obs: true times; NULL where the clock alone
                                    tells them (SOUND) */
} tl_track_clock_fit;
/* Refine from a start; outliers are judged anew, those marked in `obs` do not count. No drift,
 * stamps taken as sound. */
tl_status tl_track_clock_fit_make(const tl_track_obs *obs, size_t count,
                                  const tl_track_eclipse *eclipse, double start_s,
                                  tl_track_clock_fit *fit);
void tl_track_clock_fit_free(tl_track_clock_fit *fit);
/* What quartz clocks do in the hand, the pocket and the Sun, rms: a second or two a day (common
 * practice, no source). So much may be there unseen. */
#define TL_TRACK_DRIFT_USUAL 20e-6
/* Give the fit a drift if the data demand one. */
tl_status tl_track_drift(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                         tl_track_clock_fit *fit);
/* Replace the fit by one with scattered or late stamps if these explain the series better.
 * TL_ERR_MEMORY is the only failure. */
tl_status tl_track_stamps(const tl_track_obs *obs, size_t count, const tl_track_eclipse *eclipse,
                          tl_track_clock_fit *fit);
/* True time of a stamp by clock and drift alone, and its sigma. */
double tl_track_clock_utc(const tl_track_clock_fit *fit, double t_s);
double tl_track_clock_utc_sigma(const tl_track_clock_fit *fit, double t_s, double t_sigma_s);

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
/* The next best split of the same total with another zone; false if it is far less likely. */
bool tl_track_zone_other(const tl_track_zone *zone, double clock_s, bool said, int said_minutes,
                         double lon_rad, tl_track_zone *other);
/* How unlikely such a split is, in units of chi^2. */
double tl_track_zone_penalty(const tl_track_zone *zone);

/* What the tied solution found for one camera. */
typedef struct tl_track_tied {
    bool solved;
    tl_track_clock_fit fit;
    tl_track_turn turn;
    tl_track_zone zone;
    bool mirror_contradicted, holding_contradicted;
    bool mirror_opposed; /* the rule of the mount and the sunspots say different things */
    size_t alternative_count;
    struct {
        double clock_s, sigma_s, delta_chi2;
        tl_track_zone zone;
        bool same_clock; /* another split of the total that was taken */
    } alternative[TL_CLOCK_ALTERNATIVES];
} tl_track_tied;
/*
 * One eclipse for all cameras, `*chosen` of the list, and for each camera its clock: `tied` has one
 * for each camera of the series. TL_OK with solved false where nothing fits; marks outliers in the
 * series.
 */
tl_status tl_track_tied_solve(tl_track_series *series, const tl_track_eclipses *eclipses,
                              const tl_track_options *options, tl_track_tied tied[TL_CAMERAS_MAX],
                              size_t *chosen);
void tl_track_tied_free(tl_track_tied *tied);
/* Does what the directions say by themselves, `found`, speak against the holding given? `turn` is
 * the rule that was given. */
bool tl_track_holding_contradicted(const tl_track_options *options, const tl_track_turn *found,
                                   const tl_track_turn *turn);
/* True time of a frame by its camera's clock; one that took part in the fit may know better than
 * its stamp. */
void tl_track_clock_time(const tl_track_series *series, size_t i, const tl_track_tied *tied,
                         double *utc_s, double *sigma_s);

/* ---- compasses: how frames were turned by their sunspots ---- */

typedef struct tl_track_bearing {
    bool known; /* else the rest says nothing */
    bool mirrored;
    double up_rad, sigma_rad;
} tl_track_bearing;
typedef struct tl_track_compasses {
    tl_track_compass told;
    bool hand_decided;       /* the Moons fit their mirror image clearly worse ... */
    bool reversed;           /* ... or clearly better */
    tl_track_bearing *frame; /* owned; one per frame */
} tl_track_compasses;
/* Their zero, by frames of the fits and by undated ones with a true time in `track`. `eclipse` may
 * be NULL. TL_ERR_MEMORY is the only failure. */
tl_status tl_track_compasses_make(const tl_track_series *series, const tl_track_eclipse *eclipse,
                                  const tl_track_tied *tied, const tl_track_options *options,
                                  const tl_track *track, tl_track_compasses *compasses);
void tl_track_compasses_free(tl_track_compasses *compasses);
/* Holding and mirror of a camera anew, if any of its frames has a bearing. */
tl_status tl_track_compass_turn(const tl_track_series *series, const tl_track_eclipse *eclipse,
                                const tl_track_options *options,
                                const tl_track_compasses *compasses, size_t camera,
                                tl_track_tied *tied);
/* What the bearings say of a camera's mirror, where the user has not. */
void tl_track_compass_mirror(const tl_track_series *series, const tl_track_compasses *compasses,
                             size_t k, tl_track_camera *camera);
/* Change of the Moon's PA, rad per s, and its error for a time known so well. */
double tl_track_pa_rate(const tl_track_eclipse *eclipse, double t_utc_s);
double tl_track_pa_sigma(const tl_track_eclipse *eclipse, double t_utc_s, double sigma_s);

/*
 * The free path in the time of the camera `main`. Where that one's clock is solved, outliers and
 * factors for the errors given are those of the clock fits, which have more frames to spare; else
 * from the path itself, marked in the series. TL_ERR_TOO_FEW: under three different times;
 * TL_ERR_NO_FIT; TL_ERR_MEMORY.
 */
tl_status tl_track_path_fit(tl_track_series *series, const tl_track_tied *tied, size_t main,
                            tl_track_path *path);

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
    /* Cameras whose data say something else than what was given. */
    size_t mirror_contradicted, holding_contradicted;
    size_t mirror_opposed; /* whose mounts and sunspots say different things */
    bool spots_reversed;   /* the compasses fit the Moons only if mirrored the other way */
    double misfit;         /* scatter about the almanac over the errors given, >= 1 */
} tl_track_situation;

/* Contacts, smallest separation and speed from the free path, in camera time. `eclipse` may be
 * NULL: the ratio is then the measured one. */
void tl_track_contacts(const tl_track_path *path, const tl_track_eclipse *eclipse, tl_track *track);
/* The solved clock taken out of them; in camera time as a drifting clock would have shown them. */
void tl_track_contacts_utc(const tl_track_path *path, const tl_track_clock_fit *fit,
                           tl_track *track);
/* Weighted mean of the raw ratios; 0 and 0 if no frame has one. */
tl_status tl_track_ratio_mean(const tl_track_series *series, double *ratio, double *ratio_sigma);
/* What the almanac says: contacts, smallest separation, speed. */
void tl_track_predict(const tl_track_eclipse *eclipse, tl_track *track);
/* True times, turns, almanac values, magnitudes of the frames. Compasses that no dated frame ties
 * are tied here by the undated ones. */
tl_status tl_track_frames(const tl_track_series *series, const tl_track_eclipse *eclipse,
                          const tl_track_tied *tied, const tl_track_path *path,
                          const tl_track_options *options, tl_track_compasses *compasses,
                          tl_track *track);
/* The turns of all frames, once their times are known. */
void tl_track_frame_turns(const tl_track_series *series, const tl_track_eclipse *eclipse,
                          const tl_track_tied *tied, const tl_track_compasses *compasses,
                          tl_track *track);
/* up_pa by the rule of a camera with a shared turn, at a frame's time. */
double tl_track_turn_rule(const tl_track_turn *turn, const tl_sky *sky);
/* Whether single frames follow such a rule. */
bool tl_track_turn_shared(const tl_track_turn *turn);
/* How far the pictures of each camera turned over the series. */
void tl_track_rotation(const tl_track_series *series, const tl_track_eclipse *eclipse,
                       const tl_track_tied *tied, tl_track *track);
/* Direction of the Moon's motion at maximum: the almanac's, and measured by the frames with a
 * compass or a shared turn. */
tl_status tl_track_direction(const tl_track_series *series, const tl_track_eclipse *eclipse,
                             const tl_track_tied *tied, const tl_track_compasses *compasses,
                             tl_track *track);
/* Put a frame to a true time: almanac, altitude, PA. Left without one outside 1950-2100. */
tl_status tl_track_frame_set_time(double t_utc_s, double sigma_s, const tl_track_eclipse *eclipse,
                                  tl_track_frame *frame);
/* Both times of measured frames without camera time, and the true one where the side is told. */
tl_status tl_track_untimed(const tl_track_series *series, const tl_track_eclipse *eclipse,
                           const tl_track_tied *tied, const tl_track_options *options,
                           const tl_track_compasses *compasses, tl_track *track);

/* One plain sentence on the most important thing that is missing or odd. */
void tl_track_write_note(const tl_track_series *series, const tl_track_options *options,
                         const tl_track_situation *situation, tl_track *track);

/* Free and tied solution of a series and all that follows but the note. `eclipses`: those it may
 * be of; more are added where none of them fits. `track->frame` is there already, zeroed. */
tl_status tl_track_solve_series(tl_track_series *series, const tl_track_options *options,
                                tl_track_eclipses *eclipses, tl_track_situation *situation,
                                tl_track *track);

#endif
