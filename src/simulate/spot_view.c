/*
 * spot_view.c - a spot as it is seen at one instant: its centre, its border, the Moon's limb.
 */
#include <math.h>

#include "simulate/simulate_internal.h"

/* Their chords lie within 2e-4 of a spot's radius of its border. */
enum { BORDER_POINTS = 180 };

/* A point of the border: `distance_rad` from the centre on the Sun, and its unit vector. */
static void border_vector(const tl_simulate_spot_place *spot, double around_rad,
                          double *distance_rad, double v[3]) {
    double distance = spot->radius_rad * tl_simulate_spot_border(spot, around_rad);
    for (int i = 0; i < 3; i++)
        v[i] = cos(distance) * spot->centre[i] +
               sin(distance) *
                   (cos(around_rad) * spot->along_east[i] + sin(around_rad) * spot->along_north[i]);
    *distance_rad = distance;
}

/* Distance of a point of the disc from the Moon's limb; < 0: covered. */
static double from_moon(const tl_sky *now, double east_sr, double north_sr) {
    return hypot(east_sr - now->east_sr, north_sr - now->north_sr) - now->ratio;
}

/* Sizes and distances of the border. What of it is beyond the Sun's limb is not seen and left out.
 */
static void look_at_border(const tl_simulate_spot_place *spot, const tl_sky *now,
                           tl_simulate_spot_view *view) {
    double before[2] = {0}, first[2] = {0}, twice_area = 0.0, cap = 0.0;
    bool any = false;
    view->nearest_sr = INFINITY;
    view->farthest_sr = -INFINITY;
    for (int i = 0; i < BORDER_POINTS; i++) {
        double v[3], distance, east, north;
        border_vector(spot, 2.0 * TL_PI * i / BORDER_POINTS, &distance, v);
        cap += (1.0 - cos(distance)) / BORDER_POINTS;
        if (!tl_simulate_spot_seen(now->sun_radius_rad, v, &east, &north))
            continue;
        view->nearest_sr = fmin(view->nearest_sr, from_moon(now, east, north));
        view->farthest_sr = fmax(view->farthest_sr, from_moon(now, east, north));
        if (any) {
            twice_area += before[0] * north - east * before[1];
        } else {
            first[0] = east;
            first[1] = north;
        }
        before[0] = east;
        before[1] = north;
        any = true;
    }
    twice_area += before[0] * first[1] - first[0] * before[1];
    view->radius_sr = sqrt(0.5 * fabs(twice_area) / TL_PI);
    view->area_ppm = 1e6 * cap; /* a cap's share of the hemisphere is 1 - cos of its radius */
}

tl_simulate_spot_view tl_simulate_spot_look(const tl_simulate_spots *spots, int index,
                                            const tl_sky *now) {
    const tl_simulate_spot_place *spot = &spots->spot[index];
    tl_simulate_spot_view view = {.state = TL_SPOT_STATE_BEHIND};
    if (!tl_simulate_spot_seen(now->sun_radius_rad, spot->centre, &view.east_sr, &view.north_sr))
        return view;
    view.from_sun_sr = 1.0 - hypot(view.east_sr, view.north_sr);
    view.from_moon_sr = from_moon(now, view.east_sr, view.north_sr);
    look_at_border(spot, now, &view);
    view.state = view.nearest_sr > 0.0    ? TL_SPOT_STATE_VISIBLE
                 : view.farthest_sr > 0.0 ? TL_SPOT_STATE_ON_LIMB
                                          : TL_SPOT_STATE_COVERED;
    return view;
}
