/*
 * analyse_steps.c - the glue between the stages.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>

#include "analyse_steps.h"

/* The preview reaches out to where the corona's inner part and a ghost image would be. */
#define PREVIEW_RADII 1.6
/* Round a refused Sun more is shown: the reason may lie beside it. */
#define REFUSED_RADII 4.0
/* What was refused and smaller than this share of the picture may be anything: all of it is shown.
 */
#define REFUSED_SHARE 0.3
/* px; a screen's height, and what a word under it needs at least. */
enum { PREVIEW_MAX_SIDE = 1280, PREVIEW_MIN_SIDE = 200 };
/* All small pictures of a series together, bytes: the page, which holds them, is to stay below
 * 25 MB however many there are. */
#define PREVIEWS_BYTES 12e6

/* The Moon/Sun ratio follows from the almanac to 1e-4; the edge of the mean lunar limb, with its
 * relief, to about twice that. */
#define RATIO_SIGMA 2e-4

tl_status tl_analyse_frames(const tl_file_list *files, tl_sequence *sequence) {
    tl_sequence_frame *frame = calloc(files->count > 0 ? files->count : 1, sizeof *frame);
    if (frame == NULL)
        return TL_ERR_MEMORY;
    sequence->frame = frame;
    sequence->count = files->count;
    for (size_t i = 0; i < files->count; i++) {
        frame[i].info.orientation = 1; /* also for what cannot be read */
        frame[i].path = strdup(files->path[i]);
        if (frame[i].path == NULL) {
            tl_sequence_free(sequence);
            return TL_ERR_MEMORY;
        }
    }
    for (int kind = 0; kind < TL_PASSED_KINDS; kind++) {
        const tl_passed *passed = &files->passed[kind];
        if (passed->count == 0)
            continue;
        sequence->passed[kind] = (tl_passed){passed->count, strdup(passed->first)};
        if (sequence->passed[kind].first == NULL) {
            tl_sequence_free(sequence);
            return TL_ERR_MEMORY;
        }
    }
    return TL_OK;
}

/* Pixels whose centres lie in [x0, x1) x [y0, y1). */
typedef struct part {
    double x0, y0, x1, y1;
} part;

static part part_shown(const tl_image *image, const tl_limb *limb) {
    const double *circle = limb->circle;
    const bool found = limb->status == TL_LIMB_MEASURED || limb->status == TL_LIMB_SUN_ONLY;
    const double reach = (found ? PREVIEW_RADII : REFUSED_RADII) * circle[TL_SUN_R];
    const double scale = tl_image_scale(image);
    const double width = scale * image->width, height = scale * image->height;
    const double least = found ? 0.0 : 0.5 * REFUSED_SHARE * fmax(width, height);
    if (!(reach > least)) /* all there is of it */
        return (part){-HUGE_VAL, -HUGE_VAL, HUGE_VAL, HUGE_VAL};
    return (part){circle[TL_SUN_X] - reach, circle[TL_SUN_Y] - reach, circle[TL_SUN_X] + reach,
                  circle[TL_SUN_Y] + reach};
}

void tl_analyse_preview(const tl_image *image, const tl_image *finest, size_t count,
                        tl_sequence_frame *frame) {
    const part shown = part_shown(image, &frame->limb);
    const double most = PREVIEWS_BYTES / (double)count;
    int side = PREVIEW_MAX_SIDE;
    tl_details_make(finest, &frame->limb, frame->detail);
    while (tl_preview_make(image, shown.x0, shown.y0, shown.x1, shown.y1, side, &frame->preview) ==
               TL_OK &&
           (double)frame->preview.size > most && side > PREVIEW_MIN_SIDE) {
        /* bytes go with the pixels, of which a picture smaller than asked for has no more */
        const int longer = frame->preview.width > frame->preview.height ? frame->preview.width
                                                                        : frame->preview.height;
        side = (int)(0.95 * longer * sqrt(most / (double)frame->preview.size));
        side = side < PREVIEW_MIN_SIDE ? PREVIEW_MIN_SIDE : side;
        tl_preview_free(&frame->preview);
    }
}

void tl_analyse_cut_short(tl_sequence_frame *frame) {
    char *reason = frame->limb.reason;
    const size_t used = strlen(reason);
    if (frame->info.rows_missing > 0)
        snprintf(reason + used, sizeof frame->limb.reason - used,
                 "%sthe file is cut short (%d rows are missing): copy it again from the camera",
                 used > 0 ? "; " : "", frame->info.rows_missing);
}

void tl_analyse_camera_time(const tl_times *times, tl_sequence_frame *frame) {
    if (times != NULL && tl_times_find(times, frame->path, &frame->info.time))
        return;
    if (frame->info.time.source == TL_TIME_NONE)
        tl_frame_time_from_name(frame->path, &frame->info.time);
}

/* Sorts `value`. */
static double median(double *value, size_t count) {
    gsl_sort(value, 1, count);
    return gsl_stats_median_from_sorted_data(value, 1, count);
}

tl_status tl_analyse_site(const tl_sequence *sequence, tl_site *site) {
    double *value = malloc(3 * (sequence->count + 1) * sizeof *value);
    if (value == NULL)
        return TL_ERR_MEMORY;
    double *lat = value, *lon = lat + sequence->count, *height = lon + sequence->count;
    const bool any_sun = tl_sequence_any_sun(sequence);
    double first_lon = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_site *place = &sequence->frame[i].info.site;
        if (place->source == TL_SITE_NONE || (any_sun && !tl_sequence_shows_sun(sequence, i)))
            continue;
        if (n == 0)
            first_lon = place->lon_rad;
        lat[n] = place->lat_rad;
        lon[n] = tl_angle_signed(place->lon_rad - first_lon); /* so the date line splits nothing */
        height[n] = place->height_m;
        n++;
    }
    if (n > 0)
        *site = (tl_site){TL_SITE_EXIF, median(lat, n), tl_angle_signed(first_lon + median(lon, n)),
                          median(height, n)};
    free(value);
    return TL_OK;
}

static tl_track_frame_in track_input(const tl_sequence *sequence, size_t i) {
    const tl_sequence_frame *frame = &sequence->frame[i];
    const tl_track_options *options = &sequence->options;
    const tl_camera_time *time = &frame->info.time;
    /* --zone overrides what EXIF says of the camera's zone; a file name in UTC is in UTC, and a
     * zone in the table of times was given for that very time. */
    const bool from_exif = time->source == TL_TIME_EXIF || time->source == TL_TIME_EXIF_SUBSEC;
    const bool overridden = options->zone_given && from_exif;
    const tl_limb *limb = &frame->limb;
    tl_track_frame_in in = {
        .camera = frame->camera, /* beyond the list: the track takes it as not timed */
        .timed = time->source != TL_TIME_NONE,
        .t_camera_s = time->t_camera_s,
        .t_sigma_s = time->sigma_s,
        .zone_known = time->zone_known && !overridden,
        .zone_minutes = time->zone_minutes,
        .measured = limb->status == TL_LIMB_MEASURED && !frame->excluded,
    };
    if (in.measured) {
        in.separation_sr = limb->separation_sr;
        in.separation_sigma_sr = limb->separation_sigma_sr;
        in.offset_x_sr = limb->offset_x_sr;
        in.offset_y_sr = limb->offset_y_sr;
        in.offset_xx = limb->offset_xx;
        in.offset_xy = limb->offset_xy;
        in.offset_yy = limb->offset_yy;
        in.ratio_raw = limb->ratio_raw;
        in.ratio_raw_sigma = limb->ratio_raw_sigma;
    }
    if (i < sequence->spots.frame_count && sequence->spots.turn[i].has_turn) {
        const tl_spot_turn *turn = &sequence->spots.turn[i];
        in.has_compass = true;
        in.compass_mirrored = turn->mirrored;
        in.compass_up_rad = turn->up_pa_rad;
        in.compass_sigma_rad = turn->sigma_rad;
    }
    return in;
}

/* What the track says of the frames it sees, for one that it was not shown. */
static void judge_excluded(const tl_sequence_frame *frame, const tl_track *track,
                           tl_track_frame *tracked) {
    const double separation_sr = frame->limb.separation_sr;
    const double ratio = tracked->has_true ? tracked->sky.ratio : track->ratio;
    if (ratio > 0.0) {
        tracked->magnitude = tl_magnitude(separation_sr, ratio);
        tracked->obscuration = tl_obscuration(separation_sr, ratio);
    }
    if (tracked->has_true)
        tracked->residual_sr = separation_sr - tracked->sky.separation_sr;
}

static void judge_all_excluded(const tl_sequence *sequence, tl_track *track) {
    size_t excluded = 0;
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_sequence_frame *frame = &sequence->frame[i];
        if (!frame->excluded || frame->limb.status != TL_LIMB_MEASURED)
            continue;
        judge_excluded(frame, track, &track->frame[i]);
        excluded++;
    }
    if (excluded > 0 && excluded == tl_sequence_count(sequence, TL_LIMB_MEASURED))
        snprintf(track->note, sizeof track->note,
                 "All measured pictures are excluded, so there is nothing to time: name fewer "
                 "with --exclude.");
}

tl_status tl_analyse_solve(tl_sequence *sequence) {
    tl_track_frame_in *in = calloc(sequence->count > 0 ? sequence->count : 1, sizeof *in);
    if (in == NULL)
        return TL_ERR_MEMORY;
    for (size_t i = 0; i < sequence->count; i++)
        in[i] = track_input(sequence, i);
    tl_track track = {0};
    const tl_status status = tl_track_solve(in, sequence->count, &sequence->options, &track);
    free(in);
    if (status == TL_OK)
        judge_all_excluded(sequence, &track);
    if (status == TL_OK) {
        tl_track_free(&sequence->track);
        sequence->track = track;
    }
    return status;
}

/* What the almanac knows of a frame whose true time is known. */
static tl_limb_prior prior_of(const tl_track_frame *frame) {
    const tl_sky *sky = &frame->sky;
    tl_limb_prior prior = {.ratio = sky->ratio, .ratio_sigma = RATIO_SIGMA * sky->ratio};
    if (frame->has_turn) {
        /* Where the mirror is not determined the turn holds for a frame that is not mirrored. The
         * flattening along the line of centres, the part that matters, is then the same. */
        prior.flattening = sky->flattening;
        tl_frame_from_sky(frame->up_pa_rad, frame->mirrored, sin(sky->parallactic_rad),
                          cos(sky->parallactic_rad), &prior.zenith_x, &prior.zenith_y);
    }
    return prior;
}

bool tl_analyse_sky_at_estimate(const tl_sequence *sequence, size_t i, tl_sky *sky) {
    const tl_track_options *options = &sequence->options;
    const tl_track_place *place = &sequence->track.place[0];
    const tl_camera_time *time = &sequence->frame[i].info.time;
    const bool known = time->zone_known && !options->zone_given;
    if (sequence->track.place_count == 0 || time->source == TL_TIME_NONE ||
        !(known || options->zone_given))
        return false;
    const tl_site site = {
        .source = TL_SITE_GIVEN, .lat_rad = place->lat_rad, .lon_rad = place->lon_rad};
    const double day_s = floor(time->t_camera_s / TL_DAY_S) * TL_DAY_S;
    const double t_s = (options->date_given ? options->date_utc_s : day_s) + time->t_camera_s -
                       day_s - 60.0 * (known ? time->zone_minutes : options->zone_minutes);
    return tl_sky_at(&site, t_s, &options->sky, sky) == TL_OK;
}

/* The ratio where the place was estimated; no prior where there is none. A place that is off by its
 * sigma changes the Moon's distance by as much at most. */
static tl_limb_prior prior_at_estimate(const tl_sequence *sequence, size_t i) {
    tl_sky sky;
    if (!tl_analyse_sky_at_estimate(sequence, i, &sky))
        return (tl_limb_prior){0};
    const double distance = sequence->track.place[0].along_m / (1000.0 * sky.moon_distance_km);
    return (tl_limb_prior){.ratio = sky.ratio,
                           .ratio_sigma = sky.ratio * hypot(RATIO_SIGMA, distance)};
}

tl_status tl_analyse_refit(tl_sequence *sequence) {
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_track_frame *timed = &sequence->track.frame[i];
        if (sequence->frame[i].limb.status != TL_LIMB_MEASURED)
            continue;
        const tl_limb_prior prior =
            timed->has_true ? prior_of(timed) : prior_at_estimate(sequence, i);
        if (!(prior.ratio > 0.0))
            continue;
        if (tl_limb_refit(&sequence->frame[i].limb, &prior) == TL_ERR_MEMORY)
            return TL_ERR_MEMORY;
    }
    return TL_OK;
}
