/*
 * command_analyse.h - what the command line of "twolimb analyse" asks for.
 */
#ifndef TWOLIMB_COMMAND_ANALYSE_H
#define TWOLIMB_COMMAND_ANALYSE_H

#include "command.h"
#include "twolimb/analyse.h"

/* What the command line asks for. */
typedef struct tl_analyse_request {
    const char *folder;
    const char *times_path; /* or NULL */
    const char *spots_path; /* or NULL */
    const char **exclude;   /* room for all arguments */
    tl_report_scope scope;
    bool quiet, help;
    tl_file_walk walk;
    tl_analyse_options analyse;
    const char *const *pictures;
    size_t picture_count;
} tl_analyse_request;

/* Read the command line into `r`, or say what is wrong with it; TL_EXIT_FINE or the exit status.
 * With --help what follows is not read. */
int tl_command_read_analyse(int argc, char **argv, tl_analyse_request *r);
extern const char tl_command_analyse_help[];

#endif
