/*
 * file_walk.c - what is in a folder.
 */
#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "frame/files.h"

/* No camera puts its pictures so deep; a folder that is mounted within itself would have no end. */
enum { DEPTH_MAX = 32 };

/* The names in a folder, hidden ones left out. */
typedef struct names {
    char **name; /* owned, as are they */
    size_t count, room;
} names;

static void names_free(names *n) {
    for (size_t i = 0; i < n->count; i++)
        free(n->name[i]);
    free(n->name);
}

static tl_status names_add(names *n, const char *name) {
    if (n->count == n->room) {
        const size_t room = n->room > 0 ? 2 * n->room : 64;
        char **grown = realloc(n->name, room * sizeof *grown);
        if (grown == NULL)
            return TL_ERR_MEMORY;
        n->name = grown;
        n->room = room;
    }
    n->name[n->count] = strdup(name);
    return n->name[n->count] != NULL && ++n->count > 0 ? TL_OK : TL_ERR_MEMORY;
}

/* On failure there is nothing to be freed. */
static tl_status names_read(const char *folder, names *n) {
    DIR *directory = opendir(folder);
    if (directory == NULL)
        return errno == ENOMEM ? TL_ERR_MEMORY : TL_ERR_OPEN;
    tl_status status = TL_OK;
    names read = {0};
    const struct dirent *entry;
    while (status == TL_OK && (entry = readdir(directory)) != NULL)
        if (entry->d_name[0] != '.')
            status = names_add(&read, entry->d_name);
    closedir(directory);
    if (status == TL_OK)
        *n = read;
    else
        names_free(&read);
    return status;
}

/* --- files that belong to a picture --- */

/* A name, or the beginning of one, whose case does not matter. */
typedef struct key {
    const char *text;
    size_t length;
} key;

static int compare_keys(const void *one, const void *other) {
    const key *a = one, *b = other;
    const size_t shorter = a->length < b->length ? a->length : b->length;
    const int order = strncasecmp(a->text, b->text, shorter);
    return order != 0 ? order : (a->length > b->length) - (a->length < b->length);
}

static key whole(const char *name) {
    return (key){name, strlen(name)};
}

static key stem(const char *name) {
    const char *point = strrchr(name, '.');
    return point != NULL ? (key){name, (size_t)(point - name)} : whole(name);
}

/* Of each picture the name and its stem, sorted. */
typedef struct key_list {
    key *key; /* owned */
    size_t count;
} key_list;

static tl_status keys_make(const names *n, key_list *keys) {
    key *made = malloc((2 * n->count + 1) * sizeof *made);
    size_t count = 0;
    if (made == NULL)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < n->count; i++) {
        if (tl_frame_file_kind(n->name[i]) != TL_FILE_PICTURE)
            continue;
        made[count++] = whole(n->name[i]);
        made[count++] = stem(n->name[i]);
    }
    qsort(made, count, sizeof *made, compare_keys);
    *keys = (key_list){made, count};
    return TL_OK;
}

/* IMG_1.mov, IMG_1.cr2 and IMG_1.jpg.pp go with IMG_1.jpg: that picture is the one to measure. */
static bool goes_with_picture(const key_list *keys, const char *name) {
    const key all = whole(name), part = stem(name);
    return bsearch(&all, keys->key, keys->count, sizeof all, compare_keys) != NULL ||
           bsearch(&part, keys->key, keys->count, sizeof part, compare_keys) != NULL;
}

/* --- the walk --- */

static tl_status walk(tl_pile *pile, const char *folder, const tl_file_walk *how, int depth);

/* Takes `path` over. */
static tl_status take_folder(tl_pile *pile, char *path, const struct stat *about,
                             const tl_file_walk *how, int depth) {
    struct stat link;
    const bool is_link = lstat(path, &link) == 0 && S_ISLNK(link.st_mode);
    if (!how->recursive || is_link)
        return tl_pile_add(pile, path, about, TL_PASSED_FOLDER);
    const tl_status status = depth < DEPTH_MAX ? walk(pile, path, how, depth + 1) : TL_ERR_OPEN;
    if (status == TL_ERR_OPEN)
        return tl_pile_add(pile, path, about, TL_PASSED_CLOSED);
    free(path);
    return status;
}

/* Takes `path` over. What is called a picture and is none gets a row all the same: also a link
 * whose other end is not there, but not a pipe, a socket or a device. */
static tl_status take_file(tl_pile *pile, char *path, const char *name, const struct stat *about,
                           const key_list *keys) {
    static const int passed[] = {[TL_FILE_RAW] = TL_PASSED_RAW,
                                 [TL_FILE_OTHER_PICTURE] = TL_PASSED_PICTURE,
                                 [TL_FILE_FILM] = TL_PASSED_FILM,
                                 [TL_FILE_OTHER] = TL_PASSED_OTHER};
    const tl_file_kind kind = tl_frame_file_kind(name);
    const bool plain = S_ISREG(about->st_mode) || S_ISLNK(about->st_mode);
    if (kind == TL_FILE_PICTURE)
        return tl_pile_add(pile, path, about, plain ? TL_FOUND_PICTURE : TL_PASSED_OTHER);
    if (kind != TL_FILE_SIDE && !goes_with_picture(keys, name))
        return tl_pile_add(pile, path, about, passed[kind]);
    free(path);
    return TL_OK;
}

static tl_status take(tl_pile *pile, const char *folder, const char *name, const key_list *keys,
                      const tl_file_walk *how, int depth) {
    struct stat about;
    if (how->is_own != NULL && how->is_own(folder, name))
        return TL_OK;
    char *path = tl_frame_path_join(folder, name);
    if (path == NULL)
        return TL_ERR_MEMORY;
    if (stat(path, &about) != 0 && lstat(path, &about) != 0) {
        free(path); /* gone meanwhile */
        return TL_OK;
    }
    return S_ISDIR(about.st_mode) ? take_folder(pile, path, &about, how, depth)
                                  : take_file(pile, path, name, &about, keys);
}

static tl_status walk(tl_pile *pile, const char *folder, const tl_file_walk *how, int depth) {
    names n = {0};
    key_list keys = {0};
    tl_status status = names_read(folder, &n);
    if (status != TL_OK)
        return status;
    status = keys_make(&n, &keys);
    for (size_t i = 0; i < n.count && status == TL_OK; i++)
        status = take(pile, folder, n.name[i], &keys, how, depth);
    free(keys.key);
    names_free(&n);
    return status;
}

tl_status tl_frame_walk(tl_pile *pile, const char *folder, const tl_file_walk *how) {
    return walk(pile, folder, how, 1);
}
