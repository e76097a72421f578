/*
 * views.c - what each frame can say: its marks on the disc, and how it was turned by its own Moon.
 */
#include <math.h>
#include <stdlib.h>

#include "spot/follow_internal.h"

/* A direction in a picture is no better than this: lenses bend it (our own choice; the errors of
 * places are then honest to cautious, docs/accuracy.md). */
#define DIRECTION_FLOOR_RAD (0.01 * TL_DEG)
/* A uniform direction has a sigma of 1.8 rad; beyond this one says next to nothing. */
#define DIRECTION_USELESS_RAD 0.35
/* Marks wander within their spot as blur and haze change: share of its radius (measured on
 * simulated groups, see docs/accuracy.md). */
#define SHAPE_SHARE 0.02
/* A cut mark has lost up to half of its spot. */
#define CUT_SHARE 0.5

double tl_view_up(const tl_view *view, const tl_sky *sky, bool mirrored) {
    return sky->pa_rad - (mirrored ? -view->direction_rad : view->direction_rad);
}

static void see_moon(tl_view *view) {
    const tl_limb *limb = view->in->limb;
    if (limb->status != TL_LIMB_MEASURED)
        return;
    const double x = limb->offset_x_sr, y = limb->offset_y_sr, s = hypot(x, y);
    view->moon_seen = true;
    view->moon_x = x;
    view->moon_y = y;
    if (!(s > 0.0) || !view->in->in_track)
        return;
    const double across =
        (y * y * limb->offset_xx - 2.0 * x * y * limb->offset_xy + x * x * limb->offset_yy) /
        (s * s);
    view->direction_rad = atan2(-x, -y); /* base.h: x = -r sin, y = -r cos of PA - up_pa */
    view->separation_sr = s;
    view->own_sigma_rad =
        hypot(hypot(sqrt(fmax(across, 0.0)) / s, DIRECTION_FLOOR_RAD), view->in->moon_pa_sigma_rad);
    view->direction_sigma_rad = view->own_sigma_rad;
    view->has_moon = view->direction_sigma_rad < DIRECTION_USELESS_RAD;
}

void tl_views_doubt_moon(tl_views *views, double moon_sigma_sr) {
    for (size_t i = 0; i < views->count; i++) {
        tl_view *view = &views->view[i];
        if (view->has_moon)
            view->direction_sigma_rad =
                hypot(view->own_sigma_rad, moon_sigma_sr / view->separation_sr);
    }
}

static void see_marks(tl_view *view) {
    const tl_limb *limb = view->in->limb;
    const double r_px = limb->circle[TL_SUN_R];
    const double veil = view->in->marks->depth_scale > 0.0 ? view->in->marks->depth_scale : 1.0;
    const double centre_px =
        sqrt(0.5 * (limb->covariance[TL_SUN_X][TL_SUN_X] + limb->covariance[TL_SUN_Y][TL_SUN_Y]));
    const double scale = sqrt(limb->covariance[TL_SUN_R][TL_SUN_R]) / r_px;
    /* A lens that bends lengths enough to show in the Moon's offset bends those on the disc as
     * well. */
    view->bent_sr = limb->status == TL_LIMB_MEASURED ? limb->separation_sigma_sr : 0.0;
    view->depth_noise = view->in->marks->noise / veil;
    for (size_t i = 0; i < view->in->marks->count; i++) {
        const tl_spot_mark *from = &view->in->marks->mark[i];
        tl_view_mark *to = &view->mark[view->count];
        tl_spot_disc_from_picture(limb, from->x_px, from->y_px, &to->x, &to->y);
        const double r = hypot(to->x, to->y);
        if (!(r < 1.0))
            continue;
        const double radius_px = sqrt(from->area_px2 / TL_PI);
        const double shape_px = (from->cut ? CUT_SHARE : SHAPE_SHARE) * radius_px;
        to->mark = i;
        to->sigma =
            hypot(hypot(hypot(from->sigma_px, shape_px), hypot(centre_px, scale * r * r_px)) / r_px,
                  view->bent_sr);
        to->missing = from->missing_px2 / (veil * r_px * r_px);
        to->cut = from->cut;
        view->count++;
    }
}

tl_status tl_views_make(tl_spot_frame_in *in, size_t count, tl_views *views) {
    tl_views made = {.count = count};
    for (size_t i = 0; i < count; i++)
        made.marks += in[i].marks->count;
    made.view = calloc(count + 1, sizeof *made.view);
    made.store = calloc(made.marks + 1, sizeof *made.store);
    if (made.view == NULL || made.store == NULL) {
        tl_views_free(&made);
        return TL_ERR_MEMORY;
    }
    tl_view_mark *next = made.store;
    for (size_t i = 0; i < count; i++) {
        tl_view *view = &made.view[i];
        view->in = &in[i];
        view->mark = next;
        view->has_sky = in[i].sky_count == 1;
        view->open = in[i].sky_count == 2;
        view->sky = in[i].sky[0];
        if (in[i].marks->searched && in[i].limb->circle[TL_SUN_R] > 0.0) {
            see_moon(view);
            see_marks(view);
        }
        next += in[i].marks->count;
    }
    *views = made;
    return TL_OK;
}

void tl_views_free(tl_views *views) {
    free(views->view);
    free(views->store);
    *views = (tl_views){0};
}
