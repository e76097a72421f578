/*
 * rows.c - tables that people write: a CSV file with a header row.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#include "base/base_internal.h"

static bool is_blank(char c) {
    return c == ' ' || c == '\t';
}

static char *trim(char *text) {
    while (is_blank(*text))
        text++;
    size_t length = strlen(text);
    while (length > 0 && is_blank(text[length - 1]))
        text[--length] = '\0';
    return text;
}

/* What stands between the cells: the first of these in the heading, outside of quotes. Spreadsheets
 * write semicolons where the comma is the decimal sign, and tabs as "text". */
static char find_separator(const char *heading) {
    bool quoted = false;
    for (; *heading != '\0'; heading++) {
        quoted = quoted != (*heading == '"');
        if (!quoted && strchr(",;\t", *heading) != NULL)
            return *heading;
    }
    return ',';
}

/* A number with a decimal comma gets a point. */
static void write_point(char *cell) {
    static const char digits[] = "0123456789";
    char *comma = cell + strspn(cell, "+-");
    comma += strspn(comma, digits);
    if (*comma == ',' && comma[1] != '\0' && comma[1 + strspn(comma + 1, digits)] == '\0')
        *comma = '.';
}

/*
 * Cut one cell off a line, in place; quotes as in RFC 4180, within one line. Returns what follows
 * the separator, NULL after the last cell; false in `*fine` for broken quotes.
 */
static char *cut_cell(char *line, char separator, char **cell, bool *fine) {
    char *start = line;
    while (is_blank(*start) && *start != separator)
        start++;
    if (*start != '"') {
        char *end = strchr(line, separator);
        if (end != NULL)
            *end = '\0';
        *cell = trim(line);
        return end != NULL ? end + 1 : NULL;
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
    while (is_blank(*from) && *from != separator)
        from++;
    *fine = *fine && (*from == separator || *from == '\0');
    char *rest = *from == separator ? start + (from + 1 - start) : NULL;
    *to = '\0';
    *cell = start;
    return rest;
}

/* The cells of a line, which is cut up; -1 if it breaks the rules. */
static int split(char *line, char separator, char *cell[TL_BASE_CELLS_MAX]) {
    int count = 0;
    bool fine = true;
    while (line != NULL && fine) {
        if (count == TL_BASE_CELLS_MAX)
            return -1;
        line = cut_cell(line, separator, &cell[count], &fine);
        if (separator != ',' && fine)
            write_point(cell[count]);
        count++;
    }
    return fine ? count : -1;
}

int tl_base_column(const tl_base_row *header, const char *name) {
    int found = TL_BASE_COLUMN_NONE;
    for (int i = 0; i < header->count; i++) {
        if (strcasecmp(header->cell[i], name) != 0) /* spreadsheets like capitals */
            continue;
        if (found != TL_BASE_COLUMN_NONE)
            return TL_BASE_COLUMN_TWICE;
        found = i;
    }
    return found;
}

const char *tl_base_cell(const tl_base_row *row, int column) {
    return column >= 0 && column < row->count ? row->cell[column] : "";
}

/* All rows of an open file; `*number` follows the lines. */
static tl_status read_lines(FILE *stream, int *number, tl_base_row_reader *take, void *context) {
    char *line = NULL;
    size_t room = 0;
    bool header_seen = false;
    char separator = ',';
    tl_status status = TL_OK;
    while (status == TL_OK && getline(&line, &room, stream) >= 0) {
        ++*number;
        line[strcspn(line, "\r\n")] = '\0';
        /* Spreadsheets put a byte order mark in front of UTF-8. */
        char *text = *number == 1 && strncmp(line, "\xef\xbb\xbf", 3) == 0 ? line + 3 : line;
        if (*trim(text) == '\0' || *trim(text) == '#')
            continue;
        tl_base_row row;
        if (!header_seen)
            separator = find_separator(text);
        row.count = split(text, separator, row.cell);
        status = row.count >= 0 ? take(context, &row, !header_seen) : TL_ERR_FORMAT;
        header_seen = true;
    }
    const bool no_memory = errno == ENOMEM;
    free(line);
    if (status == TL_OK &&
        !feof(stream)) /* a table that ends early must not pass for a whole one */
        return no_memory ? TL_ERR_MEMORY : TL_ERR_OPEN;
    if (status == TL_OK && *number == 0)
        return TL_ERR_EMPTY_FILE;
    if (status == TL_OK && !header_seen)
        return TL_ERR_FORMAT;
    return status;
}

tl_status tl_base_read_rows(const char *path, int *line, tl_base_row_reader *take, void *context) {
    FILE *stream = fopen(path, "r");
    if (stream == NULL)
        return tl_base_open_error();
    int number = 0;
    const tl_status status = read_lines(stream, &number, take, context);
    fclose(stream);
    if (status == TL_ERR_FORMAT)
        *line = number;
    return status;
}
