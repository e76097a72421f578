/*
 * track_accuracy_zone.c - clocks in a wrong zone, on a wrong day, in the wrong half of it, in a
 * wrong year.
 */
#include <stdio.h>
#include <stdlib.h>

#include "track_accuracy.h"

typedef enum mistake {
    NO_MISTAKE,
    SUMMER_TIME, /* an hour more or less */
    OTHER_ZONE,  /* any whole hour */
    HALF_HOUR,   /* the nearest zone that is off the whole hour */
    OTHER_DAY,   /* one more or less */
    OTHER_HALF,  /* am for pm or the reverse */
    OTHER_YEAR,  /* up to three more or less, the same day of the calendar */
    RESET,       /* 2000 January 1, 0 h, when it was switched on */
    MISTAKES
} mistake;
static const char *const MISTAKE[MISTAKES] = {
    "none",    "1 h (summer time)", "other whole zone", "half-hour zone",
    "day +-1", "am for pm",         "year +-1 to 3",    "reset to 2000-01-01"};

/* Zones in use off the whole hour, minutes (IANA time zone database, 1995-2025). */
static const int HALF_HOURS[] = {-570, -270, -210, -150, 210, 270, 330, 390, 570, 630, 690};
enum { HALF_HOUR_COUNT = sizeof HALF_HOURS / sizeof HALF_HOURS[0] };

static const double CLOCK_SIGMA_S = 90.0;
/* Right is within four sigmas and a second. */
static const double RIGHT_SIGMAS = 4.0, RIGHT_S = 1.0;
/* Off by more than this the solution is another one, not that one badly measured. */
static const double SECONDS_S = 60.0;
/* 2000 January 1, 0 h. */
static const double RESET_S = 946684800.0;

typedef enum verdict {
    RIGHT,
    SECONDS_OFF,    /* day and zone are right, the rest is not */
    OFFERED,        /* another solution or reading was taken, this one is an alternative */
    READ_OTHERWISE, /* the total is right, day and zone are not what was put in */
    NOT_OFFERED,
    NOT_SOLVED,
    VERDICTS
} verdict;
static const char *const VERDICT[VERDICTS] = {"right",          "seconds off", "offered",
                                              "read otherwise", "not offered", "not solved"};

typedef struct setting {
    mistake mistake;
    double day_shift_s;
    int zone_minutes; /* of the clock */
    bool any_reading; /* no day and zone are meant */
} setting;

typedef struct kind {
    const char *name, *what;
    size_t count;
    bool one_side;
} kind;
static const kind KIND[] = {{"zones", "16 over the eclipse", 16, false},
                            {"zones5", "5 on one side of maximum", 5, true}};
enum { KINDS = sizeof KIND / sizeof KIND[0] };

typedef struct run {
    track_accuracy *a;
    const kind *kind;
    mistake mistake[TRIALS];
    verdict verdict[TRIALS];
} run;

/* Where the zone is not said, not eleven to thirteen hours from the place's: such a clock may as
 * well have morning and afternoon mixed up. */
static int other_zone(int zone, bool said, gsl_rng *rng) {
    int other;
    do {
        other = 60 * ((int)gsl_rng_uniform_int(rng, 25) - 11); /* -11 h .. +13 h */
    } while (other == zone || (!said && abs(abs(other - zone) - 720) <= 60));
    return other;
}

static int half_hour_zone(int zone) {
    int best = HALF_HOURS[0];
    for (size_t i = 1; i < HALF_HOUR_COUNT; i++) {
        best = abs(HALF_HOURS[i] - zone) < abs(best - zone) ? HALF_HOURS[i] : best;
    }
    return best;
}

/* Seconds to the same day, hour and minute of another year. */
static double year_shift(double local_s, int years) {
    tl_calendar c = tl_time_to_calendar(local_s), other = c;
    double from, to;
    other.year += years;
    if (tl_time_from_calendar(&c, &from) != TL_OK || tl_time_from_calendar(&other, &to) != TL_OK) {
        return 0.0; /* 29 February: no eclipse of the list is on it */
    }
    return to - from;
}

/* Put one mistake into a clock that was right but for seconds. */
static setting make_mistake(const scene *s, mistake made, gsl_rng *rng, manner *how) {
    int years = 1 + (int)gsl_rng_uniform_int(rng, 3), sign = gsl_rng_uniform(rng) < 0.5 ? -1 : 1;
    double utc_s = s->circumstances.contact[TL_MAX].t_utc_s;
    double local_s = utc_s + 60.0 * how->zone_minutes;
    setting set = {.mistake = made, .zone_minutes = how->zone_minutes};
    double offset_s = how->clock_s - 60.0 * how->zone_minutes;
    switch (made) {
    case SUMMER_TIME:
        set.zone_minutes += set.zone_minutes >= 720 ? -60 : 60 * sign;
        break;
    case OTHER_ZONE:
        set.zone_minutes = other_zone(set.zone_minutes, how->zone_known, rng);
        how->zone_minutes = sign > 0 ? set.zone_minutes : how->zone_minutes; /* a traveller's */
        break;
    case HALF_HOUR:
        set.zone_minutes = half_hour_zone(set.zone_minutes);
        break;
    case OTHER_DAY: /* a day behind at +12 h is the time of the zone of -12 h */
        set.day_shift_s = abs(set.zone_minutes) < 600 ? sign * TL_DAY_S
                          : set.zone_minutes > 0      ? TL_DAY_S
                                                      : -TL_DAY_S;
        break;
    case OTHER_HALF:
        offset_s += local_s - TL_DAY_S * floor(local_s / TL_DAY_S) < 0.5 * TL_DAY_S
                        ? 0.5 * TL_DAY_S
                        : -0.5 * TL_DAY_S;
        break;
    case OTHER_YEAR:
        set.day_shift_s = year_shift(local_s, sign * years);
        break;
    case RESET:
        set.any_reading = true;
        break;
    default:
        break;
    }
    how->clock_s = set.day_shift_s + 60.0 * set.zone_minutes + offset_s;
    if (made == RESET) { /* from half an hour to five hours before first contact */
        double on_s =
            s->circumstances.contact[TL_C1].t_utc_s - 1800.0 - 4.5 * 3600.0 * gsl_rng_uniform(rng);
        how->clock_s = RESET_S - on_s;
    }
    return set;
}

static setting make(const run *r, size_t i, trial *t) {
    gsl_rng *rng = trial_rng(r->kind->name, i);
    const scene *s = &r->a->scene[i];
    manner how = {.count = r->kind->count,
                  .from = 0.03,
                  .to = 0.97,
                  .draw = r->a->draw,
                  .pool = &r->a->pool[POOL_HAND],
                  .whole_seconds = true,
                  .holding = TL_HOLDING_FREE};
    if (r->kind->one_side) {
        bool before = gsl_rng_uniform(rng) < 0.5;
        how.from = before ? 0.05 : 0.55;
        how.to = before ? 0.45 : 0.95;
    }
    trial_set_camera(s, CLOCK_SIGMA_S, rng, &how);
    setting set = make_mistake(s, (mistake)gsl_rng_uniform_int(rng, MISTAKES), rng, &how);
    trial_make(s, &how, rng, t);
    gsl_rng_free(rng);
    return set;
}

static bool total_right(double total_s, double truth_s, double sigma_s) {
    return fabs(total_s - truth_s) < RIGHT_SIGMAS * sigma_s + RIGHT_S;
}

static bool as_put(double day_shift_s, int zone_minutes, const setting *set) {
    return set->any_reading ||
           (fabs(day_shift_s - set->day_shift_s) < RIGHT_S && zone_minutes == set->zone_minutes);
}

static bool offered(const tl_clock *clock, const setting *set, double truth_s) {
    for (size_t i = 0; i < clock->alternative_count; i++) {
        double day_shift_s = clock->alternative[i].day_shift_s;
        int zone_minutes = clock->alternative[i].zone_minutes;
        double total_s = day_shift_s + 60.0 * zone_minutes + clock->alternative[i].offset_s;
        if (total_right(total_s, truth_s, clock->alternative[i].sigma_s) &&
            as_put(day_shift_s, zone_minutes, set)) {
            return true;
        }
    }
    return false;
}

static verdict judge(const tl_clock *clock, const setting *set, double truth_s) {
    if (!clock->solved) {
        return NOT_SOLVED;
    }
    double off_s = fabs(clock_total_of(clock) - truth_s);
    bool right = total_right(clock_total_of(clock), truth_s, clock->sigma_s);
    bool reading = as_put(clock->day_shift_s, clock->zone_minutes, set);
    if (reading && off_s < SECONDS_S) {
        return right ? RIGHT : SECONDS_OFF;
    }
    if (offered(clock, set, truth_s)) {
        return OFFERED;
    }
    return right ? READ_OTHERWISE : NOT_OFFERED;
}

static void one(void *context, size_t i) {
    run *r = context;
    trial t;
    tl_track track;
    setting set = make(r, i, &t);
    r->mistake[i] = set.mistake;
    r->verdict[i] = NOT_SOLVED;
    if (trial_solve(r->a, r->kind->name, i, &t, &track)) {
        r->verdict[i] = judge(&tl_track_main(&track)->clock, &set, t.how[0].clock_s);
        tl_track_free(&track);
    }
}

static size_t count_of(const run *r, verdict wanted) {
    size_t count = 0;
    for (size_t i = 0; i < TRIALS; i++) {
        count += r->verdict[i] == wanted ? 1 : 0;
    }
    return count;
}

static void print_run(const run *r) {
    printf("\nZone, day, half of the day, year. Right: the clock total within 4 sigma and 1 s, and "
           "the day and zone put in\n%-24s",
           r->kind->what);
    for (size_t v = 0; v < VERDICTS; v++) {
        printf(" %14s", VERDICT[v]);
    }
    for (size_t m = 0; m < MISTAKES; m++) {
        printf("\n  %-22s", MISTAKE[m]);
        for (size_t v = 0; v < VERDICTS; v++) {
            size_t count = 0;
            for (size_t i = 0; i < TRIALS; i++) {
                count += r->mistake[i] == m && r->verdict[i] == v ? 1 : 0;
            }
            printf(" %14zu", count);
        }
    }
    printf("\n  %-22s", "all");
    for (size_t v = 0; v < VERDICTS; v++) {
        printf(" %14zu", count_of(r, (verdict)v));
    }
    printf("\n");
    for (size_t v = RIGHT + 1; v < VERDICTS; v++) {
        if (count_of(r, (verdict)v) > 0) {
            printf("  %s:", VERDICT[v]);
            for (size_t i = 0; i < TRIALS; i++) {
                if (r->verdict[i] == v) {
                    printf(" %s/%zu", r->kind->name, i);
                }
            }
            printf("\n");
        }
    }
}

static void print_figures(const run *full) {
    static const size_t RIGHT_LEAST = TRIALS - 1;
    size_t right = count_of(full, RIGHT);
    size_t missed = TRIALS - right - count_of(full, OFFERED);
    printf("\n");
    figure_print("zone, day, year right in 199 of 200", right >= RIGHT_LEAST, "%zu", right);
    figure_print("and none but is among the alternatives", missed == 0, "%zu", missed);
}

void track_accuracy_zone(track_accuracy *a) {
    run *runs = calloc(KINDS, sizeof *runs);
    if (runs == NULL) {
        a->failed = true;
        return;
    }
    for (size_t k = 0; k < KINDS; k++) {
        runs[k].a = a;
        runs[k].kind = &KIND[k];
        if (trials_run(a, KIND[k].name, one, &runs[k])) {
            print_run(&runs[k]);
        }
    }
    if (a->only == NULL) {
        print_figures(&runs[0]);
    }
    free(runs);
}
