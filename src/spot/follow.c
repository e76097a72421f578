/*
 * follow.c - the same spots through the series: once for each hand that the pictures may have, the
 * better one kept.
 *
 * A picture mirrored and one not mirrored put a mark on opposite sides of the line from the Sun to
 * the Moon. The Moon goes round, and the Sun turns, so that marks only stay together on the Sun
 * for the right hand. In a central eclipse that the camera saw from one side, with small spots and
 * few frames, both hands may do: then it is said, and nothing is placed.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "spot/follow_internal.h"

/* Natural log of a ratio of 150 : "very strong" on the scale of Kass & Raftery (1995), Journal of
 * the American Statistical Association 90:773. Decides the hand of a camera, and of a frame. */
#define DECIDES 5.0
/* One frame against the rest of its camera, or against what the Moon's turn says: a star diagonal
 * is rarely taken out between two pictures. */
#define DECIDES_AGAINST 10.0
enum { ROUNDS = 4, HAND_PASSES = 3 };

/* What the hypotheses share. */
typedef struct work {
    tl_views views;
    tl_known known;
    tl_model best, trial;
    double *scratch; /* three values for each mark */
    size_t cameras;
    double (*hand_score)[2]; /* owned; per camera: the best with it not mirrored, mirrored */
} work;

static void work_free(work *w) {
    tl_views_free(&w->views);
    tl_model_free(&w->best);
    tl_model_free(&w->trial);
    tl_known_free(&w->known);
    free(w->scratch);
    free(w->hand_score);
}

static tl_status work_make(tl_spot_frame_in *in, size_t count, const tl_spot_options *options,
                           work *w) {
    *w = (work){0};
    tl_status status = tl_views_make(in, count, &w->views);
    if (status == TL_OK)
        status = tl_known_make(options, &w->known);
    if (status == TL_OK)
        status = tl_model_make(&w->views, options->epoch_utc_s, &w->known, &w->best);
    if (status == TL_OK)
        status = tl_model_make(&w->views, options->epoch_utc_s, &w->known, &w->trial);
    for (size_t i = 0; i < count; i++)
        w->cameras = in[i].camera >= w->cameras ? in[i].camera + 1 : w->cameras;
    w->scratch = malloc((3 * w->views.marks + 1) * sizeof *w->scratch);
    w->hand_score = malloc((w->cameras + 1) * sizeof *w->hand_score);
    return status == TL_OK && (w->scratch == NULL || w->hand_score == NULL) ? TL_ERR_MEMORY
                                                                            : status;
}

/* Fit, and which mark is which, until they agree. */
static tl_status settle(work *w, tl_model *model) {
    tl_status status = TL_OK;
    for (int round = 0; round < ROUNDS && status == TL_OK && model->spots > 0; round++) {
        tl_model_sizes(&w->views, model, w->scratch);
        status = tl_joint_fit(&w->views, model);
        if (status == TL_OK)
            tl_match(&w->views, model);
    }
    return status;
}

/* The model for the hands it has. */
static tl_status solve(work *w, tl_model *model) {
    tl_model_start(&w->views, model);
    tl_seeds_find(&w->views, model);
    return settle(w, model);
}

static bool user_said(const tl_spot_options *options) {
    return options->mirror != TL_MIRROR_AUTO;
}

static bool has_open_hand(const work *w, size_t camera) {
    for (size_t i = 0; i < w->views.count; i++)
        if (w->views.view[i].in->camera == camera && w->views.view[i].in->mirror == TL_MIRROR_AUTO)
            return true;
    return false;
}

static void first_hands(const work *w, const tl_spot_options *options, bool open_mirrored,
                        tl_model *model) {
    for (size_t i = 0; i < w->views.count; i++) {
        const tl_mirror said = user_said(options) ? options->mirror : w->views.view[i].in->mirror;
        model->mirrored[i] = said == TL_MIRROR_AUTO ? open_mirrored : said == TL_MIRROR_YES;
        model->hand_open[i] = false;
    }
}

/* The other hand for the frames of a camera that have none given, or for all if all have; false for
 * a number that no camera has. */
static bool turn_camera(const work *w, size_t camera, tl_model *model) {
    const bool only_open = has_open_hand(w, camera);
    bool any = false;
    for (size_t i = 0; i < w->views.count; i++) {
        const tl_spot_frame_in *in = w->views.view[i].in;
        if (in->camera != camera || (only_open && in->mirror != TL_MIRROR_AUTO))
            continue;
        any = true;
        model->mirrored[i] = !model->mirrored[i];
    }
    return any;
}

static void forget_hands(work *w) {
    for (size_t c = 0; c < w->cameras; c++)
        w->hand_score[c][0] = w->hand_score[c][1] = -HUGE_VAL;
}

/* What a model explains with the hands that it has. */
static void note_hands(work *w, const tl_model *model) {
    for (size_t i = 0; i < w->views.count; i++) {
        const tl_spot_frame_in *in = w->views.view[i].in;
        double *score = &w->hand_score[in->camera][model->mirrored[i] ? 1 : 0];
        if (in->mirror == TL_MIRROR_AUTO)
            *score = fmax(*score, model->score);
    }
}

/* Solve the trial; keep it if it explains more by so much. */
static tl_status weigh_trial(work *w, double by, bool *kept) {
    const tl_status status = solve(w, &w->trial);
    if (status != TL_OK)
        return status;
    note_hands(w, &w->trial);
    *kept = w->trial.score > w->best.score + by;
    if (*kept)
        tl_model_copy(&w->trial, &w->best);
    return TL_OK;
}

/* The other hand for each camera by itself: those whose hand is open, or those where it is not. */
static tl_status turn_each(work *w, bool open, double by, bool *kept_any) {
    tl_status status = TL_OK;
    *kept_any = false;
    for (size_t c = 0; c < w->cameras && status == TL_OK; c++) {
        bool kept = false;
        if (has_open_hand(w, c) != open)
            continue;
        tl_model_copy(&w->best, &w->trial);
        if (turn_camera(w, c, &w->trial))
            status = weigh_trial(w, by, &kept);
        *kept_any = *kept_any || kept;
    }
    return status;
}

/* The other hand for all open cameras at once: where the mirror cannot be told they all fit as
 * well, while one turned by itself does not fit the others. */
static tl_status turn_all_open(work *w) {
    bool kept;
    tl_model_copy(&w->best, &w->trial);
    for (size_t c = 0; c < w->cameras; c++)
        if (has_open_hand(w, c))
            turn_camera(w, c, &w->trial);
    return weigh_trial(w, 0.0, &kept);
}

/* Search the open hands; leaves what each of them explains at best. */
static tl_status search_hands(work *w, const tl_spot_options *options) {
    bool kept = true;
    first_hands(w, options, true, &w->trial);
    tl_status status = weigh_trial(w, 0.0, &kept);
    if (status == TL_OK)
        status = turn_each(w, false, DECIDES_AGAINST, &kept);
    forget_hands(w); /* cameras that were turned against the track make old scores too small */
    note_hands(w, &w->best);
    kept = true;
    for (int pass = 0; pass < HAND_PASSES && kept && status == TL_OK; pass++)
        status = turn_each(w, true, 0.0, &kept);
    return status == TL_OK ? turn_all_open(w) : status;
}

/* Leave out the cameras whose hand is not decided; is one of them? */
static bool leave_open(work *w, tl_spots *spots) {
    bool any = false;
    spots->mirror_score = HUGE_VAL;
    for (size_t i = 0; i < w->views.count; i++) {
        const tl_spot_frame_in *in = w->views.view[i].in;
        const double *score = w->hand_score[in->camera];
        if (in->mirror != TL_MIRROR_AUTO)
            continue;
        const double margin = fabs(score[1] - score[0]);
        spots->mirror_score = fmin(spots->mirror_score, margin);
        w->best.hand_open[i] = !(margin >= DECIDES);
        any = any || w->best.hand_open[i];
    }
    return any;
}

/* The hands of the cameras. */
static tl_status choose_hands(work *w, const tl_spot_options *options, tl_spots *spots) {
    bool any_open = false, kept;
    first_hands(w, options, false, &w->best);
    tl_status status = solve(w, &w->best);
    for (size_t c = 0; c < w->cameras; c++)
        any_open = any_open || has_open_hand(w, c);
    if (status != TL_OK || user_said(options))
        return status;
    if (!any_open)
        return turn_each(w, false, DECIDES_AGAINST, &kept);
    forget_hands(w);
    status = search_hands(w, options);
    if (status != TL_OK)
        return status;
    const bool left = leave_open(w, spots);
    spots->mirror_decided = !left;
    return left ? solve(w, &w->best) : TL_OK;
}

/* Single frames that are the other way round. */
static tl_status flip_frames(work *w, const tl_spot_options *options) {
    bool flipped = false;
    if (user_said(options))
        return TL_OK;
    for (size_t i = 0; i < w->views.count; i++) {
        const tl_view *view = &w->views.view[i];
        if (!w->best.has_up[i] || !view->has_moon || view->count == 0)
            continue;
        double score[2];
        size_t matched[2];
        for (int hand = 0; hand < 2; hand++)
            score[hand] = tl_match_try(&w->views, &w->best, i, &view->sky, hand == 1,
                                       tl_view_up(view, &view->sky, hand == 1),
                                       view->direction_sigma_rad, &matched[hand]);
        const int now = w->best.mirrored[i] ? 1 : 0;
        if (matched[1 - now] > 0 && score[1 - now] > score[now] + DECIDES_AGAINST) {
            w->best.mirrored[i] = !w->best.mirrored[i];
            flipped = true;
        }
    }
    return flipped ? solve(w, &w->best) : TL_OK;
}

static void find_turns(const work *w, tl_spots *spots) {
    for (size_t i = 0; i < w->views.count; i++) {
        tl_spot_turn *turn = &spots->turn[i];
        if (!w->best.has_up[i])
            continue;
        turn->known = true;
        turn->mirrored = w->best.mirrored[i];
        turn->joint_up_pa_rad = tl_angle_positive(w->best.up_rad[i]);
        turn->joint_sigma_rad = w->best.up_sigma_rad[i];
        turn->has_turn =
            tl_joint_turn(&w->views, &w->best, i, &turn->up_pa_rad, &turn->sigma_rad, &turn->spots);
        turn->up_pa_rad = tl_angle_positive(turn->up_pa_rad);
    }
}

/* One sentence on what stood in the way. */
static void write_note(const work *w, tl_spots *spots) {
    size_t turned = 0, open = 0;
    for (size_t i = 0; i < w->views.count; i++) {
        turned += w->views.view[i].has_sky && w->views.view[i].has_moon;
        open += w->best.hand_open[i];
    }
    if (w->views.marks == 0 || w->best.spots > 0)
        return;
    if (turned == 0)
        snprintf(spots->note, sizeof spots->note,
                 "Dark marks are on the Sun, but without true times the pictures cannot be "
                 "turned, so they cannot be placed.");
    else if (open > 0)
        snprintf(spots->note, sizeof spots->note,
                 "Dark marks are on the Sun, but both a mirrored and a true view explain them: "
                 "say which with --mirror yes or no, and they can be placed.");
    else
        snprintf(spots->note, sizeof spots->note,
                 "Dark marks are in the pictures, but none keeps its place on the Sun from one "
                 "to the next: dust, cloud, or spots too faint to follow.");
}

static tl_status follow(work *w, const tl_spot_options *options, tl_spots *spots) {
    bool could_be[TL_FOLLOW_SPOTS_MAX] = {false};
    /* An observer's place that is a little off puts the Moon a little off, in all frames alike; in
     * a central eclipse that must not decide the hand. */
    tl_views_doubt_moon(&w->views, hypot(options->moon_sigma_sr, TL_TRACK_FLOOR_SR));
    tl_status status = choose_hands(w, options, spots);
    if (status == TL_OK)
        status = flip_frames(w, options);
    tl_views_doubt_moon(&w->views, 0.0);
    if (status == TL_OK)
        status = solve(w, &w->best);
    if (status != TL_OK)
        return status;
    tl_stragglers_turn(&w->views, &w->best, spots->turn);
    tl_match(&w->views, &w->best);
    status = settle(w, &w->best);
    if (status != TL_OK)
        return status;
    tl_dust_mark(&w->views, &w->best, could_be, &spots->dust_count);
    const size_t followed = w->best.spots;
    if (tl_single_add(&w->views, &w->best) > 0)
        for (size_t s = followed; s < w->best.spots; s++)
            could_be[s] = true;
    status = tl_joint_fit(&w->views, &w->best);
    if (status == TL_OK) {
        find_turns(w, spots);
        spots->noise_level = w->best.scatter;
        status = tl_describe(&w->views, &w->best, options, could_be, spots);
    }
    if (status == TL_OK)
        status = tl_known_add(&w->views, &w->best, &w->known, spots);
    if (status == TL_OK)
        write_note(w, spots);
    return status;
}

tl_status tl_spots_follow(tl_spot_frame_in *in, size_t count, const tl_spot_options *options,
                          tl_spots *spots) {
    tl_spots found = {.frame_count = count, .noise_level = 1.0};
    work w;
    found.turn = calloc(count + 1, sizeof *found.turn);
    tl_status status = found.turn == NULL ? TL_ERR_MEMORY : TL_OK;
    for (size_t i = 0; i < count; i++)
        for (size_t j = 0; j < in[i].marks->count; j++)
            in[i].marks->mark[j].kind = TL_MARK_UNPLACED;
    if (status == TL_OK) {
        status = work_make(in, count, options, &w);
        if (status == TL_OK)
            status = follow(&w, options, &found);
        work_free(&w);
    }
    if (status == TL_OK)
        *spots = found;
    else
        tl_spots_free(&found);
    return status;
}
