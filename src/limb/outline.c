/*
 * Outlines: the places of a plane where light rises most steeply (J. Canny, IEEE Trans. PAMI 8
 * (1986) 679), linked to curves. The square root of light is used, in which photon noise is even
 * and cloud that dims a limb to a quarter halves its rise only.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "limb/limb_internal.h"

/* Light added before the root is taken: what 8-bit sRGB has for its third code, and a share of the
 * brightest, without which the steepest place of a blurred limb would lie far out in the dark. */
static const float DARKNESS = 0.001F, DARKNESS_SHARE = 0.05F;
/* Least rise of an edge, root light per px: a smoothed step of 2 % of full scale in root light. */
static const float RISE_MIN = 0.006F;
/* Noise and texture have a median rise; edges are this much steeper. Capped where a picture is
 * all texture: a limb on a card (steps of 0.1) still stands out. */
static const float RISE_OVER_MEDIAN = 2.5F, RISE_MIN_CAP = 0.03F;
/* cos of the largest turn of the rise of light from one edge pixel to the next along a curve, 40
 * degrees: a disc of 6 px radius turns by 10, a crescent's cusp by more. */
static const double TURN_COS = 0.77;
enum { MARGIN = 3 }; /* px along the plane's border without edges */

/* Rows above and below, the border repeated. */
static const float *row_at(const float *value, int width, int height, int y) {
    y = y < 0 ? 0 : y >= height ? height - 1 : y;
    return value + (size_t)y * (size_t)width;
}

/* Smoothing by the binomial weights 1 4 6 4 1 in both directions: a Gaussian of sigma 1 px. */
static void smooth(float *value, int width, int height, float *scratch) {
    for (int y = 0; y < height; y++) {
        const float *r[5];
        for (int k = 0; k < 5; k++)
            r[k] = row_at(value, width, height, y + k - 2);
        float *out = scratch + (size_t)y * (size_t)width;
        for (int x = 0; x < width; x++)
            out[x] = (r[0][x] + r[4][x] + 4 * (r[1][x] + r[3][x]) + 6 * r[2][x]) / 16;
    }
    for (int y = 0; y < height; y++) {
        const float *in = scratch + (size_t)y * (size_t)width;
        float *out = value + (size_t)y * (size_t)width;
        memcpy(out, in, (size_t)width * sizeof *out);
        for (int x = 2; x < width - 2; x++)
            out[x] = (in[x - 2] + in[x + 2] + 4 * (in[x - 1] + in[x + 1]) + 6 * in[x]) / 16;
    }
}

/* The smoothed root light and its slope; one allocation. */
typedef struct slopes {
    float *light, *rise; /* rise: length of the slope */
    int width, height;
} slopes;

static void slope_at(const slopes *s, size_t at, float *gx, float *gy) {
    const float *p = s->light + at;
    *gx = 0.5F * (p[1] - p[-1]);
    *gy = 0.5F * (p[s->width] - p[-s->width]);
}

static bool slopes_make(const tl_plane *plane, double brightest, slopes *s) {
    size_t pixels = (size_t)plane->width * (size_t)plane->height;
    *s = (slopes){malloc(2 * pixels * sizeof *s->light), NULL, plane->width, plane->height};
    if (!s->light)
        return false;
    s->rise = s->light + pixels;
    float darkness = DARKNESS + DARKNESS_SHARE * (float)brightest;
    for (size_t i = 0; i < pixels; i++)
        s->light[i] = sqrtf(plane->value[i] + darkness);
    smooth(s->light, s->width, s->height, s->rise);
    memset(s->rise, 0, pixels * sizeof *s->rise);
    for (int y = 1; y < s->height - 1; y++) {
        size_t at = (size_t)y * (size_t)s->width;
        for (int x = 1; x < s->width - 1; x++) {
            float gx, gy;
            slope_at(s, at + (size_t)x, &gx, &gy);
            s->rise[at + (size_t)x] = sqrtf(gx * gx + gy * gy);
        }
    }
    return true;
}

/* The least rise worth calling an edge, from the median of the plane's rises. */
static float least_rise(const slopes *s) {
    enum { BINS = 256, STEP = 5 };
    size_t bin[BINS] = {0}, pixels = (size_t)s->width * (size_t)s->height, below = 0;
    for (size_t i = 0; i < pixels; i += STEP) {
        int b = (int)(s->rise[i] / RISE_MIN_CAP * BINS);
        bin[b < BINS ? b : BINS - 1]++;
    }
    int median = 0;
    while (median < BINS && (below += bin[median]) < pixels / STEP / 2)
        median++;
    float rise = RISE_OVER_MEDIAN * RISE_MIN_CAP * (float)median / BINS;
    return fminf(fmaxf(rise, RISE_MIN), RISE_MIN_CAP);
}

/* Is the rise here a maximum along its own direction? Its place to a fraction of a pixel. */
static bool steepest_here(const slopes *s, int x, int y, tl_border_point *point) {
    size_t at = (size_t)y * (size_t)s->width + (size_t)x;
    const float *m = s->rise + at;
    ptrdiff_t row = s->width;
    float gx, gy, here = *m;
    slope_at(s, at, &gx, &gy);
    bool flat = fabsf(gx) >= fabsf(gy); /* steps in x, else in y */
    float lean = flat ? gy / gx : gx / gy, side = fabsf(lean);
    ptrdiff_t major = flat ? 1 : row, minor = (flat ? row : 1) * (lean >= 0 ? 1 : -1);
    float after = (1 - side) * m[major] + side * m[major + minor];
    float before = (1 - side) * m[-major] + side * m[-major - minor];
    if (here < after || here <= before)
        return false;
    float bend = before - 2 * here + after;
    double t = bend < 0 ? (double)(0.5F * (before - after) / bend) : 0;
    *point = (tl_border_point){x + (flat ? t : t * (double)lean), y + (flat ? t * (double)lean : t),
                               (double)(gx / here), (double)(gy / here)};
    return true;
}

/* All edge pixels in row order; `at` gets their numbers + 1. */
static bool collect(const slopes *s, tl_outline *o) {
    size_t room = 4096;
    float least = least_rise(s);
    o->point = malloc(room * sizeof *o->point);
    o->rise = malloc(room * sizeof *o->rise);
    for (int y = MARGIN; y < s->height - MARGIN && o->point && o->rise; y++) {
        for (int x = MARGIN; x < s->width - MARGIN; x++) {
            size_t at = (size_t)y * (size_t)s->width + (size_t)x;
            if (s->rise[at] < least || !steepest_here(s, x, y, &o->point[o->count]))
                continue;
            o->rise[o->count++] = s->rise[at];
            o->at[at] = (int)o->count;
            if (o->count < room)
                continue;
            room *= 2;
            tl_border_point *point = realloc(o->point, room * sizeof *point);
            if (point)
                o->point = point;
            float *rise = realloc(o->rise, room * sizeof *rise);
            if (rise)
                o->rise = rise;
            if (!point || !rise)
                return false;
        }
    }
    return o->point && o->rise;
}

/* The neighbour that carries a curve on, with the bright side kept on the same hand; 0: none. */
static int next_along(const tl_outline *o, const int *next, int from, double sense) {
    const tl_border_point *p = &o->point[from - 1];
    int x = (int)lround(p->x), y = (int)lround(p->y), best = 0;
    double tx = -sense * p->ny, ty = sense * p->nx, best_fit = 0;
    for (int v = -1; v <= 1; v++) {
        for (int u = -1; u <= 1; u++) {
            int id = o->at[(size_t)(y + v) * (size_t)o->width + (size_t)(x + u)];
            if (id == 0 || id == from || next[id] != 0)
                continue;
            const tl_border_point *q = &o->point[id - 1];
            double turn = p->nx * q->nx + p->ny * q->ny;
            double dx = q->x - p->x, dy = q->y - p->y, ahead = dx * tx + dy * ty;
            if (turn < TURN_COS || ahead < 0.3)
                continue;
            double fit = turn + ahead / hypot(dx, dy);
            if (fit > best_fit) {
                best_fit = fit;
                best = id;
            }
        }
    }
    return best;
}

/* Follow a curve from one of its points in one direction; taken points get a mark in `next`. */
static int follow(const tl_outline *o, int *next, int from, double sense, int *found) {
    int count = 0;
    for (int at = from; (at = next_along(o, next, at, sense)) != 0;) {
        next[at] = 1;
        found[count++] = at;
    }
    return count;
}

/* Put the points in order along curves. */
static bool link_curves(tl_outline *o) {
    size_t n = o->count;
    int *taken = calloc(n + 1, sizeof *taken), *order = malloc((n + 1) * sizeof *order);
    int *found = malloc((n + 1) * sizeof *found);
    tl_border_point *point = malloc((n + 1) * sizeof *point);
    float *rise = malloc((n + 1) * sizeof *rise);
    o->curve = malloc((n + 1) * sizeof *o->curve);
    bool ok = taken && order && found && point && rise && o->curve;
    size_t placed = 0;
    for (int seed = 1; ok && seed <= (int)n; seed++) {
        if (taken[seed])
            continue;
        taken[seed] = 1;
        o->curve[o->curves++] = placed;
        int back = follow(o, taken, seed, -1, found);
        while (back > 0)
            order[placed++] = found[--back];
        order[placed++] = seed;
        int on = follow(o, taken, seed, 1, found);
        for (int i = 0; i < on; i++)
            order[placed++] = found[i];
    }
    if (ok) {
        o->curve[o->curves] = n;
        for (size_t i = 0; i < n; i++) {
            point[i] = o->point[order[i] - 1];
            rise[i] = o->rise[order[i] - 1];
            found[order[i]] = (int)i + 1; /* number of old -> number of new */
        }
        size_t pixels = (size_t)o->width * (size_t)o->height;
        for (size_t i = 0; i < pixels; i++)
            o->at[i] = o->at[i] ? found[o->at[i]] : 0;
        free(o->point);
        free(o->rise);
        o->point = point;
        o->rise = rise;
        point = NULL;
        rise = NULL;
    }
    free(taken);
    free(order);
    free(found);
    free(point);
    free(rise);
    return ok;
}

tl_status tl_limb_outline_make(const tl_plane *plane, double brightest, tl_outline *out) {
    tl_outline o = {.width = plane->width, .height = plane->height};
    slopes s;
    o.at = calloc((size_t)o.width * (size_t)o.height, sizeof *o.at);
    bool ok = o.at && slopes_make(plane, brightest, &s);
    if (ok) {
        ok = collect(&s, &o) && link_curves(&o);
        free(s.light);
    }
    if (!ok) {
        tl_limb_outline_free(&o);
        return TL_ERR_MEMORY;
    }
    *out = o;
    return TL_OK;
}

void tl_limb_outline_free(tl_outline *o) {
    free(o->point);
    free(o->rise);
    free(o->curve);
    free(o->at);
    *o = (tl_outline){0};
}
