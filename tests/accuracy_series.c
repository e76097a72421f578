/*
 * accuracy_series.c - the whole chain on a folder: error of the clock and of the contacts, with
 * their sigma.
 */
#include <math.h>

#include "accuracy.h"
#include "twolimb/analyse.h"

/* A number inside two nested objects or arrays of truth.json; NAN if it is not there. */
static double json_number(const cJSON *object, const char *name) {
    const cJSON *item = cJSON_GetObjectItem(object, name);
    return cJSON_IsNumber(item) ? item->valuedouble : NAN;
}

/* Do all sets of the scene share the clock of the first? */
static bool one_clock(const cJSON *sets) {
    const cJSON *first = cJSON_GetArrayItem(sets, 0), *set;
    cJSON_ArrayForEach(set, sets) {
        if (json_number(set, "offset_s") != json_number(first, "offset_s") ||
            json_number(set, "zone_minutes") != json_number(first, "zone_minutes"))
            return false;
    }
    return first != NULL;
}

static void print_contact(const cJSON *truth, const tl_track *track, int which) {
    const cJSON *contact =
        cJSON_GetObjectItem(cJSON_GetObjectItem(truth, "contacts"), tl_contact_name[which]);
    const cJSON *utc = cJSON_GetObjectItem(contact, "utc");
    const tl_track_contact *found = &track->contact[which];
    if (!cJSON_IsString(utc) || !found->measured || !tl_track_main(track)->clock.solved)
        printf("  %s not measured", tl_contact_name[which]);
    else
        printf("  %s %+.2f +- %.2f s", tl_contact_name[which],
               found->measured_utc_s - truth_time(utc->valuestring), found->utc_sigma_s);
}

void accuracy_print_series(const char *folder) {
    char path[512];
    const char *bad = NULL;
    tl_file_list files = {0};
    tl_sequence sequence = {0};
    tl_analyse_options options = {.track.sky = tl_sky_options_default()};
    snprintf(path, sizeof path, "%.400s/truth.json", folder);
    cJSON *truth = truth_json(path);
    const cJSON *sets = cJSON_GetObjectItem(truth, "sets");
    const cJSON *site = cJSON_GetObjectItem(truth, "site");
    if (truth && one_clock(sets) && tl_file_list_make(&folder, 1, &bad, &files) == TL_OK) {
        const cJSON *set = cJSON_GetArrayItem(sets, 0);
        options.track.site =
            (tl_site){TL_SITE_GIVEN, json_number(site, "lat_deg") * TL_DEG,
                      json_number(site, "lon_deg") * TL_DEG, json_number(site, "height_m")};
        if (tl_analyse(&files, &options, &sequence) == TL_OK) {
            const tl_clock *clock = &tl_track_main(&sequence.track)->clock;
            double wanted = json_number(set, "offset_s") + 60 * json_number(set, "zone_minutes");
            if (clock->solved)
                printf("      series: clock %+.2f +- %.2f s",
                       clock->offset_s + 60 * clock->zone_minutes - wanted, clock->sigma_s);
            else
                printf("      series: clock not solved");
            print_contact(truth, &sequence.track, TL_C1);
            print_contact(truth, &sequence.track, TL_C4);
            printf("\n");
        }
        tl_sequence_free(&sequence);
    }
    tl_file_list_free(&files);
    cJSON_Delete(truth);
}
