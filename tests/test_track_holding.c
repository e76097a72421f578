/* How the camera was held, mirrored or not, and the turn of each frame. */
#include "check.h"
#include "test_track_series.h"

static const double DAY_2024_S = 19821.0 * TL_DAY_S;
enum { FRAMES = 14 };

typedef struct result {
    tl_track track;
    tl_track_frame_in frame[FRAMES];
    double up_rad[FRAMES];
} result;

/* Ohio, 2024: the parallactic angle turns by some 75 degrees from first to last contact. */
static result run(const manner *how, tl_holding asked, tl_mirror mirror) {
    result r;
    memset(&r, 0, sizeof r);
    scene s;
    assert_true(scene_make(site_of(40.55, -84.44), DAY_2024_S, &s));
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus);
    series_make(&s, how, rng, r.frame, NULL, r.up_rad);
    tl_track_options options = options_for(&s);
    options.holding = asked;
    options.mirror = mirror;
    assert_int_equal(tl_track_solve(r.frame, how->count, &options, &r.track), TL_OK);
    assert_true(tl_track_main(&r.track)->clock.solved);
    check_near(clock_total(&r.track), how->clock_s, 4.0 * tl_track_main(&r.track)->clock.sigma_s);
    gsl_rng_free(rng);
    scene_free(&s);
    return r;
}

static manner usual(tl_holding holding, bool mirrored, double jitter_rad) {
    return (manner){.count = FRAMES,
                    .from = 0.04,
                    .to = 0.96,
                    .sigma_sr = 0.003,
                    .whole_seconds = true,
                    .clock_s = -4.0 * 3600.0 + 14.0,
                    .holding = holding,
                    .up_rad = 1.2,
                    .jitter_rad = jitter_rad,
                    .mirrored = mirrored};
}

/* Each frame's up_pa: four sigma of its direction (0.003 over the separation) and of the 10 s of
 * the clock, in which the Moon moves by 0.005. */
static void expect_turns(const result *r) {
    for (size_t i = 0; i < r->track.frame_count; i++) {
        double s = r->track.frame[i].sky.separation_sr;
        assert_true(r->track.frame[i].has_turn);
        check_near(tl_angle_signed(r->track.frame[i].up_pa_rad - r->up_rad[i]), 0.0,
                   4.0 * 0.003 / s + 0.005 / s);
    }
}

/* Held by hand: no rule, and the mirror cannot be told; turns as if not mirrored. */
static void free_turns(void **state) {
    (void)state;
    manner how = usual(TL_HOLDING_FREE, false, 0.0);
    result r = run(&how, TL_HOLDING_AUTO, TL_MIRROR_AUTO);
    assert_int_equal(tl_track_main(&r.track)->holding, TL_HOLDING_FREE);
    assert_int_equal(tl_track_main(&r.track)->mirrored, TL_MIRROR_AUTO);
    assert_false(tl_track_main(&r.track)->holding_given || tl_track_main(&r.track)->mirror_given);
    expect_turns(&r);
    tl_track_free(&r.track);

    how.mirrored = true; /* said by the user: then the turns are right too */
    r = run(&how, TL_HOLDING_AUTO, TL_MIRROR_YES);
    assert_int_equal(tl_track_main(&r.track)->holding, TL_HOLDING_FREE);
    assert_int_equal(tl_track_main(&r.track)->mirrored, TL_MIRROR_YES);
    assert_true(tl_track_main(&r.track)->mirror_given);
    expect_turns(&r);
    tl_track_free(&r.track);
}

/* Equatorial and alt-azimuth mounts, steady and with a hand's jitter of 4 degrees: rule and mirror
 * are told, and asking for what was done changes nothing. */
static void rules_told(void **state) {
    (void)state;
    static const tl_holding RULE[] = {TL_HOLDING_FIXED, TL_HOLDING_ALTAZ};
    static const double JITTER_RAD[] = {0.002, 0.07};
    for (size_t i = 0; i < 8; i++) {
        bool mirrored = i & 1;
        manner how = usual(RULE[i / 2 % 2], mirrored, JITTER_RAD[i / 4]);
        result r = run(&how, TL_HOLDING_AUTO, TL_MIRROR_AUTO);
        assert_int_equal(tl_track_main(&r.track)->holding, how.holding);
        assert_int_equal(tl_track_main(&r.track)->mirrored,
                         mirrored ? TL_MIRROR_YES : TL_MIRROR_NO);
        expect_turns(&r);
        double sigma_s = tl_track_main(&r.track)->clock.sigma_s;
        tl_track_free(&r.track);

        r = run(&how, how.holding, mirrored ? TL_MIRROR_YES : TL_MIRROR_NO);
        assert_true(tl_track_main(&r.track)->holding_given &&
                    tl_track_main(&r.track)->mirror_given);
        assert_int_equal(tl_track_main(&r.track)->holding, how.holding);
        check_near(tl_track_main(&r.track)->clock.sigma_s, sigma_s, 1e-6);
        expect_turns(&r);
        tl_track_free(&r.track);
    }
}

/* Three pictures on a steady mount settle nothing about the rule, which needs more frames than it
 * has parameters. */
static void too_few_for_a_rule(void **state) {
    (void)state;
    manner how = usual(TL_HOLDING_FIXED, false, 0.002);
    how.count = 3;
    result r = run(&how, TL_HOLDING_AUTO, TL_MIRROR_AUTO);
    assert_int_equal(tl_track_main(&r.track)->holding, TL_HOLDING_FREE);
    assert_int_equal(tl_track_main(&r.track)->mirrored, TL_MIRROR_AUTO);
    tl_track_free(&r.track);
    r = run(&how, TL_HOLDING_FIXED, TL_MIRROR_AUTO); /* but with the rule said the mirror shows */
    assert_int_equal(tl_track_main(&r.track)->mirrored, TL_MIRROR_NO);
    expect_turns(&r);
    tl_track_free(&r.track);
}

/* What was given wrong is kept to, and the note says so and what to do. */
static void contradictions_are_told(void **state) {
    (void)state;
    manner how = usual(TL_HOLDING_FIXED, false, 0.002);
    result r = run(&how, TL_HOLDING_ALTAZ, TL_MIRROR_AUTO);
    assert_int_equal(tl_track_main(&r.track)->holding, TL_HOLDING_ALTAZ);
    assert_non_null(strstr(r.track.note, "The pictures contradict --holding altaz: leave it out"));
    tl_track_free(&r.track);
    r = run(&how, TL_HOLDING_AUTO, TL_MIRROR_YES);
    assert_int_equal(tl_track_main(&r.track)->mirrored, TL_MIRROR_YES);
    assert_non_null(strstr(r.track.note, "The pictures contradict --mirror yes: leave it out"));
    tl_track_free(&r.track);
}

/* In a short series both ways of mounting may fit; then neither contradicts the data. */
static void open_is_no_contradiction(void **state) {
    (void)state;
    size_t open = 0;
    for (size_t i = 0; i < 6; i++) {
        manner how = usual(TL_HOLDING_ALTAZ, false, 0.05);
        how.from = 0.1 * (double)i;
        how.to = how.from + 0.1;
        result r = run(&how, TL_HOLDING_AUTO, TL_MIRROR_AUTO);
        const tl_track_camera told = *tl_track_main(&r.track);
        tl_track_free(&r.track);
        if (told.holding_open) {
            bool fixed = told.holding == TL_HOLDING_FIXED;
            open++;
            r = run(&how, fixed ? TL_HOLDING_ALTAZ : TL_HOLDING_FIXED, TL_MIRROR_AUTO);
            assert_null(strstr(r.track.note, "contradict"));
            tl_track_free(&r.track);
        }
    }
    assert_true(open > 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(free_turns),
        cmocka_unit_test(rules_told),
        cmocka_unit_test(too_few_for_a_rule),
        cmocka_unit_test(contradictions_are_told),
        cmocka_unit_test(open_is_no_contradiction),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
