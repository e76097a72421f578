/*
 * test_report_pages.h - the drawing and the page of an invented series, and what stands in them.
 */
#ifndef TWOLIMB_TESTS_REPORT_PAGES_H
#define TWOLIMB_TESTS_REPORT_PAGES_H

#include <string.h>

#include "report/report_internal.h"
#include "test_report_well_formed.h"

typedef struct pages {
    tl_report_text svg, html;
    tl_report_source source;
} pages;

static inline void free_pages(pages *p) {
    tl_report_source_free(&p->source);
    tl_report_text_free(&p->svg);
    tl_report_text_free(&p->html);
}

static inline size_t count(const char *text, const char *what) {
    size_t n = 0;
    for (const char *p = text; (p = strstr(p, what)) != NULL; p += strlen(what))
        n++;
    return n;
}

#endif
