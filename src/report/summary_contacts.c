/*
 * summary_contacts.c - the table of contacts on the terminal.
 */
#include <math.h>

#include "report/summary_internal.h"

enum { MEASURED = 13, SIGMA = 6, ALMANAC = 14, O_MINUS_C = 8 }; /* columns */

/* A right-aligned cell; frees it. */
static void add_cell(tl_report_text *row, tl_report_text *cell, size_t width) {
    const size_t used = tl_report_characters(tl_report_text_string(cell));
    tl_report_text_addf(row, "%*s%s", used < width ? (int)(width - used) : 0, "",
                        tl_report_text_string(cell));
    row->failed = row->failed || cell->failed;
    tl_report_text_free(cell);
}

static void add_contact(tl_report_screen *screen, const tl_sequence *sequence,
                        const tl_report_facts *facts, int which) {
    const tl_track_contact *c = &sequence->track.contact[which];
    const bool utc = tl_track_main(&sequence->track)->clock.solved;
    const double sigma_s = tl_report_contact_sigma(&sequence->track, which);
    const int decimals = tl_report_decimals(sigma_s, 1);
    const double o_minus_c = c->measured_utc_s - c->predicted_utc_s;
    tl_report_text row = {0}, cell = {0};
    if (!c->measured && !c->predicted)
        return;
    if (!tl_report_any_contact(&sequence->track)) { /* the almanac alone */
        tl_report_add_clock(&cell, c->predicted_utc_s, 1, facts->day_s);
        add_cell(&row, &cell, MEASURED);
        tl_report_screen_words(screen, tl_contact_name[which], &row, 1);
        return;
    }
    if (c->measured)
        tl_report_add_clock(&cell, utc ? c->measured_utc_s : c->measured_camera_s, decimals,
                            utc ? facts->day_s : floor(c->measured_camera_s / TL_DAY_S) * TL_DAY_S);
    add_cell(&row, &cell, MEASURED);
    if (c->measured)
        tl_report_add_sigma(&cell, sigma_s, decimals);
    add_cell(&row, &cell, SIGMA);
    if (c->predicted) {
        tl_report_add_clock(&cell, c->predicted_utc_s, 1, facts->day_s);
        add_cell(&row, &cell, ALMANAC);
    }
    if (utc && c->measured && c->predicted) {
        tl_report_add_signed(&cell, o_minus_c, decimals);
        add_cell(&row, &cell, O_MINUS_C);
        tl_report_text_add(&row, "  ");
        tl_report_words_significance(o_minus_c, tl_report_contact_error(&sequence->track, which),
                                     &row);
    }
    tl_report_screen_words(screen, tl_contact_name[which], &row, 1);
}

void tl_report_summary_contacts(tl_report_screen *screen, const tl_sequence *sequence,
                                const tl_report_facts *facts) {
    bool any = false;
    for (int which = 0; which < TL_CONTACTS; which++)
        any = any || sequence->track.contact[which].measured ||
              sequence->track.contact[which].predicted;
    if (!any)
        return;
    tl_report_screen_gap(screen);
    tl_report_text head = {0};
    if (!tl_report_any_contact(&sequence->track))
        tl_report_text_addf(&head, "%*s", MEASURED, "almanac UTC");
    else
        tl_report_text_addf(&head, "%*s%*s", MEASURED,
                            tl_track_main(&sequence->track)->clock.solved ? "measured UTC"
                                                                          : "camera clock",
                            SIGMA, "+- s");
    if (sequence->track.has_circumstances && tl_report_any_contact(&sequence->track))
        tl_report_text_addf(&head, "%*s%*s", ALMANAC, "almanac UTC", O_MINUS_C, "O-C s");
    tl_report_screen_words(screen, "", &head, 1);
    for (int which = 0; which < TL_CONTACTS; which++)
        add_contact(screen, sequence, facts, which);
}
