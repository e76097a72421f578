/*
 * timeline_axis.c - what stands along the time: the names of the contacts, the letters of the
 * sunspots, the rows of times and dates.
 */
#include <math.h>
#include <string.h>

#include "report/path_internal.h"
#include "report/spots_internal.h"
#include "report/timeline_internal.h"

#define ROW_HEIGHT 20.0
#define NAME_BEFORE 38.0 /* from a row's name to the start of the plot: half a time lies there */

/* ---- rows: UTC, or the camera's clock; then the local clock ---- */

enum { ROWS = 2 };

static size_t clock_rows(const tl_report_timeline *timeline) {
    return timeline->has_zone && timeline->zone_minutes != 0 ? ROWS : 1;
}

static double row_shift_s(const tl_report_timeline *timeline, size_t row) {
    return row == 0 ? 0.0 : 60.0 * timeline->zone_minutes;
}

static void add_row_name(const tl_report_timeline *timeline, size_t row, tl_report_text *words) {
    if (row > 0)
        tl_report_add_zone(words, timeline->zone_minutes);
    else
        tl_report_text_add(words, timeline->utc ? "UTC" : "camera");
}

static double day_of(double t_s) {
    return floor(t_s / TL_DAY_S);
}

/* Whether any row changes its date, or has another than the first. */
static bool shows_dates(const tl_report_timeline *timeline) {
    const double day = day_of(timeline->from_s);
    bool differ = false;
    for (size_t row = 0; row < clock_rows(timeline); row++) {
        const double shift_s = row_shift_s(timeline, row);
        differ = differ || day_of(timeline->from_s + shift_s) != day ||
                 day_of(timeline->to_s + shift_s) != day;
    }
    return differ;
}

size_t tl_report_time_rows(const tl_report_timeline *timeline) {
    return clock_rows(timeline) * (shows_dates(timeline) ? 2 : 1);
}

double tl_report_time_row_names(cairo_t *cr, const tl_report_timeline *timeline) {
    double widest = 0.0;
    for (size_t row = 0; row < clock_rows(timeline); row++) {
        tl_report_text words = {0};
        add_row_name(timeline, row, &words);
        widest = fmax(widest,
                      tl_report_text_width(cr, tl_report_text_string(&words), TL_REPORT_TIME_TEXT));
        tl_report_text_free(&words);
    }
    return ceil(widest + NAME_BEFORE);
}

static void clock_text(double t_s, char text[6]) {
    enum { TIME_OF_DAY = 11 }; /* where it starts in "2026-08-12T17:03:12" */
    char iso[TL_TIME_TEXT_SIZE];
    tl_time_text(t_s, 0, "", iso);
    snprintf(text, 6, "%.5s", iso + TIME_OF_DAY);
}

static void add_times(cairo_t *cr, const tl_report_timeline *timeline, double shift_s, double y,
                      tl_report_time_layout *layout) {
    const double step_s = 60.0 * layout->step_minutes;
    for (double k = ceil(timeline->from_s / step_s); k * step_s <= timeline->to_s; k++) {
        char text[6];
        clock_text(k * step_s + shift_s, text);
        tl_report_time_label_try(cr, layout, text, tl_report_time_x(timeline, layout, k * step_s),
                                 y, TL_REPORT_INK);
    }
}

/* "12 August 2026", "12 August", "12". */
static void date_text(double day, int brevity, char text[TL_REPORT_TIME_LABEL_SIZE]) {
    tl_report_text words = {0};
    tl_report_add_date(&words, day * TL_DAY_S);
    snprintf(text, TL_REPORT_TIME_LABEL_SIZE, "%s", tl_report_text_string(&words));
    char *end = brevity == 1 ? strrchr(text, ' ') : brevity == 2 ? strchr(text, ' ') : NULL;
    if (end)
        *end = '\0';
    tl_report_text_free(&words);
}

/* The dates of a row, each below its part of the axis; false if they have no room. */
static bool add_dates(cairo_t *cr, const tl_report_timeline *timeline, double shift_s, double y,
                      int brevity, tl_report_time_layout *layout) {
    double middle[TL_REPORT_SPREAD_MAX] = {0}, half[TL_REPORT_SPREAD_MAX] = {0};
    char text[TL_REPORT_SPREAD_MAX][TL_REPORT_TIME_LABEL_SIZE];
    const double first = day_of(timeline->from_s + shift_s);
    const double count = day_of(timeline->to_s + shift_s) - first + 1.0;
    const double apart = 12.0;
    size_t n = 0;
    for (; n < TL_REPORT_SPREAD_MAX && (double)n < count; n++) {
        const double start_s = (first + (double)n) * TL_DAY_S - shift_s;
        const double from_s = fmax(start_s, timeline->from_s);
        const double to_s = fmin(start_s + TL_DAY_S, timeline->to_s);
        date_text(first + (double)n, brevity, text[n]);
        middle[n] = tl_report_time_x(timeline, layout, 0.5 * (from_s + to_s));
        half[n] = 0.5 * tl_report_text_width(cr, text[n], TL_REPORT_TIME_TEXT);
    }
    if (!tl_report_spread(middle, half, n, apart, layout->left, layout->width))
        return false;
    for (size_t k = 0; k < n; k++)
        tl_report_time_label_try(cr, layout, text[k], middle[k], y, TL_REPORT_INK);
    return true;
}

void tl_report_time_axis(cairo_t *cr, const tl_report_timeline *timeline,
                         tl_report_time_layout *layout, double top) {
    const bool dates = shows_dates(timeline);
    double y = top + 0.5 * ROW_HEIGHT;
    for (size_t row = 0; row < clock_rows(timeline); row++) {
        const double shift_s = row_shift_s(timeline, row);
        tl_report_text words = {0};
        add_row_name(timeline, row, &words);
        const char *name = tl_report_text_string(&words);
        const double half = 0.5 * tl_report_text_width(cr, name, TL_REPORT_TIME_TEXT);
        tl_report_time_label_try(cr, layout, name, layout->left - NAME_BEFORE + 3.0 - half, y,
                                 TL_REPORT_QUIET);
        tl_report_text_free(&words);
        add_times(cr, timeline, shift_s, y, layout);
        y += ROW_HEIGHT;
        for (int brevity = 0; dates && brevity < 3; brevity++)
            if (add_dates(cr, timeline, shift_s, y, brevity, layout))
                break;
        y += dates ? ROW_HEIGHT : 0.0;
    }
}

/* ---- contacts ---- */

void tl_report_time_contacts(cairo_t *cr, const tl_report_timeline *timeline,
                             tl_report_time_layout *layout) {
    const double line = 18.0, above = 12.0, apart = 7.0;
    double middle[TL_CONTACTS] = {0}, half[TL_CONTACTS] = {0};
    char time[TL_CONTACTS][6];
    int which[TL_CONTACTS];
    size_t count = 0;
    for (int c = 0; c < TL_CONTACTS; c++) {
        const double x = tl_report_time_x(timeline, layout, timeline->contact_s[c]);
        if (!timeline->has_contact[c] || x < layout->left || x > layout->right)
            continue;
        which[count] = c;
        middle[count] = x;
        clock_text(60.0 * round(timeline->contact_s[c] / 60.0), time[count]);
        half[count] = 0.5 * tl_report_text_width(cr, time[count], TL_REPORT_TIME_TEXT);
        count++;
    }
    for (int c = 0; c < TL_CONTACTS; c++)
        layout->contact_x[c] = NAN;
    if (!tl_report_spread(middle, half, count, apart, 0.0, layout->width))
        return;
    for (size_t k = 0; k < count; k++) {
        const double y = layout->names_y - above;
        layout->contact_x[which[k]] = middle[k];
        tl_report_time_label_try(cr, layout, tl_contact_name[which[k]], middle[k], y - line,
                                 TL_REPORT_MOON);
        tl_report_time_label_try(cr, layout, time[k], middle[k], y, TL_REPORT_MOON);
    }
}

/* ---- sunspots ---- */

/* Whether a line of a contact, or another mark, runs through it. */
static bool is_crossed(const tl_report_timeline *timeline, const tl_report_time_layout *layout,
                       size_t own, double x, double half) {
    const double mark = 8.0, line = 2.0;
    bool crossed = x + half > layout->width;
    for (int c = 0; c < TL_CONTACTS; c++)
        crossed = crossed || (timeline->has_contact[c] &&
                              fabs(tl_report_time_x(timeline, layout, timeline->contact_s[c]) - x) <
                                  half + line);
    for (size_t k = 0; k < timeline->crossing_count; k++)
        crossed = crossed ||
                  (k != own && fabs(tl_report_time_x(timeline, layout, timeline->crossing[k].t_s) -
                                    x) < half + mark);
    return crossed;
}

/* The letter behind the mark, or before it; else the mark stands alone. */
void tl_report_time_spots(cairo_t *cr, const tl_report_timeline *timeline,
                          tl_report_time_layout *layout) {
    const double reach = 9.0;
    for (size_t k = 0; layout->strip_y > 0.0 && k < timeline->crossing_count; k++) {
        const tl_report_time_crossing *crossing = &timeline->crossing[k];
        tl_report_text words = {0};
        tl_report_add_spot_letter(&words, crossing->spot);
        const char *letter = tl_report_text_string(&words);
        const double half = 0.5 * tl_report_text_width(cr, letter, TL_REPORT_TIME_TEXT);
        const double x = tl_report_time_x(timeline, layout, crossing->t_s);
        for (int side = 1; side >= -1; side -= 2) {
            const double at = x + side * (reach + half);
            if (!is_crossed(timeline, layout, k, at, half) &&
                tl_report_time_label_try(cr, layout, letter, at, layout->strip_y, TL_REPORT_SPOT))
                break;
        }
        tl_report_text_free(&words);
    }
}
