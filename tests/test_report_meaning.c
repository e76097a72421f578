/*
 * The report's sentences on when the contacts were and on what differences to the almanac can mean.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/report_internal.h"
#include "test_report_series.h"

/* All sentences, one after the other. */
static tl_report_text meanings(const tl_sequence *s) {
    tl_report_text text = {0};
    for (size_t n = 0; tl_report_words_meaning(s, n, &text); n++)
        tl_report_text_add(&text, "|");
    assert_false(text.failed);
    return text;
}

static void assert_meaning(const tl_sequence *s, const char *expected) {
    tl_report_text text = meanings(s);
    assert_string_equal(tl_report_text_string(&text), expected);
    tl_report_text_free(&text);
}

/* Nothing beyond its error. */
static tl_sequence series_agreeing(void) {
    tl_sequence s = series_solved();
    s.track.contact[TL_C4].measured_utc_s = s.track.contact[TL_C4].predicted_utc_s + 1.0;
    s.track.contact[TL_MAX].measured_utc_s = s.track.contact[TL_MAX].predicted_utc_s;
    s.track.ratio_measured = s.track.circumstances.ratio;
    return s;
}

static void agreement_is_said_once(void **state) {
    (void)state;
    tl_sequence s = series_agreeing();
    assert_meaning(&s,
                   "Times, depth and speed agree with the almanac within twice their errors: no "
                   "difference here asks for an explanation.|");
    tl_sequence_free(&s);
}

/* C4 9.4 s late against hypot(2.6, 1.4) = 2.95 s; the length, 8.4 s too long, against 4.1 s. */
static void one_contact_off_is_not_the_clock(void **state) {
    (void)state;
    tl_sequence s = series_agreeing();
    tl_track_contact *c = s.track.contact;
    c[TL_C4].measured_utc_s = c[TL_C4].predicted_utc_s + 9.4;
    c[TL_C1].measured_utc_s = c[TL_C1].predicted_utc_s + 2.0;
    assert_meaning(&s, "Only C4 is off: it came 9\u00a0s later than computed. One contact alone "
                       "points to the pictures near it: blur or haze that hides a small bite, few "
                       "pictures, the wrong time of one of them. It is not the clock, which would "
                       "move them all.|");
    /* Both ends outward: not one contact, but the length, by 18 s. */
    c[TL_C4].measured_utc_s = c[TL_C4].predicted_utc_s + 9.0;
    c[TL_C1].measured_utc_s = c[TL_C1].predicted_utc_s - 9.0;
    tl_report_text text = meanings(&s);
    assert_non_null(strstr(text.data, "From first contact to last it took 18\u00a0s longer"));
    assert_null(strstr(text.data, "Only"));
    tl_report_text_free(&text);
    c[TL_C4].measured_utc_s = c[TL_C4].predicted_utc_s - 9.0;
    c[TL_C1].measured_utc_s = c[TL_C1].predicted_utc_s + 9.0;
    text = meanings(&s);
    assert_non_null(strstr(text.data, "it took 18\u00a0s less than computed"));
    tl_report_text_free(&text);
    /* Without a clock there is no O - C of a contact. */
    s.track.camera[0].clock.solved = false;
    text = meanings(&s);
    assert_null(strstr(text.data, "From first contact"));
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

/* 0.0100 solar radii of 945.5 arcsec are 9.46 arcsec, and 17.6 km at 384 400 km: 18 km. Of a
 * separation of 0.68838 they are 1.5 %. */
static void depth_is_told_as_a_place_or_a_radius(void **state) {
    (void)state;
    tl_sequence s = series_agreeing();
    const double arcsec = s.track.frame[0].sky.sun_radius_rad / TL_ARCSEC;
    assert_close(arcsec, 945.5, 1.5); /* the Almanac's semidiameter early in August */
    s.track.smallest_sr = s.track.smallest_predicted_sr + 0.0100;
    tl_report_text text = meanings(&s);
    assert_non_null(strstr(text.data, "The Moon passed farther from the Sun\u2019s centre than "
                                      "computed, by 0.0100\u00a0solar radii. A place wrong by "
                                      "18\u00a0km or more, across the path of the shadow"));
    assert_non_null(strstr(text.data, "a solar radius measured 1.5\u00a0% too small"));
    tl_report_text_free(&text);
    s.track.smallest_sr = s.track.smallest_predicted_sr - 0.0100;
    text = meanings(&s);
    assert_non_null(strstr(text.data, "passed closer"));
    assert_non_null(strstr(text.data, "1.5\u00a0% too large"));
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

/* 1 % faster is what a clock that loses 1 % shows; and the other way. */
static void speed_and_radius_are_told(void **state) {
    (void)state;
    tl_sequence s = series_agreeing();
    s.track.speed_sr_per_h = 1.01 * s.track.speed_predicted_sr_per_h;
    assert_meaning(&s, "The Moon moved 1.0\u00a0% faster than computed: a clock that loses by as "
                       "much, a wrong time at one end of the series, or a solar radius measured "
                       "too small.|");
    s.track.speed_sr_per_h = 0.99 * s.track.speed_predicted_sr_per_h;
    tl_report_text text = meanings(&s);
    assert_non_null(strstr(text.data, "slower than computed: a clock that gains"));
    tl_report_text_free(&text);
    s.track.speed_sr_per_h = s.track.speed_predicted_sr_per_h;
    s.track.ratio_measured = s.track.circumstances.ratio - 0.01;
    text = meanings(&s);
    assert_non_null(strstr(text.data, "The edges show the Moon smaller against the Sun than it is: "
                                      "glare, blur or a long exposure"));
    tl_report_text_free(&text);
    s.track.ratio_measured = s.track.circumstances.ratio + 0.01;
    text = meanings(&s);
    assert_non_null(strstr(text.data, "the Moon larger against the Sun"));
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

static void nothing_is_said_of_nothing(void **state) {
    (void)state;
    tl_sequence s = series_no_site();
    assert_meaning(&s, "");
    tl_sequence_free(&s);
    s = series_nothing();
    assert_meaning(&s, "");
    tl_sequence_free(&s);
    s = series_solved();
    s.track.smallest_sr = NAN;
    s.track.contact[TL_C4].measured_utc_s = NAN;
    s.track.speed_sigma_sr_per_h = 0.0;
    tl_report_text text = meanings(&s);
    assert_null(strstr(text.data ? text.data : "", "nan"));
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

/* ---- when the contacts were ------------------------------------------------------------------ */

static tl_report_text contacts(const tl_sequence *s) {
    const tl_report_facts facts = tl_report_facts_of(s);
    tl_report_text text = {0};
    tl_report_words_contacts(s, &facts, &text);
    assert_false(text.failed);
    return text;
}

static void assert_contacts(const tl_sequence *s, const char *part) {
    tl_report_text text = contacts(s);
    if (!strstr(tl_report_text_string(&text), part))
        fail_msg("not told: %s\nbut: %s", part, tl_report_text_string(&text));
    tl_report_text_free(&text);
}

static void contacts_are_told_by_the_best_clock(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    /* 32950.0 - 3.1 s of the day are 09:09:06.9 */
    assert_contacts(&s, "Maximum was at 09:09:06.9 UTC (11:09:06.9 local time), "
                        "\u00b1\u00a01.3\u00a0s. Last");
    assert_contacts(&s, "First and last contact lie outside your pictures");
    s.track.contact[TL_C4].measured_utc_s -= 1200.0; /* before the last picture, 10:11 */
    assert_contacts(&s, "First contact lies before your pictures");
    s.track.contact[TL_C1].measured_utc_s += 1200.0;
    tl_report_text text = contacts(&s);
    assert_null(strstr(text.data, "pictures"));
    tl_report_text_free(&text);
    s.track.contact[TL_C1].measured = false; /* 28946.7 s are 08:02:26.7 */
    assert_contacts(&s, "First contact at your place was at 08:02:27 UTC (10:02:27 local time) by "
                        "the almanac alone.");
    tl_sequence_free(&s);
    s = series_no_site();
    /* 32946.9 s and a clock 2 h 37.4 s ahead */
    assert_contacts(&s, "Maximum was at 11:09:44.3 by the camera\u2019s clock, ");
    tl_sequence_free(&s);
    s = series_nothing();
    text = contacts(&s);
    assert_int_equal(text.length, 0);
    tl_report_text_free(&text);
    tl_sequence_free(&s);
}

static void central_contacts_have_their_names(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    s.track.contact[TL_C2] = s.track.contact[TL_MAX];
    s.track.contact[TL_C3] = s.track.contact[TL_MAX];
    s.track.circumstances.kind = TL_ECLIPSE_TOTAL;
    assert_contacts(&s, "The beginning of totality was at 09:09:06.9 UTC");
    assert_contacts(&s, "The end of totality was at");
    s.track.circumstances.kind = TL_ECLIPSE_ANNULAR;
    assert_contacts(&s, "The closing of the ring was at");
    assert_contacts(&s, "The opening of the ring was at");
    assert_string_equal(tl_report_contact_name(&s.track, TL_C3), "the ring opens");
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(agreement_is_said_once),
        cmocka_unit_test(one_contact_off_is_not_the_clock),
        cmocka_unit_test(depth_is_told_as_a_place_or_a_radius),
        cmocka_unit_test(speed_and_radius_are_told),
        cmocka_unit_test(nothing_is_said_of_nothing),
        cmocka_unit_test(contacts_are_told_by_the_best_clock),
        cmocka_unit_test(central_contacts_have_their_names),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
