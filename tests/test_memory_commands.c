/*
 * test_memory_commands.c - the commands of the program when memory runs out: they say so, or give
 * the same result as ever; never do they leave half an output or anything else behind.
 */
#define _GNU_SOURCE
#include "memory_fail.h"

#include "command.h"

/* Few of the analysis as a whole, for it takes a second or two: test_memory_analyse.c and
 * test_memory_outputs.c go through its parts. */
enum { ARGUMENTS_MAX = 16, FEW_STRIDE = 7, ANALYSE_STRIDE = 15013, FAULTS_SHOWN = 20 };

typedef struct command_line {
    int (*run)(int argc, char **argv);
    char *argv[ARGUMENTS_MAX];
    const char *out; /* the folder the command makes, below `folder`; NULL: it prints */
} command_line;

static int run_command(const void *context) {
    const command_line *line = context;
    char *argv[ARGUMENTS_MAX];
    int argc = 0;
    memcpy(argv, line->argv, sizeof argv); /* getopt_long sorts them */
    while (argv[argc] != NULL)
        argc++;
    return line->run(argc, argv);
}

/* ---- what is left behind ---- */

/* The names of a folder's files and folders, one after the other in order; "" if it is not there.
 * Files of no bytes are marked, but for the standard streams. free(). */
static char *listing(const char *path) {
    struct dirent **entry;
    char *text = NULL;
    size_t size = 0;
    const int count = scandir(path, &entry, NULL, alphasort);
    FILE *stream = open_memstream(&text, &size);
    assert_non_null(stream);
    for (int i = 0; i < count; i++) {
        char inside[2 * PATH_SIZE];
        struct stat about;
        snprintf(inside, sizeof inside, "%s/%s", path, entry[i]->d_name);
        const bool empty =
            strcmp(path, folder) != 0 && stat(inside, &about) == 0 && about.st_size == 0;
        fprintf(stream, "%s%s\n", entry[i]->d_name, empty ? " (empty)" : "");
        free(entry[i]);
    }
    if (count >= 0)
        free(entry);
    assert_int_equal(fclose(stream), 0);
    return text;
}

static char *read_text(const char *path) {
    char *text = NULL;
    size_t room = 0;
    FILE *file = fopen(path, "r");
    if (file == NULL || getdelim(&text, &room, '\0', file) < 0) {
        free(text);
        text = strdup("");
    }
    if (file != NULL)
        fclose(file);
    assert_non_null(text);
    return text;
}

/* What a run without failures leaves behind. */
typedef struct reference {
    int exit_status;
    long allocations;
    char *printed, *listed, *table; /* owned */
} reference;

/* Standard output, the output folder's files, its frames.csv (or truth.csv). */
static void look(const command_line *line, reference *found) {
    char path[PATH_SIZE];
    path_of("stdout", path);
    found->printed = read_text(path);
    path_of(line->out != NULL ? line->out : "nothing", path);
    found->listed = listing(path);
    const size_t end = strlen(path);
    snprintf(path + end, PATH_SIZE - end, "/%s",
             line->run == tl_command_analyse ? "frames.csv" : "truth.csv");
    found->table = read_text(path);
    if (line->out != NULL) {
        path[end] = '\0';
        remove_tree(path);
    }
}

static void forget(reference *found) {
    free(found->printed);
    free(found->listed);
    free(found->table);
}

/* ---- the trials of one command ---- */

/* Nothing but what was there before: no temporary folder. */
static bool is_tidy(const char *before) {
    char *after = listing(folder);
    const bool same = strcmp(before, after) == 0;
    free(after);
    return same;
}

/* What is wrong with a trial; NULL: nothing. */
static const char *fault(const command_line *line, const reference *whole, const reference *found,
                         const char *before) {
    char path[PATH_SIZE];
    if (found->exit_status == CRASHED)
        return "crashed";
    if (found->exit_status == LEAKED)
        return "leaked";
    if (!is_tidy(before))
        return "left something behind";
    path_of("stderr", path);
    char *said = read_text(path);
    const bool silent = said[0] == '\0';
    free(said);
    if (found->exit_status >= TL_EXIT_USAGE) {
        /* cJSON tells no mistake in a scene from want of memory to read it. */
        const bool scene = found->exit_status == TL_EXIT_DATA && line->run == tl_command_simulate;
        if (found->exit_status != TL_EXIT_SYSTEM && !scene)
            return "failed for another reason";
        if (found->listed[0] != '\0')
            return "failed, yet left an output";
        return silent ? "failed without a word" : NULL;
    }
    if (strcmp(found->listed, whole->listed) != 0)
        return "left half an output";
    if (found->exit_status == whole->exit_status && strcmp(found->table, whole->table) != 0)
        return "says all is well of another result";
    if (line->out == NULL && strcmp(found->printed, whole->printed) != 0)
        return "printed something else";
    return NULL;
}

/* Every `stride`-th allocation fails. */
static void fail_in_turn(const command_line *line, long stride) {
    reference whole = {0};
    int faults = 0;
    trial(run_command, line, -1, &whole.allocations); /* makes the files of standard streams */
    look(line, &whole);
    forget(&whole);
    char *before = listing(folder);
    whole.exit_status = trial(run_command, line, -1, &whole.allocations);
    look(line, &whole);
    assert_true(whole.exit_status < TL_EXIT_USAGE && whole.allocations > 0);
    for (long n = first_trial(); n < whole.allocations; n = next_trial(n, stride)) {
        reference found = {0};
        found.exit_status = trial(run_command, line, n, &found.allocations);
        look(line, &found);
        const char *what = fault(line, &whole, &found, before);
        if (what != NULL && faults++ < FAULTS_SHOWN)
            complain(what, n, whole.allocations, found.exit_status);
        forget(&found);
    }
    forget(&whole);
    free(before);
    assert_int_equal(faults, 0);
}

/* ---- the commands ---- */

static const char small_scene_text[] =
    "{\"site\": {\"lat_deg\": 62.0, \"lon_deg\": -6.8}, \"day\": \"2026-08-12\",\n"
    " \"spots\": [{\"latitude_deg\": 14, \"longitude_deg\": -24, \"radius_deg\": 4}],\n"
    " \"defaults\": {\"width\": 40, \"height\": 40, \"sun_r_px\": 15, \"blur_px\": 1, \"noise\": "
    "true,\n"
    "   \"clock\": {\"zone\": \"+01:00\"}, \"gps\": true},\n"
    " \"sets\": [{\"start\": \"C1+1200\", \"stop\": \"C4-1200\", \"count\": 1}]}\n";
static const char spots_text[] = "name,time,place\nP,2026-08-12,N14E24\nQ,2026-08-12,S05W40\n";
static const char times_text[] = "file,time,zone\nframe_01.jpg,2026-08-12T18:16:32.5,+01:00\n";

static char small_scene_path[PATH_SIZE], spots_path[PATH_SIZE], times_path[PATH_SIZE],
    out_path[PATH_SIZE];

static int set_up(void **state) {
    (void)state;
    make_pictures();
    write_text("small.json", small_scene_text, small_scene_path);
    write_text("spots.csv", spots_text, spots_path);
    write_text("times.csv", times_text, times_path);
    path_of("out", out_path);
    return 0;
}

static int tear_down(void **state) {
    (void)state;
    remove_tree(folder);
    return 0;
}

static void predict_says_so_or_is_whole(void **state) {
    (void)state;
    const command_line line = {
        tl_command_predict,
        {"predict", "--site", "62.0,-6.8", "--date", "2026-08-12", "--spots", spots_path, "--json"},
        NULL};
    fail_in_turn(&line, FEW_STRIDE);
}

static void simulate_says_so_or_is_whole(void **state) {
    (void)state;
    const command_line line = {
        tl_command_simulate, {"simulate", small_scene_path, out_path}, "out"};
    fail_in_turn(&line, FEW_STRIDE);
}

static void analyse_says_so_or_is_whole(void **state) {
    (void)state;
    const command_line line = {tl_command_analyse,
                               {"analyse", pictures_path, "-o", out_path, "--jobs", "1", "--times",
                                times_path, "--spots", spots_path},
                               "out"};
    fail_in_turn(&line, ANALYSE_STRIDE);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(predict_says_so_or_is_whole),
        cmocka_unit_test(simulate_says_so_or_is_whole),
        cmocka_unit_test(analyse_says_so_or_is_whole),
    };
    return cmocka_run_group_tests_name("memory_commands", tests, set_up, tear_down);
}
