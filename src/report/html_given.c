/*
 * html_given.c - what the user said, apart from what the pictures showed.
 */
#include "report/html_internal.h"

static bool given(const tl_report_page *page, size_t n, tl_report_text *words) {
    return tl_report_words_given(page->sequence, n, words);
}

void tl_report_html_given(const tl_report_page *page) {
    tl_report_html_list(page, "Given by you", given);
}
