/*
 * marks.c - the marks of a picture as a thing: released, and brought onto the disc and back.
 */
#include <stdlib.h>

#include "twolimb/spot.h"

void tl_spot_marks_free(tl_spot_marks *marks) {
    if (marks == NULL)
        return;
    free(marks->mark);
    *marks = (tl_spot_marks){0};
}

void tl_spot_disc_from_picture(const tl_limb *limb, double x_px, double y_px, double *x_sr,
                               double *y_sr) {
    const double x = x_px - limb->circle[TL_SUN_X], y = y_px - limb->circle[TL_SUN_Y];
    const double along = (1.0 / limb->flattening - 1.0) * (x * limb->flat_x + y * limb->flat_y);
    *x_sr = (x + along * limb->flat_x) / limb->circle[TL_SUN_R];
    *y_sr = (y + along * limb->flat_y) / limb->circle[TL_SUN_R];
}

void tl_spot_picture_from_disc(const tl_limb *limb, double x_sr, double y_sr, double *x_px,
                               double *y_px) {
    const double x = x_sr * limb->circle[TL_SUN_R], y = y_sr * limb->circle[TL_SUN_R];
    const double along = (limb->flattening - 1.0) * (x * limb->flat_x + y * limb->flat_y);
    *x_px = limb->circle[TL_SUN_X] + x + along * limb->flat_x;
    *y_px = limb->circle[TL_SUN_Y] + y + along * limb->flat_y;
}
