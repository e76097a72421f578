/*
 * fields_single.c - the columns on what is odd about single pictures: no time, a late stamp, too
 * far off.
 */
#include <math.h>

#include "report/fields_internal.h"

static void add_side_by(const tl_report_row *r, tl_report_text *text) {
    static const char *const name[] = {[TL_SIDE_OPEN] = "open",
                                       [TL_SIDE_BY_ORDER] = "order",
                                       [TL_SIDE_BY_TURN] = "turn",
                                       [TL_SIDE_BY_SPOTS] = "spots"};
    if (r->track->has_sides)
        tl_report_text_add(text, name[r->track->side_by]);
}

static void add_side(const tl_report_row *r, int side, tl_report_text *text) {
    if (r->track->has_sides)
        tl_report_add_column_time(text, r->track->side_utc_s[side], r->track->side_sigma_s[side],
                                  "Z");
}

static void add_before(const tl_report_row *r, tl_report_text *text) {
    add_side(r, 0, text);
}

static void add_after(const tl_report_row *r, tl_report_text *text) {
    add_side(r, 1, text);
}

static double before_sigma(const tl_report_row *r) {
    return tl_report_known_if(r->track->has_sides, r->track->side_sigma_s[0]);
}

static double after_sigma(const tl_report_row *r) {
    return tl_report_known_if(r->track->has_sides, r->track->side_sigma_s[1]);
}

static double late(const tl_report_row *r) {
    double late_s;
    return tl_report_late(r->sequence, r->i, &late_s) ? late_s : NAN;
}

static double outlier_off(const tl_report_row *r) {
    return tl_report_known_if(r->has_moon && r->track->outlier,
                              tl_report_positive(fabs(r->track->off_s)));
}

const tl_report_field tl_report_fields_single[] = {
    COLUMN_STRING("side_by", add_side_by),
    COLUMN_STRING("before_utc", add_before),
    COLUMN_SIGNIFICANT("before_sigma_s", before_sigma, 2),
    COLUMN_STRING("after_utc", add_after),
    COLUMN_SIGNIFICANT("after_sigma_s", after_sigma, 2),
    COLUMN_FIXED("late_s", late, 1),
    COLUMN_SIGNIFICANT("outlier_off_s", outlier_off, 2),
    {0},
};
