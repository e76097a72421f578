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

/* The first sample in which the value reaches this; NULL if none does. */
static const tl_report_time_sample *reaches(const tl_report_timeline *timeline, bool obscuration,
                                            double value) {
    for (size_t i = 0; i < timeline->line_count; i++) {
        const tl_report_time_sample *sample = &timeline->line[i];
        if ((obscuration ? sample->obscuration : sample->magnitude) >= value)
            return sample;
    }
    return NULL;
}

/* The names of both curves: outside the rising one, and below the other, where the curve is well
 * clear of the letters. */
void tl_report_time_curves(cairo_t *cr, const tl_report_timeline *timeline,
                           tl_report_time_layout *layout) {
    static const char *const magnitude[] = {"magnitude"}, *const obscuration[] = {"obscuration"};
    const double high = 0.62, low = 0.3, clear = HALF_HEIGHT + 10.0, aside = 4.0;
    double most = 0.0;
    if (timeline->line_count == 0)
        return;
    for (size_t i = 0; i < timeline->line_count; i++)
        most = fmax(most, timeline->line[i].magnitude); /* fmax passes over NAN */
    const double first = tl_report_time_x(timeline, layout, timeline->line[0].t_s);
    for (size_t k = 0; k < layout->plot_count && most > 0.0; k++) {
        const tl_report_time_plot *plot = &layout->plot[k];
        const double margin =
            clear * (plot->range.high - plot->range.low) / (plot->bottom - plot->top);
        const tl_report_time_sample *up = reaches(timeline, false, high * most - margin);
        const tl_report_time_sample *in = reaches(timeline, true, low * most + margin);
        if (plot->panel != TL_REPORT_PANEL_COVERED || !up || !in)
            continue;
        const double end = tl_report_time_x(timeline, layout, up->t_s) - aside;
        const double start = tl_report_time_x(timeline, layout, in->t_s) + aside;
        if (end - tl_report_text_width(cr, *magnitude, TL_REPORT_TIME_TEXT) - aside > first)
            add_first(cr, layout, magnitude, 1, end, tl_report_time_y(plot, high * most), true,
                      TL_REPORT_INK);
        add_first(cr, layout, obscuration, 1, start, tl_report_time_y(plot, low * most), false,
                  TL_REPORT_MOON);
    }
}

static void add_value(cairo_t *cr, const tl_report_time_plot *plot, double x, double value,
                      bool is_signed, tl_report_time_layout *layout) {
    const double aside = 10.0, row = 17.0;
    const bool above = value > plot->range.high;
    tl_report_text words = {0};
    const int decimals = tl_report_step_decimals(plot->step);
    if (is_signed)
        tl_report_add_signed(&words, value, decimals);
    else
        tl_report_add_fixed(&words, value, decimals);
    const char *string = tl_report_text_string(&words);
    const double half = 0.5 * tl_report_text_width(cr, string, TL_REPORT_TIME_TEXT);
    for (int k = 0; k < 6; k++) {
        const double side = k % 2 ? -1.0 : 1.0, down = 11.0 + row * (k / 2);
        if (down + HALF_HEIGHT < 0.5 * (plot->bottom - plot->top) &&
            tl_report_time_label_try(cr, layout, string, x + side * (aside + half),
                                     above ? plot->top + down : plot->bottom - down, TL_REPORT_INK))
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
                add_value(cr, plot, tl_report_time_x(timeline, layout, point->t_s), value,
                          plot->panel == TL_REPORT_PANEL_RESIDUAL, layout);
        }
    }
}
