/*
 * files.h - which files: what the files that make the list of pictures share.
 *
 * The order: file_kind tells files by their names, file_walk looks through folders, file_list sorts
 * what they found.
 */
#ifndef TWOLIMB_FRAME_FILES_H
#define TWOLIMB_FRAME_FILES_H

#include <sys/stat.h>

#include "twolimb/frame.h"

typedef enum tl_file_kind {
    TL_FILE_PICTURE,       /* of a kind that is read */
    TL_FILE_SIDE,          /* says something about pictures: passed over silently */
    TL_FILE_RAW,           /* what the sensor gave, in the maker's own form */
    TL_FILE_OTHER_PICTURE, /* of a kind that is not read */
    TL_FILE_FILM,
    TL_FILE_OTHER
} tl_file_kind;
/* By its ending alone. */
tl_file_kind tl_frame_file_kind(const char *name);

/* A path, and the file behind it. */
typedef struct tl_found {
    char *path; /* owned */
    dev_t device;
    ino_t inode;
    int passed; /* a tl_passed_kind, or TL_FOUND_PICTURE */
} tl_found;
enum { TL_FOUND_PICTURE = -1 };

typedef struct tl_pile {
    tl_found *item; /* owned */
    size_t count, room;
} tl_pile;

/* Takes `path` over, also when it fails. TL_ERR_MEMORY; TL_ERR_TOO_LARGE beyond the documented
 * number of files. */
tl_status tl_pile_add(tl_pile *pile, char *path, const struct stat *about, int passed);

/* All that is in a folder. TL_ERR_OPEN if it cannot be looked into; a folder in it that cannot is
 * put on the pile as such. */
tl_status tl_frame_walk(tl_pile *pile, const char *folder, const tl_file_walk *how);

/* "folder/name"; NULL without memory. */
char *tl_frame_path_join(const char *folder, const char *name);

#endif
