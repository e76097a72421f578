/*
 * words_contacts.c - plain sentences on the contacts at the place, by true time and local time, or
 * by the camera's clock where that is all there is.
 */
#include <math.h>

#include "report/report_internal.h"

const char *tl_report_contact_name(const tl_track *track, int which) {
    const bool annular =
        track->has_circumstances && track->circumstances.kind == TL_ECLIPSE_ANNULAR;
    switch (which) {
    case TL_C1:
        return "first contact";
    case TL_C2:
        return annular ? "the ring closes" : "totality begins";
    case TL_MAX:
        return "maximum";
    case TL_C3:
        return annular ? "the ring opens" : "totality ends";
    default:
        return "last contact";
    }
}

/* The same as the beginning of a sentence in the past. */
static const char *subject(const tl_track *track, int which) {
    const bool annular =
        track->has_circumstances && track->circumstances.kind == TL_ECLIPSE_ANNULAR;
    switch (which) {
    case TL_C1:
        return "First contact";
    case TL_C2:
        return annular ? "The closing of the ring" : "The beginning of totality";
    case TL_MAX:
        return "Maximum";
    case TL_C3:
        return annular ? "The opening of the ring" : "The end of totality";
    default:
        return "Last contact";
    }
}

/* "16:56:32.7 UTC (17:56:32.7 local time)". */
static void add_utc(const tl_report_facts *facts, double t_utc_s, int decimals,
                    tl_report_text *text) {
    tl_report_add_clock(text, t_utc_s, decimals, facts->day_s);
    tl_report_text_add(text, " UTC");
    if (!facts->has_zone || facts->zone_minutes == 0)
        return;
    tl_report_text_add(text, " (");
    tl_report_add_clock(text, t_utc_s + facts->zone_minutes * 60.0, decimals, facts->day_s);
    tl_report_text_add(text, " local time)");
}

static void add_contact(const tl_sequence *sequence, const tl_report_facts *facts, int which,
                        bool first, tl_report_text *text) {
    const tl_track *track = &sequence->track;
    const tl_track_contact *contact = &track->contact[which];
    const double sigma_s = tl_report_contact_sigma(track, which);
    const int decimals = contact->measured ? tl_report_decimals(sigma_s, 1) : 0;
    const bool utc = tl_track_main(track)->clock.solved;
    const bool place = sequence->options.site.source != TL_SITE_NONE;
    if (!first)
        tl_report_text_add(text, " ");
    tl_report_text_addf(text, "%s%s was at ", subject(track, which),
                        first && place ? " at your place" : "");
    if (!contact->measured) {
        add_utc(facts, contact->predicted_utc_s, 0, text);
        tl_report_text_add(text, " by the almanac alone.");
        return;
    }
    if (utc) {
        add_utc(facts, contact->measured_utc_s, decimals, text);
    } else {
        tl_report_add_clock(text, contact->measured_camera_s, decimals,
                            floor(facts->first_camera_s / TL_DAY_S) * TL_DAY_S);
        tl_report_text_add(text, " by the camera\u2019s clock");
    }
    tl_report_text_add(text, ", \u00b1\u00a0");
    tl_report_add_sigma(text, sigma_s, decimals);
    tl_report_text_add(text, "\u00a0s.");
}

/* Whether a measured contact lies outside the pictures' times, so that nobody saw it. */
static bool is_outside(const tl_sequence *sequence, int which) {
    const tl_track_contact *contact = &sequence->track.contact[which];
    bool before = false, after = false;
    if (!contact->measured || !tl_track_main(&sequence->track)->clock.solved)
        return false;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
        if (!tracked->has_true || sequence->frame[i].limb.status != TL_LIMB_MEASURED)
            continue;
        before = before || tracked->true_utc_s <= contact->measured_utc_s;
        after = after || tracked->true_utc_s >= contact->measured_utc_s;
    }
    return before != after;
}

void tl_report_words_contacts(const tl_sequence *sequence, const tl_report_facts *facts,
                              tl_report_text *text) {
    static const char *const outside[] = {
        "", " First contact lies before your pictures: it follows from the path they show.",
        " Last contact lies after your pictures: it follows from the path they show.",
        " First and last contact lie outside your pictures: they follow from the path these show."};
    bool first = true;
    for (int which = 0; which < TL_CONTACTS; which++) {
        const tl_track_contact *contact = &sequence->track.contact[which];
        if (!contact->measured && !contact->predicted)
            continue;
        add_contact(sequence, facts, which, first, text);
        first = false;
    }
    tl_report_text_add(text,
                       outside[is_outside(sequence, TL_C1) + 2 * is_outside(sequence, TL_C4)]);
}
