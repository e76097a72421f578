/*
 * compose.c - one channel of the picture: the blurred disc, scattered and reflected light,
 * haze, the card, the eyepiece's surroundings, dust.
 */
#include <math.h>

#include "simulate/simulate_internal.h"

/* The halo is a sum of Gaussians of equal light whose sigmas double: brightness falls about as
 * the inverse square, as an aureole's does. */
enum { HALO_TERMS = 4, CELLS_PER_SIGMA = 6, SOFT_MAX = 1 + TL_SIMULATE_LIST_MAX };

/* A soft copy of the disc's light laid over the picture. */
typedef struct soft_light {
    tl_simulate_coarse coarse;
    double x_px, y_px; /* shift of the copy */
    double share;
    bool upside_down, scattered; /* scattered: a halo, seen beyond the stop as well */
} soft_light;

typedef struct soft_lights {
    soft_light light[SOFT_MAX];
    int count;
} soft_lights;

static void soft_free(soft_lights *soft) {
    for (int i = 0; i < soft->count; i++)
        tl_simulate_plane_free(&soft->light[i].coarse.cell);
    soft->count = 0;
}

static int step_for(double sigma_px) {
    double step = floor(sigma_px / CELLS_PER_SIGMA);
    return step > 1.0 ? (int)step : 1;
}

/* Sum of HALO_TERMS blurred copies; the narrowest sets the cell size. */
static tl_status make_halo(const tl_simulate_settings *settings, const tl_simulate_plane *disc,
                           double radius_px, soft_light *light) {
    double narrowest = radius_px / (1 << (HALO_TERMS - 1));
    tl_simulate_coarse sum;
    int step = step_for(narrowest);
    tl_status status = tl_simulate_coarse_make(disc, step, settings->width, settings->height, &sum);
    if (status != TL_OK)
        return status;
    size_t n = (size_t)sum.cell.width * (size_t)sum.cell.height;
    for (size_t i = 0; i < n; i++)
        sum.cell.v[i] = 0.0f;
    for (int k = 0; k < HALO_TERMS && status == TL_OK; k++) {
        tl_simulate_coarse term;
        status = tl_simulate_coarse_make(disc, step, settings->width, settings->height, &term);
        if (status != TL_OK)
            break;
        status = tl_simulate_plane_blur(&term.cell, narrowest * (1 << k) / step);
        for (size_t i = 0; i < n; i++)
            sum.cell.v[i] += term.cell.v[i] / HALO_TERMS;
        tl_simulate_plane_free(&term.cell);
    }
    if (status != TL_OK)
        tl_simulate_plane_free(&sum.cell);
    else
        *light = (soft_light){.coarse = sum, .share = settings->halo.share, .scattered = true};
    return status;
}

static tl_status make_ghost(const tl_simulate_settings *settings, const tl_simulate_ghost *ghost,
                            const tl_simulate_plane *disc, double sun_r, soft_light *light) {
    tl_simulate_coarse coarse;
    int step = step_for(ghost->blur_sr * sun_r);
    tl_status status =
        tl_simulate_coarse_make(disc, step, settings->width, settings->height, &coarse);
    if (status == TL_OK)
        status = tl_simulate_plane_blur(&coarse.cell, ghost->blur_sr * sun_r / step);
    if (status == TL_OK)
        *light = (soft_light){.coarse = coarse,
                              .x_px = ghost->x_sr * sun_r,
                              .y_px = ghost->y_sr * sun_r,
                              .share = ghost->share,
                              .upside_down = ghost->upside_down};
    return status;
}

static tl_status make_soft(const tl_simulate_settings *settings, const tl_simulate_place *place,
                           const tl_simulate_plane *disc, soft_lights *soft) {
    tl_status status = TL_OK;
    *soft = (soft_lights){.count = 0};
    if (settings->subject == TL_SUBJECT_NOTHING)
        return TL_OK;
    if (settings->halo.on) {
        status =
            make_halo(settings, disc, settings->halo.radius_sr * place->sun_r, &soft->light[0]);
        soft->count += status == TL_OK;
    }
    for (int i = 0; i < settings->ghost_count && status == TL_OK; i++) {
        status = make_ghost(settings, &settings->ghost[i], disc, place->sun_r,
                            &soft->light[soft->count]);
        soft->count += status == TL_OK;
    }
    if (status != TL_OK)
        soft_free(soft);
    return status;
}

static double soft_at(const soft_light *light, const tl_simulate_place *place, double x, double y) {
    double dx = x - place->sun_x - light->x_px, dy = y - place->sun_y - light->y_px;
    if (light->upside_down) {
        dx = -dx;
        dy = -dy;
    }
    return light->share *
           tl_simulate_coarse_at(&light->coarse, place->sun_x + dx, place->sun_y + dy);
}

/* A soft oval; `patch` 0..1 makes it as uneven as the surface that it comes from. */
static double reflection_at(const tl_simulate_reflection *r, const tl_simulate_place *place,
                            double patch, double x, double y) {
    double dx = (x - place->sun_x) / place->sun_r - r->x_sr;
    double dy = (y - place->sun_y) / place->sun_r - r->y_sr;
    double longest = fmax(r->long_sr, r->short_sr);
    if (dx * dx + dy * dy > longest * longest)
        return 0.0;
    double c = cos(r->turn_deg * TL_DEG), s = sin(r->turn_deg * TL_DEG);
    double distance = hypot((c * dx + s * dy) / r->long_sr, (c * dy - s * dx) / r->short_sr);
    double t = fmin(fmax((1.0 - distance) / r->softness, 0.0), 1.0);
    return t * t * (3.0 - 2.0 * t) * (0.25 + 1.5 * patch);
}

/* Light lost to a lens that is not behind the eyepiece squarely: one side of the disc is
 * darker. */
static double shade_at(const tl_simulate_shade *shade, const tl_simulate_place *place, double x,
                       double y) {
    if (!shade->on)
        return 1.0;
    double a = shade->direction_deg * TL_DEG;
    double along = ((x - place->sun_x) * cos(a) + (y - place->sun_y) * sin(a)) / place->sun_r;
    return 1.0 - shade->amount * fmin(fmax(0.5 + 0.5 * along, 0.0), 1.0);
}

static double dust_at(const tl_simulate_settings *settings, double x, double y) {
    double clear = 1.0;
    for (int i = 0; i < settings->dust_count; i++) {
        const tl_simulate_dust *d = &settings->dust[i];
        double r = hypot(x - d->x_px, y - d->y_px) / d->radius_px;
        clear *= 1.0 - d->depth * exp(-r * r * r * r);
    }
    return clear;
}

static double plane_at(const tl_simulate_plane *plane, int x, int y) {
    int i = x - plane->x0, j = y - plane->y0;
    if (plane->v == NULL || i < 0 || j < 0 || i >= plane->width || j >= plane->height)
        return 0.0;
    return (double)plane->v[(size_t)j * (size_t)plane->width + (size_t)i];
}

/* The corners get less light. */
static double vignette_at(const tl_simulate_settings *settings, const tl_simulate_place *place,
                          double x, double y) {
    if (!settings->vignette.on)
        return 1.0;
    double corner2 = place->middle_x * place->middle_x + place->middle_y * place->middle_y;
    double dx = x - place->middle_x, dy = y - place->middle_y;
    return 1.0 - settings->vignette.amount * (dx * dx + dy * dy) / corner2;
}

/* The field's light on a card and in shadows; `background` is part of `field`. */
static double on_card(const tl_simulate_settings *settings, const tl_simulate_place *place,
                      const tl_simulate_plane *paper, int channel, int x, int y, double field) {
    tl_simulate_lit lit = tl_simulate_lit_at(settings, place, x, y);
    double paper_here = paper->v != NULL ? plane_at(paper, x, y) : 1.0;
    double light = field - settings->background[channel] * (1.0 - lit.background);
    return light * lit.all * paper_here * lit.card_share +
           settings->card.outside[channel] * (1.0 - lit.card_share);
}

static double pixel_light(const tl_simulate_settings *settings, const tl_simulate_place *place,
                          const tl_simulate_air *air, const tl_simulate_plane *disc,
                          const soft_lights *soft, int channel, int x, int y) {
    double sun = place->exposure * settings->colour[channel];
    double clear = air->clear.v != NULL ? plane_at(&air->clear, x, y) : 1.0;
    double direct = settings->subject == TL_SUBJECT_SUN ? plane_at(disc, x, y) : 0.0;
    double field = direct > 0.0 ? sun * direct * shade_at(&settings->shade, place, x, y) : 0.0;
    double halo = 0.0;
    for (int i = 0; i < soft->count; i++) {
        double light = sun * soft_at(&soft->light[i], place, x, y);
        field += light;
        halo += soft->light[i].scattered ? light : 0.0;
    }
    field = field * clear + settings->background[channel];
    if (air->clear.v != NULL)
        field += settings->haze.light[channel] * (1.0 - clear);
    if (settings->card.on || settings->shadow_count > 0)
        field = on_card(settings, place, &air->paper, channel, x, y, field);
    double all = field, mottle = air->mottle.v != NULL ? plane_at(&air->mottle, x, y) : 0.5;
    if (settings->eyepiece.on) {
        tl_simulate_surround around =
            tl_simulate_eyepiece_at(&settings->eyepiece, place, mottle, channel, x, y);
        all = (field + around.inside) * around.field_share +
              (around.outside + settings->eyepiece.leak * halo) * (1.0 - around.field_share);
    }
    for (int i = 0; i < settings->reflection_count; i++)
        all += settings->reflection[i].light[channel] *
               reflection_at(&settings->reflection[i], place, mottle, x, y);
    return all * dust_at(settings, x, y) * vignette_at(settings, place, x, y);
}

tl_status tl_simulate_compose(const tl_simulate_settings *settings, const tl_simulate_place *place,
                              const tl_simulate_air *air, const tl_simulate_plane *disc,
                              int channel, tl_simulate_plane *picture) {
    soft_lights soft;
    tl_simulate_plane made;
    tl_status status = tl_simulate_plane_make(0, 0, settings->width, settings->height, &made);
    if (status != TL_OK)
        return status;
    status = make_soft(settings, place, disc, &soft);
    if (status != TL_OK) {
        tl_simulate_plane_free(&made);
        return status;
    }
    for (int y = 0; y < made.height; y++)
        for (int x = 0; x < made.width; x++)
            made.v[(size_t)y * (size_t)made.width + (size_t)x] =
                (float)pixel_light(settings, place, air, disc, &soft, channel, x, y);
    soft_free(&soft);
    *picture = made;
    return TL_OK;
}
