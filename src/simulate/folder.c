/*
 * folder.c - the output folder: written under another name, then put in place whole.
 */
#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "simulate/simulate_internal.h"

static tl_status write_failure(void) {
    return errno == ENOSPC || errno == EDQUOT ? TL_ERR_NO_SPACE
           : errno == ENOMEM                  ? TL_ERR_MEMORY
                                              : TL_ERR_WRITE;
}

/* "folder/name", to be freed. */
static char *join(const char *folder, const char *name) {
    size_t size = strlen(folder) + strlen(name) + 2;
    char *path = malloc(size);
    if (path != NULL)
        snprintf(path, size, "%s/%s", folder, name);
    return path;
}

tl_status tl_simulate_file_write(const char *folder, const char *name, const void *bytes,
                                 size_t size) {
    char *path = join(folder, name);
    if (path == NULL)
        return TL_ERR_MEMORY;
    FILE *file = fopen(path, "wb");
    free(path);
    if (file == NULL)
        return write_failure();
    tl_status status = fwrite(bytes, 1, size, file) == size ? TL_OK : write_failure();
    if (fclose(file) != 0 && status == TL_OK)
        status = write_failure();
    return status;
}

/* Whether the folder has nothing in it; also when there is no such folder. */
static bool is_free(const char *path) {
    struct stat info;
    if (stat(path, &info) != 0)
        return true;
    DIR *dir = opendir(path);
    if (dir == NULL)
        return false;
    bool empty = true;
    for (const struct dirent *e = readdir(dir); e != NULL; e = readdir(dir))
        if (strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0)
            empty = false;
    closedir(dir);
    return empty;
}

/* `out` without slashes at its end, and ".part-" with a number of this process. */
static char *part_name(const char *out) {
    size_t length = strlen(out), size = length + 32;
    while (length > 1 && out[length - 1] == '/')
        length--;
    char *name = malloc(size);
    if (name != NULL)
        snprintf(name, size, "%.*s.part-%ld", (int)length, out, (long)getpid());
    return name;
}

tl_status tl_simulate_folder_begin(const char *out, char **folder) {
    if (out[0] == '\0' || !is_free(out))
        return TL_ERR_ARGUMENT;
    char *name = part_name(out);
    if (name == NULL)
        return TL_ERR_MEMORY;
    if (mkdir(name, 0777) != 0) {
        tl_status status = write_failure();
        free(name);
        return status;
    }
    *folder = name;
    return TL_OK;
}

static void remove_folder(const char *folder) {
    DIR *dir = opendir(folder);
    if (dir == NULL)
        return;
    for (const struct dirent *e = readdir(dir); e != NULL; e = readdir(dir)) {
        char *path = join(folder, e->d_name);
        if (path != NULL && strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0)
            unlink(path);
        free(path);
    }
    closedir(dir);
    rmdir(folder);
}

tl_status tl_simulate_folder_end(const char *folder, const char *out, bool keep) {
    tl_status status = TL_OK;
    /* An empty folder of that name is replaced: POSIX lets rename do that. */
    if (keep && rename(folder, out) != 0)
        status = write_failure();
    if (!keep || status != TL_OK)
        remove_folder(folder);
    return status;
}
