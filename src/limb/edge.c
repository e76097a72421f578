/*
 * Sub-pixel edge points: along each normal of a circle the place where linear light rises most
 * steeply, from the peak of a derivative-of-Gaussian filter (J. Canny, IEEE Trans. PAMI 8 (1986)
 * 679) refined by a parabola through the logarithm of three samples, which is exact for a
 * Gaussian peak. A threshold would be biased by limb darkening and exposure; the steepest place
 * is not moved by exposure, and its small shift by limb darkening is known (see fit.c).
 */
#include <math.h>
#include <stdlib.h>

#include "limb/limb_internal.h"

enum { NORMALS_MIN = 90, PROFILE_MAX = 1024, KERNEL_MAX = 64 };
enum { LUNAR_WIDTHS_MIN = 30 };
/* The blurred edge of a darkened disc is wider than that of a plain step by 1.05 to 1.18 (Neckel &
 * Labs's profile at 542 and 641 nm, FWHM 2 to 48 arcsec, by numerical integration). */
static const double DARKENED_WIDTH = 1.11;
static const double NORMAL_STEP_PX = 1.5; /* along the limb */
/* Along the normal: two samples a pixel, fewer where the filter is wide. */
static const double SAMPLE_PX = 0.5, SAMPLE_FILTERS = 0.4;
static const double BORDER_PX = 2;
/* Variance that linear interpolation adds along a normal, px^2: the mean of t (1 - t). */
static const double LINEAR_VARIANCE = 1.0 / 6;
/* Weakest edge kept, as a share of the limb's typical one: thin cloud may take two thirds. */
static const double WEAK_EDGE = 0.2;

/* Where a second outline is looked for, in radii of the limb, and how steep it has to be beside
 * the steeper limb: halves of a double exposure are half as steep. */
static const double SECOND_OUTSIDE[2] = {1.04, 1.30}, SECOND_INSIDE[2] = {0.75, 0.96};
static const double SECOND_RISE = 0.3;
enum { SECOND_NORMALS = 90 };

typedef struct profile_filter {
    double weight[KERNEL_MAX + 1]; /* after the middle sample; negative before it */
    int reach;
} profile_filter;

/* Derivative-of-Gaussian weights that answer 1 per sample to a ramp of 1 per sample. */
static profile_filter filter_make(double sigma_samples) {
    profile_filter filter = {0};
    filter.reach = (int)fmin(ceil(3.5 * sigma_samples), KERNEL_MAX);
    double norm = 0;
    for (int j = 1; j <= filter.reach; j++) {
        filter.weight[j] = j * exp(-0.5 * j * j / (sigma_samples * sigma_samples));
        norm += 2 * filter.weight[j] * j;
    }
    for (int j = 1; j <= filter.reach; j++)
        filter.weight[j] /= norm;
    return filter;
}

static double sample_step(double filter_px) {
    return fmax(SAMPLE_PX, SAMPLE_FILTERS * filter_px);
}

/* One limb's normals: what is shared by all of them. */
typedef struct limb_scan {
    const tl_plane *plane;
    const tl_flat *flat;
    const tl_circle *circle, *other;
    const tl_edge_search *search;
    profile_filter filter;
    double step_px; /* between samples along a normal */
    int limb;
    int samples; /* answers of the filter along a normal, odd */
} limb_scan;

typedef struct edge_sample {
    double x_px, y_px;
    double rise;     /* light per px at the edge */
    double width_px; /* Gaussian sigma of the peak, filter included */
    bool clipped;
} edge_sample;

/* Is this place of the limb open to view, and far enough from the other limb? */
static bool limb_visible(const limb_scan *scan, double x, double y) {
    if (scan->other->r <= 0)
        return true;
    double outside = hypot(x - scan->other->x, y - scan->other->y) - scan->other->r;
    return scan->limb == TL_LIMB_SUN ? outside > scan->search->cusp_px
                                     : outside < -scan->search->cusp_px;
}

/* From the round picture to the plane. */
static void to_plane(const limb_scan *scan, double *x, double *y) {
    tl_limb_flat_picture(scan->flat, x, y);
    *x -= scan->plane->x0;
    *y -= scan->plane->y0;
}

/* Filter answers along one normal, from inside to outside, positive for the wanted sense. */
static bool scan_profile(const limb_scan *scan, double ux, double uy, double *answer) {
    const tl_plane *plane = scan->plane;
    const int reach = scan->filter.reach, half = scan->samples / 2;
    const int count = scan->samples + 2 * reach;
    const double first = scan->circle->r - scan->step_px * (half + reach);
    const double last = scan->circle->r + scan->step_px * (half + reach);
    double x = scan->circle->x + first * ux, y = scan->circle->y + first * uy;
    double end_x = scan->circle->x + last * ux, end_y = scan->circle->y + last * uy;
    double profile[PROFILE_MAX];
    to_plane(scan, &x, &y);
    to_plane(scan, &end_x, &end_y);
    if (fmin(x, end_x) < BORDER_PX || fmin(y, end_y) < BORDER_PX ||
        fmax(x, end_x) > plane->width - 1 - BORDER_PX ||
        fmax(y, end_y) > plane->height - 1 - BORDER_PX)
        return false;
    const double dx = (end_x - x) / (count - 1), dy = (end_y - y) / (count - 1);
    tl_limb_plane_profile(plane, x, y, dx, dy, count, profile);
    const double sense = (scan->limb == TL_LIMB_SUN ? -1 : 1) / scan->step_px;
    for (int k = 0; k < scan->samples; k++) {
        const double *middle = profile + k + reach;
        double sum = 0;
        for (int j = 1; j <= reach; j++)
            sum += scan->filter.weight[j] * (middle[j] - middle[-j]);
        answer[k] = sense * sum;
    }
    return true;
}

/* Distance in samples from the peak to where the answer has fallen to half, on both sides. */
static double half_width(const double *answer, int count, int peak) {
    double half = 0.5 * answer[peak], sum = 0;
    for (int side = -1; side <= 1; side += 2) {
        int k = peak;
        while (k + side >= 0 && k + side < count && answer[k + side] > half)
            k += side;
        if (k + side < 0 || k + side >= count)
            return 0;
        sum += abs(k - peak) + (answer[k] - half) / (answer[k] - answer[k + side]);
    }
    return sum;
}

static bool find_edge(const limb_scan *scan, double ux, double uy, edge_sample *edge) {
    double answer[PROFILE_MAX];
    if (!scan_profile(scan, ux, uy, answer))
        return false;
    int peak = 0;
    for (int k = 1; k < scan->samples; k++)
        if (answer[k] > answer[peak])
            peak = k;
    if (peak < 1 || peak > scan->samples - 2 || answer[peak] <= 0)
        return false;
    double a = fmax(answer[peak - 1], 0.01 * answer[peak]);
    double b = answer[peak], c = fmax(answer[peak + 1], 0.01 * answer[peak]);
    double bend = log(a) - 2 * log(b) + log(c);
    double shift = bend < 0 ? 0.5 * (log(a) - log(c)) / bend : 0;
    double d =
        scan->circle->r + scan->step_px * (peak - scan->samples / 2 + fmax(-1, fmin(1, shift)));
    edge->x_px = scan->circle->x + d * ux;
    edge->y_px = scan->circle->y + d * uy;
    tl_limb_flat_picture(scan->flat, &edge->x_px, &edge->y_px);
    edge->rise = b;
    edge->width_px = half_width(answer, scan->samples, peak) * scan->step_px / TL_LIMB_FWHM;
    double in = d + (scan->limb == TL_LIMB_SUN ? -1 : 1) * fmax(2, 1.5 * edge->width_px);
    double ix = scan->circle->x + in * ux, iy = scan->circle->y + in * uy;
    to_plane(scan, &ix, &iy);
    edge->clipped = tl_limb_plane_clipped(scan->plane, ix, iy);
    return true;
}

/* Scan one limb, append its edges and take the blur from their widths; `width` is scratch. */
static void scan_limb(const limb_scan *scan, edge_sample *sample, tl_edge_set *set, double *width,
                      size_t *clipped) {
    double around = 2 * TL_PI * scan->circle->r / NORMAL_STEP_PX;
    int normals = (int)fmin(fmax(around, NORMALS_MIN), scan->search->normals);
    size_t count = 0;
    for (int i = 0; i < normals; i++) {
        double angle = 2 * TL_PI * i / normals, ux = cos(angle), uy = sin(angle);
        double x = scan->circle->x + scan->circle->r * ux;
        double y = scan->circle->y + scan->circle->r * uy;
        if (!limb_visible(scan, x, y))
            continue;
        double px = x, py = y;
        to_plane(scan, &px, &py);
        if (px < 0 || py < 0 || px > scan->plane->width - 1 || py > scan->plane->height - 1)
            continue;
        set->expected[scan->limb]++;
        count += find_edge(scan, ux, uy, &sample[count]);
    }
    size_t widths = 0;
    for (size_t i = 0; i < count; i++)
        width[i] = sample[i].rise;
    double typical = tl_limb_median(width, count);
    for (size_t i = 0; i < count; i++) {
        if (sample[i].rise < WEAK_EDGE * typical)
            continue;
        *clipped += sample[i].clipped;
        if (sample[i].width_px > 0)
            width[widths++] = sample[i].width_px;
        set->edge[set->count++] =
            (tl_limb_edge){.x_px = sample[i].x_px,
                           .y_px = sample[i].y_px,
                           .sigma_relative = fmin(fmax(typical / sample[i].rise, 0.5), 4),
                           .limb = (uint8_t)scan->limb,
                           .used = true};
    }
    /* the lunar limb is a plain step and knows the blur best; it comes second */
    double total = tl_limb_median(width, widths) / (scan->limb == TL_LIMB_SUN ? DARKENED_WIDTH : 1);
    double f = scan->search->filter_px;
    double blur = sqrt(fmax(0, total * total - f * f - LINEAR_VARIANCE));
    set->blur_limb_px[scan->limb] = blur;
    set->step[scan->limb] = typical * total * sqrt(2 * TL_PI); /* a blurred step's height */
    if (scan->limb == TL_LIMB_SUN || widths >= LUNAR_WIDTHS_MIN)
        set->blur_px = blur;
}

tl_status tl_limb_edges_find(const tl_plane *plane, const tl_flat *flat, const tl_circle *sun,
                             const tl_circle *moon, const tl_edge_search *search,
                             tl_edge_set *out) {
    tl_edge_set set = {.edge = malloc(2 * TL_EDGE_NORMALS_MAX * sizeof *set.edge)};
    edge_sample *sample = malloc(TL_EDGE_NORMALS_MAX * sizeof *sample);
    double *width = malloc(TL_EDGE_NORMALS_MAX * sizeof *width);
    if (!set.edge || !sample || !width) {
        free(set.edge);
        free(sample);
        free(width);
        return TL_ERR_MEMORY;
    }
    size_t clipped = 0;
    const double step_px = sample_step(search->filter_px);
    profile_filter filter = filter_make(search->filter_px / step_px);
    int half = (int)ceil(search->half_width_px / step_px);
    int most = (PROFILE_MAX - 1) / 2 - filter.reach;
    for (int limb = TL_LIMB_SUN; limb <= TL_LIMB_MOON; limb++) {
        bool is_sun = limb == TL_LIMB_SUN;
        limb_scan scan = {.plane = plane,
                          .flat = flat,
                          .circle = is_sun ? sun : moon,
                          .other = is_sun ? moon : sun,
                          .search = search,
                          .filter = filter,
                          .step_px = step_px,
                          .limb = limb,
                          .samples = 2 * (half < most ? half : most) + 1};
        if (scan.circle->r > 0)
            scan_limb(&scan, sample, &set, width, &clipped);
    }
    set.clipped_edge = set.count > 0 ? (double)clipped / (double)set.count : 0;
    free(sample);
    free(width);
    *out = set;
    return TL_OK;
}

/* Normals of a visible limb that meet another steep edge of its sense between two radii. */
static int count_second_edges(limb_scan scan, const tl_edge_set *set, const double between[2],
                              int *looked) {
    const tl_circle limb = *scan.circle;
    const tl_circle ring = {limb.x, limb.y, 0.5 * (between[0] + between[1]) * limb.r};
    int half = (int)ceil(0.5 * (between[1] - between[0]) * limb.r / scan.step_px), found = 0;
    int most = (PROFILE_MAX - 1) / 2 - scan.filter.reach;
    double width = hypot(set->blur_px, scan.search->filter_px) * sqrt(2 * TL_PI);
    double steepest = fmax(set->step[TL_LIMB_SUN], set->step[TL_LIMB_MOON]) / width;
    scan.circle = &ring;
    scan.samples = 2 * (half < most ? half : most) + 1;
    *looked = 0;
    for (int i = 0; i < SECOND_NORMALS; i++) {
        double angle = 2 * TL_PI * i / SECOND_NORMALS, ux = cos(angle), uy = sin(angle);
        edge_sample edge;
        if (!limb_visible(&scan, limb.x + limb.r * ux, limb.y + limb.r * uy))
            continue;
        ++*looked;
        found += find_edge(&scan, ux, uy, &edge) && edge.rise > SECOND_RISE * steepest;
    }
    return found;
}

double tl_limb_second_edge_share(const tl_plane *plane, const tl_flat *flat, const tl_circle *sun,
                                 const tl_circle *moon, const tl_edge_set *set, int limb) {
    const tl_edge_search search = {.filter_px = fmax(0.8, set->blur_px)}; /* no distance to keep */
    const double step_px = sample_step(search.filter_px);
    limb_scan scan = {.plane = plane,
                      .flat = flat,
                      .circle = limb == TL_LIMB_SUN ? sun : moon,
                      .other = limb == TL_LIMB_SUN ? moon : sun,
                      .search = &search,
                      .filter = filter_make(search.filter_px / step_px),
                      .step_px = step_px,
                      .limb = limb};
    int looked;
    int found = count_second_edges(scan, set, SECOND_OUTSIDE, &looked);
    found += count_second_edges(scan, set, SECOND_INSIDE, &looked);
    return looked > 0 ? (double)found / looked : 0;
}
