/*
 * known.c - a user's list of spots against those found: it names them, speaks for the hand that
 * puts them where it has them, and adds those that were not found.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "spot/follow_internal.h"

/* A list gives the middle of a group, which is some degrees long, and one of its spots is found
 * (common practice, no source). */
#define GROUP_RAD (1.0 * TL_DEG)
/* How often a spot of a list is right, and one of those seen: our own choice; a list may be old. */
#define TRUST 0.5
#define NAME_SIGMAS 3.0
/* Mean contrast of a whole spot: umbra 0.3 and penumbra 0.8 of the photosphere (common practice),
 * penumbra over umbra 4.7 in area (arXiv 1905.06888). */
#define SPOT_CONTRAST 0.29

tl_status tl_known_make(const tl_spot_options *options, tl_known *known) {
    *known = (tl_known){0};
    const bool dated = options->epoch_sky.sun_radius_rad > 0.0;
    if (!dated || options->known == NULL || options->known->count == 0)
        return TL_OK;
    known->spot = calloc(options->known->count, sizeof *known->spot);
    if (known->spot == NULL)
        return TL_ERR_MEMORY;
    for (size_t k = 0; k < options->known->count; k++) {
        double east, north;
        tl_spot *spot = &known->spot[known->count];
        if (!tl_spot_list_nearest(options->known, k, options->epoch_utc_s))
            continue;
        tl_spot_at(&options->known->spot[k], options->epoch_utc_s, &options->epoch_sky, spot);
        if (tl_spot_project(&options->epoch_sky, spot->latitude_rad, spot->carrington_rad, &east,
                            &north))
            known->count++;
    }
    return TL_OK;
}

void tl_known_free(tl_known *known) {
    free(known->spot);
    *known = (tl_known){0};
}

/* Angle on the Sun between two places over its error, and that error's square. */
static double apart(const tl_spot *known, double latitude_rad, double carrington_rad,
                    double *variance) {
    const double c = cos(latitude_rad);
    const double dlat = latitude_rad - known->latitude_rad;
    const double dlon = c * tl_angle_signed(carrington_rad - known->carrington_rad);
    const double vlat =
        known->latitude_sigma_rad * known->latitude_sigma_rad + GROUP_RAD * GROUP_RAD;
    const double vlon =
        c * c * known->longitude_sigma_rad * known->longitude_sigma_rad + GROUP_RAD * GROUP_RAD;
    *variance = sqrt(vlat * vlon);
    return sqrt(dlat * dlat / vlat + dlon * dlon / vlon);
}

double tl_known_gain(const tl_known *known, const tl_follow_spot *spot) {
    double best = 0.0;
    for (size_t k = 0; k < known->count; k++) {
        double variance;
        const double off =
            apart(&known->spot[k], spot->latitude_rad, spot->carrington_rad, &variance);
        /* normal about that place, against anywhere on the hemisphere (2 pi) */
        best = fmax(best, log(TRUST / variance) - 0.5 * off * off);
    }
    return best;
}

/* Nearest pairs first; `had` marks those of the list that named one. */
static void name_found(const tl_known *known, tl_spots *spots, bool *had) {
    for (;;) {
        double best = NAME_SIGMAS;
        size_t best_known = 0, best_spot = 0;
        for (size_t s = 0; s < spots->count; s++) {
            for (size_t k = 0; k < known->count; k++) {
                double variance;
                const tl_spot *spot = &spots->spot[s];
                const double off =
                    apart(&known->spot[k], spot->latitude_rad, spot->carrington_rad, &variance);
                if (!had[k] && !spot->from_list && off < best) {
                    best = off;
                    best_known = k;
                    best_spot = s;
                }
            }
        }
        if (!(best < NAME_SIGMAS))
            return;
        had[best_known] = true;
        spots->spot[best_spot].from_list = true;
        memcpy(spots->spot[best_spot].name, known->spot[best_known].name, TL_SPOT_NAME_SIZE);
    }
}

/* Where one that was not found must be in each frame, and whether the Moon is over it. */
static void see_added(const tl_views *views, const tl_model *model, const tl_spot *spot,
                      tl_spot_sight *sight) {
    const tl_follow_spot as = {.latitude_rad = spot->latitude_rad,
                               .carrington_rad = spot->carrington_rad,
                               .radius_sr = spot->radius_sr,
                               .missing =
                                   SPOT_CONTRAST * TL_PI * spot->radius_sr * spot->radius_sr};
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        sight[i] = (tl_spot_sight){.state = TL_SPOT_UNKNOWN};
        if (!model->has_up[i] || !tl_model_place(model, view, i, as.latitude_rad, as.carrington_rad,
                                                 &sight[i].x_sr, &sight[i].y_sr))
            continue;
        sight[i].has_place = true;
        sight[i].state = tl_model_expect(view, &as, sight[i].x_sr, sight[i].y_sr);
        if (sight[i].state == TL_SPOT_VISIBLE) /* its size is not ours: missed would say too much */
            sight[i].state = TL_SPOT_UNKNOWN;
    }
}

tl_status tl_known_add(const tl_views *views, const tl_model *model, const tl_known *known,
                       tl_spots *spots) {
    if (known->count == 0)
        return TL_OK;
    const size_t frames = views->count;
    bool *had = calloc(known->count, sizeof *had);
    tl_spot *spot = realloc(spots->spot, (spots->count + known->count) * sizeof *spot);
    if (spot != NULL)
        spots->spot = spot;
    tl_spot_sight *sight =
        realloc(spots->sight, ((spots->count + known->count) * frames + 1) * sizeof *sight);
    if (sight != NULL)
        spots->sight = sight;
    if (had == NULL || spot == NULL || sight == NULL) {
        free(had);
        return TL_ERR_MEMORY;
    }
    name_found(known, spots, had);
    for (size_t k = 0; k < known->count; k++) {
        if (had[k])
            continue;
        spots->spot[spots->count] = known->spot[k];
        see_added(views, model, &known->spot[k], &spots->sight[spots->count * frames]);
        spots->count++;
    }
    free(had);
    return TL_OK;
}
