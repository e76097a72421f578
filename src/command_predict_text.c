/*
 * command_predict_text.c - the prediction for people.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "command_predict.h"

enum { EVENTS = TL_CONTACTS + 2 };

/* One line of the table: a contact, the maximum, sunrise or sunset. */
typedef struct table_event {
    double t_utc_s;
    const char *name;
    const tl_contact *contact; /* NULL for sunrise and sunset */
} table_event;

static int earlier(const void *a, const void *b) {
    double first = ((const table_event *)a)->t_utc_s, second = ((const table_event *)b)->t_utc_s;
    return (first > second) - (first < second);
}

static size_t collect(const tl_circumstances *eclipse, table_event list[EVENTS]) {
    static const char *const partial_name[TL_CONTACTS] = {"C1  first contact", "C2", "max", "C3",
                                                          "C4  last contact"};
    static const char *const total_name[TL_CONTACTS] = {
        "C1  first contact", "C2  totality begins", "max", "C3  totality ends", "C4  last contact"};
    static const char *const annular_name[TL_CONTACTS] = {
        "C1  first contact", "C2  ring closes", "max", "C3  ring breaks", "C4  last contact"};
    const char *const *name = eclipse->kind == TL_ECLIPSE_TOTAL     ? total_name
                              : eclipse->kind == TL_ECLIPSE_ANNULAR ? annular_name
                                                                    : partial_name;
    size_t count = 0;
    for (int i = 0; i < TL_CONTACTS; i++)
        if (eclipse->contact[i].occurs)
            list[count++] =
                (table_event){eclipse->contact[i].t_utc_s, name[i], &eclipse->contact[i]};
    if (eclipse->has_sunrise)
        list[count++] = (table_event){eclipse->sunrise_utc_s, "sunrise", NULL};
    if (eclipse->has_sunset)
        list[count++] = (table_event){eclipse->sunset_utc_s, "sunset", NULL};
    qsort(list, count, sizeof list[0], earlier);
    return count;
}

/* "2024-04-08 18:57:32.1" into a text of TL_TIME_TEXT_SIZE. */
static void moment_text(double t_s, int decimals, char *text) {
    tl_time_text(t_s, decimals, "", text);
    text[10] = ' ';
}

void tl_predict_zone_text(int minutes, char text[TL_PREDICT_ZONE_SIZE]) {
    int size = abs(minutes);
    snprintf(text, TL_PREDICT_ZONE_SIZE, "UTC%c%02d:%02d", minutes < 0 ? '-' : '+', size / 60 % 100,
             size % 60);
}

static void print_event(const tl_prediction *prediction, const table_event *event) {
    char utc[TL_TIME_TEXT_SIZE], local[TL_TIME_TEXT_SIZE];
    moment_text(event->t_utc_s, 1, utc);
    printf("%-20s %s", event->name, utc);
    if (prediction->zone_given) {
        moment_text(event->t_utc_s + prediction->zone_minutes * 60.0, 1, local);
        printf("  %s", local + 11);
    }
    if (event->contact != NULL)
        printf(" %8.1f %8.1f %7.1f %7.1f%s", event->contact->altitude_rad / TL_DEG,
               event->contact->azimuth_rad / TL_DEG, event->contact->pa_rad / TL_DEG,
               event->contact->vertex_rad / TL_DEG, event->contact->sun_up ? "" : "  Sun down");
    putchar('\n');
}

static void print_table(const tl_prediction *prediction) {
    table_event list[EVENTS];
    size_t count = collect(&prediction->circumstances, list);
    char zone[TL_PREDICT_ZONE_SIZE] = "";
    if (prediction->zone_given)
        tl_predict_zone_text(prediction->zone_minutes, zone);
    printf("%-20s %-21s", "", "UTC");
    if (prediction->zone_given)
        printf("  %-10s", zone);
    printf(" %8s %8s %7s %7s\n", "altitude", "azimuth", "PA", "zenith");
    for (size_t i = 0; i < count; i++)
        print_event(prediction, &list[i]);
}

/* How long the central phase lasts: "4 min 8 s". */
static void print_duration(double seconds) {
    long whole = lround(seconds);
    if (whole >= 60)
        printf("%ld min ", whole / 60);
    printf("%ld s", whole % 60);
}

static void print_sentence(const tl_prediction *prediction) {
    const tl_circumstances *eclipse = &prediction->circumstances;
    const tl_contact *contact = eclipse->contact;
    const char *kind = tl_eclipse_kind_name[eclipse->kind];
    char when[TL_TIME_TEXT_SIZE];
    moment_text(prediction->greatest_s, 0, when);
    bool central = contact[TL_C2].occurs && contact[TL_C2].sun_up && contact[TL_C3].sun_up;
    printf("From there the eclipse is %s: ", central ? kind : "partial");
    if (central && eclipse->kind == TL_ECLIPSE_TOTAL)
        printf("the whole Sun is covered for ");
    else if (central)
        printf("a ring of Sun is left for ");
    if (central) {
        print_duration(contact[TL_C3].t_utc_s - contact[TL_C2].t_utc_s);
        printf(" around %s UTC.\n", when + 11);
    } else {
        printf("at most %.1f %% of the Sun's diameter and %.1f %% of\nits area is covered, at %s "
               "UTC%s.\n",
               100.0 * fmin(prediction->greatest.magnitude, 1.0),
               100.0 * prediction->greatest.obscuration, when + 11,
               contact[TL_MAX].sun_up ? "" : ", with the Sun on the horizon");
    }
    if (!contact[TL_MAX].sun_up)
        printf("The maximum itself (magnitude %.3f) happens with the Sun down.\n",
               eclipse->magnitude);
}

static void print_nothing(const tl_prediction *prediction) {
    if (prediction->below_horizon)
        puts("No eclipse to be seen here on that day: all of it happens with the Sun below the "
             "horizon.");
    else
        puts("No eclipse here on that day.");
    if (!prediction->has_nearest) {
        puts("None within 20 years either.");
        return;
    }
    const tl_circumstances *nearest = &prediction->nearest;
    char when[TL_PREDICT_DAY_SIZE];
    tl_predict_day_text(tl_predict_day(prediction, nearest->contact[TL_MAX].t_utc_s), when);
    printf("The nearest day with one is %s (%s, magnitude %.2f).\n", when,
           tl_eclipse_kind_name[nearest->kind], nearest->magnitude);
}

/* What the times rest on, and how well the Earth's turning is known for that year. */
static void print_basis(const tl_prediction *prediction) {
    const double worth_saying_s = 0.5;
    const tl_circumstances *eclipse = &prediction->circumstances;
    printf(
        "\nAt maximum: magnitude %.3f, obscuration %.3f, Moon/Sun %.4f. TT - UT1 %.1f +- %.2g s.\n",
        eclipse->magnitude, eclipse->obscuration, eclipse->ratio, eclipse->deltat_s,
        eclipse->deltat_sigma_s);
    double largest_s = 0.0;
    for (int i = 0; i < TL_CONTACTS; i++)
        largest_s = fmax(largest_s, eclipse->contact[i].sigma_s);
    if (largest_s > worth_saying_s)
        printf("How far the Earth will have turned by then is not known better: the times are good "
               "to\n+- %.1f s, leap seconds that may come allowed for.\n",
               largest_s);
    printf("Sun's radius %.2f arcsec at 1 au, Moon's k %.7g.\n",
           prediction->options.sun_radius_arcsec, prediction->options.moon_k);
}

void tl_predict_print_text(const tl_prediction *prediction) {
    char day[TL_PREDICT_DAY_SIZE];
    tl_predict_day_text(prediction->date_s, day);
    const tl_site *site = &prediction->site;
    printf("%s, latitude %.4f, longitude %.4f, height %.0f m\n", day, site->lat_rad / TL_DEG,
           site->lon_rad / TL_DEG, site->height_m);
    if (!prediction->visible) {
        print_nothing(prediction);
        return;
    }
    print_sentence(prediction);
    putchar('\n');
    print_table(prediction);
    if (prediction->has_spots)
        tl_predict_print_spots(prediction);
    print_basis(prediction);
    puts("Degrees. PA: contact point (at maximum the Moon) from north through east; zenith: the\n"
         "same from the top. Look only through a safe filter on the front; see --help.");
}
