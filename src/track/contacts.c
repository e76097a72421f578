/*
 * contacts.c - contacts, maximum, smallest separation and speed of the free path.
 */
#include <math.h>

#include "track/track_internal.h"

/* A contact or maximum known no better than this is not given: it would say less than a glance
 * at the sky. */
static const double SIGMA_MAX_S = 600.0;
/* A central phase counts as measured when the path goes inside |k - 1| by so many sigma. */
static const double CENTRAL_SIGMAS = 2.0;

/* What of a variance may be lost in a difference. */
static const double ROUNDING = 1e-6;

/* Error of a quantity with this gradient, by the covariance of the path. */
static double propagate(const tl_track_path *path, const double gradient[TL_PATH_PARAMS]) {
    double sum = 0.0;
    for (size_t j = 0; j < TL_PATH_PARAMS; j++) {
        for (size_t k = 0; k < TL_PATH_PARAMS; k++) {
            sum += gradient[j] * path->covariance[j][k] * gradient[k];
        }
    }
    return sqrt(fmax(0.0, sum));
}

/* The Moon/Sun ratio at a contact, from the almanac if there is one. */
static double ratio_at(const tl_track *track, const tl_track_eclipse *eclipse, size_t which) {
    tl_sky sky;
    if (eclipse != NULL && eclipse->circumstances.contact[which].occurs &&
        tl_sky_table_at(eclipse->table, eclipse->circumstances.contact[which].t_utc_s, &sky) ==
            TL_OK) {
        return sky.ratio;
    }
    return track->ratio;
}

/*
 * Where the path meets separation `s`: P(t - t0) = s^2, so dt = -(dP/dparameter) / P'. An error
 * of the ratio moves s by as much.
 */
static void set_contact(const tl_track_path *path, double s, double s_sigma, int side,
                        tl_track_contact *contact) {
    double tau, gradient[TL_PATH_PARAMS];
    if (!tl_track_path_reach(path->parameter, s, side, &tau)) {
        return;
    }
    double slope = tl_track_path_slope(path->parameter, tau);
    tl_track_path_gradient(path->parameter, tau, gradient);
    double sigma_h = hypot(propagate(path, gradient), 2.0 * s * s_sigma) / fabs(slope);
    contact->sigma_s = sigma_h * TL_TRACK_HOUR_S;
    contact->measured_camera_s = path->origin_s + tau * TL_TRACK_HOUR_S;
    contact->measured = contact->sigma_s < SIGMA_MAX_S;
    /* ds/dt = (ds^2/dt) / 2s */
    contact->floor_s = TL_TRACK_FLOOR_SR * TL_TRACK_HOUR_S * 2.0 * s / fabs(slope);
}

static void set_maximum(const tl_track_path *path, tl_track *track) {
    const double *p = path->parameter;
    tl_track_contact *contact = &track->contact[TL_MAX];
    contact->sigma_s = sqrt(path->covariance[TL_PATH_T0][TL_PATH_T0]) * TL_TRACK_HOUR_S;
    contact->measured_camera_s = path->origin_s;
    contact->measured = contact->sigma_s < SIGMA_MAX_S;
    contact->floor_s = TL_TRACK_FLOOR_SR * TL_TRACK_HOUR_S / p[TL_PATH_V];
    track->has_smallest = contact->measured;
    if (track->has_smallest) {
        /* sqrt(c0), its error by the upper end of c0's: holds where c0 is not above its error. */
        double c0 = fmax(0.0, p[TL_PATH_C0]),
               sigma = sqrt(path->covariance[TL_PATH_C0][TL_PATH_C0]);
        track->smallest_sr = sqrt(c0);
        track->smallest_sigma_sr = c0 > sigma ? 0.5 * (sqrt(c0 + sigma) - sqrt(c0 - sigma))
                                              : sqrt(c0 + sigma) - track->smallest_sr;
        track->speed_sr_per_h = p[TL_PATH_V];
        track->speed_sigma_sr_per_h = sqrt(path->covariance[TL_PATH_V][TL_PATH_V]);
    }
}

/* C2 and C3 hang on the depth, which is not carried on from one side. */
static bool central(const tl_track_path *path, double s) {
    double sigma = sqrt(path->covariance[TL_PATH_C0][TL_PATH_C0]);
    return path->before && path->after &&
           path->parameter[TL_PATH_C0] + CENTRAL_SIGMAS * sigma < s * s;
}

/* Of the smallest separation; the ratio at maximum comes in with its own error. */
static void set_magnitude(double ratio, tl_track *track) {
    track->magnitude = tl_magnitude(track->smallest_sr, ratio);
    track->magnitude_sigma =
        tl_magnitude_sigma(track->smallest_sr, track->smallest_sigma_sr, ratio, track->ratio_sigma);
}

void tl_track_contacts(const tl_track_path *path, const tl_track_eclipse *eclipse,
                       tl_track *track) {
    static const int SIDE[TL_CONTACTS] = {[TL_C1] = -1, [TL_C2] = -1, [TL_C3] = 1, [TL_C4] = 1};
    set_maximum(path, track);
    if (!(track->ratio > 0.0)) {
        return;
    }
    set_magnitude(ratio_at(track, eclipse, TL_MAX), track);
    for (size_t i = 0; i < TL_CONTACTS; i++) {
        double ratio = ratio_at(track, eclipse, i);
        bool inner = i == TL_C2 || i == TL_C3;
        double s = inner ? fabs(ratio - 1.0) : ratio + 1.0;
        if (i != TL_MAX && (!inner || central(path, s))) {
            set_contact(path, s, track->ratio_sigma, SIDE[i], &track->contact[i]);
        }
    }
}

/*
 * Shift every time, and both the contact and the clock follow, the clock being the least squares
 * estimate of just that shift. Their covariance is then the clock's variance, and the variance of
 * their difference that of the contact less that of the clock (the argument of Hausman 1978,
 * Econometrica 46:1251). The clock's is taken as the path sees it, so that both rest on the same
 * speed and noise.
 */
void tl_track_contacts_utc(const tl_track_path *path, const tl_track_clock_fit *fit,
                           tl_track *track) {
    double clock_sigma_s = path->shift_sigma_s;
    for (size_t i = 0; i < TL_CONTACTS; i++) {
        tl_track_contact *c = &track->contact[i];
        if (c->measured) {
            double variance = c->sigma_s * c->sigma_s;
            double left = fmax(variance - clock_sigma_s * clock_sigma_s, ROUNDING * variance);
            c->measured_utc_s = c->measured_camera_s - fit->clock_s;
            c->measured_camera_s += fit->drift * (c->measured_camera_s - fit->at_s);
            c->utc_sigma_s = sqrt(left);
        }
    }
}
