/*
 * twolimb/sky.h - stage 3: where Sun and Moon are for an observer.
 *
 * Airless places of the true equator and equinox of date, topocentric, light
 * time and aberration included for both bodies.
 *
 * Moon: ELP/MPP02 (Chapront & Francou 2003) in its fit to DE405, mean
 * longitude trimmed to DE431 (0.02 arcsec); Sun: VSOP2000 as
 * in ERFA's eraEpv00; Earth: IAU 2006/2000A, UT1 from a table up to 2026 and
 * Delta-T held after it; polar motion left out. Against JPL's DE431, 1950-2100: Moon within
 * 0.03 arcsec and 0.6 km, Sun within 0.015 arcsec, contacts within 0.2 s except where
 * the Moon only grazes the Sun. Limbs are smooth circles around the centres of
 * mass: the real lunar limb moves a contact by up to some seconds.
 */
#ifndef TWOLIMB_SKY_H
#define TWOLIMB_SKY_H

#include "twolimb/base.h"

/* Choices that move a contact by a second or two; start from tl_sky_options_default. */
typedef struct tl_sky_options {
    double sun_radius_arcsec; /* at 1 au: 959.63 (Auwers 1891) */
    double moon_k;            /* Moon's radius in Earth's equatorial radii: 0.2725076 (IAU 1982) */
    bool deltat_given;        /* use deltat_s for TT - UT1 instead of the tables */
    double deltat_s;
    double pressure_hpa;  /* 1013.25; 0 switches refraction off */
    double temperature_c; /* 10 */
} tl_sky_options;
tl_sky_options tl_sky_options_default(void);

/* Sun and Moon at one instant for one observer. */
typedef struct tl_sky {
    double t_utc_s;
    double sun_ra_rad, sun_dec_rad, sun_distance_au, sun_radius_rad; /* topocentric, airless */
    double moon_ra_rad, moon_dec_rad, moon_distance_km, moon_radius_rad;
    double east_sr, north_sr; /* Moon's centre from the Sun's centre: separation times sin, cos
                                 of pa, in (airless) solar radii */
    double separation_rad, separation_sr;
    double pa_rad;                            /* PA of the Moon's centre from the Sun's, 0..2pi */
    double ratio;                             /* Moon/Sun radius */
    double magnitude, obscuration;            /* 0 when the discs do not touch */
    double sun_altitude_rad, sun_azimuth_rad; /* airless; azimuth from north through east */
    double refraction_rad;        /* lift of the Sun's centre; altitude seen = airless + this */
    double flattening;            /* vertical over horizontal diameter of the refracted Sun, <= 1 */
    double parallactic_rad;       /* PA of the zenith at the Sun's centre, -pi..pi; meaningless with
                                     the Sun in the zenith */
    double p_rad, b0_rad, l0_rad; /* PA of the Sun's north pole; heliographic latitude and
                                     Carrington longitude of the disc's centre */
    double deltat_s;              /* TT - UT1 used */
} tl_sky;

/* TL_ERR_RANGE outside 1950-2100 or for an impossible site; `options` NULL: default. Some 0.3 ms.
 */
tl_status tl_sky_at(const tl_site *site, double t_utc_s, const tl_sky_options *options,
                    tl_sky *sky);

/* The same from the centre of the Earth: what depends on a horizon (altitude, azimuth, refraction,
 * parallactic angle) is 0, the flattening 1. TL_ERR_RANGE outside 1950-2100. */
tl_status tl_sky_at_geocentre(double t_utc_s, const tl_sky_options *options, tl_sky *sky);

/* The same, tabulated over a span and interpolated: error below 0.001 arcsec (1e-6 measured); for
 * fits that ask thousands of times. All fields included. Making it costs 1.5 ms and 0.25 ms for
 * every 2 hours of the span, asking it some 2 microseconds. TL_ERR_RANGE as above; TL_ERR_ARGUMENT
 * if the span ends before it starts; TL_ERR_MEMORY. */
typedef struct tl_sky_table tl_sky_table;
tl_status tl_sky_table_make(const tl_site *site, double t_from_utc_s, double t_to_utc_s,
                            const tl_sky_options *options, tl_sky_table **table);
/* TL_ERR_RANGE outside the span. */
tl_status tl_sky_table_at(const tl_sky_table *table, double t_utc_s, tl_sky *sky);
/* The same for any other place, in the same time: what is tabulated belongs to none. TL_ERR_RANGE
 * also for an impossible site. */
tl_status tl_sky_table_at_site(const tl_sky_table *table, const tl_site *site, double t_utc_s,
                               tl_sky *sky);
void tl_sky_table_free(tl_sky_table *table);

enum { TL_C1, TL_C2, TL_MAX, TL_C3, TL_C4, TL_CONTACTS };
extern const char *const tl_contact_name[TL_CONTACTS]; /* "C1" "C2" "max" "C3" "C4" */

typedef enum tl_eclipse_kind {
    TL_ECLIPSE_NONE,
    TL_ECLIPSE_PARTIAL,
    TL_ECLIPSE_ANNULAR,
    TL_ECLIPSE_TOTAL
} tl_eclipse_kind;
extern const char *const tl_eclipse_kind_name[4]; /* "none" "partial" "annular" "total" */

typedef struct tl_contact {
    bool occurs; /* geometrically; see sun_up for whether it can be seen */
    bool sun_up; /* the Sun's upper limb above a sea horizon, refraction included */
    double t_utc_s;
    double altitude_rad; /* of the Sun's centre, airless */
    double azimuth_rad;
    double pa_rad;     /* of the contact point (C1, C2, C3, C4) or, at maximum, of the Moon */
    double vertex_rad; /* the same point, from the zenith: pa - parallactic angle, 0..2pi */
    double sigma_s;    /* of t_utc_s, from deltat_sigma_s alone */
} tl_contact;

/*
 * Local circumstances of one eclipse, as the almanacs define them. The maximum is
 * the smallest separation of the centres, as pictures show it; magnitude,
 * obscuration and ratio are those of that instant. (The ratio changes as Earth turns: in a
 * slim partial eclipse the greatest magnitude falls up to 8 s beside it and is
 * 1e-6 larger; the least distance from the shadow axis, which Besselian
 * elements give, up to 16 s.) `kind` and contacts are geometry, also with the Sun down.
 */
typedef struct tl_circumstances {
    tl_eclipse_kind kind;
    tl_contact contact[TL_CONTACTS];
    double magnitude, obscuration, ratio; /* at maximum */
    bool has_sunrise, has_sunset;         /* the Sun rises / sets between C1 and C4 */
    double sunrise_utc_s, sunset_utc_s;   /* upper limb, refraction 34 arcmin */
    double deltat_s;                      /* TT - UT1 used */
    double deltat_sigma_s; /* how well it is known: 0.1 s before mid 1955, some 0.02 s to 1972,
                              0.002 s to 2023, 0.04 s to 2026, then growing (Huber 2006): 1.6 s in
                              10 years, 34 s in 75; 0 when it is given */
} tl_circumstances;

/*
 * The eclipse whose maximum lies within 36 h of noon of the day that starts at
 * `day_utc_s` (0 h; so a local day anywhere finds its eclipse). TL_ERR_NO_ECLIPSE
 * when the Moon misses the Sun at that place. An eclipse below the horizon is
 * found all the same: see sun_up. TL_ERR_RANGE outside 1950-2100 or for an
 * impossible site; TL_ERR_MEMORY; TL_ERR_NO_FIT should a contact not settle.
 */
tl_status tl_sky_circumstances(const tl_site *site, double day_utc_s, const tl_sky_options *options,
                               tl_circumstances *circumstances);

/* Whether any of it happens with the Sun up. */
bool tl_sky_eclipse_seen(const tl_circumstances *eclipse);

/* The day (0 h UTC of its maximum) nearest to `day_utc_s`, that one excluded, on which an
 * eclipse can be SEEN from that place, looking at most 20 years either way. TL_ERR_NO_ECLIPSE if
 * there is none; other failures as above. */
tl_status tl_sky_nearest_eclipse(const tl_site *site, double day_utc_s,
                                 const tl_sky_options *options, double *found_day_utc_s);

/* The first eclipse that can be SEEN from that place (not all of it with the Sun down) and has its
 * maximum after `t_utc_s`. TL_ERR_NO_ECLIPSE if there is none up to 2100; other failures as above.
 * Some 10 ms for every year searched. */
tl_status tl_sky_next_eclipse(const tl_site *site, double t_utc_s, const tl_sky_options *options,
                              tl_circumstances *circumstances);

#endif
