/*
 * slide_clock.c - how the clock was found: the measured distances at the camera's times, and moved
 * by the clock's error onto the almanac's curve.
 */
#include <math.h>
#include <string.h>

#include "report/talk_internal.h"

static const tl_report_rect MAIN = {190.0, 256.0, 1080.0, 640.0};

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

/* Returns whether any is hollow: a clock that is hours off has none of its times on the graph. */
static bool draw_points(tl_report_slide_pen *pen, const tl_report_graph *g, double radius) {
    bool any = false;
    for (int hollow = 1; hollow >= 0; hollow--)
        for (size_t i = 0; i < pen->source->sequence->count; i++) {
            double camera_s, true_s;
            if (!times_of(pen->source, i, &camera_s, &true_s))
                continue;
            const double t_s = hollow ? camera_s : true_s;
            const double separation = pen->source->sequence->frame[i].limb.separation_sr;
            if (t_s < g->from_s || t_s > g->to_s)
                continue;
            any = any || hollow;
            tl_report_graph_point(pen->cr, tl_report_graph_x(g, t_s),
                                  tl_report_graph_y(g, separation), hollow ? radius + 1.5 : radius,
                                  hollow != 0);
        }
    return any;
}

/* ---- the shift enlarged ------------------------------------------------------------------------
 */

/* Where the curve is steep the picture that lies on it best: there the shift shows as what it is.
 */
static bool choose_frame(const tl_report_source *source, size_t *frame) {
    const tl_sequence *sequence = source->sequence;
    double camera_s, true_s, steepest = 0.0, best = 0.0;
    bool found = false;
    for (size_t i = 0; i < sequence->count; i++)
        if (times_of(source, i, &camera_s, &true_s))
            steepest = fmax(steepest, fabs(tl_report_graph_slope(&source->path, true_s)));
    for (size_t i = 0; i < sequence->count; i++) {
        const double off = fabs(tl_report_track_frame(sequence, i)->residual_sr);
        if (times_of(source, i, &camera_s, &true_s) &&
            fabs(tl_report_graph_slope(&source->path, true_s)) >= 0.7 * steepest &&
            (!found || off < best)) {
            *frame = i;
            best = off;
            found = true;
        }
    }
    return found;
}

static void draw_shift(tl_report_slide_pen *pen, const tl_report_graph *g, double from_s,
                       double to_s, double y) {
    static const tl_report_type type = {30.0, 26.0, 0.5, 0.5, TL_REPORT_INK_TEXT};
    const double x0 = tl_report_graph_x(g, from_s), x1 = tl_report_graph_x(g, to_s),
                 way = x1 > x0 ? 1.0 : -1.0;
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
static void draw_inset(tl_report_slide_pen *pen, const tl_report_graph *whole) {
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
    const double half = 0.8 * half_s * fabs(tl_report_graph_slope(&pen->source->path, true_s));
    const tl_report_graph g = {box, middle_s - half_s, middle_s + half_s, separation - half,
                               separation + half};
    const double x = tl_report_graph_x(whole, middle_s), y = tl_report_graph_y(whole, separation);
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
    tl_report_graph_curve(pen, &g, 4.0);
    draw_shift(pen, &g, camera_s, true_s, tl_report_graph_y(&g, separation));
    tl_report_graph_point(pen->cr, tl_report_graph_x(&g, camera_s),
                          tl_report_graph_y(&g, separation), 12.0, true);
    tl_report_graph_point(pen->cr, tl_report_graph_x(&g, true_s), tl_report_graph_y(&g, separation),
                          12.0, false);
    tl_report_set_line_string(pen, &name, "one picture, enlarged", box.left + 0.5 * box.width,
                              box.top - 26.0);
}

/* ---- words beside it ---------------------------------------------------------------------------
 */

static double set_key(tl_report_slide_pen *pen, double left, double y, bool hollow,
                      const char *string) {
    static const tl_report_type type = {34.0, 28.0, 0.0, 0.0, TL_REPORT_INK_TEXT};
    tl_report_graph_point(pen->cr, left + 14.0, y + 17.0, 11.0, hollow);
    return tl_report_set_string(pen, &type, string, (tl_report_rect){left + 48.0, y, 440.0, 84.0});
}

static void set_facts(tl_report_slide_pen *pen, double left, double y) {
    const double width = TL_REPORT_SLIDE_WIDTH - TL_REPORT_SLIDE_MARGIN - left;
    const tl_clock *clock = main_clock(pen->source);
    tl_report_text zone = {0}, shared = {0}, date = {0}, stamps = {0};
    if (!tl_report_clock_unset(pen->source->sequence, clock)) {
        tl_report_add_zone(&zone, clock->zone_minutes);
        tl_report_words_given_mark(clock->zone_given, &zone);
        y = tl_report_set_fact(pen, clock->zone_corrected ? "Zone, corrected" : "Zone", &zone, left,
                               y, width) +
            36.0;
    }
    /* Where it is the larger one, the error in the headline alone would mislead. */
    if (clock->floor_s > clock->sigma_s) {
        tl_report_text_add(&shared, "\u00b1\u00a0");
        tl_report_add_fixed(&shared, clock->floor_s, 1);
        tl_report_text_add(&shared, "\u00a0s");
        y = tl_report_set_fact(pen, "The Moon\u2019s uneven edge adds", &shared, left, y, width) +
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

static double set_keys(tl_report_slide_pen *pen, double left, double y, bool hollow) {
    static const tl_report_type type = {34.0, 28.0, 0.0, 0.0, TL_REPORT_INK_TEXT};
    if (hollow)
        y = set_key(pen, left, y, true, "measured, at the camera\u2019s time") + 28.0;
    y = set_key(pen, left, y, false,
                hollow ? "the same at its true time" : "measured, at its true time") +
        28.0;
    tl_report_set_ink(pen->cr, TL_REPORT_INK_TEXT);
    cairo_set_line_width(pen->cr, 3.0);
    cairo_move_to(pen->cr, left, y + 18.0);
    cairo_line_to(pen->cr, left + 30.0, y + 18.0);
    cairo_stroke(pen->cr);
    return tl_report_set_string(pen, &type, "the almanac\u2019s curve",
                                (tl_report_rect){left + 48.0, y, 440.0, 84.0});
}

static void draw(tl_report_slide_pen *pen) {
    const tl_report_graph g = tl_report_graph_of(&pen->source->path, MAIN);
    const double left = 1336.0;
    tl_report_graph_axes(pen, &g);
    tl_report_graph_curve(pen, &g, 3.0);
    if (!tl_report_clock_unset(pen->source->sequence, main_clock(pen->source)))
        draw_inset(pen, &g);
    const bool hollow = draw_points(pen, &g, 9.0);
    set_facts(pen, left, set_keys(pen, left, 270.0, hollow) + 66.0);
}

const tl_report_slide tl_report_slide_clock = {"clock", possible, headline, note, draw};
