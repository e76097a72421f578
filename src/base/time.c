/*
 * time.c - calendar to seconds since 1970 and back; times as text.
 */
#include <math.h>
#include <stdio.h>

#include <erfa.h>
#include <erfam.h>

#include "base/base_internal.h"

/* Modified Julian Date of 1970-01-01 0 h (the definition of POSIX time, and of MJD). */
enum { MJD_1970 = 40587 };

/* Gregorian calendar with four-digit years: 0001-01-01 to the last second of 9999-12-31. */
#define FIRST_S (-62135596800.0)
#define LAST_S 253402300799.0

bool tl_base_in_span(double t_s) {
    return t_s >= TL_BASE_FIRST_S && t_s < TL_BASE_END_S;
}

tl_status tl_time_from_calendar(const tl_calendar *calendar, double *t_s) {
    if (calendar->year < 1 || calendar->year > 9999)
        return TL_ERR_ARGUMENT;
    if (calendar->hour < 0 || calendar->hour > 23 || calendar->minute < 0 || calendar->minute > 59)
        return TL_ERR_ARGUMENT;
    if (!(calendar->second >= 0.0 && calendar->second < 60.0))
        return TL_ERR_ARGUMENT;
    double mjd_zero, mjd;
    if (eraCal2jd(calendar->year, calendar->month, calendar->day, &mjd_zero, &mjd) != 0)
        return TL_ERR_ARGUMENT;
    const int second_of_day = calendar->hour * 3600 + calendar->minute * 60;
    *t_s = (mjd - MJD_1970) * TL_DAY_S + second_of_day + calendar->second;
    return TL_OK;
}

/* Date and time of day of a whole second within the calendar's span. */
static tl_calendar from_whole_second(double whole_s) {
    const double day = floor(whole_s / TL_DAY_S);
    const int second_of_day = (int)(whole_s - day * TL_DAY_S);
    tl_calendar calendar = {0};
    double fraction;
    eraJd2cal(ERFA_DJM0, day + MJD_1970, &calendar.year, &calendar.month, &calendar.day, &fraction);
    calendar.hour = second_of_day / 3600;
    calendar.minute = second_of_day / 60 % 60;
    calendar.second = second_of_day % 60;
    return calendar;
}

static double within_span(double t_s) {
    return t_s > FIRST_S ? fmin(t_s, LAST_S) : FIRST_S;
}

tl_calendar tl_time_to_calendar(double t_s) {
    const double t = within_span(t_s);
    const double whole_s = floor(t);
    tl_calendar calendar = from_whole_second(whole_s);
    calendar.second += t - whole_s;
    /* A hair before a full minute the sum can round up to it. */
    if (calendar.second >= 60.0)
        calendar.second = nextafter(60.0, 0.0);
    return calendar;
}

void tl_time_text(double t_s, int decimals, const char *suffix, char text[TL_TIME_TEXT_SIZE]) {
    static const int ticks_per_second[] = {1, 10, 100, 1000};
    const int places = decimals < 0 ? 0 : decimals > 3 ? 3 : decimals;
    const double t = within_span(t_s);
    double whole_s = floor(t);
    int ticks = (int)lround((t - whole_s) * ticks_per_second[places]);
    if (ticks == ticks_per_second[places]) {
        ticks = 0;
        whole_s += 1.0;
    }
    const tl_calendar c = from_whole_second(whole_s);
    char fraction[8] = "";
    if (places > 0)
        snprintf(fraction, sizeof fraction, ".%0*d", places, ticks % 1000);
    snprintf(text, TL_TIME_TEXT_SIZE, "%04d-%02d-%02dT%02d:%02d:%02d%s%.6s", c.year, c.month, c.day,
             c.hour, c.minute, (int)c.second, fraction, suffix);
}
