/*
 * draw_internal.h - one drawing code for every format: a drawing is a function of a cairo context,
 * and goes to SVG, PNG or pixels from here.
 */
#ifndef TWOLIMB_REPORT_DRAW_INTERNAL_H
#define TWOLIMB_REPORT_DRAW_INTERNAL_H

#include <cairo.h>

#include "report/report_internal.h"

/* Something to be drawn within (0, 0) .. (width, height), y down. */
typedef struct tl_report_drawing {
    double width, height; /* px at scale 1 */
    /* Errors of cairo stick in `cr` and need not be returned. TL_ERR_MEMORY. */
    tl_status (*draw)(cairo_t *cr, const void *context);
    const void *context;
} tl_report_drawing;

/* The bytes of an SVG or PNG file are added to `bytes`. TL_ERR_MEMORY. */
tl_status tl_report_draw_svg(const tl_report_drawing *drawing, tl_report_text *bytes);
tl_status tl_report_draw_png(const tl_report_drawing *drawing, double scale, tl_report_text *bytes);
/* Its pixels, round(width * scale) * round(height * scale) * 3 bytes of red, green, blue, to be
 * freed with free(). TL_ERR_MEMORY. */
tl_status tl_report_draw_pixels(const tl_report_drawing *drawing, double scale,
                                unsigned char **rgb);
/* The same as a JPEG file, added to `bytes`. TL_ERR_MEMORY, TL_ERR_ARGUMENT if too large. */
tl_status tl_report_draw_jpeg(const tl_report_drawing *drawing, double scale,
                              tl_report_text *bytes);

/* draw_names.c: an SVG of cairo's, added to `bytes` with names that are the same in every run. Want
 * of memory sticks in `bytes`. */
void tl_report_settle_names(const tl_report_text *drawn, tl_report_text *bytes);

/* Pixels (3 bytes each, row by row) as a surface; with `jpeg` also a JPEG of them attached, which
 * is what an SVG then holds. NULL if there is no memory. */
cairo_surface_t *tl_report_surface_of(const unsigned char *rgb, int width, int height, bool jpeg);
/* draw_png.c: the pixels of an image surface in CAIRO_FORMAT_RGB24 as a PNG file, added to `bytes`.
 * TL_ERR_MEMORY. */
tl_status tl_report_surface_png(cairo_surface_t *surface, tl_report_text *bytes);
/* A whole circle as part of the path, as cairo_arc; nothing if it is not finite, or so large that
 * no drawing shows more than a straight line of it. */
void tl_report_add_circle(cairo_t *cr, double x, double y, double radius);
/* Draw a surface into a rectangle. */
void tl_report_draw_surface(cairo_t *cr, cairo_surface_t *surface, cairo_filter_t filter,
                            double left, double top, double width, double height);

#endif
