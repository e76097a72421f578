/*
 * share.c - how much of the Sun a picture shows covered, with the digits that it deserves.
 */
#include "report/report_internal.h"

bool tl_report_has_share(const tl_sequence *sequence, size_t i) {
    const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
    return sequence->frame[i].limb.status == TL_LIMB_MEASURED &&
           (tracked->magnitude > 0.0 || tracked->obscuration > 0.0);
}

double tl_report_magnitude_sigma(const tl_sequence *sequence, size_t i) {
    const tl_limb *limb = &sequence->frame[i].limb;
    return tl_magnitude_sigma(limb->separation_sr, limb->separation_sigma_sr, sequence->track.ratio,
                              sequence->track.ratio_sigma);
}

double tl_report_obscuration_sigma(const tl_sequence *sequence, size_t i) {
    const tl_limb *limb = &sequence->frame[i].limb;
    return tl_obscuration_sigma(limb->separation_sr, limb->separation_sigma_sr,
                                sequence->track.ratio, sequence->track.ratio_sigma);
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
