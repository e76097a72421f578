/*
 * place_scan.c - where on Earth the series may have been taken, roughly.
 *
 * A grid over the half of the Earth that has the Sun; at each place the mean absolute difference
 * between measured and almanac separations, which a few bad frames do not move much. The best
 * places that are not neighbours are where the fit starts. North and south of the central line the
 * separations are much alike, and the grid cannot tell two valleys a few km apart: so each start
 * comes with its image on the other side.
 */
#include <math.h>
#include <stdlib.h>

#include "track/place_internal.h"

/* Half the valley's reach: within 200 km the separations change evenly enough for the fit. */
static const double GRID_RAD = 2.0 * TL_DEG;
/* Starts nearer than this fall into one valley, or are each other's image. */
static const double APART_M = 1.0e6;
/* At no place that saw the eclipse is the middle frame further from the almanac than this, sr. */
static const double MIDDLE_OFF_MAX_SR = 0.3;
enum { OWN_STARTS = TL_PLACE_STARTS / 2 };
/* No farther to the image; a shadow's path is no wider in reach of a fit. */
static const double IMAGE_MAX_M = 4.0e6;
/* Half the span of the difference quotient on the ground. */
static const double GRADIENT_STEP_M = 1000.0;

typedef struct node {
    tl_site site;
    double off_sr; /* mean absolute difference */
} node;

static double separation_off(const tl_place_problem *problem, size_t i, const tl_site *site) {
    tl_sky sky;
    return tl_place_sky(problem, i, site, 0.0, &sky) ? problem->obs[i].s - sky.separation_sr
                                                     : HUGE_VAL;
}

/* The frame in the middle of the series' times. */
static size_t middle_frame(const tl_place_problem *problem) {
    double first = HUGE_VAL, last = -HUGE_VAL;
    for (size_t i = 0; i < problem->count; i++) {
        first = fmin(first, problem->obs[i].t_s);
        last = fmax(last, problem->obs[i].t_s);
    }
    size_t middle = 0;
    for (size_t i = 1; i < problem->count; i++) {
        double here = fabs(problem->obs[i].t_s - 0.5 * (first + last));
        middle = here < fabs(problem->obs[middle].t_s - 0.5 * (first + last)) ? i : middle;
    }
    return middle;
}

/* Mean absolute difference at a place; HUGE_VAL where it cannot be. */
static double place_off(const tl_place_problem *problem, size_t middle, const tl_site *site,
                        bool *eclipsed) {
    tl_sky sky;
    if (!tl_place_sky(problem, middle, site, 0.0, &sky) || sky.sun_altitude_rad < -GRID_RAD) {
        return HUGE_VAL;
    }
    *eclipsed = *eclipsed || sky.magnitude > 0.0;
    if (fabs(sky.separation_sr - problem->obs[middle].s) > MIDDLE_OFF_MAX_SR) {
        return HUGE_VAL;
    }
    if (!tl_place_sun_up(problem, site)) {
        return HUGE_VAL;
    }
    double sum = 0.0;
    for (size_t i = 0; i < problem->count; i++) {
        sum += fabs(separation_off(problem, i, site));
    }
    return sum / (double)problem->count;
}

static int by_off(const void *a, const void *b) {
    double x = ((const node *)a)->off_sr, y = ((const node *)b)->off_sr;
    return (x > y) - (x < y);
}

/* Rows of equal latitude, their places some GRID_RAD apart; room for them all is 4 pi / step^2 and
 * one more a row. */
static size_t walk_grid(const tl_place_problem *problem, node *found, bool *eclipsed) {
    size_t count = 0, middle = middle_frame(problem);
    size_t rows = (size_t)ceil(TL_PI / GRID_RAD);
    for (size_t row = 0; row < rows; row++) {
        double lat = -0.5 * TL_PI + ((double)row + 0.5) * TL_PI / (double)rows;
        size_t columns = (size_t)ceil(2.0 * TL_PI * cos(lat) / GRID_RAD);
        for (size_t column = 0; column < columns; column++) {
            double lon = -TL_PI + 2.0 * TL_PI * ((double)column + 0.5) / (double)columns;
            node here = {.site = {.source = TL_SITE_GIVEN, .lat_rad = lat, .lon_rad = lon}};
            here.off_sr = place_off(problem, middle, &here.site, eclipsed);
            if (isfinite(here.off_sr)) {
                found[count++] = here;
            }
        }
    }
    qsort(found, count, sizeof *found, by_off);
    return count;
}

/* The best ones that lie apart. */
static size_t choose(const node *found, size_t found_count, tl_site start[OWN_STARTS]) {
    size_t count = 0;
    for (size_t i = 0; i < found_count && count < OWN_STARTS; i++) {
        bool apart = true;
        for (size_t j = 0; j < count; j++) {
            apart = apart && tl_place_distance(&found[i].site, &start[j], NULL) > APART_M;
        }
        if (apart) {
            start[count++] = found[i].site;
        }
    }
    return count;
}

/*
 * The place on the other side of the line on which the frame nearest to maximum would have been
 * central: down its separation's gradient by twice what it measures.
 */
static bool image(const tl_place_problem *problem, const tl_site *site, tl_site *other) {
    size_t deepest = 0;
    for (size_t i = 1; i < problem->count; i++) {
        deepest = problem->obs[i].s < problem->obs[deepest].s ? i : deepest;
    }
    double gradient[2];
    for (int axis = 0; axis < 2; axis++) {
        tl_site ahead = tl_place_move(site, 0.5 * TL_PI * axis, GRADIENT_STEP_M);
        tl_site behind = tl_place_move(site, 0.5 * TL_PI * axis, -GRADIENT_STEP_M);
        gradient[axis] =
            (separation_off(problem, deepest, &behind) - separation_off(problem, deepest, &ahead)) /
            (2.0 * GRADIENT_STEP_M);
    }
    double slope = hypot(gradient[0], gradient[1]);
    tl_sky sky;
    if (!(slope > 0.0) || !isfinite(slope) || !tl_place_sky(problem, deepest, site, 0.0, &sky) ||
        2.0 * sky.separation_sr / slope > IMAGE_MAX_M) {
        return false;
    }
    *other =
        tl_place_move(site, atan2(-gradient[1], -gradient[0]), 2.0 * sky.separation_sr / slope);
    return true;
}

tl_status tl_place_scan(const tl_place_problem *problem, tl_site start[TL_PLACE_STARTS],
                        size_t *count) {
    size_t room = (size_t)(4.0 * TL_PI / (GRID_RAD * GRID_RAD) + 2.0 * TL_PI / GRID_RAD);
    node *found = calloc(room, sizeof *found);
    if (found == NULL) {
        return TL_ERR_MEMORY;
    }
    bool eclipsed = false;
    size_t own = choose(found, walk_grid(problem, found, &eclipsed), start);
    free(found);
    if (!eclipsed) {
        return TL_ERR_NO_ECLIPSE;
    }
    *count = own;
    for (size_t i = 0; i < own; i++) {
        *count += image(problem, &start[i], &start[*count]) ? 1 : 0;
    }
    return own > 0 ? TL_OK : TL_ERR_NO_FIT;
}
