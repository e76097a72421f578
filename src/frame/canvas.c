/*
 * canvas.c - the upright picture, black at first, that a reader fills with rows as they are stored.
 */
#include <stdlib.h>

#include "frame/frame_internal.h"

tl_status tl_frame_size_check(uint64_t width, uint64_t height, int channels, bool deep) {
    if (width == 0 || height == 0)
        return TL_ERR_BROKEN;
    if (width > TL_IMAGE_MAX_SIDE || height > TL_IMAGE_MAX_SIDE)
        return TL_ERR_TOO_LARGE;
    const uint64_t pixels = width * height;
    const uint64_t bytes = pixels * (uint64_t)channels * (deep ? sizeof(uint16_t) : 1);
    return pixels > TL_IMAGE_MAX_PIXELS || bytes > TL_IMAGE_MAX_BYTES ? TL_ERR_TOO_LARGE : TL_OK;
}

tl_status tl_frame_canvas_make(uint64_t width, uint64_t height, int channels, bool deep,
                               int orientation, tl_frame_canvas *canvas) {
    const tl_status status = tl_frame_size_check(width, height, channels, deep);
    if (status != TL_OK)
        return status;
    tl_frame_canvas made = {.stored_width = (int)width};
    made.turn = tl_frame_turn_make(orientation, (int)width, (int)height, channels);
    made.image.width = made.turn.width;
    made.image.height = made.turn.height;
    made.image.channels = channels;
    const size_t count = (size_t)width * (size_t)height * (size_t)channels;
    if (deep)
        made.image.sample = calloc(count, sizeof *made.image.sample);
    else
        made.image.code = calloc(count, sizeof *made.image.code);
    if (made.image.sample == NULL && made.image.code == NULL)
        return TL_ERR_MEMORY;
    *canvas = made;
    return TL_OK;
}

/* Where the stored pixel goes. */
static ptrdiff_t place(const tl_frame_canvas *canvas, int x, int y) {
    return canvas->turn.origin + x * canvas->turn.step_x + y * canvas->turn.step_y;
}

void tl_frame_canvas_codes(tl_frame_canvas *canvas, int x, int y, int count, const uint8_t *code) {
    const int channels = canvas->image.channels;
    uint8_t *to = canvas->image.code + place(canvas, x, y);
    for (int i = 0; i < count; i++, to += canvas->turn.step_x, code += channels)
        for (int c = 0; c < channels; c++)
            to[c] = code[c];
}

void tl_frame_canvas_samples(tl_frame_canvas *canvas, int x, int y, int count,
                             const uint16_t *sample) {
    const int channels = canvas->image.channels;
    uint16_t *to = canvas->image.sample + place(canvas, x, y);
    for (int i = 0; i < count; i++, to += canvas->turn.step_x, sample += channels)
        for (int c = 0; c < channels; c++)
            to[c] = sample[c];
}
