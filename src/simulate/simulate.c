/*
 * simulate.c - the whole stage on one screen: scene file in, folder of pictures out.
 */
#include <stdio.h>
#include <stdlib.h>

#include "simulate/simulate_internal.h"

/* The picture's three channels, one after the other: a plane at a time is in memory. */
static tl_status draw_rgb(const tl_simulate_scene *scene, size_t index,
                          const tl_simulate_place *place,
                          const tl_simulate_plane disc[TL_SIMULATE_CHANNELS], unsigned char *rgb) {
    tl_simulate_air air = {0};
    tl_status status = tl_simulate_air_make(scene, index, place, &air);
    for (int c = 0; c < TL_SIMULATE_CHANNELS && status == TL_OK; c++) {
        tl_simulate_plane picture = {0};
        status =
            tl_simulate_compose(&scene->frame[index].settings, place, &air, &disc[c], c, &picture);
        if (status == TL_OK)
            status = tl_simulate_sensor(scene, index, c, &picture);
        if (status == TL_OK)
            status = tl_simulate_develop(&scene->frame[index].settings, c, &picture, rgb);
        tl_simulate_plane_free(&picture);
    }
    tl_simulate_air_free(&air);
    if (status == TL_OK)
        status = tl_simulate_captions_draw(&scene->frame[index].settings, place, rgb);
    return status;
}

/* A copy that went through a messenger, written. */
static tl_status store_copy(const tl_simulate_frame *frame, const unsigned char *rgb,
                            const char *folder) {
    unsigned char *jpeg = NULL;
    size_t size = 0;
    tl_status status = tl_simulate_copy_make(&frame->settings, rgb, &jpeg, &size);
    if (status == TL_OK)
        status = tl_simulate_file_write(folder, frame->file, jpeg, size);
    free(jpeg);
    return status;
}

/* Turned, tagged, encoded and written. */
static tl_status store(const tl_simulate_scene *scene, size_t index, const tl_simulate_place *place,
                       const unsigned char *rgb, const char *folder) {
    const tl_simulate_frame *frame = &scene->frame[index];
    int width = frame->settings.width, height = frame->settings.height;
    unsigned char *turned = NULL, *exif = NULL, *jpeg = NULL;
    size_t exif_size = 0, jpeg_size = 0;
    tl_status status = tl_simulate_turn(rgb, frame->settings.orientation, &width, &height, &turned);
    if (status == TL_OK)
        status = tl_simulate_exif(scene, index, place, &exif, &exif_size);
    if (status == TL_OK)
        status = tl_simulate_jpeg(turned, width, height, frame->settings.quality,
                                  (tl_simulate_chroma)frame->settings.chroma, exif, exif_size,
                                  &jpeg, &jpeg_size);
    if (status == TL_OK)
        status = tl_simulate_file_write(folder, frame->file, jpeg, jpeg_size);
    free(turned);
    free(exif);
    free(jpeg);
    return status;
}

static tl_status draw_frame(const tl_simulate_scene *scene, size_t index, const tl_sky *at_max,
                            const tl_simulate_place *place, const char *folder) {
    const tl_simulate_settings *settings = &scene->frame[index].settings;
    tl_simulate_plane disc[TL_SIMULATE_CHANNELS] = {0};
    size_t pixels = (size_t)settings->width * (size_t)settings->height;
    unsigned char *rgb = malloc(pixels * TL_SIMULATE_CHANNELS);
    tl_status status = rgb != NULL ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK)
        status = tl_simulate_suns_draw(scene, index, at_max, place, disc);
    if (status == TL_OK)
        status = draw_rgb(scene, index, place, disc, rgb);
    if (status == TL_OK && settings->copy.on)
        status = store_copy(&scene->frame[index], rgb, folder);
    else if (status == TL_OK)
        status = store(scene, index, place, rgb, folder);
    for (int c = 0; c < TL_SIMULATE_CHANNELS; c++)
        tl_simulate_plane_free(&disc[c]);
    free(rgb);
    return status;
}

static tl_status explain(tl_status status, const char *what, char *message) {
    snprintf(message, TL_SIMULATE_MESSAGE_SIZE, "%.60s: %.130s", what, tl_status_text(status));
    return status;
}

/* Contacts of the day and the sky at its maximum. */
static tl_status find_eclipse(const tl_simulate_scene *scene, tl_circumstances *circumstances,
                              tl_sky *at_max, char *message) {
    tl_status status =
        tl_sky_circumstances(&scene->site, scene->day_utc_s, &scene->sky, circumstances);
    if (status == TL_OK)
        status =
            tl_sky_at(&scene->site, circumstances->contact[TL_MAX].t_utc_s, &scene->sky, at_max);
    return status == TL_OK ? status : explain(status, "day", message);
}

/* Times that count from a second or third contact need one. */
static tl_status check_moments(const tl_simulate_scene *scene,
                               const tl_circumstances *circumstances, char *message) {
    for (size_t i = 0; i < scene->frame_count; i++) {
        int used[2] = {scene->frame[i].from.contact, scene->frame[i].to.contact};
        for (int k = 0; k < 2; k++) {
            if (used[k] < 0 || circumstances->contact[used[k]].occurs)
                continue;
            snprintf(message, TL_SIMULATE_MESSAGE_SIZE, "%s: there is no %s at that place.",
                     scene->frame[i].file, tl_contact_name[used[k]]);
            return TL_ERR_FORMAT;
        }
    }
    return TL_OK;
}

/* What the jobs that draw frames share; each writes to its own place and status only. */
typedef struct drawing {
    const tl_simulate_scene *scene;
    const tl_circumstances *circumstances;
    const tl_sky *at_max;
    const char *folder;
    tl_simulate_place *place;
    tl_status *status;
} drawing;

static void draw_job(void *context, size_t i) {
    drawing *d = context;
    d->status[i] = tl_simulate_place_make(d->scene, d->circumstances, i, &d->place[i]);
    if (d->status[i] == TL_OK)
        d->status[i] = draw_frame(d->scene, i, d->at_max, &d->place[i], d->folder);
}

static tl_status draw_all(const tl_simulate_scene *scene, tl_simulate_place *place,
                          const char *folder, char *message) {
    tl_circumstances circumstances;
    tl_sky at_max;
    tl_status status = find_eclipse(scene, &circumstances, &at_max, message);
    if (status == TL_OK)
        status = check_moments(scene, &circumstances, message);
    if (status != TL_OK)
        return status;
    tl_status *each = calloc(scene->frame_count, sizeof *each);
    if (each == NULL)
        return explain(TL_ERR_MEMORY, "scene", message);
    drawing d = {scene, &circumstances, &at_max, folder, place, each};
    tl_parallel(scene->frame_count, 0, draw_job, &d);
    for (size_t i = 0; i < scene->frame_count && status == TL_OK; i++)
        if (each[i] != TL_OK)
            status = explain(each[i], scene->frame[i].file, message);
    free(each);
    if (status == TL_OK) {
        status = tl_simulate_truth_write(scene, &circumstances, &at_max, place, folder);
        if (status != TL_OK)
            explain(status, "truth", message);
    }
    return status;
}

tl_status tl_simulate(const char *scene_path, const char *out,
                      char message[TL_SIMULATE_MESSAGE_SIZE]) {
    tl_simulate_scene scene;
    tl_draft draft;
    message[0] = '\0';
    tl_status status = tl_simulate_scene_read(scene_path, message, &scene);
    if (status != TL_OK)
        return status;
    tl_simulate_place *place = calloc(scene.frame_count, sizeof *place);
    status = place != NULL ? tl_simulate_folder_begin(out, &draft) : TL_ERR_MEMORY;
    if (status == TL_ERR_ARGUMENT)
        snprintf(message, TL_SIMULATE_MESSAGE_SIZE,
                 tl_draft_is_mount(out)
                     ? "%.120s: a disk is mounted there; name a new folder in it."
                     : "%.120s: there is something already; name a new folder.",
                 out);
    else if (status != TL_OK)
        explain(status, out, message);
    if (status == TL_OK) {
        status = draw_all(&scene, place, draft.path, message);
        tl_status ended = tl_simulate_folder_end(&draft, status == TL_OK);
        if (status == TL_OK && ended != TL_OK)
            status = explain(ended, out, message);
    }
    free(place);
    tl_simulate_scene_free(&scene);
    return status;
}
