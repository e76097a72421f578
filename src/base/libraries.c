/*
 * libraries.c - manners of the libraries below us.
 */
#include <pthread.h>

#include <gsl/gsl_errno.h>

#include "base/base_internal.h"

static void quiet(void) {
    gsl_set_error_handler_off();
}

void tl_base_quiet_libraries(void) {
    static pthread_once_t once = PTHREAD_ONCE_INIT;
    pthread_once(&once, quiet);
}
