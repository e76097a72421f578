/*
 * exif_internal.h - what the files that know libexif share.
 */
#ifndef TWOLIMB_EXIF_INTERNAL_H
#define TWOLIMB_EXIF_INTERNAL_H

#include <libexif/exif-data.h>

#include "frame/frame_internal.h"

/* --- exif_entry.c: entries as plain values; false, and outputs untouched, when an entry is absent,
 * of another type, too short, or not a finite number --- */

bool tl_frame_exif_text(ExifData *exif, ExifIfd ifd, unsigned tag, size_t size, char *text);
bool tl_frame_exif_byte(ExifData *exif, ExifIfd ifd, unsigned tag, int *value);
bool tl_frame_exif_short(ExifData *exif, ExifIfd ifd, unsigned tag, int *value);
bool tl_frame_exif_rationals(ExifData *exif, ExifIfd ifd, unsigned tag, size_t count,
                             double *value);

/* --- exif_block.c --- */

/* Entries of the first directory, of the EXIF and of the GPS directory of a TIFF structure. */
void tl_frame_exif_take(ExifData *exif, const unsigned char *bytes, size_t size);

/* --- exif_time.c, exif_gps.c: false when the file does not say --- */

bool tl_frame_exif_time(ExifData *exif, double exposure_s, tl_camera_time *time);
bool tl_frame_exif_site(ExifData *exif, tl_site *site);
bool tl_frame_exif_gps_time(ExifData *exif, double *t_utc_s);

#endif
