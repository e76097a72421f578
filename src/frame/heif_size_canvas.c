/*
 * heif_size_canvas.c - how large a canvas a file asks for, to put its tiles on (ISO/IEC 23008-12,
 * 6.6.2.3, a grid) or to lay pictures over each other (6.6.2.2).
 *
 * An item information entry (ISO/IEC 14496-12, 8.11.6) tells which items these are.
 */
#include <string.h>

#include "frame/heif_internal.h"

/* A phone's file has a grid for the picture and one for each map that goes with it. */
enum { CANVASES_MAX = 64, NAME_SIZE = 4 };

typedef struct canvases {
    uint64_t pixels_max;
    struct {
        uint64_t item;
        size_t sizes_at; /* where in its data width and height are */
    } canvas[CANVASES_MAX];
    int count;
} canvases;

/* Version and flags; then rows and columns, or a colour. */
enum { GRID_SIZES_AT = 4, OVERLAY_SIZES_AT = 10, LARGE_FIELDS = 1 };

/* False: too many of them. */
static bool add_entry(canvases *c, const unsigned char *entry, size_t size) {
    enum { FIXED_SIZE = 4, PROTECTION_SIZE = 2 };
    tl_heif_bits b = {entry, size, 0};
    const uint64_t version = tl_heif_number(&b, 8);
    const size_t number_size = version < 3 ? 2 : 4;
    const size_t type_at = FIXED_SIZE + number_size + PROTECTION_SIZE;
    if (version < 2 || size < type_at + NAME_SIZE)
        return true; /* of no type */
    const bool is_grid = memcmp(entry + type_at, "grid", NAME_SIZE) == 0;
    if (!is_grid && memcmp(entry + type_at, "iovl", NAME_SIZE) != 0)
        return true;
    if (c->count == CANVASES_MAX)
        return false;
    tl_heif_skip(&b, 24);
    c->canvas[c->count].item = tl_heif_number(&b, (unsigned)(8 * number_size));
    c->canvas[c->count++].sizes_at = is_grid ? GRID_SIZES_AT : OVERLAY_SIZES_AT;
    return true;
}

static bool look_at_canvas(uint64_t item, const unsigned char *data, size_t size, void *context) {
    const canvases *c = context;
    for (int i = 0; i < c->count; i++) {
        if (c->canvas[i].item != item || size < 2)
            continue;
        tl_heif_bits b = {data, size, 8 * c->canvas[i].sizes_at};
        const unsigned bits = (data[1] & LARGE_FIELDS) != 0 ? 32 : 16;
        const uint64_t width = tl_heif_number(&b, bits), height = tl_heif_number(&b, bits);
        if (!tl_heif_is_within(width, height, c->pixels_max))
            return false;
    }
    return true;
}

bool tl_heif_canvas_is_modest(const unsigned char *bytes, size_t size, uint64_t pixels_max) {
    canvases c = {.pixels_max = pixels_max};
    for (size_t i = 0; i + NAME_SIZE < size; i++)
        if (memcmp(bytes + i, "infe", NAME_SIZE) == 0 &&
            !add_entry(&c, bytes + i + NAME_SIZE, size - i - NAME_SIZE))
            return false;
    return c.count == 0 || tl_heif_each_item(bytes, size, look_at_canvas, &c);
}
