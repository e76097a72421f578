/*
 * tiff_internal.h - what the files that know libtiff share.
 */
#ifndef TWOLIMB_TIFF_INTERNAL_H
#define TWOLIMB_TIFF_INTERNAL_H

#include <tiffio.h>

#include "frame/frame_internal.h"

/* How samples lie in the file (TIFF 6.0, sections 3 to 8). */
typedef struct tl_tiff_layout {
    uint32_t width, height;
    uint16_t bits, samples; /* samples a pixel, those beyond the channels included */
    uint16_t format;        /* SAMPLEFORMAT_... */
    uint16_t photometric, compression;
    int channels;  /* 1 or 3 */
    bool separate; /* each channel in strips or tiles of its own */
    bool alpha;    /* the sample after the channels tells how much of them is shown */
} tl_tiff_layout;

/* --- tiff_samples.c: grey and RGB of whole bytes --- */

bool tl_tiff_is_plain(const tl_tiff_layout *layout);
/* Statuses as tl_frame_read. */
tl_status tl_tiff_samples(TIFF *tiff, const tl_tiff_layout *layout, const tl_frame_curve *curve,
                          int orientation, tl_image *image);

/* --- tiff_rgba.c: whatever else the library can turn into 8-bit colour --- */

tl_status tl_tiff_rgba(TIFF *tiff, const tl_tiff_layout *layout, const tl_frame_curve *curve,
                       int orientation, tl_image *image);

#endif
