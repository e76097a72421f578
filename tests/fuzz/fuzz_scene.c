/*
 * fuzz_scene.c - a scene file; nothing is drawn.
 */
#include "fuzz.h"
#include "simulate/simulate_internal.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const fuzz_file file = fuzz_file_make(data, size);
    tl_simulate_scene scene = {0};
    char message[TL_SIMULATE_MESSAGE_SIZE] = "";
    const tl_status status = tl_simulate_scene_read(file.path, message, &scene);
    MUST(memchr(message, '\0', sizeof message) != NULL);
    MUST((status == TL_OK) == (message[0] == '\0'));
    MUST(status == TL_OK || scene.frame == NULL);
    if (status == TL_OK) {
        must_be_site(&scene.site);
        must_be_instant(scene.day_utc_s);
        MUST(scene.frame_count > 0);
        tl_simulate_scene_free(&scene);
    }
    fuzz_file_end(&file);
    return 0;
}
