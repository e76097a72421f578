/*
 * limbs_sheet.c - everything about one frame on one sheet: the picture with its limbs, two enlarged
 * details, the residuals, and the figures in words.
 *
 * Letters are of a size that can still be read when the sheet is shown at half its width.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "report/draw_internal.h"
#include "report/limbs_internal.h"

/* The sheet's parts, px. */
enum {
    LEFT = 24,
    RIGHT = TL_REPORT_SHEET_WIDTH - 24,
    TOP = 64,
    PLATE = 680, /* side */
    SIDE_LEFT = 728,
    DETAIL = 412, /* side */
    DETAIL_TOP = 92,
    GRAPH_TOP = 526,
    WORDS_TOP = 776,
    WORDS_LEFT = 330,
    WORDS_COLUMN = 635,
    WORDS_LINES = 8,
    LINE = 27
};
static const double LETTERS = 20.0, TITLE_LETTERS = 28.0;
static const double MOST_ZOOM = 8.0;

typedef struct sheet {
    cairo_t *cr;
    const tl_sequence *sequence;
    const tl_sequence_frame *frame;
    size_t i;
} sheet;

static void draw_words(const sheet *s, tl_report_ink ink, const char *words, double x, double y,
                       double align) {
    tl_report_set_ink(s->cr, ink);
    tl_report_draw_text(s->cr, words, LETTERS, x, y, align);
}

/* Take characters from the end until it fits, with "..." in their place. */
static void shorten(cairo_t *cr, tl_report_text *text, double size, double width) {
    const size_t least = 8; /* bytes */
    bool cut = false;
    while (text->length > least && tl_report_text_width(cr, text->data, size) > width) {
        text->length -= cut ? strlen("\u2026") : 0;
        do
            text->length--;
        while (((unsigned char)text->data[text->length] & 0xC0) == 0x80);
        text->data[text->length] = '\0';
        tl_report_text_add(text, "\u2026");
        cut = true;
    }
}

static void draw_title(const sheet *s) {
    tl_report_text name = {0}, place = {0};
    tl_report_text_addf(&place, "picture %zu of %zu", s->i + 1, s->sequence->count);
    tl_report_add_terminal(&name, tl_report_base_name(s->frame->path));
    if (!name.failed)
        shorten(s->cr, &name, TITLE_LETTERS, RIGHT - LEFT - 260.0);
    tl_report_set_ink(s->cr, TL_REPORT_INK_TEXT);
    tl_report_draw_text(s->cr, tl_report_text_string(&name), TITLE_LETTERS, LEFT, 32.0, 0.0);
    draw_words(s, TL_REPORT_INK_LABEL, tl_report_text_string(&place), RIGHT, 32.0, 1.0);
    tl_report_text_free(&name);
    tl_report_text_free(&place);
}

static void draw_panel(const sheet *s, double left, double top, double width, double height) {
    cairo_rectangle(s->cr, left, top, width, height);
    tl_report_set_ink(s->cr, TL_REPORT_INK_PANEL);
    cairo_fill(s->cr);
}

/* Pixels of red, green, blue, `zoom` times as large. */
static tl_status draw_pixels(const sheet *s, const unsigned char *rgb, int width, int height,
                             double left, double top, double zoom, cairo_filter_t filter) {
    cairo_surface_t *surface = tl_report_surface_of(rgb, width, height, false);
    if (!surface)
        return TL_ERR_MEMORY;
    tl_report_draw_surface(s->cr, surface, filter, left, top, zoom * width, zoom * height);
    cairo_surface_destroy(surface);
    return TL_OK;
}

/* Linear light as a screen wants it, near enough to sRGB's curve for the eye; NULL if there is no
 * memory. */
static unsigned char *rgb_of_light(const tl_detail *detail) {
    const size_t count = (size_t)detail->width * (size_t)detail->height;
    unsigned char *rgb = malloc(3 * count);
    for (size_t k = 0; rgb && k < count; k++)
        memset(rgb + 3 * k, (int)lround(255.0 * pow(detail->light[k] / 255.0, 1.0 / 2.2)), 3);
    return rgb;
}

/* The preview as large as fits, in the middle; the words where there is none. */
static tl_status draw_plate(const sheet *s, double width) {
    const tl_preview *preview = &s->frame->preview;
    unsigned char *rgb = NULL;
    draw_panel(s, LEFT, TOP, width, PLATE);
    const tl_status status =
        preview->size > 0 ? tl_preview_pixels(preview, &rgb) : TL_ERR_NOT_PICTURE;
    if (status == TL_ERR_MEMORY)
        return status;
    if (status != TL_OK) {
        draw_words(s, TL_REPORT_INK_LABEL, "no picture", LEFT + 0.5 * width, TOP + 0.5 * PLATE,
                   0.5);
        return TL_OK;
    }
    const double fit = fmin(width / preview->width, (double)PLATE / preview->height);
    const double shown_width = fit * preview->width, shown_height = fit * preview->height;
    const tl_report_window window = {LEFT + 0.5 * (width - shown_width),
                                     TOP + 0.5 * (PLATE - shown_height),
                                     shown_width,
                                     shown_height,
                                     preview->x0_px,
                                     preview->y0_px,
                                     fit * preview->scale};
    const tl_status drawn = draw_pixels(s, rgb, preview->width, preview->height, window.left,
                                        window.top, fit, CAIRO_FILTER_GOOD);
    free(rgb);
    if (drawn == TL_OK) {
        tl_report_draw_limbs(s->cr, &window, &s->frame->limb, 15.0);
        tl_report_draw_dark_marks(s->cr, &window, s->sequence, s->i);
    }
    return drawn;
}

static tl_status draw_detail(const sheet *s, int which, double left) {
    const tl_detail *detail = &s->frame->detail[which];
    tl_report_text caption = {0};
    draw_panel(s, left, DETAIL_TOP, DETAIL, DETAIL);
    if (detail->width == 0) {
        draw_words(s, TL_REPORT_INK_LABEL,
                   which == TL_DETAIL_CUSP ? "no cusp seen" : "no limb seen", left + 0.5 * DETAIL,
                   DETAIL_TOP + 0.5 * DETAIL, 0.5);
        return TL_OK;
    }
    const int longer = detail->width > detail->height ? detail->width : detail->height;
    const double zoom = fmin(MOST_ZOOM, (double)DETAIL / longer);
    const double width = zoom * detail->width, height = zoom * detail->height;
    const tl_report_window window = {left + 0.5 * (DETAIL - width),
                                     DETAIL_TOP + 0.5 * (DETAIL - height),
                                     width,
                                     height,
                                     detail->x0 - 0.5 * detail->scale,
                                     detail->y0 - 0.5 * detail->scale,
                                     zoom / detail->scale};
    unsigned char *rgb = rgb_of_light(detail);
    const tl_status status = rgb ? draw_pixels(s, rgb, detail->width, detail->height, window.left,
                                               window.top, zoom, CAIRO_FILTER_NEAREST)
                                 : TL_ERR_MEMORY;
    free(rgb);
    if (status != TL_OK)
        return status;
    tl_report_draw_limbs(s->cr, &window, &s->frame->limb, 14.0);
    tl_report_draw_dark_marks(s->cr, &window, s->sequence, s->i);
    tl_report_text_add(&caption, which == TL_DETAIL_CUSP ? "A cusp, enlarged "
                                 : s->frame->limb.circle[TL_MOON_R] > 0.0
                                     ? "Lunar limb, enlarged "
                                     : "Solar limb, enlarged ");
    tl_report_add_fixed(&caption, zoom / detail->scale, 1);
    tl_report_text_add(&caption, " times");
    draw_words(s, TL_REPORT_INK_TEXT, tl_report_text_string(&caption), left, DETAIL_TOP - 14.0,
               0.0);
    tl_report_text_free(&caption);
    return TL_OK;
}

static void draw_graphs(const sheet *s, double range_px) {
    const double height = TOP + PLATE - GRAPH_TOP;
    tl_report_draw_graph(s->cr, &s->frame->limb, TL_LIMB_SUN, range_px, SIDE_LEFT, GRAPH_TOP,
                         DETAIL, height);
    tl_report_draw_graph(s->cr, &s->frame->limb, TL_LIMB_MOON, range_px, RIGHT - DETAIL, GRAPH_TOP,
                         DETAIL, height);
}

/* The words of one line of the key, and down to the next. */
static void end_key_line(const sheet *s, const char *words, double *y) {
    draw_words(s, TL_REPORT_INK_TEXT, words, LEFT + 54.0, *y, 0.0);
    *y += LINE;
}

static void draw_key_mark(const sheet *s, tl_report_mark mark, const char *words, double *y) {
    tl_report_draw_mark(s->cr, mark, LEFT + 20.0, *y, mark == TL_REPORT_MARK_CUSP ? 8.0 : 4.5);
    end_key_line(s, words, y);
}

static void draw_key_line(const sheet *s, int which, bool seen, const char *words, double *y) {
    cairo_move_to(s->cr, LEFT, *y);
    cairo_line_to(s->cr, LEFT + 40.0, *y);
    tl_report_stroke_limb(s->cr, which, seen);
    end_key_line(s, words, y);
}

/* What there is of it on this sheet. */
static void draw_key(const sheet *s, double range_px) {
    const bool moon = s->frame->limb.circle[TL_MOON_R] > 0.0;
    double y = WORDS_TOP;
    draw_key_line(s, TL_LIMB_SUN, true, "solar limb as fitted", &y);
    if (moon)
        draw_key_line(s, TL_LIMB_MOON, true, "lunar limb as fitted", &y);
    draw_key_line(s, TL_LIMB_SUN, false, "dashed: no limb seen", &y);
    draw_key_mark(s, TL_REPORT_MARK_SUN, "edge point kept, Sun", &y);
    if (moon)
        draw_key_mark(s, TL_REPORT_MARK_MOON, "edge point kept, Moon", &y);
    draw_key_mark(s, TL_REPORT_MARK_DROPPED, "edge point dropped", &y);
    if (moon)
        draw_key_mark(s, TL_REPORT_MARK_CUSP, "cusp of the two limbs", &y);
    if (!(range_px > 0.0))
        return;
    tl_report_text words = {0};
    tl_report_text_add(&words, "point beyond \u00b1");
    tl_report_add_fixed(&words, range_px, range_px < 1.0 ? 1 : 0);
    tl_report_text_add(&words, " px");
    cairo_move_to(s->cr, LEFT + 20.0, y - 5.0);
    cairo_line_to(s->cr, LEFT + 15.0, y + 5.0);
    cairo_line_to(s->cr, LEFT + 25.0, y + 5.0);
    cairo_close_path(s->cr);
    tl_report_set_ink(s->cr, TL_REPORT_INK_LABEL);
    cairo_fill(s->cr);
    end_key_line(s, tl_report_text_string(&words), &y);
    tl_report_text_free(&words);
}

enum { ROW_BYTES = 512 }; /* a verdict with its reason is the longest */

/* The bytes of `words` that fit, up to a blank or the end; at least one word. */
static size_t fitting(const sheet *s, const char *words, double width) {
    size_t best = 0;
    for (size_t at = strcspn(words, " ");; at += 1 + strcspn(words + at + 1, " ")) {
        char piece[ROW_BYTES];
        snprintf(piece, sizeof piece, "%.*s", (int)at, words);
        if (best > 0 && tl_report_text_width(s->cr, piece, LETTERS) > width)
            return best;
        best = at;
        if (words[at] == '\0')
            return best;
    }
}

/* One row from line `*line` on; the lines run down the first column, then the second. */
static void draw_row(const sheet *s, const char *label, const char *words, size_t *line) {
    const bool key = s->frame->limb.circle[TL_SUN_R] > 0.0; /* else it has all the width */
    const double first_left = key ? WORDS_LEFT : LEFT, label_width = 172.0;
    const double width = (key ? WORDS_COLUMN - 20.0 : RIGHT - LEFT) - label_width;
    for (const char *from = words; *from != '\0' && *line < 2 * (size_t)WORDS_LINES; (*line)++) {
        const double x = first_left + (*line >= WORDS_LINES ? WORDS_COLUMN : 0.0);
        const double y = WORDS_TOP + (double)(*line % WORDS_LINES) * LINE;
        const size_t length = fitting(s, from, width);
        char piece[ROW_BYTES];
        snprintf(piece, sizeof piece, "%.*s", (int)length, from);
        if (from == words)
            draw_words(s, TL_REPORT_INK_LABEL, label, x, y, 0.0);
        draw_words(s, TL_REPORT_INK_TEXT, piece, x + label_width, y, 0.0);
        from += length;
        from += strspn(from, " ");
    }
}

static tl_status draw_rows(const sheet *s) {
    size_t line = 0;
    bool failed = false, more = true;
    for (size_t n = 0; more; n++) {
        tl_report_text text = {0};
        const char *label = tl_report_limbs_row(s->sequence, s->i, n, &text);
        more = label != NULL;
        failed = failed || text.failed;
        if (more && text.length > 0 && !text.failed)
            draw_row(s, label, text.data, &line);
        tl_report_text_free(&text);
    }
    return failed ? TL_ERR_MEMORY : TL_OK;
}

/* Everything, on a surface of the sheet's size. */
static tl_status draw_all(const sheet *s) {
    const tl_detail *detail = s->frame->detail;
    double range_px;
    tl_status status = tl_report_graph_range(&s->frame->limb, &range_px);
    if (status != TL_OK)
        return status;
    const bool bare = detail[TL_DETAIL_CUSP].width == 0 && detail[TL_DETAIL_LIMB].width == 0 &&
                      !(range_px > 0.0); /* then the picture has the whole width */
    tl_report_set_ink(s->cr, TL_REPORT_INK_SHEET);
    cairo_paint(s->cr);
    draw_title(s);
    status = draw_plate(s, bare ? RIGHT - LEFT : PLATE);
    if (status == TL_OK && !bare)
        status = draw_detail(s, TL_DETAIL_CUSP, SIDE_LEFT);
    if (status == TL_OK && !bare)
        status = draw_detail(s, TL_DETAIL_LIMB, RIGHT - DETAIL);
    if (range_px > 0.0)
        draw_graphs(s, range_px);
    if (s->frame->limb.circle[TL_SUN_R] > 0.0)
        draw_key(s, range_px);
    return status == TL_OK ? draw_rows(s) : status;
}

static tl_status draw(cairo_t *cr, const void *context) {
    sheet s = *(const sheet *)context;
    s.cr = cr;
    return draw_all(&s);
}

tl_status tl_report_limbs_sheet(const tl_sequence *sequence, size_t i, tl_report_text *jpeg) {
    const sheet s = {NULL, sequence, &sequence->frame[i], i};
    const tl_report_drawing drawing = {TL_REPORT_SHEET_WIDTH, TL_REPORT_SHEET_HEIGHT, draw, &s};
    return tl_report_draw_jpeg(&drawing, 1.0, jpeg);
}
