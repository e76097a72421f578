/*
 * analyse_given.c - what the user said, kept for the report.
 */
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
        if (strcmp(tl_frame_base_name(sequence->frame[i].path), tl_frame_base_name(name)) == 0)
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
