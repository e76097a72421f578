/*
 * words_clock.c - plain sentences on the cameras' clocks: offset, zone, drift, day, and how the
 * stamps of the single pictures scatter.
 */
#include <math.h>
#include <string.h>

#include "report/report_internal.h"

static const double S_A_DAY_OF_PPM = 1e-6 * TL_DAY_S;

/* "37.4 +- 0.3 s"; from an hour on "12 h 0 min 37.4 +- 0.3 s", from a day on with the days. */
static void add_amount(double size_s, double sigma_s, tl_report_text *text) {
    const double hour_s = 3600.0, minute_s = 60.0;
    const double unit_s = pow(10.0, -tl_report_decimals(sigma_s, 2));
    const double shown_s = round(size_s / unit_s) * unit_s;
    double rest_s = shown_s;
    if (shown_s >= hour_s) {
        const double days = floor(shown_s / TL_DAY_S);
        rest_s -= days * TL_DAY_S;
        const int hours = (int)(rest_s / hour_s);
        rest_s -= hours * hour_s;
        const int minutes = (int)(rest_s / minute_s);
        rest_s -= minutes * minute_s;
        if (days > 0.0)
            tl_report_text_addf(text, "%.0f day%s ", days, days > 1.0 ? "s" : "");
        tl_report_text_addf(text, "%d\u00a0h %d\u00a0min ", hours, minutes);
    }
    tl_report_add_measure(text, rest_s, sigma_s, 2, "s");
}

void tl_report_words_setting(int zone_minutes, double offset_s, double sigma_s,
                             tl_report_text *text) {
    add_amount(fabs(offset_s), sigma_s, text);
    tl_report_text_add(text, offset_s < 0.0 ? " slow" : " fast");
    tl_report_text_add(text, " in zone ");
    tl_report_add_zone(text, zone_minutes);
}

void tl_report_words_drift(const tl_clock *clock, tl_report_text *text) {
    if (!clock->has_drift)
        return;
    tl_report_text_add(text, clock->drift_ppm < 0.0 ? "loses " : "gains ");
    tl_report_add_measure(text, fabs(clock->drift_ppm) * S_A_DAY_OF_PPM,
                          clock->drift_sigma_ppm * S_A_DAY_OF_PPM, 2, "s");
    tl_report_text_add(text, " a day");
}

static double whole_days(double day_shift_s) {
    return round(day_shift_s / TL_DAY_S);
}

static void add_ahead(double days, tl_report_text *text) {
    tl_report_text_addf(text, "%.0f day%s %s", fabs(days), fabs(days) > 1.0 ? "s" : "",
                        days > 0.0 ? "ahead" : "behind");
}

/* The day of the maximum as a clock with these whole days of error would name it, in its zone. */
static double named_day(const tl_sequence *sequence, const tl_clock *clock, double day_shift_s) {
    return sequence->track.circumstances.contact[TL_MAX].t_utc_s + clock->zone_minutes * 60.0 +
           day_shift_s;
}

#define WHOLE_DATE "date is wrong"

/* Which part of the date is wrong: what whoever set the camera should look at. */
static const char *wrong_part(double said_s, double true_s) {
    const tl_calendar said = tl_time_to_calendar(said_s), right = tl_time_to_calendar(true_s);
    const bool year = said.year == right.year, month = said.month == right.month;
    const bool day = said.day == right.day;
    if (!year && month && day)
        return "year is wrong";
    if (year && !month && day)
        return "month is wrong";
    if (year && said.month == right.day && said.day == right.month)
        return "day and month are exchanged";
    return WHOLE_DATE;
}

bool tl_report_clock_unset(const tl_sequence *sequence, const tl_clock *clock) {
    /* No zone in use is further from the mean solar time of its places (some 3 h in the west of
     * China; from memory). */
    const double farthest_s = 3.5 * 3600.0;
    if (!clock->solved || clock->zone_given || whole_days(clock->day_shift_s) == 0.0 ||
        !sequence->track.has_circumstances)
        return false;
    const double solar_s = sequence->options.site.lon_rad / TL_DEG * TL_DAY_S / 360.0;
    return fabs(clock->zone_minutes * 60.0 - solar_s) > farthest_s &&
           strcmp(wrong_part(named_day(sequence, clock, clock->day_shift_s),
                             named_day(sequence, clock, 0.0)),
                  WHOLE_DATE) == 0;
}

bool tl_report_alternative_told(const tl_sequence *sequence, const tl_clock *clock, size_t i) {
    return clock->solved && i < clock->alternative_count &&
           !(clock->alternative[i].same_clock && tl_report_clock_unset(sequence, clock));
}

void tl_report_words_clock_setting(const tl_sequence *sequence, const tl_clock *clock,
                                   tl_report_text *text) {
    const double total_s = tl_report_clock_total(clock, clock->at_utc_s);
    if (!tl_report_clock_unset(sequence, clock)) {
        tl_report_words_setting(clock->zone_minutes, clock->offset_s, clock->sigma_s, text);
        return;
    }
    add_amount(fabs(total_s), clock->sigma_s, text);
    tl_report_text_add(text, total_s < 0.0 ? " behind UTC" : " ahead of UTC");
}

void tl_report_words_wrong_date(const tl_sequence *sequence, const tl_clock *clock,
                                tl_report_text *text) {
    if (tl_report_clock_unset(sequence, clock))
        tl_report_text_add(text, "never set");
    else if (clock->solved && whole_days(clock->day_shift_s) != 0.0 &&
             sequence->track.has_circumstances)
        tl_report_text_addf(text, "its %s",
                            wrong_part(named_day(sequence, clock, clock->day_shift_s),
                                       named_day(sequence, clock, 0.0)));
}

void tl_report_words_date(const tl_sequence *sequence, const tl_clock *clock,
                          tl_report_text *text) {
    const double days = whole_days(clock->day_shift_s);
    tl_report_text part = {0};
    if (!clock->solved || days == 0.0 || tl_report_clock_unset(sequence, clock))
        return;
    add_ahead(days, text);
    tl_report_words_wrong_date(sequence, clock, &part);
    if (part.length > 0 && strcmp(part.data, "its " WHOLE_DATE) != 0) /* that is said already */
        tl_report_text_addf(text, ": %s", part.data);
    text->failed = text->failed || part.failed;
    tl_report_text_free(&part);
}

/* An eclipse on the day of this time, and the Sun up for it. */
static bool is_seen(const tl_sequence *sequence, double t_utc_s) {
    tl_circumstances circumstances;
    return tl_sky_circumstances(&sequence->options.site, floor(t_utc_s / TL_DAY_S) * TL_DAY_S,
                                &sequence->options.sky, &circumstances) == TL_OK &&
           tl_sky_eclipse_seen(&circumstances);
}

void tl_report_words_day(const tl_sequence *sequence, tl_report_text *text) {
    const tl_track *track = &sequence->track;
    const tl_clock *clock = &tl_track_main(track)->clock;
    const double days = whole_days(clock->day_shift_s);
    if (!track->day_found || !track->has_circumstances || days == 0.0)
        return;
    const bool unset = tl_report_clock_unset(sequence, clock);
    const double max_s = track->circumstances.contact[TL_MAX].t_utc_s;
    const double said_s = unset ? max_s + tl_report_clock_total(clock, max_s)
                                : named_day(sequence, clock, clock->day_shift_s);
    const double true_s = unset ? max_s : named_day(sequence, clock, 0.0);
    const bool none = !is_seen(sequence, said_s - (unset ? 0.0 : clock->zone_minutes * 60.0));
    tl_report_text_add(text, none ? "No eclipse is seen at this place on the day the camera says ("
                                  : "The series does not fit the eclipse of the day the camera "
                                    "says (");
    tl_report_add_date(text, said_s);
    tl_report_text_add(text, none ? "); the series fits the one of " : "); it fits the one of ");
    tl_report_add_date(text, true_s);
    if (unset) {
        tl_report_text_add(text, ": the camera\u2019s clock was never set.");
        return;
    }
    tl_report_text_addf(text, ": the camera\u2019s %s, ", wrong_part(said_s, true_s));
    add_ahead(days, text);
    tl_report_text_add(text, ".");
}

void tl_report_words_alternative(const tl_sequence *sequence, const tl_clock *clock, size_t i,
                                 tl_report_text *text) {
    const double others_s = clock->alternative[i].day_shift_s;
    const double apart = whole_days(others_s) - whole_days(clock->day_shift_s);
    tl_report_words_setting(clock->alternative[i].zone_minutes, clock->alternative[i].offset_s,
                            clock->alternative[i].sigma_s, text);
    if (fabs(apart) > 1.0 && sequence->track.has_circumstances) {
        tl_report_text_add(text, " in the eclipse of ");
        /* The same date as the camera has it, less this one's error. */
        tl_report_add_date(text, named_day(sequence, clock, clock->day_shift_s) - others_s);
    } else if (apart != 0.0 && whole_days(others_s) != 0.0) {
        tl_report_text_add(text, ", its date ");
        add_ahead(whole_days(others_s), text);
    } else if (apart != 0.0) {
        tl_report_text_add(text, ", its date right");
    }
    if (clock->alternative[i].same_clock)
        tl_report_text_add(text, " (the same true times)");
}

bool tl_report_other_times(const tl_clock *clock) {
    for (size_t i = 0; clock->solved && i < clock->alternative_count; i++)
        if (!clock->alternative[i].same_clock)
            return true;
    return false;
}

static void add_alternatives(const tl_sequence *sequence, const tl_clock *clock,
                             tl_report_text *text) {
    const bool others = tl_report_other_times(clock);
    size_t count = 0, told = 0;
    for (size_t i = 0; i < clock->alternative_count; i++)
        count += tl_report_alternative_told(sequence, clock, i);
    if (count == 0)
        return;
    tl_report_text_add(text, others ? " This is not certain: " : " It can also be read as ");
    for (size_t i = 0; i < clock->alternative_count; i++) {
        if (!tl_report_alternative_told(sequence, clock, i))
            continue;
        if (told++ > 0)
            tl_report_text_add(text, told == count ? " and " : ", ");
        tl_report_words_alternative(sequence, clock, i, text);
    }
    tl_report_text_add(text, !others      ? "."
                             : count == 1 ? " fits about as well."
                                          : " fit about as well.");
}

void tl_report_words_scatter(const tl_clock *clock, tl_report_text *text) {
    if (clock->stamp_scatter_sigma_s > 0.0) {
        tl_report_add_measure(text, clock->stamp_scatter_s, clock->stamp_scatter_sigma_s, 1, "s");
    } else {
        tl_report_add_significant(text, clock->stamp_scatter_s, 2);
        tl_report_text_add(text, "\u00a0s");
    }
}

void tl_report_words_stamps(const tl_clock *clock, tl_report_text *text) {
    if (!clock->solved || clock->stamps == TL_STAMPS_SOUND)
        return;
    const bool late = clock->stamps == TL_STAMPS_LATE;
    tl_report_text_add(text,
                       late ? "The pictures carry the time at which they were saved: on average "
                            : "The stamps scatter by ");
    tl_report_words_scatter(clock, text);
    tl_report_text_add(text,
                       late ? " after they were taken, each by its own amount. So the true times "
                              "come from the circles as much as from the stamps."
                            : " more than reading errors and circles allow.");
}

/* ", it gains 12 +- 3 s a day" and what is odd about zone and date. */
static void add_oddities(const tl_sequence *sequence, const tl_clock *clock, tl_report_text *text) {
    if (clock->has_drift) {
        tl_report_text_add(text, " and ");
        tl_report_words_drift(clock, text);
    }
    tl_report_text_add(text, ".");
    if (clock->zone_corrected)
        tl_report_text_add(text, " That zone is not the one it was said to be on.");
    if (tl_report_clock_unset(sequence, clock) &&
        !(sequence->track.day_found && clock == &tl_track_main(&sequence->track)->clock)) {
        tl_report_text_add(text, " It was never set.");
    } else if (whole_days(clock->day_shift_s) != 0.0 &&
               (!sequence->track.day_found || clock != &tl_track_main(&sequence->track)->clock)) {
        tl_report_text_add(text, " Its date was ");
        tl_report_words_date(sequence, clock, text);
        tl_report_text_add(text, ".");
    }
}

static void stamps_of_main(const tl_sequence *sequence, tl_report_text *text) {
    tl_report_words_stamps(&tl_track_main(&sequence->track)->clock, text);
}

/* What `words` has to say, if anything, after a blank. */
static void add_sentence(tl_report_text *text,
                         void (*words)(const tl_sequence *sequence, tl_report_text *text),
                         const tl_sequence *sequence) {
    tl_report_text sentence = {0};
    words(sequence, &sentence);
    if (sentence.length > 0)
        tl_report_text_addf(text, " %s", tl_report_text_string(&sentence));
    text->failed = text->failed || sentence.failed;
    tl_report_text_free(&sentence);
}

void tl_report_words_clock(const tl_sequence *sequence, tl_report_text *text) {
    const tl_track *track = &sequence->track;
    const tl_clock *clock = &tl_track_main(track)->clock;
    const bool several = track->camera_count > 1;
    if (!clock->solved) {
        tl_report_text_add(text, several ? "The cameras\u2019 clocks could not be checked against "
                                           "the sky."
                                         : "The camera\u2019s clock could not be checked against "
                                           "the sky.");
        return;
    }
    tl_report_text_add(text, several ? "The clock of " : "Your camera\u2019s clock ");
    if (several) {
        tl_report_camera_name(sequence, track->main_camera, text);
        tl_report_text_add(text, ", which gave the most pictures, ");
    }
    tl_report_text_add(text, clock->stamps == TL_STAMPS_LATE ? "itself ran " : "ran ");
    tl_report_words_clock_setting(sequence, clock, text);
    add_oddities(sequence, clock, text);
    add_sentence(text, tl_report_words_day, sequence);
    add_alternatives(sequence, clock, text);
    add_sentence(text, stamps_of_main, sequence);
    if (clock->floor_s > 0.0) {
        tl_report_text_add(text, " An error of ");
        tl_report_add_fixed(text, clock->floor_s, 1);
        tl_report_text_add(text, " s that all pictures share comes on top.");
    }
}

void tl_report_words_other_clock(const tl_sequence *sequence, size_t k, tl_report_text *text) {
    const tl_clock *clock = &sequence->track.camera[k].clock;
    const bool stamps = tl_report_has_stamps(sequence, k);
    tl_report_text_add(text, stamps ? "The clock of " : "The pictures by ");
    tl_report_camera_name(sequence, k, text);
    if (!clock->solved) {
        tl_report_text_add(text, stamps ? " could not be checked against the sky."
                                        : " have no times, so there is no clock to check.");
        return;
    }
    tl_report_text_add(text, " ran ");
    tl_report_words_clock_setting(sequence, clock, text);
    add_oddities(sequence, clock, text);
}
