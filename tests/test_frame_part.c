/*
 * test_frame_part.c - parts of a JPEG read again: the same pixels as in the whole picture, at the
 * place they say, however the camera was held and however far they are reduced.
 */
#include "formats.h"

enum { FILE_W = 3 * SQUARE, FILE_H = 2 * SQUARE };

/* The stored letters, in a file that says how they are to be turned. */
static void write_letters(const char *path, int orientation) {
    uint8_t sample[FILE_W * FILE_H];
    for (int y = 0; y < FILE_H; y++)
        for (int x = 0; x < FILE_W; x++)
            sample[y * FILE_W + x] = stored_letter_code(x, y);
    blob b = jpeg_turned(JCS_GRAYSCALE, sample, FILE_W, FILE_H, orientation);
    write_file(path, b.bytes, b.size);
    free(b.bytes);
}

/* Every pixel of the part shows the letter that stands where it says it lies. */
static void check_part(const tl_image *part, const double corner[4], int orientation, int width,
                       int height) {
    const int side = 1 << part->halvings;
    const double left = tl_image_to_file(part, part->left, 0) - 0.5 * (side - 1);
    const double top = tl_image_to_file(part, part->top, 0) - 0.5 * (side - 1);
    assert_true(left >= 0 && top >= 0);
    assert_true(left <= fmax(corner[0], 0) && top <= fmax(corner[1], 0));
    assert_true(left + side * part->width - 1 >= fmin(corner[2], width - 1));
    assert_true(top + side * part->height - 1 >= fmin(corner[3], height - 1));
    assert_true(left + side * part->width <= width && top + side * part->height <= height);
    for (int y = 0; y < part->height; y++)
        for (int x = 0; x < part->width; x++) {
            const int file_x = (int)tl_image_to_file(part, part->left, x);
            const int file_y = (int)tl_image_to_file(part, part->top, y);
            const char letter = shown_letters[orientation][file_y / SQUARE][file_x / SQUARE];
            check_near(light_at(part, x, y, 0), 65535 * iec_linear(letter_code(letter) / 255.0),
                       rounding);
        }
}

/* Squares of 16 px are flat blocks of 8 x 8, which stay flat however far they are reduced. */
static void a_part_lies_where_it_says(void **state) {
    (void)state;
    static const double corners[][4] = {{10, 7, 27, 25},
                                        {-5, -9, 20, 3},
                                        {30, 17, 90, 90},
                                        {-HUGE_VAL, -HUGE_VAL, HUGE_VAL, HUGE_VAL}};
    scratch s;
    char path[PATH_SIZE];
    scratch_make(&s);
    scratch_path(&s, "letters.jpg", path);
    for (int orientation = 1; orientation <= 8; orientation++) {
        const bool lying = orientation >= 5;
        write_letters(path, orientation);
        for (int halvings = 0; halvings <= 3; halvings++) {
            for (size_t i = 0; i < sizeof corners / sizeof corners[0]; i++) {
                const double *c = corners[i];
                tl_image part;
                assert_int_equal(tl_frame_read_part(path, c[0], c[1], c[2], c[3], halvings, &part),
                                 TL_OK);
                assert_int_equal(part.halvings, halvings);
                check_part(&part, c, orientation, lying ? FILE_H : FILE_W, lying ? FILE_W : FILE_H);
                tl_image_free(&part);
            }
        }
    }
    remove_tree(s.folder);
}

static void what_is_no_part_is_refused(void **state) {
    (void)state;
    scratch s;
    char path[PATH_SIZE];
    tl_image part = {.width = -7};
    scratch_make(&s);
    scratch_path(&s, "letters.jpg", path);
    write_letters(path, 1);
    assert_int_equal(tl_frame_read_part(path, 0, 0, 9, 9, -1, &part), TL_ERR_ARGUMENT);
    assert_int_equal(tl_frame_read_part(path, 0, 0, 9, 9, 4, &part), TL_ERR_ARGUMENT);
    assert_int_equal(tl_frame_read_part(path, 60, 0, 90, 9, 0, &part), TL_ERR_ARGUMENT);
    assert_int_equal(tl_frame_read_part(path, 0, 40, 9, 90, 0, &part), TL_ERR_ARGUMENT);
    assert_int_equal(tl_frame_read_part(path, -90, 0, -60, 9, 0, &part), TL_ERR_ARGUMENT);
    assert_int_equal(tl_frame_read_part("no such file", 0, 0, 9, 9, 0, &part), TL_ERR_OPEN);
    write_text(path, "this is no picture");
    assert_int_equal(tl_frame_read_part(path, 0, 0, 9, 9, 0, &part), TL_ERR_NOT_PICTURE);
    assert_int_equal(part.width, -7);
    remove_tree(s.folder);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_part_lies_where_it_says),
        cmocka_unit_test(what_is_no_part_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
