/*
 * background.c - what the radial profile leaves of the disc's light: a smooth surface of local
 * planes that spots do not pull, divided out, which makes contrast.
 */
#include <math.h>
#include <stdlib.h>

#include "spot/spot_internal.h"

/* Cells of a fortieth of the radius, 24 arcsec: some of them are free of any spot wherever one
 * looks; planes over 0.15 solar radii, so that the largest spot (60 arcsec) is 4 % of one. */
#define CELLS_PER_RADIUS 40.0
/* A point of light fills some 5 of its blurs: a cell this many blurs wide is not all spot. */
#define CELL_BLURS 1.5
enum { CELL_PX_MIN = 2, REACH_CELLS = 6, CELL_PIXELS_MIN = 3, WINDOW_CELLS_MIN = 6 };
#define WINDOW_SIGMA_CELLS 3.0
/* Rounds of the robust fit, each with a narrower weight (graduated non-convexity: Blake & Zisserman
 * 1987); the last takes cells off by 2 sigma at a quarter. */
enum { ROUNDS = 5 };
static const double ROUND_WIDTH[ROUNDS] = {8, 4, 3, 2, 2};
/* Scatter below which cells are alike: half the step of a code in an 8-bit file. */
#define SCATTER_MIN 0.002

typedef struct cell {
    float x, y, value, weight; /* means over its undisturbed pixels; their share of it */
} cell;

/* The surface bends over WINDOW_SIGMA_CELLS, so that it is enough to know it at every second cell.
 */
enum { NODE_CELLS = 2 };

typedef struct grid {
    int size, width, height; /* cells; `size` px each */
    cell *cell;              /* owned */
    int nodes_x, nodes_y;
    float *node; /* owned: the surface at the middle of every second cell; 0: none */
} grid;

static void gather(const tl_spot_field *f, grid *g) {
    for (int j = 0; j < g->height; j++) {
        for (int i = 0; i < g->width; i++) {
            double sum = 0, sx = 0, sy = 0;
            int count = 0;
            const int x1 = (i + 1) * g->size, y1 = (j + 1) * g->size;
            for (int y = j * g->size; y < y1 && y < f->light.height; y++) {
                const size_t row = (size_t)y * (size_t)f->light.width;
                for (int x = i * g->size; x < x1 && x < f->light.width; x++) {
                    if (f->state[row + (size_t)x] != TL_SPOT_PX_DISC)
                        continue;
                    sum += (double)f->light.value[row + (size_t)x];
                    sx += x;
                    sy += y;
                    count++;
                }
            }
            cell *c = &g->cell[j * g->width + i];
            if (count >= CELL_PIXELS_MIN)
                *c = (cell){(float)(sx / count), (float)(sy / count), (float)(sum / count),
                            (float)count / (float)(g->size * g->size)};
        }
    }
}

/* A plane a + b x + c y by weighted least squares; level only where the points lie on a line. */
typedef struct plane_sums {
    double w, x, y, xx, xy, yy, v, xv, yv;
} plane_sums;

static void plane_solve(const plane_sums *s, double plane[3]) {
    const double x = s->x / s->w, y = s->y / s->w, v = s->v / s->w;
    const double xx = s->xx / s->w - x * x, xy = s->xy / s->w - x * y, yy = s->yy / s->w - y * y;
    const double xv = s->xv / s->w - x * v, yv = s->yv / s->w - y * v;
    const double determinant = xx * yy - xy * xy, size = (xx + yy) * (xx + yy);
    const double flat = 0.02; /* of a square's 1/4: points in a strip, whose slope across is lost */
    plane[1] = plane[2] = 0;
    if (determinant > flat * size) {
        plane[1] = (xv * yy - yv * xy) / determinant;
        plane[2] = (yv * xx - xv * xy) / determinant;
    } else if (xx + yy > 0) {
        /* along the strip */
        const double angle = 0.5 * atan2(2 * xy, xx - yy), c = cos(angle), q = sin(angle);
        const double spread = xx * c * c + 2 * xy * c * q + yy * q * q;
        const double slope = spread > 0 ? (xv * c + yv * q) / spread : 0;
        plane[1] = slope * c;
        plane[2] = slope * q;
    }
    plane[0] = v - plane[1] * x - plane[2] * y;
}

/* The surface at one cell's middle; 0 where too few cells are about. */
static float fit_at(const grid *g, int i0, int j0, const double *window) {
    enum { MOST = (2 * REACH_CELLS + 1) * (2 * REACH_CELLS + 1) };
    float x[MOST], y[MOST], v[MOST], w[MOST];
    int n = 0;
    const double mx = (i0 + 0.5) * g->size - 0.5, my = (j0 + 0.5) * g->size - 0.5;
    for (int j = -REACH_CELLS; j <= REACH_CELLS; j++) {
        for (int i = -REACH_CELLS; i <= REACH_CELLS; i++) {
            if (i0 + i < 0 || j0 + j < 0 || i0 + i >= g->width || j0 + j >= g->height ||
                i * i + j * j > REACH_CELLS * REACH_CELLS)
                continue;
            const cell *c = &g->cell[(j0 + j) * g->width + i0 + i];
            if (c->weight <= 0)
                continue;
            x[n] = (float)(((double)c->x - mx) / g->size);
            y[n] = (float)(((double)c->y - my) / g->size);
            v[n] = c->value;
            w[n++] = (float)((double)c->weight * window[i * i + j * j]);
        }
    }
    if (n < WINDOW_CELLS_MIN)
        return 0;
    double plane[3] = {0}, limit = 0;
    for (int round = 0; round <= ROUNDS; round++) {
        plane_sums s = {0};
        double scatter = 0, weight = 0;
        for (int k = 0; k < n; k++) {
            const double px = (double)x[k], py = (double)y[k], pv = (double)v[k];
            double pw = (double)w[k];
            if (round > 0) {
                const double off = pv - plane[0] - plane[1] * px - plane[2] * py;
                const double t = 1 + off * off / (limit * limit);
                pw /= t * t;
            }
            s.w += pw;
            s.x += pw * px;
            s.y += pw * py;
            s.xx += pw * px * px;
            s.xy += pw * px * py;
            s.yy += pw * py * py;
            s.v += pw * pv;
            s.xv += pw * px * pv;
            s.yv += pw * py * pv;
        }
        plane_solve(&s, plane);
        if (round == ROUNDS)
            break;
        for (int k = 0; k < n; k++) {
            const double off =
                (double)v[k] - plane[0] - plane[1] * (double)x[k] - plane[2] * (double)y[k];
            const double t = round > 0 ? 1 + off * off / (limit * limit) : 1;
            scatter += (double)w[k] / (t * t) * fabs(off);
            weight += (double)w[k] / (t * t);
        }
        /* mean deviation to sigma of a Gaussian: sqrt(pi / 2) */
        limit = ROUND_WIDTH[round] * fmax(1.2533 * scatter / weight, SCATTER_MIN);
    }
    return plane[0] > 0 ? (float)plane[0] : 0;
}

/* Does anything seen lie between this node and its neighbours? */
static bool is_needed(const grid *g, int i0, int j0) {
    for (int j = j0 - NODE_CELLS; j <= j0 + NODE_CELLS; j++)
        for (int i = i0 - NODE_CELLS; i <= i0 + NODE_CELLS; i++)
            if (i >= 0 && j >= 0 && i < g->width && j < g->height &&
                g->cell[j * g->width + i].weight > 0)
                return true;
    return false;
}

static void fit(const grid *g) {
    double window[REACH_CELLS * REACH_CELLS + 1];
    for (int k = 0; k <= REACH_CELLS * REACH_CELLS; k++)
        window[k] = exp(-0.5 * k / (WINDOW_SIGMA_CELLS * WINDOW_SIGMA_CELLS));
    for (int j = 0; j < g->nodes_y; j++)
        for (int i = 0; i < g->nodes_x; i++)
            g->node[j * g->nodes_x + i] = is_needed(g, NODE_CELLS * i, NODE_CELLS * j)
                                              ? fit_at(g, NODE_CELLS * i, NODE_CELLS * j, window)
                                              : 0;
}

/* Where a pixel lies between nodes: number of the one before it, and how far beyond it. */
static int node_before(const grid *g, int x, int nodes, double *share) {
    const double at = fmax(((x + 0.5) / g->size - 0.5) / NODE_CELLS, 0);
    const int node = (int)fmin(at, nodes - 2);
    *share = at - node;
    return node;
}

/* Linear between the nodes; where one of them has no surface nothing can be said. */
static void divide(tl_spot_field *f, const grid *g) {
    for (int y = 0; y < f->light.height; y++) {
        double u, v;
        const float *row = g->node + node_before(g, y, g->nodes_y, &v) * g->nodes_x;
        for (int x = 0; x < f->light.width; x++) {
            const size_t at = (size_t)y * (size_t)f->light.width + (size_t)x;
            if (f->state[at] != TL_SPOT_PX_DISC)
                continue;
            const float *p = row + node_before(g, x, g->nodes_x, &u), *q = p + g->nodes_x;
            if (!(p[0] > 0 && p[1] > 0 && q[0] > 0 && q[1] > 0)) {
                f->state[at] = TL_SPOT_PX_OUTSIDE;
                f->light.value[at] = 0;
                f->disc_count--;
                continue;
            }
            const double level = (1 - v) * ((1 - u) * (double)p[0] + u * (double)p[1]) +
                                 v * ((1 - u) * (double)q[0] + u * (double)q[1]);
            f->light.value[at] = (float)(1 - (double)f->light.value[at] / level);
        }
    }
}

tl_status tl_spot_background_divide(tl_spot_field *f) {
    grid g = {.size = (int)fmax(CELL_PX_MIN,
                                round(fmax(f->radius / CELLS_PER_RADIUS, CELL_BLURS * f->blur)))};
    g.width = (f->light.width + g.size - 1) / g.size;
    g.height = (f->light.height + g.size - 1) / g.size;
    const size_t cells = (size_t)g.width * (size_t)g.height;
    g.cell = calloc(cells, sizeof *g.cell);
    /* the last node lies at or beyond the last cell's middle */
    g.nodes_x = g.width / NODE_CELLS + 2;
    g.nodes_y = g.height / NODE_CELLS + 2;
    g.node = malloc((size_t)g.nodes_x * (size_t)g.nodes_y * sizeof *g.node);
    tl_status status = g.cell && g.node ? TL_OK : TL_ERR_MEMORY;
    if (status == TL_OK) {
        gather(f, &g);
        fit(&g);
        divide(f, &g);
    }
    free(g.cell);
    free(g.node);
    return status;
}
