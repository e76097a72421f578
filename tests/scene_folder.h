/*
 * scene_folder.h - the folder of pictures that a tool draws and throws away.
 */
#ifndef TWOLIMB_TESTS_SCENE_FOLDER_H
#define TWOLIMB_TESTS_SCENE_FOLDER_H

#include <dirent.h>
#include <stdio.h>

enum { PATH_SIZE = 600 };

/* With the files in it; folders in it stay. */
static inline void remove_folder(const char *folder) {
    DIR *dir = opendir(folder);
    for (struct dirent *entry; dir && (entry = readdir(dir));) {
        char path[PATH_SIZE];
        snprintf(path, sizeof path, "%.300s/%.255s", folder, entry->d_name);
        remove(path);
    }
    if (dir)
        closedir(dir);
    remove(folder);
}

#endif
