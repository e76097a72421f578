/*
 * slide_sure.c - how sure it is, against the almanac; how to look safely; what would tell more.
 */
#include <math.h>

#include "report/talk_internal.h"

/* ---- what would tell more ----------------------------------------------------------------------
 */

static bool always(const tl_report_source *source) {
    (void)source;
    return true;
}

static void more_headline(const tl_report_source *source, tl_report_text *words) {
    (void)source;
    tl_report_text_add(words, "What would tell more next time");
}

static void more_note(const tl_report_source *source, tl_report_text *words) {
    (void)source;
    tl_report_text_add(words,
                       "A series of pictures with times and a place measures the Moon\u2019s "
                       "way by itself; few pictures leave gaps that these would close.");
}

/* Lines under each other, a dot before each, each in its share of the box. */
static double set_list_line(tl_report_slide_pen *pen, const tl_report_type *type,
                            tl_report_text *words, tl_report_rect box) {
    cairo_new_path(pen->cr);
    tl_report_add_circle(pen->cr, box.left + 8.0, box.top + 0.5 * type->size, 8.0);
    tl_report_set_tone(pen->cr, TL_REPORT_TONE_SUN);
    cairo_fill(pen->cr);
    return tl_report_set_words(
        pen, type, words, (tl_report_rect){box.left + 44.0, box.top, box.width - 44.0, box.height});
}

static void more_draw(tl_report_slide_pen *pen) {
    static const char *const line[] = {
        ("Pictures soon after first contact and soon before last contact, where the edges move "
         "fastest."),
        "Pictures on both sides of maximum: they tell the clock\u2019s error from all else.",
        "A sharp edge all round, the whole Sun inside the frame, nothing burnt out.",
        "The time of every picture to the second, the place, and whether a mirror was in the way."};
    static const tl_report_type type = {44.0, 30.0, 0.0, 0.0, TL_REPORT_INK_TEXT};
    double y = TL_REPORT_SLIDE_TOP + 50.0;
    for (size_t n = 0; n < sizeof line / sizeof *line; n++) {
        tl_report_text words = {0};
        tl_report_text_add(&words, line[n]);
        y = set_list_line(pen, &type, &words,
                          (tl_report_rect){TL_REPORT_SLIDE_MARGIN, y, 1640.0, 120.0}) +
            56.0;
    }
}

const tl_report_slide tl_report_slide_more = {"next-time", always, more_headline, more_note,
                                              more_draw};

/* ---- measured against the almanac --------------------------------------------------------------
 */

static bool row_known(const tl_report_source *source, int which) {
    const tl_track_contact *contact = &source->sequence->track.contact[which];
    return contact->measured || contact->predicted;
}

static bool compared(const tl_report_source *source, int which) {
    const tl_track_contact *contact = &source->sequence->track.contact[which];
    return contact->measured && contact->predicted &&
           tl_track_main(&source->sequence->track)->clock.solved;
}

static bool any_row(const tl_report_source *source) {
    bool any = false;
    for (int which = 0; which < TL_CONTACTS; which++)
        any = any || row_known(source, which);
    return any;
}

/* Whether all that can be held against the almanac agrees with it within twice its error; false if
 * there are no times. */
static bool all_agree(const tl_report_source *source) {
    const double agrees_sigma = 2.0; /* as the words of the report have it */
    const tl_track *track = &source->sequence->track;
    bool any = false, agree = true;
    for (int which = 0; which < TL_CONTACTS; which++) {
        if (!compared(source, which))
            continue;
        const double off_s =
            fabs(track->contact[which].measured_utc_s - track->contact[which].predicted_utc_s);
        any = true;
        agree = agree && off_s <= agrees_sigma * tl_report_contact_error(track, which);
    }
    if (track->has_smallest && track->has_circumstances)
        agree = agree && fabs(fabs(track->smallest_sr) - track->smallest_predicted_sr) <=
                             agrees_sigma * hypot(track->smallest_sigma_sr, TL_TRACK_FLOOR_SR);
    return any && agree;
}

static void sure_headline(const tl_report_source *source, tl_report_text *words) {
    tl_report_text_add(words, all_agree(source) ? "Measured and almanac agree. Try it, safely"
                              : tl_report_any_contact(&source->sequence->track) &&
                                      !source->sequence->track.has_circumstances
                                  ? "Measured from the pictures alone. Try it, safely"
                              : tl_report_any_contact(&source->sequence->track)
                                  ? "Measured against the almanac. Try it, safely"
                              : any_row(source) ? "The almanac\u2019s times. Try it, safely"
                                                : "Try it yourself, safely");
}

static void sure_note(const tl_report_source *source, tl_report_text *words) {
    if (all_agree(source))
        tl_report_text_add(words, "The clock was set by the almanac, so the mean difference is nil "
                                  "by itself: length and depth of the eclipse are what is "
                                  "tested. ");
    tl_report_text_add(words, "Nobody looks at the Sun without a filter, and nobody trusts a "
                              "filter that is not made for it.");
}

/* Columns: name, measured, almanac, observed less computed (its right edge), px. */
static const double NAME = 96.0, MEASURED = 214.0, ALMANAC = 566.0, DIFFERENCE = 1010.0;

/* Where nothing was measured the almanac's times stand in that place. */
static double almanac_x(const tl_report_source *source) {
    return tl_report_any_contact(&source->sequence->track) ? ALMANAC : MEASURED;
}

static void set_cell(tl_report_slide_pen *pen, tl_report_text *words, double x, double y,
                     double across, bool heading) {
    const tl_report_type type = {heading ? TL_REPORT_SLIDE_SMALL : 36.0, TL_REPORT_SLIDE_LEAST,
                                 across, 0.5, heading ? TL_REPORT_INK_LABEL : TL_REPORT_INK_TEXT};
    tl_report_set_line(pen, &type, words, x, y);
}

static void set_heading(tl_report_slide_pen *pen, const char *string, double x, double y,
                        double across) {
    tl_report_text words = {0};
    tl_report_text_add(&words, string);
    set_cell(pen, &words, x, y, across, true);
}

static void set_row(tl_report_slide_pen *pen, int which, double y) {
    const tl_track *track = &pen->source->sequence->track;
    const tl_track_contact *contact = &track->contact[which];
    tl_report_text name = {0}, measured = {0}, almanac = {0}, difference = {0};
    tl_report_text_add(&name, tl_contact_name[which]);
    if (!tl_report_add_contact(pen->source, which, false, &measured) &&
        tl_report_any_contact(track))
        tl_report_text_add(&measured, "not measured");
    if (contact->predicted)
        tl_report_add_clock(
            &almanac, contact->predicted_utc_s,
            contact->measured ? tl_report_decimals(tl_report_contact_sigma(track, which), 1) : 0,
            pen->source->facts.day_s);
    if (compared(pen->source, which))
        tl_report_add_signed(&difference, contact->measured_utc_s - contact->predicted_utc_s,
                             tl_report_decimals(tl_report_contact_sigma(track, which), 1));
    set_cell(pen, &name, NAME, y, 0.0, false);
    set_cell(pen, &measured, MEASURED, y, 0.0, false);
    set_cell(pen, &almanac, almanac_x(pen->source), y, 0.0, false);
    set_cell(pen, &difference, DIFFERENCE, y, 1.0, false);
}

static void draw_rule(cairo_t *cr, double y) {
    tl_report_set_ink(cr, TL_REPORT_INK_LINE);
    cairo_set_line_width(cr, 2.0);
    cairo_move_to(cr, NAME, y);
    cairo_line_to(cr, DIFFERENCE, y);
    cairo_stroke(cr);
}

static void set_verdict(tl_report_slide_pen *pen, double y) {
    static const tl_report_type plain = {36.0, 28.0, 0.0, 0.0, TL_REPORT_INK_TEXT};
    static const tl_report_type small = {TL_REPORT_SLIDE_SMALL, TL_REPORT_SLIDE_LEAST, 0.0, 0.0,
                                         TL_REPORT_INK_LABEL};
    const tl_track *track = &pen->source->sequence->track;
    const double width = DIFFERENCE - NAME;
    tl_report_text verdict = {0}, depth = {0};
    tl_report_words_agreement(pen->source->sequence, &verdict);
    if (verdict.length > 0 || verdict.failed)
        y = 40.0 + tl_report_set_words(
                       pen, &plain, &verdict,
                       (tl_report_rect){NAME, y, width, TL_REPORT_SLIDE_BOTTOM - 120.0 - y});
    tl_report_text_free(&verdict);
    if (!track->has_smallest)
        return;
    tl_report_text_add(&depth, "Centres at their closest: ");
    tl_report_add_measure(&depth, fabs(track->smallest_sr), track->smallest_sigma_sr, 4,
                          "solar radii");
    if (track->has_circumstances) {
        tl_report_text_add(&depth, "; the almanac has ");
        tl_report_add_fixed(&depth, track->smallest_predicted_sr,
                            tl_report_decimals(track->smallest_sigma_sr, 4));
    }
    tl_report_text_add(&depth, ".");
    tl_report_set_words(pen, &small, &depth, (tl_report_rect){NAME, y, width, 80.0});
}

static void draw_table(tl_report_slide_pen *pen) {
    const bool utc = tl_track_main(&pen->source->sequence->track)->clock.solved;
    double y = TL_REPORT_SLIDE_TOP + 60.0;
    bool predicted = false;
    int rows = 0;
    for (int which = 0; which < TL_CONTACTS; which++)
        rows += row_known(pen->source, which);
    const double step = rows > 3 ? 70.0 : 84.0; /* the verdict needs room below */
    for (int which = 0; which < TL_CONTACTS; which++)
        predicted = predicted || pen->source->sequence->track.contact[which].predicted;
    const bool measured = tl_report_any_contact(&pen->source->sequence->track);
    if (measured)
        set_heading(pen, utc ? "measured, UTC" : "by the camera\u2019s clock", MEASURED, y, 0.0);
    if (predicted)
        set_heading(pen, "almanac, UTC", almanac_x(pen->source), y, 0.0);
    if (predicted && measured && utc)
        set_heading(pen, "difference, s", DIFFERENCE, y, 1.0);
    draw_rule(pen->cr, y + 34.0);
    y += 34.0 + 0.6 * step;
    for (int which = 0; which < TL_CONTACTS; which++) {
        if (!row_known(pen->source, which))
            continue;
        set_row(pen, which, y);
        y += step;
    }
    draw_rule(pen->cr, y - 0.45 * step);
    set_verdict(pen, y);
}

/* ---- look safely -------------------------------------------------------------------------------
 */

static void draw_cautions(tl_report_slide_pen *pen, tl_report_rect box, double size) {
    static const char *const caution[] = {
        "Filters go on the FRONT of telescope, binoculars or lens, firmly fixed.",
        "For eyes alone: undamaged viewers that conform to ISO 12312-2.",
        "Never a filter at the eyepiece: it cracks in the heat.",
        "Never leave a telescope that projects the Sun alone.",
        "Filters come off only inside totality.",
        "Follow local rules and qualified advice."};
    const tl_report_type head = {44.0, 36.0, 0.0, 0.0, TL_REPORT_INK_MOON};
    const tl_report_type type = {size, 28.0, 0.0, 0.0, TL_REPORT_INK_TEXT};
    double y = tl_report_set_string(pen, &head, "The Sun blinds, without pain",
                                    (tl_report_rect){box.left, box.top, box.width, 50.0}) +
               44.0;
    for (size_t k = 0; k < sizeof caution / sizeof *caution; k++) {
        tl_report_text words = {0};
        tl_report_text_add(&words, caution[k]);
        y = set_list_line(pen, &type, &words,
                          (tl_report_rect){box.left, y, box.width, 2.4 * size}) +
            0.75 * size;
    }
}

static void sure_draw(tl_report_slide_pen *pen) {
    const double top = TL_REPORT_SLIDE_TOP + 40.0, bottom = TL_REPORT_SLIDE_BOTTOM;
    if (!any_row(pen->source)) {
        draw_cautions(pen, (tl_report_rect){TL_REPORT_SLIDE_MARGIN, top, 1700.0, bottom - top},
                      44.0);
        return;
    }
    draw_table(pen);
    tl_report_set_ink(pen->cr, TL_REPORT_INK_LINE);
    cairo_set_line_width(pen->cr, 2.0);
    cairo_move_to(pen->cr, 1075.0, top);
    cairo_line_to(pen->cr, 1075.0, bottom - 20.0);
    cairo_stroke(pen->cr);
    draw_cautions(pen, (tl_report_rect){1130.0, top, 694.0, bottom - top}, 34.0);
}

const tl_report_slide tl_report_slide_sure = {"how-sure", always, sure_headline, sure_note,
                                              sure_draw};
