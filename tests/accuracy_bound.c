/*
 * accuracy_bound.c - the Cramer-Rao bound of a frame's circles, from the renderer alone.
 *
 * The noise-free frame is drawn again with each parameter changed a little: the Sun's x, y, r, the
 * Moon's x, y (its radius tied to the Sun's by the known ratio) and, as nuisances, the shift of
 * both edges towards the dark, which no camera tells beforehand and the ratio has to, the blur, and
 * in each colour the disc's level and the sky's. Fisher's matrix is the sum over pixels of the
 * products of the derivatives over the variance of the noise; its inverse bounds the covariance of
 * every unbiased measurement (Kay 1993, Fundamentals of Statistical Signal Processing, vol. 1, ch.
 * 3).
 *
 * The noise counted is the camera's: photons and read-out, as the renderer adds it to each colour
 * of each pixel. What comes later can only take information away and is not counted: rounding to 8
 * bits, JPEG. So there are two bounds: `all` for the three colours at full resolution, which nobody
 * has who has the JPEG alone, and `luminance` for the one plane of luminance (Rec. ITU-R BT.709
 * weights) that a finder looks at in a grey picture. For a grey Sun the second is 1.30 times the
 * first. What rounding and JPEG leave is told by the `ideal` errors: those of the linear fit whose
 * weights come from the true picture, made to the luminance of the file as it was written.
 *
 * Noise that is cut off at black makes the sky lighter and shifts every edge: frames whose sky is
 * less than 3 sigma of the noise have no bound.
 */
#include <math.h>

#include <gsl/gsl_errno.h>
#include <gsl/gsl_linalg.h>

#include "accuracy.h"
#include "simulate/simulate_internal.h"

enum { SUN_X, SUN_Y, SUN_R, MOON_X, MOON_Y, EDGE, BLUR, SHAPES }; /* changed by drawing anew */
enum { COLOURS = TL_SIMULATE_CHANNELS, PARAMS = SHAPES + 2 * COLOURS };

/* Forward differences: their error is half the step over the width of an edge, 0.5 %. Far above
 * the rounding of single precision, 1e-6 of the level over the step. */
#define STEP_PX 0.01

#define SKY_SIGMAS 3.0

static const double luminance[COLOURS] = {0.2126, 0.7152, 0.0722};

/* Sums over the pixels of a plane or three: Fisher's matrix (upper triangle), and the residuals of
 * the file times derivative over variance. */
typedef struct sums {
    double fisher[PARAMS][PARAMS], residual[PARAMS];
} sums;

/* A frame in linear light, noise-free: COLOURS planes. */
typedef struct drawn {
    tl_simulate_plane colour[COLOURS];
} drawn;

static void drawn_free(drawn *d) {
    for (int c = 0; c < COLOURS; c++)
        tl_simulate_plane_free(&d->colour[c]);
}

static bool draw(const tl_simulate_scene *scene, size_t index, const tl_sky *at_max,
                 const tl_simulate_place *place, drawn *out) {
    const tl_simulate_settings *settings = &scene->frame[index].settings;
    const tl_simulate_air air = {.clear = {.v = NULL}};
    tl_simulate_plane disc[COLOURS] = {0};
    bool good = tl_simulate_suns_draw(scene, index, at_max, place, disc) == TL_OK;
    for (int c = 0; c < COLOURS; c++) {
        good = good &&
               tl_simulate_compose(settings, place, &air, &disc[c], c, &out->colour[c]) == TL_OK;
        tl_simulate_plane_free(&disc[c]);
    }
    return good;
}

static tl_simulate_place changed(const tl_simulate_place *place, int parameter) {
    tl_simulate_place p = *place;
    double ratio = place->moon_r / place->sun_r;
    p.sun_x += parameter == SUN_X ? STEP_PX : 0.0;
    p.sun_y += parameter == SUN_Y ? STEP_PX : 0.0;
    p.sun_r += parameter == SUN_R ? STEP_PX : 0.0;
    p.moon_r = ratio * p.sun_r;
    p.sun_r += parameter == EDGE ? STEP_PX : 0.0;
    p.moon_r -= parameter == EDGE ? STEP_PX : 0.0;
    p.moon_x += parameter == MOON_X ? STEP_PX : 0.0;
    p.moon_y += parameter == MOON_Y ? STEP_PX : 0.0;
    p.blur_px += parameter == BLUR ? STEP_PX : 0.0;
    return p;
}

/* Add one pixel: its derivatives to the shapes, to the level and to the sky of plane `c`. */
static void add_pixel(const double shape[SHAPES], double to_level, int c, double variance,
                      double residual, sums *s) {
    const int level = SHAPES + c, sky = SHAPES + COLOURS + c;
    bool edge = false;
    s->fisher[level][level] += to_level * to_level / variance;
    s->fisher[level][sky] += to_level / variance;
    s->fisher[sky][sky] += 1.0 / variance;
    s->residual[level] += to_level * residual / variance;
    s->residual[sky] += residual / variance;
    for (int i = 0; i < SHAPES; i++)
        edge = edge || shape[i] != 0.0;
    for (int i = 0; edge && i < SHAPES; i++) {
        for (int j = i; j < SHAPES; j++)
            s->fisher[i][j] += shape[i] * shape[j] / variance;
        s->fisher[i][level] += shape[i] * to_level / variance;
        s->fisher[i][sky] += shape[i] / variance;
        s->residual[i] += shape[i] * residual / variance;
    }
}

/* Sums for the three colours and for luminance (as plane 0). */
static void sum_pixels(const tl_simulate_settings *settings, const drawn *base, const drawn *moved,
                       const tl_image *file, sums out[ACCURACY_BOUNDS]) {
    const tl_simulate_noise *noise = &settings->noise;
    double read = noise->read_e / noise->full_well_e;
    const size_t width = (size_t)base->colour[0].width;
    size_t n = width * (size_t)base->colour[0].height;
    for (size_t p = 0; p < n; p++) {
        double mixed[SHAPES] = {0.0}, mixed_level = 0.0, mixed_variance = 0.0, mixed_residual = 0.0;
        for (int c = 0; c < COLOURS; c++) {
            double light = (double)base->colour[c].v[p], shape[SHAPES];
            double residual =
                tl_image_light(file, (int)(p % width), (int)(p / width), c) / 65535.0 - light;
            double variance = light / noise->full_well_e + read * read;
            double to_level = light - settings->background[c]; /* over the level, which cancels */
            for (int i = 0; i < SHAPES; i++) {
                shape[i] = ((double)moved[i].colour[c].v[p] - light) / STEP_PX;
                mixed[i] += luminance[c] * shape[i];
            }
            mixed_level += luminance[c] * to_level;
            mixed_residual += luminance[c] * residual;
            mixed_variance += luminance[c] * luminance[c] * variance;
            add_pixel(shape, to_level, c, variance, residual, &out[ACCURACY_ALL]);
        }
        add_pixel(mixed, mixed_level, 0, mixed_variance, mixed_residual, &out[ACCURACY_LUMINANCE]);
    }
}

/* Covariance and errors of the first SHAPES parameters; false if the matrix cannot be inverted.
 * Parameters that do not occur (diagonal 0) are left out of it. */
static bool invert(const sums *s, double covariance[SHAPES][SHAPES], double error[SHAPES]) {
    gsl_matrix *m = gsl_matrix_calloc(PARAMS, PARAMS);
    if (m == NULL)
        return false;
    for (size_t i = 0; i < PARAMS; i++)
        for (size_t j = 0; j < PARAMS; j++)
            gsl_matrix_set(m, i, j, i <= j ? s->fisher[i][j] : s->fisher[j][i]);
    for (size_t i = 0; i < PARAMS; i++)
        if (s->fisher[i][i] == 0.0)
            gsl_matrix_set(m, i, i, 1.0);
    bool good = gsl_linalg_cholesky_decomp1(m) == GSL_SUCCESS &&
                gsl_linalg_cholesky_invert(m) == GSL_SUCCESS;
    for (size_t i = 0; i < SHAPES; i++) {
        error[i] = 0.0;
        for (size_t j = 0; j < PARAMS; j++)
            error[i] += gsl_matrix_get(m, i, j) * s->residual[j];
        for (size_t j = 0; j < SHAPES; j++)
            covariance[i][j] = gsl_matrix_get(m, i, j);
    }
    gsl_matrix_free(m);
    return good;
}

/* Through the separation |M (moon - sun)| / r, M what takes the flattening out. */
static accuracy_bound to_bound(const tl_simulate_place *place, double covariance[SHAPES][SHAPES],
                               const double error[SHAPES]) {
    const double(*m)[2] = place->round;
    double dx = place->moon_x - place->sun_x, dy = place->moon_y - place->sun_y;
    double u = m[0][0] * dx + m[0][1] * dy, v = m[1][0] * dx + m[1][1] * dy, d = hypot(u, v);
    double gx = (m[0][0] * u + m[1][0] * v) / d / place->sun_r;
    double gy = (m[0][1] * u + m[1][1] * v) / d / place->sun_r;
    const double gradient[SHAPES] = {[SUN_X] = -gx,
                                     [SUN_Y] = -gy,
                                     [SUN_R] = -d / (place->sun_r * place->sun_r),
                                     [MOON_X] = gx,
                                     [MOON_Y] = gy};
    double variance = 0.0, separation_error = 0.0;
    for (int i = 0; i < SHAPES; i++)
        separation_error += gradient[i] * error[i];
    for (int i = 0; i < SHAPES; i++)
        for (int j = 0; j < SHAPES; j++)
            variance += gradient[i] * covariance[i][j] * gradient[j];
    return (accuracy_bound){
        .separation_sr = sqrt(variance),
        .centre_px = sqrt(0.5 * (covariance[SUN_X][SUN_X] + covariance[SUN_Y][SUN_Y])),
        .radius_px = sqrt(covariance[SUN_R][SUN_R]),
        .ideal_sr = separation_error,
        .ideal_centre_px = sqrt(0.5 * (error[SUN_X] * error[SUN_X] + error[SUN_Y] * error[SUN_Y])),
        .ideal_radius_px = error[SUN_R],
    };
}

typedef struct bounding {
    const tl_simulate_scene *scene;
    const tl_circumstances *circumstances;
    const tl_sky *at_max;
    const char *folder;
    accuracy_bound (*bound)[ACCURACY_BOUNDS];
} bounding;

/* White noise that is not cut off at black. */
static bool can_bound(const tl_simulate_settings *settings) {
    const tl_simulate_noise *noise = &settings->noise;
    double least = SKY_SIGMAS * noise->read_e / noise->full_well_e;
    return noise->on && noise->grain_px <= 0.0 && settings->background[0] >= least &&
           settings->background[1] >= least && settings->background[2] >= least;
}

static void bound_job(void *context, size_t i) {
    const bounding *b = context;
    const tl_simulate_settings *settings = &b->scene->frame[i].settings;
    drawn base = {0}, moved[SHAPES] = {0};
    tl_simulate_place place;
    tl_image file = {0};
    tl_frame_info info;
    char path[1024];
    snprintf(path, sizeof path, "%.900s/%s", b->folder, b->scene->frame[i].file);
    bool good = can_bound(settings) && tl_frame_read(path, &file, &info) == TL_OK &&
                tl_simulate_place_make(b->scene, b->circumstances, i, &place) == TL_OK &&
                draw(b->scene, i, b->at_max, &place, &base);
    for (int k = 0; k < SHAPES && good; k++) {
        tl_simulate_place other = changed(&place, k);
        good = draw(b->scene, i, b->at_max, &other, &moved[k]);
    }
    sums total[ACCURACY_BOUNDS] = {0};
    double covariance[SHAPES][SHAPES], error[SHAPES];
    if (good)
        sum_pixels(settings, &base, moved, &file, total);
    for (int k = 0; k < ACCURACY_BOUNDS && good; k++)
        if (invert(&total[k], covariance, error))
            b->bound[i][k] = to_bound(&place, covariance, error);
    tl_image_free(&file);
    for (int k = 0; k < SHAPES; k++)
        drawn_free(&moved[k]);
    drawn_free(&base);
}

static bool write_bounds(const char *path, const tl_simulate_scene *scene,
                         accuracy_bound (*bound)[ACCURACY_BOUNDS]) {
    FILE *file = fopen(path, "w");
    if (!file)
        return false;
    fprintf(file, "file,plane,separation_sr,centre_px,radius_px,ideal_separation_sr,"
                  "ideal_centre_px,ideal_radius_px\n");
    for (size_t i = 0; i < scene->frame_count; i++)
        for (int k = 0; k < ACCURACY_BOUNDS; k++)
            fprintf(file, "%s,%d,%.6g,%.6g,%.6g,%.6g,%.6g,%.6g\n", scene->frame[i].file, k,
                    bound[i][k].separation_sr, bound[i][k].centre_px, bound[i][k].radius_px,
                    bound[i][k].ideal_sr, bound[i][k].ideal_centre_px, bound[i][k].ideal_radius_px);
    return fclose(file) == 0;
}

bool accuracy_bounds_make(const char *scene_path, const char *folder) {
    char message[TL_SIMULATE_MESSAGE_SIZE], path[1024];
    tl_simulate_scene scene;
    tl_circumstances circumstances;
    tl_sky at_max;
    snprintf(path, sizeof path, "%.900s/bounds.csv", folder);
    if (tl_simulate_scene_read(scene_path, message, &scene) != TL_OK)
        return false;
    accuracy_bound(*bound)[ACCURACY_BOUNDS] = calloc(scene.frame_count, sizeof *bound);
    bool good =
        bound &&
        tl_sky_circumstances(&scene.site, scene.day_utc_s, &scene.sky, &circumstances) == TL_OK &&
        tl_sky_at(&scene.site, circumstances.contact[TL_MAX].t_utc_s, &scene.sky, &at_max) == TL_OK;
    if (good) {
        bounding b = {&scene, &circumstances, &at_max, folder, bound};
        gsl_set_error_handler_off();
        tl_parallel(scene.frame_count, 0, bound_job, &b);
        good = write_bounds(path, &scene, bound);
    }
    free(bound);
    tl_simulate_scene_free(&scene);
    return good;
}

void accuracy_bounds_read(const char *folder, accuracy_row *row, size_t count) {
    char path[1024], line[512], name[128];
    snprintf(path, sizeof path, "%.900s/bounds.csv", folder);
    FILE *file = fopen(path, "r");
    if (!file)
        return;
    while (fgets(line, sizeof line, file)) {
        accuracy_bound b;
        int plane;
        if (sscanf(line, "%127[^,],%d,%lf,%lf,%lf,%lf,%lf,%lf", name, &plane, &b.separation_sr,
                   &b.centre_px, &b.radius_px, &b.ideal_sr, &b.ideal_centre_px,
                   &b.ideal_radius_px) != 8)
            continue;
        for (size_t i = 0; i < count; i++)
            if (strcmp(row[i].truth.file, name) == 0 && plane >= 0 && plane < ACCURACY_BOUNDS)
                row[i].bound[plane] = b;
    }
    fclose(file);
}
