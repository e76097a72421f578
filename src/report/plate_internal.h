/*
 * plate_internal.h - photographs put right: the same scale, upright, not mirrored, round.
 *
 * plates (which pictures, in what order, how they are turned) -> plate_pixels (their pixels).
 * Sheet, animations, slides and the page's series are made of them.
 */
#ifndef TWOLIMB_REPORT_PLATE_INTERNAL_H
#define TWOLIMB_REPORT_PLATE_INTERNAL_H

#include <cairo.h>

#include "report/report_internal.h"

/* The Moon's centre in the plate's own axes (x right, y down, solar radii; the Sun's centre is the
 * origin); false where no Moon was measured or this plate cannot be turned so. */
bool tl_report_plate_moon(const tl_report_source *source, const tl_report_plate *plate,
                          tl_report_up up, double *x_sr, double *y_sr, double *ratio);

/* Axes of the plate and of the sky: (east, north) of the Sun's centre to (x right, y down). Of a
 * plate that is as taken its turn is not known: false. */
bool tl_report_plate_from_sky(const tl_report_plate *plate, tl_report_up up, double east,
                              double north, double *x, double *y);

/* Axes of the plate to those of its picture (x right, y down), both from the Sun's centre. */
void tl_report_plate_to_frame(const tl_report_plate *plate, tl_report_up up, double x, double y,
                              double *frame_x, double *frame_y);

/* The same to px of the small picture, from its corner; flattening is put back. All of it is
 * affine. */
void tl_report_plate_to_preview(const tl_sequence *sequence, const tl_report_plate *plate,
                                tl_report_up up, double x_sr, double y_sr, double *x, double *y);

typedef struct tl_report_plate_look {
    tl_report_up up;
    int side_px;     /* of the square */
    double reach_sr; /* from the Sun's centre to the middle of a side */
    bool as_exposed; /* else all discs are brought to one brightness, by one factor on linear light
                        for each picture (at most 4 times brighter or 6 times darker) */
} tl_report_plate_look;

/*
 * The pixels: side * side * 3 bytes of red, green, blue (sRGB), to be freed with free(). Resampled
 * in linear light from the small picture of the sequence, flattening taken out; black where the
 * picture ends and outside a soft circle that touches the sides. TL_ERR_MEMORY; as
 * tl_preview_pixels for a small picture that is broken.
 */
tl_status tl_report_plate_pixels(const tl_report_source *source, const tl_report_plate *plate,
                                 const tl_report_plate_look *look, unsigned char **rgb);

/* The soft circle at pixel (u, v): 1 within it, 0 outside. */
float tl_report_plate_field(int side_px, int u, int v);

/* The same as a cairo surface, with `jpeg` with a JPEG of it attached, so that an SVG holds that.
 */
tl_status tl_report_plate_surface(const tl_report_source *source, const tl_report_plate *plate,
                                  const tl_report_plate_look *look, bool jpeg,
                                  cairo_surface_t **surface);

/* Indices of `wanted` of the plates that can be shown this way up, spread evenly over time, first
 * and last among them, into `chosen`; returns how many (all of them if there are fewer). */
size_t tl_report_plates_spread(const tl_report_plates *plates, tl_report_up up, size_t wanted,
                               size_t *chosen);

/* words_plates.c: "*" and "?" behind the time of a plate that is as taken among turned ones, and of
 * a doubtful one. */
void tl_report_add_plate_marks(const tl_report_plates *plates, const tl_report_plate *plate,
                               tl_report_text *text);
/* What these mean, and whether it is known that the pictures are not mirrored, in sentences each
 * with a blank behind it; nothing if nothing is open about the plates chosen. */
void tl_report_words_plates(const tl_report_plates *plates, const size_t *chosen, size_t count,
                            tl_report_text *text);

#endif
