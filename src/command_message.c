/*
 * command_message.c - errors and exit statuses, the same way in every command.
 */
#include <errno.h>
#include <getopt.h>
#include <limits.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

#include "command.h"
#include "report/report_internal.h" /* the words of a terminal */

/* Long enough for a sentence and a path; what is longer is cut. */
enum { MESSAGE_SIZE = 5000 };

/* One line in which nothing steers the terminal, whatever is in a name. */
static void print_plain(FILE *to, const char *before, const char *format, va_list arguments) {
    char message[MESSAGE_SIZE];
    tl_report_text plain = {0};
    vsnprintf(message, sizeof message, format, arguments);
    tl_report_add_terminal(&plain, message);
    fprintf(to, "%s%s\n", before, tl_report_text_string(&plain));
    tl_report_text_free(&plain);
}

int tl_command_fail(int exit_status, const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    print_plain(tl_command_terminal(), "twolimb: ", format, arguments);
    va_end(arguments);
    return exit_status;
}

void tl_command_say(const char *format, ...) {
    va_list arguments;
    va_start(arguments, format);
    print_plain(stdout, "", format, arguments);
    va_end(arguments);
}

int tl_command_exit(tl_status status) {
    switch (status) {
    case TL_OK:
        return TL_EXIT_FINE;
    case TL_ERR_ARGUMENT:
    case TL_ERR_RANGE:
        return TL_EXIT_USAGE;
    case TL_ERR_OPEN:
        return TL_EXIT_INPUT;
    case TL_ERR_EMPTY_FILE:
    case TL_ERR_NOT_PICTURE:
    case TL_ERR_RAW:
    case TL_ERR_FILM:
    case TL_ERR_OTHER_KIND:
    case TL_ERR_JPEG_KIND:
    case TL_ERR_BROKEN:
    case TL_ERR_TOO_LARGE:
    case TL_ERR_FORMAT:
        return TL_EXIT_DATA;
    case TL_ERR_WRITE:
        return TL_EXIT_CREATE;
    case TL_ERR_NO_SPACE:
        return TL_EXIT_WRITE;
    case TL_ERR_NO_ECLIPSE:
    case TL_ERR_TOO_FEW:
    case TL_ERR_NO_FIT:
        return TL_EXIT_NOTHING;
    case TL_ERR_MEMORY:
    case TL_STATUS_COUNT:
        break;
    }
    return TL_EXIT_SYSTEM;
}

int tl_command_fail_status(tl_status status, const char *subject) {
    return tl_command_fail(tl_command_exit(status), "%s: %s", *subject != '\0' ? subject : "\"\"",
                           tl_status_text(status));
}

int tl_command_bad_option(int answer, char **argv) {
    const char *option = argv[optind - 1];
    if (answer == ':')
        return tl_command_fail(TL_EXIT_USAGE, "The option %s needs a value; see twolimb %s --help.",
                               option, argv[0]);
    /* Only an unknown letter is handed over as such: long options have no letter. */
    if (optopt > 0 && optopt <= UCHAR_MAX)
        return tl_command_fail(TL_EXIT_USAGE,
                               "There is no option -%c; see twolimb %s --help. A file whose name "
                               "begins with \"-\" is named with \"./\" before it.",
                               optopt, argv[0]);
    return tl_command_fail(TL_EXIT_USAGE,
                           "The option %s is not known, not clear, or takes no value; see "
                           "twolimb %s --help.",
                           option, argv[0]);
}

enum { STEP_WIDTH = 48 }; /* of the longest line */

void tl_command_show_step(const char *step) {
    fprintf(tl_command_terminal(), "\r%*s\r%s", STEP_WIDTH, "", step);
    fflush(tl_command_terminal());
}

void tl_command_clear_step(void) {
    if (isatty(fileno(tl_command_terminal())))
        tl_command_show_step("");
}

int tl_command_finish(int exit_status) {
    if (fflush(stdout) == 0 && !ferror(stdout))
        return exit_status;
    return tl_command_fail(TL_EXIT_WRITE,
                           "The standard output cannot be written (%s); free some "
                           "space or send it elsewhere.",
                           strerror(errno));
}
