/*
 * seeds.c - the first places of spots: marks that, put on the Sun by their frames' own turns, agree
 * in several frames.
 *
 * Each mark in turn is taken for a spot; the one that explains most marks of other frames becomes
 * one, its marks are taken, and so on until nothing more than chance is left.
 */
#include <math.h>

#include "spot/follow_internal.h"

/* Of long series only so many marks are tried as seeds in each round, evenly spread: a spot worth
 * the name is seen in a good part of the frames. */
enum { SEEDS_MAX = 240 };

bool tl_seed_spot(const tl_model *model, const tl_view *view, size_t frame,
                  const tl_view_mark *mark, tl_follow_spot *spot) {
    double east, north;
    tl_sky_from_frame(model->up_rad[frame], model->mirrored[frame], mark->x, mark->y, &east,
                      &north);
    *spot = (tl_follow_spot){.missing = mark->missing};
    if (!tl_spot_unproject(&view->sky, east, north, &spot->latitude_rad, &spot->carrington_rad))
        return false;
    spot->carrington_rad -=
        tl_spot_drift_rad(spot->latitude_rad, view->sky.t_utc_s - model->epoch_utc_s);
    spot->sigma_sr = hypot(mark->sigma, hypot(mark->x, mark->y) * model->up_sigma_rad[frame]);
    const tl_spot_mark *seen = &view->in->marks->mark[mark->mark];
    spot->radius_sr = sqrt(seen->area_px2 / TL_PI) / view->in->limb->circle[TL_SUN_R];
    return true;
}

/* The best one among the marks that are not taken; its score is 0 if there is none. */
static tl_follow_spot best_seed(const tl_views *views, const tl_model *model) {
    const size_t stride = views->marks / SEEDS_MAX + 1;
    tl_follow_spot best = {0};
    size_t number = 0;
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        const size_t *owner = model->taken + (view->mark - views->store);
        for (size_t j = 0; model->has_up[i] && j < view->count; j++) {
            tl_follow_spot spot;
            if (owner[j] != TL_FOLLOW_NONE || view->mark[j].cut || number++ % stride != 0 ||
                !tl_seed_spot(model, view, i, &view->mark[j], &spot))
                continue;
            tl_match_alone(views, model, &spot);
            if (spot.seen >= 2 && spot.score > best.score)
                best = spot;
        }
    }
    return best;
}

void tl_seeds_find(const tl_views *views, tl_model *model) {
    while (model->spots < TL_FOLLOW_SPOTS_MAX) {
        const size_t known = model->spots;
        const tl_follow_spot best = best_seed(views, model);
        if (!(best.score > 0.0))
            break;
        model->spot[model->spots++] = best;
        tl_match(views, model);
        if (model->spots <= known) /* too weak, or it took the marks of another one */
            break;
    }
}
