/*
 * timeline_layout.c - where the panels of the time line stand.
 *
 * From the top: the first panel's title, the names of the contacts, the marks of the sunspots, the
 * first plot; title and plot of each further panel; the rows of times and dates.
 */
#include <math.h>

#include "report/path_internal.h"
#include "report/timeline_internal.h"

#define TITLE_HEIGHT 26.0
#define NAMES_HEIGHT 50.0
#define STRIP_HEIGHT 22.0
#define GAP 12.0
#define TICK_HEIGHT 8.0
#define ROW_HEIGHT 20.0
#define LEAST_PLOT 44.0
#define RIGHT_MARGIN 26.0 /* half of a time, which may stand below the end of the axis */
#define NUMBERS 52.0      /* of an axis of a panel */
#define TICK_ROOM 28.0    /* a panel's height for each of its ticks */
#define TIME_ROOM 58.0    /* the axis' width for each of its times */

/* The panels of `wanted` in which something is known. */
static size_t choose(const tl_report_timeline *timeline, unsigned wanted,
                     tl_report_panel panel[TL_REPORT_PANELS]) {
    size_t count = 0;
    for (int p = 0; p < TL_REPORT_PANELS; p++)
        if (timeline->panels & wanted & TL_REPORT_PANEL_BIT(p))
            panel[count++] = (tl_report_panel)p;
    return count;
}

static bool any_contact(const tl_report_timeline *timeline) {
    bool any = false;
    for (int which = 0; which < TL_CONTACTS; which++)
        any = any || timeline->has_contact[which];
    return any;
}

/* The Moon's limb is what the first two panels are about. */
static bool has_strip(const tl_report_timeline *timeline, unsigned wanted) {
    const unsigned of_limb = TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_SEPARATION) |
                             TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_COVERED);
    return timeline->crossing_count > 0 && (timeline->panels & wanted & of_limb);
}

static double head_height(const tl_report_timeline *timeline, unsigned wanted) {
    return (any_contact(timeline) ? NAMES_HEIGHT : 0.0) +
           (has_strip(timeline, wanted) ? STRIP_HEIGHT : 0.0);
}

/* All but the plots themselves. */
static double other_height(const tl_report_timeline *timeline, unsigned wanted, size_t panels) {
    return head_height(timeline, wanted) + (double)panels * TITLE_HEIGHT +
           (double)(panels - 1) * GAP + TICK_HEIGHT +
           ROW_HEIGHT * (double)tl_report_time_rows(timeline);
}

double tl_report_time_height(const tl_report_timeline *timeline, unsigned panels, double plot) {
    tl_report_panel panel[TL_REPORT_PANELS];
    const size_t count = choose(timeline, panels, panel);
    return count > 0 ? other_height(timeline, panels, count) + (double)count * plot : 0.0;
}

double tl_report_time_x(const tl_report_timeline *timeline, const tl_report_time_layout *layout,
                        double t_s) {
    return layout->left + (t_s - timeline->from_s) / (timeline->to_s - timeline->from_s) *
                              (layout->right - layout->left);
}

double tl_report_time_y(const tl_report_time_plot *plot, double value) {
    return plot->bottom - (value - plot->range.low) / (plot->range.high - plot->range.low) *
                              (plot->bottom - plot->top);
}

/* Below the range's end, so that there is a number beside 0. */
static double step_of(const tl_report_range *range, double height) {
    const double span = range->high - range->low;
    double parts = fmax(2.0, floor(height / TICK_ROOM));
    while (tl_report_nice_step(span, parts) > range->high)
        parts++;
    return tl_report_nice_step(span, parts);
}

/* Plots of equal height, one above the other. */
static void place_plots(const tl_report_timeline *timeline, unsigned wanted,
                        const tl_report_panel *panel, size_t count, tl_report_time_layout *layout) {
    const double height = (layout->height - other_height(timeline, wanted, count)) / (double)count;
    double y = 0.0;
    if (height < LEAST_PLOT || layout->right - layout->left < 2.0 * TIME_ROOM)
        return;
    layout->plot_count = count;
    for (size_t k = 0; k < count; k++) {
        tl_report_time_plot *plot = &layout->plot[k];
        plot->panel = panel[k];
        plot->top = y + TITLE_HEIGHT + (k == 0 ? head_height(timeline, wanted) : 0.0);
        plot->bottom = plot->top + height;
        plot->range = tl_report_panel_range(timeline, panel[k]);
        plot->step = step_of(&plot->range, height);
        y = plot->bottom + GAP;
    }
    layout->names_y = TITLE_HEIGHT + NAMES_HEIGHT - 12.0;
    layout->strip_y = has_strip(timeline, wanted) ? layout->plot[0].top - 0.5 * STRIP_HEIGHT : 0.0;
}

static void add_numbers(cairo_t *cr, tl_report_time_layout *layout,
                        const tl_report_time_plot *plot) {
    const double inset = 0.3 * TL_REPORT_TIME_TEXT; /* no number stands half outside its plot */
    const int decimals = tl_report_step_decimals(plot->step);
    for (double k = ceil(plot->range.low / plot->step); k * plot->step <= plot->range.high; k++) {
        tl_report_text words = {0};
        if (plot->range.low < 0.0 && k != 0.0)
            tl_report_add_signed(&words, k * plot->step, decimals);
        else
            tl_report_add_fixed(&words, k * plot->step, k == 0.0 ? 0 : decimals);
        const double y = fmin(fmax(tl_report_time_y(plot, k * plot->step), plot->top + inset),
                              plot->bottom - inset);
        const char *string = tl_report_text_string(&words);
        const double half = 0.5 * tl_report_text_width(cr, string, TL_REPORT_TIME_TEXT);
        tl_report_time_label_try(cr, layout, string, layout->left - 8.0 - half, y, TL_REPORT_INK);
        tl_report_text_free(&words);
    }
}

void tl_report_time_lay_out(cairo_t *cr, const tl_report_timeline *timeline, unsigned panels,
                            double width, double height, tl_report_time_layout *layout) {
    tl_report_panel panel[TL_REPORT_PANELS];
    const size_t count = choose(timeline, panels, panel);
    *layout = (tl_report_time_layout){.width = width, .height = height};
    layout->left = fmax(NUMBERS, tl_report_time_row_names(cr, timeline));
    layout->right = width - RIGHT_MARGIN;
    if (count == 0 || !(timeline->to_s > timeline->from_s))
        return;
    place_plots(timeline, panels, panel, count, layout);
    if (layout->plot_count == 0)
        return;
    layout->step_minutes = tl_report_minute_step(timeline->to_s - timeline->from_s,
                                                 floor((layout->right - layout->left) / TIME_ROOM));
    tl_report_time_titles(cr, timeline, layout);
    tl_report_time_contacts(cr, timeline, layout);
    tl_report_time_spots(cr, timeline, layout);
    for (size_t k = 0; k < count; k++)
        add_numbers(cr, layout, &layout->plot[k]);
    tl_report_time_axis(cr, timeline, layout, layout->plot[count - 1].bottom + TICK_HEIGHT);
    tl_report_time_curves(cr, timeline, layout);
    tl_report_time_values(cr, timeline, layout);
}
