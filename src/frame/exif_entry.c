/*
 * exif_entry.c - EXIF entries as plain values. Sizes are checked here, not believed.
 */
#include <string.h>

#include <libexif/exif-utils.h>

#include "frame/exif_internal.h"

static const ExifEntry *find(ExifData *exif, ExifIfd ifd, unsigned tag, ExifFormat format,
                             size_t count) {
    const ExifEntry *entry = exif_content_get_entry(exif->ifd[ifd], (ExifTag)tag);
    if (entry == NULL || entry->data == NULL || entry->format != format ||
        entry->components < count || entry->size < count * exif_format_get_size(entry->format))
        return NULL;
    return entry;
}

bool tl_frame_exif_text(ExifData *exif, ExifIfd ifd, unsigned tag, size_t size, char *text) {
    const ExifEntry *entry = find(exif, ifd, tag, EXIF_FORMAT_ASCII, 1);
    if (entry == NULL)
        return false;
    const size_t length = entry->size < size - 1 ? entry->size : size - 1;
    memcpy(text, entry->data, length);
    text[length] = '\0';
    return true;
}

bool tl_frame_exif_byte(ExifData *exif, ExifIfd ifd, unsigned tag, int *value) {
    const ExifEntry *entry = find(exif, ifd, tag, EXIF_FORMAT_BYTE, 1);
    if (entry == NULL)
        return false;
    *value = entry->data[0];
    return true;
}

bool tl_frame_exif_short(ExifData *exif, ExifIfd ifd, unsigned tag, int *value) {
    const ExifEntry *entry = find(exif, ifd, tag, EXIF_FORMAT_SHORT, 1);
    if (entry == NULL)
        return false;
    *value = exif_get_short(entry->data, exif_data_get_byte_order(exif));
    return true;
}

bool tl_frame_exif_rationals(ExifData *exif, ExifIfd ifd, unsigned tag, size_t count,
                             double *value) {
    const ExifEntry *entry = find(exif, ifd, tag, EXIF_FORMAT_RATIONAL, count);
    if (entry == NULL)
        return false;
    const ExifByteOrder order = exif_data_get_byte_order(exif);
    const size_t step = exif_format_get_size(EXIF_FORMAT_RATIONAL);
    for (size_t i = 0; i < count; i++)
        if (exif_get_rational(entry->data + i * step, order).denominator == 0)
            return false;
    for (size_t i = 0; i < count; i++) {
        const ExifRational r = exif_get_rational(entry->data + i * step, order);
        value[i] = (double)r.numerator / (double)r.denominator;
    }
    return true;
}
