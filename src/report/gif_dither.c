/*
 * gif_dither.c - pixels to places in a palette, so that gradients stay without steps.
 *
 * Each colour is mixed of palette colours in a pattern of 4 x 4 pixels that stays where it is, so
 * that what does not change from frame to frame gets the same pixels. The mix: T. Knoll's pattern
 * dithering (US patent 6606166, expired 2019): again and again the nearest colour to what is still
 * missing.
 */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "report/gif_internal.h"

/* Nearest colours are looked up by cells of 2 codes of 255 a side. */
enum { CELL_BITS = 7, CELLS = 1 << (3 * CELL_BITS) };
enum { NOT_LOOKED_UP = 0xFFFF };

enum { SIDE = 4, MIX = SIDE * SIDE };
/* B. Bayer, "An optimum method for two-level rendition of continuous-tone pictures", 1973. */
static const unsigned char rank[SIDE][SIDE] = {
    {0, 8, 2, 10}, {12, 4, 14, 6}, {3, 11, 1, 9}, {15, 7, 13, 5}};

/* How much of what is missing is made up for, of 8: all of it would mix in colours far off. */
enum { SHARE = 6 };

/* The mixes of colours met lately. */
enum { KEPT_BITS = 16, KEPT = 1 << KEPT_BITS, NO_COLOUR = 1 << 24 };
typedef struct mix {
    uint32_t colour;
    unsigned char place[MIX]; /* in order of lightness */
} mix;

struct tl_report_dither {
    const tl_report_palette *palette;
    uint16_t nearest[CELLS];
    mix kept[KEPT];
};

tl_report_dither *tl_report_dither_make(const tl_report_palette *palette) {
    tl_report_dither *made = malloc(sizeof *made);
    if (!made)
        return NULL;
    made->palette = palette;
    memset(made->nearest, 0xFF, sizeof made->nearest);
    for (size_t k = 0; k < KEPT; k++)
        made->kept[k].colour = NO_COLOUR;
    return made;
}

void tl_report_dither_free(tl_report_dither *dither) {
    free(dither);
}

static uint32_t cell_of(const unsigned char rgb[3]) {
    const int drop = 8 - CELL_BITS;
    return (uint32_t)(rgb[0] >> drop) << (2 * CELL_BITS) | (uint32_t)(rgb[1] >> drop) << CELL_BITS |
           (uint32_t)(rgb[2] >> drop);
}

static unsigned char nearest(tl_report_dither *d, const unsigned char rgb[3]) {
    const uint32_t cell = cell_of(rgb);
    if (d->nearest[cell] == NOT_LOOKED_UP) {
        unsigned char code[3]; /* black and white are at the outer ends of their cells */
        for (int axis = 0; axis < 3; axis++)
            code[axis] = (unsigned char)(rgb[axis] < 128 ? rgb[axis] & ~1 : rgb[axis] | 1);
        d->nearest[cell] = (uint16_t)tl_report_palette_nearest(d->palette, code);
    }
    return (unsigned char)d->nearest[cell];
}

static unsigned char clamped(int value) {
    return (unsigned char)(value < 0 ? 0 : value > 255 ? 255 : value);
}

/* Colours of a palette are in order of lightness. */
static void sort(unsigned char place[MIX]) {
    for (int i = 1; i < MIX; i++) {
        const unsigned char p = place[i];
        int k = i;
        for (; k > 0 && place[k - 1] > p; k--)
            place[k] = place[k - 1];
        place[k] = p;
    }
}

static void make_mix(tl_report_dither *d, const unsigned char *rgb, mix *made) {
    int missing[3] = {0};
    for (int i = 0; i < MIX; i++) {
        unsigned char wanted[3];
        for (int axis = 0; axis < 3; axis++)
            wanted[axis] = clamped(rgb[axis] + missing[axis] * SHARE / 8);
        made->place[i] = nearest(d, wanted);
        for (int axis = 0; axis < 3; axis++)
            missing[axis] += rgb[axis] - d->palette->rgb[made->place[i]][axis];
    }
    sort(made->place);
}

unsigned char tl_report_dither_place(tl_report_dither *dither, const unsigned char *rgb, int x,
                                     int y) {
    const uint32_t colour = (uint32_t)rgb[0] << 16 | (uint32_t)rgb[1] << 8 | rgb[2];
    mix *m = &dither->kept[colour * 2654435769u >> (32 - KEPT_BITS)]; /* 2^32 / golden ratio */
    if (m->colour != colour) {
        make_mix(dither, rgb, m);
        m->colour = colour;
    }
    return m->place[rank[y % SIDE][x % SIDE]];
}
