/*
 * gif.c - the bytes of an animated GIF, written by giflib.
 */
#include <stdlib.h>
#include <string.h>

#include <gif_lib.h>

#include "report/gif_internal.h"

/* Unchanged pixels are written as "as before" in runs of at least so many: shorter ones would break
 * up what repeats and make the file larger. Found on series of photographs. */
enum { RUN_LEAST = 8 };

enum { SIDE_MOST = 65535, HOLD_MOST_CS = 65535 }; /* two bytes in the file */

typedef struct area {
    int left, top, right, bottom; /* the last two: one beyond */
} area;

typedef struct writer {
    const tl_report_film *film;
    const tl_report_palette *palette;
    GifFileType *gif;
    tl_report_text bytes;
    size_t most;
    tl_report_dither *dither;
    unsigned char *before, *rgb; /* pixels of the frame before and of this one */
    unsigned char *shown;        /* places in the palette: what is seen before the frame, */
    unsigned char *next;         /* and with it */
    unsigned char *line;
} writer;

static bool taken(const writer *w) {
    return !w->bytes.failed && w->bytes.length <= w->most;
}

static int append(GifFileType *gif, const GifByteType *data, int count) {
    writer *w = gif->UserData;
    tl_report_text_bytes(&w->bytes, data, (size_t)count);
    return taken(w) ? count : 0;
}

/* What went wrong when giflib says that something did. */
static tl_status failure(const writer *w) {
    return !w->bytes.failed && w->bytes.length > w->most ? TL_ERR_TOO_LARGE : TL_ERR_MEMORY;
}

static int transparent(const writer *w) {
    return w->palette->count;
}

static tl_status start(writer *w) {
    int error = 0, places = 2;
    GifColorType colour[TL_REPORT_PALETTE_MOST + 1] = {{0}};
    while (places < w->palette->count + 1)
        places *= 2;
    for (int p = 0; p < w->palette->count; p++)
        colour[p] =
            (GifColorType){w->palette->rgb[p][0], w->palette->rgb[p][1], w->palette->rgb[p][2]};
    w->gif = EGifOpen(w, append, &error);
    ColorMapObject *map = GifMakeMapObject(places, colour);
    tl_status status = w->gif && map ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK) {
        EGifSetGifVersion(w->gif, true);
        if (EGifPutScreenDesc(w->gif, w->film->width, w->film->height, 8, 0, map) != GIF_OK)
            status = failure(w);
    }
    GifFreeMapObject(map);
    return status;
}

/* The widely read application extension for repeating: sub-block 1, then how often, 0 for ever. */
static tl_status put_loop(writer *w) {
    static const char name[] = "NETSCAPE2.0"; /* as readers look for it */
    static const unsigned char forever[] = {1, 0, 0};
    const bool good = EGifPutExtensionLeader(w->gif, APPLICATION_EXT_FUNC_CODE) == GIF_OK &&
                      EGifPutExtensionBlock(w->gif, sizeof name - 1, name) == GIF_OK &&
                      EGifPutExtensionBlock(w->gif, sizeof forever, forever) == GIF_OK &&
                      EGifPutExtensionTrailer(w->gif) == GIF_OK;
    return good ? TL_OK : failure(w);
}

/* The least rectangle that holds what changes; a pixel where nothing does. */
static area changed_area(const writer *w) {
    const int width = w->film->width, height = w->film->height;
    area a = {width, height, 0, 0};
    for (int y = 0; y < height; y++) {
        const unsigned char *before = w->shown + (size_t)y * (size_t)width;
        const unsigned char *after = w->next + (size_t)y * (size_t)width;
        int left = 0, right = width;
        while (left < width && before[left] == after[left])
            left++;
        if (left == width)
            continue;
        while (before[right - 1] == after[right - 1])
            right--;
        a.left = left < a.left ? left : a.left;
        a.right = right > a.right ? right : a.right;
        a.top = y < a.top ? y : a.top;
        a.bottom = y + 1;
    }
    return a.right > 0 ? a : (area){0, 0, 1, 1};
}

static tl_status put_control(writer *w, size_t k) {
    const GraphicsControlBlock control = {
        .DisposalMode = DISPOSE_DO_NOT,
        .DelayTime = w->film->hold_cs(w->film->context, k),
        .TransparentColor = k == 0 ? NO_TRANSPARENT_COLOR : transparent(w),
    };
    GifByteType block[4];
    if (control.DelayTime < 0 || control.DelayTime > HOLD_MOST_CS)
        return TL_ERR_ARGUMENT;
    const size_t size = EGifGCBToExtension(&control, block);
    return EGifPutExtension(w->gif, GRAPHICS_EXT_FUNC_CODE, (int)size, block) == GIF_OK
               ? TL_OK
               : failure(w);
}

/* Long runs of what is seen already are passed over. */
static void hide_unchanged(const writer *w, const unsigned char *before, int width) {
    for (int x = 0; x < width;) {
        int run = 0;
        while (x + run < width && before[x + run] == w->line[x + run])
            run++;
        if (run >= RUN_LEAST)
            memset(w->line + x, transparent(w), (size_t)run);
        x += run + 1;
    }
}

static tl_status put_area(writer *w, size_t k, const area *a) {
    const int width = a->right - a->left;
    if (EGifPutImageDesc(w->gif, a->left, a->top, width, a->bottom - a->top, false, NULL) != GIF_OK)
        return failure(w);
    for (int y = a->top; y < a->bottom; y++) {
        const size_t at = (size_t)y * (size_t)w->film->width + (size_t)a->left;
        memcpy(w->line, w->next + at, (size_t)width);
        if (k > 0)
            hide_unchanged(w, w->shown + at, width);
        if (EGifPutLine(w->gif, w->line, width) != GIF_OK)
            return failure(w);
    }
    return TL_OK;
}

static bool same(const unsigned char *p, const unsigned char *q) {
    return p[0] == q[0] && p[1] == q[1] && p[2] == q[2];
}

/* Pixels that stay as they were are not looked up again, most rows not looked at. */
static void find_places(writer *w, size_t k) {
    const size_t width = (size_t)w->film->width;
    for (int y = 0; y < w->film->height; y++) {
        const unsigned char *before = w->before + 3 * (size_t)y * width;
        const unsigned char *after = w->rgb + 3 * (size_t)y * width;
        const unsigned char *shown = w->shown + (size_t)y * width;
        unsigned char *next = w->next + (size_t)y * width;
        const bool first = k == 0;
        if (!first)
            memcpy(next, shown, width);
        if (!first && memcmp(before, after, 3 * width) == 0)
            continue;
        for (int x = 0; x < w->film->width; x++)
            if (first || !same(before + 3 * x, after + 3 * x))
                next[x] = tl_report_dither_place(w->dither, after + 3 * x, x, y);
    }
}

static void swap(unsigned char **a, unsigned char **b) {
    unsigned char *kept = *a;
    *a = *b;
    *b = kept;
}

static tl_status put_frame(writer *w, size_t k) {
    tl_status status = w->film->frame(w->film->context, k, w->rgb);
    if (status != TL_OK)
        return status;
    find_places(w, k);
    const area whole = {0, 0, w->film->width, w->film->height};
    const area a = k == 0 ? whole : changed_area(w);
    status = put_control(w, k);
    if (status == TL_OK)
        status = put_area(w, k, &a);
    swap(&w->shown, &w->next);
    swap(&w->before, &w->rgb);
    return status;
}

static tl_status set_up(writer *w) {
    const size_t pixels = (size_t)w->film->width * (size_t)w->film->height;
    w->dither = tl_report_dither_make(w->palette);
    w->before = malloc(3 * pixels);
    w->rgb = malloc(3 * pixels);
    w->shown = malloc(pixels);
    w->next = malloc(pixels);
    w->line = malloc((size_t)w->film->width);
    if (!w->dither || !w->before || !w->rgb || !w->shown || !w->next || !w->line)
        return TL_ERR_MEMORY;
    return start(w);
}

/* Also puts the last byte, of which giflib does not say whether it could be put. */
static tl_status close_file(writer *w, tl_status status) {
    int error = 0;
    if (w->gif && (EGifCloseFile(w->gif, &error) != GIF_OK || !taken(w)) && status == TL_OK)
        status = failure(w);
    tl_report_dither_free(w->dither);
    free(w->before);
    free(w->rgb);
    free(w->shown);
    free(w->next);
    free(w->line);
    return status;
}

/* A quarter of the frames took half of the room. */
static bool hopeless(const writer *w, size_t k) {
    return k + 1 == w->film->count / 4 && w->bytes.length > w->most / 2;
}

tl_status tl_report_gif(const tl_report_film *film, const tl_report_palette *palette, size_t most,
                        tl_report_text *bytes) {
    if (film->width < 1 || film->width > SIDE_MOST || film->height < 1 ||
        film->height > SIDE_MOST || film->count < 1 || palette->count < 1 ||
        palette->count > TL_REPORT_PALETTE_MOST)
        return TL_ERR_ARGUMENT;
    writer w = {.film = film, .palette = palette, .most = most};
    tl_status status = set_up(&w);
    if (status == TL_OK)
        status = put_loop(&w);
    for (size_t k = 0; k < film->count && status == TL_OK; k++) {
        status = put_frame(&w, k);
        if (status == TL_OK && hopeless(&w, k))
            status = TL_ERR_TOO_LARGE;
    }
    status = close_file(&w, status);
    if (status == TL_OK) {
        tl_report_text_bytes(bytes, w.bytes.data, w.bytes.length);
        status = bytes->failed ? TL_ERR_MEMORY : TL_OK;
    }
    tl_report_text_free(&w.bytes);
    return status;
}
