/*
 * slide_text.c - words in boxes: wrapped, shrunk until they fit, never over the edge.
 */
#include <math.h>
#include <string.h>

#include "report/path_internal.h"
#include "report/talk_internal.h"

static const double LINE = 1.3;    /* height of a line over the size of its letters */
static const double SHRINK = 0.95; /* in one step */

/* What cairo takes: UTF-8 without control characters. No-break blanks stay what they are. */
static void clean(const char *from, tl_report_text *to) {
    tl_report_text whole = {0};
    tl_report_add_utf8(&whole, from);
    for (const char *p = tl_report_text_string(&whole); *p; p++) {
        const bool control = (unsigned char)*p < 0x20 || *p == 0x7F;
        tl_report_text_bytes(to, control ? " " : p, 1);
    }
    to->failed = to->failed || whole.failed;
    tl_report_text_free(&whole);
}

/* A line: `length` bytes that stand on it, and where the next one begins. */
typedef struct line {
    size_t length, next;
} line;

static double width_of(cairo_t *cr, const char *from, size_t length, double size) {
    tl_report_text part = {0};
    tl_report_text_bytes(&part, from, length);
    const double width = tl_report_text_width(cr, tl_report_text_string(&part), size);
    tl_report_text_free(&part);
    return width;
}

/* Whole characters of `from`, at least one, that fit: for a word longer than a line. */
static size_t fitting_characters(cairo_t *cr, const char *from, double size, double width) {
    uint32_t code;
    size_t length = tl_report_utf8_step(from, &code);
    while (from[length] && from[length] != ' ') {
        const size_t more = length + tl_report_utf8_step(from + length, &code);
        if (width_of(cr, from, more, size) > width)
            break;
        length = more;
    }
    return length;
}

static line next_line(cairo_t *cr, const char *from, double size, double width) {
    line l = {0, 0};
    size_t at = 0;
    while (from[at]) {
        const size_t end = at + strcspn(from + at, " ");
        if (width_of(cr, from, end, size) > width)
            break;
        l.length = end;
        at = end + strspn(from + end, " ");
        l.next = at;
    }
    if (l.length == 0 && *from) {
        l.length = fitting_characters(cr, from, size, width);
        l.next = l.length + strspn(from + l.length, " ");
    }
    return l;
}

/* A word that had to be broken makes a text look bad long before it no longer fits. */
static size_t count_lines(cairo_t *cr, const char *string, double size, double width,
                          bool *broken) {
    size_t count = 0;
    *broken = false;
    while (*string) {
        const line l = next_line(cr, string, size, width);
        *broken = *broken || (string[l.length] && string[l.length] != ' ');
        string += l.next;
        count++;
    }
    return count;
}

static size_t lines_in(const tl_report_rect *box, double size) {
    const double room = (box->height - size) / (LINE * size);
    return room < 0.0 ? 1 : 1 + (size_t)floor(room + 1e-6);
}

/* The largest size at which it fits; `*fits` is false if even the least is too large. */
static double choose_size(cairo_t *cr, const tl_report_type *type, const char *string,
                          const tl_report_rect *box, bool *fits) {
    for (double size = type->size;; size = fmax(SHRINK * size, type->least)) {
        bool broken;
        const bool last = size <= type->least;
        const size_t lines = count_lines(cr, string, size, box->width, &broken);
        *fits = lines <= lines_in(box, size);
        if (last || (*fits && !broken))
            return size;
    }
}

/* The line that is the last one there is room for: as much of it as leaves room for three dots. */
static void cut_line(cairo_t *cr, const char *from, double size, double width,
                     tl_report_text *cut) {
    static const char dots[] = "\u2026";
    const double room = width - tl_report_text_width(cr, dots, size);
    uint32_t code;
    size_t length = 0;
    while (from[length]) {
        const size_t more = length + tl_report_utf8_step(from + length, &code);
        if (width_of(cr, from, more, size) > room)
            break;
        length = more;
    }
    tl_report_text_bytes(cut, from, length);
    tl_report_text_add(cut, dots);
}

static void hear(const tl_report_slide_pen *pen, const char *words, const tl_report_rect *box,
                 bool fits) {
    if (pen->ear && *words)
        pen->ear->hear(pen->ear->context, words, box, fits);
}

static double set_clean(tl_report_slide_pen *pen, const tl_report_type *type, const char *string,
                        tl_report_rect box) {
    bool fits, broken;
    const double size = choose_size(pen->cr, type, string, &box, &fits);
    const size_t room = lines_in(&box, size);
    const size_t wanted = count_lines(pen->cr, string, size, box.width, &broken);
    const size_t count = wanted < room ? wanted : room;
    if (count == 0)
        return box.top;
    const double height = size + LINE * size * (double)(count - 1);
    const double x = box.left + type->across * box.width;
    double y = box.top + type->upright * (box.height - height) + 0.5 * size, widest = 0.0;
    const double top = y - 0.5 * size;
    const char *at = string;
    for (size_t n = 0; n < count; n++, y += LINE * size) {
        tl_report_text shown = {0};
        const line l = next_line(pen->cr, at, size, box.width);
        if (n + 1 == count && wanted > count)
            cut_line(pen->cr, at, size, box.width, &shown);
        else
            tl_report_text_bytes(&shown, at, l.length);
        at += l.next;
        const char *words = tl_report_text_string(&shown);
        widest = fmax(widest, tl_report_text_width(pen->cr, words, size));
        tl_report_set_ink(pen->cr, type->ink);
        tl_report_draw_text(pen->cr, words, size, x, y, type->across);
        pen->failed = pen->failed || shown.failed;
        tl_report_text_free(&shown);
    }
    const tl_report_rect used = {x - type->across * widest, top, widest, height};
    hear(pen, string, &used, fits);
    return top + height;
}

bool tl_report_string_fits(tl_report_slide_pen *pen, const char *string, double size,
                           double width) {
    tl_report_text cleaned = {0};
    clean(string, &cleaned);
    const double needed = tl_report_text_width(pen->cr, tl_report_text_string(&cleaned), size);
    pen->failed = pen->failed || cleaned.failed;
    tl_report_text_free(&cleaned);
    return needed <= width;
}

double tl_report_set_string(tl_report_slide_pen *pen, const tl_report_type *type,
                            const char *string, tl_report_rect box) {
    tl_report_text words = {0};
    tl_report_text_add(&words, string);
    return tl_report_set_words(pen, type, &words, box);
}

double tl_report_set_words(tl_report_slide_pen *pen, const tl_report_type *type,
                           tl_report_text *words, tl_report_rect box) {
    tl_report_text cleaned = {0};
    clean(tl_report_text_string(words), &cleaned);
    const double end = set_clean(pen, type, tl_report_text_string(&cleaned), box);
    pen->failed = pen->failed || words->failed || cleaned.failed;
    tl_report_text_free(&cleaned);
    tl_report_text_free(words);
    return end;
}

void tl_report_set_line(tl_report_slide_pen *pen, const tl_report_type *type, tl_report_text *words,
                        double x, double y) {
    tl_report_text cleaned = {0};
    clean(tl_report_text_string(words), &cleaned);
    const char *string = tl_report_text_string(&cleaned);
    const double width = tl_report_text_width(pen->cr, string, type->size);
    const tl_report_rect used = {x - type->across * width, y - 0.5 * type->size, width, type->size};
    tl_report_set_ink(pen->cr, type->ink);
    tl_report_draw_text(pen->cr, string, type->size, x, y, type->across);
    hear(pen, string, &used, true);
    pen->failed = pen->failed || words->failed || cleaned.failed;
    tl_report_text_free(&cleaned);
    tl_report_text_free(words);
}

void tl_report_set_line_string(tl_report_slide_pen *pen, const tl_report_type *type,
                               const char *string, double x, double y) {
    tl_report_text words = {0};
    tl_report_text_add(&words, string);
    tl_report_set_line(pen, type, &words, x, y);
}

double tl_report_set_fact(tl_report_slide_pen *pen, const char *heading, tl_report_text *words,
                          double left, double top, double width) {
    static const tl_report_type label = {TL_REPORT_SLIDE_SMALL, TL_REPORT_SLIDE_LEAST, 0.0, 0.0,
                                         TL_REPORT_INK_LABEL};
    static const tl_report_type value = {44.0, TL_REPORT_SLIDE_SMALL, 0.0, 0.0, TL_REPORT_INK_TEXT};
    const double two_lines = 44.0 * (1.0 + LINE) + 1.0;
    const double end =
        tl_report_set_string(pen, &label, heading, (tl_report_rect){left, top, width, label.size});
    return tl_report_set_words(pen, &value, words,
                               (tl_report_rect){left, end + 16.0, width, two_lines});
}
