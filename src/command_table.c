/*
 * command_table.c - what is wrong with a table that somebody wrote, the same way for every table.
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "command.h"

enum { QUOTE_SIZE = 64 }; /* of a line shown in a message; what is longer is cut */

/* The start of one line of a file, "" if it cannot be had. */
static void read_line(const char *path, int number, char text[QUOTE_SIZE]) {
    char *line = NULL;
    size_t room = 0;
    bool there = false;
    struct stat about;
    text[0] = '\0';
    if (stat(path, &about) != 0 || !S_ISREG(about.st_mode))
        return; /* a pipe gives its lines once */
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

int tl_command_fail_table(const char *path, int number, const char *what, const char *rules) {
    char line[QUOTE_SIZE];
    read_line(path, number, line);
    /* What spreadsheets call Unicode; the general rule would not explain it. */
    if (strncmp(line, "\xff\xfe", 2) == 0 || strncmp(line, "\xfe\xff", 2) == 0)
        return tl_command_fail(TL_EXIT_DATA,
                               "%s: line %d: the text is in UTF-16; save it as CSV in UTF-8.", path,
                               number);
    return tl_command_fail(TL_EXIT_DATA, "%s: line %d breaks the rules of %s: \"%s\". %s", path,
                           number, what, line, rules);
}
