/*
 * scene.c - the scene file: the day, the place, the spots; frames.c reads the sets.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/base_internal.h"
#include "simulate/simulate_internal.h"

#define SCENE_MAX_BYTES 10000000L /* no scene written by a person comes near */

/* The parts of a scene that are stored in another form than they are written in. */
typedef struct written {
    struct {
        bool on;
        double lat_deg, lon_deg, height_m;
    } site;
    struct {
        bool on;
        double sun_radius_arcsec, moon_k, deltat_s, pressure_hpa, temperature_c;
    } sky;
    char day[TL_SIMULATE_NAME_SIZE];
    int seed;
    int spot_count;
    tl_simulate_spot spot[TL_SIMULATE_SPOTS_MAX];
} written;

/* Members of objects count from the start of their object.
 * NOLINTBEGIN(bugprone-macro-parentheses): a member cannot stand in parentheses. */
#define MEMBER(object, member, low, high)                                                          \
    {                                                                                              \
#member, TL_FIELD_NUMBER, offsetof(written, object.member) - offsetof(written, object),    \
            low, high, NULL, NULL, 0, 0                                                            \
    }
/* NOLINTEND(bugprone-macro-parentheses) */
#define ELSEWHERE(name)                                                                            \
    { name, TL_FIELD_ELSEWHERE, 0, 0, 0, NULL, NULL, 0, 0 }
#define END                                                                                        \
    { NULL, TL_FIELD_ELSEWHERE, 0, 0, 0, NULL, NULL, 0, 0 }

static const tl_simulate_field site_fields[] = {
    MEMBER(site, lat_deg, -90.0, 90.0),
    MEMBER(site, lon_deg, -180.0, 180.0),
    MEMBER(site, height_m, -500.0, 9000.0),
    END,
};

static const tl_simulate_field sky_fields[] = {
    MEMBER(sky, sun_radius_arcsec, 900.0, 1000.0), MEMBER(sky, moon_k, 0.26, 0.28),
    MEMBER(sky, deltat_s, -1000.0, 1000.0),        MEMBER(sky, pressure_hpa, 0.0, 1100.0),
    MEMBER(sky, temperature_c, -60.0, 60.0),       END,
};

#define SPOT(member, low, high)                                                                    \
    { #member, TL_FIELD_NUMBER, offsetof(tl_simulate_spot, member), low, high, NULL, NULL, 0, 0 }
static const tl_simulate_field spot_fields[] = {
    SPOT(latitude_deg, -89.0, 89.0),
    SPOT(longitude_deg, -90.0, 90.0),
    SPOT(radius_deg, 0.05, 20.0),
    SPOT(umbra, 0.0, 0.9),
    {"name", TL_FIELD_TEXT, offsetof(tl_simulate_spot, name), 0, 0, NULL, NULL, 0, 0},
    END,
};

static const tl_simulate_field scene_fields[] = {
    ELSEWHERE("story"),
    {"site", TL_FIELD_OBJECT, offsetof(written, site), 0, 0, NULL, site_fields, 0, 0},
    {"sky", TL_FIELD_OBJECT, offsetof(written, sky), 0, 0, NULL, sky_fields, 0, 0},
    {"day", TL_FIELD_TEXT, offsetof(written, day), 0, 0, NULL, NULL, 0, 0},
    {"seed", TL_FIELD_INTEGER, offsetof(written, seed), 0, 2147483647.0, NULL, NULL, 0, 0},
    {"spots", TL_FIELD_LIST, offsetof(written, spot), 0, TL_SIMULATE_SPOTS_MAX, NULL, spot_fields,
     offsetof(written, spot_count), sizeof(tl_simulate_spot)},
    ELSEWHERE("defaults"),
    ELSEWHERE("sets"),
    END,
};

static tl_status file_bad(const char *path, const char *text, char *message, tl_status status) {
    const char *slash = strrchr(path, '/');
    snprintf(message, TL_SIMULATE_MESSAGE_SIZE, "%.60s: %.130s", slash != NULL ? slash + 1 : path,
             text);
    return status;
}

/* The whole file as a string; the caller frees. */
static tl_status read_text(const char *path, char *message, char **text) {
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        const tl_status status = tl_base_open_error();
        return file_bad(path, tl_status_text(status), message, status);
    }
    char *bytes = malloc((size_t)SCENE_MAX_BYTES + 1);
    if (bytes == NULL) {
        fclose(file);
        return file_bad(path, tl_status_text(TL_ERR_MEMORY), message, TL_ERR_MEMORY);
    }
    size_t size = fread(bytes, 1, (size_t)SCENE_MAX_BYTES, file);
    tl_status status = TL_OK;
    if (ferror(file))
        status = file_bad(path, "cannot be read.", message, TL_ERR_OPEN);
    else if (size == 0)
        status = file_bad(path, "the file is empty.", message, TL_ERR_EMPTY_FILE);
    else if (!feof(file) && size == (size_t)SCENE_MAX_BYTES)
        status = file_bad(path, "too large for a scene file.", message, TL_ERR_FORMAT);
    fclose(file);
    if (status != TL_OK) {
        free(bytes);
        return status;
    }
    bytes[size] = '\0';
    *text = bytes;
    return TL_OK;
}

/* Parsed JSON, to be deleted by the caller; the message names the line of a mistake. */
static tl_status parse(const char *path, char *message, cJSON **json) {
    char *text = NULL;
    tl_status status = read_text(path, message, &text);
    if (status != TL_OK)
        return status;
    const char *end = NULL;
    cJSON *parsed = cJSON_ParseWithOpts(text, &end, true);
    if (parsed == NULL) {
        int line = 1;
        for (const char *p = text; p < end; p++)
            line += *p == '\n';
        char what[60];
        snprintf(what, sizeof what, "not JSON: a mistake in line %d or just before it.", line);
        status = file_bad(path, what, message, TL_ERR_FORMAT);
    }
    free(text);
    if (status == TL_OK)
        *json = parsed;
    return status;
}

/* A name is a field of a CSV row. */
static bool good_spot_name(const char *name) {
    static const char allowed[] =
        "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789._-";
    return strspn(name, allowed) == strlen(name);
}

static tl_status check_spots(tl_simulate_reader *reader, written *w) {
    for (int i = 0; i < w->spot_count; i++) {
        tl_simulate_spot *spot = &w->spot[i];
        size_t mark = tl_simulate_reader_enter(reader, "spots", -1);
        tl_simulate_reader_enter(reader, NULL, i);
        if (!(spot->radius_deg > 0.0))
            return tl_simulate_field_bad(reader, "radius_deg", "is missing");
        if (!good_spot_name(spot->name))
            return tl_simulate_field_bad(reader, "name",
                                         "must be of letters, digits, '.', '_' and '-'");
        if (spot->name[0] == '\0')
            snprintf(spot->name, sizeof spot->name, "S%d", i + 1);
        for (int k = 0; k < i; k++)
            if (strcmp(spot->name, w->spot[k].name) == 0)
                return tl_simulate_field_bad(reader, "name", "two spots have this name");
        tl_simulate_reader_leave(reader, mark);
    }
    return TL_OK;
}

static tl_status take_day_and_place(tl_simulate_reader *reader, const cJSON *json,
                                    tl_simulate_scene *scene) {
    tl_sky_options sky = tl_sky_options_default();
    written w = {.site = {.lat_deg = NAN, .lon_deg = NAN},
                 .sky = {.sun_radius_arcsec = sky.sun_radius_arcsec,
                         .moon_k = sky.moon_k,
                         .deltat_s = NAN,
                         .pressure_hpa = sky.pressure_hpa,
                         .temperature_c = sky.temperature_c}};
    tl_simulate_target target = {scene_fields, &w};
    tl_status status = tl_simulate_fields_read(reader, json, &target, 1);
    if (status == TL_OK)
        status = check_spots(reader, &w);
    if (status != TL_OK)
        return status;
    if (isnan(w.site.lat_deg) || isnan(w.site.lon_deg))
        return tl_simulate_field_bad(reader, "site", "needs lat_deg and lon_deg");
    if (tl_base_site(TL_SITE_GIVEN, w.site.lat_deg, w.site.lon_deg, w.site.height_m,
                     &scene->site) != TL_OK)
        return tl_simulate_field_bad(reader, "site", "is no place on Earth");
    if (tl_date_parse(w.day, &scene->day_utc_s) != TL_OK)
        return tl_simulate_field_bad(reader, "day", "must be a date like \"2026-08-12\"");
    sky.sun_radius_arcsec = w.sky.sun_radius_arcsec;
    sky.moon_k = w.sky.moon_k;
    sky.pressure_hpa = w.sky.pressure_hpa;
    sky.temperature_c = w.sky.temperature_c;
    sky.deltat_given = !isnan(w.sky.deltat_s);
    sky.deltat_s = sky.deltat_given ? w.sky.deltat_s : 0.0;
    scene->sky = sky;
    scene->seed = w.seed;
    scene->spot_count = w.spot_count;
    memcpy(scene->spot, w.spot, sizeof scene->spot);
    return TL_OK;
}

tl_status tl_simulate_scene_read(const char *path, char message[TL_SIMULATE_MESSAGE_SIZE],
                                 tl_simulate_scene *scene) {
    tl_simulate_reader reader = {.message = message};
    tl_simulate_scene read = {0};
    cJSON *json = NULL;
    tl_status status = parse(path, message, &json);
    if (status == TL_OK)
        status = take_day_and_place(&reader, json, &read);
    if (status == TL_OK)
        status = tl_simulate_frames_read(&reader, json, &read);
    cJSON_Delete(json);
    if (status == TL_ERR_MEMORY)
        file_bad(path, tl_status_text(status), message, status);
    if (status == TL_OK)
        *scene = read;
    else
        tl_simulate_scene_free(&read);
    return status;
}

void tl_simulate_scene_free(tl_simulate_scene *scene) {
    free(scene->frame);
    *scene = (tl_simulate_scene){0};
}
