/*
 * The output folder: whole or not at all, and nothing lost that is not ours.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include <dirent.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include "report/report_internal.h"
#include "test_report_series.h"

/* A folder of its own for each test; the working folder is in it meanwhile. */
static char home[] = "/tmp/twolimb-test-XXXXXX";

static void remove_tree(const char *path) {
    struct stat info;
    if (lstat(path, &info) == 0 && S_ISDIR(info.st_mode)) {
        DIR *dir = opendir(path);
        for (struct dirent *e = dir ? readdir(dir) : NULL; e; e = readdir(dir)) {
            char below[1024];
            snprintf(below, sizeof below, "%s/%s", path, e->d_name);
            if (strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0)
                remove_tree(below);
        }
        if (dir)
            closedir(dir);
        rmdir(path);
    } else {
        unlink(path);
    }
}

static int set_up(void **state) {
    (void)state;
    strcpy(home + strlen(home) - 6, "XXXXXX");
    return mkdtemp(home) && chdir(home) == 0 ? 0 : -1;
}

static int tear_down(void **state) {
    (void)state;
    if (chdir("/") != 0)
        return -1;
    remove_tree(home);
    return 0;
}

static size_t entries(const char *folder) {
    size_t n = 0;
    DIR *dir = opendir(folder);
    assert_non_null(dir);
    while (readdir(dir))
        n++;
    closedir(dir);
    return n - 2; /* . and .. */
}

static void put(const char *path, const char *content) {
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    fputs(content, file);
    assert_int_equal(fclose(file), 0);
}

static bool holds(const char *path, const char *content) {
    char text[4096] = "";
    FILE *file = fopen(path, "r");
    if (!file)
        return false;
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    return strstr(text, content) != NULL;
}

static tl_status write_scope(const char *folder, tl_report_scope scope) {
    tl_sequence s = series_solved();
    const tl_status status = tl_report_write(&s, folder, scope, 0);
    tl_sequence_free(&s);
    return status;
}

static tl_status write_solved(const char *folder) {
    return write_scope(folder, TL_REPORT_WHOLE);
}

/* Every output of the list is there, and nothing else. */
static void assert_whole(const char *folder) {
    const off_t least = 100; /* bytes; no spots: a row of names */
    assert_int_equal(entries(folder), tl_report_output_count);
    for (size_t i = 0; i < tl_report_output_count; i++) {
        char path[1024];
        struct stat info;
        snprintf(path, sizeof path, "%s/%s", folder, tl_report_outputs[i].name);
        assert_int_equal(stat(path, &info), 0);
        assert_true(S_ISDIR(info.st_mode) ? entries(path) > 0 : info.st_size > least);
    }
    char limbs[1024];
    snprintf(limbs, sizeof limbs, "%s/limbs", folder);
    assert_int_equal(entries(limbs), SERIES_FRAMES);
}

static void new_folder_is_made_whole(void **state) {
    (void)state;
    assert_int_equal(tl_report_check("out"), TL_OK);
    assert_int_equal(entries("."), 0); /* the check leaves nothing */
    assert_int_equal(write_solved("out"), TL_OK);
    assert_whole("out");
    assert_int_equal(entries("."), 1);
}

static void empty_folder_is_taken(void **state) {
    (void)state;
    assert_int_equal(mkdir("out", 0777), 0);
    assert_int_equal(tl_report_check("out//"), TL_OK);
    assert_int_equal(write_solved("out//"), TL_OK);
    assert_whole("out");
    assert_int_equal(entries("."), 1);
}

static void earlier_result_is_replaced(void **state) {
    (void)state;
    tl_sequence s = series_nothing();
    assert_int_equal(tl_report_write(&s, "out", TL_REPORT_WHOLE, 0), TL_OK);
    tl_sequence_free(&s);
    assert_true(holds("out/frames.csv", "Reason 0"));
    assert_int_equal(tl_report_check("out"), TL_OK);
    assert_int_equal(write_solved("out"), TL_OK);
    assert_false(holds("out/frames.csv", "Reason 0"));
    assert_whole("out");
    assert_int_equal(entries("."), 1);
}

/* The tables are the same with and without the rest, which can follow later. */
static void tables_come_alone(void **state) {
    (void)state;
    static const char *const tables[] = {"series.csv", "frames.csv", "spots.csv", "sequence.json"};
    enum { TABLES = sizeof tables / sizeof *tables, SIZE = 1 << 20 };
    char *const text[] = {calloc(SIZE, 1), calloc(SIZE, 1)};
    assert_int_equal(write_solved("whole"), TL_OK);
    assert_int_equal(write_scope("few", TL_REPORT_TABLES), TL_OK);
    assert_int_equal(entries("few"), TABLES);
    for (size_t i = 0; i < TABLES; i++) {
        for (int k = 0; k < 2; k++) {
            char path[64];
            snprintf(path, sizeof path, "%s/%s", k == 0 ? "whole" : "few", tables[i]);
            FILE *file = fopen(path, "r");
            assert_non_null(file);
            text[k][fread(text[k], 1, SIZE - 1, file)] = '\0';
            fclose(file);
        }
        assert_string_equal(text[0], text[1]);
    }
    free(text[0]);
    free(text[1]);
    assert_int_equal(tl_report_check("few"), TL_OK);
    assert_int_equal(write_solved("few"), TL_OK);
    assert_whole("few");
}

/* Refused by both, with everything as it was. */
static void assert_refused(const char *folder, tl_status expected) {
    assert_int_equal(tl_report_check(folder), expected);
    assert_int_equal(write_solved(folder), expected);
}

static void foreign_files_are_never_lost(void **state) {
    (void)state;
    assert_int_equal(mkdir("photos", 0777), 0);
    put("photos/IMG_0001.JPG", "a picture");
    assert_refused("photos", TL_ERR_ARGUMENT);
    assert_true(holds("photos/IMG_0001.JPG", "a picture"));
    assert_int_equal(write_solved("out"), TL_OK);
    put("out/notes.txt", "my own words");
    assert_refused("out", TL_ERR_ARGUMENT);
    assert_true(holds("out/notes.txt", "my own words"));
    assert_int_equal(entries("out"), tl_report_output_count + 1);
    assert_int_equal(entries("."), 2);
}

static void foreign_files_among_the_limbs_are_never_lost(void **state) {
    (void)state;
    assert_int_equal(write_solved("out"), TL_OK);
    put("out/limbs/notes.txt", "my own words");
    assert_refused("out", TL_ERR_ARGUMENT);
    assert_true(holds("out/limbs/notes.txt", "my own words"));
    unlink("out/limbs/notes.txt");
    assert_int_equal(mkdir("out/limbs/001-folder.jpg", 0777), 0);
    assert_refused("out", TL_ERR_ARGUMENT);
    assert_int_equal(mkdir("other", 0777), 0);
    assert_int_equal(mkdir("other/limbs", 0777), 0);
    assert_refused("other", TL_ERR_ARGUMENT); /* no result of ours around it */
    assert_int_equal(entries("."), 2);
}

static void a_result_of_others_is_not_taken_for_ours(void **state) {
    (void)state;
    assert_int_equal(mkdir("other", 0777), 0);
    put("other/sequence.json", "{\"program\": \"another\"}");
    assert_refused("other", TL_ERR_ARGUMENT);
    put("other/sequence.json", "");
    assert_refused("other", TL_ERR_ARGUMENT);
    unlink("other/sequence.json");
    put("other/frames.csv", "our name, no sequence.json beside it");
    assert_refused("other", TL_ERR_ARGUMENT);
    assert_int_equal(entries("other"), 1);
}

static void only_plain_files_count_as_ours(void **state) {
    (void)state;
    assert_int_equal(write_solved("out"), TL_OK);
    put("precious", "linked to");
    unlink("out/path.svg");
    assert_int_equal(symlink("../precious", "out/path.svg"), 0);
    assert_refused("out", TL_ERR_ARGUMENT);
    unlink("out/path.svg");
    assert_int_equal(mkdir("out/path.svg", 0777), 0);
    assert_refused("out", TL_ERR_ARGUMENT);
    assert_true(holds("precious", "linked to"));
}

static void odd_targets_are_refused(void **state) {
    (void)state;
    assert_refused(".", TL_ERR_ARGUMENT); /* empty, but somebody stands in it */
    put("file", "not a folder");
    assert_refused("file", TL_ERR_ARGUMENT);
    assert_refused("", TL_ERR_ARGUMENT);
    assert_refused("missing/out", TL_ERR_WRITE);
    assert_refused("file/out", TL_ERR_WRITE);
    assert_int_equal(symlink("nowhere", "dangling"), 0);
    assert_refused("dangling", TL_ERR_WRITE);
    assert_true(holds("file", "not a folder"));
    assert_int_equal(entries("."), 2);
}

/* The link stays, what it leads to is replaced. */
static void link_to_a_folder_is_followed(void **state) {
    (void)state;
    struct stat info;
    assert_int_equal(mkdir("real", 0777), 0);
    assert_int_equal(symlink("real", "link"), 0);
    assert_int_equal(write_solved("link"), TL_OK);
    assert_whole("real");
    assert_int_equal(lstat("link", &info), 0);
    assert_true(S_ISLNK(info.st_mode));
    assert_int_equal(entries("."), 2);
}

/* The page is far longer than this limit on the size of a file, so writing fails half-way. */
static void failed_write_changes_nothing(void **state) {
    (void)state;
    enum { LIMIT = 30000 }; /* bytes: the table fits, the drawing does not */
    tl_sequence s = series_nothing();
    assert_int_equal(tl_report_write(&s, "out", TL_REPORT_WHOLE, 0), TL_OK);
    tl_sequence_free(&s);
    struct rlimit before, small;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    small = before;
    small.rlim_cur = LIMIT;
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    const size_t files = entries("out");
    const tl_status replaced = write_solved("out"), fresh = write_solved("new");
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    assert_int_equal(replaced, TL_ERR_WRITE);
    assert_int_equal(fresh, TL_ERR_WRITE);
    assert_int_equal(entries("out"), files);
    assert_true(holds("out/frames.csv", "Reason 0"));
    assert_int_equal(entries("."), 1);
}

static off_t size_of(const char *path) {
    struct stat info;
    assert_int_equal(stat(path, &info), 0);
    return info.st_size;
}

/* The limit lies below the first frame's picture, so that the failure finds files in a folder
 * within the folder. */
static void failed_picture_changes_nothing(void **state) {
    (void)state;
    assert_int_equal(write_solved("out"), TL_OK);
    struct rlimit before, small;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    small = before;
    small.rlim_cur = (rlim_t)size_of("out/limbs/001-IMG_0001.jpg") / 2;
    signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    const tl_status fresh = write_solved("new"), replaced = write_solved("out");
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    assert_int_equal(fresh, TL_ERR_WRITE);
    assert_int_equal(replaced, TL_ERR_WRITE);
    assert_whole("out");
    assert_int_equal(entries("."), 1);
}

/* Linux's device that is always full. */
static void full_disk_has_a_status_of_its_own(void **state) {
    (void)state;
    if (access("/dev/full", W_OK) != 0) {
        print_message("no /dev/full here: the full disk is not tested\n");
        return;
    }
    assert_int_equal(tl_report_write_file("/dev/full", "some bytes", 10), TL_ERR_NO_SPACE);
    static char many[100000];
    assert_int_equal(tl_report_write_file("/dev/full", many, sizeof many), TL_ERR_NO_SPACE);
}

/* Root may write anywhere, so the question is asked by a process that is not root. */
static void unwritable_parent_is_reported_before_the_work(void **state) {
    (void)state;
    enum { NOBODY = 65534 };
    assert_int_equal(mkdir("locked", 0555), 0);
    assert_int_equal(chmod(".", 0755), 0);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        if (geteuid() == 0 && setuid(NOBODY) != 0)
            _exit(TL_STATUS_COUNT);
        _exit((int)tl_report_check("locked/out"));
    }
    int ended;
    assert_int_equal(waitpid(child, &ended, 0), child);
    assert_true(WIFEXITED(ended));
    assert_int_equal(WEXITSTATUS(ended), TL_ERR_WRITE);
}

int main(void) {
#define folder_test(f) cmocka_unit_test_setup_teardown(f, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        folder_test(new_folder_is_made_whole),
        folder_test(empty_folder_is_taken),
        folder_test(earlier_result_is_replaced),
        folder_test(tables_come_alone),
        folder_test(foreign_files_are_never_lost),
        folder_test(foreign_files_among_the_limbs_are_never_lost),
        folder_test(a_result_of_others_is_not_taken_for_ours),
        folder_test(only_plain_files_count_as_ours),
        folder_test(odd_targets_are_refused),
        folder_test(link_to_a_folder_is_followed),
        folder_test(failed_write_changes_nothing),
        folder_test(failed_picture_changes_nothing),
        folder_test(full_disk_has_a_status_of_its_own),
        folder_test(unwritable_parent_is_reported_before_the_work),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
