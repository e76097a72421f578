/*
 * test_command_safety.c - nothing of the user's is changed or lost, whatever is given for input and
 * output, and on a disk that is full.
 */
#include <errno.h>
#include <stdbool.h>
#include <sys/socket.h>
#include <sys/un.h>

#include "program_run.h"

static uint64_t originals;

static int setup(void **state) {
    (void)state;
    run_setup();
    home_folder("in");
    home_folder("in/sub");
    home_put_eclipse("in/IMG_1.jpg", 1);
    home_put_eclipse("in/sub/IMG_2.jpg", 2);
    home_put("in/text.jpg", "no picture", 10);
    home_put("in/notes.txt", "mine", 4);
    originals = home_hash("in", SAME_BYTES_AND_TIMES);
    return 0;
}

static int teardown(void **state) {
    (void)state;
    run_shell("chmod -R u+rwx .");
    remove_tree(run_home.folder);
    return 0;
}

static void assert_originals(void) {
    assert_true(home_hash("in", SAME_BYTES_AND_TIMES) == originals);
}

/* One line that says what to do, and this exit status. */
static void expect_refusal(const char *command, int exit_status, const char *words) {
    const int got = run_shell(command);
    if (got != exit_status || strstr(run_output, words) == NULL ||
        strncmp(run_output, "twolimb: ", 9) != 0)
        fail_msg("%s: exit %d (not %d), wanted \"%s\", got:\n%s", command, got, exit_status, words,
                 run_output);
}

/* How many rows frames.csv of a result has, and none of a picture that twolimb made. */
static int rows(const char *folder) {
    char path[PATH_SIZE], line[4096];
    int count = -1; /* the header */
    snprintf(line, sizeof line, "%s/frames.csv", folder);
    home_path(line, path);
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    while (fgets(line, sizeof line, file) != NULL) {
        assert_null(strstr(line, "contact-sheet"));
        assert_null(strstr(line, "title.png"));
        count++;
    }
    fclose(file);
    return count;
}

/* The result among the pictures, and again over itself: what is in it is not read. Nor are a result
 * under another name, its parts named themselves, or what a killed run left. */
static void results_are_not_read_as_pictures(void **state) {
    (void)state;
    assert_int_equal(run_shell("exec \"$PROGRAM\" analyse -r in -o in/sub/out"), 1);
    assert_int_equal(rows("in/sub/out"), 3);
    assert_int_equal(run_shell("cp -r in/sub/out in/other && cp -r in/other in/.twolimb-new-1"), 0);
    assert_int_equal(run_shell("exec \"$PROGRAM\" analyse -r in -o in/sub/out"), 1);
    assert_int_equal(rows("in/sub/out"), 3);
    assert_null(strstr(run_output, "passed over"));
    expect_refusal("exec \"$PROGRAM\" analyse in/other", 66, "no pictures");
    expect_refusal("exec \"$PROGRAM\" analyse in/other/limbs in/other/slides/", 66, "no pictures");
    /* A picture that the user put into a result is read; the result is then left alone. */
    assert_int_equal(run_shell("cp in/IMG_1.jpg in/other/IMG_9.jpg"), 0);
    assert_int_equal(run_shell("exec \"$PROGRAM\" analyse -r --keep-copies in -o out"), 1);
    assert_int_equal(rows("out"), 4);
    expect_refusal("exec \"$PROGRAM\" analyse in -o in/other", 73, "left alone");
    assert_int_equal(run_shell("rm -r out in/sub/out in/other in/.twolimb-new-1"), 0);
    assert_originals();
}

static void pictures_are_never_overwritten(void **state) {
    (void)state;
    expect_refusal("exec \"$PROGRAM\" analyse in -o in", 73, "left alone");
    expect_refusal("exec \"$PROGRAM\" analyse in -o in/", 73, "left alone");
    expect_refusal("exec \"$PROGRAM\" analyse in -o in/sub", 73, "left alone");
    expect_refusal("exec \"$PROGRAM\" analyse in -o in/IMG_1.jpg", 73, "left alone");
    assert_int_equal(run_shell("ln -s in link && ln -s in/IMG_1.jpg picture"), 0);
    expect_refusal("exec \"$PROGRAM\" analyse in -o link", 73, "left alone");
    expect_refusal("exec \"$PROGRAM\" analyse in -o picture", 73, "left alone");
    expect_refusal("cd in && exec \"$PROGRAM\" analyse . -o .", 73, "left alone");
    assert_int_equal(run_shell("rm link picture && mkdir empty"), 0);
    expect_refusal("cd empty && exec \"$PROGRAM\" analyse ../in -o .", 73, "folder you are in");
    assert_null(strstr(run_output, "not an empty folder"));
    assert_int_equal(run_shell("rmdir empty"), 0);
    assert_originals();
}

/* Root may write anywhere, so this is asked by a user who is not root. */
static int run_as_nobody(const char *command) {
    char text[1024];
    if (geteuid() != 0)
        return run_shell(command);
    snprintf(text, sizeof text, "exec setpriv --reuid 65534 --clear-groups sh -c '%s'", command);
    const int code = run_shell(text);
    if (strstr(run_output, "ermission denied") != NULL && strstr(run_output, "sh:") != NULL) {
        print_message("another user cannot run the program here\n");
        skip();
    }
    return code;
}

static void what_may_not_be_written_or_read_is_told(void **state) {
    (void)state;
    if (geteuid() == 0 && run_shell("setpriv --reuid 65534 --clear-groups true") != 0) {
        print_message("no other user can be had here\n");
        skip();
    }
    home_folder("locked");
    assert_int_equal(run_shell("chmod 755 . && mkdir open && chmod 777 open && chmod 555 locked"),
                     0);
    assert_int_equal(run_as_nobody("exec \"$PROGRAM\" analyse in -o locked/out"), 73);
    assert_non_null(strstr(run_output, "choose a folder in which you may write"));
    /* Pictures on a card that is write-protected. */
    assert_int_equal(run_shell("chmod 555 in in/sub"), 0);
    assert_int_equal(run_as_nobody("exec \"$PROGRAM\" analyse -r in -o open/out"), 1);
    assert_int_equal(rows("open/out"), 3);
    /* A picture and a folder that may not be read stop nothing. */
    assert_int_equal(run_shell("chmod 755 in in/sub && chmod 000 in/sub in/text.jpg"), 0);
    assert_int_equal(run_as_nobody("exec \"$PROGRAM\" analyse -r in -o open/out"), 1);
    assert_int_equal(rows("open/out"), 2);
    assert_non_null(strstr(run_output, "cannot be opened (sub)"));
    assert_int_equal(run_shell("chmod 755 in/sub && chmod 644 in/text.jpg && rm -rf locked open"),
                     0);
    assert_originals();
}

/* A disk itself, and a folder that is mounted elsewhere, cannot be replaced, though both are empty.
 */
static void a_mounted_disk_is_left_alone(void **state) {
    (void)state;
    if (run_shell("unshare -rm true || unshare -m true") != 0) {
        print_message("no disk of its own can be mounted here\n");
        skip();
    }
    home_folder("card");
    home_folder("elsewhere");
    assert_int_equal(
        run_shell("printf '%s' '{\"site\": {\"lat_deg\": 62.0, \"lon_deg\": -6.8}, "
                  "\"day\": \"2026-08-12\", \"sets\": [{\"frames\": [{\"sun_r_px\": 9, \"file\": "
                  "\"a.jpg\", \"time\": \"max\"}]}]}' >scene.json"),
        0);
    static const char script[] =
        "SHARE=-rm; unshare -rm true 2>/dev/null || SHARE=-m; unshare $SHARE sh -c '\n"
        "%s || exit 99\n"
        "\"$PROGRAM\" analyse in -o card; code=$?\n"
        "test -z \"$(ls -A card)\" || exit 98\n"
        "mkdir card/out && \"$PROGRAM\" analyse --quiet in -o card/out; test $? -eq 1 || exit 97\n"
        "rm -r card/out; \"$PROGRAM\" simulate scene.json card && exit 96\n"
        "exit $code'";
    static const char *const mounts[] = {"mount -t tmpfs tmpfs card",
                                         "mount --bind elsewhere card"};
    for (size_t i = 0; i < sizeof mounts / sizeof mounts[0]; i++) {
        char command[1024];
        snprintf(command, sizeof command, script, mounts[i]);
        const int code = run_shell(command);
        if (code == 99) {
            print_message("no disk of its own can be mounted here\n");
            skip();
        }
        if (code != 73 || strstr(run_output, "where a disk is mounted") == NULL ||
            strstr(run_output, "card: a disk is mounted there; name a new folder in it.") == NULL)
            fail_msg("%s: exit %d\n%s", mounts[i], code, run_output);
    }
    assert_int_equal(run_shell("rm scene.json && rmdir card elsewhere"), 0);
    assert_originals();
}

/* A disk of its own in memory, too small for the second result: mounted where the system lets a
 * user have name spaces, or root mount. */
static void a_full_disk_loses_nothing(void **state) {
    (void)state;
    if (run_shell("unshare -rm true || unshare -m true") != 0) {
        print_message("no disk of its own can be mounted here\n");
        skip();
    }
    home_folder("disk");
    /* The first result is of a file that is no picture, and small. */
    static const char script[] =
        "SHARE=-rm; unshare -rm true 2>/dev/null || SHARE=-m; unshare $SHARE sh -c '\n"
        "mount -t tmpfs -o size=16m tmpfs disk || exit 99\n"
        "\"$PROGRAM\" analyse --quiet in/text.jpg -o disk/out; test $? -eq 2 || exit 98\n"
        "used=$(du -sk disk/out | cut -f1)\n"
        "mount -o remount,size=$((used + 150))k disk || exit 97\n"
        "before=$(cat disk/out/*.* disk/out/limbs/* | cksum; ls -R disk/out)\n"
        "\"$PROGRAM\" analyse in -o disk/out; code=$?\n"
        "test \"$before\" = \"$(cat disk/out/*.* disk/out/limbs/* | cksum; ls -R disk/out)\" "
        "|| exit 96\n"
        "test \"$(ls -A disk)\" = out || exit 95\n"
        "exit $code'";
    const int code = run_shell(script);
    if (code == 99) {
        print_message("no disk of its own can be mounted here\n");
        skip();
    }
    if (code != 74 || strstr(run_output, "disk is full") == NULL)
        fail_msg("exit %d\n%s", code, run_output);
    static const char scene[] =
        "{\"site\": {\"lat_deg\": 41.5, \"lon_deg\": -83.25}, \"day\": \"2024-04-08\","
        " \"sets\": [{\"sun_r_px\": 300, \"start\": \"C1+60\", \"stop\": \"C4-60\","
        " \"count\": 4}]}";
    home_put("scene.json", scene, strlen(scene));
    static const char drawing[] =
        "SHARE=-rm; unshare -rm true 2>/dev/null || SHARE=-m; unshare $SHARE sh -c '\n"
        "mount -t tmpfs -o size=60k tmpfs disk || exit 99\n"
        "\"$PROGRAM\" simulate scene.json disk/drawn; code=$?\n"
        "test -z \"$(ls -A disk)\" || exit 95\n"
        "exit $code'";
    assert_int_equal(run_shell(drawing), 74);
    assert_non_null(strstr(run_output, "disk is full"));
    assert_int_equal(run_shell("rm -r disk scene.json"), 0);
    assert_originals();
}

/* The shell's limit on the size of a file: no signal ends the program, and nothing is left. */
static void a_limit_on_files_is_an_error_like_any_other(void **state) {
    (void)state;
    assert_int_equal(run_shell("\"$PROGRAM\" analyse --quiet in/text.jpg -o out"), 2);
    const uint64_t before = home_hash("out", SAME_BYTES_AND_TIMES);
    expect_refusal("ulimit -f 40; exec \"$PROGRAM\" analyse --quiet in -o out", 73, "out: ");
    assert_true(home_hash("out", SAME_BYTES_AND_TIMES) == before);
    char name[PATH_SIZE];
    assert_false(run_find(".twolimb", "", false, name));
    assert_int_equal(run_shell("rm -r out"), 0);
    assert_originals();
}

/* Pipes and sockets would wait for ever, a device may never end; a name may hold what steers a
 * terminal. */
static void odd_files_neither_hang_nor_speak(void **state) {
    (void)state;
    struct sockaddr_un address = {.sun_family = AF_UNIX};
    home_folder("odd");
    home_put_eclipse("odd/a\033[31mb\x9b"
                     "1mc\nd.jpg",
                     3);
    home_put("odd/\033]0;x\007.xyz", "", 0);
    assert_int_equal(run_shell("mkfifo odd/p.jpg odd/p.mov && ln -s /dev/zero odd/zero.jpg &&"
                               " ln -s nowhere odd/n.jpg && mkdir odd/folder.jpg"),
                     0);
    snprintf(address.sun_path, sizeof address.sun_path, "%.80s/odd/s.jpg", run_home.folder);
    const int s = socket(AF_UNIX, SOCK_STREAM, 0);
    assert_true(s >= 0 && bind(s, (const struct sockaddr *)&address, sizeof address) == 0);
    assert_int_equal(run_shell("exec \"$PROGRAM\" analyse odd odd/p.jpg /dev/zero -o out"), 1);
    close(s);
    assert_int_equal(strcspn(run_output, "\033\007\x9b"), strlen(run_output));
    assert_non_null(strstr(run_output, "passed over: "));
    expect_refusal("exec \"$PROGRAM\" analyse \"$(printf 'no\\302\\23331m')\"", 66, "no?31m");
    assert_int_equal(run_shell("rm -r odd out"), 0);
    assert_originals();
}

/* All in one folder, most of them copies: a hang would be seen here, a square law felt. */
static void thousands_of_files_are_no_burden(void **state) {
    (void)state;
    enum { FILES = 10000 };
    char name[64], path[PATH_SIZE];
    home_folder("many");
    for (int i = 0; i < FILES; i++) {
        snprintf(name, sizeof name, "many/f%d.%s", i, i % 2 == 0 ? "jpg" : "cr2");
        home_path(name, path);
        write_file(path, "no picture", 10);
    }
    expect_refusal("rm many/*[02468].jpg; exec \"$PROGRAM\" analyse many", 66, "raw files");
    assert_int_equal(run_shell("rm -r many"), 0);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(results_are_not_read_as_pictures),
        cmocka_unit_test(pictures_are_never_overwritten),
        cmocka_unit_test(what_may_not_be_written_or_read_is_told),
        cmocka_unit_test(a_mounted_disk_is_left_alone),
        cmocka_unit_test(a_full_disk_loses_nothing),
        cmocka_unit_test(a_limit_on_files_is_an_error_like_any_other),
        cmocka_unit_test(odd_files_neither_hang_nor_speak),
        cmocka_unit_test(thousands_of_files_are_no_burden),
    };
    return cmocka_run_group_tests_name("command_safety", tests, setup, teardown);
}
