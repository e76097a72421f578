/*
 * html_clock.c - the cameras' clocks, and what is to be known of each.
 */
#include <math.h>

#include "report/html_internal.h"

bool tl_report_html_has_clock(const tl_report_page *page) {
    const tl_track *track = &page->sequence->track;
    tl_report_gps check = {0};
    return tl_track_main(track)->clock.solved || track->camera_count > 1 ||
           (tl_report_gps_check(page->sequence, track->main_camera, &check) && check.count > 0);
}

static void add_offset(tl_report_text *html, double offset_s, int decimals) {
    tl_report_text_add(html, "<td class=\"n\">");
    tl_report_add_signed(html, offset_s, decimals);
    tl_report_text_add(html, "</td>");
}

static void add_clock_cells(const tl_report_page *page, const tl_clock *clock) {
    static const double a_day = 1e-6 * TL_DAY_S;
    tl_report_text *html = page->html;
    tl_report_text words = {0};
    const int decimals = tl_report_decimals(clock->sigma_s, 2);
    const int of_drift = tl_report_decimals(clock->drift_sigma_ppm * a_day, 2);
    if (tl_report_clock_unset(page->sequence, clock))
        tl_report_text_add(html, "<td class=\"n\">see below</td>");
    else if (clock->solved)
        add_offset(html, clock->offset_s, decimals);
    else
        tl_report_text_add(html, "<td class=\"n\">not checked</td>");
    tl_report_text_add(html, "<td class=\"n\">");
    if (clock->solved)
        tl_report_add_sigma(html, clock->sigma_s, decimals);
    tl_report_text_add(html, "</td><td>");
    if (tl_report_clock_unset(page->sequence, clock))
        tl_report_text_add(html, "never set");
    else if (clock->solved)
        tl_report_add_zone(html, clock->zone_minutes);
    tl_report_words_date(page->sequence, clock, &words);
    if (words.length > 0)
        tl_report_text_add(html, "<small>date ");
    tl_report_add_html(html, tl_report_text_string(&words));
    tl_report_text_add(html, words.length > 0 ? "</small></td>" : "</td>");
    tl_report_text_free(&words);
    tl_report_text_add(html, "<td class=\"n\">");
    if (clock->solved && clock->has_drift) {
        tl_report_add_signed(html, clock->drift_ppm * a_day, of_drift);
        tl_report_text_add(html, "\u00a0\u00b1\u00a0");
        tl_report_add_fixed(html, clock->drift_sigma_ppm * a_day, of_drift);
    } else if (clock->solved) {
        tl_report_text_add(html, "none seen");
    }
    tl_report_text_add(html, "</td>");
}

static void add_camera(const tl_report_page *page, size_t k) {
    const tl_track *track = &page->sequence->track;
    const tl_track_camera *camera = &track->camera[k];
    tl_report_text *html = page->html;
    tl_report_text name = {0};
    tl_report_text_add(html, "<tr><th scope=\"row\" class=\"named\">");
    tl_report_camera_name(page->sequence, k, &name);
    tl_report_html_words(page, &name);
    tl_report_text_addf(html, "%s</th><td class=\"n\">%zu</td><td class=\"n\">%zu</td>",
                        k == track->main_camera ? "<small>the main one</small>" : "",
                        camera->frame_count, camera->used_count);
    add_clock_cells(page, &camera->clock);
    tl_report_text_add(html, "</tr>\n");
}

static void add_table(const tl_report_page *page) {
    const tl_track *track = &page->sequence->track;
    tl_report_html_scroll(page, "The cameras");
    tl_report_text_add(page->html,
                       "<table>\n<thead><tr><th>Camera</th><th "
                       "class=\"n\">Pictures</th><th class=\"n\">Used</th><th class=\"n\">Clock "
                       "ahead, s</th><th class=\"n\">\u00b1 s</th><th>Zone</th><th "
                       "class=\"n\">Gain, s a day</th></tr></thead>\n"
                       "<tbody>\n");
    for (size_t k = 0; k < track->camera_count; k++)
        add_camera(page, k);
    tl_report_text_add(page->html,
                       "</tbody></table></div>\n<p class=\"note\">Every camera has a clock of its "
                       "own; the path of the Moon is common to all. The times by \u201cthe "
                       "camera\u2019s clock\u201d on this page are by that of the main one. A "
                       "minus means behind, or losing. A gain is only told where it is seen: over "
                       "the hours of an eclipse only a large one would show. Where nothing is said "
                       "of single stamps they scatter by no more than their reading errors and the "
                       "circles allow.</p>\n");
}

/* "Camera 2: " before a sentence where there are several. */
static void begin(const tl_report_page *page, size_t k) {
    tl_report_text name = {0};
    tl_report_text_add(page->html, "<p>");
    if (page->sequence->track.camera_count <= 1)
        return;
    tl_report_text_add(page->html, "<b>");
    tl_report_camera_name(page->sequence, k, &name);
    tl_report_html_words(page, &name);
    tl_report_text_add(page->html, ".</b> ");
}

/* What to do to a time that this clock shows, zone, offset and all. */
static void add_meaning(const tl_report_page *page, const tl_clock *clock) {
    const double total_s = tl_report_clock_total(clock, clock->at_utc_s);
    const bool unset = tl_report_clock_unset(page->sequence, clock);
    const double days = unset ? trunc(total_s / TL_DAY_S) : round(clock->day_shift_s / TL_DAY_S);
    const double rest_s = total_s - days * TL_DAY_S;
    const int decimals = tl_report_decimals(clock->sigma_s, 1);
    const double unit = pow(10.0, -decimals);
    const double shown_s = round(fabs(rest_s) / unit) * unit, part_s = fmod(shown_s, 60.0);
    const int minutes = (int)((shown_s - part_s) / 60.0);
    tl_report_text *html = page->html;
    tl_report_text_add(html, "To get UTC from what this clock shows, ");
    if (days != 0.0)
        tl_report_text_addf(html, "%s %.0f day%s", days > 0.0 ? "take off" : "add", fabs(days),
                            fabs(days) > 1.0 ? "s" : "");
    if (days == 0.0 || (days > 0.0) != (rest_s > 0.0))
        tl_report_text_addf(html, "%s%s", days == 0.0 ? "" : " and ",
                            rest_s > 0.0 ? "take off" : "add");
    tl_report_text_addf(html, " %d\u00a0h %d\u00a0min ", minutes / 60, minutes % 60);
    tl_report_add_fixed(html, part_s, decimals);
    tl_report_text_add(html, unset ? "\u00a0s." : "\u00a0s: its zone and its error.");
}

static void add_drift(const tl_report_page *page, const tl_clock *clock) {
    tl_report_text *html = page->html;
    tl_report_text words = {0};
    if (!clock->has_drift && page->sequence->track.camera_count > 1)
        return; /* the note below the table says it for all */
    if (!clock->has_drift) {
        tl_report_text_add(html, " A steady gain or loss is not seen, and none is claimed: over "
                                 "the hours of an eclipse only a large one would show.");
        return;
    }
    tl_report_text_add(html, " It ");
    tl_report_words_drift(clock, &words);
    tl_report_html_words(page, &words);
    tl_report_text_add(html, " (");
    tl_report_add_measure(html, clock->drift_ppm, clock->drift_sigma_ppm, 2,
                          "millionths, or ppm, of the time that passes");
    tl_report_text_add(html, "); the error given above is that of ");
    tl_report_add_clock(html, clock->at_utc_s, 0, page->facts->day_s);
    tl_report_text_add(html, " UTC.");
}

/* What the summary does not say of them. */
static void add_stamps(const tl_report_page *page, const tl_clock *clock) {
    const bool several = page->sequence->track.camera_count > 1;
    tl_report_text *html = page->html;
    tl_report_text words = {0};
    if (clock->stamps == TL_STAMPS_SCATTERED) {
        tl_report_text_add(html, " ");
        tl_report_words_stamps(clock, &words);
        tl_report_html_words(page, &words);
    } else if (clock->stamps == TL_STAMPS_LATE) {
        tl_report_text_add(html, " Its stamps are late, on average by ");
        tl_report_words_scatter(clock, &words);
        tl_report_html_words(page, &words);
        tl_report_text_add(html, "; how late each one is stands with its picture. What all of "
                                 "them are late alike cannot be told from an error of the clock, "
                                 "and is counted there.");
    } else if (!several) { /* of several the note below the table says it */
        tl_report_text_add(html, " The single stamps scatter about it by no more than their "
                                 "reading errors and the circles allow.");
    }
}

static void add_gps(const tl_report_page *page, size_t k) {
    tl_report_text words = {0};
    tl_report_words_gps(page->sequence, k, &words);
    if (words.length > 0)
        tl_report_text_add(page->html, " ");
    tl_report_html_words(page, &words);
}

static void add_clock(const tl_report_page *page, size_t k) {
    const tl_clock *clock = &page->sequence->track.camera[k].clock;
    begin(page, k);
    if (clock->solved) {
        add_meaning(page, clock);
        add_drift(page, clock);
        add_stamps(page, clock);
    } else {
        tl_report_text_add(page->html, tl_report_has_stamps(page->sequence, k)
                                           ? "Its clock could not be checked against the sky."
                                           : "Its pictures have no times, so there is no clock to "
                                             "check.");
    }
    add_gps(page, k);
    tl_report_text_add(page->html, "</p>\n");
}

static void add_alternatives(const tl_report_page *page, const tl_clock *clock) {
    bool any = false;
    for (size_t i = 0; i < clock->alternative_count; i++)
        any = any || tl_report_alternative_told(page->sequence, clock, i);
    if (!any)
        return;
    tl_report_text_add(page->html,
                       "<p>Other settings of this clock fit about as well:</p>\n<ul>\n");
    for (size_t i = 0; i < clock->alternative_count; i++) {
        tl_report_text words = {0};
        if (!tl_report_alternative_told(page->sequence, clock, i))
            continue;
        tl_report_text_add(page->html, "<li>");
        tl_report_words_alternative(page->sequence, clock, i, &words);
        tl_report_html_words(page, &words);
        tl_report_text_add(page->html, "</li>\n");
    }
    tl_report_text_add(page->html, "</ul>\n");
}

void tl_report_html_clock(const tl_report_page *page) {
    const tl_track *track = &page->sequence->track;
    const bool several = track->camera_count > 1;
    if (!tl_report_html_has_clock(page))
        return;
    tl_report_text_addf(page->html, "<section id=\"clock\">\n<h2>%s</h2>\n",
                        several ? "The cameras and their clocks" : "The camera\u2019s clock");
    if (several)
        add_table(page);
    for (size_t k = 0; k < track->camera_count; k++) {
        add_clock(page, k);
        if (k != track->main_camera) /* the summary has those of the main one */
            add_alternatives(page, &track->camera[k].clock);
    }
    tl_report_text_add(page->html, "</section>\n");
}
