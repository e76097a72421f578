/*
 * words_given.c - what the user said, told as given and not as found; and what became of a picture
 * for it.
 */
#include <string.h>

#include "report/report_internal.h"

/* ---- what was given, item by item --------------------------------------------------------- */

static void add_site(const tl_sequence *sequence, tl_report_text *text) {
    if (sequence->options.site.source != TL_SITE_GIVEN)
        return;
    tl_report_text_add(text, "Place: ");
    tl_report_words_place(&sequence->options.site, text);
}

static void add_zone(const tl_sequence *sequence, tl_report_text *text) {
    if (!sequence->options.zone_given)
        return;
    tl_report_text_add(text, sequence->track.camera_count > 1
                                 ? "Zone of the cameras\u2019 clocks: "
                                 : "Zone of the camera\u2019s clock: ");
    tl_report_add_zone(text, sequence->options.zone_minutes);
}

static void add_date(const tl_sequence *sequence, tl_report_text *text) {
    if (!sequence->options.date_given)
        return;
    tl_report_text_add(text, "Day: ");
    tl_report_add_date(text, sequence->options.date_utc_s);
}

static void add_holding(const tl_sequence *sequence, tl_report_text *text) {
    static const char *const how[] = {
        [TL_HOLDING_AUTO] = "",
        [TL_HOLDING_FREE] = "in the hand, each picture in its own turn",
        [TL_HOLDING_FIXED] = "on an equatorial mount, one turn",
        [TL_HOLDING_ALTAZ] = "on an alt-azimuth mount, turning with the sky"};
    if (sequence->options.holding != TL_HOLDING_AUTO)
        tl_report_text_addf(text, "Held: %s", how[sequence->options.holding]);
}

static void add_mirror(const tl_sequence *sequence, tl_report_text *text) {
    if (sequence->options.mirror != TL_MIRROR_AUTO)
        tl_report_text_addf(text, "Mirrored: %s",
                            sequence->options.mirror == TL_MIRROR_YES ? "yes" : "no");
}

static void add_times(const tl_sequence *sequence, tl_report_text *text) {
    if (sequence->times_name == NULL)
        return;
    tl_report_text_add(text, "Times: ");
    tl_report_words_times(sequence, text);
    if (sequence->times_stray_count > 0)
        tl_report_text_add(text, "; ");
    tl_report_words_stray(sequence, text);
}

static void add_spots(const tl_sequence *sequence, tl_report_text *text) {
    if (sequence->spots_name != NULL)
        tl_report_text_addf(text, "Sunspots: %s", sequence->spots_name);
}

static void add_excluded(const tl_sequence *sequence, tl_report_text *text) {
    const char *before = "Excluded: ";
    for (size_t i = 0; i < sequence->count; i++) {
        if (!sequence->frame[i].excluded)
            continue;
        tl_report_text_addf(text, "%s%s", before, tl_report_base_name(sequence->frame[i].path));
        before = ", ";
    }
}

bool tl_report_words_given(const tl_sequence *sequence, size_t n, tl_report_text *text) {
    static void (*const all[])(const tl_sequence *, tl_report_text *) = {
        add_site, add_zone, add_date, add_holding, add_mirror, add_times, add_spots, add_excluded};
    for (size_t i = 0; i < sizeof all / sizeof *all; i++) {
        tl_report_text item = {0};
        all[i](sequence, &item);
        const bool wanted = item.length > 0 && n-- == 0;
        if (wanted)
            tl_report_text_add(text, tl_report_text_string(&item));
        text->failed = text->failed || item.failed;
        tl_report_text_free(&item);
        if (wanted || text->failed)
            return !text->failed;
    }
    return false;
}

/* ---- beside the values -------------------------------------------------------------------- */

void tl_report_words_times(const tl_sequence *sequence, tl_report_text *text) {
    size_t timed = 0;
    for (size_t i = 0; i < sequence->count; i++)
        timed += !sequence->frame[i].is_copy && /* whose time may be that of the one used */
                 sequence->frame[i].info.time.source == TL_TIME_TABLE;
    tl_report_text_addf(text, "of %zu picture%s from %s", timed, timed == 1 ? "" : "s",
                        sequence->times_name);
}

void tl_report_words_stray(const tl_sequence *sequence, tl_report_text *text) {
    enum { SHOWN = 24 };
    const size_t count = sequence->times_stray_count;
    if (count == 0)
        return;
    tl_report_text_addf(text, "%zu of its rows name%s none of the pictures: ", count,
                        count == 1 ? "s" : "");
    tl_report_add_end(text, sequence->times_stray, SHOWN);
    tl_report_text_add(text, count > 1 ? " and others" : "");
}

void tl_report_words_given_mark(bool given, tl_report_text *text) {
    if (given)
        tl_report_text_add(text, " (given)");
}

size_t tl_report_excluded_count(const tl_sequence *sequence) {
    size_t count = 0;
    for (size_t i = 0; i < sequence->count; i++)
        count += sequence->frame[i].excluded;
    return count;
}

/* ---- what became of a picture ------------------------------------------------------------- */

/* A camera without a clock of its own is in the free path only if that is in its time. */
static bool was_fitted(const tl_track *track, size_t camera) {
    return track->camera[camera].clock.solved ||
           (track->free_solved && track->main_camera == camera);
}

const char *tl_report_used(const tl_sequence *sequence, size_t i) {
    const tl_sequence_frame *frame = &sequence->frame[i];
    if (frame->limb.status != TL_LIMB_MEASURED)
        return "";
    if (frame->excluded)
        return "excluded";
    if (frame->info.time.source == TL_TIME_NONE || frame->camera >= TL_CAMERAS_MAX)
        return "not timed";
    if (tl_report_track_frame(sequence, i)->outlier)
        return "left out";
    return was_fitted(&sequence->track, frame->camera) ? "yes" : "";
}

void tl_report_words_unlisted(const tl_sequence *sequence, tl_report_text *text) {
    size_t count = 0;
    for (size_t i = 0; i < sequence->count; i++)
        count += sequence->frame[i].camera >= TL_CAMERAS_MAX && tl_sequence_shows_sun(sequence, i);
    if (count > 0)
        tl_report_text_addf(
            text,
            "There are pictures of the Sun by more than %d cameras. The %d with most "
            "have a clock each; %zu picture%s of the others %s treated as without "
            "a time: analyse them in a run of their own.",
            TL_CAMERAS_MAX, TL_CAMERAS_MAX, count, count == 1 ? "" : "s",
            count == 1 ? "is" : "are");
}
