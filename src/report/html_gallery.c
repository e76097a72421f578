/*
 * html_gallery.c - every picture with its circles on it and its figures under it.
 *
 * A picture grows to the whole window by its link alone (:target), no script; page.js adds the
 * keyboard. Pictures and circles stand here once; series and table use them by their names.
 */
#include <math.h>

#include "report/html_internal.h"
#include "report/limbs_internal.h"

static const char *name_of(const tl_report_page *page, size_t i) {
    return tl_report_base_name(page->sequence->frame[i].path);
}

static void add_image(const tl_report_page *page, size_t i) {
    const tl_preview *preview = &page->sequence->frame[i].preview;
    tl_report_text *html = page->html;
    tl_report_text_addf(html, "<svg viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"Picture ",
                        preview->width, preview->height);
    tl_report_add_html(html, name_of(page, i));
    tl_report_text_addf(html,
                        "\"><image id=\"image-%zu\" width=\"%d\" height=\"%d\" "
                        "href=\"data:image/jpeg;base64,",
                        i + 1, preview->width, preview->height);
    tl_report_text_base64(html, preview->jpeg, preview->size);
    tl_report_text_add(html, "\"/>");
    tl_report_html_overlay(page, i);
    tl_report_text_add(html, "</svg>");
}

/* The next picture with a preview, from i on by step; count if there is none. */
static size_t neighbour(const tl_report_page *page, size_t i, bool forwards) {
    const size_t count = page->sequence->count;
    do {
        if (forwards ? i + 1 >= count : i == 0)
            return count;
        i = forwards ? i + 1 : i - 1;
    } while (page->sequence->frame[i].preview.size == 0);
    return i;
}

static void add_tools(const tl_report_page *page, size_t i) {
    const size_t count = page->sequence->count;
    const size_t before = neighbour(page, i, false), after = neighbour(page, i, true);
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<div class=\"tools\">");
    if (before < count)
        tl_report_text_addf(html, "<a class=\"previous\" href=\"#picture-%zu\">Previous</a>",
                            before + 1);
    tl_report_text_add(html, "<span><bdi>");
    tl_report_add_html(html, name_of(page, i));
    tl_report_text_add(html, "</bdi></span><a href=\"" TL_REPORT_LIMBS_FOLDER "/");
    tl_report_limbs_name(page->sequence, i, html); /* safe as it is */
    tl_report_text_addf(
        html, "\">How it was measured</a><a class=\"close\" href=\"#place-%zu\">Close</a>", i + 1);
    if (after < count)
        tl_report_text_addf(html, "<a class=\"next\" href=\"#picture-%zu\">Next</a>", after + 1);
    tl_report_text_add(html, "</div>");
}

static void add_plate(const tl_report_page *page, size_t i) {
    const tl_preview *preview = &page->sequence->frame[i].preview;
    tl_report_text *html = page->html;
    if (preview->size == 0) {
        tl_report_text_add(html, "<div class=\"plate none\">no picture</div>\n");
        return;
    }
    tl_report_text_addf(html,
                        "<div class=\"plate\"><div class=\"sheet\" "
                        "id=\"picture-%zu\"><a class=\"open\" href=\"#picture-%zu\" "
                        "aria-label=\"Enlarge ",
                        i + 1, i + 1);
    tl_report_add_html(html, name_of(page, i));
    tl_report_text_add(html, "\">");
    add_image(page, i);
    tl_report_text_add(html, "</a>");
    add_tools(page, i);
    tl_report_text_add(html, "</div></div>\n");
}

static void add_camera_time(const tl_report_page *page, size_t i) {
    const tl_camera_time *time = &page->sequence->frame[i].info.time;
    tl_report_text *html = page->html;
    if (time->source == TL_TIME_NONE)
        return;
    tl_report_text_add(html, "<dt>camera</dt><dd>");
    tl_report_add_clock(html, time->t_camera_s, tl_report_decimals(time->sigma_s, 1),
                        floor(page->facts->first_camera_s / TL_DAY_S) * TL_DAY_S);
    tl_report_words_given_mark(time->source == TL_TIME_TABLE, html);
    tl_report_text_add(html, "</dd>");
}

static void add_late(const tl_report_page *page, size_t i) {
    double late_s;
    if (!tl_report_late(page->sequence, i, &late_s))
        return;
    tl_report_text_add(page->html, "<dt>saved</dt><dd>");
    tl_report_add_signed(page->html, late_s, 1);
    tl_report_text_add(page->html, "\u00a0s after it was taken</dd>");
}

static void add_utc(const tl_report_page *page, const char *label, double t_s, double sigma_s) {
    const int decimals = tl_report_decimals(sigma_s, 1);
    tl_report_text *html = page->html;
    tl_report_text_addf(html, "<dt>%s</dt><dd>", label);
    tl_report_add_clock(html, t_s, decimals, page->facts->day_s);
    tl_report_text_add(html, " UTC \u00b1 ");
    tl_report_add_fixed(html, sigma_s, decimals);
    tl_report_text_add(html, " s</dd>");
}

/* A picture without a time of its own: both that its separation allows, or why one of them. */
static void add_sides(const tl_report_page *page, const tl_track_frame *tracked) {
    static const char *const by[] = {[TL_SIDE_BY_ORDER] = "the order of the names",
                                     [TL_SIDE_BY_TURN] = "the Moon\u2019s direction in the picture",
                                     [TL_SIDE_BY_SPOTS] =
                                         "the Moon\u2019s direction among the sunspots"};
    if (!tracked->has_sides)
        return;
    if (tracked->side_by == TL_SIDE_OPEN) {
        add_utc(page, "either", tracked->side_utc_s[0], tracked->side_sigma_s[0]);
        add_utc(page, "or", tracked->side_utc_s[1], tracked->side_sigma_s[1]);
    } else {
        tl_report_text_addf(page->html, "<dt>told by</dt><dd>its circles and %s</dd>",
                            by[tracked->side_by]);
    }
}

static void add_true_time(const tl_report_page *page, size_t i) {
    const tl_track_frame *tracked = tl_report_track_frame(page->sequence, i);
    tl_report_text *html = page->html;
    if (tracked->has_true) {
        add_utc(page, "true", tracked->true_utc_s, tracked->true_sigma_s);
        if (page->facts->has_zone && page->facts->zone_minutes != 0) {
            tl_report_text_add(html, "<dt>local</dt><dd>");
            tl_report_add_clock(html, tracked->true_utc_s + page->facts->zone_minutes * 60.0,
                                tl_report_decimals(tracked->true_sigma_s, 1), page->facts->day_s);
            tl_report_text_add(html, "</dd>");
        }
    }
    add_sides(page, tracked);
}

static void add_residual(const tl_report_page *page, size_t i) {
    const tl_track_frame *tracked = tl_report_track_frame(page->sequence, i);
    const double arcsec = tl_report_sun_radius_arcsec(page->sequence, i);
    const double sigma_sr = page->sequence->frame[i].limb.separation_sigma_sr;
    tl_report_text *html = page->html;
    if (tl_report_other_day(page->sequence, i)) {
        if (!page->sequence->frame[i].excluded)
            tl_report_text_add(html, "<dt>left out</dt><dd>of another day</dd>");
        return;
    }
    if (!tl_report_has_residual(page->sequence, i))
        return;
    tl_report_text_add(html, "<dt>off the path</dt><dd>");
    if (arcsec > 0.0) {
        tl_report_add_signed(html, tracked->residual_sr * arcsec,
                             tl_report_decimals(sigma_sr * arcsec, 1));
        tl_report_text_add(html, "\u2033");
    } else {
        tl_report_add_signed(html, tracked->residual_sr, tl_report_decimals(sigma_sr, 5));
        tl_report_text_add(html, " solar radii");
    }
    tl_report_text_add(html, tracked->outlier ? ", left out of the fit</dd>" : "</dd>");
}

static void add_separation(const tl_report_page *page, size_t i) {
    const tl_limb *limb = &page->sequence->frame[i].limb;
    tl_report_text *html = page->html;
    if (limb->status != TL_LIMB_MEASURED)
        return;
    tl_report_text_add(html, "<dt>separation</dt><dd>");
    tl_report_add_measure(html, limb->separation_sr, limb->separation_sigma_sr, 5, "solar radii");
    tl_report_text_add(html, "</dd>");
    add_residual(page, i);
    if (tl_report_has_share(page->sequence, i)) {
        tl_report_text_add(html, "<dt>magnitude</dt><dd>");
        tl_report_add_magnitude(page->sequence, i, 3, html);
        tl_report_text_add(html, "; ");
        tl_report_add_percent(page->sequence, i, 1, html);
        tl_report_text_add(html, " % covered</dd>");
    }
}

static void add_caption(const tl_report_page *page, size_t i) {
    const tl_sequence_frame *frame = &page->sequence->frame[i];
    const tl_limb *limb = &frame->limb;
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<figcaption><div><bdi class=\"name\">");
    tl_report_add_html(html, name_of(page, i));
    tl_report_text_addf(html, "</bdi> <span class=\"status\">%s", tl_report_words_state(frame));
    if (page->sequence->track.camera_count > 1 && tl_report_has_camera(page->sequence, i)) {
        tl_report_text name = {0};
        tl_report_camera_name(page->sequence, page->sequence->frame[i].camera, &name);
        tl_report_text_add(html, ", ");
        tl_report_html_words(page, &name);
    }
    tl_report_text_add(html, "</span></div>");
    if (page->sequence->frame[i].excluded)
        tl_report_text_add(html, "<div class=\"why\">excluded by --exclude</div>");
    if (limb->reason[0]) {
        tl_report_text_add(html, "<div class=\"why\">");
        tl_report_add_html(html, limb->reason);
        tl_report_text_add(html, "</div>");
    }
    const size_t before = html->length;
    tl_report_text_add(html, "<dl>");
    const size_t empty = html->length;
    add_camera_time(page, i);
    add_late(page, i);
    add_true_time(page, i);
    add_separation(page, i);
    if (html->length == empty && !html->failed)
        html->length = before;
    else
        tl_report_text_add(html, "</dl>");
    tl_report_text_add(html, "</figcaption>\n");
}

static void add_key(const tl_report_page *page) {
    tl_report_text_add(
        page->html,
        "<input type=\"checkbox\" id=\"circles\" checked=\"checked\"/> <label class=\"shown\" "
        "for=\"circles\">Show the circles on the pictures</label>\n"
        "<p class=\"key\"><span><svg viewBox=\"0 0 42 22\" aria-hidden=\"true\"><path "
        "class=\"sun-line\" d=\"M4 11h34\"/></svg>Sun, solid</span><span><svg viewBox=\"0 0 42 "
        "22\" aria-hidden=\"true\"><path class=\"moon-line\" d=\"M4 11h34\"/></svg>Moon, "
        "dashed</span><span>N north, Z zenith, where known</span><span>Choose a picture to "
        "enlarge it: dots are edge points used, crosses edge points dropped; a ring with a letter "
        "is a sunspot, a dotted ring a dark "
        "mark that could not be placed, a square dust; more is behind its "
        "link</span></p>\n");
}

void tl_report_html_gallery(const tl_report_page *page) {
    tl_report_text_add(page->html, "<section id=\"pictures\">\n<h2>The pictures</h2>\n");
    add_key(page);
    tl_report_text_add(page->html, "<ol class=\"gallery\">\n");
    for (size_t i = 0; i < page->sequence->count; i++) {
        tl_report_text_addf(page->html, "<li id=\"place-%zu\"><figure>\n", i + 1);
        add_plate(page, i);
        add_caption(page, i);
        tl_report_text_add(page->html, "</figure></li>\n");
    }
    tl_report_text_add(page->html, "</ol>\n</section>\n");
}
