/*
 * eclipse.c - the eclipse the series is compared with, tabulated.
 */
#include <math.h>

#include "track/track_internal.h"

/* The table reaches so far beyond first and last contact: room for the clock fit to move in. */
static const double MARGIN_S = 900.0;
/* Half the span of the difference quotient for the speed: the separation's third derivative,
 * below 3 sr/h^3 but within a minute of a central maximum, makes an error below 1e-9 sr/s. */
static const double RATE_STEP_S = 2.0;

tl_status tl_track_eclipse_make(const tl_track_options *options, double day_utc_s,
                                tl_track_eclipse *eclipse) {
    tl_track_eclipse made = {.site = options->site, .sky = options->sky};
    tl_circumstances *c = &made.circumstances;
    tl_status status = tl_sky_circumstances(&made.site, day_utc_s, &made.sky, c);
    if (status != TL_OK) {
        return status;
    }
    if (c->kind == TL_ECLIPSE_NONE || !tl_sky_eclipse_seen(c)) {
        return TL_ERR_NO_ECLIPSE;
    }
    made.from_s = c->contact[TL_C1].t_utc_s - MARGIN_S;
    made.to_s = c->contact[TL_C4].t_utc_s + MARGIN_S;
    status = tl_sky_table_make(&made.site, made.from_s, made.to_s, &made.sky, &made.table);
    if (status == TL_OK) {
        *eclipse = made;
    }
    return status;
}

void tl_track_eclipse_free(tl_track_eclipse *eclipse) {
    tl_sky_table_free(eclipse->table);
    *eclipse = (tl_track_eclipse){0};
}

bool tl_track_eclipse_separation(const tl_track_eclipse *eclipse, double t_utc_s, double *s,
                                 double *s_per_s) {
    tl_sky before, at, after;
    if (!(t_utc_s >= eclipse->from_s + RATE_STEP_S && t_utc_s <= eclipse->to_s - RATE_STEP_S) ||
        tl_sky_table_at(eclipse->table, t_utc_s, &at) != TL_OK ||
        tl_sky_table_at(eclipse->table, t_utc_s - RATE_STEP_S, &before) != TL_OK ||
        tl_sky_table_at(eclipse->table, t_utc_s + RATE_STEP_S, &after) != TL_OK) {
        return false;
    }
    *s = at.separation_sr;
    *s_per_s = (after.separation_sr - before.separation_sr) / (2.0 * RATE_STEP_S);
    return true;
}

tl_status tl_track_eclipse_sky(const tl_track_eclipse *eclipse, double t_utc_s, tl_sky *sky) {
    if (t_utc_s >= eclipse->from_s && t_utc_s <= eclipse->to_s) {
        return tl_sky_table_at(eclipse->table, t_utc_s, sky);
    }
    return tl_sky_at(&eclipse->site, t_utc_s, &eclipse->sky, sky);
}
