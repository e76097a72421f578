/*
 * A comparison in double precision: cmocka's own assert_float_equal works in float, too coarse
 * for angles and times.
 */
#ifndef TWOLIMB_TESTS_CHECK_H
#define TWOLIMB_TESTS_CHECK_H

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

/* Fails, naming both values, unless |actual - expected| <= tolerance; NaN always fails. */
#define check_near(actual, expected, tolerance)                                                    \
    check_near_at((actual), (expected), (tolerance), #actual, __FILE__, __LINE__)

static inline void check_near_at(double actual, double expected, double tolerance, const char *what,
                                 const char *file, int line) {
    if (fabs(actual - expected) <= tolerance)
        return;
    print_error("%s is %.12g, expected %.12g within %g\n", what, actual, expected, tolerance);
    _fail(file, line);
}

#endif
