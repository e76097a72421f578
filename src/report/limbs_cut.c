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
    if (image->channels == 1)
        return tl_image_light(image, x, y, 0);
    if (strcmp(channel, "luma") != 0)
        return tl_image_light(image, x, y,
                              strcmp(channel, "green") == 0  ? 1
                              : strcmp(channel, "blue") == 0 ? 2
                                                             : 0);
    double sum = 0;
    for (int c = 0; c < 3; c++)
        sum += tl_limb_luma[c] * tl_image_light(image, x, y, c);
    return sum;
}

/* `side` pixels held about a point; as much of it as lies in the picture, and nothing if none does.
 */
static tl_status cut(const tl_image *image, const tl_limb *limb, const double place[2], int side,
                     tl_detail *detail) {
    const double centre[2] = {tl_image_from_file(image, image->left, place[0]),
                              tl_image_from_file(image, image->top, place[1])};
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
    *detail = (tl_detail){.x0 = tl_image_to_file(image, image->left, x0),
                          .y0 = tl_image_to_file(image, image->top, y0),
                          .scale = tl_image_scale(image),
                          .width = x1 - x0,
                          .height = y1 - y0,
                          .light = light};
    return TL_OK;
}

/* How far inside the picture a point lies, in pixels held. */
static double depth(const tl_image *image, const double xy[2]) {
    const double x = tl_image_from_file(image, image->left, xy[0]);
    const double y = tl_image_from_file(image, image->top, xy[1]);
    return fmin(fmin(x, image->width - 1 - x), fmin(y, image->height - 1 - y));
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
    const double wanted = SIDE_RADII * limb->circle[TL_SUN_R] / tl_image_scale(image);
    const int side = (int)lround(fmax(SIDE_MIN, fmin(SIDE_MAX, wanted)));
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
