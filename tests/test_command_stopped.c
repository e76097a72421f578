/*
 * test_command_stopped.c - the program stopped in the midst of its work, by a signal it hears and
 * by one it does not: what was there before is still there, or the new result is, whole.
 */
#include <stdbool.h>

#include "program_run.h"

/* ms; far more than a run takes, so that a hung program fails the test */
enum { PATIENCE_MS = 120000 };

static uint64_t originals;

static int setup(void **state) {
    (void)state;
    run_setup();
    home_folder("in");
    for (int i = 0; i < 3; i++) {
        char name[32];
        snprintf(name, sizeof name, "in/IMG_%d.jpg", i);
        home_put_eclipse(name, i);
    }
    originals = home_hash("in", SAME_BYTES_AND_TIMES);
    return 0;
}

static int teardown(void **state) {
    (void)state;
    remove_tree(run_home.folder);
    return 0;
}

/* An earlier result that differs from what the runs here make: of other pictures. */
static uint64_t put_earlier(void) {
    home_folder("other");
    home_put_eclipse("other/IMG_7.jpg", 5);
    assert_int_equal(run_shell("exec \"$PROGRAM\" analyse --quiet other -o out"), 0);
    home_remove("other");
    return home_hash("out", SAME_BYTES_AND_TIMES);
}

/* Nothing of a run is left but what is called `out`, and the originals are as they were. */
static void assert_clean(void) {
    char name[PATH_SIZE];
    if (run_find(".twolimb", "", false, name))
        fail_msg("%s is left", name);
    assert_true(home_hash("in", SAME_BYTES_AND_TIMES) == originals);
}

/* Wait until the program writes files into a draft; false: it came to its end before. */
static bool wait_for_draft(pid_t child, char name[PATH_SIZE]) {
    char number[32];
    snprintf(number, sizeof number, "-%ld-", (long)child);
    for (int i = 0; i < PATIENCE_MS; i++) {
        siginfo_t info = {0};
        if (run_find(".twolimb-new-", number, true, name))
            return true;
        if (waitid(P_PID, (id_t)child, &info, WEXITED | WNOHANG | WNOWAIT) == 0 &&
            info.si_pid == child)
            return false;
        run_pause_ms(1);
    }
    fail_msg("the program neither writes nor ends");
    return false;
}

static void assert_ended(int status, int number) {
    if (!WIFSIGNALED(status) || WTERMSIG(status) != number)
        fail_msg("not ended by signal %d: %d\n%s", number, status, run_output);
}

static void assert_stopped(int status, int number) {
    assert_ended(status, number);
    assert_non_null(strstr(run_output, "twolimb: Stopped."));
}

/* While pictures are measured nothing is written yet; while it writes there is a draft. */
static void a_signal_leaves_nothing(void **state) {
    (void)state;
    static const int numbers[] = {SIGINT, SIGTERM, SIGHUP};
    char name[PATH_SIZE];
    for (size_t i = 0; i < 2 * sizeof numbers / sizeof *numbers; i++) {
        const int number = numbers[i / 2];
        const pid_t child = run_start("exec \"$PROGRAM\" analyse in -o out");
        if (i % 2 == 0) {
            run_pause_ms(100);
            kill(child, number);
            assert_ended(run_wait(child), number); /* on a slow machine before it says a word */
        } else {
            assert_true(wait_for_draft(child, name));
            kill(child, number);
            assert_stopped(run_wait(child), number);
        }
        assert_false(home_has("out"));
        assert_clean();
    }
}

static void a_signal_leaves_the_earlier_result(void **state) {
    (void)state;
    char name[PATH_SIZE];
    const uint64_t earlier = put_earlier();
    const pid_t child = run_start("exec \"$PROGRAM\" analyse in -o out");
    assert_true(wait_for_draft(child, name));
    kill(child, SIGINT);
    assert_stopped(run_wait(child), SIGINT);
    assert_true(home_hash("out", SAME_BYTES_AND_TIMES) == earlier);
    assert_clean();
    home_remove("out");
}

/* Whether the result is that of the pictures in `in`; it must be whole in any case. */
static bool is_fresh(uint64_t old, uint64_t fresh) {
    const uint64_t there = home_hash("out", SAME_BYTES);
    if (there != old && there != fresh)
        fail_msg("the result is not whole");
    return there == fresh;
}

/* At whatever moment of the writing it comes, there is one whole result or the other. */
static void at_every_moment_there_is_a_whole_result(void **state) {
    (void)state;
    enum { MOMENTS = 8, STEP_MS = 60 };
    char name[PATH_SIZE];
    put_earlier();
    assert_int_equal(run_shell("exec \"$PROGRAM\" analyse in -o new"), 0);
    const uint64_t fresh = home_hash("new", SAME_BYTES), old = home_hash("out", SAME_BYTES);
    assert_true(fresh != old);
    for (int i = 0; i < MOMENTS; i++) {
        const int number = i % 2 == 0 ? SIGTERM : SIGKILL;
        const pid_t child = run_start("exec \"$PROGRAM\" analyse in -o out");
        if (wait_for_draft(child, name))
            run_pause_ms(i * STEP_MS);
        kill(child, number);
        const int status = run_wait(child);
        assert_true(WIFSIGNALED(status) ? WTERMSIG(status) == number : WEXITSTATUS(status) == 0);
        const bool ended = WIFEXITED(status);
        assert_true(is_fresh(old, fresh) || !ended);
    }
    /* What the killed ones left goes with the next run. */
    assert_int_equal(run_shell("exec \"$PROGRAM\" analyse in -o out"), 0);
    assert_true(is_fresh(old, fresh));
    assert_clean();
    home_remove("new");
    home_remove("out");
}

/* nohup, or a job in the background of a shell: who started it wanted it to go on. */
static void an_ignored_signal_stays_ignored(void **state) {
    (void)state;
    char name[PATH_SIZE];
    const pid_t child = run_start("trap '' HUP INT; exec \"$PROGRAM\" analyse in -o out");
    assert_true(wait_for_draft(child, name));
    kill(child, SIGHUP);
    kill(child, SIGINT);
    const int status = run_wait(child);
    assert_true(WIFEXITED(status) && WEXITSTATUS(status) == 0);
    assert_true(home_has("out/report.html"));
    assert_clean();
    home_remove("out");
}

/* Killed without a word: the next run clears up, but takes nothing that it cannot know to be dead
 * and its own. */
static void what_a_killed_run_left_is_cleared(void **state) {
    (void)state;
    char name[PATH_SIZE], left[PATH_SIZE], path[PATH_SIZE], living[PATH_SIZE];
    const uint64_t earlier = put_earlier();
    const pid_t child = run_start("exec \"$PROGRAM\" analyse in -o out");
    assert_true(wait_for_draft(child, left));
    kill(child, SIGKILL);
    assert_true(WIFSIGNALED(run_wait(child)));
    assert_true(run_find(".twolimb-new-", "", false, name));
    assert_true(home_hash("out", SAME_BYTES_AND_TIMES) == earlier);
    /* The same name with the number of a living process, of another machine, and of no number. */
    const size_t machine = strlen(".twolimb-new-"), number = machine + strlen("01234567-");
    snprintf(living, sizeof living, "%.*s%ld-0", (int)number, left, (long)getpid());
    home_folder(living);
    char elsewhere[PATH_SIZE];
    snprintf(elsewhere, sizeof elsewhere, "%s", left);
    elsewhere[machine] = elsewhere[machine] == '0' ? '1' : '0';
    home_folder(elsewhere);
    home_folder(".twolimb-new-mine");
    home_put(".twolimb-notes", "mine", 4);
    assert_int_equal(run_shell("exec \"$PROGRAM\" analyse in -o out"), 0);
    assert_false(home_has(left));
    static const char *const kept[] = {".twolimb-new-mine", ".twolimb-notes"};
    assert_true(home_has(living) && home_has(elsewhere) && home_has(kept[0]) && home_has(kept[1]));
    assert_true(home_hash("in", SAME_BYTES_AND_TIMES) == originals);
    home_remove(living);
    home_remove(elsewhere);
    home_remove(kept[0]);
    home_path(kept[1], path);
    unlink(path);
    home_remove("out");
}

/* Each puts its own in place, whole; the last one stays. */
static void two_at_once_do_not_disturb_each_other(void **state) {
    (void)state;
    const pid_t one = run_start("exec \"$PROGRAM\" analyse in -o out >one 2>&1");
    const pid_t other = run_start("exec \"$PROGRAM\" analyse in -o out >other 2>&1");
    const int first = run_wait(one), second = run_wait(other);
    assert_true(WIFEXITED(first) && WEXITSTATUS(first) == 0);
    assert_true(WIFEXITED(second) && WEXITSTATUS(second) == 0);
    assert_true(home_has("out/report.html") && home_has("out/sequence.json"));
    assert_clean();
    home_remove("out");
}

static void a_drawing_stopped_leaves_nothing(void **state) {
    (void)state;
    static const char scene[] =
        "{\"site\": {\"lat_deg\": 41.5, \"lon_deg\": -83.25}, \"day\": \"2024-04-08\","
        " \"sets\": [{\"sun_r_px\": 300, \"start\": \"C1+60\", \"stop\": \"C4-60\", \"count\": "
        "40}]}";
    char name[PATH_SIZE];
    home_put("scene.json", scene, strlen(scene));
    for (int i = 0; i < 2; i++) {
        const int number = i == 0 ? SIGKILL : SIGTERM;
        const pid_t child = run_start("exec \"$PROGRAM\" simulate scene.json drawn");
        if (!wait_for_draft(child, name))
            fail_msg("not drawn: %d", run_wait(child));
        kill(child, number);
        const int status = run_wait(child);
        assert_true(WIFSIGNALED(status) && WTERMSIG(status) == number);
        assert_false(home_has("drawn"));
    }
    assert_clean(); /* the second run has cleared up after the first */
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_signal_leaves_nothing),
        cmocka_unit_test(a_signal_leaves_the_earlier_result),
        cmocka_unit_test(at_every_moment_there_is_a_whole_result),
        cmocka_unit_test(an_ignored_signal_stays_ignored),
        cmocka_unit_test(what_a_killed_run_left_is_cleared),
        cmocka_unit_test(two_at_once_do_not_disturb_each_other),
        cmocka_unit_test(a_drawing_stopped_leaves_nothing),
    };
    return cmocka_run_group_tests_name("command_stopped", tests, setup, teardown);
}
