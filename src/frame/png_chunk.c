/*
 * png_chunk.c - a chunk of a PNG file by its type (PNG, W3C, section 5.3).
 *
 * libpng hands over what stands before the pixels; EXIF may stand after them, and tells how they
 * are to be turned. It also knows no cICP yet.
 */
#include <string.h>

#include "frame/frame_internal.h"

enum { SIGNATURE_SIZE = 8, LENGTH_SIZE = 4, HEAD_SIZE = 8, CRC_SIZE = 4 };

static size_t length_at(const unsigned char *p) {
    return (size_t)p[0] << 24 | (size_t)p[1] << 16 | (size_t)p[2] << 8 | p[3];
}

bool tl_frame_png_chunk(const unsigned char *bytes, size_t size, const char type[5],
                        const unsigned char **content, size_t *content_size) {
    size_t at = SIGNATURE_SIZE;
    while (at <= size && size - at >= HEAD_SIZE + CRC_SIZE) {
        const size_t length = length_at(bytes + at);
        if (length > size - at - HEAD_SIZE - CRC_SIZE)
            return false;
        if (memcmp(bytes + at + LENGTH_SIZE, type, 4) == 0) {
            *content = bytes + at + HEAD_SIZE;
            *content_size = length;
            return true;
        }
        at += HEAD_SIZE + length + CRC_SIZE;
    }
    return false;
}
