/*
 * spot_accuracy_score.c - one analysed series against its truth: which mark and which spot of the
 * list is which true spot, and what is missed, false or confused.
 *
 * A mark is a true spot's when its centre lies within that spot's radius and 3 arcsec of it. A spot
 * of the list is the true one that most of its marks are; where most are none, it is false.
 */
#include <math.h>

#include "spot_accuracy.h"

static const double MARK_ARCSEC = 3.0;
/* A spot is to be found when it is this far from both limbs and this near to the centre. */
static const double LIMB_CLEAR_SR = 0.03, CENTRE_MOST_RAD = 75.0 * TL_DEG;
static const double LARGE_ARCSEC = 8.0; /* umbra */

enum { LIST_MAX = 128 };

size_t spot_frame_of(const spot_truth *truth, const char *path) {
    const char *slash = strrchr(path, '/');
    size_t i = 0;
    while (i < truth->frame_count &&
           strcmp(truth->frame[i].file, slash != NULL ? slash + 1 : path) != 0)
        i++;
    return i;
}

static bool has_circle(const tl_limb *limb) {
    return limb->status == TL_LIMB_MEASURED || limb->status == TL_LIMB_SUN_ONLY;
}

/* Number of the true spot that a mark of frame `f` is, or -1. */
static int true_spot_at(const spot_truth *truth, size_t f, const tl_spot_mark *mark) {
    double sun_r_px = truth->frame[f].circle[TL_SUN_R], best = 1.0;
    int found = -1;
    for (size_t s = 0; s < truth->spot_count; s++) {
        const spot_true_sight *sight = &truth->sight[s][f];
        if (sight->state != SPOT_IS_VISIBLE && sight->state != SPOT_IS_ON_LIMB)
            continue;
        double reach_px = sun_r_px * (sight->radius_sr + MARK_ARCSEC / SPOT_SUN_ARCSEC);
        double off = hypot(mark->x_px - sight->x_px, mark->y_px - sight->y_px) / reach_px;
        if (off < best) {
            best = off;
            found = (int)s;
        }
    }
    return found;
}

static bool on_dust(const spot_truth *truth, const tl_spot_mark *mark) {
    for (size_t d = 0; d < truth->dust_count; d++)
        if (hypot(mark->x_px - truth->dust[d].x_px, mark->y_px - truth->dust[d].y_px) <
            1.5 * truth->dust[d].radius_px)
            return true;
    return false;
}

/* ---- the list ---- */

typedef struct votes {
    size_t of[LIST_MAX][SPOT_TRUE_MAX + 1]; /* last: of no true spot */
} votes;

static votes *count_votes(const spot_truth *truth, const tl_sequence *sequence,
                          const size_t *frame_of) {
    votes *v = calloc(1, sizeof *v);
    for (size_t i = 0; v != NULL && i < sequence->count; i++) {
        const tl_spot_marks *marks = &sequence->frame[i].marks;
        for (size_t m = 0; m < marks->count && frame_of[i] < truth->frame_count; m++) {
            const tl_spot_mark *mark = &marks->mark[m];
            if (mark->kind != TL_MARK_SPOT || mark->spot >= LIST_MAX)
                continue;
            int s = true_spot_at(truth, frame_of[i], mark);
            v->of[mark->spot][s >= 0 ? s : SPOT_TRUE_MAX]++;
        }
    }
    return v;
}

/* Who each spot of the list is, by majority. */
static void name_spots(const spot_truth *truth, const tl_sequence *sequence, const votes *v,
                       int owner[LIST_MAX], spot_tally *tally) {
    size_t names[SPOT_TRUE_MAX] = {0};
    for (size_t k = 0; k < LIST_MAX; k++) {
        size_t best = SPOT_TRUE_MAX, kinds = 0;
        owner[k] = -1;
        if (k >= sequence->spots.count || !sequence->spots.spot[k].in_pictures)
            continue;
        for (size_t s = 0; s < truth->spot_count; s++) {
            kinds += v->of[k][s] > 0 ? 1 : 0;
            if (v->of[k][s] > 0 && v->of[k][s] >= v->of[k][best])
                best = s;
        }
        tally->listed++;
        tally->mixed += kinds > 1 ? 1 : 0;
        if (best == SPOT_TRUE_MAX) {
            tally->false_spots++;
        } else {
            owner[k] = (int)best;
            names[best]++;
        }
    }
    for (size_t s = 0; s < truth->spot_count; s++)
        tally->two_names += names[s] > 1 ? 1 : 0;
}

/* ---- marks ---- */

static void score_mark(const spot_truth *truth, size_t f, const tl_spot_mark *mark,
                       spot_tally *tally) {
    bool is_spot = true_spot_at(truth, f, mark) >= 0;
    switch (mark->kind) {
    case TL_MARK_SPOT:
        tally->false_marks += is_spot ? 0 : 1;
        tally->dust_as_spot += !is_spot && on_dust(truth, mark) ? 1 : 0;
        break;
    case TL_MARK_DUST:
        tally->spots_as_dust += is_spot ? 1 : 0;
        break;
    default:
        tally->unplaced += is_spot ? 0 : 1;
        tally->unplaced_spots += is_spot ? 1 : 0;
    }
}

/* Pieces of dust that lie on the bright part of the disc, and whether they are known for it. */
static void score_dust(const spot_truth *truth, size_t f, const tl_spot_marks *marks,
                       spot_tally *tally) {
    const double *c = truth->frame[f].circle;
    for (size_t d = 0; d < truth->dust_count; d++) {
        double x = truth->dust[d].x_px, y = truth->dust[d].y_px, clear_px = LIMB_CLEAR_SR * c[2];
        double reach_px = truth->dust[d].radius_px;
        if (hypot(x - c[TL_SUN_X], y - c[TL_SUN_Y]) > c[TL_SUN_R] - reach_px - clear_px ||
            hypot(x - c[TL_MOON_X], y - c[TL_MOON_Y]) < c[TL_MOON_R] + reach_px + clear_px)
            continue;
        tally->dust_due++;
        for (size_t m = 0; m < marks->count; m++) {
            const tl_spot_mark *mark = &marks->mark[m];
            if (mark->kind == TL_MARK_DUST && hypot(mark->x_px - x, mark->y_px - y) < reach_px) {
                tally->dust_known++;
                break;
            }
        }
    }
}

/* The disc's place of a picture position by the circle measured; flattening taken out. */
static void disc_from_limb(const tl_limb *limb, double x_px, double y_px, double *x_sr,
                           double *y_sr) {
    double dx = (x_px - limb->circle[TL_SUN_X]) / limb->circle[TL_SUN_R];
    double dy = (y_px - limb->circle[TL_SUN_Y]) / limb->circle[TL_SUN_R];
    double flat = limb->flattening > 0.0 ? limb->flattening : 1.0;
    double along = (dx * limb->flat_x + dy * limb->flat_y) * (1.0 / flat - 1.0);
    *x_sr = dx + along * limb->flat_x;
    *y_sr = dy + along * limb->flat_y;
}

static void score_place(const spot_truth *truth, size_t f, const spot_true_sight *sight,
                        const tl_limb *limb, const tl_spot_mark *mark, spot_tally *tally) {
    const truth_row *row = &truth->frame[f];
    double to_arcsec = SPOT_SUN_ARCSEC / row->circle[TL_SUN_R], x, y, true_x, true_y;
    spot_errors_add(tally, SPOT_ERROR_PICTURE,
                    hypot(mark->x_px - sight->x_px, mark->y_px - sight->y_px) * to_arcsec, 0.0);
    disc_from_limb(limb, mark->x_px, mark->y_px, &x, &y);
    tl_frame_from_sky(row->up_pa_deg * TL_DEG, row->mirrored, sight->east_sr, sight->north_sr,
                      &true_x, &true_y);
    spot_errors_add(tally, SPOT_ERROR_DISC, hypot(x - true_x, y - true_y) * SPOT_SUN_ARCSEC, 0.0);
}

static bool is_due(const spot_true_sight *sight) {
    return sight->state == SPOT_IS_VISIBLE && sight->from_sun_sr > LIMB_CLEAR_SR &&
           sight->from_moon_sr > LIMB_CLEAR_SR &&
           hypot(sight->east_sr, sight->north_sr) < sin(CENTRE_MOST_RAD);
}

/* Whether one true spot was found in one frame, and where. */
static void score_sight(const spot_truth *truth, size_t s, size_t f, const tl_sequence_frame *frame,
                        const int *owner, spot_tally *tally) {
    const spot_true_sight *sight = &truth->sight[s][f];
    const tl_spot_mark *found = NULL;
    bool marked = false;
    for (size_t m = 0; m < frame->marks.count; m++) {
        const tl_spot_mark *mark = &frame->marks.mark[m];
        if (true_spot_at(truth, f, mark) != (int)s)
            continue;
        marked = true;
        if (mark->kind == TL_MARK_SPOT && mark->spot < LIST_MAX && owner[mark->spot] == (int)s)
            found = mark;
    }
    if (found != NULL && sight->state == SPOT_IS_VISIBLE && !found->cut)
        score_place(truth, f, sight, &frame->limb, found, tally);
    if (is_due(sight)) {
        int size = truth->spot[s].umbra_arcsec > LARGE_ARCSEC ? SPOT_LARGE : SPOT_SMALL;
        tally->due[size]++;
        tally->found[size] += found != NULL ? 1 : 0;
        tally->marked[size] += marked ? 1 : 0;
    }
}

/* What the list says happens to its spots in a frame, where it says anything. */
static void score_states(const spot_truth *truth, size_t f, size_t i, const tl_sequence *sequence,
                         const int *owner, spot_tally *tally) {
    const tl_spots *spots = &sequence->spots;
    for (size_t k = 0; k < spots->count && k < LIST_MAX; k++) {
        if (owner[k] < 0 || spots->sight == NULL || i >= spots->frame_count)
            continue;
        tl_spot_state said = spots->sight[k * spots->frame_count + i].state;
        spot_true_state is = truth->sight[owner[k]][f].state;
        if (said == TL_SPOT_UNKNOWN || is == SPOT_IS_BEHIND)
            continue;
        tally->states_due++;
        tally->states_right += (said == TL_SPOT_VISIBLE && is == SPOT_IS_VISIBLE) ||
                                       (said == TL_SPOT_ON_LIMB && is == SPOT_IS_ON_LIMB) ||
                                       (said == TL_SPOT_COVERED && is == SPOT_IS_COVERED)
                                   ? 1
                                   : 0;
    }
}

static void score_frame(const spot_truth *truth, size_t f, size_t i, const tl_sequence *sequence,
                        const int *owner, spot_tally *tally) {
    const tl_sequence_frame *frame = &sequence->frame[i];
    tally->measured++;
    for (size_t m = 0; m < frame->marks.count; m++)
        score_mark(truth, f, &frame->marks.mark[m], tally);
    score_dust(truth, f, &frame->marks, tally);
    for (size_t s = 0; s < truth->spot_count; s++)
        score_sight(truth, s, f, frame, owner, tally);
    score_states(truth, f, i, sequence, owner, tally);
}

void spot_score(const spot_truth *truth, const tl_sequence *sequence, tl_mirror without_spots,
                spot_tally *tally) {
    int owner[LIST_MAX];
    size_t *frame_of = malloc((sequence->count + 1) * sizeof *frame_of);
    for (size_t i = 0; frame_of != NULL && i < sequence->count; i++)
        frame_of[i] = spot_frame_of(truth, sequence->frame[i].path);
    votes *v = frame_of != NULL ? count_votes(truth, sequence, frame_of) : NULL;
    tally->series++;
    if (v == NULL) {
        tally->no_memory = true;
        free(frame_of);
        return;
    }
    name_spots(truth, sequence, v, owner, tally);
    for (size_t i = 0; i < sequence->count; i++) {
        if (frame_of[i] == truth->frame_count)
            continue;
        tally->frames++;
        if (has_circle(&sequence->frame[i].limb))
            score_frame(truth, frame_of[i], i, sequence, owner, tally);
    }
    spot_score_list(truth, sequence, owner, tally);
    spot_score_turns(truth, sequence, without_spots, frame_of, tally);
    free(v);
    free(frame_of);
}
