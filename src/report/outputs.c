/*
 * outputs.c - the files of a result, and what they are made from.
 */
#include "report/limbs_internal.h"
#include "report/spots_internal.h"
#include "report/talk_internal.h"
#include "report/timeline_internal.h"

tl_status tl_report_source_make(const tl_sequence *sequence, tl_report_source *source) {
    tl_report_source made = {.sequence = sequence, .facts = tl_report_facts_of(sequence)};
    tl_status status = tl_report_path_make(sequence, &made.facts, &made.path);
    if (status != TL_OK)
        return status;
    status = tl_report_plates_make(sequence, &made.plates);
    if (status == TL_OK)
        status = tl_report_timeline_make(sequence, &made.facts, &made.timeline);
    if (status == TL_OK)
        *source = made;
    else
        tl_report_source_free(&made);
    return status;
}

void tl_report_source_free(tl_report_source *source) {
    tl_report_path_free(&source->path);
    tl_report_plates_free(&source->plates);
    tl_report_timeline_free(&source->timeline);
}

static tl_status make_csv(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_csv(source->sequence, bytes);
}

static tl_status make_series(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_series_csv(source, bytes);
}

static tl_status make_spots(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_spots_csv(source->sequence, bytes);
}

static tl_status make_json(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_json(source->sequence, bytes);
}

static tl_status make_path(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_path_svg(&source->facts, &source->path, bytes);
}

static tl_status make_timeline(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_timeline_svg(&source->facts, &source->timeline, bytes);
}

static tl_status make_page(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_html(source, bytes);
}

static tl_status make_sheet(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_contact_sheet(source, TL_REPORT_NORTH_UP, bytes);
}

static tl_status make_zenith_sheet(const tl_report_source *source, size_t k,
                                   tl_report_text *bytes) {
    (void)k;
    return tl_report_contact_sheet(source, TL_REPORT_ZENITH_UP, bytes);
}

static tl_status make_moving(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_moving(source, TL_REPORT_NORTH_UP, bytes);
}

static tl_status make_zenith_moving(const tl_report_source *source, size_t k,
                                    tl_report_text *bytes) {
    (void)k;
    return tl_report_moving(source, TL_REPORT_ZENITH_UP, bytes);
}

static tl_status make_smooth(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_smooth(source, bytes);
}

static tl_status make_talk(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    (void)k;
    return tl_report_talk(source, bytes);
}

static size_t count_limbs(const tl_report_source *source) {
    return source->sequence->count;
}

static void name_limbs(const tl_report_source *source, size_t k, tl_report_text *name) {
    tl_report_limbs_name(source->sequence, k, name);
}

static tl_status make_limbs(const tl_report_source *source, size_t k, tl_report_text *bytes) {
    return tl_report_limbs_sheet(source->sequence, k, bytes);
}

/* In the order in which people want them, which the summary keeps; what takes longest is begun
 * first. */
const tl_report_output tl_report_outputs[] = {
    {.name = "moving-smooth.gif", .make = make_smooth},
    {.name = TL_REPORT_TALK, .make = make_talk},
    {.name = TL_REPORT_SLIDES_FOLDER,
     .count = tl_report_count_slides,
     .name_of = tl_report_slide_name,
     .is_name = tl_report_is_slide_name,
     .make = tl_report_slide_png},
    {.name = TL_REPORT_PAGE, .make = make_page},
    {.name = "contact-sheet.jpg", .make = make_sheet},
    {.name = "contact-sheet-zenith.jpg", .make = make_zenith_sheet},
    {.name = "moving.gif", .make = make_moving},
    {.name = "moving-zenith.gif", .make = make_zenith_moving},
    {.name = TL_REPORT_LIMBS_FOLDER,
     .count = count_limbs,
     .name_of = name_limbs,
     .is_name = tl_report_is_limbs_name,
     .make = make_limbs},
    {.name = "path.svg", .make = make_path},
    {.name = "timeline.svg", .make = make_timeline},
    {.name = "series.csv", .table = true, .make = make_series},
    {.name = TL_REPORT_FRAMES, .table = true, .make = make_csv},
    {.name = TL_REPORT_SPOTS, .table = true, .make = make_spots},
    {.name = TL_REPORT_EVERYTHING, .table = true, .make = make_json},
};
const size_t tl_report_output_count = sizeof tl_report_outputs / sizeof *tl_report_outputs;

size_t tl_report_count_files(const tl_report_output *output, const tl_report_source *source) {
    if (source->scope == TL_REPORT_TABLES && !output->table)
        return 0;
    return output->count ? output->count(source) : 1;
}

tl_status tl_report_write(const tl_sequence *sequence, const char *folder, tl_report_scope scope,
                          int jobs) {
    tl_report_source source;
    tl_status status = tl_report_source_make(sequence, &source);
    if (status != TL_OK)
        return status;
    source.scope = scope;
    status = tl_report_write_folder(folder, &source, jobs);
    tl_report_source_free(&source);
    return status;
}
