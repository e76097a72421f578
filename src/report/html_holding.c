/*
 * html_holding.c - how each camera was held and turned: in words, as a drawing (html_turns.c) and,
 * folded in, picture by picture.
 */
#include <math.h>

#include "report/html_internal.h"
#include "report/spots_internal.h"

bool tl_report_html_has_holding(const tl_report_page *page) {
    return page->facts->with_status[TL_LIMB_MEASURED] > 0;
}

/* Why a picture turns: of the mounts there are, so that it is said once. */
static void add_reason(const tl_report_page *page) {
    const tl_track *track = &page->sequence->track;
    bool level = false;
    for (size_t k = 0; k < track->camera_count; k++)
        level = level || track->camera[k].holding == TL_HOLDING_ALTAZ;
    if (level)
        tl_report_text_add(page->html,
                           "<p class=\"note\">Why a picture turns: a level camera keeps the "
                           "zenith up, but north on the Sun is towards the pole of the sky, and "
                           "the angle between the two changes as the Sun crosses the sky, "
                           "fastest where it stands highest.</p>\n");
}

static void add_camera(const tl_report_page *page, size_t k) {
    const tl_track *track = &page->sequence->track;
    tl_report_text words = {0};
    if (track->camera_count > 1) {
        tl_report_text_add(page->html, "<h3>");
        tl_report_camera_name(page->sequence, k, &words);
        tl_report_html_words(page, &words);
        tl_report_text_add(page->html, "</h3>\n");
    }
    tl_report_words_holding(&track->camera[k], &words);
    tl_report_words_mirror_known(&track->camera[k], &words);
    tl_report_html_paragraph(page, "", &words);
    tl_report_html_turns(page, k);
}

/* ---- the table ------------------------------------------------------------------------------ */

/* By how much the turn by the spots differs from the one by the Moon in the picture. */
static void add_difference(const tl_report_page *page, size_t i) {
    const tl_spot_turn *turn = tl_report_spot_turn(page->sequence, i);
    double up, sigma;
    tl_report_text_add(page->html, "<td class=\"n\">");
    if (tl_report_moon_turn(page->sequence, i, &up, &sigma)) {
        const double both = hypot(sigma, turn->sigma_rad) / TL_DEG;
        const int decimals = tl_report_decimals(both, 2);
        tl_report_add_signed(page->html, tl_angle_signed(turn->up_pa_rad - up) / TL_DEG, decimals);
        tl_report_text_add(page->html, "\u00a0\u00b1\u00a0");
        tl_report_add_sigma(page->html, both, decimals);
    }
    tl_report_text_add(page->html, "</td>");
}

static void add_row(const tl_report_page *page, size_t i, bool spots) {
    static const char *const by[] = {[TL_TURN_NONE] = "",
                                     [TL_TURN_BY_MOON] = "its Moon",
                                     [TL_TURN_BY_RULE] = "the mount\u2019s rule",
                                     [TL_TURN_BY_SPOTS] = "its sunspots"};
    const tl_track_frame *tracked = tl_report_track_frame(page->sequence, i);
    const double sigma_deg = tracked->up_sigma_rad / TL_DEG;
    const int decimals = sigma_deg > 0.0 ? tl_report_decimals(sigma_deg, 2) : 1;
    tl_report_text *html = page->html;
    tl_report_text_addf(html, "<tr><th scope=\"row\" class=\"file\"><a href=\"#place-%zu\"><bdi>",
                        i + 1);
    tl_report_add_html(html, tl_report_base_name(page->sequence->frame[i].path));
    tl_report_text_add(html, "</bdi></a></th><td class=\"t\">");
    if (tracked->has_true)
        tl_report_add_clock(html, tracked->true_utc_s, 0, page->facts->day_s);
    tl_report_text_add(html, "</td><td class=\"n\">");
    tl_report_add_fixed(html, tl_angle_positive(tracked->up_pa_rad) / TL_DEG, decimals);
    tl_report_text_add(html, "</td><td class=\"n\">");
    if (sigma_deg > 0.0)
        tl_report_add_sigma(html, sigma_deg, decimals);
    tl_report_text_addf(html, "</td><td>%s</td>", by[tracked->turn_by]);
    if (spots)
        add_difference(page, i);
    tl_report_text_add(html, "</tr>\n");
}

static void add_table(const tl_report_page *page) {
    size_t turned = 0;
    bool spots = false;
    for (size_t i = 0; i < page->sequence->count; i++) {
        turned += tl_report_track_frame(page->sequence, i)->has_turn;
        spots = spots || tl_report_spot_turn(page->sequence, i)->has_turn;
    }
    if (turned == 0)
        return;
    tl_report_text_add(page->html, "<details>\n<summary>The turn of every picture</summary>\n");
    tl_report_html_scroll(page, "The turn of every picture");
    tl_report_text_addf(
        page->html,
        "<table class=\"dense\">\n<thead><tr><th "
        "scope=\"col\" class=\"file\">File</th><th scope=\"col\">True<br/>UTC</th><th "
        "scope=\"col\" class=\"n\">Up PA<br/>\u00b0</th><th scope=\"col\" "
        "class=\"n\">\u00b1<br/>\u00b0</th><th scope=\"col\">Told "
        "by</th>%s</tr></thead>\n<tbody>\n",
        spots ? "<th scope=\"col\" class=\"n\">Turn, spots<br/>less Moon \u00b0</th>" : "");
    for (size_t i = 0; i < page->sequence->count; i++)
        if (tl_report_track_frame(page->sequence, i)->has_turn)
            add_row(page, i, spots);
    tl_report_text_addf(page->html,
                        "</tbody></table></div>\n<p class=\"note\">Up PA: the direction on the "
                        "sky of the picture\u2019s upper edge, from north through east.%s</p>\n"
                        "</details>\n",
                        spots ? " The last column: how the picture was turned by its sunspots, "
                                "less the same by the direction of its own Moon."
                              : "");
}

void tl_report_html_holding(const tl_report_page *page) {
    tl_report_text words = {0};
    if (!tl_report_html_has_holding(page))
        return;
    tl_report_text_add(page->html, "<section id=\"holding\">\n<h2>How the camera was held and "
                                   "turned</h2>\n");
    for (size_t k = 0; k < page->sequence->track.camera_count; k++)
        add_camera(page, k);
    tl_report_words_spot_turns(page->sequence, &words);
    tl_report_html_paragraph(page, "", &words);
    add_reason(page);
    add_table(page);
    tl_report_text_add(page->html, "</section>\n");
}
