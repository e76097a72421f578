/*
 * truth.c - truth.csv, a row for each frame, and truth.json, what holds for them all; spots are
 * in truth_spots.c.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "simulate/simulate_internal.h"

enum { ROW_MAX = 512 };

static const char csv_header[] =
    "file,true_utc,camera_time,sun_x_px,sun_y_px,sun_r_px,moon_x_px,moon_y_px,moon_r_px,"
    "separation_sr,moon_pa_deg,up_pa_deg,mirrored,blur_px,expected,ratio,flattening,zenith_x,"
    "zenith_y,tilt_stretch,tilt_direction_deg,altitude_deg\n";

static const char *const expected_name[] = {"auto", "measured", "sun-only", "refused", "either"};

/* One row; where no Sun was drawn, no circles. */
static size_t csv_row(const tl_simulate_frame *frame, const tl_simulate_place *p, char *row) {
    char utc[TL_TIME_TEXT_SIZE], camera[TL_TIME_TEXT_SIZE], circles[160] = ",,,,,";
    const tl_simulate_settings *s = &frame->settings;
    tl_time_text(p->t_utc_s, 3, "Z", utc);
    tl_time_text(p->t_camera_s, 3, "", camera);
    double c[6];
    tl_simulate_place_seen(s, p, c);
    if (s->subject == TL_SUBJECT_SUN)
        snprintf(circles, sizeof circles, "%.4f,%.4f,%.4f,%.4f,%.4f,%.4f", c[0], c[1], c[2], c[3],
                 c[4], c[5]);
    return (size_t)snprintf(
        row, ROW_MAX, "%s,%s,%s,%s,%.7f,%.5f,%.5f,%s,%.4f,%s,%.7f,%.7f,%.6f,%.6f,%.5f,%.3f,%.4f\n",
        frame->file, utc, camera, circles, p->sky.separation_sr, p->sky.pa_rad / TL_DEG,
        p->up_pa_rad / TL_DEG, p->mirrored ? "yes" : "no", p->blur_px * tl_simulate_copy_scale(s),
        expected_name[tl_simulate_place_expected(s, p)], p->sky.ratio, p->flattening, p->zenith_x,
        p->zenith_y, s->tilt.on ? s->tilt.stretch : 1.0, s->tilt.on ? s->tilt.direction_deg : 0.0,
        p->sky.sun_altitude_rad / TL_DEG);
}

static tl_status write_csv(const tl_simulate_scene *scene, const tl_simulate_place *place,
                           const char *folder) {
    char *text = malloc(sizeof csv_header + scene->frame_count * ROW_MAX);
    if (text == NULL)
        return TL_ERR_MEMORY;
    size_t length = sizeof csv_header - 1;
    memcpy(text, csv_header, length);
    for (size_t i = 0; i < scene->frame_count; i++)
        length += csv_row(&scene->frame[i], &place[i], text + length);
    tl_status status = tl_simulate_file_write(folder, "truth.csv", text, length);
    free(text);
    return status;
}

static void add_number(cJSON *object, const char *name, double value, double unit) {
    double rounded = round(value * unit) / unit;
    cJSON_AddNumberToObject(object, name, rounded);
}

static void add_site(cJSON *root, const tl_site *site) {
    cJSON *object = cJSON_AddObjectToObject(root, "site");
    add_number(object, "lat_deg", site->lat_rad / TL_DEG, 1e7);
    add_number(object, "lon_deg", site->lon_rad / TL_DEG, 1e7);
    add_number(object, "height_m", site->height_m, 1e3);
}

static void add_contacts(cJSON *root, const tl_circumstances *circumstances) {
    cJSON *contacts = cJSON_AddObjectToObject(root, "contacts");
    for (int i = 0; i < TL_CONTACTS; i++) {
        const tl_contact *contact = &circumstances->contact[i];
        char text[TL_TIME_TEXT_SIZE];
        if (!contact->occurs)
            continue;
        cJSON *object = cJSON_AddObjectToObject(contacts, tl_contact_name[i]);
        tl_time_text(contact->t_utc_s, 3, "Z", text);
        cJSON_AddStringToObject(object, "utc", text);
        add_number(object, "altitude_deg", contact->altitude_rad / TL_DEG, 1e4);
        add_number(object, "pa_deg", contact->pa_rad / TL_DEG, 1e4);
    }
    add_number(root, "magnitude", circumstances->magnitude, 1e6);
    add_number(root, "obscuration", circumstances->obscuration, 1e6);
    cJSON_AddStringToObject(root, "kind", tl_eclipse_kind_name[circumstances->kind]);
}

/* Clock and holding of each set: of its first frame. */
static void add_sets(cJSON *root, const tl_simulate_scene *scene) {
    static const char *const holding[] = {"free", "fixed", "altaz"};
    cJSON *sets = cJSON_AddArrayToObject(root, "sets");
    for (size_t i = 0; i < scene->frame_count; i++) {
        const tl_simulate_frame *frame = &scene->frame[i];
        if (i > 0 && frame->set == scene->frame[i - 1].set)
            continue;
        cJSON *object = cJSON_CreateObject();
        cJSON_AddStringToObject(object, "first_file", frame->file);
        cJSON_AddNumberToObject(object, "zone_minutes", frame->settings.clock.zone_minutes);
        cJSON_AddNumberToObject(object, "offset_s", frame->settings.clock.offset_s);
        cJSON_AddNumberToObject(object, "drift_ppm", frame->settings.clock.drift_ppm);
        cJSON_AddStringToObject(object, "holding", holding[frame->settings.holding]);
        cJSON_AddBoolToObject(object, "mirrored", frame->settings.mirrored);
        cJSON_AddItemToArray(sets, object);
    }
}

static tl_status write_json(const tl_simulate_scene *scene, const tl_circumstances *circumstances,
                            const tl_sky *at_max, const char *folder) {
    cJSON *root = cJSON_CreateObject();
    if (root == NULL)
        return TL_ERR_MEMORY;
    cJSON_AddStringToObject(root, "what", "the truth behind invented pictures, drawn by twolimb");
    add_site(root, &scene->site);
    add_contacts(root, circumstances);
    add_sets(root, scene);
    tl_status status = tl_simulate_truth_spots_add(scene, circumstances, at_max, root);
    char *text = status == TL_OK ? cJSON_Print(root) : NULL;
    cJSON_Delete(root);
    if (text == NULL)
        return status == TL_OK ? TL_ERR_MEMORY : status;
    status = tl_simulate_file_write(folder, "truth.json", text, strlen(text));
    cJSON_free(text);
    return status;
}

tl_status tl_simulate_truth_write(const tl_simulate_scene *scene,
                                  const tl_circumstances *circumstances, const tl_sky *at_max,
                                  const tl_simulate_place *place, const char *folder) {
    tl_status status = write_csv(scene, place, folder);
    if (status == TL_OK)
        status = tl_simulate_truth_spots_write(scene, at_max, place, folder);
    if (status == TL_OK)
        status = write_json(scene, circumstances, at_max, folder);
    return status;
}
