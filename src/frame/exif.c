/*
 * exif.c - what a picture says about itself, through libexif.
 */
#include <limits.h>
#include <string.h>

#include "frame/exif_internal.h"

/* BodySerialNumber, EXIF 2.3 (CIPA DC-008), table 8; by number, for older libexif has no name for
 * it. */
enum { TAG_BODY_SERIAL_NUMBER = 0xA431 };

/* Text for people: printable ASCII, no blanks at the end. */
static void read_camera_text(ExifData *exif, ExifIfd ifd, unsigned tag,
                             char text[TL_CAMERA_TEXT_SIZE]) {
    if (!tl_frame_exif_text(exif, ifd, tag, TL_CAMERA_TEXT_SIZE, text))
        return;
    size_t length = strlen(text);
    for (size_t i = 0; i < length; i++)
        if (text[i] < ' ' || text[i] > '~')
            text[i] = '?';
    while (length > 0 && text[length - 1] == ' ')
        text[--length] = '\0';
}

static int read_orientation(ExifData *exif) {
    int value;
    if (!tl_frame_exif_short(exif, EXIF_IFD_0, EXIF_TAG_ORIENTATION, &value) || value < 1 ||
        value > 8)
        return 1;
    return value;
}

static double read_number(ExifData *exif, unsigned tag) {
    double value = 0.0;
    tl_frame_exif_rationals(exif, EXIF_IFD_EXIF, tag, 1, &value);
    return value;
}

static void read_all(ExifData *exif, tl_frame_info *info) {
    info->orientation = read_orientation(exif);
    read_camera_text(exif, EXIF_IFD_0, EXIF_TAG_MAKE, info->make);
    read_camera_text(exif, EXIF_IFD_0, EXIF_TAG_MODEL, info->model);
    read_camera_text(exif, EXIF_IFD_EXIF, TAG_BODY_SERIAL_NUMBER, info->serial);
    info->f_number = read_number(exif, EXIF_TAG_FNUMBER);
    info->exposure_s = read_number(exif, EXIF_TAG_EXPOSURE_TIME);
    info->focal_length_mm = read_number(exif, EXIF_TAG_FOCAL_LENGTH);
    int iso = 0;
    tl_frame_exif_short(exif, EXIF_IFD_EXIF, EXIF_TAG_ISO_SPEED_RATINGS, &iso);
    info->iso = iso;
    tl_frame_exif_time(exif, info->exposure_s, &info->time);
    tl_frame_exif_site(exif, &info->site);
    info->has_gps_time = tl_frame_exif_gps_time(exif, &info->gps_t_utc_s);
}

static ExifData *exif_new(void) {
    ExifData *exif = exif_data_new();
    if (exif == NULL)
        return NULL;
    /* Else libexif fills in what it misses with values of its own, and drops what it cannot name.
     */
    exif_data_unset_option(exif, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
    exif_data_unset_option(exif, EXIF_DATA_OPTION_IGNORE_UNKNOWN_TAGS);
    return exif;
}

void tl_frame_exif_read(const unsigned char *bytes, size_t size, tl_frame_info *info) {
    *info = (tl_frame_info){.orientation = 1};
    ExifData *exif = exif_new();
    if (exif == NULL)
        return;
    exif_data_load_data(exif, bytes, size < UINT_MAX ? (unsigned)size : UINT_MAX);
    read_all(exif, info);
    exif_data_unref(exif);
}

void tl_frame_exif_block(const unsigned char *bytes, size_t size, tl_frame_info *info) {
    *info = (tl_frame_info){.orientation = 1};
    ExifData *exif = exif_new();
    if (exif == NULL)
        return;
    tl_frame_exif_take(exif, bytes, size);
    read_all(exif, info);
    exif_data_unref(exif);
}
