/*
 * folder.c - the output folder: whole or not at all, and nothing lost that is not ours.
 *
 * All files go into a new folder beside the target, which then takes its place by
 * rename. An earlier result is first set aside under another name and removed last.
 */
#define _XOPEN_SOURCE 700 /* realpath */

#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "report/report_internal.h"

/* The only names ever removed: those a result of this program consists of. */
static const char *const own_name[] = {"frames.csv", "sequence.json", "report.html", "path.svg",
                                       "spots.csv"};
enum { OWN_NAMES = sizeof own_name / sizeof *own_name };

#define MARKER "sequence.json"

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

static bool is_own_name(const char *name) {
    for (int i = 0; i < OWN_NAMES; i++)
        if (strcmp(name, own_name[i]) == 0)
            return true;
    return false;
}

static bool is_plain_file(const char *folder, const char *name) {
    char path[PATH_MAX];
    struct stat info;
    return join(folder, name, path) && lstat(path, &info) == 0 && S_ISREG(info.st_mode);
}

/* limbs/ with nothing in it but pictures of ours. */
static bool is_own_folder(const char *folder, const char *name) {
    char path[PATH_MAX];
    struct stat info;
    if (strcmp(name, TL_REPORT_LIMBS_FOLDER) != 0 || !join(folder, name, path) ||
        lstat(path, &info) != 0 || !S_ISDIR(info.st_mode))
        return false;
    DIR *dir = opendir(path);
    bool own = dir != NULL;
    for (const struct dirent *e = dir ? readdir(dir) : NULL; e && own; e = readdir(dir))
        own = strcmp(e->d_name, ".") == 0 || strcmp(e->d_name, "..") == 0 ||
              (tl_report_is_limbs_name(e->d_name) && is_plain_file(path, e->d_name));
    if (dir)
        closedir(dir);
    return own;
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
        if ((is_own_name(name) && is_plain_file(folder, name)) || is_own_folder(folder, name))
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

static void remove_pictures(const char *folder) {
    char below[PATH_MAX];
    if (!join(folder, TL_REPORT_LIMBS_FOLDER, below))
        return;
    DIR *dir = opendir(below);
    for (const struct dirent *e = dir ? readdir(dir) : NULL; e; e = readdir(dir)) {
        char path[PATH_MAX];
        if (tl_report_is_limbs_name(e->d_name) && is_plain_file(below, e->d_name) &&
            join(below, e->d_name, path))
            unlink(path);
    }
    if (dir)
        closedir(dir);
    rmdir(below);
}

/* Remove a result of ours: only files of ours, so a folder with anything else stays. */
static void remove_result(const char *folder) {
    remove_pictures(folder);
    for (int i = 0; i < OWN_NAMES; i++) {
        char path[PATH_MAX];
        if (is_plain_file(folder, own_name[i]) && join(folder, own_name[i], path))
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

static tl_status write_all(const char *folder, const tl_report_file *file, size_t count) {
    for (size_t i = 0; i < count; i++) {
        char path[PATH_MAX];
        if (!join(folder, file[i].name, path))
            return TL_ERR_WRITE;
        const tl_status status = tl_report_write_file(path, file[i].data, file[i].size);
        if (status != TL_OK)
            return status;
    }
    return TL_OK;
}

static tl_status write_pictures(const char *folder, const tl_report_pictures *pictures) {
    char below[PATH_MAX];
    if (!join(folder, TL_REPORT_LIMBS_FOLDER, below))
        return TL_ERR_WRITE;
    if (mkdir(below, 0777) != 0)
        return write_error();
    tl_status status = TL_OK;
    for (size_t i = 0; i < pictures->count && status == TL_OK; i++) {
        char path[PATH_MAX];
        tl_report_text name = {0};
        unsigned char *data = NULL;
        size_t size = 0;
        status = pictures->make(pictures->context, i, &name, &data, &size);
        if (status == TL_OK)
            status = join(below, tl_report_text_string(&name), path)
                         ? tl_report_write_file(path, (const char *)data, size)
                         : TL_ERR_WRITE;
        tl_report_text_free(&name);
        free(data);
    }
    return status;
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

tl_status tl_report_write_folder(const char *folder, const tl_report_file *file, size_t count,
                                 const tl_report_pictures *pictures) {
    target t;
    char fresh[PATH_MAX];
    tl_status status = look_at(folder, &t);
    if (status == TL_OK)
        status = make_beside(&t, "new", fresh);
    if (status != TL_OK)
        return status;
    status = write_all(fresh, file, count);
    if (status == TL_OK)
        status = write_pictures(fresh, pictures);
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
