/*
 * caption.c - what people draw over a picture: words, arrows, a border. By cairo, on coded values.
 */
#include <math.h>

#include <cairo.h>

#include "simulate/simulate_internal.h"

#define ARROW_HEAD 4.0        /* length of the head over the width of the shaft */
#define ARROW_HALF_ANGLE 0.45 /* of the head, radians */
static const char FONT[] = "DejaVu Sans";

static void set_colour(cairo_t *cairo, const double colour[TL_SIMULATE_CHANNELS]) {
    double code[TL_SIMULATE_CHANNELS];
    for (int c = 0; c < TL_SIMULATE_CHANNELS; c++)
        code[c] = tl_simulate_srgb(fmin(colour[c], 1.0));
    cairo_set_source_rgb(cairo, code[0], code[1], code[2]);
}

/* cairo counts from the corner of the first pixel, pictures from its middle. */
static void to_cairo(const tl_simulate_place *place, double x_sr, double y_sr, double *x,
                     double *y) {
    *x = place->sun_x + x_sr * place->sun_r + 0.5;
    *y = place->sun_y + y_sr * place->sun_r + 0.5;
}

static void draw_text(cairo_t *cairo, const tl_simulate_place *place,
                      const tl_simulate_caption *caption) {
    double x, y;
    to_cairo(place, caption->x_sr, caption->y_sr, &x, &y);
    set_colour(cairo, caption->colour);
    cairo_set_font_size(cairo, caption->size_sr * place->sun_r);
    cairo_move_to(cairo, x, y);
    cairo_show_text(cairo, caption->text);
}

static void draw_arrow(cairo_t *cairo, const tl_simulate_place *place,
                       const tl_simulate_arrow *arrow) {
    double x, y, tip_x, tip_y, width = arrow->width_sr * place->sun_r;
    to_cairo(place, arrow->x_sr, arrow->y_sr, &x, &y);
    to_cairo(place, arrow->to_x_sr, arrow->to_y_sr, &tip_x, &tip_y);
    double back = atan2(y - tip_y, x - tip_x), head = ARROW_HEAD * width;
    set_colour(cairo, arrow->colour);
    cairo_set_line_width(cairo, width);
    cairo_move_to(cairo, x, y);
    cairo_line_to(cairo, tip_x + 0.5 * head * cos(back), tip_y + 0.5 * head * sin(back));
    cairo_stroke(cairo);
    cairo_move_to(cairo, tip_x, tip_y);
    for (int side = -1; side <= 1; side += 2)
        cairo_line_to(cairo, tip_x + head * cos(back + side * ARROW_HALF_ANGLE),
                      tip_y + head * sin(back + side * ARROW_HALF_ANGLE));
    cairo_fill(cairo);
}

static void draw_border(cairo_t *cairo, const tl_simulate_settings *settings) {
    double w = settings->border.width_px;
    set_colour(cairo, settings->border.colour);
    cairo_set_line_width(cairo, w);
    cairo_rectangle(cairo, 0.5 * w, 0.5 * w, settings->width - w, settings->height - w);
    cairo_stroke(cairo);
}

static void draw_all(cairo_t *cairo, const tl_simulate_settings *settings,
                     const tl_simulate_place *place) {
    cairo_select_font_face(cairo, FONT, CAIRO_FONT_SLANT_NORMAL, CAIRO_FONT_WEIGHT_BOLD);
    for (int i = 0; i < settings->arrow_count; i++)
        draw_arrow(cairo, place, &settings->arrow[i]);
    for (int i = 0; i < settings->caption_count; i++)
        draw_text(cairo, place, &settings->caption[i]);
    if (settings->border.on)
        draw_border(cairo, settings);
}

/* Pixels into the surface, or back. Its pixels are 0xXXRRGGBB words, rows `stride` bytes apart. */
static void exchange(cairo_surface_t *surface, int width, int height, bool into,
                     unsigned char *rgb) {
    unsigned char *bytes = cairo_image_surface_get_data(surface);
    size_t stride = (size_t)cairo_image_surface_get_stride(surface);
    for (size_t y = 0; y < (size_t)height; y++) {
        uint32_t *row = (uint32_t *)(void *)(bytes + y * stride);
        for (size_t x = 0; x < (size_t)width; x++) {
            unsigned char *p = rgb + TL_SIMULATE_CHANNELS * (y * (size_t)width + x);
            if (into) {
                row[x] = (uint32_t)p[0] << 16 | (uint32_t)p[1] << 8 | p[2];
            } else {
                p[0] = (unsigned char)(row[x] >> 16);
                p[1] = (unsigned char)(row[x] >> 8);
                p[2] = (unsigned char)row[x];
            }
        }
    }
}

tl_status tl_simulate_captions_draw(const tl_simulate_settings *settings,
                                    const tl_simulate_place *place, unsigned char *rgb) {
    if (settings->caption_count == 0 && settings->arrow_count == 0 && !settings->border.on)
        return TL_OK;
    cairo_surface_t *surface =
        cairo_image_surface_create(CAIRO_FORMAT_RGB24, settings->width, settings->height);
    cairo_t *cairo = cairo_create(surface);
    if (cairo_status(cairo) == CAIRO_STATUS_SUCCESS) {
        exchange(surface, settings->width, settings->height, true, rgb);
        cairo_surface_mark_dirty(surface);
        draw_all(cairo, settings, place);
        cairo_surface_flush(surface);
    }
    bool drawn = cairo_status(cairo) == CAIRO_STATUS_SUCCESS;
    if (drawn)
        exchange(surface, settings->width, settings->height, false, rgb);
    cairo_destroy(cairo);
    cairo_surface_destroy(surface);
    return drawn ? TL_OK : TL_ERR_MEMORY; /* image surfaces fail for nothing else */
}
