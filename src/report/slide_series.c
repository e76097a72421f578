/*
 * slide_series.c - all photographs in order of time, north up and as the eye saw them.
 */
#include <math.h>

#include "report/talk_internal.h"

enum { MOST = 24 }; /* so that times can be read */
static const double TILE_MOST = 560.0, TILE_REACH = 1.1, CAPTION = 48.0;
static const double BORDER =
    56.0; /* the rims of the tiles are black: they seem to stand further in */

static const double KEY = 52.0; /* the line that says what is open about them */

typedef struct grid {
    size_t plate[MOST], count, columns;
    double tile, left, top, step; /* from row to row */
} grid;

static double tile_for(size_t count, size_t columns, const tl_report_rect *box) {
    const size_t rows = (count + columns - 1) / columns;
    return fmin(box->width / (double)columns, box->height / (double)rows - CAPTION);
}

/* As many columns as make the largest tiles. */
static grid lay_out(const tl_report_source *source, tl_report_up up, tl_report_text *open) {
    grid g = {.columns = 1};
    g.count = tl_report_plates_spread(&source->plates, up, MOST, g.plate);
    tl_report_words_plates(&source->plates, g.plate, g.count, open);
    const tl_report_rect box = {BORDER, TL_REPORT_SLIDE_TOP, TL_REPORT_SLIDE_WIDTH - 2.0 * BORDER,
                                TL_REPORT_SLIDE_BOTTOM - TL_REPORT_SLIDE_TOP -
                                    (open->length > 0 ? KEY : 0.0)};
    for (size_t columns = 1; columns <= g.count; columns++)
        if (tile_for(g.count, columns, &box) > tile_for(g.count, g.columns, &box) + 1.0)
            g.columns = columns;
    const size_t rows = (g.count + g.columns - 1) / g.columns;
    g.tile = floor(fmin(tile_for(g.count, g.columns, &box), TILE_MOST));
    g.left = box.left + 0.5 * (box.width - g.tile * (double)g.columns);
    /* Room to spare goes between the rows, as far as they stay together. */
    const double spare = box.height - (g.tile + CAPTION) * (double)rows;
    g.step = g.tile + CAPTION + fmin(spare / (double)(rows + 1), 0.3 * g.tile);
    g.top = box.top + 0.5 * (box.height - g.step * (double)(rows - 1) - g.tile - CAPTION);
    return g;
}

static void add_caption(const tl_report_source *source, const tl_report_plate *plate,
                        tl_report_text *words) {
    if (plate->timed)
        tl_report_add_time_of_day(words, plate->t_s);
    else
        tl_report_text_add(words, "no time");
    tl_report_add_plate_marks(&source->plates, plate, words);
}

/* Rows are centred: the last one may be shorter. */
static void draw_grid(tl_report_slide_pen *pen, tl_report_up up) {
    static const tl_report_type caption = {30.0, 26.0, 0.5, 0.5, TL_REPORT_INK_LABEL};
    static const tl_report_type key = {TL_REPORT_SLIDE_SMALL, TL_REPORT_SLIDE_LEAST, 0.5, 0.0,
                                       TL_REPORT_INK_LABEL};
    tl_report_text open = {0};
    const grid g = lay_out(pen->source, up, &open);
    for (size_t n = 0; n < g.count; n++) {
        const tl_report_plate *plate = &pen->source->plates.item[g.plate[n]];
        const size_t row = n / g.columns;
        const size_t rest = g.count - row * g.columns;
        const size_t in_row = rest < g.columns ? rest : g.columns;
        const double indent = 0.5 * g.tile * (double)(g.columns - in_row);
        const double left = g.left + indent + g.tile * (double)(n % g.columns);
        const double top = g.top + g.step * (double)row;
        tl_report_text words = {0};
        tl_report_slide_plate(pen, plate, up, TILE_REACH, left, top, g.tile);
        add_caption(pen->source, plate, &words);
        tl_report_set_line(pen, &caption, &words, left + 0.5 * g.tile, top + g.tile + 16.0);
    }
    if (open.length > 0 || open.failed)
        tl_report_set_words(pen, &key, &open,
                            (tl_report_rect){TL_REPORT_SLIDE_MARGIN, TL_REPORT_SLIDE_BOTTOM - KEY,
                                             TL_REPORT_SLIDE_WIDTH - 2.0 * TL_REPORT_SLIDE_MARGIN,
                                             KEY});
    tl_report_text_free(&open);
}

static size_t shown(const tl_report_source *source, tl_report_up up) {
    size_t plate[MOST];
    return tl_report_plates_spread(&source->plates, up, MOST, plate);
}

/* What is open about them, and what their times are. */
static void add_rest(const tl_report_source *source, tl_report_up up, tl_report_text *words) {
    size_t plate[MOST];
    const size_t count = tl_report_plates_spread(&source->plates, up, MOST, plate);
    tl_report_words_plates(&source->plates, plate, count, words);
    tl_report_text_add(words, source->plates.utc
                                  ? "The times are UTC."
                                  : "The times are those of the camera\u2019s clock.");
}

static bool north_possible(const tl_report_source *source) {
    return shown(source, TL_REPORT_NORTH_UP) > 1;
}

static void north_headline(const tl_report_source *source, tl_report_text *words) {
    tl_report_text_addf(words, "%zu photographs, one scale%s%s", shown(source, TL_REPORT_NORTH_UP),
                        source->plates.turned_count > 0 ? ", north up" : "",
                        source->plates.utc ? ", times in UTC" : "");
}

static void north_note(const tl_report_source *source, tl_report_text *words) {
    tl_report_text_add(words,
                       source->plates.turned_count > 0
                           ? "The photographs are turned so that celestial north is up and east is "
                             "left, as on a chart of the sky, and brought to one size and one "
                             "brightness. "
                           : "How the pictures were turned is not known: they are shown as taken, "
                             "brought to one size and one brightness. ");
    add_rest(source, TL_REPORT_NORTH_UP, words);
}

static void north_draw(tl_report_slide_pen *pen) {
    draw_grid(pen, TL_REPORT_NORTH_UP);
}

static bool zenith_possible(const tl_report_source *source) {
    return shown(source, TL_REPORT_ZENITH_UP) > 1;
}

static void zenith_headline(const tl_report_source *source, tl_report_text *words) {
    (void)source;
    tl_report_text_add(words, "The same as the eye saw it: the zenith is up");
}

static void zenith_note(const tl_report_source *source, tl_report_text *words) {
    tl_report_text_add(words, "This is how the Sun stood in the sky for somebody who faced it: the "
                              "point overhead is up in every picture. ");
    add_rest(source, TL_REPORT_ZENITH_UP, words);
}

static void zenith_draw(tl_report_slide_pen *pen) {
    draw_grid(pen, TL_REPORT_ZENITH_UP);
}

const tl_report_slide tl_report_slide_north = {"series", north_possible, north_headline, north_note,
                                               north_draw};
const tl_report_slide tl_report_slide_zenith = {"series-zenith", zenith_possible, zenith_headline,
                                                zenith_note, zenith_draw};
