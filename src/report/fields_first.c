/*
 * fields_first.c - the twenty columns that are promised to programs, in their order.
 */
#include <math.h>

#include "report/fields_internal.h"

static void add_file(const tl_report_row *r, tl_report_text *text) {
    tl_report_text_add(text, tl_report_base_name(r->frame->path));
}

static void add_status(const tl_report_row *r, tl_report_text *text) {
    tl_report_text_add(text, tl_limb_status_name(r->limb->status));
}

static void add_reason(const tl_report_row *r, tl_report_text *text) {
    tl_report_text_add(text, r->limb->reason);
}

static void add_camera_time(const tl_report_row *r, tl_report_text *text) {
    if (r->has_time)
        tl_report_add_column_time(text, r->frame->info.time.t_camera_s, r->frame->info.time.sigma_s,
                                  "");
}

static void add_true_utc(const tl_report_row *r, tl_report_text *text) {
    if (r->track->has_true)
        tl_report_add_column_time(text, r->track->true_utc_s, r->track->true_sigma_s, "Z");
}

static double true_sigma(const tl_report_row *r) {
    return tl_report_known_if(r->track->has_true, r->track->true_sigma_s);
}

static double sun_x(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, r->limb->circle[TL_SUN_X]);
}

static double sun_y(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, r->limb->circle[TL_SUN_Y]);
}

static double sun_r(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, r->limb->circle[TL_SUN_R]);
}

static double moon_x(const tl_report_row *r) {
    return tl_report_known_if(r->has_moon, r->limb->circle[TL_MOON_X]);
}

static double moon_y(const tl_report_row *r) {
    return tl_report_known_if(r->has_moon, r->limb->circle[TL_MOON_Y]);
}

static double moon_r(const tl_report_row *r) {
    return tl_report_known_if(r->has_moon, r->limb->circle[TL_MOON_R]);
}

static double separation(const tl_report_row *r) {
    return tl_report_known_if(r->has_moon, r->limb->separation_sr);
}

static double separation_sigma(const tl_report_row *r) {
    return tl_report_known_if(r->has_moon, r->limb->separation_sigma_sr);
}

static double moon_pa(const tl_report_row *r) {
    return tl_report_known_if(r->track->has_true,
                              tl_angle_positive(r->track->moon_pa_rad) / TL_DEG);
}

static double up_pa(const tl_report_row *r) {
    return tl_report_known_if(r->track->has_turn, tl_angle_positive(r->track->up_pa_rad) / TL_DEG);
}

/* Both are 0 where the track had no ratio to compute them with. */
static bool has_magnitude(const tl_report_row *r) {
    return r->has_moon && (r->track->magnitude > 0.0 || r->track->obscuration > 0.0);
}

static double magnitude(const tl_report_row *r) {
    return tl_report_known_if(has_magnitude(r), r->track->magnitude);
}

static double obscuration(const tl_report_row *r) {
    return tl_report_known_if(has_magnitude(r), r->track->obscuration);
}

static double blur(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, tl_report_positive(r->limb->blur_px));
}

static double altitude(const tl_report_row *r) {
    return tl_report_known_if(r->track->has_true, r->track->altitude_rad / TL_DEG);
}

const tl_report_field tl_report_fields_first[] = {
    COLUMN_STRING("file", add_file),
    COLUMN_STRING("status", add_status),
    COLUMN_STRING("reason", add_reason),
    COLUMN_STRING("camera_time", add_camera_time),
    COLUMN_STRING("true_utc", add_true_utc),
    COLUMN_SIGNIFICANT("true_sigma_s", true_sigma, 2),
    COLUMN_FIXED("sun_x_px", sun_x, 3),
    COLUMN_FIXED("sun_y_px", sun_y, 3),
    COLUMN_FIXED("sun_r_px", sun_r, 3),
    COLUMN_FIXED("moon_x_px", moon_x, 3),
    COLUMN_FIXED("moon_y_px", moon_y, 3),
    COLUMN_FIXED("moon_r_px", moon_r, 3),
    COLUMN_FIXED("separation_sr", separation, 5),
    COLUMN_SIGNIFICANT("separation_sigma_sr", separation_sigma, 2),
    COLUMN_FIXED("moon_pa_deg", moon_pa, 2),
    COLUMN_FIXED("up_pa_deg", up_pa, 2),
    COLUMN_FIXED("magnitude", magnitude, 4),
    COLUMN_FIXED("obscuration", obscuration, 4),
    COLUMN_FIXED("blur_px", blur, 2),
    COLUMN_FIXED("altitude_deg", altitude, 2),
    {0},
};
