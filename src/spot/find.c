/*
 * find.c - dark marks in one picture: the entry point.
 */
#include <math.h>
#include <stdlib.h>

#include "spot/spot_internal.h"

/* Less undisturbed disc than this says nothing: share of the disc's area, and px. */
#define DISC_SHARE_MIN 0.002
enum { DISC_PIXELS_MIN = 100 };
/* A disc with more of it burnt out says nothing. */
#define CLIPPED_MAX 0.98
/* A cut mark's centre is not that of the whole: error over its radius. */
#define CUT_SHARE 0.5

static bool worth_searching(const tl_spot_field *f) {
    const double least = fmax(DISC_PIXELS_MIN, DISC_SHARE_MIN * TL_PI * f->radius * f->radius);
    return (double)f->disc_count >= least && f->clipped_share <= CLIPPED_MAX;
}

static tl_spot_mark mark_of(const tl_spot_field *f, const tl_spot_measure *m) {
    const double scale = f->light.scale, area = scale * scale;
    const bool cut = tl_spot_shape_cut(m);
    double sigma = m->sigma;
    if (cut)
        sigma = hypot(sigma, CUT_SHARE * sqrt(m->area / TL_PI));
    return (tl_spot_mark){.x_px = f->light.x0 + scale * m->x,
                          .y_px = f->light.y0 + scale * m->y,
                          .sigma_px = scale * sigma,
                          .area_px2 = area * m->area,
                          .umbra_px2 = area * m->umbra,
                          .missing_px2 = area * m->missing,
                          .contrast = m->peak,
                          .significance = m->peak / m->noise,
                          .blur_px = f->limb->blur_px,
                          .cut = cut};
}

static int largest_first(const void *a, const void *b) {
    const tl_spot_mark *p = a, *q = b;
    return (p->missing_px2 < q->missing_px2) - (p->missing_px2 > q->missing_px2);
}

static tl_status gather_marks(const tl_spot_field *f, tl_spot_marks *marks) {
    tl_spot_segments segments = {0};
    tl_status status = tl_spot_segments_make(f, &segments);
    if (status != TL_OK)
        return status;
    tl_spot_mark *mark = malloc((segments.count + 1) * sizeof *mark);
    size_t count = 0;
    for (size_t i = 0; mark && i < segments.count; i++) {
        tl_spot_measure measure;
        if (tl_spot_measure_take(f, &segments, i, &measure) && tl_spot_shape_fits(f, &measure))
            mark[count++] = mark_of(f, &measure);
    }
    tl_spot_segments_free(&segments);
    if (mark == NULL)
        return TL_ERR_MEMORY;
    qsort(mark, count, sizeof *mark, largest_first);
    if (count == 0) {
        free(mark);
        mark = NULL;
    }
    *marks = (tl_spot_marks){.searched = true,
                             .noise = f->noise_typical,
                             .depth_scale = f->depth_scale,
                             .clipped_share = f->clipped_share,
                             .mark = mark,
                             .count = count < TL_SPOT_MARKS_MAX ? count : TL_SPOT_MARKS_MAX};
    return TL_OK;
}

tl_status tl_spot_find(const tl_image *image, const tl_limb *limb, tl_spot_marks *marks) {
    bool has_sun = (limb->status == TL_LIMB_MEASURED || limb->status == TL_LIMB_SUN_ONLY) &&
                   limb->circle[TL_SUN_R] > 0 && isfinite(limb->blur_px);
    for (int i = 0; i < TL_LIMB_PARAMS; i++)
        has_sun = has_sun && isfinite(limb->circle[i]);
    if (!has_sun) {
        *marks = (tl_spot_marks){.depth_scale = 1};
        return TL_OK;
    }
    tl_spot_field field = {0};
    tl_spot_marks found = {.depth_scale = 1};
    tl_status status = tl_spot_light_take(image, limb, &field);
    if (status == TL_OK)
        status = tl_spot_seen_take(&field);
    if (status == TL_OK && worth_searching(&field))
        status = tl_spot_profile_divide(&field);
    if (status == TL_OK && worth_searching(&field))
        status = tl_spot_background_divide(&field);
    found.depth_scale = field.light.value ? field.depth_scale : 1;
    found.clipped_share = field.clipped_share;
    if (status == TL_OK && worth_searching(&field)) {
        status = tl_spot_noise_take(&field);
        if (status == TL_OK)
            status = gather_marks(&field, &found);
    }
    tl_spot_field_free(&field);
    if (status == TL_ERR_ARGUMENT) /* the Sun lies outside the picture */
        status = TL_OK;
    if (status == TL_OK)
        *marks = found;
    return status;
}
