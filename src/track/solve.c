/*
 * solve.c - the stage on one screen.
 */
#include <math.h>
#include <stdlib.h>

#include "base/base_internal.h"
#include "track/track_internal.h"

const char *const tl_holding_name[4] = {"auto", "free", "fixed", "altaz"};

/* The day asked for: given, or what the camera claims for the middle frame. */
static tl_status find_day(const tl_track_series *series, const tl_track_options *options,
                          tl_track_situation *s) {
    if (options->date_given) {
        s->has_day = true;
        s->day_utc_s = options->date_utc_s;
        return TL_OK;
    }
    double *t = calloc(series->frame_count + 1, sizeof *t);
    if (t == NULL) {
        return TL_ERR_MEMORY;
    }
    size_t n = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        if (series->frame[i].timed) {
            t[n++] = series->frame[i].t_camera_s;
        }
    }
    s->has_day = n > 0;
    if (n > 0) {
        tl_track_median(t, n);
        s->day_utc_s = floor(t[n / 2] / TL_DAY_S) * TL_DAY_S;
    }
    free(t);
    return TL_OK;
}

/* The eclipse of that day; what keeps it away is kept for the note. */
static tl_status find_eclipse(const tl_track_options *options, tl_track_situation *s,
                              tl_track_eclipse *eclipse) {
    if (options->site.source == TL_SITE_NONE || !s->has_day) {
        s->eclipse = TL_ERR_TOO_FEW;
        return TL_OK;
    }
    s->eclipse = tl_track_eclipse_make(options, s->day_utc_s, eclipse);
    if (s->eclipse == TL_ERR_NO_ECLIPSE) {
        s->has_nearest = tl_sky_nearest_eclipse(&options->site, s->day_utc_s, &options->sky,
                                                &s->nearest_utc_s) == TL_OK;
    }
    return s->eclipse == TL_ERR_MEMORY ? s->eclipse : TL_OK;
}

static void report_clock(const tl_track_tied *tied, const tl_track_series *series,
                         const tl_track_eclipse *eclipse, tl_track *track) {
    tl_track_camera *camera = &track->camera[0];
    tl_clock *clock = &camera->clock;
    clock->solved = true;
    clock->zone_minutes = tied->zone.zone_minutes;
    clock->zone_corrected = tied->zone.corrected;
    clock->offset_s = tied->zone.offset_s;
    clock->day_shift_s = tied->zone.day_shift_s;
    clock->sigma_s = tied->fit.sigma_s;
    clock->misfit = tied->fit.noise_level;
    clock->floor_s = TL_TRACK_FLOOR_SR * TL_TRACK_HOUR_S / track->speed_predicted_sr_per_h;
    clock->alternative_count = tied->alternative_count;
    for (size_t i = 0; i < tied->alternative_count; i++) {
        tl_track_zone zone = tl_track_zone_split(tied->alternative_clock_s[i], series->zone_said,
                                                 series->zone_minutes, eclipse->site.lon_rad);
        clock->alternative[i].zone_minutes = zone.zone_minutes;
        clock->alternative[i].offset_s = zone.offset_s;
        clock->alternative[i].sigma_s = tied->alternative_sigma_s[i];
        clock->alternative[i].delta_chi2 = tied->alternative_delta_chi2[i];
    }
    camera->holding = tied->turn.holding;
    camera->turn_jitter_rad = tied->turn.jitter_rad;
    camera->mirrored = tied->turn.mirrored;
}

static void report_path(const tl_track_path *path, tl_track *track) {
    track->free_solved = true;
    track->used_count = path->used;
    track->free_degree = path->degree;
    track->free_rms_sr = path->rms_sr;
    track->free_origin_camera_s = path->origin_s;
    for (size_t i = 0; i < 5; i++) {
        track->free_coefficient[i] = path->coefficient[i];
    }
}

static tl_status set_ratio(const tl_track_series *series, const tl_track_eclipse *eclipse,
                           tl_track *track) {
    tl_status status =
        tl_track_ratio_mean(series, &track->ratio_measured, &track->ratio_measured_sigma);
    track->ratio_from_almanac = eclipse != NULL;
    track->ratio = eclipse != NULL ? eclipse->circumstances.ratio : track->ratio_measured;
    track->ratio_sigma = eclipse != NULL ? 0.0 : track->ratio_measured_sigma;
    return status;
}

tl_status tl_track_solve_series(tl_track_series *series, const tl_track_options *options,
                                const tl_track_eclipse *eclipse, tl_track_situation *s,
                                tl_track *track) {
    tl_track_tied tied = {0};
    tl_status status = TL_OK;
    if (eclipse != NULL) {
        tl_track_predict(eclipse, track);
        status = tl_track_tied_solve(series, eclipse, options, &tied);
    }
    if (status == TL_OK) {
        status = set_ratio(series, eclipse, track);
    }
    tl_track_path path = {0};
    if (status == TL_OK) {
        double level = tied.solved ? tied.fit.noise_level : 0.0;
        s->path = tl_track_path_fit(series->obs, series->obs_count, level, &path);
        status = s->path == TL_ERR_MEMORY ? TL_ERR_MEMORY : TL_OK;
    }
    if (status == TL_OK && s->path == TL_OK) {
        report_path(&path, track);
        tl_track_contacts(series, &path, eclipse, track);
        if (tied.solved) {
            tl_track_contacts_utc(&path, tied.fit.clock_s, track);
        }
    }
    if (status == TL_OK && tied.solved) {
        report_clock(&tied, series, eclipse, track);
        s->half_day = tied.zone.half_day;
        s->long_offset = tied.zone.long_offset;
        s->mirror_contradicted = tied.mirror_contradicted;
        s->holding_contradicted = tied.holding_contradicted;
        s->misfit = tied.fit.noise_level;
    }
    if (status == TL_OK) {
        status = tl_track_place_find(series, options, track);
    }
    if (status == TL_OK) {
        status = tl_track_frames(series, eclipse, &tied, s->path == TL_OK ? &path : NULL, track);
    }
    tl_track_tied_free(&tied);
    return status;
}

/* Frames that the note has to speak of. */
static void count_oddities(const tl_track_series *series, const tl_track *track,
                           tl_track_situation *s) {
    size_t next = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        bool in_series = next < series->obs_count && series->obs[next].index == i;
        next += in_series ? 1 : 0;
        s->other_days += f->measured && f->timed && !in_series ? 1 : 0;
        s->by_order += f->measured && !f->timed && track->frame[i].has_true ? 1 : 0;
    }
}

tl_status tl_track_solve(const tl_track_frame_in *in, size_t count, const tl_track_options *options,
                         tl_track *track) {
    tl_base_quiet_libraries();
    tl_track made = {.frame_count = count, .camera_count = 1};
    made.camera[0] = (tl_track_camera){.holding = options->holding,
                                       .holding_given = options->holding != TL_HOLDING_AUTO,
                                       .mirrored = options->mirror,
                                       .mirror_given = options->mirror != TL_MIRROR_AUTO};
    tl_track_series series = {0};
    tl_track_eclipse eclipse = {0};
    tl_track_situation situation = {0};
    made.frame = calloc(count + 1, sizeof *made.frame);
    tl_status status =
        made.frame == NULL ? TL_ERR_MEMORY : tl_track_series_make(in, count, options, &series);
    if (status == TL_OK) {
        status = find_day(&series, options, &situation);
    }
    if (status == TL_OK) {
        status = find_eclipse(options, &situation, &eclipse);
    }
    if (status == TL_OK) {
        status = tl_track_solve_series(
            &series, options, situation.eclipse == TL_OK ? &eclipse : NULL, &situation, &made);
    }
    if (status == TL_OK) {
        count_oddities(&series, &made, &situation);
        tl_track_write_note(&series, options, &situation, &made);
        *track = made;
    } else {
        tl_track_free(&made);
    }
    tl_track_eclipse_free(&eclipse);
    tl_track_series_free(&series);
    return status;
}

void tl_track_free(tl_track *track) {
    free(track->frame);
    *track = (tl_track){0};
}

const tl_track_camera *tl_track_main(const tl_track *track) {
    return &track->camera[track->main_camera];
}

bool tl_track_free_separation(const tl_track *track, double t_camera_s, double *separation_sr) {
    if (!track->free_solved) {
        return false;
    }
    double tau = (t_camera_s - track->free_origin_camera_s) / TL_TRACK_HOUR_S, square = 0.0;
    for (size_t i = 5; i-- > 0;) {
        square = square * tau + track->free_coefficient[i];
    }
    if (!isfinite(square)) {
        return false;
    }
    *separation_sr = sqrt(fmax(0.0, square));
    return true;
}
