/*
 * twolimb/analyse.h - the whole flow: pictures to a measured, timed series.
 */
#ifndef TWOLIMB_ANALYSE_H
#define TWOLIMB_ANALYSE_H

#include "twolimb/report.h"

typedef struct tl_analyse_options {
    tl_track_options track;    /* site, zone, date, holding, mirror */
    const tl_times *times;     /* or NULL */
    const char *times_name;    /* of its file, for the report; or NULL */
    const tl_spot_list *spots; /* known beforehand, or NULL */
    const char *spots_name;    /* of its file, for the report; or NULL */
    /* Pictures to be left out of the track, as tl_analyse_names understands them. */
    const char *const *exclude;
    size_t exclude_count;
    bool keep_copies; /* use all files, also those that are the same picture as another one */
    int jobs;         /* threads; 0: one per processor */
    /* Called after each frame, from any thread but never twice at once; may be NULL. */
    void (*progress)(void *context, size_t done, size_t total, const char *path);
    void *progress_context;
} tl_analyse_options;

/*
 * Whether `name`, as a user writes it, means the picture at `path`: its base name (which may be
 * that of several), or a path that leads to the same file.
 */
bool tl_analyse_names(const char *name, const char *path);

/*
 * Two different pictures in `*path` that one row of `options->times` fits, pictures of the same
 * name in two folders, so that it tells the time of neither; not those that are copies byte for
 * byte, nor any that is excluded. NULL, NULL if there are none. Points into `files`. TL_ERR_MEMORY.
 */
tl_status tl_analyse_shared_row(const tl_analyse_options *options, const tl_file_list *files,
                                const char *path[2]);

/*
 * Read, measure and time the pictures. Of files that are the same picture one is used, unless
 * copies are kept: the one with a time, with more pixels, with more EXIF, less compressed; the rows
 * of the others say of which they are copies. One bad file never stops the others: it
 * gets a row with its reason, also one for which memory ran out. TL_ERR_MEMORY, when the series
 * itself cannot be held, is the only failure.
 */
tl_status tl_analyse(const tl_file_list *files, const tl_analyse_options *options,
                     tl_sequence *sequence);

#endif
