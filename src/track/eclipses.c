/*
 * eclipses.c - the eclipses that a series may be of.
 *
 * The day is the one given, or those the cameras claim. Where no eclipse is seen on it, or none
 * that fits, the camera's date is wrong, often by whole years: then every eclipse that could be
 * seen at the place while cameras have had clocks is a candidate, and the path of the Moon tells
 * them apart.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

/* How far a date may be off. A camera without battery starts again at the first day it knows, some
 * year before it was built; cameras with clocks came in the 1990s (common practice, no source). */
static const double SEARCH_S = 30.0 * 365.25 * TL_DAY_S;
static const double ALMANAC_FROM_S = -20.0 * 365.25 * TL_DAY_S; /* 1950, see sky.h */
/* Two maxima closer than this belong to one eclipse: new moons are 29 days apart. */
static const double SAME_ECLIPSE_S = 5.0 * TL_DAY_S;

void tl_track_eclipses_free(tl_track_eclipses *list) {
    for (size_t i = 0; i < list->count; i++) {
        tl_track_eclipse_free(&list->item[i]);
    }
    free(list->item);
    *list = (tl_track_eclipses){0};
}

tl_status tl_track_eclipses_add(const tl_track_options *options, double day_utc_s,
                                tl_track_eclipses *list) {
    const double noon_s = day_utc_s + 0.5 * TL_DAY_S;
    for (size_t i = 0; i < list->count; i++) {
        double max_s = list->item[i].circumstances.contact[TL_MAX].t_utc_s;
        if (fabs(max_s - noon_s) < SAME_ECLIPSE_S) {
            return TL_OK;
        }
    }
    tl_track_eclipse made;
    tl_status status = tl_track_eclipse_make(options, day_utc_s, &made);
    if (status != TL_OK) {
        return status;
    }
    tl_track_eclipse *longer = realloc(list->item, (list->count + 1) * sizeof *longer);
    if (longer == NULL) {
        tl_track_eclipse_free(&made);
        return TL_ERR_MEMORY;
    }
    list->item = longer;
    list->item[list->count++] = made;
    return TL_OK;
}

tl_status tl_track_eclipses_search(const tl_track_options *options, double day_utc_s,
                                   tl_track_eclipses *list) {
    double t_s = fmax(day_utc_s - SEARCH_S, ALMANAC_FROM_S);
    for (;;) {
        tl_circumstances next;
        tl_status status = tl_sky_next_eclipse(&options->site, t_s, &options->sky, &next);
        if (status != TL_OK || next.contact[TL_MAX].t_utc_s > day_utc_s + SEARCH_S) {
            return status == TL_ERR_MEMORY ? status : TL_OK;
        }
        t_s = next.contact[TL_MAX].t_utc_s;
        status = tl_track_eclipses_add(options, floor(t_s / TL_DAY_S) * TL_DAY_S, list);
        if (status == TL_ERR_MEMORY) {
            return status;
        }
    }
}
