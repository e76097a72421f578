/*
 * marks.c - the marks of a picture as a thing: released, and brought onto the disc and back.
 */
#include <stdlib.h>

#include "limb/limb_internal.h"
#include "twolimb/spot.h"

void tl_spot_marks_free(tl_spot_marks *marks) {
    if (marks == NULL)
        return;
    free(marks->mark);
    *marks = (tl_spot_marks){0};
}

static tl_flat flat_of(const tl_limb *limb) {
    return (tl_flat){limb->flattening, limb->flat_x, limb->flat_y};
}

void tl_spot_disc_from_picture(const tl_limb *limb, double x_px, double y_px, double *x_sr,
                               double *y_sr) {
    const tl_flat flat = flat_of(limb);
    double x = x_px - limb->circle[TL_SUN_X], y = y_px - limb->circle[TL_SUN_Y];
    tl_limb_flat_round(&flat, &x, &y);
    *x_sr = x / limb->circle[TL_SUN_R];
    *y_sr = y / limb->circle[TL_SUN_R];
}

void tl_spot_picture_from_disc(const tl_limb *limb, double x_sr, double y_sr, double *x_px,
                               double *y_px) {
    const tl_flat flat = flat_of(limb);
    double x = x_sr * limb->circle[TL_SUN_R], y = y_sr * limb->circle[TL_SUN_R];
    tl_limb_flat_picture(&flat, &x, &y);
    *x_px = limb->circle[TL_SUN_X] + x;
    *y_px = limb->circle[TL_SUN_Y] + y;
}
