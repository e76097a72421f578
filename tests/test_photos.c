/*
 * The chain on real photographs, where a folder of them lies beside the checkout
 * (../shared/photos, or $TWOLIMB_PHOTOS). They are not part of the project: without them every
 * test here is skipped and says so. What is known of each set comes from the notes that lie with
 * the pictures; contact times there are NASA's (Scientific Visualization Studio, city tables).
 */
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "check.h"
#include "twolimb/analyse.h"

static bool photo_set(const char *name, char path[512]) {
    const char *root = getenv("TWOLIMB_PHOTOS");
    snprintf(path, 512, "%s/%s", root ? root : "../shared/photos", name);
    FILE *probe = fopen(path, "r"); /* a folder opens for reading, but holds nothing to read */
    if (probe)
        fclose(probe);
    else
        print_message("no pictures at %s: skipped\n", path);
    return probe != NULL;
}

static tl_sequence analyse(const char *folder, double lat_deg, double lon_deg, double day_utc_s) {
    tl_analyse_options options = {0};
    tl_sequence sequence = {0};
    tl_file_list files;
    const char *bad = NULL;
    options.track.sky = tl_sky_options_default();
    if (lat_deg != 0)
        options.track.site = (tl_site){TL_SITE_GIVEN, lat_deg * TL_DEG, lon_deg * TL_DEG, 200};
    options.track.date_given = day_utc_s > 0;
    options.track.date_utc_s = day_utc_s;
    assert_int_equal(tl_file_list_make(&folder, 1, &bad, &files), TL_OK);
    assert_int_equal(tl_analyse(&files, &options, &sequence), TL_OK);
    tl_file_list_free(&files);
    return sequence;
}

static const tl_sequence_frame *frame_named(const tl_sequence *s, const char *part, size_t *index) {
    for (size_t i = 0; i < s->count; i++) {
        if (!strstr(s->frame[i].path, part))
            continue;
        if (index)
            *index = i;
        return &s->frame[i];
    }
    fail_msg("no picture named %s", part);
    return NULL;
}

/* Raw ratios of well exposed frames lie within 1 % of the almanac's. */
static void check_raw_ratio(const tl_sequence *s, const char *part, double ratio) {
    const tl_sequence_frame *frame = frame_named(s, part, NULL);
    assert_int_equal(frame->limb.status, TL_LIMB_MEASURED);
    check_near(frame->limb.ratio_raw, ratio, 0.01 * ratio);
}

static void check_measured_are_sane(const tl_sequence *s) {
    for (size_t i = 0; i < s->count; i++) {
        const tl_limb *limb = &s->frame[i].limb;
        if (limb->status == TL_LIMB_MEASURED)
            assert_true(limb->separation_sigma_sr > 0 && limb->separation_sr < 2.2);
        else
            assert_true(limb->reason[0] != '\0');
    }
}

/* 2017-08-21, two clean frames whose EXIF is UTC; a rough fit by others gave a ratio of 1.029
 * and separations of 0.746 and 0.720 solar radii (uncertain in the third digit). */
static void long_lens_2017(void **state) {
    char folder[512];
    (void)state;
    if (!photo_set("longlens-2017", folder))
        skip();
    tl_sequence s = analyse(folder, 44.5923, -119.6020, 0);
    assert_int_equal(tl_sequence_count(&s, TL_LIMB_MEASURED), 2);
    check_near(frame_named(&s, "C1-C2", NULL)->limb.separation_sr, 0.746, 0.006);
    check_near(frame_named(&s, "C3-C4", NULL)->limb.separation_sr, 0.720, 0.006);
    check_raw_ratio(&s, "C1-C2", 1.029);
    check_raw_ratio(&s, "C3-C4", 1.029);
    assert_true(tl_track_main(&s.track)->clock.solved);
    assert_int_equal(tl_track_main(&s.track)->clock.zone_minutes, 0);
    check_near(tl_track_main(&s.track)->clock.offset_s, 0,
               5); /* a camera set to UTC by hand or by GPS */
    tl_sequence_free(&s);
}

static void long_lens_2024(void **state) {
    char folder[512];
    (void)state;
    if (!photo_set("longlens-2024", folder))
        skip();
    tl_sequence s = analyse(folder, 41.0, -83.4, 0);
    assert_true(tl_sequence_count(&s, TL_LIMB_MEASURED) >= 6);
    check_measured_are_sane(&s);
    check_raw_ratio(&s, "2_before2", 1.0545); /* 1.052-1.057 over the eclipse */
    check_raw_ratio(&s, "8_before8", 1.0545);
    check_raw_ratio(&s, "24_before24", 1.0545);
    assert_true(tl_track_main(&s.track)->clock.solved);
    assert_int_equal(tl_track_main(&s.track)->clock.zone_minutes, -240);
    check_near(tl_track_main(&s.track)->clock.offset_s, 0,
               60); /* the place is known to some 10 km only */
    tl_sequence_free(&s);
}

/* The year in the EXIF is wrong; the clock is fast by some 70-135 s; zone -04:00. */
static void small_disc_2024(void **state) {
    char folder[512];
    double day;
    (void)state;
    if (!photo_set("smalldisc-2024", folder))
        skip();
    assert_int_equal(tl_date_parse("2024-04-08", &day), TL_OK);
    tl_sequence s = analyse(folder, 40.55, -84.44, day);
    assert_true(tl_sequence_count(&s, TL_LIMB_MEASURED) >= 3);
    check_measured_are_sane(&s);
    check_raw_ratio(&s, "DSC_0102", 1.055);
    assert_true(tl_track_main(&s.track)->clock.solved);
    assert_int_equal(tl_track_main(&s.track)->clock.zone_minutes, -240);
    check_near(tl_track_main(&s.track)->clock.offset_s, 102, 60);
    tl_sequence_free(&s);
}

/* EXIF is the time of saving from a chat, up to some 30 s late; one frame is the total phase. */
static void eyepiece_2024(void **state) {
    char folder[512];
    size_t total;
    (void)state;
    if (!photo_set("eyepiece-2024", folder))
        skip();
    tl_sequence s = analyse(folder, 37.5554, -89.2815, 0);
    assert_true(tl_sequence_count(&s, TL_LIMB_MEASURED) >= 3);
    check_measured_are_sane(&s);
    const tl_sequence_frame *frame = frame_named(&s, "IMG_5771", &total);
    assert_int_equal(frame->limb.status, TL_LIMB_UNUSABLE);
    assert_non_null(strstr(frame->limb.reason, "total phase"));
    assert_true(tl_track_main(&s.track)->clock.solved);
    assert_int_equal(tl_track_main(&s.track)->clock.zone_minutes, -300);
    check_near(tl_track_main(&s.track)->clock.offset_s, 20, 60);
    tl_sequence_free(&s);
}

/* The spots found, the largest first. */
typedef struct spot_list {
    tl_spot spot[8];
    size_t count;
} spot_list;

static spot_list spots_of(const char *set, double lat_deg, double lon_deg) {
    char folder[512];
    spot_list list = {0};
    if (!photo_set(set, folder))
        return list;
    tl_sequence s = analyse(folder, lat_deg, lon_deg, 0);
    for (size_t k = 0; k < s.spots.count && k < 8; k++)
        if (s.spots.spot[k].in_pictures)
            list.spot[list.count++] = s.spots.spot[k];
    tl_sequence_free(&s);
    return list;
}

/*
 * The same Sun on the same day, by a long lens in Ohio and by a phone at an eyepiece in Illinois,
 * one of them mirrored: a person sees two spots in either, a large one and a small one, and they
 * have to be in the same places on the Sun. The bound is ours: what an amateur would call the same
 * place.
 */
static void both_cameras_see_the_same_spots(void **state) {
    (void)state;
    const double same_deg = 1.5;
    const spot_list lens = spots_of("longlens-2024", 41.0, -83.4);
    const spot_list phone = spots_of("eyepiece-2024", 37.5554, -89.2815);
    if (lens.count == 0 && phone.count == 0)
        skip();
    assert_int_equal(lens.count, 2);
    assert_int_equal(phone.count, 2);
    for (size_t k = 0; k < 2; k++) {
        const tl_spot *a = &lens.spot[k], *b = &phone.spot[k];
        check_near(a->latitude_rad / TL_DEG, b->latitude_rad / TL_DEG, same_deg);
        check_near(tl_angle_signed(a->carrington_rad - b->carrington_rad) / TL_DEG, 0.0, same_deg);
        assert_true(a->covered.occurs && a->uncovered.occurs && b->covered.occurs);
    }
}

static void collage_and_blob_are_refused(void **state) {
    char folder[512];
    (void)state;
    if (!photo_set("refuse", folder))
        skip();
    tl_sequence s = analyse(folder, 0, 0, 0);
    assert_int_equal(s.count, 2);
    assert_int_equal(tl_sequence_count(&s, TL_LIMB_MEASURED), 0);
    assert_int_equal(tl_sequence_count(&s, TL_LIMB_SUN_ONLY), 0);
    check_measured_are_sane(&s);
    tl_sequence_free(&s);
}

/* A projected image, oval on its card, and a first bite without EXIF: none may be a wrong circle.
 * The second is the eclipse of 2017-08-21, ratio 1.029, all but round. */
static void odd_ones_are_not_wrong(void **state) {
    char folder[512];
    (void)state;
    if (!photo_set("odd", folder))
        skip();
    tl_sequence s = analyse(folder, 0, 0, 0);
    const tl_limb *card = &frame_named(&s, "projection", NULL)->limb;
    const tl_limb *bite = &frame_named(&s, "sunspots", NULL)->limb;
    assert_true(card->status != TL_LIMB_MEASURED && card->status != TL_LIMB_SUN_ONLY);
    if (bite->status == TL_LIMB_MEASURED)
        check_near(bite->ratio_raw, 1.029, 4 * bite->ratio_raw_sigma);
    tl_sequence_free(&s);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(long_lens_2017),
        cmocka_unit_test(long_lens_2024),
        cmocka_unit_test(small_disc_2024),
        cmocka_unit_test(eyepiece_2024),
        cmocka_unit_test(both_cameras_see_the_same_spots),
        cmocka_unit_test(collage_and_blob_are_refused),
        cmocka_unit_test(odd_ones_are_not_wrong),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
