/*
 * fuzz_jpeg.c - JPEG files.
 */
#include "fuzz_picture.h"

/* Some frame header (ITU-T T.81, B.2.2) asks for more pixels than are worth the time. */
static bool is_large(const uint8_t *data, size_t size) {
    for (size_t i = 0; i + 8 < size; i++) {
        if (data[i] != 0xff || data[i + 1] < 0xc0 || data[i + 1] > 0xcf)
            continue;
        const long height = data[i + 5] * 256L + data[i + 6];
        const long width = data[i + 7] * 256L + data[i + 8];
        if (width * height > FUZZ_PIXELS_MAX && data[i + 1] != 0xc4 && data[i + 1] != 0xcc)
            return true;
    }
    return false;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (!is_large(data, size))
        fuzz_picture(data, size);
    return 0;
}
