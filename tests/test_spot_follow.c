/*
 * test_spot_follow.c - marks followed through a series as spots, against an invented Sun.
 *
 * The truth is the test's own (test_spot_series.h). What is asked of the errors is common practice
 * for Gaussian ones: 68.3 % within one sigma, 99.7 % within three; the bounds are those of the
 * binomial spread for the numbers drawn.
 */
// clang-format off
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <setjmp.h>
#include <cmocka.h>
// clang-format on

#include <stdio.h>

#include "test_spot_series.h"

enum { TRIALS = 60 };

/* Held to the truth over many series. */
typedef struct tally {
    size_t spots, found, invented, split, within1, within3, coordinates;
    size_t hands, hands_right, hands_wrong;
    size_t turns, turns1, turns3, joint3;
    double turn2, place2;
} tally;

/* What else is said of a spot hangs together with its place. */
static void check_description(const series_plan *plan, const spot_series *s, size_t k,
                              const tl_spot *found) {
    double east, north;
    assert_true(true_place(s, &plan->spot[k], &s->at_max, &east, &north));
    assert_true(fabs(found->east_sr - east) < 5.0 * found->east_sigma_sr);
    assert_true(fabs(found->north_sr - north) < 5.0 * found->north_sigma_sr);
    assert_true(fabs(tl_angle_signed(found->longitude_rad - plan->spot[k].longitude_rad)) <
                5.0 * found->longitude_sigma_rad);
    /* the marks are drawn with the true size, and as sharp as 1.5 px */
    assert_true(fabs(found->radius_sr / plan->spot[k].radius_sr - 1.0) < 1e-6);
    assert_true(found->radius_sigma_sr > 0.01 * found->radius_sr);
    const double mu = sqrt(1.0 - east * east - north * north);
    const double ppm = 0.5e6 * pow(plan->spot[k].radius_sr, 2.0) / mu; /* closed form */
    assert_true(fabs(found->area_ppm / ppm - 1.0) < 0.05);
}

static void count_spots(const series_plan *plan, const spot_series *s, const tl_spots *spots,
                        tally *t) {
    size_t true_found = 0;
    for (size_t k = 0; k < plan->spots; k++) {
        double dlat = 0.0, dlon = 0.0;
        const tl_spot *found = found_near(spots, s, &plan->spot[k], &dlat, &dlon);
        t->spots++;
        if (found == NULL)
            continue;
        true_found++;
        const double off[2] = {fabs(dlat) / found->latitude_sigma_rad,
                               fabs(dlon) / found->longitude_sigma_rad};
        for (int c = 0; c < 2; c++) {
            t->coordinates++;
            t->within1 += off[c] < 1.0;
            t->within3 += off[c] < 3.0;
        }
        t->place2 += dlat * dlat + dlon * dlon;
        check_description(plan, s, k, found);
    }
    for (size_t k = 1; k < spots->count; k++) /* letters by size */
        if (spots->spot[k].in_pictures)
            assert_true(spots->spot[k - 1].area_ppm >= spots->spot[k].area_ppm);
    t->found += true_found;
    t->invented += spots->count - true_found;
    /* marks of one true spot under two names, or of two under one */
    for (size_t i = 0; i < s->count; i++)
        for (size_t j = 0; j < s->marks[i].count; j++) {
            const tl_spot_mark *mark = &s->marks[i].mark[j];
            if (mark->kind == TL_MARK_SPOT && s->truth[i][j] < 0)
                t->split++;
        }
}

static void count_turns(const spot_series *s, const tl_spots *spots, tally *t) {
    for (size_t i = 0; i < s->count; i++) {
        const tl_spot_turn *turn = &spots->turn[i];
        if (!turn->has_turn)
            continue;
        t->hands++;
        t->hands_right += turn->mirrored == s->mirrored[i];
        t->hands_wrong += turn->mirrored != s->mirrored[i];
        if (turn->mirrored != s->mirrored[i])
            continue;
        t->joint3 += fabs(tl_angle_signed(turn->joint_up_pa_rad - s->up_rad[i])) <
                     3.0 * turn->joint_sigma_rad;
        const double off = fabs(tl_angle_signed(turn->up_pa_rad - s->up_rad[i]));
        t->turns++;
        t->turns1 += off < turn->sigma_rad;
        t->turns3 += off < 3.0 * turn->sigma_rad;
        t->turn2 += off * off;
    }
}

static tally run(const series_plan *like, size_t trials, size_t spots_max, unsigned long seed) {
    tally t = {0};
    spot_series *s = malloc(sizeof *s);
    for (size_t trial = 0; trial < trials; trial++) {
        series_plan plan = *like;
        random_spots(&plan, spots_max > 0 ? trial % spots_max + 1 : 0, seed + trial);
        draw_series(&plan, seed + 1000 + trial, s);
        tl_spots spots;
        assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
        count_spots(&plan, s, &spots, &t);
        count_turns(s, &spots, &t);
        tl_spots_free(&spots);
    }
    free(s);
    if (getenv("SPOT_TALLY") != NULL)
        printf("spots %zu found %zu invented %zu stray marks %zu place rms %.3f deg 1s %.1f%% 3s "
               "%.1f%% hands right %zu wrong %zu turn rms %.3f deg 1s %.1f%% 3s %.1f%%\n",
               t.spots, t.found, t.invented, t.split,
               sqrt(t.place2 / fmax(1.0, (double)t.coordinates)) / TL_DEG,
               100.0 * (double)t.within1 / fmax(1.0, (double)t.coordinates),
               100.0 * (double)t.within3 / fmax(1.0, (double)t.coordinates), t.hands_right,
               t.hands_wrong, sqrt(t.turn2 / fmax(1.0, (double)t.turns)) / TL_DEG,
               100.0 * (double)t.turns1 / fmax(1.0, (double)t.turns),
               100.0 * (double)t.turns3 / fmax(1.0, (double)t.turns));
    return t;
}

static void assert_share(size_t part, size_t of, double low, double high) {
    const double share = (double)part / (double)of;
    if (share < low || share > high)
        fail_msg("share %.3f of %zu is not in %.3f..%.3f", share, of, low, high);
}

static void spots_of_a_clear_series(void **state) {
    (void)state;
    series_plan plan = usual_series();
    const tally t = run(&plan, TRIALS, 6, 1);
    assert_share(t.found, t.spots, 0.99, 1.0);
    assert_int_equal(t.invented, 0);
    assert_int_equal(t.hands_wrong, 0);
    assert_share(t.within1, t.coordinates, 0.60, 1.0);
    assert_share(t.within3, t.coordinates, 0.985, 1.0);
    assert_share(t.turns1, t.turns, 0.60, 0.95); /* cautious: the spots' own errors are in each */
    assert_share(t.turns3, t.turns, 0.985, 1.0);
    assert_share(t.joint3, t.turns, 0.985, 1.0);
}

static void mirrored_pictures(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.mirrored[0] = true;
    const tally t = run(&plan, TRIALS, 6, 2);
    assert_share(t.found, t.spots, 0.99, 1.0);
    assert_int_equal(t.hands_wrong, 0);
}

/* Marks that are none: three in each frame, a third of the true ones missing. */
static void chance_marks_make_no_spots(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.chance = 3.0;
    plan.missed = 0.2;
    const tally t = run(&plan, TRIALS, 6, 3);
    assert_share(t.found, t.spots, 0.97, 1.0);
    assert_share(t.invented, TRIALS, 0.0, 0.05);
    assert_int_equal(t.hands_wrong, 0);
    const tally none = run(&plan, TRIALS, 0, 4);
    assert_share(none.invented, TRIALS, 0.0, 0.05);
}

static void dust_is_no_spot(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.dust = 3;
    const tally t = run(&plan, TRIALS, 4, 5);
    assert_share(t.found, t.spots, 0.99, 1.0);
    assert_int_equal(t.invented, 0);
    spot_series *s = malloc(sizeof *s);
    tl_spots spots;
    random_spots(&plan, 2, 6);
    draw_series(&plan, 7, s);
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    size_t specks = 0, called = 0;
    for (size_t i = 0; i < s->count; i++)
        for (size_t j = 0; j < s->marks[i].count; j++) {
            specks += s->truth[i][j] == -2;
            called += s->truth[i][j] == -2 && s->marks[i].mark[j].kind == TL_MARK_DUST;
            if (s->truth[i][j] >= 0)
                assert_int_not_equal(s->marks[i].mark[j].kind, TL_MARK_DUST);
        }
    assert_true(specks > 0);
    assert_int_equal(called, specks);
    assert_int_equal(spots.dust_count, plan.dust);
    tl_spots_free(&spots);
    free(s);
}

/* On a mount that follows the Sun nothing moves in the frame but by the Sun's own rotation. */
static void mount(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.fixed = true;
    const tally t = run(&plan, TRIALS, 4, 8);
    assert_share(t.found, t.spots, 0.99, 1.0);
    /* Then dust looks like a spot, until the Sun has turned far enough, and that is said; where the
     * Sun moved in the frame it is not. */
    spot_series *s = malloc(sizeof *s);
    random_spots(&plan, 3, 81);
    for (int still = 0; still <= 1; still++) {
        tl_spots spots;
        plan.fixed = still == 1;
        plan.to = still == 1 ? 0.15 : 0.98; /* a quarter of an hour, or all of the eclipse */
        draw_series(&plan, 82, s);
        assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
        assert_int_equal(spots.count, 3);
        for (size_t k = 0; k < spots.count; k++)
            assert_int_equal(spots.spot[k].could_be_dust, still == 1);
        tl_spots_free(&spots);
    }
    /* The Sun drifts a little: enough to tell the dust, which stays. */
    plan.drift_px = 24.0;
    plan.to = 0.98;
    plan.dust = 2;
    draw_series(&plan, 83, s);
    tl_spots spots;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    for (size_t i = 0; i < s->count; i++)
        for (size_t j = 0; j < s->marks[i].count; j++)
            assert_int_equal(s->marks[i].mark[j].kind == TL_MARK_SPOT, s->truth[i][j] >= 0);
    assert_int_equal(spots.count, 3);
    tl_spots_free(&spots);
    free(s);
}

/* A spot beside one ten times as large in area, nearer than the marks' errors may carry: told apart
 * by their sizes. */
static void a_small_one_beside_a_large_one(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.mark_px = 3.0;
    plan.spots = 2;
    plan.spot[0] = (true_spot){10.0 * TL_DEG, 5.0 * TL_DEG, 0.030};
    plan.spot[1] = (true_spot){10.0 * TL_DEG, 6.3 * TL_DEG, 0.009};
    spot_series *s = malloc(sizeof *s);
    for (unsigned long trial = 0; trial < 20; trial++) {
        tl_spots spots;
        draw_series(&plan, 90 + trial, s);
        assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
        assert_int_equal(spots.count, 2);
        for (size_t i = 0; i < s->count; i++)
            for (size_t j = 0; j < s->marks[i].count; j++)
                if (s->marks[i].mark[j].kind == TL_MARK_SPOT)
                    assert_int_equal(s->marks[i].mark[j].spot, s->truth[i][j]);
        tl_spots_free(&spots);
    }
    free(s);
}

/*
 * A central eclipse, and the observer some 60 km from where they say, twice as far as is feared:
 * all Moons are a little off, so that the wrong hand may fit better. With that doubt told, a wrong
 * hand is never claimed; without it, it is, at times.
 */
static void a_place_that_is_off(void **state) {
    (void)state;
    size_t wrong[2] = {0, 0}, right[2] = {0, 0};
    spot_series *s = malloc(sizeof *s);
    for (int doubt = 0; doubt <= 1; doubt++)
        for (unsigned long trial = 0; trial < 120; trial++) {
            series_plan plan = usual_series();
            plan.site = (tl_site){TL_SITE_GIVEN, 37.5554 * TL_DEG, -89.2815 * TL_DEG, 100.0};
            tl_date_parse("2024-04-08", &plan.day_utc_s);
            const double direction = 2.0 * TL_PI * (double)trial / 120.0;
            plan.moon_off_sr[0] = 0.036 * cos(direction);
            plan.moon_off_sr[1] = 0.036 * sin(direction);
            random_spots(&plan, trial % 3 + 1, 7000 + trial);
            draw_series(&plan, 7100 + trial, s);
            s->options.moon_sigma_sr = doubt == 1 ? 0.018 : 0.0;
            tl_spots spots;
            assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
            for (size_t i = 0; i < s->count; i++)
                if (spots.turn[i].has_turn)
                    (*(spots.turn[i].mirrored ? &wrong[doubt] : &right[doubt]))++;
            tl_spots_free(&spots);
        }
    free(s);
    if (getenv("SPOT_TALLY") != NULL)
        printf("without doubt right %zu wrong %zu, with right %zu wrong %zu\n", right[0], wrong[0],
               right[1], wrong[1]);
    assert_true(wrong[0] > 0);
    assert_int_equal(wrong[1], 0);
    assert_true(right[1] > 300);
}

static void undated(void **state) {
    (void)state;
    series_plan plan = usual_series();
    size_t sides = 0, right = 0, wrong = 0;
    plan.undated = 4;
    spot_series *s = malloc(sizeof *s);
    for (unsigned long trial = 0; trial < TRIALS; trial++) {
        tl_spots spots;
        random_spots(&plan, trial % 4 + 1, 900 + trial);
        draw_series(&plan, 1900 + trial, s);
        assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
        for (size_t i = 0; i < plan.undated; i++) {
            if (s->marks[i].count == 0)
                continue;
            sides++;
            right += spots.turn[i].has_side && spots.turn[i].side == s->side[i];
            wrong += spots.turn[i].has_side && spots.turn[i].side != s->side[i];
        }
        tl_spots_free(&spots);
    }
    free(s);
    if (getenv("SPOT_TALLY") != NULL)
        printf("sides %zu right %zu wrong %zu\n", sides, right, wrong);
    assert_int_equal(wrong, 0);
    assert_share(right, sides, 0.9, 1.0);
}

/* Close to maximum the Moon is in much the same place on both sides of it, and rough pictures
 * cannot tell them apart: a side may stay open, it must not be wrong. */
static void undated_near_maximum(void **state) {
    (void)state;
    series_plan plan = usual_series();
    size_t sides = 0, wrong = 0;
    plan.frames = 20;
    plan.undated_from = 8;
    plan.undated = 4;
    plan.moon_sr = 0.03;
    plan.mark_px = 6.0;
    spot_series *s = malloc(sizeof *s);
    for (unsigned long trial = 0; trial < TRIALS; trial++) {
        tl_spots spots;
        random_spots(&plan, trial % 4 + 3, 2900 + trial);
        draw_series(&plan, 3900 + trial, s);
        assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
        for (size_t i = 8; i < 12; i++) {
            sides += spots.turn[i].has_side;
            wrong += spots.turn[i].has_side && spots.turn[i].side != s->side[i];
        }
        tl_spots_free(&spots);
    }
    free(s);
    if (getenv("SPOT_TALLY") != NULL)
        printf("near maximum: sides %zu wrong %zu\n", sides, wrong);
    assert_share(wrong, sides, 0.0, 0.01); /* exp(-5), and what chance makes of it */
}

/* The doubt about the observer's place is for the mirror alone: places keep their small errors. */
static void doubt_is_for_the_mirror(void **state) {
    (void)state;
    series_plan plan = usual_series();
    double sigma_rad[2];
    random_spots(&plan, 2, 25);
    spot_series *s = malloc(sizeof *s);
    for (int doubt = 0; doubt <= 1; doubt++) {
        tl_spots spots;
        draw_series(&plan, 26, s);
        s->options.moon_sigma_sr = doubt == 1 ? 0.02 : 0.0;
        assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
        assert_int_equal(spots.count, 2);
        sigma_rad[doubt] = spots.spot[0].latitude_sigma_rad;
        tl_spots_free(&spots);
    }
    assert_true(fabs(sigma_rad[1] / sigma_rad[0] - 1.0) < 1e-6);
    free(s);
}

/* Before first contact there is no Moon; two spots tell the turn. */
static void whole_discs(void **state) {
    (void)state;
    series_plan plan = usual_series();
    size_t turned = 0, all = 0;
    plan.whole = 3;
    spot_series *s = malloc(sizeof *s);
    for (unsigned long trial = 0; trial < TRIALS; trial++) {
        tl_spots spots;
        random_spots(&plan, 3, 700 + trial);
        plan.mirrored[0] = trial % 2 == 1;
        draw_series(&plan, 1700 + trial, s);
        assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
        for (size_t i = plan.frames; i < s->count; i++) {
            all++;
            turned += spots.turn[i].has_turn;
            if (spots.turn[i].has_turn)
                assert_true(fabs(tl_angle_signed(spots.turn[i].up_pa_rad - s->up_rad[i])) <
                            4.0 * spots.turn[i].sigma_rad);
        }
        tl_spots_free(&spots);
    }
    free(s);
    if (getenv("SPOT_TALLY") != NULL)
        printf("whole %zu turned %zu\n", all, turned);
    assert_share(turned, all, 0.95, 1.0);
}

static void two_cameras(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.cameras = 2;
    plan.mirrored[1] = true;
    plan.frames = 16;
    const tally t = run(&plan, TRIALS, 5, 11);
    assert_share(t.found, t.spots, 0.99, 1.0);
    assert_int_equal(t.hands_wrong, 0);
}

/* The Moon straight over the Sun's centre, four frames, all before maximum. */
static void central(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.site = (tl_site){TL_SITE_GIVEN, 37.5554 * TL_DEG, -89.2815 * TL_DEG, 100.0};
    tl_date_parse("2024-04-08", &plan.day_utc_s);
    plan.frames = 4;
    plan.to = 0.25;
    plan.moon_sr = 0.006;
    const tally t = run(&plan, TRIALS, 3, 12);
    assert_int_equal(t.hands_wrong, 0);
}

/* The same with two cameras, one of them at a diagonal: turned one by one they would contradict
 * each other, together they may both be the wrong way round. */
static void central_two_cameras(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.site = (tl_site){TL_SITE_GIVEN, 37.5554 * TL_DEG, -89.2815 * TL_DEG, 100.0};
    tl_date_parse("2024-04-08", &plan.day_utc_s);
    plan.to = 0.2;
    plan.moon_sr = 0.004;
    plan.cameras = 2;
    plan.mirrored[1] = true;
    const tally t = run(&plan, TRIALS, 5, 14);
    assert_int_equal(t.hands_wrong, 0);
    assert_int_equal(t.invented, 0);
    assert_share(t.found, t.spots, 0.8, 1.0); /* the rest is not decided */
}

/* How often the mirror is decided in short central series, the observer's place being so unsure. */
static size_t decided_with(double moon_sigma_sr) {
    series_plan plan = usual_series();
    plan.site = (tl_site){TL_SITE_GIVEN, 37.5554 * TL_DEG, -89.2815 * TL_DEG, 100.0};
    tl_date_parse("2024-04-08", &plan.day_utc_s);
    plan.to = 0.2;
    spot_series *s = malloc(sizeof *s);
    size_t decided = 0;
    for (unsigned long trial = 0; trial < TRIALS / 3; trial++) {
        tl_spots spots;
        random_spots(&plan, 2, 300 + trial);
        draw_series(&plan, 1300 + trial, s);
        s->options.moon_sigma_sr = moon_sigma_sr;
        assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
        decided += spots.mirror_decided;
        tl_spots_free(&spots);
    }
    free(s);
    return decided;
}

static void an_unsure_place_decides_less(void **state) {
    (void)state;
    assert_true(decided_with(0.05) < decided_with(0.0));
}

/* A central eclipse seen from one side leaves the mirror open; a list of the spots closes it. */
static void a_list_tells_the_mirror(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.site = (tl_site){TL_SITE_GIVEN, 37.5554 * TL_DEG, -89.2815 * TL_DEG, 100.0};
    tl_date_parse("2024-04-08", &plan.day_utc_s);
    plan.frames = 4;
    plan.to = 0.2;
    plan.moon_sr = 0.01;
    plan.mark_px = 1.5;
    plan.mirrored[0] = true;
    plan.spots = 2;
    plan.spot[0] = (true_spot){12.0 * TL_DEG, -20.0 * TL_DEG, 0.02};
    plan.spot[1] = (true_spot){-9.0 * TL_DEG, -45.0 * TL_DEG, 0.012};
    spot_series *s = malloc(sizeof *s);
    draw_series(&plan, 21, s);
    tl_spots spots;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    assert_false(spots.mirror_decided);
    assert_int_equal(spots.count, 0);
    assert_non_null(strstr(spots.note, "--mirror"));
    tl_spots_free(&spots);

    tl_spot row[3] = {{.name = "North", .from_list = true},
                      {.name = "Gone", .from_list = true},
                      {.name = "Far side", .from_list = true}};
    const double place_deg[3][2] = {{12.5, -20.6}, {30.0, 10.0}, {5.0, 170.0}};
    for (size_t k = 0; k < 3; k++) {
        row[k].epoch_utc_s = s->options.epoch_utc_s;
        row[k].latitude_rad = place_deg[k][0] * TL_DEG;
        row[k].carrington_rad = s->at_max.l0_rad + place_deg[k][1] * TL_DEG;
        row[k].latitude_sigma_rad = row[k].longitude_sigma_rad = 0.5 * TL_DEG;
        row[k].radius_sr = 0.01;
    }
    const tl_spot_list list = {row, 3};
    /* a list that none of them is in tells nothing; what stood in the way is still said */
    const tl_spot_list others = {&row[1], 1};
    s->options.known = &others;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    assert_false(spots.mirror_decided);
    assert_int_equal(spots.count, 1);
    assert_non_null(strstr(spots.note, "--mirror"));
    tl_spots_free(&spots);

    s->options.known = &list;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    assert_true(spots.mirror_decided);
    assert_true(spots.turn[0].known && spots.turn[0].mirrored);
    /* the one named, the one without a name, the one that was not found; none from the far side */
    assert_int_equal(spots.count, 3);
    double dlat, dlon;
    const tl_spot *named = found_near(&spots, s, &plan.spot[0], &dlat, &dlon);
    assert_non_null(named);
    assert_string_equal(named->name, "North");
    assert_true(named->in_pictures && named->from_list);
    const tl_spot *other = found_near(&spots, s, &plan.spot[1], &dlat, &dlon);
    assert_non_null(other);
    assert_false(other->from_list);
    const tl_spot *gone = &spots.spot[2];
    assert_string_equal(gone->name, "Gone");
    assert_false(gone->in_pictures);
    for (size_t i = 0; i < s->count; i++) {
        const tl_spot_state seen = tl_spots_sight(&spots, 2, i)->state;
        assert_true(seen != TL_SPOT_VISIBLE && seen != TL_SPOT_MISSED);
    }
    tl_spots_free(&spots);
    free(s);
}

/* The user's word on the mirror holds, also against the marks. */
static void the_user_is_believed(void **state) {
    (void)state;
    series_plan plan = usual_series();
    random_spots(&plan, 3, 31);
    spot_series *s = malloc(sizeof *s);
    draw_series(&plan, 32, s);
    s->options.mirror = TL_MIRROR_YES;
    tl_spots spots;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    for (size_t i = 0; i < s->count; i++)
        assert_true(!spots.turn[i].known || spots.turn[i].mirrored);
    assert_false(spots.mirror_decided);
    tl_spots_free(&spots);
    free(s);
}

/* What the track was sure of is given up when the marks are against it by far: in one frame (a
 * diagonal taken out), and in all. */
static void against_the_track(void **state) {
    (void)state;
    series_plan plan = usual_series();
    random_spots(&plan, 4, 41);
    spot_series *s = malloc(sizeof *s);
    plan.said = TL_MIRROR_YES;
    draw_series(&plan, 42, s);
    tl_spots spots;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    for (size_t i = 0; i < s->count; i++)
        assert_false(spots.turn[i].has_turn && spots.turn[i].mirrored);
    tl_spots_free(&spots);

    plan.said = TL_MIRROR_NO;
    plan.cameras = 2; /* drawn as two, given as one: every second frame is the other way round */
    plan.mirrored[1] = true;
    draw_series(&plan, 43, s);
    for (size_t i = 0; i < s->count; i++)
        s->in[i].camera = 0;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    size_t told = 0;
    for (size_t i = 0; i < s->count; i++) {
        if (!spots.turn[i].has_turn)
            continue;
        told++;
        assert_int_equal(spots.turn[i].mirrored, s->mirrored[i]);
    }
    assert_true(told >= 6);
    tl_spots_free(&spots);
    free(s);
}

/* Seen in one frame only, the Moon being over it in all others: a spot that could be dust. */
static void seen_once(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.said = TL_MIRROR_NO;
    plan.spots = 1;
    plan.spot[0] = (true_spot){10.0 * TL_DEG, 30.0 * TL_DEG, 0.02};
    spot_series *s = malloc(sizeof *s);
    draw_series(&plan, 51, s);
    size_t first = 0;
    while (s->marks[first].count == 0)
        first++;
    size_t kept = 0; /* the first frame that shows it, and those in which the Moon hides it */
    for (size_t i = 0; i < s->count; i++)
        if (i == first || s->marks[i].count == 0) {
            s->in[kept] = s->in[i];
            kept++;
        }
    assert_true(kept >= 4);
    tl_spots spots;
    assert_int_equal(tl_spots_follow(s->in, kept, &s->options, &spots), TL_OK);
    assert_int_equal(spots.count, 1);
    assert_int_equal(spots.spot[0].seen_count, 1);
    assert_true(spots.spot[0].could_be_dust);
    tl_spots_free(&spots);
    /* another frame that should show it and does not: then it is none */
    draw_series(&plan, 51, s);
    for (size_t i = 0; i < s->count; i++)
        if (i != first)
            s->marks[i].count = 0;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    assert_int_equal(spots.count, 0);
    tl_spots_free(&spots);
    free(s);
}

static void states_of_a_spot(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.frames = 40;
    plan.from = 0.15; /* close in time, so that some catch it on the limb */
    plan.to = 0.30;
    plan.spots = 1;
    plan.spot[0] = (true_spot){-8.0 * TL_DEG, 10.0 * TL_DEG, 0.03};
    plan.moon_sr = 0.001;
    spot_series *s = malloc(sizeof *s);
    draw_series(&plan, 61, s);
    tl_spots spots;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    assert_int_equal(spots.count, 1);
    size_t count[5] = {0};
    for (size_t i = 0; i < s->count; i++) {
        const tl_sky *sky = &s->in[i].sky[0];
        double e, n;
        assert_true(true_place(s, &plan.spot[0], sky, &e, &n));
        const double edge = hypot(e - sky->east_sr, n - sky->north_sr) - sky->ratio;
        const tl_spot_state seen = tl_spots_sight(&spots, 0, i)->state;
        const double doubt = 0.004; /* the Moon's offset is off by a quarter of that */
        if (edge < -0.03 - doubt)
            assert_int_equal(seen, TL_SPOT_COVERED);
        else if (edge > 0.042 + doubt)
            assert_int_equal(seen, TL_SPOT_VISIBLE);
        else if (fabs(edge) < 0.03 - doubt)
            assert_int_equal(seen, TL_SPOT_ON_LIMB);
        count[seen]++;
    }
    assert_true(count[TL_SPOT_VISIBLE] > 5 && count[TL_SPOT_COVERED] > 5);
    assert_true(count[TL_SPOT_ON_LIMB] > 1);
    assert_int_equal(count[TL_SPOT_MISSED], 0);
    tl_spots_free(&spots);
    free(s);
}

/* A frame that is kept out, its circles being wrong: its Moon has no say, its spots turn it. */
static void a_frame_kept_out(void **state) {
    (void)state;
    series_plan plan = usual_series();
    random_spots(&plan, 4, 85);
    spot_series *s = malloc(sizeof *s);
    draw_series(&plan, 86, s);
    const size_t out = 1; /* early: no spot is covered yet */
    assert_true(s->marks[out].count >= 3);
    const double x = s->limb[out].offset_x_sr, y = s->limb[out].offset_y_sr;
    s->limb[out].offset_x_sr = y; /* a quarter turn off */
    s->limb[out].offset_y_sr = -x;
    s->in[out].in_track = false;
    tl_spots spots;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    assert_true(spots.turn[out].has_turn);
    assert_true(fabs(tl_angle_signed(spots.turn[out].up_pa_rad - s->up_rad[out])) <
                4.0 * spots.turn[out].sigma_rad);
    tl_spots_free(&spots);
    free(s);
}

/* Two marks in the same place on the Sun, by chance: ten other frames show nothing there. */
static void two_marks_are_no_spot(void **state) {
    (void)state;
    series_plan plan = usual_series();
    plan.said = TL_MIRROR_NO;
    plan.frames = 24;
    plan.spots = 1;
    plan.spot[0] = (true_spot){20.0 * TL_DEG, 5.0 * TL_DEG, 0.015};
    spot_series *s = malloc(sizeof *s);
    draw_series(&plan, 95, s);
    size_t shown = 0;
    for (size_t i = 0; i < s->count; i++)
        if (s->marks[i].count > 0 && ++shown > 2)
            s->marks[i].count = 0;
    assert_true(shown >= 7);
    tl_spots spots;
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    assert_int_equal(spots.count, 0);
    tl_spots_free(&spots);
    free(s);
}

/* Nothing to follow, or nothing to follow it with. */
static void empty_series(void **state) {
    (void)state;
    tl_spot_options options = {0};
    tl_spots spots;
    assert_int_equal(tl_spots_follow(NULL, 0, &options, &spots), TL_OK);
    assert_int_equal(spots.count, 0);
    assert_string_equal(spots.note, "");
    tl_spots_free(&spots);
    series_plan plan = usual_series();
    random_spots(&plan, 3, 71);
    spot_series *s = malloc(sizeof *s);
    draw_series(&plan, 72, s);
    for (size_t i = 0; i < s->count; i++)
        s->in[i].sky_count = 0;
    assert_int_equal(tl_spots_follow(s->in, s->count, &options, &spots), TL_OK);
    assert_int_equal(spots.count, 0);
    assert_non_null(strstr(spots.note, "true times"));
    tl_spots_free(&spots);
    draw_series(&plan, 73, s);
    for (size_t i = 0; i < s->count; i++) {
        s->marks[i] = (tl_spot_marks){0};
        s->limb[i] = (tl_limb){.status = TL_LIMB_UNUSABLE};
    }
    assert_int_equal(tl_spots_follow(s->in, s->count, &s->options, &spots), TL_OK);
    assert_int_equal(spots.count, 0);
    tl_spots_free(&spots);
    free(s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(spots_of_a_clear_series),
        cmocka_unit_test(mirrored_pictures),
        cmocka_unit_test(chance_marks_make_no_spots),
        cmocka_unit_test(dust_is_no_spot),
        cmocka_unit_test(mount),
        cmocka_unit_test(a_small_one_beside_a_large_one),
        cmocka_unit_test(a_place_that_is_off),
        cmocka_unit_test(undated),
        cmocka_unit_test(undated_near_maximum),
        cmocka_unit_test(doubt_is_for_the_mirror),
        cmocka_unit_test(whole_discs),
        cmocka_unit_test(two_cameras),
        cmocka_unit_test(central),
        cmocka_unit_test(central_two_cameras),
        cmocka_unit_test(an_unsure_place_decides_less),
        cmocka_unit_test(a_list_tells_the_mirror),
        cmocka_unit_test(the_user_is_believed),
        cmocka_unit_test(against_the_track),
        cmocka_unit_test(seen_once),
        cmocka_unit_test(states_of_a_spot),
        cmocka_unit_test(a_frame_kept_out),
        cmocka_unit_test(two_marks_are_no_spot),
        cmocka_unit_test(empty_series),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
