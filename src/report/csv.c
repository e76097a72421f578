/*
 * csv.c - frames.csv: one row per input file (RFC 4180: CRLF between rows).
 */
#include "report/report_internal.h"

static void add_row(const tl_sequence *sequence, size_t i, tl_report_text *value,
                    tl_report_text *text) {
    for (size_t field = 0; field < tl_report_field_count(); field++) {
        value->length = 0;
        tl_report_text_bytes(value, "", 0);
        tl_report_field_add(sequence, i, field, value);
        tl_report_text_add(text, field ? "," : "");
        tl_report_add_csv(text, tl_report_text_string(value));
    }
    tl_report_text_add(text, "\r\n");
}

tl_status tl_report_csv(const tl_sequence *sequence, tl_report_text *text) {
    tl_report_text value = {0};
    for (size_t field = 0; field < tl_report_field_count(); field++)
        tl_report_text_addf(text, "%s%s", field ? "," : "", tl_report_field_name(field));
    tl_report_text_add(text, "\r\n");
    for (size_t i = 0; i < sequence->count; i++)
        add_row(sequence, i, &value, text);
    const bool failed = text->failed || value.failed;
    tl_report_text_free(&value);
    return failed ? TL_ERR_MEMORY : TL_OK;
}
