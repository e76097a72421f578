/*
 * place_internal.h - what the files on places on the Sun share.
 */
#ifndef TL_SPOT_PLACE_INTERNAL_H
#define TL_SPOT_PLACE_INTERNAL_H

#include "twolimb/spot.h"

/*
 * tl_spot_project that goes on beyond the limb, where the point of the sphere comes back inwards
 * behind the disc: without a step, for searches in time. Returns whether it is on the side seen.
 */
bool tl_spot_point(const tl_sky *sky, double latitude_rad, double carrington_rad, double *east_sr,
                   double *north_sr);

#endif
