/*
 * test_simulate.c - the renderer against closed forms: light and moments of the drawn discs, the
 * place of their edges, turn and mirror, limb darkening, spots, blur, noise, sRGB.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"
#include "simulate/simulate_internal.h"

/* Edges are to be true to 0.005 px; a disc of radius r then has its area true to 2 pi r times
 * that. The tests ask for five times better. */
static const double EDGE_TOLERANCE_PX = 0.001;
/* A share of the disc's light: edge tolerance over half the radius used here. */
static const double LIGHT_TOLERANCE = 1e-4;

#define SUN_X 61.37 /* nothing special about where the discs lie on the pixel grid */
#define SUN_Y 58.81
#define SUN_R 43.7

static tl_simulate_settings plain(void) {
    tl_simulate_settings settings = tl_simulate_settings_default();
    settings.limb_darkening = false;
    return settings;
}

/* A place with the Moon at (east, north) in solar radii, north up, zenith at `zenith_pa_deg`. */
static tl_simulate_place place_at(const tl_simulate_settings *settings, double east, double north,
                                  double ratio, double flattening, double zenith_pa_deg) {
    tl_simulate_place place = {.sun_x = SUN_X, .sun_y = SUN_Y, .sun_r = SUN_R};
    place.sky.east_sr = east;
    place.sky.north_sr = north;
    place.sky.ratio = ratio;
    place.sky.flattening = flattening;
    place.sky.parallactic_rad = zenith_pa_deg * TL_DEG;
    tl_simulate_place_circles(settings, &place);
    return place;
}

typedef struct moments {
    double light, x, y, xx, xy, yy; /* light and its moments about the Sun's centre */
    double wave[9];                 /* sums of light times Re, then Im, of (dx + i dy)^n */
    double wave_im[9];
} moments;

static moments moments_of(const tl_simulate_plane *plane) {
    moments m = {0};
    for (int j = 0; j < plane->height; j++) {
        for (int i = 0; i < plane->width; i++) {
            double v = (double)plane->v[j * plane->width + i];
            double dx = plane->x0 + i - SUN_X, dy = plane->y0 + j - SUN_Y, re = 1, im = 0;
            m.light += v;
            m.x += v * dx;
            m.y += v * dy;
            m.xx += v * (dx * dx - 1.0 / 12.0); /* means over pixels have its width added */
            m.yy += v * (dy * dy - 1.0 / 12.0);
            m.xy += v * dx * dy;
            for (int n = 1; n <= 8; n++) {
                double next = re * dx - im * dy;
                im = re * dy + im * dx;
                re = next;
                m.wave[n] += v * re;
                m.wave_im[n] += v * im;
            }
        }
    }
    return m;
}

static void draw(const tl_simulate_settings *settings, const tl_simulate_place *place,
                 const tl_simulate_spots *spots, tl_simulate_plane plane[3]) {
    static const tl_simulate_spots none = {.count = 0};
    assert_int_equal(tl_simulate_disc_draw(settings, place, spots ? spots : &none, 2, plane),
                     TL_OK);
}

static void free_planes(tl_simulate_plane plane[3]) {
    for (int c = 0; c < 3; c++)
        tl_simulate_plane_free(&plane[c]);
}

static moments drawn_moments(const tl_simulate_settings *settings, const tl_simulate_place *place) {
    tl_simulate_plane plane[3];
    draw(settings, place, NULL, plane);
    moments m = moments_of(&plane[0]);
    free_planes(plane);
    return m;
}

/* Area pi r^2, centre of light in the middle, second moments pi r^4 / 4: circle, closed forms. */
static void disc_has_the_area_and_the_moments_of_a_circle(void **state) {
    (void)state;
    tl_simulate_settings settings = plain();
    tl_simulate_place place = place_at(&settings, 5, 0, 1, 1, 0);
    moments m = drawn_moments(&settings, &place);
    double area = TL_PI * SUN_R * SUN_R;
    check_near(m.light / (2 * TL_PI * SUN_R), area / (2 * TL_PI * SUN_R), EDGE_TOLERANCE_PX);
    check_near(m.x / area, 0, EDGE_TOLERANCE_PX);
    check_near(m.y / area, 0, EDGE_TOLERANCE_PX);
    check_near(m.xx / (area * SUN_R * SUN_R / 4), 1, 2 * LIGHT_TOLERANCE);
    check_near(m.yy / (area * SUN_R * SUN_R / 4), 1, 2 * LIGHT_TOLERANCE);
    check_near(m.xy / (area * SUN_R * SUN_R / 4), 0, 2 * LIGHT_TOLERANCE);
}

/*
 * The limb has no waves: if the edge stands out by a cos(n theta), the light's moment with
 * Re z^n is pi r^(n+1) a (first order in a). A pixel's mean of a harmonic polynomial is its value
 * at the centre up to the fourth order, which for n = 4 and 8 leaves far less than the tolerance
 * at this radius.
 */
static void limb_has_no_waves_along_the_grid(void **state) {
    (void)state;
    tl_simulate_settings settings = plain();
    tl_simulate_place place = place_at(&settings, 5, 0, 1, 1, 0);
    moments m = drawn_moments(&settings, &place);
    for (int n = 1; n <= 8; n++) {
        double unit = TL_PI * pow(SUN_R, n + 1);
        check_near(m.wave[n] / unit, 0, EDGE_TOLERANCE_PX);
        check_near(m.wave_im[n] / unit, 0, EDGE_TOLERANCE_PX);
    }
}

/* Area of a circular segment of radius r beyond a chord at distance d, and the first moment of
 * its area about the circle's centre, 2/3 (r^2 - d^2)^(3/2): closed forms. */
static double segment_area(double r, double d) {
    return r * r * acos(d / r) - d * sqrt(r * r - d * d);
}

static double segment_moment(double r, double d) {
    return 2.0 / 3.0 * pow(r * r - d * d, 1.5);
}

/* The crescent: area against both the lens of two segments and tl_obscuration, centre of light
 * against the lens's moment. The Moon stands at PA 90 (east): LEFT when north is up. */
static void crescent_has_the_area_and_the_centre_of_two_circles(void **state) {
    (void)state;
    static const double separation[] = {0.12, 0.35, 0.8, 1.3, 1.9, 2.0};
    const double ratio = 1.04;
    tl_simulate_settings settings = plain();
    for (size_t i = 0; i < sizeof separation / sizeof separation[0]; i++) {
        double s = separation[i];
        tl_simulate_place place = place_at(&settings, s, 0, ratio, 1, 0);
        moments m = drawn_moments(&settings, &place);
        double chord = (s * s + 1 - ratio * ratio) / (2 * s); /* from the Sun's centre */
        double lens = segment_area(1, chord) + segment_area(ratio, s - chord);
        double lens_x = segment_moment(1, chord) + s * segment_area(ratio, s - chord) -
                        segment_moment(ratio, s - chord);
        double r2 = SUN_R * SUN_R;
        check_near(m.light / r2, TL_PI - lens, TL_PI * LIGHT_TOLERANCE);
        check_near(m.light / (TL_PI * r2), 1 - tl_obscuration(s, ratio), LIGHT_TOLERANCE);
        check_near(m.x / (r2 * SUN_R), lens_x, LIGHT_TOLERANCE); /* east is at -x */
        check_near(m.y / (r2 * SUN_R), 0, LIGHT_TOLERANCE);
    }
}

/*
 * Where the Moon's centre comes to lie, from the conventions of base.h worked out by hand:
 * x = -s sin(PA - up), y = -s cos(PA - up) in solar radii; mirrored: x changes its sign.
 */
static void turn_and_mirror_follow_the_conventions(void **state) {
    (void)state;
    static const struct {
        double pa_deg, up_deg;
        bool mirrored;
        double x, y; /* of the Moon, in separations */
    } row[] = {
        {0, 0, false, 0, -1},  /* Moon north, north up: above */
        {90, 0, false, -1, 0}, /* east, north up: left */
        {90, 0, true, 1, 0},   /* the same in a mirror: right */
        {90, 90, false, 0, -1}, {0, 90, false, 1, 0}, {0, 90, true, -1, 0}, {180, 0, true, 0, 1},
    };
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        tl_simulate_settings settings = plain();
        tl_simulate_place place = place_at(&settings, 0, 0, 1, 1, 0);
        place.up_pa_rad = row[i].up_deg * TL_DEG;
        place.mirrored = row[i].mirrored;
        place.sky.east_sr = 0.7 * sin(row[i].pa_deg * TL_DEG);
        place.sky.north_sr = 0.7 * cos(row[i].pa_deg * TL_DEG);
        tl_simulate_place_circles(&settings, &place);
        check_near((place.moon_x - SUN_X) / (0.7 * SUN_R), row[i].x, 1e-12);
        check_near((place.moon_y - SUN_Y) / (0.7 * SUN_R), row[i].y, 1e-12);
    }
}

/* An ellipse of half axes r and f r, the short one towards the zenith at PA 30 (so at frame angle
 * 120 deg, up and left, with y down): area pi f r^2, second moments pi f r^4/4 (1 and f^2) turned.
 */
static void refraction_flattens_along_the_zenith(void **state) {
    (void)state;
    const double f = 0.93;
    tl_simulate_settings settings = plain();
    tl_simulate_place place = place_at(&settings, 5, 0, 1, f, 30);
    moments m = drawn_moments(&settings, &place);
    double area = TL_PI * f * SUN_R * SUN_R, unit = area * SUN_R * SUN_R / 4;
    double zx = -0.5, zy = -sqrt(3.0) / 2; /* -sin 30, -cos 30 */
    check_near(m.light / area, 1, LIGHT_TOLERANCE);
    check_near(m.xx / unit, 1 - (1 - f * f) * zx * zx, 2 * LIGHT_TOLERANCE);
    check_near(m.yy / unit, 1 - (1 - f * f) * zy * zy, 2 * LIGHT_TOLERANCE);
    check_near(m.xy / unit, -(1 - f * f) * zx * zy, 2 * LIGHT_TOLERANCE);

    settings.refraction = false;
    place = place_at(&settings, 5, 0, 1, f, 30);
    m = drawn_moments(&settings, &place);
    check_near(m.light / (TL_PI * SUN_R * SUN_R), 1, LIGHT_TOLERANCE);
}

/* A Moon straight above the Sun, zenith up: its distance shrinks by the flattening; a card that
 * stretches along x by 1.2 leaves that and widens the disc. */
static void card_stretches_what_the_air_has_flattened(void **state) {
    (void)state;
    const double f = 0.95, stretch = 1.2;
    tl_simulate_settings settings = plain();
    settings.tilt = (tl_simulate_tilt){true, stretch, 0};
    tl_simulate_place place = place_at(&settings, 0.3, 0.6, 1, f, 0);
    check_near(place.moon_y, SUN_Y - 0.6 * f * SUN_R, 1e-9);
    check_near(place.moon_x, SUN_X - 0.3 * stretch * SUN_R, 1e-9);
    place = place_at(&settings, 5, 0, 1, f, 0);
    moments m = drawn_moments(&settings, &place);
    double area = TL_PI * f * stretch * SUN_R * SUN_R;
    check_near(m.light / area, 1, LIGHT_TOLERANCE);
    check_near(m.xx / (area * SUN_R * SUN_R / 4), stretch * stretch, 3 * LIGHT_TOLERANCE);
    check_near(m.yy / (area * SUN_R * SUN_R / 4), f * f, 2 * LIGHT_TOLERANCE);
}

/*
 * The order matters when the directions differ: zenith up, card stretched along (1, 1). The air is
 * A = diag(1, f), the card C = 1 + q (all ones), q = (stretch - 1) / 2; a unit circle's second
 * moments go to C A A C.
 */
static void air_comes_before_the_card(void **state) {
    (void)state;
    const double f = 0.8, stretch = 1.2, q = 0.1;
    tl_simulate_settings settings = plain();
    settings.tilt = (tl_simulate_tilt){true, stretch, 45};
    tl_simulate_place place = place_at(&settings, 5, 0, 1, f, 0);
    moments m = drawn_moments(&settings, &place);
    double unit = TL_PI * f * stretch * pow(SUN_R, 4) / 4;
    check_near(m.xx / unit, (1 + q) * (1 + q) + q * q * f * f, 3 * LIGHT_TOLERANCE);
    check_near(m.yy / unit, q * q + (1 + q) * (1 + q) * f * f, 3 * LIGHT_TOLERANCE);
    check_near(m.xy / unit, q * (1 + q) * (1 + f * f), 3 * LIGHT_TOLERANCE);
}

/* The light of a limb-darkened disc, 2 pi r^2 times the integral of I(mu) mu d mu, that is
 * sum A_i / (i + 2), with the coefficients of Neckel & Labs 1994 (Solar Physics 153, 91). */
static void limb_darkened_disc_has_the_right_light(void **state) {
    (void)state;
    static const double published[3][6] = {
        {.33644, 1.30590, -1.79238, 2.45040, -1.89979, .59943}, /* 640.97 nm */
        {.26073, 1.27428, -1.30352, 1.47085, -.96618, .26384},  /* 541.76 nm */
        {.16220, 1.24893, -.92165, .89978, -.50148, .11220},    /* 443.885 nm */
    };
    tl_simulate_settings settings = plain();
    settings.limb_darkening = true;
    tl_simulate_place place = place_at(&settings, 5, 0, 1, 1, 0);
    tl_simulate_plane plane[3];
    draw(&settings, &place, NULL, plane);
    for (int c = 0; c < 3; c++) {
        double sum = 0;
        for (int i = 0; i < 6; i++)
            sum += published[c][i] / (i + 2);
        double light = moments_of(&plane[c]).light;
        check_near(light / (2 * TL_PI * SUN_R * SUN_R), sum, LIGHT_TOLERANCE);
        check_near(tl_simulate_limb_darkening(c, 0), published[c][0], 1e-12);
        check_near(tl_simulate_limb_darkening(c, 1), 1, 3e-4); /* rounding of the table */
    }
    free_planes(plane);
}

/*
 * Edge position: light summed along the pixel row nearest the centre, left and right of it, is the
 * half chord. Of a uniform disc blurred by sigma, a row of height 1 sees the chord
 * 2 sqrt(r^2 - t^2) averaged over t with variance sigma^2 + 1/12 about the row's offset:
 * to second order 2 r (1 - (offset^2 + sigma^2 + 1/12) / (2 r^2)).
 */
static void blurred_edges_stand_where_the_circle_is(void **state) {
    (void)state;
    static const double sigma[] = {0, 0.7, 2.5};
    for (size_t k = 0; k < sizeof sigma / sizeof sigma[0]; k++) {
        tl_simulate_settings settings = plain();
        tl_simulate_place place = place_at(&settings, 5, 0, 1, 1, 0);
        tl_simulate_plane plane[3];
        static const tl_simulate_spots none = {.count = 0};
        assert_int_equal(tl_simulate_disc_draw(&settings, &place, &none, 15, plane), TL_OK);
        assert_int_equal(tl_simulate_plane_blur(&plane[0], sigma[k]), TL_OK);
        double sum = 0, moment = 0, column = 0, offset = 59 - SUN_Y, side = 61 - SUN_X;
        for (int i = 0; i < plane[0].width; i++) {
            double v = (double)plane[0].v[(59 - plane[0].y0) * plane[0].width + i];
            sum += v;
            moment += v * (plane[0].x0 + i - SUN_X);
            column += (double)plane[0].v[i * plane[0].width + 61 - plane[0].x0];
        }
        double variance = sigma[k] * sigma[k] + 1.0 / 12;
        double half = SUN_R - (offset * offset + variance) / (2 * SUN_R);
        check_near(sum / 2 + moment / sum, half, EDGE_TOLERANCE_PX); /* right edge */
        check_near(sum / 2 - moment / sum, half, EDGE_TOLERANCE_PX); /* left edge */
        half = SUN_R - (side * side + variance) / (2 * SUN_R);
        check_near(column / 2, half, EDGE_TOLERANCE_PX);
        free_planes(plane);
    }
}

/* A step blurred by sigma: differences along it are a Gaussian with that variance. */
static void blur_has_the_sigma_asked_for(void **state) {
    (void)state;
    static const double sigma[] = {0.7, 1.5, 6};
    const double share = 5e-3; /* weights at whole pixels, cut at 5 sigma */
    for (size_t k = 0; k < sizeof sigma / sizeof sigma[0]; k++) {
        tl_simulate_plane plane;
        assert_int_equal(tl_simulate_plane_make(0, 0, 161, 81, &plane), TL_OK);
        for (int j = 0; j < 81; j++)
            for (int i = 80; i < 161; i++)
                plane.v[j * 161 + i] = 1;
        assert_int_equal(tl_simulate_plane_blur(&plane, sigma[k]), TL_OK);
        double sum = 0, mean = 0, square = 0;
        for (int i = 1; i < 121; i++) { /* clear of the dark beyond the right border */
            double d = (double)plane.v[40 * 161 + i] - (double)plane.v[40 * 161 + i - 1];
            double x = i - 0.5;
            sum += d;
            mean += d * x;
            square += d * x * x;
        }
        mean /= sum;
        check_near(sum, 1, 1e-5);
        check_near(mean, 79.5, 1e-4);
        check_near(sqrt(square / sum - mean * mean) / sigma[k], 1, share);
        tl_simulate_plane_free(&plane);
    }
}

/*
 * Duffett-Smith, Practical Astronomy with your Calculator, worked example: on 1988-05-01 at 0 h a
 * spot at position angle 220 deg, 10.5' from the centre of the disc, has Carrington longitude
 * 142.59 and latitude -19.94 deg. The other way round here. The book's low-precision P, B0, L0
 * are good to some 0.05 deg.
 */
static void spot_stands_where_a_published_example_has_it(void **state) {
    (void)state;
    const double BOOK_DEG = 0.15, BOOK_SHARE = 0.003;
    tl_site site = {.source = TL_SITE_GIVEN, .lat_rad = 51.5 * TL_DEG};
    double t, east, north;
    assert_int_equal(tl_date_parse("1988-05-01", &t), TL_OK);
    tl_sky sky;
    assert_int_equal(tl_sky_at(&site, t, NULL, &sky), TL_OK);
    double from_meridian = tl_angle_signed(142.59 * TL_DEG - sky.l0_rad);
    assert_true(tl_simulate_spot_project(&sky, -19.94 * TL_DEG, from_meridian, &east, &north));
    double pa_deg = tl_angle_positive(atan2(east, north)) / TL_DEG;
    check_near(pa_deg, 220, BOOK_DEG);
    check_near(hypot(east, north) * sky.sun_radius_rad / (10.5 / 60 * TL_DEG), 1, BOOK_SHARE);
    assert_false(tl_simulate_spot_project(&sky, 0, TL_PI, &east, &north));
}

/* Darkness drawn has its centre where the projection says, turned and mirrored by hand. */
static void spot_is_drawn_where_it_is_projected(void **state) {
    (void)state;
    tl_simulate_settings settings = plain();
    tl_simulate_scene scene = {.spot_count = 1, .spot = {{12, 25, 4, 0.4, ""}}};
    tl_simulate_place place = place_at(&settings, 5, 0, 1, 1, 0);
    place.sky.sun_radius_rad = 16.0 / 60 * TL_DEG;
    place.sky.p_rad = 20 * TL_DEG;
    place.sky.b0_rad = 6 * TL_DEG;
    place.up_pa_rad = 75 * TL_DEG;
    place.mirrored = true;
    tl_simulate_place_circles(&settings, &place);
    tl_simulate_spots spots;
    tl_simulate_plane with[3], without[3];
    assert_int_equal(tl_simulate_spots_place(&scene, &place.sky, &place.sky, &spots), TL_OK);
    draw(&settings, &place, &spots, with);
    draw(&settings, &place, NULL, without);
    double dark = 0, x = 0, y = 0, east, north;
    for (int i = 0; i < with[0].width * with[0].height; i++) {
        double d = (double)without[0].v[i] - (double)with[0].v[i];
        dark += d;
        x += d * (with[0].x0 + i % with[0].width);
        y += d * (with[0].y0 + i / with[0].width);
    }
    assert_true(dark > 3);
    assert_true(tl_simulate_spot_project(&place.sky, 12 * TL_DEG, 25 * TL_DEG, &east, &north));
    double r = hypot(east, north), from_up = atan2(east, north) - 75 * TL_DEG;
    /* a ragged border moves the centre by a small share of the spot's radius, 3 px */
    check_near(x / dark, SUN_X + SUN_R * r * sin(from_up), 0.2);
    check_near(y / dark, SUN_Y - SUN_R * r * cos(from_up), 0.2);
    free_planes(with);
    free_planes(without);
}

/* Sunspots at 16 deg latitude turn with Carrington's synodic period of 27.2753 d, chosen by him
 * for that: 13.1988 deg a day, by which L0 falls. The laws of rotation differ by 0.1 deg. */
static void spot_turns_with_the_sun(void **state) {
    (void)state;
    tl_simulate_scene scene = {.spot_count = 1, .spot = {{16, 0, 2, 0.4, ""}}};
    tl_sky before = {.sun_radius_rad = 0.0046, .l0_rad = 1}, after = before;
    after.t_utc_s = TL_DAY_S;
    after.l0_rad = before.l0_rad - 360.0 / 27.2753 * TL_DEG;
    tl_simulate_spots spots;
    assert_int_equal(tl_simulate_spots_place(&scene, &before, &after, &spots), TL_OK);
    const double *v = spots.spot[0].centre; /* east, north, near: P = B0 = 0 */
    double turned_deg = atan2(-v[0], v[2]) / TL_DEG;
    check_near(turned_deg, 13.2, 0.1);
    check_near(asin(v[1]) / TL_DEG, 16, 1e-9);
}

/* IEC 61966-2-1: 12.92 v below 0.0031308, else 1.055 v^(1/2.4) - 0.055; worked out by hand. */
static void light_is_coded_as_srgb(void **state) {
    (void)state;
    static const struct {
        float linear;
        int code;
    } row[] = {{-1, 0},      {0, 0},      {0.002f, 7}, {0.0031308f, 10},
               {0.18f, 118}, {0.5f, 188}, {1, 255},    {7, 255}};
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        float v = row[i].linear;
        tl_simulate_plane one = {.width = 1, .height = 1, .v = &v};
        unsigned char rgb[3] = {1, 1, 1};
        assert_int_equal(tl_simulate_encode(&one, 1, rgb), TL_OK);
        assert_int_equal(rgb[1], row[i].code);
        assert_int_equal(rgb[0] + rgb[2], 2);
    }
}

/* Poisson: the variance of `level` full scales is level / full well; read noise adds. */
static void noise_is_that_of_counted_electrons(void **state) {
    (void)state;
    static const double grain[] = {0, 1.5};
    const double level = 0.4, full_well = 5000, read = 20, share = 0.03; /* 40,000 pixels */
    for (size_t k = 0; k < 2; k++) {
        tl_simulate_frame frame = {.settings = plain()};
        frame.settings.noise = (tl_simulate_noise){true, full_well, read, grain[k]};
        tl_simulate_scene scene = {.seed = 5, .frame = &frame, .frame_count = 1};
        tl_simulate_plane plane;
        assert_int_equal(tl_simulate_plane_make(0, 0, 220, 220, &plane), TL_OK);
        for (int i = 0; i < 220 * 220; i++)
            plane.v[i] = (float)level;
        assert_int_equal(tl_simulate_sensor(&scene, 0, 0, &plane), TL_OK);
        double sum = 0, square = 0, n = 0;
        for (int j = 10; j < 210; j++) {
            for (int i = 10; i < 210; i++) {
                double d = (double)plane.v[j * 220 + i] - level;
                sum += d;
                square += d * d;
                n++;
            }
        }
        double expected = sqrt(level / full_well + read * read / (full_well * full_well));
        check_near(sqrt(square / n) / expected, 1, share);
        check_near(sum / n / expected, 0, 0.1);
        tl_simulate_plane_free(&plane);
    }
}

/* Light above full scale comes back beside the clipped patch, and only there. */
static void bloom_spills_beside_what_is_clipped(void **state) {
    (void)state;
    tl_simulate_frame frame = {.settings = plain()};
    frame.settings.bloom = (tl_simulate_bloom){true, 0.2, 3};
    tl_simulate_scene scene = {.frame = &frame, .frame_count = 1};
    tl_simulate_plane plane;
    assert_int_equal(tl_simulate_plane_make(0, 0, 80, 40, &plane), TL_OK);
    for (int j = 0; j < 40; j++)
        for (int i = 0; i < 40; i++)
            plane.v[j * 80 + i] = 2;
    assert_int_equal(tl_simulate_sensor(&scene, 0, 0, &plane), TL_OK);
    /* one sigma outside the edge of an excess of 1: 0.2 times the normal tail, 0.1587 (tables) */
    double outside = 0.5 * ((double)plane.v[20 * 80 + 42] + (double)plane.v[20 * 80 + 43]);
    check_near(outside, 0.2 * 0.1587, 0.001); /* between two pixels, curved: 2 % */
    check_near((double)plane.v[20 * 80 + 70], 0, 1e-6);
    tl_simulate_plane_free(&plane);
}

/* EXIF 2.32, tag 274: which sides of the scene the stored first row and first column are. Upright
 * picture, 3 wide and 2 high: a b c / d e f. */
static void orientation_stores_the_picture_turned(void **state) {
    (void)state;
    static const char *const stored[] = {"abcdef", "cbafed", "fedcba", "defabc",
                                         "adbecf", "cfbead", "fcebda", "daebfc"};
    unsigned char rgb[18];
    for (int i = 0; i < 18; i++)
        rgb[i] = (unsigned char)("abcdef"[i / 3]);
    for (int o = 1; o <= 8; o++) {
        int width = 3, height = 2;
        unsigned char *turned = NULL;
        assert_int_equal(tl_simulate_turn(rgb, o, &width, &height, &turned), TL_OK);
        assert_int_equal(width, o < 5 ? 3 : 2);
        assert_int_equal(height, o < 5 ? 2 : 3);
        for (int i = 0; i < 6; i++)
            assert_int_equal(turned[3 * i], stored[o - 1][i]);
        free(turned);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(disc_has_the_area_and_the_moments_of_a_circle),
        cmocka_unit_test(limb_has_no_waves_along_the_grid),
        cmocka_unit_test(crescent_has_the_area_and_the_centre_of_two_circles),
        cmocka_unit_test(turn_and_mirror_follow_the_conventions),
        cmocka_unit_test(refraction_flattens_along_the_zenith),
        cmocka_unit_test(card_stretches_what_the_air_has_flattened),
        cmocka_unit_test(air_comes_before_the_card),
        cmocka_unit_test(limb_darkened_disc_has_the_right_light),
        cmocka_unit_test(blurred_edges_stand_where_the_circle_is),
        cmocka_unit_test(blur_has_the_sigma_asked_for),
        cmocka_unit_test(spot_stands_where_a_published_example_has_it),
        cmocka_unit_test(spot_is_drawn_where_it_is_projected),
        cmocka_unit_test(spot_turns_with_the_sun),
        cmocka_unit_test(light_is_coded_as_srgb),
        cmocka_unit_test(noise_is_that_of_counted_electrons),
        cmocka_unit_test(bloom_spills_beside_what_is_clipped),
        cmocka_unit_test(orientation_stores_the_picture_turned),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
