/*
 * draw.c - drawings to SVG, PNG and pixels, and pixels into drawings.
 */
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <cairo-svg.h>

#include "report/draw_internal.h"

static cairo_status_t append(void *closure, const unsigned char *data, unsigned length) {
    tl_report_text *text = closure;
    tl_report_text_bytes(text, data, length);
    return text->failed ? CAIRO_STATUS_NO_MEMORY : CAIRO_STATUS_SUCCESS;
}

static tl_status run(const tl_report_drawing *drawing, double scale, cairo_surface_t *surface) {
    cairo_t *cr = cairo_create(surface);
    cairo_scale(cr, scale, scale);
    tl_status status = cairo_status(cr) == CAIRO_STATUS_SUCCESS ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK)
        status = drawing->draw(cr, drawing->context);
    if (status == TL_OK && cairo_status(cr) != CAIRO_STATUS_SUCCESS)
        status = TL_ERR_MEMORY;
    cairo_destroy(cr);
    return status;
}

tl_status tl_report_draw_svg(const tl_report_drawing *drawing, tl_report_text *bytes) {
    tl_report_text drawn = {0};
    cairo_surface_t *surface =
        cairo_svg_surface_create_for_stream(append, &drawn, drawing->width, drawing->height);
    cairo_svg_surface_set_document_unit(surface, CAIRO_SVG_UNIT_PX);
    tl_status status = run(drawing, 1.0, surface);
    cairo_surface_finish(surface);
    if (status == TL_OK && (cairo_surface_status(surface) != CAIRO_STATUS_SUCCESS || drawn.failed))
        status = TL_ERR_MEMORY;
    cairo_surface_destroy(surface);
    if (status == TL_OK) {
        tl_report_settle_names(&drawn, bytes);
        status = bytes->failed ? TL_ERR_MEMORY : TL_OK;
    }
    tl_report_text_free(&drawn);
    return status;
}

static int pixels(double side, double scale) {
    return (int)lround(side * scale);
}

/* NULL if it cannot be drawn. */
static cairo_surface_t *draw_image(const tl_report_drawing *drawing, double scale) {
    cairo_surface_t *surface = cairo_image_surface_create(
        CAIRO_FORMAT_RGB24, pixels(drawing->width, scale), pixels(drawing->height, scale));
    if (run(drawing, scale, surface) == TL_OK) {
        cairo_surface_flush(surface);
        return surface;
    }
    cairo_surface_destroy(surface);
    return NULL;
}

tl_status tl_report_draw_png(const tl_report_drawing *drawing, double scale,
                             tl_report_text *bytes) {
    cairo_surface_t *surface = draw_image(drawing, scale);
    if (!surface)
        return TL_ERR_MEMORY;
    const tl_status status = tl_report_surface_png(surface, bytes);
    cairo_surface_destroy(surface);
    return status;
}

tl_status tl_report_draw_pixels(const tl_report_drawing *drawing, double scale,
                                unsigned char **rgb) {
    cairo_surface_t *surface = draw_image(drawing, scale);
    if (!surface)
        return TL_ERR_MEMORY;
    const size_t width = (size_t)cairo_image_surface_get_width(surface);
    const size_t height = (size_t)cairo_image_surface_get_height(surface);
    const size_t stride = (size_t)cairo_image_surface_get_stride(surface);
    const unsigned char *data = cairo_image_surface_get_data(surface);
    unsigned char *made = malloc(3 * width * height);
    for (size_t y = 0; made && y < height; y++)
        for (size_t x = 0; x < width; x++) {
            uint32_t word;
            memcpy(&word, data + y * stride + x * sizeof word, sizeof word);
            unsigned char *to = made + 3 * (y * width + x);
            to[0] = (unsigned char)(word >> 16 & 0xFF);
            to[1] = (unsigned char)(word >> 8 & 0xFF);
            to[2] = (unsigned char)(word & 0xFF);
        }
    cairo_surface_destroy(surface);
    if (!made)
        return TL_ERR_MEMORY;
    *rgb = made;
    return TL_OK;
}

tl_status tl_report_draw_jpeg(const tl_report_drawing *drawing, double scale,
                              tl_report_text *bytes) {
    unsigned char *rgb = NULL, *jpeg = NULL;
    size_t size = 0;
    tl_status status = tl_report_draw_pixels(drawing, scale, &rgb);
    if (status != TL_OK)
        return status;
    status = tl_drawing_jpeg(rgb, pixels(drawing->width, scale), pixels(drawing->height, scale),
                             &jpeg, &size);
    free(rgb);
    if (status != TL_OK)
        return status;
    tl_report_text_bytes(bytes, jpeg, size);
    free(jpeg);
    return bytes->failed ? TL_ERR_MEMORY : TL_OK;
}

cairo_surface_t *tl_report_surface_of(const unsigned char *rgb, int width, int height, bool jpeg) {
    cairo_surface_t *surface = cairo_image_surface_create(CAIRO_FORMAT_RGB24, width, height);
    unsigned char *bytes = NULL;
    size_t size = 0;
    bool good = cairo_surface_status(surface) == CAIRO_STATUS_SUCCESS;
    const size_t stride = good ? (size_t)cairo_image_surface_get_stride(surface) : 0;
    unsigned char *data = cairo_image_surface_get_data(surface);
    for (size_t y = 0; good && y < (size_t)height; y++)
        for (size_t x = 0; x < (size_t)width; x++) {
            const unsigned char *from = rgb + 3 * (y * (size_t)width + x);
            const uint32_t word = (uint32_t)from[0] << 16 | (uint32_t)from[1] << 8 | from[2];
            memcpy(data + y * stride + x * sizeof word, &word, sizeof word);
        }
    if (good)
        cairo_surface_mark_dirty(surface);
    if (good && jpeg) {
        good = tl_drawing_jpeg(rgb, width, height, &bytes, &size) == TL_OK;
        if (good && cairo_surface_set_mime_data(surface, CAIRO_MIME_TYPE_JPEG, bytes, size, free,
                                                bytes) != CAIRO_STATUS_SUCCESS) {
            free(bytes);
            good = false;
        }
    }
    if (good)
        return surface;
    cairo_surface_destroy(surface);
    return NULL;
}

void tl_report_draw_surface(cairo_t *cr, cairo_surface_t *surface, cairo_filter_t filter,
                            double left, double top, double width, double height) {
    const double from_width = cairo_image_surface_get_width(surface);
    const double from_height = cairo_image_surface_get_height(surface);
    cairo_save(cr);
    cairo_translate(cr, left, top);
    cairo_scale(cr, width / from_width, height / from_height);
    /* Not cairo_get_source: of a drawing that has failed it gives a pattern that nobody owns. */
    cairo_pattern_t *pattern = cairo_pattern_create_for_surface(surface);
    cairo_pattern_set_filter(pattern, filter);
    cairo_set_source(cr, pattern);
    cairo_pattern_destroy(pattern);
    cairo_rectangle(cr, 0.0, 0.0, from_width, from_height);
    cairo_fill(cr);
    cairo_restore(cr);
}

void tl_report_add_circle(cairo_t *cr, double x, double y, double radius) {
    const double most_px = 1e6; /* our own choice; cairo_arc takes the longer the larger it is */
    if (fabs(x) < most_px && fabs(y) < most_px && radius < most_px)
        cairo_arc(cr, x, y, fmax(radius, 0.0), 0.0, 2.0 * TL_PI);
}
