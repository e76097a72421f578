/*
 * exif_block.c - the entries of a TIFF structure (TIFF 6.0, section 2; EXIF 2.32, section 4.6.2),
 * as an EXIF block is and as a TIFF file is, handed to libexif.
 *
 * libexif itself reads no more than the 64 kB that a JPEG's block may have; a TIFF file has its
 * directories anywhere. Each of the three directories is read once, so that no loop can be led in.
 */
#include <string.h>

#include <libexif/exif-utils.h>

#include "frame/exif_internal.h"

enum { ENTRY_SIZE = 12, VALUE_SIZE = 4 };
/* A pointer to a directory (TIFF Technical Note 1, 1995), which libexif has no name for; like a
 * LONG. */
enum { FORMAT_IFD = 13 };
/* More than any camera or editor writes; libexif looks through all for each that is added. */
enum { DIRECTORY_MAX = 512 };
/* Longer than any of the values that are used (the longest is a name), so that a file of a gigabyte
 * cannot ask for copies of itself. */
enum { VALUE_MAX = 4096 };

typedef struct block {
    const unsigned char *bytes;
    size_t size;
    ExifByteOrder order;
} block;

static bool has(const block *b, size_t at, size_t count) {
    return at <= b->size && count <= b->size - at;
}

static void add(ExifData *exif, ExifIfd ifd, const unsigned char *entry, ExifByteOrder order,
                const unsigned char *value, size_t size) {
    ExifMem *mem = exif_mem_new_default();
    ExifEntry *made = mem != NULL ? exif_entry_new_mem(mem) : NULL;
    unsigned char *copy = made != NULL ? exif_mem_alloc(mem, (ExifLong)size) : NULL;
    if (copy != NULL) {
        memcpy(copy, value, size);
        made->tag = (ExifTag)exif_get_short(entry, order);
        made->format = (ExifFormat)exif_get_short(entry + 2, order);
        made->components = exif_get_long(entry + 4, order);
        made->data = copy;
        made->size = (unsigned)size;
        exif_content_add_entry(exif->ifd[ifd], made);
    }
    if (made != NULL)
        exif_entry_unref(made);
    if (mem != NULL)
        exif_mem_unref(mem);
}

static void take_entry(ExifData *exif, ExifIfd ifd, const block *b, const unsigned char *entry) {
    const unsigned format = exif_get_short(entry + 2, b->order);
    const size_t unit =
        format == FORMAT_IFD ? VALUE_SIZE : exif_format_get_size((ExifFormat)format);
    const size_t count = exif_get_long(entry + 4, b->order);
    if (unit == 0 || count == 0 || count > VALUE_MAX / unit)
        return;
    const size_t size = unit * count;
    const unsigned char *value = entry + 8;
    if (size > VALUE_SIZE) {
        const size_t at = exif_get_long(value, b->order);
        if (!has(b, at, size))
            return;
        value = b->bytes + at;
    }
    add(exif, ifd, entry, b->order, value, size);
}

/* The directory at `at`: as many of its entries as are there. */
static void take_directory(ExifData *exif, ExifIfd ifd, const block *b, size_t at) {
    if (!has(b, at, 2))
        return;
    const size_t said = exif_get_short(b->bytes + at, b->order);
    const size_t count = said < DIRECTORY_MAX ? said : DIRECTORY_MAX;
    const unsigned char *entry = b->bytes + at + 2;
    for (size_t i = 0; i < count && has(b, at + 2 + i * ENTRY_SIZE, ENTRY_SIZE); i++)
        take_entry(exif, ifd, b, entry + i * ENTRY_SIZE);
}

/* The directory that an entry of the first one points to. */
static void take_pointed(ExifData *exif, ExifTag pointer, ExifIfd ifd, const block *b) {
    const ExifEntry *entry = exif_content_get_entry(exif->ifd[EXIF_IFD_0], pointer);
    if (entry != NULL && entry->size >= 4)
        take_directory(exif, ifd, b, exif_get_long(entry->data, b->order));
}

void tl_frame_exif_take(ExifData *exif, const unsigned char *bytes, size_t size) {
    block b = {bytes, size, EXIF_BYTE_ORDER_INTEL};
    if (size < 8)
        return;
    if (memcmp(bytes, "MM\0*", 4) == 0)
        b.order = EXIF_BYTE_ORDER_MOTOROLA;
    else if (memcmp(bytes, "II*\0", 4) != 0)
        return;
    exif_data_set_byte_order(exif, b.order);
    take_directory(exif, EXIF_IFD_0, &b, exif_get_long(bytes + 4, b.order));
    take_pointed(exif, EXIF_TAG_EXIF_IFD_POINTER, EXIF_IFD_EXIF, &b);
    take_pointed(exif, EXIF_TAG_GPS_INFO_IFD_POINTER, EXIF_IFD_GPS, &b);
}
