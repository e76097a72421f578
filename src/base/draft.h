/*
 * draft.h - a folder in the making, put in place when it is whole.
 *
 * A draft is a hidden folder beside its target. It is called after the process that makes it, so
 * that what a killed process left can be told from what a living one is working on.
 */
#ifndef TWOLIMB_BASE_DRAFT_H
#define TWOLIMB_BASE_DRAFT_H

#include <limits.h>

#include "twolimb/base.h"

typedef struct tl_draft {
    char target[PATH_MAX]; /* without trailing slashes; where it is there, without links */
    char path[PATH_MAX];   /* of the draft, in the same folder as the target */
} tl_draft;

/* TL_ERR_NO_SPACE or TL_ERR_WRITE, by errno. */
tl_status tl_draft_write_error(void);

/* `folder` as the `target` of a draft. TL_ERR_ARGUMENT if it is empty text, TL_ERR_WRITE if it is
 * too long or a link to nowhere. */
tl_status tl_draft_resolve(const char *folder, char target[PATH_MAX]);

/* Whether a disk, or a folder of elsewhere, is mounted there: nothing can take its place. */
bool tl_draft_is_mount(const char *folder);

/* Make an empty draft, and remove those beside it whose processes are gone. `target` as
 * tl_draft_resolve gives it. TL_ERR_ARGUMENT: it is a mount; TL_ERR_WRITE, TL_ERR_NO_SPACE. */
tl_status tl_draft_make(const char *target, tl_draft *draft);

/* Put it where its target is not, or is an empty folder. TL_ERR_ARGUMENT: there is something;
 * TL_ERR_WRITE, TL_ERR_NO_SPACE. On failure nothing has changed. */
tl_status tl_draft_place(const tl_draft *draft);

/*
 * Change places with the folder at its target: `draft->path` is then what was there before. In one
 * step, so that there is always a whole folder at the target, where the system can do that; else
 * (some network file systems) in three. TL_ERR_ARGUMENT: there is nothing to change with;
 * TL_ERR_WRITE. On failure nothing has changed.
 */
tl_status tl_draft_swap(const tl_draft *draft);

/* Remove a draft: its files, and those of folders in it. */
void tl_draft_remove(const char *path);

#endif
