/*
 * truth_spots.c - truth_spots.csv, a row for each frame and spot, and the spots of truth.json.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "simulate/simulate_internal.h"

enum { ROW_MAX = 400 };

static const char csv_header[] = "file,spot,x_px,y_px,state,from_sun_limb_sr,from_moon_limb_sr,"
                                 "east_sr,north_sr,radius_sr\n";

static const char *const state_name[] = {"visible", "on limb", "covered", "behind"};

/* A spot behind the Sun has no place in the picture, and nothing has where no Sun is drawn. */
static size_t csv_row(const tl_simulate_frame *frame, const tl_simulate_place *place,
                      const char *name, const tl_simulate_spot_view *view, char *row) {
    char where[80] = ",", more[160] = ",,,,";
    if (view->state != TL_SPOT_STATE_BEHIND) {
        if (frame->settings.subject == TL_SUBJECT_SUN) {
            double x, y;
            tl_simulate_place_point(&frame->settings, place, view->east_sr, view->north_sr, &x, &y);
            snprintf(where, sizeof where, "%.4f,%.4f", x, y);
        }
        snprintf(more, sizeof more, "%.7f,%.7f,%.7f,%.7f,%.7f", view->from_sun_sr,
                 view->from_moon_sr, view->east_sr, view->north_sr, view->radius_sr);
    }
    return (size_t)snprintf(row, ROW_MAX, "%s,%s,%s,%s,%s\n", frame->file, name, where,
                            state_name[view->state], more);
}

/* The rows of one frame. */
static tl_status csv_frame(const tl_simulate_scene *scene, size_t index, const tl_sky *at_max,
                           const tl_simulate_place *place, char *text, size_t *length) {
    tl_simulate_spots spots;
    tl_status status = tl_simulate_spots_place(scene, at_max, &place->sky, &spots);
    for (int i = 0; i < scene->spot_count && status == TL_OK; i++) {
        tl_simulate_spot_view view = tl_simulate_spot_look(&spots, i, &place->sky);
        *length += csv_row(&scene->frame[index], place, scene->spot[i].name, &view, text + *length);
    }
    return status;
}

tl_status tl_simulate_truth_spots_write(const tl_simulate_scene *scene, const tl_sky *at_max,
                                        const tl_simulate_place *place, const char *folder) {
    char *text =
        malloc(sizeof csv_header + scene->frame_count * (size_t)scene->spot_count * ROW_MAX);
    if (text == NULL)
        return TL_ERR_MEMORY;
    size_t length = sizeof csv_header - 1;
    tl_status status = TL_OK;
    memcpy(text, csv_header, length);
    for (size_t i = 0; i < scene->frame_count && status == TL_OK; i++)
        status = csv_frame(scene, i, at_max, &place[i], text, &length);
    if (status == TL_OK)
        status = tl_simulate_file_write(folder, "truth_spots.csv", text, length);
    free(text);
    return status;
}

static void add_rounded(cJSON *object, const char *name, double value, double unit) {
    cJSON_AddNumberToObject(object, name, round(value * unit) / unit);
}

/* The instants of one covering or uncovering; nothing if there are none. */
static void add_passage(cJSON *spot, const char *name, const double t_utc_s[TL_PASSAGE_TIMES]) {
    static const char *const member[] = {"first_utc", "centre_utc", "last_utc"};
    cJSON *object = NULL;
    for (int k = 0; k < TL_PASSAGE_TIMES; k++) {
        char text[TL_TIME_TEXT_SIZE];
        if (isnan(t_utc_s[k]))
            continue;
        if (object == NULL)
            object = cJSON_AddObjectToObject(spot, name);
        tl_time_text(t_utc_s[k], 3, "Z", text);
        cJSON_AddStringToObject(object, member[k], text);
    }
}

static void add_spot(cJSON *list, const tl_simulate_spot *spot, const tl_sky *at_max,
                     const tl_simulate_spot_view *view, const tl_simulate_passage *passage) {
    cJSON *object = cJSON_CreateObject();
    double carrington = tl_angle_positive(at_max->l0_rad + spot->longitude_deg * TL_DEG);
    cJSON_AddStringToObject(object, "name", spot->name);
    cJSON_AddNumberToObject(object, "latitude_deg", spot->latitude_deg);
    cJSON_AddNumberToObject(object, "longitude_at_max_deg", spot->longitude_deg);
    add_rounded(object, "carrington_at_max_deg", carrington / TL_DEG, 1e6);
    cJSON_AddNumberToObject(object, "radius_deg", spot->radius_deg);
    cJSON_AddNumberToObject(object, "umbra", spot->umbra);
    if (view->state != TL_SPOT_STATE_BEHIND) {
        add_rounded(object, "east_at_max_sr", view->east_sr, 1e7);
        add_rounded(object, "north_at_max_sr", view->north_sr, 1e7);
        add_rounded(object, "radius_at_max_sr", view->radius_sr, 1e7);
        add_rounded(object, "area_ppm", view->area_ppm, 1e3);
    }
    add_passage(object, "covered", passage->covered_utc_s);
    add_passage(object, "uncovered", passage->uncovered_utc_s);
    cJSON_AddItemToArray(list, object);
}

tl_status tl_simulate_truth_spots_add(const tl_simulate_scene *scene,
                                      const tl_circumstances *circumstances, const tl_sky *at_max,
                                      cJSON *root) {
    tl_simulate_passage passage[TL_SIMULATE_SPOTS_MAX];
    tl_simulate_spots spots;
    tl_status status = tl_simulate_passages(scene, circumstances, at_max, passage);
    if (status == TL_OK)
        status = tl_simulate_spots_place(scene, at_max, at_max, &spots);
    cJSON *list = status == TL_OK ? cJSON_AddArrayToObject(root, "spots") : NULL;
    for (int i = 0; i < scene->spot_count && status == TL_OK; i++) {
        tl_simulate_spot_view view = tl_simulate_spot_look(&spots, i, at_max);
        add_spot(list, &scene->spot[i], at_max, &view, &passage[i]);
    }
    return status;
}
