/*
 * note.c - one plain sentence on what could not be solved and what to do about it.
 */
#include <math.h>
#include <stdio.h>

#include "track/track_internal.h"

static void no_eclipse(const tl_track_options *options, const tl_track_situation *s,
                       tl_track *track) {
    char day[TL_TIME_TEXT_SIZE], nearest[TL_TIME_TEXT_SIZE];
    enum { DATE_LENGTH = 10 };
    tl_time_text(s->day_utc_s, 0, "", day);
    const char *who = options->date_given ? "The date given is" : "The camera says";
    if (s->has_nearest) {
        tl_time_text(s->nearest_utc_s, 0, "", nearest);
        snprintf(track->note, sizeof track->note,
                 "%s %.*s, but no eclipse is seen at this place on that day; the nearest one is "
                 "on %.*s: give the true day with --date, or check --site.",
                 who, DATE_LENGTH, day, DATE_LENGTH, nearest);
    } else {
        snprintf(track->note, sizeof track->note,
                 "%s %.*s, but no eclipse is seen at this place on that day: give the true day "
                 "with --date, or check --site.",
                 who, DATE_LENGTH, day);
    }
}

static bool any_measured(const tl_track_series *series) {
    for (size_t i = 0; i < series->frame_count; i++) {
        if (series->frame[i].measured) {
            return true;
        }
    }
    return false;
}

/* What keeps the clock from being solved; NULL if nothing does. */
static const char *missing(const tl_track_series *series, const tl_track_options *options,
                           const tl_track_situation *s, const tl_track *track) {
    if (!any_measured(series)) {
        return "No picture could be measured, so there is nothing to time.";
    }
    if (series->obs_count == 0) {
        return "No measured picture has a camera time: give the times in a table with --times, or "
               "the place and day with --site and --date.";
    }
    if (options->site.source == TL_SITE_NONE) {
        return "The place is not known, so clock, true times and almanac are missing: give it "
               "with --site LAT,LON.";
    }
    if (s->eclipse != TL_OK) {
        return "The almanac does not reach this place and day (1950 to 2100): check --site and "
               "--date.";
    }
    if (!track->clock.solved) {
        return "The measured separations do not fit the eclipse at this place on that day: check "
               "--site and --date.";
    }
    return NULL;
}

/* What is odd about the solution, or short of a path; NULL if nothing is. */
static const char *odd(const tl_track_situation *s, const tl_track *track) {
    if (track->clock.alternative_count > 0) {
        return "Other clock settings fit about equally well and are listed; the one taken asks "
               "for the smallest error of the camera's clock.";
    }
    if (s->path == TL_ERR_TOO_FEW) {
        return "Contacts need three measured pictures at different times; there are fewer.";
    }
    if (s->path != TL_OK) {
        return "The measured pictures span too little of the eclipse to say when contacts and "
               "maximum were.";
    }
    if (s->half_day) {
        return "The camera's clock was twelve hours off: morning and afternoon were mixed up.";
    }
    if (s->long_offset) {
        return "The camera's clock was off by more than a quarter of an hour beyond any whole "
               "zone; the times are right if place and day are.";
    }
    return NULL;
}

void tl_track_write_note(const tl_track_series *series, const tl_track_options *options,
                         const tl_track_situation *situation, tl_track *track) {
    if (situation->eclipse == TL_ERR_NO_ECLIPSE && any_measured(series)) {
        no_eclipse(options, situation, track);
        return;
    }
    const char *text = missing(series, options, situation, track);
    text = text != NULL ? text : odd(situation, track);
    if (text != NULL) {
        snprintf(track->note, sizeof track->note, "%s", text);
    } else if (fabs(track->clock.day_shift_s) > 0.0) {
        double days = track->clock.day_shift_s / TL_DAY_S;
        snprintf(track->note, sizeof track->note,
                 "The camera's date was %.0f day%s %s; the day has been put right.", fabs(days),
                 fabs(days) > 1.0 ? "s" : "", days > 0.0 ? "ahead" : "behind");
    }
}
