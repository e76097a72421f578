/*
 * twolimb/spot.h - sunspots: found in each frame, followed through the series, placed on the Sun,
 * and when the Moon covers and uncovers them.
 *
 * The stage works in four steps that can be used alone: where a place on the Sun stands on the disc
 * (tl_spot_project), dark marks in one picture (tl_spot_find), which of them are the same spot
 * in all frames, and how each frame was turned (tl_spots_follow), and the Moon's limb on its way
 * over a spot (tl_spot_cover).
 *
 * Latitude, longitude: heliographic (Carrington's elements, as P, B0, L0 of tl_sky). Longitude from
 * the central meridian grows to the WEST, the side that turns away from us: l = Carrington - L0.
 */
#ifndef TWOLIMB_SPOT_H
#define TWOLIMB_SPOT_H

#include "twolimb/limb.h"
#include "twolimb/track.h"

/* ---- places on the Sun ---- */

/*
 * Where a place on the Sun stands on its disc: sr east and north of the centre; false, and
 * untouched, when it is beyond the limb. Of `sky` only p, b0, l0 and the Sun's radius are read. The
 * observer's finite distance is in it: rho = asin(sin s / sin S) - s (Meeus, Astronomical
 * Algorithms, ch. 29).
 */
bool tl_spot_project(const tl_sky *sky, double latitude_rad, double carrington_rad, double *east_sr,
                     double *north_sr);
/* The exact inverse, Carrington longitude in 0..2 pi; false, and untouched, beyond the limb. */
bool tl_spot_unproject(const tl_sky *sky, double east_sr, double north_sr, double *latitude_rad,
                       double *carrington_rad);
/* Cosine of the angle between the vertical and the line of sight at this distance from the disc's
 * centre: 1 at the centre, 0 on the limb and beyond. Areas look smaller by it. */
double tl_spot_foreshortening(const tl_sky *sky, double radius_sr);
/* By how much the Carrington longitude of a spot grows in `dt_s`: its latitude turns faster or
 * slower than Carrington's grid (Howard, Harvey & Forgach 1990, Solar Physics 130, 295). */
double tl_spot_drift_rad(double latitude_rad, double dt_s);
/* A round spot's area in millionths of the Sun's hemisphere, foreshortening taken out, from the
 * radius that a circle of its apparent area has. 0 on the limb, where the area cannot be told. The
 * observer's distance is left out: up to 1 % in the middle of the disc. */
double tl_spot_hemisphere_ppm(double apparent_radius_sr, double foreshortening);

/* ---- dark marks in one picture ---- */

/* What a dark mark turned out to be. */
typedef enum tl_mark_kind {
    TL_MARK_UNPLACED, /* seen, but not followed: dust, a flaw, a cloud's edge, or a spot by itself
                       */
    TL_MARK_SPOT,     /* one of the spots; see spot */
    TL_MARK_DUST      /* stays put in the frame of that camera while the Sun moved */
} tl_mark_kind;

typedef struct tl_spot_mark {
    double x_px, y_px;   /* centre of the missing light, picture px */
    double sigma_px;     /* its error in x and in y, from noise and shape */
    double area_px2;     /* inside the penumbra's outline, blur taken out as far as it can be */
    double umbra_px2;    /* of its umbra; 0: none could be told */
    double missing_px2;  /* light missing, in px of undimmed disc: survives blur */
    double contrast;     /* deepest: 1 - light over that of the disc round it */
    double significance; /* deepest contrast, smoothed to the blur, over its noise */
    double blur_px;      /* of the picture there */
    bool cut;            /* by the lunar or the solar limb: its centre is not that of the whole */
    tl_mark_kind kind;   /* set by tl_spots_follow, as the next one */
    size_t spot;         /* valid for TL_MARK_SPOT */
} tl_spot_mark;

typedef struct tl_spot_marks {
    bool searched; /* false: no solar circle, or the disc burnt out, so nothing can be said */
    double noise; /* of the contrast smoothed to the blur, typical of the disc; a mark needs 6 times
                     it */
    double depth_scale;   /* contrast seen over true contrast: < 1 under a veil of stray light; 1
                             where it cannot be told */
    double clipped_share; /* of the disc's seen part, burnt out, where spots cannot be seen */
    tl_spot_mark *mark;   /* owned; tl_spot_marks_free; in order of missing light, largest first */
    size_t count;         /* at most TL_SPOT_MARKS_MAX */
} tl_spot_marks;
enum { TL_SPOT_MARKS_MAX = 64 };

/*
 * Find dark marks on the disc of a picture with a solar circle (status measured or sun-only; others
 * give none). Marks as small as an umbra of 5 arcsec in a disc of 1,000 px; none at the solar
 * limb's outermost part, along the lunar limb, in burnt-out parts. TL_ERR_MEMORY.
 */
tl_status tl_spot_find(const tl_image *image, const tl_limb *limb, tl_spot_marks *marks);
/* The side of a pixel that is fine enough for that, px of the file: 1 or more. */
double tl_spot_pixel(const tl_limb *limb);

void tl_spot_marks_free(tl_spot_marks *marks);

/* A picture position on the disc: frame axes (x right, y down), flattening taken out, in sr. Needs
 * a solar circle. And back. */
void tl_spot_disc_from_picture(const tl_limb *limb, double x_px, double y_px, double *x_sr,
                               double *y_sr);
void tl_spot_picture_from_disc(const tl_limb *limb, double x_sr, double y_sr, double *x_px,
                               double *y_px);

/* ---- the same spots through the series ---- */

/* One frame, as the stages before give it. */
typedef struct tl_spot_frame_in {
    size_t camera;        /* whose mirror is shared unless the spots say otherwise */
    int width, height;    /* of the picture, px: dust stays put in it */
    const tl_limb *limb;  /* circles */
    tl_spot_marks *marks; /* their kind is set */
    bool in_track;        /* measured and not excluded: its Moon may tell the turn */
    /* Almanac at the true time: one; two for an undated frame, before and after maximum; none when
     * nothing is known. */
    size_t sky_count;
    tl_sky sky[2];
    double moon_pa_sigma_rad; /* of the almanac's position angle of the Moon, because the time is
                                 not known better */
    tl_mirror mirror;         /* what track or the user says; AUTO: not determined */
} tl_spot_frame_in;

/* What happened to a spot in a frame. */
typedef enum tl_spot_state {
    TL_SPOT_UNKNOWN, /* the frame says nothing: not measured, burnt out, too blurred, time not
 known; or it is too near to a limb to be found */
    TL_SPOT_VISIBLE, /* found */
    TL_SPOT_ON_LIMB, /* the Moon's limb stands on it */
    TL_SPOT_COVERED, /* by the Moon */
    TL_SPOT_MISSED   /* should be seen, is not */
} tl_spot_state;
/* "unknown" "visible" "on limb" "covered" "missed" */
extern const char *const tl_spot_state_name[5];

typedef struct tl_spot_sight {
    tl_spot_state state;
    bool has_place;
    double x_sr, y_sr; /* where it stands by the solution, frame axes, disc */
} tl_spot_sight;

/* Spots are not round: how far a penumbra's edge lies off the circle of its area, rms over its
 * radius (common practice, no source). The errors of first and last touch hold it. */
#define TL_SPOT_RAGGED 0.12

/*
 * How far the Moon's edge at one place lies off the smooth circle of the almanac: mountains of
 * +-1.5 arcsec and a centre of figure some 0.4 arcsec off that of mass (as TL_TRACK_FLOOR_SR, with
 * nothing averaged), of a solar radius of 960.
 */
#define TL_SPOT_RELIEF_SR 1.6e-3

/* The Moon's limb on its way over a spot. */
enum { TL_SPOT_FIRST, TL_SPOT_CENTRE, TL_SPOT_LAST, TL_SPOT_TOUCHES };
typedef struct tl_spot_passage {
    bool occurs; /* of its centre */
    bool whole;  /* the spot's far edge too: else t_utc_s[FIRST or LAST] of the part that never is,
                    is 0 */
    bool sun_up; /* at the centre's time; at that of the touch if it does not come to that */
    double t_utc_s[TL_SPOT_TOUCHES]; /* the limb at the penumbra's first point, the centre, its last
                                        point */
    double sigma_s; /* of the centre's time: the spot's place alone; the clock does not enter
                       true time */
    double
        floor_s; /* not in the sigmas: the mountains at the one place of the Moon's edge that meets
                    the spot, which no number of pictures averages; see TL_SPOT_RELIEF_SR */
    double touch_sigma_s; /* of first and last: the spot's size and shape as well */
    bool has_near[2];
    size_t near[2]; /* frames of use nearest before and after the centre's time */
} tl_spot_passage;

enum { TL_SPOT_NAME_SIZE = 16 };
typedef struct tl_spot {
    char name[TL_SPOT_NAME_SIZE]; /* A, B, ... Z, AA, ... by size, or as the user's list has it */
    bool from_list;               /* named or placed by the user's list */
    bool in_pictures;             /* found in them; false: only in the list */
    size_t seen_count;            /* frames in which it was found */
    bool could_be_dust; /* the Sun hardly moved in the frame, so that dust would look the same */
    double epoch_utc_s; /* when longitude and radius hold: the series' maximum of the eclipse */
    double latitude_rad, longitude_rad, carrington_rad; /* longitude: from the central meridian,
                                                           west +, -pi..pi */
    double latitude_sigma_rad, longitude_sigma_rad;
    double east_sr, north_sr; /* on the disc at the epoch */
    double east_sigma_sr, north_sigma_sr;
    double radius_sr, radius_sigma_sr; /* apparent, of a circle of its area; penumbra included */
    double umbra_radius_sr;            /* 0: not told */
    double area_ppm, area_sigma_ppm;   /* millionths of the hemisphere */
    bool has_passages;
    bool touched;                            /* the Moon touches it at all here */
    bool unsure;                             /* whether its centre is covered lies within 3 sigma */
    double clearance_sr, clearance_sigma_sr; /* least distance of its centre from the Moon's edge, <
                                                0 when covered */
    tl_spot_passage covered, uncovered;
} tl_spot;

/* How a frame was turned. */
typedef struct tl_spot_turn {
    bool known; /* by Moon and spots together; the next three are valid */
    bool mirrored;
    double joint_up_pa_rad, joint_sigma_rad;
    bool has_turn;               /* by the spots alone */
    double up_pa_rad, sigma_rad; /* the frame's own Moon has no part in it */
    size_t spots;                /* used */
    bool has_side;               /* undated: the spots tell on which side of maximum */
    int side;                    /* 0 before, 1 after */
} tl_spot_turn;

typedef struct tl_spots {
    tl_spot *spot; /* owned */
    size_t count;
    tl_spot_sight *sight; /* owned; count * frame_count: spot s in frame f at s * frame_count + f */
    tl_spot_turn *turn;   /* owned; one per frame */
    size_t frame_count;
    size_t dust_count;   /* dark marks that stay put in the frame */
    bool mirror_decided; /* by the spots: what it is, is in turn[] */
    double mirror_score; /* log-likelihood ratio for it */
    double noise_level;  /* scatter of the marks over their errors; all sigmas hold it */
    char note[256];      /* a plain sentence on what could not be done, or empty */
} tl_spots;

/* Spots known beforehand. */
typedef struct tl_spot_list {
    tl_spot *spot; /* owned: name, from_list, epoch (that of the row), place and radius with their
                      errors */
    size_t count;
} tl_spot_list;

typedef struct tl_spot_options {
    tl_mirror mirror;     /* as the user says */
    double moon_sigma_sr; /* how far the almanac's Moon may be off before the Sun, in all frames
                             alike, because the observer's place is: only the mirror is decided
                             with it */
    double epoch_utc_s;   /* of the places: maximum of the eclipse */
    tl_sky epoch_sky;     /* almanac then */
    const tl_spot_list *known; /* or NULL: names spots that stand where it has them, and those not
                                  found are added; may decide the mirror */
} tl_spot_options;

/*
 * Which marks are the same spot on the turning Sun; their places, sizes and names; turn and mirror
 * of each frame. A frame's own Moon and time give its turn to begin with, once for each hand; the
 * spots then bind the frames together. TL_OK also when there is nothing to follow (count 0, see
 * note); TL_ERR_MEMORY.
 */
tl_status tl_spots_follow(tl_spot_frame_in *in, size_t count, const tl_spot_options *options,
                          tl_spots *spots);
void tl_spots_free(tl_spots *spots);

/* The sight of spot `s` in frame `f`. */
const tl_spot_sight *tl_spots_sight(const tl_spots *spots, size_t s, size_t f);

/* ---- coverings ---- */

/*
 * When the Moon's limb crosses a spot, seen from `site` in the eclipse with these circumstances:
 * fills has_passages up to `uncovered`, but for near[]. Needs place, radius and their errors, on
 * the disc too, for the day of the eclipse: tl_spot_at gives them. A spot beyond the limb is not
 * touched. Times agree with tl_sky_at to 1e-6 solar radii. Where the limb only grazes the spot its
 * time hangs on the place by a square root: sigma_s is then how far one sigma either way really
 * moves it, and no more than that. Distances as on a plane: 1e-5 solar radii. Some 3 ms.
 * TL_ERR_RANGE, TL_ERR_MEMORY as tl_sky_table_make.
 */
tl_status tl_spot_cover(const tl_site *site, const tl_sky_options *options,
                        const tl_circumstances *circumstances, tl_spot *spot);

/* ---- a list of spots from a file ---- */

/*
 * Read a CSV file with a header row naming the columns `name` (UTF-8, at most 15 bytes), `time`
 * (ISO 8601, to the minute or nearer, in UTC where it says no zone; or a date alone: 0 h),
 * `latitude_deg`, and `carrington_deg` (0 to 360) or `longitude_deg` (from the central meridian at
 * that time, west positive); or, in place of latitude and longitude, `place` as observatories write
 * it ("N14W24"); optional `radius_arcsec` (apparent, penumbra included; 10) and `sigma_deg` (0.5).
 * A row gives its place in one of these ways. Other columns are passed over; '#' starts a comment
 * line. All rows are kept, also of one name. Errors of the radius: a fifth, of one that is not
 * given a half. On TL_ERR_FORMAT `*line` is the number of the first bad line; TL_ERR_OPEN,
 * TL_ERR_EMPTY_FILE, TL_ERR_RANGE (1950-2100), TL_ERR_MEMORY.
 */
tl_status tl_spot_list_read(const char *path, int *line, tl_spot_list *list);
void tl_spot_list_free(tl_spot_list *list);
/* Of the rows of one name (a list may go over many days): is this the one nearest in time? The
 * first of two alike. */
bool tl_spot_list_nearest(const tl_spot_list *list, size_t row, double t_utc_s);
/*
 * Bring a spot to another time: the Sun turns, its latitude faster or slower than the grid. `sky`:
 * almanac then. Errors grow by the motions spots have of their own, 0.15 degrees a day in latitude
 * and 0.5 in longitude (common practice, no source); apparent sizes go with the foreshortening.
 * Beyond the limb the place on the disc says nothing: ask tl_spot_project. `then` may be `spot`.
 */
void tl_spot_at(const tl_spot *spot, double t_utc_s, const tl_sky *sky, tl_spot *then);

#endif
