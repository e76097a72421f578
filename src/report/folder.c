/*
 * folder.c - the output folder: whole or not at all, and nothing lost that is not ours.
 *
 * All files go into a draft beside the target, which then takes its place. An earlier result is
 * removed last. Files are made and written by several threads, each file by one.
 */
#include <limits.h>
#include <pthread.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>

#include "base/draft.h"
#include "report/report_internal.h"

/* Two runs that write to the same folder meet once; more often only by a wonder. */
enum { PLACE_TRIES = 10 };

static bool join(const char *folder, const char *name, char path[PATH_MAX]) {
    const int length = snprintf(path, PATH_MAX, "%s/%s", folder, name);
    return length > 0 && length < PATH_MAX;
}

/* Its rename would leave the user's shell in a folder that is no longer there. */
static bool is_working_folder(const char *path) {
    struct stat here, there;
    return stat(".", &here) == 0 && stat(path, &there) == 0 && here.st_dev == there.st_dev &&
           here.st_ino == there.st_ino;
}

static tl_status begin(const char *folder, tl_draft *draft) {
    char target[PATH_MAX];
    tl_report_place kind;
    tl_status status = tl_draft_resolve(folder, target);
    if (status == TL_OK)
        status = tl_report_look_inside(target, &kind);
    if (status == TL_OK && is_working_folder(target))
        status = TL_ERR_ARGUMENT;
    return status == TL_OK ? tl_draft_make(target, draft) : status;
}

tl_status tl_report_write_file(const char *path, const char *data, size_t size) {
    FILE *file = fopen(path, "wb");
    if (!file)
        return tl_draft_write_error();
    tl_status status = TL_OK;
    if (fwrite(data, 1, size, file) != size)
        status = tl_draft_write_error();
    if (fclose(file) != 0 && status == TL_OK)
        status = tl_draft_write_error();
    return status;
}

/* What the threads share. Task i is file `k` of an output. */
typedef struct writing {
    const tl_report_source *source;
    const char *folder;
    pthread_mutex_t lock; /* over `status` */
    tl_status status;     /* the first failure */
} writing;

static tl_status write_one(const writing *w, const tl_report_output *output, size_t k) {
    char folder[PATH_MAX], path[PATH_MAX];
    tl_report_text name = {0}, bytes = {0};
    tl_status status = output->make(w->source, k, &bytes);
    if (status == TL_OK && bytes.failed)
        status = TL_ERR_MEMORY;
    if (output->name_of)
        output->name_of(w->source, k, &name);
    if (name.failed)
        status = TL_ERR_MEMORY;
    if (status == TL_OK && bytes.length > 0) {
        const bool fits = output->name_of ? join(w->folder, output->name, folder) &&
                                                join(folder, tl_report_text_string(&name), path)
                                          : join(w->folder, output->name, path);
        status = fits ? tl_report_write_file(path, bytes.data, bytes.length) : TL_ERR_WRITE;
    }
    tl_report_text_free(&name);
    tl_report_text_free(&bytes);
    return status;
}

static void write_task(void *context, size_t task) {
    writing *w = context;
    const tl_report_output *output = tl_report_outputs;
    pthread_mutex_lock(&w->lock);
    const bool stop = w->status != TL_OK;
    pthread_mutex_unlock(&w->lock);
    if (stop)
        return;
    while (task >= tl_report_count_files(output, w->source))
        task -= tl_report_count_files(output++, w->source);
    const tl_status status = write_one(w, output, task);
    pthread_mutex_lock(&w->lock);
    if (w->status == TL_OK)
        w->status = status;
    pthread_mutex_unlock(&w->lock);
}

static tl_status write_all(const char *folder, const tl_report_source *source, int jobs) {
    writing w = {source, folder, PTHREAD_MUTEX_INITIALIZER, TL_OK};
    size_t tasks = 0;
    for (size_t i = 0; i < tl_report_output_count; i++) {
        const tl_report_output *output = &tl_report_outputs[i];
        char below[PATH_MAX];
        tasks += tl_report_count_files(output, source);
        if (!output->name_of || tl_report_count_files(output, source) == 0)
            continue;
        if (!join(folder, output->name, below))
            return TL_ERR_WRITE;
        if (mkdir(below, 0777) != 0)
            return tl_draft_write_error();
    }
    tl_parallel(tasks, jobs, write_task, &w);
    return w.status;
}

/* The earlier result goes, unless something came into it meanwhile that is not ours. */
static tl_status replace(const tl_draft *draft) {
    tl_report_place kind;
    tl_status status = tl_draft_swap(draft);
    if (status != TL_OK)
        return status;
    status = tl_report_look_inside(draft->path, &kind);
    if (status != TL_OK)
        tl_draft_swap(draft);
    else
        tl_report_remove(draft->path);
    return status;
}

/* What is at the target is looked at anew: another run may have put its own result there. */
static tl_status put_in_place(const tl_draft *draft) {
    tl_status status = TL_ERR_WRITE;
    for (int i = 0; i < PLACE_TRIES; i++) {
        tl_report_place kind;
        status = tl_report_look_inside(draft->target, &kind);
        if (status == TL_OK)
            status = kind == TL_REPORT_EARLIER ? replace(draft) : tl_draft_place(draft);
        if (status != TL_ERR_ARGUMENT)
            return status;
    }
    return status;
}

tl_status tl_report_write_folder(const char *folder, const tl_report_source *source, int jobs) {
    tl_draft draft;
    tl_status status = begin(folder, &draft);
    if (status != TL_OK)
        return status;
    status = write_all(draft.path, source, jobs);
    if (status == TL_OK)
        status = put_in_place(&draft);
    if (status != TL_OK)
        tl_draft_remove(draft.path);
    return status;
}

tl_status tl_report_check(const char *folder) {
    tl_draft draft;
    const tl_status status = begin(folder, &draft);
    if (status == TL_OK)
        tl_draft_remove(draft.path);
    return status;
}
