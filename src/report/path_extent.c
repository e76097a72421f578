/*
 * path_extent.c - how much room the plot of the path takes.
 */
#include <math.h>

#include "report/path_internal.h"

static void stretch(tl_report_extent *b, double east_sr, double north_sr, double radius) {
    b->x0 = fmin(b->x0, -east_sr - radius);
    b->x1 = fmax(b->x1, -east_sr + radius);
    b->y0 = fmin(b->y0, -north_sr - radius);
    b->y1 = fmax(b->y1, -north_sr + radius);
}

tl_report_extent tl_report_path_extent(const tl_report_path *path) {
    const double compass = 1.25, zenith = 1.66, dot = 0.1;
    tl_report_extent b = {0};
    stretch(&b, 0.0, 0.0, compass);
    if (path->has_zenith)
        stretch(&b, zenith * sin(path->zenith_pa_rad), zenith * cos(path->zenith_pa_rad), dot);
    for (int which = 0; which < TL_CONTACTS; which++)
        if (path->has_contact[which])
            stretch(&b, path->contact[which].east_sr, path->contact[which].north_sr,
                    path->ratio + dot);
    for (size_t i = 0; i < path->measured_count; i++)
        stretch(&b, path->measured[i].east_sr, path->measured[i].north_sr, dot);
    return b;
}
