/* The mild affine map that refraction and a tilted card make: pictures to round discs and back. */
#include "limb/limb_internal.h"

void tl_limb_oval_round(const tl_oval *oval, double *x, double *y) {
    double along = (1 / oval->flattening - 1) * (*x * oval->flat_x + *y * oval->flat_y);
    *x += along * oval->flat_x;
    *y += along * oval->flat_y;
}

void tl_limb_oval_picture(const tl_oval *oval, double *x, double *y) {
    double along = (oval->flattening - 1) * (*x * oval->flat_x + *y * oval->flat_y);
    *x += along * oval->flat_x;
    *y += along * oval->flat_y;
}
