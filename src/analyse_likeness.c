/*
 * analyse_likeness.c - whether two pictures have the same grain, and the Moon at the same place.
 *
 * A picture saved again keeps the noise of its one exposure, though reduced and compressed; two
 * exposures have each its own. Compression takes the finest grain first, so the light is averaged
 * over cells of some pixels. What a disc shows beside grain is smooth at that scale, or an edge.
 */
#include <math.h>
#include <stdlib.h>

#include <gsl/gsl_linalg.h>

#include "analyse_steps.h"
#include "base/base_internal.h"
#include "limb/limb_internal.h" /* the weights of red, green and blue in luminance */

enum {
    CELLS_LEAST = 50,
    CELL_SMALL = 4, /* px of the coarser picture; and twice as many */
    CELL_LARGE = 8  /* the blocks of JPEG, in which the mean is the last to go */
};
/* Of a limb, px and widths of its edge. */
#define NEAR_PX 2.0
#define NEAR_BLURS 2.0
enum { PIXELS_LEAST = 100 };
/* In units of 1/255 of full scale, coded: what is more is an edge, not grain, and what is brighter
 * may be burnt out. Our own choice. */
#define GRAIN_MOST 8.0
#define LIGHT_MOST 252.0
/* Of the solar radius: nothing within this of a limb. */
#define MARGIN_SR 0.07
/* How many standard errors a correlation must be above none: of a whole camera roll of other
 * pictures not one is. */
#define SIGMAS 5.0
/* A curve like sRGB's over its whole range, to make noise alike at all brightnesses. */
#define CODING (1.0 / 2.2)

/* Luminance of a picture as it is held in memory, coded, 0..255, and its circles in those pixels.
 */
typedef struct grey {
    int width, height;
    float *light; /* owned */
    double whole; /* width of the whole file in these pixels */
    tl_limb limb; /* borrows what it points to */
} grey;

static double luma_at(const tl_image *image, int x, int y) {
    if (image->channels == 1)
        return tl_image_light(image, x, y, 0);
    double sum = 0.0;
    for (int c = 0; c < 3; c++)
        sum += tl_limb_luma[c] * tl_image_light(image, x, y, c);
    return sum;
}

static tl_limb limb_in(const tl_image *image, const tl_limb *limb) {
    const double scale = tl_image_scale(image);
    tl_limb held = *limb;
    for (int k = 0; k < TL_LIMB_PARAMS; k++)
        held.circle[k] = k == TL_SUN_X || k == TL_MOON_X
                             ? tl_image_from_file(image, image->left, limb->circle[k])
                         : k == TL_SUN_Y || k == TL_MOON_Y
                             ? tl_image_from_file(image, image->top, limb->circle[k])
                             : limb->circle[k] / scale;
    held.blur_px = limb->blur_px / scale;
    return held;
}

static tl_status read_grey(const tl_sequence_frame *frame, grey *g) {
    tl_image image = {0};
    tl_frame_info info;
    tl_status status = tl_frame_read(frame->path, &image, &info);
    if (status != TL_OK)
        return status;
    float *light = malloc((size_t)image.width * (size_t)image.height * sizeof *light);
    for (int y = 0; light != NULL && y < image.height; y++)
        for (int x = 0; x < image.width; x++)
            light[(size_t)y * (size_t)image.width + (size_t)x] =
                (float)(255.0 * pow(luma_at(&image, x, y) / 65535.0, CODING));
    if (light != NULL)
        *g = (grey){image.width, image.height, light, frame->info.width / tl_image_scale(&image),
                    limb_in(&image, &frame->limb)};
    tl_image_free(&image);
    return light != NULL ? TL_OK : TL_ERR_MEMORY;
}

/* Mean light of the rectangle between these edges, px counted from the left top corner of the
 * picture; it lies within the picture but for rounding. */
static double mean_light(const grey *g, double x0, double y0, double side) {
    const double x1 = fmin(x0 + side, g->width), y1 = fmin(y0 + side, g->height);
    double sum = 0.0;
    for (int y = (int)y0; y < y1; y++)
        for (int x = (int)x0; x < x1; x++)
            sum += (double)g->light[(size_t)y * (size_t)g->width + (size_t)x] *
                   (fmin(x + 1, x1) - fmax(x, x0)) * (fmin(y + 1, y1) - fmax(y, y0));
    return sum / ((x1 - x0) * (y1 - y0));
}

/* A square of cells about the Sun in both pictures, NAN where there is no disc. */
typedef struct cells {
    int side, left, top;   /* the left top one is this many cells from that of the picture */
    double *fine, *coarse; /* owned, one block */
} cells;

/* Whether the middle of a cell, px of the coarser picture, is well on the disc. */
static bool on_disc(const tl_limb *limb, double x, double y) {
    const double *c = limb->circle, margin = MARGIN_SR * c[TL_SUN_R];
    return hypot(x - c[TL_SUN_X], y - c[TL_SUN_Y]) < c[TL_SUN_R] - margin &&
           (limb->status != TL_LIMB_MEASURED ||
            hypot(x - c[TL_MOON_X], y - c[TL_MOON_Y]) > c[TL_MOON_R] + margin);
}

static bool fill_cells(const grey *fine, const grey *coarse, int size, bool all, cells *made) {
    const tl_limb *limb = &coarse->limb;
    const double scale = fine->whole / coarse->whole;
    const int reach = (int)(limb->circle[TL_SUN_R] / size) + 1;
    const int side = 2 * reach + 1, count = side * side;
    const int left = (int)floor(limb->circle[TL_SUN_X] / size) - reach;
    const int top = (int)floor(limb->circle[TL_SUN_Y] / size) - reach;
    double *light = malloc(2 * (size_t)count * sizeof *light);
    if (light == NULL)
        return false;
    for (int i = 0; i < count; i++) {
        const int x = (left + i % side) * size, y = (top + i / side) * size;
        const bool seen = x >= 0 && y >= 0 && x + size <= coarse->width &&
                          y + size <= coarse->height &&
                          (all || on_disc(limb, x + 0.5 * (size - 1), y + 0.5 * (size - 1)));
        light[i] = seen ? mean_light(fine, x * scale, y * scale, size * scale) : NAN;
        light[count + i] = seen ? mean_light(coarse, x, y, size) : NAN;
    }
    *made = (cells){side, left, top, light, light + count};
    return true;
}

/* What a plane and a curved surface leave: the difference of two Laplacians, of unit gain for noise
 * (Immerkaer 1996, Fast noise variance estimation). */
static double grain_at(const double *v, int width) {
    return (v[-width - 1] + v[-width + 1] + v[width - 1] + v[width + 1] -
            2.0 * (v[-width] + v[-1] + v[1] + v[width]) + 4.0 * v[0]) /
           6.0;
}

/* Keeps the better of what it has and what these cells say. */
static void correlate(const cells *c, tl_likeness *likeness) {
    double fine = 0.0, coarse = 0.0, both = 0.0;
    size_t count = 0;
    for (int y = 1; y + 1 < c->side; y++)
        for (int x = 1; x + 1 < c->side; x++) {
            const double *a = c->fine + y * c->side + x, *b = c->coarse + y * c->side + x;
            const double in_a = grain_at(a, c->side), in_b = grain_at(b, c->side);
            if (!(fabs(in_a) < GRAIN_MOST) || !(fabs(in_b) < GRAIN_MOST) || *a > LIGHT_MOST ||
                *b > LIGHT_MOST)
                continue; /* also where there is no disc */
            fine += in_a * in_a;
            coarse += in_b * in_b;
            both += in_a * in_b;
            count++;
        }
    if (count < CELLS_LEAST || !(fine > 0.0) || !(coarse > 0.0))
        return;
    const double grain = both / sqrt(fine * coarse);
    const bool certain = grain * sqrt((double)count) > SIGMAS;
    likeness->known = true;
    if (certain && grain > likeness->grain)
        likeness->grain = grain;
}

/* --- how the Moon has moved --- */

/* Unknowns of the coarser picture as the finer one brought to its pixels: gain and offset of its
 * light, a little more or less blur, how far the solar and the lunar limb are displaced, and how
 * far all that is bright has grown at its edges, as another way of averaging light makes it. */
enum { GAIN, OFFSET, BLUR, SUN_DX, SUN_DY, MOON_DX, MOON_DY, GROWN, UNKNOWNS };

typedef struct normal {
    double matrix[UNKNOWNS][UNKNOWNS], right[UNKNOWNS], square;
    size_t count;
} normal;

static void add_row(normal *n, const double row[UNKNOWNS], double value) {
    for (int i = 0; i < UNKNOWNS; i++) {
        for (int j = 0; j < UNKNOWNS; j++)
            n->matrix[i][j] += row[i] * row[j];
        n->right[i] += row[i] * value;
    }
    n->square += value * value;
    n->count++;
}

/* Which limb a pixel is close to, and the way out of the bright part there; -1: none, or both. */
static int limb_near(const tl_limb *limb, double x, double y, double *out_x, double *out_y) {
    const double *c = limb->circle, near = NEAR_PX + NEAR_BLURS * limb->blur_px;
    const double sun = hypot(x - c[TL_SUN_X], y - c[TL_SUN_Y]);
    const double moon = hypot(x - c[TL_MOON_X], y - c[TL_MOON_Y]);
    const double from_sun = sun - c[TL_SUN_R], from_moon = moon - c[TL_MOON_R];
    if (fabs(from_sun) < near && from_moon > 2.0 * near) {
        *out_x = (x - c[TL_SUN_X]) / sun;
        *out_y = (y - c[TL_SUN_Y]) / sun;
        return TL_LIMB_SUN;
    }
    if (fabs(from_moon) < near && from_sun < -2.0 * near) {
        *out_x = -(x - c[TL_MOON_X]) / moon;
        *out_y = -(y - c[TL_MOON_Y]) / moon;
        return TL_LIMB_MOON;
    }
    return -1;
}

static void add_pixel(normal *n, const double *v, int width, double coarse, int which, double out_x,
                      double out_y) {
    const double gx = 0.5 * (v[1] - v[-1]), gy = 0.5 * (v[width] - v[-width]);
    double row[UNKNOWNS] = {[GAIN] = v[0], [OFFSET] = 1.0};
    row[BLUR] = v[1] + v[-1] + v[width] + v[-width] - 4.0 * v[0];
    row[which == TL_LIMB_SUN ? SUN_DX : MOON_DX] = -gx;
    row[which == TL_LIMB_SUN ? SUN_DY : MOON_DY] = -gy;
    row[GROWN] = -(gx * out_x + gy * out_y);
    add_row(n, row, coarse);
}

/* Solved by Cholesky's factors; how far the Moon moved against the Sun, px. */
static bool solve(const normal *n, double *moved_px, double *sigma_px) {
    double storage[UNKNOWNS * UNKNOWNS], right[UNKNOWNS], solution[UNKNOWNS];
    for (int i = 0; i < UNKNOWNS; i++)
        for (int j = 0; j < UNKNOWNS; j++)
            storage[i * UNKNOWNS + j] = n->matrix[i][j];
    for (int i = 0; i < UNKNOWNS; i++)
        right[i] = n->right[i];
    gsl_matrix_view matrix = gsl_matrix_view_array(storage, UNKNOWNS, UNKNOWNS);
    const gsl_vector_view b = gsl_vector_view_array(right, UNKNOWNS);
    gsl_vector_view x = gsl_vector_view_array(solution, UNKNOWNS);
    if (n->count < PIXELS_LEAST || gsl_linalg_cholesky_decomp1(&matrix.matrix) != 0 ||
        gsl_linalg_cholesky_solve(&matrix.matrix, &b.vector, &x.vector) != 0)
        return false;
    double rest = n->square;
    for (int i = 0; i < UNKNOWNS; i++)
        rest -= solution[i] * n->right[i];
    if (gsl_linalg_cholesky_invert(&matrix.matrix) != 0)
        return false;
    const double variance = fmax(rest, 0.0) / (double)(n->count - UNKNOWNS);
    double sum = 0.0;
    for (int k = 0; k < 2; k++)
        sum += storage[(SUN_DX + k) * (UNKNOWNS + 1)] + storage[(MOON_DX + k) * (UNKNOWNS + 1)] -
               2.0 * storage[(SUN_DX + k) * UNKNOWNS + MOON_DX + k];
    *moved_px = hypot(solution[MOON_DX] - solution[SUN_DX], solution[MOON_DY] - solution[SUN_DY]);
    *sigma_px = sqrt(variance * fmax(sum, 0.0));
    return isfinite(*moved_px) && isfinite(*sigma_px);
}

static void find_motion(const grey *fine, const grey *coarse, tl_likeness *likeness) {
    cells c = {0};
    normal n = {0};
    if (!fill_cells(fine, coarse, 1, true, &c))
        return;
    for (int y = 1; y + 1 < c.side; y++)
        for (int x = 1; x + 1 < c.side; x++) {
            double out_x, out_y;
            const int which = limb_near(&coarse->limb, c.left + x, c.top + y, &out_x, &out_y);
            if (which >= 0)
                add_pixel(&n, c.fine + y * c.side + x, c.side, c.coarse[y * c.side + x], which,
                          out_x, out_y);
        }
    free(c.fine);
    likeness->moved_known = solve(&n, &likeness->moved_px, &likeness->moved_sigma_px);
    likeness->sun_r_px = coarse->limb.circle[TL_SUN_R];
}

tl_likeness tl_analyse_likeness(const tl_sequence_frame *one, const tl_sequence_frame *other) {
    tl_base_quiet_libraries();
    tl_likeness likeness = {0};
    grey a = {0}, b = {0};
    if (read_grey(one, &a) == TL_OK && read_grey(other, &b) == TL_OK) {
        const grey *fine = a.whole >= b.whole ? &a : &b, *coarse = fine == &a ? &b : &a;
        for (int size = CELL_SMALL; size <= CELL_LARGE; size *= 2) {
            cells c = {0};
            if (fill_cells(fine, coarse, size, false, &c))
                correlate(&c, &likeness);
            free(c.fine);
        }
        if (coarse->limb.status == TL_LIMB_MEASURED)
            find_motion(fine, coarse, &likeness);
    }
    free(a.light);
    free(b.light);
    return likeness;
}
