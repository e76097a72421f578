/*
 * folder.c - the output folder: written under another name, then put in place whole.
 */
#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "simulate/simulate_internal.h"

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
        return tl_draft_write_error();
    tl_status status = fwrite(bytes, 1, size, file) == size ? TL_OK : tl_draft_write_error();
    if (fclose(file) != 0 && status == TL_OK)
        status = tl_draft_write_error();
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

tl_status tl_simulate_folder_begin(const char *out, tl_draft *draft) {
    char target[PATH_MAX];
    tl_status status = tl_draft_resolve(out, target);
    if (status == TL_OK && !is_free(target))
        status = TL_ERR_ARGUMENT;
    return status == TL_OK ? tl_draft_make(target, draft) : status;
}

tl_status tl_simulate_folder_end(const tl_draft *draft, bool keep) {
    const tl_status status = keep ? tl_draft_place(draft) : TL_OK;
    if (!keep || status != TL_OK)
        tl_draft_remove(draft->path);
    return status;
}
