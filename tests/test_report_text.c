/*
 * The report's building blocks: UTF-8, escapes, base64, numbers.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <string.h>

#include <cmocka.h>

#include <math.h>

#include "report/report_internal.h"

/* What a function adds to an empty text. */
#define assert_adds(call, expected)                                                                \
    do {                                                                                           \
        tl_report_text out = {0};                                                                  \
        call;                                                                                      \
        assert_false(out.failed);                                                                  \
        assert_string_equal(tl_report_text_string(&out), expected);                                \
        tl_report_text_free(&out);                                                                 \
    } while (0)

#define FFFD "\xEF\xBF\xBD"

/* The Unicode Standard, Version 15.0, section 3.9, tables 3-8 to 3-11: what a decoder that follows
 * the recommendation puts in place of ill-formed bytes. */
static void utf8_replaces_maximal_subparts(void **state) {
    (void)state;
    assert_adds(tl_report_add_utf8(&out, "\xC0\xAF\xE0\x80\xBF\xF0\x81\x82\x41"),
                FFFD FFFD FFFD FFFD FFFD FFFD FFFD FFFD "A");
    assert_adds(tl_report_add_utf8(&out, "\xED\xA0\x80\xED\xBF\xBF\xED\xAF\x41"),
                FFFD FFFD FFFD FFFD FFFD FFFD FFFD FFFD "A");
    assert_adds(tl_report_add_utf8(&out, "\xF4\x91\x92\x93\xFF\x41\x80\xBF\x42"),
                FFFD FFFD FFFD FFFD FFFD "A" FFFD FFFD "B");
    assert_adds(tl_report_add_utf8(&out, "\xE1\x80\xE2\xF0\x91\x92\xF1\xBF\x41"),
                FFFD FFFD FFFD FFFD "A");
}

/* Encoded lengths and ends of the ranges: The Unicode Standard 15.0, table 3-6. */
static void utf8_keeps_what_is_valid(void **state) {
    (void)state;
    static const char valid[] = "a\xC2\x80\xDF\xBF\xE0\xA0\x80\xED\x9F\xBF\xEE\x80\x80"
                                "\xF0\x90\x80\x80\xF4\x8F\xBF\xBF";
    uint32_t code;
    assert_adds(tl_report_add_utf8(&out, valid), valid);
    assert_int_equal(tl_report_utf8_step("\xC2\xB1", &code), 2);
    assert_int_equal(code, 0xB1);
    assert_int_equal(tl_report_utf8_step("\xF0\x9F\x8C\x9E", &code), 4);
    assert_int_equal(code, 0x1F31E);
}

/* HTML Standard (WHATWG), 13.1.4: the five characters that must not stand for themselves. */
static void html_is_escaped(void **state) {
    (void)state;
    assert_adds(tl_report_add_html(&out, "a\"<script>&%\n.jpg"),
                "a&quot;&lt;script&gt;&amp;%\xE2\x90\x8A.jpg");
    assert_adds(tl_report_add_html(&out, "it's \x7F"), "it&#39;s \xE2\x90\xA1");
    assert_adds(tl_report_add_html(&out, "caf\xE9\xC2\x85"), "caf" FFFD FFFD);
}

/* RFC 4180, section 2: rules 5, 6 and 7. */
static void csv_is_quoted(void **state) {
    (void)state;
    assert_adds(tl_report_add_csv(&out, "plain"), "plain");
    assert_adds(tl_report_add_csv(&out, "b\"bb"), "\"b\"\"bb\"");
    assert_adds(tl_report_add_csv(&out, "b\r\nbb"), "\"b\r\nbb\"");
    assert_adds(tl_report_add_csv(&out, "a,b"), "\"a,b\"");
    assert_adds(tl_report_add_csv(&out, " blank"), "\" blank\"");
    assert_adds(tl_report_add_csv(&out, "\xE9\"\xE9"), "\"" FFFD "\"\"" FFFD "\"");
    assert_adds(tl_report_add_csv(&out, ""), "");
}

/* No byte that steers a terminal (ECMA-48) and no change of writing direction gets through. */
static void terminal_gets_no_controls(void **state) {
    (void)state;
    assert_adds(tl_report_add_terminal(&out, "a\x1B[31mb\n\xC2\x9B\xE2\x80\xAEz"), "a?[31mb???z");
    assert_adds(tl_report_add_terminal(&out, "3\xC2\xA0\xC2\xB1\xC2\xA0\xE2\x88\x92"
                                             "1 \xCF\x83 45\xC2\xB0"),
                "3 +- -1 sigma 45 deg");
    assert_adds(tl_report_add_terminal(&out, "caf\xC3\xA9 caf\xE9"), "caf\xC3\xA9 caf?");
}

/* Counted in characters, not bytes; what is not UTF-8 is one. */
static void long_names_are_told_by_their_ends(void **state) {
    (void)state;
    assert_adds(tl_report_add_end(&out, "abc.jpg", 7), "abc.jpg");
    assert_adds(tl_report_add_end(&out, "xabc.jpg", 7), "...abc.jpg");
    assert_adds(tl_report_add_end(&out, "x\xC3\xA9\xC3\xA9.jpg", 6), "...\xC3\xA9\xC3\xA9.jpg");
    assert_adds(tl_report_add_end(&out, "xx\xE9.jpg", 5), "..." FFFD ".jpg");
}

/* RFC 4648, section 10. */
static void base64_matches_the_test_vectors(void **state) {
    (void)state;
    static const char *const vector[][2] = {{"", ""},
                                            {"f", "Zg=="},
                                            {"fo", "Zm8="},
                                            {"foo", "Zm9v"},
                                            {"foob", "Zm9vYg=="},
                                            {"fooba", "Zm9vYmE="},
                                            {"foobar", "Zm9vYmFy"}};
    for (size_t i = 0; i < sizeof vector / sizeof *vector; i++)
        assert_adds(
            tl_report_text_base64(&out, (const unsigned char *)vector[i][0], strlen(vector[i][0])),
            vector[i][1]);
    static const unsigned char high[] = {0xFB, 0xFF, 0xBF}; /* the digits + and / */
    assert_adds(tl_report_text_base64(&out, high, 3), "+/+/");
}

/* Expected texts by hand. */
static void numbers_have_the_digits_asked_for(void **state) {
    (void)state;
    assert_adds(tl_report_add_fixed(&out, 2.0 / 3.0, 3), "0.667");
    assert_adds(tl_report_add_fixed(&out, -0.0004, 3), "0.000");
    assert_adds(tl_report_add_fixed(&out, -0.4, 0), "0");
    assert_adds(tl_report_add_fixed(&out, -12.5, 1), "-12.5");
    assert_adds(tl_report_add_fixed(&out, NAN, 1), "");
    assert_adds(tl_report_add_signed(&out, -3.14, 1), "\xE2\x88\x92"
                                                      "3.1");
    assert_adds(tl_report_add_signed(&out, -0.01, 1), "+0.0");
    assert_adds(tl_report_add_significant(&out, 0.002046, 2), "0.0020");
    assert_adds(tl_report_add_significant(&out, 123.4, 2), "123");
    assert_adds(tl_report_add_significant(&out, 0.0, 2), "0");
    assert_adds(tl_report_add_significant(&out, INFINITY, 2), "");
    assert_adds(tl_report_add_exponent(&out, -1.23456e-8, 3), "-1.23e-08");
    assert_adds(tl_report_add_exponent(&out, 0.0, 2), "0.0e+00");
    assert_adds(tl_report_add_exponent(&out, NAN, 2), "");
}

/* The last place shown is a half to a twentieth of sigma: 2 to 19 units of it. */
static void sigma_sets_the_decimals(void **state) {
    (void)state;
    static const struct {
        double sigma;
        int decimals;
    } expected[] = {{25.0, 0}, {2.0, 0},   {1.9, 1}, {0.3, 1}, {0.2, 1},
                    {0.19, 2}, {0.021, 2}, {0.0, 4}, {NAN, 4}, {1e-12, 4}};
    for (size_t i = 0; i < sizeof expected / sizeof *expected; i++)
        assert_int_equal(tl_report_decimals(expected[i].sigma, 4), expected[i].decimals);
    /* An error is never told as nil. */
    assert_adds(tl_report_add_sigma(&out, 0.03, 1), "0.1");
    assert_adds(tl_report_add_sigma(&out, 0.26, 1), "0.3");
    assert_adds(tl_report_add_measure(&out, 0.19, 0.00001, 4, ""), "0.1900\xC2\xA0\xC2\xB1\xC2\xA0"
                                                                   "0.0001");
    /* Sizes of times, to two digits. */
    assert_adds(tl_report_add_duration(40.1, &out), "40\xC2\xA0s");
    assert_adds(tl_report_add_duration(400.0, &out), "6.7\xC2\xA0min");
    assert_adds(tl_report_add_duration(18360.0, &out), "5.1\xC2\xA0h");
    assert_adds(tl_report_add_measure(&out, -37.42, 0.31, 3, "s"), "\xE2\x88\x92"
                                                                   "37.4\xC2\xA0\xC2\xB1\xC2\xA0"
                                                                   "0.3\xC2\xA0s");
}

/* 1786492800 is 2026-08-12T00:00:00Z (`date -u -d 2026-08-12 +%s`, GNU coreutils). */
static void clock_times_say_when_the_day_changes(void **state) {
    (void)state;
    const double day_s = 1786492800.0;
    assert_adds(tl_report_add_clock(&out, day_s + 61392.25, 1, day_s), "17:03:12.3");
    assert_adds(tl_report_add_clock(&out, day_s + 86399.97, 1, day_s),
                "00:00:00.0\xC2\xA0+1\xC2\xA0"
                "d");
    assert_adds(tl_report_add_clock(&out, day_s - 1.0, 0, day_s), "23:59:59\xC2\xA0\xE2\x88\x92"
                                                                  "1\xC2\xA0"
                                                                  "d");
    assert_adds(tl_report_add_clock(&out, day_s + 20.0 * 86400.0, 0, day_s), "2026-09-01 00:00:00");
    assert_adds(tl_report_add_time_of_day(&out, day_s + 86399.4), "23:59:59");
    assert_adds(tl_report_add_time_of_day(&out, day_s + 86399.6), "00:00:00");
    assert_adds(tl_report_add_date(&out, day_s), "12 August 2026");
    assert_adds(tl_report_add_zone(&out, -210), "UTC-03:30");
    assert_adds(tl_report_add_zone(&out, 120), "UTC+02:00");
}

/* A text grows past its first block, and past every doubling. */
static void text_grows(void **state) {
    (void)state;
    tl_report_text text = {0};
    assert_string_equal(tl_report_text_string(&text), "");
    for (int i = 0; i < 5000; i++)
        tl_report_text_addf(&text, "%04d,", i);
    assert_int_equal(text.length, 25000);
    assert_memory_equal(text.data + 24995, "4999,", 6);
    tl_report_text_free(&text);
    assert_null(text.data);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(utf8_replaces_maximal_subparts),
        cmocka_unit_test(utf8_keeps_what_is_valid),
        cmocka_unit_test(html_is_escaped),
        cmocka_unit_test(csv_is_quoted),
        cmocka_unit_test(terminal_gets_no_controls),
        cmocka_unit_test(long_names_are_told_by_their_ends),
        cmocka_unit_test(base64_matches_the_test_vectors),
        cmocka_unit_test(numbers_have_the_digits_asked_for),
        cmocka_unit_test(sigma_sets_the_decimals),
        cmocka_unit_test(clock_times_say_when_the_day_changes),
        cmocka_unit_test(text_grows),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
