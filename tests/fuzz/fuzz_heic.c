/*
 * fuzz_heic.c - HEIC and AVIF files. Those whose coded pictures are large are passed over: the
 * decoder would only be slow.
 */
#include "frame/heif_internal.h"
#include "fuzz_picture.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    if (tl_heif_is_modest(data, size, FUZZ_PIXELS_MAX))
        fuzz_picture(data, size);
    return 0;
}
