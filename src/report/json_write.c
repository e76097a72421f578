/*
 * json_write.c - single values of sequence.json.
 *
 * Numbers are written with the digits they deserve (raw JSON), null where not known.
 * cJSON returns NULL when memory runs out and passes a NULL object on harmlessly;
 * `failed` keeps it in mind until the end.
 */
#include <math.h>
#include <string.h>

#include "report/json_internal.h"

void tl_report_json_keep(tl_report_writer *w, const void *added) {
    w->failed = w->failed || !added;
}

cJSON *tl_report_json_object(tl_report_writer *w, cJSON *parent, const char *name) {
    cJSON *object = cJSON_AddObjectToObject(parent, name);
    tl_report_json_keep(w, object);
    return object;
}

cJSON *tl_report_json_array(tl_report_writer *w, cJSON *parent, const char *name) {
    cJSON *array = cJSON_AddArrayToObject(parent, name);
    tl_report_json_keep(w, array);
    return array;
}

/* At the end of the list; NULL, and freed, if memory ran out. */
static cJSON *append(tl_report_writer *w, cJSON *list, cJSON *item) {
    if (item && cJSON_AddItemToArray(list, item))
        return item;
    cJSON_Delete(item);
    w->failed = true;
    return NULL;
}

cJSON *tl_report_json_entry(tl_report_writer *w, cJSON *list) {
    return append(w, list, cJSON_CreateObject());
}

cJSON *tl_report_json_row(tl_report_writer *w, cJSON *list) {
    return append(w, list, cJSON_CreateArray());
}

void tl_report_json_null(tl_report_writer *w, cJSON *parent, const char *name) {
    tl_report_json_keep(w, cJSON_AddNullToObject(parent, name));
}

void tl_report_json_flag(tl_report_writer *w, cJSON *parent, const char *name, bool value) {
    tl_report_json_keep(w, cJSON_AddBoolToObject(parent, name, value));
}

static void clear(tl_report_writer *w) {
    w->scratch.length = 0;
    tl_report_text_bytes(&w->scratch, "", 0);
}

static const char *scratch(tl_report_writer *w) {
    w->failed = w->failed || w->scratch.failed;
    return tl_report_text_string(&w->scratch);
}

void tl_report_json_string(tl_report_writer *w, cJSON *parent, const char *name,
                           const char *value) {
    if (!value) {
        tl_report_json_null(w, parent, name);
        return;
    }
    clear(w);
    tl_report_add_utf8(&w->scratch, value);
    tl_report_json_keep(w, cJSON_AddStringToObject(parent, name, scratch(w)));
}

void tl_report_json_number(tl_report_writer *w, cJSON *parent, const char *name, bool known,
                           double value, int decimals) {
    if (!known || !isfinite(value)) {
        tl_report_json_null(w, parent, name);
        return;
    }
    clear(w);
    tl_report_add_fixed(&w->scratch, value, decimals);
    tl_report_json_keep(w, cJSON_AddRawToObject(parent, name, scratch(w)));
}

void tl_report_json_sigma(tl_report_writer *w, cJSON *parent, const char *name, bool known,
                          double value) {
    if (!known || !isfinite(value)) {
        tl_report_json_null(w, parent, name);
        return;
    }
    clear(w);
    tl_report_add_significant(&w->scratch, value, 2);
    tl_report_json_keep(w, cJSON_AddRawToObject(parent, name, scratch(w)));
}

void tl_report_json_time(tl_report_writer *w, cJSON *parent, const char *name, bool known,
                         double t_s, int decimals, const char *suffix) {
    char iso[TL_TIME_TEXT_SIZE];
    if (!known || !isfinite(t_s)) {
        tl_report_json_null(w, parent, name);
        return;
    }
    tl_time_text(t_s, decimals, suffix, iso);
    tl_report_json_keep(w, cJSON_AddStringToObject(parent, name, iso));
}

void tl_report_json_date(tl_report_writer *w, cJSON *parent, const char *name, bool known,
                         double t_s) {
    char iso[TL_TIME_TEXT_SIZE];
    tl_time_text(t_s, 0, "", iso);
    iso[strcspn(iso, "T")] = '\0';
    tl_report_json_string(w, parent, name, known ? iso : NULL);
}

void tl_report_json_place(tl_report_writer *w, cJSON *object, const tl_site *site) {
    const bool known = site->source != TL_SITE_NONE;
    tl_report_json_number(w, object, "lat_deg", known, site->lat_rad / TL_DEG, 6);
    tl_report_json_number(w, object, "lon_deg", known, site->lon_rad / TL_DEG, 6);
    tl_report_json_number(w, object, "height_m", known, site->height_m, 1);
}

void tl_report_json_item(tl_report_writer *w, cJSON *list, double value, int digits) {
    clear(w);
    tl_report_add_exponent(&w->scratch, value, digits);
    append(w, list, isfinite(value) ? cJSON_CreateRaw(scratch(w)) : cJSON_CreateNull());
}

void tl_report_json_text(tl_report_writer *w, cJSON *list, const char *value) {
    clear(w);
    tl_report_add_utf8(&w->scratch, value);
    append(w, list, cJSON_CreateString(scratch(w)));
}
