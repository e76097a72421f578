/* The free solution: closed form, printed contact times, a JPL ephemeris, outliers. */
#include "check.h"
#include "test_track_series.h"

/* The true bend of a straight path is nil, while the prior expects some: what is left of its pull
 * on contact times with separations good to 2e-4. */
static const double STRAIGHT_CONTACT_S = 0.5;
static const double STRAIGHT_LENGTH_SR = 2e-4;

static tl_track solve(const tl_track_frame_in *frame, size_t count,
                      const tl_track_options *options) {
    tl_track track;
    assert_int_equal(tl_track_solve(frame, count, options, &track), TL_OK);
    return track;
}

/* s^2 = b^2 + v^2 t^2: contacts at +-sqrt((1 + k)^2 - b^2) / v by Pythagoras. */
static void straight_path(void **state) {
    (void)state;
    const double b = 0.4, v = 1.6, ratio = 1.03, origin = 1.7e9, sigma = 2e-4;
    tl_track_frame_in frame[20] = {0};
    for (size_t i = 0; i < 20; i++) {
        double t_h = -1.2 + 2.4 * (double)i / 19.0;
        frame[i] = (tl_track_frame_in){.timed = true,
                                       .t_camera_s = origin + 3600.0 * t_h,
                                       .t_sigma_s = 0.01,
                                       .measured = true,
                                       .separation_sr = hypot(b, v * t_h),
                                       .separation_sigma_sr = sigma,
                                       .ratio_raw = ratio,
                                       .ratio_raw_sigma = 1e-4};
    }
    tl_track_options options = {.sky = tl_sky_options_default()};
    tl_track t = solve(frame, 20, &options);
    double half_s = 3600.0 * sqrt((1.0 + ratio) * (1.0 + ratio) - b * b) / v;
    assert_true(t.free_solved);
    assert_false(t.ratio_from_almanac);
    assert_false(tl_track_main(&t)->clock.solved);
    check_near(t.ratio, ratio, 1e-9);
    check_near(t.contact[TL_C1].measured_camera_s, origin - half_s, STRAIGHT_CONTACT_S);
    check_near(t.contact[TL_MAX].measured_camera_s, origin, STRAIGHT_CONTACT_S);
    check_near(t.contact[TL_C4].measured_camera_s, origin + half_s, STRAIGHT_CONTACT_S);
    assert_false(t.contact[TL_C2].measured);
    check_near(t.smallest_sr, b, STRAIGHT_LENGTH_SR);
    check_near(t.speed_sr_per_h, v, 0.002); /* sr/h: 0.1 % */
    double s;
    assert_true(tl_track_free_separation(&t, origin + 1800.0, &s));
    check_near(s, hypot(b, 0.5 * v), STRAIGHT_LENGTH_SR);
    assert_true(strstr(t.note, "--site") != NULL);
    tl_track_free(&t);
    assert_false(tl_track_free_separation(&t, origin, &s));
}

typedef struct place {
    double lat, lon, height, c1, max, c4, magnitude;
} place;

static double separation_1999(const place *p, double ut_s, double *ratio) {
    double t_h = (ut_s + ELEMENTS_1999.deltat_s) / 3600.0 - ELEMENTS_1999.t0_h;
    return besselian_separation(&ELEMENTS_1999, p->lat, p->lon, p->height, t_h, ratio);
}

static double ratio_1999(const place *p, double ut_s) {
    double ratio;
    (void)separation_1999(p, ut_s, &ratio);
    return ratio;
}

static double separation_at(const tl_track *track, double t_camera_s) {
    double s = 0.0;
    assert_true(tl_track_free_separation(track, t_camera_s, &s));
    return s;
}

/* NASA RP 1398, table 21: contacts printed to 0.1 s (UT); the elements come from its table 1. */
static void printed_contacts(void **state) {
    (void)state;
    static const place PLACE[] = {
        {60.0 + 23.0 / 60.0, 5.0 + 20.0 / 60.0, 43.0, 33581.6, 37774.5, 42061.6, .722}, /* Bergen */
        {59.0 + 55.0 / 60.0, 10.75, 94.0, 33878.1, 38129.3, 42434.0, .718},             /* Oslo */
        {53.0 + 9.0 / 60.0, 23.0 + 9.0 / 60.0, 0.0, 34551.1, 39237.7, 43834.7,
         .822}, /* Bialystok */
        {50.0 + 49.0 / 60.0, 19.0 + 6.0 / 60.0, 0.0, 34132.1, 38969.3, 43757.0,
         .905}, /* Czestochowa */
    };
    /* The path's terms beyond the fourth power, at most 0.3 s, and other rounding of the printed
     * elements, 0.2 s; as lengths at 1.7 solar radii an hour. */
    const double tolerance_s = 0.5, tolerance_sr = 2.4e-4;
    for (size_t p = 0; p < sizeof PLACE / sizeof PLACE[0]; p++) {
        tl_track_frame_in frame[24] = {0};
        for (size_t i = 0; i < 24; i++) {
            double ut = PLACE[p].c1 + (PLACE[p].c4 - PLACE[p].c1) * ((double)i + 0.5) / 24.0, ratio;
            double s = separation_1999(&PLACE[p], ut, &ratio);
            frame[i] = (tl_track_frame_in){.timed = true,
                                           .t_camera_s = ut,
                                           .t_sigma_s = 0.01,
                                           .measured = true,
                                           .separation_sr = s,
                                           .separation_sigma_sr = 2e-4,
                                           .ratio_raw = ratio,
                                           .ratio_raw_sigma = 1e-4};
        }
        tl_track_options options = {.sky = tl_sky_options_default()};
        tl_track t = solve(frame, 24, &options);
        /* The ratio falls with the Moon's altitude, so each contact is held against its own. */
        check_near(separation_at(&t, PLACE[p].c1), 1.0 + ratio_1999(&PLACE[p], PLACE[p].c1),
                   tolerance_sr);
        check_near(separation_at(&t, PLACE[p].c4), 1.0 + ratio_1999(&PLACE[p], PLACE[p].c4),
                   tolerance_sr);
        check_near(t.contact[TL_MAX].measured_camera_s, PLACE[p].max, tolerance_s);
        double magnitude = 0.5 * (1.0 + t.ratio - t.smallest_sr);
        check_near(magnitude, PLACE[p].magnitude, 0.001); /* a unit of its last digit */
        tl_track_free(&t);
    }
}

/*
 * JPL Horizons (DE441), topocentric, 35.0887 N 92.4421 W 99 m, 2024-04-08, airless: UT s of day;
 * Moon RA s, Dec arcsec, diameter arcsec; Sun RA s, Dec arcsec, diameter arcsec, distance au.
 */
static const double JPL[][8] = {
    {63295.2, 4118.59, 25537.3, 2023.787, 4216.24, 26829.5, 1915.663, 1.00146120},
    {63684.0, 4127.61, 25653.7, 2023.861, 4217.21, 26835.6, 1915.661, 1.00146235},
    {64065.6, 4136.44, 25767.6, 2023.912, 4218.17, 26841.5, 1915.659, 1.00146350},
    {64454.4, 4145.42, 25883.4, 2023.941, 4219.15, 26847.5, 1915.657, 1.00146469},
    {64843.2, 4154.39, 25998.8, 2023.948, 4220.13, 26853.6, 1915.654, 1.00146592},
    {65232.0, 4163.36, 26113.9, 2023.932, 4221.10, 26859.6, 1915.652, 1.00146717},
    {65613.6, 4172.16, 26226.6, 2023.894, 4222.06, 26865.6, 1915.649, 1.00146843},
    {66002.4, 4181.12, 26341.0, 2023.834, 4223.04, 26871.6, 1915.647, 1.00146973},
    {66391.2, 4190.10, 26455.1, 2023.750, 4224.02, 26877.6, 1915.644, 1.00147107},
    {66780.0, 4199.08, 26568.9, 2023.645, 4224.99, 26883.7, 1915.642, 1.00147243},
    {67161.6, 4207.92, 26680.2, 2023.519, 4225.95, 26889.6, 1915.639, 1.00147380},
    {67550.4, 4216.94, 26793.3, 2023.369, 4226.93, 26895.6, 1915.636, 1.00147521},
    {68378.4, 4236.25, 27033.0, 2022.975, 4229.01, 26908.5, 1915.630, 1.00147832},
    {68767.2, 4245.36, 27145.0, 2022.755, 4229.99, 26914.5, 1915.628, 1.00147983},
    {69148.8, 4254.34, 27254.5, 2022.519, 4230.95, 26920.4, 1915.625, 1.00148133},
    {69537.6, 4263.53, 27365.8, 2022.256, 4231.93, 26926.4, 1915.622, 1.00148288},
    {69926.4, 4272.77, 27476.7, 2021.972, 4232.90, 26932.5, 1915.619, 1.00148446},
    {70315.2, 4282.06, 27587.3, 2021.666, 4233.88, 26938.5, 1915.616, 1.00148607},
    {70696.8, 4291.23, 27695.4, 2021.346, 4234.84, 26944.4, 1915.613, 1.00148767},
    {71085.6, 4300.63, 27805.3, 2020.999, 4235.82, 26950.4, 1915.609, 1.00148933},
    {71474.4, 4310.10, 27914.8, 2020.632, 4236.80, 26956.5, 1915.606, 1.00149102},
    {71863.2, 4319.63, 28023.9, 2020.244, 4237.78, 26962.5, 1915.603, 1.00149273},
    {72244.8, 4329.05, 28130.6, 2019.845, 4238.74, 26968.4, 1915.600, 1.00149443},
    {72633.6, 4338.72, 28239.0, 2019.418, 4239.72, 26974.4, 1915.596, 1.00149619},
};
enum { JPL_COUNT = sizeof JPL / sizeof JPL[0] };
static const double JPL_DAY_S = 1712534400.0; /* 2024-04-08 0 h */
/* RA to 0.01 s (0.15 arcsec) and Dec to 0.1 arcsec, of both bodies, in units of 960 arcsec. */
static const double JPL_SIGMA_SR = 8e-5;

static double jpl_separation_arcsec(const double row[8]) {
    double dec = 0.5 * (row[2] + row[5]) * TL_ARCSEC;
    return hypot(15.0 * (row[1] - row[4]) * cos(dec), row[2] - row[5]);
}

static tl_track_frame_in jpl_frame(const double row[8], double sun_radius_arcsec) {
    return (tl_track_frame_in){.timed = true,
                               .t_camera_s = JPL_DAY_S + row[0],
                               .t_sigma_s = 0.0,
                               .measured = true,
                               .separation_sr = jpl_separation_arcsec(row) / sun_radius_arcsec,
                               .separation_sigma_sr = JPL_SIGMA_SR,
                               .ratio_raw = row[3] / row[6],
                               .ratio_raw_sigma = 1e-5};
}

/*
 * Contacts of that ephemeris with its own radii (695700 and 1737.4 km), interpolated in its table
 * of 7.2 s steps: C1 17:33:54.6, C2 18:51:05.3, C3 18:55:02.1, C4 20:11:37.1 UT. At each of them
 * the free path, which has not seen them, must show the sum (the difference) of the radii. The
 * Moon's diameter there: 2023.774, 2023.230, 2023.116, 2019.345 arcsec.
 */
static void jpl_contacts(void **state) {
    (void)state;
    /* 0.1 s of the times (5e-5), the rounding of the positions, and the path's higher terms. */
    const double outer_tolerance_sr = 2e-4;
    /* Near the centre s^2 is 0.003, and the higher terms (1e-4 of s^2) weigh more. */
    const double inner_tolerance_sr = 1e-3;
    tl_track_frame_in frame[JPL_COUNT];
    for (size_t i = 0; i < JPL_COUNT; i++) {
        frame[i] = jpl_frame(JPL[i], 0.5 * JPL[i][6]);
    }
    tl_track_options options = {.sky = tl_sky_options_default()};
    tl_track t = solve(frame, JPL_COUNT, &options);
    check_near(separation_at(&t, JPL_DAY_S + 63234.6), 1.0 + 2023.774 / 1915.663,
               outer_tolerance_sr);
    check_near(separation_at(&t, JPL_DAY_S + 67865.3), 2023.230 / 1915.634 - 1.0,
               inner_tolerance_sr);
    check_near(separation_at(&t, JPL_DAY_S + 68102.1), 2023.116 / 1915.632 - 1.0,
               inner_tolerance_sr);
    check_near(separation_at(&t, JPL_DAY_S + 72697.1), 1.0 + 2019.345 / 1915.596,
               outer_tolerance_sr);
    assert_true(t.contact[TL_C2].measured && t.contact[TL_C3].measured);
    tl_track_free(&t);
}

/* The same separations tied to the library's sky: the clock is right, so the offset is nil, within
 * the sky's 0.06 arcsec (0.12 s) and the rounding of the table. */
static void jpl_clock(void **state) {
    (void)state;
    const double tolerance_s = 0.25;
    tl_track_frame_in frame[JPL_COUNT];
    for (size_t i = 0; i < JPL_COUNT; i++) {
        frame[i] = jpl_frame(JPL[i], 959.63 / JPL[i][7]);
    }
    tl_track_options options = {.site = site_of(35.0887, -92.4421),
                                .zone_given = true,
                                .zone_minutes = 0,
                                .sky = tl_sky_options_default()};
    options.site.height_m = 99.0;
    tl_track t = solve(frame, JPL_COUNT, &options);
    assert_true(tl_track_main(&t)->clock.solved);
    assert_int_equal(tl_track_main(&t)->clock.zone_minutes, 0);
    check_near(tl_track_main(&t)->clock.offset_s, 0.0, tolerance_s);
    assert_true(tl_track_main(&t)->clock.sigma_s > 0.01 &&
                tl_track_main(&t)->clock.sigma_s < tolerance_s);
    assert_true(t.ratio_from_almanac);
    tl_track_free(&t);
}

/* One wrong circle among twelve is named and does not move the contacts. */
static void outlier_named(void **state) {
    (void)state;
    const double b = 0.5, v = 1.7, origin = 1.7e9;
    tl_track_frame_in frame[12] = {0};
    for (size_t i = 0; i < 12; i++) {
        double t_h = -1.1 + 0.2 * (double)i;
        frame[i] = (tl_track_frame_in){.timed = true,
                                       .t_camera_s = origin + 3600.0 * t_h,
                                       .t_sigma_s = 0.3,
                                       .measured = true,
                                       .separation_sr =
                                           hypot(b, v * t_h) + 0.002 * (i % 2 == 0 ? 1.0 : -1.0),
                                       .separation_sigma_sr = 0.003,
                                       .ratio_raw = 1.02,
                                       .ratio_raw_sigma = 1e-3};
    }
    tl_track_options options = {.sky = tl_sky_options_default()};
    tl_track clean = solve(frame, 12, &options);
    frame[3].separation_sr += 0.15;
    tl_track t = solve(frame, 12, &options);
    for (size_t i = 0; i < 12; i++) {
        assert_false(clean.frame[i].outlier);
        assert_int_equal(t.frame[i].outlier, i == 3);
    }
    assert_int_equal(t.used_count, 11);
    assert_int_equal(tl_track_main(&t)->used_count, 11);
    check_near(t.frame[3].residual_sr, 0.15, 0.01);
    for (size_t i = TL_C1; i < TL_CONTACTS; i++) {
        if (t.contact[i].measured) {
            check_near(t.contact[i].measured_camera_s, clean.contact[i].measured_camera_s,
                       t.contact[i].sigma_s);
        }
    }
    tl_track_free(&t);
    tl_track_free(&clean);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(straight_path), cmocka_unit_test(printed_contacts),
        cmocka_unit_test(jpl_contacts),  cmocka_unit_test(jpl_clock),
        cmocka_unit_test(outlier_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
