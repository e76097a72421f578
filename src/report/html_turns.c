/*
 * html_turns.c - the drawing of how a camera's pictures were turned, against time.
 *
 * Each mark has a shape of its own: a ring by the picture's Moon, a square by its sunspots, a
 * diamond by the rule of the mount. The dashed line is that rule.
 */
#include <math.h>
#include <stdlib.h>

#include "report/html_internal.h"
#include "report/spots_internal.h"

/* Of the drawing, in its own units. */
#define WIDTH 400.0
#define HEIGHT 236.0
#define LEFT 44.0
#define RIGHT 392.0
#define TOP 10.0
#define BOTTOM 198.0

enum { TICKS_MOST = 8 };

typedef enum { BY_MOON, BY_SPOTS, BY_RULE, TURN_MARKS } mark_kind;

typedef struct turn_mark {
    mark_kind kind;
    double t_s, up_deg, sigma_deg;
} turn_mark;

typedef struct turns {
    turn_mark *mark; /* owned; in order of time */
    size_t count;
    bool has[TURN_MARKS];
    double *rule_deg; /* owned; of the rule at each mark; NULL if there is none */
    double t0_s, t1_s, low_deg, high_deg;
} turns;

static int by_time(const void *a, const void *b) {
    const turn_mark *p = a, *q = b;
    return (p->t_s > q->t_s) - (p->t_s < q->t_s);
}

static void put(turns *t, mark_kind kind, double t_s, double up_rad, double sigma_rad) {
    if (!isfinite(t_s) || !isfinite(up_rad))
        return;
    const double known_rad = sigma_rad > 0.0 ? fmin(sigma_rad, TL_PI) : 0.0; /* to half a turn */
    t->mark[t->count++] = (turn_mark){kind, t_s, up_rad / TL_DEG, known_rad / TL_DEG};
    t->has[kind] = true;
}

static void collect(const tl_report_page *page, size_t camera, turns *t) {
    for (size_t i = 0; i < page->sequence->count; i++) {
        const tl_track_frame *tracked = tl_report_track_frame(page->sequence, i);
        double up, sigma;
        if (page->sequence->frame[i].camera != camera || !tracked->has_turn || !tracked->has_true)
            continue;
        if (tl_report_moon_turn(page->sequence, i, &up, &sigma))
            put(t, BY_MOON, tracked->true_utc_s, up, sigma);
        else if (tracked->turn_by == TL_TURN_BY_RULE)
            put(t, BY_RULE, tracked->true_utc_s, tracked->up_pa_rad, tracked->up_sigma_rad);
        else if (tracked->turn_by != TL_TURN_BY_SPOTS)
            put(t, BY_MOON, tracked->true_utc_s, tracked->up_pa_rad, tracked->up_sigma_rad);
        if (tracked->has_spots_up)
            put(t, BY_SPOTS, tracked->true_utc_s, tracked->spots_up_rad,
                tracked->spots_up_sigma_rad);
    }
    qsort(t->mark, t->count, sizeof *t->mark, by_time);
}

/* One run without jumps where the pictures follow a rule; else all within half a turn of their
 * mean direction. */
static void unwrap(turns *t, bool shared) {
    double x = 0.0, y = 0.0;
    for (size_t k = 0; k < t->count; k++) {
        x += cos(t->mark[k].up_deg * TL_DEG);
        y += sin(t->mark[k].up_deg * TL_DEG);
    }
    double near = tl_angle_positive(atan2(y, x)) / TL_DEG;
    for (size_t k = 0; k < t->count; k++) {
        t->mark[k].up_deg = near + remainder(t->mark[k].up_deg - near, 360.0);
        if (shared)
            near = t->mark[k].up_deg;
    }
}

/* The parallactic angle of the track's frames is the rule of a level camera; of one that follows
 * the sky it is a constant. Its height is that of the marks, on average. */
static bool make_rule(const tl_report_page *page, size_t camera, turns *t) {
    const tl_track_camera *held = &page->sequence->track.camera[camera];
    double mean = 0.0, before = 0.0;
    if (!held->has_rotation ||
        (held->holding != TL_HOLDING_ALTAZ && held->holding != TL_HOLDING_FIXED))
        return true;
    t->rule_deg = calloc(t->count + 1, sizeof *t->rule_deg);
    if (!t->rule_deg)
        return false;
    for (size_t k = 0; k < t->count; k++) {
        tl_sky sky;
        if (held->holding == TL_HOLDING_ALTAZ &&
            tl_sky_at(&page->sequence->options.site, t->mark[k].t_s, &page->sequence->options.sky,
                      &sky) == TL_OK) {
            const double angle = sky.parallactic_rad / TL_DEG;
            before = k == 0 ? angle : before + remainder(angle - before, 360.0);
        }
        t->rule_deg[k] = before;
        mean += (t->mark[k].up_deg - before) / (double)t->count;
    }
    for (size_t k = 0; k < t->count; k++)
        t->rule_deg[k] += mean;
    return true;
}

static void frame_it(turns *t) {
    const double least_deg = 2.0, least_s = 60.0;
    t->t0_s = t->mark[0].t_s;
    t->t1_s = fmax(t->mark[t->count - 1].t_s, t->t0_s + least_s);
    t->low_deg = t->high_deg = t->mark[0].up_deg;
    for (size_t k = 0; k < t->count; k++) {
        const turn_mark *m = &t->mark[k];
        t->low_deg = fmin(t->low_deg, m->up_deg - m->sigma_deg);
        t->high_deg = fmax(t->high_deg, m->up_deg + m->sigma_deg);
        if (t->rule_deg) {
            t->low_deg = fmin(t->low_deg, t->rule_deg[k]);
            t->high_deg = fmax(t->high_deg, t->rule_deg[k]);
        }
    }
    const double spare = 0.07 * (t->high_deg - t->low_deg);
    const double more = fmax(spare, 0.5 * (least_deg - (t->high_deg - t->low_deg)));
    t->low_deg -= more;
    t->high_deg += more;
    const double aside_s = 0.04 * (t->t1_s - t->t0_s);
    t->t0_s -= aside_s;
    t->t1_s += aside_s;
}

static double x_of(const turns *t, double t_s) {
    return LEFT + (RIGHT - LEFT) * (t_s - t->t0_s) / (t->t1_s - t->t0_s);
}

static double y_of(const turns *t, double up_deg) {
    return BOTTOM - (BOTTOM - TOP) * (up_deg - t->low_deg) / (t->high_deg - t->low_deg);
}

static void add_pair(tl_report_text *html, const char *before, double x, double y) {
    tl_report_text_add(html, before);
    tl_report_add_fixed(html, x, 1);
    tl_report_text_add(html, " ");
    tl_report_add_fixed(html, y, 1);
}

/* ---- axes ----------------------------------------------------------------------------------- */

static double step_for(double span, const double *steps, size_t count) {
    size_t k = 0;
    while (k + 1 < count && span / steps[k] > TICKS_MOST)
        k++;
    return steps[k];
}

static void add_label(tl_report_text *html, const char *class_name, double x, double y) {
    tl_report_text_addf(html, "<text class=\"%s\" x=\"", class_name);
    tl_report_add_fixed(html, x, 1);
    tl_report_text_add(html, "\" y=\"");
    tl_report_add_fixed(html, y, 1);
    tl_report_text_add(html, "\">");
}

static void add_angles(const turns *t, tl_report_text *html) {
    static const double steps[] = {0.5, 1.0, 2.0, 5.0, 10.0, 15.0, 30.0, 45.0, 90.0};
    const double step = step_for(t->high_deg - t->low_deg, steps, sizeof steps / sizeof *steps);
    for (double up = ceil(t->low_deg / step) * step; up <= t->high_deg; up += step) {
        const double shown = fmod(fmod(up, 360.0) + 360.0, 360.0);
        add_pair(html, "<path class=\"tick\" d=\"M", LEFT, y_of(t, up));
        add_pair(html, "L", RIGHT, y_of(t, up));
        tl_report_text_add(html, "\"/>");
        add_label(html, "end", LEFT - 6.0, y_of(t, up));
        tl_report_add_fixed(html, shown, step < 1.0 ? 1 : 0);
        tl_report_text_add(html, "\u00b0</text>");
    }
}

static void add_times(const turns *t, tl_report_text *html) {
    static const double steps[] = {60.0,   120.0,  300.0,  600.0,   900.0,
                                   1800.0, 3600.0, 7200.0, 21600.0, TL_DAY_S};
    const double step = step_for(t->t1_s - t->t0_s, steps, sizeof steps / sizeof *steps);
    const double first = ceil(t->t0_s / step) * step;
    for (int k = 0; k <= TICKS_MOST && first + k * step <= t->t1_s; k++) {
        char iso[TL_TIME_TEXT_SIZE];
        const double x = x_of(t, first + k * step);
        tl_time_text(first + k * step, 0, "", iso);
        add_pair(html, "<path class=\"tick\" d=\"M", x, BOTTOM);
        add_pair(html, "L", x, BOTTOM + 5.0);
        tl_report_text_add(html, "\"/>");
        add_label(html, "middle", x, BOTTOM + 15.0);
        tl_report_text_addf(html, "%.5s</text>", iso + 11);
    }
    add_label(html, "middle", 0.5 * (LEFT + RIGHT), HEIGHT - 6.0);
    tl_report_text_add(html, "UTC</text>");
}

/* ---- marks ---------------------------------------------------------------------------------- */

static const char *const shape[TURN_MARKS] = {[BY_MOON] = "m-4 0a4 4 0 1 0 8 0a4 4 0 1 0-8 0z",
                                              [BY_SPOTS] = "m-3-3h6v6h-6z",
                                              [BY_RULE] = "m0-5l4.5 5l-4.5 5l-4.5-5z"};
static const char *const shape_class[TURN_MARKS] = {"by-moon", "by-spots", "by-rule"};

static void add_mark(const turns *t, const turn_mark *m, tl_report_text *html) {
    const double x = x_of(t, m->t_s), y = y_of(t, m->up_deg);
    const double low = y_of(t, m->up_deg - m->sigma_deg), high = y_of(t, m->up_deg + m->sigma_deg);
    const double seen = 5.0; /* beyond the mark itself */
    if (low - y > seen) {
        add_pair(html, "<path class=\"error\" d=\"M", x, low);
        add_pair(html, "L", x, high);
        tl_report_text_add(html, "\"/>");
    }
    tl_report_text_addf(html, "<path class=\"%s\" d=\"", shape_class[m->kind]);
    add_pair(html, "M", x, y);
    tl_report_text_addf(html, "%s\"/>", shape[m->kind]);
}

static void add_rule(const turns *t, tl_report_text *html) {
    if (!t->rule_deg)
        return;
    tl_report_text_add(html, "<path class=\"rule\" d=\"");
    for (size_t k = 0; k < t->count; k++)
        add_pair(html, k == 0 ? "M" : "L", x_of(t, t->mark[k].t_s), y_of(t, t->rule_deg[k]));
    tl_report_text_add(html, "\"/>");
}

static void add_legend(const turns *t, tl_report_text *html) {
    static const char *const told[TURN_MARKS] = {"by the Moon in the picture", "by its sunspots",
                                                 "by the rule of the mount"};
    tl_report_text_add(html, "<figcaption class=\"key\">");
    for (int kind = 0; kind < TURN_MARKS; kind++)
        if (t->has[kind])
            tl_report_text_addf(html,
                                "<span><svg viewBox=\"0 0 14 14\" aria-hidden=\"true\"><path "
                                "class=\"%s\" d=\"M7 7%s\"/></svg>%s</span>",
                                shape_class[kind], shape[kind], told[kind]);
    if (t->rule_deg)
        tl_report_text_add(html, "<span><svg viewBox=\"0 0 14 14\" aria-hidden=\"true\"><path "
                                 "class=\"rule\" d=\"M0 7h14\"/></svg>the rule</span>");
    tl_report_text_add(html, "<span>bars: one sigma, where it is larger than the "
                             "mark</span></figcaption>");
}

static void add_drawing(const turns *t, tl_report_text *html) {
    tl_report_text_addf(html,
                        "<figure class=\"turns\"><p class=\"axis\">Direction on the sky of the "
                        "picture\u2019s upper edge (position angle, from north through "
                        "east)</p><svg viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"Drawing: "
                        "the direction on the sky of the picture\u2019s upper edge against time; "
                        "the figures are in the table of turns\">",
                        (int)WIDTH, (int)HEIGHT);
    add_angles(t, html);
    add_times(t, html);
    add_rule(t, html);
    for (size_t k = 0; k < t->count; k++)
        add_mark(t, &t->mark[k], html);
    tl_report_text_add(html, "</svg>");
    add_legend(t, html);
    tl_report_text_add(html, "</figure>\n");
}

void tl_report_html_turns(const tl_report_page *page, size_t k) {
    turns t = {.mark = calloc(2 * page->sequence->count + 1, sizeof *t.mark)};
    bool made = t.mark != NULL;
    if (made)
        collect(page, k, &t);
    if (made && t.count >= 2) {
        unwrap(&t, page->sequence->track.camera[k].has_rotation);
        made = make_rule(page, k, &t);
        if (made) {
            frame_it(&t);
            add_drawing(&t, page->html);
        }
    }
    page->html->failed = page->html->failed || !made;
    free(t.mark);
    free(t.rule_deg);
}
