/*
 * test_analyse_prior.c - the Moon's size by the almanac, before any time is solved.
 */
#include <stdlib.h>

#include "analyse_steps.h"
#include "check.h"

/* F. Espenak and J. Meeus, Five Millennium Canon of Solar Eclipses (NASA/TP-2006-214141): 2026 Aug
 * 12, greatest eclipse at 65.2 N 25.2 W, magnitude 1.0386, which at the middle of a total eclipse
 * is the ratio of the diameters. Printed to 0.0001, for a Moon of another radius (k 0.272281 where
 * IAU's is 0.272508: 0.0008 of itself). */
#define PUBLISHED_RATIO 1.0386
static const double PUBLISHED_TOLERANCE = 1.0e-3;
#define NOON_S 1786536000.0 /* 2026-08-12 12 h */

static tl_sequence_frame picture(double lat_deg, double lon_deg, double height_m, double t_s) {
    return (tl_sequence_frame){
        .info = {.site = {TL_SITE_EXIF, lat_deg * TL_DEG, lon_deg * TL_DEG, height_m},
                 .time = {.source = TL_TIME_EXIF, .t_camera_s = t_s, .sigma_s = 0.29}}};
}

static tl_limb_prior prior_of(const tl_track_options *options, const tl_sequence_frame *frame,
                              tl_analyse_ratios *known) {
    tl_limb_prior prior;
    assert_int_equal(tl_analyse_first_prior(options, frame, known, &prior), TL_OK);
    return prior;
}

static void it_is_that_of_place_and_day(void **state) {
    (void)state;
    const tl_track_options options = {.sky = tl_sky_options_default()};
    tl_analyse_ratios known = {.lock = PTHREAD_MUTEX_INITIALIZER};
    tl_sequence_frame frame = picture(65.2, -25.2, 0.0, NOON_S);
    tl_limb_prior prior = prior_of(&options, &frame, &known);
    check_near(prior.ratio, PUBLISHED_RATIO, PUBLISHED_TOLERANCE);
    assert_true(prior.ratio_sigma > PUBLISHED_TOLERANCE && prior.ratio_sigma < 0.01);
    frame = picture(65.2, -25.2, 0.0, NOON_S - 10.0 * TL_DAY_S);
    assert_true(prior_of(&options, &frame, &known).ratio == 0.0); /* no eclipse */
    frame = picture(-45.0, 154.8, 0.0, NOON_S);
    assert_true(prior_of(&options, &frame, &known).ratio == 0.0); /* nor there */
    frame = picture(65.2, -25.2, 0.0, NOON_S);
    frame.info.time.source = TL_TIME_NONE;
    assert_true(prior_of(&options, &frame, &known).ratio == 0.0);
    frame = (tl_sequence_frame){.info.time = {.source = TL_TIME_EXIF, .t_camera_s = NOON_S}};
    assert_true(prior_of(&options, &frame, &known).ratio == 0.0);
    free(known.ratio);
}

/* Asked for once where a walk round the town changes nothing; what is given counts before EXIF. */
static void near_places_share_one(void **state) {
    (void)state;
    tl_track_options options = {.sky = tl_sky_options_default()};
    tl_analyse_ratios known = {.lock = PTHREAD_MUTEX_INITIALIZER};
    double first = 0.0;
    for (int i = 0; i < 50; i++) {
        const tl_sequence_frame frame =
            picture(52.01 + 0.0008 * i, -1.01 - 0.0006 * i, 10.0 * i, NOON_S + 60.0 * i);
        const tl_limb_prior prior = prior_of(&options, &frame, &known);
        tl_circumstances exact;
        assert_int_equal(
            tl_sky_circumstances(&frame.info.site, NOON_S - 0.5 * TL_DAY_S, &options.sky, &exact),
            TL_OK);
        check_near(prior.ratio, exact.ratio, 6e-5);
        first = i == 0 ? prior.ratio : first;
        assert_true(prior.ratio == first);
    }
    assert_int_equal(known.count, 1);
    options.site = (tl_site){TL_SITE_GIVEN, 65.2 * TL_DEG, -25.2 * TL_DEG, 0.0};
    options.date_given = true;
    options.date_utc_s = NOON_S - 0.5 * TL_DAY_S;
    const tl_sequence_frame frame = picture(52.0, -1.0, 0.0, NOON_S - 10.0 * TL_DAY_S);
    check_near(prior_of(&options, &frame, &known).ratio, PUBLISHED_RATIO, PUBLISHED_TOLERANCE);
    assert_int_equal(known.count, 2);
    free(known.ratio);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_that_of_place_and_day),
        cmocka_unit_test(near_places_share_one),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
