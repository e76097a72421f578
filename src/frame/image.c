/*
 * image.c - pixels held, and where they lie in their file.
 */
#include <stdlib.h>

#include "twolimb/frame.h"

void tl_image_free(tl_image *image) {
    free(image->sample);
    free(image->code);
    *image = (tl_image){0};
}

double tl_image_scale(const tl_image *image) {
    return 1 << image->halvings;
}

double tl_image_to_file(const tl_image *image, int first, double held) {
    return (held + 0.5) * tl_image_scale(image) - 0.5 + first;
}

double tl_image_from_file(const tl_image *image, int first, double file) {
    return (file + 0.5 - first) / tl_image_scale(image) - 0.5;
}
