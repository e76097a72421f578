/*
 * summary_clock.c - the cameras' clocks on the terminal.
 */
#include <math.h>
#include <string.h>

#include "report/summary_internal.h"

enum { NAME_SHOWN = 30 }; /* longer names of cameras are told by their ends */
enum {
    OTHERS = 3,      /* further cameras told */
    ALTERNATIVES = 2 /* settings of the clock told beside the one taken */
};

void tl_report_words_camera_short(const tl_sequence *sequence, size_t k, tl_report_text *text) {
    tl_report_text name = {0};
    tl_report_camera_name(sequence, k, &name);
    tl_report_add_end(text, tl_report_text_string(&name), NAME_SHOWN);
    text->failed = text->failed || name.failed;
    tl_report_text_free(&name);
}

static void add_setting(const tl_sequence *sequence, size_t k, tl_report_text *words) {
    const tl_clock *clock = &sequence->track.camera[k].clock;
    if (sequence->track.camera_count > 1) {
        tl_report_words_camera_short(sequence, k, words);
        tl_report_text_add(words, ": ");
    }
    if (!clock->solved) {
        tl_report_text_add(words, tl_report_has_stamps(sequence, k) ? "not checked against the sky"
                                                                    : "no times in the pictures");
        if (sequence->options.zone_given) {
            tl_report_text_add(words, ", in zone ");
            tl_report_add_zone(words, sequence->options.zone_minutes);
            tl_report_words_given_mark(true, words);
        }
        return;
    }
    tl_report_words_clock_setting(sequence, clock, words);
    tl_report_words_given_mark(sequence->options.zone_given && !clock->zone_corrected, words);
    if (clock->floor_s > clock->sigma_s && sequence->track.camera_count == 1) {
        tl_report_text_add(words, "; \u00b1 ");
        tl_report_add_fixed(words, clock->floor_s, 1);
        tl_report_text_add(words, " s in all alike");
    }
    if (clock->has_drift) {
        tl_report_text_add(words, ", ");
        tl_report_words_drift(clock, words);
    }
    if (clock->zone_corrected)
        tl_report_text_add(words, ", not the zone it was said to be on");
    /* A day found by search has a line of its own. */
    if (round(clock->day_shift_s / TL_DAY_S) != 0.0 &&
        !(sequence->track.day_found && k == sequence->track.main_camera)) {
        const bool brief = k != sequence->track.main_camera; /* for one line */
        const bool unset = tl_report_clock_unset(sequence, clock);
        tl_report_text_add(words, brief || unset ? "; " : "; date ");
        (brief || unset ? tl_report_words_wrong_date : tl_report_words_date)(sequence, clock,
                                                                             words);
    }
}

static void add_stamps(tl_report_screen *screen, const tl_clock *clock) {
    tl_report_text words = {0};
    if (!clock->solved || clock->stamps == TL_STAMPS_SOUND)
        return;
    const bool late = clock->stamps == TL_STAMPS_LATE;
    tl_report_text_add(&words, late ? "stamps are late: saved on average " : "stamps scatter by ");
    tl_report_add_significant(&words, clock->stamp_scatter_s, 2);
    tl_report_text_add(&words, late ? " s after the picture"
                                    : " s more than reading errors and circles allow");
    tl_report_screen_words(screen, "", &words, 1);
}

static void add_alternatives(tl_report_screen *screen, const tl_sequence *sequence) {
    const tl_clock *clock = &tl_track_main(&sequence->track)->clock;
    for (size_t i = 0; i < clock->alternative_count && i < ALTERNATIVES; i++) {
        tl_report_text words = {0};
        if (!tl_report_alternative_told(sequence, clock, i))
            continue;
        screen->rank = i == 0 ? TL_REPORT_WEIGHTY : TL_REPORT_TELLING;
        tl_report_text_add(&words, "or ");
        tl_report_words_alternative(sequence, clock, i, &words);
        tl_report_text_add(&words, ", which fits about as well");
        tl_report_screen_words(screen, "", &words, 2);
    }
}

/* A line for the first camera whose GPS times disagree; the page tells all. */
static void add_gps(tl_report_screen *screen, const tl_sequence *sequence) {
    const tl_track *track = &sequence->track;
    for (size_t k = 0; k < track->camera_count; k++) {
        tl_report_text words = {0};
        if (!tl_report_gps_disagrees(sequence, k))
            continue;
        tl_report_words_gps_short(sequence, k, &words);
        tl_report_screen_words(screen, "", &words, 2);
        return;
    }
}

static void add_others(tl_report_screen *screen, const tl_sequence *sequence) {
    const tl_track *track = &sequence->track;
    tl_report_text words = {0};
    size_t told = 0;
    for (size_t k = 0; k < track->camera_count; k++) {
        if (k == track->main_camera)
            continue;
        if (told++ == OTHERS) {
            tl_report_text_addf(&words, "%zu more cameras: see %s",
                                track->camera_count - 1 - OTHERS,
                                screen->tables ? TL_REPORT_EVERYTHING : "the page");
            tl_report_screen_words(screen, "", &words, 1);
            return;
        }
        add_setting(sequence, k, &words);
        tl_report_screen_words(screen, "", &words, 2);
    }
}

void tl_report_summary_clock(tl_report_screen *screen, const tl_sequence *sequence) {
    const tl_track *track = &sequence->track;
    const tl_clock *clock = &tl_track_main(track)->clock;
    tl_report_text words = {0};
    screen->rank = TL_REPORT_KEEP;
    add_setting(sequence, track->main_camera, &words);
    tl_report_screen_words(screen, "Clock", &words, 2);
    if (clock->solved)
        add_alternatives(screen, sequence);
    screen->rank = TL_REPORT_TELLING;
    add_stamps(screen, clock);
    add_others(screen, sequence);
    add_gps(screen, sequence);
    screen->rank = TL_REPORT_WEIGHTY;
    tl_report_words_day(sequence, &words);
    tl_report_screen_words(screen, "Date", &words, 3);
}
