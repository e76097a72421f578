/*
 * words_result.c - plain sentences on what came out: closest approach, agreement with the almanac.
 */
#include <math.h>

#include "report/report_internal.h"

const char *tl_report_words_status(tl_limb_status status) {
    static const char *const words[TL_LIMB_STATUS_COUNT] = {[TL_LIMB_MEASURED] = "measured",
                                                            [TL_LIMB_SUN_ONLY] =
                                                                "with the Sun alone",
                                                            [TL_LIMB_NO_SUN] = "without the Sun",
                                                            [TL_LIMB_UNUSABLE] = "not usable",
                                                            [TL_LIMB_UNREADABLE] = "not readable"};
    return (unsigned)status < TL_LIMB_STATUS_COUNT ? words[status] : words[TL_LIMB_UNUSABLE];
}

const char *tl_report_words_state(const tl_sequence_frame *frame) {
    return frame->is_copy ? "copy" : tl_report_words_status(frame->limb.status);
}

void tl_report_words_magnitude(const tl_track *track, tl_report_text *text) {
    if (track->magnitude_sigma > 0.0)
        tl_report_add_measure(text, track->magnitude, track->magnitude_sigma, 5, "");
    else
        tl_report_add_fixed(text, track->magnitude, 3);
}

void tl_report_words_almanac_magnitude(const tl_track *track, tl_report_text *text) {
    if (!track->has_circumstances)
        return;
    tl_report_text_add(text, " (almanac ");
    tl_report_add_fixed(text, track->circumstances.magnitude,
                        track->magnitude_sigma > 0.0 ? tl_report_decimals(track->magnitude_sigma, 5)
                                                     : 3);
    tl_report_text_add(text, ")");
}

void tl_report_words_covered(const tl_track *track, tl_report_text *text) {
    const double percent = 100.0 * tl_obscuration(track->smallest_sr, track->ratio);
    const double sigma = 100.0 * tl_obscuration_sigma(track->smallest_sr, track->smallest_sigma_sr,
                                                      track->ratio, track->ratio_sigma);
    if (sigma > 0.0) {
        tl_report_add_measure(text, percent, sigma, 2, "%");
        return;
    }
    tl_report_add_fixed(text, percent, 2);
    tl_report_text_add(text, "\u00a0%");
}

void tl_report_words_deepest(const tl_sequence *sequence, tl_report_text *text) {
    const tl_track *track = &sequence->track;
    if (!track->has_smallest)
        return;
    tl_report_text_add(text, "At maximum the Moon\u2019s centre was ");
    tl_report_add_measure(text, track->smallest_sr, track->smallest_sigma_sr, 4,
                          "solar radii away from the Sun\u2019s");
    if (track->has_circumstances) {
        tl_report_text_add(text, "; the almanac has ");
        tl_report_add_fixed(text, track->smallest_predicted_sr,
                            tl_report_decimals(track->smallest_sigma_sr, 4));
    }
    tl_report_text_add(text, ".");
    if (!(track->ratio > 0.0) || !(track->magnitude > 0.0))
        return;
    tl_report_text_add(text, " The eclipse reached magnitude ");
    tl_report_words_magnitude(track, text);
    tl_report_words_almanac_magnitude(track, text);
    tl_report_text_add(text, ", with ");
    tl_report_words_covered(track, text);
    tl_report_text_add(text, " of the disc covered.");
}

void tl_report_words_significance(double o_minus_c, double sigma, tl_report_text *text) {
    if (!(sigma > 0.0) || !isfinite(o_minus_c))
        return;
    const double n = fabs(o_minus_c) / sigma;
    tl_report_text_add(text, n <= TL_REPORT_AGREES_SIGMA    ? "agrees ("
                             : n <= TL_REPORT_DIFFERS_SIGMA ? "may differ ("
                                                            : "differs (");
    tl_report_add_fixed(text, n, n < 10.0 ? 1 : 0);
    tl_report_text_add(text, " \u03c3)");
}

static void add_times_agreement(const tl_track *track, tl_report_text *text) {
    size_t compared = 0, agree = 0, differ = 0;
    for (int which = 0; which < TL_CONTACTS; which++) {
        const tl_track_contact *c = &track->contact[which];
        const double error_s = tl_report_contact_error(track, which);
        if (!tl_track_main(track)->clock.solved || !c->measured || !c->predicted ||
            !(error_s > 0.0))
            continue;
        const double n = fabs(c->measured_utc_s - c->predicted_utc_s) / error_s;
        compared++;
        agree += n <= TL_REPORT_AGREES_SIGMA;
        differ += n > TL_REPORT_DIFFERS_SIGMA;
    }
    if (compared == 0)
        return;
    if (agree == compared)
        tl_report_text_addf(text, "%s with the almanac within twice %s.",
                            compared == 1 ? "The time measured agrees" : "The times measured agree",
                            compared == 1 ? "its error" : "their errors");
    else if (differ == 0)
        tl_report_text_addf(
            text,
            "%zu of the %zu times measured agree with the almanac within twice their "
            "errors, the rest within three times.",
            agree, compared);
    else
        tl_report_text_addf(text,
                            "%zu of the %zu times measured differ%s from the almanac by more than "
                            "three times %s.",
                            differ, compared, differ == 1 ? "s" : "",
                            differ == 1 ? "its error" : "their errors");
}

static void add_depth_agreement(const tl_track *track, tl_report_text *text) {
    if (!track->has_smallest || !track->has_circumstances)
        return;
    tl_report_text_add(text,
                       text->length ? " The smallest separation " : "The smallest separation ");
    tl_report_words_significance(track->smallest_sr - track->smallest_predicted_sr,
                                 hypot(track->smallest_sigma_sr, TL_TRACK_FLOOR_SR), text);
    tl_report_text_add(text, ".");
}

void tl_report_words_agreement(const tl_sequence *sequence, tl_report_text *text) {
    add_times_agreement(&sequence->track, text);
    add_depth_agreement(&sequence->track, text);
}
