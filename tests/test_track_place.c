/*
 * The place estimated from the separations and a trusted clock, against places put in: by NASA's
 * Besselian elements, which share no code with the library, and by the library's own sky at known
 * places where the sizes are tested.
 */
#include <stdlib.h>

#include "check.h"
#include "track_places.h"

/* Well off the central line: on it the separations hardly change across it. */
static const tl_site TOWN = {
    .source = TL_SITE_GIVEN, .lat_rad = 33.0 * TL_DEG, .lon_rad = -84.0 * TL_DEG};
static const double DAY_2024_S = 19821.0 * TL_DAY_S; /* 2024-04-08 */

static tl_track_options find_options(void) {
    return (tl_track_options){.find_site = true, .sky = tl_sky_options_default()};
}

static double km_between(const tl_track_place *place, const tl_site *site) {
    const tl_site at = {
        .source = TL_SITE_GIVEN, .lat_rad = place->lat_rad, .lon_rad = place->lon_rad};
    return tl_place_distance(&at, site, NULL) / 1000.0;
}

/* ---- on the ground ---- */

static const double METRE = 1.0; /* far below any sigma here */

static void distances_on_the_sphere(void **state) {
    (void)state;
    const double quarter_m = 0.5 * TL_PI * 6371008.8; /* closed form */
    const tl_site pole = {.lat_rad = 0.5 * TL_PI}, equator = {.lon_rad = 3.0};
    double azimuth;
    check_near(tl_place_distance(&equator, &pole, &azimuth), quarter_m, METRE);
    check_near(azimuth, 0.0, 1e-9); /* rad: straight north */
    const tl_site west = {.lon_rad = -179.5 * TL_DEG}, east = {.lon_rad = 179.5 * TL_DEG};
    check_near(tl_place_distance(&east, &west, &azimuth), quarter_m / 90.0, METRE);
    check_near(azimuth, 0.5 * TL_PI, 1e-9); /* over the date line, eastwards */
}

static void there_and_back(void **state) {
    (void)state;
    const double lat_deg[] = {-90.0, -61.0, 0.0, 37.5, 89.99}, lon_deg[] = {-180.0, -0.1, 179.9};
    for (size_t i = 0; i < 15; i++) {
        tl_site from = {.lat_rad = lat_deg[i % 5] * TL_DEG, .lon_rad = lon_deg[i / 5] * TL_DEG};
        tl_site to = tl_place_move(&from, 0.7 + (double)i, 3.0e6);
        double azimuth, distance = tl_place_distance(&from, &to, &azimuth);
        check_near(distance, 3.0e6, METRE);
        tl_site again = tl_place_move(&from, azimuth, distance);
        check_near(tl_place_distance(&to, &again, NULL), 0.0, METRE);
    }
}

/* ---- truth from outside ---- */

/* TAI - UTC = 32 s from 1999-01-01 (IERS Bulletin C 16), TT - TAI = 32.184 s. */
static const double TT_MINUS_UTC_S = 64.184;
/* Place, Delta-T and radii are those of the elements on both sides. What is left, their ephemeris
 * and polynomials against ours, came out below 0.3 km. */
static const double ELEMENTS_KM = 1.0;
/* The elements have k = .2725076 in l1 and .2722810 in l2 (both in RP 1398, table 1). Half the
 * difference of the two is added to the Sun's radius, 0.2695 in these units, so that separations
 * come out too small. */
static const double TWO_K = 0.5 * (.2725076 - .2722810) / .2695;

/* Towns of NASA RP 1398, table 21, to the arc minute, and one in the south east of the map. */
static void besselian_elements_give_the_place(void **state) {
    (void)state;
    static const double town[][2] = {
        {60.383, 5.333}, {49.817, 19.033}, {54.383, 18.667}, {35.0, 48.0}};
    const double day_s = 10814.0 * TL_DAY_S, step_h = 0.2, clock_s = 7200.0;
    for (size_t i = 0; i < sizeof town / sizeof town[0]; i++) {
        tl_track_frame_in frame[SERIES_MAX];
        size_t count = 0;
        for (double t_h = -2.5; t_h < 2.5; t_h += step_h) {
            double ratio,
                s = besselian_separation(&ELEMENTS_1999, town[i][0], town[i][1], 0.0, t_h, &ratio);
            if (s < 1.0 + ratio) {
                double t_utc_s = day_s + (ELEMENTS_1999.t0_h + t_h) * 3600.0 - TT_MINUS_UTC_S;
                frame[count++] = (tl_track_frame_in){.timed = true,
                                                     .t_camera_s = t_utc_s + clock_s,
                                                     .t_sigma_s = 0.1,
                                                     .measured = true,
                                                     .separation_sr = s * (1.0 + TWO_K),
                                                     .separation_sigma_sr = 1e-3};
            }
        }
        assert_in_range(count, 8, SERIES_MAX);
        tl_track_options options = find_options();
        options.zone_given = true;
        options.zone_minutes = 120;
        options.sky.deltat_given = true;
        options.sky.deltat_s = ELEMENTS_1999.deltat_s;
        tl_track track = {.frame_count = 0};
        assert_int_equal(places_find(frame, count, &options, &track), TL_OK);
        const tl_site truth = site_of(town[i][0], town[i][1]);
        double along, across;
        assert_true(track.place_count >= 1);
        check_near(km_between(&track.place[0], &truth), 0.0, ELEMENTS_KM);
        places_off(&track.place[0], &truth, &along, &across);
        assert_true(along < 3.0 && across < 3.0);
    }
}

/* ---- sizes ---- */

/* Of 16 Gaussian deviates 7 to 15 lie inside one sigma (68.3 % of them, and 2 of the binomial
 * scatter of 1.9); of 200 series in each of five manners it was 65 to 75 %. */
enum { SERIES = 16, INSIDE_LEAST = 7, INSIDE_MOST = 15 };
/* ... and 197 of 200 within three along, 199 across. */
enum { FAR_MOST = 1 };

static void size_is_honest(void **state) {
    (void)state;
    places_tally t = {.series = 0};
    assert_int_equal(places_measure(SERIES, 0, 0.03, 0.97, 1, &t), TL_OK);
    assert_int_equal(t.found, SERIES);
    assert_in_range(t.along_one, INSIDE_LEAST, INSIDE_MOST);
    assert_in_range(t.across_one, INSIDE_LEAST, INSIDE_MOST);
    assert_in_range(t.along_three, SERIES - FAR_MOST, SERIES);
    assert_in_range(t.across_three, SERIES - FAR_MOST, SERIES);
    /* 0.64 arcsec of floor and 2 s of clock, at 0.5 to 1 km/s of shadow, leave some km. */
    assert_true(exp(t.log_along_m / SERIES) < 10e3);
    assert_true(exp(t.log_across_m / SERIES) > 0.5e3);
}

/* ---- one scene in several manners ---- */

static const manner WHOLE = {.count = 12,
                             .from = 0.05,
                             .to = 0.95,
                             .sigma_sr = 0.002,
                             .time_sigma_s = 0.1,
                             .zone_known = true,
                             .zone_minutes = -300,
                             .clock_s = -18000.0};

static void make_frames(const manner *how, unsigned long seed, tl_track_frame_in *frame) {
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus);
    scene s;
    gsl_rng_set(rng, seed);
    assert_true(scene_make(TOWN, DAY_2024_S, &s));
    series_make(&s, how, rng, frame, NULL, NULL);
    scene_free(&s);
    gsl_rng_free(rng);
}

/* 4 sigma of the ellipse of the nearest place. */
static void expect_town(const tl_track *track) {
    double best = HUGE_VAL;
    for (size_t i = 0; i < track->place_count; i++) {
        double along, across;
        places_off(&track->place[i], &TOWN, &along, &across);
        best = fmin(best, hypot(along, across));
    }
    if (!(best < 4.0)) {
        fail_msg("%zu places, the nearest %.1f sigma off", track->place_count, best);
    }
}

static void bad_circles_do_not_move_it(void **state) {
    (void)state;
    tl_track_frame_in frame[SERIES_MAX];
    make_frames(&WHOLE, 5, frame);
    frame[2].separation_sr += 0.08;
    frame[9].separation_sr -= 0.05;
    tl_track_options options = find_options();
    tl_track track = {.frame_count = 0};
    assert_int_equal(places_find(frame, WHOLE.count, &options, &track), TL_OK);
    expect_town(&track);
    assert_true(track.place[0].along_m < 10e3); /* as without them, not widened to match */
}

/* Two cameras, four seconds fast and four slow: each has its own error, and they do not count as
 * scatter. */
/* A camera whose date is wrong by years has no say, and costs no time: all years between need not
 * be looked through. */
static void a_camera_of_another_day_is_left_out(void **state) {
    (void)state;
    tl_track_frame_in frame[SERIES_MAX];
    make_frames(&WHOLE, 6, frame);
    for (size_t i = 0; i < WHOLE.count; i++) {
        bool other = i == 0 || i + 1 == WHOLE.count;
        frame[i].camera = other ? 1 : 0;
        frame[i].t_camera_s -= other ? 3650.0 * TL_DAY_S : 0.0;
    }
    tl_track_options options = find_options();
    tl_track track = {.frame_count = 0};
    assert_int_equal(places_find(frame, WHOLE.count, &options, &track), TL_OK);
    assert_int_equal(track.place_status, TL_OK);
    expect_town(&track);
}

static void cameras_have_clocks_of_their_own(void **state) {
    (void)state;
    const double clock_s[] = {0.0, 4.0}, wider_most = 1.2;
    double along_m[2];
    for (size_t k = 0; k < 2; k++) {
        tl_track_frame_in frame[SERIES_MAX];
        make_frames(&WHOLE, 6, frame);
        for (size_t i = 0; i < WHOLE.count; i++) {
            frame[i].camera = 3 * (i % 2);
            frame[i].separation_sigma_sr = 1e-3;
            frame[i].t_camera_s += i % 2 == 0 ? clock_s[k] : -clock_s[k];
        }
        tl_track_options options = find_options();
        tl_track track = {.frame_count = 0};
        assert_int_equal(places_find(frame, WHOLE.count, &options, &track), TL_OK);
        expect_town(&track);
        along_m[k] = track.place[0].along_m;
    }
    assert_true(along_m[1] < wider_most * along_m[0]);
}

/* The size holds two seconds of clock (common practice, as the header says), and the place moves
 * with the stamps as it says. */
static void a_clock_error_moves_it(void **state) {
    (void)state;
    const double fast_s = 20.0, sigma_s = 2.0, curvature = 0.1; /* share of the move */
    tl_track_frame_in frame[SERIES_MAX];
    tl_track_options options = find_options();
    tl_track track = {.frame_count = 0}, moved = {.frame_count = 0};
    make_frames(&WHOLE, 13, frame);
    assert_int_equal(places_find(frame, WHOLE.count, &options, &track), TL_OK);
    for (size_t i = 0; i < WHOLE.count; i++) {
        frame[i].t_camera_s += fast_s;
    }
    assert_int_equal(places_find(frame, WHOLE.count, &options, &moved), TL_OK);
    const tl_track_place *p = &track.place[0];
    const tl_site after = {.lat_rad = moved.place[0].lat_rad, .lon_rad = moved.place[0].lon_rad};
    double m = p->m_per_clock_s * fast_s;
    assert_true(m > 5e3); /* the shadow ran at 0.7 km/s and more (NASA bulletin for that eclipse,
                             from memory) */
    check_near(1000.0 * km_between(p, &after), m, curvature * m);
    assert_true(hypot(p->along_m, p->across_m) > sigma_s * p->m_per_clock_s);
}

static void the_day_given_counts(void **state) {
    (void)state;
    tl_track_frame_in frame[SERIES_MAX];
    make_frames(&WHOLE, 7, frame);
    for (size_t i = 0; i < WHOLE.count; i++) {
        frame[i].t_camera_s -= 366.0 * TL_DAY_S; /* the year before */
    }
    tl_track_options options = find_options();
    tl_track track = {.frame_count = 0};
    assert_int_equal(places_find(frame, WHOLE.count, &options, &track), TL_OK);
    assert_int_equal(track.place_count, 0);
    assert_int_equal(track.place_status, TL_ERR_NO_ECLIPSE);
    options.date_given = true;
    options.date_utc_s = DAY_2024_S;
    assert_int_equal(places_find(frame, WHOLE.count, &options, &track), TL_OK);
    expect_town(&track);
}

/* Late stamps: the clock is trusted no better than they scatter. */
static void scattered_stamps_widen_it(void **state) {
    (void)state;
    static const double late_s[] = {3, 31, 8, 60, 14, 2, 22, 45, 11, 5, 17, 36};
    tl_track_frame_in frame[SERIES_MAX];
    make_frames(&WHOLE, 8, frame);
    for (size_t i = 0; i < WHOLE.count; i++) {
        frame[i].t_camera_s += late_s[i];
    }
    tl_track_options options = find_options();
    tl_track track = {.frame_count = 0};
    assert_int_equal(places_find(frame, WHOLE.count, &options, &track), TL_OK);
    expect_town(&track);
    assert_true(track.place[0].along_m > 10e3);
}

/* Frames from a tenth of the eclipse: a line, and the truth beside it. */
static void a_short_series_gives_a_line(void **state) {
    (void)state;
    manner how = WHOLE;
    tl_track_frame_in frame[SERIES_MAX];
    how.from = 0.15;
    how.to = 0.25;
    how.sigma_sr = 0.006;
    make_frames(&how, 9, frame);
    tl_track_options options = find_options();
    tl_track track = {.frame_count = 0};
    assert_int_equal(places_find(frame, how.count, &options, &track), TL_OK);
    assert_true(track.place_count >= 1);
    const tl_track_place *p = &track.place[0];
    assert_true(p->along_m > 5.0 * p->across_m);
    /* Steps of an eighth of a sigma to where chi^2 has risen by one: in a straight valley eight
     * each way. */
    assert_in_range(p->point_count, 15, TL_PLACE_LINE_POINTS);
    double length = 0.0, nearest = HUGE_VAL;
    for (size_t i = 0; i < p->point_count; i++) {
        tl_site at = {.lat_rad = p->point[i].lat_rad, .lon_rad = p->point[i].lon_rad};
        nearest = fmin(nearest, tl_place_distance(&at, &TOWN, NULL));
        if (i > 0) {
            tl_site last = {.lat_rad = p->point[i - 1].lat_rad, .lon_rad = p->point[i - 1].lon_rad};
            length += tl_place_distance(&last, &at, NULL);
        }
    }
    check_near(length, 2.0 * p->along_m, 1e-3 * length); /* the size said is that of the line */
    assert_true(nearest < 2.0 * p->along_m);
    expect_town(&track);
}

/* All before maximum and coarse: the other side of the path fits as well. */
static void both_sides_of_the_path(void **state) {
    (void)state;
    manner how = WHOLE;
    tl_track_frame_in frame[SERIES_MAX];
    how.count = 4;
    how.from = 0.1;
    how.to = 0.4;
    how.sigma_sr = 0.008;
    make_frames(&how, 10, frame);
    tl_track_options options = find_options();
    tl_track track = {.frame_count = 0};
    assert_int_equal(places_find(frame, how.count, &options, &track), TL_OK);
    assert_int_equal(track.place_count, 2);
    assert_true(track.place[1].chi2 < 9.0);
    expect_town(&track);
}

/* ---- none, with its reason ---- */

static void expect_none(const tl_track_frame_in *frame, size_t count,
                        const tl_track_options *options, tl_status why, const char *words) {
    tl_track track;
    assert_int_equal(tl_track_solve(frame, count, options, &track), TL_OK);
    assert_int_equal(track.place_count, 0);
    assert_int_equal(track.place_status, why);
    if (strstr(track.note, words) == NULL) {
        fail_msg("\"%s\" is not in: %s", words, track.note);
    }
    tl_track_free(&track);
}

static void refusals(void **state) {
    (void)state;
    tl_track_frame_in frame[SERIES_MAX];
    tl_track_options options = find_options();
    make_frames(&WHOLE, 11, frame);
    expect_none(frame, 2, &options, TL_ERR_TOO_FEW, "three times");
    for (size_t i = 0; i < WHOLE.count; i++) {
        frame[i].zone_known = false;
    }
    expect_none(frame, WHOLE.count, &options, TL_ERR_ARGUMENT, "--zone");
    options.zone_given = true;
    options.zone_minutes = -300;
    options.date_given = true;
    options.date_utc_s = DAY_2024_S + TL_DAY_S;
    expect_none(frame, WHOLE.count, &options, TL_ERR_NO_ECLIPSE, "no eclipse");
    options.date_given = false;
    for (size_t i = 0; i < WHOLE.count; i++) {
        frame[i].separation_sr = i % 2 == 0 ? 0.4 : 1.7; /* no Moon does that */
    }
    expect_none(frame, WHOLE.count, &options, TL_ERR_NO_FIT, "No place on Earth");
    options.date_given = true;
    options.date_utc_s = 150.0 * 365.25 * TL_DAY_S;
    expect_none(frame, WHOLE.count, &options, TL_ERR_RANGE, "2100");
}

/* Who gives a place is not given another. */
static void not_where_the_place_is_known(void **state) {
    (void)state;
    tl_track_frame_in frame[SERIES_MAX];
    make_frames(&WHOLE, 12, frame);
    tl_track_options options = find_options();
    tl_track track;
    options.site = TOWN;
    assert_int_equal(tl_track_solve(frame, WHOLE.count, &options, &track), TL_OK);
    assert_int_equal(track.place_count, 0);
    assert_true(tl_track_main(&track)->clock.solved);
    tl_track_free(&track);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(distances_on_the_sphere),
        cmocka_unit_test(there_and_back),
        cmocka_unit_test(besselian_elements_give_the_place),
        cmocka_unit_test(size_is_honest),
        cmocka_unit_test(bad_circles_do_not_move_it),
        cmocka_unit_test(a_camera_of_another_day_is_left_out),
        cmocka_unit_test(cameras_have_clocks_of_their_own),
        cmocka_unit_test(a_clock_error_moves_it),
        cmocka_unit_test(the_day_given_counts),
        cmocka_unit_test(scattered_stamps_widen_it),
        cmocka_unit_test(a_short_series_gives_a_line),
        cmocka_unit_test(both_sides_of_the_path),
        cmocka_unit_test(refusals),
        cmocka_unit_test(not_where_the_place_is_known),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
