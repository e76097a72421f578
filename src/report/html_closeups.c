/*
 * html_closeups.c - the surroundings of a spot in the pictures near its covering and uncovering.
 */
#include <math.h>

#include "report/html_internal.h"
#include "report/limbs_internal.h"
#include "report/spots_internal.h"

/* A limb as this picture shows it: its centre from the spot's place by the picture's circles,
 * turned as the close-up was. In units of the close-up's px; its middle is the spot. */
static void add_limb(const tl_report_page *page, const tl_closeup *closeup, int which) {
    const tl_limb *limb = &page->sequence->frame[closeup->frame].limb;
    const tl_spot_sight *sight = tl_report_sight(page->sequence, closeup->spot, closeup->frame);
    const tl_spot_turn *turn = tl_report_spot_turn(page->sequence, closeup->frame);
    const bool moon = which == TL_LIMB_MOON;
    const double px_per_sr = closeup->side / closeup->side_sr;
    const double up = turn->known ? turn->joint_up_pa_rad : turn->up_pa_rad;
    const double radius_sr = moon ? limb->circle[TL_MOON_R] / limb->circle[TL_SUN_R] : 1.0;
    double east, north;
    if (!(turn->known || turn->has_turn) || !sight->has_place || !(limb->circle[TL_SUN_R] > 0.0) ||
        (moon && limb->status != TL_LIMB_MEASURED))
        return;
    tl_sky_from_frame(up, turn->mirrored, (moon ? limb->offset_x_sr : 0.0) - sight->x_sr,
                      (moon ? limb->offset_y_sr : 0.0) - sight->y_sr, &east, &north);
    for (int pass = 0; pass < 2; pass++) { /* on a dark line, so that it shows on a bright disc */
        tl_report_text_addf(page->html, "<circle class=\"%s\" cx=\"",
                            pass == 0 ? "under"
                            : moon    ? "moon-line"
                                      : "sun-line");
        tl_report_add_fixed(page->html, 0.5 * closeup->side - px_per_sr * east, 2);
        tl_report_text_add(page->html, "\" cy=\"");
        tl_report_add_fixed(page->html, 0.5 * closeup->side - px_per_sr * north, 2);
        tl_report_text_add(page->html, "\" r=\"");
        tl_report_add_fixed(page->html, px_per_sr * radius_sr, 2);
        tl_report_text_add(page->html, "\"/>");
    }
}

/* Where the Moon hides it: else nothing but a black square would be seen. */
static void add_hidden(const tl_report_page *page, const tl_closeup *closeup) {
    const double least_px = 5.0; /* to be seen at all */
    const tl_spot *spot = &page->sequence->spots.spot[closeup->spot];
    const tl_spot_sight *sight = tl_report_sight(page->sequence, closeup->spot, closeup->frame);
    if (sight->state != TL_SPOT_COVERED)
        return;
    tl_report_text_addf(page->html, "<circle class=\"hidden-spot\" cx=\"%d\" cy=\"%d\" r=\"",
                        closeup->side / 2, closeup->side / 2);
    tl_report_add_fixed(page->html,
                        fmax(least_px, spot->radius_sr * closeup->side / closeup->side_sr), 1);
    tl_report_text_add(page->html, "\"/>");
}

static const tl_spot_passage *passage_of(const tl_sequence *sequence, const tl_closeup *closeup) {
    const tl_spot *spot = &sequence->spots.spot[closeup->spot];
    return closeup->uncovering ? &spot->uncovered : &spot->covered;
}

static void add_when(const tl_report_page *page, const tl_closeup *closeup) {
    const tl_track_frame *tracked = tl_report_track_frame(page->sequence, closeup->frame);
    const tl_spot_passage *passage = passage_of(page->sequence, closeup);
    if (!tracked->has_true)
        return;
    tl_report_text_add(page->html, "<span>");
    tl_report_add_clock(page->html, tracked->true_utc_s,
                        tl_report_decimals(tracked->true_sigma_s, 0), page->facts->day_s);
    tl_report_text_add(page->html, " UTC</span>");
    if (!passage->occurs)
        return;
    const double apart_s = tracked->true_utc_s - passage->t_utc_s[TL_SPOT_CENTRE];
    tl_report_text_add(page->html, "<span>");
    tl_report_add_duration(fabs(apart_s), page->html);
    tl_report_text_addf(page->html, " %s</span>", apart_s < 0.0 ? "before" : "after");
}

static void add_figure(const tl_report_page *page, const tl_closeup *closeup) {
    const char *name = tl_report_base_name(page->sequence->frame[closeup->frame].path);
    const tl_spot_sight *sight = tl_report_sight(page->sequence, closeup->spot, closeup->frame);
    tl_report_text *html = page->html;
    tl_report_text_addf(html,
                        "<figure><svg viewBox=\"0 0 %d %d\" role=\"img\" aria-label=\"Close-up, "
                        "spot %s, picture ",
                        closeup->side, closeup->side, tl_spot_state_name[sight->state]);
    tl_report_add_html(html, name);
    tl_report_text_addf(html, "\"><image width=\"%d\" height=\"%d\" href=\"data:image/jpeg;base64,",
                        closeup->side, closeup->side);
    tl_report_text_base64(html, closeup->jpeg, closeup->size);
    tl_report_text_add(html, "\"/><g class=\"overlay\">");
    add_limb(page, closeup, TL_LIMB_SUN);
    add_limb(page, closeup, TL_LIMB_MOON);
    add_hidden(page, closeup);
    tl_report_text_addf(html, "</g></svg><figcaption><a href=\"#place-%zu\"><bdi>",
                        closeup->frame + 1);
    tl_report_add_html(html, name);
    tl_report_text_add(html, "</bdi></a>");
    add_when(page, closeup);
    tl_report_text_add(html, "</figcaption></figure>\n");
}

static void add_heading(const tl_report_page *page, const tl_closeup *closeup) {
    const tl_spot *spot = &page->sequence->spots.spot[closeup->spot];
    const tl_spot_passage *passage = passage_of(page->sequence, closeup);
    tl_report_text name = {0};
    tl_report_text_add(page->html, "<h4>Spot <bdi>");
    tl_report_add_spot_name(&name, spot);
    tl_report_html_words(page, &name);
    tl_report_text_addf(page->html, "</bdi>, %s%s", spot->unsure ? "perhaps " : "",
                        closeup->uncovering ? "uncovered" : "covered");
    if (passage->occurs) {
        tl_report_text_add(page->html, " at ");
        tl_report_add_clock(page->html, passage->t_utc_s[TL_SPOT_CENTRE],
                            tl_report_decimals(tl_report_spot_sigma(passage), 0),
                            page->facts->day_s);
        tl_report_text_add(page->html, " UTC");
    }
    tl_report_text_add(page->html, "</h4>\n<div class=\"closeups\">\n");
}

static bool is_whole(const tl_sequence *sequence, const tl_closeup *closeup) {
    return closeup->spot < sequence->spots.count && closeup->frame < sequence->count &&
           closeup->size > 0 && closeup->side > 0 && closeup->side_sr > 0.0;
}

/* Whether any picture of this strip is near enough to its covering or uncovering to say anything
 * of it. */
static bool strip_tells(const tl_sequence *sequence, const tl_closeup *closeup) {
    const double far_s = 1800.0; /* our own choice */
    const double t_s = passage_of(sequence, closeup)->t_utc_s[TL_SPOT_CENTRE];
    for (size_t k = 0; k < sequence->closeup_count; k++) {
        const tl_closeup *other = &sequence->closeup[k];
        if (other->spot == closeup->spot && other->uncovering == closeup->uncovering &&
            is_whole(sequence, other) &&
            fabs(tl_report_track_frame(sequence, other->frame)->true_utc_s - t_s) <= far_s)
            return true;
    }
    return false;
}

void tl_report_html_closeups(const tl_report_page *page) {
    const tl_sequence *sequence = page->sequence;
    const tl_closeup *last = NULL;
    for (size_t k = 0; k < sequence->closeup_count; k++) {
        const tl_closeup *closeup = &sequence->closeup[k];
        if (!is_whole(sequence, closeup) || !strip_tells(sequence, closeup))
            continue;
        if (!last)
            tl_report_text_add(page->html,
                               "<h3>Close up</h3>\n<p class=\"note\">North up, not mirrored, the "
                               "spot\u2019s place in the middle. The dashed line is the "
                               "Moon\u2019s limb as fitted in that picture, the solid one the "
                               "Sun\u2019s; a ring is where the Moon hides the spot.</p>\n");
        if (!last || last->spot != closeup->spot || last->uncovering != closeup->uncovering) {
            if (last)
                tl_report_text_add(page->html, "</div>\n");
            add_heading(page, closeup);
        }
        add_figure(page, closeup);
        last = closeup;
    }
    if (last)
        tl_report_text_add(page->html, "</div>\n");
}
