/*
 * fuzz_exif.c - an EXIF block, or a picture around it, to what the picture says about itself.
 */
#include "frame/frame_internal.h"
#include "fuzz.h"

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size) {
    tl_frame_info info;
    MUST(tl_frame_exif_read(data, size, &info) == TL_OK);
    must_be_info(&info);
    return 0;
}
