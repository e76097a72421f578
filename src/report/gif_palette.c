/*
 * gif_palette.c - at most 255 colours for all frames of a film.
 */
#include <limits.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#include "report/gif_internal.h"

/* Colours are counted in cells of 4 codes of 255 a side, with their means. */
enum { CELL_BITS = 6, CELLS = 1 << (3 * CELL_BITS) };
enum { REFINEMENTS = 3 }; /* of the means; more change a code here and there */

/* How much a step of red, green, blue is seen: rounded from their shares of lightness (ITU-R
 * BT.601), blue not quite neglected. */
static const int weight[3] = {2, 4, 1};

typedef struct cell {
    uint64_t count, sum[3];
} cell;

typedef struct colour {
    double rgb[3], share;
} colour;

/* Colours first .. first + count - 1. */
typedef struct box {
    size_t first, count;
    int axis;     /* along which it is widest */
    double width; /* sum of squares along it */
} box;

static size_t cell_of(const unsigned char *rgb) {
    const int drop = 8 - CELL_BITS;
    return (size_t)(rgb[0] >> drop) << (2 * CELL_BITS) | (size_t)(rgb[1] >> drop) << CELL_BITS |
           (size_t)(rgb[2] >> drop);
}

static tl_status count_colours(const tl_report_film *film, cell *cells) {
    const size_t pixels = (size_t)film->width * (size_t)film->height;
    unsigned char *rgb = malloc(3 * pixels);
    tl_status status = rgb ? TL_OK : TL_ERR_MEMORY;
    for (size_t k = 0; k < film->count && status == TL_OK; k++) {
        status = film->frame(film->context, k, rgb);
        for (size_t i = 0; i < pixels && status == TL_OK; i++) {
            cell *c = &cells[cell_of(rgb + 3 * i)];
            c->count++;
            for (int axis = 0; axis < 3; axis++)
                c->sum[axis] += rgb[3 * i + (size_t)axis];
        }
    }
    free(rgb);
    return status;
}

/* Those that occur; owned by the caller. NULL if there is no memory. */
static colour *list_colours(const cell *cells, size_t *count) {
    size_t n = 0;
    for (size_t i = 0; i < CELLS; i++)
        n += cells[i].count > 0;
    colour *list = malloc(n * sizeof *list);
    if (!list)
        return NULL;
    *count = n;
    n = 0;
    for (size_t i = 0; i < CELLS; i++) {
        const cell *c = &cells[i];
        const double seen = (double)c->count;
        if (c->count > 0)
            list[n++] = (colour){.rgb = {(double)c->sum[0] / seen, (double)c->sum[1] / seen,
                                         (double)c->sum[2] / seen},
                                 .share = sqrt(seen)};
    }
    return list;
}

static box measured_box(const colour *list, size_t first, size_t count) {
    box made = {.first = first, .count = count};
    for (int axis = 0; axis < 3; axis++) {
        double share = 0.0, sum = 0.0, squares = 0.0;
        for (size_t i = first; i < first + count; i++) {
            const double value = list[i].rgb[axis];
            share += list[i].share;
            sum += list[i].share * value;
            squares += list[i].share * value * value;
        }
        const double width = count < 2 ? 0.0 : weight[axis] * (squares - sum * sum / share);
        if (width > made.width) {
            made.width = width;
            made.axis = axis;
        }
    }
    return made;
}

static int by_red(const void *a, const void *b) {
    const double p = ((const colour *)a)->rgb[0], q = ((const colour *)b)->rgb[0];
    return (p > q) - (p < q);
}

static int by_green(const void *a, const void *b) {
    const double p = ((const colour *)a)->rgb[1], q = ((const colour *)b)->rgb[1];
    return (p > q) - (p < q);
}

static int by_blue(const void *a, const void *b) {
    const double p = ((const colour *)a)->rgb[2], q = ((const colour *)b)->rgb[2];
    return (p > q) - (p < q);
}

/* How many of a box's colours, in order along its axis, go into the first of two boxes, so that
 * these are least wide together: the product of shares and squared distance of means is largest. */
static size_t best_cut(const colour *list, const box *whole) {
    double share = 0.0, sum = 0.0, left = 0.0, left_sum = 0.0, best = -1.0;
    size_t cut = 1;
    const colour *c = list + whole->first;
    for (size_t i = 0; i < whole->count; i++) {
        share += c[i].share;
        sum += c[i].share * c[i].rgb[whole->axis];
    }
    for (size_t i = 0; i + 1 < whole->count; i++) {
        left += c[i].share;
        left_sum += c[i].share * c[i].rgb[whole->axis];
        const double right = share - left, apart = left_sum / left - (sum - left_sum) / right;
        if (left * right * apart * apart > best) {
            best = left * right * apart * apart;
            cut = i + 1;
        }
    }
    return cut;
}

static int split_boxes(colour *list, size_t count, box *boxes) {
    static int (*const order[3])(const void *, const void *) = {by_red, by_green, by_blue};
    int made = 1;
    boxes[0] = measured_box(list, 0, count);
    while (made < TL_REPORT_PALETTE_MOST) {
        box *widest = &boxes[0];
        for (int b = 1; b < made; b++)
            if (boxes[b].width > widest->width)
                widest = &boxes[b];
        if (!(widest->width > 0.0))
            break;
        const box whole = *widest;
        qsort(list + whole.first, whole.count, sizeof *list, order[whole.axis]);
        const size_t cut = best_cut(list, &whole);
        *widest = measured_box(list, whole.first, cut);
        boxes[made++] = measured_box(list, whole.first + cut, whole.count - cut);
    }
    return made;
}

static int lightness(const unsigned char rgb[3]) {
    return weight[0] * rgb[0] + weight[1] * rgb[1] + weight[2] * rgb[2];
}

static int distance(const unsigned char p[3], const unsigned char q[3]) {
    int sum = 0;
    for (int axis = 0; axis < 3; axis++)
        sum += weight[axis] * (p[axis] - q[axis]) * (p[axis] - q[axis]);
    return sum;
}

/* The first that is not darker. */
static int first_lighter(const tl_report_palette *palette, int light) {
    int low = 0, high = palette->count;
    while (low < high) {
        const int middle = (low + high) / 2;
        if (lightness(palette->rgb[middle]) < light)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

/* Outwards from the same lightness: colours whose lightness differs by d are at least d^2 / (sum of
 * weights) apart (Cauchy and Schwarz). */
int tl_report_palette_nearest(const tl_report_palette *palette, const unsigned char rgb[3]) {
    const int all = weight[0] + weight[1] + weight[2], light = lightness(rgb);
    const int middle = first_lighter(palette, light);
    int best = 0, least = INT_MAX;
    for (int way = -1; way <= 1; way += 2)
        for (int p = way < 0 ? middle - 1 : middle; p >= 0 && p < palette->count; p += way) {
            const int apart = lightness(palette->rgb[p]) - light;
            if (apart * apart / all >= least)
                break;
            const int d = distance(palette->rgb[p], rgb);
            if (d < least) {
                least = d;
                best = p;
            }
        }
    return best;
}

static void add_colour(double mean[4], const colour *c) {
    for (int axis = 0; axis < 3; axis++)
        mean[axis] += c->share * c->rgb[axis];
    mean[3] += c->share;
}

/* An empty mean leaves the colour as it was. */
static void set_colour(const double mean[4], unsigned char rgb[3]) {
    for (int axis = 0; axis < 3 && mean[3] > 0.0; axis++)
        rgb[axis] = (unsigned char)lround(mean[axis] / mean[3]);
}

static void refine(const colour *list, size_t count, tl_report_palette *palette) {
    double mean[TL_REPORT_PALETTE_MOST][4] = {{0.0}};
    for (size_t i = 0; i < count; i++) {
        unsigned char rgb[3];
        for (int axis = 0; axis < 3; axis++)
            rgb[axis] = (unsigned char)lround(list[i].rgb[axis]);
        add_colour(mean[tl_report_palette_nearest(palette, rgb)], &list[i]);
    }
    for (int p = 0; p < palette->count; p++)
        set_colour(mean[p], palette->rgb[p]);
}

static int by_lightness(const void *a, const void *b) {
    return lightness(a) - lightness(b);
}

static void sort(tl_report_palette *palette) {
    qsort(palette->rgb, (size_t)palette->count, sizeof palette->rgb[0], by_lightness);
}

static void choose(colour *list, size_t count, tl_report_palette *palette) {
    box boxes[TL_REPORT_PALETTE_MOST];
    palette->count = split_boxes(list, count, boxes);
    for (int p = 0; p < palette->count; p++) {
        double mean[4] = {0.0};
        for (size_t i = 0; i < boxes[p].count; i++)
            add_colour(mean, &list[boxes[p].first + i]);
        set_colour(mean, palette->rgb[p]);
    }
    sort(palette);
    for (int n = 0; n < REFINEMENTS; n++) {
        refine(list, count, palette);
        sort(palette);
    }
}

tl_status tl_report_palette_make(const tl_report_film *film, tl_report_palette *palette) {
    cell *cells = calloc(CELLS, sizeof *cells);
    colour *list = NULL;
    size_t count = 0;
    tl_status status = cells ? count_colours(film, cells) : TL_ERR_MEMORY;
    if (status == TL_OK) {
        list = list_colours(cells, &count);
        status = list ? TL_OK : TL_ERR_MEMORY;
    }
    if (status == TL_OK) {
        tl_report_palette made = {0};
        choose(list, count, &made);
        *palette = made;
    }
    free(list);
    free(cells);
    return status;
}
