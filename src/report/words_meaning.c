/*
 * words_meaning.c - what a difference between measurement and almanac can mean: a sentence for
 * each that is beyond its error, in plain words.
 *
 * The lengths are plain geometry: an arcsecond at the Moon's mean distance of 384 400 km is
 * 1.86 km; a clock that gains or loses changes speeds by the same share.
 */
#include <math.h>

#include "report/report_internal.h"

#define KM_PER_ARCSEC 1.86

/* No blur or glare makes a disc that could be measured wrong by more. Our own choice. */
#define CREDIBLE_SHARE 0.05

typedef struct difference {
    double value, sigmas; /* observed less computed; its size over its error */
} difference;

static difference difference_of(double value, double sigma) {
    return (difference){value, sigma > 0.0 && isfinite(value) ? fabs(value) / sigma : 0.0};
}

static bool tells(const difference *d) {
    return d->sigmas > TL_REPORT_AGREES_SIGMA;
}

static difference contact_difference(const tl_track *track, int which) {
    const tl_track_contact *c = &track->contact[which];
    if (!tl_track_main(track)->clock.solved || !c->measured || !c->predicted)
        return (difference){0};
    return difference_of(c->measured_utc_s - c->predicted_utc_s,
                         tl_report_contact_error(track, which));
}

static bool has_contact(const tl_track *track, int which) {
    return tl_track_main(track)->clock.solved && track->contact[which].measured &&
           track->contact[which].predicted;
}

static difference separation_difference(const tl_track *track) {
    if (!track->has_smallest || !track->has_circumstances)
        return (difference){0};
    return difference_of(track->smallest_sr - track->smallest_predicted_sr,
                         hypot(track->smallest_sigma_sr, TL_TRACK_FLOOR_SR));
}

static difference speed_difference(const tl_track *track) {
    if (!track->has_smallest || !track->has_circumstances || !(track->speed_sr_per_h > 0.0) ||
        !(track->speed_predicted_sr_per_h > 0.0))
        return (difference){0};
    return difference_of(track->speed_sr_per_h - track->speed_predicted_sr_per_h,
                         track->speed_sigma_sr_per_h);
}

static difference ratio_difference(const tl_track *track) {
    if (!(track->ratio_measured > 0.0) || !track->has_circumstances)
        return (difference){0};
    return difference_of(track->ratio_measured - track->circumstances.ratio,
                         track->ratio_measured_sigma);
}

/* From first contact to last. */
static difference length_difference(const tl_track *track) {
    if (!has_contact(track, TL_C1) || !has_contact(track, TL_C4))
        return (difference){0};
    return difference_of(
        contact_difference(track, TL_C4).value - contact_difference(track, TL_C1).value,
        hypot(tl_report_contact_error(track, TL_C1), tl_report_contact_error(track, TL_C4)));
}

/* ---- the sentences: each adds its own if it applies ------------------------------------------ */

typedef void say(const tl_sequence *sequence, tl_report_text *text);

/* Its size times `scale`, with the digits that its own error warrants. */
static void add_size(const difference *d, double scale, const char *unit, tl_report_text *text) {
    const double size = fabs(d->value) * scale;
    tl_report_add_fixed(text, size, tl_report_decimals(size / d->sigmas, 4));
    tl_report_text_addf(text, "\u00a0%s", unit);
}

static void say_agrees(const tl_sequence *sequence, tl_report_text *text) {
    const tl_track *track = &sequence->track;
    const difference all[] = {
        contact_difference(track, TL_C1),  contact_difference(track, TL_C2),
        contact_difference(track, TL_MAX), contact_difference(track, TL_C3),
        contact_difference(track, TL_C4),  separation_difference(track),
        speed_difference(track),           length_difference(track),
    };
    size_t compared = 0;
    for (size_t k = 0; k < sizeof all / sizeof *all; k++) {
        if (tells(&all[k]))
            return;
        compared += all[k].sigmas > 0.0;
    }
    if (compared > 0)
        tl_report_text_add(text, "Times, depth and speed agree with the almanac within twice "
                                 "their errors: no difference here asks for an explanation.");
}

/* One contact off, the others not. */
static void say_contact(const tl_sequence *sequence, tl_report_text *text) {
    const tl_track *track = &sequence->track;
    size_t off = 0, compared = 0;
    int which_off = 0;
    for (int which = 0; which < TL_CONTACTS; which++) {
        const difference d = contact_difference(track, which);
        compared += has_contact(track, which);
        off += tells(&d);
        which_off = tells(&d) ? which : which_off;
    }
    if (off != 1 || compared < 2)
        return;
    const difference d = contact_difference(track, which_off);
    tl_report_text_addf(text, "Only %s is off: it came ", tl_contact_name[which_off]);
    add_size(&d, 1.0, "s", text);
    tl_report_text_addf(text,
                        " %s than computed. One contact alone points to the pictures near it: blur "
                        "or haze that hides a small bite, few pictures, the wrong time of one of "
                        "them. It is not the clock, which would move them all.",
                        d.value > 0.0 ? "later" : "earlier");
}

static void say_length(const tl_sequence *sequence, tl_report_text *text) {
    const difference d = length_difference(&sequence->track);
    if (!tells(&d))
        return;
    tl_report_text_add(text, "From first contact to last it took ");
    add_size(&d, 1.0, "s", text);
    tl_report_text_addf(
        text, d.value > 0.0
                  ? " longer than computed: as if Sun or Moon were larger (glare or "
                    "blur that widens the Sun, a larger solar radius or k), or the path "
                    "closer to the middle of the Sun (the place)."
                  : " less than computed: as if Sun or Moon were smaller (a smaller solar "
                    "radius or k, edges lost in haze), or the path farther from the "
                    "middle of the Sun (the place).");
}

static void say_separation(const tl_sequence *sequence, tl_report_text *text) {
    const tl_track *track = &sequence->track;
    const difference d = separation_difference(track);
    const double arcsec = tl_report_sun_radius_arcsec(sequence, 0);
    if (!tells(&d) || !(arcsec > 0.0))
        return;
    tl_report_text_add(text, d.value > 0.0 ? "The Moon passed farther from the Sun\u2019s centre "
                                             "than computed, by "
                                           : "The Moon passed closer to the Sun\u2019s centre than "
                                             "computed, by ");
    add_size(&d, 1.0, "solar radii", text);
    tl_report_text_add(text, ". A place wrong by ");
    add_size(&d, arcsec * KM_PER_ARCSEC, "km", text);
    tl_report_text_add(text, " or more, across the path of the shadow, would do that");
    if (fabs(d.value) < CREDIBLE_SHARE * track->smallest_sr) {
        tl_report_text_add(text, "; so would a solar radius measured ");
        add_size(&d, 100.0 / track->smallest_sr, "%", text);
        tl_report_text_addf(text, " too %s, by blur, glare or haze",
                            d.value > 0.0 ? "small" : "large");
    }
    tl_report_text_add(text, ".");
}

static void say_speed(const tl_sequence *sequence, tl_report_text *text) {
    const tl_track *track = &sequence->track;
    const difference d = speed_difference(track);
    if (!tells(&d))
        return;
    tl_report_text_add(text, "The Moon moved ");
    add_size(&d, 100.0 / track->speed_predicted_sr_per_h, "%", text);
    tl_report_text_addf(text,
                        " %s than computed: a clock that %s by as much, a wrong time at one end of "
                        "the series, or a solar radius measured too %s.",
                        d.value > 0.0 ? "faster" : "slower", d.value > 0.0 ? "loses" : "gains",
                        d.value > 0.0 ? "small" : "large");
}

static void say_ratio(const tl_sequence *sequence, tl_report_text *text) {
    const difference d = ratio_difference(&sequence->track);
    if (!tells(&d))
        return;
    tl_report_text_addf(
        text,
        "The edges show the Moon %s against the Sun than it is: %s. That moves both edges, and "
        "hardly the distance of the centres.",
        d.value < 0.0 ? "smaller" : "larger",
        d.value < 0.0 ? "glare, blur or a long exposure lets sunlight spread over both edges"
                      : "a short exposure, haze or a picture sharpened by the camera eats into the "
                        "light at both edges");
}

bool tl_report_words_meaning(const tl_sequence *sequence, size_t n, tl_report_text *text) {
    static say *const all[] = {say_agrees,     say_contact, say_length,
                               say_separation, say_speed,   say_ratio};
    size_t applies = 0;
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        const size_t before = text->length;
        all[i](sequence, text);
        if (text->failed)
            return false;
        if (text->length == before)
            continue;
        if (applies++ == n)
            return true;
        text->length = before;
        text->data[before] = '\0';
    }
    return false;
}
