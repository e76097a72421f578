/*
 * folder.c - the output folder: whole or not at all, and nothing lost that is not ours.
 *
 * All files go into a new folder beside the target, which then takes its place by
 * rename. An earlier result is first set aside under another name and removed last. Files are made
 * and written by several threads, each file by one.
 */
#define _XOPEN_SOURCE 700 /* realpath */

#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "report/report_internal.h"

#define MARKER TL_REPORT_EVERYTHING

enum { NAME_TRIES = 100 };

typedef enum target_kind { TARGET_ABSENT, TARGET_EMPTY, TARGET_EARLIER } target_kind;

/* The folder asked for, without trailing slashes or links, and the folder it lies in. */
typedef struct target {
    char path[PATH_MAX];
    char parent[PATH_MAX];
    target_kind kind;
} target;

static tl_status write_error(void) {
    return errno == ENOSPC || errno == EDQUOT ? TL_ERR_NO_SPACE : TL_ERR_WRITE;
}

static bool join(const char *folder, const char *name, char path[PATH_MAX]) {
    const int length = snprintf(path, PATH_MAX, "%s/%s", folder, name);
    return length > 0 && length < PATH_MAX;
}

/* The output of this name; NULL: nothing of ours is called so. */
static const tl_report_output *own_output(const char *name) {
    for (size_t i = 0; i < tl_report_output_count; i++)
        if (strcmp(name, tl_report_outputs[i].name) == 0)
            return &tl_report_outputs[i];
    return NULL;
}

static bool is_plain_file(const char *folder, const char *name) {
    char path[PATH_MAX];
    struct stat info;
    return join(folder, name, path) && lstat(path, &info) == 0 && S_ISREG(info.st_mode);
}

static bool is_folder(const char *path) {
    struct stat info;
    return lstat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

/* A folder of ours with nothing in it but files of ours. */
static bool is_own_folder(const tl_report_output *output, const char *folder) {
    char path[PATH_MAX];
    if (!output->is_name || !join(folder, output->name, path) || !is_folder(path))
        return false;
    DIR *dir = opendir(path);
    bool own = dir != NULL;
    for (const struct dirent *e = dir ? readdir(dir) : NULL; e && own; e = readdir(dir))
        own = strcmp(e->d_name, ".") == 0 || strcmp(e->d_name, "..") == 0 ||
              (output->is_name(e->d_name) && is_plain_file(path, e->d_name));
    if (dir)
        closedir(dir);
    return own;
}

/* A file or folder of this name in `folder` is of ours, and all that is in it. */
static bool is_own(const char *folder, const char *name) {
    const tl_report_output *output = own_output(name);
    return output &&
           (output->is_name ? is_own_folder(output, folder) : is_plain_file(folder, name));
}

/* Another program's sequence.json must not be taken for ours: our first key says who wrote it. */
static bool is_own_marker(const char *folder) {
    static const char key[] = "\"program\"", value[] = "\"" TL_REPORT_PROGRAM "\"";
    char path[PATH_MAX], head[128];
    if (!is_plain_file(folder, MARKER) || !join(folder, MARKER, path))
        return false;
    FILE *file = fopen(path, "rb");
    if (!file)
        return false;
    const size_t length = fread(head, 1, sizeof head - 1, file);
    fclose(file);
    head[length] = '\0';
    const char *program = strstr(head, key);
    return program && strstr(program + strlen(key), value);
}

/* TL_ERR_ARGUMENT unless the folder is empty or holds an earlier result and nothing else. */
static tl_status look_inside(const char *folder, target_kind *kind) {
    DIR *dir = opendir(folder);
    if (!dir)
        return TL_ERR_WRITE;
    size_t own = 0, foreign = 0;
    for (const struct dirent *entry = readdir(dir); entry; entry = readdir(dir)) {
        const char *name = entry->d_name;
        if (strcmp(name, ".") == 0 || strcmp(name, "..") == 0)
            continue;
        if (is_own(folder, name))
            own++;
        else
            foreign++;
    }
    closedir(dir);
    if (foreign > 0 || (own > 0 && !is_own_marker(folder)))
        return TL_ERR_ARGUMENT;
    *kind = own > 0 ? TARGET_EARLIER : TARGET_EMPTY;
    return TL_OK;
}

/* `path` without its last part; "." and "/" where there is none. */
static void parent_of(const char *path, char parent[PATH_MAX]) {
    const char *slash = strrchr(path, '/');
    if (!slash)
        snprintf(parent, PATH_MAX, ".");
    else if (slash == path)
        snprintf(parent, PATH_MAX, "/");
    else
        snprintf(parent, PATH_MAX, "%.*s", (int)(slash - path), path);
}

/* Its rename would leave the user's shell in a folder that is no longer there. */
static bool is_working_folder(const struct stat *info) {
    struct stat here;
    return stat(".", &here) == 0 && here.st_dev == info->st_dev && here.st_ino == info->st_ino;
}

static tl_status look_at(const char *folder, target *t) {
    struct stat info;
    size_t length = folder ? strlen(folder) : 0;
    if (length == 0)
        return TL_ERR_ARGUMENT;
    if (length >= PATH_MAX)
        return TL_ERR_WRITE;
    while (length > 1 && folder[length - 1] == '/')
        length--;
    snprintf(t->path, PATH_MAX, "%.*s", (int)length, folder);
    t->kind = TARGET_ABSENT;
    if (lstat(t->path, &info) == 0) {
        char *real = realpath(t->path, NULL);
        if (!real)
            return TL_ERR_WRITE;
        snprintf(t->path, PATH_MAX, "%s", real);
        free(real);
        if (stat(t->path, &info) != 0)
            return TL_ERR_WRITE;
        if (!S_ISDIR(info.st_mode) || is_working_folder(&info))
            return TL_ERR_ARGUMENT;
        const tl_status status = look_inside(t->path, &t->kind);
        if (status != TL_OK)
            return status;
    }
    parent_of(t->path, t->parent);
    return TL_OK;
}

/* A new folder in the target's parent, under a name nothing else has. */
static tl_status make_beside(const target *t, const char *purpose, char made[PATH_MAX]) {
    for (int i = 0; i < NAME_TRIES; i++) {
        char name[64], path[PATH_MAX];
        snprintf(name, sizeof name, ".twolimb-%s-%ld-%d", purpose, (long)getpid(), i);
        if (!join(t->parent, name, path))
            return TL_ERR_WRITE;
        if (mkdir(path, 0777) == 0) {
            memcpy(made, path, PATH_MAX);
            return TL_OK;
        }
        if (errno != EEXIST)
            return write_error();
    }
    return TL_ERR_WRITE;
}

static void remove_own_folder(const tl_report_output *output, const char *folder) {
    char below[PATH_MAX];
    if (!join(folder, output->name, below) || !is_folder(below))
        return;
    DIR *dir = opendir(below);
    for (const struct dirent *e = dir ? readdir(dir) : NULL; e; e = readdir(dir)) {
        char path[PATH_MAX];
        if (output->is_name(e->d_name) && is_plain_file(below, e->d_name) &&
            join(below, e->d_name, path))
            unlink(path);
    }
    if (dir)
        closedir(dir);
    rmdir(below);
}

/* Remove a result of ours: only files of ours, so a folder with anything else stays. */
static void remove_result(const char *folder) {
    for (size_t i = 0; i < tl_report_output_count; i++) {
        const tl_report_output *output = &tl_report_outputs[i];
        char path[PATH_MAX];
        if (output->is_name)
            remove_own_folder(output, folder);
        else if (is_plain_file(folder, output->name) && join(folder, output->name, path))
            unlink(path);
    }
    rmdir(folder);
}

tl_status tl_report_write_file(const char *path, const char *data, size_t size) {
    FILE *file = fopen(path, "wb");
    if (!file)
        return write_error();
    tl_status status = TL_OK;
    if (fwrite(data, 1, size, file) != size)
        status = write_error();
    if (fclose(file) != 0 && status == TL_OK)
        status = write_error();
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
            return write_error();
    }
    tl_parallel(tasks, jobs, write_task, &w);
    return w.status;
}

/* rename() takes the place of an empty folder by itself; an earlier result goes aside first. */
static tl_status put_in_place(const target *t, const char *fresh) {
    char aside[PATH_MAX];
    if (t->kind != TARGET_EARLIER)
        return rename(fresh, t->path) == 0 ? TL_OK : write_error();
    const tl_status status = make_beside(t, "old", aside);
    if (status != TL_OK)
        return status;
    if (rename(t->path, aside) != 0) {
        const tl_status failed = write_error();
        rmdir(aside);
        return failed;
    }
    if (rename(fresh, t->path) != 0) {
        const tl_status failed = write_error();
        rename(aside, t->path);
        return failed;
    }
    remove_result(aside);
    return TL_OK;
}

tl_status tl_report_write_folder(const char *folder, const tl_report_source *source, int jobs) {
    target t;
    char fresh[PATH_MAX];
    tl_status status = look_at(folder, &t);
    if (status == TL_OK)
        status = make_beside(&t, "new", fresh);
    if (status != TL_OK)
        return status;
    status = write_all(fresh, source, jobs);
    if (status == TL_OK)
        status = put_in_place(&t, fresh);
    if (status != TL_OK)
        remove_result(fresh);
    return status;
}

tl_status tl_report_check(const char *folder) {
    target t;
    char fresh[PATH_MAX];
    tl_status status = look_at(folder, &t);
    if (status == TL_OK)
        status = make_beside(&t, "new", fresh);
    if (status == TL_OK)
        rmdir(fresh);
    return status;
}
