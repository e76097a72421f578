/*
 * html_frames.c - the table of pictures.
 */
#include <math.h>

#include "report/html_internal.h"
#include "report/spots_internal.h"

static void add_number(tl_report_text *html, bool known, double value, int decimals) {
    tl_report_text_add(html, "<td class=\"n\">");
    if (known)
        tl_report_add_fixed(html, value, decimals);
    tl_report_text_add(html, "</td>");
}

/* Whether any stamp is late: if so the table has a column more. */
static bool any_late(const tl_report_page *page) {
    double late_s;
    for (size_t i = 0; i < page->sequence->count; i++)
        if (tl_report_late(page->sequence, i, &late_s))
            return true;
    return false;
}

/* Whether the spots tell the turn of any picture: a column more. */
static bool any_turn(const tl_report_page *page) {
    for (size_t i = 0; i < page->sequence->count; i++)
        if (tl_report_spot_turn(page->sequence, i)->has_turn)
            return true;
    return false;
}

/* By how much the turn by the spots differs from the one by the Moon in the picture. */
static void add_turn(const tl_report_page *page, size_t i) {
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

/* The true time, or both times that the separation allows. */
static void add_true(const tl_report_page *page, const tl_track_frame *tracked) {
    const bool open = tracked->has_sides && tracked->side_by == TL_SIDE_OPEN;
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<td class=\"t\">");
    if (tracked->has_true)
        tl_report_add_clock(html, tracked->true_utc_s, tl_report_decimals(tracked->true_sigma_s, 1),
                            page->facts->day_s);
    for (int side = 0; side < 2 && open; side++) {
        tl_report_text_add(html, side == 0 ? "" : "<br/>or ");
        tl_report_add_clock(html, tracked->side_utc_s[side],
                            tl_report_decimals(tracked->side_sigma_s[side], 1), page->facts->day_s);
    }
    if (tracked->has_sides && !open)
        tl_report_text_addf(html, "<small>by %s</small>",
                            tracked->side_by == TL_SIDE_BY_ORDER  ? "order of names"
                            : tracked->side_by == TL_SIDE_BY_TURN ? "direction of Moon"
                                                                  : "sunspots");
    tl_report_text_add(html, "</td><td class=\"n\">");
    if (tracked->has_true)
        tl_report_add_fixed(html, tracked->true_sigma_s,
                            tl_report_decimals(tracked->true_sigma_s, 1));
    for (int side = 0; side < 2 && open; side++) {
        tl_report_text_add(html, side == 0 ? "" : "<br/>");
        tl_report_add_fixed(html, tracked->side_sigma_s[side],
                            tl_report_decimals(tracked->side_sigma_s[side], 1));
    }
    tl_report_text_add(html, "</td>");
}

static void add_times(const tl_report_page *page, size_t i, bool late_column) {
    const tl_camera_time *time = &page->sequence->frame[i].info.time;
    tl_report_text *html = page->html;
    double late_s;
    tl_report_text_add(html, "<td class=\"t\">");
    if (time->source != TL_TIME_NONE)
        tl_report_add_clock(html, time->t_camera_s, tl_report_decimals(time->sigma_s, 1),
                            floor(page->facts->first_camera_s / TL_DAY_S) * TL_DAY_S);
    tl_report_text_add(html, "</td>");
    add_true(page, tl_report_track_frame(page->sequence, i));
    if (late_column) {
        const bool known = tl_report_late(page->sequence, i, &late_s);
        add_number(html, known, known ? late_s : 0.0, 1);
    }
}

static void add_row(const tl_report_page *page, size_t i, bool late_column, bool turns) {
    const tl_sequence_frame *frame = &page->sequence->frame[i];
    const tl_track_frame *tracked = tl_report_track_frame(page->sequence, i);
    const bool measured = frame->limb.status == TL_LIMB_MEASURED;
    const bool covered = measured && tracked->magnitude > 0.0;
    const double arcsec = tl_report_sun_radius_arcsec(page->sequence, i);
    tl_report_text *html = page->html;
    tl_report_text_addf(html, "<tr><th scope=\"row\" class=\"file\"><a href=\"#place-%zu\"><bdi>",
                        i + 1);
    tl_report_add_html(html, tl_report_base_name(frame->path));
    tl_report_text_addf(html, "</bdi></a></th><td>%s%s</td>",
                        tl_limb_status_name(frame->limb.status),
                        frame->excluded ? ", excluded by --exclude" : "");
    add_times(page, i, late_column);
    add_number(html, measured, frame->limb.separation_sr, 4);
    add_number(html, measured, frame->limb.separation_sigma_sr, 4);
    tl_report_text_add(html, "<td class=\"n\">");
    if (measured && tracked->has_true && frame->info.time.source != TL_TIME_NONE &&
        !tl_report_other_day(page->sequence, i))
        tl_report_add_signed(html, tracked->residual_sr * arcsec, 1);
    tl_report_text_add(html, tracked->outlier ? "<small>left out</small></td>" : "</td>");
    add_number(html, covered, tracked->magnitude, 3);
    add_number(html, covered, 100.0 * tracked->obscuration, 1);
    add_number(html, tracked->has_true, tl_angle_positive(tracked->moon_pa_rad) / TL_DEG, 1);
    add_number(html, tracked->has_turn, tl_angle_positive(tracked->up_pa_rad) / TL_DEG, 1);
    add_number(html, tracked->has_true, tracked->altitude_rad / TL_DEG, 1);
    add_number(html, frame->limb.blur_px > 0.0, frame->limb.blur_px, 1);
    if (turns)
        add_turn(page, i);
    tl_report_text_add(html, "</tr>\n");
}

void tl_report_html_frames(const tl_report_page *page) {
    const bool late_column = any_late(page), turns = any_turn(page);
    tl_report_text *html = page->html;
    tl_report_text_addf(
        html,
        "<section id=\"table\">\n<h2>Table of pictures</h2>\n<div class=\"scroll\"><table "
        "class=\"dense\">\n<thead><tr><th>File</th><th>Status</th><th>Camera<br/>clock</th><th>"
        "True<br/>UTC</th><th class=\"n\">\u00b1<br/>s</th>%s<th class=\"n\">Separation<br/>solar "
        "radii</th><th class=\"n\">\u00b1<br/>s. r.</th><th class=\"n\">Off "
        "path<br/>arcsec</th><th "
        "class=\"n\">Magni-<br/>tude</th><th class=\"n\">Covered<br/>%%</th><th class=\"n\">Moon "
        "PA<br/>\u00b0</th><th class=\"n\">Up PA<br/>\u00b0</th><th "
        "class=\"n\">Altitude<br/>\u00b0"
        "</th><th class=\"n\">Blur<br/>px</th>%s</tr></thead>\n<tbody>\n",
        late_column ? "<th class=\"n\">Saved<br/>s later</th>" : "",
        turns ? "<th class=\"n\">Turn, spots<br/>less Moon \u00b0</th>" : "");
    for (size_t i = 0; i < page->sequence->count; i++)
        add_row(page, i, late_column, turns);
    tl_report_text_addf(
        html,
        "</tbody></table></div>\n<p class=\"note\">Moon PA is the almanac\u2019s, from north "
        "through "
        "east; up PA is the direction on the sky of the picture\u2019s upper edge. %sframes.csv "
        "has "
        "more columns and digits.</p>\n</section>\n",
        turns ? "The last column: how the picture was turned by its sunspots, less the same by the "
                "direction of its own Moon. "
              : "");
}
