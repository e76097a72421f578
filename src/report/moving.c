/*
 * moving.c - the photographs one after the other, discs on each other.
 */
#include <stdlib.h>

#include "report/film_internal.h"

/* 1/100 s: one pace, slower where there is most to see. Our own choice. */
enum { HOLD = 50, HOLD_FIRST = 120, HOLD_DEEPEST = 160, HOLD_LAST = 220 };

/* The colours are chosen from that many pictures of that size. */
enum { SAMPLE_FRAMES = 8, SAMPLE_SIDE = 240 };

enum { MOST_FRAMES = 60 };

typedef struct moving {
    const tl_report_source *source;
    tl_report_up up;
    tl_report_plates shown; /* those of use; item owned */
    size_t *chosen;         /* of them; owned */
    size_t count, deepest;
    tl_report_strip strip;
} moving;

static const tl_report_plate *plate_of(const moving *m, size_t k) {
    return &m->shown.item[m->chosen[k]];
}

static size_t find_deepest(const moving *m) {
    size_t deepest = m->count;
    double most = 0.0;
    for (size_t k = 0; k < m->count; k++) {
        const tl_report_strip_words words = tl_report_strip_words_of(m->source, plate_of(m, k));
        if (words.has_covered && words.obscuration > most) {
            most = words.obscuration;
            deepest = k;
        }
    }
    return deepest;
}

/* Which way is up in all of them, as far as it is known. */
static const char *up_of(const moving *m) {
    bool open = false;
    for (size_t k = 0; k < m->count; k++)
        open = open || plate_of(m, k)->turned == TL_REPORT_HAND_OPEN;
    if (m->shown.turned_count == 0)
        return "turned as taken";
    if (m->up == TL_REPORT_ZENITH_UP)
        return open ? "zenith up, perhaps mirrored" : "zenith up";
    return open ? "north up, perhaps mirrored" : "north up";
}

static void free_moving(moving *m) {
    tl_report_plates_free(&m->shown);
    free(m->chosen);
}

static bool make_moving(const tl_report_source *source, tl_report_up up, int side, size_t wanted,
                        moving *m) {
    const tl_report_plates *all = &source->plates;
    *m = (moving){.source = source, .up = up};
    m->chosen = calloc(all->count + 1, sizeof *m->chosen);
    if (!m->chosen || tl_report_film_plates(all, &m->shown) != TL_OK) {
        free_moving(m);
        return false;
    }
    m->count = tl_report_plates_spread(&m->shown, up, wanted, m->chosen);
    m->deepest = find_deepest(m);
    m->strip = tl_report_strip_make(source, side, &m->shown);
    m->strip.up = up_of(m);
    return true;
}

static tl_status frame(void *context, size_t k, unsigned char *rgb) {
    const moving *m = context;
    const int side = m->strip.side_px;
    const tl_report_strip_words words = tl_report_strip_words_of(m->source, plate_of(m, k));
    const tl_status status = tl_report_film_plate(m->source, plate_of(m, k), m->up, side, rgb);
    if (status != TL_OK)
        return status;
    return tl_report_strip_pixels(&m->strip, &words, rgb + 3 * (size_t)side * (size_t)side);
}

static int hold_cs(void *context, size_t k) {
    const moving *m = context;
    return k + 1 == m->count ? HOLD_LAST
           : k == m->deepest ? HOLD_DEEPEST
           : k == 0          ? HOLD_FIRST
                             : HOLD;
}

static tl_report_film film_of(moving *m) {
    const int side = m->strip.side_px;
    return (tl_report_film){side, side + tl_report_strip_height(side), m->count, frame, hold_cs, m};
}

static tl_status choose_colours(const tl_report_source *source, tl_report_up up,
                                tl_report_palette *palette) {
    moving m;
    if (!make_moving(source, up, SAMPLE_SIDE, SAMPLE_FRAMES, &m))
        return TL_ERR_MEMORY;
    const tl_report_film film = film_of(&m);
    const tl_status status = tl_report_palette_make(&film, palette);
    free_moving(&m);
    return status;
}

static tl_status make_film(const tl_report_source *source, tl_report_up up, int side, size_t wanted,
                           const tl_report_palette *palette, tl_report_text *gif) {
    moving m;
    if (!make_moving(source, up, side, wanted, &m))
        return TL_ERR_MEMORY;
    const tl_report_film film = film_of(&m);
    const tl_status status = tl_report_gif(&film, palette, TL_REPORT_FILM_BYTES, gif);
    free_moving(&m);
    return status;
}

tl_status tl_report_moving(const tl_report_source *source, tl_report_up up, tl_report_text *gif) {
    static const struct {
        int side;
        size_t wanted;
    } size[] = {{720, MOST_FRAMES},
                {600, MOST_FRAMES},
                {480, MOST_FRAMES},
                {360, MOST_FRAMES},
                {360, MOST_FRAMES / 2}}; /* the last fits whatever the pictures show */
    tl_report_palette palette;
    if (!tl_report_has_moving(&source->plates, up))
        return TL_OK;
    tl_status status = choose_colours(source, up, &palette);
    if (status != TL_OK)
        return status;
    status = TL_ERR_TOO_LARGE;
    for (size_t i = 0; i < sizeof size / sizeof *size && status == TL_ERR_TOO_LARGE; i++)
        status = make_film(source, up, size[i].side, size[i].wanted, &palette, gif);
    return status;
}
