/*
 * zone.c - the clock total split into whole days, a zone and an offset.
 *
 * Only their sum is measured. The split is the one that asks for the smallest wonder, with
 * every oddity priced in minutes of offset.
 */
#include <math.h>

#include "track/track_internal.h"

/*
 * Zones in use, minutes east, since cameras have clocks (IANA time zone database, 1995-2025;
 * with daylight saving).
 */
static const int ZONES[] = {-720, -660, -600, -570, -540, -480, -420, -360, -300, -270, -240,
                            -210, -180, -150, -120, -60,  0,    60,   120,  180,  210,  240,
                            270,  300,  330,  345,  360,  390,  420,  480,  510,  525,  540,
                            570,  600,  630,  660,  690,  720,  765,  780,  825,  840};
enum { ZONE_COUNT = sizeof ZONES / sizeof ZONES[0] };

/* Prices, in minutes of clock offset: common practice, no source. Clocks set by hand are mostly
 * right to some minutes; zones set on a journey are often wrong; other mistakes are rarer. */
static const double PRICE_OTHER_ZONE = 10.0; /* than the one said */
static const double PRICE_HALF_HOUR = 5.0;   /* few places keep a zone off the whole hour */
static const double PRICE_DAY = 4.0, PRICE_PER_DAY = 0.001; /* of two days the nearer */
static const double PRICE_HALF_DAY = 8.0;
static const double PRICE_BOTH = 6.0; /* a zone and the half of the day wrong in one camera */
/* Farther than this from the Sun's time no zone is the place's own: minutes. */
static const double AWAY_OWN = 100.0;
/* Readings that cost so little more that nobody can rule them out. */
static const double PRICE_ALIKE = 5.0;
/* Away from the Sun's time at the place: the zone of a traveller's home is the less likely the
 * farther it is, and on the other side of the Earth less likely than morning for afternoon. */
static const double PRICE_PER_ZONE_MINUTE = 0.016;
static const double UTC_AWAY_MOST = 300.0; /* minutes: many set their camera to UTC on purpose */

static const double LONG_OFFSET_S = 900.0;
static const double HALF_DAY_S = 0.5 * TL_DAY_S;

/* Priors of tl_track_zone_penalty: an offset of a minute is nothing unusual. */
static const double PENALTY_SCALE_S = 60.0, PENALTY_CORRECTED = 4.0, PENALTY_HALF_DAY = 6.0;
static const double PENALTY_DAY = 4.0, PENALTY_YEAR = 6.0, PENALTY_DATE = 12.0;
/* Mean length of the calendar's year, and what leap days, a zone and a wrong day add up to. */
static const double YEAR_DAYS = 365.2425, YEAR_SLACK_DAYS = 1.8;

/* The offset without its twelve hours. */
static double offset_rest(const tl_track_zone *z) {
    return z->half_day ? z->offset_s - copysign(HALF_DAY_S, z->offset_s) : z->offset_s;
}

static double price(const tl_track_zone *z, double lon_rad) {
    /* Round the clock: Samoa keeps +13 h where the Sun says -11. */
    double zone_rad = z->zone_minutes / 720.0 * TL_PI;
    double away_minutes = fabs(tl_angle_signed(zone_rad - lon_rad)) / TL_PI * 720.0;
    away_minutes = z->zone_minutes == 0 ? fmin(away_minutes, UTC_AWAY_MOST) : away_minutes;
    double sum = fabs(offset_rest(z)) / 60.0;
    sum += z->corrected ? PRICE_OTHER_ZONE : 0.0;
    sum += z->zone_minutes % 60 != 0 ? PRICE_HALF_HOUR : 0.0;
    double days = fabs(z->day_shift_s) / TL_DAY_S;
    sum += days > 0.0 ? PRICE_DAY + PRICE_PER_DAY * days : 0.0;
    sum += z->half_day ? PRICE_HALF_DAY : 0.0;
    sum += z->half_day && (z->corrected || away_minutes > AWAY_OWN) ? PRICE_BOTH : 0.0;
    return sum + PRICE_PER_ZONE_MINUTE * away_minutes;
}

/* The split with this zone: the day by rounding, twelve hours in the offset if that helps. */
static tl_track_zone split_with(double clock_s, int minutes, bool corrected) {
    tl_track_zone z = {.zone_minutes = minutes, .corrected = corrected};
    double rest = clock_s - 60.0 * minutes;
    z.day_shift_s = TL_DAY_S * round(rest / TL_DAY_S);
    z.offset_s = rest - z.day_shift_s;
    z.half_day = fabs(z.offset_s) > HALF_DAY_S - LONG_OFFSET_S;
    double other_shift_s = z.day_shift_s + copysign(TL_DAY_S, z.offset_s);
    if (z.half_day && fabs(other_shift_s) < fabs(z.day_shift_s)) {
        z.day_shift_s = other_shift_s; /* twelve hours to the other side, and the day is right */
        z.offset_s = rest - z.day_shift_s;
    }
    z.long_offset = fabs(offset_rest(&z)) > LONG_OFFSET_S;
    return z;
}

/* The cheapest split that is not `but`; with its price. */
static tl_track_zone cheapest(double clock_s, bool said, int said_minutes, double lon_rad,
                              const tl_track_zone *but, double *lowest) {
    tl_track_zone best = {0};
    *lowest = HUGE_VAL;
    for (size_t i = 0; i <= ZONE_COUNT; i++) { /* the zone said may be none in use */
        int minutes = i < ZONE_COUNT ? ZONES[i] : said_minutes;
        tl_track_zone z = split_with(clock_s, minutes, said && minutes != said_minutes);
        double p = price(&z, lon_rad);
        bool another = but == NULL || minutes != but->zone_minutes;
        if (p < *lowest && another && (i < ZONE_COUNT || said)) {
            *lowest = p;
            best = z;
        }
    }
    return best;
}

tl_track_zone tl_track_zone_split(double clock_s, bool said, int said_minutes, double lon_rad) {
    double lowest;
    return cheapest(clock_s, said, said_minutes, lon_rad, NULL, &lowest);
}

bool tl_track_zone_other(const tl_track_zone *zone, double clock_s, bool said, int said_minutes,
                         double lon_rad, tl_track_zone *other) {
    double lowest;
    *other = cheapest(clock_s, said, said_minutes, lon_rad, zone, &lowest);
    return !other->long_offset && lowest < price(zone, lon_rad) + PRICE_ALIKE;
}

/* A date that is off by whole years and has the right day: the year was set wrong. */
static bool whole_years(double days) {
    double years = round(days / YEAR_DAYS);
    return fabs(years) > 0.0 && fabs(days - YEAR_DAYS * years) < YEAR_SLACK_DAYS;
}

static double day_penalty(const tl_track_zone *zone) {
    double days = fabs(zone->day_shift_s) / TL_DAY_S;
    if (days < 0.5) {
        return 0.0;
    }
    return days < 1.5 ? PENALTY_DAY : whole_years(days) ? PENALTY_YEAR : PENALTY_DATE;
}

double tl_track_zone_penalty(const tl_track_zone *zone) {
    /* A Cauchy law: small offsets are likely, long ones happen. */
    double off = offset_rest(zone) / PENALTY_SCALE_S;
    return 2.0 * log1p(off * off) + (zone->corrected ? PENALTY_CORRECTED : 0.0) +
           (zone->half_day ? PENALTY_HALF_DAY : 0.0) + day_penalty(zone);
}
