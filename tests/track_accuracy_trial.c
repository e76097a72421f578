/*
 * track_accuracy_trial.c - places and eclipses, series of them, and their solution.
 */
#include <stdio.h>

#include "track_accuracy.h"

/* A turn of an hour for daylight saving in half of the series. */
static const double SUMMER_SHARE = 0.5, MIRRORED_SHARE = 0.5, SAID_SHARE = 0.5;

bool scenes_make(scene scenes[TRIALS]) {
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus);
    for (size_t made = 0; rng != NULL && made < TRIALS;) {
        double greatest_s;
        tl_site site = random_site(rng, &greatest_s);
        made += scene_make(site, floor(greatest_s / TL_DAY_S) * TL_DAY_S, &scenes[made]) ? 1 : 0;
    }
    gsl_rng_free(rng);
    return rng != NULL;
}

void scenes_free(scene scenes[TRIALS]) {
    for (size_t i = 0; i < TRIALS; i++) {
        scene_free(&scenes[i]);
    }
}

gsl_rng *trial_rng(const char *kind, size_t i) {
    unsigned long seed = 5381; /* a string hash by D. J. Bernstein: h * 33 + c */
    for (; *kind != '\0'; kind++) {
        seed = (seed * 33 + (unsigned char)*kind) & 0xffffff;
    }
    gsl_rng *rng = gsl_rng_alloc(gsl_rng_taus);
    gsl_rng_set(rng, seed * TRIALS + i);
    return rng;
}

int trial_zone(const scene *s, gsl_rng *rng) {
    int zone = 60 * (int)lround(s->site.lon_rad / TL_PI * 12.0);
    zone = zone == -720 ? 720 : zone; /* nobody lives by the former */
    return gsl_rng_uniform(rng) < SUMMER_SHARE && zone < 720 ? zone + 60 : zone;
}

void trial_set_camera(const scene *s, double clock_sigma_s, gsl_rng *rng, manner *how) {
    how->zone_minutes = trial_zone(s, rng);
    how->zone_known = gsl_rng_uniform(rng) < SAID_SHARE;
    how->clock_s = 60.0 * how->zone_minutes + gsl_ran_gaussian(rng, clock_sigma_s);
    how->up_rad = 2.0 * TL_PI * gsl_rng_uniform(rng);
    how->mirrored = gsl_rng_uniform(rng) < MIRRORED_SHARE;
}

void trial_add_camera(const manner *how, gsl_rng *rng, trial *t) {
    t->how[t->camera_count] = *how;
    t->how[t->camera_count].camera = t->camera_count;
    series_make(t->scene, &t->how[t->camera_count++], rng, &t->frame[t->count],
                &t->true_utc_s[t->count], &t->up_rad[t->count]);
    t->count += how->count;
}

void trial_make(const scene *s, const manner *how, gsl_rng *rng, trial *t) {
    *t = (trial){.scene = s, .options = options_for(s)};
    trial_add_camera(how, rng, t);
}

double trial_clock(const trial *t, size_t camera, double t_utc_s) {
    const manner *how = &t->how[camera];
    double since_s = t_utc_s - t->scene->circumstances.contact[TL_MAX].t_utc_s;
    return how->clock_s + 1e-6 * how->drift_ppm * since_s;
}

double clock_total_of(const tl_clock *clock) {
    return clock->day_shift_s + 60.0 * clock->zone_minutes + clock->offset_s;
}

static void show_clock(const trial *t, size_t k, const tl_track_camera *camera) {
    const manner *how = &t->how[k];
    const tl_clock *c = &camera->clock;
    printf("  camera %zu: put in clock %.3f, drift %.1f, zone %s %d, holding %s, mirrored %d\n", k,
           how->clock_s, how->drift_ppm, how->zone_known ? "said" : "not said", how->zone_minutes,
           tl_holding_name[how->holding], how->mirrored);
    printf("    found: solved %d, total %.3f +- %.3f = day %.2f + zone %d + %.3f; misfit %.2f, "
           "drift %.1f +- %.1f, stamps %d, %.2f +- %.2f s, holding %s, mirror %d\n",
           c->solved, clock_total_of(c), c->sigma_s, c->day_shift_s / TL_DAY_S, c->zone_minutes,
           c->offset_s, c->misfit, c->drift_ppm, c->drift_sigma_ppm, (int)c->stamps,
           c->stamp_scatter_s, c->stamp_scatter_sigma_s, tl_holding_name[camera->holding],
           (int)camera->mirrored);
    for (size_t i = 0; i < c->alternative_count; i++) {
        printf("    or: day %.2f + zone %d + %.3f +- %.3f, delta chi^2 %.2f\n",
               c->alternative[i].day_shift_s / TL_DAY_S, c->alternative[i].zone_minutes,
               c->alternative[i].offset_s, c->alternative[i].sigma_s, c->alternative[i].delta_chi2);
    }
}

static void show(const char *kind, size_t i, const trial *t, const tl_track *track) {
    const tl_circumstances *c = &t->scene->circumstances;
    char text[TL_TIME_TEXT_SIZE];
    tl_time_text(c->contact[TL_MAX].t_utc_s, 0, "Z", text);
    printf("%s/%zu: lat %.4f lon %.4f, maximum %s, magnitude %.3f; note: %s\n", kind, i,
           t->scene->site.lat_rad / TL_DEG, t->scene->site.lon_rad / TL_DEG, text, c->magnitude,
           track->note);
    for (size_t k = 0; k < t->camera_count; k++) {
        show_clock(t, k, &track->camera[k]);
    }
    for (size_t k = 0; k < TL_CONTACTS; k++) {
        const tl_track_contact *at = &track->contact[k];
        if (at->measured && track->has_circumstances) {
            printf("  %s %+.3f +- %.3f s (camera %.3f)\n", tl_contact_name[k],
                   at->measured_utc_s - c->contact[k].t_utc_s, at->utc_sigma_s, at->sigma_s);
        }
    }
    for (size_t k = 0; k < t->count; k++) {
        const tl_track_frame *f = &track->frame[k];
        printf("  %2zu: true %+8.1f s from maximum, s %.5f +- %.5f, %s; found %+8.2f +- %.2f, "
               "sides %+.1f %+.1f by %d, off by %+.5f sr%s%s\n",
               k, t->true_utc_s[k] - c->contact[TL_MAX].t_utc_s, t->frame[k].separation_sr,
               t->frame[k].separation_sigma_sr, t->frame[k].timed ? "timed" : "no time",
               f->has_true ? f->true_utc_s - t->true_utc_s[k] : 0.0, f->true_sigma_s,
               f->has_sides ? f->side_utc_s[0] - t->true_utc_s[k] : 0.0,
               f->has_sides ? f->side_utc_s[1] - t->true_utc_s[k] : 0.0, (int)f->side_by,
               f->residual_sr, f->outlier ? ", outlier" : "", t->wrong[k] ? ", spoilt" : "");
    }
}

bool trials_run(track_accuracy *a, const char *kind, void (*job)(void *run, size_t i), void *run) {
    if (a->only != NULL && strcmp(a->only, kind) != 0) {
        return false;
    }
    if (a->show_one) {
        job(run, a->show);
    } else {
        tl_parallel(TRIALS, 0, job, run);
    }
    return !a->show_one;
}

bool trial_solve(track_accuracy *a, const char *kind, size_t i, const trial *t, tl_track *track) {
    if (tl_track_solve(t->frame, t->count, &t->options, track) != TL_OK) {
        a->failed = true;
        return false;
    }
    if (a->show_one) {
        show(kind, i, t, track);
    }
    return true;
}
