/*
 * The search for Sun and Moon alone: where the circles are expected comes from the drawing, which
 * is a closed form. What the fine stage makes of them is tested elsewhere.
 */
#include "drawn_sun.h"

/* The contract of the search: the limbs within 1.5 % of the solar radius, 1.5 px on small discs. */
static const double LIMB_TOLERANCE = 0.015, LIMB_TOLERANCE_PX = 1.5;
/* Shorter over longer axis: 0.01 moves the limb by half a per cent of the radius. */
static const double FLATTENING_TOLERANCE = 0.02;
static const double AXIS_TOLERANCE_DEG = 6;
/* Where a small bite is: a hundredth of the radius at the limb is 0.6 degrees; its depth. */
static const double BITE_ANGLE_TOLERANCE_DEG = 3, BITE_DEPTH_TOLERANCE = 0.012;

/* An evenly bright Sun with a Moon before it, flattened along a direction, on a plain ground. */
typedef struct sketch {
    int width, height;
    tl_circle sun, moon; /* of an oval: of its longer axis, centres as in the picture */
    double flattening, axis_deg;
    double disc[3], ground[3]; /* linear light */
    double noise;
} sketch;

static sketch plain_sketch(void) {
    return (sketch){.width = 640,
                    .height = 480,
                    .sun = {310.4, 236.7, 130},
                    .moon = {395.1, 300.2, 133},
                    .flattening = 1,
                    .disc = {0.6, 0.6, 0.6},
                    .ground = {0.01, 0.01, 0.01},
                    .noise = 0.01};
}

/* Distance from a centre over the radius, the flattening taken out. */
static double flat_distance(const sketch *s, const tl_circle *c, double x, double y) {
    double ax = cos(s->axis_deg * TL_DEG), ay = sin(s->axis_deg * TL_DEG);
    double dx = x - c->x, dy = y - c->y, along = dx * ax + dy * ay;
    double more = along * (1 / s->flattening - 1);
    return hypot(dx + more * ax, dy + more * ay) / c->r;
}

/* Share of a pixel that shows the Sun, by 4 x 4 samples. */
static double sun_share(const sketch *s, int x, int y) {
    int lit = 0;
    for (int i = 0; i < 16; i++) {
        double px = x - 0.375 + 0.25 * (i % 4), py = y - 0.375 + 0.25 * (i / 4);
        lit += flat_distance(s, &s->sun, px, py) < 1 &&
               !(s->moon.r > 0 && flat_distance(s, &s->moon, px, py) < 1);
    }
    return lit / 16.0;
}

/* Adds the Sun's light; `veil` (0..1 by place) dims it, or NULL. */
static void add_sun(tl_image *image, const sketch *s, double share,
                    double (*veil)(const sketch *s, double x, double y)) {
    for (int y = 0; y < s->height; y++) {
        for (int x = 0; x < s->width; x++) {
            double light = share * sun_share(s, x, y) * (veil ? veil(s, x, y) : 1);
            for (int c = 0; c < 3; c++) {
                uint16_t *at = &image->sample[3 * (y * s->width + x) + c];
                double v = *at + 65535 * light * (s->disc[c] - s->ground[c]);
                *at = (uint16_t)lround(fmin(fmax(v, 0), 65535));
            }
        }
    }
}

/* The ground alone, with its noise. */
static tl_image ground_of(const sketch *s) {
    tl_image image = {.width = s->width, .height = s->height, .channels = 3};
    size_t samples = 3 * (size_t)s->width * (size_t)s->height;
    image.sample = malloc(samples * sizeof *image.sample);
    assert_non_null(image.sample);
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (size_t i = 0; i < samples; i++) {
        double v = s->ground[i % 3] + gsl_ran_gaussian(random, s->noise);
        image.sample[i] = (uint16_t)lround(65535 * fmin(fmax(v, 0), 1));
    }
    gsl_rng_free(random);
    return image;
}

static tl_image sketch_draw(const sketch *s) {
    tl_image image = ground_of(s);
    add_sun(&image, s, 1, NULL);
    return image;
}

/* Looks and lets the picture go. */
static tl_hypothesis search(tl_image *image, bool expect_found) {
    bool found = !expect_found;
    tl_hypothesis h = {0};
    assert_int_equal(tl_limb_hypothesis_find(image, &found, &h), TL_OK);
    tl_image_free(image);
    assert_int_equal(found, expect_found);
    return h;
}

/* Largest distance of the drawn limb, where it can be seen, from the circle found. */
static double limb_error(const sketch *s, const tl_hypothesis *h, bool moon) {
    const tl_circle *drawn = moon ? &s->moon : &s->sun, *other = moon ? &s->sun : &s->moon;
    const tl_circle *found = moon ? &h->moon : &h->sun;
    double ax = cos(s->axis_deg * TL_DEG), ay = sin(s->axis_deg * TL_DEG), worst = 0;
    for (int i = 0; i < 360; i++) {
        double ux = cos(i * TL_DEG), uy = sin(i * TL_DEG), along = ux * ax + uy * ay;
        double less = along * (s->flattening - 1);
        double x = drawn->x + drawn->r * (ux + less * ax);
        double y = drawn->y + drawn->r * (uy + less * ay);
        bool outside = other->r <= 0 || flat_distance(s, other, x, y) > 1;
        if (outside == moon || x < 3 || y < 3 || x > s->width - 4 || y > s->height - 4)
            continue;
        double dx = x - found->x, dy = y - found->y;
        double more = (dx * h->flat_x + dy * h->flat_y) * (1 / h->flattening - 1);
        double off = hypot(dx + more * h->flat_x, dy + more * h->flat_y) - found->r;
        worst = fmax(worst, fabs(off));
    }
    return worst;
}

static void check_limbs(const sketch *s, const tl_hypothesis *h) {
    double tolerance = fmax(LIMB_TOLERANCE_PX, LIMB_TOLERANCE * s->sun.r);
    assert_true((h->moon.r > 0) == (s->moon.r > 0));
    check_near(limb_error(s, h, false), 0, tolerance);
    if (s->moon.r > 0)
        check_near(limb_error(s, h, true), 0, tolerance);
}

static void finds_both_limbs_of_many_phases(void **state) {
    (void)state;
    sketch s = plain_sketch();
    for (double separation = 0.1; separation < 1.85; separation += 0.25) {
        double turn = 2 + 3 * separation;
        s.moon.x = s.sun.x + separation * s.sun.r * cos(turn);
        s.moon.y = s.sun.y + separation * s.sun.r * sin(turn);
        tl_image image = sketch_draw(&s);
        tl_hypothesis h = search(&image, true);
        check_limbs(&s, &h);
        check_near(h.flattening, 1, 0);
        assert_int_equal(h.rivals, 0);
        assert_false(h.dark_centre);
    }
}

static void whole_disc_has_no_moon(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.moon.r = 0;
    tl_image image = sketch_draw(&s);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
}

static void ring_of_an_annular_eclipse(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.moon = (tl_circle){s.sun.x + 3, s.sun.y - 2, 0.95 * s.sun.r};
    tl_image image = sketch_draw(&s);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
}

/* A card tilted by 19 to 37 degrees: the disc is shorter along the tilt by its cosine. */
static void oval_disc_has_its_axes(void **state) {
    (void)state;
    static const double FLATTENING[] = {0.80, 0.87, 0.94}, AXIS_DEG[] = {20, 75, 140};
    for (int i = 0; i < 3; i++) {
        sketch s = plain_sketch();
        s.flattening = FLATTENING[i];
        s.axis_deg = AXIS_DEG[i];
        tl_image image = sketch_draw(&s);
        tl_hypothesis h = search(&image, true);
        check_near(h.flattening, s.flattening, FLATTENING_TOLERANCE);
        double across = cos(s.axis_deg * TL_DEG) * h.flat_y - sin(s.axis_deg * TL_DEG) * h.flat_x;
        check_near(asin(across) / TL_DEG, 0, AXIS_TOLERANCE_DEG);
        check_limbs(&s, &h);
    }
}

/* Paler than the paper of other tests: a card in the shade, the disc half as bright again. */
static void low_contrast_on_a_card(void **state) {
    (void)state;
    sketch s = plain_sketch();
    for (int c = 0; c < 3; c++) {
        s.ground[c] = 0.30;
        s.disc[c] = 0.45;
    }
    s.noise = 0.03;
    tl_image image = sketch_draw(&s);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
}

/* More than half of the disc is beyond the frame's edge. */
static void disc_cut_by_the_frame(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.sun = (tl_circle){625, 236.7, 130};
    s.moon = (tl_circle){560, 330, 134};
    tl_image image = sketch_draw(&s);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
}

/* The disc is wider and higher than the frame; some 160 degrees of its limb are in it. */
static void disc_larger_than_the_frame(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.sun = (tl_circle){400, 330, 330};
    s.moon = (tl_circle){130, 560, 340};
    tl_image image = sketch_draw(&s);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
}

/* First and last bites: their depth over the diameter is the eclipse's magnitude. */
static void small_bites_are_seen(void **state) {
    (void)state;
    static const double MAGNITUDE[] = {0.02, 0.03, 0.06};
    for (int i = 0; i < 3; i++) {
        sketch s = plain_sketch();
        s.sun.r = 150;
        double depth = MAGNITUDE[i] * 2 * s.sun.r, turn_deg = 40 + 100 * i;
        s.moon.r = 1.03 * s.sun.r;
        s.moon.x = s.sun.x + (s.sun.r + s.moon.r - depth) * cos(turn_deg * TL_DEG);
        s.moon.y = s.sun.y + (s.sun.r + s.moon.r - depth) * sin(turn_deg * TL_DEG);
        tl_image image = sketch_draw(&s);
        tl_hypothesis h = search(&image, true);
        assert_true(h.moon.r > 0);
        double dx = h.moon.x - h.sun.x, dy = h.moon.y - h.sun.y;
        check_near(remainder(atan2(dy, dx) / TL_DEG - turn_deg, 360), 0, BITE_ANGLE_TOLERANCE_DEG);
        check_near((h.sun.r + h.moon.r - hypot(dx, dy) - depth) / s.sun.r, 0, BITE_DEPTH_TOLERANCE);
    }
}

static void no_bite_is_seen_where_the_limb_is_merely_rough(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.moon.r = 0;
    s.noise = 0.08;
    tl_image image = sketch_draw(&s);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
}

/* 2 % of the diameter is left. */
static void thin_crescent(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.moon.r = 1.04 * s.sun.r;
    double separation = s.moon.r - s.sun.r + 0.04 * s.sun.r;
    s.moon.x = s.sun.x - 0.6 * separation;
    s.moon.y = s.sun.y + 0.8 * separation;
    tl_image image = sketch_draw(&s);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
}

/* Cloud that takes three quarters of the light from one side of the disc, with an edge on it. */
static double cloud(const sketch *s, double x, double y) {
    double along = (x - s->sun.x + 0.5 * (y - s->sun.y)) / s->sun.r;
    return 0.25 + 0.75 * edge(-20 * (along + 0.2), 4);
}

static void limb_behind_broken_cloud(void **state) {
    (void)state;
    sketch s = plain_sketch();
    tl_image image = ground_of(&s);
    add_sun(&image, &s, 1, cloud);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
}

/* An orange disc in a field as bright in grey beyond the field stop. */
static void eyecup_as_bright_as_the_disc(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.sun.r = 90;
    s.moon.r = 92;
    memcpy(s.disc, (double[3]){0.9, 0.25, 0.02}, sizeof s.disc);
    double grey = tl_limb_luma[0] * 0.9 + tl_limb_luma[1] * 0.25 + tl_limb_luma[2] * 0.02;
    tl_image image = sketch_draw(&s);
    for (int y = 0; y < s.height; y++) {
        for (int x = 0; x < s.width; x++) {
            double from_stop = hypot(x - s.sun.x - 30, y - s.sun.y + 10) - 200;
            for (int c = 0; c < 3; c++) {
                uint16_t *at = &image.sample[3 * (y * s.width + x) + c];
                *at = (uint16_t)fmin(65535, *at + 65535 * grey * edge(-from_stop, 3));
            }
        }
    }
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
}

/* An orange disc on a ground as bright in grey: only its colour shows it. */
static void colour_alone_shows_the_disc(void **state) {
    (void)state;
    sketch s = plain_sketch();
    memcpy(s.disc, (double[3]){0.9, 0.25, 0.02}, sizeof s.disc);
    double grey = tl_limb_luma[0] * 0.9 + tl_limb_luma[1] * 0.25 + tl_limb_luma[2] * 0.02;
    memcpy(s.ground, (double[3]){grey, grey, grey}, sizeof s.ground);
    tl_image image = sketch_draw(&s);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
    assert_int_not_equal(h.plane, TL_PLANE_LUMA);
}

/* A round tint of 1 % of full scale in a bright picture: what chroma noise looks like. */
static void faint_tint_is_no_sun(void **state) {
    (void)state;
    sketch s = plain_sketch();
    memcpy(s.disc, (double[3]){0.7, 0.7, 0.71}, sizeof s.disc);
    memcpy(s.ground, (double[3]){0.7, 0.7, 0.7}, sizeof s.ground);
    s.noise = 0.001;
    tl_image image = sketch_draw(&s);
    search(&image, false);
}

/* A reflection, upside down, at a quarter of the light: not the Sun, and no second one. */
static void ghost_is_not_the_sun(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.sun = (tl_circle){190, 240, 100};
    s.moon = (tl_circle){250, 200, 103};
    sketch ghost = s;
    ghost.sun.x = 450;
    ghost.moon = (tl_circle){390, 280, 103};
    tl_image image = sketch_draw(&s);
    add_sun(&image, &ghost, 0.25, NULL);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
    assert_int_equal(h.rivals, 0);
}

static void collage_has_rivals(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.sun = (tl_circle){190, 240, 100};
    s.moon = (tl_circle){250, 200, 103};
    sketch other = s;
    other.sun.x = 450;
    other.moon = (tl_circle){550, 330, 103}; /* of another phase */
    tl_image image = sketch_draw(&s);
    add_sun(&image, &other, 1, NULL);
    tl_hypothesis h = search(&image, true);
    assert_int_equal(h.rivals, 1);
}

/* Two exposures on one frame, less than a diameter apart. */
static void double_exposure_has_rivals(void **state) {
    (void)state;
    sketch s = plain_sketch(), moved = s;
    moved.sun.x += 90;
    moved.moon.x += 90;
    tl_image image = ground_of(&s);
    add_sun(&image, &s, 0.5, NULL);
    add_sun(&image, &moved, 0.5, NULL);
    tl_hypothesis h = search(&image, true);
    assert_true(h.rivals > 0);
}

/* A row of white dots as bright as the disc, as round as it: writing. */
static void writing_is_not_the_sun(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.sun.y = s.moon.y = 200;
    tl_image image = sketch_draw(&s);
    for (int i = 0; i < 12; i++) {
        sketch dot = s;
        dot.sun = (tl_circle){60 + 48 * i, 440, 12};
        dot.moon.r = 0;
        memcpy(dot.disc, (double[3]){0.9, 0.9, 0.9}, sizeof dot.disc);
        add_sun(&image, &dot, 1, NULL);
    }
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
    assert_int_equal(h.rivals, 0);
}

static void cards_and_window_frames_are_no_sun(void **state) {
    (void)state;
    sketch s = plain_sketch();
    tl_image image = ground_of(&s);
    for (int y = 0; y < s.height; y++)
        for (int x = 0; x < s.width; x++)
            if ((x > 80 && x < 260 && y > 90 && y < 380) || x > 400 + y / 4)
                for (int c = 0; c < 3; c++)
                    image.sample[3 * (y * s.width + x) + c] = 40000;
    search(&image, false);
}

static void noise_holds_no_sun(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.noise = 0.1;
    memcpy(s.ground, (double[3]){0.4, 0.42, 0.45}, sizeof s.ground);
    tl_image image = ground_of(&s);
    search(&image, false);
}

static void total_phase_has_a_dark_centre(void **state) {
    (void)state;
    sketch s = plain_sketch();
    tl_image image = ground_of(&s);
    bool found;
    tl_hypothesis h = {0};
    for (int y = 0; y < s.height; y++) {
        for (int x = 0; x < s.width; x++) {
            double r = hypot(x - s.sun.x, y - s.sun.y) / 90;
            double v = 0.7 * pow(fmax(r, 1), -4) * edge(90 * (r - 1), 1);
            for (int c = 0; c < 3; c++)
                image.sample[3 * (y * s.width + x) + c] = (uint16_t)(65535 * v);
        }
    }
    assert_int_equal(tl_limb_hypothesis_find(&image, &found, &h), TL_OK);
    assert_true(h.dark_centre);
    tl_image_free(&image);
}

/* A disc of 50 px in a picture of 4,500: it is 8 px wide in the copy first looked at. */
static void small_disc_in_a_large_picture(void **state) {
    (void)state;
    sketch s = plain_sketch();
    s.width = 4500;
    s.height = 300;
    s.sun = (tl_circle){3000.3, 150.6, 25};
    s.moon = (tl_circle){3012, 164, 25.8};
    tl_image image = sketch_draw(&s);
    tl_hypothesis h = search(&image, true);
    check_limbs(&s, &h);
}

/* ---- the steps ---- */

/* A reduced pixel of a plane of even slope holds the slope's value at the place it gives. */
static void reduced_pixels_lie_where_they_say(void **state) {
    (void)state;
    enum { W = 130, H = 90 };
    static uint16_t sample[W * H];
    for (int y = 0; y < H; y++)
        for (int x = 0; x < W; x++)
            sample[y * W + x] = (uint16_t)(1000 + 40 * x + 300 * y);
    const tl_image image = {.width = W, .height = H, .channels = 1, .sample = sample};
    for (int factor = 1; factor < 12; factor++) {
        tl_cutout cutout;
        assert_int_equal(tl_image_cut(&image, 7, 5, W, H, factor, &cutout), TL_OK);
        const tl_image *c = &cutout.image;
        int x = c->width - 1, y = c->height - 1;
        double px = cutout.x0 + cutout.scale * x, py = cutout.y0 + cutout.scale * y;
        check_near(c->sample[y * c->width + x], 1000 + 40 * px + 300 * py, 1); /* rounding */
        tl_cutout_free(&cutout);
        tl_plane plane;
        assert_int_equal(tl_limb_plane_glance(&image, TL_PLANE_LUMA, 7, 5, W, H, factor, &plane),
                         TL_OK);
        x = plane.width - 1, y = plane.height - 1;
        px = plane.x0 + plane.scale * x, py = plane.y0 + plane.scale * y;
        check_near(65535 * tl_limb_plane_value(&plane, x, y), 1000 + 40 * px + 300 * py, 0.1);
        tl_limb_plane_free(&plane);
    }
}

/* The outline of a drawn disc lies on its circle and points to its bright side. */
static void outline_lies_on_the_limb(void **state) {
    (void)state;
    const double OUTLINE_TOLERANCE_PX = 0.3; /* pixels of an unblurred edge */
    sketch s = plain_sketch();
    s.moon.r = 0;
    s.noise = 0;
    tl_image image = sketch_draw(&s);
    tl_plane plane;
    tl_outline o;
    assert_int_equal(
        tl_limb_plane_glance(&image, TL_PLANE_LUMA, 0, 0, s.width, s.height, 1, &plane), TL_OK);
    assert_int_equal(tl_limb_outline_make(&plane, tl_limb_plane_brightest(&plane), &o), TL_OK);
    assert_true((double)o.count > 5 * s.sun.r);
    assert_int_equal(o.curve[o.curves], o.count);
    for (size_t i = 0; i < o.count; i++) {
        const tl_border_point *p = &o.point[i];
        double dx = p->x - s.sun.x, dy = p->y - s.sun.y, d = hypot(dx, dy);
        check_near(d, s.sun.r, OUTLINE_TOLERANCE_PX);
        assert_true(dx * p->nx + dy * p->ny < -0.98 * d);
    }
    tl_limb_outline_free(&o);
    tl_limb_plane_free(&plane);
    tl_image_free(&image);
}

/* Points taken exactly from two stretched circles give back what they were taken from. */
static void oval_fit_is_exact_on_exact_points(void **state) {
    (void)state;
    enum { N = 60 };
    /* the priors (no stretch, equal discs) pull by their share of the weight: some 1e-3 */
    const double TOLERANCE = 0.5, STRETCH_TOLERANCE = 0.004;
    const double P = 0.04, Q = -0.03;
    const tl_circle sun = {200, 150, 100}, moon = {260, 190, 103};
    tl_limb_point point[2 * N];
    for (int i = 0; i < 2 * N; i++) {
        const tl_circle *c = i < N ? &sun : &moon;
        double a = (i < N ? 2 : 3.2) + 3.0 * (i % N) / N, u = c->r * cos(a), v = c->r * sin(a);
        double det = (1 + P) * (1 - P) - Q * Q; /* Cramer's rule for M d = (u, v) */
        point[i] =
            (tl_limb_point){c->x + ((1 - P) * u - Q * v) / det, c->y + ((1 + P) * v - Q * u) / det,
                            i < N ? TL_LIMB_SUN : TL_LIMB_MOON};
    }
    tl_oval oval = {.sun = {203, 148, 96}, .moon = {256, 193, 106}};
    assert_true(tl_limb_oval_fit(point, 2 * N, true, &oval));
    check_near(oval.sun.x, sun.x, TOLERANCE);
    check_near(oval.sun.y, sun.y, TOLERANCE);
    check_near(oval.sun.r, sun.r, TOLERANCE);
    check_near(oval.moon.x, moon.x, TOLERANCE);
    check_near(oval.moon.y, moon.y, TOLERANCE);
    check_near(oval.p, P, STRETCH_TOLERANCE);
    check_near(oval.q, Q, STRETCH_TOLERANCE);
    /* axes of M's inverse image of a circle: r / (1 -+ |(p, q)|) */
    check_near(tl_limb_oval_flattening(&oval), 0.95 / 1.05, 2 * STRETCH_TOLERANCE);
    check_near(tl_limb_oval_longer(&oval, 100), 100 / 0.95, 1);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(finds_both_limbs_of_many_phases),
        cmocka_unit_test(whole_disc_has_no_moon),
        cmocka_unit_test(ring_of_an_annular_eclipse),
        cmocka_unit_test(oval_disc_has_its_axes),
        cmocka_unit_test(low_contrast_on_a_card),
        cmocka_unit_test(disc_cut_by_the_frame),
        cmocka_unit_test(disc_larger_than_the_frame),
        cmocka_unit_test(small_bites_are_seen),
        cmocka_unit_test(no_bite_is_seen_where_the_limb_is_merely_rough),
        cmocka_unit_test(thin_crescent),
        cmocka_unit_test(limb_behind_broken_cloud),
        cmocka_unit_test(eyecup_as_bright_as_the_disc),
        cmocka_unit_test(colour_alone_shows_the_disc),
        cmocka_unit_test(faint_tint_is_no_sun),
        cmocka_unit_test(ghost_is_not_the_sun),
        cmocka_unit_test(collage_has_rivals),
        cmocka_unit_test(double_exposure_has_rivals),
        cmocka_unit_test(writing_is_not_the_sun),
        cmocka_unit_test(cards_and_window_frames_are_no_sun),
        cmocka_unit_test(noise_holds_no_sun),
        cmocka_unit_test(total_phase_has_a_dark_centre),
        cmocka_unit_test(small_disc_in_a_large_picture),
        cmocka_unit_test(reduced_pixels_lie_where_they_say),
        cmocka_unit_test(outline_lies_on_the_limb),
        cmocka_unit_test(oval_fit_is_exact_on_exact_points),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
