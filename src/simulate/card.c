/*
 * card.c - the screen that the Sun is projected on: its paper, its edges, shadows across it.
 */
#include <math.h>

#include "simulate/simulate_internal.h"

#define UNEVEN_SCALE_SR 3.0 /* size of the patches of light on a card; invented */
#define CARD_EDGE_PX 1.5    /* width of the card's edge in the picture; invented */

/* Multiply by 1 + uneven * (patches in -1..1). */
static tl_status add_unevenness(const tl_simulate_scene *scene, size_t index, double scale_px,
                                tl_simulate_plane *paper) {
    double uneven = scene->frame[index].settings.card.uneven;
    if (uneven <= 0.0)
        return TL_OK;
    tl_simulate_plane patches = {0};
    gsl_rng *random = tl_simulate_random(scene->seed, index, TL_STREAM_UNEVEN);
    tl_status status = random != NULL ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK)
        status = tl_simulate_plane_make(0, 0, paper->width, paper->height, &patches);
    if (status == TL_OK)
        status = tl_simulate_plane_clouds(random, scale_px, &patches);
    size_t n = (size_t)paper->width * (size_t)paper->height;
    for (size_t i = 0; status == TL_OK && i < n; i++)
        paper->v[i] *= (float)(1.0 + uneven * (2.0 * (double)patches.v[i] - 1.0));
    tl_simulate_plane_free(&patches);
    if (random != NULL)
        gsl_rng_free(random);
    return status;
}

tl_status tl_simulate_paper_make(const tl_simulate_scene *scene, size_t index,
                                 const tl_simulate_place *place, tl_simulate_plane *paper) {
    const tl_simulate_settings *settings = &scene->frame[index].settings;
    tl_simulate_plane made = {0};
    gsl_rng *random = tl_simulate_random(scene->seed, index, TL_STREAM_PAPER);
    tl_status status = random != NULL ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK)
        status = tl_simulate_plane_make(0, 0, settings->width, settings->height, &made);
    if (status == TL_OK)
        status = tl_simulate_plane_grain(random, settings->card.grain_px, &made);
    size_t n = (size_t)made.width * (size_t)made.height;
    for (size_t i = 0; status == TL_OK && i < n; i++)
        made.v[i] = fmaxf(1.0f + (float)settings->card.grain * made.v[i], 0.0f);
    if (status == TL_OK)
        status = add_unevenness(scene, index, UNEVEN_SCALE_SR * place->sun_r, &made);
    if (random != NULL)
        gsl_rng_free(random);
    if (status == TL_OK)
        *paper = made;
    else
        tl_simulate_plane_free(&made);
    return status;
}

static double smooth_step(double t) {
    t = fmin(fmax(t, 0.0), 1.0);
    return t * t * (3.0 - 2.0 * t);
}

/* Share of the pixel that lies on the card, which is tilted as the discs on it are. */
static double card_share(const tl_simulate_card *card, const tl_simulate_place *place, double x,
                         double y) {
    if (!card->on || card->width_sr <= 0.0 || card->height_sr <= 0.0)
        return 1.0;
    const double(*m)[2] = place->round;
    double dx = (x - place->sun_x) / place->sun_r, dy = (y - place->sun_y) / place->sun_r;
    double u = m[0][0] * dx + m[0][1] * dy - card->x_sr;
    double v = m[1][0] * dx + m[1][1] * dy - card->y_sr;
    double c = cos(card->turn_deg * TL_DEG), s = sin(card->turn_deg * TL_DEG);
    double inside = fmin(0.5 * card->width_sr - fabs(c * u + s * v),
                         0.5 * card->height_sr - fabs(c * v - s * u));
    return smooth_step(inside * place->sun_r / CARD_EDGE_PX + 0.5);
}

/* What a shadow leaves of the light. */
static double shadow_at(const tl_simulate_shadow *shadow, const tl_simulate_place *place, double x,
                        double y) {
    double a = shadow->direction_deg * TL_DEG;
    double across = ((x - place->sun_x) / place->sun_r - shadow->x_sr) * cos(a) +
                    ((y - place->sun_y) / place->sun_r - shadow->y_sr) * sin(a);
    double inside = shadow->width_sr > 0.0 ? 0.5 * shadow->width_sr - fabs(across) : across;
    return 1.0 - shadow->depth * smooth_step(inside / shadow->soft_sr + 0.5);
}

tl_simulate_lit tl_simulate_lit_at(const tl_simulate_settings *settings,
                                   const tl_simulate_place *place, double x, double y) {
    tl_simulate_lit lit = {card_share(&settings->card, place, x, y), 1.0, 1.0};
    for (int i = 0; i < settings->shadow_count; i++) {
        double left = shadow_at(&settings->shadow[i], place, x, y);
        if (settings->shadow[i].over == TL_SHADED_ALL)
            lit.all *= left;
        else
            lit.background *= left;
    }
    return lit;
}
