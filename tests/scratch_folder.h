/*
 * scratch_folder.h - a scratch folder that is there while a group of tests runs.
 */
#ifndef TWOLIMB_TESTS_SCRATCH_FOLDER_H
#define TWOLIMB_TESTS_SCRATCH_FOLDER_H

#include "picture.h"

static scratch folder;

static inline int folder_setup(void **state) {
    (void)state;
    scratch_make(&folder);
    return 0;
}

static inline int folder_teardown(void **state) {
    (void)state;
    remove_tree(folder.folder);
    return 0;
}

#endif
