/*
 * test_quiet.c - what libraries have to say of broken files never reaches the terminal: each line
 * of the standard error stream is one of the program's own.
 *
 * The broken files are the fuzzers' seeds (tests/fuzz/corpus), cut short and with bytes changed, so
 * every kind of picture that has seeds there is met.
 */
#define _XOPEN_SOURCE 700 /* realpath */
#include <sys/wait.h>

#include "check.h"
#include "scratch_folder.h"

enum { DAMAGES = 12, BYTES_CHANGED = 6, SEED_MAX = 65536, COMMAND_SIZE = 4096, LINE_SIZE = 4096 };

/* Run the program in the scratch folder; both streams go to files there. Its exit status. */
static int run(const char *arguments) {
    char command[COMMAND_SIZE], program[PATH_SIZE];
    const char *build = getenv("TWOLIMB_BUILD");
    if (realpath(build != NULL ? build : "build", program) == NULL)
        fail_msg("no build folder");
    const int length =
        snprintf(command, sizeof command, "cd '%s' && exec '%s/twolimb' %s >out.txt 2>err.txt",
                 folder.folder, program, arguments);
    assert_in_range(length, 1, COMMAND_SIZE - 1);
    const int status = system(command);
    if (!WIFEXITED(status))
        fail_msg("twolimb %s did not exit: %d", arguments, status);
    return WEXITSTATUS(status);
}

/* The number of lines of the program on the standard error stream; there may be no others. */
static int own_lines(void) {
    static const char start[] = "twolimb: ";
    char path[PATH_SIZE], line[LINE_SIZE];
    int count = 0;
    scratch_path(&folder, "err.txt", path);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    for (; fgets(line, sizeof line, file) != NULL; count++)
        if (strncmp(line, start, strlen(start)) != 0)
            fail_msg("not a line of the program: %s", line);
    fclose(file);
    return count;
}

/* Damage no. `k`, the same in each run: 0 none, 1..3 cut short, else some bytes changed. */
static size_t damage(unsigned char *bytes, size_t size, int k) {
    uint32_t random = 12345U + (uint32_t)k;
    if (k >= 1 && k <= 3)
        return size * (size_t)k / 4;
    for (int hit = 0; k > 3 && hit < BYTES_CHANGED; hit++) {
        random = random * 1664525U + 1013904223U; /* Numerical Recipes' generator */
        bytes[12 + (random >> 8) % (size - 12)] = (unsigned char)(random >> 24);
    }
    return size;
}

static void store_damaged(const char *seed, const char *name) {
    static unsigned char whole[SEED_MAX], bytes[SEED_MAX];
    FILE *file = fopen(seed, "rb");
    assert_non_null(file);
    const size_t size = fread(whole, 1, sizeof whole, file);
    fclose(file);
    assert_in_range(size, 100, SEED_MAX - 1);
    for (int k = 0; k < DAMAGES; k++) {
        char path[PATH_SIZE], numbered[PATH_SIZE / 2];
        memcpy(bytes, whole, size);
        const size_t left = damage(bytes, size, k);
        snprintf(numbered, sizeof numbered, "pictures/%02d_%.200s", k, name);
        scratch_path(&folder, numbered, path);
        write_file(path, bytes, left);
    }
}

/* All seeds of a kind; how many there are. */
static int store_kind(const char *kind) {
    char corpus[PATH_SIZE], seed[PATH_SIZE];
    int count = 0;
    path_join("tests/fuzz/corpus", kind, corpus);
    DIR *directory = opendir(corpus);
    if (directory == NULL)
        return 0;
    for (const struct dirent *e = readdir(directory); e != NULL; e = readdir(directory)) {
        if (e->d_name[0] == '.')
            continue;
        path_join(corpus, e->d_name, seed);
        store_damaged(seed, e->d_name);
        count++;
    }
    closedir(directory);
    return count;
}

static void broken_pictures_are_told_of_in_our_words(void **state) {
    (void)state;
    char path[PATH_SIZE];
    scratch_path(&folder, "pictures", path);
    assert_int_equal(mkdir(path, 0700), 0);
    assert_true(store_kind("jpeg") > 0);
    store_kind("png");
    store_kind("tiff");
    store_kind("heic");
    assert_in_range(run("analyse pictures/* -o result --date 2026-08-12 --site 62,-6.8"), 0, 2);
    own_lines();
}

static void broken_tables_and_scenes_are_told_of_in_our_words(void **state) {
    (void)state;
    static const char *const bad[] = {
        "", "{", "{\"site\": 1e999}", "\xff\xfe\x00", "name,time\n,\n", "[[[[[[[[[[[[[[[[[[[["};
    char path[PATH_SIZE];
    scratch_path(&folder, "bad.txt", path);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        write_text(path, bad[i]);
        assert_in_range(run("simulate bad.txt drawn"), 64, 74);
        assert_int_equal(own_lines(), 1);
        assert_in_range(run("analyse bad.txt -o result --times bad.txt"), 64, 74);
        assert_int_equal(own_lines(), 1);
        assert_in_range(run("predict --site 62,-6.8 --date 2026-08-12 --spots bad.txt"), 64, 74);
        assert_int_equal(own_lines(), 1);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(broken_pictures_are_told_of_in_our_words),
        cmocka_unit_test(broken_tables_and_scenes_are_told_of_in_our_words),
    };
    return cmocka_run_group_tests_name("quiet", tests, folder_setup, folder_teardown);
}
