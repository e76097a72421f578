/*
 * solve.c - the stage on one screen.
 */
#include <math.h>
#include <stdlib.h>

#include "base/base_internal.h"
#include "track/track_internal.h"

const char *const tl_holding_name[4] = {"auto", "free", "fixed", "altaz"};

/* The day that a camera claims for its middle frame; false if it has no frame with a time. */
static bool claimed_day(const tl_track_series *series, size_t camera, double *scratch,
                        double *day_utc_s) {
    size_t n = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        if (f->timed && f->camera == camera) {
            scratch[n++] = f->t_camera_s;
        }
    }
    if (n > 0) {
        tl_track_median(scratch, n);
        *day_utc_s = floor(scratch[n / 2] / TL_DAY_S) * TL_DAY_S;
    }
    return n > 0;
}

/* The camera with most frames that can be used. */
static size_t busiest(const tl_track_series *series) {
    size_t best = 0;
    for (size_t k = 1; k < series->camera_count; k++) {
        const tl_track_slice *a = &series->camera[k], *b = &series->camera[best];
        bool more = a->obs_count != b->obs_count ? a->obs_count > b->obs_count
                                                 : a->frame_count > b->frame_count;
        best = more ? k : best;
    }
    return best;
}

/* The eclipses of the day given, or of those the cameras claim; what keeps them away is kept for
 * the note, which speaks of the busiest camera's day. */
static tl_status find_eclipses(const tl_track_series *series, const tl_track_options *options,
                               tl_track_situation *s, tl_track_eclipses *list) {
    double *scratch = calloc(series->frame_count + 1, sizeof *scratch);
    if (scratch == NULL) {
        return TL_ERR_MEMORY;
    }
    s->day_utc_s = options->date_utc_s;
    s->has_day =
        options->date_given || claimed_day(series, busiest(series), scratch, &s->day_utc_s);
    s->eclipse = TL_ERR_TOO_FEW;
    tl_status status = TL_OK;
    if (options->site.source != TL_SITE_NONE && s->has_day) {
        s->eclipse = status = tl_track_eclipses_add(options, s->day_utc_s, list);
    }
    for (size_t k = 0; status != TL_ERR_MEMORY && k < series->camera_count; k++) {
        double day_s;
        if (options->site.source != TL_SITE_NONE && !options->date_given &&
            claimed_day(series, k, scratch, &day_s)) {
            status = tl_track_eclipses_add(options, day_s, list);
            s->eclipse = status == TL_OK ? TL_OK : s->eclipse;
        }
    }
    free(scratch);
    return status == TL_ERR_MEMORY ? status : TL_OK;
}

static void report_alternatives(const tl_track_tied *tied, tl_clock *clock) {
    clock->alternative_count = tied->alternative_count;
    for (size_t i = 0; i < tied->alternative_count; i++) {
        clock->alternative[i].zone_minutes = tied->alternative[i].zone.zone_minutes;
        clock->alternative[i].day_shift_s = tied->alternative[i].zone.day_shift_s;
        clock->alternative[i].offset_s = tied->alternative[i].zone.offset_s;
        clock->alternative[i].sigma_s = tied->alternative[i].sigma_s;
        clock->alternative[i].delta_chi2 = tied->alternative[i].delta_chi2;
        clock->alternative[i].same_clock = tied->alternative[i].same_clock;
    }
}

static void report_clock(const tl_track_tied *tied, const tl_track *track, tl_clock *clock) {
    const double ppm = 1e6;
    const tl_track_clock_fit *fit = &tied->fit;
    clock->solved = true;
    clock->zone_minutes = tied->zone.zone_minutes;
    clock->zone_corrected = tied->zone.corrected;
    clock->offset_s = tied->zone.offset_s;
    clock->day_shift_s = tied->zone.day_shift_s;
    clock->sigma_s = fit->sigma_s;
    clock->has_drift = fit->has_drift;
    clock->drift_ppm = ppm * fit->drift;
    clock->drift_sigma_ppm = ppm * fit->drift_sigma;
    clock->at_utc_s = fit->at_s - fit->clock_s;
    clock->stamps = fit->stamps;
    clock->stamp_scatter_s = fit->scatter_s;
    clock->stamp_scatter_sigma_s = fit->scatter_sigma_s;
    clock->misfit = fit->noise_level;
    clock->floor_s = TL_TRACK_FLOOR_SR * TL_TRACK_HOUR_S / track->speed_predicted_sr_per_h;
    report_alternatives(tied, clock);
}

static void count_used(const tl_track_series *series, tl_track *track) {
    for (size_t k = 0; k < series->camera_count; k++) {
        track->camera[k].used_count = 0;
    }
    for (size_t i = 0; i < series->obs_count; i++) {
        track->camera[series->obs[i].camera].used_count += series->obs[i].dropped ? 0 : 1;
    }
}

static void report_camera(const tl_track_series *series, size_t k, const tl_track_options *options,
                          const tl_track_tied *tied, tl_track *track) {
    const tl_track_slice *slice = &series->camera[k];
    tl_track_camera *camera = &track->camera[k];
    camera->frame_count = slice->frame_count;
    camera->holding = options->holding;
    camera->holding_given = options->holding != TL_HOLDING_AUTO;
    camera->mirrored = options->mirror;
    camera->mirror_given = options->mirror != TL_MIRROR_AUTO;
    camera->clock.zone_given = options->zone_given;
    if (tied->solved) {
        report_clock(tied, track, &camera->clock);
        camera->holding = tied->turn.holding;
        camera->holding_open = tied->turn.open;
        camera->turn_jitter_rad = tied->turn.jitter_rad;
        camera->mirrored = tied->turn.mirrored;
    }
}

static void report_compasses(const tl_track_compasses *compasses, tl_track_situation *s,
                             tl_track *track) {
    track->compass = compasses->told;
    s->spots_reversed = compasses->reversed;
}

/* The one with most frames in the fits, of those with a clock if any has one. */
static void choose_main(tl_track *track) {
    for (size_t k = 1; k < track->camera_count; k++) {
        const tl_track_camera *a = &track->camera[k], *b = tl_track_main(track);
        bool more =
            a->clock.solved != b->clock.solved ? a->clock.solved : a->used_count > b->used_count;
        track->main_camera = more ? k : track->main_camera;
    }
}

static void report_path(const tl_track_path *path, tl_track *track) {
    track->free_solved = true;
    track->used_count = path->used;
    track->free_degree = path->degree;
    track->free_rms_sr = path->rms_sr;
    track->free_origin_camera_s = path->origin_s;
    for (size_t i = 0; i < TL_FREE_POWERS; i++) {
        track->free_coefficient[i] = path->coefficient[i];
        for (size_t j = 0; j < TL_FREE_POWERS; j++) {
            track->free_covariance[i][j] = path->coefficient_covariance[i][j];
        }
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

/* The free path and what follows from it. */
static tl_status solve_path(tl_track_series *series, const tl_track_eclipse *eclipse,
                            const tl_track_tied *tied, tl_track_path *path, tl_track_situation *s,
                            tl_track *track) {
    s->path = tl_track_path_fit(series, tied, track->main_camera, path);
    if (s->path == TL_OK) {
        report_path(path, track);
        tl_track_contacts(path, eclipse, track);
        if (tied[track->main_camera].solved) {
            tl_track_contacts_utc(path, &tied[track->main_camera].fit, track);
        }
    }
    return s->path == TL_ERR_MEMORY ? TL_ERR_MEMORY : TL_OK;
}

/* What the note says of the clocks: of the main camera, and what any of them contradicts. */
static void note_clocks(const tl_track_series *series, const tl_track_tied *tied,
                        const tl_track *track, tl_track_situation *s) {
    const tl_track_tied *t = &tied[track->main_camera];
    s->half_day = t->solved && t->zone.half_day;
    s->long_offset = t->solved && t->zone.long_offset;
    s->misfit = t->solved ? t->fit.noise_level : 0.0;
    for (size_t k = 0; k < series->camera_count; k++) {
        s->mirror_contradicted += tied[k].mirror_contradicted ? 1 : 0;
        s->holding_contradicted += tied[k].holding_contradicted ? 1 : 0;
        s->mirror_opposed += tied[k].mirror_opposed ? 1 : 0;
    }
}

/* Turns by the sunspots, and what they change of the cameras' holding and mirror. */
static tl_status solve_compasses(const tl_track_series *series, const tl_track_options *options,
                                 const tl_track_eclipse *eclipse, const tl_track *track,
                                 tl_track_tied *tied, tl_track_compasses *compasses) {
    tl_status status = tl_track_compasses_make(series, eclipse, tied, options, track, compasses);
    for (size_t k = 0; status == TL_OK && k < series->camera_count; k++) {
        status = tl_track_compass_turn(series, eclipse, options, compasses, k, &tied[k]);
    }
    return status;
}

/* Free path, place, frames, and the turns seen in them. */
static tl_status solve_results(tl_track_series *series, const tl_track_options *options,
                               const tl_track_eclipse *eclipse, const tl_track_tied *tied,
                               tl_track_compasses *compasses, tl_track_situation *s,
                               tl_track *track) {
    tl_track_path path = {0};
    tl_status status = solve_path(series, eclipse, tied, &path, s, track);
    count_used(series, track); /* the path may have named outliers */
    if (status == TL_OK) {
        status = tl_track_place_find(series, options, track);
    }
    if (status == TL_OK) {
        status = tl_track_frames(series, eclipse, tied, s->path == TL_OK ? &path : NULL, options,
                                 compasses, track);
    }
    if (status == TL_OK && eclipse != NULL) {
        tl_track_rotation(series, eclipse, tied, track);
        status = tl_track_direction(series, eclipse, tied, compasses, track);
    }
    return status;
}

/* Everything that follows once the eclipse and the clocks are known; `eclipse` NULL: free only. */
static tl_status solve_rest(tl_track_series *series, const tl_track_options *options,
                            const tl_track_eclipse *eclipse, tl_track_tied *tied,
                            tl_track_situation *s, tl_track *track) {
    tl_track_compasses compasses = {0};
    if (eclipse != NULL) {
        tl_track_predict(eclipse, track);
    }
    tl_status status = solve_compasses(series, options, eclipse, track, tied, &compasses);
    for (size_t k = 0; k < series->camera_count; k++) {
        report_camera(series, k, options, &tied[k], track);
    }
    count_used(series, track);
    choose_main(track);
    note_clocks(series, tied, track, s);
    if (status == TL_OK) {
        status = set_ratio(series, eclipse, track);
    }
    if (status == TL_OK) {
        status = solve_results(series, options, eclipse, tied, &compasses, s, track);
    }
    if (status == TL_OK) {
        report_compasses(&compasses, s, track);
    }
    tl_track_compasses_free(&compasses);
    return status;
}

static bool any_solved(const tl_track_tied *tied, size_t cameras) {
    for (size_t k = 0; k < cameras; k++) {
        if (tied[k].solved) {
            return true;
        }
    }
    return false;
}

tl_status tl_track_solve_series(tl_track_series *series, const tl_track_options *options,
                                tl_track_eclipses *eclipses, tl_track_situation *s,
                                tl_track *track) {
    tl_track_tied tied[TL_CAMERAS_MAX] = {{0}};
    size_t chosen = 0, claimed = eclipses->count;
    tl_status status = tl_track_tied_solve(series, eclipses, options, tied, &chosen);
    bool search = status == TL_OK && options->site.source != TL_SITE_NONE && !options->date_given &&
                  series->obs_count > 0 && !any_solved(tied, series->camera_count);
    if (search) {
        status = tl_track_eclipses_search(options, s->day_utc_s, eclipses);
        if (status == TL_OK && eclipses->count > claimed) {
            status = tl_track_tied_solve(series, eclipses, options, tied, &chosen);
        }
        track->day_found = status == TL_OK && any_solved(tied, series->camera_count);
        s->eclipse = track->day_found ? TL_OK : s->eclipse;
    }
    /* Of a search without success only the day that was asked for is of interest. */
    const tl_track_eclipse *eclipse =
        any_solved(tied, series->camera_count) || claimed > 0 ? &eclipses->item[chosen] : NULL;
    if (status == TL_OK) {
        status = solve_rest(series, options, eclipse, tied, s, track);
    }
    for (size_t k = 0; k < series->camera_count; k++) {
        tl_track_tied_free(&tied[k]);
    }
    return status;
}

tl_status tl_track_solve(const tl_track_frame_in *in, size_t count, const tl_track_options *options,
                         tl_track *track) {
    tl_base_quiet_libraries();
    tl_track made = {.frame_count = count};
    tl_track_series series = {0};
    tl_track_eclipses eclipses = {0};
    tl_track_situation situation = {0};
    made.frame = calloc(count + 1, sizeof *made.frame);
    tl_status status =
        made.frame == NULL ? TL_ERR_MEMORY : tl_track_series_make(in, count, options, &series);
    made.camera_count = series.camera_count;
    if (status == TL_OK) {
        status = find_eclipses(&series, options, &situation, &eclipses);
    }
    if (status == TL_OK) {
        status = tl_track_solve_series(&series, options, &eclipses, &situation, &made);
    }
    if (status == TL_OK && situation.eclipse == TL_ERR_NO_ECLIPSE) {
        situation.has_nearest =
            tl_sky_nearest_eclipse(&options->site, situation.day_utc_s, &options->sky,
                                   &situation.nearest_utc_s) == TL_OK;
    }
    if (status == TL_OK) {
        tl_track_write_note(&series, options, &situation, &made);
        *track = made;
    } else {
        tl_track_free(&made);
    }
    tl_track_eclipses_free(&eclipses);
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
    for (size_t i = TL_FREE_POWERS; i-- > 0;) {
        square = square * tau + track->free_coefficient[i];
    }
    if (!isfinite(square)) {
        return false;
    }
    *separation_sr = sqrt(fmax(0.0, square));
    return true;
}
