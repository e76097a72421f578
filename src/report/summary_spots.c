/*
 * summary_spots.c - the sunspots on the terminal, in two lines at most.
 */
#include <string.h>

#include "report/spots_internal.h"
#include "report/summary_internal.h"

static void add_moment(const tl_spot_passage *passage, const tl_report_facts *facts,
                       const char *what, int decimals, tl_report_text *words) {
    if (!passage->occurs)
        return;
    tl_report_text_add(words, what);
    tl_report_add_clock(words, passage->t_utc_s[TL_SPOT_CENTRE], decimals, facts->day_s);
    tl_report_text_add(words, " \u00b1 ");
    tl_report_add_sigma(words, tl_report_spot_sigma(passage), decimals);
    tl_report_text_add(words, " s");
}

static void add_spot(const tl_spot *spot, const tl_report_facts *facts, tl_report_text *words) {
    const tl_report_spot_fate fate = tl_report_spot_fate_of(spot);
    const int decimals = tl_report_spot_decimals(spot);
    tl_report_add_spot_letter(words, spot);
    if (fate == TL_REPORT_SPOT_COVERED) {
        add_moment(&spot->covered, facts, " covered ", decimals, words);
        add_moment(&spot->uncovered, facts, spot->covered.occurs ? ", uncovered " : " uncovered ",
                   decimals, words);
    } else {
        tl_report_text_addf(words, " %s", tl_report_spot_fate_name[fate]);
    }
    if (spot->could_be_dust)
        tl_report_text_add(words, " (or dust)");
}

/* The spots of which it can be said, as many as two lines hold; how many more there are. */
static void add_spots(tl_report_screen *screen, const tl_sequence *sequence,
                      const tl_report_facts *facts) {
    const size_t room = 2 * (TL_REPORT_COLUMNS - TL_REPORT_LABEL) - 24;
    const tl_spots *spots = &sequence->spots;
    tl_report_text words = {0};
    tl_report_text_addf(&words, "%zu: ", spots->count);
    for (size_t k = 0; k < spots->count; k++) {
        tl_report_text one = {0};
        add_spot(&spots->spot[tl_report_spot_told(sequence, k)], facts, &one);
        const bool fits =
            k == 0 || tl_report_characters(tl_report_text_string(&words)) + one.length + 2 <= room;
        if (fits)
            tl_report_text_addf(&words, "%s%s", k > 0 ? "; " : "", tl_report_text_string(&one));
        else
            tl_report_text_addf(&words, "; %zu more in %s", spots->count - k,
                                screen->tables ? TL_REPORT_SPOTS : TL_REPORT_PAGE);
        words.failed = words.failed || one.failed;
        tl_report_text_free(&one);
        if (!fits)
            break;
    }
    tl_report_screen_words(screen, "Spots", &words, 2);
}

/* No place or time for any of them: one short line. */
static bool all_untimed(const tl_spots *spots) {
    for (size_t s = 0; s < spots->count; s++)
        if (spots->spot[s].has_passages)
            return false;
    return true;
}

void tl_report_summary_spots(tl_report_screen *screen, const tl_sequence *sequence,
                             const tl_report_facts *facts) {
    const size_t count = sequence->spots.count, searched = tl_report_searched(sequence);
    tl_report_text words = {0};
    if (count == 0 && searched == 0)
        return;
    screen->rank = count > 0 ? TL_REPORT_WEIGHTY : TL_REPORT_SPARE;
    if (count > 0 && !all_untimed(&sequence->spots)) {
        add_spots(screen, sequence, facts);
        return;
    }
    if (count == 0)
        tl_report_text_addf(&words, "none found in the %zu picture%s searched", searched,
                            searched == 1 ? "" : "s");
    else
        tl_report_text_addf(&words, "%zu; when the Moon covered them: place or true time missing",
                            count);
    tl_report_screen_words(screen, "Spots", &words, 1);
}
