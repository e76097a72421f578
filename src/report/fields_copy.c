/*
 * fields_copy.c - the columns on pictures that are there more than once.
 */
#include "report/fields_internal.h"

static void add_copy_of(const tl_report_row *r, tl_report_text *text) {
    if (r->frame->is_copy)
        tl_report_text_add(text, r->sequence->frame[r->frame->copy_of].path);
}

const tl_report_field tl_report_fields_copy[] = {
    COLUMN_STRING("copy_of", add_copy_of),
    {0},
};
