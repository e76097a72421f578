/* Several cameras on one eclipse: a clock and a mounting each, one path. */
#include "check.h"
#include "test_track_series.h"

static const double DAY_2024_S = 19821.0 * TL_DAY_S; /* 2024 April 8, 0 h UTC */
static const double SIGMAS = 4.0;                    /* one in 16,000 */
enum { PHONE, LENS, CARD, CAMERAS };
enum { PHONES = 14, LENSES = 20, CARDS = 6, FRAMES = PHONES + LENSES + CARDS };

typedef struct fixture {
    scene scene;
    gsl_rng *rng;
    tl_track_frame_in frame[FRAMES];
    double true_utc_s[FRAMES], up_rad[FRAMES];
    tl_track_options options;
    tl_track track;
} fixture;

/* A phone in the hand; a lens on an equatorial mount whose camera is a year behind, mirrored; a
 * projection on an alt-azimuth mount before maximum, an hour off. */
static const manner MANNER[CAMERAS] = {
    [PHONE] = {.count = PHONES,
               .from = 0.03,
               .to = 0.97,
               .sigma_sr = 2e-3,
               .whole_seconds = true,
               .clock_s = -4.0 * 3600.0 + 12.0,
               .zone_known = true,
               .zone_minutes = -240,
               .holding = TL_HOLDING_FREE},
    [LENS] = {.camera = LENS,
              .count = LENSES,
              .from = 0.05,
              .to = 0.9,
              .sigma_sr = 2e-4,
              .whole_seconds = true,
              .clock_s = -4.0 * 3600.0 - 77.0 - 366.0 * TL_DAY_S,
              .holding = TL_HOLDING_FIXED,
              .up_rad = 0.7,
              .jitter_rad = 0.01,
              .mirrored = true},
    [CARD] = {.camera = CARD,
              .count = CARDS,
              .from = 0.05,
              .to = 0.45,
              .sigma_sr = 1e-3,
              .whole_seconds = true,
              .clock_s = -5.0 * 3600.0 + 240.0,
              .zone_known = true,
              .zone_minutes = -240,
              .holding = TL_HOLDING_ALTAZ,
              .up_rad = 2.0,
              .jitter_rad = 0.005},
};

static void set_up(fixture *f) {
    memset(f, 0, sizeof *f);
    assert_true(scene_make(site_of(40.55, -84.44), DAY_2024_S, &f->scene));
    f->rng = gsl_rng_alloc(gsl_rng_taus);
    f->options = options_for(&f->scene);
    size_t next = 0;
    for (size_t k = 0; k < CAMERAS; k++) {
        series_make(&f->scene, &MANNER[k], f->rng, &f->frame[next], &f->true_utc_s[next],
                    &f->up_rad[next]);
        next += MANNER[k].count;
    }
    assert_int_equal(tl_track_solve(f->frame, FRAMES, &f->options, &f->track), TL_OK);
}

static void tear_down(fixture *f) {
    tl_track_free(&f->track);
    scene_free(&f->scene);
    gsl_rng_free(f->rng);
}

static double total(const tl_clock *c) {
    return c->day_shift_s + 60.0 * c->zone_minutes + c->offset_s;
}

static void a_clock_each(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    static const int ZONE[CAMERAS] = {-240, -240, -300};
    assert_int_equal(f.track.camera_count, CAMERAS);
    assert_int_equal(f.track.main_camera, LENS);
    for (size_t k = 0; k < CAMERAS; k++) {
        const tl_track_camera *camera = &f.track.camera[k];
        assert_true(camera->clock.solved);
        assert_int_equal(camera->frame_count, MANNER[k].count);
        assert_int_equal(camera->used_count, MANNER[k].count);
        assert_int_equal(camera->clock.zone_minutes, ZONE[k]);
        check_near(total(&camera->clock), MANNER[k].clock_s, SIGMAS * camera->clock.sigma_s);
    }
    check_near(f.track.camera[LENS].clock.day_shift_s, -366.0 * TL_DAY_S, 0.0);
    assert_true(f.track.camera[CARD].clock.zone_corrected);
    for (size_t i = 0; i < FRAMES; i++) {
        const tl_track_frame *frame = &f.track.frame[i];
        assert_true(frame->has_true && !frame->outlier);
        check_near(frame->true_utc_s, f.true_utc_s[i], SIGMAS * frame->true_sigma_s);
    }
    tear_down(&f);
}

/* How each was held; the picture of the fixed one does not turn, that of the other as the
 * parallactic angle does. */
static void a_mounting_each(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    const tl_track_camera *camera = f.track.camera;
    assert_int_equal(camera[PHONE].holding, TL_HOLDING_FREE);
    assert_int_equal(camera[PHONE].mirrored, TL_MIRROR_AUTO);
    assert_false(camera[PHONE].has_rotation);
    assert_int_equal(camera[LENS].holding, TL_HOLDING_FIXED);
    assert_int_equal(camera[LENS].mirrored, TL_MIRROR_YES);
    assert_true(camera[LENS].has_rotation && !camera[LENS].holding_open);
    check_near(camera[LENS].rotation_rad, 0.0, 0.0);
    assert_int_equal(camera[CARD].holding, TL_HOLDING_ALTAZ);
    assert_int_equal(camera[CARD].mirrored, TL_MIRROR_NO);
    assert_true(camera[CARD].has_rotation);
    tl_sky first, last;
    assert_int_equal(tl_sky_table_at(f.scene.table, f.true_utc_s[PHONES + LENSES], &first), TL_OK);
    assert_int_equal(tl_sky_table_at(f.scene.table, f.true_utc_s[FRAMES - 1], &last), TL_OK);
    const double second_rad = 1e-3; /* the parallactic angle turns by less in ten seconds */
    check_near(camera[CARD].rotation_rad,
               tl_angle_signed(last.parallactic_rad - first.parallactic_rad), second_rad);
    assert_true(fabs(camera[CARD].rotation_rad) > 5.0 * TL_DEG);
    tear_down(&f);
}

/* The path is that of all three: as good as the best camera's own, contacts in its time. */
static void one_path(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    static const size_t CONTACT[] = {TL_C1, TL_MAX, TL_C4};
    for (size_t i = 0; i < 3; i++) {
        const tl_track_contact *c = &f.track.contact[CONTACT[i]];
        double true_utc_s = f.scene.circumstances.contact[CONTACT[i]].t_utc_s;
        assert_true(c->measured && c->predicted);
        check_near(c->measured_camera_s, true_utc_s + MANNER[LENS].clock_s, SIGMAS * c->sigma_s);
        check_near(c->measured_utc_s, true_utc_s, SIGMAS * c->utc_sigma_s);
        assert_true(c->utc_sigma_s < 3.0);
    }
    assert_int_equal(f.track.used_count, FRAMES);
    tl_track alone;
    assert_int_equal(tl_track_solve(&f.frame[PHONES], LENSES, &f.options, &alone), TL_OK);
    double together_s = f.track.contact[TL_C4].utc_sigma_s;
    assert_true(together_s < 1.05 * alone.contact[TL_C4].utc_sigma_s);
    tl_track_free(&alone);
    tear_down(&f);
}

/* Direction of the Moon's motion at maximum: by the difference quotient of the almanac's places,
 * and as the cameras with a shared turn saw it. */
static void direction(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    tl_sky before, after;
    double t = f.scene.circumstances.contact[TL_MAX].t_utc_s;
    assert_int_equal(tl_sky_table_at(f.scene.table, t - 60.0, &before), TL_OK);
    assert_int_equal(tl_sky_table_at(f.scene.table, t + 60.0, &after), TL_OK);
    double pa = atan2(after.east_sr - before.east_sr, after.north_sr - before.north_sr);
    check_near(tl_angle_signed(f.track.direction_predicted_rad - pa), 0.0, 0.1 * TL_DEG);
    assert_true(f.track.has_direction);
    check_near(tl_angle_signed(f.track.direction_pa_rad - pa), 0.0,
               SIGMAS * f.track.direction_sigma_rad);
    assert_true(f.track.direction_sigma_rad > 0.0 && f.track.direction_sigma_rad < 1.0 * TL_DEG);
    assert_true(f.track.has_smallest);
    check_near(f.track.magnitude, f.scene.circumstances.magnitude,
               SIGMAS * f.track.magnitude_sigma + 1e-4);
    tear_down(&f);
}

/* A picture each from many cameras: every clock is solved, but no path, for each picture may have
 * its own time; nor does one minute of a mounted camera show where the Moon goes. */
static void one_each(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    for (size_t i = 0; i < TL_CAMERAS_MAX; i++) {
        f.frame[i] = f.frame[i < PHONES ? i : PHONES - 1];
        f.frame[i].camera = i;
    }
    tl_track track;
    assert_int_equal(tl_track_solve(f.frame, TL_CAMERAS_MAX, &f.options, &track), TL_OK);
    for (size_t i = 0; i < TL_CAMERAS_MAX; i++) {
        assert_true(track.camera[i].clock.solved && track.camera[i].used_count == 1);
    }
    assert_false(track.free_solved);
    assert_non_null(strstr(track.note, "three measured pictures of one camera"));
    tl_track_free(&track);

    manner minute = MANNER[LENS];
    minute.from = 0.3;
    minute.to = 0.305;
    series_make(&f.scene, &minute, f.rng, f.frame, NULL, NULL);
    f.options.holding = TL_HOLDING_FIXED;
    f.options.mirror = TL_MIRROR_YES;
    assert_int_equal(tl_track_solve(f.frame, LENSES, &f.options, &track), TL_OK);
    assert_true(track.camera[LENS].clock.solved && track.camera[LENS].has_rotation);
    assert_false(track.has_direction);
    tl_track_free(&track);
    tear_down(&f);
}

/* Beyond the cameras there is room for: no clock, and no harm to the others. */
static void too_many(void **state) {
    (void)state;
    fixture f;
    set_up(&f);
    for (size_t i = PHONES + LENSES; i < FRAMES; i++) {
        f.frame[i].camera = TL_CAMERAS_MAX;
    }
    tl_track track;
    assert_int_equal(tl_track_solve(f.frame, FRAMES, &f.options, &track), TL_OK);
    assert_int_equal(track.camera_count, 2);
    assert_true(track.camera[LENS].clock.solved);
    assert_int_equal(track.used_count, PHONES + LENSES);
    tl_track_free(&track);
    tear_down(&f);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_clock_each), cmocka_unit_test(a_mounting_each),
        cmocka_unit_test(one_path),     cmocka_unit_test(direction),
        cmocka_unit_test(too_many),     cmocka_unit_test(one_each),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
