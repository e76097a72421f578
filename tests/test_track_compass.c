/*
 * Frames whose sunspots tell how they were turned. The truth is the turn put in: pictures are laid
 * out by tl_frame_from_sky (tested against a table in test_base.c) with a known up_pa, and the
 * compasses are that up_pa less a common zero.
 */
#include "check.h"
#include "test_track_series.h"

static const double DAY_2024_S = 19821.0 * TL_DAY_S;
enum { FRAMES = 16 };
/* Errors put in: of a circle, sr; of a compass; the common zero. */
static const double CIRCLE_SR = 0.002, COMPASS_RAD = 0.3 * TL_DEG, ZERO_RAD = 2.5 * TL_DEG;
/* Gaussian errors of a few hundred numbers stay within so many sigmas. */
static const double SIGMAS = 4.5;

typedef struct fixture {
    scene scene;
    manner manner;
    gsl_rng *rng;
    tl_track_options options;
    tl_track_frame_in frame[FRAMES];
    double true_utc_s[FRAMES], up_rad[FRAMES];
    tl_track track;
} fixture;

/* Ohio, 2024: all but central, and the parallactic angle turns by some 75 degrees. */
static void set_up(fixture *f) {
    *f = (fixture){.manner = {.count = FRAMES,
                              .from = 0.04,
                              .to = 0.96,
                              .sigma_sr = CIRCLE_SR,
                              .whole_seconds = true,
                              .clock_s = -4.0 * 3600.0 + 14.0,
                              .holding = TL_HOLDING_FREE,
                              .mirrored = true}};
    assert_true(scene_make(site_of(40.55, -84.44), DAY_2024_S, &f->scene));
    f->rng = gsl_rng_alloc(gsl_rng_taus);
    f->options = options_for(&f->scene);
    f->options.date_given = true;
    f->options.date_utc_s = DAY_2024_S;
}

static void tear_down(fixture *f) {
    tl_track_free(&f->track);
    gsl_rng_free(f->rng);
    scene_free(&f->scene);
}

static void make(fixture *f) {
    series_make(&f->scene, &f->manner, f->rng, f->frame, f->true_utc_s, f->up_rad);
}

static void give_compass(fixture *f, size_t i, double sigma_rad) {
    f->frame[i].has_compass = true;
    f->frame[i].compass_mirrored = f->manner.mirrored;
    f->frame[i].compass_up_rad = f->up_rad[i] - ZERO_RAD + gsl_ran_gaussian(f->rng, sigma_rad);
    f->frame[i].compass_sigma_rad = sigma_rad;
}

static void give_all(fixture *f) {
    for (size_t i = 0; i < f->manner.count; i++) {
        give_compass(f, i, COMPASS_RAD);
    }
}

static void make_sun_only(tl_track_frame_in *f) {
    f->measured = false;
    f->separation_sr = f->offset_x_sr = f->offset_y_sr = 0.0;
}

/* The other hand, the turn being the same: base.h, mirrored x = +s. */
static void exchange_hand(tl_track_frame_in *f) {
    f->offset_x_sr = -f->offset_x_sr;
    f->compass_mirrored = !f->compass_mirrored;
}

static void solve(fixture *f) {
    tl_track_free(&f->track);
    assert_int_equal(tl_track_solve(f->frame, f->manner.count, &f->options, &f->track), TL_OK);
}

static const tl_track_camera *camera(const fixture *f) {
    return tl_track_main(&f->track);
}

/* The turn as it was put in, also by the spots alone if they are used. */
static void expect_turn(const fixture *f, size_t i, bool spots, bool mirrored) {
    const tl_track_frame *frame = &f->track.frame[i];
    assert_true(frame->has_turn && frame->mirror_known);
    assert_int_equal(frame->mirrored, mirrored);
    check_near(tl_angle_signed(frame->up_pa_rad - f->up_rad[i]), 0.0, SIGMAS * frame->up_sigma_rad);
    assert_int_equal(frame->has_spots_up, spots);
    if (spots) {
        check_near(tl_angle_signed(frame->spots_up_rad - f->up_rad[i]), 0.0,
                   SIGMAS * frame->spots_up_sigma_rad);
        assert_true(frame->spots_up_sigma_rad < 2.0 * COMPASS_RAD);
    }
}

/* Frames without a Moon, without a time, with neither and with both are turned by their spots; the
 * one without spots by its Moon, as the hand is known now. */
static void turns(void **state) {
    (void)state;
    for (int hand = 0; hand < 2; hand++) {
        fixture f;
        set_up(&f);
        f.manner.mirrored = hand == 1;
        make(&f);
        solve(&f);
        assert_int_equal(camera(&f)->mirrored, TL_MIRROR_AUTO);
        assert_int_equal(f.track.compass.state, TL_COMPASS_NONE);
        assert_false(f.track.frame[7].mirror_known || f.track.frame[7].mirrored);
        assert_int_equal(f.track.frame[7].turn_by, TL_TURN_BY_MOON);
        give_all(&f);
        f.frame[2].has_compass = false;
        make_sun_only(&f.frame[4]);
        make_sun_only(&f.frame[5]);
        f.frame[5].timed = f.frame[6].timed = false;
        solve(&f);
        assert_int_equal(f.track.compass.state, TL_COMPASS_USED);
        assert_int_equal(f.track.compass.tied_count, FRAMES - 4);
        check_near(f.track.compass.zero_rad, ZERO_RAD, SIGMAS * f.track.compass.zero_sigma_rad);
        /* 12 frames of 0.3 deg, and the Moon's direction 0.1 to 0.2 deg beside it. */
        assert_in_range(1e4 * f.track.compass.zero_sigma_rad / TL_DEG, 800, 2000);
        assert_int_equal(camera(&f)->mirrored, hand == 1 ? TL_MIRROR_YES : TL_MIRROR_NO);
        assert_true(camera(&f)->mirror_by_spots);
        assert_false(camera(&f)->mirror_mixed || camera(&f)->mirror_given);
        assert_int_equal(camera(&f)->holding, TL_HOLDING_FREE);
        for (size_t i = 0; i < FRAMES; i++) {
            expect_turn(&f, i, i != 2, hand == 1);
        }
        /* Far out the Moon tells to 0.002 / 1.9, near maximum to 0.002 / 0.1; 0.06 and 1 deg. */
        assert_int_equal(f.track.frame[0].turn_by, TL_TURN_BY_MOON);
        assert_int_equal(f.track.frame[2].turn_by, TL_TURN_BY_MOON);
        assert_int_equal(f.track.frame[8].turn_by, TL_TURN_BY_SPOTS);
        assert_int_equal(f.track.frame[4].turn_by, TL_TURN_BY_SPOTS);
        assert_int_equal(f.track.frame[5].turn_by, TL_TURN_BY_SPOTS);
        assert_false(f.track.frame[5].has_true);
        assert_string_equal(f.track.note, "");
        tear_down(&f);
    }
}

/* Somebody turned the diagonal: each frame has the hand its spots show, the camera has none. */
static void both_hands(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    make(&f);
    give_all(&f);
    for (size_t i = 8; i < FRAMES; i++) {
        exchange_hand(&f.frame[i]);
    }
    f.frame[3].has_compass = false;
    solve(&f);
    assert_int_equal(f.track.compass.state, TL_COMPASS_USED);
    assert_true(camera(&f)->mirror_mixed && camera(&f)->mirror_by_spots);
    assert_int_equal(camera(&f)->mirrored, TL_MIRROR_AUTO);
    for (size_t i = 0; i < FRAMES; i++) {
        if (i != 3) {
            expect_turn(&f, i, true, i < 8);
        }
    }
    assert_false(f.track.frame[3].mirror_known);
    assert_int_equal(f.track.frame[3].turn_by, TL_TURN_BY_MOON);
    tear_down(&f);
}

/* The user's word stands against the spots, which are then not used; the note says so. */
static void user_opposed(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    make(&f);
    give_all(&f);
    f.options.mirror = TL_MIRROR_NO;
    solve(&f);
    assert_int_equal(camera(&f)->mirrored, TL_MIRROR_NO);
    assert_false(camera(&f)->mirror_by_spots);
    assert_int_equal(f.track.compass.opposed_count, FRAMES);
    for (size_t i = 0; i < FRAMES; i++) {
        assert_int_equal(f.track.frame[i].turn_by, TL_TURN_BY_MOON);
        assert_false(f.track.frame[i].mirrored);
    }
    assert_non_null(strstr(f.track.note, "By their sunspots 16 pictures contradict --mirror no"));
    /* Spots that were taken for their mirror image, as the user says: up_pa with its sign changed.
     */
    for (size_t i = 0; i < FRAMES; i++) {
        f.frame[i].compass_mirrored = false;
        f.frame[i].compass_up_rad = -f.frame[i].compass_up_rad;
    }
    solve(&f);
    assert_int_equal(f.track.compass.state, TL_COMPASS_REFUSED);
    assert_int_equal(camera(&f)->mirrored, TL_MIRROR_NO);
    assert_non_null(strstr(f.track.note, "By their sunspots the pictures contradict --mirror no"));
    tear_down(&f);
}

/*
 * Pictures that are not mirrored, turned by hand in such a way that a mount's rule holds for
 * mirrored ones: PA + direction = constant, direction = PA - up. The spots know better.
 */
static void rule_opposed(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    f.manner.mirrored = false;
    make(&f);
    for (size_t i = 0; i < FRAMES; i++) {
        tl_sky sky;
        assert_int_equal(tl_sky_table_at(f.scene.table, f.true_utc_s[i], &sky), TL_OK);
        f.up_rad[i] = 2.0 * sky.pa_rad - 1.0;
        tl_frame_from_sky(f.up_rad[i], false, sky.east_sr, sky.north_sr, &f.frame[i].offset_x_sr,
                          &f.frame[i].offset_y_sr);
    }
    solve(&f);
    assert_int_equal(camera(&f)->mirrored, TL_MIRROR_YES);
    give_all(&f);
    solve(&f);
    assert_int_equal(camera(&f)->mirrored, TL_MIRROR_NO);
    assert_int_equal(camera(&f)->holding, TL_HOLDING_FREE);
    for (size_t i = 0; i < FRAMES; i++) {
        expect_turn(&f, i, true, false);
    }
    assert_non_null(strstr(f.track.note, "is taken from their sunspots"));
    tear_down(&f);
}

/* Compasses at random are not used, and everything is as without them; one bad one among good ones
 * is named, and its frame turned by its Moon. */
static void bad_compasses(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    make(&f);
    give_all(&f);
    f.frame[9].compass_up_rad += 20.0 * TL_DEG;
    solve(&f);
    assert_int_equal(f.track.compass.state, TL_COMPASS_USED);
    assert_int_equal(f.track.compass.outlier_count, 1);
    expect_turn(&f, 9, false, true);
    expect_turn(&f, 8, true, true);
    for (size_t i = 0; i < FRAMES; i++) {
        f.frame[i].compass_up_rad = 2.0 * TL_PI * gsl_rng_uniform(f.rng);
    }
    solve(&f);
    assert_int_equal(f.track.compass.state, TL_COMPASS_REFUSED);
    assert_int_equal(camera(&f)->mirrored, TL_MIRROR_AUTO);
    assert_int_equal(f.track.frame[8].turn_by, TL_TURN_BY_MOON);
    assert_non_null(strstr(f.track.note, "The sunspots and the Moon do not agree"));
    tear_down(&f);
}

/* One Moon ties the zero but not the hand; that has to be said. */
static void hand_open(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    make(&f);
    give_all(&f);
    for (size_t i = 1; i < FRAMES; i++) {
        make_sun_only(&f.frame[i]);
    }
    solve(&f);
    assert_int_equal(f.track.compass.state, TL_COMPASS_OPEN);
    assert_false(f.track.frame[5].has_turn);
    f.options.mirror = TL_MIRROR_YES;
    solve(&f);
    assert_int_equal(f.track.compass.state, TL_COMPASS_USED);
    assert_int_equal(camera(&f)->mirrored, TL_MIRROR_YES);
    for (size_t i = 0; i < FRAMES; i++) {
        expect_turn(&f, i, true, true);
    }
    /* The spots of that one frame say what its Moon says, being tied by nothing else. */
    check_near(f.track.frame[0].spots_up_sigma_rad,
               hypot(CIRCLE_SR, TL_TRACK_FLOOR_SR) / f.frame[0].separation_sr, 1e-5);
    check_near(tl_angle_signed(f.track.frame[0].spots_up_rad - f.track.frame[0].up_pa_rad), 0.0,
               1e-9);
    make_sun_only(&f.frame[0]);
    solve(&f);
    assert_int_equal(f.track.compass.state, TL_COMPASS_UNTIED);
    assert_false(f.track.frame[5].has_turn);
    tear_down(&f);
}

/* Three Moons tell no rule, with ten whole Suns beside them it is told, the jitter too. */
static void holding(void **state) {
    (void)state;
    static const tl_holding RULE[] = {TL_HOLDING_FIXED, TL_HOLDING_ALTAZ};
    static const double JITTER_RAD[] = {0.4 * TL_DEG, 2.0 * TL_DEG};
    for (size_t k = 0; k < 4; k++) {
        fixture f;
        set_up(&f);
        f.manner.holding = RULE[k % 2];
        f.manner.jitter_rad = JITTER_RAD[k / 2];
        f.manner.up_rad = 1.1;
        make(&f);
        for (size_t i = 0; i < FRAMES; i++) {
            if (i % 6 != 2) {
                make_sun_only(&f.frame[i]);
            }
        }
        f.frame[11].has_compass = false;
        solve(&f);
        assert_int_equal(camera(&f)->holding, TL_HOLDING_FREE);
        give_all(&f);
        f.frame[11].has_compass = false;
        solve(&f);
        assert_int_equal(camera(&f)->holding, RULE[k % 2]);
        assert_false(camera(&f)->holding_open);
        /* The rms of 15 numbers is known to 18 %; the ladder of turn.c steps by 15 %. */
        check_near(camera(&f)->turn_jitter_rad / JITTER_RAD[k / 2], 1.0, 0.75);
        expect_turn(&f, 11, false, true);
        assert_int_equal(f.track.frame[11].turn_by, TL_TURN_BY_RULE);
        f.options.holding = RULE[1 - k % 2];
        solve(&f);
        assert_int_equal(camera(&f)->holding, RULE[1 - k % 2]);
        assert_non_null(strstr(f.track.note, "contradict --holding"));
        /* A single Moon contradicts nothing by itself; the mirror has to be said then. */
        make_sun_only(&f.frame[8]);
        make_sun_only(&f.frame[14]);
        f.options.mirror = TL_MIRROR_YES;
        solve(&f);
        assert_int_equal(f.track.compass.tied_count, 1);
        assert_non_null(strstr(f.track.note, "contradict --holding"));
        tear_down(&f);
    }
}

/* Undated frames out of order: their spots tell the side. Where compasses are poor it stays open.
 */
static void sides(void **state) {
    (void)state;
    static const size_t UNDATED[] = {1, 6, 9, 14};
    fixture f;
    set_up(&f);
    make(&f);
    give_all(&f);
    tl_track_frame_in first = f.frame[0];
    double up = f.up_rad[0], t = f.true_utc_s[0];
    f.frame[0] = f.frame[FRAMES - 1], f.up_rad[0] = f.up_rad[FRAMES - 1];
    f.true_utc_s[0] = f.true_utc_s[FRAMES - 1];
    f.frame[FRAMES - 1] = first, f.up_rad[FRAMES - 1] = up, f.true_utc_s[FRAMES - 1] = t;
    for (size_t i = 0; i < 4; i++) {
        f.frame[UNDATED[i]].timed = false;
    }
    solve(&f);
    for (size_t i = 0; i < 4; i++) {
        const tl_track_frame *frame = &f.track.frame[UNDATED[i]];
        assert_true(frame->has_sides && frame->has_true);
        assert_int_equal(frame->side_by, TL_SIDE_BY_SPOTS);
        check_near(frame->true_utc_s, f.true_utc_s[UNDATED[i]], SIGMAS * frame->true_sigma_s);
        expect_turn(&f, UNDATED[i], true, true);
    }
    f.frame[6].has_compass = false;
    f.frame[9].compass_sigma_rad = 0.49; /* 28 deg each way, and the sides are 170 deg apart */
    f.frame[14].compass_up_rad += TL_PI / 2.0; /* fits neither side */
    solve(&f);
    assert_int_equal(f.track.frame[1].side_by, TL_SIDE_BY_SPOTS);
    assert_int_equal(f.track.frame[6].side_by, TL_SIDE_OPEN);
    assert_int_equal(f.track.frame[14].side_by, TL_SIDE_OPEN);
    assert_false(f.track.frame[6].has_true || f.track.frame[14].has_true);
    tear_down(&f);
}

/* The order of the names, which no dated frame contradicts, is contradicted by the spots of one
 * frame: that is not taken to be the order of time any more. */
static void order_refuted(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    make(&f);
    give_all(&f);
    f.frame[14].has_compass = false;
    /* Undated: 14, and 12 put back to the fifth place, where its separation is that of the fourth.
     */
    f.frame[14].timed = false;
    solve(&f);
    assert_int_equal(f.track.frame[14].side_by, TL_SIDE_BY_ORDER);
    f.frame[4] = f.frame[12];
    f.up_rad[4] = f.up_rad[12];
    give_compass(&f, 4, COMPASS_RAD);
    f.frame[4].timed = false;
    solve(&f);
    assert_int_equal(f.track.frame[4].side_by, TL_SIDE_BY_SPOTS);
    check_near(f.track.frame[4].true_utc_s, f.true_utc_s[12],
               SIGMAS * f.track.frame[4].true_sigma_s);
    assert_int_equal(f.track.frame[14].side_by, TL_SIDE_OPEN);
    assert_false(f.track.frame[14].has_true);
    tear_down(&f);
}

/* No frame is dated: those whose side the order tells tie the compasses. */
static void none_dated(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    make(&f);
    give_all(&f);
    for (size_t i = 0; i < FRAMES; i++) {
        f.frame[i].timed = false;
    }
    make_sun_only(&f.frame[3]);
    solve(&f);
    assert_int_equal(f.track.compass.state, TL_COMPASS_USED);
    for (size_t i = 0; i < FRAMES; i++) {
        expect_turn(&f, i, true, true);
        assert_true(f.track.frame[i].has_true || i == 3);
    }
    assert_int_equal(camera(&f)->mirrored, TL_MIRROR_YES);
    tear_down(&f);
}

/* The Moon's way seen by a camera in the hand. */
static void direction(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    make(&f);
    solve(&f);
    assert_false(f.track.has_direction);
    give_all(&f);
    solve(&f);
    assert_true(f.track.has_direction);
    /* Predicted by the almanac's places 5 min before and after maximum. */
    check_near(tl_angle_signed(f.track.direction_pa_rad - f.track.direction_predicted_rad), 0.0,
               SIGMAS * f.track.direction_sigma_rad);
    assert_true(f.track.direction_sigma_rad < 0.5 * TL_DEG);
    tear_down(&f);
}

/* A second camera that saw no Moon is turned by the zero of the first. */
static void common_zero(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    make(&f);
    give_all(&f);
    for (size_t i = 0; i < 5; i++) {
        f.frame[i].camera = 1;
        make_sun_only(&f.frame[i]);
    }
    solve(&f);
    for (size_t i = 0; i < FRAMES; i++) {
        expect_turn(&f, i, true, true);
    }
    assert_int_equal(f.track.camera[1].mirrored, TL_MIRROR_YES);
    assert_true(f.track.camera[1].mirror_by_spots);
    tear_down(&f);
}

/* What is no compass counts as none. */
static void garbage(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    make(&f);
    give_all(&f);
    f.frame[0].compass_up_rad = NAN;
    f.frame[1].compass_sigma_rad = 0.0;
    f.frame[2].compass_sigma_rad = -1.0;
    f.frame[3].compass_sigma_rad = HUGE_VAL;
    f.frame[4].camera = TL_CAMERAS_MAX;
    f.frame[5].compass_sigma_rad = 1e-30;
    solve(&f);
    assert_int_equal(f.track.compass.state, TL_COMPASS_USED);
    for (size_t i = 0; i < 5; i++) {
        assert_false(f.track.frame[i].has_spots_up);
    }
    for (size_t i = 0; i < FRAMES; i++) {
        const tl_track_frame *frame = &f.track.frame[i];
        assert_true(isfinite(frame->up_sigma_rad) && frame->up_sigma_rad >= 0.0);
        assert_true(frame->up_pa_rad >= 0.0 && frame->up_pa_rad < 2.0 * TL_PI);
        assert_int_equal(frame->has_turn, frame->turn_by != TL_TURN_NONE);
    }
    f.options.site.source = TL_SITE_NONE; /* no almanac: no zero */
    solve(&f);
    assert_int_equal(f.track.compass.state, TL_COMPASS_UNTIED);
    tear_down(&f);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(turns),         cmocka_unit_test(both_hands),
        cmocka_unit_test(user_opposed),  cmocka_unit_test(rule_opposed),
        cmocka_unit_test(bad_compasses), cmocka_unit_test(hand_open),
        cmocka_unit_test(holding),       cmocka_unit_test(sides),
        cmocka_unit_test(order_refuted), cmocka_unit_test(none_dated),
        cmocka_unit_test(direction),     cmocka_unit_test(common_zero),
        cmocka_unit_test(garbage),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
