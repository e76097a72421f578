/*
 * predict_run.h - run the built `twolimb predict` as a user does.
 */
#ifndef TWOLIMB_TESTS_PREDICT_RUN_H
#define TWOLIMB_TESTS_PREDICT_RUN_H

#include <stdio.h>
#include <stdlib.h>
#include <sys/wait.h>

#include "check.h"

enum { OUTPUT_SIZE = 32768, COMMAND_SIZE = 2048 };

/* The program is $TWOLIMB_BUILD/twolimb, by default build/twolimb. Its output, both streams, and
 * its exit status. */
static inline int run(const char *arguments, char output[OUTPUT_SIZE]) {
    const char *build = getenv("TWOLIMB_BUILD");
    char command[COMMAND_SIZE];
    const int length = snprintf(command, sizeof command, "%s/twolimb predict %s 2>&1",
                                build != NULL ? build : "build", arguments);
    assert_in_range(length, 1, COMMAND_SIZE - 1);
    FILE *pipe = popen(command, "r");
    assert_non_null(pipe);
    const size_t size = fread(output, 1, OUTPUT_SIZE - 1, pipe);
    output[size] = '\0';
    const int status = pclose(pipe);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

#endif
