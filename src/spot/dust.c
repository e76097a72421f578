/*
 * dust.c - dust stays put in the frame of its camera, a sunspot stays put on the Sun.
 *
 * Told apart by where the marks lie in the picture while the Sun moves in it. On a camera that
 * follows the Sun well both look the same; that is said.
 */
#include <math.h>
#include <stdlib.h>

#include "spot/follow_internal.h"

/* How far marks of one speck lie from each other, px: their own errors come on top. */
#define SPECK_PX 2.0
#define SPECK_SIGMAS 3.0
/* The middle of a mark is never known better than this, px: the grid of pixels (our choice). */
#define STILL_PX 0.7
/* The Sun has moved when it took a spot this many times further than a speck's marks scatter. */
#define MOVED 3.0
/* A spot is dust when its marks scatter less than this share in the frame of what they do on the
 * Sun. */
#define DUST_SHARE 0.5
/* Only so many frames before it are looked at for the same speck: dust stays for longer. */
enum { WINDOW = 64 };

static bool same_frame_of_view(const tl_view *a, const tl_view *b) {
    return a->in->camera == b->in->camera && a->in->width == b->in->width &&
           a->in->height == b->in->height;
}

static tl_spot_mark *mark_of(const tl_view *view, size_t j) {
    return &view->in->marks->mark[view->mark[j].mark];
}

/* How marks of a spot scatter in the frame and on the Sun, and how far the Sun took it, all rms px.
 */
typedef struct scatter {
    size_t count;
    double in_frame, on_sun, moved;
} scatter;

typedef struct sums {
    double n, x, y, xx, yy;
} sums;

static void add(sums *s, double x, double y) {
    s->n += 1.0;
    s->x += x;
    s->y += y;
    s->xx += x * x;
    s->yy += y * y;
}

static double spread(const sums *s) {
    const double vx = s->xx / s->n - (s->x / s->n) * (s->x / s->n);
    const double vy = s->yy / s->n - (s->y / s->n) * (s->y / s->n);
    return sqrt(fmax(vx, 0.0) + fmax(vy, 0.0));
}

/* Among the frames that share camera and size with frame `like`. */
static scatter spot_scatter(const tl_views *views, const tl_model *model, size_t s, size_t like) {
    sums seen = {0}, predicted = {0};
    double off2 = 0.0;
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        const size_t *owner = model->taken + (view->mark - views->store);
        for (size_t j = 0; j < view->count; j++) {
            double x, y, px, py;
            if (owner[j] != s || !same_frame_of_view(view, &views->view[like]) ||
                !tl_model_place(model, view, i, model->spot[s].latitude_rad,
                                model->spot[s].carrington_rad, &x, &y))
                continue;
            tl_spot_picture_from_disc(view->in->limb, x, y, &px, &py);
            const tl_spot_mark *mark = mark_of(view, j);
            add(&seen, mark->x_px, mark->y_px);
            add(&predicted, px, py);
            off2 += (mark->x_px - px) * (mark->x_px - px) + (mark->y_px - py) * (mark->y_px - py);
        }
    }
    if (seen.n < 2.0)
        return (scatter){0};
    return (scatter){(size_t)seen.n, spread(&seen), sqrt(off2 / seen.n), spread(&predicted)};
}

typedef enum verdict { IS_SPOT, COULD_BE_DUST, IS_DUST } verdict;

/* One camera in which the Sun moved is enough to tell. */
static verdict judge(const tl_views *views, const tl_model *model, size_t s) {
    verdict worst = COULD_BE_DUST;
    for (size_t i = 0; i < views->count; i++) {
        bool first = true; /* of its camera and size */
        for (size_t k = 0; k < i && first; k++)
            first = !same_frame_of_view(&views->view[k], &views->view[i]);
        if (!first)
            continue;
        const scatter sc = spot_scatter(views, model, s, i);
        if (sc.count < 2)
            continue;
        const double still = fmax(fmin(sc.in_frame, sc.on_sun), STILL_PX);
        if (sc.moved < MOVED * still)
            continue;
        if (sc.in_frame >= DUST_SHARE * sc.on_sun)
            return IS_SPOT;
        worst = IS_DUST;
    }
    return worst;
}

/* The same place in another frame of that camera, the Sun having moved? */
static bool speck_in(const tl_view *view, size_t j, const tl_view *other) {
    const tl_spot_mark *mark = mark_of(view, j);
    for (size_t k = 0; k < other->count; k++) {
        const tl_spot_mark *its = mark_of(other, k);
        const double tolerance = SPECK_PX + SPECK_SIGMAS * hypot(mark->sigma_px, its->sigma_px);
        const double r_px = view->in->limb->circle[TL_SUN_R];
        if (its->kind != TL_MARK_SPOT &&
            hypot(mark->x_px - its->x_px, mark->y_px - its->y_px) < tolerance &&
            hypot(view->mark[j].x - other->mark[k].x, view->mark[j].y - other->mark[k].y) * r_px >
                MOVED * tolerance)
            return true;
    }
    return false;
}

static void mark_specks(const tl_views *views, size_t *dust) {
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        for (size_t j = 0; j < view->count; j++) {
            if (mark_of(view, j)->kind != TL_MARK_UNPLACED)
                continue;
            bool before = false, after = false;
            for (size_t k = i > WINDOW ? i - WINDOW : 0; k < i && !before; k++)
                before =
                    same_frame_of_view(view, &views->view[k]) && speck_in(view, j, &views->view[k]);
            for (size_t k = i + 1; k < views->count && k <= i + WINDOW && !before && !after; k++)
                after =
                    same_frame_of_view(view, &views->view[k]) && speck_in(view, j, &views->view[k]);
            if (before || after)
                mark_of(view, j)->kind = TL_MARK_DUST;
            *dust += after; /* the first time that this speck is seen */
        }
    }
}

void tl_dust_mark(const tl_views *views, tl_model *model, bool could_be[TL_FOLLOW_SPOTS_MAX],
                  size_t *dust) {
    size_t to[TL_FOLLOW_SPOTS_MAX], kept = 0;
    *dust = 0;
    for (size_t s = 0; s < model->spots; s++) {
        const verdict v = judge(views, model, s);
        to[s] = v == IS_DUST ? TL_FOLLOW_NONE : kept;
        if (v == IS_DUST) {
            (*dust)++;
            continue;
        }
        could_be[kept] = v == COULD_BE_DUST;
        model->spot[kept++] = model->spot[s];
    }
    model->spots = kept;
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        size_t *owner = model->taken + (view->mark - views->store);
        for (size_t j = 0; j < view->count; j++) {
            tl_spot_mark *mark = mark_of(view, j);
            mark->kind = TL_MARK_UNPLACED;
            if (owner[j] == TL_FOLLOW_NONE)
                continue;
            owner[j] = to[owner[j]];
            mark->kind = owner[j] == TL_FOLLOW_NONE ? TL_MARK_DUST : TL_MARK_SPOT;
        }
    }
    mark_specks(views, dust);
}
