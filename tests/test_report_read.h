/*
 * test_report_read.h - frames.csv and sequence.json read back, apart from what writes them.
 */
#ifndef TWOLIMB_TEST_REPORT_READ_H
#define TWOLIMB_TEST_REPORT_READ_H

#include <cjson/cJSON.h>

#include "report/report_internal.h"
#include "test_report_series.h"

/* ---- a reader for CSV as RFC 4180 has it, apart from the writer --------------------------- */

enum { MAX_ROWS = 20, MAX_COLUMNS = 80 };
typedef struct table {
    char *cell[MAX_ROWS][MAX_COLUMNS];
    size_t columns[MAX_ROWS], rows;
} table;

static inline void read_csv(const char *text, table *t) {
    memset(t, 0, sizeof *t);
    char buffer[4096];
    size_t length = 0;
    bool quoted = false;
    for (const char *p = text; *p; p++) {
        if (quoted && p[0] == '"' && p[1] == '"') {
            buffer[length++] = *++p;
        } else if (*p == '"') {
            quoted = !quoted;
        } else if (!quoted && (*p == ',' || (p[0] == '\r' && p[1] == '\n'))) {
            buffer[length] = '\0';
            t->cell[t->rows][t->columns[t->rows]++] = series_copy(buffer);
            length = 0;
            if (*p == '\r') {
                p++;
                t->rows++;
            }
        } else {
            buffer[length++] = *p;
        }
        assert_true(length < sizeof buffer && t->rows < MAX_ROWS);
    }
    assert_false(quoted);
    assert_int_equal(length, 0);
}

static inline void free_table(table *t) {
    for (size_t r = 0; r < t->rows; r++)
        for (size_t c = 0; c < t->columns[r]; c++)
            free(t->cell[r][c]);
}

static inline const char *cell(const table *t, size_t frame, const char *name) {
    for (size_t c = 0; c < t->columns[0]; c++)
        if (strcmp(t->cell[0][c], name) == 0)
            return t->cell[frame + 1][c];
    fail_msg("no column %s", name);
    return NULL;
}

static inline double number(const table *t, size_t frame, const char *name) {
    char *end;
    const char *text = cell(t, frame, name);
    const double value = strtod(text, &end);
    assert_true(end != text && *end == '\0');
    return value;
}

static inline table csv_of(const tl_sequence *s) {
    tl_report_text text = {0};
    table t;
    assert_int_equal(tl_report_csv(s, &text), TL_OK);
    read_csv(tl_report_text_string(&text), &t);
    tl_report_text_free(&text);
    return t;
}

/* ---- sequence.json ------------------------------------------------------------------------ */

static inline cJSON *json_of(const tl_sequence *s) {
    tl_report_text text = {0};
    assert_int_equal(tl_report_json(s, &text), TL_OK);
    cJSON *root = cJSON_Parse(tl_report_text_string(&text));
    assert_non_null(root);
    tl_report_text_free(&text);
    return root;
}

/* The item at "a.b.c"; the test fails if it is not there. */
static inline const cJSON *at(const cJSON *root, const char *path) {
    char name[64];
    const cJSON *item = root;
    while (*path) {
        const size_t length = strcspn(path, ".");
        snprintf(name, sizeof name, "%.*s", (int)length, path);
        item = cJSON_GetObjectItemCaseSensitive(item, name);
        if (!item)
            fail_msg("no key %s", name);
        path += length + (path[length] == '.');
    }
    return item;
}

static inline void assert_number(const cJSON *root, const char *path, double expected) {
    const cJSON *item = at(root, path);
    assert_true(cJSON_IsNumber(item));
    /* decimal texts read back: equal to the nearest double */
    assert_close(item->valuedouble, expected, 1e-12);
}

static inline void assert_string(const cJSON *root, const char *path, const char *expected) {
    assert_true(cJSON_IsString(at(root, path)));
    assert_string_equal(at(root, path)->valuestring, expected);
}

#endif
