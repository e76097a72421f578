/*
 * exif_gps.c - where the camera was, by its own account, and what the satellites' clock said.
 */
#include "base/base_internal.h"
#include "frame/exif_internal.h"

/* A voided fix is an old one or none. Without a status the fix is taken as good. */
static bool fix_is_void(ExifData *exif) {
    char status[2];
    return tl_frame_exif_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_STATUS, sizeof status, status) &&
           status[0] == 'V';
}

/* Degrees, minutes, seconds and the letter that gives the sign. */
static bool read_angle(ExifData *exif, unsigned tag, unsigned ref_tag, char positive, char negative,
                       double *degrees) {
    double dms[3];
    char ref[2];
    if (!tl_frame_exif_rationals(exif, EXIF_IFD_GPS, tag, 3, dms) || dms[1] > 60.0 ||
        dms[2] > 60.0 || /* 47' 60" is how some round */
        !tl_frame_exif_text(exif, EXIF_IFD_GPS, ref_tag, sizeof ref, ref) ||
        (ref[0] != positive && ref[0] != negative))
        return false;
    const double size = dms[0] + dms[1] / 60.0 + dms[2] / 3600.0;
    *degrees = ref[0] == positive ? size : -size;
    return true;
}

/* Height; above the sea or the ellipsoid makes no difference that matters here (below 110 m). */
static double read_height(ExifData *exif) {
    double height_m;
    int ref = 0;
    if (!tl_frame_exif_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE, 1, &height_m))
        return 0.0;
    tl_frame_exif_byte(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE_REF, &ref);
    const bool below = ref == 1 || ref == 3; /* 3: below the ellipsoid (EXIF 3.0) */
    return below ? -height_m : height_m;
}

bool tl_frame_exif_site(ExifData *exif, tl_site *site) {
    double lat_deg, lon_deg;
    if (fix_is_void(exif) ||
        !read_angle(exif, EXIF_TAG_GPS_LATITUDE, EXIF_TAG_GPS_LATITUDE_REF, 'N', 'S', &lat_deg) ||
        !read_angle(exif, EXIF_TAG_GPS_LONGITUDE, EXIF_TAG_GPS_LONGITUDE_REF, 'E', 'W', &lon_deg))
        return false;
    /* 0 N 0 E is what devices without a fix write (common practice, no source). */
    if (lat_deg == 0.0 && lon_deg == 0.0)
        return false;
    /* A wild height does not spoil a good place. */
    return tl_base_site(TL_SITE_EXIF, lat_deg, lon_deg, read_height(exif), site) == TL_OK ||
           tl_base_site(TL_SITE_EXIF, lat_deg, lon_deg, 0.0, site) == TL_OK;
}

bool tl_frame_exif_gps_time(ExifData *exif, double *t_utc_s) {
    char date[16];
    double hms[3], day_s;
    const char *cursor = date;
    if (fix_is_void(exif) ||
        !tl_frame_exif_text(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_DATE_STAMP, sizeof date, date) ||
        !tl_base_read_date(&cursor, ':', &day_s) || *cursor != '\0' || !tl_base_in_span(day_s))
        return false;
    if (!tl_frame_exif_rationals(exif, EXIF_IFD_GPS, EXIF_TAG_GPS_TIME_STAMP, 3, hms) ||
        hms[0] >= 24.0 || hms[1] >= 60.0 || hms[2] >= 60.0)
        return false;
    *t_utc_s = day_s + hms[0] * 3600.0 + hms[1] * 60.0 + hms[2];
    return true;
}
