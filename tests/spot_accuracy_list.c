/*
 * spot_accuracy_list.c - places, sizes and times of the spots of the list; turns of the frames.
 */
#include <math.h>

#include "spot_accuracy.h"

static const double PLACE_MOST_RAD = 60.0 * TL_DEG; /* from the centre: places count within it */

static void score_spot_place(const spot_true *is, const tl_spot *spot, spot_tally *tally) {
    if (hypot(is->east_sr, is->north_sr) < sin(PLACE_MOST_RAD)) {
        spot_errors_add(tally, SPOT_ERROR_LATITUDE,
                        (spot->latitude_rad - is->latitude_rad) / TL_DEG,
                        spot->latitude_sigma_rad / TL_DEG);
        spot_errors_add(tally, SPOT_ERROR_LONGITUDE,
                        tl_angle_signed(spot->carrington_rad - is->carrington_rad) / TL_DEG,
                        spot->longitude_sigma_rad / TL_DEG);
    }
    spot_errors_add(tally, SPOT_ERROR_RADIUS, spot->radius_sr / is->radius_sr - 1.0,
                    spot->radius_sigma_sr / is->radius_sr);
    spot_errors_add(tally, SPOT_ERROR_AREA, spot->area_ppm / is->area_ppm - 1.0,
                    spot->area_sigma_ppm / is->area_ppm);
}

static void score_passage(const double is_utc_s[TL_SPOT_TOUCHES], const tl_spot_passage *said,
                          spot_tally *tally) {
    static const int TOUCH[2] = {TL_SPOT_FIRST, TL_SPOT_LAST};
    if (!said->occurs || isnan(is_utc_s[TL_SPOT_CENTRE]))
        return;
    spot_errors_add(tally, SPOT_ERROR_CENTRE,
                    said->t_utc_s[TL_SPOT_CENTRE] - is_utc_s[TL_SPOT_CENTRE], said->sigma_s);
    for (int i = 0; i < 2; i++)
        if (said->whole && !isnan(is_utc_s[TOUCH[i]]))
            spot_errors_add(tally, SPOT_ERROR_TOUCH, said->t_utc_s[TOUCH[i]] - is_utc_s[TOUCH[i]],
                            said->touch_sigma_s);
}

static void score_spot_times(const spot_true *is, const tl_spot *spot, spot_tally *tally) {
    if (!spot->has_passages)
        return;
    bool covered = !isnan(is->covered_utc_s[TL_SPOT_CENTRE]);
    if (covered) {
        tally->covers_due++;
        tally->covers_right += spot->covered.occurs && spot->uncovered.occurs ? 1 : 0;
    } else {
        tally->misses_due++;
        tally->misses_right += !spot->covered.occurs && !spot->uncovered.occurs ? 1 : 0;
    }
    tally->unsure += spot->unsure ? 1 : 0;
    score_passage(is->covered_utc_s, &spot->covered, tally);
    score_passage(is->uncovered_utc_s, &spot->uncovered, tally);
}

void spot_score_list(const spot_truth *truth, const tl_sequence *sequence, const int *owner,
                     spot_tally *tally) {
    for (size_t k = 0; k < sequence->spots.count; k++) {
        const tl_spot *spot = &sequence->spots.spot[k];
        if (!spot->in_pictures || owner[k] < 0)
            continue;
        score_spot_place(&truth->spot[owner[k]], spot, tally);
        score_spot_times(&truth->spot[owner[k]], spot, tally);
    }
}

/* The turn that the Moon of a frame alone tells: the direction of the offset, found less true. */
static void score_moon_turn(const truth_row *row, const tl_limb *limb, spot_tally *tally) {
    double x = limb->offset_x_sr, y = limb->offset_y_sr, true_x, true_y;
    double apart2 = x * x + y * y;
    if (limb->status != TL_LIMB_MEASURED || !(apart2 > 0.0))
        return;
    tl_frame_from_sky(row->up_pa_deg * TL_DEG, row->mirrored, sin(row->moon_pa_deg * TL_DEG),
                      cos(row->moon_pa_deg * TL_DEG), &true_x, &true_y);
    double error = tl_angle_signed(atan2(y, x) - atan2(true_y, true_x));
    double across2 =
        (limb->offset_xx * y * y - 2.0 * limb->offset_xy * x * y + limb->offset_yy * x * x) /
        apart2;
    spot_errors_add(tally, SPOT_ERROR_MOON_TURN, error / TL_DEG,
                    sqrt(fmax(across2, 0.0) / apart2) / TL_DEG);
}

static int answer(tl_mirror said, bool mirrored) {
    if (said == TL_MIRROR_AUTO)
        return SPOT_OPEN;
    return (said == TL_MIRROR_YES) == mirrored ? SPOT_RIGHT : SPOT_WRONG;
}

void spot_score_turns(const spot_truth *truth, const tl_sequence *sequence, tl_mirror without_spots,
                      const size_t *frame_of, spot_tally *tally) {
    bool mirrored = truth->frame[0].mirrored; /* of a series, one and the same */
    const tl_spots *spots = &sequence->spots;
    tally->mirror[answer(tl_track_main(&sequence->track)->mirrored, mirrored)]++;
    tally->mirror_alone[answer(without_spots, mirrored)]++;
    for (size_t i = 0; i < sequence->count && spots->turn != NULL && i < spots->frame_count; i++) {
        const tl_spot_turn *turn = &spots->turn[i];
        if (!turn->has_turn || frame_of[i] == truth->frame_count)
            continue;
        const truth_row *row = &truth->frame[frame_of[i]];
        tally->hand_due++;
        if (turn->mirrored != row->mirrored) {
            tally->hand_wrong++;
            continue;
        }
        spot_errors_add(tally, SPOT_ERROR_TURN,
                        tl_angle_signed(turn->up_pa_rad - row->up_pa_deg * TL_DEG) / TL_DEG,
                        turn->sigma_rad / TL_DEG);
        score_moon_turn(row, &sequence->frame[i].limb, tally);
    }
}
