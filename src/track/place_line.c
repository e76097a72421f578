/*
 * place_line.c - the curve of places that fit about equally well.
 *
 * From the best place step by step along the valley: each step goes on in the direction of the one
 * before, then down to the valley's bottom across it, until chi^2 has risen by one or the Sun is
 * not up at some frame.
 */
#include <math.h>

#include "track/place_internal.h"

enum { SIDE_POINTS = (TL_PLACE_LINE_POINTS - 1) / 2 };
/* Steps to one sigma of a straight valley. */
static const double STEPS_PER_SIGMA = 8.0;
/* A valley longer than the sigma promised gets longer steps, so often twice as long. */
enum { DOUBLINGS = 5 };
/* Further than this is on the Earth's other side, where the Sun is not. */
static const double LENGTH_MAX_M = 1.5e7;

typedef struct side {
    tl_site point[SIDE_POINTS]; /* outwards from the best place */
    size_t count;
    double length_m;
    bool ended; /* chi^2 has risen, or there is no way on */
} side;

/* On the way from one point to the next, where chi^2 has risen by one: sqrt(chi^2) is linear. */
static tl_site last_point(const tl_site *from, double from_rise, const tl_site *to,
                          double to_rise) {
    double azimuth, distance = tl_place_distance(from, to, &azimuth);
    double low = sqrt(fmax(0.0, from_rise)), high = sqrt(to_rise);
    return tl_place_move(from, azimuth, distance * (1.0 - low) / (high - low));
}

static tl_status follow(const tl_place_problem *problem, const tl_place_fit *fit,
                        double azimuth_rad, double step_m, side *way) {
    tl_place_fit here = *fit;
    double rise = 0.0;
    *way = (side){.count = 0};
    here.axis_rad = azimuth_rad;
    while (way->count < SIDE_POINTS && !way->ended) {
        tl_place_fit next = here;
        next.site = tl_place_move(&here.site, here.axis_rad, step_m);
        /* The direction in which the great circle goes on there. */
        tl_place_distance(&next.site, &here.site, &next.axis_rad);
        next.axis_rad += TL_PI;
        tl_status status = tl_place_fit_across(problem, &next);
        if (status == TL_ERR_MEMORY) {
            return status;
        }
        if (status != TL_OK || !tl_place_sun_up(problem, &next.site) ||
            way->length_m > LENGTH_MAX_M) {
            way->ended = true;
            break;
        }
        double next_rise = next.cost - fit->cost;
        way->ended = next_rise > 1.0;
        if (way->ended) {
            next.site = last_point(&here.site, rise, &next.site, next_rise);
        }
        way->length_m += tl_place_distance(&here.site, &next.site, NULL);
        way->point[way->count++] = next.site;
        tl_place_distance(&next.site, &here.site, &next.axis_rad);
        next.axis_rad += TL_PI;
        here = next;
        rise = next_rise;
    }
    return TL_OK;
}

static tl_status follow_to_end(const tl_place_problem *problem, const tl_place_fit *fit,
                               double azimuth_rad, side *way) {
    double step_m = fit->along_m / STEPS_PER_SIGMA;
    tl_status status = TL_OK;
    for (int turn = 0; status == TL_OK && turn < DOUBLINGS; turn++) {
        status = follow(problem, fit, azimuth_rad, step_m, way);
        if (way->ended) {
            break;
        }
        step_m *= 2.0;
    }
    return status;
}

static void put(const tl_site *site, tl_track_place *place) {
    place->point[place->point_count].lat_rad = site->lat_rad;
    place->point[place->point_count++].lon_rad = site->lon_rad;
}

tl_status tl_place_line(const tl_place_problem *problem, const tl_place_fit *fit,
                        tl_track_place *place) {
    side back, on;
    tl_status status = follow_to_end(problem, fit, fit->axis_rad + TL_PI, &back);
    if (status == TL_OK) {
        status = follow_to_end(problem, fit, fit->axis_rad, &on);
    }
    if (status != TL_OK) {
        return status;
    }
    place->point_count = 0;
    for (size_t i = back.count; i-- > 0;) {
        put(&back.point[i], place);
    }
    put(&fit->site, place);
    for (size_t i = 0; i < on.count; i++) {
        put(&on.point[i], place);
    }
    /* A valley that bends or runs into the night is not as long as its curvature here says. */
    place->along_m = fmax(fit->across_m, 0.5 * (back.length_m + on.length_m));
    return TL_OK;
}
