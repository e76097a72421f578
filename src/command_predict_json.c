/*
 * command_predict_json.c - the prediction for programs.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include <cJSON.h>

#include "command_predict.h"

/* cJSON does without what it has no memory for, and few ask whether it got all. So its allocations
 * go through here while an answer is made. */
static bool memory_ran_out;

static void *allocate(size_t size) {
    void *bytes = malloc(size);
    memory_ran_out = memory_ran_out || bytes == NULL;
    return bytes;
}

static cJSON *begin(void) {
    cJSON_Hooks hooks = {allocate, free};
    memory_ran_out = false;
    cJSON_InitHooks(&hooks);
    return cJSON_CreateObject();
}

/* An empty object at the end of the array, which owns it; NULL when memory ran out. */
static cJSON *append_object(cJSON *array) {
    cJSON *entry = cJSON_CreateObject();
    if (cJSON_AddItemToArray(array, entry))
        return entry;
    cJSON_Delete(entry);
    return NULL;
}

/* Digits that mean something, so that a reader sees 37.98 and not 37.979999. */
static void add_number(cJSON *object, const char *name, double value, int decimals) {
    double scale = pow(10.0, decimals);
    cJSON_AddNumberToObject(object, name, round(value * scale) / scale);
}

static void add_time(cJSON *object, const char *name, double t_utc_s) {
    char text[TL_TIME_TEXT_SIZE];
    tl_time_text(t_utc_s, 3, "Z", text);
    cJSON_AddStringToObject(object, name, text);
}

static void add_date(cJSON *object, const char *name, double day_s) {
    char text[TL_PREDICT_DAY_SIZE];
    tl_predict_day_text(day_s, text);
    cJSON_AddStringToObject(object, name, text);
}

static void add_site(cJSON *object, const tl_site *site) {
    cJSON *place = cJSON_AddObjectToObject(object, "site");
    add_number(place, "lat_deg", site->lat_rad / TL_DEG, 7);
    add_number(place, "lon_deg", site->lon_rad / TL_DEG, 7);
    add_number(place, "height_m", site->height_m, 2);
    cJSON_AddStringToObject(place, "source", "given");
}

static void add_options(cJSON *object, const tl_sky_options *options) {
    add_number(object, "sun_radius_arcsec", options->sun_radius_arcsec, 4);
    add_number(object, "moon_k", options->moon_k, 8);
}

static void add_contacts(cJSON *object, const tl_circumstances *eclipse) {
    for (int i = 0; i < TL_CONTACTS; i++) {
        const tl_contact *contact = &eclipse->contact[i];
        if (!contact->occurs)
            continue;
        cJSON *entry = cJSON_AddObjectToObject(object, tl_contact_name[i]);
        add_time(entry, "utc", contact->t_utc_s);
        add_number(entry, "sigma_s", contact->sigma_s, 3);
        add_number(entry, "altitude_deg", contact->altitude_rad / TL_DEG, 3);
        add_number(entry, "azimuth_deg", contact->azimuth_rad / TL_DEG, 3);
        add_number(entry, "pa_deg", contact->pa_rad / TL_DEG, 3);
        add_number(entry, "vertex_deg", contact->vertex_rad / TL_DEG, 3);
        cJSON_AddBoolToObject(entry, "sun_up", contact->sun_up);
    }
}

static void add_eclipse(cJSON *object, const tl_prediction *prediction) {
    const tl_circumstances *eclipse = &prediction->circumstances;
    add_number(object, "magnitude", eclipse->magnitude, 6);
    add_number(object, "obscuration", eclipse->obscuration, 6);
    add_number(object, "ratio", eclipse->ratio, 6);
    cJSON_AddStringToObject(object, "kind", tl_eclipse_kind_name[eclipse->kind]);
    cJSON *seen = cJSON_AddObjectToObject(object, "greatest_seen");
    add_time(seen, "utc", prediction->greatest_s);
    add_number(seen, "magnitude", prediction->greatest.magnitude, 6);
    add_number(seen, "obscuration", prediction->greatest.obscuration, 6);
    if (eclipse->has_sunrise)
        add_time(object, "sunrise_utc", eclipse->sunrise_utc_s);
    if (eclipse->has_sunset)
        add_time(object, "sunset_utc", eclipse->sunset_utc_s);
}

/* Nothing to be seen: the same names, and where to look instead. */
static void add_nothing(cJSON *object, const tl_prediction *prediction) {
    add_number(object, "magnitude", 0.0, 0);
    add_number(object, "obscuration", 0.0, 0);
    cJSON_AddNullToObject(object, "ratio");
    cJSON_AddStringToObject(object, "kind", tl_eclipse_kind_name[TL_ECLIPSE_NONE]);
    cJSON_AddBoolToObject(object, "below_horizon", prediction->below_horizon);
    if (prediction->has_nearest)
        add_date(object, "nearest_date",
                 tl_predict_day(prediction, prediction->nearest.contact[TL_MAX].t_utc_s));
}

static void add_passage(cJSON *object, const char *name, const tl_spot_passage *passage) {
    static const char *const touch[TL_SPOT_TOUCHES] = {"first_utc", "centre_utc", "last_utc"};
    cJSON *entry = cJSON_AddObjectToObject(object, name);
    for (int i = 0; i < TL_SPOT_TOUCHES; i++)
        if (passage->t_utc_s[i] != 0.0)
            add_time(entry, touch[i], passage->t_utc_s[i]);
    if (passage->occurs) {
        add_number(entry, "sigma_s", passage->sigma_s, 2);
        add_number(entry, "floor_s", passage->floor_s, 2);
    }
    cJSON_AddBoolToObject(entry, "sun_up", passage->sun_up);
    add_number(entry, "touch_sigma_s", passage->touch_sigma_s, 2);
}

static void add_spot(cJSON *array, const tl_predict_spot *found) {
    const tl_spot *spot = &found->spot;
    cJSON *entry = append_object(array);
    cJSON_AddStringToObject(entry, "name", spot->name);
    add_time(entry, "listed_utc", found->listed_utc_s);
    add_number(entry, "latitude_deg", spot->latitude_rad / TL_DEG, 3);
    add_number(entry, "longitude_deg", spot->longitude_rad / TL_DEG, 3);
    add_number(entry, "carrington_deg", spot->carrington_rad / TL_DEG, 3);
    add_number(entry, "latitude_sigma_deg", spot->latitude_sigma_rad / TL_DEG, 3);
    add_number(entry, "longitude_sigma_deg", spot->longitude_sigma_rad / TL_DEG, 3);
    if (found->lost) {
        cJSON_AddNullToObject(entry, "on_disc");
        return;
    }
    cJSON_AddBoolToObject(entry, "on_disc", found->on_disc);
    if (!found->on_disc)
        return;
    add_number(entry, "radius_sr", spot->radius_sr, 5);
    add_number(entry, "clearance_sr", spot->clearance_sr, 5);
    add_number(entry, "clearance_sigma_sr", spot->clearance_sigma_sr, 5);
    cJSON_AddBoolToObject(entry, "unsure", spot->unsure);
    if (!spot->touched)
        return;
    add_passage(entry, "covered", &spot->covered);
    add_passage(entry, "uncovered", &spot->uncovered);
}

static void add_spots(cJSON *object, const tl_prediction *prediction) {
    cJSON *array = cJSON_AddArrayToObject(object, "spots");
    for (size_t i = 0; i < prediction->spot_count; i++)
        add_spot(array, &prediction->spot[i]);
}

/* Day, contacts and sizes of one prediction. */
static void add_prediction(cJSON *object, const tl_prediction *prediction) {
    add_date(object, "date", prediction->date_s);
    add_number(object, "deltat_s", prediction->deltat_s, 3);
    cJSON *contacts = cJSON_AddObjectToObject(object, "contacts");
    if (prediction->visible) {
        add_number(object, "deltat_sigma_s", prediction->circumstances.deltat_sigma_s, 3);
        add_contacts(contacts, &prediction->circumstances);
        add_eclipse(object, prediction);
    } else {
        add_nothing(object, prediction);
    }
    if (prediction->has_spots)
        add_spots(object, prediction);
}

/* Prints and deletes what begin() began; nothing is printed when memory ran out on the way. */
static tl_status end(cJSON *object) {
    char *text = cJSON_Print(object);
    if (!memory_ran_out)
        puts(text);
    cJSON_free(text);
    cJSON_Delete(object);
    cJSON_InitHooks(NULL);
    return memory_ran_out ? TL_ERR_MEMORY : TL_OK;
}

tl_status tl_predict_print_json(const tl_prediction *prediction) {
    cJSON *object = begin();
    add_site(object, &prediction->site);
    add_options(object, &prediction->options);
    add_prediction(object, prediction);
    return end(object);
}

tl_status tl_predict_print_list_json(const tl_prediction_list *list) {
    cJSON *object = begin();
    add_site(object, &list->asked->site);
    add_options(object, &list->asked->options);
    add_date(object, "from", list->asked->date_s);
    cJSON *eclipses = cJSON_AddArrayToObject(object, "eclipses");
    for (size_t i = 0; i < list->count; i++)
        add_prediction(append_object(eclipses), &list->eclipse[i]);
    return end(object);
}
