/*
 * times.c - a user's table of times: file name to camera time.
 */
#define _GNU_SOURCE /* realpath */

#include <limits.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#include "base/base_internal.h"
#include "frame/frame_internal.h"

typedef struct entry {
    char *name; /* owned; with the folders before it as far as they are written */
    tl_camera_time time;
} entry;

struct tl_times {
    entry *entry; /* owned */
    size_t count, room;
};

enum { COLUMN_FILE, COLUMN_TIME, COLUMN_SIGMA, COLUMN_ZONE, COLUMN_KINDS };
static const char *const column_name[COLUMN_KINDS] = {"file", "time", "sigma_s", "zone"};

/* Which cell of a row holds what; -1: the table has no such column. */
typedef struct columns {
    int at[COLUMN_KINDS];
} columns;

static bool read_header(const tl_base_row *row, columns *which) {
    for (int kind = 0; kind < COLUMN_KINDS; kind++) {
        which->at[kind] = tl_base_column(row, column_name[kind]);
        if (which->at[kind] == TL_BASE_COLUMN_TWICE)
            return false;
    }
    return which->at[COLUMN_FILE] >= 0 && which->at[COLUMN_TIME] >= 0;
}

/* ISO 8601 date and time, fraction and zone as far as they are there. */
static bool parse_time(const char *text, tl_camera_time *time) {
    tl_camera_time t = {.source = TL_TIME_TABLE};
    double unit_s;
    /* Taken as written: whoever writes a table rounds, a camera cuts. */
    if (!tl_base_read_moment(&text, &t.t_camera_s, &unit_s))
        return false;
    t.sigma_s = TL_FRAME_UNIFORM_SIGMA * unit_s;
    t.zone_known = tl_base_read_zone(&text, &t.zone_minutes);
    if (*text != '\0')
        return false;
    *time = t;
    return true;
}

static bool parse_sigma(const char *text, double *sigma_s) {
    double value;
    if (!tl_base_read_decimal(&text, &value) || *text != '\0' || value <= 0.0)
        return false;
    *sigma_s = value;
    return true;
}

/* A zone of its own column; it must not contradict one written behind the time. */
static bool parse_zone(const char *text, tl_camera_time *time) {
    int minutes;
    if (tl_zone_parse(text, &minutes) != TL_OK ||
        (time->zone_known && time->zone_minutes != minutes))
        return false;
    time->zone_known = true;
    time->zone_minutes = minutes;
    return true;
}

static bool is_listed(const tl_times *times, const char *name) {
    for (size_t i = 0; i < times->count; i++)
        if (strcmp(times->entry[i].name, name) == 0)
            return true;
    return false;
}

static tl_status add(tl_times *times, const char *name, const tl_camera_time *time) {
    if (times->count == times->room) {
        const size_t room = times->room > 0 ? 2 * times->room : 64;
        entry *grown = realloc(times->entry, room * sizeof *grown);
        if (grown == NULL)
            return TL_ERR_MEMORY;
        times->entry = grown;
        times->room = room;
    }
    char *copy = strdup(name);
    if (copy == NULL)
        return TL_ERR_MEMORY;
    times->entry[times->count++] = (entry){copy, *time};
    return TL_OK;
}

/* A table being read. */
typedef struct reading {
    tl_times *times;
    columns which;
} reading;

/* A row without a time says nothing of its file; that is allowed. */
static tl_status read_row(void *context, const tl_base_row *row, bool header) {
    reading *r = context;
    if (header)
        return read_header(row, &r->which) ? TL_OK : TL_ERR_FORMAT;
    const char *name = tl_base_cell(row, r->which.at[COLUMN_FILE]);
    const char *when = tl_base_cell(row, r->which.at[COLUMN_TIME]);
    const char *sigma = tl_base_cell(row, r->which.at[COLUMN_SIGMA]);
    const char *zone = tl_base_cell(row, r->which.at[COLUMN_ZONE]);
    tl_camera_time time;
    while (strncmp(name, "./", 2) == 0)
        name += 2;
    if (*tl_frame_base_name(name) == '\0' || is_listed(r->times, name))
        return TL_ERR_FORMAT;
    if (*when == '\0')
        return TL_OK;
    if (!parse_time(when, &time) || (*sigma != '\0' && !parse_sigma(sigma, &time.sigma_s)) ||
        (*zone != '\0' && !parse_zone(zone, &time)))
        return TL_ERR_FORMAT;
    return add(r->times, name, &time);
}

tl_status tl_times_read(const char *path, int *line, tl_times **times) {
    reading r = {.times = calloc(1, sizeof *r.times)};
    if (r.times == NULL)
        return TL_ERR_MEMORY;
    const tl_status status = tl_base_read_rows(path, line, read_row, &r);
    if (status == TL_OK)
        *times = r.times;
    else
        tl_times_free(r.times);
    return status;
}

/* Whether a row for `name` is one for the file at `path`: its end, whole folders. */
static bool fits(const char *name, const char *path) {
    const size_t length = strlen(name), path_length = strlen(path);
    if (length > path_length || strcmp(path + (path_length - length), name) != 0)
        return false;
    return length == path_length || (*name != '/' && path[path_length - length - 1] == '/');
}

size_t tl_times_row(const tl_times *times, const char *path) {
    char real[PATH_MAX]; /* has folders that need not be typed */
    if (realpath(path, real) == NULL)
        real[0] = '\0';
    size_t best = SIZE_MAX, longest = 0;
    for (size_t i = 0; i < times->count; i++) {
        const char *name = times->entry[i].name;
        if (strlen(name) <= longest || (!fits(name, path) && !fits(name, real)))
            continue;
        best = i;
        longest = strlen(name);
    }
    return best;
}

bool tl_times_find(const tl_times *times, const char *path, tl_camera_time *time) {
    const size_t row = tl_times_row(times, path);
    if (row == SIZE_MAX)
        return false;
    *time = times->entry[row].time;
    return true;
}

const char *tl_times_name(const tl_times *times, size_t i) {
    return i < times->count ? times->entry[i].name : NULL;
}

void tl_times_free(tl_times *times) {
    if (times == NULL)
        return;
    for (size_t i = 0; i < times->count; i++)
        free(times->entry[i].name);
    free(times->entry);
    free(times);
}
