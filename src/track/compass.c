/*
 * compass.c - how frames were turned by their sunspots: the common zero of their compasses, and
 * whether they and the Moons agree.
 *
 * A frame with a compass, a Moon and a true time gives its up_pa twice: by the almanac's position
 * angle less the Moon's direction in the picture, and by its compass. The mean difference is the
 * zero, the scatter about it a test of the compasses. Were the spots taken for their mirror image,
 * all compasses would be up_pa of mirrored frames with the sign changed: that is tried as well, and
 * as the Moon moves round the Sun one of the two fails.
 */
#include <math.h>
#include <stdlib.h>

#include "track/track_internal.h"

/* Differences of chi^2 that decide, as in turn.c. */
static const double DECIDES = 10.0;
/* Over this many times the errors given the compasses are not what they claim to be; chance alone
 * gives 2 or so. Our own choice. */
static const double MISFIT_MOST = 5.0;
enum { ROUNDS_MAX = 10 };
/* Half the span of the almanac's change of position angle. */
static const double STEP_S = 5.0;

/* What one frame says of the zero, as the compasses are and mirrored the other way. */
typedef struct tie {
    size_t index;
    double zero_rad[2], weight; /* 1 / variance */
    double rate;                /* of the almanac's PA, rad per s of the clock */
} tie;

typedef struct zero_fit {
    double zero_rad, level, cost; /* chi^2, each frame's share limited */
    bool *kept;                   /* borrowed; one per tie */
    double weight;                /* of those kept */
    size_t count;                 /* of those kept */
} zero_fit;

double tl_track_pa_rate(const tl_track_eclipse *eclipse, double t_utc_s) {
    tl_sky before, after;
    if (tl_track_eclipse_sky(eclipse, t_utc_s - STEP_S, &before) != TL_OK ||
        tl_track_eclipse_sky(eclipse, t_utc_s + STEP_S, &after) != TL_OK) {
        return 0.0;
    }
    return tl_angle_signed(after.pa_rad - before.pa_rad) / (2.0 * STEP_S);
}

double tl_track_pa_sigma(const tl_track_eclipse *eclipse, double t_utc_s, double sigma_s) {
    const double any = TL_PI / sqrt(3.0); /* of an angle of which nothing is known */
    return fmin(any, fabs(tl_track_pa_rate(eclipse, t_utc_s)) * sigma_s);
}

/* ---- the zero ---- */

static double squared(const tie *t, int hand, double zero_rad) {
    double off = tl_angle_signed(t->zero_rad[hand] - zero_rad);
    return off * off * t->weight;
}

static double limited_cost(const tie *list, size_t count, int hand, double zero_rad, double level) {
    double limit = TL_TRACK_OUTLIER_SIGMAS * TL_TRACK_OUTLIER_SIGMAS, sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        sum += fmin(limit, squared(&list[i], hand, zero_rad) / (level * level));
    }
    return sum;
}

/* The frame on whose zero most others agree. */
static double start_zero(const tie *list, size_t count, int hand) {
    double best = 0.0, lowest = HUGE_VAL;
    for (size_t i = 0; i < count; i++) {
        double cost = limited_cost(list, count, hand, list[i].zero_rad[hand], 1.0);
        if (cost < lowest) {
            lowest = cost;
            best = list[i].zero_rad[hand];
        }
    }
    return best;
}

/* Weighted mean of those within the limit about the zero so far; `level` from them all. */
static void refine(const tie *list, size_t count, int hand, double *scratch, zero_fit *fit) {
    double sum = 0.0;
    for (size_t i = 0; i < count; i++) {
        scratch[count + i] = sqrt(squared(&list[i], hand, fit->zero_rad));
    }
    double level = tl_track_noise_level(scratch + count, count, scratch);
    fit->weight = 0.0;
    fit->count = 0;
    for (size_t i = 0; i < count; i++) {
        fit->kept[i] = scratch[count + i] <= TL_TRACK_OUTLIER_SIGMAS * level;
        if (fit->kept[i]) {
            sum += list[i].weight * tl_angle_signed(list[i].zero_rad[hand] - fit->zero_rad);
            fit->weight += list[i].weight;
            fit->count++;
        }
    }
    fit->zero_rad = tl_angle_signed(fit->zero_rad + sum / fit->weight);
}

/* `scratch` holds two per tie. */
static void fit_zero(const tie *list, size_t count, int hand, double *scratch, zero_fit *fit) {
    double chi2 = 0.0;
    fit->zero_rad = start_zero(list, count, hand);
    for (int round = 0; round < ROUNDS_MAX; round++) {
        refine(list, count, hand, scratch, fit);
    }
    for (size_t i = 0; i < count; i++) {
        chi2 += fit->kept[i] ? squared(&list[i], hand, fit->zero_rad) : 0.0;
    }
    fit->level = tl_track_noise_scale(chi2, (double)fit->count - 1.0);
}

/* Its error: that of the frames, and of each camera's clock, which moves all its Moons. */
static double zero_sigma(const tie *list, size_t count, const zero_fit *fit,
                         const tl_track_series *series, const tl_track_tied *tied) {
    double clock[TL_CAMERAS_MAX] = {0.0}, variance = fit->level * fit->level / fit->weight;
    for (size_t i = 0; i < count; i++) {
        const tl_track_frame_in *f = &series->frame[list[i].index];
        if (fit->kept[i] && f->timed) {
            clock[f->camera] += list[i].weight * list[i].rate / fit->weight;
        }
    }
    for (size_t k = 0; k < series->camera_count; k++) {
        double moved = tied[k].solved ? clock[k] * tied[k].fit.sigma_s : 0.0;
        variance += moved * moved;
    }
    return sqrt(variance);
}

/* ---- the frames that tie it ---- */

/* A frame's true time, if it is known well enough to know where the Moon is: of the fit, or of an
 * undated frame whose side is told. */
static bool true_time(const tl_track_series *series, size_t i, const tl_track_tied *tied,
                      const tl_track *track, double *utc_s, double *sigma_s) {
    const tl_track_frame_in *f = &series->frame[i];
    if (f->timed) {
        const tl_track_obs *obs = series->obs_of[i];
        if (obs == NULL || obs->dropped || !tied[f->camera].solved) {
            return false;
        }
        tl_track_clock_time(series, i, &tied[f->camera], utc_s, sigma_s);
        return true;
    }
    *utc_s = track->frame[i].true_utc_s;
    *sigma_s = track->frame[i].true_sigma_s;
    return track->frame[i].has_true;
}

static size_t list_ties(const tl_track_series *series, const tl_track_eclipse *eclipse,
                        const tl_track_tied *tied, const tl_track *track, tie *list) {
    size_t count = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        double utc_s, sigma_s;
        tl_sky sky;
        if (!f->has_compass || !f->measured ||
            !true_time(series, i, tied, track, &utc_s, &sigma_s) ||
            tl_track_eclipse_sky(eclipse, utc_s, &sky) != TL_OK) {
            continue;
        }
        tl_track_obs obs = tl_track_obs_of(f, f->t_camera_s);
        if (!obs.has_direction) {
            continue;
        }
        tl_track_turn_row row = tl_track_turn_row_of(&obs, &sky);
        int own = f->compass_mirrored ? 1 : 0;
        double pa_sigma = hypot(tl_track_pa_sigma(eclipse, utc_s, sigma_s),
                                TL_TRACK_FLOOR_SR / sky.separation_sr);
        double sigma = hypot(hypot(row.sigma_rad, pa_sigma), f->compass_sigma_rad);
        list[count++] = (tie){.index = i,
                              .zero_rad = {row.up_rad[own] - f->compass_up_rad,
                                           row.up_rad[1 - own] + f->compass_up_rad},
                              .weight = 1.0 / (sigma * sigma),
                              .rate = tl_track_pa_rate(eclipse, utc_s)};
    }
    return count;
}

/* ---- which hand ---- */

/* Do those who know a mirror, the user or the rule of a mount, have that of the compasses? */
static bool confirmed(const tl_track_series *series, const tl_track_options *options,
                      const tl_track_tied *tied) {
    size_t alike = 0, other = 0;
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        if (!f->has_compass) {
            continue;
        }
        tl_mirror known = options->mirror;
        if (known == TL_MIRROR_AUTO && f->camera < series->camera_count && tied[f->camera].solved) {
            known = tied[f->camera].turn.mirrored;
        }
        tl_mirror own = f->compass_mirrored ? TL_MIRROR_YES : TL_MIRROR_NO;
        alike += known == own ? 1 : 0;
        other += known != own && known != TL_MIRROR_AUTO ? 1 : 0;
    }
    return alike > other;
}

static bool opposed(const tl_track_frame_in *f, const tl_track_options *options) {
    return options->mirror != TL_MIRROR_AUTO &&
           f->compass_mirrored != (options->mirror == TL_MIRROR_YES);
}

/* ---- the frames' own turns ---- */

static void set_bearings(const tl_track_series *series, const tl_track_options *options,
                         const tie *list, size_t count, const zero_fit *fit,
                         tl_track_compasses *c) {
    double zero2 = c->told.zero_sigma_rad * c->told.zero_sigma_rad;
    for (size_t i = 0; i < series->frame_count; i++) {
        const tl_track_frame_in *f = &series->frame[i];
        double own2 = c->told.misfit * c->told.misfit * f->compass_sigma_rad * f->compass_sigma_rad;
        if (f->has_compass) {
            c->frame[i] = (tl_track_bearing){
                .known = !opposed(f, options),
                .mirrored = f->compass_mirrored,
                .up_rad = tl_angle_positive(f->compass_up_rad + c->told.zero_rad),
                .sigma_rad = sqrt(zero2 + own2)};
            c->told.opposed_count += opposed(f, options) ? 1 : 0;
        }
    }
    for (size_t k = 0; k < count; k++) {
        size_t i = list[k].index;
        const tl_track_frame_in *f = &series->frame[i];
        double own = c->told.misfit * f->compass_sigma_rad;
        if (!fit->kept[k]) {
            c->frame[i].known = false;
            c->told.outlier_count++;
        } else {
            /* The compass is in the zero, with the opposite sign. */
            double left = own * own * (1.0 - 2.0 * list[k].weight / fit->weight);
            c->frame[i].sigma_rad = sqrt(fmax(0.0, zero2 + left));
        }
    }
}

static bool any_compass(const tl_track_series *series) {
    for (size_t i = 0; i < series->frame_count; i++) {
        if (series->frame[i].has_compass) {
            return true;
        }
    }
    return false;
}

/* With the ties listed; `kept` and `scratch` hold one and two for each. */
static void decide(const tl_track_series *series, const tl_track_options *options,
                   const tl_track_tied *tied, const tie *list, size_t count, bool *kept,
                   double *scratch, tl_track_compasses *c) {
    zero_fit other = {.kept = kept}, fit = {.kept = kept};
    if (count == 0) {
        c->told.state = any_compass(series) ? TL_COMPASS_UNTIED : TL_COMPASS_NONE;
        return;
    }
    fit_zero(list, count, 1, scratch, &other);
    fit_zero(list, count, 0, scratch, &fit);
    bool agree = fit.level <= MISFIT_MOST;
    double least = agree ? fit.level : 1.0;
    double apart = limited_cost(list, count, 1, other.zero_rad, least) -
                   limited_cost(list, count, 0, fit.zero_rad, least);
    c->hand_decided = agree && apart > DECIDES;
    c->reversed = apart < -DECIDES && other.level <= MISFIT_MOST;
    if (!agree || c->reversed) {
        c->told.state = TL_COMPASS_REFUSED;
        return;
    }
    if (!c->hand_decided && !confirmed(series, options, tied)) {
        c->told.state = TL_COMPASS_OPEN;
        return;
    }
    c->told = (tl_track_compass){.state = TL_COMPASS_USED,
                                 .zero_rad = fit.zero_rad,
                                 .zero_sigma_rad = zero_sigma(list, count, &fit, series, tied),
                                 .misfit = fit.level,
                                 .tied_count = fit.count};
    set_bearings(series, options, list, count, &fit, c);
}

tl_status tl_track_compasses_make(const tl_track_series *series, const tl_track_eclipse *eclipse,
                                  const tl_track_tied *tied, const tl_track_options *options,
                                  const tl_track *track, tl_track_compasses *compasses) {
    tl_track_compasses made = {.frame = calloc(series->frame_count + 1, sizeof *made.frame)};
    tie *list = calloc(series->frame_count + 1, sizeof *list);
    bool *kept = calloc(series->frame_count + 1, sizeof *kept);
    double *scratch = calloc(2 * series->frame_count + 1, sizeof *scratch);
    bool room = made.frame != NULL && list != NULL && kept != NULL && scratch != NULL;
    if (room) {
        size_t count = eclipse != NULL ? list_ties(series, eclipse, tied, track, list) : 0;
        decide(series, options, tied, list, count, kept, scratch, &made);
    }
    free(list);
    free(kept);
    free(scratch);
    if (!room) {
        tl_track_compasses_free(&made);
        return TL_ERR_MEMORY;
    }
    *compasses = made;
    return TL_OK;
}

void tl_track_compasses_free(tl_track_compasses *compasses) {
    free(compasses->frame);
    *compasses = (tl_track_compasses){0};
}
