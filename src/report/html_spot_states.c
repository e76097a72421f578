/*
 * html_spot_states.c - what each picture shows of each spot: a row per spot, a sign per picture.
 *
 * The signs differ in shape and lightness as well as in hue (hues after Okabe & Ito, "Color
 * universal design", 2008), and each is said in words to who cannot see it.
 */
#include <math.h>
#include <stdlib.h>

#include "report/html_internal.h"
#include "report/spots_internal.h"

static const struct {
    const char *name, *words, *shape;
} sign[] = {
    [TL_SPOT_UNKNOWN] = {"unknown", "not known", "<path class=\"s-unknown\" d=\"M6 10h8\"/>"},
    [TL_SPOT_VISIBLE] = {"visible", "seen",
                         "<circle class=\"s-visible\" cx=\"10\" cy=\"10\" "
                         "r=\"5.5\"/>"},
    [TL_SPOT_ON_LIMB] = {"limb", "on the Moon\u2019s limb",
                         "<circle class=\"s-limb\" cx=\"10\" cy=\"10\" r=\"5.5\"/>"
                         "<path class=\"s-half\" d=\"M10 4.5a5.5 5.5 0 0 1 0 11z\"/>"},
    [TL_SPOT_COVERED] = {"covered", "covered by the Moon",
                         "<rect class=\"s-covered\" x=\"4.5\" y=\"4.5\" width=\"11\" "
                         "height=\"11\"/>"},
    [TL_SPOT_MISSED] = {"missed", "should be seen, is not",
                        "<path class=\"s-missed\" d=\"M5.5 5.5l9 9m0-9l-9 9\"/>"},
};
enum {
    SIGNS = sizeof sign / sizeof *sign,
    COLUMNS = 32 /* as many as a printed page takes; more go below */
};

/* Order of the columns: by true time, and those without one behind, in their own order. */
typedef struct column {
    bool timed;
    double t_s;
    size_t i;
} column;

static int by_time(const void *a, const void *b) {
    const column *first = a, *second = b;
    if (first->timed != second->timed)
        return first->timed ? -1 : 1;
    if (first->timed && first->t_s != second->t_s)
        return first->t_s < second->t_s ? -1 : 1;
    return first->i < second->i ? -1 : 1;
}

/* The pictures in which anything is known of a spot; the caller frees. */
static column *columns_of(const tl_sequence *sequence, size_t *count) {
    column *made = calloc(sequence->count + 1, sizeof *made);
    *count = 0;
    for (size_t i = 0; made && i < sequence->count; i++) {
        const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
        if (tl_report_any_sight(sequence, i))
            made[(*count)++] = (column){tracked->has_true, tracked->true_utc_s, i};
    }
    if (made)
        qsort(made, *count, sizeof *made, by_time);
    return made;
}

static void add_key(tl_report_text *html) {
    tl_report_text_add(html, "<p class=\"key states-key\">");
    for (int k = 1; k <= SIGNS; k++) { /* what is not known comes last */
        const int state = k % SIGNS;
        tl_report_text_addf(html,
                            "<span><svg viewBox=\"0 0 20 20\" aria-hidden=\"true\"><g "
                            "id=\"sign-%s\">%s</g></svg>%s</span>",
                            sign[state].name, sign[state].shape, sign[state].words);
    }
    tl_report_text_add(html, "</p>\n");
}

static void add_head(const tl_report_page *page, const column *frame, size_t count) {
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<thead><tr><th scope=\"col\">Spot</th>");
    for (size_t k = 0; k < count; k++) {
        tl_report_text_addf(html, "<th scope=\"col\"><a href=\"#place-%zu\" title=\"",
                            frame[k].i + 1);
        tl_report_add_html(html, tl_report_base_name(page->sequence->frame[frame[k].i].path));
        tl_report_text_add(html, "\">");
        if (frame[k].timed)
            tl_report_add_clock(html, frame[k].t_s, 0, page->facts->day_s);
        else
            tl_report_text_addf(html, "no. %zu", frame[k].i + 1);
        tl_report_text_add(html, "</a></th>");
    }
    tl_report_text_add(html, "</tr></thead>\n");
}

static void add_row(const tl_report_page *page, const column *frame, size_t count, size_t s) {
    tl_report_text *html = page->html;
    tl_report_text name = {0};
    tl_report_text_add(html, "<tr><th scope=\"row\"><bdi>");
    tl_report_add_spot_name(&name, &page->sequence->spots.spot[s]);
    tl_report_html_words(page, &name);
    tl_report_text_add(html, "</bdi></th>");
    for (size_t k = 0; k < count; k++) {
        const int state = (int)tl_report_sight(page->sequence, s, frame[k].i)->state;
        tl_report_text_addf(html,
                            "<td><svg viewBox=\"0 0 20 20\" role=\"img\" aria-label=\"%s\">"
                            "<use href=\"#sign-%s\"/></svg></td>",
                            sign[state].words, sign[state].name);
    }
    tl_report_text_add(html, "</tr>\n");
}

static void add_table(const tl_report_page *page, const column *frame, size_t count) {
    tl_report_text *html = page->html;
    tl_report_html_scroll(page, "Sunspots, picture by picture");
    tl_report_text_add(html, "<table class=\"states\">\n");
    add_head(page, frame, count);
    tl_report_text_add(html, "<tbody>\n");
    for (size_t s = 0; s < page->sequence->spots.count; s++)
        add_row(page, frame, count, s);
    tl_report_text_add(html, "</tbody></table></div>\n");
}

void tl_report_html_spot_states(const tl_report_page *page) {
    const tl_sequence *sequence = page->sequence;
    tl_report_text *html = page->html;
    size_t count;
    column *frame = columns_of(sequence, &count);
    if (!frame) {
        html->failed = true;
        return;
    }
    if (count > 0) {
        tl_report_text_add(html, "<h3>In the pictures</h3>\n");
        add_key(html);
        for (size_t first = 0; first < count; first += COLUMNS)
            add_table(page, frame + first, count - first < COLUMNS ? count - first : COLUMNS);
    }
    free(frame);
}
