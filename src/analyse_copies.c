/*
 * analyse_copies.c - the same picture saved more than once: one of them is used.
 *
 * A copy may be smaller or compressed anew, and have lost what the camera wrote into it; two
 * exposures of the same second must not be taken for one. So times and circles only say which
 * pictures could be one; the Moon, which moves, and the grain decide.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "analyse_steps.h"
#include "frame/frame_internal.h"

/* Grain in common from which on two pictures are one. Frames of the same size may both be the
 * camera's own, and its sensor's fixed pattern and their compression give them some in common; of
 * different sizes one has been through a program. Copies at quality 80 and the same size have 0.5
 * to 0.9, at quality 70 and half the size 0.4 to 0.8; other pictures with noise of 1 % 0.0, with
 * next to none 0.6 and 0.5 (measured on photographs and on pictures of `twolimb simulate`). */
#define GRAIN_SAME_SIZE 0.7
#define GRAIN_OTHER_SIZE 0.4
#define GRAIN_SAME_INSTANT 0.1
/* Solar radii: the least way of the Moon in a second, at the lower end of its speed. */
#define SECOND_SR 4e-4
#define MOVED_SIGMAS 2.0
/* px: copies of one instant are off by half as much at most, by their compression. */
#define MOVED_PX 0.05
/* How well the Sun agrees in place and size, px of the coarser picture and of its radius. */
#define PLACE_PX 1.5
#define PLACE_RADII 0.005
/* How well the Moon does, solar radii: half a minute of its way, and its error. */
#define MOON_SR 0.02
#define MOON_SIGMAS 4.0
/* s; times from EXIF that differ by less are the same. */
#define INSTANT_S 0.0005
/* Looks at the pixels of two pictures, of each picture with those that fit it best: without times,
 * on a mount that follows, all may fit. */
enum { LOOKS = 3 };

static bool has_circles(const tl_sequence_frame *frame) {
    return !frame->is_copy &&
           (frame->limb.status == TL_LIMB_MEASURED || frame->limb.status == TL_LIMB_SUN_ONLY);
}

/* From a clock, not from what a name says, which may be that of the copying. */
static bool is_stamped(const tl_camera_time *time) {
    return time->source == TL_TIME_TABLE || time->source == TL_TIME_EXIF_SUBSEC ||
           time->source == TL_TIME_EXIF;
}

/* Copies that lost the fractions keep the second, which is read as its middle. */
static bool times_agree(const tl_camera_time *a, const tl_camera_time *b) {
    if (!is_stamped(a) || !is_stamped(b))
        return true;
    const double apart_s = fabs(a->t_camera_s - b->t_camera_s);
    return a->source == b->source ? apart_s < INSTANT_S : apart_s <= 0.5 + INSTANT_S;
}

static bool cameras_agree(const tl_frame_info *a, const tl_frame_info *b) {
    const bool known = a->model[0] != '\0' && b->model[0] != '\0';
    return !known ||
           (strcmp(a->make, b->make) == 0 && strcmp(a->model, b->model) == 0 &&
            (a->serial[0] == '\0' || b->serial[0] == '\0' || strcmp(a->serial, b->serial) == 0));
}

/* A fraction of a second that the camera took the trouble to count. */
static bool same_instant(const tl_frame_info *a, const tl_frame_info *b) {
    return a->time.source == TL_TIME_EXIF_SUBSEC && b->time.source == TL_TIME_EXIF_SUBSEC &&
           fabs(a->time.t_camera_s - round(a->time.t_camera_s)) > INSTANT_S;
}

/* How far the Sun is from where it would be in a copy, px of the coarser picture; a negative number
 * if the two cannot be one. */
static double misplaced(const tl_sequence_frame *fine, const tl_sequence_frame *coarse) {
    const double scale = (double)fine->info.width / coarse->info.width;
    const double *a = fine->limb.circle, *b = coarse->limb.circle;
    const tl_limb *la = &fine->limb, *lb = &coarse->limb;
    if (scale < 1.0 || fabs(fine->info.height / scale - coarse->info.height) > 1.0)
        return -1.0;
    const double x = (a[TL_SUN_X] + 0.5) / scale - 0.5, y = (a[TL_SUN_Y] + 0.5) / scale - 0.5;
    const double off = fmax(fmax(fabs(x - b[TL_SUN_X]), fabs(y - b[TL_SUN_Y])),
                            fabs(a[TL_SUN_R] / scale - b[TL_SUN_R]));
    if (!(off <= PLACE_PX + PLACE_RADII * b[TL_SUN_R]))
        return -1.0;
    const bool moons = la->status == TL_LIMB_MEASURED && lb->status == TL_LIMB_MEASURED;
    const double moved_sr =
        hypot(la->offset_x_sr - lb->offset_x_sr, la->offset_y_sr - lb->offset_y_sr);
    const double sigma_sr = hypot(la->separation_sigma_sr, lb->separation_sigma_sr);
    return moons && moved_sr > MOON_SR + MOON_SIGMAS * sigma_sr ? -1.0 : off;
}

/* The camera says so; the pixels must not speak against it. */
static bool is_same_shot(const tl_likeness *likeness, bool same_size) {
    const bool moved =
        likeness->moved_known &&
        likeness->moved_px > MOVED_PX + 2.0 * MOVED_SIGMAS * likeness->moved_sigma_px;
    return !moved && (!same_size || !likeness->known || likeness->grain > GRAIN_SAME_INSTANT);
}

/* The pixels alone: it must be sure that the Moon has not moved for a second. */
static bool is_same_picture(const tl_sequence_frame *fine, const tl_sequence_frame *coarse) {
    const tl_likeness likeness = tl_analyse_likeness(fine, coarse);
    const bool same_size = fine->info.width == coarse->info.width;
    if (same_instant(&fine->info, &coarse->info))
        return is_same_shot(&likeness, same_size);
    return likeness.grain > (same_size ? GRAIN_SAME_SIZE : GRAIN_OTHER_SIZE) &&
           likeness.moved_known &&
           likeness.moved_px + MOVED_SIGMAS * likeness.moved_sigma_px <
               SECOND_SR * likeness.sun_r_px;
}

/* A picture, and the size of its file in bytes. */
typedef struct rated {
    tl_sequence_frame *frame;
    off_t bytes;
} rated;

/* The best first: with a time, with more pixels, with more said by the camera, less compressed. One
 * that the user excludes goes before all, so that its picture has no say through a copy of it. */
static int compare_worth(const rated *one, const rated *other) {
    const tl_sequence_frame *a = one->frame, *b = other->frame;
    const tl_time_source in_a = a->info.time.source, in_b = b->info.time.source;
    if (a->excluded != b->excluded)
        return a->excluded ? -1 : 1;
    if ((in_a == TL_TIME_NONE) != (in_b == TL_TIME_NONE))
        return in_a == TL_TIME_NONE ? 1 : -1;
    if (a->info.width != b->info.width)
        return a->info.width > b->info.width ? -1 : 1;
    if (in_a != in_b) /* in their order of trust */
        return in_a < in_b ? -1 : 1;
    if ((a->info.site.source == TL_SITE_NONE) != (b->info.site.source == TL_SITE_NONE))
        return a->info.site.source == TL_SITE_NONE ? 1 : -1;
    if (one->bytes != other->bytes)
        return one->bytes > other->bytes ? -1 : 1;
    const size_t long_a = strlen(tl_frame_base_name(a->path));
    const size_t long_b = strlen(tl_frame_base_name(b->path));
    return (long_a > long_b) - (long_a < long_b);
}

static int by_worth(const void *one, const void *other) {
    const rated *a = one, *b = other;
    const int order = compare_worth(a, b);
    return order != 0 ? order : (a->frame > b->frame) - (a->frame < b->frame);
}

/* The pictures that `frame` may be a copy of, those that fit best. */
typedef struct candidates {
    const tl_sequence_frame *frame[LOOKS];
    double off[LOOKS];
    int count;
} candidates;

static void consider(candidates *c, const tl_sequence_frame *other, double off) {
    int place = c->count < LOOKS ? c->count++ : LOOKS;
    while (place > 0 && off < c->off[place - 1]) {
        if (place < LOOKS) {
            c->frame[place] = c->frame[place - 1];
            c->off[place] = c->off[place - 1];
        }
        place--;
    }
    if (place < LOOKS) {
        c->frame[place] = other;
        c->off[place] = off;
    }
}

/* Of `count` pictures worth more, the one that this is a copy of; NULL: of none. */
static const tl_sequence_frame *original_of(const rated *better, size_t count,
                                            const tl_sequence_frame *frame) {
    candidates c = {0};
    for (size_t i = 0; i < count; i++) {
        const tl_sequence_frame *other = better[i].frame;
        if (other->is_copy || !times_agree(&other->info.time, &frame->info.time) ||
            !cameras_agree(&other->info, &frame->info))
            continue;
        const bool finer = other->info.width >= frame->info.width;
        const double off = misplaced(finer ? other : frame, finer ? frame : other);
        if (off >= 0.0)
            consider(&c, other, off);
    }
    for (int i = 0; i < c.count; i++) {
        const bool finer = c.frame[i]->info.width >= frame->info.width;
        if (is_same_picture(finer ? c.frame[i] : frame, finer ? frame : c.frame[i]))
            return c.frame[i];
    }
    return NULL;
}

/* The row of a copy: what the file says, and that another one is used. */
static void tell_copy(tl_sequence *sequence, tl_sequence_frame *frame) {
    const tl_sequence_frame *used = &sequence->frame[frame->copy_of];
    if (frame->info.width == 0) /* of the same bytes, so not read */
        frame->info = used->info;
    const bool good = has_circles(used);
    const char *fate = !good ? "." : used->excluded ? ", which is excluded." : ", which is used.";
    tl_limb_free(&frame->limb);
    tl_spot_marks_free(&frame->marks);
    tl_details_free(frame->detail);
    frame->limb = (tl_limb){.status = good ? TL_LIMB_UNUSABLE : used->limb.status};
    frame->marks = (tl_spot_marks){0};
    snprintf(frame->limb.reason, sizeof frame->limb.reason, "A copy of %.100s%s",
             tl_frame_base_name(used->path), fate);
}

tl_status tl_analyse_same_picture(tl_sequence *sequence) {
    rated *order = malloc((sequence->count + 1) * sizeof *order);
    size_t count = 0;
    if (order == NULL)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < sequence->count; i++) {
        tl_sequence_frame *frame = &sequence->frame[i];
        struct stat about;
        if (has_circles(frame))
            order[count++] = (rated){frame, stat(frame->path, &about) == 0 ? about.st_size : 0};
    }
    qsort(order, count, sizeof *order, by_worth);
    for (size_t k = 1; k < count; k++) {
        const tl_sequence_frame *original = original_of(order, k, order[k].frame);
        order[k].frame->is_copy = original != NULL;
        order[k].frame->copy_of = original != NULL ? (size_t)(original - sequence->frame) : 0;
    }
    for (size_t i = 0; i < sequence->count; i++) {
        tl_sequence_frame *frame = &sequence->frame[i];
        /* What the same bytes are a copy of may itself be one. */
        while (frame->is_copy && sequence->frame[frame->copy_of].is_copy)
            frame->copy_of = sequence->frame[frame->copy_of].copy_of;
        if (frame->is_copy)
            tell_copy(sequence, frame);
    }
    free(order);
    return TL_OK;
}
