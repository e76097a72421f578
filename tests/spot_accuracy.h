/*
 * spot_accuracy.h - what the files of tool_spot_accuracy share: simulated series with sunspots,
 * analysed and held against their truth.
 */
#ifndef TWOLIMB_TESTS_SPOT_ACCURACY_H
#define TWOLIMB_TESTS_SPOT_ACCURACY_H

#include "truth.h"
#include "twolimb/report.h"

/* Arcsec in a solar radius, for figures only: the Sun's at one astronomical unit, rounded. */
#define SPOT_SUN_ARCSEC 960.0

/* ---- series ---- */

typedef enum spot_kind { SPOT_CLEAN, SPOT_PHONE, SPOT_KINDS } spot_kind;
extern const char *const spot_kind_name[SPOT_KINDS];  /* "clean" "phone" */
extern const size_t spot_kind_series[SPOT_KINDS];     /* how many of each */
extern const char *const spot_kind_story[SPOT_KINDS]; /* what is drawn, a line */

/* The scene of series `number` of a kind, its own random numbers and always the same; to be freed.
 * NULL: no memory. */
char *spot_scene_text(spot_kind kind, size_t number);

/* ---- truth ---- */

enum { SPOT_FRAMES_MAX = 24, SPOT_TRUE_MAX = 8, SPOT_DUST_MAX = 8, SPOT_FIELD_SIZE = 64 };

typedef enum spot_true_state {
    SPOT_IS_VISIBLE,
    SPOT_IS_ON_LIMB,
    SPOT_IS_COVERED,
    SPOT_IS_BEHIND
} spot_true_state;

typedef struct spot_true {
    char name[SPOT_FIELD_SIZE];
    double latitude_rad, carrington_rad; /* at maximum */
    double east_sr, north_sr;            /* then */
    double radius_sr, area_ppm;
    double umbra_arcsec; /* diameter, seen from above */
    /* TL_SPOT_FIRST ...; NAN where it does not happen */
    double covered_utc_s[TL_SPOT_TOUCHES], uncovered_utc_s[TL_SPOT_TOUCHES];
} spot_true;

typedef struct spot_true_sight {
    spot_true_state state;
    double x_px, y_px, from_sun_sr, from_moon_sr, east_sr, north_sr, radius_sr;
} spot_true_sight;

typedef struct spot_truth {
    size_t frame_count, spot_count, dust_count;
    truth_row frame[SPOT_FRAMES_MAX];
    spot_true spot[SPOT_TRUE_MAX];
    spot_true_sight sight[SPOT_TRUE_MAX][SPOT_FRAMES_MAX]; /* by spot and frame */
    struct {
        double x_px, y_px, radius_px;
    } dust[SPOT_DUST_MAX];
    tl_site site;
    double clock_offset_s;
    bool is_copy; /* the pictures have lost their times */
} spot_truth;

/* From the folder of pictures and the scene they were drawn from; false if it cannot be read. */
bool spot_truth_read(const char *scene_path, const char *folder, spot_truth *truth);

/* ---- scores ---- */

/* Errors, each with its sigma; 0: it has none. */
typedef struct spot_errors {
    double *error, *sigma; /* owned; spot_tally_free */
    size_t count, room;
} spot_errors;

enum { SPOT_LARGE, SPOT_SMALL, SPOT_SIZES }; /* umbra over 8 arcsec, 5 to 8 */
enum { SPOT_RIGHT, SPOT_WRONG, SPOT_OPEN, SPOT_ANSWERS };
enum {
    SPOT_ERROR_PICTURE,  /* of a mark's centre, arcsec */
    SPOT_ERROR_DISC,     /* the same from the circle measured */
    SPOT_ERROR_LATITUDE, /* deg; within 60 deg of the centre */
    SPOT_ERROR_LONGITUDE,
    SPOT_ERROR_RADIUS, /* relative */
    SPOT_ERROR_AREA,
    SPOT_ERROR_CENTRE, /* covering and uncovering, s */
    SPOT_ERROR_TOUCH,
    SPOT_ERROR_TURN,      /* of a frame by its spots, deg */
    SPOT_ERROR_MOON_TURN, /* the same frames by their Moons alone */
    SPOT_ERRORS
};

typedef struct spot_tally {
    size_t series, failed, frames, measured; /* failed: drawing or analysis gave up */
    size_t due[SPOT_SIZES], found[SPOT_SIZES], marked[SPOT_SIZES]; /* by spot and frame */
    size_t listed, false_spots;      /* found in pictures; of them, those that are none */
    size_t false_marks;              /* taken for a spot that is none, by mark */
    size_t dust_as_spot;             /* of the false marks, those on dust */
    size_t dust_due, dust_known;     /* pieces of dust in sight, by frame; those taken for dust */
    size_t spots_as_dust;            /* marks of spots taken for dust */
    size_t unplaced, unplaced_spots; /* marks left unplaced that are no spot; that are one */
    size_t covers_due, covers_right; /* spots covered */
    size_t misses_due, misses_right; /* spots never covered */
    size_t unsure;                   /* of both, those said to be unsure */
    size_t states_due, states_right; /* what happens to a spot in a frame */
    size_t hand_due, hand_wrong;     /* turns by spots; of them, with the wrong hand */
    size_t two_names, mixed;         /* true spots with two names; names of two true spots */
    size_t mirror[SPOT_ANSWERS], mirror_alone[SPOT_ANSWERS]; /* with spots; without */
    spot_errors errors[SPOT_ERRORS];
    bool no_memory;
} spot_tally;

/* Add one analysed series. `without_spots`: the mirror as the track has it that knows none. */
void spot_score(const spot_truth *truth, const tl_sequence *sequence, tl_mirror without_spots,
                spot_tally *tally);
/* Places, sizes and times of the spots of the list: owner[k] is the true spot that number k is, or
 * -1. A part of spot_score. */
void spot_score_list(const spot_truth *truth, const tl_sequence *sequence, const int *owner,
                     spot_tally *tally);
/* Turns of frames and the mirror. A part of spot_score. */
void spot_score_turns(const spot_truth *truth, const tl_sequence *sequence, tl_mirror without_spots,
                      const size_t *frame_of, spot_tally *tally);
/* The true frame of each frame of a sequence, by file name; truth->frame_count if there is none. */
size_t spot_frame_of(const spot_truth *truth, const char *path);

void spot_errors_add(spot_tally *tally, int which, double error, double sigma);
void spot_tally_add(const spot_tally *from, spot_tally *to);
void spot_tally_free(spot_tally *tally);

/* ---- figures ---- */

typedef struct spot_figures {
    size_t count;
    double rms, median, p95, most; /* of the absolute errors */
    size_t with_sigma;
    double one_sigma, three_sigma; /* shares of those with a sigma */
} spot_figures;
spot_figures spot_errors_figures(const spot_errors *errors);
double spot_errors_share(const spot_errors *errors, double within);

/* A Markdown table, a column for each kind that has series. */
void spot_table_print(const spot_tally tally[SPOT_KINDS]);
/* One line about one series. */
void spot_series_print(spot_kind kind, size_t number, const spot_tally *tally);

#endif
