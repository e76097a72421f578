/*
 * command_spots.c - the user's list of sunspots, the same way in every command.
 */
#include "command.h"

int tl_command_read_spots(const char *path, tl_spot_list *list) {
    int line;
    const tl_status status = tl_spot_list_read(path, &line, list);
    if (status == TL_ERR_FORMAT)
        return tl_command_fail(
            TL_EXIT_DATA,
            "%s: line %d breaks the rules of a list of sunspots; it needs columns \"name\" (up to "
            "%d letters), \"time\" (2026-08-12 or 2026-08-12T07:30, UTC) and either \"place\" "
            "(N14W24), or \"latitude_deg\" with \"carrington_deg\" or \"longitude_deg\" (from the "
            "central meridian, west positive); in each row one of these.",
            path, line, TL_SPOT_NAME_SIZE - 1);
    return status == TL_OK ? TL_EXIT_FINE : tl_command_fail_status(status, path);
}
