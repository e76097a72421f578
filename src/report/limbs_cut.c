/*
 * limbs_cut.c - the few pixels of a picture that the enlarged looks need, cut while the picture is
 * in memory.
 */
#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "limb/limb_internal.h" /* the weights of red, green and blue in luminance */
#include "report/limbs_internal.h"

/* Wide enough to show a circle wrong by several per cent, narrow enough to show single pixels. */
static const double SIDE_RADII = 0.12;
enum { SIDE_MIN = 51, SIDE_MAX = 103 }; /* px: 8 and 4 times enlarged on the sheet */

static double light_at(const tl_image *image, const char *channel, int x, int y) {
    const size_t at = (size_t)y * (size_t)image->width + (size_t)x;
    if (image->channels == 1)
        return image->sample[at];
    const uint16_t *rgb = image->sample + 3 * at;
    if (strcmp(channel, "luma") != 0)
        return rgb[strcmp(channel, "green") == 0 ? 1 : strcmp(channel, "blue") == 0 ? 2 : 0];
    return tl_limb_luma[0] * rgb[0] + tl_limb_luma[1] * rgb[1] + tl_limb_luma[2] * rgb[2];
}

/* `side` px about a point; as much of it as lies in the picture, and nothing if none does. */
static tl_status cut(const tl_image *image, const tl_limb *limb, const double centre[2], int side,
                     tl_detail *detail) {
    double brightest = 1.0;
    if (!(fabs(centre[0]) < TL_IMAGE_MAX_SIDE) || !(fabs(centre[1]) < TL_IMAGE_MAX_SIDE))
        return TL_OK;
    const int left = (int)lround(centre[0]) - side / 2, top = (int)lround(centre[1]) - side / 2;
    const int x0 = left > 0 ? left : 0, y0 = top > 0 ? top : 0;
    const int x1 = left + side < image->width ? left + side : image->width;
    const int y1 = top + side < image->height ? top + side : image->height;
    if (x0 >= x1 || y0 >= y1)
        return TL_OK;
    unsigned char *light = malloc((size_t)(x1 - x0) * (size_t)(y1 - y0));
    if (!light)
        return TL_ERR_MEMORY;
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++)
            brightest = fmax(brightest, light_at(image, limb->channel, x, y));
    size_t n = 0;
    for (int y = y0; y < y1; y++)
        for (int x = x0; x < x1; x++)
            light[n++] =
                (unsigned char)lround(255.0 * light_at(image, limb->channel, x, y) / brightest);
    *detail = (tl_detail){x0, y0, x1 - x0, y1 - y0, light};
    return TL_OK;
}

/* How far inside the picture a point lies, px. */
static double depth(const tl_image *image, const double xy[2]) {
    return fmin(fmin(xy[0], image->width - 1 - xy[0]), fmin(xy[1], image->height - 1 - xy[1]));
}

static bool cusp_place(const tl_image *image, const tl_limb *limb, double place[2]) {
    double xy[2][2];
    if (tl_report_cusps(limb, xy) == 0)
        return false;
    memcpy(place, depth(image, xy[0]) >= depth(image, xy[1]) ? xy[0] : xy[1], 2 * sizeof *place);
    return true;
}

/* Of the points kept on the lunar limb, or on the solar one where there is no Moon, the one deepest
 * in the Sun or furthest to the right. */
static bool limb_place(const tl_limb *limb, double place[2]) {
    tl_report_outline sun, moon;
    int which = TL_LIMB_SUN;
    double towards_x = 1.0, towards_y = 0.0, best = -INFINITY;
    if (!tl_report_outline_of(limb, TL_LIMB_SUN, &sun))
        return false;
    if (tl_report_outline_of(limb, TL_LIMB_MOON, &moon)) {
        which = TL_LIMB_MOON;
        towards_x = sun.x - moon.x;
        towards_y = sun.y - moon.y;
    }
    const tl_report_outline *own = which == TL_LIMB_SUN ? &sun : &moon;
    for (size_t i = 0; i < limb->edge_count; i++) {
        const tl_limb_edge *edge = &limb->edge[i];
        if (!edge->used || edge->limb != which)
            continue;
        const double along = (edge->x_px - own->x) * towards_x + (edge->y_px - own->y) * towards_y;
        if (along <= best)
            continue;
        best = along;
        place[0] = edge->x_px;
        place[1] = edge->y_px;
    }
    return best > -INFINITY;
}

tl_status tl_details_make(const tl_image *image, const tl_limb *limb,
                          tl_detail detail[TL_DETAILS]) {
    tl_detail made[TL_DETAILS] = {{0}};
    double place[TL_DETAILS][2];
    const bool found[TL_DETAILS] = {[TL_DETAIL_CUSP] =
                                        cusp_place(image, limb, place[TL_DETAIL_CUSP]),
                                    [TL_DETAIL_LIMB] = limb_place(limb, place[TL_DETAIL_LIMB])};
    const int side =
        (int)lround(fmax(SIDE_MIN, fmin(SIDE_MAX, SIDE_RADII * limb->circle[TL_SUN_R])));
    tl_status status = TL_OK;
    for (int k = 0; k < TL_DETAILS && status == TL_OK; k++)
        if (found[k])
            status = cut(image, limb, place[k], side, &made[k]);
    if (status == TL_OK)
        memcpy(detail, made, sizeof made);
    else
        tl_details_free(made);
    return status;
}

void tl_details_free(tl_detail detail[TL_DETAILS]) {
    for (int k = 0; k < TL_DETAILS; k++) {
        free(detail[k].light);
        detail[k] = (tl_detail){0};
    }
}
