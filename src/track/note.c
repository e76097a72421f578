/*
 * note.c - plain sentences on what could not be solved, or is odd, and what to do about it. What
 * shows in the other results (days put right, frames left out or without a time) is not said here.
 */
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

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

/* What came of estimating the place. */
static const char *place(const tl_track *track) {
    switch (track->place_status) {
    case TL_OK:
        return "The place is an estimate that trusts the camera's clock and zone, so the clock is "
               "not checked and nothing is compared with the almanac: for that give the place "
               "with --site LAT,LON.";
    case TL_ERR_TOO_FEW:
        return "The place cannot be estimated: that needs measured pictures at three times at "
               "least, a minute apart.";
    case TL_ERR_ARGUMENT:
        return "The place cannot be estimated without the zone of the camera's clock: give it "
               "with --zone +HH:MM.";
    case TL_ERR_NO_ECLIPSE:
        return "The place cannot be estimated: at these times there was no eclipse anywhere on "
               "Earth; check --zone and --date.";
    case TL_ERR_RANGE:
        return "The place cannot be estimated: the almanac does not reach that day (1950 to "
               "2100); check --date.";
    default:
        return "No place on Earth fits the measured separations at these times: check --zone and "
               "--date, the camera's clock, and the circles.";
    }
}

/* What keeps the clock from being solved; NULL if nothing does. */
static const char *missing(const tl_track_series *series, const tl_track_options *options,
                           const tl_track_situation *s, const tl_track *track) {
    if (!any_measured(series)) {
        return "No picture could be measured, so there is nothing to time.";
    }
    if (series->obs_count == 0 && track->has_circumstances) {
        return "No measured picture has a camera time, so there is no clock to check. Times that a "
               "camera showed can be given in a table with --times.";
    }
    if (series->obs_count == 0) {
        return options->site.source == TL_SITE_NONE
                   ? "No measured picture has a camera time: give the times in a table with "
                     "--times, or the place and day with --site and --date."
                   : "No measured picture has a camera time: give the times in a table with "
                     "--times, or the day with --date.";
    }
    if (options->site.source == TL_SITE_NONE && options->find_site) {
        return place(track);
    }
    if (options->site.source == TL_SITE_NONE) {
        return "The place is not known, so clock, true times and almanac are missing: give it "
               "with --site LAT,LON.";
    }
    if (s->eclipse != TL_OK) {
        return "The almanac does not reach this place and day (1950 to 2100): check --site and "
               "--date.";
    }
    if (!tl_track_main(track)->clock.solved) {
        return "The measured separations do not fit the eclipse at this place on that day: check "
               "--site and --date.";
    }
    return NULL;
}

/* Add a sentence to the note if there is room for all of it. */
static void say(tl_track *track, const char *format, ...) {
    size_t used = strlen(track->note), gap = used > 0 ? 1 : 0;
    size_t room = sizeof track->note - used - gap;
    va_list arguments;
    va_start(arguments, format);
    int length = used + gap < sizeof track->note
                     ? vsnprintf(track->note + used + gap, room, format, arguments)
                     : -1;
    va_end(arguments);
    if (length > 0 && (size_t)length < room) {
        memcpy(track->note + used, " ", gap);
    } else {
        track->note[used] = '\0';
    }
}

/* From here on the errors given do not explain the scatter; chance alone gives 2 or so. */
static const double MISFIT_TOLD = 4.0;

/* What was given holds for all cameras; of several not all need contradict it. */
static void contradicted(size_t cameras, const char *option, const char *value, tl_track *track) {
    if (cameras > 0 && cameras < track->camera_count) {
        say(track,
            "The pictures of %zu of the %zu cameras contradict --%s %s: leave it out and each "
            "camera's decide.",
            cameras, track->camera_count, option, value);
    } else if (cameras > 0) {
        say(track, "The pictures contradict --%s %s: leave it out and they decide.", option, value);
    }
}

/* Solutions that put the pictures to other times. */
static bool other_times(const tl_clock *clock) {
    for (size_t i = 0; i < clock->alternative_count; i++) {
        if (!clock->alternative[i].same_clock) {
            return true;
        }
    }
    return false;
}

/* Sunspots that do not go together with the Moon, or with what was said. */
static void odd_spots(const tl_track_options *options, const tl_track_situation *s,
                      tl_track *track) {
    const tl_track_compass *c = &track->compass;
    if (c->state == TL_COMPASS_REFUSED && s->spots_reversed && options->mirror != TL_MIRROR_AUTO) {
        say(track,
            "By their sunspots the pictures contradict --mirror %s: leave it out and they "
            "decide. Until then the spots are not used for how the pictures were turned.",
            options->mirror == TL_MIRROR_YES ? "yes" : "no");
    } else if (c->state == TL_COMPASS_REFUSED) {
        say(track, "The sunspots and the Moon do not agree on how the pictures were turned, so the "
                   "spots are not used for that.");
    }
    if (c->opposed_count > 0) {
        say(track,
            "By their sunspots %zu picture%s --mirror %s: leave it out and the spots decide.",
            c->opposed_count, c->opposed_count == 1 ? " contradicts" : "s contradict",
            options->mirror == TL_MIRROR_YES ? "yes" : "no");
    }
    if (s->mirror_opposed > 0) {
        say(track,
            "Whether the pictures are mirrored is taken from their sunspots; that the camera "
            "stood on a mount would make it the other way round.");
    }
}

/* What is odd about the solution, the gravest first. */
static void odd(const tl_track_options *options, const tl_track_situation *s, tl_track *track) {
    if (s->misfit > MISFIT_TOLD) {
        say(track,
            "The pictures scatter %.0f times more about the almanac than their errors allow, "
            "and the errors here are widened to match: check --site and --date, the times, "
            "and the circles.",
            s->misfit);
    }
    contradicted(s->mirror_contradicted, "mirror",
                 tl_track_main(track)->mirrored == TL_MIRROR_YES ? "yes" : "no", track);
    contradicted(s->holding_contradicted, "holding", tl_holding_name[tl_track_main(track)->holding],
                 track);
    odd_spots(options, s, track);
    if (other_times(&tl_track_main(track)->clock)) {
        say(track, "Of clock settings that fit about equally well the one is taken that asks for "
                   "the smallest error of the camera's clock.");
    }
    if (s->path == TL_ERR_TOO_FEW) {
        say(track, "Contacts need three measured pictures of one camera at different times; there "
                   "are fewer.");
    } else if (s->path != TL_OK) {
        say(track, "The measured pictures span too little of the eclipse to say when contacts and "
                   "maximum were.");
    }
    if (s->half_day) {
        say(track, "The camera's clock was twelve hours off: morning and afternoon were mixed up.");
    }
    if (s->long_offset) {
        say(track, "The camera's clock was off by more than a quarter of an hour beyond any whole "
                   "zone; the times are right if place and day are.");
    }
}

void tl_track_write_note(const tl_track_series *series, const tl_track_options *options,
                         const tl_track_situation *situation, tl_track *track) {
    if (situation->eclipse == TL_ERR_NO_ECLIPSE && any_measured(series)) {
        no_eclipse(options, situation, track);
        return;
    }
    const char *text = missing(series, options, situation, track);
    if (text != NULL) {
        say(track, "%s", text);
    } else {
        odd(options, situation, track);
    }
}
