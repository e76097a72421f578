/*
 * summary.c - the summary for the terminal: a screenful at most.
 */
#include <math.h>
#include <string.h>
#include <sys/stat.h>

#include "report/summary_internal.h"

enum {
    REASONS = 3,  /* refusals told apart */
    OUTLIERS = 2, /* lines on pictures left out */
    NOTE_LINES = 4
};

static void add_heading(tl_report_screen *screen, const tl_sequence *sequence,
                        const tl_report_facts *facts) {
    tl_report_text words = {0};
    screen->rank = TL_REPORT_KEEP;
    tl_report_words_title(sequence, facts, &words);
    if (sequence->options.date_given && facts->day_s != sequence->options.date_utc_s) {
        tl_report_text_add(&words, " (given: "); /* the day by the Sun there, or next to it */
        tl_report_add_date(&words, sequence->options.date_utc_s);
        tl_report_text_add(&words, ")");
    } else {
        tl_report_words_given_mark(sequence->options.date_given, &words);
    }
    screen->strong = true;
    tl_report_screen_line(screen, "", &words);
    screen->strong = false;
    tl_report_words_site(&sequence->options.site, &words);
    tl_report_screen_line(screen, "", &words);
}

/* How many of each kind: with these the numbers add up, however few reasons there is room for. */
static void add_refusal_counts(tl_report_screen *screen, const tl_sequence *sequence) {
    tl_report_text words = {0};
    const char *before = "not measured: ";
    for (int status = TL_LIMB_MEASURED + 1; status < TL_LIMB_STATUS_COUNT; status++) {
        size_t count = 0;
        for (size_t i = 0; i < sequence->count; i++)
            count += (int)sequence->frame[i].limb.status == status && !sequence->frame[i].is_copy;
        if (count == 0)
            continue;
        tl_report_text_addf(&words, "%s%zu %s", before, count,
                            tl_report_words_status((tl_limb_status)status));
        before = ", ";
    }
    screen->rank = TL_REPORT_TELLING;
    tl_report_screen_words(screen, "", &words, 2);
}

static void add_refusals(tl_report_screen *screen, const tl_sequence *sequence, size_t left) {
    tl_report_group group[REASONS];
    tl_report_text words = {0};
    const size_t groups = tl_report_refusals(sequence, REASONS, group);
    if (groups == REASONS)
        add_refusal_counts(screen, sequence);
    for (size_t i = 0; i < groups; i++) {
        screen->rank = i == 0 && groups < REASONS ? TL_REPORT_MORE : TL_REPORT_SPARE;
        left -= group[i].count;
        if (i + 1 == REASONS && left > 0) {
            tl_report_text_addf(&words, "%zu more refused: see %s", left + group[i].count,
                                screen->tables ? TL_REPORT_FRAMES : "the page");
        } else {
            tl_report_text_addf(&words, "%zu %s", group[i].count,
                                tl_report_words_status(group[i].status));
            if (group[i].reason[0])
                tl_report_text_addf(&words, ": %s", group[i].reason);
        }
        tl_report_screen_words(screen, "", &words, 2);
    }
}

/* Measured, though more rows are missing than anyone would notice. */
static void add_cut_short(tl_report_screen *screen, const tl_sequence *sequence) {
    size_t count = 0;
    for (size_t i = 0; i < sequence->count; i++)
        count += sequence->frame[i].info.rows_missing > 0 &&
                 sequence->frame[i].limb.status == TL_LIMB_MEASURED;
    if (count == 0)
        return;
    tl_report_text words = {0};
    tl_report_text_addf(&words, "%zu measured although the file is cut short: copy it again",
                        count);
    screen->rank = TL_REPORT_TELLING;
    tl_report_screen_words(screen, "", &words, 1);
}

/* The pictures left out, the last line for all that are not named. */
static void add_outliers(tl_report_screen *screen, const tl_sequence *sequence, size_t outliers) {
    tl_report_text words = {0};
    size_t named = 0;
    for (size_t i = 0; i < sequence->count; i++) {
        if (!tl_report_is_outlier(sequence, i))
            continue;
        screen->rank = named == 0 ? TL_REPORT_TELLING : TL_REPORT_MORE;
        if (named + 1 == OUTLIERS && outliers > OUTLIERS) {
            tl_report_text_addf(&words, "%zu more left out: see %s", outliers - named,
                                screen->tables ? TL_REPORT_FRAMES : "the page");
            tl_report_screen_words(screen, "", &words, 1);
            return;
        }
        tl_report_words_outlier_short(sequence, i, &words);
        tl_report_screen_words(screen, "", &words, 1);
        named++;
    }
}

static void add_sides(tl_report_screen *screen, const tl_sequence *sequence) {
    static const struct {
        tl_side_by by;
        const char *words;
    } told[] = {{TL_SIDE_BY_ORDER, "settled by the order of the names"},
                {TL_SIDE_BY_TURN, "settled by the Moon\u2019s direction"},
                {TL_SIDE_BY_SPOTS, "settled by the sunspots"},
                {TL_SIDE_OPEN, "open"}};
    const tl_report_sides sides = tl_report_count_sides(sequence);
    tl_report_text words = {0};
    if (sides.all == 0)
        return;
    tl_report_text_addf(&words, "%zu with two possible times%s", sides.all,
                        sides.all == 1 ? "" : " each");
    const char *joint = ": ";
    for (size_t k = 0; k < sizeof told / sizeof *told; k++) {
        const size_t count = sides.by[told[k].by];
        if (count == 0)
            continue;
        tl_report_text_add(&words, joint);
        if (count < sides.all)
            tl_report_text_addf(&words, "%zu ", count);
        tl_report_text_add(&words, told[k].words);
        joint = ", ";
    }
    screen->rank = TL_REPORT_MORE;
    tl_report_screen_words(screen, "Undated", &words, 2);
}

static void add_passed(tl_report_screen *screen, const tl_sequence *sequence) {
    tl_report_text words = {0};
    tl_report_words_passed(sequence, &words);
    screen->rank = TL_REPORT_MORE;
    tl_report_screen_words(screen, "", &words, 2);
}

static void add_pictures(tl_report_screen *screen, const tl_sequence *sequence,
                         const tl_report_facts *facts) {
    const size_t measured = facts->with_status[TL_LIMB_MEASURED];
    tl_report_text words = {0};
    screen->rank = TL_REPORT_KEEP;
    tl_report_screen_gap(screen);
    tl_report_text_addf(&words, "%zu, of them %zu measured", sequence->count, measured);
    if (tl_report_excluded_count(sequence) > 0)
        tl_report_text_addf(&words, ", %zu excluded (given)", tl_report_excluded_count(sequence));
    if (tl_sequence_copies(sequence) > 0)
        tl_report_text_addf(&words, ", %zu %s", tl_sequence_copies(sequence),
                            tl_sequence_copies(sequence) == 1 ? "a copy of another"
                                                              : "copies of others");
    if (sequence->track.camera_count > 1)
        tl_report_text_addf(&words, "; %zu cameras", sequence->track.camera_count);
    tl_report_screen_words(screen, "Pictures", &words, 1);
    add_refusals(screen, sequence, sequence->count - measured - tl_sequence_copies(sequence));
    add_cut_short(screen, sequence);
    add_passed(screen, sequence);
    add_outliers(screen, sequence, facts->outliers);
    add_sides(screen, sequence);
}

static void add_times(tl_report_screen *screen, const tl_sequence *sequence) {
    tl_report_text words = {0};
    if (sequence->times_name == NULL)
        return;
    tl_report_words_times(sequence, &words);
    tl_report_words_given_mark(true, &words);
    screen->rank = TL_REPORT_TELLING;
    tl_report_screen_words(screen, "Times", &words, 1);
    tl_report_words_stray(sequence, &words);
    tl_report_screen_words(screen, "", &words, 1);
}

static void add_places(tl_report_screen *screen, const tl_sequence *sequence) {
    const tl_track *track = &sequence->track;
    for (size_t i = 0; i < track->place_count; i++) {
        tl_report_text words = {0};
        tl_report_text_add(&words, i > 0 ? "or " : "");
        tl_report_words_estimate(&track->place[i], &words);
        tl_report_text_add(&words, ", ");
        tl_report_words_estimate_size(&track->place[i], &words);
        tl_report_screen_words(screen, i > 0 ? "" : "Taken at", &words, 1);
    }
    if (track->place_count > 0) {
        tl_report_text words = {0};
        tl_report_text_add(&words, "moves by ");
        tl_report_words_estimate_clock(&track->place[0], &words);
        tl_report_text_add(&words, " for every second that the clock is off");
        screen->rank = TL_REPORT_TELLING;
        tl_report_screen_words(screen, "", &words, 1);
        screen->rank = TL_REPORT_KEEP;
    }
}

static void add_closest(tl_report_screen *screen, const tl_sequence *sequence) {
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
    tl_report_screen_words(screen, "Closest", &words, 1);
    if (!(track->ratio > 0.0) || !(track->magnitude > 0.0))
        return;
    tl_report_words_magnitude(track, &words);
    tl_report_words_almanac_magnitude(track, &words);
    tl_report_text_add(&words, "; ");
    tl_report_words_covered(track, &words);
    tl_report_text_add(&words, " covered");
    tl_report_screen_words(screen, "Magnitude", &words, 1);
}

/* How one camera was held. */
static void add_held(tl_report_screen *screen, const tl_sequence *sequence, size_t which,
                     const char *label) {
    static const char *const holding[] = {[TL_HOLDING_AUTO] = "not determined",
                                          [TL_HOLDING_FREE] = "each picture in its own turn",
                                          [TL_HOLDING_FIXED] =
                                              "one turn, as on an equatorial mount",
                                          [TL_HOLDING_ALTAZ] = "as on an alt-azimuth mount"};
    const tl_track_camera *camera = &sequence->track.camera[which];
    tl_report_text words = {0}, turned = {0};
    if (sequence->track.camera_count > 1) {
        tl_report_words_camera_short(sequence, which, &words);
        tl_report_text_add(&words, ": ");
    }
    tl_report_text_add(&words, holding[camera->holding]);
    if (camera->holding_open)
        tl_report_text_add(&words, camera->holding == TL_HOLDING_FIXED ? " or an alt-azimuth one"
                                                                       : " or an equatorial one");
    tl_report_words_given_mark(sequence->options.holding != TL_HOLDING_AUTO, &words);
    if (camera->turn_jitter_rad > TL_REPORT_STEADY_RAD)
        tl_report_text_addf(&words, ", give or take %.0f deg", camera->turn_jitter_rad / TL_DEG);
    tl_report_words_turned(camera, &turned);
    if (turned.length > 0)
        tl_report_text_addf(&words, ", turned %s", tl_report_text_string(&turned));
    tl_report_text_free(&turned);
    tl_report_text_addf(&words, "; %s",
                        camera->mirror_mixed                 ? "some mirrored, some not"
                        : camera->mirrored == TL_MIRROR_AUTO ? "mirrored or not: not determined"
                        : camera->mirrored == TL_MIRROR_YES  ? "mirrored"
                                                             : "not mirrored");
    tl_report_words_given_mark(sequence->options.mirror != TL_MIRROR_AUTO, &words);
    tl_report_screen_words(screen, label, &words, 2);
}

/* The main camera first; of the others those that gave to the series, where there is room. */
static void add_holding(tl_report_screen *screen, const tl_sequence *sequence,
                        const tl_report_facts *facts) {
    const tl_report_rank rank = screen->rank;
    if (facts->with_status[TL_LIMB_MEASURED] == 0)
        return;
    add_held(screen, sequence, sequence->track.main_camera, "Held");
    screen->rank = TL_REPORT_SPARE;
    for (size_t k = 0; k < sequence->track.camera_count; k++)
        if (k != sequence->track.main_camera && sequence->track.camera[k].used_count > 0)
            add_held(screen, sequence, k, "");
    screen->rank = rank;
}

/* Each sentence stays whole or goes. */
static void add_sentences(tl_report_screen *screen, const char *label, tl_report_text *words) {
    const char *rest = tl_report_text_string(words);
    while (*rest) {
        const char *stop = strstr(rest, ". ");
        const size_t length = stop ? (size_t)(stop - rest) + 1 : strlen(rest);
        tl_report_text sentence = {0};
        tl_report_text_bytes(&sentence, rest, length);
        tl_report_screen_words(screen, label, &sentence, NOTE_LINES);
        if (screen->rank < TL_REPORT_SPARE)
            screen->rank++;
        label = "";
        rest += length;
        rest += strspn(rest, " ");
    }
    tl_report_text_free(words);
}

static void add_advice(tl_report_screen *screen, const tl_sequence *sequence,
                       const tl_report_facts *facts) {
    tl_report_text words = {0};
    const bool grave = facts->with_status[TL_LIMB_MEASURED] == 0 || sequence->track.note[0];
    for (size_t n = 0; tl_report_words_advice(sequence, facts, n, &words); n++) {
        screen->rank = n > 0 ? TL_REPORT_SPARE : grave ? TL_REPORT_WEIGHTY : TL_REPORT_MORE;
        screen->strong = n == 0 && grave;
        if (n == 0)
            tl_report_screen_gap(screen);
        if (n == 0 && sequence->track.note[0])
            add_sentences(screen, "Notes", &words);
        else
            tl_report_screen_words(screen, n == 0 ? "Notes" : "", &words, NOTE_LINES);
    }
    screen->strong = false;
    tl_report_text_free(&words);
}

/* The end of a long folder name tells more than its beginning. */
static void add_file(tl_report_screen *screen, const char *label, const char *folder,
                     const char *file) {
    const size_t room = TL_REPORT_COLUMNS - TL_REPORT_LABEL - strlen(file) - 1;
    const size_t length = strlen(folder);
    const char *slash = length > 0 && folder[length - 1] == '/' ? "" : "/";
    tl_report_text plain = {0}, words = {0};
    tl_report_add_terminal(&plain, folder);
    const char *shown = tl_report_text_string(&plain);
    const size_t used = tl_report_characters(shown);
    if (used > room)
        tl_report_add_end(&words, shown, room - 3);
    else
        tl_report_text_add(&words, shown);
    tl_report_text_addf(&words, "%s%s", slash, file);
    tl_report_screen_line(screen, label, &words);
    tl_report_text_free(&plain);
}

/* Beside a file of the same name without this ending nothing new. */
static bool is_variant(const char *name) {
    return strstr(name, "-zenith.") || strstr(name, "-smooth.");
}

static bool is_there(const char *folder, const char *name) {
    struct stat info;
    tl_report_text path = {0};
    tl_report_text_addf(&path, "%s/%s", folder, name);
    const bool there = !path.failed && stat(tl_report_text_string(&path), &info) == 0;
    tl_report_text_free(&path);
    return there;
}

/* The pages to be opened, the folder, and what else is in it. */
static void add_files(tl_report_screen *screen, const char *folder) {
    tl_report_text words = {0};
    screen->rank = TL_REPORT_KEEP;
    tl_report_screen_gap(screen);
    if (!screen->tables)
        add_file(screen, "Page", folder, TL_REPORT_PAGE);
    if (is_there(folder, TL_REPORT_TALK))
        add_file(screen, "Talk", folder, TL_REPORT_TALK);
    add_file(screen, "Folder", folder, "");
    for (size_t i = 0; i < tl_report_output_count; i++) {
        const tl_report_output *output = &tl_report_outputs[i];
        const bool told = strcmp(output->name, TL_REPORT_PAGE) == 0 ||
                          strcmp(output->name, TL_REPORT_TALK) == 0 || is_variant(output->name);
        if (!told && is_there(folder, output->name))
            tl_report_text_addf(&words, "%s%s%s", words.length > 0 ? ", " : "", output->name,
                                output->is_name ? "/" : "");
    }
    screen->rank = TL_REPORT_SPARE;
    tl_report_screen_words(screen, "", &words, 2);
}

void tl_report_summary(const tl_sequence *sequence, const char *folder, bool emphasis, FILE *out) {
    const tl_report_facts facts = tl_report_facts_of(sequence);
    tl_report_screen screen = {.emphasis = emphasis,
                               .tables = is_there(folder, TL_REPORT_FRAMES) &&
                                         !is_there(folder, TL_REPORT_PAGE)};
    add_heading(&screen, sequence, &facts);
    add_pictures(&screen, sequence, &facts);
    add_times(&screen, sequence);
    tl_report_summary_clock(&screen, sequence);
    screen.rank = TL_REPORT_KEEP;
    add_places(&screen, sequence);
    add_closest(&screen, sequence);
    add_holding(&screen, sequence, &facts);
    tl_report_summary_spots(&screen, sequence, &facts);
    screen.rank = TL_REPORT_KEEP;
    tl_report_summary_contacts(&screen, sequence, &facts);
    add_advice(&screen, sequence, &facts);
    add_files(&screen, folder);
    tl_report_screen_print(&screen, out);
}
