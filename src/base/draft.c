/*
 * draft.c - a folder in the making, put in place when it is whole.
 *
 * What a process that was killed left behind is removed by the next one that makes a draft in the
 * same folder. Process numbers mean something only where they were given, and a folder may be
 * shared by machines, so a draft is also called after machine and process name space.
 */
#define _GNU_SOURCE /* realpath, renameat2, statx */

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#include "base/draft.h"

enum {
    NAME_SIZE = 80,
    NAME_TRIES = 100,
    SWAP_TRIES = 100, /* of two runs that write to the same target at the same moment */
    REMOVE_TRIES = 200,
    TRY_MS = 10,
    FOLDERS_DEEP = 2 /* a result has folders of files in it, but none in those */
};

/* What a folder of ours in the making is called after: `purpose` is one of these. */
#define NEW "new"   /* being written */
#define OLD "old"   /* the earlier result while the new one takes its place, in three steps */
#define GONE "gone" /* given up, being removed */

tl_status tl_draft_write_error(void) {
    return errno == ENOSPC || errno == EDQUOT ? TL_ERR_NO_SPACE
           : errno == ENOMEM                  ? TL_ERR_MEMORY
                                              : TL_ERR_WRITE;
}

static bool join(const char *folder, const char *name, char path[PATH_MAX]) {
    const int length = snprintf(path, PATH_MAX, "%s/%s", folder, name);
    return length > 0 && length < PATH_MAX;
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

/* FNV-1a (Fowler, Noll, Vo; offset basis and prime of the 32-bit form). */
static uint32_t hash(uint32_t so_far, const char *text) {
    for (; *text; text++)
        so_far = (so_far ^ (unsigned char)*text) * 16777619u;
    return so_far;
}

/* Where a process number means something: this machine, this name space. */
static uint32_t where(void) {
    char host[256] = "", space[64] = "";
    if (gethostname(host, sizeof host - 1) != 0)
        host[0] = '\0';
    if (readlink("/proc/self/ns/pid", space, sizeof space - 1) < 0)
        space[0] = '\0'; /* a system without them */
    return hash(hash(2166136261u, host), space);
}

/* All names of this process and purpose begin so. */
static void name_start(const char *purpose, char start[NAME_SIZE]) {
    snprintf(start, NAME_SIZE, ".twolimb-%s-%08x-%ld-", purpose, where(), (long)getpid());
}

tl_status tl_draft_resolve(const char *folder, char target[PATH_MAX]) {
    struct stat info;
    char path[PATH_MAX];
    size_t length = folder ? strlen(folder) : 0;
    if (length == 0)
        return TL_ERR_ARGUMENT;
    if (length >= PATH_MAX)
        return TL_ERR_WRITE;
    while (length > 1 && folder[length - 1] == '/')
        length--;
    snprintf(path, PATH_MAX, "%.*s", (int)length, folder);
    if (lstat(path, &info) == 0) {
        char *real = realpath(path, NULL);
        if (!real)
            return TL_ERR_WRITE;
        snprintf(path, PATH_MAX, "%s", real);
        free(real);
    }
    memcpy(target, path, PATH_MAX);
    return TL_OK;
}

static bool is_folder(const char *path) {
    struct stat info;
    return lstat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

static bool is_dots(const char *name) {
    return strcmp(name, ".") == 0 || strcmp(name, "..") == 0;
}

static void remove_files(const char *folder, int deep) {
    DIR *dir = opendir(folder);
    for (const struct dirent *e = dir ? readdir(dir) : NULL; e; e = readdir(dir)) {
        char path[PATH_MAX];
        if (is_dots(e->d_name) || !join(folder, e->d_name, path))
            continue;
        if (!is_folder(path))
            unlink(path);
        else if (deep > 1)
            remove_files(path, deep - 1);
    }
    if (dir)
        closedir(dir);
    rmdir(folder);
}

void tl_draft_remove(const char *path) {
    remove_files(path, FOLDERS_DEEP);
}

/* A draft, given up or not, of a process of ours here that is no longer there. */
static bool is_left_behind(const char *parent, const char *name) {
    char path[PATH_MAX], expected[NAME_SIZE];
    const char *const purpose[] = {NEW, GONE};
    struct stat info;
    for (size_t i = 0; i < sizeof purpose / sizeof *purpose; i++) {
        char *end;
        snprintf(expected, sizeof expected, ".twolimb-%s-%08x-", purpose[i], where());
        const size_t length = strlen(expected);
        if (strncmp(name, expected, length) != 0)
            continue;
        const long process = strtol(name + length, &end, 10);
        const long number = *end == '-' ? strtol(end + 1, NULL, 10) : 0;
        snprintf(expected + length, sizeof expected - length, "%ld-%ld", process, number);
        return strcmp(name, expected) == 0 && process > 0 && join(parent, name, path) &&
               is_folder(path) && lstat(path, &info) == 0 && info.st_uid == geteuid() &&
               kill((pid_t)process, 0) != 0 && errno == ESRCH;
    }
    return false;
}

static void remove_left_behind(const char *parent) {
    DIR *dir = opendir(parent);
    for (const struct dirent *e = dir ? readdir(dir) : NULL; e; e = readdir(dir)) {
        char path[PATH_MAX];
        if (is_left_behind(parent, e->d_name) && join(parent, e->d_name, path))
            tl_draft_remove(path);
    }
    if (dir)
        closedir(dir);
}

/* A new folder under a name nothing else has. */
static tl_status make_folder(const char *parent, const char *purpose, char made[PATH_MAX]) {
    char start[NAME_SIZE], name[2 * NAME_SIZE], path[PATH_MAX];
    name_start(purpose, start);
    for (int i = 0; i < NAME_TRIES; i++) {
        snprintf(name, sizeof name, "%s%d", start, i);
        if (!join(parent, name, path))
            return TL_ERR_WRITE;
        if (mkdir(path, 0777) == 0) {
            memcpy(made, path, PATH_MAX);
            return TL_OK;
        }
        if (errno != EEXIST)
            return tl_draft_write_error();
    }
    return TL_ERR_WRITE;
}

/* A folder of the same disk may be mounted, too, which only the system knows; where it does not
 * say, another disk than that of the folder around it gives a mount away. */
static bool is_mount(const char *target) {
#ifdef STATX_ATTR_MOUNT_ROOT
    struct statx about;
    if (statx(AT_FDCWD, target, AT_SYMLINK_NOFOLLOW, 0, &about) == 0 &&
        (about.stx_attributes_mask & STATX_ATTR_MOUNT_ROOT) != 0)
        return (about.stx_attributes & STATX_ATTR_MOUNT_ROOT) != 0;
#endif
    char parent[PATH_MAX];
    struct stat here, around;
    parent_of(target, parent);
    return lstat(target, &here) == 0 && S_ISDIR(here.st_mode) && stat(parent, &around) == 0 &&
           here.st_dev != around.st_dev;
}

bool tl_draft_is_mount(const char *folder) {
    char target[PATH_MAX];
    return tl_draft_resolve(folder, target) == TL_OK && is_mount(target);
}

tl_status tl_draft_make(const char *target, tl_draft *draft) {
    char parent[PATH_MAX], path[PATH_MAX];
    if (is_mount(target))
        return TL_ERR_ARGUMENT;
    parent_of(target, parent);
    remove_left_behind(parent);
    const tl_status status = make_folder(parent, NEW, path);
    if (status != TL_OK)
        return status;
    snprintf(draft->target, PATH_MAX, "%s", target);
    memcpy(draft->path, path, PATH_MAX);
    return TL_OK;
}

tl_status tl_draft_place(const tl_draft *draft) {
    /* rename() takes the place of an empty folder by itself (POSIX), and of nothing else. */
    if (rename(draft->path, draft->target) == 0)
        return TL_OK;
    return errno == EEXIST || errno == ENOTEMPTY || errno == ENOTDIR ? TL_ERR_ARGUMENT
                                                                     : tl_draft_write_error();
}

/* Both names change owner in one step; errno is ENOSYS where that cannot be done. */
static int exchange(const char *one, const char *other) {
#if defined(__linux__) && defined(RENAME_EXCHANGE)
    return renameat2(AT_FDCWD, one, AT_FDCWD, other, RENAME_EXCHANGE);
#else
    (void)one;
    (void)other;
    errno = ENOSYS;
    return -1;
#endif
}

static tl_status swap_in_steps(const tl_draft *draft) {
    char parent[PATH_MAX], aside[PATH_MAX];
    parent_of(draft->target, parent);
    const tl_status status = make_folder(parent, OLD, aside);
    if (status != TL_OK)
        return status;
    if (rename(draft->target, aside) != 0) {
        const tl_status failed = errno == ENOENT ? TL_ERR_ARGUMENT : tl_draft_write_error();
        rmdir(aside);
        return failed;
    }
    if (rename(draft->path, draft->target) != 0) {
        const tl_status failed = tl_draft_write_error();
        rename(aside, draft->target);
        return failed;
    }
    rename(aside, draft->path);
    return TL_OK;
}

tl_status tl_draft_swap(const tl_draft *draft) {
    if (exchange(draft->path, draft->target) == 0)
        return TL_OK;
    switch (errno) {
    case ENOSYS:
    case EINVAL: /* this file system has no such call */
    case ENOTSUP:
    case EXDEV: /* one of layers, with the target in the lower one */
        return swap_in_steps(draft);
    case ENOENT:
        return TL_ERR_ARGUMENT;
    default:
        return tl_draft_write_error();
    }
}

/* The first folder in `parent` whose name begins so. */
static bool find_folder(const char *parent, const char *start, char path[PATH_MAX]) {
    bool found = false;
    DIR *dir = opendir(parent);
    for (const struct dirent *e = dir ? readdir(dir) : NULL; e && !found; e = readdir(dir))
        found = strncmp(e->d_name, start, strlen(start)) == 0 && join(parent, e->d_name, path) &&
                is_folder(path);
    if (dir)
        closedir(dir);
    return found;
}

static void wait_a_little(void) {
    const struct timespec pause = {.tv_nsec = TRY_MS * 1000000L};
    nanosleep(&pause, NULL);
}

void tl_draft_abandon(const char *folder) {
    char target[PATH_MAX], parent[PATH_MAX], draft[PATH_MAX], gone[PATH_MAX], start[NAME_SIZE];
    if (tl_draft_resolve(folder, target) != TL_OK)
        return;
    parent_of(target, parent);
    /* Under another name at first: from then on nothing is written into it, nor is it put in place.
     * If it was just before, what is removed is the earlier result, which was to be removed. */
    name_start(NEW, start);
    for (int i = 0; i < NAME_TRIES && find_folder(parent, start, draft); i++) {
        if (make_folder(parent, GONE, gone) != TL_OK || rename(draft, gone) != 0)
            continue;
        /* A file that was being made at that moment may still come. */
        tl_draft_remove(gone);
        for (int k = 0; k < REMOVE_TRIES && is_folder(gone); k++) {
            wait_a_little();
            tl_draft_remove(gone);
        }
    }
    /* A swap in three steps must come to its end, or back. */
    name_start(OLD, start);
    for (int k = 0; k < REMOVE_TRIES && find_folder(parent, start, draft); k++)
        wait_a_little();
}
