/*
 * test_spot_follow.c - marks followed through a series as spots, against an invented Sun.
 *
 * The truth is the test's own (test_spot_series.h). What is asked of the errors is common practice for Gaussian ones:
 * 68.3 % within one sigma, 99.7 % within three; the bounds are those of the binomial spread for the
 * numbers drawn.
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
    size_t turns, turns1, turns3;
    double turn2, place2;
} tally;

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
    }
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
    assert_share(t.turns1, t.turns, 0.60, 0.85);
    assert_share(t.turns3, t.turns, 0.985, 1.0);
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

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(spots_of_a_clear_series),
        cmocka_unit_test(mirrored_pictures),
        cmocka_unit_test(chance_marks_make_no_spots),
        cmocka_unit_test(dust_is_no_spot),
        cmocka_unit_test(mount),
        cmocka_unit_test(undated),
        cmocka_unit_test(whole_discs),
        cmocka_unit_test(two_cameras),
        cmocka_unit_test(central),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
