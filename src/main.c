/*
 * main.c - the command line: which command.
 */
#include <signal.h>
#include <stdio.h>
#include <string.h>

#include "command.h"

static const char help[] =
    "twolimb measures a partial solar eclipse from a handful of timestamped pictures.\n"
    "\n"
    "    twolimb analyse PICTURES...               measure pictures, write tables and a page\n"
    "    twolimb predict --site LAT,LON --date DAY what an almanac says for a place and day\n"
    "    twolimb simulate SCENE OUT                pictures of an invented eclipse, with truth\n"
    "    twolimb COMMAND --help                    the options of a command\n"
    "    twolimb --version\n"
    "\n"
    "Exit status: 0 all fine; 1 some frames not measured; 2 nothing measured, or no eclipse;\n"
    "64 wrong use; 65 a file breaks its rules; 66 an input is missing; 71 no memory;\n"
    "73 the output cannot be created; 74 it cannot be written to its end.\n"
    "\n"
    "CAUTION. The Sun blinds without warning or pain. Put the filter on the FRONT of the\n"
    "optics, made for the purpose and firmly held; never use one at the eyepiece. For eyes:\n"
    "viewers to ISO 12312-2, never behind a telescope. Never leave a projecting telescope\n"
    "alone. Filters come off only inside totality. Follow local rules and qualified advice.\n";

typedef struct command {
    const char *name;
    int (*run)(int argc, char **argv);
} command;

static const command commands[] = {
    {"analyse", tl_command_analyse},
    {"predict", tl_command_predict},
    {"simulate", tl_command_simulate},
};

int main(int argc, char **argv) {
    if (argc < 2) {
        fputs(help, stderr);
        return TL_EXIT_USAGE;
    }
    const char *name = argv[1];
    tl_command_keep_memory();
    /* A limit on the size of files (ulimit -f) is then an error of writing like any other. */
    signal(SIGXFSZ, SIG_IGN);
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++)
        if (strcmp(name, commands[i].name) == 0)
            return commands[i].run(argc - 1, argv + 1);
    if (strcmp(name, "--help") == 0 || strcmp(name, "-h") == 0 || strcmp(name, "help") == 0) {
        fputs(help, stdout);
        return tl_command_finish(TL_EXIT_FINE);
    }
    if (strcmp(name, "--version") == 0) {
        puts("twolimb " TL_VERSION);
        return tl_command_finish(TL_EXIT_FINE);
    }
    return tl_command_fail(TL_EXIT_USAGE, "There is no command \"%s\"; see twolimb --help.", name);
}
