/*
 * json_given.c - sequence.json: what the user said, and nothing else.
 */
#include <string.h>

#include "report/json_given.h"

/* cJSON passes NULL on harmlessly; `failed` keeps it in mind. */
typedef struct writer {
    cJSON *given;
    bool failed;
} writer;

static void add_string(writer *w, cJSON *parent, const char *name, const char *value) {
    tl_report_text utf8 = {0};
    tl_report_add_utf8(&utf8, value);
    const cJSON *added = cJSON_AddStringToObject(parent, name, tl_report_text_string(&utf8));
    w->failed = w->failed || utf8.failed || added == NULL;
    tl_report_text_free(&utf8);
}

static void add_number(writer *w, cJSON *parent, const char *name, double value, int decimals) {
    tl_report_text digits = {0};
    tl_report_add_fixed(&digits, value, decimals);
    const cJSON *added = cJSON_AddRawToObject(parent, name, tl_report_text_string(&digits));
    w->failed = w->failed || digits.failed || added == NULL;
    tl_report_text_free(&digits);
}

static void add_site(writer *w, const tl_site *site) {
    cJSON *object = cJSON_AddObjectToObject(w->given, "site");
    w->failed = w->failed || object == NULL;
    add_number(w, object, "lat_deg", site->lat_rad / TL_DEG, 6);
    add_number(w, object, "lon_deg", site->lon_rad / TL_DEG, 6);
    add_number(w, object, "height_m", site->height_m, 1);
}

static void add_date(writer *w, double t_s) {
    char iso[TL_TIME_TEXT_SIZE];
    tl_time_text(t_s, 0, "", iso);
    iso[strcspn(iso, "T")] = '\0';
    add_string(w, w->given, "date", iso);
}

static void add_excluded(writer *w, const tl_sequence *sequence) {
    cJSON *list = cJSON_AddArrayToObject(w->given, "exclude");
    w->failed = w->failed || list == NULL;
    for (size_t i = 0; i < sequence->count; i++) {
        if (!sequence->frame[i].excluded)
            continue;
        tl_report_text name = {0};
        tl_report_add_utf8(&name, tl_report_base_name(sequence->frame[i].path));
        cJSON *item = cJSON_CreateString(tl_report_text_string(&name));
        w->failed = w->failed || name.failed;
        tl_report_text_free(&name);
        if (!cJSON_AddItemToArray(list, item)) {
            w->failed = true;
            cJSON_Delete(item);
        }
    }
}

bool tl_report_json_given(const tl_sequence *sequence, cJSON *root) {
    const tl_track_options *options = &sequence->options;
    writer w = {.given = cJSON_AddObjectToObject(root, "given")};
    w.failed = w.given == NULL;
    if (options->site.source == TL_SITE_GIVEN)
        add_site(&w, &options->site);
    if (options->zone_given)
        add_number(&w, w.given, "zone_minutes", options->zone_minutes, 0);
    if (options->date_given)
        add_date(&w, options->date_utc_s);
    if (options->holding != TL_HOLDING_AUTO)
        add_string(&w, w.given, "holding", tl_holding_name[options->holding]);
    if (options->mirror != TL_MIRROR_AUTO)
        add_string(&w, w.given, "mirror", options->mirror == TL_MIRROR_YES ? "yes" : "no");
    if (sequence->times_name != NULL)
        add_string(&w, w.given, "times", sequence->times_name);
    if (tl_report_excluded_count(sequence) > 0)
        add_excluded(&w, sequence);
    return !w.failed;
}
