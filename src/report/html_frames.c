/*
 * html_frames.c - the table of pictures; page.js lets it be sorted.
 *
 * A time carries its seconds as data-v, by which it is sorted.
 */
#include <math.h>

#include "report/html_internal.h"

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

static void begin_time(tl_report_text *html, bool known, double t_s) {
    tl_report_text_add(html, "<td class=\"t\"");
    if (known) {
        tl_report_text_add(html, " data-v=\"");
        tl_report_add_fixed(html, t_s, 2);
        tl_report_text_add(html, "\"");
    }
    tl_report_text_add(html, ">");
}

/* The true time, or both times that the separation allows. */
static void add_true(const tl_report_page *page, const tl_track_frame *tracked) {
    const bool open = tracked->has_sides && tracked->side_by == TL_SIDE_OPEN;
    tl_report_text *html = page->html;
    begin_time(html, tracked->has_true || open,
               tracked->has_true ? tracked->true_utc_s : tracked->side_utc_s[0]);
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
    begin_time(html, time->source != TL_TIME_NONE, time->t_camera_s);
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

/* The picture itself, small, with its circles: those of the gallery, used again. */
static void add_thumb(const tl_report_page *page, size_t i) {
    const tl_sequence_frame *frame = &page->sequence->frame[i];
    tl_report_text *html = page->html;
    if (frame->preview.size == 0)
        return;
    tl_report_text_addf(html, "<a class=\"thumb\" href=\"#picture-%zu\" aria-label=\"Enlarge ",
                        i + 1);
    tl_report_add_html(html, tl_report_base_name(frame->path));
    tl_report_text_addf(html,
                        "\"><svg viewBox=\"0 0 %d %d\" aria-hidden=\"true\"><use "
                        "href=\"#image-%zu\"/>",
                        frame->preview.width, frame->preview.height, i + 1);
    if (frame->limb.status == TL_LIMB_MEASURED || frame->limb.status == TL_LIMB_SUN_ONLY)
        tl_report_text_addf(html, "<use href=\"#circles-%zu\"/>", i + 1);
    tl_report_text_add(html, "</svg></a>");
}

/* What became of it, and why it was refused. */
static void add_status(const tl_report_page *page, size_t i) {
    const tl_sequence_frame *frame = &page->sequence->frame[i];
    tl_report_text *html = page->html;
    tl_report_text_addf(html, "<td class=\"state\">%s%s", tl_report_words_state(frame),
                        frame->excluded ? ", excluded by --exclude" : "");
    if (frame->limb.reason[0]) {
        tl_report_text_add(html, "<small>");
        tl_report_add_html(html, frame->limb.reason);
        tl_report_text_add(html, "</small>");
    }
    tl_report_text_add(html, "</td>");
}

static void add_row(const tl_report_page *page, size_t i, bool late_column) {
    const tl_sequence_frame *frame = &page->sequence->frame[i];
    const tl_track_frame *tracked = tl_report_track_frame(page->sequence, i);
    const bool measured = frame->limb.status == TL_LIMB_MEASURED;
    const bool covered = tl_report_has_share(page->sequence, i);
    const double sigma_sr = frame->limb.separation_sigma_sr;
    const double arcsec = tl_report_sun_radius_arcsec(page->sequence, i);
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<tr><th scope=\"row\" class=\"file\">");
    add_thumb(page, i);
    tl_report_text_addf(html, "<a href=\"#place-%zu\"><bdi>", i + 1);
    tl_report_add_html(html, tl_report_base_name(frame->path));
    tl_report_text_add(html, "</bdi></a></th>");
    add_status(page, i);
    add_times(page, i, late_column);
    add_number(html, measured, frame->limb.separation_sr, tl_report_decimals(sigma_sr, 4));
    add_number(html, measured, sigma_sr, tl_report_decimals(sigma_sr, 4));
    tl_report_text_add(html, "<td class=\"n\">");
    if (tracked->has_true && tl_report_has_residual(page->sequence, i))
        tl_report_add_signed(html, tracked->residual_sr * arcsec,
                             tl_report_decimals(sigma_sr * arcsec, 1));
    tl_report_text_add(html, tracked->outlier ? "<small>left out</small></td>" : "</td>");
    add_number(html, covered, tracked->magnitude,
               tl_report_decimals(tl_report_magnitude_sigma(page->sequence, i), 3));
    add_number(html, covered, 100.0 * tracked->obscuration,
               tl_report_decimals(100.0 * tl_report_obscuration_sigma(page->sequence, i), 1));
    add_number(html, tracked->has_true, tl_angle_positive(tracked->moon_pa_rad) / TL_DEG, 1);
    add_number(html, tracked->has_true, tracked->altitude_rad / TL_DEG, 1);
    add_number(html, frame->limb.blur_px > 0.0, frame->limb.blur_px, 1);
    tl_report_text_add(html, "</tr>\n");
}

void tl_report_html_frames(const tl_report_page *page) {
    static const char number[] = "<th scope=\"col\" class=\"n\">";
    static const char *const measures[] = {"Separation<br/>solar radii",
                                           "\u00b1<br/>s. r.",
                                           "Off path<br/>arcsec",
                                           "Magni-<br/>tude",
                                           "Covered<br/>%",
                                           "Moon PA<br/>\u00b0",
                                           "Altitude<br/>\u00b0",
                                           "Blur<br/>px"};
    const bool late_column = any_late(page);
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<section id=\"table\">\n<h2>Table of pictures</h2>\n");
    tl_report_html_scroll(page, "Table of pictures");
    tl_report_text_addf(html,
                        "<table class=\"dense\" id=\"frames-table\">\n<thead><tr>"
                        "<th scope=\"col\" class=\"file\">File</th><th scope=\"col\">Status</th>"
                        "<th scope=\"col\" class=\"t\">Camera<br/>clock</th><th scope=\"col\" "
                        "class=\"t\">True<br/>UTC</th>%s\u00b1<br/>s</th>",
                        number);
    if (late_column)
        tl_report_text_addf(html, "%sSaved<br/>s later</th>", number);
    for (size_t k = 0; k < sizeof measures / sizeof *measures; k++)
        tl_report_text_addf(html, "%s%s</th>", number, measures[k]);
    tl_report_text_add(html, "</tr></thead>\n<tbody>\n");
    for (size_t i = 0; i < page->sequence->count; i++)
        add_row(page, i, late_column);
    tl_report_text_add(html, "</tbody></table></div>\n<p class=\"note\">Moon PA is the "
                             "almanac\u2019s, from north through east. frames.csv has more columns "
                             "and digits.</p>\n</section>\n");
}
