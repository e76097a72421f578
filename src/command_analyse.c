/*
 * command_analyse.c - pictures to a folder of results.
 */
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "base/draft.h"
#include "command_analyse.h"

static int read_times(const char *path, tl_times **times) {
    int line;
    if (path == NULL)
        return TL_EXIT_FINE;
    const tl_status status = tl_times_read(path, &line, times);
    if (status == TL_ERR_FORMAT)
        return tl_command_fail_table(
            path, line, "a table of times",
            "The first line names the columns \"file\" and \"time\", with commas, semicolons or "
            "tabs between them; each file has one row; times have the date and seconds, like "
            "2026-08-12T19:14:03.5 or 2026-08-12 19:14:03.");
    if (status == TL_ERR_EMPTY_FILE)
        return tl_command_fail(TL_EXIT_DATA,
                               "%s: The table of times is empty; it needs the columns \"file\" "
                               "and \"time\".",
                               path);
    return status == TL_OK ? TL_EXIT_FINE : tl_command_fail_status(status, path);
}

/* A time that is right for one camera would be wrong for the other. */
static int check_times(const tl_analyse_request *r, const tl_file_list *files) {
    const char *shared[2];
    if (r->analyse.times == NULL)
        return TL_EXIT_FINE;
    const tl_status status = tl_analyse_shared_row(&r->analyse, files, shared);
    if (status != TL_OK)
        return tl_command_fail_status(status, "analyse");
    if (shared[0] == NULL)
        return TL_EXIT_FINE;
    return tl_command_fail(TL_EXIT_DATA,
                           "%s: One row is for both %s and %s; write the folder before the name in "
                           "the table, as it stands here, a row for each, or leave one out with "
                           "--exclude.",
                           r->times_path, shared[0], shared[1]);
}

static int list_pictures(const tl_analyse_request *r, tl_file_list *files) {
    const char *bad = "";
    const tl_status status =
        tl_file_list_walk(r->pictures, r->picture_count, &r->walk, &bad, files);
    if (status == TL_ERR_TOO_LARGE)
        return tl_command_fail(TL_EXIT_INPUT,
                               "%s: There are more than 200,000 files here; name the folders the "
                               "pictures are in.",
                               bad);
    if (status != TL_OK)
        return tl_command_fail_status(status, bad);
    if (files->count > 0)
        return TL_EXIT_FINE;
    const char *advice =
        files->passed[TL_PASSED_RAW].count > 0       ? "export the raw files as JPEG"
        : files->passed[TL_PASSED_PICTURE].count > 0 ? "save those there are as JPEG"
        : files->passed[TL_PASSED_FOLDER].count > 0  ? "look into the folders in it with -r"
                                                     : "name the folder the pictures are in";
    return tl_command_fail(TL_EXIT_INPUT,
                           "%s: There are no pictures in this folder to work on; %s.",
                           r->pictures[0], advice);
}

static bool any_named(const char *name, const tl_file_list *files) {
    for (size_t i = 0; i < files->count; i++)
        if (tl_analyse_names(name, files->path[i]))
            return true;
    return false;
}

/* Every name given with --exclude must be that of a picture: a slip of the pen would go unnoticed.
 */
static int check_excludes(const tl_analyse_request *r, const tl_file_list *files) {
    char *list = NULL;
    size_t size = 0;
    FILE *stream = open_memstream(&list, &size);
    if (stream == NULL)
        return tl_command_fail_status(TL_ERR_MEMORY, "analyse");
    for (size_t i = 0; i < r->analyse.exclude_count; i++)
        if (!any_named(r->exclude[i], files))
            fprintf(stream, "%s\"%s\"", ftell(stream) > 0 ? ", " : "", r->exclude[i]);
    int exit_status = TL_EXIT_FINE;
    if (fclose(stream) != 0)
        exit_status = tl_command_fail_status(TL_ERR_MEMORY, "analyse");
    else if (size > 0)
        exit_status = tl_command_fail(TL_EXIT_USAGE,
                                      "--exclude %s: none of the pictures is called so; write its "
                                      "file name, or its path.",
                                      list);
    free(list);
    return exit_status;
}

/* A result takes the place of a whole folder, which can be refused for more than what is in it. */
static const char *what_is_left_alone(const char *folder) {
    struct stat here, there;
    if (tl_draft_is_mount(folder))
        return "where a disk is mounted, and not a folder in it";
    if (stat(".", &here) == 0 && stat(folder, &there) == 0 && here.st_dev == there.st_dev &&
        here.st_ino == there.st_ino)
        return "the folder you are in";
    return "not an empty folder nor an earlier result";
}

/* The results cannot be put there: the reason in the words of this command. */
static int fail_output(tl_status status, const char *folder) {
    if (status == TL_ERR_ARGUMENT)
        return tl_command_fail(TL_EXIT_CREATE,
                               "%s: This is %s, so it is left alone; choose another with -o "
                               "FOLDER.",
                               folder, what_is_left_alone(folder));
    char *copy = strdup(folder);
    const char *parent = copy != NULL ? dirname(copy) : ".";
    struct stat info;
    const bool missing = stat(parent, &info) != 0 || !S_ISDIR(info.st_mode);
    const int code =
        missing ? tl_command_fail(TL_EXIT_CREATE,
                                  "%s: There is no folder %s to put it into; make that first, or "
                                  "choose another with -o FOLDER.",
                                  folder, parent)
                : tl_command_fail_status(status, folder);
    free(copy);
    return code;
}

static void show_progress(void *context, size_t done, size_t total, const char *path) {
    char step[64];
    (void)context;
    (void)path;
    snprintf(step, sizeof step, "%zu of %zu pictures", done, total);
    tl_command_show_step(done < total ? step : "measured; now times, path and sunspots");
}

/* On a terminal that can, unless the user wants none: NO_COLOR set to anything but nothing, as many
 * programs have it (common practice: no-color.org). */
static bool wants_emphasis(void) {
    const char *unwanted = getenv("NO_COLOR"), *terminal = getenv("TERM");
    return isatty(STDOUT_FILENO) && (unwanted == NULL || *unwanted == '\0') && terminal != NULL &&
           *terminal != '\0' && strcmp(terminal, "dumb") != 0;
}

static int exit_for(const tl_sequence *sequence) {
    const size_t measured = tl_sequence_count(sequence, TL_LIMB_MEASURED);
    return measured + tl_sequence_copies(sequence) == sequence->count && measured > 0 ? TL_EXIT_FINE
           : measured > 0                                                             ? TL_EXIT_SOME
                          : TL_EXIT_NOTHING;
}

static int analyse(const tl_analyse_request *r, const tl_file_list *files) {
    tl_sequence sequence = {0};
    const bool steps = r->analyse.progress != NULL;
    tl_status written = TL_OK;
    tl_command_hush(); /* round the guard, whose thread speaks to the terminal */
    tl_command_guard(r->folder);
    const tl_status status = tl_analyse(files, &r->analyse, &sequence);
    if (steps && status == TL_OK)
        tl_command_show_step(r->scope == TL_REPORT_TABLES
                                 ? "writing the tables"
                                 : "writing the page, the slides and the rest");
    if (status == TL_OK)
        written = tl_report_write(&sequence, r->folder, r->scope, r->analyse.jobs);
    tl_command_unguard();
    tl_command_unhush();
    if (steps)
        tl_command_clear_step();
    if (status != TL_OK)
        return tl_command_fail_status(status, "analyse");
    int exit_status = exit_for(&sequence);
    if (written != TL_OK)
        exit_status = fail_output(written, r->folder);
    else if (!r->quiet)
        tl_report_summary(&sequence, r->folder, wants_emphasis(), stdout);
    tl_sequence_free(&sequence);
    return tl_command_finish(exit_status);
}

int tl_command_analyse(int argc, char **argv) {
    tl_analyse_request r = {.folder = "twolimb-out", .walk.is_own = tl_report_is_own};
    r.analyse.track.sky = tl_sky_options_default();
    tl_times *times = NULL;
    tl_spot_list spots = {0};
    tl_file_list files = {0};
    r.exclude = calloc((size_t)argc, sizeof *r.exclude);
    if (r.exclude == NULL)
        return tl_command_fail_status(TL_ERR_MEMORY, "analyse");
    r.analyse.exclude = r.exclude;

    int exit_status = tl_command_read_analyse(argc, argv, &r);
    if (exit_status == TL_EXIT_FINE && r.help) {
        free(r.exclude);
        fputs(tl_command_analyse_help, stdout);
        return tl_command_finish(TL_EXIT_FINE);
    }
    if (exit_status == TL_EXIT_FINE)
        exit_status = list_pictures(&r, &files);
    if (exit_status == TL_EXIT_FINE)
        exit_status = check_excludes(&r, &files);
    if (exit_status == TL_EXIT_FINE)
        exit_status = read_times(r.times_path, &times);
    r.analyse.times = times;
    if (exit_status == TL_EXIT_FINE)
        exit_status = check_times(&r, &files);
    if (exit_status == TL_EXIT_FINE && r.spots_path != NULL) {
        exit_status = tl_command_read_spots(r.spots_path, &spots);
        r.analyse.spots = &spots;
    }
    if (exit_status == TL_EXIT_FINE) {
        const tl_status status = tl_report_check(r.folder);
        if (status != TL_OK)
            exit_status = fail_output(status, r.folder);
    }
    if (exit_status == TL_EXIT_FINE) {
        if (!r.quiet && isatty(STDERR_FILENO))
            r.analyse.progress = show_progress;
        exit_status = analyse(&r, &files);
    }
    tl_times_free(times);
    tl_spot_list_free(&spots);
    tl_file_list_free(&files);
    free(r.exclude);
    return exit_status;
}
