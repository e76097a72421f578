/*
 * slide_edges.c - how a picture is measured, and how large the Moon was before the Sun.
 */
#include <math.h>
#include <stdlib.h>

#include "report/talk_internal.h"

static const double SIDE = 790.0, COLUMN = 1010.0, COLUMN_WIDTH = 814.0;

static const tl_sequence_frame *frame_of(const tl_report_source *source) {
    return &source->sequence->frame[tl_report_plate_deepest(source)->frame];
}

/* ---- edge points ------------------------------------------------------------------------------
 */

static bool edges_possible(const tl_report_source *source) {
    return tl_report_plate_deepest(source) && frame_of(source)->limb.edge_count > 0;
}

static void edges_headline(const tl_report_source *source, tl_report_text *words) {
    (void)source;
    tl_report_text_add(words, "Points on the two edges carry two circles");
}

static void edges_note(const tl_report_source *source, tl_report_text *words) {
    (void)source;
    tl_report_text_add(words, "The edge is found to a fraction of a pixel at many places; a circle "
                              "through all of them is known far better than any single one. "
                              "Crosses are points left out.");
}

static void draw_small(tl_report_slide_pen *pen, const tl_report_window *window) {
    const tl_preview *small = &frame_of(pen->source)->preview;
    unsigned char *rgb = NULL;
    cairo_surface_t *surface = NULL;
    const tl_status status = tl_preview_pixels(small, &rgb);
    if (status == TL_OK)
        surface = tl_report_surface_of(rgb, small->width, small->height, true);
    pen->failed = pen->failed || status == TL_ERR_MEMORY || (status == TL_OK && !surface);
    free(rgb);
    if (!surface)
        return;
    tl_report_draw_surface(
        pen->cr, surface, CAIRO_FILTER_GOOD, tl_report_window_x(window, small->x0_px),
        tl_report_window_y(window, small->y0_px), small->width / small->scale * window->zoom,
        small->height / small->scale * window->zoom);
    cairo_surface_destroy(surface);
}

/* The marks are made for a sheet that is looked at from near by. */
static void draw_edges(tl_report_slide_pen *pen, double left, double top) {
    const double enlarged = 1.7, reach_sr = 1.3, apart = 22.0;
    const tl_limb *limb = &frame_of(pen->source)->limb;
    const double side = SIDE / enlarged, radius = limb->circle[TL_SUN_R];
    const tl_report_window window = {.width = side,
                                     .height = side,
                                     .x0_px = limb->circle[TL_SUN_X] - reach_sr * radius,
                                     .y0_px = limb->circle[TL_SUN_Y] - reach_sr * radius,
                                     .zoom = 0.5 * side / (reach_sr * radius)};
    cairo_save(pen->cr);
    cairo_translate(pen->cr, left, top);
    cairo_rectangle(pen->cr, 0.0, 0.0, SIDE, SIDE);
    cairo_clip(pen->cr);
    cairo_scale(pen->cr, enlarged, enlarged);
    draw_small(pen, &window);
    tl_report_draw_limbs(pen->cr, &window, limb, apart);
    cairo_restore(pen->cr);
    cairo_new_path(pen->cr);
}

static void draw_key(tl_report_slide_pen *pen, double y, tl_report_mark mark, const char *words) {
    static const tl_report_type type = {34.0, 34.0, 0.0, 0.5, TL_REPORT_INK_LABEL};
    tl_report_draw_mark(pen->cr, mark, COLUMN + 16.0, y, 9.0);
    tl_report_set_line_string(pen, &type, words, COLUMN + 60.0, y);
}

static void edges_draw(tl_report_slide_pen *pen) {
    const tl_limb *limb = &frame_of(pen->source)->limb;
    size_t used = 0;
    tl_report_text points = {0}, scatter = {0};
    for (size_t k = 0; k < limb->edge_count; k++)
        used += limb->edge[k].used;
    draw_edges(pen, TL_REPORT_SLIDE_MARGIN, TL_REPORT_SLIDE_TOP - 10.0);
    tl_report_text_addf(&points, "%zu", used);
    double y = tl_report_set_fact(pen, "Edge points used in this picture", &points, COLUMN,
                                  TL_REPORT_SLIDE_TOP + 80.0, COLUMN_WIDTH);
    tl_report_add_significant(&scatter, limb->residual_px, 2);
    tl_report_text_add(&scatter, "\u00a0px");
    y = tl_report_set_fact(pen, "Their scatter about the circles", &scatter, COLUMN, y + 40.0,
                           COLUMN_WIDTH);
    draw_key(pen, y + 90.0, TL_REPORT_MARK_SUN, "on the Sun\u2019s edge");
    draw_key(pen, y + 150.0, TL_REPORT_MARK_MOON, "on the Moon\u2019s");
    draw_key(pen, y + 210.0, TL_REPORT_MARK_DROPPED, "left out");
    draw_key(pen, y + 270.0, TL_REPORT_MARK_CUSP, "where the edges meet");
}

const tl_report_slide tl_report_slide_edges = {"edges", edges_possible, edges_headline, edges_note,
                                               edges_draw};

/* ---- the Moon's size --------------------------------------------------------------------------
 */

/* Of the series, else of the deepest picture. */
static double measured_ratio(const tl_report_source *source, double *sigma) {
    const tl_track *track = &source->sequence->track;
    const tl_limb *limb = &frame_of(source)->limb;
    const bool series = track->ratio_measured > 0.0;
    *sigma = series ? track->ratio_measured_sigma : limb->ratio_raw_sigma;
    return series ? track->ratio_measured : limb->ratio_raw;
}

static bool size_possible(const tl_report_source *source) {
    double sigma;
    return tl_report_plate_deepest(source) && measured_ratio(source, &sigma) > 0.0;
}

static void size_headline(const tl_report_source *source, tl_report_text *words) {
    double sigma;
    const double more = measured_ratio(source, &sigma) - 1.0;
    if (fabs(more) <= sigma) {
        tl_report_text_add(words, "The Moon looked as large as the Sun");
        return;
    }
    tl_report_text_add(words, "The Moon looked ");
    tl_report_add_fixed(words, 100.0 * fabs(more), tl_report_decimals(100.0 * sigma, 1));
    tl_report_text_add(words,
                       more > 0.0 ? "\u00a0% larger than the Sun" : "\u00a0% smaller than the Sun");
}

static void size_note(const tl_report_source *source, tl_report_text *words) {
    (void)source;
    tl_report_text_add(words, "The two radii are measured in the pictures alone. Glare makes the "
                              "Sun look larger and the Moon smaller, so the true ratio may be a "
                              "little larger. Only a Moon that looks larger than the Sun can cover "
                              "it wholly.");
}

static void size_draw(tl_report_slide_pen *pen) {
    static const double dashed[] = {10.0, 10.0};
    static const tl_report_type name = {TL_REPORT_SLIDE_BODY, 30.0, 0.5, 0.0, TL_REPORT_INK_TEXT};
    static const tl_report_type value = {60.0, 40.0, 0.5, 0.0, TL_REPORT_INK_SUN};
    const double radius = 250.0, sun_x = 600.0, moon_x = 1320.0, y = 520.0;
    double sigma;
    const double ratio = measured_ratio(pen->source, &sigma);
    tl_report_text words = {0};
    tl_report_draw_disc(pen->cr, TL_REPORT_TONE_SUN, sun_x, y, radius);
    tl_report_draw_disc(pen->cr, TL_REPORT_TONE_RIM, moon_x, y, radius * ratio);
    cairo_set_dash(pen->cr, dashed, 2, 0.0);
    for (int side = -1; side <= 1; side += 2) {
        cairo_move_to(pen->cr, sun_x, y + side * radius);
        cairo_line_to(pen->cr, moon_x + 1.25 * radius, y + side * radius);
    }
    tl_report_set_ink(pen->cr, TL_REPORT_INK_TEXT);
    cairo_set_line_width(pen->cr, 2.5);
    cairo_stroke(pen->cr);
    cairo_set_dash(pen->cr, NULL, 0, 0.0);
    tl_report_set_string(pen, &name, "Sun", (tl_report_rect){sun_x - 150.0, 820.0, 300.0, 44.0});
    tl_report_set_string(pen, &name, "Moon", (tl_report_rect){moon_x - 150.0, 820.0, 300.0, 44.0});
    tl_report_text_add(&words, "ratio of the radii ");
    tl_report_add_measure(&words, ratio, sigma, 4, "");
    tl_report_set_words(pen, &value, &words, (tl_report_rect){260.0, 900.0, 1400.0, 64.0});
}

const tl_report_slide tl_report_slide_size = {"size", size_possible, size_headline, size_note,
                                              size_draw};
