/*
 * Local circumstances: contacts and maximum as roots and minimum of functions of
 * the separation, read from a table over the hours around closest approach.
 */
#include "sky/sky_internal.h"

#include <math.h>

#include "base/base_internal.h"

static const double noon_s = 12.0 * 3600.0;
static const double reach_s = 36.0 * 3600.0;
/* Parallax moves the smallest separation away from the new moon by less than this. */
static const double parallax_s = 3.0 * 3600.0;
/* Longer than the partial phase lasts anywhere on one side of maximum: the longest met is 2 h 15
 * min. */
static const double half_phase_s = 2.75 * 3600.0;
/* Half-width of the search for a minimum around the start found by Newton's steps. */
static const double near_s = 600.0;
static const double horizon_step_s = 120.0;
/* While an eclipse lasts the Sun climbs less than this above where it is at maximum. */
static const double deepest_rad = -40.0 * TL_DEG;

/* Negative while the Moon touches the Sun from outside or covers part of it. */
static double outer_gap(const tl_sky *sky) {
    return sky->separation_rad - sky->sun_radius_rad - sky->moon_radius_rad;
}

/* Negative while one disc lies whole within the other. */
static double inner_gap(const tl_sky *sky) {
    return sky->separation_rad - fabs(sky->moon_radius_rad - sky->sun_radius_rad);
}

static double separation(const tl_sky *sky) {
    return sky->separation_rad;
}

/* Altitude of the upper limb over a sea horizon, refraction included as almanacs do. */
static double upper_limb(const tl_sky *sky) {
    return sky->sun_altitude_rad + sky->sun_radius_rad + TL_SKY_RISE_REFRACTION;
}

static tl_sky look(const tl_sky_table *table, double t_utc_s) {
    tl_sky sky = {0};
    tl_sky_table_at(table, t_utc_s, &sky); /* every instant asked for lies in the span */
    return sky;
}

/* Position angle of the point where the limbs touch, seen from the Sun's centre. */
static double contact_point_pa(const tl_sky *sky, int which) {
    bool within_moon = (which == TL_C2 || which == TL_C3) && sky->ratio > 1.0;
    return tl_angle_positive(sky->pa_rad + (within_moon ? TL_PI : 0.0));
}

static void fill_contact(const tl_sky_table *table, int which, double (*value)(const tl_sky *),
                         double t_utc_s, tl_circumstances *result) {
    tl_contact *contact = &result->contact[which];
    tl_sky sky = look(table, t_utc_s);
    contact->occurs = true;
    contact->sun_up = upper_limb(&sky) > 0.0;
    contact->t_utc_s = t_utc_s;
    contact->altitude_rad = sky.sun_altitude_rad;
    contact->azimuth_rad = sky.sun_azimuth_rad;
    contact->pa_rad = contact_point_pa(&sky, which);
    contact->vertex_rad = tl_angle_positive(contact->pa_rad - sky.parallactic_rad);
    contact->sigma_s =
        tl_sky_contact_sigma(table, value, which == TL_MAX, t_utc_s, result->deltat_sigma_s);
}

/* The pair of contacts around an instant at which `gap` is negative. */
static tl_status find_pair(const tl_sky_table *table, double (*gap)(const tl_sky *),
                           double middle_s, double reach, int before, int after,
                           tl_circumstances *result) {
    double first = 0.0, second = 0.0;
    tl_status status = tl_sky_root(table, gap, middle_s - reach, middle_s, &first);
    if (status == TL_OK)
        status = tl_sky_root(table, gap, middle_s, middle_s + reach, &second);
    if (status != TL_OK)
        return status;
    fill_contact(table, before, gap, first, result);
    fill_contact(table, after, gap, second, result);
    return TL_OK;
}

/* The central phase, if there is one; its middle is not quite the maximum. */
static tl_status find_central(const tl_sky_table *table, tl_circumstances *result) {
    double max_s = result->contact[TL_MAX].t_utc_s, middle_s = 0.0;
    tl_status status =
        tl_sky_minimum(table, inner_gap, max_s - near_s, max_s, max_s + near_s, &middle_s);
    if (status != TL_OK)
        return status;
    tl_sky sky = look(table, middle_s);
    if (inner_gap(&sky) >= 0.0)
        return TL_OK;
    result->kind = sky.ratio > 1.0 ? TL_ECLIPSE_TOTAL : TL_ECLIPSE_ANNULAR;
    double reach =
        fmin(max_s - result->contact[TL_C1].t_utc_s, result->contact[TL_C4].t_utc_s - max_s);
    return find_pair(table, inner_gap, middle_s, reach, TL_C2, TL_C3, result);
}

/* First sunrise and first sunset between C1 and C4. */
static tl_status find_horizon(const tl_sky_table *table, tl_circumstances *result) {
    double end_s = result->contact[TL_C4].t_utc_s;
    double from_s = result->contact[TL_C1].t_utc_s;
    tl_sky from = look(table, from_s);
    while (from_s < end_s) {
        double to_s = fmin(from_s + horizon_step_s, end_s);
        tl_sky to = look(table, to_s);
        bool rises = upper_limb(&from) <= 0.0 && upper_limb(&to) > 0.0;
        bool sets = upper_limb(&from) > 0.0 && upper_limb(&to) <= 0.0;
        double t = 0.0;
        if (rises || sets) {
            tl_status status = tl_sky_root(table, upper_limb, from_s, to_s, &t);
            if (status != TL_OK)
                return status;
        }
        if (rises && !result->has_sunrise) {
            result->has_sunrise = true;
            result->sunrise_utc_s = t;
        }
        if (sets && !result->has_sunset) {
            result->has_sunset = true;
            result->sunset_utc_s = t;
        }
        from_s = to_s;
        from = to;
    }
    return TL_OK;
}

static double deltat_sigma(double t_utc_s, const tl_sky_options *options) {
    double tt_s = 0.0;
    if ((options != NULL && options->deltat_given) || tl_sky_tt(t_utc_s, &tt_s) != TL_OK)
        return 0.0;
    return tl_sky_deltat_sigma(tt_s);
}

static tl_status solve(const tl_sky_table *table, double closest_s, const tl_sky_options *options,
                       tl_circumstances *result) {
    double max_s = 0.0;
    tl_status status = tl_sky_minimum(table, separation, closest_s - near_s, closest_s,
                                      closest_s + near_s, &max_s);
    if (status != TL_OK)
        return status;
    tl_sky at_max = look(table, max_s);
    if (outer_gap(&at_max) >= 0.0)
        return TL_ERR_NO_ECLIPSE;
    result->kind = TL_ECLIPSE_PARTIAL;
    result->magnitude = at_max.magnitude;
    result->obscuration = at_max.obscuration;
    result->ratio = at_max.ratio;
    result->deltat_s = at_max.deltat_s;
    result->deltat_sigma_s = deltat_sigma(max_s, options);
    fill_contact(table, TL_MAX, separation, max_s, result);
    status = find_pair(table, outer_gap, max_s, half_phase_s, TL_C1, TL_C4, result);
    if (status == TL_OK)
        status = find_central(table, result);
    if (status == TL_OK)
        status = find_horizon(table, result);
    return status;
}

/*
 * Newton's steps to the smallest separation: at each, the Moon is taken to run on
 * along its present line. From the new moon, up to 3 h off, five settle it to a
 * second or two.
 */
static tl_sky closest_approach(const tl_sky_table *table, double new_moon_s) {
    enum { STEPS = 5 };
    const double half_step_s = 300.0;
    double t = new_moon_s;
    for (int i = 0; i < STEPS; i++) {
        tl_sky before = look(table, t - half_step_s), after = look(table, t + half_step_s);
        double east = (before.east_sr + after.east_sr) / 2.0;
        double north = (before.north_sr + after.north_sr) / 2.0;
        double east_rate = (after.east_sr - before.east_sr) / (2.0 * half_step_s);
        double north_rate = (after.north_sr - before.north_sr) / (2.0 * half_step_s);
        t -= (east * east_rate + north * north_rate) /
             (east_rate * east_rate + north_rate * north_rate);
        t = fmin(fmax(t, new_moon_s - parallax_s), new_moon_s + parallax_s);
    }
    return look(table, t);
}

/* Whether that separation, which is not quite the smallest, leaves an eclipse possible. */
static bool discs_may_touch(const tl_sky *closest) {
    /* Ten seconds off the true minimum the separation is 0.02 arcsec too large at most. */
    static const double margin = 1.0 * TL_ARCSEC;
    return outer_gap(closest) < margin;
}

bool tl_sky_eclipse_seen(const tl_circumstances *eclipse) {
    return eclipse->contact[TL_C1].sun_up || eclipse->contact[TL_C4].sun_up ||
           eclipse->has_sunrise || eclipse->has_sunset;
}

tl_status tl_sky_circumstances_of(const tl_site *site, long lunation, const tl_sky_options *options,
                                  bool only_seen, tl_circumstances *circumstances) {
    if (!tl_sky_near_node(lunation))
        return TL_ERR_NO_ECLIPSE;
    tl_base_quiet_libraries();
    double new_moon_s = tl_sky_new_moon(lunation);
    double margin_s = parallax_s + half_phase_s + near_s;
    tl_sky_table *table = NULL;
    tl_status status =
        tl_sky_table_make(site, new_moon_s - margin_s, new_moon_s + margin_s, options, &table);
    if (status != TL_OK)
        return status;
    tl_sky closest = closest_approach(table, new_moon_s);
    tl_circumstances result = {.kind = TL_ECLIPSE_NONE};
    bool no_hope = only_seen && closest.sun_altitude_rad < deepest_rad;
    if (no_hope || !discs_may_touch(&closest))
        status = TL_ERR_NO_ECLIPSE;
    else
        status = solve(table, closest.t_utc_s, options, &result);
    tl_sky_table_free(table);
    if (status == TL_OK && only_seen && !tl_sky_eclipse_seen(&result))
        return TL_ERR_NO_ECLIPSE;
    if (status == TL_OK)
        *circumstances = result;
    return status;
}

tl_status tl_sky_circumstances(const tl_site *site, double day_utc_s, const tl_sky_options *options,
                               tl_circumstances *circumstances) {
    double tt_s = 0.0, middle_s = day_utc_s + noon_s;
    if (!tl_sky_site_valid(site) || tl_sky_tt(day_utc_s, &tt_s) != TL_OK)
        return TL_ERR_RANGE;
    long lunation = tl_sky_lunation(middle_s);
    if (fabs(tl_sky_new_moon(lunation) - middle_s) > reach_s + parallax_s)
        return TL_ERR_NO_ECLIPSE;
    tl_circumstances found;
    tl_status status = tl_sky_circumstances_of(site, lunation, options, false, &found);
    if (status == TL_OK && fabs(found.contact[TL_MAX].t_utc_s - middle_s) > reach_s)
        return TL_ERR_NO_ECLIPSE;
    if (status == TL_OK)
        *circumstances = found;
    return status;
}
