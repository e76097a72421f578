/*
 * timeline.c - what is known of the series in time, collected once for all that draw or tell it.
 */
#include <math.h>
#include <stdlib.h>

#include "report/spots_internal.h"
#include "report/timeline_internal.h"

enum {
    LINE_SAMPLES = 385
}; /* every 2 px of a plot 800 px wide: the sharp turn of a central
      eclipse stays sharp */

/* Our own choices: pictures this long before first and after last contact still have a place; the
 * axis is never shorter than the second, and has this share of itself free at either end. */
static const double BEYOND_S = 3600.0, SHORTEST_S = 1800.0, MARGIN = 0.025;
/* Without a line, pictures further than this from the middle one are of another day. */
static const double OTHER_DAY_S = 0.5 * TL_DAY_S;

typedef struct maker {
    const tl_sequence *sequence;
    const tl_report_facts *facts;
    tl_sky_table *table; /* with utc */
    tl_report_timeline *made;
} maker;

/* ---- the line ---- */

static bool almanac_at(const maker *m, double t_s, tl_report_time_sample *sample) {
    tl_sky sky;
    if (!m->table || tl_sky_table_at(m->table, t_s, &sky) != TL_OK)
        return false;
    *sample = (tl_report_time_sample){t_s, sky.separation_sr, sky.magnitude, sky.obscuration};
    return true;
}

static bool line_at(const maker *m, double t_s, tl_report_time_sample *sample) {
    const tl_track *track = &m->sequence->track;
    double separation_sr;
    if (m->made->utc)
        return almanac_at(m, t_s, sample);
    if (!tl_track_free_separation(track, t_s, &separation_sr))
        return false;
    const bool ratio = track->ratio > 0.0;
    *sample = (tl_report_time_sample){t_s, separation_sr,
                                      ratio ? tl_magnitude(separation_sr, track->ratio) : NAN,
                                      ratio ? tl_obscuration(separation_sr, track->ratio) : NAN};
    return true;
}

static void make_line(const maker *m, double from_s, double to_s) {
    tl_report_timeline *made = m->made;
    for (int i = 0; i < LINE_SAMPLES; i++) {
        const double t = from_s + (to_s - from_s) * i / (LINE_SAMPLES - 1);
        if (line_at(m, t, &made->line[made->line_count]))
            made->line_count++;
    }
}

/* How fast the line's separation changes, sr/s; 0 where that is not known. */
static double rate_at(const maker *m, double t_s) {
    const double half_s = 30.0; /* little against the time in which the rate changes */
    tl_report_time_sample before, after;
    if (!line_at(m, t_s - half_s, &before) || !line_at(m, t_s + half_s, &after))
        return 0.0;
    return (after.separation_sr - before.separation_sr) / (2.0 * half_s);
}

/* ---- the pictures ---- */

static double known(bool is, double value) {
    return is && isfinite(value) ? value : NAN;
}

static double known_error(double sigma) {
    return known(sigma > 0.0, sigma);
}

static bool has_circle(const tl_sequence *sequence, size_t i) {
    const tl_limb_status status = sequence->frame[i].limb.status;
    return status == TL_LIMB_MEASURED || status == TL_LIMB_SUN_ONLY;
}

/* Its time on the axis; false if it has none. */
static bool time_of(const maker *m, size_t i, double *t_s) {
    const tl_sequence_frame *frame = &m->sequence->frame[i];
    const tl_track_frame *tracked = tl_report_track_frame(m->sequence, i);
    const bool camera =
        frame->info.time.source != TL_TIME_NONE && frame->camera == m->sequence->track.main_camera;
    *t_s = m->made->utc ? tracked->true_utc_s : frame->info.time.t_camera_s;
    return has_circle(m->sequence, i) && (m->made->utc ? tracked->has_true : camera) &&
           isfinite(*t_s);
}

static void set_residual(const maker *m, size_t i, tl_report_time_point *point) {
    const tl_sequence_frame *frame = &m->sequence->frame[i];
    const tl_track_frame *tracked = tl_report_track_frame(m->sequence, i);
    const tl_clock *clock = &tl_report_camera_of(m->sequence, i)->clock;
    const double unit = m->made->utc ? tl_report_sun_radius_arcsec(m->sequence, i) : 1.0;
    const double scatter_s = clock->stamps == TL_STAMPS_SCATTERED ? clock->stamp_scatter_s : 0.0;
    const double stamp_sr = rate_at(m, point->t_s) * hypot(frame->info.time.sigma_s, scatter_s);
    point->residual = known(tl_report_has_residual(m->sequence, i), unit * tracked->residual_sr);
    point->residual_sigma = known_error(unit * hypot(frame->limb.separation_sigma_sr, stamp_sr));
}

static tl_report_time_point make_point(const maker *m, size_t i, double t_s) {
    const tl_sequence_frame *frame = &m->sequence->frame[i];
    const tl_limb *limb = &frame->limb;
    const tl_track_frame *tracked = tl_report_track_frame(m->sequence, i);
    const bool moon = limb->status == TL_LIMB_MEASURED;
    const bool covered = tl_report_has_share(m->sequence, i);
    const double radius = m->made->utc ? tl_report_sun_radius_arcsec(m->sequence, i) : 100.0;
    tl_report_time_point point = {
        .frame = i,
        .t_s = t_s,
        .doubtful = frame->excluded || (moon && tracked->outlier),
        .from_itself = frame->info.time.source == TL_TIME_NONE,
        .other_camera = frame->camera != m->sequence->track.main_camera,
        .separation_sr = known(moon, limb->separation_sr),
        .separation_sigma_sr = known_error(limb->separation_sigma_sr),
        .magnitude = known(covered, tracked->magnitude),
        .obscuration = known(covered, tracked->obscuration),
        .blur = known(limb->blur_px > 0.0 && limb->circle[TL_SUN_R] > 0.0,
                      radius * limb->blur_px / limb->circle[TL_SUN_R]),
    };
    set_residual(m, i, &point);
    return point;
}

static int by_time(const void *a, const void *b) {
    const tl_report_time_point *p = a, *q = b;
    if (p->t_s != q->t_s)
        return p->t_s < q->t_s ? -1 : 1;
    return p->frame < q->frame ? -1 : p->frame > q->frame;
}

/* Those between the two times. */
static void make_points(const maker *m, double from_s, double to_s) {
    tl_report_timeline *made = m->made;
    for (size_t i = 0; i < m->sequence->count; i++) {
        double t_s;
        if (time_of(m, i, &t_s) && t_s >= from_s && t_s <= to_s)
            made->point[made->point_count++] = make_point(m, i, t_s);
        else
            made->unplaced_count += has_circle(m->sequence, i);
    }
    qsort(made->point, made->point_count, sizeof *made->point, by_time);
}

/* ---- contacts and spots ---- */

static void make_contacts(const maker *m) {
    const tl_track *track = &m->sequence->track;
    for (int which = 0; which < TL_CONTACTS; which++) {
        const tl_contact *almanac = &track->circumstances.contact[which];
        const tl_track_contact *seen = &track->contact[which];
        const double t_s = m->made->utc ? almanac->t_utc_s : seen->measured_camera_s;
        m->made->contact_s[which] = t_s;
        m->made->has_contact[which] =
            (m->made->utc ? almanac->occurs : seen->measured) && isfinite(t_s);
    }
}

static void add_crossing(const maker *m, const tl_spot *spot, bool uncovering) {
    const tl_spot_passage *passage = uncovering ? &spot->uncovered : &spot->covered;
    const double t_s = passage->t_utc_s[TL_SPOT_CENTRE];
    tl_report_timeline *made = m->made;
    if (!spot->has_passages || !passage->occurs || !isfinite(t_s))
        return;
    size_t k = made->crossing_count++;
    for (; k > 0 && made->crossing[k - 1].t_s > t_s; k--)
        made->crossing[k] = made->crossing[k - 1];
    made->crossing[k] = (tl_report_time_crossing){spot, t_s, uncovering};
}

static void make_crossings(const maker *m) {
    const tl_spots *spots = &m->sequence->spots;
    for (size_t k = 0; m->made->utc && k < spots->count && k < TL_REPORT_CROSSING_SPOTS; k++) {
        const tl_spot *spot = &spots->spot[tl_report_spot_told(m->sequence, k)];
        add_crossing(m, spot, false);
        add_crossing(m, spot, true);
    }
}

/* ---- the axis ---- */

/* Where the line runs; false if there is none. */
static bool line_span(const maker *m, double *from_s, double *to_s) {
    const tl_track *track = &m->sequence->track;
    const tl_report_timeline *made = m->made;
    *from_s = made->has_contact[TL_C1] ? made->contact_s[TL_C1] : m->facts->first_camera_s;
    *to_s = made->has_contact[TL_C4] ? made->contact_s[TL_C4] : m->facts->last_camera_s;
    return (made->utc || track->free_solved) && *to_s > *from_s && *to_s - *from_s < TL_DAY_S;
}

static int by_value(const void *a, const void *b) {
    const double p = *(const double *)a, q = *(const double *)b;
    return p < q ? -1 : p > q;
}

/* The middle one of the times of the pictures; false if there are none, or no memory (`failed`). */
static bool middle_time(const maker *m, double *middle_s, bool *failed) {
    double *t_s = calloc(m->sequence->count + 1, sizeof *t_s);
    size_t count = 0;
    *failed = !t_s;
    for (size_t i = 0; t_s && i < m->sequence->count; i++)
        count += time_of(m, i, &t_s[count]);
    if (count > 0) {
        qsort(t_s, count, sizeof *t_s, by_value);
        *middle_s = t_s[count / 2];
    }
    free(t_s);
    return count > 0;
}

static void make_axis(tl_report_timeline *made) {
    double from_s = INFINITY, to_s = -INFINITY;
    if (made->line_count > 0) {
        from_s = made->line[0].t_s;
        to_s = made->line[made->line_count - 1].t_s;
    }
    if (made->point_count > 0) {
        from_s = fmin(from_s, made->point[0].t_s);
        to_s = fmax(to_s, made->point[made->point_count - 1].t_s);
    }
    if (!(from_s <= to_s))
        return;
    const double wide_s = fmax((1.0 + 2.0 * MARGIN) * (to_s - from_s), SHORTEST_S);
    made->from_s = 0.5 * (from_s + to_s) - 0.5 * wide_s;
    made->to_s = made->from_s + wide_s;
}

/* One picture alone shows no residual: its clock was set by itself, or its path laid through it. */
static void make_panels(tl_report_timeline *made) {
    size_t residuals = 0;
    if (made->line_count > 1)
        made->panels |= TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_SEPARATION);
    for (size_t i = 0; i < made->line_count; i++)
        if (isfinite(made->line[i].magnitude))
            made->panels |= TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_COVERED);
    for (size_t i = 0; i < made->point_count; i++) {
        const tl_report_time_point *point = &made->point[i];
        if (isfinite(point->separation_sr))
            made->panels |= TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_SEPARATION);
        if (isfinite(point->magnitude) && isfinite(point->obscuration))
            made->panels |= TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_COVERED);
        if (isfinite(point->residual))
            residuals++;
        if (isfinite(point->blur))
            made->panels |= TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_BLUR);
    }
    if (residuals > 1)
        made->panels |= TL_REPORT_PANEL_BIT(TL_REPORT_PANEL_RESIDUAL);
}

/* Without true times the free path and the camera's clock are all there is. */
static bool in_utc(const tl_sequence *sequence, const tl_report_facts *facts) {
    const tl_track *track = &sequence->track;
    const bool free_path = track->free_solved && track->contact[TL_MAX].measured;
    return track->has_circumstances && (facts->timed_true > 0 || !free_path);
}

static tl_status fill(maker *m) {
    tl_report_timeline *made = m->made;
    const tl_sequence *sequence = m->sequence;
    double from_s, to_s, middle_s;
    bool failed = false;
    make_contacts(m);
    const bool has_line = line_span(m, &from_s, &to_s);
    if (has_line && made->utc &&
        tl_sky_table_make(&sequence->options.site, from_s - 2.0 * BEYOND_S, to_s + 2.0 * BEYOND_S,
                          &sequence->options.sky, &m->table) == TL_ERR_MEMORY)
        return TL_ERR_MEMORY;
    if (has_line) {
        make_line(m, from_s, to_s);
        make_points(m, from_s - BEYOND_S, to_s + BEYOND_S);
        make_crossings(m);
    } else if (middle_time(m, &middle_s, &failed)) {
        make_points(m, middle_s - OTHER_DAY_S, middle_s + OTHER_DAY_S);
    }
    made->floor = TL_TRACK_FLOOR_SR;
    if (made->utc)
        made->floor *= tl_report_sun_radius_arcsec(sequence, 0);
    make_axis(made);
    make_panels(made);
    made->trend = tl_report_blur_trend_of(made);
    return failed ? TL_ERR_MEMORY : TL_OK;
}

tl_status tl_report_timeline_make(const tl_sequence *sequence, const tl_report_facts *facts,
                                  tl_report_timeline *timeline) {
    tl_report_timeline made = {.utc = in_utc(sequence, facts)};
    maker m = {.sequence = sequence, .facts = facts, .made = &made};
    made.has_zone = made.utc && facts->has_zone;
    made.zone_minutes = made.has_zone ? facts->zone_minutes : 0;
    made.line = calloc(LINE_SAMPLES, sizeof *made.line);
    made.point = calloc(sequence->count + 1, sizeof *made.point);
    const tl_status status = made.line && made.point ? fill(&m) : TL_ERR_MEMORY;
    tl_sky_table_free(m.table);
    if (status != TL_OK)
        tl_report_timeline_free(&made);
    else
        *timeline = made;
    return status;
}

void tl_report_timeline_free(tl_report_timeline *timeline) {
    free(timeline->line);
    free(timeline->point);
    *timeline = (tl_report_timeline){0};
}
