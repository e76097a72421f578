/*
 * json_internal.h - what the files of sequence.json share.
 */
#ifndef TWOLIMB_REPORT_JSON_INTERNAL_H
#define TWOLIMB_REPORT_JSON_INTERNAL_H

#include <cjson/cJSON.h>

#include "report/report_internal.h"

/* ---- json_write.c: single values; null where `known` is false or a number is not finite ---- */

typedef struct tl_report_writer {
    tl_report_text scratch; /* one value at a time */
    bool failed;
} tl_report_writer;

/* Memory ran out if there is no `added`. */
void tl_report_json_keep(tl_report_writer *w, const void *added);
cJSON *tl_report_json_object(tl_report_writer *w, cJSON *parent, const char *name);
cJSON *tl_report_json_array(tl_report_writer *w, cJSON *parent, const char *name);
/* A new object, or array, at the end of a list. */
cJSON *tl_report_json_entry(tl_report_writer *w, cJSON *list);
cJSON *tl_report_json_row(tl_report_writer *w, cJSON *list);
void tl_report_json_null(tl_report_writer *w, cJSON *parent, const char *name);
void tl_report_json_flag(tl_report_writer *w, cJSON *parent, const char *name, bool value);
/* Null for NULL. */
void tl_report_json_string(tl_report_writer *w, cJSON *parent, const char *name, const char *value);
void tl_report_json_number(tl_report_writer *w, cJSON *parent, const char *name, bool known,
                           double value, int decimals);
/* Two significant digits. */
void tl_report_json_sigma(tl_report_writer *w, cJSON *parent, const char *name, bool known,
                          double value);
void tl_report_json_time(tl_report_writer *w, cJSON *parent, const char *name, bool known,
                         double t_s, int decimals, const char *suffix);
/* The day alone: "2026-08-12". */
void tl_report_json_date(tl_report_writer *w, cJSON *parent, const char *name, bool known,
                         double t_s);
/* lat_deg, lon_deg, height_m into an object; null if the place is not known. */
void tl_report_json_place(tl_report_writer *w, cJSON *object, const tl_site *site);
/* A string at the end of a list. */
void tl_report_json_text(tl_report_writer *w, cJSON *list, const char *value);
/* A number at the end of a list, with this many significant digits and an exponent. */
void tl_report_json_item(tl_report_writer *w, cJSON *list, double value, int digits);

/* ---- json_camera.c: clocks, mountings and the free path in a camera's time ---------------- */

void tl_report_json_clock(tl_report_writer *w, cJSON *parent, const tl_clock *clock);
void tl_report_json_gps(tl_report_writer *w, cJSON *parent, const tl_sequence *sequence, size_t k);
void tl_report_json_holding(tl_report_writer *w, cJSON *parent, const tl_track_camera *camera);
void tl_report_json_cameras(tl_report_writer *w, cJSON *root, const tl_sequence *sequence);
void tl_report_json_free_path(tl_report_writer *w, cJSON *root, const tl_track *track);

/* ---- json_place.c --------------------------------------------------------------------------- */

void tl_report_json_places(tl_report_writer *w, cJSON *root, const tl_track *track);

/* ---- json_spots.c --------------------------------------------------------------------------- */

void tl_report_json_spots(tl_report_writer *w, cJSON *root, const tl_sequence *sequence);

/* ---- json_given.c: what the user said, and nothing else ----------------------------------- */

void tl_report_json_given(tl_report_writer *w, cJSON *root, const tl_sequence *sequence);

#endif
