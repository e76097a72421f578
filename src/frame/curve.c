/*
 * curve.c - transfer curves, undone; and sRGB's, done.
 *
 * What is undone is what the camera or an editor did to the light: display rendering (the contrast
 * that a phone adds) cannot be undone, as no file tells it.
 */
#include <math.h>

#include "frame/frame_internal.h"

#define FULL_SCALE 65535.0

/* Linear light 0..1 of a code 0..1 (IEC 61966-2-1:1999, section 5.2). */
static double from_srgb(double code) {
    return code <= 0.04045 ? code / 12.92 : pow((code + 0.055) / 1.055, 2.4);
}

/* Rec. ITU-R BT.709-6, item 1.2, solved for the light. */
static double from_bt709(double code) {
    return code < 0.081 ? code / 4.5 : pow((code + 0.099) / 1.099, 1.0 / 0.45);
}

/* Rec. ITU-R BT.2100-2, table 4: light on the screen, 1 = 10,000 cd/m2. */
static double from_pq(double code) {
    static const double M1 = 2610.0 / 16384.0, M2 = 128.0 * 2523.0 / 4096.0;
    static const double C1 = 3424.0 / 4096.0, C2 = 32.0 * 2413.0 / 4096.0,
                        C3 = 32.0 * 2392.0 / 4096.0;
    const double p = pow(code, 1.0 / M2);
    return pow(fmax(p - C1, 0.0) / (C2 - C3 * p), 1.0 / M1);
}

/* Rec. ITU-R BT.2100-2, table 5: light of the scene. */
static double from_hlg(double code) {
    static const double A = 0.17883277;
    const double b = 1.0 - 4.0 * A, c = 0.5 - A * log(4.0 * A);
    return code <= 0.5 ? code * code / 3.0 : (exp((code - c) / A) + b) / 12.0;
}

static double light_of(const tl_frame_curve *curve, double code) {
    switch (curve->kind) {
    case TL_CURVE_POWER:
        return pow(code, curve->exponent);
    case TL_CURVE_BT709:
        return from_bt709(code);
    case TL_CURVE_PQ:
        return from_pq(code);
    case TL_CURVE_HLG:
        return from_hlg(code);
    case TL_CURVE_SRGB:
        break;
    }
    return from_srgb(code);
}

tl_frame_curve tl_frame_curve_h273(int transfer) {
    switch (transfer) { /* table 3 */
    case 1:             /* BT.709 */
    case 6:             /* BT.601: the same curve */
    case 14:            /* BT.2020, 10 bits: the same */
    case 15:            /* BT.2020, 12 bits: the same */
        return (tl_frame_curve){.kind = TL_CURVE_BT709};
    case 4:
        return (tl_frame_curve){.kind = TL_CURVE_POWER, .exponent = 2.2};
    case 5:
        return (tl_frame_curve){.kind = TL_CURVE_POWER, .exponent = 2.8};
    case 8:
        return (tl_frame_curve){.kind = TL_CURVE_POWER, .exponent = 1.0};
    case 16:
        return (tl_frame_curve){.kind = TL_CURVE_PQ};
    case 17: /* SMPTE ST 428-1 */
        return (tl_frame_curve){.kind = TL_CURVE_POWER, .exponent = 2.6};
    case 18:
        return (tl_frame_curve){.kind = TL_CURVE_HLG};
    default:
        return (tl_frame_curve){.kind = TL_CURVE_SRGB};
    }
}

void tl_frame_curve_table(const tl_frame_curve *curve, size_t count, uint16_t *table) {
    if (curve->profile != NULL &&
        tl_frame_icc_table(curve->profile, curve->profile_size, count, table))
        return;
    for (size_t i = 0; i < count; i++) {
        const double light = light_of(curve, (double)i / (double)(count - 1));
        table[i] = (uint16_t)lround(FULL_SCALE * fmin(fmax(light, 0.0), 1.0));
    }
}

void tl_frame_linear_table(uint16_t table[256]) {
    const tl_frame_curve srgb = {0};
    tl_frame_curve_table(&srgb, 256, table);
}

void tl_frame_code_table(uint8_t *table) {
    int code = 0;
    double next = FULL_SCALE * from_srgb(0.5 / 255.0);
    for (int v = 0; v < 65536; v++) {
        while (code < 255 && v >= next) {
            code++;
            next = FULL_SCALE * from_srgb((code + 0.5) / 255.0);
        }
        table[v] = (uint8_t)code;
    }
}
