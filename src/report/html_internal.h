/*
 * html_internal.h - the page, section by section.
 */
#ifndef TWOLIMB_REPORT_HTML_INTERNAL_H
#define TWOLIMB_REPORT_HTML_INTERNAL_H

#include "report/report_internal.h"

/* html_page.c: the words, escaped; frees them. */
void tl_report_html_words(const tl_report_page *page, tl_report_text *words);
/* The same as a paragraph of this class ("" for none); nothing if there are no words. */
/* A list under a heading, or nothing if there is no item 0. False: no item `n`. */
typedef bool tl_report_html_item(const tl_report_page *page, size_t n, tl_report_text *words);
void tl_report_html_list(const tl_report_page *page, const char *heading,
                         tl_report_html_item *item);
void tl_report_html_paragraph(const tl_report_page *page, const char *class_name,
                              tl_report_text *words);

/* A drawing as a picture of its own, so that the names inside it cannot meet those of another; with
 * the words that stand for it. Frees both. */
void tl_report_html_svg(const tl_report_page *page, tl_report_text *svg, tl_report_text *alt);

void tl_report_html_phases(const tl_report_page *page);     /* html_phases.c */
void tl_report_html_opening(const tl_report_page *page);    /* html_opening.c */
void tl_report_html_given(const tl_report_page *page);      /* html_given.c */
void tl_report_html_comparison(const tl_report_page *page); /* html_comparison.c */
/* html_clock.c; has_clock: there is such a section. */
bool tl_report_html_has_clock(const tl_report_page *page);
void tl_report_html_clock(const tl_report_page *page);
void tl_report_html_place(const tl_report_page *page); /* html_place.c */
/* html_timeline.c, html_focus.c; has_focus: there is such a section. TL_ERR_MEMORY. */
tl_status tl_report_html_timeline(const tl_report_page *page);
bool tl_report_html_has_focus(const tl_report_page *page);
tl_status tl_report_html_focus(const tl_report_page *page);
void tl_report_html_spots(const tl_report_page *page);             /* html_spots.c */
void tl_report_html_spot_map(const tl_report_page *page);          /* html_spot_map.c */
void tl_report_html_spot_states(const tl_report_page *page);       /* html_spot_states.c */
void tl_report_html_closeups(const tl_report_page *page);          /* html_closeups.c */
void tl_report_html_gallery(const tl_report_page *page);           /* html_gallery.c */
void tl_report_html_overlay(const tl_report_page *page, size_t i); /* html_overlay.c */
void tl_report_html_frames(const tl_report_page *page);            /* html_frames.c */
void tl_report_html_method(const tl_report_page *page);            /* html_method.c */

#endif
