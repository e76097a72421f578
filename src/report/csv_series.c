/*
 * csv_series.c - series.csv: the series for a spreadsheet. One row per picture with a solar circle,
 * in order of time; what is measured beside the almanac's. RFC 4180, UTF-8.
 */
#include <math.h>

#include "report/fields_internal.h"

/* Tells spreadsheets that the text is UTF-8 (The Unicode Standard 15.0, section 23.8). */
#define BYTE_ORDER_MARK "\xEF\xBB\xBF"

enum {
    SEPARATION_DECIMALS = 5, /* 0.01 arcsec: the almanac is good to 0.06 */
    SHARE_DECIMALS = 5,      /* of magnitude and obscuration, the latter in percent with two less */
    ALMANAC_DECIMALS = 4,    /* of these where nothing is measured: a second of time */
    ARCSEC_DECIMALS = 2,
    TURN_DECIMALS = 2
};

/* ---- numbers with the decimals that their sigma warrants ---------------------------------- */

static void add_rounded(tl_report_text *text, bool known, double value, double sigma, int most) {
    if (known)
        tl_report_add_fixed(text, value, tl_report_decimals(sigma, most));
}

static void add_sigma(tl_report_text *text, bool known, double sigma) {
    if (known && sigma > 0.0)
        tl_report_add_significant(text, sigma, 2);
}

/* The almanac's with the decimals of what it is to be held against. */
static void add_almanac(const tl_report_row *r, tl_report_text *text, double value, double sigma,
                        int most) {
    if (r->track->has_true)
        tl_report_add_fixed(text, value,
                            r->has_moon ? tl_report_decimals(sigma, most) : ALMANAC_DECIMALS);
}

static void add_spaced_time(tl_report_text *text, double t_s, double sigma_s) {
    tl_report_text iso = {0};
    tl_report_add_column_time(&iso, t_s, sigma_s, "");
    for (char *c = iso.data; c && *c; c++)
        if (*c == 'T')
            *c = ' ';
    tl_report_text_add(text, tl_report_text_string(&iso));
    text->failed = text->failed || iso.failed;
    tl_report_text_free(&iso);
}

/* ---- time ------------------------------------------------------------------------------------ */

static void true_time(const tl_report_row *r, tl_report_text *text) {
    if (r->track->has_true)
        add_spaced_time(text, r->track->true_utc_s, r->track->true_sigma_s);
}

static void true_sigma(const tl_report_row *r, tl_report_text *text) {
    add_sigma(text, r->track->has_true, r->track->true_sigma_s);
}

static void camera_time(const tl_report_row *r, tl_report_text *text) {
    if (r->has_time)
        add_spaced_time(text, r->frame->info.time.t_camera_s, r->frame->info.time.sigma_s);
}

/* ---- separation, magnitude, obscuration ------------------------------------------------------ */

static void separation(const tl_report_row *r, tl_report_text *text) {
    add_rounded(text, r->has_moon, r->limb->separation_sr, r->limb->separation_sigma_sr,
                SEPARATION_DECIMALS);
}

static void separation_sigma(const tl_report_row *r, tl_report_text *text) {
    add_sigma(text, r->has_moon, r->limb->separation_sigma_sr);
}

static void separation_almanac(const tl_report_row *r, tl_report_text *text) {
    add_almanac(r, text, r->track->sky.separation_sr, r->limb->separation_sigma_sr,
                SEPARATION_DECIMALS);
}

static void difference(const tl_report_row *r, tl_report_text *text) {
    const double arcsec = tl_report_sun_radius_arcsec(r->sequence, r->i);
    add_rounded(text, r->track->has_true && tl_report_has_residual(r->sequence, r->i),
                r->track->residual_sr * arcsec, r->limb->separation_sigma_sr * arcsec,
                ARCSEC_DECIMALS);
}

static void difference_sigma(const tl_report_row *r, tl_report_text *text) {
    const double arcsec = tl_report_sun_radius_arcsec(r->sequence, r->i);
    add_sigma(text, r->track->has_true && tl_report_has_residual(r->sequence, r->i),
              r->limb->separation_sigma_sr * arcsec);
}

static bool has_share(const tl_report_row *r) {
    return tl_report_has_share(r->sequence, r->i);
}

static double magnitude_error(const tl_report_row *r) {
    return tl_report_magnitude_sigma(r->sequence, r->i);
}

static double percent_error(const tl_report_row *r) {
    return 100.0 * tl_report_obscuration_sigma(r->sequence, r->i);
}

static void magnitude(const tl_report_row *r, tl_report_text *text) {
    if (has_share(r))
        tl_report_add_magnitude(r->sequence, r->i, SHARE_DECIMALS, text);
}

static void magnitude_sigma(const tl_report_row *r, tl_report_text *text) {
    add_sigma(text, has_share(r), magnitude_error(r));
}

static void magnitude_almanac(const tl_report_row *r, tl_report_text *text) {
    add_almanac(r, text, r->track->sky.magnitude, magnitude_error(r), SHARE_DECIMALS);
}

static void obscuration(const tl_report_row *r, tl_report_text *text) {
    if (has_share(r))
        tl_report_add_percent(r->sequence, r->i, SHARE_DECIMALS - 2, text);
}

static void obscuration_sigma(const tl_report_row *r, tl_report_text *text) {
    add_sigma(text, has_share(r), percent_error(r));
}

static void obscuration_almanac(const tl_report_row *r, tl_report_text *text) {
    if (r->track->has_true)
        tl_report_add_fixed(text, 100.0 * r->track->sky.obscuration,
                            has_share(r) ? tl_report_decimals(percent_error(r), SHARE_DECIMALS - 2)
                                         : ALMANAC_DECIMALS - 2);
}

/* ---- directions ------------------------------------------------------------------------------ */

static void moon_pa(const tl_report_row *r, tl_report_text *text) {
    double pa_rad;
    if (tl_report_measured_pa(r->sequence, r->i, &pa_rad))
        tl_report_add_fixed(text, pa_rad / TL_DEG, 1);
}

static void moon_pa_almanac(const tl_report_row *r, tl_report_text *text) {
    if (r->track->has_true)
        tl_report_add_fixed(text, tl_angle_positive(r->track->moon_pa_rad) / TL_DEG, 1);
}

static void altitude(const tl_report_row *r, tl_report_text *text) {
    if (r->track->has_true)
        tl_report_add_fixed(text, r->track->altitude_rad / TL_DEG, 2);
}

static void azimuth(const tl_report_row *r, tl_report_text *text) {
    if (r->track->has_true)
        tl_report_add_fixed(text, r->track->sky.sun_azimuth_rad / TL_DEG, 2);
}

static void zenith_pa(const tl_report_row *r, tl_report_text *text) {
    if (r->track->has_true)
        tl_report_add_fixed(text, tl_angle_positive(r->track->sky.parallactic_rad) / TL_DEG, 1);
}

static void up_pa(const tl_report_row *r, tl_report_text *text) {
    const double sigma_deg = r->track->up_sigma_rad / TL_DEG;
    if (r->track->has_turn)
        tl_report_add_fixed(text, tl_angle_positive(r->track->up_pa_rad) / TL_DEG,
                            sigma_deg > 0.0 ? tl_report_decimals(sigma_deg, TURN_DECIMALS) : 1);
}

static void up_sigma(const tl_report_row *r, tl_report_text *text) {
    add_sigma(text, r->track->has_turn, r->track->up_sigma_rad / TL_DEG);
}

/* ---- the picture ----------------------------------------------------------------------------- */

static void blur(const tl_report_row *r, tl_report_text *text) {
    if (r->limb->blur_px > 0.0)
        tl_report_add_fixed(text, r->limb->blur_px, 2);
}

static void blur_arcsec(const tl_report_row *r, tl_report_text *text) {
    const double arcsec = tl_report_sun_radius_arcsec(r->sequence, r->i);
    if (r->limb->blur_px > 0.0 && r->limb->circle[TL_SUN_R] > 0.0 && arcsec > 0.0)
        tl_report_add_fixed(text, r->limb->blur_px / r->limb->circle[TL_SUN_R] * arcsec, 1);
}

static void in_fits(const tl_report_row *r, tl_report_text *text) {
    tl_report_text_add(text, tl_report_used(r->sequence, r->i));
}

static void camera(const tl_report_row *r, tl_report_text *text) {
    tl_report_camera_name(r->sequence, r->frame->camera, text);
}

static void file(const tl_report_row *r, tl_report_text *text) {
    tl_report_text_add(text, tl_report_base_name(r->frame->path));
}

static const struct {
    const char *heading;
    void (*add)(const tl_report_row *r, tl_report_text *text);
    bool foreign; /* a text from outside, which a spreadsheet must not take for a formula */
} columns[] = {
    {"True time [UTC]", true_time, false},
    {"Sigma of the true time [s]", true_sigma, false},
    {"Camera's time [its own clock]", camera_time, false},
    {"Separation [solar radii]", separation, false},
    {"Sigma of the separation [solar radii]", separation_sigma, false},
    {"Separation, almanac [solar radii]", separation_almanac, false},
    {"Measured less almanac [arcsec]", difference, false},
    {"Sigma of measured less almanac [arcsec]", difference_sigma, false},
    {"Magnitude", magnitude, false},
    {"Sigma of the magnitude", magnitude_sigma, false},
    {"Magnitude, almanac", magnitude_almanac, false},
    {"Obscuration [%]", obscuration, false},
    {"Sigma of the obscuration [%]", obscuration_sigma, false},
    {"Obscuration, almanac [%]", obscuration_almanac, false},
    {"Moon's PA [deg]", moon_pa, false},
    {"Moon's PA, almanac [deg]", moon_pa_almanac, false},
    {"Sun's altitude [deg]", altitude, false},
    {"Sun's azimuth [deg]", azimuth, false},
    {"Zenith PA [deg]", zenith_pa, false},
    {"Up PA of the picture [deg]", up_pa, false},
    {"Sigma of the up PA [deg]", up_sigma, false},
    {"Blur [px]", blur, false},
    {"Blur [arcsec]", blur_arcsec, false},
    {"In the fits", in_fits, false},
    {"Camera", camera, true},
    {"File", file, true},
};
enum { COLUMNS = sizeof columns / sizeof *columns };

static void add_row(const tl_sequence *sequence, size_t i, tl_report_text *text) {
    const tl_report_row row = tl_report_row_of(sequence, i);
    tl_report_text value = {0};
    for (size_t c = 0; c < COLUMNS; c++) {
        tl_report_text_add(text, c ? "," : "");
        columns[c].add(&row, &value);
        (columns[c].foreign ? tl_report_add_sheet
                            : tl_report_add_csv)(text, tl_report_text_string(&value));
        text->failed = text->failed || value.failed;
        tl_report_text_free(&value);
    }
    tl_report_text_add(text, "\r\n");
}

static bool on_plate(const tl_report_plates *plates, size_t i) {
    for (size_t k = 0; k < plates->count; k++)
        if (plates->item[k].frame == i)
            return true;
    return false;
}

tl_status tl_report_series_csv(const tl_report_source *source, tl_report_text *text) {
    const tl_sequence *sequence = source->sequence;
    tl_report_text_add(text, BYTE_ORDER_MARK);
    for (size_t c = 0; c < COLUMNS; c++) {
        tl_report_text_add(text, c ? "," : "");
        tl_report_add_csv(text, columns[c].heading);
    }
    tl_report_text_add(text, "\r\n");
    for (size_t k = 0; k < source->plates.count; k++)
        add_row(sequence, source->plates.item[k].frame, text);
    for (size_t i = 0; i < sequence->count; i++) /* of another day */
        if (tl_report_row_of(sequence, i).has_sun && !on_plate(&source->plates, i))
            add_row(sequence, i, text);
    return text->failed ? TL_ERR_MEMORY : TL_OK;
}
