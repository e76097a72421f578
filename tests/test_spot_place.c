/*
 * test_spot_place.c - places on the Sun and on its disc.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>

#include "check.h"
#include "twolimb/spot.h"

static double utc_of(int year, int month, int day) {
    const tl_calendar calendar = {year, month, day, 0, 0, 0.0};
    double t = 0.0;
    assert_int_equal(tl_time_from_calendar(&calendar, &t), TL_OK);
    return t;
}

/* A Sun turned as one likes. */
static tl_sky sky_of(double p_deg, double b0_deg, double l0_deg, double radius_deg) {
    tl_sky sky = {0};
    sky.p_rad = p_deg * TL_DEG;
    sky.b0_rad = b0_deg * TL_DEG;
    sky.l0_rad = l0_deg * TL_DEG;
    sky.sun_radius_rad = radius_deg * TL_DEG;
    return sky;
}

/*
 * P. Duffett-Smith, Practical Astronomy (by way of another program's tests): a spot at position
 * angle 220 degrees, 10.5 arcmin from the disc's centre, 1988-05-01 0h, with his solar radius.
 */
static void spot_of_duffett_smith(void **state) {
    (void)state;
    /* His mean elements are good to 0.05 degrees; 2.5 days of his day numbers cost no more. */
    const double tolerance_deg = 0.1;
    tl_sky sky;
    assert_int_equal(tl_sky_at_geocentre(utc_of(1988, 5, 1), NULL, &sky), TL_OK);
    sky.sun_radius_rad = 0.2666 * TL_DEG / sky.sun_distance_au;
    const double r = 10.5 / 60.0 * TL_DEG / sky.sun_radius_rad, pa = 220.0 * TL_DEG;
    double latitude = 0.0, carrington = 0.0, east = 0.0, north = 0.0;
    assert_true(tl_spot_unproject(&sky, r * sin(pa), r * cos(pa), &latitude, &carrington));
    check_near(latitude / TL_DEG, -19.94, tolerance_deg);
    check_near(carrington / TL_DEG, 142.59, tolerance_deg);
    /* And his place onto the disc: 0.1 degrees are 0.002 of the radius. */
    assert_true(tl_spot_project(&sky, -19.94 * TL_DEG, 142.59 * TL_DEG, &east, &north));
    check_near(east, r * sin(pa), 0.002);
    check_near(north, r * cos(pa), 0.002);
}

/*
 * Meeus, Astronomical Algorithms, chapter 29 and the transformation behind it: rho = asin(s / S) -
 * s, sin B = sin B0 cos rho + cos B0 sin rho cos(P - theta), sin(L - L0) = sin rho sin(P - theta) /
 * cos B. His s / S stands for the ratio of the sines.
 */
static void formulas_of_meeus(void **state) {
    (void)state;
    const double tolerance_rad = 1e-5; /* s / S against the sines: s^2 / 6 of tan rho */
    const tl_sky sky = sky_of(-26.0, 7.0, 100.0, 0.27);
    for (int i = 0; i < 60; i++) {
        const double r = 0.015 * i + 0.01, pa = 0.7 * i, s = r * sky.sun_radius_rad;
        const double rho = asin(r) - s, turn = sky.p_rad - pa;
        const double b = asin(sin(sky.b0_rad) * cos(rho) + cos(sky.b0_rad) * sin(rho) * cos(turn));
        double latitude = 0.0, carrington = 0.0;
        assert_true(tl_spot_unproject(&sky, r * sin(pa), r * cos(pa), &latitude, &carrington));
        check_near(latitude, b, tolerance_rad);
        check_near(sin(carrington - sky.l0_rad), sin(rho) * sin(turn) / cos(b), tolerance_rad);
    }
}

/* Where places stand by the definitions of P, B0, L0 and of west. */
static void places_by_definition(void **state) {
    (void)state;
    const double tolerance_sr = 1e-12;
    double east = 0.0, north = 0.0;
    /* The disc's centre is (B0, L0), whatever P. */
    tl_sky sky = sky_of(25.0, -6.0, 300.0, 0.2666);
    assert_true(tl_spot_project(&sky, sky.b0_rad, sky.l0_rad, &east, &north));
    check_near(hypot(east, north), 0.0, tolerance_sr);
    /* West of the central meridian is west on the sky for P = 0; a longitude of 30 degrees stands
     * at s with tan s = sin S sin 30 / (1 - sin S cos 30). */
    sky = sky_of(0.0, 0.0, 300.0, 0.2666);
    const double sine = sin(sky.sun_radius_rad);
    const double s = atan(sine * 0.5 / (1.0 - sine * cos(30.0 * TL_DEG)));
    assert_true(tl_spot_project(&sky, 0.0, 330.0 * TL_DEG, &east, &north));
    check_near(east, -s / sky.sun_radius_rad, tolerance_sr);
    check_near(north, 0.0, tolerance_sr);
    /* The pole that leans to us stands in PA P, from the centre by 90 degrees - B0. */
    sky = sky_of(26.0, 7.0, 10.0, 0.2666);
    assert_true(tl_spot_project(&sky, TL_PI / 2.0, 1.0, &east, &north));
    check_near(atan2(east, north), 26.0 * TL_DEG, 1e-12);
    assert_true(hypot(east, north) < 1.0);
    check_near(hypot(east, north), cos(7.0 * TL_DEG), 1e-3); /* seen from afar */
    east = 5.0;
    assert_false(tl_spot_project(&sky, -TL_PI / 2.0, 1.0, &east, &north));
    check_near(east, 5.0, 0.0);
}

/* The limb is S short of 90 degrees: nearer is seen, farther is not. */
static void limb_is_not_a_hemisphere(void **state) {
    (void)state;
    const tl_sky sky = sky_of(10.0, 0.0, 0.0, 0.2666);
    const double limb_rad = TL_PI / 2.0 - sky.sun_radius_rad, little = 1e-9;
    double east = 0.0, north = 0.0, latitude = 0.0, carrington = 0.0;
    for (int side = -1; side <= 1; side += 2) {
        assert_true(tl_spot_project(&sky, 0.0, side * (limb_rad - little), &east, &north));
        check_near(hypot(east, north), 1.0, 1e-12);
        assert_false(tl_spot_project(&sky, 0.0, side * (limb_rad + little), &east, &north));
        const double pa = -side * TL_PI / 2.0 + sky.p_rad;
        assert_true(tl_spot_unproject(&sky, 0.999999 * sin(pa), 0.999999 * cos(pa), &latitude,
                                      &carrington));
        /* cos of the slant there is sqrt(2e-6) */
        check_near(tl_angle_signed(carrington), side * limb_rad, 2e-3);
        check_near(latitude, 0.0, 1e-12);
        assert_false(tl_spot_unproject(&sky, 1.000001 * sin(pa), 1.000001 * cos(pa), &latitude,
                                       &carrington));
    }
    assert_false(tl_spot_unproject(&sky, NAN, 0.0, &latitude, &carrington));
}

static void check_round_trip(const tl_sky *sky, double latitude, double carrington, size_t *count) {
    /* On the limb an angle is the square root of a length: 1e-16 of a radius. */
    const double tolerance_rad = 5e-8, tolerance_sr = 1e-12;
    double east, north, b, l, east_again, north_again;
    if (!tl_spot_project(sky, latitude, carrington, &east, &north))
        return;
    assert_true(tl_spot_unproject(sky, east, north, &b, &l));
    check_near(b, latitude, tolerance_rad);
    if (fabs(latitude) < 89.9 * TL_DEG)
        check_near(tl_angle_signed(l - carrington) * cos(b), 0.0, tolerance_rad);
    assert_true(l >= 0.0 && l < 2.0 * TL_PI);
    if (tl_spot_project(sky, b, l, &east_again, &north_again)) {
        check_near(east_again, east, tolerance_sr);
        check_near(north_again, north, tolerance_sr);
    }
    ++*count;
}

/* There and back: poles, limb, and L0 at 0 and 360 degrees among them. */
static void round_trips(void **state) {
    (void)state;
    static const double l0_deg[] = {0.0, 1e-9, 0.3, 180.0, 359.7, 360.0 - 1e-9};
    size_t count = 0;
    for (size_t k = 0; k < sizeof l0_deg / sizeof l0_deg[0]; k++)
        for (int tip = -7; tip <= 7; tip += 7) {
            const tl_sky sky = sky_of(-26.0 + 13.0 * (double)k, tip, l0_deg[k], 0.2666);
            for (int b = -90; b <= 90; b += 10)
                for (int l = 0; l < 360; l += 15)
                    check_round_trip(&sky, b * TL_DEG, l * TL_DEG, &count);
            /* by a hair within the limb */
            const double rim = TL_PI / 2.0 - sky.sun_radius_rad - 1e-7;
            check_round_trip(&sky, 0.0,
                             tl_angle_positive(sky.l0_rad + acos(cos(rim) / cos(sky.b0_rad))),
                             &count);
        }
    /* Of 18 times 19 * 24 places nearly half: those 90 degrees from the centre are hidden. */
    assert_in_range(count, 3750, 4104);
}

/*
 * cos^2 = 1 - (sin s / sin S)^2; and by another way, the angle between the vertical and the
 * direction to an observer at 1 / sin S, for a place of the equator.
 */
static void foreshortening(void **state) {
    (void)state;
    const tl_sky sky = sky_of(0.0, 0.0, 0.0, 0.2666);
    check_near(tl_spot_foreshortening(&sky, 0.0), 1.0, 0.0);
    check_near(tl_spot_foreshortening(&sky, 1.0), 0.0, 0.0);
    check_near(tl_spot_foreshortening(&sky, 1.2), 0.0, 0.0);
    const double far = 1.0 / sin(sky.sun_radius_rad);
    for (int i = 1; i < 90; i += 4) {
        const double l = i * TL_DEG, dx = -sin(l), dz = far - cos(l);
        double east = 0.0, north = 0.0;
        assert_true(tl_spot_project(&sky, 0.0, l, &east, &north));
        check_near(tl_spot_foreshortening(&sky, hypot(east, north)),
                   (sin(l) * dx + cos(l) * dz) / hypot(dx, dz), 1e-12);
    }
}

/*
 * A circle of 1 degree about a place of the disc, put on it point by point: its outline's area (the
 * shoelace formula) gives back the cap's share of the hemisphere, 1 - cos 1 degree. The observer's
 * distance makes the middle of the disc look 0.93 % larger in area than its edge.
 */
static void area_of_a_cap(void **state) {
    (void)state;
    const tl_sky sky = sky_of(0.0, 0.0, 0.0, 0.2666);
    const double cap_rad = 1.0 * TL_DEG, expected_ppm = 1e6 * (1.0 - cos(cap_rad));
    enum { POINTS = 720 };
    for (int place = 0; place <= 60; place += 20) {
        double x[POINTS], y[POINTS], area = 0.0;
        const double l = place * TL_DEG;
        for (int i = 0; i < POINTS; i++) {
            const double turn = 2.0 * TL_PI * i / POINTS;
            const double west = sin(cap_rad) * cos(turn), up = sin(cap_rad) * sin(turn);
            const double near = cos(cap_rad);
            const double x3 = west * cos(l) + near * sin(l), z3 = near * cos(l) - west * sin(l);
            assert_true(tl_spot_project(&sky, asin(up), atan2(x3, z3), &x[i], &y[i]));
        }
        for (int i = 0; i < POINTS; i++) {
            const int next = (i + 1) % POINTS;
            area += 0.5 * (x[i] * y[next] - x[next] * y[i]);
        }
        double east = 0.0, north = 0.0;
        assert_true(tl_spot_project(&sky, 0.0, l, &east, &north));
        const double mu = tl_spot_foreshortening(&sky, hypot(east, north));
        check_near(tl_spot_hemisphere_ppm(sqrt(fabs(area) / TL_PI), mu), expected_ppm,
                   0.01 * expected_ppm);
    }
    check_near(tl_spot_hemisphere_ppm(0.01, 0.0), 0.0, 0.0);
}

/*
 * SunPy 4.1.2, diff_rot(1 day, latitude, 'howard') less 14.1844 degrees: sidereal turning by Howard
 * et al. 1990, degrees a day.
 */
static void drift(void **state) {
    (void)state;
    static const struct {
        double latitude_deg, turned_deg;
    } row[] = {{0.0, 14.3263284}, {15.0, 14.1761798}, {-30.0, 13.6821634}, {60.0, 11.7069716}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++)
        check_near(tl_spot_drift_rad(row[i].latitude_deg * TL_DEG, 3.0 * TL_DAY_S) / TL_DEG,
                   3.0 * (row[i].turned_deg - 14.1844), 1e-6);
    check_near(tl_spot_drift_rad(0.3, -TL_DAY_S), -tl_spot_drift_rad(0.3, TL_DAY_S), 0.0);
}

/*
 * fixtures/reference/spot_places.csv: SunPy 4.1.2, made by `tests/spot_places.py 50`. It takes no
 * stellar aberration into L0 and counts light from the Sun's nearest point, where ours, as the
 * Astronomical Almanac, takes aberration in (-20.5 arcsec) and counts light from the centre (2.3 s,
 * +0.0004 degrees): so ours is 0.0053 degrees less, and just that is looked for too.
 */
static void places_of_sunpy(void **state) {
    (void)state;
    const double tolerance_rad = 0.02 * TL_DEG;
    /* P moves by what aberration turns north, 20.5 arcsec times the tangent of the declination at
     * most, which SunPy leaves out; UTC of years to come. */
    const double element_rad = 0.001 * TL_DEG;
    const double disc_arcsec = 0.1; /* 0.0053 degrees of longitude are 0.09 at most */
    tl_sky_options options = tl_sky_options_default();
    options.sun_radius_arcsec = asin(695700.0 / 149597870.7) / TL_ARCSEC;
    FILE *file = fopen("fixtures/reference/spot_places.csv", "r");
    assert_non_null(file);
    char line[256];
    int count = 0;
    while (fgets(line, sizeof line, file) != NULL) {
        tl_calendar when;
        double p, b0, l0, almanac, radius, latitude, carrington, west, up;
        if (sscanf(line, "%d-%d-%dT%d:%d:%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf,%lf", &when.year,
                   &when.month, &when.day, &when.hour, &when.minute, &when.second, &p, &b0, &l0,
                   &almanac, &radius, &latitude, &carrington, &west, &up) != 15)
            continue;
        double t, b, l, east, north;
        tl_sky sky;
        assert_int_equal(tl_time_from_calendar(&when, &t), TL_OK);
        assert_int_equal(tl_sky_at_geocentre(t, &options, &sky), TL_OK);
        check_near(sky.flattening, 1.0, 0.0); /* no horizon there */
        check_near(sky.sun_altitude_rad, 0.0, 0.0);
        check_near(sky.p_rad, p * TL_DEG, element_rad);
        check_near(sky.b0_rad, b0 * TL_DEG, element_rad);
        check_near(tl_angle_signed(sky.l0_rad - almanac * TL_DEG), 0.0, element_rad);
        check_near(tl_angle_signed(sky.l0_rad - l0 * TL_DEG), -0.0053 * TL_DEG, element_rad);
        check_near(sky.sun_radius_rad / TL_ARCSEC, radius, 0.02);
        /* On their disc by their own P. */
        const double c = cos(p * TL_DEG), s = sin(p * TL_DEG), sr = sky.sun_radius_rad / TL_ARCSEC;
        const double their_east = (-west * c + up * s) / sr, their_north = (west * s + up * c) / sr;
        assert_true(tl_spot_unproject(&sky, their_east, their_north, &b, &l));
        check_near(b, latitude * TL_DEG, tolerance_rad);
        check_near(tl_angle_signed(l - carrington * TL_DEG), 0.0, tolerance_rad);
        assert_true(tl_spot_project(&sky, latitude * TL_DEG, carrington * TL_DEG, &east, &north));
        check_near(east * sr, their_east * sr, disc_arcsec);
        check_near(north * sr, their_north * sr, disc_arcsec);
        count++;
    }
    fclose(file);
    assert_int_equal(count, 50);
    tl_sky none = {.p_rad = 7.0};
    assert_int_equal(tl_sky_at_geocentre(utc_of(1949, 12, 31), &options, &none), TL_ERR_RANGE);
    check_near(none.p_rad, 7.0, 0.0);
}

/*
 * A day on: the rate is Howard's synodic one (SunPy 4.1.2 as above, less L0's own turning), errors
 * grow by the motions a spot has of its own, the apparent size shrinks with the slant.
 */
static void brought_to_another_time(void **state) {
    (void)state;
    tl_sky now, then_sky;
    const double t = utc_of(2024, 4, 7);
    assert_int_equal(tl_sky_at_geocentre(t, NULL, &now), TL_OK);
    assert_int_equal(tl_sky_at_geocentre(t + 4.0 * TL_DAY_S, NULL, &then_sky), TL_OK);
    tl_spot spot = {.epoch_utc_s = t,
                    .latitude_rad = now.b0_rad,
                    .carrington_rad = now.l0_rad,
                    .latitude_sigma_rad = 0.5 * TL_DEG,
                    .longitude_sigma_rad = 0.5 * TL_DEG,
                    .radius_sr = 0.02,
                    .umbra_radius_sr = 0.01,
                    .radius_sigma_sr = 0.001};
    tl_spot same, then, back;
    tl_spot_at(&spot, t, &now, &same);
    check_near(same.carrington_rad, spot.carrington_rad, 1e-12);
    check_near(same.longitude_rad, 0.0, 1e-12);
    check_near(same.radius_sr, spot.radius_sr, 1e-12);
    /* In the disc's middle 0.5 degrees are so many radii, and 0.47 % more for the distance; those
     * of longitude are shorter by the latitude's cosine. */
    const double degree_sr = 0.5 * TL_DEG * 1.0047, c = cos(now.b0_rad);
    check_near(hypot(same.east_sigma_sr, same.north_sigma_sr), degree_sr * hypot(1.0, c), 2e-5);
    tl_spot_at(&same, t + 4.0 * TL_DAY_S, &then_sky, &then);
    /* 13.2 degrees a day, synodic, and 0.14 that the latitude of 6 degrees gains on the grid. */
    check_near(then.longitude_rad / TL_DEG, 4.0 * (13.2 + 0.13), 0.2);
    check_near(then.latitude_rad, spot.latitude_rad, 0.0);
    check_near(then.latitude_sigma_rad / TL_DEG, hypot(0.5, 0.6), 1e-9);
    check_near(then.longitude_sigma_rad / TL_DEG, hypot(0.5, 2.0), 1e-9);
    check_near(then.epoch_utc_s, t + 4.0 * TL_DAY_S, 0.0);
    /* Half as wide across where the slant's cosine is that of 53 degrees. */
    check_near(then.radius_sr, 0.02 * sqrt(cos(53.3 * TL_DEG)), 0.0002);
    check_near(then.umbra_radius_sr / then.radius_sr, 0.5, 1e-12);
    tl_spot_at(&then, t, &now, &back);
    check_near(tl_angle_signed(back.carrington_rad - same.carrington_rad), 0.0, 1e-12);
    /* The Sun's distance changed by 0.1 %: the square of its radius is in the slant. */
    check_near(back.radius_sr, same.radius_sr, 1e-9);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(spot_of_duffett_smith), cmocka_unit_test(formulas_of_meeus),
        cmocka_unit_test(places_by_definition),  cmocka_unit_test(limb_is_not_a_hemisphere),
        cmocka_unit_test(round_trips),           cmocka_unit_test(foreshortening),
        cmocka_unit_test(area_of_a_cap),         cmocka_unit_test(drift),
        cmocka_unit_test(places_of_sunpy),       cmocka_unit_test(brought_to_another_time),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
