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

/* --- times.c: a user's table of times --- */

/* The row for the file at `path`, by the end of its path as it is typed or without links; that with
 * the most folders. SIZE_MAX: none. */
size_t tl_times_row(const tl_times *times, const char *path);

/* --- curve.c: transfer curves --- */

typedef enum tl_frame_curve_kind {
    TL_CURVE_SRGB,
    TL_CURVE_POWER, /* of `exponent` */
    TL_CURVE_BT709,
    TL_CURVE_PQ,
    TL_CURVE_HLG
} tl_frame_curve_kind;

/* What a file says of its transfer curve. Zeroed: sRGB. */
typedef struct tl_frame_curve {
    const unsigned char
        *profile; /* ICC, goes first where it can be understood; or NULL; not owned */
    size_t profile_size;
    tl_frame_curve_kind kind;
    double exponent; /* of TL_CURVE_POWER; linear is 1 */
} tl_frame_curve;

/* By TransferCharacteristics of Rec. ITU-T H.273; sRGB where it does not say or is not known. */
tl_frame_curve tl_frame_curve_h273(int transfer);

/* Linear light 0..65535 of `count` codes that are evenly spaced from none to full scale. */
void tl_frame_curve_table(const tl_frame_curve *curve, size_t count, uint16_t *table);

/* 8-bit sRGB code to linear light, 0..65535. */
void tl_frame_linear_table(uint16_t table[256]);
/* The nearest 8-bit sRGB code of every linear value; `table` has 65536 entries. */
void tl_frame_code_table(uint8_t *table);

/* --- icc.c: the only file that knows the colour management library --- */

/* The same from an ICC profile's tone curve; false, and the table untouched, when it has none that
 * is understood (a profile of look-up tables, a broken one). */
bool tl_frame_icc_table(const unsigned char *profile, size_t size, size_t count, uint16_t *table);

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
/* A JPEG of no more pixels is held at full scale; of a larger one no more than the second. */
#define TL_FRAME_WHOLE_PIXELS 6500000L
#define TL_FRAME_HELD_PIXELS 3200000L
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
/* The part wanted of a file of `width` x `height` px as stored, decoded `how`. False: nothing of
 * it.
 */
bool tl_frame_crop_make(const tl_frame_how *how, int width, int height, tl_frame_crop *crop);
/* Where a crop comes to lie in the upright picture, file px: as tl_image's left and top. */
void tl_frame_crop_place(const tl_frame_crop *crop, const tl_frame_how *how, int width, int height,
                         int *left, int *top);

/* --- canvas.c: the upright picture that a reader fills with stored rows --- */

/* TL_ERR_BROKEN for no pixels, TL_ERR_TOO_LARGE beyond the limits; `deep`: more than 8 bits. */
tl_status tl_frame_size_check(uint64_t width, uint64_t height, int channels, bool deep);

typedef struct tl_frame_canvas {
    tl_image image; /* tl_image_free, unless it is handed on */
    tl_frame_turn turn;
    int stored_width;
} tl_frame_canvas;
/* Black; the size as stored. As tl_frame_size_check, and TL_ERR_MEMORY. */
tl_status tl_frame_canvas_make(uint64_t width, uint64_t height, int channels, bool deep,
                               int orientation, tl_frame_canvas *canvas);
/* Put `count` pixels of stored row `y` in, from stored column `x` on: codes or samples, as the
 * canvas holds them. */
void tl_frame_canvas_codes(tl_frame_canvas *canvas, int x, int y, int count, const uint8_t *code);
void tl_frame_canvas_samples(tl_frame_canvas *canvas, int x, int y, int count,
                             const uint16_t *sample);

/* --- cut_short.c: a picture of which the last stored rows are not there --- */

/* Take the last `missing` of its stored rows (fewer than all) out of an upright picture. */
void tl_frame_drop_rows(tl_image *image, int orientation, int missing);

/* --- inks.c: cyan, magenta, yellow and black as the light they leave --- */

/* `count` pixels of four codes to three, in place. `inverted`: 255 is no ink. */
void tl_frame_inks_to_rgb(uint8_t *code, size_t count, bool inverted);

/* --- kinds.c: which reader a file wants, by its first bytes --- */

typedef enum tl_frame_kind {
    TL_FRAME_JPEG,
    TL_FRAME_PNG,
    TL_FRAME_TIFF,
    TL_FRAME_HEIF
} tl_frame_kind;
enum { TL_FRAME_START_SIZE = 64 }; /* bytes that tell it */
/* TL_ERR_NOT_PICTURE, TL_ERR_RAW, TL_ERR_FILM, TL_ERR_OTHER_KIND. */
tl_status tl_frame_kind_of(const unsigned char *start, size_t size, tl_frame_kind *kind);
/* Pixels and what the file says. Statuses as tl_frame_read. */
tl_status tl_frame_decode(tl_frame_kind kind, const unsigned char *bytes, size_t size,
                          tl_image *image, tl_frame_info *info);

/* --- png.c, tiff.c, heif.c: one library each. The whole picture at full scale, turned by
 * `orientation`: 8-bit ones as codes, deeper ones as samples. Statuses as tl_frame_read. --- */

bool tl_frame_is_png(const unsigned char *bytes, size_t size);
tl_status tl_frame_png_decode(const unsigned char *bytes, size_t size, int orientation,
                              tl_image *image);
bool tl_frame_is_tiff(const unsigned char *bytes, size_t size);
tl_status tl_frame_tiff_decode(const unsigned char *bytes, size_t size, int orientation,
                               tl_image *image);
bool tl_frame_is_heif(const unsigned char *bytes, size_t size);
/* Turned and mirrored as the file's own properties say, which go before EXIF's Orientation. */
tl_status tl_frame_heif_decode(const unsigned char *bytes, size_t size, tl_image *image);
/* Its EXIF block, as tl_frame_exif_block; orientation is 1. */
tl_status tl_frame_heif_exif(const unsigned char *bytes, size_t size, tl_frame_info *info);

/* --- png_chunk.c --- */

/* The first chunk of this type before the pixels or after them; points into `bytes`. */
bool tl_frame_png_chunk(const unsigned char *bytes, size_t size, const char type[5],
                        const unsigned char **content, size_t *content_size);

/* --- jpeg.c: the only file that knows libjpeg and its longjmp --- */

bool tl_frame_is_jpeg(const unsigned char *bytes, size_t size);
/* Decode to codes of 8 bits, turned upright; `*width`, `*height`: of the file, upright. Statuses as
 * tl_frame_read and tl_frame_read_part. `rows_missing` may be NULL, and is for a part: a file cut
 * short is then broken. */
tl_status tl_frame_jpeg_decode(const unsigned char *bytes, size_t size, const tl_frame_how *how,
                               int *width, int *height, int *rows_missing, tl_image *image);
/* Encode rows of 8-bit samples; `drawn`: with the care that lines and letters need. The caller
 * frees `*jpeg`. TL_ERR_MEMORY. */
tl_status tl_frame_jpeg_encode(const uint8_t *rows, int width, int height, int channels, bool drawn,
                               unsigned char **jpeg, size_t *size);

/* --- exif.c --- */

/* Whatever a JPEG's EXIF block says; what is absent or nonsense is left zero (orientation 1).
 * TL_ERR_MEMORY. */
tl_status tl_frame_exif_read(const unsigned char *bytes, size_t size, tl_frame_info *info);
/* The same of the block itself, or of a whole TIFF file: both begin with a TIFF header. Neither of
 * them is held to the 64 kB of a JPEG's block. */
tl_status tl_frame_exif_block(const unsigned char *bytes, size_t size, tl_frame_info *info);

#endif
