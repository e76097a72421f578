/*
 * exif.c - what a picture says about itself, through libexif.
 */
#include <limits.h>
#include <string.h>

#include "frame/exif_internal.h"

/* BodySerialNumber, EXIF 2.3 (CIPA DC-008), table 8; by number, for older libexif has no name for
 * it. */
enum { TAG_BODY_SERIAL_NUMBER = 0xA431 };

/* PhotographicSensitivity of a camera that is above 65534: the same standard, tag 0x8827. */
enum { ISO_ELSEWHERE = 65535 };

/* Beyond these an entry is damaged; our own choice. No longer exposure shows the Sun's limb, no
 * pinhole is narrower for its length, no telescope anyone holds a camera to is longer. */
static const double exposure_max_s = 60.0, f_number_max = 1000.0, focal_length_max_mm = 1e5;

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

/* A number up to `most`; 0 if it is not said, or damaged. */
static double read_number(ExifData *exif, unsigned tag, double most) {
    double value;
    if (!tl_frame_exif_rationals(exif, EXIF_IFD_EXIF, tag, 1, &value) || value > most)
        return 0.0;
    return value;
}

static double read_iso(ExifData *exif) {
    int iso;
    if (!tl_frame_exif_short(exif, EXIF_IFD_EXIF, EXIF_TAG_ISO_SPEED_RATINGS, &iso) ||
        iso == ISO_ELSEWHERE)
        return 0.0;
    return iso;
}

static void read_all(ExifData *exif, tl_frame_info *info) {
    info->orientation = read_orientation(exif);
    read_camera_text(exif, EXIF_IFD_0, EXIF_TAG_MAKE, info->make);
    read_camera_text(exif, EXIF_IFD_0, EXIF_TAG_MODEL, info->model);
    read_camera_text(exif, EXIF_IFD_EXIF, TAG_BODY_SERIAL_NUMBER, info->serial);
    info->f_number = read_number(exif, EXIF_TAG_FNUMBER, f_number_max);
    info->exposure_s = read_number(exif, EXIF_TAG_EXPOSURE_TIME, exposure_max_s);
    info->focal_length_mm = read_number(exif, EXIF_TAG_FOCAL_LENGTH, focal_length_max_mm);
    info->iso = read_iso(exif);
    tl_frame_exif_time(exif, info->exposure_s, &info->time);
    tl_frame_exif_site(exif, &info->site);
    info->has_gps_time = tl_frame_exif_gps_time(exif, &info->gps_t_utc_s);
}

/* libexif passes over what it has no memory for; only its log knows. */
static void hear(ExifLog *log, ExifLogCode code, const char *domain, const char *format,
                 va_list arguments, void *no_memory) {
    (void)log;
    (void)domain;
    (void)format;
    (void)arguments;
    if (code == EXIF_LOG_CODE_NO_MEMORY)
        *(bool *)no_memory = true;
}

/* Blocks as they are: else libexif fills in what it misses with values of its own, and drops what
 * it cannot name. `bare`: from the TIFF header on. */
static tl_status load(ExifData *exif, ExifLog *log, const unsigned char *bytes, size_t size,
                      bool bare) {
    bool no_memory = false;
    exif_log_set_func(log, hear, &no_memory);
    exif_data_log(exif, log);
    exif_data_unset_option(exif, EXIF_DATA_OPTION_FOLLOW_SPECIFICATION);
    exif_data_unset_option(exif, EXIF_DATA_OPTION_IGNORE_UNKNOWN_TAGS);
    if (bare)
        tl_frame_exif_take(exif, bytes, size);
    else
        exif_data_load_data(exif, bytes, size < UINT_MAX ? (unsigned)size : UINT_MAX);
    return no_memory ? TL_ERR_MEMORY : TL_OK;
}

static tl_status read_block(const unsigned char *bytes, size_t size, bool bare,
                            tl_frame_info *info) {
    tl_frame_info said = {.orientation = 1};
    ExifData *exif = exif_data_new();
    ExifLog *log = exif_log_new();
    tl_status status = TL_ERR_MEMORY;
    if (exif != NULL && log != NULL)
        status = load(exif, log, bytes, size, bare);
    if (status == TL_OK) {
        read_all(exif, &said);
        *info = said;
    }
    exif_data_unref(exif);
    exif_log_unref(log);
    return status;
}

tl_status tl_frame_exif_read(const unsigned char *bytes, size_t size, tl_frame_info *info) {
    return read_block(bytes, size, false, info);
}

tl_status tl_frame_exif_block(const unsigned char *bytes, size_t size, tl_frame_info *info) {
    return read_block(bytes, size, true, info);
}
