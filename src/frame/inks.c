/*
 * inks.c - printing inks as the light they leave: each takes its share, and black takes of all.
 *
 * Real inks are not so clean, but a limb lies where light changes, not how much of it there is.
 */
#include "frame/frame_internal.h"

void tl_frame_inks_to_rgb(uint8_t *code, size_t count, bool inverted) {
    const int flip = inverted ? 0 : 255;
    for (size_t i = 0; i < count; i++) {
        const int black = code[4 * i + 3] ^ flip;
        for (size_t c = 0; c < 3; c++)
            code[3 * i + c] = (uint8_t)(((code[4 * i + c] ^ flip) * black + 127) / 255);
    }
}
