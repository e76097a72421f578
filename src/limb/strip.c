/*
 * The limbs measured: every pixel within a few blurs of a limb is compared with what a blurred,
 * darkened disc shows there. The strip along a limb is cut into sectors. In each of them least
 * squares give two levels of light and how far outside its circle the limb lies; in a second turn
 * the levels, which change slowly along the limb, are those of the neighbours as well, so that all
 * that a sector knows goes into the place of its limb. Each pixel is used once, by its exact
 * distance from the circle, and nothing is interpolated: sectors have errors of their own, close
 * to the Cramer-Rao bound, sum of A^2 T'^2 / noise^2 over the pixels.
 */
#include <math.h>
#include <stdlib.h>

#include "limb/strip_internal.h"

enum { SECTORS_MIN = 60 };
static const double SECTOR_PX = 3;    /* along the limb */
static const double STRIP_BLURS = 5;  /* half width of the strip */
static const double STRIP_MIN_PX = 4; /* so that both levels show */

static void strip_free(tl_strip *s) {
    free(s->pixel);
    free(s->sector);
}

/* A rough measurement takes every second pixel and row of a disc that is not small, in fewer and
 * wider sectors. */
enum { ROUGH_SECTORS_MAX = 240, ROUGH_THIN = 2 };
static const double ROUGH_SECTOR_PX = 9, ROUGH_RADIUS_PX = 100, ROUGH_HALF_ARC = 30 * TL_DEG;

static void cut_sectors(tl_strip *s) {
    const double r = s->circle->r;
    const bool small_bite =
        s->limb == TL_LIMB_MOON && tl_limb_half_arc(s->circle, s->other) < ROUGH_HALF_ARC;
    const bool thin = s->model->rough && r > ROUGH_RADIUS_PX && !small_bite;
    s->thin = thin ? ROUGH_THIN : 1;
    s->sectors = (int)fmin(fmax(2 * TL_PI * r / (thin ? ROUGH_SECTOR_PX : SECTOR_PX), SECTORS_MIN),
                           thin ? ROUGH_SECTORS_MAX : TL_STRIP_SECTORS_MAX);
}

static void add_edges(const tl_strip *s, const tl_plane *plane, double typical, tl_edge_set *set,
                      size_t *clipped) {
    const tl_edge_model *m = s->model;
    double sigma[TL_STRIP_SECTORS_MAX];
    size_t n = 0;
    for (int i = 0; i < s->sectors; i++)
        if (s->sector[i].found)
            sigma[n++] = s->sector[i].sigma_px;
    double usual = tl_limb_median(sigma, n);
    for (int i = 0; i < s->sectors; i++) {
        const tl_strip_sector *at = &s->sector[i];
        set->expected[s->limb] += at->window >= TL_STRIP_PIXELS_MIN;
        if (!at->found)
            continue;
        double ux = cos(at->angle), uy = sin(at->angle), gx = ux, gy = uy;
        tl_limb_flat_round(&m->flat, &gx, &gy);
        double d = s->circle->r + at->shift_px * hypot(gx, gy);
        double inner = (s->limb == TL_LIMB_SUN ? -1 : 1) * fmax(2, 2.5 * m->spread.blur_px);
        double x = s->circle->x + d * ux, y = s->circle->y + d * uy;
        double ix = s->circle->x + (d + inner) * ux, iy = s->circle->y + (d + inner) * uy;
        tl_limb_flat_picture(&m->flat, &x, &y);
        tl_limb_flat_picture(&m->flat, &ix, &iy);
        *clipped += tl_limb_plane_clipped(plane, ix - plane->x0, iy - plane->y0);
        set->edge[set->count++] =
            (tl_limb_edge){.x_px = x,
                           .y_px = y,
                           .sigma_relative = fmin(fmax(at->sigma_px / usual, 0.5), 4),
                           .limb = (uint8_t)s->limb,
                           .used = true};
    }
    double light = 0;
    for (size_t i = 0; i < s->count; i++)
        light += (double)s->pixel[i].disc;
    light /= fmax(1, (double)s->count);
    if (s->limb == TL_LIMB_SUN)
        light *= tl_limb_spread_at(&m->spread, -2.5 * m->spread.blur_px).value;
    set->step[s->limb] = typical * light;
}

static tl_status measure_strip(tl_strip *s, const tl_plane *plane, tl_edge_set *set,
                               tl_strip_sums *sums, size_t *clipped) {
    tl_status status = tl_limb_strip_gather(s, plane);
    if (status != TL_OK)
        return status;
    sums->sky = malloc((s->count + 1) * sizeof *sums->sky);
    sums->disc = malloc((s->count + 1) * sizeof *sums->disc);
    if (!sums->sky || !sums->disc)
        return TL_ERR_MEMORY;
    double typical = tl_limb_strip_place(s);
    tl_limb_strip_sum(s, sums);
    add_edges(s, plane, typical, set, clipped);
    return TL_OK;
}

tl_status tl_limb_strip_measure(const tl_plane *plane, const tl_circle *sun, const tl_circle *moon,
                                tl_edge_model *model, tl_edge_set *out) {
    tl_edge_set set = {.edge = malloc(2 * TL_STRIP_SECTORS_MAX * sizeof *set.edge)};
    tl_strip_sums sums[2] = {0};
    size_t clipped = 0;
    tl_status status = set.edge ? TL_OK : TL_ERR_MEMORY;
    for (int limb = TL_LIMB_SUN; limb <= TL_LIMB_MOON && status == TL_OK; limb++) {
        bool is_sun = limb == TL_LIMB_SUN;
        tl_strip s = {.model = model,
                      .circle = is_sun ? sun : moon,
                      .other = is_sun ? moon : sun,
                      .limb = limb,
                      .half_px = fmax(STRIP_MIN_PX, STRIP_BLURS * model->spread.blur_px)};
        if (s.circle->r <= 0)
            continue;
        cut_sectors(&s);
        status = measure_strip(&s, plane, &set, &sums[limb], &clipped);
        strip_free(&s);
    }
    if (status == TL_OK)
        status = tl_limb_strip_learn(model, sums, &set);
    if (status == TL_OK) {
        set.clipped_edge = set.count > 0 ? (double)clipped / (double)set.count : 0;
        *out = set;
    } else {
        free(set.edge);
    }
    for (int limb = 0; limb < 2; limb++) {
        free(sums[limb].sky);
        free(sums[limb].disc);
    }
    return status;
}
