/*
 * film_internal.h - what the animations share: a square picture over a strip of words.
 *
 * strip (words and time bar) -> moving (the photographs), sun (the drawn eclipse) -> smooth (both);
 * film makes them smaller until they fit.
 */
#ifndef TWOLIMB_REPORT_FILM_INTERNAL_H
#define TWOLIMB_REPORT_FILM_INTERNAL_H

#include "report/gif_internal.h"
#include "report/plate_internal.h"

/* From the Sun's centre to the middle of a side, solar radii: the disc and a rim of sky. */
#define TL_REPORT_FILM_REACH 1.15

/* ---- film_strip.c ---------------------------------------------------------------------------- */

/* What the strip under every picture of a film is drawn from. */
typedef struct tl_report_strip {
    const tl_report_source *source;
    int side_px;          /* its width, and that of the picture */
    const char *up;       /* what is up in the picture, or NULL */
    bool has_bar;         /* of time, */
    double from_s, to_s;  /* from when to when: UTC, or the camera's time, as the plates' */
    bool contacts;        /* those of the path are in the same time */
    const double *tick_s; /* further marks on the bar; not owned */
    size_t tick_count;
} tl_report_strip;

/* What it says of one frame. */
typedef struct tl_report_strip_words {
    bool timed;
    double t_s;
    bool whole; /* no Moon was seen; else, if has_covered, */
    bool has_covered;
    double obscuration, sigma; /* of the area, 0..1 */
    const char *kind;          /* of picture, or NULL */
} tl_report_strip_words;

int tl_report_strip_height(int side_px);
/* The bar spans the contacts of the path, if they are in the plates' time, and these plates. */
tl_report_strip tl_report_strip_make(const tl_report_source *source, int side_px,
                                     const tl_report_plates *plates);
/* What the measurements say of a plate. */
tl_report_strip_words tl_report_strip_words_of(const tl_report_source *source,
                                               const tl_report_plate *plate);
/* side_px * tl_report_strip_height(side_px) * 3 bytes. TL_ERR_MEMORY. */
tl_status tl_report_strip_pixels(const tl_report_strip *strip, const tl_report_strip_words *words,
                                 unsigned char *rgb);

/* ---- film.c ---------------------------------------------------------------------------------- */

/* Every slide program plays that, and a mail takes it. Our own choice. */
#define TL_REPORT_FILM_BYTES 8000000

/* ---- moving.c, smooth.c: the files ----------------------------------------------------------- */

#endif
