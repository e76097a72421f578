/*
 * own_files.c - which files and folders are of a result of ours, and may be replaced.
 */
#include <dirent.h>
#include <errno.h>
#include <limits.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "report/report_internal.h"

#define MARKER TL_REPORT_EVERYTHING

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

tl_status tl_report_look_inside(const char *folder, tl_report_place *kind) {
    struct stat info;
    *kind = TL_REPORT_ABSENT;
    if (lstat(folder, &info) != 0)
        return errno == ENOENT ? TL_OK : TL_ERR_WRITE;
    if (!S_ISDIR(info.st_mode))
        return TL_ERR_ARGUMENT;
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
    *kind = own > 0 ? TL_REPORT_EARLIER : TL_REPORT_EMPTY;
    return TL_OK;
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

void tl_report_remove(const char *folder) {
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

bool tl_report_is_own(const char *folder, const char *name) {
    char path[PATH_MAX];
    tl_report_place place;
    if (own_output(name))
        return is_own_marker(folder);
    return join(folder, name, path) && is_own_marker(path) &&
           tl_report_look_inside(path, &place) == TL_OK;
}
