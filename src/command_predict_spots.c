/*
 * command_predict_spots.c - when the Moon covers and uncovers the spots of a list, for people.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command_predict.h"

/* From here on a list is old. Spots seldom live longer than some weeks and change by the day:
 * common practice, no source. */
static const double old_days = 10.0;

/* A spot whose longitude is known no better than this may be anywhere along its parallel, before
 * the Sun or behind it: times, and also their absence, would be guessed. */
static const double lost_rad = 45.0 * TL_DEG;

/* A list of the day of the eclipse is not called one from after it. */
static const double same_day_days = 0.5;

/* One row brought to the eclipse. */
static tl_status predict_spot(const tl_prediction *prediction, const tl_sky *max,
                              const tl_spot *listed, tl_predict_spot *found) {
    double east, north;
    found->listed_utc_s = listed->epoch_utc_s;
    tl_spot_at(listed, max->t_utc_s, max, &found->spot);
    found->lost = found->spot.longitude_sigma_rad > lost_rad;
    const tl_status status = tl_spot_cover(&prediction->site, &prediction->options,
                                           &prediction->circumstances, &found->spot);
    found->on_disc =
        found->spot.touched ||
        tl_spot_project(max, found->spot.latitude_rad, found->spot.carrington_rad, &east, &north);
    return status;
}

tl_status tl_predict_spots(const tl_spot_list *list, tl_prediction *prediction) {
    const double t_utc_s = prediction->circumstances.contact[TL_MAX].t_utc_s;
    tl_sky max;
    tl_status status = tl_sky_at(&prediction->site, t_utc_s, &prediction->options, &max);
    if (status != TL_OK)
        return status;
    tl_predict_spot *found = calloc(list->count + 1, sizeof *found);
    if (found == NULL)
        return TL_ERR_MEMORY;
    size_t count = 0;
    for (size_t i = 0; i < list->count && status == TL_OK; i++)
        if (tl_spot_list_nearest(list, i, t_utc_s))
            status = predict_spot(prediction, &max, &list->spot[i], &found[count++]);
    if (status != TL_OK) {
        free(found);
        return status;
    }
    prediction->spot = found;
    prediction->spot_count = count;
    return TL_OK;
}

/* " 19:14:03", in the zone of the table, or a dash. */
static void print_clock(const tl_prediction *prediction, double t_utc_s) {
    char text[TL_TIME_TEXT_SIZE];
    if (t_utc_s == 0.0) {
        printf("  %8s", "-");
        return;
    }
    const double zone_s = prediction->zone_given ? prediction->zone_minutes * 60.0 : 0.0;
    tl_time_text(t_utc_s + zone_s, 0, "", text);
    printf("  %.8s", text + 11);
}

static void print_passage(const tl_prediction *prediction, const char *what,
                          const tl_spot_passage *passage) {
    const double whole_minutes_s = 600.0; /* from here on seconds say too much */
    printf("%9s", what);
    if (!passage->sun_up) {
        puts("  Sun is down then");
        return;
    }
    for (int i = 0; i < TL_SPOT_TOUCHES; i++)
        print_clock(prediction, passage->t_utc_s[i]);
    const double sigma_s =
        passage->occurs ? hypot(passage->sigma_s, passage->floor_s) : passage->touch_sigma_s;
    if (sigma_s < whole_minutes_s)
        printf(" %3.0f s\n", fmax(sigma_s, 1.0));
    else
        printf("%3.0fmin\n", sigma_s / 60.0);
}

enum { PLACE_WIDTH = 35 }; /* of the columns before the times */

static void print_spot(const tl_prediction *prediction, const tl_predict_spot *found) {
    const tl_spot *spot = &found->spot;
    printf("%-15s%+6.1f%+7.1f%6.1f ", spot->name, spot->latitude_rad / TL_DEG,
           spot->longitude_rad / TL_DEG, spot->carrington_rad / TL_DEG);
    if (found->lost) {
        puts("not known: the list is too far from that day");
        return;
    }
    if (!found->on_disc) {
        const double over_rad = fabs(spot->longitude_rad) - TL_PI / 2.0;
        printf("beyond the limb that day%s\n",
               over_rad < 2.0 * spot->longitude_sigma_rad ? ", or just on it" : "");
        return;
    }
    if (!spot->touched) {
        printf("not covered from here%s\n", spot->unsure ? ", but only just" : "");
        return;
    }
    print_passage(prediction, "covered", &spot->covered);
    printf("%*s", PLACE_WIDTH, "");
    print_passage(prediction, "uncovered", &spot->uncovered);
    if (spot->unsure)
        printf("%*snot sure: the Moon's edge comes near it\n", PLACE_WIDTH, "");
}

/* How far from the eclipse the rows are, and what that means. */
static void print_age(const tl_prediction *prediction) {
    const double max_s = prediction->circumstances.contact[TL_MAX].t_utc_s;
    double oldest = -HUGE_VAL, newest = HUGE_VAL; /* days before the maximum */
    bool midnight = false;
    for (size_t i = 0; i < prediction->spot_count; i++) {
        const double days = (max_s - prediction->spot[i].listed_utc_s) / TL_DAY_S;
        oldest = fmax(oldest, days);
        newest = fmin(newest, days);
        midnight = midnight || fmod(prediction->spot[i].listed_utc_s, TL_DAY_S) == 0.0;
    }
    puts("Degrees; longitude from the central meridian at maximum, west +; Carrington's.\n"
         "First touch, centre, last; one sigma of the centre. It grows with the days\n"
         "between list and eclipse: spots move by themselves, some 0.15 degrees a day in\n"
         "latitude and 0.5 in longitude.");
    /* The Sun turns by some 13 degrees a day before the Earth. */
    if (midnight)
        puts("A date alone is taken as 0 h UTC. If the spots stood there at noon, that is some\n"
             "7 degrees off in longitude: write the time too.");
    if (oldest > old_days)
        printf("The list is up to %.0f days old. Spots change by the day and few last so\n"
               "long: some may be gone, others have come.\n",
               oldest);
    if (newest < -same_day_days)
        printf("The list is from up to %.1f days after the eclipse: a spot may not have been\n"
               "there yet.\n",
               -newest);
}

void tl_predict_print_spots(const tl_prediction *prediction) {
    char zone[TL_PREDICT_ZONE_SIZE] = "UTC";
    if (prediction->zone_given)
        tl_predict_zone_text(prediction->zone_minutes, zone);
    if (prediction->spot_count == 0) {
        puts("\nSunspots: the list has none.");
        return;
    }
    printf("\n%-15s%6s%7s%6s %9s  %-28s%4s\n", "Sunspots", "lat", "long", "Carr", "", zone, "+-");
    for (size_t i = 0; i < prediction->spot_count; i++)
        print_spot(prediction, &prediction->spot[i]);
    print_age(prediction);
}
