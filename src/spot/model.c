/*
 * model.c - one hypothesis of what is on the Sun and how the frames were turned.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "limb/limb_internal.h"
#include "spot/follow_internal.h"

/* A spot on which the lunar limb stands, or that is as near as the blur, may be seen or not. */
#define LIMB_MARGIN_SR 0.012
/* Outermost part of the disc, where marks are not looked for or rarely found. */
#define OUTER_SR 0.96
/* A spot is expected to be found when its contrast is this many times the noise: beyond the limit
 * of detection by so much that the frame's own noise cannot hide it. */
#define SURE_SIGMAS 10.0
/* ... and it is this dark at least: common practice, no source; the detection's own floor is below
 * it. */
#define SURE_CONTRAST 0.04
/* Where more than this share of the seen disc is burnt out a spot may be lost in it. */
#define BURNT_SHARE 0.15

tl_status tl_model_make(const tl_views *views, double epoch_utc_s, const tl_known *known,
                        tl_model *model) {
    tl_model made = {.epoch_utc_s = epoch_utc_s,
                     .known = known,
                     .frames = views->count,
                     .marks = views->marks,
                     .scatter = 1.0,
                     .level = 1.0};
    made.mirrored = calloc(made.frames + 1, sizeof *made.mirrored);
    made.hand_open = calloc(made.frames + 1, sizeof *made.hand_open);
    made.has_up = calloc(made.frames + 1, sizeof *made.has_up);
    made.up_rad = calloc(made.frames + 1, sizeof *made.up_rad);
    made.up_sigma_rad = calloc(made.frames + 1, sizeof *made.up_sigma_rad);
    made.taken = calloc(made.marks + 1, sizeof *made.taken);
    if (made.mirrored == NULL || made.hand_open == NULL || made.has_up == NULL ||
        made.up_rad == NULL || made.up_sigma_rad == NULL || made.taken == NULL) {
        tl_model_free(&made);
        return TL_ERR_MEMORY;
    }
    *model = made;
    return TL_OK;
}

void tl_model_copy(const tl_model *from, tl_model *to) {
    tl_model copy = *from;
    copy.mirrored = to->mirrored;
    copy.hand_open = to->hand_open;
    copy.has_up = to->has_up;
    copy.up_rad = to->up_rad;
    copy.up_sigma_rad = to->up_sigma_rad;
    copy.taken = to->taken;
    memcpy(copy.mirrored, from->mirrored, from->frames * sizeof *copy.mirrored);
    memcpy(copy.hand_open, from->hand_open, from->frames * sizeof *copy.hand_open);
    memcpy(copy.has_up, from->has_up, from->frames * sizeof *copy.has_up);
    memcpy(copy.up_rad, from->up_rad, from->frames * sizeof *copy.up_rad);
    memcpy(copy.up_sigma_rad, from->up_sigma_rad, from->frames * sizeof *copy.up_sigma_rad);
    memcpy(copy.taken, from->taken, from->marks * sizeof *copy.taken);
    *to = copy;
}

void tl_model_free(tl_model *model) {
    free(model->mirrored);
    free(model->hand_open);
    free(model->has_up);
    free(model->up_rad);
    free(model->up_sigma_rad);
    free(model->taken);
    *model = (tl_model){0};
}

void tl_model_start(const tl_views *views, tl_model *model) {
    model->spots = 0;
    model->scatter = model->level = 1.0;
    model->score = 0.0;
    for (size_t i = 0; i < model->frames; i++) {
        const tl_view *view = &views->view[i];
        model->has_up[i] = view->has_sky && view->has_moon && !model->hand_open[i];
        model->up_rad[i] =
            model->has_up[i] ? tl_view_up(view, &view->sky, model->mirrored[i]) : 0.0;
        model->up_sigma_rad[i] = view->direction_sigma_rad;
    }
    for (size_t i = 0; i < model->marks; i++)
        model->taken[i] = TL_FOLLOW_NONE;
}

bool tl_model_place_at(const tl_model *model, const tl_sky *sky, bool mirrored, double up_rad,
                       double latitude_rad, double carrington_rad, double *x_sr, double *y_sr) {
    double east, north;
    const double now =
        carrington_rad + tl_spot_drift_rad(latitude_rad, sky->t_utc_s - model->epoch_utc_s);
    if (!tl_spot_project(sky, latitude_rad, now, &east, &north))
        return false;
    tl_frame_from_sky(up_rad, mirrored, east, north, x_sr, y_sr);
    return true;
}

bool tl_model_place(const tl_model *model, const tl_view *view, size_t frame, double latitude_rad,
                    double carrington_rad, double *x_sr, double *y_sr) {
    return tl_model_place_at(model, &view->sky, model->mirrored[frame], model->up_rad[frame],
                             latitude_rad, carrington_rad, x_sr, y_sr);
}

tl_spot_state tl_model_expect(const tl_view *view, const tl_follow_spot *spot, double x_sr,
                              double y_sr) {
    const tl_limb *limb = view->in->limb;
    const tl_spot_marks *marks = view->in->marks;
    if (view->moon_seen) {
        const double edge = hypot(x_sr - view->moon_x, y_sr - view->moon_y) - view->sky.ratio;
        if (edge < -spot->radius_sr)
            return TL_SPOT_COVERED;
        if (edge < spot->radius_sr)
            return TL_SPOT_ON_LIMB;
        if (edge < spot->radius_sr + LIMB_MARGIN_SR)
            return TL_SPOT_UNKNOWN;
    }
    double x_px, y_px;
    tl_spot_picture_from_disc(limb, x_sr, y_sr, &x_px, &y_px);
    if (hypot(x_sr, y_sr) > OUTER_SR || x_px < 0.0 || y_px < 0.0 || x_px > view->in->width - 1.0 ||
        y_px > view->in->height - 1.0)
        return TL_SPOT_UNKNOWN;
    if (!marks->searched || marks->clipped_share > BURNT_SHARE)
        return TL_SPOT_UNKNOWN;
    /* Missing light spread over the blur and the spot itself: the contrast in its middle. */
    const double blur = limb->blur_px / limb->circle[TL_SUN_R];
    const double spread = blur * blur + 0.25 * spot->radius_sr * spot->radius_sr;
    const double contrast = spot->missing / (2.0 * TL_PI * spread);
    if (contrast < SURE_CONTRAST || contrast < SURE_SIGMAS * view->depth_noise)
        return TL_SPOT_UNKNOWN;
    return TL_SPOT_VISIBLE;
}

void tl_model_sizes(const tl_views *views, tl_model *model, double *scratch) {
    for (size_t s = 0; s < model->spots; s++) {
        size_t n = 0;
        double *missing = scratch, *radius = missing + views->marks, *blur = radius + views->marks;
        for (size_t i = 0; i < views->count; i++) {
            const tl_view *view = &views->view[i];
            const size_t *owner = model->taken + (view->mark - views->store);
            for (size_t j = 0; j < view->count; j++) {
                if (owner[j] != s || view->mark[j].cut)
                    continue;
                const tl_spot_mark *mark = &view->in->marks->mark[view->mark[j].mark];
                missing[n] = view->mark[j].missing;
                blur[n] = mark->blur_px / view->in->limb->circle[TL_SUN_R];
                radius[n++] = sqrt(mark->area_px2 / TL_PI) / view->in->limb->circle[TL_SUN_R];
            }
        }
        if (n == 0)
            continue;
        model->spot[s].missing = tl_limb_median(missing, n);
        model->spot[s].radius_sr = tl_limb_median(radius, n);
        model->spot[s].blur_sr = tl_limb_median(blur, n);
    }
}
