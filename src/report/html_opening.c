/*
 * html_opening.c - title, the series at a glance, and the summary in plain words.
 */
#include "report/html_internal.h"
#include "report/spots_internal.h"

enum { REASONS = 8, OTHERS_TOLD = 3 };

static void add_title(const tl_report_page *page) {
    tl_report_text words = {0};
    tl_report_text_add(page->html, "<header>\n<h1>");
    tl_report_words_title(page->sequence, page->facts, &words);
    tl_report_html_words(page, &words);
    tl_report_text_add(page->html, "</h1>\n");
    tl_report_words_site(&page->sequence->options.site, &words);
    if (page->facts->has_zone) {
        tl_report_text_add(&words, "; local time ");
        tl_report_add_zone(&words, page->facts->zone_minutes);
    }
    tl_report_html_paragraph(page, "place", &words);
    tl_report_html_phases(page);
    tl_report_text_addf(
        page->html,
        "<nav aria-label=\"Parts of this page\"><a href=\"#summary\">Summary</a> %s%s%s"
        "<a href=\"#table\">Table</a> <a href=\"#times\">Times</a> %s"
        "<a href=\"#spots\">Sunspots</a> %s%s<a href=\"#pictures\">Pictures</a> "
        "<a href=\"#method\">Method and accuracy</a> <a href=\"#safety\">Safety</a></nav>\n"
        "<p class=\"caution\"><b>The Sun blinds.</b> Look at it, also through a camera, only with "
        "a filter made for it on the front of the optics: <a href=\"#safety\">what to "
        "heed</a>.</p>\n</header>\n",
        page->plates->count ? "<a href=\"#series\">Series</a> " : "",
        page->path->line_count ? "<a href=\"#path\">Path</a> " : "",
        page->timeline->panels ? "<a href=\"#timeline\">Timeline</a> " : "",
        tl_report_html_has_clock(page) ? "<a href=\"#clock\">Clock</a> " : "",
        tl_report_html_has_holding(page) ? "<a href=\"#holding\">Turning</a> " : "",
        tl_report_html_has_focus(page) ? "<a href=\"#focus\">Focus</a> " : "");
}

static void add_refusals(const tl_report_page *page) {
    tl_report_group group[REASONS];
    const size_t groups = tl_report_refusals(page->sequence, REASONS, group);
    if (groups == 0)
        return;
    size_t left = page->sequence->count - page->facts->with_status[TL_LIMB_MEASURED] -
                  tl_sequence_copies(page->sequence);
    tl_report_text_add(page->html, "<h3>Not measured</h3>\n<ul>\n");
    for (size_t i = 0; i < groups; i++) {
        tl_report_text_addf(page->html, "<li>%zu picture%s %s", group[i].count,
                            group[i].count == 1 ? "" : "s",
                            tl_report_words_status(group[i].status));
        if (group[i].reason[0]) {
            tl_report_text_add(page->html, ": ");
            tl_report_add_html(page->html, group[i].reason);
        }
        tl_report_text_add(page->html, "</li>\n");
        left -= group[i].count;
    }
    if (left > 0)
        tl_report_text_addf(page->html, "<li>%zu more for other reasons: see the pictures</li>\n",
                            left);
    tl_report_text_add(page->html, "</ul>\n");
}

/* What was found beside the pictures, and twice. */
static void add_copies_and_passed(const tl_report_page *page) {
    const size_t copies = tl_sequence_copies(page->sequence);
    tl_report_text words = {0}, passed = {0};
    if (copies > 0)
        tl_report_text_addf(&words,
                            "%zu picture%s of another here, saved again; the better one of "
                            "each is used. ",
                            copies, copies == 1 ? " is a copy" : "s are copies");
    tl_report_words_passed(page->sequence, &passed);
    if (passed.length > 0)
        tl_report_text_addf(&words, "In the folders were %s.", tl_report_text_string(&passed));
    tl_report_text_free(&passed);
    tl_report_html_paragraph(page, "", &words);
}

static void add_outliers(const tl_report_page *page) {
    size_t off = 0, days = 0;
    if (page->facts->outliers == 0)
        return;
    tl_report_text_add(page->html, "<h3>Left out of the fits</h3>\n<ul>\n");
    for (size_t i = 0; i < page->sequence->count; i++) {
        tl_report_text words = {0};
        if (!tl_report_is_outlier(page->sequence, i))
            continue;
        *(tl_report_other_day(page->sequence, i) ? &days : &off) += 1;
        tl_report_text_addf(page->html, "<li><a href=\"#place-%zu\">", i + 1);
        tl_report_add_html(page->html, tl_report_base_name(page->sequence->frame[i].path));
        tl_report_text_add(page->html, "</a> ");
        tl_report_words_outlier(page->sequence, i, &words);
        tl_report_html_words(page, &words);
        tl_report_text_add(page->html, "</li>\n");
    }
    tl_report_text_addf(page->html, "</ul>\n<p class=\"note\">%s%s%s</p>\n",
                        off > 0 ? "Either the circles or the time of a picture that is off is "
                                  "wrong: look at both."
                                : "",
                        off > 0 && days > 0 ? " " : "",
                        days > 0 ? "Analyse each day by itself." : "");
}

/* The clocks of the cameras beside the main one; many of them are left to the table. */
static void add_other_clocks(const tl_report_page *page) {
    const tl_track *track = &page->sequence->track;
    if (!tl_track_main(track)->clock.solved || track->camera_count > OTHERS_TOLD + 1)
        return;
    for (size_t k = 0; k < track->camera_count; k++) {
        tl_report_text words = {0};
        if (k == track->main_camera)
            continue;
        tl_report_words_other_clock(page->sequence, k, &words);
        tl_report_html_paragraph(page, "", &words);
    }
}

static bool advice(const tl_report_page *page, size_t n, tl_report_text *words) {
    return tl_report_words_advice(page->sequence, page->facts, n, words);
}

void tl_report_html_opening(const tl_report_page *page) {
    tl_report_text words = {0};
    add_title(page);
    tl_report_text_add(page->html, "<section id=\"summary\">\n<h2>Summary</h2>\n");
    tl_report_words_caught(page->sequence, page->facts, &words);
    tl_report_html_paragraph(page, "lead", &words);
    tl_report_words_clock(page->sequence, &words);
    tl_report_html_paragraph(page, "lead", &words);
    add_other_clocks(page);
    tl_report_words_contacts(page->sequence, page->facts, &words);
    tl_report_html_paragraph(page, "lead", &words);
    tl_report_words_deepest(page->sequence, &words);
    tl_report_html_paragraph(page, "lead", &words);
    tl_report_words_agreement(page->sequence, &words);
    tl_report_html_paragraph(page, "lead", &words);
    if (page->sequence->spots.count > 0) /* the one most worth telling; all are in their section */
        tl_report_words_spot(page->sequence, page->facts, tl_report_spot_told(page->sequence, 0),
                             &words);
    tl_report_html_paragraph(page, "lead", &words);
    tl_report_words_sides(page->sequence, &words);
    tl_report_html_paragraph(page, "", &words);
    add_refusals(page);
    add_copies_and_passed(page);
    add_outliers(page);
    tl_report_html_list(page, "Notes, and what to do", advice);
    tl_report_html_given(page);
    tl_report_text_add(page->html, "</section>\n");
}
