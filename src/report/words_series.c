/*
 * words_series.c - plain sentences on the pictures: what they are, what is missing and what to do
 * about it.
 */
#include <math.h>
#include <string.h>

#include "report/report_internal.h"

void tl_report_words_title(const tl_sequence *sequence, const tl_report_facts *facts,
                           tl_report_text *text) {
    static const char *const kind[] = {"Solar eclipse", "Partial solar eclipse",
                                       "Annular solar eclipse", "Total solar eclipse"};
    const tl_track *track = &sequence->track;
    tl_report_text_add(
        text, kind[track->has_circumstances ? track->circumstances.kind : TL_ECLIPSE_NONE]);
    if (!facts->has_day) {
        tl_report_text_add(text, ", date not known");
        return;
    }
    tl_report_text_add(text, " of ");
    tl_report_add_date(text, facts->day_s);
    if (facts->day_from_camera)
        tl_report_text_add(text, " (the camera\u2019s date)");
}

void tl_report_words_place(const tl_site *site, tl_report_text *text) {
    tl_report_add_fixed(text, fabs(site->lat_rad) / TL_DEG, 4);
    tl_report_text_add(text, site->lat_rad < 0.0 ? "\u00b0 S, " : "\u00b0 N, ");
    tl_report_add_fixed(text, fabs(site->lon_rad) / TL_DEG, 4);
    tl_report_text_add(text, site->lon_rad < 0.0 ? "\u00b0 W, " : "\u00b0 E, ");
    tl_report_add_fixed(text, site->height_m, 0);
    tl_report_text_add(text, " m");
}

void tl_report_words_site(const tl_site *site, tl_report_text *text) {
    if (site->source == TL_SITE_NONE) {
        tl_report_text_add(text, "place not known");
        return;
    }
    tl_report_words_place(site, text);
    tl_report_text_add(text, site->source == TL_SITE_EXIF ? " (from the pictures)" : " (given)");
}

static const char *plural(size_t count) {
    return count == 1 ? "" : "s";
}

void tl_report_words_caught(const tl_sequence *sequence, const tl_report_facts *facts,
                            tl_report_text *text) {
    const size_t count = sequence->count - tl_sequence_copies(sequence);
    const size_t measured = facts->with_status[TL_LIMB_MEASURED];
    const size_t suns = measured + facts->with_status[TL_LIMB_SUN_ONLY];
    const double day_s = floor(facts->first_camera_s / TL_DAY_S) * TL_DAY_S;
    if (count == 0) {
        tl_report_text_add(text, "There were no pictures.");
        return;
    }
    const bool others = suns > 0 && suns < count && facts->timed > 0;
    tl_report_text_addf(text, "You caught %zu picture%s", count, plural(count));
    if (others)
        tl_report_text_addf(text, "; the %zu with the Sun %s taken", suns,
                            suns == 1 ? "was" : "were");
    if (facts->timed == 0) {
        tl_report_text_add(text, ", none with a time of its own");
    } else if (sequence->track.camera_count > 1) { /* one span by clocks that differ says nothing */
        tl_report_text_addf(text, " %s %zu cameras", others ? "by" : "with",
                            sequence->track.camera_count);
    } else {
        tl_report_text_add(text, facts->timed > 1 ? " between " : others ? " at " : ", at ");
        tl_report_add_clock(text, facts->first_camera_s, 0, day_s);
        if (facts->timed > 1) {
            tl_report_text_add(text, " and ");
            tl_report_add_clock(text, facts->last_camera_s, 0, day_s);
        }
        tl_report_text_add(text, " by the camera\u2019s clock");
    }
    if (measured == count)
        tl_report_text_add(text,
                           count == 1 ? "; it could be measured." : "; all could be measured.");
    else if (measured == 0)
        tl_report_text_add(text, "; none could be measured.");
    else
        tl_report_text_addf(text, "; %zu could be measured.", measured);
}

/* ---- advice: each adds its sentence if it applies --------------------------------------- */

typedef void advise(const tl_sequence *sequence, const tl_report_facts *facts,
                    tl_report_text *text);

static void advise_measured(const tl_sequence *sequence, const tl_report_facts *facts,
                            tl_report_text *text) {
    if (sequence->count > 0 && facts->with_status[TL_LIMB_MEASURED] == 0)
        tl_report_text_add(text,
                           "No picture could be measured. A picture is good for measuring when the "
                           "whole Sun is inside the frame, its edge is sharp, and it is not "
                           "burnt out; leave the pictures as the camera wrote them.");
}

static void advise_note(const tl_sequence *sequence, const tl_report_facts *facts,
                        tl_report_text *text) {
    if (facts->with_status[TL_LIMB_MEASURED] > 0)
        tl_report_text_add(text, sequence->track.note);
}

static void advise_times(const tl_sequence *sequence, const tl_report_facts *facts,
                         tl_report_text *text) {
    size_t with = 0, without = 0; /* and none that could be told from the circles */
    (void)facts;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_sequence_frame *frame = &sequence->frame[i];
        if (frame->limb.status != TL_LIMB_MEASURED || frame->excluded)
            continue;
        with += frame->info.time.source != TL_TIME_NONE;
        without += frame->info.time.source == TL_TIME_NONE &&
                   !tl_report_track_frame(sequence, i)->has_true;
    }
    /* With no times at all the track's note says so. */
    if (without == 0 || (with == 0 && sequence->track.note[0]))
        return;
    tl_report_text_addf(text,
                        "%zu measured picture%s no time. Give it in a table with the columns file "
                        "and time: --times FILE.csv.",
                        without, without == 1 ? " has" : "s have");
}

static void advise_order(const tl_sequence *sequence, const tl_report_facts *facts,
                         tl_report_text *text) {
    const tl_report_sides sides = tl_report_count_sides(sequence);
    (void)facts;
    if (sides.by[TL_SIDE_BY_ORDER] > 0)
        tl_report_text_add(text, "The order of the file names is taken to be that of time: where "
                                 "it is not, true times lie on the wrong side of maximum. Then "
                                 "rename the files.");
}

static void advise_cameras(const tl_sequence *sequence, const tl_report_facts *facts,
                           tl_report_text *text) {
    (void)facts;
    tl_report_words_unlisted(sequence, text);
}

static void advise_site(const tl_sequence *sequence, const tl_report_facts *facts,
                        tl_report_text *text) {
    const bool measured = facts->with_status[TL_LIMB_MEASURED] > 0;
    if (!measured || sequence->track.note[0] || sequence->options.site.source != TL_SITE_NONE)
        return;
    tl_report_text_add(text, "Without a place there is no almanac to compare with, and the "
                             "camera\u2019s clock cannot be set. Give it in decimal degrees, north "
                             "and east positive: --site LAT,LON.");
}

static void advise_alternatives(const tl_sequence *sequence, const tl_report_facts *facts,
                                tl_report_text *text) {
    (void)facts;
    const tl_clock *clock = &tl_track_main(&sequence->track)->clock;
    bool told = false;
    for (size_t i = 0; i < clock->alternative_count; i++)
        told = told || tl_report_alternative_told(sequence, clock, i);
    if (!told)
        return;
    const bool others = tl_report_other_times(clock);
    if (others)
        tl_report_text_add(text, "Pictures from the other side of maximum would tell the settings "
                                 "of the clock apart");
    if (!sequence->options.zone_given)
        tl_report_text_add(text, others ? "; so would the camera\u2019s zone: --zone +HH:MM."
                                        : "The camera\u2019s zone would tell the settings of its "
                                          "clock apart: --zone +HH:MM.");
    else if (others)
        tl_report_text_add(text, ".");
}

static void advise_mirror(const tl_sequence *sequence, const tl_report_facts *facts,
                          tl_report_text *text) {
    if (facts->with_status[TL_LIMB_MEASURED] > 0 &&
        tl_track_main(&sequence->track)->mirrored == TL_MIRROR_AUTO &&
        !tl_track_main(&sequence->track)->mirror_mixed)
        tl_report_text_add(text,
                           "Distances alone do not tell whether the pictures are mirrored. If you "
                           "used a star diagonal or a card say --mirror yes, else --mirror no.");
}

bool tl_report_words_advice(const tl_sequence *sequence, const tl_report_facts *facts, size_t n,
                            tl_report_text *text) {
    static advise *const all[] = {advise_measured, advise_note, advise_times,        advise_order,
                                  advise_cameras,  advise_site, advise_alternatives, advise_mirror};
    size_t applies = 0;
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        const size_t before = text->length;
        all[i](sequence, facts, text);
        if (text->failed)
            return false;
        if (text->length == before)
            continue;
        if (applies == n)
            return true;
        applies++;
        text->length = before;
        text->data[before] = '\0';
    }
    return false;
}
