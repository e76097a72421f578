/*
 * heif_size.c - what the coded pictures of a file ask the decoder to make room for.
 *
 * The box that states a picture's size and the header of its stream are two things, and
 * libheif 1.15 compares them after decoding. So a file of a kilobyte can ask for gigabytes, or
 * minutes.
 */
#include "frame/heif_internal.h"

bool tl_heif_is_modest(const unsigned char *bytes, size_t size, uint64_t pixels_max) {
    return tl_heif_hevc_is_modest(bytes, size, pixels_max) &&
           tl_heif_av1_is_modest(bytes, size, pixels_max);
}
