/*
 * path_model.c - the shape of the Moon's path that the free solution fits.
 *
 *   s^2(tau) = c0 + v^2 tau^2 + b v tau^3 + c4 tau^4 + c5 tau^5 + c6 tau^6,
 *   tau = hours from the smallest separation
 *
 * Straight uniform motion gives c0 + v^2 tau^2 exactly. The observer, carried round by the
 * Earth, bends and stretches it: with the offset u(tau) of the Moon, s^2 = u.u, and v, b v and
 * c4 are the products of u' with u', u'' and (a third of) u''' plus a quarter of u''.u''. The last
 * two are small, but an eclipse is long: without them s^2 is met from first to last contact to 1e-4
 * (rms over 1,200 places and eclipses, 1950 to 2100; worst 1e-3), that is up to a second of contact
 * time; with them to 3.3e-6 (worst 1.1e-5).
 */
#include <math.h>

#include "track/track_internal.h"

/* An eclipse takes less than 2.3 h from maximum to either contact. */
static const double REACH_MAX_H = 2.5;
static const double REACH_STEP_H = 0.02;
static const double REACH_EXACT_H = 1e-9;

double tl_track_path_value(const double p[TL_PATH_PARAMS], double tau) {
    double v = p[TL_PATH_V];
    double high = p[TL_PATH_C4] + tau * (p[TL_PATH_C5] + tau * p[TL_PATH_C6]);
    return p[TL_PATH_C0] + tau * tau * (v * v + tau * (p[TL_PATH_BEND] * v + tau * high));
}

double tl_track_path_slope(const double p[TL_PATH_PARAMS], double tau) {
    double v = p[TL_PATH_V];
    double high = 4.0 * p[TL_PATH_C4] + tau * (5.0 * p[TL_PATH_C5] + 6.0 * tau * p[TL_PATH_C6]);
    return tau * (2.0 * v * v + tau * (3.0 * p[TL_PATH_BEND] * v + tau * high));
}

void tl_track_path_gradient(const double p[TL_PATH_PARAMS], double tau,
                            double gradient[TL_PATH_PARAMS]) {
    double square = tau * tau, cube = tau * square;
    gradient[TL_PATH_T0] = -tl_track_path_slope(p, tau);
    gradient[TL_PATH_C0] = 1.0;
    gradient[TL_PATH_V] = 2.0 * p[TL_PATH_V] * square + p[TL_PATH_BEND] * cube;
    gradient[TL_PATH_BEND] = p[TL_PATH_V] * cube;
    gradient[TL_PATH_C4] = square * square;
    gradient[TL_PATH_C5] = square * cube;
    gradient[TL_PATH_C6] = cube * cube;
}

bool tl_track_path_reach(const double p[TL_PATH_PARAMS], double s, int side, double *tau) {
    double direction = side < 0 ? -1.0 : 1.0, near = 0.0, far = 0.0;
    if (!(tl_track_path_value(p, 0.0) < s * s)) {
        return false;
    }
    do {
        near = far;
        far = near + REACH_STEP_H;
        if (far > REACH_MAX_H || tl_track_path_slope(p, direction * far) * direction <= 0.0) {
            return false; /* beyond its range, or bent back towards the Sun */
        }
    } while (tl_track_path_value(p, direction * far) < s * s);
    while (far - near > REACH_EXACT_H) {
        double middle = 0.5 * (near + far);
        *(tl_track_path_value(p, direction * middle) < s * s ? &near : &far) = middle;
    }
    *tau = direction * 0.5 * (near + far);
    return true;
}
