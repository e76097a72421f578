/*
 * fields_more.c - the columns after the promised ones: the file, its time, the almanac beside it,
 * the limbs, the camera, and what became of it all.
 */
#include <math.h>

#include "report/fields_internal.h"

static void add_path(const tl_report_row *r, tl_report_text *text) {
    tl_report_text_add(text, r->frame->path);
}

static double width(const tl_report_row *r) {
    return tl_report_positive(r->frame->info.width);
}

static double height(const tl_report_row *r) {
    return tl_report_positive(r->frame->info.height);
}

static void add_time_source(const tl_report_row *r, tl_report_text *text) {
    static const char *const name[] = {"", "table", "exif-subsec", "exif", "name"};
    tl_report_text_add(text, name[r->frame->info.time.source]);
}

static double camera_sigma(const tl_report_row *r) {
    return tl_report_known_if(r->has_time, r->frame->info.time.sigma_s);
}

static double zone(const tl_report_row *r) {
    return tl_report_known_if(r->has_time && r->frame->info.time.zone_known,
                              r->frame->info.time.zone_minutes);
}

static void add_gps_utc(const tl_report_row *r, tl_report_text *text) {
    char iso[TL_TIME_TEXT_SIZE];
    if (!r->frame->info.has_gps_time)
        return;
    tl_time_text(r->frame->info.gps_t_utc_s, 0, "Z", iso);
    tl_report_text_add(text, iso);
}

static double ratio_raw(const tl_report_row *r) {
    return tl_report_known_if(r->has_moon, tl_report_positive(r->limb->ratio_raw));
}

static double ratio_raw_sigma(const tl_report_row *r) {
    return tl_report_known_if(r->has_moon, tl_report_positive(r->limb->ratio_raw_sigma));
}

static double separation_predicted(const tl_report_row *r) {
    return tl_report_known_if(r->track->has_true, r->track->sky.separation_sr);
}

static double separation_residual(const tl_report_row *r) {
    return tl_report_known_if(tl_report_has_residual(r->sequence, r->i), r->track->residual_sr);
}

static double outlier(const tl_report_row *r) {
    return tl_report_known_if((tl_report_has_residual(r->sequence, r->i) && !r->frame->excluded) ||
                                  (r->has_moon && r->track->outlier),
                              r->track->outlier);
}

static double moon_pa_measured(const tl_report_row *r) {
    double pa_rad;
    return tl_report_measured_pa(r->sequence, r->i, &pa_rad) ? pa_rad / TL_DEG : NAN;
}

static double azimuth(const tl_report_row *r) {
    return tl_report_known_if(r->track->has_true, r->track->sky.sun_azimuth_rad / TL_DEG);
}

static double parallactic(const tl_report_row *r) {
    return tl_report_known_if(r->track->has_true,
                              tl_angle_signed(r->track->sky.parallactic_rad) / TL_DEG);
}

static double residual(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, tl_report_positive(r->limb->residual_px));
}

static double edge_shift(const tl_report_row *r) {
    return tl_report_known_if(r->has_moon, r->limb->edge_shift_px);
}

static double flattening(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, r->limb->flattening);
}

/* From x, right, towards y, down; an axis has no ends. */
static double flat_axis(const tl_report_row *r) {
    double angle = atan2(r->limb->flat_y, r->limb->flat_x);
    if (angle < 0)
        angle += TL_PI;
    return tl_report_known_if(r->has_sun && r->limb->flattening < 1, angle / TL_DEG);
}

static double limb_darkening(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, tl_report_positive(r->limb->darkening));
}

static double misfit(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, r->limb->profile_misfit);
}

static double arc_sun(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, r->limb->arc_sun_rad / TL_DEG);
}

static double arc_moon(const tl_report_row *r) {
    return tl_report_known_if(r->has_moon, r->limb->arc_moon_rad / TL_DEG);
}

static double points(const tl_report_row *r) {
    size_t used = 0;
    for (size_t k = 0; k < r->limb->edge_count; k++)
        used += r->limb->edge[k].used;
    return tl_report_known_if(r->has_sun, (double)used);
}

static double clipped(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, r->limb->clipped_share);
}

static double sky_level(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, r->limb->sky_level);
}

static double disc_level(const tl_report_row *r) {
    return tl_report_known_if(r->has_sun, r->limb->disc_level);
}

static void add_channel(const tl_report_row *r, tl_report_text *text) {
    if (r->has_sun)
        tl_report_text_add(text, r->limb->channel);
}

static void add_make(const tl_report_row *r, tl_report_text *text) {
    tl_report_text_add(text, r->frame->info.make);
}

static void add_model(const tl_report_row *r, tl_report_text *text) {
    tl_report_text_add(text, r->frame->info.model);
}

static double f_number(const tl_report_row *r) {
    return tl_report_positive(r->frame->info.f_number);
}

static double exposure(const tl_report_row *r) {
    return tl_report_positive(r->frame->info.exposure_s);
}

static double iso(const tl_report_row *r) {
    return tl_report_positive(r->frame->info.iso);
}

static double focal_length(const tl_report_row *r) {
    return tl_report_positive(r->frame->info.focal_length_mm);
}

static void add_used(const tl_report_row *r, tl_report_text *text) {
    tl_report_text_add(text, tl_report_used(r->sequence, r->i));
}

static void add_camera(const tl_report_row *r, tl_report_text *text) {
    if (tl_report_has_camera(r->sequence, r->i))
        tl_report_camera_name(r->sequence, r->frame->camera, text);
}

const tl_report_field tl_report_fields_more[] = {
    COLUMN_STRING("path", add_path),
    COLUMN_FIXED("width_px", width, 0),
    COLUMN_FIXED("height_px", height, 0),
    COLUMN_STRING("time_source", add_time_source),
    COLUMN_SIGNIFICANT("camera_sigma_s", camera_sigma, 2),
    COLUMN_FIXED("zone_minutes", zone, 0),
    COLUMN_STRING("gps_utc", add_gps_utc),
    COLUMN_FIXED("separation_predicted_sr", separation_predicted, 5),
    COLUMN_FIXED("separation_residual_sr", separation_residual, 5),
    COLUMN_FLAG("outlier", outlier),
    COLUMN_FIXED("moon_pa_measured_deg", moon_pa_measured, 2),
    COLUMN_FIXED("azimuth_deg", azimuth, 2),
    COLUMN_FIXED("parallactic_deg", parallactic, 2),
    COLUMN_FIXED("ratio_raw", ratio_raw, 5),
    COLUMN_SIGNIFICANT("ratio_raw_sigma", ratio_raw_sigma, 2),
    COLUMN_FIXED("residual_px", residual, 3),
    COLUMN_FIXED("edge_shift_px", edge_shift, 3),
    COLUMN_FIXED("flattening", flattening, 4),
    COLUMN_FIXED("flat_axis_deg", flat_axis, 1),
    COLUMN_FIXED("limb_darkening", limb_darkening, 3),
    COLUMN_FIXED("profile_misfit", misfit, 4),
    COLUMN_FIXED("arc_sun_deg", arc_sun, 1),
    COLUMN_FIXED("arc_moon_deg", arc_moon, 1),
    COLUMN_FIXED("edge_points", points, 0),
    COLUMN_FIXED("clipped_share", clipped, 4),
    COLUMN_FIXED("sky_level", sky_level, 4),
    COLUMN_FIXED("disc_level", disc_level, 4),
    COLUMN_STRING("channel", add_channel),
    COLUMN_STRING("camera_make", add_make),
    COLUMN_STRING("camera_model", add_model),
    COLUMN_SIGNIFICANT("f_number", f_number, 3),
    COLUMN_SIGNIFICANT("exposure_s", exposure, 4),
    COLUMN_FIXED("iso", iso, 0),
    COLUMN_SIGNIFICANT("focal_length_mm", focal_length, 4),
    COLUMN_STRING("used", add_used),
    COLUMN_STRING("camera", add_camera),
    {0},
};
