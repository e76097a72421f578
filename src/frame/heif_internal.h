/*
 * heif_internal.h - what the files that know HEIC share.
 */
#ifndef TWOLIMB_HEIF_INTERNAL_H
#define TWOLIMB_HEIF_INTERNAL_H

#include "frame/frame_internal.h"

/* --- heif_size.c --- */

/* Whether no HEVC stream of the file is of more pixels than that, or of a side over
 * TL_IMAGE_MAX_SIDE. */
bool tl_heif_is_modest(const unsigned char *bytes, size_t size, uint64_t pixels_max);

#endif
