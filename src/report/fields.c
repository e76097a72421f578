/*
 * fields.c - the columns of frames.csv and of frames[] in sequence.json: names,
 * order, digits. docs/output.md says what each one means.
 *
 * The first twenty are promised to programs; new ones go to the end.
 */
#include <math.h>

#include "report/fields_internal.h"

double tl_report_known_if(bool known, double value) {
    return known ? value : NAN;
}

double tl_report_positive(double value) {
    return tl_report_known_if(value > 0.0, value);
}

void tl_report_add_column_time(tl_report_text *text, double t_s, double sigma_s,
                               const char *suffix) {
    char iso[TL_TIME_TEXT_SIZE];
    tl_time_text(t_s, tl_report_decimals(sigma_s, 3), suffix, iso);
    tl_report_text_add(text, iso);
}

tl_report_row tl_report_row_of(const tl_sequence *sequence, size_t i) {
    const tl_sequence_frame *frame = &sequence->frame[i];
    const tl_limb_status status = frame->limb.status;
    return (tl_report_row){sequence,
                           i,
                           frame,
                           &frame->limb,
                           tl_report_track_frame(sequence, i),
                           status == TL_LIMB_MEASURED || status == TL_LIMB_SUN_ONLY,
                           status == TL_LIMB_MEASURED,
                           frame->info.time.source != TL_TIME_NONE};
}

/* Column number `index`, from 0 on; NULL beyond the last. */
static const tl_report_field *column(size_t index) {
    static const tl_report_field *const run[] = {tl_report_fields_first, tl_report_fields_more,
                                                 tl_report_fields_single, tl_report_fields_spots,
                                                 tl_report_fields_copy};
    for (size_t k = 0; k < sizeof run / sizeof *run; k++)
        for (const tl_report_field *f = run[k]; f->name; f++)
            if (index-- == 0)
                return f;
    return NULL;
}

size_t tl_report_field_count(void) {
    size_t count = 0;
    while (column(count))
        count++;
    return count;
}

const char *tl_report_field_name(size_t index) {
    return column(index)->name;
}

tl_report_kind tl_report_field_kind(size_t index) {
    return column(index)->kind;
}

void tl_report_field_add(const tl_sequence *sequence, size_t i, size_t index,
                         tl_report_text *text) {
    const tl_report_row r = tl_report_row_of(sequence, i);
    const tl_report_field *f = column(index);
    if (f->kind == TL_REPORT_STRING) {
        f->add(&r, text);
        return;
    }
    const double value = f->number(&r);
    if (!isfinite(value))
        return;
    if (f->kind == TL_REPORT_FLAG)
        tl_report_text_add(text, value != 0.0 ? "true" : "false");
    else if (f->digits)
        tl_report_add_significant(text, value, f->digits);
    else
        tl_report_add_fixed(text, value, f->decimals);
}
