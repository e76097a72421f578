/*
 * stragglers.c - frames that cannot be turned by their own Moon and time: the known spots do it.
 *
 * A whole disc before first or after last contact has no Moon: two spots and more tell its turn. An
 * undated frame has a Moon but two times, one on each side of maximum, for which the Moon stands on
 * different sides of the Sun: only one of them puts the spots where they are.
 */
#include <math.h>

#include "spot/follow_internal.h"

/* Log-likelihoods that decide: as strong as for the mirror, see follow.c. */
#define DECIDES 5.0
/* A turn that two marks made up by chance: it must explain this much more. */
#define TURN_SCORE 8.0

/* The turn that puts one mark on one spot. */
static double turn_between(const tl_view_mark *mark, const tl_follow_spot *spot,
                           const tl_model *model, const tl_sky *sky, bool mirrored, bool *can) {
    double x, y;
    *can = tl_model_place_at(model, sky, mirrored, 0.0, spot->latitude_rad, spot->carrington_rad,
                             &x, &y);
    /* With more up_pa a frame that is not mirrored shows things turned to the right. */
    const double off = *can ? atan2(mark->y, mark->x) - atan2(y, x) : 0.0;
    return mirrored ? -off : off;
}

static void turn_whole_disc(const tl_views *views, tl_model *model, size_t frame) {
    const tl_view *view = &views->view[frame];
    double best = TURN_SCORE, best_up = 0.0, best_sigma = 0.0;
    const bool mirrored = model->mirrored[frame];
    for (size_t j = 0; j < view->count; j++) {
        for (size_t s = 0; s < model->spots; s++) {
            bool can;
            const tl_view_mark *mark = &view->mark[j];
            const double r = hypot(mark->x, mark->y);
            const double up =
                turn_between(mark, &model->spot[s], model, &view->sky, mirrored, &can);
            if (!can || mark->cut || !(r > 0.0))
                continue;
            const double sigma = model->level * hypot(mark->sigma, model->spot[s].sigma_sr) / r;
            size_t matched = 0;
            const double score =
                tl_match_try(views, model, frame, &view->sky, mirrored, up, sigma, &matched);
            if (matched >= 2 && score > best) {
                best = score;
                best_up = up;
                best_sigma = sigma;
            }
        }
    }
    if (best > TURN_SCORE) {
        model->has_up[frame] = true;
        model->up_rad[frame] = best_up;
        model->up_sigma_rad[frame] = best_sigma;
    }
}

/* Before or after maximum, by where its Moon would put the spots. */
static void choose_side(tl_views *views, tl_model *model, size_t frame, tl_spot_turn *turn) {
    tl_view *view = &views->view[frame];
    double score[2];
    size_t matched[2];
    for (size_t side = 0; side < 2; side++) {
        const tl_sky *sky = &view->in->sky[side];
        score[side] = tl_match_try(views, model, frame, sky, model->mirrored[frame],
                                   tl_view_up(view, sky, model->mirrored[frame]),
                                   view->direction_sigma_rad, &matched[side]);
    }
    const size_t side = score[1] > score[0] ? 1 : 0;
    if (matched[side] == 0 || score[side] - score[1 - side] < DECIDES)
        return;
    view->open = false;
    view->has_sky = true;
    view->sky = view->in->sky[side];
    turn->has_side = true;
    turn->side = (int)side;
    model->has_up[frame] = true;
    model->up_rad[frame] = tl_view_up(view, &view->sky, model->mirrored[frame]);
    model->up_sigma_rad[frame] = view->direction_sigma_rad;
}

void tl_stragglers_turn(tl_views *views, tl_model *model, tl_spot_turn *turn) {
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        if (model->has_up[i] || model->hand_open[i] || view->count == 0)
            continue;
        if (view->open && view->has_moon)
            choose_side(views, model, i, &turn[i]);
        else if (view->has_sky)
            turn_whole_disc(views, model, i);
    }
}
