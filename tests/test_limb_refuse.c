/* What the limb stage must refuse, and say why: a wrong circle is the worst defect there is. */
#include "drawn_sun.h"

static void expect_refused(const tl_image *image, tl_limb_status expected) {
    tl_limb limb = {0};
    assert_int_equal(tl_limb_find(image, NULL, &limb), TL_OK);
    assert_int_equal(limb.status, expected);
    assert_true(strlen(limb.reason) > 10);
    tl_limb_free(&limb);
}

/* Refused, for the reason that holds this word. */
static void expect_reason(const tl_image *image, const char *word) {
    tl_limb limb = {0};
    assert_int_equal(tl_limb_find(image, NULL, &limb), TL_OK);
    if (limb.status == TL_LIMB_MEASURED || strstr(limb.reason, word) == NULL)
        fail_msg("%s: \"%s\", expected \"%s\"", tl_limb_status_name(limb.status), limb.reason,
                 word);
    tl_limb_free(&limb);
}

static void empty_and_noisy_pictures_have_no_sun(void **state) {
    (void)state;
    scene s = partial_scene();
    s.sun.r = s.moon.r = 0;
    s.noise = 0;
    tl_image black = draw(&s);
    memset(black.sample, 0, (size_t)s.width * (size_t)s.height * sizeof *black.sample);
    expect_refused(&black, TL_LIMB_NO_SUN);
    tl_image_free(&black);
    s.noise = 0.05;
    s.sky[0] = 0.2;
    tl_image noise = draw(&s);
    expect_refused(&noise, TL_LIMB_NO_SUN);
    tl_image_free(&noise);
}

static void square_card_is_no_sun(void **state) {
    (void)state;
    scene s = partial_scene();
    s.sun.r = s.moon.r = 0;
    tl_image image = draw(&s);
    for (int y = 100; y < 300; y++)
        for (int x = 150; x < 350; x++)
            image.sample[y * s.width + x] = 40000;
    expect_refused(&image, TL_LIMB_NO_SUN);
    tl_image_free(&image);
}

/* Total phase: a sharp dark disc in light that fades outwards as the corona does. */
static void total_phase_is_refused(void **state) {
    (void)state;
    scene s = partial_scene();
    s.sun.r = s.moon.r = 0;
    tl_image image = draw(&s);
    for (int y = 0; y < s.height; y++) {
        for (int x = 0; x < s.width; x++) {
            double r = hypot(x - 250, y - 200) / 80;
            double v = r < 1 ? 0.005 : 0.8 * pow(r, -4) + 0.005;
            v *= r < 1 ? 1 : edge(80 * (r - 1), 1);
            image.sample[y * s.width + x] = (uint16_t)(65535 * v);
        }
    }
    tl_limb limb = {0};
    assert_int_equal(tl_limb_find(&image, NULL, &limb), TL_OK);
    assert_int_equal(limb.status, TL_LIMB_UNUSABLE);
    assert_non_null(strstr(limb.reason, "total phase"));
    tl_limb_free(&limb);
    tl_image_free(&image);
}

/* The light of two drawings on one frame, each with its weight. */
static tl_image blended(const scene *first, double weight, const scene *second,
                        double second_weight) {
    tl_image image = draw(first), other = draw(second);
    size_t samples = (size_t)image.width * (size_t)image.height * (size_t)image.channels;
    for (size_t i = 0; i < samples; i++)
        image.sample[i] =
            (uint16_t)fmin(65535, weight * image.sample[i] + second_weight * other.sample[i]);
    tl_image_free(&other);
    return image;
}

static void expect_blend_refused(const scene *first, double weight, const scene *second,
                                 double second_weight, const char *word) {
    tl_image image = blended(first, weight, second, second_weight);
    expect_reason(&image, word);
    tl_image_free(&image);
}

static void collage_is_refused(void **state) {
    (void)state;
    scene s = partial_scene();
    s.width = 900;
    scene other = s;
    other.sun.x += 400;
    other.moon.x += 400;
    expect_blend_refused(&s, 1, &other, 1, "several Suns");
}

static void blurred_blob_is_refused(void **state) {
    (void)state;
    scene s = partial_scene();
    s.blur_px = 25;
    tl_image image = draw(&s);
    tl_limb limb = {0};
    assert_int_equal(tl_limb_find(&image, NULL, &limb), TL_OK);
    assert_true(limb.status == TL_LIMB_UNUSABLE || limb.status == TL_LIMB_NO_SUN);
    tl_limb_free(&limb);
    tl_image_free(&image);
}

/* Two exposures on one frame, the telescope moved in between by 0.15 solar radii. */
static void double_exposure_is_refused(void **state) {
    (void)state;
    scene s = partial_scene(), moved = s;
    moved.sun.x += 18;
    moved.moon.x += 18;
    expect_blend_refused(&s, 0.5, &moved, 0.5, "second outline");
}

/* The Moon has moved between two exposures, the Sun has not. */
static void double_exposure_of_the_moon_is_refused(void **state) {
    (void)state;
    scene s = partial_scene(), moved = s;
    moved.moon.x += 18;
    expect_blend_refused(&s, 0.5, &moved, 0.5, "second outline");
}

/* A Sun of another phase beside it, as collages have. */
static void collage_of_two_phases_is_refused(void **state) {
    (void)state;
    scene s = partial_scene();
    s.width = 900;
    scene other = s;
    other.sun.x += 400;
    other.moon.x += 400 + 100; /* a small bite only */
    expect_blend_refused(&s, 1, &other, 1, "several Suns");
}

/* A soft round cloud edge of the Moon's size before a sharp Sun: one picture has one blur. */
static void soft_edge_is_not_the_moon(void **state) {
    (void)state;
    const double CLOUD_BLUR_PX = 7;
    scene s = partial_scene();
    tl_image image = draw(&s);
    for (int y = 0; y < s.height; y++) {
        for (int x = 0; x < s.width; x++) {
            /* the lunar edge, drawn sharp, is made as soft as a cloud's */
            double from_sun = hypot(x - s.sun.x, y - s.sun.y) - s.sun.r;
            size_t i = (size_t)y * (size_t)s.width + (size_t)x;
            double lunar = edge(hypot(x - s.moon.x, y - s.moon.y) - s.moon.r, s.blur_px);
            double dull = edge(hypot(x - s.moon.x, y - s.moon.y) - s.moon.r, CLOUD_BLUR_PX);
            if (lunar > 0.02 && from_sun < 12)
                image.sample[i] = (uint16_t)fmin(65535, image.sample[i] * dull / lunar);
        }
    }
    tl_limb limb = {0};
    assert_int_equal(tl_limb_find(&image, NULL, &limb), TL_OK);
    assert_int_not_equal(limb.status, TL_LIMB_MEASURED);
    tl_limb_free(&limb);
    tl_image_free(&image);
}

/* The bright rim of an eyepiece about a dark field: thinner than any annular eclipse allows. */
static void rim_of_an_eyepiece_is_no_annular_eclipse(void **state) {
    (void)state;
    scene s = partial_scene();
    s.sun = (tl_circle){250, 200, 150};
    s.moon = (tl_circle){250, 200, 147};
    s.blur_px = 1;
    tl_image image = draw(&s);
    expect_reason(&image, "ring of light");
    tl_image_free(&image);
}

/* An annular eclipse is none of these: the Moon the smaller disc, both edges sharp. */
static void annular_eclipse_is_measured(void **state) {
    (void)state;
    scene s = partial_scene();
    s.sun = (tl_circle){250.2, 199.7, 120};
    s.moon = (tl_circle){252.4, 200.9, 113};
    tl_limb limb = find(&s, NULL);
    assert_int_equal(limb.status, TL_LIMB_MEASURED);
    check_near(limb.separation_sr, hypot(2.2, 1.2) / 120, 2e-3);
    tl_limb_free(&limb);
}

/* Pictures thinner than a pixel of the reduced one, or one pixel large. */
static void absurdly_small_pictures_have_no_sun(void **state) {
    (void)state;
    static uint16_t sample[2000];
    for (size_t i = 0; i < 2000; i++)
        sample[i] = 60000;
    expect_refused(&(tl_image){.width = 1, .height = 1, .channels = 1, .sample = sample},
                   TL_LIMB_NO_SUN);
    expect_refused(&(tl_image){.width = 2000, .height = 1, .channels = 1, .sample = sample},
                   TL_LIMB_NO_SUN);
    expect_refused(&(tl_image){.width = 1, .height = 2000, .channels = 1, .sample = sample},
                   TL_LIMB_NO_SUN);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(empty_and_noisy_pictures_have_no_sun),
        cmocka_unit_test(square_card_is_no_sun),
        cmocka_unit_test(total_phase_is_refused),
        cmocka_unit_test(collage_is_refused),
        cmocka_unit_test(blurred_blob_is_refused),
        cmocka_unit_test(double_exposure_is_refused),
        cmocka_unit_test(double_exposure_of_the_moon_is_refused),
        cmocka_unit_test(collage_of_two_phases_is_refused),
        cmocka_unit_test(soft_edge_is_not_the_moon),
        cmocka_unit_test(rim_of_an_eyepiece_is_no_annular_eclipse),
        cmocka_unit_test(annular_eclipse_is_measured),
        cmocka_unit_test(absurdly_small_pictures_have_no_sun),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
