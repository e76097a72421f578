/* Bright regions of a plane and the points of their borders. */
#include <math.h>
#include <stdlib.h>

#include "limb/limb_internal.h"

/* Flood one region from a seed; `stack` has room for every pixel of the plane. */
static tl_region flood(const tl_plane *plane, double threshold, int label, size_t seed, int *map,
                       size_t *stack) {
    int width = plane->width, height = plane->height;
    tl_region region = {.label = label, .left = width, .top = height, .right = -1, .bottom = -1};
    size_t depth = 0;
    stack[depth++] = seed;
    map[seed] = label;
    while (depth > 0) {
        size_t at = stack[--depth];
        int x = (int)(at % (size_t)width), y = (int)(at / (size_t)width);
        region.area++;
        if (x < region.left)
            region.left = x;
        if (x > region.right)
            region.right = x;
        if (y < region.top)
            region.top = y;
        if (y > region.bottom)
            region.bottom = y;
        const size_t next[4] = {at - 1, at + 1, at - (size_t)width, at + (size_t)width};
        const bool inside[4] = {x > 0, x<width - 1, y> 0, y < height - 1};
        for (int i = 0; i < 4; i++) {
            if (!inside[i] || map[next[i]] != 0)
                continue;
            if ((double)plane->value[next[i]] < threshold)
                continue;
            map[next[i]] = label;
            stack[depth++] = next[i];
        }
    }
    return region;
}

tl_status tl_limb_regions_find(const tl_plane *plane, double threshold, size_t area_min,
                               tl_region_map *out) {
    size_t pixels = (size_t)plane->width * (size_t)plane->height;
    size_t room = 64;
    tl_region_map map = {.label = calloc(pixels, sizeof *map.label),
                         .region = malloc(room * sizeof *map.region)};
    size_t *stack = malloc(pixels * sizeof *stack);
    tl_status status = TL_ERR_MEMORY;
    if (!map.label || !map.region || !stack)
        goto end;
    int label = 0;
    for (size_t i = 0; i < pixels; i++) {
        if (map.label[i] != 0 || (double)plane->value[i] < threshold)
            continue;
        tl_region region = flood(plane, threshold, ++label, i, map.label, stack);
        if (region.area < area_min)
            continue;
        if (map.count == room) {
            tl_region *more = realloc(map.region, 2 * room * sizeof *more);
            if (!more)
                goto end;
            map.region = more;
            room *= 2;
        }
        map.region[map.count++] = region;
    }
    status = TL_OK;
    *out = map;
end:
    free(stack);
    if (status != TL_OK)
        tl_limb_regions_free(&map);
    return status;
}

void tl_limb_regions_free(tl_region_map *map) {
    free(map->label);
    free(map->region);
    *map = (tl_region_map){0};
}

/* Direction of rising light by central differences over two pixels. */
static void rise_direction(const tl_plane *plane, double x, double y, double *nx, double *ny) {
    double gx = tl_limb_plane_linear(plane, x + 1.5, y) - tl_limb_plane_linear(plane, x - 1.5, y);
    double gy = tl_limb_plane_linear(plane, x, y + 1.5) - tl_limb_plane_linear(plane, x, y - 1.5);
    double length = hypot(gx, gy);
    *nx = length > 0 ? gx / length : 0;
    *ny = length > 0 ? gy / length : 0;
}

/* Call `visit` for each place where the border passes between a bright and a dark pixel. */
typedef void border_visit(const tl_plane *plane, double x, double y, void *context);
static void walk_border(const tl_plane *plane, const tl_region_map *map, const tl_region *region,
                        double threshold, border_visit *visit, void *context) {
    static const int DX[4] = {-1, 1, 0, 0}, DY[4] = {0, 0, -1, 1};
    for (int y = region->top; y <= region->bottom; y++) {
        for (int x = region->left; x <= region->right; x++) {
            size_t at = (size_t)y * (size_t)plane->width + (size_t)x;
            if (map->label[at] != region->label)
                continue;
            for (int i = 0; i < 4; i++) {
                int ox = x + DX[i], oy = y + DY[i];
                if (ox < 0 || oy < 0 || ox >= plane->width || oy >= plane->height)
                    continue;
                size_t other = (size_t)oy * (size_t)plane->width + (size_t)ox;
                double in = (double)plane->value[at], out = (double)plane->value[other];
                if (out >= threshold)
                    continue;
                double t = (in - threshold) / (in - out); /* in >= threshold > out */
                visit(plane, x + t * DX[i], y + t * DY[i], context);
            }
        }
    }
}

static void count_point(const tl_plane *plane, double x, double y, void *context) {
    (void)plane, (void)x, (void)y;
    ++*(size_t *)context;
}

typedef struct border_collect {
    tl_border_point *point;
    size_t count, seen, total, max;
} border_collect;

static void collect_point(const tl_plane *plane, double x, double y, void *context) {
    border_collect *c = context;
    /* keep point number i when the running share i*max/total steps up: an even thinning */
    size_t before = c->seen * c->max / c->total, after = (c->seen + 1) * c->max / c->total;
    c->seen++;
    if (c->total > c->max && before == after)
        return;
    tl_border_point *p = &c->point[c->count++];
    p->x = x;
    p->y = y;
    rise_direction(plane, x, y, &p->nx, &p->ny);
}

size_t tl_limb_region_border(const tl_plane *plane, const tl_region_map *map, size_t region,
                             double threshold, tl_border_point *point, size_t max) {
    border_collect collect = {.point = point, .max = max};
    walk_border(plane, map, &map->region[region], threshold, count_point, &collect.total);
    if (collect.total == 0)
        return 0;
    walk_border(plane, map, &map->region[region], threshold, collect_point, &collect);
    return collect.count;
}
