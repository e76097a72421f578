/*
 * number.c - numbers, times and zones as text.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/report_internal.h"

/* Longest fixed number: a double of 309 digits, point, 9 decimals, sign. */
enum { NUMBER_SIZE = 336, MAX_DECIMALS = 9 };

/* printf follows the locale's decimal sign; tables and drawings must not. */
static void set_point(char *text) {
    char *comma = strchr(text, ',');
    if (comma)
        *comma = '.';
}

static void fixed_text(double value, int decimals, char text[NUMBER_SIZE]) {
    snprintf(text, NUMBER_SIZE, "%.*f", decimals, value);
    set_point(text);
    if (text[0] == '-' && strspn(text + 1, "0.") == strlen(text + 1))
        memmove(text, text + 1, strlen(text));
}

void tl_report_add_fixed(tl_report_text *text, double value, int decimals) {
    char number[NUMBER_SIZE];
    if (!isfinite(value))
        return;
    fixed_text(value, decimals, number);
    tl_report_text_add(text, number);
}

/* With U+2212 for minus and `plus` before what is not negative. */
static void add_typographic(tl_report_text *text, double value, int decimals, const char *plus) {
    char number[NUMBER_SIZE];
    if (!isfinite(value))
        return;
    fixed_text(value, decimals, number);
    const bool negative = number[0] == '-';
    tl_report_text_add(text, negative ? "\u2212" : plus);
    tl_report_text_add(text, number + negative);
}

void tl_report_add_signed(tl_report_text *text, double value, int decimals) {
    add_typographic(text, value, decimals, "+");
}

void tl_report_add_significant(tl_report_text *text, double value, int digits) {
    if (!isfinite(value))
        return;
    if (value == 0.0) {
        tl_report_text_add(text, "0");
        return;
    }
    const int decimals = digits - 1 - (int)floor(log10(fabs(value)));
    tl_report_add_fixed(text, value,
                        decimals < 0              ? 0
                        : decimals > MAX_DECIMALS ? MAX_DECIMALS
                                                  : decimals);
}

void tl_report_add_exponent(tl_report_text *text, double value, int digits) {
    char number[NUMBER_SIZE];
    if (!isfinite(value))
        return;
    snprintf(number, NUMBER_SIZE, "%.*e", digits - 1, value);
    set_point(number);
    tl_report_text_add(text, number);
}

int tl_report_decimals(double sigma, int max) {
    if (!(sigma > 0.0) || !isfinite(sigma))
        return max;
    int decimals = 0;
    for (double unit = 1.0; decimals < max && sigma < 1.95 * unit; unit /= 10.0)
        decimals++;
    return decimals;
}

void tl_report_add_sigma(tl_report_text *text, double sigma, int decimals) {
    tl_report_add_fixed(text, sigma > 0.0 ? fmax(sigma, pow(10.0, -decimals)) : sigma, decimals);
}

void tl_report_add_measure(tl_report_text *text, double value, double sigma, int max_decimals,
                           const char *unit) {
    const int decimals = tl_report_decimals(sigma, max_decimals);
    add_typographic(text, value, decimals, "");
    tl_report_text_add(text, "\u00a0\u00b1\u00a0"); /* blanks at which no line breaks */
    tl_report_add_sigma(text, sigma, decimals);
    if (*unit)
        tl_report_text_addf(text, "\u00a0%s", unit);
}

void tl_report_add_clock(tl_report_text *text, double t_s, int decimals, double day_s) {
    enum { TIME_OF_DAY = 11, FAR_DAYS = 9 }; /* where it starts in "2026-08-12T17:03:12" */
    char iso[TL_TIME_TEXT_SIZE];
    if (!isfinite(t_s))
        return;
    tl_time_text(t_s, decimals, "", iso);
    const double half_unit = 0.5 * pow(10.0, -decimals);
    const double days = floor((t_s + half_unit - day_s) / TL_DAY_S);
    if (fabs(days) > FAR_DAYS) {
        iso[TIME_OF_DAY - 1] = ' ';
        tl_report_text_add(text, iso);
        return;
    }
    tl_report_text_add(text, iso + TIME_OF_DAY);
    if (days != 0.0) {
        tl_report_text_add(text, "\u00a0");
        tl_report_add_signed(text, days, 0);
        tl_report_text_add(text, "\u00a0d");
    }
}

void tl_report_add_time_of_day(tl_report_text *text, double t_s) {
    const double second = floor(t_s + 0.5);
    tl_report_add_clock(text, second, 0, floor(second / TL_DAY_S) * TL_DAY_S);
}

void tl_report_add_duration(double seconds, tl_report_text *text) {
    const double hundred = 99.5, minute = 60.0, hour = 3600.0;
    const double unit = seconds < hundred ? 1.0 : seconds < hundred * minute ? minute : hour;
    tl_report_add_significant(text, seconds / unit, 2);
    tl_report_text_add(text, unit < minute ? "\u00a0s" : unit < hour ? "\u00a0min" : "\u00a0h");
}

void tl_report_add_date(tl_report_text *text, double t_s) {
    static const char *const month[] = {"January",   "February", "March",    "April",
                                        "May",       "June",     "July",     "August",
                                        "September", "October",  "November", "December"};
    const tl_calendar calendar = tl_time_to_calendar(t_s);
    tl_report_text_addf(text, "%d %s %d", calendar.day, month[(calendar.month + 11) % 12],
                        calendar.year);
}

void tl_report_add_zone(tl_report_text *text, int minutes) {
    tl_report_text_addf(text, "UTC%c%02d:%02d", minutes < 0 ? '-' : '+', abs(minutes) / 60,
                        abs(minutes) % 60);
}
