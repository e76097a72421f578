/*
 * exif.c - what the invented camera writes about a frame.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <libexif/exif-data.h>
#include <libexif/exif-utils.h>

#include "simulate/simulate_internal.h"

/* The header of a JPEG's APP1 segment holds its size in 16 bits, itself included. */
enum { SEGMENT_MAX = 65533 };

/* BodySerialNumber, EXIF 2.3 (CIPA DC-008), table 8; older libexif has no name for it. */
enum { TAG_BODY_SERIAL_NUMBER = 0xA431 };

/* The block under construction; `failed` stays set after the first shortage of memory. */
typedef struct block {
    ExifData *data;
    ExifMem *memory;
    bool failed;
} block;

/* A new entry with room for `components`; NULL and failed when there is no memory. */
static ExifEntry *add_entry(block *b, ExifIfd ifd, int tag, ExifFormat format, size_t components) {
    if (b->failed)
        return NULL;
    size_t size = components * exif_format_get_size(format);
    ExifEntry *entry = exif_entry_new_mem(b->memory);
    unsigned char *bytes = exif_mem_alloc(b->memory, (ExifLong)size);
    if (entry == NULL || bytes == NULL) {
        b->failed = true;
        exif_mem_free(b->memory, bytes);
        if (entry != NULL)
            exif_entry_unref(entry);
        return NULL;
    }
    entry->tag = (ExifTag)tag;
    entry->format = format;
    entry->components = components;
    entry->data = bytes;
    entry->size = (unsigned int)size;
    exif_content_add_entry(b->data->ifd[ifd], entry);
    const bool taken = entry->parent == b->data->ifd[ifd]; /* else there was no memory */
    exif_entry_unref(entry);                               /* the content holds it now */
    b->failed = !taken;
    return taken ? entry : NULL;
}

static void add_text(block *b, ExifIfd ifd, int tag, const char *text) {
    ExifEntry *entry = add_entry(b, ifd, tag, EXIF_FORMAT_ASCII, strlen(text) + 1);
    if (entry != NULL)
        memcpy(entry->data, text, strlen(text) + 1);
}

static void add_short(block *b, ExifIfd ifd, int tag, int value) {
    ExifEntry *entry = add_entry(b, ifd, tag, EXIF_FORMAT_SHORT, 1);
    if (entry != NULL)
        exif_set_short(entry->data, EXIF_BYTE_ORDER_INTEL, (ExifShort)value);
}

static void add_rationals(block *b, ExifIfd ifd, int tag, const ExifRational *value, size_t count) {
    ExifEntry *entry = add_entry(b, ifd, tag, EXIF_FORMAT_RATIONAL, count);
    for (size_t i = 0; entry != NULL && i < count; i++)
        exif_set_rational(entry->data + 8 * i, EXIF_BYTE_ORDER_INTEL, value[i]);
}

static void add_number(block *b, ExifIfd ifd, int tag, double value, unsigned int denominator) {
    if (value <= 0.0) /* not given */
        return;
    ExifRational r = {(ExifLong)lround(value * denominator), denominator};
    add_rationals(b, ifd, tag, &r, 1);
}

static void add_bytes(block *b, ExifIfd ifd, int tag, ExifFormat format, const void *bytes,
                      size_t count) {
    ExifEntry *entry = add_entry(b, ifd, tag, format, count);
    if (entry != NULL)
        memcpy(entry->data, bytes, count);
}

/* What the standard wants of every picture and libexif would fill in otherwise. */
static void add_picture(block *b, const tl_simulate_settings *settings) {
    bool on_its_side = settings->orientation >= 5;
    add_bytes(b, EXIF_IFD_EXIF, EXIF_TAG_EXIF_VERSION, EXIF_FORMAT_UNDEFINED, "0232", 4);
    add_short(b, EXIF_IFD_EXIF, EXIF_TAG_COLOR_SPACE, 1); /* sRGB */
    add_short(b, EXIF_IFD_EXIF, EXIF_TAG_PIXEL_X_DIMENSION,
              on_its_side ? settings->height : settings->width);
    add_short(b, EXIF_IFD_EXIF, EXIF_TAG_PIXEL_Y_DIMENSION,
              on_its_side ? settings->width : settings->height);
}

static void add_camera(block *b, const tl_simulate_settings *settings) {
    const tl_simulate_camera *camera = &settings->camera;
    add_short(b, EXIF_IFD_0, EXIF_TAG_ORIENTATION, settings->orientation);
    add_text(b, EXIF_IFD_0, EXIF_TAG_SOFTWARE, "twolimb simulate");
    if (!camera->on)
        return;
    add_text(b, EXIF_IFD_0, EXIF_TAG_MAKE, camera->make);
    add_text(b, EXIF_IFD_0, EXIF_TAG_MODEL, camera->model);
    if (camera->serial[0] != '\0')
        add_text(b, EXIF_IFD_EXIF, TAG_BODY_SERIAL_NUMBER, camera->serial);
    add_number(b, EXIF_IFD_EXIF, EXIF_TAG_FNUMBER, camera->f_number, 100);
    add_number(b, EXIF_IFD_EXIF, EXIF_TAG_EXPOSURE_TIME, camera->exposure_s, 1000000);
    add_number(b, EXIF_IFD_EXIF, EXIF_TAG_FOCAL_LENGTH, camera->focal_mm, 100);
    if (camera->iso > 0)
        add_short(b, EXIF_IFD_EXIF, EXIF_TAG_ISO_SPEED_RATINGS, camera->iso);
}

/* The clock as the camera shows it: the second that has begun, digits after it if asked for. */
static void add_time(block *b, const tl_simulate_clock *clock, double t_camera_s) {
    if (!clock->write_time)
        return;
    double milliseconds = floor(t_camera_s * 1e3 + 0.5), second = floor(milliseconds / 1e3);
    tl_calendar c = tl_time_to_calendar(second);
    char text[80];
    snprintf(text, sizeof text, "%04d:%02d:%02d %02d:%02d:%02d", c.year, c.month, c.day, c.hour,
             c.minute, (int)c.second);
    add_text(b, EXIF_IFD_0, EXIF_TAG_DATE_TIME, text);
    add_text(b, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_ORIGINAL, text);
    add_text(b, EXIF_IFD_EXIF, EXIF_TAG_DATE_TIME_DIGITIZED, text);
    if (clock->write_subsec) {
        snprintf(text, sizeof text, "%03d", (int)(milliseconds - 1e3 * second));
        add_text(b, EXIF_IFD_EXIF, EXIF_TAG_SUB_SEC_TIME_ORIGINAL, text);
    }
    if (clock->write_zone) {
        int minutes = abs(clock->zone_minutes);
        snprintf(text, sizeof text, "%c%02d:%02d", clock->zone_minutes < 0 ? '-' : '+',
                 minutes / 60, minutes % 60);
        add_text(b, EXIF_IFD_EXIF, EXIF_TAG_OFFSET_TIME_ORIGINAL, text);
    }
}

static void add_angle(block *b, int reference_tag, const char *reference, int tag, double rad) {
    double degrees = fabs(rad) / TL_DEG, whole = floor(degrees);
    double minutes = floor((degrees - whole) * 60.0);
    double seconds = (degrees - whole - minutes / 60.0) * 3600.0;
    ExifRational value[3] = {{(ExifLong)whole, 1},
                             {(ExifLong)minutes, 1},
                             {(ExifLong)lround(fmax(seconds, 0.0) * 1000.0), 1000}};
    add_text(b, EXIF_IFD_GPS, reference_tag, reference);
    add_rationals(b, EXIF_IFD_GPS, tag, value, 3);
}

static void add_gps_time(block *b, double t_utc_s) {
    tl_calendar c = tl_time_to_calendar(floor(t_utc_s));
    ExifRational time[3] = {
        {(ExifLong)c.hour, 1}, {(ExifLong)c.minute, 1}, {(ExifLong)c.second, 1}};
    char date[48];
    snprintf(date, sizeof date, "%04d:%02d:%02d", c.year, c.month, c.day);
    add_rationals(b, EXIF_IFD_GPS, EXIF_TAG_GPS_TIME_STAMP, time, 3);
    add_text(b, EXIF_IFD_GPS, EXIF_TAG_GPS_DATE_STAMP, date);
}

static void add_gps(block *b, const tl_simulate_gps *gps, const tl_site *site, double t_utc_s) {
    if (!gps->on)
        return;
    add_angle(b, EXIF_TAG_GPS_LATITUDE_REF, site->lat_rad < 0.0 ? "S" : "N", EXIF_TAG_GPS_LATITUDE,
              site->lat_rad);
    add_angle(b, EXIF_TAG_GPS_LONGITUDE_REF, site->lon_rad < 0.0 ? "W" : "E",
              EXIF_TAG_GPS_LONGITUDE, site->lon_rad);
    unsigned char below = site->height_m < 0.0;
    add_bytes(b, EXIF_IFD_GPS, EXIF_TAG_GPS_VERSION_ID, EXIF_FORMAT_BYTE, "\2\3\0\0", 4);
    add_bytes(b, EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE_REF, EXIF_FORMAT_BYTE, &below, 1);
    ExifRational height = {(ExifLong)lround(fabs(site->height_m) * 10.0), 10};
    add_rationals(b, EXIF_IFD_GPS, EXIF_TAG_GPS_ALTITUDE, &height, 1);
    add_gps_time(b, t_utc_s - gps->lag_s);
}

/* libexif does without what it has no memory for; only its log knows. */
static void hear(ExifLog *log, ExifLogCode code, const char *domain, const char *format,
                 va_list arguments, void *heard) {
    (void)log;
    (void)domain;
    (void)format;
    (void)arguments;
    block *b = heard;
    b->failed = b->failed || code == EXIF_LOG_CODE_NO_MEMORY;
}

tl_status tl_simulate_exif(const tl_simulate_scene *scene, size_t index,
                           const tl_simulate_place *place, unsigned char **out, size_t *size) {
    const tl_simulate_settings *settings = &scene->frame[index].settings;
    block b = {.data = exif_data_new(), .memory = exif_mem_new_default()};
    ExifLog *log = exif_log_new();
    b.failed = b.data == NULL || b.memory == NULL || log == NULL;
    unsigned char *saved = NULL;
    unsigned int saved_size = 0;
    if (!b.failed) {
        exif_log_set_func(log, hear, &b);
        exif_data_log(b.data, log);
        exif_data_set_byte_order(b.data, EXIF_BYTE_ORDER_INTEL);
        add_picture(&b, settings);
        add_camera(&b, settings);
        add_time(&b, &settings->clock, place->t_camera_s);
        add_gps(&b, &settings->gps, &scene->site, place->t_utc_s);
    }
    if (!b.failed) {
        exif_data_set_data_type(b.data, EXIF_DATA_TYPE_COMPRESSED);
        exif_data_fix(b.data); /* adds what the standard makes mandatory */
    }
    if (!b.failed)
        exif_data_save_data(b.data, &saved, &saved_size);
    if (b.data != NULL)
        exif_data_unref(b.data);
    if (b.memory != NULL)
        exif_mem_unref(b.memory);
    exif_log_unref(log);
    if (b.failed || saved == NULL || saved_size > SEGMENT_MAX) {
        free(saved);
        return TL_ERR_MEMORY;
    }
    *out = saved;
    *size = saved_size;
    return TL_OK;
}
