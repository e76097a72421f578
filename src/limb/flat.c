/* The mild affine map that refraction and a tilted card make: pictures to round discs and back. */
#include "limb/limb_internal.h"

void tl_limb_flat_round(const tl_flat *flat, double *x, double *y) {
    double along = (1 / flat->flattening - 1) * (*x * flat->flat_x + *y * flat->flat_y);
    *x += along * flat->flat_x;
    *y += along * flat->flat_y;
}

void tl_limb_flat_picture(const tl_flat *flat, double *x, double *y) {
    double along = (flat->flattening - 1) * (*x * flat->flat_x + *y * flat->flat_y);
    *x += along * flat->flat_x;
    *y += along * flat->flat_y;
}
