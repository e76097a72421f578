/*
 * film_look.c - what colours the Sun of a series has, and how it darkens towards its limb.
 */
#include <math.h>
#include <stdlib.h>

#include "frame/frame_internal.h" /* the sRGB curve */
#include "report/film_internal.h"

#define FULL_LIGHT 65535.0 /* as the table of the curve has it */

/* The disc's light is measured in rings of equal area, on that many plates of that size. */
enum { RINGS = 20, PLATES = 7, PLATE_SIDE = 160, RING_LEAST = 30 /* px */ };
#define RINGS_REACH 0.96 /* solar radii: inside the blur of the limb */
#define MOON_CLEAR 0.04  /* around the Moon likewise */

/* Without any plate: a film filter's orange, and the Sun's limb darkening in yellow light (common
 * practice, no source). */
static const double plain_light[3] = {0.78, 0.33, 0.03};
#define PLAIN_DARKENING 0.6
#define DARKENING_MOST 0.9

/* Means of one plate; count 0: too little was seen there. */
typedef struct rings {
    double light[RINGS][3];
    int count[RINGS];
} rings;

static tl_status measure(const tl_report_source *source, const tl_report_plate *plate,
                         const uint16_t light[256], rings *made) {
    const double middle = 0.5 * (PLATE_SIDE - 1), scale = PLATE_SIDE / (2.0 * TL_REPORT_FILM_REACH);
    double moon_x = 0.0, moon_y = 0.0, ratio = 0.0;
    const bool moon =
        tl_report_plate_moon(source, plate, TL_REPORT_NORTH_UP, &moon_x, &moon_y, &ratio);
    unsigned char *rgb = malloc(3 * PLATE_SIDE * PLATE_SIDE);
    tl_status status =
        rgb ? tl_report_film_plate(source, plate, TL_REPORT_NORTH_UP, PLATE_SIDE, rgb)
            : TL_ERR_MEMORY;
    *made = (rings){0};
    for (int i = 0; i < PLATE_SIDE * PLATE_SIDE && status == TL_OK; i++) {
        const double x = (i % PLATE_SIDE - middle) / scale, y = (i / PLATE_SIDE - middle) / scale;
        const int ring = (int)(RINGS * (x * x + y * y) / (RINGS_REACH * RINGS_REACH));
        if (ring >= RINGS || (moon && hypot(x - moon_x, y - moon_y) < ratio + MOON_CLEAR))
            continue;
        for (int c = 0; c < 3; c++)
            made->light[ring][c] += light[rgb[3 * i + c]];
        made->count[ring]++;
    }
    for (int ring = 0; ring < RINGS; ring++) {
        made->count[ring] = made->count[ring] < RING_LEAST ? 0 : made->count[ring];
        for (int c = 0; c < 3 && made->count[ring] > 0; c++)
            made->light[ring][c] /= FULL_LIGHT * made->count[ring];
    }
    free(rgb);
    return status;
}

static int by_value(const void *a, const void *b) {
    const double p = *(const double *)a, q = *(const double *)b;
    return (p > q) - (p < q);
}

/* The middle one of the plates, which a cloud or a reflection on one does not move; < 0 if none. */
static double middle_light(const rings *plate, size_t count, int ring, int c) {
    double value[PLATES];
    size_t n = 0;
    for (size_t k = 0; k < count; k++)
        if (plate[k].count[ring] > 0)
            value[n++] = plate[k].light[ring][c];
    qsort(value, n, sizeof *value, by_value);
    return n > 0 ? value[n / 2] : -1.0;
}

/* Straight lines through the rings' light against 1 - mu. One darkening for the three colours:
 * where a picture burns out in one of them, its own would tint the limb. */
static void fit(const rings *plate, size_t count, tl_report_sun_look *look) {
    double n = 0.0, x = 0.0, xx = 0.0, y[3] = {0.0}, all = 0.0, x_all = 0.0;
    for (int ring = 0; ring < RINGS; ring++) {
        const double squared = RINGS_REACH * RINGS_REACH * (ring + 0.5) / RINGS;
        const double down = 1.0 - sqrt(1.0 - squared);
        if (middle_light(plate, count, ring, 0) < 0.0)
            continue;
        n += 1.0;
        x += down;
        xx += down * down;
        for (int c = 0; c < 3; c++) {
            const double light = middle_light(plate, count, ring, c);
            y[c] += light;
            all += light;
            x_all += down * light;
        }
    }
    if (!(all > 0.0))
        return;
    const double spread = n * xx - x * x;
    const double slope = spread > 0.0 ? (n * x_all - x * all) / spread : 0.0;
    const double at_centre = (all - slope * x) / n;
    const double darkening = at_centre > 0.0 ? -slope / at_centre : 0.0;
    look->darkening = fmin(fmax(darkening, 0.0), DARKENING_MOST);
    for (int c = 0; c < 3; c++)
        look->centre[c] = fmin(y[c] / (n - look->darkening * x), 1.0);
}

tl_status tl_report_sun_find_look(const tl_report_source *source, const tl_report_plates *plates,
                                  tl_report_sun_look *look) {
    uint16_t light[256];
    tl_frame_linear_table(light);
    size_t *chosen = calloc(plates->count + 1, sizeof *chosen);
    rings *plate = calloc(PLATES, sizeof *plate);
    tl_status status = chosen && plate ? TL_OK : TL_ERR_MEMORY;
    size_t count = 0;
    if (status == TL_OK)
        count = tl_report_plates_spread(plates, TL_REPORT_NORTH_UP, PLATES, chosen);
    for (size_t k = 0; k < count && status == TL_OK; k++)
        status = measure(source, &plates->item[chosen[k]], light, &plate[k]);
    tl_report_sun_look made = {{0.0}, PLAIN_DARKENING};
    for (int c = 0; c < 3 && status == TL_OK; c++)
        made.centre[c] = plain_light[c];
    if (status == TL_OK)
        fit(plate, count, &made);
    if (status == TL_OK)
        *look = made;
    free(plate);
    free(chosen);
    return status;
}
