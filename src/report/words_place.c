/*
 * words_place.c - the estimated place in words.
 */
#include <math.h>

#include "report/report_internal.h"

/* Length of a degree of latitude, for the digits that a place deserves. */
#define DEGREE_M 111000.0

static void add_degrees(double rad, const char *positive, const char *negative, int decimals,
                        tl_report_text *text) {
    tl_report_add_fixed(text, fabs(rad) / TL_DEG, decimals);
    tl_report_text_addf(text, "\u00b0\u00a0%s", rad < 0.0 ? negative : positive);
}

void tl_report_words_estimate(const tl_track_place *place, tl_report_text *text) {
    const int decimals = tl_report_decimals(place->across_m / DEGREE_M, 3);
    add_degrees(place->lat_rad, "N", "S", decimals, text);
    tl_report_text_add(text, ", ");
    add_degrees(place->lon_rad, "E", "W", decimals, text);
}

static void add_km(double metres, tl_report_text *text) {
    tl_report_add_fixed(text, metres / 1000.0, metres < 10e3 ? 1 : 0);
    tl_report_text_add(text, "\u00a0km");
}

void tl_report_words_estimate_size(const tl_track_place *place, tl_report_text *text) {
    tl_report_text_add(text, "\u00b1 ");
    add_km(place->along_m, text);
    tl_report_text_add(text, " along ");
    tl_report_add_fixed(text, place->long_axis_rad / TL_DEG, 0);
    tl_report_text_add(text, "\u00b0, ");
    add_km(place->across_m, text);
    tl_report_text_add(text, " across");
}

void tl_report_words_estimate_clock(const tl_track_place *place, tl_report_text *text) {
    tl_report_add_fixed(text, place->m_per_clock_s / 1000.0, 1);
    tl_report_text_add(text, "\u00a0km");
}
