/*
 * slide_clock.c - how the clock was found: the measured distances at the camera's times, and moved
 * by the clock's error onto the almanac's curve.
 */
#include <math.h>
#include <string.h>

#include "report/path_internal.h"
#include "report/talk_internal.h"

/* The graph: what its sides mean, and where it stands. */
typedef struct graph {
    tl_report_rect box;
    double from_s, to_s, low, high;
} graph;

static const tl_report_rect MAIN = {190.0, 256.0, 1080.0, 640.0};

static double graph_x(const graph *g, double t_s) {
    return g->box.left + g->box.width * (t_s - g->from_s) / (g->to_s - g->from_s);
}

static double graph_y(const graph *g, double separation) {
    return g->box.top + g->box.height * (g->high - separation) / (g->high - g->low);
}

static double separation_of(const tl_report_point *point) {
    return hypot(point->east_sr, point->north_sr);
}

static const tl_clock *main_clock(const tl_report_source *source) {
    return &tl_track_main(&source->sequence->track)->clock;
}

/* A picture's time by the camera, zone and whole days taken out, and its true one; false if it took
 * no part. */
static bool times_of(const tl_report_source *source, size_t i, double *camera_s, double *true_s) {
    const tl_sequence *sequence = source->sequence;
    const tl_sequence_frame *frame = &sequence->frame[i];
    const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
    const tl_clock *clock = main_clock(source);
    if (frame->limb.status != TL_LIMB_MEASURED || frame->camera != sequence->track.main_camera ||
        frame->info.time.source == TL_TIME_NONE || !tracked->has_true || frame->excluded ||
        tl_report_is_outlier(sequence, i))
        return false;
    *camera_s = frame->info.time.t_camera_s - 60.0 * clock->zone_minutes - clock->day_shift_s;
    *true_s = tracked->true_utc_s;
    return true;
}

static bool possible(const tl_report_source *source) {
    double camera_s, true_s;
    bool any = false;
    for (size_t i = 0; i < source->sequence->count; i++)
        any = any || times_of(source, i, &camera_s, &true_s);
    return any && main_clock(source)->solved && source->path.on_sky && source->path.line_count > 1;
}

/* The zone stands beside the graph. */
static void headline(const tl_report_source *source, tl_report_text *words) {
    static const char zone[] = " in zone";
    const tl_clock *clock = main_clock(source);
    tl_report_text setting = {0};
    if (fabs(clock->offset_s) < clock->sigma_s && !tl_report_clock_unset(source->sequence, clock)) {
        tl_report_text_add(words, "The camera\u2019s clock was right, to ");
        tl_report_add_sigma(words, clock->sigma_s, tl_report_decimals(clock->sigma_s, 1));
        tl_report_text_add(words, "\u00a0s");
        return;
    }
    tl_report_words_clock_setting(source->sequence, main_clock(source), &setting);
    const char *string = tl_report_text_string(&setting), *end = strstr(string, zone);
    tl_report_text_add(words, source->sequence->track.camera_count > 1
                                  ? "The main camera\u2019s clock was "
                                  : "The camera\u2019s clock was ");
    tl_report_text_bytes(words, string, end ? (size_t)(end - string) : strlen(string));
    words->failed = words->failed || setting.failed;
    tl_report_text_free(&setting);
}

static void note(const tl_report_source *source, tl_report_text *words) {
    tl_report_text_add(words, "Each picture measures how far apart the centres were. Moved by one "
                              "and the same time, all of them fall on the almanac\u2019s curve: "
                              "that time is the clock\u2019s error. ");
    tl_report_words_clock(source->sequence, words);
}

static void draw_curve(tl_report_slide_pen *pen, const graph *g, double width) {
    const tl_report_path *path = &pen->source->path;
    cairo_save(pen->cr);
    cairo_rectangle(pen->cr, g->box.left, g->box.top, g->box.width, g->box.height);
    cairo_clip(pen->cr);
    cairo_new_path(pen->cr);
    for (size_t k = 0; k < path->line_count; k++)
        cairo_line_to(pen->cr, graph_x(g, path->line[k].t_s),
                      graph_y(g, separation_of(&path->line[k])));
    tl_report_set_ink(pen->cr, TL_REPORT_INK_TEXT);
    cairo_set_line_width(pen->cr, width);
    cairo_stroke(pen->cr);
    cairo_restore(pen->cr);
}

static void draw_point(cairo_t *cr, double x, double y, double radius, bool hollow) {
    cairo_new_path(cr);
    cairo_arc(cr, x, y, radius, 0.0, 2.0 * TL_PI);
    if (hollow)
        cairo_set_source_rgb(cr, 0.0, 0.0, 0.0);
    else
        tl_report_set_ink(cr, TL_REPORT_INK_SUN);
    cairo_fill_preserve(cr);
    tl_report_set_ink(cr, hollow ? TL_REPORT_INK_MOON : TL_REPORT_INK_SUN);
    cairo_set_line_width(cr, 3.0);
    cairo_stroke(cr);
}

static graph main_graph(const tl_report_source *source) {
    const tl_report_path *path = &source->path;
    graph g = {.box = MAIN, .from_s = path->line[0].t_s, .low = 9.0};
    g.to_s = path->line[path->line_count - 1].t_s;
    for (size_t k = 0; k < path->line_count; k++) {
        g.low = fmin(g.low, separation_of(&path->line[k]));
        g.high = fmax(g.high, separation_of(&path->line[k]));
    }
    const double margin = 0.06 * (g.high - g.low);
    const double pause_s = 0.03 * (g.to_s - g.from_s);
    g.low = fmax(g.low - margin, 0.0);
    g.high += margin;
    g.from_s -= pause_s;
    g.to_s += pause_s;
    return g;
}

static void draw_time_axis(tl_report_slide_pen *pen, const graph *g) {
    static const tl_report_type tick = {26.0, 26.0, 0.5, 0.5, TL_REPORT_INK_LABEL};
    const double bottom = g->box.top + g->box.height;
    const double step_s = g->to_s - g->from_s > 2.5 * 3600.0 ? 1800.0 : 900.0;
    for (double t_s = ceil(g->from_s / step_s) * step_s; t_s < g->to_s; t_s += step_s) {
        const double x = graph_x(g, t_s);
        char iso[TL_TIME_TEXT_SIZE];
        tl_report_text label = {0};
        tl_time_text(t_s, 0, "", iso);
        tl_report_text_addf(&label, "%.5s", iso + 11);
        cairo_move_to(pen->cr, x, bottom);
        cairo_line_to(pen->cr, x, bottom + 10.0);
        tl_report_set_line(pen, &tick, &label, x, bottom + 34.0);
    }
    tl_report_set_line_string(pen, &tick, "UTC", g->box.left + 0.5 * g->box.width, bottom + 76.0);
}

static void draw_axes(tl_report_slide_pen *pen, const graph *g) {
    static const tl_report_type tick = {26.0, 26.0, 1.0, 0.5, TL_REPORT_INK_LABEL};
    static const tl_report_type name = {26.0, 26.0, 0.0, 0.5, TL_REPORT_INK_LABEL};
    const double step = g->high - g->low > 0.6 ? 0.5 : 0.1;
    tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE);
    cairo_set_line_width(pen->cr, 2.0);
    cairo_rectangle(pen->cr, g->box.left, g->box.top, g->box.width, g->box.height);
    cairo_stroke(pen->cr);
    for (double s = ceil(g->low / step) * step; s < g->high; s += step) {
        tl_report_text label = {0};
        tl_report_add_fixed(&label, s, 1);
        tl_report_set_line(pen, &tick, &label, g->box.left - 16.0, graph_y(g, s));
        tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE);
        cairo_move_to(pen->cr, g->box.left, graph_y(g, s));
        cairo_line_to(pen->cr, g->box.left + 10.0, graph_y(g, s));
        cairo_stroke(pen->cr);
    }
    tl_report_set_line_string(pen, &name, "Distance of the centres, solar radii",
                              TL_REPORT_SLIDE_MARGIN, g->box.top - 26.0);
    draw_time_axis(pen, g);
    tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE);
    cairo_stroke(pen->cr);
}

static void draw_points(tl_report_slide_pen *pen, const graph *g, double radius) {
    for (int hollow = 1; hollow >= 0; hollow--)
        for (size_t i = 0; i < pen->source->sequence->count; i++) {
            double camera_s, true_s;
            if (!times_of(pen->source, i, &camera_s, &true_s))
                continue;
            const double t_s = hollow ? camera_s : true_s;
            const double y = graph_y(g, pen->source->sequence->frame[i].limb.separation_sr);
            if (t_s >= g->from_s && t_s <= g->to_s)
                draw_point(pen->cr, graph_x(g, t_s), y, hollow ? radius + 1.5 : radius,
                           hollow != 0);
        }
}

/* ---- the shift enlarged ------------------------------------------------------------------------
 */

/* Solar radii a second, of the curve at an instant. */
static double slope_at(const tl_report_path *path, double t_s) {
    size_t k = 1;
    while (k + 1 < path->line_count && path->line[k].t_s < t_s)
        k++;
    return (separation_of(&path->line[k]) - separation_of(&path->line[k - 1])) /
           (path->line[k].t_s - path->line[k - 1].t_s);
}

/* Where the curve is steep the picture that lies on it best: there the shift shows as what it is.
 */
static bool choose_frame(const tl_report_source *source, size_t *frame) {
    const tl_sequence *sequence = source->sequence;
    double camera_s, true_s, steepest = 0.0, best = 0.0;
    bool found = false;
    for (size_t i = 0; i < sequence->count; i++)
        if (times_of(source, i, &camera_s, &true_s))
            steepest = fmax(steepest, fabs(slope_at(&source->path, true_s)));
    for (size_t i = 0; i < sequence->count; i++) {
        const double off = fabs(tl_report_track_frame(sequence, i)->residual_sr);
        if (times_of(source, i, &camera_s, &true_s) &&
            fabs(slope_at(&source->path, true_s)) >= 0.7 * steepest && (!found || off < best)) {
            *frame = i;
            best = off;
            found = true;
        }
    }
    return found;
}

static void draw_shift(tl_report_slide_pen *pen, const graph *g, double from_s, double to_s,
                       double y) {
    static const tl_report_type type = {30.0, 26.0, 0.5, 0.5, TL_REPORT_INK_TEXT};
    const double x0 = graph_x(g, from_s), x1 = graph_x(g, to_s), way = x1 > x0 ? 1.0 : -1.0;
    const double head = 14.0;
    tl_report_text words = {0};
    if (fabs(x1 - x0) > 60.0) {
        cairo_move_to(pen->cr, x0 + way * 16.0, y);
        cairo_line_to(pen->cr, x1 - way * 14.0, y);
        cairo_move_to(pen->cr, x1 - way * (14.0 + head), y - 0.6 * head);
        cairo_line_to(pen->cr, x1 - way * 14.0, y);
        cairo_line_to(pen->cr, x1 - way * (14.0 + head), y + 0.6 * head);
        tl_report_set_ink(pen->cr, TL_REPORT_INK_TEXT);
        cairo_set_line_width(pen->cr, 3.0);
        cairo_stroke(pen->cr);
    }
    tl_report_add_fixed(&words, fabs(to_s - from_s),
                        tl_report_decimals(main_clock(pen->source)->sigma_s, 1));
    tl_report_text_add(&words, "\u00a0s");
    tl_report_set_line(pen, &type, &words, g->box.left + 0.5 * g->box.width,
                       g->box.top + g->box.height - 30.0);
}

/* Within the curve's hollow, which is empty; nothing if the shift shows without it, or is none. */
static void draw_inset(tl_report_slide_pen *pen, const graph *whole) {
    const double seen_s = 0.05 * (whole->to_s - whole->from_s), least_s = 1.0;
    const double sigma_s = main_clock(pen->source)->sigma_s;
    const tl_report_rect box = {whole->box.left + 0.31 * whole->box.width, whole->box.top + 60.0,
                                0.38 * whole->box.width, 0.40 * whole->box.height};
    static const tl_report_type name = {26.0, 26.0, 0.5, 0.5, TL_REPORT_INK_LABEL};
    size_t frame = 0;
    double camera_s, true_s;
    if (!choose_frame(pen->source, &frame) || !times_of(pen->source, frame, &camera_s, &true_s) ||
        fabs(camera_s - true_s) > seen_s || fabs(camera_s - true_s) < fmax(least_s, sigma_s))
        return;
    const double separation = pen->source->sequence->frame[frame].limb.separation_sr;
    const double half_s = 1.6 * fabs(camera_s - true_s);
    const double middle_s = 0.5 * (camera_s + true_s);
    const double half = 0.8 * half_s * fabs(slope_at(&pen->source->path, true_s));
    const graph g = {box, middle_s - half_s, middle_s + half_s, separation - half,
                     separation + half};
    const double x = graph_x(whole, middle_s), y = graph_y(whole, separation);
    if (!(half > 0.0))
        return;
    const double edge = x < box.left ? box.left : box.left + box.width;
    tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE);
    cairo_set_line_width(pen->cr, 2.0);
    cairo_move_to(pen->cr, x, y);
    cairo_line_to(pen->cr, edge, box.top + 0.5 * box.height);
    cairo_stroke(pen->cr);
    cairo_rectangle(pen->cr, box.left, box.top, box.width, box.height);
    tl_report_set_ink(pen->cr, TL_REPORT_INK_PANEL);
    cairo_fill_preserve(pen->cr);
    tl_report_set_ink(pen->cr, TL_REPORT_INK_LABEL);
    cairo_stroke(pen->cr);
    draw_curve(pen, &g, 4.0);
    draw_shift(pen, &g, camera_s, true_s, graph_y(&g, separation));
    draw_point(pen->cr, graph_x(&g, camera_s), graph_y(&g, separation), 12.0, true);
    draw_point(pen->cr, graph_x(&g, true_s), graph_y(&g, separation), 12.0, false);
    tl_report_set_line_string(pen, &name, "one picture, enlarged", box.left + 0.5 * box.width,
                              box.top - 26.0);
}

/* ---- words beside it ---------------------------------------------------------------------------
 */

static double set_key(tl_report_slide_pen *pen, double left, double y, bool hollow,
                      const char *string) {
    static const tl_report_type type = {34.0, 28.0, 0.0, 0.0, TL_REPORT_INK_TEXT};
    draw_point(pen->cr, left + 14.0, y + 17.0, 11.0, hollow);
    return tl_report_set_string(pen, &type, string, (tl_report_rect){left + 48.0, y, 440.0, 84.0});
}

static void set_facts(tl_report_slide_pen *pen, double left, double y) {
    const double width = TL_REPORT_SLIDE_WIDTH - TL_REPORT_SLIDE_MARGIN - left;
    const tl_clock *clock = main_clock(pen->source);
    tl_report_text zone = {0}, date = {0}, stamps = {0};
    if (!tl_report_clock_unset(pen->source->sequence, clock)) {
        tl_report_add_zone(&zone, clock->zone_minutes);
        tl_report_words_given_mark(clock->zone_given, &zone);
        y = tl_report_set_fact(pen, clock->zone_corrected ? "Zone, corrected" : "Zone", &zone, left,
                               y, width) +
            36.0;
    }
    tl_report_words_date(pen->source->sequence, clock, &date);
    if (date.length > 0)
        y = tl_report_set_fact(pen, "Date", &date, left, y, width) + 36.0;
    tl_report_text_free(&date);
    if (clock->stamps != TL_STAMPS_SOUND) {
        tl_report_words_scatter(clock, &stamps);
        tl_report_set_fact(pen,
                           clock->stamps == TL_STAMPS_LATE ? "Stamps late by" : "Stamps scatter by",
                           &stamps, left, y, width);
    }
}

static void draw(tl_report_slide_pen *pen) {
    const graph g = main_graph(pen->source);
    const double left = 1336.0;
    draw_axes(pen, &g);
    draw_curve(pen, &g, 3.0);
    if (!tl_report_clock_unset(pen->source->sequence, main_clock(pen->source)))
        draw_inset(pen, &g);
    draw_points(pen, &g, 9.0);
    double y = set_key(pen, left, 270.0, true, "measured, at the camera\u2019s time");
    y = set_key(pen, left, y + 28.0, false, "the same at its true time");
    tl_report_set_ink(pen->cr, TL_REPORT_INK_TEXT);
    cairo_set_line_width(pen->cr, 3.0);
    cairo_move_to(pen->cr, left, y + 46.0);
    cairo_line_to(pen->cr, left + 30.0, y + 46.0);
    cairo_stroke(pen->cr);
    y = tl_report_set_string(pen, &(tl_report_type){34.0, 28.0, 0.0, 0.0, TL_REPORT_INK_TEXT},
                             "the almanac\u2019s curve",
                             (tl_report_rect){left + 48.0, y + 28.0, 440.0, 84.0});
    set_facts(pen, left, y + 66.0);
}

const tl_report_slide tl_report_slide_clock = {"clock", possible, headline, note, draw};
