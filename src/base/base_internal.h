/*
 * base_internal.h - what the folders of src/ share below the public headers.
 */
#ifndef TWOLIMB_BASE_INTERNAL_H
#define TWOLIMB_BASE_INTERNAL_H

#include <errno.h>

#include "twolimb/base.h"

/*
 * Switch off GSL's error handler, which ends the process. To be called at the
 * entrance of every public function that uses GSL; cheap, safe from any thread.
 */
void tl_base_quiet_libraries(void);

/*
 * Readers for text made by people and cameras. They do not heed the locale,
 * take no blanks, and move `*cursor` past what they read; on false both
 * `*cursor` and `*value` are untouched.
 */

/* Exactly `count` (1..9) decimal digits. */
bool tl_base_read_digits(const char **cursor, int count, int *value);

/* [+-]digits[.digits], no exponent; correctly rounded up to 15 digits, further ones are passed
 * over after the point and refused before it. */
bool tl_base_read_decimal(const char **cursor, double *value);

/* "YYYY-MM-DD" with this separator, or none ('\0'); a date that exists, to the seconds of its 0 h.
 */
bool tl_base_read_date(const char **cursor, char separator, double *t_s);

/* "HH:MM:SS" with this separator, or none ('\0'), to seconds; a time of day that exists. */
bool tl_base_read_clock(const char **cursor, char separator, double *seconds);

/* "YYYY-MM-DDTHH:MM:SS[.digits]", or a blank for the T, or a comma for the point, to seconds; and
 * the unit of its last digit, 1e-9 s at least (no clock is finer; further digits are passed over).
 */
bool tl_base_read_moment(const char **cursor, double *t_s, double *unit_s);

/* "Z" or "+HH:MM" or "-HH:MM", up to 14 h (the widest zone in use), to minutes. */
bool tl_base_read_zone(const char **cursor, int *minutes);

/* 1950-01-01 0 h and 2101-01-01 0 h: outside them the almanac says nothing (twolimb/sky.h), and a
 * camera's clock was never set. */
#define TL_BASE_FIRST_S (-631152000.0)
#define TL_BASE_END_S 4133980800.0
/* Whether an instant lies between them; false for no number. */
bool tl_base_in_span(double t_s);

/* A place from degrees and metres; TL_ERR_ARGUMENT outside the ranges of tl_site. */
tl_status tl_base_site(tl_site_source source, double lat_deg, double lon_deg, double height_m,
                       tl_site *site);

/*
 * Tables that people write: CSV (quotes as in RFC 4180, within one line) with a header row, in
 * UTF-8 with or without a byte order mark; blank lines and lines starting with '#' are passed over.
 * Semicolons or tabs may stand for the commas, as in the header, and then decimal commas for
 * points.
 */
enum { TL_BASE_CELLS_MAX = 32 };
typedef struct tl_base_row {
    int count;
    char *cell[TL_BASE_CELLS_MAX]; /* valid for the call; blanks around them cut off */
} tl_base_row;

/* What kept a file from being opened, by errno: TL_ERR_MEMORY or TL_ERR_OPEN. */
static inline tl_status tl_base_open_error(void) {
    return errno == ENOMEM ? TL_ERR_MEMORY : TL_ERR_OPEN;
}

/* Called for each row, the header first. Any status but TL_OK ends the reading. */
typedef tl_status tl_base_row_reader(void *context, const tl_base_row *row, bool header);

/* TL_ERR_OPEN, TL_ERR_EMPTY_FILE, and what `take` returns; TL_ERR_FORMAT for broken quotes, too
 * many cells or no header. On TL_ERR_FORMAT `*line` is the number of the bad line. */
tl_status tl_base_read_rows(const char *path, int *line, tl_base_row_reader *take, void *context);

/* Which cell has this name in the header; one of these below 0. */
enum { TL_BASE_COLUMN_NONE = -1, TL_BASE_COLUMN_TWICE = -2 };
int tl_base_column(const tl_base_row *header, const char *name);

/* The cell, or "" where the row or the table has none. */
const char *tl_base_cell(const tl_base_row *row, int column);

/* The whole part of `value`, within low..high; low for NaN. */
static inline int tl_base_clamp(double value, int low, int high) {
    if (!(value > low))
        return low;
    return value < high ? (int)value : high;
}

#endif
