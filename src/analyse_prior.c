/*
 * analyse_prior.c - what the almanac says of the Moon's size before any time is solved.
 */
#include <math.h>
#include <stdlib.h>

#include "analyse_steps.h"

/* As the Moon climbs or sinks its distance changes by up to an Earth's radius: 1.7 % of the ratio
 * at most from horizon to zenith, a third of it between maximum and a contact. */
static const double RATIO_CHANGE = 0.005;

/* Places of a cell of this size share the ratio of one place in it, at most 12 km away: it changes
 * by less than 4e-5 on the way (that part of the Moon's distance), and by less with the height
 * above the sea, which is left out. */
static const double STEP_RAD = 0.1 * TL_DEG;

struct tl_analyse_ratio {
    double north, east; /* steps */
    double day_s;
    double ratio; /* 0: no eclipse there on that day */
};

static const tl_analyse_ratio *find(const tl_analyse_ratios *known, const tl_analyse_ratio *key) {
    for (size_t i = 0; i < known->count; i++) {
        const tl_analyse_ratio *r = &known->ratio[i];
        if (r->north == key->north && r->east == key->east && r->day_s == key->day_s)
            return r;
    }
    return NULL;
}

static tl_status look_up(const tl_track_options *options, tl_analyse_ratios *known,
                         tl_analyse_ratio *key) {
    const tl_analyse_ratio *found = find(known, key);
    if (found != NULL) {
        *key = *found;
        return TL_OK;
    }
    const tl_site site = {TL_SITE_GIVEN, key->north * STEP_RAD, key->east * STEP_RAD, 0.0};
    tl_circumstances circumstances;
    const tl_status status = tl_sky_circumstances(&site, key->day_s, &options->sky, &circumstances);
    if (status == TL_ERR_MEMORY)
        return status;
    key->ratio = status == TL_OK ? circumstances.ratio : 0.0;
    tl_analyse_ratio *grown = realloc(known->ratio, (known->count + 1) * sizeof *grown);
    if (grown == NULL)
        return TL_ERR_MEMORY;
    known->ratio = grown;
    known->ratio[known->count++] = *key;
    return TL_OK;
}

tl_status tl_analyse_first_prior(const tl_track_options *options, const tl_sequence_frame *frame,
                                 tl_analyse_ratios *known, tl_limb_prior *prior) {
    const bool given = options->site.source != TL_SITE_NONE;
    const tl_site *site = given || options->find_site ? &options->site : &frame->info.site;
    const bool dated = options->date_given || frame->info.time.source != TL_TIME_NONE;
    *prior = (tl_limb_prior){0};
    if (site->source == TL_SITE_NONE || !dated)
        return TL_OK;
    const double t_s = options->date_given ? options->date_utc_s : frame->info.time.t_camera_s;
    tl_analyse_ratio key = {.north = trunc(site->lat_rad / STEP_RAD), /* at most the pole */
                            .east = round(site->lon_rad / STEP_RAD),
                            .day_s = floor(t_s / TL_DAY_S) * TL_DAY_S};
    pthread_mutex_lock(&known->lock);
    const tl_status status = look_up(options, known, &key);
    pthread_mutex_unlock(&known->lock);
    if (status == TL_OK && key.ratio > 0.0)
        *prior = (tl_limb_prior){.ratio = key.ratio, .ratio_sigma = RATIO_CHANGE};
    return status;
}
