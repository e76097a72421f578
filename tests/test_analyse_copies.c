/*
 * test_analyse_copies.c - the same picture saved twice is used once; two pictures never are.
 *
 * The pictures are drawn by twolimb simulate, on a mount that follows the Sun, so that nothing but
 * the Moon and the noise tells one from the next; the copies are made here, by libjpeg.
 */
#include <stdio.h>

#include "analyse_steps.h"
#include "heif_make.h"
#include "twolimb/analyse.h"
#include "twolimb/simulate.h"

static scratch folder;

/* --- a picture saved again --- */

/* Pixels, red green blue, and the EXIF marker of a file. */
typedef struct decoded {
    int width, height;
    unsigned char *rgb; /* free() */
    blob exif;
} decoded;

static decoded decode(const char *path) {
    struct jpeg_decompress_struct jpeg;
    struct jpeg_error_mgr error;
    decoded d = {0};
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    jpeg.err = jpeg_std_error(&error);
    jpeg_create_decompress(&jpeg);
    jpeg_save_markers(&jpeg, JPEG_APP0 + 1, 0xFFFF);
    jpeg_stdio_src(&jpeg, file);
    jpeg_read_header(&jpeg, TRUE);
    jpeg.out_color_space = JCS_RGB;
    jpeg_start_decompress(&jpeg);
    d.width = (int)jpeg.output_width;
    d.height = (int)jpeg.output_height;
    d.rgb = malloc(3 * (size_t)d.width * (size_t)d.height);
    assert_non_null(d.rgb);
    while (jpeg.output_scanline < jpeg.output_height) {
        JSAMPROW row = d.rgb + 3 * (size_t)d.width * jpeg.output_scanline;
        jpeg_read_scanlines(&jpeg, &row, 1);
    }
    if (jpeg.marker_list != NULL) {
        d.exif.size = jpeg.marker_list->data_length;
        d.exif.bytes = malloc(d.exif.size);
        assert_non_null(d.exif.bytes);
        memcpy(d.exif.bytes, jpeg.marker_list->data, d.exif.size);
    }
    jpeg_finish_decompress(&jpeg);
    jpeg_destroy_decompress(&jpeg);
    fclose(file);
    return d;
}

static void decoded_free(decoded *d) {
    free(d->rgb);
    free(d->exif.bytes);
}

/* Every `step` by `step` pixels to one, by their mean. */
static void reduce(decoded *d, int step) {
    const int width = d->width / step, height = d->height / step;
    for (int y = 0; y < height; y++)
        for (int x = 0; x < width; x++)
            for (int c = 0; c < 3; c++) {
                int sum = 0;
                for (int i = 0; i < step * step; i++)
                    sum += d->rgb[3 * ((y * step + i / step) * d->width + x * step + i % step) + c];
                d->rgb[3 * (y * width + x) + c] =
                    (unsigned char)((sum + step * step / 2) / (step * step));
            }
    d->width = width;
    d->height = height;
}

static void encode(const char *path, const decoded *d, int quality, const blob *exif) {
    struct jpeg_compress_struct jpeg;
    struct jpeg_error_mgr error;
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    jpeg.err = jpeg_std_error(&error);
    jpeg_create_compress(&jpeg);
    jpeg_stdio_dest(&jpeg, file);
    jpeg.image_width = (JDIMENSION)d->width;
    jpeg.image_height = (JDIMENSION)d->height;
    jpeg.in_color_space = JCS_RGB;
    jpeg.input_components = 3;
    jpeg_set_defaults(&jpeg);
    jpeg_set_quality(&jpeg, quality, TRUE);
    jpeg_start_compress(&jpeg, TRUE);
    if (exif != NULL && exif->bytes != NULL)
        jpeg_write_marker(&jpeg, JPEG_APP0 + 1, exif->bytes, (unsigned)exif->size);
    while (jpeg.next_scanline < jpeg.image_height) {
        JSAMPROW row = d->rgb + 3 * (size_t)d->width * jpeg.next_scanline;
        jpeg_write_scanlines(&jpeg, &row, 1);
    }
    jpeg_finish_compress(&jpeg);
    jpeg_destroy_compress(&jpeg);
    fclose(file);
}

/* `from` saved again as `to`: reduced, compressed, with the EXIF of `exif_of`, or none. */
static void save_again(const char *from, const char *to, int step, int quality,
                       const char *exif_of) {
    char path[PATH_SIZE];
    scratch_path(&folder, from, path);
    decoded d = decode(path);
    blob exif = {0};
    if (exif_of != NULL) {
        scratch_path(&folder, exif_of, path);
        decoded other = decode(path);
        exif = other.exif;
        other.exif.bytes = NULL;
        decoded_free(&other);
    }
    if (step > 1)
        reduce(&d, step);
    scratch_path(&folder, to, path);
    encode(path, &d, quality, exif_of != NULL ? &exif : NULL);
    free(exif.bytes);
    decoded_free(&d);
}

/* `from` with its EXIF, as HEIC without loss; false where there is no encoder. */
static bool save_as_heic(const char *from, const char *to) {
    char path[PATH_SIZE];
    scratch_path(&folder, from, path);
    decoded d = decode(path);
    const size_t count = 3 * (size_t)d.width * (size_t)d.height;
    uint16_t *code = calloc(count, sizeof *code);
    assert_non_null(code);
    for (size_t i = 0; i < count; i++)
        code[i] = d.rgb[i];
    const heif_style style = {.format = heif_compression_HEVC, .bits = 8, .exif = &d.exif};
    blob file;
    const bool made = heif_make(&style, code, d.width, d.height, &file);
    if (made) {
        scratch_path(&folder, to, path);
        write_file(path, file.bytes, file.size);
        free(file.bytes);
    }
    free(code);
    decoded_free(&d);
    return made;
}

static void copy_file(const char *from, const char *to) {
    char path[PATH_SIZE];
    static char bytes[4000000];
    scratch_path(&folder, from, path);
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    const size_t size = fread(bytes, 1, sizeof bytes, file);
    assert_true(feof(file));
    fclose(file);
    scratch_path(&folder, to, path);
    write_file(path, bytes, size);
}

/* --- the pictures --- */

/* Three, one second apart, their times to a hundredth of a second or to a second. */
static void draw(const char *name, const char *noise, const char *subsec) {
    char scene[1024], path[PATH_SIZE], out[PATH_SIZE], message[TL_SIMULATE_MESSAGE_SIZE];
    snprintf(scene, sizeof scene,
             "{\"site\": {\"lat_deg\": 62.0, \"lon_deg\": -6.8}, \"day\": \"2026-08-12\","
             " \"defaults\": {\"width\": 1440, \"height\": 1080, \"sun_r_px\": 400,"
             " \"holding\": \"fixed\", \"quality\": 92, \"noise\": %s, %s},"
             " \"sets\": [{\"frames\": [{\"time\": \"max-1500\", \"file\": \"a1.jpg\"},"
             " {\"time\": \"max-1499\", \"file\": \"a2.jpg\"},"
             " {\"time\": \"max-1498\", \"file\": \"a3.jpg\"}]}]}",
             noise, subsec);
    scratch_path(&folder, "scene.json", path);
    write_text(path, scene);
    scratch_path(&folder, name, out);
    if (tl_simulate(path, out, message) != TL_OK)
        fail_msg("%s", message);
}

#define PHONE_NOISE "{\"full_well_e\": 8000, \"read_e\": 8, \"grain_px\": 1.2}"
#define LITTLE_NOISE "{\"full_well_e\": 60000, \"read_e\": 3}"
#define FINE_TIMES "\"clock\": {\"offset_s\": 0.37, \"write_subsec\": true}"
#define WHOLE_SECONDS "\"clock\": {\"offset_s\": 0.37}"

static void analyse_without(const char *name, bool keep_copies, const char *excluded,
                            tl_sequence *sequence) {
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    const char *argument = path, *bad = NULL;
    tl_file_list files;
    const tl_analyse_options options = {
        .track.sky = tl_sky_options_default(),
        .track.site = {.source = TL_SITE_GIVEN, .lat_rad = 62.0 * TL_DEG, .lon_rad = -6.8 * TL_DEG},
        .exclude = &excluded,
        .exclude_count = excluded != NULL,
        .keep_copies = keep_copies};
    assert_int_equal(tl_file_list_make(&argument, 1, &bad, &files), TL_OK);
    assert_int_equal(tl_analyse(&files, &options, sequence), TL_OK);
    tl_file_list_free(&files);
}

static void analyse(const char *name, bool keep_copies, tl_sequence *sequence) {
    analyse_without(name, keep_copies, NULL, sequence);
}

static const tl_sequence_frame *frame_of(const tl_sequence *s, const char *name) {
    for (size_t i = 0; i < s->count; i++)
        if (strcmp(strrchr(s->frame[i].path, '/') + 1, name) == 0)
            return &s->frame[i];
    fail_msg("there is no %s", name);
    return NULL;
}

static void expect_copy(const tl_sequence *s, const char *name, const char *of) {
    const tl_sequence_frame *frame = frame_of(s, name);
    if (!frame->is_copy || &s->frame[frame->copy_of] != frame_of(s, of))
        fail_msg("%s is not seen to be a copy of %s", name, of);
    assert_int_equal(frame->limb.status, TL_LIMB_UNUSABLE);
    assert_non_null(strstr(frame->limb.reason, of));
    assert_int_equal(frame_of(s, of)->limb.status, TL_LIMB_MEASURED);
}

static void expect_measured(const tl_sequence *s, const char *name) {
    const tl_sequence_frame *frame = frame_of(s, name);
    if (frame->is_copy)
        fail_msg("%s is taken for a copy", name);
    assert_int_equal(frame->limb.status, TL_LIMB_MEASURED);
}

static int setup(void **state) {
    (void)state;
    scratch_make(&folder);
    draw("phone", PHONE_NOISE, FINE_TIMES);
    draw("camera", PHONE_NOISE, WHOLE_SECONDS);
    draw("quiet", LITTLE_NOISE, WHOLE_SECONDS);
    return 0;
}

static int teardown(void **state) {
    (void)state;
    remove_tree(folder.folder);
    return 0;
}

static void put_folder(const char *name) {
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    assert_int_equal(mkdir(path, 0700), 0);
}

/* --- the tests --- */

/* The one with the plain name is used; a copy counts nowhere twice; it is shown with the time of
 * the picture. What cannot be read is not read twice either. */
static void the_same_bytes_are_used_once(void **state) {
    (void)state;
    tl_sequence s;
    put_folder("bytes");
    copy_file("phone/a1.jpg", "bytes/a1.jpg");
    copy_file("phone/a2.jpg", "bytes/a2.jpg");
    copy_file("phone/a1.jpg", "bytes/a1 (1).jpg");
    copy_file("phone/a1.jpg", "bytes/a1-kopie.jpg");
    char path[PATH_SIZE];
    scratch_path(&folder, "bytes/text.jpg", path);
    write_text(path, "no picture");
    scratch_path(&folder, "bytes/text-2.jpg", path);
    write_text(path, "no picture");
    scratch_path(&folder, "bytes/text-3.jpg", path);
    write_text(path, "no pictura"); /* as long */
    analyse("bytes", false, &s);
    expect_copy(&s, "a1 (1).jpg", "a1.jpg");
    expect_copy(&s, "a1-kopie.jpg", "a1.jpg");
    expect_measured(&s, "a2.jpg");
    const tl_sequence_frame *copy = frame_of(&s, "a1 (1).jpg"), *used = frame_of(&s, "a1.jpg");
    assert_int_equal(copy->info.width, used->info.width);
    assert_true(copy->info.time.source == TL_TIME_EXIF_SUBSEC &&
                copy->info.time.t_camera_s == used->info.time.t_camera_s);
    assert_int_equal(tl_sequence_copies(&s), 3);
    assert_int_equal(tl_sequence_count(&s, TL_LIMB_MEASURED), 2);
    assert_true(frame_of(&s, "text-2.jpg")->is_copy);
    assert_int_equal(frame_of(&s, "text-2.jpg")->limb.status, TL_LIMB_UNREADABLE);
    assert_false(frame_of(&s, "text.jpg")->is_copy || frame_of(&s, "text-3.jpg")->is_copy);
    tl_sequence_free(&s);
    analyse("bytes", true, &s);
    assert_int_equal(tl_sequence_copies(&s), 0);
    assert_int_equal(tl_sequence_count(&s, TL_LIMB_MEASURED), 4);
    tl_sequence_free(&s);
}

/* Whichever of the files of a picture is excluded, the picture has no say. */
static void a_picture_is_excluded_by_any_of_its_files(void **state) {
    (void)state;
    static const char *const same[] = {"a1.jpg", "a1 (1).jpg", "a1-again.jpg"};
    put_folder("doubtful");
    copy_file("phone/a1.jpg", "doubtful/a1.jpg");
    copy_file("phone/a1.jpg", "doubtful/a1 (1).jpg");
    save_again("phone/a1.jpg", "doubtful/a1-again.jpg", 1, 85, "phone/a1.jpg");
    copy_file("phone/a2.jpg", "doubtful/a2.jpg");
    for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
        tl_sequence s;
        analyse_without("doubtful", false, same[i], &s);
        for (size_t k = 0; k < sizeof same / sizeof same[0]; k++)
            if (k != i) {
                expect_copy(&s, same[k], same[i]);
                assert_non_null(strstr(frame_of(&s, same[k])->limb.reason, "which is excluded"));
            }
        assert_true(frame_of(&s, same[i])->excluded);
        expect_measured(&s, "a2.jpg");
        tl_sequence_free(&s);
    }
}

/* The name does not help: the camera's time and the pixels do. */
static void a_picture_saved_again_is_used_once(void **state) {
    (void)state;
    tl_sequence s;
    save_again("phone/a1.jpg", "phone/small.jpg", 3, 60, "phone/a1.jpg"); /* its time says so */
    save_again("phone/a1.jpg", "phone/again.jpg", 1, 85, "phone/a1.jpg");
    save_again("phone/a2.jpg", "phone/sent.jpg", 2, 80, NULL); /* through a messenger */
    save_again("phone/a3.jpg", "phone/plain.jpg", 1, 85, NULL);
    analyse("phone", false, &s);
    expect_copy(&s, "small.jpg", "a1.jpg");
    expect_copy(&s, "again.jpg", "a1.jpg");
    expect_copy(&s, "sent.jpg", "a2.jpg");
    expect_copy(&s, "plain.jpg", "a3.jpg");
    assert_int_equal(tl_sequence_count(&s, TL_LIMB_MEASURED), 3);
    tl_sequence_free(&s);
}

/* Nothing but the pixels: no EXIF at all, or of all the same second, by one camera. */
static void expect_a_burst(const char *from, const char *name, bool same_second) {
    static const char *const file[] = {"a1.jpg", "a2.jpg", "a3.jpg"};
    char source[64], target[64], exif[64];
    tl_sequence s;
    put_folder(name);
    snprintf(exif, sizeof exif, "%s/a1.jpg", from);
    for (int i = 0; i < 3; i++) {
        snprintf(source, sizeof source, "%s/%s", from, file[i]);
        snprintf(target, sizeof target, "%s/%s", name, file[i]);
        save_again(source, target, 1, 92, same_second ? exif : NULL);
        snprintf(target, sizeof target, "%s/half-%s", name, file[i]);
        if (i > 0)
            save_again(source, target, 2, 85, same_second ? exif : NULL);
    }
    analyse(name, false, &s);
    for (int i = 0; i < 3; i++) {
        char half[64];
        expect_measured(&s, file[i]);
        snprintf(half, sizeof half, "half-%s", file[i]);
        if (i > 0 && frame_of(&s, half)->is_copy) /* if of any, then of its own */
            expect_copy(&s, half, file[i]);
    }
    tl_sequence_free(&s);
}

static void a_burst_is_not_one_picture(void **state) {
    (void)state;
    expect_a_burst("camera", "burst", false);
    expect_a_burst("camera", "burst-second", true);
    expect_a_burst("quiet", "quiet-burst", false);
    expect_a_burst("quiet", "quiet-burst-second", true);
}

/* A clock with fractions, but all of a burst say the same one. */
static void one_instant_is_not_believed_against_the_pixels(void **state) {
    (void)state;
    expect_a_burst("phone", "stuck", true);
}

/* Frames of a dark sky, each with its own noise. */
static void dark_frames_are_not_copies(void **state) {
    (void)state;
    enum { W = 400, H = 300 };
    static uint8_t samples[W * H];
    const jpeg_style style = {.space = JCS_GRAYSCALE};
    unsigned random = 1;
    tl_sequence s;
    put_folder("dark");
    for (int k = 0; k < 3; k++) {
        char name[32], path[PATH_SIZE];
        for (int i = 0; i < W * H; i++) {
            random = random * 1664525u + 1013904223u; /* Numerical Recipes, 2nd edition, 7.1 */
            samples[i] = (uint8_t)(random >> 24 < 40 ? 1 : 0);
        }
        const blob jpeg = jpeg_make(&style, samples, W, H);
        snprintf(name, sizeof name, "dark/IMG_%d.jpg", k);
        scratch_path(&folder, name, path);
        write_file(path, jpeg.bytes, jpeg.size);
        free(jpeg.bytes);
    }
    analyse("dark", false, &s);
    assert_int_equal(tl_sequence_copies(&s), 0);
    tl_sequence_free(&s);
}

/* Fewer pixels with a time tell more than many without one. */
static void the_one_with_a_time_is_used(void **state) {
    (void)state;
    tl_sequence s;
    put_folder("timed");
    save_again("camera/a1.jpg", "timed/large.jpg", 1, 95, NULL);
    save_again("camera/a1.jpg", "timed/a-smaller-one.jpg", 2, 85, "camera/a1.jpg");
    analyse("timed", false, &s);
    expect_copy(&s, "large.jpg", "a-smaller-one.jpg");
    tl_sequence_free(&s);
}

/* A phone that keeps HEIC and hands over JPEG: of one shot, both in the folder; and one that went
 * through a messenger. The next shot is another picture. */
static void heic_and_jpeg_of_one_shot_are_one_picture(void **state) {
    (void)state;
    tl_sequence s;
    put_folder("kinds");
    if (!save_as_heic("phone/a1.jpg", "kinds/a1.heic") ||
        !save_as_heic("camera/a2.jpg", "kinds/a2.heic")) {
        print_message("passed over: no encoder of HEIC here\n");
        return;
    }
    save_again("phone/a1.jpg", "kinds/a1-handed-over.jpg", 1, 85, "phone/a1.jpg");
    save_again("camera/a2.jpg", "kinds/a2-sent.jpg", 2, 80, NULL);
    copy_file("camera/a3.jpg", "kinds/a3.jpg");
    analyse("kinds", false, &s);
    expect_copy(&s, "a1-handed-over.jpg", "a1.heic");
    expect_copy(&s, "a2-sent.jpg", "a2.heic");
    expect_measured(&s, "a3.jpg");
    assert_int_equal(tl_sequence_copies(&s), 2);
    tl_sequence_free(&s);
}

/* A Sun with the same noise each time, and the Moon this far on, px. Two scales of blocks of noise,
 * so that it is seen in cells of any size. */
enum { DRAWN_SIDE = 800 };
static const double drawn_sun[3] = {400.3, 398.8, 280.0};
static void draw_moved(const char *name, double moved_px) {
    static uint8_t samples[DRAWN_SIDE * DRAWN_SIDE];
    static float noise[DRAWN_SIDE * DRAWN_SIDE];
    const double moon[3] = {520.0 + moved_px, 300.0, 275.0};
    uint32_t random = 5;
    for (int step = 2; step <= 8; step *= 4)
        for (int y = 0; y < DRAWN_SIDE; y += step)
            for (int x = 0; x < DRAWN_SIDE; x += step) {
                const float value = (float)(next_random(&random) >> 24) / 128.0F - 1.0F;
                for (int i = 0; i < step * step; i++) {
                    float *at = &noise[(y + i / step) * DRAWN_SIDE + x + i % step];
                    *at = step == 2 ? value : *at + value;
                }
            }
    for (int y = 0; y < DRAWN_SIDE; y++)
        for (int x = 0; x < DRAWN_SIDE; x++) {
            const double r = fmin(hypot(x - drawn_sun[0], y - drawn_sun[1]) / drawn_sun[2], 1.0);
            const double light = drawn_eclipse(x, y, drawn_sun, moon);
            samples[y * DRAWN_SIDE + x] =
                (uint8_t)lround(15.0 + light * (110.0 + 80.0 * sqrt(1.0 - r * r) +
                                                3.0 * (double)noise[y * DRAWN_SIDE + x]));
        }
    const jpeg_style style = {.space = JCS_GRAYSCALE};
    const blob jpeg = jpeg_make(&style, samples, DRAWN_SIDE, DRAWN_SIDE);
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    write_file(path, jpeg.bytes, jpeg.size);
    free(jpeg.bytes);
}

/* The grain says that these are one picture: the Moon's way alone speaks against it. Two seconds of
 * it at its slowest (SECOND_SR in analyse_copies.c) are 8e-4 solar radii. */
static void the_same_grain_with_the_moon_moved_is_another_picture(void **state) {
    (void)state;
    const double moved_px = 8e-4 * drawn_sun[2];
    tl_sequence s;
    put_folder("moved");
    draw_moved("moved/first.jpg", 0.0);
    draw_moved("moved/moved.jpg", moved_px);
    save_again("moved/first.jpg", "moved/first-again.jpg", 1, 95, NULL);
    analyse("moved", false, &s);
    const tl_sequence_frame *first = frame_of(&s, "first.jpg"), *moved = frame_of(&s, "moved.jpg");
    const tl_likeness likeness = tl_analyse_likeness(first, moved);
    assert_true(likeness.known && likeness.grain > 0.9);
    assert_true(likeness.moved_known);
    check_near(likeness.moved_px, moved_px, 0.05); /* drawn by 8 x 8 samples a pixel */
    check_near(likeness.sun_r_px, drawn_sun[2], 0.5);
    expect_copy(&s, "first-again.jpg", "first.jpg");
    expect_measured(&s, "moved.jpg");
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_same_bytes_are_used_once),
        cmocka_unit_test(a_picture_is_excluded_by_any_of_its_files),
        cmocka_unit_test(a_picture_saved_again_is_used_once),
        cmocka_unit_test(a_burst_is_not_one_picture),
        cmocka_unit_test(one_instant_is_not_believed_against_the_pixels),
        cmocka_unit_test(dark_frames_are_not_copies),
        cmocka_unit_test(the_one_with_a_time_is_used),
        cmocka_unit_test(heic_and_jpeg_of_one_shot_are_one_picture),
        cmocka_unit_test(the_same_grain_with_the_moon_moved_is_another_picture),
    };
    return cmocka_run_group_tests_name("analyse_copies", tests, setup, teardown);
}
