/*
 * analyse_spots.c - the glue to the spot stage: what it is told of each frame, and its coverings.
 */
#include <math.h>
#include <stdlib.h>

#include "analyse_steps.h"

/* For the rate of a position angle: short for an eclipse, long for the ephemeris' rounding. */
#define RATE_STEP_S 10.0

/* The almanac for a frame: at its true time; on both sides of maximum if it has none. */
static void add_skies(const tl_sequence *sequence, size_t i, tl_spot_frame_in *in) {
    const tl_track_frame *tracked = &sequence->track.frame[i];
    if (tracked->has_true) {
        tl_sky later;
        in->sky[0] = tracked->sky;
        in->sky_count = 1;
        if (tl_sky_at(&sequence->options.site, tracked->true_utc_s + RATE_STEP_S,
                      &sequence->options.sky, &later) == TL_OK)
            in->moon_pa_sigma_rad = tracked->true_sigma_s / RATE_STEP_S *
                                    fabs(tl_angle_signed(later.pa_rad - tracked->sky.pa_rad));
    } else if (!sequence->track.has_circumstances) {
        in->sky_count = tl_analyse_sky_at_estimate(sequence, i, &in->sky[0]) ? 1 : 0;
    } else if (tracked->has_sides) {
        for (size_t side = 0; side < 2; side++)
            if (tl_sky_at(&sequence->options.site, tracked->side_utc_s[side],
                          &sequence->options.sky, &in->sky[side]) != TL_OK)
                return;
        in->sky_count = 2;
    }
}

static tl_spot_frame_in spot_input(tl_sequence *sequence, size_t i) {
    tl_sequence_frame *frame = &sequence->frame[i];
    tl_spot_frame_in in = {
        .camera = frame->camera,
        .width = frame->info.width,
        .height = frame->info.height,
        .limb = &frame->limb,
        .marks = &frame->marks,
        .in_track = frame->limb.status == TL_LIMB_MEASURED && !frame->excluded &&
                    !sequence->track.frame[i].outlier,
        .mirror = frame->camera < sequence->track.camera_count
                      ? sequence->track.camera[frame->camera].mirrored
                      : TL_MIRROR_AUTO,
    };
    add_skies(sequence, i, &in);
    return in;
}

/* When places hold: at the maximum; at the picture nearest to it where only pictures tell. */
static void set_epoch(const tl_sequence *sequence, const tl_spot_frame_in *in,
                      tl_spot_options *options) {
    const tl_track *track = &sequence->track;
    if (track->has_circumstances) {
        options->epoch_utc_s = track->circumstances.contact[TL_MAX].t_utc_s;
        tl_sky_at(&sequence->options.site, options->epoch_utc_s, &sequence->options.sky,
                  &options->epoch_sky); /* cannot fail: the circumstances are there */
        return;
    }
    double least = HUGE_VAL;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_sky *sky = &in[i].sky[0];
        if (in[i].sky_count != 1 || !in[i].in_track || sky->separation_sr >= least)
            continue;
        least = sky->separation_sr;
        options->epoch_utc_s = sky->t_utc_s;
        options->epoch_sky = *sky;
    }
}

/* How far a place typed in may be off: the nearest larger town (common practice, no source). GPS is
 * good to some metres. */
#define SITE_TYPED_M 30000.0
/* Mean distance of the Moon over the Sun's mean apparent radius (384,400 km, 959.63 arcsec): metres
 * sideways that shift the Moon by a solar radius. */
#define METRES_PER_SR (3.844e8 * 959.63 * TL_ARCSEC)

static double moon_sigma_sr(const tl_sequence *sequence) {
    switch (sequence->options.site.source) {
    case TL_SITE_GIVEN:
        return SITE_TYPED_M / METRES_PER_SR;
    case TL_SITE_EXIF:
        return 0.0;
    default:
        return sequence->track.place_count > 0 ? sequence->track.place[0].along_m / METRES_PER_SR
                                               : 0.0;
    }
}

tl_status tl_analyse_follow(tl_sequence *sequence, const tl_spot_list *known) {
    tl_spot_options options = {.mirror = sequence->options.mirror,
                               .moon_sigma_sr = moon_sigma_sr(sequence),
                               .known = known};
    tl_spot_frame_in *in = calloc(sequence->count + 1, sizeof *in);
    if (in == NULL)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < sequence->count; i++)
        in[i] = spot_input(sequence, i);
    set_epoch(sequence, in, &options);
    tl_spots spots;
    const tl_status status = tl_spots_follow(in, sequence->count, &options, &spots);
    free(in);
    if (status == TL_OK) {
        tl_spots_free(&sequence->spots);
        sequence->spots = spots;
    }
    return status;
}

/* The frames of use nearest to an instant, before and after. */
static void find_near(const tl_sequence *sequence, size_t s, tl_spot_passage *passage) {
    double best[2] = {HUGE_VAL, HUGE_VAL};
    const double t_s = passage->t_utc_s[TL_SPOT_CENTRE];
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_track_frame *tracked = &sequence->track.frame[i];
        if (!tracked->has_true || !tl_spots_sight(&sequence->spots, s, i)->has_place)
            continue;
        const int side = tracked->true_utc_s < t_s ? 0 : 1;
        const double apart = fabs(tracked->true_utc_s - t_s);
        if (apart < best[side]) {
            best[side] = apart;
            passage->has_near[side] = true;
            passage->near[side] = i;
        }
    }
}

tl_status tl_analyse_coverings(tl_sequence *sequence) {
    if (!sequence->track.has_circumstances)
        return TL_OK;
    for (size_t s = 0; s < sequence->spots.count; s++) {
        tl_spot *spot = &sequence->spots.spot[s];
        const tl_status status = tl_spot_cover(&sequence->options.site, &sequence->options.sky,
                                               &sequence->track.circumstances, spot);
        if (status == TL_ERR_MEMORY)
            return status;
        if (status != TL_OK)
            continue; /* the spot stands without times */
        if (spot->covered.occurs)
            find_near(sequence, s, &spot->covered);
        if (spot->uncovered.occurs)
            find_near(sequence, s, &spot->uncovered);
    }
    return TL_OK;
}
