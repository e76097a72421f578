/*
 * test_simulate_steps.c - the steps of the renderer that not every scene asks for, against closed
 * forms: trails, a lens that distorts, several Suns, the card, tone curve and sharpening, captions,
 * copies.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"
#include "simulate/simulate_internal.h"

#define SUN_X 91.37 /* nothing special about where the disc lies on the pixel grid */
#define SUN_Y 88.81
#define SUN_R 43.7

/* A share of the disc's light, as in test_simulate.c. */
static const double LIGHT_TOLERANCE = 1e-4;
/* px: bilinear interpolation keeps the first moment exactly; the rest is float's rounding. */
static const double CENTRE_PX = 1e-3;

static tl_simulate_settings plain(int width, int height) {
    tl_simulate_settings settings = tl_simulate_settings_default();
    settings.limb_darkening = false;
    settings.width = width;
    settings.height = height;
    settings.sun_r_px = SUN_R;
    settings.sun_x_px = SUN_X;
    settings.sun_y_px = SUN_Y;
    return settings;
}

/* A Sun without a Moon. */
static tl_simulate_place place_alone(const tl_simulate_settings *settings) {
    tl_simulate_place place = {.sun_x = SUN_X, .sun_y = SUN_Y, .sun_r = SUN_R, .exposure = 1.0};
    place.sky.east_sr = 5.0;
    place.sky.ratio = 1.0;
    place.sky.flattening = 1.0;
    tl_simulate_place_circles(settings, &place);
    return place;
}

typedef struct moments {
    double light, x, y, xx, xy, yy; /* light; its centre; central second moments */
} moments;

static moments moments_of(const tl_simulate_plane *plane) {
    moments m = {0};
    for (int pass = 0; pass < 2; pass++) {
        for (int j = 0; j < plane->height; j++) {
            for (int i = 0; i < plane->width; i++) {
                double v = (double)plane->v[j * plane->width + i];
                double x = plane->x0 + i, y = plane->y0 + j;
                if (pass == 0) {
                    m.light += v;
                    m.x += v * x;
                    m.y += v * y;
                } else {
                    m.xx += v * (x - m.x) * (x - m.x) / m.light;
                    m.xy += v * (x - m.x) * (y - m.y) / m.light;
                    m.yy += v * (y - m.y) * (y - m.y) / m.light;
                }
            }
        }
        if (pass == 0) {
            m.x /= m.light;
            m.y /= m.light;
        }
    }
    return m;
}

static void draw(const tl_simulate_settings *settings, const tl_simulate_place *place, int margin,
                 tl_simulate_plane plane[3]) {
    static const tl_simulate_spots none = {.count = 0};
    assert_int_equal(tl_simulate_disc_draw(settings, place, &none, margin, plane), TL_OK);
}

static void free_planes(tl_simulate_plane plane[3]) {
    for (int c = 0; c < 3; c++)
        tl_simulate_plane_free(&plane[c]);
}

/* Convolution adds second moments: those of a uniform segment of length L at angle a are L^2/12
 * times cos^2, sin cos, sin^2; light and its centre stay. */
static void trail_adds_the_moments_of_a_segment(void **state) {
    (void)state;
    const double length = 31.0, a = 0.6;
    /* Bilinear interpolation widens by at most 1/4 px^2 in each axis (f (1 - f), f = 1/2). */
    const double WIDENING_PX2 = 0.25;
    tl_simulate_settings settings = plain(200, 180);
    tl_simulate_place place = place_alone(&settings);
    tl_simulate_plane plane[3];
    draw(&settings, &place, 20, plane);
    moments before = moments_of(&plane[0]);
    assert_int_equal(tl_simulate_plane_trail(length, a, &plane[0]), TL_OK);
    moments after = moments_of(&plane[0]);
    double unit = length * length / 12.0;
    check_near(after.light / before.light, 1.0, 1e-5);
    check_near(after.x, before.x, CENTRE_PX);
    check_near(after.y, before.y, CENTRE_PX);
    check_near(after.xx - before.xx, unit * cos(a) * cos(a), WIDENING_PX2);
    check_near(after.yy - before.yy, unit * sin(a) * sin(a), WIDENING_PX2);
    check_near(after.xy - before.xy, unit * sin(a) * cos(a), 0.01);
    free_planes(plane);
}

/* A point 1 solar radius from the picture's middle moves out by the share; back again. */
static void distortion_moves_a_point_by_its_share(void **state) {
    (void)state;
    tl_simulate_settings settings = plain(200, 180);
    settings.distortion = (tl_simulate_distortion){true, 0.013};
    tl_simulate_place place = place_alone(&settings);
    double x = 0.5 * 199 + SUN_R * cos(0.3), y = 0.5 * 179 + SUN_R * sin(0.3), x0 = x, y0 = y;
    tl_simulate_distort(&place, &x, &y);
    check_near(x - 0.5 * 199, 1.013 * SUN_R * cos(0.3), 1e-9);
    check_near(y - 0.5 * 179, 1.013 * SUN_R * sin(0.3), 1e-9);
    tl_simulate_undistort(&place, &x, &y);
    check_near(x, x0, 1e-9);
    check_near(y, y0, 1e-9);
    x = 0.5 * 199; /* the middle stays */
    y = 0.5 * 179;
    tl_simulate_undistort(&place, &x, &y);
    check_near(x, 0.5 * 199, 0.0);
    check_near(y, 0.5 * 179, 0.0);
}

/*
 * A disc of radius R at d from the middle under q -> q (1 + k q^2). Its area is the integral of the
 * Jacobian (1 + k q^2) (1 + 3 k q^2): pi R^2 (1 + 4 k <q^2> + 3 k^2 <q^4>) with <q^2> = d^2 + R^2/2
 * and <q^4> = d^4 + 2 d^2 R^2 + R^4/3. The limb moves along its normal by k q^2 (q . n), whose mean
 * is k R (R^2 + 2 d^2) and whose first harmonic, towards d, k d (d^2 + 3 R^2), to first order.
 */
static void distorted_disc_has_area_and_circle_of_the_map(void **state) {
    (void)state;
    static const double share[] = {0.012, -0.008};
    for (size_t i = 0; i < sizeof share / sizeof share[0]; i++) {
        tl_simulate_settings settings = plain(200, 230);
        settings.distortion = (tl_simulate_distortion){true, share[i]};
        tl_simulate_place place = place_alone(&settings);
        double k = share[i] / (SUN_R * SUN_R), r2 = SUN_R * SUN_R;
        double dx = SUN_X - 0.5 * 199, dy = SUN_Y - 0.5 * 229, d2 = dx * dx + dy * dy;
        double q2 = d2 + r2 / 2, q4 = d2 * d2 + 2 * d2 * r2 + r2 * r2 / 3;
        tl_simulate_plane plane[3];
        draw(&settings, &place, 2, plane);
        check_near(moments_of(&plane[0]).light / (TL_PI * r2), 1 + 4 * k * q2 + 3 * k * k * q4,
                   LIGHT_TOLERANCE);
        free_planes(plane);
        double circle[6], second_order = 3 * k * k * r2 * r2 * SUN_R;
        tl_simulate_place_seen(&settings, &place, circle);
        check_near(circle[0], SUN_X + k * dx * (d2 + 3 * r2), second_order);
        check_near(circle[1], SUN_Y + k * dy * (d2 + 3 * r2), second_order);
        check_near(circle[2], SUN_R + k * SUN_R * (r2 + 2 * d2), second_order);
    }
}

/* Air and lens together: what distorts nothing leaves an oval's circle as it is. */
static void seen_circle_of_a_true_lens_is_the_drawn_one(void **state) {
    (void)state;
    tl_simulate_settings settings = plain(200, 180);
    settings.tilt = (tl_simulate_tilt){true, 0.9, 20};
    tl_simulate_place place = place_alone(&settings);
    place.distortion_px2 = 1e-300; /* not quite off */
    double circle[6];
    tl_simulate_place_seen(&settings, &place, circle);
    check_near(circle[0], SUN_X, 1e-9);
    check_near(circle[1], SUN_Y, 1e-9);
    check_near(circle[2], SUN_R, 1e-9);
    check_near(circle[3], place.moon_x, 1e-9);
}

/* Two uniform discs, the second with a share of 0.4 and shifted: light pi r^2 (1 + 0.4), centre
 * 0.4 / 1.4 of the shift away. */
static void more_suns_add_their_light(void **state) {
    (void)state;
    tl_simulate_frame frame = {.settings = plain(200, 180)};
    frame.settings.sun_count = 1;
    frame.settings.sun[0] =
        (tl_simulate_sun){.x_sr = 2.5, .y_sr = -1.0, .seconds = 0, .share = 0.4};
    tl_simulate_scene scene = {.frame = &frame, .frame_count = 1};
    scene.sky = tl_sky_options_default();
    scene.site = (tl_site){TL_SITE_GIVEN, 0.5, 0.5, 0.0};
    tl_simulate_place place = place_alone(&frame.settings);
    /* 2026-02-01, no eclipse: the Moon is nowhere near */
    place.t_utc_s = 1769904000.0;
    assert_int_equal(tl_sky_at(&scene.site, place.t_utc_s, &scene.sky, &place.sky), TL_OK);
    frame.settings.refraction = false;
    tl_simulate_place_circles(&frame.settings, &place);
    tl_simulate_plane plane[3] = {0};
    assert_int_equal(tl_simulate_suns_draw(&scene, 0, &place.sky, &place, plane), TL_OK);
    moments m = moments_of(&plane[1]);
    check_near(m.light / (TL_PI * SUN_R * SUN_R), 1.4, 1.4 * LIGHT_TOLERANCE);
    check_near(m.x, SUN_X + 2.5 * SUN_R * 0.4 / 1.4, 2 * CENTRE_PX);
    check_near(m.y, SUN_Y - 1.0 * SUN_R * 0.4 / 1.4, 2 * CENTRE_PX);
    free_planes(plane);
}

/* Paper: mean 1, rms the grain asked for; 40,000 grains of 1 px^2 give either to half a percent. */
static void paper_has_the_grain_asked_for(void **state) {
    (void)state;
    tl_simulate_frame frame = {.settings = plain(200, 200)};
    frame.settings.card = (tl_simulate_card){.on = true, .grain = 0.08};
    tl_simulate_scene scene = {.frame = &frame, .frame_count = 1, .seed = 3};
    tl_simulate_place place = place_alone(&frame.settings);
    tl_simulate_plane paper;
    assert_int_equal(tl_simulate_paper_make(&scene, 0, &place, &paper), TL_OK);
    double sum = 0, sum2 = 0, n = 200.0 * 200.0;
    for (int i = 0; i < 200 * 200; i++) {
        sum += (double)paper.v[i];
        sum2 += (double)paper.v[i] * (double)paper.v[i];
    }
    check_near(sum / n, 1.0, 4 * 0.08 / sqrt(n));
    check_near(sqrt(sum2 / n - sum * sum / n / n) / 0.08, 1.0, 4 / sqrt(2 * n));
    tl_simulate_plane_free(&paper);
}

/* A shadow with an edge across the Sun's centre leaves half there, all before it, and 1 - depth
 * beyond; a rod only under itself. A card 2 by 4 solar radii, turned by 90 degrees. */
static void shadows_and_card_lie_where_asked(void **state) {
    (void)state;
    tl_simulate_settings settings = plain(400, 400);
    tl_simulate_place place = place_alone(&settings);
    settings.shadow_count = 2;
    settings.shadow[0] = (tl_simulate_shadow){
        .direction_deg = 90, .soft_sr = 0.2, .depth = 0.6, .over = TL_SHADED_BACKGROUND};
    settings.shadow[1] = (tl_simulate_shadow){
        .x_sr = 1, .width_sr = 0.4, .soft_sr = 0.1, .depth = 0.3, .over = TL_SHADED_ALL};
    tl_simulate_lit lit = tl_simulate_lit_at(&settings, &place, SUN_X, SUN_Y);
    check_near(lit.background, 1 - 0.6 / 2, 1e-12);
    check_near(lit.all, 1, 1e-12);
    check_near(tl_simulate_lit_at(&settings, &place, SUN_X, SUN_Y - SUN_R).background, 1, 1e-12);
    check_near(tl_simulate_lit_at(&settings, &place, SUN_X, SUN_Y + SUN_R).background, 0.4, 1e-12);
    check_near(tl_simulate_lit_at(&settings, &place, SUN_X + SUN_R, SUN_Y).all, 0.7, 1e-12);
    check_near(tl_simulate_lit_at(&settings, &place, SUN_X + 1.3 * SUN_R, SUN_Y).all, 1, 1e-12);
    settings.card = (tl_simulate_card){.on = true, .width_sr = 2, .height_sr = 4, .turn_deg = 90};
    check_near(tl_simulate_lit_at(&settings, &place, SUN_X + 1.9 * SUN_R, SUN_Y).card_share, 1, 0);
    check_near(tl_simulate_lit_at(&settings, &place, SUN_X + 2 * SUN_R, SUN_Y).card_share, 0.5,
               1e-9);
    check_near(tl_simulate_lit_at(&settings, &place, SUN_X, SUN_Y + 0.95 * SUN_R).card_share, 1, 0);
    check_near(tl_simulate_lit_at(&settings, &place, SUN_X, SUN_Y + 1.1 * SUN_R).card_share, 0, 0);
}

/* Background alone: full in the middle, less the amount in the corner. The Sun of a frame of ghosts
 * is not there itself. */
static void corners_lose_light_and_ghosts_stand_alone(void **state) {
    (void)state;
    enum { W = 41, H = 31 };
    tl_simulate_settings settings = plain(W, H);
    settings.subject = TL_SUBJECT_GHOSTS;
    settings.vignette = (tl_simulate_vignette){true, 0.4};
    for (int c = 0; c < 3; c++)
        settings.background[c] = 0.5;
    tl_simulate_place place = place_alone(&settings);
    place.sun_x = 20;
    place.sun_y = 15;
    const tl_simulate_air air = {.clear = {.v = NULL}};
    tl_simulate_plane disc[3], picture;
    draw(&settings, &place, 2, disc);
    assert_int_equal(tl_simulate_compose(&settings, &place, &air, &disc[0], 0, &picture), TL_OK);
    check_near((double)picture.v[15 * W + 20], 0.5, 1e-6);
    check_near((double)picture.v[0], 0.5 * (1 - 0.4), 1e-6);
    tl_simulate_plane_free(&picture);
    settings.subject = TL_SUBJECT_SUN;
    assert_int_equal(tl_simulate_compose(&settings, &place, &air, &disc[0], 0, &picture), TL_OK);
    check_near((double)picture.v[15 * W + 20], 0.5 + 1.0, 1e-6);
    tl_simulate_plane_free(&picture);
    free_planes(disc);
}

/* The curves as docs/scene.md gives them, worked out by hand for some levels. Light 0.21404 is
 * coded 0.5 (IEC 61966-2-1), which the contrast curve leaves; 0.05088 is coded 0.25 and goes to
 * 0.25 + 0.4 (0.15625 - 0.25) = 0.2125. */
static void tone_follows_its_curves(void **state) {
    (void)state;
    static const struct {
        float light;
        double knee, contrast, gamma;
        double code; /* of 255 */
    } row[] = {
        {0.21404f, 1, 0.4, 1, 127.5}, {0.05088f, 1, 0.4, 1, 255 * 0.2125},
        {0.21404f, 1, 0, 1.5, 90.16}, /* 255 * 0.5^1.5 */
        {0.5f, 0.6, 0, 1, 187.52},    /* below the knee: the sRGB curve alone */
        {1.0f, 0.6, 0, 1, 237.74},    /* 1 - 0.4 / e = 0.85285 */
        {9.0f, 1, 0.4, 1, 255},
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        float v = row[i].light;
        tl_simulate_plane plane = {.width = 1, .height = 1, .v = &v};
        unsigned char rgb[3] = {7, 7, 7};
        tl_simulate_settings settings = tl_simulate_settings_default();
        settings.tone = (tl_simulate_tone){true, row[i].knee, row[i].contrast, row[i].gamma};
        assert_int_equal(tl_simulate_develop(&settings, 1, &plane, rgb), TL_OK);
        check_near(rgb[1], row[i].code, 0.51); /* rounding to 8 bits */
        assert_int_equal(rgb[0], 7);
    }
}

/* An edge that is a Gaussian of sigma b, 2 b after a mask of radius r = sqrt(3) b, becomes
 * (1 + a) E(x / b) - a E(x / 2b), E the normal distribution function. In coded values. */
static void sharpening_overshoots_as_it_must(void **state) {
    (void)state;
    enum { N = 81 };
    const double b = 2.0, a = 0.8;
    float v[N * N];
    unsigned char rgb[3 * N * N];
    for (int y = 0; y < N; y++) {
        for (int x = 0; x < N; x++) {
            double code = 0.3 + 0.4 * 0.5 * erfc(-(x - 40) / b / sqrt(2.0));
            v[y * N + x] = (float)pow((code + 0.055) / 1.055, 2.4); /* IEC 61966-2-1 undone */
        }
    }
    tl_simulate_plane plane = {.width = N, .height = N, .v = v};
    tl_simulate_settings settings = tl_simulate_settings_default();
    settings.sharpen = (tl_simulate_sharpen){true, a, sqrt(3.0) * b};
    assert_int_equal(tl_simulate_develop(&settings, 0, &plane, rgb), TL_OK);
    for (int x = 20; x <= 60; x += 4) {
        double sharp = 0.5 * erfc(-(x - 40) / b / sqrt(2.0));
        double soft = 0.5 * erfc(-(x - 40) / (2 * b) / sqrt(2.0));
        double code = 0.3 + 0.4 * ((1 + a) * sharp - a * soft);
        check_near(rgb[3 * (40 * N + x)], 255 * code, 0.55); /* rounding to 8 bits */
    }
}

/* White border, red arrow along a row, and words: there in their colour, the rest untouched. */
static void captions_lie_over_the_picture(void **state) {
    (void)state;
    enum { W = 300, H = 200 };
    tl_simulate_settings settings = plain(W, H);
    tl_simulate_place place = place_alone(&settings);
    place.sun_x = 100;
    place.sun_y = 100;
    place.sun_r = 50;
    settings.border = (tl_simulate_border){true, 6, {1, 1, 1}};
    settings.arrow_count = 1;
    settings.arrow[0] = (tl_simulate_arrow){2.5, 0.5, 1.5, 0.5, 0.08, {1, 0, 0}};
    settings.caption_count = 1;
    settings.caption[0] = (tl_simulate_caption){"IIIII", 1.2, -0.6, 0.6, {0, 1, 0}};
    unsigned char *rgb = malloc(3 * W * H);
    assert_non_null(rgb);
    memset(rgb, 10, 3 * W * H);
    assert_int_equal(tl_simulate_captions_draw(&settings, &place, rgb), TL_OK);
    size_t changed = 0, green = 0;
    for (int y = 6; y < H - 6; y++)
        for (int x = 6; x < W - 6; x++) {
            const unsigned char *p = rgb + 3 * (y * W + x);
            bool other = p[0] != 10 || p[1] != 10 || p[2] != 10;
            changed += other;
            green += p[1] > 200;
            bool may = (y > 105 && y < 145 && x > 170 && x < 230) ||
                       (y > 35 && y < 75 && x > 155 && x < 280);
            assert_true(may || !other);
        }
    static const int white[][2] = {{0, 0}, {5, 100}, {W - 1, H - 1}, {150, H - 6}};
    for (size_t i = 0; i < sizeof white / sizeof white[0]; i++)
        assert_int_equal(rgb[3 * (white[i][1] * W + white[i][0])], 255);
    const unsigned char *shaft = rgb + 3 * (125 * W + 205);
    assert_int_equal(shaft[0], 255);
    assert_int_equal(shaft[1], 0);
    assert_true(changed > 300 && green > 100);
    free(rgb);
}

/* A picture with an edge in it, reduced to 2/3: cells of 1.5 px average 0 and 200 to 2/3 (or 1/3)
 * of 200 where the edge falls inside. Quality 100 keeps flat blocks, so the bars are 12 px wide. */
static void copies_average_areas(void **state) {
    (void)state;
    enum { W = 96, H = 48 };
    unsigned char rgb[3 * W * H];
    for (int y = 0; y < H; y++)
        for (int x = 0; x < W; x++)
            memset(rgb + 3 * (y * W + x), x < 40 ? 0 : 200, 3);
    tl_simulate_settings settings = plain(W, H);
    settings.quality = 100;
    settings.copy = (tl_simulate_copy){true, 64, 100};
    check_near(tl_simulate_copy_scale(&settings), 2.0 / 3, 1e-12);
    unsigned char *jpeg = NULL, *small = NULL;
    size_t size = 0;
    int w = 0, h = 0;
    assert_int_equal(tl_simulate_copy_make(&settings, rgb, &jpeg, &size), TL_OK);
    assert_int_equal(tl_simulate_jpeg_decode(jpeg, size, &small, &w, &h), TL_OK);
    assert_int_equal(w, 64);
    assert_int_equal(h, 32);
    /* new pixel 26 covers old 39.0 to 40.5: a third of it lies beyond 40 */
    check_near(small[3 * (16 * 64 + 25)], 0, 3);
    check_near(small[3 * (16 * 64 + 26)], 200.0 / 3, 3);
    check_near(small[3 * (16 * 64 + 27)], 200, 3);
    free(jpeg);
    free(small);
    settings.copy.long_side_px = 200; /* never made larger */
    check_near(tl_simulate_copy_scale(&settings), 1, 0);
}

/* Stripes of red and blue a pixel wide: at half the resolution of colour their means are left. */
static void jpeg_keeps_colour_as_asked(void **state) {
    (void)state;
    enum { W = 32, H = 32 };
    unsigned char rgb[3 * W * H], *jpeg, *back;
    for (int i = 0; i < W * H; i++) {
        const unsigned char red[3] = {220, 0, 0}, blue[3] = {0, 0, 220};
        memcpy(rgb + 3 * i, i % 2 ? red : blue, 3);
    }
    for (int chroma = TL_CHROMA_HALF; chroma <= TL_CHROMA_FULL; chroma++) {
        size_t size;
        int w, h;
        assert_int_equal(
            tl_simulate_jpeg(rgb, W, H, 100, (tl_simulate_chroma)chroma, NULL, 0, &jpeg, &size),
            TL_OK);
        assert_int_equal(tl_simulate_jpeg_decode(jpeg, size, &back, &w, &h), TL_OK);
        int contrast = back[3 * (16 * W + 17)] - back[3 * (16 * W + 16)]; /* in red: 220 */
        if (chroma == TL_CHROMA_FULL)
            assert_true(contrast > 210);
        else
            assert_true(contrast < 110); /* of luminance alone: 0.299 - 0.114 of 220 */
        free(jpeg);
        free(back);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(trail_adds_the_moments_of_a_segment),
        cmocka_unit_test(distortion_moves_a_point_by_its_share),
        cmocka_unit_test(distorted_disc_has_area_and_circle_of_the_map),
        cmocka_unit_test(seen_circle_of_a_true_lens_is_the_drawn_one),
        cmocka_unit_test(more_suns_add_their_light),
        cmocka_unit_test(paper_has_the_grain_asked_for),
        cmocka_unit_test(shadows_and_card_lie_where_asked),
        cmocka_unit_test(corners_lose_light_and_ghosts_stand_alone),
        cmocka_unit_test(tone_follows_its_curves),
        cmocka_unit_test(sharpening_overshoots_as_it_must),
        cmocka_unit_test(captions_lie_over_the_picture),
        cmocka_unit_test(copies_average_areas),
        cmocka_unit_test(jpeg_keeps_colour_as_asked),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
