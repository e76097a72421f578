/*
 * command.h - what the commands of the program share.
 *
 * A command gets its own name as argv[0] and what follows it on the command line; it returns the
 * exit status of the program.
 */
#ifndef TWOLIMB_COMMAND_H
#define TWOLIMB_COMMAND_H

#include <stdio.h>

#include "twolimb/spot.h"

/* From 64 on the meanings of BSD sysexits.h. */
enum {
    TL_EXIT_FINE = 0,
    TL_EXIT_SOME = 1,    /* some frames were not measured */
    TL_EXIT_NOTHING = 2, /* nothing measured; no eclipse */
    TL_EXIT_USAGE = 64,  /* wrong use of the command line */
    TL_EXIT_DATA = 65,   /* a text file breaks the rules of its format */
    TL_EXIT_INPUT = 66,  /* an input is missing or cannot be opened */
    TL_EXIT_SYSTEM = 71, /* not enough memory */
    TL_EXIT_CREATE = 73, /* the output cannot be created */
    TL_EXIT_WRITE = 74   /* the output cannot be written to its end: disk full */
};

int tl_command_analyse(int argc, char **argv);
int tl_command_predict(int argc, char **argv);
int tl_command_simulate(int argc, char **argv);

/* Memory that is freed is kept for the next picture instead of given back and asked for again, page
 * by page: a tenth of the time that a picture takes. Where the C library has a say in it. */
void tl_command_keep_memory(void);

/* Print "twolimb: " and one sentence on the standard error stream; returns `exit_status`. Control
 * characters and the like, which a file name may hold, come out as '?'. */
#if defined(__GNUC__)
__attribute__((format(printf, 2, 3)))
#endif
int tl_command_fail(int exit_status, const char *format, ...);

/* The same on the standard output, without "twolimb: ". */
#if defined(__GNUC__)
__attribute__((format(printf, 1, 2)))
#endif
void tl_command_say(const char *format, ...);

/* tl_command_fail with the text of a status; `subject` (a file, an option) goes in front. */
int tl_command_fail_status(tl_status status, const char *subject);

/* The same for line `number` of a table that breaks its `rules`; `what` it was to be. Quotes the
 * line; TL_EXIT_DATA. */
int tl_command_fail_table(const char *path, int number, const char *what, const char *rules);

/* Read a list of sunspots, or say what is wrong with it; TL_EXIT_FINE or the exit status. */
int tl_command_read_spots(const char *path, tl_spot_list *list);

/* The exit status for a failure. */
int tl_command_exit(tl_status status);

/* Values of long options for getopt_long start here, above all letters. */
enum { TL_OPTION_LONG = 1000 };

/* Say what is wrong with the option that getopt_long (opterr 0, short options starting with ':')
 * answered with '?' or ':'. Returns TL_EXIT_USAGE. */
int tl_command_bad_option(int answer, char **argv);

/* Between these two nothing that a library writes to the standard error stream is seen, only what
 * goes to tl_command_terminal(). Without a way to do so all stays as it is. */
void tl_command_hush(void);
void tl_command_unhush(void);
/* Where our own words to the user go: the standard error stream, or the copy of it while it leads
 * nowhere. */
FILE *tl_command_terminal(void);

/*
 * From here to tl_command_unguard a signal to stop (SIGINT, SIGTERM, SIGHUP) removes what was being
 * written that was to become `folder`, says so, and ends the program by that same signal. To be
 * called before other threads are started, and ended before the result is told.
 */
void tl_command_guard(const char *folder);
void tl_command_unguard(void);

/* On a terminal: one line on the standard error stream, rewritten for every step, and cleared. */
void tl_command_show_step(const char *step);
void tl_command_clear_step(void);

/* Flush the standard output; `exit_status`, or TL_EXIT_WRITE with a message if that fails. */
int tl_command_finish(int exit_status);

#endif
