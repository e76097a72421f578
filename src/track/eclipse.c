/*
 * eclipse.c - the eclipse the series is compared with, tabulated.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

/* The table reaches so far beyond first and last contact: room for the clock fit to move in. */
static const double MARGIN_S = 900.0;
/* Step of the table of squared separations. Their square, unlike themselves, is smooth through a
 * central maximum; its fourth derivative, below 1 sr^2/h^4, makes an error below 1e-9. */
static const double SQUARE_STEP_S = 60.0;
/* How exactly the time of a separation is found. */
static const double WHEN_EXACT_S = 1e-3;
/* Below this the discs are concentric, and the separation has no rate. */
static const double CONCENTRIC_SR = 1e-9;

/* Squared separations over the table's span, hours from its start. */
static tl_status make_square(tl_track_eclipse *e) {
    size_t count = (size_t)ceil((e->to_s - e->from_s) / SQUARE_STEP_S) + 1;
    double step = (e->to_s - e->from_s) / (double)(count - 1);
    double *t_h = calloc(count, sizeof *t_h), *square = calloc(count, sizeof *square);
    e->square = gsl_spline_alloc(gsl_interp_cspline, count);
    tl_status status = t_h != NULL && square != NULL && e->square != NULL ? TL_OK : TL_ERR_MEMORY;
    for (size_t i = 0; status == TL_OK && i < count; i++) {
        double t_s = i + 1 < count ? e->from_s + step * (double)i : e->to_s;
        tl_sky sky;
        status = tl_sky_table_at(e->table, t_s, &sky);
        t_h[i] = (t_s - e->from_s) / TL_TRACK_HOUR_S;
        square[i] = sky.separation_sr * sky.separation_sr;
    }
    if (status == TL_OK && gsl_spline_init(e->square, t_h, square, count) != GSL_SUCCESS) {
        status = TL_ERR_NO_FIT;
    }
    free(t_h);
    free(square);
    return status;
}

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
        status = make_square(&made);
    }
    if (status == TL_OK) {
        *eclipse = made;
    } else {
        tl_track_eclipse_free(&made);
    }
    return status;
}

void tl_track_eclipse_free(tl_track_eclipse *eclipse) {
    gsl_spline_free(eclipse->square);
    tl_sky_table_free(eclipse->table);
    *eclipse = (tl_track_eclipse){0};
}

bool tl_track_eclipse_separation(const tl_track_eclipse *eclipse, double t_utc_s, double *s,
                                 double *s_per_s) {
    if (!(t_utc_s >= eclipse->from_s && t_utc_s <= eclipse->to_s)) {
        return false;
    }
    double t_h = (t_utc_s - eclipse->from_s) / TL_TRACK_HOUR_S, square, per_h;
    if (gsl_spline_eval_e(eclipse->square, t_h, NULL, &square) != GSL_SUCCESS ||
        gsl_spline_eval_deriv_e(eclipse->square, t_h, NULL, &per_h) != GSL_SUCCESS) {
        return false;
    }
    *s = sqrt(fmax(0.0, square));
    *s_per_s = *s > CONCENTRIC_SR ? per_h / (2.0 * *s * TL_TRACK_HOUR_S) : 0.0;
    return true;
}

double tl_track_eclipse_when(const tl_track_eclipse *eclipse, double s, int side) {
    const tl_contact *contact = eclipse->circumstances.contact;
    double inner = contact[TL_MAX].t_utc_s;
    double outer = contact[side == TL_TRACK_BEFORE ? TL_C1 : TL_C4].t_utc_s;
    while (fabs(outer - inner) > WHEN_EXACT_S) {
        double middle = 0.5 * (inner + outer), at, rate;
        bool known = tl_track_eclipse_separation(eclipse, middle, &at, &rate);
        *(known && at < s ? &inner : &outer) = middle;
    }
    return 0.5 * (inner + outer);
}

tl_status tl_track_eclipse_sky(const tl_track_eclipse *eclipse, double t_utc_s, tl_sky *sky) {
    if (t_utc_s >= eclipse->from_s && t_utc_s <= eclipse->to_s) {
        return tl_sky_table_at(eclipse->table, t_utc_s, sky);
    }
    return tl_sky_at(&eclipse->site, t_utc_s, &eclipse->sky, sky);
}
