/*
 * twolimb/track.h - stage 4: the Moon's path, the camera's clock, the contacts.
 *
 * Free solution: the path as camera time and separations show it, no ephemeris of the day in it;
 * this is the measurement. (Three things the almanac tells all the same, where it is there: the
 * ratio for the contacts, which frames are outliers, and a drift or lateness of the stamps, which
 * is taken out of camera time first.) Tied solution: for each camera the one clock total (camera -
 * UTC) with which the almanac agrees best with the separations; it gives true times. The clock
 * being tied to the almanac, the mean of O - C over a series is nil by construction: what O - C
 * shows is length and depth. Several cameras share the path and have a clock each.
 *
 * All sigmas are one standard deviation from the frames' own errors, part of which is common to a
 * camera's circles, enlarged where the residuals are larger than those. Of 200 simulated series
 * each (by hand, on a mount, before or after maximum only, several cameras) the truth lay inside
 * one sigma in 58 to 76 %, inside three in 98.5 to 100 %; docs/accuracy.md has them all.
 */
#ifndef TWOLIMB_TRACK_H
#define TWOLIMB_TRACK_H

#include "twolimb/sky.h"

typedef enum tl_holding {
    TL_HOLDING_AUTO,  /* decide by the data */
    TL_HOLDING_FREE,  /* each frame its own turn */
    TL_HOLDING_FIXED, /* equatorial mount: one turn */
    TL_HOLDING_ALTAZ  /* one turn plus the parallactic angle */
} tl_holding;
extern const char *const tl_holding_name[4]; /* "auto" "free" "fixed" "altaz" */

typedef enum tl_mirror {
    TL_MIRROR_AUTO, /* decide by the data; in a result: not determined */
    TL_MIRROR_YES,
    TL_MIRROR_NO
} tl_mirror;

/* Cameras that can be told apart in one run; frames of further ones count as not timed, and get no
 * times from their separations either. */
enum { TL_CAMERAS_MAX = 16 };

/*
 * One frame, as the frame and limb stages give it; frames in the order of their file names. What
 * cannot be (not finite, a separation beyond 2.3 or below 0, an error of 0) counts as not measured
 * or not timed.
 */
typedef struct tl_track_frame_in {
    size_t camera; /* whose clock and mounting; 0 .. TL_CAMERAS_MAX - 1 */
    bool timed;    /* the camera time is known */
    double t_camera_s, t_sigma_s;
    bool zone_known; /* frames of different known zones are brought to the commonest one */
    int zone_minutes;
    bool measured; /* the rest is valid; else only the time is asked for */
    double separation_sr, separation_sigma_sr;
    double offset_x_sr, offset_y_sr;        /* frame axes: x right, y down */
    double offset_xx, offset_xy, offset_yy; /* covariance, sr^2 */
    double ratio_raw, ratio_raw_sigma;
    bool has_compass; /* sunspots tell how the frame was turned */
    bool compass_mirrored;
    double compass_up_rad, compass_sigma_rad; /* up_pa by them; its zero is common to all frames and
                                                 is tied to the almanac by their Moons */
} tl_track_frame_in;

typedef struct tl_track_options {
    tl_site site;    /* source TL_SITE_NONE: free solution only */
    bool find_site;  /* site is TL_SITE_NONE and the clock is trusted: estimate the place */
    bool zone_given; /* --zone: overrides what the frames say */
    int zone_minutes;
    bool date_given;   /* --date: the true day; the camera's own date is then not used */
    double date_utc_s; /* 0 h of that day */
    tl_holding holding;
    tl_mirror mirror;
    tl_sky_options sky;
} tl_track_options;

/* What told on which side of maximum an undated frame lies. */
typedef enum tl_side_by {
    TL_SIDE_OPEN,     /* nothing: both times stand */
    TL_SIDE_BY_ORDER, /* the order of the file names, taken to be that of time */
    TL_SIDE_BY_TURN,  /* the direction of the Moon in the picture, the turn being known */
    TL_SIDE_BY_SPOTS  /* the same, the turn being known from the sunspots of that frame; where it
                         goes against the order of the names, this is not that of time */
} tl_side_by;

/* What told how a frame was turned. */
typedef enum tl_turn_by {
    TL_TURN_NONE,    /* nothing: has_turn is false */
    TL_TURN_BY_MOON, /* its own Moon's direction, drawn towards the rule where there is one */
    TL_TURN_BY_RULE, /* the rule of the mount, alone or for the larger part */
    TL_TURN_BY_SPOTS /* its compass: where the others are not, or not as good */
} tl_turn_by;

/* What the track says of one frame. */
typedef struct tl_track_frame {
    bool has_true; /* from the clock; without a camera time from the separation, where the side of
                      maximum is known */
    double true_utc_s, true_sigma_s;
    bool has_sides; /* not timed: the two times at which the separation was as measured */
    tl_side_by side_by;
    double side_utc_s[2], side_sigma_s[2]; /* before and after maximum */
    bool outlier;       /* left out of the fits: too far off, or of another day */
    double off_s;       /* of an outlier: how far its separation is from the almanac's, in time;
                           0 where that cannot be said */
    double residual_sr; /* observed separation less the almanac's; less the free path's where the
                           clock is not solved */
    bool has_turn;
    tl_turn_by turn_by;
    double up_pa_rad;    /* for `mirrored`; 0..2 pi */
    double up_sigma_rad; /* of that; without the floor where the Moon tells it */
    bool mirror_known;   /* false: up_pa holds if the frame is not mirrored */
    bool mirrored;     /* its camera's, or by its own sunspots; valid if mirror_known, else false */
    bool has_spots_up; /* its compass is used */
    double spots_up_rad, spots_up_sigma_rad; /* up_pa by that alone, whatever turn_by is: its own
                                                Moon has a part in the common zero only */
    double moon_pa_rad;                      /* almanac PA of the Moon at the true time */
    double magnitude, obscuration;           /* measured, from separation and ratio */
    double altitude_rad;                     /* of the Sun as seen (refracted), at the true time */
    tl_sky sky;                              /* almanac at the true time; valid if has_true */
} tl_track_frame;

/*
 * The floor: an error that all frames of a series share, so that none of the sigmas contains it.
 * The lunar limb's mountains (+-1.5 arcsec, of which some 0.5 are left in a circle fitted to a
 * long arc) and the Moon's centre of figure, some 0.4 arcsec off the centre of mass that the
 * ephemeris gives (Smith et al. 2010, LOLA): together 0.64 arcsec of a solar radius of 960. A
 * difference to the almanac means something when it exceeds sigma and floor together.
 */
#define TL_TRACK_FLOOR_SR 6.7e-4

/* How the stamps of single frames scatter about the clock. */
typedef enum tl_stamps {
    TL_STAMPS_SOUND,     /* no more than reading errors and circles allow */
    TL_STAMPS_SCATTERED, /* more, early and late alike */
    TL_STAMPS_LATE       /* each late by its own amount: saved some time after it was taken */
} tl_stamps;

enum { TL_CLOCK_ALTERNATIVES = 4 };
/*
 * camera time as written = true UTC + 60 zone_minutes + day_shift_s + offset_s + drift since
 * at_utc_s (+ the lateness of the single stamp).
 */
typedef struct tl_clock {
    bool solved;
    int zone_minutes;
    bool zone_given;          /* by the user, for the whole run */
    bool zone_corrected;      /* differs from what the camera or the user said */
    double offset_s, sigma_s; /* mostly within 15 min; holds the 12 h of an am/pm mistake; of a
                                 stamp that is not late where the stamps are late */
    bool has_drift;           /* the data demand one; else it is taken to be nil */
    double drift_ppm, drift_sigma_ppm; /* without a drift: 0, and what one may be unseen, rms */
    double at_utc_s; /* true time at which the offset holds; offset and drift are independent */
    tl_stamps stamps;
    double stamp_scatter_s; /* SCATTERED: rms of single stamps beyond their reading errors; LATE:
                               their mean lateness, the scatter being as large; else 0 */
    double stamp_scatter_sigma_s;
    double misfit;      /* scatter about the almanac over the frames' own errors, >= 1; sigma_s has
                           been widened by it. Large: place, day, times or circles are wrong */
    double floor_s;     /* not in sigma_s: see TL_TRACK_FLOOR_SR */
    double day_shift_s; /* whole days taken out of the camera's date (wrong date), usually 0 */
    size_t alternative_count; /* other solutions within 9 of the best chi^2; of them all, the one
                                 that asks for the smallest clock error is taken */
    struct {
        int zone_minutes;
        double day_shift_s; /* of another eclipse if it differs by more than a day */
        double offset_s, sigma_s;
        double delta_chi2; /* over the one taken; below 0: it fits better */
        bool same_clock;   /* the same true times: only another reading of zone, day and offset */
    } alternative[TL_CLOCK_ALTERNATIVES];
} tl_clock;

/* One camera: its clock, and how it was held. */
typedef struct tl_track_camera {
    size_t frame_count; /* of this camera */
    size_t used_count;  /* in the fits */
    tl_clock clock;
    tl_holding holding; /* decided or given; TL_HOLDING_AUTO: no clock, so not decided */
    bool holding_given;
    bool holding_open;      /* FIXED or ALTAZ fit about equally well: the better one is named */
    double turn_jitter_rad; /* rms of single frames about the shared turn; 0 if it is not shared */
    tl_mirror mirrored;     /* TL_MIRROR_AUTO: not determined, or mirror_mixed */
    bool mirror_given;
    bool mirror_by_spots; /* decided by the sunspots */
    bool mirror_mixed;    /* by the sunspots some of its frames are mirrored and some are not */
    bool has_rotation;    /* the turn is shared: of the picture against the sky */
    double rotation_rad;  /* change of up_pa by the rule from the first to the last frame used;
                             0 for a fixed mount */
} tl_track_camera;

/*
 * Where the pictures may have been taken, from the separations and a trusted clock (to 2 s; no
 * better than the stamps are seen to scatter). One sigma each way; the floor of all frames and a
 * height of 0 +- 300 m are in it. From a whole eclipse an ellipse of some km; from a short part of
 * one a line along which the series fits about equally well. Two places when the other side of
 * the shadow's path fits too.
 */
enum { TL_PLACE_LINE_POINTS = 33, TL_PLACES_MAX = 2 };
typedef struct tl_track_place {
    double lat_rad, lon_rad;  /* best */
    double along_m, across_m; /* one sigma, on the ground, along the line (half its length) and
                                 across it */
    double long_axis_rad;     /* azimuth of the long axis at the best place, 0..pi */
    double m_per_clock_s;     /* how far the place moves if the clock is off by one second more */
    double chi2;              /* less that of the best place */
    size_t point_count;       /* of the line through the places that fit within one sigma, in
                                 order; the best place is among them */
    struct {
        double lat_rad, lon_rad;
    } point[TL_PLACE_LINE_POINTS];
} tl_track_place;

typedef struct tl_track_contact {
    bool measured; /* to better than 10 min; C2, C3: frames on both sides, central by 2 sigma */
    double measured_camera_s; /* as the camera's clock would have read */
    double measured_utc_s;    /* solved zone and offset taken out; valid if the clock is solved */
    double sigma_s;           /* of the free solution, in camera time */
    double utc_sigma_s; /* of measured_utc_s, and so of O - C: the smaller one, for an error of
                           the clock is an error of both and falls out */
    double floor_s;     /* what no number of frames removes, not in the sigmas: see above */
    bool predicted;
    double predicted_utc_s;
} tl_track_contact;

/* What came of the compasses. Their zero is the mean of what the Moons of the same frames say of
 * the turn, less what the compasses say. */
typedef enum tl_compass_state {
    TL_COMPASS_NONE,    /* no frame has one */
    TL_COMPASS_UNTIED,  /* none with a compass has a Moon and a true time: there is no zero */
    TL_COMPASS_OPEN,    /* they fit the Moons mirrored the other way as well, and neither the user
                           nor the rule of a mount confirms theirs: not used */
    TL_COMPASS_REFUSED, /* they scatter about their zero far more than the errors allow: not used */
    TL_COMPASS_USED
} tl_compass_state;

typedef struct tl_track_compass {
    tl_compass_state state;
    double zero_rad, zero_sigma_rad; /* up_pa = compass + zero; valid if USED, as the rest */
    double misfit;        /* scatter about the zero over the errors, >= 1; all sigmas hold it */
    size_t tied_count;    /* frames that told the zero */
    size_t outlier_count; /* whose compass is not used, for their own Moons say something else */
    size_t opposed_count; /* whose compass is not used, for --mirror says something else */
} tl_track_compass;

/* Powers of the free path, 0 to 6. */
enum { TL_FREE_POWERS = 7 };

typedef struct tl_track {
    size_t used_count; /* frames in the free solution */
    bool free_solved;  /* the free path was found */
    int free_degree;   /* 2..4: the highest power of the path that the frames decide; those above
                          are what eclipses in general have, with their errors */
    double free_rms_sr;
    double free_origin_camera_s; /* t = 0 of the polynomial below: smallest separation */
    double free_coefficient[TL_FREE_POWERS]; /* separation_sr^2 = sum c_i ((t - origin) / 3600 s)^i,
                                                c_1 = 0 */
    double free_covariance[TL_FREE_POWERS][TL_FREE_POWERS]; /* of c_i, with the origin, in hours,
                                                               in place of c_1 */
    double ratio, ratio_sigma;                              /* used for the contacts */
    bool ratio_from_almanac;
    double ratio_measured, ratio_measured_sigma; /* weighted mean of the raw ratios */
    tl_track_camera camera[TL_CAMERAS_MAX];
    size_t camera_count; /* at least 1 */
    size_t main_camera; /* the one with most frames in the fits: the contacts' camera time is its */
    bool day_found;     /* no eclipse on the camera's day: another one found by search */
    size_t place_count; /* options.find_site: places that fit; 0 if none was asked for or found */
    tl_track_place place[TL_PLACES_MAX];
    tl_status place_status; /* options.find_site, why there is none: TL_ERR_TOO_FEW, under three
                               times a minute apart; TL_ERR_ARGUMENT, the zone is not said;
                               TL_ERR_NO_ECLIPSE, nowhere on Earth at these times;
                               TL_ERR_NO_FIT, no place fits; TL_ERR_RANGE, not 1950-2100 */
    bool has_circumstances;
    tl_circumstances circumstances;
    tl_track_contact contact[TL_CONTACTS];
    bool has_smallest;
    double smallest_sr, smallest_sigma_sr;       /* measured */
    double smallest_predicted_sr;                /* valid if has_circumstances */
    double speed_sr_per_h, speed_sigma_sr_per_h; /* at maximum, measured: the root of half the
                                                    second derivative of separation squared, which
                                                    is the Moon's speed but for the bend of its
                                                    path (some 3 %) */
    double speed_predicted_sr_per_h;             /* defined in the same way */
    double magnitude, magnitude_sigma;           /* greatest, from the smallest separation; valid if
                                                    has_smallest */
    bool has_direction; /* of the Moon's motion at maximum: seen by frames with a compass, or by a
                           camera with a shared turn */
    double direction_pa_rad, direction_sigma_rad; /* measured, by these turns, whose zero is tied to
                                                     the almanac as the clock is */
    double direction_predicted_rad;               /* valid if has_circumstances */
    tl_track_compass compass;
    tl_track_frame *frame; /* one per frame given, owned; tl_track_free */
    size_t frame_count;
    char note[1024]; /* plain sentences on what could not be solved or is odd, or empty */
} tl_track;

/*
 * Solve the series. TL_OK with whatever could be solved (see free_solved, clock.solved, note), also
 * for no frames (`in` may then be NULL) or none of use; TL_ERR_MEMORY otherwise. Takes some 10 ms;
 * a search for the eclipse of a wrong date up to a second for each camera, late stamps 10 ms and a
 * place 6 ms for each frame.
 */
tl_status tl_track_solve(const tl_track_frame_in *in, size_t count, const tl_track_options *options,
                         tl_track *track);
void tl_track_free(tl_track *track);

/* The camera that gave most of the series; never NULL. */
const tl_track_camera *tl_track_main(const tl_track *track);

/* Separation of the free solution at a camera time, a drift found being taken out of it; false, and
 * untouched, if there is none. */
bool tl_track_free_separation(const tl_track *track, double t_camera_s, double *separation_sr);

#endif
