/*
 * moment.c - the moments of a scene: an instant, or seconds from a contact.
 */
#include <math.h>
#include <string.h>

#include "base/base_internal.h"
#include "simulate/simulate_internal.h"

/* "+90", "-600.5" or nothing at all. */
static bool read_shift(const char *text, double *seconds) {
    *seconds = 0.0;
    if (*text == '\0')
        return true;
    if (*text != '+' && *text != '-')
        return false;
    return tl_base_read_decimal(&text, seconds) && *text == '\0';
}

/* "HH:MM:SS[.sss]Z" */
static bool read_time_of_day(const char *text, double *seconds) {
    int hour, minute;
    double second;
    if (!tl_base_read_digits(&text, 2, &hour) || *text++ != ':' ||
        !tl_base_read_digits(&text, 2, &minute) || *text++ != ':' || *text == '-' || *text == '+' ||
        !tl_base_read_decimal(&text, &second))
        return false;
    if (strcmp(text, "Z") != 0 || hour > 23 || minute > 59 || second >= 60.0)
        return false;
    *seconds = 3600.0 * hour + 60.0 * minute + second;
    return true;
}

tl_status tl_simulate_moment_parse(const char *text, tl_simulate_moment *moment) {
    double seconds, day;
    for (int c = 0; c < TL_CONTACTS; c++) {
        size_t length = strlen(tl_contact_name[c]);
        if (strncmp(text, tl_contact_name[c], length) == 0 && read_shift(text + length, &seconds)) {
            *moment = (tl_simulate_moment){.contact = c, .seconds = seconds};
            return TL_OK;
        }
    }
    if (!tl_base_read_date(&text, '-', &day) || *text++ != 'T' || !read_time_of_day(text, &seconds))
        return TL_ERR_FORMAT;
    *moment = (tl_simulate_moment){.contact = -1, .seconds = day + seconds};
    return TL_OK;
}

static double instant(const tl_simulate_moment *moment, const tl_circumstances *circumstances) {
    if (moment->contact < 0)
        return moment->seconds;
    return circumstances->contact[moment->contact].t_utc_s + moment->seconds;
}

double tl_simulate_moment_at(const tl_simulate_frame *frame,
                             const tl_circumstances *circumstances) {
    double from = instant(&frame->from, circumstances), to = instant(&frame->to, circumstances);
    return from + frame->position * (to - from);
}
