/*
 * image.c - ownership of pixels.
 */
#include <stdlib.h>

#include "twolimb/frame.h"

void tl_image_free(tl_image *image) {
    free(image->sample);
    free(image->code);
    *image = (tl_image){0};
}
