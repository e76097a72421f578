/*
 * test_frame_files.c - files and folders to the list of pictures.
 */
#include "picture.h"

static scratch folder;

static void put(const char *name) {
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    write_text(path, "any bytes");
}

static void put_folder(const char *name) {
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    assert_int_equal(mkdir(path, 0700), 0);
}

static int setup(void **state) {
    (void)state;
    scratch_make(&folder);
    put_folder("day");
    put_folder("day/sub.jpg"); /* a folder with the name of a picture */
    put_folder("empty");
    static const char *const names[] = {
        "day/IMG_10.jpg", "day/IMG_9.JPG", "day/b.jpeg",    "day/a.Jpe",         "day/c.png",
        "day/jpg",        "day/.hid.jpg",  "day/d.jpg.txt", "day/sub.jpg/x.jpg", "noending"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++)
        put(names[i]);
    return 0;
}

static int teardown(void **state) {
    (void)state;
    remove_tree(folder.folder);
    return 0;
}

/* Paths below the scratch folder in, names below it out. */
static tl_status list(const char *const *names, size_t count, const char **bad,
                      tl_file_list *files) {
    static char path[8][PATH_SIZE];
    const char *argument[8];
    for (size_t i = 0; i < count; i++) {
        scratch_path(&folder, names[i], path[i]);
        argument[i] = path[i];
    }
    return tl_file_list_make(argument, count, bad, files);
}

static void expect(const tl_file_list *files, const char *const *names, size_t count) {
    assert_int_equal(files->count, count);
    for (size_t i = 0; i < count; i++) {
        char path[PATH_SIZE];
        scratch_path(&folder, names[i], path);
        assert_string_equal(files->path[i], path);
    }
}

static void a_folder_stands_for_its_pictures(void **state) {
    (void)state;
    static const char *const arguments[] = {"day"};
    /* Numbers by value: 9 before 10. */
    static const char *const expected[] = {"day/IMG_9.JPG", "day/IMG_10.jpg", "day/a.Jpe",
                                           "day/b.jpeg"};
    const char *bad = NULL;
    tl_file_list files = {0};
    assert_int_equal(list(arguments, 1, &bad, &files), TL_OK);
    expect(&files, expected, 4);
    tl_file_list_free(&files);
    assert_null(files.path);
    tl_file_list_free(&files);
    /* A slash at the end changes nothing. */
    static const char *const with_slash[] = {"day/"};
    assert_int_equal(list(with_slash, 1, &bad, &files), TL_OK);
    expect(&files, expected, 4);
    tl_file_list_free(&files);
}

static void a_file_named_itself_is_taken(void **state) {
    (void)state;
    static const char *const arguments[] = {"noending", "day/c.png", "day/.hid.jpg"};
    static const char *const expected[] = {"day/.hid.jpg", "day/c.png", "noending"};
    const char *bad = NULL;
    tl_file_list files = {0};
    assert_int_equal(list(arguments, 3, &bad, &files), TL_OK);
    expect(&files, expected, 3);
    tl_file_list_free(&files);
}

static void no_file_comes_twice(void **state) {
    (void)state;
    char file[PATH_SIZE], other[PATH_SIZE];
    scratch_path(&folder, "day/b.jpeg", file);
    scratch_path(&folder, "z-same.jpg", other);
    assert_int_equal(symlink(file, other), 0);
    scratch_path(&folder, "y-same.jpg", other);
    assert_int_equal(link(file, other), 0);
    static const char *const arguments[] = {"z-same.jpg", "y-same.jpg", "day/b.jpeg", "day",
                                            "day/../day/b.jpeg"};
    static const char *const expected[] = {"day/../day/b.jpeg", "day/IMG_9.JPG", "day/IMG_10.jpg",
                                           "day/a.Jpe"};
    const char *bad = NULL;
    tl_file_list files = {0};
    assert_int_equal(list(arguments, 5, &bad, &files), TL_OK);
    expect(&files, expected, 4);
    tl_file_list_free(&files);
}

static void an_empty_folder_is_an_empty_list(void **state) {
    (void)state;
    static const char *const arguments[] = {"empty"};
    const char *bad = NULL;
    tl_file_list files = {.count = 7};
    assert_int_equal(list(arguments, 1, &bad, &files), TL_OK);
    assert_int_equal(files.count, 0);
    tl_file_list_free(&files);
    assert_int_equal(tl_file_list_make(NULL, 0, &bad, &files), TL_OK);
    assert_int_equal(files.count, 0);
    tl_file_list_free(&files);
}

static void what_is_not_there_is_named(void **state) {
    (void)state;
    static const char *const arguments[] = {"day", "nowhere.jpg", "empty"};
    char path[PATH_SIZE], dangling[PATH_SIZE];
    const char *bad = NULL;
    tl_file_list files = {.count = 7};
    assert_int_equal(list(arguments, 3, &bad, &files), TL_ERR_OPEN);
    scratch_path(&folder, "nowhere.jpg", path);
    assert_string_equal(bad, path);
    assert_int_equal(files.count, 7);
    assert_null(files.path);
    /* A link to nowhere: not there when named, passed over in a folder. */
    scratch_path(&folder, "empty/dangling.jpg", dangling);
    assert_int_equal(symlink(path, dangling), 0);
    static const char *const link_itself[] = {"empty/dangling.jpg"}, *const its_folder[] = {
                                                                         "empty"};
    assert_int_equal(list(link_itself, 1, &bad, &files), TL_ERR_OPEN);
    assert_int_equal(list(its_folder, 1, &bad, &files), TL_OK);
    assert_int_equal(files.count, 0);
    tl_file_list_free(&files);
}

/* More files than the first room, shuffled, in order of their numbers afterwards. */
static void many_files_come_in_order(void **state) {
    (void)state;
    enum { MANY = 150 };
    char name[32], path[PATH_SIZE];
    put_folder("many");
    for (int i = 0; i < MANY; i++) {
        snprintf(name, sizeof name, "many/f%d.jpg", i * 77 % MANY);
        put(name);
    }
    static const char *const arguments[] = {"many"};
    const char *bad = NULL;
    tl_file_list files = {0};
    assert_int_equal(list(arguments, 1, &bad, &files), TL_OK);
    assert_int_equal(files.count, MANY);
    for (int i = 0; i < MANY; i++) {
        snprintf(name, sizeof name, "many/f%d.jpg", i);
        scratch_path(&folder, name, path);
        assert_string_equal(files.path[i], path);
    }
    tl_file_list_free(&files);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_folder_stands_for_its_pictures),
        cmocka_unit_test(a_file_named_itself_is_taken),
        cmocka_unit_test(no_file_comes_twice),
        cmocka_unit_test(an_empty_folder_is_an_empty_list),
        cmocka_unit_test(what_is_not_there_is_named),
        cmocka_unit_test(many_files_come_in_order),
    };
    return cmocka_run_group_tests_name("frame_files", tests, setup, teardown);
}
