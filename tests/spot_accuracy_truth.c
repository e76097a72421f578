/*
 * spot_accuracy_truth.c - what was drawn: truth.csv, truth_spots.csv, truth.json, and the dust of
 * the scene.
 */
#include <math.h>

#include "spot_accuracy.h"

enum { PATH_SIZE = 600 };

static double json_number(const cJSON *object, const char *name) {
    const cJSON *item = cJSON_GetObjectItem(object, name);
    return cJSON_IsNumber(item) ? item->valuedouble : NAN;
}

static void read_passage(const cJSON *spot, const char *name, double t_utc_s[TL_SPOT_TOUCHES]) {
    static const char *const MEMBER[TL_SPOT_TOUCHES] = {"first_utc", "centre_utc", "last_utc"};
    const cJSON *passage = cJSON_GetObjectItem(spot, name);
    for (int i = 0; i < TL_SPOT_TOUCHES; i++) {
        const cJSON *text = cJSON_GetObjectItem(passage, MEMBER[i]);
        t_utc_s[i] = cJSON_IsString(text) ? truth_time(text->valuestring) : NAN;
    }
}

static void read_spot(const cJSON *json, spot_true *spot) {
    const cJSON *name = cJSON_GetObjectItem(json, "name");
    *spot = (spot_true){
        .latitude_rad = json_number(json, "latitude_deg") * TL_DEG,
        .carrington_rad = json_number(json, "carrington_at_max_deg") * TL_DEG,
        .east_sr = json_number(json, "east_at_max_sr"),
        .north_sr = json_number(json, "north_at_max_sr"),
        .radius_sr = json_number(json, "radius_at_max_sr"),
        .area_ppm = json_number(json, "area_ppm"),
        .umbra_arcsec = 2.0 * json_number(json, "umbra") *
                        sin(json_number(json, "radius_deg") * TL_DEG) * SPOT_SUN_ARCSEC,
    };
    snprintf(spot->name, sizeof spot->name, "%s", cJSON_IsString(name) ? name->valuestring : "");
    read_passage(json, "covered", spot->covered_utc_s);
    read_passage(json, "uncovered", spot->uncovered_utc_s);
}

static bool read_spots(const char *folder, spot_truth *truth) {
    char path[PATH_SIZE];
    snprintf(path, sizeof path, "%.500s/truth.json", folder);
    cJSON *root = truth_json(path);
    const cJSON *spots = cJSON_GetObjectItem(root, "spots"), *spot;
    const cJSON *site = cJSON_GetObjectItem(root, "site");
    bool good = cJSON_IsArray(spots) && cJSON_GetArraySize(spots) <= SPOT_TRUE_MAX;
    truth->site = (tl_site){TL_SITE_GIVEN, json_number(site, "lat_deg") * TL_DEG,
                            json_number(site, "lon_deg") * TL_DEG, json_number(site, "height_m")};
    truth->clock_offset_s =
        json_number(cJSON_GetArrayItem(cJSON_GetObjectItem(root, "sets"), 0), "offset_s");
    if (good)
        cJSON_ArrayForEach(spot, spots) {
            read_spot(spot, &truth->spot[truth->spot_count++]);
        }
    cJSON_Delete(root);
    return good;
}

/* "file,spot,x_px,y_px,state,from_sun_limb_sr,from_moon_limb_sr,east_sr,north_sr,radius_sr" */
enum { FILE_NAME, SPOT_NAME, X, Y, STATE, FROM_SUN, FROM_MOON, EAST, NORTH, RADIUS, COLUMNS };

static bool read_sight(char *line, spot_truth *truth) {
    static const char *const STATES[] = {"visible", "on limb", "covered", "behind"};
    char *field[TRUTH_COLUMNS_MAX];
    size_t frame, spot, state;
    if (truth_split(line, field) != COLUMNS)
        return false;
    frame = spot_frame_of(truth, field[FILE_NAME]);
    for (spot = 0; spot < truth->spot_count; spot++)
        if (strcmp(truth->spot[spot].name, field[SPOT_NAME]) == 0)
            break;
    for (state = 0; state < 4; state++)
        if (strcmp(STATES[state], field[STATE]) == 0)
            break;
    if (frame == truth->frame_count || spot == truth->spot_count || state == 4)
        return false;
    truth->sight[spot][frame] = (spot_true_sight){
        (spot_true_state)state, atof(field[X]),    atof(field[Y]),     atof(field[FROM_SUN]),
        atof(field[FROM_MOON]), atof(field[EAST]), atof(field[NORTH]), atof(field[RADIUS])};
    return true;
}

static bool read_sights(const char *folder, spot_truth *truth) {
    char path[PATH_SIZE], line[TRUTH_LINE_MAX];
    snprintf(path, sizeof path, "%.500s/truth_spots.csv", folder);
    FILE *file = fopen(path, "r");
    bool good = file != NULL && fgets(line, sizeof line, file) != NULL;
    size_t rows = 0;
    while (good && fgets(line, sizeof line, file) != NULL) {
        good = read_sight(line, truth);
        rows++;
    }
    if (file != NULL)
        fclose(file);
    return good && rows == truth->frame_count * truth->spot_count;
}

static bool read_frames(const char *folder, spot_truth *truth) {
    truth_row *row = malloc(TRUTH_ROWS_MAX * sizeof *row);
    size_t count = row != NULL ? truth_read(folder, row) : 0;
    bool good = count > 0 && count <= SPOT_FRAMES_MAX;
    if (good) {
        memcpy(truth->frame, row, count * sizeof *row);
        truth->frame_count = count;
    }
    free(row);
    return good;
}

/* Dust, and whether the pictures are copies. */
static bool read_scene(const char *scene_path, spot_truth *truth) {
    cJSON *root = truth_json(scene_path);
    const cJSON *defaults = cJSON_GetObjectItem(root, "defaults");
    const cJSON *dust = cJSON_GetObjectItem(defaults, "dust");
    const cJSON *piece;
    bool good = root != NULL && cJSON_GetArraySize(dust) <= SPOT_DUST_MAX;
    if (good) {
        truth->is_copy = cJSON_GetObjectItem(defaults, "copy") != NULL;
        cJSON_ArrayForEach(piece, dust) {
            truth->dust[truth->dust_count].x_px = json_number(piece, "x_px");
            truth->dust[truth->dust_count].y_px = json_number(piece, "y_px");
            truth->dust[truth->dust_count++].radius_px = json_number(piece, "radius_px");
        }
    }
    cJSON_Delete(root);
    return good;
}

bool spot_truth_read(const char *scene_path, const char *folder, spot_truth *truth) {
    *truth = (spot_truth){0};
    return read_frames(folder, truth) && read_spots(folder, truth) && read_sights(folder, truth) &&
           read_scene(scene_path, truth);
}
