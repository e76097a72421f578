/*
 * granules.c - the Sun's granulation: a random field over the disc, before the telescope blurs it.
 *
 * Grains keep their size towards the limb and are new in each frame (real ones live some minutes);
 * both are simplifications.
 */
#include <math.h>

#include "simulate/simulate_internal.h"

#define FWHM_SIGMAS 2.3548 /* of a Gaussian: 2 sqrt(2 ln 2) */

/*
 * White noise smoothed by a Gaussian of sigma s has the autocorrelation exp(-d^2 / 4 s^2). Its mean
 * over a pixel then has, along each axis, the share int_-1^1 (1 - |d|) exp(-d^2 / a^2) dd of the
 * variance, a = 2 s.
 */
double tl_simulate_granule_share(double sigma_px) {
    double a = 2.0 * sigma_px;
    if (a <= 0.0)
        return 0.0;
    double along = a * sqrt(TL_PI) * erf(1.0 / a) - a * a * (1.0 - exp(-1.0 / (a * a)));
    return along * along;
}

tl_status tl_simulate_granulate(const tl_simulate_scene *scene, size_t index,
                                const tl_simulate_place *place,
                                tl_simulate_plane plane[TL_SIMULATE_CHANNELS]) {
    const tl_simulate_granulation *given = &scene->frame[index].settings.granulation;
    if (!given->on || given->rms <= 0.0)
        return TL_OK;
    double px_per_rad = place->sun_r / place->sky.sun_radius_rad;
    double sigma_px = given->cell_arcsec * TL_ARCSEC * px_per_rad / FWHM_SIGMAS;
    /* Smaller than that, neighbouring pixels share next to nothing. */
    double grain_px = sigma_px < TL_SIMULATE_BLUR_MIN_PX ? 0.0 : sigma_px;
    double rms = given->rms * sqrt(tl_simulate_granule_share(sigma_px));

    tl_simulate_plane grain = {0};
    gsl_rng *random = tl_simulate_random(scene->seed, index, TL_STREAM_GRANULATION);
    tl_status status = random != NULL ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK)
        status = tl_simulate_plane_make(plane[0].x0, plane[0].y0, plane[0].width, plane[0].height,
                                        &grain);
    if (status == TL_OK)
        status = tl_simulate_plane_grain(random, grain_px, &grain);
    size_t n = (size_t)plane[0].width * (size_t)plane[0].height;
    for (int c = 0; c < TL_SIMULATE_CHANNELS && status == TL_OK; c++)
        for (size_t i = 0; i < n; i++)
            plane[c].v[i] *= 1.0f + (float)rms * grain.v[i];
    tl_simulate_plane_free(&grain);
    if (random != NULL)
        gsl_rng_free(random);
    return status;
}
