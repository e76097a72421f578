/*
 * exif_time.c - when the shutter was open, as the camera's clock had it.
 */
#include <math.h>
#include <string.h>

#include "base/base_internal.h"
#include "frame/exif_internal.h"

/* Only NULs and blanks may follow what is wanted. */
static bool at_end(const char *text) {
    return text[strspn(text, " ")] == '\0';
}

/* "YYYY:MM:DD HH:MM:SS" (EXIF 2.32, tag 0x9003); unknown parts are blank or zero there. */
static bool parse_stamp(const char *text, double *t_s) {
    double date_s, clock_s;
    if (!tl_base_read_date(&text, ':', &date_s) || *text++ != ' ' ||
        !tl_base_read_clock(&text, ':', &clock_s) || !at_end(text) || !tl_base_in_span(date_s))
        return false;
    *t_s = date_s + clock_s;
    return true;
}

/* The digits after the decimal point (EXIF 2.32, tag 0x9291): "130" and "13" are both 0.13. */
static bool parse_subsec(const char *text, double *fraction_s, double *unit_s) {
    double value = 0.0, unit = 1.0;
    const size_t count = strspn(text, "0123456789");
    if (count == 0 || !at_end(text + count))
        return false;
    for (size_t i = 0; i < count; i++) {
        unit /= 10.0;
        value += (text[i] - '0') * unit;
    }
    *fraction_s = value;
    *unit_s = unit;
    return true;
}

static bool parse_zone(const char *text, int *minutes) {
    int read;
    if (!tl_base_read_zone(&text, &read) || !at_end(text))
        return false;
    *minutes = read;
    return true;
}

bool tl_frame_exif_time(ExifData *exif, double exposure_s, tl_camera_time *time) {
    char stamp[32], subsec[16], zone[16];
    double start_s, fraction_s, unit_s;
    if (!tl_frame_exif_text(exif, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, sizeof stamp,
                            stamp) ||
        !parse_stamp(stamp, &start_s))
        return false;
    tl_camera_time t = {0};
    if (tl_frame_exif_text(exif, EXIF_IFD_EXIF, EXIF_TAG_SUB_SEC_TIME_ORIGINAL, sizeof subsec,
                           subsec) &&
        parse_subsec(subsec, &fraction_s, &unit_s)) {
        t.source = TL_TIME_EXIF_SUBSEC;
        t.t_camera_s = start_s + fraction_s;
        t.sigma_s = TL_FRAME_UNIFORM_SIGMA * unit_s;
    } else {
        /* Cut to the whole second: the true one is anywhere in [t, t + 1). */
        t.source = TL_TIME_EXIF;
        t.t_camera_s = start_s + 0.5;
        t.sigma_s = TL_FRAME_UNIFORM_SIGMA;
    }
    t.t_camera_s += 0.5 * exposure_s;
    t.zone_known =
        tl_frame_exif_text(exif, EXIF_IFD_EXIF, EXIF_TAG_OFFSET_TIME_ORIGINAL, sizeof zone, zone) &&
        parse_zone(zone, &t.zone_minutes);
    *time = t;
    return true;
}
