/*
 * heif_size.c - what the coded pictures of a file ask the decoder to make room for.
 *
 * The box that states a picture's size is one thing, the header of its stream or the canvas that it
 * is put together on another, and libheif 1.15 compares them after decoding. So a file of a
 * kilobyte can ask for gigabytes, or minutes.
 */
#include "frame/heif_internal.h"

bool tl_heif_is_within(uint64_t width, uint64_t height, uint64_t pixels_max) {
    return width <= TL_IMAGE_MAX_SIDE && height <= TL_IMAGE_MAX_SIDE &&
           width * height <= pixels_max;
}

bool tl_heif_is_modest(const unsigned char *bytes, size_t size, uint64_t pixels_max) {
    return tl_heif_hevc_is_modest(bytes, size, pixels_max) &&
           tl_heif_av1_is_modest(bytes, size, pixels_max) &&
           tl_heif_canvas_is_modest(bytes, size, pixels_max);
}
