/*
 * html_page.c - report.html: one page that needs nothing else, neither network nor
 * script.
 */
#include <string.h>

#include "report/html_internal.h"

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
    if (words->length == 0) {
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

/* The policy keeps the page from loading or running anything, whatever a file name may hold. */
static void add_head(const tl_report_page *page) {
    tl_report_text words = {0};
    tl_report_text_add(page->html,
                       "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n"
                       "<meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; "
                       "img-src data:; style-src 'unsafe-inline'\"/>\n"
                       "<meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"/>\n"
                       "<meta name=\"generator\" content=\"" TL_REPORT_PROGRAM " " TL_VERSION
                       "\"/>\n<title>");
    tl_report_words_title(page->sequence, page->facts, &words);
    tl_report_html_words(page, &words);
    tl_report_text_add(page->html, "</title>\n<style>\n");
    for (const char *const *part = tl_report_style; *part; part++)
        tl_report_text_add(page->html, *part);
    tl_report_text_add(page->html, "</style>\n</head>\n<body>\n<main>\n");
}

/* The drawing without its XML declaration, which has no place inside a page. */
static void add_drawing(const tl_report_page *page) {
    const char *svg = strstr(page->path_svg, "<svg");
    if (page->path->line_count == 0 || !svg)
        return;
    tl_report_text_add(page->html,
                       "<section id=\"path\">\n<h2>The Moon\u2019s path</h2>\n"
                       "<div class=\"drawing\" role=\"img\" aria-label=\"Drawing of the "
                       "Moon\u2019s path across the Sun\u2019s disc; the times and "
                       "separations are in the tables\">\n");
    tl_report_text_add(page->html, svg);
    tl_report_text_add(page->html, "</div>\n</section>\n");
}

static void add_end(const tl_report_page *page) {
    tl_report_text_add(
        page->html, "</main>\n<footer>Made by " TL_REPORT_PROGRAM " " TL_VERSION
                    ". The same figures for programs are in frames.csv and sequence.json, the "
                    "drawing in path.svg. Small copies of the pictures are part of this "
                    "page; it needs no other file and no connection.</footer>\n</body>\n</html>\n");
}

tl_status tl_report_html(const tl_report_page *page) {
    add_head(page);
    tl_report_html_opening(page);
    tl_report_html_place(page);
    tl_report_html_comparison(page);
    tl_report_html_clock(page);
    add_drawing(page);
    tl_report_html_spots(page);
    tl_report_html_gallery(page);
    tl_report_html_frames(page);
    tl_report_html_method(page);
    add_end(page);
    return page->html->failed ? TL_ERR_MEMORY : TL_OK;
}
