/* What is no spot breeds no mark, and pictures without a Sun to search do no harm. */
#include "drawn_spots.h"

static void expect_none(tl_image *image, const drawn_disc *d, const char *what) {
    const tl_limb limb = drawn_limb(d);
    tl_spot_marks marks = {0};
    assert_int_equal(tl_spot_find(image, &limb, &marks), TL_OK);
    if (marks.count > 0)
        fail_msg("%s: %zu marks, one at %g, %g", what, marks.count, marks.mark[0].x_px,
                 marks.mark[0].y_px);
    assert_true(marks.searched);
    assert_null(marks.mark);
    tl_spot_marks_free(&marks);
    tl_image_free(image);
}

/* Multiply the light by 1 - depth at each pixel. */
static void darken(drawn_plane *p, double (*depth)(double x, double y)) {
    for (int y = 0; y < p->height; y++)
        for (int x = 0; x < p->width; x++)
            p->light[(size_t)y * (size_t)p->width + (size_t)x] *= 1 - depth(x, y);
}

static void expect_none_under(double (*depth)(double x, double y), const char *what) {
    const drawn_disc d = plain_disc();
    drawn_plane plane = drawn_light(&d);
    darken(&plane, depth);
    tl_image image = drawn_picture(&d, &plane);
    expect_none(&image, &d, what);
}

static void clean_discs_have_no_marks(void **state) {
    (void)state;
    for (unsigned long seed = 0; seed < 6; seed++) {
        drawn_disc d = plain_disc();
        d.seed = seed;
        d.noise = 0.003 * (double)(1 + 2 * seed);
        d.blur_px = 2.8 - 0.4 * (double)seed;
        drawn_plane plane = drawn_light(&d);
        tl_image image = drawn_picture(&d, &plane);
        expect_none(&image, &d, "a clean disc");
    }
}

/* The limbs as a picture with another centre and radius would have them. */
static void circles_a_little_off_breed_none(void **state) {
    (void)state;
    drawn_disc d = plain_disc();
    drawn_plane plane = drawn_light(&d);
    tl_image image = drawn_picture(&d, &plane);
    d.sun.x += 0.7;
    d.sun.r += 0.5;
    d.moon.y -= 0.8;
    expect_none(&image, &d, "circles 0.7 px off");
}

static double dapple(double x, double y) {
    return 0.12 * exp(-0.5 * (pow((x - 200) / 16, 2) + pow((y - 330) / 13, 2)));
}
static double bank(double x, double y) {
    return 0.5 / (1 + exp((x + 0.6 * y - 420) / 14));
}
static double side_light(double x, double y) {
    return 0.4 * (x / 560) + 0.2 * y * y / (540.0 * 540.0);
}
static double line(double x, double y) {
    const double across = (x - 220) * 0.6 + (y - 320) * 0.8,
                 along = (y - 320) * 0.6 - (x - 220) * 0.8;
    return fabs(across) < 2 && fabs(along) < 13 ? 0.5 : 0;
}
static double blocks(double x, double y) {
    /* 8 x 8 blocks that stand apart by up to 1.5 % */
    const int i = (int)(x / 8), j = (int)(y / 8);
    return 0.015 * ((i * 7 + j * 13 + i * j) % 5 - 2) / 2.0;
}

static void clouds_gradients_lines_and_blocks_are_no_spots(void **state) {
    (void)state;
    expect_none_under(dapple, "a dapple of cloud");
    expect_none_under(bank, "the edge of a cloud");
    expect_none_under(side_light, "light that falls off");
    expect_none_under(line, "a wire");
    expect_none_under(blocks, "blocks of a JPEG");
}

/* Narrower than the blur, and not as black as a letter: light left in a dead pixel. */
static void dead_and_hot_pixels_are_no_spots(void **state) {
    (void)state;
    const drawn_disc d = plain_disc();
    drawn_plane plane = drawn_light(&d);
    tl_image image = drawn_picture(&d, &plane);
    const int at[6][2] = {{200, 300}, {150, 260}, {260, 400}, {120, 330}, {300, 350}, {330, 420}};
    for (int i = 0; i < 6; i++)
        image.sample[at[i][1] * image.width + at[i][0]] = i < 3 ? 5000 : 60000;
    expect_none(&image, &d, "dead and hot pixels");
}

/* Dark beside as bright, as sharpening leaves it round a bright grain. */
static double grain(double x, double y) {
    return 0.3 * exp(-0.25 * (pow(x - 200, 2) + pow(y - 330, 2))) -
           0.3 * exp(-0.25 * (pow(x - 205, 2) + pow(y - 330, 2)));
}

static void ringing_is_no_spot(void **state) {
    (void)state;
    expect_none_under(grain, "a grain that rings");
}

/* Strokes of 3 px in black and in white, as words over the disc have them. */
static void letters_are_no_spots(void **state) {
    (void)state;
    const drawn_disc d = plain_disc();
    drawn_plane plane = drawn_light(&d);
    tl_image image = drawn_picture(&d, &plane);
    for (int letter = 0; letter < 8; letter++) {
        const int x0 = 140 + 18 * letter, y0 = 330 + (letter % 2) * 40;
        const uint16_t ink = letter % 2 ? 65535 : 0;
        for (int y = 0; y < 16; y++) /* an H, or an i with its dot */
            for (int x = 0; x < 11; x++)
                if (letter % 4 < 2 ? x < 3 || x > 7 || (y > 6 && y < 10)
                                   : x < 3 && (y < 3 || y > 5))
                    image.sample[(y0 + y) * image.width + x0 + x] = ink;
    }
    expect_none(&image, &d, "letters");
}

/* Smoothed as a phone does it: grain of some px. */
static void coarse_grain_is_no_spot(void **state) {
    (void)state;
    drawn_disc d = plain_disc();
    drawn_plane plane = drawn_light(&d);
    drawn_plane grain = {d.width, d.height,
                         malloc((size_t)d.width * (size_t)d.height * sizeof(double))};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    assert_non_null(grain.light);
    assert_non_null(random);
    for (int i = 0; i < d.width * d.height; i++)
        grain.light[i] = gsl_ran_gaussian_ziggurat(random, 0.06);
    gsl_rng_free(random);
    drawn_blur(&grain, 1.5);
    for (int i = 0; i < d.width * d.height; i++)
        plane.light[i] *= 1 + grain.light[i];
    free(grain.light);
    tl_image image = drawn_picture(&d, &plane);
    expect_none(&image, &d, "coarse grain");
}

/* Light added, as reflections, ghosts and a veil add it: their edges and the gap between two. */
static void added_light_is_no_spot(void **state) {
    (void)state;
    const drawn_disc d = plain_disc();
    drawn_plane plane = drawn_light(&d);
    for (int y = 0; y < d.height; y++)
        for (int x = 0; x < d.width; x++) {
            double *light = &plane.light[y * d.width + x];
            *light += 0.1 / (1 + exp(hypot(x - 180, y - 330) - 40));
            *light += 0.08 / (1 + exp(hypot(x - 290, y - 380) - 66));
            *light += 0.2 * exp(-hypot(x - 420, y - 200) / 200);
        }
    tl_image image = drawn_picture(&d, &plane);
    expect_none(&image, &d, "added light");
}

/* Steps of a tone curve: 40 levels of light. */
static void bands_are_no_spots(void **state) {
    (void)state;
    drawn_disc d = plain_disc();
    d.noise = 0;
    drawn_plane plane = drawn_light(&d);
    for (int i = 0; i < d.width * d.height; i++)
        plane.light[i] = floor(plane.light[i] * 40) / 40;
    tl_image image = drawn_picture(&d, &plane);
    expect_none(&image, &d, "bands");
}

static void burnt_out_discs_are_not_searched(void **state) {
    (void)state;
    drawn_disc d = plain_disc();
    d.light = 3;
    d.spot[0] = (drawn_spot){200, 300, 6, 2.5};
    d.spots = 1;
    tl_spot_marks marks = drawn_find(&d);
    assert_false(marks.searched);
    assert_int_equal(marks.count, 0);
    assert_true(marks.clipped_share > 0.9);
    tl_spot_marks_free(&marks);
    /* Clipped in the middle only, the spot outside it: it is found. */
    d = plain_disc();
    d.moon.r = 0;
    d.light = 1.1;
    d.spot[0] = (drawn_spot){281, 440, 6, 2.5};
    d.spots = 1;
    marks = drawn_find(&d);
    assert_true(marks.searched);
    assert_true(marks.clipped_share > 0.2 && marks.clipped_share < 0.9);
    assert_int_equal(marks.count, 1);
    tl_spot_marks_free(&marks);
}

static void without_a_sun_nothing_is_searched(void **state) {
    (void)state;
    drawn_disc d = plain_disc();
    drawn_plane plane = drawn_light(&d);
    tl_image image = drawn_picture(&d, &plane);
    static const tl_limb_status NONE[] = {TL_LIMB_NO_SUN, TL_LIMB_UNUSABLE, TL_LIMB_UNREADABLE};
    for (int i = 0; i < 3; i++) {
        tl_limb limb = drawn_limb(&d);
        limb.status = NONE[i];
        tl_spot_marks marks = {.count = 5};
        assert_int_equal(tl_spot_find(&image, &limb, &marks), TL_OK);
        assert_false(marks.searched);
        assert_int_equal(marks.count, 0);
        check_near(marks.depth_scale, 1, 0);
        tl_spot_marks_free(&marks);
    }
    tl_image_free(&image);
}

/* Circles that reach out of the picture, lie outside it, or are a few px wide. */
static void odd_circles_do_no_harm(void **state) {
    (void)state;
    drawn_disc d = plain_disc();
    d.spot[0] = (drawn_spot){200, 300, 6, 2.5};
    d.spots = 1;
    drawn_plane plane = drawn_light(&d);
    tl_image image = drawn_picture(&d, &plane);
    const drawn_circle sun[] = {{-300, 200, 240},     {900, 900, 100}, {-239, 200, 240},
                                {559, 539, 3},        {0, 0, 1},       {100, 100, 0.01},
                                {280, 270, 5000},     {281, 268, 20},  {NAN, 270, 200},
                                {280, 270, INFINITY}, {280, 270, 1e9}};
    for (size_t i = 0; i < sizeof sun / sizeof *sun; i++) {
        drawn_disc odd = d;
        odd.sun = sun[i];
        const tl_limb limb = drawn_limb(&odd);
        tl_spot_marks marks = {0};
        assert_int_equal(tl_spot_find(&image, &limb, &marks), TL_OK);
        tl_spot_marks_free(&marks);
    }
    tl_image_free(&image);
    uint16_t black = 0, bright[300];
    const tl_image dot = {.width = 1, .height = 1, .channels = 1, .sample = &black};
    const tl_image line = {.width = 300, .height = 1, .channels = 1, .sample = bright};
    for (int i = 0; i < 300; i++)
        bright[i] = 40000;
    const drawn_disc small = {.sun = {0, 0, 50}, .blur_px = 1};
    const tl_limb limb = drawn_limb(&small);
    tl_spot_marks marks = {0};
    assert_int_equal(tl_spot_find(&dot, &limb, &marks), TL_OK);
    assert_false(marks.searched);
    tl_spot_marks_free(&marks);
    const drawn_disc wide = {.sun = {150, 0, 1000}, .blur_px = 1};
    const tl_limb over = drawn_limb(&wide);
    assert_int_equal(tl_spot_find(&line, &over, &marks), TL_OK); /* a picture one pixel high */
    assert_int_equal(marks.count, 0);
    tl_spot_marks_free(&marks);
}

/* Half of the disc lies beyond the picture's edge: the spot in the other half is found, and the
 * edge is none. */
static void disc_cut_by_the_picture_is_searched(void **state) {
    (void)state;
    drawn_disc d = plain_disc();
    d.moon.r = 0;
    d.sun.x = 10;
    d.spot[0] = (drawn_spot){90.4, 300.2, 4, 1.7};
    d.spots = 1;
    tl_spot_marks marks = drawn_find(&d);
    assert_true(marks.searched);
    assert_int_equal(marks.count, 1);
    check_near(marks.mark[0].x_px, 90.4, 0.3);
    tl_spot_marks_free(&marks);
}

static void black_disc_is_not_searched(void **state) {
    (void)state;
    drawn_disc d = plain_disc();
    d.light = d.veil = d.noise = 0;
    tl_spot_marks marks = drawn_find(&d);
    assert_int_equal(marks.count, 0);
    tl_spot_marks_free(&marks);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(clean_discs_have_no_marks),
        cmocka_unit_test(circles_a_little_off_breed_none),
        cmocka_unit_test(clouds_gradients_lines_and_blocks_are_no_spots),
        cmocka_unit_test(dead_and_hot_pixels_are_no_spots),
        cmocka_unit_test(ringing_is_no_spot),
        cmocka_unit_test(letters_are_no_spots),
        cmocka_unit_test(coarse_grain_is_no_spot),
        cmocka_unit_test(added_light_is_no_spot),
        cmocka_unit_test(bands_are_no_spots),
        cmocka_unit_test(burnt_out_discs_are_not_searched),
        cmocka_unit_test(without_a_sun_nothing_is_searched),
        cmocka_unit_test(odd_circles_do_no_harm),
        cmocka_unit_test(disc_cut_by_the_picture_is_searched),
        cmocka_unit_test(black_disc_is_not_searched),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
