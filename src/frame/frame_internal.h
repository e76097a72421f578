/*
 * frame_internal.h - what the files of this folder share.
 */
#ifndef TWOLIMB_FRAME_INTERNAL_H
#define TWOLIMB_FRAME_INTERNAL_H

#include "twolimb/frame.h"

/* Standard deviation of a value that is uniform within one unit: 1 / sqrt(12). */
#define TL_FRAME_UNIFORM_SIGMA 0.28867513459481288

/* The name without its folders; points into `path`. */
const char *tl_frame_base_name(const char *path);

/* --- curve.c: the sRGB transfer curve --- */

/* 8-bit sRGB code to linear light, 0..65535. */
void tl_frame_linear_table(uint16_t table[256]);
/* The nearest 8-bit sRGB code of every linear value; `table` has 65536 entries. */
void tl_frame_code_table(uint8_t *table);

/* --- turn.c: EXIF Orientation --- */

/* Where the stored pixel (x, y) goes: sample[origin + x * step_x + y * step_y], in samples. */
typedef struct tl_frame_turn {
    int width, height; /* of the upright picture */
    ptrdiff_t origin, step_x, step_y;
} tl_frame_turn;
/* `orientation` 1..8; `width` and `height` as stored. */
tl_frame_turn tl_frame_turn_make(int orientation, int width, int height, int channels);

/* How a picture is to be decoded. */
enum { TL_FRAME_HALVINGS_MAX = 3, TL_FRAME_AS_FITS = -1 };
/* No more pixels are held of a JPEG that is read whole. */
#define TL_FRAME_HELD_PIXELS 6500000L
typedef struct tl_frame_how {
    int orientation;
    int halvings;     /* 0..TL_FRAME_HALVINGS_MAX, or TL_FRAME_AS_FITS */
    bool part;        /* only this much of it, in file px after Orientation: */
    double corner[4]; /* x0, y0, x1, y1 */
} tl_frame_how;

/* A part of the stored picture, in pixels as decoded. */
typedef struct tl_frame_crop {
    int left, top, width, height;
} tl_frame_crop;
/* The part wanted, within the `width` x `height` px stored. False: nothing of it. */
bool tl_frame_crop_make(const tl_frame_how *how, int width, int height, tl_frame_crop *crop);
/* Where a crop's first pixel comes to lie in the upright picture. */
void tl_frame_crop_place(const tl_frame_crop *crop, int orientation, int width, int height,
                         int *left, int *top);

/* --- jpeg.c: the only file that knows libjpeg and its longjmp --- */

bool tl_frame_is_jpeg(const unsigned char *bytes, size_t size);
/* Decode to codes of 8 bits, turned upright; `*width`, `*height`: of the file, upright. Statuses as
 * tl_frame_read and tl_frame_read_part. */
tl_status tl_frame_jpeg_decode(const unsigned char *bytes, size_t size, const tl_frame_how *how,
                               int *width, int *height, tl_image *image);
/* Encode rows of 8-bit samples; `drawn`: with the care that lines and letters need. The caller
 * frees `*jpeg`. TL_ERR_MEMORY. */
tl_status tl_frame_jpeg_encode(const uint8_t *rows, int width, int height, int channels, bool drawn,
                               unsigned char **jpeg, size_t *size);

/* --- exif.c --- */

/* Whatever a JPEG's EXIF block says; what is absent or nonsense is left zero (orientation 1).
 * TL_ERR_MEMORY. */
tl_status tl_frame_exif_read(const unsigned char *bytes, size_t size, tl_frame_info *info);

#endif
