/*
 * labels.c - letters beside points, so that they do not lie on each other.
 *
 * One after the other, each takes the first place around its point that is free, else the one with
 * the least overlap: some hundred tries a label, good enough for a map of spots.
 */
#include <math.h>

#include "report/spots_internal.h"

enum { DIRECTIONS = 16, RINGS = 5 };
static const double GAP = 3.0, RING_STEP = 9.0, LETTER_GAP = 6.0; /* px */

static double overlap(const tl_report_box *a, const tl_report_box *b) {
    const double dx = a->half_width + b->half_width - fabs(a->x - b->x);
    const double dy = a->half_height + b->half_height - fabs(a->y - b->y);
    return dx > 0.0 && dy > 0.0 ? dx * dy : 0.0;
}

static tl_report_box point_box(const tl_report_label *label) {
    return (tl_report_box){label->x, label->y, label->radius, label->radius};
}

static double crowding(const tl_report_label *label, size_t count, size_t own,
                       const tl_report_box *at, const tl_report_box *taken, size_t taken_count) {
    double sum = 0.0;
    for (size_t k = 0; k < count; k++) {
        const tl_report_box point = point_box(&label[k]);
        sum += overlap(at, &point);
        if (k < own) { /* side by side two letters would read as one word */
            tl_report_box apart = label[k].box;
            apart.half_width += LETTER_GAP;
            sum += overlap(at, &apart);
        }
    }
    for (size_t k = 0; k < taken_count; k++)
        sum += overlap(at, &taken[k]);
    return sum;
}

/* From the middle of a point, in this direction, to where the box just clears it. */
static double reach(const tl_report_label *label, double c, double s) {
    const double across = fabs(c) > 1e-9 ? label->box.half_width / fabs(c) : INFINITY;
    const double along = fabs(s) > 1e-9 ? label->box.half_height / fabs(s) : INFINITY;
    return label->radius + GAP + fmin(across, along);
}

void tl_report_place_labels(tl_report_label *label, size_t count, const tl_report_box *taken,
                            size_t taken_count) {
    for (size_t i = 0; i < count; i++) {
        tl_report_box best = label[i].box;
        double least = INFINITY;
        bool far = false;
        for (int ring = 0; ring < RINGS && least > 0.0; ring++) {
            for (int k = 0; k < DIRECTIONS && least > 0.0; k++) {
                const double turn = 2.0 * TL_PI * k / DIRECTIONS - TL_PI / 4.0;
                const double c = cos(turn), s = sin(turn);
                const double out = reach(&label[i], c, s) + ring * RING_STEP;
                const tl_report_box at = {label[i].x + out * c, label[i].y + out * s,
                                          label[i].box.half_width, label[i].box.half_height};
                const double crowded = crowding(label, count, i, &at, taken, taken_count);
                if (crowded < least) {
                    least = crowded;
                    best = at;
                    far = ring > 0;
                }
            }
        }
        label[i].box = best;
        label[i].far = far;
    }
}
