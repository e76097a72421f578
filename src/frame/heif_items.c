/*
 * heif_items.c - the data of the items of a file (ISO/IEC 14496-12, 8.11.3 and 8.11.11).
 *
 * A broken file may hold several boxes of a kind, at odd places, and libraries differ in which they
 * take. So boxes are found by their names alone, wherever they stand, and all of them count.
 */
#include <stdlib.h>
#include <string.h>

#include "frame/heif_internal.h"

/* Items that share their data hold more than the file; no honest file does several times over. So
 * much is read in all, each item and extent counted as a byte at least. */
enum { DATA_OVER_FILE = 4 };
/* Item data boxes; a file has one for each box of meta data. */
enum { BOXES_MAX = 16, NAME_SIZE = 4 };

typedef struct file {
    const unsigned char *bytes;
    size_t size, left; /* `left`: bytes that may still be read */
    size_t box[BOXES_MAX];
    int boxes;
    tl_heif_look *look;
    void *context;
} file;

/* How many bytes each number of an item location box has, and the box's version. */
typedef struct widths {
    unsigned version, offset, length, base, index;
} widths;

/* The data of an item that has been put together so far. */
typedef struct data {
    unsigned char *bytes; /* free() */
    size_t size, room;
} data;

static uint64_t take(tl_heif_bits *b, unsigned bytes) {
    return tl_heif_number(b, 8 * bytes);
}

static bool ended(const tl_heif_bits *b) {
    return b->at / 8 > b->size;
}

static bool spend(file *f, size_t bytes) {
    const bool enough = bytes <= f->left;
    f->left -= enough ? bytes : f->left;
    return enough;
}

static bool append(file *f, data *d, uint64_t from, uint64_t count) {
    if (from >= f->size)
        return true; /* outside of the file: the library says so */
    const size_t most = f->size - (size_t)from;
    const size_t taken = count == 0 || count > most ? most : (size_t)count; /* 0: to the end */
    if (!spend(f, taken))
        return false;
    if (d->bytes == NULL || d->size + taken > d->room) {
        unsigned char *roomier = realloc(d->bytes, 2 * (d->size + taken));
        if (roomier == NULL)
            return false;
        d->bytes = roomier;
        d->room = 2 * (d->size + taken);
    }
    memcpy(d->bytes + d->size, f->bytes + from, taken);
    d->size += taken;
    return true;
}

static bool append_from_boxes(file *f, data *d, uint64_t from, uint64_t count) {
    for (int i = 0; i < f->boxes; i++)
        if (from <= f->size && !append(f, d, f->box[i] + from, count))
            return false;
    return true;
}

static bool look_at_item(file *f, tl_heif_bits *b, const widths *w) {
    enum { IN_FILE = 0, IN_BOX = 1 };
    data d = {0};
    const uint64_t item = take(b, w->version < 2 ? 2 : 4);
    const unsigned method = w->version > 0 ? (unsigned)take(b, 2) & 15U : IN_FILE;
    take(b, 2); /* which file: this one */
    const uint64_t base = take(b, w->base);
    bool good = true;
    for (uint64_t extents = take(b, 2); good && extents > 0 && !ended(b); extents--) {
        good = spend(f, 1);
        take(b, w->index);
        const uint64_t from = base + take(b, w->offset), count = take(b, w->length);
        if (good && method == IN_FILE)
            good = append(f, &d, from, count);
        else if (good && method == IN_BOX)
            good = append_from_boxes(f, &d, from, count);
    }
    good = good && (d.size == 0 || f->look(item, d.bytes, d.size, f->context));
    free(d.bytes);
    return good;
}

static bool look_at_items(file *f, const unsigned char *box) {
    tl_heif_bits b = {box, (size_t)(f->bytes + f->size - box), 0};
    widths w = {.version = (unsigned)take(&b, 1)};
    take(&b, 3);
    w.offset = (unsigned)tl_heif_number(&b, 4);
    w.length = (unsigned)tl_heif_number(&b, 4);
    w.base = (unsigned)tl_heif_number(&b, 4);
    w.index = (unsigned)tl_heif_number(&b, 4);
    if (w.version == 0)
        w.index = 0;
    if (w.offset > 8 || w.length > 8 || w.base > 8 || w.index > 8)
        return true; /* no such box */
    for (uint64_t items = take(&b, w.version < 2 ? 2 : 4); items > 0 && !ended(&b); items--)
        if (!spend(f, 1) || !look_at_item(f, &b, &w))
            return false;
    return true;
}

bool tl_heif_each_item(const unsigned char *bytes, size_t size, tl_heif_look *look, void *context) {
    file f = {.bytes = bytes, .size = size, .left = DATA_OVER_FILE * size};
    f.look = look;
    f.context = context;
    for (size_t i = 0; i + NAME_SIZE <= size; i++) {
        if (memcmp(bytes + i, "idat", NAME_SIZE) != 0)
            continue;
        if (f.boxes == BOXES_MAX)
            return false;
        f.box[f.boxes++] = i + NAME_SIZE;
    }
    for (size_t i = 0; i + NAME_SIZE <= size; i++)
        if (memcmp(bytes + i, "iloc", NAME_SIZE) == 0 && !look_at_items(&f, bytes + i + NAME_SIZE))
            return false;
    return true;
}
