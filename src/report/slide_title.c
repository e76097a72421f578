/*
 * slide_title.c - the first slide: the deepest crescent, the day, the place.
 */
#include <string.h>

#include "report/talk_internal.h"

static bool possible(const tl_report_source *source) {
    (void)source;
    return true;
}

static void headline(const tl_report_source *source, tl_report_text *words) {
    tl_report_words_title(source->sequence, &source->facts, words);
}

static void add_place(const tl_report_source *source, tl_report_text *words) {
    const tl_track *track = &source->sequence->track;
    if (source->sequence->options.site.source != TL_SITE_NONE) {
        tl_report_text place = {0};
        tl_report_words_place(&source->sequence->options.site, &place);
        const char *string = tl_report_text_string(&place), *height = strrchr(string, ',');
        tl_report_text_bytes(words, string, height ? (size_t)(height - string) : strlen(string));
        words->failed = words->failed || place.failed;
        tl_report_text_free(&place);
    } else if (track->place_count > 0) {
        tl_report_text_add(words, "near ");
        tl_report_words_estimate(&track->place[0], words);
    }
}

static void add_pictures(const tl_report_source *source, tl_report_text *words) {
    const size_t measured = source->facts.with_status[TL_LIMB_MEASURED];
    tl_report_text_addf(words, "Measured from %zu photograph%s", measured,
                        measured == 1 ? "" : "s");
    if (source->sequence->track.camera_count > 1)
        tl_report_text_addf(words, " by %zu cameras", source->sequence->track.camera_count);
}

static void note(const tl_report_source *source, tl_report_text *words) {
    tl_report_words_caught(source->sequence, &source->facts, words);
    const tl_report_plate *plate = tl_report_plate_deepest(source);
    if (!plate)
        return;
    tl_report_text_add(words, plate->turned == TL_REPORT_TURNED ? " This is the deepest, north up."
                              : plate->turned == TL_REPORT_HAND_OPEN
                                  ? " This is the deepest, north up; it may be mirrored."
                                  : " This is the deepest, turned as it was taken.");
}

/* "Partial solar eclipse" and "12 August 2026": on lines of their own. */
static void add_parts(const tl_report_source *source, tl_report_text *kind, tl_report_text *day) {
    static const char joint[] = " of ";
    tl_report_text whole = {0};
    headline(source, &whole);
    const char *string = tl_report_text_string(&whole), *of = strstr(string, joint);
    tl_report_text_bytes(kind, string, of ? (size_t)(of - string) : strlen(string));
    if (of)
        tl_report_text_add(day, of + strlen(joint));
    kind->failed = kind->failed || whole.failed;
    tl_report_text_free(&whole);
}

static void draw(tl_report_slide_pen *pen) {
    static const tl_report_type large = {92.0, 60.0, 0.0, 1.0, TL_REPORT_INK_TEXT};
    static const tl_report_type body = {TL_REPORT_SLIDE_BODY, TL_REPORT_SLIDE_SMALL, 0.0, 0.0,
                                        TL_REPORT_INK_LABEL};
    static const tl_report_type date = {64.0, 40.0, 0.0, 0.0, TL_REPORT_INK_TEXT};
    const double side = 960.0, left = TL_REPORT_SLIDE_MARGIN, width = 800.0, middle = 500.0;
    const tl_report_plate *plate = tl_report_plate_deepest(pen->source);
    tl_report_text kind = {0}, day = {0}, pictures = {0}, place = {0};
    if (plate)
        tl_report_slide_plate(pen, plate, TL_REPORT_NORTH_UP, 1.16,
                              TL_REPORT_SLIDE_WIDTH - side - 36.0, 40.0, side);
    add_parts(pen->source, &kind, &day);
    tl_report_set_words(pen, &large, &kind, (tl_report_rect){left, middle - 380.0, width, 360.0});
    double end =
        tl_report_set_words(pen, &date, &day, (tl_report_rect){left, middle + 24.0, width, 150.0});
    add_pictures(pen->source, &pictures);
    end =
        tl_report_set_words(pen, &body, &pictures, (tl_report_rect){left, end + 72.0, width, 90.0});
    add_place(pen->source, &place);
    tl_report_set_words(pen, &body, &place, (tl_report_rect){left, end + 26.0, width, 90.0});
}

const tl_report_slide tl_report_slide_title = {"title", possible, headline, note, draw};
