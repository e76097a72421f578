/*
 * analyse_given.c - what the user said, kept for the report.
 */
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

static bool is_picture(const tl_sequence *sequence, const char *name) {
    for (size_t i = 0; i < sequence->count; i++)
        if (tl_times_fits(name, sequence->frame[i].path))
            return true;
    return false;
}

/* A name misspelt would else go unseen. */
static tl_status find_stray(const tl_times *times, tl_sequence *sequence) {
    const char *name;
    for (size_t i = 0; times != NULL && (name = tl_times_name(times, i)) != NULL; i++) {
        if (is_picture(sequence, name))
            continue;
        if (sequence->times_stray_count++ == 0 && (sequence->times_stray = strdup(name)) == NULL)
            return TL_ERR_MEMORY;
    }
    return TL_OK;
}

tl_status tl_analyse_shared_row(const tl_times *times, const tl_file_list *files,
                                const char *path[2]) {
    size_t rows = 0;
    while (tl_times_name(times, rows) != NULL)
        rows++;
    const char **first = calloc(rows + 1, sizeof *first);
    if (first == NULL)
        return TL_ERR_MEMORY;
    path[0] = path[1] = NULL;
    for (size_t i = 0; i < files->count && path[0] == NULL; i++) {
        const size_t row = tl_times_row(times, files->path[i]);
        if (row == SIZE_MAX)
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
        for (size_t k = 0; k < options->exclude_count; k++)
            if (tl_analyse_names(options->exclude[k], sequence->frame[i].path))
                sequence->frame[i].excluded = true;
    if (options->spots_name != NULL &&
        (sequence->spots_name = strdup(tl_frame_base_name(options->spots_name))) == NULL)
        return TL_ERR_MEMORY;
    if (options->times_name == NULL)
        return TL_OK;
    sequence->times_name = strdup(tl_frame_base_name(options->times_name));
    if (sequence->times_name == NULL)
        return TL_ERR_MEMORY;
    return find_stray(options->times, sequence);
}
