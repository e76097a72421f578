/*
 * file_list.c - files and folders to the sorted list of picture files.
 */
#include <libgen.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "frame/files.h"

/* More than any observer takes, and than fits the memory that is allowed for a run: a whole disk
 * was named by mistake. Our own choice. */
enum { FILES_MAX = 200000 };

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
    const tl_found *a = one, *b = other;
    const int order = compare_names(a->path, b->path);
    return order != 0 ? order : strcmp(a->path, b->path);
}

static int by_file(const void *one, const void *other) {
    const tl_found *a = one, *b = other;
    if (a->device != b->device)
        return a->device < b->device ? -1 : 1;
    if (a->inode != b->inode)
        return a->inode < b->inode ? -1 : 1;
    if (a->passed != b->passed)
        return a->passed < b->passed ? -1 : 1;
    return by_path(one, other);
}

tl_status tl_pile_add(tl_pile *p, char *path, const struct stat *about, int passed) {
    tl_status status = path == NULL            ? TL_ERR_MEMORY
                       : p->count == FILES_MAX ? TL_ERR_TOO_LARGE
                                               : TL_OK;
    if (status == TL_OK && p->count == p->room) {
        const size_t room = p->room > 0 ? 2 * p->room : 64;
        tl_found *grown = realloc(p->item, room * sizeof *grown);
        if (grown == NULL) {
            status = TL_ERR_MEMORY;
        } else {
            p->item = grown;
            p->room = room;
        }
    }
    if (status == TL_OK)
        p->item[p->count++] = (tl_found){path, about->st_dev, about->st_ino, passed};
    else
        free(path);
    return status;
}

char *tl_frame_path_join(const char *folder, const char *name) {
    const size_t length = strlen(folder);
    const char *slash = length > 0 && folder[length - 1] == '/' ? "" : "/";
    const size_t size = length + strlen(slash) + strlen(name) + 1;
    char *path = malloc(size);
    if (path != NULL)
        snprintf(path, size, "%s%s%s", folder, slash, name);
    return path;
}

/* A folder named itself, of which the caller knows that it is no input. */
static bool is_own(const char *folder, const tl_file_walk *how) {
    char *parent = strdup(folder), *name = strdup(folder);
    const bool own = how->is_own != NULL && parent != NULL && name != NULL &&
                     how->is_own(dirname(parent), basename(name));
    free(parent);
    free(name);
    return own;
}

/* What is named itself is taken; if it cannot be read its row says so. */
static tl_status add_argument(tl_pile *p, const char *argument, const tl_file_walk *how) {
    struct stat about;
    if (stat(argument, &about) != 0 && lstat(argument, &about) != 0)
        return TL_ERR_OPEN;
    if (!S_ISDIR(about.st_mode))
        return tl_pile_add(p, strdup(argument), &about, TL_FOUND_PICTURE);
    return is_own(argument, how) ? TL_OK : tl_frame_walk(p, argument, how);
}

/* Keep one path of each file: of a picture, if it was found as one, and the first by name. */
static void drop_doubles(tl_pile *p) {
    qsort(p->item, p->count, sizeof *p->item, by_file);
    size_t kept = 0;
    for (size_t i = 0; i < p->count; i++) {
        const tl_found *last = kept > 0 ? &p->item[kept - 1] : NULL;
        if (last != NULL && last->device == p->item[i].device && last->inode == p->item[i].inode)
            free(p->item[i].path);
        else
            p->item[kept++] = p->item[i];
    }
    p->count = kept;
}

/* Pictures to the list, of what was passed over the number and the first name. */
static tl_status hand_over(tl_pile *p, tl_file_list *list) {
    tl_file_list made = {.path = malloc((p->count > 0 ? p->count : 1) * sizeof *made.path)};
    if (made.path == NULL)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < p->count; i++) {
        tl_found *found = &p->item[i];
        char **place = found->passed == TL_FOUND_PICTURE         ? &made.path[made.count++]
                       : made.passed[found->passed].count++ == 0 ? &made.passed[found->passed].first
                                                                 : NULL;
        if (place != NULL) {
            *place = found->path;
            found->path = NULL;
        }
    }
    *list = made;
    return TL_OK;
}

tl_status tl_file_list_walk(const char *const *arguments, size_t count, const tl_file_walk *how,
                            const char **bad, tl_file_list *list) {
    tl_pile p = {0};
    tl_status status = TL_OK;
    for (size_t i = 0; i < count && status == TL_OK; i++) {
        status = add_argument(&p, arguments[i], how);
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

tl_status tl_file_list_make(const char *const *arguments, size_t count, const char **bad,
                            tl_file_list *list) {
    return tl_file_list_walk(arguments, count, &(tl_file_walk){0}, bad, list);
}

void tl_file_list_free(tl_file_list *list) {
    for (size_t i = 0; i < list->count; i++)
        free(list->path[i]);
    free(list->path);
    for (int kind = 0; kind < TL_PASSED_KINDS; kind++)
        free(list->passed[kind].first);
    *list = (tl_file_list){0};
}
