/*
 * suns.c - all the Suns of a frame: its own, and those of a collage or a second exposure.
 */
#include <math.h>

#include "simulate/simulate_internal.h"

#define MARGIN_SIGMAS 5.0 /* how far the blur carries light */

/* A Sun less its Moon as the telescope shows it. */
static tl_status draw_one(const tl_simulate_scene *scene, size_t index, const tl_sky *at_max,
                          const tl_simulate_place *place,
                          tl_simulate_plane disc[TL_SIMULATE_CHANNELS]) {
    const tl_simulate_settings *settings = &scene->frame[index].settings;
    tl_simulate_spots spots;
    tl_status status = tl_simulate_spots_place(scene, at_max, &place->sky, &spots);
    double trail_px = settings->trail.on ? settings->trail.length_px : 0.0;
    int margin = (int)ceil(MARGIN_SIGMAS * place->blur_px) + 1;
    if (trail_px > 0.0)
        margin += (int)ceil(0.5 * trail_px) + 1;
    if (status == TL_OK)
        status = tl_simulate_disc_draw(settings, place, &spots, margin, disc);
    if (status == TL_OK)
        status = tl_simulate_granulate(scene, index, place, disc);
    for (int c = 0; c < TL_SIMULATE_CHANNELS && status == TL_OK; c++) {
        status = tl_simulate_plane_blur(&disc[c], place->blur_px);
        if (status == TL_OK && trail_px > 0.0)
            status =
                tl_simulate_plane_trail(trail_px, settings->trail.direction_deg * TL_DEG, &disc[c]);
    }
    return status;
}

static void planes_free(tl_simulate_plane plane[TL_SIMULATE_CHANNELS]) {
    for (int c = 0; c < TL_SIMULATE_CHANNELS; c++)
        tl_simulate_plane_free(&plane[c]);
}

static void add_plane(const tl_simulate_plane *from, double share, tl_simulate_plane *to) {
    for (int y = 0; y < from->height; y++) {
        const float *v = from->v + (size_t)y * (size_t)from->width;
        size_t row = (size_t)(from->y0 + y - to->y0) * (size_t)to->width;
        float *sum = to->v + row + (size_t)(from->x0 - to->x0);
        for (int x = 0; x < from->width; x++)
            sum[x] += (float)share * v[x];
    }
}

/* Replace `disc` by a plane that holds it and `share` of `other`. */
static tl_status merge(const tl_simulate_plane *other, double share, tl_simulate_plane *disc) {
    int x0 = disc->x0 < other->x0 ? disc->x0 : other->x0;
    int y0 = disc->y0 < other->y0 ? disc->y0 : other->y0;
    int x1 = disc->x0 + disc->width, y1 = disc->y0 + disc->height;
    x1 = x1 > other->x0 + other->width ? x1 : other->x0 + other->width;
    y1 = y1 > other->y0 + other->height ? y1 : other->y0 + other->height;
    tl_simulate_plane both;
    tl_status status = tl_simulate_plane_make(x0, y0, x1 - x0, y1 - y0, &both);
    if (status != TL_OK)
        return status;
    add_plane(disc, 1.0, &both);
    add_plane(other, share, &both);
    tl_simulate_plane_free(disc);
    *disc = both;
    return TL_OK;
}

/* The place of another Sun of the frame: its own time, the same turn and scale. */
static tl_status place_another(const tl_simulate_scene *scene, const tl_simulate_settings *settings,
                               const tl_simulate_sun *sun, const tl_simulate_place *place,
                               tl_simulate_place *another) {
    tl_simulate_place made = *place;
    made.t_utc_s += sun->seconds;
    made.sun_x += sun->x_sr * place->sun_r;
    made.sun_y += sun->y_sr * place->sun_r;
    tl_status status = tl_sky_at(&scene->site, made.t_utc_s, &scene->sky, &made.sky);
    if (status != TL_OK)
        return status;
    tl_simulate_place_circles(settings, &made);
    *another = made;
    return TL_OK;
}

static tl_status add_another(const tl_simulate_scene *scene, size_t index, const tl_sky *at_max,
                             const tl_simulate_place *place, double share,
                             tl_simulate_plane disc[TL_SIMULATE_CHANNELS]) {
    tl_simulate_plane other[TL_SIMULATE_CHANNELS] = {0};
    tl_status status = draw_one(scene, index, at_max, place, other);
    for (int c = 0; c < TL_SIMULATE_CHANNELS && status == TL_OK; c++)
        status = merge(&other[c], share, &disc[c]);
    planes_free(other);
    return status;
}

tl_status tl_simulate_suns_draw(const tl_simulate_scene *scene, size_t index, const tl_sky *at_max,
                                const tl_simulate_place *place,
                                tl_simulate_plane disc[TL_SIMULATE_CHANNELS]) {
    const tl_simulate_settings *settings = &scene->frame[index].settings;
    if (settings->subject == TL_SUBJECT_NOTHING)
        return TL_OK;
    tl_status status = draw_one(scene, index, at_max, place, disc);
    for (int i = 0; i < settings->sun_count && status == TL_OK; i++) {
        tl_simulate_place another;
        status = place_another(scene, settings, &settings->sun[i], place, &another);
        if (status == TL_OK)
            status = add_another(scene, index, at_max, &another, settings->sun[i].share, disc);
    }
    return status;
}
