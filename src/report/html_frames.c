/*
 * html_frames.c - the table of pictures.
 */
#include <math.h>

#include "report/html_internal.h"

static void add_number(tl_report_text *html, bool known, double value, int decimals) {
    tl_report_text_add(html, "<td class=\"n\">");
    if (known)
        tl_report_add_fixed(html, value, decimals);
    tl_report_text_add(html, "</td>");
}

static void add_times(const tl_report_page *page, size_t i) {
    const tl_camera_time *time = &page->sequence->frame[i].info.time;
    const tl_track_frame *tracked = tl_report_track_frame(page->sequence, i);
    const int decimals = tl_report_decimals(tracked->true_sigma_s, 1);
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<td class=\"t\">");
    if (time->source != TL_TIME_NONE)
        tl_report_add_clock(html, time->t_camera_s, tl_report_decimals(time->sigma_s, 1),
                            floor(page->facts->first_camera_s / TL_DAY_S) * TL_DAY_S);
    tl_report_text_add(html, "</td><td class=\"t\">");
    if (tracked->has_true)
        tl_report_add_clock(html, tracked->true_utc_s, decimals, page->facts->day_s);
    tl_report_text_add(html, "</td>");
    add_number(html, tracked->has_true, tracked->true_sigma_s, decimals);
}

static void add_row(const tl_report_page *page, size_t i) {
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
    add_times(page, i);
    add_number(html, measured, frame->limb.separation_sr, 4);
    add_number(html, measured, frame->limb.separation_sigma_sr, 4);
    tl_report_text_add(html, "<td class=\"n\">");
    if (measured && tracked->has_true && frame->info.time.source != TL_TIME_NONE)
        tl_report_add_signed(html, tracked->residual_sr * arcsec, 1);
    tl_report_text_add(html, "</td>");
    add_number(html, covered, tracked->magnitude, 3);
    add_number(html, covered, 100.0 * tracked->obscuration, 1);
    add_number(html, tracked->has_true, tl_angle_positive(tracked->moon_pa_rad) / TL_DEG, 1);
    add_number(html, tracked->has_turn, tl_angle_positive(tracked->up_pa_rad) / TL_DEG, 1);
    add_number(html, tracked->has_true, tracked->altitude_rad / TL_DEG, 1);
    add_number(html, frame->limb.blur_px > 0.0, frame->limb.blur_px, 1);
    tl_report_text_add(html, "</tr>\n");
}

void tl_report_html_frames(const tl_report_page *page) {
    tl_report_text_add(
        page->html,
        "<section id=\"table\">\n<h2>Table of pictures</h2>\n<div class=\"scroll\"><table "
        "class=\"dense\">\n<thead><tr><th>File</th><th>Status</th><th>Camera<br/>clock</th><th>"
        "True<br/>UTC</th><th class=\"n\">\u00b1<br/>s</th><th class=\"n\">Separation<br/>solar "
        "radii</th><th class=\"n\">\u00b1<br/>s. r.</th><th class=\"n\">Off "
        "path<br/>arcsec</th><th "
        "class=\"n\">Magni-<br/>tude</th><th class=\"n\">Covered<br/>%</th><th class=\"n\">Moon "
        "PA<br/>\u00b0</th><th class=\"n\">Up PA<br/>\u00b0</th><th class=\"n\">Altitude<br/>\u00b0"
        "</th><th class=\"n\">Blur<br/>px</th></tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < page->sequence->count; i++)
        add_row(page, i);
    tl_report_text_add(page->html,
                       "</tbody></table></div>\n<p class=\"note\">Moon PA is the "
                       "almanac\u2019s, from north through east; up PA is the direction "
                       "on the sky of the picture\u2019s upper edge. frames.csv has "
                       "more columns and digits.</p>\n</section>\n");
}
