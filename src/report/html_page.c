/*
 * html_page.c - report.html: one page that needs nothing else, no network, and no script for
 * anything but sorting and keys.
 */
#include "report/html_internal.h"

#include "embedded/page.css.h"
#include "embedded/page.js.h"

void tl_report_html_words(const tl_report_page *page, tl_report_text *words) {
    tl_report_add_html(page->html, tl_report_text_string(words));
    page->html->failed = page->html->failed || words->failed;
    tl_report_text_free(words);
}

void tl_report_html_list(const tl_report_page *page, const char *heading,
                         tl_report_html_item *item) {
    tl_report_text words = {0};
    size_t n = 0;
    for (; item(page, n, &words); n++) {
        if (n == 0)
            tl_report_text_addf(page->html, "<h3>%s</h3>\n<ul>\n", heading);
        tl_report_text_add(page->html, "<li>");
        tl_report_html_words(page, &words);
        tl_report_text_add(page->html, "</li>\n");
    }
    if (n > 0)
        tl_report_text_add(page->html, "</ul>\n");
    tl_report_html_words(page, &words); /* empty by now: nothing but its memory */
}

void tl_report_html_paragraph(const tl_report_page *page, const char *class_name,
                              tl_report_text *words) {
    if (words->length == 0 && !words->failed) {
        tl_report_text_free(words);
        return;
    }
    if (*class_name)
        tl_report_text_addf(page->html, "<p class=\"%s\">", class_name);
    else
        tl_report_text_add(page->html, "<p>");
    tl_report_html_words(page, words);
    tl_report_text_add(page->html, "</p>\n");
}

void tl_report_html_scroll(const tl_report_page *page, const char *label) {
    tl_report_text_addf(page->html,
                        "<div class=\"scroll wide\" role=\"region\" aria-label=\"%s\" "
                        "tabindex=\"0\">",
                        label);
}

/* The policy keeps the page from loading anything, and from running anything but its own script,
 * whatever a file name may hold. */
static void add_head(const tl_report_page *page) {
    tl_report_text words = {0};
    tl_report_text_add(page->html,
                       "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n"
                       "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                       "img-src data:; style-src 'unsafe-inline'; "
                       "script-src 'sha256-" PAGE_JS_SHA256 "'\"/>\n"
                       "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
                       "<meta name=\"generator\" content=\"" TL_REPORT_PROGRAM " " TL_VERSION
                       "\"/>\n<title>");
    tl_report_words_title(page->sequence, page->facts, &words);
    tl_report_html_words(page, &words);
    tl_report_text_add(page->html, "</title>\n<style>\n");
    tl_report_text_add(page->html, page_css);
    tl_report_text_add(page->html, "</style>\n</head>\n<body>\n<a class=\"skip\" "
                                   "href=\"#summary\">Skip to the summary</a>\n<main>\n");
}

tl_report_page tl_report_page_of(const tl_report_source *source, tl_report_text *html) {
    return (tl_report_page){source->sequence, &source->facts,    &source->path,
                            &source->plates,  &source->timeline, html};
}

void tl_report_html_svg(const tl_report_page *page, tl_report_text *svg, tl_report_text *alt) {
    tl_report_text_add(page->html, "<img alt=\"");
    tl_report_html_words(page, alt);
    tl_report_text_add(page->html, "\" src=\"data:image/svg+xml;base64,");
    tl_report_text_base64(page->html, (const unsigned char *)svg->data, svg->length);
    tl_report_text_add(page->html, "\"/>\n");
    page->html->failed = page->html->failed || svg->failed;
    tl_report_text_free(svg);
}

static tl_status add_path(const tl_report_page *page) {
    tl_report_text svg = {0}, alt = {0};
    if (page->path->line_count == 0)
        return TL_OK;
    const tl_status status = tl_report_path_svg(page->facts, page->path, &svg);
    if (status != TL_OK) {
        tl_report_text_free(&svg);
        return status;
    }
    tl_report_text_add(page->html, "<section id=\"path\">\n<h2>The Moon\u2019s path</h2>\n"
                                   "<div class=\"drawing\" role=\"region\" "
                                   "aria-label=\"Drawing of the path\" tabindex=\"0\">\n");
    tl_report_text_add(&alt, "Drawing of the Moon\u2019s path across the Sun\u2019s disc; the "
                             "times and separations are in the tables");
    tl_report_html_svg(page, &svg, &alt);
    tl_report_text_add(page->html, "</div>\n</section>\n");
    return TL_OK;
}

static void add_end(const tl_report_page *page) {
    tl_report_text_add(
        page->html,
        "</main>\n<footer>Made by " TL_REPORT_PROGRAM " " TL_VERSION
        ". The same figures for programs are in frames.csv and sequence.json, the "
        "drawings in path.svg and timeline.svg. Small copies of the pictures are part of this "
        "page; it needs no other file and no connection.</footer>\n<script>");
    tl_report_text_add(page->html, page_js);
    tl_report_text_add(page->html, "</script>\n</body>\n</html>\n");
}

tl_status tl_report_html(const tl_report_source *source, tl_report_text *html) {
    const tl_report_page of = tl_report_page_of(source, html), *page = &of;
    add_head(page);
    tl_report_html_opening(page);
    tl_report_html_series(page);
    tl_status status = add_path(page);
    if (status == TL_OK)
        status = tl_report_html_timeline(page);
    tl_report_html_frames(page);
    tl_report_html_comparison(page);
    tl_report_html_clock(page);
    tl_report_html_place(page);
    tl_report_html_spots(page);
    tl_report_html_holding(page);
    if (status == TL_OK)
        status = tl_report_html_focus(page);
    tl_report_html_gallery(page);
    tl_report_html_method(page);
    add_end(page);
    return html->failed ? TL_ERR_MEMORY : status;
}
