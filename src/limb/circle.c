/* Circles through border points: random sampling, then Taubin's algebraic fit. */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_rng.h>

#include "limb/limb_internal.h"

/* Enough to meet three inliers among 40 % with a chance of 1 - (1 - .064)^200 > 0.999998. */
enum { SAMPLES = 200 };
/* cos of the largest angle between the rise of light and the circle's radius, 35 degrees:
 * wide enough for pixel noise on small discs, narrow enough to keep out straight borders. */
static const double NORMAL_COS = 0.82;

/* The circle through three points; false if they are nearly in line. */
static bool through_three(const tl_border_point *a, const tl_border_point *b,
                          const tl_border_point *c, tl_circle *circle) {
    double bx = b->x - a->x, by = b->y - a->y, cx = c->x - a->x, cy = c->y - a->y;
    double det = 2 * (bx * cy - by * cx);
    double b2 = bx * bx + by * by, c2 = cx * cx + cy * cy;
    if (fabs(det) < 1e-6 * (b2 + c2))
        return false;
    double ux = (cy * b2 - by * c2) / det, uy = (bx * c2 - cx * b2) / det;
    *circle = (tl_circle){a->x + ux, a->y + uy, hypot(ux, uy)};
    return true;
}

static bool is_inlier(const tl_border_point *p, const tl_circle *c, const tl_circle_search *s) {
    double dx = p->x - c->x, dy = p->y - c->y, d = hypot(dx, dy);
    if (d == 0 || fabs(d - c->r) > s->tolerance)
        return false;
    return -s->inside_sign * (dx * p->nx + dy * p->ny) >= NORMAL_COS * d;
}

/* May this point be on the circle looked for at all? */
static bool is_open(const tl_border_point *p, const tl_circle_search *s) {
    if (s->within.r <= 0)
        return true;
    double out = hypot(p->x - s->within.x, p->y - s->within.y) - s->within.r;
    return out <= -s->tolerance;
}

static size_t mark_inliers(const tl_border_point *point, size_t count, const unsigned char *taken,
                           const tl_circle_search *search, const tl_circle *circle,
                           unsigned char *inlier) {
    size_t n = 0;
    for (size_t i = 0; i < count; i++) {
        bool in = !taken[i] && is_inlier(&point[i], circle, search);
        if (inlier)
            inlier[i] = in;
        n += in;
    }
    return n;
}

/* By Newton's method on the characteristic polynomial, as laid out by N. Chernov, Circular and
 * Linear Regression (2010), section 5.10. */
bool tl_limb_circle_fit(const tl_border_point *point, size_t count, const unsigned char *inlier,
                        tl_circle *circle) {
    double n = 0, mx = 0, my = 0;
    for (size_t i = 0; i < count; i++) {
        if (inlier && !inlier[i])
            continue;
        n++;
        mx += point[i].x;
        my += point[i].y;
    }
    if (n < 3)
        return false;
    mx /= n;
    my /= n;
    double xx = 0, yy = 0, xy = 0, xz = 0, yz = 0, zz = 0;
    for (size_t i = 0; i < count; i++) {
        if (inlier && !inlier[i])
            continue;
        double x = point[i].x - mx, y = point[i].y - my, z = x * x + y * y;
        xx += x * x / n, yy += y * y / n, xy += x * y / n;
        xz += x * z / n, yz += y * z / n, zz += z * z / n;
    }
    double mz = xx + yy, cov = xx * yy - xy * xy, var = zz - mz * mz;
    double a3 = 4 * mz, a2 = -3 * mz * mz - zz;
    double a1 = var * mz + 4 * cov * mz - xz * xz - yz * yz;
    double a0 = xz * (xz * yy - yz * xy) + yz * (yz * xx - xz * xy) - var * cov;
    double root = 0, value = a0;
    for (int i = 0; i < 50; i++) {
        double slope = a1 + root * (2 * a2 + 3 * a3 * root);
        if (slope == 0)
            break;
        double next = root - value / slope;
        double next_value = a0 + next * (a1 + next * (a2 + next * a3));
        if (!isfinite(next) || fabs(next_value) >= fabs(value))
            break;
        root = next;
        value = next_value;
    }
    double det = root * root - root * mz + cov;
    if (det == 0 || !isfinite(det))
        return false;
    double cx = (xz * (yy - root) - yz * xy) / det / 2;
    double cy = (yz * (xx - root) - xz * xy) / det / 2;
    *circle = (tl_circle){mx + cx, my + cy, sqrt(cx * cx + cy * cy + mz)};
    return isfinite(circle->r);
}

/* The best of many circles through three open points; returns its inliers. */
static size_t sample_circles(gsl_rng *random, const tl_border_point *point, size_t count,
                             const unsigned char *shut, const size_t *open, size_t open_count,
                             const tl_circle_search *search, tl_circle *found) {
    size_t best = 0;
    for (int i = 0; i < SAMPLES; i++) {
        size_t pick[3];
        for (int j = 0; j < 3; j++)
            pick[j] = open[gsl_rng_uniform_int(random, (unsigned long)open_count)];
        tl_circle trial;
        if (!through_three(&point[pick[0]], &point[pick[1]], &point[pick[2]], &trial))
            continue;
        if (!(trial.r >= search->r_min && trial.r <= search->r_max))
            continue;
        size_t n = mark_inliers(point, count, shut, search, &trial, NULL);
        if (n > best) {
            best = n;
            *found = trial;
        }
    }
    return best;
}

/* The refined circle gathers more inliers; settle. Returns how many, and marks them. */
static size_t refine_circle(const tl_border_point *point, size_t count, const unsigned char *shut,
                            const tl_circle_search *search, tl_circle *found,
                            unsigned char *inlier) {
    size_t best = mark_inliers(point, count, shut, search, found, inlier);
    for (int i = 0; i < 3; i++) {
        tl_circle refined;
        if (!tl_limb_circle_fit(point, count, inlier, &refined))
            break;
        if (!(refined.r >= search->r_min && refined.r <= search->r_max))
            break;
        if (mark_inliers(point, count, shut, search, &refined, NULL) < best)
            break;
        best = mark_inliers(point, count, shut, search, &refined, inlier);
        *found = refined;
    }
    return best;
}

tl_status tl_limb_circle_search(const tl_border_point *point, size_t count,
                                const unsigned char *taken, const tl_circle_search *search,
                                tl_circle *circle, unsigned char *inlier, size_t *inliers) {
    size_t *open = malloc((count + 1) * sizeof *open), open_count = 0;
    unsigned char *shut = malloc(count + 1);
    gsl_rng *random = gsl_rng_alloc(gsl_rng_taus2); /* its default seed: same answer every run */
    tl_status status = open && shut && random ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK) {
        tl_circle found = {0};
        for (size_t i = 0; i < count; i++) {
            shut[i] = (taken && taken[i]) || !is_open(&point[i], search);
            if (!shut[i])
                open[open_count++] = i;
        }
        *inliers = 0;
        if (open_count >= 3 &&
            sample_circles(random, point, count, shut, open, open_count, search, &found) >= 3) {
            *inliers = refine_circle(point, count, shut, search, &found, inlier);
            *circle = found;
        }
    }
    gsl_rng_free(random);
    free(open);
    free(shut);
    return status;
}

double tl_limb_half_arc(const tl_circle *moon, const tl_circle *sun) {
    const double d = hypot(moon->x - sun->x, moon->y - sun->y);
    const double cosine = (d * d + moon->r * moon->r - sun->r * sun->r) / (2 * d * moon->r);
    return d > 0 && cosine > -1 ? acos(fmin(1, cosine)) : TL_PI;
}
