/*
 * twolimb/base.h - conventions, status codes, time of day, directions.
 *
 * Everything the stages share, and nothing else. The conventions below hold in
 * every header of this library and are written down only here.
 *
 * Pixels      The centre of the top-left pixel is (0, 0); x runs right, y runs
 *             down; always after the EXIF Orientation has been applied.
 * Angles      Radians, unless the name says otherwise (_deg, _arcsec).
 * PA          Position angle on the sky: from celestial north (true equator of
 *             date) through east.
 * Longitude   Geographic, positive east. Latitude geodetic (WGS84).
 * up_pa       The PA on the sky of the direction "up" (-y) in the frame. A
 *             frame that is not mirrored and has north up shows east on the LEFT.
 * t_utc_s     UTC as seconds since 1970-01-01T00:00:00, every day 86400 s long
 *             (POSIX); a leap second shares its number with the next second.
 * t_camera_s  What the camera's clock showed, counted the same way, with no
 *             zone taken out.
 * clock       camera time = true UTC + zone + offset; offset > 0: camera fast.
 * _sr         Lengths in solar radii as observed: 1 is the solar limb.
 * Moon offset (east, north) of the Moon's centre from the Sun's centre.
 */
#ifndef TWOLIMB_BASE_H
#define TWOLIMB_BASE_H

#include <stdbool.h>
#include <stddef.h>

#define TL_VERSION "0.1.0"

#define TL_PI 3.14159265358979323846264338327950288
#define TL_DEG (TL_PI / 180.0)               /* radians in a degree */
#define TL_ARCSEC (TL_PI / (180.0 * 3600.0)) /* radians in a second of arc */
#define TL_DAY_S 86400.0                     /* seconds in a day, by definition */

/*
 * What can go wrong. Every function that can fail returns one of these; its
 * outputs come last in the argument list and are untouched on failure.
 */
typedef enum tl_status {
    TL_OK = 0,
    TL_ERR_MEMORY,      /* not enough memory */
    TL_ERR_ARGUMENT,    /* an argument is out of its stated range */
    TL_ERR_OPEN,        /* the file cannot be opened or read */
    TL_ERR_EMPTY_FILE,  /* the file has no bytes */
    TL_ERR_NOT_PICTURE, /* not a picture of a kind that is known */
    TL_ERR_RAW,         /* a camera's raw file */
    TL_ERR_FILM,        /* moving pictures */
    TL_ERR_OTHER_KIND,  /* a picture of a kind, or a variant, that is not read */
    TL_ERR_JPEG_KIND,   /* a JPEG of 12 bits, or one without loss */
    TL_ERR_BROKEN,      /* a picture, but cut short or damaged */
    TL_ERR_TOO_LARGE,   /* more pixels than the documented limit */
    TL_ERR_FORMAT,      /* a text file (times, scene) breaks its rules */
    TL_ERR_WRITE,       /* the output cannot be written */
    TL_ERR_NO_SPACE,    /* the disk is full */
    TL_ERR_RANGE,       /* an instant outside 1950-2100, or an impossible place */
    TL_ERR_NO_ECLIPSE,  /* no eclipse at that place on that day */
    TL_ERR_TOO_FEW,     /* too few measurements for the question */
    TL_ERR_NO_FIT,      /* the fit did not settle */
    TL_STATUS_COUNT
} tl_status;

/* One sentence for the user: what happened and what to do. Never NULL. */
const char *tl_status_text(tl_status status);

/* Where a place came from. */
typedef enum tl_site_source { TL_SITE_NONE, TL_SITE_GIVEN, TL_SITE_EXIF } tl_site_source;

/* A place on Earth. `source == TL_SITE_NONE` means not known; the rest is then 0. */
typedef struct tl_site {
    tl_site_source source;
    double lat_rad;  /* geodetic, WGS84, -pi/2..pi/2 */
    double lon_rad;  /* east positive, -pi..pi */
    double height_m; /* above the ellipsoid, -500..9000 */
} tl_site;

/*
 * Read "LAT,LON[,HEIGHT]" in decimal degrees and metres ("41.0,-83.4,250").
 * TL_ERR_ARGUMENT when it is not that, or out of range.
 */
tl_status tl_site_parse(const char *text, tl_site *site);

/* A calendar date (Gregorian) and time of day. */
typedef struct tl_calendar {
    int year, month, day; /* month 1..12, day 1..31 */
    int hour, minute;     /* 0..23, 0..59 */
    double second;        /* 0 <= second < 60 */
} tl_calendar;

/* Calendar to seconds since 1970 and back; exact to a microsecond for 1900-2199.
 * The first returns TL_ERR_ARGUMENT for a date that does not exist (31 June) or outside the years
 * 1..9999; the second, and tl_time_text, take a time outside them as the nearest within. */
tl_status tl_time_from_calendar(const tl_calendar *calendar, double *t_s);
tl_calendar tl_time_to_calendar(double t_s);

enum { TL_TIME_TEXT_SIZE = 40 };
/* ISO 8601: "2026-08-12T17:47:03.250Z"; `decimals` 0..3; `suffix` is "Z" or "". */
void tl_time_text(double t_s, int decimals, const char *suffix, char text[TL_TIME_TEXT_SIZE]);

/* "YYYY-MM-DD" to the seconds of its 0 h; "+HH:MM" (or -HH:MM, Z) to minutes. */
tl_status tl_date_parse(const char *text, double *t_s);
tl_status tl_zone_parse(const char *text, int *minutes);

/*
 * Sky direction to frame direction and back, for a frame with `up_pa_rad` up.
 * (east, north) and (x right, y down) in the same unit, any length; exact inverses.
 *   not mirrored: x = -s, y = -c;  mirrored: x = +s, y = -c,
 *   with s, c = r sin, cos of (PA - up_pa).
 */
void tl_frame_from_sky(double up_pa_rad, bool mirrored, double east, double north, double *x,
                       double *y);
void tl_sky_from_frame(double up_pa_rad, bool mirrored, double x, double y, double *east,
                       double *north);

/* A finite angle brought into [0, 2 pi) and into (-pi, pi]. */
double tl_angle_positive(double rad);
double tl_angle_signed(double rad);

/*
 * Two discs, radius 1 and `ratio`, centres `separation_sr` apart:
 * eclipse magnitude (covered share of the Sun's diameter; in a total or annular
 * phase the ratio of the diameters, as the almanacs define it) and obscuration
 * (covered share of the Sun's area, 0..1). Closed forms.
 */
double tl_magnitude(double separation_sr, double ratio);
double tl_obscuration(double separation_sr, double ratio);
/* Their standard deviations from those of separation and ratio, by what the share changes within
 * them; larger where it jumps or bends. */
double tl_magnitude_sigma(double separation_sr, double sigma_sr, double ratio, double ratio_sigma);
double tl_obscuration_sigma(double separation_sr, double sigma_sr, double ratio,
                            double ratio_sigma);

/*
 * Run job(context, i) for i = 0..count-1 on up to `threads` threads (0: one per
 * processor). Returns when all have run. Jobs must not share mutable state.
 */
void tl_parallel(size_t count, int threads, void (*job)(void *context, size_t i), void *context);

/*
 * Give up what this process is writing that was to become `folder`: nothing of it is put in place
 * any more, and what there is of it is removed. For a program that is told to stop; from any
 * thread, while another one writes. What was at `folder` before stays, or, at the last moment,
 * what is new is there whole.
 */
void tl_draft_abandon(const char *folder);

#endif
