/*
 * spots.c - what the words, the tables and the drawings all ask of the sunspots.
 */
#include <math.h>

#include "report/spots_internal.h"

/* Nominal solar over nominal terrestrial equatorial radius: 695 700 km / 6378.1 km (IAU 2015
 * Resolution B3). */
static const double SUN_PER_EARTH = 695700.0 / 6378.1;

const char *const tl_report_spot_fate_name[TL_REPORT_SPOT_FATES] = {
    [TL_REPORT_SPOT_UNTIMED] = "times not known",
    [TL_REPORT_SPOT_COVERED] = "covered",
    [TL_REPORT_SPOT_DOWN] = "covered with the Sun down",
    [TL_REPORT_SPOT_GRAZED] = "covered in part, its centre not",
    [TL_REPORT_SPOT_FREE] = "not covered from here",
    [TL_REPORT_SPOT_UNSURE] = "not sure",
};

tl_report_spot_fate tl_report_spot_fate_of(const tl_spot *spot) {
    const tl_spot_passage *in = &spot->covered, *out = &spot->uncovered;
    if (!spot->has_passages)
        return TL_REPORT_SPOT_UNTIMED;
    if (spot->unsure)
        return TL_REPORT_SPOT_UNSURE;
    if (in->occurs || out->occurs)
        return (in->occurs && in->sun_up) || (out->occurs && out->sun_up) ? TL_REPORT_SPOT_COVERED
                                                                          : TL_REPORT_SPOT_DOWN;
    return spot->touched ? TL_REPORT_SPOT_GRAZED : TL_REPORT_SPOT_FREE;
}

const tl_spot_sight *tl_report_sight(const tl_sequence *sequence, size_t s, size_t i) {
    static const tl_spot_sight nothing;
    const tl_spots *spots = &sequence->spots;
    return spots->sight && s < spots->count && i < spots->frame_count ? tl_spots_sight(spots, s, i)
                                                                      : &nothing;
}

const tl_spot_turn *tl_report_spot_turn(const tl_sequence *sequence, size_t i) {
    static const tl_spot_turn nothing;
    const tl_spots *spots = &sequence->spots;
    return spots->turn && i < spots->frame_count ? &spots->turn[i] : &nothing;
}

bool tl_report_any_sight(const tl_sequence *sequence, size_t i) {
    for (size_t s = 0; s < sequence->spots.count; s++)
        if (tl_report_sight(sequence, s, i)->state != TL_SPOT_UNKNOWN)
            return true;
    return false;
}

size_t tl_report_searched(const tl_sequence *sequence) {
    size_t count = 0;
    for (size_t i = 0; i < sequence->count; i++)
        count += sequence->frame[i].marks.searched;
    return count;
}

bool tl_report_spot_camera(const tl_sequence *sequence, double t_utc_s, double sigma_s,
                           double *camera_s, double *camera_sigma_s) {
    const tl_clock *clock = &tl_track_main(&sequence->track)->clock;
    if (!clock->solved)
        return false;
    const double drifted_s = 1e-6 * clock->drift_sigma_ppm * (t_utc_s - clock->at_utc_s);
    *camera_s = t_utc_s + tl_report_clock_total(clock, t_utc_s);
    *camera_sigma_s = hypot(hypot(sigma_s, clock->sigma_s), drifted_s);
    return true;
}

double tl_report_spot_sigma(const tl_spot_passage *passage) {
    return hypot(passage->sigma_s, passage->floor_s);
}

int tl_report_spot_decimals(const tl_spot *spot) {
    const double covered_s = spot->covered.occurs ? tl_report_spot_sigma(&spot->covered) : 0.0;
    const double uncovered_s =
        spot->uncovered.occurs ? tl_report_spot_sigma(&spot->uncovered) : 0.0;
    return tl_report_decimals(fmax(covered_s, uncovered_s), 1);
}

bool tl_report_spot_sky(const tl_sequence *sequence, tl_sky *sky) {
    const tl_site *site = &sequence->options.site;
    const tl_sky_options *options = &sequence->options.sky;
    if (sequence->spots.count == 0)
        return false;
    const double epoch_s = sequence->spots.spot[0].epoch_utc_s;
    return (site->source != TL_SITE_NONE ? tl_sky_at(site, epoch_s, options, sky)
                                         : tl_sky_at_geocentre(epoch_s, options, sky)) == TL_OK;
}

/* Of the hemisphere's 2 pi R^2 the share A = ppm 1e-6 is a circle of r = R sqrt(2 A). */
double tl_report_spot_earths(const tl_spot *spot) {
    return SUN_PER_EARTH * sqrt(2e-6 * spot->area_ppm);
}

bool tl_report_moon_turn(const tl_sequence *sequence, size_t i, double *up_pa_rad,
                         double *sigma_rad) {
    const tl_limb *limb = &sequence->frame[i].limb;
    const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
    const tl_spot_turn *turn = tl_report_spot_turn(sequence, i);
    const double x = limb->offset_x_sr, y = limb->offset_y_sr, square = x * x + y * y;
    if (!turn->has_turn || !tracked->has_true || limb->status != TL_LIMB_MEASURED ||
        !(square > 0.0))
        return false;
    /* The inverse of tl_frame_from_sky: PA - up_pa of the Moon in the frame. */
    *up_pa_rad = tl_angle_positive(tracked->moon_pa_rad - atan2(turn->mirrored ? x : -x, -y));
    const double across =
        (y * y * limb->offset_xx - 2.0 * x * y * limb->offset_xy + x * x * limb->offset_yy) /
        square;
    *sigma_rad = sqrt(fmax(across, 0.0) / square);
    return true;
}

tl_report_turns tl_report_compare_turns(const tl_sequence *sequence) {
    tl_report_turns turns = {0};
    double squares = 0.0, expected = 0.0;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_spot_turn *turn = tl_report_spot_turn(sequence, i);
        double up, sigma;
        if (!turn->has_turn)
            continue;
        *(turn->mirrored ? &turns.mirrored : &turns.unmirrored) += 1;
        if (!tl_report_moon_turn(sequence, i, &up, &sigma))
            continue;
        const double apart = tl_angle_signed(turn->up_pa_rad - up);
        squares += apart * apart;
        expected += sigma * sigma + turn->sigma_rad * turn->sigma_rad;
        turns.count++;
    }
    if (turns.count > 0) {
        turns.rms_rad = sqrt(squares / (double)turns.count);
        turns.expected_rad = sqrt(expected / (double)turns.count);
    }
    return turns;
}

void tl_report_add_spot_name(tl_report_text *text, const tl_spot *spot) {
    tl_report_add_utf8(text, spot->name[0] ? spot->name : "?");
}

void tl_report_add_spot_letter(tl_report_text *text, const tl_spot *spot) {
    tl_report_add_terminal(text, spot->name[0] ? spot->name : "?");
}
