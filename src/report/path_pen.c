/*
 * path_pen.c - lines of a legend, one below the other.
 */
#include <string.h>

#include "report/path_internal.h"

enum { LEGEND_TEXT = 16, LINE_HEIGHT = 26 }; /* px */

void tl_report_pen_line(tl_report_pen *p, const char *string, double indent) {
    if (p->draw) {
        tl_report_set_colour(p->cr, TL_REPORT_INK, 1.0);
        tl_report_draw_text(p->cr, string, LEGEND_TEXT, TL_REPORT_PEN_MARGIN + indent, p->y, 0.0);
    }
    p->y += LINE_HEIGHT;
}

void tl_report_pen_wrapped(tl_report_pen *p, const char *string, double indent) {
    enum { LINE_SIZE = 256 };
    char line[LINE_SIZE] = "";
    size_t length = 0;
    while (*string) {
        const size_t word = strcspn(string, " ");
        char longer[LINE_SIZE];
        const int needed =
            snprintf(longer, sizeof longer, "%s%s%.*s", line, length ? " " : "", (int)word, string);
        const bool fits = needed < LINE_SIZE && tl_report_text_width(p->cr, longer, LEGEND_TEXT) <=
                                                    p->width - 2 * TL_REPORT_PEN_MARGIN - indent;
        if (!fits && length > 0) {
            tl_report_pen_line(p, line, indent);
            length = 0;
            line[0] = '\0';
            continue;
        }
        length = (size_t)snprintf(line, sizeof line, "%s", longer);
        string += word;
        string += strspn(string, " ");
    }
    if (length > 0)
        tl_report_pen_line(p, line, indent);
}
