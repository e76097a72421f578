/*
 * heif_internal.h - what the files that know HEIC and AVIF share.
 */
#ifndef TWOLIMB_HEIF_INTERNAL_H
#define TWOLIMB_HEIF_INTERNAL_H

#include "frame/frame_internal.h"

/* --- heif_size.c: what the file asks the decoder to make room for --- */

/* Whether nothing that is decoded of the file is of more pixels than that, or of a side over
 * TL_IMAGE_MAX_SIDE. */
bool tl_heif_is_modest(const unsigned char *bytes, size_t size, uint64_t pixels_max);

bool tl_heif_is_within(uint64_t width, uint64_t height, uint64_t pixels_max);

/* --- heif_size_hevc.c, heif_size_av1.c: the same of the streams of one kind; heif_size_canvas.c:
 * of pictures put together from others --- */

bool tl_heif_hevc_is_modest(const unsigned char *bytes, size_t size, uint64_t pixels_max);
bool tl_heif_av1_is_modest(const unsigned char *bytes, size_t size, uint64_t pixels_max);
bool tl_heif_canvas_is_modest(const unsigned char *bytes, size_t size, uint64_t pixels_max);

/* --- heif_items.c: where the data of the items lie --- */

/* What looks at the data of one item, by its number; false: look at no more. */
typedef bool tl_heif_look(uint64_t item, const unsigned char *data, size_t size, void *context);
/* Of every item that an item location box of the file tells (ISO/IEC 14496-12, 8.11.3), its
 * extents put together. False: `look` said so, or the items hold several times the file, or memory
 * ran out. */
bool tl_heif_each_item(const unsigned char *bytes, size_t size, tl_heif_look *look, void *context);

/* --- heif_bits.c: bits of a header; beyond the end they are zeros --- */

typedef struct tl_heif_bits {
    const unsigned char *bytes;
    size_t size, at; /* bytes, bits */
} tl_heif_bits;

unsigned tl_heif_bit(tl_heif_bits *b);
/* The next `count` bits, at most 64, as a number. */
uint64_t tl_heif_number(tl_heif_bits *b, unsigned count);
void tl_heif_skip(tl_heif_bits *b, size_t count);

#endif
