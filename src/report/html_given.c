/*
 * html_given.c - what the user said, apart from what the pictures showed.
 */
#include "report/html_internal.h"

void tl_report_html_given(const tl_report_page *page) {
    tl_report_text words = {0};
    size_t n = 0;
    for (; tl_report_words_given(page->sequence, n, &words); n++) {
        if (n == 0)
            tl_report_text_add(page->html, "<h3>Given by you</h3>\n<ul>\n");
        tl_report_text_add(page->html, "<li>");
        tl_report_html_words(page, &words);
        tl_report_text_add(page->html, "</li>\n");
    }
    if (n > 0)
        tl_report_text_add(page->html, "</ul>\n");
    tl_report_html_words(page, &words); /* empty by now: nothing but its memory */
}
