/*
 * command_hush.c - no raw words of a library on the terminal.
 *
 * The decoders below libheif write to the standard error stream themselves and have no switch that
 * could be reached through it. While pictures are decoded that stream therefore leads nowhere, and
 * our own words go through a copy of it.
 */
#include <fcntl.h>
#include <unistd.h>

#include "command.h"

#if defined(__has_feature)
#if __has_feature(address_sanitizer)
#define __SANITIZE_ADDRESS__ 1
#endif
#endif
#if defined(__SANITIZE_ADDRESS__)
#include <sanitizer/common_interface_defs.h>
#include <stdint.h>
/* Its reports are to be seen. */
static void keep_reports(int descriptor) {
    __sanitizer_set_report_fd((void *)(intptr_t)descriptor);
}
#else
static void keep_reports(int descriptor) {
    (void)descriptor;
}
#endif

/* The stream's own descriptor, below 0: not hushed; and the stream to it. */
static struct {
    int kept;
    FILE *terminal;
} hush = {.kept = -1};

FILE *tl_command_terminal(void) {
    return hush.kept >= 0 ? hush.terminal : stderr;
}

void tl_command_hush(void) {
    const int nowhere = open("/dev/null", O_WRONLY);
    const int kept = nowhere >= 0 ? dup(STDERR_FILENO) : -1;
    FILE *terminal = kept >= 0 ? fdopen(kept, "w") : NULL;
    if (terminal != NULL) {
        setvbuf(terminal, NULL, _IONBF, 0); /* as the stream itself */
        fflush(stderr);
        dup2(nowhere, STDERR_FILENO);
        keep_reports(kept);
        hush.terminal = terminal;
        hush.kept = kept;
    } else if (kept >= 0) {
        close(kept);
    }
    if (nowhere >= 0)
        close(nowhere);
}

void tl_command_unhush(void) {
    if (hush.kept < 0)
        return;
    fflush(stderr);
    fflush(hush.terminal);
    dup2(hush.kept, STDERR_FILENO);
    keep_reports(STDERR_FILENO);
    fclose(hush.terminal);
    hush.kept = -1;
}
