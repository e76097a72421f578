/*
 * match.c - which mark is which spot, and how well that explains all the marks.
 *
 * Likelihood: a mark is chance, anywhere on the disc with the frame's own density of marks, or it
 * belongs to a spot, normal about its place. The score is the log of the ratio, summed; a spot that
 * should be seen and is not costs the log of how often that happens.
 */
#include <math.h>
#include <stdlib.h>

#include "spot/follow_internal.h"

/* Beyond this chi^2 (two coordinates and the size) a mark is not the spot's: once in 1,000. */
#define GATE_CHI2 16.0
/* Marks in a frame that are chance, where none is seen: our own choice, of no weight where frames
 * hold marks. */
#define CHANCE_MARKS 0.3
/* How far missing light of one spot differs between frames, natural log: tone curves and haze
 * (measured on simulated phone pictures: a factor of 1.5 to 2). */
#define MISSING_SIGMA 0.6
/* How often a spot that should be seen is missed: more than the one in twenty of clear frames, for
 * frames are not all clear. */
#define MISS_LIKELIHOOD 0.15
/* A spot explains more than chance by this log-likelihood: "strong" on the scale of Kass & Raftery
 * (1995), Journal of the American Statistical Association 90:773, for one of some 20 that could be
 * tried. */
#define KEEP_SCORE 6.0

/* What taking this mark for that spot explains; -HUGE_VAL if it cannot be. */
static double gain(const tl_view *view, const tl_view_mark *mark, const tl_follow_spot *spot,
                   double level, double up_sigma_rad, double x, double y) {
    const double r2 = x * x + y * y, dx = mark->x - x, dy = mark->y - y, level2 = level * level;
    const double own2 = level2 * (mark->sigma * mark->sigma + spot->sigma_sr * spot->sigma_sr);
    const double across2 = own2 + level2 * r2 * up_sigma_rad * up_sigma_rad;
    /* most marks are far off: no roots and logarithms for them */
    if (!(dx * dx + dy * dy < GATE_CHI2 * across2))
        return -HUGE_VAL;
    const double r = sqrt(r2), ux = r > 0.0 ? x / r : 1.0, uy = r > 0.0 ? y / r : 0.0;
    const double along_off = dx * ux + dy * uy, across_off = dy * ux - dx * uy;
    const double size_off = mark->cut ? 0.0 : log(mark->missing / spot->missing) / MISSING_SIGMA;
    const double chi2 =
        along_off * along_off / own2 + across_off * across_off / across2 + size_off * size_off;
    if (!(chi2 < GATE_CHI2))
        return -HUGE_VAL;
    const double density = fmax((double)view->count, CHANCE_MARKS) / TL_PI;
    return -log(2.0 * TL_PI * sqrt(own2 * across2) * density) - 0.5 * chi2;
}

typedef struct place {
    bool there;
    double x, y;
} place;

typedef struct pair {
    double gain;
    size_t spot, mark;
} pair;

/* Best first; those alike by spot and mark, so that the order is always the same. */
static int by_gain(const void *a, const void *b) {
    const pair *one = a, *other = b;
    if (one->gain != other->gain)
        return one->gain > other->gain ? -1 : 1;
    if (one->spot != other->spot)
        return one->spot < other->spot ? -1 : 1;
    return one->mark < other->mark ? -1 : 1;
}

/* Best pairs first. `owner` is filled with the spot for each mark of the frame, or TL_FOLLOW_NONE,
 * `spot_gain` with what each spot's mark explains, 0 for none; returns the sum of the gains. */
static double pair_up(const tl_view *view, const tl_model *model, double up_sigma_rad,
                      const place *at, size_t *owner, double spot_gain[TL_FOLLOW_SPOTS_MAX]) {
    pair found[TL_FOLLOW_SPOTS_MAX * TL_SPOT_MARKS_MAX];
    size_t count = 0;
    double sum = 0.0;
    for (size_t j = 0; j < view->count; j++)
        owner[j] = TL_FOLLOW_NONE;
    for (size_t s = 0; s < model->spots; s++) {
        spot_gain[s] = 0.0;
        for (size_t j = 0; at[s].there && j < view->count; j++) {
            const double g = gain(view, &view->mark[j], &model->spot[s], model->level, up_sigma_rad,
                                  at[s].x, at[s].y);
            if (g > 0.0)
                found[count++] = (pair){g, s, j};
        }
    }
    qsort(found, count, sizeof *found, by_gain);
    for (size_t k = 0; k < count; k++) {
        const pair *p = &found[k];
        if (owner[p->mark] != TL_FOLLOW_NONE || spot_gain[p->spot] > 0.0)
            continue;
        owner[p->mark] = p->spot;
        spot_gain[p->spot] = p->gain;
        sum += p->gain;
    }
    return sum;
}

double tl_match_try(const tl_views *views, const tl_model *model, size_t frame, const tl_sky *sky,
                    bool mirrored, double up_rad, double up_sigma_rad, size_t *matched) {
    tl_view view = views->view[frame];
    place at[TL_FOLLOW_SPOTS_MAX];
    size_t owner[TL_SPOT_MARKS_MAX];
    double spot_gain[TL_FOLLOW_SPOTS_MAX];
    view.sky = *sky;
    for (size_t s = 0; s < model->spots; s++)
        at[s].there = tl_model_place_at(model, sky, mirrored, up_rad, model->spot[s].latitude_rad,
                                        model->spot[s].carrington_rad, &at[s].x, &at[s].y);
    double score = pair_up(&view, model, up_sigma_rad, at, owner, spot_gain);
    size_t count = 0;
    for (size_t s = 0; s < model->spots; s++) {
        count += spot_gain[s] > 0.0;
        if (at[s].there && !(spot_gain[s] > 0.0) &&
            tl_model_expect(&view, &model->spot[s], at[s].x, at[s].y) == TL_SPOT_VISIBLE)
            score += log(MISS_LIKELIHOOD);
    }
    if (matched != NULL)
        *matched = count;
    return score;
}

void tl_match_alone(const tl_views *views, const tl_model *model, tl_follow_spot *spot) {
    double best_gain = 0.0;
    spot->seen = spot->missed = 0;
    spot->score = 0.0;
    for (size_t i = 0; i < views->count; i++) {
        const tl_view *view = &views->view[i];
        const size_t *owner = model->taken + (view->mark - views->store);
        double x, y, best = 0.0;
        if (!model->has_up[i] ||
            !tl_model_place(model, view, i, spot->latitude_rad, spot->carrington_rad, &x, &y))
            continue;
        for (size_t j = 0; j < view->count; j++)
            if (owner[j] == TL_FOLLOW_NONE)
                best = fmax(best, gain(view, &view->mark[j], spot, model->level,
                                       model->up_sigma_rad[i], x, y));
        if (best > 0.0) {
            spot->seen++;
            spot->score += best;
            best_gain = fmax(best_gain, best);
        } else if (tl_model_expect(view, spot, x, y) == TL_SPOT_VISIBLE) {
            spot->missed++;
            spot->score += log(MISS_LIKELIHOOD);
        }
    }
    spot->score -= best_gain; /* the place is free to choose: its best mark explains only itself */
}

static bool explains(const tl_follow_spot *spot) {
    return spot->seen >= 2 && spot->score > KEEP_SCORE;
}

/* Marks of one frame to the spots; adds to their tallies. */
static void match_frame(const tl_views *views, tl_model *model, size_t frame,
                        double best_gain[TL_FOLLOW_SPOTS_MAX]) {
    const tl_view *view = &views->view[frame];
    size_t *owner = model->taken + (view->mark - views->store);
    place at[TL_FOLLOW_SPOTS_MAX];
    double spot_gain[TL_FOLLOW_SPOTS_MAX];
    if (!model->has_up[frame]) {
        for (size_t j = 0; j < view->count; j++)
            owner[j] = TL_FOLLOW_NONE;
        return;
    }
    for (size_t s = 0; s < model->spots; s++)
        at[s].there = tl_model_place(model, view, frame, model->spot[s].latitude_rad,
                                     model->spot[s].carrington_rad, &at[s].x, &at[s].y);
    pair_up(view, model, model->up_sigma_rad[frame], at, owner, spot_gain);
    for (size_t s = 0; s < model->spots; s++) {
        tl_follow_spot *spot = &model->spot[s];
        if (spot_gain[s] > 0.0) {
            spot->seen++;
            spot->score += spot_gain[s];
            best_gain[s] = fmax(best_gain[s], spot_gain[s]);
        } else if (at[s].there &&
                   tl_model_expect(view, spot, at[s].x, at[s].y) == TL_SPOT_VISIBLE) {
            spot->missed++;
            spot->score += log(MISS_LIKELIHOOD);
        }
    }
}

/* Without the spots that explain too little. */
static bool prune(tl_model *model, const double best_gain[TL_FOLLOW_SPOTS_MAX]) {
    size_t kept = 0;
    for (size_t s = 0; s < model->spots; s++) {
        model->spot[s].score -= best_gain[s]; /* as above */
        if (explains(&model->spot[s]))
            model->spot[kept++] = model->spot[s];
    }
    const bool pruned = kept < model->spots;
    model->spots = kept;
    return pruned;
}

void tl_match(const tl_views *views, tl_model *model) {
    bool again = true;
    while (again) {
        double best_gain[TL_FOLLOW_SPOTS_MAX] = {0.0};
        for (size_t s = 0; s < model->spots; s++) {
            model->spot[s].seen = model->spot[s].missed = 0;
            model->spot[s].score = 0.0;
        }
        for (size_t i = 0; i < views->count; i++)
            match_frame(views, model, i, best_gain);
        again = prune(model, best_gain);
    }
    model->score = 0.0;
    for (size_t s = 0; s < model->spots; s++)
        model->score += model->spot[s].score + tl_known_gain(model->known, &model->spot[s]);
}
