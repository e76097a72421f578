/* The camera's clock: zones, days, years, halves of a day, ambiguity, frames without a time. */
#include "check.h"
#include "test_track_series.h"
#include "track/track_internal.h"

/* 2024 April 8 and 2017 August 21, 0 h UTC (days since 1970 by the calendar). */
static const double DAY_2024_S = 19821.0 * TL_DAY_S, DAY_2017_S = 17399.0 * TL_DAY_S;
static const double SIGMAS = 4.0; /* of the clock's own error: one in 16,000 */
enum { FRAMES = 14 };

/* A series in central Ohio (zone -4 h in summer), the usual manner. */
typedef struct fixture {
    scene scene;
    manner manner;
    gsl_rng *rng;
    tl_track_frame_in frame[FRAMES];
    double true_utc_s[FRAMES];
    tl_track_options options;
} fixture;

static void set_up(fixture *f, tl_site site, double day_s, double clock_s) {
    memset(f, 0, sizeof *f);
    assert_true(scene_make(site, day_s, &f->scene));
    f->rng = gsl_rng_alloc(gsl_rng_taus);
    f->manner = (manner){.count = FRAMES,
                         .from = 0.04,
                         .to = 0.96,
                         .sigma_sr = 0.003,
                         .whole_seconds = true,
                         .clock_s = clock_s,
                         .holding = TL_HOLDING_FREE};
    f->options = options_for(&f->scene);
}

static void make(fixture *f) {
    series_make(&f->scene, &f->manner, f->rng, f->frame, f->true_utc_s, NULL);
}

static void tear_down(fixture *f) {
    scene_free(&f->scene);
    gsl_rng_free(f->rng);
}

static tl_track solve(const fixture *f) {
    tl_track track;
    assert_int_equal(tl_track_solve(f->frame, f->manner.count, &f->options, &track), TL_OK);
    return track;
}

static tl_site ohio(void) {
    return site_of(40.55, -84.44);
}

static void expect_clock(const tl_track *t, const fixture *f, int zone_minutes, double offset_s) {
    assert_true(tl_track_main(t)->clock.solved);
    assert_int_equal(tl_track_main(t)->clock.zone_minutes, zone_minutes);
    check_near(tl_track_main(t)->clock.offset_s, offset_s,
               SIGMAS * tl_track_main(t)->clock.sigma_s);
    check_near(clock_total(t), f->manner.clock_s, SIGMAS * tl_track_main(t)->clock.sigma_s);
    assert_true(tl_track_main(t)->clock.sigma_s > 0.5 && tl_track_main(t)->clock.sigma_s < 10.0);
    assert_int_equal(tl_track_main(t)->clock.alternative_count, 0);
}

/* No zone in the frames: the clock alone tells it, fast or slow. */
static void zone_found(void **state) {
    (void)state;
    static const double OFFSET_S[] = {17.0, -41.0, 650.0, -800.0};
    for (size_t i = 0; i < sizeof OFFSET_S / sizeof OFFSET_S[0]; i++) {
        fixture f;
        set_up(&f, ohio(), DAY_2024_S, -4.0 * 3600.0 + OFFSET_S[i]);
        make(&f);
        tl_track t = solve(&f);
        expect_clock(&t, &f, -240, OFFSET_S[i]);
        assert_false(tl_track_main(&t)->clock.zone_corrected);
        check_near(tl_track_main(&t)->clock.day_shift_s, 0.0, 0.0);
        assert_string_equal(t.note, "");
        for (size_t k = 0; k < FRAMES; k++) {
            assert_true(t.frame[k].has_true);
            check_near(t.frame[k].true_utc_s, f.true_utc_s[k], SIGMAS * t.frame[k].true_sigma_s);
            /* The stamp's own error, the clock's, and that of a drift of some 20 ppm that nobody
             * can see here: 0.1 s an hour and a half from the middle. */
            double least_s = hypot(WHOLE_SECOND_SIGMA_S, tl_track_main(&t)->clock.sigma_s);
            assert_true(t.frame[k].true_sigma_s >= least_s &&
                        t.frame[k].true_sigma_s < hypot(least_s, 0.12));
            check_near(t.frame[k].magnitude, t.frame[k].sky.magnitude, 0.01);
        }
        tl_track_free(&t);
        tear_down(&f);
    }
}

/* The zone said, by the frames or by the user, is wrong by an hour, half an hour; or right. */
static void zone_corrected(void **state) {
    (void)state;
    static const struct {
        int said, true_minutes;
        bool by_user;
    } CASE[] = {{-300, -240, false}, {60, -240, false},  {-300, -240, true},
                {-240, -240, false}, {-240, -240, true}, {-270, -240, false}};
    for (size_t i = 0; i < sizeof CASE / sizeof CASE[0]; i++) {
        fixture f;
        set_up(&f, ohio(), DAY_2024_S, 60.0 * CASE[i].true_minutes + 33.0);
        f.manner.zone_known = !CASE[i].by_user;
        f.manner.zone_minutes = CASE[i].said;
        f.options.zone_given = CASE[i].by_user;
        f.options.zone_minutes = CASE[i].said;
        make(&f);
        tl_track t = solve(&f);
        expect_clock(&t, &f, CASE[i].true_minutes, 33.0);
        assert_int_equal(tl_track_main(&t)->clock.zone_corrected,
                         CASE[i].said != CASE[i].true_minutes);
        tl_track_free(&t);
        tear_down(&f);
    }
}

/* Morning for afternoon: the zone stays, the offset has the twelve hours. */
static void half_day(void **state) {
    (void)state;
    fixture f;
    set_up(&f, ohio(), DAY_2024_S, (-4.0 - 12.0) * 3600.0 + 12.0);
    f.manner.zone_known = true;
    f.manner.zone_minutes = -240;
    make(&f);
    tl_track t = solve(&f);
    expect_clock(&t, &f, -240, -43200.0 + 12.0);
    assert_false(tl_track_main(&t)->clock.zone_corrected);
    assert_non_null(strstr(t.note, "twelve hours"));
    tl_track_free(&t);
    tear_down(&f);
}

/* A camera a day ahead is found out, one a year behind too: no eclipse was to be seen on its day.
 */
static void wrong_date(void **state) {
    (void)state;
    fixture f;
    set_up(&f, ohio(), DAY_2024_S, -4.0 * 3600.0 + 90.0 + TL_DAY_S);
    f.manner.zone_known = true;
    f.manner.zone_minutes = -240;
    make(&f);
    tl_track t = solve(&f);
    expect_clock(&t, &f, -240, 90.0);
    check_near(tl_track_main(&t)->clock.day_shift_s, TL_DAY_S, 0.0);
    assert_string_equal(t.note, ""); /* the shift says it */
    tl_track_free(&t);

    f.manner.clock_s = -4.0 * 3600.0 + 90.0 - 366.0 * TL_DAY_S; /* 2023-04-09: 2024 leaps */
    make(&f);
    t = solve(&f);
    expect_clock(&t, &f, -240, 90.0);
    assert_true(t.day_found);
    check_near(tl_track_main(&t)->clock.day_shift_s, -366.0 * TL_DAY_S, 0.0);
    assert_string_equal(t.note, "");
    tl_track_free(&t);

    f.options.date_given = true; /* the user insists: nothing is searched */
    f.options.date_utc_s = DAY_2024_S - 366.0 * TL_DAY_S;
    t = solve(&f);
    assert_false(tl_track_main(&t)->clock.solved || t.day_found);
    assert_true(t.free_solved);
    assert_non_null(strstr(t.note, "2023-04-08"));
    assert_non_null(strstr(t.note, "2023-10-14")); /* annular in the west, partial in Ohio */
    assert_non_null(strstr(t.note, "--date"));
    tl_track_free(&t);

    f.options.date_given = true;
    f.options.date_utc_s = DAY_2024_S;
    t = solve(&f);
    expect_clock(&t, &f, -240, 90.0);
    check_near(tl_track_main(&t)->clock.day_shift_s, -366.0 * TL_DAY_S, 0.0);
    tl_track_free(&t);
    tear_down(&f);
}

/* File names in UTC among local EXIF times of the same clock. */
static void mixed_zones(void **state) {
    (void)state;
    fixture f;
    set_up(&f, ohio(), DAY_2024_S, -4.0 * 3600.0 - 25.0);
    f.manner.zone_known = true;
    f.manner.zone_minutes = -240;
    make(&f);
    for (size_t i = 2; i < 6; i++) {
        f.frame[i].zone_minutes = 0;
        f.frame[i].t_camera_s += 4.0 * 3600.0;
    }
    tl_track t = solve(&f);
    expect_clock(&t, &f, -240, -25.0);
    for (size_t i = 0; i < FRAMES; i++) {
        assert_false(t.frame[i].outlier);
        check_near(t.frame[i].true_utc_s, f.true_utc_s[i], SIGMAS * t.frame[i].true_sigma_s);
    }
    tl_track_free(&t);
    tear_down(&f);
}

/* Most pictures of a camera roll were taken at home, in another zone: the clock is told in that of
 * the eclipse. */
static void zone_of_what_was_measured(void **state) {
    (void)state;
    fixture f;
    set_up(&f, ohio(), DAY_2024_S, -4.0 * 3600.0 - 25.0);
    f.manner.zone_known = true;
    f.manner.zone_minutes = -240;
    make(&f);
    for (size_t i = 4; i < FRAMES; i++) {
        f.frame[i].measured = false;
        f.frame[i].zone_minutes = -300;
    }
    assert_true(FRAMES - 4 > 4);
    tl_track t = solve(&f);
    expect_clock(&t, &f, -240, -25.0);
    tl_track_free(&t);
    tear_down(&f);
}

/* One picture: before or after maximum? Both are said, and the believable clock is taken. */
static void one_frame_two_answers(void **state) {
    (void)state;
    fixture f;
    set_up(&f, ohio(), DAY_2024_S, -4.0 * 3600.0 + 8.0);
    f.manner.count = 1;
    f.manner.from = f.manner.to = 0.25;
    f.manner.zone_known = true;
    f.manner.zone_minutes = -240;
    make(&f);
    tl_track t = solve(&f);
    assert_true(tl_track_main(&t)->clock.solved);
    assert_false(t.free_solved);
    assert_int_equal(tl_track_main(&t)->clock.alternative_count, 1);
    check_near(clock_total(&t), f.manner.clock_s, SIGMAS * tl_track_main(&t)->clock.sigma_s);
    /* The other answer is about an hour off: the same separation after maximum. */
    double other = 60.0 * tl_track_main(&t)->clock.alternative[0].zone_minutes +
                   tl_track_main(&t)->clock.alternative[0].offset_s;
    double apart = fabs(other - f.manner.clock_s);
    assert_true(apart > 2400.0 && apart < 6000.0);
    assert_non_null(strstr(t.note, "equally well"));
    tl_track_free(&t);
    tear_down(&f);
}

/* A frame not measured, a frame without time, a wrong time and a wrong circle. */
static void odd_frames(void **state) {
    (void)state;
    fixture f;
    set_up(&f, ohio(), DAY_2024_S, -4.0 * 3600.0 + 5.0);
    make(&f);
    f.frame[2].measured = false;
    f.frame[5].timed = false;
    f.frame[8].t_camera_s += 1800.0;
    f.frame[11].separation_sr += 0.1;
    tl_track t = solve(&f);
    assert_true(tl_track_main(&t)->clock.solved);
    check_near(clock_total(&t), f.manner.clock_s, SIGMAS * tl_track_main(&t)->clock.sigma_s);
    assert_true(t.frame[2].has_true && !t.frame[2].has_turn);
    check_near(t.frame[2].true_utc_s, f.true_utc_s[2], SIGMAS * t.frame[2].true_sigma_s);
    assert_true(t.frame[5].has_true); /* its neighbours are before maximum */
    check_near(t.frame[5].true_utc_s, f.true_utc_s[5], SIGMAS * t.frame[5].true_sigma_s);
    for (size_t i = 0; i < FRAMES; i++) {
        assert_int_equal(t.frame[i].outlier, i == 8 || i == 11);
    }
    check_near(t.frame[11].residual_sr, 0.1, 0.02);
    assert_int_equal(t.used_count, FRAMES - 4);
    tl_track_free(&t);
    tear_down(&f);
}

/* Two good frames that disagree among poor ones: neither is called wrong, and both the clock's and
 * the contacts' errors own up to it. */
static void good_frames_disagree(void **state) {
    (void)state;
    const double late_s = 60.0;
    fixture f;
    set_up(&f, ohio(), DAY_2024_S, -4.0 * 3600.0);
    f.manner.count = 4;
    f.manner.sigma_sr = 0.001;
    make(&f);
    f.frame[1].separation_sigma_sr = f.frame[2].separation_sigma_sr = 0.02;
    tl_track agreed = solve(&f);
    f.frame[3].t_camera_s += late_s;
    tl_track t = solve(&f);
    for (size_t i = 0; i < 4; i++) {
        assert_false(t.frame[i].outlier);
    }
    double off_s = clock_total(&t) - f.manner.clock_s;
    assert_true(off_s > 0.25 * late_s && off_s < 0.75 * late_s);
    assert_true(off_s < SIGMAS * tl_track_main(&t)->clock.sigma_s &&
                tl_track_main(&t)->clock.sigma_s > 5.0 * tl_track_main(&agreed)->clock.sigma_s);
    assert_true(t.contact[TL_C1].sigma_s > 2.0 * agreed.contact[TL_C1].sigma_s);
    tl_track_free(&t);
    tl_track_free(&agreed);
    tear_down(&f);
}

/* No times at all: the order tells the side of every frame but the last before maximum. */
static void undated(void **state) {
    (void)state;
    fixture f;
    set_up(&f, ohio(), DAY_2024_S, 0.0);
    f.options.date_given = true;
    f.options.date_utc_s = DAY_2024_S;
    make(&f);
    for (size_t i = 0; i < FRAMES; i++) {
        f.frame[i].timed = false;
    }
    tl_track t = solve(&f);
    assert_false(tl_track_main(&t)->clock.solved);
    size_t known = 0;
    for (size_t i = 0; i < FRAMES; i++) {
        if (t.frame[i].has_true) {
            known++;
            check_near(t.frame[i].true_utc_s, f.true_utc_s[i], SIGMAS * t.frame[i].true_sigma_s);
        }
    }
    assert_in_range(known, FRAMES - 2, FRAMES);
    tl_track_free(&t);
    tear_down(&f);
}

/* A separation smaller than the eclipse has: the picture is of about maximum, give or take the
 * time in which the separation changes by as much as is missing. */
static void undated_too_deep(void **state) {
    (void)state;
    fixture f;
    set_up(&f, site_of(33.0, -84.0), DAY_2024_S, 0.0); /* well off the central line */
    f.options.date_given = true;
    f.options.date_utc_s = DAY_2024_S;
    make(&f);
    const tl_circumstances *c = &f.scene.circumstances;
    tl_sky deepest, later;
    assert_int_equal(tl_sky_table_at(f.scene.table, c->contact[TL_MAX].t_utc_s, &deepest), TL_OK);
    for (double missing_sr = 0.003; missing_sr < 0.02; missing_sr *= 2.0) {
        f.frame[0].timed = false;
        f.frame[0].separation_sr = deepest.separation_sr - missing_sr;
        f.frame[0].separation_sigma_sr = 0.002;
        tl_track t;
        assert_int_equal(tl_track_solve(f.frame, 1, &f.options, &t), TL_OK);
        assert_true(t.frame[0].has_sides);
        for (int side = 0; side < 2; side++) {
            const double second = 1.0;
            check_near(t.frame[0].side_utc_s[side], c->contact[TL_MAX].t_utc_s, second);
            double at = c->contact[TL_MAX].t_utc_s + 2.0 * t.frame[0].side_sigma_s[side];
            assert_int_equal(tl_sky_table_at(f.scene.table, at, &later), TL_OK);
            check_near(later.separation_sr - deepest.separation_sr, missing_sr, 0.1 * missing_sr);
        }
        tl_track_free(&t);
    }
    tear_down(&f);
}

/* Chennai and Kathmandu keep zones off the whole hour. */
static void rare_zones(void **state) {
    (void)state;
    static const struct {
        double lat, lon, day_s;
        int zone;
    } CASE[] = {
        {13.0, 80.2, 18256.0 * TL_DAY_S, 330}, /* 2019-12-26, annular */
        {27.7, 85.3, 18434.0 * TL_DAY_S, 345}, /* 2020-06-21, annular */
    };
    for (size_t i = 0; i < sizeof CASE / sizeof CASE[0]; i++) {
        fixture f;
        set_up(&f, site_of(CASE[i].lat, CASE[i].lon), CASE[i].day_s, 60.0 * CASE[i].zone - 20.0);
        make(&f);
        tl_track t = solve(&f);
        expect_clock(&t, &f, CASE[i].zone, -20.0);
        tl_track_free(&t);
        tear_down(&f);
    }
}

/* By the date line thirteen hours east and eleven west are a day apart (IANA database: Auckland
 * in summer, Pago Pago, Apia, the Chathams in summer). */
static void date_line(void **state) {
    (void)state;
    static const struct {
        double clock_h, lon_deg, day_s;
        int zone;
    } CASE[] = {
        {13.0, 174.8, 0.0, 780},      {-11.0, -170.7, 0.0, -660},
        {13.0, -171.8, 0.0, 780},     {13.75, -176.5, 0.0, 825},
        {37.0, 174.8, TL_DAY_S, 780}, {-35.0, -170.7, -TL_DAY_S, -660},
        {0.0, 0.0, 0.0, 0},           {-12.0 - 5.0, -80.0, 0.0, -300}, /* with twelve hours off */
    };
    for (size_t i = 0; i < sizeof CASE / sizeof CASE[0]; i++) {
        double clock_s = 3600.0 * CASE[i].clock_h + 7.0;
        tl_track_zone z = tl_track_zone_split(clock_s, false, 0, CASE[i].lon_deg * TL_DEG);
        assert_int_equal(z.zone_minutes, CASE[i].zone);
        check_near(z.day_shift_s, CASE[i].day_s, 0.0);
        check_near(z.day_shift_s + 60.0 * z.zone_minutes + z.offset_s, clock_s, 1e-9);
    }
}

/* Another eclipse than the one the pictures show: nothing is made up. */
static void other_eclipse(void **state) {
    (void)state;
    fixture f;
    set_up(&f, ohio(), DAY_2024_S, -4.0 * 3600.0);
    make(&f);
    f.options.date_given = true;
    f.options.date_utc_s = DAY_2017_S;
    f.options.site = site_of(60.0, -100.0); /* a slight eclipse that day */
    tl_track t = solve(&f);
    assert_false(tl_track_main(&t)->clock.solved);
    assert_true(t.has_circumstances);
    assert_non_null(strstr(t.note, "do not fit"));
    for (size_t i = 0; i < FRAMES; i++) {
        assert_false(t.frame[i].has_true);
    }
    tl_track_free(&t);
    tear_down(&f);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(zone_found),
        cmocka_unit_test(zone_corrected),
        cmocka_unit_test(half_day),
        cmocka_unit_test(wrong_date),
        cmocka_unit_test(mixed_zones),
        cmocka_unit_test(zone_of_what_was_measured),
        cmocka_unit_test(one_frame_two_answers),
        cmocka_unit_test(odd_frames),
        cmocka_unit_test(undated),
        cmocka_unit_test(undated_too_deep),
        cmocka_unit_test(good_frames_disagree),
        cmocka_unit_test(rare_zones),
        cmocka_unit_test(date_line),
        cmocka_unit_test(other_eclipse),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
