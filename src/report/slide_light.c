/*
 * slide_light.c - how the light went: the covered share against time.
 */
#include <math.h>

#include "report/talk_internal.h"
#include "report/timeline_internal.h"

static const unsigned PANEL = TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_COVERED);

static bool possible(const tl_report_source *source) {
    return (source->timeline.panels & PANEL) != 0 && source->timeline.line_count > 1;
}

static void headline(const tl_report_source *source, tl_report_text *words) {
    tl_report_depth depth;
    if (!tl_report_depth_of(source, &depth) || depth.of_picture) {
        tl_report_text_add(words, "How the Sun was covered, and uncovered again");
        return;
    }
    tl_report_text_add(words, "How the light went: ");
    tl_report_add_share(&depth, tl_obscuration(depth.separation_sr, depth.ratio), words);
    tl_report_text_add(words, " of the disc was covered at most");
}

static void note(const tl_report_source *source, tl_report_text *words) {
    tl_report_text_add(words, source->timeline.utc
                                  ? "Dots and triangles are the photographs, the lines are the "
                                    "almanac for this place. "
                                  : "Dots and triangles are the photographs, the lines are the "
                                    "path that they make. ");
    tl_report_text_add(words, "The eye hardly notices that light goes until most of the Sun is "
                              "covered.");
}

static void draw(tl_report_slide_pen *pen) {
    const tl_report_timeline_look look = {
        .panels = PANEL,
        .left = TL_REPORT_SLIDE_MARGIN,
        .top = TL_REPORT_SLIDE_TOP - 10.0,
        .width = TL_REPORT_SLIDE_WIDTH - 2.0 * TL_REPORT_SLIDE_MARGIN,
        .height = TL_REPORT_SLIDE_BOTTOM - TL_REPORT_SLIDE_TOP + 20.0,
        .text_px = 28.0};
    tl_report_timeline timeline = pen->source->timeline;
    timeline.crossing_count = 0; /* marks of sunspots, which no guest has heard of yet */
    const tl_status status = tl_report_draw_timeline(pen->cr, &timeline, &look);
    pen->failed = pen->failed || status == TL_ERR_MEMORY;
}

const tl_report_slide tl_report_slide_light = {"light", possible, headline, note, draw};
