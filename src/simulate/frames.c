/*
 * frames.c - the sets of a scene and their frames: names, times, settings.
 *
 * Settings come in layers: what every frame is by default, the scene's `defaults`,
 * its set, the frame itself; the later layer wins, field by field.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "simulate/simulate_internal.h"

enum { FRAMES_MAX = 10000 };
#define PICTURE_MAX_PIXELS 200e6

typedef struct set_fields {
    char prefix[TL_SIMULATE_NAME_SIZE], start[TL_SIMULATE_NAME_SIZE], stop[TL_SIMULATE_NAME_SIZE];
    int count;
    double jitter_s;
} set_fields;

typedef struct frame_fields {
    char file[TL_SIMULATE_NAME_SIZE], time[TL_SIMULATE_NAME_SIZE];
} frame_fields;

#define TEXT(type, member)                                                                         \
    { #member, TL_FIELD_TEXT, offsetof(type, member), 0, 0, NULL, NULL, 0, 0 }
#define END                                                                                        \
    { NULL, TL_FIELD_ELSEWHERE, 0, 0, 0, NULL, NULL, 0, 0 }

static const tl_simulate_field set_table[] = {
    TEXT(set_fields, prefix),
    TEXT(set_fields, start),
    TEXT(set_fields, stop),
    {"count", TL_FIELD_INTEGER, offsetof(set_fields, count), 1, FRAMES_MAX, NULL, NULL, 0, 0},
    {"jitter_s", TL_FIELD_NUMBER, offsetof(set_fields, jitter_s), 0, 86400, NULL, NULL, 0, 0},
    {"frames", TL_FIELD_ELSEWHERE, 0, 0, 0, NULL, NULL, 0, 0},
    END,
};

static const tl_simulate_field frame_table[] = {
    TEXT(frame_fields, file),
    TEXT(frame_fields, time),
    END,
};

static tl_status read_moment(tl_simulate_reader *reader, const char *name, const char *text,
                             tl_simulate_moment *moment) {
    if (tl_simulate_moment_parse(text, moment) == TL_OK)
        return TL_OK;
    return tl_simulate_field_bad(reader, name,
                                 text[0] == '\0' ? "is missing"
                                                 : "must be like \"2026-08-12T17:47:03.250Z\", "
                                                   "\"C1+90\" or \"max-600\"");
}

/* A name that is safe in a folder, a CSV row and on every system, and is a JPEG's. */
static bool good_file_name(const char *name) {
    static const char allowed[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-";
    size_t length = strlen(name);
    return length > 4 && name[0] != '.' && name[0] != '-' && strspn(name, allowed) == length &&
           strcmp(name + length - 4, ".jpg") == 0;
}

static tl_status check_lists(tl_simulate_reader *reader, const tl_simulate_settings *s) {
    for (int i = 0; i < s->reflection_count; i++) {
        const tl_simulate_reflection *r = &s->reflection[i];
        if (!(r->long_sr > 0.0 && r->short_sr > 0.0 && r->softness > 0.0))
            return tl_simulate_field_bad(reader, "reflections",
                                         "each needs long_sr, short_sr and softness");
    }
    for (int i = 0; i < s->dust_count; i++)
        if (!(s->dust[i].radius_px > 0.0))
            return tl_simulate_field_bad(reader, "dust", "each needs radius_px");
    for (int i = 0; i < s->sun_count; i++)
        if (!(s->sun[i].share > 0.0))
            return tl_simulate_field_bad(reader, "more_suns", "each needs share");
    for (int i = 0; i < s->shadow_count; i++)
        if (!(s->shadow[i].depth > 0.0 && s->shadow[i].soft_sr > 0.0))
            return tl_simulate_field_bad(reader, "shadows", "each needs depth and soft_sr");
    for (int i = 0; i < s->caption_count; i++)
        if (!(s->caption[i].size_sr > 0.0) || s->caption[i].text[0] == '\0')
            return tl_simulate_field_bad(reader, "captions", "each needs text and size_sr");
    for (int i = 0; i < s->arrow_count; i++)
        if (!(s->arrow[i].width_sr > 0.0))
            return tl_simulate_field_bad(reader, "arrows", "each needs width_sr");
    return TL_OK;
}

/* What only shows when all layers are on. */
static tl_status check_settings(tl_simulate_reader *reader, const tl_simulate_settings *s) {
    if (isnan(s->sun_r_px) && (isnan(s->focal_mm) || isnan(s->pixel_um)))
        return tl_simulate_field_bad(reader, "sun_r_px",
                                     "is missing (or give focal_mm and pixel_um)");
    if (s->blur_px > 0.0 && s->blur_px < TL_SIMULATE_BLUR_MIN_PX)
        return tl_simulate_field_bad(reader, "blur_px", "must be 0 or at least 0.7");
    if ((double)s->width * (double)s->height > PICTURE_MAX_PIXELS)
        return tl_simulate_field_bad(reader, "width", "times height: at most 200 megapixels");
    return check_lists(reader, s);
}

static tl_status name_frame(tl_simulate_reader *reader, const set_fields *set,
                            const frame_fields *given, int number, int count,
                            tl_simulate_frame *frame) {
    int digits = count > 999 ? 4 : count > 99 ? 3 : 2;
    if (given->file[0] != '\0')
        strcpy(frame->file, given->file);
    else if (snprintf(frame->file, sizeof frame->file, "%.40s%0*d.jpg", set->prefix, digits,
                      number) >= (int)sizeof frame->file)
        return tl_simulate_field_bad(reader, "prefix", "is too long");
    if (!good_file_name(frame->file))
        return tl_simulate_field_bad(reader, given->file[0] != '\0' ? "file" : "prefix",
                                     "file names have letters, digits, '.', '_', '-' and end "
                                     "with .jpg");
    return TL_OK;
}

/* Its own time, or its share of the set's span. */
static tl_status time_frame(tl_simulate_reader *reader, const set_fields *set,
                            const frame_fields *given, int number, int count,
                            tl_simulate_frame *frame) {
    if (given->time[0] != '\0') {
        tl_status status = read_moment(reader, "time", given->time, &frame->from);
        frame->to = frame->from;
        return status;
    }
    if (set->start[0] == '\0')
        return tl_simulate_field_bad(reader, "time", "is missing (or give the set start and stop)");
    tl_status status = read_moment(reader, "start", set->start, &frame->from);
    if (status == TL_OK)
        status = read_moment(reader, "stop", set->stop, &frame->to);
    frame->position = count > 1 ? (double)(number - 1) / (count - 1) : 0.0;
    frame->jitter_s = set->jitter_s;
    return status;
}

/* Frame `number` (from 1) of a set; `json` is its own object, or NULL. */
static tl_status read_frame(tl_simulate_reader *reader, const cJSON *json, const set_fields *set,
                            int number, int count, tl_simulate_frame *frame) {
    frame_fields given = {.file = ""};
    size_t mark = strlen(reader->path);
    tl_status status = TL_OK;
    if (json != NULL) {
        tl_simulate_reader_enter(reader, "frames", -1);
        tl_simulate_reader_enter(reader, NULL, number - 1);
        tl_simulate_target target[] = {{frame_table, &given},
                                       {tl_simulate_settings_fields, &frame->settings}};
        status = tl_simulate_fields_read(reader, json, target, 2);
    }
    if (status == TL_OK)
        status = name_frame(reader, set, &given, number, count, frame);
    if (status == TL_OK)
        status = time_frame(reader, set, &given, number, count, frame);
    if (status == TL_OK)
        status = check_settings(reader, &frame->settings);
    tl_simulate_reader_leave(reader, mark);
    return status;
}

/* Room for `more` frames. */
static tl_status grow(tl_simulate_scene *scene, int more) {
    size_t count = scene->frame_count + (size_t)more;
    tl_simulate_frame *frame = realloc(scene->frame, count * sizeof *frame);
    if (frame == NULL)
        return TL_ERR_MEMORY;
    scene->frame = frame;
    return TL_OK;
}

static tl_status read_set(tl_simulate_reader *reader, const cJSON *json, size_t set_number,
                          const tl_simulate_settings *defaults, tl_simulate_scene *scene) {
    set_fields set = {.prefix = "frame_"};
    tl_simulate_settings settings = *defaults;
    tl_simulate_target target[] = {{set_table, &set}, {tl_simulate_settings_fields, &settings}};
    tl_status status = tl_simulate_fields_read(reader, json, target, 2);
    if (status != TL_OK)
        return status;
    const cJSON *frames = cJSON_GetObjectItemCaseSensitive(json, "frames");
    if (frames != NULL && !cJSON_IsArray(frames))
        return tl_simulate_field_bad(reader, "frames", "must be a list, [ ... ]");
    int listed = cJSON_GetArraySize(frames), count = set.count > 0 ? set.count : listed;
    if (count == 0)
        return tl_simulate_field_bad(reader, "count", "is missing (or list frames)");
    if (listed > count || (size_t)count + scene->frame_count > FRAMES_MAX)
        return tl_simulate_field_bad(reader, "frames", "are more than count, or than 10000");
    status = grow(scene, count);
    const cJSON *item = frames != NULL ? frames->child : NULL;
    for (int i = 1; i <= count && status == TL_OK; i++) {
        tl_simulate_frame frame = {.set = set_number, .settings = settings};
        status = read_frame(reader, item, &set, i, count, &frame);
        scene->frame[scene->frame_count++] = frame;
        item = item != NULL ? item->next : NULL;
    }
    return status;
}

static tl_status check_names(tl_simulate_reader *reader, const tl_simulate_scene *scene) {
    for (size_t i = 0; i < scene->frame_count; i++)
        for (size_t j = 0; j < i; j++)
            if (strcmp(scene->frame[i].file, scene->frame[j].file) == 0)
                return tl_simulate_field_bad(reader, scene->frame[i].file,
                                             "two frames have this file name");
    return TL_OK;
}

tl_status tl_simulate_frames_read(tl_simulate_reader *reader, const cJSON *json,
                                  tl_simulate_scene *scene) {
    tl_simulate_settings defaults = tl_simulate_settings_default();
    tl_status status = TL_OK;
    const cJSON *given = cJSON_GetObjectItemCaseSensitive(json, "defaults");
    if (given != NULL) {
        tl_simulate_target target = {tl_simulate_settings_fields, &defaults};
        size_t mark = tl_simulate_reader_enter(reader, "defaults", -1);
        status = tl_simulate_fields_read(reader, given, &target, 1);
        tl_simulate_reader_leave(reader, mark);
    }
    const cJSON *sets = cJSON_GetObjectItemCaseSensitive(json, "sets");
    if (status == TL_OK && (!cJSON_IsArray(sets) || cJSON_GetArraySize(sets) == 0))
        return tl_simulate_field_bad(reader, "sets", "must be a list with at least one set");
    size_t number = 0;
    const cJSON *set;
    cJSON_ArrayForEach(set, sets) {
        if (status != TL_OK)
            break;
        size_t mark = tl_simulate_reader_enter(reader, "sets", -1);
        tl_simulate_reader_enter(reader, NULL, (int)number);
        status = read_set(reader, set, number++, &defaults, scene);
        tl_simulate_reader_leave(reader, mark);
    }
    return status == TL_OK ? check_names(reader, scene) : status;
}
