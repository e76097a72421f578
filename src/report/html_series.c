/*
 * html_series.c - the photographs put right: round, at one scale, in order of time, north up or
 * zenith up.
 *
 * No pixel stands here: each is the picture of the gallery, used again under the affine map that
 * puts it right. Zenith up is the same turned by the zenith's position angle, by the style sheet.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/html_internal.h"
#include "report/plate_internal.h"

enum {
    SHOWN_MOST = 60, /* more would be a wall: the contact sheet has them all */
    UNITS_PER_SR = 100,
    REACH = 114 /* of the round field, in these units: the disc and a rim for the marks */
};

/* (a, b, c, d, e, f) of SVG's matrix(): px of the small picture to units of the plate. The inverse
 * of tl_report_plate_to_preview; false if that has none. */
static bool matrix_of(const tl_report_page *page, const tl_report_plate *plate, double matrix[6]) {
    double at[2], per_x[2], per_y[2];
    tl_report_plate_to_preview(page->sequence, plate, TL_REPORT_NORTH_UP, 0.0, 0.0, &at[0], &at[1]);
    tl_report_plate_to_preview(page->sequence, plate, TL_REPORT_NORTH_UP, 1.0, 0.0, &per_x[0],
                               &per_x[1]);
    tl_report_plate_to_preview(page->sequence, plate, TL_REPORT_NORTH_UP, 0.0, 1.0, &per_y[0],
                               &per_y[1]);
    for (int k = 0; k < 2; k++) {
        per_x[k] = (per_x[k] - at[k]) / UNITS_PER_SR;
        per_y[k] = (per_y[k] - at[k]) / UNITS_PER_SR;
    }
    const double area = per_x[0] * per_y[1] - per_x[1] * per_y[0];
    if (!isfinite(area) || area == 0.0)
        return false;
    matrix[0] = per_y[1] / area;
    matrix[1] = -per_x[1] / area;
    matrix[2] = -per_y[0] / area;
    matrix[3] = per_x[0] / area;
    matrix[4] = -(matrix[0] * at[0] + matrix[2] * at[1]);
    matrix[5] = -(matrix[1] * at[0] + matrix[3] * at[1]);
    return true;
}

/* On the rim: a full wedge where north is, an open one where the zenith is. */
static void add_wedge(tl_report_text *html, const char *class_name, double pa_rad) {
    tl_report_text_addf(html, "<path class=\"%s\" d=\"M0-103l-6-10h12z\"", class_name);
    if (pa_rad != 0.0) { /* from north through east: anticlockwise, east being left */
        tl_report_text_add(html, " transform=\"rotate(");
        tl_report_add_fixed(html, -pa_rad / TL_DEG, 1);
        tl_report_text_add(html, ")\"");
    }
    tl_report_text_add(html, "/>");
}

static void add_disc(const tl_report_page *page, const tl_report_plate *plate) {
    tl_report_text *html = page->html;
    double matrix[6];
    tl_report_text_addf(html,
                        "<svg class=\"disc\" viewBox=\"%d %d %d %d\" aria-hidden=\"true\"><g "
                        "class=\"turn\"",
                        -REACH, -REACH, 2 * REACH, 2 * REACH);
    if (plate->has_zenith) { /* clockwise, so that this direction comes to the top */
        tl_report_text_add(html, " style=\"--zenith:");
        tl_report_add_fixed(html, tl_angle_signed(plate->zenith_pa_rad) / TL_DEG, 2);
        tl_report_text_add(html, "deg\"");
    }
    tl_report_text_add(html, ">");
    if (matrix_of(page, plate, matrix)) {
        tl_report_text_addf(html, "<use href=\"#image-%zu\" transform=\"matrix(", plate->frame + 1);
        for (int k = 0; k < 6; k++) {
            tl_report_text_add(html, k > 0 ? " " : "");
            tl_report_add_fixed(html, matrix[k], k < 4 ? 4 : 2);
        }
        tl_report_text_add(html, ")\"/>");
    }
    if (plate->turned != TL_REPORT_AS_TAKEN)
        add_wedge(html, "north", 0.0);
    if (plate->has_zenith)
        add_wedge(html, "zenith", plate->zenith_pa_rad);
    tl_report_text_add(html, "</g></svg>");
}

/* Plates of which it is not known whether they are mirrored. */
static size_t count_open(const tl_report_page *page) {
    size_t open = 0;
    for (size_t k = 0; k < page->plates->count; k++)
        open += page->plates->item[k].turned == TL_REPORT_HAND_OPEN;
    return open;
}

static void add_caption(const tl_report_page *page, const tl_report_plate *plate) {
    const tl_limb *limb = &page->sequence->frame[plate->frame].limb;
    tl_report_text *html = page->html;
    tl_report_text_add(html, "<b>");
    if (plate->timed)
        tl_report_add_time_of_day(html, plate->t_s);
    else
        tl_report_text_add(html, "no time");
    tl_report_text_add(html, "</b>");
    if (limb->status == TL_LIMB_SUN_ONLY) {
        tl_report_text_add(html, "<span>no Moon seen</span>");
    } else if (tl_report_has_share(page->sequence, plate->frame)) {
        tl_report_text_add(html, "<span>");
        tl_report_add_percent(page->sequence, plate->frame, 1, html);
        tl_report_text_add(html, "\u00a0% covered</span>");
    }
    if (plate->turned == TL_REPORT_AS_TAKEN && page->plates->turned_count > 0)
        tl_report_text_add(html, "<span>turned as taken</span>");
    if (plate->turned == TL_REPORT_HAND_OPEN && count_open(page) < page->plates->turned_count)
        tl_report_text_add(html, "<span>perhaps mirrored</span>");
    if (plate->doubtful)
        tl_report_text_add(html, "<span>left out of the fits</span>");
}

static void add_plate(const tl_report_page *page, const tl_report_plate *plate) {
    tl_report_text_addf(page->html, "<li><a href=\"#picture-%zu\" title=\"", plate->frame + 1);
    tl_report_add_html(page->html, tl_report_base_name(page->sequence->frame[plate->frame].path));
    tl_report_text_add(page->html, "\">");
    add_disc(page, plate);
    add_caption(page, plate);
    tl_report_text_add(page->html, "</a></li>\n");
}

/* There is a talk then. */
static bool has_measured(const tl_report_page *page) {
    for (size_t k = 0; k < page->plates->count; k++)
        if (page->sequence->frame[page->plates->item[k].frame].limb.status == TL_LIMB_MEASURED)
            return true;
    return false;
}

/* What else the result shows the series in; named where this result has it. */
static void add_beside(const tl_report_page *page) {
    const tl_report_plates *plates = page->plates;
    const struct {
        const char *file, *words;
        bool there;
    } beside[] = {
        {"contact-sheet.jpg", "all on one sheet, north up", plates->count > 0},
        {"contact-sheet-zenith.jpg", "all on one sheet, zenith up", plates->zenith_count > 0},
        {"moving.gif", "the series moving", tl_report_has_moving(plates, TL_REPORT_NORTH_UP)},
        {"moving-zenith.gif", "the same, zenith up",
         tl_report_has_moving(plates, TL_REPORT_ZENITH_UP)},
        {"moving-smooth.gif", "the Moon moving between the pictures",
         tl_report_has_smooth(page->path, plates)},
        {TL_REPORT_TALK, "slides for a talk, also as pictures in the folder slides",
         has_measured(page)}};
    size_t told = 0;
    for (size_t k = 0; k < sizeof beside / sizeof *beside; k++) {
        if (!beside[k].there)
            continue;
        tl_report_text_addf(page->html, "%s<a href=\"%s\">%s</a> (%s)",
                            told++ == 0 ? "<p class=\"note beside-files\">Beside this page: "
                                        : "; ",
                            beside[k].file, beside[k].file, beside[k].words);
    }
    if (told > 0)
        tl_report_text_add(page->html, ".</p>\n");
}

static void add_intro(const tl_report_page *page, size_t shown) {
    const tl_report_plates *plates = page->plates;
    const size_t without = page->sequence->count - plates->count;
    tl_report_text *html = page->html;
    tl_report_text_addf(html, "<p>%s at one scale, in order of time, ",
                        plates->count == 1 ? "The photograph" : "Your photographs");
    if (plates->turned_count == 0)
        tl_report_text_add(html, "turned as the camera was: north is not known.");
    else if (plates->zenith_count == 0)
        tl_report_text_add(html, "turned so that celestial north is up and east left.");
    else
        tl_report_text_add(html, "turned so that celestial north is up and east left, or the "
                                 "zenith, the point straight overhead, is up. On the rim the full "
                                 "wedge points to north, the open one to the zenith.");
    if (count_open(page) > 0)
        tl_report_text_add(html, " Whether the pictures are mirrored is not known: they are shown "
                                 "as if they were not.");
    tl_report_text_addf(html, " Times are %s.",
                        plates->utc ? "UTC" : "those of the camera\u2019s clock");
    if (shown < plates->count)
        tl_report_text_addf(html,
                            " Of %zu, %zu are shown, evenly spread; the contact sheet has them "
                            "all.",
                            plates->count, shown);
    if (without > 0)
        tl_report_text_addf(html,
                            " %zu picture%s without a disc that could be measured %s left out.",
                            without, without == 1 ? "" : "s", without == 1 ? "is" : "are");
    tl_report_text_add(html, "</p>\n");
}

static void add_choice(const tl_report_page *page) {
    if (page->plates->zenith_count == 0)
        return;
    tl_report_text_add(
        page->html,
        "<input type=\"radio\" name=\"up\" id=\"up-north\" checked=\"checked\"/> <label "
        "class=\"shown\" for=\"up-north\">North up</label> <input type=\"radio\" name=\"up\" "
        "id=\"up-zenith\"/> <label class=\"shown\" for=\"up-zenith\">Zenith up, as the "
        "eye saw it</label>\n");
}

void tl_report_html_series(const tl_report_page *page) {
    size_t chosen[SHOWN_MOST];
    const size_t shown =
        tl_report_plates_spread(page->plates, TL_REPORT_NORTH_UP, SHOWN_MOST, chosen);
    if (shown == 0)
        return;
    tl_report_text_add(page->html, "<section id=\"series\">\n<h2>The series</h2>\n");
    add_intro(page, shown);
    tl_report_text_add(page->html,
                       "<div role=\"group\" aria-label=\"The series, north up or zenith up\">\n");
    add_choice(page);
    tl_report_text_add(page->html, "<ol class=\"series\">\n");
    for (size_t n = 0; n < shown; n++)
        add_plate(page, &page->plates->item[chosen[n]]);
    tl_report_text_add(page->html, "</ol>\n</div>\n");
    add_beside(page);
    tl_report_text_add(page->html, "</section>\n");
}
