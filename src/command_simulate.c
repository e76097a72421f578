/*
 * command_simulate.c - twolimb simulate SCENE OUT
 */
#include <getopt.h>
#include <stdio.h>

#include "command.h"
#include "twolimb/simulate.h"

static const char help[] =
    "usage: twolimb simulate SCENE OUT\n"
    "\n"
    "Draw the pictures of an invented eclipse day. SCENE is a JSON file that says where and\n"
    "when, and what camera, telescope and sky do (docs/scene.md describes every field). OUT is\n"
    "a new folder: the pictures as JPEG with EXIF, truth.csv with the true circles, turn and\n"
    "time of each, truth_spots.csv with the places of sunspots in them, and truth.json with\n"
    "the contacts, the clock and the spots. The same scene gives the\n"
    "same pictures. OUT appears whole or not at all.\n"
    "\n"
    "    -h, --help     this text\n"
    "\n"
    "Exit status: 0 all drawn; 64 wrong use; 65 the scene breaks its rules; 66 no such scene;\n"
    "71 no memory; 73 OUT cannot be created, or is not empty; 74 it cannot be written to its "
    "end.\n";

/* A scene with an impossible day or place is a bad scene here, not wrong use. */
static int exit_status(tl_status status) {
    if (status == TL_ERR_RANGE || status == TL_ERR_NO_ECLIPSE)
        return TL_EXIT_DATA;
    if (status == TL_ERR_ARGUMENT)
        return TL_EXIT_CREATE;
    return tl_command_exit(status);
}

int tl_command_simulate(int argc, char **argv) {
    static const struct option options[] = {{"help", no_argument, NULL, 'h'}, {NULL, 0, NULL, 0}};
    opterr = 0;
    optind = 1;
    for (int c = getopt_long(argc, argv, ":h", options, NULL); c != -1;
         c = getopt_long(argc, argv, ":h", options, NULL)) {
        if (c != 'h')
            return tl_command_bad_option(c, argv);
        fputs(help, stdout);
        return tl_command_finish(TL_EXIT_FINE);
    }
    if (argc - optind != 2)
        return tl_command_fail(TL_EXIT_USAGE, "simulate needs a scene file and a new folder: "
                                              "twolimb simulate SCENE OUT.");
    const char *out = argv[optind + 1];
    char message[TL_SIMULATE_MESSAGE_SIZE];
    tl_command_guard(out);
    const tl_status status = tl_simulate(argv[optind], out, message);
    tl_command_unguard();
    if (status != TL_OK)
        return tl_command_fail(exit_status(status), "%s", message);
    tl_command_say("The pictures, truth.csv, truth_spots.csv and truth.json are in %s.", out);
    return tl_command_finish(TL_EXIT_FINE);
}
