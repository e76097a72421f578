/*
 * json_given.c - sequence.json: what the user said, and nothing else.
 */
#include "report/json_internal.h"

static void add_excluded(tl_report_writer *w, cJSON *given, const tl_sequence *sequence) {
    cJSON *list = tl_report_json_array(w, given, "exclude");
    for (size_t i = 0; i < sequence->count; i++)
        if (sequence->frame[i].excluded)
            tl_report_json_text(w, list, tl_report_base_name(sequence->frame[i].path));
}

void tl_report_json_given(tl_report_writer *w, cJSON *root, const tl_sequence *sequence) {
    const tl_track_options *options = &sequence->options;
    cJSON *given = tl_report_json_object(w, root, "given");
    if (options->site.source == TL_SITE_GIVEN)
        tl_report_json_place(w, tl_report_json_object(w, given, "site"), &options->site);
    if (options->zone_given)
        tl_report_json_number(w, given, "zone_minutes", true, options->zone_minutes, 0);
    if (options->date_given)
        tl_report_json_date(w, given, "date", true, options->date_utc_s);
    if (options->holding != TL_HOLDING_AUTO)
        tl_report_json_string(w, given, "holding", tl_holding_name[options->holding]);
    if (options->mirror != TL_MIRROR_AUTO)
        tl_report_json_string(w, given, "mirror", options->mirror == TL_MIRROR_YES ? "yes" : "no");
    if (sequence->times_name != NULL)
        tl_report_json_string(w, given, "times", sequence->times_name);
    if (sequence->spots_name != NULL)
        tl_report_json_string(w, given, "spots", sequence->spots_name);
    if (tl_report_excluded_count(sequence) > 0)
        add_excluded(w, given, sequence);
}
