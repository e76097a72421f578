/*
 * test_report_spot_series.h - invented sunspots in the invented series of the report's tests.
 *
 * Places, sizes and times are invented; where a spot stands to the Moon in a picture follows from
 * plain geometry on the disc.
 */
#ifndef TWOLIMB_TEST_REPORT_SPOT_SERIES_H
#define TWOLIMB_TEST_REPORT_SPOT_SERIES_H

#include "test_report_series.h"

/* A: covered and uncovered. B: out of the Moon's reach. C: too close to its edge to tell, or dust.
 */
enum { SPOT_A, SPOT_B, SPOT_C, SPOT_COUNT };
#define SPOT_COVERED_S 30000.25   /* 08:20:00.25, of the day */
#define SPOT_UNCOVERED_S 34000.75 /* 09:26:40.75 */
#define SPOT_SIGMA_S 3.2
#define SPOT_AREA_PPM 450.0
#define SPOT_TURN_ERROR_DEG 0.25 /* of every turn by spots, early ones and late ones by turns */
#define SPOT_TURN_SIGMA_DEG 0.4
#define SPOT_EPOCH_S (SERIES_DAY_S + 32950.0)

static inline tl_spot spot_at(const char *name, double east_sr, double north_sr, double area_ppm) {
    tl_spot spot = {.in_pictures = true,
                    .seen_count = 6,
                    .epoch_utc_s = SPOT_EPOCH_S,
                    .latitude_rad = 14.25 * TL_DEG,
                    .longitude_rad = -23.5 * TL_DEG,
                    .carrington_rad = 201.125 * TL_DEG,
                    .latitude_sigma_rad = 0.21 * TL_DEG,
                    .longitude_sigma_rad = 0.32 * TL_DEG,
                    .east_sr = east_sr,
                    .north_sr = north_sr,
                    .east_sigma_sr = 0.0041,
                    .north_sigma_sr = 0.0038,
                    .radius_sr = 0.02,
                    .radius_sigma_sr = 0.002,
                    .umbra_radius_sr = 0.008,
                    .area_ppm = area_ppm,
                    .area_sigma_ppm = 60.0,
                    .has_passages = true,
                    .clearance_sr = 0.125,
                    .clearance_sigma_sr = 0.004};
    snprintf(spot.name, sizeof spot.name, "%s", name);
    return spot;
}

static inline tl_spot_passage spot_passage(double t_s, size_t before) {
    return (tl_spot_passage){
        .occurs = true,
        .whole = true,
        .sun_up = true,
        .t_utc_s = {SERIES_DAY_S + t_s - 40.0, SERIES_DAY_S + t_s, SERIES_DAY_S + t_s + 40.0},
        .sigma_s = SPOT_SIGMA_S,
        .touch_sigma_s = 6.4,
        .has_near = {true, true},
        .near = {before, before + 1}};
}

/* Where the spot stands in the frame, and what the Moon makes of it there. */
static inline void spot_sight(tl_sequence *s, size_t spot, size_t i) {
    const tl_spot *of = &s->spots.spot[spot];
    const tl_track_frame *tracked = &s->track.frame[i];
    tl_spot_sight *sight = &s->spots.sight[spot * s->count + i];
    const tl_spot_turn *turn = &s->spots.turn[i];
    if (!turn->has_turn)
        return;
    sight->has_place = true;
    tl_frame_from_sky(turn->up_pa_rad, turn->mirrored, of->east_sr, of->north_sr, &sight->x_sr,
                      &sight->y_sr);
    const double edge =
        hypot(tracked->sky.east_sr - of->east_sr, tracked->sky.north_sr - of->north_sr) -
        SERIES_RATIO;
    sight->state = edge > of->radius_sr    ? TL_SPOT_VISIBLE
                   : edge > -of->radius_sr ? TL_SPOT_ON_LIMB
                                           : TL_SPOT_COVERED;
}

/* One mark on every spot that is seen, and one of dust. */
static inline void spot_marks(tl_sequence *s, size_t i) {
    tl_sequence_frame *frame = &s->frame[i];
    frame->marks.searched = true;
    frame->marks.mark = calloc(s->spots.count + 1, sizeof *frame->marks.mark);
    if (!frame->marks.mark)
        abort();
    for (size_t k = 0; k < s->spots.count; k++) {
        const tl_spot_sight *sight = &s->spots.sight[k * s->count + i];
        tl_spot_mark mark = {.area_px2 = 110.0, .kind = TL_MARK_SPOT, .spot = k};
        if (sight->state != TL_SPOT_VISIBLE)
            continue;
        mark.x_px = frame->limb.circle[TL_SUN_X] + frame->limb.circle[TL_SUN_R] * sight->x_sr;
        mark.y_px = frame->limb.circle[TL_SUN_Y] + frame->limb.circle[TL_SUN_R] * sight->y_sr;
        frame->marks.mark[frame->marks.count++] = mark;
    }
    frame->marks.mark[frame->marks.count++] =
        (tl_spot_mark){.x_px = 780.0, .y_px = 690.0, .area_px2 = 60.0, .kind = TL_MARK_DUST};
}

/* Sights, turns and marks for the spots in s->spots.spot; call it once. */
static inline void spots_follow(tl_sequence *s) {
    tl_spots *spots = &s->spots;
    spots->frame_count = s->count;
    spots->sight = calloc(spots->count * s->count, sizeof *spots->sight);
    spots->turn = calloc(s->count, sizeof *spots->turn);
    if (!spots->sight || !spots->turn)
        abort();
    for (size_t i = 0; i < s->count; i++) {
        const tl_limb_status status = s->frame[i].limb.status;
        if (status != TL_LIMB_MEASURED)
            continue;
        spots->turn[i] =
            (tl_spot_turn){.has_turn = true,
                           .known = true,
                           .joint_up_pa_rad = s->track.frame[i].up_pa_rad,
                           .joint_sigma_rad = 0.2 * TL_DEG,
                           .mirrored = true,
                           .up_pa_rad = s->track.frame[i].up_pa_rad +
                                        (i % 2 ? 1.0 : -1.0) * SPOT_TURN_ERROR_DEG * TL_DEG,
                           .sigma_rad = SPOT_TURN_SIGMA_DEG * TL_DEG,
                           .spots = 2};
        for (size_t k = 0; k < spots->count; k++)
            spot_sight(s, k, i);
        spot_marks(s, i);
    }
}

static inline void spots_make_room(tl_sequence *s, size_t count) {
    s->spots.spot = calloc(count, sizeof *s->spots.spot);
    if (!s->spots.spot)
        abort();
    s->spots.count = count;
    s->spots.mirror_decided = true;
    s->spots.mirror_score = 41.5;
    s->spots.noise_level = 1.15;
    s->spots.dust_count = 1;
}

/* Everything known, and three spots. */
static inline tl_sequence series_spots(void) {
    tl_sequence s = series_solved();
    spots_make_room(&s, SPOT_COUNT);
    s.spots.spot[SPOT_A] = spot_at("A", -0.31, -0.18, SPOT_AREA_PPM);
    s.spots.spot[SPOT_A].touched = true;
    s.spots.spot[SPOT_A].clearance_sr = -0.42;
    s.spots.spot[SPOT_A].covered = spot_passage(SPOT_COVERED_S, 0);
    s.spots.spot[SPOT_A].uncovered = spot_passage(SPOT_UNCOVERED_S, 6);
    s.spots.spot[SPOT_B] = spot_at("B", 0.35, 0.61, 120.0);
    s.spots.spot[SPOT_C] = spot_at("C", -0.05, 0.37, 35.0);
    s.spots.spot[SPOT_C].touched = true;
    s.spots.spot[SPOT_C].unsure = true;
    s.spots.spot[SPOT_C].could_be_dust = true;
    s.spots.spot[SPOT_C].seen_count = 1;
    s.spots.spot[SPOT_C].clearance_sr = -0.0035;
    spots_follow(&s);
    return s;
}

/* Many of them, in rows over the disc, B to the end of the alphabet and beyond. */
static inline tl_sequence series_many_spots(size_t count) {
    tl_sequence s = series_solved();
    spots_make_room(&s, count);
    for (size_t k = 0; k < count; k++) {
        char name[TL_SPOT_NAME_SIZE];
        snprintf(name, sizeof name, k < 26 ? "%c" : "A%c", (char)('A' + k % 26));
        s.spots.spot[k] = spot_at(name, -0.7 + 0.28 * (double)(k % 6),
                                  -0.4 + 0.11 * (double)(k / 6) + 0.03 * (double)(k % 2),
                                  SPOT_AREA_PPM / (double)(k + 1));
        if (k % 2 == 0) {
            s.spots.spot[k].covered = spot_passage(SPOT_COVERED_S + 60.0 * (double)k, 1);
            s.spots.spot[k].uncovered = spot_passage(SPOT_UNCOVERED_S + 60.0 * (double)k, 7);
        }
    }
    spots_follow(&s);
    return s;
}

#endif
