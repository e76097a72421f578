/*
 * file_list.c - files and folders to the sorted list of picture files.
 */
#include <dirent.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#include "frame/frame_internal.h"

/* A path and the file behind it. */
typedef struct found {
    char *path; /* owned */
    dev_t device;
    ino_t inode;
} found;

typedef struct pile {
    found *item; /* owned */
    size_t count, room;
} pile;

static bool is_digit(char c) {
    return c >= '0' && c <= '9';
}

/* Order of name with numbers by their value: IMG_9 before IMG_10. */
static int compare_names(const char *a, const char *b) {
    while (*a != '\0' && *b != '\0') {
        if (is_digit(*a) && is_digit(*b)) {
            a += strspn(a, "0");
            b += strspn(b, "0");
            const size_t in_a = strspn(a, "0123456789"), in_b = strspn(b, "0123456789");
            if (in_a != in_b)
                return in_a < in_b ? -1 : 1;
            const int order = strncmp(a, b, in_a);
            if (order != 0)
                return order;
            a += in_a;
            b += in_b;
        } else if (*a != *b) {
            return (unsigned char)*a < (unsigned char)*b ? -1 : 1;
        } else {
            a++;
            b++;
        }
    }
    return (*a != '\0') - (*b != '\0');
}

static int by_path(const void *one, const void *other) {
    const found *a = one, *b = other;
    const int order = compare_names(a->path, b->path);
    return order != 0 ? order : strcmp(a->path, b->path);
}

static int by_file(const void *one, const void *other) {
    const found *a = one, *b = other;
    if (a->device != b->device)
        return a->device < b->device ? -1 : 1;
    if (a->inode != b->inode)
        return a->inode < b->inode ? -1 : 1;
    return by_path(one, other);
}

static bool is_picture_name(const char *name) {
    const char *point = strrchr(name, '.');
    return point != NULL && (strcasecmp(point, ".jpg") == 0 || strcasecmp(point, ".jpeg") == 0 ||
                             strcasecmp(point, ".jpe") == 0);
}

/* Takes `path` over, also when it fails. */
static tl_status add(pile *p, char *path, const struct stat *about) {
    if (path != NULL && p->count == p->room) {
        const size_t room = p->room > 0 ? 2 * p->room : 64;
        found *grown = realloc(p->item, room * sizeof *grown);
        if (grown != NULL) {
            p->item = grown;
            p->room = room;
        }
    }
    if (path == NULL || p->count == p->room) {
        free(path);
        return TL_ERR_MEMORY;
    }
    p->item[p->count++] = (found){path, about->st_dev, about->st_ino};
    return TL_OK;
}

static char *join(const char *folder, const char *name) {
    const size_t length = strlen(folder);
    const char *slash = length > 0 && folder[length - 1] == '/' ? "" : "/";
    const size_t size = length + strlen(slash) + strlen(name) + 1;
    char *path = malloc(size);
    if (path != NULL) {
        strcpy(path, folder);
        strcat(path, slash);
        strcat(path, name);
    }
    return path;
}

/* The pictures in a folder; not those in folders within it, nor hidden ones. */
static tl_status add_folder(pile *p, const char *folder) {
    DIR *directory = opendir(folder);
    if (directory == NULL)
        return TL_ERR_OPEN;
    tl_status status = TL_OK;
    const struct dirent *entry;
    while (status == TL_OK && (entry = readdir(directory)) != NULL) {
        if (entry->d_name[0] == '.' || !is_picture_name(entry->d_name))
            continue;
        char *path = join(folder, entry->d_name);
        struct stat about;
        if (path == NULL)
            status = TL_ERR_MEMORY;
        else if (stat(path, &about) == 0 && S_ISREG(about.st_mode))
            status = add(p, path, &about);
        else
            free(path);
    }
    closedir(directory);
    return status;
}

static tl_status add_argument(pile *p, const char *argument) {
    struct stat about;
    if (stat(argument, &about) != 0)
        return TL_ERR_OPEN;
    if (S_ISDIR(about.st_mode))
        return add_folder(p, argument);
    if (!S_ISREG(about.st_mode) || access(argument, R_OK) != 0)
        return TL_ERR_OPEN;
    return add(p, strdup(argument), &about);
}

/* Keep one path, the first by name, of each file. */
static void drop_doubles(pile *p) {
    qsort(p->item, p->count, sizeof *p->item, by_file);
    size_t kept = 0;
    for (size_t i = 0; i < p->count; i++) {
        const found *last = kept > 0 ? &p->item[kept - 1] : NULL;
        if (last != NULL && last->device == p->item[i].device && last->inode == p->item[i].inode)
            free(p->item[i].path);
        else
            p->item[kept++] = p->item[i];
    }
    p->count = kept;
}

static tl_status hand_over(pile *p, tl_file_list *list) {
    char **path = malloc((p->count > 0 ? p->count : 1) * sizeof *path);
    if (path == NULL)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < p->count; i++)
        path[i] = p->item[i].path;
    *list = (tl_file_list){path, p->count};
    p->count = 0;
    return TL_OK;
}

tl_status tl_file_list_make(const char *const *arguments, size_t count, const char **bad,
                            tl_file_list *list) {
    pile p = {0};
    tl_status status = TL_OK;
    for (size_t i = 0; i < count && status == TL_OK; i++) {
        status = add_argument(&p, arguments[i]);
        if (status != TL_OK)
            *bad = arguments[i];
    }
    if (status == TL_OK && p.count > 0) {
        drop_doubles(&p);
        qsort(p.item, p.count, sizeof *p.item, by_path);
    }
    if (status == TL_OK)
        status = hand_over(&p, list);
    for (size_t i = 0; i < p.count; i++)
        free(p.item[i].path);
    free(p.item);
    return status;
}

void tl_file_list_free(tl_file_list *list) {
    for (size_t i = 0; i < list->count; i++)
        free(list->path[i]);
    free(list->path);
    *list = (tl_file_list){0};
}
