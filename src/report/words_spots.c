/*
 * words_spots.c - plain sentences on the sunspots.
 */
#include <math.h>
#include <string.h>

#include "report/spots_internal.h"

static const char *plural(size_t count) {
    return count == 1 ? "" : "s";
}

static size_t in_pictures(const tl_spots *spots) {
    size_t count = 0;
    for (size_t s = 0; s < spots->count; s++)
        count += spots->spot[s].in_pictures;
    return count;
}

/* What the stage itself has to say, after a blank. */
static void add_note(const tl_spots *spots, tl_report_text *text) {
    if (spots->note[0])
        tl_report_text_addf(text, "%s%s", text->length > 0 ? " " : "", spots->note);
}

void tl_report_words_spots(const tl_sequence *sequence, tl_report_text *text) {
    const tl_spots *spots = &sequence->spots;
    const size_t searched = tl_report_searched(sequence), found = in_pictures(spots);
    if (searched == 0)
        tl_report_text_add(text, "There was no picture in which sunspots could be looked for: that "
                                 "takes the Sun\u2019s circle and a disc that is not burnt out.");
    else if (found == 0)
        tl_report_text_addf(text, "No sunspot was found in the %zu picture%s searched.", searched,
                            plural(searched));
    else
        tl_report_text_addf(text, "%zu sunspot%s followed through %zu picture%s.", found,
                            found == 1 ? " was" : "s were", searched, plural(searched));
    if (spots->count > found)
        tl_report_text_addf(text, " %zu %s from your list alone.", spots->count - found,
                            spots->count - found == 1 ? "is" : "are");
    add_note(spots, text);
}

/* ---- where a spot is ------------------------------------------------------------------------ */

static void add_side(double rad, double sigma_rad, const char *positive, const char *negative,
                     tl_report_text *text) {
    tl_report_add_fixed(text, fabs(rad) / TL_DEG, tl_report_decimals(sigma_rad / TL_DEG, 1));
    tl_report_text_addf(text, "\u00b0\u00a0%s", rad < 0.0 ? negative : positive);
}

void tl_report_words_spot_place(const tl_spot *spot, tl_report_text *text) {
    add_side(spot->latitude_rad, spot->latitude_sigma_rad, "N", "S", text);
    tl_report_text_add(text, ", ");
    add_side(spot->longitude_rad, spot->longitude_sigma_rad, "W", "E", text);
}

void tl_report_words_spot_disc(const tl_spot *spot, tl_report_text *text) {
    static const char *const wind[] = {"north", "north-east", "east", "south-east",
                                       "south", "south-west", "west", "north-west"};
    const double central = 0.05, eighth = TL_PI / 4.0;
    const double out = hypot(spot->east_sr, spot->north_sr);
    if (out < central) {
        tl_report_text_add(text, "at the disc\u2019s centre");
        return;
    }
    const double pa = tl_angle_positive(atan2(spot->east_sr, spot->north_sr));
    tl_report_text_addf(text, "%s, ", wind[lround(pa / eighth) % 8]);
    tl_report_add_fixed(text, fmin(out, 1.0), 2);
    tl_report_text_add(text, " of the way to the edge");
}

/* ---- what became of it ---------------------------------------------------------------------- */

static void add_whose_clock(const tl_sequence *sequence, tl_report_text *text) {
    if (sequence->track.camera_count > 1) {
        tl_report_text_add(text, " by the clock of ");
        tl_report_camera_name(sequence, sequence->track.main_camera, text);
    } else {
        tl_report_text_add(text, " by the camera\u2019s clock");
    }
}

/* "18:07:14 UTC +- 3 s, 20:07:51 by the camera's clock". */
static void add_moment(const tl_sequence *sequence, const tl_report_facts *facts,
                       const tl_spot_passage *passage, int decimals, tl_report_text *text) {
    const double t_s = passage->t_utc_s[TL_SPOT_CENTRE];
    double camera_s, camera_sigma_s;
    tl_report_add_clock(text, t_s, decimals, facts->day_s);
    tl_report_text_add(text, "\u00a0UTC\u00a0\u00b1\u00a0");
    tl_report_add_sigma(text, tl_report_spot_sigma(passage), decimals);
    tl_report_text_add(text, "\u00a0s");
    if (tl_report_spot_camera(sequence, t_s, tl_report_spot_sigma(passage), &camera_s,
                              &camera_sigma_s)) {
        tl_report_text_add(text, " (");
        tl_report_add_clock(text, camera_s, decimals,
                            floor(facts->first_camera_s / TL_DAY_S) * TL_DAY_S);
        add_whose_clock(sequence, text);
        tl_report_text_add(text, ")");
    }
    if (!passage->sun_up)
        tl_report_text_add(text, ", the Sun being down");
}

static void add_covered(const tl_sequence *sequence, const tl_report_facts *facts,
                        const tl_spot *spot, tl_report_text *text) {
    const int decimals = tl_report_spot_decimals(spot);
    if (spot->covered.occurs) {
        tl_report_text_add(text, "The Moon\u2019s limb reached the centre of spot ");
        tl_report_add_spot_name(text, spot);
        tl_report_text_add(text, " at ");
        add_moment(sequence, facts, &spot->covered, decimals, text);
    }
    if (spot->uncovered.occurs) {
        if (spot->covered.occurs) {
            tl_report_text_add(text, " and let it go at ");
        } else {
            tl_report_text_add(text, "The Moon\u2019s limb let the centre of spot ");
            tl_report_add_spot_name(text, spot);
            tl_report_text_add(text, " go at ");
        }
        add_moment(sequence, facts, &spot->uncovered, decimals, text);
    }
    tl_report_text_add(text, ".");
}

static void add_clearance(const tl_spot *spot, tl_report_text *text) {
    tl_report_add_measure(text, fabs(spot->clearance_sr), spot->clearance_sigma_sr, 4,
                          "solar radii");
}

static void add_missed(const tl_spot *spot, const char *what, tl_report_text *text) {
    tl_report_text_add(text, "Spot ");
    tl_report_add_spot_name(text, spot);
    tl_report_text_addf(text, " was not covered from here: the Moon\u2019s edge %s by ", what);
    add_clearance(spot, text);
    tl_report_text_add(text, ".");
}

void tl_report_words_spot(const tl_sequence *sequence, const tl_report_facts *facts, size_t s,
                          tl_report_text *text) {
    const tl_spot *spot = &sequence->spots.spot[s];
    switch (tl_report_spot_fate_of(spot)) {
    case TL_REPORT_SPOT_COVERED:
    case TL_REPORT_SPOT_DOWN:
        add_covered(sequence, facts, spot, text);
        break;
    case TL_REPORT_SPOT_GRAZED:
        add_missed(spot, "reached it, but missed its centre", text);
        break;
    case TL_REPORT_SPOT_FREE:
        add_missed(spot, "missed its centre", text);
        break;
    case TL_REPORT_SPOT_UNSURE:
        tl_report_text_add(text, "Whether the Moon covered the centre of spot ");
        tl_report_add_spot_name(text, spot);
        tl_report_text_addf(text, " is not sure: at its closest it lay %s the Moon\u2019s edge by ",
                            spot->clearance_sr < 0.0 ? "inside" : "outside");
        add_clearance(spot, text);
        tl_report_text_add(text, ".");
        break;
    default:
        tl_report_text_add(text, "When the Moon covered spot ");
        tl_report_add_spot_name(text, spot);
        tl_report_text_add(text, " cannot be said: the place or the true time is not known.");
    }
}

/* How soon a spot of this fate is told. */
static int urgency(const tl_spot *spot) {
    static const int of[TL_REPORT_SPOT_FATES] = {
        [TL_REPORT_SPOT_COVERED] = 0, [TL_REPORT_SPOT_UNSURE] = 1, [TL_REPORT_SPOT_GRAZED] = 2,
        [TL_REPORT_SPOT_FREE] = 3,    [TL_REPORT_SPOT_DOWN] = 4,   [TL_REPORT_SPOT_UNTIMED] = 5};
    return of[tl_report_spot_fate_of(spot)];
}

static bool told_before(const tl_spots *spots, size_t a, size_t b) {
    const tl_spot *first = &spots->spot[a], *second = &spots->spot[b];
    if (urgency(first) != urgency(second))
        return urgency(first) < urgency(second);
    if (first->area_ppm != second->area_ppm)
        return first->area_ppm > second->area_ppm;
    return a < b;
}

size_t tl_report_spot_told(const tl_sequence *sequence, size_t k) {
    const tl_spots *spots = &sequence->spots;
    for (size_t s = 0; s < spots->count; s++) {
        size_t before = 0;
        for (size_t other = 0; other < spots->count; other++)
            before += other != s && told_before(spots, other, s);
        if (before == k)
            return s;
    }
    return spots->count;
}

void tl_report_words_sights(const tl_sequence *sequence, size_t i, tl_report_text *text) {
    const char *joint = "";
    for (size_t s = 0; s < sequence->spots.count; s++) {
        const tl_spot_state state = tl_report_sight(sequence, s, i)->state;
        if (state == TL_SPOT_UNKNOWN)
            continue;
        tl_report_text_add(text, joint);
        tl_report_add_spot_name(text, &sequence->spots.spot[s]);
        tl_report_text_addf(text, " %s", tl_spot_state_name[state]);
        joint = "; ";
    }
}

/* ---- what is open --------------------------------------------------------------------------- */

static bool may_be_dust(const tl_spot *spot) {
    return spot->could_be_dust;
}

static bool seen_once(const tl_spot *spot) {
    return spot->in_pictures && spot->seen_count == 1;
}

static bool only_listed(const tl_spot *spot) {
    return spot->from_list && !spot->in_pictures;
}

/* "Spots A, B and C"; nothing, and false, if none is so. */
static bool add_names(const tl_spots *spots, bool (*is_so)(const tl_spot *spot),
                      tl_report_text *text) {
    size_t count = 0, told = 0;
    for (size_t s = 0; s < spots->count; s++)
        count += is_so(&spots->spot[s]);
    for (size_t s = 0; s < spots->count; s++) {
        if (!is_so(&spots->spot[s]))
            continue;
        tl_report_text_add(text, told == 0           ? count > 1 ? "Spots " : "Spot "
                                 : told + 1 == count ? " and "
                                                     : ", ");
        tl_report_add_spot_name(text, &spots->spot[s]);
        told++;
    }
    return count > 0;
}

static bool mirror_open(const tl_sequence *sequence) {
    const tl_track_camera *camera = tl_track_main(&sequence->track);
    return !sequence->spots.mirror_decided && camera->mirrored == TL_MIRROR_AUTO &&
           !camera->mirror_mixed;
}

static void add_doubt(const tl_sequence *sequence, size_t which, tl_report_text *text) {
    static const struct {
        bool (*is_so)(const tl_spot *spot);
        const char *words;
    } doubt[] = {
        {may_be_dust, " could be dust: the Sun hardly moved in the frame, so that dust on the "
                      "sensor would look the same."},
        {seen_once, ": seen in one picture only, so that nothing tests the place."},
        {only_listed,
         ": in your list, but not found in the pictures; the place is the list\u2019s, "
         "carried on to the day of the eclipse."},
    };
    enum { DOUBTS = sizeof doubt / sizeof *doubt };
    const tl_spots *spots = &sequence->spots;
    if (which < DOUBTS) {
        if (add_names(spots, doubt[which].is_so, text))
            tl_report_text_add(text, doubt[which].words);
    } else if (which == DOUBTS && spots->dust_count > 0) {
        tl_report_text_addf(text,
                            "%zu dark mark%s in the frame while the Sun moved, and %s taken for "
                            "dust.",
                            spots->dust_count,
                            spots->dust_count == 1 ? " stayed put" : "s stayed put",
                            spots->dust_count == 1 ? "was" : "were");
    } else if (which == DOUBTS + 1 && spots->count > 0 && mirror_open(sequence)) {
        tl_report_text_add(
            text, "Whether the pictures are mirrored is open: the spots do not decide it either.");
    }
}

bool tl_report_words_spot_doubt(const tl_sequence *sequence, size_t n, tl_report_text *text) {
    enum { KINDS = 5 };
    for (size_t which = 0; which < KINDS; which++) {
        tl_report_text words = {0};
        add_doubt(sequence, which, &words);
        const bool wanted = words.length > 0 && n-- == 0;
        if (wanted)
            tl_report_text_add(text, tl_report_text_string(&words));
        text->failed = text->failed || words.failed;
        tl_report_text_free(&words);
        if (wanted || text->failed)
            return !text->failed;
    }
    return false;
}

void tl_report_words_spot_turns(const tl_sequence *sequence, tl_report_text *text) {
    static const char *const used[] = {
        [TL_COMPASS_NONE] = "",
        [TL_COMPASS_UNTIED] = "",
        [TL_COMPASS_OPEN] = " They were not used: mirrored, they would fit the Moons as well.",
        [TL_COMPASS_REFUSED] = " They were not used: they scatter more than their errors allow.",
        [TL_COMPASS_USED] = " The turn of each picture is told by the one that is better known."};
    const tl_report_turns turns = tl_report_compare_turns(sequence);
    if (turns.count == 0)
        return;
    tl_report_text_addf(text,
                        "In %zu picture%s the turn by the spots and the one by the Moon in "
                        "the picture itself differ by ",
                        turns.count, plural(turns.count));
    tl_report_add_fixed(text, turns.rms_rad / TL_DEG, 2);
    tl_report_text_addf(text, "\u00b0%s; their errors make one expect ",
                        turns.count > 1 ? " rms" : "");
    tl_report_add_fixed(text, turns.expected_rad / TL_DEG, 2);
    tl_report_text_addf(text, "\u00b0.%s", used[sequence->track.compass.state]);
}
