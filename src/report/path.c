/*
 * path.c - where the drawing puts the Moon's path, the measured points and the
 * contacts, in solar radii east and north of the Sun's centre.
 *
 * With a place the path is the almanac's. Where no picture has a true time, and so no
 * place on it, only separations are known: the free path is then drawn flat, from right
 * to left below the Sun's centre, its closest point at the measured maximum.
 */
#include <math.h>
#include <stdlib.h>

#include "report/spots_internal.h"

enum { LINE_SAMPLES = 97 }; /* every 1.5 min of 2.4 h: straight within a pixel between them */

static tl_report_point polar(double separation_sr, double pa_rad) {
    return (tl_report_point){.east_sr = separation_sr * sin(pa_rad),
                             .north_sr = separation_sr * cos(pa_rad)};
}

static bool sky_point(const tl_sequence *sequence, double t_utc_s, tl_report_point *point) {
    tl_sky sky;
    if (tl_sky_at(&sequence->options.site, t_utc_s, &sequence->options.sky, &sky) != TL_OK)
        return false;
    *point = (tl_report_point){.east_sr = sky.east_sr, .north_sr = sky.north_sr, .t_s = t_utc_s};
    return true;
}

static void sky_line(const tl_sequence *sequence, tl_report_path *path) {
    const tl_circumstances *c = &sequence->track.circumstances;
    const double from = c->contact[TL_C1].t_utc_s, to = c->contact[TL_C4].t_utc_s;
    for (int i = 0; i < LINE_SAMPLES; i++) {
        const double t = from + (to - from) * i / (LINE_SAMPLES - 1);
        if (sky_point(sequence, t, &path->line[path->line_count]))
            path->line_count++;
    }
    for (int which = 0; which < TL_CONTACTS; which++)
        path->has_contact[which] =
            c->contact[which].occurs &&
            sky_point(sequence, c->contact[which].t_utc_s, &path->contact[which]);
    const tl_contact *max = &c->contact[TL_MAX];
    path->has_zenith = max->sun_up;
    path->zenith_pa_rad = max->pa_rad - max->vertex_rad;
    path->ratio = c->ratio;
}

static void sky_measured(const tl_sequence *sequence, tl_report_path *path) {
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_track_frame *tracked = tl_report_track_frame(sequence, i);
        const tl_limb *limb = &sequence->frame[i].limb;
        if (limb->status != TL_LIMB_MEASURED || !tracked->has_true)
            continue;
        double pa_rad = tracked->moon_pa_rad;
        const bool measured = tl_report_measured_pa(sequence, i, &pa_rad);
        path->direction_measured = path->direction_measured || measured;
        path->direction_followed = path->direction_followed || !measured;
        path->turned_by_spots =
            path->turned_by_spots || (measured && tracked->turn_by == TL_TURN_BY_SPOTS);
        tl_report_point point = polar(limb->separation_sr, pa_rad);
        point.t_s = tracked->true_utc_s;
        point.frame = i;
        point.outlier = tracked->outlier || sequence->frame[i].excluded;
        path->measured[path->measured_count++] = point;
    }
}

static void add_crossing(const tl_sequence *sequence, const tl_spot *spot, bool uncovering,
                         tl_report_path *path) {
    const tl_spot_passage *passage = uncovering ? &spot->uncovered : &spot->covered;
    tl_report_crossing crossing = {.spot = spot, .uncovering = uncovering};
    if (spot->has_passages && passage->occurs &&
        sky_point(sequence, passage->t_utc_s[TL_SPOT_CENTRE], &crossing.moon))
        path->crossing[path->crossing_count++] = crossing;
}

static void sky_spots(const tl_sequence *sequence, tl_report_path *path) {
    const tl_spots *spots = &sequence->spots;
    for (size_t s = 0; s < spots->count; s++) {
        const tl_spot *spot = &spots->spot[s];
        path->spot[path->spot_count++] =
            (tl_report_path_spot){spot, spot->east_sr, spot->north_sr, spot->radius_sr};
    }
    for (size_t k = 0; k < spots->count && k < TL_REPORT_CROSSING_SPOTS; k++) {
        const tl_spot *spot = &spots->spot[tl_report_spot_told(sequence, k)];
        add_crossing(sequence, spot, false, path);
        add_crossing(sequence, spot, true, path);
    }
}

/* A separation on the flat path: to the right (west) before the maximum, left after it. */
static tl_report_point flat_point(const tl_track *track, double separation_sr, double t_camera_s) {
    const double closest = fabs(track->smallest_sr);
    const double along = sqrt(fmax(separation_sr * separation_sr - closest * closest, 0.0));
    const bool after = t_camera_s > track->contact[TL_MAX].measured_camera_s;
    return (tl_report_point){
        .east_sr = after ? along : -along, .north_sr = -closest, .t_s = t_camera_s};
}

static void flat_line(const tl_sequence *sequence, const tl_report_facts *facts,
                      tl_report_path *path) {
    const tl_track *track = &sequence->track;
    const tl_track_contact *first = &track->contact[TL_C1], *last = &track->contact[TL_C4];
    const double from = first->measured ? first->measured_camera_s : facts->first_camera_s;
    const double to = last->measured ? last->measured_camera_s : facts->last_camera_s;
    for (int i = 0; i < LINE_SAMPLES; i++) {
        const double t = from + (to - from) * i / (LINE_SAMPLES - 1);
        double separation_sr;
        if (tl_track_free_separation(track, t, &separation_sr))
            path->line[path->line_count++] = flat_point(track, separation_sr, t);
    }
    for (int which = 0; which < TL_CONTACTS; which++) {
        const tl_track_contact *contact = &track->contact[which];
        double separation_sr;
        if (!contact->measured ||
            !tl_track_free_separation(track, contact->measured_camera_s, &separation_sr))
            continue;
        path->has_contact[which] = true;
        path->contact[which] = flat_point(track, separation_sr, contact->measured_camera_s);
    }
    path->ratio = track->ratio;
}

static void flat_measured(const tl_sequence *sequence, tl_report_path *path) {
    for (size_t i = 0; i < sequence->count; i++) {
        const tl_sequence_frame *frame = &sequence->frame[i];
        if (frame->limb.status != TL_LIMB_MEASURED || frame->info.time.source == TL_TIME_NONE ||
            frame->camera != sequence->track.main_camera) /* the path is in its clock's time */
            continue;
        tl_report_point point =
            flat_point(&sequence->track, frame->limb.separation_sr, frame->info.time.t_camera_s);
        point.frame = i;
        point.outlier = tl_report_track_frame(sequence, i)->outlier || frame->excluded;
        path->measured[path->measured_count++] = point;
    }
}

bool tl_report_moon_at(const tl_sequence *sequence, const tl_report_path *path, double t_s,
                       tl_report_moon *moon) {
    tl_report_moon made = {.has_sky = path->on_sky, .ratio = path->ratio};
    double separation_sr;
    if (path->on_sky) {
        if (tl_sky_at(&sequence->options.site, t_s, &sequence->options.sky, &made.sky) != TL_OK)
            return false;
        made.east_sr = made.sky.east_sr;
        made.north_sr = made.sky.north_sr;
        made.ratio = made.sky.ratio;
    } else {
        if (path->line_count == 0 ||
            !tl_track_free_separation(&sequence->track, t_s, &separation_sr))
            return false;
        const tl_report_point point = flat_point(&sequence->track, separation_sr, t_s);
        made.east_sr = point.east_sr;
        made.north_sr = point.north_sr;
    }
    *moon = made;
    return true;
}

/* No Moon of an eclipse stands farther from the Sun than that: at least twice the sum of the radii.
 * What does is broken, and would leave no room for the rest. Our own choice. */
#define FARTHEST_SR 5.0

static bool is_near(const tl_report_point *point) {
    return isfinite(point->t_s) && hypot(point->east_sr, point->north_sr) <= FARTHEST_SR;
}

static size_t keep_near(tl_report_point *point, size_t count) {
    size_t kept = 0;
    for (size_t k = 0; k < count; k++)
        if (is_near(&point[k]))
            point[kept++] = point[k];
    return kept;
}

/* Take out what cannot be drawn. */
static void keep_sound(tl_report_path *path) {
    size_t spots = 0, crossings = 0;
    path->line_count = keep_near(path->line, path->line_count);
    path->measured_count = keep_near(path->measured, path->measured_count);
    for (int which = 0; which < TL_CONTACTS; which++)
        path->has_contact[which] = path->has_contact[which] && is_near(&path->contact[which]);
    for (size_t k = 0; k < path->spot_count; k++) {
        const tl_report_path_spot *s = &path->spot[k];
        if (hypot(s->east_sr, s->north_sr) <= 1.0 && s->radius_sr < 1.0)
            path->spot[spots++] = *s;
    }
    path->spot_count = spots;
    for (size_t k = 0; k < path->crossing_count; k++)
        if (is_near(&path->crossing[k].moon))
            path->crossing[crossings++] = path->crossing[k];
    path->crossing_count = crossings;
    if (!(path->ratio > 0.0 && path->ratio < FARTHEST_SR))
        path->ratio = 0.0;
    path->has_zenith = path->has_zenith && isfinite(path->zenith_pa_rad);
}

tl_status tl_report_path_make(const tl_sequence *sequence, const tl_report_facts *facts,
                              tl_report_path *path) {
    const tl_track *track = &sequence->track;
    tl_report_path made = {0};
    made.line = calloc(LINE_SAMPLES, sizeof *made.line);
    made.measured = calloc(sequence->count + 1, sizeof *made.measured);
    made.spot = calloc(sequence->spots.count + 1, sizeof *made.spot);
    if (!made.line || !made.measured || !made.spot) {
        tl_report_path_free(&made);
        return TL_ERR_MEMORY;
    }
    const bool flat = track->free_solved && track->has_smallest && track->contact[TL_MAX].measured;
    if (track->has_circumstances && (facts->timed_true > 0 || !flat)) {
        made.on_sky = true;
        sky_line(sequence, &made);
        sky_measured(sequence, &made);
        sky_spots(sequence, &made);
    } else if (flat) {
        flat_line(sequence, facts, &made);
        flat_measured(sequence, &made);
    }
    keep_sound(&made);
    *path = made;
    return TL_OK;
}

void tl_report_path_free(tl_report_path *path) {
    free(path->line);
    free(path->measured);
    free(path->spot);
    *path = (tl_report_path){0};
}
