/*
 * The geocentric state tabulated at equal steps of TT and interpolated by the
 * polynomial through the six nearest nodes; the observer's own motion, which is
 * what curves quickly, is then put on exactly.
 *
 * The Moon's longitude is a sine of 22640 arcsec at 2.6e-6 rad/s and smaller ones
 * at small multiples of that: the error, 0.005 step^6 times the sixth derivative, is
 * below 1e-6 arcsec for the step below.
 */
#include "sky/sky_internal.h"

#include <math.h>
#include <stdlib.h>

static const double step_s = 7200.0;
enum { POINTS = 6, BEFORE = 2 }; /* nodes in use, and how many of them before the interval */

struct tl_sky_table {
    tl_site site;
    tl_sky_options options;
    double from_utc_s, to_utc_s;
    double first_tt_s; /* of node 0 */
    size_t count;
    tl_sky_geocentric node[];
};

tl_status tl_sky_table_make(const tl_site *site, double t_from_utc_s, double t_to_utc_s,
                            const tl_sky_options *options, tl_sky_table **table) {
    if (!(t_to_utc_s >= t_from_utc_s))
        return TL_ERR_ARGUMENT;
    double from_tt_s = 0.0, to_tt_s = 0.0;
    if (!tl_sky_site_valid(site) || tl_sky_tt(t_from_utc_s, &from_tt_s) != TL_OK ||
        tl_sky_tt(t_to_utc_s, &to_tt_s) != TL_OK)
        return TL_ERR_RANGE;
    size_t count = (size_t)floor((to_tt_s - from_tt_s) / step_s) + POINTS;
    tl_sky_table *made = malloc(sizeof *made + count * sizeof made->node[0]);
    if (made == NULL)
        return TL_ERR_MEMORY;
    made->site = *site;
    made->options = options != NULL ? *options : tl_sky_options_default();
    made->from_utc_s = t_from_utc_s;
    made->to_utc_s = t_to_utc_s;
    made->first_tt_s = from_tt_s - BEFORE * step_s;
    made->count = count;
    for (size_t i = 0; i < count; i++)
        tl_sky_geocentric_at(made->first_tt_s + (double)i * step_s, &made->node[i]);
    *table = made;
    return TL_OK;
}

static void interpolate(const tl_sky_table *table, double tt_s, tl_sky_geocentric *state) {
    double place = (tt_s - table->first_tt_s) / step_s;
    double first = fmin(fmax(floor(place) - BEFORE, 0.0), (double)(table->count - POINTS));
    const tl_sky_geocentric *node = &table->node[(size_t)first];
    double x = place - first;
    *state = (tl_sky_geocentric){0};
    for (int k = 0; k < POINTS; k++) {
        double weight = 1.0; /* Lagrange's */
        for (int j = 0; j < POINTS; j++)
            if (j != k)
                weight *= (x - j) / (k - j);
        for (int i = 0; i < TL_SKY_GEOCENTRIC; i++)
            state->number[i] += weight * node[k].number[i];
    }
}

static tl_status ask(const tl_sky_table *table, const tl_site *site, double t_utc_s,
                     double more_deltat_s, tl_sky *sky) {
    double tt_s = 0.0;
    if (!(t_utc_s >= table->from_utc_s && t_utc_s <= table->to_utc_s) ||
        tl_sky_tt(t_utc_s, &tt_s) != TL_OK)
        return TL_ERR_RANGE;
    tl_sky_geocentric state;
    interpolate(table, tt_s, &state);
    const tl_sky_options *options = &table->options;
    double deltat_s = options->deltat_given ? options->deltat_s : tl_sky_deltat(tt_s);
    tl_sky_places places;
    tl_sky_topocentric(site, tt_s, deltat_s + more_deltat_s, &state, &places);
    tl_sky_derive(site, t_utc_s, tt_s, options, &places, sky);
    return TL_OK;
}

tl_status tl_sky_table_turned(const tl_sky_table *table, double t_utc_s, double more_deltat_s,
                              tl_sky *sky) {
    return ask(table, &table->site, t_utc_s, more_deltat_s, sky);
}

tl_status tl_sky_table_at(const tl_sky_table *table, double t_utc_s, tl_sky *sky) {
    return ask(table, &table->site, t_utc_s, 0.0, sky);
}

tl_status tl_sky_table_at_site(const tl_sky_table *table, const tl_site *site, double t_utc_s,
                               tl_sky *sky) {
    return tl_sky_site_valid(site) ? ask(table, site, t_utc_s, 0.0, sky) : TL_ERR_RANGE;
}

void tl_sky_table_free(tl_sky_table *table) {
    free(table);
}
