/* The limb stage against closed forms and published error bounds. */
#include <gsl/gsl_statistics_double.h>

#include "drawn_sun.h"

/* The picture has 1 % noise over some 700 edge points: 0.02 px leaves three times its error. */
static const double CENTRE_TOLERANCE_PX = 0.02, RADIUS_TOLERANCE_PX = 0.05;
/* The lunar limb is drawn towards the brighter side of the darkened disc by 0.2 px here; taken out
 * to first order only, a quarter may stay. */
static const double LUNAR_TOLERANCE_PX = 0.08;

static void finds_both_circles_to_a_fiftieth_of_a_pixel(void **state) {
    (void)state;
    scene s = partial_scene();
    tl_limb limb = find(&s, NULL);
    assert_int_equal(limb.status, TL_LIMB_MEASURED);
    check_near(limb.circle[TL_SUN_X], s.sun.x, CENTRE_TOLERANCE_PX);
    check_near(limb.circle[TL_SUN_Y], s.sun.y, CENTRE_TOLERANCE_PX);
    check_near(limb.circle[TL_SUN_R], s.sun.r, RADIUS_TOLERANCE_PX);
    check_near(limb.circle[TL_MOON_X], s.moon.x, LUNAR_TOLERANCE_PX);
    check_near(limb.circle[TL_MOON_Y], s.moon.y, LUNAR_TOLERANCE_PX);
    check_near(limb.circle[TL_MOON_R], s.moon.r, LUNAR_TOLERANCE_PX);
    check_near(limb.blur_px, s.blur_px, 0.03);
    check_near(limb.ratio_raw, 126.0 / 120, 1e-3);
    assert_string_equal(limb.channel, "luma");
    assert_string_equal(limb.reason, "");
    tl_limb_free(&limb);
}

/* y runs down and x right; the offset is Moon minus Sun in these axes (base.h). */
static void offset_has_the_sign_of_the_convention(void **state) {
    (void)state;
    scene s = partial_scene();
    tl_limb limb = find(&s, NULL);
    double r = limb.circle[TL_SUN_R];
    check_near(limb.offset_x_sr, (s.moon.x - s.sun.x) / r, 1e-3);
    check_near(limb.offset_y_sr, (s.moon.y - s.sun.y) / r, 1e-3);
    check_near(limb.separation_sr, hypot(limb.offset_x_sr, limb.offset_y_sr), 1e-12);
    tl_limb_free(&limb);
}

/* An orange Sun amid surroundings that are as bright as it is in grey. */
static void colour_sets_an_orange_sun_apart(void **state) {
    (void)state;
    scene s = partial_scene();
    s.channels = 3;
    memcpy(s.disc, (double[3]){0.9, 0.2, 0.01}, sizeof s.disc);
    memcpy(s.sky, (double[3]){0.3, 0.35, 0.35}, sizeof s.sky);
    tl_limb limb = find(&s, NULL);
    assert_int_equal(limb.status, TL_LIMB_MEASURED);
    assert_string_equal(limb.channel, "red");
    check_near(limb.circle[TL_SUN_X], s.sun.x, 2 * CENTRE_TOLERANCE_PX);
    check_near(limb.circle[TL_MOON_X], s.moon.x, 2 * LUNAR_TOLERANCE_PX); /* red darkens less */
    tl_limb_free(&limb);
}

/* A bite of 4 % of the diameter: the lunar arc alone cannot carry a radius, the ratio can. */
static void first_bite_is_found_with_the_almanac_ratio(void **state) {
    (void)state;
    scene s = partial_scene();
    s.sun = (tl_circle){240.3, 195.8, 150};
    double separation = 150 + 1.05 * 150 - 0.04 * 300;
    s.moon = (tl_circle){240.3 + separation * 0.8, 195.8 - separation * 0.6, 1.05 * 150};
    tl_limb_prior prior = {.ratio = 1.05, .ratio_sigma = 2e-4};
    tl_limb limb = find(&s, &prior);
    assert_int_equal(limb.status, TL_LIMB_MEASURED);
    check_near(limb.separation_sr, separation / 150, 2e-3);
    assert_true(fabs(limb.separation_sr - separation / 150) < 4 * limb.separation_sigma_sr);
    tl_limb_free(&limb);
}

static void whole_disc_is_sun_only(void **state) {
    (void)state;
    scene s = partial_scene();
    s.moon.r = 0;
    tl_limb limb = find(&s, NULL);
    assert_int_equal(limb.status, TL_LIMB_SUN_ONLY);
    check_near(limb.circle[TL_SUN_R], s.sun.r, RADIUS_TOLERANCE_PX);
    tl_limb_free(&limb);
}

/* Neckel & Labs's coefficients (Solar Physics 153 (1994) 91) at 640.97, 541.76 and 443.885 nm. */
static const double DARKENING[3][6] = {
    {.33644, 1.30590, -1.79238, 2.45040, -1.89979, .59943},
    {.26073, 1.27428, -1.30352, 1.47085, -.96618, .26384},
    {.16220, 1.24893, -.92165, .89978, -.50148, .11220},
};

/* That profile blurred by a Gaussian at x px from the limb of a disc of radius r, by the
 * trapezoidal rule over the Gaussian (the table is made by another rule over the disc). */
static double blurred_light(const double a[6], double x, double sigma, double r) {
    double sum = 0, norm = 0;
    for (int k = -6000; k <= 6000; k++) {
        double u = 0.001 * k * sigma, rho = fabs(r + x - u) / r, light = 0;
        double mu = rho < 1 ? sqrt(1 - rho * rho) : 0, weight = exp(-0.5 * u * u / (sigma * sigma));
        for (int i = 5; i >= 0 && rho < 1; i--)
            light = light * mu + a[i];
        sum += light * weight;
        norm += weight;
    }
    return sum / norm;
}

static void blurred_limb_follows_the_profile(void **state) {
    (void)state;
    const double TOLERANCE = 3e-4, RADIUS = 300; /* as the header says */
    static const double BLUR[] = {0.7, 2, 4};
    for (int colour = 0; colour < 3; colour++) {
        tl_darkening darkening = {{colour == 0, colour == 1, colour == 2}, 1};
        for (size_t i = 0; i < sizeof BLUR / sizeof BLUR[0]; i++) {
            tl_spread spread;
            tl_limb_spread_make(&darkening, RADIUS, BLUR[i], &spread);
            for (double x = -15.05; x < 5; x += 1.13) {
                tl_spread_at at = tl_limb_spread_at(&spread, x * BLUR[i]);
                double expected = blurred_light(DARKENING[colour], x * BLUR[i], BLUR[i], RADIUS);
                check_near(at.value, expected, TOLERANCE);
            }
        }
    }
}

/* Slope and bend of the table against differences of it. */
static void blurred_limb_has_its_derivatives(void **state) {
    (void)state;
    const double STEP = 1e-3, BLUR = 2, TOLERANCE = 2e-3;
    tl_spread spread;
    tl_limb_spread_make(&(tl_darkening){{0, 1, 0}, 1.2}, 300, BLUR, &spread);
    for (double x = -20; x < 10; x += 0.37) {
        tl_spread_at a = tl_limb_spread_at(&spread, x - STEP), at = tl_limb_spread_at(&spread, x);
        tl_spread_at b = tl_limb_spread_at(&spread, x + STEP);
        check_near(at.slope, (b.value - a.value) / (2 * STEP), TOLERANCE);
        check_near(at.bend, (b.slope - a.slope) / (2 * STEP), TOLERANCE);
    }
}

/* The slope against the difference quotient of the published profile. */
static void darkening_slope_is_the_derivative(void **state) {
    (void)state;
    const tl_darkening GREEN = {{0, 1, 0}, 1}, GREEN_SQUARED = {{0, 1, 0}, 2};
    const double STEP = 1e-6;
    for (double rho = 0.1; rho < 0.98; rho += 0.1) {
        double slope, squared = 0;
        check_near(tl_limb_darkening(&GREEN, rho, &slope), darkened(rho), 1e-12);
        check_near(slope, (darkened(rho + STEP) - darkened(rho - STEP)) / (2 * STEP), 1e-6);
        check_near(tl_limb_darkening(&GREEN_SQUARED, rho, &squared), pow(darkened(rho), 2), 1e-12);
        check_near(squared, 2 * darkened(rho) * slope, 1e-9);
    }
}

/* There and back, and a circle's oval: the shorter axis becomes the longer one. */
static void flat_map_has_its_inverse(void **state) {
    (void)state;
    const tl_flat flat = {0.9, 0.6, -0.8};
    for (int i = 0; i < 12; i++) {
        double angle = i * TL_PI / 6, x = 50 * cos(angle), y = 50 * sin(angle), u = x, v = y;
        tl_limb_flat_picture(&flat, &u, &v);
        double along = u * flat.flat_x + v * flat.flat_y,
               across = u * flat.flat_y - v * flat.flat_x;
        check_near(hypot(along / 0.9, across), 50, 1e-10);
        tl_limb_flat_round(&flat, &u, &v);
        check_near(u, x, 1e-10);
        check_near(v, y, 1e-10);
    }
}

/* ---- the fit alone, on edge points made up from the circles ---- */

typedef struct arc {
    tl_circle circle;
    double from_rad, to_rad;
    int limb;
} arc;

static void add_arc(tl_limb *limb, const arc *a, size_t count, double sigma, gsl_rng *random) {
    for (size_t i = 0; i < count; i++) {
        double angle = a->from_rad + (a->to_rad - a->from_rad) * ((double)i + 0.5) / (double)count;
        double r = a->circle.r + (sigma > 0 ? gsl_ran_gaussian(random, sigma) : 0);
        limb->edge[limb->edge_count++] = (tl_limb_edge){.x_px = a->circle.x + r * cos(angle),
                                                        .y_px = a->circle.y + r * sin(angle),
                                                        .sigma_relative = 1,
                                                        .limb = (uint8_t)a->limb};
    }
}

static tl_limb empty_limb(size_t room) {
    tl_limb limb = {0};
    limb.edge = calloc(room, sizeof *limb.edge);
    assert_non_null(limb.edge);
    return limb;
}

/*
 * Standard deviations of a circle fitted to an arc, times sqrt(n)/sigma, from the Cramer-Rao
 * bound: 360 degrees 1.41 / 1.41 / 1.00, 180 degrees 3.25 / 1.41 / 2.30, 90 degrees 11.4 / 2.35 /
 * 10.3 (centre along the bisector / across / radius). Derived from A. Al-Sharadqah & N. Chernov,
 * Electronic J. Statistics 3 (2009) 886, for points spread evenly over the arc.
 */
static void covariance_is_the_cramer_rao_bound(void **state) {
    (void)state;
    static const double TABLE[][4] = {
        {360, 1.41, 1.41, 1.00}, {180, 3.25, 1.41, 2.30}, {90, 11.4, 2.35, 10.3}};
    /* The scatter is measured from 4000 points by its median: good to 3 %; a lucky correlation
     * of neighbours adds some. */
    const double TOLERANCE = 0.15;
    enum { N = 4000, TRIALS = 9 };
    const double SIGMA = 0.1;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (size_t row = 0; row < sizeof TABLE / sizeof TABLE[0]; row++) {
        double half = 0.5 * TABLE[row][0] * TL_DEG, unit = SIGMA / sqrt(N), found[3][TRIALS];
        for (int trial = 0; trial < TRIALS; trial++) {
            tl_limb limb = empty_limb(N);
            add_arc(&limb, &(arc){{500, 400, 300}, -half, half, TL_LIMB_SUN}, N, SIGMA, random);
            memcpy(limb.circle, (double[TL_LIMB_PARAMS]){502, 399, 303}, sizeof limb.circle);
            assert_int_equal(tl_limb_fit(&limb, &(tl_limb_prior){0}), TL_OK);
            for (int i = 0; i < 3; i++)
                found[i][trial] = sqrt(limb.covariance[i][i]);
            assert_true(fabs(limb.circle[TL_SUN_X] - 500) < 4.5 * TABLE[row][1] * unit);
            tl_limb_free(&limb);
        }
        /* chance makes a few of them see a swing along the limb that is none: the median */
        for (int i = 0; i < 3; i++)
            check_near(gsl_stats_median(found[i], 1, TRIALS) / (TABLE[row][i + 1] * unit), 1,
                       TOLERANCE);
    }
    gsl_rng_free(random);
}

/* Neighbours that share their error carry less: a block of m equal errors is worth one point, so
 * the standard deviation grows by sqrt(m) (closed form). */
static void correlated_edges_widen_the_covariance(void **state) {
    (void)state;
    enum { N = 4000, BLOCK = 8 };
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    tl_limb limb = empty_limb(N);
    add_arc(&limb, &(arc){{500, 400, 300}, 0, 2 * TL_PI, TL_LIMB_SUN}, N, 0, random);
    double error = 0;
    for (size_t i = 0; i < N; i++) {
        if (i % BLOCK == 0)
            error = gsl_ran_gaussian(random, 0.1);
        limb.edge[i].x_px += error * (limb.edge[i].x_px - 500) / 300;
        limb.edge[i].y_px += error * (limb.edge[i].y_px - 400) / 300;
    }
    memcpy(limb.circle, (double[TL_LIMB_PARAMS]){500, 400, 300}, sizeof limb.circle);
    assert_int_equal(tl_limb_fit(&limb, &(tl_limb_prior){0}), TL_OK);
    double expected = 0.1 / sqrt((double)N / BLOCK);
    check_near(sqrt(limb.covariance[TL_SUN_R][TL_SUN_R]) / expected, 1, 0.25);
    tl_limb_free(&limb);
    gsl_rng_free(random);
}

static tl_limb two_arcs(double shift_px, double sigma, gsl_rng *random) {
    tl_limb limb = empty_limb(2000);
    add_arc(&limb, &(arc){{500, 400, 300 + shift_px}, 1.0, 5.2, TL_LIMB_SUN}, 1000, sigma, random);
    add_arc(&limb, &(arc){{700, 450, 315 - shift_px}, 2.4, 4.3, TL_LIMB_MOON}, 1000, sigma, random);
    memcpy(limb.circle, (double[TL_LIMB_PARAMS]){503, 398, 302, 697, 452, 310}, sizeof limb.circle);
    return limb;
}

/* Both edges moved by the same known amount: the ratio gives the shift back (exact geometry). */
static void known_ratio_solves_the_edge_shift(void **state) {
    (void)state;
    const double SHIFT_PX = 0.4;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    tl_limb limb = two_arcs(SHIFT_PX, 0.05, random);
    limb.blur_px = 2; /* allows a shift of some tenths of a pixel */
    tl_limb_prior prior = {.ratio = 1.05, .ratio_sigma = 1e-4};
    assert_int_equal(tl_limb_fit(&limb, &prior), TL_OK);
    double separation = hypot(200, 50) / 300;
    check_near(limb.edge_shift_px, SHIFT_PX, 0.04);
    check_near(limb.separation_sr, separation, 1.5e-3);
    check_near(limb.ratio_raw, (315 - SHIFT_PX) / (300 + SHIFT_PX), 4e-4);
    tl_limb_free(&limb);
    gsl_rng_free(random);
}

/* Discs flattened towards the zenith by a known amount, as refraction does. */
static void known_flattening_is_taken_out(void **state) {
    (void)state;
    const double FLATTENING = 0.985, ZENITH[2] = {0.6, -0.8};
    tl_limb limb = two_arcs(0, 0, NULL);
    for (size_t i = 0; i < limb.edge_count; i++) {
        double up = limb.edge[i].x_px * ZENITH[0] + limb.edge[i].y_px * ZENITH[1];
        limb.edge[i].x_px += (FLATTENING - 1) * up * ZENITH[0];
        limb.edge[i].y_px += (FLATTENING - 1) * up * ZENITH[1];
    }
    tl_limb_prior prior = {.ratio = 1.05,
                           .ratio_sigma = 1e-4,
                           .flattening = FLATTENING,
                           .zenith_x = ZENITH[0],
                           .zenith_y = ZENITH[1]};
    assert_int_equal(tl_limb_fit(&limb, &prior), TL_OK);
    check_near(limb.separation_sr, hypot(200, 50) / 300, 1e-4);
    check_near(limb.offset_x_sr, 200.0 / 300, 1e-4);
    /* the centre is given where it is in the picture */
    double up = 500 * ZENITH[0] + 400 * ZENITH[1];
    check_near(limb.circle[TL_SUN_X], 500 + (FLATTENING - 1) * up * ZENITH[0], 0.02);
    tl_limb_free(&limb);
}

static void a_quarter_of_false_edges_does_no_harm(void **state) {
    (void)state;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    tl_limb limb = two_arcs(0, 0.1, random);
    for (size_t i = 0; i < limb.edge_count; i += 4)
        limb.edge[i].x_px += gsl_ran_flat(random, -25, 25);
    assert_int_equal(tl_limb_fit(&limb, &(tl_limb_prior){.ratio = 1.05, .ratio_sigma = 1e-4}),
                     TL_OK);
    check_near(limb.separation_sr, hypot(200, 50) / 300, 4e-4);
    tl_limb_free(&limb);
    gsl_rng_free(random);
}

/* sigma must be true: over 100 series of noise the errors have the width they claim. */
static void separation_sigma_is_true(void **state) {
    (void)state;
    enum { TRIALS = 100 };
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    double sum = 0;
    for (int i = 0; i < TRIALS; i++) {
        /* the smallest shift the fit allows for in an unblurred picture is 0.02 px (fit.c) */
        tl_limb limb = two_arcs(gsl_ran_gaussian(random, 0.02), 0.2, random);
        assert_int_equal(tl_limb_fit(&limb, &(tl_limb_prior){.ratio = 1.05, .ratio_sigma = 1e-5}),
                         TL_OK);
        double z = (limb.separation_sr - hypot(200, 50) / 300) / limb.separation_sigma_sr;
        sum += z * z;
        tl_limb_free(&limb);
    }
    check_near(sqrt(sum / TRIALS), 1, 0.22); /* 3 sigma of the width of 100 values: .21 */
    gsl_rng_free(random);
}

static void too_few_edges_leave_the_frame_as_it_was(void **state) {
    (void)state;
    tl_limb limb = empty_limb(10);
    limb.circle[TL_SUN_R] = 100;
    assert_int_equal(tl_limb_fit(&limb, &(tl_limb_prior){0}), TL_ERR_TOO_FEW);
    check_near(limb.circle[TL_SUN_R], 100, 0);
    tl_limb_free(&limb);
    tl_limb_free(&limb); /* twice is safe */
}

static void bad_arguments_are_refused(void **state) {
    (void)state;
    tl_limb limb = {.separation_sr = 7};
    tl_image none = {0};
    assert_int_equal(tl_limb_find(NULL, NULL, &limb), TL_ERR_ARGUMENT);
    assert_int_equal(tl_limb_find(&none, NULL, &limb), TL_ERR_ARGUMENT);
    check_near(limb.separation_sr, 7, 0);
}

static void every_status_has_its_name(void **state) {
    (void)state;
    assert_string_equal(tl_limb_status_name(TL_LIMB_MEASURED), "measured");
    assert_string_equal(tl_limb_status_name(TL_LIMB_SUN_ONLY), "sun-only");
    assert_string_equal(tl_limb_status_name(TL_LIMB_NO_SUN), "no-sun");
    assert_string_equal(tl_limb_status_name(TL_LIMB_UNUSABLE), "unusable");
    assert_string_equal(tl_limb_status_name(TL_LIMB_UNREADABLE), "unreadable");
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(finds_both_circles_to_a_fiftieth_of_a_pixel),
        cmocka_unit_test(offset_has_the_sign_of_the_convention),
        cmocka_unit_test(colour_sets_an_orange_sun_apart),
        cmocka_unit_test(first_bite_is_found_with_the_almanac_ratio),
        cmocka_unit_test(whole_disc_is_sun_only),
        cmocka_unit_test(blurred_limb_follows_the_profile),
        cmocka_unit_test(blurred_limb_has_its_derivatives),
        cmocka_unit_test(flat_map_has_its_inverse),
        cmocka_unit_test(darkening_slope_is_the_derivative),
        cmocka_unit_test(covariance_is_the_cramer_rao_bound),
        cmocka_unit_test(correlated_edges_widen_the_covariance),
        cmocka_unit_test(known_ratio_solves_the_edge_shift),
        cmocka_unit_test(known_flattening_is_taken_out),
        cmocka_unit_test(a_quarter_of_false_edges_does_no_harm),
        cmocka_unit_test(separation_sigma_is_true),
        cmocka_unit_test(too_few_edges_leave_the_frame_as_it_was),
        cmocka_unit_test(bad_arguments_are_refused),
        cmocka_unit_test(every_status_has_its_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
