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

/* Border places of a region, as many as there are, in row order. */
typedef struct border {
    double *xy; /* x, y in turn; owned */
    size_t count, room;
} border;

static bool border_add(border *b, double x, double y) {
    if (b->count == b->room) {
        size_t room = b->room ? 2 * b->room : 1024;
        double *more = realloc(b->xy, 2 * room * sizeof *more);
        if (!more)
            return false;
        b->xy = more;
        b->room = room;
    }
    b->xy[2 * b->count] = x;
    b->xy[2 * b->count + 1] = y;
    b->count++;
    return true;
}

/* Where the threshold is crossed between a pixel of the region and a darker neighbour. */
static bool border_walk(const tl_plane *plane, const tl_region_map *map, const tl_region *region,
                        double threshold, border *b) {
    static const int DX[4] = {-1, 1, 0, 0}, DY[4] = {0, 0, -1, 1};
    for (int y = region->top; y <= region->bottom; y++) {
        size_t at = (size_t)y * (size_t)plane->width + (size_t)region->left;
        for (int x = region->left; x <= region->right; x++, at++) {
            if (map->label[at] != region->label)
                continue;
            for (int i = 0; i < 4; i++) {
                int ox = x + DX[i], oy = y + DY[i];
                if (ox < 0 || oy < 0 || ox >= plane->width || oy >= plane->height)
                    continue;
                size_t other = (size_t)oy * (size_t)plane->width + (size_t)ox;
                if (map->label[other] == region->label)
                    continue;
                double in = (double)plane->value[at], out = (double)plane->value[other];
                double t = (in - threshold) / (in - out); /* in >= threshold > out */
                if (!border_add(b, x + t * DX[i], y + t * DY[i]))
                    return false;
            }
        }
    }
    return true;
}

tl_status tl_limb_region_border(const tl_plane *plane, const tl_region_map *map, size_t region,
                                double threshold, size_t max, tl_border_point *point,
                                size_t *count) {
    border b = {0};
    if (!border_walk(plane, map, &map->region[region], threshold, &b)) {
        free(b.xy);
        return TL_ERR_MEMORY;
    }
    size_t kept = b.count < max ? b.count : max;
    for (size_t i = 0; i < kept; i++) { /* evenly thinned */
        size_t from = i * b.count / kept;
        tl_border_point *p = &point[i];
        p->x = b.xy[2 * from];
        p->y = b.xy[2 * from + 1];
        rise_direction(plane, p->x, p->y, &p->nx, &p->ny);
    }
    free(b.xy);
    *count = kept;
    return TL_OK;
}
