/*
 * test_spot_cover.c - when the Moon covers and uncovers a spot.
 *
 * Whatever is found is looked at again with tl_sky_at, instant by instant: the definition itself.
 */
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include "check.h"
#include "twolimb/spot.h"

typedef struct scene {
    tl_site site;
    tl_circumstances eclipse;
    tl_sky max; /* at the maximum */
} scene;

static scene scene_of(const char *site, const char *day) {
    scene s;
    double day_s;
    assert_int_equal(tl_site_parse(site, &s.site), TL_OK);
    assert_int_equal(tl_date_parse(day, &day_s), TL_OK);
    assert_int_equal(tl_sky_circumstances(&s.site, day_s, NULL, &s.eclipse), TL_OK);
    assert_int_equal(tl_sky_at(&s.site, s.eclipse.contact[TL_MAX].t_utc_s, NULL, &s.max), TL_OK);
    return s;
}

/* A spot with its place at maximum, degrees west of the central meridian; errors as a picture has
 * them. */
static tl_spot spot_of(const scene *s, double latitude_deg, double west_deg) {
    tl_spot spot = {.epoch_utc_s = s->max.t_utc_s,
                    .latitude_rad = latitude_deg * TL_DEG,
                    .carrington_rad = s->max.l0_rad + west_deg * TL_DEG,
                    .latitude_sigma_rad = 0.2 * TL_DEG,
                    .longitude_sigma_rad = 0.3 * TL_DEG,
                    .radius_sr = 0.012,
                    .radius_sigma_sr = 0.002};
    tl_spot then;
    tl_spot_at(&spot, s->max.t_utc_s, &s->max, &then);
    then.radius_sr = spot.radius_sr; /* seen at a slant, at maximum */
    then.radius_sigma_sr = spot.radius_sigma_sr;
    return then;
}

/* Distance of the spot's centre from the Moon's edge at one instant. */
static double gap_at(const scene *s, const tl_spot *spot, double t) {
    tl_sky sky;
    double east, north;
    assert_int_equal(tl_sky_at(&s->site, t, NULL, &sky), TL_OK);
    const double carrington =
        spot->carrington_rad + tl_spot_drift_rad(spot->latitude_rad, t - spot->epoch_utc_s);
    assert_true(tl_spot_project(&sky, spot->latitude_rad, carrington, &east, &north));
    return hypot(east - sky.east_sr, north - sky.north_sr) - sky.ratio;
}

/*
 * How far a round spot reaches beyond its centre towards (`sign` -1) or away from (+1) the Moon's:
 * the points of a small circle on the Sun, put on the disc one by one.
 */
static double reach_at(const scene *s, const tl_spot *spot, double t, double sign) {
    tl_sky sky;
    assert_int_equal(tl_sky_at(&s->site, t, NULL, &sky), TL_OK);
    const double mu = tl_spot_foreshortening(&s->max, hypot(spot->east_sr, spot->north_sr));
    const double rho = spot->radius_sr / sqrt(mu), b0 = spot->latitude_rad;
    const double l0 = spot->carrington_rad + tl_spot_drift_rad(b0, t - spot->epoch_utc_s);
    const double gap = gap_at(s, spot, t);
    double furthest = -1e9;
    for (int k = 0; k < 720; k++) {
        /* Small circle about a place: spherical triangle with the pole (closed form). */
        const double a = k * TL_PI / 360.0;
        const double b = asin(sin(b0) * cos(rho) + cos(b0) * sin(rho) * cos(a));
        const double l = l0 + asin(sin(a) * sin(rho) / cos(b));
        double east, north;
        if (tl_spot_project(&sky, b, l, &east, &north))
            furthest = fmax(furthest, sign * (hypot(east - sky.east_sr, north - sky.north_sr) -
                                              sky.ratio - gap));
    }
    return furthest;
}

static double contact_of(const scene *s, int i) {
    return s->eclipse.contact[i].t_utc_s;
}

/* Times that are there stand where they should, in order; those that are not there are 0 because
 * the gap never comes so low. */
static void check_passage(const scene *s, const tl_spot *spot, const tl_spot_passage *p,
                          double sign) {
    const double centre_tolerance_sr = 1e-6;
    /* a spot's patch of the sphere is bent, the ellipse taken for it flat: of second order */
    const double edge_tolerance_sr = 3e-4;
    for (int i = 0; i < TL_SPOT_TOUCHES; i++) {
        const double side = sign * (TL_SPOT_CENTRE - i);
        if (p->t_utc_s[i] == 0.0) {
            assert_true(spot->clearance_sr > side * 1.5 * spot->radius_sr - 1e-3);
            continue;
        }
        const double level =
            side * (i == TL_SPOT_CENTRE ? 0.0 : reach_at(s, spot, p->t_utc_s[i], -side));
        check_near(gap_at(s, spot, p->t_utc_s[i]), level,
                   i == TL_SPOT_CENTRE ? centre_tolerance_sr : edge_tolerance_sr);
        /* downwards for a covering */
        assert_true(sign * (gap_at(s, spot, p->t_utc_s[i] + 2.0) - level) < 0.0);
        if (i > 0 && p->t_utc_s[i - 1] != 0.0)
            assert_true(p->t_utc_s[i] > p->t_utc_s[i - 1]);
    }
    assert_int_equal(p->occurs, spot->clearance_sr < 0.0);
    if (p->whole) /* the ellipse's shorter axis at least */
        assert_true(p->occurs && spot->clearance_sr < 0.0);
}

static double least_gap(const scene *s, const tl_spot *spot, double *when) {
    double least = 1e9;
    for (double t = contact_of(s, TL_C1) - 600.0; t < contact_of(s, TL_C4) + 600.0; t += 20.0) {
        const double gap = gap_at(s, spot, t);
        if (gap < least) {
            least = gap;
            *when = t;
        }
    }
    return least;
}

/* Total, annular, partial; one before 1970, where times are negative; spots all over the disc. */
static void times_by_definition(void **state) {
    (void)state;
    static const char *const where[][2] = {{"41,-83.4,200", "2024-04-08"},
                                           {"11.4,-83.1", "2023-10-14"},
                                           {"59.92,10.75,94", "1999-08-11"},
                                           {"55.7,12.6", "1954-06-30"}};
    int covered = 0, spared = 0;
    for (size_t k = 0; k < sizeof where / sizeof where[0]; k++) {
        const scene s = scene_of(where[k][0], where[k][1]);
        for (int b = -40; b <= 40; b += 40)
            for (int l = -60; l <= 60; l += 60) {
                tl_spot spot = spot_of(&s, b, l);
                double when = 0.0;
                assert_int_equal(tl_spot_cover(&s.site, NULL, &s.eclipse, &spot), TL_OK);
                assert_true(spot.has_passages);
                /* 20 s off the lowest: half the bend, some 1 sr an hour squared */
                check_near(spot.clearance_sr, least_gap(&s, &spot, &when), 1e-4);
                check_passage(&s, &spot, &spot.covered, 1.0);
                check_passage(&s, &spot, &spot.uncovered, -1.0);
                if (spot.clearance_sr < 0.0)
                    assert_true(spot.touched);
                if (spot.covered.occurs) {
                    assert_true(spot.covered.t_utc_s[TL_SPOT_CENTRE] < when + 20.0);
                    assert_true(spot.uncovered.t_utc_s[TL_SPOT_CENTRE] > when - 20.0);
                    covered++;
                } else
                    spared++;
            }
    }
    assert_true(covered > 20 && spared >= 3);
}

/* A spot in the very middle of the disc is covered when the separation is the Moon's radius. */
static void middle_of_the_disc(void **state) {
    (void)state;
    const double tolerance_s = 1e-3;
    const scene s = scene_of("41,-83.4,200", "2024-04-08");
    for (int rising = 0; rising <= 1; rising++) {
        double outer = contact_of(&s, rising ? TL_C4 : TL_C1), inner = contact_of(&s, TL_MAX);
        tl_sky sky = s.max;
        while (fabs(outer - inner) > 1e-5) {
            const double middle = 0.5 * (outer + inner);
            assert_int_equal(tl_sky_at(&s.site, middle, NULL, &sky), TL_OK);
            *(sky.separation_sr > sky.ratio ? &outer : &inner) = middle;
        }
        tl_spot spot = {.epoch_utc_s = sky.t_utc_s,
                        .latitude_rad = sky.b0_rad,
                        .carrington_rad = sky.l0_rad,
                        .radius_sr = 0.01};
        assert_int_equal(tl_spot_cover(&s.site, NULL, &s.eclipse, &spot), TL_OK);
        const tl_spot_passage *p = rising ? &spot.uncovered : &spot.covered;
        check_near(p->t_utc_s[TL_SPOT_CENTRE], outer, tolerance_s);
        check_near(p->sigma_s, 0.0, 1e-3); /* no error in, none out */
        assert_false(spot.unsure);
    }
}

/* A spot near the point that the Moon touches first is covered right after first contact, and one
 * near the last point uncovered right before last contact. */
static void at_the_contact_points(void **state) {
    (void)state;
    const double inside = 0.004; /* of the limb: at 4.5e-4 a second 9 s */
    const scene s = scene_of("41,-83.4,200", "2024-04-08");
    for (int last = 0; last <= 1; last++) {
        const tl_contact *contact = &s.eclipse.contact[last ? TL_C4 : TL_C1];
        tl_sky sky;
        assert_int_equal(tl_sky_at(&s.site, contact->t_utc_s, NULL, &sky), TL_OK);
        tl_spot spot = {.epoch_utc_s = contact->t_utc_s, .radius_sr = 0.008};
        assert_true(tl_spot_unproject(&sky, (1.0 - inside) * sin(contact->pa_rad),
                                      (1.0 - inside) * cos(contact->pa_rad), &spot.latitude_rad,
                                      &spot.carrington_rad));
        assert_int_equal(tl_spot_cover(&s.site, NULL, &s.eclipse, &spot), TL_OK);
        const tl_spot_passage *p = last ? &spot.uncovered : &spot.covered;
        assert_true(p->occurs && p->whole && spot.touched);
        check_near(fabs(p->t_utc_s[TL_SPOT_CENTRE] - contact->t_utc_s), 9.0, 2.0);
        /* Seen nearly from the side it reaches a tenth of its radius beyond its centre; nothing is
         * touched outside of the eclipse. */
        const double outer_s = p->t_utc_s[last ? TL_SPOT_LAST : TL_SPOT_FIRST] - contact->t_utc_s;
        assert_true((last ? -outer_s : outer_s) >= 0.0);
        check_near(fabs(outer_s), 7.0, 2.0);
    }
}

static void beyond_the_limb(void **state) {
    (void)state;
    const scene s = scene_of("41,-83.4,200", "2024-04-08");
    tl_spot spot = spot_of(&s, 10.0, 95.0);
    spot.longitude_sigma_rad = 0.5; /* so that the gap is anything */
    assert_int_equal(tl_spot_cover(&s.site, NULL, &s.eclipse, &spot), TL_OK);
    assert_false(spot.touched || spot.covered.occurs || spot.uncovered.occurs || spot.unsure);
    assert_true(spot.has_passages);
}

/* Madrid, 2026-08-12: the Sun sets in the eclipse. The horizon is tl_sky_circumstances' own. */
static void sun_down(void **state) {
    (void)state;
    const scene s = scene_of("40.4,-3.7,650", "2026-08-12");
    tl_spot spot = spot_of(&s, 10.0, 10.0);
    assert_true(s.eclipse.has_sunset);
    assert_int_equal(tl_spot_cover(&s.site, NULL, &s.eclipse, &spot), TL_OK);
    assert_true(spot.covered.t_utc_s[TL_SPOT_CENTRE] < s.eclipse.sunset_utc_s);
    assert_true(spot.covered.sun_up);
    assert_true(spot.uncovered.t_utc_s[TL_SPOT_CENTRE] > contact_of(&s, TL_MAX));
    assert_int_equal(spot.uncovered.sun_up,
                     spot.uncovered.t_utc_s[TL_SPOT_CENTRE] < s.eclipse.sunset_utc_s);
    /* One on the eastern side is uncovered last, after sunset. */
    spot = spot_of(&s, 10.0, -60.0);
    assert_int_equal(tl_spot_cover(&s.site, NULL, &s.eclipse, &spot), TL_OK);
    assert_true(spot.uncovered.t_utc_s[TL_SPOT_CENTRE] > s.eclipse.sunset_utc_s);
    assert_false(spot.uncovered.sun_up);
}

/* A spot at the latitude at which its clearance is so large; the Moon passes south of it. */
static tl_spot grazing_spot(const scene *s, double west_deg, double clearance_sr) {
    double low = -60.0, high = 60.0;
    tl_spot spot = {0};
    for (int i = 0; i < 30; i++) {
        const double middle = 0.5 * (low + high);
        spot = spot_of(s, middle, west_deg);
        assert_int_equal(tl_spot_cover(&s->site, NULL, &s->eclipse, &spot), TL_OK);
        *(spot.clearance_sr > clearance_sr ? &high : &low) = middle;
    }
    return spot;
}

/* Oslo 1999: the Moon passes over the southern part, and its northern edge over a spot. */
static void grazed(void **state) {
    (void)state;
    const scene s = scene_of("59.92,10.75,94", "1999-08-11");
    const tl_spot touched = grazing_spot(&s, 0.0, 0.006); /* half its radius away */
    check_near(touched.clearance_sr, 0.006, 1e-6);
    assert_true(touched.touched && touched.unsure);
    assert_false(touched.covered.occurs || touched.covered.whole || touched.uncovered.occurs);
    check_near(touched.covered.t_utc_s[TL_SPOT_CENTRE], 0.0, 0.0);
    check_near(touched.covered.t_utc_s[TL_SPOT_LAST], 0.0, 0.0);
    check_near(touched.uncovered.t_utc_s[TL_SPOT_FIRST], 0.0, 0.0);
    assert_true(touched.covered.t_utc_s[TL_SPOT_FIRST] < touched.uncovered.t_utc_s[TL_SPOT_LAST]);
    check_passage(&s, &touched, &touched.covered, 1.0);
    check_passage(&s, &touched, &touched.uncovered, -1.0);
    const tl_spot clipped = grazing_spot(&s, 0.0, -0.006);
    assert_true(clipped.covered.occurs && clipped.uncovered.occurs && clipped.unsure);
    assert_false(clipped.covered.whole || clipped.uncovered.whole);
    check_passage(&s, &clipped, &clipped.covered, 1.0);
    check_passage(&s, &clipped, &clipped.uncovered, -1.0);
    const tl_spot missed = grazing_spot(&s, 0.0, 0.1);
    assert_false(missed.touched || missed.unsure || missed.covered.occurs);
    const tl_spot sure = grazing_spot(&s, 0.0, -0.1);
    assert_true(sure.touched && sure.covered.whole);
    assert_false(sure.unsure);
}

/* Nearly of the normal law, sigma 1: the sum of twelve even deviates less 6. */
static double normal(uint64_t *seed) {
    double sum = -6.0;
    for (int i = 0; i < 12; i++) {
        *seed = *seed * 6364136223846793005u + 1442695040888963407u; /* Knuth's, MMIX */
        sum += (double)(*seed >> 11) / 9007199254740992.0;
    }
    return sum;
}

enum { TRIALS = 150 };

/* The spot as errors of its own size may have it: on the Sun those of a list, on the disc those of
 * pictures. */
static tl_spot perturbed(const scene *s, const tl_spot *spot, uint64_t *seed) {
    tl_spot other = *spot;
    if (spot->in_pictures) {
        assert_true(tl_spot_unproject(&s->max, spot->east_sr + normal(seed) * spot->east_sigma_sr,
                                      spot->north_sr + normal(seed) * spot->north_sigma_sr,
                                      &other.latitude_rad, &other.carrington_rad));
    } else {
        other.latitude_rad += normal(seed) * spot->latitude_sigma_rad;
        other.carrington_rad += normal(seed) * spot->longitude_sigma_rad;
    }
    const double edge = hypot(spot->radius_sigma_sr, TL_SPOT_RAGGED * spot->radius_sr);
    other.radius_sr = fmax(0.0, spot->radius_sr + normal(seed) * edge);
    return other;
}

static double square(double x) {
    return x * x;
}

/* Where the limb sweeps over steadily the errors are those of 150 trials. */
static void errors_by_trials(void **state) {
    (void)state;
    const double tolerance = 0.17; /* three times 1 / sqrt(2 * 150) */
    const scene s = scene_of("41,-83.4,200", "2024-04-08");
    static const struct {
        double latitude_deg, west_deg;
        bool in_pictures;
    } row[] = {{5.0, 10.0, false}, {15.0, -50.0, false}, {5.0, 10.0, true}, {-20.0, 60.0, true}};
    uint64_t seed = 7;
    for (size_t k = 0; k < sizeof row / sizeof row[0]; k++) {
        tl_spot spot = spot_of(&s, row[k].latitude_deg, row[k].west_deg);
        spot.in_pictures = row[k].in_pictures;
        spot.east_sigma_sr = spot.in_pictures ? 0.002 : NAN; /* not to be used */
        spot.north_sigma_sr = spot.in_pictures ? 0.004 : NAN;
        assert_int_equal(tl_spot_cover(&s.site, NULL, &s.eclipse, &spot), TL_OK);
        double centre = 0.0, first = 0.0, last = 0.0, clearance = 0.0;
        for (int i = 0; i < TRIALS; i++) {
            tl_spot other = perturbed(&s, &spot, &seed);
            assert_int_equal(tl_spot_cover(&s.site, NULL, &s.eclipse, &other), TL_OK);
            centre += square(other.covered.t_utc_s[TL_SPOT_CENTRE] -
                             spot.covered.t_utc_s[TL_SPOT_CENTRE]);
            first +=
                square(other.covered.t_utc_s[TL_SPOT_FIRST] - spot.covered.t_utc_s[TL_SPOT_FIRST]);
            last += square(other.uncovered.t_utc_s[TL_SPOT_LAST] -
                           spot.uncovered.t_utc_s[TL_SPOT_LAST]);
            clearance += square(other.clearance_sr - spot.clearance_sr);
        }
        check_near(sqrt(centre / TRIALS) / spot.covered.sigma_s, 1.0, tolerance);
        check_near(sqrt(first / TRIALS) / spot.covered.touch_sigma_s, 1.0, tolerance);
        check_near(sqrt(last / TRIALS) / spot.uncovered.touch_sigma_s, 1.0, tolerance);
        check_near(sqrt(clearance / TRIALS) / spot.clearance_sigma_sr, 1.0, tolerance);
    }
}

/*
 * Where the limb only grazes, times are no longer of the normal law, and of some trials the spot is
 * not covered at all: that so many are within one sigma of what was told is what can be asked.
 */
static void grazing_errors_by_trials(void **state) {
    (void)state;
    const double least_share = 0.55, most_share = 0.96; /* the normal law: 0.68 */
    const scene s = scene_of("59.92,10.75,94", "1999-08-11");
    uint64_t seed = 11;
    for (int k = 1; k <= 4; k *= 2) {
        tl_spot spot = grazing_spot(&s, 0.0, -0.0035 * k); /* its error is some 0.0035 */
        int covered = 0, inside = 0;
        for (int i = 0; i < TRIALS; i++) {
            tl_spot other = perturbed(&s, &spot, &seed);
            assert_int_equal(tl_spot_cover(&s.site, NULL, &s.eclipse, &other), TL_OK);
            if (!other.covered.occurs)
                continue;
            covered++;
            inside += fabs(other.covered.t_utc_s[TL_SPOT_CENTRE] -
                           spot.covered.t_utc_s[TL_SPOT_CENTRE]) < spot.covered.sigma_s;
        }
        assert_true(covered > TRIALS / 2);
        assert_true(inside > least_share * covered && inside < most_share * covered);
        if (k < 3)
            assert_true(spot.unsure);
    }
}

/* Nothing is written where nothing can be computed. */
static void impossible_site(void **state) {
    (void)state;
    const scene s = scene_of("41,-83.4,200", "2024-04-08");
    tl_spot spot = spot_of(&s, 10.0, 10.0);
    tl_site nowhere = s.site;
    nowhere.lat_rad = 2.0;
    assert_int_equal(tl_spot_cover(&nowhere, NULL, &s.eclipse, &spot), TL_ERR_RANGE);
    assert_false(spot.has_passages);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(times_by_definition),
        cmocka_unit_test(middle_of_the_disc),
        cmocka_unit_test(at_the_contact_points),
        cmocka_unit_test(beyond_the_limb),
        cmocka_unit_test(sun_down),
        cmocka_unit_test(grazed),
        cmocka_unit_test(errors_by_trials),
        cmocka_unit_test(grazing_errors_by_trials),
        cmocka_unit_test(impossible_site),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
