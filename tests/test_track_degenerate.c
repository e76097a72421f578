/* Too little, nothing, and garbage: an honest answer and no crash. */
#include "check.h"
#include "test_track_series.h"

static const double DAY_2024_S = 19821.0 * TL_DAY_S;
static const double FIRST_S =
    1.7126e9; /* within the eclipse of that day, as Ohio's clocks had it */

static tl_track_frame_in plain(double t_s, double separation_sr) {
    return (tl_track_frame_in){.timed = true,
                               .t_camera_s = t_s,
                               .t_sigma_s = WHOLE_SECOND_SIGMA_S,
                               .measured = true,
                               .separation_sr = separation_sr,
                               .separation_sigma_sr = 0.004,
                               .offset_x_sr = separation_sr,
                               .offset_xx = 1.6e-5,
                               .offset_yy = 1.6e-5,
                               .ratio_raw = 1.05,
                               .ratio_raw_sigma = 0.01};
}

static tl_track solve(const tl_track_frame_in *frame, size_t count,
                      const tl_track_options *options) {
    tl_track track;
    assert_int_equal(tl_track_solve(frame, count, options, &track), TL_OK);
    assert_int_equal(track.frame_count, count);
    assert_non_null(track.frame);
    return track;
}

static tl_track_options with_site(void) {
    return (tl_track_options){.site = site_of(40.55, -84.44), .sky = tl_sky_options_default()};
}

/* Whatever is solved is finite and has an error. */
static void expect_sound(const tl_track *t) {
    assert_in_range(strlen(t->note), 0, sizeof t->note - 1);
    if (tl_track_main(t)->clock.solved) {
        assert_true(isfinite(tl_track_main(t)->clock.offset_s) &&
                    tl_track_main(t)->clock.sigma_s > 0.0);
        assert_true(tl_track_main(t)->clock.zone_minutes >= -1440 &&
                    tl_track_main(t)->clock.zone_minutes <= 1440);
    }
    for (size_t i = 0; i < TL_CONTACTS; i++) {
        if (t->contact[i].measured) {
            assert_true(isfinite(t->contact[i].measured_camera_s));
            assert_true(t->contact[i].sigma_s > 0.0 && isfinite(t->contact[i].sigma_s));
        }
    }
    if (t->has_smallest) {
        assert_true(t->smallest_sr >= 0.0 && t->smallest_sigma_sr > 0.0);
    }
    assert_true(isfinite(t->ratio) && isfinite(t->ratio_sigma));
    assert_true(isfinite(t->ratio_measured) && isfinite(t->ratio_measured_sigma));
    if (t->has_direction) {
        const double worst_rad = 0.5; /* see direction.c */
        assert_true(isfinite(t->direction_pa_rad));
        assert_true(t->direction_sigma_rad > 0.0 && t->direction_sigma_rad <= worst_rad);
    }
    size_t used = 0;
    for (size_t k = 0; k < t->camera_count; k++) {
        used += t->camera[k].used_count;
    }
    assert_true(!t->free_solved || used >= t->used_count);
    for (size_t i = 0; i < t->frame_count; i++) {
        const tl_track_frame *f = &t->frame[i];
        assert_true(isfinite(f->residual_sr) && isfinite(f->magnitude));
        assert_true(!f->has_sides || (f->side_sigma_s[0] > 0.0 && f->side_sigma_s[1] > 0.0));
        assert_true(!f->has_true || (isfinite(f->true_utc_s) && f->true_sigma_s > 0.0));
        assert_true(!f->has_turn || (f->up_pa_rad >= 0.0 && f->up_pa_rad < 2.0 * TL_PI));
    }
}

static void no_frames(void **state) {
    (void)state;
    tl_track_options options = with_site();
    tl_track t = solve(NULL, 0, &options);
    assert_false(t.free_solved || tl_track_main(&t)->clock.solved);
    assert_non_null(strstr(t.note, "No picture could be measured"));
    tl_track_free(&t);
    tl_track_free(&t); /* twice is safe */
}

/* One to three frames: the clock from each, a path from three. */
static void few_frames(void **state) {
    (void)state;
    scene s;
    assert_true(scene_make(site_of(40.55, -84.44), DAY_2024_S, &s));
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus);
    for (size_t n = 1; n <= 3; n++) {
        manner how = {.count = n,
                      .from = 0.1,
                      .to = 0.9,
                      .sigma_sr = 0.003,
                      .whole_seconds = true,
                      .clock_s = -14400.0 + 30.0,
                      .zone_known = true,
                      .zone_minutes = -240};
        tl_track_frame_in frame[3];
        series_make(&s, &how, rng, frame, NULL, NULL);
        tl_track_options options = options_for(&s);
        tl_track t = solve(frame, n, &options);
        expect_sound(&t);
        assert_true(tl_track_main(&t)->clock.solved);
        assert_int_equal(t.free_solved, n == 3);
        tl_track_free(&t);
    }
    gsl_rng_free(rng);
    scene_free(&s);
}

/* All at one moment: no path; the same separation at all times: no path either. */
static void no_path(void **state) {
    (void)state;
    tl_track_options options = with_site();
    tl_track_frame_in frame[8];
    for (size_t i = 0; i < 8; i++) {
        frame[i] = plain(FIRST_S, 0.8 + 0.002 * (double)i);
    }
    tl_track t = solve(frame, 8, &options);
    expect_sound(&t);
    assert_false(t.free_solved);
    assert_non_null(strstr(t.note, "."));
    tl_track_free(&t);

    for (size_t i = 0; i < 8; i++) {
        frame[i] = plain(FIRST_S + 900.0 * (double)i, 0.8);
    }
    t = solve(frame, 8, &options);
    expect_sound(&t);
    assert_false(tl_track_main(&t)->clock.solved); /* no eclipse stands still for two hours */
    assert_non_null(strstr(t.note, "do not fit"));
    tl_track_free(&t);
}

/* Without a place: the path with the measured ratio, and a word on --site. */
static void no_site(void **state) {
    (void)state;
    tl_track_options options = {.sky = tl_sky_options_default()};
    tl_track_frame_in frame[9];
    for (size_t i = 0; i < 9; i++) {
        frame[i] =
            plain(FIRST_S + 700.0 * (double)i, hypot(0.3, 1.6 * (-0.78 + 0.1944 * (double)i)));
    }
    tl_track t = solve(frame, 9, &options);
    expect_sound(&t);
    assert_true(t.free_solved && !tl_track_main(&t)->clock.solved && !t.has_circumstances);
    assert_false(t.ratio_from_almanac);
    check_near(t.ratio, 1.05, 1e-9);
    assert_true(t.contact[TL_C1].measured && !t.contact[TL_C1].predicted);
    assert_non_null(strstr(t.note, "--site"));
    /* With no ratio either: a maximum, no contacts. */
    for (size_t i = 0; i < 9; i++) {
        frame[i].ratio_raw = NAN;
    }
    tl_track bare = solve(frame, 9, &options);
    expect_sound(&bare);
    assert_true(bare.contact[TL_MAX].measured && !bare.contact[TL_C1].measured);
    tl_track_free(&bare);
    tl_track_free(&t);
}

/* Nothing timed: no clock, and what can be done. */
static void no_times(void **state) {
    (void)state;
    tl_track_options options = with_site();
    tl_track_frame_in frame[4];
    for (size_t i = 0; i < 4; i++) {
        frame[i] = plain(0.0, 1.5 - 0.3 * (double)i);
        frame[i].timed = false;
    }
    tl_track t = solve(frame, 4, &options);
    expect_sound(&t);
    assert_false(t.free_solved || tl_track_main(&t)->clock.solved);
    assert_non_null(strstr(t.note, "--times, or the day with --date."));
    tl_track_free(&t);
    options.date_given = true; /* place and day are known: only times are missing */
    options.date_utc_s = TL_DAY_S * floor(FIRST_S / TL_DAY_S);
    t = solve(frame, 4, &options);
    assert_true(t.has_circumstances);
    assert_non_null(strstr(t.note, "no clock to check"));
    assert_null(strstr(t.note, "--date"));
    tl_track_free(&t);
    options = (tl_track_options){.sky = tl_sky_options_default()};
    t = solve(frame, 4, &options);
    assert_non_null(strstr(t.note, "--times, or the place and day with --site and --date."));
    tl_track_free(&t);
}

/* Each kind of garbage in turn takes its frame out and leaves the rest as it was. */
static void garbage_rejected(void **state) {
    (void)state;
    scene s;
    assert_true(scene_make(site_of(40.55, -84.44), DAY_2024_S, &s));
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus);
    manner how = {.count = 10,
                  .from = 0.05,
                  .to = 0.95,
                  .sigma_sr = 0.003,
                  .whole_seconds = true,
                  .clock_s = -14400.0 - 11.0,
                  .holding = TL_HOLDING_FREE};
    tl_track_frame_in frame[10], without[10];
    series_make(&s, &how, rng, frame, NULL, NULL);
    tl_track_options options = options_for(&s);
    memcpy(without, frame, sizeof frame);
    without[4].measured = false;
    without[4].timed = false;
    tl_track expected = solve(without, 10, &options);
    for (int kind = 0; kind < 10; kind++) {
        tl_track_frame_in broken[10];
        memcpy(broken, frame, sizeof frame);
        tl_track_frame_in *b = &broken[4];
        double *field[] = {&b->t_camera_s,          &b->t_sigma_s,     &b->separation_sr,
                           &b->separation_sigma_sr, &b->separation_sr, &b->separation_sigma_sr,
                           &b->t_camera_s,          &b->t_sigma_s,     &b->separation_sr,
                           &b->separation_sigma_sr};
        double value[] = {NAN, NAN, NAN, NAN, 7.0, -1.0, INFINITY, -INFINITY, -0.5, 0.0};
        *field[kind] = value[kind];
        tl_track t = solve(broken, 10, &options);
        expect_sound(&t);
        assert_true(tl_track_main(&t)->clock.solved);
        check_near(clock_total(&t), clock_total(&expected), 1e-3);
        assert_int_equal(t.used_count, 9);
        tl_track_free(&t);
    }
    frame[4].offset_x_sr = NAN;
    frame[5].offset_xx = -1.0;
    frame[5].offset_yy = -1.0;
    frame[6].offset_x_sr = frame[6].offset_y_sr = 0.0;
    tl_track t = solve(frame, 10, &options);
    expect_sound(&t);
    for (size_t i = 0; i < 10; i++) {
        assert_int_equal(t.frame[i].has_turn, i < 4 || i > 6);
    }
    tl_track_free(&t);
    tl_track_free(&expected);
    gsl_rng_free(rng);
    scene_free(&s);
}

/* Errors too small to be squared, and offsets that no eclipse has. */
static void extremes(void **state) {
    (void)state;
    tl_track_options options = {.sky = tl_sky_options_default()};
    tl_track_frame_in frame[9];
    for (size_t i = 0; i < 9; i++) {
        frame[i] =
            plain(FIRST_S + 700.0 * (double)i, hypot(0.3, 1.6 * (-0.78 + 0.1944 * (double)i)));
    }
    frame[2].ratio_raw_sigma = 1e-300;
    frame[3].separation_sigma_sr = 1e-300;
    tl_track t = solve(frame, 9, &options);
    expect_sound(&t);
    check_near(t.ratio, 1.05, 1e-9);
    assert_true(t.free_solved && t.contact[TL_C1].measured);
    tl_track_free(&t);

    scene s;
    assert_true(scene_make(site_of(40.55, -84.44), DAY_2024_S, &s));
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus);
    manner how = {.count = 9,
                  .from = 0.1,
                  .to = 0.9,
                  .sigma_sr = 0.003,
                  .whole_seconds = true,
                  .holding = TL_HOLDING_FIXED};
    series_make(&s, &how, rng, frame, NULL, NULL);
    frame[4].offset_x_sr = 1e100;
    options = options_for(&s);
    t = solve(frame, 9, &options);
    expect_sound(&t);
    assert_true(t.has_direction);
    check_near(tl_angle_signed(t.direction_pa_rad - t.direction_predicted_rad), 0.0,
               4.0 * t.direction_sigma_rad);
    tl_track_free(&t);

    /* All in one moment: they agree, but show no motion. */
    for (size_t i = 1; i < 9; i++) {
        frame[i] = frame[0];
    }
    options.holding = TL_HOLDING_FIXED;
    options.mirror = TL_MIRROR_NO;
    t = solve(frame, 9, &options);
    expect_sound(&t);
    assert_true(tl_track_main(&t)->clock.solved && !t.has_direction);
    tl_track_free(&t);
    gsl_rng_free(rng);
    scene_free(&s);
}

/* Places and days beyond the ephemeris, and poles. */
static void strange_places(void **state) {
    (void)state;
    static const double LAT[] = {90.0, -90.0, 95.0, NAN, 0.0},
                        LON[] = {0.0, 180.0, 0.0, 0.0, -180.0};
    tl_track_frame_in frame[6];
    for (size_t p = 0; p < 5; p++) {
        for (size_t i = 0; i < 6; i++) {
            frame[i] = plain(FIRST_S + 900.0 * (double)i, 1.2 - 0.15 * (double)i);
        }
        tl_track_options options = with_site();
        options.site = site_of(LAT[p], LON[p]);
        tl_track t = solve(frame, 6, &options);
        expect_sound(&t);
        assert_true(tl_track_main(&t)->clock.solved || t.note[0] != '\0');
        tl_track_free(&t);
    }
    for (size_t i = 0; i < 6; i++) {
        frame[i].t_camera_s -= 120.0 * 365.25 * TL_DAY_S; /* 1904 */
    }
    tl_track_options options = with_site();
    tl_track t = solve(frame, 6, &options);
    expect_sound(&t);
    assert_false(tl_track_main(&t)->clock.solved);
    assert_true(t.note[0] != '\0');
    tl_track_free(&t);
}

/* Numbers drawn at random, many of them absurd, never break it. */
static void random_garbage(void **state) {
    (void)state;
    static const double ODD[] = {0.0, -0.0,     1e300,     -1e300, 1e-300,
                                 NAN, INFINITY, -INFINITY, 1.0,    -1.0};
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus);
    enum { RUNS = 60, MOST = 20 };
    for (size_t run = 0; run < RUNS; run++) {
        tl_track_frame_in frame[MOST];
        size_t n = gsl_rng_uniform_int(rng, MOST) + 1;
        for (size_t i = 0; i < n; i++) {
            frame[i] = plain(FIRST_S + 9000.0 * gsl_rng_uniform(rng), 2.3 * gsl_rng_uniform(rng));
            frame[i].timed = gsl_rng_uniform(rng) < 0.9;
            frame[i].zone_known = gsl_rng_uniform(rng) < 0.3;
            frame[i].zone_minutes = (int)gsl_rng_uniform_int(rng, 4000) - 2000;
            double *field[] = {
                &frame[i].t_camera_s,          &frame[i].t_sigma_s,      &frame[i].separation_sr,
                &frame[i].separation_sigma_sr, &frame[i].offset_x_sr,    &frame[i].offset_y_sr,
                &frame[i].offset_xx,           &frame[i].offset_xy,      &frame[i].offset_yy,
                &frame[i].ratio_raw,           &frame[i].ratio_raw_sigma};
            if (gsl_rng_uniform(rng) < 0.3) {
                *field[gsl_rng_uniform_int(rng, sizeof field / sizeof field[0])] =
                    ODD[gsl_rng_uniform_int(rng, sizeof ODD / sizeof ODD[0])];
            }
        }
        tl_track_options options = with_site();
        options.site.source = run % 4 == 0 ? TL_SITE_NONE : TL_SITE_GIVEN;
        options.holding = (tl_holding)gsl_rng_uniform_int(rng, 4);
        options.mirror = (tl_mirror)gsl_rng_uniform_int(rng, 3);
        options.date_given = true;
        options.date_utc_s = DAY_2024_S;
        tl_track t = solve(frame, n, &options);
        expect_sound(&t);
        tl_track_free(&t);
    }
    gsl_rng_free(rng);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_frames),      cmocka_unit_test(few_frames),
        cmocka_unit_test(no_path),        cmocka_unit_test(no_site),
        cmocka_unit_test(no_times),       cmocka_unit_test(garbage_rejected),
        cmocka_unit_test(extremes),       cmocka_unit_test(strange_places),
        cmocka_unit_test(random_garbage),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
