/*
 * place.c - from the sky at a frame's time to circles in its picture.
 */
#include <math.h>

#include <gsl/gsl_randist.h>

#include "simulate/simulate_internal.h"

/* The matrix I + (factor - 1) d d' that stretches along the unit vector d. */
static void stretch_matrix(double factor, double dx, double dy, double m[2][2]) {
    m[0][0] = 1.0 + (factor - 1.0) * dx * dx;
    m[0][1] = m[1][0] = (factor - 1.0) * dx * dy;
    m[1][1] = 1.0 + (factor - 1.0) * dy * dy;
}

static void multiply(double a[2][2], double b[2][2], double out[2][2]) {
    for (int i = 0; i < 2; i++)
        for (int j = 0; j < 2; j++)
            out[i][j] = a[i][0] * b[0][j] + a[i][1] * b[1][j];
}

void tl_simulate_place_circles(const tl_simulate_settings *settings, tl_simulate_place *place) {
    const tl_sky *sky = &place->sky;
    tl_frame_from_sky(place->up_pa_rad, place->mirrored, sin(sky->parallactic_rad),
                      cos(sky->parallactic_rad), &place->zenith_x, &place->zenith_y);
    place->flattening = settings->refraction ? sky->flattening : 1.0;
    double stretch = settings->tilt.on ? settings->tilt.stretch : 1.0;
    double tx = cos(settings->tilt.direction_deg * TL_DEG);
    double ty = sin(settings->tilt.direction_deg * TL_DEG);

    /* The air flattens first, the card stretches what arrives: undone in the other order. */
    double air[2][2], card[2][2], distort[2][2];
    stretch_matrix(place->flattening, place->zenith_x, place->zenith_y, air);
    stretch_matrix(stretch, tx, ty, card);
    multiply(card, air, distort);
    stretch_matrix(1.0 / place->flattening, place->zenith_x, place->zenith_y, air);
    stretch_matrix(1.0 / stretch, tx, ty, card);
    multiply(air, card, place->round);

    double dx, dy;
    tl_frame_from_sky(place->up_pa_rad, place->mirrored, sky->east_sr * place->sun_r,
                      sky->north_sr * place->sun_r, &dx, &dy);
    place->moon_x = place->sun_x + distort[0][0] * dx + distort[0][1] * dy;
    place->moon_y = place->sun_y + distort[1][0] * dx + distort[1][1] * dy;
    place->moon_r = place->sun_r * sky->ratio;
    place->middle_x = 0.5 * (settings->width - 1);
    place->middle_y = 0.5 * (settings->height - 1);
    place->distortion_px2 =
        settings->distortion.on ? settings->distortion.share / (place->sun_r * place->sun_r) : 0.0;
}

/* The frame's turn before any jitter; `random` gives a free hand's. */
static double turn(const tl_simulate_settings *settings, const tl_sky *sky, double random) {
    double given = isnan(settings->up_pa_deg) ? 0.0 : settings->up_pa_deg * TL_DEG;
    switch (settings->holding) {
    case TL_SIMULATE_ALTAZ:
        return given + sky->parallactic_rad;
    case TL_SIMULATE_FREE:
        return isnan(settings->up_pa_deg) ? 2.0 * TL_PI * random : given;
    default:
        return given;
    }
}

static double scale_px(const tl_simulate_settings *settings, const tl_sky *sky) {
    if (!isnan(settings->sun_r_px))
        return settings->sun_r_px;
    return settings->focal_mm * 1e3 / settings->pixel_um * tan(sky->sun_radius_rad);
}

/* Everything random about the frame's place, always drawn in the same order. */
static void place_in_frame(const tl_simulate_settings *settings, gsl_rng *random,
                           tl_simulate_place *place) {
    tl_simulate_vary vary = settings->vary.on ? settings->vary : (tl_simulate_vary){0};
    double free_turn = gsl_rng_uniform(random), g[6];
    for (int i = 0; i < 6; i++)
        g[i] = gsl_ran_gaussian_ziggurat(random, 1.0);
    double x = isnan(settings->sun_x_px) ? 0.5 * (settings->width - 1) : settings->sun_x_px;
    double y = isnan(settings->sun_y_px) ? 0.5 * (settings->height - 1) : settings->sun_y_px;
    place->sun_x = x + vary.centre_px * g[0];
    place->sun_y = y + vary.centre_px * g[1];
    place->sun_r = scale_px(settings, &place->sky) * exp(vary.scale * g[2]);
    place->up_pa_rad =
        tl_angle_positive(turn(settings, &place->sky, free_turn) + vary.turn_deg * TL_DEG * g[3]);
    place->exposure = settings->exposure * exp(vary.exposure * g[4]);
    if (settings->blur_px > 0.0)
        place->blur_px = fmax(settings->blur_px * exp(vary.blur * g[5]), TL_SIMULATE_BLUR_MIN_PX);
    place->mirrored = settings->mirrored;
}

tl_status tl_simulate_place_make(const tl_simulate_scene *scene,
                                 const tl_circumstances *circumstances, size_t index,
                                 tl_simulate_place *place) {
    const tl_simulate_frame *frame = &scene->frame[index];
    const tl_simulate_clock *clock = &frame->settings.clock;
    gsl_rng *random = tl_simulate_random(scene->seed, index, TL_STREAM_PLACE);
    if (random == NULL)
        return TL_ERR_MEMORY;
    tl_simulate_place made = {.t_utc_s = tl_simulate_moment_at(frame, circumstances)};
    made.t_utc_s += frame->jitter_s * (2.0 * gsl_rng_uniform(random) - 1.0);
    /* The written truth has milliseconds: so has the truth itself. */
    made.t_utc_s = round(made.t_utc_s * 1e3) / 1e3;
    double since_max = made.t_utc_s - circumstances->contact[TL_MAX].t_utc_s;
    made.t_camera_s = made.t_utc_s + 60.0 * clock->zone_minutes + clock->offset_s +
                      clock->drift_ppm * 1e-6 * since_max;
    tl_status status = tl_sky_at(&scene->site, made.t_utc_s, &scene->sky, &made.sky);
    if (status == TL_OK) {
        place_in_frame(&frame->settings, random, &made);
        tl_simulate_place_circles(&frame->settings, &made);
        *place = made;
    }
    gsl_rng_free(random);
    return status;
}

tl_simulate_expected tl_simulate_place_expected(const tl_simulate_settings *settings,
                                                const tl_simulate_place *place) {
    const tl_sky *sky = &place->sky;
    if (settings->expected != TL_EXPECTED_AUTO)
        return (tl_simulate_expected)settings->expected;
    if (settings->subject != TL_SUBJECT_SUN || sky->separation_sr <= sky->ratio - 1.0)
        return TL_EXPECTED_REFUSED;
    return sky->separation_sr < 1.0 + sky->ratio ? TL_EXPECTED_MEASURED : TL_EXPECTED_SUN_ONLY;
}
