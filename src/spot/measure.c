/*
 * measure.c - centre, areas, errors of one dark place.
 */
#include <math.h>

#include "spot/spot_internal.h"

/* Depths below the photosphere: umbra .2-.4 and penumbra .75-.85 of its light (common practice, no
 * single source), the middles of these. */
#define UMBRA_DEPTH 0.7
#define PENUMBRA_DEPTH 0.2
/* Area of the penumbra over that of the umbra in it: Jha, Mandal & Banerjee 2019, Solar Physics
 * 294, 72 (arXiv 1905.06888). */
#define PENUMBRA_OVER_UMBRA 4.7
/* Radius over the total blur from which on the outline tells more than the light missing, and from
 * which on it alone counts: the outline of a disc is 10 % too wide at the first (measured on drawn
 * spots). */
#define OUTLINE_FROM 1.8
#define OUTLINE_ALONE 3.5
/* Nothing that is to be measured is larger: area of a circle of a fifth of the radius. */
#define LARGEST_SR2 0.126
/* Errors that do not fall with the noise: of a border that is ragged, over its radius; of what JPEG
 * makes of an edge, over the blur; of the picture's grid. And what noise has more of at lengths
 * beyond the blur than white noise, variance. All measured on drawn spots. */
#define RAGGED_SHARE 0.02
#define EDGE_SHARE 0.05
#define GRID_PX 0.03
#define NOISE_LONG 1.5

typedef struct box {
    int x0, y0, x1, y1; /* last ones included */
} box;

static box box_of(const tl_spot_field *f, const tl_spot_segments *s, size_t i, int margin) {
    const int width = f->light.width;
    const tl_spot_segment *segment = &s->segment[i];
    box b = {width, f->light.height, 0, 0};
    for (size_t n = segment->first; n < segment->first + segment->count; n++) {
        const int x = s->index[n] % width, y = s->index[n] / width;
        b.x0 = x < b.x0 ? x : b.x0;
        b.y0 = y < b.y0 ? y : b.y0;
        b.x1 = x > b.x1 ? x : b.x1;
        b.y1 = y > b.y1 ? y : b.y1;
    }
    b.x0 = b.x0 > margin ? b.x0 - margin : 0;
    b.y0 = b.y0 > margin ? b.y0 - margin : 0;
    b.x1 = b.x1 + margin < width ? b.x1 + margin : width - 1;
    b.y1 = b.y1 + margin < f->light.height ? b.y1 + margin : f->light.height - 1;
    return b;
}

/* The wings of a blurred spot reach beyond its outline. */
static void take_wings(const tl_spot_field *f, tl_spot_segments *s, size_t i) {
    const int reach = (int)ceil(f->blur), width = f->light.width;
    const tl_spot_segment *segment = &s->segment[i];
    for (size_t n = segment->first; n < segment->first + segment->count; n++) {
        const int x = s->index[n] % width, y = s->index[n] / width;
        for (int v = y - reach; v <= y + reach; v++) {
            for (int u = x - reach; u <= x + reach; u++) {
                if (u < 0 || v < 0 || u >= width || v >= f->light.height ||
                    (u - x) * (u - x) + (v - y) * (v - y) > reach * reach)
                    continue;
                const int at = v * width + u;
                if (s->label[at] == 0 && f->state[at] == TL_SPOT_PX_DISC)
                    s->label[at] = (int)i + 1;
            }
        }
    }
}

/* Moments about the deepest pixel. */
typedef struct moments {
    double c, x, y, xx, xy, yy;
} moments;

static void add_moment(moments *m, double c, double u, double v) {
    m->c += c;
    m->x += c * u;
    m->y += c * v;
    m->xx += c * u * u;
    m->xy += c * u * v;
    m->yy += c * v * v;
}

typedef struct sums {
    moments all;    /* of the contrast: noise averages out of these */
    double spread2; /* of the pixels, each counted once */
    double deepest;
    size_t outline; /* pixels deeper than half a penumbra */
} sums;

static sums add_up(const tl_spot_field *f, const tl_spot_segments *s, size_t i, const box *b,
                   double x0, double y0) {
    const int label = (int)i + 1, width = f->light.width;
    const float half = (float)(0.5 * PENUMBRA_DEPTH * f->depth_scale);
    sums t = {0};
    for (int y = b->y0; y <= b->y1; y++) {
        for (int x = b->x0; x <= b->x1; x++) {
            const int at = y * width + x;
            if (s->label[at] != label)
                continue;
            const double c = (double)f->light.value[at], u = x - x0, v = y - y0;
            add_moment(&t.all, c, u, v);
            t.spread2 += u * u + v * v;
            t.deepest = fmax(t.deepest, c);
            t.outline += f->smooth[at] > half;
        }
    }
    return t;
}

/* Squared 2 sigma along the axes of a spread, longer first. */
static void axes(double xx, double xy, double yy, double *major2, double *minor2) {
    const double middle = 0.5 * (xx + yy), half = hypot(0.5 * (xx - yy), xy);
    *major2 = 4 * fmax(middle + half, 0);
    *minor2 = 4 * fmax(middle - half, 0);
}

/*
 * 2 sigma of the spread along its axes, which is the radius of an even disc. Near the limb a round
 * spot looks narrow, a narrow one at right angles to it round: it counts as round if it is so
 * either as seen or with blur and foreshortening taken out.
 */
static void take_axes(const tl_spot_field *f, const tl_spot_segments *segments, size_t i, double u,
                      double v, tl_spot_measure *m) {
    const tl_spot_segment *segment = &segments->segment[i];
    moments t = {0};
    for (size_t n = segment->first; n < segment->first + segment->count; n++) {
        const int at = segments->index[n];
        add_moment(&t, (double)f->smooth[at], at % f->light.width - m->x,
                   at / f->light.width - m->y);
    }
    const double mx = t.x / t.c, my = t.y / t.c;
    const double xx = t.xx / t.c - mx * mx, xy = t.xy / t.c - mx * my;
    const double yy = t.yy / t.c - my * my, r = hypot(u, v), mu = m->foreshortening;
    const double c = r > 0 ? u / r : 1, s = r > 0 ? v / r : 0;
    const double along = xx * c * c + 2 * xy * c * s + yy * s * s; /* the radius */
    const double across = xx * s * s - 2 * xy * c * s + yy * c * c;
    const double mixed = (yy - xx) * c * s + xy * (c * c - s * s);
    const double blur2 = f->blur * f->blur + f->kernel_sigma * f->kernel_sigma;
    double major2, minor2;
    axes(along, mixed, across, &major2, &minor2);
    m->roundness = major2 > 0 ? sqrt(minor2 / major2) : 0;
    axes(fmax(along - blur2, 0.25 * blur2) / (mu * mu), mixed / mu,
         fmax(across - blur2, 0.25 * blur2), &major2, &minor2);
    m->roundness = fmax(m->roundness, sqrt(minor2 / major2));
    m->major = sqrt(major2);
}

/* Deepest of the mark's own pixels beside this one. */
static double depth_beside(const tl_spot_field *f, const tl_spot_segments *s, int label, int x,
                           int y) {
    const int width = f->light.width;
    double depth = 0;
    for (int v = y > 0 ? y - 1 : y; v <= y + 1 && v < f->light.height; v++)
        for (int u = x > 0 ? x - 1 : x; u <= x + 1 && u < width; u++)
            if (s->label[v * width + u] == label)
                depth = fmax(depth, (double)f->smooth[v * width + u]);
    return depth;
}

/* What borders on it. */
static void take_rim(const tl_spot_field *f, const tl_spot_segments *s, size_t i, const box *b,
                     tl_spot_measure *m) {
    const int label = (int)i + 1, width = f->light.width;
    size_t rim = 0, disturbed = 0, clipped = 0;
    double brightest = 0, edge = 0;
    for (int y = b->y0; y <= b->y1; y++) {
        for (int x = b->x0; x <= b->x1; x++) {
            const int at = y * width + x;
            if (s->label[at] == label)
                continue;
            if (f->state[at] == TL_SPOT_PX_DISC)
                brightest = fmax(brightest, -(double)f->smooth[at]);
            if (!((x > 0 && s->label[at - 1] == label) ||
                  (x + 1 < width && s->label[at + 1] == label) ||
                  (y > 0 && s->label[at - width] == label) ||
                  (y + 1 < f->light.height && s->label[at + width] == label)))
                continue;
            rim++;
            if (f->state[at] != TL_SPOT_PX_DISC)
                edge = fmax(edge, depth_beside(f, s, label, x, y));
            disturbed += f->state[at] != TL_SPOT_PX_DISC;
            clipped += f->state[at] == TL_SPOT_PX_CLIPPED;
        }
    }
    m->brightest_beside = brightest;
    m->edge_depth = edge;
    m->edge_share = rim > 0 ? (double)disturbed / (double)rim : 1;
    m->clipped_share = rim > 0 ? (double)clipped / (double)rim : 1;
}

/*
 * Steepness about half the depth, over that of a step of the whole depth. What noise of that
 * strength makes by itself, smoothed as it is, is taken out: sigma^2 / s^2 of a Gaussian filter s.
 */
static void take_sharpness(const tl_spot_field *f, const tl_spot_segments *s, size_t i,
                           tl_spot_measure *m) {
    const int width = f->light.width, height = f->light.height;
    const tl_spot_segment *segment = &s->segment[i];
    double sum2 = 0;
    size_t count = 0;
    for (size_t n = segment->first; n < segment->first + segment->count; n++) {
        const int at = s->index[n], x = at % width, y = at / width;
        const double c = (double)f->smooth[at];
        if (c < 0.35 * m->peak || c > 0.65 * m->peak || x == 0 || y == 0 || x + 1 == width ||
            y + 1 == height || f->state[at - 1] != TL_SPOT_PX_DISC ||
            f->state[at + 1] != TL_SPOT_PX_DISC || f->state[at - width] != TL_SPOT_PX_DISC ||
            f->state[at + width] != TL_SPOT_PX_DISC)
            continue;
        const double u = (double)f->smooth[at + 1] - (double)f->smooth[at - 1];
        const double v = (double)f->smooth[at + width] - (double)f->smooth[at - width];
        sum2 += 0.25 * (u * u + v * v);
        count++;
    }
    const double step = m->peak / (sqrt(2 * TL_PI) * hypot(f->blur, f->kernel_sigma));
    const double noise2 = pow(m->noise / f->kernel_sigma, 2);
    m->sharpness = count > 0 ? sqrt(fmax(sum2 / (double)count - noise2, 0)) / step : 0;
}

static double smooth_step(double from, double to, double x) {
    const double t = fmin(fmax((x - from) / (to - from), 0), 1);
    return t * t * (3 - 2 * t);
}

/*
 * A spot of the usual shares lets MEAN_DEPTH of its area go missing, which blur does not change;
 * where the spot is wide enough to have an outline its area is that, and light missing beyond a
 * penumbra's is an umbra's.
 */
static void take_areas(const tl_spot_field *f, const sums *t, tl_spot_measure *m) {
    const double mean_depth =
        PENUMBRA_DEPTH + (UMBRA_DEPTH - PENUMBRA_DEPTH) / (1 + PENUMBRA_OVER_UMBRA);
    const double missing = fmax(t->all.c, 0) / fmax(f->depth_scale, 0.1);
    const double by_light = missing / mean_depth, by_outline = fmax((double)t->outline, 1);
    const double width = sqrt(by_light / TL_PI) / hypot(f->blur, f->kernel_sigma);
    const double share = smooth_step(OUTLINE_FROM, OUTLINE_ALONE, width);
    m->area = exp(share * log(by_outline) + (1 - share) * log(fmax(by_light, 1e-3)));
    m->umbra = 0;
    if (share > 0) {
        const double umbra = (missing - PENUMBRA_DEPTH * m->area) / (UMBRA_DEPTH - PENUMBRA_DEPTH);
        m->umbra = fmin(fmax(umbra, 0), m->area);
    }
}

bool tl_spot_measure_take(const tl_spot_field *f, tl_spot_segments *s, size_t i,
                          tl_spot_measure *measure) {
    const int width = f->light.width;
    const tl_spot_segment *segment = &s->segment[i];
    const int x0 = segment->peak % width, y0 = segment->peak / width;
    if ((double)segment->count > LARGEST_SR2 * f->radius * f->radius)
        return false;
    take_wings(f, s, i);
    const box b = box_of(f, s, i, (int)ceil(3 * f->blur));
    const sums t = add_up(f, s, i, &b, x0, y0);
    if (!(t.all.c > 0))
        return false;
    tl_spot_measure m = {
        .x = x0 + t.all.x / t.all.c, .y = y0 + t.all.y / t.all.c, .missing = t.all.c};
    double u, v;
    tl_spot_field_disc(f, m.x, m.y, &u, &v);
    m.foreshortening = sqrt(fmax(1 - u * u - v * v, 0.01));
    m.peak = (double)f->smooth[segment->peak];
    m.noise = tl_spot_noise_at(f, x0, y0);
    const double pixel_variance = m.noise * m.noise / f->kernel_sum2;
    m.deepest = t.deepest - 2 * sqrt(pixel_variance);
    take_axes(f, s, i, u, v, &m);
    take_rim(f, s, i, &b, &m);
    take_sharpness(f, s, i, &m);
    take_areas(f, &t, &m);
    const double noise2 = NOISE_LONG * 0.5 * t.spread2 * pixel_variance / (t.all.c * t.all.c);
    const double ragged = RAGGED_SHARE * sqrt(m.area / TL_PI), edge = EDGE_SHARE * f->blur;
    m.sigma = sqrt(noise2 + ragged * ragged + edge * edge + GRID_PX * GRID_PX);
    *measure = m;
    return true;
}
