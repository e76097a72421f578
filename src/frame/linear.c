/*
 * linear.c - codes to linear light.
 */
#include <stdlib.h>

#include "frame/frame_internal.h"

tl_status tl_image_linear(tl_image *image) {
    if (image->code == NULL)
        return TL_OK;
    const size_t count = (size_t)image->width * (size_t)image->height * (size_t)image->channels;
    uint16_t *sample = malloc(count * sizeof *sample);
    if (sample == NULL)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < count; i++)
        sample[i] = image->light[image->code[i]];
    free(image->code);
    image->code = NULL;
    image->sample = sample;
    return TL_OK;
}
