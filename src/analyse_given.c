/*
 * analyse_given.c - what the user said, kept for the report.
 */
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "analyse_steps.h"
#include "frame/frame_internal.h"

bool tl_analyse_names(const char *name, const char *path) {
    struct stat one, other;
    if (strcmp(name, path) == 0 || strcmp(name, tl_frame_base_name(path)) == 0)
        return true;
    return stat(name, &one) == 0 && stat(path, &other) == 0 && one.st_dev == other.st_dev &&
           one.st_ino == other.st_ino;
}

static bool is_excluded(const tl_analyse_options *options, const char *path) {
    for (size_t k = 0; k < options->exclude_count; k++)
        if (tl_analyse_names(options->exclude[k], path))
            return true;
    return false;
}

static size_t count_rows(const tl_times *times) {
    size_t rows = 0;
    while (tl_times_name(times, rows) != NULL)
        rows++;
    return rows;
}

/* A name misspelt would else go unseen. */
static tl_status find_stray(const tl_times *times, tl_sequence *sequence) {
    const size_t rows = count_rows(times);
    bool *used = calloc(rows + 1, sizeof *used);
    if (used == NULL)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < sequence->count; i++) {
        const size_t row = tl_times_row(times, sequence->frame[i].path);
        if (row != SIZE_MAX)
            used[row] = true;
    }
    tl_status status = TL_OK;
    for (size_t row = 0; row < rows && status == TL_OK; row++)
        if (!used[row] && sequence->times_stray_count++ == 0 &&
            (sequence->times_stray = strdup(tl_times_name(times, row))) == NULL)
            status = TL_ERR_MEMORY;
    free(used);
    return status;
}

/* Pictures that have no say cannot be given a wrong one. */
static bool has_say(const tl_analyse_options *options, const char *path) {
    struct stat about;
    return stat(path, &about) == 0 && S_ISREG(about.st_mode) && about.st_size > 0 &&
           !is_excluded(options, path);
}

tl_status tl_analyse_shared_row(const tl_analyse_options *options, const tl_file_list *files,
                                const char *path[2]) {
    const tl_times *times = options->times;
    const char **first = calloc(count_rows(times) + 1, sizeof *first);
    if (first == NULL)
        return TL_ERR_MEMORY;
    path[0] = path[1] = NULL;
    for (size_t i = 0; i < files->count && path[0] == NULL; i++) {
        const size_t row = tl_times_row(times, files->path[i]);
        if (row == SIZE_MAX || !has_say(options, files->path[i]))
            continue;
        if (first[row] == NULL) {
            first[row] = files->path[i];
        } else if (!tl_analyse_is_same_file(first[row], files->path[i])) {
            path[0] = first[row];
            path[1] = files->path[i];
        }
    }
    free(first);
    return TL_OK;
}

tl_status tl_analyse_given(const tl_analyse_options *options, tl_sequence *sequence) {
    for (size_t i = 0; i < sequence->count; i++)
        sequence->frame[i].excluded = is_excluded(options, sequence->frame[i].path);
    if (options->spots_name != NULL &&
        (sequence->spots_name = strdup(tl_frame_base_name(options->spots_name))) == NULL)
        return TL_ERR_MEMORY;
    if (options->times_name == NULL)
        return TL_OK;
    sequence->times_name = strdup(tl_frame_base_name(options->times_name));
    if (sequence->times_name == NULL)
        return TL_ERR_MEMORY;
    return options->times != NULL ? find_stray(options->times, sequence) : TL_OK;
}
