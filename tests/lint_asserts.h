/*
 * lint_asserts.h - cmocka's assertions as clang-tidy is to see them: what fails ends the test. Its
 * own leave it by a longjmp that the analyser does not follow, so it would go on past each. Only
 * tests/lint includes this, before a test program.
 */
#ifndef TWOLIMB_TESTS_LINT_ASSERTS_H
#define TWOLIMB_TESTS_LINT_ASSERTS_H

#define _GNU_SOURCE /* as some tests do, before any header */

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdlib.h>

#include <cmocka.h>

#undef assert_true
#undef assert_false
#undef assert_null
#undef assert_non_null
#undef assert_int_equal
#undef fail_msg
#define assert_true(c) ((c) ? (void)0 : abort())
#define assert_false(c) ((c) ? abort() : (void)0)
#define assert_null(p) ((p) == NULL ? (void)0 : abort())
#define assert_non_null(p) ((p) != NULL ? (void)0 : abort())
#define assert_int_equal(a, b)                                                                     \
    (cast_to_largest_integral_type(a) == cast_to_largest_integral_type(b) ? (void)0 : abort())
#define fail_msg(...) (print_error(__VA_ARGS__), abort())

#endif
