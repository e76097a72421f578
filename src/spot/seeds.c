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

/* The marks that are not taken, as spots, with what each explains; how many. */
static size_t draw_seeds(const tl_views *views, const tl_model *model,
                         tl_follow_spot seed[SEEDS_MAX]) {
    const size_t stride = views->marks / SEEDS_MAX + 1;
    size_t number = 0, count = 0;
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        const size_t *owner = model->taken + (view->mark - views->store);
        for (size_t j = 0; model->has_up[i] && j < view->count; j++) {
            if (owner[j] != TL_FOLLOW_NONE || view->mark[j].cut || number++ % stride != 0 ||
                !tl_seed_spot(model, view, i, &view->mark[j], &seed[count]))
                continue;
            tl_match_alone(views, model, &seed[count++]);
        }
    }
    return count;
}

/*
 * The best seed, taken out of the list; its score is 0 if there is none. Spots found since the list
 * was drawn have taken marks from the others, whose scores have fallen: only one that heads the
 * list with its score of now is the best.
 */
static tl_follow_spot best_seed(const tl_views *views, const tl_model *model,
                                tl_follow_spot seed[SEEDS_MAX], size_t *count) {
    for (size_t last = *count;;) { /* the one whose score is that of now */
        size_t best = *count;
        for (size_t k = 0; k < *count; k++)
            if (seed[k].seen >= 2 && seed[k].score > (best < *count ? seed[best].score : 0.0))
                best = k;
        if (best == *count)
            return (tl_follow_spot){0};
        if (best == last) {
            const tl_follow_spot found = seed[best];
            seed[best] = seed[--*count];
            return found;
        }
        tl_match_alone(views, model, &seed[best]);
        last = best;
    }
}

void tl_seeds_find(const tl_views *views, tl_model *model) {
    tl_follow_spot seed[SEEDS_MAX];
    size_t count = 0, added = 1;
    while (model->spots < TL_FOLLOW_SPOTS_MAX) {
        const tl_follow_spot best = best_seed(views, model, seed, &count);
        if (!(best.score > 0.0)) {
            if (added == 0)
                break;
            added = 0;
            count = draw_seeds(views, model, seed);
            continue;
        }
        const size_t known = model->spots;
        model->spot[model->spots++] = best;
        tl_match(views, model);
        if (model->spots <= known) /* too weak, or it took the marks of another one */
            break;
        added++;
    }
}
