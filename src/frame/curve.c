/*
 * curve.c - the sRGB transfer curve, undone and done (IEC 61966-2-1:1999, section 5.2).
 */
#include <math.h>

#include "frame/frame_internal.h"

#define FULL_SCALE 65535.0

/* Linear light 0..1 of a code 0..1. */
static double linear_from_code(double code) {
    return code <= 0.04045 ? code / 12.92 : pow((code + 0.055) / 1.055, 2.4);
}

void tl_frame_linear_table(uint16_t table[256]) {
    for (int i = 0; i < 256; i++)
        table[i] = (uint16_t)lround(FULL_SCALE * linear_from_code(i / 255.0));
}

void tl_frame_code_table(uint8_t *table) {
    int code = 0;
    double next = FULL_SCALE * linear_from_code(0.5 / 255.0);
    for (int v = 0; v < 65536; v++) {
        while (code < 255 && v >= next) {
            code++;
            next = FULL_SCALE * linear_from_code((code + 0.5) / 255.0);
        }
        table[v] = (uint8_t)code;
    }
}
