/*
 * draw_png.c - pixels to a PNG file, quickly: a drawing is mostly flat, and a photograph in it does
 * not get much smaller however long one tries.
 */
#include <setjmp.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include <png.h>

#include "report/draw_internal.h"

/* Of 0 to 9. Of slides with photographs 2 takes a third of the time of 6, for 10 % more bytes
 * (measured on those of the demo). */
enum { COMPRESSION = 2 };

static void append(png_structp png, png_bytep data, png_size_t length) {
    tl_report_text *text = png_get_io_ptr(png);
    tl_report_text_bytes(text, data, length);
}

static void flush_nothing(png_structp png) {
    (void)png;
}

static void fail(png_structp png, png_const_charp message) {
    (void)message;
    png_longjmp(png, 1); /* while the struct is made to libpng itself, then to the setjmp below */
}

static void warn_nobody(png_structp png, png_const_charp message) {
    (void)png;
    (void)message;
}

/* 0x00RRGGBB words to bytes. */
static void unpack_row(const unsigned char *from, size_t width, unsigned char *to) {
    for (size_t x = 0; x < width; x++) {
        uint32_t word;
        memcpy(&word, from + x * sizeof word, sizeof word);
        *to++ = (unsigned char)(word >> 16 & 0xFF);
        *to++ = (unsigned char)(word >> 8 & 0xFF);
        *to++ = (unsigned char)(word & 0xFF);
    }
}

static void write_rows(png_structp png, png_infop info, cairo_surface_t *surface,
                       unsigned char *row) {
    const int width = cairo_image_surface_get_width(surface);
    const int height = cairo_image_surface_get_height(surface);
    const unsigned char *data = cairo_image_surface_get_data(surface);
    png_set_compression_level(png, COMPRESSION);
    png_set_filter(png, PNG_FILTER_TYPE_BASE, PNG_FILTER_SUB);
    png_set_IHDR(png, info, (png_uint_32)width, (png_uint_32)height, 8, PNG_COLOR_TYPE_RGB,
                 PNG_INTERLACE_NONE, PNG_COMPRESSION_TYPE_DEFAULT, PNG_FILTER_TYPE_DEFAULT);
    png_write_info(png, info);
    for (int y = 0; y < height; y++) {
        unpack_row(data + (size_t)y * (size_t)cairo_image_surface_get_stride(surface),
                   (size_t)width, row);
        png_write_row(png, row);
    }
    png_write_end(png, NULL);
}

tl_status tl_report_surface_png(cairo_surface_t *surface, tl_report_text *bytes) {
    unsigned char *row = malloc(3 * (size_t)cairo_image_surface_get_width(surface) + 1);
    png_structp png =
        row ? png_create_write_struct(PNG_LIBPNG_VER_STRING, NULL, fail, warn_nobody) : NULL;
    png_infop info = png ? png_create_info_struct(png) : NULL;
    tl_status status = TL_ERR_MEMORY;
    if (info && setjmp(png_jmpbuf(png)) == 0) {
        png_set_write_fn(png, bytes, append, flush_nothing);
        write_rows(png, info, surface, row);
        png_destroy_write_struct(&png, &info);
        free(row);
        return bytes->failed ? TL_ERR_MEMORY : TL_OK;
    }
    png_destroy_write_struct(&png, &info);
    free(row);
    return status;
}
