/*
 * The animations of an invented series: how many pictures for how long, where Sun and Moon stand in
 * them, and what there is when things are missing.
 *
 * The pictures are drawn here: white discs of the circles' place and size, black Moons.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/film_internal.h"
#include "test_report_gif_read.h"
#include "test_report_series.h"

enum { WIDTH = 1600, HEIGHT = 1200, BRIGHT = 45000, CUT = 480, PREVIEW = 480 };

static double middle_of(int side) {
    return 0.5 * (side - 1);
}

static double px_per_sr(int side) {
    return side / (2.0 * TL_REPORT_FILM_REACH);
}

static void take_picture(tl_sequence_frame *frame, bool noise) {
    const double *c = frame->limb.circle;
    tl_image image = {.width = WIDTH,
                      .height = HEIGHT,
                      .channels = 3,
                      .sample = calloc((size_t)WIDTH * HEIGHT * 3, sizeof(uint16_t))};
    assert_non_null(image.sample);
    unsigned random = 12345;
    for (int y = 0; y < HEIGHT; y++)
        for (int x = 0; x < WIDTH; x++) {
            const bool sun = hypot(x - c[TL_SUN_X], y - c[TL_SUN_Y]) < c[TL_SUN_R];
            const bool moon = hypot(x - c[TL_MOON_X], y - c[TL_MOON_Y]) < c[TL_MOON_R];
            random = random * 1664525u + 1013904223u; /* Knuth, TAOCP 2, 3.3.4 */
            for (int k = 0; k < 3 && (noise || (sun && !moon)); k++)
                image.sample[3 * (y * WIDTH + x) + k] = noise ? (uint16_t)(random >> 16) : BRIGHT;
        }
    tl_preview_free(&frame->preview);
    assert_int_equal(tl_preview_make(&image, c[TL_SUN_X] - CUT, c[TL_SUN_Y] - CUT,
                                     c[TL_SUN_X] + CUT, c[TL_SUN_Y] + CUT, PREVIEW,
                                     &frame->preview),
                     TL_OK);
    free(image.sample);
}

static void take_pictures(tl_sequence *s) {
    for (size_t i = 0; i < s->count; i++)
        if (s->frame[i].limb.circle[TL_SUN_R] > 0.0)
            take_picture(&s->frame[i], false);
}

/* An animation read back. */
typedef struct film {
    tl_report_text bytes;
    gif_source from;
    GifFileType *gif; /* NULL: there is none */
    unsigned char *rgb;
    int shown; /* frames put into rgb */
} film;

typedef enum { NORTH, ZENITH, SMOOTH } kind;

static film play(const tl_sequence *s, kind which) {
    tl_report_source source;
    film f = {0};
    assert_int_equal(tl_report_source_make(s, &source), TL_OK);
    assert_int_equal(
        which == SMOOTH
            ? tl_report_smooth(&source, &f.bytes)
            : tl_report_moving(&source, which == ZENITH ? TL_REPORT_ZENITH_UP : TL_REPORT_NORTH_UP,
                               &f.bytes),
        TL_OK);
    tl_report_source_free(&source);
    return f;
}

static void look(film *f) {
    f->gif = gif_read(&f->from, &f->bytes);
    f->rgb = calloc((size_t)f->gif->SWidth * (size_t)f->gif->SHeight, 3);
    assert_non_null(f->rgb);
}

static void show(film *f, int k) {
    while (f->shown <= k)
        gif_compose(f->gif, f->shown++, f->rgb);
}

static void stop(film *f) {
    if (f->gif)
        gif_close(f->gif);
    free(f->rgb);
    tl_report_text_free(&f->bytes);
}

static bool bright(const film *f, int u, int v) {
    return f->rgb[3 * (v * f->gif->SWidth + u)] >
           168; /* half the light of the even Suns, which is 0.78 */
}

/* The part of the Sun's disc that is seen, and the farthest of it from the middle, px. */
static double seen_share(const film *f, double *farthest) {
    const int side = f->gif->SWidth;
    const double middle = middle_of(side);
    int count = 0;
    *farthest = 0.0;
    for (int v = 0; v < side; v++)
        for (int u = 0; u < side; u++)
            if (bright(f, u, v)) {
                count++;
                *farthest = fmax(*farthest, hypot(u - middle, v - middle));
            }
    return count / (TL_PI * px_per_sr(side) * px_per_sr(side));
}

/* Whether the Moon's edge that lies on the Sun is at this separation, towards (x, y), to a
 * hundredth of a solar radius. */
static void assert_moon(const film *f, double separation, double ratio, double x, double y) {
    const int side = f->gif->SWidth;
    const double edge = (separation - ratio) * px_per_sr(side), length = hypot(x, y);
    const double step = 0.01 * px_per_sr(side), middle = middle_of(side);
    for (int way = -1; way <= 1; way += 2) {
        const double r = edge + way * step;
        assert_int_equal(
            bright(f, (int)lround(middle + r * x / length), (int)lround(middle + r * y / length)),
            way < 0);
    }
}

/* Those measured and a whole Sun; not the cloud, the broken one, nor the one left out of the fit.
 */
enum { SHOWN = 9, DEEPEST = 5 }; /* 09:05:00, 250 s from maximum; the next one 410 s */
static const size_t shown[SHOWN] = {0, 1, 2, 3, 4, 5, 6, 8, SERIES_SUN_ONLY};

static void assert_registered(kind which) {
    tl_sequence s = series_solved();
    take_pictures(&s);
    film f = play(&s, which);
    look(&f);
    assert_int_equal(f.gif->ImageCount, SHOWN);
    assert_int_equal(f.gif->SWidth, 720);
    assert_true(f.gif->SHeight > 720 && f.gif->SHeight < 900);
    assert_true(f.bytes.length < TL_REPORT_FILM_BYTES);
    for (int k = 0; k < SHOWN; k++) {
        const tl_limb *limb = &s.frame[shown[k]].limb;
        const tl_sky *sky = &s.track.frame[shown[k]].sky;
        double x, y, farthest;
        show(&f, k);
        const double share = seen_share(&f, &farthest);
        assert_close(farthest, px_per_sr(720), 1.0); /* px: no disc is off the middle */
        if (limb->status == TL_LIMB_SUN_ONLY) {
            assert_true(share > 0.99);
            continue;
        }
        /* 0.5 %: half a pixel along some 4 radii of 313 px */
        assert_close(share, 1.0 - tl_obscuration(limb->separation_sr, SERIES_RATIO), 5e-3);
        tl_frame_from_sky(which == ZENITH ? sky->parallactic_rad : 0.0, false, sin(sky->pa_rad),
                          cos(sky->pa_rad), &x, &y);
        assert_moon(&f, limb->separation_sr, SERIES_RATIO, x, y);
    }
    stop(&f);
    tl_sequence_free(&s);
}

static void photographs_stand_north_up(void **state) {
    (void)state;
    assert_registered(NORTH);
}

static void photographs_stand_zenith_up(void **state) {
    (void)state;
    assert_registered(ZENITH);
}

static void pace_is_even(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    take_pictures(&s);
    film f = play(&s, NORTH);
    look(&f);
    const int pace = gif_control(f.gif, 1).DelayTime;
    assert_in_range(pace, 40, 60);
    for (int k = 0; k < SHOWN; k++) {
        const int hold = gif_control(f.gif, k).DelayTime;
        if (k == 0 || k == DEEPEST || k == SHOWN - 1)
            assert_true(hold > 2 * pace);
        else
            assert_int_equal(hold, pace);
    }
    stop(&f);
    tl_sequence_free(&s);
}

/* 144 steps, and three frames for each photograph: coming, there, going. */
enum { STEPS = 144 };

static void moon_moves_evenly(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    const double from_s = SERIES_DAY_S + 28946.7, to_s = SERIES_DAY_S + 37155.6; /* C1, C4 */
    take_pictures(&s);
    film f = play(&s, SMOOTH);
    look(&f);
    assert_int_equal(f.gif->ImageCount, STEPS + 3 * SHOWN);
    assert_true(f.bytes.length < TL_REPORT_FILM_BYTES);
    int k = 0;
    size_t next = 0;
    for (int n = 0; n < STEPS; n++, k++) {
        const double t_s = from_s + (to_s - from_s) * n / (STEPS - 1);
        double farthest, before;
        tl_sky sky;
        for (; next < SHOWN && series_utc(shown[next]) < t_s; next++, k += 3) {
            show(&f, k); /* what is drawn and what was taken at one time lie on each other */
            assert_true(gif_control(f.gif, k + 1).DelayTime > gif_control(f.gif, k).DelayTime);
            before = seen_share(&f, &farthest);
            show(&f, k + 1);
            if (shown[next] != SERIES_SUN_ONLY)
                assert_close(seen_share(&f, &farthest), before, 0.01);
        }
        show(&f, k);
        assert_int_equal(tl_sky_at(&s.options.site, t_s, &s.options.sky, &sky), TL_OK);
        assert_close(seen_share(&f, &farthest), 1.0 - sky.obscuration, 5e-3);
        assert_close(farthest, px_per_sr(f.gif->SWidth), 1.0);
        if (sky.obscuration > 0.01)
            assert_moon(&f, sky.separation_sr, sky.ratio, -sky.east_sr, -sky.north_sr);
    }
    assert_int_equal(next, SHOWN);
    stop(&f);
    tl_sequence_free(&s);
}

/* Without an almanac: the fitted path from right to left below the Sun's centre, at the least
 * separation 0.6781, and the photographs turned to it. */
static void flat_path_takes_its_photographs(void **state) {
    (void)state;
    tl_sequence s = series_no_site();
    take_pictures(&s);
    film f = play(&s, SMOOTH);
    look(&f);
    /* the whole Sun lies within the contacts of these invented times as well */
    assert_int_equal(f.gif->ImageCount, STEPS + 3 * SHOWN);
    for (int k = 0, next = 0; k < f.gif->ImageCount; k++) {
        show(&f, k);
        if (k == 0 || gif_control(f.gif, k).DelayTime < 50 || next == SHOWN - 1)
            continue;
        const size_t i = shown[next++];
        const double separation = s.frame[i].limb.separation_sr;
        double modelled;
        assert_true(tl_track_free_separation(&s.track, s.frame[i].info.time.t_camera_s, &modelled));
        const double along = sqrt(fmax(modelled * modelled - 0.6781 * 0.6781, 0.0));
        const bool after = series_utc(i) > SERIES_DAY_S + 32950.0 - 3.1;
        assert_moon(&f, separation, SERIES_RATIO, after ? -along : along, 0.6781);
    }
    stop(&f);
    tl_sequence_free(&s);
}

static void assert_none(const tl_sequence *s, kind which) {
    film f = play(s, which);
    assert_int_equal(f.bytes.length, 0);
    stop(&f);
}

static void what_is_missing_is_not_made_up(void **state) {
    (void)state;
    tl_sequence nothing = series_nothing(), flat = series_no_site(), one = series_solved();
    for (int which = NORTH; which <= SMOOTH; which++)
        assert_none(&nothing, (kind)which);
    assert_none(&flat, ZENITH); /* nobody knows where it was */
    for (size_t i = 1; i < one.count; i++)
        tl_preview_free(&one.frame[i].preview);
    take_picture(&one.frame[0], false);
    assert_none(&one, NORTH);
    assert_none(&one, ZENITH);
    film f = play(&one, SMOOTH); /* a path, and one photograph on it */
    look(&f);
    assert_int_equal(f.gif->ImageCount, STEPS + 3);
    stop(&f);
    tl_sequence_free(&one);
    tl_sequence_free(&flat);
    tl_sequence_free(&nothing);
}

/* In the order of their names, turned as taken. */
static void photographs_without_times_play(void **state) {
    (void)state;
    tl_sequence s = series_no_site();
    take_pictures(&s);
    for (size_t i = 0; i < s.count; i++)
        s.frame[i].info.time = (tl_camera_time){0};
    film f = play(&s, NORTH);
    look(&f);
    assert_int_equal(f.gif->ImageCount, SHOWN);
    for (int k = 0; k < SHOWN - 1; k++) {
        const tl_limb *limb = &s.frame[shown[k]].limb;
        show(&f, k);
        assert_moon(&f, limb->separation_sr, SERIES_RATIO, limb->offset_x_sr, limb->offset_y_sr);
    }
    stop(&f);
    tl_sequence_free(&s);
}

/* A small picture that cannot be read leaves its frame black; the animation is there. */
static void broken_pictures_break_nothing(void **state) {
    (void)state;
    tl_sequence s = series_solved(); /* its small pictures hold no picture */
    double farthest;
    film f = play(&s, NORTH);
    look(&f);
    assert_int_equal(f.gif->ImageCount, SHOWN);
    show(&f, 0);
    assert_true(seen_share(&f, &farthest) <= 0.0);
    stop(&f);
    f = play(&s, SMOOTH);
    look(&f);
    show(&f, 0);
    /* the drawn Sun, its limb darker than half its light */
    assert_true(seen_share(&f, &farthest) > 0.95);
    stop(&f);
    tl_sequence_free(&s);
}

/* Forty pictures of grey noise, which nothing can press: smaller until they fit. */
static void noise_is_made_smaller(void **state) {
    (void)state;
    enum { MANY = 40 };
    tl_sequence s = series_solved();
    take_picture(&s.frame[0], true);
    tl_sequence many = s;
    many.count = many.track.frame_count = MANY;
    many.frame = calloc(MANY, sizeof *many.frame);
    many.track.frame = calloc(MANY, sizeof *many.track.frame);
    assert_true(many.frame && many.track.frame);
    for (size_t i = 0; i < MANY; i++) {
        many.frame[i] = s.frame[0];
        many.track.frame[i] = s.track.frame[0];
        many.track.frame[i].true_utc_s += 100.0 * (double)i;
        many.track.frame[i].up_pa_rad += 0.2 * (double)i; /* so that no two are alike */
    }
    for (int which = NORTH; which <= SMOOTH; which += SMOOTH) {
        film f = play(&many, (kind)which);
        look(&f);
        assert_true(f.bytes.length <= TL_REPORT_FILM_BYTES);
        assert_true(f.gif->SWidth < (which == SMOOTH ? 640 : 720));
        assert_true(f.gif->ImageCount >= MANY);
        stop(&f);
    }
    free(many.frame);
    free(many.track.frame);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(photographs_stand_north_up),
        cmocka_unit_test(photographs_stand_zenith_up),
        cmocka_unit_test(pace_is_even),
        cmocka_unit_test(moon_moves_evenly),
        cmocka_unit_test(flat_path_takes_its_photographs),
        cmocka_unit_test(what_is_missing_is_not_made_up),
        cmocka_unit_test(photographs_without_times_play),
        cmocka_unit_test(broken_pictures_break_nothing),
        cmocka_unit_test(noise_is_made_smaller),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
