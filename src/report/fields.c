/*
 * fields.c - the columns of frames.csv and of frames[] in sequence.json: names,
 * order, digits. docs/output.md says what each one means.
 *
 * The first twenty are promised to programs; new ones go to the end.
 */
#include <math.h>

#include "report/report_internal.h"

/* One frame as the columns see it. */
typedef struct row {
    const tl_sequence *sequence;
    size_t i;
    const tl_sequence_frame *frame;
    const tl_limb *limb;
    const tl_track_frame *track;
    bool has_sun, has_moon, has_time;
} row;

static row make_row(const tl_sequence *sequence, size_t i) {
    const tl_sequence_frame *frame = &sequence->frame[i];
    const tl_limb_status status = frame->limb.status;
    return (row){sequence,
                 i,
                 frame,
                 &frame->limb,
                 tl_report_track_frame(sequence, i),
                 status == TL_LIMB_MEASURED || status == TL_LIMB_SUN_ONLY,
                 status == TL_LIMB_MEASURED,
                 frame->info.time.source != TL_TIME_NONE};
}

/* Number columns return NAN for "not known". */
static double known_if(bool known, double value) {
    return known ? value : NAN;
}

static double positive(double value) {
    return known_if(value > 0.0, value);
}

static void add_time(tl_report_text *text, double t_s, double sigma_s, const char *suffix) {
    char iso[TL_TIME_TEXT_SIZE];
    tl_time_text(t_s, tl_report_decimals(sigma_s, 3), suffix, iso);
    tl_report_text_add(text, iso);
}

static void add_file(const row *r, tl_report_text *text) {
    tl_report_text_add(text, tl_report_base_name(r->frame->path));
}

static void add_status(const row *r, tl_report_text *text) {
    tl_report_text_add(text, tl_limb_status_name(r->limb->status));
}

static void add_reason(const row *r, tl_report_text *text) {
    tl_report_text_add(text, r->limb->reason);
}

static void add_camera_time(const row *r, tl_report_text *text) {
    if (r->has_time)
        add_time(text, r->frame->info.time.t_camera_s, r->frame->info.time.sigma_s, "");
}

static void add_true_utc(const row *r, tl_report_text *text) {
    if (r->track->has_true)
        add_time(text, r->track->true_utc_s, r->track->true_sigma_s, "Z");
}

static double true_sigma(const row *r) {
    return known_if(r->track->has_true, r->track->true_sigma_s);
}

static double sun_x(const row *r) {
    return known_if(r->has_sun, r->limb->circle[TL_SUN_X]);
}

static double sun_y(const row *r) {
    return known_if(r->has_sun, r->limb->circle[TL_SUN_Y]);
}

static double sun_r(const row *r) {
    return known_if(r->has_sun, r->limb->circle[TL_SUN_R]);
}

static double moon_x(const row *r) {
    return known_if(r->has_moon, r->limb->circle[TL_MOON_X]);
}

static double moon_y(const row *r) {
    return known_if(r->has_moon, r->limb->circle[TL_MOON_Y]);
}

static double moon_r(const row *r) {
    return known_if(r->has_moon, r->limb->circle[TL_MOON_R]);
}

static double separation(const row *r) {
    return known_if(r->has_moon, r->limb->separation_sr);
}

static double separation_sigma(const row *r) {
    return known_if(r->has_moon, r->limb->separation_sigma_sr);
}

static double moon_pa(const row *r) {
    return known_if(r->track->has_true, tl_angle_positive(r->track->moon_pa_rad) / TL_DEG);
}

static double up_pa(const row *r) {
    return known_if(r->track->has_turn, tl_angle_positive(r->track->up_pa_rad) / TL_DEG);
}

/* Both are 0 where the track had no ratio to compute them with. */
static bool has_magnitude(const row *r) {
    return r->has_moon && (r->track->magnitude > 0.0 || r->track->obscuration > 0.0);
}

static double magnitude(const row *r) {
    return known_if(has_magnitude(r), r->track->magnitude);
}

static double obscuration(const row *r) {
    return known_if(has_magnitude(r), r->track->obscuration);
}

static double blur(const row *r) {
    return known_if(r->has_sun, positive(r->limb->blur_px));
}

static double altitude(const row *r) {
    return known_if(r->track->has_true, r->track->altitude_rad / TL_DEG);
}

static void add_path(const row *r, tl_report_text *text) {
    tl_report_text_add(text, r->frame->path);
}

static double width(const row *r) {
    return positive(r->frame->width);
}

static double height(const row *r) {
    return positive(r->frame->height);
}

static void add_time_source(const row *r, tl_report_text *text) {
    static const char *const name[] = {"", "table", "exif-subsec", "exif", "name"};
    tl_report_text_add(text, name[r->frame->info.time.source]);
}

static double camera_sigma(const row *r) {
    return known_if(r->has_time, r->frame->info.time.sigma_s);
}

static double zone(const row *r) {
    return known_if(r->has_time && r->frame->info.time.zone_known,
                    r->frame->info.time.zone_minutes);
}

static void add_gps_utc(const row *r, tl_report_text *text) {
    char iso[TL_TIME_TEXT_SIZE];
    if (!r->frame->info.has_gps_time)
        return;
    tl_time_text(r->frame->info.gps_t_utc_s, 0, "Z", iso);
    tl_report_text_add(text, iso);
}

static double ratio_raw(const row *r) {
    return known_if(r->has_moon, positive(r->limb->ratio_raw));
}

static double ratio_raw_sigma(const row *r) {
    return known_if(r->has_moon, positive(r->limb->ratio_raw_sigma));
}

static double separation_predicted(const row *r) {
    return known_if(r->track->has_true, r->track->sky.separation_sr);
}

/* An undated frame got its time from its separation: it has no residual. */
static bool has_residual(const row *r) {
    const bool compared = r->track->has_true || r->sequence->track.free_solved;
    /* The free path is that of the frames shown to the track. */
    return r->has_moon && r->has_time && compared && (r->track->has_true || !r->frame->excluded);
}

static double separation_residual(const row *r) {
    return known_if(has_residual(r), r->track->residual_sr);
}

static double outlier(const row *r) {
    return known_if(has_residual(r) && !r->frame->excluded, r->track->outlier);
}

static double moon_pa_measured(const row *r) {
    double pa_rad;
    return tl_report_measured_pa(r->sequence, r->i, &pa_rad) ? pa_rad / TL_DEG : NAN;
}

static double azimuth(const row *r) {
    return known_if(r->track->has_true, r->track->sky.sun_azimuth_rad / TL_DEG);
}

static double parallactic(const row *r) {
    return known_if(r->track->has_true, tl_angle_signed(r->track->sky.parallactic_rad) / TL_DEG);
}

static double residual(const row *r) {
    return known_if(r->has_sun, positive(r->limb->residual_px));
}

static double edge_shift(const row *r) {
    return known_if(r->has_moon, r->limb->edge_shift_px);
}

static double flattening(const row *r) {
    return known_if(r->has_sun, r->limb->flattening);
}

/* From x, right, towards y, down; an axis has no ends. */
static double flat_axis(const row *r) {
    double angle = atan2(r->limb->flat_y, r->limb->flat_x);
    if (angle < 0)
        angle += TL_PI;
    return known_if(r->has_sun && r->limb->flattening < 1, angle / TL_DEG);
}

static double limb_darkening(const row *r) {
    return known_if(r->has_sun, positive(r->limb->darkening));
}

static double misfit(const row *r) {
    return known_if(r->has_sun, r->limb->profile_misfit);
}

static double arc_sun(const row *r) {
    return known_if(r->has_sun, r->limb->arc_sun_rad / TL_DEG);
}

static double arc_moon(const row *r) {
    return known_if(r->has_moon, r->limb->arc_moon_rad / TL_DEG);
}

static double points(const row *r) {
    size_t used = 0;
    for (size_t k = 0; k < r->limb->edge_count; k++)
        used += r->limb->edge[k].used;
    return known_if(r->has_sun, (double)used);
}

static double clipped(const row *r) {
    return known_if(r->has_sun, r->limb->clipped_share);
}

static double sky_level(const row *r) {
    return known_if(r->has_sun, r->limb->sky_level);
}

static double disc_level(const row *r) {
    return known_if(r->has_sun, r->limb->disc_level);
}

static void add_channel(const row *r, tl_report_text *text) {
    if (r->has_sun)
        tl_report_text_add(text, r->limb->channel);
}

static void add_make(const row *r, tl_report_text *text) {
    tl_report_text_add(text, r->frame->info.make);
}

static void add_model(const row *r, tl_report_text *text) {
    tl_report_text_add(text, r->frame->info.model);
}

static double f_number(const row *r) {
    return positive(r->frame->info.f_number);
}

static double exposure(const row *r) {
    return positive(r->frame->info.exposure_s);
}

static double iso(const row *r) {
    return positive(r->frame->info.iso);
}

static double focal_length(const row *r) {
    return positive(r->frame->info.focal_length_mm);
}

static void add_used(const row *r, tl_report_text *text) {
    tl_report_text_add(text, tl_report_used(r->sequence, r->i));
}

/* A column holds a string (`add`), or a number (`number`) with either fixed decimals or, where
 * `digits` is not 0, that many significant digits. */
typedef struct field {
    const char *name;
    tl_report_kind kind;
    void (*add)(const row *r, tl_report_text *text);
    double (*number)(const row *r);
    int decimals, digits;
} field;

#define STRING(name, function)                                                                     \
    { name, TL_REPORT_STRING, function, NULL, 0, 0 }
#define FIXED(name, function, decimals)                                                            \
    { name, TL_REPORT_NUMBER, NULL, function, decimals, 0 }
#define SIGNIFICANT(name, function, digits)                                                        \
    { name, TL_REPORT_NUMBER, NULL, function, 0, digits }
#define FLAG(name, function)                                                                       \
    { name, TL_REPORT_FLAG, NULL, function, 0, 0 }

static const field column[] = {
    STRING("file", add_file),
    STRING("status", add_status),
    STRING("reason", add_reason),
    STRING("camera_time", add_camera_time),
    STRING("true_utc", add_true_utc),
    SIGNIFICANT("true_sigma_s", true_sigma, 2),
    FIXED("sun_x_px", sun_x, 3),
    FIXED("sun_y_px", sun_y, 3),
    FIXED("sun_r_px", sun_r, 3),
    FIXED("moon_x_px", moon_x, 3),
    FIXED("moon_y_px", moon_y, 3),
    FIXED("moon_r_px", moon_r, 3),
    FIXED("separation_sr", separation, 5),
    SIGNIFICANT("separation_sigma_sr", separation_sigma, 2),
    FIXED("moon_pa_deg", moon_pa, 2),
    FIXED("up_pa_deg", up_pa, 2),
    FIXED("magnitude", magnitude, 4),
    FIXED("obscuration", obscuration, 4),
    FIXED("blur_px", blur, 2),
    FIXED("altitude_deg", altitude, 2),
    STRING("path", add_path),
    FIXED("width_px", width, 0),
    FIXED("height_px", height, 0),
    STRING("time_source", add_time_source),
    SIGNIFICANT("camera_sigma_s", camera_sigma, 2),
    FIXED("zone_minutes", zone, 0),
    STRING("gps_utc", add_gps_utc),
    FIXED("separation_predicted_sr", separation_predicted, 5),
    FIXED("separation_residual_sr", separation_residual, 5),
    FLAG("outlier", outlier),
    FIXED("moon_pa_measured_deg", moon_pa_measured, 2),
    FIXED("azimuth_deg", azimuth, 2),
    FIXED("parallactic_deg", parallactic, 2),
    FIXED("ratio_raw", ratio_raw, 5),
    SIGNIFICANT("ratio_raw_sigma", ratio_raw_sigma, 2),
    FIXED("residual_px", residual, 3),
    FIXED("edge_shift_px", edge_shift, 3),
    FIXED("flattening", flattening, 4),
    FIXED("flat_axis_deg", flat_axis, 1),
    FIXED("limb_darkening", limb_darkening, 3),
    FIXED("profile_misfit", misfit, 4),
    FIXED("arc_sun_deg", arc_sun, 1),
    FIXED("arc_moon_deg", arc_moon, 1),
    FIXED("edge_points", points, 0),
    FIXED("clipped_share", clipped, 4),
    FIXED("sky_level", sky_level, 4),
    FIXED("disc_level", disc_level, 4),
    STRING("channel", add_channel),
    STRING("camera_make", add_make),
    STRING("camera_model", add_model),
    SIGNIFICANT("f_number", f_number, 3),
    SIGNIFICANT("exposure_s", exposure, 4),
    FIXED("iso", iso, 0),
    SIGNIFICANT("focal_length_mm", focal_length, 4),
    STRING("used", add_used),
};

const size_t tl_report_field_count = sizeof column / sizeof *column;

const char *tl_report_field_name(size_t index) {
    return column[index].name;
}

tl_report_kind tl_report_field_kind(size_t index) {
    return column[index].kind;
}

void tl_report_field_add(const tl_sequence *sequence, size_t i, size_t index,
                         tl_report_text *text) {
    const row r = make_row(sequence, i);
    const field *f = &column[index];
    if (f->kind == TL_REPORT_STRING) {
        f->add(&r, text);
        return;
    }
    const double value = f->number(&r);
    if (!isfinite(value))
        return;
    if (f->kind == TL_REPORT_FLAG)
        tl_report_text_add(text, value != 0.0 ? "true" : "false");
    else if (f->digits)
        tl_report_add_significant(text, value, f->digits);
    else
        tl_report_add_fixed(text, value, f->decimals);
}
