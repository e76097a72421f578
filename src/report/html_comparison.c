/*
 * html_comparison.c - what was measured beside what the almanac says: contact times,
 * then the other quantities.
 */
#include <math.h>

#include "report/html_internal.h"

/* A time cell; the local time below it where the zone is known. */
static void add_time(const tl_report_page *page, bool known, double t_s, bool utc, int decimals) {
    tl_report_text *html = page->html;
    const tl_report_facts *facts = page->facts;
    const double day_s = utc ? facts->day_s : floor(t_s / TL_DAY_S) * TL_DAY_S;
    tl_report_text_add(html, "<td class=\"t\">");
    if (known) {
        tl_report_add_clock(html, t_s, decimals, day_s);
        if (utc && facts->has_zone && facts->zone_minutes != 0) {
            tl_report_text_add(html, "<small>");
            tl_report_add_clock(html, t_s + facts->zone_minutes * 60.0, decimals, day_s);
            tl_report_text_add(html, " local</small>");
        }
    } else {
        tl_report_text_add(html, "\u2013");
    }
    tl_report_text_add(html, "</td>");
}

static void add_contact(const tl_report_page *page, int which) {
    const tl_track *track = &page->sequence->track;
    const tl_track_contact *c = &track->contact[which];
    const bool utc = tl_track_main(track)->clock.solved;
    const double sigma_s = tl_report_contact_sigma(track, which);
    const int decimals = tl_report_decimals(sigma_s, 1);
    tl_report_text *html = page->html;
    tl_report_text words = {0};
    tl_report_text_addf(html, "<tr><th scope=\"row\">%s<small>%s</small></th>",
                        tl_contact_name[which], tl_report_contact_name(track, which));
    if (!tl_report_any_contact(track)) {
        add_time(page, c->predicted, c->predicted_utc_s, true, 1);
        tl_report_text_add(html, "</tr>\n");
        return;
    }
    add_time(page, c->measured, utc ? c->measured_utc_s : c->measured_camera_s, utc, decimals);
    tl_report_text_add(html, "<td class=\"n\">");
    if (c->measured)
        tl_report_add_sigma(html, sigma_s, decimals);
    tl_report_text_add(html, "</td>");
    if (!track->has_circumstances) {
        tl_report_text_add(html, "</tr>\n");
        return;
    }
    add_time(page, c->predicted, c->predicted_utc_s, true, 1);
    tl_report_text_add(html, "<td class=\"n\">");
    if (utc && c->measured && c->predicted) {
        tl_report_add_signed(html, c->measured_utc_s - c->predicted_utc_s, decimals);
        tl_report_words_significance(c->measured_utc_s - c->predicted_utc_s,
                                     tl_report_contact_error(track, which), &words);
    }
    tl_report_text_add(html, "</td><td>");
    tl_report_html_words(page, &words);
    tl_report_text_add(html, "</td></tr>\n");
}

static void add_contacts(const tl_report_page *page) {
    const tl_track *track = &page->sequence->track;
    tl_report_text *html = page->html;
    tl_report_html_scroll(page, "Contact times");
    tl_report_text_add(html, "<table>\n<thead><tr><th>Contact</th>");
    if (tl_report_any_contact(track))
        tl_report_text_addf(html, "<th>Measured, %s</th><th class=\"n\">\u00b1 s</th>",
                            tl_track_main(track)->clock.solved ? "UTC" : "camera\u2019s clock");
    if (track->has_circumstances)
        tl_report_text_add(html, "<th>Almanac, UTC</th>");
    if (track->has_circumstances && tl_report_any_contact(track))
        tl_report_text_add(html, "<th class=\"n\">O \u2212 C, s</th><th>In words</th>");
    tl_report_text_add(html, "</tr></thead>\n<tbody>\n");
    for (int which = 0; which < TL_CONTACTS; which++)
        if (track->contact[which].measured || track->contact[which].predicted)
            add_contact(page, which);
    tl_report_text_add(page->html, "</tbody></table></div>\n");
}

/* One quantity: measured with its sigma (0: not known) and the floor that all frames share, the
 * almanac's value beside it. */
typedef struct quantity {
    const char *name, *unit;
    bool measured, predicted;
    double value, sigma, floor, almanac;
    int decimals;
    const char *words; /* instead of the significance, or NULL */
    double circle;     /* of a direction: what it is counted modulo; else 0 */
} quantity;

static void add_quantity(const tl_report_page *page, const quantity *q) {
    tl_report_text *html = page->html;
    const int decimals = tl_report_decimals(q->sigma, q->decimals);
    const double apart = q->value - q->almanac;
    const double difference = q->circle > 0.0 ? remainder(apart, q->circle) : apart;
    tl_report_text words = {0};
    if (!q->measured && !q->predicted)
        return;
    tl_report_text_addf(html, "<tr><th scope=\"row\">%s<small>%s</small></th><td class=\"n\">",
                        q->name, q->unit);
    if (q->measured)
        tl_report_add_fixed(html, q->value, decimals);
    tl_report_text_add(html, "</td><td class=\"n\">");
    if (q->measured && q->sigma > 0.0)
        tl_report_add_sigma(html, q->sigma, decimals);
    tl_report_text_add(html, "</td>");
    if (!page->sequence->track.has_circumstances) {
        tl_report_text_add(html, "</tr>\n");
        return;
    }
    tl_report_text_add(html, "<td class=\"n\">");
    if (q->predicted)
        tl_report_add_fixed(html, q->almanac, decimals);
    tl_report_text_add(html, "</td><td class=\"n\">");
    if (q->measured && q->predicted) {
        tl_report_add_signed(html, difference, decimals);
        if (q->words)
            tl_report_text_add(&words, q->words);
        else
            tl_report_words_significance(difference, hypot(q->sigma, q->floor), &words);
    }
    tl_report_text_add(html, "</td><td>");
    tl_report_html_words(page, &words);
    tl_report_text_add(html, "</td></tr>\n");
}

static void add_quantities(const tl_report_page *page) {
    /* Near totality both jump or flatten, so that their own sigmas would mislead. */
    static const char follows[] = "follows from the separation";
    static const char tied[] = "no test: the turn is the almanac\u2019s";
    static const char edges[] = "no test: blur and glare move the edges";
    const tl_track *track = &page->sequence->track;
    const tl_circumstances *c = &track->circumstances;
    const bool almanac = track->has_circumstances;
    const bool depth = track->has_smallest && track->ratio > 0.0 && track->magnitude > 0.0;
    const quantity row[] = {
        {"Smallest separation", "solar radii", track->has_smallest, almanac, track->smallest_sr,
         track->smallest_sigma_sr, TL_TRACK_FLOOR_SR, track->smallest_predicted_sr, 4, NULL, 0.0},
        {"Greatest magnitude", "share of the diameter", depth, almanac, track->magnitude,
         track->magnitude_sigma, 0.0, c->magnitude, 5, follows, 0.0},
        {"Greatest obscuration", "per cent of the disc", depth, almanac,
         100.0 * tl_obscuration(track->smallest_sr, track->ratio),
         100.0 * tl_obscuration_sigma(track->smallest_sr, track->smallest_sigma_sr, track->ratio,
                                      track->ratio_sigma),
         0.0, 100.0 * c->obscuration, 2, follows, 0.0},
        {"Moon\u2019s speed at maximum", "solar radii an hour",
         track->has_smallest && track->speed_sr_per_h > 0.0,
         almanac && track->speed_predicted_sr_per_h > 0.0, track->speed_sr_per_h,
         track->speed_sigma_sr_per_h, 0.0, track->speed_predicted_sr_per_h, 4, NULL, 0.0},
        {"Direction of its motion", "degrees, from north through east", track->has_direction,
         almanac && track->has_smallest, tl_angle_positive(track->direction_pa_rad) / TL_DEG,
         track->direction_sigma_rad / TL_DEG, 0.0,
         tl_angle_positive(track->direction_predicted_rad) / TL_DEG, 2, tied, 360.0},
        {"Moon\u2019s radius", "solar radii, as the edges show it", track->ratio_measured > 0.0,
         almanac, track->ratio_measured, track->ratio_measured_sigma, 0.0, c->ratio, 4, edges, 0.0},
    };
    tl_report_html_scroll(page, "Measured quantities");
    tl_report_text_addf(page->html,
                        "<table>\n<thead><tr><th>Quantity</th><th "
                        "class=\"n\">Measured</th><th class=\"n\">\u00b1</th>%s</tr></thead>\n"
                        "<tbody>\n",
                        almanac ? "<th class=\"n\">Almanac</th><th class=\"n\">O \u2212 C</th>"
                                  "<th>In words</th>"
                                : "");
    for (size_t i = 0; i < sizeof row / sizeof *row; i++)
        add_quantity(page, &row[i]);
    tl_report_text_add(page->html, "</tbody></table></div>\n");
}

static void add_notes(const tl_report_page *page) {
    const tl_track *track = &page->sequence->track;
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<details>\n<summary>How O \u2212 C is judged</summary>\n"
                             "<p class=\"note\">O \u2212 C is observed minus computed. For the "
                             "words it is held against \u03c3, the error of the measurement "
                             "together with what the mountains at the Moon\u2019s edge leave open");
    if (track->contact[TL_MAX].floor_s > 0.0) {
        tl_report_text_add(html, " (");
        tl_report_add_fixed(html, track->contact[TL_MAX].floor_s, 1);
        tl_report_text_add(html, " s at maximum, ");
        tl_report_add_fixed(html, TL_TRACK_FLOOR_SR, 4);
        tl_report_text_add(html, " solar radii)");
    }
    tl_report_text_add(html,
                       ": up to 2 \u03c3 counts as agreement, beyond 3 \u03c3 as a "
                       "difference. A difference smaller than the floor means nothing, however "
                       "small its \u00b1.</p>\n");
    if (tl_track_main(track)->clock.solved)
        tl_report_text_add(
            html, "<p class=\"note\">The camera\u2019s clock was set with these same "
                  "pictures, so a constant error of time cannot show here: contacts that are "
                  "all late alike are taken for the clock\u2019s. What is tested is the length and "
                  "the depth of the eclipse.</p>\n");
    if (track->has_direction)
        tl_report_text_add(html,
                           "<p class=\"note\">The direction of the Moon\u2019s motion is measured "
                           "in pictures whose turn against the sky is known. Like the clock, that "
                           "turn comes from the almanac, so that a mean difference is nil by "
                           "construction.</p>\n");
    else if (track->has_smallest)
        tl_report_text_add(html,
                           "<p class=\"note\">No camera kept one turn, or one rule of turning, so "
                           "the direction of the Moon\u2019s motion was not measured: the one "
                           "given is the almanac\u2019s.</p>\n");
    tl_report_text_add(html, "</details>\n");
}

static bool meaning(const tl_report_page *page, size_t n, tl_report_text *words) {
    return tl_report_words_meaning(page->sequence, n, words);
}

static bool anything_known(const tl_track *track) {
    bool any = track->has_smallest || track->has_circumstances || track->ratio_measured > 0.0;
    for (int which = 0; which < TL_CONTACTS; which++)
        any = any || track->contact[which].measured || track->contact[which].predicted;
    return any;
}

void tl_report_html_comparison(const tl_report_page *page) {
    const tl_track *track = &page->sequence->track;
    tl_report_text_add(page->html, "<section id=\"times\">\n<h2>");
    tl_report_text_add(page->html, track->has_circumstances ? "Measured and predicted</h2>\n"
                                                            : "Measured</h2>\n");
    if (anything_known(track)) {
        add_contacts(page);
        add_quantities(page);
        if (track->has_circumstances && (tl_report_any_contact(track) || track->has_smallest)) {
            tl_report_html_list(page, "What the differences can mean", meaning);
            add_notes(page);
        }
    } else {
        tl_report_text_add(page->html, "<p>There is nothing to show yet.</p>\n");
    }
    tl_report_text_add(page->html, "</section>\n");
}
