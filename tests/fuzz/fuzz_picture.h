/*
 * fuzz_picture.h - a picture file through the public path: bytes to pixels, circles, spots and the
 * small picture of the report.
 */
#ifndef TWOLIMB_FUZZ_PICTURE_H
#define TWOLIMB_FUZZ_PICTURE_H

#include "fuzz.h"
#include "twolimb/spot.h"

/* A larger picture costs time and shows no other fault. */
enum { FUZZ_PIXELS_MAX = 128 * 128 };

static inline void must_be_limb(const tl_limb *limb) {
    MUST(memchr(limb->reason, '\0', TL_LIMB_REASON_SIZE) != NULL);
    if (limb->status != TL_LIMB_MEASURED) {
        MUST(limb->status == TL_LIMB_SUN_ONLY || limb->reason[0] != '\0');
        return;
    }
    for (int i = 0; i < TL_LIMB_PARAMS; i++) {
        MUST(isfinite(limb->circle[i]));
        MUST(isfinite(limb->covariance[i][i]) && limb->covariance[i][i] >= 0.0);
    }
    MUST(limb->circle[TL_SUN_R] > 0.0 && limb->circle[TL_MOON_R] > 0.0);
    MUST(isfinite(limb->separation_sr) && limb->separation_sigma_sr > 0.0);
}

static inline void fuzz_measure(const tl_image *image) {
    const tl_limb_prior prior = {0};
    tl_limb limb = {0};
    tl_spot_marks marks = {0};
    tl_preview preview = {0};
    MUST(tl_limb_find(image, &prior, &limb) == TL_OK);
    must_be_limb(&limb);
    MUST(tl_spot_find(image, &limb, &marks) == TL_OK);
    MUST(marks.count <= TL_SPOT_MARKS_MAX);
    MUST(tl_preview_make(image, -HUGE_VAL, -HUGE_VAL, HUGE_VAL, HUGE_VAL, 48, &preview) == TL_OK);
    tl_preview_free(&preview);
    tl_spot_marks_free(&marks);
    tl_limb_free(&limb);
}

static inline void fuzz_picture(const uint8_t *data, size_t size) {
    const fuzz_file file = fuzz_file_make(data, size);
    tl_image image = {0};
    tl_frame_info info;
    const tl_status status = tl_frame_read(file.path, &image, &info);
    MUST((status == TL_OK) == (image.sample != NULL || image.code != NULL));
    if (status == TL_OK) {
        must_be_info(&info);
        MUST(image.channels == 1 || image.channels == 3);
        MUST(image.width >= 1 && image.height >= 1);
        if ((long)image.width * image.height <= FUZZ_PIXELS_MAX)
            fuzz_measure(&image);
    }
    tl_image_free(&image);
    fuzz_file_end(&file);
}

#endif
