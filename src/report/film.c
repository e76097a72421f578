/*
 * film.c - the photographs of an animation.
 */
#include <stdlib.h>
#include <string.h>

#include "report/film_internal.h"

static bool is_of_use(const tl_report_plates *all, const tl_report_plate *plate) {
    return !plate->doubtful && (plate->turned != TL_REPORT_AS_TAKEN || all->turned_count == 0);
}

/* Whether two or more have a time: those without one are then left out. */
static bool in_time(const tl_report_plates *all) {
    size_t timed = 0;
    for (size_t k = 0; k < all->count; k++)
        timed += all->item[k].timed && is_of_use(all, &all->item[k]);
    return timed >= 2;
}

bool tl_report_has_moving(const tl_report_plates *all, tl_report_up up) {
    const bool timed = in_time(all);
    size_t count = 0;
    for (size_t k = 0; k < all->count; k++)
        count += is_of_use(all, &all->item[k]) && (!timed || all->item[k].timed) &&
                 (up == TL_REPORT_NORTH_UP || all->item[k].has_zenith);
    return count >= 2;
}

tl_status tl_report_film_plates(const tl_report_plates *all, tl_report_plates *shown) {
    tl_report_plates made = {.item = calloc(all->count + 1, sizeof *made.item), .utc = all->utc};
    const bool timed = in_time(all);
    if (!made.item)
        return TL_ERR_MEMORY;
    for (size_t k = 0; k < all->count; k++) {
        const tl_report_plate *plate = &all->item[k];
        if (!is_of_use(all, plate) || (timed && !plate->timed))
            continue;
        made.turned_count += plate->turned != TL_REPORT_AS_TAKEN;
        made.zenith_count += plate->has_zenith;
        made.item[made.count++] = *plate;
    }
    *shown = made;
    return TL_OK;
}

tl_status tl_report_film_plate(const tl_report_source *source, const tl_report_plate *plate,
                               tl_report_up up, int side_px, unsigned char *rgb) {
    const tl_report_plate_look look = {up, side_px, TL_REPORT_FILM_REACH, false};
    const size_t bytes = 3 * (size_t)side_px * (size_t)side_px;
    unsigned char *made = NULL;
    const tl_status status = tl_report_plate_pixels(source, plate, &look, &made);
    if (status == TL_ERR_MEMORY)
        return status;
    if (status == TL_OK)
        memcpy(rgb, made, bytes);
    else
        memset(rgb, 0, bytes);
    free(made);
    return TL_OK;
}
