/*
 * command_spots.c - the user's list of sunspots, the same way in every command.
 */
#include <stdio.h>

#include "command.h"

/* For the message: how such a list is written. */
static const char rules[] =
    "The first line names the columns: \"name\" (up to %d letters), \"time\" (2026-08-12 or "
    "2026-08-12T07:30, UTC) and either \"place\" (N14W24), or \"latitude_deg\" with "
    "\"carrington_deg\" or \"longitude_deg\" (from the central meridian, west positive); each row "
    "gives one of these.";

int tl_command_read_spots(const char *path, tl_spot_list *list) {
    int line;
    const tl_status status = tl_spot_list_read(path, &line, list);
    if (status == TL_OK)
        return TL_EXIT_FINE;
    if (status == TL_ERR_FORMAT) {
        char text[sizeof rules + 16];
        snprintf(text, sizeof text, rules, TL_SPOT_NAME_SIZE - 1);
        return tl_command_fail_table(path, line, "a list of sunspots", text);
    }
    if (status == TL_ERR_EMPTY_FILE)
        return tl_command_fail(TL_EXIT_DATA, "%s: The list of sunspots is empty.", path);
    return tl_command_fail_status(status, path);
}
