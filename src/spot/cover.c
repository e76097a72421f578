/*
 * cover.c - when the Moon's limb crosses a spot.
 *
 * The gap is the distance of the spot's centre from the Moon's edge: that of the two centres less
 * the Moon's radius. It has one minimum in an eclipse; the limb stands on the spot's first point,
 * centre and last point as it falls through +reach, 0 and -reach, and the other way round as it
 * rises. The reach is that of the ellipse as which a round spot is seen: along the line to the
 * disc's centre it is shorter by the foreshortening.
 * Distances are taken as on a plane, from places given by separation and position angle: within
 * 1e-5 solar radii of those on the sky.
 */
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_math.h>
#include <gsl/gsl_min.h>
#include <gsl/gsl_roots.h>

#include "base/base_internal.h"
#include "sky/sky_internal.h"
#include "spot/place_internal.h"

/* Beyond first and last contact: there the errors of a spot's place may have to look. */
static const double margin_s = 1800.0;
static const double step_s = 60.0; /* of the look for the minimum: a hundredth of an eclipse */
static const double root_tolerance_s = 1e-5; /* the Moon moves 1e-8 solar radii in that */
/* A minimum is no sharper than the square root of the rounding. */
static const double minimum_tolerance_s = 1e-3;
static const double unsure_sigmas = 3.0;
/* An ellipse is never taken for flatter than this: at the very limb a spot is no patch any more. */
static const double flattest = 0.05;
enum { STEPS_MAX = 100 };

typedef struct course {
    const tl_spot *spot;
    const tl_sky_table *table;
    double from_s, to_s;   /* tabulated, UTC */
    double start_s, end_s; /* first and last contact */
    double lowest_s;       /* when the gap is smallest */
    double round_sr;       /* the spot's radius were it in the middle of the disc */
    double reaches;        /* the gap looked for: so many reaches, ... */
    double level_sr;       /* ... and this more */
} course;

/* The Moon and the spot at one instant. */
typedef struct moment {
    tl_sky sky;
    double latitude_rad, carrington_rad; /* of the spot then */
    double east_sr, north_sr;            /* from the Moon's centre to the spot's */
    double gap_sr;
    double reach_sr; /* half the spot's extent on the line to the Moon's centre */
    bool seen;       /* the spot is not beyond the solar limb */
} moment;

/* How far the ellipse of a round spot reaches along a direction: its axes are `round_sr` across and
 * that times the foreshortening along the line to the disc's centre. */
static double reach(const tl_sky *sky, double round_sr, double east, double north,
                    double along_east, double along_north) {
    const double r = hypot(east, north), length = hypot(along_east, along_north);
    if (!(r > 0.0) || !(length > 0.0))
        return round_sr;
    const double mu = fmax(tl_spot_foreshortening(sky, r), flattest);
    const double inward = (east * along_east + north * along_north) / (r * length);
    return round_sr * sqrt(1.0 - inward * inward * (1.0 - mu * mu));
}

/* The gap with the spot at this place. */
static void place(moment *now, double round_sr, double latitude_rad, double carrington_rad) {
    double east, north;
    now->latitude_rad = latitude_rad;
    now->carrington_rad = carrington_rad;
    now->seen = tl_spot_point(&now->sky, latitude_rad, carrington_rad, &east, &north);
    now->east_sr = east - now->sky.east_sr;
    now->north_sr = north - now->sky.north_sr;
    now->gap_sr = hypot(now->east_sr, now->north_sr) - now->sky.ratio;
    now->reach_sr = reach(&now->sky, round_sr, east, north, now->east_sr, now->north_sr);
}

static bool look(const course *c, double t_utc_s, moment *now) {
    if (tl_sky_table_at(c->table, t_utc_s, &now->sky) != TL_OK)
        return false;
    const tl_spot *spot = c->spot;
    place(now, c->round_sr, spot->latitude_rad,
          spot->carrington_rad +
              tl_spot_drift_rad(spot->latitude_rad, t_utc_s - spot->epoch_utc_s));
    return true;
}

/*
 * One sigma of the gap, by the spot's place. In pictures the errors are those on the disc, east and
 * north; in a list those on the Sun, latitude and longitude, which on the disc hang together.
 */
static double gap_sigma(const course *c, const moment *now) {
    const tl_spot *spot = c->spot;
    if (spot->in_pictures) {
        const double distance = hypot(now->east_sr, now->north_sr);
        return distance > 0.0 ? hypot(now->east_sr / distance * spot->east_sigma_sr,
                                      now->north_sr / distance * spot->north_sigma_sr)
                              : hypot(spot->east_sigma_sr, spot->north_sigma_sr);
    }
    double sum = 0.0;
    for (int side = -1; side <= 1; side += 2) {
        moment off = *now;
        place(&off, c->round_sr, now->latitude_rad + side * spot->latitude_sigma_rad,
              now->carrington_rad);
        sum += (off.gap_sr - now->gap_sr) * (off.gap_sr - now->gap_sr) / 2.0;
        place(&off, c->round_sr, now->latitude_rad,
              now->carrington_rad + side * spot->longitude_sigma_rad);
        sum += (off.gap_sr - now->gap_sr) * (off.gap_sr - now->gap_sr) / 2.0;
    }
    return sqrt(sum);
}

/* Times are counted from the table's start, to keep their digits. */
static double above_level(double t_s, void *context) {
    const course *c = context;
    moment now;
    return look(c, c->from_s + t_s, &now) ? now.gap_sr - c->reaches * now.reach_sr - c->level_sr
                                          : GSL_NAN;
}

static tl_status find_lowest(course *c) {
    c->reaches = c->level_sr = 0.0;
    double guess_s = 0.0, least = GSL_POSINF;
    const double span_s = c->to_s - c->from_s;
    const int count = (int)ceil(span_s / step_s);
    for (int i = 0; i <= count; i++) {
        const double t_s = span_s * i / count, gap = above_level(t_s, c);
        if (gap < least) {
            least = gap;
            guess_s = t_s;
        }
    }
    c->lowest_s = c->from_s + guess_s;
    const double before_s = guess_s - span_s / count, after_s = guess_s + span_s / count;
    if (before_s < 0.0 || after_s > span_s)
        return TL_OK;
    gsl_function function = {above_level, c};
    gsl_min_fminimizer *solver = gsl_min_fminimizer_alloc(gsl_min_fminimizer_brent);
    if (solver == NULL)
        return TL_ERR_MEMORY;
    int code = gsl_min_fminimizer_set(solver, &function, guess_s, before_s, after_s);
    for (int i = 0; i < STEPS_MAX && code == GSL_SUCCESS; i++) {
        code = gsl_min_fminimizer_iterate(solver);
        if (gsl_min_test_interval(gsl_min_fminimizer_x_lower(solver),
                                  gsl_min_fminimizer_x_upper(solver), minimum_tolerance_s,
                                  0.0) == GSL_SUCCESS)
            break;
    }
    /* Two samples alike beside the minimum leave nothing to search: the sample is then good to a
     * step, in which the gap hardly changes. */
    if (code == GSL_SUCCESS)
        c->lowest_s = c->from_s + gsl_min_fminimizer_x_minimum(solver);
    gsl_min_fminimizer_free(solver);
    return TL_OK;
}

/*
 * When the gap is so many reaches (c->reaches) and this more, on its way down (`rising` false) or
 * up. A value that is not reached gives the nearest instant: the minimum, or the end of the span;
 * `*reached` tells.
 */
static tl_status find_level(course *c, double level_sr, bool rising, bool *reached,
                            double *t_utc_s) {
    c->level_sr = level_sr;
    const double inner_s = c->lowest_s - c->from_s;
    const double outer_s = rising ? c->to_s - c->from_s : 0.0;
    const double inner = above_level(inner_s, c), outer = above_level(outer_s, c);
    *reached = inner < 0.0 && outer > 0.0;
    if (!*reached) {
        *t_utc_s = c->from_s + (inner < 0.0 ? outer_s : inner_s);
        return TL_OK;
    }
    gsl_function function = {above_level, c};
    gsl_root_fsolver *solver = gsl_root_fsolver_alloc(gsl_root_fsolver_brent);
    if (solver == NULL)
        return TL_ERR_MEMORY;
    int code =
        gsl_root_fsolver_set(solver, &function, fmin(inner_s, outer_s), fmax(inner_s, outer_s));
    for (int i = 0; i < STEPS_MAX && code == GSL_SUCCESS; i++) {
        code = gsl_root_fsolver_iterate(solver);
        if (gsl_root_test_interval(gsl_root_fsolver_x_lower(solver),
                                   gsl_root_fsolver_x_upper(solver), root_tolerance_s,
                                   0.0) == GSL_SUCCESS)
            break;
    }
    *t_utc_s = c->from_s + gsl_root_fsolver_root(solver);
    gsl_root_fsolver_free(solver);
    return TL_OK;
}

/*
 * One sigma of the time at which the gap is `level_sr`: how far the time goes when the gap is off
 * by one sigma either way, rms. Over the rate of the gap where that is steady; near the minimum,
 * where it is not, as far as the time really goes.
 */
static tl_status time_sigma(course *c, double level_sr, double sigma_sr, bool rising,
                            double t_utc_s, double *sigma_s) {
    double sum = 0.0;
    for (int side = -1; side <= 1; side += 2) {
        bool reached;
        double t_s;
        const tl_status status = find_level(c, level_sr + side * sigma_sr, rising, &reached, &t_s);
        if (status != TL_OK)
            return status;
        sum += (t_s - t_utc_s) * (t_s - t_utc_s) / 2.0;
    }
    *sigma_s = sqrt(sum);
    return TL_OK;
}

/* The limb on the spot's first or last point (`reaches` +1, -1) or centre (0): its time, 0 if it
 * never is there, and the time's error. */
static tl_status touch(course *c, double reaches, bool rising, double *t_utc_s, double *sigma_s) {
    bool reached;
    double t_s;
    c->reaches = reaches;
    tl_status status = find_level(c, 0.0, rising, &reached, &t_s);
    if (status != TL_OK || !reached)
        return status;
    moment now;
    if (!look(c, t_s, &now) || !now.seen)
        return TL_OK;
    const double radius_sr = c->spot->radius_sr;
    const double size = radius_sr > 0.0 ? c->spot->radius_sigma_sr / radius_sr : 0.0;
    const double edge_sr = fabs(reaches) * now.reach_sr * hypot(size, TL_SPOT_RAGGED);
    status = time_sigma(c, 0.0, hypot(gap_sigma(c, &now), edge_sr), rising, t_s, sigma_s);
    if (status != TL_OK)
        return status;
    /* A circle drawn on the limb stands out beyond it, where there is no spot. */
    *t_utc_s = fmin(fmax(t_s, c->start_s), c->end_s);
    return TL_OK;
}

static tl_status find_passage(course *c, bool rising, tl_spot_passage *passage) {
    tl_spot_passage p = *passage;
    p.occurs = p.whole = p.sun_up = false;
    p.sigma_s = p.touch_sigma_s = p.floor_s = 0.0;
    double sigma_s[TL_SPOT_TOUCHES] = {0.0};
    for (int i = 0; i < TL_SPOT_TOUCHES; i++) {
        /* +1, 0, -1 as the gap falls */
        const double reaches = rising ? i - TL_SPOT_CENTRE : TL_SPOT_CENTRE - i;
        p.t_utc_s[i] = 0.0;
        const tl_status status = touch(c, reaches, rising, &p.t_utc_s[i], &sigma_s[i]);
        if (status != TL_OK)
            return status;
    }
    p.occurs = p.t_utc_s[TL_SPOT_CENTRE] != 0.0;
    p.whole = p.occurs && p.t_utc_s[TL_SPOT_FIRST] != 0.0 && p.t_utc_s[TL_SPOT_LAST] != 0.0;
    p.sigma_s = sigma_s[TL_SPOT_CENTRE];
    c->reaches = 0.0;
    if (p.occurs) {
        const tl_status status =
            time_sigma(c, 0.0, TL_SPOT_RELIEF_SR, rising, p.t_utc_s[TL_SPOT_CENTRE], &p.floor_s);
        if (status != TL_OK)
            return status;
    }
    p.touch_sigma_s = fmax(sigma_s[TL_SPOT_FIRST], sigma_s[TL_SPOT_LAST]);
    const double seen_s =
        p.occurs ? p.t_utc_s[TL_SPOT_CENTRE] : p.t_utc_s[TL_SPOT_FIRST] + p.t_utc_s[TL_SPOT_LAST];
    moment now;
    if (seen_s != 0.0 && look(c, seen_s, &now))
        p.sun_up = now.sky.sun_altitude_rad + now.sky.sun_radius_rad + TL_SKY_RISE_REFRACTION > 0.0;
    *passage = p;
    return TL_OK;
}

static tl_status cover(course *c, tl_spot *spot) {
    tl_status status = find_lowest(c);
    if (status != TL_OK)
        return status;
    moment lowest;
    if (!look(c, c->lowest_s, &lowest))
        return TL_ERR_RANGE;
    tl_spot_passage covered = spot->covered, uncovered = spot->uncovered;
    status = find_passage(c, false, &covered);
    if (status == TL_OK)
        status = find_passage(c, true, &uncovered);
    if (status != TL_OK)
        return status;
    const double clearance_sigma_sr = gap_sigma(c, &lowest);
    spot->has_passages = true;
    spot->touched = covered.t_utc_s[TL_SPOT_FIRST] != 0.0 || uncovered.t_utc_s[TL_SPOT_LAST] != 0.0;
    spot->clearance_sr = lowest.gap_sr;
    spot->clearance_sigma_sr = clearance_sigma_sr;
    spot->unsure = lowest.seen && fabs(lowest.gap_sr) < unsure_sigmas * clearance_sigma_sr;
    spot->covered = covered;
    spot->uncovered = uncovered;
    return TL_OK;
}

tl_status tl_spot_cover(const tl_site *site, const tl_sky_options *options,
                        const tl_circumstances *circumstances, tl_spot *spot) {
    tl_base_quiet_libraries();
    const double start_s = circumstances->contact[TL_C1].t_utc_s;
    const double end_s = circumstances->contact[TL_C4].t_utc_s;
    tl_sky_table *table = NULL;
    /* A second more on both sides, for the rounding of the span's ends. */
    const tl_status made =
        tl_sky_table_make(site, start_s - margin_s - 1.0, end_s + margin_s + 1.0, options, &table);
    if (made != TL_OK)
        return made;
    tl_sky sky = {0}; /* for the Sun's size alone */
    tl_sky_table_at(table, start_s, &sky);
    const double mu = tl_spot_foreshortening(&sky, hypot(spot->east_sr, spot->north_sr));
    course c = {.spot = spot,
                .table = table,
                .round_sr = spot->radius_sr / sqrt(fmax(mu, flattest)),
                .from_s = start_s - margin_s,
                .to_s = end_s + margin_s,
                .start_s = start_s,
                .end_s = end_s};
    const tl_status status = cover(&c, spot);
    tl_sky_table_free(table);
    return status;
}
