/*
 * slides.c - which slides this talk has, in what order, and what their files are called.
 */
#include <string.h>

#include "report/path_internal.h"
#include "report/talk_internal.h"

/* When a slide that is possible is shown. */
typedef enum use {
    ALWAYS,
    WITH_ROOM, /* as long as there are not too many */
    IF_FEW     /* while there are too few */
} use;

/* In the order of the talk. */
static const struct {
    const tl_report_slide *slide;
    use use;
} all[] = {
    {&tl_report_slide_title, ALWAYS},    {&tl_report_slide_north, ALWAYS},
    {&tl_report_slide_zenith, ALWAYS},   {&tl_report_slide_first, ALWAYS},
    {&tl_report_slide_edges, WITH_ROOM}, {&tl_report_slide_deepest, ALWAYS},
    {&tl_report_slide_size, IF_FEW},     {&tl_report_slide_share, ALWAYS},
    {&tl_report_slide_path, ALWAYS},     {&tl_report_slide_light, ALWAYS},
    {&tl_report_slide_turned, ALWAYS},   {&tl_report_slide_spot, ALWAYS},
    {&tl_report_slide_clock, ALWAYS},    {&tl_report_slide_more, IF_FEW},
    {&tl_report_slide_sure, ALWAYS},
};
enum { ALL = sizeof all / sizeof *all };

size_t tl_report_talk_slides(const tl_report_source *source,
                             const tl_report_slide *chosen[TL_REPORT_SLIDES_MOST]) {
    static const size_t most[] = {[ALWAYS] = TL_REPORT_SLIDES_MOST,
                                  [WITH_ROOM] = TL_REPORT_SLIDES_MOST,
                                  [IF_FEW] = TL_REPORT_SLIDES_LEAST};
    bool shown[ALL] = {false};
    size_t count = 0, placed = 0;
    if (!tl_report_plate_deepest(source)) /* not a single picture to tell of */
        return 0;
    for (int turn = ALWAYS; turn <= IF_FEW; turn++)
        for (size_t k = 0; k < ALL; k++)
            if ((int)all[k].use == turn && count < most[turn] && all[k].slide->possible(source)) {
                shown[k] = true;
                count++;
            }
    for (size_t k = 0; k < ALL; k++)
        if (shown[k])
            chosen[placed++] = all[k].slide;
    return placed;
}

static tl_status draw(cairo_t *cr, const void *context) {
    const tl_report_slide_drawing *d = context;
    tl_report_slide_pen pen = {
        .cr = cr, .source = d->source, .ear = d->ear, .slide = d->k, .slides = d->count};
    tl_report_text headline = {0};
    tl_report_set_dark(cr);
    if (d->slide == &tl_report_slide_title) { /* its headline is all there is */
        tl_report_slide_ground(&pen);
    } else {
        d->slide->headline(d->source, &headline);
        tl_report_slide_frame(&pen, &headline);
    }
    d->slide->draw(&pen);
    return pen.failed ? TL_ERR_MEMORY : TL_OK;
}

tl_report_drawing tl_report_drawing_of_slide(const tl_report_slide_drawing *slide) {
    return (tl_report_drawing){TL_REPORT_SLIDE_WIDTH, TL_REPORT_SLIDE_HEIGHT, draw, slide};
}

size_t tl_report_count_slides(const tl_report_source *source) {
    const tl_report_slide *chosen[TL_REPORT_SLIDES_MOST];
    return tl_report_talk_slides(source, chosen);
}

static const char ending[] = ".png";

void tl_report_slide_name(const tl_report_source *source, size_t k, tl_report_text *name) {
    const tl_report_slide *chosen[TL_REPORT_SLIDES_MOST];
    if (k < tl_report_talk_slides(source, chosen))
        tl_report_text_addf(name, "%02zu-%s%s", k + 1, chosen[k]->name, ending);
}

bool tl_report_is_slide_name(const char *name) {
    if (strspn(name, "0123456789") != 2 || name[2] != '-')
        return false;
    for (size_t k = 0; k < ALL; k++) {
        const size_t length = strlen(all[k].slide->name);
        if (strncmp(name + 3, all[k].slide->name, length) == 0 &&
            strcmp(name + 3 + length, ending) == 0)
            return true;
    }
    return false;
}

tl_status tl_report_slide_png(const tl_report_source *source, size_t k, tl_report_text *png) {
    const tl_report_slide *chosen[TL_REPORT_SLIDES_MOST];
    const size_t count = tl_report_talk_slides(source, chosen);
    if (k >= count)
        return TL_OK;
    const tl_report_slide_drawing slide = {source, chosen[k], k, count, NULL};
    const tl_report_drawing drawing = tl_report_drawing_of_slide(&slide);
    return tl_report_draw_png(&drawing, 1.0, png);
}
