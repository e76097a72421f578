/*
 * test_command_same.c - the same pictures give the same files, to the byte, however many threads
 * there are: whoever keeps results, or compares two, is not told of differences that are none.
 */
#define _XOPEN_SOURCE 700 /* realpath */

#include "program_run.h"

static int setup(void **state) {
    (void)state;
    char demo[PATH_SIZE], link[PATH_SIZE];
    run_setup();
    assert_non_null(realpath("fixtures/demo", demo));
    home_path("demo", link);
    assert_int_equal(symlink(demo, link), 0);
    assert_int_equal(run_shell("mkdir in && cp demo/evening_0*.jpg in"), 0);
    return 0;
}

static int teardown(void **state) {
    (void)state;
    remove_tree(run_home.folder);
    return 0;
}

/* One of the pictures is refused on purpose, so the program ends with 1. */
static void the_number_of_threads_changes_nothing(void **state) {
    (void)state;
    assert_int_equal(run_shell("\"$PROGRAM\" analyse in $(cat demo/options) --jobs 1 -o one"), 1);
    assert_true(home_has("one/talk.html") && home_has("one/moving-smooth.gif"));
    static const char *const jobs[] = {"2", "2", "7"};
    for (size_t i = 0; i < sizeof jobs / sizeof jobs[0]; i++) {
        char command[128];
        snprintf(command, sizeof command,
                 "\"$PROGRAM\" analyse in $(cat demo/options) --jobs %s -o many", jobs[i]);
        assert_int_equal(run_shell(command), 1);
        if (run_shell("diff -rq one many") != 0)
            fail_msg("%s", run_output);
    }
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_number_of_threads_changes_nothing),
    };
    return cmocka_run_group_tests_name("command, same bytes", tests, setup, teardown);
}
