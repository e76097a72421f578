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

tl_status tl_analyse_given(const tl_analyse_options *options, tl_sequence *sequence) {
    for (size_t i = 0; i < sequence->count; i++)
        for (size_t k = 0; k < options->exclude_count; k++)
            if (tl_analyse_names(options->exclude[k], sequence->frame[i].path))
                sequence->frame[i].excluded = true;
    if (options->times_name == NULL)
        return TL_OK;
    sequence->times_name = strdup(tl_frame_base_name(options->times_name));
    return sequence->times_name != NULL ? TL_OK : TL_ERR_MEMORY;
}
