/*
 * parse.c - numbers, dates, zones and places as people write them.
 */
#include <math.h>
#include <string.h>

#include "base/base_internal.h"
#include "twolimb/base.h"

/* Widest offsets in use: +14:00 (Line Islands), -12:00 (IANA time zone database). */
enum { ZONE_MAX_HOURS = 14 };

/* The range stated in base.h: a little beyond the Dead Sea's shore and the highest peak. */
#define HEIGHT_MIN_M (-500.0)
#define HEIGHT_MAX_M 9000.0

/* Below 10^15 every whole number is a double; 10^15 too, so one division rounds once. */
enum { EXACT_DIGITS = 15 };

/* Of a second: finer than any clock that is written down. */
enum { FRACTION_DIGITS = 9 };

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

bool tl_base_read_digits(const char **cursor, int count, int *value) {
    int sum = 0;
    for (int i = 0; i < count; i++) {
        if (!is_digit((*cursor)[i]))
            return false;
        sum = sum * 10 + ((*cursor)[i] - '0');
    }
    *cursor += count;
    *value = sum;
    return true;
}

bool tl_base_read_decimal(const char **cursor, double *value) {
    const char *p = *cursor;
    const bool negative = *p == '-';
    if (*p == '-' || *p == '+')
        p++;
    if (!is_digit(*p))
        return false;
    double digits = 0.0, scale = 1.0;
    int count = 0;
    for (; is_digit(*p); p++) {
        if (count == EXACT_DIGITS)
            return false;
        digits = digits * 10.0 + (*p - '0');
        count += digits > 0.0;
    }
    if (*p == '.') {
        p++;
        if (!is_digit(*p))
            return false;
        for (; is_digit(*p); p++) {
            if (count == EXACT_DIGITS || scale >= 1e15)
                continue;
            digits = digits * 10.0 + (*p - '0');
            scale *= 10.0;
            count += digits > 0.0;
        }
    }
    *cursor = p;
    *value = (negative ? -digits : digits) / scale;
    return true;
}

static bool pass(const char **cursor, char separator) {
    if (separator == '\0')
        return true;
    if (**cursor != separator)
        return false;
    ++*cursor;
    return true;
}

bool tl_base_read_date(const char **cursor, char separator, double *t_s) {
    const char *p = *cursor;
    tl_calendar c = {0};
    if (!tl_base_read_digits(&p, 4, &c.year) || !pass(&p, separator) ||
        !tl_base_read_digits(&p, 2, &c.month) || !pass(&p, separator) ||
        !tl_base_read_digits(&p, 2, &c.day) || tl_time_from_calendar(&c, t_s) != TL_OK)
        return false;
    *cursor = p;
    return true;
}

bool tl_base_read_clock(const char **cursor, char separator, double *seconds) {
    const char *p = *cursor;
    int h, m, s;
    if (!tl_base_read_digits(&p, 2, &h) || !pass(&p, separator) ||
        !tl_base_read_digits(&p, 2, &m) || !pass(&p, separator) ||
        !tl_base_read_digits(&p, 2, &s) || h > 23 || m > 59 || s > 59)
        return false;
    *cursor = p;
    *seconds = h * 3600.0 + m * 60.0 + s;
    return true;
}

bool tl_base_read_moment(const char **cursor, double *t_s, double *unit_s) {
    const char *p = *cursor;
    double date_s, clock_s, fraction_s = 0.0, unit = 1.0;
    if (!tl_base_read_date(&p, '-', &date_s) || (*p != 'T' && *p != ' '))
        return false;
    p++;
    if (!tl_base_read_clock(&p, ':', &clock_s))
        return false;
    if (*p == '.' || *p == ',') { /* ISO 8601 has both */
        p++;
        if (!is_digit(*p))
            return false;
        for (int count = 0; is_digit(*p); p++, count++) {
            if (count >= FRACTION_DIGITS)
                continue;
            unit /= 10.0;
            fraction_s += (*p - '0') * unit;
        }
    }
    *cursor = p;
    *t_s = date_s + clock_s + fraction_s;
    *unit_s = unit;
    return true;
}

bool tl_base_read_zone(const char **cursor, int *minutes) {
    const char *p = *cursor;
    if (*p == 'Z') {
        *cursor = p + 1;
        *minutes = 0;
        return true;
    }
    const int sign = *p == '+' ? 1 : *p == '-' ? -1 : 0;
    int h, m;
    if (sign == 0)
        return false;
    p++;
    if (!tl_base_read_digits(&p, 2, &h) || *p++ != ':' || !tl_base_read_digits(&p, 2, &m))
        return false;
    if (m > 59 || h * 60 + m > ZONE_MAX_HOURS * 60)
        return false;
    *cursor = p;
    *minutes = sign * (h * 60 + m);
    return true;
}

tl_status tl_date_parse(const char *text, double *t_s) {
    double t;
    if (!tl_base_read_date(&text, '-', &t) || *text != '\0')
        return TL_ERR_ARGUMENT;
    *t_s = t;
    return TL_OK;
}

tl_status tl_zone_parse(const char *text, int *minutes) {
    int read;
    if (!tl_base_read_zone(&text, &read) || *text != '\0')
        return TL_ERR_ARGUMENT;
    *minutes = read;
    return TL_OK;
}

/* One number of a comma-separated list; blanks around it are let pass. */
static bool read_item(const char **cursor, double *value) {
    const char *p = *cursor + strspn(*cursor, " ");
    if (!tl_base_read_decimal(&p, value))
        return false;
    *cursor = p + strspn(p, " ");
    return true;
}

tl_status tl_base_site(tl_site_source source, double lat_deg, double lon_deg, double height_m,
                       tl_site *site) {
    const bool on_earth = fabs(lat_deg) <= 90.0 && fabs(lon_deg) <= 180.0 &&
                          height_m >= HEIGHT_MIN_M && height_m <= HEIGHT_MAX_M;
    if (!on_earth)
        return TL_ERR_ARGUMENT;
    /* Divided first: 90 and 180 degrees become exactly pi/2 and pi. */
    *site = (tl_site){source, lat_deg / 180.0 * TL_PI, lon_deg / 180.0 * TL_PI, height_m};
    return TL_OK;
}

tl_status tl_site_parse(const char *text, tl_site *site) {
    double lat_deg, lon_deg, height_m = 0.0;
    if (!read_item(&text, &lat_deg) || *text++ != ',' || !read_item(&text, &lon_deg))
        return TL_ERR_ARGUMENT;
    if (*text == ',') {
        text++;
        if (!read_item(&text, &height_m))
            return TL_ERR_ARGUMENT;
    }
    if (*text != '\0')
        return TL_ERR_ARGUMENT;
    return tl_base_site(TL_SITE_GIVEN, lat_deg, lon_deg, height_m, site);
}
