/*
 * test_report_well_formed.h - every tag of a page closed in its turn, XML 1.0 section 2.1.
 */
#ifndef TWOLIMB_TESTS_REPORT_WELL_FORMED_H
#define TWOLIMB_TESTS_REPORT_WELL_FORMED_H

#include <stdbool.h>
#include <string.h>

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
