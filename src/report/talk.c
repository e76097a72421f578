/*
 * talk.c - talk.html: the slides one at a time, full screen, with what to say to each.
 */
#include "report/talk_internal.h"

#include "embedded/talk.css.h"
#include "embedded/talk.js.h"

static void add_html(tl_report_text *html, tl_report_text *words) {
    tl_report_add_html(html, tl_report_text_string(words));
    html->failed = html->failed || words->failed;
    tl_report_text_free(words);
}

/* Nothing is loaded, and no script runs but the one of these bytes. */
static void add_head(const tl_report_source *source, tl_report_text *html) {
    tl_report_text title = {0};
    tl_report_text_add(html,
                       "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n"
                       "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                       "img-src data:; style-src 'unsafe-inline'; script-src "
                       "'sha256-" TALK_JS_SHA256 "'\"/>\n"
                       "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
                       "<meta name=\"generator\" content=\"" TL_REPORT_PROGRAM " " TL_VERSION
                       "\"/>\n<title>");
    tl_report_words_title(source->sequence, &source->facts, &title);
    add_html(html, &title);
    tl_report_text_add(html, "</title>\n<style>\n");
    tl_report_text_add(html, talk_css);
    tl_report_text_add(html, "</style>\n</head>\n<body>\n");
}

/* One after the other, as they are set. */
static void hear(void *context, const char *words, const tl_report_rect *box, bool fits) {
    tl_report_text *heard = context;
    (void)box;
    (void)fits;
    if (heard->length > 0)
        tl_report_text_add(heard, "; ");
    tl_report_text_add(heard, words);
}

/* The words on a slide are heard while it is drawn: they are the text for those who do not see
 * it. */
static tl_status add_slide(const tl_report_source *source, const tl_report_slide *slide, size_t k,
                           size_t count, tl_report_text *html) {
    tl_report_text svg = {0}, heard = {0}, note = {0}, headline = {0};
    const tl_report_ear ear = {hear, &heard};
    const tl_report_slide_drawing drawing_of = {source, slide, k, count, &ear};
    const tl_report_drawing drawing = tl_report_drawing_of_slide(&drawing_of);
    const tl_status status = tl_report_draw_svg(&drawing, &svg);
    slide->headline(source, &headline);
    slide->note(source, &note);
    if (status == TL_OK) {
        tl_report_text_addf(html, "<section aria-label=\"%zu of %zu: ", k + 1, count);
        add_html(html, &headline);
        tl_report_text_add(html, "\">\n<img width=\"1920\" height=\"1080\" alt=\"");
        add_html(html, &heard);
        tl_report_text_add(html, "\" src=\"data:image/svg+xml;base64,");
        tl_report_text_base64(html, (const unsigned char *)svg.data, svg.length);
        tl_report_text_add(html, "\"/>\n<p class=\"note\">");
        add_html(html, &note);
        tl_report_text_add(html, "</p>\n</section>\n");
    }
    html->failed = html->failed || svg.failed;
    tl_report_text_free(&svg);
    tl_report_text_free(&heard);
    tl_report_text_free(&note);
    tl_report_text_free(&headline);
    return status;
}

tl_status tl_report_talk(const tl_report_source *source, tl_report_text *html) {
    const tl_report_slide *chosen[TL_REPORT_SLIDES_MOST];
    const size_t count = tl_report_talk_slides(source, chosen);
    tl_status status = TL_OK;
    if (count == 0)
        return TL_OK;
    add_head(source, html);
    tl_report_text_add(html, "<main>\n");
    for (size_t k = 0; k < count && status == TL_OK; k++)
        status = add_slide(source, chosen[k], k, count, html);
    tl_report_text_add(html, "</main>\n<p id=\"now\" class=\"unseen\" role=\"status\"></p>\n"
                             "<p id=\"help\" class=\"unseen\">Arrow keys, space or a tap turn the "
                             "slides; F fills the screen; N shows what to say; Escape leaves.</p>\n"
                             "<script>");
    tl_report_text_add(html, talk_js);
    tl_report_text_add(html, "</script>\n</body>\n</html>\n");
    return html->failed ? TL_ERR_MEMORY : status;
}
