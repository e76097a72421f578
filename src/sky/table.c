/*
 * The state tabulated at equal steps of TT and interpolated by the cubic through
 * the four nearest nodes; the fields are then derived as in tl_sky_at.
 *
 * The sharpest curvature is the daily parallax of the Moon: 3450 arcsec at
 * 7.3e-5 rad/s. The cubic's error, 0.0235 step^4 times the fourth derivative,
 * is 1e-4 arcsec for the step below.
 */
#include "sky/sky_internal.h"

#include <math.h>
#include <stdlib.h>

static const double step_s = 480.0;

struct tl_sky_table {
    tl_site site;
    tl_sky_options options;
    double from_utc_s, to_utc_s;
    double first_tt_s; /* of node 0 */
    size_t count;
    double node[][TL_SKY_STATE];
};

static void fill(tl_sky_table *table) {
    for (size_t i = 0; i < table->count; i++) {
        double *state = table->node[i];
        tl_sky_state_at(&table->site, table->first_tt_s + (double)i * step_s, &table->options,
                        state);
        if (i > 0) {
            double previous = table->node[i - 1][TL_SKY_SIDEREAL];
            state[TL_SKY_SIDEREAL] = previous + tl_angle_signed(state[TL_SKY_SIDEREAL] - previous);
        }
    }
}

tl_status tl_sky_table_make(const tl_site *site, double t_from_utc_s, double t_to_utc_s,
                            const tl_sky_options *options, tl_sky_table **table) {
    if (!(t_to_utc_s >= t_from_utc_s))
        return TL_ERR_ARGUMENT;
    double from_tt_s = 0.0, to_tt_s = 0.0;
    if (!tl_sky_site_valid(site) || tl_sky_tt(t_from_utc_s, &from_tt_s) != TL_OK ||
        tl_sky_tt(t_to_utc_s, &to_tt_s) != TL_OK)
        return TL_ERR_RANGE;
    /* One node before the first interval, two behind the start of the last. */
    size_t count = (size_t)floor((to_tt_s - from_tt_s) / step_s) + 4;
    tl_sky_table *made = malloc(sizeof *made + count * sizeof made->node[0]);
    if (made == NULL)
        return TL_ERR_MEMORY;
    made->site = *site;
    made->options = options != NULL ? *options : tl_sky_options_default();
    made->from_utc_s = t_from_utc_s;
    made->to_utc_s = t_to_utc_s;
    made->first_tt_s = from_tt_s - step_s;
    made->count = count;
    fill(made);
    *table = made;
    return TL_OK;
}

tl_status tl_sky_table_at(const tl_sky_table *table, double t_utc_s, tl_sky *sky) {
    double tt_s = 0.0;
    if (!(t_utc_s >= table->from_utc_s && t_utc_s <= table->to_utc_s) ||
        tl_sky_tt(t_utc_s, &tt_s) != TL_OK)
        return TL_ERR_RANGE;
    double place = (tt_s - table->first_tt_s) / step_s; /* 1 at the start of the span */
    double left = fmin(fmax(floor(place), 1.0), (double)table->count - 3.0);
    double x = place - left; /* 0..1 between the two middle nodes */
    const double weight[4] = {
        -x * (x - 1.0) * (x - 2.0) / 6.0,
        (x + 1.0) * (x - 1.0) * (x - 2.0) / 2.0,
        -(x + 1.0) * x * (x - 2.0) / 2.0,
        (x + 1.0) * x * (x - 1.0) / 6.0,
    };
    const double(*node)[TL_SKY_STATE] = &table->node[(size_t)left - 1];
    double state[TL_SKY_STATE];
    for (int i = 0; i < TL_SKY_STATE; i++)
        state[i] = weight[0] * node[0][i] + weight[1] * node[1][i] + weight[2] * node[2][i] +
                   weight[3] * node[3][i];
    tl_sky_derive(&table->site, t_utc_s, tt_s, &table->options, state, sky);
    return TL_OK;
}

void tl_sky_table_free(tl_sky_table *table) {
    free(table);
}
