/*
 * Which planes of a picture are tried, and which one is believed.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "limb/attempt.h"

static const char *const PLANE_NAME[TL_PLANE_MEASURABLE] = {"luma", "red", "green", "blue"};
/* The view reaches this far from the Sun's centre, in solar radii: sky for the levels. */
static const double REACH = 1.3;

/*
 * Which colour to believe. A plane that shows the disc much fainter than another one is out. If
 * most of the rest are measured, the one with the roundest limbs among those, roundness being
 * dearer where limbs are clipped; else the roundest of all has the word, be it a refusal.
 */
static const double FAINT_SHARE = 0.25; /* of the strongest step of light between sky and disc */
static const double CLIPPED_COST = 4;   /* a wholly clipped limb costs as much as one five times
                                           as rough; our own choice */

static double light_step(const tl_limb *limb) {
    return limb->disc_level - limb->sky_level;
}

static double plane_cost(const tl_limb *limb) {
    return limb->residual_px * (1 + CLIPPED_COST * limb->clipped_edge);
}

/* The plane to believe; the worst clipping along the limb among those not too faint. */
static int choose_plane(const tl_attempt *tried, int count, double *clipped_edge_worst) {
    double strongest = 0, worst = 0;
    int roundest = -1, measured = -1, votes = 0, voters = 0;
    for (int i = 0; i < count; i++)
        strongest = fmax(strongest, light_step(&tried[i].limb));
    for (int i = 0; i < count; i++) {
        if (light_step(&tried[i].limb) < FAINT_SHARE * strongest)
            continue;
        worst = fmax(worst, tried[i].limb.clipped_edge);
        if (tried[i].limb.edge_count == 0)
            continue;
        voters++;
        if (roundest < 0 || plane_cost(&tried[i].limb) < plane_cost(&tried[roundest].limb))
            roundest = i;
        if (tried[i].limb.status != TL_LIMB_MEASURED)
            continue;
        votes++;
        if (measured < 0 || plane_cost(&tried[i].limb) < plane_cost(&tried[measured].limb))
            measured = i;
    }
    *clipped_edge_worst = worst;
    if (roundest < 0)
        return 0;
    return 2 * votes > voters ? measured : roundest;
}

/* How much of the disc's light in a plane is red, green and blue; grey pictures count as green. */
static void light_shares(const tl_image *image, const tl_hypothesis *hypothesis, tl_plane_kind kind,
                         double light[3]) {
    enum { GRID = 40 };
    double sum[3] = {0}, total = 0;
    for (int i = 0; image->channels == 3 && i < GRID * GRID; i++) {
        double u = (i % GRID + 0.5) / GRID * 2 - 1, v = (i / GRID + 0.5) / GRID * 2 - 1;
        double x = hypothesis->sun.x + u * hypothesis->sun.r;
        double y = hypothesis->sun.y + v * hypothesis->sun.r;
        const tl_circle *moon = &hypothesis->moon;
        if (hypot(u, v) > 0.95 || hypot(x - moon->x, y - moon->y) < moon->r)
            continue;
        if (x < 0 || y < 0 || x > image->width - 1 || y > image->height - 1)
            continue;
        for (int c = 0; c < 3; c++)
            sum[c] += tl_limb_luma[c] * tl_image_light(image, (int)lround(x), (int)lround(y), c);
    }
    for (int c = 0; c < 3; c++) {
        if (kind != TL_PLANE_LUMA)
            sum[c] = kind - TL_PLANE_RED == (tl_plane_kind)c;
        total += sum[c];
    }
    for (int c = 0; c < 3; c++)
        light[c] = total > 0 ? sum[c] / total : c == 1;
}

/*
 * Two colours that are both measured, with no limb clipped and the same circles, need no third one
 * to vote. The first is the luminance, which has the most light and, in a JPEG, the finest detail.
 */
static bool agree(const tl_attempt *one, const tl_attempt *other) {
    static const double UNCLIPPED = 0.02; /* share of the edges: a hot pixel is no clipping */
    static const double APART = 0.004;    /* solar radii: lateral colour, coarsely drawn colours */
    const double *a = one->limb.circle, *b = other->limb.circle;
    for (int i = 0; i < TL_LIMB_PARAMS; i++)
        if (fabs(a[i] - b[i]) > fmax(APART * a[TL_SUN_R], 0.5))
            return false;
    return one->limb.status == TL_LIMB_MEASURED && other->limb.status == TL_LIMB_MEASURED &&
           fmax(one->limb.clipped_edge, other->limb.clipped_edge) <= UNCLIPPED;
}

/* Luminance, then the colours, the one with the most light on the disc first. */
static void order_planes(const double light[3], tl_plane_kind order[TL_PLANE_MEASURABLE]) {
    order[0] = TL_PLANE_LUMA;
    for (int c = 0; c < 3; c++) {
        int rank = 1;
        for (int other = 0; other < 3; other++)
            rank += light[other] > light[c] || (other < c && light[other] >= light[c]);
        order[rank] = (tl_plane_kind)(TL_PLANE_RED + c);
    }
}

/* One plane made ready and tried. */
static tl_status try_kind(const tl_image *image, const tl_hypothesis *hypothesis,
                          const tl_limb_prior *prior, tl_plane_kind kind, bool only,
                          tl_attempt *a) {
    const tl_circle *sun = &hypothesis->sun;
    const double reach = REACH * sun->r + 8;
    a->plane = tl_limb_plane_view(image, kind, sun->x - reach, sun->y - reach, sun->x + reach,
                                  sun->y + reach);
    light_shares(image, hypothesis, kind, a->light);
    return tl_limb_attempt(a, hypothesis, prior, only);
}

/* Try the planes, and measure in the one to believe. */
tl_status tl_limb_measure_planes(const tl_image *image, const tl_hypothesis *hypothesis,
                                 const tl_limb_prior *prior, tl_manner how, tl_limb *out) {
    const int most = hypothesis->grey ? 1 : TL_PLANE_MEASURABLE;
    tl_plane_kind order[TL_PLANE_MEASURABLE];
    double light[3];
    light_shares(image, hypothesis, TL_PLANE_LUMA, light);
    for (int c = 0; c < 3; c++)
        light[c] /= tl_limb_luma[c];
    order_planes(light, order);
    tl_attempt *tried = calloc((size_t)most, sizeof *tried);
    tl_status status = tried ? TL_OK : TL_ERR_MEMORY;
    int count = 0;
    while (count < most && status == TL_OK && !(count == 2 && agree(&tried[0], &tried[1]))) {
        tried[count].how = how;
        status = try_kind(image, hypothesis, prior, order[count], most == 1, &tried[count]);
        count++;
    }
    double clipped_edge_worst = 0;
    const int best = status == TL_OK ? choose_plane(tried, count, &clipped_edge_worst) : 0;
    if (status == TL_OK && most > 1 && !tried[best].failed)
        status = tl_limb_attempt_finish(&tried[best], hypothesis, prior);
    for (int i = 0; i < count && tried; i++)
        if (i != best || status != TL_OK)
            tl_limb_free(&tried[i].limb);
    if (status == TL_OK) {
        tl_limb *limb = &tried[best].limb;
        snprintf(limb->channel, sizeof limb->channel, "%s", PLANE_NAME[order[best]]);
        tl_limb_judge_again(limb, clipped_edge_worst);
        *out = *limb;
    }
    free(tried);
    return status;
}
