/*
 * fuzz_simulate.c - a scene drawn, from its file to its pictures and truth, in a folder of its own.
 * Scenes that ask for more than a few small pictures are passed over: they would only be slow.
 */
#include <dirent.h>

#include "fuzz.h"
#include "simulate/simulate_internal.h"

enum { FRAMES_MAX = 2, SIDE_MAX = 48, SUN_MAX_PX = 40 };

static bool is_small(const tl_simulate_scene *scene) {
    if (scene->frame_count > FRAMES_MAX)
        return false;
    for (size_t i = 0; i < scene->frame_count; i++) {
        const tl_simulate_settings *s = &scene->frame[i].settings;
        if (s->width > SIDE_MAX || s->height > SIDE_MAX || !(s->sun_r_px <= SUN_MAX_PX) ||
            s->focal_mm > 0.0)
            return false;
    }
    return true;
}

static void remove_folder(const char *folder) {
    DIR *directory = opendir(folder);
    if (directory == NULL)
        return;
    for (const struct dirent *e = readdir(directory); e != NULL; e = readdir(directory))
        unlinkat(dirfd(directory), e->d_name, 0);
    closedir(directory);
    rmdir(folder);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const fuzz_file file = fuzz_file_make(data, size);
    tl_simulate_scene scene = {0};
    char message[TL_SIMULATE_MESSAGE_SIZE] = "", out[60];
    bool small = false;
    if (tl_simulate_scene_read(file.path, message, &scene) == TL_OK) {
        small = is_small(&scene);
        tl_simulate_scene_free(&scene);
    }
    if (small) {
        snprintf(out, sizeof out, "/dev/shm/twolimb-fuzz-%ld", (long)getpid());
        const tl_status status = tl_simulate(file.path, out, message);
        MUST((status == TL_OK) == (message[0] == '\0'));
        MUST((status == TL_OK) == (access(out, F_OK) == 0));
        remove_folder(out);
    }
    fuzz_file_end(&file);
    return 0;
}
