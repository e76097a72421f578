/*
 * analyse_closeups.c - pictures of a spot as the Moon's limb comes and goes: cut from the frames
 * nearest in time, north up, at one scale.
 *
 * The pixels of a picture are gone once its circles are known; which cut-outs are wanted is known
 * only at the end of the series, so the few pictures concerned are read once more.
 */
#include <math.h>
#include <stdlib.h>

#include "analyse_steps.h"

enum {
    SIDE_PX = 200,   /* of a cut-out: two of them side by side fit a phone's screen */
    FRAMES_EACH = 2, /* before and after each covering and uncovering */
    SPOTS_MAX = 8,   /* the largest; of more nobody looks at the strips */
    SAMPLES_MAX = 6  /* along each side of a pixel, where the picture is finer than the cut-out */
};
/* What a cut-out spans: a large spot and the Moon's limb beside it. */
#define SIDE_LEAST_SR 0.32
#define SIDE_RADII 10.0

/* Wanted from one frame, or all of a sequence. */
typedef struct wanted {
    tl_closeup *item; /* owned */
    size_t count;
} wanted;

static bool can_show(const tl_sequence *sequence, size_t s, size_t i) {
    const tl_spot_sight *sight = tl_spots_sight(&sequence->spots, s, i);
    return sequence->track.frame[i].has_true && sight->has_place;
}

/* The frames next to an instant on one side of it, nearest first, into `near`; how many. */
static size_t nearest(const tl_sequence *sequence, size_t s, double t_utc_s, int side,
                      size_t near[FRAMES_EACH]) {
    size_t count = 0;
    for (size_t round = 0; round < FRAMES_EACH; round++) {
        double best = HUGE_VAL;
        size_t found = 0;
        for (size_t i = 0; i < sequence->count; i++) {
            const double apart = sequence->track.frame[i].true_utc_s - t_utc_s;
            bool had = false;
            for (size_t k = 0; k < count; k++)
                had = had || near[k] == i;
            if (had || !can_show(sequence, s, i) || (apart < 0.0) != (side == 0) ||
                fabs(apart) >= best)
                continue;
            best = fabs(apart);
            found = i;
        }
        if (!(best < HUGE_VAL))
            break;
        near[count++] = found;
    }
    return count;
}

/* Earliest first. */
static void add_wanted(const tl_sequence *sequence, size_t s, bool uncovering, wanted *list) {
    const tl_spot *spot = &sequence->spots.spot[s];
    const tl_spot_passage *passage = uncovering ? &spot->uncovered : &spot->covered;
    size_t before[FRAMES_EACH], after[FRAMES_EACH];
    if (!passage->occurs)
        return;
    const double t_s = passage->t_utc_s[TL_SPOT_CENTRE];
    const size_t earlier = nearest(sequence, s, t_s, 0, before);
    const size_t later = nearest(sequence, s, t_s, 1, after);
    const tl_closeup item = {.spot = s,
                             .uncovering = uncovering,
                             .side = SIDE_PX,
                             .side_sr = fmax(SIDE_LEAST_SR, SIDE_RADII * spot->radius_sr)};
    for (size_t k = 0; k < earlier + later; k++) {
        list->item[list->count] = item;
        list->item[list->count++].frame =
            k < earlier ? before[earlier - 1 - k] : after[k - earlier];
    }
}

/* Mean linear light of the picture over an output pixel, black outside it. */
static void sample(const tl_image *image, const tl_limb *limb, const tl_spot_turn *turn,
                   const tl_spot_sight *sight, double east, double north, double step, int samples,
                   uint16_t out[3]) {
    double sum[3] = {0.0};
    for (int k = 0; k < samples * samples; k++) {
        const double de = ((k % samples + 0.5) / samples - 0.5) * step;
        const double dn = ((k / samples + 0.5) / samples - 0.5) * step;
        double dx, dy, x, y;
        tl_frame_from_sky(turn->joint_up_pa_rad, turn->mirrored, east + de, north + dn, &dx, &dy);
        tl_spot_picture_from_disc(limb, sight->x_sr + dx, sight->y_sr + dy, &x, &y);
        x = tl_image_from_file(image, image->left, x);
        y = tl_image_from_file(image, image->top, y);
        const int x0 = (int)floor(x), y0 = (int)floor(y);
        if (x0 < 0 || y0 < 0 || x0 + 1 >= image->width || y0 + 1 >= image->height)
            continue;
        const double fx = x - x0, fy = y - y0;
        for (int ch = 0; ch < 3; ch++) {
            const int from = image->channels == 3 ? ch : 0;
            sum[ch] += (1.0 - fy) * ((1.0 - fx) * tl_image_light(image, x0, y0, from) +
                                     fx * tl_image_light(image, x0 + 1, y0, from)) +
                       fy * ((1.0 - fx) * tl_image_light(image, x0, y0 + 1, from) +
                             fx * tl_image_light(image, x0 + 1, y0 + 1, from));
        }
    }
    for (int ch = 0; ch < 3; ch++)
        out[ch] = (uint16_t)lrint(sum[ch] / (samples * samples));
}

static tl_status draw(const tl_image *image, const tl_sequence *sequence, tl_closeup *closeup) {
    const tl_limb *limb = &sequence->frame[closeup->frame].limb;
    const tl_spot_turn *turn = &sequence->spots.turn[closeup->frame];
    const tl_spot_sight *sight = tl_spots_sight(&sequence->spots, closeup->spot, closeup->frame);
    const double step = closeup->side_sr / closeup->side; /* sr per px of the cut-out */
    const int fine = (int)ceil(step * limb->circle[TL_SUN_R] / tl_image_scale(image));
    const int samples = fine < 1 ? 1 : fine > SAMPLES_MAX ? SAMPLES_MAX : fine;
    tl_image out = {.width = closeup->side, .height = closeup->side, .channels = 3};
    out.sample = malloc((size_t)(3 * closeup->side * closeup->side) * sizeof *out.sample);
    if (out.sample == NULL)
        return TL_ERR_MEMORY;
    for (int v = 0; v < closeup->side; v++)
        for (int u = 0; u < closeup->side; u++) {
            const double east = (0.5 * (closeup->side - 1) - u) * step; /* north up: east left */
            const double north = (0.5 * (closeup->side - 1) - v) * step;
            sample(image, limb, turn, sight, east, north, step, samples,
                   out.sample + 3 * (v * closeup->side + u));
        }
    tl_preview small = {0};
    const tl_status status =
        tl_preview_make(&out, -0.5, -0.5, out.width, out.height, closeup->side, &small);
    tl_image_free(&out);
    closeup->jpeg = small.jpeg; /* owned by the close-up from here on */
    closeup->size = small.size;
    return status;
}

/* What the threads share. */
typedef struct work {
    const tl_sequence *sequence;
    wanted *list;
} work;

/* All that is wanted of one frame; what cannot be read or held is left out. */
static void cut_frame(void *context, size_t i) {
    const work *w = context;
    tl_image image = {0};
    tl_frame_info info;
    bool read = false;
    for (size_t k = 0; k < w->list->count; k++) {
        tl_closeup *closeup = &w->list->item[k];
        if (closeup->frame != i)
            continue;
        if (!read && tl_frame_read(w->sequence->frame[i].path, &image, &info) != TL_OK)
            return;
        read = true;
        /* another picture by now? */
        if (info.width == w->sequence->frame[i].info.width &&
            info.height == w->sequence->frame[i].info.height &&
            info.orientation == w->sequence->frame[i].info.orientation)
            draw(&image, w->sequence, closeup);
    }
    tl_image_free(&image);
}

tl_status tl_analyse_closeups(tl_sequence *sequence, int jobs) {
    const size_t spots = sequence->spots.count < SPOTS_MAX ? sequence->spots.count : SPOTS_MAX;
    wanted list = {.item = calloc(spots * 4 * FRAMES_EACH + 1, sizeof *list.item)};
    if (list.item == NULL)
        return TL_ERR_MEMORY;
    for (size_t s = 0; s < spots; s++) {
        add_wanted(sequence, s, false, &list);
        add_wanted(sequence, s, true, &list);
    }
    work w = {.sequence = sequence, .list = &list};
    if (list.count > 0)
        tl_parallel(sequence->count, jobs, cut_frame, &w);
    for (size_t k = 0; k < list.count; k++)
        if (list.item[k].jpeg != NULL)
            list.item[sequence->closeup_count++] = list.item[k];
    sequence->closeup = list.item;
    return TL_OK;
}
