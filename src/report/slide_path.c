/*
 * slide_path.c - the Moon's path across the Sun, and what the dots on it are.
 */
#include <math.h>

#include "report/path_internal.h"
#include "report/talk_internal.h"

/* Letters of the path are 15 px, and have to be read from the back row. */
static const double ENLARGED = 1.8;

static const tl_report_rect PLOT = {TL_REPORT_SLIDE_MARGIN, 196.0, 1190.0, 800.0};

static bool possible(const tl_report_source *source) {
    return source->path.line_count > 1 && source->path.ratio > 0.0;
}

static void headline(const tl_report_source *source, tl_report_text *words) {
    (void)source;
    tl_report_text_add(words, "The Moon\u2019s path across the Sun, dot by dot");
}

static void note(const tl_report_source *source, tl_report_text *words) {
    const tl_report_path *path = &source->path;
    tl_report_text_add(words, path->on_sky ? "North is up, east is left. The line is the almanac "
                                             "for this place; each dot is a photograph. "
                                           : "The pictures alone made this path: no almanac is in "
                                             "it, so its direction on the sky is not known. ");
    if (path->on_sky && path->measured_count > 0)
        tl_report_text_add(words, path->direction_measured
                                      ? "Distance and direction of the dots are measured."
                                      : "The distance of the dots from the Sun\u2019s centre is "
                                        "measured, their direction is the almanac\u2019s.");
}

static void draw_plot(tl_report_slide_pen *pen) {
    const tl_report_path *path = &pen->source->path;
    const tl_report_extent e = tl_report_path_extent(path);
    const double width = PLOT.width / ENLARGED, height = PLOT.height / ENLARGED;
    tl_report_view view = {.scale = fmin(width / (e.x1 - e.x0), height / (e.y1 - e.y0))};
    view.x0 = 0.5 * width - 0.5 * view.scale * (e.x0 + e.x1);
    view.y0 = 0.5 * height - 0.5 * view.scale * (e.y0 + e.y1);
    cairo_save(pen->cr);
    cairo_translate(pen->cr, PLOT.left, PLOT.top);
    cairo_scale(pen->cr, ENLARGED, ENLARGED);
    tl_report_draw_sun(pen->cr, &view);
    tl_report_draw_moon(pen->cr, &view, path);
    tl_report_draw_path(pen->cr, &view, path);
    cairo_restore(pen->cr);
}

static void add_direction(const tl_report_source *source, tl_report_text *words) {
    const tl_track *track = &source->sequence->track;
    if (!track->has_direction)
        return;
    tl_report_add_measure(words, track->direction_pa_rad / TL_DEG,
                          track->direction_sigma_rad / TL_DEG, 2, "");
    tl_report_text_add(words, "\u00b0");
}

static void draw(tl_report_slide_pen *pen) {
    const tl_track *track = &pen->source->sequence->track;
    const tl_report_path *path = &pen->source->path;
    const double left = 1340.0, width = TL_REPORT_SLIDE_WIDTH - TL_REPORT_SLIDE_MARGIN - left;
    double y = TL_REPORT_SLIDE_TOP + 70.0;
    tl_report_text dots = {0}, speed = {0}, direction = {0};
    draw_plot(pen);
    if (path->measured_count > 0) {
        tl_report_text_addf(&dots, "%zu photograph%s measured", path->measured_count,
                            path->measured_count == 1 ? "" : "s");
        y = tl_report_set_fact(pen, "Dots", &dots, left, y, width) + 48.0;
    }
    if (track->speed_sigma_sr_per_h > 0.0) {
        tl_report_add_measure(&speed, track->speed_sr_per_h, track->speed_sigma_sr_per_h, 4,
                              "solar radii an hour");
        y = tl_report_set_fact(pen, "Speed at maximum, measured", &speed, left, y, width) + 48.0;
    }
    add_direction(pen->source, &direction);
    if (direction.length > 0)
        tl_report_set_fact(pen, "Its direction, from north through east", &direction, left, y,
                           width);
    tl_report_text_free(&direction);
}

const tl_report_slide tl_report_slide_path = {"path", possible, headline, note, draw};
