/*
 * timeline_labels.c - letters of the time line beside what they name.
 */
#include <math.h>
#include <string.h>

#include "report/path_internal.h"
#include "report/timeline_internal.h"

#define HALF_HEIGHT (0.5 * TL_REPORT_TIME_TEXT)
#define APART 3.0 /* between two labels at least */

tl_report_time_label *tl_report_time_label_add(cairo_t *cr, tl_report_time_layout *layout,
                                               const char *text, double x, double y) {
    if (layout->label_count == TL_REPORT_TIME_LABELS_MAX ||
        strlen(text) >= TL_REPORT_TIME_LABEL_SIZE)
        return NULL;
    tl_report_time_label *label = &layout->label[layout->label_count++];
    *label = (tl_report_time_label){.x = x,
                                    .y = y,
                                    .half_width =
                                        0.5 * tl_report_text_width(cr, text, TL_REPORT_TIME_TEXT),
                                    .half_height = HALF_HEIGHT,
                                    .colour = TL_REPORT_INK};
    strcpy(label->text, text);
    return label;
}

static bool touches(const tl_report_time_label *a, const tl_report_time_label *b) {
    return fabs(a->x - b->x) < a->half_width + b->half_width + APART &&
           fabs(a->y - b->y) < a->half_height + b->half_height;
}

static bool stands_free(const tl_report_time_layout *layout, size_t which) {
    const tl_report_time_label *label = &layout->label[which];
    bool room =
        label->x - label->half_width >= 0.0 && label->x + label->half_width <= layout->width &&
        label->y - label->half_height >= 0.0 && label->y + label->half_height <= layout->height;
    for (size_t k = 0; k < layout->label_count; k++)
        room = room && (k == which || !touches(label, &layout->label[k]));
    return room;
}

bool tl_report_time_label_try(cairo_t *cr, tl_report_time_layout *layout, const char *text,
                              double x, double y, int colour) {
    tl_report_time_label *label = tl_report_time_label_add(cr, layout, text, x, y);
    if (!label)
        return false;
    label->colour = colour;
    if (stands_free(layout, layout->label_count - 1))
        return true;
    layout->label_count--;
    return false;
}

/* The first of the texts for which there is room from this x on, or, with `ends`, up to it. */
static void add_first(cairo_t *cr, tl_report_time_layout *layout, const char *const *text,
                      size_t count, double x, double y, bool ends, int colour) {
    for (size_t k = 0; k < count; k++) {
        const double half = 0.5 * tl_report_text_width(cr, text[k], TL_REPORT_TIME_TEXT);
        if (tl_report_time_label_try(cr, layout, text[k], ends ? x - half : x + half, y, colour))
            return;
    }
}

/* ---- titles ---- */

/* "Share of the Sun covered:" and the two keys, each with room for its mark before it. */
static void add_covered_title(cairo_t *cr, tl_report_time_layout *layout, double y) {
    enum { WORDS = 3, VARIANTS = 3 };
    static const char *const text[VARIANTS][WORDS] = {
        {"Share of the Sun covered:", "magnitude, of its diameter", "obscuration, of its area"},
        {"Sun covered:", "magnitude (diameter)", "obscuration (area)"},
        {"", "magnitude", "obscuration"}};
    const double mark = 44.0, apart = 18.0;
    for (size_t v = 0; v < VARIANTS; v++) {
        double width[WORDS], x = layout->left;
        for (size_t k = 0; k < WORDS; k++)
            width[k] = tl_report_text_width(cr, text[v][k], TL_REPORT_TIME_TEXT);
        if (x + width[0] + width[1] + width[2] + 2.0 * mark + 2.0 * apart > layout->width)
            continue;
        layout->key_y = y;
        for (size_t k = 0; k < WORDS; k++) {
            if (k > 0) {
                layout->key_x[k - 1] = x;
                x += mark;
            }
            if (width[k] > 0.0) {
                tl_report_time_label_add(cr, layout, text[v][k], x + 0.5 * width[k], y);
                x += width[k] + apart;
            }
        }
        return;
    }
}

static void add_residual_title(cairo_t *cr, const tl_report_timeline *timeline,
                               tl_report_time_layout *layout, double y) {
    static const char *const of_almanac[] = {"Measured less almanac, in seconds of arc",
                                             "Measured less almanac, \u2033"};
    static const char *const of_path[] = {"Measured less fitted path, in solar radii",
                                          "Measured less fitted path"};
    tl_report_text floor = {0}, shorter = {0};
    add_first(cr, layout, timeline->utc ? of_almanac : of_path, 2, layout->left, y, false,
              TL_REPORT_INK);
    tl_report_text_add(&floor, "band: \u00b1");
    tl_report_add_fixed(&floor, timeline->floor, timeline->utc ? 1 : 4);
    tl_report_text_add(&floor, timeline->utc ? "\u2033" : "");
    tl_report_text_add(&shorter, tl_report_text_string(&floor));
    tl_report_text_add(&floor, ", mountains on the Moon\u2019s edge");
    tl_report_text_add(&shorter, ", the Moon\u2019s mountains");
    const char *const note[] = {tl_report_text_string(&floor), tl_report_text_string(&shorter)};
    add_first(cr, layout, note, 2, layout->right, y, true, TL_REPORT_QUIET);
    tl_report_text_free(&floor);
    tl_report_text_free(&shorter);
}

static void add_blur_title(cairo_t *cr, const tl_report_timeline *timeline,
                           tl_report_time_layout *layout, double y) {
    static const char *const arcsec[] = {
        "Edge blur: how wide the Sun\u2019s edge is drawn, in seconds of arc",
        "Edge blur, in seconds of arc", "Edge blur, \u2033"};
    static const char *const share[] = {
        "Edge blur: how wide the Sun\u2019s edge is drawn, in per cent of its radius",
        "Edge blur, in per cent of the radius", "Edge blur, %"};
    static const char *const trend[] = {"dashed: the trend"};
    add_first(cr, layout, timeline->utc ? arcsec : share, 3, layout->left, y, false, TL_REPORT_INK);
    if (timeline->trend.significant)
        add_first(cr, layout, trend, 1, layout->right, y, true, TL_REPORT_QUIET);
}

void tl_report_time_titles(cairo_t *cr, const tl_report_timeline *timeline,
                           tl_report_time_layout *layout) {
    static const char *const separation[] = {
        "Distance between the centres of Sun and Moon, in solar radii", "Distance, solar radii"};
    const double above = 13.0; /* from the top of the plot to the middle of the letters */
    for (size_t k = 0; k < layout->plot_count; k++) {
        const double y = k == 0 ? above : layout->plot[k].top - above;
        switch (layout->plot[k].panel) {
        case TL_REPORT_PANEL_SEPARATION:
            add_first(cr, layout, separation, 2, layout->left, y, false, TL_REPORT_INK);
            break;
        case TL_REPORT_PANEL_COVERED:
            add_covered_title(cr, layout, y);
            break;
        case TL_REPORT_PANEL_RESIDUAL:
            add_residual_title(cr, timeline, layout, y);
            break;
        default:
            add_blur_title(cr, timeline, layout, y);
        }
    }
}

/* ---- in the panels ---- */

/* Whether a mark of this value, or the arrow that stands for it, lies within the box. */
static bool covers(const tl_report_time_plot *plot, double value, double dx, double y,
                   double half_width) {
    const double mark = 8.0, arrow = 22.0;
    if (!isfinite(value) || fabs(dx) > half_width + mark)
        return false;
    if (value > plot->range.high)
        return y - HALF_HEIGHT < plot->top + arrow;
    if (value < plot->range.low)
        return y + HALF_HEIGHT > plot->bottom - arrow;
    return fabs(tl_report_time_y(plot, value) - y) < HALF_HEIGHT + mark;
}

/* A label in a plot, where it lies on no other and on no mark. */
static bool try_in_plot(cairo_t *cr, const tl_report_timeline *timeline,
                        const tl_report_time_plot *plot, const char *text, double x, double y,
                        int colour, tl_report_time_layout *layout) {
    const double half = 0.5 * tl_report_text_width(cr, text, TL_REPORT_TIME_TEXT);
    for (size_t i = 0; i < timeline->point_count; i++) {
        const tl_report_time_point *point = &timeline->point[i];
        const double dx = tl_report_time_x(timeline, layout, point->t_s) - x;
        if (covers(plot, tl_report_time_value(point, plot->panel), dx, y, half) ||
            (plot->panel == TL_REPORT_PANEL_COVERED &&
             covers(plot, point->obscuration, dx, y, half)))
            return false;
    }
    return x - half > layout->left && x + half < layout->right &&
           tl_report_time_label_try(cr, layout, text, x, y, colour);
}

/* Where the curve first (or last) reaches this value, px; NAN if it does not. */
static double reach_x(const tl_report_timeline *timeline, const tl_report_time_layout *layout,
                      bool obscuration, bool last, double value) {
    for (size_t k = 0; k < timeline->line_count; k++) {
        const size_t i = last ? timeline->line_count - 1 - k : k;
        const tl_report_time_sample *sample = &timeline->line[i];
        if ((obscuration ? sample->obscuration : sample->magnitude) >= value)
            return tl_report_time_x(timeline, layout, sample->t_s);
    }
    return NAN;
}

/* The name of a curve at this height of it: outside it (magnitude) or inside (obscuration), there
 * where it is well clear of the letters; beside the rising part or else the falling one. */
static void add_curve(cairo_t *cr, const tl_report_timeline *timeline,
                      const tl_report_time_plot *plot, bool obscuration, double value,
                      tl_report_time_layout *layout) {
    const char *text = obscuration ? "obscuration" : "magnitude";
    const double clear = HALF_HEIGHT + 10.0, aside = 4.0;
    const double margin = clear * (plot->range.high - plot->range.low) / (plot->bottom - plot->top);
    const double half = 0.5 * tl_report_text_width(cr, text, TL_REPORT_TIME_TEXT);
    const double first = tl_report_time_x(timeline, layout, timeline->line[0].t_s);
    const double last =
        tl_report_time_x(timeline, layout, timeline->line[timeline->line_count - 1].t_s);
    for (int falling = 0; falling < 2; falling++) {
        const double curve = reach_x(timeline, layout, obscuration, falling,
                                     value + (obscuration ? margin : -margin));
        const double inwards = falling ? -1.0 : 1.0;
        const double x = curve + (obscuration ? inwards : -inwards) * (aside + half);
        if (x - half > first && x + half < last && /* false where the curve is not so high */
            try_in_plot(cr, timeline, plot, text, x, tl_report_time_y(plot, value),
                        obscuration ? TL_REPORT_MOON : TL_REPORT_INK, layout))
            return;
    }
}

void tl_report_time_curves(cairo_t *cr, const tl_report_timeline *timeline,
                           tl_report_time_layout *layout) {
    const double high = 0.62, low = 0.3; /* where there is most room beside the curves */
    double most = 0.0;
    for (size_t i = 0; i < timeline->line_count; i++)
        most = fmax(most, timeline->line[i].magnitude); /* fmax passes over NAN */
    for (size_t k = 0; k < layout->plot_count && most > 0.0; k++) {
        const tl_report_time_plot *plot = &layout->plot[k];
        if (plot->panel != TL_REPORT_PANEL_COVERED)
            continue;
        add_curve(cr, timeline, plot, false, high * most, layout);
        add_curve(cr, timeline, plot, true, low * most, layout);
    }
}

/* Beside the arrow, or further in. */
static void add_value(cairo_t *cr, const tl_report_timeline *timeline,
                      const tl_report_time_plot *plot, double x, double value,
                      tl_report_time_layout *layout) {
    enum { PLACES = 6 };
    const double aside = 10.0, row = 17.0;
    const bool above = value > plot->range.high;
    const int decimals = tl_report_step_decimals(plot->step);
    tl_report_text words = {0};
    if (plot->panel == TL_REPORT_PANEL_RESIDUAL)
        tl_report_add_signed(&words, value, decimals);
    else
        tl_report_add_fixed(&words, value, decimals);
    const char *string = tl_report_text_string(&words);
    const double half = 0.5 * tl_report_text_width(cr, string, TL_REPORT_TIME_TEXT);
    for (int k = 0; k < PLACES; k++) {
        const double side = k % 2 ? -1.0 : 1.0, in = 11.0 + row * (k / 2);
        if (in + HALF_HEIGHT < 0.5 * (plot->bottom - plot->top) &&
            try_in_plot(cr, timeline, plot, string, x + side * (aside + half),
                        above ? plot->top + in : plot->bottom - in, TL_REPORT_INK, layout))
            break;
    }
    tl_report_text_free(&words);
}

void tl_report_time_values(cairo_t *cr, const tl_report_timeline *timeline,
                           tl_report_time_layout *layout) {
    for (size_t k = 0; k < layout->plot_count; k++) {
        const tl_report_time_plot *plot = &layout->plot[k];
        for (size_t i = 0; i < timeline->point_count; i++) {
            const tl_report_time_point *point = &timeline->point[i];
            const double value = tl_report_time_value(point, plot->panel);
            if (value > plot->range.high || value < plot->range.low)
                add_value(cr, timeline, plot, tl_report_time_x(timeline, layout, point->t_s), value,
                          layout);
        }
    }
}
