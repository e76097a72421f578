/*
 * test_analyse_measure.c - how finely a picture of 12 million pixels is looked at: a small Sun in a
 * part of its own, a large one as it is held, and what is refused once more in the whole.
 *
 * What the circles should be is the simulation's own truth; how finely a part is held follows from
 * what analyse_steps.h promises.
 */
#include "check.h"
#include "picture.h"

#include "analyse_steps.h"
#include "truth.h"
#include "twolimb/simulate.h"

/* In pixels of the file: a tenth of a pixel held, at most a quarter of the file's. */
static const double CIRCLE_TOLERANCE_PX = 0.4;

static scratch folder;
static truth_row truth[TRUTH_ROWS_MAX];
static size_t count;

static int setup(void **state) {
    char path[PATH_SIZE], out[PATH_SIZE], message[TL_SIMULATE_MESSAGE_SIZE] = "";
    (void)state;
    scratch_make(&folder);
    scratch_path(&folder, "scene.json", path);
    scratch_path(&folder, "all", out);
    write_text(path, "{\"site\": {\"lat_deg\": 62.0, \"lon_deg\": -6.8}, \"day\": \"2026-08-12\","
                     " \"defaults\": {\"width\": 4000, \"height\": 3000, \"blur_px\": 1.5,"
                     " \"colour\": [1.0, 0.5, 0.1]}, \"sets\": [{\"frames\": ["
                     "{\"file\": \"tiny.jpg\", \"time\": \"max-1500\", \"sun_r_px\": 60,"
                     " \"sun_x_px\": 700.3},"
                     "{\"file\": \"small.jpg\", \"time\": \"max-1500\", \"sun_r_px\": 340},"
                     "{\"file\": \"large.jpg\", \"time\": \"max-1500\", \"sun_r_px\": 700},"
                     "{\"file\": \"soft.jpg\", \"time\": \"max-1500\", \"sun_r_px\": 700,"
                     " \"blur_px\": 7}]}]}");
    if (tl_simulate(path, out, message) != TL_OK)
        fail_msg("%s", message);
    count = truth_read(out, truth);
    return 0;
}

static int teardown(void **state) {
    (void)state;
    remove_tree(folder.folder);
    return 0;
}

/* A picture's circles, as the analysis of a series takes them. */
typedef struct look {
    tl_image image, fine;
    tl_limb limb;
} look;

static look look_at(const char *path, const tl_limb_prior *prior) {
    tl_frame_info info;
    look l = {0};
    assert_int_equal(tl_frame_read(path, &l.image, &info), TL_OK);
    assert_int_equal(tl_analyse_circles(path, &l.image, prior, &l.limb, &l.fine), TL_OK);
    return l;
}

static void look_free(look *l) {
    tl_image_free(&l->image);
    tl_image_free(&l->fine);
    tl_limb_free(&l->limb);
}

static const truth_row *truth_of(const char *name) {
    for (size_t i = 0; i < count; i++)
        if (strcmp(truth[i].file, name) == 0)
            return &truth[i];
    fail_msg("no truth of %s", name);
    return NULL;
}

static look look_at_drawn(const char *name, char path[PATH_SIZE]) {
    char in_folder[64];
    snprintf(in_folder, sizeof in_folder, "all/%s", name);
    scratch_path(&folder, in_folder, path);
    const truth_row *row = truth_of(name);
    look l = look_at(path, &row->prior);
    assert_int_equal(l.image.halvings, 2);
    assert_int_equal(l.limb.status, TL_LIMB_MEASURED);
    for (int i = 0; i < TL_LIMB_PARAMS; i++)
        check_near(l.limb.circle[i], row->circle[i], CIRCLE_TOLERANCE_PX);
    return l;
}

/* The part holds the whole Sun. */
static void check_holds(const tl_image *part, const double circle[TL_LIMB_PARAMS]) {
    const double *c = circle;
    assert_true(tl_image_to_file(part, part->left, 0) < c[TL_SUN_X] - c[TL_SUN_R]);
    assert_true(tl_image_to_file(part, part->top, 0) < c[TL_SUN_Y] - c[TL_SUN_R]);
    assert_true(tl_image_to_file(part, part->left, part->width) > c[TL_SUN_X] + c[TL_SUN_R]);
    assert_true(tl_image_to_file(part, part->top, part->height) > c[TL_SUN_Y] + c[TL_SUN_R]);
    assert_true(part->width < 4 * c[TL_SUN_R] + 100 && part->height < 4 * c[TL_SUN_R] + 100);
}

static void a_small_sun_is_measured_in_a_finer_part(void **state) {
    (void)state;
    char path[PATH_SIZE];
    look tiny = look_at_drawn("tiny.jpg", path), small = look_at_drawn("small.jpg", path);
    assert_int_equal(tiny.fine.halvings, 0);
    check_holds(&tiny.fine, tiny.limb.circle);
    assert_true(tiny.limb.reduced_px == 0);
    assert_int_equal(small.fine.halvings, 1);
    check_holds(&small.fine, small.limb.circle);
    assert_true(small.limb.reduced_px == 2);
    look_free(&tiny);
    look_free(&small);
}

static void a_large_sun_is_measured_as_it_is_held(void **state) {
    (void)state;
    char path[PATH_SIZE];
    look l = look_at_drawn("large.jpg", path);
    assert_int_equal(l.fine.width, 0);
    assert_true(l.limb.reduced_px == 4);
    look_free(&l);
}

/* Discs of 1,100 px and blurs of 1.6 px are enough to find spots in. */
static void spots_are_looked_for_as_finely_as_the_limbs_are_sharp(void **state) {
    (void)state;
    static const struct {
        const char *name;
        int halvings; /* -1: what is held will do */
    } expected[] = {{"tiny.jpg", 0}, {"small.jpg", 0}, {"large.jpg", 1}, {"soft.jpg", -1}};
    for (size_t i = 0; i < sizeof expected / sizeof expected[0]; i++) {
        char path[PATH_SIZE];
        look l = look_at_drawn(expected[i].name, path);
        assert_int_equal(tl_analyse_finer(path, &l.image, &l.limb, &l.fine), TL_OK);
        if (expected[i].halvings < 0) {
            assert_int_equal(l.fine.width, 0);
        } else {
            assert_int_equal(l.fine.halvings, expected[i].halvings);
            check_holds(&l.fine, l.limb.circle);
        }
        look_free(&l);
    }
}

/* The end of the file is missing, below the Sun: a part cannot be read, and what is held stands. */
static void a_file_cut_short_is_measured_as_it_is_held(void **state) {
    (void)state;
    char path[PATH_SIZE], cut[PATH_SIZE];
    look whole = look_at_drawn("small.jpg", path);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    const size_t size = (size_t)ftell(file), kept = size - size / 20;
    rewind(file);
    uint8_t *bytes = malloc(size);
    assert_non_null(bytes);
    assert_int_equal(fread(bytes, 1, size, file), size);
    fclose(file);
    scratch_path(&folder, "cut.jpg", cut);
    write_file(cut, bytes, kept);
    free(bytes);
    look l = look_at(cut, &truth_of("small.jpg")->prior);
    assert_int_equal(l.limb.status, TL_LIMB_MEASURED);
    for (int i = 0; i < TL_LIMB_PARAMS; i++)
        check_near(l.limb.circle[i], whole.limb.circle[i], CIRCLE_TOLERANCE_PX);
    look_free(&whole);
    look_free(&l);
}

/* Two small Suns far from each other: the part round one of them must not hide the other. */
static void a_collage_of_small_suns_is_refused(void **state) {
    (void)state;
    enum { W = 4000, H = 3000 };
    uint8_t *sample = malloc((size_t)W * H);
    assert_non_null(sample);
    memset(sample, 20, (size_t)W * H);
    for (int k = 0; k < 2; k++) {
        const double x = 1000.3 + 1900 * k, y = 900.6 + 1000 * k;
        const double sun[3] = {x, y, 150}, moon[3] = {x + 70, y + 90, 152};
        for (int v = (int)y - 160; v < (int)y + 160; v++)
            for (int u = (int)x - 160; u < (int)x + 160; u++)
                sample[(size_t)v * W + (size_t)u] =
                    (uint8_t)(20.0 + 180.0 * drawn_eclipse(u, v, sun, moon));
    }
    const jpeg_style style = {.space = JCS_GRAYSCALE};
    blob b = jpeg_make(&style, sample, W, H);
    char path[PATH_SIZE];
    scratch_path(&folder, "collage.jpg", path);
    write_file(path, b.bytes, b.size);
    free(b.bytes);
    free(sample);
    const tl_limb_prior nothing = {0};
    look l = look_at(path, &nothing);
    assert_int_equal(l.limb.status, TL_LIMB_UNUSABLE);
    assert_non_null(strstr(l.limb.reason, "several Suns"));
    look_free(&l);
}

/* What is left of a file cut short lies at another side of the picture, as the camera was held; it
 * is shown whole all the same. */
static void what_is_left_of_a_turned_picture_is_shown(void **state) {
    (void)state;
    enum { SIDE = 96 };
    uint8_t sample[SIDE * SIDE];
    char path[PATH_SIZE];
    scratch_path(&folder, "turned.jpg", path);
    for (int i = 0; i < SIDE * SIDE; i++)
        sample[i] = (uint8_t)(i * 37 % 251);
    for (int orientation = 1; orientation <= 8; orientation++) {
        blob b = jpeg_turned(JCS_GRAYSCALE, sample, SIDE, SIDE, orientation);
        write_file(path, b.bytes, b.size / 2);
        free(b.bytes);
        tl_image image;
        tl_sequence_frame frame = {.limb.status = TL_LIMB_NO_SUN};
        assert_int_equal(tl_frame_read(path, &image, &frame.info), TL_OK);
        assert_true(frame.info.rows_missing > SIDE / 4);
        tl_analyse_preview(&image, &image, 1, &frame);
        assert_non_null(frame.preview.jpeg);
        assert_int_equal(frame.preview.width, image.width);
        assert_int_equal(frame.preview.height, image.height);
        tl_preview_free(&frame.preview);
        tl_details_free(frame.detail);
        tl_image_free(&image);
    }
}

/* Sides that are no multiples of what is averaged, of a picture that was stored from the right or
 * the bottom on: the circles lie where EXIF 2.32, tag 0x0112, has the stored rows and columns. */
static void a_turned_picture_is_measured_where_it_lies(void **state) {
    (void)state;
    enum { W = 3005, H = 2305 };
    const double sun[3] = {1411.3, 1107.8, 620}, moon[3] = {1700.6, 870.2, 630};
    uint8_t *sample = malloc((size_t)W * H);
    assert_non_null(sample);
    for (int y = 0; y < H; y++)
        for (int x = 0; x < W; x++)
            sample[(size_t)y * W + (size_t)x] =
                (uint8_t)(20.0 + 180.0 * drawn_eclipse(x, y, sun, moon));
    char path[PATH_SIZE];
    scratch_path(&folder, "odd.jpg", path);
    for (int orientation = 1; orientation <= 8; orientation++) {
        static const bool right[9] = {[2] = true, [3] = true, [6] = true, [7] = true};
        static const bool bottom[9] = {[3] = true, [4] = true, [7] = true, [8] = true};
        blob b = jpeg_turned(JCS_GRAYSCALE, sample, W, H, orientation);
        write_file(path, b.bytes, b.size);
        free(b.bytes);
        const tl_limb_prior nothing = {0};
        look l = look_at(path, &nothing);
        assert_int_equal(l.image.halvings, 2);
        assert_int_equal(l.limb.status, TL_LIMB_MEASURED);
        assert_int_equal(tl_analyse_finer(path, &l.image, &l.limb, &l.fine), TL_OK);
        assert_int_equal(l.fine.halvings, 1);
        check_holds(&l.fine, l.limb.circle);
        const bool lying = orientation >= 5;
        for (int k = 0; k < 2; k++) {
            const double *drawn = k == 0 ? sun : moon;
            const double x = lying ? drawn[1] : drawn[0], y = lying ? drawn[0] : drawn[1];
            const int wide = lying ? H : W, high = lying ? W : H;
            const double *found = &l.limb.circle[k == 0 ? TL_SUN_X : TL_MOON_X];
            check_near(found[0], right[orientation] ? wide - 1 - x : x, CIRCLE_TOLERANCE_PX);
            check_near(found[1], bottom[orientation] ? high - 1 - y : y, CIRCLE_TOLERANCE_PX);
        }
        look_free(&l);
    }
    free(sample);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_small_sun_is_measured_in_a_finer_part),
        cmocka_unit_test(a_large_sun_is_measured_as_it_is_held),
        cmocka_unit_test(spots_are_looked_for_as_finely_as_the_limbs_are_sharp),
        cmocka_unit_test(a_file_cut_short_is_measured_as_it_is_held),
        cmocka_unit_test(a_turned_picture_is_measured_where_it_lies),
        cmocka_unit_test(a_collage_of_small_suns_is_refused),
        cmocka_unit_test(what_is_left_of_a_turned_picture_is_shown),
    };
    return cmocka_run_group_tests(tests, setup, teardown);
}
