/*
 * test_command.c - the built program as a user meets it: exit status and message of every wrong
 * use. The program is $TWOLIMB_BUILD/twolimb, by default build/twolimb.
 *
 * Exit statuses from 64 on have the meanings of BSD sysexits.h.
 */
#define _XOPEN_SOURCE 700 /* realpath */
#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cJSON.h>

#include "check.h"
#include "picture.h"

enum { OUTPUT_SIZE = 65536, COMMAND_SIZE = 4096 };

static scratch folder;
static char output[OUTPUT_SIZE]; /* of the last run, both streams */

/* Run the program in the scratch folder, through the shell; returns its exit status. */
static int run(const char *arguments) {
    char command[COMMAND_SIZE], program[PATH_SIZE];
    const char *build = getenv("TWOLIMB_BUILD");
    if (realpath(build != NULL ? build : "build", program) == NULL)
        fail_msg("no build folder");
    const int length = snprintf(command, sizeof command, "cd '%s' && exec 2>&1 && '%s/twolimb' %s",
                                folder.folder, program, arguments);
    assert_in_range(length, 1, COMMAND_SIZE - 1);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    const size_t got = fread(output, 1, OUTPUT_SIZE - 1, pipe);
    output[got] = '\0';
    const int status = pclose(pipe);
    if (!WIFEXITED(status))
        fail_msg("twolimb %s did not exit: %d\n%s", arguments, status, output);
    return WEXITSTATUS(status);
}

/* The same on a terminal of its own, with `settings` of the environment; the output is that on it.
 */
static int run_on_terminal(const char *settings, const char *arguments) {
    char command[COMMAND_SIZE], program[PATH_SIZE];
    const char *build = getenv("TWOLIMB_BUILD");
    const int terminal = posix_openpt(O_RDWR | O_NOCTTY);
    int status;
    if (realpath(build != NULL ? build : "build", program) == NULL)
        fail_msg("no build folder");
    if (terminal < 0 || grantpt(terminal) != 0 || unlockpt(terminal) != 0) {
        print_message("this system gives no pseudo-terminal\n");
        skip();
    }
    snprintf(command, sizeof command, "cd '%s' && exec env -u NO_COLOR -u TERM %s '%s/twolimb' %s",
             folder.folder, settings, program, arguments);
    const int screen = open(ptsname(terminal), O_RDWR | O_NOCTTY);
    assert_true(screen >= 0);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        if (dup2(screen, STDOUT_FILENO) < 0)
            _exit(127);
        execl("/bin/sh", "sh", "-c", command, (char *)NULL);
        _exit(127);
    }
    close(screen);
    size_t got = 0;
    for (ssize_t n; (n = read(terminal, output + got, OUTPUT_SIZE - 1 - got)) > 0;)
        got += (size_t)n; /* until the child has closed it */
    output[got] = '\0';
    close(terminal);
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

/* A refusal: this exit status and one line, "twolimb: ", with `words` in it, and a full stop. */
static void expect_refusal(const char *arguments, int exit_status, const char *words) {
    const int got = run(arguments);
    const size_t length = strlen(output);
    if (got != exit_status || strstr(output, words) == NULL ||
        strncmp(output, "twolimb: ", 9) != 0 || length < 2 ||
        strcmp(output + length - 2, ".\n") != 0 || strchr(output, '\n') != output + length - 1)
        fail_msg("twolimb %s: exit %d (not %d), wanted \"%s\", got:\n%s", arguments, got,
                 exit_status, words, output);
}

static bool exists(const char *name) {
    char path[PATH_SIZE];
    struct stat about;
    scratch_path(&folder, name, path);
    return stat(path, &about) == 0;
}

static void put(const char *name, const void *bytes, size_t size) {
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    write_file(path, bytes, size);
}

static void put_text(const char *name, const char *text) {
    put(name, text, strlen(text));
}

static void put_folder(const char *name) {
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    assert_int_equal(mkdir(path, 0700), 0);
}

/* The text of a file of the scratch folder. */
static const char *read_text(const char *name) {
    static char text[OUTPUT_SIZE];
    char path[PATH_SIZE];
    scratch_path(&folder, name, path);
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        fail_msg("%s is not there", name);
    text[fread(text, 1, sizeof text - 1, file)] = '\0';
    fclose(file);
    return text;
}

static int setup(void **state) {
    (void)state;
    scratch_make(&folder);
    put_folder("empty");
    put_folder("words");
    put_text("words/notes.txt", "no picture here");
    put_folder("grey");
    blob jpeg = jpeg_flat(90, NULL);
    put("grey/whole.jpg", jpeg.bytes, jpeg.size);
    put("grey/cut.jpg", jpeg.bytes, jpeg.size / 2);
    put("grey/none.jpg", "", 0);
    put_text("grey/text.jpg", "Dear diary");
    free(jpeg.bytes);
    /* the ratio of the eclipse of 2024-04-08, whose date the tests give */
    static const double sun[] = {230.3, 260.7, 110.0}, moon[] = {300.1, 200.2, 116.0};
    put_folder("sun");
    put_folder("mixed");
    jpeg = jpeg_eclipse(sun, moon);
    put("sun/bitten.jpg", jpeg.bytes, jpeg.size);
    put("mixed/bitten.jpg", jpeg.bytes, jpeg.size);
    put_text("mixed/text.jpg", "Dear diary");
    free(jpeg.bytes);
    put_folder("mine");
    put_text("mine/thesis.txt", "the only copy");
    put_text("a-file", "not a folder");
    put_text("good.csv", "file,time\nbitten.jpg,2024-04-08T14:37:20\n");
    put_text("bad.csv", "file,time\nwhole.jpg,noon\n");
    put_text("spots.csv", "name,time,place\nInvented,2024-04-08,N14E10\n");
    put_text("semicolons.csv", "name;time;place\nA;2024-04-08;anywhere\n");
    put_text("tabs.csv", "name\ttime\tplace\nA\t2024-04-08\tanywhere\n");
    put_text("wide.csv", "\xff\xfen");
    put_text("long.csv",
             "name,time,place\nA,2024-04-08,"
             "\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4"
             "\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4"
             "\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\xc3\xa4\n");
    put_text("bad_spots.csv", "name,time,place\nA,2024-04-08,N14E10\nB,2024-04-08,here\n");
    return 0;
}

static int teardown(void **state) {
    (void)state;
    remove_tree(folder.folder);
    return 0;
}

static void alone_it_shows_help_and_fails(void **state) {
    (void)state;
    assert_int_equal(run(""), 64);
    assert_non_null(strstr(output, "twolimb analyse PICTURES"));
}

static void help_is_there_and_warns(void **state) {
    (void)state;
    static const char *const ask[] = {"--help", "analyse --help", "analyse nowhere --help"};
    for (size_t i = 0; i < sizeof ask / sizeof ask[0]; i++) {
        assert_int_equal(run(ask[i]), 0);
        assert_non_null(strstr(output, "Exit status"));
        assert_non_null(strstr(output, "FRONT"));
        assert_non_null(strstr(output, "ISO 12312-2"));
        assert_non_null(strstr(output, "never use one at the eyepiece"));
        assert_non_null(strstr(output, "only inside totality"));
    }
    assert_int_equal(run("predict --help"), 0);
    assert_int_equal(run("simulate --help"), 0);
    assert_int_equal(run("--version"), 0);
    assert_string_equal(output, "twolimb " TL_VERSION "\n");
}

static void help_lists_every_option(void **state) {
    (void)state;
    static const char *const option[] = {
        "-o",      "--site",    "--zone", "--date",  "--holding", "--mirror",    "--times",
        "--spots", "--exclude", "--jobs", "--quiet", "-r,",       "--recursive", "--keep-copies"};
    assert_int_equal(run("analyse --help"), 0);
    for (size_t i = 0; i < sizeof option / sizeof option[0]; i++)
        assert_non_null(strstr(output, option[i]));
}

static void wrong_commands_and_options_are_named(void **state) {
    (void)state;
    expect_refusal("analyze grey", 64, "\"analyze\"");
    expect_refusal("-v", 64, "\"-v\"");
    expect_refusal("analyse", 64, "no pictures");
    expect_refusal("analyse --quiet", 64, "no pictures");
    expect_refusal("analyse --nope grey", 64, "--nope");
    expect_refusal("analyse -x grey", 64, "no option -x");
    expect_refusal("analyse -xo out grey", 64, "no option -x");
    expect_refusal("analyse grey -o", 64, "-o needs a value");
    expect_refusal("analyse grey --site", 64, "--site needs a value");
    expect_refusal("analyse --quiet=yes grey", 64, "--quiet=yes");
    expect_refusal("analyse grey -o ''", 64, "-o");
    assert_false(exists("twolimb-out"));
}

static void wrong_values_are_named(void **state) {
    (void)state;
    static const struct {
        const char *option, *value;
    } bad[] = {
        {"--site", "Bergen"},     {"--site", "91,0"},       {"--site", "41,-83,250m"},
        {"--zone", "CEST"},       {"--zone", "2"},          {"--zone", "+02:00x"},
        {"--date", "12.08.2026"}, {"--date", "2026-02-30"}, {"--date", "2026-08-12T10:00"},
        {"--holding", "tripod"},  {"--holding", ""},        {"--mirror", "maybe"},
        {"--mirror", "YES"},      {"--jobs", "0"},          {"--jobs", "-1"},
        {"--jobs", "two"},        {"--jobs", "2x"},         {"--jobs", "99999999999999999999"},
        {"--jobs", "65"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        char arguments[256], words[128];
        snprintf(words, sizeof words, "%s \"%s\"", bad[i].option, bad[i].value);
        snprintf(arguments, sizeof arguments, "analyse grey %s '%s'", bad[i].option, bad[i].value);
        expect_refusal(arguments, 64, words);
        snprintf(arguments, sizeof arguments, "analyse grey %s='%s'", bad[i].option, bad[i].value);
        expect_refusal(arguments, 64, words);
    }
    assert_false(exists("twolimb-out"));
}

/* Every name that is not a picture's is listed, and no other. */
static void what_cannot_be_excluded_is_named(void **state) {
    (void)state;
    expect_refusal("analyse grey --exclude", 64, "--exclude needs a value");
    expect_refusal("analyse grey --exclude nope.jpg --exclude whole.jpg --exclude grey/more.jpg",
                   64, "--exclude \"nope.jpg\", \"grey/more.jpg\": ");
    expect_refusal("analyse grey --exclude ''", 64, "--exclude \"\": ");
    expect_refusal("analyse grey --exclude whole", 64, "\"whole\"");
    assert_false(exists("twolimb-out"));
}

/* A table through a pipe gives its lines once, so that none can be quoted. */
static void a_pipe_is_read_once(void) {
    static const char table[] = "file,time\na,b\n";
    char path[PATH_SIZE];
    int status;
    scratch_path(&folder, "pipe.csv", path);
    assert_int_equal(mkfifo(path, 0600), 0);
    const pid_t writer = fork();
    assert_true(writer >= 0);
    if (writer == 0) {
        const int to = open(path, O_WRONLY);
        _exit(write(to, table, sizeof table - 1) == (ssize_t)sizeof table - 1 ? 0 : 1);
    }
    expect_refusal("analyse grey --times pipe.csv", 65, "pipe.csv: line 2");
    assert_int_equal(waitpid(writer, &status, 0), writer);
}

static void missing_inputs_are_named(void **state) {
    (void)state;
    expect_refusal("analyse nowhere.jpg", 66, "nowhere.jpg");
    expect_refusal("analyse grey nowhere", 66, "nowhere");
    expect_refusal("analyse ''", 66, "twolimb: \"\": ");
    expect_refusal("analyse empty", 66, "empty");
    expect_refusal("analyse words", 66, "no pictures");
    expect_refusal("analyse grey --times nowhere.csv", 66, "nowhere.csv");
    expect_refusal("analyse grey --times=bad.csv", 65, "bad.csv: line 2");
    expect_refusal("analyse grey --times bad.csv", 65, "\"whole.jpg,noon\"");
    expect_refusal("analyse grey --times wide.csv", 65, "UTF-16");
    a_pipe_is_read_once();
    put_folder("pair");
    put_folder("pair/left");
    put_folder("pair/right");
    put_text("pair/left/bitten.jpg", "one");
    put_text("pair/right/bitten.jpg", "two");
    expect_refusal("analyse -r pair --times good.csv", 65,
                   "good.csv: One row is for both pair/left/bitten.jpg and pair/right/bitten.jpg;");
    expect_refusal("analyse grey --times grey/none.jpg", 65, "empty");
    expect_refusal("analyse grey --spots nowhere.csv", 66, "nowhere.csv");
    expect_refusal("analyse grey --spots=bad_spots.csv", 65, "bad_spots.csv: line 3");
    expect_refusal("analyse grey --spots=bad_spots.csv", 65, "\"B,2024-04-08,here\"");
    expect_refusal("analyse grey --spots=long.csv", 65, "\xc3\xa4\".");
    expect_refusal("analyse grey --spots semicolons.csv", 65, "anywhere\"");
    expect_refusal("analyse grey --spots tabs.csv", 65, "tabs.csv: line 2");
    expect_refusal("analyse grey --spots wide.csv", 65, "UTF-16");
    expect_refusal("analyse grey --spots grey/none.jpg", 65, "list of sunspots is empty");
    expect_refusal("analyse \"$(printf 'a\\033[31mb')\"", 66, "a?[31mb");
    assert_false(exists("twolimb-out"));
}

static void foreign_folders_are_left_alone(void **state) {
    (void)state;
    expect_refusal("analyse grey -o mine", 73, "mine");
    assert_string_equal(read_text("mine/thesis.txt"), "the only copy");
    expect_refusal("analyse grey -o a-file", 73, "a-file");
    assert_string_equal(read_text("a-file"), "not a folder");
    expect_refusal("analyse grey -o a-file/out", 73, "a-file/out");
    expect_refusal("analyse grey -o nowhere/deep/out", 73, "nowhere/deep/out");
    assert_false(exists("nowhere"));
}

/* Nothing to measure in any of them: exit status 2, and yet a row with a reason for each file. */
static void what_cannot_be_read_gets_a_row(void **state) {
    (void)state;
    assert_int_equal(run("analyse grey"), 2);
    assert_non_null(strstr(output, "twolimb-out")); /* it says where the results are */
    const char *rows = read_text("twolimb-out/frames.csv");
    static const char *const file[] = {"whole.jpg", "cut.jpg", "none.jpg", "text.jpg"};
    for (size_t i = 0; i < sizeof file / sizeof file[0]; i++)
        assert_non_null(strstr(rows, file[i]));
    assert_non_null(strstr(rows, "cut short"));
    assert_non_null(strstr(rows, "empty"));
    assert_non_null(strstr(rows, "not a picture"));
    assert_non_null(strstr(rows, "unreadable"));
    assert_null(strstr(rows, "measured,"));
    /* Once more over the earlier result, quietly. */
    assert_int_equal(run("analyse --quiet --jobs 2 -otwolimb-out grey"), 2);
    assert_string_equal(output, "");
    assert_true(exists("twolimb-out/sequence.json"));
}

static void exit_status_tells_all_some_none(void **state) {
    (void)state;
    assert_int_equal(run("analyse sun -o all"), 0);
    assert_int_equal(run("analyse mixed -o some"), 1);
    assert_int_equal(run("analyse mixed/text.jpg -o none"), 2);
}

/* Escape sequences only on a terminal that can, and not against the user's will. */
static void emphasis_is_for_terminals(void **state) {
    (void)state;
    static const struct {
        const char *settings;
        bool emphasis;
    } on[] = {{"TERM=xterm", true},
              {"TERM=xterm NO_COLOR=", true},
              {"TERM=xterm NO_COLOR=1", false},
              {"TERM=xterm NO_COLOR=0", false},
              {"TERM=dumb", false},
              {"TERM=", false},
              {"", false}};
    for (size_t i = 0; i < sizeof on / sizeof *on; i++) {
        assert_int_equal(run_on_terminal(on[i].settings, "analyse sun -o shown"), 0);
        assert_non_null(strstr(output, "shown/report.html"));
        if ((strchr(output, '\033') != NULL) != on[i].emphasis)
            fail_msg("%s: %s", on[i].settings, output);
    }
    assert_int_equal(run("analyse sun -o shown"), 0); /* piped */
    assert_non_null(strstr(output, "shown/report.html"));
    assert_null(strchr(output, '\033'));
}

/* The value of a name at the top of sequence.json or in one of its objects. */
static const cJSON *at(const cJSON *sequence, const char *object, const char *name) {
    const cJSON *item = cJSON_GetObjectItem(cJSON_GetObjectItem(sequence, object), name);
    if (item == NULL)
        fail_msg("sequence.json has no %s.%s", object, name);
    return item;
}

/* The user's word against a place in the pictures; one picture is too little to find another. */
static void an_unknown_site_is_asked_for(void **state) {
    (void)state;
    assert_int_equal(run("analyse sun -o unknown --site unknown --times good.csv --zone -04:00"),
                     0);
    cJSON *sequence = cJSON_Parse(read_text("unknown/sequence.json"));
    assert_true(cJSON_IsTrue(at(sequence, "options", "find_site")));
    assert_string_equal(at(sequence, "site", "source")->valuestring, "none");
    assert_int_equal(cJSON_GetArraySize(cJSON_GetObjectItem(sequence, "place")), 0);
    assert_non_null(strstr(cJSON_GetObjectItem(sequence, "note")->valuestring, "three times"));
    cJSON_Delete(sequence);
}

/* Every option, with a blank and with "=", arrives. */
static void options_arrive(void **state) {
    (void)state;
    static const char *const form[] = {
        "analyse sun --output with --site 41.5,-83.25,250 --zone -04:00 --date 2024-04-08 "
        "--holding fixed --mirror yes --times good.csv --spots spots.csv --jobs 1",
        "analyse --output=with --site=41.5,-83.25,250 --zone=-04:00 --date=2024-04-08 "
        "--holding=fixed --mirror=yes --times=good.csv --spots=spots.csv --jobs=1 sun"};
    for (size_t i = 0; i < sizeof form / sizeof form[0]; i++) {
        assert_int_equal(run(form[i]), 0);
        cJSON *sequence = cJSON_Parse(read_text("with/sequence.json"));
        assert_non_null(sequence);
        check_near(at(sequence, "site", "lat_deg")->valuedouble, 41.5, 1e-6);
        check_near(at(sequence, "site", "lon_deg")->valuedouble, -83.25, 1e-6);
        check_near(at(sequence, "site", "height_m")->valuedouble, 250, 1e-6);
        assert_int_equal(at(sequence, "options", "zone_minutes")->valueint, -240);
        assert_string_equal(at(sequence, "options", "date")->valuestring, "2024-04-08");
        assert_string_equal(at(sequence, "holding", "mode")->valuestring, "fixed");
        assert_true(cJSON_IsTrue(at(sequence, "holding", "mirrored")));
        assert_string_equal(at(sequence, "given", "times")->valuestring, "good.csv");
        assert_string_equal(at(sequence, "given", "date")->valuestring, "2024-04-08");
        assert_string_equal(at(sequence, "given", "holding")->valuestring, "fixed");
        assert_string_equal(at(sequence, "given", "mirror")->valuestring, "yes");
        assert_int_equal(at(sequence, "given", "zone_minutes")->valueint, -240);
        assert_string_equal(at(sequence, "given", "spots")->valuestring, "spots.csv");
        const cJSON *spot = cJSON_GetArrayItem(cJSON_GetObjectItem(sequence, "spots"), 0);
        assert_string_equal(cJSON_GetObjectItem(spot, "id")->valuestring, "Invented");
        check_near(cJSON_GetObjectItem(spot, "latitude_deg")->valuedouble, 14.0, 1e-6);
        cJSON_Delete(sequence);
        assert_non_null(strstr(read_text("with/frames.csv"), "2024-04-08T14:37:20"));
        char path[PATH_SIZE];
        scratch_path(&folder, "with", path);
        remove_tree(path);
    }
}

/* By name and by path; the picture counts as measured. */
static void excluded_pictures_are_shown_so(void **state) {
    (void)state;
    static const char *const form[] = {"bitten.jpg", "sun/bitten.jpg", "./sun/../sun/bitten.jpg"};
    for (size_t i = 0; i < sizeof form / sizeof form[0]; i++) {
        char arguments[256], path[PATH_SIZE];
        snprintf(arguments, sizeof arguments, "analyse sun -o except --exclude %s", form[i]);
        assert_int_equal(run(arguments), 0);
        assert_non_null(strstr(output, "1 excluded (given)"));
        assert_non_null(strstr(output, "All measured pictures are excluded"));
        cJSON *sequence = cJSON_Parse(read_text("except/sequence.json"));
        assert_non_null(sequence);
        const cJSON *exclude = at(sequence, "given", "exclude");
        assert_int_equal(cJSON_GetArraySize(exclude), 1);
        assert_string_equal(cJSON_GetArrayItem(exclude, 0)->valuestring, "bitten.jpg");
        cJSON_Delete(sequence);
        assert_non_null(strstr(read_text("except/frames.csv"), ",excluded"));
        scratch_path(&folder, "except", path);
        remove_tree(path);
    }
}

static void a_full_disk_is_noticed(void **state) {
    (void)state;
    if (access("/dev/full", W_OK) != 0)
        skip();
    assert_int_equal(run("--help > /dev/full"), 74);
    assert_int_equal(run("analyse --help > /dev/full"), 74);
    assert_int_equal(run("analyse grey -o full > /dev/full"), 74);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(alone_it_shows_help_and_fails),
        cmocka_unit_test(help_is_there_and_warns),
        cmocka_unit_test(help_lists_every_option),
        cmocka_unit_test(wrong_commands_and_options_are_named),
        cmocka_unit_test(wrong_values_are_named),
        cmocka_unit_test(what_cannot_be_excluded_is_named),
        cmocka_unit_test(missing_inputs_are_named),
        cmocka_unit_test(foreign_folders_are_left_alone),
        cmocka_unit_test(what_cannot_be_read_gets_a_row),
        cmocka_unit_test(exit_status_tells_all_some_none),
        cmocka_unit_test(emphasis_is_for_terminals),
        cmocka_unit_test(an_unknown_site_is_asked_for),
        cmocka_unit_test(options_arrive),
        cmocka_unit_test(excluded_pictures_are_shown_so),
        cmocka_unit_test(a_full_disk_is_noticed),
    };
    return cmocka_run_group_tests_name("command", tests, setup, teardown);
}
