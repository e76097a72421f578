/*
 * fields_internal.h - what the files of columns share.
 */
#ifndef TWOLIMB_REPORT_FIELDS_INTERNAL_H
#define TWOLIMB_REPORT_FIELDS_INTERNAL_H

#include "report/report_internal.h"

/* One frame as the columns see it. */
typedef struct tl_report_row {
    const tl_sequence *sequence;
    size_t i;
    const tl_sequence_frame *frame;
    const tl_limb *limb;
    const tl_track_frame *track;
    bool has_sun, has_moon, has_time;
} tl_report_row;

tl_report_row tl_report_row_of(const tl_sequence *sequence, size_t i);

/* A column holds a string (`add`), or a number (`number`) with either fixed decimals or, where
 * `digits` is not 0, that many significant digits. */
typedef struct tl_report_field {
    const char *name;
    tl_report_kind kind;
    void (*add)(const tl_report_row *r, tl_report_text *text);
    double (*number)(const tl_report_row *r);
    int decimals, digits;
} tl_report_field;

#define COLUMN_STRING(name, function)                                                              \
    { name, TL_REPORT_STRING, function, NULL, 0, 0 }
#define COLUMN_FIXED(name, function, decimals)                                                     \
    { name, TL_REPORT_NUMBER, NULL, function, decimals, 0 }
#define COLUMN_SIGNIFICANT(name, function, digits)                                                 \
    { name, TL_REPORT_NUMBER, NULL, function, 0, digits }
#define COLUMN_FLAG(name, function)                                                                \
    { name, TL_REPORT_FLAG, NULL, function, 0, 0 }

/* A run of columns; an entry without a name ends it. */
extern const tl_report_field tl_report_fields_first[];  /* fields_first.c: the promised ones */
extern const tl_report_field tl_report_fields_more[];   /* fields_more.c */
extern const tl_report_field tl_report_fields_single[]; /* fields_single.c */
extern const tl_report_field tl_report_fields_spots[];  /* fields_spots.c */
extern const tl_report_field tl_report_fields_copy[];   /* fields_copy.c */

/* Number columns return NAN for "not known". */
double tl_report_known_if(bool known, double value);
double tl_report_positive(double value);
/* A time as a column has it, ISO 8601 with the decimals its sigma deserves. */
void tl_report_add_column_time(tl_report_text *text, double t_s, double sigma_s,
                               const char *suffix);

#endif
