/*
 * What the files of the sky stage share. Vectors are in the frame of the true
 * equator and equinox of date unless a name says otherwise.
 */
#ifndef TL_SKY_INTERNAL_H
#define TL_SKY_INTERNAL_H

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

/* Geocentric Moon, geometric, ICRS axes, km. */
void tl_sky_moon_geocentric(double tt_s, double icrs_km[3]);

/* What is tabulated: all that the fields of tl_sky are derived from. */
enum {
    TL_SKY_SUN_X, /* unit vector to the Sun: topocentric, light time and aberration in */
    TL_SKY_SUN_Y,
    TL_SKY_SUN_Z,
    TL_SKY_SUN_AU, /* its distance, au */
    TL_SKY_MOON_X, /* the same for the Moon */
    TL_SKY_MOON_Y,
    TL_SKY_MOON_Z,
    TL_SKY_MOON_KM,
    TL_SKY_POLE_X, /* unit vector to the north pole of the Sun */
    TL_SKY_POLE_Y,
    TL_SKY_POLE_Z,
    TL_SKY_NODE_X, /* unit vector to the node of its equator from which W is counted */
    TL_SKY_NODE_Y,
    TL_SKY_NODE_Z,
    TL_SKY_SIDEREAL, /* Greenwich apparent sidereal time, rad; unwrapped in a table */
    TL_SKY_DELTAT,   /* TT - UT1, s */
    TL_SKY_STATE
};

/* Fill the state for one TT. The site has been checked. */
void tl_sky_state_at(const tl_site *site, double tt_s, const tl_sky_options *options,
                     double state[TL_SKY_STATE]);

/* Everything in tl_sky from the state. */
void tl_sky_derive(const tl_site *site, double t_utc_s, double tt_s, const tl_sky_options *options,
                   const double state[TL_SKY_STATE], tl_sky *sky);

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
 * New moons by number: the one nearest to an instant, the mean time of one
 * (within 15 h of the true one), and whether it is near enough to a node for an
 * eclipse somewhere on Earth.
 */
long tl_sky_lunation(double t_utc_s);
double tl_sky_mean_new_moon(long lunation);
bool tl_sky_near_node(long lunation);

/* The sky at the smallest separation around that new moon, to some seconds. */
tl_status tl_sky_closest_approach(const tl_site *site, long lunation, const tl_sky_options *options,
                                  tl_sky *closest);

/* Whether that separation, which is not quite the smallest, leaves an eclipse possible. */
bool tl_sky_discs_may_touch(const tl_sky *closest);

/*
 * Where `value` of the tabulated sky changes sign, and where it is smallest.
 * The root must be bracketed; `guess_s` must be lower than both ends.
 * TL_ERR_MEMORY, TL_ERR_NO_FIT. GSL's handler must be off.
 */
tl_status tl_sky_root(const tl_sky_table *table, double (*value)(const tl_sky *), double from_s,
                      double to_s, double *t_utc_s);
tl_status tl_sky_minimum(const tl_sky_table *table, double (*value)(const tl_sky *), double from_s,
                         double guess_s, double to_s, double *t_utc_s);

/* Circumstances of the eclipse with its closest approach near that instant. */
tl_status tl_sky_circumstances_around(const tl_site *site, double closest_utc_s,
                                      const tl_sky_options *options,
                                      tl_circumstances *circumstances);

/* Whether site and options can be computed with. */
bool tl_sky_site_valid(const tl_site *site);

#endif
