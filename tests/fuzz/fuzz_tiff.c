/*
 * fuzz_tiff.c - TIFF files.
 */
#include "fuzz_picture.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    fuzz_picture(data, size);
    return 0;
}
