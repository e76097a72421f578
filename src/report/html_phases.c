/*
 * html_phases.c - the series at a glance: small Suns with the Moon where it was
 * measured, in order of time, each a link to its picture.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/html_internal.h"

enum { SHOWN = 12 };

static int by_time(const void *a, const void *b) {
    const tl_report_point *p = a, *q = b;
    return (p->t_s > q->t_s) - (p->t_s < q->t_s);
}

static void add_phase(const tl_report_page *page, const tl_report_point *point) {
    tl_report_text *html = page->html;
    tl_report_text_addf(html,
                        "<li><a href=\"#place-%zu\"><svg viewBox=\"-1.04 -1.04 2.08 2.08\" "
                        "aria-hidden=\"true\"><circle class=\"sun\" r=\"1\"/><circle "
                        "class=\"moon\" cx=\"",
                        point->frame + 1);
    tl_report_add_fixed(html, -point->east_sr, 3);
    tl_report_text_add(html, "\" cy=\"");
    tl_report_add_fixed(html, -point->north_sr, 3);
    tl_report_text_add(html, "\" r=\"");
    tl_report_add_fixed(html, page->path->ratio, 3);
    tl_report_text_add(html, "\"/></svg>");
    char iso[TL_TIME_TEXT_SIZE];
    tl_time_text(round(point->t_s / 60.0) * 60.0, 0, "", iso);
    tl_report_text_addf(html, "%.5s</a></li>\n", iso + 11);
}

void tl_report_html_phases(const tl_report_page *page) {
    const tl_report_path *path = page->path;
    const size_t count = path->measured_count, shown = count < SHOWN ? count : SHOWN;
    tl_report_point *point = calloc(count + 1, sizeof *point);
    if (!point) {
        page->html->failed = true;
        return;
    }
    memcpy(point, path->measured, count * sizeof *point);
    qsort(point, count, sizeof *point, by_time);
    if (count > 0 && path->ratio > 0.0) {
        tl_report_text_add(page->html, "<ol class=\"phases\" aria-label=\"Measured pictures in "
                                       "order of time\">\n");
        for (size_t i = 0; i < shown; i++)
            add_phase(page, &point[shown > 1 ? i * (count - 1) / (shown - 1) : 0]);
        tl_report_text_addf(page->html, "</ol>\n<p class=\"note\">%s Times in %s.</p>\n",
                            path->on_sky ? "North up, east left."
                                         : "Direction not known: drawn with the Moon moving left.",
                            path->on_sky ? "UTC" : "the camera\u2019s clock");
    }
    free(point);
}
