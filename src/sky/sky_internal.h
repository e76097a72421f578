/*
 * What the files of the sky stage share. Vectors are in the frame of the true
 * equator and equinox of date unless a name says otherwise.
 */
#ifndef TL_SKY_INTERNAL_H
#define TL_SKY_INTERNAL_H

#include "base/base_internal.h"
#include "twolimb/sky.h"

/* Julian date of 1970-01-01 0 h, where t_utc_s and tt_s start to count. */
#define TL_SKY_JD_1970 2440587.5
#define TL_SKY_AU_KM 149597870.7                      /* IAU 2012 resolution B2 */
#define TL_SKY_LIGHT_KM_S 299792.458                  /* exact, SI */
#define TL_SKY_EARTH_RADIUS_KM 6378.137               /* WGS84 and IERS Conventions 2010 */
#define TL_SKY_RISE_REFRACTION (34.0 / 60.0 * TL_DEG) /* at the horizon, as almanacs use it */

/* ---- coefficient tables (generated, see tables/make_tables) ---- */

enum { TL_SKY_ELP_PHASE = 5, TL_SKY_ELP_POWERS = 4 };
typedef struct tl_sky_elp_term {
    double amplitude;
    double phase[TL_SKY_ELP_PHASE]; /* radians, polynomial in T */
} tl_sky_elp_term;
typedef struct tl_sky_elp_series {
    const tl_sky_elp_term *term;
    size_t count;
} tl_sky_elp_series;
extern const double tl_sky_elp_w1[TL_SKY_ELP_PHASE];
extern const tl_sky_elp_series tl_sky_elp_longitude[TL_SKY_ELP_POWERS]; /* arcsec */
extern const tl_sky_elp_series tl_sky_elp_latitude[TL_SKY_ELP_POWERS];  /* arcsec */
extern const tl_sky_elp_series tl_sky_elp_distance[TL_SKY_ELP_POWERS];  /* km */

typedef struct tl_sky_deltat_row {
    int mjd;
    double deltat_s;
} tl_sky_deltat_row;
extern const tl_sky_deltat_row tl_sky_deltat_table[];
extern const size_t tl_sky_deltat_count;

/* ---- steps, in the order in which they run ---- */

/*
 * UTC (POSIX seconds) to TT, counted as seconds of 86400 a day from the same
 * 1970-01-01 0 h. TL_ERR_RANGE outside 1950-01-01 .. 2101-01-01.
 */
tl_status tl_sky_tt(double t_utc_s, double *tt_s);

/* TT - UT1 in seconds: interpolated in the table, flat after its end. */
double tl_sky_deltat(double tt_s);

/* One sigma of that, s. */
double tl_sky_deltat_sigma(double tt_s);

/* Geocentric Moon, geometric, ICRS axes: km, and km/s good to 1e-5 of its speed. */
void tl_sky_moon_geocentric(double tt_s, double icrs_km[3], double icrs_km_s[3]);

/* What does not depend on the observer, ICRS axes; also as bare numbers, to interpolate them. */
enum { TL_SKY_GEOCENTRIC = 25 };
typedef union tl_sky_geocentric {
    struct {
        double moon_km[3], moon_km_s[3];       /* geocentric, geometric */
        double earth_au[3];                    /* heliocentric */
        double earth_au_day[3], sun_au_day[3]; /* barycentric velocities */
        double icrs_to_date[3][3];
        double origins_rad; /* Earth rotation angle less Greenwich apparent sidereal time */
    };
    double number[TL_SKY_GEOCENTRIC];
} tl_sky_geocentric;
void tl_sky_geocentric_at(double tt_s, tl_sky_geocentric *now);

/* The observer from the geocentre, ICRS axes. */
typedef struct tl_sky_observer {
    double au[3], au_day[3];
} tl_sky_observer;
void tl_sky_observer_at(const tl_site *site, double sidereal_rad, const double icrs_to_date[3][3],
                        tl_sky_observer *observer);

/* What the fields of tl_sky are derived from. */
typedef struct tl_sky_places {
    double sun[3], moon[3]; /* unit vectors: light time and aberration in */
    double sun_au, moon_km; /* distances */
    double sun_pole[3];     /* unit vector to the north pole of the Sun */
    double sun_node[3];     /* the same to the node of its equator from which W is counted */
    double sidereal_rad;    /* Greenwich apparent sidereal time, not reduced */
    double deltat_s;        /* TT - UT1 */
} tl_sky_places;

/* Fill the places of Sun and Moon for an observer; an observer of zeros is the geocentre. */
void tl_sky_apparent(const tl_sky_geocentric *now, const tl_sky_observer *observer,
                     tl_sky_places *places);

/* All of the places for one TT. The site has been checked. */
void tl_sky_topocentric(const tl_site *site, double tt_s, double deltat_s,
                        const tl_sky_geocentric *now, tl_sky_places *places);

/* The same for an observer at the Earth's centre. */
void tl_sky_from_centre(double tt_s, double deltat_s, const tl_sky_geocentric *now,
                        tl_sky_places *places);

/* Everything in tl_sky from the places; `site` NULL: seen from the Earth's centre. */
void tl_sky_derive(const tl_site *site, double t_utc_s, double tt_s, const tl_sky_options *options,
                   const tl_sky_places *places, tl_sky *sky);

/* tl_sky_table_at with so much added to TT - UT1. */
tl_status tl_sky_table_turned(const tl_sky_table *table, double t_utc_s, double more_deltat_s,
                              tl_sky *sky);

/*
 * Lift by refraction of a ray whose airless altitude is given, rad; 0 for
 * pressure 0. See refraction.c for formula and range.
 */
double tl_sky_refraction(double altitude_rad, const tl_sky_options *options);

/* The Sun's north pole and the node of its equator on that of the ICRS: ICRS axes. */
void tl_sky_sun_axes(double pole[3], double node[3]);

/*
 * P, B0 and L0, rad, of the Sun seen in direction `sun`, from its axes; unit
 * vectors in one frame, whose pole and east `p` is counted from.
 */
void tl_sky_sun_disc(const double sun[3], const double pole[3], const double node[3], double tt_s,
                     double distance_au, double *p, double *b0, double *l0);

double tl_sky_dot(const double a[3], const double b[3]);

/* Unit vectors east and north on the sky at the unit vector `at`, which must not be a pole. */
void tl_sky_axes(const double at[3], double east[3], double north[3]);

/*
 * New moons by number: the one nearest to an instant (by the mean month, so within
 * 15 h), its time (within 15 min for 1950-2100), and whether it is near enough to a
 * node for an eclipse somewhere on Earth.
 */
long tl_sky_lunation(double t_utc_s);
double tl_sky_new_moon(long lunation);
bool tl_sky_near_node(long lunation);

/*
 * Where `value` of the tabulated sky changes sign, and where it is smallest.
 * The root must be bracketed; `guess_s` must be lower than both ends.
 * TL_ERR_MEMORY, TL_ERR_NO_FIT. GSL's handler must be off.
 */
tl_status tl_sky_root(const tl_sky_table *table, double (*value)(const tl_sky *), double from_s,
                      double to_s, double *t_utc_s);
tl_status tl_sky_minimum(const tl_sky_table *table, double (*value)(const tl_sky *), double from_s,
                         double guess_s, double to_s, double *t_utc_s);

/*
 * What an error of one sigma in TT - UT1 leaves open of the UTC at which `value` has
 * its root or, with `minimum`, its smallest value: s. Counted in TT the contact
 * slips by a part of the error; the larger of that part and of what is left of one
 * is taken, since UTC keeps to TT between leap seconds and follows UT1 over them.
 * `t_utc_s` must be a minute and more within the span of the table.
 */
double tl_sky_contact_sigma(const tl_sky_table *table, double (*value)(const tl_sky *),
                            bool minimum, double t_utc_s, double deltat_sigma_s);

/*
 * Circumstances of the eclipse at that new moon; with `only_seen` only if any of it
 * happens with the Sun up. TL_ERR_NO_ECLIPSE if not, TL_ERR_RANGE if it lies
 * outside the years.
 */
tl_status tl_sky_circumstances_of(const tl_site *site, long lunation, const tl_sky_options *options,
                                  bool only_seen, tl_circumstances *circumstances);

/* Whether site and options can be computed with. */
bool tl_sky_site_valid(const tl_site *site);

#endif
