/*
 * film_internal.h - what the animations share: a square picture over a strip of words.
 *
 * film_strip (words and time bar), film (which photographs) -> moving; film_look (the
 * Sun's colours), film_sun (the drawn eclipse) -> smooth.
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
    bool utc;             /* times are; else the camera's */
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
enum { TL_REPORT_FILM_BYTES = 8000000 };

/* Those for an animation: not doubtful, turned if any is, timed if two are. A time or a turn that
 * is not known, beside others that are, would make the disc jump. TL_ERR_MEMORY; to be freed with
 * tl_report_plates_free. */
tl_status tl_report_film_plates(const tl_report_plates *all, tl_report_plates *shown);

/* The picture of a plate, side_px * side_px * 3 bytes; black if its small picture is broken.
 * TL_ERR_MEMORY. */
tl_status tl_report_film_plate(const tl_report_source *source, const tl_report_plate *plate,
                               tl_report_up up, int side_px, unsigned char *rgb);

/* ---- film_look.c ------------------------------------------------------------------------------
 */

/* Light = centre * (1 - darkening * (1 - mu)), 1 at full scale, with the centre's in red, green and
 * blue; mu is the cosine of the angle between the Sun's surface and our line of sight. */
typedef struct tl_report_sun_look {
    double centre[3], darkening;
} tl_report_sun_look;
/* As these plates have it, in the middle of them; an orange where they show nothing. TL_ERR_MEMORY.
 */
tl_status tl_report_sun_find_look(const tl_report_source *source, const tl_report_plates *plates,
                                  tl_report_sun_look *look);

/* ---- film_sun.c: the eclipse as a drawing, north up ------------------------------------------ */

typedef struct tl_report_sun {
    int side_px;
    unsigned char *disc; /* owned; the Sun without spots or Moon */
    unsigned char *moon; /* owned; nothing but Moon, in a soft circle as the plates' */
    unsigned char *code; /* owned; of light 0..65535 */
    uint16_t light[256]; /* of a code */
} tl_report_sun;
/* TL_ERR_MEMORY. */
tl_status tl_report_sun_make(const tl_report_sun_look *look, int side_px, tl_report_sun *sun);
void tl_report_sun_free(tl_report_sun *sun);
/* side_px * side_px * 3 bytes: spots of the path, and the Moon over them. */
void tl_report_sun_draw(const tl_report_sun *sun, const tl_report_path *path,
                        const tl_report_moon *moon, unsigned char *rgb);

#endif
