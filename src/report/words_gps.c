/*
 * words_gps.c - the GPS times in the pictures as a check of the true times found. They set nothing:
 * a phone writes that of its last fix, which may be minutes old.
 */
#include <math.h>
#include <stdlib.h>

#include "report/report_internal.h"

/* A phone takes a fix a second and EXIF may cut it to the second below. Our own choice. */
static const double FRESH_S = 2.0;
/* Common practice, no source: within 2 sigma is agreement. */
static const double AGREES_SIGMA = 2.0;
static const double OTHER_DAY_S = 0.5 * TL_DAY_S;

static int ascending(const void *a, const void *b) {
    const double x = *(const double *)a, y = *(const double *)b;
    return (x > y) - (x < y);
}

bool tl_report_gps_check(const tl_sequence *sequence, size_t k, tl_report_gps *check) {
    tl_report_gps found = {0};
    double *apart_s = calloc(sequence->count + 1, sizeof *apart_s);
    if (!apart_s)
        return false;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
        const tl_frame_info *info = &sequence->frame[i].info;
        const double off_s = info->gps_t_utc_s - tracked->true_utc_s;
        if (sequence->frame[i].camera == k && info->has_gps_time && tracked->has_true &&
            !tracked->outlier && isfinite(off_s))
            apart_s[found.count++] = off_s;
    }
    qsort(apart_s, found.count, sizeof *apart_s, ascending);
    if (found.count > 0)
        found.median_s = 0.5 * (apart_s[(found.count - 1) / 2] + apart_s[found.count / 2]);
    free(apart_s);
    *check = found;
    return true;
}

/* What the true times of camera k may be off by, all of them alike. */
static double common_error_s(const tl_sequence *sequence, size_t k) {
    const tl_clock *clock = &sequence->track.camera[k].clock;
    return clock->solved ? hypot(clock->sigma_s, clock->floor_s) : 0.0;
}

/* "40 s before", "1 day after". */
static void add_apart(double apart_s, tl_report_text *text) {
    const double days = round(fabs(apart_s) / TL_DAY_S);
    if (fabs(apart_s) > OTHER_DAY_S)
        tl_report_text_addf(text, "%.0f day%s", days, days > 1.0 ? "s" : "");
    else
        tl_report_add_duration(fabs(apart_s), text);
    tl_report_text_add(text, apart_s < 0.0 ? " before" : " after");
}

void tl_report_words_gps(const tl_sequence *sequence, size_t k, tl_report_text *text) {
    tl_report_gps check;
    if (!tl_report_gps_check(sequence, k, &check)) {
        text->failed = true;
        return;
    }
    if (check.count == 0)
        return;
    const double size_s = fabs(check.median_s);
    const bool one = check.count == 1;
    if (one)
        tl_report_text_add(text, "The GPS time in one of the pictures ");
    else
        tl_report_text_addf(text, "The GPS times in %zu of the pictures ", check.count);
    if (size_s <= fmax(FRESH_S, AGREES_SIGMA * common_error_s(sequence, k))) {
        tl_report_text_addf(text, "agree%s with the true time%s found here to ", one ? "s" : "",
                            one ? "" : "s");
        tl_report_add_fixed(text, fmax(1.0, ceil(size_s)), 0);
        tl_report_text_add(text, "\u00a0s.");
        return;
    }
    if (size_s > OTHER_DAY_S) {
        tl_report_text_addf(text, "say%s another day, ", one ? "s" : "");
        add_apart(check.median_s, text);
        tl_report_text_add(text, " the one found here: check --date and --site.");
        return;
    }
    tl_report_text_addf(text, "lie%s ", one ? "s" : "");
    add_apart(check.median_s, text);
    tl_report_text_addf(text, " the true time%s found here: ", one ? "" : "s");
    tl_report_text_add(text, check.median_s < 0.0
                                 ? "a GPS time may be minutes old."
                                 : "a GPS time can be old but not early, so check --site, --date "
                                   "and the circles.");
}

bool tl_report_gps_disagrees(const tl_sequence *sequence, size_t k) {
    const double told_s = 30.0; /* what a fix that is a little old does not reach; our own choice */
    tl_report_gps check;
    return tl_report_gps_check(sequence, k, &check) && check.count > 0 &&
           fabs(check.median_s) > fmax(told_s, AGREES_SIGMA * common_error_s(sequence, k));
}

void tl_report_words_gps_short(const tl_sequence *sequence, size_t k, tl_report_text *text) {
    tl_report_gps check;
    if (!tl_report_gps_disagrees(sequence, k) || !tl_report_gps_check(sequence, k, &check))
        return;
    tl_report_text_addf(text, "GPS time%s in %zu picture%s: ", check.count == 1 ? "" : "s",
                        check.count, check.count == 1 ? "" : "s");
    add_apart(check.median_s, text);
    tl_report_text_add(text, fabs(check.median_s) > OTHER_DAY_S ? " the day found: check --date"
                             : check.median_s < 0.0             ? " the true ones; old fixes?"
                                                    : " the true ones: check --site and --date");
}
