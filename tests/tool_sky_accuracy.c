/*
 * make accuracy, sky: our Sun and Moon, and our contacts, against the JPL ephemeris
 * DE431 as packed in the Swiss Ephemeris files of Debian's swe-basic-data, read
 * through libswe-dev; and our Moon against DE405 as Debian packs it for casacore
 * (casacore-data-jpl-de405). The Makefile builds this only where libswe is.
 *
 *   tool_sky_accuracy                 measure and print; exit status 1 beyond the limits
 *   tool_sky_accuracy places 200      print fixtures/reference/de431_places.csv
 *   tool_sky_accuracy contacts 120    print fixtures/reference/de431_contacts.csv
 *   tool_sky_accuracy chosen 0        print fixtures/reference/de431_chosen.csv
 *
 * All that turns positions into contact times is written here a second time; the
 * true equator of date and the nutation are libswe's.
 */
#define _XOPEN_SOURCE 700 /* drand48 */

#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <swephexp.h>

#include "sky/sky_internal.h"

static const double au_km = 149597870.7;
static const double first_jd = 2433282.5, last_jd = 2488434.5; /* 1950 to 2101 */
static const double sun_radius_arcsec = 959.63, moon_k = 0.2725076, earth_km = 6378.137;
static const double deltat_s = 65.0; /* the same on both sides: it is not what is compared */

enum { PLACES = 2000, CONTACTS = 1000 };

/* What is to be reached. */
static const double limit_arcsec = 0.06, limit_s = 0.2, limit_grazing_s = 2.0;
static const double grazing_magnitude = 0.02;

static const int equatorial_xyz = SEFLG_EQUATORIAL | SEFLG_XYZ;

static void fail(const char *message) {
    fprintf(stderr, "%s\n", message);
    exit(1);
}

static double length(const double v[3]) {
    return sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);
}

/* The angle between two directions, arcsec. */
static double angle_arcsec(const double a[3], const double b[3]) {
    const double c[3] = {a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2],
                         a[0] * b[1] - a[1] * b[0]};
    return atan2(length(c), a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) / TL_ARCSEC;
}

static void calc(double jd_tt, int body, int flags, double x[6]) {
    char message[AS_MAXCH];
    int used = swe_calc(jd_tt, body, SEFLG_SWIEPH | flags, x, message);
    if (used < 0 || !(used & SEFLG_SWIEPH)) /* without its files it falls back to a series */
        fail("The files of swe-basic-data are not there.");
}

/* ---- places ---- */

typedef struct places {
    double jd_tt;
    double moon[6], sun[6]; /* geometric, geocentric, ICRS axes; au */
} places;

static places random_places(void) {
    const int flags = SEFLG_TRUEPOS | SEFLG_ICRS | SEFLG_J2000 | SEFLG_NONUT | equatorial_xyz;
    places at;
    /* Halves and quarters of days are exact in a double. */
    at.jd_tt = floor((first_jd + drand48() * (last_jd - 1.0 - first_jd)) * 4.0) / 4.0;
    calc(at.jd_tt, SE_MOON, flags, at.moon);
    calc(at.jd_tt, SE_SUN, flags, at.sun);
    return at;
}

static void print_places(int count) {
    puts("jd_tt,moon_x_km,moon_y_km,moon_z_km,sun_x_au,sun_y_au,sun_z_au");
    for (int i = 0; i < count; i++) {
        places at = random_places();
        printf("%.2f,%.4f,%.4f,%.4f,%.11f,%.11f,%.11f\n", at.jd_tt, at.moon[0] * au_km,
               at.moon[1] * au_km, at.moon[2] * au_km, at.sun[0], at.sun[1], at.sun[2]);
    }
}

/* Errors gathered: worst, and sum of squares. */
typedef struct tally {
    int count, beyond;
    double worst, squares;
} tally;

static void add(tally *t, double error, double limit) {
    t->count++;
    t->beyond += !(fabs(error) <= limit);
    t->worst = fmax(t->worst, fabs(error));
    t->squares += error * error;
}

/* One row of the table; returns whether all lay within the limit. */
static bool print_tally(const char *what, const char *unit, const tally *t, double limit) {
    printf("  %-44s %5d  worst %8.4f  rms %8.4f %-6s", what, t->count, t->worst,
           t->count > 0 ? sqrt(t->squares / t->count) : 0.0, unit);
    if (isfinite(limit))
        printf("  limit %.2f: %s", limit, t->beyond == 0 ? "kept" : "BROKEN");
    putchar('\n');
    return t->beyond == 0;
}

static void our_places(double jd_tt, double moon_km[3], double sun_au[3]) {
    tl_sky_geocentric now;
    tl_sky_geocentric_at((jd_tt - TL_SKY_JD_1970) * TL_DAY_S, &now);
    for (int i = 0; i < 3; i++) {
        moon_km[i] = now.moon_km[i];
        sun_au[i] = -now.earth_au[i];
    }
}

static bool measure_places(void) {
    tally moon = {0}, moon_km = {0}, sun = {0}, sun_km = {0};
    for (int i = 0; i < PLACES; i++) {
        places at = random_places();
        double m[3], s[3];
        our_places(at.jd_tt, m, s);
        add(&moon, angle_arcsec(m, at.moon), limit_arcsec);
        add(&moon_km, length(m) - length(at.moon) * au_km, INFINITY);
        add(&sun, angle_arcsec(s, at.sun), limit_arcsec);
        add(&sun_km, (length(s) - length(at.sun)) * au_km, INFINITY);
    }
    puts("Geocentric places at random instants 1950-2100, against DE431:");
    bool kept = print_tally("Moon, direction", "arcsec", &moon, limit_arcsec);
    print_tally("Moon, distance", "km", &moon_km, INFINITY);
    kept = print_tally("Sun, direction", "arcsec", &sun, limit_arcsec) && kept;
    print_tally("Sun, distance", "km", &sun_km, INFINITY);
    return kept;
}

/* ---- contacts, reduced a second time ---- */

typedef struct place {
    double lat, lon, height_km; /* radians */
} place;

/*
 * Greenwich apparent sidereal time, radians: N. Capitaine et al., A&A 412, 567
 * (2003), with libswe's nutation; its own function changes model in 2050.
 */
static double sidereal(double jd_tt) {
    double days = jd_tt - deltat_s / 86400.0 - 2451545.0;
    double t = (jd_tt - 2451545.0) / 36525.0;
    double turns = 0.7790572732640 + 0.00273781191135448 * days + fmod(days, 1.0);
    double arcsec = 0.014506 + t * (4612.156534 + t * (1.3915817 - t * 0.00000044));
    double nutation[6];
    calc(jd_tt, SE_ECL_NUT, 0, nutation);
    return 2.0 * TL_PI * turns +
           (arcsec / 3600.0 + nutation[2] * cos(nutation[0] * TL_DEG)) * TL_DEG;
}

/* The observer from the geocentre, true equator and equinox of date: au and au a day. */
static void observer(double jd_tt, const place *at, double position[3], double velocity[3]) {
    const double flattening = 1.0 / 298.257223563; /* WGS84 */
    const double turn_per_day = 2.0 * TL_PI * 1.00273781191135448;
    double e2 = flattening * (2.0 - flattening);
    double n = earth_km / sqrt(1.0 - e2 * sin(at->lat) * sin(at->lat));
    double across = (n + at->height_km) * cos(at->lat) / au_km;
    double angle = sidereal(jd_tt) + at->lon;
    position[0] = across * cos(angle);
    position[1] = across * sin(angle);
    position[2] = (n * (1.0 - e2) + at->height_km) * sin(at->lat) / au_km;
    velocity[0] = -turn_per_day * position[1];
    velocity[1] = turn_per_day * position[0];
    velocity[2] = 0.0;
}

/*
 * Apparent topocentric unit vector and distance, au: the body when the light left
 * it, Earth's barycentric motion in between taken out, then first-order
 * aberration. libswe's own topocentric Moon is not used: it is off by 0.1 arcsec
 * against JPL Horizons.
 */
static double apparent(double jd_tt, int body, const double earth_velocity[3],
                       const double observer_position[3], const double observer_velocity[3],
                       double unit[3]) {
    double light = 0.0, distance = 0.0;
    for (int pass = 0; pass < 4; pass++) {
        double x[6];
        calc(jd_tt - light, body, SEFLG_TRUEPOS | equatorial_xyz, x);
        for (int i = 0; i < 3; i++)
            unit[i] = x[i] - earth_velocity[i] * light - observer_position[i];
        distance = length(unit);
        light = distance * au_km / 299792.458 / 86400.0;
    }
    for (int i = 0; i < 3; i++)
        unit[i] = unit[i] / distance +
                  (earth_velocity[i] + observer_velocity[i]) * au_km / 299792.458 / 86400.0;
    double now = length(unit);
    for (int i = 0; i < 3; i++)
        unit[i] /= now;
    return distance;
}

/* Separation of the centres, sum of the radii, and ratio of the radii. */
static double separation(double jd_tt, const place *at, double *radii, double *ratio) {
    double earth[6], position[3], velocity[3], s[3], m[3];
    calc(jd_tt, SE_EARTH, SEFLG_BARYCTR | SEFLG_TRUEPOS | SEFLG_SPEED | equatorial_xyz, earth);
    observer(jd_tt, at, position, velocity);
    double ds = apparent(jd_tt, SE_SUN, earth + 3, position, velocity, s);
    double dm = apparent(jd_tt, SE_MOON, earth + 3, position, velocity, m);
    double rs = asin(sin(sun_radius_arcsec * TL_ARCSEC) / ds);
    double rm = asin(moon_k * earth_km / au_km / dm);
    *radii = rs + rm;
    *ratio = rm / rs;
    return angle_arcsec(s, m) * TL_ARCSEC;
}

static double gap(double jd_tt, const place *at) {
    double radii, ratio;
    double s = separation(jd_tt, at, &radii, &ratio);
    return s - radii;
}

/* Negative while one disc lies within the other. */
static double inner_gap(double jd_tt, const place *at) {
    double radii, ratio;
    double s = separation(jd_tt, at, &radii, &ratio);
    return s - radii * fabs(ratio - 1.0) / (ratio + 1.0);
}

static double only_separation(double jd_tt, const place *at) {
    double radii, ratio;
    return separation(jd_tt, at, &radii, &ratio);
}

/* Smallest separation by golden section, to 1e-8 day. */
static double closest(double low, double high, const place *at) {
    const double part = 0.6180339887498949;
    while (high - low > 1e-8) {
        double a = high - part * (high - low), b = low + part * (high - low);
        if (only_separation(a, at) < only_separation(b, at))
            high = b;
        else
            low = a;
    }
    return (low + high) / 2;
}

static double contact(double (*value)(double, const place *), double inside, double outside,
                      const place *at) {
    for (int i = 0; i < 50; i++) {
        double middle = (inside + outside) / 2;
        if (value(middle, at) < 0)
            inside = middle;
        else
            outside = middle;
    }
    return inside;
}

/* An observer and an eclipse. */
typedef struct observed {
    double lat_deg, lon_deg, height_m, day_jd; /* TT, 0 h */
    double c1_s, c2_s, max_s, c3_s, c4_s;      /* TT seconds of that day; NaN: no such contact */
    double smallest_arcsec, ratio;
} observed;

/* Fill the rest for the eclipse within 18 h of an instant; false if there is none. */
static bool observe(double about_jd, observed *o) {
    const place at = {o->lat_deg * TL_DEG, o->lon_deg * TL_DEG, o->height_m / 1000};
    double best = about_jd, least = 9;
    for (double jd = about_jd - 0.75; jd < about_jd + 0.75; jd += 1.0 / 16) {
        double s = only_separation(jd, &at);
        if (s < least) {
            least = s;
            best = jd;
        }
    }
    if (least > 2 * TL_DEG)
        return false;
    double max = closest(best - 1.0 / 12, best + 1.0 / 12, &at);
    if (gap(max, &at) > 0)
        return false;
    double radii;
    o->smallest_arcsec = separation(max, &at, &radii, &o->ratio) / TL_ARCSEC;
    o->day_jd = floor(max - 0.5) + 0.5;
    o->c1_s = (contact(gap, max, max - 0.125, &at) - o->day_jd) * 86400.0;
    o->max_s = (max - o->day_jd) * 86400.0;
    o->c4_s = (contact(gap, max, max + 0.125, &at) - o->day_jd) * 86400.0;
    bool central = inner_gap(max, &at) < 0;
    o->c2_s = central ? (contact(inner_gap, max, max - 0.02, &at) - o->day_jd) * 86400.0 : NAN;
    o->c3_s = central ? (contact(inner_gap, max, max + 0.02, &at) - o->day_jd) * 86400.0 : NAN;
    return true;
}

static observed random_observed(void) {
    for (;;) {
        double new_moon =
            2451550.09766 + 29.530588861 * floor((drand48() * 149.0 - 49.5) * 12.3685);
        observed o;
        o.lat_deg = floor(asin(2 * drand48() - 1) / TL_DEG * 1e4) / 1e4;
        o.lon_deg = floor((drand48() * 360 - 180) * 1e4) / 1e4;
        o.height_m = floor(drand48() * 3000);
        if (observe(new_moon, &o))
            return o;
    }
}

static void print_contacts(int count) {
    puts("lat_deg,lon_deg,height_m,jd_tt_of_0h,C1_tt_s,max_tt_s,C4_tt_s,smallest_arcsec,ratio");
    for (int i = 0; i < count; i++) {
        observed o = random_observed();
        printf("%.4f,%.4f,%.0f,%.1f,%.3f,%.3f,%.3f,%.3f,%.6f\n", o.lat_deg, o.lon_deg, o.height_m,
               o.day_jd, o.c1_s, o.max_s, o.c4_s, o.smallest_arcsec, o.ratio);
    }
}

/* Observers and eclipses that are hard in some way. */
static void print_chosen(void) {
    static const struct {
        double lat_deg, lon_deg, height_m;
        int year, month, day;
        const char *why;
    } row[] = {
        {90, 0, 0, 2021, 6, 10, "north pole"},
        {-90, 0, 2800, 2021, 12, 4, "south pole"},
        {20, 180, 0, 2009, 7, 22, "date line"},
        {20, -180, 0, 2009, 7, 22, "date line"},
        {50, -175, 0, 2012, 5, 20, "midnight UT between C1 and C4"},
        {-29.9, -70.3, 4000, 2019, 7, 2, "4000 m, total"},
        {40, 100, 4000, 2008, 8, 1, "4000 m, low Sun"},
        {60, 8, 0, 1954, 6, 30, "before 1973"},
        {30.7, -83.6, 0, 1970, 3, 7, "before 1973"},
        {38, -98, 500, 2045, 8, 12, "after 2030"},
        {47, 8, 500, 2081, 9, 3, "after 2030"},
        {35, -106.5, 1600, 2023, 10, 14, "annular"},
        {-10.6, -119, 0, 2005, 4, 8, "hybrid, total"},
        {8.5, -80, 0, 2005, 4, 8, "hybrid, annular"},
        {-21.9, 114.1, 0, 2023, 4, 20, "hybrid, total"},
        {-70.6, 131.3, 0, 2014, 4, 29, "non-central annular"},
        {61.3, 152, 0, 2043, 4, 9, "non-central total"},
    };
    puts("lat_deg,lon_deg,height_m,jd_tt_of_0h,C1_tt_s,C2_tt_s,max_tt_s,C3_tt_s,C4_tt_s,why");
    for (size_t i = 0; i < sizeof row / sizeof row[0]; i++) {
        observed o = {
            .lat_deg = row[i].lat_deg, .lon_deg = row[i].lon_deg, .height_m = row[i].height_m};
        if (!observe(swe_julday(row[i].year, row[i].month, row[i].day, 12.0, SE_GREG_CAL), &o))
            fail(row[i].why);
        printf("%.4f,%.4f,%.0f,%.1f,%.3f,%.3f,%.3f,%.3f,%.3f,%s\n", o.lat_deg, o.lon_deg,
               o.height_m, o.day_jd, o.c1_s, o.c2_s, o.max_s, o.c3_s, o.c4_s, row[i].why);
    }
}

/* Ours for the same observer, TT seconds of the same day. */
static tl_circumstances our_contacts(const observed *o) {
    const tl_site site = {TL_SITE_GIVEN, o->lat_deg * TL_DEG, o->lon_deg * TL_DEG, o->height_m};
    tl_sky_options options = tl_sky_options_default();
    options.deltat_given = true;
    options.deltat_s = deltat_s;
    double day_s = (o->day_jd - TL_SKY_JD_1970) * TL_DAY_S;
    tl_circumstances found;
    if (tl_sky_circumstances(&site, day_s, &options, &found) != TL_OK) {
        printf("  missed: %.4f %.4f, JD %.1f\n", o->lat_deg, o->lon_deg, o->day_jd);
        return (tl_circumstances){.kind = TL_ECLIPSE_NONE};
    }
    for (int i = 0; i < TL_CONTACTS; i++) {
        double tt_s = 0.0;
        tl_sky_tt(found.contact[i].t_utc_s, &tt_s);
        found.contact[i].t_utc_s = tt_s - day_s;
    }
    return found;
}

static bool measure_contacts(void) {
    enum { GROUPS = 2 };
    static const char *const name[GROUPS][TL_CONTACTS] = {
        {"C1", "C2", "smallest separation", "C3", "C4"},
        {"C1, magnitude below 0.02", "", "smallest separation, the same", "", "C4, the same"}};
    const double limit[GROUPS] = {limit_s, limit_grazing_s};
    tally t[GROUPS][TL_CONTACTS] = {0};
    int missed = 0;
    for (int i = 0; i < CONTACTS; i++) {
        observed o = random_observed();
        tl_circumstances found = our_contacts(&o);
        const double theirs[TL_CONTACTS] = {o.c1_s, o.c2_s, o.max_s, o.c3_s, o.c4_s};
        int group = found.magnitude < grazing_magnitude;
        for (int k = 0; k < TL_CONTACTS; k++) {
            missed += found.contact[k].occurs != !isnan(theirs[k]);
            if (found.contact[k].occurs && !isnan(theirs[k]))
                add(&t[group][k], found.contact[k].t_utc_s - theirs[k], limit[group]);
        }
    }
    puts("Contacts for random observers and eclipses 1950-2100, against DE431, both with TT - UT1 "
         "65 s:");
    bool kept = missed == 0;
    if (missed > 0)
        printf("  contacts that only one of the two has: %d\n", missed);
    for (int group = 0; group < GROUPS; group++)
        for (int k = 0; k < TL_CONTACTS; k++)
            if (t[group][k].count > 0)
                kept = print_tally(name[group][k], "s", &t[group][k], limit[group]) && kept;
    return kept;
}

/* ---- the search ---- */

/*
 * The eclipses that can be seen from random places, ours against libswe's own search. Its rules for
 * a rising or setting Sun and its Delta-T of the future differ a little: an eclipse that only one
 * of them has is printed.
 */
static bool measure_search(void) {
    enum { SITES = 10, MOST = 200 };
    const double same_s = 4.0 * 3600.0; /* it gives sunrise or sunset for a maximum not seen */
    const double from_s = -6e8, to_s = 4.1e9;
    int both = 0, only_ours = 0, only_theirs = 0;
    swe_set_delta_t_userdef(SE_DELTAT_AUTOMATIC);
    for (int i = 0; i < SITES; i++) {
        double position[3] = {drand48() * 360.0 - 180.0, asin(2 * drand48() - 1) / TL_DEG, 0.0};
        const tl_site site = {TL_SITE_GIVEN, position[1] * TL_DEG, position[0] * TL_DEG, 0.0};
        double ours[MOST], theirs[MOST], t = from_s;
        int our_count = 0, their_count = 0;
        tl_circumstances next;
        while (our_count < MOST && tl_sky_next_eclipse(&site, t, NULL, &next) == TL_OK &&
               next.contact[TL_MAX].t_utc_s < to_s)
            t = ours[our_count++] = next.contact[TL_MAX].t_utc_s;
        double when[10], about[20];
        char message[AS_MAXCH];
        t = from_s;
        while (their_count < MOST &&
               swe_sol_eclipse_when_loc(TL_SKY_JD_1970 + t / TL_DAY_S, SEFLG_SWIEPH, position, when,
                                        about, 0, message) > 0 &&
               (when[0] - TL_SKY_JD_1970) * TL_DAY_S < to_s) {
            theirs[their_count++] = (when[0] - TL_SKY_JD_1970) * TL_DAY_S;
            t = theirs[their_count - 1] + TL_DAY_S;
        }
        for (int a = 0, b = 0; a < our_count || b < their_count;) {
            if (a < our_count && b < their_count && fabs(ours[a] - theirs[b]) < same_s) {
                both++, a++, b++;
                continue;
            }
            bool mine = b == their_count || (a < our_count && ours[a] < theirs[b]);
            char text[TL_TIME_TEXT_SIZE];
            tl_time_text(mine ? ours[a] : theirs[b], 0, "Z", text);
            printf("  only %s: %s at %.2f %.2f\n", mine ? "ours" : "theirs", text, position[1],
                   position[0]);
            *(mine ? &only_ours : &only_theirs) += 1;
            *(mine ? &a : &b) += 1;
        }
    }
    swe_set_delta_t_userdef(deltat_s / 86400.0);
    printf(
        "Eclipses to be seen from %d random places 1951-2099: %d found by both, %d by us only, %d "
        "by libswe only\n",
        (int)SITES, both, only_ours, only_theirs);
    return only_theirs == 0;
}

/* ---- DE405 ---- */

/*
 * Debian's table of DE405: records of 32 days one after the other, little-endian doubles in JPL's
 * own order without the two dates in front. The Moon, geocentric: 8 spans of 4 days, each 13
 * Chebyshev coefficients for x, y, z, km, ICRS axes.
 */
static const char de405_path[] = "/usr/share/casacore/data/ephemerides/DE405/table.f0i";
static const double de405_first_jd = 2436912.5; /* table.f0: first record at MJD 36912 */
enum {
    DE405_HEADER = 28,
    DE405_RECORD = 8160,
    DE405_RECORDS = 1143,
    DE405_MOON = 438,
    DE405_ORDER = 13
};

static bool de405_moon(FILE *file, double jd, double km[3]) {
    double days = jd - de405_first_jd;
    long record = (long)floor(days / 32.0);
    long span = (long)floor((days - 32.0 * (double)record) / 4.0);
    double x = (days - 32.0 * (double)record - 4.0 * (double)span) / 2.0 - 1.0;
    double coefficient[3][DE405_ORDER];
    long at = DE405_HEADER + record * DE405_RECORD +
              8 * (DE405_MOON + span * (long)(sizeof coefficient / sizeof(double)));
    if (fseek(file, at, SEEK_SET) != 0 || fread(coefficient, sizeof coefficient, 1, file) != 1)
        return false;
    for (int axis = 0; axis < 3; axis++) {
        double chebyshev[DE405_ORDER] = {1.0, x};
        km[axis] = coefficient[axis][0] + coefficient[axis][1] * x;
        for (int i = 2; i < DE405_ORDER; i++) {
            chebyshev[i] = 2.0 * x * chebyshev[i - 1] - chebyshev[i - 2];
            km[axis] += coefficient[axis][i] * chebyshev[i];
        }
    }
    return true;
}

static bool measure_de405(void) {
    FILE *file = fopen(de405_path, "rb");
    if (file == NULL) {
        puts("Against DE405: left out, the Debian package casacore-data-jpl-de405 is not there.");
        return true;
    }
    tally moon = {0}, moon_km = {0};
    double last = de405_first_jd + 32.0 * DE405_RECORDS;
    for (int i = 0; i < PLACES; i++) {
        double jd = de405_first_jd + drand48() * (last - de405_first_jd), theirs[3], ours[3],
               sun[3];
        if (!de405_moon(file, jd, theirs))
            fail("The table of DE405 is not as it should be.");
        our_places(jd, ours, sun);
        add(&moon, angle_arcsec(ours, theirs), limit_arcsec);
        add(&moon_km, length(ours) - length(theirs), INFINITY);
    }
    fclose(file);
    puts("Geocentric Moon at random instants 1960-2060, against DE405:");
    bool kept = print_tally("Moon, direction", "arcsec", &moon, limit_arcsec);
    print_tally("Moon, distance", "km", &moon_km, INFINITY);
    return kept;
}

int main(int argc, char **argv) {
    char path[] = "/usr/share/libswe/ephe";
    swe_set_ephe_path(path);
    swe_set_delta_t_userdef(deltat_s / 86400.0);
    srand48(1919);
    bool kept = true;
    if (argc == 3 && strcmp(argv[1], "places") == 0)
        print_places(atoi(argv[2]));
    else if (argc == 3 && strcmp(argv[1], "contacts") == 0)
        print_contacts(atoi(argv[2]));
    else if (argc == 3 && strcmp(argv[1], "chosen") == 0)
        print_chosen();
    else if (argc == 1) {
        kept = measure_places();
        kept = measure_contacts() && kept;
        kept = measure_search() && kept;
        kept = measure_de405() && kept;
    } else
        fail("usage: tool_sky_accuracy [places|contacts|chosen COUNT]");
    swe_close();
    return kept ? 0 : 1;
}
