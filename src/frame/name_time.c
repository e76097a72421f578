/*
 * name_time.c - a camera time from a file name.
 */
#include <string.h>

#include "base/base_internal.h"
#include "frame/frame_internal.h"

/* Digital pictures of the Sun, and not a number that merely has eight digits. */
#define FIRST_YEAR_S 631152000.0 /* 1990-01-01 0 h */
#define LAST_YEAR_S 4102444800.0 /* 2100-01-01 0 h */

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

const char *tl_frame_base_name(const char *path) {
    const char *slash = strrchr(path, '/');
    return slash != NULL ? slash + 1 : path;
}

/* "20230526" or "2023-05-26", "2023_05_26", "2023.05.26". */
static bool read_day(const char **cursor, double *t_s) {
    static const char separators[] = {'-', '_', '.', '\0'};
    for (size_t i = 0; i < sizeof separators; i++)
        if (tl_base_read_date(cursor, separators[i], t_s))
            return *t_s >= FIRST_YEAR_S && *t_s < LAST_YEAR_S;
    return false;
}

/* "220122", "220122948" (milliseconds), "22-01-22", "22.01.22", "22_01_22", "22:01:22". */
static bool read_time_of_day(const char **cursor, double *seconds, bool *has_ms) {
    static const char separators[] = {'-', '.', '_', ':'};
    int ms;
    *has_ms = false;
    if (tl_base_read_clock(cursor, '\0', seconds)) {
        *has_ms = tl_base_read_digits(cursor, 3, &ms);
        if (*has_ms)
            *seconds += ms / 1000.0;
        return !is_digit(**cursor);
    }
    for (size_t i = 0; i < sizeof separators; i++)
        if (tl_base_read_clock(cursor, separators[i], seconds))
            return !is_digit(**cursor);
    return false;
}

/* A stamp that starts right here. */
static bool read_stamp(const char *cursor, double *t_s, bool *has_ms) {
    double day_s, seconds;
    if (!read_day(&cursor, &day_s))
        return false;
    if (*cursor != '\0' && strchr("_- T", *cursor) != NULL)
        cursor++;
    if (!read_time_of_day(&cursor, &seconds, has_ms))
        return false;
    *t_s = day_s + seconds;
    return true;
}

bool tl_frame_time_from_name(const char *name, tl_camera_time *time) {
    const char *start = tl_frame_base_name(name);
    for (const char *p = start; *p != '\0'; p++) {
        if (!is_digit(*p) || (p > start && is_digit(p[-1])))
            continue;
        double t_s;
        bool has_ms;
        if (!read_stamp(p, &t_s, &has_ms))
            continue;
        tl_camera_time t = {.source = TL_TIME_NAME};
        t.t_camera_s = has_ms ? t_s : t_s + 0.5; /* cut to the whole second, as in EXIF */
        t.sigma_s = has_ms ? TL_FRAME_UNIFORM_SIGMA / 1000.0 : TL_FRAME_UNIFORM_SIGMA;
        t.zone_known = strncmp(start, "PXL_", 4) == 0; /* these are UTC */
        *time = t;
        return true;
    }
    return false;
}
