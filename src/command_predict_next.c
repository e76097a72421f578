/*
 * command_predict_next.c - twolimb predict --next: the eclipses to come at one place.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "command_predict.h"

static void print_eclipse(const tl_prediction *eclipse) {
    const tl_circumstances *found = &eclipse->circumstances;
    const tl_contact *max = &found->contact[TL_MAX];
    char day[TL_PREDICT_DAY_SIZE], utc[TL_TIME_TEXT_SIZE];
    tl_predict_day_text(tl_predict_day(eclipse, max->t_utc_s), day);
    tl_time_text(round(max->t_utc_s), 0, "", utc);
    printf("%s  %-7s  %9.3f  %s %9.1f", day, tl_eclipse_kind_name[found->kind], found->magnitude,
           utc + 11, max->altitude_rad / TL_DEG);
    if (!max->sun_up) {
        tl_time_text(round(eclipse->greatest_s), 0, "", utc);
        printf("  Sun down; at most %.3f is seen, at %s", eclipse->greatest.magnitude, utc + 11);
    }
    putchar('\n');
}

static void print_list(const tl_prediction_list *list) {
    const tl_site *site = &list->asked->site;
    char day[TL_PREDICT_DAY_SIZE];
    tl_predict_day_text(list->asked->date_s, day);
    printf("From latitude %.4f, longitude %.4f, height %.0f m, from %s on:\n",
           site->lat_rad / TL_DEG, site->lon_rad / TL_DEG, site->height_m, day);
    if (list->count == 0) {
        puts("no more eclipses up to the year 2100.");
        return;
    }
    printf("%-10s  %-7s  %9s  %-8s %9s\n", "day", "kind", "magnitude", "max, UTC", "altitude");
    for (size_t i = 0; i < list->count; i++)
        print_eclipse(&list->eclipse[i]);
    puts("Kind, magnitude and altitude (degrees) at maximum. For the times of one of them:\n"
         "twolimb predict --site ... --date DAY. Look only through a safe filter on the front.");
}

/* Fill the list up to `most`; TL_OK also when there are no more. */
static tl_status find(size_t most, tl_prediction_list *list) {
    const tl_prediction *asked = list->asked;
    double from_s = asked->date_s - (asked->zone_given ? asked->zone_minutes * 60.0 : 0.0);
    while (list->count < most) {
        tl_prediction *next = &list->eclipse[list->count];
        *next = *asked;
        tl_status status =
            tl_sky_next_eclipse(&asked->site, from_s, &asked->options, &next->circumstances);
        if (status == TL_ERR_NO_ECLIPSE)
            return TL_OK;
        if (status == TL_OK)
            status = tl_predict_greatest(next);
        if (status != TL_OK)
            return status;
        from_s = next->circumstances.contact[TL_MAX].t_utc_s;
        next->date_s = tl_predict_day(next, from_s);
        next->deltat_s = next->circumstances.deltat_s;
        next->visible = true;
        list->count++;
    }
    return TL_OK;
}

tl_status tl_predict_next(const tl_prediction *asked, size_t most, bool json, size_t *found) {
    tl_prediction_list list = {asked, 0, calloc(most, sizeof *list.eclipse)};
    if (list.eclipse == NULL)
        return TL_ERR_MEMORY;
    tl_status status = find(most, &list);
    if (status == TL_OK && json)
        status = tl_predict_print_list_json(&list);
    else if (status == TL_OK)
        print_list(&list);
    *found = list.count;
    free(list.eclipse);
    return status;
}
