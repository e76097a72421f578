/* The pixels along a limb, in sectors, and what the model says of each. */
#include <math.h>
#include <stdlib.h>

#include "limb/strip_internal.h"

double tl_limb_strip_by_blur(const tl_strip *s, const tl_strip_pixel *p, double shift_px) {
    double b = s->model->spread.blur_px, d = (double)p->outside - shift_px;
    if (s->limb == TL_LIMB_SUN)
        return (double)p->disc * b * tl_limb_spread_at(&s->model->spread, d).bend;
    double z = d / b, bell, light = (double)p->disc, slope = (double)p->slope;
    tl_limb_spread_plain(&s->model->spread, -z, &bell);
    double bend = (double)p->bend;
    return (slope * (1 + z * z) - light * z - bend * z * (1 + z * z)) * bell / b;
}

/* To a thousandth of a pixel. */
static inline bool is_round(const tl_flat *flat) {
    return flat->flattening > 1 - 1e-6;
}

/* Distance from a circle in picture px; the unit normal in the round picture. */
static inline double outside_px(const tl_flat *flat, const tl_circle *c, double x, double y,
                                double *nx, double *ny) {
    const double dx = x - c->x, dy = y - c->y, length = sqrt(dx * dx + dy * dy);
    *nx = length > 0 ? dx / length : 1;
    *ny = length > 0 ? dy / length : 0;
    if (is_round(flat))
        return length - c->r;
    double gx = *nx, gy = *ny; /* the map is symmetric: the gradient of the distance */
    tl_limb_flat_round(flat, &gx, &gy);
    return (length - c->r) / sqrt(gx * gx + gy * gy);
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

/* atan2(ny, nx) of a unit vector to 1e-5, which decides between sectors: M. Abramowitz & I. A.
 * Stegun, Handbook of Mathematical Functions (1964), 4.4.49. */
static inline double direction_of(double nx, double ny) {
    const double ax = fabs(nx), ay = fabs(ny), t = ax > ay ? ay / ax : ax / ay, q = t * t;
    double a =
        t * (0.9998660 + q * (-0.3302995 + q * (0.1801410 + q * (-0.0851330 + q * 0.0208351))));
    a = ax > ay ? a : 0.5 * TL_PI - a;
    a = nx < 0 ? TL_PI - a : a;
    return ny < 0 ? -a : a;
}

static inline int sector_of(const tl_strip *s, double nx, double ny) {
    const int i = (int)((direction_of(nx, ny) + TL_PI) / (2 * TL_PI) * s->sectors);
    return i < 0 ? 0 : i < s->sectors ? i : s->sectors - 1;
}

/* A quick look at the other limb: pixels clearly behind the Moon, or off the Sun, are most of the
 * strip along the Moon. */
static inline bool may_be_open(const tl_strip *s, double x, double y) {
    const double dx = x - s->other->x, dy = y - s->other->y, d2 = dx * dx + dy * dy;
    return s->limb == TL_LIMB_SUN ? d2 >= s->other_inner2 : d2 <= s->other_outer2;
}

/* Deeper than what places the limb, of every so many pixels and rows one will do. */
enum { DEEP_THIN = 2 };

/* One pixel of the plane, if it lies in the strip and is open to view. */
static bool take_pixel(tl_strip *s, const tl_plane *plane, int ix, int iy, double x, double y) {
    const tl_edge_model *m = s->model;
    if (!may_be_open(s, x, y))
        return true;
    double nx, ny, own = outside_px(&m->flat, s->circle, x, y, &nx, &ny);
    double b = m->spread.blur_px, deep = s->limb == TL_LIMB_SUN ? TL_STRIP_FROM * b : -s->half_px;
    if (own > s->half_px || own < fmin(deep, -s->half_px))
        return true;
    if (own < -s->half_px && (ix % DEEP_THIN != 0 || iy % DEEP_THIN != 0))
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
            double bell, z = (far + b * b / (2 * s->other->r)) / b;
            pixel.disc = (float)tl_limb_spread_plain(&m->spread, -z, &bell);
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

/* Bring the pixels into the order of their sectors, in each those that place the limb first: the
 * mean profile reaches further into the disc. */
static tl_status sort_pixels(tl_strip *s) {
    tl_strip_pixel *sorted = malloc((s->count + 1) * sizeof *sorted);
    size_t deep[TL_STRIP_SECTORS_MAX];
    const float half = (float)s->half_px;
    if (!sorted)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < s->count; i++) {
        s->sector[s->pixel[i].sector].count++;
        s->sector[s->pixel[i].sector].window += fabsf(s->pixel[i].outside) <= half;
    }
    for (int i = 0; i < s->sectors; i++) {
        tl_strip_sector *at = &s->sector[i];
        at->first = i > 0 ? at[-1].first + at[-1].count : 0;
        deep[i] = at->first + at->window;
    }
    for (int i = 0; i < s->sectors; i++)
        s->sector[i].window = 0;
    for (size_t i = 0; i < s->count; i++) {
        tl_strip_sector *at = &s->sector[s->pixel[i].sector];
        const bool window = fabsf(s->pixel[i].outside) <= half;
        sorted[window ? at->first + at->window++ : deep[s->pixel[i].sector]++] = s->pixel[i];
    }
    free(s->pixel);
    s->pixel = sorted;
    s->room = s->count;
    return TL_OK;
}

/* The first whole multiple of `thin` from `i` on. */
static int on_grid(int i, int thin) {
    return (i + thin - 1) / thin * thin;
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
    for (int ix = on_grid(from, s->thin); ix <= to; ix += s->thin) {
        double x = plane->x0 + ix, y = plane->y0 + iy;
        if (fabs(x - ring->x) < skip) { /* the ring's hole: on to its far side */
            const double beyond = ceil(ring->x + skip - plane->x0);
            ix = beyond > ix ? on_grid((int)beyond, s->thin) - s->thin : ix;
            continue;
        }
        if (!is_round(&s->model->flat))
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
    /* the distance of a flattened disc's limb is stretched by no more than its flattening */
    const double near = s->other->r + s->model->cusp_px;
    const double deep = fmax(0, s->other->r - s->model->cusp_px);
    s->other_inner2 = s->other->r > 0 ? near * near : 0;
    s->other_outer2 = s->other->r > 0 ? deep * deep : HUGE_VAL;
    s->sector = calloc((size_t)s->sectors, sizeof *s->sector);
    if (!s->sector)
        return TL_ERR_MEMORY;
    for (int iy = 0; iy < plane->height; iy += s->thin)
        if (!gather_row(s, plane, iy, &ring, inner))
            return TL_ERR_MEMORY;
    for (int i = 0; i < s->sectors; i++)
        s->sector[i].angle = 2 * TL_PI * (i + 0.5) / s->sectors - TL_PI;
    return sort_pixels(s);
}
