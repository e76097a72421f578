/*
 * share.c - how much of the Sun a picture shows covered, with the digits that it deserves.
 */
#include <math.h>

#include "report/report_internal.h"

bool tl_report_has_share(const tl_sequence *sequence, size_t i) {
    const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
    return sequence->frame[i].limb.status == TL_LIMB_MEASURED &&
           (tracked->magnitude > 0.0 || tracked->obscuration > 0.0);
}

/* The smaller disc lies within the larger one: only the ratio of the radii counts. */
static bool is_central(const tl_sequence *sequence, size_t i) {
    const double ratio = sequence->track.ratio;
    return ratio > 0.0 && sequence->frame[i].limb.separation_sr <= fabs(1.0 - ratio);
}

double tl_report_magnitude_sigma(const tl_sequence *sequence, size_t i) {
    const double ratio_sigma = sequence->track.ratio_sigma;
    if (is_central(sequence, i))
        return ratio_sigma;
    return 0.5 * hypot(sequence->frame[i].limb.separation_sigma_sr, ratio_sigma);
}

double tl_report_obscuration_sigma(const tl_sequence *sequence, size_t i) {
    const tl_limb *limb = &sequence->frame[i].limb;
    const double s = limb->separation_sr, sigma = limb->separation_sigma_sr;
    const double ratio = sequence->track.ratio;
    if (is_central(sequence, i))
        return ratio < 1.0 ? 2.0 * ratio * sequence->track.ratio_sigma : 0.0;
    return 0.5 *
           fabs(tl_obscuration(s + sigma, ratio) - tl_obscuration(fmax(s - sigma, 0.0), ratio));
}

void tl_report_add_magnitude(const tl_sequence *sequence, size_t i, int most,
                             tl_report_text *text) {
    tl_report_add_fixed(text, tl_report_track_frame(sequence, i)->magnitude,
                        tl_report_decimals(tl_report_magnitude_sigma(sequence, i), most));
}

void tl_report_add_percent(const tl_sequence *sequence, size_t i, int most, tl_report_text *text) {
    tl_report_add_fixed(text, 100.0 * tl_report_track_frame(sequence, i)->obscuration,
                        tl_report_decimals(100.0 * tl_report_obscuration_sigma(sequence, i), most));
}
