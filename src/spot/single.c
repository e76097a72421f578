/*
 * single.c - spots of which there is one mark only: the Moon covered them in all other frames that
 * could show them.
 */
#include <math.h>

#include "spot/follow_internal.h"

/* By itself a mark must be beyond doubt: detection asks for 6 (our own choice). */
#define ALONE_SIGMAS 10.0

static bool others_could_show(const tl_views *views, const tl_model *model, size_t but,
                              const tl_follow_spot *spot) {
    for (size_t i = 0; i < views->count; i++) {
        double x, y;
        if (i != but && model->has_up[i] &&
            tl_model_place(model, &views->view[i], i, spot->latitude_rad, spot->carrington_rad, &x,
                           &y) &&
            tl_model_expect(&views->view[i], spot, x, y) == TL_SPOT_VISIBLE)
            return true;
    }
    return false;
}

size_t tl_single_add(const tl_views *views, tl_model *model) {
    size_t added = 0;
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        size_t *owner = model->taken + (view->mark - views->store);
        for (size_t j = 0; model->has_up[i] && j < view->count; j++) {
            const tl_spot_mark *mark = &view->in->marks->mark[view->mark[j].mark];
            tl_follow_spot spot;
            if (model->spots == TL_FOLLOW_SPOTS_MAX || mark->kind != TL_MARK_UNPLACED ||
                mark->cut || mark->significance < ALONE_SIGMAS ||
                !tl_seed_spot(model, view, i, &view->mark[j], &spot) ||
                tl_model_expect(view, &spot, view->mark[j].x, view->mark[j].y) != TL_SPOT_VISIBLE ||
                others_could_show(views, model, i, &spot))
                continue;
            spot.seen = 1;
            owner[j] = model->spots;
            model->spot[model->spots++] = spot;
            added++;
        }
    }
    return added;
}
