/* The pixels along a limb, in sectors, and what the model says of each. */
#include <math.h>
#include <stdlib.h>

#include "limb/strip_internal.h"

tl_strip_model tl_limb_strip_model_of(const tl_strip *s, const tl_strip_pixel *p, double shift_px) {
    double b = s->model->spread.blur_px, d = (double)p->outside - shift_px;
    if (s->limb == TL_LIMB_SUN) {
        tl_spread_at at = tl_limb_spread_at(&s->model->spread, d);
        double open = (double)p->disc;
        return (tl_strip_model){open * at.value, -open * at.slope, open * b * at.bend};
    }
    /* a disc that changes along the normal, behind a straight edge, up to second order; L blurred:
     * L Phi(z) + L' b phi(z) - L'' b^2 z phi(z) / 2 */
    double z = d / b, bell = exp(-0.5 * z * z) / sqrt(2 * TL_PI), whole = 0.5 * erfc(-z / sqrt(2));
    double light = (double)p->disc, slope = (double)p->slope, bend = (double)p->bend;
    return (tl_strip_model){light * whole + (slope - bend * z) * bell,
                            (slope * z - light + bend * (1 - z * z)) * bell / b,
                            (slope * (1 + z * z) - light * z - bend * z * (1 + z * z)) * bell / b};
}

double tl_limb_strip_noise(const tl_strip *s, double light) {
    return s->model->noise_sky + s->model->noise_light * fmax(0, light);
}

bool tl_limb_strip_in_window(const tl_strip *s, const tl_strip_pixel *p) {
    return fabs((double)p->outside) <= s->half_px;
}

/* Distance from a circle in picture px; the unit normal in the round picture. */
static double outside_px(const tl_flat *flat, const tl_circle *c, double x, double y, double *nx,
                         double *ny) {
    double dx = x - c->x, dy = y - c->y, length = hypot(dx, dy);
    *nx = length > 0 ? dx / length : 1;
    *ny = length > 0 ? dy / length : 0;
    double gx = *nx, gy = *ny; /* the map is symmetric: the gradient of the distance */
    tl_limb_flat_round(flat, &gx, &gy);
    return (length - c->r) / hypot(gx, gy);
}

static bool add_pixel(tl_strip *s, const tl_strip_pixel *pixel) {
    if (s->count == s->room) {
        size_t room = s->room ? 2 * s->room : 4096;
        tl_strip_pixel *more = realloc(s->pixel, room * sizeof *more);
        if (!more)
            return false;
        s->pixel = more;
        s->room = room;
    }
    s->pixel[s->count++] = *pixel;
    return true;
}

static int sector_of(const tl_strip *s, double nx, double ny) {
    int i = (int)((atan2(ny, nx) + TL_PI) / (2 * TL_PI) * s->sectors);
    return i < s->sectors ? i : s->sectors - 1;
}

/* One pixel of the plane, if it lies in the strip and is open to view. */
static bool take_pixel(tl_strip *s, const tl_plane *plane, int ix, int iy, double x, double y) {
    const tl_edge_model *m = s->model;
    double nx, ny, own = outside_px(&m->flat, s->circle, x, y, &nx, &ny);
    double b = m->spread.blur_px, deep = s->limb == TL_LIMB_SUN ? TL_STRIP_FROM * b : -s->half_px;
    if (own > s->half_px || own < fmin(deep, -s->half_px))
        return true;
    tl_strip_pixel pixel = {.outside = (float)(own + b * b / (2 * s->circle->r)),
                            .value = (float)tl_limb_plane_value(plane, ix, iy),
                            .disc = 1,
                            .sector = sector_of(s, nx, ny)};
    if (s->other->r > 0) {
        double ox, oy, far = outside_px(&m->flat, s->other, x, y, &ox, &oy);
        if (s->limb == TL_LIMB_SUN) {
            if (far < m->cusp_px)
                return true;
            pixel.disc = (float)(0.5 * erfc(-(far + b * b / (2 * s->other->r)) / (b * sqrt(2))));
        } else {
            if (far > -m->cusp_px)
                return true;
            tl_spread_at at = tl_limb_spread_at(&m->spread, far + b * b / (2 * s->other->r));
            pixel.disc = (float)at.value;
            double along = nx * ox + ny * oy, across = 1 - along * along;
            pixel.slope = (float)(at.slope * along * b);
            pixel.bend =
                (float)(0.5 * b * b * (at.bend * along * along + at.slope * across / s->other->r));
        }
    }
    return add_pixel(s, &pixel);
}

/* Bring the pixels into the order of their sectors, in each as they came. */
static tl_status sort_pixels(tl_strip *s) {
    tl_strip_pixel *sorted = malloc((s->count + 1) * sizeof *sorted);
    if (!sorted)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < s->count; i++) {
        s->sector[s->pixel[i].sector].count++;
        s->sector[s->pixel[i].sector].window += tl_limb_strip_in_window(s, &s->pixel[i]);
    }
    for (int i = 1; i < s->sectors; i++)
        s->sector[i].first = s->sector[i - 1].first + s->sector[i - 1].count;
    for (int i = 0; i < s->sectors; i++)
        s->sector[i].count = 0;
    for (size_t i = 0; i < s->count; i++) {
        tl_strip_sector *at = &s->sector[s->pixel[i].sector];
        sorted[at->first + at->count++] = s->pixel[i];
    }
    free(s->pixel);
    s->pixel = sorted;
    s->room = s->count;
    return TL_OK;
}

/* The pixels of one row between two distances from the circle's centre. */
static bool gather_row(tl_strip *s, const tl_plane *plane, int iy, const tl_circle *ring,
                       double inner) {
    double dy = plane->y0 + iy - ring->y, half = ring->r * ring->r - dy * dy;
    if (half < 0)
        return true;
    double gap = inner * inner - dy * dy, skip = gap > 0 ? sqrt(gap) : 0;
    half = sqrt(half);
    int from = (int)fmax(0, ceil(ring->x - half - plane->x0));
    int to = (int)fmin(plane->width - 1, floor(ring->x + half - plane->x0));
    for (int ix = from; ix <= to; ix++) {
        double x = plane->x0 + ix, y = plane->y0 + iy;
        if (fabs(x - ring->x) < skip) { /* the ring's hole: on to its far side */
            ix = (int)fmax(ix, ceil(ring->x + skip - plane->x0) - 1);
            continue;
        }
        tl_limb_flat_round(&s->model->flat, &x, &y);
        if (!take_pixel(s, plane, ix, iy, x, y))
            return false;
    }
    return true;
}

/* Gather the strip's pixels, ordered by sector. */
tl_status tl_limb_strip_gather(tl_strip *s, const tl_plane *plane) {
    const tl_flat *flat = &s->model->flat;
    double reach = fmax(s->half_px, -TL_STRIP_FROM * s->model->spread.blur_px) + 1;
    /* a flattened circle lies between two round ones in the picture */
    tl_circle ring = {s->circle->x, s->circle->y, s->circle->r + reach};
    double inner = fmax(0, s->circle->r * flat->flattening - reach);
    tl_limb_flat_picture(flat, &ring.x, &ring.y);
    s->sector = calloc((size_t)s->sectors, sizeof *s->sector);
    if (!s->sector)
        return TL_ERR_MEMORY;
    for (int iy = 0; iy < plane->height; iy++)
        if (!gather_row(s, plane, iy, &ring, inner))
            return TL_ERR_MEMORY;
    for (int i = 0; i < s->sectors; i++)
        s->sector[i].angle = 2 * TL_PI * (i + 0.5) / s->sectors - TL_PI;
    return sort_pixels(s);
}
