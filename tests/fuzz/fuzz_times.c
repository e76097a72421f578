/*
 * fuzz_times.c - a table of times.
 */
#include "fuzz.h"

static void check(const tl_times *times) {
    tl_camera_time time;
    for (size_t i = 0; tl_times_name(times, i) != NULL; i++) {
        MUST(tl_times_find(times, tl_times_name(times, i), &time));
        MUST(time.source == TL_TIME_TABLE && time.sigma_s > 0.0);
        must_be_camera_time(&time);
    }
    tl_times_find(times, "IMG_0001.jpg", &time);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    const fuzz_file file = fuzz_file_make(data, size);
    tl_times *times = NULL;
    int line = -1;
    const tl_status status = tl_times_read(file.path, &line, &times);
    MUST((status == TL_OK) == (times != NULL));
    MUST((status == TL_ERR_FORMAT) == (line >= 0));
    MUST((status == TL_ERR_EMPTY_FILE) == (size == 0));
    if (times != NULL)
        check(times);
    tl_times_free(times);
    fuzz_file_end(&file);
    return 0;
}
