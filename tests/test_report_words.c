/*
 * The report's sentences on clocks, mountings and single pictures.
 */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "report/report_internal.h"
#include "test_report_series.h"

/* What a function adds to an empty text. */
#define assert_adds(call, expected)                                                                \
    do {                                                                                           \
        tl_report_text out = {0};                                                                  \
        call;                                                                                      \
        assert_false(out.failed);                                                                  \
        assert_string_equal(tl_report_text_string(&out), expected);                                \
        tl_report_text_free(&out);                                                                 \
    } while (0)

#define assert_tells(call, part)                                                                   \
    do {                                                                                           \
        tl_report_text out = {0};                                                                  \
        call;                                                                                      \
        if (!strstr(tl_report_text_string(&out), part))                                            \
            fail_msg("not told: %s\nbut: %s", part, tl_report_text_string(&out));                  \
        tl_report_text_free(&out);                                                                 \
    } while (0)

/* 100 ppm are 8.64 s in the 86400 s of a day (closed form). */
static void drift_is_told_a_day(void **state) {
    (void)state;
    tl_clock clock = {.solved = true, .drift_ppm = 100.0, .drift_sigma_ppm = 30.0};
    assert_adds(tl_report_words_drift(&clock, &out), "");
    clock.has_drift = true;
    assert_adds(tl_report_words_drift(&clock, &out), "gains 9\u00a0\u00b1\u00a03\u00a0s a day");
    clock.drift_ppm = -100.0;
    clock.drift_sigma_ppm = 3.0; /* 0.26 s a day */
    assert_adds(tl_report_words_drift(&clock, &out), "loses 8.6\u00a0\u00b1\u00a00.3\u00a0s a day");
}

/* The clock as track.h defines it: an hour after at_utc_s a drift of 100 ppm makes 0.36 s. */
static void clock_total_is_that_of_the_header(void **state) {
    (void)state;
    tl_clock clock = {.zone_minutes = -300,
                      .offset_s = 12.5,
                      .day_shift_s = -TL_DAY_S,
                      .has_drift = true,
                      .drift_ppm = 100.0,
                      .at_utc_s = SERIES_DAY_S};
    const double tolerance_s = 1e-6; /* of doubles near 1e9 s */
    assert_close(tl_report_clock_total(&clock, SERIES_DAY_S + 3600.0),
                 -18000.0 + 12.5 - 86400.0 + 0.36, tolerance_s);
    clock.has_drift = false;
    assert_close(tl_report_clock_total(&clock, SERIES_DAY_S + 3600.0), -18000.0 + 12.5 - 86400.0,
                 tolerance_s);
}

static void stamps_are_told(void **state) {
    (void)state;
    tl_clock clock = {.solved = true, .stamp_scatter_s = 6.0, .stamp_scatter_sigma_s = 1.1};
    assert_adds(tl_report_words_stamps(&clock, &out), "");
    clock.stamps = TL_STAMPS_SCATTERED;
    assert_adds(
        tl_report_words_stamps(&clock, &out),
        "The stamps scatter by 6.0\u00a0\u00b1\u00a01.1\u00a0s more than reading errors and "
        "circles allow.");
    clock.stamps = TL_STAMPS_LATE;
    clock.stamp_scatter_s = 14.0;
    clock.stamp_scatter_sigma_s = 2.0;
    assert_adds(
        tl_report_words_stamps(&clock, &out),
        "The pictures carry the time at which they were saved: on average "
        "14\u00a0\u00b1\u00a02\u00a0s after they were taken, each by its own amount. So the "
        "true times come from the circles as much as from the stamps.");
}

/* Camera time less zone, offset, drift and true time: 5 s for the first picture, one more for each
 * further one, as the series was made. The zone stated by a single picture does not matter. */
static void lateness_is_what_the_clock_leaves(void **state) {
    (void)state;
    const double tolerance_s = 1e-5; /* of doubles near 2e9 s */
    double late_s = -1.0;
    tl_sequence s = series_odd();
    assert_true(tl_report_late(&s, 0, &late_s));
    assert_close(late_s, 5.0, tolerance_s);
    assert_true(tl_report_late(&s, 3, &late_s));
    assert_close(late_s, 8.0, tolerance_s);
    assert_false(tl_report_late(&s, SERIES_SECOND, &late_s));  /* its camera's are not late */
    assert_false(tl_report_late(&s, SERIES_ORDERED, &late_s)); /* it has no stamp */
    assert_false(tl_report_late(&s, SERIES_OPEN, &late_s));
    for (size_t i = 0; i < s.count; i++) {
        s.frame[i].info.time.zone_known = true;
        s.frame[i].info.time.zone_minutes = SERIES_ZONE_MINUTES;
    }
    s.frame[0].info.time.zone_minutes = 0; /* the same instant, told in UTC */
    s.frame[0].info.time.t_camera_s -= SERIES_ZONE_MINUTES * 60.0;
    assert_true(tl_report_late(&s, 0, &late_s));
    assert_close(late_s, 5.0, tolerance_s);
    assert_true(tl_report_late(&s, 3, &late_s));
    assert_close(late_s, 8.0, tolerance_s);
    s.options.zone_given = true; /* a name in UTC, and --zone for the clock: moved all the same */
    s.options.zone_minutes = SERIES_ZONE_MINUTES;
    s.frame[0].info.time.source = TL_TIME_NAME;
    assert_true(tl_report_late(&s, 0, &late_s));
    assert_close(late_s, 5.0, tolerance_s);
    /* Only its circles tell how late a picture is. */
    s.frame[0].excluded = true;
    assert_false(tl_report_late(&s, 0, &late_s));
    s.frame[3].limb.status = TL_LIMB_SUN_ONLY;
    assert_false(tl_report_late(&s, 3, &late_s));
    tl_sequence_free(&s);
}

static void cameras_go_by_their_names(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    assert_adds(tl_report_camera_name(&s, 1, &out), "camera 2");
    s.camera_count = 2;
    strcpy(s.camera[0].name, "Invented, model 1");
    strcpy(s.camera[1].name, "Invented, model 2");
    assert_adds(tl_report_camera_name(&s, 1, &out), "Invented, model 2");
    assert_adds(tl_report_camera_name(&s, TL_CAMERAS_MAX, &out), "a further camera");
    assert_tells(tl_report_words_other_clock(&s, 1, &out), "The clock of Invented, model 2 ran ");
    tl_sequence_free(&s);
}

/* Another reading of the same clock: no picture tells it from the one taken, the zone does. */
static void same_clock_is_told(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    const tl_report_facts facts = tl_report_facts_of(&s);
    tl_clock *clock = &s.track.camera[0].clock;
    clock->alternative_count = 1;
    clock->alternative[0].zone_minutes = 150;
    clock->alternative[0].offset_s = SERIES_OFFSET_S - 1800.0;
    clock->alternative[0].sigma_s = SERIES_CLOCK_SIGMA_S;
    assert_tells(tl_report_words_advice(&s, &facts, 0, &out), "the other side of maximum");
    clock->alternative[0].same_clock = true;
    assert_adds(tl_report_words_advice(&s, &facts, 0, &out),
                "The camera\u2019s zone would tell the settings of its clock apart: --zone "
                "+HH:MM.");
    assert_adds(tl_report_words_alternative(&s, clock, 0, &out),
                "1762.6\u00a0\u00b1\u00a00.3\u00a0s slow in zone UTC+02:30 (the same true times)");
    assert_tells(tl_report_words_clock(&s, &out), "UTC+02:00. It can also be read as 1762.6");
    clock->alternative[0].same_clock = false;
    assert_tells(tl_report_words_clock(&s, &out), "UTC+02:00. This is not certain: 1762.6");
    clock->alternative[0].same_clock = true;
    s.options.zone_given = true;
    tl_report_text none = {0};
    assert_false(tl_report_words_advice(&s, &facts, 0, &none));
    tl_report_text_free(&none);
    tl_sequence_free(&s);
}

static void large_amounts_are_told_in_hours(void **state) {
    (void)state;
    assert_adds(tl_report_words_setting(60, 43236.84, 0.12, &out),
                "12\u00a0h 0\u00a0min 36.84\u00a0\u00b1\u00a00.12\u00a0s fast in zone UTC+01:00");
    assert_adds(tl_report_words_setting(0, -3599.96, 0.3, &out), /* rounded before it is split */
                "1\u00a0h 0\u00a0min 0.0\u00a0\u00b1\u00a00.3\u00a0s slow in zone UTC+00:00");
    assert_adds(tl_report_words_setting(0, 3599.4, 0.3, &out),
                "3599.4\u00a0\u00b1\u00a00.3\u00a0s fast in zone UTC+00:00");
}

/*
 * A clock that counts from a reset shows 2000-01-01 03:00:00 at the maximum, 2027-08-02 09:09:10
 * UTC: 10075 days (27 years, 7 leap days, and 213 days into the year) and 6 h 9 min 10 s behind.
 * The track reads it as zone -06:10, 50 s fast; nowhere at 10 degrees east is such a zone.
 */
static void a_clock_never_set_has_no_zone(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    tl_clock *clock = &s.track.camera[0].clock;
    clock->day_shift_s = -10075.0 * TL_DAY_S;
    clock->zone_minutes = -370;
    clock->offset_s = 50.0;
    clock->alternative_count = 1;
    clock->alternative[0].same_clock = true;
    assert_true(tl_report_clock_unset(&s, clock));
    assert_false(tl_report_alternative_told(&s, clock, 0));
    assert_false(tl_report_facts_of(&s).has_zone);
    assert_adds(tl_report_words_clock_setting(&s, clock, &out),
                "10075 days 6\u00a0h 9\u00a0min 10.0\u00a0\u00b1\u00a00.3\u00a0s behind UTC");
    assert_tells(tl_report_words_clock(&s, &out), " behind UTC. It was never set. An error of ");
    assert_adds(tl_report_words_date(&s, clock, &out), "");
    s.track.day_found = true;
    assert_adds(tl_report_words_day(&s, &out),
                "No eclipse is seen at this place on the day the camera says (1 January 2000); the "
                "series fits the one of 2 August 2027: the camera\u2019s clock was never set.");
    clock->alternative[0].same_clock = false; /* other times are told all the same */
    assert_true(tl_report_alternative_told(&s, clock, 0));
    clock->zone_minutes = SERIES_ZONE_MINUTES; /* the zone is in order: set, but to a wrong day */
    assert_false(tl_report_clock_unset(&s, clock));
    clock->zone_minutes = -370;
    clock->zone_given = true;
    assert_false(tl_report_clock_unset(&s, clock));
    clock->zone_given = false;
    clock->day_shift_s = -365.0 * TL_DAY_S; /* the year alone is wrong */
    assert_false(tl_report_clock_unset(&s, clock));
    tl_sequence_free(&s);
}

/* That the order of names decides is an assumption, and told as one; not where it decides nothing.
 */
static void order_of_names_is_told_as_assumed(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    const tl_report_facts facts = tl_report_facts_of(&s);
    s.track.frame[SERIES_OPEN].has_sides = false; /* whose time is asked for first */
    s.frame[SERIES_OPEN].excluded = true;
    assert_tells(tl_report_words_advice(&s, &facts, 0, &out),
                 "The order of the file names is taken to be that of time");
    s.track.frame[SERIES_ORDERED].side_by = TL_SIDE_BY_TURN;
    tl_report_text none = {0};
    assert_false(tl_report_words_advice(&s, &facts, 0, &none));
    tl_report_text_free(&none);
    tl_sequence_free(&s);
}

/* Nine pictures are measured, frames 0 to 6, 8 and 10: the middle one is the fifth. */
static void another_day_is_counted_from_the_middle(void **state) {
    (void)state;
    tl_sequence s = series_solved();
    double *t_s = &s.frame[SERIES_OUTLIER].info.time.t_camera_s;
    const double middle_s = s.frame[4].info.time.t_camera_s;
    *t_s = middle_s + 11.9 * 3600.0;
    assert_false(tl_report_other_day(&s, SERIES_OUTLIER));
    *t_s = middle_s + 12.1 * 3600.0; /* less than twelve from the last */
    assert_true(tl_report_other_day(&s, SERIES_OUTLIER));
    s.track.frame[SERIES_OUTLIER].outlier = false; /* it was used */
    assert_false(tl_report_other_day(&s, SERIES_OUTLIER));
    tl_sequence_free(&s);
}

/* 2027-08-02 by its local date; days counted with `date -u` (GNU coreutils). */
static void wrong_part_of_the_date_is_named(void **state) {
    (void)state;
    static const struct {
        double days;
        const char *told;
    } is[] = {{-365.0, "365 days behind: its year is wrong"},               /* 2026-08-02 */
              {-31.0, "31 days behind: its month is wrong"},                /* 2027-07-02 */
              {-175.0, "175 days behind: its day and month are exchanged"}, /* 2027-02-08 */
              {-396.0, "396 days behind"},                                  /* 2026-07-02 */
              {1.0, "1 day ahead"},
              {0.0, ""}};
    tl_sequence s = series_solved();
    tl_clock *clock = &s.track.camera[0].clock;
    for (size_t i = 0; i < sizeof is / sizeof *is; i++) {
        clock->day_shift_s = is[i].days * TL_DAY_S;
        assert_adds(tl_report_words_date(&s, clock, &out), is[i].told);
    }
    tl_sequence_free(&s);
}

/*
 * Which way the Sun turns in the picture, by the definition of up_pa in base.h: north is laid into
 * the picture with the first and the last up_pa; going from one to the other along the shorter way
 * is clockwise if x1 y2 - y1 x2 > 0, x to the right and y down.
 */
static void turning_is_told_as_seen(void **state) {
    (void)state;
    static const double rotation_deg[] = {41.2, -7.26};
    for (int k = 0; k < 4; k++) {
        const bool mirrored = k / 2 == 1;
        const double rotation = rotation_deg[k % 2] * TL_DEG, first = 1.3;
        double x1, y1, x2, y2;
        tl_frame_from_sky(first, mirrored, 0.0, 1.0, &x1, &y1);
        tl_frame_from_sky(first + rotation, mirrored, 0.0, 1.0, &x2, &y2);
        const bool clockwise = x1 * y2 - y1 * x2 > 0.0;
        const tl_track_camera camera = {.holding = TL_HOLDING_ALTAZ,
                                        .mirrored = mirrored ? TL_MIRROR_YES : TL_MIRROR_NO,
                                        .has_rotation = true,
                                        .rotation_rad = rotation};
        assert_int_equal(tl_report_turned_clockwise(&camera), clockwise);
        assert_tells(tl_report_words_turned(&camera, &out), k % 2 ? "7.3\u00b0 " : "41\u00b0 ");
        assert_tells(tl_report_words_turned(&camera, &out),
                     clockwise ? "\u00b0 clockwise" : "\u00b0 anticlockwise");
    }
}

static void holding_is_told(void **state) {
    (void)state;
    tl_track_camera camera = {.holding = TL_HOLDING_ALTAZ,
                              .mirrored = TL_MIRROR_NO,
                              .has_rotation = true,
                              .rotation_rad = 41.2 * TL_DEG};
    assert_tells(tl_report_words_holding(&camera, &out),
                 "turned by 41\u00b0 clockwise in the picture, because the camera followed the "
                 "horizon and not the sky");
    camera.rotation_rad = 0.1 * TL_DEG;
    assert_tells(tl_report_words_holding(&camera, &out), "hardly turned them");
    camera.rotation_rad = 15.0 * TL_DEG; /* lost in what the hand did */
    camera.holding_open = true;
    assert_adds(tl_report_words_turned(&camera, &out), "");
    assert_adds(tl_report_words_holding(&camera, &out),
                "The camera was held level, as on an alt-azimuth mount, though an equatorial one "
                "fits about as well. The pictures are not mirrored.");
    camera.holding_open = false;
    camera.turn_jitter_rad = 18.0 * TL_DEG;
    assert_adds(tl_report_words_turned(&camera, &out), "");
    assert_adds(
        tl_report_words_holding(&camera, &out),
        "The camera was held level, as on an alt-azimuth mount, give or take 18\u00b0 of the "
        "hand that held it. The pictures are not mirrored.");
    camera.turn_jitter_rad = 0.0;
    camera.holding = TL_HOLDING_FIXED;
    camera.rotation_rad = 0.0;
    camera.holding_given = true;
    assert_adds(tl_report_words_holding(&camera, &out),
                "The camera was held as on an equatorial mount (given). It followed the sky: "
                "the picture did not turn. The pictures are not mirrored.");
    camera = (tl_track_camera){.holding = TL_HOLDING_FREE, .mirrored = TL_MIRROR_YES};
    camera.mirror_given = true;
    assert_adds(tl_report_words_holding(&camera, &out),
                "Each picture was turned in its own way, as by a camera held in the hand or aimed "
                "anew. The pictures are mirrored, as by a star diagonal or on a card "
                "(given).");
    camera = (tl_track_camera){0};
    assert_adds(tl_report_words_holding(&camera, &out),
                "Whether the pictures are mirrored is not determined.");
    camera.mirror_mixed = true;
    assert_adds(tl_report_words_holding(&camera, &out),
                "By their sunspots some of the pictures are mirrored and some are not.");
}

static void outliers_are_told_with_how_far_off(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    assert_adds(tl_report_words_outlier(&s, SERIES_OUTLIER, &out),
                "is left out: its circles are 0.031 solar radii (about 62\u00a0s) away from the "
                "others.");
    assert_adds(tl_report_words_outlier(&s, SERIES_OTHER_DAY, &out),
                "is left out: by its time it is of another day, 4 August 2027.");
    s.track.frame[SERIES_OUTLIER].off_s = -1911.0;
    assert_tells(tl_report_words_outlier(&s, SERIES_OUTLIER, &out), "(about 32\u00a0min)");
    s.track.frame[SERIES_OUTLIER].off_s = 150.0;
    assert_tells(tl_report_words_outlier_short(&s, SERIES_OUTLIER, &out), "(2.5\u00a0min)");
    s.track.frame[SERIES_OUTLIER].off_s = 0.0; /* no time can be said */
    assert_adds(tl_report_words_outlier(&s, SERIES_OUTLIER, &out),
                "is left out: its circles are 0.031 solar radii away from the others.");
    free(s.frame[SERIES_OUTLIER].path);
    s.frame[SERIES_OUTLIER].path =
        series_copy("a-name-of-a-file-that-is-longer-than-a-line-has-room-for-0011.jpg");
    assert_adds(tl_report_words_outlier_short(&s, SERIES_OUTLIER, &out),
                "...ne-has-room-for-0011.jpg left out: 0.031 solar radii off");
    tl_sequence_free(&s);
}

static void sides_are_told(void **state) {
    (void)state;
    tl_sequence s = series_odd();
    assert_adds(tl_report_words_sides(&s, &out),
                "2 pictures have no time of their own. The Moon was at the distance measured "
                "twice, before and after maximum: for 1 the order of the file names, taken to be "
                "that of time, tells which, for 1 nothing does and both times stand.");
    s.track.frame[SERIES_OPEN].has_sides = false;
    s.track.frame[SERIES_ORDERED].side_by = TL_SIDE_BY_TURN;
    assert_adds(tl_report_words_sides(&s, &out),
                "1 picture has no time of its own. The Moon was at the distance measured twice, "
                "before and after maximum: the direction of the Moon in the picture tells which.");
    s.track.frame[SERIES_ORDERED].side_by = TL_SIDE_OPEN;
    assert_tells(tl_report_words_sides(&s, &out), ": nothing tells which, so both times stand.");
    s.track.frame[SERIES_ORDERED].has_sides = false;
    assert_adds(tl_report_words_sides(&s, &out), "");
    tl_sequence_free(&s);
}

/* A GPS time so many seconds after the true time, in every picture from `first` on. */
static void set_gps(tl_sequence *s, size_t first, double apart_s) {
    for (size_t i = first; i < s->count; i++) {
        s->frame[i].info.has_gps_time = true;
        s->frame[i].info.gps_t_utc_s = s->track.frame[i].true_utc_s + apart_s;
    }
}

/* The median (closed form) over the pictures of one camera that have both times; those left out of
 * the fits and those of other cameras do not count. */
static void gps_times_are_compared(void **state) {
    (void)state;
    const double tolerance_s = 1e-6; /* of doubles near 2e9 s */
    tl_report_gps check = {.count = 99};
    tl_sequence s = series_solved();
    assert_true(tl_report_gps_check(&s, 0, &check));
    assert_int_equal(check.count, 0);
    set_gps(&s, 0, 0.0);
    s.frame[0].info.gps_t_utc_s -= 7.0;
    s.frame[1].info.gps_t_utc_s -= 3.0;
    s.frame[2].info.gps_t_utc_s -= 600.0;
    s.frame[SERIES_OUTLIER].info.gps_t_utc_s -= 1e6;
    for (size_t i = 3; i < s.count; i++)
        s.frame[i].info.has_gps_time = i == SERIES_OUTLIER || i == SERIES_BROKEN;
    assert_true(tl_report_gps_check(&s, 0, &check));
    assert_int_equal(check.count, 3); /* the broken one has no true time */
    assert_close(check.median_s, -7.0, tolerance_s);
    s.frame[2].camera = 1;
    assert_true(tl_report_gps_check(&s, 0, &check));
    assert_int_equal(check.count, 2);
    assert_close(check.median_s, -5.0, tolerance_s);
    assert_true(tl_report_gps_check(&s, 1, &check));
    assert_int_equal(check.count, 1);
    assert_close(check.median_s, -600.0, tolerance_s);
    tl_sequence_free(&s);
}

static void gps_times_are_told(void **state) {
    (void)state;
    tl_sequence s = series_solved(); /* 10 pictures with a true time, less the outlier */
    assert_adds(tl_report_words_gps(&s, 0, &out), "");
    assert_adds(tl_report_words_gps_short(&s, 0, &out), "");
    set_gps(&s, 0, -0.6);
    assert_adds(tl_report_words_gps(&s, 0, &out),
                "The GPS times in 10 of the pictures agree with the true times found here to "
                "1\u00a0s.");
    set_gps(&s, 0, -2.7); /* within twice the 0.31 s and 1.4 s that all true times share */
    assert_tells(tl_report_words_gps(&s, 0, &out), "agree with the true times found here to 3");
    set_gps(&s, 0, -3.0);
    assert_adds(tl_report_words_gps(&s, 0, &out),
                "The GPS times in 10 of the pictures lie 3.0\u00a0s before the true times found "
                "here: a GPS time may be minutes old.");
    set_gps(&s, 0, -29.0);
    assert_false(tl_report_gps_disagrees(&s, 0));
    assert_adds(tl_report_words_gps_short(&s, 0, &out), "");
    set_gps(&s, 0, -240.0);
    assert_true(tl_report_gps_disagrees(&s, 0));
    assert_adds(tl_report_words_gps_short(&s, 0, &out),
                "GPS times in 10 pictures: 4.0\u00a0min before the true ones; old fixes?");
    set_gps(&s, 0, 31.0);
    assert_tells(tl_report_words_gps(&s, 0, &out),
                 "lie 31\u00a0s after the true times found here: a GPS time can be old but not "
                 "early, so check --site, --date and the circles.");
    set_gps(&s, 0, -177.0 * TL_DAY_S);
    assert_tells(tl_report_words_gps(&s, 0, &out),
                 "say another day, 177 days before the one found here: check --date");
    assert_tells(tl_report_words_gps_short(&s, 0, &out),
                 "177 days before the day found: check --date");
    for (size_t i = 1; i < s.count; i++)
        s.frame[i].info.has_gps_time = false;
    s.frame[0].info.gps_t_utc_s = s.track.frame[0].true_utc_s + 0.4;
    assert_adds(tl_report_words_gps(&s, 0, &out),
                "The GPS time in one of the pictures agrees with the true time found here to "
                "1\u00a0s.");
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(drift_is_told_a_day),
        cmocka_unit_test(clock_total_is_that_of_the_header),
        cmocka_unit_test(stamps_are_told),
        cmocka_unit_test(large_amounts_are_told_in_hours),
        cmocka_unit_test(a_clock_never_set_has_no_zone),
        cmocka_unit_test(order_of_names_is_told_as_assumed),
        cmocka_unit_test(gps_times_are_compared),
        cmocka_unit_test(gps_times_are_told),
        cmocka_unit_test(lateness_is_what_the_clock_leaves),
        cmocka_unit_test(cameras_go_by_their_names),
        cmocka_unit_test(same_clock_is_told),
        cmocka_unit_test(another_day_is_counted_from_the_middle),
        cmocka_unit_test(wrong_part_of_the_date_is_named),
        cmocka_unit_test(turning_is_told_as_seen),
        cmocka_unit_test(holding_is_told),
        cmocka_unit_test(outliers_are_told_with_how_far_off),
        cmocka_unit_test(sides_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
