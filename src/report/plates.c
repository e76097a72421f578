/*
 * plates.c - which photographs can be put right, in order of time, and how each is turned.
 */
#include <math.h>
#include <stdlib.h>

#include "report/plate_internal.h"

static bool same_disc(const tl_limb *limb) {
    return (limb->status == TL_LIMB_MEASURED || limb->status == TL_LIMB_SUN_ONLY) &&
           limb->circle[TL_SUN_R] > 0.0;
}

static void set_turn(const tl_sequence *sequence, tl_report_plate *plate) {
    const tl_track_frame *tracked = tl_report_track_frame(sequence, plate->frame);
    const tl_mirror mirrored = tl_report_camera_of(sequence, plate->frame)->mirrored;
    plate->turned = TL_REPORT_AS_TAKEN;
    if (!tracked->has_turn)
        return;
    plate->turned = tracked->mirror_known || mirrored != TL_MIRROR_AUTO ? TL_REPORT_TURNED
                                                                        : TL_REPORT_HAND_OPEN;
    plate->up_pa_rad = tracked->up_pa_rad;
    plate->mirrored = tracked->mirror_known ? tracked->mirrored : mirrored == TL_MIRROR_YES;
    plate->has_zenith = tracked->has_true;
    plate->zenith_pa_rad = tracked->sky.parallactic_rad;
}

static void set_time(const tl_sequence *sequence, bool utc, tl_report_plate *plate) {
    const tl_track_frame *tracked = tl_report_track_frame(sequence, plate->frame);
    const tl_camera_time *time = &sequence->frame[plate->frame].info.time;
    plate->timed = utc ? tracked->has_true
                       : time->source != TL_TIME_NONE &&
                             sequence->frame[plate->frame].camera == sequence->track.main_camera;
    plate->t_s = utc ? tracked->true_utc_s : time->t_camera_s;
}

static int by_time(const void *a, const void *b) {
    const tl_report_plate *p = a, *q = b;
    if (p->timed != q->timed)
        return p->timed ? -1 : 1;
    if (p->timed && p->t_s != q->t_s)
        return p->t_s < q->t_s ? -1 : 1;
    return (p->frame > q->frame) - (p->frame < q->frame);
}

tl_status tl_report_plates_make(const tl_sequence *sequence, tl_report_plates *plates) {
    tl_report_plates made = {.item = calloc(sequence->count + 1, sizeof *made.item)};
    if (!made.item)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < sequence->count; i++)
        made.utc = made.utc || tl_report_track_frame(sequence, i)->has_true;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_sequence_frame *frame = &sequence->frame[i];
        tl_report_plate plate = {.frame = i};
        if (!same_disc(&frame->limb) || frame->preview.size == 0 ||
            tl_report_other_day(sequence, i))
            continue;
        set_turn(sequence, &plate);
        set_time(sequence, made.utc, &plate);
        plate.doubtful = tl_report_is_outlier(sequence, i) || frame->excluded;
        made.turned_count += plate.turned != TL_REPORT_AS_TAKEN;
        made.zenith_count += plate.has_zenith;
        made.item[made.count++] = plate;
    }
    qsort(made.item, made.count, sizeof *made.item, by_time);
    *plates = made;
    return TL_OK;
}

void tl_report_plates_free(tl_report_plates *plates) {
    free(plates->item);
    *plates = (tl_report_plates){0};
}

/* PA of what is up on the plate. */
static double up_of(const tl_report_plate *plate, tl_report_up up) {
    return up == TL_REPORT_ZENITH_UP && plate->has_zenith ? plate->zenith_pa_rad : 0.0;
}

bool tl_report_plate_from_sky(const tl_report_plate *plate, tl_report_up up, double east,
                              double north, double *x, double *y) {
    if (plate->turned == TL_REPORT_AS_TAKEN)
        return false;
    tl_frame_from_sky(up_of(plate, up), false, east, north, x, y);
    return true;
}

void tl_report_plate_to_frame(const tl_report_plate *plate, tl_report_up up, double x, double y,
                              double *frame_x, double *frame_y) {
    double east, north;
    *frame_x = x;
    *frame_y = y;
    if (plate->turned == TL_REPORT_AS_TAKEN)
        return;
    tl_sky_from_frame(up_of(plate, up), false, x, y, &east, &north);
    tl_frame_from_sky(plate->up_pa_rad, plate->mirrored, east, north, frame_x, frame_y);
}

void tl_report_plate_to_preview(const tl_sequence *sequence, const tl_report_plate *plate,
                                tl_report_up up, double x_sr, double y_sr, double *x, double *y) {
    const tl_sequence_frame *frame = &sequence->frame[plate->frame];
    double frame_x, frame_y, x_px, y_px;
    tl_report_plate_to_frame(plate, up, x_sr, y_sr, &frame_x, &frame_y);
    tl_spot_picture_from_disc(&frame->limb, frame_x, frame_y, &x_px, &y_px);
    *x = (x_px - frame->preview.x0_px) * frame->preview.scale;
    *y = (y_px - frame->preview.y0_px) * frame->preview.scale;
}

bool tl_report_plate_moon(const tl_report_source *source, const tl_report_plate *plate,
                          tl_report_up up, double *x_sr, double *y_sr, double *ratio) {
    const tl_limb *limb = &source->sequence->frame[plate->frame].limb;
    const double known = source->sequence->track.ratio;
    if (limb->status != TL_LIMB_MEASURED || !(limb->circle[TL_SUN_R] > 0.0))
        return false;
    *x_sr = limb->offset_x_sr;
    *y_sr = limb->offset_y_sr;
    *ratio = known > 0.0 ? known : limb->circle[TL_MOON_R] / limb->circle[TL_SUN_R];
    if (plate->turned != TL_REPORT_AS_TAKEN) {
        double east, north;
        tl_sky_from_frame(plate->up_pa_rad, plate->mirrored, limb->offset_x_sr, limb->offset_y_sr,
                          &east, &north);
        tl_report_plate_from_sky(plate, up, east, north, x_sr, y_sr);
    }
    return true;
}

static bool can_show(const tl_report_plate *plate, tl_report_up up) {
    return up == TL_REPORT_NORTH_UP || plate->has_zenith;
}

/* The plate that can be shown so and lies nearest to an instant. */
static size_t nearest(const tl_report_plates *plates, tl_report_up up, double t_s) {
    size_t best = plates->count;
    for (size_t k = 0; k < plates->count; k++) {
        const tl_report_plate *plate = &plates->item[k];
        if (can_show(plate, up) && plate->timed &&
            (best == plates->count || fabs(plate->t_s - t_s) < fabs(plates->item[best].t_s - t_s)))
            best = k;
    }
    return best;
}

size_t tl_report_plates_spread(const tl_report_plates *plates, tl_report_up up, size_t wanted,
                               size_t *chosen) {
    size_t able = 0, first = plates->count, last = 0, count = 0;
    for (size_t k = 0; k < plates->count; k++) {
        if (!can_show(&plates->item[k], up))
            continue;
        if (able < wanted)
            chosen[able] = k;
        able++;
        if (plates->item[k].timed) {
            first = first == plates->count ? k : first;
            last = k;
        }
    }
    if (able <= wanted || wanted < 2 || first == plates->count)
        return able < wanted ? able : wanted;
    const double from = plates->item[first].t_s, to = plates->item[last].t_s;
    for (size_t n = 0; n < wanted; n++) {
        const size_t k = nearest(plates, up, from + (to - from) * (double)n / (double)(wanted - 1));
        if (k < plates->count && (count == 0 || chosen[count - 1] != k))
            chosen[count++] = k;
    }
    return count;
}
