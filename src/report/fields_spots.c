/*
 * fields_spots.c - the columns on sunspots in a picture, and on its turn by them.
 */
#include <math.h>

#include "report/fields_internal.h"
#include "report/spots_internal.h"

static void add_turn_by(const tl_report_row *r, tl_report_text *text) {
    static const char *const name[] = {[TL_TURN_NONE] = "",
                                       [TL_TURN_BY_MOON] = "moon",
                                       [TL_TURN_BY_RULE] = "rule",
                                       [TL_TURN_BY_SPOTS] = "spots"};
    if (r->track->has_turn)
        tl_report_text_add(text, name[r->track->turn_by]);
}

static double up_sigma(const tl_report_row *r) {
    return tl_report_known_if(r->track->has_turn,
                              tl_report_positive(r->track->up_sigma_rad / TL_DEG));
}

static void add_spots(const tl_report_row *r, tl_report_text *text) {
    tl_report_words_sights(r->sequence, r->i, text);
}

static double marks(const tl_report_row *r) {
    return tl_report_known_if(r->frame->marks.searched, (double)r->frame->marks.count);
}

static double dust(const tl_report_row *r) {
    size_t count = 0;
    for (size_t k = 0; k < r->frame->marks.count; k++)
        count += r->frame->marks.mark[k].kind == TL_MARK_DUST;
    return tl_report_known_if(r->frame->marks.searched, (double)count);
}

static double turn_up(const tl_report_row *r) {
    const tl_spot_turn *turn = tl_report_spot_turn(r->sequence, r->i);
    return tl_report_known_if(turn->has_turn, tl_angle_positive(turn->up_pa_rad) / TL_DEG);
}

static double turn_sigma(const tl_report_row *r) {
    const tl_spot_turn *turn = tl_report_spot_turn(r->sequence, r->i);
    return tl_report_known_if(turn->has_turn, turn->sigma_rad / TL_DEG);
}

static double turn_spots(const tl_report_row *r) {
    const tl_spot_turn *turn = tl_report_spot_turn(r->sequence, r->i);
    return tl_report_known_if(turn->has_turn, (double)turn->spots);
}

static double turn_mirrored(const tl_report_row *r) {
    const tl_spot_turn *turn = tl_report_spot_turn(r->sequence, r->i);
    return tl_report_known_if(turn->has_turn && r->sequence->spots.mirror_decided, turn->mirrored);
}

static double moon_up(const tl_report_row *r) {
    double up, sigma;
    return tl_report_moon_turn(r->sequence, r->i, &up, &sigma) ? up / TL_DEG : NAN;
}

static double moon_up_sigma(const tl_report_row *r) {
    double up, sigma;
    return tl_report_moon_turn(r->sequence, r->i, &up, &sigma) ? sigma / TL_DEG : NAN;
}

const tl_report_field tl_report_fields_spots[] = {
    COLUMN_STRING("turn_by", add_turn_by),
    COLUMN_SIGNIFICANT("up_sigma_deg", up_sigma, 2),
    COLUMN_STRING("spots", add_spots),
    COLUMN_FIXED("dark_marks", marks, 0),
    COLUMN_FIXED("dust_marks", dust, 0),
    COLUMN_FIXED("spot_up_pa_deg", turn_up, 2),
    COLUMN_SIGNIFICANT("spot_up_sigma_deg", turn_sigma, 2),
    COLUMN_FIXED("spot_turn_count", turn_spots, 0),
    COLUMN_FLAG("spot_mirrored", turn_mirrored),
    COLUMN_FIXED("moon_up_pa_deg", moon_up, 2),
    COLUMN_SIGNIFICANT("moon_up_sigma_deg", moon_up_sigma, 2),
    {0},
};
