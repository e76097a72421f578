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
        "day/IMG_10.jpg",    "day/IMG_9.JPG", "day/b.jpeg",   "day/a.Jpe",
        "day/c.PNG",         "day/jpg",       "day/.hid.jpg", "day/d.jpg.txt",
        "day/sub.jpg/x.jpg", "noending",      "day/e.tif",    "day/f.TIFF",
        "day/g.heic",        "day/h.HEIF",    "day/i.hif",    "day/j.avif"};
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
    static const char *const expected[] = {
        "day/IMG_9.JPG", "day/IMG_10.jpg", "day/a.Jpe",  "day/b.jpeg", "day/c.PNG", "day/e.tif",
        "day/f.TIFF",    "day/g.heic",     "day/h.HEIF", "day/i.hif",  "day/j.avif"};
    enum { COUNT = sizeof expected / sizeof *expected };
    const char *bad = NULL;
    tl_file_list files = {0};
    assert_int_equal(list(arguments, 1, &bad, &files), TL_OK);
    expect(&files, expected, COUNT);
    tl_file_list_free(&files);
    assert_null(files.path);
    tl_file_list_free(&files);
    /* A slash at the end changes nothing. */
    static const char *const with_slash[] = {"day/"};
    assert_int_equal(list(with_slash, 1, &bad, &files), TL_OK);
    expect(&files, expected, COUNT);
    tl_file_list_free(&files);
}

static void a_file_named_itself_is_taken(void **state) {
    (void)state;
    static const char *const arguments[] = {"noending", "day/d.jpg.txt", "day/.hid.jpg"};
    static const char *const expected[] = {"day/.hid.jpg", "day/d.jpg.txt", "noending"};
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
                                           "day/a.Jpe",         "day/c.PNG",     "day/e.tif",
                                           "day/f.TIFF",        "day/g.heic",    "day/h.HEIF",
                                           "day/i.hif",         "day/j.avif"};
    const char *bad = NULL;
    tl_file_list files = {0};
    assert_int_equal(list(arguments, 5, &bad, &files), TL_OK);
    expect(&files, expected, sizeof expected / sizeof *expected);
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
    char path[PATH_SIZE];
    const char *bad = NULL;
    tl_file_list files = {.count = 7};
    assert_int_equal(list(arguments, 3, &bad, &files), TL_ERR_OPEN);
    scratch_path(&folder, "nowhere.jpg", path);
    assert_string_equal(bad, path);
    assert_int_equal(files.count, 7);
    assert_null(files.path);
}

/* Each would hang or confuse a reader that opened it. What is called a picture has a row, also a
 * link whose other end is not there; a pipe is none. Named itself anything is taken that is there.
 */
static void odd_things_in_a_folder_are_told_apart(void **state) {
    (void)state;
    char path[PATH_SIZE], other[PATH_SIZE];
    put_folder("odd");
    put_folder("odd/folder.jpg");
    scratch_path(&folder, "odd/pipe.jpg", path);
    assert_int_equal(mkfifo(path, 0600), 0);
    scratch_path(&folder, "odd/dangling.jpg", path);
    assert_int_equal(symlink("nowhere.jpg", path), 0);
    scratch_path(&folder, "odd/round.jpg", path);
    assert_int_equal(symlink("round.jpg", path), 0); /* to itself */
    scratch_path(&folder, "odd/linked.jpg", path);
    scratch_path(&folder, "noending", other);
    assert_int_equal(symlink(other, path), 0);
    put("odd/new\nline \033[31m\xff.jpg");
    static const char *const arguments[] = {"odd", "odd/pipe.jpg"}, *const alone[] = {"odd"};
    static const char *const expected[] = {"odd/dangling.jpg", "odd/linked.jpg",
                                           "odd/new\nline \033[31m\xff.jpg", "odd/pipe.jpg",
                                           "odd/round.jpg"};
    const char *bad = NULL;
    tl_file_list files = {0};
    assert_int_equal(list(arguments, 2, &bad, &files), TL_OK);
    expect(&files, expected, 5);
    assert_int_equal(files.passed[TL_PASSED_OTHER].count, 0);
    assert_int_equal(files.passed[TL_PASSED_FOLDER].count, 1);
    for (size_t i = 0; i < files.count; i++) { /* and reading them says so, at once */
        tl_image image;
        tl_frame_info info;
        const tl_status status = tl_frame_read(files.path[i], &image, &info);
        const bool plain = i == 1 || i == 2; /* "any bytes" */
        assert_int_equal(status, plain ? TL_ERR_NOT_PICTURE : TL_ERR_OPEN);
    }
    tl_file_list_free(&files);
    assert_int_equal(list(alone, 1, &bad, &files), TL_OK);
    assert_int_equal(files.count, 4);
    assert_int_equal(files.passed[TL_PASSED_OTHER].count, 1);
    scratch_path(&folder, "odd/pipe.jpg", path);
    assert_string_equal(files.passed[TL_PASSED_OTHER].first, path);
    tl_file_list_free(&files);
}

/* What a camera roll holds beside pictures. */
static void what_is_passed_over_is_counted_or_silent(void **state) {
    (void)state;
    static const struct {
        const char *name;
        int kind; /* -1: silent */
    } on[] = {
        {"roll/IMG_1.MOV", -1},      /* of a live photo */
        {"roll/img_1.cr2", -1},      /* raw beside JPEG, whatever the case */
        {"roll/IMG_1.JPG.side", -1}, /* a name and a further ending */
        {"roll/PXL_2.MP", -1},       /* of PXL_2.MP.jpg */
        {"roll/IMG_1.AAE", -1},
        {"roll/lost.xmp", -1},
        {"roll/truth.csv", -1},
        {"roll/.DS_Store", -1},
        {"roll/IMG_10.MOV", TL_PASSED_FILM}, /* of no picture: IMG_1 is another */
        {"roll/IMG_11.mp4", TL_PASSED_FILM},
        {"roll/DSC_1.NEF", TL_PASSED_RAW},
        {"roll/DSC_2.dng", TL_PASSED_RAW},
        {"roll/DSC_3.Arw", TL_PASSED_RAW},
        {"roll/pic.webp", TL_PASSED_PICTURE},
        {"roll/pic.bmp", TL_PASSED_PICTURE},
        {"roll/paper.pdf", TL_PASSED_OTHER},
        {"roll/noending", TL_PASSED_OTHER},
    };
    size_t expected[TL_PASSED_KINDS] = {0};
    put_folder("roll");
    put("roll/IMG_1.JPG");
    put("roll/PXL_2.MP.jpg");
    for (size_t i = 0; i < sizeof on / sizeof *on; i++) {
        put(on[i].name);
        if (on[i].kind >= 0)
            expected[on[i].kind]++;
    }
    static const char *const arguments[] = {"roll"};
    const char *bad = NULL;
    tl_file_list files = {0};
    assert_int_equal(list(arguments, 1, &bad, &files), TL_OK);
    assert_int_equal(files.count, 2);
    for (int kind = 0; kind < TL_PASSED_KINDS; kind++)
        assert_int_equal(files.passed[kind].count, expected[kind]);
    char path[PATH_SIZE];
    scratch_path(&folder, "roll/DSC_1.NEF", path);
    assert_string_equal(files.passed[TL_PASSED_RAW].first, path);
    tl_file_list_free(&files);
}

static bool is_called_out(const char *in, const char *name) {
    (void)in;
    return strcmp(name, "out") == 0;
}

/* Folders in folders; not through links, which could lead round; not the caller's own. */
static void a_walk_looks_into_all_folders(void **state) {
    (void)state;
    char path[PATH_SIZE], argument[PATH_SIZE];
    static const char *const folders[] = {"deep", "deep/a", "deep/a/b", "deep/a/.b", "deep/out"};
    static const char *const names[] = {"deep/z.jpg", "deep/a/y.jpg", "deep/a/b/x.jpg",
                                        "deep/a/.b/hidden.jpg", "deep/out/own.jpg"};
    static const char *const expected[] = {"deep/a/b/x.jpg", "deep/a/y.jpg", "deep/z.jpg"};
    for (size_t i = 0; i < sizeof folders / sizeof *folders; i++)
        put_folder(folders[i]);
    for (size_t i = 0; i < sizeof names / sizeof *names; i++)
        put(names[i]);
    scratch_path(&folder, "deep/a/b/up", path);
    assert_int_equal(symlink("../..", path), 0);
    scratch_path(&folder, "deep", argument);
    const char *const arguments[] = {argument};
    const char *bad = NULL;
    const tl_file_walk how = {.recursive = true, .is_own = is_called_out};
    tl_file_list files = {0};
    assert_int_equal(tl_file_list_walk(arguments, 1, &how, &bad, &files), TL_OK);
    expect(&files, expected, 3);
    assert_int_equal(files.passed[TL_PASSED_FOLDER].count, 1); /* the link */
    tl_file_list_free(&files);
    /* The caller's own is no input when named either. */
    scratch_path(&folder, "deep/out/", argument);
    assert_int_equal(tl_file_list_walk(arguments, 1, &how, &bad, &files), TL_OK);
    assert_int_equal(files.count, 0);
    tl_file_list_free(&files);
}

/* Deeper than any camera puts them: an end must be somewhere, and is told. */
static void a_walk_has_an_end(void **state) {
    (void)state;
    enum { DEEP = 40, LIMIT = 32 };
    char name[PATH_SIZE / 2] = "pit", argument[PATH_SIZE];
    put_folder(name);
    for (int i = 1; i <= DEEP; i++) {
        char file[PATH_SIZE];
        snprintf(file, sizeof file, "%s/%d.jpg", name, i);
        put(file);
        strcat(name, "/p");
        put_folder(name);
    }
    scratch_path(&folder, "pit", argument);
    const char *const arguments[] = {argument};
    const char *bad = NULL;
    tl_file_list files = {0};
    assert_int_equal(
        tl_file_list_walk(arguments, 1, &(tl_file_walk){.recursive = true}, &bad, &files), TL_OK);
    assert_int_equal(files.count, LIMIT);
    assert_int_equal(files.passed[TL_PASSED_CLOSED].count, 1);
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
        cmocka_unit_test(odd_things_in_a_folder_are_told_apart),
        cmocka_unit_test(what_is_passed_over_is_counted_or_silent),
        cmocka_unit_test(a_walk_looks_into_all_folders),
        cmocka_unit_test(a_walk_has_an_end),
        cmocka_unit_test(many_files_come_in_order),
    };
    return cmocka_run_group_tests_name("frame_files", tests, setup, teardown);
}
