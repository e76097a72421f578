/*
 * screen.c - lines for a terminal: broken at blanks, as many as it has, the weightiest kept.
 */
#include <string.h>

#include "report/summary_internal.h"

#define CUT " ..." /* ends a line that had to be cut */

/* Select Graphic Rendition (ECMA-48, 5th edition, 8.3.117). */
#define STRONG "\033[1m"
#define FAINT "\033[2m"
#define PLAIN "\033[0m"

/* The bytes in this rendition, where there is any. */
static void add_rendered(tl_report_text *text, const char *rendition, const char *bytes,
                         size_t count) {
    tl_report_text_add(text, rendition);
    tl_report_text_bytes(text, bytes, count);
    tl_report_text_add(text, *rendition ? PLAIN : "");
}

static const char *rendition_of(const tl_report_screen *screen) {
    return screen->emphasis && screen->strong ? STRONG : "";
}

/* The first column of a line. */
static void add_label(const tl_report_screen *screen, tl_report_text *text, const char *label) {
    const size_t used = strlen(label);
    add_rendered(text, screen->emphasis && used > 0 ? FAINT : "", label, used);
    tl_report_text_addf(text, "%*s", TL_REPORT_LABEL - (int)used, "");
}

size_t tl_report_characters(const char *string) {
    size_t count = 0;
    for (; *string; string++)
        count += ((unsigned char)*string & 0xC0u) != 0x80u;
    return count;
}

/* Bytes of the longest piece of `string` that ends before a blank and fits; a word that is too
 * long is cut. */
static size_t piece(const char *string, size_t width) {
    size_t columns = 0, end = 0, i = 0;
    uint32_t code;
    while (string[i]) {
        if (string[i] == ' ')
            end = i;
        if (columns == width)
            return end > 0 ? end : i;
        i += tl_report_utf8_step(string + i, &code);
        columns++;
    }
    return i;
}

/* The part that the next lines belong to: the one a gap has opened, or a new one. */
static size_t open_part(tl_report_screen *screen) {
    const size_t last = screen->count - 1;
    if (screen->count > 0 && strcmp(tl_report_text_string(&screen->part[last].text), "\n") == 0)
        return last;
    if (screen->count == TL_REPORT_PARTS)
        return TL_REPORT_PARTS;
    screen->part[screen->count].rank = screen->rank;
    return screen->count++;
}

void tl_report_screen_gap(tl_report_screen *screen) {
    const size_t k = open_part(screen);
    if (k == TL_REPORT_PARTS)
        return;
    tl_report_text_add(&screen->part[k].text, "\n");
    screen->part[k].lines++;
}

void tl_report_screen_words(tl_report_screen *screen, const char *label, tl_report_text *words,
                            int max_lines) {
    const size_t width = TL_REPORT_COLUMNS - TL_REPORT_LABEL;
    tl_report_text plain = {0};
    tl_report_add_terminal(&plain, tl_report_text_string(words));
    const char *rest = tl_report_text_string(&plain);
    const size_t k = *rest ? open_part(screen) : TL_REPORT_PARTS;
    for (int line = 0; *rest && line < max_lines && k < TL_REPORT_PARTS; line++) {
        const bool whole = strlen(rest) == piece(rest, width);
        const bool cut = !whole && line + 1 == max_lines;
        const size_t bytes = piece(rest, width - (cut ? strlen(CUT) : 0));
        add_label(screen, &screen->part[k].text, line ? "" : label);
        add_rendered(&screen->part[k].text, rendition_of(screen), rest, bytes);
        tl_report_text_add(&screen->part[k].text, cut ? CUT "\n" : "\n");
        screen->part[k].lines++;
        rest += bytes;
        rest += strspn(rest, " ");
    }
    tl_report_text_free(&plain);
    tl_report_text_free(words);
}

void tl_report_screen_line(tl_report_screen *screen, const char *label, tl_report_text *words) {
    const size_t k = open_part(screen);
    tl_report_text plain = {0};
    tl_report_add_terminal(&plain, tl_report_text_string(words));
    if (k < TL_REPORT_PARTS) {
        if (*label)
            add_label(screen, &screen->part[k].text, label);
        add_rendered(&screen->part[k].text, rendition_of(screen), tl_report_text_string(&plain),
                     plain.length);
        tl_report_text_add(&screen->part[k].text, "\n");
        screen->part[k].lines++;
    }
    tl_report_text_free(&plain);
    tl_report_text_free(words);
}

/* Takes out the first empty line there is. */
static bool close_gap(tl_report_screen *screen) {
    for (size_t k = 0; k < screen->count; k++) {
        tl_report_text *text = &screen->part[k].text;
        if (screen->part[k].lines == 0 || text->length == 0 || text->data[0] != '\n')
            continue;
        memmove(text->data, text->data + 1, text->length--);
        screen->part[k].lines--;
        return true;
    }
    return false;
}

/* Leaves out the last part of the least weight; an empty line rather than what is not spare. */
static void drop_one(tl_report_screen *screen) {
    size_t least = 0;
    for (size_t k = 1; k < screen->count; k++)
        if (screen->part[k].lines > 0 &&
            (screen->part[least].lines == 0 || screen->part[k].rank >= screen->part[least].rank))
            least = k;
    if (screen->part[least].rank < TL_REPORT_SPARE && close_gap(screen))
        return;
    tl_report_text_free(&screen->part[least].text);
    screen->part[least].lines = 0;
}

void tl_report_screen_print(tl_report_screen *screen, FILE *out) {
    int lines = 0;
    for (size_t k = 0; k < screen->count; k++)
        lines += screen->part[k].lines;
    while (lines > TL_REPORT_LINES) {
        lines = 0;
        drop_one(screen);
        for (size_t k = 0; k < screen->count; k++)
            lines += screen->part[k].lines;
    }
    for (size_t k = 0; k < screen->count; k++) {
        if (!screen->part[k].text.failed)
            fputs(tl_report_text_string(&screen->part[k].text), out);
        tl_report_text_free(&screen->part[k].text);
    }
    screen->count = 0;
}
