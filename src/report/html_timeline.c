/*
 * html_timeline.c - the series in time.
 */
#include "report/html_internal.h"
#include "report/timeline_internal.h"

tl_status tl_report_html_timeline(const tl_report_page *page) {
    const tl_report_timeline *timeline = page->timeline;
    tl_report_text svg = {0}, words = {0};
    if (timeline->panels == 0)
        return TL_OK;
    const tl_status status = tl_report_timeline_svg(page->facts, timeline, &svg);
    if (status != TL_OK) {
        tl_report_text_free(&svg);
        return status;
    }
    tl_report_text_add(page->html, "<section id=\"timeline\">\n<h2>The series in time</h2>\n");
    tl_report_words_timeline(timeline, &words);
    tl_report_html_paragraph(page, "", &words);
    tl_report_text_add(page->html, "<div class=\"drawing wide\">\n");
    tl_report_words_timeline_drawing(timeline, TL_REPORT_ALL_PANELS, &words);
    tl_report_html_svg(page, &svg, &words);
    tl_report_text_add(page->html, "</div>\n</section>\n");
    return TL_OK;
}
