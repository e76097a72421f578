/*
 * html_focus.c - how wide the Sun's edge is drawn, and whether that changed.
 */
#include <math.h>

#include "report/html_internal.h"
#include "report/timeline_internal.h"

bool tl_report_html_has_focus(const tl_report_page *page) {
    return page->timeline->panels & TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_BLUR);
}

/* "The Sun stood 24 deg high for the first of them and 12 deg for the last." */
static void add_altitudes(const tl_report_page *page, tl_report_text *words) {
    const tl_report_timeline *timeline = page->timeline;
    if (timeline->trend.count < 2)
        return;
    const size_t first = timeline->point[timeline->trend.first].frame;
    const size_t last = timeline->point[timeline->trend.last].frame;
    const tl_track_frame *a = tl_report_track_frame(page->sequence, first);
    const tl_track_frame *b = tl_report_track_frame(page->sequence, last);
    if (!a->has_true || !b->has_true || !isfinite(a->altitude_rad) || !isfinite(b->altitude_rad))
        return;
    tl_report_text_add(words, " The Sun stood ");
    tl_report_add_fixed(words, a->altitude_rad / TL_DEG, 0);
    tl_report_text_add(words, "\u00b0 high for the first and ");
    tl_report_add_fixed(words, b->altitude_rad / TL_DEG, 0);
    tl_report_text_add(words, "\u00b0 for the last.");
}

static void add_meaning(const tl_report_page *page) {
    const bool wider =
        page->timeline->trend.significant && page->timeline->trend.growth_per_h > 0.0;
    tl_report_text words = {0};
    tl_report_text_add(&words,
                       "What makes an edge wide: focus, which drifts as a tube cools or warms; the "
                       "air, the more of it the lower the Sun stands; a camera that moves while it "
                       "exposes; thin cloud. The width alone does not tell which of them it was.");
    add_altitudes(page, &words);
    if (wider)
        tl_report_text_add(&words, " Next time focus again on the way, on the Sun\u2019s edge or "
                                   "a sunspot, with the filter on.");
    tl_report_html_paragraph(page, "", &words);
}

static void add_note(const tl_report_page *page) {
    const tl_report_timeline *timeline = page->timeline;
    tl_report_text words = {0};
    tl_report_text_add(&words,
                       timeline->utc
                           ? "The width is the sigma of a bell curve, in seconds of arc on the "
                             "sky: in px, as in the table, pictures of different scale cannot be "
                             "compared."
                           : "The width is the sigma of a bell curve, in per cent of the solar "
                             "radius: in px, as in the table, pictures of different scale cannot "
                             "be compared.");
    tl_report_text_add(&words, " Across the edge the light falls from 90 to 10 % within 2.6 such "
                               "widths. The line is fitted to its logarithm, all pictures alike");
    tl_report_text_add(
        &words, page->sequence->track.camera_count > 1 ? ", those of the main camera alone" : "");
    tl_report_text_add(&words, "; its error is from their scatter, larger where neighbours in time "
                               "err alike. Pictures left out of the fits do not count.");
    tl_report_html_paragraph(page, "note", &words);
}

tl_status tl_report_html_focus(const tl_report_page *page) {
    tl_report_text svg = {0}, words = {0};
    if (!tl_report_html_has_focus(page))
        return TL_OK;
    const tl_status status =
        tl_report_timeline_panel_svg(page->timeline, TL_REPORT_PANEL_BLUR, &svg);
    if (status != TL_OK) {
        tl_report_text_free(&svg);
        return status;
    }
    tl_report_text_add(page->html, "<section id=\"focus\">\n<h2>Focus</h2>\n");
    tl_report_words_blur(page->timeline, &words);
    tl_report_html_paragraph(page, "", &words);
    tl_report_words_blur_trend(page->timeline, &words);
    tl_report_html_paragraph(page, "", &words);
    tl_report_text_add(page->html, "<div class=\"drawing wide\">\n");
    tl_report_words_timeline_drawing(page->timeline, TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_BLUR),
                                     &words);
    tl_report_html_svg(page, &svg, &words);
    tl_report_text_add(page->html, "</div>\n");
    add_meaning(page);
    add_note(page);
    tl_report_text_add(page->html, "</section>\n");
    return TL_OK;
}
