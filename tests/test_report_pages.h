/*
 * test_report_pages.h - the drawing and the page of an invented series, and what stands in them.
 */
#ifndef TWOLIMB_TESTS_REPORT_PAGES_H
#define TWOLIMB_TESTS_REPORT_PAGES_H

#include <string.h>

#include "report/report_internal.h"

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

/* ---- well-formed: every tag closed in its turn, XML 1.0 section 2.1 ----------------------- */

typedef struct tag_name {
    const char *start;
    size_t length;
} tag_name;

/* The '>' that ends a tag; '>' within quotes does not. */
static inline const char *tag_end(const char *p) {
    char quote = '\0';
    for (; *p && (quote || *p != '>'); p++)
        if (quote ? *p == quote : (*p == '"' || *p == '\''))
            quote = quote ? '\0' : *p;
    assert_int_equal(*p, '>');
    return p;
}

static inline void assert_well_formed(const char *text) {
    enum { DEPTH = 64 };
    tag_name open[DEPTH];
    size_t depth = 0;
    for (const char *p = strchr(text, '<'); p; p = strchr(p, '<')) {
        const char *end = tag_end(p);
        const bool closing = p[1] == '/';
        const tag_name name = {p + 1 + closing, strcspn(p + 1 + closing, " />\n\t")};
        const bool declaration = p[1] == '!' || p[1] == '?';
        if (closing) {
            assert_true(depth > 0);
            depth--;
            assert_int_equal(name.length, open[depth].length);
            assert_memory_equal(name.start, open[depth].start, name.length);
        } else if (!declaration && end[-1] != '/') {
            assert_true(depth < DEPTH);
            open[depth++] = name;
        }
        p = end;
    }
    assert_int_equal(depth, 0);
}

#endif
