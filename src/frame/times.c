/*
 * times.c - a user's table of times: file name to camera time.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "base/base_internal.h"
#include "frame/frame_internal.h"

typedef struct entry {
    char *name; /* owned */
    tl_camera_time time;
} entry;

struct tl_times {
    entry *entry; /* owned */
    size_t count, room;
};

enum { COLUMNS_MAX = 32 };
enum { COLUMN_FILE, COLUMN_TIME, COLUMN_SIGMA, COLUMN_ZONE, COLUMN_KINDS };
static const char *const column_name[COLUMN_KINDS] = {"file", "time", "sigma_s", "zone"};

/* Which cell of a row holds what; -1: the table has no such column. */
typedef struct columns {
    int at[COLUMN_KINDS];
} columns;

static char *trim(char *text) {
    text += strspn(text, " \t");
    size_t length = strlen(text);
    while (length > 0 && (text[length - 1] == ' ' || text[length - 1] == '\t'))
        text[--length] = '\0';
    return text;
}

/*
 * Cut one cell off a line, in place; quotes as in RFC 4180, within one line. Returns what follows
 * the comma, NULL after the last cell; false in `*fine` for broken quotes.
 */
static char *cut_cell(char *line, char **cell, bool *fine) {
    char *start = line + strspn(line, " \t");
    if (*start != '"') {
        char *comma = strchr(line, ',');
        if (comma != NULL)
            *comma = '\0';
        *cell = trim(line);
        return comma != NULL ? comma + 1 : NULL;
    }
    char *to = start;
    const char *from = start + 1;
    for (; *from != '\0' && (from[0] != '"' || from[1] == '"'); from++) {
        if (*from == '"')
            from++;
        *to++ = *from;
    }
    if (*from != '"') {
        *fine = false;
        return NULL;
    }
    from++;
    from += strspn(from, " \t");
    *fine = *fine && (*from == ',' || *from == '\0');
    char *rest = *from == ',' ? start + (from + 1 - start) : NULL;
    *to = '\0';
    *cell = start;
    return rest;
}

/* The cells of a line, which is cut up; -1 if it breaks the rules. */
static int split(char *line, char *cell[COLUMNS_MAX]) {
    int count = 0;
    bool fine = true;
    while (line != NULL && fine) {
        if (count == COLUMNS_MAX)
            return -1;
        line = cut_cell(line, &cell[count++], &fine);
    }
    return fine ? count : -1;
}

static bool read_header(char *const *cell, int count, columns *which) {
    for (int kind = 0; kind < COLUMN_KINDS; kind++) {
        which->at[kind] = -1;
        for (int i = 0; i < count; i++) {
            if (strcmp(cell[i], column_name[kind]) != 0)
                continue;
            if (which->at[kind] >= 0)
                return false;
            which->at[kind] = i;
        }
    }
    return which->at[COLUMN_FILE] >= 0 && which->at[COLUMN_TIME] >= 0;
}

/* ISO 8601 date and time, fraction and zone as far as they are there. */
static bool parse_time(const char *text, tl_camera_time *time) {
    double date_s, clock_s, fraction_s = 0.0, unit_s = 1.0;
    if (!tl_base_read_date(&text, '-', &date_s) || (*text != 'T' && *text != ' '))
        return false;
    text++;
    if (!tl_base_read_clock(&text, ':', &clock_s))
        return false;
    if (*text == '.') {
        const size_t digits = strspn(++text, "0123456789");
        if (digits == 0)
            return false;
        for (size_t i = 0; i < digits; i++) {
            unit_s /= 10.0;
            fraction_s += (text[i] - '0') * unit_s;
        }
        text += digits;
    }
    tl_camera_time t = {.source = TL_TIME_TABLE};
    /* Taken as written: whoever writes a table rounds, a camera cuts. */
    t.t_camera_s = date_s + clock_s + fraction_s;
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

static const char *cell_of(char *const *cell, int count, int at) {
    return at >= 0 && at < count ? cell[at] : "";
}

static const entry *find(const tl_times *times, const char *name) {
    for (size_t i = 0; i < times->count; i++)
        if (strcmp(times->entry[i].name, name) == 0)
            return &times->entry[i];
    return NULL;
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

/* A row without a time says nothing of its file; that is allowed. */
static tl_status read_row(char *const *cell, int count, const columns *which, tl_times *times) {
    const char *name = tl_frame_base_name(cell_of(cell, count, which->at[COLUMN_FILE]));
    const char *when = cell_of(cell, count, which->at[COLUMN_TIME]);
    const char *sigma = cell_of(cell, count, which->at[COLUMN_SIGMA]);
    const char *zone = cell_of(cell, count, which->at[COLUMN_ZONE]);
    tl_camera_time time;
    if (*name == '\0' || find(times, name) != NULL)
        return TL_ERR_FORMAT;
    if (*when == '\0')
        return TL_OK;
    if (!parse_time(when, &time) || (*sigma != '\0' && !parse_sigma(sigma, &time.sigma_s)) ||
        (*zone != '\0' && !parse_zone(zone, &time)))
        return TL_ERR_FORMAT;
    return add(times, name, &time);
}

/* All rows of an open file; `*number` follows the lines. */
static tl_status read_lines(FILE *stream, int *number, tl_times *times) {
    char *line = NULL;
    size_t room = 0;
    columns which;
    bool header_seen = false;
    tl_status status = TL_OK;
    while (status == TL_OK && getline(&line, &room, stream) >= 0) {
        ++*number;
        line[strcspn(line, "\r\n")] = '\0';
        /* Spreadsheets put a byte order mark in front of UTF-8. */
        char *text = *number == 1 && strncmp(line, "\xef\xbb\xbf", 3) == 0 ? line + 3 : line;
        if (*trim(text) == '\0' || *trim(text) == '#')
            continue;
        char *cell[COLUMNS_MAX];
        const int count = split(text, cell);
        if (count < 0)
            status = TL_ERR_FORMAT;
        else if (header_seen)
            status = read_row(cell, count, &which, times);
        else if (!read_header(cell, count, &which))
            status = TL_ERR_FORMAT;
        header_seen = true;
    }
    free(line);
    if (status == TL_OK && ferror(stream))
        return TL_ERR_OPEN;
    if (status == TL_OK && *number == 0)
        return TL_ERR_EMPTY_FILE;
    if (status == TL_OK && !header_seen)
        return TL_ERR_FORMAT;
    return status;
}

tl_status tl_times_read(const char *path, int *line, tl_times **times) {
    FILE *stream = fopen(path, "r");
    if (stream == NULL)
        return TL_ERR_OPEN;
    tl_times *table = calloc(1, sizeof *table);
    int number = 0;
    const tl_status status = table != NULL ? read_lines(stream, &number, table) : TL_ERR_MEMORY;
    fclose(stream);
    if (status == TL_OK) {
        *times = table;
        return TL_OK;
    }
    tl_times_free(table);
    if (status == TL_ERR_FORMAT)
        *line = number;
    return status;
}

bool tl_times_find(const tl_times *times, const char *name, tl_camera_time *time) {
    const entry *found = find(times, tl_frame_base_name(name));
    if (found == NULL)
        return false;
    *time = found->time;
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
