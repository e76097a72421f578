/* Drawn spots are found, where they are and as large as they are. */
#include "drawn_spots.h"

/* The place is tested against its own error, which must be no larger than this: px. */
#define SIGMA_MAX_PX 0.3
/* Relative. Areas by light missing rest on the usual share of umbra and penumbra (arXiv
 * 1905.06888), from which the drawn spots are up to a tenth off; outlines on whole px. */
#define AREA_TOLERANCE 0.15
/* Light missing needs no such share. */
#define MISSING_TOLERANCE 0.08

static double spot_area(const drawn_spot *s) {
    return TL_PI * s->radius * s->radius;
}

static double spot_missing(const drawn_spot *s) {
    const double umbra = TL_PI * s->umbra * s->umbra;
    return DRAWN_PENUMBRA * spot_area(s) + (DRAWN_UMBRA - DRAWN_PENUMBRA) * umbra;
}

static const tl_spot_mark *expect_mark(const tl_spot_marks *marks, const drawn_spot *s) {
    const tl_spot_mark *mark = drawn_nearest(marks, s->x, s->y, 3);
    if (mark == NULL)
        fail_msg("no mark at the spot of radius %g px at %g, %g", s->radius, s->x, s->y);
    return mark;
}

static drawn_disc spotted_disc(void) {
    drawn_disc d = plain_disc();
    const drawn_spot spot[] = {{150.4, 300.7, 7.5, 3.2}, /* 60 arcsec across */
                               {230.2, 350.1, 4.0, 1.7},
                               {300.6, 400.3, 2.5, 1.05},
                               {200.9, 220.8, 1.6, 0.7}}; /* 13 arcsec */
    memcpy(d.spot, spot, sizeof spot);
    d.spots = 4;
    return d;
}

static void spots_are_found_with_place_and_size(void **state) {
    (void)state;
    const drawn_disc d = spotted_disc();
    tl_spot_marks marks = drawn_find(&d);
    assert_true(marks.searched);
    assert_int_equal(marks.count, d.spots);
    for (int i = 0; i < d.spots; i++) {
        const tl_spot_mark *mark = expect_mark(&marks, &d.spot[i]);
        assert_true(mark->sigma_px > 0 && mark->sigma_px < SIGMA_MAX_PX);
        check_near(mark->x_px, d.spot[i].x, 3 * mark->sigma_px);
        check_near(mark->y_px, d.spot[i].y, 3 * mark->sigma_px);
        check_near(mark->area_px2 / spot_area(&d.spot[i]), 1, AREA_TOLERANCE);
        check_near(mark->missing_px2 / spot_missing(&d.spot[i]), 1, MISSING_TOLERANCE);
        assert_false(mark->cut);
        assert_true(mark->significance > 6);
        assert_int_equal(mark->kind, TL_MARK_UNPLACED);
        if (i > 0)
            assert_true(marks.mark[i - 1].missing_px2 >= marks.mark[i].missing_px2);
    }
    /* The largest is wide enough for its umbra to be told; the smallest is not. */
    const double umbra = TL_PI * d.spot[0].umbra * d.spot[0].umbra;
    check_near(expect_mark(&marks, &d.spot[0])->umbra_px2 / umbra, 1, 0.3);
    check_near(expect_mark(&marks, &d.spot[3])->umbra_px2, 0, 1e-9);
    tl_spot_marks_free(&marks);
}

/* Umbra of 5 arcsec in a disc of 1,000 px: 2.6 px, its penumbra 2.3 times as wide. */
static void smallest_spot_is_found(void **state) {
    (void)state;
    drawn_disc d = {.width = 1040,
                    .height = 1030,
                    .sun = {520, 515, 500},
                    .blur_px = 1.8,
                    .noise = 0.006,
                    .light = 0.6,
                    .spot = {{402.3, 611.6, 3.0, 1.3}},
                    .spots = 1};
    tl_spot_marks marks = drawn_find(&d);
    assert_int_equal(marks.count, 1);
    check_near(marks.mark[0].x_px, 402.3, 0.2);
    check_near(marks.mark[0].y_px, 611.6, 0.2);
    tl_spot_marks_free(&marks);
}

/* The same spot in pictures of any blur and size has the same area: where the light missing gives
 * way to the outline there is no step. */
static void area_does_not_jump_with_size(void **state) {
    (void)state;
    for (double radius = 2; radius < 14; radius += 1) {
        drawn_disc d = plain_disc();
        d.moon.r = 0;
        d.spot[0] = (drawn_spot){260.3, 280.8, radius, radius / 2.39};
        d.spots = 1;
        tl_spot_marks marks = drawn_find(&d);
        const tl_spot_mark *mark = expect_mark(&marks, &d.spot[0]);
        check_near(mark->area_px2 / spot_area(&d.spot[0]), 1, 0.12);
        tl_spot_marks_free(&marks);
    }
}

static void sigma_is_the_error(void **state) {
    (void)state;
    enum { TRIALS = 24 };
    double sum2 = 0;
    int count = 0;
    for (unsigned long seed = 0; seed < TRIALS; seed++) {
        drawn_disc d = plain_disc();
        d.width = d.height = 320;
        d.sun = (drawn_circle){160, 160, 140};
        d.moon.r = 0;
        d.noise = 0.015;
        d.seed = seed;
        d.spot[0] = (drawn_spot){140 + 0.13 * (double)seed, 170 - 0.07 * (double)seed, 2.2, 0.95};
        d.spot[1] = (drawn_spot){200 - 0.11 * (double)seed, 130 + 0.19 * (double)seed, 3.5, 1.5};
        d.spots = 2;
        tl_spot_marks marks = drawn_find(&d);
        for (int i = 0; i < d.spots; i++) {
            const tl_spot_mark *mark = expect_mark(&marks, &d.spot[i]);
            sum2 += pow((mark->x_px - d.spot[i].x) / mark->sigma_px, 2) +
                    pow((mark->y_px - d.spot[i].y) / mark->sigma_px, 2);
            count += 2;
        }
        tl_spot_marks_free(&marks);
    }
    /* 96 values: the rms of a true sigma scatters by 7 %; sigma also holds what drawn circles have
     * not: ragged borders and JPEG. */
    const double rms = sqrt(sum2 / count);
    check_near(rms, 0.8, 0.35);
}

static void moon_cuts_and_hides_spots(void **state) {
    (void)state;
    drawn_disc d = plain_disc();
    /* along the line from the Moon's centre to the Sun's: on the limb, well outside, inside */
    const double x = d.sun.x - d.moon.x, y = d.sun.y - d.moon.y, length = hypot(x, y);
    const double away[3] = {d.moon.r + 4, d.moon.r + 40, d.moon.r - 30};
    for (int i = 0; i < 3; i++)
        d.spot[i] = (drawn_spot){d.moon.x + away[i] * x / length, d.moon.y + away[i] * y / length,
                                 7.5, 3.2};
    d.spots = 3;
    tl_spot_marks marks = drawn_find(&d);
    assert_int_equal(marks.count, 2);
    const tl_spot_mark *cut = drawn_nearest(&marks, d.spot[0].x, d.spot[0].y, 8);
    const tl_spot_mark *whole = drawn_nearest(&marks, d.spot[1].x, d.spot[1].y, 1);
    assert_non_null(cut);
    assert_non_null(whole);
    assert_true(cut->cut);
    assert_false(whole->cut);
    assert_true(cut->sigma_px > 3 * whole->sigma_px);
    tl_spot_marks_free(&marks);
}

/* A veil of as much light as it adds: contrast is less, the area stays. */
static void veil_is_told_and_taken_out_of_areas(void **state) {
    (void)state;
    drawn_disc d = spotted_disc();
    d.light = 0.5;
    d.veil = 0.2;
    tl_spot_marks marks = drawn_find(&d);
    /* beside the Moon the disc has 0.75 to 0.95 of its central light */
    assert_in_range((int)(1000 * marks.depth_scale), 620, 720);
    const tl_spot_mark *mark = expect_mark(&marks, &d.spot[0]);
    check_near(mark->area_px2 / spot_area(&d.spot[0]), 1, AREA_TOLERANCE);
    tl_spot_marks_free(&marks);
}

static void flattened_disc_is_searched_as_round(void **state) {
    (void)state;
    drawn_disc d = spotted_disc();
    d.moon.r = 0;
    d.flattening = 0.8;
    /* close to the limb at the end of the shorter axis, at 0.93 of the radius there */
    d.spot[3] = (drawn_spot){281.3, 268.6 + 0.93 * 0.8 * 240, 3.5, 1.5};
    tl_spot_marks marks = drawn_find(&d);
    assert_int_equal(marks.count, d.spots);
    for (int i = 0; i < d.spots; i++)
        (void)expect_mark(&marks, &d.spot[i]);
    tl_spot_marks_free(&marks);
}

/* Large pictures are reduced; place and area stay those of the picture. */
static void large_disc_is_reduced(void **state) {
    (void)state;
    drawn_disc d = {.width = 4100,
                    .height = 300,
                    .sun = {2050.5, -1500.2, 2000},
                    .noise = 0.01,
                    .light = 0.6,
                    .spot = {{2301.7, 148.6, 40, 17}},
                    .spots = 1};
    tl_spot_marks marks = drawn_find(&d);
    assert_int_equal(marks.count, 1);
    check_near(marks.mark[0].x_px, 2301.7, 1);
    check_near(marks.mark[0].y_px, 148.6, 1);
    check_near(marks.mark[0].area_px2 / spot_area(&d.spot[0]), 1, AREA_TOLERANCE);
    tl_spot_marks_free(&marks);
}

/* The blue Sun of a film filter: red and green hold next to nothing. */
static void spot_on_a_blue_sun_is_found(void **state) {
    (void)state;
    const drawn_disc d = spotted_disc();
    drawn_plane plane = drawn_light(&d);
    tl_image grey = drawn_picture(&d, &plane);
    const size_t pixels = (size_t)grey.width * (size_t)grey.height;
    tl_image blue = {.width = grey.width,
                     .height = grey.height,
                     .channels = 3,
                     .sample = calloc(3 * pixels, sizeof(uint16_t))};
    assert_non_null(blue.sample);
    for (size_t i = 0; i < pixels; i++)
        blue.sample[3 * i + 2] = grey.sample[i];
    const tl_limb limb = drawn_limb(&d);
    tl_spot_marks marks = {0};
    assert_int_equal(tl_spot_find(&blue, &limb, &marks), TL_OK);
    assert_int_equal(marks.count, d.spots);
    tl_spot_marks_free(&marks);
    /* red burnt out over it */
    for (size_t i = 0; i < pixels; i++)
        blue.sample[3 * i] = grey.sample[i] > 3000 ? 65535 : 0;
    assert_int_equal(tl_spot_find(&blue, &limb, &marks), TL_OK);
    assert_int_equal(marks.count, d.spots);
    tl_spot_marks_free(&marks);
    tl_image_free(&grey);
    tl_image_free(&blue);
}

static void two_close_spots_stay_two(void **state) {
    (void)state;
    drawn_disc d = plain_disc();
    d.spot[0] = (drawn_spot){200.2, 300.4, 4.5, 1.9};
    d.spot[1] = (drawn_spot){211.7, 303.1, 4.5, 1.9};
    d.spots = 2;
    tl_spot_marks marks = drawn_find(&d);
    assert_int_equal(marks.count, 2);
    tl_spot_marks_free(&marks);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(spots_are_found_with_place_and_size),
        cmocka_unit_test(smallest_spot_is_found),
        cmocka_unit_test(area_does_not_jump_with_size),
        cmocka_unit_test(sigma_is_the_error),
        cmocka_unit_test(moon_cuts_and_hides_spots),
        cmocka_unit_test(veil_is_told_and_taken_out_of_areas),
        cmocka_unit_test(flattened_disc_is_searched_as_round),
        cmocka_unit_test(large_disc_is_reduced),
        cmocka_unit_test(spot_on_a_blue_sun_is_found),
        cmocka_unit_test(two_close_spots_stay_two),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
