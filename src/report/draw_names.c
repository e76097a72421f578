/*
 * draw_names.c - names within an SVG that do not change from run to run.
 *
 * cairo 1.16 names the group of a whole drawing, and each picture in it, after a count of all
 * surfaces that the process has made (surface12, image7): in which order, is up to the threads.
 * Here they are counted in the order of the file. The other names (glyph0-1, clip2) are already.
 */
#include <stdlib.h>
#include <string.h>

#include "report/draw_internal.h"

typedef struct counts {
    unsigned long *of; /* owned; cairo's count of the names so far, in order */
    size_t count, capacity;
} counts;

/* The place of a count among those so far, where it is put if it is new; SIZE_MAX if there is no
 * memory. */
static size_t place_of(counts *c, unsigned long number) {
    for (size_t i = c->count; i-- > 0;) /* a name is used soon after it was given */
        if (c->of[i] == number)
            return i;
    if (c->count == c->capacity) {
        const size_t capacity = 2 * c->capacity + 8;
        unsigned long *of = realloc(c->of, capacity * sizeof *of);
        if (!of)
            return SIZE_MAX;
        c->of = of;
        c->capacity = capacity;
    }
    c->of[c->count] = number;
    return c->count++;
}

/* The length of a name to be counted anew at `at`, without its number; 0 if there is none. */
static size_t stem_length(const char *at) {
    static const char *const stems[] = {"surface", "image"};
    for (size_t i = 0; i < sizeof stems / sizeof stems[0]; i++) {
        const size_t length = strlen(stems[i]);
        if (strncmp(at, stems[i], length) == 0 && at[length] >= '0' && at[length] <= '9')
            return length;
    }
    return 0;
}

void tl_report_settle_names(const tl_report_text *drawn, tl_report_text *bytes) {
    counts c = {0};
    const char *from = tl_report_text_string(drawn);
    /* Names are given in quotes, and used after a #. Neither is part of a number, of base 64 or of
     * a path, and letters are drawn as shapes. */
    for (const char *at = from; (at = strpbrk(at, "\"#")) != NULL;) {
        const size_t stem = stem_length(++at);
        if (stem == 0)
            continue;
        char *end;
        const size_t place = place_of(&c, strtoul(at + stem, &end, 10));
        bytes->failed = bytes->failed || place == SIZE_MAX;
        tl_report_text_bytes(bytes, from, (size_t)(at + stem - from));
        tl_report_text_addf(bytes, "%zu", place);
        from = at = end;
    }
    tl_report_text_add(bytes, from);
    free(c.of);
}
