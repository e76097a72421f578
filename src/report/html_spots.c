/*
 * html_spots.c - the sunspots: words, the table, and what is open.
 */
#include <math.h>

#include "report/html_internal.h"
#include "report/spots_internal.h"

enum { TOLD = 3 }; /* spots told in a sentence each; the table has them all */

static bool doubt(const tl_report_page *page, size_t n, tl_report_text *words) {
    return tl_report_words_spot_doubt(page->sequence, n, words);
}

static void add_near(const tl_report_page *page, const tl_spot_passage *passage) {
    static const char *const word[] = {"before: ", "after: "};
    const tl_sequence *sequence = page->sequence;
    for (int k = 0; k < 2; k++) {
        if (!passage->has_near[k] || passage->near[k] >= sequence->count)
            continue;
        tl_report_text_addf(page->html, "<small>%s<a href=\"#place-%zu\"><bdi>", word[k],
                            passage->near[k] + 1);
        tl_report_add_html(page->html, tl_report_base_name(sequence->frame[passage->near[k]].path));
        tl_report_text_add(page->html, "</bdi></a></small>");
    }
}

static void add_camera_time(const tl_report_page *page, double t_utc_s, double sigma_s,
                            int decimals) {
    double camera_s, camera_sigma_s;
    if (!tl_report_spot_camera(page->sequence, t_utc_s, sigma_s, &camera_s, &camera_sigma_s))
        return;
    tl_report_text_add(page->html, "<small>camera ");
    tl_report_add_clock(page->html, camera_s, decimals,
                        floor(page->facts->first_camera_s / TL_DAY_S) * TL_DAY_S);
    tl_report_text_add(page->html, "\u00a0\u00b1\u00a0");
    tl_report_add_sigma(page->html, camera_sigma_s, decimals);
    tl_report_text_add(page->html, "\u00a0s</small>");
}

static void add_times(const tl_report_page *page, const tl_spot_passage *passage, int decimals) {
    const double t_s = passage->t_utc_s[TL_SPOT_CENTRE];
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<td class=\"t\">");
    if (passage->occurs) {
        tl_report_add_clock(html, t_s, decimals, page->facts->day_s);
        tl_report_text_add(html, "\u00a0\u00b1\u00a0");
        tl_report_add_sigma(html, tl_report_spot_sigma(passage), decimals);
        tl_report_text_add(html, passage->sun_up ? "\u00a0s" : "\u00a0s, the Sun being down");
        add_camera_time(page, t_s, tl_report_spot_sigma(passage), decimals);
        add_near(page, passage);
    } else {
        tl_report_text_add(html, "\u2013");
    }
    tl_report_text_add(html, "</td>");
}

static void add_place(const tl_report_page *page, const tl_spot *spot) {
    tl_report_text words = {0};
    tl_report_text_add(page->html, "<td class=\"t\">");
    tl_report_words_spot_place(spot, &words);
    tl_report_html_words(page, &words);
    tl_report_text_add(page->html, "<small>Carrington ");
    tl_report_add_fixed(page->html, tl_angle_positive(spot->carrington_rad) / TL_DEG, 1);
    tl_report_text_add(page->html, "\u00b0</small><small>");
    tl_report_words_spot_disc(spot, &words);
    tl_report_html_words(page, &words);
    tl_report_text_add(page->html, "</small></td>");
}

static void add_size(const tl_report_page *page, const tl_spot *spot) {
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<td class=\"t\">");
    if (spot->area_ppm > 0.0) {
        tl_report_add_measure(html, spot->area_ppm, spot->area_sigma_ppm, 1, "");
        tl_report_text_add(html, "<small>");
        tl_report_add_significant(html, tl_report_spot_earths(spot), 2);
        tl_report_text_add(html, " Earths across</small>");
    } else {
        tl_report_text_add(html, "\u2013");
    }
    tl_report_text_add(html, "</td>");
}

/* What there is to say of a spot without times of its own. */
static void add_fate(const tl_report_page *page, const tl_spot *spot) {
    tl_report_text_addf(page->html, "<td colspan=\"2\">%s",
                        tl_report_spot_fate_name[tl_report_spot_fate_of(spot)]);
    if (spot->has_passages) {
        tl_report_text_addf(page->html, "<small>%s the Moon\u2019s edge by ",
                            spot->clearance_sr < 0.0 ? "inside" : "outside");
        tl_report_add_measure(page->html, fabs(spot->clearance_sr), spot->clearance_sigma_sr, 4,
                              "solar radii");
        tl_report_text_add(page->html, "</small>");
    }
    tl_report_text_add(page->html, "</td>");
}

static void add_seen(const tl_report_page *page, const tl_spot *spot) {
    tl_report_text_addf(page->html, "<td class=\"n\">%zu", spot->seen_count);
    if (spot->from_list)
        tl_report_text_addf(page->html, "<small>%s</small>",
                            spot->in_pictures ? "in your list" : "your list alone");
    if (spot->could_be_dust)
        tl_report_text_add(page->html, "<small>dust?</small>");
    tl_report_text_add(page->html, "</td>");
}

static void add_row(const tl_report_page *page, const tl_spot *spot) {
    tl_report_text name = {0};
    const tl_report_spot_fate fate = tl_report_spot_fate_of(spot);
    tl_report_text_add(page->html, "<tr><th scope=\"row\"><bdi>");
    tl_report_add_spot_name(&name, spot);
    tl_report_html_words(page, &name);
    tl_report_text_add(page->html, "</bdi></th>");
    if (fate == TL_REPORT_SPOT_COVERED || fate == TL_REPORT_SPOT_DOWN) {
        add_times(page, &spot->covered, tl_report_spot_decimals(spot));
        add_times(page, &spot->uncovered, tl_report_spot_decimals(spot));
    } else {
        add_fate(page, spot);
    }
    add_place(page, spot);
    add_size(page, spot);
    add_seen(page, spot);
    tl_report_text_add(page->html, "</tr>\n");
}

static void add_table(const tl_report_page *page) {
    const tl_spots *spots = &page->sequence->spots;
    const bool several = page->sequence->track.camera_count > 1;
    tl_report_html_scroll(page, "Sunspots");
    tl_report_text_add(page->html,
                       "<table class=\"dense spots\">\n<thead><tr><th>Spot</th><th>Centre "
                       "covered<br/>UTC</th><th>Centre uncovered<br/>UTC</th><th>Place on the "
                       "Sun</th><th>Area<br/>millionths</th><th class=\"n\">Seen "
                       "in<br/>pictures</th></tr></thead>\n<tbody>\n");
    for (size_t s = 0; s < spots->count; s++)
        add_row(page, &spots->spot[s]);
    tl_report_text_addf(
        page->html,
        "</tbody></table></div>\n<p class=\"note\">Latitude and longitude are heliographic, "
        "longitude from the central meridian at the maximum of the eclipse; Carrington longitude "
        "stays with the spot. Area: of spot and penumbra, in millionths of the Sun\u2019s visible "
        "hemisphere, foreshortening taken out; in Earths, the diameter of a round spot of that "
        "area. The error of a time in UTC is that of the spot\u2019s place and of the mountains at "
        "the "
        "Moon\u2019s edge (\u00b11.5 arcsec, some 3 s); by the camera\u2019s "
        "clock, below it%s, that of the clock comes on top. spots.csv has the places in a form "
        "that "
        "another observer can use: <code>twolimb predict --spots spots.csv</code> with a place of "
        "their own.</p>\n",
        several ? " and that of the camera which gave the most pictures" : "");
}

static void add_words(const tl_report_page *page) {
    const tl_sequence *sequence = page->sequence;
    const size_t count = sequence->spots.count;
    tl_report_text words = {0};
    tl_report_text_add(page->html, "<div class=\"beside\"><div>\n");
    for (size_t k = 0; k < count && k < TOLD; k++) {
        const size_t s = tl_report_spot_told(sequence, k);
        if (sequence->spots.spot[s].has_passages || k == 0)
            tl_report_words_spot(sequence, page->facts, s, &words);
        tl_report_html_paragraph(page, "", &words);
    }
    tl_report_html_list(page, "What is open", doubt);
    tl_report_text_add(page->html, "</div>\n");
    tl_report_html_spot_map(page);
    tl_report_text_add(page->html, "</div>\n");
}

void tl_report_html_spots(const tl_report_page *page) {
    tl_report_text words = {0};
    tl_report_text_add(page->html, "<section id=\"spots\">\n<h2>Sunspots</h2>\n");
    tl_report_words_spots(page->sequence, &words);
    tl_report_html_paragraph(page, page->sequence->spots.count > 0 ? "lead" : "", &words);
    if (page->sequence->spots.count > 0) {
        add_words(page);
        add_table(page);
        tl_report_html_spot_states(page);
        tl_report_html_closeups(page);
    } else {
        tl_report_html_list(page, "What is open", doubt);
    }
    tl_report_text_add(page->html, "</section>\n");
}
