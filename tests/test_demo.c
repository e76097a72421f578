/*
 * The whole chain on the demo pictures, against the truth that drew them. The renderer shares no
 * code with the finder of the limbs; what both share is the almanac, which test_sky holds against
 * published values.
 */
#include <stdlib.h>
#include <string.h>

#include "check.h"
#include "truth.h"
#include "twolimb/analyse.h"

#define DEMO "fixtures/demo"

static const double CLOCK_TOLERANCE_S = 1;   /* a hand-held phone with whole-second stamps */
static const double CONTACT_TOLERANCE_S = 5; /* extrapolated by some minutes beyond the frames */
static const double LARGEST_NORMALISED = 5;  /* sigma of a separation must be true */

typedef struct demo {
    tl_sequence sequence;
    truth_row truth[TRUTH_ROWS_MAX];
    size_t rows;
    cJSON *json;
} demo;

static double json_number(const cJSON *object, const char *name) {
    const cJSON *item = cJSON_GetObjectItem(object, name);
    assert_true(cJSON_IsNumber(item));
    return item->valuedouble;
}

static int analyse_demo(void **state) {
    demo *d = calloc(1, sizeof *d);
    assert_non_null(d);
    d->rows = truth_read(DEMO, d->truth);
    d->json = truth_json(DEMO "/truth.json");
    assert_non_null(d->json);
    const cJSON *site = cJSON_GetObjectItem(d->json, "site");
    tl_analyse_options options = {0};
    options.track.sky = tl_sky_options_default();
    options.track.site =
        (tl_site){TL_SITE_GIVEN, json_number(site, "lat_deg") * TL_DEG,
                  json_number(site, "lon_deg") * TL_DEG, json_number(site, "height_m")};
    const char *folder = DEMO, *bad = NULL;
    tl_file_list files;
    assert_int_equal(tl_file_list_make(&folder, 1, &bad, &files), TL_OK);
    assert_int_equal(tl_analyse(&files, &options, &d->sequence), TL_OK);
    tl_file_list_free(&files);
    *state = d;
    return 0;
}

static int forget_demo(void **state) {
    demo *d = *state;
    tl_sequence_free(&d->sequence);
    cJSON_Delete(d->json);
    free(d);
    return 0;
}

static const truth_row *truth_of(const demo *d, const tl_sequence_frame *frame) {
    const char *slash = strrchr(frame->path, '/');
    for (size_t i = 0; i < d->rows; i++)
        if (strcmp(d->truth[i].file, slash ? slash + 1 : frame->path) == 0)
            return &d->truth[i];
    fail_msg("%s has no row in truth.csv", frame->path);
    return NULL;
}

static void every_usable_frame_is_measured_and_no_other(void **state) {
    const demo *d = *state;
    assert_true(d->rows >= 12);
    assert_int_equal(d->sequence.count, d->rows);
    size_t refused = 0;
    for (size_t i = 0; i < d->sequence.count; i++) {
        const tl_sequence_frame *frame = &d->sequence.frame[i];
        bool due = strcmp(truth_of(d, frame)->expected, "measured") == 0;
        if (due != (frame->limb.status == TL_LIMB_MEASURED))
            fail_msg("%s is %s: %s", frame->path, tl_limb_status_name(frame->limb.status),
                     frame->limb.reason);
        refused += !due;
    }
    assert_true(refused > 0);
}

static void circles_are_where_they_were_drawn(void **state) {
    const demo *d = *state;
    for (size_t i = 0; i < d->sequence.count; i++) {
        const tl_limb *limb = &d->sequence.frame[i].limb;
        const truth_row *truth = truth_of(d, &d->sequence.frame[i]);
        if (limb->status != TL_LIMB_MEASURED)
            continue;
        double z = (limb->separation_sr - truth->separation_sr) / limb->separation_sigma_sr;
        if (fabs(z) > LARGEST_NORMALISED)
            fail_msg("%s: separation %.5f +- %.5f, drawn %.5f", truth->file, limb->separation_sr,
                     limb->separation_sigma_sr, truth->separation_sr);
        /* 2 % of the radius is far more than any error of a right circle, and less than a step
         * to a wrong one */
        double slack = 0.02 * truth->circle[TL_SUN_R];
        for (int c = 0; c < 3; c++)
            check_near(limb->circle[c], truth->circle[c], slack);
    }
}

static void clock_is_solved_with_its_zone(void **state) {
    const demo *d = *state;
    const cJSON *set = cJSON_GetArrayItem(cJSON_GetObjectItem(d->json, "sets"), 0);
    const tl_clock *clock = &tl_track_main(&d->sequence.track)->clock;
    assert_true(clock->solved);
    assert_int_equal(clock->zone_minutes, (int)json_number(set, "zone_minutes"));
    check_near(clock->offset_s, json_number(set, "offset_s"), CLOCK_TOLERANCE_S);
    assert_true(fabs(clock->offset_s - json_number(set, "offset_s")) < 4 * clock->sigma_s);
    for (size_t i = 0; i < d->sequence.count; i++) {
        const tl_track_frame *frame = &d->sequence.track.frame[i];
        if (frame->has_true) /* half a second of a truncated stamp, and the clock's own error */
            check_near(frame->true_utc_s, truth_of(d, &d->sequence.frame[i])->true_utc_s,
                       CLOCK_TOLERANCE_S + 0.5);
    }
}

static void contacts_agree_with_the_truth(void **state) {
    const demo *d = *state;
    static const int WHICH[] = {TL_C1, TL_C4};
    const cJSON *contacts = cJSON_GetObjectItem(d->json, "contacts");
    for (size_t i = 0; i < sizeof WHICH / sizeof WHICH[0]; i++) {
        const cJSON *contact = cJSON_GetObjectItem(contacts, tl_contact_name[WHICH[i]]);
        double t = truth_time(cJSON_GetObjectItem(contact, "utc")->valuestring);
        const tl_track_contact *found = &d->sequence.track.contact[WHICH[i]];
        assert_true(found->measured);
        check_near(found->measured_utc_s, t, CONTACT_TOLERANCE_S);
        assert_true(fabs(found->measured_utc_s - t) < 4 * (found->sigma_s + found->floor_s));
    }
}

/* The true turn of each frame, to the precision of a position angle from two fitted circles. */
static void turns_are_right_where_given(void **state) {
    const demo *d = *state;
    const tl_track *track = &d->sequence.track;
    for (size_t i = 0; i < d->sequence.count; i++) {
        const truth_row *truth = truth_of(d, &d->sequence.frame[i]);
        const tl_track_frame *frame = &track->frame[i];
        if (!frame->has_turn || tl_track_main(track)->mirrored == TL_MIRROR_AUTO ||
            d->sequence.frame[i].limb.status != TL_LIMB_MEASURED)
            continue;
        double off = tl_angle_signed(frame->up_pa_rad - truth->up_pa_deg * TL_DEG);
        check_near(off / TL_DEG, 0, 1.5);
    }
}

static double truth_moment(const cJSON *spot, const char *name) {
    const cJSON *passage = cJSON_GetObjectItem(spot, name);
    return truth_time(cJSON_GetObjectItem(passage, "centre_utc")->valuestring);
}

/* Within 0.3 deg of their places and 4 s of their coverings: asked of a clear picture of a disc
 * twice as large. */
static void spots_are_where_they_were_drawn(void **state) {
    const demo *d = *state;
    const double place_tolerance_deg = 0.3, time_tolerance_s = 4.0;
    const tl_spots *spots = &d->sequence.spots;
    const cJSON *list = cJSON_GetObjectItem(d->json, "spots");
    assert_int_equal(spots->count, cJSON_GetArraySize(list));
    for (size_t k = 0; k < spots->count; k++) {
        const tl_spot *found = &spots->spot[k];
        const cJSON *nearest = NULL;
        double least = 1e9;
        for (const cJSON *spot = list->child; spot != NULL; spot = spot->next) {
            const double off =
                hypot(json_number(spot, "latitude_deg") - found->latitude_rad / TL_DEG,
                      json_number(spot, "longitude_at_max_deg") - found->longitude_rad / TL_DEG);
            nearest = off < least ? spot : nearest;
            least = fmin(least, off);
        }
        assert_true(least < place_tolerance_deg);
        assert_true(found->covered.occurs && found->uncovered.occurs);
        check_near(found->covered.t_utc_s[TL_SPOT_CENTRE], truth_moment(nearest, "covered"),
                   time_tolerance_s);
        check_near(found->uncovered.t_utc_s[TL_SPOT_CENTRE], truth_moment(nearest, "uncovered"),
                   time_tolerance_s);
    }
    assert_int_equal(tl_track_main(&d->sequence.track)->mirrored, TL_MIRROR_YES);
    assert_true(d->sequence.closeup_count > 0);
}

/* On a screen of 24 lines, one of them the prompt's, and 80 columns; with emphasis the same. */
static void the_summary_fits_a_screen(void **state) {
    const demo *d = *state;
    char *plain = NULL, *strong = NULL;
    size_t size, lines = 0, column = 0;
    FILE *out = open_memstream(&plain, &size);
    assert_non_null(out);
    tl_report_summary(&d->sequence, "build/demo", false, out);
    assert_int_equal(fclose(out), 0);
    for (const char *c = plain; *c; c++) {
        column = *c == '\n' ? 0 : column + 1;
        lines += *c == '\n';
        assert_true(*c == '\n' || (*c >= 0x20 && *c < 0x7F));
        assert_true(column <= 80);
    }
    assert_true(lines > 10 && lines <= 23);
    out = open_memstream(&strong, &size);
    assert_non_null(out);
    tl_report_summary(&d->sequence, "build/demo", true, out);
    assert_int_equal(fclose(out), 0);
    const char *p = plain;
    for (const char *c = strong; *c; c++)
        if (*c == '\033')
            c += strcspn(c, "m");
        else
            assert_int_equal(*c, *p++);
    assert_int_equal(*p, '\0');
    free(plain);
    free(strong);
}

int main(void) {
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_usable_frame_is_measured_and_no_other),
        cmocka_unit_test(circles_are_where_they_were_drawn),
        cmocka_unit_test(clock_is_solved_with_its_zone),
        cmocka_unit_test(contacts_agree_with_the_truth),
        cmocka_unit_test(turns_are_right_where_given),
        cmocka_unit_test(spots_are_where_they_were_drawn),
        cmocka_unit_test(the_summary_fits_a_screen),
    };
    return cmocka_run_group_tests(tests, analyse_demo, forget_demo);
}
