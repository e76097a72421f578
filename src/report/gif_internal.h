/*
 * gif_internal.h - animations: frames of pixels to an animated GIF (GIF89a, CompuServe 1990).
 *
 * film (frames made one by one) -> gif_palette (the colours that all of them share) ->
 * gif_dither (pixels in these colours) -> gif (the bytes). moving and smooth are films that are
 * made smaller until they fit.
 */
#ifndef TWOLIMB_REPORT_GIF_INTERNAL_H
#define TWOLIMB_REPORT_GIF_INTERNAL_H

#include "report/report_internal.h"

/* Frames of one size. They are asked for one by one, so that memory does not grow with them. */
typedef struct tl_report_film {
    int width, height; /* px, 1..65535 */
    size_t count;      /* of frames, at least 1 */
    /* The pixels of frame k: width * height * 3 bytes of red, green, blue. Must give the same each
     * time. TL_ERR_MEMORY, which ends the film. */
    tl_status (*frame)(void *context, size_t k, unsigned char *rgb);
    int (*hold_cs)(void *context, size_t k); /* how long it is shown, 1/100 s, 0..65535 */
    void *context;
} tl_report_film;

/* ---- gif_palette.c --------------------------------------------------------------------------- */

/* One place of a GIF's 256 is kept for "as before". */
enum { TL_REPORT_PALETTE_MOST = 255 };
typedef struct tl_report_palette {
    int count; /* 1..TL_REPORT_PALETTE_MOST */
    /* in order of lightness */
    unsigned char rgb[TL_REPORT_PALETTE_MOST][3];
} tl_report_palette;

/*
 * Colours for all frames of a film: boxes of the colours that occur, split where they are widest,
 * then drawn to the means of what is nearest to them. A colour counts by the root of how often it
 * occurs, so that letters get theirs beside a disc of many pixels. TL_ERR_MEMORY; as film->frame.
 */
tl_status tl_report_palette_make(const tl_report_film *film, tl_report_palette *palette);
/* The place of the nearest colour; distances weigh red, green and blue as 2 : 4 : 1. */
int tl_report_palette_nearest(const tl_report_palette *palette, const unsigned char rgb[3]);

/* ---- gif_dither.c --------------------------------------------------------------------------- */

typedef struct tl_report_dither tl_report_dither;
/* The palette must outlive it. NULL if there is no memory. */
tl_report_dither *tl_report_dither_make(const tl_report_palette *palette);
void tl_report_dither_free(tl_report_dither *dither);
/* The place in the palette of the pixel (x, y) of a picture; it depends on its colour and on where
 * it is, on nothing else. */
unsigned char tl_report_dither_place(tl_report_dither *dither, const unsigned char *rgb, int x,
                                     int y);

/* ---- gif.c ----------------------------------------------------------------------------------- */

/*
 * The film with these colours, repeated for ever; frames after the first hold only the rectangle
 * that changes. TL_ERR_TOO_LARGE beyond `most` bytes, or where the first quarter of the frames
 * takes half of them; TL_ERR_ARGUMENT for a size, a palette or a time that cannot be;
 * TL_ERR_MEMORY; as film->frame. `bytes` gets nothing unless TL_OK.
 */
tl_status tl_report_gif(const tl_report_film *film, const tl_report_palette *palette, size_t most,
                        tl_report_text *bytes);

#endif
