/*
 * command_spots.c - the user's list of sunspots, the same way in every command.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "command.h"

enum { QUOTE_SIZE = 64 }; /* of a line shown in a message; what is longer is cut */

/* The start of one line of a file, "" if it cannot be had. */
static void read_line(const char *path, int number, char text[QUOTE_SIZE]) {
    char *line = NULL;
    size_t room = 0;
    bool there = false;
    text[0] = '\0';
    FILE *stream = fopen(path, "r");
    if (stream == NULL)
        return;
    for (int i = 0; i < number; i++)
        there = getline(&line, &room, stream) >= 0;
    fclose(stream);
    if (there) {
        size_t length = strcspn(line, "\r\n");
        if (length >= QUOTE_SIZE) {
            length = QUOTE_SIZE - 1;
            while (length > 0 && ((unsigned char)line[length] & 0xC0) == 0x80)
                length--; /* not through a letter of several bytes */
        }
        memcpy(text, line, length);
        text[length] = '\0';
    }
    free(line);
}

static int fail_format(const char *path, int number) {
    char line[QUOTE_SIZE];
    read_line(path, number, line);
    /* What spreadsheets call Unicode; the general rule would not explain it. */
    if (strncmp(line, "\xff\xfe", 2) == 0 || strncmp(line, "\xfe\xff", 2) == 0)
        return tl_command_fail(TL_EXIT_DATA,
                               "%s: line %d: the text is in UTF-16; save the list as UTF-8.", path,
                               number);
    return tl_command_fail(
        TL_EXIT_DATA,
        "%s: line %d breaks the rules of a list of sunspots: \"%s\". The first line names the "
        "columns: \"name\" (up to %d letters), \"time\" (2026-08-12 or 2026-08-12T07:30, UTC) and "
        "either \"place\" (N14W24), or \"latitude_deg\" with \"carrington_deg\" or "
        "\"longitude_deg\" (from the central meridian, west positive); each row gives one of "
        "these.",
        path, number, line, TL_SPOT_NAME_SIZE - 1);
}

int tl_command_read_spots(const char *path, tl_spot_list *list) {
    int line;
    const tl_status status = tl_spot_list_read(path, &line, list);
    if (status == TL_OK)
        return TL_EXIT_FINE;
    if (status == TL_ERR_FORMAT)
        return fail_format(path, line);
    if (status == TL_ERR_EMPTY_FILE)
        return tl_command_fail(TL_EXIT_DATA, "%s: The list of sunspots is empty.", path);
    return tl_command_fail_status(status, path);
}
