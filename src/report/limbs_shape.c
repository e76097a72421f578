/*
 * limbs_shape.c - the limbs as fitted, as shapes that can be drawn.
 */
#include <math.h>
#include <string.h>

#include "report/limbs_internal.h"

bool tl_report_outline_of(const tl_limb *limb, int which, tl_report_outline *outline) {
    const double *c = &limb->circle[which == TL_LIMB_SUN ? TL_SUN_X : TL_MOON_X];
    const bool flat = limb->flattening > 0.0 && hypot(limb->flat_x, limb->flat_y) > 0.5;
    if (!(c[2] > 0.0))
        return false;
    *outline = (tl_report_outline){c[0],
                                   c[1],
                                   c[2],
                                   flat ? limb->flattening : 1.0,
                                   flat ? limb->flat_x : 0.0,
                                   flat ? limb->flat_y : 1.0};
    return true;
}

/* Lengthen what lies along the shorter axis. */
static void stretch(const tl_report_outline *o, double by, double *x, double *y) {
    const double along = (by - 1.0) * (*x * o->flat_x + *y * o->flat_y);
    *x += along * o->flat_x;
    *y += along * o->flat_y;
}

void tl_report_outline_point(const tl_report_outline *outline, double angle_rad, double *x,
                             double *y) {
    double dx = outline->r * cos(angle_rad), dy = outline->r * sin(angle_rad);
    stretch(outline, outline->ratio, &dx, &dy);
    *x = outline->x + dx;
    *y = outline->y + dy;
}

double tl_report_outline_angle(const tl_report_outline *outline, double x, double y) {
    double dx = x - outline->x, dy = y - outline->y;
    stretch(outline, 1.0 / outline->ratio, &dx, &dy);
    return tl_angle_positive(atan2(dy, dx));
}

/* Before flattening both are circles: their common chord stands `along` from the Sun's centre. */
size_t tl_report_cusps(const tl_limb *limb, double xy[2][2]) {
    tl_report_outline sun, moon;
    if (!tl_report_outline_of(limb, TL_LIMB_SUN, &sun) ||
        !tl_report_outline_of(limb, TL_LIMB_MOON, &moon))
        return 0;
    double dx = moon.x - sun.x, dy = moon.y - sun.y;
    stretch(&sun, 1.0 / sun.ratio, &dx, &dy);
    const double apart = hypot(dx, dy);
    if (!(apart > 0.0) || apart > sun.r + moon.r || apart < fabs(sun.r - moon.r))
        return 0;
    const double along = (apart * apart + sun.r * sun.r - moon.r * moon.r) / (2.0 * apart);
    const double half_angle = acos(fmax(-1.0, fmin(1.0, along / sun.r)));
    const double towards = atan2(dy, dx);
    for (int k = 0; k < 2; k++)
        tl_report_outline_point(&sun, towards + (k == 0 ? -half_angle : half_angle), &xy[k][0],
                                &xy[k][1]);
    return 2;
}

/* The first and the last point kept in every step round a limb. */
typedef struct bins {
    bool hit[TL_REPORT_ARC_BINS];
    double first[TL_REPORT_ARC_BINS], last[TL_REPORT_ARC_BINS];
} bins;

static void fill_bins(const tl_limb *limb, int which, const tl_report_outline *outline, bins *b) {
    for (size_t i = 0; i < limb->edge_count; i++) {
        const tl_limb_edge *edge = &limb->edge[i];
        if (!edge->used || edge->limb != which)
            continue;
        const double angle = tl_report_outline_angle(outline, edge->x_px, edge->y_px);
        const int k = (int)(angle / (2.0 * TL_PI) * TL_REPORT_ARC_BINS) % TL_REPORT_ARC_BINS;
        b->first[k] = b->hit[k] ? fmin(b->first[k], angle) : angle;
        b->last[k] = b->hit[k] ? fmax(b->last[k], angle) : angle;
        b->hit[k] = true;
    }
}

size_t tl_report_arcs(const tl_limb *limb, int which, tl_report_arc arc[TL_REPORT_ARCS_MAX]) {
    tl_report_outline outline;
    bins b = {{false}, {0}, {0}};
    int start = 0;
    if (!tl_report_outline_of(limb, which, &outline))
        return 0;
    fill_bins(limb, which, &outline, &b);
    while (start < TL_REPORT_ARC_BINS && b.hit[start])
        start++;
    if (start == TL_REPORT_ARC_BINS) {
        arc[0] = (tl_report_arc){0.0, 2.0 * TL_PI};
        return 1;
    }
    size_t count = 0;
    bool open = false;
    for (int i = 1; i < TL_REPORT_ARC_BINS; i++) { /* once round, from an empty step */
        const int k = (start + i) % TL_REPORT_ARC_BINS;
        const double turn = k < start ? 2.0 * TL_PI : 0.0;
        if (b.hit[k] && !open)
            arc[count++].from_rad = b.first[k] + turn;
        if (b.hit[k])
            arc[count - 1].to_rad = b.last[k] + turn;
        open = b.hit[k];
    }
    return count;
}
