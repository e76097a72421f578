/*
 * report_internal.h - what the files of src/report/ share.
 *
 * The flow: facts (once) and fields (per frame) -> csv, json, path drawing, page,
 * summary; folder puts the written files in place.
 */
#ifndef TWOLIMB_REPORT_INTERNAL_H
#define TWOLIMB_REPORT_INTERNAL_H

#include <stdint.h>

#include "twolimb/report.h"

/* Names the maker in sequence.json; own_files.c knows an earlier result by it. */
#define TL_REPORT_PROGRAM "twolimb"

/* Up to this scatter of the turn a shared turn measures directions; beyond it a hand was at work,
 * and a direction by the shared turn would say more of the hand than of the sky. Our own choice:
 * it displaces a point on the limb by 3 % of the solar radius. */
#define TL_REPORT_STEADY_RAD (2.0 * TL_DEG)

/* Common practice, no source: within 2 sigma is agreement, beyond 3 is a difference. */
#define TL_REPORT_AGREES_SIGMA 2.0
#define TL_REPORT_DIFFERS_SIGMA 3.0

/* ---- text.c: a text that grows ------------------------------------------------------------ */

/*
 * All zero is an empty text. A failed allocation sticks in `failed`; everything
 * added after it is dropped, so callers check once, at the end.
 */
typedef struct tl_report_text {
    char *data; /* owned, zero-terminated; NULL while nothing was added */
    size_t length, capacity;
    bool failed;
} tl_report_text;

void tl_report_text_bytes(tl_report_text *text, const void *bytes, size_t count);
void tl_report_text_add(tl_report_text *text, const char *string);
/* printf for strings and integers; for other numbers see number.c. */
void tl_report_text_addf(tl_report_text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void tl_report_text_base64(tl_report_text *text, const unsigned char *bytes, size_t count);
/* The text so far; "" while it is empty. Once it has failed, a string that no drawing accepts (see
 * draw.c); whoever adds it to another text hands on `failed` as well. */
const char *tl_report_text_string(const tl_report_text *text);
void tl_report_text_free(tl_report_text *text);

/* ---- escape.c: strings from outside made safe for where they go --------------------------- */

/*
 * One UTF-8 character at `string`, which must not be at its end: the number of
 * bytes it takes, and its code. Bytes that are not well-formed (The Unicode Standard
 * 15.0, table 3-7) give U+FFFD for each maximal subpart, as section 3.9 there
 * recommends.
 */
size_t tl_report_utf8_step(const char *string, uint32_t *code);

/* Bytes that are not UTF-8 become U+FFFD; in all six. */
void tl_report_add_utf8(tl_report_text *text, const char *string);
/* If it has more than `most` characters, three dots and as many from its end. */
void tl_report_add_end(tl_report_text *text, const char *string, size_t most);
/* For element content and quoted attributes; control characters become visible ones. */
void tl_report_add_html(tl_report_text *text, const char *string);
/* One field of a CSV row (RFC 4180), quoted where it has to be. */
void tl_report_add_csv(tl_report_text *text, const char *string);
/* The same for a spreadsheet: an apostrophe before what it would take for a formula. */
void tl_report_add_sheet(tl_report_text *text, const char *string);
/* For a terminal: no control or direction-changing characters; the typographic
 * signs this library uses become ASCII. */
void tl_report_add_terminal(tl_report_text *text, const char *string);

/* ---- number.c: numbers, times and directions as text ------------------------------------- */

/* "12.50"; '.' whatever the locale, never "-0". Nothing when not finite. */
void tl_report_add_fixed(tl_report_text *text, double value, int decimals);
/* The same with its sign always shown; U+2212 for minus. For readers, not for programs. */
void tl_report_add_signed(tl_report_text *text, double value, int decimals);
/* With this many significant digits, at most 9 decimals. */
void tl_report_add_significant(tl_report_text *text, double value, int digits);
/* "1.2346e-08": this many significant digits and an exponent. For programs. */
void tl_report_add_exponent(tl_report_text *text, double value, int digits);
/* Decimals with which sigma shows as 2 to 19 units of the last place; 0..max. */
int tl_report_decimals(double sigma, int max);
/* A sigma with these decimals: never 0, at least one unit of the last place. */
void tl_report_add_sigma(tl_report_text *text, double sigma, int decimals);
/* "37.4 +- 0.3 s" with the real plus-minus sign and no-break blanks; `unit` may be "". */
void tl_report_add_measure(tl_report_text *text, double value, double sigma, int max_decimals,
                           const char *unit);
/* "17:03:12.4", with " +1 d" when it lies on another day than the one starting at `day_s`, and
 * with the date itself when that is more than 9 days off. */
void tl_report_add_clock(tl_report_text *text, double t_s, int decimals, double day_s);
/* "17:03:12", of whatever day. */
void tl_report_add_time_of_day(tl_report_text *text, double t_s);
/* "12 August 2026". */
void tl_report_add_date(tl_report_text *text, double t_s);
/* "62 s", "32 min", "5.1 h": a time of which only the size is known, to two digits. */
void tl_report_add_duration(double seconds, tl_report_text *text);
/* "UTC+02:00". */
void tl_report_add_zone(tl_report_text *text, int minutes);

/* ---- facts.c: what the words, the page and the drawing all ask ---------------------------- */

typedef struct tl_report_facts {
    size_t with_status[TL_LIMB_STATUS_COUNT];
    size_t timed;                         /* frames of the Sun, if any, with a camera time */
    double first_camera_s, last_camera_s; /* of the main camera's, if it has any, else of all;
                                             valid if timed > 0 */
    size_t outliers;                      /* measured, but left out of the fits */
    size_t timed_true;                    /* frames with a true time */
    bool has_zone;
    int zone_minutes; /* solved, given, or the one all frames agree on */
    bool has_day;
    double day_s;         /* 0 h of the day of the eclipse */
    bool day_from_camera; /* only the camera says so */
} tl_report_facts;

tl_report_facts tl_report_facts_of(const tl_sequence *sequence);

/* What track says of frame i; zeroes where it says nothing. */
const tl_track_frame *tl_report_track_frame(const tl_sequence *sequence, size_t i);
/* The file's name without its folders; points into `path`. */
const char *tl_report_base_name(const char *path);
/* PA of the Moon as measured, by the one turn all frames of the camera share or by the frame's
 * sunspots; false unless there are some, or one and the mirror is known. */
bool tl_report_measured_pa(const tl_sequence *sequence, size_t i, double *pa_rad);
/* Whether frame i has a residual. An undated frame got its time from its separation, one of another
 * day was not compared, and the free path, which stands in for an almanac without a solved clock,
 * is that of those of the main camera's frames that the track was shown. */
bool tl_report_has_residual(const tl_sequence *sequence, size_t i);
/* A solar radius in arcsec at the frame's time, or at maximum; 0 if no almanac. */
double tl_report_sun_radius_arcsec(const tl_sequence *sequence, size_t i);
/* Whether any contact was measured; else the almanac stands alone. */
bool tl_report_any_contact(const tl_track *track);
/* Sigma of a measured contact: of its UTC if the clock is solved, else by the camera's clock. */
double tl_report_contact_sigma(const tl_track *track, int which);
/* The same with the floor that all frames share: what O - C is to be held against. */
double tl_report_contact_error(const tl_track *track, int which);
/* Frames that are not measured, grouped by equal status and reason, most frequent
 * first; at most `max` groups. Returns how many groups were filled. */
typedef struct tl_report_group {
    tl_limb_status status;
    const char *reason; /* points into the sequence */
    size_t count;
} tl_report_group;
size_t tl_report_refusals(const tl_sequence *sequence, size_t max, tl_report_group *group);

/* ---- share.c: how much of the Sun a picture shows covered ---------------------------------- */

/* Whether frame i shows a bite of which magnitude and obscuration are known. */
bool tl_report_has_share(const tl_sequence *sequence, size_t i);
/* Its sigmas: what those of the separation and of the ratio of the radii make of them; 0 if not
 * known. */
double tl_report_magnitude_sigma(const tl_sequence *sequence, size_t i);
double tl_report_obscuration_sigma(const tl_sequence *sequence, size_t i);
/* "0.6353" and "57.3", per cent of the area, with at most so many decimals. */
void tl_report_add_magnitude(const tl_sequence *sequence, size_t i, int most, tl_report_text *text);
void tl_report_add_percent(const tl_sequence *sequence, size_t i, int most, tl_report_text *text);

/* ---- camera.c: which camera took a picture, and what follows for that picture ------------ */

/* Never NULL; of a camera beyond those that can be told apart nothing is known. */
const tl_track_camera *tl_report_camera_of(const tl_sequence *sequence, size_t i);
/* What camera k is called. */
void tl_report_camera_name(const tl_sequence *sequence, size_t k, tl_report_text *text);
/* Whether a camera is named for frame i: those that gave no picture of the Sun are not told apart.
 */
bool tl_report_has_camera(const tl_sequence *sequence, size_t i);
/* Whether any picture of the Sun that camera k took has a camera time. */
bool tl_report_has_stamps(const tl_sequence *sequence, size_t k);
/* Camera time less true UTC, for a picture whose stamp is not late. */
double tl_report_clock_total(const tl_clock *clock, double t_utc_s);
/* How late frame i's stamp is; false unless the camera's stamps are late. */
bool tl_report_late(const tl_sequence *sequence, size_t i, double *late_s);
/* Left out, or excluded, and by its camera time more than half a day from the middle one of its
 * camera's pictures. */
bool tl_report_other_day(const tl_sequence *sequence, size_t i);

/* ---- fields.c: one row per frame ---------------------------------------------------------- */

typedef enum { TL_REPORT_STRING, TL_REPORT_NUMBER, TL_REPORT_FLAG } tl_report_kind;
size_t tl_report_field_count(void);
const char *tl_report_field_name(size_t field);
tl_report_kind tl_report_field_kind(size_t field);
/* Adds the value as text ("true"/"false" for a flag); adds nothing when it is not known. */
void tl_report_field_add(const tl_sequence *sequence, size_t i, size_t field, tl_report_text *text);

/* ---- path.c: where the Moon goes, for the drawing and the page ---------------------------- */

typedef struct tl_report_point {
    double east_sr, north_sr;
    double t_s;   /* UTC on the sky, the camera's time on a flat path */
    size_t frame; /* of a measured point */
    bool outlier; /* left out of the fit, or excluded by the user */
} tl_report_point;

/* A sunspot on the disc, at its epoch. */
typedef struct tl_report_path_spot {
    const tl_spot *spot; /* of the sequence */
    double east_sr, north_sr, radius_sr;
} tl_report_path_spot;
/* Where the Moon's centre is when its limb stands on the centre of a spot. */
typedef struct tl_report_crossing {
    const tl_spot *spot; /* of the sequence */
    bool uncovering;
    tl_report_point moon;
} tl_report_crossing;
enum { TL_REPORT_CROSSING_SPOTS = 6 }; /* the first to be told: more would hide the path */

typedef struct tl_report_path {
    bool on_sky;             /* directions are those of the sky; else the path is drawn flat */
    bool direction_measured; /* some measured points' directions are measured too */
    bool turned_by_spots;    /* some of these by the picture's sunspots */
    bool direction_followed; /* some are the almanac's */
    tl_report_point *line;   /* the almanac's path, or the free one; owned */
    size_t line_count;
    tl_report_point *measured; /* owned */
    size_t measured_count;
    tl_report_path_spot *spot; /* owned; only with directions of the sky */
    size_t spot_count;
    tl_report_crossing crossing[2 * TL_REPORT_CROSSING_SPOTS];
    size_t crossing_count;
    bool has_contact[TL_CONTACTS];
    tl_report_point contact[TL_CONTACTS];
    double ratio; /* Moon/Sun radius; 0 if nothing is known */
    bool has_zenith;
    double zenith_pa_rad; /* at maximum */
} tl_report_path;

/* TL_ERR_MEMORY, else TL_OK with whatever is known. */
tl_status tl_report_path_make(const tl_sequence *sequence, const tl_report_facts *facts,
                              tl_report_path *path);
void tl_report_path_free(tl_report_path *path);

/* The Moon on the path at a time, in the path's kind of time; false, and untouched, if it is not
 * known there. */
typedef struct tl_report_moon {
    double east_sr, north_sr; /* of its centre */
    double ratio;             /* of the radii */
    bool has_sky;
    tl_sky sky;
} tl_report_moon;
bool tl_report_moon_at(const tl_sequence *sequence, const tl_report_path *path, double t_s,
                       tl_report_moon *moon);

/* ---- plates.c: the photographs that can be put right --------------------------------------- */

typedef enum tl_report_up {
    TL_REPORT_NORTH_UP,
    TL_REPORT_ZENITH_UP, /* as the eye saw it */
    TL_REPORT_UPS
} tl_report_up;

typedef enum tl_report_turned {
    TL_REPORT_TURNED,    /* turn and hand are known */
    TL_REPORT_HAND_OPEN, /* turned so that its Moon stands right; it may be exchanged, left for
                            right, about the line through Sun and Moon */
    TL_REPORT_AS_TAKEN   /* the turn is not known: only brought to scale */
} tl_report_turned;

/* A picture with a solar circle. */
typedef struct tl_report_plate {
    size_t frame;
    tl_report_turned turned;
    double up_pa_rad; /* of the picture; unless as taken */
    bool mirrored;
    bool has_zenith; /* can be shown zenith up */
    double zenith_pa_rad;
    bool timed;    /* t_s is known */
    double t_s;    /* true UTC, else the camera's time; see tl_report_plates */
    bool doubtful; /* left out of the fits, or excluded: its circles or its time may be wrong */
} tl_report_plate;

typedef struct tl_report_plates {
    tl_report_plate *item; /* owned; in order of time, then those without, as the files are */
    size_t count;
    bool utc; /* the times are true UTC; else those of the camera's clock */
    size_t turned_count, zenith_count;
} tl_report_plates;

/* TL_ERR_MEMORY. */
tl_status tl_report_plates_make(const tl_sequence *sequence, tl_report_plates *plates);
void tl_report_plates_free(tl_report_plates *plates);

/* ---- timeline.c: the series in time, for the drawings and the page -------------------------- */

typedef enum tl_report_panel {
    TL_REPORT_PANEL_SEPARATION, /* of the centres, solar radii */
    TL_REPORT_PANEL_COVERED,    /* magnitude and obscuration */
    TL_REPORT_PANEL_RESIDUAL,   /* separation measured less that of the line */
    TL_REPORT_PANEL_BLUR,       /* width of the Sun's edge */
    TL_REPORT_PANELS
} tl_report_panel;
/* A set of panels is a sum of these. */
#define TL_REPORT_PANEL_BIT(panel) (1u << (panel))
#define TL_REPORT_ALL_PANELS (TL_REPORT_PANEL_BIT(TL_REPORT_PANELS) - 1u)

/* Of the almanac's path or the free one. */
typedef struct tl_report_time_sample {
    double t_s, separation_sr;
    double magnitude, obscuration; /* NAN: no ratio is known */
} tl_report_time_sample;

/* One picture. A value that is not known, or not finite, is NAN; so is an error that is not above
 * 0. */
typedef struct tl_report_time_point {
    size_t frame;
    double t_s;
    bool doubtful;     /* left out of the fits, or excluded: hollow */
    bool from_itself;  /* no time of its own: it has the one at which the line has its separation,
                          and so lies on it, whatever its error */
    bool other_camera; /* than the main one */
    double separation_sr, separation_sigma_sr;
    double magnitude, obscuration;
    /* With utc arcsec, else sr. The error is of the circles and of reading the clock, at the rate
     * at which the Moon moves. */
    double residual, residual_sigma;
    double blur; /* with utc arcsec, else per cent of the solar radius */
} tl_report_time_point;

/* The Moon's limb on the centre of a spot. */
typedef struct tl_report_time_crossing {
    const tl_spot *spot; /* of the sequence */
    double t_s;
    bool uncovering;
} tl_report_time_crossing;

/*
 * How the edge blur of the main camera's pictures goes with time: a straight line through its
 * logarithm, every picture with the same weight, for none has an error of its own. The error of
 * the slope is from their scatter about the line. Where neighbours err alike there are fewer of
 * them than it seems (Santer et al. 2000, J. Geophys. Res. 105, 7337); and it is
 * widened for the few there are, so that 3 sigma are as improbable by chance as 3 of a Gaussian
 * (Student's t).
 */
typedef struct tl_report_blur_trend {
    size_t count;       /* points with a blur, of the main camera, not doubtful */
    size_t first, last; /* of these; valid if count > 0 */
    bool fitted;        /* at least 4 of them, over at least 15 minutes */
    double growth_per_h, growth_sigma_per_h; /* of the natural logarithm */
    double mean_t_s, mean_log;               /* a point on the line: log of the blur */
    bool significant;                        /* beyond 3 sigma */
} tl_report_blur_trend;

typedef struct tl_report_timeline {
    bool utc; /* times are true UTC and the line is the almanac's; else they are those of the main
                 camera's clock, and the line is the free path */
    bool has_zone;
    int zone_minutes;            /* local less UTC; only with utc */
    double from_s, to_s;         /* the axis; from_s < to_s if panels is not 0 */
    unsigned panels;             /* those in which anything is known */
    tl_report_time_sample *line; /* owned; in order of time */
    size_t line_count;
    tl_report_time_point *point; /* owned; in order of time */
    size_t point_count;
    size_t unplaced_count; /* pictures with a solar circle that have no place on the axis */
    bool has_contact[TL_CONTACTS];
    double contact_s[TL_CONTACTS];
    tl_report_time_crossing crossing[2 * TL_REPORT_CROSSING_SPOTS]; /* in order of time */
    size_t crossing_count;
    double floor; /* TL_TRACK_FLOOR_SR, in the unit of the residuals */
    tl_report_blur_trend trend;
} tl_report_timeline;

/* The sequence must outlive it. TL_ERR_MEMORY, else TL_OK with whatever is known; `panels` 0:
 * nothing. Some 10 ms. */
tl_status tl_report_timeline_make(const tl_sequence *sequence, const tl_report_facts *facts,
                                  tl_report_timeline *timeline);
void tl_report_timeline_free(tl_report_timeline *timeline);

/* ---- outputs.c: what a result consists of ---------------------------------------------------- */

/* What every file of the result is made from. */
typedef struct tl_report_source {
    const tl_sequence *sequence;
    tl_report_facts facts;
    tl_report_path path;
    tl_report_plates plates;
    tl_report_timeline timeline;
    tl_report_scope scope;
} tl_report_source;
/* TL_REPORT_WHOLE. The sequence must outlive it. TL_ERR_MEMORY. */
tl_status tl_report_source_make(const tl_sequence *sequence, tl_report_source *source);
void tl_report_source_free(tl_report_source *source);

/*
 * One file of the result, or a folder with many of a kind. They are made while they are written,
 * a few at a time: all at once would fill the memory.
 */
typedef struct tl_report_output {
    const char *name;
    bool table; /* part of TL_REPORT_TABLES */
    /* Of a folder: how many files, what file k is called, and whether a name could be of one. NULL
     * for a file. */
    size_t (*count)(const tl_report_source *source);
    void (*name_of)(const tl_report_source *source, size_t k, tl_report_text *name);
    bool (*is_name)(const char *name);
    /* The bytes of the file. No bytes: this result has no such file. TL_ERR_MEMORY. */
    tl_status (*make)(const tl_report_source *source, size_t k, tl_report_text *bytes);
} tl_report_output;
extern const tl_report_output tl_report_outputs[];
extern const size_t tl_report_output_count;

/* How many files of it this result has; 0: it is left out. */
size_t tl_report_count_files(const tl_report_output *output, const tl_report_source *source);

/* Those a reader opens first. */
#define TL_REPORT_PAGE "report.html"
#define TL_REPORT_TALK "talk.html"
/* Those that take its place where tables alone are written. */
#define TL_REPORT_FRAMES "frames.csv"
#define TL_REPORT_SPOTS "spots.csv"
#define TL_REPORT_EVERYTHING "sequence.json"

tl_status tl_report_csv(const tl_sequence *sequence, tl_report_text *text);
tl_status tl_report_series_csv(const tl_report_source *source, tl_report_text *text);
tl_status tl_report_json(const tl_sequence *sequence, tl_report_text *text);
tl_status tl_report_path_svg(const tl_report_facts *facts, const tl_report_path *path,
                             tl_report_text *text);
/* contact_sheet.c: a JPEG; nothing if there is no picture that can be shown this way up. */
tl_status tl_report_contact_sheet(const tl_report_source *source, tl_report_up up,
                                  tl_report_text *jpeg);
/* moving.c: the photographs as an animated GIF of at most 8 MB; nothing if fewer than two can be
 * shown this way up. */
tl_status tl_report_moving(const tl_report_source *source, tl_report_up up, tl_report_text *gif);
bool tl_report_has_moving(const tl_report_plates *plates, tl_report_up up); /* film.c */
/* smooth.c: the Moon moving evenly, the photographs at their times, as an animated GIF of at most
 * 8 MB; nothing without a path or without a photograph. */
tl_status tl_report_smooth(const tl_report_source *source, tl_report_text *gif);
bool tl_report_has_smooth(const tl_report_path *path, const tl_report_plates *plates);

/* What every section of the page is made from. */
typedef struct tl_report_page {
    const tl_sequence *sequence;
    const tl_report_facts *facts;
    const tl_report_path *path;
    const tl_report_plates *plates;
    const tl_report_timeline *timeline;
    tl_report_text *html;
} tl_report_page;
tl_report_page tl_report_page_of(const tl_report_source *source, tl_report_text *html);
tl_status tl_report_html(const tl_report_source *source, tl_report_text *html);

/* ---- words_*.c: plain sentences, UTF-8, no mark-up ---------------------------------------- */

void tl_report_words_title(const tl_sequence *sequence, const tl_report_facts *facts,
                           tl_report_text *text);
/* "45.0000 deg N, 10.0000 deg E, 120 m"; the place must be known. */
void tl_report_words_place(const tl_site *site, tl_report_text *text);
/* The same with where it is from: "... 120 m (given)". */
void tl_report_words_site(const tl_site *site, tl_report_text *text);
/* words_place.c: "41.59 deg N, 83.82 deg W"; "+- 18 km along 152 deg, 6.7 km across"; "0.9 km". */
void tl_report_words_estimate(const tl_track_place *place, tl_report_text *text);
void tl_report_words_estimate_size(const tl_track_place *place, tl_report_text *text);
void tl_report_words_estimate_clock(const tl_track_place *place, tl_report_text *text);
void tl_report_words_caught(const tl_sequence *sequence, const tl_report_facts *facts,
                            tl_report_text *text);
void tl_report_words_deepest(const tl_sequence *sequence, tl_report_text *text);
/* What became of a picture, for people: "without the Sun". Tables for programs have its code. */
const char *tl_report_words_status(tl_limb_status status);
/* The same of a picture that may be a copy of another one: not used, but nothing is wrong with it.
 */
const char *tl_report_words_state(const tl_sequence_frame *frame);
/* "0.6988 +- 0.0007" */
void tl_report_words_magnitude(const tl_track *track, tl_report_text *text);

/* How much of the Sun's disc was covered at the closest approach, per cent, with its error. */
void tl_report_words_covered(const tl_track *track, tl_report_text *text);
/* " (almanac 0.6991)", with as many decimals as the measured one; nothing without an almanac. */
void tl_report_words_almanac_magnitude(const tl_track *track, tl_report_text *text);
void tl_report_words_agreement(const tl_sequence *sequence, tl_report_text *text);
/* How an observed minus computed value compares with its sigma: "agrees (0.8 sigma)". */
void tl_report_words_significance(double o_minus_c, double sigma, tl_report_text *text);
/* words_contacts.c: when each contact was, in sentences. */
void tl_report_words_contacts(const tl_sequence *sequence, const tl_report_facts *facts,
                              tl_report_text *text);
/* "first contact", "the ring closes". */
const char *tl_report_contact_name(const tl_track *track, int which);
/* words_meaning.c: sentence n (0, 1, ...) of what the differences to the almanac can mean; false
 * when there are no more. */
bool tl_report_words_meaning(const tl_sequence *sequence, size_t n, tl_report_text *text);
/* Sentence n (0, 1, ...) of what is missing and what to do; false when there are no more. */
bool tl_report_words_advice(const tl_sequence *sequence, const tl_report_facts *facts, size_t n,
                            tl_report_text *text);

/* words_clock.c: the main camera's clock, with everything that is odd about it. */
void tl_report_words_clock(const tl_sequence *sequence, tl_report_text *text);
/* The clock of another camera, k, in one sentence or two. */
void tl_report_words_other_clock(const tl_sequence *sequence, size_t k, tl_report_text *text);
/* "37.4 +- 0.3 s fast in zone UTC+02:00". */
void tl_report_words_setting(int zone_minutes, double offset_s, double sigma_s,
                             tl_report_text *text);
/* Its date is wrong in every part and it is in no zone of the place: as after a reset. What zone
 * and date make of it then means nothing, only the sum does; nor is there a local time. */
bool tl_report_clock_unset(const tl_sequence *sequence, const tl_clock *clock);
/* The setting of a camera's clock; "9710 days 14 h 33 min 43.2 +- 0.3 s behind UTC" if it was never
 * set. */
void tl_report_words_clock_setting(const tl_sequence *sequence, const tl_clock *clock,
                                   tl_report_text *text);
/* Whether alternative i says anything beyond the setting. */
bool tl_report_alternative_told(const tl_sequence *sequence, const tl_clock *clock, size_t i);
/* The same of alternative i, with the day if it is another one. */
void tl_report_words_alternative(const tl_sequence *sequence, const tl_clock *clock, size_t i,
                                 tl_report_text *text);
/* Whether any alternative puts the pictures to other times. */
bool tl_report_other_times(const tl_clock *clock);
/* "gains 12 +- 3 s a day"; nothing without a drift. */
void tl_report_words_drift(const tl_clock *clock, tl_report_text *text);
/* "366 days behind: its year is wrong"; nothing where the date is right. */
void tl_report_words_date(const tl_sequence *sequence, const tl_clock *clock, tl_report_text *text);
/* "its year is wrong", "never set" alone. */
void tl_report_words_wrong_date(const tl_sequence *sequence, const tl_clock *clock,
                                tl_report_text *text);
/* That the camera's day has no eclipse and which one was found; nothing unless it was so. */
void tl_report_words_day(const tl_sequence *sequence, tl_report_text *text);
/* "14 +- 2 s": by how much the stamps scatter, or are late on average. */
void tl_report_words_scatter(const tl_clock *clock, tl_report_text *text);
/* How the stamps scatter; nothing where they are sound. */
void tl_report_words_stamps(const tl_clock *clock, tl_report_text *text);

/* words_gps.c: GPS time less true time over the pictures of camera k that have both. False, and
 * `check` untouched, if memory ran out. */
typedef struct tl_report_gps {
    size_t count;
    double median_s; /* 0 if there are none */
} tl_report_gps;
bool tl_report_gps_check(const tl_sequence *sequence, size_t k, tl_report_gps *check);
/* What that says, in a sentence; nothing if there are none. */
void tl_report_words_gps(const tl_sequence *sequence, size_t k, tl_report_text *text);
/* By so much that the terminal tells it; in a line of it, nothing otherwise. */
bool tl_report_gps_disagrees(const tl_sequence *sequence, size_t k);
void tl_report_words_gps_short(const tl_sequence *sequence, size_t k, tl_report_text *text);

/* words_holding.c */
void tl_report_words_holding(const tl_track_camera *camera, tl_report_text *text);
/* What told whether its pictures are mirrored; nothing where that is not known. */
void tl_report_words_mirror_known(const tl_track_camera *camera, tl_report_text *text);
/* "41 deg clockwise", as the Sun turned in the picture; nothing where it did not. */
void tl_report_words_turned(const tl_track_camera *camera, tl_report_text *text);
/* The way the Sun turned in the picture; the mirror must be known. */
bool tl_report_turned_clockwise(const tl_track_camera *camera);

/* words_single.c: pictures left out of the fits, and those without a time of their own. */
bool tl_report_is_outlier(const tl_sequence *sequence, size_t i);
/* "is left out: its circles are ... away from the others.", to follow its name. */
void tl_report_words_outlier(const tl_sequence *sequence, size_t i, tl_report_text *text);
/* "IMG_0012.jpg left out: 0.031 solar radii (62 s) off", in a line of the terminal. */
void tl_report_words_outlier_short(const tl_sequence *sequence, size_t i, tl_report_text *text);
typedef struct tl_report_sides {
    size_t all; /* frames without a time whose two times are known */
    size_t by[TL_SIDE_BY_SPOTS + 1];
} tl_report_sides;
tl_report_sides tl_report_count_sides(const tl_sequence *sequence);
/* What told on which side of maximum they lie; nothing if there are none. */
void tl_report_words_sides(const tl_sequence *sequence, tl_report_text *text);

/* ---- words_given.c: what the user said ---------------------------------------------------- */

/* Item n (0, 1, ...) of it, "Day: 12 August 2026"; false when there are no more. */
bool tl_report_words_given(const tl_sequence *sequence, size_t n, tl_report_text *text);
/* "of 12 pictures from times.csv"; there must be such a table. */
void tl_report_words_times(const tl_sequence *sequence, tl_report_text *text);
/* "2 of its rows name none of the pictures: IMG_01.jpg and others"; nothing if all do. */
void tl_report_words_stray(const tl_sequence *sequence, tl_report_text *text);
/* " (given)" behind a value that was. */
void tl_report_words_given_mark(bool given, tl_report_text *text);
/* What of the folders given was not read, as part of a sentence; nothing if all was. */
void tl_report_words_passed(const tl_sequence *sequence, tl_report_text *text);
/* Short names of its kinds, for programs. */
extern const char *const tl_report_passed_name[TL_PASSED_KINDS];
size_t tl_report_excluded_count(const tl_sequence *sequence);
/* Whether a measured picture took part in the fits: "yes", "left out", "excluded", "not timed"; ""
 * if it is not measured or nothing could be fitted. */
const char *tl_report_used(const tl_sequence *sequence, size_t i);
/* That there are more cameras than can be told apart; nothing otherwise. */
void tl_report_words_unlisted(const tl_sequence *sequence, tl_report_text *text);

/* ---- own_files.c: what is ours in a folder, and may be replaced ----------------------------- */

typedef enum tl_report_place {
    TL_REPORT_ABSENT,
    TL_REPORT_EMPTY,
    TL_REPORT_EARLIER /* holds an earlier result, and nothing else */
} tl_report_place;
/* TL_ERR_ARGUMENT: it is no folder, or holds anything else. TL_ERR_WRITE: it cannot be read. */
tl_status tl_report_look_inside(const char *folder, tl_report_place *place);
/* Remove a result of ours: only files of ours, so a folder with anything else stays. */
void tl_report_remove(const char *folder);

/* ---- folder.c: whole or not at all --------------------------------------------------------- */

#define TL_REPORT_LIMBS_FOLDER "limbs"
/* A name that limbs_name.c could have given to such a picture. */
bool tl_report_is_limbs_name(const char *name);

/* Write `data` as the whole of the file `path`. TL_ERR_WRITE, TL_ERR_NO_SPACE. */
tl_status tl_report_write_file(const char *path, const char *data, size_t size);
/* Make all outputs, up to `jobs` at a time (0: one per processor), and put them into `folder`; see
 * tl_report_write. */
tl_status tl_report_write_folder(const char *folder, const tl_report_source *source, int jobs);

#endif
