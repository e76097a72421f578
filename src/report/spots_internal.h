/*
 * spots_internal.h - what the files of the report share about sunspots.
 *
 * spots (what follows from tl_spots) -> words, json, fields, table (spots.csv), page, drawings.
 */
#ifndef TWOLIMB_REPORT_SPOTS_INTERNAL_H
#define TWOLIMB_REPORT_SPOTS_INTERNAL_H

#include "report/report_internal.h"

/* ---- spots.c ------------------------------------------------------------------------------- */

/* What became of a spot here. */
typedef enum tl_report_spot_fate {
    TL_REPORT_SPOT_UNTIMED, /* the place or the time is not known */
    TL_REPORT_SPOT_COVERED,
    TL_REPORT_SPOT_DOWN,   /* covered, the Sun being down at both ends */
    TL_REPORT_SPOT_GRAZED, /* the Moon took some of it, not its centre */
    TL_REPORT_SPOT_FREE,   /* the Moon did not touch it */
    TL_REPORT_SPOT_UNSURE, /* its centre passed too close to the Moon's edge to tell */
    TL_REPORT_SPOT_FATES
} tl_report_spot_fate;
tl_report_spot_fate tl_report_spot_fate_of(const tl_spot *spot);
/* "covered" "not covered from here" ... */
extern const char *const tl_report_spot_fate_name[TL_REPORT_SPOT_FATES];

/* Never NULL; nothing is known beyond what was followed. */
const tl_spot_sight *tl_report_sight(const tl_sequence *sequence, size_t s, size_t i);
const tl_spot_turn *tl_report_spot_turn(const tl_sequence *sequence, size_t i);
/* Whether any spot has a state in frame i. */
bool tl_report_any_sight(const tl_sequence *sequence, size_t i);
/* Pictures on which spots were looked for. */
size_t tl_report_searched(const tl_sequence *sequence);
/* The same time by the main camera's clock, the clock's error in the sigma; false, and untouched,
 * if that clock is not known. */
bool tl_report_spot_camera(const tl_sequence *sequence, double t_utc_s, double sigma_s,
                           double *camera_s, double *camera_sigma_s);
/* Error of the time at which the limb stands at the centre, as people are told it: with the floor,
 * seconds. */
double tl_report_spot_sigma(const tl_spot_passage *passage);
/* Decimals of both times of a spot, so that they are told alike: those the larger error deserves.
 */
int tl_report_spot_decimals(const tl_spot *spot);
/* Sun and disc at the spots' epoch; false, and untouched, if it cannot be had. */
bool tl_report_spot_sky(const tl_sequence *sequence, tl_sky *sky);
/* The diameter of a round spot of this area, in diameters of the Earth. */
double tl_report_spot_earths(const tl_spot *spot);
/* How frame i was turned by the Moon in it alone, for the hand its spots have; false, and
 * untouched, where that is not known. */
bool tl_report_moon_turn(const tl_sequence *sequence, size_t i, double *up_pa_rad,
                         double *sigma_rad);
/* Both turns against each other. */
typedef struct tl_report_turns {
    size_t count;                /* frames with both */
    double rms_rad;              /* of their differences */
    double expected_rad;         /* by their errors */
    size_t mirrored, unmirrored; /* frames with a turn by spots */
} tl_report_turns;
tl_report_turns tl_report_compare_turns(const tl_sequence *sequence);
/* The name, "?" without one. */
void tl_report_add_spot_name(tl_report_text *text, const tl_spot *spot);
/* The same for the terminal and drawings. */
void tl_report_add_spot_letter(tl_report_text *text, const tl_spot *spot);

/* ---- words_spots.c: plain sentences --------------------------------------------------------- */

/* How many there are, or that there are none and why. */
void tl_report_words_spots(const tl_sequence *sequence, tl_report_text *text);
/* What became of spot s. */
void tl_report_words_spot(const tl_sequence *sequence, const tl_report_facts *facts, size_t s,
                          tl_report_text *text);
/* "14.2 deg N, 24.0 deg W"; "north-west, 0.43 of the way to the edge". */
void tl_report_words_spot_place(const tl_spot *spot, tl_report_text *text);
void tl_report_words_spot_disc(const tl_spot *spot, tl_report_text *text);
/* Doubt n (0, 1, ...) about spots; false when there are no more. */
bool tl_report_words_spot_doubt(const tl_sequence *sequence, size_t n, tl_report_text *text);
/* How the turns by the spots compare with those by the Moon; nothing if none do. */
void tl_report_words_spot_turns(const tl_sequence *sequence, tl_report_text *text);
/* "A visible; B covered", those known alone. */
void tl_report_words_sights(const tl_sequence *sequence, size_t i, tl_report_text *text);
/* The spots in the order in which they are told: those covered, by size, then the others. Returns
 * the one at place k. */
size_t tl_report_spot_told(const tl_sequence *sequence, size_t k);

/* ---- labels.c: letters beside points, so that they do not lie on each other ----------------- */

typedef struct tl_report_box {
    double x, y, half_width, half_height; /* about its middle */
} tl_report_box;
typedef struct tl_report_label {
    double x, y, radius; /* of the point it belongs to */
    tl_report_box box;   /* its size is given, its place is chosen */
    bool far;            /* so far off its point that a line has to lead to it */
} tl_report_label;
/* The first labels choose first; `taken` is kept free if it can be. */
void tl_report_place_labels(tl_report_label *label, size_t count, const tl_report_box *taken,
                            size_t taken_count);

/* ---- csv_spots.c: spots.csv, which `--spots` reads ------------------------------------------ */

tl_status tl_report_spots_csv(const tl_sequence *sequence, tl_report_text *text);

#endif
