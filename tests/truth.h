/*
 * Reads the truth.csv and truth.json that `twolimb simulate` writes beside its pictures.
 */
#ifndef TWOLIMB_TESTS_TRUTH_H
#define TWOLIMB_TESTS_TRUTH_H

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cjson/cJSON.h>

#include "twolimb/limb.h"

enum { TRUTH_ROWS_MAX = 1000, TRUTH_LINE_MAX = 1024, TRUTH_COLUMNS_MAX = 40 };

typedef struct truth_row {
    char file[128], expected[16];
    double true_utc_s;
    double circle[TL_LIMB_PARAMS];
    double separation_sr, moon_pa_deg, up_pa_deg, blur_px, altitude_deg;
    double tilt_stretch, tilt_direction_deg;
    bool mirrored;
    tl_limb_prior prior; /* what an almanac at the true time and turn would say */
} truth_row;

/* "2026-08-12T17:47:03.250Z" to seconds; -1 if it is not that. */
static inline double truth_time(const char *text) {
    tl_calendar c;
    double t = -1;
    if (sscanf(text, "%d-%d-%dT%d:%d:%lf", &c.year, &c.month, &c.day, &c.hour, &c.minute,
               &c.second) != 6)
        return -1;
    return tl_time_from_calendar(&c, &t) == TL_OK ? t : -1;
}

static inline void truth_field(truth_row *row, const char *name, const char *value) {
    static const char *const CIRCLE[TL_LIMB_PARAMS] = {"sun_x_px",  "sun_y_px",  "sun_r_px",
                                                       "moon_x_px", "moon_y_px", "moon_r_px"};
    double number = atof(value);
    for (int i = 0; i < TL_LIMB_PARAMS; i++)
        if (strcmp(name, CIRCLE[i]) == 0)
            row->circle[i] = number;
    if (strcmp(name, "file") == 0)
        snprintf(row->file, sizeof row->file, "%s", value);
    else if (strcmp(name, "expected") == 0)
        snprintf(row->expected, sizeof row->expected, "%s", value);
    else if (strcmp(name, "true_utc") == 0)
        row->true_utc_s = truth_time(value);
    else if (strcmp(name, "separation_sr") == 0)
        row->separation_sr = number;
    else if (strcmp(name, "moon_pa_deg") == 0)
        row->moon_pa_deg = number;
    else if (strcmp(name, "up_pa_deg") == 0)
        row->up_pa_deg = number;
    else if (strcmp(name, "blur_px") == 0)
        row->blur_px = number;
    else if (strcmp(name, "altitude_deg") == 0)
        row->altitude_deg = number;
    else if (strcmp(name, "tilt_stretch") == 0)
        row->tilt_stretch = number;
    else if (strcmp(name, "tilt_direction_deg") == 0)
        row->tilt_direction_deg = number;
    else if (strcmp(name, "mirrored") == 0)
        row->mirrored = strcmp(value, "yes") == 0;
    else if (strcmp(name, "ratio") == 0)
        row->prior.ratio = number;
    else if (strcmp(name, "flattening") == 0)
        row->prior.flattening = number;
    else if (strcmp(name, "zenith_x") == 0)
        row->prior.zenith_x = number;
    else if (strcmp(name, "zenith_y") == 0)
        row->prior.zenith_y = number;
}

/* Cut a line at its commas in place; the fields hold no quotes. */
static inline size_t truth_split(char *line, char *field[TRUTH_COLUMNS_MAX]) {
    size_t n = 0;
    line[strcspn(line, "\r\n")] = '\0';
    for (char *at = line; at && n < TRUTH_COLUMNS_MAX; n++) {
        char *comma = strchr(at, ',');
        if (comma)
            *comma++ = '\0';
        field[n] = at;
        at = comma;
    }
    return n;
}

/* The number of rows read; 0 when the file is not there. `row` has TRUTH_ROWS_MAX places. */
static inline size_t truth_read(const char *from, truth_row *row) {
    char path[600], line[TRUTH_LINE_MAX], header[TRUTH_LINE_MAX];
    char *name[TRUTH_COLUMNS_MAX], *field[TRUTH_COLUMNS_MAX];
    snprintf(path, sizeof path, "%s/truth.csv", from);
    FILE *file = fopen(path, "r");
    if (!file)
        return 0;
    size_t rows = 0, names = fgets(header, sizeof header, file) ? truth_split(header, name) : 0;
    while (rows < TRUTH_ROWS_MAX && fgets(line, sizeof line, file)) {
        size_t fields = truth_split(line, field);
        row[rows] = (truth_row){.prior = {.ratio_sigma = 1e-6}};
        for (size_t i = 0; i < names && i < fields; i++)
            truth_field(&row[rows], name[i], field[i]);
        rows++;
    }
    fclose(file);
    return rows;
}

/* The whole of a small file as text, or NULL; the caller frees. */
static inline char *truth_text(const char *path) {
    FILE *file = fopen(path, "rb");
    if (!file)
        return NULL;
    enum { MOST = 1 << 22 };
    char *text = malloc(MOST);
    size_t n = text ? fread(text, 1, MOST - 1, file) : 0;
    if (text)
        text[n] = '\0';
    fclose(file);
    return text;
}

static inline cJSON *truth_json(const char *path) {
    char *text = truth_text(path);
    cJSON *root = text ? cJSON_Parse(text) : NULL;
    free(text);
    return root;
}

#endif
