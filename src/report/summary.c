/*
 * summary.c - the summary for the terminal: a screenful at most.
 */
#include <math.h>
#include <string.h>

#include "report/report_internal.h"

enum {
    LINES = 24,
    FILE_LINES = 3, /* kept free for the last lines: a blank one and two of files */
    COLUMNS = 80,
    LABEL = 11,       /* width of the first column */
    REASON_LINES = 3, /* refusals told apart */
    ADVICE = 8
};

#define CUT " ..." /* ends a line that had to be cut */

typedef struct screen {
    tl_report_text text;
    int lines;
} screen;

/* Characters of a text that is valid UTF-8. */
static size_t characters(const char *string) {
    size_t count = 0;
    for (; *string; string++)
        count += ((unsigned char)*string & 0xC0u) != 0x80u;
    return count;
}

static bool full(const screen *s) {
    return s->lines >= LINES - FILE_LINES;
}

static void add_line(screen *s, const char *label, const char *string, size_t bytes,
                     const char *end) {
    if (full(s))
        return;
    tl_report_text_addf(&s->text, "%-*s%.*s%s\n", LABEL, label, (int)bytes, string, end);
    s->lines++;
}

static void add_blank(screen *s) {
    if (full(s) || s->lines == 0)
        return;
    tl_report_text_add(&s->text, "\n");
    s->lines++;
}

/* Bytes of the longest piece of `string` that ends before a blank and fits; a word that is too
 * long is cut. */
static size_t piece(const char *string, size_t width) {
    size_t columns = 0, end = 0, i = 0;
    uint32_t code;
    while (string[i]) {
        if (string[i] == ' ')
            end = i;
        if (columns == width)
            return end > 0 ? end : i;
        i += tl_report_utf8_step(string + i, &code);
        columns++;
    }
    return i;
}

/* The words under a label, broken into at most `max_lines` lines; frees them. */
static void add_words(screen *s, const char *label, tl_report_text *words, int max_lines) {
    tl_report_text plain = {0};
    tl_report_add_terminal(&plain, tl_report_text_string(words));
    const char *rest = tl_report_text_string(&plain);
    for (int line = 0; *rest && line < max_lines; line++) {
        const bool whole = strlen(rest) == piece(rest, COLUMNS - LABEL);
        const bool cut = !whole && line + 1 == max_lines;
        const size_t bytes = piece(rest, COLUMNS - LABEL - (cut ? strlen(CUT) : 0));
        add_line(s, line ? "" : label, rest, bytes, cut ? CUT : "");
        rest += bytes;
        rest += strspn(rest, " ");
    }
    s->text.failed = s->text.failed || plain.failed || words->failed;
    tl_report_text_free(&plain);
    tl_report_text_free(words);
}

/* How many lines the words would take. */
static int lines_of(const tl_report_text *words) {
    tl_report_text plain = {0};
    tl_report_add_terminal(&plain, tl_report_text_string(words));
    int lines = 0;
    for (const char *rest = tl_report_text_string(&plain); *rest; lines++) {
        rest += piece(rest, COLUMNS - LABEL);
        rest += strspn(rest, " ");
    }
    tl_report_text_free(&plain);
    return lines;
}

/* A line of its own, without a label; frees the words. */
static void add_title(screen *s, tl_report_text *words) {
    tl_report_add_terminal(&s->text, tl_report_text_string(words));
    tl_report_text_add(&s->text, "\n");
    s->lines++;
    s->text.failed = s->text.failed || words->failed;
    tl_report_text_free(words);
}

static void add_heading(screen *s, const tl_sequence *sequence, const tl_report_facts *facts) {
    tl_report_text words = {0};
    tl_report_words_title(sequence, facts, &words);
    add_title(s, &words);
    tl_report_words_site(&sequence->options.site, &words);
    add_title(s, &words);
}

static void add_pictures(screen *s, const tl_sequence *sequence, const tl_report_facts *facts) {
    tl_report_group group[REASON_LINES];
    tl_report_text words = {0};
    tl_report_text_addf(&words, "%zu, of them %zu measured", sequence->count,
                        facts->with_status[TL_LIMB_MEASURED]);
    add_words(s, "Pictures", &words, 1);
    const size_t groups = tl_report_refusals(sequence, REASON_LINES, group);
    size_t left = sequence->count - facts->with_status[TL_LIMB_MEASURED];
    for (size_t i = 0; i < groups; i++) {
        left -= group[i].count;
        if (i + 1 == REASON_LINES && left > 0) {
            tl_report_text_addf(&words, "%zu more refused: see the page", left + group[i].count);
        } else {
            tl_report_text_addf(&words, "%zu %s", group[i].count,
                                tl_limb_status_name(group[i].status));
            if (group[i].reason[0])
                tl_report_text_addf(&words, ": %s", group[i].reason);
        }
        add_words(s, "", &words, groups < REASON_LINES ? 2 : 1);
    }
}

static void add_clock(screen *s, const tl_sequence *sequence) {
    const tl_clock *clock = &tl_track_main(&sequence->track)->clock;
    tl_report_text words = {0};
    if (!clock->solved) {
        tl_report_text_add(&words, "not checked against the sky");
        add_words(s, "Clock", &words, 1);
        return;
    }
    tl_report_words_setting(clock->zone_minutes, clock->offset_s, clock->sigma_s, &words);
    if (clock->zone_corrected)
        tl_report_text_add(&words, ", not the zone it was said to be on");
    const double days = round(clock->day_shift_s / TL_DAY_S);
    if (days != 0.0)
        tl_report_text_addf(&words, "; date %.0f day%s %s", fabs(days), fabs(days) > 1.0 ? "s" : "",
                            days > 0.0 ? "ahead" : "behind");
    add_words(s, "Clock", &words, 2);
    for (size_t i = 0; i < clock->alternative_count && i < 2; i++) {
        tl_report_text_add(&words, "or ");
        tl_report_words_setting(clock->alternative[i].zone_minutes, clock->alternative[i].offset_s,
                                clock->alternative[i].sigma_s, &words);
        tl_report_text_add(&words, ", which fits about as well");
        add_words(s, "", &words, 1);
    }
}

static void add_places(screen *s, const tl_sequence *sequence) {
    const tl_track *track = &sequence->track;
    for (size_t i = 0; i < track->place_count; i++) {
        tl_report_text words = {0};
        tl_report_text_add(&words, i > 0 ? "or " : "");
        tl_report_words_place(&track->place[i], &words);
        tl_report_text_add(&words, ", ");
        tl_report_words_place_size(&track->place[i], &words);
        add_words(s, i > 0 ? "" : "Taken at", &words, 1);
    }
}

static void add_closest(screen *s, const tl_sequence *sequence) {
    const tl_track *track = &sequence->track;
    tl_report_text words = {0};
    if (!track->has_smallest)
        return;
    tl_report_add_measure(&words, track->smallest_sr, track->smallest_sigma_sr, 4, "solar radii");
    if (track->has_circumstances) {
        tl_report_text_add(&words, " (almanac ");
        tl_report_add_fixed(&words, track->smallest_predicted_sr,
                            tl_report_decimals(track->smallest_sigma_sr, 4));
        tl_report_text_add(&words, ")");
    }
    add_words(s, "Closest", &words, 1);
    if (!(track->ratio > 0.0))
        return;
    tl_report_text_add(&words, "magnitude ");
    tl_report_add_fixed(&words, tl_magnitude(track->smallest_sr, track->ratio), 3);
    tl_report_text_add(&words, ", ");
    tl_report_add_fixed(&words, 100.0 * tl_obscuration(track->smallest_sr, track->ratio), 1);
    tl_report_text_add(&words, " % of the disc covered");
    add_words(s, "Greatest", &words, 1);
}

static void add_holding(screen *s, const tl_sequence *sequence, const tl_report_facts *facts) {
    static const char *const holding[] = {
        [TL_HOLDING_AUTO] = "not determined",
        [TL_HOLDING_FREE] = "each picture in its own turn",
        [TL_HOLDING_FIXED] = "one turn, as on an equatorial mount",
        [TL_HOLDING_ALTAZ] = "turning, as on an alt-azimuth mount"};
    tl_report_text words = {0};
    if (facts->with_status[TL_LIMB_MEASURED] == 0)
        return;
    tl_report_text_add(&words, holding[tl_track_main(&sequence->track)->holding]);
    if (tl_track_main(&sequence->track)->turn_jitter_rad > TL_REPORT_STEADY_RAD)
        tl_report_text_addf(&words, ", give or take %.0f deg",
                            tl_track_main(&sequence->track)->turn_jitter_rad / TL_DEG);
    tl_report_text_addf(&words, "; %s",
                        !facts->has_mirror ? "mirrored or not: not determined"
                        : facts->mirrored  ? "mirrored"
                                           : "not mirrored");
    add_words(s, "Held", &words, 1);
}

/* A right-aligned cell of the table of contacts; frees it. */
static void add_cell(tl_report_text *row, tl_report_text *cell, size_t width) {
    const size_t used = characters(tl_report_text_string(cell));
    tl_report_text_addf(row, "%*s%s", used < width ? (int)(width - used) : 0, "",
                        tl_report_text_string(cell));
    row->failed = row->failed || cell->failed;
    tl_report_text_free(cell);
}

enum { MEASURED = 13, SIGMA = 6, ALMANAC = 14, O_MINUS_C = 8 }; /* columns */

static void add_contact(screen *s, const tl_sequence *sequence, const tl_report_facts *facts,
                        int which) {
    const tl_track_contact *c = &sequence->track.contact[which];
    const bool utc = tl_track_main(&sequence->track)->clock.solved;
    const double sigma_s = tl_report_contact_sigma(&sequence->track, which);
    const int decimals = tl_report_decimals(sigma_s, 1);
    const double o_minus_c = c->measured_utc_s - c->predicted_utc_s;
    tl_report_text row = {0}, cell = {0};
    if (!c->measured && !c->predicted)
        return;
    if (c->measured)
        tl_report_add_clock(&cell, utc ? c->measured_utc_s : c->measured_camera_s, decimals,
                            utc ? facts->day_s : floor(c->measured_camera_s / TL_DAY_S) * TL_DAY_S);
    add_cell(&row, &cell, MEASURED);
    if (c->measured)
        tl_report_add_fixed(&cell, sigma_s, decimals);
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
    add_words(s, tl_contact_name[which], &row, 1);
}

static void add_contacts(screen *s, const tl_sequence *sequence, const tl_report_facts *facts) {
    bool any = false;
    for (int which = 0; which < TL_CONTACTS; which++)
        any = any || sequence->track.contact[which].measured ||
              sequence->track.contact[which].predicted;
    if (!any)
        return;
    add_blank(s);
    tl_report_text head = {0};
    tl_report_text_addf(&head, "%*s%*s", MEASURED,
                        tl_track_main(&sequence->track)->clock.solved ? "measured UTC"
                                                                      : "camera clock",
                        SIGMA, "+- s");
    if (sequence->track.has_circumstances)
        tl_report_text_addf(&head, "%*s%*s", ALMANAC, "almanac UTC", O_MINUS_C, "O-C s");
    add_words(s, "", &head, 1);
    for (int which = 0; which < TL_CONTACTS; which++)
        add_contact(s, sequence, facts, which);
}

static void add_advice(screen *s, const tl_sequence *sequence, const tl_report_facts *facts) {
    for (size_t n = 0; n < ADVICE; n++) {
        tl_report_text words = {0};
        if (!tl_report_words_advice(sequence, facts, n, &words)) {
            tl_report_text_free(&words);
            return;
        }
        if (n == 0)
            add_blank(s);
        const int room = LINES - FILE_LINES - s->lines;
        if (n > 0 && lines_of(&words) > room) { /* all of it or nothing; the page has it */
            tl_report_text_free(&words);
            return;
        }
        add_words(s, n == 0 ? "Notes" : "", &words, room);
    }
}

/* The end of a long folder name tells more than its beginning. */
static void add_file(tl_report_text *text, const char *label, const char *folder,
                     const char *files) {
    tl_report_text plain = {0};
    tl_report_add_terminal(&plain, folder);
    const char *shown = tl_report_text_string(&plain);
    const size_t room = COLUMNS - LABEL - strlen(files) - 1, used = characters(shown);
    const char *dots = used > room ? "..." : "";
    uint32_t code;
    for (size_t skip = used > room ? used - room + 3 : 0; skip > 0; skip--)
        shown += tl_report_utf8_step(shown, &code);
    const size_t length = strlen(shown);
    const char *slash = length > 0 && shown[length - 1] == '/' ? "" : "/";
    tl_report_text_addf(text, "%-*s%s%s%s%s\n", LABEL, label, dots, shown, slash, files);
    tl_report_text_free(&plain);
}

void tl_report_summary(const tl_sequence *sequence, const char *folder, FILE *out) {
    const tl_report_facts facts = tl_report_facts_of(sequence);
    screen s = {0};
    add_heading(&s, sequence, &facts);
    add_blank(&s);
    add_pictures(&s, sequence, &facts);
    add_clock(&s, sequence);
    add_places(&s, sequence);
    add_closest(&s, sequence);
    add_holding(&s, sequence, &facts);
    add_contacts(&s, sequence, &facts);
    add_advice(&s, sequence, &facts);
    tl_report_text_add(&s.text, "\n");
    add_file(&s.text, "Page", folder, "report.html");
    add_file(&s.text, "Tables", folder, "frames.csv, sequence.json, path.svg, limbs/");
    fputs(tl_report_text_string(&s.text), out);
    tl_report_text_free(&s.text);
}
