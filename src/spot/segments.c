/*
 * segments.c - dark places, each grown from its deepest pixel outwards.
 *
 * Pixels are taken in order of contrast. One that touches no place yet begins one; where two
 * places meet they become one unless both are deep compared with the saddle between them.
 */
#include <math.h>
#include <stdlib.h>

#include "spot/spot_internal.h"

/* A mark must stand out by this many sigma: a disc has 1e5 independent places, and grain, dapples
 * and JPEG blocks have longer tails than a Gaussian (drawn phone pictures: up to 5.4); and by this
 * contrast, which haze, dapples of vignetting and the tone steps of 8-bit files stay below
 * (measured on drawn frames without spots). */
#define SEED_SIGMAS 6.0
#define SEED_MIN 0.025
/* Down to this it is followed outwards; common practice, no source. */
#define GROW_SIGMAS 2.5
#define GROW_MIN 0.012
/* Nor below this share of its peak, where it is more the background's error than the spot. */
#define GROW_SHARE 0.06
/* Two places stay two when the saddle between them is this far below the lower one's peak. */
#define SADDLE_SHARE 0.35
#define SADDLE_SIGMAS 3.0

typedef struct place {
    float contrast;
    int index;
} place;

static int deeper_first(const void *a, const void *b) {
    const place *p = a, *q = b;
    if (p->contrast != q->contrast)
        return p->contrast > q->contrast ? -1 : 1;
    return p->index < q->index ? -1 : p->index > q->index;
}

/* Those above the lower threshold, deepest first; NULL: no memory. */
static place *gather(const tl_spot_field *f, size_t *count) {
    const int width = f->light.width;
    size_t room = 1024, n = 0;
    place *list = malloc(room * sizeof *list);
    for (int y = 0; list && y < f->light.height; y++) {
        for (int x = 0; x < width; x++) {
            const int i = y * width + x;
            if (!((double)f->smooth[i] > GROW_MIN) || f->state[i] != TL_SPOT_PX_DISC ||
                (double)f->smooth[i] < GROW_SIGMAS * tl_spot_noise_at(f, x, y))
                continue;
            if (n == room) {
                place *more = realloc(list, 2 * room * sizeof *list);
                if (more == NULL) {
                    free(list);
                    return NULL;
                }
                list = more;
                room *= 2;
            }
            list[n++] = (place){f->smooth[i], i};
        }
    }
    if (list)
        qsort(list, n, sizeof *list, deeper_first);
    *count = n;
    return list;
}

/* Places that became one: `into[k]` leads to the one they became. */
typedef struct grown {
    int *into, *peak; /* owned */
    size_t count;
} grown;

static int root_of(const grown *g, int k) {
    while (g->into[k] != k)
        k = g->into[k] = g->into[g->into[k]];
    return k;
}

static bool stays_apart(const tl_spot_field *f, int peak, double saddle) {
    const double top = (double)f->smooth[peak];
    const double noise = tl_spot_noise_at(f, peak % f->light.width, peak / f->light.width);
    return top - saddle > fmax(SADDLE_SHARE * top, SADDLE_SIGMAS * noise);
}

static void grow(const tl_spot_field *f, const place *list, size_t count, int *label, grown *g) {
    const int width = f->light.width, height = f->light.height;
    for (size_t n = 0; n < count; n++) {
        const int at = list[n].index, x = at % width, y = at / width;
        const int below = y + 1 < height ? 1 : 0, right = x + 1 < width ? 1 : 0;
        int mine = -1;
        for (int v = y > 0 ? -1 : 0; v <= below; v++) {
            for (int u = x > 0 ? -1 : 0; u <= right; u++) {
                const int near = at + v * width + u;
                if (label[near] == 0)
                    continue;
                const int other = root_of(g, label[near] - 1);
                if (mine < 0 || other == mine) {
                    mine = other;
                    continue;
                }
                const bool higher = f->smooth[g->peak[other]] > f->smooth[g->peak[mine]];
                const int top = higher ? other : mine, low = higher ? mine : other;
                mine = top;
                if (!stays_apart(f, g->peak[low], (double)list[n].contrast))
                    g->into[low] = top;
            }
        }
        if (mine < 0) {
            mine = (int)g->count++;
            g->into[mine] = mine;
            g->peak[mine] = at;
        }
        label[at] = mine + 1;
    }
}

static bool stands_out(const tl_spot_field *f, int peak) {
    const double noise = tl_spot_noise_at(f, peak % f->light.width, peak / f->light.width);
    return (double)f->smooth[peak] >= fmax(SEED_SIGMAS * noise, SEED_MIN);
}

/* Number the places that stand out, and order the pixels by place. */
static void collect(const tl_spot_field *f, const place *list, size_t count, grown *g,
                    tl_spot_segments *s) {
    s->count = 0;
    for (size_t k = 0; k < g->count; k++)
        if (g->into[k] == (int)k && stands_out(f, g->peak[k]))
            s->segment[s->count++] = (tl_spot_segment){.peak = g->peak[k]};
    /* from here on peak[k] is the number of the segment, -1: none */
    for (size_t k = 0, next = 0; k < g->count; k++)
        g->peak[k] = g->into[k] == (int)k && next < s->count && s->segment[next].peak == g->peak[k]
                         ? (int)next++
                         : -1;
    for (size_t n = 0; n < count; n++) {
        const int at = list[n].index, segment = g->peak[root_of(g, s->label[at] - 1)];
        s->label[at] = segment + 1;
        if (segment >= 0)
            s->segment[segment].count++;
    }
    size_t first = 0;
    for (size_t k = 0; k < s->count; k++) {
        s->segment[k].first = first;
        first += s->segment[k].count;
        s->segment[k].count = 0;
    }
    for (size_t n = 0; n < count; n++) {
        const int at = list[n].index;
        if (s->label[at] == 0)
            continue;
        tl_spot_segment *segment = &s->segment[s->label[at] - 1];
        if ((double)f->smooth[at] < GROW_SHARE * (double)f->smooth[segment->peak]) {
            s->label[at] = 0;
            continue;
        }
        s->index[segment->first + segment->count++] = at;
    }
}

tl_status tl_spot_segments_make(const tl_spot_field *f, tl_spot_segments *segments) {
    size_t count = 0;
    place *list = gather(f, &count);
    if (list == NULL)
        return TL_ERR_MEMORY;
    grown g = {calloc(count + 1, sizeof *g.into), calloc(count + 1, sizeof *g.peak), 0};
    tl_spot_segments s = {
        .label = calloc((size_t)f->light.width * (size_t)f->light.height, sizeof *s.label),
        .index = malloc((count + 1) * sizeof *s.index),
        .segment = calloc(count + 1, sizeof *s.segment)};
    const bool enough = g.into && g.peak && s.label && s.index && s.segment;
    if (enough) {
        grow(f, list, count, s.label, &g);
        collect(f, list, count, &g, &s);
        *segments = s;
    } else {
        tl_spot_segments_free(&s);
    }
    free(list);
    free(g.into);
    free(g.peak);
    return enough ? TL_OK : TL_ERR_MEMORY;
}

void tl_spot_segments_free(tl_spot_segments *segments) {
    free(segments->label);
    free(segments->index);
    free(segments->segment);
    *segments = (tl_spot_segments){0};
}
