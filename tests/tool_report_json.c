/*
 * tool_report_json.c - sequence.json of invented series of every kind, for tests/check_schema.py.
 *
 *     tool_report_json FOLDER
 *
 * FOLDER must be there. What can be known is known in some of them and not in others.
 */
#include <stdio.h>

#include "report/report_internal.h"
#include "test_report_spot_series.h"

/* Whatever a picture's file and its limbs can say. */
static void fill_frames(tl_sequence *s) {
    for (size_t i = 0; i < s->count; i++) {
        tl_sequence_frame *frame = &s->frame[i];
        tl_frame_info *info = &frame->info;
        strcpy(info->make, "=Invented");
        info->f_number = 2.8;
        info->focal_length_mm = 4.25;
        info->time.zone_known = true;
        info->time.zone_minutes = SERIES_ZONE_MINUTES;
        info->has_gps_time = true;
        info->gps_t_utc_s = series_utc(i) - 3.0;
        frame->limb.flattening = 0.9921;
        frame->limb.flat_x = -0.3;
        frame->limb.flat_y = -0.95;
        frame->limb.darkening = 1.04;
        frame->limb.clipped_share = 0.0125;
        frame->limb.edge_shift_px = -0.11;
        s->track.frame[i].turn_by = TL_TURN_BY_MOON;
        s->track.frame[i].up_sigma_rad = 0.3 * TL_DEG;
    }
    s->frame[1].info.time.source = TL_TIME_TABLE;
    s->frame[2].info.time.source = TL_TIME_EXIF_SUBSEC;
    s->frame[4].info.time.source = TL_TIME_NAME;
    s->frame[6].excluded = true;
    s->track.frame[2].turn_by = TL_TURN_BY_RULE;
    s->track.frame[4].turn_by = TL_TURN_BY_SPOTS;
    strcpy(s->frame[1].limb.channel, "green");
    strcpy(s->frame[2].limb.channel, "blue");
    strcpy(s->frame[4].limb.channel, "luma");
    s->track.camera[0].turn_jitter_rad = 0.7 * TL_DEG;
}

static tl_sequence series_full(void) {
    tl_sequence s = series_spots();
    fill_frames(&s);
    s.times_name = series_copy("times.csv");
    s.spots_name = series_copy("spots <of> the day.csv");
    s.options.zone_given = s.options.date_given = s.options.sky.deltat_given = true;
    s.options.zone_minutes = SERIES_ZONE_MINUTES;
    s.options.date_utc_s = SERIES_DAY_S;
    s.options.sky.deltat_s = 69.2;
    s.options.holding = TL_HOLDING_ALTAZ;
    s.options.mirror = TL_MIRROR_YES;
    s.track.camera[0].holding_given = s.track.camera[0].mirror_given = true;
    s.track.compass.state = TL_COMPASS_USED;
    strcpy(s.spots.note, "One list of spots is older than a rotation.");
    return s;
}

/* A second answer to everything, in the path of totality, from sunrise to sunset. */
static tl_sequence series_central(void) {
    tl_sequence s = series_odd();
    tl_track *track = &s.track;
    series_contact(track, TL_C2, 32900.0, 0.4, 1.2);
    series_contact(track, TL_C3, 33000.0, -0.4, 1.2);
    track->contact[TL_C3].measured = false;
    track->circumstances.kind = TL_ECLIPSE_TOTAL;
    track->circumstances.has_sunrise = track->circumstances.has_sunset = true;
    track->circumstances.sunrise_utc_s = SERIES_DAY_S + 28950.0;
    track->circumstances.sunset_utc_s = SERIES_DAY_S + 37150.0;
    tl_clock *clock = &track->camera[0].clock;
    clock->alternative_count = 2;
    clock->alternative[0].zone_minutes = 60;
    clock->alternative[0].offset_s = 3637.4;
    clock->alternative[0].sigma_s = 0.31;
    clock->alternative[0].same_clock = true;
    clock->alternative[1].zone_minutes = -570;
    clock->alternative[1].day_shift_s = -2.0 * TL_DAY_S;
    clock->alternative[1].sigma_s = 4.0;
    clock->alternative[1].delta_chi2 = -0.25;
    track->free_degree = 4;
    track->free_rms_sr = 0.0021;
    track->day_found = true;
    track->camera[0].holding = TL_HOLDING_FIXED;
    track->camera[0].holding_open = true;
    s.spots.dust_count = 3;
    return s;
}

/* As many cameras as are told apart, and one more. */
static tl_sequence series_cameras(void) {
    tl_sequence s = series_solved();
    s.track.camera_count = s.camera_count = TL_CAMERAS_MAX;
    for (size_t k = 0; k < TL_CAMERAS_MAX; k++) {
        snprintf(s.camera[k].name, sizeof s.camera[k].name, "=camera \"%zu\"", k + 1);
        if (k > 0)
            s.track.camera[k] = (tl_track_camera){.frame_count = 1};
    }
    for (size_t i = 0; i < s.count; i++) /* of those without a Sun, none is named */
        s.frame[i].camera = s.frame[i].limb.status == TL_LIMB_MEASURED ? i : TL_CAMERAS_MAX;
    s.frame[0].camera = TL_CAMERAS_MAX;
    return s;
}

/* The place was asked for. */
static tl_sequence series_estimated(void) {
    tl_sequence s = series_no_site();
    s.options.find_site = true;
    s.track.place_count = 2;
    for (size_t k = 0; k < 2; k++) {
        tl_track_place *place = &s.track.place[k];
        *place = (tl_track_place){.lat_rad = (45.0 - 3.0 * (double)k) * TL_DEG,
                                  .lon_rad = 10.0 * TL_DEG,
                                  .along_m = 18000.0,
                                  .across_m = 6700.0,
                                  .long_axis_rad = 152.0 * TL_DEG,
                                  .m_per_clock_s = 900.0,
                                  .chi2 = 2.5 * (double)k,
                                  .point_count = k == 0 ? TL_PLACE_LINE_POINTS : 0};
        for (size_t p = 0; p < place->point_count; p++) {
            place->point[p].lat_rad = place->lat_rad + 1e-4 * ((double)p - 16.0);
            place->point[p].lon_rad = place->lon_rad - 1e-4 * ((double)p - 16.0);
        }
    }
    return s;
}

/* Spots without a time, and of a list only. */
static tl_sequence series_untimed_spots(void) {
    tl_sequence s = series_spots();
    for (size_t k = 0; k < s.spots.count; k++) {
        s.spots.spot[k].has_passages = false;
        s.spots.spot[k].epoch_utc_s = 0.0;
        s.spots.spot[k].area_ppm = s.spots.spot[k].umbra_radius_sr = 0.0;
        s.spots.spot[k].from_list = true;
        s.spots.spot[k].in_pictures = false;
    }
    s.spots.mirror_decided = false;
    s.spots.noise_level = 0.0;
    return s;
}

/* Numbers that are none, wherever a limb or a path could have them. */
static tl_sequence series_not_finite(void) {
    tl_sequence s = series_solved();
    for (size_t i = 0; i < s.count; i++) {
        tl_limb *limb = &s.frame[i].limb;
        for (size_t k = 0; k < sizeof limb->circle / sizeof *limb->circle; k++)
            limb->circle[k] = NAN;
        limb->separation_sr = limb->separation_sigma_sr = limb->blur_px = INFINITY;
        limb->ratio_raw = s.track.frame[i].up_pa_rad = s.track.frame[i].moon_pa_rad = NAN;
        s.track.frame[i].magnitude = s.track.frame[i].true_sigma_s = NAN;
    }
    s.track.smallest_sr = s.track.magnitude = s.track.speed_sigma_sr_per_h = NAN;
    s.track.contact[TL_C1].measured_utc_s = s.track.contact[TL_C4].utc_sigma_s = NAN;
    return s;
}

static tl_sequence series_of_none(void) {
    return (tl_sequence){.options.sky = tl_sky_options_default(), .track.camera_count = 1};
}

static tl_sequence series_of_many_spots(void) {
    return series_many_spots(40);
}

static const struct {
    const char *name;
    tl_sequence (*make)(void);
} series[] = {{"solved", series_solved},
              {"odd", series_odd},
              {"no-site", series_no_site},
              {"nothing", series_nothing},
              {"spots", series_spots},
              {"many-spots", series_of_many_spots},
              {"untimed-spots", series_untimed_spots},
              {"full", series_full},
              {"central", series_central},
              {"cameras", series_cameras},
              {"estimated", series_estimated},
              {"not-finite", series_not_finite},
              {"none", series_of_none}};

static tl_status write_one(const char *folder, size_t k) {
    char path[1024];
    tl_report_text text = {0};
    tl_sequence s = series[k].make();
    snprintf(path, sizeof path, "%s/%s.json", folder, series[k].name);
    tl_status status = tl_report_json(&s, &text);
    if (status == TL_OK)
        status = tl_report_write_file(path, text.data, text.length);
    tl_report_text_free(&text);
    tl_sequence_free(&s);
    return status;
}

int main(int argc, char **argv) {
    if (argc != 2)
        return 2;
    for (size_t k = 0; k < sizeof series / sizeof *series; k++)
        if (write_one(argv[1], k) != TL_OK)
            return 1;
    return 0;
}
