/*
 * spots.c - the result of following spots as a thing.
 */
#include <stdlib.h>

#include "twolimb/spot.h"

const char *const tl_spot_state_name[5] = {"unknown", "visible", "on limb", "covered", "missed"};

void tl_spots_free(tl_spots *spots) {
    if (spots == NULL)
        return;
    free(spots->spot);
    free(spots->sight);
    free(spots->turn);
    *spots = (tl_spots){0};
}

const tl_spot_sight *tl_spots_sight(const tl_spots *spots, size_t s, size_t f) {
    return &spots->sight[s * spots->frame_count + f];
}
