/*
 * words_single.c - plain sentences on single pictures: those left out of the fits, and those
 * without a time of their own.
 */
#include <math.h>

#include "report/report_internal.h"

/* Longer names of files are told by their ends. */
enum { NAME_SHOWN = 24 };

bool tl_report_is_outlier(const tl_sequence *sequence, size_t i) {
    return sequence->frame[i].limb.status == TL_LIMB_MEASURED &&
           tl_report_track_frame(sequence, i)->outlier;
}

void tl_report_words_outlier(const tl_sequence *sequence, size_t i, tl_report_text *text) {
    const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
    tl_report_text_add(text, "is left out: ");
    if (tl_report_other_day(sequence, i)) {
        tl_report_text_add(text, "by its time it is of another day, ");
        tl_report_add_date(text, sequence->frame[i].info.time.t_camera_s);
        tl_report_text_add(text, ".");
        return;
    }
    tl_report_text_add(text, "its circles are ");
    tl_report_add_significant(text, fabs(tracked->residual_sr), 2);
    tl_report_text_add(text, " solar radii ");
    if (tracked->off_s != 0.0) {
        tl_report_text_add(text, "(about ");
        tl_report_add_duration(fabs(tracked->off_s), text);
        tl_report_text_add(text, ") ");
    }
    tl_report_text_add(text, "away from the others.");
}

void tl_report_words_outlier_short(const tl_sequence *sequence, size_t i, tl_report_text *text) {
    const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
    tl_report_add_end(text, tl_report_base_name(sequence->frame[i].path), NAME_SHOWN);
    tl_report_text_add(text, " left out: ");
    if (tl_report_other_day(sequence, i)) {
        tl_report_text_add(text, "of another day");
        return;
    }
    tl_report_add_significant(text, fabs(tracked->residual_sr), 2);
    tl_report_text_add(text, " solar radii");
    if (tracked->off_s != 0.0) {
        tl_report_text_add(text, " (");
        tl_report_add_duration(fabs(tracked->off_s), text);
        tl_report_text_add(text, ")");
    }
    tl_report_text_add(text, " off");
}

tl_report_sides tl_report_count_sides(const tl_sequence *sequence) {
    tl_report_sides sides = {0};
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
        sides.all += tracked->has_sides;
        if (tracked->has_sides)
            sides.by[tracked->side_by]++;
    }
    return sides;
}

void tl_report_words_sides(const tl_sequence *sequence, tl_report_text *text) {
    static const char *const tells[] = {
        [TL_SIDE_OPEN] = "nothing does and both times stand",
        [TL_SIDE_BY_ORDER] = "the order of the file names, taken to be that of time, tells which",
        [TL_SIDE_BY_TURN] = "the direction of the Moon in the picture tells which",
        [TL_SIDE_BY_SPOTS] = "the direction of the Moon among the sunspots tells which"};
    static const int order[] = {TL_SIDE_BY_ORDER, TL_SIDE_BY_TURN, TL_SIDE_BY_SPOTS, TL_SIDE_OPEN};
    const tl_report_sides sides = tl_report_count_sides(sequence);
    if (sides.all == 0)
        return;
    tl_report_text_addf(text,
                        "%zu picture%s no time of %s own. The Moon was at the distance measured "
                        "twice, before and after maximum",
                        sides.all, sides.all == 1 ? " has" : "s have",
                        sides.all == 1 ? "its" : "their");
    const char *joint = ": ";
    for (size_t k = 0; k < sizeof order / sizeof *order; k++) {
        const size_t count = sides.by[order[k]];
        if (count == 0)
            continue;
        tl_report_text_add(text, joint);
        if (count < sides.all)
            tl_report_text_addf(text, "for %zu ", count);
        tl_report_text_add(text, count == sides.all && order[k] == TL_SIDE_OPEN
                                     ? "nothing tells which, so both times stand"
                                     : tells[order[k]]);
        joint = ", ";
    }
    tl_report_text_add(text, ".");
}
