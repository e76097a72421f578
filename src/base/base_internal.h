/*
 * base_internal.h - what the folders of src/ share below the public headers.
 */
#ifndef TWOLIMB_BASE_INTERNAL_H
#define TWOLIMB_BASE_INTERNAL_H

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

/* "Z" or "+HH:MM" or "-HH:MM", up to 14 h (the widest zone in use), to minutes. */
bool tl_base_read_zone(const char **cursor, int *minutes);

/* A place from degrees and metres; TL_ERR_ARGUMENT outside the ranges of tl_site. */
tl_status tl_base_site(tl_site_source source, double lat_deg, double lon_deg, double height_m,
                       tl_site *site);

#endif
